"""Ratios against closed forms, and the front against rides at the ride's own step."""

import math

import numpy as np
import pytest

import evlab
from evlab import GearCase
from evlab.tractive import half_empty

G = 9.80665


@pytest.fixture(scope="module")
def trike():
    return evlab.load_vehicle("two_shed_trike")


@pytest.fixture(scope="module")
def case(trike):
    return GearCase(trike, "two_sheds_up", slope=0.07, speed=2.4)


def on_a_supply(vehicle, volts, ohms):
    return vehicle.change({"store.kind": "supply", "store.voltage": volts, "store.resistance": ohms, "store.mass": 3.6,
                           "controller.standby_power": "0 W"})


def test_half_empty_is_half_of_what_may_be_used(trike):
    assert half_empty(trike) == 25.0
    scooter = evlab.load_vehicle("kick_scooter")
    assert 21.0 < half_empty(scooter) < 29.4


def test_bounds_are_the_roots_of_the_volts_balance(trike):
    """On fixed volts: D V = K G v/r + I R with I = (F r/(G eta) + T)/K, a quadratic in G; the coil limit cuts the low side."""
    rig = on_a_supply(trike, 24.0, 0.0)
    case = GearCase(rig, "two_sheds_up", slope=0.07, speed=2.0, volts=24.0)
    m, g, c = rig.motor, rig.gearing, rig.controller
    k, ohm, r, v = m.drive_constant, m.resistance + c.bridge_resistance, g.wheel_radius, 2.0
    # D V = K G v/r + (F r/(G eta K)) R + (T0 + c G v/r) R/K   ->   a G^2 - b G + d = 0
    a = (k + m.viscous_drag * ohm / k) * v / r
    b = c.duty_limit * 24.0 - m.drag_torque * ohm / k
    d = case.needed * r / (g.chain_efficiency * k) * ohm
    high = (b + math.sqrt(b * b - 4 * a * d)) / (2 * a)
    assert case.bound == pytest.approx(high, rel=1e-5)
    # K I_max - T0 - c G v/r = F r/(G eta): the other quadratic
    p, q, s = m.viscous_drag * v / r, k * c.coil_current_limit - m.drag_torque, case.needed * r / g.chain_efficiency
    low = (q - math.sqrt(q * q - 4 * p * s)) / (2 * p)
    assert case.lowest == pytest.approx(low, rel=1e-5)


def test_a_slope_no_ratio_climbs_is_told(trike):
    steep = GearCase(trike, "two_sheds_up", slope=0.5, speed=6.0)
    assert math.isnan(steep.bound)
    assert "no ratio gives" in steep.reason


def test_restart_and_gradeability_by_hand(trike, case):
    m, g = trike.motor, trike.gearing
    force = (m.drive_constant * 45.0 - m.drag_torque) * g.ratio * 0.95 / 0.245
    angle = math.asin(force / (192 * G * math.hypot(1, 0.012))) - math.atan(0.012)  # rolling turns the weight by atan(C_rr)
    assert case.restart == pytest.approx(math.tan(angle), rel=1e-9)
    assert case.gradeability < case.restart
    held = evlab.ForceCase(trike, slope=case.gradeability, volts=[25.0])
    assert held.steady[25.0] == pytest.approx(2.4, rel=1e-3)  # there it goes on at just this speed


def test_the_front_is_the_ride_with_each_sprocket(trike, case):
    front = case.front
    assert front.teeth[front.here] == 76
    for z in (52, 96):
        ridden = evlab.ride(trike.change({"gearing.wheel_teeth": z}), "two_sheds_up")
        i = int(np.flatnonzero(front.teeth == z)[0])
        assert front.energy[i] == pytest.approx(ridden.ledger["store"], rel=1e-3)
        assert front.time[i] == pytest.approx(ridden.duration, rel=1e-3)
        assert front.outcome[i] == ridden.outcome == "arrived"
    assert front.energy[front.best] == front.energy[front.arrived].min()
    assert front.time[front.fastest] == front.time[front.arrived].min()
    assert f"{front.teeth[front.best]} teeth take the least" in case.reason
    assert not front.arrived[0]


def test_no_sprocket_arrives_from_a_nearly_empty_bank(trike):
    poor = GearCase(trike, "two_sheds_up", start="16 V")
    assert poor.front.best is None
    assert poor.front.fastest is None
    assert "the ratio alone cannot mend it" in poor.reason


def test_two_stages_multiply_and_lose_twice(trike):
    double = trike.change({"gearing.shaft_driver_teeth": 15, "gearing.shaft_driven_teeth": 30, "gearing.motor_teeth": 15,
                           "gearing.wheel_teeth": 38})
    assert double.gearing.ratio == pytest.approx(2 * 38 / 15)
    assert double.gearing.efficiency == pytest.approx(0.95**2)
    single = evlab.ride(trike, "two_sheds_up").ledger["chain"]
    assert evlab.ride(double, "two_sheds_up").ledger["chain"] == pytest.approx(2 * single, rel=0.06)


def test_a_freewheel_spares_drag_and_gives_nothing_back(trike, case):
    told = case.freewheel
    assert told["without"]["back"] < told["with"]["back"]
    assert told["with"]["energy"] - told["without"]["energy"] == pytest.approx(
        sum(told["with"][k] - told["without"][k] for k in ("there", "back")))
    assert "kJ less" in told["note"]
    far = GearCase(trike, "mill_lane").freewheel
    assert not far["with"]["arrived"]
    assert "not to be told" in far["note"]


@pytest.mark.parametrize(("more", "words"), [
    ({"volts": 0.0}, "volts of GearCase must be above zero"),
    ({"speed": 0.0}, "speed of GearCase must be above zero"),
])
def test_what_cannot_be_is_refused_in_words(trike, more, words):
    with pytest.raises(evlab.InputError, match=words):
        GearCase(trike, "two_sheds_up", **more)
