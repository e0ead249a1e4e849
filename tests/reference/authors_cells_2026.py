"""Second opinions on cells, wire and fuse: values of an independent script of the authors, 2026, as in authors_script_2026."""

from __future__ import annotations

import math
from collections.abc import Callable

from evlab import ageing, balance, store, wiring

from . import Check, Erratum
from .authors_script_2026 import SOURCE, C, R, _opinion

YEAR, DAY, AREA = 365 * 86400.0, 86400.0, math.pi / 4 * 1e-6  # a wire of 1.0 mm
LEAK, BLEED = 2.5 / 1.5e-3, 2.5 / 15e-3
LOOP = R + 3.1e-3  # with 1 m of 6 mm², 3.1 mΩ
_B, _W, _A = "balance.", "wiring.", "ageing."


def _strings() -> balance.Strings:
    return balance.random_strings(35.0, 14)


def _afloat(bleed: float) -> balance.FloatRun:
    return balance.float_string(35.0, 14, 650.0, LEAK, 30 * DAY, bleed=bleed)


def _run(charging: float) -> balance.ClampRun:
    return balance.clamp_run(35.0, 14, charging, 650.0, 780.0)


def _years(celsius: float, volts: float) -> float:
    return ageing.life_at(celsius + 273.15, volts) / YEAR


def _heat() -> float:
    return float(wiring.wire_heat(28438.0, 3.1e-3, LOOP))


def _melts(area: float, seconds: float) -> Callable[[], float]:
    return lambda: float(wiring.melting_current(wire_area=area, time=seconds))


