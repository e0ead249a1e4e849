"""The page of the winding: which controls, which model, which pictures, numbers and equations."""

from __future__ import annotations

import math
import re
from typing import Any

from evlab import heat, motor, motor_map, plots, start_load, turning, winding
from evlab.bench_motor import DIRECT, planned
from evlab.cautions import gravest
from evlab.look import setting, shown
from evlab.start_load import GROUND
from evlab.vehicle import load_vehicle
from evlab.winding_case import Sensed, WindingCase
from evlab.wires import awg
from evlab.workbench.bench import Workbench
from evlab.workbench.equations import Shown, Worked
from evlab.workbench.mending import shown_for
from evlab.workbench.motor_built import NOT_STATED, SMALL_ONE, designed, small, stated, workable
from evlab.workbench.page import Day, Knob, Page, Picture, Readout
from evlab.workbench.question import Questions

__all__ = ["make_page", "open_bench", "questions", "worked"]

_W, _M = "motor.winding.", "motor.magnets."
AMPS, WARM, SPEED, ERROR, SLOPE, WHEEL, MINUTES, INNER, BODY, FAST, MASS, OHMS = ASKED = (
    "amps", "winding", "speed", "error", "slope", "wheel", "seconds", "inner", "body", "frequency", "mass", "ohms")

# ---------------------------------------------------------------- the controls
_STAR, _WIRE, _COIL, _STUFF = "Coils and phases", "Wire", "Coil", "What it is made of"
_DAY, _BENCH, _READ = "What is asked", "The wound coil", "Read on the bench, or on a sheet"
READ = ("free_volts", "free_rpm", "free_amps", "held_volts", "held_amps", "held_torque")
STALLED_BY = "stalled_by"
COILS, PHASES, JOINED, POLES, TURNS, STRANDS, WIRE, TAILS, LEADS, SIDE, THICK, CLEAR, CLASS, FORMER, GLUE = (
    _W + "coils", _W + "phases", _W + "connection", _M + "poles", _W + "turns", _W + "strands", _W + "wire_diameter",
    _W + "tails", _W + "lead_resistance", _W + "side", _W + "thickness", _W + "clearance", _W + "enamel_class",
    _W + "former", _W + "glue")
DRAG, VISCOUS, COOLING = "motor.drag_torque", "motor.viscous_drag", "motor.thermal_resistance"


def _gauge(text: str) -> float | None:
    """The bare diameter [m] of a wire told as an American gauge, "AWG 18"; None for another text."""
    told = re.fullmatch(r"(?:AWG|awg)\s*(\d+)", text)
    return awg(int(told[1])).bare if told else None


FIELDS = (
    Knob(COILS, _STAR),
    Knob(PHASES, _STAR),
    Knob(JOINED, _STAR, when=lambda now: now[PHASES] == 3),
    Knob(POLES, _STAR, step=2),
    Knob(TURNS, _WIRE),
    Knob(STRANDS, _WIRE),
    Knob(WIRE, _WIRE, step=0.05, also=lambda text, vehicle: _gauge(text)),
    Knob(TAILS, _WIRE, step=1),
    Knob(LEADS, _WIRE, step=1),
    Knob(SIDE, _COIL, step=0.5),
    Knob(THICK, _COIL, step=0.5),
    Knob(CLEAR, _COIL, step=0.1),
    Knob(CLASS, _STUFF),
    Knob(FORMER, _STUFF),
    Knob(GLUE, _STUFF),
    Knob(COOLING, _STUFF, log=True),
    Knob(DRAG, _STUFF, step=0.01, high=1.0, why="ball bearings, to seals that rub"),
    Knob(VISCOUS, _STUFF, step=0.0005, high=0.02, why="little, to plates close to the magnets"),
)


def _revs(text: str) -> float | None:
    """Revolutions a minute of a text such as "2650 rpm"; None for another text."""
    told = re.fullmatch(r"([\d.]+)\s*rpm", text.strip())
    return float(told[1]) if told else None


