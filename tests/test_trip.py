"""The brief's trip against closed forms, and against the ride of the same vehicle."""

import math

import numpy as np
import pytest

import evlab
from evlab import Route, TripCase, WorstDay
from evlab.trip import Trip, halted

G = 9.80665  # standard gravity, SI brochure


@pytest.fixture(scope="module")
def trike():
    return evlab.load_vehicle("two_shed_trike")


@pytest.fixture(scope="module")
def up(trike):
    return TripCase(trike, "two_sheds_up")


def test_lift_and_rolling_are_weight_times_height_and_weight_times_level_way(up, trike):
    route, m = up.route, trike.mass
    rise = route.heights[-1]
    level = math.fsum(math.sqrt(float(b - a) ** 2 - float(hb - ha) ** 2) for a, b, ha, hb in zip(
        up.today.distance, up.today.distance[1:], up.today.height, up.today.height[1:], strict=False))
    assert up.today.energy["lift"] == pytest.approx(m * G * rise, rel=1e-12)
    assert up.today.energy["rolling"] == pytest.approx(0.012 * m * G * level, rel=1e-6)


def test_it_agrees_with_the_ride(up, trike):
    """The ride's driver trails the posted speeds a little: a per cent of the air, nothing of lift and rolling."""
    ridden = evlab.ride(trike, up.route)
    for term, rel in (("lift", 1e-3), ("rolling", 1e-3), ("air", 0.02)):
        assert up.today.energy[term] == pytest.approx(-ridden.ledger[term], rel=rel), term
    assert up.today.duration == pytest.approx(ridden.duration, rel=0.03)  # two drivers: one trails, the other does not


def test_one_start_on_the_level_costs_the_energy_of_motion_and_takes_the_time_of_the_trapezium(trike):
    level = Route.from_segments([("400 m", "0 %", "4 m/s")])
    trip = Trip(trike.change({"road.drag_area": 0.1}), level)
    mass = trike.mass + 6.0  # the wheels turn, the rotor belongs to no brief
    slowing = 16 / (2 * 0.45)  # m, over which motion pays for the rolling, and brakes take the rest
    assert trip.energy["starts"] == pytest.approx(0.5 * mass * 16 - 0.012 * trike.mass * G * slowing, rel=0.01)
    assert trip.terms["starts"][200] == pytest.approx(0.5 * mass * trip.speed[200] ** 2)
    a = 0.45  # m/s2, both ways
    assert trip.duration == pytest.approx(400 / 4 + 4 / a, rel=1e-3)
    assert trip.energy["brake"] == trip.energy["lift"] == 0.0


def test_stops_add_starts_and_waits(trike):
    segments = [("400 m", "0 %", "4 m/s")]
    once = Trip(trike, Route.from_segments(segments))
    more = Trip(trike, Route.from_segments(segments, stops=[(100.0, 10.0), (200.0, 10.0), (300.0, 10.0)]))
    assert more.energy["starts"] == pytest.approx(4 * once.energy["starts"], rel=1e-3)
    assert more.duration == pytest.approx(once.duration + 30 + 3 * 4 / 0.45, rel=1e-3)
    assert more.speed[np.searchsorted(more.distance, 200.0)] == 0.0


def test_what_a_drive_gives_never_falls_and_is_the_sum_of_the_terms(trike):
    for route in ("two_sheds_up", "two_sheds_down", "park_path"):
        trip = TripCase(trike, route, wind=-4.0).today
        assert np.diff(trip.given).min() >= -1e-9
        assert trip.total == pytest.approx(math.fsum(trip.energy.values()))
        pushed = np.maximum(np.diff(trip.given), 0).sum()
        assert trip.total == pytest.approx(pushed)


def test_a_descent_is_braked_away(trike):
    down = TripCase(trike, "two_sheds_down").today
    assert down.energy["lift"] == pytest.approx(-trike.mass * G * 4.19, rel=1e-3)
    assert 0.7 < down.energy["brake"] / -down.energy["lift"] < 0.9  # rolling takes 0.012/0.07 of the slope, and some air
    assert down.climbed == 0.0


