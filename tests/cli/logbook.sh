#!/bin/bash
# The logbook as its learner uses it: what is stored and when, what is never stored, what is
# shown, exported, forgotten. Invented learners.
# usage: logbook.sh PROGRAM SOURCE_DIR
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"
export HOME=$work/home XDG_DATA_HOME="" XDG_CONFIG_HOME="" TZ=UTC
mkdir "$HOME"
book=$HOME/.local/share/fullminute/logbook.sqlite

# Nothing is stored before a logbook is begun, or where it is not wanted.
run 0 check "$recordings/steady-072.flac" --manual 72
[ ! -e "$book" ] || fail 'a logbook without being asked'
run 3 logbook
grep -q "logbook new" err || fail 'no way shown to begin one'
run 0 logbook new --learner AB
[ "$(stat -c %a "$book")" = 600 ] || fail "others may read it: $(stat -c %a "$book")"
run 0 check "$recordings/steady-072.flac" --manual 72 --no-logbook
run 0 check "$recordings/premature-beats.flac" --manual 74 \
    --also 'rhythm=occasionally irregular;posture=sitting;context=at rest'
grep -q 'In the logbook as row 1.' err || fail "not said that it was stored: $(cat err)"
run 4 check "$recordings/unusable.flac" --manual 70
run 0 check "$recordings/steady-072.flac" --manual-breaths 16 --breaths watched
run 0 check "$recordings/premature-beats.flac" --manual 76

# A mistyped check is no attempt and stores nothing: sound, options and outputs are looked at
# first. A refusal is an attempt: its sound was analysed.
touch there.svg
while read -r status words; do
    # shellcheck disable=SC2086 # they are words
    run "$status" check $words --manual 70 --logbook typed.sqlite --learner AB
    ! grep -q 'In the logbook' err || fail "stored though mistyped: $words"
done <<END
2 $recordings/steady-072.flac --picture there.svg
1 $recordings/steady-072.flac --picture no/such/folder.svg
2 $recordings/steady-072.flac --start 900
2 $recordings/steady-072.flac --channel 2
2 $recordings/steady-072.flac --breath-window 900
3 $recordings/no-such.flac
END
"$program" check - --start 900 --manual 70 --logbook typed.sqlite --learner AB \
    <"$recordings/steady-072.flac" >out 2>err && fail 'a start behind the end of a pipe'
run 0 logbook list --json --logbook typed.sqlite
python3 -c "
import json
assert json.load(open('out'))['sessions'] == []" || fail "a mistyped check left a row: $(cat out)"
run 0 check "$recordings/steady-072.flac" --manual 70 --logbook typed.sqlite --learner AB
run 4 check "$recordings/unusable.flac" --manual 70 --logbook typed.sqlite --learner AB
# By another name it is the same recording.
ln -s "$recordings/unusable.flac" link.flac
run 4 check link.flac --manual 70 --logbook typed.sqlite --learner AB
run 0 logbook list --json --logbook typed.sqlite
python3 -c "
import json
assert [r['attempt'] for r in json.load(open('out'))['sessions']] == [1, 1, 2]" ||
    fail "attempts: $(cat out)"

run 0 logbook list
[ "$(grep -c AB out)" -eq 4 ] || fail "not four rows: $(cat out)"
grep -q 'not comparable' out || fail 'the refused one is not said'
grep -q 'repeated' out || fail 'the second attempt is not said'
run 0 logbook chart 1
grep -Eq '^[0-2][0-9]:[0-5][0-9] Apical 74/min, occasionally irregular, reported to ____ at ____, counted 60 s, at rest, sitting. \[practice\]$' out ||
    fail "charted: $(cat out)"
! grep -q 76 out || fail "the second count is in the charted line: $(cat out)"
grep -q 'follow local protocol' out || fail 'no caution'
run 0 logbook show 3
! grep -q '^device_beats\|^device_per_min' out || fail 'a pulse that was sealed is in the row'

