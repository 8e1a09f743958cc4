// A seat at a shared minute, on a phone: take it, count, enter, and see one's own answer.
import { events, keepTime, post, programTime } from './api.js';
import { dial } from './dial.js';
import { button, clear, field, form, h, notice, say, wrong } from './dom.js';
import { dots } from './dots.js';
import { S } from './strings.js';

const KEY = `fullminute ${location.pathname}`;
const root = h('main', { id: 'main' });
const problem = h('div', {});
let secret = '';
let state = {};
let shown = '';
let taps = [];
let clock;
let changing = false;

function remember(value) {
  secret = value;
  try { sessionStorage.setItem(KEY, value); localStorage.setItem(KEY, value); } catch { /* private window */ }
}

function remembered() {
  try { return sessionStorage.getItem(KEY) || localStorage.getItem(KEY) || ''; } catch { return ''; }
}

async function act(run) {
  try {
    clear(problem);
    await run();
  } catch (e) {
    clear(problem, notice(e.message));
  }
}

// All taps so far go each time: whatever was lost on the way is in the next.
let sending = false;
async function sendTaps() {
  if (sending || taps.length === 0) return;
  sending = true;
  const n = taps.length;
  try {
    await post('api/taps', { secret, taps_s: taps.map((t) => Math.round(t * 1000) / 1000) });
  } catch {
    setTimeout(sendTaps, 1000);
  }
  sending = false;
  if (taps.length > n) setTimeout(sendTaps, 200);
}

function tap(page_ms) {
  if (state.phase !== 'listening') return;
  taps.push(programTime(page_ms) - state.start_s);
  setTimeout(sendTaps, 400);
}

function turn() {
  if (state.phase !== 'listening' || !clock) return;
  clock.set(programTime() - state.start_s);
  requestAnimationFrame(turn);
}

function entry() {
  const enter = (body) => act(async () => {
    await sendTaps();
    const answer = await post('api/enter', { secret, ...body });
    changing = false;
    take(answer);
  });
  const number = h('input', { type: 'text', inputmode: 'numeric', maxlength: 3, size: 4, autocomplete: 'off', class: 'big' });
  const counted = () => {
    if (!/^\d{1,3}$/.test(number.value.trim())) throw wrong(number, S.entry.number);
    return enter({ count: Number(number.value) });
  };
  return form(() => act(counted), field(S.seat.entering, number, S.entry.hint(state.seconds)), h('p.buttons', {}, h('button.main', { type: 'submit' }, S.seat.enter),
    button(S.seat.couldNot, () => enter({ could_not: true }))));
}

function bodies() {
  const own = state.entered
    ? [h('p.lead', {}, state.count === undefined ? S.seat.enteredNone : S.seat.entered(state.count)), h('p', {}, S.seat.wait),
      h('p', {}, button(S.seat.change, () => { changing = true; shown = ''; show(); }, 'plain'))] : entry();
  return {
    gathering: () => h('p.lead', {}, S.seat.gathering),
    lead_in: () => h('p.lead', {}, S.seat.leadIn),
    listening: () => {
      clock = dial(state.seconds);
      const pad = h('button.pad', { type: 'button' }, S.seat.tap);
      pad.addEventListener('pointerdown', (e) => { e.preventDefault(); pad.classList.toggle('odd'); tap(e.timeStamp); });
      pad.addEventListener('keydown', (e) => { if (e.code === 'Space' && !e.repeat) { e.preventDefault(); tap(e.timeStamp); } });
      return h('div.minute', {}, clock.box, pad);
    },
    entering: () => (changing ? entry() : own),
    revealed: () => [h('p.lead', {}, state.count !== undefined ? S.seat.own(state.count, state.truth)
      : state.entered ? S.seat.ownNone(state.truth) : S.seat.none(state.truth)),
      state.n_taps > 0 ? h('p', {}, S.seat.taps(state.n_taps)) : null,
      dots(state.answers, state.truth, state.seconds, state.count ?? null)],
    over: () => h('p.lead', {}, S.seat.over),
  };
}

function show() {
  const title = h('h1', { tabindex: -1 }, state.seat ? S.seat.yours(state.seat) : S.seat.title);
  clear(root, title, bodies()[state.phase] ? bodies()[state.phase]() : null, problem, h('p.care', {}, S.aid));
  if (state.phase === 'listening') { say(S.seat.listening); turn(); }
  if (state.phase === 'entering' && !state.entered) say(S.seat.entering);
}

function take(next) {
  if (next.phase === 'gathering' && state.phase !== 'gathering') taps = [];
  state = { ...next, seat: next.seat || state.seat };
  const key = `${state.phase} ${state.entered} ${state.count} ${changing} ${state.phase === 'revealed' ? JSON.stringify(state.answers) : ''}`;
  if (key === shown) return;
  shown = key;
  show();
}

async function sit() {
  const answer = await post('api/seat', { secret: remembered() });
  lostAt = null;
  if (answer.phase !== 'over') {
    remember(answer.secret);
    await keepTime('api/clock');
    listen();
  }
  take(answer);
}

// When the connection goes for good, as when a phone sleeps, the seat is taken up again; but
// not for ever: the minute may have ended while the phone was away.
const PATIENCE_MS = 60000;
let lostAt = null;

function giveUp() {
  clear(problem, notice(S.seat.lostLong), h('p', {}, button(S.seat.again, () => sit().catch(giveUp))));
}

function sitAgain() {
  sit().catch(() => {
    if (performance.now() - lostAt > PATIENCE_MS) giveUp();
    else setTimeout(sitAgain, 1500);
  });
}

function listen() {
  const close = events(`api/events?secret=${secret}`, (next) => {
    clear(problem);
    lostAt = null;
    if (next.phase === 'over') close();
    take(next);
  }, (ended) => {
    clear(problem, notice(S.seat.lost));
    lostAt = lostAt ?? performance.now();
    const long = performance.now() - lostAt > PATIENCE_MS;
    if (ended || long) close();
    if (long) giveUp();
    else if (ended) setTimeout(sitAgain, 1500);
  });
}

document.title = `${S.seat.title} - ${S.name}`;
document.body.append(h('header', {}, h('p.name', {}, S.name)), root);
if (remembered()) act(sit);
else clear(root, h('h1', { tabindex: -1 }, S.seat.title), h('p', {}, button(S.seat.take, () => act(sit), 'main')), problem, h('p.care', {}, S.aid));
