#!/bin/bash
# Counting as a person gets it: one line, the document, windows, pictures, help.
# usage: count.sh PROGRAM SOURCE_DIR
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"
quiet() {
    [ ! -s err ] || fail "on stderr: $(cat err)"
}

# The program itself
run 0 --version
grep -qE '^fullminute [0-9]+\.[0-9]+\.[0-9]+$' out || fail "version: $(cat out)"
run 0 --help
says "count"
says "not a medical device"
run 0 help count
cp out help_count
run 0 count --help
cmp -s out help_count || fail "help count and count --help differ"
for option in json picture start seconds channel first-beat breath-window force; do
    says "--$option"
done
for status in 0 1 2 3 4 130; do
    grep -qE "^  $status +[a-z]" out || fail "exit status $status is not explained"
done
awk 'length > 80 { exit 1 }' out || fail "help over 80 columns"

# One line at a glance, then what it rests on
minute=$recordings/steady-072.flac
run 0 count "$minute"
quiet
grep -qE '^Apical pulse: 7[12] in 60 s = 7[12] per minute \([0-9]+ to [0-9]+\), regular\. Counted, confidence (0|above 0)\.[0-9]{2}\.$' out ||
    fail "first line: $(head -n 1 out)"
says "not a check of the heart"
says "not a medical device"
says "steady-072.flac"
says "0.00 s to 60.00 s"
sed -n 1p out | grep -q '^The person first\. No answer and no normal breathing' ||
    fail "above the number: $(sed -n 1p out)"
after=$(grep -A1 '^Apical pulse' out | sed -n 2p)
grep -qE '^Respirations: (no count\. |between |[0-9]+ in 60(\.0)? s)' <<<"$after" || fail "respirations: $after"
says "in the same seconds as the pulse"

# The document: one line, the contract's first and last member, the same bytes again
run 0 count "$minute" --json
quiet
[ "$(wc -l <out)" -eq 1 ] || fail "the document is not one line"
grep -qE '^\{"schema": "fullminute\.count/1", .*"unusable": \[.*\]\}\}$' out ||
    fail "document: $(head -c 200 out)"
grep -qF '"full_minute": true' out || fail "not a full minute"
cp out first.json
run 0 count --json -- "$minute"
cmp -s out first.json || fail "two runs, two documents"
"$program" count - --json <"$minute" | sed 's/"standard input"/"steady-072.flac"/' >out
cmp -s out first.json || fail "standard input gives another document"
cat "$minute" | "$program" count - --json | sed 's/"standard input"/"steady-072.flac"/' >out
cmp -s out first.json || fail "a pipe gives another document"

# Windows
run 0 count "$minute" --start 10 --seconds 30 --json
grep -qF '"window": {"start_s": 10.0, "end_s": 40.0, "full_minute": false' out ||
    fail "window: $(cat out)"
run 0 count "$minute" --start 10 --seconds 30
says "Short count"
run 0 count "$minute" --seconds whole --json
[ "$(wc -l <out)" -eq 2 ] || fail "whole: $(wc -l <out) documents"
cut -d, -f1-20 out | head -n 1 >whole_first
cut -d, -f1-20 first.json | cmp -s - whole_first || fail "whole starts with another minute"
run 0 count "$minute" --seconds whole
[ "$(grep -c '^ .* s  \(Apical pulse\|No count\)' out)" -eq 2 ] || fail "whole: $(cat out)"
run 0 count "$minute" --first-beat one --json
one=$(sed 's/.*"beats": \([0-9]*\),.*/\1/' out)
grep -qF '"first_beat": "one"' out || fail "first beat: $(head -c 300 out)"
run 0 count "$minute" --first-beat zero --json
zero=$(sed 's/.*"beats": \([0-9]*\),.*/\1/' out)
[ "$zero" -eq $((one - 1)) ] || fail "first beat zero: $zero, one: $one"

