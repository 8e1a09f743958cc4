#!/bin/bash
# Bad input to `count`: a clear sentence (what, where, what to do), the documented exit
# status, no crash, no partial file, nothing on stdout but results.
# usage: bad_input.sh PROGRAM SOURCE_DIR
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"

notice() {
    echo "not tried: $*"
}

# rejects STATUS WORDS ARGUMENT...: exit status, words on stderr, nothing on stdout
rejects() {
    local wanted=$1 words=$2
    shift 2
    "$program" "$@" >out 2>err </dev/null
    local got=$?
    [ $got -eq "$wanted" ] || fail "$*: exit $got, expected $wanted ($(cat err))"
    grep -qF -- "$words" err || fail "$*: not said: $words ($(cat err))"
    [ ! -s out ] || fail "$*: a result beside the error"
    [ "$(wc -l <err)" -eq 1 ] || fail "$*: more than one sentence: $(cat err)"
}

# refuses ARGUMENT...: status 4, the refusal on stdout, no number of the heart
refuses() {
    "$program" count "$@" >out 2>err </dev/null
    local got=$?
    [ $got -eq 4 ] || fail "count $*: exit $got, expected 4 ($(cat err out))"
    grep -qE '^No count: ' out || fail "count $*: $(head -n 1 out)"
    grep -q 'count by hand' out || fail "count $*: no advice"
    "$program" count "$@" --json >out 2>err </dev/null
    grep -qF '"beats": null' out || fail "count $*: a number in a refusal"
}

u32() {
    printf "\\x$(printf %02x $(($1 & 255)))\\x$(printf %02x $(($1 >> 8 & 255)))"
    printf "\\x$(printf %02x $(($1 >> 16 & 255)))\\x$(printf %02x $(($1 >> 24 & 255)))"
}

u16() {
    printf "\\x$(printf %02x $(($1 & 255)))\\x$(printf %02x $(($1 >> 8 & 255)))"
}

# wav_header RATE CHANNELS DATA_BYTES [FORMAT BITS]: 44 bytes of WAV header
wav_header() {
    local format=${4:-1} bits=${5:-16}
    printf RIFF
    u32 $((36 + $3))
    printf 'WAVEfmt '
    u32 16
    u16 "$format"
    u16 "$2"
    u32 "$1"
    u32 $(($1 * $2 * bits / 8))
    u16 $(($2 * bits / 8))
    u16 "$bits"
    printf data
    u32 "$3"
}

zeros() {
    head -c "$1" /dev/zero
}

# Files that are not there, not files, or not sound
rejects 3 "cannot open none.wav: no such file or directory" count none.wav
rejects 3 "is a folder" count .
: >empty.wav
rejects 3 "is empty (0 bytes)" count empty.wav
zeros 30 >zeros.bin
rejects 3 "not a sound file this program knows" count zeros.bin
printf 'pulse 72\n' >note.wav
rejects 3 "a text file, not a sound file" count note.wav
rejects 3 "is a device" count /dev/zero
rejects 3 "standard input" count -
(wav_header 4000 1 8000 | head -c 30) >header30.wav
rejects 3 "header30.wav" count header30.wav
wav_header 4000 1 0 >none_inside.wav
rejects 3 "holds no sound" count none_inside.wav

# Phone recordings: the format by name, and the one command that converts it
for kind in 'm4a:\0\0\0\034ftypM4A \0\0\0\0' '3gp:\0\0\0\030ftyp3gp4\0\0\0\0' \
    'mp4:\0\0\0\030ftypmp42\0\0\0\0' 'amr:#!AMR\n\074\010' \
    'webm:\032\105\337\243\237\102\206\201' 'wma:\060\046\262\165\216\146\317\021'; do
    name="my recording.${kind%%:*}"
    printf "${kind#*:}" >"$name"
    zeros 200 >>"$name"
    rejects 3 "(${kind%%:*}" count "$name"
    grep -qF "ffmpeg -i '$name' -ac 1 OUT.wav" err || fail "$name: no command: $(cat err)"
done

# Absurd headers
for rate in 0 1 999 192001 4294967295; do
    (wav_header $rate 1 8000; zeros 8000) >rate.wav
    rejects 3 "sample rate of $rate Hz" count rate.wav
done
(wav_header 4000 0 8000; zeros 8000) >channels0.wav
rejects 3 "0 channels" count channels0.wav

