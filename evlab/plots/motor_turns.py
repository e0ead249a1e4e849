"""What the motor does: torque over a turn, from where it starts, efficiency, warming, drag by cause, and the count of a coil."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.heat import BURNT
from evlab.look import QUIET, Build, Desk, Look, Update, extent, limit, setting, shown
from evlab.plots.chart import Axis, Chart, along
from evlab.plots.sentences import duration, percent
from evlab.plots.winding_ranges import WindingRanges
from evlab.start_map import OUTCOMES
from evlab.turning import steps_of

ONE, THREE = "one phase", "three phases, six-step"
STROKES = {ONE: "turn_one", THREE: "turn_three"}
HATCHES = {"stays": "", "creeps into the dead spot": "////", "locked": "xxxx", "thrown back, then starts": "....", "starts": "",
           "runs backwards": "\\\\\\\\", "undecided": "++"}
LEVELS = (0.5, 0.6, 0.7, 0.75, 0.8, 0.85, 0.9)


# ---------------------------------------------------------------- torque over a turn
def torque_turn(ranges: WindingRanges) -> Build:
    """Torque of one ampere over an electrical turn: the coils as one phase and as three.

    Parameters: ranges, by torque.  Its update takes a WindingCase, by .over_turn.
    Returns build(figure, look) for a figure of at least 5 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        ticks = Axis(0.0, 360.0, tuple((float(a), str(a)) for a in range(0, 361, 60)))
        chart = Chart(figure, look, ticks, Axis.even(-0.3 * ranges.torque, ranges.torque, 6),
                      ("electrical angle of the rotor, degrees", "Torque of one ampere, N·m"), right=150, left=62)  # fmt: skip
        chart.line([0.0, 360.0], [0.0, 0.0])

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            if pinned is not None:
                for one in pinned.over_turn.values():
                    chart.curve("turn_three", np.degrees(one.angles), one.torque, ghost=True)
            labels = []
            for name, one in case.over_turn.items():
                order = np.argsort(np.degrees(one.angles) % 360.0)
                x, y = (np.degrees(one.angles) % 360.0)[order], one.torque[order]
                chart.curve(STROKES[name], x, y, wide=2.4 if name == THREE else 2.0)
                labels.append((float(one.mean), "three such\nphases, mean" if name == THREE else "one phase,\nmean",
                               look.text(STROKES[name]), name == THREE))
            chart.beside(labels)
            reading = turn_reading(case)
            return f"Torque over an electrical turn. {reading}", reading

        return update

    return build


def turn_reading(case: Any) -> str:
    """Mean and least torque of one phase and of three, in one sentence."""
    one, three = case.over_turn[ONE], case.over_turn[THREE]
    dead = "falls to nothing twice a turn" if abs(one.least) < 1e-9 * one.peak else f"falls to {shown(one.least, 'N·m')}"
    return (f"Of one ampere, three such phases make {shown(three.mean, 'N·m')} in the mean and never less than "
            f"{shown(three.least, 'N·m')}; one phase "
            f"makes {shown(one.mean, 'N·m')} and {dead}.")


