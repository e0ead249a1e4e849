"""What the axes of the pictures of magnets cover: taken from the vehicle, widened when a case leaves them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from evlab.magnet_case import MagnetCase
from evlab.plots.ranges import Span
from evlab.plots.store_ranges import grown, rounded

_PLACES = np.linspace(0.0, 360.0, 361)


@dataclass(frozen=True)
class MagnetRanges:
    """Of the pictures of magnets, in SI: field [T] in the plane of the coils, flux [Wb] through one turn, emf [V s/rad] of one
    coil, radii [m] of the ring that is shown."""

    field: float
    flux: float
    emf: float
    radii: Span

    @classmethod
    def around(cls, vehicle: Any) -> MagnetRanges:
        """Ranges that hold this vehicle's magnets and coil."""
        case = MagnetCase(vehicle)
        flux, emf = rounded(1.4 * _most(case.turn_flux)), rounded(1.4 * _most(case.coil_emf))
        return cls(field=rounded(1.3 * case.peak), flux=flux, emf=emf, radii=case.radii)

    def widened(self, case: Any) -> MagnetRanges:
        """The same ranges while all lies inside; else what must be is wider."""
        low, high = case.radii
        wider = grown(self, field=case.peak, flux=_most(case.turn_flux), emf=_most(case.coil_emf))
        if low < self.radii[0] - 0.001 or high > self.radii[1] + 0.001:
            wider = grown(wider, radii=(low, high))
        return wider


def _most(curve: Any) -> float:
    return float(np.abs(curve(_PLACES)).max())
