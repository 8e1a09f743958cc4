// Both counts, once the learner's is stored. First what is read in one look: the person, the
// numbers, how sure, one next step. The rest is folded.
import { button, clear, h, notice, picture, prose } from './dom.js';
import { playerOf } from './player.js';
import { S } from './strings.js';

const PERSON_LETTERS = 120;
const whole = (v) => (v === null || v === undefined ? S.reveal.none : String(Math.round(v)));
const paragraphs = (list) => (list || []).map((t) => h('p', {}, t));

// ---- In one look ----

// A first sentence, and what follows on it; "Irregular." alone would say too little.
const parted = (t, least = 12) => (t.match(new RegExp(`^(.{${least},}?[.!?]) (.*)$`, 's')) || [t, t, '']).slice(1);

// What is to be done for a person now stands there whole. Else the first sentences begin the
// screen, and the rest is folded where it would push the numbers off it.
function person({ now, text }, exercise) {
  if ((now && !exercise) || text.join('').length <= PERSON_LETTERS) return h('div.care', now ? { role: 'alert' } : {}, paragraphs(text));
  const first = [];
  const rest = [];
  const fits = ([sentence]) => first.length === 0 || first.join(' ').length + sentence.length < PERSON_LETTERS;
  for (const t of text) {
    const [sentence, more] = [parted(t), parted(t, 1)].find(fits) || ['', t];
    const source = sentence.match(/ \((.+?)\)/); // of a line to act on: told with the rest
    if (sentence) first.push(source ? sentence.replace(source[0], '') : sentence);
    rest.push(`${source ? `${source[1][0].toUpperCase()}${source[1].slice(1)}. ` : ''}${more}`.trim());
  }
  return h('div.care', {}, h('p', {}, first.join(' ')), folded(S.reveal.signs, paragraphs(rest.filter(Boolean))));
}

function number(label, text, value, range) {
  return h('div.number', {}, h('dt', {}, label),
    h(value === null ? 'dd.said' : 'dd', {}, text, range ? h('span.range', {}, ` ${range}`) : null));
}

// "In doubt: why": the word that decides stands out.
function sure(text) {
  const at = text.indexOf(':');
  return h('p', {}, at > 0 ? [h('b', {}, text.slice(0, at + 1)), text.slice(at + 1)] : text);
}

function difference(text) {
  const [first, more] = parted(text);
  return h('p', {}, h('b', {}, first), more ? ` ${more}` : '');
}

function side(s) {
  const judged = s.judged_by === 'truth' ? S.reveal.known : S.reveal.second;
  const short = s.you !== null && s.seconds !== 60 ? S.reveal.short(s.entered, s.seconds) : '';
  const range = s.second !== null && s.low !== null && s.high !== null && Math.round(s.low) !== Math.round(s.high)
    ? S.reveal.range(Math.round(s.low), Math.round(s.high)) : '';
  return h('section.side', {},
    h('div.both', {}, h('h2', {}, S.reveal[s.kind], ' ', h('span.unit', {}, s.unit)),
      h('dl.numbers', {}, number(S.reveal.you, s.you_text, s.you, short), number(judged, s.second_text, s.second, range))),
    s.difference ? difference(s.difference) : null,
    h('div.rest', {}, [s.sure ? sure(s.sure) : null, ...paragraphs([s.word?.text, s.range].filter(Boolean))].flatMap((p) => [p, ' '])));
}

// Once a recording's count is known, or where it cannot be counted, the exercise takes another.
const OTHER = { mend_sound: 'other', count_again: 'other', tap_same: 'tap_other' };
const actionOf = (next) => OTHER[next.code] || next.action;

function nextStep(next, go) {
  const label = S.reveal.act[actionOf(next)];
  const problem = h('div', {});
  const begin = () => go().catch((e) => clear(problem, notice(e.message)));
  return h('section.next', { 'aria-label': S.reveal.next }, h('p', {}, h('b', {}, `${S.reveal.next}: `), next.text),
    label ? button(label, begin, 'main') : null, problem);
}

// ---- Folded ----

function folded(title, ...content) {
  const inside = content.flat(9).filter(Boolean);
  return inside.length === 0 ? null : h('details', {}, h('summary', {}, title), inside);
}

export function shortCounts(list, minute) {
  if (!list || list.length === 0) return null;
  const cell = (v) => h('td', {}, whole(v));
  return h('div.wide', { tabindex: 0, role: 'group', 'aria-label': S.reveal.shorter }, h('table.plain', {},
    h('thead', {}, h('tr', {}, S.reveal.shorterHead.map((t) => h('th', { scope: 'col' }, t)))),
    h('tbody', {},
      list.map((c) => h('tr', {}, h('th', { scope: 'row' }, S.reveal.shorterRow(c.seconds)),
        cell(c.min), cell(c.mean), cell(c.max), h('td', {}, String(c.windows)))),
      minute === null || minute === undefined ? null
        : h('tr', {}, h('th', { scope: 'row' }, S.reveal.fullRow), h('td', {}), cell(minute), h('td', {}), h('td', {}, '1')))));
}

