"""The demo rides a second time, written apart from the loop: SciPy's adaptive solver over the equations' Python face.

It shares the equations (each proved by its own evidence) and nothing else: no kernel, no event code, no fixed step.  The
store's side is solved here as the quadratic that it is, not by bisection over a black box; a pack reads its table of volts
from the data file on its own, and a converter is a power and two limits.

A vehicle that stands waits until it can go; one that would roll back is not for this file.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from evlab import controller, gearing, lithium, motor, road, store
from evlab.glossary import entry

G = entry("gravity").value
DATA = Path(__file__).parents[1] / "data"


class Bank:
    """Two branches: states are their volts."""

    def __init__(self, part, temperature):
        self.fast, self.slow = (1 - part.slow_share) * part.capacitance, part.slow_share * part.capacitance
        cells = part.resistance - part.lead_resistance
        self.between = part.slow_resistance
        self.ohm = part.lead_resistance + cells * 2 ** ((293.15 - temperature) / 60.0)  # doubled at -40 degC

    def first(self, volts):
        return [volts, volts]

    def inside(self, x):
        return x[0], self.ohm

    def rates(self, x, amps):
        across = (x[0] - x[1]) / self.between
        return [-(amps + across) / self.fast, across / self.slow]


class Pack:
    """State of charge and volts of the slow branch; straight lines between the rows of the table."""

    STIFFER = ([0.0, 0.05, 0.1, 0.2, 0.3, 0.9, 1.0], [2.2, 1.7, 1.35, 1.1, 1.0, 1.0, 1.05])  # as `lithium` states it, from memory

    def __init__(self, part, temperature):
        lines = [line for file in ("evlab-2026-open-volts.csv", "chen-2020-open-volts.csv", "bpx-2022-open-volts.csv")
                 for line in (DATA / file).read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
        rows = [r for r in csv.reader(lines) if r[0] == part.chemistry]
        self.shares, self.cell_volts = [[float(r[i]) for r in rows] for i in (1, 2)]
        self.part, self.n = part, part.cells_in_series
        warmth = lithium.cold_pack_resistance.floats(1.0, temperature, 1850.0, 298.15)
        self.cells = self.n * part.cell_resistance / part.strings_in_parallel * warmth
        self.fixed = self.n * part.joint_resistance + part.lead_resistance
        self.branch = part.branch_resistance * warmth
        self.farad = part.branch_time / self.branch
        self.charge = part.cell_charge * part.strings_in_parallel

    def first(self, volts):
        return [float(np.interp(volts / self.n, self.cell_volts, self.shares)), 0.0]

    def inside(self, x):
        (z1, z2), (u1, u2) = self.shares[-2:], self.cell_volts[-2:]  # held at its charging volts it fills beyond what it rests at
        beyond = max(x[0] - z2, 0.0) * (u2 - u1) / (z2 - z1)
        volts = self.n * (np.interp(x[0], self.shares, self.cell_volts) + beyond) - x[1]
        return volts, self.cells * np.interp(x[0], *self.STIFFER) + self.fixed

    def rates(self, x, amps):
        return [-amps / self.charge, (amps - x[1] / self.branch) / self.farad]


WALK, PEDALS_FROM = 0.5, 1.0  # m/s, as `demands` and `loop` state them, from memory
PATIENCE = 5.0  # s at a standstill
MOVES, LOW, END, HALTS, GOES = "next leg", "cut-off", "arrived", "standstill", "go"


def forces(vehicle, route, s, v, wind):
    r, slope = vehicle.road, float(route.slope(s))
    return (road.rolling_force.floats(vehicle.mass, r.rolling_coefficient, slope, 1.0, G),
            road.air_force.floats(r.air_density, r.drag_area, v, wind, 0.0),
            road.slope_force.floats(vehicle.mass, slope, G),
            r.bearing_force + r.bearing_drag * v)


def asked(vehicle, driver, t, v, set_speed, against, left):
    """What the driver asks: a wheel force [N], a share of the current limits, or a power at the bridge [W]."""
    if driver.kind == "set speed":
        rate = driver.gain * (set_speed - v)
        need = v**2 / (2 * max(left, 1e-3))  # the even slowing that ends at rest where it stops
        if need > 0.8 * driver.stopping:  # sets in over the last fifth of the rate with which it stops
            rate = min(rate, -need * min((need / driver.stopping - 0.8) / 0.2, 1.0))
        return "force", vehicle.effective_mass * rate + against
    if driver.kind == "throttle held":
        return "share", driver.share
    if driver.kind == "throttle trace":
        return "share", float(np.interp(t, driver.times, driver.shares))
    power = driver.power if driver.kind == "power held" else float(np.interp(t, driver.times, driver.powers))
    return ("power", power) if driver.at == "store" else ("force", power / max(v, WALK))


def coil_amps(vehicle, ask, value, emf, ohm, drag, k):
    """The coil current for what is asked, limits aside."""
    c, g = vehicle.controller, vehicle.gearing
    if ask == "share":
        return value * (c.coil_current_limit if value >= 0 else c.braking_current_limit)
    if ask == "force":
        torque = value / (g.ratio / g.wheel_radius) * (1 / g.chain_efficiency if value >= 0 else g.chain_efficiency)
        return (torque + drag) / k
    roots = np.roots([ohm, emf, c.standby_power - value])  # the bridge's power as a square of its current
    return roots.real.max() if np.isreal(roots).all() else -emf / (2 * ohm)


def drive(vehicle, inside, rs, temperature, v, demand):
    """Power, store volts, store amps, drive force, brake force, copper loss for what is asked."""
    m, c, g = vehicle.motor, vehicle.controller, vehicle.gearing
    ask, value = demand
    between = vehicle.converter if vehicle.converter.kind != "none" else None
    w, k = gearing.motor_speed.floats(g.ratio, v, g.wheel_radius), m.drive_constant
    emf, drag = motor.back_emf.floats(k, w), m.drag_torque + m.viscous_drag * w
    ohm = motor.winding_resistance_hot.floats(m.resistance, temperature, 0.00393, 293.15) + c.bridge_resistance
    lever = g.ratio / g.wheel_radius
    amps = coil_amps(vehicle, ask, value, emf, ohm, drag, k)
    if rests := g.freewheel and k * amps < drag:  # the wheel overtakes, the motor stands still
        amps = emf = drag = 0.0

    def volts(i):
        power = controller.bus_power.floats(i, emf, ohm, c.standby_power)
        if between:
            power = power / between.efficiency if power >= 0 else power * between.efficiency
        u = store.voltage_under_power.floats(inside, rs, power)
        return (between.bus_voltage if between else u), u, power / u

    back = 0.0 if between and not between.both_ways else min(c.braking_current_limit, emf / (2 * ohm))
    amps = max(min(amps, c.coil_current_limit), -back)
    full = vehicle.store.charge_voltage
    if amps < 0 and volts(amps)[2] < 0 and volts(amps)[1] > full:  # no more than the store may take
        amps = brentq(lambda i: volts(i)[1] - full, amps, 0.0, xtol=1e-13) if volts(0.0)[1] < full else 0.0
    if (emf + amps * ohm) / volts(amps)[0] > c.duty_limit:
        amps = brentq(lambda i: (emf + i * ohm) - c.duty_limit * volts(i)[0], -60.0, amps, xtol=1e-13)
    most = min(c.store_current_limit, between.current_limit) if between else c.store_current_limit
    if volts(amps)[2] > most:
        amps = brentq(lambda i: volts(i)[2] - most, 0.0, amps, xtol=1e-13)
    shaft = 0.0 if rests else k * amps - drag
    given = shaft * lever * (g.chain_efficiency if shaft >= 0 else 1 / g.chain_efficiency)
    power = controller.bus_power.floats(amps, emf, ohm, c.standby_power)
    brake = max(given - value, 0.0) if ask == "force" and value < 0 else 0.0
    return power, *volts(amps)[1:], given, brake, amps**2 * (ohm - c.bridge_resistance)


class Ride:
    """One ride: state place, speed, two of the store, winding temperature, set speed."""

    def __init__(self, vehicle, route, wind, approach, driver, longest):
        self.vehicle, self.route, self.approach, self.driver = vehicle, route, approach, driver
        self.wind = [(0.0, wind)] if isinstance(wind, float | int) else list(wind)
        self.kept = {"capacitors": Bank, "lithium": Pack}[vehicle.store.kind](vehicle.store, vehicle.road.air_temperature)
        self.places = sorted({*route.nodes[1:-1], *(p for p, _ in (*route.limits[1:], *self.wind[1:]))})
        self.bends = list(getattr(driver, "times", []))
        self.longest = longest
        self.moving, self.before = False, math.inf  # `before`: the next place where something jumps is not looked beyond
        through = vehicle.converter.kind != "none"
        self.stop = vehicle.converter.minimum_voltage if through else vehicle.controller.stop_voltage
        self.compensation = 0.0 if through else vehicle.controller.sag_compensation

    def driven(self, t, y):
        s, v = min(y[0], self.before), max(y[1], 0.0)
        legs = self.driver.pedalling_power * self.vehicle.gearing.chain_efficiency / max(v, PEDALS_FROM)
        wind = [w for place, w in self.wind if place <= s][-1]
        against = sum(forces(self.vehicle, self.route, s, v, wind)) - legs
        demand = asked(self.vehicle, self.driver, t, v, y[5], against, self.route.length - s)
        return against, drive(self.vehicle, *self.kept.inside(y[2:4]), y[4], v, demand)

    def push(self, t, y):
        against, (_, _, _, force, brake, _) = self.driven(t, y)
        return (force - brake - against) / self.vehicle.effective_mass

    def wanted(self, s):
        d = self.driver
        limit = d.pace * [v for place, v in self.route.limits if place <= s][-1]
        for place, v in self.approach:
            if s < place:
                limit = min(limit, math.sqrt((d.pace * v)**2 + 2 * d.descent_slowing * (place - s)))
        return min(limit, math.sqrt(2 * d.stopping * max(self.route.length - s, 0.0)) + d.creep_speed)

    def rates(self, t, y):
        m, d = self.vehicle.motor, self.driver
        _, (_, _, amps, _, _, copper) = self.driven(t, y)
        heat = (copper - (y[4] - self.vehicle.road.air_temperature) / m.thermal_resistance) / m.heat_capacity
        turn = 0.0
        if d.kind == "set speed":
            turn = min(max((self.wanted(min(y[0], self.before)) - y[5]) / d.follow_time, -d.fall), d.rise)
        motion = [y[1], self.push(t, y)] if self.moving else [0.0, 0.0]
        return [*motion, *self.kept.rates(y[2:4], amps), heat, turn]

    def watched(self, place):
        """{what happens: function that passes zero}, each ending a leg."""
        def low(t, y):
            _, (_, u, amps, *_) = self.driven(t, y)
            return u + amps * self.compensation - self.stop

        if not self.moving:
            return {LOW: (low, -1), GOES: (lambda t, y: self.push(t, y) - 1e-9, 1)}
        def there(t, y):  # within 2 mm, or within 30 cm and slower than 6 cm/s
            left = self.route.length - y[0]
            return min(left - 0.002, max(left - 0.3, y[1] - 0.06))

        return {LOW: (low, -1), END: (there, -1), HALTS: (lambda t, y: y[1], -1),
                MOVES: (lambda t, y: y[0] - place, 1)}

    def leg(self, t, y, until):
        """On to the next thing that happens: (what, time, state)."""
        place = min((p for p in self.places if p > y[0] + 1e-6), default=math.inf)
        self.before, watch = np.nextafter(place, -math.inf), []
        named = self.watched(place)
        for function, direction in named.values():
            def event(t, y, function=function):
                return function(t, y)
            event.terminal, event.direction = True, direction
            watch.append(event)
        # atol by size: the solver must see the millivolts of the store and the centimetres of the way
        done = solve_ivp(self.rates, (t, until), y, method="DOP853", rtol=1e-9, atol=1e-9, events=watch, max_step=self.longest)
        happened = [name for name, times in zip(named, done.t_events, strict=True) if len(times)]
        return (happened or [""])[0], done.t[-1], done.y[:, -1]

    def go(self, y, limit):
        """(outcome, time, state) at the end."""
        t = since = 0.0
        while True:
            self.before = math.inf
            if not self.moving:
                self.moving = self.push(t, y) > 1e-9
            until = min(b for b in (*self.bends, limit) if b > t + 1e-9)
            what, t, y = self.leg(t, y, until if self.moving else min(until, since + PATIENCE))
            if what == MOVES:
                y[0] += 1e-9
            elif what == HALTS:
                y[1], self.moving, since = 0.0, False, t
            elif what == GOES:
                self.moving = True
            elif what or t >= limit - 1e-9:
                return what or "time limit", t, y
            elif not self.moving and t >= since + PATIENCE - 1e-9:
                return "stalled", t, y


def ride(vehicle, route, volts, wind=0.0, approach=(), driver=None, limit=3000.0, winding=None, longest=0.25):
    """(outcome, time, place, terminal volts, both states of the store, winding temperature) by SciPy's DOP853.

    `wind` is one head wind or rows of (place, head wind); `approach` the slower stretches downhill that are slowed for;
    `longest` step of the solver [s], which can pass over a bend of a limit unseen.
    """
    trip = Ride(vehicle, route, wind, approach, driver or vehicle.driver, longest)
    warm = vehicle.road.air_temperature if winding is None else winding
    outcome, t, y = trip.go(np.array([0.0, 0.0, *trip.kept.first(volts), warm, 0.0]), limit)
    return outcome, t, y[0], trip.driven(t, y)[1][1], y[2], y[3], y[4]
