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
    """What a log tells: `capacitance` [F] and `resistance` [ohm] by IEC 62391-1, `energy_capacitance` [F] and `loss` [J] by
    energy, all between `first_voltage` and `last_voltage` [V], crossed at `first_time` and `last_time` [s]; `line` is the
    straight line as (slope [V/s], volts at the start [V]); `window` names it."""

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

    @property
    def words(self) -> str:
        """The result in a sentence, with its window, and why another current gives another number."""
        return (f"{self.capacitance:.4g} F between {self.first_voltage:.3g} V and {self.last_voltage:.3g} V ({self.window}), "
                f"{1e3 * self.resistance:.3g} mΩ at switch-on. A larger current gives less: there is no time for the charge deep "
                "in the pores. Compare only tests with the same window and current.")


def capacitance_test(times: Sequence[float] | Any, volts: Sequence[float] | Any, current: float, rated: float, *,
                     high: float = 0.8, low: float = 0.4, start: float | None = None) -> CellTest:
    """Capacitance and resistance of a cell (or a whole bank) from the log of a discharge at constant current.

    Parameters: times [s], rising; volts [V] at the terminals; current [A], its size; rated [V]; `high` and `low` [1], the window
    as shares of `rated` (0.8 and 0.4 by IEC 62391-1); start [s], the switch-on (by default the first line of the log, which
    must then still show the volts before it).
    Returns CellTest.  Raises InputError, in words, for a log that is empty, holds gaps, rises, or does not span the window.
    """
    t, u, begin = _log(times, volts, start)
    _need(0 < current < np.inf, "current", "above zero: the size of a discharge current", f"{current} A")
    _need(0 < rated < np.inf, "rated", "above zero", f"{rated} V")
    _need(0 < low < high <= 1, "high", f"above low ({low:g}) and at most 1, with low above zero", high)
    first, last = high * rated, low * rated
    after = np.flatnonzero(t >= begin)
    before = u[after[0]]  # volts just before the switch-on
    _need(u[-1] < before, "volts", "those of a discharge, which falls", f"{before:.4g} V at the start and {u[-1]:.4g} V at the end")
    t1, t2 = (_crossing(t[after], u[after], level) for level in (first, last))
    inside = (t > t1) & (t < t2)
    t_line, u_line = (np.concatenate(([a], x[inside], [b])) for a, x, b in ((t1, t, t2), (first, u, last)))
    slope, at_start = (float(x) for x in np.polyfit(t_line - begin, u_line, 1))
    _need(before > at_start, "start", "the moment of switch-on, before which the volts stood above the straight line of the "
          "discharge", f"{begin:g} s, with {before:.4g} V there and {at_start:.4g} V on the line")
    ohm = float(step_resistance(before - at_start, current))
    given = current * float(np.trapezoid(u_line, t_line))
    name = next((words for words, shares in WINDOWS.items() if shares == (high, low)), f"{100 * high:g} % to {100 * low:g} %")
    return CellTest(float(window_capacitance(current, t2, t1, first, last)), ohm, float(energy_capacitance(given, first, last)),
                    float(swing_loss(ohm, current * (t2 - t1), t2 - t1)), first, last, t1, t2, (slope, at_start), name)


def _log(times: Any, volts: Any, start: float | None) -> tuple[Any, Any, float]:
    t, u = np.asarray(times, float), np.asarray(volts, float)
    _need(t.ndim == 1 and t.size >= 3, "times", "a log of three lines or more", f"{t.size}")
    _need(u.shape == t.shape, "volts", f"one number for each of the {t.size} times", f"{u.size}")
    _need(bool(np.isfinite(t).all() and np.isfinite(u).all()), "volts", "numbers without gaps (cut them out)",
          f"{int((~np.isfinite(t) | ~np.isfinite(u)).sum())} lines that hold none")
    _need(bool((np.diff(t) > 0).all()), "times", "rising from line to line", "some that stand or fall")
    begin = float(t[0]) if start is None else float(start)
    _need(t[0] <= begin < t[-1], "start", f"inside the log, {t[0]:g} s to {t[-1]:g} s", f"{begin:g} s")
    return t, u, begin


def _crossing(t: Any, u: Any, level: float) -> float:
    """Time at which the volts first fall below a level, between two lines of the log."""
    below = np.flatnonzero(u < level)
    _need(u[0] >= level and below.size > 0, "volts", f"a log that falls through {level:.4g} V, an end of the window",
          f"{u[0]:.4g} V down to {u.min():.4g} V")
    b = below[0]
    return float(t[b - 1] + (t[b] - t[b - 1]) * (u[b - 1] - level) / (u[b - 1] - u[b]))


def _need(right: Any, name: str, must: str, got: object) -> None:
    if not right:  # nan compares as false, so it is refused too
        raise InputError(f"Input {name} of cell_check.capacitance_test must be {must}; instead received {got}.")
