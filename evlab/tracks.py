"""Tracks: a GPX 1.1 file read into places, heights, headings and times, mended where that can be told in words.

The file is read with the expat parser that comes with Python: quick (a hundred thousand points in half a second), it names the
line of a fault, and every declaration of an entity is refused before anything grows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import pairwise
from typing import Any
from xml.parsers import expat

import numpy as np

from evlab.route import STEEPEST, Route
from evlab.units import InputError

__all__ = ["EARTH_RADIUS", "Track", "bearings_of", "distances_of", "read_gpx", "track_route"]

EARTH_RADIUS = 6_371_008.8  # m, mean radius of the IUGG: distances on the sphere are within 0.5 % of those on the ellipsoid
BIGGEST = 50_000_000  # bytes
SAME = 0.05  # m: nearer points are one
PAUSE = 30.0  # s
STAY = 5.0  # m within which a receiver at rest wanders
GAP = 20.0  # m between two pieces of a track
LEAP = 100.0  # m/s between two points: no vehicle, the receiver
LOST, FEW = 500.0, 5  # m off the track, and so many points at most: a receiver that was lost
SPIKE = 5.0  # m off its neighbours' middle height, beside what the slope explains
SHORTEST = 10.0  # m


@dataclass
class Track:
    """Points as read: latitudes and longitudes [deg], heights [m or nan], times [s or nan], number of the piece each belongs to."""

    name: str
    latitude: Any
    longitude: Any
    height: Any
    time: Any
    piece: Any
    repairs: list[str] = field(default_factory=list)


class _Reader:
    """What the parser calls: points of tracks, or of routes where there is no track."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.rows: dict[str, list[list[Any]]] = {"trkpt": [], "rtept": []}
        self.point: list[Any] | None = None
        self.text: list[str] = []
        self.piece = 0
        self.path: list[str] = []
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.buffer_text = True
        self.parser.StartElementHandler, self.parser.EndElementHandler = self.start, self.end
        self.parser.CharacterDataHandler = self.text.append
        self.parser.StartDoctypeDeclHandler = self.parser.EntityDeclHandler = self.refuse

    def read(self, raw: bytes) -> None:
        try:
            self.parser.Parse(raw, True)
        except expat.ExpatError as wrong:
            raise InputError(f"{self.name} must be a GPX file; instead line {wrong.lineno} breaks the rules of XML: "
                             f"{expat.ErrorString(wrong.code)}.") from None
        except InputError:
            raise
        except (LookupError, ValueError) as wrong:  # an encoding that Python or the parser has not
            raise InputError(f"{self.name} must be a GPX file in UTF-8; instead: {wrong}.") from None

    def refuse(self, *_: Any) -> None:
        raise InputError(f"{self.name}, line {self.parser.CurrentLineNumber}: a track has no need of a document type or of "
                         "entities, which can blow a file up without end; instead received one. Export the track again "
                         "from where you have it.")

    def start(self, tag: str, said: dict[str, str]) -> None:
        short = tag.rpartition(" ")[2]
        if not self.path and (short != "gpx" or said.get("version", "1.1") != "1.1"):
            got = f"GPX {said.get('version')}" if short == "gpx" else f"a file of <{short}>"
            raise InputError(f"{self.name} must be a GPX 1.1 file; instead received {got}. Most tools can save as GPX 1.1.")
        self.path.append(short)
        self.text.clear()
        if short in self.rows:
            try:
                self.point = [_number(said["lat"]), _number(said["lon"]), math.nan, "", self.piece]
            except (KeyError, ValueError):
                self.point = [math.nan]
            if not (abs(self.point[0]) <= 90 and abs(self.point[1]) <= 180):
                raise InputError(f"{self.name}, line {self.parser.CurrentLineNumber}: a point must have lat of -90 to 90 "
                                 f"and lon of -180 to 180 degrees; instead received {said.get('lat')!r}, {said.get('lon')!r}.")

    def end(self, tag: str) -> None:
        short = self.path.pop()
        if short in self.rows and self.point is not None:
            self.rows[short].append(self.point)
            self.point = None
        elif short in ("trkseg", "rte"):
            self.piece += 1
        elif self.point is not None and short in ("ele", "time") and self.path[-1] in self.rows:
            said = "".join(self.text).strip()
            if short == "time":
                self.point[3] = said
            else:
                self.point[2] = _height(said)
        self.text.clear()


def _number(said: str) -> float:
    """A number in the digits 0 to 9: Python alone would also take those of other scripts, and 1_0."""
    if not said.isascii() or "_" in said:
        raise ValueError(said)
    return float(said)