# ---------------------------------------------------------------- starting
def start_angles(ranges: WindingRanges) -> Build:
    """What becomes of a rotor that is let go at every angle, as one phase and as three.

    Parameters: ranges, of which nothing is needed.  Its update takes a WindingCase, by .starts.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        desk = Desk(figure)
        strips, heads, marks = {}, {}, {}
        tall = (desk.high - 150) / 2
        for row, (name, words) in enumerate(((ONE, "One phase alone, let go at"), (THREE, "Three such phases, let go at"))):
            base = 84 + (1 - row) * (tall + 34)
            axes = desk.axes(24, base, desk.wide - 48, tall - 26)
            axes.set(xlim=(0, 360), ylim=(0, 1), yticks=[])
            axes.set_xticks(range(0, 361, 60))
            axes.grid(False)
            desk.text(24, base + tall - 14, words, look.ink, bold=True)
            heads[name] = look.live(desk.text(272, base + tall - 14, "", look.ink2, QUIET))
            strips[name] = axes
            (line,) = axes.plot([], [], ls="", marker="v", ms=9, color=look.ink, clip_on=False, zorder=4)
            marks[name] = look.live(line)
        strips[THREE].set_xlabel("electrical angle of the rotor, degrees (triangle: the sensor switches)")
        key = look.live(desk.text(24, 22, "", look.ink2, QUIET))

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            told: set[str] = set()
            for name, axes in strips.items():
                _spells(axes, look, case.starts[name], told)
                rig = case.starts[name].rig
                marks[name].set_data(_switchings(rig), np.full(len(_switchings(rig)), 0.93))
                heads[name].set_text(f"at most {shown(rig.peak_torque, 'N·m')} against {shown(rig.needed, 'N·m')} of load")
            signs = {"starts": "plain: starts", "stays": "full: stays", "creeps into the dead spot": "striped: creeps in and stays",
                     "locked": "crossed: rocks and stays", "thrown back, then starts": "dotted: thrown back first",
                     "runs backwards": "leaning: runs backwards", "undecided": "pluses: undecided"}  # fmt: skip
            key.set_text("     ".join(words for word, words in signs.items() if word in told))
            reading = start_reading(case)
            return f"What becomes of a rotor let go at every angle. {reading}", reading

        return update

    return build


def _switchings(rig: Any) -> Any:
    """Where the sensor switches [degrees, electrical]: at the beginning of each step, later by the sensor's error."""
    count, begins = steps_of(rig.scheme)
    return np.sort(np.degrees(begins + rig.error + 2 * np.pi / count * np.arange(count)) % 360.0)


def _spells(axes: Any, look: Look, starts: Any, told: set[str]) -> None:
    """Runs of angles with one outcome, as areas with their hatch."""
    degrees, codes = np.degrees(starts.angles), starts.codes
    half = 180.0 / len(codes)
    cuts = np.flatnonzero(np.diff(codes)) + 1
    for a, b in zip([0, *cuts], [*cuts, len(codes)], strict=True):
        word = OUTCOMES[int(codes[a])]
        told.add(word)
        low, high = degrees[a] - half, degrees[b - 1] + half
        plain = word == "starts"
        axes.axvspan(low, high, facecolor=look.band if plain else look.tint("motor", 0.75 if word == "stays" else 0.4),
                     edgecolor=look.rule if plain else look.line("motor"), hatch=HATCHES.get(word, "++"), lw=0.8, zorder=2)


def start_reading(case: Any) -> str:
    """What it takes to move off, and from how many of the angles it does, as one phase and as three."""
    three = case.starts[THREE].stuck
    other = "from everywhere" if three == 0 else "from nowhere, either" if three == 1 else f"from all but {percent(three)}"
    return f"{load_reading(case.starts[ONE].rig)} {one_phase_reading(case.starts[ONE])}; three such phases start {other}."


def load_reading(rig: Any) -> str:
    """Which load the start stands for, in newton metres at the shaft with its parts, in one sentence."""
    parts = {name: shown(torque, "N·m") for name, torque in rig.load.parts(rig.friction).items()}
    if not rig.load.mass:
        return f"With the wheel raised only the motor's own drag holds, {parts['motor']}."
    up = f"Up {percent(rig.load.uphill)}" if rig.load.uphill else "On the level"
    climb = f"{parts['slope']} for the slope, " if rig.load.uphill else ""
    return (f"{up}, moving off takes {shown(rig.needed, 'N·m')} at the shaft: {climb}{parts['rolling']} for rolling, "
            f"{parts['motor']} for the motor's own drag.")


def one_phase_reading(one: Any) -> str:
    """From how many of the angles one phase does not start, and why it never does."""
    back, way = one.shares["runs backwards"], "rolls back" if one.rig.load.uphill else "runs backwards"
    first = f", and from {percent(one.thrown)} it goes back first" if one.thrown else ""
    also = f", and {way} from {percent(back)}" if back else first
    if one.stuck == 1:
        return f"One phase alone never starts{_short_of(one.rig)}{also}"
    return (f"One phase alone does not start from {percent(one.stuck)} of the angles{also}" if one.stuck else
            "One phase alone starts from everywhere")


