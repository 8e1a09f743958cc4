#!/usr/bin/env python3
"""Compares live counts with what was played.

usage: recordings.py FULLMINUTE RECORDINGS WORK NAMES...

WORK holds NAME.json (the count document of the live run), NAME.wav, NAME.exit. The played
sound is found in the recording by cross-correlation (SciPy). Then
  - each true S1 inside the counted window, by the truth document beside the source, has a
    counted beat within 40 ms, and no other beat is counted (where `count` on the source
    itself finds them so: it is a test of capture, so what the decoder does with the file is
    the measure);
  - beats, status and pattern are those of `count SOURCE --start OFFSET`; a true beat within
    50 ms of the window's edge may fall on either side;
  - no gap is on the timeline.
"""
import json
import subprocess
import sys

import numpy as np
from scipy.io import wavfile
from scipy.signal import butter, correlate, resample_poly, sosfiltfilt

WITHIN_S = 0.040
LIKENESS_HZ = 4000  # the rate of the recordings
TOP_HZ = 500  # above it a part of a sample of delay, and the server's filter, tell in hiss
ALIKE = 0.98  # a lost or doubled stretch gives 0.9 and less
EDGE_S = 0.050  # a beat this near the window's edge may fall on either side


def played_at(recording, source):
    """Where the source's first sample lies in the recording, s, and how alike they are."""
    rate, heard = wavfile.read(recording)
    low = butter(4, TOP_HZ, fs=LIKENESS_HZ, output='sos')
    heard = sosfiltfilt(low, resample_poly(heard.astype(float), LIKENESS_HZ // 100, rate // 100))
    raw = subprocess.run(['sox', source, '-t', 'raw', '-e', 'signed', '-b', '16', '-'],
                         check=True, capture_output=True).stdout
    sound = sosfiltfilt(low, np.frombuffer(raw, np.int16).astype(float))
    c = correlate(heard, sound, method='fft')
    at = int(np.argmax(c)) - (len(sound) - 1)
    both = slice(max(at, 0), min(len(heard), at + len(sound)))
    a = heard[both]
    b = sound[both.start - at:both.stop - at]
    return at / LIKENESS_HZ, float(a @ b / np.sqrt((a @ a) * (b @ b)))


def unmatched(wanted, found):
    """How many of `wanted` have no `found` of their own within WITHIN_S."""
    found = list(found)
    lost = 0
    for t in wanted:
        near = [f for f in found if abs(f - t) <= WITHIN_S]
        if near:
            found.remove(min(near, key=lambda f: abs(f - t)))
        else:
            lost += 1
    return lost


def inner(times, start_s, end_s):
    return [t for t in times if start_s + EDGE_S <= t < end_s - EDGE_S]


def compare(program, recordings, work, name):
    """A list of what is wrong, and a line for the reader."""
    source = f'{recordings}/{name}.flac'
    code = int(open(f'{work}/{name}.exit').read())
    if code not in (0, 4):
        return [f'exit {code}: ' + open(f'{work}/{name}.err').read()], ''
    live = json.load(open(f'{work}/{name}.json'))
    sitting = json.load(open(f'{work}/{name}.sitting.json'))
    truth = json.load(open(f'{recordings}/{name}.truth.json'))
    at_s, alike = played_at(f'{work}/{name}.wav', source)
    start_s = live['window']['start_s'] - at_s
    end_s = live['window']['end_s'] - at_s
    seconds = f'{end_s - start_s:.6f}'
    again = subprocess.run([program, 'count', source, '--json', '--start', f'{start_s:.6f}',
                            '--seconds', seconds, '--breath-window', 'same'],
                           capture_output=True, text=True, check=False)
    if not again.stdout:
        return [f'count on the source: {again.stderr}'], ''
    file = json.loads(again.stdout)
    wrong = []
    if start_s < 0 or end_s > truth["duration_s"]:
        wrong.append(f'the window, {start_s:.3f} to {end_s:.3f} s of the source, leaves what was played')
    if alike < ALIKE:
        wrong.append(f'what was recorded is not what was played: alike {alike:.3f}')
    if sitting['gaps']:
        wrong.append(f'gaps: {sitting["gaps"]}')
    heart, reference = live['heart'], file['heart']
    if heart['status'] != reference['status']:
        wrong.append(f'{heart["status"]} live, {reference["status"]} from the file')
    near_s = EDGE_S + WITHIN_S  # a beat is found up to so far from where it is
    at_edges = len([t for t in truth['s1_s'] if min(abs(t - start_s), abs(t - end_s)) < near_s])
    if abs((heart['beats'] or 0) - (reference['beats'] or 0)) > at_edges:
        wrong.append(f'{heart["beats"]} beats live, {reference["beats"]} from the file')
    if live.get('rhythm', {}).get('pattern') != file.get('rhythm', {}).get('pattern'):
        wrong.append('another pattern')
    beats = [t - at_s for t in heart.get('s1_s') or []]
    truth_s = truth['s1_s'] if heart['beats'] is not None else []
    missed = unmatched(inner(truth_s, start_s, end_s), beats)
    extra = unmatched(inner(beats, start_s, end_s), truth_s)
    file_s = reference.get('s1_s') or []
    file_missed = unmatched(inner(truth_s, start_s, end_s), file_s)
    file_extra = unmatched(inner(file_s, start_s, end_s), truth_s)
    if missed > file_missed or extra > file_extra:
        wrong.append(f'{missed} true beats missed and {extra} others counted; '
                     f'from the file {file_missed} and {file_extra}')
    return wrong, (f'{name}: from {start_s:.3f} s of the source, alike {alike:.4f}; {heart["status"]}, '
                   f'{heart["beats"]} beats live, {reference["beats"]} from the file; '
                   f'{missed} missed, {extra} others')


def main():
    program, recordings, work, *names = sys.argv[1:]
    failed = []
    for name in names:
        wrong, line = compare(program, recordings, work, name)
        print(line or name)
        for w in wrong:
            print('  FAIL', w)
        failed += [name] if wrong else []
    print(f'{len(names) - len(failed)} of {len(names)} recordings counted live as from the file')
    with open(f'{work}/failed', 'w', encoding='utf-8') as f:
        f.write(' '.join(failed))
    return len(failed) > 0


if __name__ == '__main__':
    sys.exit(main())
