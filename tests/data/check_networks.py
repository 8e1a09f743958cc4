#!/usr/bin/env python3
"""The networks' arithmetic, once more with NumPy in double, from the same tables of weights.

usage: check_networks.py emission TEST_EMISSION DSP_FOLDER
       check_networks.py confidence TEST_CONFIDENCE DSP_FOLDER

The test program prints its inputs and what the library makes of them (--print); the tables are
read from dsp/heart/*_weights.h as text. So a table that is learned again needs nothing here.

Formulas: dense layers, max(0, x) between them, a class's log likelihood ratio against the first
as the difference of their outputs less that of the log priors, held in -9..6 (emission.h); for the
confidence tanh between two layers, inputs centred, scaled and held in -4..4, the logistic function
of the mean log odds (confidence.h). Tolerance: emission 2e-3 (some hundred products in single
precision, scores to 9), confidence 1e-9 (both in double). Exit 77 without NumPy.
"""
import pathlib
import re
import subprocess
import sys

try:
    import numpy as np
except ImportError:
    print('skipped: no NumPy here')
    sys.exit(77)


def tables(text, sizes):
    """Each `NAME[A][B] = {...};` as an array of that shape."""
    text = re.sub(r'/\*.*?\*/', ' ', text, flags=re.S)
    found = {}
    for m in re.finditer(r'(\w+)((?:\[\w+\])+)\s*=\s*(\{.*?\});', text, re.S):
        shape = [sizes[n] if n in sizes else int(n) for n in re.findall(r'\[(\w+)\]', m[2])]
        numbers = [float(n) for n in re.findall(r'-?\d+(?:\.\d+)?(?:e[+-]?\d+)?', m[3])]
        found[m[1]] = np.array(numbers, np.float32).astype(float).reshape(shape)
    return found


def emission(t, rows, sizes):
    """(most that the library differs, that something was between the limits)"""
    patch, said = rows[:, :sizes['FM_PATCH_SIZE']], rows[:, sizes['FM_PATCH_SIZE']:]
    ratios = []
    inside = 0
    for m in range(sizes['FM_EMISSION_MEMBERS']):
        x = np.maximum(0, patch @ (t['WEIGHTS_1'][m] * t['SCALE_1'][m]) + t['BIAS_1'][m])
        x = np.maximum(0, x @ (t['WEIGHTS_2'][m] * t['SCALE_2'][m]) + t['BIAS_2'][m])
        x = x @ (t['WEIGHTS_3'][m] * t['SCALE_3'][m]) + t['BIAS_3'][m] - t['LOG_PRIOR'][m]
        ratio = x[:, 1:] - x[:, :1]
        inside += np.count_nonzero(np.abs(ratio) < 6)
        ratios.append(np.clip(ratio, -9, 6))
    wanted = np.concatenate(ratios + [np.mean(ratios, axis=0)], axis=1)
    return np.abs(wanted - said).max(), inside > 100


def confidence(t, rows, sizes):
    evidence = rows[:, :sizes['FM_EVIDENCE_SIZE']].astype(np.float32).astype(float)  # as it was printed
    said = rows[:, -1]
    x = np.clip((evidence - t['CONFIDENCE_MEAN']) * t['CONFIDENCE_SCALE'], -4, 4)
    odds = [np.tanh(x @ t['CONFIDENCE_WEIGHTS'][m] + t['CONFIDENCE_BIAS'][m]) @ t['CONFIDENCE_OUT'][m]
            + t['CONFIDENCE_OUT_BIAS'][m] for m in range(sizes['FM_CONFIDENCE_MEMBERS'])]
    wanted = 1 / (1 + np.exp(-np.mean(odds, axis=0)))
    return np.abs(wanted - said).max(), wanted.min() < 0.4 and wanted.max() > 0.6


def main():
    which, program, dsp = sys.argv[1:4]
    lines = subprocess.run([program, '--print'], check=True, capture_output=True, text=True).stdout.splitlines()
    sizes = {k: int(v) for k, v in (pair.split('=') for pair in lines[0].split())}
    rows = np.array([[float(v) for v in line.split()] for line in lines[1:]])
    t = tables((pathlib.Path(dsp) / f'{which}_weights.h').read_text(encoding='utf-8'), sizes)
    off, speaks = (emission if which == 'emission' else confidence)(t, rows, sizes)
    most = 2e-3 if which == 'emission' else 1e-9
    print(f'{which}: {len(rows)} rows, the library differs by {off:.2g} at most, {most:g} may be')
    if not speaks:
        print('and yet nothing is shown: the limits hide the arithmetic')
    return not (off <= most and speaks)


if __name__ == '__main__':
    sys.exit(main())
