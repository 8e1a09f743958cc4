#!/usr/bin/env python3
"""Bytes of any kind at the page's port and at a class's: no crash, no hang, no 'out of memory'.

usage: outside_raw.py PROGRAM SOURCE_DIR [SECONDS [SEED]]

Three kinds of requests, on plain sockets: a list of malformed ones; valid ones with bytes changed,
left out, doubled and moved by chance (seeded); and every route with JSON whose members have other
types, sizes and depths than they should. After each: whatever is answered is an HTTP answer of a
status that this server gives, with JSON where it says so. From time to time, and at the end: a plain
request gets its answer, and Ctrl-C ends the program as it says. Half a minute by default; hours by
hand under the address sanitizer: `python3 tests/page/outside_raw.py .build/asan/fullminute . 3600 7`.
"""
import json
import os
import random
import re
import socket
import sys
import tempfile
import time

from served import LIMIT_S, Events, Served, check, failures, finish, until

PATIENCE_S = 0.1
STATUSES = {100, 200, 400, 403, 404, 405, 409, 410, 411, 413, 414, 417, 422, 429, 431, 500, 501, 503, 505}
# Said by the HTTP library itself of a request that it cannot parse; a 500 of ours is a fault.
OWN_ROUTES = [
    ('GET', '/open'), ('GET', '/'), ('GET', '/api/clock'), ('GET', '/api/about'), ('GET', '/api/live/inputs'),
    ('GET', '/api/live/reveal'), ('POST', '/api/live/open'), ('POST', '/api/live/start'), ('POST', '/api/live/again'),
    ('POST', '/api/live/keep'), ('POST', '/api/live/stop'), ('POST', '/api/live/tap'), ('POST', '/api/live/enter'),
    ('GET', '/api/practice'), ('POST', '/api/practice/begin'), ('GET', '/api/practice/sound'),
    ('POST', '/api/practice/enter'), ('GET', '/api/recordings'), ('GET', '/api/recordings/1/sound'),
    ('GET', '/api/recordings/1/marks'), ('POST', '/api/recordings?name=a.wav'), ('POST', '/api/compose'),
    ('GET', '/api/logbook?learner=A'), ('GET', '/report/row/1'), ('GET', '/report/learner?learner=A'),
    ('POST', '/api/shared/start'), ('POST', '/api/shared/reveal'), ('POST', '/api/shared/again'), ('GET', '/app.js')]
SEAT_ROUTES = [('GET', '/'), ('GET', '/api/clock'), ('POST', '/api/seat'), ('POST', '/api/enter'), ('POST', '/api/taps')]
MEMBERS = ['input', 'recording', 'seconds', 'breath', 'breath_only', 'open', 'site', 'method', 'learner', 'age_months',
           'tolerance', 'ticks', 'headphones', 'at_s', 'entered', 'rhythm', 'number', 'practice', 'kind', 'taps_s',
           'intervals_s', 'name', 'breaths', 'noisy', 'secret', 'count']
VALUES = [0, -1, 1, 2, 15, 30, 60, 70, 17.5, 1e6, 1e308, -1e308, 1e-308, 2**31, 2**53, -2**63, True, False, None, '',
          'A', 'radial', 'regular', 'listened', 'pulse', 'breath', 'file:/etc/passwd', '../x', 'x' * 70, 'x' * 5000,
          '\u0000', 'caf\u00e9', '\ud83d\ude00', '\u202e', '0' * 32, [], [0.8] * 5, [0.8] * 500, [-1, 0, 1e9], ['a'],
          [[]], {}, {'a': 1}, [None] * 70, [1e308] * 3]


