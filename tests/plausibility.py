"""Does the model give what is seen on the road?  Two home-built vehicles with unknown insides, drawn at random.

What is seen is common practice, no source.  What is inside is not known, so each quantity is drawn from the range that data
sheets and tables give for such parts, and the question is only at which percentile of the model's spread the sight lies.  The
ranges stood before the first run; where no table gives one, it says so.
"""

from __future__ import annotations

import html
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any

import numpy as np

from evlab.coasting import air_factor, coasting_distance, constant_force
from evlab.driver import ThrottleHeld
from evlab.exploring import STEP, movers
from evlab.hill_test import HillTest
from evlab.riding import Journey
from evlab.route import Route
from evlab.units import InputError
from evlab.vehicle import load_vehicle

__all__ = ["Drawn", "Plausible", "light_bike", "roll_and_return"]

SEEDS = 200
LEVEL = 5000.0  # m: longer than any of them goes
OWN = "own range, no table"


@dataclass(frozen=True)
class Drawn:
    """One quantity that is drawn: `low` to `high` [SI], evenly or (`log`) evenly in factors, and where the range comes from."""

    low: float
    high: float
    source: str
    log: bool = False
    whole: bool = False

    def values(self, rng: np.random.Generator, count: int) -> Any:
        low, high = (math.log(x) if self.log else x for x in (self.low, self.high))
        made = rng.uniform(low, high + (1 if self.whole else 0), count)
        made = np.exp(made) if self.log else made
        return np.floor(made) if self.whole else made


BICYCLE = {
    "road.rolling_coefficient": Drawn(0.004, 0.011, "intercepted city cyclists, one standard deviation about the mean (thesis, "
                                                    "read)"),
    "road.drag_area": Drawn(0.39, 0.73, "the same"),
    "vehicle.frame_mass": Drawn(14.0, 22.0, "the same: bicycle and goods"),
    "load.rider": Drawn(50.0, 100.0, "common practice, no source"),
    "vehicle.wheels_rotating_mass": Drawn(1.0, 4.0, "two wheels of 0.5 kg to 2 kg each: common practice"),
    "gearing.wheel_radius": Drawn(0.31, 0.35, "wheels of 26 to 29 inches (ISO 5775)"),
    "gearing.chain_efficiency": Drawn(0.93, 0.98, "Spicer et al. 2001, clean chains"),
    "motor.drag_torque": Drawn(0.05, 0.2, "bearings with seals: common practice"),
    "controller.standby_power": Drawn(1.0, 5.0, "common practice"),
    "motor.resistance": Drawn(0.1, 0.5, "small motors: common practice"),
    "store.joint_resistance": Drawn(0.1e-3, 0.5e-3, "common practice"),
    "store.slow_share": Drawn(0.08, 0.12, "common practice"),
    "slow time": Drawn(10.0, 60.0, "s, common practice"),
    "gearing.wheel_teeth": Drawn(45, 120, OWN, whole=True),
}
LIGHT = {
    **BICYCLE,
    "store.cell_capacitance": Drawn(280.0, 480.0, "400 F: 30 % less (unbranded, common practice) to 20 % more (data sheets' "
                                                  "tolerance)"),
    "store.cell_resistance": Drawn(2.2e-3, 9.6e-3, "data sheets of 310 F and 350 F cells, to three times that "
                                                   "(unbranded)", log=True),
    "motor.constant": Drawn(0.03, 0.3, OWN, log=True),
    "controller.bridge_resistance": Drawn(0.005, 0.1, OWN, log=True),
    "controller.stop_voltage": Drawn(8.0, 14.0, "12 V gate supply and 2 V, down to logic that gives up: own range"),
}
STRONG = {
    **BICYCLE,
    "store.cells_in_series": Drawn(10, 16, OWN, whole=True),
    "store.cell_capacitance": Drawn(350.0, 650.0, "data sheets", log=True),
    "store.cell_resistance": Drawn(0.8e-3, 3.2e-3, "data sheets of 650 F and 350 F cells", log=True),
    "motor.constant": Drawn(0.2, 0.6, OWN, log=True),
    "controller.braking_current_limit": Drawn(10.0, 45.0, OWN),
    "slope": Drawn(0.03, 0.08, "hills that are ridden for it: own range"),
    "speed": Drawn(2.5, 6.0, OWN),
    "length": Drawn(80.0, 300.0, OWN),
}


