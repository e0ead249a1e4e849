"""OpenStax, College Physics 2e: printed results of examples and answered problems, read in the book's source; some of its sister.

Numbers only.  Examples and problems are numbered by their order in the source, as the book does it.  Where the book's
case is a limit of ours (no air, from empty, no stand-by) or another thing of the same law, the place says so.
"""

from __future__ import annotations

from collections.abc import Callable
from math import atan, cos, pi, tan

from evlab.equation import EQUATIONS

from . import Check
from .openstax_university_physics import BOOK as SISTER
from .openstax_university_physics import TURN

BOOK = "OpenStax, College Physics 2e (read in its source)"


def row(equation: str, printed: str, unit: str, place: str, *values: float, source: str = BOOK) -> Check:
    """The equation's inputs in its own order, SI."""
    return Check(equation, printed, unit, source, place, dict(zip(EQUATIONS[equation].inputs, values, strict=True)))


def then(equation: str, printed: str, unit: str, place: str, work: Callable[[], float], source: str = BOOK) -> Check:
    """A printed value one step of arithmetic behind the equation's own."""
    return Check(equation, printed, unit, source, place, work=work)


def of(equation: str, *values: float) -> float:
    made = EQUATIONS[equation]
    return float(made(**dict(zip(made.inputs, values, strict=True))))


