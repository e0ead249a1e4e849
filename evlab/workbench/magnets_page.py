"""The page of magnets: which controls, which model, which pictures, numbers and equations."""

from __future__ import annotations

import math
from typing import Any

from evlab import demagnetising, eddies, magnets, plots, rotor_forces
from evlab.eddies import METALS
from evlab.look import setting
from evlab.magnet_case import ENDLESS, INTEGRAL, MAP, MagnetCase
from evlab.units import rad_s_to_rpm
from evlab.vehicle import load_vehicle
from evlab.workbench.bench import Workbench
from evlab.workbench.equations import Shown, Worked
from evlab.workbench.mending import shown_for
from evlab.workbench.motor_built import NOT_STATED, SMALL_ONE, designed, small, stated, unsuited
from evlab.workbench.page import Day, Knob, Page, Picture, Readout
from evlab.workbench.question import Questions

__all__ = ["make_page", "open_bench", "questions", "worked"]

_M, _W = "motor.magnets.", "motor.winding."
PLACE, FAULT, HEAT, SPEED, HOLD = "coil_at", "fault", "temperature", "speed", "hold"
DISTANCE, THICK, METAL, STRIP = "distance", "plate_thickness", "metal", "strip"

# ---------------------------------------------------------------- the controls
_RING, _COIL, _DAY, _PLATE = "Ring of magnets", "Coil", "What is asked", "A plate of metal"
SHAPE, POLES, RADIUS, WIDE, LONG, DEEP, BR, RECOIL, GRADE, IRON, STEEL, DISC = (
    _M + n for n in ("shape", "poles", "ring_radius", "width", "length", "thickness", "remanence", "recoil", "grade", "iron",
                     "steel_thickness", "disc_radius"))
OUTLINE, INNER, OUTER, OPEN, SIDE, COIL, CLEAR, TURNS = (
    _W + n for n in ("coil_shape", "opening_inner", "opening_outer", "opening_length", "side", "thickness", "clearance", "turns"))
FIELDS = (
    Knob(SHAPE, _RING),
    Knob(POLES, _RING, step=2),
    Knob(RADIUS, _RING, step=1),
    Knob(WIDE, _RING, step=1),
    Knob(LONG, _RING, step=1, when=lambda now: now[SHAPE] == "block"),
    Knob(DEEP, _RING, step=0.5),
    Knob(BR, _RING, step=0.01),
    Knob(RECOIL, _RING, step=0.01, when=lambda now: "no iron" not in now[IRON] and now[IRON] != "none"),
    Knob(GRADE, _RING),
    Knob(IRON, _RING),
    Knob(STEEL, _RING, step=0.5, low=0.0005),
    Knob(DISC, _RING, step=1),
    Knob(OUTLINE, _COIL),
    Knob(INNER, _COIL, step=0.5),
    Knob(OUTER, _COIL, step=0.5, when=lambda now: now[OUTLINE] != "round"),
    Knob(OPEN, _COIL, step=1, when=lambda now: now[OUTLINE] != "round"),
    Knob(SIDE, _COIL, step=0.5),
    Knob(COIL, _COIL, step=0.5),
    Knob(CLEAR, _COIL, step=0.1),
    Knob(TURNS, _COIL),
)
DAY = (
    Knob(PLACE, _DAY, start=0.0, quantity="coil_place", label="Coil 1 stands at", place="motor", unit="°", low=0.0,
         high=2 * math.pi, step=1, meaning="place of the first coil along the ring, from the first magnet", why="once round"),
    Knob(FAULT, _DAY, start="none", quantity="magnet_fault", label="One magnet", place="motor"),
    Knob(HEAT, _DAY, start=293.15, quantity="magnet_temperature", label="Magnets at", place="motor", unit="°C", low=253.15,
         high=423.15, step=1, meaning="temperature of the magnets", why="winter, to beyond what most grades bear"),
    Knob(HOLD, _DAY, start=5.0, quantity="part_pull", label="Link held with", place="gearing", unit="N", low=0.2, high=30.0,
         log=True, meaning="what holds one link of the chain where it is: weight, or tension", why="a slack run, to a taut one"),
    Knob(SPEED, _DAY, start=60.0, quantity="motor_speed", label="Rotor turns at", place="motor", unit="rad/s", low=5.0, high=400.0,
         step=5, meaning="speed of the rotor", why="a crawl, to a drill test"),
    Knob(DISTANCE, _PLATE, start=0.003, quantity="face_height", label="Plate distance", place="motor", unit="mm", low=0.0005,
         high=0.04, step=0.5, meaning="from the magnets' face to the plate that stands still", why="touching, to out of reach"),
    Knob(THICK, _PLATE, start=0.006, quantity="plate_thickness", label="Plate thickness", place="motor", unit="mm", low=0.0005,
         high=0.012, step=0.5, meaning="thickness of the plate", why="a sheet, to a stout plate"),
    Knob(METAL, _PLATE, start="aluminium 6061", quantity="plate_metal", label="Plate of", place="motor"),
    Knob(STRIP, _PLATE, start=0.004, quantity="piece_width", label="Slit into strips of", place="motor", unit="mm", low=0.0005,
         high=0.02, step=0.5, meaning="width of the insulated strips into which the plate may be slit",
         why="as fine as a saw can, to a pole"),
)


