#!/usr/bin/env python3
"""Put together what tables learned without one kind of lung sound say of that kind.

usage: manikin_left_out.py CSV LUNG=FILE...

CSV is the manikin's truth.csv; FILE holds what `accuracy -v --breath manikin` printed with
the table learned without LUNG. Of each only the mixtures with that lung sound are taken.
Prints, by speed and whole: how many, what share is said and counted, what share of each lies
within 1.5 a minute of the truth, and how many said are near double or half it.
"""
import csv
import re
import sys

LINE = re.compile(r"^(\d+) x([\d.]+) (\d+) s +kind 5 true +([\d.]+) said +(\S+) status (\d)")
REFUSED, CAUTION, COUNTED = 0, 1, 2


def outcomes(csv_path, pairs):
    """(speed, seconds, true, said, status) of every mixture, from the table without its kind."""
    with open(csv_path, encoding="utf-8") as f:
        lung_of = {int(r["mixed"][1:5]): r["lung_type"] for r in csv.DictReader(f)}
    out = []
    for pair in pairs:
        lung, path = pair.split("=", 1)
        with open(path, encoding="utf-8") as f:
            for line in f:
                m = LINE.match(line)
                if m and lung_of[int(m[1])] == lung:
                    out.append((m[2], m[3], float(m[4]), float(m[5]), int(m[6])))
    return out


def share(part, whole):
    return f"{100 * len(part) / len(whole):6.1f}" if whole else "     -"


def row(label, some):
    said = [o for o in some if o[4] != REFUSED]
    counted = [o for o in some if o[4] == COUNTED]
    near = [o for o in said if abs(o[3] - o[2]) <= 1.5]
    near_counted = [o for o in counted if abs(o[3] - o[2]) <= 1.5]
    double = sum(abs(o[3] / o[2] - 2) <= 0.25 for o in said)
    half = sum(abs(o[3] / o[2] - 0.5) <= 0.08 for o in said)
    print(f"  {label:8} {len(some):4} {share(said, some)} {share(near, said)} "
          f"{share(counted, some)} {share(near_counted, counted)} {double:4} {half:4}")


def main():
    every = outcomes(sys.argv[1], sys.argv[2:])
    for seconds in sorted({o[1] for o in every}, key=int):
        some = [o for o in every if o[1] == seconds]
        print(f"manikin, {seconds} s, each kind of lung sound left out of the learning in turn")
        print("              n  said% <=1.5%   cnt% <=1.5%   x2   /2")
        for speed in sorted({o[0] for o in some}, key=float):
            row("x" + speed, [o for o in some if o[0] == speed])
        row("all", some)


if __name__ == "__main__":
    main()
