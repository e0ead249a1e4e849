"""A lithium pack: open-circuit volts by chemistry, resistance by charge and temperature, one slow branch.

A current is positive when the pack gives.  `pack_terminal`, `pack_slope` and `pack_stored` are the seam to the loop.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
import sympy

from evlab import data
from evlab.equation import Equation
from evlab.kernels import kernel
from evlab.store import SETTLED, store_loss, voltage_under_power
from evlab.units import InputError

__all__ = [
    "CELL_VOLTS", "CHEMISTRIES", "LithiumPack", "c_rate", "cold_pack_resistance", "compensated_stop",
    "open_cell_volts", "pack_charge", "pack_resistance", "shared_current_limit", "time_at_current",
]

# chemistry: empty, nominal and full volts of a cell, under the usual limits of its makers (memory)
CELL_VOLTS: dict[str, tuple[float, float, float]] = {
    "nmc": (2.5, 3.6, 4.2), "lfp": (2.5, 3.2, 3.65), "lto": (1.8, 2.4, 2.8), "nmc_sic": (2.5, 3.6, 4.2)}
CHEMISTRIES = tuple(CELL_VOLTS)
PLATING = 273.15  # K: lithium cells charged colder plate metal
_TABLES = ("evlab-2026-open-volts.csv", "chen-2020-open-volts.csv", "bpx-2022-open-volts.csv")
# share of the charge: resistance over that at half charge; every chemistry stiffens towards empty (memory)
_STIFFER = ((0.0, 2.2), (0.05, 1.7), (0.1, 1.35), (0.2, 1.1), (0.3, 1.0), (0.9, 1.0), (1.0, 1.05))
_EQUAL = "equal cells; strings in parallel share within 20 % (common practice)"

pack_charge = Equation(
    "lithium.pack_charge", "charge", lambda cell_charge, strings_in_parallel: cell_charge * strings_in_parallel,
    title="Charge of a pack: strings in parallel add, cells in series do not.", source=("circuits",), tag="S22", within=_EQUAL)

pack_resistance = Equation(
    "lithium.pack_resistance", "store_resistance",
    lambda cells_in_series, strings_in_parallel, cell_resistance, joint_resistance, lead_resistance:
        cells_in_series * (cell_resistance / strings_in_parallel + joint_resistance) + lead_resistance,
    title="Resistance of a pack: cells side by side share, the joints between the groups carry all.",
    source=("circuits",), tag="S23", within="25 degC, half charged, by seconds")

cold_pack_resistance = Equation(
    "lithium.cold_pack_resistance", "cold_resistance",
    lambda store_resistance, activation_temperature, warm_temperature, cell_temperature:
        store_resistance * sympy.exp(activation_temperature * (1 / cell_temperature - 1 / warm_temperature)),
    title="Resistance of cold lithium cells: 2.3 times at 10 degC below zero, three times at 20 below.",
    source=("lithium-cold",), tag="S22", within="-20 degC to 50 degC", limits={"cell_temperature": (253.15, 323.15)})

c_rate = Equation(
    "lithium.c_rate", "c_rate", lambda store_current, charge: store_current / charge,
    title="C-rate: current over charge; at one per hour, 1 C, the pack is empty in an hour.", source=("definition",), tag="S23",
    within="any current")

shared_current_limit = Equation(
    "lithium.shared_current_limit", "store_current",
    lambda cell_current_limit, strings_in_parallel, sharing: cell_current_limit * strings_in_parallel / (1 + sharing),
    title="What a pack may give: no cell above its limit though one takes a fifth more than its share.",
    source=("common practice",), tag="S23", within="two strings or more; one string shares with nobody")

compensated_stop = Equation(
    "lithium.compensated_stop", "last_voltage",
    lambda stop_voltage, store_current, sag_compensation: stop_voltage - store_current * sag_compensation,
    title="Terminal volts at which a sag-compensated cut-off acts.", source=("circuits",), tag="S24",
    within="the compensation below the pack's warm resistance, or nothing protects the cells")

time_at_current = Equation(
    "lithium.time_at_current", "time",
    lambda charge, first_share, last_share, store_current: charge * (first_share - last_share) / store_current,
    title="Time between two states of charge at a constant current.", source=("definition",), tag="K6",
    within="a current below the pack's limits; the tail at constant volts comes on top")


@lru_cache
def _book() -> dict[str, tuple[Any, Any]]:
    """Chemistry: states of charge, open-circuit volts of a cell."""
    rows: dict[str, list[tuple[float, float]]] = {}
    for name in _TABLES:
        plain = "\n".join(line for line in data.read_text(name).splitlines() if not line.startswith("#"))
        for row in csv.DictReader(io.StringIO(plain)):
            rows.setdefault(row["chemistry"], []).append((float(row["state_of_charge"]), float(row["open_volts"])))
    return {chemistry: (np.array([z for z, _ in pairs]), np.array([v for _, v in pairs])) for chemistry, pairs in rows.items()}


@lru_cache
def _flat(chemistry: str) -> Any:
    """Share, volts, stiffness and volt-charge integral of a cell, one after the other: the tail of the seam's array."""
    share, volts = _book()[chemistry]
    grid = np.unique(np.concatenate([share, [z for z, _ in _STIFFER]]))
    volts = np.interp(grid, share, volts)
    stiff = np.interp(grid, [z for z, _ in _STIFFER], [k for _, k in _STIFFER])
    area = np.concatenate([[0.0], np.cumsum(np.diff(grid) * (volts[1:] + volts[:-1]) / 2)])
    return np.concatenate([[len(grid)], grid, volts, stiff, area])


