"""The test of one cell: capacitance and resistance out of the log of a discharge at constant current."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from evlab.equation import Equation
from evlab.units import InputError

__all__ = [
    "WINDOWS", "CellTest", "capacitance_test", "charging_test_current", "discharging_test_current", "energy_capacitance",
    "step_resistance", "swing_loss", "window_capacitance",
]

WINDOWS = {  # shares of the rated volts, upper and lower
    "IEC 62391-1": (0.8, 0.4),
    "IEC 62576": (0.9, 0.7),
    "a maker's sheet": (0.85, 0.5),
}
_TEST = "a discharge at constant current after a long hold at the rated volts"
_FULL = "a linear capacitor, from full to empty or back"

window_capacitance = Equation(
    "cell_check.window_capacitance", "cell_capacitance",
    lambda store_current, last_time, first_time, first_voltage, last_voltage:
        store_current * (last_time - first_time) / (first_voltage - last_voltage),
    title="Capacitance of a cell from the time its volts take through a window.", source=("iec-62391-1",), tag="T1", within=_TEST)

step_resistance = Equation(
    "cell_check.step_resistance", "cell_resistance", lambda voltage_step, store_current: voltage_step / store_current,
    title="Resistance of a cell from its step at switch-on, by the straight line drawn back.", source=("iec-62391-1",), tag="T1",
    within=_TEST)

energy_capacitance = Equation(
    "cell_check.energy_capacitance", "cell_capacitance",
    lambda delivered_energy, first_voltage, last_voltage: 2 * delivered_energy / (first_voltage**2 - last_voltage**2),
    title="Capacitance of a cell from the energy it gives through a window.", source=("iec-62576",), tag="T1", within=_TEST)

swing_loss = Equation(
    "cell_check.swing_loss", "lost_energy", lambda cell_resistance, charge, time: cell_resistance * charge**2 / time,
    title="Heat in a cell through which a charge goes evenly in a time.", source=("iec-62576",), tag="S9",
    within="constant current")

charging_test_current = Equation(
    "cell_check.charging_test_current", "charging_current",
    lambda rated_cell_voltage, test_efficiency, cell_resistance:
        rated_cell_voltage * (1 / test_efficiency - 1) / (2 * cell_resistance),
    title="Charging current that stores 95 % of what goes in: rated volts over 38 times the resistance.", source=("iec-62576",),
    tag="S9", within=_FULL)

discharging_test_current = Equation(
    "cell_check.discharging_test_current", "store_current",
    lambda rated_cell_voltage, test_efficiency, cell_resistance: rated_cell_voltage * (1 - test_efficiency) / (2 * cell_resistance),
    title="Discharging current that gets 95 % out: rated volts over 40 times the resistance.", source=("iec-62576",),
    tag="S9", within=_FULL)


@dataclass(frozen=True)
class CellTest:
    """What a log shows: `capacitance` [F] and `resistance` [ohm] by IEC 62391-1, `energy_capacitance` [F] and `loss` [J] by
    energy, all between `first_voltage` and `last_voltage` [V], crossed at `first_time` and `last_time` [s].

    `resistance_spread` [ohm] is one standard deviation of the resistance; `start` [s] the moment of switch-on that was used and
    `start_between` [s, s] the two lines of the log around it; `line` the straight line as (slope [V/s], volts at `start` [V]);
    `window` names the window; `note` is what to do better in the next log, or "".
    """

    capacitance: float
    resistance: float
    energy_capacitance: float
    loss: float
    first_voltage: float
    last_voltage: float
    first_time: float
    last_time: float
    line: tuple[float, float]
    window: str
    resistance_spread: float = 0.0
    start: float = 0.0
    start_between: tuple[float, float] = (0.0, 0.0)
    note: str = ""

    @property
    def words(self) -> str:
        """The result in a sentence, with its window, and why another current gives another number."""
        return (f"{self.capacitance:.4g} F between {self.first_voltage:.3g} V and {self.last_voltage:.3g} V ({self.window}), "
                f"{1e3 * self.resistance:.3g} ± {1e3 * self.resistance_spread:.2g} mΩ at switch-on. {self.note}A larger current "
                "gives less: there is no time for the charge deep in the pores. Compare only tests with the same window and "
                "current.")


@dataclass(frozen=True)
class _Switch:
    """The moment of switch-on [s], the lines of the log before and after it, the volts at rest, and how far each may be off."""

    moment: float
    between: tuple[float, float]
    level: float
    level_spread: float
    rows: int


REST = 20  # lines at rest that are averaged: the last ones, since a bank creeps for minutes after its charge


def capacitance_test(times: Sequence[float] | Any, volts: Sequence[float] | Any, current: float, rated: float, *,
                     high: float = 0.8, low: float = 0.4, start: float | None = None) -> CellTest:
    """Capacitance and resistance of a cell (or a whole bank) from the log of a discharge at constant current.

    Parameters: times [s], rising; volts [V] at the terminals; current [A], its size; rated [V]; `high` and `low` [1], the window
    as shares of `rated` (0.8 and 0.4 by IEC 62391-1); start [s], the switch-on, where it is known better than from the lines.
    The log begins with one line at rest or more.  A log shows the switch-on only to within two lines: the straight line is
    drawn back to the middle between them, and the spread holds the rest (I dt/C over the root of 12, in volts).
    Returns CellTest.  Raises InputError, in words, for a log that is empty, holds gaps, rises, or does not span the window.
    """
    t, u = _log(times, volts)
    _need(_number(current) and 0 < current < np.inf, "current", "above zero: the size of a discharge current, like 30",
          f"{current} A")
    _need(_number(rated) and 0 < rated < np.inf, "rated", "above zero, like 2.7", f"{rated} V")
    _need(_number(low) and _number(high) and 0 < low < high <= 1, "high",
          f"above low ({low}) and at most 1, with low above zero", high)
    _need(start is None or (_number(start) and t[0] <= start < t[-1]), "start", f"inside the log, {t[0]:g} s to {t[-1]:g} s",
          f"{start} s")
    first, last = high * rated, low * rated
    after = t >= (t[0] if start is None else start)
    before = u[after][0]
    _need(u[-1] < before, "volts", "those of a discharge, which falls", f"{before:.4g} V at the start and {u[-1]:.4g} V at the end")
    t1, t2 = (_crossing(t[after], u[after], level) for level in (first, last))
    fit = _Line.through(t, u, (t1, first), (t2, last))
    switch = _switch(t, u, fit, t1, start)
    at_start = float(fit.at(switch.moment))
    slack = (switch.between[1] - switch.between[0]) / 12**0.5 if start is None else 0.0
    spread = float(np.hypot(np.hypot(fit.slope * slack, fit.spread_at(switch.moment)), switch.level_spread)) / current
    ohm = float(step_resistance.floats(switch.level - at_start, current))
    inside = (t > t1) & (t < t2)
    t_line, u_line = (np.concatenate(([a], x[inside], [b])) for a, x, b in ((t1, t, t2), (first, u, last)))
    given = current * float(np.trapezoid(u_line, t_line))
    name = next((words for words, shares in WINDOWS.items() if shares == (high, low)), f"{100 * high:g} % to {100 * low:g} %")
    return CellTest(float(window_capacitance(current, t2, t1, first, last)), ohm, float(energy_capacitance(given, first, last)),
                    float(swing_loss.floats(max(ohm, 0.0), current * (t2 - t1), t2 - t1)), first, last, t1, t2,
                    (fit.slope, at_start), name, spread, switch.moment, switch.between, _note(switch, fit, ohm, spread, start))


def _note(switch: _Switch, fit: _Line, ohm: float, spread: float, start: float | None) -> str:
    """What the log cannot tell, and what to do about it."""
    gap = switch.between[1] - switch.between[0]
    if start is None and switch.rows == 1 and abs(switch.level - fit.at(switch.between[0])) <= 3 * fit.noise:
        return "The first line of the log may already be under load: record some lines at rest first. "
    if start is None and spread > 0.3 * abs(ohm):
        return (f"The switch-on lies anywhere between two lines {gap:.2g} s apart, so the resistance is hardly known: "
                "record faster. ")
    return ""


# ---------------------------------------------------------------- the straight line
@dataclass(frozen=True)
class _Line:
    """A straight line through lines of a log: `slope` [V/s], `middle` (s, V), scatter [V] and what its spread is made of."""

    slope: float
    middle: tuple[float, float]
    noise: float
    count: int
    moments: float

    @classmethod
    def through(cls, t: Any, u: Any, upper: tuple[float, float], lower: tuple[float, float]) -> _Line:
        inside = (t > upper[0]) & (t < lower[0])
        x, y = t[inside], u[inside]
        if x.size < 5:  # a coarse log: both ends of the window help
            x, y = (np.concatenate(([upper[i]], part, [lower[i]])) for i, part in ((0, x), (1, y)))
        mean_x, mean_y = float(x.mean()), float(y.mean())
        moments = float(((x - mean_x) ** 2).sum())
        slope = float(((x - mean_x) * (y - mean_y)).sum()) / moments
        rest = y - mean_y - slope * (x - mean_x)
        return cls(slope, (mean_x, mean_y), float(np.sqrt((rest**2).sum() / max(x.size - 2, 1))), int(x.size), moments)

    def at(self, moment: Any) -> Any:
        return self.middle[1] + self.slope * (moment - self.middle[0])

    def spread_at(self, moment: float) -> float:
        """One standard deviation of the line there [V]."""
        return float(self.noise * np.sqrt(1 / self.count + (moment - self.middle[0]) ** 2 / self.moments))


def _switch(t: Any, u: Any, fit: _Line, until: float, start: float | None) -> _Switch:
    """Where the volts leave their level: the split into a level and the straight line that leaves the least squares."""
    if start is not None:
        last = int(np.flatnonzero(t <= start)[-1])
        moment = float(start)
    else:
        early = u[t < until]
        count = np.arange(1, early.size + 1)
        level = np.cumsum(early**2) - np.cumsum(early) ** 2 / count  # squares about the mean of the lines up to each
        sloping = (early - fit.at(t[: early.size])) ** 2
        last = int(np.argmin(level + sloping.sum() - np.cumsum(sloping)))
        if _rests_too(t, u, fit, last):
            last += 1
        moment = float(t[last] + t[last + 1]) / 2
    rest = u[max(0, last + 1 - REST): last + 1]
    noise = float(np.std(rest, ddof=1)) if rest.size > 4 else fit.noise
    after = int(np.flatnonzero(t > moment)[0])
    found = _Switch(moment, (float(t[after - 1]), float(t[after])), float(rest.mean()), noise / rest.size**0.5, int(rest.size))
    _need(start is not None or not _silent(u, fit, found), "volts",
          "a log that begins at rest, with volts that step down at switch-on by more than they scatter (record some seconds of "
          "rest first)", f"{found.level:.4g} V before {moment:.4g} s and {fit.at(moment):.4g} V after it")
    return found


def _rests_too(t: Any, u: Any, fit: _Line, last: int) -> bool:
    """Whether the next line is at rest too, where both would do: on the level, under load, it would make the ohms negative."""
    level = u[max(0, last + 1 - REST): last + 1].mean()
    return bool(t.size > last + 2 and abs(u[last + 1] - level) <= 3 * fit.noise
                and abs(fit.slope) * (t[last + 1] - t[last]) > 6 * fit.noise > 0)


def _silent(u: Any, fit: _Line, found: _Switch) -> bool:
    """Whether no step shows, where lines are close enough together for one to show."""
    if fit.slope * (found.between[0] - found.between[1]) > 6 * fit.noise > 1e-6 * abs(found.level):
        return False
    if found.rows == 1 and abs(found.level - fit.at(found.between[0])) <= 3 * fit.noise + 1e-6 * abs(found.level):
        return True
    return bool(found.level - fit.at(found.moment) <= 3 * np.hypot(found.level_spread, fit.spread_at(found.moment)))


# ---------------------------------------------------------------- the log
def _log(times: Any, volts: Any) -> tuple[Any, Any]:
    try:
        t, u = np.asarray(times, float), np.asarray(volts, float)
    except (TypeError, ValueError, OverflowError):
        raise InputError("Inputs times and volts of cell_check.capacitance_test must be lists of numbers in s and in V, like "
                         "[0.0, 0.1, 0.2] and [2.7, 2.69, 2.68]; instead received something else.") from None
    _need(t.ndim == 1 and t.size >= 3, "times", "a log of three lines or more", f"{t.size}")
    _need(u.shape == t.shape, "volts", f"one number for each of the {t.size} times", f"{u.size}")
    _need(bool(np.isfinite(t).all() and np.isfinite(u).all()), "volts", "numbers without gaps (cut them out)",
          f"{int((~np.isfinite(t) | ~np.isfinite(u)).sum())} lines that hold none")
    _need(bool((np.diff(t) > 0).all()), "times", "rising from line to line", "some that stand or fall")
    return t, u


def _crossing(t: Any, u: Any, level: float) -> float:
    """Time at which the volts fall through a level: halfway between the first crossing and the last, which noise sets apart."""
    below, above = np.flatnonzero(u < level), np.flatnonzero(u >= level)
    _need(u[0] >= level and below.size > 0, "volts", f"a log that falls through {level:.4g} V, an end of the window",
          f"{u[0]:.4g} V down to {u.min():.4g} V")
    b, a = int(below[0]), min(int(above[-1]), t.size - 2)
    return (_between(t, u, b - 1, level) + _between(t, u, a, level)) / 2


def _between(t: Any, u: Any, i: int, level: float) -> float:
    return float(t[i] + (t[i + 1] - t[i]) * (u[i] - level) / (u[i] - u[i + 1]))


def _number(value: Any) -> bool:
    size: Any = value
    return isinstance(value, int | float | np.integer | np.floating) and not isinstance(value, bool) and abs(size) < 1e300


def _need(right: Any, name: str, must: str, got: object) -> None:
    if not right:  # nan compares as false, so it is refused too
        raise InputError(f"Input {name} of cell_check.capacitance_test must be {must}; instead received {got}.")
