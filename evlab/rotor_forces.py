"""Forces on a rotor: what pulls it towards its neighbour, what flings its magnets out, what the steel behind them must carry.

The pull follows from the field alone: where it enters iron straight, or crosses the middle between two equal rotors, every square
metre is pulled with B²/2μ0.  Summed over the map of the real ring, or wave by wave over the unrolled one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import sympy

from evlab import magnets
from evlab.equation import Equation, half
from evlab.glossary import entry
from evlab.rings import ACROSS, MARGIN, UNEVEN, Ring
from evlab.units import InputError, told

__all__ = [
    "Pull", "Rotor", "block_magnet_mass", "centrifugal_force", "disc_magnet_mass", "disc_stiffness", "glue_shear",
    "holding_force", "holed_disc_stress", "magnetic_pressure", "magnets_inertia", "rim_speed", "ring_hoop_stress", "rotor_energy",
    "solid_disc_stress", "steel_disc_inertia", "steel_flux", "steel_load", "steel_words",
]

MU0 = float(entry("vacuum_permeability").value or 0.0)
STEEL_MODULUS = 205e9  # Pa, of mild steel (memory; 200 to 210)
FULL_STEEL = 1.5  # T: above it mild steel asks for ever more field (common practice, no source)
_DISC = "a flat disc of even thickness, thinner than a tenth of its radius; holes for bolts at least double the stress beside them"

magnetic_pressure = Equation(
    "rotor_forces.magnetic_pressure", "magnetic_pressure",
    lambda gap_flux_density, vacuum_permeability: gap_flux_density**2 / (2 * vacuum_permeability),
    title="Pull on each square metre of iron that a field enters straight.", source=("magnetism",), tag="M27",
    within="iron far from saturation, or the plane midway between two equal rotors")

disc_magnet_mass = Equation(
    "rotor_forces.disc_magnet_mass", "magnet_mass",
    lambda magnet_density, magnet_radius, magnet_thickness: magnet_density * sympy.pi * magnet_radius**2 * magnet_thickness,
    title="Mass of a disc magnet.", source=("definition",), tag="M28", within="no hole")

block_magnet_mass = Equation(
    "rotor_forces.block_magnet_mass", "magnet_mass",
    lambda magnet_density, magnet_width, magnet_length, magnet_thickness:
        magnet_density * magnet_width * magnet_length * magnet_thickness,
    title="Mass of a block magnet.", source=("definition",), tag="M28", within="no hole")

centrifugal_force = Equation(
    "rotor_forces.centrifugal_force", "centrifugal_force",
    lambda magnet_mass, ring_radius, motor_speed: magnet_mass * ring_radius * motor_speed**2,
    title="Force that holds one magnet on its circle.", source=("mechanics",), tag="M28", within="any speed")

glue_shear = Equation(
    "rotor_forces.glue_shear", "glue_shear", lambda centrifugal_force, glue_area: centrifugal_force / glue_area,
    title="Shear stress in the glue under one magnet.", source=("mechanics",), tag="M28",
    within="a mean; glue peels at its edges and creeps when warm: a rim, a pocket or a band must hold the magnets too")

rim_speed = Equation(
    "rotor_forces.rim_speed", "rim_speed", lambda disc_outer_radius, motor_speed: disc_outer_radius * motor_speed,
    title="Speed of the rim.", source=("mechanics",), tag="M28", within="any speed")

ring_hoop_stress = Equation(
    "rotor_forces.ring_hoop_stress", "hoop_stress", lambda body_density, rim_speed: body_density * rim_speed**2,
    title="Stress in a thin ring that turns, whatever its radius.", source=("disc-stress",), tag="M28",
    within="a ring, no disc in it")

solid_disc_stress = Equation(
    "rotor_forces.solid_disc_stress", "hoop_stress",
    lambda poisson_ratio, body_density, rim_speed: (3 + poisson_ratio) / 8 * body_density * rim_speed**2,
    title="Largest stress in a full disc that turns: in its middle.", source=("disc-stress",), tag="M28", within=_DISC)

holed_disc_stress = Equation(
    "rotor_forces.holed_disc_stress", "hoop_stress",
    lambda body_density, motor_speed, poisson_ratio, disc_outer_radius, disc_inner_radius:
        body_density * motor_speed**2 / 4 * ((3 + poisson_ratio) * disc_outer_radius**2
                                             + (1 - poisson_ratio) * disc_inner_radius**2),
    title="Largest stress in a disc with a hole: at the hole's edge, twice that of the full disc for ever so small a hole.",
    source=("disc-stress",), tag="M28", within=_DISC)

magnets_inertia = Equation(
    "rotor_forces.magnets_inertia", "rotor_inertia",
    lambda magnet_count, magnet_mass, ring_radius, magnet_radius:
        magnet_count * magnet_mass * (ring_radius**2 + magnet_radius**2 / 2),
    title="Inertia of a ring of disc magnets about the shaft.", source=("mechanics",), tag="M28",
    within="discs; a block w by l has (w²+l²)/12 in place of half its radius squared")

steel_disc_inertia = Equation(
    "rotor_forces.steel_disc_inertia", "rotor_inertia",
    lambda steel_density, disc_thickness, disc_outer_radius, disc_inner_radius:
        sympy.pi / 2 * steel_density * disc_thickness * (disc_outer_radius**4 - disc_inner_radius**4),
    title="Inertia of one steel disc with a hole.", source=("mechanics",), tag="M28", within="even thickness")

rotor_energy = Equation(
    "rotor_forces.rotor_energy", "kinetic_energy", lambda rotor_inertia, motor_speed: half * rotor_inertia * motor_speed**2,
    title="Energy of what turns: what a guard must stop.", source=("mechanics",), tag="M28", within="a stiff body")

steel_load = Equation(
    "rotor_forces.steel_load", "steel_load",
    lambda magnet_flux, disc_thickness, steel_width: magnet_flux / (2 * disc_thickness * steel_width),
    title="Flux density in the steel behind the magnets: half of a magnet's flux goes each way.", source=("machines",), tag="M25",
    within="all flux in the steel, which it keeps up to about 1.5 T (common practice, no source); above, the field leaks out")


# ---------------------------------------------------------------- pull
@dataclass(frozen=True)
class Pull:
    """Pull between a ring and what is across its gap: the other rotor, or a plate of iron.  Raises InputError where nothing is."""

    ring: Ring

    def __post_init__(self) -> None:
        if self.ring.iron not in ACROSS:
            raise InputError("A pull needs something across the gap: a ring with iron \"plate across\", \"two rotors\" or \"two "
                             f"rotors, no iron\"; instead received {told(self.ring.iron)}.")

    @cached_property
    def _power(self) -> tuple[Any, Any]:
        """Waves [1/m], and what each gives of ∫B² dA for a transfer of one [T2 m2], sorted into 600 classes of wave number."""
        even = len(set(self.ring.strengths)) == 1
        side, size = 2 * (self.ring.radius + self.ring.long / 2 + (MARGIN if even else UNEVEN)), 256 if even else 512
        kx = 2 * math.pi * np.fft.fftfreq(size, side / size)[:, None]
        ky = 2 * math.pi * np.fft.rfftfreq(size, side / size)[None, :]
        power = np.abs(self.ring.remanence * self.ring.transform(kx, ky)) ** 2 * np.where(ky == 0, 1.0, 2.0) / side**2
        waves = np.hypot(kx, ky)
        edges = np.linspace(0.0, float(waves.max()) * 1.0001, 601)
        total, _ = np.histogram(waves, edges, weights=power)
        mean, _ = np.histogram(waves, edges, weights=power * waves)
        filled = total > 0
        return mean[filled] / total[filled], total[filled]

    def at(self, gap: float) -> float:
        """The pull [N] at a gap [m] from face to face, from the map's waves."""
        waves, power = self._power
        return float((power * self._transfer(waves, gap) ** 2).sum()) / (2 * MU0)

    def _transfer(self, waves: Any, gap: float) -> Any:
        if not 0 < gap < 1:
            raise InputError(f"Input gap of Pull must be more than 0 mm and less than 1 m; instead received {told(gap)} m.")
        return replace(self.ring, gap=gap).transfer(waves, gap if self.ring.iron == "plate across" else gap / 2)

    @property
    def force(self) -> float:
        """The pull at the ring's own gap [N]."""
        return self.at(self.ring.gap)

    @property
    def per_magnet(self) -> float:
        """Share of each magnet of one ring [N]."""
        return self.force / self.ring.poles

    def curve(self, gaps: Any) -> Any:
        """The pull [N] at gaps [m], an array."""
        return np.array([self.at(float(g)) for g in np.atleast_1d(gaps)])

    def stiffness(self, gap: float | None = None) -> float:
        """How much the pull grows for each metre that the gap shrinks [N/m], at the ring's own gap or another."""
        here = self.ring.gap if gap is None else gap
        step = 1e-3 * here
        return (self.at(here - step) - self.at(here + step)) / (2 * step)

    def unrolled(self) -> float:
        """The pull by the closed form of the unrolled ring, one integral for each harmonic [N]: the second route."""
        ring, radial, total = self.ring, np.linspace(0.0, 3000.0, 1501), 0.0
        for order in range(1, 16, 2):
            along = order * math.pi / ring.pitch
            wave = ring.remanence * 2 / ring.pitch * ring.shape_transform(along, radial)
            wave = wave * self._transfer(np.hypot(along, radial), ring.gap)
            total += float(np.trapezoid(wave**2, radial)) / math.pi / 2
        return 2 * math.pi * ring.radius * total / (2 * MU0)

    def settles(self, stiffness: float) -> float:
        """The gap [m] at which discs that give way by `stiffness` [N/m] come to rest; 0 where they snap together.

        Parameters: `stiffness`, of both discs together, against their rim moving by one metre towards each other.
        """
        from scipy.optimize import brentq

        if not stiffness > 0:
            raise InputError(f"Input stiffness of settles must be more than 0 N/m; instead received {told(stiffness)}.")
        first = self.ring.gap
        gaps = np.linspace(first, 0.02 * first, 80)
        left = stiffness * (first - gaps) - self.curve(gaps)
        at = int(np.argmax(left >= 0))
        if left[at] < 0:
            return 0.0
        return float(brentq(lambda g: stiffness * (first - g) - self.at(g), gaps[at], gaps[at - 1], xtol=1e-9))


