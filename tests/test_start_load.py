"""A start with a vehicle to move: its load at the shaft by hand, the energy over a dead spot, the motion by SciPy at the wheel, a
freewheel, scale laws, refusals."""

from __future__ import annotations

import math
import re
import time

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

import evlab
from evlab import InputError, Sensed, WindingCase
from evlab.start_load import GROUND, RAISED, ShaftLoad
from evlab.start_map import Rig, map_starts
from evlab.turning import EmfShape

# The trike of the two sheds, typed in: kg, tan, m, gearing 76:15, one chain of 95 %.
MASS, WHEELS, CRR, RADIUS, RATIO, CHAIN, G = 192.0, 6.0, 0.012, 0.245, 76 / 15, 0.95, 9.80665
ROTOR, DRAG, VISCOUS = 0.02266, 0.10, 0.002
TRIKE = evlab.load_vehicle("two_shed_trike")
FREE = TRIKE.change({"gearing.freewheel": True})
PEAK = 5.35  # N m: about what 25 A give one phase of it
SINE = EmfShape.sine(PEAK / 25)


def rig(slope=0.0, peak=PEAK, vehicle=TRIKE, wheel=GROUND, scheme="one phase", **more):
    return Rig.of(EmfShape.sine(peak / 25), 6, **{
        "inertia": ROTOR, "friction": DRAG, "viscous": VISCOUS, "current": 25.0, "scheme": scheme,
        "load": ShaftLoad.of(vehicle, slope, wheel), **more})


def weights(slope):
    """Forces of slope and rolling at the wheel [N]."""
    angle = math.atan(slope)
    return MASS * G * math.sin(angle), MASS * G * CRR * math.cos(angle)


# ---------------------------------------------------------------- the load by hand
@pytest.mark.parametrize(("slope", "pulls", "rolls", "off", "back"), [
    (0.0, 0.0, 22.5945, 1.2501, 0.0), (0.07, 131.480, 22.5394, 7.9396, 4.9044), (0.012, 22.5929, 22.5929, 2.4000, 0.0)])
def test_the_load_by_hand(slope, pulls, rolls, off, back):
    """192 kg x 9.80665 are 1882.877 N; a lever of 0.245/(76/15) = 0.0483553 m; 5 % stays in the chain."""
    load = ShaftLoad.of(TRIKE, slope)
    assert load.slope == pytest.approx(pulls, abs=5e-4 if slope > 0.05 else 5e-5)
    assert load.rolling == pytest.approx(rolls, abs=5e-5)
    assert load.starting(0.10) == pytest.approx(off, abs=5e-5)
    assert load.rolls_back(0.10) == pytest.approx(back, abs=5e-5)
    parts = load.parts(0.10)
    assert sum(parts.values()) == pytest.approx(off, abs=5e-5)
    assert parts["motor"] == 0.10
    assert parts["rolling"] == pytest.approx(rolls * 0.048355 / 0.95, abs=5e-5)


def test_what_is_set_in_motion():
    """192 kg and 6 kg of wheels on a lever of 0.048355 m, and the rotor."""
    assert ShaftLoad.of(TRIKE).inertia(ROTOR) == pytest.approx(198.0 * 0.048355**2 + ROTOR, rel=2e-5)
    assert ShaftLoad.of(TRIKE).inertia(TRIKE.motor.inertia) == pytest.approx(TRIKE.effective_mass * (RADIUS / RATIO) ** 2)
    assert ShaftLoad.of(TRIKE, 0.07, RAISED).inertia(ROTOR) == pytest.approx(ROTOR)


def test_a_raised_wheel_leaves_the_motor_alone():
    load = ShaftLoad.of(FREE, "7 %", RAISED)
    assert (load.starting(0.10), load.rolls_back(0.10), load.freewheel) == (0.10, 0.0, False)
    alone, raised = rig(load=None), rig(0.07, wheel=RAISED)
    assert [raised.let_go(a) for a in (0.1, 1.0, 3.0)] == [alone.let_go(a) for a in (0.1, 1.0, 3.0)]


def test_bearings_two_stages_and_cargo_count():
    other = TRIKE.change({"road.bearing_force": 3.0, "gearing.shaft_driver_teeth": 10, "gearing.shaft_driven_teeth": 20,
                          "load.cargo": TRIKE.load.cargo + 10.0})
    force = 202.0 * G * CRR + 3.0
    assert ShaftLoad.of(other).starting(0.10) == pytest.approx(force * RADIUS / (2 * RATIO * CHAIN**2) + 0.10)


