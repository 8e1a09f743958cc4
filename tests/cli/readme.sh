#!/usr/bin/env bash
# What the README tells a person to type works as written: every line in its ```sh
# blocks that starts with `fullminute` or `mkdir` is run, in order, and must exit 0, or
# with the status that a comment `# exits N` promises. Called as `bash readme.sh PROGRAM SOURCE_DIR`.
set -u
export LC_ALL=C
program=$1 source_dir=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir "$work/bin" "$work/home"
export HOME=$work/home
ln -s "$program" "$work/bin/fullminute"
ln -s "$source_dir/recordings" "$work/recordings"
PATH=$work/bin:$PATH
cd "$work" || exit 1
failures=0
n=0

# sh_lines FILE: the lines to type in its ```sh blocks.
sh_lines()
{
    sed -n '/^```sh$/,/^```$/p' "$1" | grep -E '^(fullminute|mkdir) '
}

while IFS= read -r line; do
    n=$((n + 1))
    expected=0
    [[ $line =~ \#\ exits\ ([0-9]+) ]] && expected=${BASH_REMATCH[1]}
    bash -c "$line" >out 2>err </dev/null
    status=$?
    if [ "$status" -ne "$expected" ]; then
        printf 'FAIL: exits %d, not %d: %s\n' "$status" "$expected" "$line"
        cat err
        failures=$((failures + 1))
    elif [ ! -s out ] && [[ $line =~ ^fullminute\ (count|check)\  ]]; then
        printf 'FAIL: says nothing: %s\n' "$line"
        failures=$((failures + 1))
    fi
done < <(sh_lines "$source_dir/README.md")

# The files that those lines promise.
for file in my-minute.svg lesson.flac lesson.truth.json lesson.png quiet.flac my-set/steady-072.flac; do
    [ -s "$file" ] || {
        printf 'FAIL: no file %s\n' "$file"
        failures=$((failures + 1))
    }
done

# The picture in the README is the one the program draws, but for the last digits, which
# may differ from one compiler to another.
shape()
{
    sed -E 's/-?[0-9]+(\.[0-9]+)?/#/g' "$1"
}
if ! diff <(shape "$source_dir/recordings/premature-beats.svg") <(shape tapped.svg) >out; then
    printf 'FAIL: recordings/premature-beats.svg is not what the program draws now\n'
    head -n 6 out
    failures=$((failures + 1))
fi

# Every command that the README speaks of exists, and the number of recordings is right.
for command in $(grep -oE '`(count|check|compose|demonstrate|batch|logbook|page|sources|merge|summary|worksheet|report)`' \
    "$source_dir/README.md" | tr -d '`' | sort -u); do
    fullminute "$command" --help >out 2>&1 || {
        printf 'FAIL: the README names a command %s\n' "$command"
        failures=$((failures + 1))
    }
done
# What is said not to be done is not done, and the other way round.
fullminute count recordings/steady-072.flac >out 2>err
not_done=$(sed -n '/^## What this version does not do/,/^## /p' "$source_dir/README.md" | tr '\n' ' ')
if grep -q 'not counted by this version' out; then
    [[ $not_done == *'count respirations'* ]]
else
    [[ $not_done != *'count respirations'* ]]
fi || {
    printf 'FAIL: README and program disagree on whether respirations are counted\n'
    failures=$((failures + 1))
}

said=$(sed -nE 's/^There are ([0-9]+) recordings.*/\1/p' "$source_dir/README.md")
there=$(find "$source_dir/recordings/" -name '*.flac' | wc -l)
[ "$said" = "$there" ] || {
    printf 'FAIL: the README says %s recordings, there are %s\n' "$said" "$there"
    failures=$((failures + 1))
}

[ "$n" -ge 10 ] || {
    printf 'FAIL: only %d lines found to run\n' "$n"
    failures=$((failures + 1))
}
printf '%d lines of the README run, %d failures\n' "$n" "$failures"
exit $((failures > 0))
