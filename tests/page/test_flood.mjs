// A thousand requests a second beside a running minute, at its own speed: taps get through, and lie
// where they were made.
import http from 'node:http';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { check, run, serve, session, states, until, wait } from './page.mjs';

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
  const plain = await session(s);
  const list = await (await plain.get('/api/recordings')).json();
  const number = list.recordings.find((r) => r.name.startsWith('steady-084')).number;
  check((await plain.post('/api/live/open', { recording: number, seconds: 15, learner: '' })).status === 200, 'a minute of 15 s begins');
  const told = await states(s, plain.cookie);
  await until(() => told.last.can_start, 'something is heard');
  check((await plain.post('/api/live/start')).status === 200, 'it starts');
  await until(() => told.last.phase === 'running', 'it runs');
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
  await until(() => told.last.phase === 'entry', 'it is over');
  check((await plain.post('/api/live/enter', { entered: 21 })).status === 200, 'the count is entered');
  let reveal;
  await until(async () => { reveal = await plain.get('/api/live/reveal'); return reveal.status === 200; }, 'it is counted');
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
});
