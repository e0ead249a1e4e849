"""Down a hill: what comes back at each steady speed, and what a full store does to the brakes on the way."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import QUIET, THIN, Build, Desk, Look, Update, setting, shown
from evlab.plots.chart import Axis, Chart, Label
from evlab.plots.regen_ranges import RegenRanges, finite
from evlab.plots.ribbon import axis_below
from evlab.plots.sentences import percent
from evlab.plots.strips import Strip, stacked

SIDES = (146.0, 176.0)  # margins: heads at the left, cases with a sample at the right [1/100 inch]


def steady_descent(ranges: RegenRanges) -> Build:
    """Share of the height's energy that comes back over the speed of a steady descent; the best speed and the asked one marked.

    Parameters: ranges, by speed and share.  Its update takes a RegenCase, by .descent, .slope, .speed.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        low, high = (100 * s for s in ranges.share)
        chart = Chart(figure, look, Axis.even(0.0, ranges.speed, 7), Axis.even(low, high, 6),
                      ("steady speed downhill, m/s", "Of the height's energy comes back, %"), right=150)  # fmt: skip
        chart.line([0.0, ranges.speed], [0.0, 0.0])

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            if pinned is not None:
                chart.curve("descent_share", *_seen(pinned.descent, low), ghost=True)
            d = case.descent
            x, y = _seen(d, low)
            chart.curve("descent_share", x, y, wide=2.4)
            labels: list[Label] = []
            if len(y):
                labels.append((float(y[-1]), f"down {percent(case.slope)}", look.text("descent_share"), True))
            chart.beside(labels)
            _marks(chart, case)
            reading = descent_reading(case)
            return f"Share of the height's energy that comes back over a steady speed. {reading}", reading

        return update

    return build


def _seen(d: Any, low: float) -> tuple[Any, Any]:
    keep = np.isfinite(d.share) & (100 * np.nan_to_num(d.share) >= low)
    return d.speeds[keep], 100 * d.share[keep]


def _marks(chart: Chart, case: Any) -> None:
    """A ring at the best speed, a dot at the asked one, a hair where it rolls unbraked."""
    d, (low, high), look = case.descent, chart.axes.get_ylim(), chart.look
    if d.best_speed == d.best_speed and 100 * d.best_share > low:
        if not d.rising:
            chart.axes.plot([d.best_speed], [100 * d.best_share], marker="o", ms=9, mfc=look.paper, mec=look.ink, mew=1.8, zorder=4)
        words = f"{'still rising at' if d.rising else 'best'} {shown(d.best_speed, 'm/s')}, {percent(d.best_share)}"
        chart.say(d.best_speed, 100 * d.best_share + 0.06 * (high - low), words, ha="center", bold=True, over=True)
    if d.here == d.here and 100 * d.here > low:
        chart.axes.plot([case.speed], [100 * d.here], marker="o", ms=6, color=look.ink, zorder=4.2)
    if d.rolls == d.rolls and d.rolls <= chart.axes.get_xlim()[1]:
        chart.line([d.rolls] * 2, [low, high], (0, (1.1, 2.2)))
        chart.say(d.rolls, low + 0.05 * (high - low), f"rolls to {shown(d.rolls, 'm/s')} unbraked", ha="right", over=True)


def descent_reading(case: Any) -> str:
    """The share at this speed and at the best one, in one sentence."""
    d = case.descent
    if not len(finite(d.share)):
        return f"Down {percent(case.slope)} it must be driven at any speed: nothing comes back."
    best = (f"the faster the more, up to {percent(d.best_share)} at {shown(d.best_speed, 'm/s')} and beyond" if d.rising else
            f"best is {shown(d.best_speed, 'm/s')} with {percent(d.best_share)}")  # fmt: skip
    if d.here != d.here:
        return f"Down {percent(case.slope)} at {shown(case.speed, 'm/s')} it must be driven; {best}."
    if d.best_share <= 0:
        return (f"Down {percent(case.slope)} nothing comes back at any speed: at {shown(case.speed, 'm/s')} the electronics take "
                f"{percent(-d.here)} of the height's energy out of the store.")
    back = (f"{percent(d.here)} of the height's energy comes back" if d.here >= 0 else
            f"nothing comes back, the store gives {percent(-d.here)} of the height's energy")  # fmt: skip
    slow = 0.4 * d.best_speed
    crept = float(np.interp(slow, d.speeds, np.nan_to_num(d.share)))
    creeping = f", creeping at {shown(slow, 'm/s')} gives {percent(crept)}" if slow < case.speed else ""
    return f"Down {percent(case.slope)} at {shown(case.speed, 'm/s')} {back}; {best}{creeping}."


