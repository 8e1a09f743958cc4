// Both counts, once the learner's is stored: numbers, where it slipped, pictures, words.
import { button, clear, h, lines, picture } from './dom.js';
import { playerOf } from './player.js';
import { S } from './strings.js';

const whole = (v) => (v === null || v === undefined ? S.reveal.none : String(Math.round(v)));
const at = (t) => `${Math.round(t)} s`;
// As in the words: some times each, of many the first and the last.
const places = (list) => (list.length > 8 ? S.reveal.firstLast(at(list[0]), at(list.at(-1)))
  : S.reveal.at(list.map(at).join(', ').replace(/, ([^,]*)$/, ' and $1')));

function number(label, value, range) {
  return h('div.number', {}, h('dt', {}, label), h('dd', {}, value, range ? h('span.range', {}, range) : null));
}

// The reference is that of the learner's own seconds; of known beats it has no range.
function numbers(title, c, known) {
  if (!c || !c.manual) return null;
  const same = c.same_seconds || {};
  const judged = c.judged_against === 'truth' ? known : S.reveal.second;
  const range = same.low === null || same.low === undefined ? '' : S.reveal.range(whole(same.low), whole(same.high));
  const quiet = (c.findings || []).map((f) => (c.pattern_from === 'truth' ? S.reveal.paused : S.reveal.noBreath)(Math.round(f.start_s), Math.round(f.end_s)));
  const gaps = c.count && c.count.quality ? c.count.quality.gaps : [];
  for (const g of gaps.filter((x) => x.reason_code === 'contact_lost')) {
    quiet.push(S.reveal.notHeard(Math.floor(g.start_s), Math.ceil(g.start_s + g.length_s)));
  }
  if (c.pattern === 'waxing and waning') quiet.push(S.reveal.waxing);
  const verdict = c.verdict && c.tolerance && c.tolerance.set_by === 'instructor' ? h('p.verdict', {}, c.verdict) : null;
  return h('section', {}, h('h2', {}, title),
    h('dl.numbers', {}, number(S.reveal.you, whole(c.manual.per_min)), number(judged, whole(same.per_min), range)),
    quiet.map((q) => h('p', {}, q)), verdict);
}

function slipped(c) {
  if (!c.manual) return null;
  const lines = [];
  if (c.slip) lines.push(c.slip.text);
  if (!c.taps) lines.push(S.reveal.noTaps);
  else {
    if (c.taps.not_tapped_s.length > 0) lines.push(S.reveal.notTapped(c.taps.not_tapped_s.length, places(c.taps.not_tapped_s)));
    if (c.taps.extra_s.length > 0) lines.push(S.reveal.extra(c.taps.extra_s.length, places(c.taps.extra_s)));
    if (c.taps.lost_from_s !== null && c.slip?.kind !== 'lost the thread') lines.push(S.reveal.lost(at(c.taps.lost_from_s), at(c.taps.lost_until_s)));
    if (lines.length === 0) lines.push(S.reveal.clean);
  }
  return h('section', {}, h('h2', {}, S.reveal.slipped), lines.map((l) => h('p', {}, l)));
}

export function shortCounts(list, minute) {
  if (!list || list.length === 0) return null;
  const cell = (v) => h('td', {}, whole(v));
  return h('section', {}, h('h2', {}, S.reveal.shorter), h('div.wide', { tabindex: 0, role: 'group', 'aria-label': S.reveal.shorter }, h('table.plain', {},
    h('thead', {}, h('tr', {}, S.reveal.shorterHead.map((t) => h('th', { scope: 'col' }, t)))),
    h('tbody', {},
      list.map((c) => h('tr', {}, h('th', { scope: 'row' }, S.reveal.shorterRow(c.seconds)),
        cell(c.min), cell(c.mean), cell(c.max), h('td', {}, String(c.windows)))),
      minute === null || minute === undefined ? null
        : h('tr', {}, h('th', { scope: 'row' }, S.reveal.fullRow), h('td', {}), cell(minute), h('td', {}), h('td', {}, '1'))))));
}

function words(text) {
  return h('section', {}, h('h2', {}, S.reveal.words), lines(text));
}

// What the words advise, where the page can do it.
function advised(hints, again) {
  const known = hints.filter((code) => S.reveal.hints[code]);
  return known.length === 0 ? null : h('p.buttons', {}, known.map((code) => button(S.reveal.hints[code], () => again(code))));
}

// again(code): takes another count, as the hint of that code says; without one, any.
export async function reveal(root, answer, again) {
  const c = answer.check;
  const head = h('h1', { tabindex: -1 }, c ? S.reveal.title : S.reveal.openTitle);
  const parts = [];
  if (c) {
    if (c.person_first) parts.push(c.person_first.text.map((t) => h('p.care', c.person_first.act_now ? { role: 'alert' } : {}, t)));
    parts.push(h('div.both', {}, numbers(S.reveal.pulse, c, S.reveal.known),
      numbers(S.reveal.breath, c.breath_check, S.reveal.knownBreaths)));
    parts.push(h('p.care', {}, S.aid));
    parts.push(slipped(c));
  }
  const caption = answer.picture ? h('section', {}, h('h2', {}, S.reveal.minute), picture(answer.picture, S.reveal.minute)) : null;
  parts.push(caption);
  if (answer.recording) {
    const start = c && c.count && c.count.window ? c.count.window.start_s : 0;
    const p = playerOf(answer.recording, start);
    parts.push(h('section', {}, h('h2', {}, S.reveal.hear), p.box));
    root.leave = () => p.close();
  }
  if (c) parts.push(shortCounts(c.short_counts, c.minute ? c.minute.per_min : null));
  parts.push(words(answer.text));
  parts.push(advised(answer.hints || [], again));
  if (answer.strip) parts.push(h('section', {}, h('h2', {}, S.reveal.sound), picture(answer.strip, S.reveal.sound)));
  const row = c ? h('p', {}, answer.row > 0 ? S.reveal.inLogbook(answer.row) : S.reveal.notInLogbook, ' ',
    answer.row > 0 ? h('a', { href: `/report/row/${answer.row}`, target: '_blank' }, S.reveal.report) : null) : null;
  const note = answer.note ? h('p.care', {}, answer.note) : null;
  clear(root, head, h('p.lead', {}, S.reveal.was(answer.name)), parts, row, note,
    h('p', {}, button(S.reveal.another, () => again(), 'main')));
  head.focus();
}
