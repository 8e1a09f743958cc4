// Every view at three sizes: a laptop, a projector, a phone. Keyboard alone, and nothing
// wider than the screen. On clocks that the test sets on: the sound's, and fullminute_stepped's. What is compared, and how, stands in shots.mjs.
import { copyFileSync } from 'node:fs';
import { join } from 'node:path';
import { byDayAndNight } from './contrast.mjs';
import { axe, browser, check, folder, run, serve, settled, soundClock, source } from './page.mjs';
import { shooter } from './shots.mjs';

const SIZES = { laptop: [1280, 800], projector: [1920, 1080], phone: [360, 740] };

run(async () => {
  const work = folder();
  for (const end of ['flac', 'truth.json']) {
    copyFileSync(join(source, `recordings/premature-beats.${end}`), join(work, `premature-beats.${end}`));
  }
  const s = await serve(['--share', '--address', '127.0.0.1', '--recordings', work]);
  s.keepPace();
  const b = await browser(['--mute-audio']);
  const shoot = await shooter(b, SIZES);
  const context = await b.newContext({ viewport: { width: 1280, height: 800 }, reducedMotion: 'reduce' });
  await context.addInitScript(soundClock);
  const page = await context.newPage();
  const traffic = [];
  page.on('response', async (r) => {
    if (/json/.test(r.headers()['content-type'])) traffic.push(`${r.url()} ${await r.text().catch(() => '')}`);
  });
  page.on('pageerror', (e) => check(false, `an error on the page: ${e.message}`));
  page.on('console', (m) => { if (/Content Security Policy/.test(m.text())) check(false, m.text()); });
  await page.goto(s.address);
  await page.getByRole('button', { name: 'Go on' }).waitFor();
  await settled(page);

  // ---- By keyboard alone: from the first field to the reveal ----
  await page.getByLabel('A recording, through').focus();
  await page.keyboard.press('Space');
  await shoot(page, 'count');
  await page.getByLabel('How long').focus();
  await page.getByLabel('How long').selectOption('15');
  await page.getByLabel('Then count the respirations').focus();
  await page.keyboard.press('Space');
  await page.getByLabel('Initials or a nickname').focus();
  await page.keyboard.type('A.B.');
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { name: 'Settle' }).waitFor();
  await shoot(page, 'settle');
  await page.getByRole('button', { name: 'Start the 15 seconds' }).focus();
  await page.keyboard.press('Enter');
  await page.locator('.lead-in').waitFor();
  await page.evaluate(() => { window.ahead_s += 3; });
  await page.locator('.pad').waitFor();
  await shoot(page, 'minute', { compare: false });
  for (let i = 0; i < 5; i += 1) {
    await page.keyboard.press('Space');
    await page.evaluate(() => { window.ahead_s += 0.8; });
  }
  await page.evaluate(() => { window.ahead_s += 15; });
  await page.getByLabel('How many beats did you count?').waitFor();
  check(await page.evaluate(() => document.activeElement.tagName === 'INPUT'), 'the entry has the focus');
  await shoot(page, 'entry');
  await page.getByLabel('How many beats did you count?').focus();
  await page.keyboard.type('18');
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { name: 'Your count and fullminute’s' }).waitFor();
  check((await page.locator('.numbers').first().textContent()).includes('72'), '18 in 15 s are 72 a minute');
  await axe(page, 'the reveal of a practice');
  await page.evaluate(() => scrollTo(0, 0));
  await shoot(page, 'reveal');

  // ---- A hint is a button, and no text of the page names an option ----
  await page.getByText('How it was counted').press('Enter');
  await page.getByRole('button', { name: 'Count again and give the age' }).click();
  await page.getByLabel('Age of the person').first().waitFor();
  check(await page.evaluate(() => document.activeElement === document.querySelector('details[open] input[size="5"]')), 'the age has the focus');
  const refusals = await page.evaluate((inputs) => Promise.all(inputs.map((input) => fetch('/api/live/open', {
    method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ input }),
  }).then((r) => r.text()))), ['file:', 'file:nowhere.wav', 'no such input']);
  check(refusals.every((t) => t.includes('"error"')), `a wrong input is refused: ${refusals[0]}`);

  for (const view of ['listen', 'write', 'logbook', 'shared']) {
    await page.goto(`${s.origin}/#${view}`);
    await page.waitForFunction((v) => document.documentElement.dataset.ready === v, view);
    await settled(page);
    await axe(page, view);
    await shoot(page, view);
  }

  // ---- A shared minute and a seat ----
  await page.getByLabel('How long').selectOption('15');
  await page.getByRole('button', { name: 'Open the shared minute' }).click();
  await page.locator('.address').waitFor();
  const url = await page.locator('.address').textContent();
  const phone = await (await b.newContext({ viewport: { width: 360, height: 740 }, reducedMotion: 'reduce' })).newPage();
  await phone.goto(url);
  await byDayAndNight(phone, 'a seat to be taken');
  await phone.getByRole('button', { name: 'Take a seat' }).click();
  await phone.getByText('You have seat 1').waitFor();
  await byDayAndNight(page, 'the seats');
  await shoot(page, 'gathering', { compare: false });
  await shoot(phone, 'seat');
  await page.getByRole('button', { name: 'Play it to the room' }).click();
  await phone.locator('.pad').waitFor();
  await byDayAndNight(phone, 'the minute of a seat');
  await phone.setViewportSize({ width: 844, height: 390 });
  const pad = await phone.locator('.pad').boundingBox();
  check(pad.y >= 0 && pad.y + pad.height <= 390, 'what is tapped is in view on a phone’s side');
  await shoot(phone, 'seat-minute', { compare: false });
  s.setOn(15);
  await phone.getByLabel('How many beats').waitFor();
  await byDayAndNight(phone, 'the entry of a seat');
  await shoot(phone, 'seat-entry');
  await phone.getByLabel('How many beats').fill('18');
  await phone.getByRole('button', { name: 'Enter my count' }).click();
  await page.getByText('1 seat, 1 entered.').waitFor();
  await shoot(page, 'room', { compare: false });
  await page.getByRole('button', { name: 'Show the answers' }).click();
  await page.locator('svg.dots').waitFor();
  await phone.locator('svg.dots').waitFor();
  await byDayAndNight(page, 'the answers');
  await byDayAndNight(phone, 'the answer of a seat');
  await shoot(page, 'answers');
  await shoot(phone, 'seat-answer');
  check(traffic.some((t) => /"hints":\[[^\]]*"age"/.test(t)), 'the hints are in the answer');
  const named = [...traffic, ...refusals].find((t) => /(^|[^-\w])--[a-z]|fullminute (check|count|page|compose|sources) /.test(t));
  check(!named, `no answer names an option${named ? `: ${named.slice(0, 300)}` : ''}`);
});
