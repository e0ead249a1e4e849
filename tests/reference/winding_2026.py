"""Winding: wire tables, winding factors of textbooks, and the second opinions of an independent script."""

from __future__ import annotations

import math

from evlab import motor, winding

from . import Check
from .authors_script_2026 import SOURCE

WIRE = "tables of copper magnet wire to ASTM B258 and NEMA MW 1000 (makers' data tables)"
COPPER = "IEC 60028: 1/58 Ω mm²/m at 20 °C (tnlab.org)"
FACTORS = "winding factors of coils round single teeth, as textbooks tabulate them (memory; method: Skaar, Krovel, Nilssen 2006)"
INCH, FOOT, POUND = 0.0254, 0.3048, 0.45359237
_W = "winding."
AREA = math.pi / 4 * 1e-6  # of 1.0 mm wire
TURN = 0.15948  # of the demonstration coil, by the script


def _gauge(number: int, mils: str) -> Check:
    return Check(_W + "gauge_diameter", mils, "inch", WIRE, f"gauge {number}", {"gauge": float(number)}, table="gauges")


def _factor(coils: int, poles: int, directions: float, printed: str) -> Check:
    """The width of a coil is its share of the circle there: the pole pitch times poles over coils."""
    return Check(_W + "distribution_factor", printed, "", FACTORS, f"{coils} coils, {poles} poles", kind="worked", table="factors",
                 also=(_W + "pitch_factor",),
                 work=lambda: abs(float(winding.distribution_factor(3.0, directions))
                                  * float(winding.pitch_factor(float(poles), float(coils)))))


def _one(equation: str, printed: str, unit: str, place: str, **inputs: float) -> Check:
    return Check(_W + equation, printed, unit, SOURCE, place, inputs, kind="opinion", table=place.partition(",")[0],
                 allowance=1e-3 * float(printed), why="0.1 %")


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

OPINIONS = [
    _one("gauge_diameter", "1.628", "mm", "wire table, gauge 14", gauge=14.0),
    _one("gauge_diameter", "0.511", "mm", "wire table, gauge 24", gauge=24.0),
    _one("coil_constant", "0.071897", "V*s/rad", "D23, one coil", turns=26.0, turn_flux=0.00046088, pole_pairs=6.0),
    _one("phase_constant", "0.21569", "V*s/rad", "D23, three coils", coils_in_series=3.0, distribution_factor=1.0,
         coil_constant=0.071897),
    _one("coil_resistance", "0.022756", "ohm", "D29, one coil", turns=26.0, mean_turn=TURN, strands=4.0, strand_area=AREA),
    _one("phase_resistance", "0.068268", "ohm", "D29, one phase", coils_in_series=3.0, coil_resistance=0.022756),
    _one("line_resistance", "0.14654", "ohm", "D29, with 10 mΩ of leads", phase_resistance=0.068268, lead_resistance=0.010),
    _one("winding_length", "156.74", "m", "D29, wire to buy over four strands", coils=9.0, turns=26.0, strands=4.0, mean_turn=TURN),
    _one("winding_mass", "1.0505", "kg", "D29, copper without tails", strand_area=AREA, winding_length=9 * 16.586,
         copper_density=8960.0),
    _one("copper_fill", "0.49504", "", "D29, copper in the window", turns=26.0, strands=4.0, strand_area=AREA, side_width=0.015,
         coil_thickness=0.011),
    _one("current_density", "7.9577", "A/mm**2", "D29, at 25 A", motor_current=25.0, strands=4.0, strand_area=AREA),
    _one("mean_radius", "25.382", "mm", "D30, mean radius", mean_turn=TURN),
    _one("coil_inductance", "34.186", "uH", "D30, many layers", turns=26.0, mean_radius=0.025382, coil_thickness=0.011,
         side_width=0.015),
    _one("line_inductance", "295.43", "uH", "D30, six coils", coils_in_series=3.0, coil_inductance=49.238e-6),
    _one("current_ripple", "1.8511", "A", "D30, at 16 kHz", voltage=35.0, duty=0.5, line_inductance=295.43e-6,
         switching_frequency=16e3),
    _one("ripple_factor", "1.3333", "", "D30, 25 A up and down about 25 A", current_ripple=50.0, motor_current=25.0),
    _one("delta_constant", "0.1998", "V*s/rad", "D67, constant", motor_constant=0.346),
    _one("delta_resistance", "0.04551", "ohm", "D67, resistance", winding_resistance=2 * 0.068268),
    Check(_W + "delta_resistance", "0.877", "", SOURCE, "D67, square of the constant over resistance", kind="opinion", table="D67",
          also=(_W + "delta_constant", "motor.six_step_constant"), allowance=1e-3, why="the script rounds the constant to 0.346",
          work=lambda: (float(winding.delta_constant(motor.six_step_constant(math.sqrt(3) * 0.20919)))**2
                        / float(winding.delta_resistance(2 * 0.068268)))),
]

CHECKS = [*PRINTED, *WORKED, *OPINIONS]
