"""The hill test: down from empty and back up, three honest ratios, and what the drag has to do with them."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import QUIET, Build, Desk, Look, Update, shown, width
from evlab.plots.chart import Axis, Chart
from evlab.plots.ranges import few_ticks, tick_words
from evlab.plots.regen_ranges import RegenRanges
from evlab.plots.sentences import percent


def hill_round(ranges: RegenRanges) -> Build:
    """The hill with how far it came back up, and under it a ruler for each of the three ratios with both its terms.

    Parameters: ranges, for the pattern's sake: the hill is drawn to fill its place.  Its update takes a HillTest.
    Returns build(figure, look) for a figure of at least 6 x 4.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return HillRound(figure, look).update

    return build


class HillRound:
    """Profile above, rulers below.  Made by `hill_round`; all is drawn anew in each update."""

    def __init__(self, figure: Figure, look: Look):
        self.look, self.desk = look, Desk(figure)
        desk, foot = self.desk, 232.0
        self.hill = desk.axes(52, foot + 34, desk.wide - 76, desk.high - foot - 78)
        self.hill.grid(False)
        desk.text(8, desk.high - 20, "Height over the foot, m", look.ink, bold=True)
        self.pinned = look.live(desk.text(desk.wide - 8 - width("grey ring: pinned", QUIET), desk.high - 20, "", look.ink2, QUIET))
        self.bars = desk.axes(8, 8, desk.wide - 32, foot - 26)
        self.bars.set(xlim=(0, 1), ylim=(0, 3))
        self.bars.axis("off")

    def update(self, test: Any, pinned: Any = None) -> tuple[str, str]:
        """Draw this test; where a pinned one came to as a grey ring."""
        self.pinned.set_text("" if pinned is None else "grey ring: pinned")
        self._hill(test, pinned)
        self._ratios(test)
        reading = str(test.reason)
        told = "; ".join(f"{r.name} {percent(r.value)}" for r in test.ratios)
        return f"A hill with the place to which it came back up, and three ratios: {told}. {reading}", reading

    def _hill(self, test: Any, pinned: Any) -> None:
        """The profile from the foot at the left up to the top, and where it came to."""
        axes, look, back = self.hill, self.look, test.back
        x = np.linspace(0.0, back.length, 200)
        y = back.height(x)
        top = float(np.max(y))
        axes.set(xlim=(0, back.length), ylim=(0, 1.28 * top))
        for ticks, put in ((few_ticks(0, back.length, 5), axes.set_xticks), (few_ticks(0, 1.15 * top, 4), axes.set_yticks)):
            put(ticks, tick_words(ticks))
        axes.set_xlabel("way back up, m", loc="right")
        axes.fill_between(x, y, 0, color=look.tint("height", 0.22), lw=0, zorder=1.2)
        axes.plot(x, y, zorder=1.4, **look.stroke("height", 1.6))
        came = test.way_back
        inside = x <= came
        axes.plot(x[inside], y[inside], color=look.line("store"), lw=4.0, ls="-", zorder=2, solid_capstyle="butt")
        at = float(back.height(came))
        axes.plot([came], [at], marker="o", ms=9, mfc=look.paper, mec=look.ink, mew=1.8, zorder=4)
        words = f"comes back to {shown(came, 'm')}: {percent(test.share_of_way)} of the way"
        bold: dict[str, Any] = {"va": "center_baseline", "fontsize": QUIET, "fontweight": "bold", "zorder": 5}
        axes.text(0.012 * back.length, 1.16 * top, words, color=look.ink, **bold)
        axes.plot([came, came], [at, 1.08 * top], color=look.ink2, lw=0.9, ls=(0, (1.1, 2.2)), zorder=3)
        if pinned is not None:
            before = min(pinned.way_back, back.length)
            axes.plot([before], [float(back.height(before))], marker="o", ms=7, mfc=look.paper, mec=look.ink2, mew=1.2, zorder=3.5)

    def _ratios(self, test: Any) -> None:
        """For each ratio an outline for its denominator, filled as far as its numerator, and both in words."""
        look, axes, wide = self.look, self.bars, self.desk.wide - 32
        for row, ratio in enumerate(test.ratios):
            base = 2.86 - row
            left, right = 0.0, 1.0 - 74 / wide
            share = min(max(ratio.value, 0.0), 1.0)
            axes.text(left, base, f"{ratio.name}: {ratio.over}", color=look.ink, fontsize=QUIET, va="center_baseline", zorder=3)
            axes.text(left, base - 0.26, f"over {ratio.under}", color=look.ink2, fontsize=QUIET, va="center_baseline", zorder=3)
            end, heights = left + share * (right - left), [base - 0.44, base - 0.44, base - 0.62, base - 0.62]
            axes.fill([left, right, right, left], heights, facecolor="none", edgecolor=look.ink2, lw=0.9, ls="-", zorder=2)
            filled: dict[str, Any] = {"facecolor": look.tint("store", 0.55), "edgecolor": look.line("store"), "zorder": 2.2}
            axes.fill([left, end, end, left], heights, lw=0.9, ls="-", **filled)
            axes.text(right + 8 / wide, base - 0.53, f"{percent(ratio.value)}", color=look.ink, fontweight="bold",
                      va="center_baseline", zorder=3)  # fmt: skip


