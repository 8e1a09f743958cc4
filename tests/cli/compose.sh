#!/bin/bash
# `compose`: help, good runs, the same bytes again, nothing overwritten, wrong usage, bad
# recipe and interval files, no half file when the disk is full.
# usage: compose.sh PROGRAM SOURCE_DIR
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"

# rejects STATUS WORDS ARGUMENT...: exit status, words on stderr, nothing on stdout, and
# no file made
rejects() {
    local wanted=$1 words=$2
    shift 2
    local before after
    before=$(ls -A . made 2>/dev/null)
    "$program" compose "$@" >../out 2>../err </dev/null
    local got=$?
    [ $got -eq "$wanted" ] || fail "$*: exit $got, expected $wanted ($(cat ../err))"
    grep -qF -- "$words" ../err || fail "$*: not said: $words ($(cat ../err))"
    [ ! -s ../out ] || fail "$*: a result beside the error"
    [ "$(wc -l <../err)" -eq 1 ] || fail "$*: more than one sentence: $(cat ../err)"
    after=$(ls -A . made 2>/dev/null)
    [ "$before" = "$after" ] || fail "$*: files appeared: $after"
}

mkdir in
cd in || exit 1

# ---- Help ----
"$program" compose --help >help 2>err || fail "--help: $(cat err)"
for word in --rhythm --seed --noise --snr --intervals --small-microphone --recipe --force \
    --beats --age --in-a-row bigeminy fibrillation flutter friction 'OUT.wav|OUT.flac'; do
    grep -qF -- "$word" help || fail "help does not name $word"
done
awk 'length > 80 { exit 1 }' help || fail "help is wider than 80 columns"
rm help err

# ---- A good run of each format ----
"$program" compose a.flac --seconds 62 --bpm 66 --seed 5 >out 2>err || fail "a: $(cat err)"
grep -qF 'a.flac: 62.0 s' out || fail "a: $(cat out)"
grep -qF 'a.truth.json' out || fail "a: no word of the truth: $(cat out)"
[ ! -s err ] || fail "a: $(cat err)"
"$program" compose a.wav --seconds 62 --bpm 66 --seed 5 --force >out 2>err ||
    fail "a.wav: $(cat err)"
[ "$(head -c 4 a.flac)" = fLaC ] || fail "a.flac is no FLAC"
[ "$(head -c 4 a.wav)" = RIFF ] || fail "a.wav is no WAV"
[ "$(stat -c %s a.wav)" -eq $((62 * 4000 * 2 + 44)) ] || fail "a.wav: size"
[ "$(ls -A)" = "$(printf 'a.flac\na.truth.json\na.wav\nerr\nout')" ] ||
    fail "other files: $(ls -A)"
for member in '"schema": "fullminute.truth/1"' '"s1_s": [' '"s2_s": [' \
    '"inaudible_s1": []' '"breath_starts_s": [' '"radial_s": [' '"pattern": "regular"' \
    '"findings": []' '"seed": 5' '"sample_rate_hz": 4000' '"origin": "composed"' \
    '"licence": "MIT"' '"recipe": "--seconds 62 --seed 5 --bpm 66"'; do
    grep -qF -- "$member" a.truth.json || fail "truth has no $member"
done

# ---- The same bytes every time; another seed gives others ----
cp a.flac first.flac
cp a.truth.json first.json
"$program" compose a.flac --seconds 62 --bpm 66 --seed 5 --force >/dev/null || fail again
cmp -s a.flac first.flac || fail "the same seed gave other sound"
cmp -s a.truth.json first.json || fail "the same seed gave another truth"
"$program" compose a.flac --seconds 62 --bpm 66 --seed 6 --force >/dev/null || fail other
cmp -s a.flac first.flac && fail "another seed gave the same sound"

# ---- Nothing is overwritten unasked ----
rejects 2 '--force' a.flac
rm a.flac
rejects 2 'a.truth.json exists' a.flac
rm -f a.truth.json a.wav first.flac first.json out err

