"""Two routes to one number, for every equation of eddies, demagnetising, rotor forces, stray pull and heat.

The others are quadratures of the physics that a closed form sums up, differential equations solved step by step, and searches.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np
from scipy.integrate import dblquad, quad, solve_ivp
from scipy.optimize import brentq

from . import Route

ROUTES: list[Route] = []
MU0 = 4e-7 * math.pi
TEXTBOOK = "the permeability of empty space is taken as 4 pi 1e-7 here"
DISC = {"magnet_thickness": 0.010, "magnet_depth": 0.002, "magnet_radius": 0.015}


def _route(equation: str, words: str, inputs: Mapping[str, float], within: float = 1e-9, why: str = "") -> Callable[..., None]:
    def keep(other: Callable[..., float]) -> None:
        ROUTES.append(Route(equation, words, inputs, other, within, why))

    return keep


# ---------------------------------------------------------------- eddy currents
@_route("eddies.strand_eddy_loss", "heat of the induced field, summed over the round section",
        {"conductivity": 5.8e7, "electrical_speed": 360.0, "alternating_field": 0.5, "strand_diameter": 1e-3})  # fmt: skip
def _(conductivity: float, electrical_speed: float, alternating_field: float, strand_diameter: float) -> float:
    def at(y: float) -> float:
        chord = 2 * math.sqrt(max(strand_diameter**2 / 4 - y * y, 0.0))
        return conductivity * (electrical_speed * alternating_field * y) ** 2 / 2 * chord

    return 2 * quad(at, 0.0, strand_diameter / 2, epsabs=1e-16, epsrel=1e-12)[0]


@_route("eddies.skin_depth", "where the wave that solves the diffusion equation has fallen to 1/e",
        {"electrical_speed": 360.0, "conductivity": 5.8e7}, 1e-8, TEXTBOOK)  # fmt: skip
def _(electrical_speed: float, conductivity: float) -> float:
    gamma = np.sqrt(1j * electrical_speed * MU0 * conductivity)
    return brentq(lambda x: abs(np.exp(-gamma * x)) - math.exp(-1), 1e-6, 1.0, xtol=1e-15)


@_route("eddies.critical_speed", "where the drag of a thin sheet is largest, searched",
        {"conductivity": 2.5e7, "plate_thickness": 0.006}, 1e-6, "a flat top is found to half as many figures")  # fmt: skip
def _(conductivity: float, plate_thickness: float) -> float:
    from scipy.optimize import minimize_scalar

    def drag(speed: float) -> float:
        share = MU0 * conductivity * plate_thickness * speed / 2
        return -1e-3 * conductivity * plate_thickness * speed / (1 + share * share)

    return float(minimize_scalar(drag, bounds=(0.5, 100.0), method="bounded", options={"xatol": 1e-10}).x)


@_route("eddies.sheet_loss", "currents in the sheet and their own field, as complex numbers",
        {"conductivity": 2.5e7, "plate_thickness": 1e-3, "magnet_speed": 30.0, "plate_field": 0.3, "critical_speed": 63.66197724},
        1e-8, TEXTBOOK)  # fmt: skip
def _(conductivity: float, plate_thickness: float, magnet_speed: float, plate_field: float, critical_speed: float) -> float:
    # of a wave exp(i k (x - v t)): the sheet's current makes a field across itself of i mu0 K/2, and is driven by the whole field
    sheet = 2 / (MU0 * critical_speed)  # conductivity times thickness, out of the critical speed
    current = sheet * magnet_speed * plate_field / (1 + 0.5j * MU0 * sheet * magnet_speed)
    return abs(current) ** 2 / (2 * conductivity * plate_thickness)


@_route("eddies.sheet_drag", "power is force times speed", {"plate_loss": 4000.0, "magnet_speed": 5.0})
def _(plate_loss: float, magnet_speed: float) -> float:
    return brentq(lambda f: f * magnet_speed - plate_loss, 0.0, 1e6, xtol=1e-12)


@_route("eddies.slit_sheet_loss", "heat of the induced field, summed over the width of a strip",
        {"conductivity": 2.5e7, "electrical_speed": 360.0, "plate_field": 0.3, "piece_width": 0.004,
         "plate_thickness": 0.006})  # fmt: skip
def _(conductivity: float, electrical_speed: float, plate_field: float, piece_width: float, plate_thickness: float) -> float:
    def at(x: float) -> float:
        return conductivity * (electrical_speed * plate_field * x) ** 2 / 2

    return plate_thickness / piece_width * quad(at, -piece_width / 2, piece_width / 2, epsabs=1e-12)[0]


# ---------------------------------------------------------------- demagnetisation
def _face(away: float, radius: float) -> float:
    """Field across its middle of a disc of charge of one tesla, from rings."""
    if away == 0.0:
        return 0.5
    return quad(lambda s: away * s / (s * s + away * away) ** 1.5 / 2, 0.0, radius, epsabs=1e-14)[0]


@_route("demagnetising.disc_inner_field", "magnetic charges on the two faces, summed ring by ring", {"remanence": 1.30, **DISC})
def _(remanence: float, magnet_thickness: float, magnet_depth: float, magnet_radius: float) -> float:
    against = _face(magnet_depth, magnet_radius) + _face(magnet_thickness - magnet_depth, magnet_radius)
    return remanence * (1 - against)


@_route("demagnetising.disc_factor", "currents round the rim instead of charges on the faces", DISC)
def _(magnet_thickness: float, magnet_depth: float, magnet_radius: float) -> float:
    def loop(x: float) -> float:
        return magnet_radius**2 / (2 * (magnet_radius**2 + x * x) ** 1.5)

    return 1 - quad(loop, -magnet_depth, magnet_thickness - magnet_depth, epsabs=1e-14)[0]


@_route("demagnetising.block_factor", "magnetic charges on the two faces, summed square by square",
        {"magnet_width": 0.025, "magnet_length": 0.030, "magnet_thickness": 0.010, "magnet_depth": 0.004})  # fmt: skip
def _(magnet_width: float, magnet_length: float, magnet_thickness: float, magnet_depth: float) -> float:
    def face(away: float) -> float:
        inner = dblquad(lambda y, x: away / (x * x + y * y + away * away) ** 1.5, 0.0, magnet_width / 2, 0.0, magnet_length / 2,
                        epsabs=1e-12, epsrel=1e-12)  # fmt: skip
        return inner[0] / math.pi

    return face(magnet_depth) + face(magnet_thickness - magnet_depth)


@_route("demagnetising.lone_demagnetising_field", "line of the magnet and its own field, solved as two equations",
        {"demagnetising_factor": 0.684, "remanence": 1.30, "recoil_permeability": 1.05}, 1e-8, TEXTBOOK)  # fmt: skip
def _(demagnetising_factor: float, remanence: float, recoil_permeability: float) -> float:
    # unknown: magnetisation M and field H along it; M = Br/mu0 + (mu - 1) H, H = -N M
    rows = np.array([[1.0, 1.0 - recoil_permeability], [demagnetising_factor, 1.0]])
    return -float(np.linalg.solve(rows, np.array([remanence / MU0, 0.0]))[1])


@_route("demagnetising.permeance_coefficient", "tangent of the working line, from its angle",
        {"magnet_flux_density": 0.41, "demagnetising_field": 674e3}, 1e-8, TEXTBOOK)  # fmt: skip
def _(magnet_flux_density: float, demagnetising_field: float) -> float:
    return math.tan(math.atan2(magnet_flux_density, MU0 * demagnetising_field))


@_route("demagnetising.energy_product", "largest product of B and H along the line, searched",
        {"remanence": 1.30, "recoil_permeability": 1.05}, 1e-8, TEXTBOOK)  # fmt: skip
def _(remanence: float, recoil_permeability: float) -> float:
    from scipy.optimize import minimize_scalar

    end = remanence / (MU0 * recoil_permeability)
    found = minimize_scalar(lambda h: -h / end * (1 - h / end), bounds=(0.0, end), method="bounded", options={"xatol": 1e-3})
    return -float(found.fun) * end * remanence


@_route("demagnetising.knee_field", "a tenth less", {"hot_coercivity": 611e3})
def _(hot_coercivity: float) -> float:
    return hot_coercivity - hot_coercivity / 10


@_route("demagnetising.knee_temperature", "where the two straight lines cross, searched",
        {"coercivity": 955e3, "coercivity_coefficient": 0.006, "demagnetising_field": 441e3,
         "remanence_coefficient": 0.0012, "opposing_field": 40e3})  # fmt: skip
def _(coercivity: float, coercivity_coefficient: float, demagnetising_field: float, remanence_coefficient: float,
      opposing_field: float) -> float:
    def left(t: float) -> float:
        warm = t - 293.15
        own = demagnetising_field * (1 - remanence_coefficient * warm)
        return 0.9 * coercivity * (1 - coercivity_coefficient * warm) - own - opposing_field

    return brentq(left, 200.0, 600.0, xtol=1e-11)


@_route("demagnetising.armature_field", "Ampère's law round the coil's side: all current over the way from iron to iron",
        {"turns": 26.0, "motor_current": 60.0, "face_gap": 0.014, "magnet_thickness": 0.010}, 1e-8, TEXTBOOK)  # fmt: skip
def _(turns: float, motor_current: float, face_gap: float, magnet_thickness: float) -> float:
    way = [magnet_thickness, face_gap, magnet_thickness]
    return brentq(lambda b: sum(b / MU0 * piece for piece in way) - turns * motor_current, 0.0, 10.0, xtol=1e-16)


# ---------------------------------------------------------------- rotor
@_route("rotor_forces.magnetic_pressure", "work to open the gap by a little: the energy of the field in it",
        {"gap_flux_density": 0.6}, 1e-8, TEXTBOOK)  # fmt: skip
def _(gap_flux_density: float) -> float:
    area, step = 2.0, 1e-4
    energy = quad(lambda b: b / MU0, 0.0, gap_flux_density)[0] * area * step  # of a volume, from 0 up to its field
    return energy / step / area


@_route("rotor_forces.disc_magnet_mass", "rings, summed", {"magnet_radius": 0.015, "magnet_thickness": 0.010})
def _(magnet_radius: float, magnet_thickness: float) -> float:
    return 7500.0 * magnet_thickness * quad(lambda r: math.tau * r, 0.0, magnet_radius)[0]


@_route("rotor_forces.block_magnet_mass", "cubic centimetres of 7.5 g",
        {"magnet_width": 0.025, "magnet_length": 0.030, "magnet_thickness": 0.010})  # fmt: skip
def _(magnet_width: float, magnet_length: float, magnet_thickness: float) -> float:
    return 7.5e-3 * math.prod(100 * x for x in (magnet_width, magnet_length, magnet_thickness))


@_route("rotor_forces.centrifugal_force", "second difference of the way along the circle",
        {"magnet_mass": 0.053, "ring_radius": 0.078, "motor_speed": 100.0}, 1e-6, "a difference of finite steps")  # fmt: skip
def _(magnet_mass: float, ring_radius: float, motor_speed: float) -> float:
    step = 1e-5
    x = [ring_radius * math.cos(motor_speed * t) for t in (-step, 0.0, step)]
    return -magnet_mass * (x[0] - 2 * x[1] + x[2]) / step**2


@_route("rotor_forces.glue_shear", "force over area, from the millimetres", {"centrifugal_force": 283.0, "glue_area": 7.07e-4})
def _(centrifugal_force: float, glue_area: float) -> float:
    return 1e6 * centrifugal_force / (1e6 * glue_area)


@_route("rotor_forces.rim_speed", "circumference times turns a second", {"disc_outer_radius": 0.100, "motor_speed": 262.0})
def _(disc_outer_radius: float, motor_speed: float) -> float:
    return math.tau * disc_outer_radius * (motor_speed / math.tau)


@_route("rotor_forces.ring_hoop_stress", "half a ring, held by its two cut ends", {"body_density": 7850.0, "rim_speed": 26.2})
def _(body_density: float, rim_speed: float) -> float:
    out = quad(lambda t: body_density * rim_speed**2 * math.sin(t), 0.0, math.pi)[0]  # on half a ring of section one
    return out / 2


def _disc(density: float, speed: float, poisson: float, inner: float, outer: float) -> float:
    """Stress along the circle at the inner edge of a turning disc: its equilibrium as a differential equation, shot at the rim."""

    def rates(r: float, y: np.ndarray) -> list[float]:
        radial, moved = y  # stress along the radius; displacement times the modulus over the radius
        hoop = moved + poisson * radial
        return [(hoop - radial) / r - density * speed**2 * r, (radial - poisson * hoop - moved) / r]

    def end(hoop: float) -> float:
        radial = hoop if inner < 1e-3 else 0.0  # in the middle of a full disc both are one
        return float(solve_ivp(rates, (inner, outer), [radial, hoop - poisson * radial], rtol=1e-11, atol=1e-3).y[0, -1])

    low, high = end(0.0), end(1e7)  # the system is linear: two shots do
    return 1e7 * low / (low - high)


@_route("rotor_forces.solid_disc_stress", "equilibrium of a disc, integrated from its middle to its free rim",
        {"body_density": 7850.0, "rim_speed": 26.2}, 1e-5, "the middle itself is left out")  # fmt: skip
def _(body_density: float, rim_speed: float) -> float:
    return _disc(body_density, rim_speed / 0.1, 0.3, 1e-4, 0.1)


@_route("rotor_forces.holed_disc_stress", "equilibrium of a disc, integrated from its hole to its free rim",
        {"body_density": 7850.0, "motor_speed": 262.0, "disc_outer_radius": 0.100, "disc_inner_radius": 0.020}, 1e-7,
        "steps of a solver")  # fmt: skip
def _(body_density: float, motor_speed: float, disc_outer_radius: float, disc_inner_radius: float) -> float:
    return _disc(body_density, motor_speed, 0.3, disc_inner_radius, disc_outer_radius)


@_route("rotor_forces.magnets_inertia", "mass times distance from the shaft squared, summed over a disc",
        {"magnet_count": 24.0, "magnet_mass": 0.053, "ring_radius": 0.078, "magnet_radius": 0.015})  # fmt: skip
def _(magnet_count: float, magnet_mass: float, ring_radius: float, magnet_radius: float) -> float:
    def ring(r: float) -> float:
        mean = quad(lambda t: ring_radius**2 + r * r + 2 * ring_radius * r * math.cos(t), 0.0, math.tau)[0]
        return r * mean

    return magnet_count * magnet_mass * quad(ring, 0.0, magnet_radius)[0] / (math.pi * magnet_radius**2)


@_route("rotor_forces.steel_disc_inertia", "rings, summed",
        {"disc_thickness": 0.006, "disc_outer_radius": 0.100, "disc_inner_radius": 0.020})  # fmt: skip
def _(disc_thickness: float, disc_outer_radius: float, disc_inner_radius: float) -> float:
    return 7850.0 * disc_thickness * quad(lambda r: math.tau * r**3, disc_inner_radius, disc_outer_radius)[0]


@_route("rotor_forces.rotor_energy", "work of a steady torque that brings it to speed",
        {"rotor_inertia": 0.0227, "motor_speed": 262.0})  # fmt: skip
def _(rotor_inertia: float, motor_speed: float) -> float:
    return quad(lambda w: rotor_inertia * w, 0.0, motor_speed)[0]


@_route("rotor_forces.steel_load", "half the flux through the section, searched",
        {"magnet_flux": 5.3e-4, "disc_thickness": 0.006, "steel_width": 0.040})  # fmt: skip
def _(magnet_flux: float, disc_thickness: float, steel_width: float) -> float:
    return brentq(lambda b: b * disc_thickness * steel_width - magnet_flux / 2, 0.0, 10.0, xtol=1e-15)


# ---------------------------------------------------------------- steel parts
@_route("stray.soft_pull", "fall of the energy -m B/2 of what the field itself makes a magnet",
        {"part_volume": 4e-7, "stray_field": 0.02, "stray_gradient": 1.5, "demagnetising_factor": 1 / 3}, 1e-6,
        "a difference of finite steps")  # fmt: skip
def _(part_volume: float, stray_field: float, stray_gradient: float, demagnetising_factor: float) -> float:
    def energy(z: float) -> float:
        b = stray_field - stray_gradient * z
        return -b * b * part_volume / (2 * MU0 * demagnetising_factor)

    return (energy(1e-6) - energy(-1e-6)) / 2e-6


@_route("stray.filled_pull", "fall of the energy -m B of a fixed moment",
        {"part_volume": 4e-7, "stray_gradient": 1.5}, 1e-8, TEXTBOOK)  # fmt: skip
def _(part_volume: float, stray_gradient: float) -> float:
    moment = 2.1 * part_volume / MU0
    return moment * (stray_gradient * 0.5 - stray_gradient * (-0.5))


@_route("stray.filling_field", "field that leaves none inside a body at its full polarisation", {"demagnetising_factor": 0.05})
def _(demagnetising_factor: float) -> float:
    return brentq(lambda b: b - demagnetising_factor * 2.1, 0.0, 3.0, xtol=1e-15)


@_route("stray.rod_factor", "integral for an ellipsoid", {"slenderness": 5.0})
def _(slenderness: float) -> float:
    a2 = slenderness**2
    return slenderness / 2 * quad(lambda s: 1 / ((s + a2) ** 1.5 * (s + 1)), 0.0, math.inf, epsabs=1e-14, epsrel=1e-12)[0]


# ---------------------------------------------------------------- heat
@_route("heat.copper_rate", "heat of a cube of one metre over what it takes", {"current_density": 8e6})
def _(current_density: float) -> float:
    return current_density**2 / 58e6 / (8890.0 * 385.0)


@_route("heat.copper_time", "the warming copper as a differential equation, turned over: time over temperature",
        {"current_density": 1.9e7, "last_temperature": 363.15, "first_temperature": 298.15})  # fmt: skip
def _(current_density: float, last_temperature: float, first_temperature: float) -> float:
    def slow(t: float) -> float:
        return 8890.0 * 385.0 / (current_density**2 / 58e6 * (1 + 0.00393 * (t - 293.15)))

    return quad(slow, first_temperature, last_temperature, epsrel=1e-12)[0]


@_route("heat.thermal_time", "rate at which a small excess over the steady state dies away",
        {"thermal_resistance": 0.55, "heat_capacity": 546.0, "copper_loss": 91.6}, 1e-8,
        "differences of finite steps")  # fmt: skip
def _(thermal_resistance: float, heat_capacity: float, copper_loss: float) -> float:
    def rate(rise: float) -> float:
        return (copper_loss * (1 + 0.00393 * rise) - rise / thermal_resistance) / heat_capacity

    return -1000.0 / (rate(1000.0) - rate(0.0))


@_route("heat.warming", "one lump stepped through time", {"air_temperature": 298.15, "steady_rise": 64.0, "time": 300.0,
                                                          "thermal_time": 370.0}, 1e-8, "steps of a solver")  # fmt: skip
def _(air_temperature: float, steady_rise: float, time: float, thermal_time: float) -> float:
    def rate(_t: float, y: np.ndarray) -> list[float]:
        return [(air_temperature + steady_rise - y[0]) / thermal_time]

    return float(solve_ivp(rate, (0.0, time), [air_temperature], rtol=1e-11, atol=1e-9).y[0, -1])


@_route("heat.body_rise", "one heat flow through both resistances",
        {"steady_rise": 64.0, "outer_resistance": 0.35, "inner_resistance": 0.20})  # fmt: skip
def _(steady_rise: float, outer_resistance: float, inner_resistance: float) -> float:
    flow = brentq(lambda w: w * inner_resistance + w * outer_resistance - steady_rise, 0.0, 1e6, xtol=1e-12)
    return flow * outer_resistance
