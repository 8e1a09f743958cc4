#!/usr/bin/env python3
"""Places in dsp/ and src/ that share six or more lines of code: one of the two is one too many.

usage: twins.py SOURCE_DIR [--lines N] [--shape] [--all]

Comments, blank lines, includes and lines of punctuation only do not count, white space is
folded, tables of numbers (*_weights.h, *_table.h) are left out, and so are a function's name and
parameters in its header and again in its source. --shape: names and numbers
may differ too, so that what remains is the grammar; more is found, and much of it means nothing.
Prints a row a pair, longest first. Without --shape its status is 1 where a pair is not in
ALLOWED below. --all: the allowed ones as well.
"""
import argparse
import itertools
import pathlib
import re
import sys

# Pairs of files that share lines, and why they may.
ALLOWED = {
    ('src/batch/ledger.c', 'src/logbook/logbook_schema.c'):
        'one number out of SQLite: two roles, and what is below both knows no SQL',
}

WORD = re.compile(r'[A-Za-z_]\w*|\d[\w.]*|"(?:\\.|[^"\\])*"|\'(?:\\.|[^\'\\])*\'')
KEPT = set('if else for while do switch case default return break continue struct enum typedef static '
           'const void bool int double float char size_t sizeof NULL true false'.split())


def code_lines(text, shape):
    """(number, line) of each line that counts."""
    blank = lambda m: re.sub(r'[^\n]', ' ', m.group(0))
    text = re.sub(r'/\*.*?\*/|//[^\n]*', blank, text, flags=re.S)
    for number, line in enumerate(text.splitlines(), 1):
        line = ' '.join(line.split())
        if not re.search(r'\w', line) or line.startswith('#include'):
            continue
        if shape:
            line = WORD.sub(lambda m: m.group(0) if m.group(0) in KEPT else 'x', line)
        yield number, line


def lines_of(files, place, n):
    name, at = place
    return [line for _, line in files[name][at:at + n]]


def runs(files, least):
    """Every longest run of `least` lines or more that stands in two places."""
    where = {}
    for name, lines in files.items():
        for at in range(len(lines) - least + 1):
            key = tuple(line for _, line in lines[at:at + least])
            where.setdefault(key, []).append((name, at))
    found = {}
    for places in where.values():
        if len(set(lines_of(files, places[0], least))) < least - 1 or len(places) > 8:
            continue
        for (a, i), (b, j) in itertools.combinations(places, 2):
            if a[:-2] == b[:-2] and a != b:
                continue  # x.c and x.h
            if a == b and abs(i - j) < least:
                continue
            found.setdefault((a, b, j - i), []).append(i)
    for (a, b, shift), starts in found.items():
        starts.sort()
        first = last = starts[0]
        for i in starts[1:] + [None]:
            if i is not None and i == last + 1:
                last = i
                continue
            yield last - first + least, a, first, b, first + shift
            first = last = i


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('source', type=pathlib.Path, metavar='SOURCE_DIR')
    parser.add_argument('--lines', type=int, default=6)
    parser.add_argument('--shape', action='store_true')
    parser.add_argument('--all', action='store_true')
    args = parser.parse_args()
    files = {}
    for top in ('dsp', 'src'):
        for path in sorted((args.source / top).rglob('*.[ch]')):
            if not path.stem.endswith(('_weights', '_table')):
                name = str(path.relative_to(args.source))
                files[name] = list(code_lines(path.read_text(encoding='utf-8'), args.shape))
    seen, bad = set(), 0
    for n, a, i, b, j in sorted(runs(files, args.lines), key=lambda r: (-r[0], r[1:])):
        pair = tuple(sorted((a, b)))
        seen.add(pair)
        allowed = not args.shape and pair in ALLOWED
        bad += not allowed
        if not allowed or args.all:
            span = lambda name, k: f'{name}:{files[name][k][0]}-{files[name][k + n - 1][0]}'
            print(f'{n} lines: {span(a, i)} ~ {span(b, j)}' + (f' ({ALLOWED[pair]})' if allowed else ''))
    for pair in sorted(set(ALLOWED) - seen):
        print(f'allowed for nothing, take it out: {pair[0]} ~ {pair[1]}')
    print(f'{len(files)} files, {bad} twins')
    return 1 if not args.shape and (bad or len(files) < 300) else 0


if __name__ == '__main__':
    sys.exit(main())
