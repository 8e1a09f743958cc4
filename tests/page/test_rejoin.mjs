// A page that is closed leaves its sitting open; the next one takes it up where it is. At its
// end the disk is full: the count that was being typed is said to be not stored.
import { execFileSync } from 'node:child_process';
import { run, serve, browser, check, session } from './page.mjs';
run(async () => {
  const s = await serve();
  const b = await browser(['--mute-audio']);
  const plain = await session(s);
  const list = await (await plain.get('/api/recordings')).json();
  await plain.post('/api/live/open', { recording: list.recordings.find((r) => r.name.startsWith('steady-084')).number, seconds: 15 });
  const p = await (await b.newContext()).newPage();
  await p.goto(s.address); await p.waitForURL(s.origin + '/');
  await p.getByText('A person, through').click();
  await p.getByRole('button', { name: 'Go on' }).click();
  await p.getByRole('heading', { name: 'Settle' }).waitFor({ timeout: 5000 });
  check(true, 'taken up where it is');
  await p.waitForFunction(() => [...document.querySelectorAll('button')].some((x) => /^Start the/.test(x.textContent) && !x.disabled));
  await p.getByRole('button', { name: 'Start the 15 seconds' }).click();
  await p.locator('.pad').waitFor();
  await p.reload();
  await p.getByText('A person, through').click();
  await p.getByRole('button', { name: 'Go on' }).click();
  await p.locator('.pad').waitFor({ timeout: 5000 });
  check(true, 'in the middle of the minute too');
  await p.getByLabel('How many beats').waitFor({ timeout: 30000 });
  check(true, 'and on to the entry');
  // ---- A full disk: the recording is broken off while a count is typed ----
  await p.getByLabel('How many beats').fill('21');
  execFileSync('prlimit', ['--pid', String(s.child.pid), '--fsize=0']);
  await p.getByRole('heading', { name: 'What went wrong' }).waitFor({ timeout: 120000 });
  check(await p.getByText(/^Not stored: 21/).isVisible(), 'what is not stored is said on the screen that takes its place');
});
