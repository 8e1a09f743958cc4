#!/usr/bin/env bash
# The library as another project meets it: installed under a folder of its own, found by
# find_package and by pkg-config, linked shared and static from C, loaded from Python;
# each gives what the program gives. Called as
#   bash library.sh PROGRAM BUILD_DIR SOURCE_DIR CMAKE CC
set -u
export LC_ALL=C
program=$1 build=$2 here=$3/tests/library cmake=$4 cc=$5
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
prefix=$work/installed
failures=0

fail()
{
    printf 'FAIL: %s\n' "$*"
    failures=$((failures + 1))
}

need() # MESSAGE COMMAND...: the rest is no use without it
{
    local message=$1
    shift
    "$@" >"$work/out" 2>&1 || {
        cat "$work/out"
        fail "$message"
        exit 1
    }
}

# A sanitizer's build asks every program that links it for the sanitizer.
if nm "$build/libfullminute.a" 2>/dev/null | grep -qE ' U __(asan|tsan|ubsan)_'; then
    echo 'skipped: a library with sanitizers is not for other programs'
    exit 77
fi

need 'cmake --install' "$cmake" --install "$build" --prefix "$prefix"
lib=$(dirname "$(find "$prefix" -name libfullminute.so)")
[ -x "$prefix/bin/fullminute" ] || fail 'the program was not installed beside the library'

# Every header stands by itself, in C and with no other include path.
for header in "$prefix"/include/fullminute/*.h; do
    name=fullminute/$(basename "$header")
    echo "#include <$name>" | "$cc" -std=c17 -Wall -Wextra -Wpedantic -Werror -x c \
        -fsyntax-only -I"$prefix/include" - || fail "$name does not compile by itself"
done
! grep -rn '"dsp/' "$prefix/include/fullminute" || fail 'an installed header asks for dsp/'

# The shared library shows what the headers declare, and nothing else.
nm -D --defined-only "$lib/libfullminute.so" | sed -nE 's/.* T ([^@]*).*/\1/p' | sort >"$work/shown"
grep -q '^fm_analyser_push$' "$work/shown" || fail 'fm_analyser_push is not shown'
while IFS= read -r symbol; do
    grep -qE "\\b$symbol\\(" "$prefix"/include/fullminute/*.h || fail "$symbol is shown and not declared"
done <"$work/shown"
grep -qE '^fm_(filter|decoder|spectrum)' "$work/shown" && fail 'inner functions are shown'

need 'a composed minute' "$program" compose "$work/sound.wav" --bpm 66 --seed 5
"$program" count "$work/sound.wav" --json >"$work/program.json" || fail 'the program does not count'
/usr/bin/python3 - "$work/sound.wav" >"$work/sound.raw" <<'EOF'
import sys, wave
sys.stdout.buffer.write(wave.open(sys.argv[1]).readframes(10**9))
EOF

# With find_package, shared and static.
need 'configure with find_package' "$cmake" -S "$here/consumer" -B "$work/consumer" \
    -DCMAKE_PREFIX_PATH="$prefix" -DCMAKE_C_COMPILER="$cc" \
    -DCMAKE_C_FLAGS='-Wall -Wextra -Wpedantic -Werror'
need 'build with find_package' "$cmake" --build "$work/consumer"
# With pkg-config, the same two.
export PKG_CONFIG_PATH=$lib/pkgconfig
# shellcheck disable=SC2046 # flags are words
need 'build with pkg-config' "$cc" -std=c17 -o "$work/by_pc" "$here/consumer/count_sound.c" \
    $(pkg-config --cflags --libs fullminute)
# shellcheck disable=SC2046
need 'static build with pkg-config' "$cc" -std=c17 -o "$work/by_pc_static" \
    "$here/consumer/count_sound.c" $(pkg-config --cflags fullminute) "$lib/libfullminute.a" \
    $(pkg-config --libs kissfft-float soxr) -lm
export LD_LIBRARY_PATH=$lib
wanted='^66 beats, 66\.0 a minute .*, regular, confidence 0\.9'
for consumer in "$work"/consumer/count_sound "$work"/consumer/count_sound_static \
    "$work/by_pc" "$work/by_pc_static"; do
    "$consumer" 4000 <"$work/sound.raw" >"$work/out" 2>&1 || fail "$consumer: status $?"
    grep -qE "$wanted" "$work/out" || fail "$consumer says: $(cat "$work/out")"
done
# The usual case in one call, in 20 lines of C at most, and the version that the program says.
lines=$(sed -E 's@/\*.*\*/@@' "$here/consumer/usual_case.c" | grep -c '[^[:space:]]')
[[ $lines -gt 5 && $lines -le 20 ]] || fail "the usual case has $lines lines"
# shellcheck disable=SC2046
need 'the usual case, built with pkg-config' "$cc" -std=c17 -Wall -Wextra -Wpedantic -Werror \
    -o "$work/usual_case" "$here/consumer/usual_case.c" $(pkg-config --cflags --libs fullminute)
