"""Braking with the motor: power against current, what pays where, one stop, stop and go."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import QUIET, Build, Look, Update, extent, shown, width
from evlab.plots.chart import Axis, Chart, Label
from evlab.plots.regen_ranges import RegenRanges, above
from evlab.plots.sentences import percent

PERCENT = 100.0


def recovered_power(ranges: RegenRanges) -> Build:
    """What comes back at the bridge against the braking current, at four speeds; E/2R, E/R and the braking limit marked.

    Parameters: ranges, by amps and power.  Its update takes a RegenCase, by .family and .here.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        chart = Chart(figure, look, Axis.even(0.0, ranges.amps, 7), Axis.even(*ranges.power, 6),
                      ("braking current, A", "What comes back, W"), right=24, left=62)  # fmt: skip
        chart.line([0.0, ranges.amps], [0.0, 0.0])

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            if pinned is not None:
                chart.curve("recovered", pinned.here.amps, pinned.here.recovered, ghost=True)
            for p in case.family:
                _parabola(chart, p, case.here)
            _limit(chart, case)
            reading = power_reading(case)
            return f"Power that comes back over the braking current, a parabola for each speed. {reading}", reading

        return update

    return build


def _parabola(chart: Chart, p: Any, asked: Any) -> None:
    """One speed: full where it is the asked one; there the top and the end of what pays are marked.  Names stand at the ends."""
    end, here, inside = chart.axes.get_xlim()[1], p.speed == asked.speed, _inside(chart, p)
    chart.curve("recovered" if here else "recovered_else", p.amps[inside], p.recovered[inside], wide=2.6 if here else 1.6)
    if here:
        chart.axes.plot([p.best_amps], [p.most], marker="o", ms=8, mfc=chart.look.paper, mec=chart.look.ink, mew=1.8, zorder=4)
        _at_end(chart, p, f"{shown(p.speed, 'm/s')}: most {shown(p.most, 'W')} at E/2R {shown(p.best_amps, 'A')}", True)
        if p.zero_amps[1] <= end:
            chart.axes.plot([p.zero_amps[1]], [0.0], marker="x", ms=8, mew=1.8, color=chart.look.ink, zorder=4)
            _costs_from(chart, p.zero_amps[1])
    elif _apart(chart, p, asked):
        _at_end(chart, p, shown(p.speed, "m/s"))


def _apart(chart: Chart, p: Any, asked: Any) -> bool:
    """Does the name of a parabola keep clear of that of the asked one?"""
    (x, y), (there, low) = _name_place(chart, p), _name_place(chart, asked)
    return abs(y - low) > 18 * _unit(chart, 1) or x - 70 * _unit(chart, 0) > max(there, 330 * _unit(chart, 0))


def _inside(chart: Chart, p: Any) -> Any:
    """Which points of a parabola are drawn."""
    return (p.amps <= chart.axes.get_xlim()[1]) & (p.recovered >= chart.axes.get_ylim()[0])


def _unit(chart: Chart, axis: int) -> float:
    """What 1/100 inch is on the axis (0: across, 1: upright)."""
    low, high = (chart.axes.get_xlim, chart.axes.get_ylim)[axis]()
    return float(high - low) / extent(chart.axes)[axis]


def _name_place(chart: Chart, p: Any) -> tuple[float, float]:
    """Where the name of a parabola ends: under its end, where no other one runs."""
    inside, step = _inside(chart, p), _unit(chart, 1)
    return float(p.amps[inside][-1]), max(float(p.recovered[inside][-1]) - 18 * step, chart.axes.get_ylim()[0] + 11 * step)


def _at_end(chart: Chart, p: Any, words: str, bold: bool = False) -> None:
    """The name of a parabola at its place, kept inside the axes at the left."""
    x, y = _name_place(chart, p)
    chart.say(max(x, width(words, QUIET, bold) * _unit(chart, 0)), y, words, ha="right", bold=bold, over=True)


def _costs_from(chart: Chart, amps: float) -> None:
    """The words beside the end of what pays: under its parabola, or behind it where that is too narrow."""
    (left, right), (low, high) = chart.axes.get_xlim(), chart.axes.get_ylim()
    words, step = f"costs from {shown(amps, 'A')}", 0.015 * (right - left)
    under = amps - step - left > width(words, QUIET) * (right - left) / extent(chart.axes)[0]
    chart.say(amps - step if under else amps + step, 0.045 * (high - low), words, ha="right" if under else "left", over=True)


