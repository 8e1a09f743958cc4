// Taking a count: what to listen to, the minute, the entry, and then both counts.
import { get } from './api.js';
import { audio } from './audio.js';
import { dial } from './dial.js';
import { button, choice, clear, field, form, h, notice, numberOf, say, tick, wrong } from './dom.js';
import { dropBox } from './drop.js';
import { LiveDriver, PracticeDriver } from './drivers.js';
import { S } from './strings.js';
import { openStrip } from './view_open.js';
import { reveal } from './view_reveal.js';

const AGE_MOST_MONTHS = 1560;
const kept = { learner: '', source: '', seconds: 60, breath: true, plan: {}, own: 0, ownName: '' };

function ageMonths(age, unit) {
  const months = unit.value === 'years' ? 12 : 1;
  const n = numberOf(age, 0, AGE_MOST_MONTHS / months, S.count.ageWrong);
  return n === undefined ? n : n * months;
}

// The whole number that was typed; null: none.
const wholeOf = (input) => (/^\d{1,3}$/.test(input.value.trim()) ? Number(input.value) : null);

// ---- What to listen to ----

// hint: the code of what the last count advised, if it did; note: what is to be said first.
async function setup(root, go, hint = '', note = '') {
  const practice = await get('/api/practice');
  const sources = [['live', S.count.live], ['practice', S.count.practice], ['own', S.count.own], ['open', S.count.open]];
  const chosen = kept.source || 'live';
  const radios = sources.map(([value, text]) => {
    const r = h('input', { type: 'radio', name: 'source', value });
    r.checked = value === chosen;
    return [r, tick(text, r)];
  });
  const input = choice('input', [['', S.count.inputDefault]], '');
  const noInputs = h('p.hint', {});
  const number = choice('number', [['0', S.count.any],
    ...Array.from({ length: practice.recordings }, (_, i) => [i + 1, S.count.recordingN(i + 1)])], hint ? kept.plan.number : 0);
  const seconds = choice('seconds', [[60, S.count.full], [30, S.count.short(30)], [15, S.count.short(15)]],
    hint.startsWith('seconds_') ? hint.slice(8) : kept.seconds);
  const breath = h('input', { type: 'checkbox' });
  breath.checked = kept.breath;
  const site = choice('site', [['apical', S.count.apical], ['radial', S.count.radial]]);
  const method = choice('method', [['watched', S.count.watched], ['listened', S.count.listened]]);
  const learner = h('input', { type: 'text', maxlength: 31, autocomplete: 'off', value: kept.learner });
  const age = h('input', { type: 'text', inputmode: 'decimal', size: 5 });
  const unit = choice('unit', [['years', S.count.years], ['months', S.count.months]]);
  unit.setAttribute('aria-label', S.count.age);
  const tolerance = h('input', { type: 'text', inputmode: 'decimal', size: 5 });
  const ticks = h('input', { type: 'checkbox' });
  const second = h('input', { type: 'checkbox' });
  const problem = h('div', {});
  const forInput = h('div', {},
    h('p.care', {}, S.count.ask), field(S.count.input, input),
    noInputs,
    button(S.count.again, () => countView(root), 'plain'));
  const forPractice = field(S.count.recording, number, S.count.recordingHint);
  const ready = h('p.status', {}, kept.own ? S.count.ownReady(kept.ownName) : null);
  const forOwn = h('div', {}, h('p.hint', {}, S.count.ownHint), dropBox((n, f) => {
    Object.assign(kept, { own: n, ownName: f.name });
    clear(ready);
    clear(problem);
  }), ready);
  const forChecked = h('div', {}, field(S.count.length, seconds), tick(S.count.breath, breath),
    field(S.count.learner, learner, S.count.learnerHint));
  const forLive = h('div', {}, field(S.count.site, site), field(S.count.method, method),
    tick(S.count.second, second, S.count.secondHint), tick(S.count.ticks, ticks));
  const ageField = field(S.count.age, age, S.count.ageHint);
  age.after(unit);
  const more = h('details', {}, h('summary', {}, S.count.more), forLive, ageField,
    field(S.count.tolerance, tolerance, S.count.toleranceHint));
  const source = () => radios.find(([r]) => r.checked)[0].value;
  function show() {
    const s = source();
    forInput.hidden = !['live', 'open'].includes(s);
    forPractice.hidden = s !== 'practice';
    forOwn.hidden = s !== 'own';
    forChecked.hidden = s === 'open';
    more.hidden = s === 'open';
    forLive.hidden = s !== 'live';
    second.disabled = seconds.value !== '60' || site.value !== 'apical';
  }
  for (const c of [seconds, site]) c.addEventListener('change', show);
  for (const [r] of radios) r.addEventListener('change', show);
  async function begin() {
    const s = source();
    try {
      const plan = {
        input: input.value, seconds: Number(seconds.value), breath: breath.checked,
        site: site.value, method: method.value, learner: learner.value.trim(), ticks: ticks.checked,
        second_examiner: second.checked && !second.disabled,
        age_months: ageMonths(age, unit), tolerance: numberOf(tolerance, 0.5, 50, S.count.toleranceWrong),
      };
      Object.assign(kept, { learner: plan.learner, source: s, seconds: plan.seconds, breath: plan.breath, plan });
      if (s === 'practice') {
        audio();
        plan.number = Number(number.value) || 1 + Math.floor(Math.random() * practice.recordings);
        await go(new PracticeDriver(plan));
      } else if (s === 'own') {
        if (!kept.own) throw new Error(S.count.ownNone);
        audio();
        plan.own = kept.own;
        await go(new PracticeDriver(plan));
      } else {
        if (s === 'open') Object.assign(plan, { open: true, breath: false, seconds: 60 });
        await go(new LiveDriver(plan));
      }
    } catch (e) {
      clear(problem, notice(e.message));
    }
  }
  const choices = form(begin,
    h('fieldset', {}, h('legend', {}, S.count.source), radios.map(([, line]) => line)),
    forInput, forPractice, forOwn, forChecked, more, problem,
    h('p', {}, h('button.main', { type: 'submit' }, S.count.begin)));
  show();
  // The list of inputs takes the sound system a moment; the page does not wait for it.
  let touched = Boolean(kept.source);
  choices.addEventListener('change', () => { touched = true; });
  get('/api/live/inputs').then((inputs) => {
    const found = inputs.inputs || [];
    input.append(...found.map((i) => h('option', { value: i.key }, i.name)));
    if (found.length > 0) return;
    noInputs.textContent = inputs.problem || S.count.noInputs;
    if (!touched) { radios[1][0].checked = true; show(); }
  }).catch(() => {});
  get('/api/logbook').then((book) => { if (!learner.value) learner.value = book.usual; }).catch(() => {});
  clear(root, h('h1', { tabindex: -1 }, S.count.title), note ? h('p.kept', { role: 'status' }, note) : null,
    h('p.lead', {}, S.count.lead), choices);
  if (hint === 'age') {
    more.open = true;
    age.focus();
  }
}