def _bench(case: WindingCase) -> tuple[Knob, ...]:
    """Six readings of a motor; at first those that the design would give."""
    starts = {name: float(f"{planned(case.motor)[name]:.4g}") for name in READ}

    def knob(name: str, label: str, quantity: str, unit: str, span: tuple[float, float], meaning: str, why: str) -> Knob:
        start = starts[name]  # a motor out of the common has a wider control, not another reading
        return Knob(name, _READ, start=start, quantity=quantity, label=label, place="motor", unit=unit, low=min(span[0], start),
                    high=max(span[1], start), meaning=meaning, why=why, log=span[0] > 0, step=None if span[0] > 0 else 0.01,
                    also=(lambda text, vehicle: _revs(text)) if name == "free_rpm" else None)

    return (
        knob("free_volts", "Run free, volts", "voltage", "V", (0.5, 100.0), "volts at which the motor turns nothing but itself",
             "a cell, to a fast bike's pack"),
        knob("free_rpm", "Run free, rpm", "revs_per_minute", "", (10.0, 30000.0), "revolutions a minute that it then makes",
             "a hub at a crawl, to a small fast motor"),
        knob("free_amps", "Run free, amps", "motor_current", "A", (0.0, 30.0),
             "current that it then takes; 0 where it was not read", "not read, to stiff seals"),
        knob("held_volts", "Held still, volts", "voltage", "V", (0.05, 100.0), "volts at its terminals while it is held still",
             "a few, from a supply with a current limit, to the rated volts of a sheet"),
        knob("held_amps", "Held still, amps", "motor_current", "A", (0.2, 800.0), "current that it then takes",
             "a small supply, to a sheet's stall"),
        knob("held_torque", "Held still, torque", "torque", "N·m", (0.0, 100.0),
             "torque that it then holds; 0 where it was not read", "not read, to a sheet's stall"),
        Knob(STALLED_BY, _READ, start=DIRECT, quantity="stalled_by", label="Held still by", place="motor"),
    )


def _day(vehicle: Any) -> tuple[Knob, ...]:
    """Current, heat, speed, sensor, time, and what was weighed and measured."""
    case = WindingCase(workable(vehicle))
    amps = min(25.0, float(f"{0.6 * vehicle.controller.coil_current_limit:.2g}"))
    return (
        Knob(AMPS, _DAY, start=amps, quantity="motor_current", label="Motor current", place="motor", unit="A", low=0.2,
             high=300.0, log=True, meaning="current that the controller sends through the winding",
             why="a toy, to more than most coils bear"),
        Knob(WARM, _DAY, start=363.15, quantity="winding_temperature", label="Winding at", place="motor", unit="°C", low=253.15,
             high=453.15, step=1, meaning="temperature of the winding for its ohms", why="winter, to where enamel ends"),
        Knob(SPEED, _DAY, start=60.0, quantity="motor_speed", label="Rotor turns at", place="motor", unit="rad/s", low=5.0,
             high=400.0, step=5, meaning="speed of the rotor", why="a crawl, to a drill test"),
        Knob(ERROR, _DAY, start=0.0, quantity="sensor_error", label="Sensor is late by", place="controller", unit="°",
             low=-math.pi / 3, high=math.pi / 3, step=1,
             meaning="electrical degrees by which the sensor switches late; below zero early",
             why="2 mm on a ring of twelve magnets are some 9°"),
        Knob(WHEEL, _DAY, start=GROUND, quantity="driven_wheel", label="Driven wheel", place="road",
             meaning="on the ground the motor has the whole vehicle to move; raised it turns by itself"),
        Knob(SLOPE, _DAY, start=0.0, quantity="slope", label="Start uphill on", place="road", unit="%", low=0.0, high=0.2, step=0.5,
             meaning="slope on which the vehicle starts, its brakes released", why="level, to the steepest ramps",
             when=lambda now: now[WHEEL] == GROUND),
        Knob(MINUTES, _DAY, start=1800.0, quantity="time", label="Heated for", place="motor", unit="min", low=60.0, high=7200.0,
             step=1, meaning="how long the current flows", why="a ramp, to two hours"),
        Knob(INNER, _DAY, start=0.4, quantity="inner_share", label="Winding to body", place="motor", unit="%", low=0.05, high=0.95,
             step=5, meaning="share of the thermal resistance that lies between winding and body",
             why="potted, to loose in a former"),
        Knob(BODY, _DAY, start=600.0, quantity="heat_capacity", label="Body warms by", place="motor", unit="J/K", low=20.0,
             high=5000.0, log=True, meaning="heat that warms the body of the winding by one kelvin",
             why="a thin former, to a stator of aluminium"),
        Knob(FAST, _DAY, start=16000.0, quantity="switching_frequency", label="Switched at", place="controller", unit="kHz",
             low=490.0, high=40000.0, log=True, meaning="switching frequency of the bridge",
             why="a hobby board's default, to above hearing"),
        Knob(MASS, _BENCH, start=float(f"{case.coil_mass:.4g}"), quantity="mass", label="Coil weighs", place="motor", unit="g",
             low=0.5 * case.coil_mass, high=1.5 * case.coil_mass, step=0.1, meaning="weight of one wound coil without its former",
             why="half to half as much again of what is planned"),
        Knob(OHMS, _BENCH, start=float(f"{case.nominal_ohms:.4g}"), quantity="coil_resistance", label="Coil measures",
             place="motor", unit="mΩ", low=0.5 * case.nominal_ohms, high=1.5 * case.nominal_ohms,
             meaning="resistance of one wound coil at 20 °C", why="half to half as much again of what is planned"),
        *_bench(case),
    )  # fmt: skip


