"""Open the pages in a real JupyterLab in a real Chromium, as a learner does, and look after them.

    python -m tests.browser.browser_check [notebook ...]              every page, light and dark: errors, sliders, names
    python -m tests.browser.browser_check --measure notebook ...      slider to picture, and page to first picture

A page is run, every slider is moved by keyboard; then no cell and no slider may have raised an error (an error in a
slider's callback shows in no cell: the kernel's messages are asked), every slider must have changed a picture and have
a spoken name, every picture a text for those who cannot see it.  Screenshots stay in tests/browser/shots/.
A page that fails is tried once more, which is said aloud: a browser may stumble, a fault stays.

The server is ours, on this computer alone, with throw-away settings and a learner's folder of its own, and
is ended by its process number.
"""

import argparse
import contextlib
import dataclasses
import json
import os
import pathlib
import secrets
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from typing import Any

from tests.browser import page_scripts as js

ROOT = pathlib.Path(__file__).resolve().parents[2]
WINDOW = {"width": 1280, "height": 900}
SHOTS = pathlib.Path(__file__).resolve().parent / "shots"
THEMES = {"light": "JupyterLab Light", "dark": "JupyterLab Dark"}
CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]
# The same pixels every time: all cells laid out, nothing saved by itself, no news, no look-up of newer versions.
SETTINGS = {
    "notebook-extension/tracker": {"windowingMode": "none"},
    "docmanager-extension/plugin": {"autosave": False},
    "apputils-extension/notification": {"fetchNews": "false", "checkForUpdates": False, "doNotDisturbMode": True},
}


def missing() -> str:
    """What this computer lacks for the check, in words, or nothing."""
    if CHROMIUM is None:
        return "Chromium is not on this computer (Debian: apt-get install chromium)"
    try:
        import playwright.sync_api  # noqa: F401  asked for only here: the other tests do without it
    except ImportError:
        return "playwright is not in this environment (the extra named browser)"
    return ""


# ------------------------------------------------------------------------------------------------ the server
@contextlib.contextmanager
def lab() -> Iterator[str]:
    """A JupyterLab of our own; gives its address."""
    folder = pathlib.Path(tempfile.mkdtemp(prefix="browser-check-"))
    token, port = secrets.token_hex(16), free_port()
    command = [sys.executable, "-m", "jupyterlab", "--no-browser", "--ip=127.0.0.1", f"--port={port}", "--allow-root",
               "--ServerApp.port_retries=0", f"--IdentityProvider.token={token}", f"--ServerApp.root_dir={ROOT}",
               "--expose-app-in-browser", "--LabApp.extension_manager=readonly"]
    with (folder / "server.log").open("w", encoding="utf-8") as log:
        process = subprocess.Popen(command, stdout=log, stderr=subprocess.STDOUT, env=environment(folder))
        try:
            wait_for(f"http://127.0.0.1:{port}/api?token={token}", process, folder / "server.log")
            yield f"http://127.0.0.1:{port}/lab/workspaces/{{workspace}}/tree/{{path}}?token={token}"
        finally:
            process.terminate()
            process.wait(20)
            shutil.rmtree(folder, ignore_errors=True)


def environment(folder: pathlib.Path) -> dict[str, str]:
    for name, values in SETTINGS.items():
        file = folder / "settings" / "@jupyterlab" / f"{name}.jupyterlab-settings"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(json.dumps(values), encoding="utf-8")
    places = {"JUPYTER_CONFIG_DIR": "config", "JUPYTER_RUNTIME_DIR": "runtime", "IPYTHONDIR": "ipython",
              "JUPYTERLAB_SETTINGS_DIR": "settings", "JUPYTERLAB_WORKSPACES_DIR": "workspaces", "EVLAB_MINE": "mine"}
    return dict(os.environ, **{key: str(folder / name) for key, name in places.items()})


def free_port() -> int:
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return int(door.getsockname()[1])