// ---- The minute ----

function levelText(state) {
  if (state.level_dbfs === null || state.level_dbfs === undefined) return S.run.levelNone;
  return `${Math.round(state.level_dbfs)} dB`;
}

class Run {
  constructor(root, driver) {
    this.root = root;
    this.driver = driver;
    this.shown = '';
    this.problem = h('div', {});
    this.note = '';
    this.keys = (e) => this.press(e);
    document.addEventListener('keydown', this.keys);
  }

  async open() {
    await this.driver.open((state) => this.take(state), (ended) => ended && this.fail(S.gone));
  }

  close() {
    document.removeEventListener('keydown', this.keys);
    cancelAnimationFrame(this.frame);
    if (this.driver.close) this.driver.close();
    if (this.strip) this.strip.close();
  }

  // What leaving now would cost; '' nothing.
  asks() {
    const { phase, kind } = this.state || {};
    if (!this.state?.checked) return '';
    if (['lead_in', 'running', 'gapped', 'entry'].includes(phase)) return this.driver.practice ? S.run.leavePractice : S.run.leaveLive;
    return this.driver.practice && phase === 'settling' && kind === 'breath' ? S.run.leavePractice : '';
  }

  fail(text) {
    clear(this.problem, notice(text));
  }

  async act(run) {
    try {
      clear(this.problem);
      await run();
    } catch (e) {
      this.fail(e.message);
    }
  }

