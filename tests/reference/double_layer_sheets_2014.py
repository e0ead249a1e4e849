"""Makers' data sheets of double-layer capacitors: cells of 2.7 V, modules of 48 V.  Printed values, as they stand there.

Sheets: 1015370 (cells of 650 F to 3000 F), 1009365.13 (modules of 18 cells), 3000685.2 (a later module).  The modules'
sheets were read as copies on dtsheet.com (874205, 1679493).
"""

from __future__ import annotations

from evlab import store

from . import Check, Erratum, si_of

CELL = "maker's data sheet 1015370 of 2.7 V cells"
MODULE = "maker's data sheet 1009365.13 of 48 V modules, copy on dtsheet.com"
HUNDREDS = "the sheet prints whole hundreds"

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
    Check(
        "store.bank_capacitance",
        "83",
        "F",
        MODULE,
        "18 cells of 1500 F in series",
        {"cell_capacitance": 1500.0, "strings_in_parallel": 1, "cells_in_series": 18},
        table="module sheet",
    ),
    Check("store.energy", "27", "Wh", MODULE, "module of 83 F, 48 V", {"capacitance": 83.0, "voltage": 48.0}, table="module sheet"),
    Check(
        "store.energy", "53", "Wh", MODULE, "module of 165 F, 48 V", {"capacitance": 165.0, "voltage": 48.0}, table="module sheet"
    ),
    Check(
        "store.short_circuit_current",
        "4800",
        "A",
        MODULE,
        "module of 83 F, 10 mΩ",
        {"voltage": 48.0, "store_resistance": 10e-3},
        table="module sheet",
    ),
    Check(
        "store.short_circuit_current",
        "7600",
        "A",
        MODULE,
        "module of 165 F, 6.3 mΩ",
        {"voltage": 48.0, "store_resistance": 6.3e-3},
        table="module sheet",
        allowance=50.0,
        why=HUNDREDS,
    ),
    Check(
        "store.matched_power",
        "5600",
        "W",
        MODULE,
        "module of 83 F, impedance match power, W for each kg (10.3 kg)",
        table="module sheet",
        allowance=50.0,
        why=HUNDREDS,
        work=lambda: store.matched_power(48.0, 10e-3) / 10.3,
    ),
    Check(
        "store.matched_power",
        "6800",
        "W",
        MODULE,
        "module of 165 F, impedance match power, W for each kg (13.5 kg)",
        table="module sheet",
        allowance=50.0,
        why=HUNDREDS,
        work=lambda: store.matched_power(48.0, 6.3e-3) / 13.5,
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
        "3000 F / 18 is 166.7 F: the sheet rounds a guaranteed minimum down. The module of 83 F (83.3 F) is the check.",
    ),
    Erratum(
        "maker's data sheet 3000685.2 of a 48 V module",
        "short-circuit current 8100 A beside 6.0 mΩ",
        "48 V / 6.0 mΩ is 8000 A: the current is called typical, the resistance a maximum. Not used as a check.",
    ),
]

assert abs(si_of(1.0, "Wh") - 3600.0) < 1e-9
