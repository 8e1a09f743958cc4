#!/usr/bin/env python3
"""Compares live counts with what was played.

usage: recordings.py FULLMINUTE RECORDINGS WORK NAMES...

WORK holds NAME.json (the count document of the live run), NAME.wav, NAME.exit. Checked, link
by link from what was played to what was said:
  - what was recorded within the window is what was played, found in it by cross-correlation
    (SciPy), and the window lies inside it. A machine that is too busy loses sound: then that is
    said as a gap on the timeline, each piece beside it is what was played at its place, no beat
    is counted in it, and the document of the count names it;
  - what was said live is what `count` says of the same seconds of the recording: status,
    pattern, and each beat to the millisecond;
  - beside the truth document of what was played: the pulse within 2 a minute and at most two
    beats missed or others counted, where a count was given. Not exact, because each run
    listens to other seconds, and a window that cuts a run of fast beats is read otherwise
    than one beside it; a beat within 50 ms of an edge may fall on either side.
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
SAME_S = 0.001  # live and file differ by the rounding of a 16-bit sample
PIECE_S = 5.0  # shorter ones may be as like to another place of the same recording
PLACE_S = 0.1  # how exactly a gap's length is known: some blocks of the sound server
OFF_MOST = 2  # beats beside the truth
EDGE_S = 0.050  # a beat this near the window's edge may fall on either side


def pieces(sitting, window):
    """The window's parts between the gaps, PIECE_S and longer: [(from, to)], s. A gap is zeros in the recording."""
    ends = [window['start_s']]
    for g in sitting['gaps']:
        ends += [g['start_s'], g['start_s'] + g['length_s']]
    both = zip(ends[::2], ends[1::2] + [window['end_s']])
    inside = [(max(a, window['start_s']), min(b, window['end_s'])) for a, b in both]
    return [(a, b) for a, b in inside if b - a >= PIECE_S]


