// A shared minute with forty simulated phones, which come, go, come back, tap and enter,
// and two more in a browser. Nothing is lost, and nothing is seen before it is shown. Each phone
// has an address of its own, as on a network. The program's clock is stepped (fullminute_stepped), and
// whatever else takes time is waited for.
import http from 'node:http';
import { axe, browser, check, run, serve, source, until } from './page.mjs';

const PHONES = 40;
const SECONDS = 15;
const PATIENCE_MS = 120000;

class Phone {
  constructor(url, i) {
    this.url = new URL(url);
    this.localAddress = `127.0.1.${i + 1}`;
    this.seen = [];
    this.seats = []; // as it was told each time that it sat down
    this.state = {};
  }

  ask(method, path, headers, body) {
    return new Promise((done, fail) => {
      const r = http.request(new URL(path, this.url), { method, headers, localAddress: this.localAddress, agent: false }, done);
      r.on('error', fail);
      r.end(body);
    });
  }

  async post(path, body) {
    const headers = { 'content-type': 'application/json', origin: this.url.origin };
    const r = await this.ask('POST', path, headers, JSON.stringify(body));
    let text = '';
    for await (const part of r) text += part;
    return { status: r.statusCode, body: JSON.parse(text) };
  }

  async sit() {
    const { status, body } = await this.post('api/seat', { secret: this.secret || '' });
    if (status !== 200) throw new Error(body.error);
    this.secret = body.secret;
    this.seats.push(body.seat);
    await this.listen();
  }

  async listen() {
    const r = await this.ask('GET', `api/events?secret=${this.secret}`, {});
    this.stream = r;
    this.state = {};
    let text = '';
    r.on('error', () => { /* dropped */ });
    r.on('data', (part) => {
      if (r !== this.stream) return;
      text += part;
      const lines = text.split('\n\n');
      text = lines.pop();
      for (const l of lines) if (l.startsWith('data: ')) { this.seen.push(l.slice(6)); this.state = JSON.parse(l.slice(6)); }
    });
  }

  drop() { this.stream.destroy(); }

  // Lists grow; each is sent twice, and the last before the one before it.
  async tap(times) {
    await this.post('api/taps', { secret: this.secret, taps_s: times });
    await this.post('api/taps', { secret: this.secret, taps_s: times.slice(0, -1) });
  }

  async enter(count) {
    return (await this.post('api/enter', { secret: this.secret, count })).status;
  }
}

