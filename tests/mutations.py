#!/usr/bin/env python3
"""Changes one place of the source at a time and looks whether a test notices.

usage: mutations.py SOURCE WORK [--each N] [--seed S] [--first K] [--last K] [--order]

SOURCE is this project; WORK gets a copy of it, its build and mutations.tsv: file, line, before,
after, the test that failed ('does not build' where the compiler refuses, 'NOT CAUGHT' where all
pass). One place is drawn from every Nth C file of dsp/ and src/ (default: every 5th), by a fixed
seed; what is in the table already is not run again. With --order, in their place, those that break
the sealed order (ORDER), for its own test to catch; exit status 1 where it does not. A mutation nobody catches is a gap in the
tests, or a change that changes nothing: read each. Run by hand; a minute or two each.
"""
import argparse
import json
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
# What is asked after the tests named as the file: programs of ours that the file is linked into,
# those of its part first; then scripts that run such a program without browser and sound server;
# then, with --all, these too. Within each the quick ones first.
PART = {"dsp": r"^dsp\.", "src": r"^(src|stepped|page)\."}
SERVERS = r"^(cli\.live|live|nth|page)"
NOT_DEFAULT = "^(nth|speed|real_time)$"
QUICK_S = 1.5


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


# What must never come: shown, or counted, before what was entered is stored.
TAKING, CHECKED = "src/usecase/taking.c", "src/usecase/checked_count.c"
KEEP, LIVE = "src/usecase/logbook_keep.c", "src/usecase/live_entry.c"
ORDER_TESTS = {LIVE: "stepped.live_broken"}  # of the others src.sealed_order
ORDER = [("shows before stored", TAKING, "IN(TAKING_ENTRY), TAKING_STORING", "IN(TAKING_ENTRY), TAKING_SHOWN"),
         ("counts before stored", TAKING, "IN(TAKING_ENTRY), TAKING_STORING", "IN(TAKING_ENTRY), TAKING_COUNTING"),
         ("counts though not stored", TAKING, "IN(TAKING_STORING), TAKING_ENTRY", "IN(TAKING_STORING), TAKING_COUNTING"),
         ("counts before the next entry", TAKING, "more = taking_has_more(t)", "more = t->step < 0"),
         ("shows before counted", TAKING, "IN(TAKING_STORING), TAKING_COUNTING", "IN(TAKING_STORING), TAKING_SHOWN"),
         ("shows before counted", TAKING, "t->phase = TAKING_COUNTING;", "t->phase = TAKING_SHOWN;"),
         ("shows what could not be counted", TAKING, "TAKING_COUNTING), TAKING_FAILED", "TAKING_COUNTING), TAKING_SHOWN"),
         ("analyses before stored", CHECKED, "phase != TAKING_COUNTING", "phase == TAKING_SHOWN"),
         ("takes an entry for stored", CHECKED, "taking_tell(&c->taking, TAKING_ENTERED, 0);",
          "(taking_tell(&c->taking, TAKING_ENTERED, 0), taking_tell(&c->taking, TAKING_STORED, 0));"),
         ("takes a refusal for stored", KEEP, "if (!k->wanted ||", "if (k->wanted ||"),
         ("takes a full disk for stored", LIVE, "stored ? TAKING_STORED : TAKING_NOT_STORED", "TAKING_STORED")]


def ordered(source):
    for name, file, before, after in ORDER:
        with open(os.path.join(source, file), encoding="utf-8") as f:
            lines = f.read().split("\n")
        number, = (i for i, line in enumerate(lines) if before in line)
        yield file, number, name + ": " + lines[number].strip(), lines[number].replace(before, after)


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


