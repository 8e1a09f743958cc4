// Every view at three sizes: a laptop, a projector, a phone. Small references lie in
// references/; a view may differ from its own by a little (fonts, dates). Keyboard alone,
// and nothing wider than the screen.
// WRITE_REFERENCES=1 writes them anew: look at each one. SHOTS=DIR keeps them full size.
import { copyFileSync, existsSync, mkdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { axe, browser, check, folder, run, serve, source, wait } from './page.mjs';

const SIZES = { laptop: [1280, 800], projector: [1920, 1080], phone: [360, 740] };
const references = join(dirname(fileURLToPath(import.meta.url)), 'references');
const SMALL = { laptop: 320, projector: 320, phone: 180 }; // px wide
const DIFFERENT_MOST = 0.03; // mean difference of brightness, 0..1

let canvas;

// Made small by the browser itself: no library of pictures is needed.
async function shrink(png, size) {
  const data = await canvas.evaluate(async ([base64, width]) => {
    const image = new Image();
    image.src = `data:image/png;base64,${base64}`;
    await image.decode();
    const c = document.createElement('canvas');
    c.width = width;
    c.height = Math.round((image.height * width) / image.width);
    const g = c.getContext('2d');
    g.imageSmoothingQuality = 'high';
    g.drawImage(image, 0, 0, c.width, c.height);
    return c.toDataURL('image/png').split(',')[1];
  }, [png.toString('base64'), SMALL[size]]);
  return Buffer.from(data, 'base64');
}

async function difference(a, b) {
  return canvas.evaluate(async (both) => {
    const read = async (base64) => {
      const image = new Image();
      image.src = `data:image/png;base64,${base64}`;
      await image.decode();
      const c = document.createElement('canvas');
      c.width = image.width;
      c.height = image.height;
      const g = c.getContext('2d');
      g.drawImage(image, 0, 0);
      return g.getImageData(0, 0, c.width, c.height);
    };
    const [p, q] = [await read(both[0]), await read(both[1])];
    if (p.width !== q.width || p.height !== q.height) return 1;
    let sum = 0;
    for (let i = 0; i < p.data.length; i += 4) sum += Math.abs(p.data[i] - q.data[i]);
    return sum / (p.data.length / 4) / 255;
  }, [a.toString('base64'), b.toString('base64')]);
}

async function shoot(page, view, compare = true) {
  for (const [size, [width, height]] of Object.entries(SIZES)) {
    await page.setViewportSize({ width, height });
    await wait(0.25);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    if (wide > 0) check(false, `${view} is ${wide} px wider than a ${size}`);
    const png = await page.screenshot();
    if (process.env.SHOTS) {
      mkdirSync(process.env.SHOTS, { recursive: true });
      await page.screenshot({ path: join(process.env.SHOTS, `${view}-${size}.png`), fullPage: true });
    }
    if (!compare) continue;
    const small = await shrink(png, size);
    const file = join(references, `${view}-${size}.png`);
    if (process.env.WRITE_REFERENCES) {
      mkdirSync(references, { recursive: true });
      writeFileSync(file, small);
    }
    if (!existsSync(file)) { check(false, `no reference ${file}`); continue; }
    const by = await difference(small, readFileSync(file));
    if (by > DIFFERENT_MOST || statSync(file).size > 40960) check(false, `${view} on a ${size}: differs by ${by.toFixed(4)}`);
  }
  await page.setViewportSize({ width: 1280, height: 800 });
  check(true, `${view} was looked at in ${Object.keys(SIZES).length} sizes`);
}

run(async () => {
  const work = folder();
  for (const end of ['flac', 'truth.json']) {
    copyFileSync(join(source, `recordings/premature-beats.${end}`), join(work, `premature-beats.${end}`));
  }
  const s = await serve(['--share', '--address', '127.0.0.1', '--recordings', work]);
  const b = await browser(['--mute-audio']);
  canvas = await (await b.newContext()).newPage();
  const context = await b.newContext({ viewport: { width: 1280, height: 800 }, reducedMotion: 'reduce' });
  const page = await context.newPage();
  page.on('pageerror', (e) => check(false, `an error on the page: ${e.message}`));
  page.on('console', (m) => { if (/Content Security Policy/.test(m.text())) check(false, m.text()); });
  await page.goto(s.address);
  await page.getByRole('button', { name: 'Go on' }).waitFor();
  await wait(1);

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
  await page.locator('.pad').waitFor();
  await shoot(page, 'minute', false);
  for (let i = 0; i < 5; i += 1) { await page.keyboard.press('Space'); await wait(0.79); }
  await page.getByLabel('How many beats did you count?').waitFor({ timeout: 30000 });
  check(await page.evaluate(() => document.activeElement.tagName === 'INPUT'), 'the entry has the focus');
  await shoot(page, 'entry');
  await page.getByLabel('How many beats did you count?').focus();
  await page.keyboard.type('18');
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { name: 'Your count and the second one' }).waitFor({ timeout: 20000 });
  await page.locator('.player canvas').waitFor();
  check((await page.locator('.numbers').first().textContent()).includes('72'), '18 in 15 s are 72 a minute');
  await axe(page, 'the reveal of a practice');
  await page.evaluate(() => scrollTo(0, 0));
  await shoot(page, 'reveal');

  for (const view of ['listen', 'write', 'logbook', 'shared']) {
    await page.goto(`${s.origin}/#${view}`);
    await page.waitForFunction((v) => document.documentElement.dataset.ready === v, view);
    await wait(0.8);
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
  await axe(phone, 'a seat to be taken');
  await phone.getByRole('button', { name: 'Take a seat' }).click();
  await phone.getByText('You have seat 1').waitFor();
  await shoot(page, 'gathering', false);
  await shoot(phone, 'seat');
  await page.getByRole('button', { name: 'Play it to the room' }).click();
  await phone.locator('.pad').waitFor({ timeout: 15000 });
  await shoot(phone, 'seat-minute', false);
  await phone.getByLabel('How many beats').waitFor({ timeout: 30000 });
  await shoot(phone, 'seat-entry');
  await phone.getByLabel('How many beats').fill('18');
  await phone.getByRole('button', { name: 'Enter my count' }).click();
  await page.getByText('1 seat, 1 entered.').waitFor();
  await shoot(page, 'room', false);
  await page.getByRole('button', { name: 'Show the answers' }).click();
  await page.locator('svg.dots').waitFor();
  await phone.locator('svg.dots').waitFor();
  await shoot(page, 'answers');
  await shoot(phone, 'seat-answer');
});
