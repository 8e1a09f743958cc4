// An infant's minutes on the page: respirations first, watched by the clock; 0 is asked about; what
// the learner's number asks for is said while the rest is sealed; then the pulse. About 100 s.
import { execFileSync, spawn } from 'node:child_process';
import { join } from 'node:path';
import { axe, browser, check, folder, program, run, serve } from './page.mjs';

run(async () => {
  const work = folder();
  const sound = join(work, 'known.wav');
  execFileSync(program, ['compose', sound, '--seconds', '160', '--bpm', '132', '--rate', '8000']);
  const s = await serve();
  const player = spawn('paplay', ['--device=steth0', sound], { stdio: 'ignore' });
  const b = await browser(['--mute-audio']);
  const page = await (await b.newContext({ viewport: { width: 400, height: 800 } })).newPage();
  page.on('pageerror', (e) => check(false, `an error on the page: ${e.message}`));
  const shot = async (name) => { if (process.env.SHOTS) await page.screenshot({ path: join(process.env.SHOTS, `infant-${name}.png`), fullPage: true }); };
  const ready = () => page.waitForFunction(() => [...document.querySelectorAll('button')].some((x) => /^Start the/.test(x.textContent) && !x.disabled));
  const says = async (words, where) => check((await page.locator('main').textContent()).replace(/\s+/g, ' ').includes(words), `${where}: ${words}`);
  await page.goto(s.address);
  await page.waitForURL(`${s.origin}/`);
  await page.getByText('A person, through an input').click();
  await page.getByLabel('How long').selectOption('15');
  await page.getByLabel('Then count the respirations').setChecked(true);
  await page.getByLabel('Initials or a nickname').fill('T.L.');
  await page.getByText('More choices').click();
  await page.getByLabel('Age of the person').first().fill('3');
  await page.locator('select[name=unit]').selectOption('months');
  await page.getByRole('button', { name: 'Go on' }).click();

  await page.getByRole('heading', { name: 'Watch first' }).waitFor();
  await says('the chest piece stays off', 'before the watched minute');
  await says('Stop counting if the person is in trouble', 'before the minute');
  await axe(page, 'before the watched minute');
  await shot('settle');
  await ready();
  await page.getByRole('button', { name: /^Start the/ }).click();
  await page.locator('.pad').waitFor();
  await says('Stop counting if the person is in trouble', 'during the minute');
  await shot('minute');
  const breaths = page.getByLabel('How many respirations did you count?');
  await breaths.waitFor();
  await breaths.fill('0');
  await page.getByRole('button', { name: 'Store my count' }).click();
  await page.getByText('None seen for a whole minute, or could you not count?').waitFor();
  await shot('none');
  check(await breaths.isVisible(), '0 is not stored before it is asked about');
  check(await page.getByRole('button', { name: 'Break off' }).isVisible(), 'and the entry can be left open');
  await breaths.fill('55');
  await page.getByRole('button', { name: 'Store my count' }).click();

  await page.getByRole('heading', { name: 'Settle', exact: true }).waitFor();
  await page.getByText('55 respirations a minute is at the line to act on, 50 or more').waitFor();
  await axe(page, 'what the number asks for');
  await shot('line');
  await ready();
  await page.getByRole('button', { name: /^Start the/ }).click();
  const beats = page.getByLabel('How many beats did you count?');
  await beats.waitFor();
  await beats.fill('33');
  await page.getByRole('button', { name: 'Store my count' }).click();

  await page.getByRole('heading', { name: 'Your count and fullminute’s' }).waitFor();
  await says('In an infant: grunting, the chest drawing in', 'above the numbers');
  await says('Stored without a second count: the chest piece was off.', 'after the entry');
  const answer = await page.evaluate(() => fetch('/api/live/reveal').then((r) => r.json()));
  check(answer.check.breath_check === undefined, 'the watched minute is compared with nothing');
  check(answer.check.person_first.act_now === true, 'the document says that a line is reached');
  const order = await page.evaluate(() => {
    const first = document.querySelector('.care');
    const numbers = document.querySelector('.numbers');
    return Boolean(first.compareDocumentPosition(numbers) & Node.DOCUMENT_POSITION_FOLLOWING);
  });
  check(order, 'the person stands above the numbers');
  await axe(page, 'the reveal');
  await shot('reveal');
  player.kill();
});
