#!/bin/sh
# From a fresh copy to the main job: installs what is missing, builds .build/release, and
# checks a count of 68 against a bundled recording, as a learner would.
# Run as `sh src/start.sh`; run again at will, it takes seconds when nothing changed.
set -eu
root=$(cd "$(dirname "$0")/.." && pwd -P)
here=$(pwd -P)
cd "$root"
# shellcheck source=src/setup.sh
. src/setup.sh

get_needs "$needs_build"
build release release -DBUILD_TESTING=OFF

# The commands below are shown as they can be typed from where the person stands.
prefix=
[ "$here" = "$root" ] || prefix=$root/
recording=recordings/premature-beats.flac
count=68

quoted()
{
    case $1 in
    *[!A-Za-z0-9._/-]*) printf "'%s'" "$(printf '%s' "$1" | sed "s/'/'\\\\''/g")" ;;
    *) printf '%s' "$1" ;;
    esac
}

program=$(quoted "${prefix}.build/release/fullminute")
sound=$(quoted "$prefix$recording")
say
say "Suppose you listened to $recording for its first minute and counted $count:"
say
say "\$ $program check $sound --manual $count"
say
.build/release/fullminute check "$recording" --manual "$count"
say
say "That was the main job. To see the same minute drawn, beat by beat, type:"
say "$program count $sound --picture minute.svg"
