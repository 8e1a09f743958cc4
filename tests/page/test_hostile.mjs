// Another site's page in the same browser, which holds our cookie, and a flood of requests
// beside a running minute.
import http from 'node:http';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { browser, check, run, serve, session, wait } from './page.mjs';

// What a hostile page may try. Returns what it could read.
async function attack(origin) {
  const read = [];
  const tries = [
    ['fetch', () => fetch(`${origin}/api/recordings`, { credentials: 'include' }).then((r) => r.text())],
    ['fetch without cors', () => fetch(`${origin}/api/recordings`, { mode: 'no-cors', credentials: 'include' }).then((r) => r.text())],
    ['post', () => fetch(`${origin}/api/live/open`, { method: 'POST', credentials: 'include', headers: { 'Content-Type': 'application/json' }, body: '{"open":true}' }).then((r) => r.text())],
    ['post as text', () => fetch(`${origin}/api/live/open`, { method: 'POST', mode: 'no-cors', credentials: 'include', body: '{"open":true}' }).then((r) => r.text())],
    ['upload', () => fetch(`${origin}/api/recordings`, { method: 'POST', mode: 'no-cors', credentials: 'include', body: 'x' }).then((r) => r.text())],
    ['script', () => new Promise((done, fail) => { const s = document.createElement('script'); s.src = `${origin}/app.js`; s.onload = () => done('ran'); s.onerror = fail; document.head.append(s); })],
    ['style', () => new Promise((done, fail) => { const s = document.createElement('link'); s.rel = 'stylesheet'; s.href = `${origin}/style.css`; s.onload = () => done('loaded'); s.onerror = fail; document.head.append(s); })],
    ['sound', () => new Promise((done, fail) => { const a = new Audio(`${origin}/api/recordings/1/sound`); a.onloadeddata = () => done('heard'); a.onerror = fail; a.load(); })],
    ['events', () => new Promise((done, fail) => { const e = new EventSource(`${origin}/api/live/events`, { withCredentials: true }); e.onmessage = (m) => done(m.data); e.onerror = fail; })],
    ['frame', () => new Promise((done) => { const f = document.createElement('iframe'); f.src = `${origin}/`; f.onload = () => { let t = ''; try { t = f.contentDocument.body.textContent; } catch { t = ''; } done(t); }; document.body.append(f); })],
    ['form', () => new Promise((done) => { const f = document.createElement('form'); f.method = 'post'; f.enctype = 'text/plain'; f.action = `${origin}/api/live/open`; f.target = 'w'; const w = document.createElement('iframe'); w.name = 'w'; const i = document.createElement('input'); i.name = '{"open":true,"x":"'; i.value = '"}'; f.append(i); document.body.append(w, f); f.submit(); setTimeout(() => done(''), 500); })],
  ];
  for (const [name, go] of tries) {
    const text = await Promise.race([go().catch(() => ''), new Promise((done) => { setTimeout(() => done(''), 700); })]);
    if (text) read.push(`${name}: ${String(text).slice(0, 60)}`);
  }
  return read;
}

async function flood(origin, seconds, per_s) {
  const agent = new http.Agent({ keepAlive: true, maxSockets: 20 });
  const answers = {};
  const end = performance.now() + 1000 * seconds;
  let sent = 0;
  while (performance.now() < end) {
    const due = per_s * (seconds - (end - performance.now()) / 1000);
    while (sent < due) {
      sent += 1;
      http.get(`${origin}/api/live/reveal`, { agent, headers: sent % 2 ? {} : { Host: 'evil.example' } }, (r) => {
        answers[r.statusCode] = (answers[r.statusCode] || 0) + 1;
        r.resume();
      }).on('error', () => { answers.error = (answers.error || 0) + 1; });
    }
    await wait(0.004);
  }
  agent.destroy();
  return { sent, answers };
}