class Target:
    """One of the two listeners."""

    def __init__(self, host, port, routes, prefix='', cookie=''):
        self.host, self.port, self.routes, self.prefix = host, port, routes, prefix
        self.origin = f'http://{host}:{port}'
        self.cookie = f'Cookie: {cookie}\r\n' if cookie else ''

    def request(self, method, path, body=b'', kind='application/json'):
        head = (f'{method} {self.prefix}{path} HTTP/1.1\r\nHost: {self.host}:{self.port}\r\n{self.cookie}'
                f'Origin: {self.origin}\r\nContent-Type: {kind}\r\nConnection: close\r\n')
        if body or method == 'POST':
            head += f'Content-Length: {len(body)}\r\n'
        return head.encode() + b'\r\n' + body

    def send(self, data, whole):
        """All that is answered. A request that may be cut off is left after a moment without a
        word, as the server leaves it after its own; a whole one has to be answered."""
        got = b''
        try:
            with socket.create_connection((self.host, self.port), LIMIT_S) as c:
                c.settimeout(LIMIT_S if whole else PATIENCE_S)
                c.sendall(data)
                while True:
                    part = c.recv(65536)
                    if not part:
                        return got
                    got += part
        except TimeoutError:
            return b'no answer in time' if whole else got
        except OSError:
            return got


def judge(answer, sent):
    """A finding, or None."""
    if not answer:
        return None  # closed without a word: what is no HTTP is not answered
    head = re.match(rb'HTTP/1\.[01] (\d{3}) [^\r\n]*\r\n(.*?)\r\n\r\n', answer, re.S)
    if not head and len(answer) < 12:
        return None  # its beginning only
    if not head:
        return f'no HTTP: {answer[:80]!r}'
    status = int(head[1])
    body = answer[head.end():]
    if status not in STATUSES:
        return f'status {status}'
    if b'out of memory' in body or b'no answer' in body:
        return f'{status} {body[:120]!r}'
    if status == 500 and b'application/json' in head[2] and not b'"error"' in body:
        return f'500 without a word: {body[:80]!r}'
    whole = b'content-length' in head[2].lower() and not sent.startswith(b'HEAD')
    if whole and b'application/json' in head[2]:
        length = int(re.search(rb'(?i)content-length: *(\d+)', head[2])[1])
        if len(body) < length:
            return None  # the sender left first
        try:
            document = json.loads(body[:length])
        except ValueError:
            return f'no JSON: {body[:80]!r}'
        if status >= 400 and not document.get('error'):
            return f'{status} says nothing: {body[:80]!r}'
    return None


