"""Chains and toothed belts: wheels, length, ripple, pull, and whether it all fits.

The closed forms are Equations; the centre distance of a whole number of links is the root of `strand_links`.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import sympy

from evlab import data
from evlab.equation import Equation, half
from evlab.glossary import nearest
from evlab.units import InputError

__all__ = [
    "CHAINS", "Chain", "Geometry", "belt_pitch_diameter", "centre_for_links", "chain_links", "chain_of", "chain_pitch_diameter",
    "chain_safety", "chain_speed", "chain_tension", "geometry", "handbook_centre", "links_for", "pitch_diameter_of", "ripple",
    "strand_links", "tip_diameter", "wrap_angle",
]

_WHEELS = "two wheels and a taut strand; the sag of the slack side left out"

chain_pitch_diameter = Equation(
    "chains.chain_pitch_diameter", "pitch_diameter", lambda chain_pitch, teeth: chain_pitch / sympy.sin(sympy.pi / teeth),
    title="Pitch diameter of a sprocket: the chain lies on it as a polygon of pitches.", source=("iso-606",), tag="G2",
    limits={"teeth": (6, 150)}, within="roller chains, 6 teeth and more (the standard begins at 9)")

belt_pitch_diameter = Equation(
    "chains.belt_pitch_diameter", "pitch_diameter", lambda chain_pitch, teeth: teeth * chain_pitch / sympy.pi,
    title="Pitch diameter of a wheel for a toothed belt: the cord lies on it as a circle.", source=("belt-handbooks",), tag="G2",
    limits={"teeth": (10, 200)}, within="10 teeth and more; it lies outside the teeth, in the belt's cords")

tip_diameter = Equation(
    "chains.tip_diameter", "tip_diameter",
    lambda chain_pitch, tip_factor, teeth: chain_pitch * (tip_factor + sympy.cot(sympy.pi / teeth)),
    title="Diameter over the teeth of a sprocket, about.", source=("chain-handbooks",), tag="G2", limits={"teeth": (9, 150)},
    within="about: the standard leaves the maker a range of some millimetres; measure the wheel in hand")

chain_links = Equation(
    "chains.chain_links", "links",
    lambda centre_distance, chain_pitch, driver_teeth, driven_teeth:
        2 * centre_distance / chain_pitch + (driver_teeth + driven_teeth) / 2
        + ((driven_teeth - driver_teeth) / (2 * sympy.pi)) ** 2 * chain_pitch / centre_distance,
    title="Links of a chain, or teeth of a belt, by the handbooks.", source=("chain-handbooks",), tag="G2",
    within=_WHEELS + "; a series cut short: 0.1 of a link off at twice the closest distance, up to 0.9 where wheels all but touch")

strand_links = Equation(
    "chains.strand_links", "links",
    lambda centre_distance, chain_pitch, driver_teeth, driven_teeth, driver_diameter, driven_diameter:
        2 * sympy.sqrt(centre_distance**2 - ((driven_diameter - driver_diameter) / 2) ** 2) / chain_pitch
        + driver_teeth * (half - sympy.asin((driven_diameter - driver_diameter) / (2 * centre_distance)) / sympy.pi)
        + driven_teeth * (half + sympy.asin((driven_diameter - driver_diameter) / (2 * centre_distance)) / sympy.pi),
    title="Links by geometry: two tangents, and the teeth that the strand lies on.", source=("derived",), tag="G2", within=_WHEELS)

handbook_centre = Equation(
    "chains.handbook_centre", "centre_distance",
    lambda chain_pitch, links, driver_teeth, driven_teeth:
        chain_pitch / 4 * (links - (driver_teeth + driven_teeth) / 2
                           + sympy.sqrt((links - (driver_teeth + driven_teeth) / 2) ** 2
                                        - 8 * ((driven_teeth - driver_teeth) / (2 * sympy.pi)) ** 2)),
    title="Centre distance of so many links, by the handbooks.", source=("chain-handbooks",), tag="G2",
    within=_WHEELS + "; a series cut short")

ripple = Equation(
    "chains.ripple", "ripple", lambda driver_teeth: 1 - sympy.cos(sympy.pi / driver_teeth),
    title="Speed ripple of a chain: each link rises and falls on the driver's polygon.", source=("chain-handbooks",), tag="G3",
    within="a driver that turns evenly; belts have none to speak of")

chain_tension = Equation(
    "chains.chain_tension", "chain_tension", lambda shaft_torque, driver_diameter: 2 * shaft_torque / driver_diameter,
    title="Pull in the tight side: the driver's torque over its radius.", source=("mechanics",), tag="G4",
    within="below 7 m/s, where a chain's own weight in the bend does not count; shocks are a multiple of it")

chain_safety = Equation(
    "chains.chain_safety", "chain_safety", lambda tensile_strength, chain_tension: tensile_strength / chain_tension,
    title="Strength of a new chain over the pull.", source=("definition",), tag="G4",
    within="7 and more at the largest pull is common practice, no source; wear and shock take their share")

chain_speed = Equation(
    "chains.chain_speed", "chain_speed", lambda driver_teeth, chain_pitch, motor_speed:
        driver_teeth * chain_pitch * motor_speed / (2 * sympy.pi),
    title="Mean speed of a chain: so many pitches for each turn.", source=("mechanics",), tag="G4", within="no slip, no jumping")

wrap_angle = Equation(
    "chains.wrap_angle", "wrap_angle", lambda driver_diameter, driven_diameter, centre_distance:
        sympy.pi - 2 * sympy.asin((driven_diameter - driver_diameter) / (2 * centre_distance)),
    title="Angle over which the strand lies on the driver.", source=("derived",), tag="G2", within=_WHEELS)


# ---------------------------------------------------------------- what there is to buy
@dataclass(frozen=True)
class Chain:
    """One chain or toothed belt: `kind` "chain" or "belt"; `pitch` [m]; `tensile` [N], 0 where not stated; `outside` [m] that it
    stands beyond the pitch line; `use` in words; `mark`, how far the row can be trusted."""

    name: str
    kind: str
    pitch: float
    tensile: float
    outside: float
    use: str
    mark: str


@lru_cache(maxsize=1)
def _table() -> dict[str, Chain]:
    rows = (line for line in data.read_text("evlab-2026-chains-and-belts.csv").splitlines() if not line.startswith("#"))
    return {r["name"]: Chain(r["name"], r["kind"], float(r["pitch_mm"]) / 1e3, float(r["tensile_N"]), float(r["outside_mm"]) / 1e3,
                             r["use"], r["mark"]) for r in csv.DictReader(rows)}


CHAINS = _table()


def chain_of(name: str) -> Chain:
    """The chain or belt of this name; another name raises InputError with the list."""
    if name not in CHAINS:
        raise InputError(f"Input chain must be one of {', '.join(CHAINS)}; instead received {name!r}.{nearest(name, CHAINS)}")
    return CHAINS[name]


def pitch_diameter_of(chain: Chain, teeth: float) -> float:
    """Pitch diameter of a wheel [m] for this chain or belt; fewer than 6 teeth, or a broken number, raises InputError."""
    if not (teeth >= 6 and math.isfinite(teeth) and teeth == int(teeth)):
        raise InputError(f"Input teeth of a wheel must be 6 or more, in whole numbers; instead received {teeth:g}.")
    return float((belt_pitch_diameter if chain.kind == "belt" else chain_pitch_diameter)(chain.pitch, teeth))


def _over_teeth(chain: Chain, teeth: float) -> float:
    """Diameter over a wheel's teeth [m]; a belt's teeth end inside its pitch circle, so that is what is taken."""
    return float(tip_diameter(chain.pitch, teeth)) if chain.kind == "chain" else pitch_diameter_of(chain, teeth)


def links_for(chain: Chain, driver_teeth: int, driven_teeth: int, centre_distance: float) -> float:
    """Links, not rounded, that two wheels take at a centre distance [m].

    Raises InputError where the wheels would run into each other, and for a distance below zero.
    """
    d1, d2 = pitch_diameter_of(chain, driver_teeth), pitch_diameter_of(chain, driven_teeth)
    closest = (_over_teeth(chain, driver_teeth) + _over_teeth(chain, driven_teeth)) / 2
    if not (closest < centre_distance < math.inf):
        raise InputError(f"Input centre_distance must be above {1e3 * closest:.0f} mm, or wheels of {driver_teeth} and "
                         f"{driven_teeth} teeth run into each other; instead received {1e3 * centre_distance:g} mm.")
    return float(strand_links(centre_distance, chain.pitch, driver_teeth, driven_teeth, d1, d2))


def centre_for_links(chain: Chain, driver_teeth: int, driven_teeth: int, links: int) -> float:
    """Centre distance [m] at which so many links are taut: the root of `strand_links`.

    Raises InputError for a strand too short to go round wheels that clear each other, and for one longer than 10 m of centres.
    """
    from scipy.optimize import brentq

    d1, d2 = pitch_diameter_of(chain, driver_teeth), pitch_diameter_of(chain, driven_teeth)
    closest = (_over_teeth(chain, driver_teeth) + _over_teeth(chain, driven_teeth)) / 2 + 1e-6
    least = math.ceil(links_for(chain, driver_teeth, driven_teeth, closest))
    part = "links" if chain.kind == "chain" else "teeth"
    most = int(links_for(chain, driver_teeth, driven_teeth, 10.0))
    if not (least <= links <= most and links == int(links)):
        raise InputError(f"Input links must be a whole number from {least} (fewer, and the wheels run into each other) to {most} "
                         f"for {driver_teeth} and {driven_teeth} teeth on {chain.name}; instead received {links:g} {part}.")

    def slack(centre: float) -> float:
        return float(strand_links.floats(centre, chain.pitch, driver_teeth, driven_teeth, d1, d2)) - links

    return float(brentq(slack, closest, 10.1, xtol=1e-12))


# ---------------------------------------------------------------- one drive
@dataclass(frozen=True)
class Geometry:
    """The last stage of a drive, between shaft and wheel.

    Lengths [m]: `driver_diameter` and `wheel_diameter` (pitch), `outer_diameter` over the wheel's teeth, `centre_distance` of
    the whole number of `links` (`exact_links` is what the stated distance asks for), `ground_clearance` under the chain,
    `frame_clearance` (nan: not stated; below zero: it does not fit).  `ripple`; `tension` [N]; `safety` (nan: strength not stated);
    `speed_of_chain` [m/s]; `wrap` [rad] on the driver; `remarks`, sentences.
    """

    chain: Chain
    driver_teeth: int
    wheel_teeth: int
    driver_diameter: float
    wheel_diameter: float
    outer_diameter: float
    links: int
    exact_links: float
    centre_distance: float
    ripple: float
    tension: float
    safety: float
    speed_of_chain: float
    wrap: float
    ground_clearance: float
    frame_clearance: float
    remarks: tuple[str, ...]

    @property
    def sag(self) -> float:
        """Play of a chain's slack side, up and down together [m]: 2 % of the centre distance (common practice, no source)."""
        return 0.02 * self.centre_distance if self.chain.kind == "chain" else 0.0


