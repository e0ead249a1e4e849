"""The slow branches of a capacitor bank that are too quick to be followed: they count as settled.

p: the flat parameters of a bank (see store): fast farads and their slope, then farads and ohms of each branch, and the ohms
before the terminals.  A branch that is not there has no farads.
"""

from __future__ import annotations

import math
from typing import Any

__all__ = ["PLACES", "merge", "settling", "together"]

PLACES = ((2, 1), (4, 2))  # of each branch: its farads in p, its volts in the state


def settling(p: Any, branch: int) -> float:
    """Time constant of a branch beside the fast one of an empty bank, where it is shortest [s]; 0 where there is none."""
    return float(p[branch + 1] * p[0] * p[branch] / (p[0] + p[branch])) if p[branch] > 0.0 and p[0] > 0.0 else 0.0


def merge(p: Any, settled: float) -> Any:
    """The parameters with each branch that settles in less than `settled` seconds put into the fast one.

    While a current I leaves both, such a branch lags behind by its share s of I R: the terminals see s^2 R more, and just that heat
    is made in R.
    """
    made = p.copy()
    for branch, _ in PLACES:
        if 0.0 < settling(made, branch) < settled:
            share = made[branch] / (made[0] + made[branch])
            made[6] += share**2 * made[branch + 1]
            made[0] += made[branch]
            made[branch] = 0.0
    return made


def together(x: Any, p: Any, settled: float) -> Any:
    """The state with each branch that settles in less than `settled` seconds at the volts of the fast one; the charge is kept."""
    x, p = x.copy(), p.copy()
    for branch, at in PLACES:
        if 0.0 < settling(p, branch) < settled:
            held, linear = p[0] * x[0] + p[1] * x[0] ** 2 / 2 + p[branch] * x[at], p[0] + p[branch]
            x[0] = x[at] = 2 * held / (linear + math.sqrt(linear**2 + 2 * p[1] * held))
            p[0], p[branch] = linear, 0.0
    return x