@dataclass(frozen=True)
class Row:
    """One quantity that is seen: its name, unit, the value `seen`, the draws' `values`, and what moves them."""

    name: str
    unit: str
    seen: float
    values: Any
    movers: tuple[tuple[str, str, float], ...]

    @property
    def band(self) -> tuple[float, float, float]:
        """(5 %, middle, 95 %) of the draws."""
        low, middle, high = np.quantile(self.values, [0.05, 0.5, 0.95])
        return float(low), float(middle), float(high)

    @property
    def percentile(self) -> float:
        """Share of the draws below what is seen [%]."""
        return float(100 * np.mean(self.values < self.seen))

    @property
    def inside(self) -> bool:
        return self.band[0] <= self.seen <= self.band[2]


class Plausible:
    """What the draws gave: `name`, `rows` (a Row for each quantity seen), `ranges` {quantity: Drawn}, `draws` {quantity: array}."""

    def __init__(self, name: str, ranges: Mapping[str, Drawn], draws: Mapping[str, Any],
                 seen: Mapping[str, tuple[str, float, Any]]) -> None:
        self.name, self.ranges, self.draws = name, dict(ranges), dict(draws)
        self._seen = seen

    @cached_property
    def rows(self) -> list[Row]:
        return [Row(name, unit, value, values, tuple(movers(self.draws, values)[:3]))
                for name, (unit, value, values) in self._seen.items()]

    @property
    def reason(self) -> str:
        """At which percentiles the sights lie, and what moves them most."""
        return " ".join(f"{r.name} {r.seen:g} {r.unit}: at percentile {r.percentile:.0f} of {r.band[0]:.3g} to "
                        f"{r.band[2]:.3g} "
                        f"{r.unit} (5 to 95 %); moved most by {_said(r)}." for r in self.rows)

    def _repr_html_(self) -> str:
        heads = ("seen", "5 %", "middle", "95 %", "percentile", "moved most by")
        body = "".join(f"<tr><th scope=row style='text-align:left'>{html.escape(r.name)}, "
                       f"{html.escape(r.unit)}</th><td>{r.seen:g}</td>"
                       + "".join(f"<td>{x:.3g}</td>" for x in r.band)
                       + f"<td>{r.percentile:.0f}</td><td style='text-align:left'>{html.escape(_said(r))}</td></tr>"
                       for r in self.rows)
        drawn = "".join(f"<tr><th scope=row style='text-align:left'>{html.escape(n)}</th><td>{d.low:g}</td><td>{d.high:g}</td>"
                        f"<td style='text-align:left'>{html.escape(d.source)}</td></tr>" for n, d in self.ranges.items())
        count = len(next(iter(self.draws.values())))
        return (f"<table><caption>{html.escape(self.name)}: {count} draws; what is seen is common practice, no source</caption>"
                f"<tr><th></th>{''.join(f'<th scope=col>{h}</th>' for h in heads)}</tr>{body}</table>"
                f"<details><summary>What was drawn, SI</summary><table>{drawn}</table></details>")

    def __repr__(self) -> str:
        return f"<{self.name}: {self.reason}>"


def _said(row: Row) -> str:
    return ", ".join(f"{label[:1].lower()}{label[1:]} ({share:+.2f})" for _, label, share in row.movers) or "none of them clearly"


