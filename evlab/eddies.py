"""Eddy currents: what moving magnets lose in the strands of a winding and in metal plates near by.

A wave of field that runs past a plate is damped by the diffusion equation, which has a closed solution for every wave; a ring of
magnets is a sum of waves (see rings).  The thin sheet is the simple limit that shows how things scale.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import sympy

from evlab.coils import Coil
from evlab.equation import Equation, half
from evlab.glossary import entry, nearest
from evlab.rings import Ring
from evlab.units import InputError, si, told

__all__ = [
    "METALS", "Metal", "Plate", "StrandLoss", "critical_speed", "metal_of", "sheet_drag", "sheet_loss", "skin_depth",
    "slit_sheet_loss", "strand_eddy_loss", "strand_losses",
]

MU0 = float(entry("vacuum_permeability").value or 0.0)
LONGEST = 4000.0  # 1/m: shorter waves than 1.6 mm do not reach a plate
GAUSS = np.polynomial.legendre.leggauss(6)  # over the thickness of a plate
_SHEET = "sheet much thinner than wave and skin depth; full sheet, wider than the magnets by a pole pitch all round"

strand_eddy_loss = Equation(
    "eddies.strand_eddy_loss", "strand_eddy_loss",
    lambda conductivity, electrical_speed, alternating_field, strand_diameter:
        sympy.pi * conductivity * electrical_speed**2 * alternating_field**2 * strand_diameter**4 / 128,
    title="Loss of each metre of a round strand in a field that alternates across it.", source=("eddy-currents", "derived"),
    tag="M22", within="a strand thinner than its skin depth; a field that turns as it alternates has two components and twice the "
    "loss; strands that lie side by side all along also carry currents round each other, which this leaves out: twist them")

skin_depth = Equation(
    "eddies.skin_depth", "skin_depth",
    lambda electrical_speed, vacuum_permeability, conductivity:
        sympy.sqrt(2 / (electrical_speed * vacuum_permeability * conductivity)),
    title="Depth to which an alternating field gets into a metal that is no magnet.", source=("eddy-currents",), tag="M22",
    within="far from the edges; says nothing of the loss in strands much thinner than it")

critical_speed = Equation(
    "eddies.critical_speed", "critical_speed",
    lambda vacuum_permeability, conductivity, plate_thickness: 2 / (vacuum_permeability * conductivity * plate_thickness),
    title="Speed at which a thin plate brakes hardest; faster, its own currents keep the field out.", source=("reitz-1970",),
    tag="M23", within=_SHEET)

sheet_loss = Equation(
    "eddies.sheet_loss", "plate_loss",
    lambda conductivity, plate_thickness, magnet_speed, plate_field, critical_speed:
        half * conductivity * plate_thickness * magnet_speed**2 * plate_field**2 / (1 + (magnet_speed / critical_speed) ** 2),
    title="Loss of each square metre of a thin plate past which a wave of field runs.", source=("reitz-1970", "derived"),
    tag="M23", within=_SHEET)

sheet_drag = Equation(
    "eddies.sheet_drag", "plate_drag", lambda plate_loss, magnet_speed: plate_loss / magnet_speed,
    title="Braking force of each square metre: loss over speed.", source=("mechanics",), tag="M23", within="magnets that move")

slit_sheet_loss = Equation(
    "eddies.slit_sheet_loss", "plate_loss",
    lambda conductivity, electrical_speed, plate_field, piece_width, plate_thickness:
        conductivity * electrical_speed**2 * plate_field**2 * piece_width**2 * plate_thickness / 24,
    title="Loss of each square metre of a plate slit into strips: half the width, a quarter of the loss.",
    source=("eddy-currents", "derived"), tag="M23", bracketed=True,
    within="strips insulated from each other, much narrower than a pole and than the skin depth, and much longer than wide")


# ---------------------------------------------------------------- metals
@dataclass(frozen=True)
class Metal:
    """What a plate may be of: `conductivity` [S/m] at 20 °C, 0 where it conducts next to nothing; `source`, a key of sources."""

    name: str
    conductivity: float
    source: str = "metal-conductivities"


METALS = {m.name: m for m in (
    Metal("copper", 58.0e6, "iec-60028"), Metal("aluminium, pure", 35.0e6), Metal("aluminium 6061", 25.0e6),
    Metal("aluminium 7075", 19.0e6), Metal("magnesium", 22.0e6), Metal("brass", 15.0e6), Metal("bronze", 7.0e6),
    Metal("titanium", 1.8e6), Metal("stainless steel 304", 1.4e6),
    Metal("carbon-fibre laminate", 2.0e4),  # along its fibres; from one to another it differs tenfold
    Metal("glass-fibre laminate", 0.0), Metal("plywood", 0.0), Metal("plastic", 0.0))}


def metal_of(name: str) -> Metal:
    """The metal of this name; another name is refused with the nearest one."""
    if name not in METALS:
        raise InputError(f"There is no plate of {told(name)} here.{nearest(name, METALS)} There are: {', '.join(METALS)}.")
    return METALS[name]


# ---------------------------------------------------------------- a plate near a ring
@dataclass(frozen=True)
class Plate:
    """A full plate that stands still, its near face at `distance` above the face of the magnets.  Metres, S/m.

    The ring is unrolled, the plate endless; iron behind or across, and the magnets' recoil, mirror the plate's own field.
    Exact for each wave.
    """

    ring: Ring
    distance: float
    thick: float
    conductivity: float

    @classmethod
    def of(cls, ring: Ring, *, distance: Any, thick: Any, metal: Any = "aluminium 6061") -> Plate:
        """A plate from lengths in metres or texts with their unit.

        Parameters: `ring` of equal magnets; `distance`; `thick`; `metal`, a name of METALS, or a conductivity in S/m or as a text
        with its unit.  Raises InputError in words.
        """
        if len(set(ring.strengths)) > 1:
            raise InputError("The loss in a plate is worked out for a ring of equal magnets; this one has a magnet missing, "
                             "weak or turned over.")
        near = si(distance, entry("face_height"), "distance of Plate")
        deep = si(thick, entry("plate_thickness"), "thick of Plate")
        if not near > 0:
            raise InputError(f"Input distance of Plate must be more than 0 mm; instead received {told(distance)}.")
        if not 0 < deep <= 0.1:
            raise InputError(f"Input thick of Plate must be more than 0 mm and at most 100 mm; instead received {told(thick)}.")
        if near + deep > ring.gap + 1e-12:
            raise InputError(f"A plate from {1e3 * near:.3g} mm to {1e3 * (near + deep):.3g} mm above the magnets does not fit "
                             f"into a gap of {1e3 * ring.gap:.3g} mm.")
        if isinstance(metal, str) and (metal in METALS or not any(c.isdigit() for c in metal[:1])):
            return cls(ring, near, deep, metal_of(metal).conductivity)
        own = si(metal, entry("conductivity"), "metal of Plate")
        if not own >= 0:
            raise InputError(f"Input metal of Plate must be a conductivity of 0 S/m or more; instead received {told(metal)}.")
        return cls(ring, near, deep, own)

    def loss(self, speed: float) -> float:
        """Power lost in the plate [W] with the rotor at a mechanical speed [rad/s], by the diffusion equation."""
        if not self.conductivity or not speed:
            return 0.0
        return self._sum(self._damped, abs(speed))

    def loss_as_sheet(self, speed: float) -> float:
        """The same as a thin sheet, the field averaged over its thickness [W]: easy by hand, low by 3 to 10 % in thick plates."""
        if not self.conductivity or not speed:
            return 0.0
        critical = float(critical_speed(conductivity=self.conductivity, plate_thickness=self.thick))

        def each(k: Any, electrical: float) -> Any:
            return sheet_loss.arrays(self.conductivity, self.thick, electrical / k, np.sqrt(self._mean_square(k)), critical)

        return self._sum(each, abs(speed))

    def loss_in_pieces(self, speed: float, width: Any) -> float:
        """The loss of the same plate slit into insulated strips [W]; never more than that of the whole.

        Parameters: `speed`, mechanical [rad/s]; `width` of a strip, in metres or a text with its unit.
        """
        return self.losses(speed, width)[1]

    def losses(self, speed: float, width: Any) -> tuple[float, float]:
        """The losses of the whole plate and of the slit one [W]; parameters as of loss_in_pieces."""
        narrow = si(width, entry("piece_width"), "width of loss_in_pieces")
        if not narrow > 0:
            raise InputError(f"Input width of loss_in_pieces must be more than 0 mm; instead received {told(width)}.")
        if not self.conductivity or not speed:
            return 0.0, 0.0

        def each(k: Any, electrical: float) -> Any:
            field = np.sqrt(self._mean_square(k))
            return slit_sheet_loss.arrays(self.conductivity, electrical, field, narrow, self.thick)

        whole = self.loss(speed)
        return whole, min(self._sum(each, abs(speed)), whole)

    def _mean_square(self, k: Any) -> Any:
        """Mean over the plate's thickness of the square of the field for waves of one tesla of remanence, without the plate."""
        nodes, weights = GAUSS
        heights = self.distance + self.thick * (nodes + 1) / 2
        return sum(w / 2 * self.ring.transfer(k, float(z)) ** 2 for z, w in zip(heights, weights, strict=True))

    def torque(self, speed: float) -> float:
        """Braking torque [N m] at a mechanical speed [rad/s]."""
        return self.loss(speed) / abs(speed) if speed else 0.0

    def curve(self, speeds: Any) -> Any:
        """Braking torque [N m] at mechanical speeds [rad/s], an array."""
        return np.array([self.torque(float(v)) for v in np.atleast_1d(speeds)])

    def _sum(self, each: Any, speed: float) -> float:
        """Sum over the ring's harmonics and the waves along its radius of the loss of one square metre for a wave of one tesla."""
        ring = self.ring
        beyond = ring.gap - self.distance - self.thick if ring.iron.startswith("two rotors") else self.distance
        longest = min(LONGEST, 12.0 / max(min(self.distance, beyond), 1e-6))  # shorter waves die on their way to the plate
        # Steps of 20/m: a sum over waves is exact while they are finer than 2 pi over the magnet's length (Poisson), here 0.3 m.
        radial = np.linspace(0.0, longest, int(longest / 20) + 9)
        orders = np.arange(1, max(int(longest * ring.pitch / math.pi), 3) + 1, 2)[:, None]
        along = orders * math.pi / ring.pitch
        row = ring.remanence * 2 / ring.pitch * ring.shape_transform(along, radial)
        lost = each(np.hypot(along, radial), orders * ring.pairs * speed) * row**2
        return 2 * ring.radius * float(np.trapezoid(lost, radial).sum())

    def _damped(self, k: Any, electrical: float) -> Any:
        """Loss of each square metre for waves of one tesla of remanence: the field in the slab, its faces joined to the air."""
        ring, t = self.ring, self.thick
        near, far = ring.transfer(k, self.distance), ring.transfer(k, self.distance + t)  # without the plate
        near_slope = k * (near * np.cosh(k * t) - far) / np.sinh(k * t)  # of that field, towards the magnets
        far_slope = k * (near - far * np.cosh(k * t)) / np.sinh(k * t)
        below, above = self._fall_below(k), self._fall_above(k)
        gamma = np.sqrt(k**2 + 1j * electrical * MU0 * self.conductivity)
        c, s = np.cosh(gamma * t), np.sinh(gamma * t)
        e = far_slope - above * far
        field = near_slope + below * near - e * (c + below * s / gamma)
        field = field / (gamma * s + above * c + below * c + above * below * s / gamma)  # at the far face
        slope = above * field + e
        inside, inside_slope = field * c + slope * s / gamma, field * gamma * s + slope * c  # at the near face
        flow = (inside_slope * inside.conj() - slope * field.conj()).imag
        return electrical / (2 * MU0 * k**2) * flow

    def _fall_below(self, k: Any) -> Any:
        """How steeply the plate's own field falls off towards the magnets [1/m]."""
        if self.ring.iron in ("none", "two rotors, no iron"):
            return k
        return _through_air(k, np.tanh(k * self.ring.thick) / self.ring.recoil, self.distance)

    def _fall_above(self, k: Any) -> Any:
        left = self.ring.gap - self.distance - self.thick
        if self.ring.iron == "plate across":
            return _through_air(k, 0.0, left)
        if self.ring.iron == "two rotors":
            return _through_air(k, np.tanh(k * self.ring.thick) / self.ring.recoil, left)
        return k


