// Recordings to listen to, and files that are dropped on the page.
import { get, upload } from './api.js';
import { decoded, isReadHere } from './decode.js';
import { button, choice, clear, field, h, notice, say, tick } from './dom.js';
import { playerOf } from './player.js';
import { S } from './strings.js';
import { shortCounts } from './view_reveal.js';

const bare = (name) => name.replace(/\.(flac|wav|ogg|aiff?|mp3|m4a|mp4|aac|webm)$/i, '');

export async function listenView(root, chosen) {
  const { recordings } = await get('/api/recordings');
  const list = choice('recording', recordings.map((r) => [r.number, bare(r.name)]), chosen);
  const small = h('input', { type: 'checkbox' });
  const problem = h('div', {});
  const place = h('div', {});
  const lesson = h('div', {});
  const file = h('input', { type: 'file', accept: 'audio/*,.flac,.wav,.ogg,.aiff,.m4a,.mp4,.webm', 'aria-label': S.listen.drop });
  let player;

  function show() {
    if (player) player.close();
    clear(lesson);
    if (!list.value) return;
    player = playerOf(Number(list.value), 0, { small: small.checked });
    clear(place, player.box);
    player.ready.then(() => {
      const d = player.data;
      if (d.short_counts.length === 0) return;
      clear(lesson, h('details', {}, h('summary', {}, S.listen.showShorter),
        h('p', {}, S.listen.beats(d.beats, Math.round(d.seconds))),
        shortCounts(d.short_counts, d.seconds > 59.9 ? d.beats : null)));
    }).catch(() => {});
  }

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

  async function bring(f) {
    clear(problem, h('p.status', {}, S.listen.reading));
    try {
      const answer = await send(f);
      list.append(h('option', { value: answer.number }, bare(f.name)));
      list.value = String(answer.number);
      clear(problem, answer.decoded ? h('p.hint.decoded', {}, S.listen.decoded(f.name)) : null);
      say(S.listen.dropped(f.name));
      show();
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
  list.addEventListener('change', show);
  small.addEventListener('change', show);
  const screen = document.fullscreenEnabled
    ? button(S.listen.full, () => place.requestFullscreen(), 'plain') : null;
  clear(root, h('h1', { tabindex: -1 }, S.listen.title), h('p.lead', {}, S.listen.lead),
    field(S.listen.choose, list), place, h('div.choices', {}, tick(S.listen.speaker, small)), h('p', {}, screen),
    lesson, drop);
  root.leave = () => player && player.close();
  show();
}
