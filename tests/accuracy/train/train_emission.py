#!/usr/bin/env python3
"""Learn how S1, S2 and neither sound: one network of those in dsp/emission_weights.h.

usage: train_emission.py --out FILE.npz [--member M] [--fold K --folds folds.csv]
                         [--epochs N] [--heart PATCHES --truth truth.csv]...
                         COMPOSED_PATCHES...

The patches come from accuracy_export. Members differ in what the numbers begin with and in
the order of the examples. With --fold K, recordings of that fold are left out of training
(for cross-validation). emission_table.py makes the table. Needs NumPy only.
"""
import argparse
import csv
import sys

import numpy as np

import small_network as net

# Middle of a sound's envelope after its onset, s: median of composed recordings.
S1_MIDDLE_S, S2_MIDDLE_S = 0.023, 0.013
# R peak to the middle of S1 is the table's lag and this, s (same median, rounded).
HEART_EXTRA_S = 0.035
NEAR_S = 0.05
HEIGHT = -16  # column of a patch that holds the candidate's height
HEART_SHARE = 0.5  # weight of all open recordings against all composed ones


def read_patches(path, patch_size):
    sounds = []
    record = np.dtype([("time", "<f8"), ("patch", "<f4", patch_size)])
    with open(path, "rb") as f:
        while line := f.readline():
            _, name, group, first, last, n, _, _ = line.split()
            s1 = np.array(f.readline().split(), float)
            s2 = np.array(f.readline().split(), float)
            block = np.frombuffer(f.read(int(n) * record.itemsize), record)
            sounds.append(
                dict(name=name.decode(), group=group.decode(), span=(float(first), float(last)),
                     s1=s1, s2=s2, t=block["time"], x=block["patch"])
            )
    return sounds


def nearest(times, wanted, within):
    """Index of the candidate nearest each wanted time, -1 where none is within."""
    found = np.full(len(wanted), -1)
    for i, at in enumerate(wanted):
        k = np.searchsorted(times, at)
        near = [j for j in (k - 1, k) if 0 <= j < len(times) and abs(times[j] - at) <= within]
        if near:
            found[i] = min(near, key=lambda j: abs(times[j] - at))
    return found


def label_composed(s):
    y = np.zeros(len(s["t"]), int)
    for times, middle, label in ((s["s1"], S1_MIDDLE_S, 1), (s["s2"], S2_MIDDLE_S, 2)):
        k = nearest(s["t"], times + middle, NEAR_S)
        y[k[k >= 0]] = label
    y[s["t"] > 63.5] = -1  # the segment ends there: context is cut
    return y


def systole_s(cycle_s):
    """As dsp/systole.c."""
    bpm = 60 / cycle_s
    fit = 0.5405 - 0.0021 * bpm - 0.075
    share = np.clip((bpm - 110) / 10, 0, 1)
    return (1 - share) * fit + share * 0.475 * cycle_s


def best_offset(s, at, offsets, within, towards, pull):
    """The offset at which candidates near at + offset are highest, pulled to a guess."""
    height = s["x"][:, HEIGHT]

    def score(offset):
        k = nearest(s["t"], at + offset, within)
        return np.mean(np.where(k >= 0, height[k], 0)) - pull * abs(offset - towards)

    return max(offsets, key=score)


def label_heart(s, lag_ms):
    """S1 from R peaks, or from marks (lag 0), and the recording's own lag; S2 where one systole fits all beats.

    Truth has no S2: it is the offset after S1, near the expected systole, at which the
    candidates are highest over all beats of the recording.
    """
    t, r = s["t"], s["s1"]
    y = np.zeros(len(t), int)
    y[(t < s["span"][0] - 0.1) | (t > s["span"][1] + 0.1)] = -1
    offsets = np.arange(0.03, 0.17, 0.01) if lag_ms > 0 else np.arange(-0.04, 0.1, 0.01)
    lag = best_offset(s, r, offsets, 0.03, lag_ms / 1000 + HEART_EXTRA_S, 3.0)
    k = nearest(t, r + lag, 0.045)
    y[k[k >= 0]] = 1
    s1 = np.where(k >= 0, t[k], r + lag)
    expected = float(systole_s(np.median(np.diff(r))))
    systole = best_offset(s, s1, np.arange(0.7, 1.35, 0.03) * expected, 0.03, expected, 2.0)
    k = nearest(t, s1 + systole, 0.045)
    k = k[k >= 0]
    y[k[y[k] == 0]] = 2
    return y


