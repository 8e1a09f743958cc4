#!/usr/bin/env python3
"""Marks of `demonstrate` on a terminal against the sound, played into a null sink.

usage: demonstrate.py FULLMINUTE RECORDINGS WORK

The sink's monitor is recorded while the program plays. Where each true S1 sounded is found
by cross-correlating the recording with the source around it (SciPy), and on the steady clock
by when the recorded blocks came: a null sink hands a block on when its first sample is
due, so the earliest block of all tells the clock of the first sample. When each mark was
shown is what the program says with --log-marks, taken right after it wrote to the terminal;
that the mark is on the terminal by then is checked too. Positive: the mark is late.

Bars: median under 20 ms, worst under 60 ms.

On a computer with too much to do the sound itself stutters: its S1 are then not as far apart in
the monitor as in the source, or the output stalls for good. That is looked for apart from any mark;
such a try, where it misses the bars, is told and made again, at most twice. Its own figures say
little: a first sound further off than the search reaches is taken for another.
"""
import json
import os
import pty
import select
import subprocess
import sys
import threading
import time

import numpy as np
from scipy.signal import butter, correlate, resample_poly, sosfiltfilt

RATE_HZ = 48000
LIKENESS_HZ = 4000  # the rate of the recordings
BAND_HZ = (25, 150)  # --speaker small adds only above it
SECONDS = 20
MEDIAN_MS = 20.0
WORST_MS = 60.0
AROUND_S = 0.12  # of each S1, for the search
TRIES = 3
STUTTER_MS = 5.0
CASES = [
    ('steady-072', []),
    ('fibrillation', ['--speaker', 'small', '--click']),
    ('bigeminy', ['--start', '11.3']),
]


class Recorder:
    """What the monitor gives, and when each block came."""

    def __init__(self, device):
        self.process = subprocess.Popen(
            ['parec', '--raw', f'--device={device}', f'--rate={RATE_HZ}', '--channels=1',
             '--format=s16le', '--latency-msec=5'], stdout=subprocess.PIPE)
        self.blocks = []
        self.anchors = []
        self.n = 0
        self.thread = threading.Thread(target=self.run)
        self.thread.start()

    def run(self):
        fd = self.process.stdout.fileno()
        rest = b''
        while True:
            got = os.read(fd, 1 << 16)
            now = time.monotonic()
            if not got:
                return
            self.anchors.append(now - self.n / RATE_HZ)
            rest += got
            whole = len(rest) // 2 * 2
            self.blocks.append(np.frombuffer(rest[:whole], np.int16))
            rest = rest[whole:]
            self.n += whole // 2

    def stop(self):
        """The sound, the clock of its first sample, and how far later the blocks came, ms."""
        self.process.terminate()
        self.thread.join()
        sound = np.concatenate(self.blocks).astype(float)
        # The first second may hold a backlog, which comes at once.
        anchors = np.array(self.anchors[200:])
        first = np.percentile(anchors, 1)
        return sound, first, 1000 * np.percentile(anchors - first, [50, 95, 100])


def band(x):
    return sosfiltfilt(butter(2, BAND_HZ, 'band', fs=LIKENESS_HZ, output='sos'), x)


def play(command):
    """Run on a terminal of 60 by 24; what was written to it, and the exit status."""
    child, fd = pty.fork()
    if child == 0:
        os.execv(command[0], command)
    seen = b''
    while True:
        if select.select([fd], [], [], 0.5)[0]:
            try:
                got = os.read(fd, 1 << 16)
            except OSError:
                break
            if not got:
                break
            seen += got
    return seen, os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def sounded_s(sound, source, start_s, times_s):
    """Where in the recording each S1 (times of the source) sounded, s."""
    c = correlate(sound, source, method='fft')
    lag = int(np.argmax(c)) - (len(source) - 1)
    out = []
    for t in times_s:
        at = int(round((t - start_s - AROUND_S / 2) * LIKENESS_HZ))
        piece = source[max(at, 0):at + int(2 * AROUND_S * LIKENESS_HZ)]
        from_ = max(at, 0) + lag - int(AROUND_S * LIKENESS_HZ)
        room = sound[max(from_, 0):max(at, 0) + lag + len(piece) + int(AROUND_S * LIKENESS_HZ)]
        k = int(np.argmax(correlate(room, piece, mode='valid')))
        moved = (max(from_, 0) + k - max(at, 0)) / LIKENESS_HZ
        out.append(t - start_s + moved)
    return np.array(out)


