#!/usr/bin/env bash
# The whole program on a terminal, its sound server killed or frozen in mid minute, or its input
# replaced: bash program_faults.sh FULLMINUTE ASOUND (asound.c, built). What is checked stands in
# program_faults.py.
set -u
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
program=$(realpath "${1:?usage: program_faults.sh FULLMINUTE ASOUND}")
asound=$(realpath "${2:?usage: program_faults.sh FULLMINUTE ASOUND}")
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
# The server goes on with another source; our card (one that stands in for it) stops.
card=$work/asound/card1/pcm0c/sub0
mkdir -p "$card"
echo 'state: RUNNING' >"$card/status"
live_server_start "$work/replaced-server" 2 || exit 1
ASAN_OPTIONS="$ASAN_OPTIONS:verify_asan_link_order=0" FULLMINUTE_TEST_ASOUND=$work/asound \
    /usr/bin/python3 "$here/program_faults.py" "$program" "$work" replaced "$card/status" "$asound" ||
    failures=$((failures + 1))
live_server_stop
[ "$failures" -eq 0 ] || exit 1
echo 'all three faults were met'
