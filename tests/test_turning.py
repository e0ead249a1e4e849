"""Torque over a turn: shares against closed forms and printed ones, the cosine law, true shapes, symmetry, refusals."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from evlab import InputError, turning
from evlab.coils import Coil
from evlab.linkage import Linkage
from evlab.rings import Ring
from evlab.turning import SCHEMES, EmfShape, creeping_angle, torque_over_turn

SINE = EmfShape.sine(0.0924)
HUMPS = EmfShape.of({1: 0.0924, 3: 0.0473})
DEG = math.pi / 180


# ---------------------------------------------------------------- shares
def test_shares_of_the_peak_as_printed():
    """Textbook, and worked apart, 2026 (counted there on a grid: 0.063771 and 0.16087)."""
    one, six = torque_over_turn(SINE, "one phase"), torque_over_turn(SINE, "three phases, six-step")
    assert six.shares["mean"] == pytest.approx(3 / math.pi, rel=1e-9)
    assert six.shares["least"] == pytest.approx(math.cos(math.pi / 6), rel=1e-9)
    assert one.shares == pytest.approx({"mean": 2 / math.pi, "least": 0.0, "most": 1.0}, abs=1e-9)
    assert one.share_below(0.25) == pytest.approx(turning.dead_share(0.25), rel=1e-4)
    assert one.share_below(0.10) == pytest.approx(0.063771, abs=5e-6)
    assert six.peak == pytest.approx(math.sqrt(3) * 0.0924, rel=1e-6)
    two = torque_over_turn(SINE, "two phases")
    assert two.shares["mean"] == pytest.approx(4 / math.pi / math.sqrt(2), rel=1e-9)
    assert two.least == pytest.approx(0.0924, rel=1e-9)  # one phase at its crest, the other at its zero
    smooth = torque_over_turn(SINE, "three phases, sine")
    assert smooth.mean == pytest.approx(1.5 * 0.0924, rel=1e-12)
    assert smooth.ripple == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("error", [-40.0, -8.8, 15.0, 60.0])
def test_the_cosine_law_holds_for_every_scheme_with_a_sine(scheme, error):
    right, wrong = torque_over_turn(SINE, scheme), torque_over_turn(SINE, scheme, f"{error} deg")
    assert wrong.mean / right.mean == pytest.approx(math.cos(error * DEG), rel=1e-9)


@pytest.mark.parametrize("shape", [SINE, HUMPS], ids=["sine", "humps"])
@pytest.mark.parametrize("scheme", SCHEMES)
def test_early_is_late_in_the_mirror(scheme, shape):
    late, early = (torque_over_turn(shape, scheme, e) for e in (0.3, -0.3))
    assert (late.mean, late.least, late.most) == pytest.approx((early.mean, early.least, early.most), rel=1e-9)
    assert late.share_below(0.2) == pytest.approx(early.share_below(0.2), rel=1e-9)


def test_backwards_at_the_share_that_the_sensor_is_wrong():
    for degrees in (5.0, 15.0, 40.0):
        turn = torque_over_turn(SINE, "one phase", f"{degrees} deg")
        assert turn.share_below(0.0) == pytest.approx(float(turning.reverse_share(degrees * DEG)), rel=1e-4)
    assert torque_over_turn(SINE, "three phases, six-step", "40 deg").least > 0  # three phases forgive up to 60 degrees
    assert torque_over_turn(SINE, "three phases, six-step", "65 deg").least < 0


def test_a_whole_turn_averages_to_what_power_says():
    """Steady speed, unit current: power is EMF times current, averaged over the turn sample by sample."""
    turn = torque_over_turn(HUMPS, "one phase", 0.2)
    angles = (np.arange(100_000) + 0.5) / 100_000 * math.tau
    power = HUMPS.at(angles) * np.sign(np.sin(angles - 0.2))
    assert turn.mean == pytest.approx(float(power.mean()), abs=1e-6)
    assert float(np.trapezoid(turn.torque, turn.angles)) / math.tau == pytest.approx(turn.mean, rel=1e-5)  # trapezia


# ---------------------------------------------------------------- the learner's rig with six discs
def rig_linkage(iron="behind"):
    ring = Ring.of(6, radius="45 mm", wide="20 mm", thick="5 mm", remanence="1.19 T", iron=iron)
    return Linkage(ring, Coil.of("round", inner="12 mm", side="11 mm", thick="6 mm"), 0.0055)


def test_the_true_shape_of_the_rig_has_two_humps():
    """Flux 17 %, EMF 51 % of a third harmonic (brief of the authors); the EMF is the slope of the flux, whatever the harmonics."""
    linkage = rig_linkage()
    shape = EmfShape.of_linkage(linkage, 110, 6)
    first, third = (dict(shape.amplitudes)[n] for n in (1, 3))
    assert linkage.harmonic(3) / linkage.fundamental == pytest.approx(0.17, abs=0.005)
    assert third / first == pytest.approx(0.51, abs=0.01)
    assert first == pytest.approx(0.0924, rel=0.03)
    angles = np.linspace(0.0, math.tau, 50)
    by_map = 660 * linkage.emf_shape(angles / 3)
    assert np.abs(shape.at(angles)) == pytest.approx(np.abs(by_map), abs=2e-3 * first)
    middle, hump = np.abs(shape.at([math.pi / 2, math.pi / 4]))
    assert middle < 0.55 * hump  # least where a sine would be most


def test_a_third_harmonic_makes_no_torque_with_sine_currents():
    assert torque_over_turn(HUMPS, "three phases, sine").mean == pytest.approx(1.5 * 0.0924, rel=1e-9)


def test_a_third_harmonic_does_not_show_between_lines():
    a, b = (torque_over_turn(s, "three phases, six-step") for s in (SINE, HUMPS))
    assert a.torque == pytest.approx(b.torque, abs=1e-12)


# ---------------------------------------------------------------- closed forms of dead spots
def test_creeping_in_exactly_and_for_little_friction():
    for ratio, more in ((0.001, 1e-6), (0.1, 2.5e-3), (0.5, 0.08)):
        exact = (creeping_angle(ratio) + math.asin(ratio)) / math.pi
        small = float(turning.creeping_share(ratio))
        assert small < exact < small * (1 + more)
    assert creeping_angle(0.0) == 0.0
    ratio = float(turning.creeping_share(0.05) / turning.dead_share(0.05))
    assert ratio == pytest.approx((2 + math.sqrt(2)) / 2, rel=1e-12)
    assert turning.creeping_share(0.3).note  # beyond its range
    almost = 2 / math.pi * (1 - 1e-9)
    assert creeping_angle(almost) == pytest.approx(math.pi - math.asin(almost), abs=1e-3)


def test_free_speed_lies_above_volts_over_the_peak_constant():
    free = float(turning.square_drive_speed(0.0924, 12.5, 6.74, 0.0, 0.0))
    assert free == pytest.approx(4 / math.pi * 12.5 / 0.0924, rel=1e-12)
    assert float(turning.square_drive_speed(0.0924, 12.5, 6.74, 0.012, 1.5e-5)) > 12.5 / 0.0924


# ---------------------------------------------------------------- refused in words
@pytest.mark.parametrize(("make", "words"), [
    (lambda: torque_over_turn(SINE, "four phases"), "scheme must be one of one phase; two phases"),
    (lambda: torque_over_turn(SINE, "one phase", "200 deg"), "within half an electrical turn; instead received '200 deg'"),
    (lambda: torque_over_turn(SINE, "one phase", "3 mm"), "sensor_error of torque_over_turn must be one number and its unit"),
    (lambda: EmfShape.of({2: 0.1}), "odd orders from 1"), (lambda: EmfShape.of({3: 0.1}), "must have a fundamental"),
    (lambda: EmfShape.sine(0.0), "must have a fundamental (order 1) above 0 V s/rad"), (lambda: EmfShape.of({}), "a fundamental"),
    (lambda: creeping_angle(0.65), "below 2/π = 0.6366"), (lambda: creeping_angle(-0.1), "at least 0")])
def test_what_cannot_be_asked(make, words):
    with pytest.raises(InputError, match=re.escape(words)):
        make()


def test_the_summary_is_told():
    assert torque_over_turn(SINE, "one phase").told().endswith("zero at the dead spots.")
    assert "backwards at 8 %" in torque_over_turn(SINE, "one phase", "15 deg").told()
    assert torque_over_turn(SINE, "two phases").told().endswith("nowhere zero.")
