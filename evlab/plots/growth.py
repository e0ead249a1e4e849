"""The energy ledger growing along the way: a stack of the largest terms, the rest in one layer, what gave on top."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import QUIET, THIN, Build, Desk, Look, Update, beside, extent, fixed, number, width
from evlab.plots.ranges import Ranges, few_ticks, tick_words
from evlab.plots.ribbon import LONG
from evlab.plots.rulers import GIVERS, and_list, label
from evlab.plots.strips import hills

LAYERS, POINTS = 4, 800
Label = tuple[float, str, str, bool]  # as evlab.look.beside takes them


def ledger_growth(route: Any, ranges: Ranges) -> Build:
    """Where the energy went, summed from the start, over the distance of this route.

    Parameters: route, by its nodes [m], slopes [1], length [m]; ranges, whose energy [J] is the top of the axis.
    Returns build(figure, look) for a figure of at least 5 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return Growth(figure, look, route, ranges).update

    return build


class Growth:
    """The stack on one figure.  Made by `ledger_growth`; the stack is drawn anew in each update."""

    def __init__(self, figure: Figure, look: Look, route: Any, ranges: Ranges):
        self.look, desk = look, Desk(figure)
        self.axes = desk.axes(62, 54, desk.wide - 62 - 230, desk.high - 54 - 42)
        top = 1.05 * ranges.energy / 1000
        self.places = 2 if top < 100 else 1 if top < 1000 else 0
        x_ticks, y_ticks = few_ticks(0, route.length, 4), few_ticks(0, top, 5)
        self.axes.set(xlim=(0, route.length), ylim=(0, top))
        self.axes.set_yticks(y_ticks, tick_words(y_ticks))
        far = route.length >= LONG
        self.axes.set_xticks(x_ticks, tick_words([t / 1000 for t in x_ticks] if far else x_ticks))
        self.axes.set_xlabel("distance, km" if far else "distance, m")
        for start, end in hills(route):
            self.axes.axvspan(start, end, color=look.band, lw=0, zorder=0)
        desk.text(62, desk.high - 24, "Energy since the start, kJ", look.ink, bold=True)
        self.unit = top / extent(self.axes)[1]  # kJ in 1/100 inch
        self.axes.axhline(0, color=look.ink2, lw=0.9, ls="-", zorder=1)

    def update(self, result: Any, pinned: Any = None) -> tuple[str, str]:
        """Draw this result's stack; a pinned result's total as a thin grey line."""
        x, terms = _terms(result)
        base, labels = self._stack(x, {k: np.maximum(v, 0) for k, v in terms.items()})
        gives = {k: np.maximum(-v, 0) for k, v in terms.items() if -v.min() > 0.02 * base.max() > 0}
        labels += self._givers(x, base, gives)
        if pinned is not None:
            there, before = _terms(pinned)
            total = sum(np.maximum(v, 0) for v in before.values())
            self.axes.plot(there, total, color=self.look.ink2, lw=1.1, ls="-", zorder=4.5)
        top = self.axes.get_ylim()[1]
        beside(self.axes, self.look, [label for label in labels if label[0] <= top] or labels[-1:])
        reading = self._reading(result, x, base, terms)
        return "Energy ledger growing along the distance, stacked. " + reading, reading

    def _stack(self, x: Any, uses: dict[str, Any]) -> tuple[Any, list[Label]]:
        """Areas upward from zero: what may come back first, then the largest losses, the rest in one."""
        base, labels = np.zeros_like(x), []
        top = sorted((k for k in uses if uses[k].max() > 0), key=lambda k: -uses[k].max() - uses[k][-1])[:LAYERS]
        top.sort(key=lambda k: k not in ("lift", "kinetic", "store"))
        rest = [k for k in uses if k not in top and uses[k].max() > 0]
        layers = [(label(k), uses[k], self.look.fill(k), self.look.text(k), True) for k in top]
        if rest:
            plain = {"facecolor": self.look.band, "edgecolor": self.look.ink2, "linewidth": 1.0}
            layers.append((f"{len(rest)} smaller terms", sum(uses[k] for k in rest), plain, self.look.ink, False))
        for name, add, fill, colour, bold in layers:
            self.axes.fill_between(x, base, base + add, zorder=2, **fill)
            if round(float(add[-1]), self.places):
                labels.append((float(base[-1] + add[-1] / 2), self._words(name, add[-1]), colour, bold))
            elif add.max() > 18 * self.unit:  # gone again by the end: its name stands where it is thickest
                at = int(np.argmax(add))
                self._inside(x[at], base[at] + 0.42 * add[at], name, colour)
            base = base + add
        return base, labels

    def _inside(self, x: float, y: float, name: str, colour: str, ha: str = "center") -> None:
        """A name in the picture itself, kept inside at the left."""
        reach = width(name, QUIET) * self.axes.get_xlim()[1] / extent(self.axes)[0] * (1 if ha == "right" else 0.5)
        self.axes.text(max(x, reach), y, name, color=colour, ha=ha, va="center_baseline", fontsize=QUIET, zorder=4.3)

    def _givers(self, x: Any, base: Any, gives: dict[str, Any]) -> list[Label]:
        """The line on top is all that was given; when several gave, the store's own part is a line of its own."""
        alone = next(iter(gives)) if len(gives) == 1 else ""
        name = f"from {GIVERS.get(alone, alone)}" if alone else "given in all"
        self.axes.plot(x, base, zorder=4, color=self.look.line(alone) if alone else self.look.ink, lw=2.2, ls="-")
        total = (float(base[-1]), self._words(name, base[-1]), self.look.text(alone) if alone else self.look.ink, True)
        if alone or "store" not in gives:
            return [total]
        store = np.where(gives["store"] > 0, gives["store"], np.nan)
        clear = np.where(base - store > 0.03 * self.axes.get_ylim()[1], store, np.nan)
        self.axes.plot(x, clear, color=self.look.paper, lw=4.4, ls="-", zorder=4.1)  # keeps the line clear of the areas
        self.axes.plot(x, store, zorder=4.2, **self.look.stroke("store_volts", 2.2))
        last = float(gives["store"][-1])
        if round(last, self.places):
            return [total, (last, self._words("from the store", last), self.look.text("store"), True)]
        at = int(np.argmax(gives["store"]))
        self._inside(x[at], base[at] + 13 * self.unit, "from the store", self.look.text("store"), "right")
        return [total]

    def _words(self, name: str, kilojoules: float) -> str:
        return f"{name}  {fixed(float(kilojoules), self.places)}{THIN}kJ"

    def _reading(self, result: Any, x: Any, base: Any, terms: dict[str, Any]) -> str:
        gives = {k: -v[-1] for k, v in terms.items() if v[-1] < -5e-4 * base[-1]}
        if not gives or round(float(base[-1]), self.places) <= 0:
            return "Nothing has moved yet; the ledger is empty."
        slope = np.abs(np.interp(x, result.route.nodes, result.route.slopes))[1:] >= 0.01
        hilly = float(np.diff(base)[slope].sum())
        givers = and_list([GIVERS.get(k, label(k)) for k in sorted(gives, key=lambda k: -gives[k])])
        most = max((k for k in terms if k not in gives), key=lambda k: terms[k][-1])
        on = f", {number(hilly)}{THIN}kJ of it on slopes of 1{THIN}% and more" if hilly > 0 else ""
        return (
            f"{givers[0].upper()}{givers[1:]} gave {number(float(base[-1]))}{THIN}kJ{on}; "
            f"the largest term is {label(most)} with {number(float(terms[most][-1]))}{THIN}kJ."
        )


def _terms(result: Any) -> tuple[Any, dict[str, Any]]:
    """Distance [m] and the uses so far [kJ] of every ledger term; a long ride is taken at evenly spread instants."""
    distance = result.column("distance")
    rows = np.unique(np.linspace(0, len(distance) - 1, min(len(distance), POINTS)).astype(int))
    return distance[rows], {k: -result.column(f"energy_{k}")[rows] / 1000 for k in result.ledger}
