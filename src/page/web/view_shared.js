// The educator's side of a shared minute.
import { events, get, keepTime, post, programTime, sound } from './api.js';
import { audio, beep, heardAt, Recording } from './audio.js';
import { button, choice, clear, field, form, h, notice, picture, say } from './dom.js';
import { dots } from './dots.js';
import { S } from './strings.js';

class Shared {
  constructor(root) {
    this.root = root;
    this.problem = h('div', {});
    this.shown = '';
  }

  async open() {
    const { recordings } = await get('/api/recordings');
    this.recordings = recordings.filter((r) => r.known).sort((a, b) => a.blind - b.blind);
    await keepTime();
    this.close = events('/api/shared/events', (state) => this.take(state));
  }

  leave() {
    if (this.close) this.close();
    if (this.recording) this.recording.stop();
  }

  async act(run) {
    try {
      clear(this.problem);
      await run();
    } catch (e) {
      clear(this.problem, notice(e.message));
    }
  }

  take(state) {
    this.state = state;
    if (state.phase !== this.shown) {
      this.shown = state.phase;
      this.show(state);
    }
    this.update(state);
  }

  choices(text, path) {
    const recording = choice('recording', this.recordings.map((r) => [r.number, S.count.recordingN(r.blind)]));
    const seconds = choice('seconds', [[60, S.count.full], [30, S.count.short(30)], [15, S.count.short(15)]]);
    return form(() => this.act(() => post(path, { recording: Number(recording.value), seconds: Number(seconds.value) })), field(S.shared.recording, recording, S.shared.known), field(S.shared.length, seconds),
    h('p', {}, h('button.main', { type: 'submit' }, text)));
  }

  show(state) {
    const head = h('h1', { tabindex: -1 }, S.shared.title);
    const end = h('p', {}, button(S.shared.end, () => this.act(async () => {
      await post('/api/shared/end');
      say(S.shared.ended);
    }), 'plain'));
    this.seats = h('ul.seats', {});
    this.tally = h('p.status', { role: 'status' });
    const seats = h('section', {}, h('h2', {}, S.shared.seats), this.tally, this.seats);
    const join = () => h('section.join', {}, h('div', {}, h('p', {}, S.shared.join), h('p.address', {}, state.url),
      h('p.hint', {}, S.shared.joinHint)), state.qr ? picture(state.qr, S.shared.code) : null);
    const bodies = {
      none: () => [h('p.lead', {}, S.shared.lead), state.share ? this.choices(S.shared.open, '/api/shared/open')
        : h('p.care', {}, S.shared.off)],
      ending: () => [h('p.lead', {}, S.shared.ending)],
      gathering: () => [join(), h('p.buttons', {}, button(S.shared.start, () => this.act(() => this.play()), 'main')), seats, end],
      lead_in: () => [h('p.lead', {}, S.shared.ready), seats, end],
      listening: () => [h('p.lead', {}, S.shared.listening), seats, end],
      entering: () => [h('p.lead', {}, S.shared.entering),
        h('p.buttons', {}, button(S.shared.show, () => this.act(() => post('/api/shared/reveal')), 'main')), seats, end],
      revealed: () => [h('section', {}, h('h2', {}, S.shared.answers), h('p', {}, S.shared.was(state.name)),
        state.could_not > 0 ? h('p', {}, S.shared.couldNot(state.could_not)) : null, dots(state.answers, state.truth, state.seconds)), h('h2', {}, S.shared.again), this.choices(S.shared.again, '/api/shared/again'), end],
    };
    clear(this.root, head, (bodies[state.phase] || bodies.none)(), this.problem);
    if (['lead_in', 'none'].includes(state.phase) === false) head.focus({ preventScroll: true });
  }

  update(state) {
    const seats = state.seats || [];
    const word = (s) => (s.entered ? S.shared.entered : !s.here ? S.shared.away
      : state.phase === 'gathering' ? S.shared.here : S.shared.counting);
    this.tally.textContent = seats.length === 0 ? S.shared.nobody
      : S.shared.tally(seats.length, seats.filter((s) => s.entered).length);
    clear(this.seats, seats.map((s) => h(s.entered ? 'li.done' : 'li', {}, h('b', {}, String(s.seat)), ' ', word(s))));
  }

  // The sound is ready before the minute begins, and begins when every phone thinks it does.
  async play() {
    await audio().resume();
    this.recording = await Recording.read(await sound(`/api/recordings/${this.state.recording}/sound`));
    const { start_s } = await post('/api/shared/start');
    const begin_s = heardAt(performance.now()) + (start_s - programTime());
    for (let i = 0; i < 3; i += 1) beep(begin_s - 3 + i, false);
    this.recording.play(0, begin_s);
    this.recording.node.stop(begin_s + this.state.seconds);
  }
}

export async function sharedView(root) {
  const shared = new Shared(root);
  root.leave = () => shared.leave();
  root.asks = () => (['lead_in', 'listening'].includes(shared.state?.phase) ? S.shared.leave : '');
  await shared.open();
}
