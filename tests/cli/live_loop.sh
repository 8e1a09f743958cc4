#!/bin/bash
# A recording that stands in for an input goes on from its start when it ends: a sitting that
# is longer than it is completed. And what is said of one that was ended leads on.
# usage: live_loop.sh PROGRAM SOURCE_DIR
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"
# shellcheck source=tests/stepped/clock.sh
. "$source_dir/tests/stepped/clock.sh"
sox "$recordings/steady-072.flac" short.wav trim 0 9

# Entries come from a pipe; nothing of them is used before its time.
echo 18 | "$program" check --live --only pulse --seconds 15 --no-ticks --input file:short.wav \
    --recording it.wav >out 2>err
[ $? -eq 0 ] || fail "a sitting longer than its input: $(cat err)"
grep -q '^Beats in 15 s: you 18' out || fail "not completed: $(cat out err)"
python3 - <<'END' || fail 'the recording is not the input and the input again'
import wave, struct, subprocess
def samples(path):
    raw = subprocess.run(['sox', path, '-t', 'raw', '-e', 'signed', '-b', '16', '-'], capture_output=True, check=True).stdout
    return struct.unpack(f'<{len(raw) // 2}h', raw)
short, it = samples('short.wav'), samples('it.wav')
assert len(it) > 2 * len(short)
assert all(abs(it[i] - short[i % len(short)]) <= 1 for i in range(len(it)))
END

# Ended before a whole minute: the way on that is named works.
clock ended
clock_go ended 20
"$program" check --live --only pulse --no-ticks --input "file:$recordings/steady-072.flac" \
    --recording ended.wav >out 2>err </dev/null &
pid=$!
waits grep -q 'counting time' err
waits holds ended.wav 80000
kill -INT $pid
clock_none
wait $pid
way=$(sed -n 's/.*: fullminute \(count ended.wav\)$/\1/p' err)
[ "$way" = 'count ended.wav' ] || fail "no way on: $(cat err)"
# shellcheck disable=SC2086 # they are words
run 0 $way

# The disk is full once the minute is over: the entry is taken all the same, and compared.
if command -v prlimit >/dev/null; then
    mkfifo typed
    (trap '' XFSZ && exec "$program" check --live --only pulse --seconds 15 --no-ticks \
        --input file:short.wav --recording full.wav) >out 2>err <typed &
    pid=$!
    exec 3>typed
    waits grep -q 'your count of beats' err
    size=$(stat -c %s full.wav)
    prlimit --pid $pid --fsize=$size
    # It fails with its next block of sound; the entry is taken before and after it.
    (echo 18 >&3) 2>/dev/null
    exec 3>&-
    wait $pid
    grep -q '"pulse": {"entered": 18' full.sitting.json || fail "the entry is lost: $(cat err)"
    run 0 check full.wav
    grep -q '^Beats in 15 s: you 18' out || fail "not compared: $(cat out err)"
else
    echo 'not tried: a full disk, as there is no prlimit'
fi

# What `sources --tap-test` remembered for an input is taken off the taps of a sitting there.
mkdir -p .config/fullminute
printf '{"schema":"fullminute.settings/1","tap_delay_s":{"file:short.wav":0.123}}' \
    >.config/fullminute/settings.json
"$program" check --live --no-ticks --input file:short.wav --recording late.wav >out 2>err </dev/null &
pid=$!
waits grep -qs taps_s late.sitting.json
kill -INT $pid 2>/dev/null
wait $pid
grep -q '"tap_delay_s": 0.123' late.sitting.json || fail "the tap delay is not taken off: $(cat late.sitting.json)"

[ $failures -eq 0 ] || exit 1
echo 'live loop: all as expected'
