"""A day against the same rides and charges done one by one."""

import math

import numpy as np
import pytest

import evlab
from evlab import Leg, ride_day
from evlab.ride_ledger import KEYS

UP, DOWN = Leg("two_sheds_up", 60.0), Leg("two_sheds_down", "20 kg", "5 min", charge=True)


@pytest.fixture(scope="module")
def trike():
    return evlab.load_vehicle("two_shed_trike").change({"store.cell_leakage": 0.0, "store.clamp_current": 0.0,
                                                        "store.cell_tolerance": 0.0})


@pytest.fixture(scope="module")
def day(trike):
    return ride_day(trike, [UP, DOWN], times=20)


def test_a_round_trip_is_its_rides_and_its_charge(trike):
    made = ride_day(trike, [UP, DOWN])
    up = evlab.ride(trike, "two_sheds_up")
    down = evlab.ride(trike.change({"load.cargo": "20 kg"}), "two_sheds_down", start=up)
    charged = evlab.charge(trike, start=down)
    kinds = [row.kind for row in made.trips]
    assert kinds == ["ride", "ride", "charge", "wait"]
    by_hand = [up.ledger["store"], down.ledger["store"], charged.ledger["store"]]
    assert [row.energy for row in made.trips[:3]] == pytest.approx(by_hand, rel=1e-4, abs=0.5)
    assert [row.duration for row in made.trips[:3]] == pytest.approx([up.duration, down.duration, charged.duration], rel=1e-3)
    assert made.trips[2].duration + made.trips[3].duration == pytest.approx(300.0)
    assert made.end_state("capacitors")[1][0] < down.end_state("capacitors")[1][0]  # the winding cools meanwhile


def test_a_day_of_forty_trips_is_done_and_closes(day):
    assert (day.outcome, day.rides_done, day.charges) == ("done", 40, 20)
    assert abs(day.closure) < day.closure_allowed
    assert day.ledger["source"] > 0
    assert {"cable", "converter", *KEYS} - {"converter"} <= set(day.ledger)
    assert day.distance == pytest.approx(40 * 175, abs=40 * 0.31)
    assert day.ledger["kinetic"] == 0.0
    starts = [row.start for row in day.trips]
    assert starts == sorted(starts)
    assert np.all(np.diff(day.column("time")) >= 0)
    assert len(day.column("store_volts")) == len(day.column("time"))


def test_its_coarse_step_tells_the_same_day(trike, monkeypatch):
    coarse = ride_day(trike, [UP, DOWN], times=3)
    monkeypatch.setattr("evlab.shuttling.STEP", 0.02)
    fine = ride_day(trike, [UP, DOWN], times=3)
    assert coarse.ledger["copper"] == pytest.approx(fine.ledger["copper"], rel=1e-4)
    assert coarse.trips[-1].end_volts == pytest.approx(fine.trips[-1].end_volts, abs=1e-4)
    assert coarse.duration == pytest.approx(fine.duration, rel=1e-4)


def test_the_second_loaded_trip_without_charging_ends_the_day(trike):
    made = ride_day(trike, [UP, Leg("two_sheds_down", 20.0)], times=2)
    assert made.outcome == "cut-off"
    assert made.reason.startswith("Leg 3 ended the day (2 rides of ")
    assert "on the climb" in made.reason
    assert "cut-off" in made._repr_html_()


def test_a_route_with_a_charger_is_taken_apart_there(trike):
    up, down = evlab.load_route("two_sheds_up"), evlab.load_route("two_sheds_down")
    there = up.then(down, wait=30.0).with_stops([(175.0, 30.0), (350.0, 300.0, True)])
    with pytest.raises(evlab.InputError, match="ride_day"):
        evlab.ride(trike, there)
    made = ride_day(trike, there, times=2)
    assert [row.kind for row in made.trips] == ["ride", "charge", "wait", "ride", "charge", "wait"]
    assert made.outcome == "done"


def test_a_pack_and_a_supply(trike):
    scooter = evlab.load_vehicle("kick_scooter")
    made = ride_day(scooter, [Leg("park_path", charge=True)], times=2)
    assert made.outcome == "done"
    assert abs(made.closure) < made.closure_allowed
    assert ride_day(scooter, [Leg("park_path", charge="27 V")], start="90 %").trips[1].outcome == "full"


def test_it_ends_when_the_charger_cannot(trike):
    made = ride_day(trike.change({"charger.source_current_limit": "5 A"}), [UP, DOWN], times=2)
    assert made.outcome == "source overloaded"
    assert "The charge ended with: source overloaded." in made.reason


@pytest.mark.parametrize(("legs", "more", "words"), [
    ([], {}, "one or more evlab.Leg"),
    (["two_sheds_up"], {}, "one or more evlab.Leg"),
    (7, {}, "one or more evlab.Leg"),
    ([UP], {"times": 0}, "whole number from 1 to 2000"),
    ([UP], {"times": 2.5}, "whole number"),
    ([Leg("two_sheds_up", wait="-5 s")], {}, "wait of leg 1"),
    ([UP, Leg("two_sheds_up", charge="2000 V")], {}, "charge of leg 2"),
    ([UP], {"start": "0 V"}, "start of ride_day"),
    ([UP], {"wind": "five"}, "wind of ride_day"),
])
def test_what_cannot_be_is_refused_in_words(trike, legs, more, words):
    with pytest.raises(evlab.InputError, match=words):
        ride_day(trike, legs, **more)


def test_its_table(day):
    table = day.table()
    assert list(table.columns[:2]) == ["leg", "kind"]
    assert len(table) == len(day.trips)
    assert math.isfinite(table["end_volts"].sum())
    assert set(day.units) <= set(table.columns)
