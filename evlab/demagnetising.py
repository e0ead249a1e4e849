"""Will the magnets lose strength?  Their working point alone, on steel and in the machine, and how much heat it stands.

A magnet works against its own field: the thinner it is for its width, the more.  A lone thin disc is the worst case; between two
rotors the same disc is far from harm.  Heat brings the knee of its line nearer.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import sympy

from evlab import data, magnets
from evlab.equation import Equation, half
from evlab.glossary import entry, nearest
from evlab.rings import Ring
from evlab.units import InputError, si, told

__all__ = [
    "GRADES", "Grade", "WorkingPoint", "armature_field", "block_factor", "disc_factor", "disc_inner_field", "energy_product",
    "face_flux_density", "grade_of", "grades", "knee_field", "knee_temperature", "lone_demagnetising_field",
    "permeance_coefficient", "working_points",
]

MU0 = float(entry("vacuum_permeability").value or 0.0)
_ON_AXIS = "on the magnet's axis; magnetised evenly, which sintered neodymium is nearly"

disc_inner_field = Equation(
    "demagnetising.disc_inner_field", "magnet_flux_density",
    lambda remanence, magnet_thickness, magnet_depth, magnet_radius:
        remanence / 2 * ((magnet_thickness - magnet_depth) / sympy.sqrt(magnet_radius**2 + (magnet_thickness - magnet_depth)**2)
                         + magnet_depth / sympy.sqrt(magnet_radius**2 + magnet_depth**2)),
    title="Flux density inside a lone disc, so deep below its face; on thick steel it acts as twice as thick.",
    source=("magnetism",), tag="M26", bracketed=True, within=f"{_ON_AXIS}; recoil permeability of 1")

disc_factor = Equation(
    "demagnetising.disc_factor", "demagnetising_factor",
    lambda magnet_thickness, magnet_depth, magnet_radius:
        1 - half * ((magnet_thickness - magnet_depth) / sympy.sqrt(magnet_radius**2 + (magnet_thickness - magnet_depth)**2)
                    + magnet_depth / sympy.sqrt(magnet_radius**2 + magnet_depth**2)),
    title="Demagnetising factor at a depth inside a lone disc.", source=("magnetism", "derived"), tag="M26", bracketed=True,
    within=_ON_AXIS)

block_factor = Equation(
    "demagnetising.block_factor", "demagnetising_factor",
    lambda magnet_width, magnet_length, magnet_thickness, magnet_depth:
        1 - (sympy.atan(2 * magnet_depth / (magnet_width * magnet_length)
                        * sympy.sqrt(magnet_width**2 + magnet_length**2 + 4 * magnet_depth**2))
             + sympy.atan(2 * (magnet_thickness - magnet_depth) / (magnet_width * magnet_length)
                          * sympy.sqrt(magnet_width**2 + magnet_length**2 + 4 * (magnet_thickness - magnet_depth)**2))) / sympy.pi,
    title="Demagnetising factor at a depth inside a lone block: the solid angles of its two faces.",
    source=("magnetism", "derived"), tag="M26", bracketed=True, within=_ON_AXIS)

lone_demagnetising_field = Equation(
    "demagnetising.lone_demagnetising_field", "demagnetising_field",
    lambda demagnetising_factor, remanence, vacuum_permeability, recoil_permeability:
        demagnetising_factor * remanence
        / (vacuum_permeability * (1 + demagnetising_factor * (recoil_permeability - 1))),
    title="Field strength against a lone magnet, inside it; recoil counted.", source=("magnetism", "derived"), tag="M26",
    within="on the straight part of the line; exact for ellipsoids, about 1 % for discs and blocks")

permeance_coefficient = Equation(
    "demagnetising.permeance_coefficient", "permeance_coefficient",
    lambda magnet_flux_density, vacuum_permeability, demagnetising_field:
        magnet_flux_density / (vacuum_permeability * demagnetising_field),
    title="Permeance coefficient: the slope of the line from the origin to the working point.", source=("definition",), tag="M26",
    within="any working point")

energy_product = Equation(
    "demagnetising.energy_product", "energy_product",
    lambda remanence, vacuum_permeability, recoil_permeability: remanence**2 / (4 * vacuum_permeability * recoil_permeability),
    title="Largest energy product, from which grades have their number (in MGOe, 7.96 kJ/m³ each).", source=("magnetism",),
    tag="M26", within="a straight line over half of it: sintered neodymium and hard ferrite")

knee_field = Equation(
    "demagnetising.knee_field", "knee_field", lambda knee_share, hot_coercivity: knee_share * hot_coercivity,
    title="Where loss for good begins.", source=("knee",), tag="M26", within="about; the maker's curve at that temperature decides")

knee_temperature = Equation(
    "demagnetising.knee_temperature", "knee_temperature",
    lambda knee_share, coercivity, coercivity_coefficient, demagnetising_field, remanence_coefficient, opposing_field,
           reference_temperature:
        reference_temperature + (knee_share * coercivity - demagnetising_field - opposing_field)
        / (knee_share * coercivity * coercivity_coefficient - demagnetising_field * remanence_coefficient),
    title="Temperature at which the working point meets the knee: both fall with heat, the knee faster.",
    source=("knee", "derived"), tag="M26",
    within="by straight lines, so about; the magnet's own field is that at 20 °C, that of the coils stays as it is")

armature_field = Equation(
    "demagnetising.armature_field", "armature_field",
    lambda vacuum_permeability, turns, motor_current, face_gap, magnet_thickness:
        vacuum_permeability * turns * motor_current / (face_gap + 2 * magnet_thickness),
    title="Flux density of one coil's current at the magnets, between two rotors on iron.", source=("machines",), tag="M24",
    within="at most: a coil as wide as the way from iron to iron and more; neighbours add or take by commutation")


# ---------------------------------------------------------------- grades
@dataclass(frozen=True)
class Grade:
    """One grade of sintered neodymium: `low` and `high` of its remanence [T], least `coercivity` [A/m] at 20 °C, the highest
    `temperature` [K] that makers state (for a thickness of 0.7 of the diameter and more), both coefficients [1/K], `mark`."""

    name: str
    low: float
    high: float
    coercivity: float
    temperature: float
    remanence_coefficient: float
    coercivity_coefficient: float
    mark: str

    @property
    def remanence(self) -> float:
        """Middle of the range [T]."""
        return (self.low + self.high) / 2


@lru_cache(maxsize=1)
def grades() -> dict[str, Grade]:
    """All grades by name, from data/evlab-2026-magnet-grades.csv."""
    rows = (line for line in data.read_text("evlab-2026-magnet-grades.csv").splitlines() if not line.startswith("#"))
    return {r["grade"]: Grade(r["grade"], float(r["remanence_low_T"]), float(r["remanence_high_T"]),
                              1e3 * float(r["coercivity_kA_m"]), float(r["highest_degC"]) + 273.15,
                              float(r["remanence_percent_K"]) / 100, float(r["coercivity_percent_K"]) / 100, r["mark"])
            for r in csv.DictReader(rows)}


GRADES = grades()


def grade_of(name: str) -> Grade:
    """The grade of this name; another name is refused with the nearest one."""
    if name not in GRADES:
        raise InputError(f"There is no magnet grade {told(name)} in the table.{nearest(name, GRADES)} There are: "
                         f"{', '.join(GRADES)}.")
    return GRADES[name]


# ---------------------------------------------------------------- working points
@dataclass(frozen=True)
class WorkingPoint:
    """Where one magnet works: `place` in words; at the temperature asked for, `flux_density` [T], `field` against it [A/m], `knee`
    [A/m] and `permeance`; `hottest` [K], the temperature at which it meets the knee; `verdict` in words."""

    place: str
    flux_density: float
    field: float
    knee: float
    permeance: float
    hottest: float
    verdict: str

    @property
    def margin(self) -> float:
        """The knee over the field against the magnet: below 1 some of its strength is lost for good."""
        return self.knee / self.field


def face_flux_density(ring: Ring) -> Any:
    """Flux density at the centre of each magnet's face [T], the way of its own magnetisation counted positive; 0 where one is
    missing.

    All other magnets and the iron are counted.  What dies away slowly with the wave number is the face's own jump and known in
    closed form; the rest is the sum of the map's waves at these places.
    """
    near = 0.5 if ring.iron in ("none", "two rotors, no iron") else 1 / (1 + ring.recoil)
    step = 2 * math.pi / (2 * (ring.radius + ring.long / 2 + 0.2))
    most = 12.0 / min(2 * ring.thick, 2 * ring.gap)
    count = min(int(most / step) + 1, 400)
    kx, ky = step * np.arange(-count, count + 1)[:, None], step * np.arange(0, count + 1)[None, :]
    waves = np.hypot(kx, ky)
    share = (ring.transfer(waves, 0.0) - near) * np.where(ky == 0, 1.0, 2.0)
    spectrum = share * ring.transform(kx, ky) * (step / (2 * math.pi)) ** 2
    found = []
    for number, strength in enumerate(ring.strengths):
        if not strength:
            found.append(0.0)
            continue
        turn, sign = 2 * math.pi * number / ring.poles, (-1) ** number * float(np.sign(strength))
        there = np.exp(1j * kx * ring.radius * math.cos(turn)) * np.exp(1j * ky * ring.radius * math.sin(turn))
        found.append(ring.remanence * (near * abs(strength) + sign * float((spectrum * there).real.sum())))
    return np.array(found)


def working_points(ring: Ring, grade: str | Grade = "N42", temperature: Any = "20 degC", armature: Any = 0.0,
                   ) -> tuple[WorkingPoint, ...]:
    """One magnet of a ring, alone on the bench and in its place, at a temperature.

    Parameters: `ring`, for shape, remanence and iron; `grade`, a name or a Grade, for coercivity and coefficients; `temperature`
    [K] or a text with its unit; `armature` [T] or a text, the coils' field against a magnet in its place (see armature_field).
    Raises InputError in words.
    """
    of = grade_of(grade) if isinstance(grade, str) else grade
    warm = si(temperature, entry("magnet_temperature"), "temperature of working_points")
    if not 233.0 <= warm <= 523.0:
        raise InputError(f"Input temperature of working_points must be -40 to 250 °C; instead received {told(temperature)}.")
    coils = si(armature, entry("armature_field"), "armature of working_points")
    if coils < 0:
        raise InputError(f"Input armature of working_points must be 0 T or more; instead received {told(armature)}.")
    whole, faces = ring.remanence, face_flux_density(ring)
    left = whole * np.abs(ring.strengths)
    worst = int(np.argmax(left - faces))
    places = {"alone, in its middle": (_alone(ring, ring.thick / 2), whole), "alone, at its face": (_alone(ring, 0.0), whole),
              "in its place, at its face": (_field(ring, left[worst], faces[worst]), left[worst])}
    if ring.iron == "two rotors":
        flat = float(magnets.magnet_flux_density(ring.remanence, ring.recoil, ring.gap, ring.thick))
        places["in its place, by hand without leakage"] = _field(ring, whole, flat), whole
    opposing = coils / (MU0 * ring.recoil)
    return tuple(_point(place, float(cold), float(own), ring.recoil, of, warm, opposing if place.startswith("in") else 0.0)
                 for place, (cold, own) in places.items())


def _alone(ring: Ring, depth: float) -> float:
    if ring.shape == "disc":
        factor = float(disc_factor(ring.thick, depth, ring.wide / 2))
    else:
        factor = float(block_factor(ring.wide, ring.long, ring.thick, depth))
    return float(lone_demagnetising_field(factor, ring.remanence, recoil_permeability=ring.recoil))


def _field(ring: Ring, remanence: float, flux_density: float) -> float:
    return float(magnets.demagnetising_field.floats(remanence, flux_density, ring.recoil, MU0))


def _point(place: str, cold: float, remanence: float, recoil: float, of: Grade, warm: float,
           opposing: float) -> WorkingPoint:
    share = float(magnets.hot_remanence.floats(1.0, of.remanence_coefficient, warm, 293.15))
    knee = float(knee_field(hot_coercivity=magnets.hot_coercivity.floats(of.coercivity, of.coercivity_coefficient, warm, 293.15)))
    against = cold * share + opposing
    inside = remanence * share - MU0 * recoil * against
    hottest = float(knee_temperature.floats(of.coercivity, of.coercivity_coefficient, cold, of.remanence_coefficient,
                                            opposing, 0.9, 293.15))
    return WorkingPoint(place, inside, against, knee, inside / (MU0 * against), hottest, _verdict(knee / against, hottest, of))


def _verdict(margin: float, hottest: float, of: Grade) -> str:
    until = f"it meets the knee at about {hottest - 273.15:.0f} °C"
    if margin < 1.0:
        return (f"Beyond the knee: it loses some of its strength for good ({until}). Take a thicker magnet, a grade with more "
                "coercivity, iron about it, or keep it cooler.")
    if margin < 1.2:
        return f"Near the knee: {until}. The knee is known to a tenth only; look at the maker's curve of {of.name}."
    return f"Safe: {until}; what it loses by heat comes back when it cools."
