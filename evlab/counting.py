"""Were the turns counted right?  A wound coil is weighed and its resistance measured: both tell the turns, each with its doubt.

A thicker wire than told makes the coil heavier but its resistance lower, so one measurement then says too many turns and the other
too few: together they cancel most of the doubt about the wire.  A +/- means the same everywhere, of what is told and of what comes
out: limits that hold in some nineteen cases of twenty; independent ones are added as squares.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from evlab.glossary import entry
from evlab.units import InputError, made_by, read, si, told
from evlab.wires import WireSize

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Count", "CountCheck"]

DENSITY = 70.0  # kg/m3: the standards of wire give copper 8890 (IEC 60028), handbooks pure copper 8960
BEYOND = 1e6  # kg, m, ohm, K: more is no coil
RESISTIVITY = 0.01  # share: copper of 58 to 59 MS/m (IEC 60317-0-1), and what joints and bends add
_SOURCES = {"mass": "scales", "former": "weight of the former", "resistance": "resistance", "temperature": "temperature",
            "mean_turn": "length of the mean turn", "tails": "length of the tails", "diameter": "tolerance of the wire",
            "enamel": "enamel", "density": "density of copper", "copper": "kind of copper"}


@dataclass(frozen=True)
class Count:
    """Turns as one measurement tells them: `turns`, `spread` (+/-), and `shares`, the part of the spread that each cause has by
    itself, in turns, by name."""

    turns: float
    spread: float
    shares: dict[str, float]

    @property
    def coarsest(self) -> str:
        """What the doubt comes from most, in words."""
        return _SOURCES[max(self.shares, key=lambda name: abs(self.shares[name]))]


@dataclass(frozen=True)
class CountCheck:
    """The planned turns of a coil against what its weight and its resistance say.

    `planned`; `wire`; `strands` in hand; `values` and `spreads` in SI by name: mean_turn, tails (both together), mass, former,
    resistance, temperature; a measurement that was not made is missing.
    """

    planned: int
    wire: WireSize
    strands: int
    values: dict[str, float]
    spreads: dict[str, float]

    @classmethod
    def of(cls, planned: int, wire: WireSize, strands: int = 1, *, mean_turn: Any, mass: Any = None, former: Any = "0 g",
           resistance: Any = None, temperature: Any = "20 degC +/- 2 degC", tails: Any = "0 mm") -> CountCheck:
        """A check from measurements, texts such as "141 g +/- 1 g" or numbers in SI (which count as exact).

        Parameters: `planned`, turns that were to be wound; `wire`; `strands`; `mean_turn`, length of the mean turn; `mass` of the
        coil with its `former`; `resistance` and the `temperature` at which it was measured (unless told a room at 20 °C); `tails`,
        length of wire beyond the turns, both ends together.  Raises InputError in words where neither mass nor resistance is
        given, and for what cannot be.
        """
        for number, name in ((planned, "planned"), (strands, "strands")):
            if type(number) is not int or not 1 <= number <= BEYOND:
                raise InputError(f"Input {name} of CountCheck must be a whole number from 1 to {BEYOND:.0f}; "
                                 f"instead received {told(number)}.")
        made_by("wire of CountCheck", wire, "overall", "evlab.wires.metric()")
        if mass is None and resistance is None:
            raise InputError("CountCheck needs the mass of the coil or its resistance: one measurement at least.")
        given = {"mean_turn": (mean_turn, "mean_turn"), "tails": (tails, "mean_turn"), "mass": (mass, "mass"),
                 "former": (former, "mass"), "resistance": (resistance, "coil_resistance"),
                 "temperature": (temperature, "winding_temperature")}
        values, spreads = {}, {}
        for name, (value, symbol) in given.items():
            if value is not None or name not in ("mass", "resistance"):
                values[name], spreads[name] = _measured(value, symbol, f"{name} of CountCheck", zero=name in ("tails", "former"))
        if mass is not None and values["former"] >= values["mass"]:
            raise InputError(f"Input mass of CountCheck must be more than that of the former, {1e3 * values['former']:g} g; "
                             f"instead received {told(mass)}.")
        return cls(planned, wire, strands, values, spreads)

    # ------------------------------------------------------------ what each measurement says
    def _turns(self, way: str, **changed: float) -> float:
        """Turns by "mass" or "resistance", with some values changed; `diameter`, `enamel`, `density`, `copper` are factors."""
        at = {**self.values, "diameter": 1.0, "enamel": 1.0, "density": 1.0, "copper": 1.0, **changed}
        if way == "mass":
            metre = self.strands * (self.wire.mass * at["density"] * at["diameter"]**2 + self.wire.enamel_mass * at["enamel"])
            length = (at["mass"] - at["former"]) / metre
        else:
            warm = 1 + _constant("copper_coefficient") * (at["temperature"] - _constant("reference_temperature"))
            length = at["resistance"] / warm * self.strands / (self.wire.ohms * at["copper"]) * at["diameter"]**2
        return (length - at["tails"]) / at["mean_turn"]

    @cached_property
    def _doubts(self) -> dict[str, tuple[float, float]]:
        """Value and spread of everything that has a doubt."""
        coat = self.wire.overall - self.wire.thinnest_overall, (self.wire.overall + self.wire.thinnest_overall) / 2 - self.wire.bare
        return {**{n: (self.values[n], s) for n, s in self.spreads.items()},
                "diameter": (1.0, self.wire.tolerance / self.wire.bare), "enamel": (1.0, coat[0] / 2 / coat[1]),
                "density": (1.0, DENSITY / _constant("copper_density")), "copper": (1.0, RESISTIVITY)}

    def _slopes(self, way: str) -> dict[str, float]:
        """Turns for each doubt, by the slope at its middle."""
        return {name: (self._turns(way, **{name: value + spread / 2}) - self._turns(way, **{name: value - spread / 2}))
                for name, (value, spread) in self._doubts.items() if spread}

    def _count(self, way: str) -> Count | None:
        if way not in self.values:
            return None
        shares = {name: slope for name, slope in self._slopes(way).items() if slope}
        return Count(self._turns(way), math.sqrt(sum(s * s for s in shares.values())), shares)

    @cached_property
    def by_mass(self) -> Count | None:
        return self._count("mass")

    @cached_property
    def by_resistance(self) -> Count | None:
        return self._count("resistance")

    @cached_property
    def combined(self) -> Count:
        """Both together, weighted so that the doubt is least; the doubts they share (wire, mean turn) are counted as shared."""
        counts = [c for c in (self.by_mass, self.by_resistance) if c]
        names = sorted({name for c in counts for name in c.shares})
        shares = np.array([[c.shares.get(name, 0.0) for name in names] for c in counts])
        weights = np.ones(1)
        if len(counts) == 2 and (apart := float(((shares[0] - shares[1])**2).sum())):
            first = float(np.clip((shares[1] * (shares[1] - shares[0])).sum() / apart, 0.0, 1.0))
            weights = np.array([first, 1 - first])
        elif len(counts) == 2:
            weights = np.array([0.5, 0.5])
        both = weights @ shares
        turns = float(weights @ np.array([c.turns for c in counts]))
        return Count(turns, float(np.sqrt((both**2).sum())), dict(zip(names, both.tolist(), strict=True)))

    # ------------------------------------------------------------ the verdict
    @property
    def quarrel(self) -> bool:
        """Whether weight and resistance contradict each other by more than their doubts."""
        if not (self.by_mass and self.by_resistance):
            return False
        names = {*self.by_mass.shares, *self.by_resistance.shares}
        doubt = math.hypot(*(self.by_mass.shares.get(n, 0.0) - self.by_resistance.shares.get(n, 0.0) for n in names))
        return abs(self.by_mass.turns - self.by_resistance.turns) > doubt

    @property
    def agrees(self) -> bool:
        """Whether the planned count lies within the doubt of what was measured, and the measurements agree."""
        return not self.quarrel and abs(self.planned - self.combined.turns) <= self.combined.spread

    @property
    def missing(self) -> tuple[int, int]:
        """Least and most turns that may be missing; below zero: too many."""
        low, high = (self.planned - self.combined.turns + s * self.combined.spread for s in (-1, 1))
        return math.ceil(low - 1e-9), math.floor(high + 1e-9)

    @property
    def verdict(self) -> str:
        """What the measurements say, in words."""
        return " ".join(filter(None, (self._finding(), *self._too_coarse())))

    def _finding(self) -> str:
        if self.quarrel:
            assert self.by_mass
            assert self.by_resistance
            heavier = self.by_mass.turns > self.by_resistance.turns
            why = ("a thicker wire than told, or glue or former in the weight" if heavier
                   else "a thinner wire than told, a strand that is not joined, or leads in the resistance")
            return (f"Weight and resistance contradict each other: {self.by_mass.turns:.1f} turns against "
                    f"{self.by_resistance.turns:.1f}. Look for {why} before you trust either.")
        count = f"{self.combined.turns:.1f} +/- {self.combined.spread:.1f} turns measured, {self.planned} planned"
        low, high = self.missing
        if self.agrees:
            if high < 1 and low > -1:
                return f"The count is right: {count}."
            more = f"{high} missing" if high >= 1 else ""
            many = f"{-low} too many" if low <= -1 else ""
            return f"The count may be right: {count}; up to {' or '.join(filter(None, (more, many)))} would not show."
        lacking = self.combined.turns < self.planned
        least, most = (low, high) if lacking else (-high, -low)
        if least > most:
            return f"The count does not come out whole: {count}. Look again at the mean turn, the wire and the former."
        range_ = f"{least}" if least == most else f"{least} to {most}"
        return f"The count is wrong: {count}; {range_} {'missing' if lacking else 'too many'}."

    def _too_coarse(self) -> list[str]:
        """Sentences on measurements that cannot tell one turn."""
        said = [f"The {name} alone cannot tell one turn (+/- {count.spread:.1f}); the largest part of that comes from the "
                f"{count.coarsest}."
                for name, count in (("weight", self.by_mass), ("resistance", self.by_resistance)) if count and count.spread >= 1]
        if "resistance" in self.values and self.values["resistance"] < 1.0:
            said.append("So few ohms want four wires (common practice): a current of some amps, and the volts at the coil itself.")
        return said

    def table(self) -> pd.DataFrame:
        """A row for each way: turns, their +/-, and where most of that comes from."""
        import pandas as pd

        ways = (("by weight", self.by_mass), ("by resistance", self.by_resistance), ("both together", self.combined))
        rows = [(name, c.turns, c.spread, c.coarsest if c.shares else "") for name, c in ways if c]
        return pd.DataFrame(rows, columns=["way", "turns", "+/-", "mostly by"]).set_index("way")


def _measured(value: Any, symbol: str, where: str, zero: bool) -> tuple[float, float]:
    """Value and spread in SI; a plain number counts as exact."""
    if isinstance(value, str):
        reading = read(value, entry(symbol), where)
        number, spread = reading.value, reading.spread or 0.0
    else:
        number, spread = si(value, entry(symbol), where), 0.0
    if number < 0 or (number == 0 and not zero):
        raise InputError(f"Input {where} must be above zero; instead received {told(value)}.")
    if number > BEYOND:
        raise InputError(f"Input {where} must be at most {BEYOND:g} {entry(symbol).unit}; instead received {told(value)}.")
    if symbol != "winding_temperature" and spread and spread >= number:
        raise InputError(f"Input {where} must have a +/- smaller than itself; instead received {told(value)}.")
    return number, spread


def _constant(name: str) -> float:
    value = entry(name).value
    assert value is not None
    return value
