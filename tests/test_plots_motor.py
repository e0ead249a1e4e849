"""The pictures of magnets and winding: words not cut and not on each other, quick painting, alt texts, axes that stand still."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from test_magnet_case import RIG
from test_plots import SHEETS, faults

import evlab
from evlab import MagnetCase, Sensed, WindingCase
from evlab.look import Plate, draw, drawing
from evlab.plots import MagnetRanges, WindingRanges
from evlab.workbench import magnets_page, winding_page

TRIKE = evlab.load_vehicle("two_shed_trike")
WIDE = TRIKE.change(magnets={"poles": 20, "ring_radius": "130 mm"},
                    winding={"coils": 15, "opening_outer": "28 mm", "side": "12 mm", "turns": 20})
PICTURES = {"magnets": (MagnetRanges, {p.title: p.build for p in magnets_page.PICTURES}),
            "winding": (WindingRanges, {p.title: p.build for p in winding_page.PICTURES})}
NAMED = [(page, name) for page, (_, made) in PICTURES.items() for name in made]


@pytest.fixture(scope="module")
def cases():
    """By page; of what is far from the demonstration motor, too."""
    weak = {"free_volts": 24.0, "free_rpm": 2650.0, "free_amps": 1.6, "held_volts": 24.0, "held_amps": 108.0, "held_torque": 0.0}
    return {
        "magnets": {"demo": MagnetCase(TRIKE), "rig": MagnetCase(RIG), "20 poles": MagnetCase(WIDE),
                    "spoilt, hot": MagnetCase(TRIKE, fault="one missing", temperature=400.0, coil_at=2.0)},
        "winding": {"demo": WindingCase(TRIKE), "rig": WindingCase(RIG, Sensed(amps=1.5)), "20 poles": WindingCase(WIDE),
                    "delta, late, hot": WindingCase(TRIKE.change(winding={"connection": "delta", "turns": 12}),
                                                    Sensed(amps=90.0, error=0.4, winding=420.0, bench=weak))}}


def built(page, name, case):
    ranges, made = PICTURES[page]
    return made[name](ranges.around(case.vehicle).widened(case))


@pytest.mark.parametrize(("page", "name"), NAMED)
def test_no_words_touch_or_are_cut(cases, page, name):
    for kind, case in cases[page].items():
        build = built(page, name, case)
        for wide, high, dpi in SHEETS[:5]:  # 6 inches is the narrowest pane a page lays
            figure, _, _ = draw(build, case, False, (max(wide, 6.0), high), dpi, None)
            with drawing():
                FigureCanvasAgg(figure)
                figure.draw_without_rendering()
                assert faults(figure, 0.03 * dpi) == ([], []), (kind, wide, dpi)


def places(figure):
    """Where axes stand and what they cover; those without ticks may go to scale."""
    return [(tuple(a.get_position().bounds), *((a.get_xlim(), a.get_ylim()) if len(a.get_xticks()) else ())) for a in figure.axes]


@pytest.mark.parametrize(("page", "name"), NAMED)
def test_quick_painting_is_the_full_drawing_and_axes_stand_still(cases, page, name):
    first, *others = [case for kind, case in cases[page].items() if kind != "rig"]
    build = built(page, name, first)
    plate = Plate(build, True, (7.31, 5.6), 100)
    plate.show(first)
    before = places(plate.figure)
    for case in [*others, first]:
        plate.show(case, others[0])
        assert places(plate.figure) == before
    assert plate.full_draws == 1
    figure, _, _ = draw(build, first, True, (7.31, 5.6), 100, others[0])
    with drawing():
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
    quick, full = (np.asarray(c.buffer_rgba()).astype(int) for c in (plate.canvas, canvas))
    assert np.abs(quick - full).max() <= 2


@pytest.mark.parametrize(("page", "name"), NAMED)
def test_alt_text_holds_the_reading_in_eighty_words_and_no_sign_is_strange(cases, page, name):
    for case in cases[page].values():
        figure, alt, reading = draw(built(page, name, case), case)
        assert reading in alt
        assert len(alt.split()) <= 80, alt
        assert not {"nan", "inf", "None", "infinite"} & set(reading.replace(";", " ").replace(",", " ").split()), reading
        assert "not a number" not in reading
        assert min(t.get_fontsize() for owner in (figure, *figure.axes) for t in owner.texts) >= 9
