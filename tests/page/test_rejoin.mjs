// A page that is closed leaves its sitting open; the next one takes it up where it is.
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
});