# Respirations: the same minute where there is one, the next where there are two, or where
# it is asked for; refused alone they change no exit status
window() { # window START END: the breath's window in the document
    grep -qF "\"window\": {\"start_s\": $1, \"end_s\": $2, \"full_minute\":" <(sed 's/.*"breath"//' out) ||
        fail "breath window is not $1 to $2: $(sed 's/.*"breath"//' out | head -c 200)"
}
"$program" compose two.wav --seconds 125 --breath-snr 12 --breaths 17 >/dev/null || fail "compose"
run 0 count two.wav --json
window 60.0 120.0
cp out next_by_default.json
run 0 count two.wav --breath-window next --json
cmp -s out next_by_default.json || fail "next is not the default where there are two minutes"
run 0 count two.wav
says "60.00 s to 120.00 s, the minute after the pulse's"
# its times are those of the recording, and there are as many as there were
known=$(sed 's/.*"breath_starts_s": \[\([^]]*\)\].*/\1/' two.truth.json | tr -d ' ' | tr ',' '\n' |
    awk '$1 >= 60 && $1 < 120 { n++ } END { print n }')
starts=$(sed 's/.*"starts_s": \[\([^]]*\)\]}, "quality".*/\1/' next_by_default.json | tr -d ' ' |
    tr ',' '\n' | awk 'NR == 1 { first = $1 } { last = $1 }
        END { print NR, (first >= 60 && first < 66 && last > 114 && last < 120 ? "there" : "elsewhere") }')
case $starts in
"$((known - 1)) there" | "$known there" | "$((known + 1)) there") ;;
*) fail "respirations of the second minute: $starts, known $known" ;;
esac
run 0 count two.wav --breath-window same --json
window 0.0 60.0
run 0 count two.wav --breath-window 31.5 --json
window 31.5 91.5
run 0 count two.wav --start 10 --json # only 55 s are left for a next minute
window 10.0 70.0
run 0 count two.wav --seconds 30 --json
window 0.0 30.0
run 0 count two.wav --start 70 --breath-window same --json
window 70.0 125.0
# a header that promises a second minute which is not there
head -c $((44 + 70 * 8000)) two.wav >cut.wav
run 0 count cut.wav --json
window 0.0 60.0
"$program" count - --json <two.wav | sed 's/"standard input"/"two.wav"/' |
    cmp -s - next_by_default.json || fail "standard input gives another second minute"
run 2 count two.wav --breath-window 125
grep -qF -- '--breath-window 125: two.wav is 125.0 s long' err || fail "$(cat err)"
run 2 count "$minute" --start 6 --breath-window next
run 2 count two.wav --breath-window next --seconds whole
run 2 count two.wav --breath-window after
run 0 count "$recordings/unheard-breathing.flac" --json
grep -qF '"breath": {"status": "refused"' out || fail "unheard breathing is counted: $(cat out)"
grep -qE '"breaths": null, .*"starts_s": \[\]' out || fail "refused breath shows numbers"

# A refusal prints its document, with the reason and without a number of the heart
run 4 count "$recordings/unusable.flac"
grep -qE '^No count: .+: .+\.$' out || fail "refusal: $(head -n 1 out)"
says "not a normal finding"
run 4 count "$recordings/unusable.flac" --json
grep -qF '"status": "refused", "beats": null, "rate_bpm": null' out || fail "refusal: $(cat out)"
grep -qE '"reason_code": "[a-z_]+"' out || fail "no reason code: $(cat out)"
grep -qF '"s1_s": [], "s2_s": []' out || fail "a refusal shows beats"

# An irregular minute sends the person to the patient first
run 0 count "$recordings/fibrillation.flac"
says "Look at the person first."

# A child is not held to an adult's range, in the text or in the picture
run 0 count "$recordings/child-breathing.flac" --picture adult.svg
says "Outside the range: 60 to 100 per minute"
grep -q 'at the line to act on' adult.svg || fail "an adult's 112 and 32 have no caution in their picture"
run 0 count "$recordings/child-breathing.flac" --age 6m --picture child.svg
flat out | grep -qF 'Outside the range' && fail "an infant's 112 is outside: $(flat out)"
grep -qE 'line to act on|person first' child.svg && fail "an infant's 112 and 32 have a caution in their picture"

# Pictures
run 0 count "$minute" --picture p.svg
head -c 300 p.svg | grep -q '<svg' || fail "no SVG"
run 2 count "$minute" --picture p.svg
grep -qF -- '--force' err || fail "no word of --force"
[ ! -s out ] || fail "a result beside the error"
run 0 count "$minute" --picture p.svg --force
run 2 count "$minute" --picture p.gif
run 2 count "$minute" --picture p2.svg --seconds whole
run 2 count "$minute" --first-beat one --seconds whole
[ "$(ls -A | grep -c 'part$')" -eq 0 ] || fail "a temporary file is left"

[ $failures -eq 0 ] || echo "$failures failures"
exit $((failures > 0))
