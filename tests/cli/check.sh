#!/bin/bash
# The comparison as a person gets it: wording, document, exit status, bad input.
# usage: check.sh PROGRAM SOURCE_DIR
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"
verb=check
silent_on() {
    ! flat out | grep -qF -- "$1" || fail "said: $1"
}

complains() {
    flat err | grep -qF -- "$1" || fail "no complaint about: $1 ($(flat err))"
    [ ! -s "$work/out" ] || fail "a result beside the error: $1"
}

cp "$recordings/steady-072.flac" "$work/alone.flac"

# help names every option
run 0 --help
for option in manual seconds first-beat site taps age tolerance no-truth json picture; do
    says "--$option"
done

# a composed recording is judged against its known beats
run 0 "$recordings/steady-072.flac" --manual 68
head -n 1 "$work/out" | grep -q '^Beats in the full minute: you 68, known 72\. 4 per minute fewer' ||
    fail "first line: $(head -n 1 "$work/out")"
says "Shorter counts, beats per minute: 68-76 in 15 s, 70-74 in 30 s."
says "not a medical device"
silent_on "Agrees"
awk 'length > 80 { exit 1 }' "$work/out" || fail "a line over 80 columns"
[ "$(wc -l <"$work/out")" -le 18 ] || fail "more than a screen"

# a truth of another sound is not believed: by its digest, its length, its rate; and one
# without a digest that is far from a sure count judges nothing
cp "$recordings/steady-072.flac" "$work/other.flac"
cp "$recordings/steady-060.truth.json" "$work/other.truth.json"
run 3 "$work/other.flac" --manual 60
complains "is of another sound than"
run 0 "$work/other.flac" --manual 60 --no-truth
says "you 60, fullminute 72"
refit() {
    python3 -c "
import json, sys
d = json.load(open('$recordings/steady-060.truth.json'))
d.pop('sound_blake2b')
d.update($1)
json.dump(d, open('$work/other.truth.json', 'w'))"
}
length=$(soxi -D "$work/other.flac" 2>/dev/null || echo 66)
refit "{'duration_s': 33.0}"
run 3 "$work/other.flac" --manual 60
refit "{'duration_s': $length, 'sample_rate_hz': 8000}"
run 3 "$work/other.flac" --manual 60
refit "{'duration_s': $length}"
run 0 "$work/other.flac" --manual 60 --tolerance 4
says "far from what fullminute surely counts"
says "Is it this recording's?"
silent_on "No difference"
silent_on "Agrees"
silent_on "Differs"
run 0 "$work/other.flac" --manual 60 --json
grep -q '"verdict": "not comparable".*"no_verdict": "truth in doubt"' "$work/out" || fail "doubt: $(head -c 900 "$work/out")"
cp "$recordings/steady-072.truth.json" "$work/other.truth.json"
sox "$work/other.flac" "$work/other.wav"
run 0 "$work/other.wav" --manual 72
says "you 72, known 72."

# the device's own count
run 0 "$work/alone.flac" --manual 72 --tolerance 4
grep -q '^Beats in the full minute: you 72, fullminute 72' "$work/out" || fail "first line: $(head -n 1 "$work/out")"
says "Agrees: within your instructor's limit, 4 per minute."
run 0 "$work/alone.flac" --manual 144 --tolerance 4
says "perhaps both sounds were counted"
run 0 "$recordings/steady-072.flac" --no-truth --manual 72
grep -q '^Beats in the full minute: you 72, fullminute 72' "$work/out" || fail "--no-truth: $(head -n 1 "$work/out")"

# short counts, sites, conventions
run 0 "$work/alone.flac" --manual 18 --seconds 15
says "Beats in 15 s: you 18, fullminute 18; per minute 72 and 72"
says "An apical pulse is counted for the full minute."
says "Next: count another recording for the full minute: a short count can hide an"
run 0 "$work/alone.flac" --manual 60 --site radial
says "a possible pulse deficit, or missed beats: repeat with two examiners"
says "The sound at the apex cannot judge a count at the wrist."
run 0 "$work/alone.flac" --manual 71 --first-beat one
says "called 'zero'"

