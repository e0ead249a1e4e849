"""The brief in pictures: what one trip costs, growing along the way, and what it takes to push when the drive stops."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from evlab.look import QUIET, THIN, Build, Desk, Look, Update, extent, fixed, shown, width
from evlab.plots.chart import Axis, Chart, Label, along
from evlab.plots.ranges import Span, few_ticks, thinned, tick_words
from evlab.plots.road_ranges import TripRanges
from evlab.plots.sentences import duration, way
from evlab.trip import PUSH

LAYERS = {"lift": "lift", "rolling": "rolling", "air": "air", "starts": "starts", "brake": "brake"}  # term: its fill
POINTS = 700
GROUND, GAP = 54.0, 12.0  # height of the profile under a chart, and the gap to it [1/100 inch]


class Ground:
    """A thin height profile under a chart, sharing its x axis; it carries the axis' head."""

    def __init__(self, chart: Chart, figure: Figure, span: Span, head: str, left: float, right: float, bottom: float = 46.0):
        self.look, desk = chart.look, Desk(figure)
        self.axes: Axes = desk.axes(left, bottom, desk.wide - left - right, GROUND)
        ticks = few_ticks(*span, 3)
        self.axes.set(xlim=chart.axes.get_xlim(), ylim=span, xticks=chart.axes.get_xticks(), xlabel=head)
        self.axes.set_xticklabels([tick.get_text() for tick in chart.axes.get_xticklabels()])
        self.axes.set_yticks(ticks, tick_words(ticks))
        chart.axes.tick_params(labelbottom=False, bottom=False)
        x = desk.wide - right + 10
        desk.text(x, bottom + GROUND / 2 + 8, "height, m", self.look.text("height"), QUIET, True)
        self.told = self.look.live(desk.text(x, bottom + GROUND / 2 - 9, "", self.look.ink2, QUIET))

    def show(self, route: Any) -> None:
        """Draw this route's heights and tell its climb."""
        x, y = thinned(np.asarray(route.nodes), np.asarray(route.heights))
        self.axes.fill_between(x, y, self.axes.get_ylim()[0], color=self.look.tint("height", 0.22), lw=0, zorder=1.2)
        self.axes.plot(x, y, zorder=1.3, **self.look.stroke("height", 1.6))
        self.told.set_text(f"climbs {shown(route.climb, 'm')}")


# ---------------------------------------------------------------- growth
def trip_growth(ranges: TripRanges) -> Build:
    """What one trip asks at the wheel, summed from the start: lift, rolling, air, starts and brake on each other.

    What is below zero gave something back.  The line is what a drive must give; the worst day's is the dashed one.
    Parameters: ranges, by length, energy and heights.  Its update takes a TripCase, by .today, .worst, .route and .verdict.
    Returns build(figure, look) for a figure of at least 6 x 4.2 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return TripGrowth(figure, look, ranges).update

    return build


class TripGrowth:
    """The stack, its two lines and the profile on one figure.  Made by `trip_growth`."""

    def __init__(self, figure: Figure, look: Look, ranges: TripRanges):
        self.look, right = look, 228.0
        low, high = (e / 1000 for e in ranges.energy)
        self.places = 2 if high < 100 else 1 if high < 1000 else 0
        x, head = along("distance", ranges.length)
        heads = "", "Energy at the wheel since the start, kJ"
        self.chart = Chart(figure, look, x, Axis.even(low, high), heads, right=right, left=58, bottom=46 + GROUND + GAP)
        self.ground = Ground(self.chart, figure, ranges.heights, head, 58, right)
        look.live(self.chart.axes.axhline(0, color=look.ink2, lw=0.9, ls="-", zorder=2.4))

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Draw this trip's stack, its line and the worst day's; a pinned trip's line in grey."""
        chart, today, worst = self.chart, case.today, case.worst
        chart.begin(pinned)
        if pinned is not None:
            chart.curve("drive_gives", *_thin(pinned.today, pinned.today.given), ghost=True)
        x, given = _thin(today, today.given)
        there, bad = _thin(worst, worst.given)
        chart.axes.fill_between(x, given, np.interp(x, there, bad), color=self.look.band, lw=0, zorder=1.5)
        middles = chart.stack(x, [(fill, _thin(today, today.terms[term])[1]) for term, fill in LAYERS.items()])
        chart.curve("worst_day", there, bad, wide=1.8)
        chart.axes.plot(x, given, color=self.look.paper, lw=4.4, ls="-", zorder=2.9)  # keeps the line clear of the areas
        chart.curve("drive_gives", x, given, wide=2.4)
        labels: list[Label] = [(given[-1], f"drive {self._kilojoules(given[-1])}, {_hours(today)}", self.look.ink, True),
                               (bad[-1], f"worst day {self._kilojoules(bad[-1])}, {_hours(worst)}", self.look.ink, False)]
        for term, fill in LAYERS.items():
            joules = today.energy[term] / 1000
            if round(joules, self.places):
                labels.append((middles[fill], f"{term} {self._kilojoules(joules)}", self.look.text(fill), True))
        chart.beside(labels)
        self.ground.show(case.route)
        reading = trip_reading(case)
        told = ", ".join(f"{term} {shown(joules / 1000, 'kJ')}" for term, joules in today.energy.items() if abs(joules) >= 1)
        return f"Energy at the wheel growing along the distance, stacked, over the heights. {reading} {told}.", reading

    def _kilojoules(self, value: float) -> str:
        return f"{fixed(float(value), self.places)}{THIN}kJ"


