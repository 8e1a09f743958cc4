#!/usr/bin/env python3
"""Everything the program prints or writes, as one hash an output: to see what a change moves.

usage: outputs.py PROGRAM SOURCE HASHES [--keep FOLDER] [--composed N]
       outputs.py --compare BEFORE AFTER

Runs count, check, demonstrate, batch, merge, summary, worksheet, report and logbook over all of
SOURCE/recordings and N composed minutes (default 50, the seeds are fixed), in a home folder of
its own. HASHES gets a line an output: SHA-256, two spaces, its name. What differs from run to run
by nature (the day, the folder, an identity drawn at random) is replaced before. --keep: also the
outputs, to look at what differs. --compare prints the names that differ; its status is 1 then.
"""
import argparse
import hashlib
import os
import re
import subprocess
import sys
import tempfile

DROPPED = [
    (re.compile(rb"\d{4}-\d\d-\d\d([T ]\d\d:\d\d(:\d\d)?(\.\d+)?Z?)?"), b"DAY"),
    (re.compile(rb"\b[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}\b"), b"UUID"),
    (re.compile(rb"\b\d\d:\d\d:\d\d\b"), b"TIME"),
    (re.compile(rb"\b\d\d:\d\d (?=Apical )"), b"TIME "),  # a charted line begins with it
]
RHYTHMS = ["steady", "sinus-arrhythmia", "premature", "bigeminy", "trigeminy", "quadrigeminy",
           "dropped", "fibrillation", "flutter", "pauses", "drift", "rate-change", "fast-run"]


class Run:
    def __init__(self, program, source, keep, work):
        self.program, self.keep, self.work, self.lines = os.path.abspath(program), keep, work, []
        self.source = os.path.realpath(source)
        self.env = {**os.environ, "HOME": os.path.join(work, "home"), "LC_ALL": "C",
                    "XDG_DATA_HOME": "", "TZ": "UTC", "COLUMNS": "80"}
        os.makedirs(self.env["HOME"])

    def take(self, name, data):
        data = data.replace(self.work.encode(), b"WORK").replace(self.source.encode(), b"SOURCE")
        for pattern, word in DROPPED:
            data = pattern.sub(word, data)
        self.lines.append(f"{hashlib.sha256(data).hexdigest()}  {name}\n")
        if self.keep:
            path = os.path.join(self.keep, name.replace("/", "-").replace(" ", "_"))
            with open(path, "wb") as f:
                f.write(data)

    def text(self, name, *words, given=None):
        done = subprocess.run([self.program, *words], cwd=self.work, env=self.env,
                              input=given, capture_output=True, check=False)
        self.take(name, done.stdout + b"\n-- stderr\n" + done.stderr
                  + b"\n-- status %d\n" % done.returncode)

    def file(self, name, path):
        path = os.path.join(self.work, path)
        if not os.path.exists(path):
            self.take(name, b"not written")
            return
        with open(path, "rb") as f:
            self.take(name, f.read())


def compose(run, n):
    for k in range(n):
        rhythm = RHYTHMS[k % len(RHYTHMS)]
        words = ["--seed", str(7000 + k), "--rhythm", rhythm, "--snr", str(5 + 3 * (k % 8))]
        run.text(f"compose {k}", "compose", f"sounds/c{k:02d}.flac", *words)
        run.file(f"compose {k} sound", f"sounds/c{k:02d}.flac")
        run.file(f"compose {k} truth", f"sounds/c{k:02d}.truth.json")


def one_recording(run, name):
    sound, stem = f"sounds/{name}", name.split(".")[0]
    run.text(f"count {stem}", "count", sound, "--picture", f"{stem}.svg")
    run.file(f"count {stem} picture", f"{stem}.svg")
    run.text(f"count {stem} json", "count", sound, "--json", "--age", "8")
    run.text(f"count {stem} half", "count", sound, "--start", "7", "--seconds", "30")
    run.text(f"count {stem} whole", "count", sound, "--seconds", "whole", "--first-beat", "one")
    manual = ["--manual", "70", "--manual-breaths", "15", "--no-logbook"]
    run.text(f"check {stem}", "check", sound, *manual)
    run.text(f"check {stem} json", "check", sound, *manual, "--json")
    run.text(f"check {stem} short", "check", sound, "--manual", "18", "--seconds", "15",
             "--site", "radial", "--no-logbook", "--tolerance", "4")
    taps = f"sounds/{stem}.taps.txt"
    if os.path.exists(os.path.join(run.work, taps)):
        run.text(f"check {stem} taps", "check", sound, "--taps", taps, "--no-logbook", "--json")


