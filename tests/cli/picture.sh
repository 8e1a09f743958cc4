#!/bin/bash
# Pictures of a counted minute as files: SVG and PNG, never half there, never over
# another file unless told.
# usage: picture.sh PROGRAM SOURCE_DIR
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"
steady=$recordings/steady-072.flac

complains() {
    tr '\n' ' ' <"$work/err" | grep -qF -- "$1" ||
        fail "no complaint about: $1 ($(cat "$work/err"))"
}

has() {
    grep -qF -- "$2" "$work/$1" || fail "$1 lacks: $2"
}

lacks() {
    ! grep -qF -- "$2" "$work/$1" || fail "$1 has: $2"
}

# nothing but these files lies in the folder
only() {
    local found
    found=$(cd "$work/box" && echo *)
    [ "$found" = "$*" ] || fail "in the folder: $found, expected: $*"
}
mkdir "$work/box"

# a picture changes nothing of what is said
run 0 count "$steady"
cp "$work/out" "$work/plain"
run 0 count "$steady" --picture "$work/box/a.svg"
cmp -s "$work/plain" "$work/out" || fail "the count reads otherwise with a picture"
only a.svg
has box/a.svg "steady-072.flac"
has box/a.svg "<title>Minute dial</title>"
has box/a.svg "S1 heard"
if command -v xmllint >/dev/null; then
    xmllint --noout "$work/box/a.svg" || fail "a.svg is not well-formed"
else
    echo "note: no xmllint here, well-formedness not checked"
fi

# the same bytes again, whatever the locale
LC_ALL=de_DE.UTF-8 "$program" count "$steady" --picture "$work/box/b.svg" >"$work/out"
cmp -s "$work/box/a.svg" "$work/box/b.svg" || fail "a second picture differs"
rm "$work/box/b.svg"

# an existing file stays unless told
cp "$work/box/a.svg" "$work/kept"
run 2 count "$recordings/steady-084.flac" --picture "$work/box/a.svg"
complains "a.svg"
complains "--force"
cmp -s "$work/kept" "$work/box/a.svg" || fail "an existing picture was overwritten"
run 0 count "$recordings/steady-084.flac" --picture "$work/box/a.svg" --force
has box/a.svg "steady-084.flac"
rm "$work/box/a.svg"

# a name that says no kind is refused before anything is counted
for name in a.pdf a .svg/a; do
    run 2 count "$steady" --picture "$work/box/$name"
    complains ".svg or .png"
    [ ! -s "$work/out" ] || fail "counted although $name cannot be drawn"
done
only '*'

# a folder that is not there, and a full disk, leave nothing behind
run 1 count "$steady" --picture "$work/nowhere/a.svg"
complains "nowhere"
if [ -c /dev/full ]; then
    ln -s /dev/full "$work/box/full.svg"
    run 1 count "$steady" --picture "$work/box/full.svg" --force
    complains "full.svg"
    rm -f "$work/box/full.svg"
fi
only '*'

# a refused minute: the reason in words, no beat, no number of the heart
run 4 count "$recordings/unusable.flac" --picture "$work/box/refused.svg"
has box/refused.svg "no count"
has box/refused.svg "count by hand"
lacks box/refused.svg "S1 heard"
lacks box/refused.svg "per minute"
lacks box/refused.svg "median"
rm -f "$work/box/refused.svg"

# taps, each joined to its beat
{
    echo "# fullminute.taps/1"
    awk 'BEGIN { for (t = 0.4; t < 60; t += 60 / 70) printf "%.3f\n", t }'
} >"$work/taps.txt"
run 0 check "$steady" --taps "$work/taps.txt" --picture "$work/box/taps.svg"
has box/taps.svg "tap, joined to its beat"
has box/taps.svg ">You<"
rm -f "$work/box/taps.svg"

# PNG: drawn by a module that is loaded only when one is asked for
if command -v ldd >/dev/null; then
    ! ldd "$program" | grep -q rsvg || fail "librsvg is linked into the program"
fi
module=$(dirname "$program")/fullminute_png.so
if [ -r "$module" ]; then
    run 0 count "$steady" --picture "$work/box/a.png"
    cmp -s "$work/plain" "$work/out" || fail "the count reads otherwise with a PNG"
    [ "$(head -c 8 "$work/box/a.png" | od -An -tx1 | tr -d ' \n')" = 89504e470d0a1a0a ] ||
        fail "a.png is no PNG"
    rm -f "$work/box/a.png"

    # found where it is installed, beside bin/ in lib/
    mkdir -p "$work/prefix/bin"
    cp "$program" "$work/prefix/bin/fullminute"
    libdir=$(cd "$(dirname "$program")" && sed -n 's/^CMAKE_INSTALL_LIBDIR:[A-Z]*=//p' CMakeCache.txt)
    mkdir -p "$work/prefix/${libdir:-lib}/fullminute"
    cp "$module" "$work/prefix/${libdir:-lib}/fullminute/"
    "$work/prefix/bin/fullminute" count "$steady" --picture "$work/box/b.png" \
        >"$work/out" 2>"$work/err" || fail "module not found in lib: $(cat "$work/err")"
    only b.png
    rm -f "$work/box/b.png"
else
    echo "skipped: fullminute_png.so was not built (librsvg missing), no PNG drawn"
fi

# a picture never takes the place of what it is made from, by whatever name
mkdir "$work/own"
cp "$steady" "$work/own/minute.svg"
ln -s minute.svg "$work/own/soft.svg"
printf '# fullminute.taps/1\n1.0\n2.0\n' >"$work/own/taps.svg"
cp -r "$work/own" "$work/own.before"
for name in minute soft; do
    run 2 count "$work/own/minute.svg" --picture "$work/own/$name.svg" --force
    complains "give the picture another name"
    run 2 check "$work/own/minute.svg" --manual 72 --picture "$work/own/$name.svg" --force
    complains "give the picture another name"
done
"$program" count - --picture "$work/own/minute.svg" --force <"$work/own/minute.svg" \
    >"$work/out" 2>"$work/err" && fail "the picture took standard input's place"
run 2 check "$steady" --manual 72 --taps "$work/own/taps.svg" \
    --picture "$work/own/taps.svg" --force
complains "give the picture another name"
run 2 check "$steady" --manual-breaths 16 --manual 72 --breath-taps "$work/own/taps.svg" \
    --picture "$work/own/taps.svg" --force
complains "give the picture another name"
diff -r "$work/own" "$work/own.before" || fail "a file that was read has changed"

# without the module: a clear sentence, no file
mkdir "$work/alone"
cp "$program" "$work/alone/fullminute"
"$work/alone/fullminute" count "$steady" --picture "$work/box/c.png" \
    >"$work/out" 2>"$work/err" </dev/null
status=$?
if [ $status -eq 0 ]; then
    echo "note: a module is installed on this machine, its absence not checked"
    rm -f "$work/box/c.png"
else
    [ $status -eq 1 ] || fail "without the module: exit $status, expected 1"
    complains "fullminute_png.so"
    complains ".svg"
fi
only '*'

[ $failures -eq 0 ] || echo "$failures failed"
exit $((failures > 0))