SLIDE = 0.25  # links: so much the motor slides in its slots for a strand that is a little short
SPARE = 0.08  # of the links that a distance asks for: a strand further off is another one


def geometry(gearing: Any, motor_torque: float, speed: float) -> Geometry:
    """What the last stage of a gearing looks like and how hard it pulls.

    Parameters: gearing, with the fields of `gearing.Gearing`; motor_torque [N m] at the motor's shaft; speed [m/s] over ground.
    Returns Geometry.  Raises InputError for fewer than 6 teeth, a strand too short and wheels that would touch.
    """
    chain = chain_of(gearing.chain)
    z1, z2 = gearing.motor_teeth, gearing.wheel_teeth
    d1, d2 = pitch_diameter_of(chain, z1), pitch_diameter_of(chain, z2)
    exact, links, centre = _strand(chain, gearing)
    shaft = motor_torque * gearing.shaft_ratio * gearing.chain_efficiency ** (gearing.stages - 1)
    tension = float(chain_tension(shaft, d1))
    outermost = max(_over_teeth(chain, z2) / 2, d2 / 2 + chain.outside)
    clear = gearing.frame_gap - outermost if gearing.frame_gap else math.nan
    made = Geometry(
        chain=chain, driver_teeth=z1, wheel_teeth=z2, driver_diameter=d1, wheel_diameter=d2, outer_diameter=_over_teeth(chain, z2),
        links=links, exact_links=exact, centre_distance=centre, ripple=float(ripple(z1)) if chain.kind == "chain" else 0.0,
        tension=tension, safety=float(chain_safety(chain.tensile, abs(tension))) if chain.tensile and tension else math.nan,
        speed_of_chain=float(chain_speed(z2, chain.pitch, speed / gearing.wheel_radius)), wrap=float(wrap_angle(d1, d2, centre)),
        ground_clearance=gearing.wheel_radius - outermost, frame_clearance=clear, remarks=())
    return Geometry(**{**vars(made), "remarks": tuple(_remarks(made, gearing))})