def many(run):
    run.text("batch", "batch", "sounds", "--out", "rows.csv", "--documents", "documents",
             "--pictures", "pictures", "--marks", "marks", "--jobs", "2")
    for path in ("rows.csv", "rows.batch.json"):
        run.file(f"batch {path}", path)
    for folder in ("documents", "pictures", "marks"):
        for root, _, names in sorted(os.walk(os.path.join(run.work, folder))):
            for name in sorted(names):
                run.file(f"batch {folder} {name}", os.path.join(root, name))
    run.text("batch jsonl", "batch", "sounds", "--out", "-", "--format", "jsonl", "--every", "20")
    for k in (1, 2):
        run.text(f"batch shard {k}", "batch", "sounds", "--shard", f"{k}/2", "--out",
                 f"part-{k}.csv")
    run.text("merge", "merge", "part-1.csv", "part-2.csv", "--out", "merged.csv")
    run.file("merge rows", "merged.csv")
    run.text("summary", "summary", "rows.csv", "--truth", "beside", "--html", "summary.html")
    run.file("summary page", "summary.html")
    run.text("summary json", "summary", "rows.csv", "--truth", "beside", "--json")


def logbook(run, names):
    run.text("logbook new", "logbook", "new", "--learner", "ab")
    for k, name in enumerate(names):
        run.text(f"logbook check {k}", "check", f"sounds/{name}", "--learner", "ab", "--manual",
                 str(60 + 3 * k), "--manual-breaths", str(12 + k % 6))
    run.text("logbook enter", "logbook", "enter", "--learner", "ab", "beats=72", "seconds=60")
    run.text("logbook add", "logbook", "add", "1", "temperature=98.4", "temperature_unit=F",
             "systolic_mmhg=118", "diastolic_mmhg=70")
    for what in ("list", "progress", "chart", "goal"):
        run.text(f"logbook {what}", "logbook", what, "--learner", "ab")
    run.text("logbook show", "logbook", "show", "1")
    run.text("logbook json", "logbook", "list", "--json")
    for form in ("csv", "json", "fhir"):
        run.text(f"logbook export {form}", "logbook", "export", "--format", form)
    run.text("report row", "report", "--row", "1", "--out", "-")
    run.text("report learner", "report", "--learner", "ab", "--out", "-")


def worksheet(run):
    with open(os.path.join(run.work, "phrase"), "w", encoding="utf-8") as f:
        f.write("a phrase for the trial\n")
    phrase = ["--phrase-file", "phrase"]
    run.text("worksheet make", "worksheet", "make", "sounds", "sheet", "--items", "6", "--seed",
             "3", *phrase)
    for name in sorted(os.listdir(os.path.join(run.work, "sheet"))):
        if not name.endswith((".pdf", ".sealed")):  # the seal's salt is drawn at random
            run.file(f"worksheet {name}", f"sheet/{name}")
    key = next((f"sheet/{n}" for n in os.listdir(os.path.join(run.work, "sheet"))
                if "key" in n), "sheet/none")
    run.text("worksheet open", "worksheet", "open", key, "--json", *phrase)
    with open(os.path.join(run.work, "answers.csv"), "w", encoding="utf-8") as f:
        f.write("student,item,manual_beats,seconds,convention,rhythm,breaths\n"
                "s1,1,70,60,zero,regular,14\ns1,2,35,30,zero,irregular,16\n"
                "s2,1,18,15,one,regular,\ns2,3,88,60,zero,,20\n")
    for form in ((), ("--json",), ("--csv",)):
        run.text(f"worksheet score {''.join(form)}", "worksheet", "score", key, "answers.csv",
                 *form, *phrase)


def everything(program, source, keep, composed):
    with tempfile.TemporaryDirectory() as work:
        run = Run(program, source, keep, work)
        sounds = os.path.join(work, "sounds")
        os.makedirs(sounds)
        recordings = os.path.join(source, "recordings")
        for name in os.listdir(recordings):
            os.symlink(os.path.join(os.path.abspath(recordings), name),
                       os.path.join(sounds, name))
        compose(run, composed)
        names = sorted(n for n in os.listdir(sounds) if n.endswith(".flac"))
        for name in names:
            one_recording(run, name)
        many(run)
        logbook(run, names[::6])
        worksheet(run)
        for command in ("count", "check", "compose", "demonstrate", "batch", "logbook", "page",
                        "sources", "merge", "summary", "worksheet", "report"):
            run.text(f"help {command}", command, "--help")
        return run.lines


def compare(before, after):
    tables = []
    for path in (before, after):
        with open(path, encoding="utf-8") as f:
            tables.append({line[66:].rstrip("\n"): line[:64] for line in f})
    a, b = tables
    moved = [n for n in a if b.get(n) != a[n]] + [n for n in b if n not in a]
    print("\n".join(moved))
    print(f"{len(moved)} of {len(a)} outputs differ", file=sys.stderr)
    return 1 if moved else 0


def main():
    if sys.argv[1:2] == ["--compare"]:
        return compare(*sys.argv[2:4])
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("program")
    parser.add_argument("source")
    parser.add_argument("hashes")
    parser.add_argument("--keep")
    parser.add_argument("--composed", type=int, default=50)
    a = parser.parse_args()
    if a.keep:
        os.makedirs(a.keep, exist_ok=True)
    lines = everything(a.program, a.source, a.keep, a.composed)
    with open(a.hashes, "w", encoding="utf-8") as f:
        f.writelines(lines)
    print(f"{len(lines)} outputs", file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main())