run(async () => {
  const s = await serve(['--share', '--address', '127.0.0.1', '--recordings', `${source}/recordings`]);
  s.keepPace();
  const b = await browser();
  const page = await (await b.newContext({ viewport: { width: 1280, height: 800 } })).newPage();
  page.setDefaultTimeout(PATIENCE_MS);
  page.on('pageerror', (e) => check(false, `an error on the page: ${e.message}`));
  await page.goto(s.address);
  await page.waitForURL(`${s.origin}/`);
  await page.goto(`${s.origin}/#shared`);
  const { recordings } = await page.evaluate(() => fetch('/api/recordings').then((r) => r.json()));
  const steady = recordings.find((r) => r.name.startsWith('steady-084'));
  await page.getByLabel('What the room will hear').selectOption(String(steady.number));
  check(await page.locator('select option:checked').first().textContent() === `Recording ${steady.blind}`, 'the room sees a number, not a name');
  await page.getByLabel('How long').selectOption(String(SECONDS));
  await page.getByRole('button', { name: 'Open the shared minute' }).click();
  const url = await page.locator('.address').textContent();
  console.log(`  seats at ${url}`);
  await axe(page, 'a shared minute that gathers');

  // ---- Seats ----
  const wrong = new URL(url);
  check((await fetch(wrong.origin)).status === 404, 'no seat without the code');
  check((await fetch(`${wrong.origin}/aaaaa/`)).status === 404, 'nor with a wrong one');
  check((await fetch(`${url}api/recordings`)).status === 404, 'a seat reaches nothing else');
  const phones = Array.from({ length: PHONES }, (_, i) => new Phone(url, i));
  await Promise.all(phones.map((p) => p.sit()));
  check(new Set(phones.map((p) => p.seats[0])).size === PHONES, `${PHONES} phones have ${PHONES} seats`);
  const small = await b.newContext({ viewport: { width: 360, height: 740 }, hasTouch: true });
  const inBrowser = [await small.newPage(), await (await b.newContext({ viewport: { width: 360, height: 740 } })).newPage()];
  for (const p of inBrowser) {
    p.setDefaultTimeout(PATIENCE_MS);
    p.on('pageerror', (e) => check(false, `an error on a phone: ${e.message}`));
    await p.goto(url);
    await p.getByRole('button', { name: 'Take a seat' }).click();
    await p.getByText(/You have seat/).waitFor();
  }
  await axe(inBrowser[0], 'a seat that waits');
  await page.getByText(`${PHONES + 2} seats, 0 entered.`).waitFor();
  check(true, `the room shows ${PHONES + 2} seats`);
  check((await phones[0].enter(5)) === 400, 'nobody enters before the minute');

  // ---- The minute: ten drop out, taps go on ----
  await page.getByRole('button', { name: 'Play it to the room' }).click();
  await until(() => phones[12].state.phase === 'listening', 'the minute begins');
  check((await phones[12].enter(5)) === 400, 'nobody enters while it runs');
  await inBrowser[0].locator('.pad').waitFor();
  for (let i = 0; i < 5; i += 1) await inBrowser[0].locator('.pad').dispatchEvent('pointerdown');
  for (const p of phones.slice(0, 10)) p.drop();
  await page.waitForFunction(() => [...document.querySelectorAll('.seats li')].filter((l) => l.textContent.includes('away')).length === 10);
  check(true, 'ten that dropped out are shown as away');
  await Promise.all(phones.map((p, i) => p.tap(Array.from({ length: 5 + (i % 7) }, (_, k) => k * 0.7))));
  await Promise.all(phones.slice(0, 5).map((p) => p.sit()));
  await axe(inBrowser[0], 'a seat that counts');
  s.setOn(SECONDS);
  await page.getByRole('button', { name: 'Show the answers' }).waitFor();

  // ---- Entries ----
  const truth = Math.round(84 * SECONDS / 60);
  await Promise.all(phones.slice(5, 10).map((p) => p.sit()));
  const codes = await Promise.all(phones.map((p, i) => p.enter(truth - 3 + (i % 7))));
  check(codes.every((c) => c === 200), `${PHONES} entries are taken`);
  check((await phones[3].enter(100000)) === 400, 'nobody counts that much');
  for (const [i, p] of inBrowser.entries()) {
    await p.getByLabel('How many beats').fill(String(truth));
    await p.getByRole('button', { name: i === 0 ? 'Enter my count' : 'I could not count' }).click();
    await p.getByText(i === 0 ? `You entered ${truth}.` : 'You entered that you could not count.').waitFor();
  }
  phones[7].drop();
  await phones[7].sit();
  await until(() => phones[7].state.phase === 'entering', 'a phone that comes back is told how far it is');
  check(phones.every((p) => new Set(p.seats).size === 1), 'whoever comes back has the seat of before');
  check(phones[7].state.entered && phones[7].state.count === truth - 3 + (7 % 7), 'with its answer');
  await page.getByText(`${PHONES + 2} seats, ${PHONES + 2} entered.`).waitFor();
  const seen = phones.flatMap((p) => p.seen).join('\n');
  check(!/"(truth|answers|difference|could_not)"/.test(seen), 'no phone was told what is true, or of an answer, before they are shown');

  check(!/steady|regular|\b84\b/.test(await page.locator('body').innerText()), 'no name has been on the room\'s screen');

  // ---- The answers ----
  await page.getByRole('button', { name: 'Show the answers' }).click();
  await page.locator('svg.dots').waitFor();
  await until(() => phones.every((p) => p.state.phase === 'revealed'), 'every phone is told');
  const states = phones.map((p) => p.state);
  check(states.every((t) => t.answers.length === PHONES + 1 && t.could_not === 1), `every one of ${PHONES + 1} counts is there, and who could not count`);
  check(states.every((t) => t.truth >= truth - 1 && t.truth <= truth + 1), `what is true: ${states[0].truth}`);
  check(states.every((t, i) => t.count === truth - 3 + (i % 7) && t.difference === t.count - t.truth), 'each has its own comparison');
  check(states.every((t, i) => t.n_taps === 5 + (i % 7)), 'and every tap');
  check(states[0].answers.every((v, i, a) => i === 0 || a[i - 1] <= v), 'answers are in order of size: no seat can be told from them');
  check(!/seat|name/i.test(JSON.stringify(states[0].answers)), 'without names');
  check((await page.locator('svg.dots circle').count()) === PHONES + 1, 'the dot plot has a dot for each');
  await page.getByText('One could not count.').waitFor();
  await page.getByText('It was steady-084').waitFor();
  await inBrowser[1].getByText(`You could not count; there were ${states[0].truth}.`).waitFor();
  await inBrowser[0].getByText(/You counted/).waitFor();
  check(true, 'a phone shows its own comparison');
  await inBrowser[0].getByText('5 taps were sent.').waitFor();
  check(true, 'and its taps');
  check((await phones[0].enter(truth)) === 400, 'nothing is changed after that');
  await axe(page, 'the answers');
  await axe(inBrowser[1], 'a seat with its answer');
  if (process.env.SHOT) {
    await page.screenshot({ path: `${process.env.SHOT}-room.png`, fullPage: true });
    await inBrowser[1].screenshot({ path: `${process.env.SHOT}-phone.png`, fullPage: true });
  }

  // ---- The end ----
  await page.getByRole('button', { name: 'End it' }).click();
  for (const p of inBrowser) await p.getByText('The shared minute has ended.').waitFor();
  await until(() => phones.every((p) => p.state.phase === 'over'), 'every phone is told that it is over');
  await until(() => fetch(url).then(() => false, () => true), 'the listener to the network closes');
  await page.getByRole('button', { name: 'Open the shared minute' }).waitFor();
  check(true, 'and another may be opened');
  for (const p of phones) p.drop();
});