# Sound that cannot be counted: refused, never a number
(wav_header 4000 1 2; printf '\001\002') >one.wav
refuses one.wav
(wav_header 4000 1 320000; zeros 320000) >silence.wav
refuses silence.wav
grep -qF '"reason_code": "too_quiet"' out || fail "silence: $(cat out)"
(wav_header 4000 1 320000 3 32; zeros 320000 | tr '\0' '\377') >nan.wav
refuses nan.wav
grep -qF '"not_numbers": 80000' out || fail "NaN samples are not told: $(cat out)"
(wav_header 4000 64 5120000; zeros 5120000) >many.wav
refuses many.wav
grep -qF '"channels": 64, "channel": 1, "channel_chosen": true' out || fail "64 channels: $(cat out)"
rejects 2 "has 64 channels; give 1 to 64" count many.wav --channel 65
rejects 2 "--channel 2: silence.wav has one channel; give 1" count silence.wav --channel 2
(wav_header 192000 1 3840000; zeros 3840000) >fast.wav
refuses fast.wav
(wav_header 1000 1 20000; zeros 20000) >slow.wav
refuses slow.wav

# Cut short: counted as far as it goes, and said
head -c $(($(wc -c <"$recordings/steady-072.flac") / 2)) "$recordings/steady-072.flac" >cut.flac
"$program" count cut.flac --json >out 2>err
[ $? -eq 0 ] || fail "cut.flac: $(cat err)"
grep -qF 'cut.flac is truncated' err || fail "cut.flac: not said: $(cat err)"
grep -qF '"truncated": true' out || fail "cut.flac: $(cat out)"
grep -qF '"full_minute": false' out || fail "cut.flac: a full minute"
# Cut inside its header: nothing was asked wrongly, there is no sound
head -c 86 "$recordings/steady-072.flac" >cut_header.flac
rejects 3 "cut_header.flac holds no sound that can be read" count cut_header.flac
rejects 3 "holds no sound that can be read" check cut_header.flac --manual 72
rejects 3 "holds no sound that can be read" count cut_header.flac --seconds whole
(wav_header 4000 1 320000; zeros 20000) >cut.wav
"$program" count cut.wav >out 2>err
grep -qF 'cut.wav is truncated' err || fail "cut.wav: not said: $(cat err)"
escape=$(printf 'cut\033[31m.wav')
cp cut.wav "$escape"
"$program" check "$escape" --manual 60 >out 2>err
grep -qF 'cut?[31m.wav is truncated' err || fail "a name with an escape: $(cat err)"
"$program" count "$escape" >out 2>err
grep -qF 'cut?[31m.wav is truncated' err || fail "a name with an escape: $(cat err)"

# Twenty-four hours, sparse: only the window is read
(wav_header 16000 1 2764800000) >day.wav
truncate -s $((44 + 2764800000)) day.wav
started=$SECONDS
refuses day.wav --start 80000
grep -qF '"duration_s": 86400.0' out || fail "24 h: $(cat out)"
grep -qF '"window": {"start_s": 80000.0, "end_s": 80060.0' out || fail "24 h: $(cat out)"
[ $((SECONDS - started)) -le 10 ] || fail "24 h: $((SECONDS - started)) s for one minute"
rejects 2 "86400.0 s long" count day.wav --start 86400
if { (ulimit -v 200000 && "$program" --version) >/dev/null 2>&1; } 2>/dev/null; then
    (ulimit -v 200000 && "$program" count day.wav --start 80000) >out 2>err </dev/null
    [ $? -eq 4 ] || fail "24 h within 200 MB: $(cat err)"
else
    notice "24 h within 200 MB (the program does not start under this limit)"
fi
rm day.wav

# Wrong usage
rejects 2 "no recording named; usage: fullminute count FILE" count
rejects 2 "unknown option --frobnicate" count silence.wav --frobnicate
rejects 2 "did you mean --json?" count silence.wav --jason
rejects 2 "did you mean 'count'?" coutn silence.wav
rejects 2 "--help lists the commands" frobnicate
rejects 2 "or 'whole'" count silence.wav --seconds 90
rejects 2 "or 'whole'" count silence.wav --seconds nan
rejects 2 "expected a number" count silence.wav --start -1
rejects 2 "expected a number" count silence.wav --start tomorrow
rejects 2 "40.0 s long" count silence.wav --start 50
rejects 2 "expected a whole number from 1" count silence.wav --channel 0
rejects 2 "'zero' or 'one'" count silence.wav --first-beat two
rejects 2 "given twice" count silence.wav --json --json
rejects 2 "one recording at a time; not also b.wav" count silence.wav b.wav
"$program" >out 2>err
[ $? -eq 2 ] && [ ! -s out ] && grep -q COMMAND err || fail "no command: $(cat err)"

