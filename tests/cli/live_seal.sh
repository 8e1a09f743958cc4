#!/bin/bash
# The seal: until the entry is stored, no file, no stream and no screen holds the count, a
# rate or a beat's time. Four sittings of different heart rates at once, two on a terminal
# and two with plain streams; on a clock that the test steps, or at their own speed.
# usage: live_seal.sh PROGRAM SOURCE_DIR
set -u
export LC_ALL=C
program=$1
source_dir=$2
work=$(mktemp -d)
export HOME=$work/home TMPDIR=$work/tmp
trap 'rm -rf "$work"' EXIT
mkdir "$HOME" "$TMPDIR"
cd "$work" || exit 1

cat >one.py <<'END'
import json, os, pty, re, select, subprocess, sys, time

program, recordings, name, terminal_too = sys.argv[1:5]
on_terminal = terminal_too == 'terminal'
os.makedirs(name)
os.chdir(name)
os.environ['STEPPED_CLOCK'] = os.path.abspath('../' + name + '.clock')
command = [program, 'check', '--live', '--only', 'pulse', '--seconds', '15', '--no-ticks',
           '--no-truth', '--input', f'file:{recordings}/{name}.flac', '--recording', 'r.wav']
seen = b''
if on_terminal:
    child, terminal = pty.fork()
    if child == 0:
        os.execv(program, command)
    read_from, write_to = [terminal], terminal
else:
    process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                               stderr=subprocess.PIPE)
    read_from = [process.stdout.fileno(), process.stderr.fileno()]
    write_to = process.stdin.fileno()

LIMIT_S = 300

def go(seconds):
    """The clock goes on, to so many seconds since the start (tests/stepped/stepped.h)."""
    with open('clock.new', 'w') as f:
        f.write(str(seconds))
    os.rename('clock.new', os.environ['STEPPED_CLOCK'])

def read_now(wait_s=0.0):
    global seen
    for stream in select.select(read_from, [], [], wait_s)[0]:
        try:
            got = os.read(stream, 65536)
        except OSError:
            got = b''
        if not got:
            read_from.remove(stream)
        seen += got

def read_until(words):
    until = time.monotonic() + LIMIT_S
    while (words is None or words not in seen) and read_from:
        assert time.monotonic() < until, (words, seen[-1500:])
        read_now(0.05)

go(5)
if on_terminal:
    read_until(b'start:')
    os.write(write_to, b'\r')
go(40)
read_until(b'Your count in' if on_terminal else b'your count of')
late = os.path.getsize('r.wav') + 8000  # anything late: another second
go(42)
end = time.monotonic() + LIMIT_S
while os.path.getsize('r.wav') < late:
    assert time.monotonic() < end, 'it does not go on'
    time.sleep(0.02)
read_now()
before = seen
listing = {}
for folder, _, files in os.walk('..'):
    if os.path.basename(folder) == name or folder.startswith(('../home', '../tmp')):
        for file in files:
            with open(os.path.join(folder, file), 'rb') as f:
                listing[os.path.join(folder, file)] = f.read()
go(100)
# What is asked beside the number, and asked back, comes from the entry alone: 5 beats in 15 s
# are asked about whatever the sound is, and so is one that could not be counted.
if on_terminal:
    os.write(write_to, b'5\r')
    read_until(b'nearly')
    os.write(write_to, b'c\r')
    read_until(b'resuscitation')
    os.write(write_to, b'20\r')
    read_until(b'irregularly irregular')
    os.write(write_to, b'1\r')
    read_until(b'running counts')
    read_now(0.2)
    before = seen
    os.write(write_to, b'9\r')
else:
    os.write(write_to, b'5\nc\n20\n')
    process.stdin.close()
read_until(None if not on_terminal else b'medical device')
if on_terminal:
    os.waitpid(child, 0)
else:
    process.wait()
out = subprocess.run([program, 'count', '--json', 'r.wav'], capture_output=True).stdout
count = json.loads(out)
heart = count['heart']
assert heart['status'] == 'counted', heart
secret = {float(heart[k]) for k in ('beats', 'rate_bpm', 'rate_low_bpm', 'rate_high_bpm')}
secret |= {float(t) for t in heart['s1_s']}
secret |= {count['breath'][k] for k in ('breaths', 'rate_per_min') if count['breath'][k]}

# Only these files: the recording, which is the sound itself, and the document.
assert sorted(os.path.basename(f) for f in listing) == ['r.sitting.json', 'r.wav'], listing.keys()
sitting = json.loads(listing[f'../{name}/r.sitting.json'])
assert sitting['sealed'] is True and sitting['manual'] is None
assert len(sitting['windows']) == 1 and len(sitting['windows'][0]) == 4
known = {'schema': 'fullminute.sitting/1', 'channel': 1, 'sample_rate_hz': 4000, 'gain_db': 0.0,
         'site': 'apical', 'convention': 'clock', 'ticks': False, 'checked': True, 'sealed': True,
         'gaps': [], 'manual': None, 'second_asked': False, 'breath_method': None, 'taps_s': [],
         'tap_delay_s': 0.0, 'age_months': None, 'tolerance_per_min': None,
         'deficit_per_min': None, 'input': f'file:{name}.flac'}
for key, value in sitting.items():
    assert key in ('engine', 'started_utc', 'windows') or known[key] == value, key

text = re.sub(rb'\x1b\[[0-9;?]*[A-Za-z]', b' ', before).decode()
for mine in ('5 beats in 15 s, 20 per', '15, 30 and 45 s', '18,36,53', '1  regular',
             '2  occasionally irregular', '3  regularly irregular', '4  irregularly irregular'):
    text = text.replace(mine, ' ')
text = re.sub(r'5 beats\s+in 15 s, 20\s+per|in 15 s: \w+_|\n *\d+_', ' ', text)
text = re.sub(r'\d+ s of 15|-\d+ dB|in 15 s|then 15 s|window 1\b|\n +[123] *\r', ' ', text)
numbers = {float(n) for n in re.findall(r'\d+(?:\.\d+)?', text)}
assert not numbers & secret, (numbers, secret)
assert not numbers, (numbers, re.findall(r'.{30}\d.{20}', text, re.S))
kept = json.load(open('r.sitting.json'))['manual']['pulse']
assert kept['entered'] == 20, kept
if on_terminal:
    assert kept['rhythm'] == 'regular' and kept['running'] == [9, None, None], kept
print(f'{name}: {heart["beats"]} beats, not seen before the entry')
END
pids=()
i=0
for name in steady-048 steady-084 fibrillation steady-132; do
    way=terminal
    [ $((i % 2)) -eq 1 ] && way=pipe
    i=$((i + 1))
    python3 one.py "$program" "$source_dir/recordings" $name $way >$name.log 2>&1 &
    pids+=($!)
done
failures=0
for pid in "${pids[@]}"; do
    wait "$pid" || failures=$((failures + 1))
done
cat ./*.log
[ $failures -eq 0 ] || exit 1