  press(e) {
    if (e.code !== 'Space' || e.repeat || !this.state || this.state.phase !== 'running') return;
    if (['INPUT', 'SELECT'].includes(e.target.tagName) || e.target.closest('dialog')) return;
    e.preventDefault();
    this.tap(e.timeStamp);
  }

  tap(page_ms) {
    if (!this.state.checked) return;
    this.driver.tap(page_ms);
    this.pad.classList.toggle('odd');
  }

  // The screen is made again only when the phase changes; in between, parts of it.
  take(state) {
    const key = `${state.phase} ${state.kind} ${state.entry}`;
    const before = this.state;
    this.state = state;
    if (state.phase === 'broken' && before?.phase === 'entry') this.notEntered();
    if (this.strip && state.open) this.strip.take(state);
    if (key !== this.shown) {
      this.shown = key;
      this.show(state);
    }
    this.update(state);
  }

  show(state) {
    const parts = {
      settling: () => this.settling(state),
      lead_in: () => this.leadIn(),
      running: () => this.running(state),
      gapped: () => this.gapped(state),
      entry: () => this.entry(state),
      broken: () => this.broken(state),
      ending: () => this.counting(),
      counting: () => this.counting(),
      revealed: () => this.revealed(),
      none: () => countView(this.root),
    };
    (parts[state.phase] || (() => {}))();
  }

  page(title, ...rest) {
    const head = h('h1', { tabindex: -1 }, title);
    const person = this.state && this.state.person ? h('p.care', { role: 'alert' }, this.state.person) : null;
    const note = this.note ? h('p.kept', { role: 'status' }, this.note) : null;
    this.note = '';
    const within = rest.flat().some((e) => e?.contains(this.problem));
    clear(this.root, head, person, note, rest, within ? null : this.problem);
    head.focus();
  }

  settling(state) {
    const breath = state.kind === 'breath';
    const practice = this.driver.practice;
    if (!state.checked) {
      this.openPage();
      return;
    }
    const hint = practice ? (breath ? S.run.practiceBreathHint : S.run.practiceHint)
      : state.watched ? S.run.watchHint
      : (breath ? S.run.settleBreathHint : S.run.settleHint);
    this.level = h('span', {});
    this.bar = h('div.bar', { role: 'presentation' }, h('div', {}));
    this.advice = h('p.advice', { role: 'status' });
    const text = state.seconds === 60 ? S.run.start : S.run.startSeconds(state.seconds);
    this.startButton = button(text, () => this.act(() => this.driver.start()), 'main');
    this.page(state.watched ? S.run.watch : breath ? S.run.settleBreath : S.run.settle, h('p.lead', {}, hint),
      practice ? null : h('p.care', {}, S.run.inTrouble),
      practice ? null : h('div.level', {}, h('p', {}, `${S.run.level}: `, this.level), this.bar, this.advice),
      h('p', {}, this.startButton), this.breakOff());
  }

  breakOff() {
    return h('p', {}, button(S.run.breakOff, () => this.act(async () => {
      const answer = await this.driver.stop();
      const note = answer && answer.path ? S.run.recordingKept(answer.path) : S.run.practiceOff;
      await countView(this.root, '', note);
    }), 'plain'));
  }

  leadIn() {
    if (!this.state.checked) return;
    this.count = h('p.lead-in', {});
    this.page(S.run.leadIn, this.count);
    say(S.run.leadIn);
  }

