"""Coasting and steady speeds: branches by hand against quadrature, limits into each other, and what is refused."""

import math
from itertools import pairwise

import pytest
from scipy.integrate import quad, solve_ivp

from evlab import coasting
from evlab.coasting import drag_coasting_time, speed_at_power, terminal_in_wind
from evlab.units import InputError

M, A, B = 207.7, 22.6, 0.58


@pytest.mark.parametrize(("a", "c", "b"), [
    (22.6, 1.5, 0.58),  # air wins: the arcus tangent
    (2.0, 9.0, 0.58),  # drag wins: the logarithm
    (1.0, 2.0, 1.0),  # between both, exactly
    (1.0, 2.0 * (1 + 1e-9), 1.0),  # and beside it
    (1.0, 2.0 * (1 + 1e-5), 1.0),
    (1.0, 2.0 * (1 - 1e-5), 1.0),
    (22.6, 0.0, 0.58), (22.6, 3.0, 0.0), (22.6, 0.0, 0.0), (0.0, 3.0, 0.58), (0.0, 0.0, 0.58), (-2.0, 4.0, 0.58),
])
def test_coasting_with_drag_is_what_quadrature_says(a, c, b):
    first, last = 6.0, 1.0
    exact = quad(lambda v: M / (a + c * v + b * v * v), last, first, epsrel=1e-13)[0]
    assert drag_coasting_time(M, a, c, b, first, last) == pytest.approx(exact, rel=1e-10)


def test_without_drag_it_is_the_plain_coasting():
    plain = float(coasting.coasting_time(M, A, B, 6.0, 0.0))
    assert drag_coasting_time(M, A, 0.0, B, 6.0, 0.0) == pytest.approx(plain, rel=1e-12)
    gaps = [abs(drag_coasting_time(M, A, c, B, 6.0, 0.0) - plain) for c in (1e-2, 1e-4, 1e-6)]
    assert gaps[0] > gaps[1] > gaps[2]
    assert gaps[2] < 1e-5


def test_played_backwards_it_ends_where_it_began():
    """Time turned round: from the last speed, pushed by what held it back, for as long."""
    seconds = float(coasting.coasting_time(M, A, B, 6.0, 2.0))
    run = solve_ivp(lambda _t, v: (A + B * v * v) / M, (0.0, seconds), [2.0], method="DOP853", rtol=1e-12, atol=1e-13)
    assert run.y[0, -1] == pytest.approx(6.0, rel=1e-9)
    assert coasting.coasting_speed(A, B, 6.0, seconds, M) == pytest.approx(2.0, rel=1e-9)


def test_time_and_way_tell_the_same_story():
    way = float(coasting.coasting_distance(M, B, A, 6.0, 2.0))
    assert coasting.speed_after(6.0, A, B, way, M) == pytest.approx(2.0, rel=1e-12)
    lost = M / 2 * (6.0**2 - 2.0**2)
    air = quad(lambda s: B * float(coasting.speed_after(6.0, A, B, s, M)) ** 2, 0.0, way, epsrel=1e-10)[0]
    assert A * way + air == pytest.approx(lost, rel=1e-9)


def test_from_below_and_from_above_to_the_terminal_speed():
    limit = float(coasting.terminal_speed(40.0, B))
    for start in (0.0, 0.5 * limit, limit, 2.0 * limit):
        speeds = [float(coasting.driven_speed(limit, start, t, 40.0, M)) for t in (0.0, 5.0, 50.0, 500.0)]
        assert speeds[0] == pytest.approx(start)
        assert speeds[3] == pytest.approx(limit, rel=1e-9)
        assert all((y - x) * (limit - start) >= -1e-9 for x, y in pairwise(speeds))
    assert coasting.driven_distance(M, limit, 40.0, 5.0, limit) == pytest.approx(5.0 * limit, rel=1e-12)


def test_a_tail_wind_lets_it_run_faster_by_itself():
    still = terminal_in_wind(-40.0, B)
    assert still == pytest.approx(float(coasting.terminal_speed(40.0, B)))
    assert terminal_in_wind(-40.0, B, -3.0) == pytest.approx(still + 3.0)
    assert terminal_in_wind(-40.0, B, 3.0) == pytest.approx(still - 3.0)
    assert terminal_in_wind(40.0, B, -20.0) == pytest.approx(20.0 - still)  # uphill, blown up
    assert terminal_in_wind(40.0, B) < 0  # rolls backwards, unless it is held


@pytest.mark.parametrize("slope", [-0.08, -0.01, 0.0, 0.06, 0.3])
@pytest.mark.parametrize("wind", [-8.0, 0.0, 8.0])
@pytest.mark.parametrize("power", [0.0, 5.0, 400.0])
def test_the_steady_speed_takes_just_that_power(slope, wind, power):
    a = float(coasting.constant_force(192.0, 0.012, slope))
    v = speed_at_power(power, a, B, wind)
    assert v >= 0
    force = a + B * (v + wind) * abs(v + wind)
    assert force * v == pytest.approx(power, abs=1e-6)
    if wind == 0 and a > 0 and power > 0:
        assert float(coasting.equilibrium_speed(power, B, a)) == pytest.approx(v, rel=1e-9)


def test_head_wind_counts_with_its_sign_and_slope_is_a_tangent():
    speeds = [speed_at_power(200.0, A, B, w) for w in (-5.0, 0.0, 5.0)]
    assert speeds[0] > speeds[1] > speeds[2]
    up = float(coasting.constant_force(100.0, 0.0, 0.3))
    assert up == pytest.approx(100.0 * 9.80665 * math.sin(math.atan(0.3)), rel=1e-12)


def test_measured_wheels_weigh_what_is_said_of_them():
    """Four measured bicycles (bicycleparameters, parameter files): J front, r, m, then rear.  Sum of J/r2 1.65 to 2.65 kg."""
    from evlab import road

    bicycles = {"Browser": (0.1492, 0.344, 2.0, 0.1524, 0.341, 3.1), "Pista": (0.1062, 0.334, 1.6, 0.0764, 0.332, 1.4),
                "Fisher": (0.1062, 0.330, 1.5, 0.1008, 0.339, 1.9), "Rigid": (0.0984, 0.336, 1.6, 0.1293, 0.333, 4.9)}
    for name, (jf, rf, mf, jr, rr, mr) in bicycles.items():
        both = float(road.effective_mass(0.0, jf / rf**2, 0.0, 1.0, rf)) + float(road.effective_mass(0.0, jr / rr**2, 0.0, 1.0, rr))
        assert 1.64 < both < 2.65, name
        assert 0.40 <= round(jf / (mf * rf**2), 2) <= 0.66, name
        if name != "Rigid":  # its rear wheel carried a motor
            assert 0.40 <= round(jr / (mr * rr**2), 2) <= 0.66, name


def test_what_is_refused():
    with pytest.raises(InputError) as said:
        speed_at_power(-5.0, A, B)
    assert str(said.value) == "Input power of coasting.speed_at_power must be zero or more watts; instead received -5 W."
    with pytest.raises(InputError) as said:
        drag_coasting_time(M, -40.0, 1.0, B, 6.0, 1.0)
    assert "one to which it slows down by itself" in str(said.value)
    assert "from 6 m/s" in str(said.value)
    with pytest.raises(InputError):
        drag_coasting_time(M, A, 1.0, B, 1.0, 6.0)
    with pytest.raises(InputError, match="has no value"):
        coasting.coasting_time(M, -40.0, B, 6.0, 2.0)
