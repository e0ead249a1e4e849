"""OpenStax, University Physics, volumes 1 and 2: printed results of examples and of answered problems, read in the book's source.

Numbers only.  Sections, examples and problems are numbered by their order in the source, as the book does it.  A row whose setting
is another one than ours says in its place what was taken for what.
"""

from __future__ import annotations

from math import pi, tan

from evlab import coasting, motor
from evlab.equation import EQUATIONS

from . import Check, Erratum

BOOK = "OpenStax, University Physics, vol. {} (read in its source)"
TURN = pi / 30.0  # rad/s for each rev/min
DEG = pi / 180.0


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
    row("store.bank_capacitance", "5.00", "mF", 2, "ch. 10, additional problem 67(a): four of 20 mF in series", 20e-3, 1, 4),
    row("store.resistor_time_constant", "5.05", "s", 2, "10.5, example 10.8", 50e-3, 100.0, 1.0),
    row("store.resistor_time", "0.069", "s", 2, "ch. 10, additional problem 67(c)", 5.00e-3, 20.0, 0.0, 1.0, 0.5),
    row("store.energy", "405", "J", 2, "8.3, problem 43(a)", 10.0e-6, 9.00e3),
    row("store.charge", "90.0", "mC", 2, "8.3, problem 43(b)", 10.0e-6, 9.00e3),
    row("store.settled_voltage", "444", "V", 2, "8.2, problem 39: like plates joined", 2.0e-6, 2000 / 3, 4.0e-6, 1000 / 3),
    row("controller.current_at_duty", "0.50", "A", 2, "13.6, problem 61(b)", 1.0, 120.0, 75.0, 90.0, 0.0),
    row("regeneration.short_circuit_current", "0.10", "A", 2, "13.1, example 13.1(b): a shorted coil", 0.50, 5.0),
    row("gearing.motor_speed", "28.6", "rad/s", 1, "11.2, problem 51: a bicycle's wheel", 1.0, 10.0, 0.35),
    row("road.lift_energy", "108", "kJ", 1, "8.1, example 8.2(b)", 75.0, 147.0, 9.80),
    row("road.lift_energy", "18.6", "kJ", 1, "7.1, problem 37", 5.0, 380.0, 9.80),
    row("footing.grip_deceleration", "10.8", "m/s**2", 1, "6.2, problem 57: uphill, grip 1.0", 1.0, tan(6.00 * DEG), 9.80),
    row("footing.grip_deceleration", "7.85", "m/s**2", 1, "6.2, problem 57: uphill, grip 0.7", 0.7, tan(6.00 * DEG), 9.80),
    row("footing.grip_deceleration", "9.09", "m/s**2", 1, "6.2, problem 59: downhill, grip 1.0", 1.0, -tan(4.00 * DEG), 9.80),
    row("footing.grip_deceleration", "0.294", "m/s**2", 1, "6.2, problem 59: downhill, grip 0.1", 0.1, -tan(4.00 * DEG), 9.80),
    row("footing.rear_traction", "4.9", "N", 1, "6.2, problem 49(a): for each kilogram, shift of load left out",
        1.0, 1.0, 1.0, 0.5, 0.0, 1e-9, 1.0, 9.80),
    row("footing.slide_speed", "21", "m/s", 1, "6.3, problem 77", 0.70, 65.0, 9.80),
    Check("footing.slide_speed", "0.13", "", BOOK.format(1), "6.3, example 6.15(b): grip", unknown="tyre_grip",
          inputs={"limit_speed": 25.00, "turn_radius": 500.0, "gravity": 9.80}),
    Check("motor.winding_resistance_hot", "276.4", "degC", BOOK.format(2), "9.3, problem 43(a): copper of twice the ohms",
          work=lambda: motor.winding_resistance_hot.solve_for(
              "winding_temperature", between=(293.15, 573.15), winding_resistance=1.0, hot_resistance=2.0,
              copper_coefficient=0.0039, reference_temperature=293.15) - 273.15),
    Check("motor.torque", "10.0", "A", BOOK.format(2), "11.5, problem 41: 50 square turns of 15.0 cm in 0.800 T",
          unknown="motor_current", inputs={"torque": 9.0, "motor_constant": 50 * 0.150**2 * 0.800}),
    Check("coasting.terminal_speed", "44", "m/s", BOOK.format(1), "6.4, example 6.17: a fall", also=("coasting.air_factor",),
          work=lambda: coasting.terminal_speed(85.0 * 9.80, coasting.air_factor(1.21, 1.0 * 0.70))),
    Check("coasting.terminal_speed", "34", "m/s", BOOK.format(1), "6.4, check 6.10: a fall", also=("coasting.air_factor",),
          work=lambda: coasting.terminal_speed(50.0 * 9.80, coasting.air_factor(1.21, 1.0 * 0.70))),
    Check("coasting.terminal_speed", "115", "m/s", BOOK.format(1), "6.4, problem 79: a fall", also=("coasting.air_factor",),
          work=lambda: coasting.terminal_speed(80.0 * 9.80, coasting.air_factor(1.21, 0.70 * 0.140))),
    Check("coasting.constant_force", "0.737", "N", BOOK.format(1), "6.2, problem 55(a): for each kilogram, the pull down 10.0°",
          work=lambda: -coasting.constant_force(1.0, 0.100, -tan(10.0 * DEG), gravity=9.80)),
    Check("coasting.constant_force", "0.29", "N", BOOK.format(1), "6.2, example 6.14: for each kilogram, the pull down 13°",
          work=lambda: -coasting.constant_force(1.0, 0.20, -tan(13.0 * DEG), gravity=9.80)),
]

ERRATA = [
    Erratum(BOOK.format(2) + ", example 10.7", "R3 of 10.0 Ω in the working",
            "20 Ω, as in its figure, gives the printed 0.20 A; 10 Ω 0.24 A."),
    Erratum(BOOK.format(2) + ", 9.6, problem 63", "gauge 0 with 42.40 mm²",
            "Gauge 0 has 53.5 mm² (its problem 61); 23.77 Ω follows from 42.40 mm²."),
    Erratum(BOOK.format(2) + ", example 10.1(a)", "11.90 V", "12.00 V less 1.188 A × 0.100 Ω is 11.88 V. Not used as a check."),
]
