"""Winding: wire, turns, resistance, constants and inductance of coils, and how they are joined.

Counts (turns, strands, coils) enter the equations as plain numbers above zero, so that a page can slide over them.
"""

from __future__ import annotations

import sympy

from evlab.equation import Equation

__all__ = [
    "coil_constant", "coil_inductance", "coil_resistance", "copper_fill", "current_density", "current_ripple", "delta_constant",
    "delta_resistance", "distribution_factor", "gauge_diameter", "line_inductance", "line_resistance", "mean_radius",
    "phase_constant", "phase_resistance", "pitch_factor", "ripple_factor", "strand_area",
    "winding_length", "winding_mass",
]

_COPPER = "copper at 20 °C; 0.4 % more for each kelvin"
_SINE = "the fundamental of the flux, which is nearly all of it in coils without iron that fill their pitch"
_STRAIGHT = "constant volts over a period, ripple so fast that resistance does not bend it (period well below L/R)"

# ---------------------------------------------------------------- wire and copper
gauge_diameter = Equation(
    "winding.gauge_diameter", "wire_diameter",
    lambda gauge_36_diameter, gauge: gauge_36_diameter * sympy.Integer(92)**((36 - gauge) / 39),
    title="Diameter of American wire gauge: 39 steps from gauge 36 make wire 92 times as thick.", source=("astm-b258",), tag="M16",
    within="gauges 0 to 40; tables round to a tenth of a mil")

strand_area = Equation(
    "winding.strand_area", "strand_area", lambda wire_diameter: sympy.pi / 4 * wire_diameter**2,
    title="Section of the copper of one strand.", source=("definition",), tag="M15", within="round wire, bare diameter")

coil_resistance = Equation(
    "winding.coil_resistance", "coil_resistance",
    lambda copper_resistivity, turns, mean_turn, strands, strand_area:
        copper_resistivity * turns * mean_turn / (strands * strand_area),
    title="Resistance of one coil.", source=("iec-60028",), tag="M15", within=f"{_COPPER}; direct current")

phase_resistance = Equation(
    "winding.phase_resistance", "phase_resistance", lambda coils_in_series, coil_resistance: coils_in_series * coil_resistance,
    title="Coils of one phase, one behind the other.", source=("circuits",), tag="M15", within=_COPPER)

line_resistance = Equation(
    "winding.line_resistance", "winding_resistance",
    lambda phase_resistance, lead_resistance: 2 * phase_resistance + lead_resistance,
    title="Resistance between two lines of a star: two phases and the leads.", source=("circuits",), tag="M15",
    within=f"star; {_COPPER}")

winding_length = Equation(
    "winding.winding_length", "winding_length",
    lambda coils, turns, strands, mean_turn, tail_share: coils * turns * strands * mean_turn * (1 + tail_share),
    title="Wire to buy: all strands of all coils, and their tails.", source=("definition", "common practice"), tag="M15",
    within="tails and joints of 5 % are common practice, no source")

winding_mass = Equation(
    "winding.winding_mass", "winding_mass",
    lambda copper_density, strand_area, winding_length: copper_density * strand_area * winding_length,
    title="Copper of the winding; enamel adds some 2 %.", source=("copper-heat",), tag="M15", within="bare copper")

copper_fill = Equation(
    "winding.copper_fill", "copper_fill",
    lambda turns, strands, strand_area, side_width, coil_thickness:
        turns * strands * strand_area / (side_width * coil_thickness),
    title="Share of the window that is copper.", source=("definition",), tag="M16",
    within="by hand at random 0.40 to 0.50, in careful layers 0.50 to 0.60 (common practice, no source)")

current_density = Equation(
    "winding.current_density", "current_density",
    lambda motor_current, strands, strand_area: motor_current / (strands * strand_area),
    title="Current through each square millimetre of copper.", source=("definition",), tag="M15",
    within="continuously 3 to 5 A/mm2 in a closed coil, 6 to 10 in moving air (common practice, no source)")

