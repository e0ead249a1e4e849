"""The visual language keeps its floors: contrast, distances between colours for every eye, numbers and widths.

Contrast: WCAG 2.1, success criteria 1.4.3 (words 4.5) and 1.4.11 (lines 3), relative luminance as defined there.
Colour distance: CAM02-UCS (Luo, Cui, Li 2006) after the colour-vision model of Machado, Oliveira and Fernandes (2009)
at full severity, both computed by colorspacious; the floor of 12 is ours (common practice, no source).
"""

import itertools
import math

import numpy as np
import pytest
from colorspacious import cspace_convert
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from evlab.glossary import GLOSSARY
from evlab.look import (
    BOOK,
    FROM_SI,
    MINUS,
    THIN,
    Look,
    drawing,
    fixed,
    from_si,
    number,
    setting,
    shown,
    spread,
    style,
    width,
)

LINE, WORDS, DISTANCE = 3.0, 4.5, 12.0
THEMES = ("light", "dark")
SIGHTS = (None, "protanomaly", "deuteranomaly", "tritanomaly")


def rgb(colour):
    return np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])


def luminance(colour):
    c = rgb(colour)
    return float(np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4) @ [0.2126, 0.7152, 0.0722])


def contrast(one, two):
    low, high = sorted((luminance(one), luminance(two)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_knows_the_ends_of_its_scale():
    """WCAG 2.1: 21 between black and white, 1 between equals; #767676 is the lightest grey that passes 4.5 on white."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#0b5694", "#0b5694") == 1
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("theme", THEMES)
def test_colours_stand_out_from_paper_and_band(theme):
    t = BOOK["theme"][theme]
    for ground, name in itertools.product(("paper", "band"), ("ink", "ink2")):
        assert contrast(t[name], t[ground]) >= WORDS, (name, ground)
    for name, place in BOOK["place"].items():
        assert contrast(place[theme]["line"], t["paper"]) >= LINE, name
        assert contrast(place[theme]["line"], t["band"]) >= LINE, name
        assert contrast(place[theme]["text"], t["paper"]) >= WORDS, name
    for name, state in BOOK["state"].items():
        assert contrast(state[theme]["text"], state[theme]["back"]) >= WORDS, name
        assert contrast(t["ink"], state[theme]["back"]) >= WORDS, name


@pytest.mark.parametrize("sight", SIGHTS)
@pytest.mark.parametrize("theme", THEMES)
def test_places_differ_for_every_eye(theme, sight):
    lines = np.array([rgb(place[theme]["line"]) for place in BOOK["place"].values()])
    if sight:
        space = {"name": "sRGB1+CVD", "cvd_type": sight, "severity": 100}
        lines = np.clip(cspace_convert(lines, space, "sRGB1"), 0, 1)
    seen = cspace_convert(lines, "sRGB1", "CAM02-UCS")
    for (i, one), (j, two) in itertools.combinations(enumerate(BOOK["place"]), 2):
        assert np.linalg.norm(seen[i] - seen[j]) >= DISTANCE, (one, two)


def test_nothing_by_colour_alone():
    """Two quantities of one place differ in dash (in their own axes, if they have any), two losses of one place in hatch."""
    dashes = [(q.get("axes"), q["place"], tuple(q["dash"])) for q in BOOK["quantity"].values()]
    assert len(set(dashes)) == len(dashes)
    lost = [(e["place"], e["hatch"]) for e in BOOK["ledger"].values() if e["kind"] == "lost"]
    assert len(set(lost)) == len(lost)
    assert all({"word", "shape"} <= set(state) for state in BOOK["state"].values())
    assert all(held["words"] for held in BOOK["held"].values())


@pytest.mark.parametrize("theme", THEMES)
def test_style_sheets_use_the_colours_of_the_book(theme):
    """A style sheet cannot read the book, so the two are compared."""
    t, rc = BOOK["theme"][theme], style(theme == "dark")
    found = {key: rc[key] for key in ("figure.facecolor", "axes.facecolor", "text.color", "grid.color", "xtick.color")}
    expected = dict(zip(found, (t["paper"], t["paper"], t["ink"], t["rule"], t["ink2"]), strict=True))
    assert {key: "#" + value.lstrip("#") for key, value in found.items()} == expected


def test_look_gives_colours_by_quantity_term_place_and_holder():
    look = Look(dark=True)
    assert look.line("store_volts") == look.line("esr") == look.line("store") == BOOK["place"]["store"]["dark"]["line"]
    assert look.line("duty limit") == look.line("controller")
    assert look.tint("store", 0.0) == pytest.approx(rgb(look.paper))
    assert look.fill("lift")["hatch"] is None
    assert look.fill("air")["hatch"] == "////"
    with pytest.raises(KeyError):
        look.line("store_vots")


def test_shown_units_are_those_of_the_glossary():
    """Labels, units and conversions of the columns drawn agree with the glossary's entries, converted by pint."""
    from evlab.units import registry

    columns = (
        "speed",
        "set_speed",
        "slope",
        "height",
        "store_volts",
        "store_amps",
        "motor_amps",
        "duty",
        "coil_temperature",
    )
    for name in columns:
        entry, quantity = GLOSSARY[name], BOOK["quantity"][name]
        assert entry.label == quantity["label"]
        unit = {"°C": "degC", "%": "percent"}.get(quantity["unit"], quantity["unit"])
        for value in (0.07, 291.5):
            assert from_si(name, value) == pytest.approx(registry().Quantity(value, entry.unit).to(unit).magnitude)
    plain = {"", "m", "m/s", "N", "V", "A", "W", "N·m", "Ω", "Wh", "T"}
    assert set(FROM_SI) >= {q["unit"] for q in BOOK["quantity"].values()} - plain


# ---------------------------------------------------------------- numbers
NUMBERS = (
    (9.996, "10.0"), (9.994, "9.99"), (28440.0, f"28{THIN}400"), (9999.6, f"10{THIN}000"), (1234.0, "1230"),
    (-0.5, f"{MINUS}0.500"), (0.0155, "0.0155"), (0.0, "0"), (-0.0, "0"), (100.0, "100"), (999.6, "1000"),
    (0.00012345, "0.000123"), (6.5e6, f"6{THIN}500{THIN}000"), (1.2345e-6, f"1.23{THIN}×{THIN}10⁻⁶"),
    (9.996e8, f"1.00{THIN}×{THIN}10⁹"), (float("nan"), "not a number"), (-math.inf, f"{MINUS}infinite"),
)  # fmt: skip


@pytest.mark.parametrize(("value", "words"), NUMBERS)
def test_numbers_have_three_significant_figures(value, words):
    assert number(value) == words


def test_shares_have_two_figures_and_settings_none_to_spare():
    assert [number(v, 2) for v in (38.9, 5.44, 0.969, 99.7)] == ["39", "5.4", "0.97", "100"]
    assert [setting(v, "A") for v in (45.0, 22.6, 100.0)] == [f"45{THIN}A", f"22.6{THIN}A", f"100{THIN}A"]
    assert setting(97.00000000000001) == "97"
    assert setting(119.99999999999997) == "120"
    assert fixed(-0.0001, 3) == "0.000"
    assert fixed(-1.5, 1) == f"{MINUS}1.5"


@pytest.mark.parametrize(
    ("value", "spread_", "words"),
    [(21.72, 1.31, "21.7 ± 1.3"), (23.44, 0.61, "23.4 ± 0.6"), (682.3, 6.2, "682 ± 6"), (13.456, 0.13, "13.46 ± 0.13"),
     (234.0, 96.0, "230 ± 100"), (2340.0, 210.0, "2300 ± 200"), (5.0, 0.0, "5.00"), (-2.0, 0.3, f"{MINUS}2.0 ± 0.3"),
     (28440.0, 190.0, f"28{THIN}440 ± 190")],
)  # fmt: skip
def test_a_spread_sets_the_last_place(value, spread_, words):
    assert shown(value, "V", spread_) == f"{words}{THIN}V"


def test_labels_never_touch_and_stay_inside():
    starts = spread([0.0, 0.0, 95.0, 40.0], [20.0, 10.0, 15.0, 30.0], -5.0, 100.0)
    rows = sorted(zip(starts, (20.0, 10.0, 15.0, 30.0), strict=True))
    assert rows[0][0] >= -5
    assert rows[-1][0] + rows[-1][1] <= 100
    assert all(a + size <= b + 1e-9 for (a, size), (b, _) in itertools.pairwise(rows))


@pytest.mark.parametrize("bold", [False, True])
def test_width_is_what_is_drawn(bold):
    """Two routes: the sum of the signs' advances, and matplotlib's own layout of the words (which also kerns)."""
    with drawing():
        figure = Figure(figsize=(8, 2), dpi=100)
        FigureCanvasAgg(figure)
        for words in (
            "top 19.1 of 45 A",
            f"17{THIN}200{THIN}J",
            "Coil temperature",
            "friction brake",
            f"{MINUS}7.00{THIN}%",
        ):
            text = figure.text(
                0, 0.5, words, fontsize=9.5, family="DejaVu Sans", fontweight="bold" if bold else "normal"
            )
            assert width(words, 9.5, bold) == pytest.approx(text.get_window_extent().width, abs=1.5)
