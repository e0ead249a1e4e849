"""The field outside the motor and what it does to small steel: how far screws, spanners and the chain must stay away.

A small body of soft iron becomes a magnet in proportion to the field until it is full; then its pull follows the field's slope
alone.  Cards, watches and implants feel far weaker fields: see the cautions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
import sympy

from evlab.equation import Equation
from evlab.glossary import entry, nearest
from evlab.image_magnets import image_vectors
from evlab.rings import Ring
from evlab.units import InputError, si, told

__all__ = [
    "BEHIND_WORDS", "FLYING_FIELD", "IMPLANT_FIELD", "PARTS", "SHIELD_WORDS", "WAYS", "SteelPart", "clear_distance", "field_at",
    "filled_pull", "filling_field", "part_of", "pull_curve", "quiet_distance", "rod_factor", "sleeved", "soft_pull",
]

MU0 = float(entry("vacuum_permeability").value or 0.0)
WAYS = ("over the magnets", "beside the rim")
STEEL = float(entry("steel_polarisation").value or 0.0)
NEAREST, FARTHEST = 2e-4, 0.5  # m: what is asked of the field; farther out nothing is left
_SMALL = "a part small beside its distance from the magnets, a permeability of hundreds and more; it pulls no field towards it"
# Static field above which implants may be disturbed, and above which loose steel flies towards strong magnets.
IMPLANT_FIELD, FLYING_FIELD, FIELD_SOURCE = 0.5e-3, 3e-3, "eu-2013-35"
BEHIND_WORDS = (
    "Behind the steel this model has no field at all, since its iron never fills. Real steel lets some out where it carries more "
    "than 1.5 T, and round its rim.")
SHIELD_WORDS = (
    "A sheet of mild steel between magnets and chain takes the field upon itself and leaves little behind it, as long as it is not "
    "full. It is pulled as hard as anything: fix it firmly. Standing still beside moving magnets it also brakes, by eddy currents "
    "and by being turned over again and again; turning with the rotor it does not.")

soft_pull = Equation(
    "stray.soft_pull", "part_pull",
    lambda part_volume, stray_field, stray_gradient, vacuum_permeability, demagnetising_factor:
        part_volume * stray_field * stray_gradient / (vacuum_permeability * demagnetising_factor),
    title="Pull on a small part of soft iron that is not yet full: it grows with the field and with its slope.",
    source=("soft-iron", "derived"), tag="M25", within=_SMALL)

filled_pull = Equation(
    "stray.filled_pull", "part_pull",
    lambda part_volume, steel_polarisation, stray_gradient, vacuum_permeability:
        part_volume * steel_polarisation * stray_gradient / vacuum_permeability,
    title="Pull on a small part that is full: only the slope of the field counts.", source=("soft-iron", "derived"), tag="M25",
    within="a field above that which fills the part")

filling_field = Equation(
    "stray.filling_field", "filling_field",
    lambda demagnetising_factor, steel_polarisation: demagnetising_factor * steel_polarisation,
    title="Field from which on a small part is full: a long thin one along the field fills first.",
    source=("soft-iron",), tag="M25", within=_SMALL)

rod_factor = Equation(
    "stray.rod_factor", "demagnetising_factor",
    lambda slenderness:
        (slenderness / sympy.sqrt(slenderness**2 - 1) * sympy.log(slenderness + sympy.sqrt(slenderness**2 - 1)) - 1)
        / (slenderness**2 - 1),
    title="Demagnetising factor of a long body along the field, as of an ellipsoid: 1/3 for a ball, little for a needle.",
    source=("osborn-1945",), tag="M25", bracketed=True, limits={"slenderness": (1.01, 1000.0)},
    within="ellipsoids; a rod is close to it")


@dataclass(frozen=True)
class SteelPart:
    """A piece of steel: `volume` [m3]; `factor`, its demagnetising factor when it points at the magnets, as they turn it; `mass`
    [kg]; `length` [m] that it then reaches away from them (0: a compact piece)."""

    name: str
    volume: float
    factor: float
    mass: float
    length: float

    @classmethod
    def rod(cls, name: str, *, length: Any, diameter: Any) -> SteelPart:
        """A rod, screw or bar that turns along the field.

        Parameters: `name`; `length` and `diameter` in metres or texts with their unit.  Raises InputError in words.
        """
        long, thick = (si(v, entry("magnet_radius"), f"{what} of rod") for what, v in (("length", length), ("diameter", diameter)))
        if not thick > 0 or not long >= 1.01 * thick:
            raise InputError("Inputs of rod must be a diameter above 0 mm and a length above it; instead received "
                             f"{told(diameter)} and {told(length)}.")
        volume = math.pi / 4 * thick**2 * long
        return cls(name, volume, float(rod_factor(long / thick)), volume * float(entry("steel_density").value or 0.0), long)

    @classmethod
    def ball(cls, name: str, *, mass: Any) -> SteelPart:
        """A compact piece, such as a nut or one link of a chain: a ball of its mass.

        Parameters: `name`; `mass` in kilograms or a text with its unit.  Raises InputError in words.
        """
        heavy = si(mass, entry("magnet_mass"), "mass of ball")
        if not heavy > 0:
            raise InputError(f"Input mass of ball must be more than 0 g; instead received {told(mass)}.")
        return cls(name, heavy / float(entry("steel_density").value or 1.0), 1 / 3, heavy, 0.0)

    @property
    def weight(self) -> float:
        """Its weight [N]."""
        return self.mass * float(entry("gravity").value or 0.0)

    def pull(self, field: float, slope: float) -> float:
        """Pull [N] in a field [T] that falls by `slope` [T/m] all along it: soft until it is full."""
        if field <= float(filling_field(self.factor)):
            return float(soft_pull.floats(self.volume, field, slope, self.factor, MU0))
        return float(filled_pull(self.volume, slope))


# Invented sizes.  Links of a run of chain touch, so along the field each acts as if it were three times as long as thick.
PARTS = {p.name: p for p in (
    SteelPart.rod("screw M5 x 25", length=0.025, diameter=0.0045), SteelPart.rod("spanner", length=0.150, diameter=0.010),
    SteelPart.rod("steel rule", length=0.150, diameter=0.004), SteelPart.ball("nut M8", mass=0.005),
    SteelPart("each link of a run of 06B chain", 0.0039 / 7850.0, float(rod_factor(3.0)), 0.0039, 0.0))}


def part_of(name: str) -> SteelPart:
    """The part of this name; another name is refused with the nearest one."""
    if name not in PARTS:
        raise InputError(f"There is no part {told(name)} here.{nearest(name, PARTS)} There are: {', '.join(PARTS)}.")
    return PARTS[name]


def sleeved(ring: Ring) -> Ring:
    """The ring as it is felt beside its rim: without iron, since steel discs end at the rim and do not catch that field."""
    return replace(ring, iron={"two rotors": "two rotors, no iron"}.get(ring.iron, ring.iron if ring.iron.endswith("no iron")
                                                                       else "none"))


def field_at(ring: Ring, distances: Any, way: str = "over the magnets") -> tuple[Any, Any]:
    """Flux density [T] and how fast it falls [T/m] at distances [m], both arrays.

    Parameters: `ring`; `distances` above the face of a magnet, or outward from the rim of the magnets; `way`, one of WAYS.
    Over the magnets there must be nothing across the gap.  Beside the rim steel discs are left out, since endless planes of iron
    would be wrong there: measure before you trust a small distance.
    """
    away = np.atleast_1d(np.asarray(distances, float))
    if way not in WAYS:
        raise InputError(f"Input way of field_at must be one of {', '.join(WAYS)}; instead received {told(way)}.")
    if not (away > 0).all():
        raise InputError("Input distances of field_at must be above 0 mm.")
    if way == "over the magnets" and ring.iron not in ("none", "behind"):
        raise InputError(f"Over the magnets of a ring with {ring.iron} there is the other face, no open air: ask beside the rim, "
                         "or take the rotor apart (iron none or behind).")
    step = 1e-4 * away
    places = np.concatenate([away - step, away, away + step])
    if way == "over the magnets":
        seen, points = ring, np.stack([np.full_like(places, ring.radius), np.zeros_like(places), places], axis=-1)
    else:
        seen, edge = sleeved(ring), ring.radius + ring.long / 2
        points = np.stack([edge + places, np.zeros_like(places), np.full_like(places, -ring.thick / 2)], axis=-1)
    near, here, far = np.split(np.linalg.norm(image_vectors(seen, points), axis=-1), 3)
    return here, (near - far) / (2 * step)


@lru_cache(maxsize=32)
def _along(ring: Ring, way: str) -> tuple[Any, Any, Any]:
    """Logarithms of distances [m], of the field [T] and of its slope [T/m] there: smooth enough to read between."""
    away = np.geomspace(NEAREST, 2 * FARTHEST, 240)
    fields, slopes = field_at(ring, away, way)
    return np.log(away), np.log(fields), np.log(np.maximum(slopes, 1e-12))


def pull_curve(ring: Ring, part: SteelPart, distances: Any, way: str = "over the magnets") -> Any:
    """Pull [N] of a ring on a small steel part at distances [m] of its nearer end, an array.

    Parameters: `ring`, `distances` (from 0.2 mm) and `way` as of field_at; `part`.  A long part is summed piece by piece along its
    length, each as full as the field there makes the whole: rather too much than too little.
    """
    away = np.atleast_1d(np.asarray(distances, float))
    if not ((away >= NEAREST) & (away <= FARTHEST)).all():
        raise InputError(f"Input distances of pull_curve must be {1e3 * NEAREST:g} to {1e3 * FARTHEST:g} mm.")
    pieces = (np.arange(24) + 0.5) / 24 * part.length if part.length else np.zeros(1)
    at, field, slope = _along(ring, way)
    places = np.log(away[:, None] + pieces)
    b, falls = np.exp(np.interp(places, at, field)), np.exp(np.interp(places, at, slope))
    soft = soft_pull.arrays(part.volume, b, falls, part.factor, MU0)
    full = part.volume * STEEL / MU0 * falls
    return np.minimum(soft, full).mean(axis=1)


def clear_distance(ring: Ring, part: SteelPart, force: Any = None, way: str = "over the magnets") -> float:
    """Distance [m] from which on the pull is less than a force: its own weight, or what holds it there; 0 where it always is.

    Parameters: `ring`, `part` and `way` as of pull_curve; `force` [N] or a text with its unit, by default the part's own weight.
    Raises InputError for a force that is not above zero.
    """
    hold = part.weight if force is None else si(force, entry("part_pull"), "force of clear_distance")
    if not hold > 0:
        raise InputError(f"Input force of clear_distance must be above 0 N; instead received {told(force)}.")
    grid = np.geomspace(NEAREST, FARTHEST, 800)
    pulls = pull_curve(ring, part, grid, way)
    above = np.flatnonzero(pulls > hold)
    if not above.size:
        return 0.0
    last = int(above[-1])
    if last + 1 == grid.size:
        return FARTHEST
    return float(np.interp(-hold, -pulls[last:last + 2], grid[last:last + 2]))


def quiet_distance(ring: Ring, limit: Any = IMPLANT_FIELD, way: str = "over the magnets") -> float:
    """Distance [m] from which on the field is less than a limit; 0 where it always is.

    Parameters: `ring` and `way` as of field_at; `limit` [T] or a text with its unit, by default that for people with implants
    (whose doctor and maker have the last word).  Raises InputError for a limit that is not above zero.
    """
    most = si(limit, entry("stray_field"), "limit of quiet_distance")
    if not most > 0:
        raise InputError(f"Input limit of quiet_distance must be above 0 T; instead received {told(limit)}.")
    at, field, _slope = _along(ring, way)
    above = np.flatnonzero(field > math.log(most))
    if not above.size:
        return 0.0
    last = int(above[-1])
    if last + 1 == at.size:
        return 2 * FARTHEST
    return math.exp(float(np.interp(-math.log(most), -field[last:last + 2], at[last:last + 2])))
