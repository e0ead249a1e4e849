"""The pale band behind the curves: where nine of ten rides lie when what is uncertain is drawn anew, again and again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection

from evlab.look import BOOK, Look, from_si
from evlab.plots.sentences import way

PALE = 0.2  # so much of a band covers what lies behind it: two of them may cross
TOLD = "pale: 9 rides in 10"


class BandBehind:
    """A band behind each of these curves, its edges thin in the curve's own dash.

    Parameters: `look`; `curves`, {column of the band: axes on which it is drawn}, in the unit that its curve is shown in.
    """

    def __init__(self, look: Look, curves: Mapping[str, Axes]):
        self.areas = {name: self._area(look, name, axes) for name, axes in curves.items()}

    @staticmethod
    def _area(look: Look, name: str, axes: Axes) -> Any:
        dash, colour = BOOK["quantity"][name]["dash"], look.line(name)
        area = PolyCollection([], facecolor=(colour, PALE), edgecolor=(colour, 0.5), lw=0.6, zorder=1.6)
        area.set_linestyle([(0, tuple(dash))] if dash else ["-"])
        return look.live(axes.add_collection(area, autolim=False))

    def show(self, band: Any) -> None:
        """Move the bands to these rides; None takes them away."""
        for name, area in self.areas.items():
            shape = None if band is None else outline(band.distance, *(from_si(name, y) for y in band.bands[name][::2]))
            area.set_verts([] if shape is None else [shape])


def outline(x: Any, low: Any, high: Any) -> Any:
    """The corners round what lies between two curves, as far as both are known; None where that is nowhere."""
    known = np.isfinite(low) & np.isfinite(high)
    if known.sum() < 2:
        return None
    there, back = np.column_stack([x, low])[known], np.column_stack([x, high])[known][::-1]
    return np.concatenate([there, back])


def told(reading: str, band: Any) -> str:
    """A reading of a ride; with a band, what the other rides do stands in place of what held this one back."""
    if band is None:
        return reading
    arrive = f"{band.arrived or 'none'} {'arrives' if band.arrived == 1 else 'arrive'}"
    ends = sorted(band.reached)[: band.runs - band.arrived]
    others = f", the others end from {way(float(ends[0]))} on" if ends and band.arrived else ""
    return f"{reading.rstrip('.').partition(';')[0]}; of {band.runs} rides within its tolerances {arrive}{others}."
