"""What the page of the road asks, by hand and by second routes."""

import math

import numpy as np
import pytest

import evlab
from evlab import ForceCase, RoadCase, Route, Wind

G = 9.80665


@pytest.fixture(scope="module")
def trike():
    return evlab.load_vehicle("two_shed_trike")


@pytest.fixture(scope="module")
def down(trike):
    return RoadCase(trike, "two_sheds_down")


def test_the_air_is_the_vehicles_until_a_day_is_given(trike):
    assert RoadCase(trike, "two_sheds_up").air_density == 1.225
    high = RoadCase(trike, "two_sheds_up", altitude=1000.0, temperature=288.15 - 6.5, humidity=0.0)
    assert high.air_density == pytest.approx(1.111659, rel=2e-4)  # US Standard Atmosphere 1976 at 1000 m
    damp = RoadCase(trike, "two_sheds_up", altitude=0.0, temperature=293.15, humidity=0.5)
    assert damp.air_density == pytest.approx(1.1993, rel=1e-3)  # CoolProp, humid air


def test_a_wind_with_a_bearing_goes_round_with_the_road(trike):
    """A square of roads in a west wind: against it, across, with it, across."""
    square = Route.from_segments([(100.0, 0.0, 3.0, math.radians(b)) for b in (270, 0, 90, 180)], blend=0.0)
    case = RoadCase(trike, square, wind=Wind(4.0, "270 deg"))
    x, head, cross = case.winds
    for middle, against, beside in ((50, 4, 0), (150, 0, 4), (250, -4, 0), (350, 0, 4)):
        i = int(np.argmin(abs(x - middle)))
        assert head[i] == pytest.approx(against, abs=1e-9)
        assert abs(cross[i]) == pytest.approx(beside, abs=1e-9)
    assert case.head_wind == pytest.approx(4.0)


def test_what_the_wind_leaves_is_the_steady_speed_of_each_place(trike):
    slow = Route.from_segments([("100 m", "0 %", "20 m/s"), ("100 m", "6 %", "20 m/s")])
    case = RoadCase(trike, slow, wind=6.0, volts=25.0)
    for place, slope in ((50.0, 0.0), (150.0, 0.06)):
        i = int(np.argmin(abs(case.places - place)))
        for run, wind in ((case.leaves, 6.0), (case.still, 0.0)):
            assert run[1][i] == pytest.approx(ForceCase(trike, slope=slope, head_wind=wind, volts=[25.0]).steady[25.0], abs=0.01)
    assert (case.leaves[1] <= case.still[1] + 1e-9).all()


def test_posted_speeds_are_kept_and_what_cannot_start_stands(trike):
    case = RoadCase(trike, "two_sheds_up")
    assert case.leaves[1].max() == 3.0
    assert RoadCase(trike, "two_sheds_up", posted=False).leaves[1].max() > 3.0
    steep = RoadCase(trike, Route.from_segments([("50 m", "0 %", "3 m/s"), ("50 m", "40 %", "3 m/s")]))
    assert steep.leaves[1][-1] == 0.0


def test_if_the_brakes_fail(trike, down):
    r = down.runaway
    across = math.sqrt(1 + 0.07**2)
    assert r.steepest == pytest.approx(0.07)
    assert r.fastest == pytest.approx(math.sqrt(192 * G * (0.07 - 0.012) / across / (0.5 * 1.225 * 0.95)))
    assert r.free == pytest.approx(math.sqrt(2 * G * r.fall))
    assert r.still[0] == 0.0
    rolling = r.slopes > 0.0121
    assert np.allclose((r.tail - r.still)[rolling], r.tail_wind)
    assert RoadCase(trike, "two_sheds_up").runaway.fastest == 0.0


def test_bends_by_hand(trike, down):
    t = down.tipping
    assert t.acceleration == pytest.approx(G * 0.65 * 0.75 / 1.5)
    assert t.tip_at_three == pytest.approx(math.sqrt(3 * t.acceleration))
    assert t.slide_at_three == pytest.approx(math.sqrt(0.6 * G * 3))
    assert np.allclose(t.tip**2 / t.radii, t.acceleration)
    leaning = RoadCase(evlab.load_vehicle("kick_scooter"), "park_path").tipping
    assert math.isinf(leaning.acceleration)
    assert np.isnan(leaning.tip).all()
    silent = RoadCase(trike.change({"vehicle.track": 0.0}), "two_sheds_up").tipping
    assert math.isnan(silent.acceleration)


def test_stops_by_hand(trike, down):
    s = down.stopping
    i = int(np.argmin(abs(s.speeds - 3.0)))
    v = s.speeds[i]
    sine = 0.07 / math.sqrt(1 + 0.07**2)
    assert s.level[i] == pytest.approx(0.5 * v + v * v / 6)
    assert s.steep[i] == pytest.approx(0.5 * v + v * v / (2 * (3 - G * sine)))
    assert s.hold == pytest.approx(192 * G * sine)
    assert s.force == pytest.approx(192 * 3 + 192 * G * (sine - 0.012 / math.sqrt(1 + 0.07**2)))
    wet = RoadCase(trike, "two_sheds_down", grip=0.2).stopping
    assert wet.level[i] == pytest.approx(0.5 * v + v * v / (2 * 0.2 * G))
    ice = RoadCase(trike, "two_sheds_down", grip=0.06).stopping
    assert math.isinf(ice.steep[-1])


def test_grip_of_one_driven_wheel(trike):
    t = RoadCase(trike, "two_sheds_up", slope=0.07).traction
    assert t.limit == pytest.approx(0.6 * t.load)
    assert 0.3 < t.share < 0.4  # half of 65 %, a little more uphill
    assert t.full == pytest.approx(ForceCase(trike, volts=[25.0]).drive[25.0][0][0])
    assert math.isnan(RoadCase(trike.change({"vehicle.wheelbase": 0.0}), "two_sheds_up").traction.limit)


@pytest.mark.parametrize(("more", "words"), [
    ({"deceleration": 0.0}, "deceleration of RoadCase must be above zero"),
    ({"volts": -1.0}, "volts of RoadCase must be above zero"),
    ({"reaction": -0.1}, "reaction of RoadCase must be 0 s or more"),
    ({"wind": "3"}, "wind of RoadCase"),
    ({"altitude": 20_000.0}, "altitude"),
])
def test_what_cannot_be_is_refused_in_words(trike, more, words):
    with pytest.raises(evlab.InputError, match=words):
        RoadCase(trike, "two_sheds_up", **more)


def test_a_road_without_bearings_refuses_a_bearing(trike):
    with pytest.raises(evlab.InputError, match="has no bearings"):
        _ = RoadCase(trike, "two_sheds_up", wind=Wind(3.0, "90 deg")).winds
