#!/usr/bin/env python3
"""The recordings of marked_folders.py again, spoilt or played at another speed.

usage: spoilt_folders.py MARKED [--mishap FOLDER] [--contact FOLDER NAME]...
                         [--speed FOLDER NAME FACTOR]...

--mishap: each recording with one mishap, drawn by its name: knocks, runs of zeros, rubbing, noise
(steady or swelling), gain control, clipping, contact lost. --contact: with contact or audio lost, NAME
is drawn by too. --speed: the same samples said to be taken FACTOR times as fast, with other marks:
another heart, heard through another chest. Every FOLDER gets truth.csv, rpeaks/, sound/BASE.mar.wav
or sound/BASE.NAME.wav. A spoilt recording lies in the fold of its own (folds.csv of MARKED gets a
line for each). Needs NumPy, SciPy, soundfile.
"""
import argparse
import csv
import os
import zlib

import numpy as np
import scipy.signal as sg
import soundfile

MISHAPS = {"knocks": 0.28, "zeros": 0.14, "rub": 0.14, "noise": 0.22, "gain": 0.06, "clip": 0.06,
           "lost": 0.10}


def band(x, rate, low_hz, high_hz):
    edges = [low_hz, min(high_hz, 0.45 * rate)]
    return sg.sosfilt(sg.butter(2, edges, "band", fs=rate, output="sos"), x)


def knocks(x, rate, rng):
    """Short damped sines, up to twice as high as the heart."""
    y, top, long_s = x.copy(), np.abs(x).max(), len(x) / rate
    n = rng.poisson(long_s / rng.uniform(2, 8)) + 1
    for at_s in rng.uniform(0, long_s - 0.2, n):
        first = int(at_s * rate)
        t = np.arange(min(int(0.25 * rate), len(x) - first)) / rate
        y[first:first + len(t)] += (
            np.sin(2 * np.pi * rng.uniform(25, 150) * t + rng.uniform(0, 6))
            * np.exp(-t / rng.uniform(0.012, 0.06)) * top * rng.uniform(0.3, 2.2))
    return y


def zeros(x, rate, rng):
    y, long_s = x.copy(), len(x) / rate
    for _ in range(rng.integers(1, 3)):
        lost_s = rng.uniform(0.15, 2.5)
        first = int(rng.uniform(1, max(1.1, long_s - 1 - lost_s)) * rate)
        y[first:first + int(lost_s * rate)] = 0
    return y


def lost(x, rate, rng):
    """The level falls by 30 to 60 dB, and a quiet floor goes on."""
    t, long_s = np.arange(len(x)) / rate, len(x) / rate
    lost_s = rng.uniform(0.8, 6)
    at_s = rng.uniform(1, max(1.1, long_s - 1 - lost_s))
    ramp_s = rng.uniform(0.05, 0.5)
    away = np.clip((t - at_s) / ramp_s, 0, 1) * np.clip((at_s + lost_s - t) / ramp_s, 0, 1)
    y = x * 10 ** (-rng.uniform(30, 60) * away / 20)
    return y + band(rng.normal(size=len(x)), rate, 20, 500) * x.std() * 10 ** (-rng.uniform(22, 40) / 20)


def rub(x, rate, rng):
    y, t, long_s = x.copy(), np.arange(len(x)) / rate, len(x) / rate
    at_s = rng.uniform(0, 3)
    while at_s < long_s - 0.3:
        rub_s = rng.uniform(0.1, 1.2)
        m = (t >= at_s) & (t < at_s + rub_s)
        if m.sum() > 8:
            high = sg.butter(1, rng.uniform(30, 120), "high", fs=rate, output="sos")
            y[m] += (sg.sosfilt(high, rng.normal(size=m.sum())) * x.std() * rng.uniform(0.5, 4)
                     * np.hanning(m.sum()))
        at_s += rng.uniform(1, 6)
    return y


