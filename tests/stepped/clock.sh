# shellcheck shell=bash
# For tests that run whole sittings, with fullminute as well as with fullminute_stepped: read
# it with `.` where `program` is set.
#   clock NAME             what is started next has a clock of its own, which stands at 0
#   clock_go NAME SECONDS  lets it go on, to so many seconds since the program's start
#   clock_none             what is started next never stands
#   waits CONDITION...     until a command succeeds; it fails where that is out of reach
# At its own speed, with fullminute, the first three do nothing.

# shellcheck disable=SC2154 # program and work are the reader's
clock()
{
    [[ $program != *_stepped ]] || export STEPPED_CLOCK=$work/$1.clock
}

clock_go()
{
    # whole at once, because it may be read at any moment
    echo "$2" >"$work/$1.clock.new"
    mv "$work/$1.clock.new" "$work/$1.clock"
}

clock_none()
{
    unset STEPPED_CLOCK
}

waits()
{
    local until=$((SECONDS + 300))
    until "$@"; do
        [ $SECONDS -lt $until ] || { echo "FAILED: in five minutes not: $*"; return 1; }
        sleep 0.02
    done
}

# holds FILE BYTES: it has grown so far
holds()
{
    [ "$(stat -c %s "$1" 2>/dev/null || echo 0)" -ge "$2" ]
}
