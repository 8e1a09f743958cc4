#!/bin/bash
# The page's command: its help, an address, an end by Ctrl-C, wrong usage. Who gets an
# answer from it is tests/page/locked.sh.
# usage: page.sh PROGRAM SOURCE_DIR
set -u
export LC_ALL=C
program=$1 source_dir=$2
work=$(mktemp -d)
export HOME=$work XDG_CONFIG_HOME=$work/config XDG_DATA_HOME=$work/data TMPDIR=$work
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1
failures=0

fail() {
    echo "FAILED: $*"
    failures=$((failures + 1))
}

"$program" page --help >out 2>err || fail "--help: exit $?"
for word in --port --no-open --share --recordings Ctrl-C; do
    grep -qe "$word" out || fail "--help does not name $word"
done
"$program" page --port 70000 >out 2>err </dev/null
[ $? -eq 2 ] || fail "--port 70000"
"$program" page extra >out 2>err </dev/null
[ $? -eq 2 ] || fail "an operand"

# Without a folder named: the recordings that the program finds from where it lies.
"$program" page --no-open >out 2>err </dev/null &
pid=$!
for ((i = 0; i < 100; i++)); do
    grep -q token out && break
    kill -0 "$pid" 2>/dev/null || break
    sleep 0.05
done
if grep -q 'built without the page' err; then
    wait "$pid"
    [ $? -eq 1 ] || fail 'built without the page, yet no failure'
    grep -q libmicrohttpd err || fail 'does not say what is missing'
else
    grep -qE '^http://127\.0\.0\.1:[0-9]+/open\?token=[0-9a-f]{32}$' out || fail "no address: $(cat out)"
    grep -q 'not a medical device' err || fail 'no caution'
    url=$(head -n 1 out)
    curl -s -o /dev/null -c first "$url" && curl -s -b first "${url%/open*}/api/recordings" >list
    n=$(find "$source_dir/recordings" -name '*.flac' | wc -l)
    [ "$(grep -o '"number"' list | wc -l)" -eq "$n" ] || fail "not the $n recordings beside it: $(cat list)"
    kill -INT "$pid"
    wait "$pid"
    [ $? -eq 130 ] || fail "Ctrl-C: exit $?"

    "$program" page --no-open --recordings "$work/none" >none.out 2>err </dev/null
    [ $? -eq 3 ] || fail "a folder that is not there: exit $?"
    grep -q "cannot open the folder $work/none: no such file" err || fail "a folder that is not there: $(cat err)"
    [ ! -s none.out ] || fail 'an address without recordings'

    # A folder whose name is no UTF-8 is told, escaped; so is the logbook's.
    odd=$(printf 'caf\351')
    mkdir "$odd"
    cp "$source_dir"/recordings/steady-072.* "$odd"
    "$program" page --no-open --recordings "$odd" --logbook "$odd/l.sqlite" >odd.out 2>err </dev/null &
    pid=$!
    for ((i = 0; i < 200; i++)); do
        grep -qs token odd.out && break
        sleep 0.05
    done
    url=$(head -n 1 odd.out)
    curl -s -o /dev/null -c jar "$url" && curl -s -b jar "${url%/open*}/api/about" >about
    grep -q 'caf%E9' about || fail "about: $(cat about)"
    curl -s -b jar "${url%/open*}/api/logbook" >rows
    grep -q 'caf%E9/l.sqlite' rows || fail "the logbook's path: $(cat rows)"
    kill -INT "$pid"
    wait "$pid"
fi
[ $failures -eq 0 ] && echo "page: all passed"
exit $((failures > 0))
