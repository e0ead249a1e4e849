"""Which sprocket, and does it fit: time against energy of the trip for every sprocket; chain and wheel from the side, to scale."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import groupby
from textwrap import wrap
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import HEAD, QUIET, THIN, Build, Desk, Look, Update, extent, shown, width
from evlab.plots.chart import Axis, Chart, Label
from evlab.plots.road_ranges import GearRanges
from evlab.units import InputError

PLACES = tuple((dx, dy) for reach in (11, 24, 38) for dy in (reach, -reach) for dx in (9, -9))
#   of a label beside its dot [1/100 inch]; a dx below zero: it ends there
Box = tuple[float, float, float, float]  # left, bottom, right, top [1/100 inch]


def ratio_front(ranges: GearRanges) -> Build:
    """One dot for each wheel sprocket: time of the trip and energy from the store, joined in the order of teeth.

    This one is ringed; crosses at the border stand for those that do not arrive, with their reason.
    Parameters: ranges, by time and energy.  Its update takes a GearCase, by .front and .reason.
    Returns build(figure, look) for a figure of at least 6 x 4 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return RatioFront(figure, look, ranges).update

    return build


class RatioFront:
    """Dots, rings and crosses on one figure.  Made by `ratio_front`."""

    def __init__(self, figure: Figure, look: Look, ranges: GearRanges):
        self.look = look
        low, high = (e / 1000 for e in ranges.energy)
        heads = "time of the trip, s", "From the store, kJ"
        self.chart = Chart(figure, look, Axis.even(*ranges.time), Axis.even(low, high), heads, right=176)
        (self.left, self.right), (self.low, self.high) = self.chart.axes.get_xlim(), self.chart.axes.get_ylim()
        wide, tall = extent(self.chart.axes)
        self.per_x, self.per_y = wide / (self.right - self.left), tall / (self.high - self.low)

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Draw the dots of this case; a pinned one's in grey."""
        self.chart.begin(pinned)
        if pinned is not None:
            self.chart.axes.plot(*self._dots(pinned.front), color=self.look.ink2, lw=1.0, ls="-", marker=".", ms=4, zorder=2.5)
        front, axes = case.front, self.chart.axes
        x, y = self._dots(front)
        axes.plot(x, y, color=self.look.line("gearing"), lw=1.4, ls="-", marker="o", ms=5, zorder=3)
        arrived = [int(i) for i in np.flatnonzero(front.arrived)]
        if front.here in arrived:
            at = arrived.index(front.here)
            axes.plot([x[at]], [y[at]], marker="o", ms=13, mfc="none", mec=self.look.ink, mew=1.8, zorder=4)
        self._names(front, arrived, x, y)
        self.chart.beside(self._crosses(front))
        reading = front_reading(case)
        return f"Energy from the store over the time of the trip, a dot for each wheel sprocket. {reading}", reading

    def _dots(self, front: Any) -> tuple[Any, Any]:
        """Time [s] and energy [kJ] of those that arrive; what lies beyond the paper stands at its border."""
        time, energy = (np.asarray(v, float)[front.arrived] for v in (front.time, front.energy))
        return np.clip(time, self.left, self.right), np.clip(energy / 1000, self.low, self.high)

    def _names(self, front: Any, arrived: Sequence[int], x: Any, y: Any) -> None:
        """Teeth beside their dots, the important ones first, where they touch neither dots nor one another."""
        told = {front.here: " here", front.fastest: " fastest", front.best: " least energy"}
        if front.best == front.fastest:
            told[front.best] = " fastest and least energy"
        order = [i for i in (front.here, front.best, front.fastest) if i in arrived]
        order += [arrived[0], arrived[-1], *arrived[::3]] if arrived else []
        taken = self._line(x, y)
        for i in dict.fromkeys(order):
            words = f"{front.teeth[i]}{told.get(i, '')}{', here' if i == front.here and told.get(i) != ' here' else ''}"
            at = arrived.index(i)
            px, py = (x[at] - self.left) * self.per_x, (y[at] - self.low) * self.per_y
            free = (b for b in self._boxes(px, py, words, i in told) if not any(_touch(b, other) for other in taken))
            if box := next(free, None):
                taken.append(box)
                place = self.left + box[0] / self.per_x, self.low + (box[1] + 7) / self.per_y
                self.chart.say(*place, words, bold=i in told)

    def _line(self, x: Any, y: Any) -> list[Box]:
        """Where the line runs, in small pieces."""
        px, py = (x - self.left) * self.per_x, (y - self.low) * self.per_y
        if not len(px):
            return []
        way = np.r_[0.0, np.cumsum(np.hypot(np.diff(px), np.diff(py)))]
        at = np.arange(0.0, way[-1] + 1, 5.0)
        return [(a - 3, b - 3, a + 3, b + 3) for a, b in zip(np.interp(at, way, px), np.interp(at, way, py), strict=True)]

    def _boxes(self, px: float, py: float, words: str, bold: bool) -> Iterator[Box]:
        """Where a label may stand, inside the paper."""
        reach = width(words, QUIET, bold)
        for dx, dy in PLACES:
            left = px + dx if dx > 0 else px + dx - reach
            if left > 2 and left + reach < self.per_x * (self.right - self.left) - 14 and py + dy > 8:
                yield left, py + dy - 7, left + reach + 4, py + dy + 9

    def _crosses(self, front: Any) -> list[Label]:
        """Those that do not arrive, one above the other at the right border, fewest teeth lowest; returns their names."""
        lost = [int(i) for i in np.flatnonzero(~np.asarray(front.arrived))]
        heights = {i: self.low + (12 + 12 * k) / self.per_y for k, i in enumerate(lost)}
        border, colour = [self.right] * len(lost), self.look.ink
        self.chart.axes.plot(border, [*heights.values()], ls="", marker="x", ms=7, mew=1.6, color=colour, zorder=4, clip_on=False)
        labels: list[Label] = []
        for outcome, group in groupby(lost, key=lambda i: front.outcome[i]):
            teeth = list(group)
            first, last = front.teeth[teeth[0]], front.teeth[teeth[-1]]
            span = f"{first} teeth" if first == last else f"{first} to {last} teeth"
            here = front.here in teeth
            words = f"{span}\n{outcome}{', here' if here else ''}"
            labels.append((float(np.mean([heights[i] for i in teeth])), words, self.look.ink, here))
        return labels


