// What is asked before the reveal, and what a slip of the hand costs: a file of one's own, counted
// sealed; leaving and breaking off; words, numbers on the way, an improbable number, 'I could not
// count'; a second examiner. On clocks that the test sets on.
import { axe, browser, check, run, serve, session, soundClock, source, until } from './page.mjs';

const OWN = `${source}/recordings/bigeminy.flac`;

run(async () => {
  const s = await serve(['--recordings', `${source}/recordings`]);
  const b = await browser(['--mute-audio']);
  const context = await b.newContext({ viewport: { width: 1280, height: 800 }, reducedMotion: 'reduce' });
  await context.addInitScript(soundClock);
  const p = await context.newPage();
  const entries = [];
  const told = [];
  p.on('request', (r) => { if (/\/enter$/.test(r.url())) entries.push(JSON.parse(r.postData())); });
  p.on('response', async (r) => { if (/json/.test(r.headers()['content-type'])) told.push(`${r.url()} ${await r.text().catch(() => '')}`); });
  p.on('pageerror', (e) => check(false, `an error on the page: ${e.message}`));
  const leavings = [];
  p.on('dialog', (d) => { leavings.push(d.type()); d.accept(); });
  const press = (name) => p.getByRole('button', { name, exact: true }).click();
  const title = (name) => p.getByRole('heading', { name, exact: true }).waitFor();
  const ahead = (by) => p.evaluate((by_s) => { window.ahead_s += by_s; }, by);
  // The program's clock, which stands still but for this.
  let now_s = 0;
  const seen = (locator, what) => until(() => { s.go(now_s += 0.05); return locator.isVisible(); }, what);
  const begin = async () => {
    await press('Start the minute');
    await p.locator('.lead-in').waitFor();
    await ahead(3.5);
    await p.locator('.pad').waitFor();
  };

  // ---- A file of one's own: sealed ----
  await p.goto(s.address);
  await p.waitForURL(`${s.origin}/`);
  await p.getByLabel('A file of my own').check();
  await press('Go on');
  await p.getByText('Choose a file first').waitFor();
  check(true, 'without a file it says what to do');
  await p.locator('input[type=file]').setInputFiles(OWN);
  await p.locator('.drop').getByText('bigeminy.flac is ready.').waitFor();
  await axe(p, 'a file of one\'s own');
  const before = told.length;
  await press('Go on');
  await title('Settle');

  // ---- A minute is not left by a slip of the hand ----
  await begin();
  for (const [how, go] of [['a link', () => p.getByRole('link', { name: 'Listen' }).click()], ['back', () => p.evaluate(() => { location.hash = 'logbook'; })]]) {
    await go();
    await p.getByRole('dialog').waitFor();
    if (how === 'a link') await axe(p, 'the question before a count is left');
    check(await p.evaluate(() => document.activeElement.textContent) === 'Stay here', `${how}: it asks, and the way back has the focus`);
    await p.keyboard.press('Space');
    await p.getByRole('dialog').waitFor({ state: 'detached' });
    check(await p.locator('.pad').isVisible(), 'the minute goes on');
  }
  await press('Break off');
  await title('Settle');
  check(await p.getByText('Broken off: nothing of that minute is kept.').isVisible(), 'what is kept of it is said on the next screen');
  await begin();
  await p.keyboard.press('Space');
  await ahead(61);

  // ---- The pulse's entry ----
  const count = p.getByLabel('How many beats did you count?');
  await count.waitFor();
  await p.getByLabel('The rhythm').selectOption('regularly irregular');
  await p.getByText('Numbers that you noted').click();
  for (const [at, n] of [[15, '18'], [45, '55']]) await p.getByLabel(`Counted by ${at} seconds`).fill(n);
  await axe(p, 'the entry of the pulse');
  await count.fill('half');
  await press('Store my count');
  await p.getByText('give the whole number that you counted').waitFor();
  await count.fill('7');
  await press('Store my count');
  await p.getByRole('button', { name: 'Let me change it' }).waitFor();
  await axe(p, 'the question after an improbable number');
  await press('Let me change it');
  check(await p.evaluate(() => document.activeElement.value) === '7', 'an improbable number is asked for once more');
  await count.fill('74');
  await press('Store my count');
  await title('Now the respirations');
  check(entries[0].entered === 7 && !entries[0].confirmed && entries.length === 2, `asked by the entry alone: ${JSON.stringify(entries)}`);
  const { entered, rhythm, running, could_not } = entries[1];
  check(entered === 74 && rhythm === 'regularly irregular' && could_not === false && JSON.stringify(running) === '[18,null,55]', 'the word and the numbers on the way are sent');

  // ---- The respirations': words, and no number ----
  await begin();
  await ahead(61);
  await p.getByLabel('How many respirations').waitFor();
  await axe(p, 'the entry of the respirations');
  await p.getByLabel('The breathing').selectOption('with pauses');
  await p.getByLabel('Its effort').selectOption('easy');
  const sealed = told.slice(before).filter((t) => /marks|"beats"|"check"|bigeminy/.test(t));
  check(sealed.length === 0, `nothing of the file is told before the last entry${sealed.length ? `: ${sealed[0].slice(0, 200)}` : ''}`);
  await press('I could not count');
  await p.locator('.sides').waitFor();
  check(entries[2].could_not === true && entries[2].entered === null && entries[2].breath_rhythm === 'with pauses' && entries[2].breath_effort === 'easy', `could not count: ${JSON.stringify(entries[2])}`);
  check(told.some((t) => /practice\/enter/.test(t) && /"name": ?"bigeminy/.test(t)), 'its name is told at the end');

  // ---- A person, two examiners: at the program's own clock ----
  const plain = await session(s);
  const list = await (await plain.get('/api/recordings')).json();
  const number = list.recordings.find((r) => r.name.startsWith('steady-084')).number;
  const bad = await plain.post('/api/live/open', { recording: number, seconds: 30, second_examiner: true });
  check(bad.status === 400, 'two examiners count a full minute');
  check((await plain.post('/api/live/open', { recording: number, seconds: 60, second_examiner: true })).status === 200, 'a sitting with a second examiner');
  await p.goto(`${s.origin}/#listen`);
  await title('Listen');
  await p.goto(`${s.origin}/#count`);
  await title('Take a count');
  await p.getByLabel('A person, through').check();
  await press('Go on');
  await title('Settle');
  now_s = 6;
  await seen(p.getByText('Good: start when you are ready.'), 'a good level is called good');
  await press('Start the minute');
  await seen(p.locator('.lead-in'), 'the lead-in');
  now_s += 4;
  await seen(p.locator('.pad'), 'the minute');
  await p.reload();
  check(leavings.includes('beforeunload'), 'closing or reloading a running minute asks');
  await title('Take a count');
  await p.getByLabel('A person, through').check();
  await press('Go on');
  await seen(p.locator('.pad'), 'taken up where it is');
  now_s += 62;
  await seen(count, 'its entry');
  await press('I could not count');
  await p.getByRole('button', { name: 'Let me change it' }).waitFor();
  await axe(p, 'the question of the person');
  check(await p.getByText(/look at the person|see to|call for help/i).first().isVisible(), 'on a person that asks for the person first');
  await press('Let me change it');
  await count.fill('84');
  await press('Store my count');
  await seen(p.getByLabel('The second examiner'), 'the second examiner is asked');
  await axe(p, 'the second examiner\'s entry');
  await p.getByLabel('The second examiner').fill('70');
  await press('Store my count');
  await seen(p.getByText('Pulse deficit: 14 per minute'), 'both counts and the deficit are shown');
  await axe(p, 'the result of two examiners');
});
