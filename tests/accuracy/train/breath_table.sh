#!/usr/bin/env bash
# Makes dsp/breath_weights.h: the readings it is learned from, then the networks. The same
# table to the last digit on the same machine; about 45 minutes of two cores.
#   usage: breath_table.sh WORK_FOLDER OPEN_DATA [WEIGHTS_FILE]
#          breath_table.sh --leave-out WORK_FOLDER OPEN_DATA
# The second, after the first: for each kind of the manikin's lung sounds a table learned
# without any mixture that holds it, and what that table says of those mixtures. These six
# are learned from half the composed breathings, by two networks each instead of four.
# Run from the top of the source, with the evaluation built (ninja -C .build/release accuracy).
set -eu
leave_out=no
[ "$1" != --leave-out ] || { leave_out=yes; shift; }
work=$1
open_data=$(cd "$2" && pwd)
weights=${3:-dsp/breath_weights.h}
accuracy=${ACCURACY:-.build/release/tests/accuracy/accuracy}
here=tests/accuracy/train
python=${PYTHON:-/usr/bin/python3}
export OPENBLAS_NUM_THREADS=1
mkdir -p "$work"
work=$(cd "$work" && pwd)

# rows NAME OPTIONS...: kept, once made.
rows()
{
    local name=$1
    shift
    [ -f "$work/$name.txt" ] || {
        "$accuracy" --all "$@" >"$work/$name.part"
        mv "$work/$name.part" "$work/$name.txt"
    }
}

for seed in 400000 402000 404000 406000 420000 422000 424000 426000 428000 430000 432000 \
    434000 436000 438000; do
    rows c$seed --first-seed $seed --breath composed 1200
done
rows y --first-seed 410000 --breath cycles "$open_data/breath-cycles.csv" 500
rows z --first-seed 411000 --breath short-cycles "$open_data/breath-cycles.csv" 500
rows m --breath manikin "$open_data/manikin"
# What a recording of each kind counts: breath sound, nothing, real lengths, the manikin more;
# the manikin less beside fewer composed ones.
manikin=8
[ $leave_out = no ] || manikin=4
learn=("$python" "$here/train_breath.py"
    --weight '0=3' --weight '1=2' --weight '3=2' --weight '4=3' --weight "5=$manikin")

if [ $leave_out = no ]; then
    "${learn[@]}" --members 4 --steps 900 --out "$weights" "$work"/[cmyz]*.txt
    exit
fi

flags="-std=c17 -O2 -ffp-contract=off -D_POSIX_C_SOURCE=200809L -I. -Itests/accuracy"
flags="$flags $(pkg-config --cflags kissfft-float)"
libraries="$(pkg-config --libs kissfft-float soxr sndfile jansson) -lpthread -lm"
evaluation=$(ls tests/accuracy/*.c | grep -v test_arithmetic)
results=()
while IFS= read -r lung; do
    name=${lung// /-}
    "${learn[@]}" --members 2 --leave-out "$lung" --manikin "$open_data/manikin/truth.csv" \
        --out "$work/without-$name.h" "$work"/c40*.txt "$work"/[myz].txt
    # shellcheck disable=SC2086 # lists of words
    cc $flags -DFM_BREATH_WEIGHTS="\"$work/without-$name.h\"" -o "$work/accuracy-$name" \
        $evaluation dsp/*.c $libraries
    "$work/accuracy-$name" -v --breath manikin "$open_data/manikin" >"$work/without-$name.out"
    results+=("$lung=$work/without-$name.out")
done < <(cut -d, -f5 "$open_data/manikin/truth.csv" | tail -n +2 | sort -u)
"$python" "$here/manikin_left_out.py" "$open_data/manikin/truth.csv" "${results[@]}"