def measure(program, recordings, work, name, options):
    """What is wrong, a line for the reader, and whether the sound stuttered."""
    source_path = f'{recordings}/{name}.flac'
    log = f'{work}/{name}.marks'
    recorder = Recorder('steth0.monitor')
    time.sleep(1.5)
    seen, status = play([program, 'demonstrate', source_path, '--once', '--seconds', str(SECONDS),
                         '--force', '--log-marks', log, *options])
    time.sleep(0.5)
    sound, first_s, late_ms = recorder.stop()
    if status != 0:
        return ([f'exit {status}: {seen[-300:].decode(errors="replace")}'], name,
                b'output is gone' in seen)
    start_s = float(options[options.index('--start') + 1]) if '--start' in options else 0.0
    raw = subprocess.run(['sox', source_path, '-t', 'raw', '-e', 'signed', '-b', '16', '-',
                          'trim', str(start_s), str(SECONDS)], check=True, capture_output=True).stdout
    source = band(np.frombuffer(raw, np.int16).astype(float))
    heard = band(resample_poly(sound, 1, RATE_HZ // LIKENESS_HZ))
    truth = json.load(open(f'{recordings}/{name}.truth.json'))
    wanted = [t for t in truth['s1_s'] if start_s <= t < start_s + SECONDS - 0.2]
    rows = [line.split('\t') for line in open(log).read().splitlines()[1:]]
    shown = {round(float(at), 3): float(when) for when, at, mark in rows if mark == 'S1'}
    wrong = []
    missing = [t for t in wanted if round(t, 3) not in shown]
    if missing:
        wrong.append(f'{len(missing)} of {len(wanted)} S1 were not shown: {missing[:5]}')
    wanted = [t for t in wanted if round(t, 3) in shown]
    at_s = sounded_s(heard, source, start_s, wanted)
    sounded = first_s + at_s
    stutter_ms = 1000 * float(np.ptp(at_s - np.array(wanted)))
    ms = 1000 * (np.array([shown[round(t, 3)] for t in wanted]) - sounded)
    median, worst = float(np.median(np.abs(ms))), float(np.max(np.abs(ms)))
    if not median < MEDIAN_MS or not worst < WORST_MS:
        wrong.append('beyond the bars')
    # Each S1 shown counts the beats on the screen up by one: the last number is on it.
    last = f'Beats so far {len([1 for r in rows if r[2] == "S1"])}'
    if last.encode() not in seen:
        wrong.append(f'the terminal never said "{last}"')
    return wrong, (f'{name} {" ".join(options)}: {len(ms)} S1, '
                   f'|mark - sound| median {median:.1f} ms, worst {worst:.1f} ms; signed median '
                   f'{np.median(ms):+.1f}, {ms.min():+.1f} to {ms.max():+.1f} ms; blocks came '
                   f'{late_ms[0]:.1f} ms (median), {late_ms[1]:.1f} ms (95 %) after the earliest; the sound itself is '
                   f'off by {stutter_ms:.1f} ms at most'), stutter_ms > STUTTER_MS


def main():
    program, recordings, work = sys.argv[1:4]
    failures = 0
    for name, options in CASES:
        for left in range(TRIES - 1, -1, -1):
            wrong, line, stuttered = measure(program, recordings, work, name, options)
            print(line, flush=True)
            if not stuttered or not wrong:
                break
            print(f'  the sound stuttered: {wrong}; {left} tries left', flush=True)
            wrong.append('the sound itself stuttered in every try: too much to do here')
        for w in wrong:
            print(f'  FAIL {name}: {w}')
        failures += len(wrong) > 0
    return failures > 0


if __name__ == '__main__':
    sys.exit(main())