def _short_of(rig: Any) -> str:
    """Why a motor never starts."""
    if rig.peak_torque <= rig.needed:
        return f", since it gives {shown(rig.peak_torque, 'N·m')} at most"
    return f", since it gives only {shown(rig.mean_torque, 'N·m')} in the mean" if rig.mean_torque <= rig.needed else ""


# ---------------------------------------------------------------- efficiency
def efficiency_map(ranges: WindingRanges) -> Build:
    """Efficiency over speed and torque as contour lines, with the reach of three store volts and the best torque at each speed.

    Parameters: ranges, by speed and shaft.  Its update takes a WindingCase, by .map and .volts.
    Returns build(figure, look) for a figure of at least 6 x 4 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        chart = Chart(figure, look, Axis.even(0.0, ranges.speed, 7), Axis.even(0.0, ranges.shaft, 6),
                      ("speed of the rotor, rad/s", "Torque at the shaft, N·m"), right=126, left=52)  # fmt: skip

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            m = case.map
            if pinned is not None:
                before = pinned.map.reach[pinned.volts[0]]
                chart.curve("reach_full", pinned.map.speeds[before > 0], np.minimum(before[before > 0], ranges.shaft), ghost=True)
            chart.axes.contourf(m.speeds, m.torques, m.efficiency.T, levels=[*LEVELS, 1.0], zorder=1.5,
                                colors=[look.tint("motor", 0.10 + 0.09 * i) for i in range(len(LEVELS))])
            lines = chart.axes.contour(m.speeds, m.torques, m.efficiency.T, levels=LEVELS, colors=[look.line("motor")],
                                       linewidths=1.0, zorder=2)  # fmt: skip
            full = np.maximum(m.reach[case.volts[0]], 0.0)
            chart.axes.fill_between(m.speeds, full, 1.1 * ranges.shaft, color=look.paper, zorder=2.2, lw=0)  # no store reaches it
            _levels(chart, lines, m.speeds, full)
            labels = []
            for name, volts in zip(("reach_full", "reach_half", "reach_stop"), case.volts, strict=True):
                reach = m.reach[volts]
                inside = reach > 0
                chart.curve(name, m.speeds[inside], np.minimum(reach[inside], ranges.shaft))
                labels.append((float(np.interp(0.95 * ranges.speed, m.speeds, np.maximum(reach, 0.0))), f"at {shown(volts, 'V')}",
                               look.text(name), name == "reach_full"))
            best = (m.ridge > 0) & (m.ridge < ranges.shaft) & (m.ridge <= m.reach[case.volts[0]])
            chart.curve("best_torque", m.speeds[best], m.ridge[best])
            ends = [float(m.speeds[m.reach[v] > 0][-1]) if (m.reach[v] > 0).any() else 0.0 for v in case.volts]
            for (_, words, colour, bold), end in zip(labels, ends, strict=True):
                chart.say(min(end, 0.99 * ranges.speed), 0.03 * ranges.shaft, words, colour, ha="right", bold=bold, over=True)
            if best.any():
                at = int(np.flatnonzero(best)[-1])
                chart.beside([(float(m.ridge[at]), "best torque\nat each speed", look.text("best_torque"), False)])
            reading = map_reading(case)
            return f"Efficiency over speed and torque. {reading}", reading

        return update

    return build


def _levels(chart: Chart, lines: Any, speeds: Any, reach: Any) -> None:
    """The efficiency beside each line, high up where lines are apart, below what the store reaches; none on another."""
    right, top = chart.axes.get_xlim()[1], chart.axes.get_ylim()[1]
    said: list[tuple[float, float]] = []
    wide, high = extent(chart.axes)
    for level, pieces in zip(LEVELS, lines.allsegs, strict=True):
        spots = [p for piece in pieces for p in piece if p[1] < 0.8 * min(top, float(np.interp(p[0], speeds, reach)))]
        if spots:
            x, y = (float(v) for v in max(spots, key=lambda p: p[1]))
            if all(abs(x - a) > 40 / wide * right or abs(y - b) > 20 / high * top for a, b in said):
                chart.say(x, y, f"{100 * level:.0f} %", ha="center", over=True)
                said.append((x, y))


def map_reading(case: Any) -> str:
    """The best point, and what a standing motor makes of its power, in one sentence."""
    speed, torque, best = case.map.best(case.volts[0])
    if math.isnan(best):
        return ("The drag of this motor itself takes all that it pulls, at every speed drawn here: there is nothing left to drive "
                "with. Look at its drag and its winding.")
    return (f"At best {percent(best)}, at {shown(speed, 'rad/s')} with {shown(torque, 'N·m')}; without load it turns with "
            f"{shown(case.no_load, 'rad/s')} on "
            f"a full store, and at rest every watt is heat.")


# ---------------------------------------------------------------- warming
def winding_heat(ranges: WindingRanges) -> Build:
    """Temperature of winding and body over time at the current asked for, with what gives up first.

    Parameters: ranges, by hot.  Its update takes a WindingCase, by .heating, .limits, .time_to_limit and .runaway.
    Returns build(figure, look) for a figure of at least 5 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        axis, head = along("time", ranges.seconds, 6)
        chart = Chart(figure, look, axis, Axis.even(0.0, ranges.hot, 7), (head, "Temperature, °C"), right=124, left=52)
        bound = limit(chart.axes, look)

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            if pinned is not None:
                chart.curve("winding_warm", pinned.heating[0], np.minimum(pinned.heating[1][0] - 273.15, ranges.hot), ghost=True)
            times, warm = case.heating
            labels = []
            for name, row, words in (("winding_warm", warm[0], "winding"), ("body_warm", warm[1], "its body")):
                degrees = row - 273.15
                inside = degrees <= ranges.hot
                chart.curve(name, times[inside], degrees[inside], wide=2.4 if name == "winding_warm" else 2.0)
                labels.append((float(degrees[inside][-1]), words, look.text(name), name == "winding_warm"))
            first = case.limits[0]
            bound(first.temperature - 273.15)
            labels.append((first.temperature - 273.15, f"{first.name}\ngives up first", look.ink2, False))
            chart.beside(labels)
            reading = heat_reading(case)
            return f"Temperature of winding and body over time. {reading}", reading

        return update

    return build


