#!/usr/bin/env python3
"""Learn which length of breath is right, and write the tables of dsp/breath/breath_choice.c.

usage: train_breath.py [--plan all|folds|paces|unmarked] --real REAL_CSV --out FOLDER ROWS...

All hypotheses about one recording compete with each other and with 'none', whose score is 0;
what is learned is the probability that goes to those that are right. Writes FOLDER/all.h (the
table that is shipped), with folds FOLDER/cvK.h (without the people of fold K), with paces
FOLDER/lpoK_P.h (besides, without every recording made from pace P), with unmarked
FOLDER/unmarked.h (learned without breath-marked, whose sets are offered for research).
PyTorch, on a processor or a GPU; seeds are fixed. breath_table.sh is the recipe.
"""
import argparse
import os

import numpy as np
import torch

from breath_rows import FOLDS, HYPOTHESES, PACES, RATE, Known, digest, read, write_table

DEVICE = "cuda" if torch.cuda.is_available() else "cpu"
HIDDEN_1, HIDDEN_2 = 32, 16
STEPS, BATCH, STEP, DECAY = 3000, 256, 4e-3, 1e-2
DROP = 0.1  # share of the numbers left out at random
ONE_CUE = 0.2  # share of the recordings in which one cue alone is heard
FAR = 4.0  # deviations, as FM_TABLE_LIMIT in dsp/constants.h
WEIGHT = {"paced": 2.0, "half": 1.0, "cut": 1.0, "stretch": 1.0, "stretch_cut": 0.7,
          "icbhi": 8.0, "sprsound": 2.0, "icbhi_stretch": 3.0, "sprsound_stretch": 0.5,
          "loud": 0.5, "soft": 0.5, "heart": 0.8, "none": 1.0,
          "cycles": 0.8, "manikin": 2.0, "chest": 0.0}
MARKED = [k for k in WEIGHT if k.startswith(("icbhi", "sprsound"))]
CUES = 3  # sound, loudness, intervals: bits of the cues that know a number


def targets(known):
    """right[i][j]: hypothesis j is right for recording i."""
    log_rate = np.log(RATE)
    right = np.zeros((len(known.low), HYPOTHESES), bool)
    for i, (low, high) in enumerate(zip(known.low, known.high)):
        if np.isfinite(low):
            right[i] = (log_rate >= np.log(low * 0.955)) & (log_rate <= np.log(high * 1.047))
            if not right[i].any():
                right[i, np.argmin(abs(log_rate - 0.5 * np.log(low * high)))] = True
    return right


class Networks:
    """M networks side by side, each with its own weights and its own recordings."""

    def __init__(self, seeds, n_evidence):
        def start(n_in, n_out):
            made = [torch.randn(n_in, n_out, generator=torch.Generator().manual_seed(
                1000 * seed + n_in + n_out)) / n_in**0.5 for seed in seeds]
            return torch.stack(made).to(DEVICE).requires_grad_()

        sizes = [(n_evidence, HIDDEN_1), (HIDDEN_1, HIDDEN_2), (HIDDEN_2, 1)]
        self.weights = [start(a, b) for a, b in sizes]
        self.bias = [torch.zeros(len(seeds), 1, 1, b, device=DEVICE, requires_grad=True)
                     for _, b in sizes]

    def score(self, x):
        """x[M][B][HYPOTHESES][n_evidence] -> [M][B][HYPOTHESES]"""
        for weights, bias in zip(self.weights[:2], self.bias[:2]):
            x = torch.tanh(torch.einsum("mbtk,mkh->mbth", x, weights) + bias)
        return (torch.einsum("mbtk,mkh->mbth", x, self.weights[2]) + self.bias[2])[..., 0]


def train(x, right, weights, seeds, cues):
    """cues[k]: which cues know number k."""
    m, n = len(seeds), len(cues)
    nets = Networks(seeds, n)
    parameters = nets.weights + nets.bias
    adam = torch.optim.AdamW(parameters, lr=STEP, weight_decay=DECAY)
    fall = torch.optim.lr_scheduler.CosineAnnealingLR(adam, STEPS)
    random = torch.Generator(device=DEVICE).manual_seed(7)
    knows = [[c >> k & 1 for c in cues] for k in range(CUES)] + [[1] * n]
    cue = torch.tensor(knows, dtype=torch.float32, device=DEVICE)
    heard = torch.tensor([ONE_CUE / CUES] * CUES + [1 - ONE_CUE], device=DEVICE)
    none = ~right.any(1)
    for _ in range(STEPS):
        i = torch.multinomial(weights, BATCH, replacement=True, generator=random)
        which = torch.multinomial(heard, m * BATCH, replacement=True, generator=random)
        mask = cue[which].view(m, BATCH, 1, n)
        kept = torch.rand(m, BATCH, 1, n, device=DEVICE, generator=random) > DROP
        score = nets.score(x[i].float() * mask * kept / (1 - DROP))
        share = torch.log_softmax(torch.cat([score, torch.zeros_like(score[..., :1])], 2), 2)
        wanted = torch.cat([right[i], none[i][..., None]], 2)
        loss = -torch.logsumexp(share.masked_fill(~wanted, -30), 2).mean(1).sum()
        adam.zero_grad()
        loss.backward()
        adam.step()
        fall.step()
    return [p.detach().cpu().numpy() for p in parameters]


