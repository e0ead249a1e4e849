"""Rings of magnets and the field that they make in a plane: harmonics of the unrolled ring, and the map of the real one.

The magnetisation of a ring is known exactly as a Fourier transform: disc and block have closed forms, a place in the ring is a
phase.  What iron and height do to each wave is its transfer (see magnets).  So one inverse transform gives the map at any
height, for whatever magnets, with one missing, turned over or weak.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from evlab import magnets
from evlab.glossary import entry
from evlab.units import InputError, listed, one_of, si, told

__all__ = ["IRON", "FieldMap", "Ring"]

IRON = ("none", "behind", "plate across", "two rotors", "two rotors, no iron")
ACROSS = ("plate across", "two rotors", "two rotors, no iron")  # these have a face across from the magnets
MOST = 1000  # magnets of one ring
SIZES = (256, 512, 1024)  # points along one side of a map: the nearer the magnets, the finer
MARGIN, UNEVEN = 0.08, 0.24  # m about the magnets: farther out little is left; a spoilt ring is felt farther away


@dataclass(frozen=True)
class Ring:
    """One ring of magnets, or two that face each other.  Lengths in metres, `remanence` in tesla.

    `poles`, how many magnets a ring has, north and south in turn, on a circle of `radius`; `shape` "disc" (`wide` is its diameter)
    or "block" (`wide` along the ring, `long` along the radius); `thick`; `recoil`, its recoil permeability; `iron`, one of IRON;
    `gap` from the face of the magnets to the face across from them (without a meaning where there is none); `strengths`, of each
    magnet: 1 as it should be, 0 missing, -1 turned over.
    """

    poles: int
    radius: float
    shape: str
    wide: float
    long: float
    thick: float
    remanence: float
    recoil: float
    iron: str
    gap: float
    strengths: tuple[float, ...]

    @classmethod
    def of(cls, poles: int, *, radius: Any, wide: Any, thick: Any, remanence: Any, shape: str = "disc", long: Any = None,
           recoil: Any = 1.05, iron: str = "behind", gap: Any = None, strengths: Any = None) -> Ring:
        """A ring from values in SI or texts with their unit, refused in words where it cannot be built.

        Parameters: `poles`, `radius`, `wide`, `thick`, `remanence`, `shape`, `long`, `recoil`, `iron`, `gap` and `strengths` as of
        the class; all magnets are as they should be when no strengths are given.
        """
        if type(poles) is not int or not 2 <= poles <= MOST or poles % 2:
            raise InputError(f"Input poles of Ring must be an even number of magnets from 2 to {MOST}, since north and south take "
                             f"turns; instead received {told(poles)}.")
        one_of("shape of Ring", shape, ("disc", "block"))
        one_of("iron of Ring", iron, IRON)
        if shape == "block" and long is None:
            raise InputError("Input long of Ring must be given for block magnets, such as \"30 mm\".")
        if iron in ACROSS and gap is None:
            raise InputError(f"Input gap of Ring must be given with {iron}: from face to face, such as \"14 mm\".")
        across = _length(wide, "wide")
        made = cls(
            poles,
            _length(radius, "radius"),
            shape,
            across,
            across if shape == "disc" else _length(long, "long"),
            _length(thick, "thick"),
            _between(si(remanence, entry("remanence"), "remanence of Ring"), 0.05, 1.6, "remanence", "T"),
            _between(si(recoil, entry("recoil_permeability"), "recoil of Ring"), 1.0, 1.5, "recoil", ""),
            iron,
            _length(gap, "gap") if iron in ACROSS else math.inf,
            _strengths(strengths, poles),
        )
        made._fits()
        return made

    def _fits(self) -> None:
        if self.radius <= self.long / 2:
            raise InputError(f"Magnets {1e3 * self.long:.3g} mm long do not fit on a circle of {1e3 * self.radius:.3g} mm: they "
                             "would reach the shaft.")
        room = self.room
        if room < 0:
            need = self.radius * (self.wide + 1e-4) / (self.wide + room)
            raise InputError(f"{self.poles} magnets {1e3 * self.wide:.3g} mm wide overlap by {-1e3 * room:.2g} mm on a circle of "
                             f"{1e3 * self.radius:.3g} mm: take a circle of at least {1e3 * need:.3g} mm, fewer or smaller "
                             "magnets.")

    @property
    def room(self) -> float:
        """Way between neighbouring magnets where they come nearest [m]; below zero they overlap."""
        near = self.radius if self.shape == "disc" else self.radius - self.long / 2
        turn = math.pi / self.poles
        return 2 * near * (math.sin(turn) if self.shape == "disc" else math.tan(turn)) - self.wide

    # ------------------------------------------------------------ numbers of the ring
    @property
    def pairs(self) -> int:
        return self.poles // 2

    @property
    def pitch(self) -> float:
        """Pole pitch on the circle of the magnets [m]."""
        return math.pi * self.radius / self.pairs

    @property
    def middle(self) -> float:
        """Height of the middle of the gap above the face [m]; only where there is a face across."""
        return self.gap / 2

    def with_magnet(self, number: int, strength: float) -> Ring:
        """The same with one magnet (counted from 0) missing (0), turned over (-1) or weak."""
        if type(number) is not int or not 0 <= number < self.poles:
            raise InputError(f"Input number of with_magnet must be a magnet from 0 to {self.poles - 1}; instead received "
                             f"{told(number)}.")
        changed = [strength if i == number else s for i, s in enumerate(self.strengths)]
        return replace(self, strengths=_strengths(changed, self.poles))

    # ------------------------------------------------------------ waves
    def transfer(self, waves: Any, height: float, thick: float = 0.0) -> Any:
        """The share of waves [1/m] of the remanence that is found at a height above the face, averaged over a thickness [m] about
        it; an array of the shape of `waves`."""
        k = np.maximum(np.asarray(waves, float), 1e-9)
        h, mu, mean = self.thick, self.recoil, _sinhc(k * thick / 2)
        if self.iron == "none":
            return magnets.free_transfer.arrays(k, h, height) * mean
        if self.iron == "two rotors, no iron":
            return (magnets.free_transfer.arrays(k, h, height) + magnets.free_transfer.arrays(k, h, self.gap - height)) * mean
        if self.iron == "behind":
            return magnets.backed_transfer.arrays(k, h, mu, height) * mean
        if self.iron == "plate across":
            return magnets.plate_transfer.arrays(k, h, mu, self.gap, height) * mean
        return magnets.two_rotor_transfer.arrays(k, h, mu, self.gap, height - self.gap / 2) * mean

    def shape_transform(self, along: Any, radial: Any) -> Any:
        """Fourier transform of the outline of one magnet [m2] at wave numbers along the ring and along the radius [1/m]."""
        from scipy.special import j1

        if self.shape == "disc":
            k, r = np.maximum(np.hypot(along, radial), 1e-9), self.wide / 2
            return 2 * math.pi * r * j1(k * r) / k
        return self.wide * self.long * _sinc(np.asarray(along) * self.wide / 2) * _sinc(np.asarray(radial) * self.long / 2)

    def transform(self, kx: Any, ky: Any) -> Any:
        """Fourier transform of the magnetisation of the whole ring [m2], signs and strengths counted, complex.

        Parameters: `kx`, a column of wave numbers along x [1/m]; `ky`, a row of those along y.
        """
        turns = 2 * math.pi * np.arange(self.poles) / self.poles
        signs = np.array(self.strengths) * (-1.0) ** np.arange(self.poles)
        c, s = np.cos(turns), np.sin(turns)
        across = signs * np.exp(-1j * self.radius * np.reshape(kx, (-1, 1)) * c)  # (waves along x, magnets)
        along = np.exp(-1j * self.radius * s[:, None] * np.reshape(ky, (1, -1)))
        if self.shape == "disc":
            return self.shape_transform(kx, ky) * (across @ along)
        total = np.zeros(np.broadcast(kx, ky).shape, complex)
        for one in range(self.pairs):  # a block turns with its place; the one opposite lies as it does
            both = slice(one, None, self.pairs)
            total += self.shape_transform(-kx * s[one] + ky * c[one], kx * c[one] + ky * s[one]) * (across[:, both] @ along[both])
        return total

    def map(self, height: float, thick: float = 0.0, size: int | None = None) -> FieldMap:
        """The flux density along the shaft in a plane at a height above the face, averaged over a thickness about it.

        Parameters: `height` and `thick` [m]; `size`, points along a side of the map, by default
        enough for four of them over the height.
        """
        side, size, kx, ky = self._grid(height, thick, size)
        waves = np.hypot(kx, ky)
        return _drawn(self.remanence * self.transfer(waves, height, thick) * self.transform(kx, ky), kx, ky, side, size)

    def maps(self, height: float, size: int | None = None) -> tuple[FieldMap, FieldMap, FieldMap]:
        """All three components in a plane: along the shaft (as `map`), along x and along y.

        Parameters: `height` [m]; `size`, points along a side.  What lies in the plane follows from the slope of the field along the
        shaft, since flux neither begins nor ends in air.
        """
        side, size, kx, ky = self._grid(height, 0.0, size)
        waves = np.maximum(np.hypot(kx, ky), 1e-9)
        whole, step = self.remanence * self.transform(kx, ky), 1e-5
        slope = (self.transfer(waves, height + step) - self.transfer(waves, height - step)) / (2 * step)
        parts = self.transfer(waves, height), 1j * kx / waves**2 * slope, 1j * ky / waves**2 * slope
        axial, along_x, along_y = (_drawn(whole * part, kx, ky, side, size) for part in parts)
        return axial, along_x, along_y

    def _grid(self, height: float, thick: float, size: int | None) -> tuple[float, int, Any, Any]:
        """Side of the map [m], points along it, and its waves along x and y [1/m]; a layer outside the air is refused."""
        low = height - thick / 2
        if low < -1e-12 or height + thick / 2 > self.gap + 1e-12:
            raise InputError(f"A layer from {1e3 * low:.3g} mm to {1e3 * (height + thick / 2):.3g} mm above the magnets is not in "
                             f"the air: it must lie between 0 and {1e3 * self.gap:.3g} mm.")
        margin = MARGIN if len(set(self.strengths)) == 1 else UNEVEN
        side = 2 * (self.radius + self.long / 2 + margin)
        size = size or next((n for n in SIZES if side / n <= height / 4), SIZES[-1])
        kx = 2 * math.pi * np.fft.fftfreq(size, side / size)[:, None]
        ky = 2 * math.pi * np.fft.rfftfreq(size, side / size)[None, :]
        return side, size, kx, ky


def _drawn(spectrum: Any, kx: Any, ky: Any, side: float, size: int) -> FieldMap:
    spectrum = spectrum * np.exp(1j * (kx + ky) * (side / 2))  # the middle of the map is the shaft
    return FieldMap(np.fft.irfft2(spectrum, (size, size)) * (size / side) ** 2, side)


@dataclass(frozen=True)
class FieldMap:
    """A plane of flux density: `field` [T], square, x along the first axis, over a square of `side` [m] about the shaft."""

    field: Any
    side: float

    @cached_property
    def places(self) -> Any:
        """Where the rows and columns lie [m]."""
        n = len(self.field)
        return (np.arange(n) / n - 0.5) * self.side

    def at(self, x: Any, y: Any) -> Any:
        """The flux density at places [m], by cubic splines: arrays of one shape, or two numbers."""
        from scipy.ndimage import map_coordinates

        n = len(self.field)
        rows = np.stack(np.broadcast_arrays(*((np.asarray(v, float) / self.side + 0.5) * n for v in (x, y))))
        found = map_coordinates(self._spline, rows.reshape(2, -1), order=3, mode="grid-wrap", prefilter=False)
        return found.reshape(rows.shape[1:])[()]

    @cached_property
    def _spline(self) -> Any:
        """What the splines between the points are made of, kept: a picture asks a second time."""
        from scipy.ndimage import spline_filter

        return spline_filter(self.field, order=3, mode="grid-wrap")


def _length(value: Any, name: str) -> float:
    metres = si(value, entry("magnet_radius"), f"{name} of Ring")
    if not 0 < metres < 10:
        raise InputError(f"Input {name} of Ring must be more than 0 mm and less than 10 m; instead received {told(value)}.")
    return metres


def _between(value: float, low: float, high: float, name: str, unit: str) -> float:
    if not low <= value <= high:
        raise InputError(f"Input {name} of Ring must be {low:g} to {high:g} {unit}".rstrip() + f"; instead received {value:g}.")
    return value


def _strengths(values: Any, poles: int) -> tuple[float, ...]:
    if values is None:
        return (1.0,) * poles
    made = tuple(si(v, entry("usable_share"), f"strengths, number {i}, of Ring")
                 for i, v in enumerate(listed("strengths of Ring", values, "[1, 1, 0, 1]"), 1))
    if len(made) != poles or not all(-1.5 <= v <= 1.5 for v in made):
        raise InputError(f"Input strengths of Ring must be {poles} numbers from -1.5 to 1.5, one for each magnet (1 as it should "
                         f"be, 0 missing, -1 turned over); instead received {told(values)}.")
    return made


def _sinhc(x: Any) -> Any:
    return np.where(x < 1e-6, 1.0, np.sinh(np.maximum(x, 1e-9)) / np.maximum(x, 1e-9))


def _sinc(x: Any) -> Any:
    return np.sinc(np.asarray(x) / math.pi)
