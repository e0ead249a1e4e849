"""The demo ride a second time, written apart from the loop: SciPy's adaptive solver over the equations' Python face.

It shares the equations (each proved by its own evidence) and nothing else: no kernel, no event code, no fixed step.  The
store's side is solved here as the quadratic and the cubic that it is for a bank, not by bisection over a black box.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from evlab import controller, gearing, motor, road, store
from evlab.glossary import entry

G = entry("gravity").value


def asked_force(vehicle, v, set_speed, against):
    return vehicle.effective_mass * vehicle.driver.gain * (set_speed - v) + against


def forces(vehicle, route, s, v, wind):
    r, slope = vehicle.road, float(route.slope(s))
    return (road.rolling_force.floats(vehicle.mass, r.rolling_coefficient, slope, 1.0, G),
            road.air_force.floats(r.air_density, r.drag_area, v, wind, 0.0),
            road.slope_force.floats(vehicle.mass, slope, G))


def drive(vehicle, v1, temperature, v, force):
    """Motor amps, power, volts, store amps, drive force, brake force for an asked wheel force."""
    m, c, g = vehicle.motor, vehicle.controller, vehicle.gearing
    w = gearing.motor_speed.floats(g.ratio, v, g.wheel_radius)
    k, rs = m.drive_constant, vehicle.store.resistance
    emf = motor.back_emf.floats(k, w)
    ohm = motor.winding_resistance_hot.floats(m.resistance, temperature, 0.00393, 293.15) + c.bridge_resistance
    drag = m.drag_torque + m.viscous_drag * w
    lever = g.ratio / g.wheel_radius
    torque = force / lever / g.chain_efficiency if force >= 0 else force / lever * g.chain_efficiency
    amps = min((torque + drag) / k, c.coil_current_limit)
    amps = max(amps, -min(c.braking_current_limit, emf / (2 * ohm)))

    def volts(i):
        power = controller.bus_power.floats(i, emf, ohm, c.standby_power)
        return store.voltage_under_power.floats(v1, rs, power)

    if (emf + amps * ohm) / volts(amps) > c.duty_limit:
        amps = brentq(lambda i: (emf + i * ohm) - c.duty_limit * volts(i), -60.0, amps, xtol=1e-13)
    shaft = k * amps - drag
    given = shaft * lever * (g.chain_efficiency if shaft >= 0 else 1 / g.chain_efficiency)
    power = controller.bus_power.floats(amps, emf, ohm, c.standby_power)
    u = volts(amps)
    return amps, power, u, power / u, given, max(given - force, 0.0) if force < 0 else 0.0, amps**2 * (ohm - c.bridge_resistance)


def wanted(vehicle, route, s, approach):
    d = vehicle.driver
    limit = [v for place, v in route.limits if place <= s][-1]
    for place, v in approach:
        if s < place:
            limit = min(limit, math.sqrt(v**2 + 2 * d.descent_slowing * (place - s)))
    return min(limit, math.sqrt(2 * d.stopping * max(route.length - s, 0.0)) + d.creep_speed)


def ride(vehicle, route, volts, wind=0.0, approach=()):
    """(outcome, time, place, terminal volts, open volts V1 and V2, winding temperature) by SciPy's DOP853."""
    b = vehicle.store
    c1, c2, r2 = (1 - b.slow_share) * b.capacitance, b.slow_share * b.capacitance, b.slow_resistance
    d, m, me = vehicle.driver, vehicle.motor, vehicle.effective_mass

    def rates(t, y):
        s, v, v1, v2, temperature, set_speed = y
        against = sum(forces(vehicle, route, s, v, wind))
        _, _, _, amps, force, brake, copper = drive(vehicle, v1, temperature, v, asked_force(vehicle, v, set_speed, against))
        across = (v1 - v2) / r2
        heat = (copper - (temperature - vehicle.road.air_temperature) / m.thermal_resistance) / m.heat_capacity
        turn = min(max((wanted(vehicle, route, s, approach) - set_speed) / d.follow_time, -d.fall), d.rise)
        return [v, (force - brake - against) / me, -(amps + across) / c1, across / c2, heat, turn]

    def terminal(t, y):
        against = sum(forces(vehicle, route, y[0], y[1], wind))
        return drive(vehicle, y[2], y[4], y[1], asked_force(vehicle, y[1], y[5], against))[2] - vehicle.controller.stop_voltage

    def end(t, y):
        return route.length - 0.02 - y[0]

    def mark(place):
        def passed(t, y):
            return y[0] - place
        passed.terminal, passed.direction = True, 1
        return passed

    terminal.terminal = end.terminal = True
    terminal.direction = -1
    y, t = np.array([0.0, 0.0, volts, volts, vehicle.road.air_temperature, 0.0]), 0.0
    places = sorted({*route.nodes[1:-1], *(p for p, _ in route.limits[1:])})
    while True:  # stop at each place where the road bends or the posted speed jumps, and go on behind it
        watch = [terminal, end, *(mark(p) for p in places if p > y[0] + 1e-6)]
        # atol by size: the solver must see the millivolts of the store and the centimetres of the way
        done = solve_ivp(rates, (t, t + 600), y, method="DOP853", rtol=1e-9, atol=1e-9, events=watch, max_step=0.25)
        t, y = done.t[-1], done.y[:, -1]
        for name, times in zip(("cut-off", "arrived"), done.t_events[:2], strict=True):
            if len(times):
                return name, t, y[0], terminal(t, y) + vehicle.controller.stop_voltage, y[2], y[3], y[4]
        y[0] += 1e-9
