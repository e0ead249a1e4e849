"""What the road allows: speed without brakes down a slope, speed through a bend, and the way until it stands."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import QUIET, Build, Look, Update, extent, shown, width
from evlab.plots.chart import Axis, Chart, Label
from evlab.plots.road_ranges import RoadRanges
from evlab.plots.sentences import percent


def runaway(ranges: RoadRanges) -> Build:
    """Terminal speed with brakes and drive off over the slope downhill, in still air and in a tail wind; the route's steepest.

    Parameters: ranges, by slope and runaway.  Its update takes a RoadCase, by .runaway.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        x, y = Axis.even(0.0, 100 * ranges.slope, 7), Axis.even(0.0, ranges.runaway, 6)
        chart = Chart(figure, look, x, y, ("slope downhill, %", "Speed at which it goes on, m/s"), right=150)

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            if pinned is not None:
                for name, speeds in (("in_still_air", pinned.runaway.still), ("in_tail_wind", pinned.runaway.tail)):
                    chart.curve(name, 100 * pinned.runaway.slopes, speeds, ghost=True)
            run = case.runaway
            chart.beside(_fastest(chart, run))
            _steepest(chart, run)
            reading = runaway_reading(run)
            return f"Terminal speed without brakes over the slope downhill. {reading}", reading

        return update

    return build


def _fastest(chart: Chart, run: Any) -> list[Label]:
    """Draw both curves; returns their names."""
    labels: list[Label] = []
    end = chart.axes.get_xlim()[1]
    for name, speeds, words in (("in_still_air", run.still, "in still air"),
                                ("in_tail_wind", run.tail, f"tail wind {shown(run.tail_wind, 'm/s', figures=2)}")):
        chart.curve(name, 100 * run.slopes, speeds, wide=2.4 if name == "in_still_air" else 2.0)
        last = float(np.interp(end, 100 * run.slopes, speeds))
        labels.append((last, f"{words}\n{shown(last, 'm/s')}", chart.look.ink, name == "in_still_air"))
    return labels


def _steepest(chart: Chart, run: Any) -> None:
    """An upright hair at the route's steepest descent, a ring where it meets the curve, and its words beside it."""
    at, (low, high) = 100 * run.steepest, chart.axes.get_ylim()
    if run.steepest <= 0:
        chart.say(0.02 * chart.axes.get_xlim()[1], 0.94 * high, "this way never goes down", over=True)
        return
    chart.line([at, at], [low, high], (0, (1.1, 2.2)))
    chart.axes.plot([at], [run.fastest], marker="o", ms=8, mfc=chart.look.paper, mec=chart.look.ink, mew=1.8, zorder=4)
    words = f"steepest here {percent(run.steepest)}"
    per_x = extent(chart.axes)[0] / chart.axes.get_xlim()[1]
    left = at * per_x > width(words, QUIET) + 12
    chart.say(at - 6 / per_x if left else at + 6 / per_x, 0.95 * high, words, ha="right" if left else "left", over=True)


def runaway_reading(run: Any) -> str:
    """How fast it gets when the brakes fail, in one sentence."""
    if run.steepest <= 0:
        last = shown(float(run.still[-1]), "m/s")
        return f"This way never goes down; on {percent(run.slopes[-1])} it would go on to {last} unbraked."
    tail = float(np.interp(run.steepest, run.slopes, run.tail))
    if run.fastest <= 0:
        return f"On the steepest descent, {percent(run.steepest)}, it does not roll by itself."
    fall = f", though a fall of {shown(run.fall, 'm')} gives at most {shown(run.free, 'm/s')}" if run.free < tail else ""
    wind = f"{shown(tail, 'm/s')} with {shown(run.tail_wind, 'm/s', figures=2)} of tail wind"
    where = percent(run.steepest)
    return f"If the brakes fail on {where}, it goes on to {shown(run.fastest, 'm/s')} in still air and {wind}{fall}."