def holding_force(ring: Ring, gap: float = 0.0) -> float:
    """Pull of one lone magnet of a ring on thick flat steel [N].

    By its image, so at most: thin or painted steel holds less.  The
    recoil permeability is left out: that of 1.05 takes some 5 %.

    Parameters: `ring`, for shape, size and remanence of its magnets; `gap` [m] of air, paint or plastic between.
    """
    if gap < 0:
        raise InputError(f"Input gap of holding_force must be 0 mm or more; instead received {1e3 * gap:g} mm.")
    if ring.shape == "disc":
        k = np.linspace(1e-3, 4e4, 40001)
        power = np.abs(ring.shape_transform(0.0, k)) ** 2 * k / (2 * math.pi)
        own = float(np.trapezoid(power * (2 * magnets.free_transfer.arrays(k, ring.thick, gap)) ** 2, k))
    else:
        line = (np.arange(900) + 0.5) / 900 * 1.2e4
        kx, ky = line[:, None], line[None, :]
        share = 2 * magnets.free_transfer.arrays(np.hypot(kx, ky), ring.thick, gap)
        own = 4 * float((ring.shape_transform(kx, ky) ** 2 * share**2).sum()) * (line[1] - line[0]) ** 2 / (2 * math.pi) ** 2
    return ring.remanence**2 * own / (2 * MU0)


