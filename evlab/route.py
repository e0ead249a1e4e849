"""The road ahead: segments with blended slopes, posted speeds, stops.

A slope is rise over level distance (tan); places are metres along the road, so a metre of road of slope s rises
sin(arctan s) metres.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from evlab import data
from evlab.glossary import Entry, nearest
from evlab.units import InputError, si

__all__ = ["Route", "Segment", "Wind", "load_route"]

STEEP = 0.01  # a posted speed holds where the slope first exceeds 1 %: the foot of a ramp, not the start of its blend
_LENGTH = Entry("length", "", "length", "Length", "length of the segment along the road", "chosen", positive=True)
_SLOPE = Entry("slope", "", "none", "Slope", "rise over level distance")
_SPEED = Entry("speed", "", "speed", "Speed", "posted speed", "chosen", positive=True)
_BLEND = Entry("blend", "", "length", "Blend", "length over which one slope passes into the next", "chosen")
_AT = Entry("at", "", "length", "At", "place along the road")
_WAIT = Entry("wait", "", "time", "Wait", "time at rest")
_BEARING = Entry("bearing", "", "angle", "Bearing", "way the road points, clockwise from north")


@dataclass(frozen=True)
class Segment:
    """A stretch of road: length [m], slope (tan), posted speed [m/s], bearing [rad] or None."""

    length: float
    slope: float
    speed: float
    bearing: float | None = None


@dataclass(frozen=True)
class Wind:
    """A steady wind: speed [m/s] and the bearing it comes from [rad, or text like '270 deg'], clockwise from north."""

    speed: float
    from_bearing: float | str

    @property
    def bearing(self) -> float:
        return si(self.from_bearing, _BEARING, "from_bearing of Wind")


class Route:
    """A route ready to ride: nodes between which the slope is linear, exact heights, posted speeds, stops.

    `nodes` [m], `slopes` (tan), `heights` [m], `bearings` [rad or nan] are arrays of one length; `limits` is a list of
    (place [m], speed [m/s]); `stops` a list of (place [m], wait [s]).
    """

    def __init__(self, nodes: Any, slopes: Any, limits: Sequence[tuple[float, float]], *, stops: Sequence[tuple[float, float]] = (),
                 bearings: Any = None, name: str = "a route", segments: Sequence[Segment] = (), blend: float = 2.0) -> None:
        self.nodes, self.slopes = np.asarray(nodes, float), np.asarray(slopes, float)
        self.limits, self.stops = list(limits), list(stops)
        self.bearings = np.full(len(self.nodes), np.nan) if bearings is None else np.asarray(bearings, float)
        self.name, self.segments, self.blend = name, tuple(segments), blend
        rise = np.diff(self.nodes) * (self.slopes[:-1] + self.slopes[1:]) / (
            np.sqrt(1 + self.slopes[:-1] ** 2) + np.sqrt(1 + self.slopes[1:] ** 2))
        self.heights = np.concatenate([[0.0], np.cumsum(rise)])

    def __repr__(self) -> str:
        rise = float(self.heights[-1])
        goes = "rises" if rise >= 0 else "falls"
        return f"<Route {self.name}: {self.length:g} m, {goes} {abs(rise):.2f} m, {len(self.stops)} stops>"

    @property
    def length(self) -> float:
        """Way from start to end [m]."""
        return float(self.nodes[-1])

    def slope(self, place: Any) -> Any:
        """Slope (tan) at a place [m], or at an array of them."""
        return np.interp(place, self.nodes, self.slopes)

    def height(self, place: Any) -> Any:
        """Height [m] above the start at a place [m] (or array): the exact integral of the blended slope."""
        s = np.asarray(place, float)
        i = np.clip(np.searchsorted(self.nodes, s, side="right") - 1, 0, len(self.nodes) - 2)
        first, here = self.slopes[i], self.slope(s)
        made = self.heights[i] + (s - self.nodes[i]) * (first + here) / (np.sqrt(1 + first**2) + np.sqrt(1 + here**2))
        return float(made) if made.ndim == 0 else made

    def falls_after(self, place: float) -> bool:
        """Whether the road goes down (more than 1 %) just behind a place [m]."""
        i = int(np.searchsorted(self.nodes, place + 1e-9, side="right"))
        ahead = self.slopes[min(i, len(self.slopes) - 1)]
        return bool(ahead < -STEEP)

    def head_winds(self, wind: float | Wind) -> tuple[Any, Any]:
        """Wind against the way of travel and across it [m/s], from each node to the next."""
        if not isinstance(wind, Wind):
            return np.full(len(self.nodes), float(wind)), np.zeros(len(self.nodes))
        if np.isnan(self.bearings).any():
            raise InputError(f"Input wind of ride must be metres per second against the way of travel, since {self.name} "
                             "has no bearings; instead received a Wind with a bearing. Give its segments a bearing, "
                             "like bearing = \"45 deg\".")
        angle = wind.bearing - self.bearings
        return wind.speed * np.cos(angle), wind.speed * np.sin(angle)

    def posted_time(self) -> float:
        """Time at the posted speeds [s], with the stops: a yardstick, nobody rides it so."""
        ends = [place for place, _ in self.limits[1:]] + [self.length]
        return sum((end - place) / v for (place, v), end in zip(self.limits, ends, strict=True)) + sum(w for _, w in self.stops)

    def reversed(self) -> Route:
        """The same road the other way: slopes change sign, each stretch keeps its posted speed."""
        ends = [*(place for place, _ in self.limits[1:]), self.length]
        limits = [(self.length - end, v) for (_, v), end in reversed(list(zip(self.limits, ends, strict=True)))]
        stops = [(self.length - place, wait) for place, wait in reversed(self.stops)]
        turned = np.concatenate([self.bearings[-2::-1], self.bearings[:1]]) + math.pi  # a bearing belongs to the way ahead
        return Route(self.length - self.nodes[::-1], -self.slopes[::-1] + 0.0, limits, stops=stops, bearings=turned,
                     name=f"{self.name}, reversed", blend=self.blend)

    @classmethod
    def from_segments(cls, segments: Iterable[Any], *, blend: float | str = 2.0, stops: Iterable[Any] = (),
                      name: str = "a route") -> Route:
        """A route from (length, slope, speed) or (length, slope, speed, bearing): text with units, or m, fraction, m/s.

        `blend` is the length behind each joint over which the slope passes into the next one; `stops` are (place, wait).
        Raises InputError in words for a length of zero or less, a slope beyond 100 %, or a joint shorter than its blend.
        """
        made = [_segment(row, i, name) for i, row in enumerate(segments, 1)]
        if not made:
            raise InputError(f"Input segments of {name} must be at least one segment; instead received none.")
        over = si(blend, _BLEND, f"blend of {name}")
        if over < 0:
            raise InputError(f"Input blend of {name} must be zero or more; instead received {over:g} m.")
        nodes, slopes, bearings, limits = [0.0], [made[0].slope], [made[0].bearing], [(0.0, made[0].speed)]
        joint = 0.0
        for i, (before, after) in enumerate(pairwise(made), 1):
            joint += before.length
            if after.slope != before.slope:
                if over > after.length:
                    raise InputError(f"Input length of segment {i + 1} of {name} must be at least its blend of {over:g} m; "
                                     f"instead received {after.length:g} m.")
                nodes += [joint, joint + over]
                slopes += [before.slope, after.slope]
                bearings += [after.bearing, after.bearing]
            elif after.bearing != before.bearing:
                nodes, slopes, bearings = [*nodes, joint], [*slopes, after.slope], [*bearings, after.bearing]
            if after.speed != before.speed:
                limits.append((joint + over * _steep_point(before.slope, after.slope), after.speed))
        length = joint + made[-1].length
        return cls([*nodes, length], [*slopes, made[-1].slope], limits, stops=_stops(stops, length, name), name=name,
                   bearings=[math.nan if b is None else b for b in (*bearings, made[-1].bearing)], segments=made, blend=over)


def _steep_point(before: float, after: float) -> float:
    """The share of a blend after which the steepness crosses 1 %; 0 where it does not."""
    low, high = sorted((abs(before), abs(after)))
    if not low <= STEEP < high or before == after:
        return 0.0
    side = max((before, after), key=abs)
    return (math.copysign(STEEP, side) - before) / (after - before)


def _segment(row: Any, i: int, name: str) -> Segment:
    if isinstance(row, Segment):
        return row
    if not isinstance(row, Sequence) or isinstance(row, str) or len(row) not in (3, 4):
        raise InputError(f"Input segment {i} of {name} must be (length, slope, speed), a bearing may follow; "
                         f"instead received {row!r}.")
    length, slope, speed = (si(row[k], e, f"{e.name} of segment {i} of {name}") for k, e in enumerate((_LENGTH, _SLOPE, _SPEED)))
    for value, e in ((length, _LENGTH), (speed, _SPEED)):
        if value <= 0:
            raise InputError(f"Input {e.name} of segment {i} of {name} must be above zero; instead received {value:g} {e.unit}.")
    if abs(slope) > 1:
        raise InputError(f"Input slope of segment {i} of {name} must be between -100 % and 100 %; "
                         f"instead received {100 * slope:g} %.")
    return Segment(length, slope, speed, si(row[3], _BEARING, f"bearing of segment {i} of {name}") if len(row) == 4 else None)


def _stops(rows: Iterable[Any], length: float, name: str) -> list[tuple[float, float]]:
    made = sorted((si(at, _AT, f"at of a stop of {name}"), si(wait, _WAIT, f"wait of a stop of {name}")) for at, wait in rows)
    for at, wait in made:
        if not 0 < at < length or wait < 0:
            raise InputError(f"Input stop of {name} must lie between 0 m and {length:g} m and wait 0 s or more; "
                             f"instead received {at:g} m, {wait:g} s.")
    return made


# ---------------------------------------------------------------- files
_KEYS = {"": ("format", "name", "note", "invented", "blend", "segment", "stop"), "segment": ("length", "slope", "speed", "bearing"),
         "stop": ("at", "wait")}


def load_route(name_or_path: str | Path) -> Route:
    """A route from data/routes by its name, or from a TOML file by its path.

    Raises FileNotFoundError with the names there are, or InputError in words for a file that cannot be used.
    """
    path = Path(name_or_path)
    if path.suffix != ".toml":
        known = [n[7:-5] for n in data.names() if n.startswith("routes/") and n.endswith(".toml")]
        if str(name_or_path) not in known:
            raise FileNotFoundError(f"There is no route {str(name_or_path)!r}.{nearest(name_or_path, known)} "
                                    f"Ours: {', '.join(known)}. Your own: give the path of a .toml file.")
        return _from_toml(data.read_text(f"routes/{name_or_path}.toml").encode(), f"{name_or_path}.toml")
    if not path.is_file():
        raise FileNotFoundError(f"There is no route file {str(path)!r}; ours, like two_sheds_up, are given by name.")
    return _from_toml(path.read_bytes(), path.name)


def _from_toml(raw: bytes, name: str) -> Route:
    if len(raw) > 1_000_000:
        raise InputError(f"{name} must be smaller than 1 MB; instead it has {len(raw) / 1e6:.1f} MB. Is it a route?")
    try:
        book = tomllib.loads(raw.decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as wrong:
        raise InputError(f"{name} must be a TOML file of a route; instead: {wrong}.") from None
    _known(book, "", name)
    if book.get("format") != 1:
        raise InputError(f"{name} must say format = 1 at its top; instead received {book.get('format')!r}.")
    rows = [[row[k] for k in _KEYS["segment"] if k in row] for row in _tables(book, "segment", ("length", "slope", "speed"), name)]
    stops = [(row["at"], row.get("wait", "0 s")) for row in _tables(book, "stop", ("at",), name)]
    return Route.from_segments(rows, blend=book.get("blend", 2.0), stops=stops, name=str(book.get("name", name)))


def _tables(book: Mapping[str, Any], which: str, needed: tuple[str, ...], name: str) -> list[Mapping[str, Any]]:
    """The [[segment]] or [[stop]] tables of a file; each must have what it needs, and nothing unknown."""
    rows = book.get(which, [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise InputError(f"{name}: {which} must be tables, each headed [[{which}]]; instead received {rows!r}.")
    for i, row in enumerate(rows, 1):
        _known(row, which, name)
        missing = [key for key in needed if key not in row]
        if missing:
            raise InputError(f"{name}, [[{which}]] number {i}: it lacks {' and '.join(missing)}; it needs {', '.join(needed)}.")
    return rows


def _known(table: Mapping[str, Any], which: str, name: str) -> None:
    for key in table:
        if key not in _KEYS[which]:
            where = f"[[{which}]]" if which else "the top"
            raise InputError(f"{name}, {where}: there is no key {key!r}.{nearest(key, _KEYS[which])} "
                             f"Known: {', '.join(_KEYS[which])}.")
