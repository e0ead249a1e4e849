"""Regeneration: printed exercises, and closed forms worked apart from this package and written down.

The closed forms are not published: a motor that makes 3 V for each metre per second behind 0.145 ohm, without electronics as the
list of references gives it, and with electronics of 4 W by mpmath's root finding and quadrature on the definitions.
"""

from __future__ import annotations

from evlab import regeneration as regen
from evlab import road

from . import Check
from .closed_forms_2026 import REGEN

SERIES = ("Rashid, Power Electronics, example of regenerative braking (14.9 in the fourth edition), 600 V, 250 A, 0.05 Ω, 0.01527 "
          "V s/rad for each ampere (data and arithmetic read in a public script of it, printed results from memory)")  # fmt: skip
BY_MPMATH = "braking with K 3 V/(m/s), R 0.145 Ω, electronics of 4 W: root finding and quadrature by mpmath"
BANK = "150 F, full at 54 V; 110 kg come down 4 m, half of it comes back: quadrature by mpmath"
HILL = "a hill of 40 m in 1000 m of road at 6 m/s, 110 kg, C_rr 0.006, C_dA 0.45 m², density 1.2: arithmetic"
RIDER = "100 W of legs, a chain of 95 %, 40 rad/s, drag 0.2 N m, 0.35 N m/A: arithmetic"
_R = "regeneration."
OHM = 0.145
AT = {"back_emf": 30.0, "drive_resistance": OHM, "standby_power": 0.0}
PAID = {**AT, "standby_power": 4.0}
SHAFT = 0.01527 * 250.0  # V s/rad of the series motor at its 250 A
SINE4 = 0.04 / (1 - 0.04**2) ** 0.5  # 40 m in 1000 m of road, as rise over level distance


def _at_speed() -> dict[str, float]:
    """The exercise's motor at the speed that it prints: its EMF there."""
    return {"back_emf": SHAFT * 66.14, "braking_current": 250.0, "drive_resistance": 0.05}


PRINTED = [
    Check(_R + "recovered_power", "60", "kW", SERIES, "given back at 66.14 rad/s", {**_at_speed(), "standby_power": 0.0},
          table="series"),
    Check(_R + "fading_speed", "3.274", "rad/s", SERIES, "least braking speed", table="series",
          inputs={"braking_current": 250.0, "drive_resistance": 0.05, "motor_constant": SHAFT}),
]  # fmt: skip


def _closed(equation: str, printed: str, unit: str, place: str, inputs: dict[str, float], source: str = REGEN) -> Check:
    return Check(_R + equation, printed, unit, source, place, inputs, kind="worked", table=source)


WORKED = [
    _closed("recovered_power", "542", "W", "60 N (20 A) at 10 m/s", {**AT, "braking_current": 20.0}),
    _closed("fading_speed", "0.9666666667", "rad/s", "break-even of 20 A, radians for metres",
            {"braking_current": 20.0, "drive_resistance": OHM, "motor_constant": 3.0}),
    _closed("most_recovered_power", "1551.724138", "W", "most that comes back at 10 m/s", AT),
    _closed("best_braking_current", "103.4482759", "A", "its current", {"back_emf": 30.0, "drive_resistance": OHM}),
    _closed("short_circuit_current", "206.8965517", "A", "twice that", {"back_emf": 30.0, "drive_resistance": OHM}),
    _closed("most_paying_current", "206.8965517", "A", "without electronics all short of it pays", AT),
    _closed("wheel_braking_force", "60", "N", "20 A on a wheel of 1 m, nothing lost",
            {"motor_constant": 3.0, "braking_current": 20.0, "motor_drag": 0.0, "gear_ratio": 1.0, "wheel_radius": 1.0,
             "chain_efficiency": 1.0}),
    _closed("braking_current", "20", "A", "60 N, the same way back",
            {"motor_constant": 3.0, "wheel_braking_force": 60.0, "motor_drag": 0.0, "gear_ratio": 1.0, "wheel_radius": 1.0,
             "chain_efficiency": 1.0}),
    _closed("least_paying_current", "0.1334193702", "A", "at 10 m/s", PAID, BY_MPMATH),
    _closed("most_paying_current", "206.7631324", "A", "at 10 m/s", PAID, BY_MPMATH),
    _closed("paying_speed", "0.5077182071", "rad/s", "radians for metres",
            {"drive_resistance": OHM, "standby_power": 4.0, "motor_constant": 3.0}, BY_MPMATH),
    _closed("stop_energy", "1206.016667", "J", "20 A from 10 m/s at 2 m/s²",
            {"motor_constant": 3.0, "gear_ratio": 1.0, "wheel_radius": 1.0, "braking_current": 20.0, "drive_resistance": OHM,
             "standby_power": 4.0, "deceleration": 2.0, "stop_speed": 10.0}, BY_MPMATH),
    _closed("start_voltage", "53.73298639", "V", "volts at the top",
            {"rated_full_voltage": 54.0, "return_share": 0.5, "mass": 110.0, "descent_height": 4.0, "capacitance": 150.0}, BANK),
    _closed("diode_speed", "73.32348419", "rad/s", "24 V, two diodes of 0.7 V, 0.2 V s/rad a phase: arithmetic",
            {"terminal_voltage": 24.0, "diode_drop": 0.7, "line_constant": 0.2 * 3**0.5}, "three phases: arithmetic by mpmath"),
    _closed("pedalling_current", "6.214285714", "A", "on a raised wheel",
            {"pedal_power": 100.0, "chain_efficiency": 0.95, "motor_speed": 40.0, "motor_drag": 0.2, "motor_constant": 0.35},
            RIDER),
    Check(_R + "descent_force", "11.65587612", "m/s", HILL, "terminal speed down it: no brake has to hold", kind="worked",
          table="hill",
          work=lambda: regen.descent_force.solve_for("speed", descent_force=0.0, mass=110.0, slope=-SINE4,
                                                     rolling_coefficient=0.006, air_density=1.2, drag_area=0.45)),
    Check(_R + "descent_force", "26962.05098", "J", HILL, "held by brakes down it: 43 149.26 - 6467.209016 - 9720", kind="worked",
          table="hill", work=lambda: 1000.0 * regen.descent_force(110.0, -SINE4, 0.006, 1.2, 0.45, 6.0)),
    Check("road.lift_energy", "59336.46902", "J", HILL, "the whole way up it", kind="worked", table="hill",
          also=("road.rolling_force", "road.air_force"),
          work=lambda: road.lift_energy(110.0, 40.0) + 1000.0 * (road.rolling_force(110.0, 0.006, SINE4, 1.0)
                                                                 + road.air_force(1.2, 0.45, 6.0, 0.0, 0.0))),
]  # fmt: skip

CHECKS = [*PRINTED, *WORKED]
