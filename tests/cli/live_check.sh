#!/bin/bash
# The whole of a checked live sitting on a terminal, 60 columns by 24, typed by a script:
# settle, lead-in, the pulse minute, its entry, the respirations' minute, its entry, one
# reveal. On a clock that the test steps, or at its own speed in two and a half minutes.
# usage: live_check.sh PROGRAM SOURCE_DIR [FOLDER for the screens]
set -u
export LC_ALL=C
program=$1
keep=${3:-}
work=$(mktemp -d)
export HOME=$work
trap 'tmux -S "$work/socket" kill-server 2>/dev/null; rm -rf "$work"' EXIT
cd "$work" || exit 1
# shellcheck source=tests/stepped/clock.sh
. "$2/tests/stepped/clock.sh"
failures=0
command -v tmux >/dev/null || { echo "skipped: no tmux"; exit 77; }

fail() {
    echo "FAILED: $*"
    failures=$((failures + 1))
}

screen() {
    tmux -S socket capture-pane -p -t it 2>/dev/null
}

shows_now() {
    screen | tr '\n' ' ' | tr -s ' ' | grep -qF -- "$1"
}

# shows WORDS: waits until the screen does; everything seen is kept
shows() {
    if ! waits shows_now "$1"; then
        fail "never on the screen: $1; there is: $(screen)"
        return 1
    fi
    shown=$((shown + 1))
    screen >"screen-$(printf %02d $shown).txt"
}
shown=0

type_keys() {
    tmux -S socket send-keys -t it "$@"
}

"$program" compose heart.wav --bpm 66 --seconds 160 --breaths 15 >/dev/null || fail "compose"
clock it
tmux -S socket -f /dev/null new-session -d -s it -x 60 -y 24 \
    "stty -a >before; '$program' check --live --no-ticks --no-truth --age 30 --breaths watched --learner KL --logbook l.sqlite \
        --input file:heart.wav --recording it.wav 2>&1; echo \"status \$?\"; stty -a >after; sleep 600"
tmux -S socket resize-window -t it -x 60 -y 24 2>/dev/null

shows "Ask the person before you record."
clock_go it 4
shows "Enter start: three ticks, then the minute"
shows "Stop counting if the person is in trouble"
type_keys Enter
shows "The minute starts in"
clock_go it 10
shows "s of 60"
shows "Stop counting if the person is in trouble"
# Nothing typed is shown, and no beat is drawn.
taps_are() {
    [ "$(python3 -c "import json; print(len(json.load(open('it.sitting.json'))['taps_s']))")" -eq "$1" ]
}
# The document is saved twice a second of the clock, so the clock goes on a little meanwhile.
tap_is_stored() {
    local tenths
    for tenths in 5 6 7 8 9; do
        clock_go it "$((10 + $1)).$tenths"
        for _ in 1 2 3 4 5 6 7 8 9 10; do
            taps_are "$1" && return
            sleep 0.05
        done
    done
    return 1
}
for i in 1 2 3 4; do
    clock_go it $((10 + i))
    # so that a tap is never at the moment of the one before; 4000 samples a second, or more
    waits holds it.wav $((2 * 4000 * (9 + i)))
    type_keys Space
    waits tap_is_stored $i || fail "tap $i is not stored"
done
screen | grep -q '|' && fail "a mark on the screen of a sealed minute"
clock_go it 80
shows "Stop. How many beats did you count?"
[ "$(grep -c '"manual": null' it.sitting.json)" -eq 1 ] || fail "an entry before the entry"
type_keys x Enter
shows "Please give the whole number that you counted."
# Asked back by the entry alone, and of the person first where it could not be counted.
type_keys 7 Enter
shows "7 beats in a full minute is fewer than is nearly ever met"
type_keys c Enter
shows "None felt or heard for a whole minute, or could you not count?"
type_keys 6 7 BSpace 6
shows "Your count in 60 s: 66_"
type_keys Enter
shows "How was the rhythm?"
[ "$(grep -c '"manual": null' it.sitting.json)" -eq 1 ] || fail "stored before it was all said"
type_keys 9 Enter
shows "give the number that stands before a word, or nothing"
type_keys 1 Enter
shows "Your running counts at 15, 30 and 45 s"
type_keys 16,33, Enter
shows "Leave your hand and the chest piece where they are"
screen | grep -qE '\b66\b' && fail "the first entry is still on the screen"
grep -q '"manual": {"pulse": {"entered": 66, "seconds": 60' it.sitting.json || fail "pulse not stored"
grep -q '"sealed": true' it.sitting.json || fail "unsealed after the first of two entries"
type_keys Enter
clock_go it 90
shows "live respirations, sealed until your entry"
shows "Count every breath."
clock_go it 200
shows "Stop. How many respirations did you count?"
clock_go it 1000
type_keys 1 5 Enter
shows "How was the breathing?"
type_keys 1 Enter
shows "How deep?"
type_keys Enter
shows "With what effort?"
type_keys Enter
shows "Your running counts at 15, 30 and 45 s"
type_keys Enter
shows "status 0"
screen >reveal.txt
tmux -S socket capture-pane -p -S - -t it >whole.txt
for words in "Beats in the full minute: you 66, fullminute 66" "Respirations in the full minute: you 15 by watching" "not a medical device" "The recording is it.wav"; do
    tr '\n' ' ' <whole.txt | tr -s ' ' | grep -qF "$words" || fail "the reveal does not say '$words': $(cat whole.txt)"
done
cmp before after || fail "the terminal is not given back as it was"
grep -q '"sealed": false' it.sitting.json || fail "still sealed"
python3 - <<'END' || fail "the sitting's document"
import json
s = json.load(open('it.sitting.json'))
pulse, breath = s['windows']
assert pulse['kind'] == 'pulse' and breath['kind'] == 'breath', s['windows']
assert abs(pulse['end_s'] - pulse['start_s'] - 60) < 1e-9 and breath['start_s'] > pulse['end_s']
for w in s['windows']:  # whole samples
    n = w['start_s'] * s['sample_rate_hz']
    assert abs(n - round(n)) < 0.01, n
assert len(s['taps_s']) == 4 and all(pulse['start_s'] <= t < pulse['end_s'] for t in s['taps_s'])
assert s['manual']['breath']['entered'] == 15 and s['manual']['breath']['rhythm'] == 'even'
assert s['manual']['pulse']['rhythm'] == 'regular'
assert s['manual']['pulse']['running'] == [16, 33, None]
END
# The sitting is in the logbook, as the learner's own numbers.
"$program" logbook list --logbook l.sqlite --json >rows.json || fail 'no logbook'
python3 - <<'END' || fail "the logbook's row: $(cat rows.json)"
import json
(row,) = json.load(open('rows.json'))['sessions']
assert row['learner'] == 'KL' and row['beats'] == 66 and row['seconds'] == 60
assert row['breaths'] == 15 and row['breath_method'] == 'watched'
assert row['rhythm'] == 'regular' and row['breath_rhythm'] == 'even' and row['running'] == '16,33,'
END
# No line is wider than the screen.
for file in $(grep -L "status 0" screen-*.txt); do
    [ "$(wc -L <"$file")" -le 58 ] || fail "$file is wider than 58 columns"
done
if [ -n "$keep" ]; then
    cp screen-*.txt whole.txt "$keep"
fi
[ $failures -eq 0 ] || exit 1
echo "all well"
