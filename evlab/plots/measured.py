"""A measured ride against what was predicted for it, and against the mean alone."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.identification import WINDOW, window_means
from evlab.look import Build, Desk, Look, Update, shown
from evlab.plots.ribbon import axis_below
from evlab.plots.road_ranges import heights_of
from evlab.plots.sentences import duration, percent
from evlab.plots.strips import Pane, Strip, stacked

SIDES = (128.0, 150.0)


def measured_ride(log: Any, prediction: Any, null: Any) -> Build:
    """Crank power as means over 30 s: measured, predicted by the fit of the other half, and the null model; the heights below.

    Parameters: `log`, a RideLog (time, crank_power, height, pedalled); `prediction` [W] in each second; `null` [W], the mean of the
    other half, a number or one for each second.  Seconds without pedalling count as zero in all three.
    Returns build(figure, look) for a figure of at least 6 x 4 inches; its update needs no result.
    """
    watts = {"measured_power": log.crank_power, "predicted_power": prediction, "mean_power": null}
    means = {name: _means(log, values) for name, values in watts.items()}

    def build(figure: Figure, look: Look) -> Update:
        desk = Desk(figure)
        top = 1.08 * max(float(np.max(values)) for values in means.values())
        heights = heights_of(_Heights(log.height))
        strips = Strip(tuple(means), 0.0, top, 2.4, 5), Strip(("height",), *heights, 0.8, 3)
        time = log.time - log.time[0]
        panes = stacked(desk, look, strips, float(time[-1]), 20, 46, SIDES)
        axis_below(desk, look, panes[-1].axes, 20, "time", [pane.axes for pane in panes])

        def update(result: Any = None, pinned: Any = None) -> tuple[str, str]:
            _draw(panes, look, log, means)
            reading = measured_reading(means)
            return f"Crank power over the time, means over {WINDOW} s, and the height. {reading}", reading

        return update

    return build


class _Heights:
    """Heights alone, as a route has them."""

    def __init__(self, heights: Any):
        self.heights, self.raw = heights, None


def _means(log: Any, watts: Any) -> Any:
    return window_means(np.broadcast_to(np.asarray(watts, float), np.shape(log.time)), log.pedalled)


def _draw(panes: list[Pane], look: Look, log: Any, means: dict[str, Any]) -> None:
    """The three curves with their means and misses, and the heights."""
    power, ground = panes
    middles = WINDOW * (np.arange(len(means["measured_power"])) + 0.5)
    power.show({name: (middles, values) for name, values in means.items()}, {}, [])
    power.curves["predicted_power"].set_linewidth(1.6)
    power.curves["mean_power"].set_linewidth(1.2)
    power.axes.fill_between(middles, means["measured_power"], 0.0, color=look.tint("measured_power", 0.28), lw=0, zorder=1.2)
    for name, values in means.items():
        miss = "" if name == "measured_power" else f"misses by {shown(error(means, name), 'W')}"
        power.note(name, f"mean {shown(float(values.mean()), 'W')}", miss)
    time = log.time - log.time[0]
    ground.show({"height": (time, log.height)}, {}, [])
    ground.axes.fill_between(time, log.height, ground.axes.get_ylim()[0], color=look.tint("height", 0.22), lw=0, zorder=1.2)
    ground.note("height", f"{shown(float(log.height.min()))} to {shown(float(log.height.max()), 'm')}")


def error(means: dict[str, Any], name: str) -> float:
    """Root of the mean square miss [W]."""
    return float(np.sqrt(np.mean((means[name] - means["measured_power"]) ** 2)))


def measured_reading(means: dict[str, Any]) -> str:
    """How far off the prediction is, against the mean alone, in one sentence."""
    fit, null = error(means, "predicted_power"), error(means, "mean_power")
    share = f", {percent(fit / null)} of it" if null > 0 else ""
    length = duration(WINDOW * len(means["measured_power"]))
    return (f"Over {length} the mean alone misses the measured means of {WINDOW} s by {shown(null, 'W')}, the prediction by "
            f"{shown(fit, 'W')}{share}.")  # fmt: skip