def wait_for(address: str, process: subprocess.Popen[bytes], log: pathlib.Path) -> None:
    for _ in range(600):
        with contextlib.suppress(OSError), urllib.request.urlopen(address, timeout=1):
            return
        if process.poll() is not None:
            break
        time.sleep(0.1)
    raise RuntimeError("JupyterLab did not start:\n" + log.read_text(encoding="utf-8")[-2000:])


# ------------------------------------------------------------------------------------------------ the browser
class Browser:
    """One Chromium and one JupyterLab for several pages."""

    def __init__(self, context: Any, address: str) -> None:
        self.context, self.address, self.theme = context, address, "light"

    def wear(self, theme: str) -> None:
        """Choose the theme on a page of its own, so that the next page opens in it as it would for a learner."""
        if theme == self.theme:
            return
        page = self.context.new_page()
        page.goto(self.blank(""), wait_until="domcontentloaded")
        page.wait_for_function("() => window.jupyterapp", timeout=60_000)
        page.evaluate(js.THEME, THEMES[theme])
        page.wait_for_timeout(1000)             # the setting is on its way to the server
        page.close()
        self.theme = theme

    def blank(self, path: str) -> str:
        """The address of a notebook in a workspace that remembers nothing."""
        return self.address.format(path=path, workspace=secrets.token_hex(6))

    def open(self, path: str, theme: str) -> Any:
        """A page whose kernel rests, not yet run; Playwright's page with the list `.complaints`."""
        self.wear(theme)
        page = self.context.new_page()
        page.complaints = []
        page.on("pageerror", lambda error: page.complaints.append(f"the browser: {error}"))
        page.goto(self.blank(path), wait_until="domcontentloaded")
        page.wait_for_function("() => window.jupyterapp", timeout=60_000)
        page.evaluate(js.OPEN)
        return page

    @contextlib.contextmanager
    def page(self, path: str, theme: str) -> Iterator[Any]:
        """A page, run to its end, in one of the themes."""
        page = self.open(path, theme)
        try:
            page.evaluate(js.RUN)
            page.wait_for_function(js.IDLE, timeout=120_000)
            page.wait_for_timeout(500)          # what a page computes once its sliders rest
            page.evaluate(js.ANSWERED)
            yield page
        finally:                                # a page that broke off must not go on beside the next one
            page.evaluate(js.END_KERNELS)
            page.close()

    def views(self, page: Any) -> Iterator[tuple[str, list[Any]]]:
        """Each picture of a workbench that has sliders of its own, chosen as a learner does: (its title, its sliders)."""
        met: list[set[str]] = []
        for button in page.locator(".jp-OutputArea-output .ev-choice button").all() or [None]:
            if button is not None:
                button.click()
                page.evaluate(js.ANSWERED)          # the controls of the new picture come and those of the old one go
            handles = self.sliders(page)
            names = {name_of(handle) for handle in handles}
            if names not in met:
                met.append(names)
                yield (button.inner_text() if button is not None else ""), handles

    def sliders(self, page: Any) -> list[Any]:
        handles = page.locator(".jp-OutputArea-output .noUi-handle:visible").all()
        if handles:
            page.wait_for_function(f"() => ({js.PICTURES})() !== ''", timeout=20_000)
        return list(handles)


@contextlib.contextmanager
def browser() -> Iterator[Browser]:
    from playwright.sync_api import sync_playwright

    with lab() as address, sync_playwright() as playwright, tempfile.TemporaryDirectory() as profile:
        context = playwright.chromium.launch_persistent_context(
            profile, executable_path=CHROMIUM, headless=True, args=FLAGS, viewport=WINDOW)
        yield Browser(context, address)
        context.close()


# ------------------------------------------------------------------------------------------------ the check
@dataclasses.dataclass
class Visit:
    """What was found on one page in one theme."""

    path: str
    theme: str
    faults: list[str] = dataclasses.field(default_factory=list)
    sliders: int = 0
    seconds: float = 0.0
    said: str = ""  # a repeat is said aloud

    def __str__(self) -> str:
        head = f"{self.path}, {self.theme}: {self.sliders} sliders, {self.seconds:.1f} s"
        return "\n    ".join([head, *self.faults]) if self.faults else head + ", no fault"


