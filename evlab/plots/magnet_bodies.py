"""What magnets do to bodies about them, and heat to magnets: pull, counter-field against the knee, steel, small parts, plates."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import Build, Look, Update, limit, setting, shown
from evlab.magnet_case import AWAY, HEATS, LINK, THICKEST
from evlab.plots.chart import Axis, Chart
from evlab.plots.magnet_ranges import MagnetRanges
from evlab.rotor_forces import FULL_STEEL
from evlab.stray import PARTS as STEEL_PARTS
from evlab.units import rad_s_to_rpm

PLACES = {"alone, in its middle": "lone_middle", "alone, at its face": "lone_face", "in its place, at its face": "placed_face",
          "in its place, by hand without leakage": "placed_hand"}
TOLD = {"lone_middle": "alone,\nmiddle", "lone_face": "alone, face", "placed_face": "in its place", "placed_hand": "by hand"}
PARTS = ("stray_screw", "stray_spanner", "stray_rule", "stray_nut", "stray_chain")
KILO = 1e-3


# ---------------------------------------------------------------- pull
def rotor_pull(ranges: MagnetRanges) -> Build:
    """Pull between the rotors (or rotor and plate) against the gap, with the gap of the vehicle.

    Parameters: ranges, by gap and pull.  Its update takes a MagnetCase, by .pull_curve, .pull, .winding.
    Returns build(figure, look) for a figure of at least 5 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        chart = Chart(figure, look, Axis.even(0.0, 1e3 * ranges.gap, 7), Axis.even(0.0, ranges.pull, 6),
                      ("gap from face to face, mm", "Pull across the gap, N"), right=90, left=62)  # fmt: skip

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            _spin(chart, case, ranges)
            if case.pull is None:
                reading = "Nothing is across the magnets, so nothing pulls the rotor along the shaft."
                return f"{reading} {' '.join(spin_lines(case))}", reading
            if pinned is not None and pinned.pull is not None:
                chart.curve("rotor_pull", 1e3 * pinned.pull_curve[0], np.minimum(pinned.pull_curve[1], ranges.pull), ghost=True)
            gaps, pulls = case.pull_curve
            chart.curve("rotor_pull", 1e3 * gaps[pulls <= ranges.pull], pulls[pulls <= ranges.pull], wide=2.4)
            here, now = 1e3 * case.winding.gap, case.pull.force
            chart.line([here] * 2, chart.axes.get_ylim(), (0, (1.1, 2.2)))
            chart.axes.plot([here], [now], marker="o", ms=8, mfc=look.paper, mec=look.ink, mew=1.8, ls="", zorder=4)
            chart.say(here + 0.02e3 * ranges.gap, now + 0.04 * ranges.pull, shown(now, "N"), bold=True, over=True)
            reading = pull_reading(case)
            return f"Pull over the gap from face to face. {reading} {' '.join(spin_lines(case))}", reading

        return update

    return build


def _spin(chart: Chart, case: Any, ranges: MagnetRanges) -> None:
    """What the turning rotor bears, in the corner where no curve runs."""
    for row, words in enumerate(spin_lines(case)):
        chart.say(0.995 * 1e3 * ranges.gap, (0.95 - 0.06 * row) * ranges.pull, words, ha="right", bold=row == 0, over=True)


def spin_lines(case: Any) -> tuple[str, ...]:
    """Speed, force on a magnet, glue, rim and energy, a line each."""
    held = case.spinning
    return (f"At {shown(case.speed, 'rad/s')}, {shown(rad_s_to_rpm(case.speed), 'rpm')}:",
            f"each magnet flies out with {shown(held['centrifugal_force'], 'N')},",
            f"{shown(1e-3 * held['glue_shear'], 'kPa')} in its glue;",
            f"rim {shown(held['rim_speed'], 'm/s')}, {shown(1e-6 * held['hoop_stress'], 'MPa')} at the disc's hole;",
            f"{shown(held['kinetic_energy'], 'J')} turn, as a kilogram dropped",
            f"from {shown(held['kinetic_energy'] / 9.80665, 'm')}.")


def pull_reading(case: Any) -> str:
    """Pull, share of a magnet, and what a millimetre less does, in one sentence."""
    now, closer = case.pull.force, case.pull.at(case.winding.gap - 0.001)
    return (f"At {shown(1e3 * case.winding.gap, 'mm')} it pulls with {shown(now, 'N')}, as {shown(now / 9.80665, 'kg')} would "
            "weigh: "
            f"{shown(case.pull.per_magnet, 'N')} for each magnet. A millimetre closer it is {shown(closer, 'N')}: use jacking "
            "screws "
            "and spacers, never hands.")


