// How soon the page can be used, how evenly the open strip is drawn, and what it costs.
import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { axe, browser, check, cpu_s, run, serve, source, wait } from './page.mjs';

const SECONDS = 10;
// A machine that draws without a graphics card, beside other tests, may be told to be patient.
const LATE_MOST = Number(process.env.LATE_MOST || 0.01);

// Runs in the page: the moment at which its button has been drawn, by the clock of the day.
// Asked from outside, it would carry what asking takes.
function note_drawn() {
  const o = new MutationObserver(() => {
    if (![...document.querySelectorAll('button')].some((b) => b.textContent === 'Go on')) return;
    o.disconnect();
    requestAnimationFrame(() => setTimeout(() => { window.drawn_ms = performance.timeOrigin + performance.now(); }));
  });
  o.observe(document, { childList: true, subtree: true });
}

// Started at most three times: one start beside a busy neighbour says nothing of the program.
async function first_usable(page) {
  await page.addInitScript(note_drawn);
  for (let tries = 1; ; tries++) {
    const began_ms = Date.now();
    const s = await serve();
    await page.goto(s.address);
    const drawn = await page.waitForFunction(() => window.drawn_ms);
    const usable_s = (await drawn.jsonValue() - began_ms) / 1000;
    if (usable_s < 1 || tries === 3) {
      check(usable_s < 1, `usable ${usable_s.toFixed(2)} s after the program was started, try ${tries} of 3`);
      return s;
    }
    console.log(`  try ${tries}: usable after ${usable_s.toFixed(2)} s`);
    await s.stop();
  }
}

// What ten seconds of the open strip draw and cost.
async function ten_seconds(page, pid) {
  await page.evaluate(() => { Object.assign(document.querySelector('.open-strip').frames, { n: 0, late: 0, worst: 0 }); });
  const before = await cpu_s(pid);
  await wait(SECONDS);
  const used = ((await cpu_s(pid)) - before) / SECONDS;
  const f = await page.evaluate(() => document.querySelector('.open-strip').frames);
  const share = f.late / (f.n + f.late);
  console.log(`  ${f.n} frames in ${SECONDS} s, ${f.late} dropped (${(100 * share).toFixed(2)} %), the longest gap ${f.worst.toFixed(0)} ms; program ${(100 * used).toFixed(1)} % of a core`);
  return { used, share, rate: (f.n + f.late) / SECONDS };
}

run(async () => {
  const b = await browser(['--mute-audio']);
  const context = await b.newContext({ viewport: { width: 1280, height: 800 } });
  const page = await context.newPage();
  page.on('pageerror', (e) => check(false, `an error on the page: ${e.message}`));
  await page.goto('about:blank');
  const s = await first_usable(page);

  const player = spawn('paplay', ['--device=steth0', join(source, 'recordings/premature-beats.flac')], { stdio: 'ignore' });
  await page.getByText('Watch the sound live').click();
  await page.getByRole('button', { name: 'Go on' }).click();
  await page.locator('.strip canvas').waitFor();
  await wait(4);
  // Again, once, where the machine was busy meanwhile.
  let seen = await ten_seconds(page, s.child.pid);
  if (seen.share >= LATE_MOST || seen.used >= 0.05) seen = await ten_seconds(page, s.child.pid);
  check(seen.rate > 58, 'sixty frames a second');
  check(seen.share < LATE_MOST, `fewer than ${100 * LATE_MOST} % are dropped`);
  check(seen.used < 0.05, 'the program takes less than 5 % of a core');
  await axe(page, 'the open strip');
  if (process.env.SHOT) await page.screenshot({ path: process.env.SHOT });
  await page.getByRole('button', { name: 'Begin the minute' }).click();
  await wait(9);
  await page.getByRole('button', { name: 'Stop and count' }).click();
  await page.getByRole('heading', { name: 'What was counted' }).waitFor();
  check((await page.locator('figure svg').count()) >= 1, 'it ends with a count and its picture');
  await axe(page, 'what was counted');
  player.kill();
});