def _limit(chart: Chart, case: Any) -> None:
    """The controller's braking limit as an upright hair, with its words."""
    amps, (low, high), (left, right) = case.limit_amps, chart.axes.get_ylim(), chart.axes.get_xlim()
    if 0 < amps <= right:
        chart.line([amps, amps], [low, high], (0, (1.1, 2.2)))
        words = f"limit {shown(amps, 'A')}"
        half = 0.5 * width(words, QUIET) * (right - left) / extent(chart.axes)[0]
        chart.say(min(max(amps, left + half), right - half), low + 0.965 * (high - low), words, ha="center", over=True)


def power_reading(case: Any) -> str:
    """Where the top lies and from where on it costs, in one sentence."""
    p = case.here
    if not p.most > 0:
        return (f"At {shown(p.speed, 'm/s')} nothing comes back at any current: the electronics take more than the motor can give "
                f"below {shown(case.region.least_speed, 'm/s')}.")
    limit, comes = "", "comes" if p.limit_amps > 0 else "would come"
    if p.limit_amps <= 0:
        limit = "; with a braking limit of 0 A none of it does"
    elif p.limit_amps < p.best_amps:
        limit = f"; the limit of {shown(p.limit_amps, 'A')} gives {shown(p.at_limit, 'W')}"
    half = percent(p.most / (p.emf * p.best_amps))
    return (f"At {shown(p.speed, 'm/s')} most {comes} back with {shown(p.best_amps, 'A')}: {shown(p.most, 'W')}, {half} of what "
            f"the motor brakes; beyond {shown(p.zero_amps[1], 'A')} braking costs{limit}.")


# ---------------------------------------------------------------- where it pays
def braking_regions(ranges: RegenRanges) -> Build:
    """Speed and braking force at the wheel: where something comes back, where braking costs, and where the motor cannot brake so.

    Parameters: ranges, by speed and force.  Its update takes a RegenCase, by .region, .speed, .slope.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        chart = Chart(figure, look, Axis.even(0.0, ranges.speed, 7), Axis.even(0.0, ranges.force, 6),
                      ("speed, m/s", "Braking force at the wheel, N"), right=158, left=62)  # fmt: skip

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            if pinned is not None:
                chart.curve("slope_asks", pinned.region.speeds, np.clip(pinned.region.needed, 0, ranges.force), ghost=True)
            _areas(chart, case.region, ranges.force)
            chart.beside(_lines(chart, case, ranges.force))
            _here(chart, case)
            reading = region_reading(case)
            return f"Braking force over speed, divided into what recovers, what costs, what cannot be. {reading}", reading

        return update

    return build


def _areas(chart: Chart, r: Any, top: float) -> None:
    """Three areas: pale where it recovers, hatched where it costs, crossed where the limit does not let it brake so; each named."""
    look, axes = chart.look, chart.axes
    limit = np.clip(r.limit, 0.0, top)
    low = np.minimum(np.nan_to_num(r.zero_low, nan=0.0), limit)
    high = np.minimum(np.nan_to_num(r.zero_high, nan=0.0), limit)
    edge: dict[str, Any] = {"edgecolor": look.ink2, "linewidth": 0.8, "hatchcolor": look.ink2}
    pale: dict[str, Any] = {"facecolor": look.tint("store", 0.22), "edgecolor": look.line("store"), "linewidth": 1.0}
    axes.fill_between(r.speeds, low, high, zorder=1.4, **pale)
    axes.fill_between(r.speeds, high, limit, where=high < limit, facecolor="none", hatch="////", zorder=1.3, **edge)
    axes.fill_between(r.speeds, limit, top, facecolor=look.band, hatch="xx", zorder=1.2, **{**edge, "hatchcolor": look.rule})
    asked = np.clip(np.nan_to_num(r.needed), low, high)  # the name keeps clear of this line
    _name(chart, r, "recovers", (low, asked), (asked, high))
    _name(chart, r, "brakes, but costs", (high, limit))
    _name(chart, r, "beyond the braking limit: friction only", (limit, np.full_like(limit, top)))


def _within(r: Any, values: Any, speed: float) -> float:
    return float(np.interp(speed, r.speeds, values))


def _name(chart: Chart, r: Any, words: str, *parts: tuple[Any, Any]) -> None:
    """The name of an area where one of its parts (lower and upper edge) is tallest and the name has room; none where it has not."""
    wide, tall = extent(chart.axes)
    right, top = chart.axes.get_xlim()[1], chart.axes.get_ylim()[1]
    half = 0.5 * (width(words, QUIET) + 10) * right / wide
    spots = np.linspace(half, right - half, 25) if right > 2 * half else np.zeros(0)
    best, room = None, 0.0
    for s, (lower, upper) in product(spots, parts):
        near = (s - half, s, s + half)
        low, high = max(_within(r, lower, x) for x in near), min(_within(r, upper, x) for x in near)
        seen = (high - low) * (1 - 0.3 * abs(2 * s / right - 1))  # the middle of the paper, where two places are alike
        if seen > room:
            best, room = (float(s), (low + high) / 2), seen
    if best and room > 20 * top / tall:
        chart.say(*best, words, ha="center", bold=True, over=True)


def _lines(chart: Chart, case: Any, top: float) -> list[Label]:
    """The braking limit, the best force and what the slope asks; returns their names."""
    r, look, end = case.region, chart.look, chart.axes.get_xlim()[1]
    labels: list[Label] = []
    names = (("brake_limit", r.limit, f"limit {shown(case.limit_amps, 'A')}"), ("best_brake", r.best, "most comes back"),
             ("slope_asks", r.needed, f"{percent(case.slope)} down asks"))  # fmt: skip
    for name, values, words in names:
        seen = np.isfinite(values) & (values >= 0) & (values <= top)
        if not seen.any():
            continue
        x, y = r.speeds[seen], values[seen]
        chart.curve(name, x, y, wide=2.2)
        if x[-1] < 0.9 * end and y[-1] > 0.9 * top:  # it leaves through the top: its name stands there
            _at_top(chart, float(np.interp(0.89 * top, y, x)), 0.89 * top, words, look.text(name))
        else:
            labels.append((float(y[-1]), words, look.text(name), name == "slope_asks"))
    return labels


def _at_top(chart: Chart, x: float, y: float, words: str, colour: str) -> None:
    """The name of a steep line beside it, on the side that has room."""
    end = chart.axes.get_xlim()[1]
    room = (width(words, QUIET) + 14) * end / extent(chart.axes)[0]
    step = 12 * end / extent(chart.axes)[0]
    right = x + room < end
    chart.say(x + step if right else x - step, y, words, colour, "left" if right else "right", over=True)


def _here(chart: Chart, case: Any) -> None:
    """The asked speed and what the slope asks there; the diodes' speed as an upright hair."""
    r, (low, high) = case.region, chart.axes.get_ylim()
    force = float(case.needed(case.speed))
    if 0 <= force <= high:
        chart.axes.plot([case.speed], [force], marker="o", ms=9, mfc=chart.look.paper, mec=chart.look.ink, mew=1.8, zorder=4.5)
    if r.diode_speed <= chart.axes.get_xlim()[1]:
        chart.line([r.diode_speed] * 2, [low, high], (0, (1.1, 2.2)), 3)
        chart.say(r.diode_speed, 0.965 * high, f"diodes from {shown(r.diode_speed, 'm/s')}", ha="center", over=True)


