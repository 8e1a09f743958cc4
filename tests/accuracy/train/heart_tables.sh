#!/usr/bin/env bash
# Learns dsp/heart/emission_weights.h and dsp/heart/confidence_weights.h, and a pair of each without every fold.
#   usage: heart_tables.sh WORK OPEN_DATA
# Run from the top of the source, with accuracy_export built (.build/release). WORK gets everything;
# what is there already is not made again. A GPU learns the tables in minutes; without one it takes
# hours. Leaves WORK/emission_K.h and WORK/confidence_K.h: K 0 to 4 without that fold, -1 with all,
# which are the shipped ones.
set -eu
work=$1
data=$(cd "$2" && pwd)
here=tests/accuracy/train
mkdir -p "$work"
work=$(cd "$work" && pwd)
python=${PYTHON:-/usr/bin/python3}
export OPENBLAS_NUM_THREADS=1
export_all=.build/release/tests/accuracy/accuracy_export

[ -f "$work/marked/truth.csv" ] || "$python" $here/marked_folders.py --folds $here/folds.csv \
    --out "$work/marked" --hum "$work/hum" "$data/heart-states" "$data/heart-children"
[ -f "$work/fast/truth.csv" ] || "$python" $here/spoilt_folders.py "$work/marked" \
    --mishap "$work/mar" --contact "$work/lost" lost --contact "$work/away" away \
    --speed "$work/slow" slow 0.87 --speed "$work/fast" fast 1.15
patches() { # file source...
    [ -f "$work/$1" ] || "$export_all" patches "$work/$1" "${@:2}"
}
patches heart.bin folder "$data/heart-2016"
learned=("--heart" "$work/heart.bin" "--truth" "$data/heart-2016/truth.csv")
for set in marked mar hum slow fast; do
    patches $set.bin folder "$work/$set"
    learned+=("--heart" "$work/$set.bin" "--truth" "$work/$set/truth.csv")
done
patches c1.bin composed 100000 1000
patches c2.bin composed 101000 1000

flags="-std=c17 -O2 -ffp-contract=off -D_POSIX_C_SOURCE=200809L -I. -Itests/accuracy"
flags="$flags $(pkg-config --cflags kissfft-float)"
libraries="$(pkg-config --libs kissfft-float soxr sndfile jansson) -lpthread -lm"
for fold in -1 0 1 2 3 4; do
    [ -f "$work/net_${fold}_2.npz" ] || "$python" $here/train_emission.py --fold $fold --members 3 \
        "${learned[@]}" --folds "$work/marked/folds.csv" --out "$work/net_$fold" \
        "$work/c1.bin" "$work/c2.bin"
    [ -f "$work/emission_$fold.h" ] || "$python" $here/emission_table.py \
        --out "$work/emission_$fold.h" "$work"/net_"$fold"_[012].npz
    # shellcheck disable=SC2086
    cc $flags -DFM_EMISSION_WEIGHTS="\"$work/emission_$fold.h\"" -o "$work/export_$fold" \
        $here/export*.c tests/accuracy/{analyse,sampler,truth,describe,music}.c dsp/*.c dsp/*/*.c $libraries
done

evidence() { # fold file source...
    [ -f "$work/$2" ] || "$work/export_$1" evidence "$work/$2" "${@:3}"
}
evidence -1 e1.txt composed 300000 600
evidence -1 e2.txt composed 301000 600
evidence -1 e3.txt composed 302000 420
evidence -1 e5.txt composed 310000 60 20
evidence -1 e6.txt noheart 320000 600
evidence -1 e7.txt music 330000 300
for fold in 0 1 2 3 4; do
    for set in heart marked hum mar lost away; do
        source=$work/$set
        [ $set = heart ] && source=$data/heart-2016
        part=$work/part_${set}_$fold
        mkdir -p "$part"
        for inside in a sound rpeaks; do
            [ -e "$source/$inside" ] && ln -sfn "$source/$inside" "$part/$inside"
        done
        awk -F, -v fold=$fold 'NR == FNR { if ($2 == fold) keep[$1] = 1; next }
            FNR == 1 || ($1 in keep)' "$work/marked/folds.csv" "$source/truth.csv" >"$part/truth.csv"
        window=10
        case $set in hum | mar | lost | away) window= ;; esac
        # shellcheck disable=SC2086
        evidence $fold ev_${set}_$fold.txt folder "$part" $window
    done
done
for fold in -1 0 1 2 3 4; do
    [ -f "$work/confidence_$fold.h" ] || "$python" $here/train_confidence.py --fold $fold \
        --table-only --folds "$work/marked/folds.csv" \
        --out "$work/confidence_$fold.h" "$work"/e?.txt "$work"/ev_*.txt
done