# ---------------------------------------------------------------- what the drag does
HALF = 0.5  # of the way: the share that is asked for


def drag_share(ranges: RegenRanges) -> Build:
    """Share of the way that is regained over the unpowered drag (tyres, bearings, motor), today's being 100 %.

    Parameters: ranges, for the pattern's sake: shares end at 100 %.  Its update takes a HillTest, by .drag and .allowed_drag.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        chart = Chart(figure, look, Axis.even(0.0, 150.0, 7), Axis.even(0.0, 100.0, 6),
                      ("drag with the power off, % of today's", "Of the way back up, %"), right=120)  # fmt: skip
        chart.line([0.0, 150.0], [100 * HALF] * 2, (0, (1.1, 2.2)))

        def update(test: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            if pinned is not None:
                chart.curve("drag_share", 100 * pinned.drag[0], 100 * pinned.drag[1], ghost=True)
            factors, shares = test.drag
            chart.curve("drag_share", 100 * factors, 100 * shares, wide=2.4)
            here = float(np.interp(1.0, factors, shares))
            chart.axes.plot([100.0], [100 * here], marker="o", ms=8, mfc=look.paper, mec=look.ink, mew=1.8, zorder=4)
            chart.say(103.0, 100 * here + 4, "today", bold=True, over=True)
            allowed = 100 * test.allowed_drag(HALF)
            if allowed <= 150.0:
                chart.axes.plot([allowed], [100 * HALF], marker="x", ms=8, mew=1.8, color=look.ink, zorder=4)
            named = (100 * float(shares[-1]), "of the way\nregained", look.text("drag_share"), True)
            chart.beside([named, (100 * HALF, "half of\nthe way", look.ink2, False)])
            reading = drag_reading(test)
            return f"Share of the way that is regained over the drag with the power off. {reading}", reading

        return update

    return build


def drag_reading(test: Any) -> str:
    """What no drag at all would give, and the drag that half of the way allows, in one sentence."""
    factors, shares = test.drag
    here, none = float(np.interp(1.0, factors, shares)), float(shares[0])
    allowed = test.allowed_drag(HALF)
    stays = "copper, chain and electronics stay"
    if not test.vehicle.controller.braking_current_limit:
        stays = "the motor may not brake"
    elif any(spell.by == "full store" for spell in test.down.held):
        stays = "the store is full before the foot"
    half = (f"; half of the way would allow {percent(allowed)} of today's drag" if allowed == allowed else
            ": half of the way is not to be had")  # fmt: skip
    return f"Today {percent(here)} of the way is regained; without any drag {percent(none)}, since {stays}{half}."