CHECKS = [
    row("balance.charged_cell", "20.0", "kV", "19.5, problem 50: from empty", 0.0, 0.160e-3, 8.00e-9),
    row("balance.drain_resistance", "4.11", "ohm", "21.1, example 21.3(a)", 6.00, 13.0),
    row("chargers.current_under_charging_power", "8.00", "A", "21.2, problem 18: 15.0 V × 8.00 A", 120.0, 12.0, 0.375),
    row("chargers.voltage_under_charging_power", "15.0", "V", "21.2, problem 18: 15.0 V × 8.00 A", 12.0, 0.375, 120.0),
    row("coasting.coasting_distance", "114", "m", "6.1, example 6.9: a shell shot upwards", 10.0, 0.0100, 98.0, 50.0, 0.0,
        source=SISTER.format(1)),
    row("coasting.coasting_distance", "2.60", "m", "7.5, example 7.9: limit without air", 65.0, 1e-9, 450.0, 6.00, 0.0),
    row("coasting.driven_speed", "28.0", "m/s", "2.5, problem 29(a): a train, limit without air", 1e5, 4.00, 480.0, 0.0500, 1.0),
    row("coasting.driven_distance", "7.68", "km", "2.5, problem 29(c): limit without air", 1.0, 1e4, 0.0500, 480.0, 4.00),
    then("demagnetising.armature_field", "2.01", "T", "22.9, example 22.7: a solenoid of 2.00 m",
         lambda: of("demagnetising.armature_field", 2000, 1600.0, 1.98, 0.01, 4e-7 * pi)),
    then("demagnetising.disc_inner_field", "1.00382", "", "12.6, check 12.7(a): a solenoid for a magnet, infinite over finite",
         lambda: 1 / of("demagnetising.disc_inner_field", 1.0, 2 * tan(85 * pi / 180), tan(85 * pi / 180), 1.0), SISTER.format(2)),
    row("footing.brake_heat", "700", "J", "7.1, problem 7(a)", 35.0, 20.0),
    row("footing.brake_heat", "4.00", "J", "7.2, example 7.3", 5.00, 0.800),
    then("gearing.gradeability", "5.71", "", "6.2, problem 55(b), in degrees down: no force",
         lambda: -atan(of("gearing.gradeability", 0.0, 100.0, 0.100, 9.80)) * 180 / pi, SISTER.format(1)),
    then("heat.warming", "86.5", "", "21.6, problem 67: two time constants, a charge, the same law",
         lambda: of("heat.warming", 300.0, 100.0, 2.0, 1.0) - 300.0),
    row("lithium.pack_resistance", "27.5", "ohm", "21.1, problem 1(b): ten of 275 Ω beside each other", 1, 10, 275.0, 0.0, 0.0),
    then("lithium.c_rate", "3.33e3", "s", "20.1, example 20.1(b): the inverse", lambda: 1 / of("lithium.c_rate", 0.300e-3, 1.00)),
    then("motor.heat_rate", "20.9", "min", "14.7, problem 71: one lump without loss, by 2.00 K",
         lambda: 2.00 / of("motor.heat_rate", 425.0, 300.0, 300.0, 1.0, 76.0 * 3500.0) / 60.0),
    row("motor.no_load_speed", "72.0", "rad/s", "23.6, problem 41: back EMF at 1 V s/rad", 1.0, 120.0, 8.00, 6.0, 1.0),
    then("motor.square_constant", "131", "V", "23.5, examples 23.3 and 23.4: mean over a quarter turn",
         lambda: 1000 * TURN * of("motor.square_constant", 200 * pi * 0.0500**2 * 1.25)),
    row("motor.steady_rise", "5.33", "K", "14.5, example 14.6: ohms that do not rise",
        2256.0, 0.00800 / (220.0 * pi * 0.0700**2), 0.0),
    row("motor_map.greatest_power", "72.0", "W", "21.2, example 21.4(d): a load for the back EMF", 0.500, 24.0, 0.0),
    row("motor_map.greatest_power_current", "12.0", "A", "21.2, example 21.4(d): a load for the back EMF", 0.0, 24.0),
    then("motor_readings.lever_torque", "32.4", "N", "9.5, example 9.3(a): held at 1.02 m",
         lambda: of("motor_readings.lever_torque", 45.0, 0.075, 9.80) / 1.02),
    row("motor_readings.spin_down_time", "0.313", "s", "10.3, problem 10(c): limit, no viscous drag",
        84.38, 1e-6, 405.0, 1.50, 0.0),
    row("motor_readings.spin_down_time", "45.7", "s", "10.2, problem 7(a): limit, no viscous drag", 1.0, 1e-6, 0.700, 32.0, 0.0),
    row("ragone.lithium_energy", "1.58", "Wh", "20.4, problem 54: all of 1.00 A h at 1.00 W", 1.00, 1.0, 3600.0, 1 / 1.58),
    row("regeneration.best_braking_current", "12.0", "A", "21.2, example 21.4(d): matched load", 12.0, 0.500),
    row("regeneration.most_recovered_power", "72.0", "W", "21.2, example 21.4(d): matched load", 12.0, 0.500, 0.0),
    row("regeneration.least_paying_current", "0.658", "A", "21.2, problem 21(a), (b): a cell that gives 0.997 W",
        1.58, 0.100, 0.997),
    row("regeneration.most_paying_current", "80.0", "A", "21.2, problem 23(d): a battery that gives 320 W", 12.0, 0.1000, 320.0),
    then("regeneration.descent_force", "0.737", "", "6.2, problem 55(a): per kilogram, in m/s², at rest",
         lambda: abs(of("regeneration.descent_force", 1.0, -tan(10 * pi / 180), 0.100, 1.2, 0.5, 0.0, 9.80)), SISTER.format(1)),
    then("road.effective_mass", "5.11", "m/s", "10.4, example 10.10: a cylinder that rolls 2.00 m down",
         lambda: (2 * 0.750 * 9.80 * 2.00 / of("road.effective_mass", 0.750, 0.0, 6.00e-4, 1.0, 0.0400)) ** 0.5),
    row("rotor_forces.magnets_inertia", "56.25", "kg*m**2", "10.3, example 10.7: a disc about its axis", 1, 50.0, 1e-6, 1.50),
    row("rotor_forces.steel_disc_inertia", "4.352", "kg*m**2", "10.4, example 10.8(b): no hole",
        1.0, 0.320, 0.0, 85.0 / (pi * 0.320**2)),
    row("store.bank_resistance", "2.75", "kohm", "21.1, problem 1(a): ten of 275 Ω in a row", 10, 275.0, 0.0, 1, 0.0),
    row("store.branch_loss", "160", "W", "23.6, text: 48.0 V against 40.0 V", 48.0, 40.0, 0.400),
    row("store.collapse_voltage", "12.0", "V", "21.2, example 21.4(d): given, watts printed", 72.0, 0.500),
    row("store.resistor_loss_share", "0.160", "", "20.5, problem 77(c): 16.0 %", 1.00, 5.25),
    row("store.slow_time_constant", "3.08", "us", "19.6, problem 59: 3.08 µF through 1 Ω", 1.0, 5.00e-6, 8.00e-6),
    row("store.usable_energy", "405", "J", "19.7, problem 63(a): emptied", 10.0e-6, 9.00e3, 0.0),
    row("store.worst_cell_voltage", "267", "V", "8.2, problem 31(b): 4.00 and 8.00 pF, so 6.00 pF ± a third", 400.0, 2, 1 / 3,
        source=SISTER.format(2)),
    then("turning.error_factor", "0.666", "N*m", "11.5, problem 47: a coil 45.0° from its best angle",
         lambda: 200 * pi * 0.500**2 * 100.0 * 6.0e-5 * of("turning.error_factor", pi / 4), SISTER.format(2)),
    then("winding.coil_constant", "474", "V", "23.5, problem 28",
         lambda: 3600 * TURN * of("winding.coil_constant", 200, pi * 0.0500**2 * 0.800, 1)),
    then("winding.coil_constant", "5.89", "V", "23.5, problem 36(a)",
         lambda: 8.00 * of("winding.coil_constant", 75, pi * 0.0500**2 * 1.25, 1)),
    row("winding.current_ripple", "5.0", "A", "14.2, example 14.2(a): 20 mV for 0.10 s, half of the time", 40e-3, 0.5, 4.0e-4, 5.0,
        source=SISTER.format(2)),
    row("wiring.lead_drop", "0.300", "V", "20.2, problem 22(a): 0.0600 Ω in all", 5.00, 1.0, 1e-6, 0.0600e-6),
    row("wiring.wire_heat", "4.68", "J", "21.1, example 21.1(d), (e): each second", 7.20, 13.0, 20.0),
    row("wiring.wire_rise", "45.0", "K", "1.4, problem 65: given, the book asks for the metal", 4350.0, 1.0, 1e-6, 0.250e6, 387.0,
        source=SISTER.format(2)),
    then("footing.front_traction", "4.20", "", "5.1, problem 14(a): m/s² per kilogram up 4°, shift of load left out",
         lambda: of("footing.front_traction", 1.0, 1.0, 1.0, 0.5, 0.0, 1e-9, 2.0, 9.80) * cos(4 * pi / 180)
         - 9.80 * tan(4 * pi / 180) * cos(4 * pi / 180)),
]
