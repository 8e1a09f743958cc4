#!/bin/bash
# Checking respirations as a learner does: alone, beside the pulse, in two minutes, by taps.
# usage: check_breaths.sh PROGRAM SOURCE_DIR
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"
verb=check
silent_on() {
    ! flat out | grep -qF -- "$1" || fail "said: $1"
}

complains() {
    flat err | grep -qF -- "$1" || fail "no complaint about: $1 ($(flat err))"
    [ ! -s out ] || fail "a result beside the error: $1"
}

run 0 --help
for option in manual-breaths breath-seconds breaths breath-taps breath-tolerance breath-window; do
    says "--$option"
done
awk 'length > 80 { exit 1 }' out || fail "help over 80 columns"

# alone: the pulse stays sealed, in the text and in the document
quiet=$recordings/quiet-breathing.flac
run 0 "$quiet" --manual-breaths 15
says "Respirations in the full minute: you 15, known 14."
says "One rise and one fall of the chest is one respiration, counted for a full minute."
says "not a medical device"
silent_on "66"
silent_on "egular"
silent_on "is outside it"
awk 'length > 80 { exit 1 }' out || fail "a line over 80 columns"
run 0 "$quiet" --manual-breaths 15 --json
[ "$(wc -l <out)" -eq 1 ] || fail "the document is not one line"
says '"heart": null'
says '"breath_check": {"manual": {"entered": 15, "seconds": 60, "per_min": 15.0'
says '"verdict": "agrees"'
silent_on '"beats": 66'

# beside the pulse; the pulse's part is what it is without
run 0 "$quiet" --manual 66
cp out pulse.txt
silent_on "espirations"
run 0 "$quiet" --manual 66 --manual-breaths 28 --breaths listened --breath-tolerance 2
pulse_lines() { sed -n '/^Beats in/,/^  66 per minute is/p' "$1"; }
[ -n "$(pulse_lines out)" ] && cmp -s <(pulse_lines out) <(pulse_lines pulse.txt) || fail "the pulse's lines changed"
says "you 28 by listening, known 14"
says "Differs: more than your instructor's limit, 2 per minute."
says "perhaps inspiration and expiration were counted as two"
run 0 "$quiet" --manual 66 --json
silent_on "breath_check"

# half a minute, an age, WHO's limit
child=$recordings/child-breathing.flac
run 0 "$child" --manual-breaths 16 --breath-seconds 30 --breaths watched --age 18m
says "Respirations in 30 s: you 16 by watching, known 16; per minute 32 and 32"
says "with cough or difficult breathing, counted for a full minute, is 40 a minute"
says "32 per minute is below it."
run 0 "$child" --manual-breaths 32 --age 3m
says "is 50 a minute"
says "respirations first, before touching"
run 0 "$child" --manual-breaths 32 --age 1m
says "is 60 a minute"
run 0 "$child" --manual-breaths 32 --age 5
silent_on "WHO"
says "nobody has read that row in its source, so it judges nothing here"

# the learner's own number outside, alone and where nothing else is known
run 0 "$quiet" --manual-breaths 8
says "14 per minute is within 12-20"
says "Yours, 8 per minute, is outside it: say so to the instructor"
says "Next: watch the chest and count the respirations again for a full minute."
run 0 "$recordings/unheard-breathing.flac" --manual-breaths 30
says "Yours, 30 per minute, is above 12-20"
says "Watch the chest and count the respirations again for a full minute,"
silent_on "apex"

# a window of their own
"$program" compose two.wav --seconds 125 --breaths 18 --breath-snr 12 >/dev/null || fail compose
run 0 two.wav --manual 72 --manual-breaths 18
says "Respirations counted from 60 s to 120 s, the minute after the pulse's."
run 0 two.wav --manual 72 --manual-breaths 18 --breath-window same
silent_on "Respirations counted from"
run 0 two.wav --manual-breaths 18 --breath-window 40 --json
says '"same_seconds": {"start_s": 40.0, "end_s": 100.0'

# taps: their number in the seconds, whatever their gaps
{
    echo '# fullminute.taps/1'
    for s in 1.0 1.2 1.4 9 18 27 36 45 54 70 80; do echo $s; done
} >taps.txt
run 0 "$quiet" --breath-taps taps.txt
says "you 9, known 14"
silent_on "You tapped"
run 0 "$quiet" --manual-breaths 14 --breath-taps taps.txt
says "You tapped 9 in those 60 s and entered 14 respirations."
run 0 "$quiet" --manual-breaths 14 --breath-taps taps.txt --json
says '"taps": {"count": 9}'

