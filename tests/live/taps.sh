#!/bin/bash
# Keys typed at known moments of a live minute are found again on the recording's timeline:
# one constant is removed and reported, the rest must be small.
# usage: taps.sh PROGRAM SOURCE_DIR [SECONDS]
set -u
export LC_ALL=C
program=$1
source_dir=$2
seconds=${3:-15}
work=$(mktemp -d)
export HOME=$work
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1

cat >drive.py <<'END'
import json, os, pty, random, select, statistics, sys, time

program, sound, seconds = sys.argv[1], sys.argv[2], int(sys.argv[3])
child, terminal = pty.fork()
if child == 0:
    os.execv(program, [program, 'check', '--live', '--only', 'pulse', '--no-ticks',
                       '--no-truth', '--seconds', str(seconds), '--input', 'file:' + sound,
                       '--recording', 'r.wav'])
seen = b''

def wait_for(words, limit_s):
    """Read the screen until it says so."""
    global seen
    until = time.monotonic() + limit_s
    while words not in seen:
        assert time.monotonic() < until, (words, seen[-2000:])
        if select.select([terminal], [], [], 0.05)[0]:
            try:
                seen += os.read(terminal, 65536)
            except OSError:
                break

def drain(until):
    global seen
    while True:
        left = until - time.monotonic()
        if left <= 0:
            return
        if left > 0.02 and select.select([terminal], [], [], left - 0.015)[0]:
            seen += os.read(terminal, 65536)
        elif left <= 0.02:
            time.sleep(left)

wait_for(b'start:', 10)
os.write(terminal, b'\r')
wait_for(b's of', 10)
chance = random.Random(5)
typed = []
at = time.monotonic() + 0.3
end = at + seconds - 1.5
while at < end:
    drain(at)
    typed.append(time.monotonic())
    os.write(terminal, b' ')
    at += chance.uniform(0.35, 1.1)
wait_for(b'Your count', seconds + 5)
sitting = json.load(open('r.sitting.json'))
assert sitting['sealed'] and sitting['manual'] is None
os.write(terminal, b'18\r')
wait_for(b'medical device', 15)
_, status = os.waitpid(child, 0)
sitting = json.load(open('r.sitting.json'))
taps = sitting['taps_s']
assert len(taps) == len(typed), (len(taps), len(typed))
rest = [tap - t for tap, t in zip(taps, typed)]
constant = statistics.median(rest)
rest = sorted(abs(r - constant) * 1000 for r in rest)
nth = lambda share: rest[min(len(rest) - 1, int(share * len(rest)))]
print(f'{len(taps)} taps; rest after one constant: median {nth(.5):.1f} ms, '
      f'95th percentile {nth(.95):.1f} ms, worst {rest[-1]:.1f} ms')
assert nth(.95) < 25, rest
assert os.WEXITSTATUS(status) == 0, status
END
python3 drive.py "$program" "$source_dir/recordings/steady-072.flac" "$seconds" || exit 1
