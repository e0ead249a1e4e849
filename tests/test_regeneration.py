"""The equations of regeneration among themselves: roots and top of a parabola, windings, limits, energy, a ride, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from test_riding import LEVEL, Rig

import evlab
from evlab import InputError, coasting, motor, riding, store
from evlab import regeneration as regen
from evlab.demands import ThrottleTrace

OHM, P0, K, TURNS = 0.1525, 4.0, 0.346, 76 / 15 / 0.245
SPEEDS = [0.3, 1.0, 2.4, 6.0]


def emf(speed):
    return K * TURNS * speed


# ---------------------------------------------------------------- the parabola
@pytest.mark.parametrize("speed", SPEEDS)
def test_roots_top_and_short_circuit_belong_to_one_parabola(speed):
    e = emf(speed)
    low, high = float(regen.least_paying_current(e, OHM, P0)), float(regen.most_paying_current(e, OHM, P0))
    best, short = float(regen.best_braking_current(e, OHM)), float(regen.short_circuit_current(e, OHM))
    assert low + high == pytest.approx(short)  # the sum and the product of a quadratic's roots
    assert low * high == pytest.approx(P0 / OHM)
    assert 2 * best == pytest.approx(short)
    for amps in (low, high):
        assert regen.recovered_power(e, amps, OHM, P0) == pytest.approx(0.0, abs=1e-9 * e * high)
    for away in (0.5, 3.0):  # as much on either side of the top
        both = [regen.recovered_power(e, best + side * away, OHM, P0) for side in (-1, 1)]
        assert both[0] == pytest.approx(both[1])
        assert both[0] < regen.most_recovered_power(e, OHM, P0)


@pytest.mark.parametrize("speed", SPEEDS)
def test_at_the_top_half_is_heat_and_at_the_short_circuit_all_of_it(speed):
    e = emf(speed)
    best, short = regen.best_braking_current(e, OHM), regen.short_circuit_current(e, OHM)
    assert motor.copper_loss(best, OHM) == pytest.approx(0.5 * e * best)
    assert regen.most_recovered_power(e, OHM, 0.0) == pytest.approx(0.5 * e * best)
    assert motor.copper_loss(short, OHM) == pytest.approx(e * short)
    assert regen.recovered_power(e, short, OHM, P0) == pytest.approx(-P0)


def test_where_the_least_speed_ends_the_two_roots_meet():
    least = float(regen.paying_speed(OHM, P0, K))
    just = K * least * (1 + 1e-12)
    only = math.sqrt(P0 / OHM)
    for current in (regen.least_paying_current, regen.most_paying_current):
        assert current(just, OHM, P0) == pytest.approx(only, rel=1e-5)
        with pytest.raises(InputError, match=r"has no value for .*above the speed at which anything comes back"):
            current(0.999 * K * least, OHM, P0)
    assert regen.most_recovered_power(K * least, OHM, P0) == pytest.approx(0.0, abs=1e-12)
    assert regen.best_braking_current(K * least, OHM) == pytest.approx(only)


def test_without_electronics_every_speed_and_every_lesser_current_pays():
    e = emf(0.01)
    assert regen.least_paying_current(e, OHM, 0.0) == 0.0
    assert regen.most_paying_current(e, OHM, 0.0) == pytest.approx(float(regen.short_circuit_current(e, OHM)))
    assert regen.paying_speed(OHM, 0.0, K) == 0.0
    small = [float(regen.paying_speed(OHM, p, K)) for p in (4.0, 1.0, 0.25)]
    assert small[0] / small[1] == pytest.approx(2.0)
    assert small[1] / small[2] == pytest.approx(2.0)


@pytest.mark.parametrize("turns", [0.5, 2.0, 3.0])
def test_another_number_of_turns_changes_amps_but_not_what_comes_back(turns):
    """The same copper wound otherwise: constant times n, ohms times n², currents through n (the bridge left out)."""
    e, amps = emf(2.4), 15.0
    assert regen.recovered_power(turns * e, amps / turns, turns**2 * OHM, P0) == pytest.approx(
        float(regen.recovered_power(e, amps, OHM, P0)))
    assert regen.most_recovered_power(turns * e, turns**2 * OHM, P0) == pytest.approx(float(regen.most_recovered_power(e, OHM, P0)))
    assert regen.paying_speed(turns**2 * OHM, P0, turns * K) == pytest.approx(float(regen.paying_speed(OHM, P0, K)))
    assert regen.fading_speed(amps / turns, turns**2 * OHM, turns * K) == pytest.approx(float(regen.fading_speed(amps, OHM, K)))
    assert regen.best_braking_current(turns * e, turns**2 * OHM) == pytest.approx(float(regen.best_braking_current(e, OHM)) / turns)


# ---------------------------------------------------------------- the bridge
@pytest.mark.parametrize("amps", [0.0, 5.0, 25.0, 80.0])
def test_what_leaves_the_coils_arrives_at_the_store(amps):
    e, volts = emf(2.4), 24.0
    share = float(regen.boost_duty(e, amps, OHM, volts))
    assert (1 - share) * amps * volts == pytest.approx(float(regen.recovered_power(e, amps, OHM, 0.0)))


def test_the_lower_switches_rest_only_where_the_emf_reaches_the_store():
    assert regen.boost_duty(24.0, 0.0, OHM, 24.0) == 0.0
    assert regen.boost_duty(10.0, 10.0 / OHM, OHM, 24.0) == pytest.approx(1.0)  # short circuit: they stay on
    mean = 3 / math.pi * float(motor.line_constant(0.2092))  # a bridge that changes over in six steps sees this share of the peak
    begins = float(regen.diode_speed(24.0, 0.7, motor.line_constant(0.2092)))
    assert begins * mean == pytest.approx(0.9549 * (24.0 + 1.4), rel=1e-4)
    assert regen.boost_duty(begins * mean, 0.0, OHM, 24.0) == pytest.approx(1 - 0.9549 * 25.4 / 24.0, abs=1e-4)


@pytest.mark.parametrize("amps", [0.0, 3.0, 25.0])
def test_force_and_current_turn_into_each_other_and_nothing_is_won(amps):
    drag, ratio, radius = 0.2, 76 / 15, 0.245
    force = float(regen.wheel_braking_force(K, amps, drag, ratio, radius, 0.95))
    assert regen.braking_current(force, radius, 0.95, ratio, drag, K) == pytest.approx(amps, abs=1e-12)
    at_wheel, at_coils = force * 2.4, emf(2.4) * amps
    assert at_wheel > at_coils
    assert at_wheel * 0.95 - drag * TURNS * 2.4 == pytest.approx(at_coils)
    free = float(regen.wheel_braking_force(K, amps, 0.0, ratio, radius, 1.0))
    assert free * 2.4 == pytest.approx(at_coils)


# ---------------------------------------------------------------- one stop
STOP = {"motor_constant": K, "gear_ratio": 76 / 15, "wheel_radius": 0.245, "drive_resistance": OHM, "standby_power": P0}


def one_stop(amps, speed=3.0, slowing=0.8):
    return float(regen.stop_energy(braking_current=amps, stop_speed=speed, deceleration=slowing, **STOP))


def test_a_stop_gives_less_than_the_brake_took_and_nothing_from_a_crawl():
    for amps in (2.0, 10.0, 25.0):
        took = K * TURNS * amps * 3.0**2 / (2 * 0.8)  # force times way
        assert 0 < one_stop(amps) < took
    pays_from = float(regen.fading_speed(25.0, OHM, K)) / TURNS + P0 / (K * TURNS * 25.0)
    assert one_stop(25.0, pays_from) == 0.0
    assert one_stop(25.0, 0.5 * pays_from) == 0.0
    assert one_stop(25.0, 1.1 * pays_from) > 0.0
    assert one_stop(25.0, slowing=1.6) == pytest.approx(0.5 * one_stop(25.0))  # in half of the time


def test_a_stop_has_a_best_current_inside():
    best = minimize_scalar(lambda amps: -one_stop(amps), bounds=(1.0, 140.0), method="bounded").x
    assert 10.0 < best < 100.0
    assert one_stop(best) > max(one_stop(0.5 * best), one_stop(1.5 * best))
    assert one_stop(float(regen.short_circuit_current(emf(3.0), OHM))) == 0.0


def test_a_ride_that_brakes_with_an_even_current_gives_back_what_the_closed_form_says():
    """From 3 m/s down to where the drive begins to take less than asked (below E/2R), through the loop that rides."""
    trike = evlab.load_vehicle("two_shed_trike")
    rig = Rig(trike, 150.0, motor={"constant": K, "resistance": OHM}, store=trike.store,
              driver=ThrottleTrace((0.0, 9.0), (-1.0, -1.0), longest_gap=9.0),
              controller={"braking_current_limit": 25.0, "standby_power": P0},
              gearing={"motor_teeth": 15, "wheel_teeth": 76, "wheel_radius": 0.245}, road={"drag_area": 0.0})
    slowing, last = K * TURNS * 25.0 / 150.0, 1.2
    assert last > 2 * float(regen.fading_speed(25.0, OHM, K)) / TURNS
    ridden = riding.Journey(rig, LEVEL, 0.0, rig.driver, (3.0 - last) / slowing, 0.01).go(24.0, 3.0)
    assert ridden.column("speed")[-1] == pytest.approx(last, rel=1e-9)
    back = float(np.trapezoid(-ridden.column("store_volts") * ridden.column("store_amps"), ridden.column("time")))
    assert back == pytest.approx(one_stop(25.0, 3.0, slowing) - one_stop(25.0, last, slowing), rel=1e-6)


# ---------------------------------------------------------------- descents, and a full store
def descent(speed, slope=-0.07):
    force = float(regen.descent_force(152.0, slope, 0.012, 1.225, 0.95, speed))
    amps = float(regen.braking_current(force, 0.245, 0.95, 76 / 15, motor.motor_drag(0.1, 0.002, TURNS * speed, 1.0), K))
    return float(regen.recovered_share(regen.recovered_power(emf(speed), amps, OHM, P0), 152.0, slope, speed))


def test_creeping_and_racing_down_both_give_less_than_a_speed_between():
    best = minimize_scalar(lambda v: -descent(v), bounds=(0.3, 9.0), method="bounded").x
    assert descent(best) > max(descent(0.5 * best), descent(2 * best))
    assert 0 < descent(best) < 1
    assert descent(0.3) < descent(1.0) < descent(2.4)


def test_at_the_speed_to_which_it_rolls_no_brake_holds():
    pull = -float(coasting.constant_force(152.0, 0.012, -0.07))
    rolls = float(coasting.terminal_speed(pull, coasting.air_factor(1.225, 0.95)))
    assert regen.descent_force(152.0, -0.07, 0.012, 1.225, 0.95, rolls) == pytest.approx(0.0, abs=1e-10)
    assert regen.descent_force(152.0, 0.0, 0.012, 1.225, 0.95, 1.0) < 0 < regen.descent_force(152.0, -0.07, 0.012, 1.225, 0.95, 1.0)


@pytest.mark.parametrize("height", [0.0, 1.0, 4.2])
def test_the_room_left_at_the_top_is_what_the_descent_brings(height):
    top = float(regen.start_voltage(35.0, 0.6, 152.0, height, 46.43))
    assert top <= 35.0
    assert store.usable_energy(46.43, 35.0, top) == pytest.approx(0.6 * 152.0 * 9.80665 * height, abs=1e-9)


def test_more_height_than_a_bank_holds_is_refused_with_the_reason():
    with pytest.raises(InputError, match="more height than a full bank holds has no answer"):
        regen.start_voltage(35.0, 0.6, 152.0, 40.0, 46.43)


# ---------------------------------------------------------------- ratios and legs
def test_three_ratios_of_one_hill_differ_by_what_stands_below_the_line():
    lift, climb, gain = 6245.0, 10100.0, 3650.0
    assert regen.charge_over_lift(gain, lift) / regen.store_over_climb(gain, climb) == pytest.approx(climb / lift)
    assert regen.saved_over_round_trip(climb, climb - gain) == pytest.approx(float(regen.store_over_climb(gain, climb)))
    assert regen.saved_over_round_trip(climb, climb) == 0.0


def test_legs_against_a_drag_alone_make_no_current():
    drag = 0.2
    turning = 80.0 * 0.95 / drag  # all of the legs go into the drag
    assert regen.pedalling_current(80.0, 0.95, turning, drag, K) == pytest.approx(0.0, abs=1e-12)
    amps = float(regen.pedalling_current(80.0, 0.95, 40.0, drag, K))
    assert K * 40.0 * amps == pytest.approx(80.0 * 0.95 - drag * 40.0)
    assert regen.pedalling_current(80.0, 0.95, 0.05, drag, K).note  # next to standing no legs hold it: outside the range


# ---------------------------------------------------------------- faces
def test_text_with_units_and_arrays():
    power = regen.recovered_power("17.2 V", "15 A", "152.5 mOhm", "4 W")
    assert str(power.units) == "watt"
    assert power.magnitude == pytest.approx(17.2 * 15 - 15**2 * 0.1525 - 4)
    amps = np.array([0.0, 15.0, 200.0])
    assert regen.recovered_power(17.2, amps, OHM, P0)[2] < regen.recovered_power(17.2, amps, OHM, P0)[0] < 0
    with np.errstate(invalid="ignore"):
        low = regen.least_paying_current(np.array([0.1, 17.2]), OHM, P0)
    assert np.isnan(low[0])
    assert low[1] > 0


def test_solved_for_what_a_maker_asks():
    assert regen.paying_speed.solve_for("standby_power", paying_speed=4.4, drive_resistance=OHM, motor_constant=K) == pytest.approx(
        (4.4 * K / 2) ** 2 / OHM)
    with pytest.raises(InputError, match="2 values"):  # one power, two currents: which one?
        regen.recovered_power.solve_for("braking_current", recovered_power=200.0, back_emf=17.2, drive_resistance=OHM,
                                        standby_power=P0)
    gentle = regen.recovered_power.solve_for("braking_current", recovered_power=200.0, back_emf=17.2, drive_resistance=OHM,
                                             standby_power=P0, between=(0.0, 56.0))
    assert regen.recovered_power(17.2, gentle, OHM, P0) == pytest.approx(200.0)


@pytest.mark.parametrize(("call", "words"), [
    (lambda: regen.recovered_power("17.2 A", 15.0, OHM, P0), "back_emf"),
    (lambda: regen.recovered_power(math.nan, 15.0, OHM, P0), "back_emf"),
    (lambda: regen.best_braking_current(17.2, 0.0), "no value for"),
    (lambda: regen.charge_over_lift(3650.0, 0.0), "above zero"),
    (lambda: regen.boost_duty(17.2, 15.0, OHM, 0.0), "boost_duty"),
    (lambda: regen.stop_energy(braking_current=0.0, stop_speed=3.0, deceleration=0.8, **STOP), "stop_energy"),
])
def test_nonsense_is_refused_in_words(call, words):
    with pytest.raises(InputError, match=words):
        call()