def test_air_at_a_steady_speed(trike):
    """A long level: nearly all of it at the posted speed, into the wind: half rho CdA (v + w)^2 for each metre."""
    trip = Trip(trike, Route.from_segments([("20 km", "0 %", "3 m/s")]), 5.0)
    assert trip.energy["air"] == pytest.approx(0.5 * 1.225 * 0.95 * 64 * 20_000, rel=1e-3)
    assert trip.per_metre == pytest.approx(trip.total / 20_000)


def test_the_worst_day_is_colder_softer_heavier_and_windier(trike, up):
    day = WorstDay(head_wind=5.0, air_temperature=268.15, rolling_factor=1.5, extra_load=10.0)
    case = TripCase(trike, "two_sheds_up", worst=day)
    cold = day.vehicle(trike)
    assert cold.road.air_density == pytest.approx(1.225 * 293.15 / 268.15)  # the gas law at the same pressure
    assert case.worst.energy["rolling"] == pytest.approx(up.today.energy["rolling"] * 1.5 * 202 / 192, rel=1e-9)
    assert case.worst.total > up.today.total
    assert trike.load.cargo == 60.0  # the vehicle itself is left alone


def test_hill_or_distance(trike):
    flat = TripCase(trike, Route.from_segments([("2 km", "0 %", "3 m/s")]))
    assert flat.verdict.startswith("The distance is the hard part")
    hill = TripCase(trike, Route.from_segments([("2 km", "5 %", "3 m/s")]))
    assert hill.verdict.startswith("The hill is the hard part")
    assert flat.hill_share == 0.0
    assert 0.5 < hill.hill_share < 1


def test_a_drive_that_stops_half_way(trike, up):
    half = up.halted
    m = 192.0 - 72.0  # the rider gets off
    across = 1 / math.sqrt(1 + 0.07**2)
    assert half.push_force == pytest.approx(m * G * (0.012 + 0.07) * across)
    assert half.home_force == pytest.approx(m * G * (0.012 - 0.07) * across)
    assert half.hold_force == pytest.approx(192.0 * G * 0.07 * across)  # the rider aboard, and no help from rolling
    assert f"must hold {192.0 * G * 0.07 * across:.0f} N. Test it with {1.5 * 192.0 * G * 0.07 * across:.0f} N." in half.words
    assert half.rolls
    assert half.pushers == 1
    assert "rolls back" in half.words
    assert "held back" in half.words
    level = halted(trike, up.route, 30.0)
    assert not level.rolls
    assert level.words.startswith("It stands by itself.")
    assert level.home_energy == pytest.approx(0.012 * m * G * 30.0)


def test_home_over_a_hill_asks_for_people(trike):
    route = Route.from_segments([("100 m", "-12 %", "3 m/s"), ("100 m", "0 %", "3 m/s")])
    stop = halted(trike, route, 150.0)
    hardest = 120 * G * (0.012 + 0.12) / math.sqrt(1 + 0.12**2)
    assert stop.hardest == pytest.approx(hardest)
    assert stop.pushers == math.ceil(hardest / 150)
    assert stop.home_energy == pytest.approx(120 * G * (-route.height(150.0) + 0.012 * 150), rel=0.01)


@pytest.mark.parametrize(("make", "words"), [
    (lambda v: TripCase(v, 5), "route of TripCase"),
    (lambda v: TripCase("trike", "two_sheds_up"), "vehicle of TripCase"),
    (lambda v: TripCase(v, "two_sheds_up", halted_share=1.5), "halted_share of TripCase must be 0 to 1"),
    (lambda v: TripCase(v, "two_sheds_up", wind="5 km"), "wind of TripCase"),
    (lambda v: TripCase(v, "two_sheds_up", worst=WorstDay(rolling_factor=0.0)).worst, "rolling_factor of WorstDay"),
    (lambda v: TripCase(v, "two_sheds_up", worst=WorstDay(extra_load=-90.0)).worst, "cargo of 0 kg or more"),
    (lambda v: halted(v, evlab.load_route("two_sheds_up"), 900.0), "must be 0 m to 175 m"),
])
def test_what_cannot_be_is_refused_in_words(trike, make, words):
    with pytest.raises(evlab.InputError, match=words):
        make(trike)
