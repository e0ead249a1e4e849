"""Closed forms of charging and of a discharge at constant power, and the arithmetic of a lithium cell's sheet.

Worked apart from this package (by hand, quadrature or a circuit simulator) and written down.
"""

from __future__ import annotations

from evlab import chargers, lithium, ragone, store

from . import Check, si_of

BANK = "constant power out of 150 F, 25 mΩ, 54 V to 27 V at the terminals: quadrature; a circuit simulator agrees to 3e-9"
CHARGED = "100 F charged to 48 V: textbook closed form"
CELL = "specification of an 18650 cell of 2.6 Ah, 3.7 V, 47 g at most (ICR18650-26C, version 1.0): arithmetic"
_FIRST = 0.5 * (54.0 + (54.0**2 - 4 * 0.025 * 500.0) ** 0.5)  # V at the terminals when 500 W begin


def _time() -> float:
    return store.constant_power_time.floats(150.0, 500.0, _FIRST, 27.0, 0.025)


def _lost() -> float:
    last = store.open_voltage_under_power.floats(27.0, 0.025, 500.0)
    return 0.5 * 150.0 * (54.0**2 - last**2) - 500.0 * _time()


_POWER, _NINE = "store.constant_power_time", "1e-9 of the value, as the reference states it"
ROWS = [
    Check(_POWER, "321.7087703", "s", BANK, "time", work=_time, table="constant power"),
    Check(
        _POWER,
        "160854.3852",
        "J",
        BANK,
        "delivered",
        work=lambda: 500.0 * _time(),
        table="constant power",
        allowance=1.6e-4,
        why=_NINE,
    ),
    Check(
        "store.open_voltage_under_power",
        "1279.539733",
        "J",
        BANK,
        "lost: what the inner volts fell by, less what came out",
        work=_lost,
        also=(_POWER,),
        table="constant power",
        allowance=1.3e-6,
        why=_NINE,
    ),
    Check(
        "chargers.resistor_charge_heat",
        "115200",
        "J",
        CHARGED,
        "through a resistor from 48 V: as much is lost as stored",
        {"capacitance": 100.0, "last_voltage": 48.0, "first_voltage": 0.0, "source_voltage": 48.0},
        table="charged",
    ),
    Check(
        "chargers.resistor_charge_efficiency",
        "0.5",
        "",
        CHARGED,
        "through a resistor from 48 V: half",
        {"last_voltage": 48.0, "first_voltage": 0.0, "source_voltage": 48.0},
        table="charged",
    ),
    Check(
        "chargers.resistor_charge_time",
        "230.2585093",
        "s",
        CHARGED,
        "99 % in 0.5 Ω",
        {"capacitance": 100.0, "loop_resistance": 0.5, "source_voltage": 48.0, "first_voltage": 0.0, "last_voltage": 0.99 * 48.0},
        table="charged",
    ),
    Check(
        "chargers.constant_current_charge_time",
        "48000",
        "J",
        CHARGED,
        "20 A through 0.5 Ω: lost until 48 V inside, 58 V at the terminals",
        table="charged",
        work=lambda: 20.0**2 * 0.5 * chargers.constant_current_charge_time(100.0, 58.0, 20.0, 0.5, 0.0),
    ),
    Check(
        "chargers.constant_current_charge_time",
        "0.7058823529",
        "",
        CHARGED,
        "20 A through 0.5 Ω: efficiency",
        table="charged",
        work=lambda: (
            store.energy(100.0, 48.0)
            / (store.energy(100.0, 48.0) + 20.0**2 * 0.5 * chargers.constant_current_charge_time(100.0, 58.0, 20.0, 0.5, 0.0))
        ),
        also=("store.energy",),
    ),
    Check(
        "lithium.pack_charge",
        "9.62",
        "Wh",
        CELL,
        "energy at the nominal volts",
        work=lambda: 3.7 * lithium.pack_charge(2.6 * 3600.0, 1) / 3600.0,
        table="lithium cell",
    ),
    Check(
        "ragone.cells_by_energy",
        "205",
        "Wh",
        CELL,
        "energy of a kilogram of such cells",
        work=lambda: (
            ragone.cells_by_energy.solve_for(
                "energy", number_of_cells=1.0 / 0.047, usable_share=1.0, cell_charge=9360.0, cell_voltage=3.7
            )
            / si_of(1.0, "Wh")
        ),
        table="lithium cell",
    ),
]
CHECKS = [Check(**{**vars(c), "kind": "worked"}) for c in ROWS]
