#!/bin/bash
# A worksheet as an educator uses it: made, sealed, opened, scored; and what tells nothing.
# usage: worksheet.sh PROGRAM SOURCE_DIR
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"
verb=worksheet
echo 'four quiet words here' >phrase
echo 'other quiet words here' >wrong
echo 'short' >short

run 2 make "$recordings" sheet --items 6 --seed 3
grep -q -- '--phrase-file' err || fail 'without a terminal, no way shown'
run 2 make "$recordings" sheet --items 6 --seed 3 --phrase-file short
run 0 make "$recordings" sheet --items 6 --seed 3 --phrase-file phrase --title 'Class of Monday'
said_pdf=no
! grep -q sheet.pdf out || said_pdf=yes
[ "$(ls sheet | grep -v '^sheet.pdf$' | tr '\n' ' ')" = 'item-01.wav item-02.wav item-03.wav item-04.wav item-05.wav item-06.wav key.sealed sheet.html ' ] ||
    fail "what lies there: $(ls sheet)"

# Nothing tells one item from another, and nothing but the key tells the truth.
[ "$(stat -c %s sheet/*.wav | sort -u | wc -l)" -eq 1 ] || fail 'items of different sizes'
for word in premature bigeminy steady fibrillation pauses regular seed s1_s; do
    ! grep -aqi "$word" sheet/*.wav sheet/key.sealed || fail "'$word' can be read"
done
! grep -Eq 'premature|bigeminy|steady|fibrillation' sheet/sheet.html || fail 'the sheet tells'
grep -q 'Class of Monday' sheet/sheet.html || fail 'no title'
[ "$(grep -c 'item-0' sheet/sheet.html)" -eq 6 ] || fail 'not six rows'
[ "$(stat -c %a sheet/key.sealed)" = 600 ] || fail 'others may read the key'
run 2 make "$recordings" sheet --phrase-file phrase
grep -q 'not empty' err || fail 'over an older sheet'
run 2 make "$recordings" other --items 90 --phrase-file phrase
run 3 make nowhere other2 --phrase-file phrase

# A PDF only where something on this computer can make it; a converter that fails leaves none.
if [ "$said_pdf" = yes ]; then
    [ "$(head -c 5 sheet/sheet.pdf)" = '%PDF-' ] || fail 'said a PDF, made none'
else
    [ ! -e sheet/sheet.pdf ] || fail 'a PDF that was not said'
fi
mkdir bin
printf '#!/bin/sh\nprintf "%%%%PDF-1.7 from %%s" "$1" >"$2"\n' >bin/weasyprint
chmod +x bin/weasyprint
PATH=$work/bin:$PATH run 0 make "$recordings" printed --items 1 --phrase-file phrase
grep -q 'sheet.pdf and' out || fail 'a converter is there, no PDF said'
[ "$(cat printed/sheet.pdf)" = '%PDF-1.7 from printed/sheet.html' ] || fail 'not what the converter made'
for name in weasyprint chromium; do
    printf '#!/bin/sh\necho broken\nexit 1\n' >bin/$name
    chmod +x bin/$name
done
PATH=$work/bin:$PATH run 0 make "$recordings" unprinted --items 1 --phrase-file phrase
[ "$(ls -A unprinted | tr '\n' ' ')" = 'item-01.wav key.sealed sheet.html ' ] ||
    fail "a failed converter left $(ls -A unprinted)"

# What prints the sheet has no network and a home of its own: here a browser that says what it has.
mkdir apart
printf '#!/bin/sh\nexit 1\n' >apart/weasyprint
cat >apart/chromium <<'B'
#!/bin/sh
echo "home $HOME $XDG_CONFIG_HOME" >"$TOLD"
printf '%s\n' "$@" >>"$TOLD"
for family in AF_INET AF_INET6 AF_UNIX; do
    python3 -c "import socket; socket.socket(socket.$family, socket.SOCK_STREAM)" 2>&1 &&
        echo "$family open"
done >>"$TOLD"
for o in "$@"; do
    case $o in --print-to-pdf=*) printf '%%PDF-1.7' >"${o#*=}" ;; esac
done
B
chmod +x apart/*
mkdir private
TOLD=$work/told TMPDIR=$work/private PATH=$work/apart:$PATH run 0 make "$recordings" apart1 --items 1 --phrase-file phrase
[ "$(cat apart1/sheet.pdf)" = '%PDF-1.7' ] || fail 'the browser that prints was not asked'
case $(uname -m) in
x86_64 | aarch64)
    grep -q 'AF_INET6\{0,1\} open' told && fail "what prints reaches a network: $(cat told)"
    [ "$(grep -c 'Address family not supported' told)" -eq 2 ] || fail "why it does not: $(cat told)"
    ;;
esac
grep -q '^AF_UNIX open' told || fail "what prints cannot run: $(cat told)"
grep -q "^home $work/private/fullminute-print-...... $work/private/fullminute-print-......\$" told ||
    fail "a home of its own: $(head -n 1 told)"
for option in --user-data-dir="$work/private/fullminute-print-......" --disable-background-networking \
    --disable-component-update --no-first-run '--host-resolver-rules=MAP \* ~NOTFOUND'; do
    grep -q -- "^$option" told || fail "the browser is not told $option"
done
[ -z "$(ls -A private)" ] || fail "left in the temporary folder: $(ls -A private)"

# The real one, where it and strace are here: it opens no socket of a network.
if command -v chromium >/dev/null && strace -qq -o /dev/null true 2>/dev/null; then
    printf '#!/bin/sh\nexit 1\n' >bin/weasyprint
    rm -f bin/chromium
    # The leak checker does not work under strace; the rest of the test has it.
    ASAN_OPTIONS=detect_leaks=0 PATH=$work/bin:$PATH strace -f -qq -e trace=network -o calls "$program" worksheet make "$recordings" traced \
        --items 1 --phrase-file phrase >out 2>err || fail "under strace: $(cat err)"
    [ -s traced/sheet.pdf ] || fail 'under strace: no sheet.pdf'
    grep -q 'socket(AF_UNIX' calls || fail 'strace saw no socket at all'
    if grep -E 'socket\(AF_INET6?,.*= [0-9]|(connect|sendto|sendmsg|sendmmsg)\(.*AF_INET' calls >left; then
        fail "the browser that prints reaches out: $(head -n 3 left)"
    fi
else
    echo 'skipped: no chromium or no strace here, so the real browser was not traced'
fi

# From a recipe file: composed where nobody reads, and nothing of it left.
printf '# fullminute.recipe/1\na.wav --bpm 72 --seed 3\nb.wav --rhythm bigeminy --bpm 70 --seed 4\n' >recipe.txt
mkdir temporary
TMPDIR=$work/temporary run 0 make recipe.txt composed --phrase-file phrase
[ -z "$(ls -A temporary)" ] || fail "left in the temporary folder: $(ls -A temporary)"
[ "$(ls composed/*.wav | wc -l)" -eq 2 ] || fail 'not two items from two recipes'
run 0 open composed/key.sealed --phrase-file phrase
grep -q 'bigeminy' out || fail 'the recipe is not in the key'
printf '# fullminute.recipe/1\na.wav --bpm 72\nb.wav --bpm many\n' >recipe.txt
TMPDIR=$work/temporary run 3 make recipe.txt composed2 --phrase-file phrase
grep -q 'line 3' err || fail 'which line is wrong is not said'
[ -z "$(ls -A temporary)" ] && [ ! -e composed2 ] || fail 'a wrong recipe left something'

# The same seed, the same items; another key all the same.
run 0 make "$recordings" again --items 6 --seed 3 --phrase-file phrase
cmp -s sheet/item-04.wav again/item-04.wav || fail 'another order for the same seed'
! cmp -s sheet/key.sealed again/key.sealed || fail 'the same key twice'

# The key: with the phrase, without, changed, cut off.
run 0 open sheet/key.sealed --phrase-file phrase
grep -q 'item-06' out || fail "opened: $(cat out)"
run 3 open sheet/key.sealed --phrase-file wrong
grep -q 'the pass phrase is not the one' err || fail "a wrong phrase: $(cat err)"
[ ! -s out ] || fail 'something was shown'
cp sheet/key.sealed bent
printf 'x' | dd of=bent bs=1 seek=200 conv=notrunc status=none
run 3 open bent --phrase-file phrase
grep -q 'has been changed' err || fail "a changed key: $(cat err)"
head -c 100 sheet/key.sealed >cut.sealed
run 3 open cut.sealed --phrase-file phrase
run 3 open sheet/sheet.html --phrase-file phrase
grep -q 'no key' err || fail "no key at all: $(cat err)"

# Each item's truth is that of the recording it came from.
run 0 open sheet/key.sealed --phrase-file phrase --json
python3 - "$recordings" <<'P' || fail 'the truth in the key'
import json, sys
key = json.load(open('out'))
assert key['schema'] == 'fullminute.worksheet/1' and len(key['items']) == 6
for item in key['items']:
    stem = item['source'].rsplit('.', 1)[0]
    truth = json.load(open(f'{sys.argv[1]}/{stem}.truth.json'))
    silent = set(truth['inaudible_s1'])
    heard = [t for i, t in enumerate(truth['s1_s']) if t < 60 and i not in silent]
    assert item['beats'] == len(heard), item
    assert item['pattern'] == truth['pattern'], item
    spread = [4 * sum(a <= t < a + 15 for t in truth['s1_s']) for a in range(46)]
    assert item['by_15_s'] == {'low_per_min': min(spread), 'high_per_min': max(spread)}, item
P

# Scores: seat 1 right in all, seat 2 counts both sounds and hears nothing uneven.
python3 - <<'P'
import json
key = json.load(open('out'))
with open('answers.csv', 'w') as f:
    f.write('student,item,manual_beats,seconds,convention,rhythm,breaths\n')
    for item in key['items']:
        f.write(f"1,{item['item']},{item['beats']},60,clock,{item['pattern']},\n")
        f.write(f"2,{item['item']},{2 * item['beats']},60,clock,regular,\n")
P
run 0 score sheet/key.sealed answers.csv --phrase-file phrase
grep -Eq '^1 +6 +6 of 6 ' out || fail "seat 1: $(cat out)"
grep -Eq '^2 +6 +0 of 6 .*both sounds counted 6' out || fail "seat 2: $(cat out)"
run 0 score sheet/key.sealed answers.csv --phrase-file phrase --json
python3 -c "
import json
s = json.load(open('out'))
assert s['schema'] == 'fullminute.scores/1' and len(s['items']) == 6
assert s['students'][0]['within'] == 6 and s['students'][0]['bias_per_min'] == 0.0
assert s['students'][1]['slips']['both sounds counted'] == 6" || fail 'scores as a document'
sed '3s/60/61/' answers.csv >bad.csv
run 3 score sheet/key.sealed bad.csv --phrase-file phrase
grep -q 'record 3' err || fail "where it is bad: $(cat err)"
run 2 score sheet/key.sealed
run 2 grade

[ "$failures" -eq 0 ] || exit 1
echo "worksheet: all as expected"
