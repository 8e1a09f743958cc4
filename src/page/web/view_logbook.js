// The logbook: rows, progress, plots, reports.
import { get } from './api.js';
import { choice, clear, field, h, picture, prose } from './dom.js';
import { S } from './strings.js';

const signed = (v) => (v === null ? '' : (v < 0 ? '−' : '+') + Math.abs(v).toFixed(1));

// The figures of the words as a table; what is said around them as it stands.
function inNumbers(book) {
  const said = book.words.split(/\n\n+/).filter((block) => !/^ {2}/.test(block)).join('\n\n');
  const groups = book.progress.groups.filter((g) => g.n > 0).map((g) => h('tr', {}, h('th', { scope: 'row' }, g.label), h('td', {}, String(g.n)),
    h('td', {}, signed(g.bias_per_min)), h('td', {}, g.limit_low_per_min === null ? '' : S.reveal.range(signed(g.limit_low_per_min), signed(g.limit_high_per_min))),
    h('td', {}, S.logbook.share(Math.round((100 * g.within) / g.n), Math.round(100 * g.share_low), Math.round(100 * g.share_high)))));
  return h('section', {}, h('h2', {}, S.logbook.words), prose(said),
    groups.length === 0 ? null : h('div.wide', { tabindex: 0, role: 'group', 'aria-label': S.logbook.words }, h('table.plain', {},
      h('thead', {}, h('tr', {}, S.logbook.groupHead.map((t) => (t ? h('th', { scope: 'col' }, t) : h('td', {}))))), h('tbody', {}, groups))));
}

export async function logbookView(root, learner = '') {
  const book = await get(`/api/logbook?learner=${encodeURIComponent(learner)}`);
  const whose = choice('learner', [['', S.logbook.everybody], ...book.learners.map((l) => [l, l])], learner);
  whose.addEventListener('change', () => logbookView(root, whose.value));
  const report = `/report/learner?learner=${encodeURIComponent(learner)}`;
  const value = (v) => (v === null ? '' : String(Math.round(v)));
  const rows = [...book.rows].reverse().map((r) => h('tr', {},
    h('th', { scope: 'row' }, String(r.number)), h('td.day', {}, r.utc.slice(0, 10)), h('td.charted', {}, r.charted),
    h('td', {}, value(r.second), r.device_breath_pauses ? h('p', {}, S.logbook.noBreath(r.device_breath_pauses)) : null), h('td', {}, r.verdict),
    h('td', {}, h('a', { href: `/report/row/${r.number}`, target: '_blank', 'aria-label': S.logbook.reportOf(r.number) }, S.logbook.report))));
  const plot = (title, svg) => (svg ? h('section', {}, h('h2', {}, title), picture(svg, title)) : null);
  clear(root, h('h1', { tabindex: -1 }, S.logbook.title), h('p.lead', {}, S.logbook.lead),
    book.learners.length > 0 ? field(S.logbook.whose, whose) : null,
    rows.length === 0 ? h('p', {}, S.logbook.none) : [
      h('div.plots', {}, plot(S.logbook.overTime, book.over_time), plot(S.logbook.agreement, book.differences)),
      h('section', {}, h('h2', {}, S.logbook.rows), h('div.wide', { tabindex: 0, role: 'group', 'aria-label': S.logbook.rows },
        h('table', {}, h('thead', {}, h('tr', {}, S.logbook.head.map((t) => (t ? h('th', { scope: 'col' }, t) : h('td', {}))))),
          h('tbody', {}, rows)))),
      book.words ? inNumbers(book) : null,
      h('p', {}, h('a', { href: report, target: '_blank' }, S.logbook.whole))],
    h('p.hint', {}, S.logbook.where(book.path)));
}