def heat_reading(case: Any) -> str:
    """How long until something gives up, and what it settles at, if it does."""
    first, amps, words = case.limits[0], shown(case.asked.amps, "A"), case.weak
    when = case.time_to_limit
    most = shown(first.temperature - 273.15, "°C", figures=2)
    ends = (f" Numbers and curves end at {shown(BURNT - 273.15, '°C')}: there every enamel has burnt."
            if case.burns_at < case.asked.seconds else "")
    if not case.settles:
        return (f"With {amps} the winding gets hotter without end: above {shown(case.runaway, 'A')} it never settles. It passes "
                f"its limit of {most} after {duration(when)}: then {words} gives up first.{ends}")
    if math.isfinite(when):
        return f"With {amps} the winding reaches {most} after {duration(when)}: then {words} gives up first.{ends}"
    return (f"With {amps} for ever the winding settles at {shown(case.settled - 273.15, '°C')}, below the {most} of "
            f"{words}; above {shown(case.runaway, 'A')} it never settles.")


# ---------------------------------------------------------------- drag
DRAGS = ("drag_bearings", "drag_viscous", "drag_strands", "drag_plates", "drag_diodes")


def drag_by_cause(ranges: WindingRanges) -> Build:
    """Torque that turns the motor without current, stacked by cause over its speed.

    Parameters: ranges, by speed and drag.  Its update takes a WindingCase, by .drag and .asked.
    Returns build(figure, look) for a figure of at least 5 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        chart = Chart(figure, look, Axis.even(0.0, ranges.speed, 7), Axis.even(0.0, ranges.drag, 6),
                      ("speed of the rotor, rad/s", "Torque without current, N·m"), right=172, left=62)  # fmt: skip

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            speeds = np.linspace(0.01, ranges.speed, 70)
            if pinned is not None:
                before = np.array([pinned.drag.total(float(w)) for w in speeds])
                chart.curve("drag_viscous", speeds, np.minimum(before, ranges.drag), ghost=True)
            rows = np.array([list(case.drag.torques(float(w)).values()) for w in speeds]).T
            total = np.zeros_like(speeds)
            labels = []
            names = ("bearings, seals", "grows with speed", "in the strands", "in plates", "through the diodes")
            for stroke, row, words in zip(DRAGS, rows, names, strict=True):
                if not row.any():
                    continue
                top = np.minimum(total + row, ranges.drag)
                chart.axes.fill_between(speeds, np.minimum(total, ranges.drag), top, color=look.tint(stroke, 0.35), zorder=2, lw=0)
                chart.curve(stroke, speeds, top)
                labels.append((float((total[-1] + top[-1]) / 2), words, look.text(stroke), False))
                total = total + row
            chart.beside(labels)
            here = case.asked.speed
            chart.line([here] * 2, chart.axes.get_ylim(), (0, (1.1, 2.2)), zorder=2.5)
            reading = drag_reading(case)
            return f"Torque without current by cause over the speed. {reading}", reading

        return update

    return build


def drag_reading(case: Any) -> str:
    """What turning costs without current at the speed asked for, and its largest cause, in one sentence."""
    speed, parts = case.asked.speed, case.drag.torques(case.asked.speed)
    whole, cause = sum(parts.values()), max(parts, key=lambda c: parts[c])
    return (f"At {shown(speed, 'rad/s')} turning takes {shown(whole, 'N·m')}, {shown(whole * speed, 'W')}, without any current; "
            f"the largest part by {cause} ({percent(parts[cause] / whole if whole else 0.0)}).")


# ---------------------------------------------------------------- the count
def turns_counted(ranges: WindingRanges) -> Build:
    """Turns as weight and resistance tell them, with their doubt, beside the planned number.

    Parameters: ranges, of which nothing is needed.  Its update takes a WindingCase, by .count and .build.
    Returns build(figure, look) for a figure of at least 5 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        desk = Desk(figure)
        axes = desk.axes(150, 60, desk.wide - 190, desk.high - 120)
        axes.set(ylim=(-0.5, 2.5), yticks=[])
        axes.set_xlabel("turns, off the planned number")
        desk.text(8, desk.high - 20, "Turns of the wound coil, as they are told", look.ink, bold=True)
        axes.set_xlim(-6, 6)
        axes.set_xticks(range(-6, 7, 2), [setting(v) for v in range(-6, 7, 2)])
        axes.plot([0, 0], [-0.5, 2.5], color=look.ink2, lw=0.9, ls="-", zorder=1)
        for y, words in ((2, "by weight"), (1, "by resistance"), (0, "both together")):
            desk.text(8, 60 + (desk.high - 120) * (y + 0.5) / 3, words, look.ink, bold=y == 0)

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            check = case.count
            for y, count in ((2, check.by_mass), (1, check.by_resistance), (0, check.combined)):
                if count is None:
                    continue
                off = min(max(count.turns - check.planned, -5.9), 5.9)
                ends = np.clip([off - count.spread, off + count.spread], -6, 6)
                axes.plot(ends, [y, y], color=look.line("motor"), lw=3.0, ls="-", zorder=2, solid_capstyle="butt")
                axes.plot([off], [y], marker="o", ms=9, mfc=look.paper, mec=look.ink, mew=1.8, ls="", zorder=3)
                told = shown(count.turns, "", count.spread)
                axes.text(off, y + 0.22, told, ha="center", va="center_baseline", fontsize=QUIET, color=look.ink)
            reading = check.verdict
            return f"Turns by weight and by resistance, with their doubt. {reading}", reading

        return update

    return build


