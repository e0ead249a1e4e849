"""What would have saved a ride, against rides in fine steps on both sides of each border."""

from __future__ import annotations

import re

import pytest

import evlab
from evlab import InputError
from evlab.remedies import MAIN, nearest_changes

TRIKE, UP = evlab.load_vehicle("two_shed_trike"), evlab.load_route("two_sheds_up")
SCOOTER = evlab.load_vehicle("kick_scooter")


@pytest.fixture(scope="module")
def stopped():
    return nearest_changes(evlab.ride(TRIKE, UP, start=22.0))


@pytest.fixture(scope="module")
def arrived():
    return nearest_changes(evlab.ride(TRIKE, UP))


def ridden(name, value, start=22.0):
    """The fine ride with one quantity at this value."""
    if name == "start":
        return evlab.ride(TRIKE, UP, start=value)
    if name == "head_wind":
        return evlab.ride(TRIKE, UP, start=start, wind=value)
    made = {name: int(value) if name.endswith("teeth") else value}
    if name == "controller.stop_voltage":  # the volts at which it resumes go with them
        made["controller.resume_voltage"] = max(17.0, value)
    return evlab.ride(TRIKE.change(made), UP, start=start)


def test_each_saving_value_arrives_and_one_a_little_nearer_does_not(stopped):
    assert {c.name for c in stopped.saving} >= {"start", "store.cell_capacitance", "driver.pedalling_power"}
    for c in stopped.saving:
        assert ridden(c.name, c.after).outcome == "arrived"
        nearer = c.after - 0.012 * (c.high - c.low) * (1 if c.after > c.before else -1)  # fine to a 500th, said to 3 figures
        assert ridden(c.name, nearer).outcome != "arrived", c.words


def test_what_cannot_save_it_does_not_at_either_end_of_its_range(stopped):
    assert "load.cargo" in {c.name for c in stopped.useless}
    for c in stopped.useless:
        for value in (c.low, c.high):
            assert ridden(c.name, value).outcome != "arrived", (c.name, value)
        assert f"of {UP.length:g} m at most" in c.words
        assert c.best < UP.length


def test_a_border_found_by_halving_here_is_the_same(stopped):
    """The volts at the start that just make it, by fine rides and plain halving."""
    low, high = 22.0, 35.0
    while high - low > 1e-4:
        middle = (low + high) / 2
        low, high = (low, middle) if evlab.ride(TRIKE, UP, start=middle).outcome == "arrived" else (middle, high)
    told = next(c for c in stopped.rows if c.name == "start")
    assert high <= told.after <= high + 13.0 / 500 + 0.1  # a five-hundredth of the range, rounded up to three figures


def test_of_a_ride_that_arrived_it_tells_how_far_each_may_go(arrived):
    assert arrived.arrived
    told = {c.name: c for c in arrived.rows}
    assert told["load.cargo"].after > TRIKE.load.cargo
    assert told["road.rolling_coefficient"].after > TRIKE.road.rolling_coefficient
    assert told["store.cell_capacitance"].after < TRIKE.store.cell_capacitance
    for c in arrived.saving:
        if c.name != "store.charge_voltage":
            assert ridden(c.name, c.after, start=None).outcome != "arrived", c.words
    assert evlab.ride(TRIKE.change({"store.charge_voltage": told["store.charge_voltage"].after}), UP).outcome != "arrived"
    assert "It arrives; it would no longer do so with" in arrived.reason


def test_the_nearest_comes_first(stopped):
    shares = [abs(c.after - c.before) / (c.high - c.low) for c in stopped.saving]
    assert shares == sorted(shares)


def test_in_the_head_wind_that_stops_it_less_wind_saves_it():
    told = nearest_changes(evlab.ride(TRIKE, UP, wind=5.0))
    wind = next(c for c in told.rows if c.name == "head_wind")
    assert 4.0 < wind.after < 5.0
    assert evlab.ride(TRIKE, UP, wind=wind.after).outcome == "arrived"


def test_the_same_in_words():
    changes = nearest_changes(evlab.ride(TRIKE, UP, start=22.0), ["start", "load.cargo"])
    assert [c.name for c in changes.rows] == ["start", "load.cargo"]
    shown = changes._repr_html_()
    assert "would have saved it" in shown
    assert "Volts at the start" in shown
    assert "No change of cargo alone saves it." in changes.reason


def test_a_pack_is_not_to_be_saved_by_emptying_its_cells():
    told = nearest_changes(evlab.ride(SCOOTER, UP, start="3 %"))
    stop = next(c for c in told.rows if c.name == "controller.stop_voltage")
    assert stop.low >= 7 * 2.5 - 1e-9  # the cells' own least volts, by data sheets


def test_quantities_that_this_ride_has_not_are_refused():
    ride = evlab.ride(TRIKE, UP, start=22.0)
    for name, words in (("load.cargoo", "Did you mean 'load.cargo'"), ("store.kind", "numbers that this ride feels"),
                        ("vehicle.name", "numbers that this ride feels")):
        with pytest.raises(InputError, match=re.escape(words)):
            nearest_changes(ride, [name])
    with pytest.raises(InputError, match=r"must be made by evlab\.ride"):
        nearest_changes("a ride")
    with pytest.raises(InputError, match="must be one ride"):
        nearest_changes(evlab.charge(TRIKE, start=20.0))


def test_a_driver_of_ones_own_is_kept():
    r = evlab.ride(TRIKE, UP, start=22.0, driver=evlab.SetSpeed(pace=0.9))
    told = nearest_changes(r)
    assert not any(c.name.startswith("driver.") for c in told.rows)
    assert {c.name for c in told.rows} < set(MAIN)


def test_a_bearing_wind_has_no_head_wind_to_vary():
    way = evlab.Route.from_segments([("100 m", "7 %", "2.4 m/s", "0 deg")])
    r = evlab.ride(TRIKE, way, start=18.0, wind=evlab.Wind(3.0, "0 deg"))
    assert "head_wind" not in {c.name for c in nearest_changes(r).rows}