# ---------------------------------------------------------------- by energy
def test_the_dead_share_by_energy_on_the_level():
    """Let go before a dead spot it gets over where its work, less that of all that holds, is never below zero on the way: found
    by quadrature at the wheel.  Viscous drag is left out."""
    lever = RADIUS / RATIO
    held = MASS * G * CRR * lever

    def gain(a):  # work that moves all, for each radian of the shaft
        shaft = PEAK * abs(math.sin(a)) - DRAG
        return shaft * (CHAIN if shaft > 0 else 1 / CHAIN) - held

    holds = math.asin((held / CHAIN + DRAG) / PEAK)
    kinks = [-math.asin(DRAG / PEAK), 0.0, math.asin(DRAG / PEAK)]
    creeps = brentq(lambda a: quad(gain, -a, holds, points=kinks, epsabs=1e-13)[0], holds, 1.5)
    made = map_starts(rig(viscous=0.0), 3600)
    assert made.shares["stays"] == pytest.approx(2 * holds / math.pi, abs=2 / 3600)
    assert made.stuck == pytest.approx((creeps + holds) / math.pi, abs=2 / 3600)
    assert made.stuck > 10 * map_starts(rig(wheel=RAISED), 3600).stuck


def test_torque_and_load_of_another_vehicle_by_the_balance_alone():
    """Half the torque and half the masses: the same shares, however fast."""
    light = TRIKE.change({"load.rider": 0.0, "load.cargo": 0.0})
    light = light.change({"vehicle.frame_mass": light.vehicle.frame_mass + 96.0 - light.mass})
    assert light.mass == pytest.approx(96.0)
    whole, part = map_starts(rig(0.015, viscous=0.0), 720), map_starts(
        rig(0.015, PEAK / 2, light, friction=DRAG / 2, viscous=0.0), 720)
    assert (whole.codes == part.codes).mean() > 0.99  # the wheels' inertia is no half


# ---------------------------------------------------------------- by SciPy, at the wheel
class Wheel:
    """The vehicle in metres and kilograms, its motor behind a chain; what the way of moving asks stands here once more."""

    def __init__(self, slope, peak, freewheel, error=0.0):
        self.pulls, self.rolls = weights(slope)
        self.peak, self.freewheel, self.error, self.lever = peak, freewheel, error, RADIUS / RATIO

    def pull(self, x, sector):
        return self.peak * math.sin(x) * (-1) ** sector

    def force(self, shaft, way):
        """At the wheel; the chain's loss is paid by the side that drives."""
        return shaft / self.lever * (CHAIN if shaft * way >= 0 else 1 / CHAIN)

    def together(self, x, w, sector, way):
        shaft = self.pull(x, sector) - way * DRAG - VISCOUS * w
        push = self.force(shaft, way) - self.pulls - way * self.rolls
        return push / (MASS + WHEELS + ROTOR / self.lever**2) / self.lever

    def alone(self, x, w, sector, way):
        return (self.pull(x, sector) - way * DRAG - VISCOUS * w) / ROTOR

    def rolling(self, u):
        """Of the vehicle by itself, as a rate of the shaft's speed."""
        if u > 0:
            return -(self.pulls + self.rolls) / (MASS + WHEELS) / self.lever
        return -max(self.pulls - self.rolls, 0.0) / (MASS + WHEELS) / self.lever

    def at_rest(self, x, sector, u):
        """(way, whether the motor goes alone) of a motor at rest, the vehicle's speed being u."""
        pull = self.pull(x, sector)
        if u > 0:
            return (1 if pull > DRAG else -1 if pull < -DRAG else 0), True
        if pull > DRAG and self.together(x, 0.0, sector, 1) > 0:
            return 1, False
        if self.freewheel and pull < -DRAG and (pull + DRAG) / ROTOR < self.rolling(0.0):
            return -1, True
        return (-1 if self.together(x, 0.0, sector, -1) < 0 else 0), False

    def let_go(self, angle):
        """(what becomes of it, where it ends, seconds), leg by leg."""
        x, w, u, alone, time, swung, back = angle, 0.0, 0.0, False, 0.0, 0, False
        sector, way = math.floor((angle - self.error) / math.pi), 1
        for _ in range(3000):
            if w == 0.0:
                edge = round((x - self.error) / math.pi) * math.pi + self.error
                left = round((edge - self.error) / math.pi) - 1
                level = self.pulls * self.lever
                buzz = abs(x - edge) < 1e-3 and self.pull(edge, left) > level > self.pull(edge, left + 1)
                way, alone = self.at_rest(x, sector, u)
                if alone and u > 0 and (buzz or way == 0):
                    time, u, alone = time - u / self.rolling(u), 0.0, False
                    continue
                if buzz or way == 0:
                    held = "locked" if buzz or swung > 1 or back else "creeps into the dead spot"
                    return held if swung else "stays", x, time
                swung += 1
            x, w, u, alone, sector, spent = self.leg(x, w, u, alone, sector, way)
            time, back = time + spent, back or x < angle - 1e-9
            if abs(x - angle) > self.goal - 1e-9:
                return ("runs backwards" if x < angle else "thrown back, then starts" if back else "starts"), x, time
        return "undecided", x, time

    def leg(self, x, w, u, alone, sector, way):
        """Until something happens: the motor stops, the sensor switches, the freewheel locks or lets go, or it went far enough."""
        edge = self.error + (sector + (way > 0)) * math.pi
        begun, goal = self.begun, self.goal

        def slope(_t, y):
            rate = (self.alone if alone else self.together)(y[0], y[1], sector, way)
            return [6 * y[1], rate, self.rolling(u) if alone else rate]

        def stops(t, y):
            return way * y[1] if t > 1e-9 else 1.0

        def switches(t, y):
            return way * (edge - y[0]) if t > 1e-9 else 1.0

        def locks(t, y):
            return y[2] - y[1] if alone and t > 1e-7 else 1.0

        def lets_go(t, y):
            own = self.alone(y[0], y[1], sector, way) - self.rolling(y[1])
            return own if self.freewheel and not alone and t > 1e-7 else 1.0

        def stands(t, y):  # the vehicle: its rolling turns round
            return y[2] if alone and u > 0 and t > 1e-9 else 1.0

        def gone(_t, y):
            return goal - abs(y[0] - begun)

        events = (stops, switches, locks, lets_go, stands, gone)
        for event in events:
            event.terminal, event.direction = True, -1
        made = solve_ivp(slope, (0.0, 60.0), [x, w, u], method="DOP853", rtol=1e-10, atol=1e-12, events=events)
        x, w, u = (float(v) for v in made.y[:, -1])
        hit = [bool(len(t)) for t in made.t_events]
        return *self.after(hit, x, w, u, alone, sector, way), float(made.t[-1])

    def after(self, hit, x, w, u, alone, sector, way):
        """What the event at the end of a leg makes of it; at a switching the angle is that of the sensor."""
        if hit[0]:
            return x, 0.0, u if alone else 0.0, alone, sector
        if hit[1]:
            return self.error + (sector + (way > 0)) * math.pi, w, u, alone, sector + way
        if hit[2] or hit[3]:
            return x, w, w, hit[3], sector
        return x, w, 0.0 if hit[4] else u, alone, sector

    def outcome(self, angle, goal):
        self.begun, self.goal = angle, goal
        return self.let_go(angle)


