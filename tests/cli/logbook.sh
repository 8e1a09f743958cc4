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
run 2 report --row 99 --out x.html
[ ! -e x.html ] || fail 'a page of nothing'

# Where it cannot be written, the check goes on and says so.
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
        --learner AB >out 2>err </dev/null || fail "a closed folder: exit $?: $(cat err)"
    grep -q '^You 72' out || fail 'a closed folder: the check itself is gone'
    grep -q 'not stored in the logbook' err || fail "a closed folder: $(cat err)"
    HOME=$work/closed "${as[@]}" ./program logbook list --logbook closed/l.sqlite >out 2>err </dev/null
    [ $? -eq 1 ] && grep -q 'cannot be written, so nothing was added' err || fail "a closed folder, list: $(cat err)"
    [ "$before" = "$(cksum <closed/l.sqlite)" ] || fail 'a closed folder: changed all the same'
    [ "$(ls -A closed)" = l.sqlite ] || fail "a closed folder: $(ls -A closed)"
fi
mkfifo pipe
run 0 check "$recordings/steady-072.flac" --manual 72 --logbook pipe --learner AB
grep -q 'not stored in the logbook: pipe is no file' err || fail "a pipe: $(cat err)"

# Forgetting: asked for by name, and then gone.
run 2 logbook forget --learner AB
run 0 logbook forget --learner AB --yes
! grep -aq 'occasionally irregular' "$book" || fail 'something of it is left in the file'
run 0 logbook list
[ "$(wc -l <out)" -eq 2 ] || fail 'the other learner went too'
run 0 check "$recordings/steady-072.flac" --manual 72
! grep -q 'In the logbook' err || fail 'stored for a forgotten learner'

# Damaged: set aside, said, and begun anew.
printf 'x%.0s' $(seq 3000) | dd of="$book" bs=1 seek=100 conv=notrunc status=none
run 0 logbook list
grep -q 'was damaged; it is kept as' err || fail "a damaged logbook: $(cat err)"
ls "$book".damaged-* >/dev/null 2>&1 || fail 'not set aside'

[ "$failures" -eq 0 ] || exit 1
echo "logbook: all as expected"
