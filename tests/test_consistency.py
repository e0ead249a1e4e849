"""Pairs of routes to one number, beyond the one route an equation has in reference/two_routes.py.

Faces        Python face = array face = compiled face = text face, for every equation at random inputs in range
Solved       solve_for gives every input of every equation back; every other root it names is one too
Store        delivered + lost = fall of the stored energy (S5); charge and discharge mirror each other in time
             twice the capacitance, twice the time at one power when the resistance goes to nothing
             the sag goes to nothing with the resistance; two equal branches are one
Power        E I = T w; what the store gives = converter + shaft + copper + stand-by; the chain keeps power both ways
Road         a road turned round twice is itself; its height in closed form = slope integrated by quadrature
             a wind from behind as fast as the vehicle leaves no air force; a road turned round gives the lift back
Motion       coasting: the closed form = the road's forces integrated; run backwards in time it ends where it began
Seams        each compiled function of a part = the equations it is made of
Dresses      every dress of K gives the same drive constant
"""

import inspect
import math
import re

import numpy as np
import pytest
import reference
from scipy.integrate import quad, solve_ivp

from evlab import controller, converter, gearing, motor, road, rotor_forces, store, supply
from evlab.equation import EQUATIONS
from evlab.glossary import entry
from evlab.route import Route
from evlab.route_files import load_route
from evlab.units import InputError
from evlab.vehicle import load_vehicle

ROUTES = reference.routes()
NAMES = sorted(EQUATIONS)
# Inputs that make physical sense; constants that a route leaves out stand as in the glossary.
USUAL = {r.equation: {n: float(r.inputs[n] if n in r.inputs else entry(n).value) for n in EQUATIONS[r.equation].inputs}
         for r in ROUTES}


# ---------------------------------------------------------------- faces
def drawn(equation, rng, count):
    """Random inputs around the usual ones, within the glossary's range: a factor of up to three, both signs where allowed."""
    columns = []
    for name in equation.inputs:
        e = entry(name)
        low, high = equation.limits.get(name, (e.low, e.high))
        values = USUAL[equation.name][name] * np.exp(rng.uniform(-1.1, 1.1, count))
        if e.low is not None and e.low < 0:
            values = values * rng.choice([-1.0, 1.0], count)
        columns.append(np.clip(values, -np.inf if low is None else low, np.inf if high is None else high))
    return np.array(columns)


def guarded(face, values):
    """A float face; nan where it has no value (plain Python raises there or leaves the real numbers, compiled code does not)."""
    try:
        return face(*values)
    except (ZeroDivisionError, OverflowError, ValueError, TypeError):
        return math.nan


@pytest.mark.parametrize("name", NAMES)
def test_every_face_says_the_same(name):
    equation = EQUATIONS[name]
    points = drawn(equation, np.random.default_rng(20260101), 40)
    by_float = np.array([guarded(equation.floats, column.tolist()) for column in points.T])
    with np.errstate(all="ignore"):
        by_array = np.broadcast_to(equation.arrays(*points), by_float.shape)
    by_kernel = np.array([guarded(equation.kernel, column.tolist()) for column in points.T])
    assert np.isfinite(by_float).sum() > 10
    np.testing.assert_allclose(by_array, by_float, rtol=1e-12, atol=1e-300)
    np.testing.assert_allclose(by_kernel, by_float, rtol=1e-12, atol=1e-300)


@pytest.mark.parametrize("name", NAMES)
def test_text_and_quantities_say_the_same(name):
    from evlab.units import quantity, write

    equation, values = EQUATIONS[name], USUAL[name]
    expected = equation(**values)
    texts = {n: write(v, entry(n)) for n, v in values.items() if entry(n).family != "turning speed"}
    for dress in (texts, {n: quantity(v, entry(n)) for n, v in values.items()}):
        result = equation(**{**values, **dress})
        assert result.units == quantity(1.0, entry(equation.left)).units
        assert result.magnitude == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_there_is_one_order_of_inputs(name):
    """Signature, docstring, `inputs` and the float face go in one order; constants come last, by name where a
    formula has them earlier."""
    equation, values = EQUATIONS[name], USUAL[name]
    parameters = inspect.signature(equation).parameters
    assert tuple(parameters) == equation.inputs
    text = equation.__doc__
    places = [text.index(f"    {n}: ") for n in equation.inputs]
    assert places == sorted(places)
    free = [n for n in equation.inputs if entry(n).value is None]
    constants = {n: values[n] for n in equation.inputs if n not in free}
    by_name_only = [n for n, p in parameters.items() if p.kind is p.KEYWORD_ONLY]
    assert by_name_only in ([], list(constants))
    assert equation.inputs == (*free, *constants)
    by_name = float(equation(**values))
    assert float(equation(*(values[n] for n in free), **constants)) == by_name
    assert float(equation.floats(*(values[n] for n in equation.inputs))) == by_name
    if by_name_only:
        with pytest.raises(TypeError, match="by name only"):
            equation(*(values[n] for n in equation.inputs))