# ---------------------------------------------------------------- steel
def disc_stiffness(*, hub: float, load: float, outer: float, thick: float, modulus: float = STEEL_MODULUS,
                   poisson: float = 0.3) -> float:
    """Force on a circle for each metre that this circle moves along the shaft [N/m], of a disc clamped at its hub.

    Parameters: `hub`, radius to which it is held stiffly [m]; `load`, radius of the circle of the magnets; `outer` radius; `thick`;
    `modulus` of elasticity [Pa]; `poisson`, its ratio.  Thin plate; magnets glued on stiffen it, a soft hub makes it softer.
    Source: theory of thin plates (memory), from its four conditions at hub, circle and rim; a measured stiffness is better.
    """
    if not 0 < hub < load <= outer:
        raise InputError("Inputs hub, load and outer of disc_stiffness must grow in this order from above 0 mm; instead received "
                         f"{1e3 * hub:g}, {1e3 * load:g} and {1e3 * outer:g} mm.")
    if not thick > 0:
        raise InputError(f"Input thick of disc_stiffness must be more than 0 mm; instead received {1e3 * thick:g} mm.")
    rigidity = modulus * thick**3 / (12 * (1 - poisson**2))
    a, b, c = hub, load, outer
    # slope of the disc: A r + B/r + r (ln r - 1/2)/(4 pi rigidity) inside the circle, C r + D/r outside, for a force of one newton
    f = 1 / (4 * math.pi * rigidity)
    rows = [[a, 1 / a, 0, 0], [b, 1 / b, -b, -1 / b], [1, -1 / b**2, -1, 1 / b**2], [0, 0, 1 + poisson, -(1 - poisson) / c**2]]
    right = [-f * a * (math.log(a) - 0.5), -f * b * (math.log(b) - 0.5), -f * (math.log(b) + 0.5), 0.0]
    first, second = (float(v) for v in np.linalg.solve(np.array(rows, float), np.array(right))[:2])

    def sagged(r: float) -> float:
        return first * r**2 / 2 + second * math.log(r) + f * (r**2 / 2 * (math.log(r) - 1.0))

    return 1 / abs(sagged(b) - sagged(a))


