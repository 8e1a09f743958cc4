#!/usr/bin/env bash
# Documents of an earlier version (tests/data/documents) open, say the same, and what is
# written today has every member that they have, of the same kind: within a number members
# are only added.
# usage: documents.sh PROGRAM SOURCE_DIR
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"
cp "$source_dir"/tests/data/documents/* . || exit 1
chmod 600 book.sqlite

# same OLD: what was printed is this file
same()
{
    cmp -s out "$1" || fail "not as it was: $1: $(diff out "$1" | head -c 600)"
}

# grown OLD: what was printed says all that this file does, alike and in its place, and maybe more
grown()
{
    python3 - "$1" out <<'END' || fail "not as it was: $1"
import json, sys

def stands(old, new):
    if isinstance(old, dict):
        return isinstance(new, dict) and all(
            k in new and (stands(v, new[k]) or (k.startswith('limit_') and new[k] is None))  # of two counts: blank since
            for k, v in old.items())
    if isinstance(old, list):
        return isinstance(new, list) and len(old) == len(new) and all(map(stands, old, new))
    return old == new

old, new = (open(p, encoding='utf-8', newline='').read() for p in sys.argv[1:3])
if sys.argv[1].endswith('.json'):
    sys.exit(not stands(json.loads(old), json.loads(new)))
rows = [text.splitlines() for text in (old, new)]
sys.exit(len(rows[0]) != len(rows[1]) or not all(b == a or b.startswith(a + ',') for a, b in zip(*rows)))
END
}

# members_of OLD NEW: a value that was null may be anything, and null may be anything now
members_of()
{
    python3 - "$1" "$2" <<'END' || fail "$2 lacks members of $1"
import json, sys
KINDS = {dict: 'object', list: 'list', str: 'text', bool: 'flag', int: 'number', float: 'number'}

def lacks(old, new, path):
    if old is None or new is None:
        return []
    if KINDS[type(old)] != KINDS[type(new)]:
        return [f'{path}: {KINDS[type(old)]} became {KINDS[type(new)]}']
    if isinstance(old, dict):
        return [line for name, value in old.items()
                for line in ([f'{path}.{name} is not there'] if name not in new
                             else lacks(value, new[name], f'{path}.{name}'))]
    if isinstance(old, list) and old and new:
        return lacks(old[0], new[0], path + '[0]')
    return []

old, new = (json.loads(open(p, encoding='utf-8').readline() if p.endswith('.jsonl')
                       else open(p, encoding='utf-8').read()) for p in sys.argv[1:3])
found = lacks(old, new, '')
print('\n'.join(found))
sys.exit(1 if found else 0)
END
}

# The check itself can fail.
echo '{"a": {"b": [{"c": 1}]}}' >a.json
echo '{"a": {"b": [{"d": 1}]}}' >b.json
(members_of a.json b.json; [ $failures -eq 1 ]) >/dev/null || fail 'a lost member is not noticed'

echo '{"a": 1, "more": 2}' >out
(grown a.json; [ $failures -eq 1 ]) >/dev/null || fail 'a value that changed is not noticed'
printf 'a,c\r\n' >out
printf 'a,b\r\n' >a.csv
(grown a.csv; [ $failures -eq 1 ]) >/dev/null || fail 'a column that changed is not noticed'

# A truth: the recipe in it gives the same sound and the same document.
for name in heart lifted; do
    mkdir -p made
    read -ra recipe <<<"$(python3 -c "import json; print(json.load(open('$name.truth.json'))['recipe'])")"
    run 0 compose "made/$name.flac" "${recipe[@]}"
    cp "made/$name.truth.json" out
    same "$name.truth.json"
    mv "made/$name.flac" .
done

run 0 check heart.flac --manual 70 --manual-breaths 15 --no-logbook --age 30 --json
members_of check.json out
grep -q '"judged_against": *"truth"' out || fail "the old truth is not used"
run 0 count heart.flac --json
members_of count.json out

# A sitting beside its sound says which seconds were counted, and what is missing of them.
for name in contact taps-and-gaps open; do
    run 0 compose "$name.wav" --seconds 160 --seed 3
    "$program" count "$name.wav" --json >out 2>err </dev/null
    python3 - "$name" <<'END' || fail "$name.sitting.json was not opened: $(cat err)"
import json, sys
s = json.load(open(sys.argv[1] + '.sitting.json'))
w = next(w for w in s['windows'] if w['kind'] == 'pulse' and not w['set_aside'])
got = json.loads(open('out').readline())['window']
sys.exit(abs(got['start_s'] - w['start_s']) > 0.001 or abs(got['end_s'] - w['end_s']) > 0.001)
END
done

# The logbook, as rows and as CSV.
run 0 logbook --logbook book.sqlite list --json
grown logbook.json
run 0 logbook --logbook book.sqlite progress --learner AB --json
grown progress.json
run 0 logbook --logbook book.sqlite export
grown book.csv
run 0 logbook --logbook new.sqlite import book.csv
run 0 logbook --logbook new.sqlite export
grown book.csv

# A batch's rows in both formats, and what is said about them.
run 0 summary rows.csv --json
same summary.json
run 0 summary rows.jsonl --json
same summary.json
mkdir sounds
mv heart.flac lifted.flac sounds
run 0 batch sounds --out again.jsonl
members_of rows.jsonl again.jsonl
run 0 batch sounds --out again.csv
[ "$(head -1 again.csv | cut -c -"$(head -1 rows.csv | tr -d '\r\n' | wc -c)")" = "$(head -1 rows.csv | tr -d '\r\n')" ] ||
    fail "columns of a row were moved: $(head -1 again.csv)"
members_of rows.csv.batch.json again.csv.batch.json

# A worksheet's key, sealed then, and answers to it.
run 0 worksheet open key.sealed --json --phrase-file phrase
same key.json
run 0 worksheet score key.sealed answers.csv --json --phrase-file phrase
grown scores.json
run 0 worksheet score key.sealed answers.csv --csv --phrase-file phrase
grown scores.csv

[ "$failures" -eq 0 ] || exit 1
echo "every document opens"
