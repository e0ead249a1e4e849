"""The map of the job: what a maker asks, page by page, with the equations that answer it.  One table; pages and links follow."""

from __future__ import annotations

import importlib
import re
from dataclasses import dataclass
from pathlib import Path

from evlab import data
from evlab.equation import Equation

__all__ = ["PAGES", "QUESTIONS", "JobMap", "Row", "equation_of", "is_there"]

# File (without its ending), title, and what the page is there for.
PAGES = (
    ("00_start", "The brief", "what must it do, and where may it go?"),
    ("01_store", "The store", "how many cells, charged to what?"),
    ("02_road", "The road", "what does the road ask, in newtons?"),
    ("03_magnets", "Magnets", "which field will the coils see, and what else do magnets do?"),
    ("03_winding", "The winding", "how many turns of which wire?"),
    ("04_controller", "The controller", "which limits, and where does it cut off?"),
    ("05_gearing", "Gearing", "which sprocket, and will it climb?"),
    ("06_ride", "The ride", "does it make the trip, and what ends it?"),
    ("07_charging", "Charging", "how long, to which volts, from what?"),
    ("08_regeneration", "Regeneration", "what comes back downhill?"),
    ("09_tests_and_logs", "Tests and logs", "what did the log tell, and how sure is it?"),
    ("10_trade_offs", "Trade-offs", "what does each choice gain and cost?"),
    ("11_build_sheet", "The build sheet", "what goes onto the bench and into the firmware?"),
)


@dataclass(frozen=True)
class Row:
    """One question: the page that answers it and its equations, by their names in the package."""

    asked: str
    page: str
    equations: tuple[str, ...] = ()


