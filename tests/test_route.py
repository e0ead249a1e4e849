"""Routes: blends, heights, posted speeds, stops, winds, turned round, read from files, refused in words."""

import math

import numpy as np
import pytest

from evlab import Route, Wind, load_route
from evlab.route import Segment
from evlab.units import InputError

RAMP = [("70 m", "0 %", "3.0 m/s"), ("60 m", "7 %", "2.4 m/s"), ("45 m", "0 %", "3.0 m/s")]


@pytest.fixture
def ramp():
    return Route.from_segments(RAMP, name="ramp")


# ---------------------------------------------------------------- shape
def test_text_numbers_and_segments_make_the_same_route(ramp):
    plain = Route.from_segments([(70.0, 0.0, 3.0), (60, 0.07, 2.4), Segment(45.0, 0.0, 3.0)])
    for name in ("nodes", "slopes", "heights"):
        assert getattr(plain, name) == pytest.approx(getattr(ramp, name))
    assert np.array(plain.limits) == pytest.approx(np.array(ramp.limits))
    assert Route.from_segments([("0,07 km", "0", "10.8 km/h"), *RAMP[1:]]).limits[0] == (0.0, pytest.approx(3.0))


def test_slopes_are_blended_behind_each_joint(ramp):
    assert ramp.length == 175.0
    assert ramp.nodes.tolist() == [0.0, 70.0, 72.0, 130.0, 132.0, 175.0]
    for place, slope in (
        (0.0, 0.0),
        (70.0, 0.0),
        (71.0, 0.035),
        (72.0, 0.07),
        (100.0, 0.07),
        (130.0, 0.07),
        (131.5, 0.0175),
        (133.0, 0.0),
    ):
        assert ramp.slope(place) == pytest.approx(slope, abs=1e-15)
    assert ramp.slope(np.array([71.0, 100.0])) == pytest.approx([0.035, 0.07])


def test_the_rise_by_hand(ramp):
    """58 m of sin(arctan 0.07), and two blends of 2 m, each with the integral of sin(arctan(0.035 s)): (√1.0049 - 1)/0.035."""
    rise = 58 * 0.07 / math.sqrt(1.0049) + 2 * (math.sqrt(1.0049) - 1) / 0.035
    assert rise == pytest.approx(4.19, abs=0.005)
    assert ramp.height(175.0) == pytest.approx(rise, rel=1e-14)
    assert ramp.height(70.0) == 0.0
    assert ramp.height(np.array([0.0, 175.0])) == pytest.approx([0.0, rise])


def test_the_park_path_by_hand():
    """120 m of 2 %, 120 m of -1.5 %, 90 m of 3 %, 100 m of -2.5 %; level at both ends, so the blends take and give alike."""
    park = load_route("park_path")
    assert park.length == 900.0
    assert park.height(900.0) == pytest.approx(2.4 - 1.8 + 2.7 - 2.5, abs=0.005)  # sine for tangent: 0.05 % of each
    assert max(park.slopes) == 0.03
    assert {v for _, v in park.limits} == {4.0, 4.2, 4.5, 5.0}


def test_a_way_of_one_slope_rises_by_the_sine():
    assert Route.from_segments([(130.0, 5 / 12, 1.0)]).height(130.0) == pytest.approx(50.0)  # 5-12-13 triangle


def test_no_blend_is_a_kink():
    kinked = Route.from_segments(RAMP, blend=0.0)
    assert kinked.height(175.0) == pytest.approx(60 * 0.07 / math.sqrt(1.0049))
    assert kinked.slope(70.1) == pytest.approx(0.07)


def test_equal_slopes_need_no_blend():
    assert len(Route.from_segments([(10.0, 0.02, 1.0), (10.0, 0.02, 2.0)]).nodes) == 2


# ---------------------------------------------------------------- posted speeds and stops
def test_a_posted_speed_holds_where_the_slope_exceeds_one_percent(ramp):
    """On a blend of 2 m to 7 %, 1 % is passed after 2/7 m; on the way back to the flat it is left after 12/7 m."""
    assert np.array(ramp.limits) == pytest.approx(np.array([(0.0, 3.0), (70 + 2 / 7, 2.4), (130 + 12 / 7, 3.0)]))


