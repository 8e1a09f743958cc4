"""The page's server for a test in Python: started in a home of its own, asked by plain HTTP.

Nothing here waits a fixed time: `until` polls for a condition, with a limit that only a program
which does not answer at all reaches.
"""
import http.client
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time

LIMIT_S = float(os.environ.get("LIMIT_S", "120"))  # generous: a busy machine, a sanitizer

failures = []


def check(ok, what):
    print(f"{'ok' if ok else 'NOT OK'}: {what}", flush=True)
    if not ok:
        failures.append(what)


def until(condition, what, limit_s=LIMIT_S):
    """What `condition` says once it is true; the test ends where it never is."""
    end = time.monotonic() + limit_s
    while True:
        got = condition()
        if got:
            return got
        if time.monotonic() > end:
            check(False, f'in {limit_s:.0f} s: {what}')
            finish()
        time.sleep(0.02)


class Served:
    """The program, its address, a cookie as a browser gets it."""

    def __init__(self, program, arguments=(), environment=None, limits=None, home=None):
        self.home = home or tempfile.mkdtemp(prefix='fullminute-test-')
        self.own_home = home is None
        self.clock = os.path.join(self.home, 'clock')
        self.errors = open(os.path.join(self.home, 'stderr'), 'w+', encoding='utf-8', errors='replace')
        self.child = subprocess.Popen(
            [program, 'page', '--no-open', *arguments], stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=self.errors, preexec_fn=limits,
            env={**os.environ, 'HOME': self.home, 'XDG_DATA_HOME': self.home + '/data',
                 'XDG_CONFIG_HOME': self.home + '/config', 'TMPDIR': self.home,
                 'STEPPED_CLOCK': self.clock, **(environment or {})})
        line = self.child.stdout.readline().decode()
        found = re.match(r'http://([\d.]+):(\d+)/open\?token=(\w+)', line)
        if not found:
            raise RuntimeError(f'no address: {line!r} {self.said()}')
        self.host, self.port, self.token = found[1], int(found[2]), found[3]
        self.origin = f'http://{self.host}:{self.port}'
        answer = self.plain('GET', f'/open?token={self.token}')
        self.cookie = answer.getheader('Set-Cookie').split(';')[0]

    def go(self, seconds):
        """Of fullminute_stepped: its clock goes on to so many seconds since its start and stands there
        (tests/stepped/stepped.h). The program at its own speed has no such clock."""
        with open(self.clock + '.new', 'w', encoding='utf-8') as f:
            f.write(str(seconds))
        os.rename(self.clock + '.new', self.clock)

    def stand(self):
        """Of the same: wait until its clock has come there, so that nothing more is recorded."""
        now = [None]

        def stands():
            before, now[0] = now[0], json.loads(self.get('/api/clock').body)['now_s']
            return before == now[0]

        if self.child.args[0].endswith('_stepped'):
            until(stands, 'the clock stands')

    def said(self):
        self.errors.seek(0)
        return self.errors.read()

    def plain(self, method, path, body=None, headers=None, timeout_s=LIMIT_S):
        """An answer with its body read, in `.body`; raises OSError where there is none."""
        return ask(self.host, self.port, method, path, body, headers, timeout_s)

    def get(self, path, **more):
        return self.plain('GET', path, None, {'Cookie': self.cookie}, **more)

    def post(self, path, body=None, **more):
        raw = body if isinstance(body, bytes) else json.dumps(body or {}).encode()
        return self.plain('POST', path, raw, {'Cookie': self.cookie, 'Origin': self.origin,
                                              'Content-Type': 'application/json'}, **more)

    def number_of(self, name):
        """A recording's number by the beginning of its name."""
        listed = json.loads(self.get('/api/recordings').body)['recordings']
        return next(r['number'] for r in listed if r['name'].startswith(name))

    def interrupt(self):
        self.child.send_signal(signal.SIGINT)

    def ended(self, limit_s=LIMIT_S):
        """The exit status; negative: the signal it died of."""
        try:
            return self.child.wait(limit_s)
        except subprocess.TimeoutExpired:
            self.child.kill()
            self.child.wait()
            return None

    def clear(self):
        """End it by Ctrl-C where it still runs: that is looked at each time (a sanitizer speaks here)."""
        if self.child.poll() is None:
            self.interrupt()
            status = self.ended()
            if status != 130:
                check(False, f'exit {status} after Ctrl-C: {self.said()[-3000:]}')
        self.errors.close()
        if self.own_home:
            shutil.rmtree(self.home, ignore_errors=True)


def ask(host, port, method, path, body=None, headers=None, timeout_s=LIMIT_S, from_host=None):
    source = (from_host, 0) if from_host else None
    c = http.client.HTTPConnection(host, port, timeout=timeout_s, source_address=source)
    try:
        c.request(method, path, body, headers or {})
        answer = c.getresponse()
        answer.body = answer.read()
        return answer
    except http.client.HTTPException as e:
        raise OSError(f'{type(e).__name__}: {e}') from e
    finally:
        c.close()


class Events(threading.Thread):
    """An event stream, read on a thread of its own: `seen` holds each event, `over` its end."""

    def __init__(self, host, port, path, headers=None, from_host=None):
        super().__init__(daemon=True)
        self.seen = []
        self.over = False
        source = (from_host, 0) if from_host else None
        self.socket = socket.create_connection((host, port), LIMIT_S, source)
        lines = [f'GET {path} HTTP/1.1', f'Host: {host}:{port}']
        lines += [f'{k}: {v}' for k, v in (headers or {}).items()]
        self.socket.sendall(('\r\n'.join(lines) + '\r\n\r\n').encode())
        self.socket.settimeout(LIMIT_S)
        self.start()

    @property
    def last(self):
        return self.seen[-1] if self.seen else {}

    def run(self):
        rest = ''
        try:
            while True:
                got = self.socket.recv(65536)
                if not got:
                    break
                rest += got.decode('utf-8', 'replace')
                for found in re.finditer(r'data: (\{.*?\})\n\n', rest):
                    self.seen.append(json.loads(found[1]))
                cut = rest.rfind('\n\n')
                rest = rest[cut + 2:] if cut >= 0 else rest
        except (OSError, ValueError):
            pass
        self.over = True

    def drop(self):
        try:
            self.socket.shutdown(socket.SHUT_RDWR)
        except OSError:
            pass
        self.socket.close()


def finish():
    """End the test with its exit status."""
    sys.stdout.flush()
    print(f'{len(failures)} failed' if failures else 'all is well', flush=True)
    os._exit(1 if failures else 0)
