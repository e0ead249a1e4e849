"""One cell among many: the fullest of a string, the odd one of a long float, and how long the volts last."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import QUIET, THIN, Build, Look, Update, extent, limit, number, setting, shown, width
from evlab.plots.chart import TIMES, Axis, Chart, Label
from evlab.plots.ribbon import DAY
from evlab.plots.rulers import and_list
from evlab.plots.sentences import duration
from evlab.plots.store_ranges import StoreRanges, cell_limits

BINS, TALLEST = 60, 30.0  # of the histogram; the share of strings [%] that fills its height
STROKES = {"without bleeders": "without_bleeders", "leakage alone": "without_bleeders", "with bleeders": "with_bleeders"}
LABELS = 118.0  # room over the histogram for its five labels [1/100 inch]


def worst_cells(ranges: StoreRanges) -> Build:
    """Histogram of the fullest cell of many random strings, with the mean cell, the worst case and what a cell may bear.

    Parameters: ranges, whose cell [V] sets the axis.  Its update takes a StoreCase, by .strings and .vehicle.
    Returns build(figure, look) for a figure of at least 5 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return Strings(figure, look, ranges).update

    return build


class Strings:
    """The histogram on one figure.  Made by `worst_cells`."""

    def __init__(self, figure: Figure, look: Look, ranges: StoreRanges):
        low, high = 0.65 * ranges.cell[1], ranges.cell[1]
        self.edges = np.linspace(low, high, BINS + 1)
        heads = "the fullest cell of a string, V", f"Strings, % for every {1000 * (high - low) / BINS:.0f}{THIN}mV"
        self.chart = Chart(figure, look, Axis.even(low, high, 6), Axis.even(0, TALLEST, 4), heads, right=142, top=LABELS + 36)
        self.axes, self.look = self.chart.axes, look
        self.bounds = [limit(self.axes, look, "right") for _ in range(2)]

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Draw this case's strings, its lines, and the outline of the pinned one's."""
        strings, before = case.strings, None if pinned is None else pinned.strings
        self.chart.begin(before)
        if strings is None:
            reading = "No strings have been drawn: this store has no capacitors."
            return reading, reading
        shares = self._shares(strings.worst)
        cuts = np.searchsorted(self.edges, [strings.rated, strings.surge])
        for hatch, a, b in ((None, 0, cuts[0]), ("////", cuts[0], cuts[1]), ("xxxx", cuts[1], BINS)):
            if shares[a:b].any():
                fill = self.look.fill("store") | {"hatch": hatch, "hatchcolor": self.look.line("store")}
                self.axes.stairs(shares[a:b], self.edges[a : b + 1], fill=True, zorder=2, **fill)
        if before is not None:
            self.axes.stairs(self._shares(before.worst), self.edges, color=self.look.ink2, lw=1.1, zorder=2.6)
        for move, bound in zip(self.bounds, (strings.rated, strings.surge), strict=True):
            move(bound)
        self._lines(strings)
        reading = strings_reading(strings)
        return f"Histogram of the fullest cell of {number(len(strings.worst), 2)} random strings. {reading}", reading

    def _shares(self, worst: Any) -> Any:
        """Percent of the strings in each bin; what lies beyond the axis counts at its ends, what is too tall is cut."""
        inside = np.clip(worst, self.edges[0], self.edges[-1] - 1e-9)
        return np.minimum(100 * np.histogram(inside, self.edges)[0] / len(worst), TALLEST)

    def _lines(self, strings: Any) -> None:
        """Upright lines, the leftmost named highest, so that no name is crossed."""
        lines = [(strings.average, "mean cell", ":"), (strings.p95, "95 % of strings below", "--"),
                 (strings.worst_case, "worst case", "-"), (strings.rated, "rated", ""), (strings.surge, "surge", "")]  # fmt: skip
        (low, high), (wide, tall) = self.axes.get_xlim(), extent(self.axes)
        unit, gap = TALLEST / tall, 5 * (high - low) / wide
        for i, (volts, name, dash) in enumerate(sorted(lines)):
            at, top = min(max(volts, low), high), TALLEST + (LABELS - 10 - 22 * i) * unit
            foot = TALLEST if dash == "" else 0.0
            colour, wide_ = (self.look.ink, 1.4) if dash else (self.look.ink2, 0.9)
            self.axes.plot([at, at], [foot, top], color=colour, lw=wide_, ls=dash or "-", zorder=4, clip_on=False)
            off = "" if low <= volts <= high else ", off scale"
            digits = shown(volts, "V") if dash else setting(volts, "V")
            words = f"{name} {digits}{off}"
            room = self.chart.beyond * (high - low) / wide - width(words, QUIET) * (high - low) / wide
            self.chart.say(min(at + gap, high + room), top - 5 * unit, words, colour, over=True)


def strings_reading(strings: Any) -> str:
    """What the histogram shows, in one sentence with numbers."""
    over = [f"{number(100 * share, 2)}{THIN}% of all strings pass the {name} {setting(bound, 'V')}"
            for name, bound in (("rated", strings.rated), ("surge", strings.surge))
            if (share := float(np.mean(strings.worst > bound))) > 0]  # fmt: skip
    passed = and_list(over) if over else f"no string passes the rated {setting(strings.rated, 'V')}"
    return (f"The mean cell stands at {shown(strings.average, 'V')}, the fullest one at {shown(strings.mean, 'V')} in a string of "
            f"average luck and {shown(strings.worst_case, 'V')} in the worst case; {passed}; charged to "
            f"{shown(strings.safe_voltage, 'V')}, even the worst case stays at its rating.")  # fmt: skip


# ---------------------------------------------------------------- floats
def cell_fan(ranges: StoreRanges) -> Build:
    """A long float: the cell that leaks more and the others, with and without bleeders.

    Parameters: ranges, by cell [V] and days.  Its update takes a StoreCase, by .floats and .vehicle.
    Returns build(figure, look) for a figure of at least 5 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        heads = "time on the float, d", "Cell volts, V"
        chart = Chart(figure, look, Axis.even(0, ranges.days, 6), Axis.even(*ranges.cell, 5), heads, right=168)
        bounds = [limit(chart.axes, look, "above") for _ in range(2)]

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            _fan(chart, {} if pinned is None else pinned.floats, True)
            limits = cell_limits(case.vehicle.store)
            for move, bound in zip(bounds, [*limits.values(), math.nan, math.nan], strict=False):
                move(bound)
            quiet = [(bound, f"{name} {setting(bound, 'V')}", look.ink2, False) for name, bound in limits.items()]
            chart.beside(_fan(chart, case.floats, False) + quiet)
            reading = float_reading(case.floats)
            return f"Cell volts over the days of a float. {reading}", reading

        return update

    return build


