"""IEC 60028 (1925) on copper, IEC 62576 and IEC 62391-1 on the test of capacitors: what the standards fix.

The standards were not read; their numbers were, at the places named.
"""

from __future__ import annotations

import math

from evlab import motor, store

from . import Check, Erratum

COPPER = "IEC 60028: 1/58 Ω mm²/m at 20 °C, 0.00393 per kelvin (tnlab.org)"
CYCLE = "IEC 62576, annex C: currents of 95 % efficiency (reprint on wjcbpl.com)"


def _discharge_efficiency() -> float:
    """A full discharge at U/(40 R): what comes out at the terminals over what was inside."""
    volts, farad, ohm = 2.7, 3000.0, 0.29e-3
    amps = volts / (40.0 * ohm)
    lost = store.constant_current_loss(amps, ohm, farad * volts / amps)
    return 1.0 - lost / store.energy(farad, volts)


CHECKS = [
    Check(
        "motor.winding_resistance_hot",
        "0.030579701",
        "ohm",
        COPPER,
        "1 m of 1.0 mm wire at 120 °C",
        {"winding_resistance": 4.0 / (58.0 * math.pi), "winding_temperature": 393.15},
        kind="worked",
        table="copper",
    ),
    Check(
        "motor.winding_resistance_hot",
        "0.021952406",
        "ohm",
        COPPER,
        "1 m of 1.0 mm wire at 20 °C",
        kind="worked",
        table="copper",
        inputs={"winding_resistance": 4.0 / (58.0 * math.pi), "winding_temperature": 293.15},
    ),
    Check(
        "store.constant_current_loss",
        "0.95",
        "",
        CYCLE,
        "discharge at U/(40 R)",
        work=_discharge_efficiency,
        also=("store.energy",),
        table="iec 62576",
        allowance=1e-12,
        why="exact: 1 - 2/40",
    ),
    Check(
        "store.constant_current_time",
        "3000",
        "F",
        "IEC 62391-1: C = I (t2 - t1)/(U1 - U2) between 80 % and 40 % of the rated volts",
        "the formula gives back the capacitance that made the times",
        allowance=1e-8,
        why="exact",
        kind="worked",
        work=lambda: 100.0 * (_until(0.4 * 2.7) - _until(0.8 * 2.7)) / (0.4 * 2.7),
    ),
]


def _until(volts: float) -> float:
    return store.constant_current_time(3000.0, 2.7, 100.0, 0.29e-3, volts)


ERRATA = [
    Erratum(
        "IEC 60228, table of factors to 20 °C (copy on uecables.com)",
        "1.064 at 5 °C, 0.980 at 25 °C, 0.926 at 40 °C, 0.758 at 100 °C",
        "These are 250/(230 + t), a rounded form; the exact one of the same standard, 254.5/(234.5 + t), gives "
        f"{1 / float(motor.winding_resistance_hot(1.0, 278.15)):.3f}, {1 / float(motor.winding_resistance_hot(1.0, 298.15)):.3f}, "
        f"{1 / float(motor.winding_resistance_hot(1.0, 313.15)):.3f} and "
        f"{1 / float(motor.winding_resistance_hot(1.0, 373.15)):.3f}, "
        "as ours does: "
        "up to 0.4 % apart. The rounded table is not used as a check.",
    )
]
