"""Second opinions, not published: coasting, chains, tipping and brakes by an independent script of the authors, 2026.

Five significant figures; compared to 0.1 %.  Where the script counts otherwise than the package, the errata say how.
"""

from __future__ import annotations

from evlab import chains, coasting, footing, motor, road

from . import Erratum
from .authors_script_2026 import SOURCE, WHEEL, K, _opinion

PITCH = 9.525e-3
SCOOTER_B = float(coasting.air_factor(1.225, 0.55))
WEIGHT = 192.0 * 9.80665
RAMP = 0.07 * WEIGHT - 0.012 * WEIGHT  # as the script has it: 4.2 m of rise and all of the weight on 60 m
_C, _H, _F = "coasting.", "chains.", "footing."


def _force(slope: float) -> float:
    return float(coasting.constant_force(89.0, 0.015, slope))


def _at(power: float, slope: float) -> float:
    return coasting.speed_at_power(power, _force(slope), SCOOTER_B)


def _coasted(last: float, slope: float = 0.0) -> float:
    return float(coasting.coasting_distance(90.5, SCOOTER_B, _force(slope), 6.0, last))


def _turn(radius: float, height: float = 0.75) -> float:
    return float(footing.tip_speed(footing.tip_acceleration(0.65, 0.75, height), radius))


def _driver(teeth: int = 15) -> float:
    return float(chains.chain_pitch_diameter(PITCH, teeth))


def _runaway(speed: float) -> float:
    return float(footing.runaway_speed(speed, RAMP, 60.0, 192.0))


