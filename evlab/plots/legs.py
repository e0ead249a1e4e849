"""Charging with legs: what pedalling puts into the store while the driven wheel is raised."""

from __future__ import annotations

import math
from typing import Any

from matplotlib.figure import Figure

from evlab.look import Build, Look, Update, shown
from evlab.plots.chart import Axis, Chart, Label
from evlab.plots.regen_ranges import RegenRanges, above


def pedal_charge(ranges: RegenRanges) -> Build:
    """What legs put into the store on a raised wheel over the tyre's speed; the best speed marked.

    Parameters: ranges, by speed and pedal.  Its update takes a RegenCase, by .pedalling.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        chart = Chart(figure, look, Axis.even(0.0, ranges.speed, 7), Axis.even(*ranges.pedal, 6),
                      ("speed of the raised tyre, m/s", "Into the store, W"), right=150, left=56)  # fmt: skip
        chart.line([0.0, ranges.speed], [0.0, 0.0])

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            low = ranges.pedal[0]
            if pinned is not None:
                chart.curve("pedal_charge", *above(pinned.pedalling.speeds, pinned.pedalling.into_store, low), ghost=True)
            p = case.pedalling
            x, y = above(p.speeds, p.into_store, low)
            chart.curve("pedal_charge", x, y, wide=2.4)
            if p.power <= ranges.pedal[1]:
                chart.line([0.0, ranges.speed], [p.power, p.power], (0, (1.1, 1.5)))
            labels: list[Label] = [(p.power, f"at the pedals\n{shown(p.power, 'W')}", look.ink2, False)]
            if len(y):
                labels.append((float(y[-1]), "into the store", look.text("pedal_charge"), True))
            chart.beside(labels)
            if p.best > low:
                chart.axes.plot([p.best_speed], [p.best], marker="o", ms=8, mfc=look.paper, mec=look.ink, mew=1.8, zorder=4)
            reading = pedal_reading(case)
            return f"Power that legs put into the store over the speed of a raised tyre. {reading}", reading

        return update

    return build


def pedal_reading(case: Any) -> str:
    """What pedalling gives at best, and how long a volt takes, in one sentence."""
    p = case.pedalling
    if not case.limit_amps:
        return f"With a braking limit of 0 A, {shown(p.power, 'W')} at the pedals charge nothing: the motor may not brake."
    if not p.best > 0:
        return f"{shown(p.power, 'W')} at the pedals charge nothing: drag, copper and electronics take it all."
    volt = "" if math.isinf(p.minutes_per_volt) else f"; one volt at {shown(case.volts, 'V')} takes {_time(p.minutes_per_volt)}"
    return (f"{shown(p.power, 'W')} at the pedals put {shown(p.best, 'W')} into the store at best, with the tyre at "
            f"{shown(p.best_speed, 'm/s')}{volt}.")


def _time(minutes: float) -> str:
    return shown(60 * minutes, "s", figures=2) if minutes < 2 else shown(minutes, "min", figures=2)
