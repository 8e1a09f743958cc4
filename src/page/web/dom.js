// Small tools: elements, messages for screen readers, pictures that come as SVG text.

export function h(name, props, ...children) {
  const [tag, ...classes] = name.split('.');
  const e = document.createElement(tag || 'div');
  if (classes.length > 0) e.className = classes.join(' ');
  for (const [key, value] of Object.entries(props || {})) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith('on')) e.addEventListener(key.slice(2), value);
    else if (key === 'value' || key === 'checked' || key === 'disabled' || key === 'hidden') e[key] = value;
    else e.setAttribute(key, value === true ? '' : value);
  }
  e.append(...children.flat(9).filter((c) => c !== null && c !== undefined && c !== false));
  return e;
}

// The program's lines as running text: a blank line ends a paragraph; what is set in parts is a name and what it is.
export function prose(text) {
  return text.trim().split(/\n\n+/).map((block) => {
    const rows = [];
    let said = '';
    for (const line of block.split('\n')) {
      const row = line.match(/^ {2}(\S.*?) {2,}(\S.*)$/);
      if (row) rows.push([row[1], row[2]]);
      else if (rows.length > 0 && line.startsWith(' ')) rows.at(-1)[1] += `; ${line.trim()}`;
      else said += ` ${line}`;
    }
    return [said ? h('p', {}, said.trim()) : null,
      rows.length > 0 ? h('dl.rows', {}, rows.map(([name, what]) => h('div', {}, h('dt', {}, name), h('dd', {}, what)))) : null];
  });
}

export function clear(e, ...children) {
  e.replaceChildren(...children.flat(9).filter(Boolean));
  return e;
}

// One region that is read out; written a moment later, so that it is noticed.
let spoken;
export function say(text) {
  if (!spoken) {
    spoken = h('div.quiet', { role: 'status', 'aria-live': 'polite' });
    document.body.append(spoken);
  }
  spoken.textContent = '';
  setTimeout(() => { spoken.textContent = text; }, 50);
}

let nextId = 0;
export function id(word) {
  nextId += 1;
  return `${word}-${nextId}`;
}

export function field(label, control, hint) {
  const name = id('field');
  control.id = name;
  if (hint) control.setAttribute('aria-describedby', `${name}-hint`);
  return h('p.field', {}, h('label', { for: name }, label), control,
    hint ? h('span.hint', { id: `${name}-hint` }, hint) : null);
}

export function tick(label, control, hint) {
  const name = id('tick');
  control.id = name;
  return h('p.tick', {}, control, h('label', { for: name }, label), hint ? h('span.hint', {}, hint) : null);
}

export function choice(name, options, chosen) {
  return h('select', { name }, options.map(([value, text]) => {
    const o = h('option', { value: String(value) }, text);
    if (String(value) === String(chosen)) o.selected = true;
    return o;
  }));
}

export function button(text, run, kind) {
  return h(kind ? `button.${kind}` : 'button', { type: 'button', onclick: run }, text);
}

// A form whose fields are judged by us, in our own words: throw wrong(field, words).
export function form(send, ...children) {
  return h('form', { novalidate: true, onsubmit: (e) => { e.preventDefault(); send(); } }, ...children);
}

// The field is marked until it is changed, and has the focus.
export function wrong(control, text) {
  control.setAttribute('aria-invalid', 'true');
  control.addEventListener('input', () => control.removeAttribute('aria-invalid'), { once: true });
  control.closest('details')?.setAttribute('open', '');
  control.focus();
  return new Error(text);
}

// A number from a field of text; undefined: it is empty.
export function numberOf(control, least, most, text) {
  const given = control.value.trim().replace(',', '.');
  if (given === '') return undefined;
  if (/^\d+(\.\d+)?$/.test(given) && Number(given) >= least && Number(given) <= most) return Number(given);
  throw wrong(control, text);
}

export function notice(text) {
  return h('p.notice', { role: 'alert' }, text);
}

// Asked before something is lost: the way back has the focus, and is what Escape does.
export function question(text, stay, leave, run) {
  if (document.querySelector('dialog')) return;
  const words = h('p', { id: id('question') }, text);
  const box = h('dialog', { 'aria-labelledby': words.id }, words, h('p.buttons', {}, button(stay, () => box.close(), 'main'),
    button(leave, () => { box.close(); run(); })));
  box.addEventListener('close', () => box.remove());
  document.body.append(box);
  box.showModal();
}

// A picture made by the program. It is parsed as XML; a style attribute, which the page's
// policy forbids, is left out, and scripts there are none.
export function picture(text, caption) {
  if (!text) return null;
  const clean = text.replace(/ style="[^"]*"/g, '');
  const parsed = new DOMParser().parseFromString(clean, 'image/svg+xml').documentElement;
  if (parsed.nodeName !== 'svg') return null;
  const drawn = document.importNode(parsed, true);
  const width = Number.parseFloat(drawn.getAttribute('width'));
  if (!drawn.hasAttribute('viewBox') && width > 0) {
    drawn.setAttribute('viewBox', `0 0 ${width} ${Number.parseFloat(drawn.getAttribute('height'))}`);
  }
  // Several pictures stand on one page: their ids must not meet.
  const own = id('pic');
  for (const e of drawn.querySelectorAll('[id]')) e.id = `${own}-${e.id}`;
  for (const name of ['aria-labelledby', 'aria-describedby']) {
    if (drawn.hasAttribute(name)) {
      drawn.setAttribute(name, drawn.getAttribute(name).split(' ').map((i) => `${own}-${i}`).join(' '));
    }
  }
  drawn.setAttribute('role', 'img');
  if (!drawn.hasAttribute('aria-labelledby')) drawn.setAttribute('aria-label', caption);
  return h('figure', { tabindex: '0', role: 'group', 'aria-label': caption }, drawn);
}

// One of the colours of style.css, as it is now.
export const ink = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`);

export const still = () => matchMedia('(prefers-reduced-motion: reduce)').matches;
