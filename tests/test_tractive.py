"""Force against speed: closed forms of a motor on fixed volts, and the road's forces by hand."""

import math

import numpy as np
import pytest

import evlab
from evlab.tractive import ForceCase, drive_curve, volts_family

G = 9.80665


@pytest.fixture(scope="module")
def trike():
    return evlab.load_vehicle("two_shed_trike")


def on_a_supply(vehicle, volts, ohms):
    return vehicle.change({"store.kind": "supply", "store.voltage": volts, "store.resistance": ohms, "store.mass": 3.6})


@pytest.fixture(scope="module")
def ideal(trike):
    """A supply without ohms behind the trike's motor, no stand-by: the textbook's straight torque line."""
    free = trike.change({"controller.standby_power": "0 W", "controller.coil_current_limit": "300 A",
                         "controller.store_current_limit": "300 A"})
    return on_a_supply(free, 30.0, 0.0)


def test_on_fixed_volts_the_force_is_the_textbooks_line(ideal):
    m, g, c = ideal.motor, ideal.gearing, ideal.controller
    speeds = np.linspace(0.5, 3.0, 11)
    force, _, held = drive_curve(ideal, 30.0, speeds)
    turning = g.ratio / g.wheel_radius
    k, ohm = m.drive_constant, m.resistance + c.bridge_resistance
    amps = (c.duty_limit * 30.0 - k * turning * speeds) / ohm
    shaft = k * amps - m.drag_torque - m.viscous_drag * turning * speeds
    free = amps < 300.0
    assert np.allclose(force[free], (shaft * turning * g.chain_efficiency)[free], rtol=1e-9)
    assert {h for h, f in zip(held, free, strict=True) if f} == {"duty limit"}


def test_the_steady_speed_is_the_root_of_the_quadratic(ideal):
    case = ForceCase(ideal, slope=0.02)
    m, g, c, road = ideal.motor, ideal.gearing, ideal.controller, ideal.road
    turning = g.ratio / g.wheel_radius
    k, ohm = m.drive_constant, m.resistance + c.bridge_resistance
    gain = turning * g.chain_efficiency
    a = 0.5 * road.air_density * road.drag_area
    b = gain * (k * k / ohm + m.viscous_drag) * turning
    still = ideal.mass * G * (road.rolling_coefficient + 0.02) / math.sqrt(1 + 0.02**2)
    e = still - gain * (k * c.duty_limit * 30 / ohm - m.drag_torque)
    speed = (-b + math.sqrt(b * b - 4 * a * e)) / (2 * a)
    assert case.steady[30.0] == pytest.approx(speed, rel=1e-8)
    assert case.per_metre == pytest.approx(case.road_at(speed), rel=1e-8)


def test_from_a_standstill_the_coil_limit_holds_it(trike):
    case = ForceCase(trike)
    m, g, limit = trike.motor, trike.gearing, trike.controller.coil_current_limit
    force = (m.drive_constant * limit - m.drag_torque) * g.ratio * g.chain_efficiency / g.wheel_radius
    assert case.volts == volts_family(trike) == (35.0, 28.3, 21.7, 15.0)
    for volts in case.volts:
        assert case.drive[volts][0][0] == pytest.approx(force, rel=1e-9)
        assert case.held[volts][0] == "coil current limit"
    assert list(case.steady.values()) == sorted(case.steady.values(), reverse=True)


def test_the_ride_goes_at_the_steady_speed(trike):
    """The same speed by a second route: ride at full throttle on a long level from a supply, and wait."""
    rig = on_a_supply(trike, 28.0, 0.02)
    route = evlab.Route.from_segments([("400 m", "1 %", "60 m/s")])
    ridden = evlab.ride(rig, route, driver=evlab.ThrottleHeld(1.0))
    steady = ForceCase(rig, slope=0.01).steady[28.0]
    assert ridden.column("speed")[-1] == pytest.approx(steady, rel=2e-3)  # the winding has warmed a little meanwhile


def test_the_roads_parts_by_hand(trike):
    case = ForceCase(trike, slope=0.05, head_wind=3.0, air_density=1.2)
    across = 1 / math.sqrt(1 + 0.05**2)
    v = case.speeds
    assert np.allclose(case.parts["rolling"], 192 * G * 0.012 * across)
    assert np.allclose(case.parts["slope"], 192 * G * 0.05 * across)
    assert np.allclose(case.parts["air"], 0.6 * 0.95 * (v + 3) ** 2)
    assert np.allclose(case.road, sum(case.parts.values()))
    tail = ForceCase(trike, head_wind=-3.0)
    assert tail.parts["air"][0] == pytest.approx(-0.5 * 1.225 * 0.95 * 9)


def test_coasting_down_ends_at_the_closed_forms_speed(trike):
    case = ForceCase(trike, slope=-0.05)
    across = 1 / math.sqrt(1 + 0.05**2)
    assert case.coasting == pytest.approx(math.sqrt(192 * G * across * (0.05 - 0.012) / (0.5 * 1.225 * 0.95)), rel=1e-8)
    assert math.isnan(ForceCase(trike, slope=-0.01).coasting)
    assert ForceCase(trike, slope=-0.05, head_wind=-2.0).coasting == pytest.approx(case.coasting + 2.0, rel=1e-8)


def test_too_steep_is_told(trike):
    case = ForceCase(trike, slope=0.3)
    assert all(math.isnan(v) for v in case.steady.values())
    assert math.isnan(case.per_metre)
    assert "cannot start at 35 V" in repr(case)


def test_a_packs_volts_hardly_fall():
    scooter = evlab.load_vehicle("kick_scooter")
    case = ForceCase(scooter)
    speeds = list(case.steady.values())
    assert len(speeds) == 4
    assert speeds[-1] > 0.75 * speeds[0]
