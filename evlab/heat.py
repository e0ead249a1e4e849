"""How hot does it get, and what gives up first: winding and the body that holds it as two lumps, and the limits of materials.

At a constant current the copper's loss grows in a straight line with its temperature, so two lumps are a linear system with an
exact solution.  The one lump of `motor` is its limit when the body is held at the temperature of the air.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import sympy

from evlab import motor
from evlab.demagnetising import grade_of
from evlab.equation import Equation
from evlab.glossary import entry, nearest
from evlab.units import InputError, si, told

__all__ = [
    "BODIES", "BURNT", "CLASSES", "GLUES", "Limit", "TwoLumps", "body_rise", "copper_rate", "copper_time", "thermal_time",
    "warming", "weakest",
]

HUGE = 300.0  # exponents of a runaway beyond any temperature: numbers must stay numbers
# K, 260 °C: where every enamel has burnt, since the best is of class 240 (common practice, no source).  No temperature of a winding
# is told beyond it; the straight line of copper's resistance is some 2 % low there.
BURNT = 533.15
ALPHA = float(entry("copper_coefficient").value or 0.0)
COLD = float(entry("reference_temperature").value or 0.0)
_ADIABATIC = "seconds: nothing flows off yet; of a winding fed two phases at a time, the copper that carries the current"

copper_rate = Equation(
    "heat.copper_rate", "copper_rate",
    lambda copper_resistivity, current_density, copper_density, copper_heat:
        copper_resistivity * current_density**2 / (copper_density * copper_heat),
    title="How fast copper of 20 °C warms by itself: about J²/200 kelvin a second, J in A/mm².",
    source=("iec-60028", "copper-heat"), tag="M29", within=_ADIABATIC)

copper_time = Equation(
    "heat.copper_time", "copper_time",
    lambda copper_density, copper_heat, copper_resistivity, copper_coefficient, current_density, last_temperature,
           first_temperature, reference_temperature:
        copper_density * copper_heat / (copper_resistivity * copper_coefficient * current_density**2)
        * sympy.log((1 + copper_coefficient * (last_temperature - reference_temperature))
                    / (1 + copper_coefficient * (first_temperature - reference_temperature))),
    title="Time until copper reaches a temperature while nothing flows off, its resistance growing as it warms.",
    source=("iec-60028", "copper-heat", "derived"), tag="M29", bracketed=True, within=_ADIABATIC)

thermal_time = Equation(
    "heat.thermal_time", "thermal_time",
    lambda thermal_resistance, heat_capacity, copper_coefficient, copper_loss:
        thermal_resistance * heat_capacity / (1 - copper_coefficient * copper_loss * thermal_resistance),
    title="Time constant of one lump at a constant current: the nearer to runaway, the longer.", source=("machine-heat", "derived"),
    tag="M29", within="below runaway; the loss is that at 20 °C")

warming = Equation(
    "heat.warming", "winding_temperature",
    lambda air_temperature, steady_rise, time, thermal_time: air_temperature + steady_rise * (1 - sympy.exp(-time / thermal_time)),
    title="Temperature of one lump that begins as warm as the air.", source=("machine-heat", "derived"), tag="M29",
    bracketed=True,
    within="a constant current; anything much longer than minutes asks for two lumps")

body_rise = Equation(
    "heat.body_rise", "body_rise",
    lambda steady_rise, outer_resistance, inner_resistance: steady_rise * outer_resistance / (inner_resistance + outer_resistance),
    title="Share of the winding's steady rise at which the body that holds it settles.", source=("circuits",), tag="M29",
    within="no heat of its own in that body")


# ---------------------------------------------------------------- two lumps
@dataclass(frozen=True)
class TwoLumps:
    """A winding and the body that holds it (former, stator, glue).  `inner`, winding to body, and `outer`, body to air [K/W];
    `winding` and `body`, their heat capacities [J/K]."""

    inner: float
    outer: float
    winding: float
    body: float

    @classmethod
    def of(cls, *, inner: Any, outer: Any, winding: Any, body: Any) -> TwoLumps:
        """Two lumps from values in SI or texts with their unit.

        Parameters: `inner`, `outer`, `winding`, `body` as of the class.  Raises InputError in words for one that is not above zero.
        """
        names = {"inner": "thermal_resistance", "outer": "thermal_resistance", "winding": "heat_capacity", "body": "heat_capacity"}
        made = {}
        for name, value in (("inner", inner), ("outer", outer), ("winding", winding), ("body", body)):
            made[name] = si(value, entry(names[name]), f"{name} of TwoLumps")
            if not made[name] > 0:
                raise InputError(f"Input {name} of TwoLumps must be above 0 {entry(names[name]).unit}; instead received "
                                 f"{told(value)}.")
        return cls(made["inner"], made["outer"], made["winding"], made["body"])

    def _system(self, loss: float, air: float, other: float, body_loss: float) -> tuple[Any, Any]:
        """Matrix and constant of the rates: [K/s] = matrix @ temperatures + constant.  `loss` is that of the copper at 20 °C."""
        feedback, g1, g2 = ALPHA * loss, 1 / self.inner, 1 / self.outer
        matrix = np.array([[(feedback - g1) / self.winding, g1 / self.winding], [g1 / self.body, -(g1 + g2) / self.body]])
        constant = np.array([(loss - feedback * COLD + other) / self.winding, (g2 * air + body_loss) / self.body])
        return matrix, constant

    def temperatures(self, times: Any, loss: float, *, air: float = 293.15, start: tuple[float, float] | None = None,
                     other: float = 0.0, body_loss: float = 0.0) -> Any:
        """Winding and body [K] at times [s] of a constant current, shape (2, n); exact, also beyond runaway.

        The line goes on above BURNT, where no winding is left: ask for times up to `burns_at` only.

        Parameters: `times`; `loss`, copper loss at 20 °C [W]; `air` [K]; `start`, both at the beginning, by default as the air;
        `other`, loss in the winding that does not grow with its heat, such as eddy currents [W]; `body_loss` in the body [W].
        """
        matrix, constant = self._system(loss, air, other, body_loss)
        scale = np.sqrt(np.array([self.winding, self.body]))  # in these the matrix is symmetric, so its modes are real
        rates, modes = np.linalg.eigh(matrix * scale[:, None] / scale[None, :])
        first = np.array([air, air] if start is None else start, float)
        parts, fed = modes.T @ (scale * first), modes.T @ (scale * constant)
        x = np.minimum(np.multiply.outer(rates, np.atleast_1d(np.asarray(times, float))), HUGE)
        grown = np.where(np.abs(x) < 1e-12, 1.0, np.expm1(x) / np.where(x == 0, 1.0, x))  # (e^x - 1)/x
        amounts = parts[:, None] * np.exp(x) + fed[:, None] * grown * np.atleast_1d(np.asarray(times, float))
        return (modes @ amounts) / scale[:, None]

    def runaway_current(self, resistance: float) -> float:
        """Continuous current above which the winding never settles [A], from its resistance at 20 °C in the current's path [Ω]."""
        return float(motor.runaway_current(winding_resistance=resistance, thermal_resistance=self.inner + self.outer))

    def settles(self, loss: float) -> bool:
        """Whether it settles at all with a copper loss at 20 °C [W]."""
        return ALPHA * loss * (self.inner + self.outer) < 1.0

    def steady(self, loss: float, *, air: float = 293.15, other: float = 0.0, body_loss: float = 0.0) -> tuple[float, float]:
        """Winding and body in the long run [K].

        Parameters: `loss`, `air`, `other`, `body_loss` as of temperatures.  Raises InputError in words beyond runaway.
        """
        if not self.settles(loss):
            most = 1 / (ALPHA * (self.inner + self.outer))
            raise InputError(f"A loss of {loss:.4g} W at 20 °C never settles: from {most:.4g} W on, hotter copper makes more heat "
                             "than the extra warmth carries off. Take less current, thicker copper or better cooling.")
        matrix, constant = self._system(loss, air, other, body_loss)
        winding, body = np.linalg.solve(matrix, -constant).tolist()
        return winding, body

    def burns_at(self, loss: float, *, air: float = 293.15, start: tuple[float, float] | None = None, other: float = 0.0,
                 body_loss: float = 0.0) -> float:
        """Time until the winding is at BURNT [s]; infinite where it never is.  Parameters as of temperatures."""
        return self.time_to(BURNT, loss, air=air, start=start, other=other, body_loss=body_loss)

    def time_to(self, limit: float, loss: float, *, air: float = 293.15, start: tuple[float, float] | None = None,
                other: float = 0.0, body_loss: float = 0.0, of_body: bool = False) -> float:
        """Time until the winding, or the body, first reaches a temperature [s]; infinite where it never does.

        Parameters: `limit` [K]; `loss`, `air`, `start`, `other`, `body_loss` as of temperatures; `of_body`, for the body's limit.
        """
        from scipy.optimize import brentq

        row = 1 if of_body else 0

        def over(time: float) -> float:
            warm = self.temperatures(time, loss, air=air, start=start, other=other, body_loss=body_loss)
            return float(warm[row, 0]) - limit

        if over(0.0) >= 0:
            return 0.0
        rates = np.linalg.eigvals(self._system(loss, air, other, body_loss)[0]).real
        slowest = 1 / max(float(np.abs(rates).min()), 1e-9)
        grid = np.concatenate([[0.0], np.geomspace(1e-3, min(60 * slowest, 1e7), 300)])
        with np.errstate(over="ignore", invalid="ignore"):
            warm = self.temperatures(grid, loss, air=air, start=start, other=other, body_loss=body_loss)[row]
        reached = np.flatnonzero(~(warm < limit))  # beyond runaway the far end overflows: that is reached, too
        if not reached.size:
            return math.inf
        return float(brentq(over, grid[reached[0] - 1], grid[reached[0]], xtol=1e-9))