version=$("$program" --version | sed 's/^fullminute //')
"$work/usual_case" <"$work/sound.raw" >"$work/out" 2>&1 || fail "usual_case: status $?"
[ "$(cat "$work/out")" = "$version: 66 beats" ] || fail "usual_case says: $(cat "$work/out")"
head -c 60000 /dev/zero | "$work/usual_case" >"$work/out" && fail 'usual_case counts silence'
grep -q 'not counted: ok, too_' "$work/out" || fail "usual_case, silence: $(cat "$work/out")"
"$work/usual_case" </dev/null >"$work/out" && fail 'usual_case counts nothing'
grep -q 'argument out of its documented range' "$work/out" || fail "usual_case, nothing: $(cat "$work/out")"
ldd "$work/consumer/count_sound" | grep -q libfullminute.so.0.1 || fail 'not linked to the shared library'
ldd "$work/consumer/count_sound_static" | grep -q libfullminute && fail 'the static one is not static'
head -c 60000 /dev/zero | "$work/by_pc" 4000 >"$work/out"
[ $? -eq 4 ] || fail 'silence is not refused'
grep -q 'not counted: too_' "$work/out" || fail "silence: $(cat "$work/out")"
"$work/by_pc" 10 </dev/null >"$work/out" 2>&1
[ $? -eq 2 ] || fail 'a rate out of range is not a usage error'

# From Python: the same numbers as the document of the program, and its errors.
if ! /usr/bin/python3 -c 'import numpy' 2>/dev/null; then
    echo 'NumPy is not installed: the Python example was not tried'
    [ "$failures" -gt 0 ] || exit 77
    exit 1
fi
export FULLMINUTE_LIBRARY=$lib/libfullminute.so
/usr/bin/python3 "$here/count_array.py" "$work/sound.wav" >"$work/python.json" || fail 'count_array.py'
/usr/bin/python3 - "$work" "$here" <<'EOF' || fail 'Python and the program differ'
import json, sys
import numpy as np
work, here = sys.argv[1:]
sys.dont_write_bytecode = True
sys.path.insert(0, here)
import count_array

document = json.load(open(f"{work}/program.json"))
found = json.load(open(f"{work}/python.json"))
heart, breath = document["heart"], document["breath"]
for key in ("status", "reason_code", "beats", "rate_bpm"):
    assert found[key] == heart[key], key
assert found["pattern"] == document["rhythm"]["pattern"]
assert found["breath_status"] == breath["status"]
assert found["breaths"] == breath["breaths"]
for key, there in (("s1_s", heart), ("s2_s", heart)):
    assert len(found[key]) == len(there[key]) > 60
    assert np.abs(np.subtract(found[key], there[key])).max() <= 0.000501, key
assert abs(found["confidence"] - heart["confidence"]) <= 0.000501
assert abs(found["sdnn_ms"] - document["rhythm"]["sdnn_ms"]) <= 0.051
assert abs(found["quality"] - document["quality"]["overall"]) <= 0.00501

# An array cut, turned into another type, or with nothing in it.
lib = count_array.load()
assert lib.fm_version().decode() == document["engine"], "another version than the program's"
x = np.frombuffer(open(f"{work}/sound.raw", "rb").read(), "<i2") / 32768.0
assert count_array.count(x[::1].astype("f8"), 4000, lib)["beats"] == heart["beats"]
assert count_array.count(x[: 5 * 4000], 4000, lib)["status"] == "refused"
assert count_array.count(np.zeros(80000), 4000, lib)["rate_bpm"] is None
for bad, rate_hz in ((x[:0], 4000), (x.reshape(2, -1), 4000), (x, 10)):
    try:
        count_array.count(bad, rate_hz, lib)
    except ValueError:
        continue
    raise AssertionError("taken without an error")
EOF

[ "$failures" -eq 0 ] && echo 'installed, linked and loaded: all give what the program gives'
exit $((failures > 0))