def test_the_mass_of_a_magnet_needs_its_density_by_name():
    """A disc of 15 mm radius and 10 mm is 7.069 cm3, so 53.0 g at 7500 kg/m3; the density first is refused, not 26 507 kg."""
    with pytest.raises(TypeError, match=r"in this order: magnet_radius, magnet_thickness\..*like magnet_density=7500"):
        rotor_forces.disc_magnet_mass(7500, 0.015, 0.01)
    assert rotor_forces.disc_magnet_mass(0.015, 0.01, magnet_density=7500) == pytest.approx(0.05301, abs=5e-6)


# ---------------------------------------------------------------- solved for another unknown
@pytest.mark.parametrize("name", NAMES)
def test_solve_for_gives_every_input_back(name):
    equation, values = EQUATIONS[name], USUAL[name]
    result = float(equation(**values))
    for unknown, true in values.items():
        known = {n: v for n, v in values.items() if n != unknown} | {equation.left: result}
        refused = ""
        try:
            found = equation.solve_for(unknown, **known)
        except InputError as told:
            refused = str(told)
        if refused:  # several roots, or none that is seen over the whole range: each must be one, and a narrow window choose ours
            told = re.search(r"has \d+ values \((.*?)\) of", refused)
            assert told or "has no value" in refused
            assert refused.endswith("give between=(low, high) to choose.")
            for root in told[1].split(",")[:3] if told else ():
                assert float(equation(**{**values, unknown: float(root)})) == pytest.approx(result, rel=5e-3)
            width = max(0.002 * abs(true), 1e-6)
            found = equation.solve_for(unknown, between=(true - width, true + width), **known)
        assert found == pytest.approx(true, rel=1e-9, abs=1e-12), unknown


def ends_of(equation, unknown):
    """The range in which solve_for looks for this input."""
    low, high = equation.limits.get(unknown) or (entry(unknown).low, entry(unknown).high)
    return -1e9 if low is None else low, 1e9 if high is None else high


@pytest.mark.parametrize("name", NAMES)
def test_a_solution_outside_the_range_is_refused_and_never_clamped(name):
    """Forward with an input at, just beyond and far beyond each end; solved back: a number that gives the same, or words.

    Two numbers are the same within a millionth of the left side, or of what the answer's own size moves: then rounding decides.
    """
    equation, values = EQUATIONS[name], USUAL[name]
    for unknown in equation.inputs:
        low, high = ends_of(equation, unknown)
        span = high - low
        for true in (low, low - 1e-6 * (abs(low) or span), low - 0.5 * (abs(low) or span), low / 40,
                     high, high + 1e-6 * (abs(high) or span), high + 0.5 * (abs(high) or span)):
            forward = guarded(lambda *v: float(equation.floats(*v)), {**values, unknown: true}.values())
            if not math.isfinite(forward) or (entry(equation.left).positive and forward <= 0):
                continue
            known = {n: v for n, v in values.items() if n != unknown} | {equation.left: forward}
            try:
                found = equation.solve_for(unknown, **known)
            except InputError:  # in words, as every InputError is
                continue
            assert low <= found <= high, unknown
            again, beside = (guarded(lambda *v: float(equation.floats(*v)), {**values, unknown: x}.values())
                             for x in (found, found * 1.001))
            moved = abs(beside - again) * 1e3
            assert abs(again - forward) <= 1e-6 * max(abs(forward), moved if math.isfinite(moved) else 0.0), (unknown, true, found)


