"""Two routes to one number, for every equation of magnets: charges, layers, potentials solved as a linear system, quadrature."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq

from evlab import magnets

from . import Route

ROUTES: list[Route] = []
WAVE = {"wave_number": 76.9, "magnet_thickness": 0.010}
ROW = {**WAVE, "recoil_permeability": 1.05}
MU0 = 4e-7 * math.pi


def _route(equation: str, words: str, inputs: Mapping[str, float], within: float = 1e-9, why: str = "") -> Callable[..., None]:
    def keep(other: Callable[..., float]) -> None:
        ROUTES.append(Route(f"magnets.{equation}", words, inputs, other, within, why))

    return keep


@_route("axis_field", "magnetic charges on the two faces, summed ring by ring",
        {"remanence": 1.30, "magnet_thickness": 0.010, "face_height": 0.005, "magnet_radius": 0.015})  # fmt: skip
def _(remanence: float, magnet_thickness: float, face_height: float, magnet_radius: float) -> float:
    def face(away: float) -> float:
        return quad(lambda s: away * s / (s * s + away * away) ** 1.5 / 2, 0.0, magnet_radius, epsabs=1e-14)[0]

    return remanence * (face(face_height) - face(face_height + magnet_thickness))


@_route("pole_pitch", "circumference over poles", {"ring_radius": 0.078, "pole_pairs": 6.0})
def _(ring_radius: float, pole_pairs: float) -> float:
    return math.tau * ring_radius / (2 * pole_pairs)


@_route("wave_number", "a whole turn of the wave over its length", {"harmonic": 3.0, "pole_pitch": 0.0408})
def _(harmonic: float, pole_pitch: float) -> float:
    return math.tau / (2 * pole_pitch / harmonic)


@_route("strip_harmonic", "Fourier integral over one pole", {"remanence": 1.30, "harmonic": 3.0, "magnet_share": 0.7})
def _(remanence: float, harmonic: float, magnet_share: float) -> float:
    edge = math.pi * magnet_share / 2
    return 4 / math.pi * quad(lambda x: remanence * math.cos(harmonic * x), 0.0, edge, epsabs=1e-14)[0]


@_route("free_transfer", "thin layers of the magnet, each seen from its own depth", {**WAVE, "face_height": 0.007})
def _(wave_number: float, magnet_thickness: float, face_height: float) -> float:
    return quad(lambda s: wave_number / 2 * math.exp(-wave_number * (face_height + s)), 0.0, magnet_thickness, epsabs=1e-14)[0]


def _potential(kappa: float, h: float, mu: float, across: float | None, height: float) -> float:
    """Scalar potential of one wave of remanence over iron: its four constants from the conditions at face and iron, solved."""
    m = 1 / MU0  # a remanence of one tesla
    e = math.exp
    # potential in the magnet: a sinh(kappa s) with s from the iron; in the air: c exp(-kappa z) + d exp(kappa z)
    far = [0.0, 0.0, 1.0] if across is None else [0.0, e(-kappa * across), e(kappa * across)]
    rows = [[math.sinh(kappa * h), -1.0, -1.0], [-mu * kappa * math.cosh(kappa * h), -kappa, kappa], far]
    _a, c, d = np.linalg.solve(np.array(rows), np.array([0.0, -m, 0.0]))
    return MU0 * kappa * (c * e(-kappa * height) - d * e(kappa * height))


@_route("backed_transfer", "scalar potential over iron, solved as a linear system", {**ROW, "face_height": 0.007})
def _(wave_number: float, magnet_thickness: float, recoil_permeability: float, face_height: float) -> float:
    return _potential(wave_number, magnet_thickness, recoil_permeability, None, face_height)


@_route("plate_transfer", "scalar potential between two planes of iron, solved as a linear system",
        {**ROW, "face_gap": 0.014, "face_height": 0.007})  # fmt: skip
def _(wave_number: float, magnet_thickness: float, recoil_permeability: float, face_gap: float, face_height: float) -> float:
    return _potential(wave_number, magnet_thickness, recoil_permeability, face_gap, face_height)


@_route("two_rotor_transfer", "the middle of the gap is a plane without field along it, as iron would make it",
        {**ROW, "face_gap": 0.014, "plane_offset": 0.003})  # fmt: skip
def _(wave_number: float, magnet_thickness: float, recoil_permeability: float, face_gap: float, plane_offset: float) -> float:
    return _potential(wave_number, magnet_thickness, recoil_permeability, face_gap / 2, face_gap / 2 - plane_offset)


@_route("thickness_factor", "mean of a cosine hyperbolic, by quadrature", {"wave_number": 76.9, "coil_thickness": 0.011})
def _(wave_number: float, coil_thickness: float) -> float:
    half = coil_thickness / 2
    return quad(lambda u: math.cosh(wave_number * u), -half, half, epsabs=1e-14)[0] / coil_thickness


@_route("magnet_flux_density", "two facing rotors with endless poles (another equation)",
        {"remanence": 1.30, "recoil_permeability": 1.05, "face_gap": 0.014, "magnet_thickness": 0.010}, 1e-6,
        "a wave can be long, not endless")  # fmt: skip
def _(remanence: float, recoil_permeability: float, face_gap: float, magnet_thickness: float) -> float:
    return remanence * float(magnets.two_rotor_transfer(1e-2, magnet_thickness, recoil_permeability, face_gap, 0.0))


@_route("demagnetising_field", "where the magnet's line meets its flux density, searched",
        {"remanence": 1.30, "magnet_flux_density": 0.749, "recoil_permeability": 1.05}, 1e-8,
        "the permeability of empty space is taken as 4 pi 1e-7 here")  # fmt: skip
def _(remanence: float, magnet_flux_density: float, recoil_permeability: float) -> float:
    return brentq(lambda h: remanence - MU0 * recoil_permeability * h - magnet_flux_density, 0.0, 2e6, xtol=1e-6)


@_route("hot_remanence", "a straight line through 20 °C and 120 °C",
        {"remanence": 1.30, "remanence_coefficient": 0.0012, "magnet_temperature": 353.15})  # fmt: skip
def _(remanence: float, remanence_coefficient: float, magnet_temperature: float) -> float:
    return float(np.interp(magnet_temperature, [293.15, 393.15], [remanence, remanence * (1 - 100 * remanence_coefficient)]))


@_route("hot_coercivity", "a straight line through 20 °C and 120 °C",
        {"coercivity": 955e3, "coercivity_coefficient": 0.006, "magnet_temperature": 353.15})  # fmt: skip
def _(coercivity: float, coercivity_coefficient: float, magnet_temperature: float) -> float:
    return float(np.interp(magnet_temperature, [293.15, 393.15], [coercivity, coercivity * (1 - 100 * coercivity_coefficient)]))


@_route("steel_thickness", "the thickness at which half a magnet's flux fills the section, searched",
        {"magnet_flux": 0.00053, "steel_flux_density": 1.5, "steel_width": 0.040})  # fmt: skip
def _(magnet_flux: float, steel_flux_density: float, steel_width: float) -> float:
    return brentq(lambda t: magnet_flux / 2 / (t * steel_width) - steel_flux_density, 1e-5, 0.1, xtol=1e-15)
