"""Second opinions on regeneration, not published: the independent script of the authors, its demonstration trike.

D40 at 2.4 m/s on 24 V, D41 down 7.5 %.  D37 (the drive late in the discharge) stands in `authors_script_2026` and D56 (where to
stop the discharge) in `authors_store_2026`; here both are seen from regeneration.
"""

from __future__ import annotations

import math

from evlab import gearing, motor, road
from evlab import regeneration as regen

from . import Check, Erratum
from .authors_script_2026 import CHAIN, GEAR, OHM, SOURCE, WHEEL, K, _opinion

_R, _M, _G = "regeneration.", "motor.", "gearing."
TURNING = float(gearing.motor_speed(GEAR, 2.4, WHEEL))
EMF = float(motor.back_emf(K, TURNING))


def _noted(what: str, equation: str, printed: str, unit: str) -> Check:
    """A rounded value of the script's note on a stand-by of 4 W."""
    return Check(_R + equation, printed, unit, SOURCE, f"D40, note: {what}, 4 W of stand-by",
                 {"back_emf": EMF, "drive_resistance": OHM, "standby_power": 4.0}, kind="opinion", table="D40")  # fmt: skip


def _back(amps: float, standby: float = 0.0) -> float:
    return float(regen.recovered_power(EMF, amps, OHM, standby))


BOOST = [
    _opinion("D40", "motor speed at 2.4 m/s", _G + "motor_speed", "49.633", "rad/s", lambda: TURNING),
    _opinion("D40", "current for the most", _R + "best_braking_current", "58.603", "A",
             lambda: regen.best_braking_current(EMF, OHM)),
    _opinion("D40", "the most", _R + "most_recovered_power", "503.24", "W", lambda: regen.most_recovered_power(EMF, OHM, 0.0)),
    _opinion("D40", "braking power at 15 A", _R + "wheel_braking_force", "257.62", "W",
             lambda: 2.4 * regen.wheel_braking_force(K, 15.0, 0.0, GEAR, WHEEL, 1.0)),
    _opinion("D40", "recovered at 15 A", _R + "recovered_power", "224.65", "W", lambda: _back(15.0)),
    _opinion("D40", "efficiency at 15 A", _R + "recovered_power", "0.87202", "", lambda: _back(15.0) / (EMF * 15.0)),
    _opinion("D40", "current into 24 V at 15 A", _R + "recovered_power", "9.3604", "A", lambda: _back(15.0) / 24.0),
    _opinion("D40", "current above which it costs", _R + "short_circuit_current", "117.21", "A",
             lambda: regen.short_circuit_current(EMF, OHM)),
    _opinion("D40", "brake torque of the short circuit", _R + "short_circuit_current", "40.557", "N*m",
             lambda: motor.torque(K, regen.short_circuit_current(EMF, OHM)), _M + "torque"),
    _opinion("D40", "least speed of any recovery, 4 W", _R + "paying_speed", "0.21397", "m/s",
             lambda: regen.paying_speed(OHM, 4.0, K) * WHEEL / GEAR),
    _opinion("D40", "boost duty at 15 A, 24 V", _R + "boost_duty", "0.37597", "", lambda: regen.boost_duty(EMF, 15.0, OHM, 24.0)),
    _noted("least current that pays", "least_paying_current", "0.23", "A"),
    _noted("largest current that pays", "most_paying_current", "117.0", "A"),
    _opinion("D40", "note: recovered at 15 A, 4 W of stand-by", _R + "recovered_power", "220.7", "W", lambda: _back(15.0, 4.0)),
]  # fmt: skip


def _descent(speed: float) -> tuple[float, float, float, float]:
    """D41: brake force, coil current, watts recovered, share."""
    force = float(regen.descent_force(152.0, -0.075, 0.012, 1.225, 0.95, speed))
    turning = float(gearing.motor_speed(GEAR, speed, WHEEL))
    amps = float(regen.braking_current(force, WHEEL, CHAIN, GEAR, motor.motor_drag(0.10, 0.002, turning, 1.0), K))
    watts = float(regen.recovered_power(motor.back_emf(K, turning), amps, OHM, 4.0))
    return force, amps, watts, float(regen.recovered_share(watts, 152.0, -0.075, speed))