  running(state) {
    if (!state.checked) return;
    const breath = state.kind === 'breath';
    this.clock = dial(state.seconds);
    this.pad = h('button.pad', { type: 'button' }, breath ? S.run.tapBreath : S.run.tap);
    this.pad.addEventListener('pointerdown', (e) => { e.preventDefault(); this.tap(e.timeStamp); });
    this.page(breath ? S.run.breath : S.run.pulse, this.driver.practice ? null : h('p.care', {}, S.run.inTrouble),
      h('div.minute', {}, this.clock.box, h('div', {}, this.pad, h('p.hint', {}, this.driver.plan.taps ? S.run.tapAsked : S.run.tapOptional))),
      h('p', {}, button(S.run.breakOff, () => this.act(async () => {
        this.note = this.driver.practice ? S.run.minuteOffPractice : S.run.minuteOff;
        await this.driver.again();
      }), 'plain')));
    this.pad.focus({ preventScroll: true });
    say(S.run.began);
    this.halfSaid = false;
    this.turn();
  }

  turn() {
    if (!this.state || this.state.phase !== 'running' || !this.clock) return;
    const elapsed_s = this.driver.elapsed();
    this.clock.set(elapsed_s);
    if (!this.halfSaid && elapsed_s > this.state.seconds / 2) {
      this.halfSaid = true;
      say(S.run.half);
    }
    this.frame = requestAnimationFrame(() => this.turn());
  }

  gapped(state) {
    const lost = state.lost_length_s > 0;
    const from = Math.max(0, Math.floor(state.lost_start_s));
    const said = state.missing_s > 0 || !lost ? S.run.missing(state.missing_s.toFixed(1))
      : S.run.lost(from, Math.ceil(state.lost_start_s + state.lost_length_s));
    this.page(said,
      h('p.buttons', {}, button(S.run.again, () => this.act(() => this.driver.again()), 'main'),
        lost ? button(S.run.keepMoved, () => this.act(() => this.driver.keepMoved())) : null,
        lost ? button(S.run.keepStill, () => this.act(() => this.driver.keepStill())) : null,
        lost ? null : button(S.run.keep, () => this.act(() => this.driver.keep()))));
  }

  entry(state) {
    const number = h('input', {
      type: 'text', inputmode: 'numeric', maxlength: 3, size: 4, autocomplete: 'off', class: 'big',
      'aria-label': S.entry[state.entry], 'aria-describedby': 'count-hint',
    });
    this.number = number;
    const words = S.entry.words[state.entry].map(([name, label, options]) => [name, label, choice(name, options)]);
    const running = state.entry !== 'second' && state.seconds === 60 ? S.entry.runningAt.map((at_s) => [at_s, h('input', {
      type: 'text', inputmode: 'numeric', maxlength: 3, size: 4, autocomplete: 'off', 'aria-label': S.entry.runningLabel(at_s),
    })]) : [];
    const entry = (more) => ({
      entered: null,
      could_not: false,
      ...Object.fromEntries(words.map(([name, , select]) => [name, select.value])),
      ...(running.length > 0 ? { running: running.map(([, i]) => wholeOf(i)) } : {}),
      ...more,
    });
    const store = async (more) => {
      try {
        await this.driver.enter(entry(more));
        say(S.entry.stored);
      } catch (e) {
        if (e.status !== 409 || !e.body?.ask) throw e;
        this.askBack(e.body, () => store({ ...more, confirmed: true }), number);
      }
    };
    const counted = () => {
      const entered = wholeOf(number);
      if (entered === null) throw wrong(number, S.entry.number);
      return store({ entered });
    };
    say(S.run.over);
    this.page(S.entry[state.entry], form(() => this.act(counted), h('p', {}, number), h('p.hint', { id: 'count-hint' }, S.entry.hint(state.seconds)),
    words.map(([, label, select]) => field(label, select)),
    running.length === 0 ? null : h('details', {}, h('summary', {}, S.entry.running), h('p.hint', {}, S.entry.runningHint),
      h('p.running', {}, running.map(([at_s, i]) => h('span', {}, i, ` ${S.entry.runningIn(at_s)}`)))),
    this.problem,
    h('p.buttons', {}, h('button.main', { type: 'submit' }, S.entry.store),
      button(S.entry.couldNot, () => this.act(() => store({ could_not: true }))))),
    state.entry === 'breath' ? this.breakOff() : null);
    number.focus();
  }

