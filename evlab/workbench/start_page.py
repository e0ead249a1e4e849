"""The page of the brief: which controls, which model, which pictures, numbers and equations."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from evlab import plots, road
from evlab.look import setting
from evlab.route import Route
from evlab.route_files import load_route
from evlab.trip import TripCase, WorstDay
from evlab.vehicle import load_vehicle
from evlab.workbench.bench import Workbench
from evlab.workbench.equations import Shown, Worked
from evlab.workbench.job_map import JobMap
from evlab.workbench.page import Day, Knob, Page, Picture, Readout
from evlab.workbench.question import Questions
from evlab.workbench.route_box import case_words, on_route, outcome_of

__all__ = ["make_page", "map_of_job", "open_bench", "paced", "questions", "worked"]

WIND, PACE, STOPS, HALT = "head_wind", "pace", "stops", "halted_share"
WORST_WIND, WORST_AIR, WORST_TYRES, WORST_LOAD = "worst_wind", "worst_air", "worst_tyres", "worst_load"
WAIT = 10.0  # s at each stop that is added

# ---------------------------------------------------------------- the controls
_LOAD, _ROAD, _DAY, _WORST, _HALT = "What is moved", "How it rolls", "How it is ridden", "The worst day", "If it stops for good"
KNOBS = (
    Knob("load.rider", _LOAD, step=1),
    Knob("load.cargo", _LOAD, step=1),
    Knob("vehicle.frame_mass", _LOAD, step=0.2),
    Knob("road.rolling_coefficient", _ROAD, step=0.001),
    Knob("road.drag_area", _ROAD, step=0.05),
    Knob(WIND, _DAY, start=0.0, quantity="head_wind", label="Head wind", place="road", unit="m/s", low=-8.0, high=12.0, step=0.5,
         meaning="wind against the way of travel; below zero it pushes", why="12 m/s is a strong breeze; nobody rides a box in "
                                                                             "more"),
    Knob(PACE, _DAY, start=1.0, quantity="voltage_share", label="Posted speed ×", place="motion", unit="", low=0.5, high=2.0,
         step=0.05, meaning="all posted speeds multiplied by this", why="half as fast to twice as fast"),
    Knob(STOPS, _DAY, start=0.0, quantity="gearing.links", label="More stops", place="motion", unit="", low=0.0, high=20.0, step=1,
         meaning="stops spread evenly along the way, ten seconds each", why="a gate or a crossing now and then, to a delivery "
                                                                            "round"),
    Knob(WORST_WIND, _WORST, start=5.0, quantity="head_wind", label="Its head wind", place="road", unit="m/s", low=0.0,
         high=12.0,
         step=0.5, meaning="wind against the whole way on the worst day", why="12 m/s is a strong breeze"),
    Knob(WORST_AIR, _WORST, start=268.15, quantity="air_temperature", label="Its air", place="outside", unit="°C",
         low=253.15,
         high=293.15, step=1, meaning="air temperature on the worst day: cold air is heavier", why="a hard frost to a mild day"),
    Knob(WORST_TYRES, _WORST, start=1.3, quantity="voltage_share", label="Its tyres, times", place="road", unit="", low=1.0,
         high=2.5, step=0.05, meaning="so many times the rolling coefficient: soft, cold tyres, a wet or loose surface",
         why="nothing worse, to a gravel path"),
    Knob(WORST_LOAD, _WORST, start=20.0, quantity="load.cargo", label="Its extra load", place="motion", low=0.0, high=100.0,
         step=1, meaning="carried on top on the worst day", why="nothing, to a passenger who should not be there"),
    Knob(HALT, _HALT, start=0.5, quantity="usable_share", label="Stops at, of the way", place="motion", unit="%", low=0.0, high=1.0,
         step=1, meaning="share of the way after which the drive is dead", why="at the start, to at the end"),
)
_HALTED = ("load.cargo", "vehicle.frame_mass", "road.rolling_coefficient", HALT)
_COSTS = tuple(k.name for k in KNOBS if k.name != HALT)


def paced(route: Route, factor: float, stops: int) -> Route:
    """The route with all posted speeds times a factor, and so many more stops of ten seconds, evenly spread."""
    if factor == 1.0 and not stops:
        return route
    more = [(route.length * i / (stops + 1), WAIT) for i in range(1, stops + 1)]
    there = [(place, wait) for place, wait in route.stops if place not in route.waits]
    made = route.with_stops([*there, *((place, wait, True) for place, wait in route.waits.items()), *more])
    made.limits = [(place, factor * speed) for place, speed in route.limits]
    return made


class _Model:
    """The brief's case of the present controls."""

    def __init__(self, route: Route) -> None:
        self.route = route

    def __call__(self, vehicle: Any, day: Day) -> TripCase:
        worst = WorstDay(head_wind=day[WORST_WIND], air_temperature=day[WORST_AIR], rolling_factor=day[WORST_TYRES],
                         extra_load=day[WORST_LOAD])
        return TripCase(vehicle, paced(self.route, day[PACE], round(day[STOPS])), wind=day[WIND], worst=worst,
                        halted_share=day[HALT])


# ---------------------------------------------------------------- the page
def _share(c: Any) -> float:
    return float(c.today.energy["lift"] / c.today.total) if c.today.total else 0.0


