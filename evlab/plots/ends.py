"""The end of a ride that did not arrive, marked on the heights of its way."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes

from evlab.look import QUIET, Look, extent, width
from evlab.plots.sentences import way


class EndOnProfile:
    """A dot on the line of heights and words beside it; nothing for a ride that arrived.

    Parameters: `axes`, `look`; `nodes` [m] and `heights` as they are drawn there; `up`, how high the words stand.
    """

    def __init__(self, axes: Axes, look: Look, nodes: Any, heights: Any, up: float):
        self.axes, self.nodes, self.heights = axes, nodes, heights
        self.dot = look.live(axes.plot([], [], "o", color=look.ink, mec=look.paper, ms=7, zorder=5.2, clip_on=False)[0])
        self.words = look.live(axes.text(0, up, "", va="center_baseline", fontsize=QUIET, color=look.ink, zorder=5.1))
        self.words.set_bbox({"boxstyle": "square,pad=0.1", "facecolor": look.paper, "edgecolor": "none"})
        self.words.set_fontweight("bold")

    def show(self, result: Any) -> None:
        """Move the mark to where this ride ended."""
        ended = result.outcome != "arrived"
        self.dot.set_data(*(([result.distance], [self.height(result.distance)]) if ended else ([], [])))
        told = f"{result.outcome}, {way(result.distance)}" if ended else ""
        self.words.set_text(told)
        (low, high), wide = self.axes.get_xlim(), extent(self.axes)[0]
        step = (high - low) / wide
        long, after = (width(told, QUIET, True) + 6) * step, result.distance + 8 * step
        before = max(result.distance - 8 * step - long, low)
        self.words.set_x(after if after + long < high else before)

    def height(self, at: float) -> float:
        """The height of the way at a place, as drawn."""
        return float(np.interp(at, self.nodes, self.heights))
