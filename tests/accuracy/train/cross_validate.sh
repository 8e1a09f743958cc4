#!/usr/bin/env bash
# Scores the open heart recordings, each decoded with the emission table that was trained
# without its fold, and leaves their evidence for train_confidence.py.
#   usage: [EVIDENCE="FILES"] cross_validate.sh HEART_FOLDER WORK_FOLDER COMPOSED_PATCHES...
# With EVIDENCE (windows of composed and other recordings, by accuracy_export) and the fold
# evidence of an earlier run in WORK_FOLDER, the confidence table is learned inside each fold
# too, and the two bars that the rule gives there are printed; without it the shipped one is used.
# Run from the top of the source. WORK_FOLDER gets tables, builds and results; tables that are
# there already are not trained again.
set -eu
heart=$(cd "$1" && pwd)
work=$2
shift 2
here=tests/accuracy/train
mkdir -p "$work"
work=$(cd "$work" && pwd)
export OPENBLAS_NUM_THREADS=1
python=${PYTHON:-/usr/bin/python3}

flags="-std=c17 -O2 -ffp-contract=off -D_POSIX_C_SOURCE=200809L -I. -Itests/accuracy"
flags="$flags $(pkg-config --cflags kissfft-float)"
libraries="$(pkg-config --libs kissfft-float soxr sndfile jansson) -lpthread -lm"
evaluation=$(ls tests/accuracy/*.c | grep -v test_arithmetic)

build() { # fold
    confidence=dsp/heart/confidence_weights.h
    if [ -n "${EVIDENCE:-}" ]; then
        "$python" $here/train_confidence.py --fold $1 --folds $here/folds.csv \
            --out "$work/confidence_$1.h" $EVIDENCE "$work"/evidence_[0-4].txt
        confidence=$work/confidence_$1.h
    fi
    cc $flags -DFM_EMISSION_WEIGHTS="\"$work/emission_$1.h\"" \
        -DFM_CONFIDENCE_WEIGHTS="\"$confidence\"" \
        -o "$work/accuracy_$1" $evaluation dsp/*.c dsp/*/*.c $libraries
    cc $flags -DFM_EMISSION_WEIGHTS="\"$work/emission_$1.h\"" \
        -o "$work/export_$1" $here/export*.c tests/accuracy/{analyse,sampler,truth,describe,music}.c \
        dsp/*.c dsp/*/*.c $libraries
}

for fold in 0 1 2 3 4; do
    if [ ! -f "$work/emission_$fold.h" ]; then
        [ -f "$work/heart.bin" ] ||
            .build/release/tests/accuracy/accuracy_export patches "$work/heart.bin" folder "$heart"
        [ -f "$work/network_${fold}_2.npz" ] ||
            "$python" $here/train_emission.py --out "$work/network_$fold" --members 3 \
                --fold $fold --folds $here/folds.csv --heart "$work/heart.bin" \
                --truth "$heart/truth.csv" "$@"
        "$python" $here/emission_table.py --out "$work/emission_$fold.h" \
            "$work"/network_"$fold"_[012].npz
    fi
    build $fold
    # A folder like the whole, with this fold's rows alone.
    part=$work/fold_$fold
    mkdir -p "$part"
    for inside in a rpeaks; do ln -sfn "$heart/$inside" "$part/$inside"; done
    awk -F, -v fold=$fold 'NR == FNR { if ($2 == fold) keep[$1] = 1; next }
        FNR == 1 || ($1 in keep)' $here/folds.csv "$heart/truth.csv" > "$part/truth.csv"
    "$work/accuracy_$fold" --save "$work/results_$fold.bin" "$part" > /dev/null
    "$work/export_$fold" evidence "$work/evidence_$fold.txt" folder "$part" 10
done
cat "$work"/results_[0-4].bin > "$work/results.bin"
"$work/accuracy_0" --load "$work/results.bin" "$heart"