run(async () => {
  const s = await serve();
  const evil = http.createServer((q, r) => { r.setHeader('Content-Type', 'text/html'); r.end('<body>hello'); });
  await new Promise((done) => { evil.listen(0, '127.0.0.1', done); });
  const port = evil.address().port;
  const b = await browser();
  const context = await b.newContext();
  const ours = await context.newPage();
  await ours.goto(s.address);
  await ours.waitForURL(`${s.origin}/`);
  await ours.getByRole('heading', { name: 'Take a count' }).waitFor();
  const plain = await session(s);
  for (const host of ['127.0.0.1', 'localhost']) {
    const page = await context.newPage();
    await page.goto(`http://${host}:${port}/`);
    const read = await page.evaluate(attack, s.origin);
    check(read.length === 0, `a page from ${host}:${port} reads nothing ${read.join('; ')}`);
    const opened = await page.evaluate((o) => { const w = window.open(o); return new Promise((done) => { setTimeout(() => { try { done(w.document.body.textContent); } catch { done(''); } }, 800); }); }, s.origin);
    check(!opened, 'nor by a window that it opens');
    await page.close();
  }
  check((await plain.post('/api/live/stop')).status === 409, 'and no sitting was started');
  const list = await (await plain.get('/api/recordings')).json();
  check(list.recordings.every((r) => r.kind === 'found'), 'and no file was left');

  // ---- A flood beside a running minute ----
  const number = list.recordings.find((r) => r.name.startsWith('steady-084')).number;
  check((await plain.post('/api/live/open', { recording: number, seconds: 15, learner: '' })).status === 200, 'a minute of 15 s begins');
  await wait(3.6);
  check((await plain.post('/api/live/start')).status === 200, 'it starts');
  await wait(3.8);
  const taps = [];
  let slowest = 0;
  let tapping = true;
  const now = async () => (await (await plain.get('/api/clock')).json()).now_s;
  const offset = (await now()) - performance.now() / 1000;
  const tapper = (async () => {
    while (tapping) {
      const at = performance.now();
      taps.push(at / 1000 + offset);
      const r = await plain.post('/api/live/tap', { at_s: [taps.at(-1)] });
      slowest = Math.max(slowest, performance.now() - at);
      if (r.status !== 200) check(false, `a tap was refused: ${r.status}`);
      await wait(0.4);
    }
  })();
  const { sent, answers } = await flood(s.origin, 5, 1000);
  tapping = false;
  await tapper;
  console.log(`  ${sent} requests in 5 s; answers: ${JSON.stringify(answers)}; the slowest tap took ${slowest.toFixed(0)} ms`);
  check(sent >= 4900, 'a thousand requests a second');
  check(!answers[200] && !answers[409], 'none of them got anything');
  check(slowest < 500, 'taps get through meanwhile');
  await wait(15);
  check((await plain.post('/api/live/enter', { entered: 21 })).status === 200, 'the count is entered');
  let reveal;
  for (let i = 0; i < 60; i += 1) {
    reveal = await plain.get('/api/live/reveal');
    if (reveal.status === 200) break;
    await wait(0.25);
  }
  const c = (await reveal.json()).check;
  check(c.same_seconds.beats >= 20 && c.same_seconds.beats <= 22, `and compared: ${c.same_seconds.beats} beats`);
  check(c.count.quality.gaps.length === 0, 'no sound is missing');
  const folder = join(s.home, 'data');
  const find = (at) => readdirSync(at, { withFileTypes: true }).flatMap((e) => (e.isDirectory() ? find(join(at, e.name)) : [join(at, e.name)]));
  const d = JSON.parse(readFileSync(find(folder).find((f) => f.endsWith('.sitting.json')), 'utf8'));
  const lag = d.taps_s.map((t, i) => t - taps[i]);
  const worst = Math.max(...lag) - Math.min(...lag);
  check(d.taps_s.length === taps.length, `${taps.length} taps made, ${d.taps_s.length} stored`);
  check(worst < 0.02, `where they were made, within ${(worst * 1000).toFixed(1)} ms`);
  evil.close();
});
