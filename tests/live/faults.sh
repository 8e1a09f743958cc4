#!/usr/bin/env bash
# What goes wrong with a sound server, on a real one: killed, frozen, delivering nothing,
# held up for a while. Called as `bash faults.sh LIVE_CAPTURE`. Each must be noticed within
# 2 s, lose nothing that had come, and end within 3 s of being asked.
set -u
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
program=$(realpath "${1:?usage: faults.sh LIVE_CAPTURE}")
work=$(mktemp -d)
# shellcheck source=tests/live/server.sh
. "$here/server.sh"
trap 'kill "${capture:-}" 2>/dev/null; live_server_stop; rm -rf "$work"' EXIT
failures=0
export ASAN_OPTIONS="${ASAN_OPTIONS:-}:detect_leaks=0"

fail()
{
    printf 'FAIL %s: %s\n' "$name" "$*"
    [ ! -e "$work/$name.said" ] || cat "$work/$name.said" "$work/$name.err"
    failures=$((failures + 1))
}

monotonic()
{
    /usr/bin/python3 -c 'import time; print(time.monotonic())'
}

start()
{
    "$program" "$work/$name.wav" default 3600 >"$work/$name.said" 2>"$work/$name.err" &
    capture=$!
}

# within WORD SINCE LIMIT: `health WORD` was said within LIMIT s of SINCE.
within()
{
    local at
    at=$(awk -v w="$1" '$1 == "health" && $2 == w {print $3}' "$work/$name.said" | tail -n 1)
    [ -n "$at" ] || { fail "never said $1"; return; }
    awk -v a="$at" -v b="$2" -v l="$3" -v w="$1" -v n="$name" \
        'BEGIN {printf "%s: %s after %.2f s\n", n, w, a - b; exit !(a - b <= l)}' ||
        fail "$1 said too late"
}

# finish: asks it to end; it must within 3 s, with a file that holds all that had come.
finish()
{
    local asked ended status
    asked=$(monotonic)
    kill -TERM "$capture" 2>/dev/null
    wait "$capture"
    status=$?
    ended=$(monotonic)
    awk -v a="$asked" -v e="$ended" -v n="$name" -v s="$status" \
        'BEGIN {printf "%s: ended %.2f s after being asked, exit %s\n", n, e - a, s; exit !(e - a <= 3)}' ||
        fail 'ended too late'
    grep -q '^end ' "$work/$name.said" || fail 'no last line'
    ! grep -q WRONG "$work/$name.said" || fail 'samples out of order or not written'
    /usr/bin/python3 - "$work/$name.wav" "$(awk '/^end/ {print $3}' "$work/$name.said")" \
        "${1:-0}" <<'P' || fail 'the recording does not hold it'
import sys
from scipy.io import wavfile
frames = len(wavfile.read(sys.argv[1])[1]) if sys.argv[2] != '0' else 0
sys.exit(frames != int(sys.argv[2]) or frames < 48000 * float(sys.argv[3]))
P
}

name=killed
live_server_start "$work/killed-server" 1 || exit 1
start
sleep 5
at=$(monotonic)
kill -KILL "$live_server"
sleep 2.5
within lost "$at" 2
finish 3.5
live_server_stop

name=frozen
live_server_start "$work/frozen-server" 1 || exit 1
start
sleep 5
at=$(monotonic)
kill -STOP "$live_server"
sleep 2.5
within stalled "$at" 2
finish 3.5
live_server_stop

name=thawed
live_server_start "$work/thawed-server" 1 || exit 1
start
sleep 5
kill -STOP "$live_server"
sleep 3
at=$(monotonic)
kill -CONT "$live_server"
sleep 6
within running "$at" 2
finish 9
live_server_stop

name=nothing
live_server_start "$work/nothing-server" 1 || exit 1
pactl load-module module-pipe-source source_name=mute file="$work/fifo" rate=48000 \
    channels=1 format=s16le >/dev/null
pactl set-default-source mute
at=$(monotonic)
start
sleep 4
within stalled "$at" 2
finish 0
live_server_stop

[ "$failures" -eq 0 ] || exit 1
echo 'all faults were met'
