"""What a motor makes of its current: figure, best current, efficiency over speed and torque, run-up, and drag without current.

The map takes plain numbers, so that any motor can be drawn: a wound one, a bought one, a guess.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import sympy

from evlab.equation import Equation
from evlab.glossary import entry
from evlab.units import InputError, si, si_array, told

__all__ = [
    "CAUSES", "DragSplit", "EfficiencyMap", "best_current", "best_current_at_volts", "diode_angle", "diode_torque", "final_speed",
    "fixed_loss", "greatest_power", "greatest_power_current", "holding_loss", "motor_efficiency", "motor_figure", "peak_efficiency",
    "run_up_angle", "run_up_speed", "run_up_time", "sine_figure", "stall_torque",
]

_LINE = "star or brushed, current that follows the commutation at once (electrical speed times L well below R)"
_FIXED = "constant volts at the motor, all drag as one no-load current"

motor_figure = Equation(
    "motor_map.motor_figure", "motor_figure", lambda motor_constant, hot_resistance: motor_constant / sympy.sqrt(hot_resistance),
    title="What the winding is worth: more turns of thinner wire in the same window do not change it.", source=("machines",),
    tag="M18", within=_LINE)

sine_figure = Equation(
    "motor_map.sine_figure", "motor_figure", lambda line_constant, hot_resistance: line_constant / sympy.sqrt(hot_resistance),
    title="The same winding driven by sine currents: line peak instead of six-step mean.", source=("derived",), tag="M18",
    within="three phases, sine-shaped EMF, currents in step with it")

holding_loss = Equation(
    "motor_map.holding_loss", "copper_loss", lambda torque, motor_figure: (torque / motor_figure)**2,
    title="Copper watts that a torque costs, at any speed, standing still too.", source=("machines",), tag="M18", within=_LINE)

stall_torque = Equation(
    "motor_map.stall_torque", "stall_torque",
    lambda motor_constant, duty, voltage, hot_resistance: motor_constant * duty * voltage / hot_resistance,
    title="Torque of the motor held still, if nothing limits the current.", source=("machines",), tag="M31", within=_LINE)

fixed_loss = Equation(
    "motor_map.fixed_loss", "fixed_loss",
    lambda drag_torque, viscous_drag, motor_speed, standby_power:
        (drag_torque + viscous_drag * motor_speed) * motor_speed + standby_power,
    title="What a speed costs before any current flows for the torque.", source=("machines",), tag="M32", within="turning forwards")

motor_efficiency = Equation(
    "motor_map.motor_efficiency", "efficiency",
    lambda motor_constant, motor_current, drag_torque, viscous_drag, motor_speed, hot_resistance, standby_power:
        (motor_constant * motor_current - drag_torque - viscous_drag * motor_speed) * motor_speed
        / (motor_constant * motor_speed * motor_current + motor_current**2 * hot_resistance + standby_power),
    title="Power at the shaft over power from the bridge's supply, stand-by counted.", source=("machines",), tag="M32",
    within="driving; losses of the bridge left out unless its resistance is counted in")

best_current = Equation(
    "motor_map.best_current", "best_current",
    lambda drag_torque, viscous_drag, motor_speed, motor_constant, fixed_loss, hot_resistance:
        (drag_torque + viscous_drag * motor_speed) / motor_constant
        + sympy.sqrt(((drag_torque + viscous_drag * motor_speed) / motor_constant)**2 + fixed_loss / hot_resistance),
    title="Current of the highest efficiency at one speed, exactly.", source=("derived",), tag="M32", bracketed=True,
    within="one speed held, volts as they must be")

best_current_at_volts = Equation(
    "motor_map.best_current_at_volts", "best_current",
    lambda no_load_current, stall_current: sympy.sqrt(no_load_current * stall_current),
    title="Current of the highest efficiency at constant volts: the geometric mean of no-load and stall.", source=("machines",),
    tag="M32", within=_FIXED)

peak_efficiency = Equation(
    "motor_map.peak_efficiency", "efficiency",
    lambda no_load_current, stall_current: (1 - sympy.sqrt(no_load_current / stall_current))**2,
    title="Highest efficiency at constant volts.", source=("machines",), tag="M32", bracketed=True, within=_FIXED)

greatest_power_current = Equation(
    "motor_map.greatest_power_current", "greatest_power_current",
    lambda no_load_current, stall_current: (no_load_current + stall_current) / 2,
    title="Current of the greatest power at the shaft: half-way from no-load to stall.", source=("machines",), tag="M31",
    within=_FIXED)

greatest_power = Equation(
    "motor_map.greatest_power", "greatest_power",
    lambda hot_resistance, stall_current, no_load_current: hot_resistance * (stall_current - no_load_current)**2 / 4,
    title="Greatest power at the shaft; about as much becomes heat, so it is no rating.", source=("machines",), tag="M31",
    within=_FIXED)

run_up_time = Equation(
    "motor_map.run_up_time", "run_up_time",
    lambda rotor_inertia, motor_constant, hot_resistance, viscous_drag:
        rotor_inertia / (motor_constant**2 / hot_resistance + viscous_drag),
    title="Time constant of the run-up at constant volts.", source=("machines",), tag="M31", within=_LINE)

final_speed = Equation(
    "motor_map.final_speed", "final_speed",
    lambda motor_constant, duty, voltage, hot_resistance, drag_torque, viscous_drag:
        (motor_constant * duty * voltage / hot_resistance - drag_torque) / (motor_constant**2 / hot_resistance + viscous_drag),
    title="Speed that the motor tends to at constant volts, turning only itself.", source=("machines",), tag="M31", within=_LINE)

run_up_speed = Equation(
    "motor_map.run_up_speed", "motor_speed",
    lambda final_speed, time, run_up_time: final_speed * (1 - sympy.exp(-(time / run_up_time))),
    title="Speed after a time, from rest at constant volts.", source=("machines",), tag="M31", bracketed=True,
    within="from rest, volts and drag constant; a current limit makes it slower")

run_up_angle = Equation(
    "motor_map.run_up_angle", "turned_angle",
    lambda final_speed, time, run_up_time: final_speed * (time - run_up_time * (1 - sympy.exp(-(time / run_up_time)))),
    title="Angle turned after a time, from rest at constant volts.", source=("machines",), tag="M31", bracketed=True,
    within="from rest, volts and drag constant; a current limit makes it slower")

_DIODES = "six pulses of current a turn, little inductance, store volts that stay"
diode_angle = Equation(
    "motor_map.diode_angle", "conduction_angle",
    lambda voltage, diode_drop, line_constant, motor_speed:
        sympy.acos((voltage + 2 * diode_drop) / (line_constant * motor_speed)),
    title="How long the crest of the line EMF stands above the store and two diodes.", source=("derived",), tag="M33",
    bracketed=True, within="line EMF above the store's volts and two diodes; up to 30°, where the next pair takes over")

diode_torque = Equation(
    "motor_map.diode_torque", "diode_torque",
    lambda line_constant, hot_resistance, motor_speed, conduction_angle, voltage, diode_drop:
        3 / sympy.pi * line_constant / hot_resistance
        * (line_constant * motor_speed * (conduction_angle + sympy.sin(conduction_angle) * sympy.cos(conduction_angle))
           - 2 * (voltage + 2 * diode_drop) * sympy.sin(conduction_angle)),
    title="Mean braking torque of the current that the EMF pushes through the bridge's diodes into the store.",
    source=("derived",), tag="M33", bracketed=True, within=_DIODES)


# ---------------------------------------------------------------- the map
def _at_least(value: Any, name: str, owner: str, least: float, above: bool = False) -> float:
    e = entry(name)
    number = si(value, e, f"{name} of {owner}")
    if number < least or (above and number <= least):
        bound = f"{'more than' if above else 'at least'} {least:g} {e.unit}".rstrip()
        raise InputError(f"Input {name} of {owner} must be {bound}; instead received {told(value)}.")
    return number


def _axis(values: Any, name: str) -> Any:
    row = np.atleast_1d(si_array(values, entry(name), f"{name} of EfficiencyMap"))
    if row.ndim != 1 or not len(row) or not np.isfinite(row).all() or (np.diff(row) <= 0).any():
        raise InputError(f"Input {name} of EfficiencyMap must be a row of numbers that rise; instead received {told(values)}.")
    return row


@dataclass(frozen=True)
class EfficiencyMap:
    """Efficiency over speed and shaft torque.  SI throughout.

    `speeds` (n,) [rad/s], `torques` (m,) [N m]; `efficiency` (n, m): driving, shaft over supply; braking (torque below zero), what
    comes back over what the shaft gives; nan where nothing comes out.  `currents` (n, m) [A].  `ridge` (n,): torque of the highest
    efficiency at each speed; `ridge_efficiency` (n,).  `reach` maps each of the volts (duty times the store's) to the largest
    torque at each speed, (n,).
    """

    speeds: Any
    torques: Any
    efficiency: Any
    currents: Any
    ridge: Any
    ridge_efficiency: Any
    reach: dict[float, Any]

    @classmethod
    def of(cls, constant: Any, resistance: Any, drag_torque: Any, viscous_drag: Any, standby: Any, speeds: Any, torques: Any,
           duty_volts: Sequence[float] = (), current_limit: Any = None) -> EfficiencyMap:
        """The map of a motor.

        Parameters: `constant` as the bridge sees it [V s/rad]; `resistance` [ohm] of the warm winding and the bridge; `drag_torque`
        [N m]; `viscous_drag` [N m s/rad]; `standby` [W]; `speeds` from 0 up and `torques`, rows that rise; `duty_volts` [V], one
        line of reach for each; `current_limit` [A] bends those lines.  Raises InputError in words.
        """
        own = "EfficiencyMap"
        k = _at_least(constant, "motor_constant", own, 0.0, above=True)
        ohm = _at_least(resistance, "hot_resistance", own, 0.0, above=True)
        t0, c = _at_least(drag_torque, "drag_torque", own, 0.0), _at_least(viscous_drag, "viscous_drag", own, 0.0)
        idle = _at_least(standby, "standby_power", own, 0.0)
        limit = math.inf if current_limit is None else _at_least(current_limit, "motor_current", own, 0.0, above=True)
        w, row = _axis(speeds, "motor_speed"), _axis(torques, "torque")
        if w[0] < 0:
            raise InputError(f"Input motor_speed of {own} must be at least 0 rad/s; instead received {told(speeds)}.")
        drag = t0 + c * w
        amps = (row + drag[:, None]) / k
        best = best_current.arrays(t0, c, w, k, fixed_loss.arrays(t0, c, w, idle), ohm)
        with np.errstate(all="ignore"):  # a motor without any loss has no best torque, a standing one no efficiency
            ridge_eta = motor_efficiency.arrays(k, best, t0, c, w, ohm, idle)
        reach = {float(v): np.minimum(float(v) / ohm - k * w / ohm, limit) * k - drag for v in duty_volts}
        return cls(w, row, _both_ways(k, amps, t0, c, w[:, None], row, ohm, idle), amps, k * best - drag, ridge_eta, reach)

    def within(self, volts: float) -> Any:
        """Where the map can be reached with these volts: booleans (n, m).  `volts` must be one of those of `reach`."""
        if volts not in self.reach:
            known = ", ".join(f"{v:g}" for v in self.reach) or "none was given"
            raise InputError(f"Input volts of within must be one of the map's duty_volts ({known}); instead received {volts:g}.")
        return self.torques <= self.reach[volts][:, None]

    def peak(self, volts: float | None = None) -> tuple[float, float, float]:
        """Speed [rad/s], torque [N m] and efficiency of the best point of the map's grid that drives, within reach of `volts`."""
        seen = self._driving(volts)
        if np.isnan(seen).all():
            raise InputError("This map has no point that drives within reach: its torques must go above 0 N m, its speeds above 0.")
        i, j = np.unravel_index(np.nanargmax(seen), seen.shape)
        return float(self.speeds[i]), float(self.torques[j]), float(seen[i, j])

    def best(self, volts: float) -> tuple[float, float, float]:
        """As `peak`; three times not a number where nothing drives."""
        return (math.nan,) * 3 if np.isnan(self._driving(volts)).all() else self.peak(volts)

    def _driving(self, volts: float | None) -> Any:
        seen = np.where(self.torques > 0, self.efficiency, np.nan)
        return seen if volts is None else np.where(self.within(volts), seen, np.nan)


def _both_ways(k: float, amps: Any, t0: float, c: float, w: Any, row: Any, ohm: float, idle: float) -> Any:
    """Driving: shaft over supply; braking: supply over shaft, where anything comes back."""
    with np.errstate(all="ignore"):
        eta = motor_efficiency.arrays(k, amps, t0, c, w, ohm, idle)
        return np.where(row > 0, np.where(w > 0, eta, np.nan), np.where((row < 0) & (eta > 1), 1 / eta, np.nan))


# ---------------------------------------------------------------- drag without current
CAUSES = ("bearings and seals", "drag that grows with speed", "eddies in the strands", "eddies in plates", "diodes into the store")


@dataclass(frozen=True)
class DragSplit:
    """Drag of the motor that carries no current on purpose, by cause.

    `bearings` [N m]; `viscous` [N m s/rad]; `strands` and `plates`: a coefficient [N m s/rad], or a function from speed [rad/s] to
    torque [N m]; the diodes' part from `line_constant` [V s/rad, peak], `resistance` [ohm] from line to line, `voltage` [V] of the
    store and `diode_drop` [V] (no line constant: no bridge connected).
    """

    bearings: float = 0.0
    viscous: float = 0.0
    strands: float | Callable[[float], float] = 0.0
    plates: float | Callable[[float], float] = 0.0
    line_constant: float = 0.0
    resistance: float = 1.0
    voltage: float = math.inf
    diode_drop: float = 0.7  # V, silicon: memory

    def torques(self, speed: float) -> dict[str, float]:
        """Torque of each cause [N m] at a speed of at least 0 [rad/s], in the order of CAUSES."""
        w = _at_least(speed, "motor_speed", "DragSplit", 0.0)
        turning = 1.0 if w > 0 else 0.0
        parts = (self.bearings * turning, self.viscous * w, _eddies(self.strands, w), _eddies(self.plates, w), self._diodes(w))
        return dict(zip(CAUSES, parts, strict=True))

    def powers(self, speed: float) -> dict[str, float]:
        """Power of each cause [W]."""
        return {cause: t * speed for cause, t in self.torques(speed).items()}

    def total(self, speed: float) -> float:
        """Torque of all causes [N m]."""
        return sum(self.torques(speed).values())

    def largest(self, speed: float) -> str:
        """The largest cause, in words."""
        parts = self.torques(speed)
        whole, cause = sum(parts.values()), max(parts, key=lambda c: parts[c])
        if whole == 0:
            return "Nothing drags at this speed."
        return (f"{cause[0].upper()}{cause[1:]}: {parts[cause]:.3g} N m of {whole:.3g} N m, {100 * parts[cause] / whole:.0f} % of "
                f"{whole * speed:.3g} W.")

    def _diodes(self, w: float) -> float:
        if self.line_constant * w <= self.voltage + 2 * self.diode_drop:
            return 0.0
        angle = min(float(diode_angle(self.voltage, self.diode_drop, self.line_constant, w)), math.pi / 6)
        return float(diode_torque(self.line_constant, self.resistance, w, angle, self.voltage, self.diode_drop))


def _eddies(given: float | Callable[[float], float], w: float) -> float:
    return float(given(w)) if callable(given) else given * w
