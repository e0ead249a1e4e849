"""The page of gearing: which controls, which model, which pictures, numbers and equations."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np

from evlab import chains, gearing, motor, plots
from evlab.look import setting
from evlab.ratios import GearCase
from evlab.route import Route
from evlab.route_files import load_route
from evlab.vehicle import load_vehicle
from evlab.workbench.bench import Workbench
from evlab.workbench.equations import Shown, Worked
from evlab.workbench.mending import shown_for
from evlab.workbench.page import Day, Knob, Page, Picture, Readout
from evlab.workbench.question import Questions
from evlab.workbench.route_box import case_words, on_route, outcome_of
from evlab.workbench.store_knobs import VOLTS, volts_left

__all__ = ["make_page", "open_bench", "questions", "worked"]

SLOPE, SPEED = "slope", "speed"
FIT = ("gearing.motor_teeth", "gearing.wheel_teeth", "gearing.chain", "gearing.centre_distance")  # the links follow from these

# ---------------------------------------------------------------- the controls
_SPROCKETS, _CHAIN, _DRIVE, _CLIMB = "Sprockets and wheel", "Chain or belt", "Drive", "What it must climb"
FIELDS = (
    Knob("gearing.motor_teeth", _SPROCKETS),
    Knob("gearing.wheel_teeth", _SPROCKETS),
    Knob("gearing.wheel_radius", _SPROCKETS, step=0.005),
    Knob("gearing.chain", _CHAIN),
    Knob("gearing.centre_distance", _CHAIN, low=0.15, high=1.0, step=1, why="wheels that clear each other, to a metre"),
    Knob("gearing.chain_efficiency", _CHAIN, step=1),
    Knob("gearing.freewheel", _CHAIN),
    Knob("controller.coil_current_limit", _DRIVE, log=True),
    Knob("load.cargo", _DRIVE, step=1),
)


def _day(vehicle: Any, route: Route) -> tuple[Knob, ...]:
    """The slope to climb, how fast, and the volts that are left there."""
    start = GearCase(vehicle, route)
    made = (
        Knob(SLOPE, _CLIMB, start=float(f"{start.slope:.3g}"), quantity="slope", label="Slope to climb", place="road", unit="%",
             low=0.0, high=0.3, step=0.5, meaning="slope on which it must still start and keep its speed",
             why="level, to the steepest drive-ways"),
        Knob(SPEED, _CLIMB, start=float(start.speed), quantity="speed", label="Speed on it", place="motion", unit="m/s", low=0.5,
             high=8.0, step=0.1, meaning="speed to be kept on that slope", why="a slow walk, to a quick bicycle"))
    return (*made, *volts_left(_CLIMB, vehicle))


class _Model:
    """The case of the present controls."""

    def __init__(self, route: Route) -> None:
        self.route = route

    def __call__(self, vehicle: Any, day: Day) -> GearCase:
        return GearCase(vehicle, self.route, slope=day[SLOPE], speed=day[SPEED], volts=day.get(VOLTS))


def _cut_to_length(vehicle: Any) -> Any:
    """With other wheels or another distance, a chain of so many links as these take: the file's number goes with them."""
    if not vehicle.gearing.links:
        return vehicle
    free = dataclasses.replace(vehicle.gearing, links=0)
    links = chains.geometry(free, 1.0, 1.0).links  # which depends on neither torque nor speed
    return vehicle if links == vehicle.gearing.links else vehicle.change({"gearing.links": links})


# ---------------------------------------------------------------- the pictures and their numbers
def _hardest(c: Any) -> float:
    forces = c.forces.drive[max(c.forces.drive)][0]
    return float(forces[0])


CLIMBS = (
    Readout("Ratio", "", lambda c: float(c.vehicle.gearing.ratio)),
    Readout("Force at rest, charged", "N", _hardest),
    Readout("Force the slope asks", "N", lambda c: c.needed),
    Readout("Keeps on it, volts left", "m/s", lambda c: c.holds, model=0.01),
    Readout("Restarts on, volts left", "%", lambda c: c.restart, 100.0),
    Readout("Ratio at least", "", lambda c: c.lowest),
    Readout("Ratio at most", "", lambda c: c.bound),
)


def _front(name: str, which: str, factor: float = 1.0) -> Any:
    """One number of the trip with the present sprocket, the thriftiest or the fastest; not a number where none arrives."""
    def read(c: Any) -> float:
        at = getattr(c.front, which)
        return math.nan if at is None else factor * float(getattr(c.front, name)[at])

    return read


