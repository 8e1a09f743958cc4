#!/bin/bash
# A recording written as FLAC: every sample the same, checked by SoX; what must not be written
# is not. usage: flac.sh PROGRAM SOURCE_DIR
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"
samples()
{
    sox "$1" -t raw -e signed -b 16 - | cksum
}

sox "$recordings/steady-072.flac" -r 44100 -c 2 two.wav remix 1 1
"$program" count two.wav --flac two.flac >/dev/null || fail "count"
[ -s two.flac ] && [ "$(samples two.wav)" = "$(samples two.flac)" ] || fail "other samples"
[ "$(soxi -r two.flac) $(soxi -c two.flac)" = "44100 2" ] || fail "another rate or number of channels"
[ "$(stat -c %s two.flac)" -lt "$(stat -c %s two.wav)" ] || fail "not smaller"

"$program" count "$recordings/unusable.flac" --flac refused.flac >/dev/null
[ $? -eq 4 ] || fail "a refused count has its own status"
[ "$(samples refused.flac)" = "$(samples "$recordings/unusable.flac")" ] || fail "refused: not written"

before=$(cksum two.flac)
"$program" count two.wav --flac two.flac >out 2>err
[ $? -eq 2 ] || fail "an existing file is replaced unasked"
[ "$(cksum two.flac)" = "$before" ] || fail "changed"
"$program" count two.wav --flac two.flac --force >out 2>err || fail "--force"
"$program" count two.wav --flac two.mp3 >out 2>err
[ $? -eq 2 ] || fail "another ending"
[ ! -e two.mp3 ] || fail "written all the same"
"$program" count two.wav --flac none/two.flac >out 2>err
[ $? -eq 1 ] || [ $? -eq 2 ] || fail "a folder that is not there"
[ -z "$(find . -name '*tmp*' -o -name '.*.flac*')" ] || fail "something half-written is left"

[ $failures -eq 0 ] || exit 1
echo "all well"
