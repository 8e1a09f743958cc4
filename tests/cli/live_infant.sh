#!/bin/bash
# An infant's live minutes, walked: respirations first, watched by the clock, stored without a
# second count and said so; then the pulse. Two sittings at once, about a minute and a half:
# one of 55 (the line to act on at 3 months is 50), one in which none is seen.
# usage: live_infant.sh PROGRAM SOURCE_DIR
set -u
export LC_ALL=C
program=$1
work=$(mktemp -d)
export HOME=$work
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1
failures=0

fail() {
    echo "FAILED: $*"
    failures=$((failures + 1))
}

says() { # says FILE WORDS, wherever the lines break
    tr '\n' ' ' <"$1" | tr -s ' ' | grep -qF -- "$2" || fail "$1 does not say: $2; but: $(head -c 900 "$1")"
}

"$program" compose heart.wav --bpm 132 --seconds 110 --breaths 34 >/dev/null || fail "compose"
sit() { # sit NAME, entries on standard input
    "$program" check --live --no-ticks --no-truth --age 3m --seconds 15 --learner AB --logbook "$1.sqlite" \
        --input file:heart.wav --recording "$1.wav" >"$1.out" 2>"$1.err"
}
printf '55\n33\n' | sit fast &
fast=$!
printf '0\n0\n33\n' | sit none &
none=$!

wait $fast || fail "the sitting of 55: $(cat fast.err)"
head -n 2 fast.err | tail -n 1 | grep -q '^watching: respirations, the chest piece off; no second count$' ||
    fail "an infant's sitting does not open with watching: $(cat fast.err)"
order=$(grep -oE '^(three ticks, then [0-9]+ s of [a-z]+)' fast.err | tr '\n' ';')
[ "$order" = 'three ticks, then 60 s of respirations;three ticks, then 15 s of pulse;' ] || fail "order: $order"
# By the learner's number, while the second one of the pulse is sealed.
says fast.err "55 respirations a minute is at the line to act on, 50 or more (WHO"
says fast.out "In an infant: grunting, the chest drawing in"
says fast.out "55 respirations a minute is at the line to act on, 50 or more (WHO"
says fast.out "You watched for a full minute before touching, and counted 55 respirations. Stored without a second count"
says fast.out "A minute that is heard later is another minute and no check of this one."
says fast.out "Beats in 15 s: you 33, "
grep -q '^Respirations in' fast.out && fail "the watched minute is compared with a heard one"
python3 - <<'PY' || fail "the sitting's document"
import json
d = json.load(open("fast.sitting.json"))
assert d["manual"]["breath"]["entered"] == 55, d["manual"]
assert [w["kind"] for w in d["windows"]] == ["breath", "pulse"], d["windows"]
assert not d["sealed"]
PY
"$program" logbook list --logbook fast.sqlite --json >row.json || fail "no row"
python3 - <<'PY' || fail "the row: $(cat row.json)"
import json
row = json.load(open("row.json"))["sessions"][0]
assert row["breaths"] == 55 and row["breath_seconds"] == 60 and row["breath_method"] == "watched", row
assert row["device_breath_status"] is None and row["device_breath_per_min"] is None, row
PY
"$program" report --row 1 --logbook fast.sqlite --out fast.html || fail "no report"
says fast.html "Stored without a second count"
says fast.html "Resp 55/min, counted 60 s."
# Looked at again, it is the same minute and has no second count.
"$program" check fast.wav --no-truth --no-logbook >again.out 2>/dev/null || fail "looked at again"
says again.out "Stored without a second count"

# count knows the age from the sitting: no adult's range for a child.
"$program" count fast.wav >count.out 2>/dev/null || fail "count of the sitting"
says count.out "At this age respirations are not judged"
grep -q 'resting adult' count.out && fail "an infant is held to the adult's range"

wait $none || fail "the sitting of 0: $(cat none.err)"
says none.err "None seen for a whole minute, or could you not count? None: call for help, look for an answer and for breathing, and with neither begin resuscitation as trained. Not counted is an answer of its own, and never 0. The same number again stores it."
says none.out "0 respirations: none seen for a whole minute, or could you not count?"

# On the command line 0 is asked about as well; not counted is no number and no row.
"$program" check heart.wav --no-truth --manual-breaths 0 --learner AB --logbook zero.sqlite >zero.out 2>zero.err
[ $? -eq 2 ] || fail "0 without --none-seen: $(cat zero.out)"
says zero.err "none seen for a whole minute, or could you not count?"
[ ! -e zero.sqlite ] || fail "a minute that was not counted is in the logbook"
"$program" check heart.wav --no-truth --manual-breaths 0 --none-seen >zero.out 2>&1 || fail "0 with --none-seen"
says zero.out "0 respirations: none seen for a whole minute"

[ $failures -eq 0 ] || exit 1
echo "an infant's minutes are walked"
