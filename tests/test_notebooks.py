"""Every page runs, each of its sliders draws over the whole range, and its file is clean.

Twice: in this process, where the widgets can be moved (0.3 s a page), and in a fresh kernel (slow: 2 s a page).
"""

import json
import re

import ipywidgets
import pytest
from random_vehicles import random_vehicle
from run_notebooks import PAGES, pages, pictures, run_fresh, run_here, sliders, widgets

from evlab import data, keep_route
from evlab.workbench import Workbench

each_page = pytest.mark.parametrize("path", pages(), ids=[path.stem for path in pages()])


def test_the_contents_page_is_there_and_leads_to_every_page():
    contents = json.loads((PAGES / "index.ipynb").read_text(encoding="utf-8"))
    text = "".join("".join(cell["source"]) for cell in contents["cells"])
    links = set(re.findall(r"\]\(([^)#]+\.ipynb)\)", text))
    others = {path.relative_to(PAGES).as_posix() for path in pages()} - {"index.ipynb"}
    assert others, "no page beside the contents page"
    assert links == others


@each_page
def test_the_file_is_clean(path):
    page = json.loads(path.read_text(encoding="utf-8"))
    assert page["metadata"]["kernelspec"]["name"] == "python3"
    assert "language_info" not in page["metadata"], "the author's Python version: strip it"
    assert "widgets" not in page["metadata"], "saved widget state: strip it"
    for cell in page["cells"]:
        assert "id" in cell
        if cell["cell_type"] == "code":
            assert cell["outputs"] == [], "outputs left in: strip them"
            assert cell["execution_count"] is None


@each_page
def test_every_slider_draws_over_its_range(path):
    names = run_here(path)
    for view in views(names):
        shown = pictures(names)
        assert shown or not sliders(names), f"{path.name}: sliders, but no picture"
        for slider in sliders(names):
            move_over_its_range(names, slider, shown, f"{view}, {slider.description}")
    for picture in pictures(names):
        assert re.search(r'<img[^>]* alt="[^"]+"', picture.value), f"{path.name}: a picture without alt text"
    for widget in widgets(names).values():
        widget.close()


@pytest.mark.slow
@each_page
def test_every_cell_runs_with_any_vehicle_that_loads(path, tmp_path, monkeypatch):
    """Drawn over the whole ranges of the vehicle file; some are refused: in words."""
    monkeypatch.setenv("EVLAB_MINE", str(tmp_path))
    for seed in (13, 103):
        (tmp_path / "vehicle.toml").write_text(random_vehicle(seed).text, encoding="utf-8")
        names = run_here(path)
        bench = names.get("bench")
        assert bench is None or bench.pictures, seed
        for widget in widgets(names).values():
            widget.close()


@each_page
def test_the_page_runs_with_a_lithium_vehicle_of_ones_own(path, tmp_path, monkeypatch):
    monkeypatch.setenv("EVLAB_MINE", str(tmp_path))
    (tmp_path / "vehicle.toml").write_text(data.read_text("vehicles/kick_scooter.toml"), encoding="utf-8")
    names = run_here(path)
    assert alerts(names) == []
    for widget in widgets(names).values():
        widget.close()


@each_page
def test_the_page_runs_on_a_track_of_ones_own(path, tmp_path, monkeypatch):
    monkeypatch.setenv("EVLAB_MINE", str(tmp_path))
    track = data.path("routes/mill_lane.gpx").read_bytes()
    keep_route(track, "my_lane.gpx", speed="4 m/s", smoothing="30 m")
    names = run_here(path)
    assert alerts(names) == []
    benches = [value for name, value in names.items() if isinstance(value, Workbench) and not name.startswith("_")]
    assert all(bench.result.route.smoothing == 30.0 for bench in benches if bench.above.children)
    for widget in widgets(names).values():
        widget.close()


def views(names):
    """The pictures of the page's workbenches that have controls of their own, one chosen after the other."""
    yield "first picture"
    for bench in [value for name, value in names.items() if isinstance(value, Workbench) and not name.startswith("_")]:
        for index, picture in enumerate(bench.page.pictures):
            if index and picture.knobs != bench.page.pictures[0].knobs:
                bench.choice.index = index
                yield picture.title


def move_over_its_range(names, slider, shown, what):
    start = drawn = slider.value
    for value in ends(slider) + [start]:
        before = [picture.value for picture in shown]
        slider.value = value                                # an error in a callback is raised here
        said = " ".join(alerts(names))
        assert "fault of the page" not in said, f"{what} at {value}: {said}"
        if said:                                            # a refusal in words leaves the picture as it was
            continue
        assert value == drawn or [picture.value for picture in shown] != before, f"{what} changes no picture"
        drawn = value


def alerts(names):
    """What a workbench shows beside its controls instead of raising: refusals, and faults of its own."""
    texts = [str(widget.value) for widget in widgets(names).values() if isinstance(widget, ipywidgets.HTML)]
    return [text for text in texts if 'role="alert"' in text]


def ends(slider):
    """A log slider's ends are exponents."""
    base = getattr(slider, "base", None)
    return [slider.min, slider.max] if base is None else [base**slider.min, base**slider.max]


@pytest.mark.slow
@each_page
def test_the_page_runs_in_a_fresh_kernel(path):
    run_fresh(path)
