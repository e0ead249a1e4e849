"""Turns counted by scales and ohmmeter: coils made up with known faults, and whether the check finds them."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from evlab import InputError
from evlab.counting import CountCheck
from evlab.wires import metric

WIRE = metric("1 mm")
GIVEN = {"mean_turn": "159.5 mm +/- 1 mm", "tails": "200 mm +/- 20 mm"}


def made(turns, *, thicker=1.0, strands=4, dead=0, former=0.0, celsius=20.0, turn=0.1595, dense=8890.0, coat=1.0):
    """Grams and ohms of an invented coil, by plain arithmetic of cylinders: length, section, copper at its temperature."""
    length, area = turns * turn + 0.2, math.pi / 4 * (1e-3 * thicker) ** 2
    middle = (1.063 + 1.094) / 2 * 1e-3  # with enamel, halfway between the limits of the standard
    enamel = 1400.0 * math.pi / 4 * (middle**2 - 1e-6) * coat
    grams = 1e3 * (former + length * strands * (dense * area + enamel))
    ohms = length / (58.5e6 * area * (strands - dead)) * (1 + 0.00393 * (celsius - 20.0))
    return grams, ohms


def check(grams, ohms, planned=26, **more):
    given = {"mass": f"{grams:.3f} g +/- 0.5 g", "resistance": f"{1e3 * ohms:.4f} mOhm +/- 0.1 mOhm",
             "temperature": "20 degC +/- 1 degC", **GIVEN, **more}
    return CountCheck.of(planned, WIRE, 4, **given)


def test_the_right_count_comes_out_both_ways():
    found = check(*made(26))
    assert found.by_mass.turns == pytest.approx(26.0, abs=2e-3)
    assert found.by_resistance.turns == pytest.approx(26.0, abs=2e-3)
    assert found.agrees
    assert found.verdict.startswith("The count is right: 26.0 +/- 0.")


@pytest.mark.parametrize("turns", [24, 25, 27, 28])
def test_a_wrong_count_is_found_and_told(turns):
    found = check(*made(turns))
    assert not found.agrees
    assert found.missing == (26 - turns, 26 - turns)
    assert f"{abs(26 - turns)} {'missing' if turns < 26 else 'too many'}." in found.verdict


def test_wire_within_its_tolerance_deceives_each_but_not_both():
    """A wire 1 % too thick: the scales say more turns, the ohmmeter fewer; together still right."""
    found = check(*made(26, thicker=1.0099))
    assert found.by_mass.turns > 26.3
    assert found.by_resistance.turns < 25.6
    assert found.combined.turns == pytest.approx(26.0, abs=0.06)
    assert found.agrees
    assert found.combined.spread < min(found.by_mass.spread, found.by_resistance.spread)


def test_the_weights_are_those_of_least_squares():
    """Against the general solution with the covariance of both."""
    found = check(*made(26), resistance="24 mOhm +/- 0.8 mOhm")
    names = sorted({*found.by_mass.shares, *found.by_resistance.shares})
    slopes = np.array([[c.shares.get(n, 0.0) for n in names] for c in (found.by_mass, found.by_resistance)])
    inverse = np.linalg.inv(slopes @ slopes.T)
    turns = np.array([found.by_mass.turns, found.by_resistance.turns])
    assert found.combined.turns == pytest.approx(inverse.sum(axis=0) @ turns / inverse.sum(), rel=1e-9)
    assert found.combined.spread == pytest.approx(1 / math.sqrt(inverse.sum()), rel=1e-9)


def test_the_spread_is_what_chance_makes():
    """Ten thousand coils with all doubts drawn (95 % within the +/-): theirs against ours.  Deterministic."""
    rng, found = np.random.default_rng(7), check(*made(26))
    half = lambda limit: rng.normal(0.0, limit / 1.96, 10000)  # noqa: E731
    thick, turn, tails = 1 + half(0.01), 0.1595 + half(0.001), 0.2 + half(0.02)
    length = 26 * turn + tails
    area = math.pi / 4 * (1e-3 * thick) ** 2
    enamel = WIRE.enamel_mass * (1 + half(0.0155 / 0.0785))
    grams = length * 4 * ((8890.0 + half(70.0)) * area + enamel) + half(0.5e-3)
    ohms = length / (4 * area * 58e6) * (1 + half(0.01)) * (1 + 0.00393 * half(1.0)) + half(0.1e-3)
    by_mass = (grams / (4 * (WIRE.mass + WIRE.enamel_mass)) - 0.2) / 0.1595
    by_ohms = (ohms * 4 * 58e6 * math.pi / 4 * 1e-6 - 0.2) / 0.1595
    for count, drawn in ((found.by_mass, by_mass), (found.by_resistance, by_ohms)):
        assert 1.96 * np.std(drawn) == pytest.approx(count.spread, rel=0.03)
        assert np.mean(drawn) == pytest.approx(26.0, abs=0.02)


def test_a_strand_that_is_not_joined_is_a_contradiction():
    found = check(*made(26, dead=1))
    assert found.quarrel
    assert not found.agrees
    assert "a strand that is not joined" in found.verdict
    assert "26.0 turns against 35." in found.verdict


def test_a_former_that_was_weighed_with_it():
    assert "glue or former in the weight" in check(*made(26, former=0.020)).verdict
    assert check(*made(26, former=0.020), former="20 g +/- 0.2 g").agrees


def test_heat_is_taken_out():
    grams, ohms = made(26, celsius=35.0)
    assert not check(grams, ohms).agrees
    assert check(grams, ohms, temperature="35 degC +/- 1 degC").by_resistance.turns == pytest.approx(26.0, abs=2e-3)


def test_too_coarse_a_measurement_says_so():
    """A hand-held meter that shows tenths of an ohm says nothing of 24 milliohms."""
    found = check(*made(26), mass=None, resistance="24 mOhm +/- 6 mOhm")
    assert found.agrees
    assert "The resistance alone cannot tell one turn" in found.verdict
    assert "the largest part of that comes from the resistance" in found.verdict
    assert "four wires" in found.verdict
    low, high = found.missing
    assert f"{high} missing or {-low} too many would not show" in found.verdict


def test_one_measurement_will_do():
    only = check(*made(26), resistance=None)
    assert only.by_resistance is None
    assert only.combined.turns == only.by_mass.turns
    assert only.combined.spread == pytest.approx(only.by_mass.spread, rel=1e-12)
    assert list(only.table().index) == ["by weight", "both together"]


def test_a_count_that_is_no_whole_number():
    found = CountCheck.of(26, WIRE, 4, mass=made(25.5)[0] / 1e3, mean_turn=0.1595, tails=0.2)
    loose = CountCheck(26, WIRE, 4, found.values, {**found.spreads, "mass": 1e-9})
    assert loose.spreads["mean_turn"] == 0.0
    tight = type(found.combined)(25.5, 0.2, {"mass": 0.2})
    object.__setattr__(loose, "combined", tight)
    assert "does not come out whole" in loose.verdict


def test_the_table_has_a_row_for_each_way():
    table = check(*made(26)).table()
    assert list(table.columns) == ["turns", "+/-", "mostly by"]
    assert list(table.index) == ["by weight", "by resistance", "both together"]
    assert table.loc["by weight", "mostly by"] == "tolerance of the wire"
    assert table.loc["both together", "mostly by"] == "length of the mean turn"


def test_better_scales_never_make_the_doubt_larger():
    spreads = [check(*made(26), mass=f"{made(26)[0]:.3f} g +/- {s} g").combined.spread for s in (0.01, 0.5, 2.0, 10.0, 50.0)]
    assert spreads == sorted(spreads)


@pytest.mark.parametrize(("change", "words"), [
    ({"mass": None, "resistance": None}, "one measurement at least"), ({"mass": "125 mm"}, "mass of CountCheck"),
    ({"former": "200 g"}, "mass of CountCheck must be more than that of the former, 200 g"),
    ({"mean_turn": "0 mm"}, "mean_turn of CountCheck must be above zero"),
    ({"resistance": "5 mOhm +/- 6 mOhm"}, "a +/- smaller than itself"),
    ({"planned": 26.5}, "planned of CountCheck must be a whole"),
    ({"temperature": "20"}, "temperature of CountCheck")])
def test_what_cannot_be_measured(change, words):
    grams, ohms = made(26)
    with pytest.raises(InputError, match=re.escape(words)):
        check(grams, ohms, **change)