COSTS = (
    Readout("Energy of one trip", "kJ", lambda c: c.today.total, 1e-3, model=0.02),
    Readout("The same", "Wh", lambda c: c.today.total, 1 / 3600, model=0.02),
    Readout("For each kilometre", "Wh", lambda c: c.today.per_metre, 1 / 3.6, model=0.02),
    Readout("Lift, of the trip", "%", _share, 100.0),
    Readout("Worst day", "kJ", lambda c: c.worst.total, 1e-3, model=0.02),
    Readout("Worst day, times today", "", lambda c: c.worst.total / c.today.total if c.today.total else 1.0),
    Readout("Largest power at the wheel", "W", lambda c: c.today.peak_power, model=0.02),
    Readout("Time", "s", lambda c: c.today.duration, model=0.02),
)
WAY = (
    Readout("Way", "m", lambda c: c.route.length),
    Readout("Goes up, in all", "m", lambda c: round(c.route.climb, 2)),
    Readout("Goes down, in all", "m", lambda c: round(c.route.descent, 2)),
    Readout("Steepest 20 m", "%", lambda c: c.route.steepest()[1], 100.0),
    Readout("Time at these speeds", "s", lambda c: c.today.duration),
)
HALTED = (
    Readout("Slope there", "%", lambda c: round(c.halted.slope, 4), 100.0),
    Readout("To push it on", "N", lambda c: c.halted.push_force),
    Readout("To push it home", "N", lambda c: c.halted.home_force),
    Readout("Hardest on the way home", "N", lambda c: c.halted.hardest),
    Readout("The brake must hold", "N", lambda c: c.halted.hold_force),
    Readout("People needed", "", lambda c: float(c.halted.pushers), whole=True),
    Readout("Home is", "m", lambda c: c.halted.home_distance),
    Readout("Pushing home takes", "kJ", lambda c: c.halted.home_energy, 1e-3),
)


def make_page(route: Route) -> Page:
    """The page of the brief on this route."""
    return Page(
        name="00_start", case=case_words(route), knobs=KNOBS, model=_Model(route),
        pictures=(Picture("What one trip costs", plots.trip_growth, _COSTS, COSTS),
                  Picture("The way", plots.slope_profile, (PACE, STOPS), WAY),
                  Picture("Stopped half way", plots.halted, _HALTED, HALTED)),
        readouts=COSTS, outcome=outcome_of, cautions=lambda c: c.cautions,
        frame=lambda vehicle: plots.TripRanges.around(vehicle, route), widen=lambda ranges, case: ranges.widened(case),
        tables=("vehicle", "load", "store", "motor", "gearing", "road", "driver"))


def open_bench(route: Route | str | Path | None = None, vehicle: Any = None) -> Workbench:
    """The workbench of this page.

    Parameters: `route`, a Route, the name of one or a file, by default the learner's own; `vehicle`, by default the learner's own.
    """
    return on_route(make_page, route, load_vehicle() if vehicle is None else vehicle)


def questions(bench: Workbench) -> Questions:
    """The questions of this page about the case on the bench."""
    from evlab.workbench.start_questions import asked

    return Questions(bench, asked())


def map_of_job() -> JobMap:
    """What a maker asks, page by page, with the equations that answer it."""
    return JobMap()


# ---------------------------------------------------------------- the equations
def worked(vehicle: Any = None, route: Route | str | Path | None = None) -> Worked:
    """The terms of one trip, worked with the vehicle's numbers on the route.

    Parameters: `vehicle`, by default the learner's own; `route`, a Route, the name of one or a file, by default the learner's own.
    """
    v: Any = load_vehicle() if vehicle is None else vehicle
    way = route if isinstance(route, Route) else load_route(route)
    speed, slope = way.length / way.posted_time(), float(way.heights[-1]) / way.length
    lead = (f"{v.name}, {setting(round(v.mass, 1), 'kg')} in all, over “{way.name}”: {setting(round(way.length, 1), 'm')} at "
            f"{setting(round(speed, 2), 'm/s')} in the mean, no wind. The bench below adds these up metre by metre; here they "
            f"stand with "
            "the mean speed and the whole rise.")
    rolling = {"mass": v.mass, "rolling_coefficient": v.road.rolling_coefficient, "slope": slope, "direction": 1.0}
    air = {"air_density": v.road.air_density, "drag_area": v.road.drag_area, "speed": speed, "head_wind": 0.0}
    total = float(road.rolling_force(**rolling)) + float(road.air_force(**air))
    return Worked(lead, [
        Shown(road.lift_energy, {"mass": v.mass, "altitude": float(way.climb)}, "All that goes up, whatever comes down again."),
        Shown(road.rolling_force, rolling), Shown(road.air_force, air),
        Shown(road.energy_per_distance, {"force": total, "chain_efficiency": 1.0},
              "So these two newtons, added up, times the metres are joules (at the wheel: no chain yet)."),
        Shown(road.kinetic_energy, {"effective_mass": v.mass + v.vehicle.wheels_rotating_mass, "speed": speed},
              "What each start costs, and what each stop turns into heat."),
        Shown(road.air_density, {"pressure": float(road.pressure_at_height(0.0)), "air_temperature": 268.15},
              "Cold air is heavier: a part of the worst day.")])