run 0 "$recordings/bigeminy.flac" --manual 74 --first-beat one
grep -q 'you 74, known 7[45]' "$work/out" || fail "on a beat: $(head -n 1 "$work/out")"
run 0 "$recordings/weak-early-beats.flac" --manual 67 --site radial --tolerance 2
says "you 67 at the wrist; of the 72 beats at the apex 67 reach the wrist."
says "No difference from the known beats at the wrist. Agrees"
says "Apex less wrist: 5, a pulse deficit in this recording."
says "Next: on a person, count with a second examiner, apex and wrist, the same"
run 0 "$recordings/weak-early-beats.flac" --manual 72 --site radial --tolerance 2
says "Differs: more than your instructor's limit, 2 per minute."
silent_on "short count"
# fibrillation: eleven of 91 beats do not reach the wrist, the textbook pulse deficit
run 0 "$recordings/fibrillation.flac" --manual 80 --site radial --tolerance 2
says "you 80 at the wrist; of the 91 beats at the apex 80 reach the wrist."
says "Apex less wrist: 11, a pulse deficit in this recording."
silent_on "missed"
run 0 "$recordings/steady-072.flac" --manual 70 --site radial
says "Here every beat reaches the wrist: two beats were missed."
silent_on "possible pulse deficit"
run 0 "$recordings/steady-072.flac" --manual 75 --site radial
says "More beats at the wrist than at the apex cannot be"

# respirations nobody entered stay sealed
run 0 "$recordings/steady-072.flac" --manual 72 --json
says '"breath": null'
silent_on "starts_s"

# age
run 0 "$recordings/steady-132.flac" --manual 132 --age 6m
says "fourth left intercostal space"
says "98-168"
run 0 "$recordings/steady-132.flac" --manual 132
says "132 per minute is above 60-100"
says "look at the person first"

# taps: every known beat but two, 40 ms late
{
    echo '# fullminute.taps/1'
    tr -d '\n ' <"$recordings/steady-072.truth.json" |
        sed 's/.*"s1_s":\[\([^]]*\)\].*/\1/' | tr ',' '\n' |
        awk 'NR != 11 && NR != 31 && $1 < 60 { printf "%.3f\n", $1 + 0.04 }'
} >"$work/taps.txt"
run 0 "$recordings/steady-072.flac" --manual 70 --taps "$work/taps.txt"
says "one beat not tapped."
silent_on "extra tap"
says "Your taps came 40 ms after S1"
run 0 "$recordings/steady-072.flac" --taps "$work/taps.txt"
says "with the beats marked. Missed and extra beats can hide"
grep -q 'you 70,' "$work/out" || fail "taps as the count: $(head -n 1 "$work/out")"
run 0 "$recordings/steady-072.flac" --manual 70 --taps "$work/taps.txt" --json
says '"matched": 70'
says '"verdict": "agrees"'
says '"schema": "fullminute.check/1"'
{
    cat "$work/taps.txt"
    echo 63
    echo 64.5
} >"$work/late.txt"
[ "$(wc -l <"$work/out")" -eq 1 ] || fail "the document is not one line"

run 0 "$recordings/steady-072.flac" --manual 65 --taps "$work/late.txt"
says "You tapped 70 in those 60 s and entered 65."
says "Not counted: two taps outside those seconds."
awk 'NR == 1 || $1 < 30' "$work/taps.txt" >"$work/half.txt"
run 0 "$recordings/steady-072.flac" --taps "$work/half.txt"
says "No tap after 30 s. If you counted 30 s, say --seconds 30."

# pictures
run 0 "$work/alone.flac" --manual 70 --picture "$work/dial.svg"
[ -s "$work/dial.svg" ] || fail "no picture"
run 2 "$work/alone.flac" --manual 70 --picture "$work/dial.svg"
complains "dial.svg"
run 0 "$work/alone.flac" --manual 70 --picture "$work/dial.svg" --force

run 0 "$recordings/weak-early-beats.flac" --manual 67 --site radial --picture "$work/wrist.svg"
grep -q '72 beats in 60 s, 67 reach the wrist' "$work/wrist.svg" || fail "no wrist in the picture"
grep -q 'Irregular; if this were a person: look at the person first' "$work/wrist.svg" || fail "no caution at its foot"
run 0 "$recordings/fibrillation.flac" --manual 91 --picture "$work/uneven.svg"
grep -q '>[EALP]</text>' "$work/uneven.svg" && fail "letters without a basic interval"

# refused: the learner's count stays, no verdict, exit 4
run 4 "$recordings/unusable.flac" --manual 70
grep -q 'you 70\. Not compared' "$work/out" || fail "refused first line: $(head -n 1 "$work/out")"
says "Your 70 stands alone: count again by hand"
run 4 "$recordings/unusable.flac" --manual 70 --json
says '"entered": 70'
says '"verdict": "not comparable"'

# bad counts: a clear sentence and exit 2
for bad in -5 0 4000 seventy '' 7.5 1e2; do
    run 2 "$work/alone.flac" --manual "$bad"
    complains "manual"