def open_cell_volts(chemistry: str, share: Any) -> Any:
    """Volts of a rested cell at 25 degC [V].

    Parameters: `chemistry`, one of CHEMISTRIES; `share`, state of charge 0 to 1, a number or an array.
    Raises InputError for another chemistry or share.  Source: the tables of data/, see their heads.
    """
    if chemistry not in CELL_VOLTS:
        raise InputError(f"Input chemistry of open_cell_volts must be one of {', '.join(CHEMISTRIES)}; "
                         f"instead received {chemistry!r}.")
    if not np.all((np.asarray(share) >= 0) & (np.asarray(share) <= 1)):
        raise InputError(f"Input share of open_cell_volts must be 0 to 1; instead received {share}.")
    found = np.interp(share, *_book()[chemistry])
    return float(found) if np.ndim(share) == 0 else found


# ---------------------------------------------------------------- the seam
# state (state of charge, volts of the slow branch); parameters: 0 charge, 1 cells' ohms at half charge, 2 joints and leads,
# 3 and 4 slow branch's ohms and farads, 5 cells in series, 6 n, then n each of share, volts, stiffness, integral
_under_power, _heat = voltage_under_power.kernel, store_loss.kernel


@kernel("place")
def _segment(p, z):  # type: ignore[no-untyped-def]  # compiled: types stand in kernels.SEAMS
    """Where in the table this state of charge lies; beyond its ends the last segments go on."""
    low, high = 0, int(p[6]) - 1
    while high - low > 1:
        middle = (low + high) // 2
        if p[7 + middle] <= z:
            low = middle
        else:
            high = middle
    return low


@kernel("tabled")
def _tabled(p, z, column):  # type: ignore[no-untyped-def]
    n, i = int(p[6]), _segment(p, z)
    at = 7 + column * n + i
    return p[at] + (p[at + 1] - p[at]) * (z - p[7 + i]) / (p[8 + i] - p[7 + i])


@kernel("stored")
def pack_ohms(x, p):  # type: ignore[no-untyped-def]
    """Resistance at this state of charge, the slow branch aside."""
    return p[1] * max(_tabled(p, min(max(x[0], 0.0), 1.0), 2), 0.0) + p[2]


@kernel("stored")
def pack_inside(x, p):  # type: ignore[no-untyped-def]
    """Volts with no current, the slow branch still loaded."""
    return p[5] * _tabled(p, x[0], 1) - x[1]


@kernel("terminal")
def pack_terminal(x, p, power):  # type: ignore[no-untyped-def]
    inside, ohm = pack_inside(x, p), pack_ohms(x, p)
    if (x[0] <= 0.0 and power > 0.0) or inside <= 0.0 or inside * inside < 4.0 * ohm * power:
        return np.nan, np.nan
    volts = _under_power(inside, ohm, power)
    return volts, power / volts


@kernel("store slope")
def pack_slope(x, p, amps, out):  # type: ignore[no-untyped-def]
    out[0] = -amps / p[0]
    out[2] = _heat(amps, pack_ohms(x, p))
    if p[3] <= 0.0:
        out[1] = out[3] = 0.0
        return
    out[1] = (amps - x[1] / p[3]) / p[4]
    out[3] = x[1] * x[1] / p[3]


@kernel("stored")
def pack_stored(x, p):  # type: ignore[no-untyped-def]
    n, i = int(p[6]), _segment(p, x[0])
    volts = 0.5 * (p[7 + n + i] + _tabled(p, x[0], 1))  # straight between the rows, so the mean is the integral
    held = p[7 + 3 * n + i] + volts * (x[0] - p[7 + i])
    return p[0] * p[5] * held + 0.5 * p[4] * x[1] * x[1]