def _model(vehicle: Any, day: Day) -> MagnetCase:
    return MagnetCase(vehicle, fault=day[FAULT], temperature=day[HEAT], coil_at=day[PLACE], speed=day[SPEED],
                      plate=(day[DISTANCE], day[THICK], day[METAL]), strip=day[STRIP], hold=day[HOLD])


# ---------------------------------------------------------------- the numbers
def _away(route: str) -> Any:
    return lambda c: c.routes[route] / c.routes[MAP] - 1


FIELD = (
    Readout("Flux of a turn", "mWb", lambda c: c.linkage.fundamental, 1e3, model=0.03),
    Readout("Constant of a coil, peak", "V·s/rad", lambda c: c.coil_constant, model=0.03),
    Readout("Third harmonic of the flux", "%", lambda c: c.third, 100.0),
    Readout("Largest field at the coil", "T", lambda c: c.peak, model=0.03),
    Readout("Face of a lone magnet", "T", lambda c: c.face_alone, model=0.03),
    Readout("Room between magnets", "mm", lambda c: c.ring.room, 1e3),
)
ROUTES = (
    Readout("Map of the real ring", "mWb", lambda c: c.routes[MAP], 1e3, model=0.03),
    Readout("Coil as long as it is", "%", _away(INTEGRAL), 100.0),
    Readout("Endless coil", "%", _away(ENDLESS), 100.0),
    Readout("magpylib, in three dimensions", "%", lambda c: c.witness / c.routes[MAP] - 1, 100.0),
    Readout("A millimetre more costs", "%", lambda c: c.decay, 100.0),
)
PULLED = (
    Readout("Pull across the gap", "N", lambda c: math.nan if c.pull is None else c.pull.force, model=0.05),
    Readout("Each magnet's share", "N", lambda c: math.nan if c.pull is None else c.pull.per_magnet, model=0.05),
    Readout("A millimetre closer adds", "N", lambda c: math.nan if c.pull is None else 1e-3 * c.pull.stiffness(), model=0.05),
    Readout("Turns at", "rpm", lambda c: rad_s_to_rpm(c.speed)),
    Readout("Each magnet flies with", "N", lambda c: c.spinning["centrifugal_force"], model=0.02),
    Readout("Shear in its glue", "kPa", lambda c: c.spinning["glue_shear"], 1e-3, model=0.02),
    Readout("Stress in the disc", "MPa", lambda c: c.spinning["hoop_stress"], 1e-6, model=0.1),
    Readout("Energy of the rotor", "J", lambda c: c.spinning["kinetic_energy"], model=0.05),
    Readout("Inertia", "g·m²", lambda c: c.rotor.inertia, 1e3, model=0.05),
)
HEATED = (
    Readout("Alone, at its face", "kA/m", lambda c: c.points[1].field, 1e-3, model=0.05),
    Readout("Alone, meets the knee at", "°C", lambda c: c.points[1].hottest, 1.0, -273.15),
    Readout("In its place", "kA/m", lambda c: c.points[2].field, 1e-3, model=0.05),
    Readout("In place, meets the knee at", "°C", lambda c: c.points[2].hottest, 1.0, -273.15),
    Readout("Knee at this temperature", "kA/m", lambda c: c.points[1].knee, 1e-3, model=0.1),
    Readout("Remanence left", "%", lambda c: c.sound.remanence / c.cool.remanence, 100.0),
)
STEELED = (
    Readout("The steel would carry", "T", lambda c: c.steel, model=0.05),
    Readout("Thickness for 1.5 T", "mm", lambda c: 1e3 * c.build.steel_thickness * c.steel / 1.5, model=0.05),
)
STRAYED = tuple(Readout(label, "mm", (lambda name: lambda c: c.clear[name])(part), 1e3, model=0.2) for label, part in (
    ("Screw M5 stays from", "screw M5 x 25"), ("Spanner stays from", "spanner"), ("Steel rule stays from", "steel rule"),
    ("Nut M8 stays from", "nut M8"), ("Slack chain stays from", "each link of a run of 06B chain"))) + (
        Readout("Held link comes to", "mm", lambda c: c.taut, 1e3, model=0.2),)
