#!/usr/bin/env python3
"""Functions that a header declares and nothing but a test calls: connected or removed.

usage: unused.py SOURCE_DIR

Reads src/ and dsp/ as text, without comments and strings. A declared name must be named once
more than in its declaration and at the head of its definition. What the installed library
offers (its two doors and the headers that they list) is for other programs.
"""
import pathlib
import re
import sys

# Called by nothing here, and here to stay. Of dsp/: one step of the signal path, or what it
# found, for its own test and for tests/accuracy, which the next steps take in one go.
ALLOWED = {
    'fm_minute_breath': 'tests/accuracy prints what the breath finder weighed',
    'fm_minute_evidence': 'tests/accuracy/train learns the confidence from it',
    'recording_samples': 'tests/live compares it with what the file holds',
}


def stripped(text):
    text = re.sub(r'/\*.*?\*/|//[^\n]*', ' ', text, flags=re.S)
    return re.sub(r'"(?:\\.|[^"\\\n])*"', '""', text)


def declared(text):
    """Names of functions that a header declares, not those of types or macros."""
    text = re.sub(r'^[ \t]*#(?:[^\n\\]|\\.|\\\n)*', ' ', text, flags=re.M)
    names = []
    for m in re.finditer(r'(?:^|[;}])\s*((?:[A-Za-z_]\w*[\s*]+)+)(\w+)\s*\([^;{}]*\)\s*(?=[;{])', text):
        words = m.group(1).split()
        if words[0] not in ('typedef', 'return', 'else', 'static') and 'static' not in words:
            names.append(m.group(2))
    return names


def public_headers(root):
    doors = ('dsp/fullminute.h', 'dsp/fullminute_compose.h')
    text = ''.join((root / door).read_text(encoding='utf-8') for door in doors)
    return {root / name for name in (*doors, *re.findall(r'"(dsp/[\w/]+\.h)"', text))}


def main():
    root = pathlib.Path(sys.argv[1])
    public = public_headers(root)
    files = [p for top in ('src', 'dsp') for p in (root / top).rglob('*') if p.suffix in ('.c', '.h')]
    text = {p: stripped(p.read_text(encoding='utf-8')) for p in files}
    uses = {}
    for t in text.values():
        for name in re.findall(r'[A-Za-z_]\w*', t):
            uses[name] = uses.get(name, 0) + 1
    seen = 0
    found = []
    for p in sorted(files):
        if p.suffix != '.h' or p in public:
            continue
        for name in declared(text[p]):
            seen += 1
            if uses[name] <= 2 and name not in ALLOWED:
                found.append(f'{p.relative_to(root)}: {name}')
    gone = sorted(name for name in ALLOWED if uses.get(name, 0) != 2)
    for line in found:
        print(f'only tests call it: {line}')
    for name in gone:
        print(f'allowed for nothing: {name}')
    print(f'{seen} declared functions looked at')
    return 1 if found or gone or seen < 300 else 0


if __name__ == '__main__':
    sys.exit(main())
