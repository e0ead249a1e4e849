"""What the browser check asks inside the page: JavaScript, run by Playwright in JupyterLab's own window."""

THEME = "async name => { await window.jupyterapp.restored; " \
        "await window.jupyterapp.commands.execute('apputils:change-theme', {theme: name}); }"

# The notebook's panel, once its kernel rests.  From then on each error that it reports is noted, callbacks' included, and which
# of the page's messages are not answered yet.
OPEN = """async () => {
  const app = window.jupyterapp; await app.restored;
  app.shell.collapseLeft();
  const wait = ms => new Promise(done => setTimeout(done, ms));
  for (let i = 0; i < 600; i++) {
    const panel = app.shell.currentWidget;
    if (panel && panel.content && panel.content.model && panel.sessionContext) {
      await panel.context.ready; await panel.sessionContext.ready; await panel.revealed;
      const session = panel.sessionContext.session;
      if (session && session.kernel && session.kernel.status === 'idle') {
        window.__errors = [];
        panel.sessionContext.iopubMessage.connect((_, message) => { if (message.header.msg_type === 'error')
          window.__errors.push([message.parent_header.msg_type, message.content.ename, message.content.evalue]); });
        window.__asked = new Set();
        session.kernel.anyMessage.connect((_, {direction, msg}) => {
          if (direction === 'send' && msg.channel === 'shell') window.__asked.add(msg.header.msg_id);
          if (msg.header.msg_type === 'status' && msg.content.execution_state === 'idle')
            window.__asked.delete(msg.parent_header.msg_id); });
        return; } }
    await wait(100); }
  throw new Error('the notebook did not open'); }"""

RUN = "async () => { await window.jupyterapp.commands.execute('notebook:run-all-cells'); }"
IDLE = "() => window.jupyterapp.shell.currentWidget.sessionContext.session.kernel.status === 'idle'"
# The kernel has answered all that this page sent it, and that stands on the screen.  Its status alone does not tell: JupyterLab
# hands the widgets' messages to a thread of their own, and a slider holds its last value back until the one before is answered.
ANSWERED = """async () => {
  const frame = () => new Promise(done => requestAnimationFrame(() => setTimeout(done, 0))), began = performance.now();
  for (let calm = 0; calm < 3; calm = window.__asked.size ? 0 : calm + 1) {
    if (performance.now() - began > 60000) throw new Error('the kernel left a message unanswered for a minute');
    await frame(); } }"""
END_KERNELS = "() => window.jupyterapp.serviceManager.sessions.shutdownAll()"

# Cells that raised (the tag raises-exception allows it) or did not run.
CELL_FAULTS = """() => {
  const faults = [];
  window.jupyterapp.shell.currentWidget.content.widgets.forEach((cell, number) => {
    if (cell.model.type !== 'code' || !cell.model.sharedModel.source.trim()) return;
    const saved = cell.model.toJSON(), tags = (saved.metadata || {}).tags || [];
    if (!saved.execution_count) faults.push(`cell ${number} did not run`);
    if (!tags.includes('raises-exception'))
      for (const output of saved.outputs) if (output.output_type === 'error')
        faults.push(`cell ${number}: ${output.ename}: ${output.evalue}`); });
  return faults; }"""
CALLBACK_FAULTS = """() => window.__errors.filter(e => e[0] !== 'execute_request')
  .map(e => `a callback: ${e[1]}: ${e[2]}`)"""
# A workbench catches an error and shows it beside the control, as an alert: no slider's own range may lead to one.
SHOWN_ERRORS = """() => [...document.querySelectorAll('.jp-OutputArea-output [role=alert]')]
  .filter(e => e.textContent.trim() && e.getBoundingClientRect().height)
  .map(e => `an error is shown: ${e.textContent.trim()}`)"""

# What a learner sees as pictures, as one string that changes with them; empty while there is none.
PICTURES = """() => [...document.querySelectorAll('.jp-OutputArea-output :is(img, canvas, svg)')]
  .filter(e => e.getBoundingClientRect().width > 150)
  .map(e => e.tagName === 'CANVAS' ? e.toDataURL() : e.tagName === 'IMG' ? e.src : e.outerHTML).join('|')"""

