#!/usr/bin/env python3
"""Learn the probability that a rate is within 3 of the truth, and write
dsp/heart/confidence_weights.h.

usage: train_confidence.py --out FILE [--folds folds.csv] [--fold K] EVIDENCE...

EVIDENCE files come from accuracy_export; those of open recordings must be decoded with
the emission table that was trained without their fold. Prints the cross-fitted
calibration and the two bars. With --fold K nothing of that fold is learned from, the bars
included, and only the bars are printed: the table is for scoring the fold
(cross_validate.sh). Needs NumPy and PyTorch, which finds a GPU by itself.
"""
import argparse
import csv
import sys
import zlib

import numpy as np
import torch

import small_network as net
from names import c_names, read_names, same_names

HIDDEN = 16
COMMITTEE = 5  # networks of different seeds; their mean log odds is the answer
STEP, DECAY = 0.02, 3e-3
# The share expected to be wrong of the counted, and of those that a number is given for. About one
# in a hundred of the marked recordings differs from what ear and eye find, so less cannot be asked.
COUNTED_WRONG, GIVEN_WRONG = 0.008, 0.018
# Weight of one window: open recordings are few, and what this is for.
WEIGHTS = {"composed": 2.0, "none": 0.4, "open": 3.0, "part": 0.5, "hum": 1.0, "mishap": 0.5}


# Recordings with something added or lost (spoilt_folders.py).
MISHAPS = (".mar.wav", ".lost.wav", ".away.wav")


def rate(times):
    return 60 * (len(times) - 1) / (times[-1] - times[0]) if len(times) > 2 else 0.0


def rate_outside(times, gaps):
    """Rate over the intervals that touch no gap, as dsp/minute.c; 0 for fewer than five."""
    pairs = [(a, b) for a, b in zip(times[:-1], times[1:])
             if not any(a < end and b > start for start, end in gaps)]
    return 60 * len(pairs) / sum(b - a for a, b in pairs) if len(pairs) >= 5 else 0.0


def right_of_heard(found, truth, gaps):
    """The same of a recording with a mishap: of what was heard, where something was not."""
    first, last = truth[0] - 0.05, truth[-1] + 0.15
    mine = found[(found >= first) & (found <= last)]
    if not gaps:
        return abs(rate(mine) - rate(truth)) <= 3
    theirs = rate_outside(truth, gaps)
    return None if theirs == 0.0 else abs(rate_outside(mine, gaps) - theirs) <= 3


def within_three(found, truth, start, length, from_ecg, marked):
    """Whether the decoded beats give the right rate for this window; None: cannot be told."""
    if not from_ecg:
        inside = truth[(truth >= start) & (truth < start + length)]
        allowed = 3 if length >= 59.9 else max(1, round(3 * length / 60))
        return abs(len(found) - len(inside)) <= allowed
    first, last = max(start, truth[0] - 0.05), min(start + length, truth[-1] + 0.15)
    known = truth[(truth >= start) & (truth <= start + length)]
    if len(known) < (6 if marked else 3) or marked and known[-1] - known[0] < 5:
        return None
    mine = found[(found >= first) & (found <= last)]
    return abs(rate(mine) - rate(known)) <= (3 if length > 12 or marked else 7)


def read_evidence(paths, folds):
    """Rows of all files, and the names of their numbers."""
    rows, names = [], []
    for path in paths:
        with open(path, "rb") as f:
            names.append(read_names(f, "FM_EVIDENCE", path))
            lines = f.read().decode().splitlines()
        for line in lines:
            name, group, start, length, evidence, found, truth, spans = line.split(";")
            found, truth = np.array(found.split(), float), np.array(truth.split(), float)
            start, length = float(start), float(length)
            from_ecg = group in ("high", "medium")
            right = False
            mishap = name.endswith(MISHAPS)
            if mishap:
                gaps = [tuple(map(float, h.split(":"))) for h in spans.split()]
                known = truth[(truth >= start) & (truth <= start + length)]
                right = right_of_heard(found, known, gaps) if len(known) >= 6 else None
                if right is None:
                    continue
            elif group != "none":
                marked = name.startswith("sound/")
                right = within_three(found, truth, start, length, from_ecg, marked)
                if right is None:
                    continue
            kind = group if not from_ecg else ("part" if length <= 12 else "open")
            kind = "hum" if name.endswith(".hum.wav") else "mishap" if mishap else kind
            fold = folds.get(name, zlib.crc32(name.encode()) % 5)
            rows.append((np.array(evidence.split(), float), float(right), kind, fold, name))
    return rows, same_names(names, paths)


