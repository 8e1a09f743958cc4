// A whole checked count in a browser, against a recording that a null sink plays: taps at
// known times, and the number nowhere before the learner's own count is stored.
// `node test_checked.mjs whole` counts a full minute and respirations, else 15 s.
import { execFileSync, spawn } from 'node:child_process';
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { axe, browser, check, folder, program, run, serve, wait } from './page.mjs';

const whole = process.argv[2] === 'whole';
const seconds = whole ? 60 : 15;
const BPM = 84;
// What a state before the entry may hold, and nothing else.
const ALLOWED = ['phase', 'kind', 'entry', 'seconds', 'elapsed_s', 'left_s', 'can_start', 'level_dbfs', 'advice', 'trouble',
  'missing_s', 'lost_start_s', 'lost_length_s', 'stalled', 'checked', 'ticks', 'now_s', 'at_s', 'watched', 'person'];
const CLOCKS = /"(elapsed_s|left_s|now_s|at_s|missing_s|lost_start_s|lost_length_s|level_dbfs)":-?[\d.e+-]+|"started_utc": "[\dTZ:-]+"|class="number">\d+<\/text>/g; // the last: the clock's scale
const FORBIDDEN = /"?(beats|s1_s|s2_s|marks|envelope|rate_bpm|intervals|pattern|confidence)"?\s*:/;

function files(at) {
  return readdirSync(at, { withFileTypes: true }).flatMap((e) => (
    e.isDirectory() ? files(join(at, e.name)) : e.isFile() ? [join(at, e.name)] : []));
}

function textOf(home) {
  return files(home).filter((f) => !f.endsWith('.wav') && !f.includes('/chrom') && statSync(f).size < 1e6)
    .map((f) => readFileSync(f, 'latin1')).join('\n');
}

// As long as the minute is on the screen: a slow machine leaves room for fewer taps.
async function tapAlong(page, length) {
  const begun = performance.now();
  for (let i = 0; i < Math.floor((length - 1) * BPM / 60) && await page.locator('.pad').count() > 0; i += 1) {
    const due = begun + 300 + (i * 60000) / BPM;
    await wait(Math.max(0, due - performance.now()) / 1000);
    await page.keyboard.press('Space');
  }
}