def _rows(speed: float, row: tuple[str, str, str, str]) -> list[Check]:
    names = ("descent_force", "braking_current", "recovered_power", "recovered_share")
    return [_opinion("D41", f"{name.replace('_', ' ')} at {speed:g} m/s", _R + name, printed, unit, lambda i=i: _descent(speed)[i],
                     _M + "motor_drag", _G + "motor_speed")  # type: ignore[misc]
            for i, (name, printed, unit) in enumerate(zip(names, row, ("N", "A", "W", ""), strict=True))]  # fmt: skip


DESCENT = [
    *_rows(1.0, ("93.01", "11.94", "60.55", "0.5431")),
    *_rows(2.4, ("90.24", "11.4", "172.8", "0.6459")),
    *_rows(4.0, ("84.29", "10.42", "278.4", "0.6243")),
]

def _free(volts: float) -> float:
    """D37: road speed at which a bridge at its duty limit passes no current, by the share of its lower switches."""
    emf = float(regen.boost_duty.solve_for("back_emf", boost_duty=0.03, braking_current=0.0, drive_resistance=OHM,
                                           terminal_voltage=volts))  # fmt: skip
    return emf / K * WHEEL / GEAR


LATE = [
    *(_opinion("D37", f"free speed at {volts:g} V: where the lower switches still take 3 % and no current flows", _R + "boost_duty",
               printed, "m/s", lambda volts=volts: _free(volts))  # type: ignore[misc]
      for volts, printed in ((22.0, "2.9821"), (35.0, "4.7442"), (15.0, "2.0332"))),
    _opinion("D56", "between 15 V and 10 V: a height of 1.9467 m for 152 kg fills it again", _R + "start_voltage", "10", "V",
             lambda: regen.start_voltage(15.0, 1.0, 152.0, 2901.8 / (152.0 * 9.80665), 650.0 / 14.0)),
    _opinion("D56", "between 21 V and 15 V, likewise", _R + "start_voltage", "15", "V",
             lambda: regen.start_voltage(21.0, 1.0, 152.0, 5014.3 / (152.0 * 9.80665), 650.0 / 14.0), "road.lift_energy"),
]  # fmt: skip

CHECKS = [*BOOST, *DESCENT, *LATE]

_PULL = float(road.slope_force(152.0, 0.075))
_MOST = float(regen.most_recovered_power(EMF, OHM, 4.0))
_DIODES = float(regen.diode_speed(24.0, 0.7, K * math.pi / 3)) * WHEEL / GEAR  # the peak from line to line is pi/3 of the mean
ERRATA = [
    Erratum(SOURCE + ", D40", "499.4 W as the most with 4 W of stand-by",
            f"503.24 W less 4 W is {_MOST:.2f} W, whatever the motor: the note has a digit wrong, its rows have not. Its 0.23 A, "
            "117.0 A and 220.7 W of the same line agree with ours."),
    Erratum(SOURCE + ", D40", "no current through the diodes at 17.2 V and 24 V",
            f"Agrees: on 24 V our diodes begin at {_DIODES:.2f} m/s. The script compares the mean EMF with the volts; the diodes "
            "see its peak, pi/3 of the mean, and so begin 4.5 % sooner than that comparison says."),
    Erratum(SOURCE + ", D40", "short-circuit current 117.21 A and torque 40.557 N m at 2.4 m/s",
            "Both are E/R. At that speed the inductance (0.088 ohm beside 0.147) holds the real ones lower, near 100 A: its "
            "authors say so, and the range of our equation does."),
    Erratum(SOURCE + ", D41", "fraction of m g h",
            f"It divides by the weight's pull along the slope, {_PULL:.2f} N, times the speed, as ours does. Its forces leave the "
            "cosine off the rolling (0.05 N, 0.06 %): ours are right, all rows stay within 0.1 %."),
]  # fmt: skip
