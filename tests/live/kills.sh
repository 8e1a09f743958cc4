#!/usr/bin/env bash
# Kills a capture at random times and looks at what its recording still holds:
# bash kills.sh LIVE_CAPTURE [TIMES (50)]. Five at once. Every recording must open and hold
# all but the last 2 s before the kill. The seed is fixed; the machine's own timing is not.
# SIGKILL shows what the program loses; it does not show what a power cut loses.
set -u
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
program=$(realpath "${1:?usage: kills.sh LIVE_CAPTURE [TIMES]}")
times=${2:-50}
work=$(mktemp -d)
# shellcheck source=tests/live/server.sh
. "$here/server.sh"
trap 'live_server_stop; rm -rf "$work"' EXIT
live_server_start "$work" 1 || exit 1

# one I: a capture, killed between 2 and 12 s after it began to run.
one()
{
    local i=$1 pid wait_s at
    wait_s=$(awk -v s="$i" 'BEGIN {srand(s); rand(); print 2 + 10 * rand()}')
    "$program" "$work/$i.wav" default 3600 >"$work/$i.said" 2>"$work/$i.err" &
    pid=$!
    while ! grep -q running "$work/$i.said" && kill -0 "$pid" 2>/dev/null; do
        sleep 0.02
    done
    sleep "$wait_s"
    at=$(/usr/bin/python3 -c 'import time; print(time.monotonic())')
    kill -KILL "$pid"
    wait "$pid" 2>/dev/null
    echo "$at" >"$work/$i.killed"
}

for ((i = 1; i <= times; i += 5)); do
    batch=()
    for ((k = i; k < i + 5 && k <= times; k++)); do
        one "$k" 2>/dev/null &
        batch+=($!)
    done
    wait "${batch[@]}"
done

/usr/bin/python3 - "$work" "$times" <<'P'
import sys
from scipy.io import wavfile
work, times = sys.argv[1], int(sys.argv[2])
lost = []
bad = 0
for i in range(1, times + 1):
    try:
        said = [l.split() for l in open(f'{work}/{i}.said') if 'running' in l]
        ran = float(open(f'{work}/{i}.killed').read()) - float(said[0][2])
        rate, x = wavfile.read(f'{work}/{i}.wav')
        lost.append(ran - len(x) / rate)
    except Exception as e:
        print(f'{i}: {e!r}')
        bad += 1
late = sum(l > 2 for l in lost)
print(f'{len(lost)} of {times} open; missing at the end: median {sorted(lost)[len(lost) // 2]:.3f} s,'
      f' worst {max(lost):.3f} s; {late} over 2 s')
sys.exit(bad > 0 or late > 0)
P
