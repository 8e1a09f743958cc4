# shellcheck shell=bash
# Shared by the tests of batch that take minutes. Read with `.`; sets program, source_dir,
# work, and goes to an empty folder.
set -u
export LC_ALL=C
program=$(realpath "${1:?usage: $0 PROGRAM SOURCE_DIR}")
source_dir=$(realpath "${2:?usage: $0 PROGRAM SOURCE_DIR}")
export program source_dir
work=$(mktemp -d)
export HOME=$work
cd "$work" || exit 1
failures=0

fail()
{
    echo "FAILED: $*"
    failures=$((failures + 1))
}

# make_sounds N: N short recordings in sounds/, each another heart, and two that are none.
make_sounds()
{
    local i
    mkdir -p sounds
    for ((i = 1; i <= $1; i++)); do
        "$program" compose "sounds/$i.wav" --seconds 12 --bpm $((50 + 3 * i)) --seed "$i" \
            >/dev/null 2>compose.err || fail "compose: $(cat compose.err)"
    done
    rm -f sounds/*.json
    echo 'no sound' >sounds/text.wav
    head -c 5000 sounds/1.wav >sounds/cut.wav
}

# make_links FOLDER N: N links to the sounds, in folders of a hundred.
make_links()
{
    local i=0 name sounds
    sounds=(sounds/*)
    while ((i < $2)); do
        ((i % 100 != 0)) || mkdir -p "$1/$((i / 100))"
        name=${sounds[i % ${#sounds[@]}]}
        ln "$name" "$1/$((i / 100))/$i.wav"
        i=$((i + 1))
    done
}
