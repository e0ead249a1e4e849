// What the kernel cannot know: theme, width and density of the page; and what ipywidgets leaves unsaid: the names, values
// and reasons of sliders for screen readers, pressed or not, which words are spoken when they change.
const VERDICTS = '.ev-verdict, .ev-cautions';

function set(element, name, value) {
  if (element && element.getAttribute(name) !== value) element.setAttribute(name, value);
}

function value(text, told) {                          // a slider by factors shows its position: what stands there is said
  return told.factor ? String(Number((told.first * told.factor ** Number(text)).toPrecision(3))) : text;
}

function name(root, rows) {
  root.querySelectorAll('.ev-control').forEach(row => {
    const key = [...row.classList].find(c => c.startsWith('ev-key-')), told = key && rows[key];
    if (!told) return;
    const handle = row.querySelector('.noUi-handle'), box = row.querySelector('input[type=text]');
    const readout = row.querySelector('.widget-readout');
    set(handle, 'aria-label', told.name);
    if (readout) set(handle, 'aria-valuetext', `${value(readout.textContent.trim(), told)} ${told.unit}`.trim());
    set(handle, 'aria-description', told.help);
    set(box, 'aria-label', `${told.name}: any value, with its unit`);
    set(box, 'aria-invalid', String(!!row.querySelector('[role=alert]')));
  });
  root.querySelectorAll('.jupyter-button.widget-toggle-button, .widget-toggle-buttons button').forEach(button =>
    set(button, 'aria-pressed', String(button.classList.contains('mod-active'))));
  root.querySelectorAll('.widget-toggle-buttons .widget-inline-hbox, .widget-toggle-buttons').forEach(g => set(g, 'role', 'group'));
  root.querySelectorAll(VERDICTS).forEach(e => { set(e, 'role', 'status'); set(e, 'aria-live', 'polite'); });
}

function helpLine(root, rows) {                       // the reason of a range stands under the controls while one is used
  const line = root.querySelector('.ev-help');
  const row = document.activeElement && document.activeElement.closest('.ev-control') || root.querySelector('.ev-control:hover');
  if (!line || !row || !root.contains(row)) return;
  const told = rows[[...row.classList].find(c => c.startsWith('ev-key-'))];
  if (told && line.textContent !== told.help) line.textContent = told.help;
}

function render({ model, el }) {
  el.className += ' ev-sense';
  const speaker = document.createElement('div');
  speaker.className = 'ev-unseen';
  speaker.setAttribute('role', 'status');
  speaker.setAttribute('aria-live', 'polite');
  const spoken = () => { speaker.textContent = model.get('say'); };
  const tell = () => {
    const body = document.body, wide = Math.round(el.getBoundingClientRect().width), mark = body.dataset.jpThemeLight;
    model.set('dark', mark ? mark === 'false' : matchMedia('(prefers-color-scheme: dark)').matches);
    if (wide > 50) model.set('width', wide);
    model.set('dense', window.devicePixelRatio || 1);
    model.save_changes();
  };
  const watchers = [], listeners = new AbortController();
  let asked = false, alive = true;
  const start = () => {
    const root = el.closest('.ev');
    if (!root) { if (alive) requestAnimationFrame(start); return; }
    root.append(speaker);
    const look = () => { asked = false; name(root, model.get('rows')); helpLine(root, model.get('rows')); };
    const later = () => { if (!asked) { asked = true; requestAnimationFrame(look); } };
    const parts = new MutationObserver(later);
    parts.observe(root, { subtree: true, childList: true, characterData: true, attributes: true, attributeFilter: ['class', 'aria-valuetext'] });
    for (const kind of ['focusin', 'mouseover']) root.addEventListener(kind, later, { signal: listeners.signal });
    model.on('change:rows', later);
    watchers.push(parts);
    later();
  };
  const theme = new MutationObserver(tell), size = new ResizeObserver(tell);
  theme.observe(document.body, { attributes: true, attributeFilter: ['data-jp-theme-light'] });
  size.observe(el);
  watchers.push(theme, size);
  model.on('change:say', spoken);
  start(); tell();
  return () => { alive = false; listeners.abort(); watchers.forEach(w => w.disconnect()); speaker.remove(); };
}

export default { render };