# ---- JSON on stdout is the truth document ----
"$program" compose j.wav --seconds 30 --rhythm bigeminy --json >out 2>err || fail json
cmp -s out j.truth.json || fail "--json is not the document"
grep -qF '"repeat": "2:2"' out || fail "bigeminy: $(cat out)"
rm -f j.* out err

# ---- A name of any bytes moves no cursor ----
name=$(printf 'a\033[31mb')
"$program" compose "$name.wav" --seconds 3 >out 2>err || fail "a name with an escape"
[ "$(tr -dc '\033' <out | wc -c)" -eq 0 ] || fail "compose prints a control character"
grep -qF 'truth in a?[31mb.truth.json' out || fail "a name with an escape: $(cat out)"
rm -f "$name.wav" "$name.truth.json" out err

# ---- Intervals from a file ----
printf '# fullminute.intervals/1\n0.8\n0.7\n0.9\n' >i.txt
"$program" compose i.wav --seconds 20 --intervals i.txt --first-beat-at 1 >out 2>err ||
    fail "intervals: $(cat err)"
grep -qF '"s1_s": [1.0, 1.8, 2.5, 3.4, 4.2, 4.9, 5.8' i.truth.json ||
    fail "intervals: $(head -c 200 i.truth.json)"
grep -qF '"pattern": null' i.truth.json || fail "intervals: a pattern that nobody knows"
grep -qF -- '--intervals i.txt' i.truth.json || fail "intervals: recipe"
rm -f i.wav i.truth.json out err
rejects 2 'say two things' x.wav --intervals i.txt --rhythm steady
rejects 2 '--intervals FILE' x.wav --rhythm given
rejects 3 'no-such.txt' x.wav --intervals no-such.txt
printf '# fullminute.intervals/1\n0.8\n9.5\n' >long.txt
rejects 2 'interval' x.wav --intervals long.txt

# ---- Beats in words ----
printf '# fullminute.rhythm/1\n# two, one early\nrepeat 2\n  beats 2 at 60\n  early 0.6\nend\n' >w.txt
"$program" compose w.wav --seconds 20 --beats w.txt --first-beat-at 1 >out 2>err ||
    fail "beats: $(cat err)"
grep -qF '"s1_s": [1.0, 2.0, 3.0, 3.6, 5.0, 6.0, 7.0, 7.6, 9.0' w.truth.json ||
    fail "beats: $(head -c 200 w.truth.json)"
grep -qF -- '--beats w.txt' w.truth.json || fail "beats: recipe"
rm -f w.wav w.truth.json out err
rejects 2 'leave one out' x.wav --beats w.txt --intervals i.txt
rejects 2 'say two things' x.wav --beats w.txt --rhythm steady
rejects 3 'no-such.txt' x.wav --beats no-such.txt
rejects 3 'line 1' x.wav --beats i.txt
printf '# fullminute.rhythm/1\nbeats 2 at 60\npause 0.5\n' >long.txt
rejects 3 'line 3' x.wav --beats long.txt
rm -f i.txt long.txt w.txt

# ---- Rows of early beats, flutter, age ----
"$program" compose c.wav --seconds 62 --rhythm premature --in-a-row 2 --events 2 \
    --early-s1 -8 --json >out 2>err || fail "couplets: $(cat err)"
grep -qF '"pattern": "occasionally irregular"' out || fail "couplets: $(cat out)"
"$program" compose f.wav --seconds 62 --rhythm flutter --flutter 280 --json >out 2>err ||
    fail "flutter: $(cat err)"
grep -qF '"pattern": "irregularly irregular"' out || fail "flutter: $(cat out)"
"$program" compose s.wav --seconds 62 --rhythm sinus-arrhythmia --age 70 --json >out 2>err ||
    fail "age: $(cat err)"
