// The marks of heart sounds on a strip, told apart by shape, and the legend below it: a filled foot
// on a long stem, a ring on a short one, a bare stem where it may be either.
import { h } from './dom.js';
import { S } from './strings.js';

const NS = 'http://www.w3.org/2000/svg';

// second: true, false, or null where it is not named.
export function drawMark(c, x, foot, height, ratio, second, unheard = false) {
  c.setLineDash(unheard ? [3 * ratio, 3 * ratio] : []);
  c.beginPath();
  c.moveTo(x, foot);
  c.lineTo(x, foot - height * (second === false ? 0.55 : second ? 0.22 : 0.4));
  c.stroke();
  c.setLineDash([]);
  if (second === null) return;
  c.beginPath();
  if (second) c.arc(x, foot, 4 * ratio, 0, 2 * Math.PI);
  else { c.moveTo(x - 6 * ratio, foot + 7 * ratio); c.lineTo(x + 6 * ratio, foot + 7 * ratio); c.lineTo(x, foot - 4 * ratio); c.closePath(); }
  if (second || unheard) c.stroke(); else c.fill();
}

function shape(second, unheard) {
  const svg = document.createElementNS(NS, 'svg');
  const put = (name, attributes) => {
    const e = document.createElementNS(NS, name);
    for (const [key, value] of Object.entries(attributes)) e.setAttribute(key, value);
    svg.append(e);
  };
  for (const [key, value] of Object.entries({ viewBox: '0 0 16 26', width: '0.8em', height: '1.3em', 'aria-hidden': 'true', stroke: 'currentColor', fill: 'none', 'stroke-width': 1.6 })) svg.setAttribute(key, value);
  put('line', { x1: 8, x2: 8, y1: second === false ? 1 : second ? 9 : 5, y2: 18, ...(unheard ? { 'stroke-dasharray': '3 3' } : {}) });
  if (second) put('circle', { cx: 8, cy: 18, r: 4 });
  else if (second === false) put('path', { d: 'M2 25H14L8 14Z', ...(unheard ? {} : { fill: 'currentColor' }) });
  return svg;
}

// What occurs, each with its words.
export function legendOfMarks({ unheard = false, unsure = false }) {
  const item = (second, words, dashed) => h('span.key', {}, shape(second, dashed), ' ', words);
  return h('p.hint.keys', {}, item(false, S.marks.first), item(true, S.marks.second),
    unheard ? item(false, S.marks.unheard, true) : null, unsure ? item(null, S.marks.unsure) : null);
}