# ---------------------------------------------------------------- a full store
RIDES = {"full": "full_down", "lower": "spared_down"}


def full_descent(ranges: RegenRanges) -> Build:
    """Store volts and friction brake along a descent, begun full and begun with room; the full volts as a limit.

    Parameters: ranges, by length, volts and friction.  Its update takes a RegenCase, by .full.
    Returns build(figure, look) for a figure of at least 6 x 4 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return FullDescent(figure, look, ranges).update

    return build


class FullDescent:
    """Two strips on one figure.  Made by `full_descent`."""

    def __init__(self, figure: Figure, look: Look, ranges: RegenRanges):
        desk = Desk(figure)
        strips = (Strip(("store_volts",), *ranges.volts, 1.1, 4, (), "above", ("begun_full", "begun_lower")),
                  Strip(("brake_force",), 0.0, ranges.friction, 1.0, 4, cases=("friction_full", "friction_lower")))  # fmt: skip
        self.panes = stacked(desk, look, strips, ranges.length, 40, 46, SIDES)
        axis_below(desk, look, self.panes[-1].axes, 16)
        for pane in self.panes[:-1]:
            pane.axes.set_xticks(self.panes[-1].axes.get_xticks(), [])
        desk.text(8, desk.high - 18, "Down the hill, begun full and begun with room", look.ink, bold=True)
        self.pinned = look.live(desk.text(desk.wide - 124, desk.high - 18, "", look.ink2, QUIET))

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Move curves and readings to this case."""
        now, before = _along(case), {} if pinned is None else _along(pinned)
        for pane in self.panes:
            names = pane.strip.cases
            pane.show({n: now[n] for n in names}, {n: before[n] for n in names if n in before}, [])
        volts, brake = self.panes
        full = case.full
        most = float(case.vehicle.store.charge_voltage)
        volts.bound(most)
        volts.note("store_volts", f"full {setting(most, 'V')}")
        brake.note("brake_force", "friction brake")
        for key, ride in RIDES.items():
            r = getattr(full, ride)
            volts.note(f"begun_{key}", f"from {shown(r.start_voltage, 'V')}")
            brake.note(f"friction_{key}", f"{_kilojoules(-r.ledger['brake'])} in all")
        self.pinned.set_text("" if pinned is None else "thin grey: pinned")
        reading = full_reading(case)
        return f"Two strips along a descent: store volts and friction brake. {reading}", reading


def _kilojoules(joules: float) -> str:
    """An energy in the unit that suits it."""
    if joules < 0.5:
        return f"0{THIN}kJ"
    return shown(joules / 1000, "kJ") if joules >= 1000 else shown(joules, "J", figures=2)


def _along(case: Any) -> dict[str, tuple[Any, Any]]:
    """The four curves by name, over the distance."""
    made: dict[str, tuple[Any, Any]] = {}
    for key, ride in RIDES.items():
        r = getattr(case.full, ride)
        made[f"begun_{key}"] = (r.column("distance"), r.column("store_volts"))
        made[f"friction_{key}"] = (r.column("distance"), r.column("brake_force"))
    return made


def full_reading(case: Any) -> str:
    """How much room the descent needs, in one sentence."""
    f = case.full
    if f.gain <= 0:
        return f"This descent of {shown(f.height, 'm')} gives nothing back: a full store is no matter here."
    taken = _kilojoules(-f.full_down.ledger["brake"])
    first = f"Begun full, friction takes {taken} of this descent of {shown(f.height, 'm')}"
    if f.start_volts <= 0:
        return f"{first}; not even an empty store has room for all of it: count on friction brakes from the top."
    rest = max(-f.spared_down.ledger["brake"], 0.0)
    return (f"{first}; begun at {shown(f.start_volts, 'V')} or below, all of {shown(f.gain / 1000, 'kJ')} fits in, and friction "
            f"takes {_kilojoules(rest) if rest >= 0.5 else 'nothing'}.")
