// What the kernel cannot know: theme, width and density of the page; and what ipywidgets leaves unsaid: the names, values
// and reasons of sliders for screen readers, pressed or not, which words are spoken when they change.
const VERDICTS = '.ev-verdict';

function set(element, name, value) {
  if (element && element.getAttribute(name) !== value) element.setAttribute(name, value);
}

// A slider knows its position only: the value in the box is said, or, until the kernel has set it, what stands there.
function value(position, told, box) {
  const boxed = parseFloat(box.value.replace('\u2212', '-')), stands = told.factor ? told.first * told.factor ** position : told.first + told.step * position;
  const off = told.factor ? Math.abs(Math.log(boxed / stands)) / Math.log(told.factor) : Math.abs(boxed - stands) / told.step;
  return String(off <= 0.5001 ? boxed : Number(stands.toPrecision(told.factor ? 3 : 6))).replace('-', '\u2212');
}

function name(root, rows) {
  root.querySelectorAll('.ev-control').forEach(row => {
    const key = [...row.classList].find(c => c.startsWith('ev-key-')), told = key && rows[key];
    if (!told) return;
    const handle = row.querySelector('.noUi-handle'), box = row.querySelector('input[type=text]');
    const readout = row.querySelector('.widget-readout');
    set(handle, 'aria-label', told.name);
    if (readout) set(handle, 'aria-valuetext', `${value(Number(readout.textContent), told, box)} ${told.unit}`.trim());
    set(handle, 'aria-description', told.help);
    set(box, 'aria-label', `${told.name}: any value, with its unit`);
    if (told.basis) for (const said of ['aria-label', 'title']) set(row.querySelector('.ev-basis-choice select'), said, told.basis);
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

// Enter in a prediction is a press of its Check.  JupyterLab answers box and button in two threads, in no sure order: so the
// press takes along what stands in the box, and the button itself hears nothing of it.
function press(event, root, model) {
  const question = event.target.closest('.ev-question'), box = question && question.querySelector('input[type=text]');
  const entered = event.type === 'keyup' && event.key === 'Enter' && event.target === box;
  if (!question || !(entered || event.type === 'click' && event.target.closest('.ev-check'))) return;
  event.stopPropagation();
  const options = [...question.querySelectorAll('.widget-toggle-buttons button')];
  model.send({ check: [...root.querySelectorAll('.ev-question')].indexOf(question), typed: box ? box.value : '',
               chosen: options.findIndex(b => b.classList.contains('mod-active')) });
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
    let last = null;                                   // a button that has just been switched off hands its focus on
    const keepFocus = () => {
      if (root.contains(document.activeElement)) last = document.activeElement;
      else if (document.activeElement === document.body && last && last.disabled && last.isConnected) {
        last = null;
        const next = root.querySelector('.ev-keys button:not(:disabled)');
        if (next) next.focus();
      }
    };
    const look = () => { asked = false; keepFocus(); name(root, model.get('rows')); helpLine(root, model.get('rows')); };
    const later = () => { if (!asked) { asked = true; requestAnimationFrame(look); } };
    const parts = new MutationObserver(later);
    parts.observe(root, { subtree: true, childList: true, characterData: true, attributes: true, attributeFilter: ['class', 'aria-valuetext', 'disabled'] });
    for (const kind of ['focusin', 'mouseover']) root.addEventListener(kind, later, { signal: listeners.signal });
    for (const kind of ['keyup', 'click']) root.addEventListener(kind, e => press(e, root, model), { capture: true, signal: listeners.signal });
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
