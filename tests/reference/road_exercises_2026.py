"""Coasting, footing, tyres and wheels against closed forms worked apart, printed exercises, lists of tyres, measured wheels."""

from __future__ import annotations

import math
from collections.abc import Callable

from evlab import coasting, footing, road

from . import Check

COAST = "closed form and quadrature: 110 kg, C_rr 0.006, C_dA 0.45 m², air 1.2 kg/m³"
HILL = "a hill of 40 m in 1000 m of road, the vehicle above, down: closed form"
FORUM = "forum.cyclinguk.org thread 123795: coasting, 80 kg, C_rr 0.005, C_dA 0.400, from 20 km/h"
A, B = float(coasting.constant_force(110.0, 0.006, 0.0)), float(coasting.air_factor(1.2, 0.45))
DRIVEN = 90.0 - A
SINE4 = 0.04 / math.sqrt(1 - 0.04**2)  # 40 m in 1000 m of road, as rise over level distance
_BOTH = ("coasting.constant_force", "coasting.air_factor")
_HEAVY = 110.0 + 2 * 0.11 / 0.33**2


def _worked(equation: str, printed: str, unit: str, place: str, work: Callable[[], float], source: str = COAST) -> Check:
    return Check(equation, printed, unit, source, place, work=work, also=_BOTH, kind="worked", table="coasting")


def _steady(slope: float) -> float:
    return coasting.speed_at_power(400.0, float(coasting.constant_force(110.0, 0.006, slope)), B)


def _first_hundred() -> float:
    """Seconds for the first 100 m, by the speed after them."""
    a, b, start = float(coasting.constant_force(80.0, 0.005, 0.0)), float(coasting.air_factor(1.220, 0.400)), 20.0 / 3.6
    end = float(coasting.speed_after(start, a, b, 100.0, 80.0))
    return float(coasting.coasting_time(80.0, a, b, start, end))


def _terminal(driving: float) -> float:
    return float(coasting.terminal_speed(driving, B))


COASTING = [
    _worked(
        "coasting.coasting_distance",
        "334.7209570",
        "m",
        "from 10 m/s to rest",
        lambda: coasting.coasting_distance(110.0, B, A, 10.0, 0.0),
    ),
    _worked(
        "coasting.coasting_time", "92.82098171", "s", "from 10 m/s to rest", lambda: coasting.coasting_time(110.0, A, B, 10.0, 0.0)
    ),
    _worked(
        "coasting.coasting_time", "26.59396378", "s", "from 10 m/s to 5 m/s", lambda: coasting.coasting_time(110.0, A, B, 10.0, 5.0)
    ),
    _worked(
        "coasting.coasting_speed",
        "5",
        "m/s",
        "after 26.59396378 s",
        lambda: coasting.coasting_speed(A, B, 10.0, 26.59396378, 110.0),
    ),
    _worked(
        "coasting.coasting_time",
        "94.52568293",
        "s",
        "with two wheels of 0.11 kg m², radius 0.33 m",
        lambda: coasting.coasting_time(_HEAVY, A, B, 10.0, 0.0),
    ),
    _worked("coasting.equilibrium_speed", "10.69983699", "m/s", "400 W, level", lambda: coasting.equilibrium_speed(400.0, B, A)),
    _worked(
        "coasting.equilibrium_speed",
        "5.770093392",
        "m/s",
        "400 W, +5 %",
        lambda: coasting.equilibrium_speed(400.0, B, coasting.constant_force(110.0, 0.006, 0.05)),
    ),
    _worked("coasting.constant_force", "14.15896166", "m/s", "400 W, -3 %, by search", lambda: _steady(-0.03)),
    _worked("coasting.terminal_speed", "17.58867597", "m/s", "under 90 N", lambda: _terminal(DRIVEN)),
    _worked(
        "coasting.driven_speed",
        "7.154360037",
        "m/s",
        "under 90 N from rest, after 10 s",
        lambda: coasting.driven_speed(_terminal(DRIVEN), 0.0, 10.0, DRIVEN, 110.0),
    ),
    _worked(
        "coasting.driven_distance",
        "36.84317779",
        "m",
        "under 90 N from rest, after 10 s",
        lambda: coasting.driven_distance(110.0, _terminal(DRIVEN), DRIVEN, 10.0, 0.0),
    ),
    _worked(
        "coasting.terminal_speed",
        "11.65587612",
        "m/s",
        "terminal speed",
        lambda: _terminal(-float(coasting.constant_force(110.0, 0.006, -SINE4))),
        HILL,
    ),
    Check(
        "coasting.speed_after",
        "23.885",
        "s",
        FORUM,
        "first 100 m",
        work=_first_hundred,
        also=("coasting.coasting_time", *_BOTH),
        allowance=0.002 * 23.885,
        why="0.2 %: the density is not stated there; 1.220 is taken",
    ),
    Check(
        "coasting.terminal_speed",
        "225",
        "km/h",
        "intmath.com, a skydiver of 80 kg with a drag of 0.2 kg/m",
        "terminal speed",
        {"driving_force": 80.0 * 9.8, "air_factor": 0.2},
    ),
]

QFAK = "qfak.com 3583058: 53.0 km/h on the flat"
CBSE = "ask.learncbse.in 13959: a car of 1800 kg, axles 1.8 m apart, centre of gravity 1.05 m behind the front one, g 9.8 m/s²"
_STILL = {"reaction_time": 0.0, "speed": 53.0 / 3.6}
BEND = "physicsforums.com 174374: a bend of 20 m, track 1.3 m, centre of gravity at 0.6 m, grip 0.5, g 9.81 m/s²"
LOOP = "clay6.com 52661: a bend of 50 m, track 2 m, centre of gravity at 0.8 m, grip 0.4, g 9.81 m/s²"


