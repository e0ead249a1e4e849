"""The page of regeneration: which controls, which model, which pictures, numbers and equations."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from evlab import gearing, motor, plots, regeneration
from evlab.look import Build, setting
from evlab.regen_case import DIODE, RegenCase
from evlab.route import Route
from evlab.route_files import load_route
from evlab.vehicle import load_vehicle
from evlab.workbench.bench import Workbench
from evlab.workbench.equations import Shown, Worked
from evlab.workbench.page import Day, Knob, Page, Picture, Readout
from evlab.workbench.question import Questions
from evlab.workbench.route_box import case_words, on_route, outcome_of
from evlab.workbench.store_knobs import VOLTS, charged_to, volts_left

__all__ = ["make_page", "open_bench", "questions", "worked"]

FREE = "Your vehicle has a freewheel, through which nothing comes back: here it is shown as if it had none."
SPEED, SLOPE, SLOWING, LEGS = "speed", "slope", "deceleration", "legs"

# ---------------------------------------------------------------- the controls
_MOTOR, _VEHICLE, _DAY = "Motor and controller", "Vehicle", "The descent, the stop, the legs"
LIMIT, STANDBY, DRAG, VISCOUS = ("controller.braking_current_limit", "controller.standby_power", "motor.drag_torque",
                                 "motor.viscous_drag")
CONSTANT, OHMS, TEETH, CARGO = "motor.constant", "motor.resistance", "gearing.wheel_teeth", "load.cargo"
FULL = "store.charge_voltage"
FIELDS = (
    Knob(LIMIT, _MOTOR, low=0.0, high=100.0, step=1, why="none, to more than most coils bear for long"),
    Knob(CONSTANT, _MOTOR, log=True),
    Knob(OHMS, _MOTOR, log=True),
    Knob(DRAG, _MOTOR, step=0.01, high=1.0, why="ball bearings, to seals that rub"),
    Knob(VISCOUS, _MOTOR, step=0.0005, high=0.02, why="little, to plates close to the magnets"),
    Knob(STANDBY, _MOTOR, step=0.5),
    charged_to(_VEHICLE),
    Knob(TEETH, _VEHICLE),
    Knob(CARGO, _VEHICLE, step=1),
)


def _day(vehicle: Any, route: Route) -> tuple[Knob, ...]:
    """Speed, slope, slowing, legs and the volts of the moment."""
    start = RegenCase(_turning(vehicle), route)
    made = (
        Knob(
            SPEED,
            _DAY,
            start=start.speed,
            quantity="speed",
            label="Speed",
            place="motion",
            unit="m/s",
            low=0.1,
            high=12.0,
            step=0.1,
            meaning="speed at which it brakes",
            why="a crawl, to a fast bicycle",
        ),
        Knob(
            SLOPE,
            _DAY,
            start=float(f"{start.slope:.3g}"),
            quantity="slope",
            label="Slope downhill",
            place="road",
            unit="%",
            low=0.0,
            high=0.2,
            step=0.5,
            meaning="slope of the steady descent",
            why="level, to the steepest drive-ways",
        ),
        Knob(
            SLOWING,
            _DAY,
            start=1.0,
            quantity="deceleration",
            label="Slows by",
            place="motion",
            unit="m/s²",
            low=0.2,
            high=4.0,
            step=0.1,
            meaning="steady slowing of one stop on the level",
            why="rolling out, to hard braking",
        ),
        Knob(
            LEGS,
            _DAY,
            start=80.0,
            quantity="driver.pedalling_power",
            label="At the pedals",
            place="outside",
            unit="W",
            low=0.0,
            high=400.0,
            step=5,
            meaning="power of the legs on a raised wheel",
            why="nobody, to a sprint; 100 W hold for an hour",
        ),
    )
    return (*made, *volts_left(_DAY, vehicle))


class _Model:
    """The case of the present controls."""

    def __init__(self, route: Route) -> None:
        self.route = route

    def __call__(self, vehicle: Any, day: Day) -> RegenCase:
        volts = min(day[VOLTS], float(vehicle.store.charge_voltage))
        return RegenCase(_turning(vehicle), self.route, speed=day[SPEED], slope=day[SLOPE], volts=volts, deceleration=day[SLOWING],
                         pedalling=day[LEGS])


# ---------------------------------------------------------------- the numbers
CURRENTS = (
    Readout("Back-EMF", "V", lambda c: c.here.emf, model=0.01),
    Readout("Most comes back at", "A", lambda c: c.here.best_amps, model=0.01),
    Readout("which is", "W", lambda c: c.here.most, model=0.02),
    Readout("Costs from", "A", lambda c: c.here.zero_amps[1], model=0.01),
    Readout("At the braking limit", "W", lambda c: c.here.at_limit, model=0.02),
    Readout("Nothing comes back below", "m/s", lambda c: c.region.least_speed, model=0.02),
)
FORCES = (
    Readout("The slope asks", "N", lambda c: float(c.needed(c.speed)), model=0.02),
    Readout("The motor holds at most", "N", lambda c: float(c.force_of(c.most_amps(c.speed), c.speed)), model=0.02),
    Readout("It pays from", "m/s", lambda c: c.region.least_speed, model=0.02),
    Readout("The limit fades below", "m/s", lambda c: c.region.fading_speed, model=0.02),
    Readout("The diodes conduct from", "m/s", lambda c: c.region.diode_speed, model=0.02),
    Readout("A wet driven wheel holds", "N", lambda c: c.grip(0.35), model=0.1),
)


def _pays(c: RegenCase) -> float:
    """Share of the next start that a stop pays; not a number where the motor cannot start to that speed again."""
    return c.stop.into_store / c.start_takes(c.speed) if c.speed <= c.no_load else math.nan


STOPS = (
    Readout("Energy of motion", "J", lambda c: c.stop.kinetic, model=0.01),
    Readout("Comes back (at the bridge)", "J", lambda c: c.stop.into_store, model=0.03),
    Readout("Share that comes back", "%", lambda c: c.stop.share, 100.0, model=0.03),
    Readout("Into friction", "J", lambda c: c.stop.into_friction, model=0.03),
    Readout("Pays of the next start", "%", _pays, 100.0),
)
DESCENTS = (
    Readout("Brakes must hold", "N", lambda c: float(c.needed(c.speed)), model=0.02),
    Readout("Comes back of the height", "%", lambda c: c.descent.here, 100.0, model=0.03),
    Readout("At best", "%", lambda c: c.descent.best_share, 100.0, model=0.03),
    Readout("at", "m/s", lambda c: math.nan if c.descent.rising else c.descent.best_speed, model=0.03),
    Readout("Rolls unbraked to", "m/s", lambda c: c.rolls, model=0.05),
)
ROOM = (
    Readout("Falls", "m", lambda c: c.full.height),
    Readout("Comes back, begun empty", "kJ", lambda c: c.full.gain, 1e-3, model=0.03),
    Readout("Begin at most at", "V", lambda c: c.full.start_volts or math.nan, model=0.01),
    Readout("Friction takes, begun full", "kJ", lambda c: -c.full.full_down.ledger["brake"], 1e-3, model=0.03),
)


def _hill(read: Any) -> Any:
    return lambda c: math.nan if c.hill is None else float(read(c.hill))


def _ratio(index: int) -> Any:
    return _hill(lambda h: h.ratios[index].value if index < len(h.ratios) else math.nan)


HILL = (
    Readout("Height energy", "kJ", _hill(lambda h: h.lift), 1e-3),
    Readout("The store gained", "kJ", _hill(lambda h: h.put_back), 1e-3, model=0.03),
    Readout("Came back up", "m", _hill(lambda h: h.way_back), model=0.03),
    Readout("of the way", "%", _hill(lambda h: h.share_of_way), 100.0, model=0.03),
    Readout("Gained over height", "%", _ratio(0), 100.0, model=0.03),
    Readout("Gained over climb", "%", _ratio(1), 100.0, model=0.03),
    Readout("Saved, round trip", "%", _ratio(2), 100.0, model=0.03),
)
PEDALS = (
    Readout("Into the store, at best", "W", lambda c: c.pedalling.best, model=0.03),
    Readout("with the tyre at", "m/s", lambda c: c.pedalling.best_speed, model=0.05),
    Readout("One volt takes", "min", lambda c: c.pedalling.minutes_per_volt, model=0.03),
)


# ---------------------------------------------------------------- the pictures
def _of_hill(build_of: Any) -> Any:
    """A picture of the case's hill test; words where the way has no hill."""

    def at(ranges: Any) -> Build:
        build = build_of(ranges)

        def made(figure: Any, look: Any) -> Any:
            update = build(figure, look)

            def told(case: Any, pinned: Any = None) -> tuple[str, str]:
                if case.hill is None:
                    words = ("On this way it nowhere rolls by itself: there is no hill to test. Choose another way, or a lighter "
                             "tyre.")
                    return words, words
                words = update(case.hill, None if pinned is None else pinned.hill)
                return str(words[0]), str(words[1])

            return told

        return made

    return at