# Both times are kept, and the first is not after the second.
run 0 logbook export --format json --out rows.json
python3 - <<'P' || fail 'the exported rows'
import json
d = json.load(open('rows.json'))
assert d['schema'] == 'fullminute.logbook/1' and d['practice'] is True
s = d['sessions']
assert [r['attempt'] for r in s] == [1, 1, 1, 2]
assert all(r['entered_utc'] <= r['counted_utc'] for r in s)
assert s[0]['beats'] == 74 and s[0]['reference_per_min'] == 76.0
assert s[1]['device_beats'] is None and s[1]['beats'] == 70
assert s[2]['beats'] is None and s[2]['breaths'] == 16
# 'agrees' and 'differs' need the instructor's limit
assert s[0]['verdict'] is None and s[3]['verdict'] is None, (s[0]['verdict'], s[3]['verdict'])
assert s[1]['verdict'] == 'not comparable' and s[2]['breath_verdict'] is None
P
run 0 check "$recordings/steady-072.flac" --manual 72 --tolerance 2 --learner LM --logbook limit.sqlite
run 0 logbook show 1 --logbook limit.sqlite
grep -q '^verdict.*agrees' out || fail "no verdict with the instructor's limit: $(cat out)"

# Other signs, refused where they cannot be.
run 0 logbook add 1 temperature=98.4 temperature_unit=F systolic_mmhg=118 diastolic_mmhg=76
grep -q 'T 98.4 F. BP 118/76 mmHg.' out || fail "signs: $(cat out)"
run 2 logbook add 1 temperature=9.84
run 2 logbook add 1 temperature=36.9 temperature_unit=F
grep -q 'nothing is stored: a temperature of 36.9 F cannot be: is the unit C' err || fail "a wrong unit: $(cat err)"
run 2 logbook add 1 systolic_mmhg=76 diastolic_mmhg=118
grep -q 'is not above the diastolic of 118: are they swapped' err || fail "swapped: $(cat err)"
run 0 logbook chart 1
grep -q 'T 98.4 F. BP 118/76 mmHg.' out || fail "what cannot be was stored: $(cat out)"
run 2 logbook add 1 beats=76
run 2 logbook add 1 pulse=76
run 2 logbook add 99 note=x
run 0 logbook enter beats=66 site=radial wrist=left 'rhythm=regular' --learner CD