def _through_air(k: Any, share: Any, away: float) -> Any:
    """The fall of a field [1/m] that falls with a share of its wave number (0 at iron, 1 in endless air) so far away."""
    near = np.tanh(k * away)
    return k * (near + share) / (1 + share * near)


# ---------------------------------------------------------------- strands of a winding
@dataclass(frozen=True)
class StrandLoss:
    """Eddy loss in the strands of all coils: `field`, the alternating field [T] that would give it all along; `peak`, that of the
    fundamental in the middle of the copper's layer [T]; `per_metre` [W/m] of a strand; `length` of all strands [m]; `watts`;
    `torque` [N m]; `skin` depth [m] at the fundamental."""

    field: float
    peak: float
    per_metre: float
    length: float
    watts: float
    torque: float
    skin: float


def strand_losses(ring: Ring, coil: Coil, height: float, *, speed: float, diameter: float, turns: int, strands: int = 1,
                  coils: int = 1, conductivity: float = 58.0e6) -> StrandLoss:
    """Eddy loss in the strands of a winding from the map of the real ring, without any current of its own.

    Parameters: `ring`; `coil`; `height` [m] of its middle above the face of the magnets; `speed`, mechanical [rad/s]; `diameter`
    of a bare strand [m]; `turns` of a coil; `strands` in hand; `coils`; `conductivity` [S/m] of the strands.
    The field across the wire is taken where the copper lies, all three components, averaged over its section.
    """
    for name, value in (("diameter", diameter), ("turns", turns), ("strands", strands), ("coils", coils)):
        if not value > 0:
            raise InputError(f"Input {name} of strand_losses must be more than 0; instead received {told(value)}.")
    electrical = ring.pairs * abs(speed)
    square, peak = _changing(ring, coil, height)
    field = math.sqrt(2 * square) / ring.pairs
    each = float(strand_eddy_loss.floats(conductivity, electrical, field, diameter))
    length = turns * strands * coils * coil.mean_turn(ring.radius)
    skin = float(skin_depth(electrical, conductivity=conductivity)) if electrical else math.inf
    return StrandLoss(field, peak, each, length, each * length, each * length / abs(speed) if speed else 0.0, skin)


