"""The runner of single changes: what it changes, whom a change reaches, and that its lists name what is there."""

import ast
import tomllib
from pathlib import Path

import pytest

from tests.mutation.changes import KINDS, changes_of
from tests.mutation.runner import ROOT, covering, importers, reaches_kernels

SOURCE = '''
def told(case, readings, found=None):
    """A docstring is no place to change."""
    rows = (Readout("A", "mm", lambda c: c.first, 1e3), Readout("B", "mm", lambda c: c.second, 1e3))
    if case.start_volts < 3.5 and not found:
        return -case.end_volts + 2 * readings["one"][0]
    readings.append(rows)
    return max(shown(case.start_volts, "mm"), readings["two"][-1]), f"{'N' if case.pole > 0 else 'S'}"
'''


def test_every_kind_changes_one_place_and_the_rest_stays():
    found = changes_of("evlab/told.py", SOURCE)
    assert {c.kind for c in found} == set(KINDS)
    sound = ast.unparse(ast.parse(SOURCE))
    assert len({c.source for c in found} | {sound}) == len(found) + 1
    for c in found:
        changed = [a for a, b in zip(sound.splitlines(), c.source.splitlines(), strict=True) if a != b]
        assert len(changed) == 1, c.words
    words = {c.words for c in found}
    assert "case.start_volts < 3.5  ->  case.start_volts <= 3.5" in words
    assert "readings  ->  A and B" in words
    assert "'N' if case.pole > 0 else 'S'  ->  'N' if not case.pole > 0 else 'S'" in words
    assert "case.start_volts  ->  case.end_volts" in words


def test_of_a_picture_its_looks_are_left_out():
    source = "def draw(axes, desk, x):\n    axes.plot(2 * x, x, lw=1.5)\n    desk.text(8, desk.high - 20, 'Head', size=9)\n"
    words = [c.words for c in changes_of("evlab/plots/drawn.py", source, picture=True)]
    assert "2 * x  ->  2 / x" in words
    assert not [w for w in words if w.startswith(("20", "8", "9", "1.5", "desk.high"))]


def test_whom_a_change_reaches():
    found = importers("evlab.ratios")
    assert {"evlab.ratios", "evlab.workbench.gearing_page"} <= found
    assert not {"evlab", "evlab.gearing", "evlab.riding"} & found
    assert reaches_kernels("evlab/motor.py")
    assert not reaches_kernels("evlab/ratios.py")
    assert covering("evlab/ratios.py")[0] == "tests/test_ratios.py"


@pytest.mark.parametrize("name", ["cover.toml", "equivalent.toml"])
def test_its_lists_name_what_is_there_and_give_reasons(name):
    table = tomllib.loads((Path(ROOT) / "tests/mutation" / name).read_text(encoding="utf-8"))
    for key, rows in table.items():
        paths = [*rows["modules"], *rows["tests"]] if name == "cover.toml" else [key]
        assert [p for p in paths if not (ROOT / p).exists()] == []
        if name == "equivalent.toml":
            assert all(len(row["why"]) > 9 for row in rows)
