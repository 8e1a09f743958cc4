#!/usr/bin/env bash
# summary, as a person runs it: rows of a batch of the recordings, with and without their
# truth; the page; wrong usage. Called as `bash summary.sh PROGRAM SOURCE_DIR`.
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"
says()
{
    grep -qE -- "$1" out || fail "does not say '$1': $(head -c 600 out)"
}

run 0 summary --help
says 'limits of agreement'
run 2 summary
run 3 summary nowhere.csv
grep -q 'nowhere.csv' err || fail 'the missing file is not named'

mkdir sounds
for name in steady-060 bigeminy fibrillation friction unusable; do
    ln -s "$source_dir/recordings/$name.flac" "$source_dir/recordings/$name.truth.json" sounds
done
echo 'no sound' >sounds/broken.wav
run 0 batch sounds --out rows.csv --quiet
[ -s rows.csv ] || fail 'batch wrote no rows'

run 0 summary rows.csv
says '^  refused +1 of '
says '^  error +[1-9][0-9]* of '
says '^  irregularly irregular +1 of 4'
says 'broken.wav: '
says 'not a medical device'
run 0 summary rows.csv --truth beside
says '^  pairs +4$'
says '^  within 1 per minute +4 of 4, 100.0 %'
says '^  refused though truth known +1 of 5'
cp out beside
run 0 summary rows.csv --truth sounds
cmp -s out beside || fail 'a folder of truths and beside differ'
# A truth document of another sound is not believed: by its digest, its length, its rate. One that no
# digest proves and that is far from a sure count is told; it stays in the figures, or agreement
# would be made by leaving out what does not agree.
mkdir moved
cp "$source_dir/recordings/steady-072.flac" "$source_dir/recordings/steady-060.flac" moved
cp "$source_dir/recordings/steady-060.truth.json" moved/steady-072.truth.json
cp "$source_dir/recordings/steady-060.truth.json" moved/steady-060.truth.json
run 0 batch moved --out moved.csv --quiet
run 0 summary moved.csv --truth beside
says '^  pairs +1$'
says '^  readable rows without truth +1$'
says 'truth of another sound, left out +1$'
python3 - <<'EOF'
import json
d = json.load(open('moved/steady-060.truth.json'))
del d['sound_blake2b'], d['duration_s'], d['sample_rate_hz']
json.dump(d, open('moved/steady-072.truth.json', 'w'))
EOF
run 0 summary moved.csv --truth beside
says '^  pairs +2$'
says 'truth in doubt, not left out +1: no digest proves it'
run 0 summary moved.csv --truth beside --json
says '"rows_of_another_sound": 0, "rows_in_doubt": 1'
printf 'file,rate_bpm\nsteady-060.flac,64\n' >truth.csv
run 0 summary rows.csv --truth truth.csv
says '^  difference +-4.00 per minute'
says 'true 64.0: .*steady-060.flac'

# Standard input, JSON; the same numbers.
"$program" summary - --json <rows.csv >out 2>err || fail "from standard input: $(cat err)"
python3 - out rows.csv <<'EOF' || fail 'the document'
import csv, json, sys
document = json.load(open(sys.argv[1]))
rows = list(csv.DictReader(open(sys.argv[2], newline="")))
assert document["schema"] == "fullminute.summary/1" and document["truth"] is None
assert document["rows"] == len(rows) and document["rate_bpm"]["n"] == 4
for status in ("counted", "caution", "refused", "error"):
    assert document["status"][status] == sum(r["status"] == status for r in rows), status
EOF

# The page: whole, well formed where it matters, not overwritten.
run 0 summary rows.csv --truth beside --html page.html
cmp -s out beside || fail '--html changes the text'
python3 - page.html <<'EOF' || fail 'the page'
import re, sys, xml.dom.minidom
page = open(sys.argv[1], encoding="utf-8").read()
plots = re.findall(r"<svg.*?</svg>", page, re.S)
assert len(plots) == 6, len(plots)
for plot in plots:
    xml.dom.minidom.parseString(plot)
    assert "<title>" in plot and "<desc>" in plot
assert not re.search(r"<script|src=|href=|url\(|nan\b", page)
assert page.endswith("</html>\n")
EOF
run 2 summary rows.csv --html page.html
run 0 summary rows.csv --html page.html --force
run 0 summary rows.csv --html -
says '^<!DOCTYPE html>'
run 2 summary rows.csv --html - --json
run 2 summary rows.csv --html rows.csv --force
run 2 summary rows.csv ./rows.csv
grep -q 'twice' err || fail 'a file named twice is not told'
printf 'file,status\na.wav\n' >bad.csv
run 3 summary bad.csv
grep -q 'bad.csv, record' err || fail "the record is not named: $(cat err)"

[ "$failures" -eq 0 ] && echo 'summary says what the rows hold'
exit $((failures > 0))
