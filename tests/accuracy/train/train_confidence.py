#!/usr/bin/env python3
"""Learn the probability that a rate is within 3 of the truth, and write
dsp/confidence_weights.h.

usage: train_confidence.py --out FILE [--folds folds.csv] [--fold K] EVIDENCE...

EVIDENCE files come from accuracy_export; those of open recordings must be decoded with
the emission table that was trained without their fold. Prints the cross-fitted
calibration. With --fold K nothing of that fold is learned from, and nothing is printed: the
table is for scoring the fold (cross_validate.sh). Needs NumPy only.
"""
import argparse
import csv
import sys
import zlib

import numpy as np

import small_network as net

HIDDEN = 8
COMMITTEE = 3  # networks of different seeds whose mean is cross-fitted
# Weight of one window: open recordings are few, and what this is for.
WEIGHTS = {"composed": 1.0, "none": 1.0, "open": 3.0, "part": 0.7}


def rate(times):
    return 60 * (len(times) - 1) / (times[-1] - times[0]) if len(times) > 2 else 0.0


def within_three(found, truth, start, length, from_ecg):
    """Whether the decoded beats give the right rate for this window."""
    if not from_ecg:
        inside = truth[(truth >= start) & (truth < start + length)]
        allowed = 3 if length >= 59.9 else max(1, round(3 * length / 60))
        return abs(len(found) - len(inside)) <= allowed
    first, last = max(start, truth[0] - 0.05), min(start + length, truth[-1] + 0.15)
    known = truth[(truth >= start) & (truth <= start + length)]
    if len(known) < 3:
        return None
    mine = found[(found >= first) & (found <= last)]
    return abs(rate(mine) - rate(known)) <= (3 if length > 12 else 7)


def read_evidence(paths, folds):
    rows = []
    for path in paths:
        for line in open(path):
            name, group, start, length, evidence, found, truth = line.rstrip("\n").split(";")
            found, truth = np.array(found.split(), float), np.array(truth.split(), float)
            start, length = float(start), float(length)
            from_ecg = group in ("high", "medium")
            right = False
            if group != "none":
                right = within_three(found, truth, start, length, from_ecg)
                if right is None:
                    continue
            kind = group if not from_ecg else ("part" if length <= 12 else "open")
            fold = folds.get(name, zlib.crc32(name.encode()) % 5)
            rows.append((np.array(evidence.split(), float), float(right), kind, fold, name))
    return rows


def fit(z, y, w, seed, rounds):
    rng = np.random.default_rng(seed)
    layers = net.start_layers((z.shape[1], HIDDEN, 1), rng, 0.8)
    layers = [[p.astype(float) for p in layer] for layer in layers]
    optimiser = net.Adam(layers, 0.02, rounds, 3e-3)
    for _ in range(rounds):
        outputs = net.forward(layers, z, np.tanh)
        p = 1 / (1 + np.exp(-outputs[-1][:, 0]))
        error = ((p - y) * w / w.sum())[:, None]
        optimiser.update(net.backward(layers, outputs, error, lambda a: 1 - a * a))
    return layers


def predict(layers, z):
    return 1 / (1 + np.exp(-net.forward(layers, z, np.tanh)[-1][:, 0]))


def area_under_curve(p, y):
    ranks = np.empty(len(p))
    ranks[np.argsort(p)] = np.arange(1, len(p) + 1)
    right, wrong = y.sum(), len(y) - y.sum()
    return (ranks[y == 1].sum() - right * (right + 1) / 2) / (right * wrong)


