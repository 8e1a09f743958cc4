// What is handed out as a file, looked at on paper (A4) and on a phone: the report of one
// sitting, that of a learner, and a worksheet. Nothing wider than the screen, nothing that a
// screen reader stumbles over, nothing fetched.
import { execFileSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { axe, browser, check, folder, program, run, source } from './page.mjs';
import { linesCut, shooter } from './shots.mjs';

const SIZES = { A4: [794, 1123], phone: [360, 740] }; // px at 96 to the inch
const work = folder();
const at = (name) => join(work, name);
const call = (...args) => execFileSync(program, args, { env: { ...process.env, HOME: work }, stdio: 'pipe' });

// Three sittings of one learner; the days differ from run to run, the rest does not.
function make() {
  const sittings = [['premature-beats', 74], ['steady-072', 72], ['bigeminy', 70]];
  for (const [name, manual] of sittings) {
    call('check', join(source, `recordings/${name}.flac`), '--manual', String(manual), '--learner', 'AB',
      '--logbook', at('l.sqlite'), '--also', 'rhythm=regular;posture=sitting');
  }
  call('report', '--row', '1', '--logbook', at('l.sqlite'), '--out', at('sitting.html'));
  call('check', join(source, 'recordings/paused-breathing.flac'), '--manual', '74', '--manual-breaths', '13', '--learner', 'CD',
    '--logbook', at('l.sqlite'));
  call('report', '--row', '4', '--logbook', at('l.sqlite'), '--out', at('breaths.html'));
  call('report', '--learner', 'AB', '--logbook', at('l.sqlite'), '--out', at('learner.html'));
  writeFileSync(at('phrase'), 'four quiet words here\n');
  call('worksheet', 'make', join(source, 'recordings'), at('sheet'), '--items', '6', '--phrase-file', at('phrase'));
}

run(async () => {
  make();
  const b = await browser();
  const shoot = await shooter(b, SIZES);
  const page = await (await b.newContext()).newPage();
  const fetched = [];
  page.on('request', (r) => { if (!r.url().startsWith('file:') && !r.url().startsWith('data:')) fetched.push(r.url()); });
  for (const [view, file] of [['report-sitting', 'sitting.html'], ['report-learner', 'learner.html'], ['worksheet', 'sheet/sheet.html']]) {
    await page.goto(pathToFileURL(at(file)).href);
    await axe(page, view);
    await shoot(page, view, { whole: true });
    const pages = (await page.pdf({ format: 'A4', preferCSSPageSize: true })).toString('latin1').match(/\/Type\s*\/Page\b/g).length;
    check(pages >= 1 && pages <= 4, `${view} prints on ${pages} pages`);
  }
  // The sentences wrap where the screen ends.
  await page.setViewportSize({ width: SIZES.phone[0], height: SIZES.phone[1] });
  await page.goto(pathToFileURL(at('breaths.html')).href);
  check(await page.getByText('If this were a person: report it').count() === 1, 'the pause is in the report');
  check(await linesCut(page) === 0, 'and its lines end on a phone');
  check(fetched.length === 0, `nothing is fetched: ${fetched.join(' ')}`);
});
