"""The demo rides a second time, written apart from the loop: SciPy's adaptive solver over the equations' Python face.

It shares the equations (each proved by its own evidence) and nothing else: no kernel, no event code, no fixed step.  The
store's side is solved here as the quadratic that it is, not by bisection over a black box; a pack reads its table of volts
from the data file on its own, and a converter is a power and two limits.
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
        self.between, self.ohm = part.slow_resistance, part.resistance

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
        lines = [line for file in ("evlab-2026-open-volts.csv", "chen-2020-open-volts.csv")
                 for line in (DATA / file).read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
        rows = [r for r in csv.reader(lines) if r[0] == part.chemistry]
        self.shares, self.cell_volts = [[float(r[i]) for r in rows] for i in (1, 2)]
        self.part, self.n = part, part.cells_in_series
        warmth = lithium.cold_pack_resistance.floats(1.0, 1850.0, 298.15, temperature)
        self.cells = self.n * part.cell_resistance / part.strings_in_parallel * warmth
        self.fixed = self.n * part.joint_resistance + part.lead_resistance
        self.branch = part.branch_resistance * warmth
        self.farad = part.branch_time / self.branch
        self.charge = part.cell_charge * part.strings_in_parallel

    def first(self, volts):
        return [float(np.interp(volts / self.n, self.cell_volts, self.shares)), 0.0]

    def inside(self, x):
        volts = self.n * np.interp(x[0], self.shares, self.cell_volts) - x[1]
        return volts, self.cells * np.interp(x[0], *self.STIFFER) + self.fixed

    def rates(self, x, amps):
        return [-amps / self.charge, (amps - x[1] / self.branch) / self.farad]


def asked_force(vehicle, v, set_speed, against):
    return vehicle.effective_mass * vehicle.driver.gain * (set_speed - v) + against


def forces(vehicle, route, s, v, wind):
    r, slope = vehicle.road, float(route.slope(s))
    return (road.rolling_force.floats(vehicle.mass, r.rolling_coefficient, slope, 1.0, G),
            road.air_force.floats(r.air_density, r.drag_area, v, wind, 0.0),
            road.slope_force.floats(vehicle.mass, slope, G))


def drive(vehicle, inside, rs, temperature, v, force):
    """Power, store volts, store amps, drive force, brake force, copper loss for an asked wheel force."""
    m, c, g = vehicle.motor, vehicle.controller, vehicle.gearing
    between = vehicle.converter if vehicle.converter.kind != "none" else None
    w = gearing.motor_speed.floats(g.ratio, v, g.wheel_radius)
    k = m.drive_constant
    emf = motor.back_emf.floats(k, w)
    ohm = motor.winding_resistance_hot.floats(m.resistance, temperature, 0.00393, 293.15) + c.bridge_resistance
    drag = m.drag_torque + m.viscous_drag * w
    lever = g.ratio / g.wheel_radius
    torque = force / lever / g.chain_efficiency if force >= 0 else force / lever * g.chain_efficiency
    amps = min((torque + drag) / k, c.coil_current_limit)
    back = 0.0 if between and not between.both_ways else min(c.braking_current_limit, emf / (2 * ohm))
    amps = max(amps, -back)

    def volts(i):
        power = controller.bus_power.floats(i, emf, ohm, c.standby_power)
        if between:
            power = power / between.efficiency if power >= 0 else power * between.efficiency
        u = store.voltage_under_power.floats(inside, rs, power)
        return (between.bus_voltage if between else u), u, power / u

    if (emf + amps * ohm) / volts(amps)[0] > c.duty_limit:
        amps = brentq(lambda i: (emf + i * ohm) - c.duty_limit * volts(i)[0], -60.0, amps, xtol=1e-13)
    most = min(c.store_current_limit, between.current_limit) if between else c.store_current_limit
    if volts(amps)[2] > most:
        amps = brentq(lambda i: volts(i)[2] - most, 0.0, amps, xtol=1e-13)
    shaft = k * amps - drag
    given = shaft * lever * (g.chain_efficiency if shaft >= 0 else 1 / g.chain_efficiency)
    _, u, drawn = volts(amps)
    power = controller.bus_power.floats(amps, emf, ohm, c.standby_power)
    return power, u, drawn, given, max(given - force, 0.0) if force < 0 else 0.0, amps**2 * (ohm - c.bridge_resistance)


def wanted(vehicle, route, s, approach):
    d = vehicle.driver
    limit = [v for place, v in route.limits if place <= max(s, 0.0)][-1]
    for place, v in approach:
        if s < place:
            limit = min(limit, math.sqrt(v**2 + 2 * d.descent_slowing * (place - s)))
    return min(limit, math.sqrt(2 * d.stopping * max(route.length - s, 0.0)) + d.creep_speed)


def ride(vehicle, route, volts, wind=0.0, approach=()):
    """(outcome, time, place, terminal volts, both states of the store, winding temperature) by SciPy's DOP853."""
    kept = {"capacitors": Bank, "lithium": Pack}[vehicle.store.kind](vehicle.store, vehicle.road.air_temperature)
    d, m, me = vehicle.driver, vehicle.motor, vehicle.effective_mass
    through = vehicle.converter.kind != "none"
    stop = vehicle.converter.minimum_voltage if through else vehicle.controller.stop_voltage
    compensation = 0.0 if through else vehicle.controller.sag_compensation

    def driven(y):
        against = sum(forces(vehicle, route, y[0], y[1], wind))
        return against, drive(vehicle, *kept.inside(y[2:4]), y[4], y[1], asked_force(vehicle, y[1], y[5], against))

    def rates(t, y):
        s, v, temperature, set_speed = y[0], y[1], y[4], y[5]
        against, (_, _, amps, force, brake, copper) = driven(y)
        heat = (copper - (temperature - vehicle.road.air_temperature) / m.thermal_resistance) / m.heat_capacity
        turn = min(max((wanted(vehicle, route, s, approach) - set_speed) / d.follow_time, -d.fall), d.rise)
        return [v, (force - brake - against) / me, *kept.rates(y[2:4], amps), heat, turn]

    def terminal(t, y):
        _, (_, u, amps, *_) = driven(y)
        return u + amps * compensation - stop

    def end(t, y):
        return route.length - 0.02 - y[0]

    def mark(place):
        def passed(t, y):
            return y[0] - place
        passed.terminal, passed.direction = True, 1
        return passed

    terminal.terminal = end.terminal = True
    terminal.direction = -1
    y, t = np.array([0.0, 0.0, *kept.first(volts), vehicle.road.air_temperature, 0.0]), 0.0
    places = sorted({*route.nodes[1:-1], *(p for p, _ in route.limits[1:])})
    while True:  # stop at each place where the road bends or the posted speed jumps, and go on behind it
        watch = [terminal, end, *(mark(p) for p in places if p > y[0] + 1e-6)]
        # atol by size: the solver must see the millivolts of the store and the centimetres of the way
        done = solve_ivp(rates, (t, t + 600), y, method="DOP853", rtol=1e-9, atol=1e-9, events=watch, max_step=0.25)
        t, y = done.t[-1], done.y[:, -1]
        for name, times in zip(("cut-off", "arrived"), done.t_events[:2], strict=True):
            if len(times):
                return name, t, y[0], driven(y)[1][1], y[2], y[3], y[4]
        y[0] += 1e-9
