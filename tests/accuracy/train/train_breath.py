#!/usr/bin/env python3
"""Learn which reading of the breathing is right, and write dsp/breath_weights.h.

usage: train_breath.py [--out FILE] [--weight KIND=W ...] [--leave-out LUNG --manikin CSV] ROWS...

ROWS files come from `accuracy --breath ... --all` (lines that begin with R;). All readings
of one recording compete with each other and with 'none', whose score is 0; what is
learned is the probability that goes to the readings within tolerance of the true rate.
One committee for all cues together and one for each cue alone. Without --out: prints what
recordings held out (one in five) give. KIND as in the rows: 0 loud breath, 1 soft breath, 2
heart sounds only, 3 nothing breathes, 4 joined from real lengths, 5 the manikin; W counts a
recording so many times. --leave-out leaves every mixture of the manikin with that kind of
lung sound out of it; CSV is the manikin's truth.csv. breath_table.sh is the recipe. Needs
NumPy only.
"""
import argparse
import csv
import multiprocessing
import zlib

import numpy as np

HIDDEN = 12
COMMITTEE = 4  # networks of different seeds whose mean is used
MANIKIN = 5  # its kind in the rows
CUES = 4  # breath sound, loudness, intervals, all together
KNOWN = [
    [3, 4, 5, 6, 7, 11, 12, 13, 14, 16, 17, 18, 19, 20, 21, 26, 29, 30, 33, 34, 35, 36,
     37, 38],
    [4, 8, 9, 11, 12, 13, 19, 20, 21, 26, 30, 38, 41, 42],
    [4, 10, 11, 12, 13, 19, 20, 21, 26, 30, 38, 40, 46, 47],
    None,
]


def read(paths):
    """Recordings as (name, kind, true rate, source[n], rate[n], evidence[n, k])."""
    groups = {}
    for path in paths:
        for line in open(path, encoding="utf-8"):
            if line.startswith("R;"):
                _, name, kind, true, numbers = line.split(";", 4)
                rows = groups.setdefault((path, name), (int(kind), float(true), []))[2]
                rows.append(np.fromstring(numbers, sep=";"))
    out = []
    for (_, name), (kind, true, rows) in sorted(groups.items()):  # printed as threads ended
        table = np.array(rows)
        out.append((name, kind, true, table[:, 0].astype(int), table[:, 1], table[:, 2:]))
    return out


def tolerance(true):
    return max(1.0, 0.035 * true)


def pack(recordings, cue, mean, scale):
    """One long table with the recording's number beside every reading."""
    x, owner, right = [], [], []
    for i, (_, kind, true, source, rate, evidence) in enumerate(recordings):
        take = np.ones(len(rate), bool) if cue == CUES - 1 else source == cue
        x.append((evidence[take] - mean) * scale)
        owner += [i] * int(take.sum())
        right.append((np.abs(rate[take] - true) <= tolerance(true)) & (kind != 3))
    x = np.concatenate(x)
    if KNOWN[cue] is not None:
        keep = np.zeros(x.shape[1])
        keep[KNOWN[cue]] = 1
        x = x * keep
    return x, np.array(owner), np.concatenate(right)


def forward(p, x):
    hidden = np.tanh(x @ p["w"] + p["b"])
    return hidden, hidden @ p["o"] + p["c"]


def share(score, owner, n):
    most = np.zeros(n)
    np.maximum.at(most, owner, score)
    e = np.exp(score - most[owner])
    total = np.exp(-most) + np.bincount(owner, e, n)
    return e / total[owner], np.exp(-most) / total


def loss_and_slopes(p, x, owner, right, weight, n, decay):
    hidden, score = forward(p, x)
    prob, none = share(score, owner, n)
    good = np.bincount(owner, prob * right, n)
    has = np.bincount(owner, right, n) > 0
    target = np.where(has, good, none) + 1e-12
    wanted = np.where(has[owner], right * prob / target[owner], 0.0)
    slope = (prob - wanted) * weight[owner] / weight.sum()
    loss = -(weight * np.log(target)).sum() / weight.sum()
    back = slope[:, None] * p["o"] * (1 - hidden**2)
    g = {"o": hidden.T @ slope + decay * p["o"], "c": slope.sum(),
         "w": x.T @ back + decay * p["w"], "b": back.sum(0)}
    return loss, g


