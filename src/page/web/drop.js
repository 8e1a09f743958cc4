// A box that takes a file of the person's own: dropped on it, or chosen.
import { upload } from './api.js';
import { decoded, isReadHere } from './decode.js';
import { clear, h, notice, say } from './dom.js';
import { S } from './strings.js';

// The file itself where the program reads it; else its sound, if this browser does.
async function send(f) {
  const path = `/api/recordings?name=${encodeURIComponent(f.name.slice(0, 60))}`;
  try {
    return await upload(path, f);
  } catch (e) {
    if (![413, 422].includes(e.status) || await isReadHere(f)) throw e;
    const sound = await decoded(f).catch(() => { throw new Error(`${e.message} ${S.listen.notDecoded}`); });
    return { ...await upload(path, sound), decoded: true };
  }
}

// ready(number, file): it is in the collection.
export function dropBox(ready) {
  const problem = h('div', {});
  const file = h('input', { type: 'file', accept: 'audio/*,.flac,.wav,.ogg,.aiff,.m4a,.mp4,.webm', 'aria-label': S.listen.drop });
  async function bring(f) {
    clear(problem, h('p.status', {}, S.listen.reading));
    try {
      const answer = await send(f);
      clear(problem, h('p.status', {}, S.listen.dropped(f.name)),
        answer.decoded ? h('p.hint.decoded', {}, S.listen.decoded(f.name)) : null);
      say(S.listen.dropped(f.name));
      ready(answer.number, f);
    } catch (e) {
      clear(problem, notice(e.message));
    }
  }
  const drop = h('div.drop', {}, h('p', {}, S.listen.drop), file, h('p.hint', {}, S.listen.dropHint), problem);
  for (const name of ['dragover', 'dragenter']) {
    drop.addEventListener(name, (e) => { e.preventDefault(); drop.classList.add('over'); });
  }
  drop.addEventListener('dragleave', () => drop.classList.remove('over'));
  drop.addEventListener('drop', (e) => {
    e.preventDefault();
    drop.classList.remove('over');
    if (e.dataTransfer.files.length > 0) bring(e.dataTransfer.files[0]);
  });
  file.addEventListener('change', () => { if (file.files.length > 0) bring(file.files[0]); });
  return drop;
}
