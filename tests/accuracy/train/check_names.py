#!/usr/bin/env python3
"""The learned tables are of the numbers that dsp/ has, in their order.

usage: check_names.py SOURCE ACCURACY ACCURACY_EXPORT CC

The names come out of the programs as a training script reads them; the shipped tables assert the
same; a table with two names exchanged, one missing or one too many does not compile.
"""
import os
import pathlib
import subprocess
import sys
import tempfile

from names import c_names, read_names

TABLES = {"FM_EVIDENCE": "heart/confidence_weights.h", "FM_PATCH": "heart/emission_weights.h",
          "FM_LENGTH": "breath/breath_weights.h",
          "FM_GROUND": "breath/breath_confidence_weights.h"}


def exported(accuracy, export, folder):
    """{prefix: names}, from the first minute of the composed ones."""
    found = {}
    for kind, prefix in (("evidence", "FM_EVIDENCE"), ("patches", "FM_PATCH")):
        path = os.path.join(folder, kind)
        subprocess.run([export, kind, path, "composed", "900001", "1"], check=True)
        with open(path, "rb") as f:
            found[prefix] = read_names(f, prefix, path)
            rest = f.read()
            row = rest.split(b"\n")[0].split(b";")
            if kind == "evidence" and len(row[4].split()) != len(found[prefix]):
                raise SystemExit("a row of evidence has not as many numbers as names")
            if kind == "patches" and not rest.startswith(b"sound "):
                raise SystemExit("the patches do not begin behind the names")
    rows = os.path.join(folder, "rows")
    with open(rows, "wb") as f:
        subprocess.run([accuracy, "--first-seed", "900001", "--all", "--breath", "composed", "1"],
                       stdout=f, check=True)
    with open(rows, "rb") as f:
        for prefix in ("FM_GROUND", "FM_LENGTH"):
            found[prefix] = read_names(f, prefix, rows)
        wanted = 96 + 5 * 4 + 4 * len(found["FM_GROUND"]) + 4 * 47 * len(found["FM_LENGTH"])
        if len(f.read()) != wanted:
            raise SystemExit("a row of breath evidence has not as many numbers as names")
    return found


def compiles(cc, source, text, folder):
    path = os.path.join(folder, "table.c")
    pathlib.Path(path).write_text(text, encoding="utf-8")
    flags = subprocess.run(["pkg-config", "--cflags", "kissfft-float"], capture_output=True,
                           text=True, check=True).stdout.split()
    return subprocess.run([cc, "-std=c17", "-fsyntax-only", f"-I{source}", *flags, path],
                          capture_output=True, check=False).returncode == 0


def main():
    source, accuracy, export, cc = sys.argv[1:5]
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        for prefix, names in exported(accuracy, export, folder).items():
            text = pathlib.Path(source, "dsp", TABLES[prefix]).read_text(encoding="utf-8")
            names, asserts = list(names), c_names(prefix, names)
            others = ([names[1], names[0], *names[2:]], names[:-1], [*names, "ONE_MORE"])
            good = asserts in text and compiles(cc, source, text, folder) and not any(
                compiles(cc, source, text.replace(asserts, c_names(prefix, o)), folder)
                for o in others)
            print(f"{prefix}: {len(names)} names, {TABLES[prefix]} "
                  f"{'is of these' if good else 'IS NOT OF THESE'}")
            wrong += not good
    return wrong


if __name__ == "__main__":
    sys.exit(main())
