"""The page of the ride: which controls, which model, which pictures, numbers and equations."""

from __future__ import annotations

import dataclasses
import math
from functools import lru_cache
from pathlib import Path
from typing import Any

from evlab import controller, gearing, motor, road, store
from evlab.cold_day import in_air
from evlab.comparing import Comparison, compare
from evlab.demands import PowerHeld
from evlab.driver import ThrottleHeld
from evlab.glossary import entry
from evlab.look import Build, setting
from evlab.plots import Ranges, compared_strips, ledger_growth, ledger_rulers, strip_chart, why_it_ended
from evlab.ride_case import RideCase, warmed
from evlab.riding import ride
from evlab.route import Route
from evlab.route_files import load_route
from evlab.units import read
from evlab.vehicle import load_vehicle
from evlab.winds import WindAlong
from evlab.workbench.band_box import BandBox
from evlab.workbench.bench import Workbench
from evlab.workbench.equations import Shown, Worked
from evlab.workbench.page import Day, Knob, Page, Picture, Readout
from evlab.workbench.question import Questions
from evlab.workbench.route_box import case_words, on_route
from evlab.workbench.store_knobs import charged_to, supply_volts

__all__ = ["chain", "make_page", "open_bench", "questions"]

START, WIND, CHANGE, PLACE, WARMER, AIR = "start_share", "head_wind", "wind_change", "wind_place", "warmer", "air_today"
DEMAND, THROTTLE, POWER = "demand", "throttle", "power"


# ---------------------------------------------------------------- the controls
def _share_of_volts(text: str, vehicle: Any) -> float | None:
    """'22 V' as a share of the charge, which goes with the volts; None for anything else."""
    if not text.strip().endswith("V"):
        return None
    return read(text, entry("open_voltage"), "Charge at the start").value / float(vehicle.store.charge_voltage)


_VEHICLE, _DEMAND, _DAY = "Vehicle", "What is asked", "The day"
BOTH = ("posted speeds", "throttle", "power")
POSTED, THROTTLE_HELD, POWER_HELD = BOTH
KNOBS = (
    charged_to(_VEHICLE),
    supply_volts(_VEHICLE),
    Knob("store.cell_capacitance", _VEHICLE, log=True),
    Knob("controller.coil_current_limit", _VEHICLE, log=True),
    Knob("controller.braking_current_limit", _VEHICLE),
    Knob("gearing.wheel_teeth", _VEHICLE),
    Knob(DEMAND, _DEMAND, start=POSTED, quantity="demand"),
    Knob("driver.pace", _DEMAND, step=5, when=lambda day: day[DEMAND] == POSTED),
    Knob(
        THROTTLE,
        _DEMAND,
        start=0.6,
        quantity="driver.share",
        label="Throttle",
        place="motion",
        unit="%",
        low=0.0,
        high=1.0,
        step=5,
        meaning="share of the coil current limit, held all the way, and no brake",
        why="shut, to all there is",
        when=lambda day: day[DEMAND] == THROTTLE_HELD,
    ),
    Knob(
        POWER,
        _DEMAND,
        start=250.0,
        quantity="driver.power",
        label="Power",
        place="motion",
        unit="W",
        low=0.0,
        high=1500.0,
        step=10,
        meaning="what the bridge takes from the store all the way, stand-by included",
        why="stand-by, to a strong climb",
        when=lambda day: day[DEMAND] == POWER_HELD,
    ),
    Knob("driver.pedalling_power", _DEMAND, step=5),
    Knob("load.cargo", _DAY, step=1),
    Knob("road.rolling_coefficient", _DAY, step=0.001),
    Knob("road.drag_area", _DAY, step=0.05),
    Knob(
        WIND,
        _DAY,
        start=0.0,
        quantity="head_wind",
        label="Head wind",
        place="road",
        unit="m/s",
        low=-8.0,
        high=12.0,
        step=0.5,
        meaning="wind against the way of travel; below zero it pushes",
        why="12 m/s is a strong breeze; nobody rides a box in more",
    ),
    Knob(
        CHANGE,
        _DAY,
        start=0.0,
        quantity="head_wind",
        label="Second wind by",
        place="road",
        unit="m/s",
        low=-8.0,
        high=8.0,
        step=0.5,
        meaning="by so much the head wind changes behind a place on the way, such as the end of a row of houses",
        why="shelter, to the open field",
    ),
    Knob(
        WARMER,
        _DAY,
        start=0.0,
        quantity="steady_rise",
        label="Winding warmer by",
        place="motor",
        unit="K",
        low=0.0,
        high=80.0,
        step=1,
        meaning="so much warmer than the air is the winding at the start: from the ride before",
        why="rested, to just ridden hard",
    ),
)
START_KNOB = Knob(
    START, _DAY, start=1.0, quantity="usable_share", label="Charge at the start", place="store", unit="%", low=0.02, high=1.0,
    step=1, also=_share_of_volts, meaning="share of the full charge when the ride begins; volts may be typed too, such as 22 V",
    why="from all but empty to charged")