def region_reading(case: Any) -> str:
    """From which speed something comes back, and whether the slope is held, in one sentence."""
    r, force = case.region, float(case.needed(case.speed))
    most = float(case.force_of(case.most_amps(case.speed), case.speed))
    first, here = f"From {shown(r.least_speed, 'm/s')} on something can come back", shown(case.speed, "m/s")
    if force <= 0:
        return f"{first}; at {here} down {percent(case.slope)} nothing must be braked."
    holds = ("the motor alone holds it" if force <= most else f"the motor holds {shown(most, 'N')}, friction must take the rest")
    if case.limit_amps <= 0:
        return (f"With a braking limit of 0 A nothing comes back; down {percent(case.slope)} at {here} the brakes must hold "
                f"{shown(force, 'N')}: {holds}.")
    return (f"{first}; down {percent(case.slope)} at {here} the brakes must hold {shown(force, 'N')}: {holds}; "
            f"below {shown(r.costing_speed, 'm/s')} (hatched) braking with the limit's current costs.")


# ---------------------------------------------------------------- one stop
def blending(ranges: RegenRanges) -> Build:
    """One stop on the level: what the motor brakes and what is left to friction, stacked over the falling speed.

    Parameters: ranges, by halt and stop.  Its update takes a RegenCase, by .stop.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        chart = Chart(figure, look, Axis.even(0.0, ranges.halt, 7), Axis.even(0.0, ranges.stop, 6),
                      ("speed, m/s (a stop goes from right to left)", "Braking force, N"), right=24, left=62)  # fmt: skip

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            s, look = case.stop, chart.look
            x, electric, demanded = s.speeds[::-1], s.electric[::-1], s.demanded[::-1]
            if pinned is not None:
                chart.curve("electric_brake", pinned.stop.speeds, pinned.stop.electric, ghost=True)
            motor: dict[str, Any] = {"facecolor": look.tint("motor", 0.35), "edgecolor": look.line("motor"), "lw": 1.0}
            chart.axes.fill_between(x, 0.0, electric, zorder=1.5, **motor)
            chart.axes.fill_between(x, electric, demanded, zorder=1.4, **look.fill("brake"))
            chart.curve("electric_brake", x, electric)
            _shares(chart, s)
            _limit_line(chart, case)
            reading = stop_reading(case)
            return f"Braking forces of one stop over the speed, motor and friction stacked. {reading}", reading

        return update

    return build


def _limit_line(chart: Chart, case: Any) -> None:
    """What the braking limit's current holds, as a level."""
    force, (low, high) = float(case.force_of(case.limit_amps, case.speed)), chart.axes.get_ylim()
    if case.limit_amps > 0 and force < high - 0.04 * (high - low):
        chart.line(chart.axes.get_xlim(), [force, force], (0, (1.1, 2.2)), 3)
        right = chart.axes.get_xlim()[1]
        chart.say(0.99 * right, force + 0.03 * (high - low), f"limit {shown(case.limit_amps, 'A')}", ha="right", over=True)