def _model(vehicle: Any, day: Day) -> WindingCase:
    return WindingCase(vehicle, Sensed(**{name: day[name] for name in ASKED},
                                       bench={name: day[name] for name in (*READ, STALLED_BY)}))


# ---------------------------------------------------------------- the numbers
STARRED = (
    Readout("Coils in series", "", lambda c: c.star.coils_in_series, whole=True),
    Readout("They add up to", "%", lambda c: c.star.distribution_factor, 100.0),
    Readout("Coil width takes", "%", lambda c: c.pitch_factor, 100.0),
    Readout("Constant of a phase, peak", "V·s/rad", lambda c: c.phase_constant, model=0.03),
    Readout("Line to line, peak", "V·s/rad", lambda c: c.dresses.get("line peak", math.nan), model=0.03),
    Readout("Line to line, rms", "V·s/rad", lambda c: c.dresses.get("line rms", math.nan), model=0.03),
    Readout("As the bridge sees it", "V·s/rad", lambda c: c.constant, model=0.03),
    Readout("Revolutions per volt", "rpm/V", lambda c: c.rpm_per_volt, model=0.03),
)
WOUND = (
    Readout("Ohms between terminals", "mΩ", lambda c: c.ohms, 1e3, model=0.03),
    Readout("One coil", "mΩ", lambda c: c.coil_ohms, 1e3, model=0.03),
    Readout("Copper of the window", "%", lambda c: c.fill, 100.0),
    Readout("Places taken", "", lambda c: c.fit.needed, whole=True),
    Readout("Places there are", "", lambda c: c.fit.capacity, whole=True),
    Readout("Mean turn", "mm", lambda c: c.mean_turn, 1e3, model=0.02),
    Readout("Wire to buy", "m", lambda c: c.wire_length, model=0.02),
    Readout("Copper", "kg", lambda c: c.copper_mass, model=0.02),
    Readout("Inductance", "µH", lambda c: c.inductance, 1e6, model=0.05),
    Readout("One coil, as if round", "µH", lambda c: c.coil_inductance.total, 1e6, model=0.05),
    Readout("Ripple at half duty", "A", lambda c: c.ripple, model=0.1),
)
TURNED = (
    Readout("Mean of three phases", "N·m/A", lambda c: c.over_turn["three phases, six-step"].mean, model=0.03),
    Readout("Their least", "N·m/A", lambda c: c.over_turn["three phases, six-step"].least, model=0.03),
    Readout("Mean of one phase", "N·m/A", lambda c: c.over_turn["one phase"].mean, model=0.03),
    Readout("Its greatest", "N·m/A", lambda c: c.over_turn["one phase"].most, model=0.03),
)
STARTED = (
    Readout("Torque to move off", "N·m", lambda c: c.load.starting(c.vehicle.motor.drag_torque), model=0.1),
    Readout("One phase does not start", "%", lambda c: c.starts["one phase"].stuck, 100.0, model=0.1),
    Readout("One phase goes back first", "%", lambda c: c.starts["one phase"].thrown, 100.0, model=0.1),
    Readout("Three phases do not", "%", lambda c: c.starts["three phases, six-step"].stuck, 100.0),
)
MAPPED = (
    Readout("Best efficiency", "%", lambda c: c.map.best(c.volts[0])[2], 100.0, model=0.02),
    Readout("No-load speed", "rad/s", lambda c: c.no_load, model=0.03),
    Readout("Torque per root of heat", "N·m/√W", lambda c: c.figure, model=0.03),
    Readout("Ohms when warm", "mΩ", lambda c: c.hot_ohms, 1e3, model=0.03),
)
WARMED = (
    Readout("Winding in the end", "°C", lambda c: float(c.heating[1][0, -1]), 1.0, -273.15, model=0.1),
    Readout("Its body", "°C", lambda c: float(c.heating[1][1, -1]), 1.0, -273.15, model=0.1),
    Readout("Heat in the copper, cold", "W", lambda c: c.copper_watts, model=0.05),
    Readout("Copper warms at first by", "K/s", lambda c: c.adiabatic, model=0.05),
    Readout("Never settles above", "A", lambda c: c.runaway, model=0.1),
    Readout("Current density", "A/mm²", lambda c: c.density, 1e-6),
)
DRAGGED = (
    Readout("Turning takes", "N·m", lambda c: c.drag.total(c.asked.speed), model=0.2),
    Readout("which is", "W", lambda c: c.drag.total(c.asked.speed) * c.asked.speed, model=0.2),
    Readout("Eddies in the strands", "W", lambda c: c.strands.watts, model=0.2),
    Readout("Field in the copper", "T", lambda c: c.strands.field, model=0.05),
)
COUNTED = (
    Readout("By weight", "turns", lambda c: c.count.by_mass.turns),
    Readout("By resistance", "turns", lambda c: c.count.by_resistance.turns),
    Readout("Both together", "turns", lambda c: c.count.combined.turns),
    Readout("A coil should weigh", "g", lambda c: c.coil_mass, 1e3, model=0.02),
    Readout("A coil should measure", "mΩ", lambda c: c.nominal_ohms, 1e3, model=0.02),
)
BENCHED = (
    Readout("Constant, as read", "V·s/rad", lambda c: c.bench.constant.value),
    Readout("Constant off the design", "%", lambda c: c.bench.constant.value / c.constant - 1, 100.0),
    Readout("By the free run alone", "V·s/rad", lambda c: c.bench.by_speed),
    Readout("By the pull alone", "N·m/A", lambda c: c.bench.by_pull),
    Readout("Ohms at 20 °C, as read", "mΩ", lambda c: c.bench.resistance.value, 1e3),
    Readout("Ohms off the design", "%", lambda c: c.bench.resistance.value / c.ohms - 1, 100.0),
    Readout("Drag, as read", "N·m", lambda c: c.bench.drag),
)

