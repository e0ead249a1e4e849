"""Force against speed: what the road asks, stacked, and what the drive gives at each of the store's volts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import NAME, QUIET, Build, Look, Update, extent, limit, setting, shown, spread, width
from evlab.plots.chart import Axis, Chart, Label
from evlab.plots.ranges import Span
from evlab.plots.road_ranges import GearRanges, RoadRanges
from evlab.plots.sentences import percent

PARTS = {"rolling": "rolling", "slope": "slope", "air": "air", "bearings": "bearings"}  # part: its fill
COIL = "coil current limit"
HEADROOM = 88.0  # over the axes, for the family's names [1/100 inch]


def force_stack(ranges: RoadRanges) -> Build:
    """The road's force by its causes, stacked over the speed; over it the drive's force at a family of rested store volts.

    What pushes (a descent, a tail wind) lies below zero; the line is the sum.  Rings stand where both meet.
    Parameters: ranges, by speed and force.  Its update takes a ForceCase, or a case with .forces.
    Returns build(figure, look) for a figure of at least 6 x 4 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return ForceStack(figure, look, ranges.speed, ranges.force).update

    return build


class Family:
    """The drive's curves on a chart of force over speed, named over it."""

    def __init__(self, figure: Figure, look: Look, speed: float, force: Span, right: float):
        self.look = look
        heads = "speed, m/s", "Force at the wheel, N"
        self.chart = Chart(figure, look, Axis.even(0.0, speed, 7), Axis.even(*force, 6), heads, right=right, left=58, top=HEADROOM)
        self.axes = self.chart.axes
        self.coil = limit(self.axes, look, "above")
        look.live(self.axes.axhline(0, color=look.ink2, lw=0.9, ls="-", zorder=2.4))

    def ghosts(self, forces: Any) -> None:
        """A pinned case's curves and road, thin and grey."""
        for force, _ in forces.drive.values():
            self.axes.plot(forces.speeds, force, color=self.look.ink2, lw=1.0, ls=(0, (5, 1.8)), zorder=2.5)
        self.axes.plot(forces.speeds, forces.road, color=self.look.ink2, lw=1.0, ls="-", zorder=2.5)

    def draw(self, forces: Any, chosen: float = math.nan) -> list[Label]:
        """Curves, where each leaves the coil limit and where it meets the road, with its name over it; returns the limit's name."""
        colour, names = self.look.line("drive_force"), []
        for volts, (force, _) in forces.drive.items():
            wide = 3.0 if math.isclose(volts, chosen, abs_tol=0.051) else 1.7
            self.axes.plot(forces.speeds, force, color=colour, lw=wide, ls="-", zorder=3.2)
            i = knee(forces.held[volts])
            x, y = float(forces.speeds[i]), float(force[i])
            self.axes.plot([x], [y], marker="D", ms=5, color=colour, zorder=3.4)
            steady = forces.steady[volts]
            meets = steady is not None and math.isfinite(steady)
            if meets:
                self.axes.plot([steady], [forces.road_at(steady)], marker="o", ms=8, mfc=self.look.paper, mec=self.look.ink,
                               mew=1.8, zorder=4)  # fmt: skip
            bold = wide > 2 or chosen != chosen
            names.append((x, y, setting(round(volts, 1), "V"), shown(steady, "m/s") if meets else "no start", bold))
        self._name(names)
        limited = [float(force[0]) for volts, (force, _) in forces.drive.items() if forces.held[volts][0] == COIL]
        self.coil(highest := max(limited, default=math.nan))
        return [(highest, f"coil limit\n{shown(highest, 'N')}", self.look.ink2, False)] if highest == highest else []

    def _name(self, names: Sequence[tuple[float, float, str, str, bool]]) -> None:
        """The volts and the steady speed of each curve in a row over the chart, each led to its bend."""
        (low, high), (wide, tall), top = self.axes.get_xlim(), extent(self.axes), self.axes.get_ylim()[1]
        per_x, per_y = wide / (high - low), tall / (top - self.axes.get_ylim()[0])
        rooms = [max(width(volts, bold=True), width(speed, QUIET)) + 10 for *_, volts, speed, _ in names]
        wanted = [min(x, high) * per_x - room / 2 for (x, *_), room in zip(names, rooms, strict=True)]
        starts = spread(wanted, rooms, -50.0, wide + self.chart.beyond)
        for (x, y, volts, speed, strong), start, room in zip(names, starts, rooms, strict=True):
            middle, foot = (start + room / 2) / per_x + low, top + 6 / per_y
            self.axes.plot([middle, x, x], [foot, top - 4 / per_y, y], color=self.look.ink2, lw=0.8, ls=(0, (1.1, 2.2)), zorder=2.3,
                           clip_on=False)  # fmt: skip
            for lift, words, size, colour, bold in ((27, volts, NAME, self.look.text("drive_force"), strong),
                                                    (12, speed, QUIET, self.look.ink, False)):  # fmt: skip
                self.axes.text(middle, top + lift / per_y, words, ha="center", va="center_baseline", fontsize=size, zorder=5,
                               color=colour, fontweight="bold" if bold else "normal")  # fmt: skip