def _height(said: str) -> float:
    try:
        value = _number(said)
    except ValueError:
        return math.nan
    return value if -500 <= value <= 9000 else math.nan


def _time(said: str) -> float:
    try:
        return datetime.fromisoformat(said.replace("Z", "+00:00")).timestamp() if said else math.nan
    except (ValueError, OverflowError, OSError):
        return math.nan


def read_gpx(raw: bytes, name: str) -> Track:
    """The points of a GPX 1.1 file; `name` stands in messages.

    Raises InputError in words for what is no GPX 1.1 file, has entities, no points, or points that are nowhere.
    """
    if not raw.strip():
        raise InputError(f"{name} must be a GPX file; instead it is empty.")
    if len(raw) > BIGGEST:
        raise InputError(f"{name} must be smaller than 50 MB; instead it has {len(raw) / 1e6:.0f} MB. Cut it to the part you ride.")
    reader = _Reader(name)
    reader.read(raw)
    rows = reader.rows["trkpt"] or reader.rows["rtept"]
    if not rows:
        raise InputError(f"{name} must hold a track or a route; instead it has no point of either (single waypoints make no way).")
    north, east, up = (np.array([row[k] for row in rows], float) for k in range(3))
    return Track(name, north, east, up, np.array([_time(row[3]) for row in rows]), np.array([row[4] for row in rows]))


# ---------------------------------------------------------------- on the sphere
def distances_of(latitude: Any, longitude: Any) -> Any:
    """Way from each point to the next [m] on a sphere of the earth's mean radius, by the haversine.  Angles in degrees."""
    a, b = np.radians(latitude), np.radians(longitude)
    half = np.sin(np.diff(a) / 2) ** 2 + np.cos(a[:-1]) * np.cos(a[1:]) * np.sin(np.diff(b) / 2) ** 2
    return 2 * EARTH_RADIUS * np.arcsin(np.sqrt(np.minimum(half, 1.0)))


def bearings_of(latitude: Any, longitude: Any) -> Any:
    """Heading from each point to the next [rad, clockwise from north].  Angles in degrees."""
    a, b = np.radians(latitude), np.diff(np.radians(longitude))
    east = np.sin(b) * np.cos(a[1:])
    north = np.cos(a[:-1]) * np.sin(a[1:]) - np.sin(a[:-1]) * np.cos(a[1:]) * np.cos(b)
    return np.arctan2(east, north) % (2 * np.pi)


# ---------------------------------------------------------------- a track becomes a route
def track_route(track: Track, *, speed: Any = 5.0, smoothing: Any = 40.0) -> Route:
    """The route of a track: `speed`, the posted one (m/s or text); `smoothing`, over which heights are evened out (m or text).

    What had to be mended is told in `repairs`.  Raises InputError in words where there is no way to go.
    """
    told = track.repairs
    track = _only(track, _on_the_way(track, told))
    track = _only(track, _without_wander(track))
    track = _only(track, _distinct(track, distances_of(track.latitude, track.longitude), told))
    if len(track.latitude) < 2:
        raise InputError(f"{track.name} must lead somewhere; instead all of its points are one place.")
    steps = distances_of(track.latitude, track.longitude)
    distance = np.concatenate([[0.0], np.cumsum(steps)])
    if distance[-1] < SHORTEST:
        raise InputError(f"{track.name} must be a way of {SHORTEST:g} m or more; instead received {distance[-1]:.1f} m.")
    _tell_pieces(track, steps, told)
    recorded = _speeds(track, steps, distance, told)
    heights = _heights(track, distance, told)
    _tell_loop(track, distance, heights, told)
    headings = bearings_of(track.latitude, track.longitude)
    route = Route.from_profile(distance, heights, speed=speed, smoothing=smoothing, bearings=np.append(headings, headings[-1]),
                               name=track.name, recorded=recorded)
    told.append(f"Heights are evened out over {route.smoothing:.3g} m: {route.raw_climb:.0f} m of climb as read became "
                f"{route.climb:.0f} m")
    told.append(f"The posted speed is {route.limits[0][1]:g} m/s all the way: a track posts none")
    route.tale = type(route.tale)(tuple(f"{words}." for words in told), route.raw, route.smoothing, recorded)
    return route


def _only(track: Track, keep: Any) -> Track:
    return replace(track, latitude=track.latitude[keep], longitude=track.longitude[keep], height=track.height[keep],
                   time=track.time[keep], piece=track.piece[keep])