def test_a_capacitance_below_the_range_is_refused():
    """3 uC at 120 V are 25 nF (Q = C V), below the range from 1 uF up; 1 uF would hold 120 uC."""
    with pytest.raises(InputError, match=r"no value of capacitance between 1e-06 and 1e\+06 F \(it would be 2\.5e-08 F\)"):
        store.charge.solve_for("capacitance", charge=3e-6, voltage=120.0)
    assert store.charge.solve_for("capacitance", charge=3e-6, voltage=120.0, between=(1e-9, 1e-6)) == pytest.approx(2.5e-8)


@pytest.mark.parametrize("between", [5, "0 V to 9 V", (1.0,), (9.0, 0.0), (0.0, math.nan), (None, 3.0), (0.0, "9 A")])
def test_what_is_no_range_is_refused_in_words(between):
    with pytest.raises(InputError, match=r"between of store\.energy"):
        store.energy.solve_for("voltage", energy=1.0, capacitance=1.0, between=between)
    assert store.energy.solve_for("voltage", energy="1250 J", capacitance="1 F", between=("0 V", "60 V")).magnitude == (
        pytest.approx(50.0))


def test_solve_for_offers_no_mirrored_root():
    """SymPy squares (v + w)|v + w| and then also offers the speed that has the other sign of force."""
    given = {"air_density": 1.2, "drag_area": 0.5, "head_wind": -5.0, "cross_wind": 0.0}
    for speed in (3.0, 7.0):
        force = road.air_force(speed=speed, **given)
        assert road.air_force.solve_for("speed", air_force=force, **given) == pytest.approx(speed, rel=1e-9)
    assert road.slope_force.solve_for("slope", slope_force=road.slope_force(100.0, -0.07), mass=100.0) == pytest.approx(-0.07)


def test_a_bank_holds_more_than_at_its_rated_sum_only_above_it():
    """The trike's bank by hand: 14 cells of 650 F are 46.43 F; at 14 x 2.7 V = 37.8 V they hold 325/7 x 37.8^2 / 2 = 33 169.5 J."""
    whole = store.bank_capacitance(650.0, 1, 14)
    assert store.energy(whole, 14 * 2.7) == pytest.approx(33169.5, abs=1e-6)
    volts = store.energy.solve_for("voltage", energy="33800 J", capacitance=whole)  # 37.8 V x sqrt(33800/33169.5)
    assert volts.magnitude == pytest.approx(38.1576, abs=5e-5)
    assert volts.magnitude / 14 > 2.7


# ---------------------------------------------------------------- store
def test_delivered_and_lost_make_the_fall_of_what_is_stored():
    for amps in (5.0, 30.0, 120.0, -6.0):
        time = 20.0
        end = 35.0 - amps * time / 46.4
        parts = store.constant_current_energy(amps, time, 35.0, 0.0155, 46.4) + store.constant_current_loss(amps, 0.0155, time)
        assert parts == pytest.approx(store.usable_energy(46.4, 35.0, end), rel=1e-12)


def test_charging_is_discharging_backwards_in_time():
    down = store.constant_current_time(46.4, 35.0, 6.0, 0.0, 20.0)
    up = store.constant_current_time(46.4, 20.0, -6.0, 0.0, 35.0)
    assert up == pytest.approx(down, rel=1e-12)


def constant_power_time(farad, ohm, power=600.0):
    """Seconds from 35 V inside to 15 V inside, by the bank's own seam."""
    p, out = np.array([farad, 0.0, 0.0, 1.0, 0.0, 1.0, ohm]), np.zeros(5)

    def slope(_t, x):
        state = np.array([x[0], x[0], x[0]])
        store.bank_slope(state, p, store.bank_terminal(state, p, power)[1], out)
        return [out[0]]

    def empty(_t, x):
        return x[0] - 15.0

    empty.terminal = True
    return solve_ivp(slope, (0.0, 500.0), [35.0], events=empty, rtol=1e-10, atol=1e-10).t_events[0][0]


