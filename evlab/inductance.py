"""Inductance of coils: filaments in air, by elliptic integrals; iron planes as mirrors; neighbours along their true outlines.

CoilInductance takes a coil as round, its mean turn as long as that of the true one, which is up to some 15 % too much, since no
outline of that length encloses more; `outline_mutual` follows the true outline and gives the coupling of neighbours,
`phase_inductances` puts a whole stator together.  Iron is endless, far from saturation and without eddies, magnets are air.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from evlab.coil_star import CoilStar
from evlab.coils import Coil
from evlab.glossary import entry
from evlab.rings import Ring
from evlab.units import InputError, told

__all__ = ["SOURCE", "CoilInductance", "loop_mutual", "outline_mutual", "phase_inductances"]

SOURCE = ("coaxial-circles",)  # keys of `sources`
GMD = 0.2235  # geometric mean distance of a rectangle from itself, over the sum of its sides (Maxwell; to 0.1 % for any shape)
CELLS, FINEST = 24, 120  # filaments along the longer side of a section (the last doubling changes 2e-5), and of a flat one
NODES = 5  # Gauss points along each side of a section that is seen from afar
DIPOLE, COARSE = 0.25, 48  # m from which a true outline's image is a dipole; points along that of a nearer one
FAR = 40  # mean radii beyond which an image is a dipole; leaves less than 1e-6


def loop_mutual(first: Any, second: Any, away: Any) -> Any:
    """Mutual inductance of two thin circles on one axis [H], Maxwell's elliptic integrals.

    Parameters: `first`, `second`, radii [m]; `away`, distance of their planes [m], not zero for equal radii; arrays are broadcast.
    """
    from scipy.special import ellipe, ellipkm1

    a, b, d = (np.asarray(v, float) for v in (first, second, away))
    wide = (a + b) ** 2 + d**2
    m, rest = 4 * a * b / wide, ((a - b) ** 2 + d**2) / wide  # rest = 1 - m without the loss of digits of near circles
    return _mu() * np.sqrt(wide) * ((1 - m / 2) * ellipkm1(rest) - ellipe(m))


@dataclass(frozen=True)
class CoilInductance:
    """One round coil of rectangular section, and the iron about it.

    `radius` of the mean turn, `side` (radial width) and `thick` (along the axis) [m]; `turns`; `below` and `above`, distances from
    the middle of the coil to planes of iron [m], infinite where there is none.
    """

    radius: float
    side: float
    thick: float
    turns: float
    below: float = math.inf
    above: float = math.inf

    def __post_init__(self) -> None:
        for name in ("radius", "side", "thick", "turns"):
            value = getattr(self, name)
            if not 0 < value < math.inf:
                raise InputError(f"Input {name} of CoilInductance must be above zero; instead received {told(value)}.")
        if self.side > 2 * self.radius:
            raise InputError(f"Input side of CoilInductance must be at most twice the mean radius, {2e3 * self.radius:.3g} mm, "
                             f"where the opening closes; instead received {1e3 * self.side:.3g} mm.")
        for name in ("below", "above"):
            if not getattr(self, name) >= self.thick / 2:
                raise InputError(f"Input {name} of CoilInductance must be at least half the thickness of the coil, "
                                 f"{5e2 * self.thick:.3g} mm; instead received {told(getattr(self, name))}.")

    @classmethod
    def of(cls, coil: Coil, turns: float, ring: Ring, height: float) -> CoilInductance:
        """A coil over a ring of magnets.

        Parameters: `coil`; `turns`; `ring`, whose iron counts; `height` [m] of the middle of the coil above the magnets' face.
        """
        below = height + ring.thick if ring.iron in ("behind", "plate across", "two rotors") else math.inf
        above = math.inf
        if ring.iron in ("plate across", "two rotors"):
            above = ring.gap - height + (ring.thick if ring.iron == "two rotors" else 0.0)
        return cls(coil.mean_turn(ring.radius) / math.tau, coil.side, coil.thick, turns, below, above)

    @cached_property
    def in_air(self) -> float:
        """Inductance without iron [H]: the mean of the mutual inductance of all pairs of filaments, turns squared."""
        short, long = sorted((self.side, self.thick))
        cell = max(min(long / CELLS, short / 3), long / FINEST)  # cells near squares: flat ones do not count as filaments
        wide, tall = (max(1, round(x / cell)) for x in (self.side, self.thick))
        radii = self.radius + ((np.arange(wide) + 0.5) / wide - 0.5) * self.side
        steps = np.arange(tall)
        count = np.where(steps == 0, tall, 2 * (tall - steps))  # pairs of rows so many steps apart
        away = np.broadcast_to(steps * self.thick / tall, (wide, wide, tall)).copy()
        away[np.arange(wide), np.arange(wide), 0] = GMD * (self.side / wide + self.thick / tall)
        pairs = loop_mutual(radii[:, None, None], radii[None, :, None], away)
        return self.turns**2 * float((pairs * count).sum()) / (wide * tall) ** 2

    @cached_property
    def by_iron(self) -> float:
        """What the iron adds [H]: mirrors of the coil that carry the same current, and the far ones as dipoles."""
        near, far = self._images()
        if not len(near):
            return 0.0
        nodes, weights = np.polynomial.legendre.leggauss(NODES)
        weights = weights / 2
        radii, heights = self.radius + self.side / 2 * nodes, self.thick / 2 * nodes
        away = near[:, None, None] + (heights[:, None] - heights[None, :]).ravel()
        pairs = loop_mutual(radii[:, None, None, None], radii[None, :, None, None], away.reshape(1, 1, len(near), -1))
        total = float(np.einsum("i,j,ijkl,l->", weights, weights, pairs, np.outer(weights, weights).ravel()))
        loops = float((weights * radii**2).sum()) ** 2  # mean square radius, squared
        return self.turns**2 * (total + _mu() * math.pi / 2 * loops * far)

    @property
    def total(self) -> float:
        """Inductance between its iron [H]."""
        return self.in_air + self.by_iron

    def _images(self) -> tuple[Any, float]:
        """Distances of the near images [m], and the sum of the inverse cubes of those of all far ones [1/m3]."""
        from scipy.special import zeta

        if math.isinf(self.below) and math.isinf(self.above):
            return np.array([]), 0.0
        if math.isinf(self.below + self.above):
            return np.array([2 * min(self.below, self.above)]), 0.0
        period = 2 * (self.below + self.above)
        most = 1 + math.ceil(FAR * self.radius / period)
        k = np.arange(-most, most + 1)
        even, odd = period * k[k != 0], period * k - 2 * self.below
        shift = 2 * self.below / period
        far = 2 * zeta(3, most + 1) + zeta(3, most + 1 - shift) + zeta(3, most + 1 + shift)
        return np.abs(np.concatenate([even, odd])), float(far) / period**3


# ---------------------------------------------------------------- true outlines
def outline_mutual(coil: Coil, radius: float, turns: float, apart: float, *, below: float = math.inf, above: float = math.inf,
                   points: int = 128, fine: bool = True) -> float:
    """Mutual inductance of two equal coils of a stator [H], Neumann's integral along their true mean turns; below zero where the
    flux of one goes back through the other.  With `apart` 0 the coil's own inductance.

    Parameters: `coil`; `radius` of the circle on which they lie [m]; `turns` of each; `apart`, angle between them round the shaft
    [rad]; `below`, `above`, distances of planes of iron from their middle [m]; `points` along an outline; `fine`,
    filaments over the section instead of the mean turn alone.
    """
    rows, levels = (4, 3) if fine else (1, 1)  # 0.2 % off the finest
    across = coil.side * (np.arange(rows) + 0.5) / rows
    loops = np.array([_offset(coil.corners(radius), s, points) for s in across])
    turn = np.array([[math.cos(apart), math.sin(apart)], [-math.sin(apart), math.cos(apart)]])
    step = coil.thick / levels
    heights = np.arange(levels) * step
    count = np.where(np.arange(levels) == 0, levels, 2 * (levels - np.arange(levels))) / levels**2
    own = GMD * (coil.side / rows + step)
    total = 0.0
    for i, first in enumerate(loops):
        for j in range(i, rows):
            near = np.where(heights > 0, heights, own if not apart and i == j else 0.0)
            seen = (count[:, None, None] * _neumann(first, loops[j] @ turn, near)).sum()
            total += (1 if i == j else 2) * float(seen)
    images, _rest = CoilInductance(1.0, coil.side, coil.thick, 1.0, below, above)._images()
    return turns**2 * (total / rows**2 + _mirrored(coil, radius, turn, images))


def _mirrored(coil: Coil, radius: float, turn: Any, images: Any) -> float:
    """Flux of the images of a coil through another one [H], one turn each: by outlines, and from afar as dipoles."""
    if not len(images):
        return 0.0
    near = images[images < DIPOLE]
    spread = np.array([-0.5, 0.5]) / math.sqrt(3)  # Gauss points of side and thickness
    loops = [_offset(coil.corners(radius), coil.side * (0.5 + x), COARSE) for x in spread]
    away, weight = near[:, None] + coil.thick * np.array([-1.0, 0.0, 1.0]) / math.sqrt(3), np.array([0.25, 0.5, 0.25])
    share = np.tile(weight, len(near))[:, None, None] / 4
    total = sum(float((share * _neumann(a, b @ turn, away.ravel())).sum()) for a in loops for b in loops)
    area = sum(abs(float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum())) for x, y in (c.T for c in loops)) / 4
    far, beside = images[images >= DIPOLE], 2 * radius**2 * (1 - turn[0, 0])  # square of the distance of the coils
    return total + _mu() / (4 * math.pi) * area**2 * float(((2 * far**2 - beside) / (far**2 + beside) ** 2.5).sum())


def phase_inductances(coil: Coil, star: CoilStar, radius: float, turns: float, *, below: float = math.inf,
                      above: float = math.inf) -> Any:
    """Inductances of the phases of a stator and between them [H], shape (phases, phases), all coils of a phase in series.

    Parameters: `coil`; `star`, with phase and polarity of each; `radius` of their circle [m]; `turns` of each; `below`,
    `above`, distances of planes of iron from their middle [m].  Between two lines of a star: L[0, 0] + L[1, 1] - 2 L[0, 1].
    """
    steps = range(star.coils // 2 + 1)
    pairs = [outline_mutual(coil, radius, turns, k * math.tau / star.coils, below=below, above=above, fine=k < 2) for k in steps]
    number = np.arange(star.coils)
    around = np.abs(number[:, None] - number[None, :])
    mutual = np.array(pairs)[np.minimum(around, star.coils - around)]
    letters = sorted({p.phase for p in star.places})
    signs = np.array([[0 if p.phase != letter else -1 if p.reversed else 1 for p in star.places] for letter in letters])
    return signs @ mutual @ signs.T


def _offset(edge: Any, away: float, points: int) -> Any:
    """A convex outline moved outwards by a distance, its corners as arcs, as evenly spaced points, shape (points, 2) [m]."""
    forward = np.roll(edge, -1, axis=0) - edge
    around = np.sign((edge[:, 0] * np.roll(edge[:, 1], -1) - np.roll(edge[:, 0], -1) * edge[:, 1]).sum())
    normal = np.stack([forward[:, 1], -forward[:, 0]], axis=1) * around / np.hypot(*forward.T)[:, None]
    course = []
    for corner, before, after in zip(edge, np.roll(normal, 1, axis=0), normal, strict=True):
        bend = math.atan2(before[0] * after[1] - before[1] * after[0], float(before @ after))
        turned = np.linspace(0.0, bend, 2 + int(abs(bend) / 0.1))[:, None]
        course.extend(corner + away * (before * np.cos(turned) + np.array([-before[1], before[0]]) * np.sin(turned)))
    closed = np.array([*course, course[0]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    at = along[-1] * np.arange(points) / points
    return np.stack([np.interp(at, along, closed[:, 0]), np.interp(at, along, closed[:, 1])], axis=1)


def _neumann(first: Any, second: Any, away: Any) -> Any:
    """Parts of Neumann's double integral of closed curves in planes a distance apart [H], shape (distances, points, points)."""
    d1, d2 = (np.roll(c, -1, axis=0) - c for c in (first, second))
    m1, m2 = first + d1 / 2, second + d2 / 2
    flat = ((m1[:, None] - m2[None]) ** 2).sum(axis=-1)
    return _mu() / (4 * math.pi) * (d1 @ d2.T) / np.sqrt(flat + np.asarray(away, float)[:, None, None] ** 2)


def _mu() -> float:
    value = entry("vacuum_permeability").value
    assert value is not None
    return value
