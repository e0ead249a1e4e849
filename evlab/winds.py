"""The wind along a way: steady, from a bearing, or one that changes at places."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, TypeAlias

from evlab.glossary import Entry, entry
from evlab.units import InputError, si, told

__all__ = ["AnyWind", "Wind", "WindAlong", "read_wind", "steady_wind"]

_BEARING = Entry("bearing", "", "angle", "Bearing", "way the road points, clockwise from north")
STORM = 40.0  # m/s: nobody rides in more


@dataclass(frozen=True)
class Wind:
    """A steady wind: speed [m/s] and the bearing it comes from [rad, or text like '270 deg'], clockwise from north."""

    speed: float
    from_bearing: float | str

    @property
    def bearing(self) -> float:
        return si(self.from_bearing, _BEARING, "from_bearing of Wind")


@dataclass(frozen=True)
class WindAlong:
    """Wind against the way of travel that changes along the way: `rows` of (place [m], head wind [m/s]), text with units or
    SI, each wind from its place on; the first at 0 m.  Below zero it pushes."""

    rows: Any

    def __post_init__(self) -> None:
        given = self.rows if isinstance(self.rows, Iterable) and not isinstance(self.rows, str) else ()
        rows = tuple(_row(row, i) for i, row in enumerate(given, 1))
        if not rows or rows[0][0] != 0 or any(b <= a for (a, _), (b, _) in pairwise(rows)):
            raise InputError("Input rows of WindAlong must be (place, head wind), the first at 0 m and each place behind the one "
                             f"before; instead received {told(self.rows)}.")
        object.__setattr__(self, "rows", rows)

    @property
    def places(self) -> list[float]:
        """Where it changes [m]."""
        return [place for place, _ in self.rows[1:]]

    def at(self, place: float) -> float:
        """The head wind at a place [m/s]."""
        return float([wind for start, wind in self.rows if start <= place + 1e-9][-1])


def _row(row: Any, number: int) -> tuple[float, float]:
    if not isinstance(row, Sequence) or isinstance(row, str) or len(row) != 2:
        raise InputError(f"Input row {number} of WindAlong must be (place, head wind); instead received {told(row)}.")
    place = si(row[0], entry("distance"), f"place in row {number} of WindAlong")
    wind = si(row[1], entry("head_wind"), f"head wind in row {number} of WindAlong")
    if place < 0 or abs(wind) > STORM:
        raise InputError(f"Input row {number} of WindAlong must be a place of 0 m or more and a wind of at most {STORM:g} m/s; "
                         f"instead received {place:g} m, {wind:g} m/s.")
    return place, wind


AnyWind: TypeAlias = float | Wind | WindAlong


def steady_wind(wind: Any, what: str) -> float | Wind:
    """A wind that is the same all the way, as `what` takes it."""
    if isinstance(wind, WindAlong):
        raise InputError(f"Input wind of {what} must be a wind that is the same all the way, like '3 m/s' or "
                         "evlab.Wind(3.0, '270 deg'); instead received an evlab.WindAlong.")
    got = read_wind(wind, what)
    assert not isinstance(got, WindAlong)
    return got


def read_wind(wind: Any, what: str) -> AnyWind:
    """A wind as a ride takes it (`what`): an object as it is, a number or text as m/s against the way of travel."""
    if isinstance(wind, WindAlong):
        return wind
    speed = si(wind.speed if isinstance(wind, Wind) else wind, entry("head_wind"), f"wind of {what}")
    if abs(speed) > STORM:
        raise InputError(f"Input wind of {what} must be at most {STORM:g} m/s, a storm; instead received {speed:g} m/s.")
    return wind if isinstance(wind, Wind) else speed
