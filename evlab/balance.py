"""Cells of one string: how they share the volts by capacitance, by leakage, with bleed resistors and with clamps.

Leakage is taken as a resistor.  Real leakage is larger in the first hours (data sheets state it after 72 h) and falls
slowly for days, so a bank loses more on its first evening than these lines show, and less later.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import sympy

from evlab.equation import Equation
from evlab.units import InputError

__all__ = [
    "ClampRun", "FloatRun", "Strings", "bleed_heat", "bleed_resistance", "cell_volts", "charged_cell", "clamp_run",
    "clamped_slope", "decay", "decay_time", "decay_voltage", "drain_resistance", "finishing_time", "float_cells",
    "float_string", "float_time_constant", "floating_cell", "leak_resistance", "overrun_voltage", "random_strings", "weak_cell",
]

_DAY = 86400.0
_RAMP = 0.010  # V over which a clamp goes from nothing to all it can draw
_EMPTY = "linear capacitors, all charged from empty, no balancing"
_FLOAT = "one odd cell among equal ones, held for days at fixed volts; leakage taken as a resistor"
_LEAK = "leakage taken as a resistor; real leakage is larger in the first hours (sheets state it after 72 h) and falls for days"
_CLAMPED = "one small cell among equal ones, charged from empty by a constant current; resistance left out"

charged_cell = Equation(
    "balance.charged_cell", "cell_voltage",
    lambda first_cell_voltage, charge, cell_capacitance: first_cell_voltage + charge / cell_capacitance,
    title="Volts of one cell after a charge has gone through the string: the same charge for all.",
    source=("circuits",), tag="S13", within="a linear capacitor; leakage left out")

weak_cell = Equation(
    "balance.weak_cell", "worst_cell_voltage",
    lambda voltage, cells_in_series, weak_share: voltage / (1 + (cells_in_series - 1) * weak_share),
    title="Volts of one weak cell in a string of equal ones.", source=("circuits",), tag="S13", within=_EMPTY)

floating_cell = Equation(
    "balance.floating_cell", "cell_voltage",
    lambda voltage, odd_resistance, cells_in_series, leak_resistance:
        voltage * odd_resistance / (odd_resistance + (cells_in_series - 1) * leak_resistance),
    title="Volts of the odd cell after a long float: they follow the leakage, not the capacitance.",
    source=("circuits",), tag="S14", within=_FLOAT)

float_time_constant = Equation(
    "balance.float_time_constant", "time_constant",
    lambda odd_capacitance, cells_in_series, cell_capacitance, odd_resistance, leak_resistance:
        (odd_capacitance * (cells_in_series - 1) + cell_capacitance)
        / ((cells_in_series - 1) / odd_resistance + 1 / leak_resistance),
    title="Time constant with which a floating string drifts from shares by capacitance to shares by leakage.",
    source=("derived",), tag="S14", within=_FLOAT)

leak_resistance = Equation(
    "balance.leak_resistance", "leak_resistance", lambda cell_voltage, leak_current: cell_voltage / leak_current,
    title="Leakage of a cell, taken as a resistor.", source=("circuits",), tag="S10", within=_LEAK)

bleed_resistance = Equation(
    "balance.bleed_resistance", "bleed_resistance",
    lambda cell_voltage, bleed_factor, leak_current: cell_voltage / (bleed_factor * leak_current),
    title="Bleed resistor that draws so many times the leakage.", source=("common practice",), tag="S15",
    within="it evens out leakage over days; it does nothing in a charge of minutes")

drain_resistance = Equation(
    "balance.drain_resistance", "drain_resistance",
    lambda leak_resistance, bleed_resistance: leak_resistance * bleed_resistance / (leak_resistance + bleed_resistance),
    title="Leakage and bleed resistor together.", source=("circuits",), tag="S15", within=_LEAK)

bleed_heat = Equation(
    "balance.bleed_heat", "bleed_heat", lambda cell_voltage, bleed_resistance: cell_voltage**2 / bleed_resistance,
    title="Heat in the bleed resistor of one cell.", source=("circuits",), tag="S15", within="fixed volts")

decay_voltage = Equation(
    "balance.decay_voltage", "cell_voltage",
    lambda first_cell_voltage, time, drain_resistance, cell_capacitance:
        first_cell_voltage * sympy.exp(-time / (drain_resistance * cell_capacitance)),
    title="Volts of a cell left alone.", source=("circuits",), tag="S10", within=_LEAK)

decay_time = Equation(
    "balance.decay_time", "time",
    lambda drain_resistance, cell_capacitance, voltage_share: drain_resistance * cell_capacitance * sympy.log(1 / voltage_share),
    title="Time until a cell left alone has fallen to a share of its volts.", source=("circuits",), tag="S10", within=_LEAK)

clamped_slope = Equation(
    "balance.clamped_slope", "cell_slope",
    lambda charging_current, clamp_current, cell_capacitance: (charging_current - clamp_current) / cell_capacitance,
    title="How fast a cell still rises whose clamp draws all it can.", source=("circuits",), tag="S16",
    within="charging current above the clamp's; else the clamp holds the cell")

overrun_voltage = Equation(
    "balance.overrun_voltage", "worst_cell_voltage",
    lambda clamp_voltage, voltage, cells_in_series, odd_capacitance, cell_capacitance, charging_current, clamp_current:
        clamp_voltage + (voltage - clamp_voltage * (1 + (cells_in_series - 1) * odd_capacitance / cell_capacitance))
        / (1 + (cells_in_series - 1) * odd_capacitance / cell_capacitance * charging_current
           / (charging_current - clamp_current)),
    title="Volts of the small cell when the string is full, past a clamp that cannot keep up.", source=("derived",), tag="S16",
    within=_CLAMPED + "; the others stay below their clamps")

finishing_time = Equation(
    "balance.finishing_time", "time",
    lambda cell_capacitance, voltage, clamp_voltage, cells_in_series, odd_capacitance, clamp_current:
        (cell_capacitance * (voltage - clamp_voltage) / (cells_in_series - 1) - clamp_voltage * odd_capacitance) / clamp_current,
    title="Time from the first clamp to the full string at the current the clamps can hold.", source=("derived",), tag="S16",
    within=_CLAMPED + "; the small cell is held, the others stay below their clamps")


def _need(right: Any, name: str, function: str, must: str, got: Any) -> None:
    if not np.all(right):  # nan compares as false, so it is refused too
        told = got if np.ndim(got) == 0 else np.asarray(got).tolist()
        raise InputError(f"Input {name} of balance.{function} must be {must}; instead received {told}.")


def _count(cells_in_series: int, function: str) -> None:
    _need(1 <= cells_in_series <= 1000 and cells_in_series == int(cells_in_series), "cells_in_series", function,
          "a whole number from 1 to 1000", cells_in_series)


# ---------------------------------------------------------------- by capacitance
def cell_volts(voltage: float, capacitances: Sequence[float] | Any, start: Sequence[float] | Any = None) -> Any:
    """Volts of every cell of a string charged until the string stands at `voltage`.

    Parameters: voltage [V]; capacitances [F], one for each cell; start [V], volts of each cell before (by default empty).
    Returns an array [V].  Raises InputError for a capacitance of zero or below.
    """
    farads = np.atleast_1d(np.asarray(capacitances, float))
    _need(farads > 0, "capacitances", "cell_volts", "above zero", farads)
    _need(math.isfinite(voltage), "voltage", "cell_volts", "a finite number of volts", voltage)
    first = np.zeros_like(farads) if start is None else np.asarray(start, float)
    _need(first.shape == farads.shape, "start", "cell_volts", f"one number for each of the {farads.size} cells", first)
    charge = (voltage - first.sum()) / (1.0 / farads).sum()
    return charged_cell.arrays(first, charge, farads)


@dataclass(frozen=True)
class Strings:
    """Strings of cells drawn at random, charged from empty: the fullest cell of each [V], and what to make of it."""

    worst: Any
    voltage: float
    cells_in_series: int
    worst_case: float
    safe_voltage: float
    rated: float
    surge: float

    @property
    def average(self) -> float:
        """Mean volts of a cell [V]."""
        return self.voltage / self.cells_in_series

    @property
    def mean(self) -> float:
        """Mean of the fullest cells [V]."""
        return float(self.worst.mean())

    @property
    def p95(self) -> float:
        """Volts that the fullest cell stays below in 95 of 100 strings [V]."""
        return float(np.quantile(self.worst, 0.95))

    def share_above(self, volts: float) -> float:
        """Share of the strings whose fullest cell is above these volts [1]."""
        return float((self.worst > volts).mean())


def random_strings(voltage: float, cells_in_series: int, low: float = 0.0, high: float = 0.2, *, rated: float = 2.7,
                   surge: float = 2.85, number: int = 20_000, seed: int = 1) -> Strings:
    """Draw strings whose cells spread evenly between two tolerances, and charge each from empty.

    Parameters: voltage [V] of the string; cells_in_series [1]; `low` and `high` [1], the tolerance of the capacitance
    (0 and 0.2 for -0/+20 %); `rated` and `surge` [V], what a cell may see for ever and for moments; number [1] of strings,
    up to a million; seed [1], the same draws for the same seed.
    Returns Strings: worst_case is one cell at `low` among others at `high`; safe_voltage keeps that cell at `rated`.
    Raises InputError for a tolerance of -100 % or below and a number of strings outside 1 to 1 000 000.
    """
    _count(cells_in_series, "random_strings")
    _need(voltage >= 0 and math.isfinite(voltage), "voltage", "random_strings", "zero or more volts", voltage)
    _need(low > -1, "low", "random_strings", "above -1: a cell has some capacitance", low)
    _need(low <= high < math.inf, "high", "random_strings", f"not below low, {low:g}", high)
    _need(0 < rated <= surge, "rated", "random_strings", f"above zero and not above surge, {surge:g} V", rated)
    _need(1 <= number <= 1_000_000 and number == int(number), "number", "random_strings", "a whole number from 1 to 1 000 000",
          number)
    draws, worst = np.random.default_rng(seed), np.empty(int(number))
    rows = max(1, 1_000_000 // cells_in_series)  # in pieces, so that a million strings need little memory
    for a in range(0, len(worst), rows):
        piece = worst[a:a + rows]
        share = 1.0 / draws.uniform(1.0 + low, 1.0 + high, (len(piece), cells_in_series))
        piece[:] = voltage * share.max(axis=1) / share.sum(axis=1)
    weak = (1.0 + low) / (1.0 + high)
    safe = rated * (1 + (cells_in_series - 1) * weak)
    return Strings(worst, voltage, cells_in_series, float(weak_cell(voltage, cells_in_series, weak)), safe, rated, surge)


# ---------------------------------------------------------------- by leakage
@dataclass(frozen=True)
class FloatRun:
    """A string held at fixed volts: times [s], volts of the odd cell and of each other [V], and where they settle [V]."""

    times: Any
    odd: Any
    others: Any
    odd_settled: float
    others_settled: float
    time_constant: float

    @property
    def odd_end(self) -> float:
        """Volts of the odd cell at the end [V]."""
        return float(self.odd[-1])

    @property
    def others_end(self) -> float:
        """Volts of each other cell at the end [V]."""
        return float(self.others[-1])


def float_string(voltage: float, cells_in_series: int, cell_capacitance: float, leak_resistance: float,
                 duration: float = 30 * _DAY, *, leak_factor: float = 2.0, bleed: float = 0.0,
                 odd_capacitance: float = 0.0) -> FloatRun:
    """A string held at fixed volts in which one cell leaks otherwise than its fellows: exact, without clamps.

    Parameters: voltage [V] of the string; cells_in_series [1]; cell_capacitance [F]; leak_resistance [ohm] of each other
    cell; duration [s]; leak_factor [1], leakage of the odd cell over that of another; bleed [ohm], a resistor across each
    cell (0 is none); odd_capacitance [F] (0 is as the others).  It begins as a charge from empty leaves it.
    Returns FloatRun.  Raises InputError for what is not above zero.
    """
    _count(cells_in_series, "float_string")
    for name, value in (("duration", duration), ("leak_factor", leak_factor), ("cell_capacitance", cell_capacitance),
                        ("leak_resistance", leak_resistance)):
        _need(0 < value < math.inf, name, "float_string", "above zero", value)
    _need(bleed >= 0, "bleed", "float_string", "zero (none fitted) or more ohms", bleed)
    n, odd_farad = cells_in_series, odd_capacitance or cell_capacitance
    odd_ohm, ohm = (float(drain_resistance(r, bleed)) if bleed else r for r in (leak_resistance / leak_factor, leak_resistance))
    start = float(weak_cell(voltage, n, odd_farad / cell_capacitance))
    end = float(floating_cell(voltage, odd_ohm, n, ohm))
    tau = float(float_time_constant(odd_farad, n, cell_capacitance, odd_ohm, ohm))
    times = np.linspace(0.0, duration, 241)
    odd = end + (start - end) * np.exp(-times / tau)
    fellows = max(n - 1, 1)  # a single cell has none: they show nothing
    return FloatRun(times, odd, (voltage - odd) / fellows, end, (voltage - end) / fellows, tau)


def float_cells(capacitances: Sequence[float] | Any, leak_resistances: Sequence[float] | Any, voltage: float, duration: float, *,
                bleed: float = 0.0, clamp_voltage: float = 2.65, clamp_current: float = 0.0,
                start: Sequence[float] | Any = None) -> tuple[Any, Any]:
    """Any string held at fixed volts, with leakage, bleed resistors and clamps: by an implicit solver.

    Parameters: capacitances [F], one for each cell; leak_resistances [ohm] likewise; voltage [V] of the string; duration [s];
    bleed [ohm] across each cell (0 is none); clamp_voltage [V], where a clamp begins; clamp_current [A], the most it draws,
    reached 10 mV above (0 is none); start [V] of each cell (by default equal shares; what is missing to `voltage`
    is charged at once).
    Returns times [s] and volts [V], one row for each time and one column for each cell.
    Raises InputError for what is not above zero, and for lists of different lengths.
    """
    farads, ohms = np.atleast_1d(np.asarray(capacitances, float)), np.atleast_1d(np.asarray(leak_resistances, float))
    _need(ohms.shape == farads.shape, "leak_resistances", "float_cells", f"one number for each of the {farads.size} cells", ohms)
    for name, value in (("leak_resistances", ohms), ("clamp_voltage", clamp_voltage)):
        _need(np.asarray(value) > 0, name, "float_cells", "above zero", value)
    _need(0 < duration < math.inf, "duration", "float_cells", "above zero", duration)
    for name, value in (("bleed", bleed), ("clamp_current", clamp_current)):
        _need(value >= 0, name, "float_cells", "zero (none fitted) or more", value)
    first = cell_volts(voltage, farads, np.full(farads.shape, voltage / farads.size) if start is None else start)
    return _held(farads, 1.0 / ohms + (1.0 / bleed if bleed else 0.0), first, duration, clamp_voltage, clamp_current)


def _held(farads: Any, siemens: Any, first: Any, duration: float, clamp_voltage: float, clamp_current: float) -> tuple[Any, Any]:
    """dV/dt = (I - drain)/C for each cell, with the I that keeps the sum of the volts."""
    from scipy.integrate import solve_ivp

    shared = 1.0 / farads / (1.0 / farads).sum()

    def slopes(_: float, volts: Any) -> Any:
        s = np.clip((volts - clamp_voltage) / _RAMP, 0.0, 1.0)
        drain = siemens * volts + clamp_current * s * s * (3.0 - 2.0 * s)
        return (shared @ drain - drain) / farads

    def steepness(_: float, volts: Any) -> Any:
        s = np.clip((volts - clamp_voltage) / _RAMP, 0.0, 1.0)
        rate = siemens + clamp_current * 6.0 * s * (1.0 - s) / _RAMP
        return (shared * rate)[None, :] / farads[:, None] - np.diag(rate / farads)

    run = solve_ivp(slopes, (0.0, duration), first, method="Radau", jac=steepness, rtol=1e-7, atol=1e-9,
                    t_eval=np.linspace(0.0, duration, 241))
    return run.t, run.y.T


def decay(cell_capacitance: float, drain_resistance: float, duration: float = 30 * _DAY) -> tuple[Any, Any]:
    """A cell, or a bank of such cells, left alone: what is left of its volts.

    Parameters: cell_capacitance [F]; drain_resistance [ohm], leakage and bleed resistor together; duration [s].
    Returns times [s], evenly spaced by their logarithm from a minute (or a thousandth) on, and shares of the first volts [1].
    """
    _need(0 < duration < math.inf, "duration", "decay", "above zero", duration)
    decay_time(drain_resistance, cell_capacitance, 0.5)  # refuses what is not above zero
    times = np.geomspace(min(60.0, duration / 1000), duration, 121)
    return times, decay_voltage.arrays(1.0, times, drain_resistance, cell_capacitance)


# ---------------------------------------------------------------- clamps that cannot keep up
@dataclass(frozen=True)
class ClampRun:
    """A charge from empty past clamps: corners of the way (times [s], volts of the small cell and of each other [V]).

    `starts` [V of the string] is where the first clamp draws (nan: never); `held_current` [A] is what clamps can hold and
    `finishing_time` [s] the time from there to the full string at that current; `ended` is "full" or "held": every cell on
    its clamp, the string below the volts that would end the charge, and nobody stops it.
    """

    times: Any
    odd: Any
    others: Any
    cells_in_series: int
    starts: float
    held_current: float
    finishing_time: float
    ended: str

    @property
    def string(self) -> Any:
        """Volts of the string at the corners [V]."""
        return self.odd + (self.cells_in_series - 1) * self.others

    @property
    def odd_end(self) -> float:
        """Volts of the small cell at the end [V]."""
        return float(self.odd[-1])

    @property
    def others_end(self) -> float:
        """Volts of each other cell at the end [V]."""
        return float(self.others[-1])


def clamp_run(voltage: float, cells_in_series: int, charging_current: float, odd_capacitance: float, cell_capacitance: float, *,
              clamp_voltage: float = 2.65, clamp_current: float = 0.5) -> ClampRun:
    """Charge a string with one small cell from empty, every cell with a clamp.

    Parameters: voltage [V] at which the charger stops; cells_in_series [1]; charging_current [A]; odd_capacitance [F] of the
    small cell; cell_capacitance [F] of each other; clamp_voltage [V] where a clamp begins; clamp_current [A] the most it
    draws (0: none fitted).
    Returns ClampRun.  Raises InputError for what is not above zero and for a small cell that is the larger one.
    """
    _count(cells_in_series, "clamp_run")
    for name, value in (("voltage", voltage), ("charging_current", charging_current), ("clamp_voltage", clamp_voltage),
                        ("odd_capacitance", odd_capacitance)):
        _need(0 < value < math.inf, name, "clamp_run", "above zero", value)
    _need(clamp_current >= 0, "clamp_current", "clamp_run", "zero (none fitted) or more amperes", clamp_current)
    _need(odd_capacitance <= cell_capacitance < math.inf, "cell_capacitance", "clamp_run",
          f"that of the larger cells, not below the {odd_capacitance:g} F of the small one", cell_capacitance)
    n, farads, volts = cells_in_series, np.array([odd_capacitance, cell_capacitance]), np.zeros(2)
    weights, corners, clock, ended = np.array([1.0, n - 1.0]), [volts], [0.0], "full"
    while (short := voltage - weights @ volts) > 1e-9 * voltage:
        left = clamp_voltage - volts
        rates = np.where(left > 0, charging_current, max(charging_current - clamp_current, 0.0)) / farads
        if weights @ rates <= 0:
            ended = "held"
            break
        step = min([short / (weights @ rates), *(left[left > 0] / rates[left > 0])])
        volts = np.where((left > 0) & (left <= rates * step * (1 + 1e-12)), clamp_voltage, volts + rates * step)
        corners.append(volts)
        clock.append(clock[-1] + step)
    odd, others = np.array(corners).T
    starts = clamp_voltage * (1 + (n - 1) * odd_capacitance / cell_capacitance)
    done = clamp_current > 0 and starts < voltage <= n * clamp_voltage
    last = float(finishing_time(cell_capacitance, voltage, clamp_voltage, n, odd_capacitance, clamp_current)) if done else math.inf
    reached = clamp_current > 0 and starts <= voltage
    return ClampRun(np.array(clock), odd, others, n, starts if reached else math.nan, clamp_current,
                    0.0 if starts >= voltage else last, ended)
