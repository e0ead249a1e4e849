"""What the page of magnets asks of one vehicle: the field of its ring, the flux through a coil by every route, and how far they
disagree; what heat, a missing magnet or iron change."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cached_property
from typing import Any

import numpy as np

from evlab import magnets
from evlab.coils import Coil
from evlab.linkage import Linkage, finite_coil, long_coil
from evlab.rings import Ring
from evlab.units import InputError

__all__ = ["FAULTS", "MagnetCase"]

# What may be wrong with one magnet, and its strength then.
FAULTS = {"none": 1.0, "one missing": 0.0, "one turned over": -1.0, "one half as strong": 0.5}
COOL, LOSS = 293.15, 0.0012  # K; remanence lost by a kelvin of sintered neodymium (makers' sheets: 0.11 % to 0.12 %)
MAP, INTEGRAL, ENDLESS = "map of the real ring", "coil as long as it is", "endless coil"  # routes to the flux
CLEARANCES = (0.0005, 0.0105)  # m
ROWS, PLACES = 48, 360  # of the picture of the field


class MagnetCase:
    """The magnets and the coil of one vehicle.

    Parameters: `vehicle`; `fault`, one of FAULTS; `temperature` of the magnets [K]; `coil_at`, where the first coil stands along
    the ring [rad].  Raises InputError in words for what cannot be built.
    """

    def __init__(self, vehicle: Any, *, fault: str = "none", temperature: float = COOL, coil_at: float = 0.0) -> None:
        self.vehicle, self.temperature, self.coil_at = vehicle, temperature, math.degrees(coil_at)
        self.build, self.winding = vehicle.magnets, vehicle.winding
        if fault not in FAULTS:
            raise InputError(f"Input fault of MagnetCase must be one of {', '.join(FAULTS)}; instead received {fault!r}.")
        self.fault = "" if fault == "none" else fault.replace("one", "One magnet", 1)
        cool = self.winding.ring(self.build)
        self.sound: Ring = replace(cool, remanence=float(magnets.hot_remanence(cool.remanence, LOSS, temperature)))
        self.ring: Ring = self.sound if fault == "none" else self.sound.with_magnet(1, FAULTS[fault])
        self.coil: Coil = self.winding.coil()
        self.coil.fits_round(self.winding.coils, self.ring.radius)

    # ------------------------------------------------------------ flux and EMF
    @cached_property
    def linkage(self) -> Linkage:
        return Linkage(self.ring, self.coil, self.winding.height)

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

    # ------------------------------------------------------------ routes
    @cached_property
    def routes(self) -> dict[str, float]:
        """Flux through the mean turn [Wb] of the ring as it should be, by each route that takes milliseconds."""
        height = self.winding.height
        sound = self.linkage if self.ring is self.sound else Linkage(self.sound, self.coil, height)
        return {MAP: sound.fundamental, INTEGRAL: finite_coil(self.sound, self.coil, height),
                ENDLESS: float(long_coil(self.sound, self.coil, height))}

    @cached_property
    def by_clearance(self) -> dict[str, tuple[Any, Any]]:
        """{route: (clearances [m], flux through the mean turn [Wb])} of the ring as it should be, the coil as it is."""
        w, fine, coarse = self.winding, np.linspace(*CLEARANCES, 33), np.linspace(*CLEARANCES, 7)

        def along(clearances: Any, route: Any) -> tuple[Any, Any]:
            others = [replace(w, clearance=float(c)) for c in clearances]
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
