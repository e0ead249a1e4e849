"""Two routes to one number, for every equation of winding: ladders, quadrature, circuits solved as linear systems, simulation."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq
from scipy.special import ellipe, ellipk

from . import Route

ROUTES: list[Route] = []
MU0 = 1.25663706127e-6
AREA = math.pi / 4 * 1e-6


def _route(equation: str, words: str, inputs: Mapping[str, float], within: float = 1e-9, why: str = "") -> Callable[..., None]:
    def keep(other: Callable[..., float]) -> None:
        ROUTES.append(Route(f"winding.{equation}", words, inputs, other, within, why))

    return keep


@_route("gauge_diameter", "from the two wires that fix the gauge (0000: 0.46 inch, 36: 0.005 inch), by logarithms",
        {"gauge": 18.0})  # fmt: skip
def _(gauge: float) -> float:
    return math.exp(np.interp(gauge, [-3.0, 36.0], [math.log(0.46 * 0.0254), math.log(0.005 * 0.0254)]))


@_route("strand_area", "rings of the circle, summed by quadrature", {"wire_diameter": 0.001})
def _(wire_diameter: float) -> float:
    return quad(lambda r: 2 * math.pi * r, 0.0, wire_diameter / 2, epsabs=1e-20)[0]


@_route("coil_resistance", "each turn of each strand is a resistor: turns in a row, strands side by side",
        {"turns": 26.0, "mean_turn": 0.15948, "strands": 4.0, "strand_area": AREA})  # fmt: skip
def _(turns: float, mean_turn: float, strands: float, strand_area: float) -> float:
    strand = sum(mean_turn / (58e6 * strand_area) for _ in range(round(turns)))
    return 1 / sum(1 / strand for _ in range(round(strands)))


@_route("phase_resistance", "volts over a row of coils at one amp", {"coils_in_series": 3.0, "coil_resistance": 0.0228})
def _(coils_in_series: float, coil_resistance: float) -> float:
    return float(np.sum(np.full(round(coils_in_series), coil_resistance) * 1.0))


def _between_lines(branches: list[tuple[int, int, float]], nodes: int) -> float:
    """Resistance between nodes 0 and 1 of a net, by its nodal equations."""
    net = np.zeros((nodes, nodes))
    for a, b, ohm in branches:
        for i, j in ((a, b), (b, a)):
            net[i, i] += 1 / ohm
            net[i, j] -= 1 / ohm
    volts = np.linalg.solve(net[1:, 1:], np.array([-1.0] + [0.0] * (nodes - 2)))
    return -float(volts[0])


@_route("line_resistance", "nodal equations of a star whose third line hangs free",
        {"phase_resistance": 0.0683, "lead_resistance": 0.010})  # fmt: skip
def _(phase_resistance: float, lead_resistance: float) -> float:
    arms = [(line, 3, phase_resistance + lead_resistance / 2) for line in range(3)]
    return _between_lines(arms, 4)


@_route("delta_resistance", "nodal equations of the star and of the delta of the same phases", {"winding_resistance": 0.1365})
def _(winding_resistance: float) -> float:
    phase = brentq(lambda r: _between_lines([(line, 3, r) for line in range(3)], 4) - winding_resistance, 1e-6, 10.0, xtol=1e-16)
    return _between_lines([(0, 1, phase), (1, 2, phase), (2, 0, phase)], 3)


@_route("delta_constant", "mean over the sixty degrees of each line-to-line EMF, star against delta, by quadrature",
        {"motor_constant": 0.346})  # fmt: skip
def _(motor_constant: float) -> float:
    def mean(line: Callable[[float], float]) -> float:
        return max(quad(line, s, s + math.pi / 3, epsabs=1e-14)[0] for s in np.arange(0, math.tau, math.pi / 6)) / (math.pi / 3)

    star = mean(lambda x: math.sin(x) - math.sin(x - 2 * math.pi / 3))
    return motor_constant * mean(math.sin) / star


@_route("winding_length", "counted wire by wire, tails added", {"coils": 9.0, "turns": 26.0, "strands": 4.0, "mean_turn": 0.15948})
def _(coils: float, turns: float, strands: float, mean_turn: float) -> float:
    wires = [mean_turn for _c in range(round(coils)) for _t in range(round(turns)) for _s in range(round(strands))]
    return math.fsum(wires) + 0.05 * math.fsum(wires)


@_route("winding_mass", "copper's cylinder, by quadrature over its section", {"strand_area": AREA, "winding_length": 149.3})
def _(strand_area: float, winding_length: float) -> float:
    radius = math.sqrt(strand_area / math.pi)
    return winding_length * quad(lambda r: 8890.0 * math.tau * r, 0.0, radius, epsabs=1e-18)[0]


@_route("copper_fill", "copper in a metre of the side over what would fill it, by mass",
        {"turns": 26.0, "strands": 4.0, "strand_area": AREA, "side_width": 0.015, "coil_thickness": 0.011})  # fmt: skip
def _(turns: float, strands: float, strand_area: float, side_width: float, coil_thickness: float) -> float:
    return sum(8890.0 * strand_area for _ in range(round(turns * strands))) / (8890.0 * side_width * coil_thickness)


@_route("current_density", "the current of one strand over its section", {"motor_current": 25.0, "strands": 4.0,
                                                                          "strand_area": AREA})  # fmt: skip
def _(motor_current: float, strands: float, strand_area: float) -> float:
    return (motor_current / strands) / strand_area


@_route("coil_constant", "slope of the linked flux where it is steepest, by differences",
        {"turns": 26.0, "turn_flux": 0.00045, "pole_pairs": 6.0}, 1e-7, "a slope by differences")  # fmt: skip
def _(turns: float, turn_flux: float, pole_pairs: float) -> float:
    step = 1e-5
    return turns * turn_flux * (math.cos(pole_pairs * (-step) - math.pi / 2) - math.cos(pole_pairs * step - math.pi / 2)) / (
        -2 * step)


@_route("phase_constant", "phasors of coils that stand 20 degrees apart, added as arrows",
        {"coils_in_series": 3.0, "distribution_factor": (1 + 2 * math.cos(math.pi / 9)) / 3, "coil_constant": 0.072})  # fmt: skip
def _(coils_in_series: float, distribution_factor: float, coil_constant: float) -> float:
    spread = math.acos((3 * distribution_factor - 1) / 2)
    return abs(sum(coil_constant * np.exp(1j * spread * (i - 1)) for i in range(round(coils_in_series))))


@_route("pitch_factor", "flux of a sine field through the coil over that through a whole pole, by quadrature",
        {"mean_width": 0.0375, "pole_pitch": 0.040841})  # fmt: skip
def _(mean_width: float, pole_pitch: float) -> float:
    def through(width: float) -> float:
        return quad(lambda x: math.cos(math.pi * x / pole_pitch), -width / 2, width / 2, epsabs=1e-14)[0]

    return through(mean_width) / through(pole_pitch)


@_route("distribution_factor", "unit phasors over the belt, added as arrows", {"phases": 3.0, "phasor_directions": 3.0})
def _(phases: float, phasor_directions: float) -> float:
    count = round(phasor_directions)
    angles = math.pi / phases * (np.arange(count) + 0.5) / count
    return abs(np.exp(1j * angles).sum()) / count


@_route("mean_radius", "the circle of that length, searched", {"mean_turn": 0.15948})
def _(mean_turn: float) -> float:
    return brentq(lambda r: quad(lambda t: r, 0.0, math.tau)[0] - mean_turn, 1e-4, 1.0, xtol=1e-16)


def _mutual(a: float, b: float, away: float) -> float:
    m = 4 * a * b / ((a + b) ** 2 + away**2)
    k = math.sqrt(m)
    return MU0 * math.sqrt(a * b) * ((2 / k - k) * ellipk(m) - 2 / k * ellipe(m))


@_route("coil_inductance", "filaments of the section, each pair by Maxwell's elliptic integrals",
        {"turns": 26.0, "mean_radius": 0.030, "coil_thickness": 0.015, "side_width": 0.015}, 1.5e-3,
        "Wheeler's formula is good to 1 %; for this shape to 0.1 %, for the demonstration coil it is 0.4 % low")  # fmt: skip
def _(turns: float, mean_radius: float, coil_thickness: float, side_width: float) -> float:
    n = 12
    places = (np.arange(n) + 0.5) / n - 0.5
    rows = [(mean_radius + side_width * x, coil_thickness * z) for x in places for z in places]
    near = 0.2235 * (side_width + coil_thickness) / n
    pairs = sum(_mutual(a, b, abs(u - v) if (a, u) != (b, v) else near) for a, u in rows for b, v in rows)
    return turns**2 * pairs / n**4


@_route("line_inductance", "volts for one amp a second over a row of coils", {"coils_in_series": 3.0, "coil_inductance": 49.2e-6})
def _(coils_in_series: float, coil_inductance: float) -> float:
    return float(np.sum(np.full(2 * round(coils_in_series), coil_inductance)))


@_route("current_ripple", "two straight slopes of the current simulated until they repeat",
        {"voltage": 35.0, "duty": 0.4, "line_inductance": 298e-6, "switching_frequency": 16e3}, 1e-8,
        "a solver of differential equations")  # fmt: skip
def _(voltage: float, duty: float, line_inductance: float, switching_frequency: float) -> float:
    back = duty * voltage  # the EMF that keeps the mean
    on = solve_ivp(lambda t, i: [(voltage - back) / line_inductance], (0.0, duty / switching_frequency), [0.0], rtol=1e-11)
    return float(on.y[0, -1])


@_route("ripple_factor", "mean square of a triangle about its mean, by quadrature", {"current_ripple": 20.0, "motor_current": 25.0})
def _(current_ripple: float, motor_current: float) -> float:
    square = quad(lambda s: (motor_current + current_ripple * (s - 0.5)) ** 2, 0.0, 1.0, epsabs=1e-12)[0]
    return square / motor_current**2
