#!/usr/bin/env python3
"""Lay out recordings whose every S1 is marked as accuracy_export reads folders with truth.

usage: marked_folders.py --folds folds.csv --out FOLDER [--hum FOLDER] heart-states heart-children

Each source holds s1.csv (file, annotated_spans_s, s1_s). OUT gets truth.csv, rpeaks/ with the
marks of the longest annotated stretch, links to the sounds, and folds.csv, which extends the given
one: of heart-states blocks of ten numbers of a set lie in one fold (one person may have several
numbers), of heart-children all recordings of a person. A recording whose stretch has fewer than
six marks or 5 s is left out. With --hum the same recordings again, with 50 or 60 Hz and harmonics
added, 10 dB under to 6 dB over the heart (the seed is the name). Needs NumPy, soundfile for --hum.
"""
import argparse
import csv
import os
import zlib

import numpy as np

FOLDS = 5
LEAST_MARKS, LEAST_S = 6, 5.0


def fold_of(file, known):
    """Fold of a recording: as listed; else that of its block of numbers or its person."""
    base = os.path.basename(file).split(".")[0]
    if base[0].isdigit():  # a child: the person's number leads the name
        return zlib.crc32(base.split("_")[0].encode()) % FOLDS
    number = int(base[1:])
    if base[0] == "a":  # the fold of the nearest listed number not above it
        below = [n for n in known if n <= number]
        return known[max(below)] if below else known[min(known)]
    return zlib.crc32(f"{base[0]}{number // 10}".encode()) % FOLDS


def longest(row):
    spans = [tuple(map(float, s.rsplit("-", 1))) for s in row["annotated_spans_s"].split()]
    first, last = max(spans, key=lambda s: s[1] - s[0])
    marks = [x for x in map(float, row["s1_s"].split()) if first <= x <= last]
    return marks


def add_hum(x, rate, name):
    rng = np.random.default_rng(zlib.crc32(name.encode()))
    t = np.arange(len(x)) / rate
    mains = rng.choice([50.0, 60.0]) + rng.normal() * 0.03
    hum = sum(np.sin(2 * np.pi * mains * k * t + rng.uniform(0, 6.28)) * rng.uniform(0.2, 1.0) / k
              for k in range(1, rng.integers(2, 7)))
    level = 10 ** (rng.uniform(-10, 6) / 20)
    return x + hum / hum.std() * x.std() * level


def write_hum(path, out, name):
    import soundfile

    x, rate = soundfile.read(path, always_2d=True)
    y = add_hum(x[:, 0], rate, name)
    soundfile.write(out, y / np.abs(y).max() * 0.8, rate, subtype="PCM_16")


def main():
    a = argparse.ArgumentParser()
    a.add_argument("sources", nargs="+")
    a.add_argument("--folds", required=True)
    a.add_argument("--out", required=True)
    a.add_argument("--hum")
    o = a.parse_args()
    listed = {r["file"]: int(r["fold"]) for r in csv.DictReader(open(o.folds))}
    known = {int(os.path.basename(f)[1:5]): k for f, k in listed.items()}
    outs = [o.out] + ([o.hum] if o.hum else [])
    tables = []
    for folder in outs:
        os.makedirs(os.path.join(folder, "sound"), exist_ok=True)
        os.makedirs(os.path.join(folder, "rpeaks"), exist_ok=True)
        tables.append(open(os.path.join(folder, "truth.csv"), "w"))
        tables[-1].write("file,duration_s,span_start_s,span_end_s,beats_in_span,confidence,"
                         "s1_after_r_ms\n")
    folds = open(os.path.join(o.out, "folds.csv"), "w")
    folds.write("file,fold\n" + "".join(f"{f},{k}\n" for f, k in listed.items()))
    for source in o.sources:
        for row in csv.DictReader(open(os.path.join(source, "s1.csv"))):
            marks = longest(row)
            if len(marks) < LEAST_MARKS or marks[-1] - marks[0] < LEAST_S:
                continue
            base, end = os.path.splitext(os.path.basename(row["file"]))
            path = os.path.abspath(os.path.join(source, row["file"]))
            for k, (folder, table) in enumerate(zip(outs, tables)):
                name = f"sound/{base}{end}" if k == 0 else f"sound/{base}.hum.wav"
                where = os.path.join(folder, name)
                if k == 0 and not os.path.lexists(where):
                    os.symlink(path, where)
                elif k == 1:
                    write_hum(path, where, base)
                stem = os.path.basename(name).rsplit(".", 1)[0]
                with open(os.path.join(folder, "rpeaks", stem + ".txt"), "w") as f:
                    f.writelines(f"{x:.4f}\n" for x in marks)
                table.write(f"{name},0,{marks[0]:.4f},{marks[-1]:.4f},{len(marks)},high,0\n")
                folds.write(f"{name},{fold_of(row['file'], known)}\n")


if __name__ == "__main__":
    main()
