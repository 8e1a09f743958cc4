// Two ways to take a count behind one face: a live sitting of the program, and a recording
// that the browser plays. Each calls back with {phase, kind, seconds, elapsed_s, ...}.
import { events, get, keepTime, post, programTime, sound } from './api.js';
import { audio, beep, heardAt, Recording } from './audio.js';
import { say } from './dom.js';
import { S } from './strings.js';

export class LiveDriver {
  constructor(plan) {
    this.plan = plan;
    this.practice = false;
    this.waiting = [];
  }

  async open(take, lost) {
    await keepTime();
    try {
      await post('/api/live/open', this.plan);
    } catch (e) {
      if (e.status !== 409) throw e;
      say(S.run.goesOn); // a page that was closed left a sitting open: it is taken up where it is
    }
    this.close = events('/api/live/events', (state) => {
      this.state = state;
      take(state);
    }, lost);
  }

  elapsed() {
    const s = this.state;
    return s ? s.elapsed_s + (s.phase === 'running' ? programTime() - s.at_s : 0) : 0;
  }

  start() { return post('/api/live/start'); }

  again() { return post('/api/live/again'); }

  keep() { return post('/api/live/keep'); }

  keepMoved() { return post('/api/live/keep_moved'); }

  keepStill() { return post('/api/live/keep_still'); }

  stop() { return post('/api/live/stop'); }

  // Taps carry the moment they were made; one that does not get through goes with the next.
  tap(page_ms) {
    this.waiting.push(programTime(page_ms));
    this.sending = (this.sending || Promise.resolve()).then(async () => {
      const taps = this.waiting.splice(0);
      if (taps.length === 0) return;
      try {
        await post('/api/live/tap', { at_s: taps });
      } catch {
        this.waiting.unshift(...taps);
      }
    });
  }

  async enter(entry) {
    await this.sending;
    await post('/api/live/enter', entry);
  }

  reveal() { return get('/api/live/reveal'); }
}

const LEAD_IN_S = 3;

export class PracticeDriver {
  constructor(plan) {
    this.plan = plan;
    this.practice = true;
    this.kind = 'pulse';
    this.phase = 'settling';
  }

  async open(take) {
    this.take = take;
    const begun = await post('/api/practice/begin', this.plan);
    this.id = begun.practice; // other tabs practise too: what is asked and entered says which
    this.seconds = begun.seconds;
    this.plan.number = begun.number;
    this.recording = await Recording.read(await sound(`/api/practice/sound?practice=${this.id}`));
    const wanted_s = this.plan.breath ? 60 : this.seconds;
    if (this.recording.seconds < wanted_s) throw new Error(S.run.tooShort(Math.floor(this.recording.seconds), wanted_s));
    this.timer = setInterval(() => this.step(), 50);
    this.tell();
  }

  close() {
    clearInterval(this.timer);
    if (this.recording) this.recording.stop();
    for (const t of this.ticks || []) t.stop();
  }

  elapsed() {
    return this.phase === 'running' ? heardAt(performance.now()) - this.start_s : 0;
  }

  tell() {
    const length = this.kind === 'breath' ? 60 : this.seconds;
    this.take({
      phase: this.phase,
      kind: this.kind,
      entry: this.kind,
      seconds: length,
      elapsed_s: this.elapsed(),
      left_s: this.phase === 'lead_in' ? this.start_s - heardAt(performance.now()) : 0,
      can_start: true,
      checked: true,
      trouble: '',
    });
  }

  step() {
    const before = this.phase;
    const now_s = heardAt(performance.now());
    const length = this.kind === 'breath' ? 60 : this.seconds;
    if (this.phase === 'lead_in' && now_s >= this.start_s) this.phase = 'running';
    if (this.phase === 'running' && now_s >= this.start_s + length) {
      this.phase = 'entry';
      this.recording.stop();
    }
    if (this.phase !== before || this.phase === 'lead_in' || this.phase === 'running') this.tell();
  }

  async start() {
    const a = audio();
    await a.resume();
    this.taps_s = [];
    this.start_s = a.currentTime + 0.3 + LEAD_IN_S;
    this.ticks = [0, 1, 2].map((i) => beep(this.start_s - LEAD_IN_S + i, false));
    this.recording.play(0, this.start_s);
    this.phase = 'lead_in';
    this.tell();
  }

  async again() {
    for (const t of this.ticks || []) { try { t.stop(); } catch { /* over */ } }
    this.recording.stop();
    this.recording.from_s = 0;
    this.phase = 'settling';
    this.tell();
  }

  stop() { return this.again(); }

  tap(page_ms) {
    this.taps_s.push(heardAt(page_ms) - this.start_s);
  }

  async enter(entry) {
    const answer = await post('/api/practice/enter', {
      practice: this.id, kind: this.kind, ...entry, method: 'listened', taps_s: this.taps_s.map((t) => Math.round(t * 1000) / 1000),
    });
    if (answer.next === 'breath') {
      this.kind = 'breath';
      this.phase = 'settling';
      this.recording.from_s = 0;
      this.tell();
      return;
    }
    this.answer = answer;
    this.phase = 'revealed';
    this.tell();
  }

  async reveal() { return this.answer; }
}