def test_a_posted_speed_on_the_flat_holds_at_its_joint():
    assert Route.from_segments([(10.0, 0.0, 1.0), (10.0, 0.005, 2.0)]).limits == [(0.0, 1.0), (10.0, 2.0)]


def test_posted_time(ramp):
    by_hand = (70 + 2 / 7) / 3.0 + (60 + 10 / 7) / 2.4 + (175 - 130 - 12 / 7) / 3.0
    assert ramp.posted_time() == pytest.approx(by_hand)
    assert Route.from_segments(RAMP, stops=[("20 m", "1 min")]).posted_time() == pytest.approx(by_hand + 60.0)


def test_stops_are_sorted():
    assert Route.from_segments(RAMP, stops=[(100.0, 5.0), ("20 m", "1 min")]).stops == [(20.0, 60.0), (100.0, 5.0)]


def test_falls_after():
    down = load_route("two_sheds_down")
    assert [down.falls_after(s) for s in (10.0, 43.1, 43.5, 80.0, 120.0)] == [False, True, True, True, False]


# ---------------------------------------------------------------- winds
def test_a_wind_by_its_bearing():
    """A north wind (from 0°) against one who rides north, behind one who rides south, across one who rides east."""
    square = Route.from_segments([(50.0, 0.0, 3.0, b) for b in ("0 deg", "90 deg", "180 deg", "270 deg")])
    head, cross = square.head_winds(Wind(4.0, "0 deg"))
    at = [int(np.searchsorted(square.nodes, s, side="right")) - 1 for s in (10.0, 60.0, 110.0, 160.0)]
    assert head[at] == pytest.approx([4.0, 0.0, -4.0, 0.0], abs=1e-12)
    assert np.abs(cross[at]) == pytest.approx([0.0, 4.0, 0.0, 4.0], abs=1e-12)
    assert np.hypot(*square.reversed().head_winds(Wind(4.0, 1.0))) == pytest.approx(4.0)


def test_a_road_turned_round_meets_the_wind_from_the_other_side():
    way = Route.from_segments([(50.0, 0.0, 3.0, 0.3), (50.0, 0.05, 3.0, 1.2)])
    there, back = (route.head_winds(Wind(5.0, 0.7))[0] for route in (way, way.reversed()))
    assert back[0] == pytest.approx(-5.0 * math.cos(0.7 - 1.2))
    assert there[0] == pytest.approx(5.0 * math.cos(0.7 - 0.3))


def test_a_wind_needs_a_road_with_bearings(ramp):
    head, cross = ramp.head_winds(-3.0)
    assert set(head) == {-3.0}
    assert set(cross) == {0.0}
    with pytest.raises(InputError, match=r"Input wind of ride must be metres per second .* bearing"):
        ramp.head_winds(Wind(3.0, "90 deg"))


# ---------------------------------------------------------------- refusals in words
@pytest.mark.parametrize(
    ("segments", "options", "words"),
    [
        ([], {}, "at least one segment"),
        ([(0.0, 0.0, 1.0)], {}, r"length of segment 1 .* above zero; instead received 0 m"),
        ([(10.0, 0.0, 1.0), (-5.0, 0.0, 1.0)], {}, r"length of segment 2 .* above zero"),
        ([(10.0, 0.0, 0.0)], {}, r"speed of segment 1 .* above zero"),
        ([(10.0, 1.5, 1.0)], {}, r"slope of segment 1 .* between -60 % and 60 %.*; instead received 150 %"),
        ([("10", 0.0, 1.0)], {}, r"length of segment 1 .* its unit"),
        ([("10 m", "7 deg", 1.0)], {}, "slope of segment 1"),
        ([(float("nan"), 0.0, 1.0)], {}, "finite"),
        ([(10.0, 0.0)], {}, r"\(length, slope, speed\)"),
        (["10 m"], {}, r"\(length, slope, speed\)"),
        ([(10.0, 0.0, 1.0), (1.0, 0.05, 1.0)], {}, r"length of segment 2 .* at least its blend of 2 m; instead received 1 m"),
        (RAMP, {"stops": [(200.0, 5.0)]}, r"between 0 m and 175 m"),
        (RAMP, {"stops": [(20.0, -5.0)]}, "wait 0 s or more"),
        (RAMP, {"blend": "2"}, "blend of a road"),
        (RAMP, {"blend": "-2 m"}, "blend of a road"),
        (RAMP, {"blend": float("inf")}, "blend of a road"),
    ],
)
def test_what_is_no_route_is_refused_in_words(segments, options, words):
    with pytest.raises(InputError, match=words):
        Route.from_segments(segments, name="a road", **options)