# ---------------------------------------------------------------- the pictures
_WOUND, _LIMITS = (TURNS, STRANDS, WIRE, SIDE, THICK, CLEAR), (CLASS, FORMER, GLUE)
PICTURES = (
    Picture("Star of coils", plots.star_of_coils, (COILS, PHASES, POLES), STARRED, widens=False),
    Picture("Window", plots.coil_window, (TURNS, STRANDS, WIRE, TAILS, SIDE, THICK), WOUND, widens=False),
    Picture("Torque over a turn", plots.torque_turn, (TURNS, POLES, SIDE, THICK, CLEAR, ERROR), TURNED),
    Picture("Will it start?", plots.start_angles, (AMPS, DRAG, ERROR, WHEEL, SLOPE), STARTED, widens=False),
    Picture("Efficiency", plots.efficiency_map, (*_WOUND, PHASES, JOINED, LEADS, DRAG, VISCOUS, WARM), MAPPED),
    Picture("How hot?", plots.winding_heat, (AMPS, *_WOUND, LEADS, *_LIMITS, COOLING, MINUTES, INNER, BODY, FAST), WARMED),
    Picture("Drag without current", plots.drag_by_cause, (*_WOUND, DRAG, VISCOUS, SPEED), DRAGGED),
    Picture("Count the turns", plots.turns_counted, (TURNS, STRANDS, WIRE, SIDE, MASS, OHMS), COUNTED, widens=False),
    Picture("On the bench", plots.bench_read, (*_WOUND, PHASES, JOINED, LEADS, *READ, STALLED_BY), BENCHED),
)


# ---------------------------------------------------------------- the page
def _outcome(c: WindingCase) -> tuple[str, str]:
    return ("danger", "danger, see above") if gravest(c.cautions) == "danger" else ("ok", "it can be wound")


