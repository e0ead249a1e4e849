"""Second routes for what a store gives, how it is charged, and how one is chosen: quadrature, an ODE, a net, a bracket.

`other` may use other equations of the package where its words say so, never the one under test.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from fractions import Fraction

import mpmath
import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from evlab import converter, lithium, store

from . import Route

ROUTES: list[Route] = []
INTEGRAL = "the error of the integration"


def _route(equation: str, words: str, inputs: Mapping[str, float], within: float = 1e-9, why: str = "") -> Callable[..., None]:
    def keep(other: Callable[..., float]) -> None:
        ROUTES.append(Route(equation, words, inputs, other, within, why))

    return keep


def _until(slope: Callable[[float], float], start: float, passed: Callable[[float], float]) -> float:
    """Seconds until `passed` of one state crosses zero."""

    def watch(_t: float, x: np.ndarray) -> float:
        return passed(float(x[0]))

    watch.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(
        lambda _t, x: [slope(float(x[0]))], (0.0, 1e7), [start], method="DOP853", rtol=1e-12, atol=1e-12, events=watch
    )
    return float(run.t_events[0][0])


def _along(slope: Callable[[float, float], float], start: float, first: float, last: float) -> float:
    """One state carried from `first` to `last`."""
    run = solve_ivp(lambda t, x: [slope(t, x[0])], (first, last), [start], method="DOP853", rtol=1e-12, atol=1e-14)
    return float(run.y[0, -1])


# ---------------------------------------------------------------- store
@_route(
    "store.constant_power_time",
    "an ODE of the inner volts, the current by bracket, stepped until the terminals reach the voltage",
    {"capacitance": 46.4, "store_power": 600.0, "first_voltage": 34.7, "last_voltage": 15.0, "store_resistance": 0.0155},
    1e-8,
    INTEGRAL,
)
def _(capacitance: float, store_power: float, first_voltage: float, last_voltage: float, store_resistance: float) -> float:
    def terminals(inside: float) -> float:
        return float(brentq(lambda u: u * (inside - u) - store_power * store_resistance, inside / 2, inside, xtol=1e-14))

    inside = first_voltage + store_resistance * store_power / first_voltage
    return _until(lambda v: -store_power / terminals(v) / capacitance, inside, lambda v: terminals(v) - last_voltage)


@_route(
    "store.open_voltage_under_power",
    "the inner volts that leave these volts at the terminals (another equation), bracketed",
    {"terminal_voltage": 20.0, "store_resistance": 0.1, "store_power": 900.0},
)
def _(terminal_voltage: float, store_resistance: float, store_power: float) -> float:
    least = 2 * math.sqrt(store_resistance * store_power)
    return float(
        brentq(
            lambda v: store.voltage_under_power.floats(v, store_resistance, store_power) - terminal_voltage,
            least * (1 + 1e-9),
            3 * least + terminal_voltage,
            xtol=1e-13,
        )
    )


@_route(
    "store.usable_power",
    "two resistors in a net, the outer one so large that 0.12 of the short circuit's power is in it",
    {"voltage": 2.7, "store_resistance": 0.29e-3},
    1e-8,
    "the load is found by a bracket",
)
def _(voltage: float, store_resistance: float) -> float:
    def power(load: float) -> float:
        net = np.array([[store_resistance, 1.0], [-load, 1.0]])  # amps and volts of the load
        amps, volts = np.linalg.solve(net, np.array([voltage, 0.0]))
        return float(amps * volts)

    share = (1 + math.sqrt(1 - 4 * 0.12)) / 2  # of the volts: 86 %
    load = brentq(lambda r: r / (r + store_resistance) - share, store_resistance, 100 * store_resistance, xtol=1e-18)
    return power(float(load))


SLOPED = {"base_capacitance": 560.0, "capacitance_slope": 36.0, "voltage": 2.5}


@_route("store.differential_capacitance", "slope of the charge (another equation) against the volts", SLOPED)
def _(base_capacitance: float, capacitance_slope: float, voltage: float) -> float:
    return float(mpmath.diff(lambda v: base_capacitance * v + capacitance_slope * v * v / 2, voltage))


@_route("store.sloped_charge", "capacitance (another equation) integrated over the volts", SLOPED)
def _(base_capacitance: float, capacitance_slope: float, voltage: float) -> float:
    farads = store.differential_capacitance.floats
    return quad(lambda v: farads(base_capacitance, capacitance_slope, v), 0.0, voltage, epsrel=1e-12)[0]


@_route("store.sloped_energy", "volts integrated over the charge that is in (its inverse by bracket)", SLOPED)
def _(base_capacitance: float, capacitance_slope: float, voltage: float) -> float:
    def volts(charge: float) -> float:
        return float(brentq(lambda v: (base_capacitance + capacitance_slope * v / 2) * v - charge, 0.0, 10.0, xtol=1e-14))

    return quad(volts, 0.0, (base_capacitance + capacitance_slope * voltage / 2) * voltage, epsrel=1e-11)[0]


@_route(
    "store.cold_resistance",
    "cooled down by an ODE: each kelvin adds ln 2 over the fall that doubles it",
    {"store_resistance": 0.0155, "doubling_fall": 60.0, "reference_temperature": 293.15, "cell_temperature": 253.15},
)
def _(store_resistance: float, doubling_fall: float, reference_temperature: float, cell_temperature: float) -> float:
    return _along(lambda _t, r: -math.log(2) / doubling_fall * r, store_resistance, reference_temperature, cell_temperature)


# ---------------------------------------------------------------- lithium
@_route("lithium.pack_charge", "strings added one by one, exact fractions", {"cell_charge": 10800.0, "strings_in_parallel": 2})
def _(cell_charge: float, strings_in_parallel: int) -> float:
    return float(sum(Fraction(cell_charge) for _ in range(strings_in_parallel)))


@_route(
    "lithium.pack_resistance",
    "node voltages of the whole net by its conductance matrix: groups side by side, one joint after each",
    {
        "cells_in_series": 5,
        "strings_in_parallel": 3,
        "cell_resistance": 25e-3,
        "joint_resistance": 0.5e-3,
        "lead_resistance": 6e-3,
    },
)
def _(
    cells_in_series: int, strings_in_parallel: int, cell_resistance: float, joint_resistance: float, lead_resistance: float
) -> float:
    nodes = 2 * cells_in_series + 2
    net = np.zeros((nodes, nodes))

    def link(a: int, b: int, ohm: float) -> None:
        net[[a, b], [a, b]] += 1 / ohm
        net[[a, b], [b, a]] -= 1 / ohm

    for group in range(cells_in_series):
        for _ in range(strings_in_parallel):
            link(2 * group, 2 * group + 1, cell_resistance)
        link(2 * group + 1, 2 * group + 2, joint_resistance)
    link(nodes - 2, nodes - 1, lead_resistance)
    ampere = np.zeros(nodes - 1)
    ampere[-1] = 1.0
    return float(np.linalg.solve(net[1:, 1:], ampere)[-1])


@_route(
    "lithium.cold_pack_resistance",
    "cooled down by an ODE: van 't Hoff's law, d ln R/dT = -B/T²",
    {"store_resistance": 0.1, "activation_temperature": 1850.0, "warm_temperature": 298.15, "cell_temperature": 263.15},
)
def _(store_resistance: float, activation_temperature: float, warm_temperature: float, cell_temperature: float) -> float:
    return _along(lambda t, r: -activation_temperature / t**2 * r, store_resistance, warm_temperature, cell_temperature)


@_route("lithium.c_rate", "one over the time from full to empty (another equation)", {"store_current": 6.0, "charge": 21600.0})
def _(store_current: float, charge: float) -> float:
    return 1 / lithium.time_at_current.floats(charge, 1.0, 0.0, store_current)


@_route(
    "lithium.shared_current_limit",
    "the current of the pack at which the string with the excess reaches its limit, bracketed",
    {"cell_current_limit": 15.0, "strings_in_parallel": 2, "sharing": 0.2},
)
def _(cell_current_limit: float, strings_in_parallel: int, sharing: float) -> float:
    def left(amps: float) -> float:
        equal = amps / strings_in_parallel
        return cell_current_limit - equal - sharing * equal

    return float(brentq(left, 0.0, 1e3, xtol=1e-12))


@_route(
    "lithium.compensated_stop",
    "terminal volts (another equation) of a store that stands at the stop volts inside",
    {"stop_voltage": 21.0, "store_current": 20.0, "sag_compensation": 0.1},
)
def _(stop_voltage: float, store_current: float, sag_compensation: float) -> float:
    return store.terminal_voltage.floats(stop_voltage, store_current, sag_compensation)


@_route(
    "lithium.time_at_current",
    "an ODE of the state of charge, stepped until it is there",
    {"charge": 21600.0, "first_share": 0.9, "last_share": 0.2, "store_current": 6.0},
    1e-8,
    INTEGRAL,
)
def _(charge: float, first_share: float, last_share: float, store_current: float) -> float:
    return _until(lambda _z: -store_current / charge, first_share, lambda z: z - last_share)


# ---------------------------------------------------------------- converter and charger
@_route(
    "converter.input_power",
    "the power of which its share becomes heat and the rest comes out, bracketed",
    {"output_power": 210.0, "efficiency": 0.88},
)
def _(output_power: float, efficiency: float) -> float:
    return float(brentq(lambda p: p - (1 - efficiency) * p - output_power, 0.0, 100 * output_power, xtol=1e-11))


@_route(
    "converter.input_current",
    "power before the converter (another equation) over the volts there",
    {"output_power": 210.0, "efficiency": 0.88, "input_voltage": 13.2},
)
def _(output_power: float, efficiency: float, input_voltage: float) -> float:
    return converter.input_power.floats(output_power, efficiency) / input_voltage


@_route(
    "chargers.constant_current_charge_time",
    "an ODE stepped until the terminals reach the voltage",
    {"capacitance": 46.4, "last_voltage": 35.0, "charging_current": 6.0, "store_resistance": 0.0155, "first_voltage": 20.0},
    1e-8,
    INTEGRAL,
)
def _(
    capacitance: float, last_voltage: float, charging_current: float, store_resistance: float, first_voltage: float
) -> float:
    return _until(
        lambda _v: charging_current / capacitance, first_voltage, lambda v: v + charging_current * store_resistance - last_voltage
    )


PUSHED = {"open_voltage": 20.0, "store_resistance": 0.5, "charging_power": 150.0}


def _pushed(open_voltage: float, ohm: float, power: float) -> float:
    """Terminal volts at which just this power goes in."""
    return float(brentq(lambda u: u * (u - open_voltage) / ohm - power, open_voltage, open_voltage + 1e4, xtol=1e-13))


@_route("chargers.voltage_under_charging_power", "the upper root of u (u - V)/R = P, bracketed", PUSHED)
def _(open_voltage: float, store_resistance: float, charging_power: float) -> float:
    return _pushed(open_voltage, store_resistance, charging_power)


@_route("chargers.current_under_charging_power", "the current of the bracketed volts at the terminals, by Ohm's law", PUSHED)
def _(open_voltage: float, store_resistance: float, charging_power: float) -> float:
    return (_pushed(open_voltage, store_resistance, charging_power) - open_voltage) / store_resistance


@_route(
    "chargers.constant_power_charge_time",
    "an ODE of the inner volts, the current by bracket, stepped until the terminals reach the voltage",
    {"capacitance": 46.4, "charging_power": 150.0, "last_voltage": 35.0, "first_voltage": 20.1, "store_resistance": 0.0155},
    1e-8,
    INTEGRAL,
)
def _(
    capacitance: float, charging_power: float, last_voltage: float, first_voltage: float, store_resistance: float
) -> float:
    def terminals(inside: float) -> float:
        return _pushed(inside, store_resistance, charging_power)

    return _until(
        lambda v: charging_power / terminals(v) / capacitance,
        first_voltage - store_resistance * charging_power / first_voltage,
        lambda v: terminals(v) - last_voltage,
    )


def _through_a_resistor(what: str, first: float, last: float, source: float, ohm: float = 6.0, farad: float = 46.4) -> float:
    """Joules of the source or of the resistor, integrated over the exponential of the current."""
    tau, start = farad * ohm, (source - first) / ohm
    end = tau * math.log(start / ((source - last) / ohm))
    power = {"source": lambda t: source * start * math.exp(-t / tau), "heat": lambda t: ohm * (start * math.exp(-t / tau)) ** 2}
    return quad(power[what], 0.0, end, epsrel=1e-12)[0]


@_route(
    "chargers.resistor_charge_efficiency",
    "one less the heat over the source's energy, both integrated over the exponential",
    {"last_voltage": 35.0, "first_voltage": 20.0, "source_voltage": 36.0},
)
def _(last_voltage: float, first_voltage: float, source_voltage: float) -> float:
    parts = (_through_a_resistor(what, first_voltage, last_voltage, source_voltage) for what in ("heat", "source"))
    return 1 - next(parts) / next(parts)


@_route(
    "chargers.resistor_charge_time",
    "an ODE stepped until the volts are there",
    {"capacitance": 46.4, "loop_resistance": 6.0, "source_voltage": 36.0, "first_voltage": 20.0, "last_voltage": 35.0},
    1e-8,
    INTEGRAL,
)
def _(
    capacitance: float, loop_resistance: float, source_voltage: float, first_voltage: float, last_voltage: float
) -> float:
    return _until(lambda v: (source_voltage - v) / loop_resistance / capacitance, first_voltage, lambda v: v - last_voltage)


@_route(
    "chargers.resistor_charge_heat",
    "power in the resistance integrated over the exponential, for some ohms",
    {"capacitance": 46.4, "last_voltage": 35.0, "first_voltage": 20.0, "source_voltage": 36.0},
)
def _(capacitance: float, last_voltage: float, first_voltage: float, source_voltage: float) -> float:
    return _through_a_resistor("heat", first_voltage, last_voltage, source_voltage, 2.7, capacitance)


@_route(
    "chargers.resistor_peak_power",
    "what the source gives at the first instant less what goes into the capacitor",
    {"source_voltage": 36.0, "first_voltage": 20.0, "loop_resistance": 6.0},
)
def _(source_voltage: float, first_voltage: float, loop_resistance: float) -> float:
    amps = float(np.linalg.solve(np.array([[loop_resistance]]), np.array([source_voltage - first_voltage]))[0])
    return source_voltage * amps - first_voltage * amps


@_route(
    "chargers.source_current",
    "the lower root of I (V - R I) = P, bracketed below the current of the most power",
    {"input_power": 238.6, "source_voltage": 13.2, "source_resistance": 0.012},
)
def _(input_power: float, source_voltage: float, source_resistance: float) -> float:
    top = source_voltage / (2 * source_resistance)
    return float(brentq(lambda i: i * (source_voltage - source_resistance * i) - input_power, 0.0, top, xtol=1e-13))


@_route(
    "chargers.charges_per_source",
    "whole charges taken off one by one, and the part that the rest is, exact fractions",
    {"source_charge": 72000.0, "source_share": 0.8, "charge_taken": 1690.0},
)
def _(source_charge: float, source_share: float, charge_taken: float) -> float:
    left, count = Fraction(source_charge) * Fraction(source_share), 0
    while left >= Fraction(charge_taken):
        left -= Fraction(charge_taken)
        count += 1
    return count + float(left / Fraction(charge_taken))


# ---------------------------------------------------------------- choosing a store
@_route(
    "ragone.cells_by_energy",
    "volts of one cell integrated over the charge that it gives, and how often that fits",
    {"energy": 23214.0, "usable_share": 0.8, "cell_charge": 10800.0, "cell_voltage": 3.6},
)
def _(energy: float, usable_share: float, cell_charge: float, cell_voltage: float) -> float:
    return energy / quad(lambda z: cell_voltage * cell_charge, 1.0 - usable_share, 1.0, epsrel=1e-12)[0]


@_route(
    "ragone.cells_by_power",
    "what one cell gives into the load that draws its limit, node by node",
    {"power_needed": 900.0, "cell_current_limit": 15.0, "cell_voltage": 3.6, "cell_resistance": 0.025},
)
def _(power_needed: float, cell_current_limit: float, cell_voltage: float, cell_resistance: float) -> float:
    load = float(brentq(lambda r: cell_voltage / (cell_resistance + r) - cell_current_limit, 1e-3, 10.0, xtol=1e-15))
    return power_needed / (cell_current_limit**2 * load)


@_route(
    "ragone.lithium_energy",
    "the power times the time until the share is out (another equation)",
    {"power_needed": 300.0, "usable_share": 0.9, "charge": 21600.0, "store_current": 8.6},
)
def _(power_needed: float, usable_share: float, charge: float, store_current: float) -> float:
    return power_needed * lithium.time_at_current.floats(charge, usable_share, 0.0, store_current)


