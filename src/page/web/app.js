// The page's frame: which part is shown follows the address.
import { button, clear, h, notice, question } from './dom.js';
import { S } from './strings.js';
import { countView, leaveCount } from './view_count.js';
import { listenView } from './view_listen.js';
import { logbookView } from './view_logbook.js';
import { sharedView } from './view_shared.js';
import { writeView } from './view_write.js';

const VIEWS = { count: countView, listen: listenView, write: writeView, logbook: logbookView, shared: sharedView };

const main = h('main', { id: 'main' });
let root = h('div', {});
const links = Object.keys(VIEWS).map((k) => h('a', { href: `#${k}`, onclick: () => unfold(false) }, S.nav[k]));
const parts = h('nav', { id: 'parts', 'aria-label': S.nav.label }, links);
// Where the screen is narrow the parts stand behind a button.
const menu = button(S.nav.menu, () => unfold(!parts.classList.contains('open')), 'menu');
menu.setAttribute('aria-controls', 'parts');
function unfold(open) {
  parts.classList.toggle('open', open);
  menu.setAttribute('aria-expanded', String(open));
}

async function show(first) {
  const part = location.hash.slice(1) in VIEWS ? location.hash.slice(1) : 'count';
  leaveCount();
  unfold(false);
  if (root.leave) root.leave();
  // A box of its own for each: a part that is late cannot write over the one that is shown.
  const box = h('div', {});
  root = box;
  clear(main, box);
  for (const a of links) {
    if (a.hash === `#${part}`) a.setAttribute('aria-current', 'page');
    else a.removeAttribute('aria-current');
  }
  document.title = `${S.nav[part]} - ${S.name}`;
  try {
    await VIEWS[part](box);
  } catch (e) {
    clear(box, h('h1', { tabindex: -1 }, S.nav[part]), notice(e.message));
  }
  if (root !== box) return;
  const head = box.querySelector('h1');
  if (head && first !== true) head.focus();
  document.documentElement.dataset.ready = part;
}

document.body.append(
  h('a.skip', { href: '#main', onclick: (e) => { e.preventDefault(); root.querySelector('h1')?.focus(); } }, S.skip),
  h('header', {}, h('p.name', {}, S.name), menu, parts),
  main, h('footer', {}, h('p', {}, S.aid)));

// A part may have something running that would be lost: `root.asks` says what, '' nothing.
const asked = () => (root.asks ? root.asks() : '');
addEventListener('hashchange', (e) => {
  const text = asked();
  if (!text) { show(); return; }
  const to = location.hash;
  history.replaceState(null, '', new URL(e.oldURL).hash || '#count');
  question(text, S.stay, S.leave, () => { history.replaceState(null, '', to || '#count'); show(); });
});
addEventListener('beforeunload', (e) => { if (asked()) e.preventDefault(); });
show(true);