// The recording's one player; it goes to where it is asked for, and is made only then.
class Hearing {
  constructor(number, start_s) {
    this.number = number;
    this.start_s = start_s;
  }

  at(place) {
    this.player = this.player || playerOf(this.number, this.start_s);
    place.append(this.player.box);
    return this.player;
  }

  // Times of the recording; the player's own begin with the minute.
  async stretch(place, from_s, seconds, click) {
    const player = this.at(place);
    await player.ready;
    await player.stretch(Math.max(0, from_s - this.start_s), seconds, click);
    player.box.scrollIntoView({ block: 'nearest' });
  }

  close() {
    if (this.player) this.player.close();
  }
}

function slipItem(slip, hearing) {
  if (slip.start_s === null || !hearing) return h('li', {}, slip.text);
  const place = h('div', {});
  return h('li', {}, slip.text, ' ',
    h('button', { type: 'button', 'aria-label': S.reveal.playOf(slip.text), onclick: () => hearing.stretch(place, slip.start_s, slip.seconds).catch(() => {}) },
      S.reveal.play(slip.seconds)), place);
}

function slips(list, hearing) {
  return list.length === 0 ? null : folded(S.reveal.slipped, h('ul.slips', {}, list.map((s) => slipItem(s, hearing))));
}

function hear(answer, hearing) {
  const place = h('div', {});
  const box = folded(S.reveal.hear, h('p', {}, S.reveal.was(answer.name)), place);
  if (hearing) box.addEventListener('toggle', () => { if (box.open) hearing.at(place); });
  return box;
}

function logbook(answer) {
  return h('p', {}, answer.row > 0 ? S.reveal.inLogbook(answer.row) : S.reveal.notInLogbook, ' ',
    answer.row > 0 ? h('a', { href: `/report/row/${answer.row}`, target: '_blank' }, S.reveal.report) : null);
}

// take(action): begins the exercise of that name; without one, asks what to count.
function checked(root, answer, take) {
  const { first, check } = answer;
  const start_s = check.count?.window?.start_s ?? 0;
  const hearing = answer.recording ? new Hearing(answer.recording, start_s) : null;
  const heard = hear(answer, hearing);
  if (hearing) root.leave = () => hearing.close();
  const go = async () => {
    if (first.next.action !== 'listen_marks') { await take(actionOf(first.next)); return; }
    heard.open = true;
    const from_s = first.next.start_s ?? first.slips.find((s) => s.start_s !== null)?.start_s ?? start_s;
    await hearing.stretch(heard.lastChild, from_s, null, true);
  };
  const hints = answer.hints.filter((code) => S.reveal.hints[code] && code !== first.next.action);
  return [
    h('h1', { tabindex: -1 }, S.reveal.title),
    h('div.first', {},
      first.person ? person(first.person, first.sides.every((s) => s.judged_by === 'truth')) : null,
      h('div.sides', {}, first.sides.map(side)),
      answer.second_examiner ? h('p.second-examiner', {}, answer.second_examiner) : null,
      first.trend ? h('p.trend', {}, first.trend) : null,
      nextStep(first.next, go)),
    answer.note ? h('p.care', {}, answer.note) : null,
    folded(S.reveal.minute, picture(answer.picture, S.reveal.minute)),
    slips(first.slips, hearing), heard,
    folded(S.reveal.shorter, paragraphs(first.shorter), shortCounts(check.short_counts, check.minute?.per_min)),
    folded(S.reveal.sound, picture(answer.strip, S.reveal.sound)),
    folded(S.reveal.method, paragraphs(first.method),
      hints.length > 0 ? h('p.buttons', {}, hints.map((code) => button(S.reveal.hints[code], () => take('', code)))) : null),
    logbook(answer)];
}

// An open count has no entry, so nothing to compare: what was counted, then how.
function open(answer) {
  const { heart, breath } = answer.count;
  const one = (title, part) => h('div.both', {}, h('h2', {}, title, ' ', h('span.unit', {}, S.reveal.perMinute)),
    h('dl.numbers', {}, number(S.reveal.counted, whole(part.rate_bpm ?? part.rate_per_min), part.rate_bpm ?? part.rate_per_min ?? null, '')));
  return [
    h('h1', { tabindex: -1 }, S.reveal.openTitle),
    h('div.first', {}, h('div.sides', {}, h('section.side', {}, one(S.reveal.pulse, heart)), h('section.side', {}, one(S.reveal.breath, breath)))),
    prose(answer.text),
    folded(S.reveal.minute, picture(answer.picture, S.reveal.minute))];
}

export async function reveal(root, answer, take) {
  clear(root, answer.check ? checked(root, answer, take) : open(answer),
    h('p', {}, button(S.reveal.another, () => take(''), answer.check ? 'plain' : 'main')));
  root.querySelector('h1').focus();
}
