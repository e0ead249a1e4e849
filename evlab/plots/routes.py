"""The flux through a turn against the clearance, by every route: how far hand calculation, map and a library disagree."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import MINUS, Build, Look, Update, shown
from evlab.magnet_case import CLEARANCES, ENDLESS, INTEGRAL, MAP
from evlab.plots.chart import Axis, Chart
from evlab.plots.magnet_ranges import MagnetRanges

NAMES = {MAP: "route_map", INTEGRAL: "route_integral", ENDLESS: "route_endless"}
TOLD = {MAP: "map of the\nreal ring", INTEGRAL: "coil as long\nas it is", ENDLESS: "endless\ncoil"}


def flux_routes(ranges: MagnetRanges) -> Build:
    """Flux through the mean turn against the clearance: map of the real ring, one integral, closed form; magpylib at the clearance
    of the vehicle.

    Parameters: ranges, by flux.  Its update takes a MagnetCase, by .by_clearance, .routes, .witness and .winding.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        chart = Chart(figure, look, Axis.even(0.0, 1e3 * CLEARANCES[1], 7), Axis.even(0.0, 1e3 * ranges.flux, 6),
                      ("clearance between coil and magnets, mm", "Flux through the mean turn, mWb"), right=118)  # fmt: skip

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            if pinned is not None:
                x, y = pinned.by_clearance[INTEGRAL]
                chart.curve("route_integral", 1e3 * x, 1e3 * y, ghost=True)
            labels = []
            for route, (x, y) in case.by_clearance.items():
                chart.curve(NAMES[route], 1e3 * x, 1e3 * y)
                if route == MAP:
                    chart.axes.plot(1e3 * x, 1e3 * y, ls="", marker="o", ms=5, color=look.line("route_map"), zorder=3)
                labels.append((1e3 * float(y[-1]), TOLD[route], look.text(NAMES[route]), route == MAP))
            here = 1e3 * case.winding.clearance
            chart.line([here] * 2, chart.axes.get_ylim(), (0, (1.1, 2.2)))
            chart.axes.plot([here], [1e3 * case.witness], marker="D", ms=8, mfc=look.paper, mec=look.ink, mew=1.8, ls="", zorder=4)
            left = here < 0.6e3 * CLEARANCES[1]
            chart.say(here + (0.2 if left else -0.2), 0.06 * chart.axes.get_ylim()[1], "◇ magpylib, in three dimensions",
                      ha="left" if left else "right", over=True)  # fmt: skip
            chart.beside(labels)
            reading = routes_reading(case)
            return f"Flux through a turn over the clearance by four routes. {reading}", reading

        return update

    return build


def routes_reading(case: Any) -> str:
    """How far each route lies from the map at the present clearance, and why, in one sentence."""
    base = case.routes[MAP]
    away = {name: 100 * (flux / base - 1) for name, flux in (*case.routes.items(), ("magpylib", case.witness))}
    at, flux = shown(1e3 * case.winding.clearance, "mm"), shown(1e3 * base, "mWb")
    return (f"At {at} the map says {flux}; magpylib {signed(away['magpylib'])}, the integral {signed(away[INTEGRAL])}, the closed "
            f"form {signed(away[ENDLESS])}: it forgets that the coil ends where the field does. A millimetre of clearance more "
            f"costs {shown(100 * case.decay, '%')}.")


def signed(percent: float) -> str:
    """A deviation with its sign: '+3.7 %'."""
    if abs(percent) < 0.005:
        return "the same"
    return f"{'+' if percent >= 0 else MINUS}{shown(abs(float(np.round(percent, 2))), '%', figures=2)}"