class ForceStack:
    """The stack, the sum and the family on one figure.  Made by `force_stack`."""

    def __init__(self, figure: Figure, look: Look, speed: float, force: Span):
        self.look, self.family = look, Family(figure, look, speed, force, 132.0)

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Draw the stack and the family of this case; a pinned one's curves in grey."""
        forces = getattr(case, "forces", case)
        chart = self.family.chart
        chart.begin(pinned)
        if pinned is not None:
            self.family.ghosts(getattr(pinned, "forces", pinned))
        seen = forces.speeds <= chart.axes.get_xlim()[1] * (1 + 1e-9)
        x = forces.speeds[seen]
        middles = chart.stack(x, [(fill, np.asarray(forces.parts[part])[seen]) for part, fill in PARTS.items()])
        chart.axes.plot(x, forces.road[seen], color=self.look.paper, lw=4.4, ls="-", zorder=2.9)
        chart.curve("road_force", x, forces.road[seen], wide=2.4)
        labels = self.family.draw(forces, getattr(case, "volts", math.nan) if case is not forces else math.nan)
        for part, fill in PARTS.items():
            newtons = float(np.asarray(forces.parts[part])[seen][-1])
            if abs(newtons) >= 0.05:
                words = f"slope {percent(forces.slope)}" if part == "slope" else part
                labels.append((middles[fill], f"{words}\n{shown(newtons, 'N')}", self.look.text(fill), True))
        labels.append((float(forces.road[seen][-1]), f"in all {shown(float(forces.road[seen][-1]), 'N')}", self.look.ink, True))
        chart.beside(labels)
        reading = force_reading(forces)
        return f"Force over speed: the road's parts stacked, the drive's force for each of the store's volts. {reading}", reading


def knee(held: Sequence[str]) -> int:
    """Where a curve leaves the coil current limit: the last place at which that holds it, or the first of all."""
    return next((i - 1 for i, by in enumerate(held) if i and by != COIL), len(held) - 1) if held[0] == COIL else 0


def does(forces: Any, volts: float) -> str:
    """What the drive does at these volts: 'holds 4.23 m/s with 35.0 V'."""
    speed = forces.steady.get(volts)
    told = f"holds {shown(speed, 'm/s')}" if speed is not None and math.isfinite(speed) else "cannot start"
    return f"{told} with {shown(volts, 'V')}"


def force_reading(forces: Any) -> str:
    """What road and drive come to, in one sentence."""
    volts, least = max(forces.steady), min(forces.steady)
    speed = forces.steady[volts]
    at = speed if speed is not None and math.isfinite(speed) else 0.0
    shares = {part: float(np.interp(at, forces.speeds, values)) for part, values in forces.parts.items()}
    most = max(shares, key=lambda k: abs(shares[k]))
    also = f" and {does(forces, least).removeprefix('holds ')}" if least != volts and at else ""
    rolls = f"; with no drive and no brake it rolls at {shown(forces.coasting, 'm/s')}" if math.isfinite(forces.coasting) else ""
    return (f"On {percent(forces.slope)} the drive {does(forces, volts)}{also}; at {shown(at, 'm/s')} the road asks "
            f"{shown(forces.road_at(at), 'N')}, its largest part is {most} with {shown(shares[most], 'N')}{rolls}.")  # fmt: skip