@lru_cache(maxsize=16)
def _changing(ring: Ring, coil: Coil, height: float, rows: int = 64, turn: int = 180) -> tuple[float, float]:
    """Mean over the copper of the square of the field's slope over the rotor's angle [T2/rad2], across the wire; and the largest
    amplitude of the fundamental in the middle of the layer [T]."""
    low, high = coil.reach(ring.radius)
    radii = low + (np.arange(rows) + 0.5) / rows * (high - low)
    angles = 2 * math.pi * np.arange(turn) / turn
    x, y = radii[:, None] * np.cos(angles), radii[:, None] * np.sin(angles)
    shares = _copper(coil, radii, ring.radius)
    total, peak = 0.0, 0.0
    for node, part in zip(*np.polynomial.legendre.leggauss(3), strict=True):
        axial, fx, fy = (f.at(x, y) for f in ring.maps(height + float(node) * coil.thick / 2, 256))
        radial, round_ = fx * np.cos(angles) + fy * np.sin(angles), fy * np.cos(angles) - fx * np.sin(angles)
        waves = [np.abs(np.fft.rfft(f, axis=1)) / turn for f in (axial, radial, round_)]
        slopes = [2 * (np.arange(turn // 2 + 1) ** 2 * w**2).sum(axis=1) for w in waves]  # mean squares over a turn of the rotor
        total += part / 2 * float(sum((share * slope).sum() for share, slope in zip(shares, slopes, strict=True)))
        peak = max(peak, 2 * float(waves[0][:, ring.pairs].max())) if abs(node) < 1e-9 else peak
    return total, peak


def _copper(coil: Coil, radii: Any, radius: float) -> tuple[Any, Any, Any]:
    """Shares of the copper at radii; of it what is crossed by field along the radius, and by field round the shaft."""
    turn = np.linspace(-1.0, 1.0, 401) * min(math.pi, 0.75 * coil.width() / radii[0])
    x, y, step = radii[:, None] * np.cos(turn), radii[:, None] * np.sin(turn), 1e-5

    def away(dx: float, dy: float) -> Any:
        return coil.outside(np.stack([x + dx, y + dy], axis=-1), radius)

    beyond = away(0.0, 0.0)
    weight = ((beyond > 0) & (beyond < coil.side)) * radii[:, None]
    gx, gy = away(step, 0.0) - away(-step, 0.0), away(0.0, step) - away(0.0, -step)
    outward = ((gx * np.cos(turn) + gy * np.sin(turn)) / np.maximum(np.hypot(gx, gy), 1e-12)) ** 2
    parts = [(weight * p).sum(axis=1) / weight.sum() for p in (1.0, outward, 1 - outward)]
    return parts[0], parts[1], parts[2]