def report(p, y, kind, which):
    k = np.isin(kind, which)
    p, y = p[k], y[k]
    constant = y.mean() * (1 - y.mean())
    bins = np.array_split(np.argsort(p), 10)
    ece = sum(abs(p[b].mean() - y[b].mean()) * len(b) for b in bins) / len(p)
    auc = area_under_curve(p, y) if 0 < y.mean() < 1 else float("nan")
    print(f"{'+'.join(which)}: n {len(p)}, right {y.mean():.3f}, Brier {((p - y) ** 2).mean():.4f} "
          f"(constant {constant:.4f}), area {auc:.3f}, calibration error {ece:.4f}")
    for bar in (0.6, 0.8, 0.9, 0.95, 0.98):
        above = p >= bar
        print(f"   at {bar}: {above.mean():.3f} of them, {int((above & (y == 0)).sum())} wrong")


def cross_fit(rows, z, y, w, kind, fold, rounds):
    """Print how a table does on windows whose fold it has not learned from."""
    p = np.zeros(len(y))
    for f in range(5):
        held = fold == f
        p[held] = np.mean([predict(fit(z[~held], y[~held], w[~held], s, rounds), z[held])
                           for s in range(COMMITTEE)], axis=0)
    print("cross-fitted:")
    for which in (["composed"], ["none"], ["open"], ["part"], ["composed", "open"],
                  ["composed", "open", "none"]):
        report(p, y, kind, which)
    for i in np.where((y == 0) & (p >= 0.9) | (kind == "open") & (y == 1) & (p < 0.6))[0]:
        print(f"   {rows[i][4]} ({kind[i]}) {'right' if y[i] else 'wrong'} at {p[i]:.3f}")


def main():
    a = argparse.ArgumentParser()
    a.add_argument("evidence", nargs="+")
    a.add_argument("--folds")
    a.add_argument("--out", required=True)
    a.add_argument("--rounds", type=int, default=2000)
    a.add_argument("--fold", type=int, default=-1)
    o = a.parse_args()
    folds = {}
    if o.folds:
        folds = {r["file"]: int(r["fold"]) for r in csv.DictReader(open(o.folds))}
    rows = read_evidence(o.evidence, folds)
    x = np.array([r[0] for r in rows])
    y = np.array([r[1] for r in rows])
    kind = np.array([r[2] for r in rows])
    fold = np.array([r[3] for r in rows])
    w = np.array([WEIGHTS[k] for k in kind])
    mean, scale = x.mean(axis=0), 1 / (x.std(axis=0) + 1e-3)
    z = np.clip((x - mean) * scale, -4, 4)
    learned = fold != o.fold
    if o.fold < 0:
        cross_fit(rows, z, y, w, kind, fold, o.rounds)
    layers = fit(z[learned], y[learned], w[learned], 0, o.rounds)
    (w1, b1), (w2, b2) = layers
    body = '#include "dsp/confidence.h"\n\n/* clang-format off */\n'
    body += f"enum {{\n    FM_CONFIDENCE_HIDDEN = {HIDDEN}\n}};\n"
    body += net.c_vector("CONFIDENCE_MEAN", mean, "FM_EVIDENCE_SIZE")
    body += net.c_vector("CONFIDENCE_SCALE", scale, "FM_EVIDENCE_SIZE")
    body += net.c_matrix("CONFIDENCE_WEIGHTS", w1, "FM_EVIDENCE_SIZE", "FM_CONFIDENCE_HIDDEN")
    body += net.c_vector("CONFIDENCE_BIAS", b1, "FM_CONFIDENCE_HIDDEN")
    body += net.c_vector("CONFIDENCE_OUT", w2[:, 0], "FM_CONFIDENCE_HIDDEN")
    body += f"static const float CONFIDENCE_OUT_BIAS = {net.c_number(b2[0])};\n"
    body += "/* clang-format on */\n"
    counts = ", ".join(f"{int((kind[learned] == k).sum())} {k}" for k in WEIGHTS)
    net.c_header(o.out, "FM_CONFIDENCE_WEIGHTS_H",
                 f" * Made by tests/accuracy/train/train_confidence.py from windows of recordings\n"
                 f" * ({counts}); do not edit. What they are: tests/accuracy/train/README.md.\n",
                 body)


if __name__ == "__main__":
    sys.exit(main())
