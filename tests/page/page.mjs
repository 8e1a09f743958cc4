// Starts the program and a browser for a test: private home, no network, an end for both.
import { createRequire } from 'node:module';
import { spawn } from 'node:child_process';
import { mkdtempSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const modules = process.env.NODE_PATH;
const require = createRequire(join(modules, 'x.js'));
export const { chromium } = require('playwright-core');
export const axePath = require.resolve('axe-core/axe.min.js');
export const program = process.env.FULLMINUTE;
export const source = process.env.SOURCE_DIR;

const ends = [];
let failed = 0;
const PATIENCE_MS = 120000;

export function check(ok, what) {
  console.log(`${ok ? 'ok' : 'NOT OK'}: ${what}`);
  if (!ok) failed += 1;
}

export const wait = (s) => new Promise((done) => { setTimeout(done, s * 1000); });

// Polls until a condition holds; the limit is one that only a program that is stuck reaches.
export async function until(condition, what, limit_s = 120) {
  const end = performance.now() + 1000 * limit_s;
  while (!(await condition())) {
    if (performance.now() > end) throw new Error(`in ${limit_s} s: ${what}`);
    await wait(0.02);
  }
  check(true, what);
}

// For addInitScript: how many answers are waited for (streams of events are not counted).
function countFetches() {
  window.fetching = 0;
  const plain = window.fetch;
  window.fetch = async (...a) => {
    window.fetching += 1;
    try { return await plain(...a); } finally { window.fetching -= 1; }
  };
}

// Waits until a page is drawn as it will stay: nothing is fetched, no animation runs, and for some
// frames nothing of the document changes.
export const settled = (page) => page.evaluate(async () => {
  const frame = () => new Promise((done) => { requestAnimationFrame(() => requestAnimationFrame(done)); });
  await document.fonts.ready;
  let before = '';
  for (let same = 0; same < 3;) {
    await Promise.race([Promise.all(document.getAnimations().filter((a) => a.effect.getComputedTiming().iterations < 9).map((a) => a.finished.catch(() => 0))), new Promise((done) => { setTimeout(done, 5000); })]);
    await frame();
    const now = document.body.innerHTML;
    same = now === before && !window.fetching ? same + 1 : 0;
    if (same === 0 && document.querySelector('.pad')) return; // a minute runs: its clock changes
    before = now;
  }
});

export function folder() {
  const made = mkdtempSync(join(tmpdir(), 'fullminute-test-'));
  ends.push(() => rmSync(made, { recursive: true, force: true }));
  return made;
}

// The program; its address, its port, its process, and what it said on stderr.
export async function serve(args = [], env = {}) {
  const home = folder();
  const began = performance.now();
  const child = spawn(program, ['page', '--no-open', ...args], {
    env: { ...process.env, HOME: home, XDG_DATA_HOME: join(home, 'data'), XDG_CONFIG_HOME: join(home, 'config'), TMPDIR: home, STEPPED_CLOCK: join(home, 'clock'), ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  const said = { out: '', err: '' };
  child.stderr.on('data', (d) => { said.err += d; });
  const ended = new Promise((done) => { child.on('exit', (code, signal) => done(code ?? signal)); });
  const address = await new Promise((done, fail) => {
    child.stdout.on('data', (d) => {
      said.out += d;
      const line = said.out.match(/http:\S+/);
      if (line) done(line[0]);
    });
    child.on('exit', () => fail(new Error(`the program ended: ${said.err}`)));
  });
  const url = new URL(address);
  // Of fullminute_stepped: its clock goes on to so many seconds since its start (tests/stepped/stepped.h).
  const go = (s) => { writeFileSync(join(home, 'clock.new'), String(s)); renameSync(join(home, 'clock.new'), join(home, 'clock')); };
  // The same clock at the pace of this one, and set on by so much when a minute need not be waited for.
  let ahead_s = 0;
  let pace;
  const follow = () => go((performance.now() - began) / 1000 + ahead_s);
  const setOn = (by_s) => { ahead_s += by_s; follow(); };
  const keepPace = () => { pace = setInterval(follow, 20); ends.push(() => clearInterval(pace)); };
  const stop = async () => { child.kill('SIGINT'); return ended; };
  ends.push(stop);
  return { address, origin: url.origin, port: Number(url.port), token: url.searchParams.get('token'), child, home, said, go, keepPace, setOn, stop, ended, ready_ms: performance.now() - began };
}

export async function browser(args = []) {
  const b = await chromium.launch({
    executablePath: process.env.CHROMIUM || '/usr/bin/chromium',
    args: ['--no-sandbox', '--autoplay-policy=no-user-gesture-required', '--disable-dev-shm-usage', ...args],
  });
  ends.push(() => b.close());
  // On a busy machine a view may take long; what never comes fails all the same.
  const made = b.newContext.bind(b);
  b.newContext = async (...o) => {
    const c = await made(...o);
    c.setDefaultTimeout(PATIENCE_MS);
    await c.addInitScript(countFetches);
    return c;
  };
  return b;
}

// For addInitScript: sound is heard on a clock that the test sets on (`window.ahead_s += 15`), so
// that a practice, which goes by what is heard, need not be waited for.
export function soundClock() {
  window.ahead_s = 0;
  const plain = Object.getOwnPropertyDescriptor(BaseAudioContext.prototype, 'currentTime').get;
  Object.defineProperty(BaseAudioContext.prototype, 'currentTime', { get() { return plain.call(this) + window.ahead_s; } });
  AudioContext.prototype.getOutputTimestamp = function heard() {
    return { contextTime: this.currentTime, performanceTime: performance.now() };
  };
}

// A cookie for plain requests, as a browser gets it.
export async function session(s) {
  const opened = await fetch(s.address);
  const cookie = opened.headers.get('set-cookie').split(';')[0];
  return {
    cookie,
    get: (path) => fetch(s.origin + path, { headers: { cookie } }),
    post: (path, body) => fetch(s.origin + path, {
      method: 'POST', headers: { cookie, origin: s.origin, 'content-type': 'application/json' }, body: JSON.stringify(body || {}),
    }),
  };
}

// What is told of a live sitting: `last` is the newest of it.
export async function states(s, cookie) {
  const told = { last: {} };
  const stream = (await fetch(`${s.origin}/api/live/events`, { headers: { cookie } })).body;
  const read = async () => {
    let text = '';
    const decoder = new TextDecoder();
    for await (const part of stream) {
      const lines = (text + decoder.decode(part, { stream: true })).split('\n\n');
      text = lines.pop();
      for (const l of lines) if (l.startsWith('data: ')) told.last = JSON.parse(l.slice(6));
    }
  };
  read().catch(() => { /* the program has ended */ });
  return told;
}

export async function axe(page, what) {
  await page.evaluate(await (await import('node:fs/promises')).readFile(axePath, 'utf8'));
  const found = await page.evaluate(() => window.axe.run(document, { resultTypes: ['violations'] }));
  for (const v of found.violations) {
    console.log(`  ${v.id}: ${v.help}: ${v.nodes.map((n) => n.target.join(' ')).slice(0, 4).join('; ')}`);
  }
  check(found.violations.length === 0, `axe-core finds nothing on ${what}`);
}

// A program's use of the processor, s.
export async function cpu_s(pid) {
  const { readFile } = await import('node:fs/promises');
  const fields = (await readFile(`/proc/${pid}/stat`, 'utf8')).split(') ')[1].split(' ');
  return (Number(fields[11]) + Number(fields[12])) / 100;
}

export async function end() {
  for (const e of ends.reverse()) {
    try { await e(); } catch { /* it is gone */ }
  }
  console.log(failed === 0 ? 'all is well' : `${failed} failed`);
  process.exit(failed === 0 ? 0 : 1);
}

export function run(test) {
  test().catch((e) => { console.log(e.stack || e); failed += 1; }).then(end);
}
