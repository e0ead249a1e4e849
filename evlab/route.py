"""The road ahead: segments with blended slopes, posted speeds, stops.

A slope is rise over level distance (tan); places are metres along the road, so a metre of road of slope s rises
sin(arctan s) metres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np

from evlab.glossary import Entry
from evlab.profiles import MOST, smooth_profile
from evlab.units import InputError, si, told
from evlab.winds import AnyWind, Wind, WindAlong

__all__ = ["STEEPEST", "Route", "Segment", "Tale"]

STEEPEST = 0.6  # tan: no road is steeper, so a file that says so is wrong
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
class Tale:
    """How a track became a route: `repairs` in words, `raw` and `recorded` as in Route, `smoothing` [m]."""

    repairs: tuple[str, ...] = ()
    raw: tuple[Any, Any] | None = None
    smoothing: float = 0.0
    recorded: tuple[Any, Any] | None = None


class Route:
    """A route ready to ride: nodes between which the slope is linear, exact heights, posted speeds, stops.

    `nodes` [m], `slopes` (tan), `heights` [m], `bearings` [rad or nan] are arrays of one length; `limits` is a list of
    (place [m], speed [m/s]); `stops` a list of (place [m], wait [s]); `chargers` the places [m] at which a charger stands, with
    the longest time there in `waits` {place: s, 0 for until it is full}.  Of a track: `repairs`, sentences about what was mended
    on reading; `raw`, (distance, height) [m] before smoothing, or None; `smoothing` [m]; `recorded`, (distance [m], speed [m/s])
    or None.
    """

    def __init__(self, nodes: Any, slopes: Any, limits: Sequence[tuple[float, float]], *, stops: Sequence[tuple[float, float]] = (),
                 bearings: Any = None, name: str = "a route", segments: Sequence[Segment] = (), blend: float = 2.0,
                 chargers: Mapping[float, float] | None = None, tale: Tale | None = None) -> None:
        self.nodes, self.slopes = np.asarray(nodes, float), np.asarray(slopes, float)
        self.limits, self.stops = list(limits), list(stops)
        self.bearings = np.full(len(self.nodes), np.nan) if bearings is None else np.asarray(bearings, float)
        self.name, self.segments, self.blend = name, tuple(segments), blend
        self.waits = dict(sorted((chargers or {}).items()))
        self.chargers = tuple(self.waits)
        self.tale = tale or Tale()
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

    repairs = property(lambda self: self.tale.repairs)
    raw = property(lambda self: self.tale.raw)
    smoothing = property(lambda self: self.tale.smoothing)
    recorded = property(lambda self: self.tale.recorded)

    @property
    def climb(self) -> float:
        """All that goes up [m], whatever comes down again."""
        return float(np.maximum(self._rises, 0.0).sum())

    @property
    def descent(self) -> float:
        """All that goes down [m], a positive number."""
        return float(np.maximum(-self._rises, 0.0).sum())

    @property
    def raw_climb(self) -> float:
        """All that goes up before smoothing [m]: noise counts as hills there."""
        return self.climb if self.raw is None else float(np.maximum(np.diff(self.raw[1]), 0.0).sum())

    @property
    def _rises(self) -> Any:
        """Rises from each node, or change from up to down between two, to the next [m]."""
        a, b = self.slopes[:-1], self.slopes[1:]
        turns = np.flatnonzero(a * b < 0)
        tops = self.nodes[turns] + np.diff(self.nodes)[turns] * a[turns] / (a[turns] - b[turns])
        return np.diff(self.height(np.sort(np.concatenate([self.nodes, tops]))))

    def steepest(self, over: float = 20.0) -> tuple[float, float]:
        """The steepest climb: (place of its middle [m], slope (tan)), as a mean over a stretch [m]; below zero if all goes down."""
        over = min(over, self.length)
        starts = np.unique(np.clip(np.concatenate([self.nodes, self.nodes - over, [0.0]]), 0.0, self.length - over))
        sines = (self.height(starts + over) - self.height(starts)) / over
        i = int(np.argmax(sines))
        return float(starts[i]) + over / 2, float(sines[i] / math.sqrt(max(1 - sines[i] ** 2, 1e-12)))

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

    def head_winds(self, wind: AnyWind) -> tuple[Any, Any]:
        """Wind against the way of travel and across it [m/s], from each node to the next; see also with_nodes."""
        if isinstance(wind, WindAlong):
            return np.array([wind.at(place) for place in self.nodes]), np.zeros(len(self.nodes))
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

    # ------------------------------------------------------------ other routes out of this one
    @classmethod
    def from_profile(cls, distance: Any, heights: Any, *, speed: Any = 5.0, smoothing: float | str = 40.0, bearings: Any = None,
                     name: str = "a track", repairs: Sequence[str] = (), recorded: Any = None) -> Route:
        """A route from heights along a way.

        Parameters: `distance` [m], rising from 0; `heights` [m] there; `speed`, the posted one (m/s or text), or
        (place, speed) pairs; `smoothing`, over which heights are evened out (m or text); `bearings` [rad] of the way ahead of each
        place; `name`, `repairs` and `recorded` as in Route.  Raises InputError for a way that does not go on, or slopes over 60 %.
        """
        d, h = np.asarray(distance, float), np.asarray(heights, float)
        if d.ndim != 1 or d.shape != h.shape or len(d) < 2 or not np.isfinite(d).all() or not np.isfinite(h).all():
            raise InputError(f"Input distance and heights of {name} must be two or more finite numbers each; instead received "
                             f"{d.size} and {h.size}.")
        if d[0] != 0 or (back := np.flatnonzero(np.diff(d) <= 0)).size:
            at = 0 if d[0] != 0 else int(back[0]) + 1
            raise InputError(f"Input distance of {name} must begin at 0 m and grow from row to row; instead row "
                             f"{at + 1} says {d[at]:g} m.")
        over = si(smoothing, _LENGTH, f"smoothing of {name}")
        if not 0 <= over <= 10_000:
            raise InputError(f"Input smoothing of {name} must be 0 m to 10 000 m; instead received {smoothing!r}.")
        over = max(over, float(d[-1]) / (2 * MOST)) if over else 0.0  # no finer than the places a road may have
        places, _, slopes = smooth_profile(d, h, over)
        if abs(slopes).max() > STEEPEST:
            i = int(abs(slopes).argmax())
            steep = f"{100 * slopes[i]:.0f} %" if abs(slopes[i]) < 5 else "more than 500 %"
            raise InputError(f"Input heights of {name} must make no slope beyond 60 %, steeper than any road; instead "
                             f"{steep} come out at {places[i]:.0f} m, smoothed over {over:g} m. Is the height in "
                             "metres, or the smoothing too short?")
        limits = [(0.0, speed)] if isinstance(speed, str) or np.ndim(speed) == 0 else list(speed)
        posted = [(float(at), _posted(v, name)) for at, v in limits]
        heading = None if bearings is None else np.asarray(bearings, float)[
            np.clip(np.searchsorted(d, places, side="right") - 1, 0, len(d) - 1)]
        return cls(places, slopes, posted, bearings=heading, name=name, blend=over,
                   tale=Tale(tuple(repairs), (d, h - h[0]), over, recorded))

    def reversed(self) -> Route:
        """The same road the other way: slopes change sign, each stretch keeps its posted speed."""
        ends = [*(place for place, _ in self.limits[1:]), self.length]
        limits = [(self.length - end, v) for (_, v), end in reversed(list(zip(self.limits, ends, strict=True)))]
        stops = [(self.length - place, wait) for place, wait in reversed(self.stops)]
        turned = np.concatenate([self.bearings[-2::-1], self.bearings[:1]]) + math.pi  # a bearing belongs to the way ahead
        raw = None if self.raw is None else (self.length - self.raw[0][::-1], self.raw[1][::-1])
        return Route(self.length - self.nodes[::-1], -self.slopes[::-1] + 0.0, limits, stops=stops, bearings=turned,
                     name=f"{self.name}, reversed", blend=self.blend, tale=replace(self.tale, raw=raw, recorded=None),
                     chargers={self.length - place: wait for place, wait in self.waits.items()})

    def then(self, other: Route, name: str = "", wait: float | str | None = 0.0) -> Route:
        """This route and then another; `wait` [s] at rest where they meet, None to ride through."""
        end, told = self.length, name or f"{self.name}, then {other.name}"
        between = [] if wait is None else [(end, si(wait, _WAIT, f"wait of {told}"))]
        limits = [*self.limits, *((end + p, v) for p, v in other.limits if p > 0 or v != self.limits[-1][1])]
        return Route(np.concatenate([self.nodes, end + other.nodes]), np.concatenate([self.slopes, other.slopes]), limits,
                     stops=[*self.stops, *between, *((end + p, w) for p, w in other.stops)],
                     bearings=np.concatenate([self.bearings, other.bearings]), name=told, blend=self.blend,
                     chargers=self.waits | {end + place: longest for place, longest in other.waits.items()},
                     tale=Tale((*self.repairs, *(r for r in other.repairs if r not in self.repairs)),
                               smoothing=max(self.smoothing, other.smoothing)))

    def repeated(self, times: int) -> Route:
        """So many laps without a stop between.  Raises InputError for a way that does not end as high as it began."""
        if type(times) is not int or not 1 <= times <= 1000:
            raise InputError(f"Input times of repeated must be a whole number from 1 to 1000; instead received {times!r}.")
        rise = float(self.heights[-1])
        if times > 1 and abs(rise) > 0.5 + 0.02 * (self.climb + self.descent):
            raise InputError(f"Input route of repeated must end as high as it began; instead {self.name} "
                             f"{'rises' if rise > 0 else 'falls'} {abs(rise):.1f} m. There and back is a lap: "
                             "route.then(route.reversed()).")
        made = self
        for _ in range(times - 1):
            made = made.then(self, wait=None)
        made.name = f"{self.name}, {times} laps" if times > 1 else self.name
        return made

    def part(self, start: float, end: float) -> Route:
        """The piece from one place to another [m]; stops and chargers at its very ends are left to whoever asks for it."""
        if not 0 <= start < end <= self.length + 1e-9:
            raise InputError(f"Input start and end of part must be places from 0 m to {self.length:g} m, one behind the other; "
                             f"instead received {start:g} m and {end:g} m.")
        end = min(end, self.length)
        inside = (self.nodes > start) & (self.nodes < end)
        first = max(int(np.searchsorted(self.nodes, start, side="right")) - 1, 0)
        before = [v for p, v in self.limits if p <= start]
        bearings = np.concatenate([self.bearings[[first]], self.bearings[inside], self.bearings[inside | (self.nodes >= end)][:1]])
        i = int(np.searchsorted(self.nodes, start, side="right"))  # of two nodes at one place, the later one begins the piece
        slope = self.slopes[i - 1] if i and self.nodes[i - 1] == start else self.slope(start)
        return Route(np.concatenate([[0.0], self.nodes[inside] - start, [end - start]]),
                     np.concatenate([[slope], self.slopes[inside], [self.slopes[np.searchsorted(self.nodes, end)]
                                                                    if end in self.nodes else self.slope(end)]]),
                     [(0.0, before[-1]), *((p - start, v) for p, v in self.limits if start < p < end)],
                     stops=[(p - start, w) for p, w in self.stops if start < p < end], bearings=bearings,
                     name=self.name, blend=self.blend, chargers={p - start: w for p, w in self.waits.items() if start < p < end},
                     tale=replace(self.tale, raw=None, recorded=None))

    def with_stops(self, rows: Iterable[Any]) -> Route:
        """The same road with other stops: (place, wait) or (place, wait, True) where a charger stands; text with units, or m, s."""
        stops, chargers = _stops(rows, self.length, self.name)
        return Route(self.nodes, self.slopes, self.limits, stops=stops, bearings=self.bearings, name=self.name,
                     segments=self.segments, blend=self.blend, chargers=chargers, tale=self.tale)

    def with_nodes(self, places: Iterable[float]) -> Route:
        """The same road with nodes at these places, too [m], where something changes."""
        more = sorted({float(p) for p in places if 0 < p < self.length} - set(self.nodes.tolist()))
        if not more:
            return self
        at = np.searchsorted(self.nodes, more)
        return Route(np.insert(self.nodes, at, more), np.insert(self.slopes, at, self.slope(more)), self.limits, stops=self.stops,
                     bearings=np.insert(self.bearings, at, self.bearings[at - 1]), name=self.name, segments=self.segments,
                     blend=self.blend, chargers=self.waits, tale=self.tale)

    def with_speeds(self, rows: Any) -> Route:
        """The same road with a speed plan of one's own: (place, speed) from each place on, the first at 0 m; text or m, m/s."""
        made: list[tuple[float, float]] = []
        for number, row in enumerate(rows if isinstance(rows, Iterable) and not isinstance(rows, str) else [rows], 1):
            if not isinstance(row, Sequence) or isinstance(row, str) or len(row) != 2:
                raise InputError(f"Input row {number} of with_speeds must be (place, speed); instead received {told(row)}.")
            place, speed = si(row[0], _AT, f"place in row {number} of with_speeds"), _posted(row[1], f"row {number} of with_speeds")
            if (place != 0 if not made else place <= made[-1][0]) or place >= self.length:
                must = "0 m" if not made else "behind the one before"
                raise InputError(f"Input place in row {number} of with_speeds must be {must}, on a way of "
                                 f"{self.length:g} m; instead received {place:g} m.")
            made.append((place, speed))
        if not made:
            raise InputError("Input rows of with_speeds must be at least one (place, speed); instead received none.")
        return Route(self.nodes, self.slopes, made, stops=self.stops, bearings=self.bearings, name=self.name,
                     segments=self.segments, blend=self.blend, chargers=self.waits, tale=self.tale)

    @classmethod
    def from_segments(cls, segments: Iterable[Any], *, blend: float | str = 2.0, stops: Iterable[Any] = (),
                      name: str = "a route") -> Route:
        """A route from (length, slope, speed) or (length, slope, speed, bearing): text with units, or m, fraction, m/s.

        `blend` is the length behind each joint over which the slope passes into the next one; `stops` are (place, wait), or
        (place, wait, True) where a charger stands.  Raises InputError in words for a length or speed of zero or less, a slope
        beyond 60 %, or a joint shorter than its blend.
        """
        if isinstance(segments, str) or not isinstance(segments, Iterable):
            raise InputError(f"Input segments of {name} must be a list of (length, slope, speed), like [('70 m', '0 %', '3 m/s')]; "
                             f"instead received {told(segments)}.")
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
        rests, chargers = _stops(stops, length, name)
        return cls([*nodes, length], [*slopes, made[-1].slope], limits, stops=rests, chargers=chargers, name=name,
                   bearings=[math.nan if b is None else b for b in (*bearings, made[-1].bearing)], segments=made, blend=over)


