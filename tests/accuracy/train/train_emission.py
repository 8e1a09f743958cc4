#!/usr/bin/env python3
"""Learn how S1, S2 and neither sound: the networks of dsp/heart/emission_weights.h.

usage: train_emission.py --out PREFIX [--members N] [--fold K --folds folds.csv]
                         [--heart PATCHES --truth truth.csv]... COMPOSED_PATCHES...

The patches come from accuracy_export. Writes PREFIX_M.npz for each member; members differ in what
the numbers begin with and in the order of the examples. With --fold K, recordings of that fold are
left out of training (for cross-validation). emission_table.py makes the table. Needs NumPy and
PyTorch: half a minute for the members of a fold on a GPU, an hour and more on a processor.
"""
import argparse
import csv
import os
import sys

import numpy as np
import torch

from names import read_names, same_names

# Middle of a sound's envelope after its onset, s: median of composed recordings.
S1_MIDDLE_S, S2_MIDDLE_S = 0.023, 0.013
# R peak to the middle of S1 is the table's lag and this, s (same median, rounded).
HEART_EXTRA_S = 0.035
NEAR_S = 0.05
HEART_SHARE = 4.0  # weight of all open recordings against all composed ones
BALANCE = 0.3  # a sensor's examples weigh by their number to the power of 1 less this
HIDDEN = (128, 48)
EPOCHS, BATCH, STEP, DECAY = 12, 512, 2e-3, 1e-4
DROP = 0.1  # share of the first layer left out at random
NOISE = 0.05  # SD of what is added to every number of a patch
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"


def read_patches(path):
    """Sounds of a file, and the names of a patch's numbers."""
    sounds = []
    with open(path, "rb") as f:
        names = read_names(f, "FM_PATCH", path)
        height = list(names).index("HEIGHT")
        record = np.dtype([("time", "<f8"), ("patch", "<f4", len(names))])
        while line := f.readline():
            _, name, group, first, last, n, _, _ = line.split()
            s1 = np.array(f.readline().split(), float)
            s2 = np.array(f.readline().split(), float)
            block = np.frombuffer(f.read(int(n) * record.itemsize), record)
            sounds.append(
                dict(name=name.decode(), group=group.decode(), span=(float(first), float(last)),
                     s1=s1, s2=s2, t=block["time"], x=block["patch"],
                     height=block["patch"][:, height])
            )
    return sounds, names


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
    """As dsp/heart/systole.c."""
    bpm = 60 / cycle_s
    fit = 0.5405 - 0.0021 * bpm - 0.075
    share = np.clip((bpm - 110) / 10, 0, 1)
    return (1 - share) * fit + share * 0.475 * cycle_s


def best_offset(s, at, offsets, within, towards, pull):
    """The offset at which candidates near at + offset are highest, pulled to a guess."""
    height = s["height"]

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


def sensor(name):
    """Set of an adult's recording, or the children's: each has sensors of its own."""
    base = os.path.basename(name)
    return "children" if base[0].isdigit() else base[0]


class Networks:
    """M networks side by side."""

    def __init__(self, seeds, size):
        sizes = [(size, HIDDEN[0]), HIDDEN, (HIDDEN[1], 3)]
        self.layers = []
        for n_in, n_out in sizes:
            made = [torch.randn(n_in, n_out, generator=torch.Generator().manual_seed(
                1000 * seed + n_in)) * (2.0 / n_in) ** 0.5 for seed in seeds]
            self.layers.append(torch.stack(made).to(DEVICE).requires_grad_())
            self.layers.append(torch.zeros(len(seeds), 1, n_out, device=DEVICE, requires_grad=True))

    def scores(self, x):
        x = torch.relu(torch.baddbmm(self.layers[1], x, self.layers[0]))
        x = torch.nn.functional.dropout(x, DROP)
        x = torch.relu(torch.baddbmm(self.layers[3], x, self.layers[2]))
        return torch.baddbmm(self.layers[5], x, self.layers[4])


