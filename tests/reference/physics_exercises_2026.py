"""Exercises of school and college physics with their printed answers (pages read in 2026).

Each is one small number, but one that somebody else worked out and printed.
"""

from __future__ import annotations

from evlab import motor

from . import Check, si_of

RPM = si_of(1.0, "revolution/minute")
NCERT = "NCERT Physics, class XII, exercise 2.11, as answered on careers360.com"
RC = "physicsforums.com thread 285654: 0.63 mF through 2.4 kΩ"
RC2 = "quantarchive.com 20210324055613: 5 µF charged to 12 V, through 0.8 MΩ"
MOTOR = "college physics exercise as answered on edu.com 894787: a 120 V motor, 7.00 A, armature 0.720 Ω"
PMDC = "careers360.com: a permanent-magnet motor that makes 2 V at 100 rpm"
BUCK = "askfilo.com 3431383431363435: an ideal step-down converter, 6 V to 1.5 V into 3 Ω"
BATTERY = "OpenStax College Physics, problem of section 21.2, as answered on numerade.com"

CHECKS = [
    Check("store.energy", "1.2e-5", "J", NCERT, "600 pF at 200 V", {"capacitance": 600e-12, "voltage": 200.0}, table="ncert"),
    Check(
        "store.redistribution_loss",
        "6e-6",
        "J",
        NCERT,
        "joined to an empty 600 pF",
        table="ncert",
        inputs={"fast_capacitance": 600e-12, "slow_capacitance": 600e-12, "fast_voltage": 200.0, "slow_voltage": 0.0},
    ),
    Check(
        "store.settled_voltage",
        "100",
        "V",
        "the same exercise as answered on goprep.co",
        "common potential",
        table="ncert",
        inputs={"fast_capacitance": 600e-12, "slow_capacitance": 600e-12, "fast_voltage": 200.0, "slow_voltage": 0.0},
    ),
    Check(
        "store.redistribution_loss",
        "3e-6",
        "J",
        "brainly.in question 276003",
        "200 pF at 300 V joined to an empty 100 pF",
        {"fast_capacitance": 200e-12, "slow_capacitance": 100e-12, "fast_voltage": 300.0, "slow_voltage": 0.0},
    ),
    Check(
        "store.resistor_time",
        "3.14",
        "s",
        RC,
        "120 V to 15 V",
        table="rc",
        inputs={
            "capacitance": 0.63e-3,
            "load_resistance": 2400.0,
            "store_resistance": 0.0,
            "first_voltage": 120.0,
            "last_voltage": 15.0,
        },
    ),
    Check(
        "store.resistor_time_constant",
        "4",
        "s",
        RC2,
        "time constant",
        table="rc2",
        inputs={"capacitance": 5e-6, "load_resistance": 0.8e6, "store_resistance": 0.0},
    ),
    Check("store.charge", "60", "microcoulomb", RC2, "charge", {"capacitance": 5e-6, "voltage": 12.0}, table="rc2"),
    Check(
        "store.terminal_voltage",
        "16.0",
        "V",
        BATTERY,
        "a 12.0 V battery charged by 10.0 A has 0.400 Ω and this at its terminals",
        {"open_voltage": 12.0, "store_current": -10.0, "store_resistance": 0.4},
    ),
    Check(
        "controller.current_at_duty",
        "115",
        "V",
        MOTOR,
        "(a) back EMF at normal speed",
        table="armature",
        unknown="back_emf",
        inputs={"duty": 1.0, "open_voltage": 120.0, "motor_current": 7.0, "drive_resistance": 0.72, "store_resistance": 0.0},
    ),
    Check(
        "motor.stall_current",
        "167",
        "A",
        MOTOR,
        "(b) current when it has not begun to turn",
        table="armature",
        inputs={"duty": 1.0, "voltage": 120.0, "hot_resistance": 0.72},
    ),
    Check(
        "motor.torque",
        "2.0944",
        "A",
        PMDC,
        "current for 0.4 N m",
        also=("motor.back_emf",),
        work=lambda: motor.torque.solve_for(
            "motor_current",
            torque=0.4,
            motor_constant=motor.back_emf.solve_for("motor_constant", back_emf=2.0, motor_speed=100 * RPM),
        ),
    ),
    Check(
        "controller.duty_for_current",
        "0.25",
        "",
        BUCK,
        "a) duty ratio",
        table="buck",
        inputs={"back_emf": 0.0, "motor_current": 0.5, "drive_resistance": 3.0, "terminal_voltage": 6.0},
    ),
    Check(
        "controller.bus_current",
        "0.125",
        "A",
        BUCK,
        "c) average source current",
        table="buck",
        inputs={"duty": 0.25, "motor_current": 0.5},
    ),
    Check(
        "road.kinetic_energy",
        "16",
        "J",
        "exercise of a school physics book, answered: ½ × 2 kg × (4 m/s)²",
        "kinetic energy",
        {"effective_mass": 2.0, "speed": 4.0},
    ),
    Check(
        "road.lift_energy",
        "10000",
        "J",
        "philoid.com question 8547: 100 kg lifted by 10 m, g = 10 m/s²",
        "(ii) potential energy",
        {"mass": 100.0, "altitude": 10.0, "gravity": 10.0},
    ),
    Check(
        "motor.winding_resistance_hot",
        "1.472",
        "ohm",
        "electrakit.com, worked example: 1.21 Ω/1000 ft of copper at 20 °C",
        "at 75 °C",
        {"winding_resistance": 1.21, "winding_temperature": 348.15},
    ),
    Check(
        "motor.copper_loss",
        "200",
        "W",
        "OpenStax University Physics 2, example of a series-wound motor (from memory)",
        "power lost in 2.0 Ω at 10 A",
        {"motor_current": 10.0, "hot_resistance": 2.0},
        kind="worked",
        table="series motor",
    ),
    Check(
        "controller.bus_power",
        "1200",
        "W",
        "OpenStax University Physics 2, example of a series-wound motor (from memory)",
        "power of the 120 V source; back EMF 100 V",
        kind="worked",
        table="series motor",
        inputs={"motor_current": 10.0, "back_emf": 100.0, "drive_resistance": 2.0, "standby_power": 0.0},
    ),
]
