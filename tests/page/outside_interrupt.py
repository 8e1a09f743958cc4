#!/usr/bin/env python3
"""Ctrl-C while requests come: the program ends as it says, and nothing that was taken is lost.

usage: outside_interrupt.py PROGRAM SOURCE_DIR [ROUNDS]

Each round opens a checked sitting, taps in its minute, and asks meanwhile from several threads for
what the other thread of the server does (marks, composed minutes, dropped files) and for event
streams. Then comes SIGINT, at a moment by chance (seeded), and at once more requests for that thread
on connections that stand open. Afterwards: exit 130; every tap that was
answered 'done' is in NAME.sitting.json; the recording's header says its length; no private folder is
left, and one that a kill left goes at the next start. Twenty rounds by hand: `python3 tests/page/outside_interrupt.py PROGRAM . 20`.
"""
import glob
import json
import os
import random
import socket
import struct
import sys
import threading
import time

from served import Events, Served, check, finish, until


class Load:
    """Threads that ask without a pause until the program is gone."""

    def __init__(self, s, source):
        with open(os.path.join(source, 'recordings/steady-072.flac'), 'rb') as f:
            self.file = f.read()
        self.s = s
        self.going = True
        self.answers = {}
        n = s.number_of('premature')
        bars = {'intervals_s': [0.8] * 40, 'seconds': 30}
        asks = [lambda: s.get(f'/api/recordings/{n}/marks'),
                lambda: s.get(f'/api/recordings/{n}/sound'),
                lambda: s.post('/api/compose', bars),
                lambda: s.post('/api/recordings?name=a.flac', self.file),
                lambda: s.get('/api/logbook'),
                lambda: s.get('/api/recordings')]
        self.threads = [threading.Thread(target=self.run, args=(a,), daemon=True) for a in asks * 2]
        self.threads.append(threading.Thread(target=self.open_streams, daemon=True))
        for t in self.threads:
            t.start()

    def run(self, ask):
        while self.going:
            try:
                status = ask().status
            except OSError:
                status = 'none'
            self.answers[status] = self.answers.get(status, 0) + 1

    def open_streams(self):
        while self.going:
            try:
                e = Events(self.s.host, self.s.port, '/api/live/events', {'Cookie': self.s.cookie})
                until(lambda e=e: e.seen or e.over, 'a stream begins or ends')
                e.drop()
            except OSError:
                time.sleep(0.01)


class Kept:
    """Connections that stand open with nothing asked on them, so that all can ask at once."""

    def __init__(self, s, n):
        self.head = f'Host: {s.host}:{s.port}\r\nCookie: {s.cookie}\r\n\r\n'
        self.lines = [socket.create_connection((s.host, s.port)) for _ in range(n)]
        for line in self.lines:
            self.ask(line, '/api/clock')
            line.recv(4096)

    def ask(self, line, path):
        line.sendall(f'GET {path} HTTP/1.1\r\n{self.head}'.encode())

    def ask_all(self, path):
        for line in self.lines:
            try:
                self.ask(line, path)
            except OSError:
                pass  # closed already

    def close(self):
        for line in self.lines:
            line.close()


def tap_along(s, taken, going):
    """Taps at the moment they are sent; those that were answered go into `taken`."""
    now_s = json.loads(s.get('/api/clock').body)['now_s']
    offset_s = now_s - time.monotonic()
    while going[0]:
        at_s = time.monotonic() + offset_s
        try:
            if s.post('/api/live/tap', {'at_s': [at_s]}).status == 200:
                taken.append(at_s)
        except OSError:
            return
        time.sleep(0.15)


def one_round(program, source, dice, i):
    s = Served(program, ['--recordings', source + '/recordings'])
    opened = s.post('/api/live/open', {'recording': s.number_of('steady-084'), 'seconds': 60, 'breath': False})
    check(opened.status == 200, f'{i}: a sitting is open')
    e = Events(s.host, s.port, '/api/live/events', {'Cookie': s.cookie})
    until(lambda: e.last.get('can_start'), 'it may start')
    s.post('/api/live/start')
    until(lambda: e.last.get('phase') == 'running', 'it runs')
    taken, going = [], [True]
    tapper = threading.Thread(target=tap_along, args=(s, taken, going), daemon=True)
    tapper.start()
    until(lambda: len(taken) >= 3, 'taps are taken')
    kept = Kept(s, 20)
    load = Load(s, source)
    until(lambda: load.answers.get(200, 0) >= 10, 'the load is answered')
    time.sleep(dice.uniform(0.0, 0.5))  # the moment is by chance; nothing waits for it
    s.interrupt()
    kept.ask_all('/api/logbook')
    status = s.ended()
    kept.close()
    going[0] = load.going = False
    tapper.join()
    check(status == 130, f'{i}: exit {status} after Ctrl-C; answers {load.answers}')
    if status != 130:
        print(s.said()[-2000:])
    look_at_sitting(s.home, taken, i)
    left = glob.glob(s.home + '/fullminute-page-*')
    check(not left, f'{i}: no private folder is left {left}')
    s.clear()


def data_bytes(path):
    """What a WAV file's header says of its samples, and what follows it."""
    with open(path, 'rb') as f:
        data = f.read()
    at = 12
    while at + 8 <= len(data):
        name, says = struct.unpack('<4sI', data[at:at + 8])
        if name == b'data':
            return says, len(data) - at - 8
        at += 8 + says + says % 2
    return None, None


def look_at_sitting(home, taken, i):
    found = glob.glob(home + '/data/**/*.sitting.json', recursive=True)
    check(len(found) == 1, f'{i}: one sitting')
    for path in found:
        with open(path, encoding='utf-8') as f:
            d = json.load(f)
        check(len(d['taps_s']) >= len(taken), f"{i}: {len(taken)} taps answered, {len(d['taps_s'])} stored")
        says, holds = data_bytes(path.replace('.sitting.json', '.wav'))
        check(says == holds > 0, f'{i}: the recording says {says} bytes, and holds {holds}')


def look_after_a_kill(program, source):
    """What a kill left goes at the next start; what another page uses stays."""
    killed = Served(program, ['--recordings', source + '/recordings'])
    beside = Served(program, ['--recordings', source + '/recordings'], home=killed.home)
    bars = {'intervals_s': [0.8] * 5, 'seconds': 5}
    for s in (killed, beside):
        check(s.post('/api/compose', bars).status == 200, 'a minute is composed')
    folders = glob.glob(killed.home + '/fullminute-page-*')
    check(len(folders) == 2, 'each page has a private folder')
    killed.child.kill()
    killed.ended()
    last = Served(program, ['--recordings', source + '/recordings'], home=killed.home)
    left = glob.glob(killed.home + '/fullminute-page-*')
    check(len(left) == 1, f'one goes at the next start, and the one in use stays: {left}')
    n = json.loads(beside.get('/api/recordings').body)['recordings'][-1]['number']
    check(beside.get(f'/api/recordings/{n}/sound').status == 200, 'and is whole')
    beside.clear()
    last.clear()
    left = glob.glob(killed.home + '/fullminute-page-*')
    check(not left, f'in the end none is left {left}')
    killed.clear()


def main():
    program, source = sys.argv[1:3]
    rounds = int(sys.argv[3]) if len(sys.argv) > 3 else 2
    dice = random.Random(20)
    for i in range(1, rounds + 1):
        one_round(program, source, dice, i)
    look_after_a_kill(program, source)
    finish()


main()