# ---------------------------------------------------------------- constants
coil_constant = Equation(
    "winding.coil_constant", "coil_constant", lambda turns, turn_flux, pole_pairs: turns * turn_flux * pole_pairs,
    title="EMF of one coil, for each radian per second: turns, flux and pairs of poles.", source=("machines",), tag="M9",
    within=_SINE)

phase_constant = Equation(
    "winding.phase_constant", "phase_constant",
    lambda coils_in_series, distribution_factor, coil_constant: coils_in_series * distribution_factor * coil_constant,
    title="Coils of one phase add up, as far as they point the same way.", source=("machines",), tag="M9", within=_SINE)

pitch_factor = Equation(
    "winding.pitch_factor", "pitch_factor", lambda mean_width, pole_pitch: sympy.sin(sympy.pi * mean_width / (2 * pole_pitch)),
    title="What a coil narrower or wider than a pole takes of the flux.", source=("machines",), tag="M10", bracketed=True,
    within="the true width of the mean turn, not the share of the circle that a coil has")

distribution_factor = Equation(
    "winding.distribution_factor", "distribution_factor",
    lambda phases, phasor_directions:
        sympy.sin(sympy.pi / (2 * phases)) / (phasor_directions * sympy.sin(sympy.pi / (2 * phases * phasor_directions))),
    title="Phasors that are spread evenly over the belt of one phase, added up.", source=("star-of-slots", "machines"), tag="M10",
    bracketed=True, within="a symmetrical star; belts of 60° for three phases, 90° for two, 180° for one")

delta_constant = Equation(
    "winding.delta_constant", "delta_constant", lambda motor_constant: motor_constant / sympy.sqrt(3),
    title="The same coils in delta: less torque for each amp, more speed for each volt.", source=("machines",), tag="M14",
    within="three phases; a third harmonic of the EMF would drive a current round the delta")

delta_resistance = Equation(
    "winding.delta_resistance", "delta_resistance", lambda winding_resistance: winding_resistance / 3,
    title="The same coils in delta, between two lines: one phase beside the two others.", source=("circuits",), tag="M14",
    within="three equal phases; leads left out")

# ---------------------------------------------------------------- inductance and ripple
mean_radius = Equation(
    "winding.mean_radius", "mean_radius", lambda mean_turn: mean_turn / (2 * sympy.pi),
    title="Radius of the round coil whose mean turn is as long.", source=("definition",), tag="M19",
    within="coils not much longer than wide: a round one has more inductance than another of the same length of turn")

coil_inductance = Equation(
    "winding.coil_inductance", "coil_inductance",
    lambda wheeler_constant, turns, mean_radius, coil_thickness, side_width:
        wheeler_constant * turns**2 * mean_radius**2 / (6 * mean_radius + 9 * coil_thickness + 10 * side_width),
    title="Inductance of a coil of many layers, without iron.", source=("wheeler",), tag="M19",
    within="within some 1 to 2 % where the three terms of the denominator are alike; ten per cent off where one is small")

line_inductance = Equation(
    "winding.line_inductance", "line_inductance", lambda coils_in_series, coil_inductance: 2 * coils_in_series * coil_inductance,
    title="Inductance between two lines of a star.", source=("circuits",), tag="M19",
    within="star; what neighbouring coils do to one another left out")

current_ripple = Equation(
    "winding.current_ripple", "current_ripple",
    lambda voltage, duty, line_inductance, switching_frequency:
        voltage * duty * (1 - duty) / (line_inductance * switching_frequency),
    title="Ripple of the current at the switching frequency.", source=("power-electronics",), tag="M20",
    limits={"duty": (0.0, 1.0)}, within=f"one half bridge switches; {_STRAIGHT}")

ripple_factor = Equation(
    "winding.ripple_factor", "ripple_factor",
    lambda current_ripple, motor_current: 1 + current_ripple**2 / (12 * motor_current**2),
    title="Heat of a current with a ripple of straight lines, over that of its mean.", source=("power-electronics",), tag="M20",
    within="straight up and straight down, at any duty; current that never stops")
