"""The star of coils: factors of textbooks, symmetry, the way coils are joined, and combinations refused in words."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from evlab import InputError, winding
from evlab.coil_star import CoilStar

# Distribution and pitch factors of coils round single teeth: every textbook of machines (memory), worked apart, 2026.
FACTORS = {(9, 6): (1.0, 0.8660), (9, 8): (0.9598, 0.9848), (9, 10): (0.9598, 0.9848), (9, 12): (1.0, 0.8660),
           (12, 8): (1.0, 0.8660), (12, 10): (0.9659, 0.9659), (12, 14): (0.9659, 0.9659), (12, 16): (1.0, 0.8660),
           (15, 20): (1.0, 0.8660), (6, 4): (1.0, 0.8660), (6, 8): (1.0, 0.8660), (18, 24): (1.0, 0.8660)}
PRODUCTS = {(9, 8): 0.945214, (9, 10): 0.945214, (12, 10): 0.933013, (12, 14): 0.933013, (12, 8): 0.866025, (12, 16): 0.866025,
            (9, 6): 0.866025, (6, 4): 0.866025}


def many():
    for phases in (1, 2, 3):
        for coils in range(1, 37):
            for poles in range(2, 40, 2):
                try:
                    yield CoilStar.of(coils, poles, phases)
                except InputError:
                    continue


MANY = list(many())


@pytest.mark.parametrize(("pair", "factors"), FACTORS.items())
def test_factors_of_textbooks(pair, factors):
    star = CoilStar.of(*pair)
    assert star.distribution_factor == pytest.approx(factors[0], abs=5e-5)
    assert abs(winding.pitch_factor(float(pair[1]), float(pair[0]))) == pytest.approx(factors[1], abs=5e-5)


@pytest.mark.parametrize(("pair", "product"), PRODUCTS.items())
def test_winding_factors_to_six_figures(pair, product):
    whole = CoilStar.of(*pair).distribution_factor * abs(winding.pitch_factor(float(pair[1]), float(pair[0])))
    assert whole == pytest.approx(product, abs=1e-6)


def test_every_star_that_is_made_is_fair():
    assert len(MANY) > 200
    for star in MANY:
        assert {len(p) for p in star.phasors.values()} == {star.coils_in_series}
        assert star.imbalance < 1e-9
        assert abs(star.sums).max() == pytest.approx(abs(star.sums).min(), rel=1e-9)
        assert star.distribution_factor >= 0.9


def test_the_sum_of_arrows_is_the_closed_formula():
    for star in MANY:
        closed = winding.distribution_factor(float(star.phases), float(star.directions))
        assert star.distribution_factor == pytest.approx(closed, rel=1e-12)


def test_no_other_choice_of_polarity_or_phase_adds_up_better():
    """Every way of giving the nine coils over eight magnets to phase A, both ways round: none reaches more (exhaustive)."""
    star, best = CoilStar.of(9, 8), 0.0
    arrows = np.exp(2j * math.pi * np.arange(9) * 4 / 9)
    for a in range(9):
        for b in range(a):
            for c in range(b):
                for s, t in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
                    best = max(best, abs(arrows[a] + s * arrows[b] + t * arrows[c]) / 3)
    assert star.distribution_factor == pytest.approx(best, rel=1e-12)


def test_emf_of_coils_summed_over_time_is_balanced():
    """Not by phasors: the sine of each coil, added as it is joined, over a whole wave."""
    star, turn = CoilStar.of(12, 14), np.linspace(0, 2 * math.pi, 720, endpoint=False)
    volts = {letter: sum((-1 if p.reversed else 1) * np.cos(turn - 7 * math.radians(p.mechanical)) for p in star.chain(letter))
             for letter in "ABC"}
    assert sum(volts.values()) == pytest.approx(np.zeros(720), abs=1e-9)
    assert max(volts["A"]) / 4 == pytest.approx(star.distribution_factor, rel=1e-4)
    assert np.roll(volts["A"], 240) == pytest.approx(volts["B"], abs=1e-9)


def test_the_demonstration_motor_has_no_coil_the_other_way_round():
    star = CoilStar.of(9, 12)
    assert [p.phase for p in star.places] == list("ABCABCABC") or [p.phase for p in star.places] == list("ACBACBACB")
    assert not any(p.reversed for p in star.places)
    assert star.pairs_repeat == 3
    assert star.cogging_period == 10.0


def test_as_many_coils_as_magnets_alternate():
    star = CoilStar.of(16, 16, 1)
    assert [p.polarity for p in star.places] == ["start first", "finish first"] * 8
    assert star.distribution_factor == pytest.approx(1.0, rel=1e-12)
    assert star.reversals_per_turn == 16
    assert CoilStar.of(8, 16, 1).places[1].polarity == "start first"  # half as many: all alike


def test_two_phases_stand_ninety_degrees_apart():
    star = CoilStar.of(8, 6, 2)
    a, b = np.angle(star.sums)
    assert abs(math.cos(a - b)) < 1e-9


def test_the_table_joins_every_coil_once():
    star = CoilStar.of(9, 8)
    table = star.table()
    assert list(table.index) == list(range(1, 10))
    assert list(table.columns)[:2] == ["phase", "polarity"]
    assert set(table["polarity"]) == {"start first", "finish first"}
    assert table.loc[1, "joined to"] == "its finish to the finish of coil 2"
    assert sum("ends the phase" in t for t in table["joined to"]) == 3
    for letter, rows in table.groupby("phase"):
        assert sorted(rows["place in the chain"]) == [1, 2, 3]
        assert [p.number for p in star.chain(letter)] == sorted(rows.index)


def test_each_joint_carries_the_current_the_right_way():
    """Walk the chain end by end: a start-first coil is entered at its start, the other at its finish."""
    for star in (CoilStar.of(12, 10), CoilStar.of(9, 8), CoilStar.of(16, 16, 1)):
        table = star.table()
        for letter in star.phasors:
            for place, following in zip(star.chain(letter), star.chain(letter)[1:], strict=False):
                out, into = ("start" if place.reversed else "finish"), ("finish" if following.reversed else "start")
                assert table.loc[place.number, "joined to"] == f"its {out} to the {into} of coil {following.number}"


def test_turning_the_stator_changes_nothing_but_names():
    """Twice the coils on twice the magnets is the same star twice."""
    for coils, poles in ((9, 8), (12, 10), (9, 12)):
        one, two = CoilStar.of(coils, poles), CoilStar.of(2 * coils, 2 * poles)
        assert two.distribution_factor == pytest.approx(one.distribution_factor, rel=1e-12)
        assert [p.phase + p.polarity for p in two.places] == 2 * [p.phase + p.polarity for p in one.places]
        assert two.pairs_repeat == 2 * one.pairs_repeat


@pytest.mark.parametrize(("given", "words"), [
    ((9, 11, 3), "an even number of magnets, since north and south take turns"), ((0, 12, 3), "a whole number of coils from 1"),
    ((9.0, 12, 3), "a whole number of coils"), ((9, 12, 4), "phases of CoilStar must be 1, 2 or 3"),
    ((10, 12, 3), "cannot be shared evenly among 3 phases. 9 or 18 coils would do."),
    ((12, 12, 3), "so no three phases stand 120° apart. 9 or 18 coils would do."),
    ((9, 18, 3), "all coils meet their magnets at the same moment"), ((6, 6, 2), "no two equal phases stand 90° apart"),
    ((14, 16, 1), "their volts partly cancel, only 64 % of their sum is left. 8 or 16 coils would do.")])
def test_what_cannot_be_a_winding(given, words):
    with pytest.raises(InputError, match=re.escape(words)):
        CoilStar.of(*given)


def test_the_numbers_that_are_named_do_work():
    for given in ((10, 12, 3), (12, 12, 3), (14, 16, 1), (6, 6, 2), (7, 10, 3)):
        with pytest.raises(InputError) as refused:
            CoilStar.of(*given)
        for number in re.findall(r"\d+", re.search(r"([\d or]+) coils would do", str(refused.value)).group(1)):
            assert CoilStar.of(int(number), *given[1:])


def test_the_share_that_is_told_is_the_best_that_polarity_can_do():
    for coils, poles in ((14, 16), (9, 8), (6, 8)):
        with pytest.raises(InputError, match="only") as refused:
            CoilStar.of(coils, poles, 1)
        arrows = np.exp(1j * math.pi * poles * np.arange(coils) / coils)
        best = max(abs((arrows * np.sign(np.real(arrows * np.exp(-1j * t)) + 1e-15)).sum()) / coils
                   for t in np.linspace(0, math.pi, 2000))
        assert float(re.search(r"only (\d+) %", str(refused.value)).group(1)) == pytest.approx(100 * best, abs=0.6)


def test_an_unknown_phase_is_told():
    with pytest.raises(InputError, match="must be one of A; instead received 'B'"):
        CoilStar.of(16, 16, 1).chain("B")


def test_harmonics_of_a_spread_winding_add_up_less():
    """9 coils over 8 magnets: a phase's phasors lie 20 degrees apart, its third harmonic's 60 (textbook arithmetic)."""
    star = CoilStar.of(9, 8)
    assert star.factor_of(1) == pytest.approx(star.distribution_factor)
    assert star.factor_of(3) == pytest.approx((1 + 2 * math.cos(math.radians(60))) / 3)
    assert star.factor_of(5) == pytest.approx((1 + 2 * math.cos(math.radians(100))) / 3)


def test_coils_that_point_one_way_keep_all_harmonics():
    assert CoilStar.of(9, 12).factor_of(3) == pytest.approx(1.0)
    single = CoilStar.of(6, 6, 1)  # every second coil is turned round, and with it every odd harmonic
    assert [single.factor_of(n) for n in (1, 3, 5)] == pytest.approx([1.0, 1.0, 1.0])
