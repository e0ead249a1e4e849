"""Two routes to one number, for every equation: by quadrature, an ODE, a matrix, a sum over samples, or other physics.

`other` may use other equations of the package where its words say so, never the one under test.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Mapping
from fractions import Fraction

import mpmath
import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.linalg import expm
from scipy.optimize import brentq, minimize_scalar

from evlab import controller, motor, road, store
from evlab.route import Route as Road

from . import Route

ROUTES: list[Route] = []
INTEGRAL, FLAT = "the error of the integration", "an optimum is flat: a search finds its place only so far"


def _route(equation: str, words: str, inputs: Mapping[str, float], within: float = 1e-9, why: str = "") -> Callable[..., None]:
    def keep(other: Callable[..., float]) -> None:
        ROUTES.append(Route(equation, words, inputs, other, within, why))

    return keep


def _ode(slope: Callable[..., object], start: tuple[float, ...], end: float) -> list[float]:
    """The state after `end` seconds."""
    return [float(x) for x in solve_ivp(slope, (0.0, end), start, method="DOP853", rtol=1e-12, atol=1e-13).y[:, -1]]


def _until(
    slope: Callable[[float, np.ndarray], list[float]], start: list[float], passed: Callable[[float, np.ndarray], float]
) -> float:
    """Seconds until `passed` crosses zero."""
    passed.terminal = True  # type: ignore[attr-defined]
    return float(solve_ivp(slope, (0.0, 1e5), start, method="DOP853", rtol=1e-12, atol=1e-12, events=passed).t_events[0][0])


# ---------------------------------------------------------------- store
BANK = {"open_voltage": 35.0, "store_current": 30.0, "store_resistance": 0.0155}
BRANCHES = {"fast_capacitance": 42.7, "slow_capacitance": 3.7, "fast_voltage": 34.9, "slow_voltage": 30.6}


@_route("store.energy", "volts times charge, integrated while the charge flows in", {"capacitance": 46.4, "voltage": 35.0})
def _(capacitance: float, voltage: float) -> float:
    return quad(lambda q: q / capacitance, 0.0, capacitance * voltage, epsrel=1e-12)[0]


@_route("store.charge", "slope of the energy (another equation) against the volts", {"capacitance": 46.4, "voltage": 35.0})
def _(capacitance: float, voltage: float) -> float:
    return float(mpmath.diff(lambda v: capacitance * v * v / 2, voltage))


@_route(
    "store.bank_capacitance",
    "reciprocals added cell by cell, exact fractions",
    {"cell_capacitance": 650.0, "strings_in_parallel": 3, "cells_in_series": 14},
)
def _(cell_capacitance: float, strings_in_parallel: int, cells_in_series: int) -> float:
    string = 1 / sum(1 / Fraction(cell_capacitance) for _ in range(cells_in_series))
    return float(sum(string for _ in range(strings_in_parallel)))


@_route(
    "store.bank_resistance",
    "node voltages of the whole net by its conductance matrix",
    {
        "cells_in_series": 5,
        "cell_resistance": 0.8e-3,
        "joint_resistance": 0.2e-3,
        "strings_in_parallel": 3,
        "lead_resistance": 1.5e-3,
    },
)
def _(
    cells_in_series: int, cell_resistance: float, joint_resistance: float, strings_in_parallel: int, lead_resistance: float
) -> float:
    links, top, count = [], 1, 2  # node 0 is earth, 1 the positive post of the bank
    for _ in range(strings_in_parallel):
        node = 0
        for part in range(2 * cells_in_series):
            far = top if part == 2 * cells_in_series - 1 else count
            count += far != top
            links.append((node, far, cell_resistance if part % 2 == 0 else joint_resistance))
            node = far
    net = np.zeros((count, count))
    for a, b, ohm in links:
        net[[a, b], [a, b]] += 1 / ohm
        net[[a, b], [b, a]] -= 1 / ohm
    ampere = np.zeros(count)
    ampere[top] = 1.0
    return float(np.linalg.solve(net[1:, 1:], ampere[1:])[0] + lead_resistance)


@_route(
    "store.usable_energy",
    "volts times the charge taken, integrated between the voltages",
    {"capacitance": 46.4, "first_voltage": 35.0, "last_voltage": 15.0},
)
def _(capacitance: float, first_voltage: float, last_voltage: float) -> float:
    return quad(lambda v: capacitance * v, last_voltage, first_voltage, epsrel=1e-12)[0]


@_route(
    "store.usable_share", "one less the ratio of the energies (another equation)", {"last_voltage": 15.0, "first_voltage": 35.0}
)
def _(last_voltage: float, first_voltage: float) -> float:
    return 1 - float(store.energy(3.0, last_voltage)) / float(store.energy(3.0, first_voltage))


@_route("store.terminal_voltage", "power inside less the heat, over the current (another equation)", BANK)
def _(open_voltage: float, store_current: float, store_resistance: float) -> float:
    return (open_voltage * store_current - float(store.store_loss(store_current, store_resistance))) / store_current


@_route(
    "store.constant_current_time",
    "an ODE stepped until the terminals reach the voltage",
    {"capacitance": 46.4, **BANK, "last_voltage": 15.0},
    1e-8,
    INTEGRAL,
)
def _(capacitance: float, open_voltage: float, store_current: float, store_resistance: float, last_voltage: float) -> float:
    return _until(
        lambda _t, _x: [-store_current / capacitance],
        [open_voltage],
        lambda _t, x: x[0] - store_current * store_resistance - last_voltage,
    )


@_route(
    "store.constant_current_energy",
    "terminal volts times current, integrated",
    {"store_current": 30.0, "time": 30.2, "open_voltage": 35.0, "store_resistance": 0.0155, "capacitance": 46.4},
)
def _(store_current: float, time: float, open_voltage: float, store_resistance: float, capacitance: float) -> float:
    return quad(
        lambda t: store_current * (open_voltage - store_current * t / capacitance - store_current * store_resistance),
        0.0,
        time,
        epsrel=1e-12,
    )[0]


@_route(
    "store.constant_current_loss",
    "fall of the stored energy less what came out (two other equations)",
    {"store_current": 30.0, "store_resistance": 0.0155, "time": 30.2},
)
def _(store_current: float, store_resistance: float, time: float) -> float:
    fell = store.usable_energy(46.4, 35.0, 35.0 - store_current * time / 46.4)
    return float(fell) - float(store.constant_current_energy(store_current, time, 35.0, store_resistance, 46.4))


@_route(
    "store.voltage_under_power",
    "the upper root of u (V - u)/R = P, bracketed",
    {"open_voltage": 21.0, "store_resistance": 0.1, "store_power": 900.0},
)
def _(open_voltage: float, store_resistance: float, store_power: float) -> float:
    return float(
        brentq(lambda u: u * (open_voltage - u) / store_resistance - store_power, open_voltage / 2, open_voltage, xtol=1e-13)
    )


def _largest(volts: float, ohm: float) -> float:
    found = minimize_scalar(
        lambda load: -load * (volts / (ohm + load)) ** 2, bounds=(ohm / 50, ohm * 50), method="bounded", options={"xatol": 1e-12}
    )
    return -float(found.fun)


@_route(
    "store.collapse_voltage",
    "the volts at which the best of all loads gets just this power, by search and bracket",
    {"store_power": 900.0, "store_resistance": 0.1155},
    1e-9,
)
def _(store_power: float, store_resistance: float) -> float:
    return float(brentq(lambda v: _largest(v, store_resistance) - store_power, 1.0, 100.0, xtol=1e-12))


@_route("store.matched_power", "the best of all loads, by search", {"open_voltage": 35.0, "store_resistance": 0.0155})
def _(open_voltage: float, store_resistance: float) -> float:
    return _largest(open_voltage, store_resistance)


@_route(
    "store.resistor_time_constant",
    "an ODE stepped until the volts are down to 1/e",
    {"capacitance": 46.4, "load_resistance": 1.0, "store_resistance": 0.0155},
    1e-8,
    INTEGRAL,
)
def _(capacitance: float, load_resistance: float, store_resistance: float) -> float:
    return _until(
        lambda _t, x: [-x[0] / (load_resistance + store_resistance) / capacitance], [1.0], lambda _t, x: x[0] - math.exp(-1)
    )


@_route(
    "store.resistor_time",
    "an ODE stepped until the volts are there",
    {"capacitance": 46.4, "load_resistance": 1.0, "store_resistance": 0.0155, "first_voltage": 35.0, "last_voltage": 15.0},
    1e-8,
    INTEGRAL,
)
def _(capacitance: float, load_resistance: float, store_resistance: float, first_voltage: float, last_voltage: float) -> float:
    return _until(
        lambda _t, x: [-x[0] / (load_resistance + store_resistance) / capacitance],
        [first_voltage],
        lambda _t, x: x[0] - last_voltage,
    )


@_route(
    "store.resistor_loss_share",
    "heat inside over all heat, both integrated over the discharge",
    {"store_resistance": 0.2, "load_resistance": 1.0},
)
def _(store_resistance: float, load_resistance: float) -> float:
    def heat(ohm: float) -> float:
        return quad(
            lambda t: ohm * (math.exp(-t / (store_resistance + load_resistance)) / (store_resistance + load_resistance)) ** 2,
            0.0,
            math.inf,
            epsrel=1e-11,
        )[0]

    return heat(store_resistance) / (heat(store_resistance) + heat(load_resistance))


def _relaxed(t: float, c1: float, c2: float, v1: float, v2: float, ohm: float) -> np.ndarray:
    """Both branch voltages after t seconds of rest: the exponential of the matrix of the net."""
    net = np.array([[-1 / (c1 * ohm), 1 / (c1 * ohm)], [1 / (c2 * ohm), -1 / (c2 * ohm)]])
    return np.asarray(expm(net * t) @ np.array([v1, v2]))


ACROSS = {"fast_voltage": 34.9, "slow_voltage": 30.6, "slow_resistance": 5.0}
CENTRAL = "a central difference"


@_route(
    "store.branch_current", "rate of the charge of the slow branch, out of the matrix exponential of the net", ACROSS, 1e-8, CENTRAL
)
def _(fast_voltage: float, slow_voltage: float, slow_resistance: float) -> float:
    h = 1e-2
    after, before = (_relaxed(t, 42.7, 3.7, fast_voltage, slow_voltage, slow_resistance)[1] for t in (h, -h))
    third = sum(k * _relaxed(t, 42.7, 3.7, fast_voltage, slow_voltage, slow_resistance)[1] for k, t in ((1, 2 * h), (-1, -2 * h)))
    return float(3.7 * (8 * (after - before) - third) / (12 * h))


@_route(
    "store.branch_loss", "rate at which the energy of both branches falls, out of the matrix exponential", ACROSS, 1e-7, CENTRAL
)
def _(fast_voltage: float, slow_voltage: float, slow_resistance: float) -> float:
    def held(t: float) -> float:
        v1, v2 = _relaxed(t, 42.7, 3.7, fast_voltage, slow_voltage, slow_resistance)
        return (42.7 * v1**2 + 3.7 * v2**2) / 2

    h = 5e-2
    return -(8 * (held(h) - held(-h)) - (held(2 * h) - held(-2 * h))) / (12 * h)


@_route(
    "store.slow_time_constant",
    "the eigenvalue of the net",
    {"slow_resistance": 5.0, "fast_capacitance": 42.7, "slow_capacitance": 3.7},
)
def _(slow_resistance: float, fast_capacitance: float, slow_capacitance: float) -> float:
    c1, c2, ohm = fast_capacitance, slow_capacitance, slow_resistance
    return -1 / float(min(np.linalg.eigvals(np.array([[-1 / (c1 * ohm), 1 / (c1 * ohm)], [1 / (c2 * ohm), -1 / (c2 * ohm)]])).real))


@_route("store.settled_voltage", "the matrix exponential of the net after sixty time constants", BRANCHES, 1e-9)
def _(fast_capacitance: float, slow_capacitance: float, fast_voltage: float, slow_voltage: float) -> float:
    return float(_relaxed(60 * 17.0, fast_capacitance, slow_capacitance, fast_voltage, slow_voltage, 5.0)[0])


@_route("store.redistribution_loss", "heat in the resistance, integrated until all is settled", BRANCHES, 1e-8, INTEGRAL)
def _(fast_capacitance: float, slow_capacitance: float, fast_voltage: float, slow_voltage: float) -> float:
    def slope(_t: float, x: np.ndarray) -> list[float]:
        amps = (x[0] - x[1]) / 5.0
        return [-amps / fast_capacitance, amps / slow_capacitance, amps**2 * 5.0]

    return _ode(slope, (fast_voltage, slow_voltage, 0.0), 60 * 17.0)[2]


@_route(
    "store.store_loss",
    "drop of the volts times the current (another equation)",
    {"store_current": 30.0, "store_resistance": 0.0155},
)
def _(store_current: float, store_resistance: float) -> float:
    return (35.0 - float(store.terminal_voltage(35.0, store_current, store_resistance))) * store_current


@_route(
    "store.short_circuit_current",
    "the current at which the terminals (another equation) have no volts left",
    {"voltage": 35.0, "store_resistance": 0.0155},
)
def _(voltage: float, store_resistance: float) -> float:
    return float(brentq(lambda amps: store.terminal_voltage(voltage, amps, store_resistance), 0.0, 1e5, xtol=1e-10))


@_route(
    "store.worst_cell_voltage",
    "linear equations for the volts of every cell: equal charges, given sum",
    {"voltage": 35.0, "cells_in_series": 14, "cell_tolerance": 0.1},
)
def _(voltage: float, cells_in_series: int, cell_tolerance: float) -> float:
    farad = np.array([1 - cell_tolerance] + [1 + cell_tolerance] * (cells_in_series - 1))
    rows = np.zeros((cells_in_series, cells_in_series))
    rows[0] = 1.0
    for i in range(1, cells_in_series):
        rows[i, i - 1], rows[i, i] = farad[i - 1], -farad[i]
    return float(np.linalg.solve(rows, np.array([voltage] + [0.0] * (cells_in_series - 1))).max())


# ---------------------------------------------------------------- road
def _pressed(mass: float, slope: float, gravity: float) -> complex:
    """The weight seen by the road: real along it (positive downhill), imaginary into it; by turning the plane."""
    return mass * gravity * 1j * cmath.exp(-1j * math.atan(slope))


@_route(
    "road.rolling_force",
    "the weight turned into the frame of the road (complex plane), its part into the road",
    {"mass": 192.0, "rolling_coefficient": 0.012, "slope": 0.07, "direction": -1.0, "gravity": 9.80665},
)
def _(mass: float, rolling_coefficient: float, slope: float, direction: float, gravity: float) -> float:
    return direction * rolling_coefficient * _pressed(mass, slope, gravity).imag


@_route(
    "road.slope_force",
    "the weight turned into the frame of the road, its part along it",
    {"mass": 192.0, "slope": -0.07, "gravity": 9.80665},
)
def _(mass: float, slope: float, gravity: float) -> float:
    return _pressed(mass, slope, gravity).real


@_route(
    "road.air_force",
    "drag along the wind that is met, as a vector, and its part along the road; a tail wind",
    {"air_density": 1.225, "drag_area": 0.95, "speed": 3.0, "head_wind": -5.0, "cross_wind": 2.0},
)
def _(air_density: float, drag_area: float, speed: float, head_wind: float, cross_wind: float) -> float:
    met = np.array([speed + head_wind, cross_wind])
    strength = 0.5 * air_density * drag_area * float(met @ met)
    return strength * float((met / np.linalg.norm(met))[0])


@_route(
    "road.bearing_force",
    "Martin's bearing power, (91 + 8.7 v) v in milliwatts, over the speed",
    {"bearing_force_at_rest": 0.091, "bearing_drag": 0.0087, "speed": 6.0, "direction": 1.0},
)
def _(bearing_force_at_rest: float, bearing_drag: float, speed: float, direction: float) -> float:
    return direction * (91 + 8.7 * speed) * speed * 1e-3 / speed


@_route(
    "road.wheel_power",
    "gain of the energy of motion (another equation) each second, under that force alone",
    {"force": 27.8, "speed": 3.0},
)
def _(force: float, speed: float) -> float:
    return float(mpmath.diff(lambda t: mpmath.mpf(192) / 2 * (speed + force / mpmath.mpf(192) * t) ** 2, 0))


@_route(
    "road.energy_per_distance",
    "power at the wheel through the chain, over a kilometre, by the clock",
    {"force": 27.8, "chain_efficiency": 0.95},
)
def _(force: float, chain_efficiency: float) -> float:
    speed, way = 3.0, 1000.0
    return float(road.wheel_power(force, speed)) / chain_efficiency * (way / speed) / way


@_route(
    "road.effective_mass",
    "second slope against the speed of the energy of all that moves and turns",
    {"mass": 192.0, "wheels_rotating_mass": 6.0, "rotor_inertia": 0.02266, "gear_ratio": 5.0667, "wheel_radius": 0.245},
)
def _(mass: float, wheels_rotating_mass: float, rotor_inertia: float, gear_ratio: float, wheel_radius: float) -> float:
    inertia = wheels_rotating_mass * wheel_radius**2

    def energy(v: mpmath.mpf) -> mpmath.mpf:
        wheel = v / wheel_radius
        return (mass * v**2 + inertia * wheel**2 + rotor_inertia * (gear_ratio * wheel) ** 2) / 2

    return float(mpmath.diff(energy, 2, 2))


@_route("road.kinetic_energy", "force times way while a constant force speeds it up", {"effective_mass": 207.7, "speed": 3.0})
def _(effective_mass: float, speed: float) -> float:
    push = 90.0
    time = speed * effective_mass / push
    return push * quad(lambda t: push / effective_mass * t, 0.0, time, epsrel=1e-12)[0]


@_route(
    "road.lift_energy",
    "slope force (another equation) integrated along a blended ramp of that height",
    {"mass": 192.0, "altitude": 58 * 0.07 / math.sqrt(1.0049) + 2 * (math.sqrt(1.0049) - 1) / 0.035, "gravity": 9.80665},
    1e-9,
)
def _(mass: float, altitude: float, gravity: float) -> float:
    ramp = Road.from_segments([(70.0, 0.0, 3.0), (60.0, 0.07, 2.4), (45.0, 0.0, 3.0)])
    return quad(
        lambda s: float(road.slope_force(mass, float(ramp.slope(s)), gravity)), 0.0, 175.0, points=[70, 72, 130, 132], limit=200
    )[0]


@_route(
    "road.pressure_at_height",
    "weight of the air above, integrated with 6.5 K each kilometre",
    {"altitude": 2000.0, "sea_level_pressure": 101325.0, "lapse": 2.25577e-5, "pressure_exponent": 5.25588},
    1e-5,
    "the standard prints its constants to six figures",
)
def _(altitude: float, sea_level_pressure: float, lapse: float, pressure_exponent: float) -> float:
    def slope(h: float, p: np.ndarray) -> list[float]:
        return [-9.80665 * p[0] / (287.05287 * (288.15 - 0.0065 * h))]

    return _ode(slope, (sea_level_pressure,), altitude)[0]


@_route(
    "road.air_density",
    "molar mass 28.9644 g/mol and the universal gas constant",
    {"pressure": 101325.0, "air_temperature": 293.15, "gas_constant": 287.05},
    5e-5,
    "287.05 J/(kg K) is rounded; the molar route gives 287.058",
)
def _(pressure: float, air_temperature: float, gas_constant: float) -> float:
    return pressure * 0.0289644 / (8.314462618 * air_temperature)


# ---------------------------------------------------------------- motor
def _phase(angle: float, number: int, peak: float) -> float:
    return peak * math.sin(angle - number * 2 * math.pi / 3)


@_route("motor.line_constant", "the largest difference of two phase EMFs over one turn, by search", {"phase_constant": 0.2092})
def _(phase_constant: float) -> float:
    found = minimize_scalar(
        lambda a: _phase(a, 1, phase_constant) - _phase(a, 0, phase_constant),
        bounds=(0.5, 3.0),
        method="bounded",
        options={"xatol": 1e-10},
    )
    return -float(found.fun)


@_route("motor.line_rms_constant", "root of the mean square over one turn, by quadrature", {"line_constant": 0.3624})
def _(line_constant: float) -> float:
    return math.sqrt(quad(lambda a: (line_constant * math.sin(a)) ** 2, 0.0, 2 * math.pi, epsrel=1e-12)[0] / (2 * math.pi))


@_route("motor.six_step_constant", "the largest of six line EMFs, averaged over one turn by quadrature", {"line_constant": 0.3624})
def _(line_constant: float) -> float:
    def largest(angle: float) -> float:
        return line_constant * max(math.sin(angle + k * math.pi / 3) for k in range(6))

    sixth = math.pi / 3  # the largest line changes at each sixth of a turn
    return sum(quad(largest, k * sixth, (k + 1) * sixth, epsrel=1e-12)[0] for k in range(6)) / (6 * sixth)


@_route("motor.square_constant", "|EMF| of one phase averaged over a turn by quadrature", {"phase_constant": 0.0924})
def _(phase_constant: float) -> float:
    return quad(lambda a: phase_constant * abs(math.sin(a)), 0.0, math.pi, epsrel=1e-12)[0] / math.pi


@_route(
    "motor.sine_torque",
    "EMF times current of three phases, summed at many angles, over the speed",
    {"phase_constant": 0.2092, "phase_peak_current": 30.0},
)
def _(phase_constant: float, phase_peak_current: float) -> float:
    angles = np.linspace(0.0, 2 * math.pi, 64, endpoint=False)
    return float(
        np.mean(sum(_phase_array(angles, k, phase_constant) * _phase_array(angles, k, phase_peak_current) for k in range(3)))
    )


def _phase_array(angle: np.ndarray, number: int, peak: float) -> np.ndarray:
    return peak * np.sin(angle - number * 2 * np.pi / 3)


@_route(
    "motor.back_emf",
    "mechanical power (torque, another equation, times speed) over the current",
    {"motor_constant": 0.346, "motor_speed": 54.0},
)
def _(motor_constant: float, motor_speed: float) -> float:
    return float(motor.torque(motor_constant, 25.0)) * motor_speed / 25.0


@_route(
    "motor.torque",
    "six-step: the current times the slope of the linked flux, averaged over the sixty degrees it is on",
    {"motor_constant": 0.346, "motor_current": 25.0},
    1e-8,
    "a difference of the flux",
)
def _(motor_constant: float, motor_current: float) -> float:
    line = motor_constant * math.pi / 3  # peak of the sine whose mean over the top sixty degrees is the constant

    def flux(angle: float) -> float:
        return -line * math.cos(angle)

    return motor_current * (flux(2 * math.pi / 3) - flux(math.pi / 3)) / (math.pi / 3)


@_route(
    "motor.motor_drag",
    "inertia times the slowing of a rotor that spins down by the closed form",
    {"drag_torque": 0.1, "viscous_drag": 0.002, "motor_speed": 60.0, "direction": 1.0},
)
def _(drag_torque: float, viscous_drag: float, motor_speed: float, direction: float) -> float:
    inertia, rest = 0.02266, drag_torque / viscous_drag
    return float(-inertia * mpmath.diff(lambda t: (motor_speed + rest) * mpmath.exp(-viscous_drag * t / inertia) - rest, 0))


@_route(
    "motor.shaft_torque",
    "electrical power less copper loss less drag power, over the speed",
    {"motor_constant": 0.346, "motor_current": 25.0, "motor_drag": 0.22},
)
def _(motor_constant: float, motor_current: float, motor_drag: float) -> float:
    speed, ohm = 60.0, 0.1465
    volts = motor_constant * speed + motor_current * ohm
    return (volts * motor_current - float(motor.copper_loss(motor_current, ohm)) - motor_drag * speed) / speed


@_route(
    "motor.winding_resistance_hot",
    "proportional to the distance from the temperature at which copper would have none, -234.45 °C",
    {"winding_resistance": 0.1465, "winding_temperature": 363.15, "copper_coefficient": 0.00393, "reference_temperature": 293.15},
)
def _(winding_resistance: float, winding_temperature: float, copper_coefficient: float, reference_temperature: float) -> float:
    none = reference_temperature - 1 / copper_coefficient
    return winding_resistance * (winding_temperature - none) / (reference_temperature - none)


@_route(
    "motor.copper_loss", "power of the bridge at standstill (another equation)", {"motor_current": 25.0, "hot_resistance": 0.187}
)
def _(motor_current: float, hot_resistance: float) -> float:
    return float(controller.bus_power(motor_current, 0.0, hot_resistance, 0.0))


@_route(
    "motor.heat_rate",
    "slope of the exponential that ends at the steady rise, at a moment of it",
    {
        "copper_loss": 91.6,
        "winding_temperature": 313.15,
        "air_temperature": 298.15,
        "thermal_resistance": 0.55,
        "heat_capacity": 546.0,
    },
)
def _(
    copper_loss: float, winding_temperature: float, air_temperature: float, thermal_resistance: float, heat_capacity: float
) -> float:
    end = air_temperature + copper_loss * thermal_resistance
    tau = thermal_resistance * heat_capacity
    return float(mpmath.diff(lambda t: end + (winding_temperature - end) * mpmath.exp(-t / tau), 0))


@_route(
    "motor.steady_rise",
    "loss and temperature in turn, two hundred times",
    {"copper_loss": 91.585, "thermal_resistance": 0.55, "copper_coefficient": 0.00393},
)
def _(copper_loss: float, thermal_resistance: float, copper_coefficient: float) -> float:
    rise = 0.0
    for _ in range(200):
        rise = thermal_resistance * copper_loss * (1 + copper_coefficient * rise)
    return rise


@_route(
    "motor.runaway_current",
    "the current at which one kelvin more makes just one kelvin's worth of heat more, bracketed",
    {"copper_coefficient": 0.00393, "winding_resistance": 0.14654, "thermal_resistance": 0.55},
    1e-8,
    "a difference of two heats",
)
def _(copper_coefficient: float, winding_resistance: float, thermal_resistance: float) -> float:
    def rate(amps: float, kelvin: float) -> float:
        ohm = motor.winding_resistance_hot(winding_resistance, kelvin, copper_coefficient)
        return float(motor.heat_rate(motor.copper_loss(amps, ohm), kelvin, 293.15, thermal_resistance, 1.0))

    return float(brentq(lambda amps: rate(amps, 393.15) - rate(amps, 293.15), 1.0, 500.0, xtol=1e-12))


@_route(
    "motor.no_load_speed",
    "the speed at which the current (another equation) has fallen to the no-load one, bracketed",
    {"duty": 0.97, "voltage": 35.0, "motor_current": 0.9, "hot_resistance": 0.1465, "motor_constant": 0.346},
)
def _(duty: float, voltage: float, motor_current: float, hot_resistance: float, motor_constant: float) -> float:
    return float(
        brentq(
            lambda w: (
                controller.current_at_duty(duty, voltage, motor.back_emf(motor_constant, w), hot_resistance, 0.0) - motor_current
            ),
            0.0,
            300.0,
            xtol=1e-12,
        )
    )


@_route(
    "motor.stall_current",
    "the chopped volts of one switching period, averaged by samples, over the resistance",
    {"duty": 0.75, "voltage": 35.0, "hot_resistance": 0.1465},
)
def _(duty: float, voltage: float, hot_resistance: float) -> float:
    return float(np.mean(np.where(np.arange(10000) < duty * 10000, voltage, 0.0))) / hot_resistance


# ---------------------------------------------------------------- controller and gearing
@_route(
    "controller.bus_current",
    "the current drawn from the store, sampled over one switching period",
    {"duty": 0.35, "motor_current": 25.0},
)
def _(duty: float, motor_current: float) -> float:
    return float(np.mean(np.where(np.arange(10000) < duty * 10000, motor_current, 0.0)))


@_route(
    "controller.current_at_duty",
    "three linear equations: store, ideal bridge, winding",
    {"duty": 0.97, "open_voltage": 22.0, "back_emf": 18.7, "drive_resistance": 0.1465, "store_resistance": 0.0155},
)
def _(duty: float, open_voltage: float, back_emf: float, drive_resistance: float, store_resistance: float) -> float:
    # unknowns: coil current, bank current, bus volts
    rows = [[drive_resistance, 0.0, -duty], [-duty, 1.0, 0.0], [0.0, store_resistance, 1.0]]
    return float(np.linalg.solve(np.array(rows), np.array([-back_emf, 0.0, open_voltage]))[0])


@_route(
    "controller.duty_for_current",
    "power of the bridge (another equation) over what it would be at full duty",
    {"back_emf": 6.92, "motor_current": 25.0, "drive_resistance": 0.1465, "terminal_voltage": 30.0},
)
def _(back_emf: float, motor_current: float, drive_resistance: float, terminal_voltage: float) -> float:
    return float(controller.bus_power(motor_current, back_emf, drive_resistance, 0.0)) / (terminal_voltage * motor_current)


@_route(
    "controller.bus_power",
    "shaft, copper and stand-by added (other equations)",
    {"motor_current": -15.0, "back_emf": 17.2, "drive_resistance": 0.1465, "standby_power": 4.0},
)
def _(motor_current: float, back_emf: float, drive_resistance: float, standby_power: float) -> float:
    constant = 0.346
    turning = back_emf / constant
    return (
        float(motor.torque(constant, motor_current)) * turning
        + float(motor.copper_loss(motor_current, drive_resistance))
        + standby_power
    )


@_route(
    "controller.current_for_power",
    "the current at which shaft, copper and stand-by take that power, searched (other equations)",
    {"back_emf": 17.2, "drive_resistance": 0.1465, "bus_power": 320.0, "standby_power": 4.0},
)
def _(back_emf: float, drive_resistance: float, bus_power: float, standby_power: float) -> float:
    def lacking(amps: float) -> float:
        return back_emf * amps + float(motor.copper_loss(amps, drive_resistance)) + standby_power - bus_power

    return float(brentq(lacking, 0.0, 1e3, xtol=1e-13))


@_route(
    "gearing.gear_ratio",
    "turns of both sprockets until the same links meet the same teeth again, whole numbers",
    {"wheel_teeth": 76, "motor_teeth": 15},
)
def _(wheel_teeth: int, motor_teeth: int) -> float:
    links = math.lcm(wheel_teeth, motor_teeth)
    return (links // motor_teeth) / (links // wheel_teeth)


@_route(
    "gearing.motor_speed",
    "turns of the wheel in a minute, through the sprockets, as an angle",
    {"gear_ratio": 5.0667, "speed": 3.0, "wheel_radius": 0.245},
)
def _(gear_ratio: float, speed: float, wheel_radius: float) -> float:
    turns = speed * 60.0 / (2 * math.pi * wheel_radius)
    return turns * gear_ratio * 2 * math.pi / 60.0


@_route(
    "gearing.drive_force",
    "what is left of the shaft's power behind the chain, over the speed",
    {"shaft_torque": 8.65, "gear_ratio": 5.0667, "chain_efficiency": 0.95, "wheel_radius": 0.245},
)
def _(shaft_torque: float, gear_ratio: float, chain_efficiency: float, wheel_radius: float) -> float:
    speed = 2.4
    return shaft_torque * (gear_ratio * speed / wheel_radius) * chain_efficiency / speed


@_route(
    "gearing.driven_force",
    "power that the wheel has to put in for the shaft's, over the speed",
    {"shaft_torque": -4.1, "gear_ratio": 5.0667, "wheel_radius": 0.245, "chain_efficiency": 0.95},
)
def _(shaft_torque: float, gear_ratio: float, wheel_radius: float, chain_efficiency: float) -> float:
    speed = 2.4
    return shaft_torque * (gear_ratio * speed / wheel_radius) / chain_efficiency / speed


@_route(
    "gearing.gradeability",
    "the slope on which rolling and slope force (other equations) balance the drive, bracketed",
    {"drive_force": 300.0, "mass": 192.0, "gravity": 9.80665, "rolling_coefficient": 0.06},
    1e-9,
)
def _(drive_force: float, mass: float, gravity: float, rolling_coefficient: float) -> float:
    return float(
        brentq(
            lambda s: (
                road.rolling_force(mass, rolling_coefficient, s, 1.0, gravity) + road.slope_force(mass, s, gravity) - drive_force
            ),
            -0.4,
            0.9,
            xtol=1e-14,
        )
    )
