// Pictures of a page beside small references in references/; a view may differ from its own
// by a little (fonts, dates). WRITE_REFERENCES=1 writes them again: look at each one.
// SHOTS=DIR keeps them full size.
import { existsSync, mkdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { check, settled } from './page.mjs';

const references = join(dirname(fileURLToPath(import.meta.url)), 'references');
const SMALL = { laptop: 320, projector: 320, phone: 180, A4: 280 }; // px wide
const DIFFERENT_MOST = 0.03; // mean difference of brightness, 0..1

let canvas;

// Made small by the browser itself: no library of pictures is needed.
async function shrink(png, width_px) {
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
  }, [png.toString('base64'), width_px]);
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

// How far lines of words reach beyond what is seen of them; rows of a table may, and are scrolled to.
export async function linesCut(page) {
  return page.evaluate(() => {
    const rows = [...document.querySelectorAll('pre .row')].filter((r) => /\S {2,}\S/.test(r.textContent));
    for (const r of rows) r.hidden = true;
    const cut = Math.max(0, ...[...document.querySelectorAll('pre')]
      .filter((p) => !p.closest('.recipe')).map((p) => p.scrollWidth - p.clientWidth));
    for (const r of rows) r.hidden = false;
    return cut;
  });
}

async function beside(small, view, size) {
  const file = join(references, `${view}-${size}.png`);
  if (process.env.WRITE_REFERENCES) {
    mkdirSync(references, { recursive: true });
    writeFileSync(file, small);
  }
  if (!existsSync(file)) { check(false, `no reference ${file}`); return; }
  const by = await difference(small, readFileSync(file));
  if (by > DIFFERENT_MOST || statSync(file).size > 49152) check(false, `${view} on a ${size}: differs by ${by.toFixed(4)}`);
}

// A function that looks at a page in each of SIZES: name to [width, height], px.
// compare: false where what is shown moves; whole: the page to its end, not one screen of it.
export async function shooter(b, sizes) {
  canvas = await (await b.newContext()).newPage();
  return async (page, view, { compare = true, whole = false } = {}) => {
    for (const [size, [width, height]] of Object.entries(sizes)) {
      await page.setViewportSize({ width, height });
      await settled(page);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      if (wide > 0) check(false, `${view} is ${wide} px wider than a ${size}`);
      const cut = await linesCut(page);
      if (cut > 0) check(false, `${view} on a ${size}: ${cut} px of its lines are beyond the edge`);
      const png = await page.screenshot({ fullPage: whole });
      if (process.env.SHOTS) {
        mkdirSync(process.env.SHOTS, { recursive: true });
        await page.screenshot({ path: join(process.env.SHOTS, `${view}-${size}.png`), fullPage: true });
      }
      if (compare) await beside(await shrink(png, whole ? SMALL[size] / 2 : SMALL[size]), view, size);
    }
    await page.setViewportSize({ width: 1280, height: 800 });
    check(true, `${view} was looked at in ${Object.keys(sizes).length} sizes`);
  };
}