FRONT = (
    Readout("Wheel teeth now", "", _front("teeth", "here"), whole=True),
    Readout("Time of the trip", "s", _front("time", "here"), model=0.01),
    Readout("From the store", "kJ", _front("energy", "here", 1e-3), model=0.01),
    Readout("Store at the end", "V", _front("end_volts", "here"), model=0.01),
    Readout("Teeth, least energy", "", _front("teeth", "best"), whole=True),
    Readout("Teeth, least time", "", _front("teeth", "fastest"), whole=True),
    Readout("Ratio at most", "", lambda c: c.bound),
)


def _fit(name: str) -> Any:
    return lambda c: float(getattr(c.geometry, name))


FITS = (
    Readout("Driver, pitch diameter", "mm", _fit("driver_diameter"), 1e3),
    Readout("Wheel, pitch diameter", "mm", _fit("wheel_diameter"), 1e3),
    Readout("Links", "", _fit("links"), whole=True),
    Readout("Axles apart, taut", "mm", _fit("centre_distance"), 1e3),
    Readout("Speed ripple", "%", _fit("ripple"), 100.0),
    Readout("Pull at the coil limit", "N", _fit("tension")),
    Readout("Strength over pull", "", _fit("safety")),
    Readout("Lies on the driver", "°", _fit("wrap"), 180 / math.pi),
    Readout("Free under the chain", "mm", _fit("ground_clearance"), 1e3),
    Readout("Free to the frame", "mm", _fit("frame_clearance"), 1e3),
)
_TEETH = ("gearing.motor_teeth", "gearing.wheel_teeth", "gearing.wheel_radius")
_FORCES = (*_TEETH, "gearing.chain_efficiency", "controller.coil_current_limit", "load.cargo", SLOPE, SPEED, VOLTS)
_TRIP = (*_TEETH, "gearing.chain_efficiency", "gearing.freewheel", "controller.coil_current_limit", "load.cargo", SLOPE, SPEED,
         VOLTS)
_WHEELS = (*FIT, "gearing.wheel_radius")


_UNRIDDEN = SimpleNamespace(time=np.zeros(0), energy=np.zeros(0), arrived=np.zeros(0, bool))


def _widen(ranges: Any, case: Any) -> Any:
    """Axes that hold the case; its two dozen trips count once they are ridden, which only one picture asks for at once."""
    if "front" in vars(case):
        return ranges.widened(case)
    return ranges.widened(SimpleNamespace(front=_UNRIDDEN, forces=case.forces, vehicle=case.vehicle, geometry=case.geometry))


def _told(c: Any) -> str:
    """What the chain and the wheels leave to be said."""
    return " ".join(c.geometry.remarks)


def make_page(route: Route, vehicle: Any) -> Page:
    """The page of gearing of this vehicle on this route."""
    return Page(
        name="05_gearing", case=case_words(route), knobs=(*FIELDS, *_day(vehicle, route)), model=_Model(route),
        pictures=(Picture("Force at falling volts", plots.force_family, _FORCES, CLIMBS),
                  Picture("Time against energy", plots.ratio_front, _TRIP, FRONT),
                  Picture("Chain and wheel", plots.sprockets, _WHEELS, FITS)),
        readouts=CLIMBS, outcome=outcome_of, cautions=lambda c: c.cautions, tell=_told, follow=_cut_to_length,
        frame=lambda v: plots.GearRanges.around(v, route), widen=_widen)


def open_bench(route: Route | str | Path | None = None, vehicle: Any = None) -> Workbench:
    """The workbench of this page.

    Parameters: `route`, a Route, the name of one or a file, by default the learner's own; `vehicle`, by default the learner's own.
    """
    taken = load_vehicle() if vehicle is None else vehicle
    return on_route(lambda way: make_page(way, taken), route, taken)


def questions(bench: Workbench) -> Questions:
    """The questions of this page about the case on the bench."""
    from evlab.workbench.gearing_questions import asked

    return Questions(bench, asked())


# ---------------------------------------------------------------- the equations
def worked(vehicle: Any = None, route: Route | str | Path | None = None) -> Worked:
    """The equations of the gearing, worked with the vehicle's numbers on the steepest part of the route.

    Parameters: `vehicle`, by default the learner's own; `route`, a Route, the name of one or a file, by default the learner's own.
    """
    way = route if isinstance(route, Route) else load_route(route)

    def fitted(v: Any) -> GearCase:
        made = GearCase(v, way)
        _ = made.geometry  # wheels that do not fit are refused here
        return made

    case, whose = shown_for(load_vehicle() if vehicle is None else vehicle, fitted)
    v = case.vehicle
    g, fit = v.gearing, case.geometry
    lead = (f"{whose}: {g.motor_teeth} teeth on {'the shaft' if g.stages == 2 else 'the motor'}, {g.wheel_teeth} on the wheel, "
            f"{fit.chain.name}; on {setting(round(100 * case.slope, 1), '%')} at {setting(round(case.speed, 2), 'm/s')} with "
            f"{setting(round(case.volts, 1), 'V')} left.")
    return Worked(lead, [*_ratio(v, case), *_chain(v, case), *_choice(v, case)])