def noise(x, rate, rng):
    """12 dB under to 6 dB over the heart; half of it swells and falls."""
    t = np.arange(len(x)) / rate
    z = rng.normal(size=len(x))
    z = band(z, rate, rng.choice([20, 40, 100]), rng.choice([120, 300, 800]))
    if rng.random() < 0.5:
        z *= (1 + np.sin(2 * np.pi * rng.uniform(0.15, 5) * t + rng.uniform(0, 6))
              * rng.uniform(0.3, 0.95))
    return x + z / z.std() * x.std() * 10 ** (-rng.uniform(-6, 12) / 20)


def gain(x, rate, rng):
    span = rng.uniform(0.1, 0.6) * rate
    return x / (np.sqrt(sg.lfilter([1 / span], [1, -1 + 1 / span], x * x)) + x.std() * 0.05) * x.std()


def clip(x, rate, rng):
    top = np.abs(x).max()
    return np.clip(x * rng.uniform(3, 12), -top, top)


def spoil(x, rate, rng):
    kind = rng.choice(list(MISHAPS), p=list(MISHAPS.values()))
    return globals()[kind](x, rate, rng)


def lay_out(marked, folder, name, change):
    """change(x, rate, base) -> (x, rate, how many times as fast)."""
    for inside in ("sound", "rpeaks"):
        os.makedirs(os.path.join(folder, inside), exist_ok=True)
    rows = list(csv.DictReader(open(os.path.join(marked, "truth.csv"))))
    lines = []
    for row in rows:
        base = os.path.splitext(os.path.basename(row["file"]))[0]
        x, rate = soundfile.read(os.path.join(marked, row["file"]), always_2d=True)
        y, rate, faster = change(x[:, 0], rate, base)
        soundfile.write(os.path.join(folder, f"sound/{base}.{name}.wav"), y, rate, subtype="PCM_16")
        marks = np.loadtxt(os.path.join(marked, "rpeaks", base + ".txt"), ndmin=1) / faster
        with open(os.path.join(folder, "rpeaks", f"{base}.{name}.txt"), "w") as f:
            f.writelines(f"{at_s:.4f}\n" for at_s in marks)
        lines.append((row["file"], f"sound/{base}.{name}.wav"))
        row.update(file=lines[-1][1], span_start_s=f"{marks[0]:.4f}", span_end_s=f"{marks[-1]:.4f}")
    with open(os.path.join(folder, "truth.csv"), "w") as f:
        table = csv.DictWriter(f, rows[0].keys())
        table.writeheader()
        table.writerows(rows)
    path = os.path.join(marked, "folds.csv")
    fold = {r["file"]: r["fold"] for r in csv.DictReader(open(path))}
    with open(path, "a") as f:
        f.writelines(f"{new},{fold[old]}\n" for old, new in lines if new not in fold)


def as_loud(y, rate):
    return y / max(1e-9, np.abs(y).max()) * 0.8, rate, 1.0


def with_mishap(x, rate, base):
    rng = np.random.default_rng(zlib.crc32((base + " mishap").encode()))
    return as_loud(spoil(x, rate, rng), rate)


def without_contact(x, rate, base, name):
    rng = np.random.default_rng(zlib.crc32(f"{base} contact {name}".encode()))
    kind = rng.choice(["lost", "zeros"], p=[0.7, 0.3])
    return as_loud(globals()[kind](x, rate, rng), rate)


def main():
    a = argparse.ArgumentParser()
    a.add_argument("marked")
    a.add_argument("--mishap")
    a.add_argument("--contact", nargs=2, action="append", default=[])
    a.add_argument("--speed", nargs=3, action="append", default=[])
    o = a.parse_args()
    if o.mishap:
        lay_out(o.marked, o.mishap, "mar", with_mishap)
    for folder, name in o.contact:
        lay_out(o.marked, folder, name,
                lambda x, rate, base, name=name: without_contact(x, rate, base, name))
    for folder, name, factor in o.speed:
        def faster(x, rate, base, factor=float(factor)):
            said = round(rate * factor)
            return x, said, said / rate

        lay_out(o.marked, folder, name, faster)


if __name__ == "__main__":
    main()
