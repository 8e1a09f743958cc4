#!/bin/bash
# batch and merge as a person runs them: rows, order, what is done again, shards, outputs,
# wrong usage. usage: batch.sh PROGRAM SOURCE_DIR
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"
err_says() {
    tr '\n' ' ' <err | grep -qF -- "$1" || fail "not said: $1 (in: $(cat err))"
}

# field ROWS FILE COLUMN: by a CSV reader that is not ours
field() {
    python3 - "$@" <<'PY'
import csv, sys
rows, name, column = sys.argv[1:]
print(";".join(r[column] for r in csv.DictReader(open(rows, newline="")) if r["file"] == name))
PY
}

# A folder with good, refused, bad and special files, one of them of a name no terminal likes.
mkdir -p d/sub d/empty
cp "$recordings/steady-072.flac" d/b.flac
cp "$recordings/steady-072.flac" 'd/a, "quoted".flac'
cp "$recordings/unusable.flac" "$recordings/unusable.truth.json" d/
cp "$recordings/bigeminy.flac" d/sub/
cp "$recordings/steady-060.flac" d/$'no-\xffutf8.flac'
echo text >d/notes.txt
: >d/zero.wav
head -c 3000 "$recordings/steady-060.flac" >d/cut.flac
mkfifo d/pipe
ln -s loop d/loop
ln -s ../../d d/sub/up
ln -s b.flac d/link.flac
touch d/.hidden.wav
files=12

run 0 batch d --out rows.csv
err_says "$files files, $files rows in rows.csv"
err_says '1 documents of this program, 1 hidden'
cut -d, -f1-2 <rows.csv >names # enough for names without a comma
[ "$(field rows.csv 'd/b.flac' status)" = counted ] || fail 'd/b.flac is not counted'
[[ $(field rows.csv 'd/b.flac' beats) =~ ^7[12]$ ]] || fail "beats: $(field rows.csv d/b.flac beats)"
[ "$(field rows.csv 'd/a, "quoted".flac' status)" = counted ] || fail 'the quoted name'
[ "$(field rows.csv 'd/link.flac' status)" = counted ] || fail 'a link to a file'
[ "$(field rows.csv 'd/no-%FFutf8.flac' status)" = counted ] || fail 'the name without UTF-8'
[ "$(field rows.csv 'd/unusable.flac' status)" = refused ] || fail 'unusable.flac is not refused'
[ -n "$(field rows.csv 'd/unusable.flac' reason)" ] || fail 'a refusal without a reason'
[ -z "$(field rows.csv 'd/unusable.flac' rate_bpm)" ] || fail 'a refusal with a rate'
[ "$(field rows.csv 'd/sub/bigeminy.flac' pattern)" = 'regularly irregular' ] || fail 'bigeminy'
[ "$(field rows.csv 'd/notes.txt' reason_code)" = unreadable ] || fail 'notes.txt'
[ "$(field rows.csv 'd/zero.wav' status)" = error ] || fail 'zero.wav'
[ "$(field rows.csv 'd/pipe' reason_code)" = not_a_file ] || fail 'the pipe'
[ "$(field rows.csv 'd/sub/up' reason_code)" = not_a_file ] || fail 'the link to a folder'
[ "$(field rows.csv 'd/loop' status)" = error ] || fail 'the loop of links'
# The count is that of `count`.
"$program" count d/b.flac --json >one.json 2>/dev/null
python3 - <<'PY' || fail 'the row is not what count says'
import csv, json
c = json.load(open("one.json"))
r = next(r for r in csv.DictReader(open("rows.csv", newline="")) if r["file"] == "d/b.flac")
for part, name, column in (("heart", "beats", "beats"), ("heart", "rate_bpm", "rate_bpm"),
        ("heart", "rate_low_bpm", "rate_low_bpm"), ("heart", "confidence", "confidence"),
        ("rhythm", "sdnn_ms", "sdnn_ms"), ("rhythm", "cv", "cv"), ("quality", "overall", "quality"),
        ("breath", "breaths", "breaths"), ("breath", "confidence", "breath_confidence"),
        ("source", "duration_s", "duration_s")):
    v = c[part][name]
    assert (r[column] == "") if v is None else float(r[column]) == v, (column, v, r[column])
assert r["pattern"] == c["rhythm"]["pattern"] and r["schema"] == "fullminute.row/1"
PY
# In order of the names' bytes.
python3 -c '
import csv
n = [r["file"].encode() for r in csv.DictReader(open("rows.csv", newline=""))]
assert n == sorted(n) and len(n) == len(set(n)), n' || fail 'rows out of order'

