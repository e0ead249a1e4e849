"""Flux that a ring of magnets sends through a coil, by three routes that share no more than the transfer of a wave.

The map of the real ring (curved, with whatever magnets), summed over the turns of the real coil; the unrolled ring with a coil of
finite length, by one integral; and the closed form of a coil so long that its ends do not matter.  Their spread is the honest
uncertainty of any hand calculation.  All tell the flux through the mean turn, so turns multiply it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from evlab import magnets
from evlab.coils import Coil
from evlab.glossary import entry
from evlab.rings import FieldMap, Ring
from evlab.units import InputError, made_by, si, told

__all__ = ["Linkage", "finite_coil", "long_coil", "strip_field"]

ROWS, TURN = 48, 720  # radii, and angles of a full turn, at which the map is read
LONGEST = 4000.0  # 1/m: shorter waves than 1.6 mm do not reach a coil


@dataclass(frozen=True)
class Linkage:
    """Flux through the mean turn of a coil against the angle of the rotor, from the map of the real ring.

    Parameters: `ring`; `coil`; `height` [m] of the middle of the coil above the face of the magnets.  Raises InputError in words
    for a coil that is not in the air above the magnets.
    """

    ring: Ring
    coil: Coil
    height: float

    def __post_init__(self) -> None:
        made_by("ring of Linkage", self.ring, "transfer", "evlab.Ring.of()")
        made_by("coil of Linkage", self.coil, "linked", "evlab.Coil.of()")
        height = si(self.height, entry("magnet_radius"), "height of Linkage")
        if abs(height) > 10:
            raise InputError(f"Input height of Linkage must be less than 10 m; instead received {told(self.height)}.")
        object.__setattr__(self, "height", height)

    @cached_property
    def map(self) -> FieldMap:
        """The flux density in the plane of the coil, averaged over its thickness."""
        return self.ring.map(self.height, self.coil.thick)

    @cached_property
    def spectrum(self) -> Any:
        """Complex harmonics of the flux over a mechanical turn [Wb], from 0 up; the flux is the sum of their real waves."""
        low, high = self.coil.reach(self.ring.radius)
        radii = low + (np.arange(ROWS) + 0.5) / ROWS * (high - low)
        angles = 2 * math.pi * np.arange(TURN) / TURN
        x, y = radii[:, None] * np.cos(angles), radii[:, None] * np.sin(angles)
        field = np.fft.rfft(self.map.at(x, y), axis=1) / TURN
        near = np.abs((angles + math.pi) % (2 * math.pi) - math.pi) <= self.coil.half_angle(self.ring.radius) + 2 * math.pi / TURN
        seen = np.zeros_like(x)  # elsewhere no turn goes round the place
        seen[:, near] = self.coil.linked(np.stack([x[:, near], y[:, near]], axis=-1), self.ring.radius)
        turns = np.fft.rfft(seen, axis=1) / TURN
        strips = 2 * math.pi * radii * (high - low) / ROWS
        return (strips[:, None] * field * turns.conj()).sum(axis=0)

    def flux(self, angles: Any) -> Any:
        """Flux through the mean turn [Wb] with the rotor turned by mechanical angles [rad]; zero: a magnet over the coil."""
        m = np.arange(len(self.spectrum))
        waves = np.exp(-1j * np.multiply.outer(np.asarray(angles, float), m)) * self.spectrum
        return waves.real[..., 0] + 2 * waves.real[..., 1:].sum(axis=-1)

    def emf_shape(self, angles: Any) -> Any:
        """Volts of one turn at one radian per second, over the angle of the rotor [V s/rad]."""
        m = np.arange(len(self.spectrum))
        waves = 1j * m * np.exp(-1j * np.multiply.outer(np.asarray(angles, float), m)) * self.spectrum
        return 2 * waves.real.sum(axis=-1)

    def harmonic(self, order: int) -> float:
        """Amplitude of a harmonic of the poles [Wb], with its sign against the fundamental's crest (1: the fundamental)."""
        at = order * self.ring.pairs
        return 2 * float(self.spectrum[at].real) if at < len(self.spectrum) else 0.0

    @property
    def fundamental(self) -> float:
        return self.harmonic(1)

    def must_link(self) -> None:
        """Raises InputError where the coil is so wide that the poles beside its own take more flux than its own gives."""
        if not self.fundamental > 0:
            wide, pitch = 1e3 * self.coil.across(), 1e3 * self.ring.pitch
            raise InputError(f"Coils {wide:.3g} mm wide in the mean span {wide / pitch:.2g} poles of {pitch:.3g} mm: the poles "
                             "beside cancel the flux of the middle one. Take fewer magnets (motor.magnets.poles), or narrower "
                             f"coils: up to one pole wide, {pitch:.3g} mm.")

    def constant(self, turns: int) -> float:
        """EMF constant of one coil, peak of its fundamental [V s/rad]."""
        return turns * self.fundamental * self.ring.pairs