# ---------------------------------------------------------------- files
GOOD = 'format = 1\nname = "x"\n[[segment]]\nlength = "20 m"\nslope = "0 %"\nspeed = "3 m/s"\n'


def test_ours_are_the_ramp(ramp):
    up, down = load_route("two_sheds_up"), load_route("two_sheds_down")
    assert up.heights == pytest.approx(ramp.heights)
    assert np.array(up.limits) == pytest.approx(np.array(ramp.limits))
    back = up.reversed()
    for name in ("nodes", "slopes", "heights", "limits"):
        assert np.array(getattr(down, name)) == pytest.approx(np.array(getattr(back, name)), abs=1e-12)


def test_a_file_of_ones_own(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(GOOD + 'bearing = "45 deg"\n[[stop]]\nat = "10 m"\nwait = "5 s"\n', encoding="utf-8")
    for given in (path, str(path)):
        route = load_route(given)
        assert (route.name, route.length, route.stops) == ("x", 20.0, [(10.0, 5.0)])
        assert route.bearings == pytest.approx([math.pi / 4] * 2)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (GOOD.replace("format = 1\n", ""), "format = 1"),
        (GOOD.replace("format = 1", "format = 2"), r"format = 1.*instead received 2"),
        (GOOD.replace("slope", "slop"), r"no key 'slop'\. Did you mean 'slope'"),
        (GOOD + "[[stops]]\nat = 3\n", r"no key 'stops'\. Did you mean 'stop'"),
        (GOOD.replace('"20 m"', '"20 V"'), "length of segment 1"),
        ("]", "TOML"),
        ("format = 1\n", "at least one segment"),
        (GOOD.replace('length = "20 m"\n', ""), "segment"),
        (GOOD + '[[stop]]\nwait = "5 s"\n', r"\[\[stop\]\] number 1: it lacks at"),
        (GOOD + '[[stop]]\nat = "5 m"\ncharger = "true"\n', "charger of a stop of x must be true or false; .* 'true'"),
        ('speed = "3 m/s"\n' + GOOD, "speed at the top goes with a track"),
        ("format = 1\nname = " + 5000 * "[" + 5000 * "]" + "\n", "must be a TOML file of a route; instead: "),
    ],
)
def test_a_file_that_is_no_route_is_refused_in_words(tmp_path, text, words):
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=words):
        load_route(path)


def test_files_of_another_kind(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match=r"mine\.toml"):
        load_route(path)
    path.write_bytes(b"#" * 1_000_001)
    with pytest.raises(InputError, match="1 MB"):
        load_route(path)
    with pytest.raises(FileNotFoundError, match=r"'two_shed_up'.*Did you mean 'two_sheds_up'"):
        load_route("two_shed_up")


# ---------------------------------------------------------------- these tests can fail
def test_a_posted_speed_without_the_blend_is_seen(monkeypatch, ramp):
    monkeypatch.setattr("evlab.route._steep_point", lambda before, after: 0.0)
    with pytest.raises(AssertionError):
        test_a_posted_speed_holds_where_the_slope_exceeds_one_percent(Route.from_segments(RAMP))