def _ratio(v: Any, case: Any) -> list[Shown]:
    g = v.gearing
    torque = v.motor.drive_constant * v.controller.coil_current_limit
    force = float(gearing.drive_force(torque, g.ratio, g.efficiency, g.wheel_radius))
    rows = [Shown(gearing.gear_ratio, {"wheel_teeth": g.wheel_teeth, "motor_teeth": g.motor_teeth})]
    if g.stages == 2:
        rows += [Shown(gearing.two_stage_ratio, {"first_ratio": g.shaft_ratio, "second_ratio": g.wheel_teeth / g.motor_teeth}),
                 Shown(gearing.two_stage_efficiency, {"first_efficiency": g.chain_efficiency,
                                                      "second_efficiency": g.chain_efficiency})]
    rows += [Shown(gearing.motor_speed, {"gear_ratio": g.ratio, "speed": case.speed, "wheel_radius": g.wheel_radius}),
             Shown(gearing.drive_force, {"shaft_torque": torque, "gear_ratio": g.ratio, "chain_efficiency": g.efficiency,
                                         "wheel_radius": g.wheel_radius}, "At the coil current limit, the motor's drag left out.")]
    if force < v.mass * 9.8:
        rows.append(Shown(gearing.gradeability, {"drive_force": force, "mass": v.mass,
                                                 "rolling_coefficient": v.road.rolling_coefficient},
                          "With this force: on what slope does it start?"))
    return rows


def _chain(v: Any, case: Any) -> list[Shown]:
    g, fit = v.gearing, case.geometry
    pitch, belt = fit.chain.pitch, fit.chain.kind == "belt"
    diameter = chains.belt_pitch_diameter if belt else chains.chain_pitch_diameter
    rows = [Shown(diameter, {"chain_pitch": pitch, "teeth": g.motor_teeth}, "The driver."),
            Shown(diameter, {"chain_pitch": pitch, "teeth": g.wheel_teeth}, "The wheel's."),
            Shown(chains.chain_links, {"centre_distance": fit.centre_distance, "chain_pitch": pitch, "driver_teeth": g.motor_teeth,
                                       "driven_teeth": g.wheel_teeth}, "Taken up to an even number, or it needs a cranked link.")]
    if not belt:
        rows.append(Shown(chains.ripple, {"driver_teeth": g.motor_teeth}))
    shaft = fit.tension * fit.driver_diameter / 2
    rows.append(Shown(chains.chain_tension, {"shaft_torque": shaft, "driver_diameter": fit.driver_diameter},
                      "At the coil current limit."))
    if fit.chain.tensile:
        rows.append(Shown(chains.chain_safety, {"tensile_strength": fit.chain.tensile, "chain_tension": fit.tension}))
    return rows


def _choice(v: Any, case: Any) -> list[Shown]:
    """The two ends of a good ratio: what heats least, and what the falling volts leave."""
    g, m, c = v.gearing, v.motor, v.controller
    hot = float(motor.winding_resistance_hot(m.resistance, v.road.air_temperature)) + c.bridge_resistance
    turning = float(gearing.motor_speed(g.ratio, case.speed, g.wheel_radius))
    drag = float(motor.motor_drag(m.drag_torque, m.viscous_drag, turning, 1.0))
    shaft = case.needed * g.wheel_radius / (g.ratio * g.efficiency)
    amps = (shaft + drag) / m.drive_constant
    rows = [Shown(gearing.ratio_bound, {"duty": c.duty_limit, "voltage": case.volts, "motor_current": amps, "drive_resistance": hot,
                                        "wheel_radius": g.wheel_radius, "motor_constant": m.drive_constant, "speed": case.speed},
                  "Above it the motor's own volts leave no room for the amps: choose on the volts at the end of the trip.")]
    if m.viscous_drag and case.needed > 0:
        rows.append(Shown(gearing.best_ratio, {
            "wheel_radius": g.wheel_radius, "drive_force": case.needed, "drive_resistance": hot, "viscous_drag": m.viscous_drag,
            "chain_efficiency": g.efficiency, "motor_constant": m.drive_constant, "speed": case.speed},
            "Far above the bound, as a rule: the least heat is not what limits."))
    return rows