def stack(sounds):
    x = np.concatenate([s["x"] for s in sounds])
    y = np.concatenate([s["y"] for s in sounds])
    known = y >= 0
    return np.ascontiguousarray(x[known]), y[known]


def train(x, y, weight, sizes, epochs, seed, batch=512):
    rng = np.random.default_rng(seed)
    layers = net.start_layers(sizes, rng, 2.0)
    optimiser = net.Adam(layers, 2e-3, epochs * (len(x) // batch), 1e-4)
    for epoch in range(epochs):
        order = rng.permutation(len(x))
        loss = []
        for i in range(0, len(x) - batch + 1, batch):
            j = order[i : i + batch]
            outputs = net.forward(layers, x[j], net.rectify)
            p = net.softmax(outputs[-1])
            rows = np.arange(batch)
            w = weight[j] / weight[j].sum()
            loss.append(-(np.log(p[rows, y[j]] + 1e-9) * w).sum())
            p[rows, y[j]] -= 1
            error = p * w[:, None]
            optimiser.update(net.backward(layers, outputs, error, lambda a: a > 0))
        print(f"epoch {epoch + 1}: loss {np.mean(loss):.4f}", flush=True)
    return layers


def main():
    a = argparse.ArgumentParser()
    a.add_argument("composed", nargs="+")
    a.add_argument("--heart", action="append", default=[])
    a.add_argument("--truth", action="append", default=[])
    a.add_argument("--folds")
    a.add_argument("--fold", type=int, default=-1)
    a.add_argument("--epochs", type=int, default=5)
    a.add_argument("--patch-size", type=int, default=128)
    a.add_argument("--member", type=int, default=0)
    a.add_argument("--out", required=True)
    o = a.parse_args()
    composed = [s for f in o.composed for s in read_patches(f, o.patch_size)]
    for s in composed:
        s["y"] = label_composed(s)
    x, y = stack(composed)
    weight = np.ones(len(y), np.float32)
    n_heart = 0
    if o.heart:
        lags = {r["file"]: float(r["s1_after_r_ms"])
                for path in o.truth for r in csv.DictReader(open(path))}
        left_out = set()
        if o.fold >= 0:
            left_out = {r["file"] for r in csv.DictReader(open(o.folds))
                        if int(r["fold"]) == o.fold}
        heart = [s for path in o.heart for s in read_patches(path, o.patch_size)
                 if s["group"] == "high" and s["name"] not in left_out]
        for s in heart:
            s["y"] = label_heart(s, lags[s["name"]])
        hx, hy = stack(heart)
        share = np.full(len(hy), max(1.0, HEART_SHARE * len(y) / len(hy)), np.float32)
        x, y, weight = (np.concatenate(p) for p in ((hx, x), (hy, y), (share, weight)))
        n_heart = len(heart)
    log_prior = np.log([weight[y == k].sum() / weight.sum() for k in range(3)])
    seed = 10 * o.member + o.fold + 1
    layers = train(x, y, weight, (x.shape[1], 48, 24, 3), o.epochs, seed)
    named = {f"{kind}_{i + 1}": p for i, layer in enumerate(layers)
             for kind, p in zip(("weights", "bias"), layer)}
    np.savez(o.out, log_prior=log_prior, counts=(len(composed), n_heart), **named)


if __name__ == "__main__":
    sys.exit(main())
