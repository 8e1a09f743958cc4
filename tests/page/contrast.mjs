// How clearly what is drawn stands out from its ground, by the formula of WCAG 2.2 (relative
// luminance, 1.4.3 and 1.4.11): text 4.5 to 1 (large text 3), marks and edges of fields 3 to 1.
import { axe, check } from './page.mjs';

// In the page: what falls short, as lines.
function shortfalls() {
  const canvas = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
  const rgba = (colour) => {
    canvas.clearRect(0, 0, 1, 1);
    canvas.fillStyle = colour;
    canvas.fillRect(0, 0, 1, 1);
    return [...canvas.getImageData(0, 0, 1, 1).data];
  };
  const luminance = (c) => c.slice(0, 3).map((v) => v / 255)
    .map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4))
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const ratio = (a, b) => {
    const [x, y] = [luminance(rgba(a)), luminance(rgba(b))].sort((p, q) => q - p);
    return (x + 0.05) / (y + 0.05);
  };
  const ground = (e) => {
    for (let at = e; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if (rgba(colour)[3] === 255) return colour;
    }
    return getComputedStyle(document.documentElement).getPropertyValue('--paper');
  };
  // A picture's own ground is its first rectangle, where it has one.
  const behind = (e) => {
    const svg = e.ownerSVGElement;
    const first = svg.querySelector('rect');
    return first && first.getAttribute('x') === '0' && first !== e ? getComputedStyle(first).fill : ground(svg);
  };
  const seen = (e) => e.checkVisibility() && e.getBoundingClientRect().width > 0 && !e.closest('.quiet, .skip, .join figure');
  const found = new Set();
  const look = (e, colour, on, least, what) => {
    const r = ratio(colour, on);
    if (r < least) found.add(`${what} ${e.tagName} ${e.getAttribute('class') || ''} "${e.textContent.slice(0, 20)}": ${r.toFixed(2)} (${colour} on ${on})`);
  };
  for (const e of document.querySelectorAll('body *')) {
    if (!seen(e)) continue;
    const style = getComputedStyle(e);
    const own = [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
    if (e instanceof SVGElement) {
      if (!e.ownerSVGElement || e.closest('defs, title, desc')) continue;
      if (e.tagName === 'text' || e.tagName === 'tspan') { if (own) look(e, style.fill, behind(e), 4.5, 'text'); continue; }
      if (e.classList.contains('out')) continue; // the seconds beyond a short count
      for (const colour of ['path', 'circle', 'polygon'].includes(e.tagName) ? [style.stroke, style.fill] : [style.stroke]) {
        if (colour !== 'none' && rgba(colour).join() !== rgba(behind(e)).join()) look(e, colour, behind(e), 3, 'mark');
      }
    } else {
      if (own) look(e, style.color, ground(e), parseFloat(style.fontSize) >= 24 ? 3 : 4.5, 'text');
      if (['INPUT', 'SELECT', 'BUTTON'].includes(e.tagName)) look(e, style.borderTopColor, ground(e.parentElement), 3, 'edge');
    }
  }
  const ink = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`);
  for (const name of ['ink', 'warm', 'trace', 'deep', 'line']) { // what a canvas draws with, and rings of focus
    for (const on of ['paper', 'wash']) if (ratio(ink(name), ink(on)) < 3) found.add(`--${name} on --${on}: ${ratio(ink(name), ink(on)).toFixed(2)}`);
  }
  return [...found];
}

export async function byDayAndNight(page, what) {
  for (const colorScheme of ['dark', 'light']) {
    await page.emulateMedia({ colorScheme });
    await axe(page, `${what}, ${colorScheme}`);
    const found = await page.evaluate(shortfalls);
    for (const f of found.slice(0, 12)) console.log(`  ${f}`);
    check(found.length === 0, `text and marks stand out on ${what}, ${colorScheme}`);
  }
}