# ---------------------------------------------------------------- the two sights
def light_bike(runs: int = SEEDS, seed: int = 1) -> Plausible:
    """A light bicycle with eight cells of 400 F at 21.8 V and a home-wound single-phase motor, full throttle on the level until the
    volts are too low, then rolling out: seen to reach 3.5 m/s and to go about 100 m.

    Parameters: `runs`, how many draws (20 to 5000); `seed` of the draws.
    """
    draws, road = _draw(LIGHT, runs, seed), Route.from_segments([(LEVEL, 0.0, 10.0)], name="level")
    tops, ways = [], []
    for i in range(runs):
        v = _bike({k: float(column[i]) for k, column in draws.items()}, {"store.cells_in_series": 8, "store.charge_voltage": 21.8})
        went = Journey(v, road, 0.0, ThrottleHeld(1.0), 900.0, STEP).sketch(None, 400)
        y, told = went.state, went.rows
        tops.append(float(told[:, 2].max()))
        ways.append(float(y[0]) + _rolls_out(v, float(y[1])))
    return Plausible("Light bicycle on eight cells", LIGHT, draws, {
        "Top speed": ("m/s", 3.5, np.array(tops)), "Way on one charge": ("m", 100.0, np.array(ways))})


def roll_and_return(runs: int = SEEDS, seed: int = 1) -> Plausible:
    """A home-built bicycle with a stronger motor and regeneration that rolls down a hill from an empty store and rides back up:
    seen to regain about two fifths of the way.

    Parameters: `runs`, how many draws (20 to 5000); `seed` of the draws.
    """
    draws, shares = _draw(STRONG, runs, seed), []
    for i in range(runs):
        one = {k: float(column[i]) for k, column in draws.items()}
        hill = Route.from_segments([(one.pop("length"), -one.pop("slope"), one.pop("speed"))], name="hill")
        v = _bike(one, {"store.charge_voltage": 2.5 * one["store.cells_in_series"], "controller.stop_voltage": 12.0})
        shares.append(HillTest(v, hill).with_drag(1.0))
    return Plausible("Down the hill and back up", STRONG, draws, {"Way regained": ("%", 40.0, 100 * np.array(shares))})


def _draw(ranges: Mapping[str, Drawn], runs: int, seed: int) -> dict[str, Any]:
    if type(runs) is not int or not 20 <= runs <= 5000:
        raise InputError(f"Input runs must be a whole number from 20 to 5000; instead received {runs!r}.")
    rng = np.random.default_rng(seed)
    return {name: drawn.values(rng, runs) for name, drawn in ranges.items()}


def _bike(drawn: Mapping[str, float], more: Mapping[str, Any]) -> Any:
    """A bicycle of these parts; what is not drawn is as in the demonstration trike, without its cargo and its box."""
    fixed: dict[str, Any] = {
        "load.cargo": 0.0, "vehicle.allowance_mass": 2.0, "store.mass": 1.5, "motor.mass": 5.0, "gearing.mass": 1.0,
        "controller.mass": 0.8, "motor.dress": "six-step mean", "motor.viscous_drag": 0.001, "motor.inertia": 0.01,
        "motor.temperature_limit": 453.15, "controller.coil_current_limit": 300.0, "controller.store_current_limit": 300.0,
        "gearing.links": 0, "store.lead_resistance": 3e-3}
    made = {**fixed, **more, **{k: int(x) if k.endswith(("teeth", "series")) else x for k, x in drawn.items() if "." in k}}
    slow = made["store.slow_share"] * made["store.cell_capacitance"] / made.get("store.cells_in_series", 8)
    made["store.slow_resistance"] = drawn["slow time"] / slow
    made["controller.resume_voltage"] = made["controller.stop_voltage"] + 2.0
    return _trike().change(made)


@cache
def _trike() -> Any:
    return load_vehicle("two_shed_trike")


def _rolls_out(v: Any, speed: float) -> float:
    """How far it rolls from a speed with the drive off, the motor dragging [m]."""
    g, m = v.gearing, v.motor
    drag = (m.drag_torque + m.viscous_drag * g.ratio * speed / g.wheel_radius) * g.ratio / (g.wheel_radius * g.efficiency)
    rolling = float(constant_force(v.mass, rolling_coefficient=v.road.rolling_coefficient, slope=0.0)) + drag
    air = float(air_factor(v.road.air_density, v.road.drag_area))
    return float(coasting_distance(v.effective_mass, air, rolling, max(speed, 1e-6), 0.0))

