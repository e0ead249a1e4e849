"""Logarithmic planes: what a short circuit puts through a wire, and how energy falls as power grows."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import NAME, QUIET, THIN, Build, Look, Update, extent, limit, number, setting, shown, width
from evlab.plots.chart import TIMES as MARKS
from evlab.plots.chart import Axis, Chart, Label
from evlab.plots.sentences import duration
from evlab.plots.store_ranges import StoreRanges

# ---------------------------------------------------------------- short circuit
I2T, SPAN = (1e3, 1e8), (1e-3, 100.0)  # of the axes: A²s, s
MOST_WIRES = 9
HOLDS = 5.0  # s: so long k²A² is a wire's limit; later it sheds heat meanwhile (IEC 60364-4-43, memory)


def short_circuit(ranges: StoreRanges) -> Build:
    """What a dead short has put through the loop so far, in A²s, against what wires bear.

    A current that falls while the clock runs can hardly be compared with a wire's limit by eye: in the plane of time and
    current the wire is a slope and the fuse another.  The heat that a wire takes goes with I²t alone, so here I²t is the
    height: the bank's curve climbs and flattens at E/R, each wire is a level at k²A², and the question is only which
    levels it passes and when.  The amps at the start and the fuse's rating are told in words.

    Parameters: ranges, for the pattern's sake: the axes hold every store that one can carry.  Its update takes a StoreCase,
    by .short.  Returns build(figure, look) for a figure of at least 5 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return Short(figure, look).update

    return build


