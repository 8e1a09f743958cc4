// Recordings to listen to, those too that are dropped on the page.
import { get } from './api.js';
import { button, choice, clear, field, h, tick } from './dom.js';
import { dropBox } from './drop.js';
import { playerOf } from './player.js';
import { S } from './strings.js';
import { shortCounts } from './view_reveal.js';

const bare = (name) => name.replace(/\.(flac|wav|ogg|aiff?|mp3|m4a|mp4|aac|webm)$/i, '');

export async function listenView(root, chosen) {
  const { recordings } = await get('/api/recordings');
  const list = choice('recording', recordings.map((r) => [r.number, S.listen.numbered(bare(r.name), r.known ? r.blind : 0)]), chosen);
  const small = h('input', { type: 'checkbox' });
  const place = h('div', {});
  const lesson = h('div', {});
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

  const drop = dropBox((number, f) => {
    list.append(h('option', { value: number }, bare(f.name)));
    list.value = String(number);
    show();
  });
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