done
run 2 "$work/alone.flac"
complains "--manual N"
run 2 "$work/alone.flac" --manual 101 --seconds 15
complains "404 per minute"
run 2 "$work/alone.flac" --manual 18 --seconds 20
complains "seconds"
run 2 "$work/alone.flac" --manual 72 --site neck
complains "site"
run 2 "$work/alone.flac" --manual 72 --age old
complains "age"
run 2 "$work/alone.flac" --manual 7 --age 0
complains "under two years give months ('8m'); '0m' is the day of birth"
run 2 "$work/alone.flac" --manual 72 --age -1
complains "age"
run 2 "$work/alone.flac" --manual 72 --tolerance 0
complains "tolerance"
run 2 "$work/alone.flac" --manual 72 --nonsense
complains "nonsense"
run 3 "$work/missing.flac" --manual 72
complains "missing.flac"
echo 'half past' >"$work/bad.txt"
run 3 "$work/alone.flac" --manual 72 --taps "$work/bad.txt"
complains "line 1"

# blind: a number in the place of the name, in every result; of several files the one that was heard
cp "$recordings/bigeminy.flac" "$recordings/bigeminy.truth.json" "$work"
run 0 --blind "$work/bigeminy.flac" --manual 70 --picture "$work/blind.svg" --json
number=$(grep -o 'Recording [0-9]*' "$work/out" | grep -o '[0-9]*')
[ "${#number}" -eq 5 ] || fail "blind: no number of five digits: $number"
grep -q "Recording $number" "$work/blind.svg" || fail "blind: no number in the picture"
! grep -il bigeminy "$work/out" "$work/err" "$work/blind.svg" || fail "blind: the name is told"
run 0 --blind "$work/alone.flac" "$work/bigeminy.flac" --number "$number" --manual 70
says "you 70, known 74"
silent_on "bigeminy"
run 2 --blind "$work/alone.flac" "$work/bigeminy.flac" --manual 70
complains "--number"
run 2 --blind "$work/alone.flac" --number "$number" --manual 70
complains "no recording that was named has number $number"
run 2 --blind "$work/bigeminy.flac" "$work/bigeminy.flac" --number "$number" --manual 70
complains "more than one has number $number"
run 2 "$work/alone.flac" "$work/bigeminy.flac" --manual 70
complains "one recording at a time"
run 2 "$work/alone.flac" --number "$number" --manual 70
complains "--blind"

# a number that is nearly never met is asked back, whatever the recording holds
for name in steady-048 steady-132 unusable; do
    run 2 "$recordings/$name.flac" --manual 7
    complains "7 beats in a full minute is fewer than is nearly ever met: is that what you counted?"
    complains "give --confirmed as well; nothing was compared"
done
run 0 "$recordings/steady-072.flac" --manual 7 --confirmed
says "you 7, known 72"
run 2 "$recordings/steady-072.flac" --manual 72 --seconds 15
complains "72 beats in 15 s, 288 per minute, is more than is nearly ever met"
run 2 "$recordings/steady-072.flac" --manual 72 --manual-breaths 4
complains "4 respirations in a full minute is fewer"

# that it could not be counted is an answer: right where it cannot be, and never 0
run 0 "$recordings/steady-072.flac" --could-not --rhythm regular
says "You could not count the pulse; this recording has 72 per minute."
says "Rhythm: regular, varies with breathing. You said the same."
run 4 "$recordings/unusable.flac" --could-not --could-not-breaths
says "You could not count the pulse, and neither can fullminute: right."
run 0 "$recordings/steady-072.flac" --could-not --json
says '"could_not": "differs"'
says '"entered": null'
run 2 "$recordings/steady-072.flac" --could-not --manual 72
complains "--could-not and a number cannot both be given"
run 0 "$recordings/steady-072.flac" --manual-breaths 14 --breathing 'with pauses'
says "You said 'with pauses'."
run 2 "$recordings/steady-072.flac" --manual 72 --rhythm wobbly
complains "'wobbly' is not one of the words for a rhythm"

# counts noted under way show the quarter that slipped
run 0 "$recordings/steady-072.flac" --manual 68 --running 18,36,49
says "Between 30 and 45 s you counted 13, the recording has 18."
run 2 "$recordings/steady-072.flac" --manual 68 --running 36,18,49
complains "three whole numbers that go up"

# on a terminal the count is asked for, and nothing is shown before it is given
if command -v script >/dev/null; then
    asked() {
        printf '%s\n' "$@" |
            script -qec "'$program' check '$recordings/steady-072.flac'" /dev/null |
            tr -d '\r' >"$work/out"
    }
    asked seventy 70
    says "Your own count in 60 s"
    says "Please give the whole number that you counted."
    says "Beats in the full minute: you 70, known 72."
    asked seventy 4000 -5
    says "no count entered, so nothing was compared"
    silent_on "72"
else
    echo "skipped: no 'script' to make a terminal with, so the question is not tried"
fi

# the same bytes every time
"$program" check "$work/alone.flac" --manual 70 --json >"$work/one"
"$program" check "$work/alone.flac" --manual 70 --json >"$work/two"
cmp -s "$work/one" "$work/two" || fail "two runs differ"

echo "$failures failure(s)"
[ "$failures" -eq 0 ]
