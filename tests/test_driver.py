"""The driver: what is asked at each place, by hand; slowing before a slower stretch downhill, none before one uphill."""

import math

import numpy as np
import pytest

from evlab import Route, SetSpeed, ThrottleHeld, load_route
from evlab.driver import set_speed_wish, throttle_wish

UP, DOWN = load_route("two_sheds_up"), load_route("two_sheds_down")
FAR = 1e9
FOOT = 43 + 2 / 7  # where the way down passes 1 % of slope, and 2.4 m/s holds


def ask(driver, route, place, speed, set_speed, goal=FAR, resistance=30.0, mass=200.0):
    """What the kernel gives: force, share, set speed, rate of the set speed."""
    out = np.zeros(5)
    set_speed_wish(np.array([set_speed]), driver.parameters(route), place, speed, goal, resistance, mass, out)
    return out


def wanted(driver, route, place, goal=FAR):
    """The speed that the driver is after at a place: found from the rate at which the set speed moves to it."""
    slow = SetSpeed(**{**vars(driver), "rise": 1e9, "fall": 1e9, "follow_time": 1.0})
    return ask(slow, route, place, 0.0, 0.0, goal)[4]


# ---------------------------------------------------------------- by hand
def test_the_force_is_keenness_times_mass_and_what_the_road_takes():
    out = ask(SetSpeed(gain=1.2), UP, 10.0, speed=2.0, set_speed=2.5)
    assert out[0] == pytest.approx(200.0 * 1.2 * 0.5 + 30.0)
    assert out[1] == 0.0
    assert out[2] == 2.5


@pytest.mark.parametrize(
    ("set_speed", "rate"),
    [
        (0.0, 0.45),  # far below 3 m/s: gathers at most so fast
        (2.99, 0.2),  # 0.01 m/s below, a hand of 0.05 s
        (3.0, 0.0),
        (3.01, -0.2),
        (5.0, -0.8),  # far above: slows at most so fast
    ],
)
def test_the_set_speed_moves_gently(set_speed, rate):
    assert ask(SetSpeed(), UP, 10.0, 0.0, set_speed)[4] == pytest.approx(rate, abs=1e-12)


def test_a_throttle_held_asks_for_its_share_only():
    out = np.zeros(5)
    throttle_wish(np.zeros(0), ThrottleHeld(0.3).parameters(UP), 10.0, 2.0, FAR, 30.0, 200.0, out)
    assert math.isnan(out[0])
    assert out[1] == 0.3
    assert math.isnan(out[2])


# ---------------------------------------------------------------- looking ahead
@pytest.mark.parametrize(
    ("place", "speed"),
    [
        (0.0, 3.0),
        (37.88, 3.0),  # (3.0² - 2.4²)/(2 · 0.3) = 5.4 m before the foot
        (FOOT - 5.4, 3.0),
        (FOOT - 2.7, math.sqrt(2.4**2 + 0.6 * 2.7)),
        (FOOT - 1e-9, 2.4),
        (FOOT, 2.4),
        (80.0, 2.4),
        (104.7, 2.4),
        (104.8, 3.0),
        (170.0, 3.0),
    ],
)
def test_downhill_it_is_slowed_for_beforehand(place, speed):
    assert wanted(SetSpeed(), DOWN, place) == pytest.approx(speed, abs=1e-6)


@pytest.mark.parametrize(("place", "speed"), [(0.0, 3.0), (65.0, 3.0), (70.28, 3.0), (70.29, 2.4), (131.7, 2.4), (131.72, 3.0)])
def test_uphill_it_is_not(place, speed):
    assert wanted(SetSpeed(), UP, place) == pytest.approx(speed, abs=1e-12)


def test_two_slower_stretches_downhill_count_together():
    """3 m/s holds from 50 m on, 1 m/s from 52 m on: at 50 m only √(1 + 2 · 0.3 · 2) is left."""
    steep = Route.from_segments([(50.0, -0.05, 5.0), (2.0, -0.05, 3.0), (50.0, -0.05, 1.0)])
    assert wanted(SetSpeed(), steep, 50.0 - 1e-9) == pytest.approx(math.sqrt(1 + 0.6 * 2.0), abs=1e-6)
    assert wanted(SetSpeed(), steep, 51.0) == pytest.approx(math.sqrt(1 + 0.6 * 1.0), abs=1e-6)
    assert wanted(SetSpeed(), steep, 30.0) == pytest.approx(min(5.0, math.sqrt(1 + 0.6 * 22.0)), abs=1e-6)
    assert wanted(SetSpeed(), steep, 60.0) == pytest.approx(1.0)


def test_a_faster_stretch_is_not_looked_forward_to():
    steep = Route.from_segments([(50.0, -0.05, 2.0), (50.0, -0.05, 4.0)])
    assert wanted(SetSpeed(), steep, 49.9) == pytest.approx(2.0)
    assert wanted(SetSpeed(), steep, 50.1) == pytest.approx(4.0)


@pytest.mark.parametrize(
    ("left", "speed"), [(20.0, 3.0), (2.0, math.sqrt(0.9 * 2.0) + 0.05), (0.1, math.sqrt(0.09) + 0.05), (0.0, 0.05), (-0.01, 0.05)]
)
def test_towards_a_stop_it_slows_and_then_creeps(left, speed):
    assert wanted(SetSpeed(), UP, 60.0, goal=60.0 + left) == pytest.approx(speed, abs=1e-12)


def test_beyond_both_ends_of_the_road_the_nearest_stretch_counts():
    assert wanted(SetSpeed(), UP, -1.0) == pytest.approx(3.0)
    assert wanted(SetSpeed(), UP, 176.0) == pytest.approx(3.0)


def test_the_defaults_are_those_of_the_glossary():
    from evlab.glossary import fields

    for name, value in vars(SetSpeed()).items():
        assert fields("driver")[name].default == value


# ---------------------------------------------------------------- these tests can fail
def test_a_driver_who_looks_ahead_uphill_is_seen(monkeypatch):
    monkeypatch.setattr(Route, "falls_after", lambda self, place: True)
    with pytest.raises(AssertionError):
        test_uphill_it_is_not(70.28, 3.0)


def test_a_driver_who_does_not_look_ahead_is_seen(monkeypatch):
    monkeypatch.setattr(Route, "falls_after", lambda self, place: False)
    with pytest.raises(AssertionError):
        test_downhill_it_is_slowed_for_beforehand(FOOT - 2.7, math.sqrt(2.4**2 + 0.6 * 2.7))
