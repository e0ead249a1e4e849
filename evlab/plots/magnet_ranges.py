"""What the axes of the pictures of magnets cover: taken from the vehicle, widened when a case leaves them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from evlab.magnet_case import MOST_AWAY, MagnetCase
from evlab.plots.ranges import Span
from evlab.plots.store_ranges import grown, rounded

_PLACES = np.linspace(0.0, 360.0, 361)


@dataclass(frozen=True)
class MagnetRanges:
    """Of the pictures of magnets, in SI: field [T] in the plane of the coils, flux [Wb] through one turn, emf [V s/rad] of one
    coil, radii [m] of the ring that is shown, gap [m] and pull [N] across it, counter [A/m], field against a magnet,
    away [m] of a plate."""

    field: float
    flux: float
    emf: float
    radii: Span
    gap: float
    pull: float
    counter: float
    away: float

    @classmethod
    def around(cls, vehicle: Any) -> MagnetRanges:
        """Ranges that hold this vehicle's magnets and coil."""
        case = MagnetCase(vehicle)
        flux, emf = rounded(1.4 * _most(case.turn_flux)), rounded(1.4 * _most(case.coil_emf))
        pull = 300.0 if case.pull is None else 3.0 * case.pull.force
        return cls(field=rounded(1.3 * case.peak), flux=flux, emf=emf, radii=case.radii, gap=rounded(2.2 * case.winding.gap),
                   pull=rounded(pull), counter=rounded(1.2 * float(case.over_heat[1][0])), away=_away(case))  # fmt: skip

    def widened(self, case: Any) -> MagnetRanges:
        """The same ranges while all lies inside; else what must be is wider."""
        low, high = case.radii
        wider = grown(self, field=case.peak, flux=_most(case.turn_flux), emf=_most(case.coil_emf),
                      gap=1.2 * case.winding.gap, pull=0.0 if case.pull is None else 1.2 * case.pull.force,
                      counter=float(case.over_heat[1][0]), away=_away(case))  # fmt: skip
        if low < self.radii[0] - 0.001 or high > self.radii[1] + 0.001:
            wider = grown(wider, radii=(low, high))
        return wider


def _away(case: Any) -> float:
    """How far off a plate can be [m]: as far as the gap leaves it."""
    return 1.05 * float(min(MOST_AWAY, case.sound.gap))


def _most(curve: Any) -> float:
    return float(np.abs(curve(_PLACES)).max())