@pytest.mark.parametrize(("text", "words"), [
    ("[[segment]]\nlength = 10\nspeed = 0.5\nbearing = 1.0\n", r"mine.toml, \[\[segment\]\] number 1: it lacks slope"),
    ("[[segment]]\nlength = 10\n", "it lacks slope and speed; it needs length, slope, speed"),
    ("segment = 3\n", r"segment must be tables, each headed \[\[segment\]\]; instead received 3"),
])
def test_a_route_file_that_lacks_something_is_refused_and_never_misread(tmp_path, text, words):
    path = tmp_path / "mine.toml"
    path.write_text("format = 1\n" + text, encoding="utf-8")
    with pytest.raises(InputError, match=words):
        load_route(path)


def test_a_route_file_that_is_not_there_is_told(tmp_path):
    with pytest.raises(FileNotFoundError, match="There is no route file"):
        load_route(tmp_path / "nowhere.toml")


# ---------------------------------------------------------------- routes made out of routes
def test_the_steepest_stretch_and_all_that_goes_up_and_down(ramp):
    place, slope = ramp.steepest()
    assert slope == pytest.approx(0.07)
    assert 80 <= place <= 122
    assert ramp.reversed().steepest()[1] <= 0.0
    hills = Route.from_segments([("100 m", "5 %", 3.0), ("100 m", "-3 %", 3.0), ("100 m", "4 %", 3.0)])
    up = 100 * 0.05 / math.hypot(1, 0.05) + 100 * 0.04 / math.hypot(1, 0.04)
    assert hills.climb == pytest.approx(up, rel=0.01)  # the blends cut the corners
    assert hills.climb - hills.descent == pytest.approx(hills.heights[-1])
    assert hills.raw_climb == hills.climb
    assert hills.steepest(over=1e6)[1] == pytest.approx(hills.heights[-1] / 300, rel=1e-3)  # no longer than the way


def test_one_route_and_then_another(ramp):
    both = ramp.then(ramp.reversed(), wait="30 s")
    assert both.length == 350.0
    assert both.heights[-1] == pytest.approx(0.0, abs=1e-12)
    assert both.stops == [(175.0, 30.0)]
    assert both.height(175.0) == pytest.approx(ramp.heights[-1])
    assert ramp.then(ramp.reversed(), wait=None).stops == []
    assert [v for p, v in both.limits if p < 130] == [3.0, 2.4]


def test_laps_need_an_end_as_high_as_the_beginning(ramp):
    lap = ramp.then(ramp.reversed())
    three = lap.repeated(3)
    assert three.length == pytest.approx(1050.0)
    assert len(three.stops) == 3
    assert lap.repeated(1).length == lap.length
    with pytest.raises(InputError, match=r"must end as high as it began; instead .* rises 4\.2 m"):
        ramp.repeated(2)
    for times in (0, 1.5, True, "2"):
        with pytest.raises(InputError, match="times of repeated must be a whole number"):
            lap.repeated(times)


def test_a_charger_on_the_way_and_at_its_end(ramp):
    charged = ramp.with_stops([("40 m", "60 s"), ("100 m", "5 min", True), (175.0, 0.0, True)])
    assert charged.stops == [(40.0, 60.0), (100.0, 300.0)]
    assert charged.chargers == (100.0, 175.0)
    assert charged.waits == {100.0: 300.0, 175.0: 0.0}
    assert charged.reversed().chargers == (0.0, 75.0)
    assert charged.part(40.0, 100.0).chargers == ()
    with pytest.raises(InputError, match="stop of ramp must be"):
        ramp.with_stops([(40.0,)])
    with pytest.raises(InputError, match="lie between 0 m and 175 m"):
        ramp.with_stops([(176.0, 0.0, True)])


def test_a_part_needs_two_places_one_behind_the_other(ramp):
    for start, end in ((50.0, 50.0), (60.0, 40.0), (-1.0, 40.0), (100.0, 400.0)):
        with pytest.raises(InputError, match="start and end of part"):
            ramp.part(start, end)