CASES = {
    "level": {}, "ramp of 2 %": {"slope": 0.02}, "ramp of 7 %": {"slope": 0.07}, "more amps up 5 %": {"slope": 0.05, "peak": 20.0},
    "late sensor": {"peak": 12.0, "error": 0.25}, "late sensor up 4 %": {"slope": 0.04, "peak": 14.0, "error": 0.25},
    "early sensor up 4 %": {"slope": 0.04, "peak": 14.0, "error": -0.25}}


@pytest.mark.parametrize("freewheel", [False, True], ids=["rigid", "freewheel"])
@pytest.mark.parametrize("case", CASES)
def test_another_solver_at_the_wheel_says_the_same(case, freewheel):
    asked = {"slope": 0.0, "peak": PEAK, "error": 0.0} | CASES[case]
    wheel = Wheel(freewheel=freewheel, **asked)
    made = rig(asked["slope"], asked["peak"], FREE if freewheel else TRIKE, error=asked["error"])
    seen = set()
    for degrees in (2.0, 12.0, 25.0, 47.0, 80.0, 110.0, 135.0, 152.0, 168.0, 178.5):
        word, end, _, seconds = made.let_go(math.radians(degrees))
        goal = max(4 * math.pi, abs(end - math.radians(degrees)))  # a path ends with its step
        other, there, spent = wheel.outcome(math.radians(degrees), goal)
        assert word == other, degrees
        seen.add(word)
        if word in ("stays", "creeps into the dead spot", "locked"):
            assert end == pytest.approx(there, abs=4e-3)
        assert seconds == pytest.approx(spent, rel=1e-5, abs=2e-3 if word == "locked" else 1e-5)  # a buzz ends 1e-3 rad about
    assert len(seen) > 1


# ---------------------------------------------------------------- the trike
def test_the_trike_on_the_level_on_a_ramp_and_raised():
    """One phase of 25 A; more than 2/π of its peak it cannot give in the mean."""
    level, raised, ramp = (WindingCase(TRIKE, Sensed(**more)).starts["one phase"]
                           for more in ({}, {"wheel": RAISED}, {"slope": "7 %"}))
    assert raised.stuck == pytest.approx(0.025, abs=5e-4)  # as before the vehicle counted
    assert 0.27 < level.stuck < 0.31
    assert ramp.stuck == 1.0
    assert ramp.shares["runs backwards"] > 0.5  # it rolls back: 4.9 N m turn the motor backwards, 3.3 N m it gives in the mean
    assert ramp.rig.peak_torque < ramp.rig.needed