def test_twice_the_capacitance_lasts_twice_as_long():
    once = constant_power_time(46.4, 1e-9)
    assert constant_power_time(92.8, 1e-9) == pytest.approx(2 * once, rel=1e-7)
    assert once == pytest.approx(store.usable_energy(46.4, 35.0, 15.0) / 600.0, rel=1e-7)  # no resistance: energy over power
    assert constant_power_time(46.4, 0.05) < once


def test_the_sag_goes_with_the_resistance():
    sags = [35.0 - store.voltage_under_power(35.0, ohm, 600.0) for ohm in (1e-2, 1e-3, 1e-4)]
    assert sags[0] / sags[1] == pytest.approx(10.0, rel=6e-3)
    assert sags[1] / sags[2] == pytest.approx(10.0, rel=6e-4)


def test_two_branches_side_by_side_are_one_when_nothing_lies_between():
    p, out = np.array([30.0, 0.0, 16.4, 1e-9, 0.0, 1.0, 0.0155]), np.zeros(5)
    end = solve_ivp(
        lambda _t, x: (store.bank_slope(np.array([*x, x[0]]), p, 20.0, out), out[:2].copy())[1],
        (0.0, 10.0),
        [35.0, 35.0],
        method="Radau",
        rtol=1e-8,
        atol=1e-8,
    ).y[:, -1]
    assert end == pytest.approx([35.0 - 20.0 * 10.0 / 46.4] * 2, rel=1e-6)


def test_what_a_bank_loses_at_rest_is_the_redistribution_loss():
    bank = load_vehicle("two_shed_trike").store
    p, state, out = bank.parameters(), np.array([34.9, 30.6, 34.9]), np.zeros(5)
    run = solve_ivp(
        lambda _t, x: (store.bank_slope(x[:3].copy(), p, 0.0, out), [*out[:3], out[4]])[1],
        (0.0, 1500.0),
        [*state, 0.0],
        rtol=1e-10,
        atol=1e-12,
    ).y[:, -1]
    assert run[3] == pytest.approx(store.redistribution_loss(p[0], p[2], *state[:2]), rel=1e-8)
    assert store.bank_stored(state, p) - store.bank_stored(run[:3].copy(), p) == pytest.approx(run[3], rel=1e-8)
    assert bank.rested_voltage(state) == pytest.approx(run[0], rel=1e-10)
    tau = store.slow_time_constant(p[3], p[0], p[2])
    end = store.settled_voltage(p[0], state[0], p[2], state[1])
    assert bank.rested_after(state, 30.0) == pytest.approx(end + (state[0] - end) * math.exp(-30.0 / tau), rel=1e-8)


# ---------------------------------------------------------------- power
def test_volts_times_amps_are_torque_times_speed():
    for constant, speed, amps in ((0.346, 54.0, 25.0), (0.2, -30.0, 4.0), (1.5, 10.0, -60.0)):
        electric = motor.back_emf(constant, speed) * amps
        assert electric == pytest.approx(motor.torque(constant, amps) * speed, rel=1e-15)
        taken = controller.bus_power(amps, motor.back_emf(constant, speed), 0.15, 4.0)
        assert taken == pytest.approx(electric + motor.copper_loss(amps, 0.15) + 4.0, rel=1e-14)


def test_duty_and_current_are_each_others_inverse():
    for amps in (25.0, -15.0, 0.0):
        power = controller.bus_power(amps, 8.0, 0.15, 0.0)
        volts = store.voltage_under_power(30.0, 0.0155, power)
        duty = controller.duty_for_current(8.0, amps, 0.15, volts)
        assert controller.current_at_duty(duty, 30.0, 8.0, 0.15, 0.0155) == pytest.approx(amps, abs=1e-12)
        assert controller.bus_current(duty, amps) == pytest.approx(power / volts, abs=1e-12)


def test_the_chain_loses_the_same_share_both_ways():
    shaft = gearing.drive_force.solve_for(
        "shaft_torque", drive_force=100.0, gear_ratio=5.0, chain_efficiency=0.95, wheel_radius=0.25
    )
    assert gearing.drive_force(shaft, 5.0, 1.0, 0.25) * 0.95 == pytest.approx(100.0, rel=1e-12)
    assert gearing.driven_force(-shaft, 5.0, 0.25, 0.95) * 0.95 == pytest.approx(-100.0 / 0.95, rel=1e-12)


