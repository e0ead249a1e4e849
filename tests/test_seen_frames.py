"""All pictures of the pages of gearing, magnets, winding and regeneration: axes that hold what is drawn and are filled by it, and a
pinned case drawn behind, where that case itself would be drawn.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import test_seen_gearing as gears
import test_seen_magnets as magnets
import test_seen_regeneration as regen
import test_seen_winding as winding
from matplotlib.colors import same_color
from what_is_seen import Drawn

MADE = {
    "gearing": (gears.PAGE, lambda name: gears.PAGE.model(gears.SEEN[name][1], {
        "slope": gears.SEEN[name][0].slope, "speed": gears.SEEN[name][0].speed, "volts": gears.SEEN[name][0].volts})),
    "magnets": (magnets.PAGE, lambda name: magnets.PAGE.model(*{
        "demo": (magnets.TRIKE, magnets.DAY), "changed": (magnets.CHANGED, magnets.OTHER_DAY)}[name])),
    "winding": (winding.PAGES["demo"], lambda name: winding.PAGES[name].model(
        {"demo": winding.TRIKE, "changed": winding.CHANGED}[name], winding.DAYS[name])),
    "regeneration": (regen.PAGE, lambda name: regen.model(*regen.SEEN[name])),
}
TITLED = [(page, picture.title) for page, (made, _) in MADE.items() for picture in made.pictures]
each = pytest.mark.parametrize(("page", "title"), TITLED)
# Pictures that fill their own place, or show no pinned case.
TO_SCALE = {"Chain and wheel", "Star of coils", "Window", "Will it start?", "Count the turns", "Hill test"}
# The pinned curves run on where the case's own are cut, or are kept as moving artists.
ELSEWHERE = {"Force at falling volts", "Time against energy", "Field and coils", "Heat and counter-field", "Steel behind",
             "How hot?", "Full store"}
UNPINNED = {"Star of coils", "Window", "Will it start?", "Count the turns", "On the bench"}


@pytest.fixture(scope="module")
def cases():
    return {page: {name: make(name) for name in ("demo", "changed")} for page, (_, make) in MADE.items()}


def drawn(page, title, case, wide_for, pinned=None):
    picture = next(p for p in MADE[page][0].pictures if p.title == title)
    return Drawn(picture.build(ranges_for(page, *wide_for)), case, pinned=pinned)


@cache
def ranges_for(page, *wide_for):
    made = MADE[page][0]
    ranges = made.frame(wide_for[0].vehicle)
    for one in wide_for:
        ranges = made.widen(ranges, one)
    return ranges


@each
def test_the_axes_hold_what_is_drawn_and_are_filled_by_it(cases, page, title):
    if title in TO_SCALE or title == "On the bench":
        return
    seen = drawn(page, title, cases[page]["demo"], [cases[page]["demo"]])
    filled = 0
    for at, axes in enumerate(seen.axes):
        curves = [(x[np.isfinite(x)], y[np.isfinite(y)]) for x, y in seen.lines(at) if len(x) > 1]
        curves = [(x, y) for x, y in curves if len(x) and len(y)]
        if not curves or not axes.get_xticks().size:
            continue
        for (low, high), values in zip((axes.get_xlim(), axes.get_ylim()), zip(*curves, strict=True), strict=True):
            together = np.concatenate(values)
            inside = together[(together >= low) & (together <= high)]
            assert low < high
            assert np.ptp(inside) > 0.2 * (high - low), (at, low, high)
            filled += 1
        (left, _), (low, _) = axes.get_xlim(), axes.get_ylim()
        if title not in ("Steel near by", "Metal near by"):  # logarithmic
            assert left <= 0 or title == "Time against energy"
            assert low <= 0 or title in ("Time against energy", "Full store", "Field and coils")
    assert filled


@each
def test_a_pinned_case_stands_behind_where_it_would_be_drawn(cases, page, title):
    both = [cases[page]["demo"], cases[page]["changed"]]
    alone = drawn(page, title, both[0], both)
    assert "pinned" not in alone.all_words()
    if title in UNPINNED:
        return
    seen = drawn(page, title, both[0], both, pinned=both[1])
    assert "pinned" in seen.all_words()
    if title in TO_SCALE:
        return
    grey = [sum(same_color(line.get_color(), one.look.ink2) for axes in one.axes for line in axes.lines if len(line.get_xdata()))
            for one in (alone, seen)]
    assert grey[1] > grey[0], "a pinned case is drawn"
    if title in ELSEWHERE:
        return
    itself, found = drawn(page, title, both[1], both), 0
    for at, axes in enumerate(seen.axes):
        before = [_points(line) for line in alone.axes[at].lines]
        for line in axes.lines:
            x, y = np.asarray(line.get_xdata(), float), np.asarray(line.get_ydata(), float)
            if not same_color(line.get_color(), seen.look.ink2) or len(x) < 2 or _points(line) in before:
                continue
            own = [np.interp(x[:-1], a, b) for a, b in itself.lines(at) if len(a) > 1 and np.all(np.diff(a) >= 0)]
            assert any(np.median(np.abs(one - y[:-1])) < 0.01 * np.ptp(axes.get_ylim()) for one in own), title
            found += 1
    assert found


def _points(line):
    return [tuple(np.round(np.asarray(values, float), 9)) for values in (line.get_xdata(), line.get_ydata())]
