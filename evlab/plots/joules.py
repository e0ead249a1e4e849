"""Where the joules stay: one bar for each discharge, what was used, what heated the store, what is left in it."""

from __future__ import annotations

import math
from typing import Any

from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from evlab.look import HEAD, NAME, QUIET, THIN, Build, Desk, Look, Update, number, shown, spread, width
from evlab.plots.rulers import MARGIN, label
from evlab.plots.store_ranges import StoreRanges
from evlab.plots.timed import asked

TERMS = ("used", "esr", "slow_branch", "left")
GAP = 14.0  # between numbers [1/100 inch]


def joule_bars(ranges: StoreRanges | None = None) -> Build:
    """Bars of equal length, each all the energy of its discharge; names, joules and shares under each.

    Parameters: ranges, for the pattern's sake: a bar is all there was.  Its update takes a StoreCase, by .discharges.
    Returns build(figure, look) for a figure of at least 5 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return Bars(figure, look).update

    return build


class Bars:
    """The bars on one figure.  Made by `joule_bars`."""

    def __init__(self, figure: Figure, look: Look):
        self.look, desk = look, Desk(figure)
        self.wide, self.high = desk.wide - 2 * MARGIN, desk.high
        self.axes = figure.add_axes((0, 0, 1, 1))
        self.axes.set(xlim=(0, desk.wide), ylim=(0, desk.high))
        self.axes.axis("off")
        self._say(MARGIN, self.high - 20, "Where the joules stay", look.ink, HEAD, True)

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Draw a bar for each discharge; what a pinned case used stands in brackets."""
        pitch = (self.high - 34) / max(len(case.discharges), 1)
        old = {} if pinned is None else {d.name: d for d in pinned.discharges}
        if pinned is not None:
            self._say(self.wide + MARGIN, self.high - 20, "in brackets: pinned", self.look.ink2, ha="right")
        for i, run in enumerate(case.discharges):
            self._bar(self.high - 34 - i * pitch, min(pitch - 92, 40.0), run, old.get(run.name))
        reading = joule_reading(case.discharges)
        told = "; ".join(f"{d.name}: " + ", ".join(f"{label(k)} {_share(d, k)}" for k in TERMS[:2]) for d in case.discharges)
        return f"Bars of the energy of {len(case.discharges)} discharges. {reading} {told}.", reading

    def _say(self, x: float, y: float, words: str, colour: str, size: float = QUIET, bold: bool = False, ha: str = "left") -> None:
        weight = "bold" if bold else "normal"
        self.axes.text(x, y, words, color=colour, fontsize=size, fontweight=weight, ha=ha, va="center_baseline")

    def _bar(self, top: float, tall: float, run: Any, old: Any) -> None:
        """One bar: its name above, its terms below, each with a leader."""
        total, x, bottom = whole(run), MARGIN, top - 24 - tall
        told = f"{run.name}, {asked(run)}" + ("" if run.used > 0 else f": {run.ended} at once")
        self._say(MARGIN, top - 12, told, self.look.ink, NAME, True)
        self._say(self.wide + MARGIN, top - 12, f"{shown(total / 1000, 'kJ')} in all", self.look.ink2, ha="right")
        feet, words = [], []
        for key in TERMS if total > 0 else ():
            wide = getattr(run, key) / total * self.wide
            self.axes.add_artist(Rectangle((x, bottom), max(wide, 1.5), tall, zorder=2, **self.look.fill(key)))
            lines = [label(key), f"{shown(getattr(run, key) / 1000, 'kJ')}  {_share(run, key)}"]
            words.append((lines + ([f"({shown(old.used / 1000, 'kJ')})"] if old is not None and key == "used" else []), key))
            feet.append(x + min(wide / 2, 40.0))
            x += wide
        rooms = [max(width(line, QUIET) for line in lines) + GAP for lines, _ in words]
        starts = spread([foot - 4 for foot in feet], rooms, MARGIN, self.wide + MARGIN + GAP)
        xs = [p for foot, start in zip(feet, starts, strict=True) for p in (foot, foot, start + 4, start + 4, math.nan)]
        ys = [bottom - d for d in (1, 3, 7, 9, math.nan)] * len(feet)
        self.axes.add_artist(Line2D(xs, ys, color=self.look.ink2, lw=0.8, ls="-", zorder=1))
        for start, (lines, key) in zip(starts, words, strict=True):
            words_ = "\n".join(lines)
            self.axes.text(start, bottom - 12, words_, color=self.look.text(key), fontsize=QUIET, va="top", linespacing=1.1)


def whole(run: Any) -> float:
    """All the energy that a discharge began with [J]."""
    return float(sum(getattr(run, key) for key in TERMS))


def _share(run: Any, key: str) -> str:
    total = whole(run)
    return f"{number(100 * getattr(run, key) / total, 2) if total else 0}{THIN}%"


def joule_reading(runs: Any) -> str:
    """How much is used and what takes most of the rest, in one sentence."""
    told = [d for d in runs if whole(d) > 0]
    if not told:
        return "Nothing has been discharged."
    first, hottest = told[0], max(told, key=lambda d: d.esr)
    most = max(TERMS[1:], key=lambda k: getattr(first, k))
    rest = f"of the rest most, {shown(getattr(first, most) / 1000, 'kJ')}, is {_WHERE[most]}"
    hot = f"the ESR takes most at {hottest.name}, {shown(hottest.esr / 1000, 'kJ')}"
    name = f"{first.name[:1].upper()}{first.name[1:]}"
    return f"{name} uses {_share(first, 'used')} of {shown(whole(first) / 1000, 'kJ')}; {rest}; {hot}."


_WHERE = {"left": "left in the store when it stops", "esr": "heat in its ESR", "slow_branch": "heat in its slow branch"}
