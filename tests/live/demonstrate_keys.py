#!/usr/bin/env python3
"""The keys of `demonstrate`, on a terminal, and a server that freezes or dies under it.

usage: demonstrate_keys.py FULLMINUTE RECORDING WORK SERVER_PID

The screen is kept as a person sees it: what was last written, line by line.
"""
import os
import pty
import re
import select
import signal
import subprocess
import sys
import time

LEFT, RIGHT = b'\x1b[D', b'\x1bOC'
CHATTER = (b'Expression', b'ALSA lib', b'PaAlsa', b'assert', b'Connection')


class Terminal:
    def __init__(self, command):
        self.child, self.fd = pty.fork()
        if self.child == 0:
            os.execv(command[0], command)
        self.seen = b''
        self.open = True

    def read(self, seconds):
        until = time.monotonic() + seconds
        while self.open and time.monotonic() < until:
            if select.select([self.fd], [], [], 0.02)[0]:
                try:
                    got = os.read(self.fd, 1 << 16)
                except OSError:
                    got = b''
                self.open = bool(got)
                self.seen += got

    def screen(self):
        """The last whole screen."""
        parts = [p for p in self.seen.split(b'\x1b[H') if b'\x1b[J' in p]
        return re.sub(rb'\x1b\[[?0-9]*[A-Za-z]', b'', parts[-1] if parts else self.seen).decode()

    def at_s(self):
        return float(re.search(r'([0-9.]+) s of', self.screen()).group(1))

    def press(self, keys, seconds=0.5):
        os.write(self.fd, keys)
        self.read(seconds)

    def end(self, limit_s=4):
        """Exit status, and how long that took."""
        begun = time.monotonic()
        while self.open and time.monotonic() - begun < limit_s:
            self.read(0.05)
        if self.open:
            os.kill(self.child, signal.SIGKILL)
        return os.waitstatus_to_exitcode(os.waitpid(self.child, 0)[1]), time.monotonic() - begun


wrong = []


def expect(what, held, t):
    if not held:
        wrong.append(f'{what}:\n{t.screen()}')


def try_keys(program, recording):
    t = Terminal([program, 'demonstrate', recording])
    t.read(4.0)
    expect('playing with marks', 'playing' in t.screen() and 'Beats so far' in t.screen(), t)
    expect('the truth is named', 'Marks: the truth beside it' in t.screen(), t)
    t.press(b' ')
    expect('paused', 'paused' in t.screen(), t)
    at = t.at_s()
    t.read(0.7)
    expect('stands still while paused', t.at_s() == at, t)
    t.press(RIGHT)
    expect('5 s on', abs(t.at_s() - at - 5.0) < 0.11, t)
    t.press(RIGHT + RIGHT)
    expect('10 s on, held down', abs(t.at_s() - at - 15.0) < 0.11, t)
    t.press(LEFT)
    expect('5 s back', abs(t.at_s() - at - 10.0) < 0.11, t)
    t.press(b'm')
    expect('hidden', 'Marks hidden' in t.screen() and 'Beats' not in t.screen() and
           '|' not in t.screen(), t)
    t.press(b'm')
    t.press(b'r')
    expect('short counts', '15 s x 4' in t.screen() and 'Full minute' in t.screen(), t)
    t.press(b'c')
    expect('click', 'Click on each' in t.screen(), t)
    t.press(b'[')
    expect('loop begun', 'Loop from' in t.screen(), t)
    t.press(b']')
    expect('too short a loop', 'at least 1 s' in t.screen(), t)
    t.press(b' ', 1.6)
    t.press(b']', 0.3)
    loop = re.search(r'Loop ([0-9.]+) to ([0-9.]+) s', t.screen())
    expect('loop', loop is not None, t)
    if loop:
        from_s, to_s = map(float, loop.groups())
        ats = []
        for _ in range(40):
            t.read(0.1)
            ats.append(t.at_s())
        expect(f'inside the loop: {ats}', min(ats) >= from_s - 0.06 and max(ats) <= to_s + 0.06, t)
        expect('it begins again', any(b < a for a, b in zip(ats, ats[1:])), t)
    t.press(b'x')
    expect('no loop', 'Loop' not in t.screen(), t)
    t.press(b'q', 0)
    status, took = t.end()
    expect(f'q: exit {status} after {took:.1f} s', status == 0 and took < 3, t)
    expect('the terminal is given back', t.seen.endswith(b'\x1b[?25h\x1b[?1049l') or
           b'\x1b[?1049l' in t.seen[-200:], t)


