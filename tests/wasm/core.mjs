// Counts recordings in WebAssembly and holds the documents, and the words of one check, to what
// the program says of the same files. What the core asks of its host must be declared in src/port,
// and none of it is needed for a count. Usage: node core.mjs CORE.wasm PROGRAM SOURCE WORK
import { execFileSync, spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { WASI } from 'node:wasi';

const [wasm, program, source, work] = process.argv.slice(2);
const folder = join(source, 'recordings');
const NAMES = ['steady-072.flac', 'fibrillation.flac', 'lifted-chest-piece.flac'];
const CHECKED = ['steady-084.flac', 80];
const CLOSE = 0.0015; // documents print times to a thousandth; another machine may round it apart

let failures = 0;
const ports = join(source, 'src/port');
const declared = new Set(readdirSync(ports).flatMap((name) => readFileSync(join(ports, name), 'utf8')
  .replace(/\/\*[^]*?\*\//g, '').match(/\w+(?=\()/g)));
const module = new WebAssembly.Module(readFileSync(wasm));
const env = { emscripten_notify_memory_growth() {} };
const asked = WebAssembly.Module.imports(module).filter((i) => i.module === 'env' && !(i.name in env));
for (const { name } of asked) {
  env[name] = () => { throw new Error(`a count asked for ${name}`); };
  if (!declared.has(name)) {
    console.log(`${name}: asked of the host, and not declared in src/port`);
    failures += 1;
  }
}
console.log(`${asked.length} functions of src/port are left to the host`);

const wasi = new WASI({ version: 'preview1' });
const instance = await WebAssembly.instantiate(module, { wasi_snapshot_preview1: wasi.wasiImport, env });
wasi.initialize(instance);
const core = instance.exports;

function pcm(name) {
  const raw = join(work, `${name}.raw`);
  execFileSync('sox', [join(folder, name), '-t', 's16', raw]);
  const rate = Number(execFileSync('soxi', ['-r', join(folder, name)], { encoding: 'utf8' }));
  const bytes = readFileSync(raw);
  return { rate, samples: new Int16Array(bytes.buffer, bytes.byteOffset, bytes.length / 2) };
}

function text(at) {
  const bytes = new Uint8Array(core.memory.buffer);
  const out = new TextDecoder().decode(bytes.slice(at, bytes.indexOf(0, at)));
  core.free(at);
  return out;
}

async function call(name, run) {
  const { rate, samples } = pcm(name);
  const at = core.core_samples(samples.length);
  const room = new Float32Array(core.memory.buffer, at, samples.length);
  for (let i = 0; i < samples.length; i += 1) room[i] = samples[i] / 32768;
  const word = new TextEncoder().encode(`${name}\0`);
  const named = core.malloc(word.length);
  new Uint8Array(core.memory.buffer, named, word.length).set(word);
  const began = performance.now();
  const got = await run(at, samples.length, rate, named);
  const took = performance.now() - began;
  const answer = got ? text(got) : null;
  core.free(at);
  core.free(named);
  return { answer, took };
}

// Where two documents differ: a list of paths.
function differ(a, b, path = '') {
  if (typeof a === 'number' && typeof b === 'number') return Math.abs(a - b) <= CLOSE ? [] : [`${path}: ${a}, ${b}`];
  if (a === null || b === null || typeof a !== 'object' || typeof b !== 'object') return a === b ? [] : [`${path}: ${a}, ${b}`];
  return [...new Set([...Object.keys(a), ...Object.keys(b)])].flatMap((k) => (
    k in a && k in b ? differ(a[k], b[k], `${path}/${k}`) : [`${path}/${k}: only on one side`]));
}

for (const name of NAMES) {
  const own = spawnSync(program, ['count', '--json', '--channel', '1', join(folder, name)], { encoding: 'utf8' });
  const { answer, took } = await call(name, (...a) => core.core_count(...a));
  const moved = answer === null ? ['no answer'] : differ(JSON.parse(answer), JSON.parse(own.stdout));
  console.log(`${name}: ${took.toFixed(0)} ms, ${moved.length} members differ`);
  for (const m of moved) console.log(`  ${m}`);
  failures += moved.length > 0;
}
const [name, entered] = CHECKED;
const words = spawnSync(program, ['check', join(folder, name), '--channel', '1', '--manual', String(entered),
  '--no-truth', '--no-logbook'], { encoding: 'utf8' }).stdout;
// The host stores at its leisure: before it says so, nothing is heard of the minute, nothing said.
const said = (await call(name, async (...a) => {
  const taken = core.core_enter(...a, entered);
  const early = core.core_reveal(taken) || core.core_heard();
  await new Promise((stored) => { setTimeout(stored, 10); });
  core.core_stored(taken);
  const late = core.core_reveal(taken);
  core.core_end(taken);
  return early ? 0 : late;
})).answer;
console.log(`${name}: ${said === words ? 'the same words' : `other words:\n${said}\n---\n${words}`}`);
failures += said !== words;
process.exit(failures > 0 ? 1 : 0);