_BRAKE = (LIMIT, CONSTANT, OHMS, STANDBY, TEETH)
_FREE = (CONSTANT, OHMS, STANDBY, DRAG, VISCOUS, TEETH, CARGO)  # where the limit seldom binds
_RIDDEN = (LIMIT, CONSTANT, OHMS, STANDBY, DRAG, VISCOUS, TEETH, CARGO)


def _pictures() -> tuple[Picture, ...]:
    return (
        Picture("Recovered power", plots.recovered_power, (*_BRAKE, SPEED), CURRENTS),
        Picture("Where it pays", plots.braking_regions, (*_RIDDEN, SPEED, SLOPE, VOLTS), FORCES),
        Picture("One stop", plots.blending, (LIMIT, CONSTANT, OHMS, DRAG, VISCOUS, TEETH, CARGO, SPEED, SLOWING), STOPS),
        Picture("Stop and go", plots.stop_and_go, (*_FREE, FULL, SPEED, SLOWING), STOPS),
        Picture("Steady descent", plots.steady_descent, (*_FREE, SPEED, SLOPE), DESCENTS),
        Picture("Full store", plots.full_descent, (*_RIDDEN, FULL), ROOM, widens=False),
        Picture("Hill test", _of_hill(plots.hill_round), (*_RIDDEN, FULL), HILL, widens=False),
        Picture("Drag and share", _of_hill(plots.drag_share), (OHMS, STANDBY, DRAG, VISCOUS, TEETH, CARGO), HILL, widens=False),
        Picture("Charging by pedalling", plots.pedal_charge, (CONSTANT, OHMS, STANDBY, DRAG, VISCOUS, TEETH, LEGS),
                PEDALS))  # fmt: skip