# Places that cannot be read or written
if [ "$(id -u)" -ne 0 ]; then
    as_nobody=()
elif command -v setpriv >/dev/null; then
    as_nobody=(setpriv --reuid=65534 --regid=65534 --clear-groups)
else
    as_nobody=(false)
fi
chmod 755 . && cp silence.wav secret.wav && chmod 000 secret.wav
mkdir locked && cp silence.wav locked/ && chmod 000 locked
cp "$program" ./program && chmod 755 program
if "${as_nobody[@]}" ./program --version >/dev/null 2>&1; then
    for file in secret.wav locked/silence.wav; do
        "${as_nobody[@]}" ./program count "$file" >out 2>err
        [ $? -eq 3 ] || fail "$file: $(cat err)"
        grep -qF "cannot open $file: permission denied" err || fail "$file: $(cat err)"
    done
else
    notice "unreadable files (no other user to try as)"
fi
minute=$recordings/steady-072.flac
rejects 1 "make the folder first" count "$minute" --picture none/p.svg
rejects 2 "is a folder" count "$minute" --picture "$(mkdir d.svg && echo d.svg)"

# A full disk: for the result, for a picture, and half-way through one
"$program" count "$minute" >/dev/full 2>err
[ $? -eq 1 ] || fail "stdout full: not 1"
grep -qF "cannot write the result: no space left on device" err || fail "stdout full: $(cat err)"
"$program" count "$minute" --json >/dev/full 2>err
[ $? -eq 1 ] || fail "stdout full, JSON: not 1"
"$program" count "$minute" --picture closed.svg >&- 2>err
[ $? -eq 1 ] || fail "stdout closed: not 1"
grep -q '^</svg>' closed.svg || fail "stdout closed: the picture is not whole"
! grep -q 'Apical pulse:.*Counted' closed.svg || fail "stdout closed: the result is in the picture"
ln -s /dev/full full.svg
rejects 1 "no space left on device" count "$minute" --picture full.svg
mkdir small && (
    ulimit -f 1
    "$program" count "$minute" --picture small/p.svg >/dev/null 2>small_err
    [ $? -eq 1 ]
) || fail "file size limit: not 1"
[ -z "$(ls -A small)" ] || fail "a partial file is left: $(ls -A small)"

# Ctrl-C while waiting for sound
mkfifo pipe
(exec sleep 600 >pipe) &
sleeper=$!
"$program" count - <pipe >out 2>err &
counter=$!
# It catches the signal, and sleeps: in the read.
waits_for_sound()
{
    [ $((0x$(sed -n 's/^SigCgt:[[:space:]]*//p' /proc/$counter/status) & 2)) -ne 0 ] &&
        grep -q '^State:[[:space:]]*S' /proc/$counter/status
}
n=0
until waits_for_sound || [ $((n += 1)) -gt 3000 ]; do
    sleep 0.02
done
kill -INT $counter
wait $counter
[ $? -eq 130 ] || fail "Ctrl-C: not 130 ($(cat err))"
grep -qF "stopped" err || fail "Ctrl-C: $(cat err)"
kill $sleeper 2>/dev/null
wait $sleeper 2>/dev/null

# Ctrl-C while asked for the count: stopped, no usage error
if command -v script >/dev/null; then
    # becomes WORDS: until they are in out, for a minute at most
    becomes()
    {
        local n=0
        until grep -qF "$1" out || [ $((n += 1)) -gt 3000 ]; do
            sleep 0.02
        done
    }
    : >out
    (
        becomes 'Your own count'
        printf '\003'
        becomes 'stopped'
    ) | script -qec "exec ./program check '$minute'" /dev/null >>out 2>&1
    got=$?
    [ $got -eq 130 ] || fail "Ctrl-C at the question: exit $got ($(cat out))"
    grep -qF "Your own count" out || fail "Ctrl-C: no question was asked ($(cat out))"
    grep -qF "stopped" out || fail "Ctrl-C at the question: $(cat out)"
    ! grep -qF "no count entered" out || fail "Ctrl-C at the question: $(cat out)"
else
    notice "Ctrl-C at the question (no 'script' to make a terminal with)"
fi
[ -z "$(ls -A | grep 'part$')" ] || fail "a temporary file is left"

# A pipe that never ends is refused, and does not fill the disk.
yes | "$program" count - >out 2>err
[ $? -eq 3 ] && grep -q 'has not ended; save it as a file first' err || fail "an endless pipe: $(cat err)"

[ $failures -eq 0 ] || echo "$failures failures"
exit $((failures > 0))
