#!/usr/bin/env python3
"""Learn how probable it is that a rate of breathing printed is within 2 of the truth, and write
the tables of dsp/breath/breath_confidence.c.

usage: train_breath_confidence.py [--plan all|folds|paces] --real REAL_CSV --out FOLDER ROWS...

ROWS must come from programs whose networks had not learned from the person (breath_table.sh
makes them). Writes FOLDER/conf-all.h, with folds conf-cvK.h, with paces conf-lpoK_P.h, named as
the tables of train_breath.py. Prints what the folds give: calibration, and how much is counted
and wrong from each bar. PyTorch, one thread, fixed seeds: a minute.
"""
import argparse
import os

import numpy as np
import torch

from breath_rows import FOLDS, PACES, Known, digest, read, write_table

torch.set_num_threads(1)
HIDDEN, STEPS, BATCH, STEP, DECAY = 8, 1200, 512, 1e-2, 3e-2
FAR = 4.0  # deviations, as FM_TABLE_LIMIT in dsp/constants.h
WITHIN = 2.0  # per minute: what the confidence speaks of (DESIGN, contracts)
WEIGHT = {"paced": 3.0, "half": 2.0, "cut": 1.0, "stretch": 0.7, "stretch_cut": 0.5,
          "icbhi": 3.0, "sprsound": 2.0, "loud": 0.8, "soft": 0.8, "heart": 0.8, "none": 0.8,
          "cycles": 0.8, "manikin": 1.0}


def train(x, right, weight, seeds):
    random = [torch.Generator().manual_seed(s) for s in seeds]
    m = len(seeds)
    parameters = [
        torch.stack([torch.randn(x.shape[1], HIDDEN, generator=r) * 0.25 for r in random]),
        torch.zeros(m, 1, HIDDEN),
        torch.stack([torch.randn(HIDDEN, 1, generator=r) * 0.3 for r in random]),
        torch.zeros(m, 1, 1)]
    for p in parameters:
        p.requires_grad_()
    adam = torch.optim.AdamW(parameters, lr=STEP, weight_decay=DECAY)
    fall = torch.optim.lr_scheduler.CosineAnnealingLR(adam, STEPS)
    chance = torch.tensor(weight / weight.sum(), dtype=torch.float32)
    draw = torch.Generator().manual_seed(1)
    for _ in range(STEPS):
        i = torch.multinomial(chance, BATCH, replacement=True, generator=draw)
        loss = torch.nn.functional.binary_cross_entropy_with_logits(
            score(parameters, x[i]), right[i].expand(m, -1))
        adam.zero_grad()
        loss.backward()
        adam.step()
        fall.step()
    return [p.detach() for p in parameters]


def score(p, x):
    return ((torch.tanh(x @ p[0] + p[1]) @ p[2]) + p[3])[..., 0]


def confidence(p, x):
    return torch.sigmoid(score(p, x).mean(0)).numpy()


def write(path, p, mean, deviation, n, source, names):
    p = [q.numpy() for q in p]
    write_table(
        path, "FM_BREATH_CONFIDENCE_WEIGHTS_H", "dsp/breath/breath_confidence.h",
        f"Made by tests/accuracy/train/train_breath_confidence.py from {n} answers; do not "
        f"edit. Digest of its input (breath_rows.py): {source}. "
        "What they are, and how to make it again: tests/accuracy/train/README.md; what "
        "they were heard in, and its licences: dsp/breath/breath_weights.h and LICENSE.",
        ("FM_GROUND", names),
        {"FM_BREATH_TRUST_MEMBERS": len(p[0]), "FM_BREATH_TRUST_HIDDEN": HIDDEN},
        [("TRUST_MEAN[FM_GROUND_SIZE]", mean),
         ("TRUST_SCALE[FM_GROUND_SIZE]", 1 / deviation),
         ("TRUST_WEIGHTS[FM_BREATH_TRUST_MEMBERS][FM_GROUND_SIZE]"
          "[FM_BREATH_TRUST_HIDDEN]", p[0]),
         ("TRUST_BIAS[FM_BREATH_TRUST_MEMBERS][FM_BREATH_TRUST_HIDDEN]", p[1][:, 0]),
         ("TRUST_OUT[FM_BREATH_TRUST_MEMBERS][FM_BREATH_TRUST_HIDDEN]", p[2][:, :, 0]),
         ("TRUST_OUT_BIAS[FM_BREATH_TRUST_MEMBERS]", p[3][:, 0, 0])])


def report(known, given, right, valid):
    some = valid & np.isin(known.kind, ("paced", "half")) & (given >= 0.6)
    order = np.argsort(given[some], kind="stable")
    error = 0.0
    for part in np.array_split(order, 5):
        said, true = given[some][part].mean(), right[some][part].mean()
        error += abs(said - true) * len(part) / len(order)
        print(f"  paced minutes and halves: said {said:.3f} right {true:.3f}")
    print(f"  expected calibration error {error:.4f}")
    for bar in (0.6, 0.65, 0.7, 0.75, 0.95, 0.96, 0.97, 0.975, 0.98, 0.985, 0.99):
        text = []
        for kind in ("paced", "half", "cut", "stretch", "icbhi", "sprsound", "loud", "soft",
                     "heart", "cycles", "none"):
            of = known.kind == kind
            over = of & valid & (given >= bar)
            text.append(f"{kind} {over.sum() / of.sum():.3f} w{(over & ~right).sum()}")
        print(f"  from {bar}: " + ", ".join(text))


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--plan", choices=("all", "folds", "paces"), default="all")
    parser.add_argument("--real", required=True)
    parser.add_argument("--out", required=True)
    parser.add_argument("rows", nargs="+")
    a = parser.parse_args()
    rows, names, _ = read(a.rows)
    known = Known(rows, a.real)
    grounds = np.nan_to_num(rows["grounds"])
    said = np.nan_to_num(rows["said"]).astype(float)
    valid = (said > 0) & (np.abs(grounds).sum(1) > 0)
    off = np.maximum(known.low - said, said - known.high)
    right = np.nan_to_num(off, nan=99.0) <= WITHIN
    weight = np.array([WEIGHT.get(k, 0.0) for k in known.kind]) * valid
    mean, deviation = grounds[valid].mean(0), grounds[valid].std(0) + 1e-3
    x = torch.tensor(((grounds - mean) / deviation).clip(-FAR, FAR), dtype=torch.float32)
    y = torch.tensor(right.astype(np.float32))
    os.makedirs(a.out, exist_ok=True)
    source = digest(rows)

    def make(name, some, seeds=(1, 2, 3, 4)):
        p = train(x, y, weight * some, seeds)
        write(os.path.join(a.out, f"conf-{name}.h"), p, mean, deviation, int(valid.sum()), source,
              names)
        return confidence(p, x)

    if a.plan != "all":
        given = np.zeros(len(rows))
        for k in range(FOLDS):
            mine = known.fold == k
            given[mine] = make(f"cv{k}", ~mine)[mine]
        report(known, given, right, valid)
    if a.plan == "paces":
        for k in range(FOLDS):
            for p in PACES:
                make(f"lpo{k}_{p}", (known.fold != k) & (known.pace != p), (1, 2))
    make("all", np.ones(len(rows), bool))


if __name__ == "__main__":
    main()
