"""Looking for the numbers at which a function of one number is zero, inside a range."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

__all__ = ["EDGE", "TINY", "onto", "zeros"]

TINY = 1e-12  # a step from zero, where a quantity has no size of its own
EDGE = 1e-12  # a root on an end of the range may come out a last bit beyond it, measured by that end


def onto(x: float, low: float, high: float) -> float | None:
    """A root inside the range, or on the end of it that it missed by rounding; None outside."""
    if low <= x <= high:
        return x
    end = low if x < low else high
    # An end that is zero has no size: what lies within the rounding of the other end may stand for it, if zero is a root.
    room = EDGE * (abs(end) or max(abs(low), abs(high)))
    return end if abs(x - end) <= room else None


def zeros(miss: Callable[[float], float], low: float, high: float) -> list[float]:
    """Places where `miss` is zero or changes its sign (at a pole, too), rising: over a grid, then by Brent's method."""
    from scipy.optimize import brentq

    places = _grid(low, high)
    at = [miss(x) for x in places]
    found = [x for x, f in zip(places, at, strict=True) if f == 0]
    for a, b, fa, fb in zip(places, places[1:], at, at[1:], strict=False):
        if fa * fb < 0:
            try:
                found.append(float(brentq(miss, a, b, xtol=1e-300, rtol=1e-14, maxiter=2000)))
            except ValueError:  # it met a place without a value: a pole, where the sign changes too
                continue
    return sorted(found)


def _grid(low: float, high: float) -> list[float]:
    """Where to look for a change of sign: close together near zero, where small quantities live, and evenly elsewhere."""
    if low > 0:
        return [float(x) for x in np.geomspace(low, high, 400)]
    most = max(abs(low), abs(high))
    steps = np.geomspace(1e-12 * most, most, 240)
    places = np.concatenate([-steps, [0.0], steps, np.linspace(low, high, 400)])
    return [float(x) for x in np.unique(places[(places >= low) & (places <= high)])]