# ---------------------------------------------------------------- what gives up first
CLASSES = {"Y": 90.0, "A": 105.0, "E": 120.0, "B": 130.0, "F": 155.0, "H": 180.0}  # °C of IEC 60085, hottest spot
# °C: from memory; a maker's sheet comes first.
BODIES = {"PLA": 60.0, "PETG": 75.0, "ABS": 95.0, "ASA": 95.0, "nylon": 90.0, "polycarbonate": 110.0, "glass-fibre laminate": 130.0,
          "plywood": 100.0}
GLUES = {"two-part epoxy, five minutes": 50.0, "two-part epoxy": 70.0, "epoxy cured hot": 120.0, "cyanoacrylate": 80.0,
         "polyester resin": 80.0, "none": math.inf}


@dataclass(frozen=True)
class Limit:
    """What a part stands: `name`, `temperature` [K], `words`, `mark` of its source."""

    name: str
    temperature: float
    words: str
    mark: str


def weakest(*, enamel: str = "F", body: str = "PETG", glue: str = "two-part epoxy", grade: str | None = "N42") -> tuple[Limit, ...]:
    """The limits of winding, body, glue and magnets, the weakest first; its `words` name it.

    Parameters: `enamel`, a thermal class of CLASSES; `body`, one of BODIES; `glue`, one of GLUES; `grade`, a magnet grade, or None.
    Raises InputError for a name that is not in its table, with the nearest one.
    """
    limits = [
        Limit("enamel", _degrees(enamel, CLASSES, "enamel"), f"the enamel of class {enamel}", "iec-60085"),
        Limit("body", _degrees(body, BODIES, "body"), f"the body of {body}, which softens", "softening"),
        Limit("glue", _degrees(glue, GLUES, "glue"), f"the glue ({glue}), which lets go", "softening"),
    ]
    if grade is not None:
        of = grade_of(grade)
        words = f"the {of.name} magnets (as makers state it; a thin magnet alone stands less)"
        limits.append(Limit("magnets", of.temperature, words, "magnet-sheets"))
    return tuple(sorted((x for x in limits if x.temperature < math.inf), key=lambda x: x.temperature))


def _degrees(name: str, table: dict[str, float], what: str) -> float:
    if name not in table:
        raise InputError(f"Input {what} of weakest must be one of {', '.join(table)}; instead received {told(name)}."
                         f"{nearest(name, table)}")
    return table[name] + 273.15
