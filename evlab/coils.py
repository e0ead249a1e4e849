"""Coils without iron: the opening of the former, the side that the turns fill round it, and what follows from the outline alone."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from evlab.glossary import entry
from evlab.units import InputError, one_of, si, told

__all__ = ["SHAPES", "Coil"]

SHAPES = ("round", "trapezoid", "keystone")
_WHAT = "the coil"


def _length(value: Any, name: str, least: float = 0.0) -> float:
    metres = si(value, entry("magnet_radius"), f"{name} of Coil")
    if not metres > least:
        raise InputError(f"Input {name} of Coil must be more than {1e3 * least:g} mm; instead received {told(value)}.")
    return metres


@dataclass(frozen=True)
class Coil:
    """One coil, lying flat, its middle on the circle of the magnets.

    Its `shape`: "round" (an opening of the diameter `inner`), "trapezoid" (an opening `inner` wide towards the shaft and `outer`
    wide at the rim, `long` along the radius, straight ends) or "keystone" (the same with ends that follow circles about the
    shaft).  `side` is the width that the turns fill round the opening, `thick` their height along the shaft.  All in metres.
    """

    shape: str
    inner: float
    outer: float
    long: float
    side: float
    thick: float

    @classmethod
    def of(cls, shape: str, *, inner: Any, side: Any, thick: Any, outer: Any = None, long: Any = None) -> Coil:
        """A coil from lengths in metres or texts with their unit.

        Parameters: `shape`, one of SHAPES; `inner`, `outer`, `long`, `side`, `thick` as of the class (a round coil needs neither
        `outer` nor `long`).  Raises InputError in words.
        """
        one_of("shape of Coil", shape, SHAPES)
        across = _length(inner, "inner")
        if shape == "round":
            return cls(shape, across, across, across, _length(side, "side"), _length(thick, "thick"))
        for name, value in (("outer", outer), ("long", long)):
            if value is None:
                raise InputError(f"Input {name} of Coil must be given for a {shape} coil, such as \"33 mm\".")
        return cls(shape, across, _length(outer, "outer"), _length(long, "long"), _length(side, "side"), _length(thick, "thick"))

    # ------------------------------------------------------------ the outline
    def corners(self, radius: float) -> Any:
        """The opening as a closed polygon, shape (n, 2) [m], x along the radius, y across it; `radius` of its middle."""
        if self.shape == "round":
            turn = np.linspace(0.0, 2 * math.pi, 181)[:-1]
            return np.stack([radius + self.inner / 2 * np.cos(turn), self.inner / 2 * np.sin(turn)], axis=1)
        near, far = radius - self.long / 2, radius + self.long / 2
        if near <= 0:
            raise InputError(f"A coil whose opening is {1e3 * self.long:.3g} mm long does not fit on a circle of "
                             f"{1e3 * radius:.3g} mm: it would reach the shaft.")
        if self.shape == "trapezoid":
            ends = [(near, -self.inner / 2), (far, -self.outer / 2), (far, self.outer / 2), (near, self.inner / 2)]
            return np.array(ends, float)
        return np.concatenate([_arc(far, self.outer, 1), _arc(near, self.inner, -1)])

    @cached_property
    def _mean(self) -> float:
        return self.inner if self.shape == "round" else (self.inner + self.outer) / 2

    def outside(self, points: Any, radius: float) -> Any:
        """How far points lie outside the opening [m]; zero within it.  `points` have shape (..., 2)."""
        if self.shape == "round":
            away = np.hypot(points[..., 0] - radius, points[..., 1])
            return np.maximum(away - self.inner / 2, 0.0)
        return _beyond(points, self.corners(radius))

    def linked(self, points: Any, radius: float) -> Any:
        """The share of the turns that go round each point: all in the opening, none beyond the side, evenly less between."""
        return 1.0 - np.clip(self.outside(points, radius) / self.side, 0.0, 1.0)

    def perimeter(self, radius: float) -> float:
        """Length of the edge of the opening [m]."""
        if self.shape == "round":
            return math.pi * self.inner
        edge = self.corners(radius)
        return float(np.hypot(*(np.roll(edge, -1, axis=0) - edge).T).sum())

    def mean_turn(self, radius: float) -> float:
        """Length of the mean turn [m]: the edge, and a full circle of half the side at its corners."""
        return self.perimeter(radius) + math.pi * self.side

    def outline(self, radius: float, away: float = 0.0) -> Any:
        """A closed line that runs `away` [m] outside the edge of the opening, round at its corners; shape (n, 2) [m]."""
        edge = self.corners(radius)
        if self.shape == "round":
            middle = np.array([radius, 0.0])
            return middle + (edge - middle) * (1 + 2 * away / self.inner)
        return _outside(edge, away) if away else _dense(edge)

    def half_angle(self, radius: float) -> float:
        """How far the copper reaches to either side, seen from the shaft [rad]."""
        edge = self.outline(radius, self.side)
        return float(np.abs(np.arctan2(edge[:, 1], edge[:, 0])).max())

    def fits_round(self, coils: int, radius: float) -> None:
        """Raises InputError in words when so many coils do not lie side by side in a ring."""
        low = float(np.hypot(*self.corners(radius).T).min()) - self.side
        if low <= 0:
            raise InputError(f"The coil's sides reach the shaft: on a circle of {1e3 * radius:.3g} mm there is no room for a coil "
                             f"{1e3 * (self.long + 2 * self.side):.3g} mm long with its sides.")
        most = int(math.pi / self.half_angle(radius) + 1e-9)
        if coils > most:
            raise InputError(f"Coils {1e3 * self.width():.3g} mm wide do not lie side by side {coils} times on a circle of "
                             f"{1e3 * radius:.3g} mm: there is room for {most}. Take narrower sides or openings, fewer coils or a "
                             "larger circle.")

    def reach(self, radius: float) -> tuple[float, float]:
        """Smallest and largest distance of the copper from the shaft [m]."""
        edge = np.hypot(*self.corners(radius).T)
        return max(float(edge.min()) - self.side, 0.0), float(edge.max()) + self.side

    def across(self) -> float:
        """Width of the mean turn across the radius [m]: from the middle of one side to that of the other."""
        return self._mean + self.side

    def width(self) -> float:
        """Width of the whole coil across the radius, in its middle [m]."""
        return self._mean + 2 * self.side


def _arc(radius: float, chord: float, turn: int) -> Any:
    if chord >= 2 * radius:
        raise InputError(f"An opening {1e3 * chord:.3g} mm wide does not fit on a circle of {1e3 * radius:.3g} mm.")
    half = math.asin(chord / (2 * radius))
    angles = turn * np.linspace(-half, half, 25)
    return np.stack([radius * np.cos(angles), radius * np.sin(angles)], axis=1)


def _dense(edge: Any, pieces: int = 12) -> Any:
    """The same closed polygon with more points, so that it bends when it is unrolled."""
    there = np.arange(pieces)[None, :, None] / pieces
    return (edge[:, None] + there * (np.roll(edge, -1, axis=0) - edge)[:, None]).reshape(-1, 2)


def _outside(edge: Any, away: float) -> Any:
    """The polygon's sides moved outwards, with arcs at the corners that stand out.  Its points run round with the middle at their
    left."""
    step = np.roll(edge, -1, axis=0) - edge
    normal = np.stack([step[:, 1], -step[:, 0]], axis=1) / np.hypot(*step.T)[:, None]
    made = []
    for corner, before, after in zip(edge, np.roll(normal, 1, axis=0), normal, strict=True):
        start = math.atan2(before[1], before[0])
        turn = math.remainder(math.atan2(after[1], after[0]) - start, math.tau)
        angles = start + turn * np.linspace(0.0, 1.0, 9 if turn > 0.1 else 1)
        made.append(corner + away * np.stack([np.cos(angles), np.sin(angles)], axis=1))
    return _dense(np.concatenate(made), 6)


def _beyond(points: Any, edge: Any) -> Any:
    """Distance of points from a closed polygon, zero inside it."""
    x, y = points[..., 0], points[..., 1]
    inside, least = np.zeros(x.shape, bool), np.full(x.shape, np.inf)
    for (ax, ay), (bx, by) in zip(edge, np.roll(edge, -1, axis=0), strict=True):
        dx, dy = bx - ax, by - ay
        along = np.clip(((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy), 0.0, 1.0)
        least = np.minimum(least, np.hypot(x - ax - along * dx, y - ay - along * dy))
        if dy:
            crosses = ((ay > y) != (by > y)) & (x < ax + (y - ay) * dx / dy)
            inside ^= crosses
    return np.where(inside, 0.0, least)