# ---------------------------------------------------------------- heat
def magnet_heat(ranges: MagnetRanges) -> Build:
    """Field against a magnet, alone and in its place, and the knee of its grade, over its temperature.

    Parameters: ranges, by counter.  Its update takes a MagnetCase, by .over_heat, .points and .temperature.
    Returns build(figure, look) for a figure of at least 5 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        low, high = (t - 273.15 for t in HEATS)
        chart = Chart(figure, look, Axis.even(low, high, 6), Axis.even(0.0, KILO * ranges.counter, 6),
                      ("temperature of the magnets, °C", "Field against the magnet, kA/m"), right=154, left=62)  # fmt: skip

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            heats, knee, fields = case.over_heat
            if pinned is not None:
                chart.curve("knee", pinned.over_heat[0] - 273.15, KILO * pinned.over_heat[1], ghost=True)
            labels = []
            chart.curve("knee", heats - 273.15, KILO * knee, wide=2.6)
            chart.axes.fill_between(heats - 273.15, KILO * knee, KILO * ranges.counter, color=look.band, zorder=1)
            for place, field in fields.items():
                name = PLACES[place]
                if name in ("lone_middle", "placed_hand"):
                    continue  # readouts tell them; two lines show what matters
                chart.curve(name, heats - 273.15, KILO * field)
                labels.append((KILO * float(field[-1]), TOLD[name], look.text(name), True))
            warm = case.temperature - 273.15
            chart.line([warm] * 2, chart.axes.get_ylim(), (0, (1.1, 2.2)))
            chart.beside([*labels, (KILO * float(knee[-1]), "knee: above,\nit loses for good", look.ink, True)])
            reading = heat_reading(case)
            return f"Field against the magnet over its temperature, and the knee of its grade. {reading}", reading

        return update

    return build


def heat_reading(case: Any) -> str:
    """At which temperature the lone and the built-in magnet meet the knee, in one sentence."""
    alone, there = case.points[1], case.points[2]
    loose = alone.hottest < there.hottest
    worse = "Worst is the loose magnet, before it is built in." if loose else "In its place it stands worst."
    return (f"Grade {case.grade.name}: alone it meets the knee at about {shown(alone.hottest - 273.15, '°C', figures=2)}, in its "
            "place at "
            f"{shown(there.hottest - 273.15, '°C', figures=2)}. {worse}")


# ---------------------------------------------------------------- steel
def steel_behind(ranges: MagnetRanges) -> Build:
    """Flux density that the steel behind the magnets would have to carry, over its thickness, with what mild steel bears.

    Parameters: ranges, of which nothing is needed.  Its update takes a MagnetCase, by .steel_curve, .steel and .steel_words.
    Returns build(figure, look) for a figure of at least 5 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        chart = Chart(figure, look, Axis.even(0.0, 1e3 * THICKEST, 7), Axis.even(0.0, 3.0, 6),
                      ("thickness of the steel behind each ring, mm", "Flux density in it, T"), right=120, left=52)  # fmt: skip
        bound = limit(chart.axes, look)

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            bound(FULL_STEEL)
            labels = [(FULL_STEEL, "mild steel\ncarries easily", look.ink2, False)]
            if pinned is not None and pinned.has_steel:
                chart.curve("steel_load", 1e3 * pinned.steel_curve[0], np.minimum(pinned.steel_curve[1], 3.0), ghost=True)
            if case.has_steel:
                thick, load = case.steel_curve
                inside = load <= 3.0
                chart.curve("steel_load", 1e3 * thick[inside], load[inside], wide=2.4)
                labels.append((float(load[-1]), "would have\nto carry", look.text("steel_load"), True))
                if case.steel <= 3.0:
                    here = 1e3 * case.build.steel_thickness
                    chart.axes.plot([here], [case.steel], marker="o", ms=8, mfc=look.paper, mec=look.ink, mew=1.8, ls="", zorder=4)
            chart.beside(labels)
            return f"Flux density in the steel over its thickness. {case.steel_words}", case.steel_words

        return update

    return build


