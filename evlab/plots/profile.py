"""Along the way: heights as recorded and smoothed, slopes, posted speeds, stops and chargers; wind, and the speed in it."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from evlab.look import QUIET, Build, Desk, Look, Update, extent, number, shown
from evlab.plots.ranges import thinned
from evlab.plots.ribbon import axis_below
from evlab.plots.road_ranges import RoadRanges, TripRanges
from evlab.plots.sentences import percent, way
from evlab.plots.strips import LEFT, RIGHT, Strip, stacked

TOP, FOOT = 30.0, 62.0


def slope_profile(ranges: TripRanges) -> Build:
    """Heights as recorded (grey) and smoothed, slopes and posted speeds along the way; stops and chargers marked.

    Parameters: ranges, by length, heights, slopes and speed.  Its update takes a Route, or a case with a .route.
    Returns build(figure, look) for a figure of at least 6 x 4 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return SlopeProfile(figure, look, ranges).update

    return build


class SlopeProfile:
    """The three strips on one figure.  Made by `slope_profile`."""

    def __init__(self, figure: Figure, look: Look, ranges: TripRanges):
        self.look, desk = look, Desk(figure)
        low, high = ranges.heights
        strips = (
            Strip(("height",), low, high + 0.2 * (high - low), 2.0, 4),
            Strip(("slope",), 100 * ranges.slopes[0], 100 * ranges.slopes[1], 1.3, 4),
            Strip(("posted_speed",), 0.0, ranges.speed, 0.8, 3),
        )
        self.panes = stacked(desk, look, strips, ranges.length, TOP, FOOT, (LEFT - 30, RIGHT))
        axis_below(desk, look, self.panes[-1].axes, FOOT - 24, "distance", [pane.axes for pane in self.panes])
        self.pinned = look.live(desk.text(desk.wide - 140, desk.high - 14, "", look.ink2, QUIET))
        self.signs = look.live(desk.text(8, 14, "", look.ink2, QUIET))

    def update(self, source: Any, pinned: Any = None) -> tuple[str, str]:
        """Draw this route; a pinned one's heights in grey."""
        route, before = getattr(source, "route", source), getattr(pinned, "route", pinned)
        self.pinned.set_text("" if before is None else "dashed grey: pinned")
        heights, slopes, speeds = self.panes
        if before is not None:
            heights.axes.plot(*thinned(np.asarray(before.nodes), np.asarray(before.heights)), color=self.look.ink2, lw=1.1,
                              ls=(0, (5, 1.8)), zorder=2.7)  # fmt: skip
        raw = getattr(route, "raw", None)
        if raw is not None:
            heights.axes.plot(*thinned(*raw), color=self.look.ink2, lw=0.9, ls="-", zorder=2.6)
        draw_heights(heights.axes, self.look, route)
        x, y = thinned(np.asarray(route.nodes), 100 * np.asarray(route.slopes))
        shaded(slopes.axes, self.look, "slope", x, y)
        slopes.show({"slope": (x, y)}, {}, [])
        speeds.show({"posted_speed": posted(route)}, {}, [])
        self._marks(route)
        self._notes(route)
        reading = profile_reading(route)
        return f"Heights, slopes and posted speeds along the distance. {reading}", reading

    def _marks(self, route: Any) -> None:
        """A letter at the top of the heights for every stop and charger, a hair down from it."""
        axes, chargers = self.panes[0].axes, list(getattr(route, "chargers", ()))
        (low, high), (wide, tall) = axes.get_ylim(), extent(axes)
        letters = {at: "S" for at, _ in route.stops} | dict.fromkeys(chargers, "C")
        signs = {"S": "S  stop", "C": "C  charger"}
        told = [words for sign, words in signs.items() if sign in letters.values()]
        self.signs.set_text("     ".join(told + ["grey: heights as recorded"] * (getattr(route, "raw", None) is not None)))
        free = -np.inf
        for at in sorted(letters):
            axes.plot([at, at], [route.height(at), high - 14 * (high - low) / tall], color=self.look.ink2, lw=0.8,
                      ls=(0, (1.1, 2.2)), zorder=2.5)  # fmt: skip
            if (at - free) * wide / route.length < 12:
                continue  # a crowd of stops: the hairs alone
            inside = min(max(at, 6 * route.length / wide), route.length - 6 * route.length / wide)
            axes.text(inside, high - 7 * (high - low) / tall, letters[at], color=self.look.ink, ha="center", va="center_baseline",
                      fontsize=QUIET, fontweight="bold", zorder=5)  # fmt: skip
            free = at

    def _notes(self, route: Any) -> None:
        heights, slopes, speeds = self.panes
        smoothing = float(getattr(route, "smoothing", 0.0) or 0.0)
        heights.note("height", f"climbs {shown(route.climb, 'm')}", f"raw {shown(route.raw_climb, 'm')}" if smoothing else "")
        steep = np.asarray(route.slopes, float)
        slopes.note("slope", f"up to {percent(max(steep.max(), 0.0))}", f"down to {percent(max(-steep.min(), 0.0))}")
        low, high = min(v for _, v in route.limits), max(v for _, v in route.limits)
        speeds.note("posted_speed", shown(high, "m/s") if low == high else f"{number(low)} to {shown(high, 'm/s')}")


