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
# What is done is not said to be not done.
fullminute count recordings/steady-072.flac >out 2>err
not_done=$(sed -n '/^## What this version does not do/,/^## /p' "$source_dir/README.md" | tr '\n' ' ')
grep -qE '^Respirations: [0-9]+ in ' out && [ -n "$not_done" ] && [[ $not_done != *'count respirations'* ]] || {
    printf 'FAIL: README and program disagree on whether respirations are counted\n'
    failures=$((failures + 1))
}

said=$(sed -nE 's/^There are ([0-9]+) recordings.*/\1/p' "$source_dir/README.md")
there=$(find "$source_dir/recordings/" -name '*.flac' | wc -l)
[ "$said" = "$there" ] || {
    printf 'FAIL: the README says %s recordings, there are %s\n' "$said" "$there"
    failures=$((failures + 1))
}

# What recordings/README.md says of short counts of respirations, from the known breaths:
# every start at a tenth of a second, the number multiplied up.
truth=$(sed 's/.*"breath_starts_s": \[\([^]]*\)\].*/\1/' "$source_dir/recordings/paused-breathing.truth.json" |
    tr -d ' ' | tr ',' '\n' | awk '
    { t[NR] = $1; if (NR > 1 && $1 - t[NR - 1] > gap) gap = $1 - t[NR - 1] }
    function least_and_most(seconds,    from, i, n, low, high) {
        low = 99; high = 0
        for (from = 0; from <= 60 - seconds; from += 0.1) {
            n = 0
            for (i = 1; i <= NR; i++) n += t[i] >= from && t[i] < from + seconds
            n *= 60 / seconds
            if (n < low) low = n
            if (n > high) high = n
        }
        return low " to " high
    }
    END {
        for (i = 1; i <= NR; i++) minute += t[i] < 60
        printf "for %.0f s no breath begins. 15 s counts give anything from %s, 30 s counts %s; the minute is %d.",
            gap, least_and_most(15), least_and_most(30), minute
    }')
grep '^| paused-breathing ' "$source_dir/recordings/README.md" | grep -qF -- "$truth" || {
    printf 'FAIL: recordings/README.md does not say of paused-breathing: %s\n' "$truth"
    failures=$((failures + 1))
}

[ "$n" -ge 10 ] || {
    printf 'FAIL: only %d lines found to run\n' "$n"
    failures=$((failures + 1))
}
printf '%d lines of the README run, %d failures\n' "$n" "$failures"
exit $((failures > 0))
