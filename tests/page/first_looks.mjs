// Answers of a reveal for the test of its screen: each as long as its words may be.
const pulse = {
  kind: 'pulse', you: 70, you_text: '70', entered: 35, seconds: 30, second: 104, second_text: '104', low: 97, high: 110, judged_by: 'second',
  unit: 'per minute', numbers: 'You counted 70 per minute, the second count 104.',
  difference: 'Yours is 34 per minute fewer than the second count.',
  sure: 'In doubt: the sound was not usable from 12 s to 21 s, so that beats may be missing.',
  range: '104 is above 60 to 100, usual for an adult at rest (common practice, no source).',
  word: { yours: 'regular', found: 'irregular, in groups of 2', same: false, text: 'You heard an even rhythm; it was irregular, in groups of two.' },
};
const breath = {
  ...pulse, kind: 'breath', you: 20, you_text: '20', entered: 20, seconds: 60, second: 15, second_text: '15', low: 14, high: 16,
  difference: 'Yours is 5 per minute more than the second count.', sure: 'Sure: breath sound and the loudness of the heart sounds agree.',
  range: '15 is within 12 to 20, usual for an adult at rest (common practice, no source).',
  word: { yours: 'even', found: 'even', same: true, text: 'You saw even breathing, and it was even in this minute.' },
};
const slips = [
  { kind: 'pulse', text: 'Two beats not tapped, 41 s', start_s: 38, seconds: 6 },
  { kind: 'pulse', text: 'One tap too many, 52 s', start_s: 49, seconds: 6 },
  { kind: 'pulse', text: 'From 53 s on taps and beats did not match.', start_s: null, seconds: 6 },
];
const base = {
  person: null, sides: [pulse, breath], trend: 'Closer than last time: 36 off then, 34 off now.',
  next: { code: 'slips_marked', kind: 'pulse', text: 'Hear the six seconds that slipped, with marks.', action: 'listen_marks', start_s: 38 },
  slips, shorter: ['In 15 s, times 4, it would have been 96 to 112.'], method: ['The count is on the clock: the first beat that is heard is one.'],
};
const action = (name, text) => ({ ...base, next: { ...base.next, action: name, text } });

export const FIRST = {
  long: base,
  person: {
    ...base, trend: null,
    person: { now: true, text: ['Irregular and fast: look at the person first. Faint, breathless, chest pain, grey or confused: stop and call for help now.'] },
    next: { ...base.next, action: 'person', text: 'See to the person; count again once that is done.', start_s: null },
  },
  signs: {
    ...base, trend: null,
    person: {
      now: false, text: [
        'The person first. No answer and no normal breathing, or only gasps: call for help (at home the emergency number) and begin resuscitation as trained; do not count again. Struggling to breathe, blue or grey, drowsy or confused, faint, chest pain, or unable to finish a sentence: call for help and stay.',
        'Irregular. Look at the person first. Faint, breathless, chest pain, grey or confused: stop and call for help now. Otherwise count again at the apex for a full minute and tell the instructor or the responsible clinician by local protocol, even if the person feels well.'],
    },
    next: { ...base.next, action: 'again', text: 'Count the same minute once more.', start_s: null },
  },
  could_not: {
    ...base, trend: null, slips: [],
    sides: [{ ...pulse, you: null, you_text: 'could not count', second: null, second_text: 'between 6 and 22', low: null, high: null, difference: 'Not compared: no count was entered.', range: '', word: null }],
    next: { ...base.next, action: 'again', text: 'Count the same minute once more, for the sound alone.', start_s: null },
  },
  again: action('again', 'Count the same recording once more.'),
  tap_along: action('tap_along', 'Count it once more and tap along: that names what slipped.'),
  irregular: action('irregular', 'Count another uneven rhythm.'),
  slow: action('slow', 'Count a slow pulse, each first sound alone.'),
  full_minute: action('full_minute', 'Count for a full minute.'),
  breaths: action('breaths', 'Count the respirations as well.'),
};