def try_end(program, recording):
    t = Terminal([program, 'demonstrate', recording, '--seconds', '2', '--click'])
    t.read(4.5)
    expect('waits at its end', 'at its end' in t.screen(), t)
    t.press(b' ', 1.0)
    expect('from the start again', 'playing' in t.screen() and t.at_s() < 1.5, t)
    t.press(b'\x03', 0)
    status, took = t.end()
    expect(f'Ctrl-C: exit {status} after {took:.1f} s', status == 130 and took < 3, t)


def try_lines(program, recording, work):
    """Without a terminal: a line a mark, in its time."""
    begun = time.monotonic()
    p = subprocess.run([program, 'demonstrate', recording, '--start', '3', '--seconds', '6',
                        '--reveal', '--speaker', 'small', '--log-marks', f'{work}/log'],
                       stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
    took = time.monotonic() - begun
    lines = p.stdout.splitlines()
    first = [line for line in lines if line.endswith('| first sound')]
    logged = [line for line in open(f'{work}/log') if line.endswith('\tS1\n')]
    if p.returncode != 0 or p.stderr or not 5 <= len(first) <= 9 or len(first) != len(logged):
        wrong.append(f'lines: exit {p.returncode}, {p.stderr}{p.stdout}')
    if not 6 <= took < 12:
        wrong.append(f'lines: 6 s took {took:.1f} s')
    for words in ('timing unchanged', 'Marks: the truth', f'All 6 s     {len(first)} beats'):
        if words not in p.stdout:
            wrong.append(f'lines: not said: {words}\n{p.stdout}')
    for more, status in (([], 2), (['--force'], 0)):
        p = subprocess.run([program, 'demonstrate', recording, '--seconds', '1', '--log-marks',
                            f'{work}/log', *more], stdin=subprocess.DEVNULL, capture_output=True,
                           check=False)
        if p.returncode != status:
            wrong.append(f'log that exists {more}: exit {p.returncode}')
    p = subprocess.run([program, 'demonstrate', recording, recording, '--seconds', '6', '--marks', 'hidden',
                        '--once', '--loop', '1-2.5'], stdin=subprocess.DEVNULL,
                       capture_output=True, text=True, check=False)
    name = os.path.basename(recording).split('.')[0]
    if p.returncode != 0 or 'sound' in p.stdout or name in p.stdout or not re.search(r'Recording \d{5}\n', p.stdout):
        wrong.append(f'hidden lines: exit {p.returncode}: {p.stdout}{p.stderr}')
    p = subprocess.run([program, 'demonstrate', recording, '--seconds', '6', '--loop', '5-7'],
                       stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
    if p.returncode != 2 or '--loop 5-7' not in p.stderr:
        wrong.append(f'loop outside: exit {p.returncode}: {p.stderr}')


def try_lost(program, recording, server, fault):
    t = Terminal([program, 'demonstrate', recording])
    t.read(3.0)
    t.seen = b''
    os.kill(server, fault)
    status, took = t.end(12)
    if status != 1 or took > 8 or b'output is gone' not in t.seen:
        wrong.append(f'server {fault.name}: exit {status} after {took:.1f} s: {t.seen[-600:]}')
    wrong.extend(f'the terminal shows {c.decode()}' for c in CHATTER if c in t.seen)
    if fault == signal.SIGSTOP:
        os.kill(server, signal.SIGCONT)
        time.sleep(1)


def main():
    program, recording, work, server = sys.argv[1:5]
    try_keys(program, recording)
    try_end(program, recording)
    try_lines(program, recording, work)
    try_lost(program, recording, int(server), signal.SIGSTOP)
    try_lost(program, recording, int(server), signal.SIGKILL)
    for w in wrong:
        print('FAIL', w)
    print(f'keys, lines and a lost server: {len(wrong)} failures')
    return len(wrong) > 0


if __name__ == '__main__':
    sys.exit(main())
