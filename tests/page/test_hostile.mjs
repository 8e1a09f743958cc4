// Another site's page in the same browser, which holds our cookie.
import http from 'node:http';
import { browser, check, run, serve, session } from './page.mjs';

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

  evil.close();
});