CHECKS: list[Check] = [
    _opinion("D02", "the other 13", _B + "charged_cell", "2.4648", "V",
             lambda: balance.cell_volts(35.0, [650.0] + [780.0] * 13)[-1]),
    _opinion("D02", "worst cell", _B + "weak_cell", "2.9577", "V", lambda: balance.weak_cell(35.0, 14, 650 / 780)),
    _opinion("D02", "20 000 random strings, mean of the worst", _B + "weak_cell", "2.7067", "V", lambda: _strings().mean),
    _opinion("D02", "20 000 random strings, 95th percentile", _B + "weak_cell", "2.7696", "V", lambda: _strings().p95),
    _opinion("D02", "string volts for 2.70 V", _B + "weak_cell", "31.95", "V", lambda: _strings().safe_voltage),
    _opinion("D06", "peak power in the resistor", "store.resistor_loss_share", "1187.9", "W",
             lambda: (35.0 * (1 - float(store.resistor_loss_share(R, 1.0)))) ** 2 / 1.0),
    _opinion("D07", "leakage as a resistor", _B + "leak_resistance", "1666.7", "ohm", lambda: balance.leak_resistance(2.5, 1.5e-3)),
    _opinion("D07", "bleed resistor", _B + "bleed_resistance", "166.67", "ohm", lambda: balance.bleed_resistance(2.5, 1.5e-3)),
    _opinion("D07", "heat in it", _B + "bleed_heat", "37.5", "mW", lambda: 1e3 * balance.bleed_heat(2.5, BLEED)),
    _opinion("D07", "90 % of the volts, leakage alone", _B + "decay_time", "31.706", "h",
             lambda: balance.decay_time(LEAK, 650.0, 0.9) / 3600),
    _opinion("D07", "90 % of the volts, with the bleed resistor", _B + "decay_time", "2.8823", "h",
             lambda: balance.decay_time(balance.drain_resistance(LEAK, BLEED), 650.0, 0.9) / 3600, _B + "drain_resistance"),
    _opinion("D07", "energy left at 90 % of the volts", "store.energy", "0.81", "",
             lambda: store.energy(650.0, 2.25) / store.energy(650.0, 2.5)),
    _opinion("D08", "leaky cell", _B + "floating_cell", "1.3082", "V", lambda: _afloat(0.0).odd_end, _B + "float_time_constant"),
    _opinion("D08", "others", _B + "floating_cell", "2.5917", "V", lambda: _afloat(0.0).others_end, _B + "float_time_constant"),
    _opinion("D08", "leaky cell, with bleed resistors", _B + "floating_cell", "2.3054", "V", lambda: _afloat(BLEED).odd_end),
    _opinion("D08", "others, with bleed resistors", _B + "floating_cell", "2.515", "V", lambda: _afloat(BLEED).others_end),
    *(_opinion("D10", f"{celsius:g} °C, {volts:g} V", _A + "life", printed, "years", lambda c=celsius, v=volts: _years(c, v),
               _A + "temperature_life", _A + "voltage_life")
      for celsius, volts, printed in ((25.0, 2.7, "2.7397"), (25.0, 2.5, "5.4795"), (40.0, 2.5, "1.9373"),
                                      (25.0, 2.958, "1.1204"))),
    _opinion("D11", "time constant", _W + "short_time_constant", "0.71964", "s", lambda: wiring.short_time_constant(R, C)),
    _opinion("D11", "I²t of the whole bank", _W + "short_i2t", "1.8347e6", "A²s", lambda: wiring.short_i2t(C, 35.0, R)),
    *(_opinion("D11", f"limit of {area:g} mm²", _W + "adiabatic_limit", printed, "A²s",
               lambda a=area: wiring.adiabatic_limit(wire_area=a * 1e-6))
      for area, printed in ((6, "4.761e5"), (10, "1.3225e6"), (16, "3.3856e6"))),
    _opinion("D11", "energy into 1 m of 6 mm²", _W + "wire_heat", "4739.6", "J", _heat),
    _opinion("D11", "its rise", _W + "wire_rise", "228.99", "K",
             lambda: wiring.wire_rise(wire_energy=_heat(), wire_length=1.0, wire_area=6e-6,
                                      copper_density=8960.0), _W + "wire_heat"),
    _opinion("D17", "string when the small cell meets its clamp", _B + "weak_cell", "31.358", "V", lambda: _run(6.0).starts),
    _opinion("D17", "slope of the clamped cell", _B + "clamped_slope", "0.0084615", "V/s",
             lambda: balance.clamped_slope(6.0, 0.5, 650.0)),
    _opinion("D17", "its volts at 35.0 V", _B + "overrun_voltage", "2.9341", "V", lambda: balance.overrun_voltage(
        clamp_voltage=2.65, voltage=35.0, cells_in_series=14, odd_capacitance=650.0, cell_capacitance=780.0, charging_current=6.0,
        clamp_current=0.5)),
    _opinion("D17", "its volts at 35.0 V, leg by leg", _B + "clamped_slope", "2.9341", "V", lambda: _run(6.0).odd_end),
    _opinion("D17", "time to finish at 0.5 A", _B + "finishing_time", "7.28", "min", lambda: _run(6.0).finishing_time / 60),
    _opinion("D32", "1.0 mm melts in 1 s", _W + "melting_current", "226.76", "A", _melts(AREA, 1.0)),
    _opinion("D32", "1.0 mm melts in 0.1 s", _W + "melting_current", "717.08", "A", _melts(AREA, 0.1)),
    _opinion("D32", "6 mm² melts in 1 s", _W + "melting_current", "1732.3", "A", _melts(6e-6, 1.0)),
    _opinion("D32", "drop in 2 x 0.6 m of 6 mm² at 45 A", _W + "lead_drop", "0.15517", "V",
             lambda: wiring.lead_drop(45.0, wire_length=1.2, wire_area=6e-6)),
    _opinion("D32", "heat there", _W + "lead_heat", "6.9826", "W", lambda: wiring.lead_heat(45.0, wire_length=1.2, wire_area=6e-6)),
    _opinion("D32", "rating for 15.4 A", _W + "fuse_rating", "20.533", "A", lambda: wiring.fuse_rating(15.4)),
    _opinion("D32", "short circuit over a rating of 40 A", "store.short_circuit_current", "56.452", "",
             lambda: store.short_circuit_current(35.0, R) / 40.0),
    _opinion("D39", "direct", _W + "precharge_current", "1372.5", "A", lambda: wiring.precharge_current(35.0, 0.0255)),
    _opinion("D39", "time constant without resistor", _W + "short_time_constant", "56.1", "µs",
             lambda: 1e6 * wiring.short_time_constant(0.0255, 2.2e-3)),
    _opinion("D39", "peak with 47 Ω", _W + "precharge_current", "0.74468", "A", lambda: wiring.precharge(35.0, 2.2e-3, 47.0).peak),
    _opinion("D39", "three time constants", _W + "precharge_time", "310.2", "ms",
             lambda: 1e3 * wiring.precharge(35.0, 2.2e-3, 47.0, share=1 - math.exp(-3)).time),
    _opinion("D39", "energy in the resistor", "store.energy", "1.3475", "J", lambda: wiring.precharge(35.0, 2.2e-3, 47.0).energy),
    _opinion("D39", "peak power", _W + "precharge_power", "26.064", "W", lambda: wiring.precharge(35.0, 2.2e-3, 47.0).peak_power),
]

ERRATA = [
    Erratum(SOURCE + ", D39", "95 % after 310.2 ms",
            "These are three time constants, after which 95.02 % are reached. 95 % take τ ln 20, 309.8 ms: ours is right."),
    Erratum(SOURCE + ", D10", "25 °C, 2.96 V: 1.1204 years",
            f"belongs to 2.958 V, the worst cell rounded once; 2.96 V gives {_years(25.0, 2.96):.4f} years, the unrounded worst "
            f"cell {_years(25.0, 2.957746):.4f}. Both scripts agree for the same volts."),
    Erratum(SOURCE + ", D11", "1 m of 6 mm² has 3.1 mΩ",
            "An input, not a mistake: it fits stiff cable (classes 1 and 2 of IEC 60228). Copper of exactly 6 mm² has 2.87 mΩ and "
            "would warm by 215 K, flexible cable (class 5) up to 3.30 mΩ and would warm by 241 K."),
]