run(async () => {
  const work = folder();
  const sound = join(work, 'known.wav');
  execFileSync(program, ['compose', sound, '--seconds', '200', '--bpm', String(BPM), '--rate', '8000']);
  const s = await serve();
  const player = spawn('paplay', ['--device=steth0', sound], { stdio: 'ignore' });
  const b = await browser(['--mute-audio']);
  const context = await b.newContext({ viewport: { width: 1280, height: 800 } });
  // Every message, as the page gets it; and every tap, as the browser stamps it.
  await context.addInitScript(() => {
    window.heard = [];
    window.taps = [];
    const Plain = window.EventSource;
    window.EventSource = class extends Plain {
      constructor(...a) { super(...a); this.addEventListener('message', (e) => window.heard.push(e.data)); }
    };
    addEventListener('keydown', (e) => {
      if (e.code === 'Space' && document.querySelector('.pad')) window.taps.push(e.timeStamp);
    }, true);
  });
  const page = await context.newPage();
  const traffic = [];
  page.on('response', async (r) => {
    if (!/events|\.js$|\.css$/.test(r.url())) traffic.push(`${r.url()} ${await r.text().catch(() => '')}`);
  });
  page.on('pageerror', (e) => check(false, `an error on the page: ${e.message}`));
  await page.goto(s.address);
  await page.waitForURL(`${s.origin}/`);
  await page.getByText('A person, through an input').click();
  await page.getByLabel('How long').selectOption(String(seconds));
  await page.getByLabel('Then count the respirations').setChecked(whole);
  await page.getByLabel('Initials or a nickname').fill('T.L.');
  await page.getByRole('button', { name: 'Go on' }).click();
  const start = page.getByRole('button', { name: /^Start the/ });
  await start.waitFor();
  await axe(page, 'settling');
  const doms = [];
  const look = async () => doms.push(await page.content());
  await page.waitForFunction(() => [...document.querySelectorAll('button')].some((x) => /^Start the/.test(x.textContent) && !x.disabled));
  await look();
  await start.click();
  await page.locator('.pad').waitFor();
  await tapAlong(page, 8);
  await look();
  await axe(page, 'the minute');
  await tapAlong(page, seconds - 8);
  const entry = page.getByLabel('How many beats did you count?');
  await entry.waitFor();
  await axe(page, 'the entry');
  await look();
  const atEntry = performance.now();

  // ---- The seal ----
  const heard = await page.evaluate(() => window.heard);
  const onDisk = textOf(s.home);
  const before = traffic.join('\n');
  const taps = await page.evaluate(() => window.taps);
  check(heard.length > seconds, `${heard.length} states were sent before the entry`);
  const keys = new Set(heard.flatMap((d) => Object.keys(JSON.parse(d))));
  check([...keys].every((k) => ALLOWED.includes(k)), 'no state before the entry holds anything but clocks, the level and words');
  check(heard.every((d) => JSON.parse(d).person === ''), 'and nothing of a person: no number is entered yet');
  const levels = heard.map((d) => JSON.parse(d)).filter((d) => d.level_dbfs !== null);
  const changes = levels.filter((d, i) => i > 0 && d.level_dbfs !== levels[i - 1].level_dbfs).map((d) => d.now_s);
  check(changes.every((t, i) => i === 0 || t - changes[i - 1] > 2.5), `the level changed ${changes.length} times, never twice in 2.5 s`);
  check(levels.every((d) => Math.abs(d.level_dbfs / 3 - Math.round(d.level_dbfs / 3)) < 1e-6), 'in steps of 3 dB');

  // What is asked back before an entry is stored: by the entry alone.
  const asked = await page.evaluate(async (entries) => Promise.all(entries.map(async (entry) => {
    const r = await fetch('/api/live/enter', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(entry) });
    return [r.status, await r.text()];
  })), [{ entered: 2 }, { could_not: true }]);
  check(asked.every(([status]) => status === 409), `2 beats, and none, are asked back: ${asked.map(([status]) => status)}`);
  check(JSON.parse(asked[0][1]).ask === 'improbable' && JSON.parse(asked[1][1]).ask === 'person', 'each with its question');
  check(JSON.parse(asked[1][1]).person.text[0].includes('call for help'), 'of the person first');
  check(textOf(s.home).includes('"manual": null'), 'and nothing of it is stored');

  await entry.fill(String(Math.round(seconds * BPM / 60) - 1));
  if (!whole) await page.getByLabel('The rhythm as you heard it').selectOption('regular');
  await page.getByRole('button', { name: 'Store my count' }).click();
  if (whole) {
    await page.getByRole('heading', { name: 'Now the respirations' }).waitFor();
    check(!(await page.content()).includes('The second count'), 'after the pulse is stored it stays sealed');
    const again = page.getByRole('button', { name: 'Start the minute' });
    await page.waitForFunction(() => [...document.querySelectorAll('button')].some((x) => /^Start the/.test(x.textContent) && !x.disabled));
    await again.click();
    await page.locator('.pad').waitFor();
    const breaths = page.getByLabel('How many respirations did you count?');
    await breaths.waitFor();
    await breaths.fill('15');
    await page.getByRole('button', { name: 'Store my count' }).click();
  }

  // ---- The reveal ----
  await page.getByRole('heading', { name: 'Your count and fullminute’s' }).waitFor();
  console.log(`the reveal came ${((performance.now() - atEntry) / 1000).toFixed(1)} s after the entry was asked for`);
  await page.getByText('Hear it again, with the beats marked').click();
  await page.locator('.player canvas').waitFor();
  const answer = await page.evaluate(() => fetch('/api/live/reveal').then((r) => r.json()));
  const c = answer.check;
  const beats = c.same_seconds.beats;
  const rate = c.count.heart.rate_bpm;
  console.log(`counted ${beats} beats, ${rate} a minute, ${c.count.heart.status}; verdict: ${c.verdict}`);
  // A machine that is too busy loses sound: then the gap is named, nothing is vouched for, and no
  // beat is counted in it.
  const { gaps } = c.count.quality;
  const lost = gaps.length > 0 && c.count.heart.status !== 'counted';
  if (lost) console.log(`  sound was lost, and that is said: ${JSON.stringify(gaps)}`);
  check((c.count.heart.s1_s || []).every((t) => gaps.every((g) => t < g.start_s || t > g.start_s + g.length_s)), 'no beat is counted where sound was lost');
  check(lost || Math.abs(beats - seconds * BPM / 60) <= 1, 'the second count is that of what was played, or says that sound was lost');
  for (const [name, text] of [['traffic', before], ['questions', asked.map(([, text]) => text).join('\n')], ['events', heard.join('\n')], ['DOM', doms.join('\n')], ['files', onDisk], ['stderr', s.said.err]]) {
    const clean = text.replace(CLOCKS, '');
    const numbers = [...new Set([beats, rate])].filter((n) => n !== null).map((n) => String(n).replace('.', '\\.'));
    const found = numbers.length > 0 && clean.match(new RegExp(`(?<![\\w.#-])(${numbers.join('|')})(?![\\w.%-])`));
    const where = found ? clean.slice(Math.max(0, found.index - 60), found.index + 30).replace(/\s+/g, ' ') : '';
    check(!found, `the number is not in the ${name} before the entry ${where}`);
    if (name !== 'traffic') check(!FORBIDDEN.test(clean), `no member of a count in the ${name}`);
  }
  check(/Your count|You/.test(await page.locator('.numbers').first().textContent()), 'both numbers are shown');
  check(await page.locator('figure svg').count() >= 2, 'the dial and the strips are drawn');
  await axe(page, 'the reveal');

  // ---- Taps ----
  const document = JSON.parse(readFileSync(files(s.home).find((f) => f.endsWith('.sitting.json')), 'utf8'));
  const stored = document.taps_s;
  const last = document.windows.find((w) => w.kind === 'pulse').end_s;
  const lag = stored.map((t, i) => t - taps[i] / 1000);
  const mean = lag.reduce((x, y) => x + y, 0) / lag.length;
  const worst = Math.max(...lag.map((l) => Math.abs(l - mean)));
  // One at the very end may be made on a minute that is over by then.
  const due = taps.filter((t) => t / 1000 + mean < last - 1).length;
  check(stored.length >= due && due >= 5, `${taps.length} taps made, ${due} of them a second before the end, ${stored.length} stored`);
  // Where a tap is put hangs on the clocks of two programs; how closely, on the machine, too.
  console.log(`  taps lie where they were made, within ${(worst * 1000).toFixed(1)} ms`);
  if (process.env.SPEED) check(worst < 0.02, 'each within 20 ms of where it was made');
  check(stored.every((t, i) => i === 0 || t >= stored[i - 1]), 'in their order');
  check(document.pulse ? true : Boolean(document.manual), 'the entry is in the sitting document');
  check(lost || (c.taps !== null && c.taps.matched > stored.length * 0.5), `${c.taps ? c.taps.matched : 0} taps matched`);

  // ---- The logbook ----
  check(answer.row === 1, 'it is row 1 of the logbook');
  const report = await page.evaluate(() => fetch('/report/row/1').then(async (r) => [r.status, await r.text(), r.headers.get('content-security-policy')]));
  check(report[0] === 200 && report[1].includes('T.L.'), 'its report is served');
  check(report[2].includes('sandbox') && !report[2].includes('script-src'), 'as a document that can run nothing');
  await page.goto(`${s.origin}/#logbook`);
  await page.getByRole('heading', { name: 'Logbook' }).waitFor();
  await page.getByText('1', { exact: true }).first().waitFor();
  await axe(page, 'the logbook with a row');
  if (process.env.SHOT) await page.screenshot({ path: process.env.SHOT, fullPage: true });
  player.kill();
});
