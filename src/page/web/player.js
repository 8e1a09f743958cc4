// A recording with its marks: ten seconds of sound that stand still, and a line that moves
// across them as they are heard.
import { get, sound } from './api.js';
import { audio, beep, Recording } from './audio.js';
import { button, clear, h, ink, notice, tick } from './dom.js';
import { drawMark, legendOfMarks } from './marks.js';
import { S } from './strings.js';

const PAGE_S = 10;

export class Player {
  constructor(number, start_s, options = {}) {
    this.number = number;
    this.start_s = start_s;
    this.options = options;
    this.marksOn = options.marks !== false;
    this.heard = -1;
    this.clicks = [];
    this.canvas = h('canvas', { role: 'img', 'aria-label': S.listen.strip });
    this.status = h('p.status', { role: 'status' });
    this.playButton = button(S.listen.play, () => this.toggle(), 'main');
    this.slider = h('input', { type: 'range', min: 0, max: 60, step: 0.1, value: 0, 'aria-label': S.listen.from });
    this.slider.addEventListener('input', () => this.seek(Number(this.slider.value)));
    this.box = h('div.player', {}, h('p.status', {}, S.listen.loading));
    this.ready = this.load();
  }

  async load() {
    const query = `?start=${this.start_s}${this.options.small ? '&speaker=small' : ''}`;
    try {
      const [bytes, marks] = await Promise.all([
        sound(`/api/recordings/${this.number}/sound${query}`), get(`/api/recordings/${this.number}/marks${query}`)]);
      this.recording = await Recording.read(bytes);
      this.data = marks;
    } catch (e) {
      clear(this.box, notice(e.message));
      throw e;
    }
    this.slider.max = this.data.seconds.toFixed(1);
    this.show();
    this.turn();
  }

  show() {
    const origin = { truth: S.listen.originTruth, count: S.listen.originCount, none: S.listen.originNone }[this.data.origin];
    const marks = h('input', { type: 'checkbox' });
    marks.checked = this.marksOn;
    marks.addEventListener('change', () => { this.marksOn = marks.checked; this.heard = -1; this.drawn = null; });
    this.click = h('input', { type: 'checkbox' });
    this.click.addEventListener('change', () => this.restart());
    const loop = h('input', { type: 'checkbox' });
    loop.addEventListener('change', () => { this.loopOn = loop.checked; });
    clear(this.box,
      h('div.strip', {}, this.canvas),
      this.data.marks.length > 0 ? legendOfMarks({ unheard: this.data.marks.some((m) => m.unheard) }) : null, this.status,
      h('p.buttons', {}, this.playButton, this.slider),
      h('div.choices', {}, tick(S.listen.marks, marks), tick(S.listen.click, this.click), tick(S.listen.loop, loop)),
      h('p.hint', {}, origin, ' ', this.data.reason || '', this.data.doubtful ? S.listen.doubtful : ''));
  }

  get playing() {
    return Boolean(this.recording && this.recording.node);
  }

  async toggle() {
    await audio().resume();
    this.only = null;
    if (this.playing) this.pause();
    else this.play(this.recording.from_s >= this.data.seconds - 0.05 ? 0 : this.recording.from_s);
  }

  play(from_s) {
    const at_s = audio().currentTime + 0.06;
    this.recording.play(from_s, at_s);
    this.dropClicks();
    if (this.click.checked) {
      this.clicks = this.data.marks.filter((m) => !m.s2 && m.at_s >= from_s)
        .map((m) => beep(at_s + m.at_s - from_s, true));
    }
    this.heard = -1;
    this.playButton.textContent = S.listen.pause;
  }

  // From a place on, at the left of what is shown; so many seconds of it, null: to the end.
  async stretch(from_s, seconds, click) {
    await audio().resume();
    this.click.checked = Boolean(click);
    this.only = { from_s, until_s: seconds === null ? this.data.seconds : from_s + seconds, short: seconds !== null };
    this.play(from_s);
  }

  dropClicks() {
    for (const c of this.clicks) { try { c.stop(); } catch { /* over */ } }
    this.clicks = [];
  }

  restart() {
    if (this.playing) {
      this.recording.stop();
      this.play(this.recording.from_s);
    }
  }

  pause() {
    this.recording.stop();
    this.dropClicks();
    this.playButton.textContent = S.listen.play;
  }

  seek(to_s) {
    const was = this.playing;
    this.only = null;
    this.recording.stop();
    this.recording.from_s = to_s;
    this.heard = -1;
    if (was) this.play(to_s);
  }

