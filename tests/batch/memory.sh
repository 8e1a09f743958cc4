#!/usr/bin/env bash
# Memory of a batch does not grow with the number of files, nor with their length: the
# most that the batch and its workers ever held (VmHWM), over 100 files, over 20000 links
# to the same sounds; and over one recording of 24 hours counted minute by minute, beside one
# of an hour.
# usage: memory.sh PROGRAM SOURCE_DIR [FILES [HOURS]]
# shellcheck source=tests/batch/support.sh
. "$(dirname "$0")/support.sh"
trap 'rm -rf "$work"' EXIT
files=${3:-20000}
hours=${4:-24}
make_sounds 6

# most PID: the peak of the batch and the largest of its workers, in kB, until it ends.
most()
{
    local parent=0 worker=0 kb child
    while kill -0 "$1" 2>/dev/null; do
        kb=$(awk '/^VmHWM/ { print $2 }' "/proc/$1/status" 2>/dev/null)
        ((${kb:-0} <= parent)) || parent=$kb
        for child in $(cat "/proc/$1/task/$1/children" 2>/dev/null); do
            kb=$(awk '/^VmHWM/ { print $2 }' "/proc/$child/status" 2>/dev/null)
            ((${kb:-0} <= worker)) || worker=$kb
        done
        sleep 0.02
    done
    echo "$parent $worker"
}

# measure NAME ARGUMENT...: sets parent and worker
measure()
{
    local name=$1 start=$SECONDS
    shift
    "$program" batch "$@" --out "$name.csv" --jobs 2 2>"$name.err" &
    local pid=$!
    read -r parent worker < <(most $pid)
    wait $pid || fail "$name: $(cat "$name.err")"
    echo "$name: batch $parent kB, largest worker $worker kB, $((SECONDS - start)) s; $(grep " rows in " "$name.err")"
}

near()
{
    (($1 * 10 <= $2 * 11)) || fail "$3: $1 kB is over 10 % more than $2 kB"
}

# repeat_minute HOURS FILE: minute.wav again and again.
repeat_minute()
{
    python3 - "$1" "$2" <<'PY' || fail "$2"
import sys, wave
minute = wave.open("minute.wav")
data = minute.readframes(minute.getnframes())
with wave.open(sys.argv[2], "wb") as long:
    long.setparams(minute.getparams())
    for _ in range(60 * int(sys.argv[1])):
        long.writeframesraw(data)
PY
}

make_links few 100
make_links many "$files"
measure few few
few_parent=$parent
few_worker=$worker
measure many many
near "$parent" "$few_parent" 'the batch itself'
near "$worker" "$few_worker" 'the largest worker'
((worker < 60000)) || fail "a worker holds $worker kB"

if ((hours > 0)); then
    "$program" compose minute.wav --seconds 60 --bpm 70 --seed 1 >/dev/null 2>&1
    repeat_minute 1 hour.wav
    repeat_minute "$hours" long.wav
    measure hour hour.wav --every 60
    hour_worker=$worker
    measure long long.wav --every 60
    near "$worker" "$hour_worker" "a recording of $hours hours"
    ((worker < 60000)) || fail "a worker holds $worker kB"
    [ "$(wc -l <long.csv)" -eq $((60 * hours + 1)) ] || fail "long.csv: $(wc -l <long.csv) lines"
fi
[ "$failures" -eq 0 ] && echo 'memory: flat'
exit $((failures > 0))