def _beside(c: WindingCase) -> str:
    """The design beside what the vehicle rides with."""
    m = c.vehicle.motor
    if m.kind != c.motor.kind:
        other = m.kind.replace("_", " ")
        return f"Your vehicle rides with another motor ({other}); when you move a control and keep it, this one takes its place."
    design = f"this design makes {shown(c.phase_constant, 'V·s/rad')} (peak of a phase) and {shown(1e3 * c.ohms, 'mΩ')}"
    if abs(m.phase_constant / c.phase_constant - 1) < 1e-4 and abs(m.resistance / c.ohms - 1) < 1e-4:
        return f"Constants: {design}; they go into your vehicle with what you keep, as designed."
    rides = f"{shown(m.phase_constant, 'V·s/rad')} and {shown(1e3 * m.resistance, 'mΩ')}"
    return f"Constants: {design}; your vehicle rides with {rides}."


def make_page(vehicle: Any, note: str = "") -> Page:
    """The page of this vehicle's winding; of a vehicle that states none, that of a small motor, which `note` tells."""
    w = vehicle.winding
    case = f"{w.coils} coils of {w.turns} turns, {w.phases} phase{'s' if w.phases > 1 else ''}"
    return Page(
        name="03_winding", case=case, knobs=(*FIELDS, *_day(vehicle)), model=_model, pictures=PICTURES, readouts=WOUND,
        outcome=_outcome, cautions=lambda c: c.cautions, frame=plots.WindingRanges.around,
        widen=lambda ranges, result: ranges.widened(result),
        tables=("vehicle", "load", "motor", "motor.magnets", "motor.winding", "gearing", "road"),
        follow=designed, stand_in=small, stands=SMALL_ONE, tell=lambda c: note or _beside(c))


def open_bench(vehicle: Any = None) -> Workbench:
    """The workbench of this page.

    Parameters: `vehicle`, by default the learner's own.  Where it states no magnets, a small motor stands in.
    """
    taken = load_vehicle() if vehicle is None else vehicle
    shown = stated(taken)
    return Workbench(make_page(shown, "" if taken.magnets.stated else NOT_STATED), shown)


def questions(bench: Workbench) -> Questions:
    """The questions of this page about the case on the bench."""
    from evlab.workbench.winding_questions import asked

    return Questions(bench, asked())


# ---------------------------------------------------------------- the equations
def worked(vehicle: Any = None) -> Worked:
    """The equations of the winding, worked with the vehicle's numbers.

    Parameters: `vehicle`, by default the learner's own.
    """
    c, whose = shown_for(stated(load_vehicle() if vehicle is None else vehicle), WindingCase, small, SMALL_ONE)
    lead = (f"{whose}: {c.build.coils} coils of {c.build.turns} turns, {c.build.strands} strands of "
            f"{setting(round(1e3 * c.wire.bare, 3), 'mm')} in hand, over {c.magnets.ring.poles} magnets.")
    return Worked(lead, [*_copper(c), *_constants(c), *_coil(c), *_runs(c), *_heat(c)])


def _copper(c: WindingCase) -> list[Shown]:
    b, turns, strands = c.build, float(c.build.turns), float(c.build.strands)
    window = {"side_width": b.side, "coil_thickness": b.thickness}
    length = {"coils": float(b.coils), "turns": turns, "strands": strands, "mean_turn": c.mean_turn, "tail_share": b.tails}
    rows = [
        Shown(winding.strand_area, {"wire_diameter": c.wire.bare}),
        Shown(winding.copper_fill, {"turns": turns, "strands": strands, "strand_area": c.wire.area, **window}),
        Shown(winding.winding_length, length),
        Shown(winding.coil_resistance, {"turns": turns, "strands": strands, "mean_turn": c.mean_turn, "strand_area": c.wire.area}),
        Shown(winding.phase_resistance, {"coils_in_series": float(c.star.coils_in_series), "coil_resistance": c.coil_ohms}),
    ]
    if b.phases == 3:
        rows.append(Shown(winding.line_resistance, {"phase_resistance": c.phase_ohms, "lead_resistance": b.lead_resistance}))
    return rows


