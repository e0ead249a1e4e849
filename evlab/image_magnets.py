"""The field of a ring in three dimensions, by the library magpylib: iron is taken as a mirror, so every magnet has its images.

It shares nothing with the waves of `rings` and is there to hold them against something: closed forms of single magnets, summed.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from evlab.coils import Coil
from evlab.rings import Ring

__all__ = ["image_field", "image_linkage", "image_vectors"]

IMAGES = 6  # on either side: with a ring of equal magnets the others add less than 1e-6 T; a spoilt ring asks for more


def _layers(ring: Ring, images: int) -> list[tuple[float, float]]:
    """(height of its middle above the face, thickness) of each layer of magnets and images, all magnetised the same way."""
    h, g = ring.thick, ring.gap
    if ring.iron == "none":
        return [(-h / 2, h)]
    if ring.iron == "two rotors, no iron":
        return [(-h / 2, h), (g + h / 2, h)]
    if ring.iron == "behind":
        return [(-h, 2 * h)]
    step = 2 * (g + h) if ring.iron == "plate across" else g + 2 * h
    return [(-h + k * step, 2 * h) for k in range(-images, images + 1)]


def image_field(ring: Ring, points: Any, images: int = IMAGES) -> Any:
    """Flux density along the shaft [T] at points [m], shape (..., 3), z from the face of the magnets; recoil permeability 1.

    Parameters: `ring`; `points`; `images`, how many of each magnet on either side.  Iron planes are endless and never saturate, as
    everywhere here.
    """
    return image_vectors(ring, points, images)[..., 2]


def image_vectors(ring: Ring, points: Any, images: int = IMAGES) -> Any:
    """All three components of the flux density [T] at points [m], an array of their shape (..., 3).

    Parameters: `ring`, `points` and `images` as of image_field.
    """
    import magpylib

    library: Any = magpylib  # its calls bear no types

    sources = []
    for number, strength in enumerate(ring.strengths):
        if not strength:
            continue
        turn = 2 * math.pi * number / ring.poles
        place = ring.radius * math.cos(turn), ring.radius * math.sin(turn)
        pole = (0.0, 0.0, strength * (-1) ** number * ring.remanence)
        for middle, thick in _layers(ring, images):
            if ring.shape == "disc":
                made = library.magnet.Cylinder(polarization=pole, dimension=(ring.wide, thick), position=(*place, middle))
            else:
                made = library.magnet.Cuboid(polarization=pole, dimension=(ring.long, ring.wide, thick), position=(*place, middle))
                made.rotate_from_angax(math.degrees(turn), "z", anchor=None)
            sources.append(made)
    there = np.asarray(points, float)
    return np.asarray(library.getB(sources, there, sumup=True)).reshape(there.shape)  # it drops lengths of one


def image_linkage(ring: Ring, coil: Coil, height: float, rows: int = 24, turns: int = 48) -> float:
    """Amplitude of the fundamental of the flux through the mean turn [Wb]; recoil permeability 1.

    Parameters: `ring` of equal magnets, `coil`, `height` [m] of its middle above the face; `rows`, radii at which the field is
    taken; `turns`, angles over one pair of poles.
    """
    low, high = coil.reach(ring.radius)
    radii = low + (np.arange(rows) + 0.5) / rows * (high - low)
    angles = 2 * math.pi / ring.pairs * np.arange(turns) / turns
    x, y = radii[:, None] * np.cos(angles), radii[:, None] * np.sin(angles)
    nodes, weights = np.polynomial.legendre.leggauss(3)
    layers = np.stack([np.stack([x, y, np.full_like(x, height + n * coil.thick / 2)], axis=-1) for n in nodes])
    field = np.tensordot(weights / 2, image_field(ring, layers), 1)  # all layers at once: making the magnets takes its time, too
    wave = 2 * (field * np.cos(ring.pairs * angles)).mean(axis=1)  # the fundamental of the ring, at each radius
    fine = 2 * math.pi * np.arange(720) / 720
    spots = np.stack([radii[:, None] * np.cos(fine), radii[:, None] * np.sin(fine)], axis=-1)
    seen = (coil.linked(spots, ring.radius) * np.cos(ring.pairs * fine)).sum(axis=1) * 2 * math.pi / 720
    return float((radii * wave * seen).sum() * (high - low) / rows)