def _fan(chart: Chart, floats: Any, ghost: bool) -> list[Label]:
    """Draw the curves of some floats; the odd cell is the thicker one.  Returns their names."""
    labels: list[Label] = []
    for name, run in floats.items():
        for who, volts, wide in (("odd cell", run.odd, 2.6), ("others", run.others, 1.6)):
            chart.curve(STROKES[name], run.times / DAY, volts, ghost=ghost, wide=wide)
            words = f"{who} {shown(float(volts[-1]), 'V')}\n{name}"
            labels.append((float(volts[-1]), words, chart.look.text("store"), who == "odd cell"))
    return labels


def float_reading(floats: Any) -> str:
    """What the float did to the cells, in one sentence."""
    if not floats:
        return "No float has been asked for."
    days = max(float(run.times[-1]) for run in floats.values()) / DAY
    told = [f"{name} the odd cell stands at {shown(run.odd_end, 'V')} and the others at {shown(run.others_end, 'V')}"
            for name, run in floats.items()]  # fmt: skip
    return f"After {setting(round(days, 1))} days on the float, {', '.join(told)}."


# ---------------------------------------------------------------- holding
def holding(ranges: StoreRanges) -> Build:
    """The share of its volts that a store holds over time, drawn over the logarithm of the time, and the 90 % mark.

    Parameters: ranges, for the pattern's sake: time and share cover every store.  Its update takes a StoreCase, by .holding.
    Returns build(figure, look) for a figure of at least 5 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        heads = "time at rest, each mark several times the last", "Share of the volts, %"
        chart = Chart(figure, look, Axis.log(60.0, 31 * DAY, TIMES[5:]), Axis.even(0, 105, 5), heads, right=144)
        limit(chart.axes, look, "below")(90.0)

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            if pinned is not None:
                for name, (times, share) in pinned.holding.items():
                    chart.curve(STROKES[name], _log(times), 100 * share, ghost=True)
            chart.beside([(90.0, f"90{THIN}%", look.ink2, False), *_held(chart, case.holding)])
            reading = holding_reading(case.holding)
            return f"Share of the volts over the logarithm of the time. {reading}", reading

        return update

    return build


def _held(chart: Chart, runs: Any) -> list[Label]:
    """Draw the curves, named where half is gone: the first to fall at its left.  Returns names of those that stay up."""
    labels: list[Label] = []
    colour, gap = chart.look.text("store"), 8 / extent(chart.axes)[0] * np.ptp(chart.axes.get_xlim())
    for i, (name, (times, share)) in enumerate(sorted(runs.items(), key=lambda item: _until(item[1], 0.5))):
        x, y = _log(times), 100 * share
        chart.curve(STROKES[name], x, y)
        half = _until((times, share), 0.5)
        if half < 10 ** chart.axes.get_xlim()[1]:
            side, ha = (-gap, "right") if i == 0 and len(runs) > 1 else (gap, "left")
            level = 50.0 - 12 * i
            chart.say(math.log10(max(_until((times, share), level / 100), 60.0)) + side, level, name, colour, ha, True)
        else:
            labels.append((float(np.interp(chart.axes.get_xlim()[1], x, y)), name, colour, True))
    return labels


def _until(run: Any, level: float) -> float:
    """When the volts have fallen to this share [s]; never is infinite."""
    times, share = run
    below = np.flatnonzero(share <= level)
    if not len(below):
        return math.inf
    last = int(below[0])
    return float(np.interp(level, share[last::-1][:2], times[last::-1][:2])) if last else float(times[0])


def _log(times: Any) -> Any:
    """The decimal logarithm; what is sooner than a second stands at one."""
    return np.log10(np.maximum(times, 1.0))


def holding_reading(runs: Any) -> str:
    """How long nine tenths of the volts last, in one sentence."""
    told = []
    for name, (times, share) in runs.items():
        at = _until((times, share), 0.9)
        kept = f"longer than {duration(float(times[-1]))}" if math.isinf(at) else f"for {duration(at)}"
        told.append(f"{kept} with {name}" if name.startswith("leak") else f"{kept} {name}")
    return f"Nine tenths of the volts last {and_list(told)}." if told else "Nothing is known of how long the volts last."
