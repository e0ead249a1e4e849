"""The store as a bank of capacitors.  (A lithium pack has a room of its own, and so has a bench supply.)

A current is positive when the store gives.  `terminal`, `slope` and `stored` of each kind are the seam to the loop.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
import sympy

from evlab.branches import PLACES, merge, settling, together
from evlab.equation import Equation, half
from evlab.kernels import kernel
from evlab.units import InputError

__all__ = [
    "CapacitorBank", "bank_capacitance", "bank_resistance", "branch_current", "branch_loss", "charge",
    "cold_resistance", "collapse_voltage", "constant_current_energy", "constant_current_loss", "constant_current_time",
    "constant_power_time", "differential_capacitance", "energy", "matched_power", "open_voltage_under_power",
    "redistribution_loss", "resistor_loss_share", "resistor_time", "resistor_time_constant", "settled_voltage",
    "short_circuit_current", "sloped_charge", "sloped_energy", "slow_time_constant", "store_loss", "terminal_voltage",
    "usable_energy", "usable_power", "usable_share", "voltage_under_power", "worst_cell_voltage",
]

_LINEAR = "a linear capacitor; real ones hold up to 5 % less energy than C V^2/2 tells, since C falls with the volts"
SETTLED = 5e-3  # s: no event of a ride is so short
WINDOW_MIDDLE = 0.6  # of the rated volts: the middle of the window of IEC 62391-1, 80 % to 40 %, where a sheet's capacitance holds
_BANK = "resistances by seconds (direct current), at 20 degC; three times as much when old or cold"

energy = Equation(
    "store.energy", "energy", lambda capacitance, voltage: half * capacitance * voltage**2,
    title="Energy in a capacitor.", source=("circuits",), tag="S1", within=_LINEAR)

charge = Equation(
    "store.charge", "charge", lambda capacitance, voltage: capacitance * voltage,
    title="Charge in a capacitor.", source=("circuits",), tag="S1", within=_LINEAR)

bank_capacitance = Equation(
    "store.bank_capacitance", "capacitance",
    lambda cell_capacitance, strings_in_parallel, cells_in_series: cell_capacitance * strings_in_parallel / cells_in_series,
    title="Capacitance of cells in series and strings in parallel.", source=("circuits",), tag="S2", within="equal cells")

bank_resistance = Equation(
    "store.bank_resistance", "store_resistance",
    lambda cells_in_series, cell_resistance, joint_resistance, strings_in_parallel, lead_resistance:
        cells_in_series * (cell_resistance + joint_resistance) / strings_in_parallel + lead_resistance,
    title="Resistance of the whole bank: cells, one joint for each, leads and fuse.",
    source=("circuits",), tag="S2", within=_BANK)

usable_energy = Equation(
    "store.usable_energy", "usable_energy",
    lambda capacitance, first_voltage, last_voltage: half * capacitance * (first_voltage**2 - last_voltage**2),
    title="Energy between two voltages.", source=("circuits",), tag="S3", within=_LINEAR)

usable_share = Equation(
    "store.usable_share", "usable_share", lambda last_voltage, first_voltage: 1 - (last_voltage / first_voltage) ** 2,
    title="Share of the energy that is out when the volts have fallen so far.", source=("definition",), tag="S3", within=_LINEAR)

terminal_voltage = Equation(
    "store.terminal_voltage", "terminal_voltage",
    lambda open_voltage, store_current, store_resistance: open_voltage - store_current * store_resistance,
    title="Volts at the terminals under a current; they rebound by the difference when it stops.",
    source=("circuits",), tag="S4", within=_BANK)

constant_current_time = Equation(
    "store.constant_current_time", "time",
    lambda capacitance, open_voltage, store_current, store_resistance, last_voltage:
        capacitance * (open_voltage - store_current * store_resistance - last_voltage) / store_current,
    title="Time at a constant current until the terminals reach a voltage.", source=("circuits",), tag="S5", within=_LINEAR)

constant_current_energy = Equation(
    "store.constant_current_energy", "delivered_energy",
    lambda store_current, time, open_voltage, store_resistance, capacitance:
        store_current * time * (open_voltage - store_current * store_resistance)
        - (store_current * time) ** 2 / (2 * capacitance),
    title="Energy delivered at a constant current.", source=("circuits",), tag="S5", within=_LINEAR)

constant_current_loss = Equation(
    "store.constant_current_loss", "lost_energy",
    lambda store_current, store_resistance, time: store_current**2 * store_resistance * time,
    title="Heat in the resistance at a constant current.", source=("circuits",), tag="S5", within=_BANK)

constant_power_time = Equation(
    "store.constant_power_time", "time",
    lambda capacitance, store_power, first_voltage, last_voltage, store_resistance:
        capacitance / (2 * store_power) * (first_voltage**2 - last_voltage**2)
        - store_resistance * capacitance * sympy.log(first_voltage / last_voltage),
    title="Time at a constant power between two terminal voltages.", source=("derived",), tag="S6",
    within="a linear capacitor, the last volts above collapse, u^2 > P R")

open_voltage_under_power = Equation(
    "store.open_voltage_under_power", "open_voltage",
    lambda terminal_voltage, store_resistance, store_power: terminal_voltage + store_resistance * store_power / terminal_voltage,
    title="Inner volts behind the terminals while a power is taken; they show again when it stops.",
    source=("circuits",), tag="S6", within=_BANK)

usable_power = Equation(
    "store.usable_power", "usable_power", lambda voltage, store_resistance: 0.12 * voltage**2 / store_resistance,
    title="Power that sheets call usable: a full bank gives it at 86 % of its volts.", source=("edlc-sheet-3000F",), tag="S7",
    within="from full volts; at 95 % efficiency less, V^2/40R times V")

voltage_under_power = Equation(
    "store.voltage_under_power", "terminal_voltage",
    lambda open_voltage, store_resistance, store_power:
        half * (open_voltage + sympy.sqrt(open_voltage**2 - 4 * store_resistance * store_power)),
    title="Volts at the terminals while a power is taken: the upper one of two solutions.",
    source=("circuits",), tag="S7", within="power below collapse, V^2 > 4 R P")

collapse_voltage = Equation(
    "store.collapse_voltage", "collapse_voltage",
    lambda store_power, store_resistance: 2 * sympy.sqrt(store_power * store_resistance),
    title="Open-circuit volts below which a constant power cannot be had: a converter then pulls the volts to zero.",
    source=("circuits",), tag="S7", within="a constant-power load; wiring counts in the resistance")

matched_power = Equation(
    "store.matched_power", "matched_power", lambda open_voltage, store_resistance: open_voltage**2 / (4 * store_resistance),
    title="Largest power a store can give at all; half is lost inside, so it is no design point.",
    source=("circuits",), tag="S7", within=_BANK)

resistor_time_constant = Equation(
    "store.resistor_time_constant", "time_constant",
    lambda capacitance, load_resistance, store_resistance: capacitance * (load_resistance + store_resistance),
    title="Time constant of a discharge through a resistor.", source=("circuits",), tag="S8", within=_LINEAR)

resistor_time = Equation(
    "store.resistor_time", "time",
    lambda capacitance, load_resistance, store_resistance, first_voltage, last_voltage:
        capacitance * (load_resistance + store_resistance) * sympy.log(first_voltage / last_voltage),
    title="Time of a discharge through a resistor from one voltage to another, both at the terminals under load or both inside.",
    source=("circuits",), tag="S8", within=_LINEAR)

resistor_loss_share = Equation(
    "store.resistor_loss_share", "lost_share",
    lambda store_resistance, load_resistance: store_resistance / (load_resistance + store_resistance),
    title="Share of the energy that stays in the store as heat while a resistor discharges it.",
    source=("circuits",), tag="S8", within=_BANK)

branch_current = Equation(
    "store.branch_current", "branch_current",
    lambda fast_voltage, slow_voltage, slow_resistance: (fast_voltage - slow_voltage) / slow_resistance,
    title="Current from the fast branch into the slow one.", source=("capacitor-branches",), tag="S12",
    within="rides of minutes; overnight needs a third branch")

branch_loss = Equation(
    "store.branch_loss", "branch_loss",
    lambda fast_voltage, slow_voltage, slow_resistance: (fast_voltage - slow_voltage) ** 2 / slow_resistance,
    title="Heat before the slow branch.", source=("capacitor-branches",), tag="S12", within="rides of minutes")

slow_time_constant = Equation(
    "store.slow_time_constant", "time_constant",
    lambda slow_resistance, fast_capacitance, slow_capacitance:
        slow_resistance * fast_capacitance * slow_capacitance / (fast_capacitance + slow_capacitance),
    title="Time constant with which the branches settle.", source=("capacitor-branches",), tag="S12", within="rides of minutes")

settled_voltage = Equation(
    "store.settled_voltage", "settled_voltage",
    lambda fast_capacitance, fast_voltage, slow_capacitance, slow_voltage:
        (fast_capacitance * fast_voltage + slow_capacitance * slow_voltage) / (fast_capacitance + slow_capacitance),
    title="Volts after the branches have settled: the charge is kept.", source=("capacitor-branches",), tag="S12", within=_LINEAR)

redistribution_loss = Equation(
    "store.redistribution_loss", "lost_energy",
    lambda fast_capacitance, slow_capacitance, fast_voltage, slow_voltage:
        half * fast_capacitance * slow_capacitance / (fast_capacitance + slow_capacitance) * (fast_voltage - slow_voltage) ** 2,
    title="Heat until the branches have settled, whatever the resistance between them.",
    source=("circuits",), tag="S12", within=_LINEAR)

store_loss = Equation(
    "store.store_loss", "store_loss", lambda store_current, store_resistance: store_current**2 * store_resistance,
    title="Heat in the resistance of the store.", source=("circuits",), tag="S4", within=_BANK)

short_circuit_current = Equation(
    "store.short_circuit_current", "short_circuit_current",
    lambda voltage, store_resistance: voltage / store_resistance,
    title="First current of a dead short at the terminals.", source=("circuits",), tag="S19", within=_BANK)

worst_cell_voltage = Equation(
    "store.worst_cell_voltage", "worst_cell_voltage",
    lambda voltage, cells_in_series, cell_tolerance:
        voltage / (1 - cell_tolerance) / (1 / (1 - cell_tolerance) + (cells_in_series - 1) / (1 + cell_tolerance)),
    title="The fullest cell of a string charged from empty: one cell as small as the spread allows, the others as large.",
    source=("derived",), tag="S13", within="charged from empty, no balancing", limits={"cell_tolerance": (0.0, 0.5)})

# ---------------------------------------------------------------- capacitance that grows with the volts
_SLOPE = "first branch of a double-layer capacitor; the capacitance is the differential one, dQ/dV = C_0 + k_V V"

differential_capacitance = Equation(
    "store.differential_capacitance", "capacitance",
    lambda base_capacitance, capacitance_slope, voltage: base_capacitance + capacitance_slope * voltage,
    title="Capacitance at a voltage, as a small step of the volts shows it.", source=("capacitor-branches",), tag="S11",
    within=_SLOPE)

sloped_charge = Equation(
    "store.sloped_charge", "charge",
    lambda base_capacitance, capacitance_slope, voltage: base_capacitance * voltage + half * capacitance_slope * voltage**2,
    title="Charge in a capacitor whose capacitance grows with the volts.", source=("capacitor-branches",), tag="S11", within=_SLOPE)

sloped_energy = Equation(
    "store.sloped_energy", "energy",
    lambda base_capacitance, capacitance_slope, voltage:
        half * base_capacitance * voltage**2 + capacitance_slope * voltage**3 / 3,
    title="Energy in a capacitor whose capacitance grows with the volts.", source=("capacitor-branches",), tag="S11",
    within=_SLOPE + "; where Q/V itself is called the capacitance, the last term is two thirds")

cold_resistance = Equation(
    "store.cold_resistance", "cold_resistance",
    lambda store_resistance, doubling_fall, reference_temperature, cell_temperature:
        store_resistance * 2 ** ((reference_temperature - cell_temperature) / doubling_fall),
    title="Resistance of a cold bank: doubled at 40 degC below zero.", source=("edlc-cold",), tag="S18",
    within="-40 degC to 65 degC", limits={"cell_temperature": (233.15, 338.15)})


# ---------------------------------------------------------------- the seam: capacitors
# state (V1, V2, V3), parameters (C1 at no volts, its slope, C2, R2, C3, R3, R); a branch that is not there has no capacitance
_under_power, _heat = voltage_under_power.kernel, store_loss.kernel
_branch, _branch_heat, _half_cv2 = branch_current.kernel, branch_loss.kernel, energy.kernel
_farad, _sloped = differential_capacitance.kernel, sloped_energy.kernel


@kernel("terminal")
def bank_terminal(x, p, power):  # type: ignore[no-untyped-def]  # compiled: types stand in kernels.SEAMS
    if x[0] * x[0] < 4.0 * p[6] * power or x[0] <= 0.0:
        return np.nan, np.nan
    volts = _under_power(x[0], p[6], power)
    return volts, power / volts


@kernel("store slope")
def bank_slope(x, p, amps, out):  # type: ignore[no-untyped-def]
    out[3], out[4] = _heat(amps, p[6]), 0.0
    flow, there = amps, 1.0 / _farad(p[0], p[1], x[0])
    if p[2] > 0.0:
        across = _branch(x[0], x[1], p[3])
        out[1], flow = across / p[2], flow + across
        out[4] += _branch_heat(x[0], x[1], p[3])
    if p[4] > 0.0:
        across = _branch(x[0], x[2], p[5])
        out[2], flow = across / p[4], flow + across
        out[4] += _branch_heat(x[0], x[2], p[5])
    out[0] = -flow * there
    if p[2] <= 0.0:
        out[1] = out[0]
    if p[4] <= 0.0:
        out[2] = out[0]


@kernel("stored")
def bank_stored(x, p):  # type: ignore[no-untyped-def]
    return _sloped(p[0], p[1], x[0]) + p[2] * x[1] * x[1] / 2.0 + p[4] * x[2] * x[2] / 2.0


def bank_charge(x: Any, p: Any) -> float:
    """Charge of a bank whose branches stand at the volts x, with the seam's parameters p [C]."""
    return float(p[0] * x[0] + p[1] * x[0] ** 2 / 2 + p[2] * x[1] + p[4] * x[2])


