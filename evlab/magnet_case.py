"""What the page of magnets asks of one vehicle: the field of its ring, the flux through a coil by every route, what heat, a spoilt
magnet, iron and metal plates change, and the forces."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from evlab import magnets
from evlab.cautions import Caution, of_magnets
from evlab.coils import Coil
from evlab.demagnetising import WorkingPoint, block_factor, disc_factor, grade_of, working_points
from evlab.eddies import Plate
from evlab.glossary import entry
from evlab.linkage import Linkage, finite_coil, long_coil
from evlab.rings import ACROSS, Ring
from evlab.rotor_forces import Pull, Rotor, steel_flux, steel_load, steel_words
from evlab.stray import PARTS, clear_distance, pull_curve
from evlab.units import InputError, made_by, si

__all__ = ["AWAY", "CLEARANCES", "ENDLESS", "FAULTS", "HEATS", "INTEGRAL", "LINK", "MAP", "MOST_AWAY", "THICKEST", "MagnetCase"]

# What may be wrong with one magnet, and its strength then.
LINK = "each link of a run of 06B chain"
FAULTS = {"none": 1.0, "one missing": 0.0, "one turned over": -1.0, "one half as strong": 0.5}
MAP, INTEGRAL, ENDLESS = "map of the real ring", "coil as long as it is", "endless coil"  # routes to the flux
CLEARANCES = (0.0005, 0.0105)  # m
ROWS, PLACES = 48, 360  # of the picture of the field
COOL = 293.15  # K
GAPS = 40  # points of the curve of the pull
HEATS = (273.15, 433.15)  # K
THINNEST, THICKEST = 0.001, 0.012  # m, of the steel
AWAY = (0.001, 0.3)  # m, of small steel parts
MOST_AWAY = 0.042  # m, of a plate


@lru_cache(maxsize=24)
def _linkage(ring: Ring, coil: Coil, height: float) -> Linkage:
    """Kept, since sliders come back to the same magnets: design and pictures ask for one flux."""
    return Linkage(ring, coil, height)


class MagnetCase:
    """The magnets and the coil of one vehicle.

    Parameters: `vehicle`; `fault`, one of FAULTS; `temperature` of the magnets [K]; `coil_at`, where the first coil stands along
    the ring [rad]; `speed` of the rotor [rad/s]; `plate`, (distance above the magnets' face [m], thickness [m], metal) of a plate
    that stands still, and `strip` [m], the width of the pieces into which it may be slit; `hold` [N], what holds a link of chain.
    Raises InputError in words for what cannot be built.
    """

    def __init__(self, vehicle: Any, *, fault: Any = "none", temperature: float = COOL, coil_at: float = 0.0, speed: float = 60.0,
                 plate: tuple[float, float, str] = (0.010, 0.006, "aluminium 6061"), strip: float = 0.004,
                 hold: float = 5.0) -> None:
        made_by("vehicle of MagnetCase", vehicle, "effective_mass", "evlab.load_vehicle()")
        self.vehicle, self.temperature = vehicle, si(temperature, entry("winding_temperature"), "temperature of MagnetCase")
        self.coil_at, self.speed = math.degrees(coil_at), si(speed, entry("motor_speed"), "speed of MagnetCase")
        self.build, self.winding, self.plate_of, self.strip = vehicle.magnets, vehicle.winding, plate, strip
        self.hold = hold
        if not isinstance(fault, str) or fault not in FAULTS:
            raise InputError(f"Input fault of MagnetCase must be one of {', '.join(FAULTS)}; instead received {fault!r}.")
        self.fault = "" if fault == "none" else fault.replace("one", "One magnet", 1)
        self.grade = grade_of(self.build.grade)
        self.cool: Ring = self.winding.ring(self.build)
        self.sound: Ring = replace(self.cool, remanence=self._warm(self.cool.remanence))
        self.ring: Ring = self.sound if fault == "none" else self.sound.with_magnet(1, FAULTS[fault])
        self.coil: Coil = self.winding.coil()
        self.coil.fits_round(self.winding.coils, self.ring.radius)

    def _warm(self, remanence: float) -> float:
        return float(magnets.hot_remanence(remanence, self.grade.remanence_coefficient, self.temperature))

    # ------------------------------------------------------------ flux and EMF
    @property
    def linkage(self) -> Linkage:
        return _linkage(self.ring, self.coil, self.winding.height)

    @property
    def turns(self) -> int:
        return int(self.winding.turns)

    @property
    def coil_constant(self) -> float:
        """EMF constant of one coil, peak of its fundamental [V s/rad]."""
        return self.linkage.constant(self.turns)

    @property
    def third(self) -> float:
        """Third harmonic of the flux over the fundamental, signed."""
        return self.linkage.harmonic(3) / self.linkage.fundamental

    def turn_flux(self, places: Any) -> Any:
        """Flux through one turn [Wb] of a coil at places along the ring [degrees]."""
        return self.linkage.flux(-np.radians(places))

    def coil_emf(self, places: Any) -> Any:
        """Volts of the whole coil at one radian per second [V s/rad], at places along the ring [degrees]."""
        return self.turns * self.linkage.emf_shape(-np.radians(places))

    # ------------------------------------------------------------ the picture
    @cached_property
    def radii(self) -> tuple[float, float]:
        """Smallest and largest distance from the shaft that the picture shows [m]."""
        low, high = self.coil.reach(self.ring.radius)
        half = self.ring.long / 2
        return max(min(low, self.ring.radius - half) - 0.003, 0.001), max(high, self.ring.radius + half) + 0.003

    @cached_property
    def outlines(self) -> tuple[Any, Any]:
        """Edge of the opening and outer edge of a coil on the x axis, each (n, 2) [m]."""
        return self.coil.outline(self.ring.radius), self.coil.outline(self.ring.radius, self.coil.side)

    @cached_property
    def magnet_outline(self) -> Any:
        """Outline of a magnet on the x axis, (n, 2) [m]."""
        r, ring = self.ring.radius, self.ring
        if ring.shape == "disc":
            turn = np.linspace(0.0, 2 * math.pi, 61)[:-1]
            return np.stack([r + ring.wide / 2 * np.cos(turn), ring.wide / 2 * np.sin(turn)], axis=1)
        x, y = ring.long / 2, ring.wide / 2
        return np.array([(r - x, -y), (r + x, -y), (r + x, y), (r - x, y)])

    @cached_property
    def spots(self) -> list[tuple[float, str]]:
        """Where each coil stands along the ring [degrees], and its number."""
        step = 360 / self.winding.coils
        return [((self.coil_at + i * step) % 360, str(i + 1)) for i in range(self.winding.coils)]

    def band_over(self, radii: tuple[float, float]) -> Any:
        """The flux density [T] on a grid of ROWS distances from the shaft and PLACES along the ring."""
        r = np.linspace(*radii, ROWS)[:, None]
        turn = np.linspace(0.0, 2 * math.pi, PLACES + 1)[None, :]
        return self.linkage.map.at(r * np.cos(turn), r * np.sin(turn))

    @cached_property
    def peak(self) -> float:
        """Largest flux density in the plane of the coil [T]."""
        return float(np.abs(self.linkage.map.field).max())

    @property
    def face_alone(self) -> float:
        """Flux density on the face of one lone magnet, in its middle [T]: what a meter held to it shows."""
        ring = self.sound
        factor = (disc_factor(ring.thick, 0.0, ring.wide / 2) if ring.shape == "disc" else
                  block_factor(ring.wide, ring.long, ring.thick, 0.0))
        return ring.remanence * (1 - float(factor))

    # ------------------------------------------------------------ routes
    @cached_property
    def routes(self) -> dict[str, float]:
        """Flux through the mean turn [Wb] of the ring as it should be, by each route that takes milliseconds."""
        height = self.winding.height
        return {MAP: _linkage(self.sound, self.coil, height).fundamental,
                INTEGRAL: finite_coil(self.sound, self.coil, height),
                ENDLESS: float(long_coil(self.sound, self.coil, height))}

    @cached_property
    def by_clearance(self) -> dict[str, tuple[Any, Any]]:
        """{route: (clearances [m], flux through the mean turn [Wb])} of the ring as it should be, the coil as it is."""
        fine, coarse = np.linspace(*CLEARANCES, 33), np.linspace(*CLEARANCES, 7)

        def along(clearances: Any, route: Callable[..., float]) -> tuple[Any, Any]:
            others = [replace(self.winding, clearance=float(c)) for c in clearances]
            return clearances, np.array([float(route(self._at(other), self.coil, other.height)) for other in others])

        return {MAP: along(coarse, lambda ring, coil, height: Linkage(ring, coil, height).fundamental),
                INTEGRAL: along(fine, finite_coil), ENDLESS: along(fine, long_coil)}

    @property
    def decay(self) -> float:
        """Share of the flux that one more millimetre of clearance costs."""
        wider = replace(self.winding, clearance=self.winding.clearance + 0.001)
        return 1 - finite_coil(self._at(wider), self.coil, wider.height) / self.routes[INTEGRAL]

    def _at(self, winding: Any) -> Ring:
        """The sound, warm ring with another winding's gap."""
        return replace(winding.ring(self.build), remanence=self.sound.remanence)

    @cached_property
    def witness(self) -> float:
        """The same by magpylib with image magnets [Wb]; about a second.  It knows no recoil permeability, so that is put in as the
        ratio of the fundamental's transfer."""
        from evlab.image_magnets import image_linkage

        height, wave = self.winding.height, math.pi / self.sound.pitch
        alone = replace(self.sound, recoil=1.0)
        share = float(self.sound.transfer(wave, height) / alone.transfer(wave, height))
        return share * image_linkage(alone, self.coil, height)

    # ------------------------------------------------------------ heat and counter-field
    @cached_property
    def points(self) -> tuple[WorkingPoint, ...]:
        """Where a magnet works, alone and in its place, at the temperature asked for."""
        return working_points(self.cool, self.grade, self.temperature)

    @cached_property
    def over_heat(self) -> tuple[Any, Any, dict[str, Any]]:
        """(temperatures [K], knee [A/m], {place: field against the magnet [A/m]}), straight lines all of them."""
        heats = np.array(HEATS)
        ends = [working_points(self.cool, self.grade, float(t)) for t in heats]
        knee = np.array([end[0].knee for end in ends])
        return heats, knee, {p.place: np.array([end[i].field for end in ends]) for i, p in enumerate(ends[0])}

    # ------------------------------------------------------------ forces, steel
    @cached_property
    def pull(self) -> Pull | None:
        """The pull across the gap; None where nothing is across."""
        return Pull(self.sound) if self.sound.iron in ACROSS else None

    @cached_property
    def pull_curve(self) -> tuple[Any, Any]:
        """(gaps [m], pull [N]) from a tenth of the gap to twice as much."""
        gaps = np.linspace(0.1, 2.0, GAPS) * self.winding.gap
        return gaps, (self.pull.curve(gaps) if self.pull is not None else np.zeros(GAPS))

    @cached_property
    def rotor(self) -> Rotor:
        b = self.build
        return Rotor(self.sound, b.rotors, b.hole_radius, b.disc_radius, max(b.steel_thickness, 1e-4))

    @cached_property
    def spinning(self) -> dict[str, float]:
        """What the rotor bears at its speed."""
        return self.rotor.at(self.speed)

    @property
    def has_steel(self) -> bool:
        return self.sound.iron not in ("none", "two rotors, no iron")

    @cached_property
    def steel_curve(self) -> tuple[Any, Any]:
        """(thickness of the steel [m], flux density it would have to carry [T])."""
        thick = np.linspace(THINNEST, THICKEST, 45)
        return thick, steel_load.arrays(steel_flux(self.sound), thick, self.sound.long)

    @property
    def steel(self) -> float:
        """Flux density that the steel behind the magnets would have to carry [T]; not a number where there is none."""
        if not self.has_steel or self.build.steel_thickness <= 0:
            return math.nan
        return float(steel_load(steel_flux(self.sound), self.build.steel_thickness, self.sound.long))

    @property
    def steel_words(self) -> str:
        return steel_words(self.steel) if self.steel == self.steel else "There is no steel behind the magnets."

    # ------------------------------------------------------------ steel parts near by
    @property
    def way(self) -> str:
        """From where small steel parts come near: over the magnets where they lie open, else beside the rim."""
        return "over the magnets" if self.sound.iron in ("none", "behind") else "beside the rim"

    @cached_property
    def stray(self) -> tuple[Any, dict[str, Any]]:
        """(distances [m], {part: pull over its own weight})."""
        away = np.geomspace(*AWAY, 80)
        return away, {name: pull_curve(self.sound, part, away, self.way) / part.weight for name, part in PARTS.items()}

    @cached_property
    def clear(self) -> dict[str, float]:
        """{part: distance [m] from which on the pull is less than its own weight}."""
        return {name: clear_distance(self.sound, part, way=self.way) for name, part in PARTS.items()}

    @cached_property
    def taut(self) -> float:
        """Distance [m] from which on the pull on a link of chain is less than what holds it."""
        return clear_distance(self.sound, PARTS[LINK], self.hold, way=self.way)

    @cached_property
    def cautions(self) -> list[Caution]:
        return of_magnets(self)

    # ------------------------------------------------------------ a metal plate
    def _plate(self, distance: float) -> Plate:
        return Plate.of(self.sound, distance=distance, thick=self.plate_of[1], metal=self.plate_of[2])

    @property
    def plate_fits(self) -> bool:
        return self.plate_of[0] + self.plate_of[1] <= self.sound.gap

    @cached_property
    def plate(self) -> Plate | None:
        """The plate asked for; None where it does not fit into the gap."""
        return self._plate(self.plate_of[0]) if self.plate_fits else None

    @cached_property
    def plate_loss(self) -> tuple[float, float]:
        """Power of the whole plate and of the slit one at the speed asked for [W]; not numbers where it does not fit."""
        if self.plate is None:
            return math.nan, math.nan
        return self.plate.losses(self.speed, self.strip)

    @cached_property
    def plate_curve(self) -> tuple[Any, Any, Any]:
        """(distances [m], power of the full plate [W], of the slit one) at the speed asked for; empty where it fits nowhere."""
        most = min(MOST_AWAY, self.sound.gap - self.plate_of[1])
        away = np.linspace(0.0005, most, 22) if most > 0.0005 else np.zeros(0)
        both = np.array([self._plate(float(d)).losses(self.speed, self.strip) for d in away]).reshape(-1, 2)
        return away, both[:, 0], both[:, 1]