PLATED = (
    Readout("The plate takes", "W", lambda c: c.plate_loss[0], model=0.1),
    Readout("as a torque of", "N·m", lambda c: c.plate_loss[0] / c.speed, model=0.1),
    Readout("Slit into strips", "W", lambda c: c.plate_loss[1], model=0.3),
)

# ---------------------------------------------------------------- the pictures
_ROW = (SHAPE, POLES, RADIUS, WIDE, LONG, DEEP, BR, IRON, HEAT)
_RINGED = (*_ROW, CLEAR, COIL)
_COILED = (OUTLINE, INNER, OUTER, OPEN, SIDE)
PICTURES = (
    Picture("Field and coils", plots.unrolled_ring, (*_RINGED, *_COILED, TURNS, RECOIL, PLACE, FAULT), FIELD),
    Picture("By every route", plots.flux_routes, (*_RINGED, *_COILED, RECOIL), ROUTES, widens=False, costly=True),
    Picture("Pull and spin", plots.rotor_pull, (*_RINGED, STEEL, DISC, SPEED), PULLED),
    Picture("Heat and counter-field", plots.magnet_heat, (*_RINGED, RECOIL, GRADE), HEATED),
    Picture("Steel behind", plots.steel_behind, (*_RINGED, STEEL), STEELED, widens=False),
    Picture("Steel near by", plots.stray_pull, (*_ROW, HOLD), STRAYED, widens=False),
    Picture("Metal near by", plots.plate_drag, (*_RINGED, DISTANCE, THICK, METAL, STRIP, SPEED), PLATED),
)  # fmt: skip


# ---------------------------------------------------------------- the page
def _outcome(c: MagnetCase) -> tuple[str, str]:
    return ("caution", "a spoilt ring") if c.fault else ("ok", "a ring as it should be")


def make_page(vehicle: Any, note: str = "") -> Page:
    """The page of this vehicle's magnets; of a vehicle that states none, those of a small motor, which `note` tells."""
    m, w = vehicle.magnets, vehicle.winding
    case = f"{m.poles} magnets, {m.iron}, {w.coils} coils"
    return Page(
        name="03_magnets", case=case, knobs=(*FIELDS, *DAY), model=_model, pictures=PICTURES, readouts=FIELD, outcome=_outcome,
        cautions=lambda c: c.cautions, frame=plots.MagnetRanges.around, widen=lambda ranges, result: ranges.widened(result),
        tables=("motor.magnets", "motor.winding"), follow=designed, stand_in=small, stands=SMALL_ONE,
        tell=lambda c: note or unsuited(c.vehicle))


def open_bench(vehicle: Any = None) -> Workbench:
    """The workbench of this page.

    Parameters: `vehicle`, by default the learner's own.  Where it states no magnets, those of a small motor stand in.
    """
    taken = load_vehicle() if vehicle is None else vehicle
    shown = stated(taken)
    return Workbench(make_page(shown, "" if taken.magnets.stated else NOT_STATED), shown)


def questions(bench: Workbench) -> Questions:
    """The questions of this page about the case on the bench."""
    from evlab.workbench.magnets_questions import asked

    return Questions(bench, asked())


