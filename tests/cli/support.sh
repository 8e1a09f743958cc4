# shellcheck shell=bash
# What the tests of the command line begin with: read with `.`, given PROGRAM and SOURCE_DIR.
# They work in a folder of their own, which is also the home, and count in `failures`.
set -u
export LC_ALL=C
program=$(realpath "$1")
source_dir=$(realpath "$2")
# shellcheck disable=SC2034 # for those who read this
recordings=$source_dir/recordings
work=$(mktemp -d)
export HOME=$work
trap 'chmod -R u+rwX "$work" 2>/dev/null; rm -rf "$work"' EXIT
cd "$work" || exit 1
failures=0

fail()
{
    echo "FAILED: $*"
    failures=$((failures + 1))
}

# run STATUS ARGUMENT...: the program, or its command $verb, with its streams in out and err
run()
{
    local wanted=$1 got
    shift
    "$program" ${verb:+"$verb"} "$@" >out 2>err </dev/null
    got=$?
    [ "$got" -eq "$wanted" ] || fail "${verb:-} $*: exit $got, expected $wanted: $(cat err)"
}

# flat FILE: without line ends, so that a sentence is found wherever it wraps
flat()
{
    tr '\n' ' ' <"$1" | tr -s ' '
}

says()
{
    flat out | grep -qF -- "$1" || fail "not said: $1 (in: $(flat out))"
}