def malformed(t):
    """(what, bytes) of requests that nobody's browser sends."""
    host = f'Host: {t.host}:{t.port}\r\n'.encode()
    line = f'POST {t.prefix}/api/clock HTTP/1.1\r\n'.encode()
    most = f'{t.cookie}Origin: {t.origin}\r\nContent-Type: application/json\r\n'.encode()
    yield 'nothing', b''
    yield 'an empty line', b'\r\n' * 50
    yield 'zeros', b'\0' * 5000
    yield 'TLS', b'\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03' + bytes(range(256))
    yield 'a line of 100 kB', b'GET /' + b'a' * 100000 + b' HTTP/1.1\r\n' + host + b'\r\n'
    yield '5000 headers', b'GET / HTTP/1.1\r\n' + host + b'A: b\r\n' * 5000 + b'\r\n'
    yield 'a header of 100 kB', b'GET / HTTP/1.1\r\n' + host + b'A: ' + b'b' * 100000 + b'\r\n\r\n'
    yield '500 cookies', b'GET / HTTP/1.1\r\n' + host + b'Cookie: ' + b'a=b; ' * 500 + b'\r\n\r\n'
    yield '2000 arguments', b'GET /?' + b'a=b&' * 2000 + b' HTTP/1.1\r\n' + host + b'\r\n'
    yield 'no version', b'GET /\r\n\r\n'
    yield 'version 9', b'GET / HTTP/9.9\r\n' + host + b'\r\n'
    yield 'no host', b'GET / HTTP/1.1\r\n\r\n'
    yield 'two hosts', b'GET / HTTP/1.1\r\n' + host + b'Host: evil.example\r\n\r\n'
    yield 'a folded header', b'GET / HTTP/1.1\r\n' + host + b'A: b\r\n c\r\n\r\n'
    yield 'a header without a name', b'GET / HTTP/1.1\r\n' + host + b': b\r\n\r\n'
    yield 'bare line feeds', b'GET / HTTP/1.1\n' + host.replace(b'\r', b'') + b'\n'
    yield 'a zero in the path', b'GET /\0/api HTTP/1.1\r\n' + host + b'\r\n'
    yield 'escapes cut off', f'GET {t.prefix}/%2 HTTP/1.1\r\n'.encode() + host + b'\r\n'
    yield 'an escaped zero', f'GET {t.prefix}/api%00/clock HTTP/1.1\r\n'.encode() + host + b'\r\n'
    yield 'bytes above 127', b'GET /\xff\xfe\xe9 HTTP/1.1\r\n' + host + b'\r\n'
    yield 'a whole address', f'GET {t.origin}/ HTTP/1.1\r\n'.encode() + host + b'\r\n'
    yield 'CONNECT', b'CONNECT evil.example:443 HTTP/1.1\r\n' + host + b'\r\n'
    yield 'HEAD', f'HEAD {t.prefix}/ HTTP/1.1\r\n'.encode() + host + t.cookie.encode() + b'\r\n'
    for length in (b'-1', b'x', b'1e3', b'99999999999999999999', b'+2', b'2, 2', b'0x2', b''):
        yield f'Content-Length {length}', line + host + most + b'Content-Length: ' + length + b'\r\n\r\n{}'
    yield 'two lengths', line + host + most + b'Content-Length: 2\r\nContent-Length: 20\r\n\r\n{}'
    chunked = line + host + most + b'Transfer-Encoding: chunked\r\n'
    yield 'length and chunks', chunked + b'Content-Length: 2\r\n\r\n2\r\n{}\r\n0\r\n\r\n'
    for chunk in (b'x\r\n{}\r\n', b'-1\r\n{}\r\n', b'ffffffffffffffff\r\n{}\r\n', b'2\r\n{}x', b'2;a=b\r\n{}\r\n0\r\n\r\n',
                  b'80000000\r\n' + b'x' * 100, b'1\r\n{\r\n' * 3000):
        yield f'a chunk {chunk[:10]}', chunked + b'\r\n' + chunk
    yield 'a body cut off', line + host + most + b'Content-Length: 1000\r\n\r\n{'
    yield 'Expect', line + host + most + b'Content-Length: 2\r\nExpect: 100-continue\r\n\r\n'
    yield 'an upgrade', b'GET / HTTP/1.1\r\n' + host + b'Upgrade: websocket\r\nConnection: Upgrade\r\n\r\n'
    yield '200 requests at once', t.request('GET', '/api/clock').replace(b'Connection: close\r\n', b'') * 200
    for body in (b'[' * 60000, b'{"a":' * 10000, b'{"entered":' + b'9' * 60000 + b'}', b'{"a":1e99999}', b'{"a":"\\ud800"}',
                 b'{"a":"\xff"}', b'\xef\xbb\xbf{}', b'{} {}', b'{"a":1,"a":1}', b'null', b'{"\\u0000":1}', b'{"a":NaN}'):
        for method, path in t.routes:
            if method == 'POST':
                yield f'{path} {body[:12]}', t.request(method, path, body)


def mutate(dice, data):
    data = bytearray(data)
    for _ in range(dice.randint(1, 6)):
        at = dice.randrange(len(data) + 1)
        how = dice.randrange(6)
        if how == 0 and at < len(data):
            data[at] = dice.randrange(256)
        elif how == 1:
            del data[at:at + dice.randint(1, 20)]
        elif how == 2:
            data[at:at] = dice.choice([b'\r\n', b'\0', b'%', b'/', b' ', b':', b'"', b'{', b'\xff', b'0', b'\r\n\r\n'])
        elif how == 3:
            data[at:at] = data[at:at + dice.randint(1, 60)]
        elif how == 4:
            data[at:at] = bytes([dice.randrange(256)]) * dice.choice([1, 10, 1000, 40000])
        elif len(data) > 2:
            data = data[:at]
    return bytes(data)