# ---------------------------------------------------------------- this gear ratio
def force_family(ranges: GearRanges) -> Build:
    """The drive's force at this gear ratio, one curve for each of the store's volts, against the road, level and on the slope.

    The asked volts are the thick curve; the square at standstill tells what is left to start with, the triangle what is asked: that
    speed on the slope.  A pinned ratio is grey.
    Parameters: ranges, by speed and force.  Its update takes a GearCase, by .forces, .volts, .slope, .speed, .restart and
    .gradeability.
    Returns build(figure, look) for a figure of at least 6 x 4 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return ForceFamily(figure, look, ranges.speed, ranges.force).update

    return build


class ForceFamily:
    """The family and the road's two curves on one figure.  Made by `force_family`."""

    def __init__(self, figure: Figure, look: Look, speed: float, force: Span):
        self.look, self.family = look, Family(figure, look, speed, force, 132.0)

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Draw this ratio's curves; those of a pinned one in grey."""
        forces, chart = case.forces, self.family.chart
        chart.begin(pinned)
        if pinned is not None:
            self.family.ghosts(pinned.forces)
        seen = forces.speeds <= chart.axes.get_xlim()[1] * (1 + 1e-9)
        x, road = forces.speeds[seen], forces.road[seen]
        flat = level_road(forces)[seen]
        chart.curve("road_force", x, flat, wide=1.4)
        chart.axes.plot(x, road, color=self.look.line("road_force"), lw=2.4, ls="-", zorder=3)
        labels = self.family.draw(forces, case.volts)
        start = forces.drive_at(round(case.volts, 1), 0.0)
        chart.axes.plot([0], [start], marker="s", ms=9, mfc=self.look.paper, mec=self.look.ink, mew=1.8, zorder=4.2, clip_on=False)
        self._asked(case)
        labels += [(float(road[-1]), f"road, {percent(case.slope)}\n{shown(float(road[-1]), 'N')}", self.look.text("road"), True),
                   (float(flat[-1]), f"road, level\n{shown(float(flat[-1]), 'N')}", self.look.text("road"), False)]  # fmt: skip
        chart.beside(labels)
        reading = family_reading(case)
        return f"Drive force over speed for each of the store's volts, with the road's, level and on the slope. {reading}", reading


    def _asked(self, case: Any) -> None:
        """The speed that is asked on the slope, and the force it takes there."""
        axes, needed = self.family.chart.axes, case.forces.road_at(case.speed)
        end = axes.get_xlim()[1]
        if case.speed > end:  # beyond the paper: no drive of this ratio comes near
            words = f"asked: {shown(case.speed, 'm/s')} →"
            self.family.chart.say(0.99 * end, 0.5 * case.forces.road_at(end), words, self.look.ink2, ha="right", over=True)
            return
        axes.plot([case.speed, case.speed], [0.0, needed], color=self.look.ink2, lw=1.2, ls=(0, (1.2, 2.4)), zorder=3.4)
        axes.plot([case.speed], [needed], marker="^", ms=8, mfc=self.look.ink, mec=self.look.paper, mew=1.2, zorder=4.3)
        self.family.chart.say(case.speed, 0.5 * needed, "asked", self.look.ink2, ha="center", over=True)


def level_road(forces: Any) -> Any:
    """The road's force without its slope [N]."""
    parts = forces.parts
    return parts["rolling"] * math.sqrt(1 + forces.slope**2) + parts["air"] + parts["bearings"]


def family_reading(case: Any) -> str:
    """Whether this ratio climbs at the asked volts, in one sentence."""
    starts, holds = (math.isfinite(g) and g > 0 for g in (case.restart, case.gradeability))
    start = f"restarts on up to {percent(case.restart)}" if starts else "does not restart even on the level"
    hold = f"holds {shown(case.speed, 'm/s')} on up to {percent(case.gradeability)}" if holds else (
        f"does not hold {shown(case.speed, 'm/s')} even on the level")  # fmt: skip
    return (f"At {case.vehicle.gearing.ratio:.2f}:1 the drive {does(case.forces, round(case.volts, 1))} on {percent(case.slope)}; "
            f"with these volts it {start} and {hold}.")  # fmt: skip
