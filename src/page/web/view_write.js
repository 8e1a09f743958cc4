// Writing a minute: a row of bars, each an interval, and the same as text.
import { post } from './api.js';
import { button, choice, clear, field, h, notice, numberOf, say, tick } from './dom.js';
import { playerOf } from './player.js';
import { S } from './strings.js';

const LEAST_S = 0.3;
const MOST_S = 2.4;
const STEP_S = 0.02;
const MANY = 60;

const STARTS = {
  even: [0.84, 0.84, 0.84, 0.84, 0.84, 0.84, 0.84, 0.84],
  early: [0.84, 0.84, 0.84, 0.56, 1.12, 0.84, 0.84, 0.84],
  pairs: [0.56, 1.04, 0.56, 1.04, 0.56, 1.04],
  dropped: [0.84, 0.84, 1.64, 0.84, 0.84, 1.64],
  wild: [0.62, 0.98, 0.54, 0.76, 1.18, 0.58, 0.86, 0.66, 1.04, 0.5, 0.72, 0.92],
};

// The same rule as the program's own: three equal ones and more are one repeat.
function recipe(bars) {
  const lines = ['# fullminute.rhythm/1'];
  for (let i = 0; i < bars.length;) {
    let n = 1;
    while (i + n < bars.length && bars[i + n] === bars[i]) n += 1;
    if (n > 2) lines.push(`repeat ${n}`, `  interval ${bars[i].toFixed(3)}`, 'end');
    else { lines.push(`interval ${bars[i].toFixed(3)}`); n = 1; }
    i += n;
  }
  return lines.join('\n');
}

export async function writeView(root) {
  let bars = [...STARTS.early];
  let picked = 0;
  let player;
  const row = h('div.bars', { role: 'group', 'aria-label': S.write.bars });
  const text = h('pre', { tabindex: 0 });
  const rate = h('p.status', {});
  const problem = h('div', {});
  const place = h('div', {});
  const start = choice('start', Object.keys(STARTS).map((k) => [k, S.write[k]]), 'early');
  const breaths = h('input', { type: 'text', inputmode: 'numeric', size: 5, value: 15 });
  const noisy = h('input', { type: 'checkbox' });

  function tell() {
    const total = bars.reduce((a, b) => a + b, 0);
    text.textContent = recipe(bars);
    rate.textContent = `${S.write.perMinute(Math.round((60 * bars.length) / total))} ${S.write.repeats}`;
  }

  function set(i, value) {
    bars[i] = Math.round(Math.max(LEAST_S, Math.min(MOST_S, value)) / STEP_S) * STEP_S;
    bars[i] = Math.round(bars[i] * 1000) / 1000;
    const bar = row.children[i];
    bar.firstChild.style.height = `${(bars[i] / MOST_S) * 100}%`;
    bar.lastChild.textContent = bars[i].toFixed(2);
    bar.setAttribute('aria-valuenow', bars[i].toFixed(2));
    bar.setAttribute('aria-valuetext', S.write.bar(i + 1, bars[i].toFixed(2)));
    tell();
  }

  function key(e, i) {
    const by = { ArrowUp: STEP_S, ArrowDown: -STEP_S, PageUp: 0.1, PageDown: -0.1 }[e.key];
    const go = { ArrowLeft: -1, ArrowRight: 1 }[e.key];
    if (by) { e.preventDefault(); set(i, bars[i] + by); }
    if (go && row.children[i + go]) { e.preventDefault(); row.children[i + go].focus(); }
    if (e.key === 'Delete') remove();
  }

  function one(value, i) {
    const bar = h('div.bar-one', {
      role: 'slider', tabindex: 0, 'aria-label': S.write.bar(i + 1, value.toFixed(2)), 'aria-orientation': 'vertical',
      'aria-valuemin': LEAST_S, 'aria-valuemax': MOST_S,
      onkeydown: (e) => key(e, i), onfocus: () => { picked = i; },
    }, h('span.stem', {}), h('span.value', {}));
    bar.addEventListener('pointerdown', (e) => {
      e.preventDefault();
      bar.focus();
      bar.setPointerCapture(e.pointerId);
      const move = (m) => {
        const area = bar.getBoundingClientRect();
        set(i, ((area.bottom - 24 - m.clientY) / (area.height - 24)) * MOST_S);
      };
      move(e);
      bar.onpointermove = move;
      bar.onpointerup = () => { bar.onpointermove = null; };
    });
    return bar;
  }

  function show() {
    clear(row, bars.map(one));
    bars.forEach((v, i) => set(i, v));
  }

  function add() {
    if (bars.length < MANY) bars.splice(picked + 1, 0, bars[picked] || 0.84);
    show();
    row.children[Math.min(picked + 1, bars.length - 1)].focus();
  }

  function remove() {
    if (bars.length > 1) bars.splice(picked, 1);
    show();
    picked = Math.min(picked, bars.length - 1);
    row.children[picked].focus();
  }

  async function make() {
    clear(problem, h('p.status', {}, S.listen.loading));
    try {
      const breathing = numberOf(breaths, 4, 60, S.write.breathsWrong) ?? 15;
      const answer = await post('/api/compose', {
        intervals_s: bars, seconds: 66, breaths: breathing, noisy: noisy.checked, name: S.write.name,
      });
      clear(problem);
      text.textContent = answer.recipe;
      if (player) player.close();
      player = playerOf(answer.number, 0);
      clear(place, player.box);
      await player.ready;
      say(S.write.make);
      await player.toggle();
    } catch (e) {
      clear(problem, notice(e.message));
    }
  }

  start.addEventListener('change', () => { bars = [...STARTS[start.value]]; picked = 0; show(); });
  clear(root, h('h1', { tabindex: -1 }, S.write.title), h('p.lead', {}, S.write.lead),
    field(S.write.start, start),
    h('div.write', {}, row, h('section.recipe', {}, h('h2', {}, S.write.recipe), text, h('p.hint', {}, S.write.recipeHint))),
    rate,
    h('p.buttons', {}, button(S.write.add, add), button(S.write.remove, remove)),
    h('div.choices', {}, field(S.write.breaths, breaths), tick(S.write.noisy, noisy)),
    h('p', {}, button(S.write.make, make, 'main')), problem, place);
  root.leave = () => player && player.close();
  show();
}
