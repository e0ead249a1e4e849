"""The page of the road: which controls, which model, which pictures, numbers and equations."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np

from evlab import coasting, footing, plots, road, weather
from evlab.glossary import entry
from evlab.look import setting
from evlab.road_case import RoadCase
from evlab.route import Route
from evlab.route_files import load_route
from evlab.vehicle import load_vehicle
from evlab.winds import Wind
from evlab.workbench.bench import Workbench
from evlab.workbench.equations import Shown, Worked
from evlab.workbench.page import Day, Knob, Page, Picture, Readout
from evlab.workbench.question import Questions
from evlab.workbench.route_box import case_words, on_route, outcome_of
from evlab.workbench.store_knobs import VOLTS, volts_left

__all__ = ["make_page", "open_bench", "questions", "worked"]

SLOPE, WIND, FROM = "slope", "head_wind", "wind_from"
ALTITUDE, AIR, HUMID = "altitude", "air", "humidity"
SLOWS, REACTS = "deceleration", "reaction"
BREEZE, WEST = 4.0, 1.5 * math.pi  # m/s and rad: the wind of the first view where the route has bearings

# ---------------------------------------------------------------- the controls
_ROAD, _WIND, _AIR, _VEHICLE, _STANCE, _BRAKES = "The road", "The wind", "The air", "Vehicle", "Wheels and mass", "Brakes"
LOADS = (
    Knob("road.rolling_coefficient", _VEHICLE, step=0.001),
    Knob("road.drag_area", _VEHICLE, step=0.05),
    Knob("load.cargo", _VEHICLE, step=1),
)
TIPS = (
    Knob("vehicle.wheels", _STANCE),
    Knob("vehicle.track", _STANCE, low=0.3, step=0.05),
    Knob("vehicle.mass_height", _STANCE, low=0.2, step=0.05),
    Knob("vehicle.mass_share", _STANCE, low=0.2, high=0.9, step=1),
)
GRIP = Knob("vehicle.tyre_grip", _STANCE, step=0.05)
_AIRS = (
    Knob(ALTITUDE, _AIR, start=0.0, quantity="altitude", label="Above sea level", place="outside", unit="m", low=0.0,
         high=3000.0,
         step=50, meaning="thinner air higher up", why="the coast, to a high pass"),
    Knob(HUMID, _AIR, start=0.0, quantity="relative_humidity", label="Humidity", place="outside", unit="%", low=0.0, high=1.0,
         step=5,
         meaning="water vapour in the air over what it can hold; damp air is lighter", why="dry air to fog"),
)
_STOPS = (
    Knob(SLOWS, _BRAKES, start=3.0, quantity="deceleration", label="Brakes slow it by", place="motion", unit="m/s²", low=0.5,
         high=8.0,
         step=0.1, meaning="what both brakes together reach on the level, measured loaded", why="one poor brake, to good ones "
                                                                                                "on a dry road"),
    Knob(REACTS, _BRAKES, start=0.5, quantity="reaction_time", label="Until they bite", place="motion", unit="s", low=0.2, high=2.0,
         step=0.1, meaning="from seeing the danger to the brakes' grip", why="ready with the hands on the levers, to taken by "
                                                                             "surprise"),
)


def _winds(route: Route) -> tuple[Knob, ...]:
    """A wind from a bearing where the route knows its own; else one against the way."""
    if np.isnan(route.bearings).any():
        return (Knob(WIND, _WIND, start=0.0, quantity="head_wind", label="Head wind", place="road", unit="m/s", low=-8.0, high=12.0,
                     step=0.5, meaning="wind against the way of travel; below zero it pushes",
                     why="12 m/s is a strong breeze; nobody rides a box in more"),)
    return (Knob(WIND, _WIND, start=BREEZE, quantity="head_wind", label="Wind", place="road", unit="m/s", low=0.0, high=12.0,
                 step=0.5,
                 meaning="speed of the wind over the ground", why="calm to a strong breeze"),
            Knob(FROM, _WIND, start=WEST, quantity="wrap_angle", label="It comes from", place="road", unit="°", low=0.0,
                 high=math.radians(355), step=5, meaning="where the wind comes from, clockwise from north: 90° is east, 270° west",
                 why="once round the compass"))


def _day(vehicle: Any, route: Route) -> tuple[Knob, ...]:
    steepest = max(round(route.steepest()[1], 3), 0.0)
    made = [Knob(SLOPE, _ROAD, start=steepest, quantity="slope", label="Slope", place="road", unit="%", low=-0.2, high=0.3,
                 step=0.5,
                 meaning="rise over level way, of the picture of forces; below zero it goes down; it starts with this way's "
                         "steepest climb",
                 why="a steep descent, to the steepest drive-ways")]
    made += volts_left(_VEHICLE, vehicle)
    warm = _air_of(vehicle)
    air = Knob(AIR, _AIR, start=warm, quantity="air_temperature", label="Air", place="outside", unit="°C", low=min(253.15, warm),
               high=max(313.15, warm), step=1, why="a hard frost to a hot day",
               meaning="cold air is heavier; it starts where the air of the vehicle file belongs at sea level")
    return (*made, *_winds(route), _AIRS[0], air, _AIRS[1], *_STOPS)


def _air_of(vehicle: Any) -> float:
    """Temperature [K] at which dry air at sea level has the density that the vehicle file states, in whole degrees."""
    pressure, gas = float(road.pressure_at_height(0.0)), entry("gas_constant").value
    return 273.15 + round(min(max(pressure / (gas * vehicle.road.air_density) - 273.15, -50.0), 50.0))


class _Model:
    """The case of the present controls."""

    def __init__(self, route: Route) -> None:
        self.route = route

    def __call__(self, vehicle: Any, day: Day) -> RoadCase:
        wind = Wind(day[WIND], day[FROM]) if FROM in day else day[WIND]
        return RoadCase(vehicle, self.route, slope=day[SLOPE], wind=wind, altitude=day[ALTITUDE], temperature=day[AIR],
                        humidity=day[HUMID], volts=day.get(VOLTS), deceleration=day[SLOWS], reaction=day[REACTS], posted=False)


# ---------------------------------------------------------------- the pictures and their numbers
def _steady(c: Any) -> float:
    return float(c.forces.steady[round(c.volts, 1)])


FORCES = (
    Readout("Steady speed, volts left", "m/s", _steady, model=0.01),
    Readout("Steady speed, charged", "m/s", lambda c: float(c.forces.steady[max(c.forces.volts)]), model=0.01),
    Readout("Force there, volts left", "N", lambda c: c.per_metre, model=0.01),
    Readout("Power at the wheel", "W", lambda c: c.per_metre * _steady(c), model=0.01),
    Readout("For each kilometre", "Wh", lambda c: c.per_metre, 1 / 3.6, model=0.01),
    Readout("Rolls by itself at", "m/s", lambda c: c.forces.coasting),
    Readout("Air density", "kg/m³", lambda c: c.air_density),
    Readout("Full throttle, at rest", "N", lambda c: c.traction.full),
    Readout("Driven wheels put down", "N", lambda c: c.traction.limit),
)


def _mean_speed(which: str) -> Any:
    """The mean speed over the way [m/s]; not a number where it does not get through."""
    def read(c: Any) -> float:
        speeds = getattr(c, which)[1]
        return float(1 / np.mean(1 / speeds)) if (speeds > 0).all() else math.nan

    return read


WINDY = (
    Readout("Strongest against it", "m/s", lambda c: c.head_wind),
    Readout("Strongest across", "m/s", lambda c: float(np.abs(c.winds[2]).max())),
    Readout("Mean speed in this wind", "m/s", _mean_speed("leaves"), model=0.01),
    Readout("Mean speed in still air", "m/s", _mean_speed("still"), model=0.01),
    Readout("Slowest place", "m/s", lambda c: float(c.leaves[1].min())),
    Readout("It is at", "m", lambda c: float(c.places[int(np.argmin(c.leaves[1]))])),
)
RUNAWAY = (
    Readout("Steepest descent, 20 m", "%", lambda c: round(c.runaway.steepest, 4), 100.0),
    Readout("Ends at, on such a hill", "m/s", lambda c: c.runaway.fastest),
    Readout("The same", "km/h", lambda c: c.runaway.fastest, 3.6),
    Readout("On 5 %, still air", "km/h", lambda c: float(np.interp(0.05, c.runaway.slopes, c.runaway.still)), 3.6),
    Readout("On 5 %, tail wind", "km/h", lambda c: float(np.interp(0.05, c.runaway.slopes, c.runaway.tail)), 3.6),
    Readout("This way falls, in all", "m", lambda c: round(c.runaway.fall, 2)),
)
BENDS = (
    Readout("Tips in a 3 m bend at", "m/s", lambda c: c.tipping.tip_at_three),
    Readout("Slides in a 3 m bend at", "m/s", lambda c: c.tipping.slide_at_three),
    Readout("Fastest posted speed", "m/s", lambda c: c.tipping.posted),
    Readout("A wheel lifts at, sideways", "m/s²", lambda c: c.tipping.acceleration),
)


def _stop(which: str) -> Any:
    """The way from the fastest posted speed to rest [m]."""
    def read(c: Any) -> float:
        s = c.stopping
        return float(np.interp(c.tipping.posted, s.speeds, getattr(s, which)))

    return read


STOPS = (
    Readout("Fastest posted speed", "m/s", lambda c: c.tipping.posted),
    Readout("Stops in, on the level", "m", _stop("level")),
    Readout("Of it before the brakes", "m", _stop("reaction")),
    Readout("Stops in, steepest descent", "m", _stop("steep")),
    Readout("Grip allows", "m/s²", lambda c: c.stopping.grip_limit),
    Readout("Brakes give, down there", "N", lambda c: c.stopping.force),
    Readout("Brakes hold, down there", "N", lambda c: c.stopping.hold),
    Readout("Heat of the whole descent", "kJ", lambda c: c.stopping.heat, 1e-3),
)
_AIRY = (ALTITUDE, AIR, HUMID)
_LOADS = ("road.rolling_coefficient", "road.drag_area", "load.cargo")
_FORCE = (SLOPE, WIND, FROM, VOLTS, *_AIRY, *_LOADS)
_ALONG = (WIND, FROM, VOLTS, *_AIRY, *_LOADS)
_FALLS = (*_AIRY, *_LOADS)
_TURNS = (*(k.name for k in TIPS), GRIP.name)


def make_page(route: Route, vehicle: Any) -> Page:
    """The page of the road of this vehicle on this route."""
    tips = TIPS if vehicle.vehicle.wheels != "two in line" else ()  # they lean, and do not tip
    return Page(
        name="02_road", case=case_words(route), knobs=(*_day(vehicle, route), *LOADS, *tips, GRIP), model=_Model(route),
        pictures=(Picture("Force against speed", plots.force_stack, _FORCE, FORCES),
                  Picture("Wind along the way", plots.wind_along, _ALONG, WINDY),
                  Picture("If the brakes fail", plots.runaway, _FALLS, RUNAWAY),
                  Picture("Tip and slide", plots.tipping, _TURNS, BENDS),
                  Picture("Stopping", plots.stopping, (SLOWS, REACTS, GRIP.name), STOPS)),
        readouts=FORCES, outcome=outcome_of, cautions=lambda c: c.cautions,
        frame=lambda v: plots.RoadRanges.around(v, route), widen=lambda ranges, case: ranges.widened(case),
        tables=("vehicle", "load", "store", "motor", "controller", "gearing", "road"))


def open_bench(route: Route | str | Path | None = None, vehicle: Any = None) -> Workbench:
    """The workbench of this page.

    Parameters: `route`, a Route, the name of one or a file, by default the learner's own; `vehicle`, by default the learner's own.
    """
    taken = load_vehicle() if vehicle is None else vehicle
    return on_route(lambda way: make_page(way, taken), route, taken)


def questions(bench: Workbench) -> Questions:
    """The questions of this page about the case on the bench."""
    from evlab.workbench.road_questions import asked

    return Questions(bench, asked())


# ---------------------------------------------------------------- the equations
def worked(vehicle: Any = None, route: Route | str | Path | None = None) -> Worked:
    """The equations of the road, worked with the vehicle's numbers.

    Parameters: `vehicle`, by default the learner's own; `route`, a Route, the name of one or a file, by default the learner's own.
    """
    v: Any = load_vehicle() if vehicle is None else vehicle
    way = route if isinstance(route, Route) else load_route(route)
    slope, speed = max(way.steepest()[1], 0.0), float(way.limits[0][1])
    lead = (f"{v.name}, {setting(round(v.mass, 1), 'kg')} in all, at {setting(round(speed, 2), 'm/s')} on "
            f"{setting(round(100 * slope, 2), '%')}, the steepest of “{way.name}”.")
    return Worked(lead, [*_forces(v, slope, speed), *_air(v), *_rolls(v, speed), *_footing(v, slope, speed)])


def _forces(v: Any, slope: float, speed: float) -> list[Shown]:
    r = v.road
    given = [(road.rolling_force, {"mass": v.mass, "rolling_coefficient": r.rolling_coefficient, "slope": slope, "direction": 1.0}),
             (road.slope_force, {"mass": v.mass, "slope": slope}),
             (road.air_force, {"air_density": r.air_density, "drag_area": r.drag_area, "speed": speed, "head_wind": 5.0})]
    still = dict(given[2][1], head_wind=0.0)
    force = sum(float(e(**values)) for e, values in (*given[:2], (road.air_force, still)))
    against = "Against 5 m/s of wind: the speed through the air is squared, that over ground only makes power of the force."
    return [Shown(e, values, against if e is road.air_force else "") for e, values in given] + [
        Shown(road.wheel_power, {"force": force, "speed": speed}, "Without that wind."),
        Shown(road.energy_per_distance, {"force": force, "chain_efficiency": v.gearing.efficiency}, "In front of the chain."),
        Shown(road.effective_mass, {
            "mass": v.mass, "wheels_rotating_mass": v.vehicle.wheels_rotating_mass, "rotor_inertia": v.motor.inertia,
            "gear_ratio": v.gearing.ratio, "wheel_radius": v.gearing.wheel_radius},
            "A geared rotor counts with its ratio squared.")]


def _air(v: Any) -> list[Shown]:
    warm = 308.15
    return [Shown(road.pressure_at_height, {"altitude": 1000.0}),
            Shown(weather.humid_air_density, {"pressure": float(road.pressure_at_height(0.0)), "relative_humidity": 1.0,
                                              "vapour_pressure": float(weather.vapour_pressure(warm)), "air_temperature": warm},
                  "A hot, damp day: about 2 % lighter than dry air as hot.")]


def _rolls(v: Any, speed: float) -> list[Shown]:
    """Steady speed at a power, coasting, and what happens downhill without brakes."""
    c, factor = v.road.rolling_coefficient, float(coasting.air_factor(v.road.air_density, v.road.drag_area))
    level = float(coasting.constant_force(mass=v.mass, rolling_coefficient=c, slope=0.0))
    down = -float(coasting.constant_force(mass=v.mass, rolling_coefficient=c, slope=-0.05))
    made = [
        Shown(coasting.air_factor, {"air_density": v.road.air_density, "drag_area": v.road.drag_area}),
        Shown(coasting.equilibrium_speed, {"power": 200.0, "air_factor": factor, "constant_force": level},
              "On the level with 200 W at the wheel."),
        Shown(coasting.coasting_distance, {"effective_mass": v.effective_mass, "air_factor": factor, "constant_force": level,
                                           "first_speed": speed, "last_speed": speed / 2},
              "Let it roll until it has half the speed: this way, measured, tells what rolls.")]
    if down > 0:
        made.append(Shown(coasting.terminal_speed, {"driving_force": down, "air_factor": factor}, "On 5 % without brakes."))
    return made


def _footing(v: Any, slope: float, speed: float) -> list[Shown]:
    w = v.vehicle
    tips = footing.tipping_of(w.wheels, w.track, w.mass_height, w.mass_share)
    rows = []
    if math.isfinite(tips):
        share = {"one front, two rear": w.mass_share, "two front, one rear": 1 - w.mass_share}.get(w.wheels, 1.0)
        rows += [Shown(footing.tip_acceleration, {"support_share": share, "track": w.track, "mass_height": w.mass_height}),
                 Shown(footing.tip_speed, {"tip_acceleration": tips, "turn_radius": 3.0},
                       "A bend of 3 m: print it on the handlebar.")]
    rows.append(Shown(footing.slide_speed, {"tyre_grip": w.tyre_grip, "turn_radius": 3.0}))
    axle, part = footing.DRIVEN[w.driven]
    if min(w.wheelbase, w.mass_height, w.mass_share) > 0:
        part = 1.0 if axle == "rear" and w.wheels in ("two in line", "two front, one rear") else part
        push = footing.rear_traction if axle == "rear" else footing.front_traction
        rows.append(Shown(push, {"tyre_grip": w.tyre_grip, "driven_share": part, "mass": v.mass, "mass_share": w.mass_share,
                                 "slope": slope, "mass_height": w.mass_height, "wheelbase": w.wheelbase}, "On that slope."))
    stop = {"speed": speed, "reaction_time": 0.5, "deceleration": 3.0}
    return [*rows, Shown(footing.stopping_distance, stop, "With 3 m/s² of brakes, on the level.")]