def _shares(chart: Chart, s: Any) -> None:
    """The names of both shares: the motor's inside its area, friction's above its own, where it is thickest."""
    look, top = chart.look, chart.axes.get_ylim()[1]
    motor, friction = float(np.max(s.electric)), float(np.max(s.friction))
    words = f"the motor, {shown(motor, 'N')} at most"
    reach = (width(words, QUIET, True) + 8) * _unit(chart, 0)
    chart.say(max(0.97 * s.speeds[0], reach), max(0.25 * motor, 12 * _unit(chart, 1)), words, look.text("motor"), "right", True,
              over=True)  # fmt: skip
    if friction > 0.02 * top:
        words = f"friction, {shown(friction, 'N')} at most"
        chart.say(0.02 * s.speeds[0], float(np.max(s.demanded)) + 0.035 * top, words, bold=True, over=True)


def stop_reading(case: Any) -> str:
    """Where the energy of motion of one stop goes, in one sentence."""
    s = case.stop
    parts = {"the store (at the bridge)": s.into_store, "friction": s.into_friction, "tyres and air": s.into_road,
             "copper, chain and drag": s.heat}
    told = ", ".join(f"{percent(joules / s.kinetic)} in {name}" for name, joules in parts.items() if joules >= 0)
    slowing = f"a stop at {shown(case.deceleration, 'm/s²')}"
    costs = f"; the store gives {percent(-s.into_store / s.kinetic)} on top" if s.into_store < 0 else ""
    return f"Of {shown(s.kinetic, 'J')} of motion at {shown(case.speed, 'm/s')} {slowing} ends with {told}{costs}."


def stop_and_go(ranges: RegenRanges) -> Build:
    """Share of the energy of motion that a stop brings back, and share of the next start that it pays, over the speed.

    Parameters: ranges, by speed and share.  Its update takes a RegenCase, by .stop_and_go.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        low, high = (PERCENT * s for s in ranges.share)
        chart = Chart(figure, look, Axis.even(0.0, ranges.speed, 7), Axis.even(low, high, 6),
                      ("speed from which it stops, m/s", "Share, %"), right=158, left=52)  # fmt: skip
        chart.line([0.0, ranges.speed], [0.0, 0.0])

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            if pinned is not None:
                g = pinned.stop_and_go
                for name, values in (("stop_share", g.share), ("round_share", g.round_share)):
                    chart.curve(name, *above(g.speeds, PERCENT * values, low), ghost=True)
            g = case.stop_and_go
            labels: list[Label] = []
            for name, values, words in (("stop_share", g.share, "of the motion\ncomes back"),
                                        ("round_share", g.round_share, "of the next start\nis paid")):  # fmt: skip
                chart.curve(name, *above(g.speeds, PERCENT * values, low), wide=2.4)
                labels.append((float(PERCENT * values[-1]), words, look.text(name), name == "round_share"))
            chart.beside(labels)
            here = PERCENT * float(np.interp(case.speed, g.speeds, g.round_share))
            if here >= low and case.speed <= g.speeds[-1]:
                chart.axes.plot([case.speed], [here], marker="o", ms=8, mfc=look.paper, mec=look.ink, mew=1.8, zorder=4)
            reading = go_reading(case)
            return f"Share that stops bring back over the speed. {reading}", reading

        return update

    return build


def go_reading(case: Any) -> str:
    """What a stop pays of the next start, in one sentence."""
    g = case.stop_and_go
    share = case.stop.share
    if share <= 0:
        return f"A stop from {shown(case.speed, 'm/s')} brings nothing back: it costs the electronics' power meanwhile."
    if case.speed > g.speeds[-1]:
        return (f"A stop from {shown(case.speed, 'm/s')} brings {percent(share)} of the motion back; the motor alone starts to "
                f"{shown(float(g.speeds[-1]), 'm/s')} only.")
    paid = float(np.interp(case.speed, g.speeds, g.round_share))
    return (f"A stop from {shown(case.speed, 'm/s')} brings {percent(share)} of the motion back, which pays "
            f"{percent(paid)} of the next start; not stopping pays all of it.")