def plan(known, what):
    """{name: (weight of each recording, seeds)}"""
    weight = np.array([WEIGHT[k] for k in known.kind])
    jobs = {"all": (weight, range(5000, 5004))}
    if what == "folds" or what == "paces":
        for k in range(FOLDS):
            jobs[f"cv{k}"] = (weight * (known.fold != k), range(10 * k + 1, 10 * k + 4))
    if what == "paces":
        for k in range(FOLDS):
            for p in PACES:
                seeds = (100 + 10 * k + p, 1100 + 10 * k + p)
                jobs[f"lpo{k}_{p}"] = (weight * (known.fold != k) * (known.pace != p), seeds)
    if what == "unmarked":
        jobs["unmarked"] = (weight * ~np.isin(known.kind, MARKED),
                            range(6000, 6004))
    return jobs


def write(path, parameters, mean, deviation, n, source, names):
    w1, w2, w3, b1, b2, b3 = parameters
    write_table(
        path, "FM_BREATH_WEIGHTS_H", "dsp/breath/breath_evidence.h",
        f"Made by tests/accuracy/train/train_breath.py from {n} recordings; do not edit. "
        f"Digest of its input (breath_rows.py): {source}. "
        "What they are, and how to make it again: tests/accuracy/train/README.md. It learned "
        "from breath-paced (RRuJO, MIT), from ICBHI 2017 (Rocha et al., freely available for "
        "research) and SPRSound (Zhang et al. 2022, no licence stated, offered for research), "
        "from HLS-CMDS (CC BY 4.0) and from composed recordings: see LICENSE.",
        ("FM_LENGTH", names),
        {"FM_BREATH_MEMBERS": len(w1), "FM_BREATH_HIDDEN_1": HIDDEN_1,
         "FM_BREATH_HIDDEN_2": HIDDEN_2},
        [("BREATH_MEAN[FM_LENGTH_SIZE]", mean),
         ("BREATH_SCALE[FM_LENGTH_SIZE]", 1 / deviation),
         ("BREATH_WEIGHTS_1[FM_BREATH_MEMBERS][FM_LENGTH_SIZE][FM_BREATH_HIDDEN_1]", w1),
         ("BREATH_BIAS_1[FM_BREATH_MEMBERS][FM_BREATH_HIDDEN_1]", b1[:, 0, 0]),
         ("BREATH_WEIGHTS_2[FM_BREATH_MEMBERS][FM_BREATH_HIDDEN_1][FM_BREATH_HIDDEN_2]", w2),
         ("BREATH_BIAS_2[FM_BREATH_MEMBERS][FM_BREATH_HIDDEN_2]", b2[:, 0, 0]),
         ("BREATH_WEIGHTS_3[FM_BREATH_MEMBERS][FM_BREATH_HIDDEN_2]", w3[..., 0]),
         ("BREATH_BIAS_3[FM_BREATH_MEMBERS]", b3[:, 0, 0, 0])])


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--plan", choices=("all", "folds", "paces", "unmarked"), default="all")
    parser.add_argument("--real", required=True)
    parser.add_argument("--out", required=True)
    parser.add_argument("rows", nargs="+")
    a = parser.parse_args()
    rows, _, names = read(a.rows)
    known = Known(rows, a.real)
    evidence = np.nan_to_num(rows["evidence"])
    mean = evidence.reshape(-1, len(names)).mean(0)
    deviation = evidence.reshape(-1, len(names)).std(0) + 1e-3
    x = torch.tensor((evidence - mean) / deviation, device=DEVICE).clamp(-FAR, FAR).half()
    right = torch.tensor(targets(known), device=DEVICE)
    jobs = [(name, weight, seed) for name, (weight, seeds) in plan(known, a.plan).items()
            for seed in seeds]
    learned = {}
    side_by_side = 25 if DEVICE == "cuda" else 1
    for at in range(0, len(jobs), side_by_side):
        some = jobs[at:at + side_by_side]
        weights = torch.tensor(np.array([w for _, w, _ in some]), dtype=torch.float32,
                               device=DEVICE)
        done = train(x, right, weights, [seed for _, _, seed in some], list(names.values()))
        for k, (name, _, _) in enumerate(some):
            learned.setdefault(name, []).append([p[k] for p in done])
    os.makedirs(a.out, exist_ok=True)
    source = digest(rows)
    for name, nets in learned.items():
        write(os.path.join(a.out, name + ".h"), [np.stack(p) for p in zip(*nets)], mean,
              deviation, len(rows), source, names)


if __name__ == "__main__":
    main()