def _place(route: Route) -> Knob:
    """Where the second wind begins."""
    return Knob(
        PLACE,
        _DAY,
        start=round(route.length / 2, 1),
        quantity="distance",
        label="from",
        place="road",
        unit="m",
        low=0.0,
        high=route.length,
        step=max(1, round(route.length / 100)),
        meaning="place on the way from which the second wind blows",
        why="start to end of the way",
        when=lambda day: day[CHANGE] != 0,
    )


def _air(kelvin: float) -> Knob:
    """The temperature of the air on this day; it starts with the vehicle file's."""
    return Knob(
        AIR, _DAY, start=kelvin, quantity="air_temperature", label="Air", place="outside", unit="°C", low=min(253.15, kelvin),
        high=max(313.15, kelvin), step=1, why="a hard frost to a hot day",
        meaning="cold air is denser, cold tyres roll harder, cold cells have more ohms, a cold winding has less: all of it follows")


def _model(route: Route) -> Any:
    def model(vehicle: Any, day: Day) -> Any:
        vehicle = in_air(vehicle, day.get(AIR, vehicle.road.air_temperature))
        warm = vehicle.road.air_temperature + day[WARMER] if day[WARMER] else None
        return ride(vehicle, route, start=_start(vehicle, day), wind=_wind(route, day), driver=_driver(vehicle, day), winding=warm)

    return model


def _start(vehicle: Any, day: Day) -> float | None:
    share = day.get(START, 1.0)
    return None if share == 1.0 or vehicle.store.kind == "supply" else share * vehicle.store.charge_voltage


def _wind(route: Route, day: Day) -> float | WindAlong:
    """One head wind, or a second one from its place on."""
    if day[CHANGE] == 0 or not 0 < day[PLACE] < route.length:
        return float(day[WIND] + (day[CHANGE] if day[PLACE] <= 0 else 0.0))
    return WindAlong([(0.0, day[WIND]), (day[PLACE], day[WIND] + day[CHANGE])])


def _driver(vehicle: Any, day: Day) -> Any:
    """The vehicle's own driver, or a throttle or a power held."""
    legs = vehicle.driver.pedalling_power
    if day[DEMAND] == THROTTLE_HELD:
        return ThrottleHeld(day[THROTTLE], legs)
    return PowerHeld(day[POWER], "store", legs) if day[DEMAND] == POWER_HELD else None


# ---------------------------------------------------------------- more pictures of one ride
@lru_cache(maxsize=4)
def _asked(result: Any) -> RideCase:
    """The case of a ride, kept while it is on view or pinned."""
    return RideCase.around(result)


@lru_cache(maxsize=4)
def _beside(result: Any) -> Comparison:
    """The ride beside that of the same vehicle with another kind of store."""
    v = result.vehicle
    other, label = ("two_shed_trike", "with a bank") if v.store.kind == "lithium" else ("kick_scooter", "with lithium")
    driver = None if result.driver is v.driver else result.driver
    swapped = ride(_swapped(v, load_vehicle(other)), result.route, wind=result.wind, driver=driver, winding=warmed(result))
    return compare({"as it is": result, label: swapped})


def _swapped(v: Any, donor: Any) -> Any:
    """With the other's store and the stop volts that go with it: those of a bank let lithium cells fall so low that they are
    harmed."""
    stops = {f"controller.{name}": getattr(donor.controller, name) for name in ("stop_voltage", "resume_voltage")}
    return v.with_store(donor).change(stops)


def _for_both(ranges: Ranges, way: Route) -> Ranges:
    """Axes that hold our stores beside the reader's own."""
    most = max(Ranges.around(load_vehicle(name), way).volts[1] for name in ("two_shed_trike", "kick_scooter"))
    return dataclasses.replace(ranges, volts=(ranges.volts[0], max(ranges.volts[1], most)))


def _of(turn: Any, build: Build) -> Build:
    """A picture that takes something made of the result."""

    def made(figure: Any, look: Any) -> Any:
        update = build(figure, look)
        return lambda result, pinned=None: update(turn(result), None if pinned is None else turn(pinned))

    return made