# ---------------------------------------------------------------- the part
@dataclass(frozen=True)
class LithiumPack:
    """Cells in series, strings in parallel.  Units as in the glossary, SI."""

    cells_in_series: int
    strings_in_parallel: int
    chemistry: str
    cell_charge: float
    cell_resistance: float
    joint_resistance: float
    lead_resistance: float
    branch_resistance: float
    branch_time: float
    cell_current_limit: float
    cell_charging_limit: float
    charge_voltage: float
    fuse_current: float
    fuse_voltage: float
    fuse_breaking_current: float
    lead_area: float
    mass: float

    kind: ClassVar[str] = "lithium"
    seam: ClassVar[tuple[Any, ...]] = (pack_terminal, pack_slope, pack_stored)

    @property
    def charge(self) -> float:
        """Charge of the full pack [C]."""
        return pack_charge(self.cell_charge, self.strings_in_parallel)

    @property
    def resistance(self) -> float:
        """Resistance by seconds at 25 degC, half charged: cells, joints, leads and fuse [ohm]."""
        return pack_resistance(self.cells_in_series, self.strings_in_parallel, self.cell_resistance, self.joint_resistance,
                               self.lead_resistance)

    @property
    def full_voltage(self) -> float:
        """Volts of the rested pack after a full charge [V]."""
        return self.open_voltage(self.full_state())

    @property
    def current_limit(self) -> float:
        """What the pack may give for long, with unequal sharing [A]."""
        if self.strings_in_parallel == 1:
            return self.cell_current_limit
        return shared_current_limit(self.cell_current_limit, self.strings_in_parallel)

    @property
    def empty_cell_voltage(self) -> float:
        """Volts of a cell below which it is harmed [V]."""
        return CELL_VOLTS[self.chemistry][0]

    def parameters(self, temperature: float = 298.15, settled: float = SETTLED) -> Any:
        """The flat array of the seam for cells of this temperature [K].

        A slow branch that settles in less than `settled` seconds counts as plain ohms.
        """
        cells = self.cells_in_series * self.cell_resistance / self.strings_in_parallel
        fixed = self.resistance - cells
        warmth = cold_pack_resistance(1.0, cell_temperature=temperature)
        branch = self.branch_resistance * warmth
        if self.branch_time < settled:
            fixed, branch = fixed + branch, 0.0
        return np.concatenate([[self.charge, cells * warmth, fixed, branch, self.branch_time / branch if branch else 0.0,
                                self.cells_in_series], _flat(self.chemistry)])

    def together(self, state: Any, parameters: Any, settled: float) -> Any:
        """The state with a slow branch that settles in less than `settled` seconds at rest."""
        return np.array([state[0], 0.0 if 0.0 < self.branch_time < settled else state[1]], float)

    def longest_step(self, parameters: Any) -> float:
        """The longest step [s] in which the slow branch is followed: its time constant."""
        return float(parameters[3] * parameters[4]) or math.inf

    def full_state(self) -> Any:
        """The state of a pack charged and rested."""
        return np.array([1.0, 0.0])

    def state_at(self, volts: float) -> Any:
        """The state of a pack that rests at these volts; refused outside the chemistry's table."""
        share, cell = _book()[self.chemistry]
        low, high = self.cells_in_series * cell[0], self.cells_in_series * cell[-1]
        if not low <= volts <= high + 1e-9:
            raise InputError(f"Input start of a pack of {self.cells_in_series} {self.chemistry} cells must be {low:.4g} V (empty) "
                             f"to {high:.4g} V (full, rested); instead received {volts:g} V.")
        return np.array([float(np.interp(volts / self.cells_in_series, cell, share)), 0.0])

    def state_at_share(self, share: float) -> Any:
        """The state of a rested pack that holds this share of its charge."""
        if not 0 <= share <= 1:
            raise InputError("Input start of a lithium pack must be 0 % to 100 % of its charge; "
                             f"instead received {100 * share:g} %.")
        return np.array([float(share), 0.0])

    def open_voltage(self, state: Any) -> float:
        """Volts at the terminals with no current, the slow branch still loaded [V]."""
        return float(pack_inside(np.asarray(state, float), self.parameters()))

    def rested_voltage(self, state: Any) -> float:
        """Volts after a long rest [V]."""
        return self.open_voltage([state[0], 0.0])

    def rested_after(self, state: Any, seconds: float) -> float:
        """Volts at the terminals after a rest of so many seconds [V]."""
        return self.open_voltage([state[0], state[1] * math.exp(-seconds / self.branch_time) if self.branch_time else 0.0])

    def inside(self, state: Any, parameters: Any) -> tuple[float, float]:
        """Volts inside and the ohms before the terminals, with parameters for the cells' temperature."""
        return float(pack_inside(state, parameters)), float(pack_ohms(state, parameters))

    def energy(self, state: Any) -> float:
        """What it holds: charge times open-circuit volts down to empty [J]."""
        return float(pack_stored(np.asarray(state, float), self.parameters()))

    def charging_limit(self, temperature: float) -> float:
        """Largest charging current at this temperature of the cells [K], in A; 0 where it plates lithium.

        Below 15 degC a fifth of the charge in an hour, below 5 degC a tenth, by the specification of a 2.6 Ah cell.
        """
        limit = self.cell_charging_limit * self.strings_in_parallel
        if self.chemistry == "lto" or temperature >= 288.15:
            return limit
        hourly = 0.0 if temperature < PLATING else 0.1 if temperature < 278.15 else 0.2
        return min(limit, hourly * self.charge / 3600)
