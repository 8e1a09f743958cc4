#!/bin/bash
# demonstrate without any sound: what is said of wrong usage, files, and no output. What is
# heard and shown is tried in tests/live with a sound server.
# usage: demonstrate.sh PROGRAM SOURCE_DIR
set -u
export LC_ALL=C
program=$1 recordings=$2/recordings
work=$(mktemp -d)
export HOME=$work XDG_CONFIG_HOME=$work/config
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1
failures=0

fail()
{
    echo "FAILED: $*"
    failures=$((failures + 1))
}

# run STATUS ARGUMENT...: `demonstrate`, with its streams kept
run()
{
    local wanted=$1
    shift
    timeout 30 "$program" demonstrate "$@" >out 2>err </dev/null
    local got=$?
    [ $got -eq "$wanted" ] || fail "$*: exit $got, expected $wanted: $(cat err)"
}

complains()
{
    tr '\n' ' ' <err | grep -qF -- "$1" || fail "no complaint about: $1 ($(cat err))"
    [ ! -s out ] || fail "something on standard output"
}

run 0 --help
grep -q -- '--speaker small' out || fail 'help: no --speaker'
tr -s ' \n' ' ' <out | grep -q 'the timing is unchanged' || fail 'help: the timing is not spoken of'

one=$recordings/steady-072.flac
run 2
complains 'usage: fullminute demonstrate FILE'
run 2 -
complains 'not standard input'
run 2 "$one" --seconds 61
complains '--seconds'
run 2 "$one" --marks maybe
complains '--marks'
run 2 "$one" --speaker large
complains '--speaker'
for loop in 5 5- -5 a-b 5-5.5 9-3 5-6-7; do
    run 2 "$one" "--loop=$loop"
    complains '--loop 12-18'
done
# A loop that is right leaves the rest of what was asked as it is
run 3 no-such.wav --loop 12-18
complains 'no-such.wav'
run 2 "$one" "$recordings/bigeminy.flac"
complains 'one recording at a time'
run 2 "$one" --marks hidden --log-marks m.txt
complains '--log-marks'
run 3 nowhere.wav
complains 'nowhere.wav'
echo 'no sound' >text.wav
run 3 text.wav
complains 'text.wav'

# a truth that is broken is told, not passed over; on no computer is an output opened before
cp "$one" broken.flac
echo '{"schema": 1}' >broken.truth.json

# no server can be reached; where a card is built in, there is an output
export PULSE_SERVER=unix:/nowhere JACK_NO_START_SERVER=1
unset XDG_RUNTIME_DIR
"$program" sources >list 2>/dev/null </dev/null
if grep -q '^Outputs' list; then
    echo "this machine has a sound output: the sentence for none is not tried"
    run 3 broken.flac --once --no-terminal
    complains 'broken.truth.json'
else
    run 2 "$one" --once
    complains 'no sound output on this computer'
    run 2 "$one" --output headphones
    complains 'output'
fi

[ $failures -eq 0 ] || exit 1
echo "demonstrate: all held"