# aria-valuenow is rounded to one decimal by ipywidgets 8.1, so the number beside the slider is read.
VALUE = """handle => { const readout = handle.closest('.jupyter-widgets').querySelector('.widget-readout');
  return (readout ? readout.textContent : '') + handle.getAttribute('aria-valuetext') + handle.style.transform
    + (handle.parentElement.style.transform || ''); }"""
# The words of a refusal that stand beside this slider.
REFUSED = """() => { const row = document.activeElement && document.activeElement.closest('.ev-control');
  return Boolean(row && row.querySelector('[role=alert]')); }"""
# Pictures are long texts: they stay in the page.
REMEMBER = f"() => {{ window.__pictures = ({PICTURES})(); }}"
FOLLOWED = f"() => ({PICTURES})() !== window.__pictures || ({REFUSED})()"
AT_TOP = "h => Number(h.getAttribute('aria-valuenow')) >= Number(h.getAttribute('aria-valuemax'))"
AT_FOOT = "h => Number(h.getAttribute('aria-valuenow')) <= Number(h.getAttribute('aria-valuemin'))"

UNNAMED = """() => [
  ...[...document.querySelectorAll('.jp-OutputArea-output .noUi-handle')]
    .filter(e => e.getBoundingClientRect().width && !(e.getAttribute('aria-label') || '').trim())
    .map(e => 'a slider without a spoken name (aria-label)'),
  ...[...document.querySelectorAll(':is(.jp-OutputArea-output, .jp-RenderedMarkdown) img')]
    .filter(e => e.getBoundingClientRect().width > 20 && !(e.getAttribute('alt') || '').trim())
    .map(e => `a picture without alt text: ${e.src.slice(0, 60)}`)]"""

# A number's name that runs into the number, or a knob's that runs into its slider.
CUT = """() => [...document.querySelectorAll('.ev-numbers tbody th, .ev-control label, .ev-control .widget-label')]
  .filter(e => e.getBoundingClientRect().width > 20 && e.scrollWidth > e.clientWidth + 1)
  .map(e => `no room for the name ${e.textContent.trim()}`)"""

TO_FIRST_SLIDER = """() => { const handle = document.querySelector('.jp-OutputArea-output .noUi-handle');
  const top = handle && handle.closest('.jp-OutputArea-output'); if (top) top.scrollIntoView({block: 'start'}); }"""

# The window's height at which the page needs no scrolling: what surrounds the notebook, and its cells.
WHOLE_HEIGHT = """() => { const cells = [...document.querySelectorAll('.jp-Notebook .jp-Cell')];
  const view = document.querySelector('.jp-NotebookPanel-notebook').clientHeight;
  const high = cells.at(-1).getBoundingClientRect().bottom - cells[0].getBoundingClientRect().top;
  return Math.ceil(window.innerHeight - view + high + 60); }"""
TO_TOP = "() => document.querySelector('.jp-Notebook .jp-Cell').scrollIntoView({block: 'start'})"

# From a key on this handle to the first frame with another picture: its image is decoded, and that frame is painted.
WATCH = """handle => {
  const pictures = PICTURES_FUNCTION;
  window.__shown = [];
  let began = null, before = '';
  handle.addEventListener('keydown', () => { before = pictures(); began = performance.now(); }, {capture: true});
  const painted = () => new Promise(done => requestAnimationFrame(() => setTimeout(done, 0)));
  if (window.__watch) window.__watch.disconnect();
  window.__watch = new MutationObserver(async () => {
    if (began === null || pictures() === before) return;
    const start = began; began = null;
    await Promise.all([...document.querySelectorAll('.jp-OutputArea-output img')].map(e => e.decode().catch(() => 0)));
    await painted();
    window.__shown.push(performance.now() - start); });
  window.__watch.observe(document.body, {subtree: true, childList: true, attributes: true, attributeFilter: ['src']}); }
""".replace("PICTURES_FUNCTION", PICTURES)
