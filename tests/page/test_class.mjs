// A shared minute with forty simulated phones, which come, go, come back, tap and enter,
// and two more in a browser. Nothing is lost, and nothing is seen before it is shown.
import { axe, browser, check, run, serve, wait } from './page.mjs';

const PHONES = 40;
const SECONDS = 15;

class Phone {
  constructor(url, i) {
    this.url = url;
    this.i = i;
    this.seen = [];
  }

  post(path, body) {
    const headers = { 'content-type': 'application/json', origin: new URL(this.url).origin };
    return fetch(this.url + path, { method: 'POST', headers, body: JSON.stringify(body) });
  }

  async sit() {
    const r = await this.post('api/seat', { secret: this.secret || '' });
    const answer = await r.json();
    if (!r.ok) throw new Error(answer.error);
    if (this.seat && this.seat !== answer.seat) throw new Error('another seat than before');
    this.secret = answer.secret;
    this.seat = answer.seat;
    await this.listen();
  }

  async listen() {
    this.gone = new AbortController();
    const r = await fetch(`${this.url}api/events?secret=${this.secret}`, { signal: this.gone.signal });
    this.reading = (async () => {
      let text = '';
      try {
        for await (const part of r.body) {
          text += new TextDecoder().decode(part);
          const lines = text.split('\n\n');
          text = lines.pop();
          for (const l of lines) if (l.startsWith('data: ')) { this.seen.push(l.slice(6)); this.state = JSON.parse(l.slice(6)); }
        }
      } catch { /* dropped */ }
    })();
  }

  drop() { this.gone.abort(); }

  // Lists grow; each is sent twice, and the last before the one before it.
  async tap(times) {
    await this.post('api/taps', { secret: this.secret, taps_s: times });
    await this.post('api/taps', { secret: this.secret, taps_s: times.slice(0, -1) });
  }

  async enter(count) {
    const r = await this.post('api/enter', { secret: this.secret, count });
    return r.status;
  }
}

run(async () => {
  const s = await serve(['--share', '--address', '127.0.0.1']);
  const b = await browser();
  const page = await (await b.newContext({ viewport: { width: 1280, height: 800 } })).newPage();
  page.on('pageerror', (e) => check(false, `an error on the page: ${e.message}`));
  await page.goto(s.address);
  await page.waitForURL(`${s.origin}/`);
  await page.goto(`${s.origin}/#shared`);
  await page.getByLabel('What the room will hear').selectOption({ label: 'steady-084' });
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
  check(new Set(phones.map((p) => p.seat)).size === PHONES, `${PHONES} phones have ${PHONES} seats`);
  const small = await b.newContext({ viewport: { width: 360, height: 740 }, hasTouch: true });
  const inBrowser = [await small.newPage(), await (await b.newContext({ viewport: { width: 360, height: 740 } })).newPage()];
  for (const p of inBrowser) {
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
  await page.getByText('The room listens.').waitFor({ timeout: 20000 });
  await inBrowser[0].locator('.pad').waitFor();
  await axe(inBrowser[0], 'a seat that counts');
  for (const p of phones.slice(0, 10)) p.drop();
  for (let i = 0; i < 5; i += 1) { await inBrowser[0].locator('.pad').dispatchEvent('pointerdown'); await wait(0.5); }
  await page.waitForFunction(() => [...document.querySelectorAll('.seats li')].filter((l) => l.textContent.includes('away')).length === 10, null, { timeout: 15000 });
  check(true, 'ten that dropped out are shown as away');
  await Promise.all(phones.map((p, i) => p.tap(Array.from({ length: 5 + (i % 7) }, (_, k) => k * 0.7))));
  await Promise.all(phones.slice(0, 5).map((p) => p.sit()));
  check((await phones[12].enter(5)) === 400, 'nobody enters while it runs');
  await page.getByRole('button', { name: 'Show the answers' }).waitFor({ timeout: 30000 });

  // ---- Entries ----
  const truth = Math.round(84 * SECONDS / 60);
  await Promise.all(phones.slice(5, 10).map((p) => p.sit()));
  const codes = await Promise.all(phones.map((p, i) => p.enter(truth - 3 + (i % 7))));
  check(codes.every((c) => c === 200), `${PHONES} entries are taken`);
  check((await phones[3].enter(100000)) === 400, 'nobody counts that much');
  for (const [i, p] of inBrowser.entries()) {
    await p.getByLabel('How many beats').fill(String(truth + i));
    await p.getByRole('button', { name: 'Enter my count' }).click();
    await p.getByText(/You entered/).waitFor();
  }
  phones[7].drop();
  await phones[7].sit();
  check(phones[7].seat === 8 || phones[7].seat > 0, 'a phone that comes back has its seat');
  await page.getByText(`${PHONES + 2} seats, ${PHONES + 2} entered.`).waitFor();
  await wait(0.3);
  const seen = phones.flatMap((p) => p.seen).join('\n');
  check(!/"(truth|answers|difference)"/.test(seen), 'no phone was told what is true, or of an answer, before they are shown');
  check(phones[7].state.entered && phones[7].state.count === truth - 3 + (7 % 7), 'with its answer');

  // ---- The answers ----
  await page.getByRole('button', { name: 'Show the answers' }).click();
  await page.locator('svg.dots').waitFor();
  await wait(0.5);
  const states = phones.map((p) => p.state);
  check(states.every((t) => t.phase === 'revealed'), 'every phone is told');
  check(states.every((t) => t.answers.length === PHONES + 2), `every one of ${PHONES + 2} answers is there`);
  check(states.every((t) => t.truth >= truth - 1 && t.truth <= truth + 1), `what is true: ${states[0].truth}`);
  check(states.every((t, i) => t.count === truth - 3 + (i % 7) && t.difference === t.count - t.truth), 'each has its own comparison');
  check(states.every((t, i) => t.n_taps === 5 + (i % 7)), 'and every tap');
  check(states[0].answers.every((v, i, a) => i === 0 || a[i - 1] <= v), 'answers are in order of size: no seat can be told from them');
  check(!/seat|name/i.test(JSON.stringify(states[0].answers)), 'without names');
  check((await page.locator('svg.dots circle').count()) === PHONES + 2, 'the dot plot has a dot for each');
  check((await inBrowser[1].getByText(/You counted/).count()) === 1, 'a phone shows its own comparison');
  check((await inBrowser[0].getByText('5 taps were sent.').count()) === 1, 'and its taps');
  check((await phones[0].enter(truth)) === 400, 'nothing is changed after that');
  await axe(page, 'the answers');
  await axe(inBrowser[1], 'a seat with its answer');
  if (process.env.SHOT) {
    await page.screenshot({ path: `${process.env.SHOT}-room.png`, fullPage: true });
    await inBrowser[1].screenshot({ path: `${process.env.SHOT}-phone.png`, fullPage: true });
  }

  // ---- The end ----
  await page.getByRole('button', { name: 'End it' }).click();
  await inBrowser[0].getByText('The shared minute has ended.').waitFor();
  await wait(0.5);
  check(await fetch(url).then(() => false, () => true), 'the door to the network is closed');
  for (const p of phones) p.drop();
});