# nobody can hear them: no verdict, no number, and the exit is 0
run 0 "$recordings/unheard-breathing.flac" --manual-breaths 16
says "fullminute could not count the respirations"
says "which does not mean that all is well"
run 0 "$recordings/unheard-breathing.flac" --manual 70 --manual-breaths 16 --json
says '"no_verdict": "refused"'
# the heart refused: 4 when the pulse was asked for, 0 when it was not
run 4 "$recordings/unusable.flac" --manual 73 --manual-breaths 15
run 0 "$recordings/unusable.flac" --manual-breaths 15

# pictures: with both; alone it would show the pulse
run 0 "$quiet" --manual 66 --manual-breaths 14 --picture p.svg
grep -q 'breath begins' p.svg || fail "no breaths on the dial"
grep -q 'you 14, known 14' p.svg || fail "no respirations beside it"
run 0 "$quiet" --manual 66 --picture q.svg
grep -q 'breath begins' q.svg && fail "respirations not entered are shown"
run 2 "$quiet" --manual-breaths 14 --picture r.svg
complains "sealed"

# how it breathes: known, heard, not heard; in the text and in the picture alike
run 0 "$recordings/paused-breathing.flac" --manual 74 --manual-breaths 13 --picture paused.svg
says "The breathing paused from 28 s to 42 s."
says "If this were a person: report it beside the number, even where the number is within the range."
grep -q 'The breathing paused from 28 s to 42 s' paused.svg || fail "the picture is silent on the pause"
run 0 "$recordings/waxing-breathing.flac" --manual 81 --manual-breaths 17 --picture waxing.svg
says "Breathing of this recording, known: waxing and waning. If this were a person: report it"
grep -q 'Breathing waxing and waning' waxing.svg || fail "the picture is silent on the waxing"
for name in paused waxing; do # without its truth: the sound alone
    cp "$recordings/$name-breathing.flac" "$name.flac"
done
run 0 paused.flac --manual-breaths 13
says "No breath was heard from 26 s to 42 s: look at the chest."
says "If you saw it too, report it beside the number"
silent_on "paused from"
run 0 waxing.flac --manual-breaths 17
says "Breathing: waxing and waning: two whole swells were heard in this minute. If you saw it too"
run 0 "$quiet" --manual-breaths 14
silent_on "report it beside the number"

# what the chest piece did not hear is said, and that the learner's count lacks it too
cp "$recordings/slipping-chest-piece.flac" slipping.flac
for file in "$recordings/slipping-chest-piece.flac" slipping.flac; do
    run 0 "$file" --manual 64
    says "From 30 s to 37 s nothing was heard: did the chest piece lift? Your own count through that chest piece was no full minute either."
done
run 0 slipping.flac --manual 64 --site radial
says "did the chest piece lift?"
silent_on "no full minute either"

# wrong usage
for bad in -1 151 fourteen 14.5 ''; do
    run 2 "$quiet" --manual-breaths "$bad"
    complains "manual-breaths"
done
run 2 "$quiet" --manual-breaths 80 --breath-seconds 30
complains "160 per minute"
run 2 "$quiet" --manual-breaths 14 --breath-seconds 15
complains "breath-seconds"
run 2 "$quiet" --manual-breaths 14 --breaths guessed
complains "breaths"
run 2 "$quiet" --manual 66 --breaths watched
complains "--manual-breaths N"
run 2 "$quiet" --manual-breaths 14 --breath-tolerance 0
complains "breath-tolerance"
run 2 "$quiet" --manual-breaths 14 --breath-window 99
complains "--breath-window 99"
run 2 - --manual-breaths 14 --breath-taps -
complains "standard input"
run 3 "$quiet" --breath-taps missing.txt
complains "missing.txt"
printf '# fullminute.taps/1\n70\n' >late.txt
run 2 "$quiet" --breath-taps late.txt
complains "no tap in the 60 s"

# the same bytes every time
"$program" check "$quiet" --manual-breaths 14 --json >one
"$program" check "$quiet" --manual-breaths 14 --json >two
cmp -s one two || fail "two runs differ"

echo "$failures failure(s)"
[ "$failures" -eq 0 ]
