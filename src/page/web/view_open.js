// An open count: the sound as it comes, with provisional marks, at the screen's own pace.
import uPlot from 'uplot';
import { programTime } from './api.js';
import { button, h, ink } from './dom.js';
import { drawMark, legendOfMarks } from './marks.js';
import { S } from './strings.js';

const SECONDS = 8;
const HZ = 50;
const BEHIND_S = 0.15; // what is on its way from the input

export function openStrip(driver, act) {
  const values = new Map(); // slot of 1/50 s -> loudness
  let marks = [];
  let last = null;
  let plot = null;
  let frame = 0;
  let top = 0.02;
  const frames = { n: 0, late: 0, last: 0, worst: 0 };
  const status = h('p.status', { role: 'status' });
  const begin = button(S.open.begin, () => act(() => driver.start()), 'main');
  const host = h('div.strip', { role: 'img', 'aria-label': S.open.strip });
  const box = h('div.open-strip', {}, h('h1', { tabindex: -1 }, S.open.title), h('p.lead', {}, S.open.lead), host,
    legendOfMarks({ unsure: true }), status,
    h('p.buttons', {}, begin, button(S.open.stop, () => act(async () => { await driver.stop(); }))),
    h('p.care', {}, S.run.inTrouble));

  function drawMarks(u) {
    const c = u.ctx;
    c.save();
    c.strokeStyle = ink('ink');
    c.fillStyle = ink('ink');
    const ratio = devicePixelRatio;
    c.lineWidth = 1.5 * ratio;
    for (const [t, second] of marks) {
      const x = u.valToPos(t, 'x', true);
      if (x < u.bbox.left || x > u.bbox.left + u.bbox.width) continue;
      const foot = u.bbox.top + u.bbox.height - 8 * ratio;
      drawMark(c, x, foot, u.bbox.height, ratio, second);
    }
    c.restore();
  }

  function data(now_s) {
    const first = Math.ceil((now_s - SECONDS) * HZ);
    const n = SECONDS * HZ;
    const x = new Array(n);
    const y = new Array(n);
    for (let i = 0; i < n; i += 1) {
      x[i] = (first + i) / HZ;
      const v = values.get(first + i);
      y[i] = v === undefined ? null : v;
    }
    return [x, y];
  }

  function make() {
    const size = () => ({ width: Math.max(280, host.clientWidth), height: Math.max(160, Math.min(320, innerHeight * 0.4)) });
    plot = new uPlot({
      ...size(),
      legend: { show: false },
      cursor: { show: false },
      scales: { x: { time: false, auto: false }, y: { auto: false } },
      axes: [{ label: S.open.axis, stroke: () => ink('ink'), grid: { show: false }, incrs: [1, 2, 4], space: 40, values: (u, v) => v.map((t) => String(Math.round(t))) },
        { show: false }],
      series: [{}, { stroke: () => ink('deep'), fill: () => ink('wash'), width: 1.5, spanGaps: false, points: { show: false } }],
      hooks: { draw: [drawMarks] },
    }, [[0, 1], [null, null]], host);
    host.plot = plot;
    addEventListener('resize', () => plot && plot.setSize(size()));
  }

  function turn(at_ms) {
    frame = requestAnimationFrame(turn);
    if (frames.last > 0) {
      const gap = at_ms - frames.last;
      frames.n += 1;
      frames.worst = Math.max(frames.worst, gap);
      if (gap > 25) frames.late += Math.round(gap / (1000 / 60)) - 1;
    }
    frames.last = at_ms;
    if (!plot || !last) return;
    const now_s = last.now_s + (programTime(at_ms) - last.at_s) - BEHIND_S;
    plot.setData(data(now_s), false);
    plot.setScale('x', { min: now_s - SECONDS, max: now_s });
    plot.setScale('y', { min: 0, max: top });
  }

  return {
    box,
    frames,
    begin() {
      make();
      box.querySelector('h1').focus();
      box.frames = frames;
      frame = requestAnimationFrame(turn);
    },
    take(state) {
      last = state;
      marks = state.open.marks;
      const first = Math.round(state.open.envelope_from_s * HZ);
      state.open.envelope.forEach((v, i) => values.set(first + i, v));
      const peak = Math.max(0.01, ...state.open.envelope);
      top = Math.max(peak * 1.15, top * 0.995);
      for (const k of values.keys()) { if (k < first - SECONDS * HZ - 100) values.delete(k); else break; }
      begin.hidden = state.phase !== 'settling';
      begin.disabled = !state.can_start;
      const text = state.phase === 'running' ? S.open.running(Math.floor(state.elapsed_s)) : (state.trouble || state.advice);
      if (status.textContent !== text) status.textContent = text;
    },
    close() {
      cancelAnimationFrame(frame);
      if (plot) plot.destroy();
      plot = null;
    },
  };
}