# ---------------------------------------------------------------- bends
def tipping(ranges: RoadRanges) -> Build:
    """Speed at which it tips and slides over the radius of the bend; the posted speeds as a band.

    Parameters: ranges, by radius and bend.  Its update takes a RoadCase, by .tipping and .route.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        x, y = Axis.even(0.0, ranges.radius, 7), Axis.even(0.0, ranges.bend, 6)
        chart = Chart(figure, look, x, y, ("radius of the bend, m", "Speed through the bend, m/s"), right=168)

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            if pinned is not None:
                for name, speeds in (("tips", pinned.tipping.tip), ("slides", pinned.tipping.slide)):
                    chart.curve(name, pinned.tipping.radii, speeds, ghost=True)
            chart.beside([*_bends(chart, case.tipping), *_posted(chart, case)])
            reading = tipping_reading(case.tipping)
            return f"Speed at which it tips and slides over the radius of the bend. {reading}", reading

        return update

    return build


def _bends(chart: Chart, bend: Any) -> list[Label]:
    """Both limits, and in words what has none; returns their names."""
    labels: list[Label] = []
    end = chart.axes.get_xlim()[1]
    words = {"tips": "a wheel lifts", "slides": f"slides, grip {shown(bend.grip, figures=2)}"}
    for name, speeds in (("tips", bend.tip), ("slides", bend.slide)):
        if np.isfinite(speeds).all():
            chart.curve(name, bend.radii, speeds, wide=2.4)
            last = float(np.interp(end, bend.radii, speeds))
            labels.append((last, f"{words[name]}\n{shown(last, 'm/s')}", chart.look.text(name), True))
    if not math.isfinite(bend.acceleration):
        low, high = chart.axes.get_ylim()
        why = ["it leans into the bend:", "no limit from tipping"] if math.isinf(bend.acceleration) else [
            "tipping: not stated,", "give wheels, track and", "height of the mass"]  # fmt: skip
        step = 17 * (high - low) / extent(chart.axes)[1]
        for i, line in enumerate(why):
            chart.say(0.03 * end, high - (i + 1) * step, line, over=True)
    return labels


def _posted(chart: Chart, case: Any) -> list[Label]:
    """The band of posted speeds."""
    speeds = [v for _, v in case.route.limits]
    low, high = min(speeds), max(speeds)
    chart.axes.axhspan(low, max(high, low + 0.01 * chart.axes.get_ylim()[1]), color=chart.look.band, lw=0, zorder=1.2)
    for speed in dict.fromkeys((low, high)):
        chart.line(chart.axes.get_xlim(), [speed, speed], (0, (1.1, 1.5)))
    told = shown(high, "m/s") if low == high else f"{shown(low)} to {shown(high, 'm/s')}"
    return [((low + high) / 2, f"posted\n{told}", chart.look.ink2, False)]


def tipping_reading(bend: Any) -> str:
    """What a bend of 3 m allows, and from which radius on the posted speed is free, in one sentence."""
    slides = f"slides at {shown(bend.slide_at_three, 'm/s')}"
    first = "a bend of 3 m radius: it "
    if math.isnan(bend.acceleration):
        return f"In {first}{slides}; at which speed it tips is not stated, for want of wheels, track and height of the mass."
    if math.isinf(bend.acceleration):
        return f"In {first}{slides}; two wheels in line lean and do not tip sideways."
    least, what = min((bend.tip_at_three, "lifts a wheel"), (bend.slide_at_three, "slides"))
    free = 3.0 * (bend.posted / least) ** 2  # both limits go with the root of the radius
    tips = f"lifts a wheel at {shown(bend.tip_at_three, 'm/s')}"
    return (f"In {first}{tips} and {slides}; at the posted {shown(bend.posted, 'm/s')} it {what} below {shown(free, 'm')} "
            "of radius, and a bump or a gust takes it there sooner.")  # fmt: skip


# ---------------------------------------------------------------- stopping
def stopping(ranges: RoadRanges) -> Build:
    """Way until it stands over the speed: reaction and braking on each other, the steepest descent, and what grip allows at best.

    Parameters: ranges, by braking and way.  Its update takes a RoadCase, by .stopping.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        x, y = Axis.even(0.0, ranges.braking, 7), Axis.even(0.0, ranges.way, 6)
        chart = Chart(figure, look, x, y, ("speed, m/s", "Way until it stands, m"), right=184)

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            if pinned is not None:
                for name, way in (("stops_level", pinned.stopping.level), ("stops_down", pinned.stopping.steep)):
                    chart.curve(name, pinned.stopping.speeds, way, ghost=True)
            chart.beside(_ways(chart, case.stopping))
            reading = stopping_reading(case)
            return f"Stopping distance over speed, reaction and braking stacked. {reading}", reading

        return update

    return build


def _ways(chart: Chart, stop: Any) -> list[Label]:
    """Areas of reaction and braking, the line downhill, the best that grip allows; returns their names."""
    look, x, top = chart.look, stop.speeds, chart.axes.get_ylim()[1]
    best = stop.reaction + x**2 / (2 * stop.grip_limit) if stop.grip_limit > 0 else np.full_like(x, np.nan)
    edge: dict[str, Any] = {"edgecolor": look.ink, "linewidth": 1.0}
    chart.axes.fill_between(x, stop.reaction, 0.0, facecolor=look.band, zorder=1.5, **edge)
    chart.axes.fill_between(x, stop.level, stop.reaction, facecolor="none", hatch="xxxx", hatchcolor=look.rule, zorder=1.6, **edge)
    chart.curve("stops_level", x, stop.level, wide=2.4)
    react, level, least = (float(way[-1]) for way in (stop.reaction, stop.level, best))
    chart.line(x, best, (0, (1.1, 2.2)), 3.2)
    labels: list[Label] = [(react / 2, f"reaction {shown(react, 'm')}", look.ink, False),
                           (min((react + level) / 2, top), f"braking {shown(level - react, 'm')}", look.ink, False),
                           (min(level, top), f"on the level {shown(level, 'm')}", look.ink, True),
                           (min(least, top), f"grip allows {shown(least, 'm')}", look.ink2, False)]  # fmt: skip
    if stop.steepest > 0:
        known = np.isfinite(stop.steep)
        chart.curve("stops_down", x[known], stop.steep[known])
        last = float(stop.steep[-1])
        told = f"{shown(last, 'm')}" if math.isfinite(last) else "never stands"
        labels.append((min(last, top), f"down {percent(stop.steepest)}: {told}", look.text("stops_down"), True))
    return labels


def stopping_reading(case: Any) -> str:
    """How far it goes from the posted speed until it stands, in one sentence."""
    stop, posted = case.stopping, max(v for _, v in case.route.limits)
    level, react = (float(np.interp(posted, stop.speeds, way)) for way in (stop.level, stop.reaction))
    words = f"From {shown(posted, 'm/s')} it stands after {shown(level, 'm')} on the level, {shown(react, 'm')} of them reaction"
    if stop.steepest > 0:
        finite = math.isfinite(float(stop.steep[-1]))
        down = f"after {shown(float(np.interp(posted, stop.speeds, stop.steep)), 'm')}" if finite else "never"
        words += f", and {down} down {percent(stop.steepest)}"
    wants = ", more than the tyres hold" if stop.deceleration > stop.grip_limit else ""
    return f"{words}; {shown(stop.deceleration, 'm/s²')} are asked{wants}, the grip allows {shown(stop.grip_limit, 'm/s²')}."