def train(x, y, weight, seeds):
    networks, m = Networks(seeds, x.shape[1]), len(seeds)
    x = torch.tensor(x, device=DEVICE).half()
    y, weight = (torch.tensor(v, device=DEVICE) for v in (y, weight))
    random = torch.Generator(device=DEVICE).manual_seed(1 + seeds[0])
    first, second = ([torch.zeros_like(p) for p in networks.layers] for _ in range(2))
    steps = EPOCHS * len(x) // BATCH
    for t in range(1, steps + 1):
        i = torch.randint(len(x), (m, BATCH), device=DEVICE, generator=random)
        patches = x[i].float()
        patches = patches + NOISE * torch.randn(patches.shape, device=DEVICE, generator=random)
        loss = torch.nn.functional.cross_entropy(
            networks.scores(patches).reshape(-1, 3), y[i].reshape(-1), reduction="none")
        w = weight[i]
        loss = (loss.reshape(m, -1) * w).sum(1) / w.sum(1)
        slopes = torch.autograd.grad(loss.sum(), networks.layers)
        step = STEP * 0.5 * (1 + np.cos(np.pi * t / steps))
        with torch.no_grad():
            for k, (p, slope, a, b) in enumerate(zip(networks.layers, slopes, first, second)):
                slope = slope + DECAY * p if k % 2 == 0 else slope  # Adam
                a.mul_(0.9).add_(slope, alpha=0.1)
                b.mul_(0.999).addcmul_(slope, slope, value=0.001)
                p -= step * (a / (1 - 0.9**t)) / ((b / (1 - 0.999**t)).sqrt() + 1e-8)
        if t % max(1, steps // EPOCHS) == 0:
            print(f"step {t} of {steps}: loss {loss.mean().item():.4f}", flush=True)
    return [p.detach().cpu().numpy() for p in networks.layers]


def weigh(heart, n_composed):
    """A weight for every example of the open recordings, by sensor and source."""
    groups = [g for s in heart for g in [s["sensor"]] * int((s["y"] >= 0).sum())]
    names, at, counts = np.unique(groups, return_inverse=True, return_counts=True)
    weight = counts[at] ** -BALANCE
    return (weight * HEART_SHARE * n_composed / weight.sum()).astype(np.float32)


def main():
    a = argparse.ArgumentParser()
    a.add_argument("composed", nargs="+")
    a.add_argument("--heart", action="append", default=[])
    a.add_argument("--truth", action="append", default=[])
    a.add_argument("--folds")
    a.add_argument("--fold", type=int, default=-1)
    a.add_argument("--members", type=int, default=3)
    a.add_argument("--out", required=True)
    o = a.parse_args()
    paths = [*o.composed, *o.heart]
    patches = dict(zip(paths, (read_patches(f) for f in paths)))
    names = same_names([patches[f][1] for f in paths], paths)
    composed = [s for f in o.composed for s in patches[f][0]]
    for s in composed:
        s["y"] = label_composed(s)
    x, y = stack(composed)
    weight = np.ones(len(y), np.float32)
    n_heart = 0
    if o.heart:
        left_out = set()
        if o.fold >= 0:
            left_out = {r["file"] for r in csv.DictReader(open(o.folds))
                        if int(r["fold"]) == o.fold}
        heart = []
        for k, (path, truth) in enumerate(zip(o.heart, o.truth)):
            lags = {r["file"]: float(r["s1_after_r_ms"]) for r in csv.DictReader(open(truth))}
            for s in patches[path][0]:
                if s["group"] == "high" and s["name"] not in left_out:
                    s["y"] = label_heart(s, lags[s["name"]])
                    s["sensor"] = f"{k} {sensor(s['name'])}"
                    heart.append(s)
        hx, hy = stack(heart)
        weight = np.concatenate((weigh(heart, len(y)), weight))
        x, y = (np.concatenate(p) for p in ((hx, x), (hy, y)))
        n_heart = len({(s["name"][0], os.path.basename(s["name"]).split(".")[0]) for s in heart})
    log_prior = np.log([weight[y == k].sum() / weight.sum() for k in range(3)])
    layers = train(x, y, weight, [10 * m + o.fold + 1 for m in range(o.members)])
    for m in range(o.members):
        named = {f"{kind}_{k // 2 + 1}": p[m][0] if k % 2 else p[m]
                 for k, p in enumerate(layers) for kind in [("weights", "bias")[k % 2]]}
        np.savez(f"{o.out}_{m}.npz", log_prior=log_prior, counts=(len(composed), n_heart),
                 names=list(names), **named)


if __name__ == "__main__":
    sys.exit(main())