class Short:
    """The curve and the wires' levels on one figure.  Made by `short_circuit`."""

    def __init__(self, figure: Figure, look: Look):
        self.look = look
        self.chart = Chart(figure, look, Axis.log(*SPAN, MARKS[:5] + ((100.0, "100 s"),)), Axis.log(*I2T),
                           ("time since the short", "I²t so far, A²s"), right=156, left=56)  # fmt: skip
        self.chart.line([math.log10(HOLDS)] * 2, [math.log10(e) for e in I2T], (0, (1.1, 2.2)))
        text = f"k²A² is a wire's limit up to {setting(HOLDS, 's')}"
        self.chart.axes.text(math.log10(HOLDS) - 0.06, math.log10(I2T[1]) - 0.2, text, color=look.ink2, fontsize=QUIET, ha="right")
        self.levels = [limit(self.chart.axes, look, "above", 22.0) for _ in range(MOST_WIRES)]

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Move the levels, draw the curve and where it passes them."""
        self.chart.begin(pinned)
        if pinned is not None:
            self.chart.curve("short_amps", *_heat(pinned.short), ghost=True)
        short, wires = case.short, _near(case.short)
        x, y = _heat(short)
        self.chart.curve("short_amps", x, y)
        labels: list[Label] = []
        for move, (area, bears) in zip(self.levels, [*wires, *[(0.0, math.nan)] * MOST_WIRES], strict=False):
            move(math.log10(bears))
            if area:
                labels.append((math.log10(bears), f"{_square(area)} wire", self.look.ink2, False))
        at = [(math.log10(when), math.log10(bears)) for area, bears in wires if (when := short.limit_times[area]) < SPAN[1]]
        crosses = np.transpose(at or [(math.nan, math.nan)])
        self.chart.axes.plot(*crosses, ls="", marker="x", ms=7, mew=1.6, color=self.look.ink, zorder=4)
        if I2T[0] <= short.i2t <= I2T[1]:
            labels.append((math.log10(short.i2t), "all of it: E/R", self.look.text("store"), True))
        self.chart.beside(labels)
        self._inside(short)
        reading = short_reading(short)
        return f"I²t of a dead short over the logarithm of the time, with the levels that wires bear. {reading}", reading

    def _inside(self, short: Any) -> None:
        """The two numbers that have no axis here, in the empty corner under the curve."""
        fuse = f"fuse rated {setting(short.fuse, 'A')}" if short.fuse else "no fuse stated"
        low, high = self.chart.axes.get_ylim()
        step = 20 * (high - low) / extent(self.chart.axes)[1]
        x = self.chart.axes.get_xlim()[1] - 0.02 * math.log10(SPAN[1] / SPAN[0])
        falls = "does not fall" if math.isinf(short.time_constant) else f"time constant {duration(short.time_constant)}"
        whole = "" if math.isinf(short.i2t) else f"{_million(short.i2t)} in all"
        told = f"begins at {shown(short.current, 'A')}", whole, falls, fuse
        for i, words in enumerate(told):
            self.chart.say(x, low + (3.7 - i) * step, words, ha="right", over=True)


def _heat(short: Any) -> tuple[Any, Any]:
    """Logarithms of time and of I²t so far, from the first to the last instant of the axis."""
    so_far = np.concatenate([[0.0], np.cumsum(np.diff(short.times) * (short.amps[1:] ** 2 + short.amps[:-1] ** 2) / 2)])
    times = np.geomspace(*SPAN, 240)
    first = short.current**2 * times
    heat = first if math.isinf(short.time_constant) else np.minimum(np.interp(times, short.times, so_far), first)
    return np.log10(times), np.log10(np.maximum(heat, I2T[0] / 10))


def _near(short: Any) -> list[tuple[float, float]]:
    """The wires whose levels lie nearest to all of it, inside the axis, thinnest first."""
    middle = min(short.i2t, 1e6)
    inside = [(area, bears) for area, bears in short.wires.items() if I2T[0] <= bears <= I2T[1]]
    return sorted(sorted(inside, key=lambda w: abs(math.log(w[1] / middle)))[:MOST_WIRES])


def _square(area: float) -> str:
    return setting(1e6 * area, "mm²")


def _million(value: float) -> str:
    """A²s in thousands or millions, as they are spoken."""
    size, word = next((s, w) for s, w in ((1e6, f"{THIN}million"), (1e3, f"{THIN}thousand"), (0.0, "")) if value >= s)
    return f"{number(value / (size or 1.0))}{word}{THIN}A²s"


def short_reading(short: Any) -> str:
    """Which wire bears the whole short, in one sentence."""
    all_of_it = "goes on" if math.isinf(short.i2t) else f"puts {_million(short.i2t)} through the loop (E/R)"
    words = f"A dead short begins at {shown(short.current, 'A')} and {all_of_it}"
    burnt = max((area for area, when in short.limit_times.items() if when <= HOLDS), default=None)
    if burnt is not None:
        words += f": {_square(burnt)} is past its limit after {duration(short.limit_times[burnt])}"
    bearing = min((area for area, when in short.limit_times.items() if math.isinf(when)), default=None)
    words += f", {_square(bearing)} bears all of it" if bearing else ", and no wire listed bears it"
    fuse = f"only the fuse of {setting(short.fuse, 'A')}" if short.fuse else "no fuse is stated that"
    return f"{words}; {fuse} could end it sooner."


# ---------------------------------------------------------------- energy and power
ENERGY = (0.1, 1e4)  # Wh
TIME_LINES = ((60.0, "1 min"), (600.0, "10 min"), (3600.0, "1 h"), (36000.0, "10 h"))
STROKES = ("this_store", "other_store")


def ragone_plane(ranges: StoreRanges) -> Build:
    """Energy that a store gives at a constant power over that power, both logarithmic, with lines of equal time.

    Parameters: ranges, by power [W].  Its update takes a StoreCase, by .ragone and .dots.
    Returns build(figure, look) for a figure of at least 5 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return Plane(figure, look, ranges).update

    return build