def _steep_point(before: float, after: float) -> float:
    """The share of a blend after which the steepness crosses 1 %; 0 where it does not."""
    low, high = sorted((abs(before), abs(after)))
    if not low <= STEEP < high or before == after:
        return 0.0
    side = max((before, after), key=abs)
    return (math.copysign(STEEP, side) - before) / (after - before)


def _posted(speed: Any, name: str) -> float:
    value = si(speed, _SPEED, f"speed of {name}")
    if not 0 < value <= 60:
        raise InputError(f"Input speed of {name} must be above zero and at most 60 m/s; instead received {speed!r}.")
    return value


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
    if abs(slope) > STEEPEST:
        raise InputError(f"Input slope of segment {i} of {name} must be between -60 % and 60 %, steeper than any road; "
                         f"instead received {100 * slope:g} %.")
    return Segment(length, slope, speed, si(row[3], _BEARING, f"bearing of segment {i} of {name}") if len(row) == 4 else None)


def _stops(rows: Iterable[Any], length: float, name: str) -> tuple[list[tuple[float, float]], dict[float, float]]:
    """Stops (place, wait), and chargers {place: longest time}, which may also stand at either end."""
    stops, chargers = [], {}
    for row in rows:
        if not isinstance(row, Sequence) or isinstance(row, str) or len(row) not in (2, 3):
            raise InputError(f"Input stop of {name} must be (place, wait), with True behind it where a charger stands; "
                             f"instead received {row!r}.")
        at, wait = si(row[0], _AT, f"at of a stop of {name}"), si(row[1], _WAIT, f"wait of a stop of {name}")
        if len(row) == 3 and not isinstance(row[2], bool):
            raise InputError(f"Input charger of a stop of {name} must be true or false; instead received {row[2]!r}.")
        charger = len(row) == 3 and row[2]
        within = 0 <= at <= length if charger else 0 < at < length
        if not within or wait < 0:
            raise InputError(f"Input stop of {name} must lie between 0 m and {length:g} m and wait 0 s or more; "
                             f"instead received {at:g} m, {wait:g} s.")
        if charger:
            chargers[at] = wait
        if 0 < at < length:
            stops.append((at, wait))
    return sorted(stops), chargers
