#!/bin/bash
# A recording with its sitting beside it: the sitting's seconds are counted, missing audio
# is a gap and no silence, and options of the person win.
# usage: sitting.sh PROGRAM SOURCE_DIR
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"
# member NAME: a value of the document in out
member() {
    python3 -c "
import json, sys
d = json.load(open('out'))
for key in '$1'.split('.'):
    d = d[int(key)] if isinstance(d, list) else d[key]
print(json.dumps(d))"
}

is() {
    local got
    got=$(member "$1")
    [ "$got" = "$2" ] || fail "$1 is $got, expected $2"
}

cp "$recordings/steady-072.flac" a.flac
cp "$recordings/steady-072.truth.json" truth.json

# sitting WINDOWS GAPS
sitting() {
    printf '{"schema":"fullminute.sitting/1","sample_rate_hz":4000,"windows":[%s],"gaps":[%s]}\n' \
        "$1" "$2" >a.sitting.json
}

window='{"kind":"pulse","start_s":3.25,"end_s":63.25}'
sitting "$window" '{"start_s":10,"length_s":2.5,"cause":"stall"}'
"$program" count --json a.flac >out || fail "count: exit $?"
is window.start_s 3.25
is window.end_s 63.25
is window.full_minute false
is quality.gaps '[{"start_s": 10.0, "length_s": 2.5, "reason_code": "gap"}]'
# The known beats of those seconds (composed: recordings/*.truth.json), less the missing;
# a beat within 0.1 s of the missing stretch may go either way.
python3 - <<'END' || fail "the beats are not those of the truth"
import json
d = json.load(open('out'))
inside = [t for t in json.load(open('truth.json'))['s1_s'] if 3.25 <= t < 63.25]
sure = [t for t in inside if not 9.9 <= t < 12.6]
found = d['heart']['s1_s']
missed = [t for t in sure if min(abs(t - f) for f in found) > 0.04]
extra = [f for f in found if min(abs(t - f) for t in inside) > 0.04 or 10.0 <= f < 12.5]
print(len(sure), len(found), missed, extra)
assert not missed and not extra
END

"$program" count --json --start 0 a.flac >out || fail "--start: exit $?"
is window.start_s 0.0
"$program" count --json --no-sitting a.flac >out || fail "--no-sitting: exit $?"
is quality.gaps '[]'
is window.end_s 60.0

# A row of minutes; one that was begun again is left out.
sitting '{"kind":"pulse","start_s":1,"end_s":11,"set_aside":true},{"kind":"pulse","start_s":20,"end_s":50}' ''
"$program" count --json a.flac >out || fail "set aside: exit $?"
is window.start_s 20.0
is window.end_s 50.0
sitting '{"kind":"pulse","start_s":0,"end_s":60},{"kind":"pulse","start_s":60,"end_s":66}' ''
"$program" count --json a.flac >out 2>err
[ "$(wc -l <out)" -eq 2 ] || fail "a row of two: $(wc -l <out) lines; $(cat err)"

# Respirations in the sitting's own window
sitting '{"kind":"pulse","start_s":1,"end_s":31},{"kind":"breath","start_s":5,"end_s":65}' ''
"$program" count --json a.flac >out || fail "breath: exit $?"
is window.end_s 31.0
is breath.window '{"start_s": 5.0, "end_s": 65.0, "full_minute": true}'

# A sitting that was killed in its second minute: what was entered is compared, and the
# window that never came is no option that anybody gave.
cp "$recordings/steady-072.truth.json" a.truth.json
entered='{"pulse":{"entered":70,"seconds":60,"entered_utc":"2026-01-02T03:04:05Z"},"breath":null,"second_examiner":null}'
killed() {
    printf '{"schema":"fullminute.sitting/1","sample_rate_hz":4000,"checked":true,"sealed":true,"windows":[%s],"gaps":[],"manual":%s}\n' \
        "$1" "$2" >a.sitting.json
}
killed '{"kind":"pulse","start_s":3,"end_s":63},{"kind":"breath","start_s":66,"end_s":126}' "$entered"
"$program" check a.flac >out 2>err </dev/null || fail "killed in the second minute: exit $?: $(cat err)"
grep -q 'you 70, ' out || fail "killed in the second minute: $(cat out)"
"$program" count --json a.flac >out 2>err || fail "killed in the second minute, count: $(cat err)"
is window.end_s 63.0
killed '{"kind":"pulse","start_s":10,"end_s":70}' null
"$program" check a.flac >out 2>err </dev/null
[ $? -eq 2 ] && grep -q 'no whole minute to enter a count for; fullminute count' err ||
    fail "killed in the first minute: $(cat err)"
"$program" count --json a.flac >out 2>err || fail "killed in the first minute, count: $(cat err)"
is window.end_s 60.0
rm a.truth.json

# Two examiners: a deficit is named from 3 a minute on and to be reported; one or two fewer can be a
# counting error, and more at the wrist always is one.
two_examiners() { # two_examiners WRIST DEFICIT
    printf '{"schema":"fullminute.sitting/1","sample_rate_hz":4000,"checked":true,"sealed":false,"windows":[%s],"gaps":[],"manual":{"pulse":{"entered":72,"seconds":60,"entered_utc":"2026-01-02T03:04:05Z"},"breath":null,"second_examiner":{"entered":%d,"seconds":60,"entered_utc":"2026-01-02T03:04:35Z"}},"deficit_per_min":%s}\n' \
        '{"kind":"pulse","start_s":0,"end_s":60}' "$1" "$2" >a.sitting.json
    "$program" check a.flac >out 2>err </dev/null || fail "two examiners, $1: $(cat err)"
    says "Two examiners, the same 60 s: apex 72, wrist $1."
}
two_examiners 66 6
says "Pulse deficit: 6 per minute. Report it, with both counts."
two_examiners 70 null
says "One or two fewer at the wrist can be a counting error: both counts are charted, and no deficit is named."
says "the same again: report it."
grep -q 'Pulse deficit' out && fail "two fewer are called a deficit"
two_examiners 75 null
says "More beats at the wrist than at the apex cannot be: a counting error; count again. No deficit is stored."

# Bytes that are none of ours are named, not guessed at.
echo '{"schema":"other"}' >a.sitting.json
"$program" count a.flac >out 2>err
[ $? -eq 3 ] || fail "a wrong schema is taken"
grep -q -- '--no-sitting' err || fail "no way out said: $(cat err)"
sed -i 's/other/fullminute.sitting\/1","sample_rate_hz":8000,"x":"/' a.sitting.json
"$program" count a.flac >out 2>err
[ $? -eq 3 ] || fail "the sitting of another recording is taken"

[ $failures -eq 0 ] || exit 1
echo "all well"
