"""One pair of axes with a head, ticks that stay, curves in the strokes of the book and their names beside them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import QUIET, Desk, Look, beside
from evlab.plots.ranges import few_ticks, thinned, tick_words
from evlab.plots.ribbon import DAY, HOUR, unit_along

Label = tuple[float, str, str, bool]  # as evlab.look.beside takes them
TIMES = (
    (1e-3, "1 ms"), (1e-2, "10 ms"), (0.1, "0.1 s"), (1.0, "1 s"), (10.0, "10 s"), (60.0, "1 min"), (600.0, "10 min"),
    (HOUR, "1 h"), (6 * HOUR, "6 h"), (DAY, "1 d"), (7 * DAY, "7 d"), (30 * DAY, "30 d"),
)  # fmt: skip


@dataclass(frozen=True)
class Axis:
    """Ends and ticks of an axis.  A logarithmic one is given, and drawn, as the decimal logarithm of its values."""

    low: float
    high: float
    ticks: tuple[tuple[float, str], ...] = ()

    @classmethod
    def even(cls, low: float, high: float, most: int = 5) -> Axis:
        """A few round numbers along an even axis."""
        ticks = few_ticks(low, high, most)
        return cls(low, high, tuple(zip(ticks, tick_words(ticks), strict=True)))

    @classmethod
    def log(cls, low: float, high: float, marks: Sequence[tuple[float, str]] = ()) -> Axis:
        """The marks (value, words) that lie between two values, or the powers of ten."""
        powers = range(math.ceil(math.log10(low) - 1e-9), math.floor(math.log10(high) + 1e-9) + 1)
        told = marks or [(10.0**p, power(p)) for p in powers]
        ticks = tuple((math.log10(v), words) for v, words in told if low <= v * (1 + 1e-9) and v <= high * (1 + 1e-9))
        return cls(math.log10(low), math.log10(high), ticks)


def power(exponent: int) -> str:
    """A power of ten as words: '0.1', '100', '10⁵'."""
    if -3 <= exponent <= 3:
        return f"{10.0**exponent:.{max(-exponent, 0)}f}"
    return "10" + str(exponent).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))


class Chart:
    """The axes on their figure, with room for names at the right."""

    def __init__(
        self, figure: Figure, look: Look, x: Axis, y: Axis, heads: tuple[str, str], *, right: float = 150.0, top: float = 44.0,
        bottom: float = 46.0, left: float = 52.0,
    ):  # fmt: skip
        self.look, desk, self.beyond = look, Desk(figure), right - 6
        self.axes = desk.axes(left, bottom, desk.wide - left - right, desk.high - bottom - top)
        self.axes.set(xlim=(x.low, x.high), ylim=(y.low, y.high), xlabel=heads[0])
        self.axes.set_xticks(*zip(*x.ticks, strict=True))
        self.axes.set_yticks(*zip(*y.ticks, strict=True))
        desk.text(8, desk.high - 22, heads[1], look.ink, bold=True)
        self.pinned = look.live(desk.text(desk.wide - 124, desk.high - 22, "", look.ink2, QUIET))

    def begin(self, pinned: Any) -> None:
        """Say whether a pinned result is drawn, too."""
        self.pinned.set_text("" if pinned is None else "thin grey: pinned")

    def curve(self, name: str, x: Any, y: Any, *, ghost: bool = False, wide: float = 2.0) -> None:
        """A curve in the stroke of this quantity; thin and grey when it is pinned."""
        stroke = self.look.stroke(name, 1.1 if ghost else wide) | ({"color": self.look.ink2} if ghost else {})
        self.axes.plot(*thinned(x, y), zorder=2.6 if ghost else 3, **stroke)

    def beside(self, labels: Sequence[Label]) -> None:
        """Names at the right, each led to its height."""
        beside(self.axes, self.look, labels)

    def line(self, x: Sequence[float], y: Sequence[float], dash: Any = "-", zorder: float = 2.0) -> None:
        """A thin quiet line."""
        self.axes.plot(x, y, color=self.look.ink2, lw=0.9, ls=dash, zorder=zorder)

    def say(
        self, x: float, y: float, words: str, colour: str = "", ha: str = "left", bold: bool = False, over: bool = False
    ) -> None:
        """Words in the picture itself; `over` lays them on a piece of paper, which hides lines behind them."""
        text = self.axes.text(x, y, words, color=colour or self.look.ink, ha=ha, va="center_baseline", fontsize=QUIET, zorder=5)
        text.set_fontweight("bold" if bold else "normal")
        if over:
            text.set_bbox({"boxstyle": "square,pad=0.05", "facecolor": self.look.paper, "edgecolor": "none"})

    def stack(self, x: Any, layers: Sequence[tuple[str, Any]]) -> dict[str, float]:
        """Areas of ledger terms on each other, what is below zero downwards.  Returns the middle of each at the right end."""
        up, down, middles = np.zeros_like(x), np.zeros_like(x), {}
        for name, y in layers:
            for base, part in ((up, np.maximum(y, 0.0)), (down, np.minimum(y, 0.0))):
                if part.any():
                    self.axes.fill_between(x, base, base + part, zorder=2, **self.look.fill(name))
            middles[name] = float((up if y[-1] >= 0 else down)[-1] + y[-1] / 2)
            up, down = up + np.maximum(y, 0.0), down + np.minimum(y, 0.0)
        return middles


def along(what: str, length: float, most: int = 5) -> tuple[Axis, str]:
    """An axis of "distance" [m] or "time" [s] from 0 to a length, told in a unit that suits it, and its head."""
    unit, factor = unit_along(what, length)
    told = Axis.even(0.0, length / factor, most)
    return Axis(0.0, length, tuple((at * factor, words) for at, words in told.ticks)), f"{what}, {unit}"
