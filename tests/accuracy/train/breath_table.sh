#!/usr/bin/env bash
# Makes dsp/breath/breath_weights.h and dsp/breath/breath_confidence_weights.h: the rows they are learned from,
# the networks, programs that had not learned from a fold's people, their answers, and from
# those the confidence. Some twenty minutes on two cores and a GPU; without one add an hour and
# a half (--plan folds, one network after the other).
#   usage: breath_table.sh WORK_FOLDER OPEN_DATA [folds|paces]
# paces: also a table without each pace, for tests/accuracy/RESULTS.md (25 more, GPU).
# Run from the top of the source, with the evaluation built (ninja -C .build/release accuracy).
# Needs PyTorch (Debian: python3-torch) and SoX. WORK_FOLDER keeps what was made: rows (their
# digests are printed), WORK/tables/*.h (all, cvK, lpoK_P) and WORK/accuracy-cvK.
set -eu
work=$(mkdir -p "$1" && cd "$1" && pwd)
open_data=$(cd "$2" && pwd)
plan=${3:-folds}
here=tests/accuracy/train
python=${PYTHON:-/usr/bin/python3}
build=.build/release
tables=$work/tables
mkdir -p "$work/rows" "$work/answers" "$tables"

# rows FOLDER NAME PROGRAM OPTIONS...: kept, once made.
rows()
{
    local target=$work/$1/$2.rows program=$3
    shift 3
    [ -s "$target" ] || { "$program" --all "$@" >"$target.part" && mv "$target.part" "$target"; }
}

# program NAME: the evaluation with the tables NAME.h and, once made, conf-NAME.h.
program()
{
    local flags="-std=c17 -O3 -fno-math-errno -fno-trapping-math -ffp-contract=off -I." f
    local confidence=$tables/conf-$1.h
    [ -f "$confidence" ] || confidence=$PWD/dsp/breath/breath_confidence_weights.h
    for f in breath_choice breath_confidence; do
        # shellcheck disable=SC2086 # a list of words
        cc $flags "-DFM_BREATH_WEIGHTS=\"$tables/$1.h\"" \
            "-DFM_BREATH_CONFIDENCE_WEIGHTS=\"$confidence\"" -c dsp/breath/$f.c -o "$work/$f.c.o"
    done
    cp $build/libfullminute.a "$work/library.a"
    ar r "$work/library.a" "$work/breath_choice.c.o" "$work/breath_confidence.c.o"
    # shellcheck disable=SC2046 # lists of words
    cc -o "$work/accuracy-$1" $build/tests/accuracy/CMakeFiles/accuracy.dir/*.o "$work/library.a" \
        $(pkg-config --libs kissfft-float soxr sndfile jansson) -lpthread -lm
}

plain=$build/tests/accuracy/accuracy
"$python" $here/breath_lists.py "$open_data" "$work"
rows rows real $plain --breath real "$work/real.csv"
for seed in 400000 420000 430000; do
    rows rows c$seed $plain --first-seed $seed --breath composed 3000
done
rows rows y $plain --first-seed 410000 --breath cycles "$open_data/breath-cycles.csv" 700
rows rows z $plain --first-seed 411000 --breath short-cycles "$open_data/breath-cycles.csv" 700
rows rows m $plain --breath manikin "$open_data/manikin"
sha256sum "$work"/rows/*.rows
"$python" $here/train_breath.py --plan "$plan" --real "$work/real.csv" --out "$tables" \
    "$work"/rows/*.rows

# What programs answer that had not learned from the person; the composed ones here are other
# seeds than above, so any fold's program will do.
for k in 0 1 2 3 4; do
    program cv$k
    "$python" $here/breath_rows.py "$work/rows/real.rows" "$work/real.csv" $k >"$work/real-$k.csv"
    rows answers real$k "$work/accuracy-cv$k" --breath real "$work/real-$k.csv"
    rows answers all-m$k "$work/accuracy-cv$k" --breath manikin "$open_data/manikin"
    "$python" $here/breath_rows.py "$work/answers/all-m$k.rows" "$work/real.csv" $k \
        "$work/answers/m$k.rows"
    mv "$work/answers/all-m$k.rows" "$work/all-m$k.rows"
done
rows answers c "$work/accuracy-cv0" --first-seed 450000 --breath composed 1600
rows answers y "$work/accuracy-cv0" --first-seed 414000 --breath cycles \
    "$open_data/breath-cycles.csv" 250
rows answers z "$work/accuracy-cv0" --first-seed 415000 --breath short-cycles \
    "$open_data/breath-cycles.csv" 250
"$python" $here/train_breath_confidence.py --plan "$plan" --real "$work/real.csv" \
    --out "$tables" "$work"/answers/*.rows
cp "$tables/all.h" dsp/breath/breath_weights.h
cp "$tables/conf-all.h" dsp/breath/breath_confidence_weights.h
