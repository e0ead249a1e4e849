"""Heights along a way, as instruments give them, made into a road: evenly spaced, smoothed, with a slope everywhere.

A height read each second has steps and noise; its differences are no slopes.  The smoothed height at a place is that of the
straight line fitted to its neighbourhood (weights of a Gauss curve): a straight ramp stays what it is, also at both ends.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

__all__ = ["MOST", "smooth_profile"]

MOST = 4000  # places of a road at most
FINE = 4  # means are taken over pieces so many times shorter than the smoothing length
REACH = 4.0  # standard deviations to which the weights reach


def smooth_profile(distance: Any, heights: Any, smoothing: float) -> tuple[Any, Any, Any]:
    """Places [m], smoothed heights [m] and slopes (tan) of a profile of rising distances [m] and heights [m].

    `smoothing` [m] is the length over which the heights are evened out: the weights' two standard deviations.  0 leaves them as
    they are.
    """
    d, h = np.asarray(distance, float), np.asarray(heights, float)
    length = float(d[-1])
    if smoothing <= 0:
        count = min(max(len(d) - 1, 1), MOST)
        places = d if len(d) <= MOST + 1 else np.linspace(0.0, length, count + 1)
        even = np.interp(places, d, h)
    else:
        count = int(min(max(math.ceil(FINE * length / smoothing), 8), MOST))
        places = np.linspace(0.0, length, count + 1)
        even = _local_line(places, *_means(d, h, length, 4 * count), smoothing / 2)
    slopes = np.gradient(even, places)
    slopes /= np.sqrt(np.maximum(1 - slopes**2, 1e-4))  # rise over the way along the road is a sine
    return places, even, slopes


def _means(d: Any, h: Any, length: float, pieces: int) -> tuple[Any, Any]:
    """Middles of so many even pieces, and the mean height of each: every reading counts, however dense they are."""
    area = np.concatenate([[0.0], np.cumsum(np.diff(d) * (h[:-1] + h[1:]) / 2)])
    edges = np.linspace(0.0, length, pieces + 1)
    at = np.clip(np.searchsorted(d, edges, side="right") - 1, 0, len(d) - 2)
    gone = edges - d[at]
    slope = np.diff(h)[at] / np.maximum(np.diff(d)[at], 1e-12)
    below = area[at] + gone * (h[at] + slope * gone / 2)
    return (edges[:-1] + edges[1:]) / 2, np.diff(below) / np.diff(edges)


def _local_line(places: Any, middles: Any, means: Any, width: float) -> Any:
    """Height at each place of the straight line fitted to its neighbourhood with Gauss weights of this width [m]."""
    reach = REACH * width
    first, last = np.searchsorted(middles, places - reach), np.searchsorted(middles, places + reach, side="right")
    made = np.empty(len(places))
    for i, (a, b) in enumerate(zip(first, last, strict=True)):
        if b - a < 3:
            a, b = max(0, min(a, len(middles) - 3)), min(len(middles), max(b, 3))
        x = middles[a:b] - places[i]
        weight = np.exp(-0.5 * (x / width) ** 2)
        s0, s1, s2 = weight.sum(), (weight * x).sum(), (weight * x * x).sum()
        t0, t1 = (weight * means[a:b]).sum(), (weight * x * means[a:b]).sum()
        spread = s0 * s2 - s1 * s1
        made[i] = (s2 * t0 - s1 * t1) / spread if spread > 1e-12 * s0 * s2 else t0 / s0
    return made