def steel_flux(ring: Ring) -> float:
    """Flux of one pole in the steel behind the magnets [Wb], from the waves of the unrolled ring, leakage counted.

    Half of it goes each way.  Raises InputError for a ring without iron behind it or with unequal magnets.
    """
    if ring.iron in ("none", "two rotors, no iron"):
        raise InputError("There is no steel behind these magnets: take a ring with iron.")
    if len(set(ring.strengths)) > 1:
        raise InputError("The flux in the steel is worked out for a ring of equal magnets.")
    order = np.arange(1, 40, 2)
    waves = order * math.pi / ring.pitch
    there = 1 - (1 - ring.transfer(waves, 0.0)) / np.cosh(waves * ring.thick)  # at the steel, of the remanence
    row = ring.remanence * 2 / ring.pitch * ring.shape_transform(waves, 0.0) * there
    return float((row * 2 / waves * (-1.0) ** (order // 2)).sum())


def steel_words(load: float) -> str:
    """What a flux density in the steel [T], worked out as if all flux stayed in it, means in words."""
    if load > 2.0:
        return (f"The steel would have to carry {load:.2f} T and cannot: it is full at some 2 T. The field in the gap is weaker "
                "than shown, and what leaks out behind pulls tools and chain. Take thicker steel.")
    if load > FULL_STEEL:
        return (f"The steel carries {load:.2f} T, above the 1.5 T that mild steel carries easily: the field in the gap falls "
                "somewhat, and stray field comes out behind. Take thicker steel.")
    return f"The steel carries {load:.2f} T, below 1.5 T: it does its work, and little comes out behind."


# ---------------------------------------------------------------- a rotor that turns
@dataclass(frozen=True)
class Rotor:
    """What turns: rings of magnets on steel discs.  `rings`, 1 or 2; the disc's `hub` and `outer` radius and `thick` [m]."""

    ring: Ring
    rings: int
    hub: float
    outer: float
    thick: float

    def __post_init__(self) -> None:
        if self.rings not in (1, 2):
            raise InputError(f"Input rings of Rotor must be 1 or 2; instead received {told(self.rings)}.")
        if not 0 <= self.hub < self.outer or not self.thick > 0:
            raise InputError("The disc of Rotor must have a hub smaller than its rim and some thickness; instead received "
                             f"{1e3 * self.hub:g} mm, {1e3 * self.outer:g} mm and {1e3 * self.thick:g} mm.")

    @property
    def magnet_mass(self) -> float:
        """Mass of one magnet [kg]."""
        ring = self.ring
        if ring.shape == "disc":
            return float(disc_magnet_mass(ring.wide / 2, ring.thick))
        return float(block_magnet_mass(ring.wide, ring.long, ring.thick))

    @property
    def inertia(self) -> float:
        """Of magnets and discs about the shaft [kg m2]; hub and shaft left out."""
        ring = self.ring
        radius = ring.wide / 2 if ring.shape == "disc" else math.sqrt((ring.wide**2 + ring.long**2) / 6)
        round_ = float(magnets_inertia(self.rings * ring.poles, self.magnet_mass, ring.radius, radius))
        return round_ + self.rings * float(steel_disc_inertia(self.thick, self.outer, self.hub))

    def at(self, speed: float) -> dict[str, float]:
        """What it holds at a mechanical speed [rad/s]: force on each magnet, shear in its glue, rim speed, stress, energy."""
        force = float(centrifugal_force(self.magnet_mass, self.ring.radius, abs(speed)))
        area = math.pi * self.ring.wide**2 / 4 if self.ring.shape == "disc" else self.ring.wide * self.ring.long
        density = float(entry("steel_density").value or 0.0)
        return {
            "centrifugal_force": force,
            "glue_shear": float(glue_shear(force, area)),
            "rim_speed": float(rim_speed(self.outer, abs(speed))),
            "hoop_stress": float(holed_disc_stress(body_density=density, motor_speed=abs(speed), disc_outer_radius=self.outer,
                                                   disc_inner_radius=self.hub)),
            "kinetic_energy": float(rotor_energy(self.inertia, abs(speed))),
        }
