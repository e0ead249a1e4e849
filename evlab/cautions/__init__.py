"""Rules that turn numbers into warnings, each with its source: danger before caution before note.

They inform; they do not certify.  A rule takes the case on a page (its vehicle, the values of the day, its result) and judges
what the page's pictures show.  It asks for names only, so this room knows none of them.

`Caution.fold` names a hazard that is always true: pages keep those folded, in one place.  `by_change` puts first what the last
control has brought up, and `gravest` gives the state of what is left unfolded.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from evlab.cautions.caution import STATES, UNMEASURED, Caution, by_change, gravest
from evlab.cautions.charge_rules import CHARGE_RULES
from evlab.cautions.gear_rules import GEAR_RULES
from evlab.cautions.magnet_rules import MAGNET_RULES
from evlab.cautions.regen_rules import REGEN_RULES
from evlab.cautions.ride_rules import RIDE_RULES
from evlab.cautions.road_rules import ROAD_RULES, TRIP_RULES
from evlab.cautions.store_case_rules import STORE_CASE_RULES
from evlab.cautions.store_rules import STORE_RULES
from evlab.cautions.vehicle_rules import TESTS, VEHICLE_RULES, ranges
from evlab.cautions.winding_rules import WINDING_RULES

__all__ = ["STATES", "TESTS", "UNMEASURED", "Caution", "by_change", "gravest", "of_charge", "of_gearing", "of_magnets",
           "of_regeneration", "of_ride", "of_road", "of_store", "of_trip", "of_vehicle", "of_winding"]


def of_vehicle(vehicle: Any, also: Iterable[Caution] = ()) -> list[Caution]:
    """All cautions of a vehicle as it stands, and those that another room found of it (`also`); the worst first."""
    made = [c for rule in STORE_RULES for c in rule(vehicle)]
    made += [*also, *(c for rule in VEHICLE_RULES for c in rule(vehicle))]
    told = {c.field for c in made if c.state != "note"}
    return _ordered([*made, *(c for c in ranges(vehicle) if c.field not in told)])


def of_store(case: Any, also: Iterable[Caution] = ()) -> list[Caution]:
    """All cautions of one store's case, as its pictures show it, then its vehicle's; the worst first.

    `also`, what another room found of the case's short circuit; it stands for that of the vehicle.
    """
    return _ordered([*(c for rule in STORE_CASE_RULES for c in rule(case)), *of_vehicle(case.vehicle, also)])


def of_ride(result: Any) -> list[Caution]:
    """All cautions of a ride: what happened on it, then its vehicle's; the worst first."""
    return _ordered([*(c for rule in RIDE_RULES for c in rule(result)), *result.vehicle.cautions])


def of_charge(result: Any) -> list[Caution]:
    """All cautions of a charge: what happened in it, then its vehicle's; the worst first."""
    return _ordered([*(c for rule in CHARGE_RULES for c in rule(result)), *result.vehicle.cautions])


def of_trip(case: Any) -> list[Caution]:
    """All cautions of the brief of one trip, then its vehicle's; the worst first."""
    return _ordered([*(c for rule in TRIP_RULES for c in rule(case)), *case.vehicle.cautions])


def of_road(case: Any) -> list[Caution]:
    """All cautions of one vehicle on one road and day, then its vehicle's; the worst first."""
    return _ordered([*(c for rule in ROAD_RULES for c in rule(case)), *case.vehicle.cautions])


def of_gearing(case: Any) -> list[Caution]:
    """All cautions of one gearing on one route, then its vehicle's; the worst first."""
    return _ordered([*(c for rule in GEAR_RULES for c in rule(case)), *case.vehicle.cautions])


def of_regeneration(case: Any) -> list[Caution]:
    """All cautions of braking with the motor, then its vehicle's; the worst first."""
    return _ordered([*(c for rule in REGEN_RULES for c in rule(case)), *case.vehicle.cautions])


def of_magnets(case: Any) -> list[Caution]:
    """All cautions of a motor's magnets, the worst first; its vehicle's stand on the other pages."""
    return _ordered([c for rule in MAGNET_RULES for c in rule(case)])


def of_winding(case: Any) -> list[Caution]:
    """All cautions of a motor's winding, the worst first; those of its magnets stand on their own page."""
    return _ordered([c for rule in WINDING_RULES for c in rule(case)])


def _ordered(cautions: Iterable[Caution]) -> list[Caution]:
    return sorted(cautions, key=lambda c: STATES.index(c.state))
