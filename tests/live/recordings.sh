#!/usr/bin/env bash
# Every bundled recording played into a sound server and counted live, against the truth and
# against the same seconds of the file: bash recordings.sh FULLMINUTE SOURCE_DIR [NAMES...].
# Each has a null sink of its own; eleven at once, about a minute and a half a round.
# What is checked stands in recordings.py.
set -u
# Ahead of tests that compute beside this one; only root may be, and without it all is as before.
renice -n -10 $$ >/dev/null 2>&1
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
program=$(realpath "${1:?usage: recordings.sh FULLMINUTE SOURCE_DIR [NAMES...]}")
recordings=$(realpath "${2:?usage: recordings.sh FULLMINUTE SOURCE_DIR [NAMES...]}")/recordings
shift 2
at_once=11
work=$(mktemp -d)
# shellcheck source=tests/live/server.sh
. "$here/server.sh"
trap 'live_server_stop; rm -rf "$work"' EXIT
export ASAN_OPTIONS="${ASAN_OPTIONS:-}:detect_leaks=0"
live_server_start "$work" "$at_once" || exit 1

# one SLOT NAME: begins to listen, plays, and leaves NAME.json, NAME.wav and NAME.exit.
one()
{
    local name=$2 listening player
    PULSE_SOURCE=steth$1.monitor "$program" count --live --no-ticks --json \
        --recording "$work/$name.wav" >"$work/$name.json" 2>"$work/$name.err" </dev/null &
    listening=$!
    while ! grep -qs '^listening' "$work/$name.err" && kill -0 "$listening" 2>/dev/null; do
        sleep 0.05
    done
    # Most of what it settles in is over: the sound begins before the window.
    while [ "$(stat -c %s "$work/$name.wav" 2>/dev/null || echo 0)" -lt $((24 * 48000 * 2 / 10)) ] &&
        kill -0 "$listening" 2>/dev/null; do
        sleep 0.05
    done
    env -u PULSE_LATENCY_MSEC paplay --device="steth$1" --latency-msec=2000 "$recordings/$name.flac" 2>"$work/$name.play" &
    player=$!
    wait "$listening"
    echo $? >"$work/$name.exit"
    wait "$player" 2>/dev/null
}

names=("$@")
if [ $# -eq 0 ]; then
    for file in "$recordings"/*.flac; do
        file=${file##*/}
        names+=("${file%.flac}")
    done
fi
# play NAMES...: all of them, in rounds; then the comparison.
play()
{
    local names=("$@") batch i k
    for ((i = 0; i < ${#names[@]}; i += at_once)); do
        batch=()
        for ((k = i; k < i + at_once && k < ${#names[@]}; k++)); do
            one $((k - i)) "${names[k]}" &
            batch+=($!)
        done
        wait "${batch[@]}"
    done
    /usr/bin/python3 "$here/recordings.py" "$program" "$recordings" "$work" "${names[@]}"
}

play "${names[@]}" && exit 0
# A starved sound server drops out: what failed is played once more, and that is said.
[ -s "$work/failed" ] || exit 1
read -r -a names <"$work/failed"
printf 'once more: %s\n' "${names[*]}"
for name in "${names[@]}"; do
    rm -f "$work/$name".*
done
play "${names[@]}"
