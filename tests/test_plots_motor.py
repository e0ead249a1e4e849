"""The pictures of magnets and winding: words not cut and not on each other, quick painting, alt texts, axes that stand still."""

from __future__ import annotations

import pytest
from test_magnet_case import RIG
from test_plots import assert_quick_is_full, assert_words_stay_apart

import evlab
from evlab import MagnetCase, Sensed, WindingCase
from evlab.look import draw
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
        assert_words_stay_apart(built(page, name, case), case, kind)


@pytest.mark.parametrize(("page", "name"), NAMED)
def test_quick_painting_is_the_full_drawing_and_axes_stand_still(cases, page, name):
    first, *others = [case for kind, case in cases[page].items() if kind != "rig"]
    assert_quick_is_full(built(page, name, first), first, others, to_scale=name == "Window")


@pytest.mark.parametrize(("page", "name"), NAMED)
def test_alt_text_holds_the_reading_in_eighty_words_and_no_sign_is_strange(cases, page, name):
    for case in cases[page].values():
        figure, alt, reading = draw(built(page, name, case), case)
        assert reading in alt
        assert len(alt.split()) <= 80, alt
        assert not {"nan", "inf", "None", "infinite"} & set(reading.replace(";", " ").replace(",", " ").split()), reading
        assert "not a number" not in reading
        assert min(t.get_fontsize() for owner in (figure, *figure.axes) for t in owner.texts) >= 9