def make_page(route: Route, vehicle: Any) -> Page:
    """The page of regeneration of this vehicle on this route, of which the way down is ridden."""
    return Page(
        name="08_regeneration", case=case_words(route), knobs=(*FIELDS, *_day(vehicle, route)), model=_Model(route),
        pictures=_pictures(), readouts=CURRENTS, outcome=outcome_of, cautions=lambda c: c.cautions,
        tell=lambda c: FREE if vehicle.gearing.freewheel else "",
        frame=lambda v: plots.RegenRanges.around(_turning(v), route), widen=lambda ranges, case: ranges.widened(case))


def open_bench(route: Route | str | Path | None = None, vehicle: Any = None) -> Workbench:
    """The workbench of this page.  A freewheel is left out in what it shows: with it nothing comes back.

    Parameters: `route`, a Route, the name of one or a file, by default the learner's own; `vehicle`, by default the learner's own.
    """
    taken = load_vehicle() if vehicle is None else vehicle
    return on_route(lambda way: make_page(way, taken), route, taken)


def _turning(vehicle: Any) -> Any:
    return vehicle.change({"gearing.freewheel": False}) if vehicle.gearing.freewheel else vehicle


def questions(bench: Workbench) -> Questions:
    """The questions of this page about the case on the bench."""
    from evlab.workbench.regeneration_questions import asked

    return Questions(bench, asked())


# ---------------------------------------------------------------- the equations
def worked(vehicle: Any = None, route: Route | str | Path | None = None) -> Worked:
    """The equations of regeneration, worked with the vehicle's numbers on the descent of the route.

    Parameters: `vehicle`, by default the learner's own; `route`, a Route, the name of one or a file, by default the learner's own.
    """
    v: Any = _turning(load_vehicle() if vehicle is None else vehicle)
    case = RegenCase(v, route if isinstance(route, Route) else load_route(route))
    lead = (f"{v.name} at {setting(round(case.speed, 2), 'm/s')}, down {setting(round(100 * case.slope, 1), '%')}, winding at "
            f"{setting(round(v.road.air_temperature - 273.15, 1), '°C')}, {setting(round(case.volts, 1), 'V')} in the store.")
    return Worked(lead, [*_power(v, case), *_speeds(v, case), *_descent(v, case), *_ratios(case)])


