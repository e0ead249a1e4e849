"""One ride and what can be asked of it afterwards: what would have saved it, what breaks it, how sure it is."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import Any

from evlab.exploring import Band, tolerance_band
from evlab.hardships import HardDays, hard_days
from evlab.remedies import Changes, nearest_changes
from evlab.riding import Result, ride
from evlab.route_files import load_route
from evlab.units import made_by
from evlab.winds import AnyWind, read_wind

__all__ = ["RideCase", "warmed"]

PATIENCE = 1200.0  # s of riding
LONG_WAY = ("load.cargo", "road.rolling_coefficient", "driver.pedalling_power")


def warmed(result: Result) -> float | None:
    """The temperature of a ride's winding at its start [K]; None if it was as warm as the air.

    Parameters: `result`, of evlab.ride.
    """
    began = float(result.column("coil_temperature")[0])
    return None if abs(began - result.vehicle.road.air_temperature) < 1e-6 else began


class RideCase:
    """One vehicle on one way on one day; each piece is worked out when it is first read.

    Parameters: `vehicle`; `route`, a Route or the name of one; `start`, `wind`, `driver` and `winding` as of a ride.

    Attributes: `result`, the ride; `changes`, the nearest single changes; `hard_days`, the table of what breaks it; `reason`.
    """

    def __init__(self, vehicle: Any, route: Any, *, start: Any = None, wind: str | AnyWind = 0.0, driver: Any = None,
                 winding: float | str | None = None) -> None:
        made_by("vehicle of RideCase", vehicle, "effective_mass", "evlab.load_vehicle()")
        self.vehicle, self.route = vehicle, load_route(route) if isinstance(route, str) else route
        made_by("route of RideCase", self.route, "nodes", "evlab.load_route() or evlab.Route.from_segments()")
        self.start, self.wind, self.driver, self.winding = start, read_wind(wind, "RideCase"), driver, winding

    @classmethod
    def around(cls, result: Result) -> RideCase:
        """The case of a ride that has been ridden, from a rested store."""
        start = None if result.vehicle.store.kind == "supply" else result.start_voltage
        case = cls(result.vehicle, result.route, start=start, wind=result.wind,
                   driver=None if result.driver is result.vehicle.driver else result.driver, winding=warmed(result))
        case.__dict__["result"] = result
        return case

    @cached_property
    def result(self) -> Result:
        return ride(self.vehicle, self.route, start=self.start, wind=self.wind, driver=self.driver, winding=self.winding)

    @cached_property
    def changes(self) -> Changes:
        """Of a way that takes long to ride, only the first few quantities: each is some dozen rides."""
        return nearest_changes(self.result, LONG_WAY if self.route.posted_time() > PATIENCE else None)

    @cached_property
    def hard_days(self) -> HardDays:
        return hard_days(self.vehicle, self.route, start=self.start, wind=self.wind, driver=self.driver, winding=self.winding)

    def band(self, runs: int = 200, seed: int = 1, progress: Callable[[int, int], None] | None = None) -> Band:
        """The tolerance band of this ride; see evlab.tolerance_band."""
        return tolerance_band(self.vehicle, self.route, runs=runs, seed=seed, start=self.start, wind=self.wind, driver=self.driver,
                              winding=self.winding, progress=progress)

    @property
    def cautions(self) -> list[Any]:
        return self.result.cautions

    @property
    def reason(self) -> str:
        """What ended it, and what would have saved it."""
        r = self.result
        return r.reason if r.outcome == "arrived" else f"{r.reason} {self.changes.reason}"

    def _repr_html_(self) -> str:
        return self.result._repr_html_()

    def __repr__(self) -> str:
        return f"<{self.reason}>"
