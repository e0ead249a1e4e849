"""What stands along the strips: time scale, ribbon of what holds the drive, axis below, numbered events."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection

from evlab.look import BOOK, QUIET, Desk, Look, extent, fixed, mark, spread, width
from evlab.plots.ranges import few_ticks, tick_words
from evlab.plots.sentences import JOIN, Told, fitted

STEPS = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 14400, 36000, 86400)  # of the time scale [s]
LONG, SLOW = 5000.0, 600.0  # from here on kilometres [m] and minutes [s]
HOUR, DAY = 3600.0, 86400.0
MOST_FLAGS, MOST_WORDS, MOST_TIMES = 7, 10, 14
Spell = tuple[float, float, str]  # from, to (on the axis), held by


class TimeScale:
    """Seconds (minutes on long rides) along the top, where the ride was at each."""

    def __init__(self, desk: Desk, look: Look, axes: Axes, top: float):
        wide, tall = extent(axes)
        self.axes, self.per_metre, self.most = axes, wide / axes.get_xlim()[1], min(MOST_TIMES, wide / 54)
        self.foot, self.head = 1 + 2 / tall, 1 + 7 / tall
        self.name = look.live(desk.text(8, top + 17, "", look.ink2, QUIET))
        self.words = [
            look.live(
                axes.text(
                    0,
                    1 + 17 / tall,
                    "",
                    transform=axes.get_xaxis_transform(),
                    ha="center",
                    va="center_baseline",
                    fontsize=QUIET,
                    color=look.ink2,
                )
            )
            for _ in range(MOST_TIMES)
        ]
        self.ticks = look.live(
            axes.plot([], [], ls="-", lw=0.9, color=look.ink2, clip_on=False, transform=axes.get_xaxis_transform())[0]
        )

    def show(self, time: Any, distance: Any) -> None:
        """Move the scale to this ride: a time is written where it has room."""
        minute = 60 if time[-1] >= SLOW else 1
        self.name.set_text("time, min" if minute == 60 else "time, s")
        step = next((s for s in STEPS if s >= minute and time[-1] / s < self.most), STEPS[-1])
        seconds = np.arange(0, time[-1] + 1e-9, step)
        kept: list[tuple[float, str]] = []
        for at, second in zip(np.interp(seconds, time, distance), seconds, strict=True):
            words = fixed(second / minute, 0)
            if not kept or (at - kept[-1][0]) * self.per_metre >= width(words, QUIET) + 8:
                kept.append((float(at), words))
        for text, (at, words) in zip(self.words, kept + [(0.0, "")] * MOST_TIMES, strict=False):
            text.set_text(words)
            text.set_x(at)
        self.ticks.set_data([x for at, _ in kept for x in (at, at, np.nan)], [self.foot, self.head, np.nan] * len(kept))


class Ribbon:
    """Which limit held the drive where, in words, in the colour of the place it protects."""

    def __init__(self, desk: Desk, look: Look, left: float, wide: float, bottom: float, length: float):
        self.look, self.per_metre = look, wide / length
        self.axes = desk.axes(left, bottom, wide, 22)
        self.axes.set(xlim=(0, length), ylim=(0, 1), yticks=[])
        self.axes.grid(False)
        desk.text(8, bottom + 11, "Held by", look.ink, bold=True)
        self.plain, self.hatched = (
            look.live(self.axes.add_collection(PolyCollection([], lw=0.9, zorder=zorder, clip_on=False)))
            for zorder in (3, 3.1)
        )
        self.hatched.set(hatch="////", hatchcolor=look.ink2, facecolor="none", edgecolor=look.ink2)
        self.ground = {"boxstyle": "square,pad=0.1", "facecolor": look.paper, "edgecolor": "none"}
        self.words = [
            look.live(
                self.axes.text(0, 0.46, "", ha="center", va="center_baseline", fontsize=QUIET, color=look.ink, zorder=5)
            )
            for _ in range(MOST_WORDS)
        ]

    def show(self, held: Sequence[Spell]) -> None:
        """Lay the spells out; too narrow for a word: only coloured; too narrow to see: joined to the one before."""
        spells = _joined(held, 2.5 / self.per_metre)
        looks = [BOOK["held"].get(by, {"words": [by]}) for _, _, by in spells]
        boxes = [[(a, 0.02), (b, 0.02), (b, 0.98), (a, 0.98)] for a, b, _ in spells]
        self.plain.set_verts(boxes)
        self.plain.set_facecolor([self.look.tint(e["place"], 0.28) if "place" in e else self.look.band for e in looks])
        self.plain.set_edgecolor([self.look.line(e["place"]) if "place" in e else self.look.ink2 for e in looks])
        self.hatched.set_verts([box for box, e in zip(boxes, looks, strict=True) if "hatch" in e])
        self._name([(a, b, e) for (a, b, _), e in zip(spells, looks, strict=True)])

    def _name(self, spells: list[tuple[float, float, dict[str, Any]]]) -> None:
        named = [
            ((a + b) / 2, word, "hatch" in e)
            for a, b, e in spells
            if (word := next((w for w in e["words"] if width(w, QUIET) + 10 < (b - a) * self.per_metre), ""))
        ]
        for text, (at, word, hatched) in zip(
            self.words, named[:MOST_WORDS] + [(0.0, "", False)] * MOST_WORDS, strict=False
        ):
            text.set(text=word, x=at, bbox=self.ground if hatched else None)


def _joined(held: Sequence[Spell], least: float) -> list[Spell]:
    out: list[Spell] = []
    for a, b, by in held:
        if out and (b - out[-1][1] < least or out[-1][2] == by):
            out[-1] = (out[-1][0], max(b, out[-1][1]), out[-1][2])
        elif b > a:
            out.append((a, b, by))
    return out


UNITS = {"distance": ((LONG, "km", 1000.0), (0.0, "m", 1.0)),
         "time": ((3 * DAY, "d", DAY), (3 * HOUR, "h", HOUR), (SLOW, "min", 60.0), (0.0, "s", 1.0))}  # fmt: skip


def unit_along(what: str, length: float) -> tuple[str, float]:
    """Unit of an axis of "distance" [m] or "time" [s] of this length, and how much SI there is in one."""
    return next((unit, factor) for least, unit, factor in UNITS[what] if length >= least)


def axis_below(desk: Desk, look: Look, axes: Axes, y: float, what: str = "distance", above: Iterable[Axes] = ()) -> None:
    """The axis under the strips: a name at the height y, ticks in a unit that suits its length, the same for those above."""
    low, high = axes.get_xlim()
    unit, factor = unit_along(what, high)
    ticks = few_ticks(low / factor, high / factor, 5)
    for other in above:
        other.set_xticks([t * factor for t in ticks])
    axes.set_xticks([t * factor for t in ticks], tick_words(ticks))
    axes.tick_params(axis="x", pad=3, labelbottom=True, bottom=True)
    desk.text(8, y, f"{what}, {unit}", look.ink2, QUIET)


class Flags:
    """Numbered events at the height y of these axes, told with their times at the foot of the figure."""

    def __init__(self, desk: Desk, look: Look, axes: Axes, wide: float, lines: int, y: float = 1.55):
        self.room, self.lines, self.length = desk.wide - 16, lines, axes.get_xlim()[1]
        self.flag = 20 * self.length / wide
        self.marks = [look.live(mark(axes, i + 1, look, y)) for i in range(MOST_FLAGS)]
        self.told = [look.live(desk.text(8, at, "", look.ink, QUIET)) for at in ((15,) if lines == 1 else (27, 11))]

    def show(self, events: Told) -> Told:
        """Flag as many events as can be told; returns those, in the order of the ride."""
        rows = fitted(events, self.room, self.lines, MOST_FLAGS, QUIET)
        kept = sorted(events[: sum(len(row) for row in rows)], key=lambda t: t[1])
        for text, row in zip(self.told, rows + [[]] * self.lines, strict=False):
            text.set_text(JOIN.join(row))
        half = self.flag / 2
        places = spread([at - half for at, _, _ in kept], [self.flag] * len(kept), -half, self.length + half)
        for i, flag in enumerate(self.marks):
            flag.set_visible(i < len(kept))
            if i < len(kept):
                flag.set_x(places[i] + half)
        return kept