def _constants(c: WindingCase) -> list[Shown]:
    m = c.magnets
    rows = [
        Shown(winding.coil_constant, {"turns": float(c.build.turns), "turn_flux": m.linkage.fundamental,
                                      "pole_pairs": float(m.ring.pairs)}),
        Shown(winding.pitch_factor, {"mean_width": c.coil.across(), "pole_pitch": m.ring.pitch},
              "It is in the flux of the map already."),
        Shown(winding.distribution_factor, {"phases": float(c.build.phases), "phasor_directions": float(c.star.directions)}),
        Shown(winding.phase_constant, {"coils_in_series": float(c.star.coils_in_series), "coil_constant": m.coil_constant,
                                       "distribution_factor": c.star.distribution_factor}),
    ]
    if c.build.phases == 3:
        line = float(motor.line_constant(c.phase_constant))
        rows += [Shown(motor.line_constant, {"phase_constant": c.phase_constant}),
                 Shown(motor.line_rms_constant, {"line_constant": line}, "What a drill test with a true-rms meter gives."),
                 Shown(motor.six_step_constant, {"line_constant": line})]
    else:
        rows.append(Shown(motor.square_constant, {"phase_constant": c.phase_constant}))
    rows.append(Shown(motor_map.motor_figure, {"motor_constant": c.constant, "hot_resistance": c.ohms},
                      "Turns do not change it; copper and flux do."))
    return rows


def _coil(c: WindingCase) -> list[Shown]:
    radius = float(winding.mean_radius(c.mean_turn))
    shape = {"mean_radius": radius, "coil_thickness": c.build.thickness, "side_width": c.build.side}
    amps = {"current_ripple": c.ripple, "motor_current": c.asked.amps}
    return [
        Shown(winding.coil_inductance, {"turns": float(c.build.turns), **shape},
              "A round coil without iron; the readout follows the true outline, its neighbours and the iron."),
        Shown(winding.current_ripple, {"voltage": float(c.vehicle.store.full_voltage), "duty": 0.5, "line_inductance": c.inductance,
                                       "switching_frequency": c.asked.frequency}),
        Shown(winding.ripple_factor, amps),
    ]


def _runs(c: WindingCase) -> list[Shown]:
    v, load, drag = c.vehicle, c.load, c.vehicle.motor.drag_torque
    moved = {"wheel_radius": load.radius, "gear_ratio": load.ratio}
    ratio = c.rig("one phase").friction_ratio
    rows = [
        Shown(turning.six_step_share, {"sensor_error": 0.15}, "A sensor 0.15 rad late, some 9 electrical degrees."),
        Shown(turning.square_share, {"sensor_error": 0.0}, "One phase, switched in the right place."),
        Shown(start_load.starting_torque, {"rolling_force": load.rolling, "bearing_force": load.bearings, "slope_force": load.slope,
                                           "chain_efficiency": load.efficiency, "drag_torque": drag, **moved},
              "Your vehicle on the level, everybody and everything on board."),
        Shown(start_load.shaft_inertia, {"effective_mass": load.effective_mass(c.motor.inertia), **moved},
              f"The rotor alone has {shown(c.motor.inertia, 'kg·m²')}: the vehicle is what takes its time."),
    ]
    if ratio < 1:
        rows.append(Shown(turning.dead_share, {"friction_ratio": ratio},
                          "One phase; the torque to move off over the greatest torque of the current asked for."))
    return [
        *rows,
        Shown(motor_map.stall_torque, {"motor_constant": c.constant, "duty": v.controller.duty_limit,
                                       "voltage": float(v.store.full_voltage), "hot_resistance": c.hot_ohms},
              "Nothing may draw it: the controller's limit stands in between."),
    ]


def _heat(c: WindingCase) -> list[Shown]:
    m, watts = c.vehicle.motor, float(motor.copper_loss(c.asked.amps, c.ohms))
    section = {"strands": float(c.build.strands), "strand_area": c.wire.area}
    rows = [
        Shown(winding.current_density, {"motor_current": c.asked.amps, **section}),
        Shown(motor.copper_loss, {"motor_current": c.asked.amps, "hot_resistance": c.ohms}, "At 20 °C."),
        Shown(heat.copper_rate, {"current_density": c.density}),
        Shown(motor.runaway_current, {"winding_resistance": c.ohms, "thermal_resistance": m.thermal_resistance}),
    ]
    if watts * m.thermal_resistance < 200.0:
        rows.append(Shown(motor.steady_rise, {"copper_loss": watts, "thermal_resistance": m.thermal_resistance}))
    return rows
