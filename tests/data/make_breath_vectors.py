#!/usr/bin/env python3
"""Golden pairs for the breath: numbers about hypotheses from levels given by formula, and what
the learned tables say of given numbers, by NumPy alone from the definitions in the headers.

usage: make_breath_vectors.py OUT.h | --check OUT.h DSP_FOLDER     (exit 77 without NumPy)
       make_breath_vectors.py OUT.h DSP_FOLDER
The autocorrelation is by its defining sum over np.float64; the networks are read from the
tables in DSP_FOLDER as numbers, and multiplied here.
"""
import re
import sys

try:
    import numpy as np
except ImportError:
    sys.exit(77)

LEVELS, BANDS, LAGS = 300, 7, 290
MULTIPLES = (1 / 3, 0.5, 1, 1.5, 2, 2.5, 3, 4)
SETS = ("all", "loudness", "timbre", "high", "low", "even", "even_timbre")
LENGTHS = (3, 12, 20, 31)  # hypotheses looked at


def levels():
    """level[band][i]: two unlike phases of 2.6 s in all, and a slow trend; as in the C test."""
    i = np.arange(LEVELS, dtype=float)
    out = []
    for b in range(BANDS):
        phase = 2 * np.pi * i / 26.0
        out.append(-8.0 - 0.5 * b + np.sin(2 * phase) + 0.3 * (b - 3) * np.sin(phase + 0.4)
                   + 0.002 * i + 0.2 * np.sin(0.7 * i + b))
    return np.array(out, dtype=np.float32).astype(float)


def prepare(level):
    k = np.arange(-3, 4)
    kernel = np.exp(-0.5 * k**2 / 0.8**2)
    kernel /= kernel.sum()
    rows = []
    for x in level:
        y = np.convolve(np.pad(x, 3, mode="symmetric"), kernel, "valid")
        trend = [y[max(0, i - 200):i + 201].mean() for i in range(len(y))]
        y = y - trend
        far = 3 * y.std()
        rows.append(np.clip(y, -far, far))
    return np.array(rows)


def products(x):
    n = len(x)
    return np.array([np.dot(x[:n - k], x[k:]) / (n - k) for k in range(LAGS)])


def alike(x):
    spread = x.std(1) + 0.05
    one = [products(row) for row in x]
    loudness, even = x.mean(0), (x / spread[:, None]).mean(0)
    every = sum(one)
    evened = sum(p / s**2 for p, s in zip(one, spread))
    out = {"all": every, "loudness": products(loudness),
           "timbre": every - BANDS * products(loudness), "high": sum(one[4:]),
           "low": sum(one[:3]), "even": evened,
           "even_timbre": evened - BANDS * products(even)}
    return {name: p / p[0] for name, p in out.items()}


def at(a, lag):
    middle = int(np.floor(lag + 0.5))
    reach = max(1, int(np.floor(0.04 * lag + 0.5)))
    return 0.0 if middle >= LAGS else a[max(0, middle - reach):middle + reach + 1].max()


def similarity():
    a = alike(prepare(levels()))
    rows = []
    for j in LENGTHS:
        t = 8.57 * 1.06**j
        rows.append([at(a[name], m * t) for name in SETS for m in MULTIPLES])
    return np.array(rows)


def table(text, name):
    """An array of a C header, with the sizes its enumerators or brackets give."""
    body = re.search(name + r"((?:\[\w+\])+) =\n(.*?);\n", text, re.S)
    found = re.findall(r"-?\d+\.?\d*(?:e[-+]?\d+)?(?=f)", body.group(2))
    return np.array([float(v) for v in found])


def networks(folder):
    text = open(folder + "/breath_weights.h", encoding="utf-8").read()
    size = {k: int(v) for k, v in re.findall(r"(FM_BREATH_\w+) = (\d+)", text)}
    m, h1, h2 = (size["FM_BREATH_MEMBERS"], size["FM_BREATH_HIDDEN_1"],
                 size["FM_BREATH_HIDDEN_2"])
    mean, scale = table(text, "BREATH_MEAN"), table(text, "BREATH_SCALE")
    n = len(mean)
    given = np.array([[np.sin(0.37 * k + 0.61 * j) for k in range(n)] for j in range(47)])
    x = np.clip((given.astype(np.float32) - mean) * scale, -4, 4)
    score = 0
    shapes = (("1", (m, n, h1), (m, 1, h1)), ("2", (m, h1, h2), (m, 1, h2)))
    y = np.broadcast_to(x, (m, *x.shape))
    for number, weights, bias in shapes:
        y = np.tanh(y @ table(text, "BREATH_WEIGHTS_" + number).reshape(weights)
                    + table(text, "BREATH_BIAS_" + number).reshape(bias))
    score = (y @ table(text, "BREATH_WEIGHTS_3").reshape(m, h2, 1))[..., 0]
    score = (score + table(text, "BREATH_BIAS_3").reshape(m, 1)).mean(0)
    e = np.exp(np.append(score, 0) - max(0, score.max()))
    return e / e.sum()


def confidence(folder):
    text = open(folder + "/breath_confidence_weights.h", encoding="utf-8").read()
    size = {k: int(v) for k, v in re.findall(r"(FM_BREATH_TRUST_\w+) = (\d+)", text)}
    m, h = size["FM_BREATH_TRUST_MEMBERS"], size["FM_BREATH_TRUST_HIDDEN"]
    mean, scale = table(text, "TRUST_MEAN"), table(text, "TRUST_SCALE")
    n = len(mean)
    out = []
    for case in range(3):
        given = np.array([np.cos(0.9 * k + case) for k in range(n)], np.float32)
        x = np.clip((given - mean) * scale, -4, 4)
        y = np.tanh(x @ table(text, "TRUST_WEIGHTS").reshape(m, n, h)
                    + table(text, "TRUST_BIAS").reshape(m, h))
        z = (y * table(text, "TRUST_OUT").reshape(m, h)).sum(1) + table(text, "TRUST_OUT_BIAS")
        out.append(1 / (1 + np.exp(-z.mean())))
    return np.array(out)


def numbers(name, array):
    rows = np.atleast_2d(array)
    body = ",\n    ".join("{" + ", ".join(f"{v:.9g}" for v in row) + "}" for row in rows)
    return f"static const double {name}[{rows.shape[0]}][{rows.shape[1]}] = {{\n    {body}}};\n"


def main():
    check = sys.argv[1] == "--check"
    path, folder = sys.argv[1 + check:3 + check]
    text = ("/* Made by make_breath_vectors.py (NumPy); do not edit. */\n/* clang-format off */\n"
            f"static const int BREATH_VECTOR_LENGTHS[{len(LENGTHS)}] = "
            f"{{{', '.join(map(str, LENGTHS))}}};\n"
            + numbers("BREATH_VECTOR_SIMILARITY", similarity())
            + numbers("BREATH_VECTOR_PROBABILITY", networks(folder))
            + numbers("BREATH_VECTOR_CONFIDENCE", confidence(folder)))
    if not check:
        open(path, "w", encoding="utf-8").write(text)
        return 0
    stored = open(path, encoding="utf-8").read()
    old = [float(v) for v in re.findall(r"-?\d+\.?\d*(?:e[-+]?\d+)?", stored)]
    new = [float(v) for v in re.findall(r"-?\d+\.?\d*(?:e[-+]?\d+)?", text)]
    same = len(old) == len(new) and np.allclose(old, new, rtol=1e-5, atol=1e-7)
    print("the stored vectors are as made again" if same else "they differ: make them again")
    return 0 if same else 1


if __name__ == "__main__":
    sys.exit(main())