@pytest.mark.parametrize("dress", motor.DRESSES[:-1])
def test_every_dress_makes_the_same_motor(dress):
    """The ratios of the dresses (textbook): line = √3 phase, rms = line/√2, six-step = 3/π line."""
    line = math.sqrt(3) * 0.2
    worn = {"phase peak": 0.2, "line peak": line, "line rms": line / math.sqrt(2), "six-step mean": 3 / math.pi * line}
    made = motor.Motor("three_phase", worn[dress], dress, 0.15, 0.02, 0.1, 0.002, 0.5, 500.0, 393.15, 8.0)
    assert made.drive_constant == pytest.approx(worn["six-step mean"], rel=1e-12)
    assert made.dresses() == pytest.approx(worn, rel=1e-12)


# ---------------------------------------------------------------- road
def winding_road():
    return Route.from_segments(
        [(40.0, 0.0, 3.0), (30.0, 0.08, 2.0), (25.0, -0.15, 2.5), (50.0, 0.02, 4.0)], blend=5.0, stops=[(60.0, 5.0)]
    )


@pytest.mark.parametrize("route", [winding_road(), load_route("two_sheds_up"), load_route("two_sheds_down")], ids=lambda r: r.name)
def test_height_in_closed_form_is_the_slope_integrated(route):
    for place in np.linspace(0.0, route.length, 23)[1:]:
        corners = [n for n in route.nodes if 0 < n < place]
        by_parts = quad(lambda s: math.sin(math.atan(route.slope(s))), 0.0, place, points=corners or None, limit=200)[0]
        assert route.height(place) == pytest.approx(by_parts, abs=1e-9)


@pytest.mark.parametrize("route", [winding_road(), load_route("two_sheds_up")], ids=lambda r: r.name)
def test_a_road_turned_round_twice_is_itself(route):
    back = route.reversed()
    twice = back.reversed()
    for name in ("nodes", "slopes", "heights"):
        np.testing.assert_allclose(getattr(twice, name), getattr(route, name), atol=1e-9)
    assert np.array(twice.limits) == pytest.approx(np.array(route.limits))
    assert np.array(twice.stops) == pytest.approx(np.array(route.stops))
    assert back.heights[-1] == pytest.approx(-route.heights[-1], abs=1e-12)
    for place in (0.0, 13.7, 41.0, 58.3, route.length):
        assert back.slope(route.length - place) == pytest.approx(-route.slope(place), abs=1e-12)
        assert back.height(route.length - place) == pytest.approx(route.height(place) - route.heights[-1], abs=1e-9)


def test_wind_as_fast_as_the_vehicle_leaves_no_air_force():
    assert road.air_force(1.2, 0.9, 3.0, -3.0, 0.0) == 0.0
    assert road.air_force(1.2, 0.9, 3.0, -4.0, 0.0) == pytest.approx(-road.air_force(1.2, 0.9, 1.0, 0.0, 0.0), rel=1e-15)
    assert road.air_force(1.2, 0.9, -2.0, 0.0, 0.0) == pytest.approx(-road.air_force(1.2, 0.9, 2.0, 0.0, 0.0), rel=1e-15)


def coast(speed, seconds, way):
    """Speed and place after coasting on the level by the road's equations; `way` -1 runs the film backwards."""

    def slope(_t, x):
        force = road.rolling_force(110.0, 0.006, 0.0, 1.0) + road.air_force(1.2, 0.45, x[0], 0.0, 0.0)
        return [-way * force / 110.0, way * x[0]]

    return solve_ivp(slope, (0.0, seconds), [speed, 0.0], rtol=1e-10, atol=1e-10).y[:, -1]


def test_coasting_is_its_closed_form_and_runs_backwards():
    """v = √(a/b) tan(φ - t √(ab)/m), textbook."""
    a, b, m = 110.0 * 9.80665 * 0.006, 0.5 * 1.2 * 0.45, 110.0
    speed, place = coast(10.0, 20.0, 1.0)
    assert speed == pytest.approx(
        math.sqrt(a / b) * math.tan(math.atan(10.0 * math.sqrt(b / a)) - 20.0 * math.sqrt(a * b) / m), rel=1e-8
    )
    assert place == pytest.approx(m / (2 * b) * math.log((a + b * 100.0) / (a + b * speed**2)), rel=1e-8)
    again = coast(speed, 20.0, -1.0)
    assert again[0] == pytest.approx(10.0, rel=1e-7)
    assert again[1] == pytest.approx(-place, rel=1e-7)