class Plane:
    """The plane on one figure.  Made by `ragone_plane`."""

    def __init__(self, figure: Figure, look: Look, ranges: StoreRanges):
        self.look = look
        heads = "power taken, W", "Energy given, Wh"
        self.chart = Chart(figure, look, Axis.log(*ranges.power), Axis.log(*ENERGY), heads, right=24)
        (wide, tall), (low, high) = extent(self.chart.axes), self.chart.axes.get_xlim()
        self.per_x = wide / (high - low)
        for seconds, words in TIME_LINES:
            rise = math.log10(seconds / 3600)  # Wh = W h
            self.chart.line([low, high], [low + rise, high + rise], (0, (1.1, 2.2)))
            self._time(words, rise, low, high, tall)

    def _time(self, words: str, rise: float, low: float, high: float, tall: float) -> None:
        """The name of a line of equal time, under it where it leaves the plane."""
        floor, ceiling = (math.log10(e) for e in ENERGY)
        reach = (width(words, QUIET) + 8) / self.per_x
        x = min(ceiling - rise, high) - 0.02 * (high - low) - reach
        y = x + rise - 11 * (ceiling - floor) / tall
        self.chart.say(x + reach, y, words, self.look.ink2, "right")

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Draw the curves with their ends, and the dots."""
        self.chart.begin(pinned)
        for name, (powers, joules) in zip(STROKES, {} if pinned is None else pinned.ragone.values(), strict=False):
            self.chart.curve(name, *_inside(powers, joules), ghost=True)
        for stroke, (name, (powers, joules)) in zip(STROKES, case.ragone.items(), strict=False):
            self._curve(stroke, name, *_inside(powers, joules))
        for i, (name, (watts, joules)) in enumerate(case.dots.items()):
            x, y = math.log10(max(watts, 1e-3)), math.log10(max(joules / 3600, 1e-6))
            self.chart.axes.plot([x], [y], "o", ms=8, color=self.look.ink, zorder=5)
            low, high = (end + side / self.per_x for end, side in zip(self.chart.axes.get_xlim(), (8, 16), strict=True))
            reach = width(name, QUIET, True) / self.per_x
            start = x - reach if i == 0 and len(case.dots) > 1 else x + 8 / self.per_x
            row = 16 * (i + 1) if start < low or (i and x < low + reach) else 16  # under the first name, which had no room
            floor = self.chart.axes.get_ylim()[0] + (8 + 16 * (len(case.dots) - 1 - i)) * self._height()
            self.chart.say(min(max(start, low), high - reach), max(y - row * self._height(), floor), name, bold=True)
        reading = plane_reading(case)
        return f"Energy over power, both logarithmic, with lines of equal time. {reading}", reading

    def _height(self) -> float:
        """Of 1/100 inch in the axes."""
        low, high = self.chart.axes.get_ylim()
        return (high - low) / extent(self.chart.axes)[1]

    def _curve(self, stroke: str, name: str, x: Any, y: Any) -> None:
        """A curve, its name over its start, and the power at which it ends."""
        if not len(x):
            return
        self.chart.curve(stroke, x, y)
        colour = self.look.text(stroke)
        left = self.chart.axes.get_xlim()[0] + 8 / self.per_x
        self.chart.axes.text(max(x[0], left), y[0] + 13 * self._height(), name, color=colour, fontsize=NAME, fontweight="bold",
                             va="center_baseline", zorder=5)  # fmt: skip
        self.chart.axes.plot([x[-1]], [y[-1]], "o", ms=5, color=colour, zorder=4)
        words = f"ends at {shown(10 ** float(x[-1]), 'W')}"
        self.chart.say(x[-1] + 5 / self.per_x, y[-1] - 17 * self._height(), words, colour, "right")


def _inside(powers: Any, joules: Any) -> tuple[Any, Any]:
    """Logarithms of power and energy [Wh] where both are something."""
    there = (np.asarray(powers) > 0) & (np.asarray(joules) > 3.6 * ENERGY[0] * 1000)
    return np.log10(np.asarray(powers)[there]), np.log10(np.asarray(joules)[there] / 3600)


def plane_reading(case: Any) -> str:
    """What each store gives at the power of the first dot (else at 100 W), in one sentence."""
    name, (watts, asked) = next(iter(case.dots.items()), ("", (100.0, math.nan)))
    told = []
    for store, (powers, joules) in case.ragone.items():
        if watts > powers[-1]:
            told.append(f"{store} cannot give it")
            continue
        energy = float(np.interp(watts, powers, joules))
        share = "" if math.isnan(asked) or energy <= 0 else f" ({_times(energy / asked)} what is asked)"
        told.append(f"{store} {shown(energy / 3600, 'Wh')}{share}")
    where = f"At {shown(watts, 'W')}" + (f" ({name})" if name else "")
    return f"{where} this is given: {', '.join(told)}." if told else "No store has been drawn."


def _times(ratio: float) -> str:
    return f"{number(ratio, 2)} times" if ratio >= 1 else f"{number(100 * ratio, 2)}{THIN}% of"
