// The logbook: rows, progress, plots, reports.
import { get } from './api.js';
import { choice, clear, field, h, lines, picture } from './dom.js';
import { S } from './strings.js';

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
      book.words ? h('section', {}, h('h2', {}, S.logbook.words), lines(book.words)) : null,
      h('p', {}, h('a', { href: report, target: '_blank' }, S.logbook.whole))],
    h('p.hint', {}, S.logbook.where(book.path)), h('p.care', {}, S.aid));
}
