"""Bad input for rides: each refusal is one line that says where, what would be right and what came; nothing is lost by it."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

import evlab
from evlab.driver import SetSpeed, ThrottleHeld

NAN, INF = math.nan, math.inf
TRIKE, SCOOTER = evlab.load_vehicle("two_shed_trike"), evlab.load_vehicle("kick_scooter")
UP, DOWN = evlab.load_route("two_sheds_up"), evlab.load_route("two_sheds_down")
FIRST = evlab.ride(TRIKE, UP)
LOG = list(range(40))  # s, a log of a row each second
STEADY = [0.3] * 42


def ride(**told):
    return evlab.ride(TRIKE, UP, **{"time_limit": 20.0} | told)


def trace(times, shares, **more):
    return evlab.ThrottleTrace(times, shares, **more)


def powers(times, watts, **more):
    return evlab.PowerTrace(times, watts, **more)


# what is asked, and words that its refusal must hold: where it was, what came, what would be right
REFUSED = {
    "a trace with a gap": (lambda: trace([*LOG, 100, 101], STEADY), ["times of ThrottleTrace", "39 s and 100 s", "rows 40 and 41"]),
    "a gap longer than told": (lambda: trace([0, 1, 5], [0, 1, 1], longest_gap="3 s"),
                               ["above 3 s", "1 s and 5 s", 'longest_gap="4 s"']),
    "a missing time": (lambda: trace([0, NAN, 2], [0, 1, 0]), ["times, row 2, of ThrottleTrace", "nan"]),
    "a missing share": (lambda: trace(np.arange(3.0), np.array([0, 1, NAN])), ["shares, row 3, of ThrottleTrace", "nan"]),
    "an empty share": (lambda: trace([0, 1], [0, None]), ["shares, row 2", "None"]),
    "an endless time": (lambda: trace([0, INF], [0, 1]), ["times, row 2", "inf"]),
    "a time that falls": (lambda: trace([0, 2, 1], [0, 1, 0]), ["row 3 says 1 s after 2 s"]),
    "a time told twice": (lambda: trace([0, 1, 1], [0, 1, 0]), ["row 3 says 1 s after 1 s"]),
    "a time before the start": (lambda: trace([-1, 1], [0, 1]), ["row 1 says -1 s", "0 s or later"]),
    "an empty trace": (lambda: trace([], []), ["ThrottleTrace", "two or more", "0 and 0"]),
    "a trace of one row": (lambda: trace([0], [1]), ["two or more", "1 and 1"]),
    "rows that do not pair": (lambda: trace([0, 1, 2], [0, 1]), ["equally many", "3 and 2"]),
    "a trace without end": (lambda: trace(range(300_000), [0] * 300_000), ["200000", "300000"]),
    "a share above the limit": (lambda: trace([0, 1], [0, 1.2]), ["shares, row 2", "-1 to 1", "1.2"]),
    "a share below the braking limit": (lambda: trace([0, 1], [0, -1.2]), ["shares, row 2", "-1 to 1", "-1.2"]),
    "per cent without a sign": (lambda: trace([0, 1], [0, 50]), ["shares, row 2", "50"]),
    "times in volts": (lambda: trace(["0 V", "1 V"], [0, 1]), ["times, row 1", "'0 V'", "'1.5 s'"]),
    "shares in amps": (lambda: trace([0, 1], [0, "20 A"]), ["shares, row 2", "'20 A'", "%"]),
    "a trace in one text": (lambda: trace("0 1 2", "0 1 0"), ["times of ThrottleTrace", "row of values"]),
    "a trace of tables": (lambda: trace([[0, 1], [1, 2]], [1, 0]), ["times, row 1", "[0, 1]"]),
    "a gap in metres": (lambda: trace([0, 1], [0, 1], longest_gap="3 m"), ["longest_gap of ThrottleTrace", "'3 m'"]),
    "a gap of less than nothing": (lambda: trace([0, 1], [0, 1], longest_gap=-1), ["longest_gap", "above zero", "-1"]),
    "powers in volts": (lambda: powers([0, 1], ["0 W", "100 V"]), ["powers, row 2, of PowerTrace", "'100 V'", "W"]),
    "a power that is none": (lambda: powers([0, 1], [0, NAN]), ["powers, row 2, of PowerTrace", "nan"]),
    "a power station": (lambda: powers([0, 1], [0, 1e12]), ["PowerTrace", "100 kW", "1e+12"]),
    "powers at the pedals": (lambda: powers([0, 1], [0, 100], at="pedals"), ["at of PowerTrace", '"store" or "wheel"', "'pedals'"]),
    "a held power at the motor": (lambda: evlab.PowerHeld(100, at="motor"), ["at of PowerHeld", "'motor'"]),
    "a held power that is none": (lambda: evlab.PowerHeld(NAN), ["power of PowerHeld", "nan"]),
    "a held power of a station": (lambda: evlab.PowerHeld("2 MW"), ["power of PowerHeld", "2 MW"]),
    "a held power in volts": (lambda: evlab.PowerHeld("300 V"), ["power of PowerHeld", "'300 V'", "W"]),
    "legs that brake": (lambda: SetSpeed(pedalling_power=-20), ["pedalling_power of [driver]", "0 W", "-20 W"]),
    "legs that brake, in a trace": (lambda: trace([0, 1], [0, 1], pedalling_power="-20 W"), ["pedalling_power", "-20 W"]),
    "legs that brake, in a file": (lambda: TRIKE.change(driver={"pedalling_power": "-20 W"}),
                                   ["pedalling_power of [driver]", "-20 W"]),
    "legs of a horse": (lambda: SetSpeed(pedalling_power="3 kW"), ["pedalling_power", "2000 W", "3000 W"]),
    "legs in volts": (lambda: SetSpeed(pedalling_power="80 V"), ["pedalling_power", "'80 V'", "W"]),
    "legs that are no number": (lambda: SetSpeed(pedalling_power=NAN), ["pedalling_power", "nan"]),
    "a throttle beyond full": (lambda: ThrottleHeld(5.0), ["share of", "5"]),
    "a throttle that is no number": (lambda: ThrottleHeld(NAN), ["share of", "nan"]),
    "a throttle in words": (lambda: ThrottleHeld("half"), ["share of", "'half'"]),
    "a throttle beyond full, in a file": (lambda: TRIKE.change(driver={"kind": "throttle held", "share": "150 %"}),
                                          ["share of [driver]", "100 %", "'150 %'"]),
    "no pace": (lambda: SetSpeed(pace=0.0), ["pace of", "0"]),
    "a pace backwards": (lambda: SetSpeed(pace=-1.0), ["pace of", "-1"]),
    "a pace that is no number": (lambda: SetSpeed(pace=NAN), ["pace of", "nan"]),
    "a gentleness that is no number": (lambda: SetSpeed(rise=NAN), ["rise of", "nan"]),
    "a start above the window": (lambda: ride(start="36 V"), ["start of ride", "35 V", "36 V"]),
    "a start above the window, by charge": (lambda: ride(start="110 %"), ["start of ride", "35 V", "110 %"]),
    "a start that is no number": (lambda: ride(start=NAN), ["start of ride", "V", "nan"]),
    "a start at nothing": (lambda: ride(start=0.0), ["start of ride", "above zero", "0"]),
    "a start below nothing": (lambda: ride(start="-5 %"), ["start of ride", "above 0 %", "'-5 %'"]),
    "a start in amps": (lambda: ride(start="20 A"), ["start of ride", "'20 A'", "V"]),
    "a start in words": (lambda: ride(start="full"), ["start of ride", "'full'", "V"]),
    "a vehicle as start": (lambda: ride(start=TRIKE), ["start of ride"]),
    "a ride of another kind of store": (lambda: ride(start=evlab.ride(SCOOTER, UP)),
                                        ["start of ride", "'capacitors'", "'lithium'"]),
    "a ride of another bank": (lambda: ride(start=evlab.ride(TRIKE.change(store={"cells_in_series": 13}), UP)),
                               ["Input start", "cells_in_series", "start="]),
    "a wind that is no number": (lambda: ride(wind=NAN), ["wind of ride", "nan"]),
    "a wind that nobody rides in": (lambda: ride(wind=1e6), ["wind of ride", "40 m/s"]),
    "a wind with a bearing, on a way without": (lambda: ride(wind=evlab.Wind(3.0, "270 deg")), ["wind of ride", "bearing"]),
    "a wind in kilograms": (lambda: ride(wind="5 kg"), ["wind of ride", "'5 kg'", "m/s"]),
    "winds as a bare list": (lambda: ride(wind=[(0, 3), (50, 6)]), ["wind of ride", "[(0, 3), (50, 6)]"]),
    "winds of nothing": (lambda: evlab.WindAlong([]), ["rows of WindAlong", "[]"]),
    "winds that begin late": (lambda: evlab.WindAlong([(10, 3)]), ["rows of WindAlong", "0 m", "10"]),
    "winds that go back": (lambda: evlab.WindAlong([(0, 3), (50, 1), (40, 2)]), ["rows of WindAlong", "behind", "40"]),
    "winds at places in seconds": (lambda: evlab.WindAlong([("0 s", 3)]), ["row 1 of WindAlong", "'0 s'", "m"]),
    "winds that are no numbers": (lambda: evlab.WindAlong([(0, 1), (20, NAN)]), ["row 2 of WindAlong", "nan"]),
    "winds of a storm": (lambda: evlab.WindAlong([(0, 90)]), ["row 1 of WindAlong", "40 m/s", "90 m/s"]),
    "winds in threes": (lambda: evlab.WindAlong([(0, 3, 4)]), ["row 1 of WindAlong", "(0, 3, 4)"]),
    "a winding of ice": (lambda: ride(winding=20), ["winding of ride", "kelvin", "20"]),
    "a winding of fire": (lambda: ride(winding="300 degC"), ["winding of ride", "200 °C", "'300 degC'"]),
    "a winding in words": (lambda: ride(winding="hot"), ["winding of ride", "'hot'", "degC"]),
    "no time": (lambda: ride(time_limit=0), ["time_limit of ride", "above zero", "0"]),
    "time in metres": (lambda: ride(time_limit="5 m"), ["time_limit of ride", "'5 m'", "s"]),
    "steps of nothing": (lambda: ride(step=0), ["step of ride", "0.2 s", "0"]),
    "steps in words": (lambda: ride(step="fine"), ["step of ride", "fine"]),
    "a driver in words": (lambda: ride(driver="careful"), ["driver of ride", "'careful'", "evlab.SetSpeed()"]),
    "a driver not yet made": (lambda: ride(driver=ThrottleHeld), ["driver of ride", "evlab.ThrottleHeld()"]),
    "a vehicle by its name": (lambda: evlab.ride("two_shed_trike", UP), ["vehicle of ride", "evlab.load_vehicle()"]),
    "route and vehicle changed about": (lambda: evlab.ride(UP, TRIKE), ["vehicle of ride", "evlab.load_vehicle()"]),
    "a vehicle for a route": (lambda: evlab.ride(TRIKE, TRIKE), ["route of ride", "evlab.load_route()"]),
    "a plan of no speed": (lambda: UP.with_speeds([(0, 0)]), ["speed of row 1 of with_speeds", "above zero", "0"]),
    "a plan that begins late": (lambda: UP.with_speeds([(10, 2)]), ["row 1 of with_speeds", "0 m", "10 m"]),
    "a plan of one number": (lambda: UP.with_speeds(3), ["with_speeds", "3"]),
    "a plan beyond the way": (lambda: UP.with_speeds([(0, 2), (5000, 3)]), ["row 2 of with_speeds", "175 m", "5000 m"]),
    "what would save a vehicle": (lambda: evlab.nearest_changes(TRIKE), ["result of nearest_changes", "evlab.ride()"]),
    "what would save nothing": (lambda: evlab.nearest_changes(None), ["result of nearest_changes", "None", "evlab.ride()"]),
    "what would save it, misspelt": (lambda: evlab.nearest_changes(FIRST, ["road.draga_rea"]),
                                     ["names of nearest_changes", "road.drag_area"]),
    "half a ride in a band": (lambda: evlab.tolerance_band(TRIKE, UP, runs=0.5), ["runs of tolerance_band", "20", "0.5"]),
    "too few rides in a band": (lambda: evlab.tolerance_band(TRIKE, UP, runs=3), ["runs of tolerance_band", "20", "3"]),
    "a draw by words": (lambda: evlab.tolerance_band(TRIKE, UP, runs=20, seed="lucky"), ["seed of tolerance_band", "'lucky'"]),
    "a band that starts above the window": (lambda: evlab.tolerance_band(TRIKE, UP, runs=20, start="50 V"),
                                            ["start of", "35 V", "50 V"]),
    "a route for hard days": (lambda: evlab.hard_days(UP, UP), ["vehicle of hard_days", "evlab.load_vehicle()"]),
    "one vehicle against nothing": (lambda: evlab.compare({"a": TRIKE}, UP), ["cases of compare", "two to four", "1"]),
    "vehicles without a way": (lambda: evlab.compare({"a": TRIKE, "b": TRIKE}), ["route of compare"]),
    "rides on two ways": (lambda: evlab.compare({"up": FIRST, "down": evlab.ride(TRIKE, "two_sheds_down")}),
                          ["compare", "Two sheds, down"]),
    "a hill test upwards": (lambda: evlab.HillTest(TRIKE, UP), ["route of HillTest", "down", "route.reversed()"]),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_is_refused_in_words(name):
    job, words = REFUSED[name]
    with pytest.raises(evlab.InputError) as refused:
        job()
    told = str(refused.value)
    assert re.match(r"Input .+ must .+; instead .+", told), told
    assert "\n" not in told
    assert len(told) < 330, told
    assert not [w for w in words if w not in told], told


# ---------------------------------------------------------------- junk everywhere
JUNK = [None, NAN, INF, -INF, -1, 0, 1e30, 10**400, True, "", " ", "x", "5 kg", "-3", "nan V", "inf W", "1e999 W", [], [1],
        [[0, 1]], {}, (), object(), b"5", 1j, np.float64("nan"), np.array([1.0, 2.0]), TRIKE, FIRST, ThrottleHeld]
PLACES = {
    "times": lambda x: trace(x, [0, 1]), "shares": lambda x: trace([0, 1], x), "powers": lambda x: powers([0, 1], x),
    "a time": lambda x: trace([0, x], [0, 1]), "a share": lambda x: trace([0, 1], [x, 1]),
    "a power": lambda x: powers([0, 1], [x, 1]), "a gap": lambda x: trace([0, 1], [0, 1], longest_gap=x),
    "where power is": lambda x: evlab.PowerHeld(100.0, at=x),
    "a held power": evlab.PowerHeld, "legs": lambda x: SetSpeed(pedalling_power=x), "pace": lambda x: SetSpeed(pace=x),
    "a held throttle": ThrottleHeld, "winds": evlab.WindAlong, "a row of winds": lambda x: evlab.WindAlong([x]),
    "the place of a wind": lambda x: evlab.WindAlong([(x, 1)]), "the wind at a place": lambda x: evlab.WindAlong([(0, x)]),
    "a plan": UP.with_speeds, "a row of a plan": lambda x: UP.with_speeds([x]), "start": lambda x: ride(start=x),
    "wind": lambda x: ride(wind=x), "winding": lambda x: ride(winding=x), "time limit": lambda x: ride(time_limit=x),
    "step": lambda x: ride(step=x), "driver": lambda x: ride(driver=x), "vehicle": lambda x: evlab.ride(x, UP),
    "names": lambda x: evlab.nearest_changes(FIRST, x), "runs": lambda x: evlab.tolerance_band(TRIKE, UP, runs=x),
    "random seed": lambda x: evlab.tolerance_band(TRIKE, UP, runs=20, seed=x),
    "hard days": lambda x: evlab.hard_days(TRIKE, UP, start=x),
    "sides": lambda x: evlab.compare(x, UP), "a side": lambda x: evlab.compare({"a": TRIKE, "b": x}, UP),
    "the hill's start": lambda x: evlab.HillTest(TRIKE, DOWN, start=x),
}


@pytest.mark.parametrize("place", PLACES)
def test_junk_is_taken_or_refused_and_never_more(place):
    for junk in JUNK:
        try:
            made = PLACES[place](junk)
        except evlab.InputError as refused:
            told = str(refused)
            assert "\n" not in told, (junk, told)
            assert len(told) < 330, (junk, told)
            continue
        if isinstance(made, evlab.riding.Result):
            assert abs(made.closure) <= made.closure_allowed, (junk, made)
            assert 0 < made.column("store_volts").min() <= made.column("store_volts").max() < 35.01, (junk, made)


# ---------------------------------------------------------------- nothing is lost, and what can be is taken
def test_a_refusal_leaves_all_as_it_was():
    text, ledger, held = TRIKE.text, dict(FIRST.ledger), evlab.ThrottleTrace([0, 1], [0, 0.5])
    for job, _ in REFUSED.values():
        with pytest.raises(evlab.InputError):
            job()
    assert TRIKE.text == text
    assert FIRST.ledger == ledger
    assert held.shares == (0.0, 0.5)
    assert repr(evlab.ride(TRIKE, UP)) == repr(FIRST)


def test_units_in_words_and_whole_numbers_are_taken():
    by_text = trace(["0 s", "0.5 min"], ["20 %", "80 %"])
    assert (by_text.times, by_text.shares) == ((0.0, 30.0), pytest.approx((0.2, 0.8)))
    assert powers(["0 ms", "1 min"], ["0 W", "0.2 kW"]).powers == (0.0, 200.0)
    assert ride(driver=ThrottleHeld(1)).distance == ride(driver=ThrottleHeld(1.0)).distance  # a whole number is a number
    assert ride(wind="18 km/h").distance == pytest.approx(ride(wind=5.0).distance, rel=1e-9)
    assert ride(start="100 %").end_voltage == pytest.approx(ride(start="35 V").end_voltage)
    bridged = trace([*LOG, 100, 101], STEADY, longest_gap="61 s")
    assert len(bridged.times) == len(STEADY)


def test_traces_by_chance_ride_with_a_closed_ledger():
    draws = np.random.default_rng(8)
    for _ in range(40):
        times = np.cumsum(draws.uniform(0.3, 8.0, 12))
        values = draws.uniform(-1, 1, 12)
        driver = trace(times, values, pedalling_power=float(draws.choice([0.0, 80.0]))) if draws.random() < 0.5 else powers(
            times, 500 * values, at=str(draws.choice(["store", "wheel"])))
        wind = evlab.WindAlong([(0, float(draws.uniform(-4, 4))), (float(draws.uniform(5, 60)), float(draws.uniform(-6, 6)))])
        r = ride(driver=driver, wind=wind, start=float(draws.uniform(18, 35)), time_limit=90.0)
        assert abs(r.closure) < r.closure_allowed, (driver, wind)
        assert r.column("store_volts").max() < 35.0 + 1e-6
