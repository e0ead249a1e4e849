"""Second opinions, not published: values of an independent script of the authors, 2026, that knows nothing of this package.

Five significant figures, worked from a demonstration vehicle; compared to 0.1 %.  A disagreement would say that one of
the two is wrong, not which.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from evlab import controller, gearing, motor, road, store

from . import Check, Erratum, si_of

SOURCE = "independent script of the authors, 2026"
RPM = si_of(1.0, "revolution/minute")
C, R = 650.0 / 14.0, 0.0155  # the bank: 14 cells of 650 F; ohms by D01
K, OHM, GEAR, WHEEL, CHAIN = 8.6509 / 25.0, 0.14654, 76 / 15, 0.245, 0.95  # the motor's constants are inputs of D36


def _opinion(tag: str, what: str, equation: str, printed: str, unit: str, work: Callable[[], float], *also: str) -> Check:
    return Check(
        equation,
        printed,
        unit,
        SOURCE,
        f"{tag} {what}",
        work=work,
        also=also,
        kind="opinion",
        table=tag,
        allowance=max(1e-3 * abs(float(printed)), 1e-12),
        why="0.1 %",
    )


def _forces(mass: float, slope: float, speed: float, wind: float = 0.0) -> float:
    return float(
        road.rolling_force(mass, 0.012, slope, 1.0) + road.slope_force(mass, slope) + road.air_force(1.225, 0.95, speed, wind, 0.0)
    )


def _sagging() -> float:
    """Loaded volts at the start of a 1 ohm discharge."""
    return 35.0 * (1 - float(store.resistor_loss_share(R, 1.0)))


def _rest(seconds: float) -> float:
    """D09: volts of the fast branch after a rest."""
    end = float(store.settled_voltage(0.88 * C, 34.907, 0.12 * C, 30.613))
    return end + (34.907 - end) * math.exp(-seconds / store.slow_time_constant(6.0, 0.88 * C, 0.12 * C))


def _duty_at(amps: float, emf: float, volts: float) -> float:
    return float(controller.duty_for_current(emf, amps, OHM, volts))


def _free(volts: float) -> float:
    """Road speed without load at a duty of 0.97."""
    turning = motor.no_load_speed(0.97, volts, 0.0, OHM, K)
    return float(gearing.motor_speed.solve_for("speed", motor_speed=turning, gear_ratio=GEAR, wheel_radius=WHEEL))


def _late_amps() -> float:
    return float(controller.current_at_duty(0.97, 22.0, motor.back_emf(K, 54.0), OHM, R))


_EMF = K * 49.633  # back EMF at 2.4 m/s
_WARM = 1 + 0.00393 * 5.0  # copper at 25 °C over copper at 20 °C


def _descent(speed: float) -> tuple[float, float, float, float]:
    """D41: force at the wheel, coil current, watts recovered, share of the lift, at a steady descent of 7.5 %."""
    force = -_forces(152.0, -0.075, speed)
    turning = gearing.motor_speed(GEAR, speed, WHEEL)
    shaft = float(
        gearing.driven_force.solve_for(
            "shaft_torque", drive_force=-force, gear_ratio=GEAR, wheel_radius=WHEEL, chain_efficiency=CHAIN
        )
    )
    amps = float(
        motor.shaft_torque.solve_for(
            "motor_current", shaft_torque=shaft, motor_constant=K, motor_drag=motor.motor_drag(0.10, 0.002, turning, 1.0)
        )
    )
    power = -float(controller.bus_power(amps, motor.back_emf(K, turning), OHM, 4.0))
    return force, -amps, power, power / (float(road.slope_force(152.0, 0.075)) * speed)


def _drill(what: str) -> float:
    line = motor.line_rms_constant.solve_for("line_constant", line_rms_constant=13.01 / (500 * RPM))
    made = {
        "line": lambda: line,
        "six": lambda: motor.six_step_constant(line),
        "phase": lambda: motor.line_constant.solve_for("phase_constant", line_constant=line),
    }
    return float(made[what]())


def _wheel_force(amps: float) -> float:
    return float(gearing.drive_force(motor.torque(K, amps), GEAR, CHAIN, WHEEL))


_S, _M, _C, _G, _R = "store.", "motor.", "controller.", "gearing.", "road."

STORE = [
    _opinion("D01", "bank capacitance", _S + "bank_capacitance", "46.429", "F", lambda: store.bank_capacitance(650.0, 1, 14)),
    _opinion(
        "D01",
        "bank resistance",
        _S + "bank_resistance",
        "0.0155",
        "ohm",
        lambda: store.bank_resistance(14, 0.8e-3, 0.2e-3, 1, 1.5e-3),
    ),
    _opinion("D01", "energy full", _S + "energy", "28438", "J", lambda: store.energy(C, 35.0)),
    _opinion("D01", "energy 35 V to 15 V", _S + "usable_energy", "23214", "J", lambda: store.usable_energy(C, 35.0, 15.0)),
    _opinion("D01", "usable share", _S + "usable_share", "0.81633", "", lambda: store.usable_share(15.0, 35.0)),
    _opinion("D01", "share left at 0.632", _S + "usable_share", "0.39942", "", lambda: 1 - store.usable_share(0.632, 1.0)),
    _opinion("D02", "worst cell", _S + "worst_cell_voltage", "2.9577", "V", lambda: store.worst_cell_voltage(35.0, 14, 1 / 11)),
    _opinion(
        "D02",
        "string volts for 2.70 V",
        _S + "worst_cell_voltage",
        "31.95",
        "V",
        lambda: store.worst_cell_voltage.solve_for("voltage", worst_cell_voltage=2.70, cells_in_series=14, cell_tolerance=1 / 11),
    ),
    _opinion("D03", "matched power", _S + "matched_power", "19758", "W", lambda: store.matched_power(35.0, R)),
    _opinion("D03", "collapse at 900 W", _S + "collapse_voltage", "7.4699", "V", lambda: store.collapse_voltage(900.0, R)),
    _opinion(
        "D03",
        "terminal volts there",
        _S + "voltage_under_power",
        "3.735",
        "V",
        lambda: store.voltage_under_power(store.collapse_voltage(900.0, R) * (1 + 1e-12), R, 900.0),
        _S + "collapse_voltage",
    ),
    _opinion("D03", "collapse, old cells", _S + "collapse_voltage", "12.938", "V", lambda: store.collapse_voltage(900.0, 3 * R)),
    _opinion(
        "D03", "collapse, thin leads", _S + "collapse_voltage", "20.391", "V", lambda: store.collapse_voltage(900.0, R + 0.10)
    ),
    _opinion("D05", "step", _S + "terminal_voltage", "0.465", "V", lambda: 35.0 - store.terminal_voltage(35.0, 30.0, R)),
    _opinion(
        "D05",
        "time at 30 A",
        _S + "constant_current_time",
        "30.233",
        "s",
        lambda: store.constant_current_time(C, 35.0, 30.0, R, 15.0),
    ),
    _opinion(
        "D05",
        "delivered",
        _S + "constant_current_energy",
        "22464",
        "J",
        lambda: store.constant_current_energy(30.0, 30.233, 35.0, R, C),
    ),
    _opinion("D05", "lost", _S + "constant_current_loss", "421.75", "J", lambda: store.constant_current_loss(30.0, R, 30.233)),
    _opinion(
        "D06",
        "time constant into 1 ohm",
        _S + "resistor_time_constant",
        "47.148",
        "s",
        lambda: store.resistor_time_constant(C, 1.0, R),
    ),
    _opinion("D06", "time to 15 V", _S + "resistor_time", "39.223", "s", lambda: store.resistor_time(C, 1.0, R, _sagging(), 15.0)),
    _opinion("D06", "time to 1 V", _S + "resistor_time", "166.9", "s", lambda: store.resistor_time(C, 1.0, R, _sagging(), 1.0)),
    _opinion("D06", "share in the ESR", _S + "resistor_loss_share", "0.015263", "", lambda: store.resistor_loss_share(R, 1.0)),
    _opinion("D09", "volts after 30 s", _S + "slow_time_constant", "34.578", "V", lambda: _rest(30.0), _S + "settled_voltage"),
    _opinion("D09", "volts after 10 min", _S + "settled_voltage", "34.392", "V", lambda: _rest(600.0), _S + "slow_time_constant"),
    _opinion(
        "D09",
        "lost in the slow branch",
        _S + "redistribution_loss",
        "45.194",
        "J",
        lambda: store.redistribution_loss(0.88 * C, 0.12 * C, 34.907, 30.613),
    ),
    _opinion("D11", "short circuit", _S + "short_circuit_current", "2258.1", "A", lambda: store.short_circuit_current(35.0, R)),
    _opinion(
        "D11",
        "with 1 m of 6 mm² in the loop",
        _S + "short_circuit_current",
        "1881.7",
        "A",
        lambda: store.short_circuit_current(35.0, R + 3.1e-3),
    ),
    _opinion(
        "D14",
        "charge by 6 A from 20 V",
        _S + "constant_current_time",
        "115.35",
        "s",
        lambda: store.constant_current_time(C, 20.0, -6.0, R, 35.0),
    ),
    _opinion(
        "D14", "lost meanwhile", _S + "constant_current_loss", "64.366", "J", lambda: store.constant_current_loss(-6.0, R, 115.35)
    ),
]
ROAD = [
    _opinion("D18", "density at 35 °C", _R + "air_density", "1.1455", "kg/m**3", lambda: road.air_density(101325.0, 308.15)),
    _opinion("D18", "density at -5 °C", _R + "air_density", "1.3164", "kg/m**3", lambda: road.air_density(101325.0, 268.15)),
    _opinion("D18", "rolling", _R + "rolling_force", "22.595", "N", lambda: road.rolling_force(192.0, 0.012, 0.0, 1.0)),
    _opinion("D18", "air at 3 m/s", _R + "air_force", "5.2369", "N", lambda: road.air_force(1.225, 0.95, 3.0, 0.0, 0.0)),
    _opinion("D18", "slope 7.5 %", _R + "slope_force", "140.82", "N", lambda: road.slope_force(192.0, 0.075)),
    _opinion(
        "D18", "power, flat, 3 m/s", _R + "wheel_power", "83.494", "W", lambda: road.wheel_power(_forces(192.0, 0.0, 3.0), 3.0)
    ),
    _opinion(
        "D18", "power, 7.5 %, 2.4 m/s", _R + "wheel_power", "400.09", "W", lambda: road.wheel_power(_forces(192.0, 0.075, 2.4), 2.4)
    ),
    _opinion(
        "D18",
        "power into 5 m/s of wind",
        _R + "wheel_power",
        "179.5",
        "W",
        lambda: road.wheel_power(_forces(192.0, 0.0, 3.0, 5.0), 3.0),
    ),
    _opinion(
        "D18",
        "power before 5 m/s of wind",
        _R + "wheel_power",
        "60.801",
        "W",
        lambda: road.wheel_power(_forces(192.0, 0.0, 3.0, -5.0), 3.0),
    ),
    _opinion(
        "D18",
        "energy for each km",
        _R + "energy_per_distance",
        "7.731",
        "Wh/km",
        lambda: road.energy_per_distance(_forces(192.0, 0.0, 3.0), 1.0) / 3.6,
    ),
    _opinion(
        "D25",
        "rotors as a mass of the vehicle",
        _R + "effective_mass",
        "9.690",
        "kg",
        lambda: road.effective_mass(0.0, 0.0, 0.022657, GEAR, WHEEL),
    ),
    _opinion("D69", "holding force on 7 %", _R + "slope_force", "131.48", "N", lambda: road.slope_force(192.0, 0.07)),
]
DRIVE = [
    _opinion("D31", "copper loss", _M + "copper_loss", "91.585", "W", lambda: motor.copper_loss(25.0, OHM)),
    _opinion(
        "D31",
        "rate over all coils (copper 1.0505 kg, 385 J/(kg K), 10 mΩ of leads outside)",
        _M + "heat_rate",
        "0.211",
        "K/s",
        lambda: motor.heat_rate(motor.copper_loss(25.0, OHM - 0.010), 298.15, 298.15, 0.55, 1.0505 * 385.0),
        _M + "copper_loss",
    ),
    _opinion(
        "D31",
        "steady rise with feedback, air of 25 °C: loss and coefficient taken there",
        _M + "steady_rise",
        "64.04",
        "K",
        lambda: motor.steady_rise(91.585 * _WARM, 0.55, 0.00393 / _WARM),
    ),
    _opinion("D31", "runaway", _M + "runaway_current", "56.189", "A", lambda: motor.runaway_current(OHM, 0.55)),
    _opinion(
        "D36",
        "duty at 20 rad/s, 25 A, 30 V",
        _C + "duty_for_current",
        "0.3528",
        "",
        lambda: _duty_at(25.0, motor.back_emf(K, 20.0), 30.0),
        _M + "back_emf",
    ),
    _opinion(
        "D36",
        "current of the bank",
        _C + "bus_current",
        "8.8201",
        "A",
        lambda: controller.bus_current(_duty_at(25.0, motor.back_emf(K, 20.0), 30.0), 25.0),
    ),
    _opinion("D36", "duty at stall", _C + "duty_for_current", "0.12211", "", lambda: _duty_at(25.0, 0.0, 30.0)),
    _opinion(
        "D36",
        "current of the bank at stall",
        _C + "bus_current",
        "3.0528",
        "A",
        lambda: controller.bus_current(_duty_at(25.0, 0.0, 30.0), 25.0),
    ),
    _opinion("D36", "power at stall", _C + "bus_power", "91.585", "W", lambda: controller.bus_power(25.0, 0.0, OHM, 0.0)),
    _opinion(
        "D36",
        "full duty at stall",
        _C + "current_at_duty",
        "185.14",
        "A",
        lambda: controller.current_at_duty(1.0, 30.0, 0.0, OHM, R),
    ),
    _opinion("D37", "current late in the discharge", _C + "current_at_duty", "16.473", "A", _late_amps, _M + "back_emf"),
    _opinion("D37", "torque late in the discharge", _M + "torque", "5.7002", "N*m", lambda: motor.torque(K, _late_amps())),
    _opinion("D37", "free speed at 22 V", _M + "no_load_speed", "2.9821", "m/s", lambda: _free(22.0), _G + "motor_speed"),
    _opinion("D37", "free speed at 35 V", _M + "no_load_speed", "4.7442", "m/s", lambda: _free(35.0), _G + "motor_speed"),
    _opinion("D37", "free speed at 15 V", _M + "no_load_speed", "2.0332", "m/s", lambda: _free(15.0), _G + "motor_speed"),
    _opinion(
        "D40",
        "back EMF at 2.4 m/s",
        _M + "back_emf",
        "17.175",
        "V",
        lambda: motor.back_emf(K, gearing.motor_speed(GEAR, 2.4, WHEEL)),
        _G + "motor_speed",
    ),
    _opinion("D40", "recovered at 15 A", _C + "bus_power", "224.65", "W", lambda: -controller.bus_power(-15.0, _EMF, OHM, 0.0)),
    _opinion(
        "D40", "most that can be recovered", _C + "bus_power", "503.24", "W", lambda: -controller.bus_power(-58.603, _EMF, OHM, 0.0)
    ),
    _opinion("D40", "boost duty at 15 A, 24 V", _C + "duty_for_current", "0.37597", "", lambda: 1 - _duty_at(-15.0, _EMF, 24.0)),
    _opinion("D40", "short-circuit current", _M + "stall_current", "117.21", "A", lambda: motor.stall_current(1.0, _EMF, OHM)),
    *(
        _opinion(
            "D41",
            f"descent of 7.5 % at {speed} m/s: {what}",
            _G + "driven_force",
            printed,
            unit,
            lambda speed=speed, i=i: _descent(speed)[i],
            _R + "slope_force",
            _M + "shaft_torque",
            _C + "bus_power",
        )
        for speed, row in (
            (1.0, ("93.01", "11.94", "60.55", "0.5431")),
            (2.4, ("90.24", "11.4", "172.8", "0.6459")),
            (4.0, ("84.29", "10.42", "278.4", "0.6243")),
        )
        for i, (what, unit, printed) in enumerate(
            zip(("force", "coil current", "recovered", "share"), ("N", "A", "W", ""), row, strict=True)
        )
    ),
    _opinion("D42", "ratio", _G + "gear_ratio", "5.0667", "", lambda: gearing.gear_ratio(76, 15)),
    _opinion("D42", "wheel force at 25 A", _G + "drive_force", "169.96", "N", lambda: _wheel_force(25.0), _M + "torque"),
    _opinion(
        "D42",
        "gradeability at 25 A",
        _G + "gradeability",
        "7.8549",
        "%",
        lambda: 100 * gearing.gradeability(_wheel_force(25.0), 192.0, 0.012),
    ),
    _opinion(
        "D42",
        "gradeability at 45 A",
        _G + "gradeability",
        "15.236",
        "%",
        lambda: 100 * gearing.gradeability(_wheel_force(45.0), 192.0, 0.012),
    ),
    _opinion(
        "D42",
        "motor at 3 m/s",
        _G + "motor_speed",
        "592.45",
        "revolution/minute",
        lambda: gearing.motor_speed(GEAR, 3.0, WHEEL) / RPM,
    ),
    _opinion("D46", "line peak constant from a drill test", _M + "line_rms_constant", "0.35139", "V*s/rad", lambda: _drill("line")),
    _opinion(
        "D46", "six-step constant", _M + "six_step_constant", "0.33556", "V*s/rad", lambda: _drill("six"), _M + "line_rms_constant"
    ),
    _opinion(
        "D46", "phase constant", _M + "line_constant", "0.20288", "V*s/rad", lambda: _drill("phase"), _M + "line_rms_constant"
    ),
    _opinion(
        "D47",
        "line constant from a stall test",
        _M + "torque",
        "0.35499",
        "V*s/rad",
        lambda: motor.torque.solve_for("motor_constant", torque=0.20 * 4.0 * 9.80665, motor_current=22.1),
    ),
    _opinion(
        "D47",
        "resistance at 20 °C",
        _M + "winding_resistance_hot",
        "0.14688",
        "ohm",
        lambda: motor.winding_resistance_hot.solve_for(
            "winding_resistance", hot_resistance=3.82 / 22.1, winding_temperature=338.15
        ),
    ),
    _opinion(
        "D48", "drag power at 60 rad/s", _M + "motor_drag", "13.2", "W", lambda: motor.motor_drag(0.10, 0.002, 60.0, 1.0) * 60.0
    ),
]

CHECKS = [*STORE, *ROAD, *DRIVE]

ERRATA = [
    Erratum(
        SOURCE + ", D41",
        "93.01 N, 90.24 N, 84.29 N of braking force on a descent of 7.5 %",
        "0.05 N (0.06 %) below ours: the script took the whole weight for the rolling force; on a slope it is the cosine of it. "
        "Ours is right, both stay within 0.1 %.",
    ),
    Erratum(
        SOURCE + ", D31",
        "steady rise 64.04 K",
        "holds for air of 25 °C; our equation is stated for air of 20 °C and gives "
        f"{float(motor.steady_rise(91.585, 0.55)):.2f} K there. Both are right.",
    ),
]
