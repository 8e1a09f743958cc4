#!/usr/bin/env python3
"""A checked sitting is killed (SIGKILL) in a tapped minute: no tap older than a second is lost.

usage: tap_kills.py FULLMINUTE SOUND [TIMES (200) [AT_ONCE (20)]]
       tap_kills.py FULLMINUTE SOUND once      for a test on a busy machine: five taps, and
                                               the kill once the document holds them

The taps come from here, through a terminal, at known moments of the monotonic clock. The
document must open, be sealed, and hold every tap that was sent more than a second before
the kill. The seed is fixed; the machine's own timing is not.
"""
import json
import os
import pty
import random
import select
import signal
import subprocess
import sys
import tempfile
import threading
import time

OLD_S = 1.0
RATE_HZ = 4000  # of the bundled recordings


class Sitting:
    def __init__(self, program, sound, folder):
        self.path = f'{folder}/r.wav'
        self.clock = f'{folder}/clock'
        master, slave = pty.openpty()
        self.fd = master
        self.child = subprocess.Popen(
            [program, 'check', '--live', '--only', 'pulse', '--no-ticks', '--input', 'file:' + sound,
             '--recording', self.path], stdin=slave, stdout=slave, stderr=slave,
            env={**os.environ, 'HOME': folder, 'STEPPED_CLOCK': self.clock}, start_new_session=True)
        os.close(slave)
        self.seen = b''
        self.sent = []

    def go(self, seconds):
        """With fullminute_stepped: to so many seconds since its start (tests/stepped)."""
        with open(self.clock + '.new', 'w', encoding='utf-8') as f:
            f.write(str(seconds))
        os.rename(self.clock + '.new', self.clock)

    def read(self, seconds):
        if select.select([self.fd], [], [], seconds)[0]:
            self.seen += os.read(self.fd, 65536)

    def wait_for(self, words, limit_s=60):
        until = time.monotonic() + limit_s
        while words not in self.seen:
            assert time.monotonic() < until, (words, self.seen[-1000:])
            self.read(0.05)

    def begin(self):
        self.go(5)
        self.wait_for(b'start:')
        os.write(self.fd, b'\r')
        self.wait_for(b'starts in')
        self.go(10)
        self.wait_for(b's of 60')

    def heard(self, seconds):
        """Wait until so much is recorded."""
        until = time.monotonic() + 300
        while os.path.getsize(self.path) < 44 + 2 * RATE_HZ * seconds:
            assert time.monotonic() < until, 'the recording does not go on'
            self.read(0.02)

    def tap(self):
        self.sent.append(time.monotonic())
        os.write(self.fd, b' ')

    def kill(self):
        at = time.monotonic()
        self.child.send_signal(signal.SIGKILL)
        self.child.wait()
        return at

    def document(self):
        with open(self.path[:-4] + '.sitting.json', encoding='utf-8') as f:
            return json.load(f)

    def close(self):
        if self.child.poll() is None:
            self.kill()
        os.close(self.fd)


def once(program, sound):
    with tempfile.TemporaryDirectory() as folder:
        s = Sitting(program, sound, folder)
        try:
            s.begin()
            until = time.monotonic() + 300
            for i in range(1, 6):
                s.go(10 + i)
                s.heard(10 + i - 0.5)  # so that a tap is never at the moment of the one before
                s.tap()
                while len(s.document()['taps_s']) < i:
                    assert time.monotonic() < until, 'the tap is not on disk'
                    assert b'Your count' not in s.seen, 'the taps are on disk only after the minute'
                    s.read(0.05)
                while not program.endswith('_stepped') and time.monotonic() < s.sent[-1] + 0.25:
                    s.read(0.05)  # by its own clock: a key held down is no row of taps
            s.kill()
            d = s.document()
            assert d['sealed'] and d['manual'] is None and len(d['taps_s']) == 5, d
        finally:
            s.close()
    print('killed in the minute: its taps are there')


def one(program, sound, seed, out):
    chance = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        s = Sitting(program, sound, folder)
        try:
            s.begin()
            end = time.monotonic() + chance.uniform(1.5, 8.0)
            while time.monotonic() < end:
                s.tap()
                after = min(end, time.monotonic() + chance.uniform(0.3, 1.0))
                while time.monotonic() < after:
                    s.read(max(0.0, min(0.05, after - time.monotonic())))
            at = s.kill()
            kept = len(s.document()['taps_s'])
            due = sum(t < at - OLD_S for t in s.sent)
            age = at - s.sent[kept] if kept < len(s.sent) else 0.0
            out.append((len(s.sent), kept, max(0, due - kept), age))
        except Exception as e:  # a trial that does not end well is a failed one
            out.append((0, 0, 1, repr(e)))
        finally:
            s.close()


def main():
    program, sound = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
    if sys.argv[3:] == ['once']:
        once(program, sound)
        return 0
    times, at_once = (list(map(int, sys.argv[3:])) + [200, 20][len(sys.argv) - 3:])[:2]
    out = []
    for first in range(0, times, at_once):
        group = [threading.Thread(target=one, args=(program, sound, i, out))
                 for i in range(first, min(times, first + at_once))]
        for t in group:
            t.start()
        for t in group:
            t.join()
    lost = sum(o[2] for o in out)
    for o in out:
        if o[2] > 0:
            print('FAIL', o)
    print(f'{len(out)} kills: {sum(o[0] for o in out)} taps sent, {sum(o[1] for o in out)} kept, '
          f'{lost} lost that were older than {OLD_S:g} s; the oldest lost was '
          f'{max((o[3] for o in out if isinstance(o[3], float)), default=0):.2f} s old')
    return lost > 0


if __name__ == '__main__':
    sys.exit(main())
