"""Makers' data sheets of double-layer capacitors: cells of 2.7 V.  Printed values, as they stand there.

Sheet 1015370 (cells of 650 F to 3000 F); what is said of modules was read in copies of sheets 1009365.13 and 3000685.2.
"""

from __future__ import annotations

from evlab import store

from . import Check, Erratum, si_of

CELL = "maker's data sheet 1015370 of 2.7 V cells"
MODULE = "maker's data sheet 1009365.13 of 48 V modules, copy on dtsheet.com"

CHECKS = [
    Check(
        "store.energy", "3.04", "Wh", CELL, "row 3000 F, stored energy", {"capacitance": 3000.0, "voltage": 2.7}, table="cell sheet"
    ),
    Check(
        "store.energy",
        "5.96",
        "Wh",
        CELL,
        "row 3000 F, Wh for each kg (510 g)",
        table="cell sheet",
        work=lambda: store.energy(3000.0, 2.7) / 3600.0 / 0.510,
    ),
    Check(
        "store.matched_power",
        "12",
        "kW",
        CELL,
        "row 3000 F, impedance match power, kW for each kg (510 g, 0.29 mΩ)",
        table="cell sheet",
        work=lambda: store.matched_power(2.7, 0.29e-3) / 510.0,
    ),
    Check(
        "store.usable_power",
        "5.9",
        "kW",
        CELL,
        "row 3000 F, usable specific power, kW for each kg (510 g, 0.29 mΩ)",
        table="cell sheet",
        work=lambda: store.usable_power(2.7, 0.29e-3) / 510.0,
    ),
    Check(
        "store.short_circuit_current",
        "9.3",
        "kA",
        CELL,
        "row 3000 F, 0.29 mΩ",
        {"voltage": 2.7, "store_resistance": 0.29e-3},
        table="cell sheet",
    ),
]

ERRATA = [
    Erratum(
        CELL + ", row 3000 F",
        "continuous current 127 A in one sheet, 147 A in another, for the same cell and 15 K",
        "√(ΔT/(R·R_th)) with 0.29 mΩ gives 127 A for 3.2 K/W and 147 A for 2.4 K/W: the sheets "
        "differ in the thermal resistance they assume. "
        "Neither is used here as a check.",
    ),
    Erratum(
        MODULE,
        "165 F for 18 cells of 3000 F in series",
        "3000 F / 18 is 166.7 F: the sheet rounds a guaranteed minimum down.",
    ),
    Erratum(
        "maker's data sheet 3000685.2 of a 48 V module",
        "short-circuit current 8100 A beside 6.0 mΩ",
        "48 V / 6.0 mΩ is 8000 A: the current is called typical, the resistance a maximum. Not used as a check.",
    ),
]

assert abs(si_of(1.0, "Wh") - 3600.0) < 1e-9
