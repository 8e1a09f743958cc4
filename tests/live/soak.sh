#!/usr/bin/env bash
# An hour of the whole program: bash soak.sh FULLMINUTE [SECONDS (3600)]. `count --live
# --until-stopped` listens to a null sink that plays a ramp, so that every lost sample would
# show as a step; every step must lie at a gap that the sitting document names. Prints the
# steps found, the gaps said, the processor's share and the resident memory; fails over
# 3 % of a core, or if the second half's memory is over 2 MB above the first's.
# By hand: it takes its time.
set -u
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
program=$(realpath "${1:?usage: soak.sh FULLMINUTE [SECONDS]}")
seconds=${2:-3600}
work=$(mktemp -d)
# shellcheck source=tests/live/server.sh
. "$here/server.sh"
trap 'kill "${ramp:-}" "${capture:-}" 2>/dev/null; live_server_stop; rm -rf "$work"' EXIT
# The rate the input gives by itself, else the server would resample the ramp.
export RATE=44100
live_server_start "$work" 1 || exit 1

/usr/bin/python3 - <<'P' | env -u PULSE_LATENCY_MSEC pacat --raw --device=steth0 --latency-msec=2000 --rate=44100 --channels=1 --format=s16le &
import array, sys
block = array.array('h', [i - 32768 for i in range(65536)]).tobytes()
try:
    while True:
        sys.stdout.buffer.write(block)
except BrokenPipeError:
    pass
P
ramp=$!
sleep 2
env -u PULSE_LATENCY_MSEC "$program" count --live --until-stopped --no-ticks --recording "$work/out.wav" \
    >"$work/said" 2>"$work/err" </dev/null &
capture=$!
hertz=$(getconf CLK_TCK)
begin=$(date +%s)
next=60
while kill -0 "$capture" 2>/dev/null; do
    sleep 5
    passed=$(($(date +%s) - begin))
    [ "$passed" -lt "$seconds" ] || break
    [ "$passed" -ge "$next" ] || continue
    next=$((next + 60))
    # fields 14 and 15: user and system time, in ticks
    ticks=$(awk '{print $14 + $15}' "/proc/$capture/stat" 2>/dev/null) || break
    rss=$(awk '/^VmRSS/ {print $2}' "/proc/$capture/status" 2>/dev/null)
    [ -n "$ticks" ] || break
    awk -v s="$passed" -v t="$ticks" -v h="$hertz" -v r="$rss" \
        'BEGIN {printf "%d s: %.2f %% of a core so far, %d kB resident\n", s, 100 * t / h / s, r}' |
        tee -a "$work/use"
done
kill -INT "$capture" 2>/dev/null
wait "$capture"
echo "exit $? (130: stopped when asked)"
tail -n 5 "$work/err"
[ ! -s "$work/use" ] || awk '{n++; share = $3; kb[n] = $10} END {
    if (n < 2) exit
    for (i = 1; i <= n; i++) if (i <= n / 2) {a = kb[i] > a ? kb[i] : a} else {b = kb[i] > b ? kb[i] : b}
    printf "%.2f %% of a core; most resident: %d kB in the first half, %d kB in the second\n", share, a, b
    exit !(share < 3 && b <= a + 2048)}' "$work/use" || exit 1
/usr/bin/python3 - "$work/out.wav" "$work/out.sitting.json" "$seconds" <<'P'
import json
import sys
import numpy as np
from scipy.io import wavfile
rate, x = wavfile.read(sys.argv[1], mmap=True)
gaps = json.load(open(sys.argv[2])).get('gaps', [])
x = np.asarray(x)
if x.dtype != np.int16:
    x = np.round(np.ldexp(x.astype(np.float64), 15 if x.dtype.kind == 'f' else -16)).astype(np.int64)
# Where the source itself was starved the server plays silence and then goes on with the ramp
# where it stopped: take such silence out, if nothing is missing around it.
keep = np.ones(len(x), bool)
edges = np.flatnonzero(np.diff(np.concatenate(([0], (x == 0).astype(np.int8), [0]))))
starved = 0
for begin, end in zip(edges[::2], edges[1::2]):
    if end - begin > 1 and begin > 0 and end < len(x):
        keep[begin:end] = False
        starved += end - begin
if starved:
    print(f'the source was starved for {starved} samples; they are left out')
x = x[keep]
steps = np.flatnonzero(((np.diff(x.astype(np.int64)) - 1) % 65536) != 0)
print(f'{len(x)} samples, {len(x) / rate:.1f} s, {len(steps)} steps where a ramp has none, '
      f'{len(gaps)} gaps said')
unsaid = 0
for at in steps:
    said = any(g['start_s'] - 0.3 <= at / rate <= g['start_s'] + g['length_s'] + 0.3 for g in gaps)
    unsaid += not said
    if len(steps) <= 50 or at in steps[:20]: print(f'  at {at / rate:.3f} s: {x[at]} then {x[at + 1]}{"" if said else ": not on the timeline"}')
sys.exit(unsaid > 0 or len(x) < rate * (float(sys.argv[3]) - 20))
P