COASTING = [
    _opinion(
        "D19",
        "180 W, flat",
        _C + "equilibrium_speed",
        "6.5426",
        "m/s",
        lambda: coasting.equilibrium_speed(180.0, SCOOTER_B, _force(0.0)),
    ),
    _opinion(
        "D19",
        "180 W, 3 % up",
        _C + "equilibrium_speed",
        "4.0254",
        "m/s",
        lambda: coasting.equilibrium_speed(180.0, SCOOTER_B, _force(0.03)),
    ),
    _opinion(
        "D19",
        "180 W, 6 % up",
        _C + "equilibrium_speed",
        "2.6579",
        "m/s",
        lambda: coasting.equilibrium_speed(180.0, SCOOTER_B, _force(0.06)),
    ),
    _opinion("D19", "180 W, 3 % down", _C + "constant_force", "9.6936", "m/s", lambda: _at(180.0, -0.03)),
    _opinion(
        "D19",
        "5 % down, no power",
        _C + "terminal_speed",
        "9.5166",
        "m/s",
        lambda: coasting.terminal_speed(-_force(-0.05), SCOOTER_B),
    ),
    _opinion(
        "D19", "10 % more power", _C + "equilibrium_speed", "4.7092", "%", lambda: 100 * (_at(198.0, 0.0) / _at(180.0, 0.0) - 1)
    ),
    _opinion(
        "D20",
        "time from 6 m/s to 2 m/s",
        _C + "coasting_time",
        "19.643",
        "s",
        lambda: coasting.coasting_time(90.5, _force(0.0), SCOOTER_B, 6.0, 2.0),
    ),
    _opinion("D20", "way from 6 m/s to 2 m/s", _C + "coasting_distance", "74.905", "m", lambda: _coasted(2.0)),
    _opinion(
        "D20",
        "speed after that way",
        _C + "speed_after",
        "2",
        "m/s",
        lambda: coasting.speed_after(6.0, _force(0.0), SCOOTER_B, 74.905, 90.5),
    ),
    _opinion(
        "D20",
        "time to rest",
        _C + "coasting_time",
        "33.021",
        "s",
        lambda: coasting.coasting_time(90.5, _force(0.0), SCOOTER_B, 6.0, 0.0),
    ),
    _opinion("D20", "way to rest", _C + "coasting_distance", "88.065", "m", lambda: _coasted(0.0)),
    _opinion("D20", "way, 0.3 % down unseen", _C + "coasting_distance", "87.057", "m", lambda: _coasted(2.0, -0.003)),
]
CHAINS = [
    _opinion("D42", "driver", _H + "chain_pitch_diameter", "45.813", "mm", lambda: 1e3 * _driver()),
    _opinion("D42", "wheel", _H + "chain_pitch_diameter", "230.49", "mm", lambda: 1e3 * _driver(76)),
    _opinion("D42", "links", _H + "chain_links", "127.65", "", lambda: chains.chain_links(0.38, PITCH, 15, 76)),
    _opinion("D42", "ripple, 15 teeth", _H + "ripple", "2.1852", "%", lambda: 100 * chains.ripple(15)),
    _opinion("D42", "ripple, 9 teeth", _H + "ripple", "6.0307", "%", lambda: 100 * chains.ripple(9)),
    _opinion(
        "D42", "pull at 25 A", _H + "chain_tension", "377.66", "N", lambda: chains.chain_tension(motor.torque(K, 25.0), _driver())
    ),
    _opinion(
        "D42",
        "safety",
        _H + "chain_safety",
        "23.566",
        "",
        lambda: chains.chain_safety(8900.0, chains.chain_tension(motor.torque(K, 25.0), _driver())),
        _H + "chain_tension",
    ),
    _opinion(
        "D42",
        "chain at 3 m/s: of the driver and of the wheel",
        _H + "chain_speed",
        "592.45",
        "rpm",
        lambda: chains.chain_speed(76, PITCH, 3.0 / WHEEL) / (15 * PITCH) * 60,
        "gearing.motor_speed",
    ),
]
FOOTING = [
    _opinion(
        "D68", "sideways limit", _F + "tip_acceleration", "3.1872", "m/s**2", lambda: footing.tip_acceleration(0.65, 0.75, 0.75)
    ),
    _opinion("D68", "speed on 3 m", _F + "tip_speed", "3.0922", "m/s", lambda: _turn(3.0), _F + "tip_acceleration"),
    _opinion("D68", "speed on 5 m", _F + "tip_speed", "3.992", "m/s", lambda: _turn(5.0), _F + "tip_acceleration"),
    _opinion(
        "D68", "speed on 3 m, mass at 0.60 m", _F + "tip_speed", "3.4571", "m/s", lambda: _turn(3.0, 0.60), _F + "tip_acceleration"
    ),
    _opinion(
        "D68",
        "radius for 3.0 m/s",
        _F + "tip_speed",
        "2.8238",
        "m",
        lambda: footing.tip_speed.solve_for(
            "turn_radius", limit_speed=3.0, tip_acceleration=footing.tip_acceleration(0.65, 0.75, 0.75)
        ),
    ),
    _opinion(
        "D69",
        "brake force for 3 m/s² down the ramp",
        _F + "braking_force",
        "685.21",
        "N",
        lambda: footing.braking_force(192.0, 3.0, coasting.constant_force(192.0, 0.012, -0.07)),
        _C + "constant_force",
    ),
    _opinion("D69", "way from 3 m/s", _F + "stopping_distance", "1.5", "m", lambda: footing.stopping_distance(3.0, 0.0, 3.0)),
    _opinion("D69", "the same after 0.5 s", _F + "stopping_distance", "3", "m", lambda: footing.stopping_distance(3.0, 0.5, 3.0)),
    _opinion(
        "D69",
        "torque that holds it",
        _F + "holding_torque",
        "32.213",
        "N*m",
        lambda: footing.holding_torque(road.slope_force(192.0, 0.07), WHEEL),
        "road.slope_force",
    ),
    _opinion(
        "D69",
        "heat of a braked descent, as the script counts",
        _F + "brake_heat",
        "6552.4",
        "J",
        lambda: footing.brake_heat(RAMP, 60.0),
    ),
    _opinion("D69", "rise of the disc", _F + "disc_rise", "94.962", "K", lambda: footing.disc_rise(6552.4, 0.15)),
    _opinion(
        "D69", "runaway from rest, no air, as the script counts", _F + "runaway_speed", "8.2616", "m/s", lambda: _runaway(0.0)
    ),
    _opinion("D69", "runaway from 3 m/s, no air", _F + "runaway_speed", "8.79", "m/s", lambda: _runaway(3.0)),
    _opinion(
        "D69",
        "runaway from 3 m/s, with air and all that turns",
        _C + "speed_after",
        "7.74",
        "m/s",
        lambda: coasting.speed_after(3.0, -RAMP, coasting.air_factor(1.225, 0.95), 60.0, 207.66),
    ),
]

CHECKS = [*COASTING, *CHAINS, *FOOTING]

_TRUE = -float(coasting.constant_force(192.0, 0.012, -0.07))
ERRATA = [
    Erratum(
        SOURCE + ", D69",
        "heat 6552.4 J, runaway 8.2616 m/s, brake force 685.21 N",
        "the script took the slope of 7 % (rise over level distance) for the sine, so 60 m of ramp fall 4.20 m, and all of the "
        f"weight for the rolling force. With the angle ours are {60 * _TRUE:.1f} J, "
        f"{float(footing.runaway_speed(0.0, _TRUE, 60.0, 192.0)):.4f} m/s and {192 * 3 + _TRUE:.2f} N: 0.25 %, 0.12 % and 0.04 % "
        "less. Ours are right; its holding force of 131.48 N has the angle.",
    ),
    Erratum(
        SOURCE + ", D42",
        "127.65 pitches",
        "is the handbooks' series; the exact strand is "
        f"{chains.links_for(chains.CHAINS['06B'], 15, 76, 0.38):.3f}. Both round to 128, taut at "
        f"{1e3 * chains.centre_for_links(chains.CHAINS['06B'], 15, 76, 128):.2f} mm "
        f"({1e3 * float(chains.handbook_centre(PITCH, 128, 15, 76)):.2f} mm by the handbooks).",
    ),
]
