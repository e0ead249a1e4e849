"""A colder day is never cheaper: what follows from the air's temperature, by hand."""

from itertools import pairwise

import pytest

import evlab
from evlab.cold_day import in_air
from evlab.workbench import ride_page

TRIKE, SCOOTER = evlab.load_vehicle("two_shed_trike"), evlab.load_vehicle("kick_scooter")
GAIN = 0.015  # for each kelvin: the lower end of the rule of thumb of 1 to 2 %


@pytest.mark.parametrize("vehicle", [TRIKE, SCOOTER], ids=["trike", "scooter"])
@pytest.mark.parametrize("celsius", [-20.0, -10.0, 0.0, 10.0, 30.0])
def test_air_and_tyres_follow_by_hand(vehicle, celsius):
    kelvin, was = celsius + 273.15, vehicle.road.air_temperature
    cold = in_air(vehicle, kelvin)
    assert cold.road.air_temperature == kelvin
    assert cold.road.air_density == pytest.approx(vehicle.road.air_density * was / kelvin, rel=1e-9)  # one pressure: density by 1/T
    harder = (1 + GAIN * (293.15 - kelvin)) / (1 + GAIN * (293.15 - was))
    assert cold.road.rolling_coefficient == pytest.approx(vehicle.road.rolling_coefficient * harder, rel=1e-9)
    back = in_air(cold, was)
    assert back.road.rolling_coefficient == pytest.approx(vehicle.road.rolling_coefficient, rel=1e-9)
    assert in_air(vehicle, was) is vehicle


@pytest.mark.parametrize(("vehicle", "route"), [(TRIKE, "two_sheds_up"), (SCOOTER, "park_path")], ids=["trike", "scooter"])
def test_a_colder_day_is_never_cheaper(vehicle, route):
    taken = [evlab.ride(in_air(vehicle, 273.15 + c), route).store_energy for c in (30, 20, 10, 0, -10, -20)]
    assert all(colder > warmer for warmer, colder in pairwise(taken))


def test_the_slider_of_the_page_makes_the_trip_dearer():
    """With the air moved alone it once made it cheaper: the winding was colder, and nothing else followed."""
    bench = ride_page.open_bench("two_sheds_up", TRIKE)
    warm = bench.result.ledger
    bench.controls["air_today"].box.value = "-10 degC"
    bench.settle()
    cold = bench.result.ledger
    assert cold["store"] > warm["store"]
    rolling = (1 + GAIN * 30) / (1 + GAIN * (293.15 - TRIKE.road.air_temperature))
    assert cold["rolling"] / warm["rolling"] == pytest.approx(rolling, rel=1e-3)
    assert cold["air"] < warm["air"] < 0  # more of it, at about the same speeds


def test_the_worst_day_and_the_cold_day_of_the_table_are_made_the_same_way():
    from evlab.trip import WorstDay

    worst = WorstDay(air_temperature=263.15, rolling_factor=1.0, extra_load=0.0).vehicle(TRIKE)
    cold = next(d for d in evlab.hard_days(TRIKE, "two_sheds_up").rows if d.label == "cold").result.vehicle
    assert worst.road.air_density == pytest.approx(cold.road.air_density, rel=1e-12)
    assert cold.road.rolling_coefficient == in_air(TRIKE, 263.15).road.rolling_coefficient