# ---------------------------------------------------------------- the axes
def _widen(ranges: Ranges, result: Any) -> Ranges:
    """The same ranges while every curve lies inside; else those that must be are made a quarter wider than the curve."""
    columns = {"speed": ("speed",), "volts": ("store_volts",), "amps": ("motor_amps", "store_amps"), "coil": ("coil_temperature",)}
    changed: dict[str, Any] = {}
    for axis, names in columns.items():
        low, high = getattr(ranges, axis)
        least, most = (f(f(result.column(n)) for n in names) for f in (min, max))
        if least < low or most > high:
            changed[axis] = (_wider(low, least, high), _wider(high, most, low))
    given = sum(v for v in result.ledger.values() if v > 0)
    if given > ranges.energy:
        changed["energy"] = _wider(ranges.energy, given, 0.0)
    return dataclasses.replace(ranges, **changed) if changed else ranges


def _wider(edge: float, reached: float, other: float) -> float:
    """An edge of an axis, moved out if a curve has passed it; `other` is the opposite edge (kelvins begin far from zero)."""
    beyond = reached < edge if edge < other else reached > edge
    return float(f"{float(reached) + 0.25 * (float(reached) - other):.3g}") if beyond else edge


# ---------------------------------------------------------------- the page
READOUTS = (
    Readout("Way done", "m", lambda r: r.distance),
    Readout("Time", "s", lambda r: r.duration, model=0.01),
    Readout("Store at the end", "V", lambda r: r.end_voltage, model=0.01),
    Readout("From the store", "kJ", lambda r: r.ledger["store"], 1e-3, model=0.01),
    Readout("Motor amps, top", "A", lambda r: float(r.column("motor_amps").max()), model=0.01),
    Readout("Store amps, top", "A", lambda r: float(r.column("store_amps").max()), model=0.01),
    Readout("Coil at the end", "°C", lambda r: float(r.column("coil_temperature")[-1]), offset=-273.15),
)


def make_page(route: Any = "two_sheds_up", kind: str = "capacitors", air: float = 293.15) -> Page:
    """The page of a ride on this route.

    Parameters: `route`, a Route or the name of one; `kind`, of the store, since a supply has no charge to start from; `air` [K],
    its temperature in the vehicle file.
    """
    way = load_route(route) if isinstance(route, str) else route
    return Page(
        name="06_ride", case=case_words(way),
        knobs=(*KNOBS, _air(air), _place(way), *(() if kind == "supply" else (START_KNOB,))),
        model=_model(way),
        pictures=(Picture("Along the way", lambda ranges: strip_chart(way, ranges)),
                  Picture("Where the energy went", lambda ranges: ledger_rulers()),
                  Picture("Energy, metre by metre", lambda ranges: ledger_growth(way, ranges)),
                  Picture("Why it ended", lambda ranges: _of(_asked, why_it_ended(way)), costly=True),
                  Picture("One against another", lambda ranges: _of(_beside, compared_strips(way, _for_both(ranges, way))))),
        readouts=READOUTS,
        outcome=lambda r: ("ok" if r.outcome == "arrived" else "danger", r.outcome),
        cautions=lambda r: r.cautions,
        tell=lambda r: "" if r.outcome == "arrived" else f"{r.reason} {r.aftermath}".strip(),
        frame=lambda vehicle: Ranges.around(vehicle, way), widen=_widen)


def open_bench(route: Route | str | Path | None = None, vehicle: Any = None) -> Workbench:
    """The workbench of this page.

    Parameters: `route`, a Route, the name of one or a file, by default the learner's own; `vehicle`, by default the learner's own.
    """
    taken = load_vehicle() if vehicle is None else vehicle
    bench = on_route(lambda way: make_page(way, taken.store.kind, taken.road.air_temperature), route, taken)
    BandBox(bench, lambda result: _start(result.vehicle, bench.day))
    return bench


def questions(bench: Workbench) -> Questions:
    """The questions of this page about the case on the bench."""
    from evlab.workbench.ride_questions import asked

    return Questions(bench, asked(bench.page))


# ---------------------------------------------------------------- the equations
def chain(vehicle: Any = None, route: Route | str | Path | None = None) -> Worked:
    """The chain of a ride from the road to the store, worked with the vehicle's numbers on the steepest stretch.

    Parameters: `vehicle`, by default the learner's own; `route`, a Route, the name of one or a file, by default the learner's own.
    """
    v = load_vehicle() if vehicle is None else vehicle
    way = route if isinstance(route, Route) else load_route(route)
    slope, speed = _steepest(way)
    lead = (f"One moment of the ride, worked from the road to the store: {v.name}, {setting(round(v.mass, 1), 'kg')} in all, "
            f"on the steepest stretch of “{way.name}” ({setting(round(100 * slope, 2), '%')}) at a steady "
            f"{setting(round(speed, 2), 'm/s')}, winding at {setting(round(v.road.air_temperature - 273.15, 1), '°C')}, no wind.")
    return Worked(lead, [*_road(v, slope, speed), *_drive(v, slope, speed)])


