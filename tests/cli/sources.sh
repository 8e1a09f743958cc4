#!/bin/bash
# The inputs of a computer: none at all, what is said then, and that no sound library
# speaks to the terminal. tests/live has the same with a sound server.
# usage: sources.sh PROGRAM SOURCE_DIR
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"
verb=sources
export XDG_CONFIG_HOME=$work/config

complains() {
    flat err | grep -qF -- "$1" || fail "no complaint about: $1 ($(flat err))"
}

run 0 --help
says "--json"
awk 'length > 80 { exit 1 }' out || fail "help over 80 columns"
run 2 an-operand
run 2 --no-such-option

# no server can be reached; where a card is built in, there is something to list
export PULSE_SERVER=unix:/nowhere
unset XDG_RUNTIME_DIR
run 0
[ ! -s err ] || fail "chatter on the terminal: $(head -3 err)"
awk 'length > 80 { exit 1 }' out || fail "a line over 80 columns"
if grep -q '^Inputs' out; then
    echo "this machine has a sound card: the sentence for none is not tried"
else
    says "There is no sound input on this computer."
    says "fullminute count FILE"
    says "--input file:"
    run 0 --json
    [ ! -s err ] || fail "chatter beside the document"
    says '"schema": "fullminute.sources/1", "inputs": [], "outputs": []'
fi

# settings that cannot be understood are set aside, said once, and listing goes on
mkdir -p config/fullminute
echo '{"schema": ' >config/fullminute/settings.json
run 0
complains "set aside as $work/config/fullminute/settings.json.unreadable-1"
[ -f config/fullminute/settings.json.unreadable-1 ] || fail "not set aside"
run 0
[ ! -s err ] || fail "said twice: $(cat err)"

# one that is remembered and not here
printf '{"schema": "fullminute.settings/1", "input": "alsa:gone"}\n' \
    >config/fullminute/settings.json
run 0
says "The remembered input is not here now: alsa:gone"

[ $failures -eq 0 ] || exit 1
echo "sources: all held"
