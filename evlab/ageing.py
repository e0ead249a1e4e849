"""How long a cell lives and how warm it gets: rules of thumb, and where they contradict the sheets they came from."""

from __future__ import annotations

import math
from dataclasses import dataclass

from evlab.equation import Equation
from evlab.sources import cite
from evlab.units import InputError

__all__ = [
    "CONFLICT", "LifeRow", "cell_rise", "charging_efficiency", "discharging_efficiency", "life", "life_at", "life_table",
    "temperature_life", "voltage_life",
]

_HOUR, _YEAR = 3600.0, 365 * 86400.0
_RULE = "common practice, as a ratio only and no guarantee; measured cells follow no one factor"
_SWING = "a constant current between two voltages; the mean volts inside are half their sum"

CONFLICT = (
    "The rule halves the life for every 10 K and every 0.2 V. From 1500 h at 65 °C and 2.7 V it makes 2.7 years at 25 °C; the same "
    "sheet says 10 years. Both cannot hold: 10 years ask for a halving every 6.8 K. A year of endurance tests found no one factor "
    "that fits. Use the rule to compare two ways of use, never for a date. Life ends when a fifth of the capacitance is gone or "
    "the resistance has doubled: size the bank for that."
)

temperature_life = Equation(
    "ageing.temperature_life", "temperature_life",
    lambda rated_temperature, cell_temperature, life_halving_rise:
        2 ** ((rated_temperature - cell_temperature) / life_halving_rise),
    title="Life at a temperature over that at the temperature of the data sheet.", source=("common practice", "endurance-2025"),
    tag="S17", within=_RULE, limits={"cell_temperature": (233.15, 358.15)})

voltage_life = Equation(
    "ageing.voltage_life", "voltage_life",
    lambda rated_cell_voltage, cell_voltage, life_halving_volts: 2 ** ((rated_cell_voltage - cell_voltage) / life_halving_volts),
    title="Life at a cell's volts over that at the volts of the data sheet.", source=("common practice",),
    tag="S17", within=_RULE, limits={"cell_voltage": (1.5, 3.0)})

life = Equation(
    "ageing.life", "life", lambda rated_life, temperature_life, voltage_life: rated_life * temperature_life * voltage_life,
    title="Life by the two rules together.", source=("common practice",), tag="S17", within=_RULE)

cell_rise = Equation(
    "ageing.cell_rise", "cell_rise",
    lambda rms_current, cell_resistance, cell_thermal_resistance: rms_current**2 * cell_resistance * cell_thermal_resistance,
    title="Rise of a cell above the air in the long run.", source=("edlc-sheet-350F",), tag="S18",
    within="one cell in free air; cells packed side by side warm each other")

charging_efficiency = Equation(
    "ageing.charging_efficiency", "efficiency",
    lambda mean_voltage, charging_current, store_resistance: mean_voltage / (mean_voltage + charging_current * store_resistance),
    title="Share of the energy put in that is stored.", source=("derived",), tag="S9", within=_SWING)

discharging_efficiency = Equation(
    "ageing.discharging_efficiency", "efficiency",
    lambda mean_voltage, store_current, store_resistance: (mean_voltage - store_current * store_resistance) / mean_voltage,
    title="Share of the energy taken out that reaches the terminals.", source=("derived",), tag="S9", within=_SWING)


def life_at(cell_temperature: float, cell_voltage: float, *, rated_life: float = 1500 * _HOUR, rated_temperature: float = 338.15,
            rated_cell_voltage: float = 2.7) -> float:
    """Life by the two rules [s].

    Parameters: cell_temperature [K]; cell_voltage [V]; rated_life [s] of the data sheet; `rated_temperature` [K]
    and `rated_cell_voltage` [V] to which it belongs.
    Raises InputError for a life or a temperature of zero or below.
    """
    if not 0 < rated_life < math.inf:
        raise InputError(f"Input rated_life of ageing.life_at must be above zero; instead received {rated_life}.")
    by_heat, by_volts = temperature_life(rated_temperature, cell_temperature), voltage_life(rated_cell_voltage, cell_voltage)
    return float(life(rated_life, by_heat, by_volts))


@dataclass(frozen=True)
class LifeRow:
    """One condition: `rule` [s] by the two rules from the sheet's first line, `sheet` [s] as the same sheet prints it (nan
    where it says nothing), and `halving_rise` [K], the step that would make both agree (nan where volts changed too)."""

    words: str
    cell_temperature: float
    cell_voltage: float
    rule: float
    sheet: float
    halving_rise: float
    source: str


_SHEETS = (  # words, hours at 65 degC and 2.7 V, then what else the sheet says: degC, V, hours
    ("5 F cell", 1500.0, "edlc-sheet-5F", ((25.0, 2.7, 87600.0), (85.0, 2.3, 1500.0))),
    ("2000 F cell", 2500.0, "edlc-sheet-2000F", ((25.0, 2.7, 87600.0),)),
)


def life_table(worst_cell: float = 2.96) -> tuple[LifeRow, ...]:
    """The rules beside what the sheets say, then conditions of use by the rule alone; see CONFLICT.

    Parameters: worst_cell [V], the fullest cell of a string.
    """
    rows = []
    for words, hours, source, told in _SHEETS:
        for celsius, volts, said in told:
            rule = life_at(celsius + 273.15, volts, rated_life=hours * _HOUR)
            same = volts == 2.7
            halving = float(temperature_life.solve_for("life_halving_rise", temperature_life=said / hours, rated_temperature=338.15,
                                                       cell_temperature=celsius + 273.15)) if same else math.nan
            rows.append(LifeRow(f"{words}, {celsius:g} °C, {volts:g} V", celsius + 273.15, volts, rule, said * _HOUR, halving,
                                cite(source)))
    for celsius, volts, words in ((25.0, 2.5, "charged to 2.5 V"), (40.0, 2.5, "the same in summer"),
                                  (25.0, worst_cell, "the fullest cell")):
        rows.append(LifeRow(f"{words}, {celsius:g} °C, {volts:g} V", celsius + 273.15, volts, life_at(celsius + 273.15, volts),
                            math.nan, math.nan, cite("common practice")))
    return tuple(rows)