class Tests:
    """The tests of a build, which programs each runs, and which of these a source is linked into."""

    def __init__(self, build):
        self.build = build
        listed = self.call("ctest", "--test-dir", build, "--show-only=json-v1", "-LE", NOT_DEFAULT)
        self.runs, self.direct = {}, set()
        for t in json.loads(listed)["tests"]:
            words = t["command"] + [v.split("=", 1)[-1] for q in t["properties"]
                                    if q["name"] == "ENVIRONMENT" for v in q["value"]]
            found = {w for w in words if w.startswith(build) and os.path.isfile(w)}
            self.runs[t["name"]] = found
            if t["command"][0] in found:
                self.direct.add(t["name"])
        self.symbols = {p: self.defined(p) for p in set().union(*self.runs.values())}
        costs = os.path.join(build, "Testing", "Temporary", "CTestCostData.txt")
        self.cost = {}
        if os.path.exists(costs):
            with open(costs, encoding="utf-8") as f:
                rows = [line.split() for line in f]
            self.cost = {r[0]: float(r[2]) for r in rows if len(r) == 3}

    @staticmethod
    def call(*words):
        return subprocess.run(words, capture_output=True, text=True, check=True).stdout

    def defined(self, path):
        done = subprocess.run(["nm", "--defined-only", "--extern-only", path], capture_output=True,
                              text=True, check=False)
        return {line.split()[-1] for line in done.stdout.split("\n") if line}

    def programs_with(self, file):
        """Every program that the source is linked into."""
        objects = [os.path.join(at, n) for at, _, names in os.walk(self.build) for n in names
                   if os.path.join(at, n).endswith("/" + file + ".o")]
        mine = set().union(*(self.defined(o) for o in objects))
        return {p for p, symbols in self.symbols.items() if symbols & mine}

    def rounds(self, file, everything):
        """(programs to build, tests), the nearest first; no test twice."""
        programs = self.programs_with(file)
        able = [n for n in self.runs if self.runs[n] & programs]
        stem = re.escape(os.path.basename(file)[:-2])
        part = [n for n in able if n in self.direct and re.search(PART[file[:3]], n)]
        asked = set()
        for names in ([n for n in able if re.search(r"\." + stem + "$", n)],
                      part, [n for n in able if not re.search(SERVERS, n)], able if everything else []):
            for quick in (True, False):
                some = [n for n in names if n not in asked and
                        (self.cost.get(n, QUICK_S) < QUICK_S) == quick]
                asked.update(some)
                if some:
                    yield set().union(*(self.runs[n] for n in some)) & programs, some

    def failing(self, names):
        """The first of these tests that fails, or None."""
        regex = "^(" + "|".join(re.escape(n) for n in names) + ")$"
        done = subprocess.run(["ctest", "--test-dir", self.build, "-R", regex, "-j", "2",
                               "--timeout", "240", "--stop-on-failure"],
                              capture_output=True, text=True)
        failed = re.search(r"Test +#\d+: (\S+) \.+.*\*\*\*(?!Skipped)", done.stdout)
        return failed[1] if failed else None


def try_one(tree, tests, a, file, number, after):
    path = os.path.join(tree, file)
    with open(path, encoding="utf-8") as f:
        whole = f.read()
    lines = whole.split("\n")
    lines[number] = after
    mine = ORDER_TESTS.get(file, "src.sealed_order")
    rounds = [(tests.runs[mine], [mine])] if a.order else list(tests.rounds(file, a.all))
    try:
        with open(path, "w", encoding="utf-8") as f:
            f.write("\n".join(lines))
        for programs, names in rounds:
            targets = [os.path.relpath(p, tests.build) for p in programs]
            if subprocess.run(["ninja", "-C", tests.build, *targets], capture_output=True).returncode:
                return "does not build"
            caught = tests.failing(names)
            if caught:
                return caught
        return f"NOT CAUGHT by {sum(len(n) for _, n in rounds)}"
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
    parser.add_argument("--all", action="store_true", help="ask those with a browser or sound server, too")
    parser.add_argument("--order", action="store_true", help="those that break the sealed order")
    a = parser.parse_args()
    os.makedirs(a.work, exist_ok=True)
    table = os.path.join(a.work, "mutations.tsv")
    known = set()
    if os.path.exists(table):
        with open(table, encoding="utf-8") as f:
            known = {tuple(line.split("\t")[:2]) for line in f}
    tree, build = prepare(os.path.abspath(a.source), os.path.abspath(a.work))
    tests = Tests(build)
    missed = False
    places_of = ordered(tree) if a.order else drawn(tree, a.each, a.seed)
    for k, (file, number, before, after) in enumerate(places_of):
        if not a.first <= k <= a.last or ((file, str(number + 1)) in known and not a.order):
            continue
        caught = try_one(tree, tests, a, file, number, after)
        missed = missed or (a.order and caught != ORDER_TESTS.get(file, "src.sealed_order"))
        with open(table, "a", encoding="utf-8") as f:
            f.write("\t".join((file, str(number + 1), before.strip(), after.strip(), caught))
                    + "\n")
        print(f"{file}:{number + 1}: {after.strip()}: {caught}", flush=True)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
