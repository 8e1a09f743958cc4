// How soon the page can be used, how evenly the open strip is drawn, and what it costs.
import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { axe, browser, check, cpu_s, run, serve, source, wait } from './page.mjs';

const SECONDS = 10;
// A machine that draws without a graphics card, beside other tests, may be told to be patient.
const LATE_MOST = Number(process.env.LATE_MOST || 0.01);

run(async () => {
  const b = await browser(['--mute-audio']);
  const context = await b.newContext({ viewport: { width: 1280, height: 800 } });
  const warm = await context.newPage();
  await warm.goto('about:blank');
  const began = performance.now();
  const s = await serve();
  const page = await context.newPage();
  page.on('pageerror', (e) => check(false, `an error on the page: ${e.message}`));
  await page.goto(s.address);
  await page.getByRole('button', { name: 'Go on' }).waitFor();
  const usable_s = (performance.now() - began) / 1000;
  check(usable_s < 1, `usable ${usable_s.toFixed(2)} s after the program was started`);

  const player = spawn('paplay', ['--device=steth0', join(source, 'recordings/premature-beats.flac')], { stdio: 'ignore' });
  await page.getByText('Watch the sound live').click();
  await page.getByRole('button', { name: 'Go on' }).click();
  await page.locator('.strip canvas').waitFor();
  await wait(4);
  await page.evaluate(() => { Object.assign(document.querySelector('.open-strip').frames, { n: 0, late: 0, worst: 0 }); });
  const before = await cpu_s(s.child.pid);
  await wait(SECONDS);
  const used = ((await cpu_s(s.child.pid)) - before) / SECONDS;
  const f = await page.evaluate(() => document.querySelector('.open-strip').frames);
  const share = f.late / (f.n + f.late);
  console.log(`  ${f.n} frames in ${SECONDS} s, ${f.late} dropped (${(100 * share).toFixed(2)} %), the longest gap ${f.worst.toFixed(0)} ms; program ${(100 * used).toFixed(1)} % of a core`);
  check((f.n + f.late) / SECONDS > 58, 'sixty frames a second');
  check(share < LATE_MOST, `fewer than ${100 * LATE_MOST} % are dropped`);
  check(used < 0.05, 'the program takes less than 5 % of a core');
  await axe(page, 'the open strip');
  if (process.env.SHOT) await page.screenshot({ path: process.env.SHOT });
  await page.getByRole('button', { name: 'Begin the minute' }).click();
  await wait(9);
  await page.getByRole('button', { name: 'Stop and count' }).click();
  await page.getByRole('heading', { name: 'What was counted' }).waitFor({ timeout: 20000 });
  check((await page.locator('figure svg').count()) >= 1, 'it ends with a count and its picture');
  await axe(page, 'what was counted');
  player.kill();
});
