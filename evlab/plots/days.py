"""A day of trips over its time: the store's volts on every ride, and the charges between."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import Build, Look, Update, shown
from evlab.plots.chart import Axis, Chart, along
from evlab.plots.ranges import highest_volts, stop_volts

ROOM = 176.0  # for the names at the right


def day_chart(day: Any) -> Build:
    """Volts at the terminals over the day; charges shaded, waits left white, the stop volts as a line.

    Parameters: day, a DayResult.  Returns build(figure, look); its update takes the same day, or another one on the same axes.
    """

    def build(figure: Figure, look: Look) -> Update:
        x, head = along("time", max(day.duration, 1.0))
        volts = Axis.even(0.0, highest_volts(day.vehicle.store))
        chart = Chart(figure, look, x, volts, (head, "Store volts over the day, V"), right=ROOM)

        def update(result: Any = None, pinned: Any = None) -> tuple[str, str]:
            shown_day = day if result is None else result
            _draw(chart, look, shown_day)
            return f"The store's volts over a day of trips. {shown_day.reason}", shown_day.reason

        return update

    return build


def _draw(chart: Chart, look: Look, day: Any) -> None:
    rides = iter(day.rides)
    for row in day.trips:
        end = row.start + row.duration
        if row.kind == "ride":
            ridden = next(rides)
            chart.curve("store_volts", ridden.column("time") + row.start, ridden.column("store_volts"), wide=1.4)
        elif row.kind == "charge" and row.duration > 0:
            level = np.array([row.start_volts, row.end_volts])
            chart.axes.fill_between([row.start, end], 0.0, level, color=look.tint("store_volts", 0.22), linewidth=0, zorder=1.5)
            chart.axes.plot([row.start, end], level, color=look.line("store_volts"), lw=1.0, ls=(0, (4, 2)), zorder=2.5)
    stop = stop_volts(day.vehicle)
    chart.line([0.0, chart.axes.get_xlim()[1]], [stop, stop], (0, (5, 3)))
    last = float(day.column("store_volts")[-1])
    apart = 0.09 * chart.axes.get_ylim()[1]
    labels = [(stop, f"stop volts {shown(stop, 'V')}", look.ink2, False),
              (last, f"last ride's {shown(last, 'V')}", look.text("store_volts"), True)]
    if day.charges:
        labels.append((stop - 2 * apart, "shaded: charging", look.ink2, False))
    chart.beside(labels)
