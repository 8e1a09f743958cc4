// Answers as dots over a scale, stacked where they meet, beside a line for what is true.
import { h, id } from './dom.js';
import { S } from './strings.js';

const NS = 'http://www.w3.org/2000/svg';

function s(name, attributes, ...children) {
  const e = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) e.setAttribute(key, value);
  e.append(...children);
  return e;
}

export function dots(answers, truth, seconds, own) {
  const low = Math.min(truth, ...answers) - 3;
  const high = Math.max(truth, ...answers) + 3;
  const many = Math.max(1, ...answers.map((v) => answers.filter((w) => w === v).length));
  const width = innerWidth < 600 ? 400 : 720; // so that its words stay readable on a phone
  const gap = Math.min(22, 200 / many);
  const foot = Math.max(120, many * gap + 60);
  const x = (v) => 40 + ((v - low) / (high - low)) * (width - 80);
  const text = answers.length > 0
    ? S.shared.answersText(answers.length, Math.min(...answers), Math.max(...answers), truth) : S.shared.noAnswers(truth);
  const title = id('dots');
  const svg = s('svg', { viewBox: `0 0 ${width} ${foot + 56}`, role: 'img', 'aria-labelledby': title, class: 'dots' },
    s('title', { id: title }, text));
  svg.append(s('line', { x1: 30, y1: foot, x2: width - 30, y2: foot, class: 'axis' }));
  const step = [1, 2, 5, 10, 20, 50, 100].find((k) => (high - low) / k <= width / 60) || 200;
  for (let v = Math.ceil(low / step) * step; v <= high; v += step) {
    svg.append(s('line', { x1: x(v), y1: foot, x2: x(v), y2: foot + 6, class: 'axis' }),
      s('text', { x: x(v), y: foot + 24, class: 'tick' }, String(v)));
  }
  svg.append(s('line', { x1: x(truth), y1: 34, x2: x(truth), y2: foot, class: 'truth' }),
    s('text', { x: Math.max(80, Math.min(width - 80, x(truth))), y: 24, class: 'tick' }, `${S.shared.truth}: ${truth}`),
    s('text', { x: width / 2, y: foot + 48, class: 'tick' }, S.shared.axis(seconds)));
  const seen = new Map();
  let marked = false;
  for (const v of answers) {
    const n = seen.get(v) || 0;
    seen.set(v, n + 1);
    const mine = v === own && !marked;
    marked = marked || mine;
    const r = Math.min(8, gap * 0.42);
    svg.append(s('circle', { cx: x(v), cy: foot - gap * (n + 0.6), r, class: 'dot' }));
    if (mine) svg.append(s('circle', { cx: x(v), cy: foot - gap * (n + 0.6), r: r + 4, class: 'own' }));
  }
  return h('figure', {}, svg, h('figcaption', {}, text, marked ? ` ${S.shared.ringed}` : ''));
}
