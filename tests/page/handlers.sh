#!/bin/sh
# How long each handler of the page, and each part of a turn of its loop, holds the server's thread
# under the load of the page's tests. Called as `sh handlers.sh SOURCE_DIR BUILD_DIR`; prints the table
# of HANDLERS.md. Run on a quiet machine; see tests/page/timed.c for how.
#
# Exit status: 0 none over 5 ms; 1 one is, or a test failed; 77 no browser here.
set -eu
source_dir=$1
build_dir=$2
bar_ms=5
cmake --build "$build_dir" --target fullminute_timed fullminute_timed_stepped >/dev/null
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export HANDLERS="$work/times" SOURCE_DIR="$source_dir" NODE_PATH="$build_dir/page/node_modules" LC_ALL=C

# one NAME PROGRAM COMMAND...: a test of the page, with that program in the place of its own.
one()
{
    name=$1
    export FULLMINUTE="$build_dir/$2"
    shift 2
    echo "page.$name" >&2
    status=0
    "$@" >"$work/log" 2>&1 || status=$?
    [ "$status" -ne 77 ] || exit 77
    [ "$status" -eq 0 ] || {
        tail -n 40 "$work/log" >&2
        echo "page.$name failed" >&2
        exit 1
    }
}

at=$source_dir/tests/page
for test in checked listen heard hostile; do
    one "$test" fullminute_timed bash "$at/browser.sh" "$source_dir" "$at/test_$test.mjs"
done
for test in shared rejoin views; do
    one "$test" fullminute_timed_stepped bash "$at/browser.sh" "$source_dir" "$at/test_$test.mjs"
done
for test in practice crowd shared_end paths; do
    one "$test" fullminute_timed python3 "$at/outside_$test.py" "$build_dir/fullminute_timed" "$source_dir"
done
one not_stored fullminute_timed_stepped python3 "$at/outside_not_stored.py" \
    "$build_dir/fullminute_timed_stepped" "$source_dir"

echo '| handler, part of a turn | thread | calls | wall, ms | held, ms | processor, ms |'
echo '|---|---|---|---|---|---|'
awk -F '\t' -v bar="$bar_ms" '
    function most(of, x) { of[$1] = of[$1] + 0 > x ? of[$1] : x }
    { thread[$1] = $2; calls[$1] += $3; most(wall, $4); most(held, $5); most(cpu, $6) }
    END {
        for (name in calls) {
            printf "| %s | %s | %d | %.1f | %.1f | %.1f |\n", name, thread[name], calls[name], wall[name], held[name], cpu[name] | "LC_ALL=C sort"
            over = over || (thread[name] == "server" && held[name] > bar)
        }
        close("LC_ALL=C sort")
        exit over
    }' "$HANDLERS"
