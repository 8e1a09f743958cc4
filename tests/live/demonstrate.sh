#!/usr/bin/env bash
# Marks against sound through a null sink, then keys and a lost server: bash demonstrate.sh FULLMINUTE SOURCE_DIR.
# What is measured, and how, stands in demonstrate.py and demonstrate_keys.py.
set -u
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
program=$(realpath "${1:?usage: demonstrate.sh FULLMINUTE SOURCE_DIR}")
recordings=$(realpath "${2:?usage: demonstrate.sh FULLMINUTE SOURCE_DIR}")/recordings
work=$(mktemp -d)
# shellcheck source=tests/live/server.sh
. "$here/server.sh"
trap 'live_server_stop; rm -rf "$work"' EXIT
export ASAN_OPTIONS="${ASAN_OPTIONS:-}:detect_leaks=0"
live_server_start "$work" || exit 1
unset PULSE_LATENCY_MSEC # the latency that a person gets
failed=0
/usr/bin/python3 "$here/demonstrate.py" "$program" "$recordings" "$work" || failed=1
/usr/bin/python3 "$here/demonstrate_keys.py" "$program" "$recordings/steady-072.flac" "$work" "$live_server" || failed=1
exit $failed
