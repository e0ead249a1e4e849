"""The controller: an averaged bridge, its limits, and the cut-off.

`deliver` is the seam to the ride loop: from a wish of the driver's to what bridge, motor and chain give, within the
limits, whatever the store.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import sympy

from evlab.converter import converter_input
from evlab.equation import Equation
from evlab.gearing import drive_force, driven_force, motor_speed
from evlab.glossary import entry
from evlab.kernels import inlined, kernel
from evlab.motor import back_emf, copper_loss, motor_drag, shaft_torque, winding_resistance_hot
from evlab.units import InputError

__all__ = ["HELD_BY", "Controller", "bus_current", "bus_power", "current_at_duty", "current_for_power", "cut_off_steps",
           "duty_for_current", "throttle_share"]

bus_current = Equation(
    "controller.bus_current", "store_current", lambda duty, motor_current: duty * motor_current,
    title="Current of an ideal bridge: its power is the same on both sides, its current is not.",
    source=("power-electronics",), tag="C1", within="averages over a switching period, no losses in the bridge")

current_at_duty = Equation(
    "controller.current_at_duty", "motor_current",
    lambda duty, open_voltage, back_emf, drive_resistance, store_resistance:
        (duty * open_voltage - back_emf) / (drive_resistance + duty**2 * store_resistance),
    title="Coil current when the duty is set: the resistance of the store counts by the duty squared.",
    source=("power-electronics", "derived"), tag="C1", within="averages, stand-by left out")

duty_for_current = Equation(
    "controller.duty_for_current", "duty",
    lambda back_emf, motor_current, drive_resistance, terminal_voltage:
        (back_emf + motor_current * drive_resistance) / terminal_voltage,
    title="Duty that drives a coil current.", source=("power-electronics",), tag="C2", within="duty below its limit")

bus_power = Equation(
    "controller.bus_power", "bus_power",
    lambda motor_current, back_emf, drive_resistance, standby_power:
        motor_current * (back_emf + motor_current * drive_resistance) + standby_power,
    title="Power the bridge takes from the store, stand-by included.", source=("power-electronics",), tag="C2",
    within="averages over a switching period")

current_for_power = Equation(
    "controller.current_for_power", "motor_current",
    lambda back_emf, drive_resistance, bus_power, standby_power:
        (sympy.sqrt(back_emf**2 + 4 * drive_resistance * (bus_power - standby_power)) - back_emf) / (2 * drive_resistance),
    title="Coil current for a power taken from the store: the power of the bridge, solved for its current.",
    source=("power-electronics", "derived"), tag="C2",
    within="averages over a switching period; braking up to E/2R, beyond which less comes back")


# ---------------------------------------------------------------- logic in time
def cut_off_steps(times: Sequence[float], volts: Sequence[float], stop_voltage: float, resume_voltage: float,
                  latch_time: float) -> list[bool]:
    """Whether the drive is on at each of these times [s] with these terminal volts [V] (C11).

    It goes off below `stop_voltage`, stays off for `latch_time` at least, and comes on again at `resume_voltage`: without
    the gap between the two, and the latch, the rebound of the store would switch it on and off many times a second.
    """
    on, off_since, steps = True, -math.inf, []
    for t, v in zip(times, volts, strict=True):
        if on and v < stop_voltage:
            on, off_since = False, t
        elif not on and v >= resume_voltage and t - off_since >= latch_time:
            on = True
        steps.append(on)
    return steps


def throttle_share(signal: float, idle: float, full: float, dead_band: float = 0.05) -> float:
    """Share of the coil current limit for a throttle's volts (C12): torque, not duty.

    `signal`, `idle` and `full` [V]; the first `dead_band` of the way asks for nothing.  Outside the band between half the
    idle volts and the full ones plus as much, a wire is broken or shorted: the share is then 0.
    """
    if not 0 < idle < full:
        raise InputError(f"Input idle of throttle_share must be between 0 and full ({full:g} V); instead received {idle:g} V.")
    if not idle / 2 <= signal <= full + idle / 2:
        return 0.0
    return min(max(((signal - idle) / (full - idle) - dead_band) / (1 - dead_band), 0.0), 1.0)


# ---------------------------------------------------------------- the seam to the loop
HELD_BY = ("wish", "coil current limit", "store current limit", "duty limit", "braking", "friction brake", "standing", "collapse",
           "converter limit", "full store")
WISH, COIL, STORE, DUTY, BRAKING, FRICTION, STANDING, COLLAPSE, CONVERTER, FULL = range(10)

_speed, _emf, _hot, _drag = motor_speed.kernel, back_emf.kernel, winding_resistance_hot.kernel, motor_drag.kernel
_shaft, _drive, _driven = shaft_torque.kernel, drive_force.kernel, driven_force.kernel
_copper, _power, _duty, _into = copper_loss.kernel, bus_power.kernel, duty_for_current.kernel, converter_input
_for_power = current_for_power.kernel


@inlined
def _drawn(terminal, xs, ps, p, power):  # type: ignore[no-untyped-def]  # put into the kernels below, whose types stand in SEAMS
    """Volts at the bridge, and volts and amps of the store, for a power at the bridge: through a converter, where there is one."""
    through = p[19] > 0.0
    volts, drawn = terminal(xs, ps, _into(power, p[20]) if through else power)
    bus = volts
    if through:
        bus = p[19] if volts > 0.0 else np.nan
    return bus, volts, drawn


@inlined
def _room(p, emf, ohm, amps, bus, drawn):  # type: ignore[no-untyped-def]
    """How far the nearest limit of the store's side is [V or A], and which it is; below zero it is broken, nan: a collapse."""
    room, limit = p[14] * bus - (emf + amps * ohm), DUTY
    most, name = (p[21], CONVERTER) if p[19] > 0.0 and p[21] < p[13] else (p[13], STORE)
    if most - drawn < room:
        room, limit = most - drawn, name
    return (room, limit) if room == room else (room, COLLAPSE)