def played_at(recording, source, sitting, window):
    """For each piece: where the source's first sample lies in the recording, s, and how alike they are."""
    rate, heard = wavfile.read(recording)
    low = butter(4, TOP_HZ, fs=LIKENESS_HZ, output='sos')
    heard = sosfiltfilt(low, resample_poly(heard.astype(float), LIKENESS_HZ // 100, rate // 100))
    raw = subprocess.run(['sox', source, '-t', 'raw', '-e', 'signed', '-b', '16', '-'],
                         check=True, capture_output=True).stdout
    sound = sosfiltfilt(low, np.frombuffer(raw, np.int16).astype(float))
    found = []
    for begin_s, end_s in pieces(sitting, window):
        first = round(begin_s * LIKENESS_HZ)
        piece = heard[first:round(end_s * LIKENESS_HZ)]
        at = int(np.argmax(correlate(piece, sound, method='fft'))) - (len(sound) - 1)
        both = slice(max(at, 0), min(len(piece), at + len(sound)))
        a, b = piece[both], sound[both.start - at:both.stop - at]
        found.append(((first + at) / LIKENESS_HZ, float(a @ b / np.sqrt((a @ a) * (b @ b)))))
    return found


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


def of_file(program, path):
    """What `count` says of the recording, whose sitting document tells the window to the
    sample: document, or None and why."""
    again = subprocess.run([program, 'count', path, '--json', '--breath-window', 'same'],
                           capture_output=True, text=True, check=False)
    return (json.loads(again.stdout) if again.stdout else None), again.stderr


def against_file(live, file):
    """What differs between the live document and that of the recording it left."""
    heart, reference = live['heart'], file['heart']
    wrong = [f'{key}: {heart[key]} live, {reference[key]} from its recording'
             for key in ('status', 'beats') if heart[key] != reference[key]]
    if live.get('rhythm', {}).get('pattern') != file.get('rhythm', {}).get('pattern'):
        wrong.append('another pattern than from its recording')
    beats, others = heart.get('s1_s') or [], reference.get('s1_s') or []
    if len(beats) == len(others) and any(abs(a - b) > SAME_S for a, b in zip(beats, others)):
        wrong.append('a beat elsewhere than from its recording')
    return wrong


def in_gaps(t, gaps, edge_s):
    return any(g['start_s'] - edge_s < t < g['start_s'] + g['length_s'] + edge_s for g in gaps)


def around_gaps(live, sitting, found):
    """What is wrong about sound that was lost and is said to be."""
    window, named = live['window'], live['quality']['gaps']
    wrong = [f'sound moved by {at_s - found[0][0]:.3f} s and no gap says so' for at_s, _ in found
             if abs(at_s - found[0][0]) > PLACE_S]
    wrong += [f'a beat at {t} s, where sound was lost' for t in live['heart'].get('s1_s') or [] if in_gaps(t, sitting['gaps'], 0.0)]
    return wrong + [f'the count does not name the gap at {g["start_s"]} s' for g in sitting['gaps']
                    if window['start_s'] <= g['start_s'] < window['end_s'] and
                    not any(abs(n['start_s'] - g['start_s']) < 0.01 for n in named)]


def against_truth(live, truth, at_s):
    """What is wrong beside the truth, and a line that says so much as was found."""
    heart, window = live['heart'], live['window']
    if heart['beats'] is None:
        return [], f'{heart["status"]}, no count'
    start_s, end_s = window['start_s'] - at_s, window['end_s'] - at_s
    beats = [t - at_s for t in heart['s1_s']]
    gaps = [{'start_s': g['start_s'] - at_s, 'length_s': g['length_s']} for g in live['quality']['gaps']]
    true_s = [t for t in truth['s1_s'] if start_s <= t < end_s and not in_gaps(t, gaps, EDGE_S if gaps else 0.0)]
    missed = unmatched(inner(true_s, start_s, end_s), beats)
    extra = unmatched(inner(beats, start_s, end_s), truth['s1_s'])
    wrong = []
    if max(missed, extra) > OFF_MOST or abs(len(beats) - len(true_s)) > OFF_MOST:
        wrong.append(f'{missed} of {len(true_s)} true beats missed, {extra} others counted')
    return wrong, (f'{heart["status"]}, {len(beats)} beats, {len(true_s)} true; '
                   f'{missed} missed, {extra} others')


def compare(program, recordings, work, name):
    """A list of what is wrong, and a line for the reader."""
    source = f'{recordings}/{name}.flac'
    code = int(open(f'{work}/{name}.exit').read())
    if code not in (0, 4):
        return [f'exit {code}: ' + open(f'{work}/{name}.err').read()], ''
    live = json.load(open(f'{work}/{name}.json'))
    sitting = json.load(open(f'{work}/{name}.sitting.json'))
    truth = json.load(open(f'{recordings}/{name}.truth.json'))
    window = live['window']
    file, why = of_file(program, f'{work}/{name}.wav')
    if file is None:
        return [f'count on its recording: {why}'], ''
    found = played_at(f'{work}/{name}.wav', source, sitting, window)
    if not found:
        return [f'no {PIECE_S} s without a gap: {sitting["gaps"]}'], ''
    at_s, alike = found[0][0], min(a for _, a in found)
    start_s, end_s = window['start_s'] - at_s, window['end_s'] - at_s
    wrong = against_file(live, file) + around_gaps(live, sitting, found)
    if start_s < 0 or end_s > truth["duration_s"]:
        wrong.append(f'the window, {start_s:.3f} to {end_s:.3f} s of the source, leaves what was played')
    if alike < ALIKE:
        wrong.append(f'what was recorded is not what was played: alike {alike:.3f}')
    off, line = against_truth(live, truth, at_s)
    lost = f'; lost and said so: {sitting["gaps"]}' if sitting['gaps'] else ''
    return wrong + off, f'{name}: from {start_s:.3f} s of the source, alike {alike:.4f}; {line}{lost}'


def main():
    program, recordings, work, *names = sys.argv[1:]
    failed = []
    for name in names:
        wrong, line = compare(program, recordings, work, name)
        print(line or name)
        for w in wrong:
            print('  FAIL', w)
        failed += [name] if wrong else []
    print(f'{len(names) - len(failed)} of {len(names)} recordings counted live as from their file, and as true')
    with open(f'{work}/failed', 'w', encoding='utf-8') as f:
        f.write(' '.join(failed))
    return len(failed) > 0


if __name__ == '__main__':
    sys.exit(main())