def train(x, owner, right, weight, n, seed, steps=500, decay=2e-4):
    """Adam over random quarters of the recordings."""
    random = np.random.default_rng(seed)
    first = np.searchsorted(owner, np.arange(n + 1))
    p = {"w": random.normal(0, 0.25, (x.shape[1], HIDDEN)), "b": np.zeros(HIDDEN),
         "o": random.normal(0, 0.3, HIDDEN), "c": -2.0}
    p = {k: np.asarray(v, np.float32) for k, v in p.items()}
    m = {k: np.zeros_like(v) for k, v in p.items()}
    v = {k: np.zeros_like(u) for k, u in p.items()}
    size = max(1, n // 4)
    for step in range(1, steps + 1):
        some = np.sort(random.choice(n, size, replace=False))
        count = first[some + 1] - first[some]
        rows = np.repeat(first[some] - np.cumsum(count) + count, count)
        rows = rows + np.arange(count.sum())
        mine = np.repeat(np.arange(size), count)
        _, g = loss_and_slopes(p, x[rows], mine, right[rows], weight[some], size, decay)
        reach = 0.03 * min(1.0, 2.5 * (1 - step / (steps + 1)))
        for k in p:
            m[k] = 0.9 * m[k] + 0.1 * g[k]
            v[k] = 0.99 * v[k] + 0.01 * g[k] ** 2
            fix = np.sqrt(v[k] / (1 - 0.99**step)) + 1e-8
            p[k] = (p[k] - reach * m[k] / (1 - 0.9**step) / fix).astype(np.float32)
    return p


def together(nets):
    """The mean of networks' scores, as one network."""
    return {"w": np.concatenate([p["w"] for p in nets], 1),
            "b": np.concatenate([p["b"] for p in nets]),
            "o": np.concatenate([p["o"] for p in nets]) / len(nets),
            "c": np.mean([p["c"] for p in nets])}


def say(title, recordings, cue, p, mean, scale):
    x, owner, right = pack(recordings, cue, mean, scale)
    n = len(recordings)
    prob, none = share(forward(p, x)[1], owner, n)
    kinds = {}
    for i, (_, kind, true, source, rate, _) in enumerate(recordings):
        take = np.ones(len(rate), bool) if cue == CUES - 1 else source == cue
        mine, q = rate[take], prob[owner == i]
        if len(mine) == 0:
            continue
        near = np.abs(mine[:, None] - mine[None, :]) <= 1.5
        gathered = near @ q
        best = np.argmax(gathered + 0.2 * q)
        off = abs(mine[best] - true)
        oracle = np.abs(mine - true).min() <= tolerance(true)
        kinds.setdefault(kind, []).append((gathered[best], off, oracle))
    print(title, "cue", cue)
    for kind in sorted(kinds):
        a = np.array(kinds[kind], float)
        sure = a[:, 0] > 0.8
        wrong = (a[:, 1] > 2) if kind != 3 else np.ones(len(a), bool)
        print(f"  kind {kind} n {len(a):5d} there {a[:, 2].mean():.3f} within2 "
              f"{(a[:, 1] <= 2).mean():.3f} sure {sure.mean():.3f} of these wrong "
              f"{wrong[sure].mean() if sure.any() else 0:.4f} "
              f"mean confidence {a[:, 0].mean():.3f}")


def table(name, array):
    text = ", ".join(f"{v:.5g}f" if "." in f"{v:.5g}" or "e" in f"{v:.5g}"
                     else f"{v:.5g}.0f" for v in np.asarray(array).ravel())
    return text


def write(path, nets, mean, scale, n):
    import textwrap
    k = len(mean)

    def block(array):
        array = np.asarray(array, float)
        if array.ndim == 1:
            return "{" + table("", array) + "}" if array.any() else "{0}"
        return "{" + ",\n".join(block(a) for a in array) + "}"

    with open(path, "w") as f:
        f.write("/**\n * @file breath_weights.h\n"
                " * Made by tests/accuracy/train/train_breath.py from readings of "
                f"{n}\n * recordings; do not edit. What they are: "
                "tests/accuracy/train/README.md.\n */\n"
                "#ifndef FM_BREATH_WEIGHTS_H\n#define FM_BREATH_WEIGHTS_H\n\n"
                '#include "dsp/breath_choice.h"\n\n/* clang-format off */\nenum {\n'
                f"    FM_BREATH_HIDDEN = {len(nets[0]['b'])}\n}};\n")
        rows = [("BREATH_MEAN[FM_BREATH_EVIDENCE]", mean),
                ("BREATH_SCALE[FM_BREATH_EVIDENCE]", scale),
                ("BREATH_WEIGHTS[FM_CUE_COUNT + 1][FM_BREATH_EVIDENCE]"
                 "[FM_BREATH_HIDDEN]", np.array([p["w"] for p in nets])),
                ("BREATH_BIAS[FM_CUE_COUNT + 1][FM_BREATH_HIDDEN]",
                 np.array([p["b"] for p in nets])),
                ("BREATH_OUT[FM_CUE_COUNT + 1][FM_BREATH_HIDDEN]",
                 np.array([p["o"] for p in nets])),
                ("BREATH_OUT_BIAS[FM_CUE_COUNT + 1]", np.array([p["c"] for p in nets]))]
        for name, array in rows:
            text = "\n".join(textwrap.fill(line, 88) for line in
                             block(array).split("\n"))
            f.write(f"static const float {name} =\n{text};\n")
        f.write("/* clang-format on */\n\n#endif\n")
    assert k == nets[0]["w"].shape[0]


PACKED = {}  # by cue, for the processes that learn from it


def learn_one(what):
    cue, seed, weight, steps = what
    x, owner, right = PACKED[cue]
    return train(x, owner, right, weight, len(weight), seed, steps)


def learn(chosen, weight, mean, scale, members, steps):
    """One committee a cue; all members learn side by side, each from its own seed."""
    for cue in range(CUES):
        x, owner, right = pack(chosen, cue, mean, scale)
        PACKED[cue] = (x.astype(np.float32), owner, right)
    jobs = [(cue, seed, weight, steps) for cue in reversed(range(CUES))  # the longest first
            for seed in range(1, members + 1)]
    with multiprocessing.get_context("fork").Pool() as pool:
        done = dict(zip([job[:2] for job in jobs], pool.map(learn_one, jobs, chunksize=1)))
    nets = [together([done[cue, seed] for seed in range(1, members + 1)])
            for cue in range(CUES)]
    for net, known in zip(nets, KNOWN):
        if known is not None:  # the rest were fed nothing, and their weights are chance
            net["w"][[k for k in range(len(net["w"])) if k not in known]] = 0.0
    return nets


def without(recordings, lung, csv_path):
    """The recordings less the manikin's with this kind of lung sound."""
    with open(csv_path, encoding="utf-8") as f:
        of_kind = {int(r["mixed"][1:5]) for r in csv.DictReader(f) if r["lung_type"] == lung}
    assert of_kind, f"no mixture with {lung} in {csv_path}"
    return [r for r in recordings if r[1] != MANIKIN or int(r[0].split(" ")[0]) not in of_kind]


def arguments():
    parser = argparse.ArgumentParser()
    parser.add_argument("--out")
    parser.add_argument("--steps", type=int, default=500)
    parser.add_argument("--members", type=int, default=COMMITTEE)
    parser.add_argument("--weight", action="append", default=[], metavar="KIND=W")
    parser.add_argument("--leave-out", metavar="LUNG")
    parser.add_argument("--manikin", metavar="CSV")
    parser.add_argument("rows", nargs="+")
    a = parser.parse_args()
    a.weight = {int(k): float(w) for k, w in (text.split("=") for text in a.weight)}
    return a


def main():
    a = arguments()
    recordings = read(a.rows)
    if a.leave_out:
        recordings = without(recordings, a.leave_out, a.manikin)
    held = np.array([zlib.crc32(r[0].split(" x")[0].encode()) % 5 == 0 for r in recordings])
    every = np.concatenate([r[5] for r in recordings])
    mean, scale = every.mean(0), 1 / (every.std(0) + 1e-6)
    chosen = recordings if a.out else [r for r, h in zip(recordings, held) if not h]
    weight = np.array([a.weight.get(r[1], 1.0) for r in chosen])
    nets = learn(chosen, weight, mean, scale, a.members, a.steps)
    if not a.out:
        for cue in range(CUES):
            say("held out", [r for r, h in zip(recordings, held) if h], cue, nets[cue], mean,
                scale)
    if a.out:
        write(a.out, nets, mean, scale, len(recordings))


if __name__ == "__main__":
    main()
