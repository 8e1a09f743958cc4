"""The pictures as they are drawn, measured: no two labels meet, none leaves its picture, each has a
size that a phone can show, every mark stands out from its ground in one of a few colours, and no
mark is a letter that means a wave in other charts.

usage: pictures.py PROGRAM SOURCE_DIR WORK_DIR

Drawn: every recording, and the hard ones again as short counts, with taps, and refused; the plots of
a logbook and of a summary; and every golden picture of tests/data. The width of a text is that of the
table in src/picture/svg_text.c (the widest of the fonts named), a bold one a fifth wider.
  Source of the contrasts: WCAG 2.1, 1.4.3 (text, 4.5:1) and 1.4.11 (graphics, 3:1), from memory.
  The least size, 14 units of a picture 480 wide (10.5 px on a phone 360 px wide): ours.
"""
import glob
import os
import re
import shutil
import subprocess
import sys
import xml.etree.ElementTree as tree

NS = "{http://www.w3.org/2000/svg}"
HARD = ("fibrillation", "fast-run", "early-run", "premature-beats", "paused-breathing", "unusable")
LETTERS = {"E", "A", "L", "P"}
LEAST_SIZE = 14.0


def advances(source):
    with open(os.path.join(source, "src/picture/svg_text.c"), encoding="utf-8") as f:
        table = re.search(r"ADVANCE\[95\] = \{(.*?)\};", f.read(), re.S).group(1)
    numbers = [int(n) for n in re.findall(r"\d+", re.sub(r"/\*.*?\*/", "", table))]
    assert len(numbers) == 95, len(numbers)
    return numbers


def palette(source):
    """The colours that src/picture/svg.h names: the page draws these, and no others, in other colours by night."""
    with open(os.path.join(source, "src/picture/svg.h"), encoding="utf-8") as f:
        return set(re.findall(r"#define SVG_\w+[\s\\]+\"(#[0-9a-f]{6})\"", f.read()))


def width_of(text, size, bold, table):
    per = sum(table[ord(c) - 32] if 32 <= ord(c) < 127 else table[0] if c == "\xa0" else 100
              for c in text)
    return per * size / 100 * (1.2 if bold else 1.0)


def luminance(colour):
    parts = [int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a, b):
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def boxes(node, x, y, table):
    """(left, top, right, bottom, text, size) of every text at or under a node."""
    moved = re.match(r"translate\((\S+) (\S+)\)", node.get("transform", ""))
    if moved:
        x, y = x + float(moved.group(1)), y + float(moved.group(2))
    found = []
    if node.tag == NS + "text":
        size, text = float(node.get("font-size")), node.text
        wide = width_of(text, size, node.get("font-weight") == "bold", table)
        left = x + float(node.get("x")) - {"middle": 0.5, "end": 1.0}.get(
            node.get("text-anchor"), 0.0) * wide
        base = y + float(node.get("y"))
        deep = 0.22 if re.search(r"[gjpqy,;()]", text) else 0.0
        found.append((left, base - 0.73 * size, left + wide, base + deep * size, text, size))
    for child in node:
        found += boxes(child, x, y, table)
    return found


def faults(svg, table, colours):
    root = tree.fromstring(svg)
    _, _, width, height = (float(v) for v in root.get("viewBox").split())
    said = []
    ground = next(n for n in root if n.tag == NS + "rect")
    if (float(ground.get("width")), float(ground.get("height"))) != (width, height):
        said.append("no ground of its own")
    labels = boxes(root, 0.0, 0.0, table)
    for i, a in enumerate(labels):
        if a[0] < 0 or a[1] < 0 or a[2] > width or a[3] > height:
            said.append(f"'{a[4]}' leaves the picture")
        if a[5] < LEAST_SIZE:
            said.append(f"'{a[4]}' is {a[5]} units small")
        if a[4] in LETTERS:
            said.append(f"the letter {a[4]} as a mark")
        for b in labels[i + 1:]:
            if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]:
                said.append(f"'{a[4]}' meets '{b[4]}'")
    for node in root.iter():
        for what in ("fill", "stroke"):
            colour = node.get(what)
            if node is ground or colour in (None, "none", ground.get("fill")):
                continue
            if colour not in colours:
                said.append(f"{colour} is none of the palette")
            least = 4.5 if node.tag == NS + "text" else 3.0
            ratio = contrast(colour, ground.get("fill"))
            if ratio < least:
                said.append(f"{node.tag[len(NS):]} in {colour}: {ratio:.2f}:1")
    return sorted(set(said)), len(labels)


