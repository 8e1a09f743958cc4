#!/usr/bin/env bash
# Runs one test of the page in a browser, beside a private sound server with null sinks.
# Called as `bash browser.sh SOURCE_DIR TEST.mjs [ARGUMENT]`; FULLMINUTE and NODE_PATH are set.
set -u
source_dir=$1
shift
skip()
{
    echo "skipped: $*"
    exit 77
}
command -v "${CHROMIUM:-chromium}" >/dev/null 2>&1 || skip 'no Chromium here'
[ -d "$NODE_PATH/playwright-core" ] || skip 'no playwright-core here'
command -v pulseaudio >/dev/null 2>&1 || skip 'no PulseAudio here'
work=$(mktemp -d)
# shellcheck source=tests/live/server.sh
. "$source_dir/tests/live/server.sh"
trap 'live_server_stop; rm -rf "$work"' EXIT
live_server_start "$work" 2 || skip 'no sound server could be started'
export CHROMIUM=${CHROMIUM:-$(command -v chromium)} STETH_SINK=steth1
timeout -k 5 590 node "$@"