# ---------------------------------------------------------------- the unrolled ring
def strip_field(ring: Ring, height: float, angles: Any, highest: int = 41) -> Any:
    """Flux density along the shaft [T] of a ring of blocks at a height above their face, by the series of endless strips (M2, M3).

    Parameters: `ring` of blocks, all alike; `height` [m]; `angles` along the ring [rad], 0 over the first magnet; `highest` order.
    Raises InputError for discs, which have no single width.
    """
    if ring.shape == "disc":
        raise InputError("The series of endless strips is for block magnets: a disc has no single width, so with its diameter the "
                         "series is up to a quarter too high. Ask long_coil, finite_coil or Linkage, which know its outline.")
    share, places = ring.wide / ring.pitch, ring.pairs * np.asarray(angles, float)
    total = np.zeros_like(places)
    for order in range(1, highest + 1, 2):
        wave = _wave(ring, order)
        amount = float(magnets.strip_harmonic(ring.remanence, float(order), share)) * float(ring.transfer(wave, height))
        total += amount * np.cos(order * places)
    return total


def long_coil(ring: Ring, coil: Coil, height: float, order: int = 1) -> float:
    """Amplitude of a harmonic of the flux through the mean turn [Wb], if the coil were much longer than the magnets.

    Parameters: `ring`, `coil`, `height` as of Linkage; `order`, odd.  Sources: unrolled ring; a disc by its line integral (M5, M8).
    """
    wave, w = _wave(ring, order), coil.across()
    transfer = float(ring.transfer(wave, height, coil.thick))
    return ring.remanence * _row(ring, wave, 0.0) * transfer * _window(wave, w) * _ramp(wave, coil.side)


def finite_coil(ring: Ring, coil: Coil, height: float, order: int = 1) -> float:
    """The same for the coil as long as it is: one integral over the waves along the radius (M6).

    Parameters: `ring`, `coil`, `height`, `order` as of long_coil.  A coil with straight ends counts as a rectangle of its mean
    width; a round one as it is.
    """
    wave = _wave(ring, order)
    radial = np.linspace(0.0, LONGEST, 4001)
    total = np.hypot(wave, radial)
    seen = ring.remanence * _row(ring, wave, radial) * ring.transfer(total, height, coil.thick)
    if coil.shape == "round":
        from scipy.special import j1

        parts = coil.inner / 2 + coil.side * (np.arange(24) + 0.5) / 24
        opened = np.mean([2 * math.pi * r * j1(total * r) / total for r in parts], axis=0)
    else:
        opened = (_window(wave, coil.across()) * _ramp(wave, coil.side)
                  * _window(radial, coil.long + coil.side) * _ramp(radial, coil.side))
    return float(np.trapezoid(seen * opened, radial)) / math.pi


def _wave(ring: Ring, order: int) -> float:
    if type(order) is not int or order < 1 or order % 2 == 0:
        raise InputError("Input order must be an odd number from 1: a ring of equal magnets has no even harmonics; instead "
                         f"received {order}.")
    if len(set(ring.strengths)) > 1:
        raise InputError("The unrolled ring knows equal magnets only: with one missing, weak or turned over, ask Linkage, which "
                         "maps the real ring.")
    return float(magnets.wave_number(float(order), ring.pitch))


def _row(ring: Ring, wave: float, radial: Any) -> Any:
    """Harmonic of the magnetisation of the row at waves along the radius [m]: the outline's transform, two magnets in a wave."""
    return 2 / ring.pitch * ring.shape_transform(wave, radial)


def _window(waves: Any, width: float) -> Any:
    return width * np.sinc(np.asarray(waves) * width / (2 * math.pi))


def _ramp(waves: Any, side: float) -> Any:
    """The turns lie evenly over the side: the mean over it."""
    return np.sinc(np.asarray(waves) * side / (2 * math.pi))