def test_three_phases_on_the_ramp_stay_where_they_pull_less_than_the_load():
    """Six steps of a third harmonic: what the angles give is counted on a fine grid; what comes to rest afterwards adds to it."""
    case = WindingCase(TRIKE, Sensed(slope=0.07))
    made, torque = case.starts["three phases, six-step"], 25.0 * case.over_turn["three phases, six-step"].torque
    assert made.shares["stays"] == pytest.approx(float(np.mean(torque < 7.9396)), abs=2 / 40)  # a sixth of a turn has 40 angles
    assert made.shares["runs backwards"] == 0  # at least 7.8 N m against the 4.9 of the slope


# ---------------------------------------------------------------- laws
def test_a_steeper_slope_never_starts_more():
    stuck = [map_starts(rig(s, viscous=0.0)).stuck for s in (0.0, 0.005, 0.01, 0.015, 0.02, 0.03, 0.05, 0.08)]
    assert stuck == sorted(stuck)
    assert stuck[-1] == 1.0


@pytest.mark.parametrize("vehicle", [TRIKE, FREE], ids=["rigid", "freewheel"])
def test_what_goes_backwards_first_never_starts(vehicle):
    """Neither with a slope nor with a freewheel: the motor comes back no higher than it fell, and then has the vehicle to move."""
    for more in ({"slope": 0.03, "peak": 14.0}, {"slope": 0.05, "peak": 20.0, "error": 0.3}, {"peak": 12.0, "error": -0.4}):
        made = map_starts(rig(vehicle=vehicle, **more), 240)
        assert made.thrown > 0
        assert made.shares["thrown back, then starts"] == made.shares["undecided"] == 0


def test_without_friction_a_slope_rolls_every_rotor_back_that_pulls_too_little():
    smooth = TRIKE.change({"road.rolling_coefficient": 0.0, "gearing.chain_efficiency": 1.0})
    holds = math.asin(weights(0.02)[0] * RADIUS / RATIO / PEAK)
    made = rig(0.02, vehicle=smooth, friction=1e-6, viscous=0.0)
    for angle in (0.2 * holds, 0.9 * holds, math.pi - 0.9 * holds):
        assert made.let_go(angle)[2] > 0  # backwards first
    assert made.let_go(1.02 * holds)[2] == 0


def test_a_freewheel_does_not_hold_a_vehicle_on_a_slope():
    for vehicle in (TRIKE, FREE):
        word, end, back, _ = rig(0.07, 1.0, vehicle).let_go(1.0)
        assert (word, end < 0, back > 0) == ("runs backwards", True, True)


def test_the_vehicle_carries_a_rigid_motor_over_what_throws_a_free_one_back():
    """A late sensor pushes backwards before each dead spot: the vehicle carries the motor over it, a freewheel lets it go."""
    rigid, free = (map_starts(rig(peak=12.0, vehicle=v, error=0.25), 360) for v in (TRIKE, FREE))
    assert free.stuck > rigid.stuck


def test_a_small_rotor_behind_a_freewheel_takes_no_longer_to_follow():
    """A hub motor of 0.1 g m2 without gearing: its own steps are a hundred times shorter than those of the vehicle."""
    hub = FREE.change({"gearing.motor_teeth": 20, "gearing.wheel_teeth": 20, "motor.inertia": 1e-4})
    begun = time.perf_counter()
    made = map_starts(rig(0.01, 40.0, hub, inertia=1e-4, error=0.2), 240)
    assert time.perf_counter() - begun < 5.0  # some tenths of a second, not a hundred times that
    assert made.shares["undecided"] == 0


# ---------------------------------------------------------------- refusals
@pytest.mark.parametrize(("make", "words"), [
    (lambda: ShaftLoad.of(TRIKE, -0.01), "slope of a start must be uphill, from 0 % to 40 %: downhill the vehicle rolls off by "
                                         "itself"),
    (lambda: ShaftLoad.of(TRIKE, "50 %"), "instead received '50 %'"), (lambda: ShaftLoad.of(TRIKE, "7 kg"), "slope of a start"),
    (lambda: ShaftLoad.of(TRIKE, 0.0, "lifted"),
     "wheel of a start must be 'on the ground' or 'raised'; instead received 'lifted'")])
def test_what_is_no_start(make, words):
    with pytest.raises(InputError, match=re.escape(words)):
        make()