def visit(browser: Browser, path: str, theme: str) -> Visit:
    """Look after one page once."""
    found, began = Visit(path, theme), time.monotonic()
    with browser.page(path, theme) as page:
        found.faults += page.evaluate(js.CELL_FAULTS)
        for number, (view, handles) in enumerate(browser.views(page)):
            moved = handles if theme == "light" else handles[:1]  # what follows a slider does not depend on the theme
            found.sliders += len(moved)
            faults = [*page.evaluate(js.CUT), *(fault for handle in moved for fault in move(page, handle))]
            found.faults += [f"{view}: {fault}" if view else fault for fault in faults]
            if number:
                take_picture(page, path, theme, number)
        found.faults += page.evaluate(js.CALLBACK_FAULTS) + page.evaluate(js.SHOWN_ERRORS)
        found.faults += page.evaluate(js.UNNAMED) + page.complaints
        if page.locator(".ev-choice button").count():
            page.locator(".ev-choice button").first.click()
        take_picture(page, path, theme)
    found.seconds = time.monotonic() - began
    return found


def move(page: Any, handle: Any) -> list[str]:
    """Move a slider by keyboard, away from a stop that it stands at, and back; a fault when nothing follows: no picture changes and
    no words beside it say why not.  One step, three more where one is too fine to be seen.

    Back, since one control may rightly hide another: a charger that refuses the volts at the start makes its power idle.
    """
    handle.scroll_into_view_if_needed()
    handle.focus()
    name, value = name_of(handle), handle.evaluate(js.VALUE)
    page.evaluate(js.REMEMBER)
    there, back = ("ArrowLeft", "ArrowRight") if handle.evaluate(js.AT_TOP) else ("ArrowRight", "ArrowLeft")
    steps = press(page, there, 1)
    if not page.evaluate(js.FOLLOWED):
        steps += press(page, there, 3)
    followed = becomes_true(page, js.FOLLOWED)          # some pictures wait until the controls rest
    faults = [] if followed else [f"slider {name!r} changes no picture"]
    if handle.evaluate(js.VALUE) == value:
        faults.append(f"slider {name!r} does not move")
    press(page, back, steps)
    return faults


def press(page: Any, key: str, times: int) -> int:
    """Press a key and wait for what follows.  Returns how often."""
    for _ in range(times):
        page.keyboard.press(key)
    page.evaluate(js.ANSWERED)
    return times


def name_of(handle: Any) -> str:
    return handle.get_attribute("aria-label") or "without a name"


def becomes_true(page: Any, condition: str) -> bool:
    from playwright.sync_api import TimeoutError as TooLate

    try:
        page.wait_for_function(condition, timeout=5_000, polling=30)
    except TooLate:
        return False
    return True


def take_picture(page: Any, path: str, theme: str, view: int = 0) -> None:
    """The window at the first slider; of the first view, also the whole page in a window as high as it needs."""
    SHOTS.mkdir(exist_ok=True)
    name = f"{pathlib.PurePath(path).stem}_{theme}"
    page.evaluate(js.TO_FIRST_SLIDER)
    page.wait_for_timeout(300)
    page.screenshot(path=str(SHOTS / f"{name}{f'_{view}' if view else ''}.png"))
    if view:
        return
    page.set_viewport_size({"width": WINDOW["width"], "height": min(page.evaluate(js.WHOLE_HEIGHT), 8000)})
    page.evaluate(js.TO_TOP)
    page.wait_for_timeout(500)                  # a wider or higher pane lays the picture out anew
    page.screenshot(path=str(SHOTS / f"{name}_whole.png"))


def check(browser: Browser, path: str, theme: str) -> Visit:
    """Look after one page, a second time when the first finds a fault."""
    found = first = attempt(browser, path, theme)
    if first.faults:
        found = attempt(browser, path, theme)
        found.said = f"A fault; this page was tried once more.\n{first}\n"
    found.said += str(found)
    return found