def odd_json(dice):
    names = dice.sample(MEMBERS, dice.randint(0, 6))
    return json.dumps({n: dice.choice(VALUES) for n in names}).encode()


class Run:
    """Sends, judges, and looks now and then whether the page is well."""

    def __init__(self, s, targets):
        self.s, self.targets = s, targets
        self.n, self.statuses = 0, {}
        self.looked_s = time.monotonic()

    def send(self, t, what, data, whole=False):
        answer = t.send(data, whole)
        self.n += 1
        found = judge(answer, data)
        status = re.match(rb'HTTP/1\.[01] (\d{3})', answer or b'')
        key = status[1].decode() if status else 'none'
        self.statuses[key] = self.statuses.get(key, 0) + 1
        if key == '429':
            time.sleep(0.05)  # so that the allowance comes back and more than the authorisation is met
        if found:
            check(False, f'{what}: {found}; sent {data[:200]!r}')
        if self.s.child.poll() is not None:
            check(False, f'the program died of {what}: {self.s.child.returncode}; sent {data[:400]!r}')
            print(self.s.said()[-3000:])
            finish()
        if time.monotonic() - self.looked_s > 2:
            self.look()

    def look(self):
        """A plain request is answered; a sitting that was opened is closed, so that others can be."""
        until(lambda: self.s.get('/api/clock').status == 200, 'a plain request is answered')
        self.s.post('/api/live/stop')
        self.looked_s = time.monotonic()

    def by_chance(self, dice, seconds):
        end = time.monotonic() + seconds
        while time.monotonic() < end and len(failures) < 20:
            t = dice.choice(self.targets)
            method, path = dice.choice(t.routes)
            body = odd_json(dice) if method == 'POST' else b''
            data = t.request(method, path, body)
            if dice.random() < 0.5:
                self.send(t, f'{path} changed', mutate(dice, data))
            else:
                self.send(t, f'{path} {body[:200]}', data, whole=True)


def main():
    program, source = sys.argv[1:3]
    seconds = float(sys.argv[3]) if len(sys.argv) > 3 else 20.0
    dice = random.Random(int(sys.argv[4]) if len(sys.argv) > 4 else 21)
    with tempfile.TemporaryDirectory(prefix='fullminute-test-') as folder:
        os.symlink(os.path.abspath(source + '/recordings/steady-084.flac'), folder + '/steady-084.flac')
        os.symlink(os.path.abspath(source + '/recordings/steady-084.truth.json'), folder + '/steady-084.truth.json')
        s = Served(program, ['--recordings', folder, '--share', '--address', '127.0.0.1'])
        room = Events(s.host, s.port, '/api/shared/events', {'Cookie': s.cookie})
        check(s.post('/api/shared/open', {'recording': 1, 'seconds': 15}).status == 200, 'a shared minute is open')
        until(lambda: room.last.get('url'), 'with an address')
        host, port, prefix = re.match(r'http://([\d.]+):(\d+)(/\w+)/', room.last['url']).groups()
        targets = [Target(s.host, s.port, OWN_ROUTES, cookie=s.cookie), Target(host, int(port), SEAT_ROUTES, prefix)]
        r = Run(s, targets)
        for t in targets:
            for what, data in malformed(t):
                r.send(t, what, data)
        check(True, f'{r.n} malformed requests: {r.statuses}')
        r.by_chance(dice, seconds)
        r.look()
        check(True, f'{r.n} requests in all: {r.statuses}')
        s.interrupt()
        check(s.ended() == 130, 'Ctrl-C ends it as it should')
        said = s.said()
        check('ERROR' not in said and 'runtime error' not in said, f'nothing on stderr but what it says: {said[-500:]}')
        s.clear()
    finish()


main()