def _power(v: Any, case: RegenCase) -> list[Shown]:
    emf, p0, turning = case.here.emf, v.controller.standby_power, float(case.turning(case.speed))
    given = {"back_emf": emf, "drive_resistance": case.ohm, "standby_power": p0}
    amps = min(case.limit_amps, case.here.best_amps)
    rows = [
        Shown(motor.back_emf, {"motor_constant": v.motor.drive_constant, "motor_speed": turning}),
        Shown(
            regeneration.recovered_power, {**given, "braking_current": amps}, "At the braking limit, or at E/2R where that is less."
        ),
        Shown(
            regeneration.best_braking_current,
            {"back_emf": emf, "drive_resistance": case.ohm},
            "Half of all that is braked is then heat in the copper.",
        ),
        Shown(regeneration.most_recovered_power, given),
    ]
    if case.here.most > 0:
        rows.append(Shown(regeneration.most_paying_current, given, "Beyond it the store pays for braking."))
    return rows


def _speeds(v: Any, case: RegenCase) -> list[Shown]:
    k, m = v.motor.drive_constant, v.motor
    line = float(m.peak_constant)
    turning = {"gear_ratio": v.gearing.ratio, "speed": case.speed, "wheel_radius": v.gearing.wheel_radius}
    rows = [Shown(gearing.motor_speed, turning)]
    if v.controller.standby_power > 0:
        rows.append(
            Shown(
                regeneration.paying_speed,
                {"drive_resistance": case.ohm, "standby_power": v.controller.standby_power, "motor_constant": k},
                f"On the road {setting(round(case.region.least_speed, 3), 'm/s')}.",
            )
        )
    rows += [
        Shown(
            regeneration.fading_speed,
            {"braking_current": case.limit_amps, "drive_resistance": case.ohm, "motor_constant": k},
            f"On the road {setting(round(case.region.costing_speed, 2), 'm/s')}. This drive never brakes harder than E/2R, where "
            f"most comes back. So the brake fades below twice that, {setting(round(case.region.fading_speed, 2), 'm/s')}, and at "
            "rest it holds nothing.",
        ),
        Shown(
            regeneration.diode_speed,
            {"terminal_voltage": case.volts, "diode_drop": DIODE, "line_constant": line},
            f"On the road {setting(round(case.diode_speed, 2), 'm/s')}: slower than that, only a bridge that boosts brings "
            "anything back.",
        ),
        Shown(
            regeneration.boost_duty,
            {
                "back_emf": case.here.emf,
                "braking_current": min(case.limit_amps, case.here.best_amps),
                "drive_resistance": case.ohm,
                "terminal_voltage": case.volts,
            },
        ),
    ]
    return rows


def _descent(v: Any, case: RegenCase) -> list[Shown]:
    given = {"mass": v.mass, "slope": -case.slope, "rolling_coefficient": v.road.rolling_coefficient,
             "air_density": v.road.air_density, "drag_area": v.road.drag_area, "speed": case.speed}
    rows = [Shown(regeneration.descent_force, given)]
    force, amps, recovered, _ = (float(x) for x in case.share_at(case.speed))
    if amps == amps and case.slope > 0:
        drag = float(case.drag_at(case.speed))
        rows += [
            Shown(
                regeneration.braking_current,
                {
                    "wheel_braking_force": force,
                    "wheel_radius": v.gearing.wheel_radius,
                    "chain_efficiency": v.gearing.efficiency,
                    "gear_ratio": v.gearing.ratio,
                    "motor_drag": drag,
                    "motor_constant": v.motor.drive_constant,
                },
            ),
            Shown(
                regeneration.recovered_share,
                {"recovered_power": recovered, "mass": v.mass, "slope": -case.slope, "speed": case.speed},
            ),
        ]
    if v.store.kind == "capacitors" and case.full.gain > 0:
        lift = v.mass * 9.80665 * case.full.height
        rows.append(Shown(regeneration.start_voltage, {
            "rated_full_voltage": v.store.charge_voltage, "return_share": min(case.full.gain / lift, 1.0), "mass": v.mass,
            "descent_height": case.full.height, "capacitance": v.store.capacitance},
            "A bank without ohms and slow branches; on the ride it is full a little sooner."))
    return rows


def _ratios(case: RegenCase) -> list[Shown]:
    """The three honest ratios of the hill test, where there is a hill."""
    h = case.hill
    if h is None or h.climb.outcome != "arrived":
        return []
    climb, kept, lost = h.climb.store_energy, h.with_it.store_energy, h.without.store_energy
    return [Shown(regeneration.charge_over_lift, {"stored_energy_gain": h.put_back, "height_energy": h.lift}),
            Shown(regeneration.store_over_climb, {"stored_energy_gain": h.put_back, "climb_energy": climb}),
            Shown(regeneration.saved_over_round_trip, {"round_without": climb + lost, "round_with": climb + kept},
                  "Three shares, one hill: always say what stands under the line.")]
