#!/usr/bin/env python3
"""Lists the real breathing that the breath's tables learn from, and makes its fast and slow
versions.

usage: breath_lists.py OPEN_DATA WORK

OPEN_DATA holds breath-paced and breath-marked. WORK/stretch gets every paced minute and every
marked recording played at other tempi with its timbre kept (SoX tempo), so that rates from 6
to 62 a minute are learned from. WORK/real.csv: path, rate a minute, start s, length s, person,
kind, lowest and highest rate that is right, the pace it was made from (0: none). Kinds: paced,
half (of a minute), cut (10 to 25 s), stretch, stretch_cut, icbhi, sprsound, and these two with
_stretch. NumPy, SoX.
"""
import csv
import os
import subprocess
import sys
import zlib
from concurrent.futures import ThreadPoolExecutor

import numpy as np

TEMPI = (0.75, 1.5, 2.0, 2.7, 3.6, 4.6)
MARKED_TEMPI = (0.6, 0.75, 0.87, 1.15, 1.35, 1.6)
RATES = (6, 62)  # a minute


def seconds_of(path):
    done = subprocess.run(["soxi", "-D", path], capture_output=True, text=True, check=True)
    return float(done.stdout)


def stretch(job):
    source, target, tempo = job
    if not os.path.exists(target):
        part = target + ".part.flac"
        subprocess.run(["sox", "-R", source, part, "tempo", str(tempo)], check=True,
                       capture_output=True)
        os.rename(part, target)


def stretch_all(jobs):
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        list(pool.map(stretch, jobs))


def paced(folder, work):
    rows, jobs = [], []
    with open(os.path.join(folder, "rates.csv"), encoding="utf-8") as f:
        for r in csv.DictReader(f):
            path = os.path.join(folder, r["file"])
            rate = float(r["breaths_per_min"])
            rows.append((path, rate, r["person"], "paced", rate))
            for tempo in TEMPI:
                if RATES[0] <= rate * tempo <= RATES[1]:
                    name = f"{r['file'].replace('/', '-')[:-5]}-{tempo}.flac"
                    target = os.path.join(work, "stretch", name)
                    jobs.append((path, target, tempo))
                    rows.append((target, rate * tempo, r["person"], "stretch", rate))
    stretch_all(jobs)
    return rows


def windows(path, kind):
    """Start and length of what is learned from one file: the whole, and parts by its name."""
    rng = np.random.default_rng(zlib.crc32(os.path.basename(path).encode()))
    length = seconds_of(path)
    if kind == "paced":
        out = [("paced", 0, 60), ("half", 0, 30), ("half", 29, 30)]
        for _ in range(2):
            n = rng.uniform(10, 25)
            out.append(("cut", rng.uniform(0, length - n), n))
        return out
    out = [("stretch", 0, 60)]
    n = rng.uniform(9, 20)
    if n < length - 2:
        out.append(("stretch_cut", rng.uniform(0, length - n), n))
    return out


def marked(folder, work):
    """Every marked recording of three breaths and more, as it is and at other tempi."""
    rows, jobs = [], []
    with open(os.path.join(folder, "cycles.csv"), encoding="utf-8") as f:
        for r in csv.DictReader(f):
            starts = [float(x) for x in r["whole_breaths_start_s"].split()]
            if len(starts) < 3:
                continue
            lengths = np.diff(starts + [float(r["last_end_s"])])
            # cycles of this set touch, and the file may cut the first and the last
            cut = r["set"] == "icbhi" and len(lengths) > 4
            inner = lengths[1:-1] if cut else lengths
            low, high = sorted((60 / np.median(inner), 60 * len(inner) / inner.sum()))
            path = os.path.join(folder, r["file"])
            person = os.path.basename(path).split("_")[0]
            rows.append((path, low, high, person, r["set"]))
            for tempo in MARKED_TEMPI:
                if RATES[0] <= low * tempo and high * tempo <= RATES[1]:
                    name = f"{os.path.basename(path)[:-5]}-{tempo}.flac"
                    target = os.path.join(work, "stretch", name)
                    jobs.append((path, target, tempo))
                    rows.append((target, low * tempo, high * tempo, person,
                                 r["set"] + "_stretch"))
    stretch_all(jobs)
    return [(path, round((low + high) / 2, 3), 0, 60, person, kind, low, high, 0)
            for path, low, high, person, kind in rows]


def main():
    data, work = (os.path.abspath(path) for path in sys.argv[1:3])
    os.makedirs(os.path.join(work, "stretch"), exist_ok=True)
    with open(os.path.join(work, "real.csv"), "w", newline="", encoding="utf-8") as f:
        out = csv.writer(f)
        for path, rate, person, kind, pace in paced(os.path.join(data, "breath-paced"), work):
            for what, start, n in windows(path, kind):
                out.writerow((path, round(rate, 4), round(start, 2), round(n, 2), person, what,
                              rate, rate, pace))
        out.writerows(marked(os.path.join(data, "breath-marked"), work))


if __name__ == "__main__":
    main()