def fit_committee(z, y, w, rounds):
    """COMMITTEE networks side by side, full batches; layers[[weights, bias], ...] of each."""
    device = "cuda" if torch.cuda.is_available() else "cpu"

    def put(a):
        return torch.tensor(np.asarray(a), dtype=torch.float64, device=device)

    starts = [net.start_layers((z.shape[1], HIDDEN, 1), np.random.default_rng(seed), 0.8)
              for seed in range(COMMITTEE)]
    p = [put(np.stack([np.atleast_2d(layers[k // 2][k % 2]) for layers in starts]))
         for k in range(4)]
    x, right, weight = put(z).expand(COMMITTEE, -1, -1), put(y), put(w / w.sum())
    first, second = ([torch.zeros_like(q) for q in p] for _ in range(2))
    for t in range(1, rounds + 1):
        hidden = torch.tanh(torch.baddbmm(p[1], x, p[0]))
        out = torch.baddbmm(p[3], hidden, p[2])
        error = (torch.sigmoid(out) - right[:, None]) * weight[:, None]
        back = error * p[2].transpose(1, 2) * (1 - hidden * hidden)
        slopes = [x.transpose(1, 2) @ back + DECAY * p[0], back.sum(1, keepdim=True),
                  hidden.transpose(1, 2) @ error + DECAY * p[2], error.sum(1, keepdim=True)]
        step = STEP * 0.5 * (1 + np.cos(np.pi * t / rounds))
        for q, slope, m, v in zip(p, slopes, first, second):  # Adam
            m.mul_(0.9).add_(slope, alpha=0.1)
            v.mul_(0.999).addcmul_(slope, slope, value=0.001)
            q -= step * (m / (1 - 0.9**t)) / ((v / (1 - 0.999**t)).sqrt() + 1e-8)
    p = [q.cpu().numpy() for q in p]
    return [[[p[0][i], p[1][i][0]], [p[2][i], p[3][i][0]]] for i in range(COMMITTEE)]


def log_odds(committee, z):
    return np.mean([net.forward(layers, z, np.tanh)[-1][:, 0] for layers in committee], axis=0)


def probability(z):
    return 1 / (1 + np.exp(-z))


def cross_fitted(z, y, w, fold, rounds):
    """Log odds for each window by a committee that has not learned from its fold."""
    odds = np.zeros(len(y))
    for f in np.unique(fold):
        held = fold == f
        odds[held] = log_odds(fit_committee(z[~held], y[~held], w[~held], rounds), z[held])
    return odds


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


def fit_line(x, y):
    """a and b of P(right) = 1 / (1 + exp(-a - b x)), by Newton's method."""
    design = np.column_stack([np.ones(len(x)), x])
    line = np.array([0.0, 1.0])
    for _ in range(30):
        p = probability(design @ line)
        slope = design.T @ (y - p)
        bend = (design * (p * (1 - p))[:, None]).T @ design
        line += np.linalg.solve(bend + 1e-9 * np.eye(2), slope)
    return line


def lowest_bar(odds, wrong, share):
    """The lowest bar, in steps of 0.01, above which the mean chance to be wrong is `share`."""
    for bar in np.arange(0.50, 1.0, 0.01):
        above = probability(odds) >= bar
        if above.any() and wrong[above].mean() <= share:
            return round(float(bar), 2)
    return 0.99


def print_bars(odds, y, kind):
    """The two bars, from cross-fitted log odds: whole windows, sounds without a heart
    included. Not the few that are wrong near a bar decide, but a line through all."""
    whole = kind != "part"
    odds, y = odds[whole], y[whole]
    line = fit_line(odds, y)
    wrong = 1 - probability(line[0] + line[1] * odds)
    bars = lowest_bar(odds, wrong, COUNTED_WRONG), lowest_bar(odds, wrong, GIVEN_WRONG)
    for bar, name in zip(bars, ("counted", "caution")):
        above = probability(odds) >= bar
        print(f"bar of {name}: {bar:.2f}; {int(above.sum())} of {len(y)} windows above it, "
              f"{int((above & (y == 0)).sum())} wrong, {wrong[above].sum():.1f} expected",
              flush=True)


def print_cross_fit(rows, p, y, kind):
    """Print how a table does on windows whose fold it has not learned from."""
    print("cross-fitted:")
    for which in (["composed"], ["none"], ["open"], ["part"], ["composed", "open"],
                  ["composed", "open", "none"]):
        report(p, y, kind, which)
    for i in np.where((y == 0) & (p >= 0.9) | (kind == "open") & (y == 1) & (p < 0.6))[0]:
        print(f"   {rows[i][4]} ({kind[i]}) {'right' if y[i] else 'wrong'} at {p[i]:.3f}")


def write_table(path, committee, mean, scale, counts, names):
    members = "FM_CONFIDENCE_MEMBERS"
    each = [[p for layer in layers for p in layer] for layers in committee]
    body = '#include "dsp/heart/confidence.h"\n\n/* clang-format off */\n'
    body += c_names("FM_EVIDENCE", names)
    body += f"enum {{\n    {members} = {len(committee)},\n    FM_CONFIDENCE_HIDDEN = {HIDDEN}\n}};\n"
    body += net.c_vector("CONFIDENCE_MEAN", mean, "FM_EVIDENCE_SIZE")
    body += net.c_vector("CONFIDENCE_SCALE", scale, "FM_EVIDENCE_SIZE")
    body += net.c_table("float", "CONFIDENCE_WEIGHTS",
                        (members, "FM_EVIDENCE_SIZE", "FM_CONFIDENCE_HIDDEN"),
                        [m[0] for m in each], net.c_number)
    body += net.c_table("float", "CONFIDENCE_BIAS", (members, "FM_CONFIDENCE_HIDDEN"),
                        [m[1] for m in each], net.c_number)
    body += net.c_table("float", "CONFIDENCE_OUT", (members, "FM_CONFIDENCE_HIDDEN"),
                        [m[2][:, 0] for m in each], net.c_number)
    body += net.c_vector("CONFIDENCE_OUT_BIAS", [m[3][0] for m in each], members)
    body += "/* clang-format on */\n"
    net.c_header(path, "FM_CONFIDENCE_WEIGHTS_H",
                 f" * Made by tests/accuracy/train/train_confidence.py from windows of recordings\n"
                 f" * ({counts}); do not edit. What they are: tests/accuracy/train/README.md.\n"
                 + net.SOURCES, body)


def main():
    a = argparse.ArgumentParser()
    a.add_argument("evidence", nargs="+")
    a.add_argument("--folds")
    a.add_argument("--out", required=True)
    a.add_argument("--rounds", type=int, default=3000)
    a.add_argument("--fold", type=int, default=-1)
    a.add_argument("--table-only", action="store_true", help="print no calibration and no bars")
    o = a.parse_args()
    folds = {}
    if o.folds:
        folds = {r["file"]: int(r["fold"]) for r in csv.DictReader(open(o.folds))}
    rows, names = read_evidence(o.evidence, folds)
    x = np.array([r[0] for r in rows])
    y = np.array([r[1] for r in rows])
    kind = np.array([r[2] for r in rows])
    fold = np.array([r[3] for r in rows])
    w = np.array([WEIGHTS[k] for k in kind])
    mean, scale = x.mean(axis=0), 1 / (x.std(axis=0) + 1e-3)
    z = np.clip((x - mean) * scale, -4, 4)
    learned = fold != o.fold
    rows = [r for r, k in zip(rows, learned) if k]
    z, y, w, kind, fold = (v[learned] for v in (z, y, w, kind, fold))
    if not o.table_only:
        odds = cross_fitted(z, y, w, fold, o.rounds)
        if o.fold < 0:
            print_cross_fit(rows, probability(odds), y, kind)
        print_bars(odds, y, kind)
    counts = ", ".join(f"{int((kind == k).sum())} {k}" for k in WEIGHTS)
    write_table(o.out, fit_committee(z, y, w, o.rounds), mean, scale, counts, names)


if __name__ == "__main__":
    sys.exit(main())
