"""Two to four rides of one way on one strip chart, told by their dash and in words."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import QUIET, Build, Desk, Look, Update, shown, width
from evlab.plots.ranges import Ranges, stop_volts, thinned
from evlab.plots.ribbon import Flags, axis_below
from evlab.plots.sentences import ENDS, curve, duration, extreme, way
from evlab.plots.strips import Strip, ground_strip, hills, lay_ground, stacked

CASES = ("first_case", "second_case", "third_case", "fourth_case")
LEFT, TOP, VALUE = 146.0, 40.0, 112.0  # margins, and room of a sample with a value, beside a label [1/100 inch]
FALL = 1.0  # m: a way that goes down by more may charge the store
COLUMNS = {"speed": "mean", "store_volts": "last", "store_amps": "top", "given_energy": "last"}  # and what is told of each


def ranges_over(vehicles: Iterable[Any], route: Any) -> Ranges:
    """Axes that hold all of these vehicles on one way.

    Parameters: vehicles, at least one; route, that they ride.
    """
    made = [Ranges.around(vehicle, route) for vehicle in vehicles]
    spans = {name: [getattr(r, name) for r in made] for name in ("speed", "volts", "amps", "coil")}
    wide = {name: (min(low for low, _ in s), max(high for _, high in s)) for name, s in spans.items()}
    return replace(made[0], **wide, energy=max(r.energy for r in made))


def compared_strips(route: Any, ranges: Ranges) -> Build:
    """Slope, speed, store volts, store amps and energy from the store of two to four rides over the distance of this route.

    Parameters: route, by its nodes [m], slopes [1], heights [m], length [m]; ranges, what the axes cover (see ranges_over).  Its
    update takes a Comparison, by .labels and .results.
    Returns build(figure, look) for a figure of at least 5 x 5 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return ComparedStrips(figure, look, route, ranges).update

    return build


class ComparedStrips:
    """The strips of several rides on one figure.  Made by `compared_strips`."""

    def __init__(self, figure: Figure, look: Look, route: Any, ranges: Ranges):
        self.look, self.route, desk = look, route, Desk(figure)
        falls = float(np.max(np.maximum.accumulate(route.heights) - route.heights)) > FALL
        self.label = min(max(0.19 * desk.wide - 44, 74.0), 190.0)
        sides, strips = (LEFT, VALUE + self.label), [
            ground_strip(route, 0.95),
            Strip(("speed",), *ranges.speed, 1.25, 4, cases=CASES),
            Strip(("store_volts",), *ranges.volts, 1.25, 4, (), "below", CASES),
            Strip(("store_amps",), *ranges.amps, 1.25, 4, cases=CASES),
            Strip(("given_energy",), -0.3 * ranges.energy / 1000 * falls, 1.05 * ranges.energy / 1000, 1.25, 4, cases=CASES),
        ]
        lines = 1 if desk.wide >= 900 else 2  # of the ends told at the bottom
        foot = 30 + 15 * lines
        self.panes = stacked(desk, look, strips, route.length, TOP, foot + 14, sides)
        for pane, (start, end) in itertools.product(self.panes, hills(route)):
            pane.axes.axvspan(start, end, color=look.band, lw=0, zorder=0)
        lay_ground(self.panes[0], look, route)
        self.flags = Flags(desk, look, self.panes[0].axes, desk.wide - sum(sides), lines, 1 + 13 / self.panes[0].tall)
        axis_below(desk, look, self.panes[-1].axes, foot, "distance", [pane.axes for pane in self.panes])
        self.pinned = look.live(desk.text(8, desk.high - 18, "", look.ink2, QUIET))

    def update(self, comparison: Any, pinned: Any = None) -> tuple[str, str]:
        """Move the curves of each ride, their readings and the flags where rides ended early."""
        rides = dict(zip(CASES, comparison.results, strict=False))
        before = {} if pinned is None else dict(zip(CASES, pinned.results, strict=False))
        early = [(r.distance, r.duration, f"{short(label, 110)}: {r.outcome}")
                 for label, r in zip(comparison.labels, comparison.results, strict=True) if r.outcome != "arrived"]  # fmt: skip
        hairs = [at for at, _, _ in self.flags.show(early)]
        for pane, column in zip(self.panes[1:], COLUMNS, strict=True):
            now, grey = ({n: _trace(r, column) for n, r in some.items()} for some in (rides, before))
            pane.show(now, grey, hairs)
            low, high = pane.axes.get_ylim()
            off = any(float(np.min(y)) < low or float(np.max(y)) > high for _, y in now.values())
            pane.note(column, "some is off scale" if off else f"at right: {COLUMNS[column]}")
            for name, label in itertools.zip_longest(CASES, comparison.labels):
                pane.note(name, f"{short(label, self.label)}  {_told(rides[name], column)}" if name in rides else "")
        self.panes[0].show({}, {}, hairs)
        self._bound(comparison.results)
        self.pinned.set_text("" if pinned is None else "thin grey: pinned")
        reading = compared_reading(comparison)
        return f"Slope, speed, store volts, store amps and energy given over the distance. {reading}", reading

    def _bound(self, results: Sequence[Any]) -> None:
        """The stop volts, where all rides have the same."""
        stops = {stop_volts(r.vehicle) for r in results}
        self.panes[2].bound(min(stops) if len(stops) == 1 else float("nan"))


def _trace(ride: Any, column: str) -> tuple[Any, Any]:
    y = ride.column("energy_store") / 1000 if column == "given_energy" else curve(ride, column)
    return thinned(ride.column("distance"), y)


def _told(ride: Any, column: str) -> str:
    """The reading of one ride in one strip."""
    if column == "speed":
        return shown(ride.distance / ride.duration if ride.duration else 0.0, "m/s")
    if column == "store_volts":
        return shown(ride.end_voltage, "V")
    return extreme(ride, column) if column == "store_amps" else shown(float(ride.column("energy_store")[-1]) / 1000, "kJ")


def short(label: str, room: float) -> str:
    """A label that fits into this room [1/100 inch], its end in dots."""
    if width(label, QUIET) <= room:
        return label
    while label and width(f"{label}…", QUIET) > room:
        label = label[:-1].rstrip()
    return f"{label}…"


def compared_reading(comparison: Any) -> str:
    """How each ride ends and what it took, in one sentence."""
    told = []
    for label, r in zip(comparison.labels, comparison.results, strict=True):
        end = f"arrives after {duration(r.duration)}" if r.outcome == "arrived" else (
            f"{ENDS.get(r.outcome, r.outcome)} at {way(r.distance)}")  # fmt: skip
        told.append(f"{short(label, 150)} {end} with {shown(r.end_voltage, 'V')}, {shown(r.ledger['store'] / 1000, 'kJ')} taken")
    words = "; ".join(told)
    return f"{words[:1].upper()}{words[1:]}."