QUESTIONS = (
    Row(
        "How much energy is one trip, before I choose anything?",
        "00_start",
        ("road.lift_energy", "road.rolling_force", "road.air_force", "road.kinetic_energy"),
    ),
    Row(
        "Is the hill or the distance my hard part? What does the worst day ask?",
        "00_start",
        ("road.lift_energy", "road.rolling_force", "road.air_density"),
    ),
    Row("Who pushes it home?", "00_start", ("road.slope_force", "road.rolling_force")),
    Row("Supercapacitors or lithium?", "01_store", ("ragone.cells_by_energy", "ragone.cells_by_power", "ragone.lithium_energy")),
    Row("How many cells, charged to what?", "01_store", ("store.bank_capacitance", "store.usable_energy", "balance.weak_cell")),
    Row("Why does it stop with energy left in it?", "01_store", ("store.usable_share", "store.voltage_under_power")),
    Row("Where do I set the volts at which it stops?", "01_store", ("store.collapse_voltage", "lithium.compensated_stop")),
    Row(
        "How many volts can the worst cell see?",
        "01_store",
        ("balance.weak_cell", "balance.floating_cell", "store.worst_cell_voltage"),
    ),
    Row(
        "How long does it hold its charge?",
        "01_store",
        ("balance.leak_resistance", "balance.decay_time", "store.slow_time_constant"),
    ),
    Row("What do the ohms cost? Which joint is bad?", "01_store", ("store.bank_resistance", "store.terminal_voltage")),
    Row(
        "What if it is shorted? Which fuse, which wire?",
        "01_store",
        ("store.short_circuit_current", "wiring.short_i2t", "wiring.adiabatic_limit", "wiring.fuse_rating"),
    ),
    Row(
        "Which power at my speed, on my hill, in this wind?",
        "02_road",
        ("road.rolling_force", "road.slope_force", "road.air_force", "road.wheel_power"),
    ),
    Row("How many watt-hours for each kilometre?", "02_road", ("road.energy_per_distance",)),
    Row(
        "How fast if the brakes fail? Will it tip? How soon does it stop?",
        "02_road",
        ("coasting.terminal_speed", "footing.tip_acceleration", "footing.tip_speed", "footing.stopping_distance"),
    ),
    Row(
        "How far does it roll, and what does that tell of the tyres?",
        "02_road",
        ("coasting.coasting_distance", "coasting.coasting_time"),
    ),
    Row("Do the driven wheels grip?", "02_road", ("footing.rear_traction",)),
    Row(
        "Which field will my coils see?",
        "03_magnets",
        ("magnets.axis_field", "magnets.wave_number", "magnets.two_rotor_transfer", "magnets.backed_transfer"),
    ),
    Row(
        "Will magnets fly off, lose strength, crush me?",
        "03_magnets",
        ("rotor_forces.centrifugal_force", "demagnetising.knee_temperature", "rotor_forces.magnetic_pressure"),
    ),
    Row("What metal may stand near the magnets?", "03_magnets", ("eddies.critical_speed", "eddies.sheet_drag", "stray.soft_pull")),
    Row(
        "How many turns for my speed?",
        "03_winding",
        ("winding.coil_constant", "winding.phase_constant", "motor.six_step_constant", "motor.no_load_speed"),
    ),
    Row("How many coils for my magnets?", "03_winding", ("winding.distribution_factor", "winding.pitch_factor")),
    Row("Which wire, and does it fit?", "03_winding", ("winding.copper_fill", "winding.coil_resistance", "winding.winding_length")),
    Row("Is my motor as designed, or as its sheet says?", "03_winding", ("motor.six_step_constant", "motor.no_load_speed")),
    Row("Did I count the turns right?", "03_winding", ("winding.winding_mass", "winding.coil_resistance")),
    Row(
        "Will it start from any angle of the rotor?",
        "03_winding",
        ("start_load.starting_torque", "start_load.shaft_inertia", "turning.dead_share", "turning.creeping_share",
         "turning.six_step_least"),
    ),
    Row("How hot does the coil get?", "03_winding", ("motor.copper_loss", "motor.winding_resistance_hot", "motor.steady_rise")),
    Row("Why is there drag with no current?", "03_winding", ("motor.motor_drag", "eddies.strand_eddy_loss")),
    Row("How far off may the position sensor be?", "04_controller"),
    Row("What must my loop keep up with?", "04_controller"),
    Row("Which switching frequency?", "04_controller"),
    Row(
        "Which current is in the transistors, which in the bank?",
        "04_controller",
        ("controller.bus_current", "controller.current_at_duty", "controller.bus_power"),
    ),
    Row(
        "Which sprocket? Will it climb?",
        "05_gearing",
        ("gearing.gear_ratio", "gearing.drive_force", "gearing.gradeability", "gearing.ratio_bound"),
    ),
    Row(
        "Does it fit: chain, wheel, frame? How hard does the chain pull?",
        "05_gearing",
        ("chains.chain_pitch_diameter", "chains.chain_links", "chains.ripple", "chains.chain_tension", "chains.chain_safety"),
    ),
    Row("How fast is it when the store is low?", "05_gearing", ("gearing.motor_speed", "motor.back_emf")),
    Row(
        "Does it make the trip, and what will the log look like?",
        "06_ride",
        ("road.effective_mass", "motor.shaft_torque", "controller.bus_power", "store.voltage_under_power"),
    ),
    Row("What ends it, and what would have saved it?", "06_ride", ("store.usable_energy", "controller.current_for_power")),
    Row("How long to charge at one ampere?", "07_charging", ("chargers.constant_current_charge_time",)),
    Row("Can I charge from my battery?", "07_charging", ("chargers.source_current", "chargers.charges_per_source")),
    Row(
        "What does braking give back, and from which speed?",
        "08_regeneration",
        (
            "regeneration.recovered_power",
            "regeneration.best_braking_current",
            "regeneration.paying_speed",
            "regeneration.diode_speed",
        ),
    ),
    Row(
        "Can the store be over-charged downhill? Will it hold me on the ramp?",
        "08_regeneration",
        ("regeneration.start_voltage", "regeneration.fading_speed"),
    ),
    Row(
        "How much of a hill, of a stop, do I get back?",
        "08_regeneration",
        (
            "regeneration.recovered_share",
            "regeneration.stop_energy",
            "regeneration.charge_over_lift",
            "regeneration.store_over_climb",
            "regeneration.saved_over_round_trip",
        ),
    ),
    Row(
        "What did the log tell me of ohms, tyres, air, motor?",
        "09_tests_and_logs",
        ("cell_check.window_capacitance", "cell_check.step_resistance"),
    ),
    Row("How sure is it?", "09_tests_and_logs"),
    Row("Which choice gains the most, and what does it cost?", "10_trade_offs"),
    Row("What do I take to the bench?", "11_build_sheet"),
)


def is_there(page: str) -> bool:
    """Whether the notebook of a page is there."""
    return (Path(data.FOLDER).resolve().parent / "notebooks" / f"{page}.ipynb").is_file()


class JobMap:
    """The map as the last line of a cell: each page with its questions and the equations under them."""

    def __repr__(self) -> str:
        return "\n".join(f"{row.page}: {row.asked}" for row in QUESTIONS)

    def _repr_markdown_(self) -> str:
        return "\n\n".join(_page(*page) for page in PAGES)


def _page(stem: str, title: str, purpose: str) -> str:
    number = int(stem[:2])
    head = f"**{number} · [{title}]({stem}.ipynb)**" if is_there(stem) else f"**{number} · {title}** (not yet)"
    return "\n".join([f"{head}: {purpose}\n", *(_row(row) for row in QUESTIONS if row.page == stem)])


def _row(row: Row) -> str:
    answers = "; ".join(f"{_short(e)} ({e.tag})" for e in map(equation_of, row.equations))
    return f"- {row.asked}" + (f" <small>{answers}</small>" if answers else "")


def equation_of(name: str) -> Equation:
    """An equation by its name in the package, such as "road.air_force"."""
    stage, _, last = name.partition(".")
    found = getattr(importlib.import_module(f"evlab.{stage}"), last)
    if not isinstance(found, Equation):
        raise TypeError(f"{name} is no equation")
    return found


def _short(e: Equation) -> str:
    """The first words of its title, up to the colon."""
    return re.split("[:;,]", e.title)[0].rstrip(".").replace("*", r"\*")
