#!/usr/bin/env bash
# A batch over 2000 files, killed 50 times at random moments, ends with the same bytes as
# one that was left alone: rows, the document beside them, every count document and marks.
# Some minutes. usage: kills.sh PROGRAM SOURCE_DIR [FILES [KILLS [SEED]]]
# shellcheck source=tests/batch/support.sh
. "$(dirname "$0")/support.sh"
trap 'rm -rf "$work"' EXIT
files=${3:-2000}
kills=${4:-50}
RANDOM=${5:-1}
make_sounds 12
make_links d "$files"

run=("$program" batch d --force)
whole=(--out whole.csv --documents whole-doc --marks whole-mark)
killed=(--out killed.csv --documents killed-doc --marks killed-mark)

SECONDS=0
"${run[@]}" "${whole[@]}" 2>whole.err || fail "the run that was left alone: $(cat whole.err)"
took=$SECONDS
echo "left alone: $took s; $(grep " rows in " whole.err)"
[ "$(ls killed-doc 2>/dev/null)" = '' ] || fail 'not a clean start'

# pause MS: bash's own sleep would need a process each; this is near enough.
pause()
{
    sleep "$(printf '%d.%03d' $(($1 / 1000)) $(($1 % 1000)))"
}

# Four in five kills come anywhere in the work, the others at its very start or end.
n=0
ended=0
while ((n < kills)); do
    if ((n % 5 == 4)); then
        ms=$((RANDOM % 150))
    else
        ms=$((RANDOM % (took * 3000 / (kills + 1) + 300)))
    fi
    "${run[@]}" "${killed[@]}" 2>killed.err &
    pid=$!
    pause $ms
    if kill -KILL $pid 2>/dev/null; then
        n=$((n + 1))
    else
        # It was done: what is done is thrown away, and it begins again.
        ended=$((ended + 1))
        rm -f killed.csv*
    fi
    wait $pid 2>/dev/null
done
"${run[@]}" "${killed[@]}" 2>killed.err || fail "the last run: $(cat killed.err)"
echo "$n kills, $ended runs ended before theirs; $(grep " rows in " killed.err)"

cmp whole.csv killed.csv || fail 'the rows differ'
cmp whole.csv.batch.json killed.csv.batch.json || fail 'the documents beside them differ'
diff -r whole-doc killed-doc >diff.txt || fail "count documents differ: $(head -n 3 diff.txt)"
diff -r whole-mark killed-mark >diff.txt || fail "marks differ: $(head -n 3 diff.txt)"
[ "$(($(wc -l <whole.csv) - 1))" -eq "$files" ] || fail "not $files rows"
left=$(find . -name '*.part' | wc -l)
[ "$left" -eq 0 ] || fail "$left temporary files are left"
[ "$failures" -eq 0 ] && echo "kills: the same bytes after $n kills over $files files"
exit $((failures > 0))