def _strand(chain: Chain, gearing: Any) -> tuple[float, int, float]:
    """(links that the stated distance asks for, whole links, their centre distance); what is not stated is worked out, 40 pitches
    between the axles where nothing is."""
    z1, z2, stated = gearing.motor_teeth, gearing.wheel_teeth, gearing.centre_distance
    if not stated and gearing.links:
        stated = centre_for_links(chain, z1, z2, gearing.links)
    stated = stated or max(40 * chain.pitch, 0.75 * (pitch_diameter_of(chain, z1) + pitch_diameter_of(chain, z2)))
    exact = links_for(chain, z1, z2, stated)
    step = 2 if chain.kind == "chain" else 1
    if gearing.links and abs(gearing.links - exact) <= SPARE * exact:
        return exact, gearing.links, centre_for_links(chain, z1, z2, gearing.links)
    links = step * math.ceil((exact - SLIDE) / step)
    return exact, links, centre_for_links(chain, z1, z2, links)


def _remarks(g: Geometry, gearing: Any) -> Iterator[str]:
    """Sentences about the distance of the axles; what wears, breaks or does not fit is told by the cautions."""
    centre, stated = 1e3 * g.centre_distance, 1e3 * gearing.centre_distance
    part = "links" if g.chain.kind == "chain" else "teeth"
    if gearing.links and gearing.links != g.links:
        yield (f"{gearing.links} {part} are too {'few' if gearing.links < g.links else 'many'} for these wheels at {stated:.0f} "
               f"mm: {g.links} go round.")
    if stated and abs(centre - stated) > 0.5:
        yield (f"{g.links} {part} are taut at {centre:.1f} mm, {stated:.1f} mm are stated: make the motor's seat adjustable, or "
               "take up the slack with a jockey wheel on the slack side.")
    if not stated and not gearing.links:
        yield f"No centre distance is stated: {centre:.0f} mm, about 40 pitches, is taken (common practice, no source)."
