"""Rows of `accuracy --breath ... --all`, and what is known of each: for the two scripts that
learn the breath's tables. One record a recording, little-endian (learning_row in
../breath.c); its numbers are those of dsp/breath/breath_evidence.h and dsp/breath/breath_confidence.h.

usage: breath_rows.py ROWS REAL_CSV FOLD          prints the lines of REAL_CSV of that fold
       breath_rows.py ROWS REAL_CSV FOLD OUT      writes the rows of that fold to OUT
"""
import csv
import hashlib
import os
import sys
import textwrap
import zlib

import numpy as np

from names import c_names, read_names, same_names, write_names

HYPOTHESES = 47
RATE = 60 / (0.857 * 1.06 ** np.arange(HYPOTHESES))  # of the hypotheses, per minute
COMPOSED = ["loud", "soft", "heart", "none", "cycles", "manikin", "chest"]  # by kind
FOLDS = 5
PACES = (8, 10, 12, 18, 20)


def read_file(path):
    """Rows, names of the grounds, names of the evidence with the cues that know each."""
    with open(path, "rb") as f:
        grounds = read_names(f, "FM_GROUND", path)
        evidence = read_names(f, "FM_LENGTH", path)
        row = np.dtype([("name", "S96"), ("kind", "<i4"), ("placed", "<i4"), ("rate", "<f4"),
                        ("window_s", "<f4"), ("said", "<f4"), ("grounds", "<f4", len(grounds)),
                        ("evidence", "<f4", (HYPOTHESES, len(evidence)))])
        return np.frombuffer(f.read(), row), grounds, evidence


def read(paths):
    """The same of all files, rows by name: a threaded run writes them in no order."""
    parts, grounds, evidence = zip(*(read_file(p) for p in paths))
    rows = np.concatenate(parts)
    return (rows[np.lexsort((rows["window_s"], rows["name"]))], same_names(grounds, paths),
            same_names(evidence, paths))


def digest(rows):
    """SHA-256 of what was learned from, without names, which hold the folder, in any order."""
    parts = [rows[name].tobytes() for name in rows.dtype.names if name != "name"]
    sizes = [len(part) // len(rows) for part in parts]
    each = sorted(hashlib.sha256(b"".join(part[i * n:(i + 1) * n]
                                          for part, n in zip(parts, sizes))).digest()
                  for i in range(len(rows)))
    return hashlib.sha256(b"".join(each)).hexdigest()


def key(path, start, seconds):
    """A listed window's name in the rows: the last 79 bytes of path@start+seconds."""
    return f"{path}@{float(start):g}+{float(seconds):g}"[-79:]


class Known:
    """What is known of each row, as arrays: person, kind, low, high, pace; low and high are
    NaN where no rate is right."""

    def __init__(self, rows, real_csv):
        with open(real_csv, encoding="utf-8") as f:
            listed = {key(r[0], r[2], r[3]): r for r in csv.reader(f)}
        found = []
        for name, kind, rate in zip(rows["name"], rows["kind"], rows["rate"]):
            name = name.decode()
            if kind < len(COMPOSED):
                none = COMPOSED[kind] == "none" or not rate > 0
                value = np.nan if none else rate
                found.append((name.split(" x")[0], COMPOSED[kind], value, value, 0.0))
            else:
                r = listed[name]
                found.append((r[4], r[5], float(r[6]), float(r[7]), float(r[8])))
        person, kind, low, high, pace = zip(*found)
        self.person, self.kind = np.array(person), np.array(kind)
        self.low, self.high, self.pace = np.array(low), np.array(high), np.array(pace)
        self.fold = self.folds()

    def real(self):
        return ~np.isin(self.kind, COMPOSED)

    def folds(self):
        """The people of the real recordings shuffled into folds; composed ones by name."""
        people = sorted(set(self.person[self.real()]))
        order = np.random.default_rng(0).permutation(len(people)) % FOLDS
        fold = dict(zip(people, order))
        return np.array([fold.get(p, zlib.crc32(p.encode()) % FOLDS) for p in self.person])


def number(v):
    text = "%.4g" % v
    return text + ("f" if "." in text or "e" in text else ".0f")


def block(array):
    array = np.asarray(array)
    if array.ndim == 1:
        return "{" + ", ".join(number(v) for v in array) + "}"
    return "{" + ",\n".join(block(a) for a in array) + "}"


def write_table(path, guard, include, what, learned_from, sizes, tables):
    """A C header of float tables: learned_from (prefix, names), sizes {enumerator: n}, tables
    [(declaration, array)]."""
    with open(path, "w", encoding="utf-8") as f:
        f.write(f"/**\n * @file {guard.lower().replace('fm_', '', 1)[:-2]}.h\n")
        f.write("".join(f" * {line}\n" for line in textwrap.wrap(what, 85)))
        f.write(f" */\n#ifndef {guard}\n#define {guard}\n\n#include \"{include}\"\n\n")
        f.write("/* clang-format off */\n" + c_names(*learned_from) + "enum {\n")
        f.write(",\n".join(f"    {name} = {n}" for name, n in sizes.items()) + "\n};\n")
        for declaration, array in tables:
            text = "\n".join(textwrap.fill(line, 88) for line in block(array).split("\n"))
            f.write(f"static const float {declaration} =\n{text};\n")
        f.write("/* clang-format on */\n\n#endif\n")


def main():
    rows_path, real_csv, fold = sys.argv[1:4]
    rows, grounds, evidence = read([rows_path])
    known = Known(rows, real_csv)
    mine = known.fold == int(fold)
    if len(sys.argv) > 4:
        with open(sys.argv[4], "wb") as f:
            write_names(f, "FM_GROUND", grounds)
            write_names(f, "FM_LENGTH", evidence)
            f.write(rows[mine].tobytes())
        return
    names = {n.decode() for n in rows["name"][mine]}
    with open(real_csv, encoding="utf-8") as f:
        csv.writer(sys.stdout).writerows(r for r in csv.reader(f) if key(r[0], r[2], r[3]) in names)


if __name__ == "__main__":
    main()
