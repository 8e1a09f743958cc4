// What was not heard and how the breathing went, on the page as in the text: a practice of 15 s in
// which contact is lost, then its respirations, which wax and wane. On the sound's clock, set on.
import { execFileSync } from 'node:child_process';
import { join } from 'node:path';
import { axe, browser, check, folder, program, run, serve, soundClock } from './page.mjs';

// From the button to the entry of a count of so many seconds.
async function count(page, seconds) {
  await page.getByRole('button', { name: /^Start the/ }).click();
  await page.locator('.lead-in').waitFor();
  await page.evaluate(() => { window.ahead_s += 3; });
  await page.locator('.pad').waitFor();
  await page.evaluate((s) => { window.ahead_s += s; }, seconds);
}

run(async () => {
  const work = folder();
  execFileSync(program, ['compose', join(work, 'one.flac'), '--seconds', '67', '--bpm', '72', '--seed', '7231', '--noise', 'room',
    '--snr', '14', '--contact-lost-at', '5', '--contact-lost-seconds', '4', '--breathing', 'waxing', '--breaths', '26', '--swell', '20',
    '--breath-snr', '12']);
  const s = await serve(['--recordings', work]);
  const b = await browser(['--mute-audio']);
  const context = await b.newContext({ viewport: { width: 390, height: 844 } });
  await context.addInitScript(soundClock);
  const page = await context.newPage();
  page.on('pageerror', (e) => check(false, `an error on the page: ${e.message}`));
  await page.goto(s.address);
  await page.getByText('A recording, through').click();
  await page.getByLabel('How long').selectOption('15');
  await page.getByLabel('Then count the respirations').setChecked(true);
  await page.getByRole('button', { name: 'Go on' }).click();
  await count(page, 15);
  const beats = page.getByLabel('How many beats did you count?');
  await beats.fill('18');
  await page.getByRole('button', { name: 'Store my count' }).click();
  await count(page, 60);
  const breaths = page.getByLabel('How many respirations did you count?');
  await breaths.fill('24');
  await page.getByRole('button', { name: 'Store my count' }).click();
  await page.getByRole('heading', { name: 'Your count and fullminute’s' }).waitFor();
  const sides = await page.locator('.side').allInnerTexts();
  check(/From [45] s to (9|10) s nothing was heard: did the chest piece lift\?/.test(sides[0]), `beside the pulse: ${sides[0]}`);
  check(sides[1].includes('known: waxing and waning. If this were a person: report it'), `beside the respirations: ${sides[1]}`);
  check(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), 'nothing is wider than the phone');
  await axe(page, 'both counts');
});
