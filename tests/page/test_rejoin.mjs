// A page that is closed leaves its sitting open; the next one takes it up where it is. A full
// disk at its end: the count is said to be not stored, and is taken once there is room. On a
// clock that the test steps (fullminute_stepped), or at its own speed.
import { execFileSync } from 'node:child_process';
import { run, serve, browser, check, session, source } from './page.mjs';
run(async () => {
  const s = await serve(['--recordings', `${source}/recordings`]);
  const b = await browser(['--mute-audio']);
  const plain = await session(s);
  const list = await (await plain.get('/api/recordings')).json();
  await plain.post('/api/live/open', { recording: list.recordings.find((r) => r.name.startsWith('steady-084')).number, seconds: 15 });
  const p = await (await b.newContext()).newPage();
  p.on('dialog', (d) => d.accept()); // it asks before a running minute is left
  await p.goto(s.address); await p.waitForURL(s.origin + '/');
  await p.getByText('A person, through').click();
  await p.getByRole('button', { name: 'Go on' }).click();
  await p.getByRole('heading', { name: 'Settle' }).waitFor();
  check(true, 'taken up where it is');
  s.go(5);
  await p.waitForFunction(() => [...document.querySelectorAll('button')].some((x) => /^Start the/.test(x.textContent) && !x.disabled));
  await p.getByRole('button', { name: 'Start the 15 seconds' }).click();
  await p.locator('.lead-in').waitFor();
  s.go(12);
  await p.locator('.pad').waitFor();
  await p.reload();
  await p.getByText('A person, through').click();
  await p.getByRole('button', { name: 'Go on' }).click();
  await p.locator('.pad').waitFor();
  check(true, 'in the middle of the minute too');
  s.go(30);
  await p.getByLabel('How many beats').waitFor();
  check(true, 'and on to the entry');
  // ---- A full disk: the count is said to be not stored, and may be entered again ----
  await p.getByLabel('How many beats').fill('21');
  execFileSync('prlimit', ['--pid', String(s.child.pid), '--fsize=0:']);
  await p.getByRole('button', { name: 'Store my count' }).click();
  await p.getByText(/^Not stored: /).waitFor();
  check(true, 'what is not stored is said on the screen where it was typed');
  execFileSync('prlimit', ['--pid', String(s.child.pid), '--fsize=unlimited:']);
  await p.getByRole('button', { name: 'Store my count' }).click();
  await p.getByRole('heading', { name: 'What went wrong' }).waitFor({ state: 'detached' });
  await p.getByText(/^Not stored: /).waitFor({ state: 'detached' });
  check(true, 'and with room again it is stored');
});