grep -qF '"pattern": "regular"' out || fail "age: $(cat out)"
rm -f c.* f.* s.* out err
rejects 2 'leave --bpm out' x.wav --rhythm flutter --bpm 75
rejects 2 'leave one out' x.wav --rhythm sinus-arrhythmia --age 40 --rsa 100
rejects 2 'without --rhythm sinus-arrhythmia' x.wav --age 40
rejects 2 'without --rhythm flutter' x.wav --conduct-most 4
rejects 2 'conduct_least' x.wav --rhythm flutter --conduct-least 5
rejects 2 'quarter' x.wav --rhythm premature --in-a-row 8 --events 4

# ---- Breathing ----
"$program" compose b.wav --seconds 70 --breathing waxing --breaths 24 --breath-pause 9 \
    --breath-snr 10 --expiration -5 --crackles 3 --wheeze 0.5 >out 2>err ||
    fail "breathing: $(cat err)"
grep -qF '"breath_snr_db": 10.0' b.truth.json || fail "level: $(tail -c 300 b.truth.json)"
rm -f b.* out err
printf '# fullminute.intervals/1\n3.5\n2.25\n' >l.txt
"$program" compose l.wav --seconds 20 --breath-lengths l.txt >out 2>err ||
    fail "breath lengths: $(cat err)"
sed 's/.*"breath_starts_s": \[\([^]]*\)\].*/\1/' l.truth.json | tr -d ' ' | tr ',' '\n' |
    awk 'NR > 1 { printf "%.2f\n", $1 - last } { last = $1 }' | sort -u >gaps
[ "$(tr '\n' ' ' <gaps)" = "2.25 3.50 " ] || fail "breath lengths: $(tr '\n' ' ' <gaps)"
grep -qF -- '--breath-lengths l.txt' l.truth.json || fail "breath lengths: recipe"
rm -f l.wav l.truth.json out err gaps
rejects 2 'say two things' x.wav --breath-lengths l.txt --breaths 12
rejects 2 'breathing must be even' x.wav --breath-lengths l.txt --breathing pause
rejects 3 'no-such.txt' x.wav --breath-lengths no-such.txt
rm -f l.txt
rejects 2 'set one level' x.wav --breath-snr 10 --breath-sound -20
rejects 2 '--breathing panting' x.wav --breathing panting
rejects 2 'room for three breaths' x.wav --breathing waxing --breaths 6 --swell 20
rejects 2 'needs a heart or noise' x.wav --no-heart --breath-snr 5
rejects 2 '3 to 60 s' x.wav --breathing pause --breath-pause 1

# ---- Wrong usage ----
rejects 2 'OUT.wav' # nothing named
rejects 2 '--snr changes nothing without --noise' x.wav --snr 5
rejects 2 '--group changes nothing without --rhythm dropped' x.wav --group 3
rejects 2 '--lost-at changes nothing' x.wav --lost-at 5
rejects 2 '.wav or .flac' x.mp3
rejects 2 '.wav or .flac' x
rejects 2 'did you mean --seed?' x.wav --sede 4
rejects 2 '--bpm 500' x.wav --bpm 500
rejects 2 '--bpm fast' x.wav --bpm fast
rejects 2 '--snr nan' x.wav --snr nan
rejects 2 '--seed -1' x.wav --seed -1
rejects 2 '--rhythm waltz' x.wav --rhythm waltz
rejects 2 'thunder' x.wav --noise speech,thunder
rejects 2 'none of' x.wav --noise speech,
rejects 2 'bpm is outside' x.wav --rhythm bigeminy --bpm 200
rejects 2 '40 million' x.wav --seconds 7200 --rate 48000
rejects 2 'one recording at a time; not also y.wav' x.wav y.wav
rejects 1 'folder' no-such-folder/x.wav
mkdir d.wav
rejects 2 'folder' d.wav
rmdir d.wav
ln -s /dev/full device.wav
rejects 1 'no ordinary file' device.wav --force
rm device.wav

# ---- Recipe files ----
mkdir made
recipe() { # recipe TEXT: a recipe file
    printf '%b' "$1" >../r.txt
}
recipe '# fullminute.recipe/1\n# two\n\none.wav --seconds 3 # short\ntwo.flac --seconds 4\n'
"$program" compose made --recipe ../r.txt >out 2>err || fail "recipe: $(cat err)"
[ "$(ls made)" = "$(printf 'one.truth.json\none.wav\ntwo.flac\ntwo.truth.json')" ] ||
    fail "recipe: $(ls made)"
