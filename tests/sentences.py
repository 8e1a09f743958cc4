#!/usr/bin/env python3
"""Every sentence that the program can say to a learner, held to a table.

tests/sentences.tsv has one row a sentence: the sentence as the program's text has it, the
file, when it is said, and its source or 'common practice, no source' (of a sentence that
says how the program works and nothing of a person: 'of the program'). A sentence in one of
the files below that is not in the table fails, and so does a row that no file says.

usage: sentences.py SOURCE_DIR            check
       sentences.py SOURCE_DIR --list     print every sentence with its file and function
       sentences.py SOURCE_DIR --missing  print a row for each that lacks one, '?' to be filled in

A sentence is a text of three words and more, put together from its pieces as the compiler
does; a text of fewer words is a label. Formats of documents, SQL and the lists of options
are no sentences: see NOT_SAID.
"""
import re
import sys
from pathlib import Path

# What a learner meets: texts and pictures, the live minute, the logbook, the page.
FILES = """
src/base/hint.h src/command/hints.c
dsp/compare/act_now.c dsp/heart/placement_decide.c dsp/compare/reference_range.c dsp/breath/respiration_pause.c dsp/result.h
src/words/breath_text.c src/words/event_text.c src/picture/chart_differences.c src/picture/chart_marks.c src/picture/chart_progress.c
src/picture/chart_minute_dial.c src/picture/chart_interval_strip.c src/picture/chart_sound_strip.c
src/words/first_look.c src/words/first_side.c src/words/first_range.c src/words/first_word.c src/words/first_slips.c
src/words/first_method.c src/words/first_next.c src/words/pieces.c src/words/check_text.c
src/words/check_slip.c src/words/cautions.c src/words/count_text.c src/words/person_first.c src/picture/picture.c
src/picture/picture_words.c src/words/progress_text.c src/words/reason_text.c src/sheet/report_page.c
src/sheet/worksheet_sheet.c
src/words/charted_line.c src/words/second_examiner.c src/document/entry.c
src/usecase/picture_file.c src/usecase/checked_count.c src/usecase/listening.c src/usecase/live_level.c
src/usecase/live_sitting.c src/usecase/live_step.c src/usecase/live_entry.c src/usecase/placement_check.c
src/usecase/report_make.c src/usecase/reveal.c src/usecase/sitting_entries.c src/usecase/logbook_keep.c
src/command/check_logbook.c src/command/check_sitting.c src/command/command_check.c src/command/command_count.c
src/command/demonstrate_screen.c src/command/live_run.c src/command/live_screen.c src/command/logbook_change.c
src/command/logbook_show.c src/command/sources_place.c
src/words/entry_question.c src/command/own_ask.c src/document/own_count.c
src/page/web/strings.js
""".split()

# Formats of documents, and the lists of options and what a command is: not said of a count.
NOT_SAID = re.compile(r"^\{s:|^\[s|fullminute\.\w+/1$|^<|^%\d|@page|^;color|^\S*$")


def c_pieces(text):
    """(function, text) of each text in C, pieces that stand side by side joined."""
    token = re.compile(
        r'/\*.*?\*/|//[^\n]*|#\s*include[^\n]*|"(?:\\.|[^"\\])*"|\'(?:\\.|[^\'\\])*\'|\w+|\S',
        re.S)
    depth, name, last_word, in_options = 0, "", "", False
    joined = None
    for m in token.finditer(text):
        t = m.group(0)
        if t.startswith(("/*", "//", "#")) and len(t) > 1 or t == "\\":
            continue
        if t.startswith('"'):
            joined = (joined or "") + t[1:-1]
            continue
        if joined is not None:
            if not in_options:
                yield name, joined
            joined = None
        if t == "{":
            depth += 1
        elif t == "}":
            depth -= 1
            in_options = in_options and depth > 0
        elif depth == 0 and t == "(":
            name = last_word
        elif depth == 0 and re.match(r"\w+$", t):
            last_word = t
            if t in ("OPTIONS", "DETAILS", "command_check", "command_count") or t.startswith("command_"):
                in_options, name = True, t
        if depth == 0 and t == ";":
            in_options = False


def js_pieces(text):
    """(name, text) of each text in strings.js."""
    for m in re.finditer(r"'((?:\\.|[^'\\])*)'|`((?:\\.|[^`\\])*)`", text):
        before = text[:m.start()]
        keys = re.findall(r"(\w+): (?:\([^)]*\) => )?[^,\n]*$", before.splitlines()[-1] if before else "")
        part = re.findall(r"\n  (\w+): \{", before)
        yield f"{part[-1] if part else 'S'}.{keys[0] if keys else ''}", m.group(1) or m.group(2) or ""


# Idioms that a learner may not understand, some of another language, all met here once.
UNPLAIN = re.compile(
    r"\b(?:anew|oftener|nought|hush|hangs? on|count on|the thread|go together|for it count)\b", re.I)


def sentences(root):
    """Every (text, file, function) that is a sentence."""
    for name in FILES:
        text = (root / name).read_text(encoding="utf-8")
        for function, piece in js_pieces(text) if name.endswith(".js") else c_pieces(text):
            plain = piece.replace("\\n", " ").replace('\\"', '"').replace("\t", " ").strip()
            if len(re.findall(r"[A-Za-z]{2,}", plain)) >= 3 and not NOT_SAID.search(plain):
                yield " ".join(plain.split()), name, function


def table(path):
    """The rows: {(sentence, file): (when, source)}."""
    rows = {}
    for n, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        if not line or line.startswith("#"):
            continue
        cells = line.split("\t")
        if len(cells) != 4 or not all(c.strip() and c.strip() != "?" for c in cells):
            sys.exit(f"{path}, line {n}: a row is sentence, file, when, source, parted by tabs; none empty or '?'")
        rows[(cells[0], cells[1])] = (cells[2], cells[3])
    return rows


def main():
    root = Path(sys.argv[1])
    said = {(s, f): fn for s, f, fn in sentences(root)}
    if "--list" in sys.argv:
        for (s, f), fn in said.items():
            print(s, f, fn, sep="\t")
        return 0
    rows = table(root / "tests" / "sentences.tsv")
    if "--missing" in sys.argv:
        for s, f in said:
            if (s, f) not in rows:
                print(s, f, "?", "?", sep="\t")
        return 0
    failures = 0
    for key in said:
        if key not in rows:
            print(f"FAILED: {key[1]} says what is not in tests/sentences.tsv: {key[0]}")
            failures += 1
    for key in rows:
        if key not in said:
            print(f"FAILED: no longer said by {key[1]}, take it out of tests/sentences.tsv: {key[0]}")
            failures += 1
    for (text, file) in said:
        if UNPLAIN.search(text):
            print(f"FAILED: {file} says what a learner may not understand: {text}")
            failures += 1
        if file.endswith(".js") and re.search(r"(?<![-\w])--[a-z]|fullminute [a-z]+\b", text):
            print(f"FAILED: {file} names a command or an option to somebody in a browser: {text}")
            failures += 1
    if len(said) < 300:
        print(f"FAILED: only {len(said)} sentences were found: the reader of the files is broken")
        failures += 1
    print(f"{len(said)} sentences, {failures} failures")
    return 1 if failures else 0


sys.exit(main())