# ---------------------------------------------------------------- the part
@dataclass(frozen=True)
class CapacitorBank:
    """Cells in series, strings in parallel, each a fast and a slow branch.  Units as in the glossary, SI."""

    cells_in_series: int
    strings_in_parallel: int
    cell_capacitance: float
    cell_resistance: float
    joint_resistance: float
    lead_resistance: float
    slow_share: float
    slow_resistance: float
    cell_rated_voltage: float
    cell_surge_voltage: float
    cell_tolerance: float
    charge_voltage: float
    capacitance_slope: float
    overnight_share: float
    overnight_resistance: float
    cell_leakage: float
    bleed_resistance: float
    clamp_voltage: float
    clamp_current: float
    fuse_current: float
    fuse_voltage: float
    fuse_breaking_current: float
    lead_area: float
    mass: float

    kind: ClassVar[str] = "capacitors"
    seam: ClassVar[tuple[Any, ...]] = (bank_terminal, bank_slope, bank_stored)

    def __post_init__(self) -> None:
        shares = self.slow_share + self.overnight_share
        if shares >= 1:
            raise InputError("Input overnight_share of [store] must leave something to the fast branch, together with slow_share "
                             f"below 100 %; instead received {100 * shares:g} % for both.")
        if self.parameters()[0] <= 0:
            most = (1 - shares) * self.cell_capacitance / (WINDOW_MIDDLE * self.cell_rated_voltage)
            raise InputError(f"Input capacitance_slope of [store] must be below {most:.4g} F/V, or the empty cell has no "
                             f"capacitance left; instead received {self.capacitance_slope:g} F/V.")

    @property
    def capacitance(self) -> float:
        """Capacitance of the bank, all branches together, at the middle of the standard window [F]."""
        return bank_capacitance(self.cell_capacitance, self.strings_in_parallel, self.cells_in_series)

    @property
    def resistance(self) -> float:
        """Resistance of the bank at 20 degC: cells, joints, leads and fuse [ohm]."""
        return bank_resistance(self.cells_in_series, self.cell_resistance, self.joint_resistance,
                               self.strings_in_parallel, self.lead_resistance)

    @property
    def cell_voltage(self) -> float:
        """Mean volts of a cell when charged [V]."""
        return self.charge_voltage / self.cells_in_series

    @property
    def worst_cell_voltage(self) -> float:
        """Volts of the fullest cell when charged, by the spread of the cells [V]."""
        return worst_cell_voltage(self.charge_voltage, self.cells_in_series, self.cell_tolerance)

    @property
    def full_voltage(self) -> float:
        return self.charge_voltage

    def parameters(self, temperature: float = 293.15, settled: float = SETTLED) -> Any:
        """The flat array of the seam for cells of this temperature [K].

        A branch that settles in less than `settled` seconds counts as settled, see `branches`.
        """
        n, whole = self.cells_in_series, self.capacitance
        slope = self.capacitance_slope * self.strings_in_parallel / n**2
        slow, overnight = self.slow_share * whole, self.overnight_share * whole
        empty = whole - slow - overnight - slope * WINDOW_MIDDLE * self.cell_rated_voltage * n
        cells = self.resistance - self.lead_resistance
        warm = cold_resistance(cells, cell_temperature=temperature) if temperature != 293.15 else cells
        made = np.array([empty, slope, slow, self.slow_resistance, overnight, self.overnight_resistance,
                         warm + self.lead_resistance])
        return merge(made, settled)

    def together(self, state: Any, parameters: Any, settled: float) -> Any:
        """The state with each branch that settles in less than `settled` seconds at the volts of the fast one."""
        return together(np.array(state, float), parameters, settled)

    def longest_step(self, parameters: Any) -> float:
        """The longest step [s] in which the branches are followed: their own time constant."""
        rates = sum(1.0 / t for t in (settling(parameters, branch) for branch, _ in PLACES) if t)
        return 1.0 / rates if rates else math.inf

    def full_state(self) -> Any:
        """The state of a bank charged and rested."""
        return self.state_at(self.charge_voltage)

    def state_at(self, volts: float) -> Any:
        """The state of a rested bank at these open-circuit volts."""
        return np.array([volts, volts, volts], float)

    def state_at_share(self, share: float) -> Any:
        """The state of a rested bank that holds this share of its full charge."""
        return self.state_at(self._rested(share * self._charge(self.full_state())))

    def open_voltage(self, state: Any) -> float:
        """Volts at the terminals with no current: those of the fast branch [V]."""
        return float(state[0])

    def inside(self, state: Any, parameters: Any) -> tuple[float, float]:
        """Volts inside and the ohms before the terminals, with parameters for the cells' temperature."""
        return float(state[0]), float(parameters[6])

    def energy(self, state: Any) -> float:
        """What it holds [J]."""
        return float(bank_stored(np.asarray(state, float), self.parameters()))

    def rested_voltage(self, state: Any) -> float:
        """Volts after a long rest: the charge is kept [V]."""
        return self._rested(self._charge(state))

    def rested_after(self, state: Any, seconds: float) -> float:
        """Volts at the terminals after a rest of so many seconds [V]."""
        from scipy.integrate import solve_ivp

        p, out = self.parameters(), np.zeros(5)

        def slopes(_: float, x: Any) -> Any:
            bank_slope(x, p, 0.0, out)
            return out[:3].copy()

        return float(solve_ivp(slopes, (0.0, seconds), np.asarray(state, float), method="LSODA", rtol=1e-9, atol=1e-9).y[0, -1])

    def _charge(self, state: Any) -> float:
        return bank_charge(state, self.parameters())

    def _rested(self, charge: float) -> float:
        """Volts at which all branches together hold this charge [C]."""
        p = self.parameters()
        linear, slope = float(p[0] + p[2] + p[4]), float(p[1])
        return 2 * charge / (linear + math.sqrt(linear**2 + 2 * slope * charge))