@kernel("most")
def _most(terminal, xs, ps, p, emf, ohm, low, high):  # type: ignore[no-untyped-def]
    """The largest coil current between low and high that breaks no limit of the store's side, and what stops it.

    Power and sag grow with the current, so there is one border, for any store: false position, each stubborn end's weight
    halved (Illinois); across a collapse, which has no number, plain halving.
    """
    bus, _, drawn = _drawn(terminal, xs, ps, p, _power(high, emf, ohm, p[10]))
    above, stopped = _room(p, emf, ohm, high, bus, drawn)
    bus, _, drawn = _drawn(terminal, xs, ps, p, _power(low, emf, ohm, p[10]))
    below, limit = _room(p, emf, ohm, low, bus, drawn)
    if not below >= 0.0:
        return low, stopped
    side = 0
    for _ in range(100):
        if high - low <= 1e-13 * (1.0 + abs(high)):
            break
        middle = (low * above - high * below) / (above - below)
        if not low < middle < high:  # also where `above` is no number
            middle = 0.5 * (low + high)
        bus, _, drawn = _drawn(terminal, xs, ps, p, _power(middle, emf, ohm, p[10]))
        room, limit = _room(p, emf, ohm, middle, bus, drawn)
        if room >= 0.0:
            low, below = middle, room
            above = 0.5 * above if side == 1 else above
            side = 1
        else:
            high, above, stopped = middle, room, limit
            below = 0.5 * below if side == -1 else below
            side = -1
        if middle == low and room == 0.0:
            break
    return low, stopped


@kernel("least")
def _least(terminal, xs, ps, p, emf, ohm, low):  # type: ignore[no-untyped-def]
    """The strongest braking current, not beyond `low`, that leaves the store at its full volts at most; none when it is over them.

    What comes back grows with the braking (up to E/2R), and the volts with it: false position as in `_most`.
    """
    high, below = 0.0, p[22] - _drawn(terminal, xs, ps, p, _power(low, emf, ohm, p[10]))[1]
    above = p[22] - _drawn(terminal, xs, ps, p, _power(high, emf, ohm, p[10]))[1]
    if not above > 0.0:
        return high
    side = 0
    for _ in range(100):
        if high - low <= 1e-13 * (1.0 + abs(low)):
            break
        middle = (low * above - high * below) / (above - below)
        if not low < middle < high:
            middle = 0.5 * (low + high)
        room = p[22] - _drawn(terminal, xs, ps, p, _power(middle, emf, ohm, p[10]))[1]
        if room >= 0.0:
            high, above = middle, room
            below = 0.5 * below if side == 1 else below
            side = 1
        else:
            low, below = middle, room
            above = 0.5 * above if side == -1 else above
            side = -1
        if middle == high and room == 0.0:
            break
    return high


@kernel("asked")
def _asked(p, wish, drag, direction, emf, ohm):  # type: ignore[no-untyped-def]
    """Coil current for a wished wheel force, share of the current limit or power at the bridge, limits aside."""
    if np.isnan(wish[0]):
        if np.isnan(wish[1]):
            if emf * emf + 4.0 * ohm * (wish[3] - p[10]) <= 0.0:  # more than can come back
                return -emf / (2.0 * ohm)
            return _for_power(emf, ohm, wish[3], p[10])
        return wish[1] * (p[11] if wish[1] >= 0.0 else p[12])
    through = 1.0 / p[17] if wish[0] * direction >= 0.0 else p[17]
    return (wish[0] * p[16] / p[15] * through + drag) / p[0]


