#!/bin/bash
# A live minute in which the chest piece lifts: said before the number is asked for, and stored.
# usage: live_contact.sh PROGRAM SOURCE_DIR
set -u
export LC_ALL=C
program=$1
work=$(mktemp -d)
export HOME=$work
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1

fail() {
    echo "FAILED: $*"
    exit 1
}

"$program" compose heart.wav --bpm 72 --noise room --snr 15 --contact-lost-at 18 \
    --contact-lost-seconds 4 --seconds 44 --seed 5 >/dev/null || fail "compose"
# the file's end closes the sitting, whatever else it waits for
printf '18\n' | "$program" check --live --seconds 30 --no-ticks --input file:heart.wav \
    --recording it.wav >out 2>&1
grep -qE 'from [0-9]+ s to [0-9]+ s nothing was heard: not a full minute' out ||
    fail "a lifted chest piece is not said: $(cat out)"
[ "$(grep -n 'nothing was heard' out | cut -d: -f1 | head -1)" -lt \
    "$(grep -n 'your count of beats' out | cut -d: -f1 | head -1)" ] ||
    fail "it is said after the number is asked for: $(cat out)"
python3 - <<'EOF' || fail "the sitting: $(cat it.sitting.json)"
import json
w = json.load(open("it.sitting.json"))["windows"][0]
lost = w["contact_lost"]
assert abs(lost["start_s"] - 18) < 0.5 and abs(lost["start_s"] + lost["length_s"] - 22) < 0.5
assert w["moved"] is None
EOF
