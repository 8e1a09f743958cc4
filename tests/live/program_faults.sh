#!/usr/bin/env bash
# The whole program on a terminal, its sound server killed or frozen in mid minute:
# bash program_faults.sh FULLMINUTE. What is checked stands in program_faults.py.
set -u
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
program=$(realpath "${1:?usage: program_faults.sh FULLMINUTE}")
work=$(mktemp -d)
# shellcheck source=tests/live/server.sh
. "$here/server.sh"
trap 'live_server_stop; rm -rf "$work"' EXIT
export ASAN_OPTIONS="${ASAN_OPTIONS:-}:detect_leaks=0"
failures=0
for fault in killed frozen; do
    live_server_start "$work/$fault-server" 1 || exit 1
    /usr/bin/python3 "$here/program_faults.py" "$program" "$work" "$fault" "$live_server" ||
        failures=$((failures + 1))
    live_server_stop
done
[ "$failures" -eq 0 ] || exit 1
echo 'both faults were met'
