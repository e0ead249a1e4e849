"""Demands along the time, legs, a full store and a wind that changes: rides against the one written apart and against published rows."""

from __future__ import annotations

import dataclasses
import math

import independent_ride
import numpy as np
import pytest

import evlab
from evlab import riding
from evlab.driver import ThrottleHeld
from evlab.route import Route
from evlab.supply import Supply

TRIKE = evlab.load_vehicle("two_shed_trike")
EMPTIES = TRIKE.change(load={"cargo": 20.0})
UP, DOWN = evlab.load_route("two_sheds_up"), evlab.load_route("two_sheds_down")
SLOWING = [(DOWN.limits[1][0], DOWN.limits[1][1])]
LANE = Route.from_segments([("150 m", "0 %", "5 m/s"), ("80 m", "4 %", "4 m/s"), ("120 m", "-3 %", "5 m/s"), ("400 m", "0 %", "5 m/s")])
FALL = Route.from_segments([("30 m", "0 %", "4 m/s"), ("400 m", "-6 %", "4 m/s"), ("60 m", "0 %", "3 m/s")])
PUSHES = evlab.ThrottleTrace([0, 4, 20, 24, 40, 44, 80], [0, 0.6, 0.3, 0.0, 0.0, 0.9, 0.4])
HALTS = evlab.ThrottleTrace([0, 1, 12, 14, 30, 31, 45], [0, 0.8, 0.8, -1.0, -1.0, 0.5, 0.5])
SPINS = TRIKE.change(gearing={"freewheel": True})
COLD = TRIKE.change(road={"air_temperature": "-5 degC"})


def legs(watts, **more):
    return dataclasses.replace(TRIKE.driver, pedalling_power=watts, **more)


# name: vehicle, route, start, what `evlab.ride` is told, what the ride written apart is told besides
RIDES = {
    "legs help up the ramp": (TRIKE, UP, 30.0, {"driver": legs(90.0)}, {}),
    "legs bring it further before the cut-off": (TRIKE, UP, 20.0, {"driver": legs(60.0)}, {}),
    "legs while the motor brakes": (EMPTIES, DOWN, 24.0, {"driver": legs(100.0)}, {"approach": SLOWING}),
    "legs and a freewheel": (SPINS, LANE, 30.0, {"driver": legs(120.0, descent_slowing=1e9)}, {}),
    "at four fifths of the posted speeds": (TRIKE, UP, 30.0, {"driver": legs(0.0, pace=0.8)}, {}),
    "a full store on a long descent": (TRIKE, FALL, 34.95, {}, {}),
    "a full store and legs": (TRIKE, FALL, 35.0, {"driver": legs(80.0)}, {}),
    "a throttle held": (TRIKE, LANE, 33.0, {"driver": ThrottleHeld(0.45), "time_limit": 60.0}, {}),
    "full throttle to the cut-off": (TRIKE, LANE, 18.0, {"driver": ThrottleHeld(1.0)}, {}),
    "a throttle trace": (TRIKE, LANE, 32.0, {"driver": PUSHES, "time_limit": 90.0}, {}),
    "a throttle trace that halts on the way": (TRIKE, LANE, 32.0, {"driver": HALTS, "time_limit": 50.0}, {}),
    "a throttle trace, full store": (TRIKE, FALL, 34.99, {"driver": evlab.ThrottleTrace([0, 5, 20, 22, 60], [0.4, 0.4, 0.1, -0.9, -0.5]),
                                                          "time_limit": 50.0}, {}),
    "a power at the store": (TRIKE, LANE, 30.0, {"driver": evlab.PowerHeld(300.0), "time_limit": 90.0}, {}),
    "a power at the store to the cut-off": (TRIKE, LANE, 17.0, {"driver": evlab.PowerHeld(400.0)}, {}),
    "a power at the wheel": (TRIKE, LANE, 30.0, {"driver": evlab.PowerHeld(200.0, at="wheel", pedalling_power=50.0)}, {}),
    "a trace of powers at the store": (TRIKE, LANE, 30.0, {
        # braking begins to fail along a root there, and steps of 0.02 s are 0.02 ms off at the halt, of 0.005 s a hundredth of it
        "driver": evlab.PowerTrace([0, 10, 20, 25, 40, 60], [100, 500, 500, -150, -400, 200]), "time_limit": 60.0, "step": 0.005}, {}),
    "a trace of powers at the wheel": (TRIKE, LANE, 30.0, {
        "driver": evlab.PowerTrace([0, 10, 20, 25, 32, 60], [50, 400, 400, -60, -60, 250], at="wheel"), "time_limit": 60.0}, {}),
    "a wind that changes": (TRIKE, UP, 33.0, {"wind": [(0.0, -3.0), (50.0, 6.0), (150.0, 1.0)]}, {}),
    "a wind that changes, too much of it": (TRIKE, UP, 24.0, {"wind": [(0.0, 0.0), (61.0, 9.0)]}, {}),
    "a warm winding": (TRIKE, UP, 30.0, {"winding": 350.0}, {}),
    "frost, a throttle and a wind": (COLD, LANE, 30.0, {"driver": PUSHES, "time_limit": 80.0, "wind": [(0.0, 2.0), (90.0, -4.0)]}, {}),
}


def both(name):
    """The ride, and what the one written apart says of it."""
    vehicle, route, start, told, more = RIDES[name]
    rows = told.get("wind", 0.0)
    apart = independent_ride.ride(vehicle, route, start, rows, driver=told.get("driver"), limit=told.get("time_limit", 3000.0),
                                  winding=told.get("winding"), **more)
    r = evlab.ride(vehicle, route, start=start, **told | {"wind": evlab.WindAlong(rows) if rows else 0.0})
    return r, apart


# ---------------------------------------------------------------- the ride written apart: SciPy's solver on the Python face
@pytest.mark.parametrize("name", RIDES)
def test_scipy_rides_the_same(name):
    r, (outcome, time, place, terminal, first, second, winding) = both(name)
    assert r.outcome == outcome
    state, (warmth,) = r.end_state("capacitors")
    mine = (r.duration, r.distance, r.end_voltage, state[0], state[1], warmth)
    # two numerical routes: a hundredth of a millisecond, millimetre, millivolt, millikelvin apart at most
    assert mine == pytest.approx((time, place, terminal, first, second, winding), abs=1e-5)
    assert abs(r.closure) < r.closure_allowed
