#!/usr/bin/env python3
"""What the marked open recordings say of beat intervals: the numbers behind the constants of
dsp/heart/beats.c and dsp/heart/follow.c.

usage: intervals.py OPEN_DATA/heart-states OPEN_DATA/heart-children      (NumPy)

A recording counts with 10 marked intervals in a row and more. The running median is over nine
intervals, as in dsp/heart/follow.c.
"""
import csv
import sys

import numpy as np

REACH = 4


def runs(row):
    """Intervals between marks, of each annotated span by itself."""
    s1 = np.array(row["s1_s"].split(), float)
    for span in row["annotated_spans_s"].split():
        first, last = map(float, span.split("-"))
        inside = np.unique(s1[(s1 >= first) & (s1 <= last)])
        if len(inside) > 10:
            yield np.diff(inside)


def running_median(x):
    return np.array([np.median(x[max(0, min(i - REACH, len(x) - 2 * REACH - 1)):][:2 * REACH + 1])
                     for i in range(len(x))])


def quantiles(x):
    return " ".join(f"{q:.3g}" for q in np.quantile(x, (0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99)))


def main():
    for folder in sys.argv[1:]:
        cycle, loose, out, with_neighbour = [], [], [], []
        with open(folder + "/s1.csv", encoding="utf-8") as f:
            for row in csv.DictReader(f):
                for x in runs(row):
                    ratio = np.abs(np.log(x / running_median(x)))
                    cycle.append(np.median(x))
                    out.append(np.mean(ratio > 0.22))
                    inside = ratio[ratio <= 0.22]
                    loose.append(inside.mean() if len(inside) else np.nan)
                    with_neighbour.append(np.mean(np.abs(np.log(x[1:] / x[:-1])) < 0.1))
        cycle = np.array(cycle)
        loose = np.array(loose)[np.isfinite(loose)]
        print(f"{folder}: {len(cycle)} recordings; quantiles 1 5 25 50 75 95 99 %")
        print(f"  median interval, s: {quantiles(cycle)}; ln: mean {np.log(cycle).mean():.3f}, "
              f"SD {np.log(cycle).std():.3f}, middle {np.exp(np.log(cycle).mean()):.3f} s")
        print(f"  rates per minute: {quantiles(60 / cycle)}, least {60 / cycle.max():.1f}, "
              f"most {60 / cycle.min():.1f}")
        print(f"  mean |ln interval / running median|, of those within 0.22: {quantiles(loose)}")
        print(f"  share beyond 0.22 (20 % early, 25 % late): {quantiles(out)}, "
              f"mean {np.mean(out):.4f}")
        print(f"  share of neighbours within 0.1: mean {np.mean(with_neighbour):.3f}")


if __name__ == "__main__":
    main()