# ---------------------------------------------------------------- seams: compiled functions = their equations
BANK = np.array([42.7, 0.0, 3.7, 5.0, 0.0, 1.0, 0.0155])
FULL = np.array([30.0, 0.4, 3.7, 5.0, 4.1, 900.0, 0.0155])  # a capacitance that grows, three branches


@pytest.mark.parametrize("power", [0.0, 600.0, -300.0, 19000.0])
def test_the_bank_at_its_terminals(power):
    volts, amps = store.bank_terminal(np.array([35.0, 34.0, 33.0]), BANK, power)
    assert volts == pytest.approx(store.voltage_under_power(35.0, 0.0155, power), rel=1e-14)
    assert volts == pytest.approx(store.terminal_voltage(35.0, amps, 0.0155), rel=1e-12)
    assert volts * amps == pytest.approx(power, rel=1e-12, abs=1e-12)


def test_the_bank_collapses_where_the_equation_says():
    limit = store.matched_power(35.0, 0.0155)
    assert np.isfinite(store.bank_terminal(np.array([35.0, 35.0, 35.0]), BANK, limit * (1 - 1e-9))).all()
    assert np.isnan(store.bank_terminal(np.array([35.0, 35.0, 35.0]), BANK, limit * (1 + 1e-9))).all()
    assert np.isnan(store.bank_terminal(np.array([0.0, 0.0, 0.0]), BANK, 1.0)).all()


@pytest.mark.parametrize("p", [BANK, FULL], ids=["two branches", "three, growing"])
def test_the_bank_keeps_its_charge_and_its_energy(p):
    out, state, amps, h = np.zeros(5), np.array([33.0, 34.5, 31.0]), 25.0, 1e-4
    store.bank_slope(state, p, amps, out)
    farad = store.differential_capacitance.floats(p[0], p[1], 33.0)
    assert farad * out[0] + p[2] * out[1] + p[4] * out[2] == pytest.approx(-amps, rel=1e-12)  # Kirchhoff
    fall = -(farad * state[0] * out[0] + p[2] * state[1] * out[1] + p[4] * state[2] * out[2])
    assert fall == pytest.approx(amps * store.terminal_voltage(33.0, amps, 0.0155) + out[3] + out[4], rel=1e-12)
    ahead, behind = (store.bank_stored(state + s * h * out[:3], p) for s in (1, -1))
    assert -(ahead - behind) / (2 * h) == pytest.approx(fall, rel=1e-7)  # what is stored is what the slopes change


def test_a_supply_gives_what_it_says():
    state, p, out = np.zeros(1), np.array([24.0, 0.3]), np.zeros(3)
    volts, amps = supply.supply_terminal(state, p, 200.0)
    assert volts == pytest.approx(24.0 - 0.3 * amps, rel=1e-12)
    assert volts * amps == pytest.approx(200.0, rel=1e-12)
    supply.supply_slope(state, p, amps, out)
    assert 24.0 * out[0] == pytest.approx(200.0 + out[1], rel=1e-12)
    assert supply.supply_stored(np.array([10.0]), p) == -240.0


def test_the_forces_of_the_road_are_the_equations():
    route = winding_road()
    stage = road.Road(0.012, 0.95, 1.2, 293.15, 0.1, 0.01)
    p = road.road_parameters(stage, 192.0, route, (np.full(len(route.nodes), -1.5), np.full(len(route.nodes), 0.5)))
    out = np.zeros(5)
    for place in (0.0, 20.0, 41.0, 45.0, 60.0, 72.5, 144.9, 145.0):
        road.road_forces(p, place, 2.5, 1.0, out)
        slope = float(route.slope(place))
        assert out == pytest.approx(
            [
                road.rolling_force(192.0, 0.012, slope, 1.0),
                road.air_force(1.2, 0.95, 2.5, -1.5, 0.5),
                road.slope_force(192.0, slope),
                road.bearing_force(0.1, 0.01, 2.5, 1.0),
                slope,
            ],
            rel=1e-12,
            abs=1e-12,
        )
        assert road.road_height(p, place) == pytest.approx(route.height(place), abs=1e-12)


