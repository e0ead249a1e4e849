"""Room in the store for a descent: with how many volts at the top the motor can brake to the foot."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from evlab.exploring import STEP
from evlab.hill_test import empty_volts, falling_part
from evlab.riding import Journey, Result
from evlab.route import Route
from evlab.units import InputError

__all__ = ["DescentRoom", "volts_with_room"]

SPILL = 0.5  # J more in the friction brake than from an empty store: it was full


class DescentRoom:
    """What a descent would give back, and the room that it needs, found on the ride: slow branches and ohms fill a store before its
    energy does.

    Parameters: `vehicle`; `route`, whose falling part is ridden.

    Attributes: `hill`, that part; `height` [m]; `rolls`, whether the vehicle rolls on it by itself (else the whole route stands
    for it, and nothing comes back); `gain` [J] from an empty store; `start_volts` [V].
    """

    def __init__(self, vehicle: Any, route: Route) -> None:
        self.vehicle = vehicle
        try:
            self.hill, self.rolls = falling_part(route, vehicle.road.rolling_coefficient), True
        except InputError:
            self.hill, self.rolls = route, False

    @property
    def height(self) -> float:
        """From top to foot [m]."""
        return float(-self.hill.heights[-1])

    @cached_property
    def _journey(self) -> Journey:
        return Journey(self.vehicle, self.hill, 0.0, self.vehicle.driver, None, STEP)

    @cached_property
    def _empty(self) -> Result:
        """The descent begun empty."""
        return self._journey.go(empty_volts(self.vehicle))

    @cached_property
    def gain(self) -> float:
        return max(-self._empty.store_energy, 0.0) if self.rolls else 0.0

    @cached_property
    def overflows(self) -> bool:
        """Whether not even an empty store has room for it."""
        return self.rolls and any(s.by == "full store" for s in self._empty.held)

    def fits(self, volts: float) -> bool:
        """Whether a descent begun with these volts [V] leaves room to the foot."""
        if self.gain <= 0 or volts <= empty_volts(self.vehicle):
            return not self.overflows
        down = self._journey.sketch(volts)
        return down.trusted and not self.overflows and -down.ledger["brake"] <= -self._empty.ledger["brake"] + SPILL

    @cached_property
    def start_volts(self) -> float:
        """The highest volts at the top from which all of it fits in [V]; 0 where it never does."""
        low, high = empty_volts(self.vehicle), volts_with_room(self.vehicle.store, self.gain)
        if self.gain <= 0:
            return float(self.vehicle.store.full_voltage)
        if self.overflows or high <= low:
            return 0.0
        while high - low > 0.01:
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self.fits(middle) else (low, middle)
        return low


def volts_with_room(store: Any, gain: float) -> float:
    """Rested volts from which this much more energy [J] just fills a store [V]; 0 where not even an empty one has the room."""
    from scipy.optimize import brentq

    full = store.energy(store.full_state())

    def room(share: float) -> float:
        return float(full - store.energy(store.state_at_share(share)) - gain)

    if gain <= 0:
        return float(store.full_voltage)
    return float(store.open_voltage(store.state_at_share(brentq(room, 1e-3, 1.0)))) if room(1e-3) > 0 else 0.0