def _steepest(way: Route) -> tuple[float, float]:
    """The slope that is steepest uphill (else the steepest), and the posted speed there."""
    at = int(max(range(len(way.nodes)), key=lambda i: way.slopes[i]))
    posted = [v for place, v in way.limits if place <= way.nodes[at]]
    return float(way.slopes[at]), float(posted[-1])


def _road_values(v: Any, slope: float, speed: float) -> list[tuple[Any, dict[str, float]]]:
    return [
        (road.slope_force, {"mass": v.mass, "slope": slope}),
        (road.rolling_force, {"mass": v.mass, "rolling_coefficient": v.road.rolling_coefficient, "slope": slope, "direction": 1.0}),
        (road.air_force, {"air_density": v.road.air_density, "drag_area": v.road.drag_area, "speed": speed, "head_wind": 0.0}),
        (road.bearing_force, {"bearing_force_at_rest": v.road.bearing_force, "bearing_drag": v.road.bearing_drag,
                              "speed": speed, "direction": 1.0})]


def _road(v: Any, slope: float, speed: float) -> list[Shown]:
    values = _road_values(v, slope, speed)
    shown = [Shown(equation, given) for equation, given in values if equation is not road.bearing_force or v.road.bearing_force
             or v.road.bearing_drag]
    force = _force(v, slope, speed)
    mass = {"mass": v.mass, "wheels_rotating_mass": v.vehicle.wheels_rotating_mass, "rotor_inertia": v.motor.inertia,
            "gear_ratio": v.gearing.ratio, "wheel_radius": v.gearing.wheel_radius}
    return [*shown, Shown(road.wheel_power, {"force": force, "speed": speed}, "The forces above, added up, times the speed."),
            Shown(road.effective_mass, mass, "At a steady speed it costs nothing; what is left of the force over the road's "
                                             "forces, divided by it, is the acceleration.")]


def _force(v: Any, slope: float, speed: float) -> float:
    return math.fsum(float(equation(**given)) for equation, given in _road_values(v, slope, speed))


def _drive(v: Any, slope: float, speed: float) -> list[Shown]:
    force = _force(v, slope, speed)
    g, m, c = v.gearing, v.motor, v.controller
    turning = float(gearing.motor_speed(g.ratio, speed, g.wheel_radius))
    drag = {"drag_torque": m.drag_torque, "viscous_drag": m.viscous_drag, "motor_speed": turning, "direction": 1.0}
    shaft = force * g.wheel_radius / (g.ratio * g.efficiency)
    dragging = float(motor.motor_drag(**drag))
    amps = (shaft + dragging) / m.drive_constant
    emf = float(motor.back_emf(m.drive_constant, turning))
    hot = float(motor.winding_resistance_hot(m.resistance, v.road.air_temperature))
    ohm = hot + c.bridge_resistance
    power = float(controller.bus_power(amps, emf, ohm, c.standby_power))
    rows = [
        Shown(gearing.motor_speed, {"gear_ratio": g.ratio, "speed": speed, "wheel_radius": g.wheel_radius}),
        Shown(gearing.drive_force, {"shaft_torque": shaft, "gear_ratio": g.ratio, "chain_efficiency": g.efficiency,
                                    "wheel_radius": g.wheel_radius}, "Solved for the torque that the road asks of the shaft."),
        Shown(motor.shaft_torque, {"motor_constant": m.drive_constant, "motor_current": amps, "motor_drag": dragging},
              "Solved for the coil current: no volts of the store stand in it."),
        Shown(motor.back_emf, {"motor_constant": m.drive_constant, "motor_speed": turning}),
        Shown(controller.bus_power, {"motor_current": amps, "back_emf": emf, "drive_resistance": ohm,
                                     "standby_power": c.standby_power})]
    return rows + _store(v, power)


def _store(v: Any, power: float) -> list[Shown]:
    full, ohm = v.store.full_voltage, v.store.resistance
    rows = []
    if full**2 > 4 * ohm * power:
        rows = [Shown(store.voltage_under_power, {"open_voltage": full, "store_resistance": ohm, "store_power": power},
                      "The current of the store is the power over these volts: it climbs as they fall.")]
    if v.store.kind == "capacitors":
        rows.append(Shown(store.usable_energy, {"capacitance": v.store.capacitance, "first_voltage": full,
                                                "last_voltage": v.controller.stop_voltage},
                          "From charged down to the stop volts: the square makes the last volts poor."))
    return rows