def _on_the_way(track: Track, told: list[str]) -> Any:
    """Which points to keep: a few that lie far off, while those before and behind are near each other, are a lost receiver's; then
    a few at either end that are far from all the others."""
    keep, most = np.arange(len(track.latitude)), 0.0
    for inside in (True, False):
        steps = distances_of(track.latitude[keep], track.longitude[keep])
        if not len(steps):
            break
        leaps = np.flatnonzero(steps > max(LOST, 50 * float(np.median(steps)))) + 1
        ends, lost = [0, *leaps.tolist(), len(keep)], np.zeros(len(keep), bool)
        for first, behind in pairwise(ends if len(leaps) else []):
            middle = first > 0 and behind < len(keep)
            if behind - first > FEW or middle != inside:
                continue
            beside = keep[[max(first - 1, 0), min(behind, len(keep) - 1)]]
            if not middle or distances_of(track.latitude[beside], track.longitude[beside])[0] < 0.1 * steps[first - 1]:
                lost[first:behind] = True
                most = max(most, float(steps[first - 1] if first else steps[behind - 1]))
        keep = keep[~lost] if (~lost).sum() >= 2 else keep
    if gone := len(track.latitude) - len(keep):
        told.append(f"{_count(gone, 'point')} up to {most / 1000:.3g} km off the track {_were(gone)} left out: the receiver was "
                    "lost there")
    return keep


def _without_wander(track: Track) -> Any:
    """Which points to keep: of a rest longer than PAUSE its two ends, since a receiver at rest goes for walks."""
    keep, times = np.ones(len(track.time), bool), track.time
    if np.isnan(times).any() or (np.diff(times) < 0).any():
        return keep
    north, east = np.radians(track.latitude) * EARTH_RADIUS, np.radians(track.longitude) * EARTH_RADIUS
    east = east * np.cos(np.radians(track.latitude))
    later = np.searchsorted(times, times + PAUSE, side="right")
    there = np.minimum(later, len(times) - 1)
    rests = np.flatnonzero((later < len(times)) & (np.hypot(north[there] - north, east[there] - east) < STAY))
    done = 0
    for i in rests.tolist():
        middle = int(np.searchsorted(times, times[i] + PAUSE / 2))
        if i < done or middle >= len(times):
            continue
        first, last = _stay(north, east, middle, -1), _stay(north, east, middle, 1)
        if (span := times[last] - times[first]) > PAUSE:
            done = last + 1
            if span - np.diff(times[first:last + 1]).max() > PAUSE / 2:  # else it rested too: nothing was recorded
                keep[first + 1:last] = False
    return keep


def _stay(north: Any, east: Any, middle: int, way: int) -> int:
    """The last point this way that lies within STAY of the middle one."""
    i = middle
    while 0 <= i + way < len(north) and math.hypot(north[i + way] - north[middle], east[i + way] - east[middle]) < STAY:
        i += way
    return i


def _distinct(track: Track, steps: Any, told: list[str]) -> Any:
    """The points that lie apart from the one before; pauses on the spot are told."""
    keep, apart = [0], 0.0
    for i, step in enumerate(steps, 1):
        apart += step
        if apart >= SAME and (len(steps) == i or step >= SAME or apart >= 4 * SAME):
            keep.append(i)
            apart = 0.0
    if dropped := len(track.latitude) - len(keep):
        told.append(f"{_count(dropped, 'point')} on the spot of the one before {_were(dropped)} left out")
    return np.array(keep)


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def _were(number: int) -> str:
    return "was" if number == 1 else "were"


def _tell_pieces(track: Track, steps: Any, told: list[str]) -> None:
    joints = np.flatnonzero(np.diff(track.piece))
    gaps = [i for i in joints if steps[i] > GAP]
    if len(joints):
        far = f"; {len(gaps)} of them with a gap, the widest {max(steps[i] for i in gaps):.0f} m, ridden straight" if gaps else ""
        told.append(f"{len(joints) + 1} pieces of track were joined{far}")