# ---------------------------------------------------------------- the equations
def worked(vehicle: Any = None) -> Worked:
    """The equations of magnets, worked with the vehicle's numbers.

    Parameters: `vehicle`, by default the learner's own.
    """
    c, whose = shown_for(stated(load_vehicle() if vehicle is None else vehicle), MagnetCase, small, SMALL_ONE)
    lead = (f"{whose}: {c.ring.poles} magnets on a circle of {setting(1e3 * c.ring.radius, 'mm')}, {c.build.iron}, the coil's "
            "middle "
            f"{setting(round(1e3 * c.winding.height, 3), 'mm')} above their face.")
    return Worked(lead, [*_field(c), *_heat(c), *_forces(c)])


def _field(c: MagnetCase) -> list[Shown]:
    ring, height = c.sound, c.winding.height
    wave = math.pi / ring.pitch
    given: dict[str, Any] = {"wave_number": wave, "magnet_thickness": ring.thick}
    rows = [
        Shown(magnets.axis_field, {"remanence": ring.remanence, "magnet_thickness": ring.thick, "face_height": height,
                                   "magnet_radius": ring.wide / 2}, "A lone magnet: not what a coil sees among others."),
        Shown(magnets.pole_pitch, {"ring_radius": ring.radius, "pole_pairs": ring.pairs}),
        Shown(magnets.wave_number, {"harmonic": 1.0, "pole_pitch": ring.pitch}),
    ]
    if ring.shape == "block":
        rows.append(Shown(magnets.strip_harmonic, {"remanence": ring.remanence, "harmonic": 1.0,
                                                   "magnet_share": min(ring.wide / ring.pitch, 1.0)}))
    if ring.iron == "none":
        rows.append(Shown(magnets.free_transfer, {**given, "face_height": height}))
    elif ring.iron == "behind":
        rows.append(Shown(magnets.backed_transfer, {**given, "recoil_permeability": ring.recoil, "face_height": height}))
    elif ring.iron == "plate across":
        rows.append(Shown(magnets.plate_transfer, {**given, "recoil_permeability": ring.recoil, "face_gap": ring.gap,
                                                   "face_height": height}))
    elif ring.iron == "two rotors":
        rows.append(Shown(magnets.two_rotor_transfer, {**given, "recoil_permeability": ring.recoil, "face_gap": ring.gap,
                                                       "plane_offset": height - ring.gap / 2}))
    rows.append(Shown(magnets.thickness_factor, {"wave_number": wave, "coil_thickness": c.coil.thick}))
    return rows


def _heat(c: MagnetCase) -> list[Shown]:
    ring, grade = c.cool, c.grade
    warm = {"magnet_temperature": 353.15}
    falls = {"remanence_coefficient": grade.remanence_coefficient, **warm}
    weaker = {"coercivity_coefficient": grade.coercivity_coefficient, **warm}
    rows = [Shown(magnets.hot_remanence, {"remanence": ring.remanence, **falls}),
            Shown(magnets.hot_coercivity, {"coercivity": grade.coercivity, **weaker})]
    if ring.shape == "disc":
        factor = {"magnet_thickness": ring.thick, "magnet_depth": 0.0, "magnet_radius": ring.wide / 2}
        rows.append(Shown(demagnetising.disc_factor, factor, "In the middle of its face."))
    return rows


def _forces(c: MagnetCase) -> list[Shown]:
    rows = [Shown(rotor_forces.magnetic_pressure, {"gap_flux_density": c.peak},
                  "Where the field is largest; summed over the gap it is the pull of the picture.")]
    rows.append(Shown(rotor_forces.centrifugal_force, {"magnet_mass": c.rotor.magnet_mass, "ring_radius": c.ring.radius,
                                                       "motor_speed": c.speed}))
    rows.append(Shown(rotor_forces.rotor_energy, {"rotor_inertia": c.rotor.inertia, "motor_speed": c.speed}))
    if c.has_steel:
        rows.append(Shown(rotor_forces.steel_load, {"magnet_flux": rotor_forces.steel_flux(c.sound), "steel_width": c.sound.long,
                                                    "disc_thickness": c.build.steel_thickness}))
    metal = METALS["aluminium 6061"].conductivity
    rows.append(Shown(eddies.critical_speed, {"conductivity": metal, "plate_thickness": 0.006},
                      "A plate of 6 mm aluminium: from there on it drags less, not more."))
    return rows
