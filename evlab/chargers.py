"""Chargers: what each one gives at a terminal voltage, and what it takes from its source for that.

A charging current is positive when it flows into the store.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import sympy

from evlab.converter import input_power
from evlab.equation import Equation, half

__all__ = [
    "RegulatedCharger", "ResistorCharger", "charges_per_source", "constant_current_charge_time", "constant_power_charge_time",
    "current_under_charging_power", "resistor_charge_efficiency", "resistor_charge_heat", "resistor_charge_time",
    "resistor_peak_power", "source_current", "voltage_under_charging_power",
]

_LINEAR = "a linear capacitor without leakage or slow branch"

constant_current_charge_time = Equation(
    "chargers.constant_current_charge_time", "time",
    lambda capacitance, last_voltage, charging_current, store_resistance, first_voltage:
        capacitance * (last_voltage - charging_current * store_resistance - first_voltage) / charging_current,
    title="Time at a constant current until the terminals reach a voltage.", source=("circuits",), tag="K1", within=_LINEAR)

voltage_under_charging_power = Equation(
    "chargers.voltage_under_charging_power", "terminal_voltage",
    lambda open_voltage, store_resistance, charging_power:
        half * (open_voltage + sympy.sqrt(open_voltage**2 + 4 * store_resistance * charging_power)),
    title="Volts at the terminals while a power goes in.", source=("circuits",), tag="K2", within="a power above zero")

current_under_charging_power = Equation(
    "chargers.current_under_charging_power", "charging_current",
    lambda charging_power, open_voltage, store_resistance:
        2 * charging_power / (open_voltage + sympy.sqrt(open_voltage**2 + 4 * store_resistance * charging_power)),
    title="Current that carries a power in: largest into an empty bank.", source=("circuits",), tag="K2",
    within="a power above zero")

constant_power_charge_time = Equation(
    "chargers.constant_power_charge_time", "time",
    lambda capacitance, charging_power, last_voltage, first_voltage, store_resistance:
        capacitance / (2 * charging_power) * (last_voltage**2 - first_voltage**2)
        + store_resistance * capacitance * sympy.log(last_voltage / first_voltage),
    title="Time at a constant power between two terminal voltages.", source=("derived",), tag="K2", within=_LINEAR)

resistor_charge_efficiency = Equation(
    "chargers.resistor_charge_efficiency", "efficiency",
    lambda last_voltage, first_voltage, source_voltage: (last_voltage + first_voltage) / (2 * source_voltage),
    title="Share of the source's energy that ends in a capacitor charged through a resistor, whatever the ohms.",
    source=("circuits",), tag="K3", within=_LINEAR + ", from fixed volts")

resistor_charge_time = Equation(
    "chargers.resistor_charge_time", "time",
    lambda capacitance, loop_resistance, source_voltage, first_voltage, last_voltage:
        capacitance * loop_resistance * sympy.log((source_voltage - first_voltage) / (source_voltage - last_voltage)),
    title="Time to charge through a resistor between two inner voltages.", source=("circuits",), tag="K3",
    within=_LINEAR + ", last volts below the source's")

resistor_charge_heat = Equation(
    "chargers.resistor_charge_heat", "lost_energy",
    lambda capacitance, last_voltage, first_voltage, source_voltage:
        capacitance * (last_voltage - first_voltage) * (source_voltage - half * (last_voltage + first_voltage)),
    title="Heat in the loop while a capacitor is charged from fixed volts.", source=("circuits",), tag="K3", within=_LINEAR)

resistor_peak_power = Equation(
    "chargers.resistor_peak_power", "resistor_power",
    lambda source_voltage, first_voltage, loop_resistance: (source_voltage - first_voltage) ** 2 / loop_resistance,
    title="Power in the loop's resistance at the first instant.", source=("circuits",), tag="K3", within="fixed volts")

source_current = Equation(
    "chargers.source_current", "source_current",
    lambda input_power, source_voltage, source_resistance:
        2 * input_power / (source_voltage + sympy.sqrt(source_voltage**2 - 4 * source_resistance * input_power)),
    title="Current a source gives for the power behind its own resistance.", source=("circuits",), tag="K4",
    within="power below V^2/4R, or the source cannot give it")

charges_per_source = Equation(
    "chargers.charges_per_source", "charges_per_source",
    lambda source_charge, source_share, charge_taken: source_charge * source_share / charge_taken,
    title="How often a battery fills the store.", source=("definition",), tag="K4",
    within="the share of its charge that does a battery no harm, common practice 80 % (lithium) or 50 % (lead)")


@dataclass(frozen=True)
class RegulatedCharger:
    """A charger with limits of current, power and volts, fed from a source.  Units as in the glossary, SI."""

    current_limit: float
    power_limit: float
    minimum_voltage: float
    highest_voltage: float
    programme: str
    efficiency: float
    cable_resistance: float
    source_voltage: float
    source_resistance: float
    source_charge: float
    source_share: float
    source_current_limit: float

    kind: ClassVar[str] = "regulated"

    def limits(self, open_voltage: float, ohm: float) -> dict[str, float]:
        """What each limit would let into a store of these inner volts [V] and ohms: {name: A}."""
        loop = ohm + self.cable_resistance
        return {"current limit": self.current_limit,
                "power limit": current_under_charging_power.floats(self.power_limit, open_voltage, loop),
                "highest volts": max(self.highest_voltage - open_voltage, 0.0) / loop if loop else math.inf}

    def source_amps(self, amps: float, volts: float) -> float:
        """Current of the source [A] for charging amps at the store's terminals [V]; not a number where it cannot give it."""
        power = input_power.floats(amps * (volts + amps * self.cable_resistance), self.efficiency)
        if self.source_voltage**2 < 4 * self.source_resistance * power:
            return math.nan
        return source_current.floats(power, self.source_voltage, self.source_resistance)

    def loss(self, amps: float, volts: float, taken: float) -> float:
        """Heat in the charger itself [W]."""
        return taken * (self.source_voltage - taken * self.source_resistance) - amps * (volts + amps * self.cable_resistance)


@dataclass(frozen=True)
class ResistorCharger:
    """A source, a resistor and a cable.  Units as in the glossary, SI."""

    series_resistance: float
    cable_resistance: float
    source_voltage: float
    source_resistance: float
    source_charge: float
    source_share: float
    source_current_limit: float

    kind: ClassVar[str] = "resistor"
    programme: ClassVar[str] = "to the volts"
    minimum_voltage: ClassVar[float] = 0.0

    @property
    def highest_voltage(self) -> float:
        return self.source_voltage

    def limits(self, open_voltage: float, ohm: float) -> dict[str, float]:
        """What the loop lets into a store of these inner volts [V] and ohms: {name: A}."""
        loop = self.series_resistance + self.cable_resistance + self.source_resistance + ohm
        return {"resistor": max(self.source_voltage - open_voltage, 0.0) / loop if loop else math.inf}

    def source_amps(self, amps: float, volts: float) -> float:
        """Current of the source [A]: one loop, one current."""
        return amps

    def loss(self, amps: float, volts: float, taken: float) -> float:
        """Heat in the resistor [W]."""
        return amps**2 * self.series_resistance
