"""Winding: wire tables, winding factors of textbooks."""

from __future__ import annotations

import math

from evlab import winding

from . import Check

WIRE = "tables of copper magnet wire to ASTM B258 and NEMA MW 1000 (makers' data tables)"
COPPER = "IEC 60028: 1/58 Ω mm²/m at 20 °C (tnlab.org)"
FACTORS = "winding factors of coils round single teeth, as textbooks tabulate them (memory; method: Skaar, Krovel, Nilssen 2006)"
INCH, FOOT, POUND = 0.0254, 0.3048, 0.45359237
_W = "winding."
AREA = math.pi / 4 * 1e-6  # of 1.0 mm wire


def _gauge(number: int, mils: str) -> Check:
    return Check(_W + "gauge_diameter", mils, "inch", WIRE, f"gauge {number}", {"gauge": float(number)}, table="gauges")


def _factor(coils: int, poles: int, directions: float, printed: str) -> Check:
    """The width of a coil is its share of the circle there: the pole pitch times poles over coils."""
    return Check(_W + "distribution_factor", printed, "", FACTORS, f"{coils} coils, {poles} poles", kind="worked", table="factors",
                 also=(_W + "pitch_factor",),
                 work=lambda: abs(float(winding.distribution_factor(3.0, directions))
                                  * float(winding.pitch_factor(float(poles), float(coils)))))


PRINTED = [
    _gauge(10, "0.1019"), _gauge(14, "0.0641"), _gauge(18, "0.0403"), _gauge(24, "0.0201"), _gauge(30, "0.0100"),
    _gauge(36, "0.0050"),
    Check(_W + "coil_resistance", "6.386", "ohm", WIRE, "gauge 18, 1000 feet", allowance=6.386e-3, also=(_W + "strand_area",),
          why="0.1 %: their copper has 1/58 at 20 °C too, but their diameter is rounded", table="gauges",
          work=lambda: float(winding.coil_resistance(1.0, 1000 * FOOT, 1.0, winding.strand_area(0.0403 * INCH)))),
    Check(_W + "winding_mass", "4.92", "lb", WIRE, "gauge 18, 1000 feet, with the standards' copper of 8890 kg/m3",
          also=(_W + "strand_area",), table="gauges",
          work=lambda: float(winding.winding_mass(winding.strand_area(0.0403 * INCH), 1000 * FOOT, copper_density=8890.0)) / POUND),
]

WORKED = [
    Check(_W + "coil_resistance", "0.021952406", "ohm", COPPER, "1 m of 1.0 mm wire at 20 °C", kind="worked", table="copper",
          inputs={"turns": 1.0, "mean_turn": 1.0, "strands": 1.0, "strand_area": AREA}),
    _factor(9, 8, 3.0, "0.945214"), _factor(9, 10, 3.0, "0.945214"), _factor(12, 10, 2.0, "0.933013"),
    _factor(12, 14, 2.0, "0.933013"), _factor(12, 8, 1.0, "0.866025"), _factor(12, 16, 1.0, "0.866025"),
    _factor(9, 6, 1.0, "0.866025"), _factor(6, 4, 1.0, "0.866025"),
]

CHECKS = [*PRINTED, *WORKED]
