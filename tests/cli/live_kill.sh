#!/bin/bash
# A sitting that is killed in its minute keeps the taps so far.
# usage: live_kill.sh PROGRAM SOURCE_DIR
exec python3 "$2/tests/live/tap_kills.py" "$1" "$2/recordings/steady-072.flac" once
