"""Double-layer cells in their strings: sheets of makers, closed forms worked apart, what standards fix.

Sheets 1017105 (310 F and 350 F) and that of a cell of 2000 F (2014) were read as copies (dtsheet.com 874196, studylib.net
8810492), sheet 3001974 (5 F) as a copy on scribd.com.  Closed forms were worked on paper or by quadrature, in 2026.
"""

from __future__ import annotations

import math

from evlab import ageing, balance, cell_check

from . import Check, Erratum

SMALL = "maker's data sheet 1017105 of 2.7 V cells of 310 F and 350 F"
LARGE = "maker's data sheet (2014) of a 2.7 V cell of 2000 F"
TINY = "maker's data sheet 3001974 of a 2.7 V cell of 5 F"
WEAK = "definition: one weak cell (w = 0.8) among six, charged from empty to 16.2 V"
BLED = "closed form: 350 F bled by 100 Ω from 2.7 V"
CYCLE = "IEC 62576, annex C: currents of 95 % efficiency (reprint on wjcbpl.com)"
COPPER = "IEC 60028: 1/58 Ω mm²/m at 20 °C (tnlab.org)"
EXACT, TENS = "exact", "the sheet prints whole tens"


def _continuous(printed: str, source: str, cell: str, rise: float, ohm: float, thermal: float) -> Check:
    return Check("ageing.cell_rise", printed, "A", source, f"{cell}, continuous current for {rise:g} K", unknown="rms_current",
                 inputs={"cell_rise": rise, "cell_resistance": ohm, "cell_thermal_resistance": thermal}, table=f"heat {cell}")


def _short(printed: str, cell: str, ohm: float, allowance: float, why: str) -> Check:
    return Check("store.short_circuit_current", printed, "A", SMALL, f"{cell}, short-circuit current, typical", table="shorts",
                 inputs={"voltage": 2.7, "store_resistance": ohm}, allowance=allowance, why=why)


CHECKS = [
    _continuous("25", SMALL, "310 F", 15.0, 2.2e-3, 10.9),
    _continuous("41", SMALL, "310 F", 40.0, 2.2e-3, 10.9),
    _continuous("21", SMALL, "350 F", 15.0, 3.2e-3, 10.9),
    _continuous("34", SMALL, "350 F", 40.0, 3.2e-3, 10.9),
    _continuous("125", LARGE, "2000 F", 15.0, 0.33e-3, 2.9),
    _continuous("204", LARGE, "2000 F", 40.0, 0.33e-3, 2.9),
    _short("1200", "310 F, 2.2 mΩ", 2.2e-3, 50.0, "the sheet prints whole hundreds"),
    _short("840", "350 F, 3.2 mΩ", 3.2e-3, 5.0, TENS),
    Check("ageing.life", "1500", "h", TINY, "life at 85 °C and 2.3 V, from 1500 h at 65 °C and 2.7 V: the two rules cancel",
          work=lambda: ageing.life_at(358.15, 2.3) / 3600, also=("ageing.temperature_life", "ageing.voltage_life")),
    Check("balance.weak_cell", "3.24", "V", WEAK, "the weak cell", kind="worked", table="weak", allowance=1e-9, why=EXACT,
          inputs={"voltage": 16.2, "cells_in_series": 6, "weak_share": 0.8}),
    Check("balance.weak_cell", "2.592", "V", WEAK, "each other", kind="worked", table="weak", allowance=1e-9, why=EXACT,
          work=lambda: balance.cell_volts(16.2, [280.0] + [350.0] * 5)[-1]),
    Check("balance.charged_cell", "56.0", "F", WEAK, "the string of 350 F cells: its charge over its volts", kind="worked",
          table="weak", allowance=1e-9, why=EXACT,
          work=lambda: float(balance.charged_cell.solve_for("charge", cell_voltage=3.24, first_cell_voltage=0.0,
                                                            cell_capacitance=280.0)) / 16.2),
    Check("balance.decay_voltage", "2.436090817", "V", BLED, "after an hour", kind="worked", table="bleed",
          inputs={"first_cell_voltage": 2.7, "time": 3600.0, "drain_resistance": 100.0, "cell_capacitance": 350.0}),
    Check("balance.decay_time", "24260.15132", "s", BLED, "until half is left", kind="worked", table="bleed",
          inputs={"drain_resistance": 100.0, "cell_capacitance": 350.0, "voltage_share": 0.5}),
    Check("cell_check.charging_test_current", "38", "", CYCLE, "rated volts over resistance and charging current",
          table="iec 62576", allowance=1e-9, why=EXACT,
          work=lambda: 2.7 / (0.29e-3 * cell_check.charging_test_current(2.7, 0.29e-3))),
    Check("cell_check.discharging_test_current", "40", "", CYCLE, "rated volts over resistance and discharging current",
          table="iec 62576", allowance=1e-9, why=EXACT,
          work=lambda: 2.7 / (0.29e-3 * cell_check.discharging_test_current(2.7, 0.29e-3))),
    Check("ageing.discharging_efficiency", "0.95", "", CYCLE, "discharge at U/(40 R)", table="iec 62576",
          allowance=1e-12, why=EXACT,
          work=lambda: ageing.discharging_efficiency(1.35, 2.7 / (40 * 0.29e-3), 0.29e-3)),
    Check("ageing.charging_efficiency", "0.95", "", CYCLE, "charge at U/(38 R)", table="iec 62576", allowance=1e-12, why=EXACT,
          work=lambda: ageing.charging_efficiency(1.35, 2.7 / (38 * 0.29e-3), 0.29e-3)),
    Check("wiring.copper_resistance", "0.021952406", "ohm", COPPER, "1 m of 1.0 mm wire at 20 °C", kind="worked",
          inputs={"wire_length": 1.0, "wire_area": math.pi / 4 * 1e-6}),
]

ERRATA = [
    Erratum(
        f"{TINY}; {LARGE}",
        "10 years at 25 °C and rated volts, beside 1500 h (2500 h) at 65 °C",
        "Halving every 10 K, the rule makers apply, gives 2.7 (4.6) years; 10 years ask for a halving every 6.8 K (7.8 K). The "
        "page shows both; neither is used as a check.",
    ),
]
