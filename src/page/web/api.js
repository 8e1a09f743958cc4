// Talking to the program: requests, events, and its clock.
import { S } from './strings.js';

// The program says what happened; what to do about it. A person reads that first.
export function toDoFirst(text) {
  const [, kept, what, toDo] = text.match(/^(Not stored: |Your count is in .*? failed: )?(.*?); (.*)$/s) || [null, '', '', text];
  const said = what ? `${toDo.replace(/\.$/, '')}: ${what}` : toDo;
  return (kept || '') + (kept ? said : said.charAt(0).toUpperCase() + said.slice(1));
}

async function read(response) {
  const body = response.headers.get('Content-Type') === 'application/json' ? await response.json() : {};
  if (!response.ok) throw Object.assign(new Error(body.error ? toDoFirst(body.error) : S.gone), { status: response.status, body });
  return body;
}

async function ask(path, options) {
  let response;
  try {
    response = await fetch(path, { credentials: 'same-origin', ...options });
  } catch {
    throw new Error(S.gone);
  }
  return response;
}

export const get = async (path) => read(await ask(path));

export const post = async (path, body) => read(await ask(path, {
  method: 'POST',
  headers: { 'Content-Type': 'application/json' },
  body: JSON.stringify(body || {}),
}));

export const upload = async (path, file) => read(await ask(path, { method: 'POST', body: file }));

export async function sound(path) {
  const response = await ask(path);
  if (!response.ok) await read(response);
  return response.arrayBuffer();
}

// One stream a page. Calls back with each event; says when it is lost and when it is back.
export function events(path, take, lost) {
  const source = new EventSource(path);
  source.onmessage = (e) => take(JSON.parse(e.data));
  source.onerror = () => lost && lost(source.readyState === EventSource.CLOSED);
  return () => source.close();
}

// The program's steady clock, kept in step by the quickest of a few questions.
let offset_s = 0;
let best_s = Infinity;

export async function keepTime(path = '/api/clock', times = 6) {
  best_s = Infinity;
  for (let i = 0; i < times; i += 1) {
    const before = performance.now() / 1000;
    const answer = await get(path);
    const after = performance.now() / 1000;
    if (after - before < best_s) {
      best_s = after - before;
      offset_s = answer.now_s - (before + after) / 2;
    }
  }
}

export const programTime = (page_ms = performance.now()) => page_ms / 1000 + offset_s;
