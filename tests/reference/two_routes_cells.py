"""Two routes to one number for the cells' own equations: balance, wire and fuse, ageing, tests of one cell."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from itertools import pairwise

import mpmath
import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.linalg import expm

from evlab import store

from . import Route

ROUTES: list[Route] = []
INTEGRAL = "the error of the integration"


def _route(equation: str, words: str, inputs: Mapping[str, float], within: float = 1e-9, why: str = "") -> Callable[..., None]:
    def keep(other: Callable[..., float]) -> None:
        ROUTES.append(Route(equation, words, inputs, other, within, why))

    return keep


def _until(slopes: Callable[..., object], start: list[float], passed: Callable[..., float]) -> float:
    """Seconds until `passed` crosses zero."""
    passed.terminal = True  # type: ignore[attr-defined]
    return float(solve_ivp(slopes, (0.0, 1e7), start, method="DOP853", rtol=1e-12, atol=1e-13, events=passed).t_events[0][0])


# ---------------------------------------------------------------- balance
STRING = {"voltage": 35.0, "cells_in_series": 14}
FLOATED = {"odd_resistance": 833.0, "cells_in_series": 14, "leak_resistance": 1667.0}
CLAMPED = {
    "clamp_voltage": 2.65, "voltage": 35.0, "cells_in_series": 14, "odd_capacitance": 650.0, "cell_capacitance": 780.0,
    "clamp_current": 0.5,
}


@_route("balance.charged_cell", "a current integrated while the charge flows",
        {"first_cell_voltage": 0.4, "charge": 1300.0, "cell_capacitance": 650.0})
def _(first_cell_voltage: float, charge: float, cell_capacitance: float) -> float:
    amps = 6.0
    return first_cell_voltage + quad(lambda _t: amps / cell_capacitance, 0.0, charge / amps, epsrel=1e-12)[0]


@_route("balance.weak_cell", "equal charge and the sum of the volts as linear equations, solved by a matrix",
        {**STRING, "weak_share": 0.8333})
def _(voltage: float, cells_in_series: int, weak_share: float) -> float:
    farads = np.ones(cells_in_series)
    farads[0] = weak_share
    net = np.diag(farads) - np.diag(farads[1:], 1)  # C_i V_i = C_i+1 V_i+1
    net[-1] = 1.0
    return float(np.linalg.solve(net, [0.0] * (cells_in_series - 1) + [voltage])[0])


@_route("balance.floating_cell", "node volts of a ladder of resistors by its conductance matrix", {"voltage": 35.0, **FLOATED})
def _(voltage: float, odd_resistance: float, cells_in_series: int, leak_resistance: float) -> float:
    siemens = np.array([1 / odd_resistance] + [1 / leak_resistance] * (cells_in_series - 1))
    net = np.diag(siemens[:-1] + siemens[1:]) - np.diag(siemens[1:-1], 1) - np.diag(siemens[1:-1], -1)
    drive = np.zeros(cells_in_series - 1)
    drive[-1] = voltage * siemens[-1]
    return float(np.linalg.solve(net, drive)[0])


@_route("balance.float_time_constant", "the slowest decay of the whole string's matrix exponential",
        {"odd_capacitance": 600.0, "cell_capacitance": 700.0, **FLOATED}, 1e-8, "a difference of two exponentials")
def _(odd_capacitance: float, cells_in_series: int, cell_capacitance: float, odd_resistance: float,
      leak_resistance: float) -> float:
    farads = np.array([odd_capacitance] + [cell_capacitance] * (cells_in_series - 1))
    drain = np.diag([1 / odd_resistance] + [1 / leak_resistance] * (cells_in_series - 1))
    kept = np.eye(cells_in_series) - np.outer(np.ones(cells_in_series), 1 / farads) / (1 / farads).sum()
    system = -np.diag(1 / farads) @ kept @ drain
    volts = [expm(system * t) @ np.full(cells_in_series, 2.5) for t in (0.0, 4e5, 8e5)]
    first, second = (float(b[0] - a[0]) for a, b in pairwise(volts))
    return 4e5 / math.log(first / second)


@_route("balance.leak_resistance", "the resistor that loses the same energy in an hour",
        {"cell_voltage": 2.5, "leak_current": 1.5e-3})
def _(cell_voltage: float, leak_current: float) -> float:
    return cell_voltage**2 * 3600.0 / quad(lambda _t: cell_voltage * leak_current, 0.0, 3600.0)[0]


@_route("balance.bleed_resistance", "so many leaks in parallel",
        {"cell_voltage": 2.5, "bleed_factor": 10.0, "leak_current": 1.5e-3})
def _(cell_voltage: float, bleed_factor: float, leak_current: float) -> float:
    return 1 / sum(leak_current / cell_voltage for _ in range(round(bleed_factor)))


@_route("balance.drain_resistance", "volts over the sum of both currents", {"leak_resistance": 1667.0, "bleed_resistance": 166.7})
def _(leak_resistance: float, bleed_resistance: float) -> float:
    return 2.5 / (2.5 / leak_resistance + 2.5 / bleed_resistance)


@_route("balance.bleed_heat", "volts times current", {"cell_voltage": 2.5, "bleed_resistance": 166.7})
def _(cell_voltage: float, bleed_resistance: float) -> float:
    return cell_voltage * (cell_voltage / bleed_resistance)


@_route("balance.decay_voltage", "an ODE, stepped",
        {"first_cell_voltage": 2.5, "time": 1e5, "drain_resistance": 152.0, "cell_capacitance": 650.0}, 1e-8, INTEGRAL)
def _(first_cell_voltage: float, time: float, drain_resistance: float, cell_capacitance: float) -> float:
    run = solve_ivp(lambda _t, v: -v / drain_resistance / cell_capacitance, (0.0, time), [first_cell_voltage],
                    rtol=1e-11, atol=1e-12)
    return float(run.y[0, -1])


@_route("balance.decay_time", "an ODE stepped until the volts are down",
        {"drain_resistance": 152.0, "cell_capacitance": 650.0, "voltage_share": 0.9}, 1e-8, INTEGRAL)
def _(drain_resistance: float, cell_capacitance: float, voltage_share: float) -> float:
    return _until(lambda _t, v: -v / drain_resistance / cell_capacitance, [1.0], lambda _t, v: v[0] - voltage_share)


@_route("balance.clamped_slope", "volts gained in a thousand seconds, by their charge",
        {"charging_current": 6.0, "clamp_current": 0.5, "cell_capacitance": 650.0})
def _(charging_current: float, clamp_current: float, cell_capacitance: float) -> float:
    return (charging_current * 1000.0 - clamp_current * 1000.0) / cell_capacitance / 1000.0


def _charge(until: Callable[..., float], charging: float, c: Mapping[str, float], start: list[float]) -> list[float]:
    """Small cell and a fellow charged with their clamps, stepped in two legs: volts at the end and seconds."""
    def slopes(_t: float, v: np.ndarray) -> list[float]:
        holds = min(c["clamp_current"], charging) if v[0] >= c["clamp_voltage"] else 0.0
        return [(charging - holds) / c["odd_capacitance"], charging / c["cell_capacitance"]]

    until.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(slopes, (0.0, 1e6), start, method="DOP853", rtol=1e-12, atol=1e-13, events=until)
    return [*(float(x) for x in run.y_events[0][0]), float(run.t_events[0][0])]


def _to_the_clamp(charging: float, c: Mapping[str, float]) -> list[float]:
    *_, seconds = _charge(lambda _t, v: v[0] - c["clamp_voltage"] + 1e-14, charging, {**c, "clamp_current": 0.0}, [0.0, 0.0])
    return [c["clamp_voltage"], charging * seconds / c["cell_capacitance"]]


def _full(c: Mapping[str, float]) -> Callable[..., float]:
    return lambda _t, v: v[0] + (c["cells_in_series"] - 1) * v[1] - c["voltage"]


@_route("balance.overrun_voltage", "an ODE from empty to the clamp, and on to the full string",
        {**CLAMPED, "charging_current": 6.0}, 1e-8, INTEGRAL)
def _(charging_current: float, **c: float) -> float:
    return _charge(_full(c), charging_current, c, _to_the_clamp(charging_current, c))[0]


@_route("balance.finishing_time", "an ODE from the clamp to the full string, the small cell held", CLAMPED, 1e-8, INTEGRAL)
def _(**c: float) -> float:
    return _charge(_full(c), c["clamp_current"], c, _to_the_clamp(6.0, c))[-1]


# ---------------------------------------------------------------- wire and fuse
COPPER = {"copper_resistivity": 1e-6 / 58, "wire_length": 1.2, "wire_area": 6e-6}
BANK = {"capacitance": 46.43, "voltage": 35.0, "loop_resistance": 0.0155}


@_route("wiring.short_time_constant", "seconds until the current is down to 1/e, by an ODE",
        {"loop_resistance": 0.0155, "capacitance": 46.43}, 1e-8, INTEGRAL)
def _(loop_resistance: float, capacitance: float) -> float:
    return _until(lambda _t, v: -v / loop_resistance / capacitance, [1.0], lambda _t, v: v[0] - math.exp(-1))


@_route("wiring.short_i2t", "the square of the decaying current, integrated", BANK)
def _(capacitance: float, voltage: float, loop_resistance: float) -> float:
    tau = loop_resistance * capacitance
    return quad(lambda t: (voltage / loop_resistance * math.exp(-t / tau)) ** 2, 0.0, 60 * tau, epsrel=1e-12, limit=200)[0]


@_route("wiring.wire_heat", "current squared times the wire's resistance, integrated",
        {"energy": 28438.0, "wire_resistance": 3.1e-3, "loop_resistance": 18.6e-3})
def _(energy: float, wire_resistance: float, loop_resistance: float) -> float:
    farad, volts = 2 * energy / 35.0**2, 35.0
    tau = loop_resistance * farad
    amps = volts / loop_resistance
    return quad(lambda t: amps**2 * math.exp(-2 * t / tau) * wire_resistance, 0.0, 60 * tau, epsrel=1e-12, limit=200)[0]


@_route("wiring.wire_rise", "heat of one gram, grams in the wire",
        {"wire_energy": 4739.6, "copper_density": 8960.0, "copper_heat": 385.0, "wire_length": 1.0, "wire_area": 6e-6})
def _(wire_energy: float, copper_density: float, copper_heat: float, wire_length: float, wire_area: float) -> float:
    grams = copper_density * 1e3 * wire_length * wire_area
    return wire_energy / grams / (copper_heat / 1e3)


@_route("wiring.adiabatic_limit", "heat balance from 70 °C to 160 °C: 3.45 J/(K cm³), 17.241 nΩ m, resistance straight to "
        "nothing at -234.5 °C (constants of IEC 60949)", {"wire_constant": 115e6, "wire_area": 6e-6}, 3.5e-3,
        "the standard rounds k to three figures; these constants give 114.8")
def _(wire_constant: float, wire_area: float) -> float:
    def share(celsius: float) -> float:  # heat for a kelvin over the resistivity at this temperature
        return 3.45e6 / (17.241e-9 * (234.5 + celsius) / 254.5)

    return quad(share, 70.0, 160.0)[0] * wire_area**2 * (wire_constant / 115e6) ** 2


@_route("wiring.limit_time", "an integral that grows second by second",
        {"wire_limit": 476100.0, "wire_current": 289.7}, 1e-8, INTEGRAL)
def _(wire_limit: float, wire_current: float) -> float:
    return _until(lambda _t, _x: [wire_current**2], [0.0], lambda _t, x: x[0] - wire_limit)


@_route("wiring.decaying_limit_time", "an ODE of the current and its integral",
        {"time_constant": 0.7196, "wire_limit": 476100.0, "heating_integral": 1.8347e6}, 1e-8, INTEGRAL)
def _(time_constant: float, wire_limit: float, heating_integral: float) -> float:
    first = math.sqrt(2 * heating_integral / time_constant)
    return _until(lambda _t, x: [-x[0] / time_constant, (x[0] / first) ** 2], [first, 0.0],
                  lambda _t, x: x[1] - wire_limit / first**2)


@_route("wiring.melting_current", "heat balance from 25 °C to 1083 °C: 3.45 J/(K cm³), 17.241 nΩ m at 20 °C, straight to nothing "
        "at -234 °C", {"melting_constant": 1 / (33**0.5 * math.pi / 4 * 25.4e-6**2), "wire_area": 6e-6,
                       "melting_temperature": 1356.15, "wire_temperature": 298.15, "copper_zero": 39.15, "time": 1.0},
        4.5e-3, "Onderdonk's 33 is a rounded number: these constants give 33.3")
def _(melting_constant: float, wire_area: float, melting_temperature: float, wire_temperature: float, copper_zero: float,
      time: float) -> float:
    def share(kelvin: float) -> float:
        return 3.45e6 / (17.241e-9 * (kelvin - copper_zero) / (293.15 - copper_zero))

    return wire_area * math.sqrt(quad(share, wire_temperature, melting_temperature)[0] / time)


@_route("wiring.copper_resistance", "conductances of strands of a square millimetre, side by side, metre by metre", COPPER)
def _(copper_resistivity: float, wire_length: float, wire_area: float) -> float:
    strands = round(wire_area / 1e-6)
    return wire_length / sum(1e-6 / copper_resistivity for _ in range(strands))


@_route("wiring.lead_drop", "power over current (another equation)", {**COPPER, "wire_current": 45.0})
def _(wire_current: float, copper_resistivity: float, wire_length: float, wire_area: float) -> float:
    ohm = copper_resistivity * wire_length / wire_area
    return float(store.store_loss(wire_current, ohm)) / wire_current


@_route("wiring.lead_heat", "field times current density, integrated over the copper", {**COPPER, "wire_current": 45.0})
def _(wire_current: float, copper_resistivity: float, wire_length: float, wire_area: float) -> float:
    density = wire_current / wire_area
    return quad(lambda _x: copper_resistivity * density**2 * wire_area, 0.0, wire_length)[0]


@_route("wiring.fuse_rating", "the rating whose share is the current, by bisection", {"rms_current": 15.4, "fuse_share": 0.75})
def _(rms_current: float, fuse_share: float) -> float:
    return float(mpmath.findroot(lambda rating: fuse_share * rating - rms_current, (1.0, 100.0), solver="bisect"))


@_route("wiring.precharge_current", "charge of the capacitors over the time constant", {"voltage": 35.0, "loop_resistance": 47.0})
def _(voltage: float, loop_resistance: float) -> float:
    farad = 2.2e-3
    return float(store.charge(farad, voltage)) / (farad * loop_resistance)


@_route("wiring.precharge_time", "an ODE stepped until the volts are there",
        {"loop_resistance": 47.0, "capacitance": 2.2e-3, "voltage_share": 0.95}, 1e-8, INTEGRAL)
def _(loop_resistance: float, capacitance: float, voltage_share: float) -> float:
    return _until(lambda _t, v: (1 - v) / loop_resistance / capacitance, [0.0], lambda _t, v: v[0] - voltage_share)


@_route("wiring.precharge_power", "twice the energy in the resistor over the time constant",
        {"voltage": 35.0, "loop_resistance": 47.0})
def _(voltage: float, loop_resistance: float) -> float:
    farad = 2.2e-3
    return 2 * float(store.energy(farad, voltage)) / (farad * loop_resistance)


# ---------------------------------------------------------------- ageing
@_route("ageing.temperature_life", "an exponential, half each step", {"rated_temperature": 338.15, "cell_temperature": 298.15,
                                                                       "life_halving_rise": 10.0})
def _(rated_temperature: float, cell_temperature: float, life_halving_rise: float) -> float:
    return math.exp(math.log(2) / life_halving_rise * (rated_temperature - cell_temperature))


@_route("ageing.voltage_life", "an exponential, half each step",
        {"rated_cell_voltage": 2.7, "cell_voltage": 2.958, "life_halving_volts": 0.2})
def _(rated_cell_voltage: float, cell_voltage: float, life_halving_volts: float) -> float:
    return 0.5 ** ((cell_voltage - rated_cell_voltage) / life_halving_volts)


@_route("ageing.life", "damage at its rate, summed until it is whole",
        {"rated_life": 5.4e6, "temperature_life": 16.0, "voltage_life": 0.41}, 1e-8, INTEGRAL)
def _(rated_life: float, temperature_life: float, voltage_life: float) -> float:
    rate = 1 / (rated_life * temperature_life * voltage_life)
    run = solve_ivp(lambda _t, _x: [rate], (0.0, 1e9), [0.0], rtol=1e-11, atol=1e-12, events=lambda _t, x: x[0] - 1)
    return float(run.t_events[0][0])


@_route("ageing.cell_rise", "warming stepped until nothing changes, a heat capacity of 60 J/K",
        {"rms_current": 21.0, "cell_resistance": 3.2e-3, "cell_thermal_resistance": 10.9}, 1e-8, INTEGRAL)
def _(rms_current: float, cell_resistance: float, cell_thermal_resistance: float) -> float:
    run = solve_ivp(lambda _t, x: [(rms_current**2 * cell_resistance - x[0] / cell_thermal_resistance) / 60.0],
                    (0.0, 20000.0), [0.0], method="LSODA", rtol=1e-11, atol=1e-11)
    return float(run.y[0, -1])


def _swing(mean: float, amps: float, ohm: float) -> tuple[float, float]:
    """Energy inside and heat of a swing of 2 V about the mean at a constant current, by quadrature."""
    farad = 100.0
    time = farad * 2.0 / abs(amps)
    inside = quad(lambda t: (mean - 1.0 + abs(amps) * t / farad) * abs(amps), 0.0, time, epsrel=1e-12)[0]
    return inside, quad(lambda _t: amps**2 * ohm, 0.0, time, epsrel=1e-12)[0]


@_route("ageing.charging_efficiency", "energies of a whole swing by quadrature",
        {"mean_voltage": 27.5, "charging_current": 30.0, "store_resistance": 0.0155})
def _(mean_voltage: float, charging_current: float, store_resistance: float) -> float:
    inside, heat = _swing(mean_voltage, charging_current, store_resistance)
    return inside / (inside + heat)


@_route("ageing.discharging_efficiency", "energies of a whole swing by quadrature",
        {"mean_voltage": 27.5, "store_current": 30.0, "store_resistance": 0.0155})
def _(mean_voltage: float, store_current: float, store_resistance: float) -> float:
    inside, heat = _swing(mean_voltage, store_current, store_resistance)
    return (inside - heat) / inside


# ---------------------------------------------------------------- tests of one cell
@_route("cell_check.window_capacitance", "slope of a straight line through the crossings, fitted",
        {"store_current": 100.0, "last_time": 48.0, "first_time": 16.0, "first_voltage": 2.16, "last_voltage": 1.08})
def _(store_current: float, last_time: float, first_time: float, first_voltage: float, last_voltage: float) -> float:
    slope = np.polyfit([first_time - 30, last_time - 30], [first_voltage, last_voltage], 1)[0]
    return float(-store_current / slope)


@_route("cell_check.step_resistance", "heat at the step over the current squared", {"voltage_step": 0.029, "store_current": 100.0})
def _(voltage_step: float, store_current: float) -> float:
    return voltage_step * store_current / store_current**2


@_route("cell_check.energy_capacitance", "the capacitor whose energies differ by so much, by bisection",
        {"delivered_energy": 5248.8, "first_voltage": 2.16, "last_voltage": 1.08})
def _(delivered_energy: float, first_voltage: float, last_voltage: float) -> float:
    return float(mpmath.findroot(
        lambda c: float(store.energy(float(c), first_voltage)) - float(store.energy(float(c), last_voltage)) - delivered_energy,
        (1.0, 1e5), solver="bisect", tol=1e-20, verify=False, maxsteps=90))


@_route("cell_check.swing_loss", "current squared times resistance, integrated",
        {"cell_resistance": 0.29e-3, "charge": 3240.0, "time": 32.4})
def _(cell_resistance: float, charge: float, time: float) -> float:
    return quad(lambda _t: (charge / time) ** 2 * cell_resistance, 0.0, time)[0]


@_route("cell_check.charging_test_current", "the current whose full charge loses the rest, by a search",
        {"rated_cell_voltage": 2.7, "test_efficiency": 0.95, "cell_resistance": 0.29e-3}, 1e-8, "a root by secants")
def _(rated_cell_voltage: float, test_efficiency: float, cell_resistance: float) -> float:
    farad = 3000.0

    def miss(amps: float) -> float:
        lost = amps**2 * cell_resistance * farad * rated_cell_voltage / amps
        inside = farad * rated_cell_voltage**2 / 2
        return inside / (inside + lost) - test_efficiency

    return float(mpmath.findroot(lambda amps: miss(float(amps)), (10.0, 500.0), solver="illinois", tol=1e-18, verify=False))


@_route("cell_check.discharging_test_current", "the current whose full discharge loses the rest, by a search",
        {"rated_cell_voltage": 2.7, "test_efficiency": 0.95, "cell_resistance": 0.29e-3}, 1e-8, "a root by secants")
def _(rated_cell_voltage: float, test_efficiency: float, cell_resistance: float) -> float:
    farad = 3000.0

    def miss(amps: float) -> float:
        lost = amps**2 * cell_resistance * farad * rated_cell_voltage / amps
        return 1 - lost / (farad * rated_cell_voltage**2 / 2) - test_efficiency

    return float(mpmath.findroot(lambda amps: miss(float(amps)), (10.0, 500.0), solver="illinois", tol=1e-18, verify=False))