def attempt(browser: Browser, path: str, theme: str) -> Visit:
    """A visit; one that Playwright breaks off (a page that does not open, a kernel that never rests) is a fault too."""
    from playwright.sync_api import Error

    try:
        return visit(browser, path, theme)
    except Error as error:
        return Visit(path, theme, [f"the page broke off: {error.message.splitlines()[0]}"])


# ------------------------------------------------------------------------------------------------ the measurement
def slider_to_picture(path: str, *, slider: str = "", presses: int = 30) -> dict[str, list[float]]:
    """Milliseconds from each key press to the new picture on the screen, by slider; `slider`: part of one's name."""
    times: dict[str, list[float]] = {}
    with browser() as chromium, chromium.page(path, "light") as page:
        faults = page.evaluate(js.CELL_FAULTS)
        for view, handles in chromium.views(page):
            for handle in handles:
                if slider.lower() in name_of(handle).lower():
                    spent = measure(page, handle, presses)
                    times |= {f"{view}, {name_of(handle)}": spent} if spent else {}
        if faults or not times:
            raise RuntimeError(f"{path}: nothing to measure: {faults or 'no slider of that name'}")
    return times


def first_picture(path: str) -> tuple[float, float]:
    """Seconds from the page's address to a kernel that rests, and from there (all cells run) to the first picture."""
    with browser() as chromium:
        began = time.monotonic()
        page = chromium.open(path, "light")
        opened = time.monotonic()
        page.evaluate(f"() => {{ ({js.RUN})(); }}")         # not waited for: the picture may come before the last cell
        page.wait_for_function(f"() => ({js.PICTURES})() !== ''", timeout=60_000, polling=10)
        return opened - began, time.monotonic() - opened


def measure(page: Any, handle: Any, presses: int) -> list[float]:
    """One key at a time, there and back; the clock runs in the page, from the key's event to the frame with the new picture.

    A slider whose first press is followed by none (a limit that does not bind) has no times.
    """
    from playwright.sync_api import TimeoutError as TooLate

    handle.scroll_into_view_if_needed()
    handle.focus()
    handle.evaluate(js.WATCH)
    there, back = ("ArrowLeft", "ArrowRight") if handle.evaluate(js.AT_TOP) else ("ArrowRight", "ArrowLeft")
    for press in range(presses + 2):            # the first two are for practice: they lay the picture's background down
        page.keyboard.press(back if press % 2 else there)
        try:
            page.wait_for_function("n => window.__shown.length > n", arg=press, timeout=10_000 if press else 2_000, polling=10)
        except TooLate:
            if press:
                raise
            page.keyboard.press(back)
            return []
        page.wait_for_timeout(60)
    return list(page.evaluate("window.__shown"))[2:]


def report(path: str, times: dict[str, list[float]]) -> None:
    for name, values in times.items():
        print(f"{path}: {statistics.median(values):6.1f} ms median of {len(values)}, longest {max(values):.0f}: {name}")
    every = [value for values in times.values() for value in values]
    print(f"{path}: slider to picture {statistics.median(every):.1f} ms, median of {len(every)}")


def project_pages() -> list[str]:
    pages = (ROOT / "notebooks").rglob("*.ipynb")
    return sorted(path.relative_to(ROOT).as_posix() for path in pages
                  if not {"mine", ".ipynb_checkpoints"} & set(path.parts))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("notebooks", nargs="*", help="paths from the project's folder; none: every page")
    parser.add_argument("--measure", action="store_true", help="measure slider to picture instead")
    parser.add_argument("--slider", default="", help="with --measure: part of the name of one slider")
    given = parser.parse_args()
    if lack := missing():
        sys.exit(lack)
    paths = given.notebooks or project_pages()
    if given.measure:
        for path in paths:
            report(path, slider_to_picture(path, slider=given.slider))
            print("{}: opened in {:.1f} s, first picture {:.1f} s later".format(path, *first_picture(path)))
        return 0
    with browser() as chromium:
        visits = []
        for theme in THEMES:
            for path in paths:
                visits.append(check(chromium, path, theme))
                print(visits[-1].said, flush=True)
    failed = sum(bool(visit.faults) for visit in visits)
    print(f"{len(visits) - failed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
