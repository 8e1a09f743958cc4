#!/bin/bash
# A live count with plain streams, from a file at its own speed in place of an input: the
# recording counts again to the same bytes, and every way out keeps what was recorded.
# usage: live_count.sh PROGRAM SOURCE_DIR
set -u
export LC_ALL=C
program=$1
recordings=$2/recordings
work=$(mktemp -d)
export HOME=$work
unset XDG_DATA_HOME
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1
# shellcheck source=tests/stepped/clock.sh
. "$2/tests/stepped/clock.sh"
failures=0

fail() {
    echo "FAILED: $*"
    failures=$((failures + 1))
}

says() {
    tr '\n' ' ' <"$1" | tr -s ' ' | grep -qF -- "$2" || fail "$1 does not say: $2 ($(cat "$1"))"
}

input=file:$recordings/steady-104.flac

# Options that do not fit
for wrong in "a.flac --live" "--live --seconds 20" "--live --start 3" "--open a.flac" \
    "--input $input a.flac" "--live --recording x.flac" ""; do
    # shellcheck disable=SC2086
    "$program" count $wrong >out 2>err </dev/null
    [ $? -eq 2 ] || fail "count $wrong: not refused as wrong usage"
    [ ! -s out ] || fail "count $wrong: printed a result"
done
"$program" count --live --input file:nothing.wav >out 2>err </dev/null
[ $? -eq 3 ] || fail "an input file that is not there"
"$program" count --live --no-ticks --input "$input" --input-channel 2 >out 2>err </dev/null
[ $? -eq 2 ] || fail "a channel that is not there"
[ -z "$(find . -name '*.wav')" ] || fail "an empty recording is left behind: $(find . -name '*.wav')"

"$program" compose long.wav --bpm 70 --seconds 75 >/dev/null || fail "compose"
# Six sittings at once; each takes about 25 s at its own speed.
"$program" count --live --no-ticks --json --seconds 15 --input "$input" \
    --recording full.wav >full.json 2>full.err </dev/null &
full=$!
"$program" check --live --no-ticks --no-truth --seconds 15 --only pulse --input "$input" \
    --recording entered.wav --age 30 >entered.out 2>entered.err <<<26 &
entered=$!
"$program" check --live --no-ticks --no-truth --seconds 15 --only pulse --input "$input" \
    --recording later.wav >later.out 2>later.err </dev/null &
later=$!
clock stop
"$program" count --live --no-ticks --seconds 15 --input "$input" >stop.out 2>stop.err </dev/null &
stop=$!
clock killed
"$program" check --live --no-ticks --only breath --no-truth --breaths watched \
    --input "$input" --recording killed.wav >killed.out 2>killed.err </dev/null &
killed=$!
clock_none
printf '70\n66\n' | "$program" check --live --no-ticks --no-truth --second-examiner --only pulse \
    --input file:long.wav --recording two.wav >two.out 2>two.err &
two=$!
clock_go stop 10
clock_go killed 10
ten_s=$((44 + 9 * 4000 * 2)) # of which the last second may be on its way
stopped_holds() { holds "$(find .local -name '*.wav')" $ten_s; }
waits stopped_holds || fail "a sitting that does not go on"
waits holds killed.wav $ten_s || fail "a sitting that does not go on"
kill -INT $stop
kill -KILL $killed
wait $stop
[ $? -eq 130 ] || fail "Ctrl-C: another exit status"
[ ! -s stop.out ] || fail "Ctrl-C: a result"
says stop.err "The recording is $work/.local/share/fullminute/recordings/20"
says stop.err "To go on with it: fullminute count $work/.local"
kept=$(find .local -name '*.wav')
[ "$(stat -c %a "$kept" "$(dirname "$kept")" "${kept%.wav}.sitting.json" | tr '\n' ' ')" = "600 700 600 " ] ||
    fail "a recording that others may read"
"$program" count "$kept" >out 2>err
case $? in 0 | 4) ;; *) fail "what was kept cannot be read: $(cat err)" ;; esac
wait $killed 2>/dev/null

wait $full || fail "count --live: $(cat full.err)"
"$program" count --json full.wav >again.json || fail "again"
cmp full.json again.json || fail "the recording counts to other bytes"
cp full.wav other.wav
cp full.sitting.json other.sitting.json
"$program" count --json other.wav | sed 's/"name": "other.wav"/"name": "full.wav"/' | cmp - full.json ||
    fail "another name changes more than the name"
# Against the source at the offset found by correlation (SciPy's part is done by numbers)
python3 - "$recordings/steady-104.truth.json" <<'END' || fail "not the beats of the source"
import json, sys
live = json.load(open('full.json'))
truth = json.load(open(sys.argv[1]))['s1_s']
w = live['window']
assert round(w['end_s'] - w['start_s'], 3) == 15.0, w
# The file is the input from its first sample on: one timeline.
inside = [t for t in truth if w['start_s'] <= t < w['end_s']]
assert live['heart']['beats'] == len(inside), (live['heart']['beats'], len(inside))
assert max(abs(a - b) for a, b in zip(live['heart']['s1_s'], inside)) < 0.04
END

wait $entered || fail "check --live: $(cat entered.err)"
says entered.out "26"
grep -q '"manual": {"pulse": {"entered": 26, "seconds": 15' entered.sitting.json || fail "not stored"
grep -q '"sealed": false' entered.sitting.json || fail "still sealed"
"$program" check --no-truth entered.wav >again.out 2>err </dev/null || fail "check again: $(cat err)"
cmp entered.out again.out || fail "check of the recording says something else"

# Not entered: sealed, entered later, or discarded
wait $later
[ $? -eq 2 ] || fail "not entered: another exit status"
[ ! -s later.out ] || fail "not entered: a result"
says later.err "To go on with it: fullminute check later.wav"
cp later.wav gone.wav
cp later.sitting.json gone.sitting.json
"$program" check later.wav >out 2>err </dev/null
[ $? -eq 2 ] || fail "check of a sealed sitting without an entry"
[ ! -s out ] || fail "a sealed sitting shows something"
grep -q '"sealed": true' later.sitting.json || fail "the seal is gone"
echo 25 | "$program" check --live --resume later.wav --no-truth >out 2>err || fail "resume: $(cat err)"
says out "25"
grep -q '"entered": 25' later.sitting.json || fail "entered later and not stored"
echo discard | "$program" check gone.wav >out 2>err
[ -z "$(find . -name 'gone.*')" ] || fail "not discarded"

# Killed in the middle: what there is counts, and no whole minute can be entered for it.
"$program" count killed.wav >out 2>err
case $? in 0 | 4) ;; *) fail "killed: $(cat err)" ;; esac
"$program" check killed.wav >out 2>err <<<20
[ $? -eq 2 ] || fail "killed: an entry for seconds that are not there"

# Two examiners
wait $two || fail "two examiners: $(cat two.err)"
says two.out "Two examiners, the same 60 s: apex 70, wrist 66. Pulse deficit: 4 per minute."
grep -q '"deficit_per_min": 4.0' two.sitting.json || fail "no deficit stored"

[ $failures -eq 0 ] || exit 1
echo "all well"
