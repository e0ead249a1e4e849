"""Traction, tipping and brakes of every layout of wheels."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from evlab import footing
from evlab.footing import DRIVEN, WHEELS, braked_of, tipping_of, traction_of
from evlab.units import InputError

TRIKE = {"tyre_grip": 0.6, "mass": 192.0, "mass_share": 0.65, "mass_height": 0.75, "wheelbase": 1.6}


def lifting(feet, share, base, height):
    """Sideways acceleration to the left at which a wheel of three lifts, by the balance of moments in space."""
    def least(acceleration):
        balance = np.vstack([np.ones(3), np.array(feet).T])
        return np.linalg.solve(balance, [9.80665, -share * base * 9.80665, acceleration * height]).min()

    return brentq(least, 0.0, 50.0, xtol=1e-12)


def test_three_wheels_tip_as_moments_in_space_say():
    base, track, height, share = 1.6, 0.75, 0.75, 0.65
    tadpole = [(0.0, track / 2), (0.0, -track / 2), (-base, 0.0)]
    delta = [(0.0, 0.0), (-base, track / 2), (-base, -track / 2)]
    assert tipping_of("one front, two rear", track, height, share) == pytest.approx(lifting(delta, share, base, height), rel=1e-9)
    assert tipping_of("two front, one rear", track, height, share) == pytest.approx(lifting(tadpole, share, base, height), rel=1e-9)


def test_four_wheels_and_two():
    assert tipping_of("four", 0.75, 0.75, 0.0) == pytest.approx(9.80665 / 2)
    assert tipping_of("two in line", 0.0, 1.0, 0.5) == math.inf
    for wheels in ("not stated", *WHEELS[1:]):
        assert math.isnan(tipping_of(wheels, 0.0, 0.75, 0.65))
    assert math.isnan(tipping_of("one front, two rear", 0.75, 0.75, 0.0))


def test_a_second_driven_wheel_more_than_doubles_it():
    one, both = (traction_of("one front, two rear", d, slope=0.07, **TRIKE)[0] for d in ("one rear", "both rear"))
    assert both > 2 * one  # the force presses its own wheels down
    single = traction_of("two front, one rear", "one rear", slope=0.07, **TRIKE)[0]
    assert single == pytest.approx(both)  # the only rear wheel carries all of the axle


@pytest.mark.parametrize("driven", list(DRIVEN))
@pytest.mark.parametrize("slope", [-0.3, 0.0, 0.07, 0.3])
def test_force_and_load_are_the_grip(driven, slope):
    force, load, share = traction_of("four", driven, slope=slope, **TRIKE)
    assert 0 < force <= 0.6 * load * (1 + 1e-12)
    assert share == pytest.approx(load / (192.0 * 9.80665))


@pytest.mark.parametrize(("driven", "share", "front"), [("one rear", 0.5, False), ("both rear", 1.0, False), ("front", 1.0, True)])
@pytest.mark.parametrize("slope", [0.0, -0.07, -0.3])
def test_braking_takes_load_off_the_rear_and_presses_the_front_down(driven, share, front, slope):
    """Moments about the middle of the mass: with a rearward force F on the road the front carries F h / L more, the rear less."""
    height, base = 0.75, 1.6
    across = 192.0 * 9.80665 * math.cos(math.atan(slope))
    held = braked_of("four", driven, slope=slope, **TRIKE)
    load = share * (0.35 * across + held * height / base if front else 0.65 * across - held * height / base)
    assert held == pytest.approx(0.6 * load)
    assert (held > traction_of("four", driven, slope=slope, **TRIKE)[0]) == front


def test_a_braked_front_wheel_pitches_the_vehicle_over_before_it_slips():
    pitches = 89.0 * 9.80665 * 0.3 * 0.85 / 1.2
    assert braked_of("two in line", "front", 0.9, 89.0, 0.3, 1.2, 0.85) == pytest.approx(pitches)
    assert braked_of("two in line", "front", 0.6, 89.0, 0.3, 1.2, 0.85) == pytest.approx(pitches)
    assert math.isnan(braked_of("four", "one rear", **{**TRIKE, "wheelbase": 0.0}))


def test_a_short_high_vehicle_lifts_its_front_before_it_slips():
    force, load, share = traction_of("two in line", "one rear", 0.9, 89.0, 0.7, 1.2, 0.85)
    assert force == pytest.approx(float(footing.lift_front(89.0, 0.7, 0.85, 1.2, 0.0)))
    assert load == pytest.approx(89.0 * 9.80665)
    assert share == pytest.approx(1.0)
    far = traction_of("two in line", "one rear", 2.0, 89.0, 0.7, 1.2, 0.85)  # grip beyond which the formula turns over
    assert far[0] == pytest.approx(force)


def test_what_is_not_stated_is_nan():
    assert all(map(math.isnan, traction_of("not stated", "one rear", **TRIKE)))
    assert all(map(math.isnan, traction_of("four", "one rear", **{**TRIKE, "wheelbase": 0.0})))


def test_stopping_and_tipping_go_with_the_square():
    stop = float(footing.stopping_distance(6.0, 0.0, 3.0))
    assert stop == pytest.approx(4 * float(footing.stopping_distance(3.0, 0.0, 3.0)))
    assert float(footing.grip_deceleration(0.6, -0.07)) < float(footing.grip_deceleration(0.6, 0.0)) < 9.81 * 0.6
    assert footing.tip_speed(3.19, 12.0) == pytest.approx(2 * float(footing.tip_speed(3.19, 3.0)))


def test_where_it_slides_it_does_not_tip():
    tips = float(footing.tip_speed(tipping_of("four", 1.2, 0.5, 0.5), 5.0))
    slides = float(footing.slide_speed(0.6, 5.0))
    assert slides < tips


def test_what_is_refused():
    with pytest.raises(InputError) as said:
        traction_of("four", "all", **TRIKE)
    assert str(said.value) == "Input driven of traction_of must be one of one rear, both rear, front; instead received 'all'."
    with pytest.raises(InputError) as said:
        traction_of("four", "front", **{**TRIKE, "tyre_grip": 0.0})
    assert str(said.value) == "Input tyre_grip of traction_of must be above 0 and at most 2; instead received 0."
    with pytest.raises(InputError, match="must be above zero"):
        footing.tip_speed(3.19, 0.0)


@pytest.mark.parametrize("grip", [0.849, 0.85, 0.851])
def test_where_grip_times_height_is_the_wheelbase_the_front_lifts_first(grip):
    """The rear wheel's own formula has a pole there: what it can pass on is the lifting force, by hand m g (1 - x) L / h."""
    force, load, share = footing.traction_of("two in line", "one rear", grip, 100.0, 0.55, 1.0, 0.85)
    assert force == pytest.approx(100.0 * 9.80665 * 0.45 * 0.85, abs=1e-9)
    assert (load, share) == (pytest.approx(980.665, abs=1e-9), pytest.approx(1.0))