  // What is asked before an entry is stored; the number and the words stay as they are.
  askBack({ ask, text, error }, yes, number) {
    clear(this.problem, h('div.notice', { role: 'alert' }, h('p', {}, text || error), h('p.buttons', {},
      button(ask === 'person' ? S.entry.personYes : S.entry.askYes, () => this.act(yes)),
      button(S.entry.askNo, () => { clear(this.problem); number.focus(); number.select(); }, 'plain'))));
  }

  // The recording failed while a count was typed: that is said on the screen that takes its place.
  notEntered() {
    if (!this.problem.firstChild || this.problem.querySelector('button')) this.fail(S.entry.notStored(this.number.value.trim()));
  }

  broken(state) {
    this.page(S.run.trouble, notice(state.trouble), this.breakOff());
  }

  counting() {
    this.page(S.reveal.working);
  }

  revealed() {
    this.act(async () => {
      const answer = await this.driver.reveal();
      this.close();
      await reveal(this.root, answer, (action, hint) => (action ? exercise(this.root, action) : countView(this.root, hint)));
    });
  }

  openPage() {
    this.strip = openStrip(this.driver, (run) => this.act(run));
    clear(this.root, this.strip.box, this.problem);
    this.strip.begin();
  }

  update(state) {
    if (state.phase === 'settling' && state.checked) {
      this.startButton.disabled = !state.can_start;
      if (this.driver.practice) return;
      this.level.textContent = levelText(state);
      const share = state.level_dbfs === null ? 0 : Math.max(0, Math.min(1, (state.level_dbfs + 72) / 72));
      this.bar.firstChild.style.width = `${Math.round(share * 100)}%`;
      const advice = state.can_start ? state.advice || S.run.good : S.run.wait;
      if (this.advice.textContent !== advice) this.advice.textContent = advice;
    }
    if (state.phase === 'lead_in' && this.count) {
      const rest = String(Math.max(1, Math.ceil(state.left_s)));
      if (this.count.textContent !== rest) this.count.textContent = rest;
    }
    if (state.phase === 'running' && state.stalled) this.fail(S.run.stalled);
  }
}

let running;

export function leaveCount() {
  if (running) running.close();
  running = undefined;
}

async function begin(root, driver) {
  leaveCount();
  running = new Run(root, driver);
  await running.open();
}

// What a result advises, begun at once: the last plan, changed as that asks. A rhythm of another
// kind is chosen by the program, which knows them; it stays unnamed.
const EXERCISES = {
  again: {},
  other: { like: 'other' },
  tap_along: { practice: true, taps: true },
  tap_other: { practice: true, taps: true, like: 'other' },
  slow: { practice: true, like: 'slow' },
  irregular: { practice: true, like: 'irregular' },
  full_minute: { seconds: 60, like: 'other' },
  breaths: { breath: true },
  second_examiner: { live: true, second_examiner: true, seconds: 60, site: 'apical' },
  place: { live: true },
};

async function exercise(root, action) {
  const { practice, live, ...change } = EXERCISES[action];
  const plan = { number: 1, ...kept.plan, taps: false, like: undefined, second_examiner: false, ...change };
  if (change.like) delete plan.own; // a file of one's own is the only one of its kind
  const recorded = practice || (['practice', 'own'].includes(kept.source) && !live);
  Object.assign(kept, { source: !recorded ? 'live' : plan.own ? 'own' : 'practice', plan });
  await begin(root, recorded ? new PracticeDriver(plan) : new LiveDriver(plan));
}

export async function countView(root, hint, note) {
  leaveCount();
  root.asks = () => (running ? running.asks() : '');
  await setup(root, (driver) => begin(root, driver), hint, note);
}