BETWEEN = {
    "no converter": converter.NoConverter(),
    "both ways": converter.Converter(36.0, 0.9, 8.0, 60.0, True, 0.8),
    "one way": converter.Converter(36.0, 0.9, 8.0, 20.0, False, 0.8),
}


@pytest.mark.parametrize("between", BETWEEN.values(), ids=BETWEEN)
def test_what_is_delivered_balances(between):
    """Power from the store = converter + shaft + copper + bridge + stand-by; at the wheel: shaft = wheel + chain."""
    three = motor.Motor("three_phase", 0.346, "six-step mean", 0.1465, 0.0227, 0.1, 0.002, 0.55, 546.0, 393.15, 8.2)
    part = controller.Controller(45.0, 25.0, 100.0, 0.97, 15.0, 18.0, 10.0, 4.0, 0.006, 1.6, 0.0, 60.0, 2.2e-3, 47.0)
    gears = gearing.Gearing(15, 76, 0.245, 0.95, 2.0)
    p, out = part.parameters(three, gears, 293.15, between), np.zeros(14)
    for wish, speed in ((150.0, 2.4), (-80.0, 2.4), (20.0, 0.5), (900.0, 1.0), (-900.0, 3.0)):
        controller.deliver(
            store.bank_terminal, np.array([30.0, 30.0, 30.0]), BANK, np.array([320.0]), p, speed, 1.0, np.array([wish, 0.0]), out
        )
        force, brake, amps, duty, power, volts, drawn, held = out[:8]
        turning = gearing.motor_speed(gears.ratio, speed, 0.245)
        shaft = motor.shaft_torque(0.346, amps, motor.motor_drag(0.1, 0.002, turning, 1.0))
        assert power == pytest.approx(shaft * turning + out[11] + out[8] + out[9] + out[10], rel=1e-12)
        assert shaft * turning == pytest.approx(force * speed + out[12], rel=1e-12, abs=1e-12)
        assert volts * drawn == pytest.approx(power + out[13], rel=1e-12)
        if between.kind == "none":
            assert out[13] == pytest.approx(0.0, abs=1e-9)
        else:
            assert out[13] == pytest.approx(power / 9 if power > 0 else -0.1 * power, rel=1e-9)
            assert drawn <= between.current_limit * (1 + 1e-9)
            assert amps >= 0 or between.both_ways
        assert volts == pytest.approx(store.terminal_voltage(30.0, drawn, 0.0155), rel=1e-12)
        bus = volts if between.kind == "none" else between.bus_voltage
        assert duty == pytest.approx(
            controller.duty_for_current(
                motor.back_emf(0.346, turning), amps, motor.winding_resistance_hot(0.1465, 320.0) + 0.006, bus
            ),
            rel=1e-12,
        )
        assert -25.0 - 1e-12 <= amps <= 45.0
        if held in (controller.WISH, controller.BRAKING, controller.FRICTION):  # met in full, the friction brake helping
            assert force - brake == pytest.approx(wish, rel=1e-9)


# ---------------------------------------------------------------- these checks can fail
def test_a_wrong_face_is_seen(monkeypatch):
    equation = EQUATIONS["store.energy"]
    right = equation.arrays
    monkeypatch.setitem(equation.__dict__, "arrays", lambda c, v: right(c, v) * (1 + 1e-9))
    with pytest.raises(AssertionError):
        test_every_face_says_the_same("store.energy")


def test_a_wrong_sign_of_the_slope_is_seen(monkeypatch):
    equation = EQUATIONS["road.slope_force"]
    right = equation.floats
    monkeypatch.setitem(equation.__dict__, "floats", lambda *values: abs(right(*values)))
    with pytest.raises(AssertionError):
        test_the_forces_of_the_road_are_the_equations()


def test_a_wrong_height_is_seen(monkeypatch):
    monkeypatch.setattr(Route, "height", lambda self, s: np.interp(s, self.nodes, self.heights))  # forgets the blends
    with pytest.raises(AssertionError):
        test_height_in_closed_form_is_the_slope_integrated(winding_road())