def draw_heights(axes: Axes, look: Look, route: Any, wide: float = 2.0) -> None:
    """The heights of a route, filled down to the floor of these axes."""
    x, y = thinned(np.asarray(route.nodes), np.asarray(route.heights))
    axes.fill_between(x, y, axes.get_ylim()[0], color=look.tint("height", 0.22), lw=0, zorder=1.2)
    axes.plot(x, y, zorder=2.8, **look.stroke("height", wide))


def shaded(axes: Axes, look: Look, name: str, x: Any, y: Any) -> None:
    """What lies between a curve and zero: stronger above than below."""
    for part, share in ((np.maximum(y, 0), 0.5), (np.minimum(y, 0), 0.22)):
        axes.fill_between(x, part, 0.0, color=look.tint(name, share), lw=0, zorder=1.3)
    axes.axhline(0, color=look.ink2, lw=0.9, ls="-", zorder=2.4)


def posted(route: Any) -> tuple[Any, Any]:
    """The posted speeds as steps: places [m], speeds [m/s]."""
    places = [at for at, _ in route.limits] + [route.length]
    speeds = [v for _, v in route.limits]
    return np.repeat(places, 2)[1:-1], np.repeat(speeds, 2)


def profile_reading(route: Any) -> str:
    """What the way asks, in one sentence."""
    place, steep = route.steepest()
    smoothing = float(getattr(route, "smoothing", 0.0) or 0.0)
    raw = f" ({shown(route.raw_climb, 'm')} before smoothing over {way(smoothing)})" if smoothing else ""
    stops = len(route.stops)
    halts = f", {stops} {'stop' if stops == 1 else 'stops'}" if stops else ""
    over = min(20.0, route.length)
    hardest = f"its steepest {shown(over, 'm', figures=2)} rise {percent(steep)} at {way(place)}"
    if steep < 5e-4:
        down = max(-float(np.min(route.slopes)), 0.0)
        hardest = f"it falls by up to {percent(down)}" if down >= 5e-4 else "it is level"
    return (f"The way is {way(route.length)} long, climbs {shown(route.climb, 'm')}{raw} and goes down "
            f"{shown(route.descent, 'm')}; {hardest}{halts}.")  # fmt: skip