def unlit(source, svgs):
    """Colours drawn that the page's style sheet does not redraw by night, where it has a night."""
    with open(os.path.join(source, "src/page/web/style.css"), encoding="utf-8") as f:
        _, night, rules = f.read().partition("prefers-color-scheme: dark")
    drawn = {pair for svg in svgs for pair in re.findall(r'(fill|stroke)="(#[0-9a-f]{6})"', svg)}
    return sorted(f"{what} {colour}" for what, colour in drawn
                  if night and f"[{what}='{colour}']" not in rules)


class Drawn:
    def __init__(self, program, source, work):
        shutil.rmtree(work, ignore_errors=True)
        os.makedirs(os.path.join(work, "home"))
        self.program, self.work, self.source = program, work, source
        self.sounds = os.path.join(source, "recordings")
        self.env = {"PATH": os.environ["PATH"], "HOME": os.path.join(work, "home"), "LC_ALL": "C"}
        self.svgs = {}

    def run(self, *words, allowed=(0, 4)):
        done = subprocess.run([self.program, *words], cwd=self.work, env=self.env,
                              stdin=subprocess.DEVNULL, capture_output=True, check=False)
        if done.returncode not in allowed:
            sys.exit(f"{' '.join(words)}: exit {done.returncode}: {done.stderr.decode()[:400]}")

    def take(self, name, path):
        with open(os.path.join(self.work, path), encoding="utf-8") as f:
            for n, svg in enumerate(re.findall(r"<svg .*?</svg>", f.read(), re.S)):
                self.svgs[f"{name} {n}" if n else name] = svg

    def check(self, name, stem, *words):
        self.run("check", f"{self.sounds}/{stem}.flac", "--picture", f"{name}.svg", *words)
        self.take(name, f"{name}.svg")


def draw(d):
    d.run("logbook", "new")
    d.run("batch", d.sounds, "--out", "rows.csv", "--pictures", "pictures", "--jobs", "2")
    for path in sorted(glob.glob(os.path.join(d.work, "pictures/**/*.svg"), recursive=True)):
        d.take(os.path.basename(path), path)
    for k, stem in enumerate(HARD):
        d.check(f"short {stem}", stem, "--manual", str(16 + 3 * k), "--seconds", "15")
        d.check(f"minute {stem}", stem, "--manual", str(60 + 9 * k), "--manual-breaths", "14")
    d.check("taps", "premature-beats", "--taps", f"{d.sounds}/premature-beats.taps.txt")
    d.run("report", "--out", "report.html")
    d.take("report", "report.html")
    d.run("summary", "rows.csv", "--html", "summary.html")
    d.take("summary", "summary.html")
    for path in sorted(glob.glob(os.path.join(d.source, "tests/data/*.svg"))):
        d.take(os.path.basename(path), path)


def main():
    program, source, work = (os.path.abspath(a) for a in sys.argv[1:4])
    table, colours = advances(source), palette(source)
    d = Drawn(program, source, work)
    draw(d)
    failed = labels = 0
    for name, svg in d.svgs.items():
        said, n = faults(svg, table, colours)
        labels += n
        for what in said:
            print(f"{name}: {what}")
        failed += len(said) > 0
    for what in unlit(source, d.svgs.values()):
        print(f"not redrawn by night: {what}")
        failed += 1
    print(f"{len(d.svgs)} pictures, {labels} labels, {failed} faulty")
    if len(d.svgs) < 70 or labels < 2500:
        sys.exit("fewer pictures or labels than there must be: nothing was measured")
    sys.exit(failed > 0)


if __name__ == "__main__":
    main()
