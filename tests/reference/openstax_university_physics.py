"""OpenStax, University Physics, volumes 1 and 2: printed results of examples and of answered problems, read in the book's source.

Numbers only.  Sections, examples and problems are numbered by their order in the source, as the book does it.  A row whose setting
is another one than ours says in its place what was taken for what.
"""

from __future__ import annotations

from math import pi

from evlab.equation import EQUATIONS

from . import Check, Erratum

BOOK = "OpenStax, University Physics, vol. {} (read in its source)"
TURN = pi / 30.0  # rad/s for each rev/min


def row(equation: str, printed: str, unit: str, volume: int, place: str, *values: float) -> Check:
    """The equation's inputs in its own order, SI."""
    return Check(equation, printed, unit, BOOK.format(volume), place, dict(zip(EQUATIONS[equation].inputs, values, strict=True)))


CHECKS = [
    row("balance.weak_cell", "18.0", "V", 2, "ch. 8, additional problem 69(a): 75.6 µC on 4.20 µF", 36.0, 3, 0.5),
    row("balance.weak_cell", "267", "V", 2, "8.2, problem 31(b)", 400.0, 2, 0.5),
    row("balance.decay_voltage", "0.376", "V", 2, "ch. 10, additional problem 71(b)", 0.50, 1.00, 351.59, 10.00e-3),
    row("balance.decay_time", "0.069", "s", 2, "ch. 10, additional problem 67(c): current to one half", 20.0, 5.00e-3, 0.5),
    row("balance.floating_cell", "1", "V", 2, "10.2, example 10.2(c): one of 10 Ω among four of 20 Ω", 9.0, 10.0, 5, 20.0),
    row("balance.bleed_heat", "0.04", "W", 2, "9.5, problem 55(b): a resistor", 20.00, 10e3),
    row("balance.leak_resistance", "3.00", "kohm", 2, "9.4, example 9.8(a): a resistor", 9.00, 3.00e-3),
    row("cell_check.energy_capacitance", "8.00", "uF", 2, "8.3, example 8.9: emptied", 4.00e2, 1.00e4, 0.0),
    row("cell_check.step_resistance", "0.400", "ohm", 2, "10.1, problem 23(a)", 2.00, 5.00),
    row("chargers.resistor_charge_time", "8.13", "s", 2, "10.5, example 10.8", 50e-3, 101.0, 100.0, 0.0, 80.0),
    row("chargers.resistor_peak_power", "1.44", "kW", 2, "10.6, problem 59: a short at fixed volts", 12.0, 0.0, 0.100),
    row("chargers.source_current", "20.00", "A", 2, "10.1, example 10.1(b), (c)", 2.00e2, 12.00, 0.100),
    row("converter.input_current", "40.9", "mA", 2, "15.6, problem 47(b): a transformer without loss", 4.5, 1.0, 110.0),
    row("converter.input_power", "421", "W", 2, "ch. 8, challenge problem 79(a): its joules for watts", 400.0, 0.95),
    row("controller.bus_power", "60", "W", 2, "13.6, problem 61(c)", 0.50, 75.0, 90.0, 0.0),
    row("controller.bus_power", "1.2e3", "W", 2, "13.6, example 13.10(c)", 10.0, 100.0, 2.0, 0.0),
    row("controller.current_for_power", "10", "A", 2, "13.6, example 13.10: given, watts printed", 100.0, 2.0, 1200.0, 0.0),
    row("motor.copper_loss", "22.5", "W", 2, "13.6, problem 61(e)", 0.50, 90.0),
    row("motor.copper_loss", "8.0e2", "W", 2, "13.6, example 13.10(e)", 20.0, 2.0),
    row("motor.line_rms_constant", "2.83", "V*s/rad", 2, "15.4, example 15.3(a): 4.00 V peak", 4.00),
    row("motor.stall_current", "1.33", "A", 2, "13.6, problem 61(a)", 1.0, 120.0, 90.0),
    row("store.store_loss", "40.0", "W", 2, "10.1, problem 25(b)", 10.0, 0.400),
    row("store.voltage_under_power", "10.00", "V", 2, "10.1, example 10.1(b), (c)", 12.00, 0.100, 200.0),
    row("store.open_voltage_under_power", "12.00", "V", 2, "10.1, example 10.1(b), (c): given", 10.00, 0.100, 200.0),
    row("store.terminal_voltage", "10.00", "V", 2, "10.1, example 10.1(b)", 12.00, 20.00, 0.100),
    row("store.branch_current", "0.20", "A", 2, "10.3, example 10.7: 24 V against 12 V over 60 Ω", 24.0, 12.0, 60.0),
    row("store.settled_voltage", "10.8", "V", 2, "ch. 8, additional problem 69(b)", 16.8e-6, 9.0, 4.20e-6, 18.0),
    row("store.energy", "1.17", "J", 2, "8.3, problem 45", 165e-6, 119.0),
    row("store.charge", "21.6", "mC", 2, "8.1, problem 19", 180.0e-6, 120.0),
    row("lithium.time_at_current", "5.56", "ms", 2, "9.1, example 9.1(b)", 1.00, 1.0, 0.0, 180.0),
    row("winding.gauge_diameter", "2.588", "mm", 2, "9.2, example 9.4; gauge 36 is 0.127 mm by definition", 10, 0.127e-3),
    row("winding.current_density", "7.60e5", "A/m**2", 2, "9.2, problem 33(a)", 4.00, 1, pi / 4 * 2.588e-3**2),
    row("wiring.copper_resistance", "23.77", "ohm", 2, "9.6, problem 63: copper of 1.68e-8 Ω m", 60e3, 42.40e-6, 1.68e-8),
    row("wiring.lead_heat", "2.377e5", "W", 2, "9.6, problem 63", 100.00, 60e3, 42.40e-6, 1.68e-8),
    row("wiring.precharge_time", "8.13", "s", 2, "10.5, example 10.8", 101.0, 50e-3, 0.8),
    row("wiring.precharge_current", "12.3", "mA", 2, "10.5, problem 53(a)", 6.16, 500.0),
    row("wiring.precharge_power", "1.44", "kW", 2, "10.6, problem 59", 12.0, 0.100),
    row("wiring.short_time_constant", "4.99", "s", 2, "ch. 10, additional problem 87(a)", 31.2e3, 160e-6),
    row("footing.disc_rise", "92", "K", 2, "1.4, example 1.6: a truck's brakes", 7.35e5, 10.0, 800.0),
    row("footing.runaway_speed", "2.8", "m/s", 1, "7.3, problem 55", 0.0, 10.0, 8.0, 20.0),
    row("footing.braking_force", "68.5", "N", 1, "6.1, problem 31: nothing else brakes", 35.0, 4.50 / 2.30, 0.0),
    row("footing.holding_torque", "50.4", "N*m", 1, "10.7, problem 85(a): force on a rim", 180.0, 0.280),
    row("footing.stopping_distance", "79.3", "m", 1, "3.4, example 3.10(c)", 30.0, 0.500, 7.00),
    row("chains.chain_tension", "30", "N", 1, "10.6, problem 71: a cord on a wheel", 15.0, 1.00),
    row("road.kinetic_energy", "772", "kJ", 1, "7.2, problem 47(a)", 2000.0, 100.0 / 3.6),
    row("rotor_forces.centrifugal_force", "17.4", "N", 1, "6.3, problem 65(b)", 22.0, 8.00, 3.00 * TURN),
    row("rotor_forces.rim_speed", "4.5", "m/s", 1, "10.1, example 10.1(d)", 0.10, 45.0),
    row("rotor_forces.rotor_energy", "621.8", "J", 1, "10.4, problem 63(b)", 0.315, 600.0 * TURN),
    row("rotor_forces.glue_shear", "1.8e8", "Pa", 1, "12.3, example 12.8: force over area, in tension", 550.0 * 9.8, 3.0e-5),
    row("motor_map.run_up_speed", "0.43", "rad/s", 2, "14.4, example 14.4(b): a current in a choke, the same law", 0.50, 2.0, 1.0),
]

ERRATA = [
    Erratum(BOOK.format(2) + ", example 10.7", "R3 of 10.0 Ω in the working",
            "20 Ω, as in its figure, gives the printed 0.20 A; 10 Ω 0.24 A."),
    Erratum(BOOK.format(2) + ", 9.6, problem 63", "gauge 0 with 42.40 mm²",
            "Gauge 0 has 53.5 mm² (its problem 61); 23.77 Ω follows from 42.40 mm²."),
    Erratum(BOOK.format(2) + ", example 10.1(a)", "11.90 V", "12.00 V less 1.188 A × 0.100 Ω is 11.88 V. Not used as a check."),
]