# ---------------------------------------------------------------- wind
def wind_along(ranges: RoadRanges) -> Build:
    """Along the way: the wind against it, the steady speed with this wind and in still air, and the heights.

    Parameters: ranges, by length, heights, wind and posted.  Its update takes a RoadCase, by .winds, .leaves, .still, .route.
    Returns build(figure, look) for a figure of at least 6 x 4 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return WindAlong(figure, look, ranges).update

    return build


class WindAlong:
    """The three strips on one figure.  Made by `wind_along`."""

    def __init__(self, figure: Figure, look: Look, ranges: RoadRanges):
        self.look, desk = look, Desk(figure)
        strips = (
            Strip(("wind",), *ranges.wind, 1.0, 4),
            Strip(("speed", "still_speed", "posted_speed"), 0.0, ranges.posted, 1.8, 4),
            Strip(("height",), *ranges.heights, 0.8, 3),
        )
        self.panes = stacked(desk, look, strips, ranges.length, TOP, FOOT - 18, (LEFT - 20, RIGHT))
        axis_below(desk, look, self.panes[-1].axes, FOOT - 42, "distance", [pane.axes for pane in self.panes])
        self.pinned = look.live(desk.text(desk.wide - 124, desk.high - 14, "", look.ink2, QUIET))

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Move the curves to this case."""
        wind, speed, height = self.panes
        self.pinned.set_text("" if pinned is None else "thin grey: pinned")
        before = {} if pinned is None else _curves(pinned)
        now = _curves(case)
        for pane in (wind, speed):
            pane.show(now, before if pane is wind else {k: v for k, v in before.items() if k == "speed"}, [])
        draw_heights(height.axes, self.look, case.route)
        x, head = now["wind"]
        shaded(wind.axes, self.look, "wind", x, head)
        most, least = float(np.max(head)), float(np.min(head))
        told = f"{shown(-least, 'm/s')} behind" if most <= 0 > least else f"up to {shown(most, 'm/s')}"
        wind.note("wind", told, "below zero: behind" if least < 0 else "")
        for name, (there, values) in (("speed", now["speed"]), ("still_speed", now["still_speed"])):
            mean = mean_speed(there, values)
            speed.note(name, f"mean {shown(mean, 'm/s')}" if mean == mean else "cannot hold it")
        speed.note("posted_speed", f"top {shown(float(np.max(now['posted_speed'][1])), 'm/s')}")
        height.note("height", f"climbs {shown(case.route.climb, 'm')}")
        reading = wind_reading(case)
        return f"Wind against the way, steady speed and height along the distance. {reading}", reading


def _curves(case: Any) -> dict[str, tuple[Any, Any]]:
    x, head, _ = case.winds
    x, head = np.asarray(x, float), np.broadcast_to(np.asarray(head, float), np.shape(x))
    return {"wind": steps(x, head), "speed": case.leaves, "still_speed": case.still, "posted_speed": posted(case.route)}


def steps(x: Any, y: Any) -> tuple[Any, Any]:
    """What holds from each place to the next, as a line of steps."""
    return np.repeat(x, 2)[1:-1], np.repeat(y, 2)[:-2]


def mean_speed(places: Any, speeds: Any) -> float:
    """Way over time [m/s]; nan where somewhere it does not move."""
    speeds = np.asarray(speeds, float)
    if not np.isfinite(speeds).all() or (speeds <= 0).any():
        return float("nan")
    gaps = np.diff(places)
    return float(gaps.sum() / (2 * gaps / (speeds[:-1] + speeds[1:])).sum())


def wind_reading(case: Any) -> str:
    """What the wind does to the speed, in one sentence."""
    _, head, _ = (np.asarray(part, float) for part in case.winds)
    x, speeds = case.leaves
    least = float(np.nanmin(speeds)) if np.isfinite(speeds).any() else float("nan")
    wind = f"The wind blows {shown(float(head.max()), 'm/s')} against the way where it is strongest"
    if head.max() <= 0:
        wind = f"The wind blows from behind, by up to {shown(-float(head.min()), 'm/s')}" if head.min() < 0 else "The air is still"
    stuck = np.flatnonzero(~(np.asarray(speeds, float) > 0))
    if len(stuck):
        return f"{wind}; the drive cannot hold it at {way(float(x[stuck[0]]))}."
    at = float(x[int(np.nanargmin(speeds))])
    mean, still = (mean_speed(*run) for run in (case.leaves, case.still))
    against = f"against {shown(still, 'm/s')} in still air" if still == still else "while in still air it cannot hold the way"
    return (f"{wind}; the least speed is {shown(least, 'm/s')} at {way(at)}, the mean {shown(mean, 'm/s')} {against}.")