def _tips(track: float, height: float, radius: float) -> float:
    return float(footing.tip_speed(footing.tip_acceleration(1.0, track, height, gravity=9.81), radius))


FOOTING = [
    Check(
        "footing.tip_speed",
        "14.58",
        "m/s",
        BEND,
        "overturns",
        work=lambda: _tips(1.3, 0.6, 20.0),
        also=("footing.tip_acceleration",),
    ),
    Check("footing.slide_speed", "9.9", "m/s", BEND, "skids", {"tyre_grip": 0.5, "gravity": 9.81, "turn_radius": 20.0}),
    Check(
        "footing.tip_speed",
        "24.76",
        "m/s",
        LOOP,
        "overturns",
        work=lambda: _tips(2.0, 0.8, 50.0),
        also=("footing.tip_acceleration",),
    ),
    Check("footing.slide_speed", "14", "m/s", LOOP, "slides", {"tyre_grip": 0.4, "gravity": 9.81, "turn_radius": 50.0}),
    Check(
        "footing.stopping_distance",
        "110.6",
        "m",
        QFAK,
        "grip 0.100",
        {**_STILL, "deceleration": 0.98},
        also=("footing.grip_deceleration",),
        table="stopping",
    ),
    Check("footing.stopping_distance", "18.4", "m", QFAK, "grip 0.600", {**_STILL, "deceleration": 5.88}, table="stopping"),
    Check(
        "footing.grip_deceleration",
        "7.8",
        "m/s**2",
        "hyperphysics (copy on 230nsc1.phy-astr.gsu.edu): car on a dry road",
        "grip 0.8",
        {"tyre_grip": 0.8, "slope": 0.0, "gravity": 9.8},
    ),
    Check("footing.rear_load", "5145", "N", CBSE, "each back wheel", table="axles", work=lambda: _rear() / 2),
    Check("footing.rear_load", "3675", "N", CBSE, "each front wheel", table="axles", work=lambda: (1800 * 9.8 - _rear()) / 2),
    Check(
        "footing.rear_traction",
        "2.82",
        "m/s**2",
        "wyzant.com 5249: 48 % of the weight on the driven rear wheels, grip 0.60, level",
        "acceleration, the shift of load left out",
        work=lambda: _light(0.48),
    ),
    Check(
        "footing.disc_rise",
        "32",
        "K",
        "solve.club: a car of 750 kg from 24 m/s, 15 kg of iron of 450 J/(kg K)",
        "rise",
        table="disc",
        inputs={"brake_heat": 0.5 * 750 * 24**2, "disc_mass": 15.0, "disc_heat": 450.0},
    ),
    Check(
        "footing.disc_rise",
        "270",
        "K",
        "senseofstudy.com: 1200 kg from 30 m/s, 4 kg of steel of 500 J/(kg K)",
        "rise",
        table="disc",
        inputs={"brake_heat": 0.5 * 1200 * 30**2, "disc_mass": 4.0, "disc_heat": 500.0},
    ),
]


def _rear() -> float:
    return float(footing.rear_load(1800.0, 1.05 / 1.8, 0.0, 0.5, 1.8, gravity=9.8))


def _light(share: float) -> float:
    return float(footing.rear_traction(0.60, 1.0, 1.0, share, 0.0, 1e-9, 2.5, gravity=9.8))


SHEET = "a cyclometer's list (copy on spudd64.com)"
THREE = "3 %: lists differ by up to 5 %, tyres and loads too"
_TYRES = (  # printed mm, width, bead, source, place
    ("2086", 20, 622, SHEET, "20-622"),
    ("2096", 23, 622, SHEET, "23-622"),
    ("2105", 25, 622, SHEET, "25-622"),
    ("2136", 28, 622, SHEET, "28-622"),
    ("2149", 28, 622, "another list, quoted on cyclingforums.com 283428", "28-622"),
    ("2133", 23, 622, "another list, quoted on cyclingforums.com 283428", "23-622"),
    ("2080", 23, 622, "rolled out with the rider on, 6 bar (forum.centos-webpanel.com 1746)", "23-622"),
    ("2133", 57, 559, "a third list, quoted on cyclechat.net 59728", "57-559"),
    ("1520", 44, 406, "a fourth list, in cm (forum.centos-webpanel.com 1746); 44-406 by a maker's list", "20 x 1.75"),
    ("2020", 44, 559, "a fourth list, in cm (forum.centos-webpanel.com 1746); 44-559 by a maker's list", "26 x 1.75"),
)
TYRES = [
    Check(
        "tyres.rolling_circumference",
        printed,
        "mm",
        source,
        place,
        {"bead_diameter": bead / 1e3, "tyre_width": width / 1e3},
        table="tyres",
        allowance=0.03 * float(printed),
        why=THREE,
    )
    for printed, width, bead, source, place in _TYRES
]

WHEELS = [
    Check(
        "road.effective_mass",
        "1.65",
        "kg",
        "a measured track bicycle (bicycleparameters 1.5), worked apart: 0.1062 kg m² on 0.334 m, 0.0764 kg m² on 0.332 m",
        "the wheels as a mass",
        kind="worked",
        work=lambda: road.effective_mass(0.0, 0.1062 / 0.334**2 + 0.0764 / 0.332**2, 0.0, 1.0, 0.33),
    ),
]

CHECKS = [*COASTING, *FOOTING, *TYRES, *WHEELS]