def _touch(a: Sequence[float], b: Sequence[float]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def front_reading(case: Any) -> str:
    """What this sprocket costs, which are better, and the hard bound, in words."""
    front, i = case.front, case.front.here
    does = f"take {shown(front.energy[i] / 1000, 'kJ')} in {shown(front.time[i], 's')}"
    this = f"{front.teeth[i]} teeth {does if front.arrived[i] else f'do not arrive ({front.outcome[i]})'}"
    reason = case.reason
    return f"{this}; {reason[:1].lower()}{reason[1:]}"


# ---------------------------------------------------------------- chain and wheel
TURN = np.linspace(0.0, 2 * math.pi, 181)


def sprockets(ranges: GearRanges) -> Build:
    """Chain or belt and wheel from the side, to scale: tyre and ground, both sprockets, the run, and dimensions in mm.

    Parameters: ranges, by wheel and centre [m].  Its update takes a GearCase, by .geometry and .vehicle.
    Returns build(figure, look) for a figure of at least 6 x 4 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return Sprockets(figure, look, ranges).update

    return build


class Sprockets:
    """The drawing on one figure, in metres; the wheel's axle stands over x = 0, the ground at y = 0.  Made by `sprockets`."""

    def __init__(self, figure: Figure, look: Look, ranges: GearRanges):
        self.look, desk = look, Desk(figure)
        self.axes = desk.axes(8, 8, desk.wide - 16, desk.high - 84)
        wide, tall = extent(self.axes)
        room_x, room_y = ranges.centre + 1.15 * ranges.wheel + 0.06, 2.1 * ranges.wheel
        self.scale = min(wide / room_x, (tall - 34) / room_y)  # 1/100 inch for a metre
        right, spare = 1.1 * ranges.wheel, wide / self.scale - room_x
        low = -34 / self.scale - 0.4 * ((tall - 34) / self.scale - room_y)
        self.axes.set(xlim=(right + spare / 2 - wide / self.scale, right + spare / 2), ylim=(low, low + tall / self.scale))
        self.axes.axis("off")
        self.left = self.axes.get_xlim()[0]
        desk.text(8, desk.high - 20, "Chain and wheel from the side, to scale", look.ink, HEAD, True)
        self.told = [look.live(desk.text(8, desk.high - y, "", look.ink, QUIET)) for y in (43, 61)]
        self.pinned = look.live(desk.text(desk.wide - 124, desk.high - 20, "", look.ink2, QUIET))
        self._ground()

    def _ground(self) -> None:
        """The ground: a line with strokes under it."""
        low, high = self.axes.get_xlim()
        feet = np.arange(low, high, 12 / self.scale)
        nan, none = np.full_like(feet, np.nan), np.zeros_like(feet)
        xs, ys = (np.column_stack(c).ravel() for c in ((feet, feet - 6 / self.scale, nan), (none, none - 7 / self.scale, nan)))
        self.axes.plot(np.r_[low, high, np.nan, xs], np.r_[0, 0, np.nan, ys], color=self.look.ink2, lw=0.9, ls="-")

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Draw this stage; the circles and the run of a pinned one in grey."""
        self.pinned.set_text("" if pinned is None else "thin grey: pinned")
        if pinned is not None and fits(pinned):
            self._stage(pinned, ghost=True)
        gearing = case.vehicle.gearing
        self._wheel(gearing)
        if not fits(case):
            return self._unfit(case)
        g = case.geometry
        self._stage(case)
        self._dimensions(gearing, g)
        self._first_stage(gearing)
        run, part = g.chain.kind, "links" if g.chain.kind == "chain" else "teeth"
        over = f", {_mm(g.outer_diameter)} over its teeth" if run == "chain" else ""
        self.told[0].set_text(f"driver {g.driver_teeth} teeth, ⌀{THIN}{_mm(g.driver_diameter)}     "
                              f"wheel {g.wheel_teeth} teeth, ⌀{THIN}{_mm(g.wheel_diameter)}{over}")  # fmt: skip
        unknown = "; frame gap not stated" if g.frame_clearance != g.frame_clearance else ""
        self.told[1].set_text(f"{run} {g.chain.name}, {g.links} {part}, on the driver over {math.degrees(g.wrap):.0f}°{unknown}")
        reading = sprocket_reading(case)
        return f"Side view of {run} and wheel, to scale. {reading}", reading

    def _unfit(self, case: Any) -> tuple[str, str]:
        """A strand that does not go round these wheels: the wheel alone, and why."""
        words = _why(case)
        lines = wrap(words, int(extent(self.axes)[0] / 7.6))
        for text, line in zip(self.told, [*lines, "", ""], strict=False):
            text.set_text(line)
        return f"Side view of the wheel alone. {words}", words

    def _circle(self, x: float, radius: float, colour: str, wide: float = 1.0, dash: Any = "-", zorder: float = 2.0) -> None:
        xs, ys = x + radius * np.cos(TURN), self.height + radius * np.sin(TURN)
        self.axes.plot(xs, ys, color=colour, lw=wide, ls=dash, zorder=zorder)

    def _wheel(self, gearing: Any) -> None:
        """Tyre, rim and axle, and where the frame begins."""
        self.height = gearing.wheel_radius
        tyre = 0.08 * gearing.wheel_radius
        for radius, wide in ((gearing.wheel_radius, 1.6), (gearing.wheel_radius - tyre, 1.0)):
            self._circle(0.0, radius, self.look.ink, wide)
        if radius := float(gearing.frame_gap):
            self._circle(0.0, radius, self.look.ink2, 1.0, (0, (5, 3)))
            turn = math.radians(38)
            self._say(radius * math.cos(turn), self.height + radius * math.sin(turn), f"frame from {_mm(radius)}", "center")

    def _stage(self, case: Any, ghost: bool = False) -> None:
        """Both sprockets and the run between them."""
        g, look = case.geometry, self.look
        self.height = case.vehicle.gearing.wheel_radius
        colour = look.ink2 if ghost else look.line("gearing")
        chain, beyond = g.chain.kind == "chain", (g.outer_diameter - g.wheel_diameter) / 2
        driver = -g.centre_distance, g.driver_diameter / 2, g.driver_teeth
        for x, pitch, teeth in ((0.0, g.wheel_diameter / 2, g.wheel_teeth), driver):
            if ghost:
                self._circle(x, pitch, colour)
                continue
            outside, inside = (pitch + beyond, pitch - 1.2 * beyond) if chain else (pitch, pitch - 0.3 * g.chain.pitch)
            xs, ys = _toothed(x, self.height, inside, outside, teeth)
            self.axes.fill(xs, ys, facecolor=look.tint("gearing", 0.16), edgecolor=colour, lw=0.8, ls="-", zorder=3)
            self._circle(x, pitch, colour, 0.9, (0, (7, 1.8, 1.3, 1.8)), 3.2)
            self.axes.plot([x], [self.height], marker="+", ms=9, mew=1.2, color=look.ink, zorder=5)
        wide, dash = (1.0, "-") if ghost else (3.2, (0, (1.3, 0.7))) if chain else (4.6, "-")
        self.axes.plot(*_run(g, self.height), color=colour, lw=wide, ls=dash, zorder=2.7 if ghost else 3.4)

    def _dimensions(self, gearing: Any, g: Any) -> None:
        """Centre distance under the run, what is left to the ground, and to the frame."""
        outermost = gearing.wheel_radius - g.ground_clearance
        level = self.height - max(outermost, 0.35 * self.height) - 16 / self.scale
        level = max(level, 20 / self.scale)
        for x in (-g.centre_distance, 0.0):
            self.axes.plot([x, x], [self.height, level - 5 / self.scale], color=self.look.ink2, lw=0.8, ls="-", zorder=2.2)
        self._arrow((-g.centre_distance, level), (0.0, level), f"{1000 * g.centre_distance:.0f}{THIN}mm")
        x = outermost + 12 / self.scale if outermost < 0.8 * self.height else 0.86 * self.height
        self.axes.plot([0, x + 5 / self.scale], [g.ground_clearance] * 2, color=self.look.ink2, lw=0.8, ls="-", zorder=2.2)
        self._arrow((x, 0.0), (x, g.ground_clearance), "")
        words = f"{_mm(g.ground_clearance)} to the ground"
        edge = self.axes.get_xlim()[1] - (width(words, QUIET) / 2 + 4) / self.scale
        self._say(min(x, edge), -20 / self.scale, words, "center")
        if g.frame_clearance == g.frame_clearance:
            far = outermost + g.frame_clearance
            turn = math.radians(20)
            one, two = ((r * math.cos(turn), self.height + r * math.sin(turn)) for r in (outermost, far))
            words = _mm(g.frame_clearance) if g.frame_clearance >= 0 else f"{_mm(-g.frame_clearance)} too far"
            self._arrow(one, two, words, "left")

    def _arrow(self, one: tuple[float, float], two: tuple[float, float], words: str, side: str = "center") -> None:
        """A dimension: an arrow both ways; its words on it, or right of its middle."""
        style = {"arrowstyle": "<->", "color": self.look.ink, "lw": 1.0, "shrinkA": 0, "shrinkB": 0}
        if math.dist(one, two) * self.scale > 4:
            self.axes.annotate("", one, two, arrowprops=style, zorder=4.5)
        x, y = ((a + b) / 2 for a, b in zip(one, two, strict=True))
        if words:
            edge = self.axes.get_xlim()[1] - (width(words, QUIET) + 6) / self.scale
            self._say(min(x + 8 / self.scale, edge) if side == "left" else x, y, words, side)

    def _say(self, x: float, y: float, words: str, side: str) -> None:
        ground = {"boxstyle": "square,pad=0.1", "facecolor": self.look.paper, "edgecolor": "none"}
        self.axes.text(x, y, words, color=self.look.ink, ha=side, va="center_baseline", fontsize=QUIET, zorder=6, bbox=ground)

    def _first_stage(self, gearing: Any) -> None:
        """A stage before this one, smaller, in the upper left corner, to the scale of its teeth."""
        small, large = (int(getattr(gearing, name, 0) or 0) for name in ("shaft_driver_teeth", "shaft_driven_teeth"))
        if not small or not large:
            return
        unit, top = 26 / self.scale / max(small, large), self.axes.get_ylim()[1] - 34 / self.scale
        x = self.left + 34 / self.scale
        two = x + 1.6 * (small + large) * unit
        for at, teeth in ((x, small), (two, large)):
            xs, ys = _toothed(at, top, 0.92 * teeth * unit, teeth * unit, teeth)
            tint, edge = self.look.tint("gearing", 0.16), self.look.line("gearing")
            self.axes.fill(xs, ys, facecolor=tint, edgecolor=edge, lw=0.8, ls="-", zorder=3)
        self._say(self.left + 4 / self.scale, top - 44 / self.scale, f"first stage {small} : {large}, not to scale", "left")


def _why(case: Any) -> str:
    """Why this geometry cannot be; nothing where it can."""
    try:
        case.geometry  # noqa: B018  worked out when it is first read
    except InputError as error:
        return str(error)
    return ""


def fits(case: Any) -> bool:
    """Whether chain or belt goes round these two wheels at all."""
    return not _why(case)


def _toothed(x: float, y: float, inside: float, outside: float, teeth: int) -> tuple[Any, Any]:
    """A wheel's outline with a tooth hinted for each."""
    turns = 2 * math.pi / teeth * (np.arange(teeth)[:, None] + np.array([-0.27, -0.12, 0.12, 0.27])).ravel()
    radii = np.tile([inside, outside, outside, inside], teeth)
    return x + radii * np.cos(turns), y + radii * np.sin(turns)


def _run(g: Any, y: float) -> tuple[Any, Any]:
    """The strand: round the wheel at the right, back along a tangent, round the driver at the left."""
    big, small, centre = g.wheel_diameter / 2, g.driver_diameter / 2, g.centre_distance
    lean = math.pi / 2 + math.asin((big - small) / centre)  # where the tangents leave, from the way to the right
    right, left = np.linspace(-lean, lean, 91), np.linspace(lean, 2 * math.pi - lean, 61)
    xs = np.r_[big * np.cos(right), -centre + small * np.cos(left), big * np.cos(right[:1])]
    return xs, y + np.r_[big * np.sin(right), small * np.sin(left), big * np.sin(right[:1])]


def _mm(metres: float) -> str:
    return shown(1000 * metres, "mm")


def sprocket_reading(case: Any) -> str:
    """Whether it fits, and how hard it pulls, in one sentence."""
    g = case.geometry
    under = f"{_mm(g.ground_clearance)} are left to the ground" if g.ground_clearance > 0 else (
        f"the {g.chain.kind} reaches {_mm(-g.ground_clearance)} into the ground")  # fmt: skip
    beside = "" if g.frame_clearance != g.frame_clearance else (
        f" and {_mm(g.frame_clearance)} to the frame" if g.frame_clearance >= 0 else
        f" and the wheel stands {_mm(-g.frame_clearance)} into the frame")  # fmt: skip
    safe = f", its strength is {shown(g.safety, figures=2)} times that" if g.safety == g.safety else ""
    part = "links" if g.chain.kind == "chain" else "teeth"
    apart = f"{1000 * g.centre_distance:.0f}{THIN}mm apart"
    return (f"{g.driver_teeth} to {g.wheel_teeth} teeth with {g.links} {part} stand {apart}; {under}{beside}; "
            f"the {g.chain.kind} pulls {shown(g.tension, 'N')}{safe}.")  # fmt: skip
