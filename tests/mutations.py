#!/usr/bin/env python3
"""Changes one place of the source at a time and looks whether a test notices.

usage: mutations.py SOURCE WORK [--each N] [--seed S] [--first K] [--last K]

SOURCE is this project; WORK gets a copy of it, its build and mutations.tsv: file, line, before,
after, the test that failed ('does not build' where the compiler refuses, 'NOT CAUGHT' where all
pass). One place is drawn from every Nth C file of dsp/ and src/ (default: every 5th), by a fixed
seed; what is in the table already is not run again. A mutation nobody catches is a gap in the
tests, or a change that changes nothing: read each. Run by hand; a minute or two each.
"""
import argparse
import os
import random
import re
import shutil
import subprocess
import sys

CHANGES = [(" < ", " > "), (" > ", " < "), (" <= ", " > "), (" >= ", " < "), (" == ", " != "),
           (" != ", " == "), (" && ", " || "), (" || ", " && "), (" + ", " - "), (" - ", " + "),
           (" * ", " / "), ("return true;", "return false;"), ("return false;", "return true;")]
CONSTANT = re.compile(r"(static const (?:double|float|int64_t|int|long) \w+ = )([\d.]+)(f?;)")
# A loop's condition ends in no loop or one without end; what stands in a text is no code.
LEFT_OUT = re.compile(r'^\s*(#|\*|//|/\*|for \(|while \(|\}? ?while)|"|\(void\)printf')
# First the tests that look at the part itself, then everything that takes no minutes.
NEAR = {"dsp": "^dsp\\.", "src": "^src\\."}
SLOW = "minutes|speed|real_time"


def places(text):
    """Every change of one place that can be made: (line number, line before, line after)."""
    comment = False
    for number, line in enumerate(text.split("\n")):
        comment = comment or "/*" in line
        if not comment and not LEFT_OUT.search(line):
            for before, after in CHANGES:
                at = line.find(before)
                if at >= 0:
                    yield number, line, line[:at] + after + line[at + len(before):]
            constant = CONSTANT.search(line)
            if constant and float(constant[2]) != 0:
                value = f"{float(constant[2]) * 1.5:g}"
                integral = "." not in constant[2]
                value = str(int(float(constant[2]) * 1.5 + 1)) if integral else value
                value += ".0" if not integral and "." not in value else ""
                yield number, line, line.replace(constant[0], constant[1] + value + constant[3])
        if "*/" in line:
            comment = False


def files_of(source, each):
    found = []
    for top in ("dsp", "src"):
        for folder, _, names in sorted(os.walk(os.path.join(source, top))):
            found += [os.path.relpath(os.path.join(folder, n), source)
                      for n in sorted(names) if n.endswith(".c")]
    return found[each // 2::each]


def drawn(source, each, seed):
    for file in files_of(source, each):
        with open(os.path.join(source, file), encoding="utf-8") as f:
            choices = list(places(f.read()))
        if choices:
            yield (file, *random.Random(f"{seed} {file}").choice(choices))


def tests(build, regex):
    """The first test that fails, or None."""
    done = subprocess.run(["ctest", "--test-dir", build, "-R", regex, "-LE", SLOW, "-j", "2",
                           "--timeout", "240", "--stop-on-failure"],
                          capture_output=True, text=True)
    failed = re.search(r"Test +#\d+: (\S+) \.+.*\*\*\*", done.stdout)
    return failed[1] if failed else None


def try_one(tree, build, file, number, after):
    path = os.path.join(tree, file)
    with open(path, encoding="utf-8") as f:
        whole = f.read()
    lines = whole.split("\n")
    lines[number] = after
    try:
        with open(path, "w", encoding="utf-8") as f:
            f.write("\n".join(lines))
        if subprocess.run(["ninja", "-C", build], capture_output=True).returncode != 0:
            return "does not build"
        return tests(build, NEAR[file[:3]]) or tests(build, ".") or "NOT CAUGHT"
    finally:
        with open(path, "w", encoding="utf-8") as f:
            f.write(whole)


def prepare(source, work):
    tree, build = os.path.join(work, "tree"), os.path.join(work, "tree", ".build", "tests")
    if not os.path.isdir(build):
        shutil.copytree(source, tree, ignore=shutil.ignore_patterns(".build", ".git"))
        subprocess.run(["sh", "tests/run.sh", "--build-only"], cwd=tree, check=True)
    return tree, build


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("source")
    parser.add_argument("work")
    parser.add_argument("--each", type=int, default=5)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--last", type=int, default=10**6)
    a = parser.parse_args()
    os.makedirs(a.work, exist_ok=True)
    table = os.path.join(a.work, "mutations.tsv")
    known = set()
    if os.path.exists(table):
        with open(table, encoding="utf-8") as f:
            known = {tuple(line.split("\t")[:2]) for line in f}
    tree, build = prepare(os.path.abspath(a.source), os.path.abspath(a.work))
    for k, (file, number, before, after) in enumerate(drawn(tree, a.each, a.seed)):
        if not a.first <= k <= a.last or (file, str(number + 1)) in known:
            continue
        caught = try_one(tree, build, file, number, after)
        with open(table, "a", encoding="utf-8") as f:
            f.write("\t".join((file, str(number + 1), before.strip(), after.strip(), caught))
                    + "\n")
        print(f"{file}:{number + 1}: {after.strip()}: {caught}", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