# Goal, signature, progress.
run 0 logbook goal --learner AB --in-a-row 1 --within 4 --irregular 1 --breaths-in-a-row 1 --breaths-within 2
run 0 logbook progress --learner AB
grep -q 'met on' out || fail "the goal: $(cat out)"
# The instructor signs with a pass phrase of their own; without one, a line for a pen.
run 2 logbook sign-off --learner AB --by KL
grep -q 'what did the instructor watch' err || fail "signed without what was watched: $(cat err)"
run 0 logbook sign-off --learner AB --by KL --watched 'one full minute at the apex'
grep -q '^Practice record, not a competence check$' out || fail "no heading: $(cat out)"
grep -q '^Signed in ink: ____' out || fail "no line to sign: $(cat out)"
run 0 logbook progress --learner AB --json
grep -qE '"signature": ?null' out || fail 'signed without a pass phrase'
printf 'eight bytes and more\n' >phrase
printf 'not that phrase at all\n' >wrong
run 0 logbook instructor --by KL --phrase-file phrase
run 2 logbook instructor --by KL --phrase-file wrong
run 3 logbook sign-off --learner AB --by KL --watched 'one full minute at the apex' --phrase-file wrong
run 0 logbook sign-off --learner AB --by KL --watched 'one full minute at the apex' --phrase-file phrase
# A pass phrase that is moved to another name's place signs nothing there.
cp "$(find . -name 'logbook.sqlite' | head -n 1)" moved.sqlite
python3 -c "
import sqlite3
d = sqlite3.connect('moved.sqlite')
assert d.execute(\"INSERT INTO instructor SELECT 'MN', sealed FROM instructor WHERE name = 'KL'\").rowcount == 1
d.commit()"
cp out signed
run 2 logbook sign-off --learner AB --by MN --watched 'one full minute at the apex' --phrase-file phrase --logbook moved.sqlite
grep -q "that is not MN's pass phrase" err || fail "KL's phrase signs as MN: $(cat out err)"
cp signed out
grep -q 'Signed: AB by KL. Watched: one full minute at the apex.' out || fail "signed: $(cat out)"
run 0 logbook progress --learner AB
grep -q 'Watched: one full minute at the apex.' out || fail "what was watched: $(cat out)"
run 0 logbook progress --learner AB --json
python3 -c "
import json
p = json.load(open('out'))
assert p['schema'] == 'fullminute.progress/1' and p['goal']['met'] and p['repeated'] == 1
assert p['signature']['by'] == 'KL' and p['groups'][0]['n'] == 1
assert p['groups'][0]['bias_per_min'] == -2.0" || fail "progress: $(cat out)"
run 2 logbook progress --learner XY
run 2 logbook goal --in-a-row 3 --within 2
run 2 logbook frobnicate
run 2 logbook lisst
grep -q "did you mean 'list'" err || fail 'no near word'

# CSV there and back, into another logbook; FHIR; a bad file adds nothing.
run 0 logbook export --out rows.csv
run 2 logbook export --out rows.csv
run 0 logbook import rows.csv --logbook other.sqlite
run 0 logbook export --logbook other.sqlite --out again.csv
cmp -s rows.csv again.csv || fail "CSV changed on its way: $(diff rows.csv again.csv | head -n 4)"
run 0 logbook import rows.csv --logbook other.sqlite
grep -q '^0 rows were added, 5 are in it already.$' out || fail "the same file again: $(cat out)"
run 0 logbook import rows.csv
grep -q '^0 rows were added' out || fail "its own export: $(cat out)"
# Two alike in a file are two, once; rows without a time are new each time.
{ head -n 1 rows.csv; sed -n '2p;2p' rows.csv; } >twice.csv
run 0 logbook import twice.csv --logbook twice.sqlite
run 0 logbook import twice.csv --logbook twice.sqlite
grep -q '^0 rows were added, 2 are' out || fail "two alike: $(cat out)"
printf 'learner,beats,seconds\nAB,70,60\n' >now.csv
run 0 logbook import now.csv --logbook twice.sqlite
run 0 logbook import now.csv --logbook twice.sqlite
grep -q '^1 rows were added.$' out || fail "without a time: $(cat out)"

# Cells that a spreadsheet would take for a formula go out as text, and come back as they
# were; so does a path with a line end in it.
newline=$work/$'a\nb.flac'
cp "$recordings/steady-072.flac" "$newline"
run 0 check "$newline" --manual 71 --learner '=1+1' --logbook cells.sqlite
run 0 logbook add 1 "note='=2+2" --logbook cells.sqlite
run 0 logbook enter beats=70 'context=-3' --learner "'s" --logbook cells.sqlite
run 0 logbook export --logbook cells.sqlite --out cells.csv
python3 - <<'END' || fail "cells: $(cat cells.csv)"
import csv
rows = list(csv.DictReader(open('cells.csv', newline='')))
assert rows[0]['learner'] == "'=1+1" and rows[0]['note'] == "''=2+2", rows[0]
assert rows[1]['context'] == "'-3" and rows[1]['learner'] == "'s", rows[1]
assert rows[0]['difference_per_min'] == '-1'
assert not any(v[:1] in ('=', '+', '@') for r in rows for v in r.values())
END
run 0 logbook import cells.csv --logbook cells2.sqlite
run 0 logbook export --logbook cells2.sqlite --out cells2.csv
cmp -s cells.csv cells2.csv || fail "cells changed on their way: $(diff cells.csv cells2.csv)"
run 0 logbook export --format fhir
python3 -c "
import json
b = json.load(open('out'))
assert b['resourceType'] == 'Bundle' and len(b['entry']) == 7, len(b['entry'])" || fail 'FHIR'
sed '3s/apical/elbow/' rows.csv >bad.csv
run 3 logbook import bad.csv --logbook other.sqlite
grep -q 'record 3' err || fail "where it is bad: $(cat err)"
run 0 logbook list --logbook other.sqlite
[ "$(wc -l <out)" -eq 6 ] || fail 'a bad file added rows'

# A path of any bytes is escaped in JSON, and every row is there; CSV takes it as it is.
odd=$(printf 'caf\351 one.flac')
cp "$recordings/steady-072.flac" "$odd"
run 0 logbook enter beats=70 --learner GH --logbook odd.sqlite
run 0 check "$odd" --manual 71 --learner GH --logbook odd.sqlite
run 0 logbook enter beats=72 --learner GH --logbook odd.sqlite
for words in 'list --json' 'export --format json'; do
    # shellcheck disable=SC2086 # they are words
    run 0 logbook $words --logbook odd.sqlite
    python3 -c "
import json
s = json.load(open('out'))['sessions']
assert [r['beats'] for r in s] == [70, 71, 72], s
assert s[1]['recording'].endswith('/caf%E9 one.flac')" || fail "$words: a row with an odd path"
done
run 0 logbook show 2 --json --logbook odd.sqlite
grep -q 'caf%E9' out || fail "show --json: $(cat out err)"
run 0 logbook export --format fhir --logbook odd.sqlite
run 0 report --logbook odd.sqlite --out odd.html # its newest counts are the newest first
[ "$(grep -Eo '(70|71|72)/min' odd.html | uniq | tr '\n' ' ')" = '72/min 71/min 70/min ' ] ||
    fail "the order of the newest counts: $(grep -o '<li>.*</li>' odd.html)"

# A page for each, whole by itself.
run 0 report --row 1 --out row.html
run 2 report --row 1 --out row.html
run 0 report --learner AB --out ab.html
for page in row.html ab.html; do
    ! grep -Eq '<script|href="http|src="http' "$page" || fail "$page needs something else"
    grep -q 'not a medical device' "$page" || fail "$page has no caution"
done
grep -q 'Apical 74/min' row.html || fail 'no charted line on the page'
[ "$(grep -o '<svg' row.html | wc -l)" -eq 2 ] || fail 'the pictures of a sitting'
[ "$(grep -o '<svg' ab.html | wc -l)" -eq 2 ] || fail 'the pictures of a learner'
# Another sound under the old name is said to be another one, and not counted in its place:
# by its digest, and for a row of an earlier version by what it comes to.
cp "$recordings/steady-072.flac" named.flac
run 0 check named.flac --manual 71 --learner AB --logbook named.sqlite
run 0 report --row 1 --logbook named.sqlite --out -
flat out | grep -q 'fullminute 72' || fail "the report of the same sound: $(flat out | head -c 600)"
cp "$recordings/steady-084.flac" named.flac
run 0 report --row 1 --logbook named.sqlite --out -
flat out | grep -q 'No comparison: .*named.flac is another sound than the one that was counted' ||
    fail 'another sound is not said to be one'
! grep -q 'fullminute 84\|84 beats' out || fail 'another sound was counted for the row'
run 0 logbook export --logbook named.sqlite --out named.csv
python3 - <<'END'
import csv
rows = list(csv.reader(open('named.csv', newline='')))
at = rows[0].index('sound_blake2b') if 'sound_blake2b' in rows[0] else len(rows[0])
csv.writer(open('older.csv', 'w', newline='')).writerows([r[:at] + r[at + 1:] for r in rows])
END
run 0 logbook import older.csv --logbook older.sqlite
run 0 report --row 1 --logbook older.sqlite --out -
flat out | grep -q 'No comparison: the second count of what has the name .* is not the 72 of this row' ||
    fail 'an earlier row: another sound is not noticed'

run 2 report --row 99 --out x.html
[ ! -e x.html ] || fail 'a page of nothing'

# Without a home folder nothing is stored, and not without a word.
bare() {
    env -u HOME -u XDG_DATA_HOME -u XDG_CONFIG_HOME "$program" check "$recordings/steady-072.flac" \
        --manual 72 "$@" >out 2>err </dev/null
}
bare || fail "no home: exit $?: $(cat err)"
grep -q 'no home folder.*nothing was stored' err || fail "no home: $(cat err)"
bare --no-logbook || fail "no home, --no-logbook: exit $?"
[ ! -s err ] || fail "no home, --no-logbook: $(cat err)"
bare --learner AB && fail 'no home, --learner: shown though it is not sealed'
grep -q 'no home folder to keep one in' err || fail "no home, --learner: $(cat err)"
bare --learner AB --logbook homeless.sqlite || fail "no home, --logbook: $(cat err)"
grep -q 'In the logbook as row 1' err || fail "no home, --logbook: $(cat err)"

# Where it cannot be written, the second count stays sealed: whoever has seen it could
# enter the right number next time, as a first attempt. --no-logbook shows it without a row.
mkdir closed
cp "$book" closed/l.sqlite
# The system's own keeper may write anywhere: then somebody else tries.
as=()
[ "$(id -u)" -ne 0 ] || as=(setpriv --reuid=65534 --regid=65534 --clear-groups)
if [ "$(id -u)" -eq 0 ] && ! command -v setpriv >/dev/null; then
    echo 'not tried: a closed folder, as there is no setpriv'
else
    chmod 755 "$work" && chmod 555 closed && chmod 444 closed/l.sqlite
    cp "$program" ./program && chmod 755 program
    cp "$recordings/steady-072.flac" heard.flac && chmod 644 heard.flac
    before=$(cksum <closed/l.sqlite)
    HOME=$work/closed "${as[@]}" ./program check heard.flac --manual 72 --logbook closed/l.sqlite \
        --learner AB >out 2>err </dev/null
    [ $? -eq 1 ] || fail "a closed folder: not exit 1: $(cat err)"
    [ ! -s out ] || fail "a closed folder: shown though it is not sealed: $(cat out)"
    grep -q 'not stored in the logbook.*stays sealed.*--no-logbook' err || fail "a closed folder: $(cat err)"
    HOME=$work/closed "${as[@]}" ./program check heard.flac --manual 72 --no-logbook >out 2>err </dev/null ||
        fail "a closed folder, --no-logbook: exit $?: $(cat err)"
    grep -q 'you 72' out || fail 'a closed folder, --no-logbook: no check'
    HOME=$work/closed "${as[@]}" ./program logbook list --logbook closed/l.sqlite >out 2>err </dev/null
    [ $? -eq 1 ] && grep -q 'cannot be written, so nothing was added' err || fail "a closed folder, list: $(cat err)"
    [ "$before" = "$(cksum <closed/l.sqlite)" ] || fail 'a closed folder: changed all the same'
    [ "$(ls -A closed)" = l.sqlite ] || fail "a closed folder: $(ls -A closed)"
fi
mkfifo pipe
run 1 check "$recordings/steady-072.flac" --manual 72 --logbook pipe --learner AB
grep -q 'not stored in the logbook: pipe is no file' err || fail "a pipe: $(cat err)"

# A full disk, at every place where writing may end: a limit on how long a file may get
# (a write beyond it fails). Never 'In the logbook' without its row, never a second count
# without one; a failed one says so.
full_disks() {
    local limit=$1 said there
    cp full.sqlite limited.sqlite
    (trap '' XFSZ && ulimit -f "$limit" &&
        exec "$program" check "$recordings/steady-072.flac" --manual 71 --logbook limited.sqlite \
            --learner AB) >out 2>err </dev/null
    said=$?
    there=$("$program" logbook list --json --logbook limited.sqlite 2>/dev/null | python3 -c "
import json, sys
print(sum(1 for r in json.load(sys.stdin)['sessions'] if r['beats'] == 71))")
    rm -f limited.sqlite*
    if grep -q 'In the logbook as row' err; then
        [ "$there" = 1 ] || fail "limit $limit: in the logbook without its row ($there): $(cat err)"
    fi
    if [ "$said" -eq 0 ]; then
        [ "$there" = 1 ] || fail "limit $limit: a second count that is not sealed"
        stored=$((stored + 1))
    else
        [ "$said" -eq 1 ] && [ ! -s out ] || fail "limit $limit: exit $said, $(cat out)"
        grep -q 'stays sealed' err || fail "limit $limit: not said: $(cat err)"
        unstored=$((unstored + 1))
    fi
}
stored=0
unstored=0
run 0 logbook enter beats=70 --learner AB --logbook full.sqlite
for limit in ${FULL_DISKS:-4 12 24 40 80 200}; do
    full_disks "$limit"
done
[ $stored -gt 0 ] && [ $unstored -gt 1 ] || fail "full disks: $stored stored, $unstored not"

# Forgetting removes recordings of live sittings in our own folder, and no other file
# whatever a row says of it: not elsewhere, not without a sitting's document, not a link.
ours=$HOME/.local/share/fullminute/recordings
mkdir -p "$ours"
echo thesis >thesis.odt
echo sound >elsewhere.wav
echo sound >"$ours/alone.wav"
echo sound >"$ours/mine.wav"
ln -s "$work/elsewhere.wav" "$ours/link.wav"
sitting='{"schema":"fullminute.sitting/1","sample_rate_hz":4000,"windows":[]}'
for name in "$work/elsewhere" "$ours/mine" "$ours/link"; do
    echo "$sitting" >"$name.sitting.json"
done
printf 'learner,beats,seconds,own_recording,recording\n' >own.csv
for path in "$work/thesis.odt" "$work/elsewhere.wav" "$ours/alone.wav" "$ours/mine.wav" "$ours/link.wav"; do
    echo "EF,70,60,1,$path" >>own.csv
done
run 0 logbook import own.csv
run 0 logbook forget --learner EF --yes
[ -e thesis.odt ] && [ -e elsewhere.wav ] && [ -e elsewhere.sitting.json ] && [ -e "$ours/alone.wav" ] &&
    [ -L "$ours/link.wav" ] || fail 'forget removed what is no recording of a sitting of ours'
[ ! -e "$ours/mine.wav" ] && [ ! -e "$ours/mine.sitting.json" ] || fail 'the recording of a sitting is left'
grep -q '5 rows and 1 recordings of EF' out && grep -q "^  $work/thesis.odt" out || fail "forget says: $(cat out)"

# Forgetting: asked for by name, and then gone.
run 2 logbook forget --learner AB
run 0 logbook forget --learner AB --yes
! grep -aq 'occasionally irregular' "$book" || fail 'something of it is left in the file'
run 0 logbook list
[ "$(wc -l <out)" -eq 2 ] || fail 'the other learner went too'
run 0 check "$recordings/steady-072.flac" --manual 72
! grep -q 'In the logbook' err || fail 'stored for a forgotten learner'

# Damaged: set aside, said, and begun again.
printf 'x%.0s' $(seq 3000) | dd of="$book" bs=1 seek=100 conv=notrunc status=none
run 0 logbook list
grep -q 'was damaged; it is kept as' err || fail "a damaged logbook: $(cat err)"
ls "$book".damaged-* >/dev/null 2>&1 || fail 'not set aside'

# A copy that was set aside may hold the learner, too: forgetting says so before it removes
# anything, and takes the copy when told to.
run 0 logbook enter beats=70 --learner CD
run 2 logbook forget --learner CD --yes
grep -q 'nothing was removed.*damaged-.*--with-copies' err || fail "copies: $(cat err)"
run 0 logbook list
grep -q CD out || fail 'forgotten all the same'
run 0 logbook forget --learner CD --yes --with-copies
! ls "$book".damaged-* >/dev/null 2>&1 || fail 'a copy is left'
! grep -rqa 'occasionally irregular' "$(dirname "$book")" || fail 'something of it is left'

# Any other file is left as it is, another program's database too.
seq 1 400 >notes.txt
python3 -c "
import sqlite3
d = sqlite3.connect('theirs.sqlite')
d.execute('CREATE TABLE t (x)')
d.commit()"
for file in notes.txt theirs.sqlite thesis.odt; do
    before=$(cksum <$file)
    run 3 logbook list --logbook $file
    run 3 logbook enter beats=70 --learner CD --logbook $file
    run 1 check "$recordings/steady-072.flac" --manual 72 --learner CD --logbook $file
    [ "$before" = "$(cksum <$file)" ] || fail "$file was changed"
    ! ls $file.* >/dev/null 2>&1 || fail "beside $file: $(ls $file.*)"
done

[ "$failures" -eq 0 ] || exit 1
echo "logbook: all as expected"