def _thin(trip: Any, joules: Any) -> tuple[Any, Any]:
    """Distance [m] and energy [kJ] at evenly spread places of a long way."""
    rows = np.unique(np.linspace(0, len(trip.distance) - 1, min(len(trip.distance), POINTS)).astype(int))
    return trip.distance[rows], np.asarray(joules)[rows] / 1000


def _hours(trip: Any) -> str:
    return shown(trip.total / 3600, "Wh")


def trip_reading(case: Any) -> str:
    """What one trip costs, its largest term and whether hill or distance is the hard part, in one sentence."""
    today, worst = case.today, case.worst
    most = max(today.energy, key=lambda k: today.energy[k])
    return (f"{case.verdict.partition(':')[0]}: over {way(case.route.length)} the drive gives {shown(today.total / 1000, 'kJ')} "
            f"({_hours(today)}) at the wheel in {duration(today.duration)}, the largest term is {most} with "
            f"{shown(today.energy[most] / 1000, 'kJ')}; the worst day asks {shown(worst.total / 1000, 'kJ')} "
            f"({_hours(worst)}).")  # fmt: skip


# ---------------------------------------------------------------- halted
BARS = ("on from here", "home from here", "home, hardest")


def halted(ranges: TripRanges) -> Build:
    """Where the drive stops for good, and what it takes to push on or home against what one to three people push.

    Parameters: ranges, by length, heights and force.  Its update takes a TripCase, by .halted and .route.
    Returns build(figure, look) for a figure of at least 6 x 4.2 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return Halted(figure, look, ranges).update

    return build


class Halted:
    """The profile with the place, and the pushes under it, on one figure.  Made by `halted`."""

    def __init__(self, figure: Figure, look: Look, ranges: TripRanges):
        self.look, desk = look, Desk(figure)
        self.bars_high = 118.0
        x, head = along("distance", ranges.length)
        low, high = ranges.heights
        room = Axis.even(low, high + 0.22 * (high - low), 4)
        self.way = Chart(figure, look, x, room, (head, "Height, m"), right=30, left=52, bottom=46 + self.bars_high + 92)
        desk.text(8, 46 + self.bars_high + 30, "Force to push, N", look.ink, bold=True)
        self.axes = desk.axes(130, 46, desk.wide - 130 - 30, self.bars_high)
        ticks = few_ticks(*ranges.force, 6)
        self.axes.set(xlim=ranges.force, ylim=(-0.1, 3.05), xlabel="below zero: it must be held back")
        self.axes.set_yticks([2.45, 1.45, 0.45], BARS)
        self.axes.set_xticks(ticks, tick_words(ticks))
        self.axes.grid(False, axis="y")
        look.live(self.axes.axvline(0, color=look.ink2, lw=0.9, ls="-", zorder=2.4))
        for count in (n for n in (1, 2, 3) if n * PUSH < ranges.force[1]):
            look.live(self.axes.axvline(count * PUSH, color=look.ink, lw=0.9, ls=(0, (1.1, 2.2)), zorder=2.4))
            self.axes.text(count * PUSH, 3.1, f"{count} pushing" if count == 1 else str(count), ha="center", fontsize=QUIET,
                           va="bottom", color=look.ink)  # fmt: skip

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Mark the place, draw the bars; a pinned case's bars are thin grey lines."""
        halt = case.halted
        self.way.begin(pinned)
        self._profile(case.route, halt)
        for centre, force in zip((2.45, 1.45, 0.45), _pushes(halt), strict=True):
            self._bar(centre, force)
        for centre, force in zip((2.45, 1.45, 0.45), () if pinned is None else _pushes(pinned.halted), strict=False):
            self.axes.plot([force, force], [centre - 0.42, centre + 0.42], color=self.look.ink2, lw=1.4, ls="-", zorder=4)
        reading = halted_reading(halt)
        return f"Height along the distance with the place of the stop, and bars of force to push. {reading}", reading

    def _profile(self, route: Any, halt: Any) -> None:
        """The road, the place on it, and the ways home and on."""
        axes, look = self.way.axes, self.look
        x, y = thinned(np.asarray(route.nodes), np.asarray(route.heights))
        axes.fill_between(x, y, axes.get_ylim()[0], color=look.tint("height", 0.22), lw=0, zorder=1.2)
        axes.plot(x, y, zorder=2.6, **look.stroke("height", 2.0))
        (low, high), (wide, tall), length = axes.get_ylim(), extent(axes), route.length
        at, foot = halt.place, float(np.interp(halt.place, route.nodes, route.heights))
        axes.plot([at], [foot], marker="o", ms=8, color=look.ink, mec=look.paper, mew=1.2, zorder=5)
        level, gap = high - 16 * (high - low) / tall, 12 * length / wide
        axes.plot([at, at], [foot, level], color=look.ink2, lw=0.9, ls=(0, (1.1, 2.2)), zorder=2.2)
        words = ((f"home {way(halt.home_distance)}", 0.0, -1), (f"on {way(length - at)}", length, 1))
        for told, end, side in words:
            room = abs(end - at) * wide / length
            if room < 24:
                continue
            arrow = {"arrowstyle": "->", "color": look.ink, "lw": 1.2, "shrinkA": 0, "shrinkB": 0}
            axes.annotate("", (end, level), (at + side * gap / 2, level), arrowprops=arrow, zorder=4)
            if width(told, QUIET) + 30 < room:
                self.way.say((at + end) / 2, level, told, ha="center", over=True)

    def _bar(self, centre: float, force: float) -> None:
        """One push: a bar from zero, its number at its end or, where it would leave the paper, inside."""
        fill: dict[str, Any] = {"facecolor": self.look.band, "edgecolor": self.look.ink, "linewidth": 1.0}
        if force < 0:
            fill |= {"hatch": "////", "hatchcolor": self.look.ink2}
        self.axes.barh(centre, force, 0.62, zorder=3, **fill)
        (low, high), wide = self.axes.get_xlim(), extent(self.axes)[0]
        words = f"{shown(-force, 'N')} held back" if force < 0 else shown(force, "N")
        reach = (width(words, QUIET) + 14) * (high - low) / wide
        start = max(force, 0.0) + 6 * (high - low) / wide
        self.axes.text(min(start, high - reach), centre, words, va="center_baseline", fontsize=QUIET, zorder=5, color=self.look.ink,
                       bbox={"boxstyle": "square,pad=0.08", "facecolor": self.look.paper, "edgecolor": "none"})  # fmt: skip


def _pushes(halt: Any) -> tuple[float, float, float]:
    return halt.push_force, halt.home_force, halt.hardest


def halted_reading(halt: Any) -> str:
    """What to do when it stops there, in one sentence."""
    stands = f"it rolls away unless {shown(halt.hold_force, 'N')} hold it" if halt.rolls else "it stands by itself"
    people = "one person pushes" if halt.pushers == 1 else f"{halt.pushers} people push"
    on = f"{shown(abs(halt.push_force), 'N')} {'push it on' if halt.push_force >= 0 else 'hold it back on the way on'}"
    home = f"with at most {shown(max(halt.hardest, 0.0), 'N')}"
    return f"Stopped at {way(halt.place)}, {stands}; {on}, and {people} it home over {way(halt.home_distance)} {home}."
