"""Road loads of bicycles and trucks as printed: Martin et al. 1998, Sports Engineering 2021, a handbook of rigging."""

from __future__ import annotations

from evlab import road

from . import Check, si_of

SPORTS = "Sports Engineering (2021), doi 10.1007/s12283-021-00345-2, table 1"
MARTIN = "Martin et al., J. Appl. Biomech. 14 (1998) 276-291 (bearing term from memory)"
SLOPE = "0.25 %: the source does not say whether 7.5 % is a sine or a tangent"


def _racing(bearings: bool) -> float:
    """72 kg up 7.5 % at 6 m/s through a chain of 98 %: watts at the crank."""
    force = (
        road.rolling_force(72.0, 0.0032, 0.075, 1.0) + road.slope_force(72.0, 0.075) + road.air_force(1.225, 0.473, 6.0, 0.0, 0.0)
    )
    if bearings:
        force += road.bearing_force(0.091, 0.0087, 6.0, 1.0)
    return float(road.wheel_power(road.energy_per_distance(force, 0.98), 6.0))


_DRIVE = ("road.slope_force", "road.air_force", "road.rolling_force", "road.energy_per_distance")

CHECKS = [
    Check(
        "road.wheel_power",
        "401.67",
        "W",
        SPORTS,
        "6 m/s, 7.5 %, 72 kg, C_rr 0.0032, C_dA 0.473, chain 98 %",
        table="racing",
        work=lambda: _racing(False),
        also=_DRIVE,
        allowance=0.0025 * 401.67,
        why=SLOPE,
    ),
    Check(
        "road.bearing_force",
        "402.55",
        "W",
        SPORTS + " with Martin's bearing term (91 + 8.7 v)e-3",
        "the same with bearings",
        table="racing",
        work=lambda: _racing(True),
        also=_DRIVE,
        allowance=0.0025 * 402.55,
        why=SLOPE,
    ),
    Check(
        "road.bearing_force",
        "0.88",
        "W",
        SPORTS + ", difference of the two rows",
        "what the bearings take at the crank",
        table="racing",
        work=lambda: _racing(True) - _racing(False),
        allowance=0.01,
        why="the difference of two rounded values",
    ),
    Check(
        "gearing.drive_force",
        "14253",
        "lbf",
        "Bechtel rigging handbook, 2nd edition, section 6.5 (copy on scribd 432584157): 606 lb-ft x 0.85, "
        "ratio 52.9, efficiency 0.85, radius 19.5 in",
        "tractive effort",
        table="tractive effort",
        inputs={
            "shaft_torque": si_of(606.0 * 0.85, "lbf*ft"),
            "gear_ratio": 52.9,
            "chain_efficiency": 0.85,
            "wheel_radius": si_of(19.5, "inch"),
        },
    ),
]