# ---------------------------------------------------------------- small parts
def stray_pull(ranges: MagnetRanges) -> Build:
    """Pull on small steel parts over their own weight, against their distance; where it meets the weight they begin to fly.

    Parameters: ranges, of which nothing is needed.  Its update takes a MagnetCase, by .stray, .clear and .way.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        chart = Chart(figure, look, Axis.log(1e3 * AWAY[0], 1e3 * AWAY[1], [(v, setting(v)) for v in (1, 3, 10, 30, 100, 300)]),
                      Axis.log(1e-3, 1e3), ("distance, mm", "Pull, as a multiple of the part's weight"), right=150)  # fmt: skip
        chart.line([0.0, 3.0], [0.0, 0.0])

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            if pinned is not None:
                x, y = np.log10(1e3 * pinned.stray[0]), np.log10(np.maximum(pinned.stray[1][LINK], 1e-6))
                chart.curve("stray_chain", x[np.abs(y) <= 3.0], y[np.abs(y) <= 3.0], ghost=True)
            labels = []
            for stroke, (name, pull) in zip(PARTS, case.stray[1].items(), strict=True):
                x, y = np.log10(1e3 * case.stray[0]), np.log10(np.maximum(pull, 1e-6))
                inside = (y >= -3.0) & (y <= 3.0)
                if inside.any():
                    chart.curve(stroke, x[inside], y[inside])
                    labels.append((float(np.interp(1.0, x, y)), name.replace(LINK, "link of chain 06B"),
                                   look.text(stroke), False))
            chart.beside([(y, words, colour, bold) for y, words, colour, bold in labels])
            chart.say(math.log10(1.1), 0.12, "lifted by the magnets", over=True)
            held = math.log10(case.hold / STEEL_PARTS[LINK].weight)
            chart.line([0.0, math.log10(1e3 * AWAY[1])], [held] * 2, (0, (1.1, 2.2)))
            chart.say(math.log10(290.0), held + 0.12, f"a link held with {shown(case.hold, 'N')}", ha="right", over=True)
            reading = stray_reading(case)
            return f"Pull on small steel parts over the distance. {reading}", reading

        return update

    return build


def stray_reading(case: Any) -> str:
    """How far parts must stay away, in one sentence."""
    far = max(case.clear, key=lambda name: case.clear[name])
    chain = case.clear[LINK]
    first = "" if far == LINK else f"a {far} flies to the magnets from {shown(1e3 * case.clear[far], 'mm', figures=2)}; "
    return (f"{case.way.capitalize()}, {first}a slack run of chain lifts from {shown(1e3 * chain, 'mm', figures=2)}, so keep it "
            f"farther away, or taut: a link held with {shown(case.hold, 'N')} may come to "
            f"{shown(1e3 * case.taut, 'mm', figures=2)}.")


# ---------------------------------------------------------------- metal plates
def plate_drag(ranges: MagnetRanges) -> Build:
    """Power that a metal plate near the turning magnets takes, against its distance: whole, and slit into strips.

    Parameters: ranges, of which nothing is needed.  Its update takes a MagnetCase, by .plate_curve, .plate_of, .speed and .strip.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        chart = Chart(figure, look, Axis.even(0.0, 1e3 * ranges.away, 7), Axis.log(0.1, 1e5),
                      ("distance of the plate from the magnets, mm", "Power it takes, W"), right=24, left=62)  # fmt: skip

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            chart.begin(pinned)
            rows = [] if pinned is None else [(pinned, True)]
            for one, ghost in (*rows, (case, False)):
                away, whole, slit = one.plate_curve
                for name, watts, words in (("plate_whole", whole, "whole plate"), ("plate_slit", slit, "slit into strips")):
                    seen = watts > 0.1
                    if seen.any():
                        x, y = 1e3 * away[seen], np.log10(watts[seen])
                        chart.curve(name, x, y, ghost=ghost)
                        if not ghost:
                            far = float(x[0]) > 0.8 * 1e3 * ranges.away  # a curve of a few places only, near the edge
                            chart.say(float(x[-1] if far else x[0]), min(float(y[0]) + 0.2, 4.85), words, look.text(name),
                                      ha="right" if far else "left", bold=name == "plate_whole", over=True)
            here = 1e3 * case.plate_of[0]
            chart.line([here] * 2, chart.axes.get_ylim(), (0, (1.1, 2.2)))
            reading = plate_reading(case)
            return f"Power lost in a plate over its distance. {reading}", reading

        return update

    return build


def plate_reading(case: Any) -> str:
    """What the plate asked for takes, in one sentence."""
    distance, thick, metal = case.plate_of
    watts, slit = case.plate_loss
    what = f"{shown(1e3 * thick, 'mm', figures=2)} of {metal} at {shown(1e3 * distance, 'mm', figures=2)}"
    if case.plate is None:
        return f"{what} does not fit into a gap of {shown(1e3 * case.sound.gap, 'mm')}."
    if not watts > 0:
        return f"{what}: nothing is lost, since it does not conduct."
    return (f"{what} takes {shown(watts, 'W')} at {shown(case.speed, 'rad/s')}, a torque of {shown(watts / case.speed, 'N·m')}, "
            "current or "
            f"not; slit into strips of {shown(1e3 * case.strip, 'mm', figures=2)} {shown(slit, 'W')}.")