# Nothing is overwritten unless told; then the ledger makes it quick, the bytes the same.
run 2 batch d --out rows.csv
err_says --force
cp rows.csv first.csv
cp rows.csv.batch.json first.json
run 0 batch d --out rows.csv --force --jobs 1
# Errors that another run may not meet are tried again: pipe, loop, link to a folder.
err_says '(9 files were done before)'
cmp -s rows.csv first.csv || fail 'the same list gives other rows'
cmp -s rows.csv.batch.json first.json || fail 'the same list gives another document'

# A changed file is done again, a touched one only looked at.
cp "$recordings/steady-084.flac" d/b.flac
touch d/link.flac d/unusable.flac
run 0 batch d --out rows.csv --force
[[ $(field rows.csv 'd/b.flac' beats) =~ ^8[345]$ ]] || fail "changed: $(field rows.csv d/b.flac beats)"
cp "$recordings/steady-072.flac" d/b.flac
run 0 batch d --out rows.csv --force
cmp -s rows.csv first.csv || fail 'changed back gives other rows'

# JSON Lines: one object a row, the same content.
run 0 batch d --out rows.jsonl
python3 - <<'PY' || fail 'JSON Lines and CSV differ'
import csv, json
c = list(csv.DictReader(open("first.csv", newline="")))
j = [json.loads(l) for l in open("rows.jsonl")]
assert len(c) == len(j)
for a, b in zip(c, j):
    assert list(a) == list(b)
    for k in a:
        assert (a[k] == "" and b[k] is None) or a[k] == b[k] or float(a[k]) == b[k], (k, a[k], b[k])
PY
run 0 batch d --out - --format csv
cmp -s out first.csv || fail 'standard output gives other rows'

# A list, and names with line ends in it; --strict.
printf 'd/b.flac\nd/gone.wav\nd/b.flac\n' >list
run 0 batch --list list --out list.csv
[ "$(field list.csv 'd/gone.wav' status)" = error ] || fail 'gone.wav'
err_says '2 files'
run 3 batch --list list --out list.csv --strict --force
run 0 batch d/b.flac --out strict.csv --strict --json
python3 -c 'import json; d = json.load(open("out")); assert d["schema"] == "fullminute.batch/1" and d["rows"] == 1' ||
    fail '--json'
cp d/b.flac $'line\nend.flac'
printf 'line\nend.flac\0' >list0
run 0 batch --list list0 --null --out list0.csv
[ "$(field list0.csv $'line\nend.flac' status)" = counted ] || fail 'a name with a line end'
run 0 batch --list list0 --null --out list0.jsonl
[ "$(wc -l <list0.jsonl)" -eq 1 ] || fail 'a name with a line end makes two JSON lines'

# A row every so many seconds; patterns of names.
run 0 batch d --match 'b*.flac' --every 30 --out every.csv
[ "$(field every.csv d/b.flac window_start_s | cut -d';' -f1-2)" = '0.000;30.000' ] ||
    fail "--every: $(field every.csv d/b.flac window_start_s)"

# Documents, pictures, marks.
run 0 batch d --match '[bu]*.flac' --documents o/doc --pictures o/pic --marks o/mark --out o.csv
"$program" count d/b.flac --json >one.json
cmp -s o/doc/d/b.flac.count.json one.json || fail 'the document is not what count --json says'
"$program" count d/b.flac --picture one.svg >/dev/null
cmp -s o/pic/d/b.flac.svg one.svg || fail 'the picture is not what count --picture draws'
python3 - <<'PY' || fail 'marks'
import json
c = json.load(open("one.json"))
lines = open("o/mark/d/b.flac.marks.tsv").read().split("\n")
assert lines[0] == "start_s\tend_s\tmark\tsureness" and lines[-1] == ""
m = [l.split("\t") for l in lines[1:-1]]
assert [float(x[0]) for x in m if x[2] == "S1"] == c["heart"]["s1_s"]
assert [float(x[0]) for x in m if x[2] == "S2"] == c["heart"]["s2_s"]
assert all(0 <= float(x[3]) <= 1 for x in m if x[2] == "S1")
assert [float(x[0]) for x in m] == sorted(float(x[0]) for x in m)
u = [l.split("\t") for l in open("o/mark/d/unusable.flac.marks.tsv").read().split("\n")[1:-1]]
assert not [x for x in u if x[2] in ("S1", "S2")]
PY
run 0 batch d --match 'b.flac' --every 30 --documents o/rows --out e.csv
"$program" count d/b.flac --seconds whole --json 2>/dev/null | head -n 1 >whole
[ "$(wc -l <o/rows/d/b.flac.count.jsonl)" -ge 2 ] || fail 'documents with --every'

# Shards: each file in one, merged the same bytes as one run.
for i in 1 2 3; do
    run 0 batch d --shard $i/3 --out part-$i.csv
    run 0 batch d --shard $i/3 --out part-$i.jsonl