def _speeds(track: Track, steps: Any, distance: Any, told: list[str]) -> tuple[Any, Any] | None:
    """(distance, speed) as recorded, or None; pauses are told, not ridden."""
    times = track.time
    if np.isnan(times).any():
        missing = int(np.isnan(times).sum())
        told.append("No time stamps: nothing is known of how it was ridden" if missing == len(times) else
                    f"{missing} of {len(times)} points have no time stamp that can be read: no recorded speed is shown")
        return None
    spent = np.diff(times)
    if (back := np.flatnonzero(spent < 0)).size:
        told.append(f"Time runs backwards at {distance[back[0] + 1]:.0f} m: no recorded speed is shown")
        return None
    with np.errstate(divide="ignore"):
        speed = np.where(spent > 0, steps / np.where(spent > 0, spent, 1.0), 0.0)
    if (leaps := np.flatnonzero(speed > LEAP)).size:
        told.append(f"Between two points at {distance[leaps[0]]:.0f} m lie {steps[leaps[0]]:.0f} m in {spent[leaps[0]]:.0f} s: the "
                    "receiver was lost there, look at the map")
    pauses = np.flatnonzero((spent > PAUSE) & (speed < 0.5))
    if pauses.size:
        longest = pauses[int(np.argmax(spent[pauses]))]
        told.append(f"{_count(len(pauses), 'pause')}, the longest {spent[longest]:.0f} s at {distance[longest]:.0f} m, not "
                    "ridden: add a stop where you want one")
    return distance[1:], speed


def _heights(track: Track, distance: Any, told: list[str]) -> Any:
    """A height for every point: missing ones from their neighbours, single jumps taken out."""
    heights = track.height.copy()
    missing = np.isnan(heights)
    if missing.all():
        told.append("No heights: the road is taken as level, which hides every hill")
        return np.zeros(len(heights))
    spikes = _spikes(heights, distance)
    if spikes.any():
        first = float(distance[int(np.flatnonzero(spikes)[0])])
        count = int(spikes.sum())
        told.append(f"{_count(count, 'height')} off all neighbours (the first at {first:.0f} m) {_were(count)} replaced")
    if missing.any():
        told.append(f"{int(missing.sum())} of {len(heights)} points have no height: it was taken from their neighbours")
    good = ~(missing | spikes)
    return _without_steps(np.interp(distance, distance[good], heights[good]), distance, told)


def _without_steps(heights: Any, distance: Any, told: list[str]) -> Any:
    """Heights without the few jumps that stay: all behind one is moved.  Many jumps are no fault of the receiver, and stay."""
    if len(heights) < 10:
        return heights
    middle = np.median(np.lib.stride_tricks.sliding_window_view(heights, 5), axis=1)
    jump, apart = np.diff(heights), np.diff(distance)
    jumps = np.abs(jump) > SPIKE + STEEPEST * apart
    before = np.arange(len(jump)) - 4  # five heights up to a jump, five behind it
    inside = (before >= 0) & (before + 5 < len(middle))
    before = np.clip(before, 0, len(middle) - 6)
    reach = distance[before + 7] - distance[before + 2]
    jumps &= inside & (np.abs(middle[before + 5] - middle[before]) > SPIKE + STEEPEST * reach)
    if not 0 < (count := int(jumps.sum())) <= max(2, len(jump) // 50):
        return heights
    at = int(np.flatnonzero(jumps)[0])
    first = f"the first of {abs(jump[at]):.0f} m at {distance[at + 1]:.0f} m"
    told.append(f"{_count(count, 'jump')} of height ({first}), steeper than any road, {_were(count)} taken out: all behind "
                f"{'it' if count == 1 else 'them'} was moved")
    return heights - np.concatenate([[0.0], np.cumsum(np.where(jumps, jump, 0.0))])


def _spikes(heights: Any, distance: Any) -> Any:
    """Where a height lies further off the middle one of its five neighbours than any road explains."""
    known = np.flatnonzero(~np.isnan(heights))
    h, d = heights[known], distance[known]
    wide = np.lib.stride_tricks.sliding_window_view(np.pad(h, 2, mode="edge"), 5)
    reach = np.lib.stride_tricks.sliding_window_view(np.pad(d, 2, mode="edge"), 5)
    off = np.abs(h - np.median(wide, axis=1)) > SPIKE + STEEPEST * (reach[:, -1] - reach[:, 0]) / 2
    made = np.zeros(len(heights), bool)
    made[known[off]] = True
    return made


def _tell_loop(track: Track, distance: Any, heights: Any, told: list[str]) -> None:
    ends = distances_of(track.latitude[[0, -1]], track.longitude[[0, -1]])[0]
    if ends < 30.0 and distance[-1] > 200.0 and abs(heights[-1] - heights[0]) > 2.0:
        higher = "higher" if heights[-1] > heights[0] else "lower"
        told.append(f"It ends where it began, {abs(heights[-1] - heights[0]):.0f} m {higher}: so far the heights have drifted")