@kernel("deliver")
def deliver(terminal, xs, ps, x, p, v, direction, wish, out):  # type: ignore[no-untyped-def]
    """What the drive gives.  x: winding temperature; p: see Controller.parameters; wish: force [N] or nan, share or nan,
    set speed, power at the bridge [W].

    out: 0 drive force, 1 brake force, 2 motor amps, 3 duty, 4 power at the bridge, 5 volts and 6 amps of the store, 7 held by,
    8 copper, 9 bridge, 10 stand-by, 11 motor drag, 12 chain, 13 converter [W].
    """
    way = direction if direction != 0.0 else 1.0
    speed = _speed(p[15], v, p[16])
    emf, hot = _emf(p[0], speed), _hot(p[1], x[0], p[2], p[3])
    ohm, drag = hot + p[4], _drag(p[5], p[6], speed, way)
    amps, held = _asked(p, wish, drag, way, emf, ohm), WISH
    free = p[18] > 0.0 and _shaft(p[0], amps, drag) < 0.0  # a freewheel lets the wheel overtake: the motor rests
    if free:
        amps = emf = drag = speed = 0.0
    lowest = -min(p[12], max(emf, 0.0) / (2.0 * ohm))  # braking harder than E/2R gives back less
    if amps < lowest:
        amps = lowest
    elif amps > p[11]:
        amps, held = p[11], COIL
    power = _power(amps, emf, ohm, p[10])
    bus, volts, drawn = _drawn(terminal, xs, ps, p, power)
    if amps < 0.0 and power < 0.0 and volts > p[22]:
        amps, held = _least(terminal, xs, ps, p, emf, ohm, amps), FULL
        power = _power(amps, emf, ohm, p[10])
        bus, volts, drawn = _drawn(terminal, xs, ps, p, power)
    if not _room(p, emf, ohm, amps, bus, drawn)[0] >= 0.0:
        amps, held = _most(terminal, xs, ps, p, emf, ohm, lowest, amps)
        power = _power(amps, emf, ohm, p[10])
        bus, volts, drawn = _drawn(terminal, xs, ps, p, power)
    shaft = 0.0 if free else _shaft(p[0], amps, drag)
    force = _drive(shaft, p[15], p[17], p[16]) if shaft * way >= 0.0 else _driven(shaft, p[15], p[16], p[17])
    brake = 0.0
    if (held == WISH or held == FULL) and direction >= 0.0 and force > wish[0] + 1e-9 and wish[0] < 0.0:  # false for nan
        brake, held = force - wish[0], FRICTION if held == WISH else FULL
    elif held == WISH and amps < 0.0:
        held = BRAKING
    out[0], out[1], out[2], out[3] = force, brake, amps, _duty(emf, amps, ohm, bus)
    out[4], out[5], out[6], out[7] = power, volts, drawn, held
    out[8], out[9], out[10] = _copper(amps, hot), _copper(amps, p[4]), p[10]
    out[11], out[12], out[13] = drag * speed, shaft * speed - force * v, volts * drawn - power


@kernel("deliver along")
def deliver_along(terminal, xs, ps, x, p, speeds, wish, rows):  # type: ignore[no-untyped-def]
    """What `deliver` gives at each of these speeds, a row of `rows` for each."""
    for i in range(speeds.size):
        deliver(terminal, xs, ps, x, p, speeds[i], 1.0, wish, rows[i])


SOON = 0.1  # s: a winding that warms and cools in less is taken to need so long; its steady temperature stays the same


# ---------------------------------------------------------------- the part
@dataclass(frozen=True)
class Controller:
    """The [controller] table: each limit is named by what it protects.  Units as in the glossary, SI."""

    coil_current_limit: float
    braking_current_limit: float
    store_current_limit: float
    duty_limit: float
    stop_voltage: float
    resume_voltage: float
    latch_time: float
    standby_power: float
    bridge_resistance: float
    mass: float
    sag_compensation: float
    voltage_rating: float
    bus_capacitance: float
    precharge_resistance: float

    def parameters(self, motor: Any, gearing: Any, air_temperature: float, converter: Any, full: float = math.inf) -> Any:
        """The flat array of the seam, in the order that `deliver` reads.  Nothing flows back through a one-way converter, and
        braking lifts the store to its `full` volts at most."""
        bus, efficiency, limit, back = converter.parameters()
        return np.array([
            motor.drive_constant, motor.resistance, entry("copper_coefficient").value, entry("reference_temperature").value,
            self.bridge_resistance, motor.drag_torque,
            motor.viscous_drag, motor.thermal_resistance, max(motor.heat_capacity, SOON / motor.thermal_resistance),
            air_temperature, self.standby_power,
            self.coil_current_limit, self.braking_current_limit if back else 0.0, self.store_current_limit, self.duty_limit,
            gearing.ratio, gearing.wheel_radius, gearing.efficiency, float(gearing.freewheel),
            bus, efficiency, limit, full])