done
run 0 merge part-3.csv part-1.csv part-2.csv --out merged.csv
cmp -s merged.csv first.csv || fail 'merged CSV differs from one run'
cmp -s merged.csv.batch.json first.json || fail 'merged document differs from one run'
run 0 merge part-1.jsonl part-2.jsonl part-3.jsonl --out merged.jsonl
cmp -s merged.jsonl rows.jsonl || fail 'merged JSON Lines differ from one run'
run 2 merge part-1.csv part-2.csv part-3.csv --out merged.csv
# shards of an older version lack the later columns; the merged rows say so by empty fields
python3 - <<'PY'
import csv, hashlib, json
for k in "123":
    rows = list(csv.reader(open(f"part-{k}.csv", newline="")))
    keep = [i for i, name in enumerate(rows[0]) if not name.startswith(("breath_pattern", "breath_findings"))]
    with open(f"old-{k}.csv", "w", newline="") as f:
        csv.writer(f).writerows([[r[i] for i in keep] for r in rows])
    about = json.load(open(f"part-{k}.csv.batch.json"))
    about["rows_blake2b_256"] = hashlib.blake2b(open(f"old-{k}.csv", "rb").read(), digest_size=32).hexdigest()
    json.dump(about, open(f"old-{k}.csv.batch.json", "w"))
PY
run 0 merge old-1.csv old-2.csv old-3.csv --out old.csv
python3 - <<'PY' || fail 'shards of an older version were merged wrongly'
import csv
old, new = (list(csv.DictReader(open(n, newline=""))) for n in ("old.csv", "first.csv"))
later = ("breath_pattern", "breath_findings")
assert len(old) == len(new) > 3
assert all(a[c] == ("" if c in later else b[c]) for a, b in zip(old, new) for c in b)
PY
run 3 merge part-1.csv part-3.csv --out m.csv
err_says '1 of 3 shards missing: 2'
run 3 merge part-1.csv part-2.csv part-2.csv --out m.csv
err_says 'shard 2 is there twice'
cp part-2.csv.batch.json cut.csv.batch.json
head -c 200 part-2.csv >cut.csv
run 3 merge part-1.csv cut.csv part-3.csv --out m.csv
err_says 'not as it was written'
run 0 batch d --shard 2/3 --start 5 --out other.csv
run 3 merge part-1.csv other.csv part-3.csv --out m.csv
err_says 'their options differ'
run 3 merge part-1.csv part-2.jsonl part-3.csv --out m.csv
run 3 merge first.csv --out m.csv
[ ! -e m.csv ] || fail 'a failed merge leaves rows behind'

# Wrong usage, before anything is done.
run 2 batch
run 2 batch d
run 2 batch d --out x.txt
run 2 batch - --out x.csv
run 2 batch d --out x.csv --every 30 --seconds 30
run 2 batch d --out x.csv --every 30 --pictures p
run 2 batch d --out x.csv --null
run 2 batch d --out - --json
for shard in 0/3 4/3 1 1/0 a/b 1/ /3 ''; do
    run 2 batch d --out x.csv --shard "$shard"
done
run 3 batch dd --out x.csv
err_says 'nothing was done'
run 3 batch d/empty --out y.csv
run 2 merge --out x.csv
run 2 merge part-1.csv
[ ! -e x.csv ] && [ ! -e x.csv.ledger ] || fail 'wrong usage leaves something behind'
printf 'SQLite format 3' >no.ledger
run 3 batch d --out x.csv --ledger no.ledger
run 1 batch d/b.flac --out nowhere/x.csv
# An output that cannot be written ends the run.
: >file
run 1 batch d/b.flac --out z.csv --documents file
[ -z "$(ls -A | grep '\.part$')" ] || fail 'a temporary file is left'

# Ctrl-C stops, keeps what is done, says how to go on.
mkdir many
for i in $(seq 20); do ln "$recordings/steady-072.flac" many/$i.flac 2>/dev/null || cp "$recordings/steady-072.flac" many/$i.flac; done
"$program" batch many --out many.csv --documents seen --jobs 1 2>err &
pid=$!
while kill -0 $pid 2>/dev/null && [ "$(ls seen 2>/dev/null | grep -c 'json$')" -lt 3 ]; do
    sleep 0.01
done
kill -TERM $pid 2>/dev/null
wait $pid
status=$?
if [ $status -eq 0 ]; then
    echo 'note: too quick to be stopped'
else
    [ $status -eq 130 ] || fail "stopped: exit $status"
    err_says 'run the same command again'
    [ ! -e many.csv ] || fail 'a stopped run leaves rows'
    run 0 batch many --out many.csv --documents seen
    err_says 'were done before'
fi
run 0 batch many --out again.csv
cmp -s many.csv again.csv || fail 'a stopped run ends otherwise'

[ $failures -eq 0 ] && echo 'batch and merge hold'
exit $((failures > 0))
