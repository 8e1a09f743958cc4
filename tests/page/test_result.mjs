// The result in one look, on a laptop and on a phone, by day and by night; by keyboard alone into
// the exercise that it advises; and what is tapped in view on a phone's side and at 200 %.
import { copyFileSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { byDayAndNight } from './contrast.mjs';
import { FIRST } from './first_looks.mjs';
import { browser, check, folder, run, serve, session, settled, soundClock, source } from './page.mjs';

const ONE_LOOK = { laptop: [1280, 800], phone: [390, 844] };
const SMALL = { 'twice the size': [640, 400], 'a phone on its side': [844, 390] };
const WIDTHS = { ...ONE_LOOK, ...SMALL };

run(async () => {
  const work = folder();
  for (const name of ['bigeminy', 'steady-048', 'steady-072']) {
    for (const end of ['flac', 'truth.json']) copyFileSync(join(source, `recordings/${name}.${end}`), join(work, `${name}.${end}`));
  }
  const s = await serve(['--recordings', work]);
  s.keepPace();
  const b = await browser(['--mute-audio']);
  const context = await b.newContext({ viewport: { width: 1280, height: 800 }, reducedMotion: 'reduce' });
  await context.addInitScript(soundClock);
  const page = await context.newPage();
  page.on('pageerror', (e) => check(false, `an error on the page: ${e.message}`));
  const keep = async (name) => {
    if (!process.env.SHOTS) return;
    mkdirSync(process.env.SHOTS, { recursive: true });
    await page.screenshot({ path: join(process.env.SHOTS, `${name}.png`), fullPage: /unfolded/.test(name) });
  };
  const size = async ([width, height]) => { await page.setViewportSize({ width, height }); await settled(page); };
  const light = async (colorScheme) => { await page.emulateMedia({ colorScheme }); };
  const narrow = async (what) => check(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `nothing is wider than the screen: ${what}`);
  const seen = (what) => byDayAndNight(page, what);

  // The first answer is the program's own; the others are it with another first look.
  let own;
  let shown = '';
  await page.route('**/api/practice/enter', async (route) => {
    if (!own) {
      const answer = await route.fetch();
      own = await answer.json();
      await route.fulfill({ response: answer, json: own });
    } else await route.fulfill({ json: { ...own, first: FIRST[shown] } });
  });
  const begun = [];
  page.on('request', (r) => { if (r.url().endsWith('/practice/begin')) begun.push(r.postDataJSON()); });

  // From what is focused to the button, by the tabulator alone.
  const tabTo = async (name) => {
    for (let i = 0; i < 60; i += 1) {
      if (await page.evaluate((n) => document.activeElement.textContent === n, name)) return true;
      await page.keyboard.press('Tab');
    }
    return false;
  };
  const sit = async (name) => {
    shown = name;
    check(await tabTo('Start the 15 seconds') || await tabTo('Start the minute'), `${name}: the start is reached by the tabulator`);
    await page.keyboard.press('Enter');
    await page.locator('.lead-in').waitFor();
    await page.evaluate(() => { window.ahead_s += 3; });
    await page.locator('.pad').waitFor();
    if (name === '') {
      await seen('the minute');
      for (const [what, wide] of Object.entries(SMALL)) {
        await size(wide);
        const inside = await page.evaluate(() => ['.pad', '.dial svg'].every((q) => {
          const r = document.querySelector(q).getBoundingClientRect();
          return r.top >= 0 && r.bottom <= innerHeight && r.right <= innerWidth && r.height >= 44;
        }));
        check(inside, `the clock and what is tapped are in view: ${what}`);
        await narrow(`the minute, ${what}`);
        await keep(`minute-${wide[0]}`);
      }
      await size(ONE_LOOK.laptop);
    }
    await page.evaluate(() => { window.ahead_s += 60; });
    const entry = page.getByLabel('How many beats did you count?');
    await entry.waitFor();
    if (name === '') await seen('the entry');
    await page.keyboard.type('18');
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'Your count and fullminute’s' }).waitFor();
  };

  // Every part of the first look lies on the first screen.
  const inOneLook = async (name) => {
    for (const [what, wide] of Object.entries(ONE_LOOK)) {
      await size(wide);
      const below = await page.evaluate(() => {
        scrollTo(0, 0);
        const parts = ['h1', ...['.care', '.numbers', '.both h2', '.side p', '.side b', '.trend', '.next p', '.next button'].map((q) => `.first ${q}`)];
        return parts.flatMap((q) => [...document.querySelectorAll(q)]).filter((e) => {
          const r = e.getBoundingClientRect();
          return r.width === 0 || r.top < 0 || r.left < 0 || r.bottom > innerHeight || r.right > innerWidth || e.scrollWidth > e.clientWidth;
        }).map((e) => `${e.className || e.tagName} to ${Math.round(e.getBoundingClientRect().bottom)}`);
      });
      check(below.length === 0, `${name}: all of it in one look on a ${what} ${below.join(', ')}`);
      await narrow(`${name} on a ${what}`);
      await keep(`result-${name || 'own'}-${what}`);
    }
    await light('dark');
    await keep(`result-${name || 'own'}-phone-dark`);
    await size(ONE_LOOK.laptop);
    await keep(`result-${name || 'own'}-laptop-dark`);
    await light('light');
  };

  await page.goto(s.address);
  await page.getByRole('button', { name: 'Go on' }).waitFor();
  await seen('what to count');
  await page.getByLabel('A recording, through').focus();
  await page.keyboard.press('Space');
  await page.getByLabel('How long').selectOption('15');
  await page.getByLabel('Then count the respirations').setChecked(false);

  // ---- A wrong entry is said by us, and its field has the focus ----
  await page.getByText('More choices').click();
  await page.getByLabel('Age of the person').first().fill('old');
  await page.getByRole('button', { name: 'Go on' }).click();
  await page.getByText('Age of the person: give a number').waitFor();
  check(await page.evaluate(() => document.activeElement.getAttribute('aria-invalid') === 'true'), 'the wrong field has the focus');
  await seen('a wrong entry');
  await page.keyboard.press('Control+A');
  await page.keyboard.type('19');
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { name: 'Settle' }).waitFor();
  await seen('settling');

  await sit('');
  await inOneLook('');

  // ---- Folded: everything opened, nothing twice, nothing in columns, no option's name ----
  for (const q of await page.locator('main details > summary').all()) await q.press('Enter');
  await page.locator('.player canvas').waitFor();
  const all = await page.locator('main').innerText();
  check(!/(^|\s)--[a-z]/.test(all) && await page.locator('main pre').count() === 0, 'no option’s name, no block of columns');
  const sentences = all.split(/(?<=[.!?])\s+|\n+/).map((t) => t.trim()).filter((t) => t.length > 24);
  const twice = sentences.filter((t, i) => sentences.indexOf(t) < i);
  check(twice.length === 0, `no sentence twice ${twice.join(' | ')}`);
  await seen('the result, unfolded');
  for (const [what, wide] of Object.entries(WIDTHS)) { await size(wide); await narrow(`the result unfolded, ${what}`); await keep(`unfolded-${wide[0]}`); }
  await light('dark');
  await size(ONE_LOOK.laptop);
  await keep('unfolded-dark');
  await light('light');
  const next = async (name) => {
    await page.locator('h1').focus();
    check(await tabTo(await page.locator('.next button').textContent()), `${name}: the next step is reached by the tabulator`);
    await page.keyboard.press('Enter');
  };
  await page.getByRole('button', { name: 'Take another count' }).click();
  await page.getByLabel('A recording, through').check();
  await page.getByRole('button', { name: 'Go on' }).click();

  // ---- Each first look, and where its button leads ----
  await page.getByRole('heading', { name: 'Settle' }).waitFor();
  await sit('long');
  await inOneLook('long');
  await seen('a long first look');
  const slip = page.getByRole('button', { name: 'Hear: Two beats not tapped, 41 s' });
  await page.getByText('Where the counts differ').press('Enter');
  await slip.press('Enter');
  await page.getByRole('button', { name: 'Pause' }).waitFor();
  check(await page.locator('.slips .player').count() === 1, 'a slip plays where it is named');
  await page.evaluate(() => { window.ahead_s += 5; });
  await page.waitForFunction(() => Number(document.querySelector('.player').dataset.heard) > 2);
  check(await page.getByRole('button', { name: 'Pause' }).count() === 1, 'for its six seconds');
  await page.evaluate(() => { window.ahead_s += 1.5; });
  await page.getByRole('button', { name: 'Play', exact: true }).waitFor();
  check(true, 'and no longer');
  await keep('slip');
  await next('long');
  await page.getByRole('button', { name: 'Pause' }).waitFor();
  check(await page.locator('.slips .player').count() === 0 && await page.getByLabel('A click at each first sound').isChecked(), 'with marks and a click where it slipped');

  const last = () => begun.at(-1);
  const again = async () => {
    await page.getByRole('button', { name: 'Take another count' }).click();
    await page.getByLabel('A recording, through').check();
    await page.getByRole('button', { name: 'Go on' }).click();
    await page.getByRole('heading', { name: 'Settle' }).waitFor();
  };
  await again();
  for (const name of ['person', 'signs', 'could_not']) {
    await sit(name);
    await inOneLook(name);
    if (name === 'person') check(await page.locator('.next button').count() === 0, 'the person first: nothing to press');
    if (name !== 'could_not') {
      await seen('what to do for the person');
      await again();
    }
  }
  const expected = {
    again: (before) => last().number === before.number && !last().like,
    tap_along: () => last().taps === true,
    irregular: () => last().like === 'irregular',
    slow: () => last().like === 'slow',
    full_minute: () => last().seconds === 60,
    breaths: () => last().breath === true,
  };
  const names = Object.keys(expected);
  for (let i = -1; i < names.length; i += 1) {
    const name = i < 0 ? 'again' : names[i];
    if (i >= 0) await sit(name);
    const before = last();
    await next(name);
    await page.getByRole('heading', { name: 'Settle' }).waitFor();
    check(expected[name](before), `${name} begins what it says: ${JSON.stringify(last())}`);
  }

  // ---- An open count: its numbers first, the rest as running text ----
  await (await session(s)).post('/api/live/open', { recording: 3, open: true, seconds: 60 });
  await page.reload();
  await page.getByLabel('Watch the sound live').check();
  await page.getByRole('button', { name: 'Go on' }).click();
  await page.getByRole('heading', { name: 'The sound, live' }).waitFor();
  s.setOn(12);
  await seen('the sound, live');
  await page.getByRole('button', { name: 'Begin the minute' }).click();
  s.setOn(4);
  await page.getByText(/ s of the minute/).waitFor();
  s.setOn(62);
  await page.getByRole('heading', { name: 'What was counted' }).waitFor();
  check(/^7[12]$/.test(await page.locator('.number dd').first().textContent()), `the number stands first: ${await page.locator('.number dd').first().textContent()}`);
  check(await page.locator('main pre').count() === 0 && await page.locator('.rows dt').count() > 3, 'the rest as running text');
  await seen('an open count');
  for (const [what, wide] of Object.entries(ONE_LOOK)) { await size(wide); await narrow(`an open count on a ${what}`); await keep(`open-${what}`); }

  // ---- The other parts, by night and narrow ----
  for (const part of ['listen', 'write', 'logbook', 'shared']) {
    await page.goto(`${s.origin}/#${part}`);
    await page.waitForFunction((v) => document.documentElement.dataset.ready === v, part);
    await settled(page);
    await seen(part);
    for (const [what, wide] of Object.entries(WIDTHS)) { await size(wide); await narrow(`${part}, ${what}`); }
    await light('dark');
    await keep(`${part}-dark`);
    await light('light');
  }
  const menu = page.getByRole('button', { name: 'Menu' });
  await size(ONE_LOOK.phone);
  await menu.press('Enter');
  await seen('the menu');
  await page.getByRole('link', { name: 'Listen' }).press('Enter');
  await page.getByRole('heading', { name: 'Listen' }).waitFor();
  check(await menu.getAttribute('aria-expanded') === 'false', 'the menu opens, leads there, and closes');
});
