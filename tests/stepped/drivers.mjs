// The page's two drivers on clocks that the test steps: a practice of a recording, phase by phase,
// and the live one's taps. What is sent to the program and what is shown, in their order.
// usage: drivers.mjs SOURCE_DIR     with NODE_PATH as for the page's tests
import { strict as assert } from 'node:assert';
import { mkdtempSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';

const source = process.argv[2];
const esbuild = createRequire(join(process.env.NODE_PATH, 'x.js'))('esbuild');

// ---- A browser whose time is the test's ----
let now_s = 50;
let log = [];
let answers = [];
let timers = [];

class Context {
  constructor() { this.state = 'running'; this.destination = {}; }

  get currentTime() { return now_s; }

  get outputLatency() { return 0; }

  async resume() { this.state = 'running'; }

  async decodeAudioData() { return { duration: 60 }; }

  createBufferSource() {
    return {
      connect: (to) => to,
      disconnect() {},
      start(at_s, from_s) { log.push(`sound from ${from_s} at ${(at_s - now_s).toFixed(1)}`); },
      stop() { log.push('sound stops'); },
    };
  }

  createOscillator() {
    return { frequency: {}, connect: (to) => to, start(at_s) { log.push(`tick at ${(at_s - now_s).toFixed(1)}`); }, stop() {} };
  }

  createGain() {
    return { gain: { setValueAtTime() {}, linearRampToValueAtTime() {}, exponentialRampToValueAtTime() {} }, connect: (to) => to };
  }
}

const json = (status, body) => ({
  ok: status < 400, status, headers: { get: () => 'application/json' }, json: async () => body, arrayBuffer: async () => new ArrayBuffer(8),
});

globalThis.AudioContext = Context;
globalThis.performance.now = () => 1000 * now_s;
globalThis.setInterval = (work, ms) => { timers.push({ work, ms, due_ms: 1000 * now_s + ms }); return timers.at(-1); };
globalThis.clearInterval = (t) => { timers = timers.filter((o) => o !== t); };
globalThis.fetch = async (path, options = {}) => {
  if (path !== '/api/clock') log.push(`${options.method || 'GET'} ${path.replace(/=.*/, '=')} ${options.body || ''}`.trim());
  const answer = path === '/api/clock' ? json(200, { now_s }) : answers.shift();
  if (answer === undefined) throw new Error(`nothing is to be asked now: ${path}`);
  if (answer instanceof Error) throw answer;
  return answer;
};
globalThis.EventSource = class { close() {} };

function go(seconds) {
  const until_ms = 1000 * (now_s + seconds);
  for (;;) {
    const next = timers.filter((t) => t.due_ms <= until_ms).sort((a, b) => a.due_ms - b.due_ms)[0];
    if (!next) break;
    now_s = next.due_ms / 1000;
    next.due_ms += next.ms;
    next.work();
  }
  now_s = until_ms / 1000;
}

function said(expected, what) {
  assert.deepEqual(log, expected, what);
  log = [];
}

// What a screen would change for.
function taker() {
  let last = '';
  return (state) => {
    const line = `screen ${state.phase} ${state.kind}`;
    if (line !== last) log.push(line);
    last = line;
  };
}

// ---- A practice: pulse, then respirations ----
async function practice({ PracticeDriver }) {
  const d = new PracticeDriver({ number: 0, seconds: 15, breath: true });
  answers = [json(200, { practice: 'p1', seconds: 15 }), json(200, {})];
  await d.open(taker());
  said(['POST /api/practice/begin {"number":0,"seconds":15,"breath":true}', 'GET /api/practice/sound?practice=',
    'screen settling pulse'], 'it settles');
  go(30);
  said([], 'and waits for as long as one likes');
  await d.start();
  go(2);
  said(['tick at 0.3', 'tick at 1.3', 'tick at 2.3', 'sound from 0 at 3.3', 'screen lead_in pulse'], 'three ticks');
  await d.again();
  said(['sound stops', 'screen settling pulse'], 'broken off in the lead-in');
  await d.start();
  go(3.35);
  d.tap(1000 * now_s);
  go(8);
  d.tap(1000 * now_s);
  await d.again();
  assert.equal(d.phase, 'settling');
  await d.start();
  log = [];
  go(3.35);
  said(['screen running pulse'], 'the window begins 3.3 s after the start');
  go(1);
  d.tap(1000 * now_s);
  go(2);
  d.tap(1000 * now_s);
  go(11.9);
  said([], 'nothing else is shown in it');
  go(0.15);
  said(['sound stops', 'screen entry pulse'], 'after 15 s its sound ends and the number is asked for');
  answers = [json(400, { error: 'give a whole number from 1 to 100' })];
  await assert.rejects(d.enter({ entered: 1000 }), /whole number/);
  assert.equal(d.phase, 'entry');
  log = [];
  answers = [json(200, { next: 'breath' })];
  await d.enter({ entered: 18, rhythm: 'regular' });
  said(['POST /api/practice/enter {"practice":"p1","kind":"pulse","entered":18,"rhythm":"regular","method":"listened","taps_s":[1.05,3.05]}',
    'screen settling breath'], 'the pulse is stored before anything else is shown: only the taps of this window go with it');
  assert.equal(await d.reveal(), undefined, 'and stays sealed');
  await d.start();
  log = [];
  go(63.25);
  said(['screen running breath'], 'respirations are counted for a whole minute');
  go(0.15);
  said(['sound stops', 'screen entry breath'], 'of 60 s');
  answers = [json(200, { check: {} })];
  await d.enter({ entered: null, could_not: true });
  said(['POST /api/practice/enter {"practice":"p1","kind":"breath","entered":null,"could_not":true,"method":"listened","taps_s":[]}',
    'screen revealed breath'], 'after the last entry it is revealed');
  assert.deepEqual(await d.reveal(), { check: {} });
  d.close();
  assert.equal(timers.length, 0);
}

// ---- A file that is shorter than what is to be counted ----
async function tooShort({ PracticeDriver }) {
  const d = new PracticeDriver({ own: 7, seconds: 90 });
  answers = [json(200, { practice: 'p1', seconds: 90 }), json(200, {})];
  log = [];
  await assert.rejects(d.open(taker()), /Choose a longer file.* 60 s of sound, and 90 s/);
  said(['POST /api/practice/begin {"own":7,"seconds":90}', 'GET /api/practice/sound?practice='], 'it is said before the minute, which does not begin');
}

// ---- Taps of a live minute: in order, none twice, none lost on the way ----
async function taps({ LiveDriver }) {
  const d = new LiveDriver({ seconds: 15 });
  answers = [json(200, {})];
  await d.open(taker());
  log = [];
  const settled = () => new Promise((done) => { setImmediate(done); });
  answers = [new Error('no network'), json(200, {}), json(200, {}), json(200, {})];
  const first = now_s;
  d.tap(1000 * now_s);
  await settled();
  go(1);
  d.tap(1000 * now_s);
  go(1);
  d.tap(1000 * now_s);
  await d.enter({ entered: 18 });
  const sent = log.filter((l) => l.includes('/tap')).map((l) => JSON.parse(l.split(' ')[2]).at_s);
  const near = (t) => t.map((v) => Math.round(v - first));
  assert.deepEqual(sent.map(near), [[0], [0, 1, 2]], 'one that did not get through goes with the next');
  assert.match(log.at(-1), /enter/, 'and the entry follows them');
}

const folder = mkdtempSync(join(tmpdir(), 'fullminute-test-'));
try {
  const outfile = join(folder, 'drivers.mjs');
  esbuild.buildSync({ entryPoints: [join(source, 'src/page/web/drivers.js')], bundle: true, format: 'esm', outfile, logLevel: 'warning' });
  const drivers = await import(pathToFileURL(outfile));
  await practice(drivers);
  await tooShort(drivers);
  await taps(drivers);
  console.log('a practice and the taps of a live minute: in their order');
} finally {
  rmSync(folder, { recursive: true, force: true });
}
