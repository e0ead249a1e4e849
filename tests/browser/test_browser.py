"""Every page in a real JupyterLab in Chromium, light and dark: browser_check.py as tests (with --browser)."""

import nbformat
import pytest

from evlab import data
from tests.browser import browser_check

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def chromium():
    if lack := browser_check.missing():
        pytest.skip(lack)
    with browser_check.browser() as opened:
        yield opened


@pytest.mark.parametrize("theme", browser_check.THEMES)
@pytest.mark.parametrize("path", browser_check.project_pages())
def test_a_page_runs_answers_its_sliders_and_speaks(chromium, path, theme, record_property):
    found = browser_check.check(chromium, path, theme)
    record_property("said", found.said)         # conftest says it aloud at the end, a repeat too
    assert found.faults == []


ROW = "document.querySelector('.ev-route')"


def test_a_track_is_added_on_the_page_and_a_spoilt_one_is_refused(chromium, tmp_path):
    """As a learner does: the button, the computer's own window for files, the words under the row."""
    (tmp_path / "spoilt.gpx").write_bytes(b"no track")
    (tmp_path / "lane.gpx").write_bytes(data.path("routes/mill_lane.gpx").read_bytes())
    with chromium.page("notebooks/00_start.ipynb", "light") as page:
        for name, words in (("spoilt.gpx", "must be a GPX file"), ("lane.gpx", "things to know about this file")):
            with page.expect_file_chooser() as chooser:
                page.locator(".ev-route .widget-upload").first.click()
            chooser.value.set_files(tmp_path / name)
            page.wait_for_function(f"words => {ROW}.innerText.includes(words)", arg=words, timeout=20_000)
        page.wait_for_function(f"() => {ROW}.querySelector('select').value === 'lane.gpx (not kept)'", timeout=20_000)
        assert page.locator(".ev-route [role=alert]").count() == 0
        assert page.complaints == []


FAULTY = """
import ipywidgets

picture = ipywidgets.HTML("<img width=300 height=200 src='data:image/gif;base64,R0lGODlhAQABAAAAACwAAAAAAQABAAA='>")
dead, broken = ipywidgets.FloatSlider(description="dead"), ipywidgets.FloatSlider(description="broken")
broken.observe(lambda change: 1 / 0, "value")
alert = ipywidgets.HTML("<p role='alert'>Cargo of the trike must be positive.</p>")
cut = ipywidgets.HTML("<div class='ev-numbers'><table style='width:9em;table-layout:fixed'><tbody><tr>"
                      "<th style='white-space:nowrap'>A name too long for it</th><td>1</td></tr></tbody></table></div>")
ipywidgets.VBox([picture, dead, broken, alert, cut])
"""


def test_the_check_sees_what_it_is_there_for(chromium):
    """A page with one fault of each kind: were one of them passed over, the check above would mean nothing."""
    page = nbformat.v4.new_notebook(metadata={"kernelspec": {"name": "python3", "display_name": "Python 3"}})
    page.cells = [nbformat.v4.new_code_cell(FAULTY), nbformat.v4.new_code_cell("an_unknown_name")]
    browser_check.SHOTS.mkdir(exist_ok=True)
    nbformat.write(page, browser_check.SHOTS / "faulty.ipynb")
    path = (browser_check.SHOTS / "faulty.ipynb").relative_to(browser_check.ROOT).as_posix()
    faults = " / ".join(browser_check.visit(chromium, path, "light").faults)
    for part in ("cell 1: NameError", "a callback: ZeroDivisionError", "changes no picture", "without a spoken name",
                 "a picture without alt text", "an error is shown: Cargo of the trike", "no room for the name A name too long"):
        assert part in faults


def test_enter_checks_a_prediction(chromium):
    """Typed and sent with Enter, the verdict is of what was typed; another number typed makes it stale, Enter judges again."""
    with chromium.page("notebooks/01_store.ipynb", "light") as page:
        question = page.locator(".ev-question").first
        verdict, box = question.locator(".ev-verdict"), question.locator("input[type=text]")
        for typed, words in (("50 %", "left of the charge"), ("25 %", "The model says 25.0"), ("75", "taken out")):
            box.fill(typed)
            box.press("Enter")
            verdict.get_by_text(words).wait_for(timeout=20_000)
        box.fill("25")
        box.press("Tab")
        verdict.get_by_text("has changed").wait_for(timeout=20_000)
        assert page.complaints == []