  turn() {
    this.frame = requestAnimationFrame(() => this.turn());
    const at_s = this.recording.place();
    const page = Math.min(Math.floor(at_s / PAGE_S), Math.ceil(this.data.seconds / PAGE_S) - 1);
    if (this.playing) {
      if (this.loopOn && this.loopPage !== undefined && page !== this.loopPage) { this.seek(this.loopPage * PAGE_S); return; }
      if (!this.loopOn) this.loopPage = page;
      this.slider.value = at_s.toFixed(1);
      if (at_s >= this.data.seconds - 0.02) {
        if (this.loopOn) this.seek(this.loopPage * PAGE_S);
        else { this.pause(); this.recording.from_s = 0; }
      }
    }
    if (this.playing && this.only?.short && at_s >= this.only.until_s) this.pause();
    if (this.loopOn === undefined || !this.loopOn) this.loopPage = page;
    this.note(at_s);
    this.draw(this.only?.short ? Math.max(0, Math.floor(this.only.from_s - 2)) : page * PAGE_S, at_s);
  }

  note(at_s) {
    const from_s = this.only ? this.only.from_s : 0;
    const heard = this.data.marks.filter((m) => !m.s2 && m.at_s >= from_s && m.at_s <= at_s).length;
    if (heard === this.heard) return;
    this.heard = heard;
    this.box.dataset.heard = this.marksOn ? String(heard) : '';
    const text = this.marksOn ? S.listen.heard(heard) : S.listen.hidden;
    // Read out only at rest: a voice over every beat would drown the sound.
    this.status.setAttribute('aria-live', this.playing ? 'off' : 'polite');
    this.status.textContent = text;
  }

  draw(left, at_s) {
    const ratio = devicePixelRatio;
    const width = Math.round(this.canvas.clientWidth * ratio);
    const height = Math.round(this.canvas.clientHeight * ratio);
    const key = `${left} ${at_s.toFixed(3)} ${width} ${height} ${this.marksOn} ${ink('paper')}`;
    if (width === 0 || key === this.drawn) return;
    this.drawn = key;
    if (this.canvas.width !== width || this.canvas.height !== height) {
      this.canvas.width = width;
      this.canvas.height = height;
    }
    const c = this.canvas.getContext('2d');
    const x = (t) => ((t - left) / PAGE_S) * width;
    const foot = height - 30 * ratio;
    c.fillStyle = ink('paper');
    c.fillRect(0, 0, width, height);
    if (this.only?.short) {
      c.fillStyle = ink('wash');
      c.fillRect(x(this.only.from_s), 0, x(this.only.until_s) - x(this.only.from_s), height - 22 * ratio);
    }
    this.drawScale(c, left, x, height, ratio);
    c.fillStyle = ink('trace');
    const hz = this.data.envelope_hz;
    const room = foot - 40 * ratio;
    const first = Math.max(0, Math.floor(left * hz));
    for (let i = first; i < Math.min(this.data.envelope.length, (left + PAGE_S) * hz); i += 1) {
      const tall = this.data.envelope[i] * room * 0.95;
      c.fillRect(x(i / hz), foot - 14 * ratio - tall, Math.max(1, width / PAGE_S / hz - 0.5), tall);
    }
    c.strokeStyle = ink('ink');
    c.fillStyle = ink('ink');
    c.lineWidth = 1.5 * ratio;
    if (this.marksOn) {
      for (const m of this.data.marks) {
        if (m.at_s >= left && m.at_s < left + PAGE_S && m.at_s <= at_s) drawMark(c, x(m.at_s), foot, height, ratio, m.s2, m.unheard);
      }
    }
    c.fillStyle = ink('warm');
    c.fillRect(x(at_s) - ratio, 0, 2 * ratio, height - 22 * ratio);
  }

  drawScale(c, left, x, height, ratio) {
    c.fillStyle = ink('soft');
    c.font = `${16 * ratio}px system-ui, sans-serif`;
    c.textAlign = 'center';
    for (let t = 0; t <= PAGE_S; t += 1) {
      c.fillRect(x(left + t), height - 20 * ratio, ratio, 5 * ratio);
      if (t > 0 && t < PAGE_S) c.fillText(`${left + t}`, x(left + t), height - 3 * ratio);
    }
    c.textAlign = 'left';
    c.fillText(`${left} ${S.listen.second}`, 2 * ratio, height - 3 * ratio);
  }

  close() {
    cancelAnimationFrame(this.frame);
    if (this.recording) this.pause();
  }
}

export function playerOf(number, start_s, options) {
  const p = new Player(number, start_s, options);
  p.ready.catch(() => {});
  return p;
}
