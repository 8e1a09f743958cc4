#!/usr/bin/env python3
"""Makes tests/data/real: a few dozen real recordings with known beats or a known pace, which
every checkout measures (`accuracy --real`). README.md there says whose they are.

usage: make_real.py OPEN_DATA OUT

Taken by rule and not by outcome: every 25th of heart-states, every 40th of heart-children (each
with a stretch of six marks and 5 s), and from breath-paced one person after the other, each at
another pace. OUT gets truth.csv, rpeaks/ (S1 as marked, of the longest annotated stretch) and
sound/, as the evaluation reads hearts, and breath.csv (path, rate a minute, start s, length s).
SoX.
"""
import csv
import os
import subprocess
import sys

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "..", "accuracy", "train"))
from marked_folders import LEAST_MARKS, LEAST_S, longest  # noqa: E402

HEARTS = (("heart-states", 25), ("heart-children", 40))
PACES = ("8", "10", "12", "18", "20")
PIECES = "BBBBBBA"  # of seven people, six with chest piece B: its files are smaller


def keep(source, target):
    subprocess.run(["sox", "-R", source, "-C", "8", target], check=True)


def hearts(data, out, table):
    for folder, each in HEARTS:
        with open(os.path.join(data, folder, "s1.csv"), encoding="utf-8") as f:
            rows = sorted(csv.DictReader(f), key=lambda r: r["file"])
        rows = [r for r in rows if len(longest(r)) >= LEAST_MARKS
                and longest(r)[-1] - longest(r)[0] >= LEAST_S]
        for r in rows[each // 2::each]:
            marks = longest(r)
            stem = os.path.basename(r["file"]).rsplit(".", 1)[0]
            keep(os.path.join(data, folder, r["file"]), f"{out}/sound/{stem}.flac")
            with open(f"{out}/rpeaks/{stem}.txt", "w", encoding="utf-8") as f:
                f.writelines(f"{x:.4f}\n" for x in marks)
            table.write(f"sound/{stem}.flac,0,{marks[0]:.4f},{marks[-1]:.4f},{len(marks)},"
                        f"{folder[6:]},0\n")


def breaths(data, out):
    with open(os.path.join(data, "breath-paced", "rates.csv"), encoding="utf-8") as f:
        rows = list(csv.DictReader(f))
    with open(f"{out}/breath.csv", "w", encoding="utf-8") as table:
        for i, person in enumerate(sorted({r["person"] for r in rows})):
            wanted = (person, PIECES[i % len(PIECES)], PACES[i % len(PACES)])
            r = next(r for r in rows
                     if (r["person"], r["chest_piece"], r["breaths_per_min"]) == wanted)
            name = r["file"].replace("/", "-")
            keep(os.path.join(data, "breath-paced", r["file"]), f"{out}/sound/{name}")
            table.write(f"sound/{name},{wanted[2]},0,60\n")


def main():
    data, out = sys.argv[1:3]
    for folder in ("sound", "rpeaks"):
        os.makedirs(os.path.join(out, folder), exist_ok=True)
    with open(f"{out}/truth.csv", "w", encoding="utf-8") as table:
        table.write("file,duration_s,span_start_s,span_end_s,beats_in_span,confidence,"
                    "s1_after_r_ms\n")
        hearts(data, out, table)
    breaths(data, out)


if __name__ == "__main__":
    main()
