// A clock for one minute: a scale of sixty seconds and a hand that goes round once. It
// knows nothing of any beat.
import { h, still } from './dom.js';
import { S } from './strings.js';

const NS = 'http://www.w3.org/2000/svg';

function s(name, attributes, ...children) {
  const e = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) e.setAttribute(key, value);
  e.append(...children);
  return e;
}

function at(second, radius) {
  const angle = (second / 60) * 2 * Math.PI;
  return [Math.sin(angle) * radius, -Math.cos(angle) * radius];
}

export function dial(seconds) {
  const face = s('svg', { viewBox: '-116 -116 232 232', role: 'img', 'aria-label': S.run.dial });
  for (let i = 0; i < 60; i += 1) {
    const five = i % 5 === 0;
    const [x1, y1] = at(i, five ? 78 : 84);
    const [x2, y2] = at(i, 90);
    face.append(s('line', { x1, y1, x2, y2, class: `scale${five ? ' five' : ''}${i >= seconds ? ' out' : ''}` }));
    if (five) {
      const [x, y] = at(i, 103);
      face.append(s('text', { x, y: y + 4, class: `number${i % 15 === 0 ? ' quarter' : ''}` }, String(i)));
    }
  }
  const hand = s('line', { x1: 0, y1: 0, x2: 0, y2: -88, class: 'hand' });
  face.append(hand);
  const left = h('p.left', {});
  const box = h('div.dial', {}, face, left);
  let shown = -1;
  return {
    box,
    set(elapsed_s) {
      const t = Math.max(0, Math.min(seconds, elapsed_s));
      const turn = still() ? Math.floor(t) : t;
      hand.setAttribute('transform', `rotate(${turn * 6})`);
      const rest = Math.ceil(seconds - t);
      if (rest !== shown) {
        shown = rest;
        left.textContent = S.run.left(rest);
      }
    },
  };
}