# Every file that a line names lies beside the recipe
printf '# fullminute.intervals/1\n3.5\n2.25\n' >../lengths.txt
printf '# fullminute.intervals/1\n0.8\n' >../beats.txt
recipe '# fullminute.recipe/1\na.wav --breath-lengths lengths.txt --intervals beats.txt\n'
mkdir beside
"$program" compose beside --recipe ../r.txt >out 2>err || fail "beside: $(cat err)"
rm -rf beside ../lengths.txt ../beats.txt
recipe '# fullminute.recipe/1\n# two\n\none.wav --seconds 3 # short\ntwo.flac --seconds 4\n'
rm -f out err
rejects 2 'one.wav exists' made --recipe ../r.txt
rejects 2 'does not go with --recipe' made --recipe ../r.txt --bpm 80
recipe 'one.wav --seconds 3\n'
rejects 3 'line 1: expected' made --recipe ../r.txt
recipe '# fullminute.recipe/1\nthree.wav --bpm 9\n'
rejects 3 'line 2: --bpm 9' made --recipe ../r.txt
recipe '# fullminute.recipe/1\nthree.wav\nthree.wav\n'
rejects 3 'line 3: this name' made --recipe ../r.txt
recipe '# fullminute.recipe/1\n../three.wav\n'
rejects 3 'without a folder' made --recipe ../r.txt
recipe '# fullminute.recipe/1\nthree.wav four.wav\n'
rejects 3 'line 2' made --recipe ../r.txt
recipe '# fullminute.recipe/1\nthree.wav --force\n'
rejects 3 'command line' made --recipe ../r.txt
recipe '# fullminute.recipe/1\nthree\0.wav\n'
rejects 3 'not a text file' made --recipe ../r.txt
# One bad line, wherever it stands: nothing at all is written
good='# fullminute.recipe/1\nthree.wav --seconds 3\n'
recipe "${good}four.wav --bpm 9\n"
rejects 3 'line 3: --bpm 9' made --recipe ../r.txt
recipe "${good}four.wav --rhythm bigeminy --bpm 200\n"
rejects 3 'line 3: bpm is outside' made --recipe ../r.txt
recipe "${good}four.wav --snr 3\n"
rejects 3 'line 3: --snr changes nothing' made --recipe ../r.txt
recipe "${good}four.wav --intervals none.txt\n"
rejects 3 'none.txt' made --recipe ../r.txt
recipe "${good}four.mp3\n"
rejects 2 '.wav or .flac' made --recipe ../r.txt
recipe "${good}one.wav --seconds 3\n"
rejects 2 'one.wav exists' made --recipe ../r.txt
recipe "${good}three.flac --seconds 3\n"
rejects 3 'line 3: its truth would have the same name' made --recipe ../r.txt
rejects 3 'no-such' made --recipe no-such
rejects 3 'made' made --recipe made

# ---- The recordings' own recipes name every recording ----
for flac in "$source_dir"/recordings/*.flac; do
    grep -q "^$(basename "$flac") " "$source_dir/recordings/recipes.txt" ||
        fail "recipes.txt does not make $(basename "$flac")"
done

# ---- A full disk: said, and nothing left ----
for name in full.wav full.flac; do
    before=$(ls -A)
    (
        ulimit -f 64
        exec "$program" compose $name --noise white
    ) >../out 2>../err
    got=$?
    [ $got -eq 1 ] || fail "$name on a full disk: exit $got ($(cat ../err))"
    grep -qF "cannot write $name" ../err || fail "$name on a full disk: $(cat ../err)"
    [ "$(ls -A)" = "$before" ] || fail "$name on a full disk: left $(ls -A)"
done

[ $failures -eq 0 ] && echo "compose: all as expected"
exit $((failures > 0))
