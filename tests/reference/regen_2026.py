"""Regeneration: closed forms and arithmetic, worked apart from this package and written down, and an independent script's values.

Neither is a published value.  The closed forms: a motor that makes 3 V for each metre per second, 0.145 ohm, electronics left
out.  The script: the demonstration trike at 2.4 m/s and down 7.5 %.
"""

from __future__ import annotations

import math

from evlab import regeneration as regen
from evlab import road

from . import Check, Erratum
from .authors_script_2026 import CHAIN, GEAR, OHM, SOURCE, WHEEL, K, _opinion
from .closed_forms_2026 import REGEN

HILL = "40 m up in 1000 m at 6 m/s, 110 kg, C_rr 0.007, C_dA 0.45 m², density 1.2, slope counted as sin: arithmetic"
TURNS = GEAR / WHEEL  # motor radians for each metre
AT = {"back_emf": 30.0, "drive_resistance": 0.145, "standby_power": 0.0}
EMF = K * 49.633  # at 2.4 m/s
_R = "regeneration."

WORKED = [
    Check(_R + "recovered_power", "542", "W", REGEN, "60 N (20 A) at 10 m/s", {**AT, "braking_current": 20.0}, table="regen"),
    Check(_R + "fading_speed", "0.9666666667", "rad/s", REGEN, "break-even of 20 A, by metres",
          {"braking_current": 20.0, "drive_resistance": 0.145, "motor_constant": 3.0}, table="regen"),
    Check(_R + "most_recovered_power", "1551.724138", "W", REGEN, "most that comes back at 10 m/s", AT, table="regen"),
    Check(_R + "best_braking_current", "103.4482759", "A", REGEN, "its current",
          {"back_emf": 30.0, "drive_resistance": 0.145}, table="regen"),
    Check(_R + "short_circuit_current", "206.8965517", "A", REGEN, "twice that: the short circuit",
          {"back_emf": 30.0, "drive_resistance": 0.145}, table="regen"),
    Check(_R + "most_paying_current", "206.8965517", "A", REGEN, "without electronics all short of it pays", AT, table="regen"),
    Check(_R + "least_paying_current", "0.0", "A", REGEN, "and so does the least", AT, table="regen"),
    Check("road.lift_energy", "43149.26", "J", HILL, "lift of 110 kg over 40 m", {"mass": 110.0, "altitude": 40.0}, table="hill"),
    Check("road.rolling_force", "7551.1205", "J", "110 kg, C_rr 0.007 on 1000 m: arithmetic", "rolling", table="hill",
          work=lambda: 1000.0 * road.rolling_force(110.0, 0.007, 0.0, 1.0)),
]  # fmt: skip


def _descent(speed: float) -> tuple[float, float, float, float]:
    """D41: brake force, coil current, watts recovered, share, by the equations of regeneration."""
    force = float(regen.descent_force(152.0, -0.075, 0.012 * math.sqrt(1 + 0.075**2), 1.225, 0.95, speed))
    turning = TURNS * speed
    drag = 0.10 + 0.002 * turning
    amps = float(regen.braking_current(force, WHEEL, CHAIN, GEAR, drag, K))
    watts = float(regen.recovered_power(K * turning, amps, OHM, 4.0))
    return force, amps, watts, float(regen.recovered_share(watts, 152.0, -0.075, speed))


def _opinions(speed: float, row: tuple[str, str, str, str]) -> list[Check]:
    names = ("descent_force", "braking_current", "recovered_power", "recovered_share")
    units = ("N", "A", "W", "")
    return [_opinion("D41", f"{name.replace('_', ' ')} at {speed:g} m/s", _R + name, printed, unit, lambda i=i: _descent(speed)[i])
            for i, (name, printed, unit) in enumerate(zip(names, row, units, strict=True))]  # fmt: skip


OPINIONS = [
    _opinion("D40", "current for the most", _R + "best_braking_current", "58.603", "A",
             lambda: regen.best_braking_current(EMF, OHM)),
    _opinion("D40", "the most", _R + "most_recovered_power", "503.24", "W", lambda: regen.most_recovered_power(EMF, OHM, 0.0)),
    _opinion("D40", "at 15 A", _R + "recovered_power", "224.65", "W", lambda: regen.recovered_power(EMF, 15.0, OHM, 0.0)),
    _opinion("D40", "current above which it costs", _R + "short_circuit_current", "117.21", "A",
             lambda: regen.short_circuit_current(EMF, OHM)),
    _opinion("D40", "least paying current, 4 W", _R + "least_paying_current", "0.2334", "A",
             lambda: regen.least_paying_current(EMF, OHM, 4.0)),
    _opinion("D40", "most paying current, 4 W", _R + "most_paying_current", "116.97", "A",
             lambda: regen.most_paying_current(EMF, OHM, 4.0)),
    _opinion("D40", "least speed of any recovery, 4 W", _R + "paying_speed", "0.21397", "m/s",
             lambda: regen.paying_speed(OHM, 4.0, K) / TURNS),
    _opinion("D40", "boost duty at 15 A, 24 V", _R + "boost_duty", "0.37597", "", lambda: regen.boost_duty(EMF, 15.0, OHM, 24.0)),
    *_opinions(1.0, ("93.01", "11.94", "60.55", "0.5431")),
    *_opinions(2.4, ("90.24", "11.4", "172.8", "0.6459")),
    *_opinions(4.0, ("84.29", "10.42", "278.4", "0.6243")),
]  # fmt: skip

CHECKS = [Check(**{**vars(c), "kind": "worked"}) for c in WORKED] + OPINIONS
ERRATA = [
    Erratum(SOURCE + ", D40", "0.23 A to 117.0 A, 499.4 W with 4 W of stand-by",
            "The script prints these in a note, rounded; the rows above hold its unrounded roots against the same quadratic "
            "worked by hand."),
    Erratum(SOURCE + ", D41", "fraction of m g h",
            "It divides by the weight's pull along the slope, m g sin; its forces leave the cosine off rolling (0.05 N), undone "
            "here."),
]  # fmt: skip
