"""Tracks: shapes whose length, heading and climb are known; gpxpy as a witness; and files that are no tracks, told in words."""

import math
import random
from itertools import pairwise

import gpxpy
import numpy as np
import pytest

import evlab
from evlab import data
from evlab.profiles import smooth_profile
from evlab.route_files import keep_route, load_route, read_route
from evlab.tracks import EARTH_RADIUS, bearings_of, distances_of, read_gpx

DEGREE = math.radians(1) * EARTH_RADIUS  # m


def gpx(points, version="1.1", inside="trk"):
    """A GPX text of (lat, lon, height or None, seconds or None)."""
    rows = []
    for lat, lon, height, second in points:
        ele = "" if height is None else f"<ele>{height}</ele>"
        time = "" if second is None else f"<time>2026-05-01T{second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}Z</time>"
        rows.append(f'<{inside}pt lat="{lat}" lon="{lon}">{ele}{time}</{inside}pt>')
    body = f"<trk><trkseg>{''.join(rows)}</trkseg></trk>" if inside == "trk" else f"<rte>{''.join(rows)}</rte>"
    return f'<?xml version="1.0"?><gpx version="{version}" xmlns="http://www.topografix.com/GPX/1/1">{body}</gpx>'.encode()


def ramp(slope=0.05, length=400.0, step=4.0, height=lambda s: 0.0, time=True):
    """A straight way north that rises at a slope; one point a second."""
    s = np.arange(0.0, length + 1e-9, step)
    return [(x / DEGREE, -30.0, round(100 + x * slope / math.sqrt(1 + slope**2) + height(x), 4), i if time else None)
            for i, x in enumerate(s)]


def made(points, **more):
    return read_route(gpx(points), "own.gpx", **more)


def told(route):
    return " ".join(route.repairs)


# ---------------------------------------------------------------- on the sphere
def test_a_degree_of_the_meridian_and_of_a_parallel():
    assert distances_of(np.array([0.0, 1.0]), np.array([7.0, 7.0]))[0] == pytest.approx(111_195.08, abs=0.01)  # 2 pi R/360
    parallel = distances_of(np.array([60.0, 60.0]), np.array([7.0, 7.001]))[0]
    assert parallel == pytest.approx(0.001 * DEGREE * math.cos(math.radians(60)), rel=1e-6)


def test_a_published_geodesic():
    """Flinders Peak to Buninyong, 54 972.271 m on the ellipsoid GRS 80: the example of the Australian geodetic datum's technical
    manual (from memory).  A sphere of the mean radius is within 0.5 %."""
    lat = -np.array([37 + 57 / 60 + 3.7203 / 3600, 37 + 39 / 60 + 10.1561 / 3600])
    lon = np.array([144 + 25 / 60 + 29.5244 / 3600, 143 + 55 / 60 + 35.3839 / 3600])
    assert distances_of(lat, lon)[0] == pytest.approx(54_972.271, rel=5e-3)
    assert math.degrees(bearings_of(lat, lon)[0]) == pytest.approx(306.868, abs=0.5)  # 306 degrees 52 minutes


@pytest.mark.parametrize(("north", "east", "bearing"), [(1, 0, 0), (0, 1, 90), (-1, 0, 180), (0, -1, 270), (1, 1, 45)])
def test_headings(north, east, bearing):
    got = bearings_of(np.array([0.0, 1e-4 * north]), np.array([0.0, 1e-4 * east]))[0]
    assert math.degrees(got) == pytest.approx(bearing, abs=1e-3)


def test_a_circle_has_its_circumference_and_comes_round():
    angle = np.linspace(0, 2 * np.pi, 721)
    points = [(500 * math.cos(a) / DEGREE, -30 + 500 * math.sin(a) / DEGREE, 10.0, None) for a in angle]
    route = made(points)
    assert route.length == pytest.approx(2 * math.pi * 500, rel=1e-4)
    assert route.bearings[0] == pytest.approx(math.pi / 2, abs=0.05)  # round by the east
    lap = route.repeated(3)
    assert lap.length == pytest.approx(3 * route.length)


# ---------------------------------------------------------------- heights
def test_smoothing_leaves_a_straight_ramp_alone_also_at_its_ends():
    route = made(ramp(0.07))
    assert np.allclose(route.slopes, 0.07, atol=1e-4)
    assert route.climb == pytest.approx(400 * 0.07 / math.sqrt(1 + 0.07**2), rel=1e-3)


def test_smoothing_takes_noise_and_leaves_hills():
    rng = np.random.default_rng(3)
    noise = dict(zip(np.arange(0.0, 2000.1, 4.0), rng.normal(0, 0.3, 501), strict=True))
    wavy = made(ramp(0.0, 2000.0, height=lambda s: 10 * math.sin(2 * math.pi * s / 1000) + noise[s]))
    assert wavy.raw_climb > 80  # as read
    assert wavy.climb == pytest.approx(40.0, rel=0.06)  # two hills of 20 m from trough to top
    assert "m of climb as read became" in told(wavy)
    smooth = ramp(0.0, 2000.0, height=lambda s: 10 * math.sin(2 * math.pi * s / 1000))
    assert made(smooth, smoothing=0.0).climb == pytest.approx(40, rel=2e-3)


def test_the_profile_is_that_of_a_local_line_by_another_route():
    """Weighted least squares at one place, by numpy's own fit over the same means."""
    rng = np.random.default_rng(5)
    d = np.linspace(0, 600, 601)
    h = np.cumsum(rng.normal(0, 0.2, 601))
    places, heights, _ = smooth_profile(d, h, 60.0)
    for i in (0, len(places) // 3, len(places) - 1):
        fine = np.linspace(0, 600, 4 * (len(places) - 1) + 1)
        middles = (fine[:-1] + fine[1:]) / 2
        means = np.array([np.interp(np.linspace(a, b, 2001), d, h).mean() for a, b in pairwise(fine)])
        near = abs(middles - places[i]) <= 120
        weight = np.exp(-0.25 * ((middles[near] - places[i]) / 30) ** 2)  # polyfit squares its weights
        line = np.polyfit(middles[near] - places[i], means[near], 1, w=weight)
        assert heights[i] == pytest.approx(line[1], abs=2e-3)


def test_points_without_height():
    points = ramp(0.05)
    some = [(a, b, None if 20 <= i < 25 else h, t) for i, (a, b, h, t) in enumerate(points)]
    assert "5 of 101 points have no height" in told(made(some))
    assert np.allclose(made(some).slopes, 0.05, atol=1e-3)
    none = made([(a, b, None, t) for a, b, _, t in points])
    assert "the road is taken as level" in told(none)
    assert none.climb == 0.0


def test_a_height_that_jumps_is_replaced():
    points = ramp(0.05)
    points[40] = (*points[40][:2], points[40][2] + 60, points[40][3])
    route = made(points)
    assert "1 height off all neighbours (the first at 160 m) was replaced" in told(route)
    assert np.allclose(route.slopes, 0.05, atol=1e-3)


def test_a_cliff_is_no_road():
    with pytest.raises(evlab.InputError, match="no slope beyond 60 %"):
        made([(s / DEGREE, -30.0, 100 + max(s - 200, 0) * 2.0, None) for s in range(0, 400, 4)])


# ---------------------------------------------------------------- times, pieces, loops
def test_pauses_are_told_and_not_ridden():
    points = ramp(0.0, 200.0)
    late = [(a, b, h, t + (90 if i >= 25 else 0)) for i, (a, b, h, t) in enumerate(points)]
    route = made(late)
    assert "1 pause, the longest 91 s at 96 m, not ridden" in told(route)
    assert route.stops == []
    assert route.recorded[1].max() == pytest.approx(4.0, rel=1e-3)


def test_a_receiver_that_walks_about_during_a_rest_is_at_rest():
    """A point a second for 90 s, each up to a metre off: no metre of it is way."""
    points, draw = ramp(0.0, 400.0), random.Random(2)
    lat, lon, height, second = points[50]
    rest = [(lat + draw.uniform(-1, 1) / DEGREE, lon + draw.uniform(-1, 1) / DEGREE, height, second + i) for i in range(1, 91)]
    route = made([*points[:51], *rest, *((a, b, h, t + 90) for a, b, h, t in points[51:])])
    assert route.length == pytest.approx(400.0, abs=2.0)
    assert "1 pause, the longest 9" in told(route)
    slow = made([(a, b, h, 4 * t) for a, b, h, t in points])  # 1 m/s is slow, and no rest
    assert slow.length == pytest.approx(400.0, abs=0.05)
    assert "pause" not in told(slow)


def test_a_jump_of_height_that_stays_is_taken_out():
    points = [(a, b, h + (20 if i >= 60 else 0), t) for i, (a, b, h, t) in enumerate(ramp(0.05))]
    route = made(points)
    assert "1 jump of height (the first of 20 m at 240 m), steeper than any road, was taken out" in told(route)
    assert np.allclose(route.slopes, 0.05, atol=5e-3)  # the 0.2 m that the step itself rose are lost with it
    hut = [(a, b, h + (20 if 40 <= i < 60 else 0), t) for i, (a, b, h, t) in enumerate(ramp(0.05))]
    assert "2 jumps of height" in told(made(hut))


def test_times_that_are_missing_or_run_backwards():
    assert "No time stamps" in told(made(ramp(time=False)))
    points = ramp()
    lacking = [(a, b, h, None if i == 7 else t) for i, (a, b, h, t) in enumerate(points)]
    assert "1 of 101 points have no time stamp" in told(made(lacking))
    back = [(a, b, h, t if i < 50 else t - 20) for i, (a, b, h, t) in enumerate(points)]
    assert "Time runs backwards at 200 m" in told(made(back))
    assert made(back).recorded is None


def test_points_on_one_spot_are_left_out():
    points = ramp(0.05)
    double = [p for p in points for _ in range(2)]
    assert made(double).length == pytest.approx(made(points).length)
    assert "on the spot of the one before were left out" in told(made(double))


def test_several_pieces_are_joined_and_the_gap_is_told():
    text = gpx(ramp()).decode()
    far = "".join(f'<trkpt lat="{(500 + 4 * i) / DEGREE}" lon="-30.0"><ele>120</ele></trkpt>' for i in range(20))
    joined = read_route(text.replace("</trkseg>", f"</trkseg><trkseg>{far}</trkseg>").encode(), "two.gpx")
    assert "2 pieces of track were joined; 1 of them with a gap, the widest 100 m" in told(joined)
    assert joined.length == pytest.approx(576.0, abs=0.1)


def test_a_loop_whose_heights_drifted():
    angle = np.linspace(0, 2 * np.pi, 361)
    points = [(200 * math.cos(a) / DEGREE, -30 + 200 * math.sin(a) / DEGREE, 10 + 6 * a / (2 * np.pi), None) for a in angle]
    route = made(points)
    assert "It ends where it began, 6 m higher" in told(route)
    with pytest.raises(evlab.InputError, match="end as high as it began"):
        route.repeated(2)


def test_a_planned_route_counts_as_a_track():
    assert read_route(gpx(ramp(0.05), inside="rte"), "plan.gpx").length == pytest.approx(400.0, abs=0.05)


def test_the_other_way_is_the_mirror():
    lane = load_route("mill_lane")
    back = lane.reversed()
    assert back.climb == pytest.approx(lane.descent, abs=1e-9)
    assert back.descent == pytest.approx(lane.climb, abs=1e-9)
    assert back.reversed().heights[-1] == pytest.approx(lane.heights[-1])
    assert math.cos(back.bearings[0] - lane.bearings[-2]) == pytest.approx(-1.0)


def test_parts_put_together_again_are_the_whole():
    lane = load_route("mill_lane")
    whole = lane.part(0.0, 400.0).then(lane.part(400.0, lane.length), wait=None)
    at = np.linspace(0, lane.length, 50)
    assert np.allclose(whole.height(at), lane.height(at), atol=1e-6)
    ramp_up = load_route("two_sheds_up")
    assert ramp_up.part(70.0, 130.0).heights[-1] == pytest.approx(ramp_up.height(130.0) - ramp_up.height(70.0))
    assert [v for _, v in ramp_up.part(100.0, 175.0).limits] == [2.4, 3.0]


def test_gpxpy_reads_the_same():
    """The library's own reading of our file: points, times, heights, and its length on the same kind of sphere."""
    text = data.read_text("routes/mill_lane.gpx")
    track = read_gpx(text.encode(), "mill_lane.gpx")
    theirs = gpxpy.parse(text).tracks[0].segments[0].points
    assert np.array_equal(track.latitude, [p.latitude for p in theirs])
    assert np.array_equal(track.longitude, [p.longitude for p in theirs])
    assert np.array_equal(np.nan_to_num(track.height, nan=-1), [-1 if p.elevation is None else p.elevation for p in theirs])
    assert np.allclose(np.diff(track.time), [(b.time - a.time).total_seconds() for a, b in pairwise(theirs)])
    ours = distances_of(track.latitude, track.longitude).sum()
    assert ours == pytest.approx(gpxpy.parse(text).length_2d(), rel=5e-3)


# ---------------------------------------------------------------- what is no track
DEEP = b'<?xml version="1.0"?><!DOCTYPE g [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]><gpx version="1.1">&b;</gpx>'
FILE = b'<?xml version="1.0"?><!DOCTYPE g [<!ENTITY x SYSTEM "file:///etc/passwd">]><gpx version="1.1">&x;</gpx>'


@pytest.mark.parametrize(("raw", "name", "words"), [
    (b"", "own.gpx", "it is empty"),
    (b"   \n", "own.gpx", "it is empty"),
    (b"\x89PNG\r\n\x1a\n\x00\x00", "own.gpx", "line 1 breaks the rules of XML"),
    (b"format = 1\n", "own.gpx", "line 1 breaks the rules of XML"),
    (gpx(ramp())[:-60], "own.gpx", "breaks the rules of XML"),
    (gpx(ramp(), version="1.0"), "own.gpx", "instead received GPX 1.0"),
    (b'<?xml version="1.0"?><kml><Document/></kml>', "own.gpx", "instead received a file of <kml>"),
    (b'<gpx version="1.1"><wpt lat="1" lon="2"/></gpx>', "own.gpx", "no point of either"),
    (gpx([(1.0, 2.0, 3.0, 0)]), "own.gpx", "all of its points are one place"),
    (gpx([(1.0, 2.0, 3.0, 0)] * 9), "own.gpx", "all of its points are one place"),
    (gpx([(1.0, 2.0, 3.0, 0), (1.0, 2.00002, 3.0, 1)]), "own.gpx", "a way of 10 m or more"),
    (b'<gpx version="1.1"><trk><trkseg><trkpt lat="95" lon="2"/></trkseg></trk></gpx>', "own.gpx", "line 1: a point must have lat"),
    (b'<gpx version="1.1"><trk><trkseg><trkpt lon="2"/></trkseg></trk></gpx>', "own.gpx", "instead received None, '2'"),
    (DEEP, "own.gpx", "no need of a document type or of entities"),
    (gpx(ramp()).replace(b'"1.0"?', b'"1.0" encoding="none-9"?'), "own.gpx", "unknown encoding"),
    (FILE, "own.gpx", "no need of a document type or of entities"),
    (b"x" * 50_000_001, "own.gpx", "smaller than 50 MB"),
    (gpx(ramp()), "own.kmz", "must be a .toml, .csv or .gpx file"),
    (gpx(ramp()), "own", "must be a .toml, .csv or .gpx file"),
])
def test_what_is_no_track_is_told_in_words(raw, name, words):
    with pytest.raises(evlab.InputError, match=words):
        read_route(raw, name)


@pytest.mark.parametrize(("more", "words"), [
    ({"speed": 0}, "speed of own.gpx must be above zero"), ({"speed": "-3 km/h"}, "speed of own.gpx"),
    ({"speed": "5"}, "its unit"), ({"smoothing": "-1 m"}, "smoothing of own.gpx must be 0 m to 10 000 m"),
])
def test_speed_and_smoothing_are_checked(more, words):
    with pytest.raises(evlab.InputError, match=words):
        made(ramp(), **more)


def test_a_broken_file_never_ends_in_a_traceback():
    """A thousand seeded mutilations of a good file: a route, or words."""
    good, draw = gpx(ramp(0.05)), random.Random(7)
    for _ in range(1000):
        raw = bytearray(good)
        for _ in range(draw.randint(1, 4)):
            at = draw.randrange(len(raw))
            if draw.random() < 0.5:
                raw[at] = draw.randrange(256)
            else:
                del raw[at:at + draw.randint(1, 200)]
        try:
            length, words = read_route(bytes(raw), "own.gpx").length, "."
        except evlab.InputError as wrong:
            length, words = 1.0, str(wrong)
        assert length > 0
        assert words.endswith((".", "?")), words


# ---------------------------------------------------------------- CSV
def test_a_profile_as_csv_with_units_in_its_header():
    text = "distance (km);height (m);speed (km/h);note\n0;100;10,8;start\n0,2;110;10,8;\n0,4;110;18;\n0,6;100;18;end\n"
    route = read_route(text.encode(), "hill.csv", smoothing=0.0)
    assert route.length == pytest.approx(600.0)
    assert route.limits == [(0.0, pytest.approx(3.0)), (400.0, pytest.approx(5.0))]
    assert route.climb == pytest.approx(10.0, rel=0.2)  # three points make a rounded hill


def test_segments_as_csv_are_segments():
    text = "length (m),slope (%),speed (m/s)\n70,0,3\n60,7,2.4\n45,0,3\n"
    route, ours = read_route(text.encode(), "up.csv"), load_route("two_sheds_up")
    assert route.heights[-1] == pytest.approx(ours.heights[-1])
    assert route.limits == ours.limits


@pytest.mark.parametrize(("text", "words"), [
    ("", "it is empty"),
    ("distance,height\n", "a header and rows"),
    ("a,b\n1,2\n", "must name its columns"),
    ("distance,speed\n0,1\n9,1\n", "the columns length and slope, or distance and height"),
    ("distance (m),height (m)\n0,1\nten,2\n", "line 3, column 'distance \\(m\\)' must hold a number in m; instead received 'ten'"),
    ("distance (m),height (m)\n0,1\n", "two or more"),
    ("distance (m),height (m)\n0,1\n20,2\n10,3\n", "grow from row to row; instead row 3 says 10 m"),
    ("distance (miles),height (m)\n0,1\n1,2\n", "column 'distance \\(miles\\)'"),
    ("length (m),slope (%),speed (m/s)\n70,0,0\n", "speed of segment 1"),
    ("length (m),slope (%),speed (m/s)\n70,75,2\n", "between -60 % and 60 %"),
    ("distance,height\n0,1\n9,\"" + 200_000 * "9" + "\n", "line 3 must hold numbers with ',' between them"),
    ("distance,height\n0,1\n10,1\n20,90\n30,90\n", "no slope beyond 60 %"),
])
def test_a_csv_that_is_no_route_is_told_in_words(text, words):
    with pytest.raises(evlab.InputError, match=words):
        read_route(text.encode(), "own.csv")


def test_other_names_and_kinds(tmp_path):
    (tmp_path / "hill.kml").write_text("<kml/>", encoding="utf-8")
    with pytest.raises(evlab.InputError, match=r"must be a \.toml, \.csv or \.gpx file"):
        load_route(tmp_path / "hill.kml")
    with pytest.raises(evlab.InputError, match="the name of a route or the path of a file; instead received 5"):
        load_route(5)
    with pytest.raises(FileNotFoundError, match="Did you mean 'two_sheds_up'"):
        load_route("two_shed_up")


def test_latin_letters_of_another_kind():
    with pytest.raises(evlab.InputError, match="UTF-8 text; instead byte"):
        read_route("distance,h\u00f6he\n".encode("latin-1"), "own.csv")


# ---------------------------------------------------------------- the learner's own
@pytest.fixture
def mine(tmp_path, monkeypatch):
    monkeypatch.setenv("EVLAB_MINE", str(tmp_path / "mine"))
    return tmp_path / "mine"


def test_without_a_route_of_ones_own_it_is_the_demonstration_and_nothing_is_written(mine):
    assert load_route().name == "Two sheds, up"
    assert not mine.exists()


def test_a_kept_track_is_ones_own_from_then_on(mine):
    said = keep_route(gpx(ramp(0.05)), "hill.gpx", speed="4 m/s", smoothing="30 m")
    assert "Kept in route.toml" in repr(said)
    own = load_route()
    assert own.name == "hill"
    assert own.limits == [(0.0, 4.0)]
    assert own.smoothing == 30.0
    assert (mine / "hill.gpx").read_bytes() == gpx(ramp(0.05))


def test_nothing_is_lost_when_another_one_is_kept(mine):
    keep_route(gpx(ramp(0.05)), "hill.gpx")
    first = (mine / "route.toml").read_bytes()
    keep_route(gpx(ramp(0.08)), "hill.gpx")  # the same name, another hill
    assert (mine / "hill.gpx").read_bytes() == gpx(ramp(0.05))
    assert (mine / "hill-2.gpx").read_bytes() == gpx(ramp(0.08))
    assert (mine / "route-2.toml").read_bytes() == first
    assert load_route().slopes.max() == pytest.approx(0.08, abs=1e-3)
    keep_route(gpx(ramp(0.08)), "hill.gpx")
    assert sorted(p.name for p in mine.iterdir()) == ["hill-2.gpx", "hill.gpx", "route-2.toml", "route.toml"]


def test_a_file_that_cannot_be_read_is_not_kept(mine):
    with pytest.raises(evlab.InputError):
        keep_route(b"nonsense", "hill.gpx")
    assert not mine.exists()


def test_a_name_that_climbs_out_of_the_folder_is_cut(mine):
    keep_route(gpx(ramp(0.05)), "../../etc/hill.gpx")
    assert (mine / "hill.gpx").is_file()
    keep_route(gpx(ramp(0.05)), "C:\\tracks\\lane.gpx")
    assert (mine / "lane.gpx").is_file()
    for name in ('a"b\0?.gpx', 300 * "ä" + ".gpx"):
        keep_route(gpx(ramp(0.06)), name)
        assert load_route().slopes.max() == pytest.approx(0.06, abs=1e-3)


def test_what_cannot_be_kept_is_told(mine, tmp_path):
    for source in (tmp_path, tmp_path / "none.gpx"):
        with pytest.raises(FileNotFoundError, match="There is no route file"):
            keep_route(source)
    with pytest.raises(evlab.InputError, match="source of keep_route must be"):
        keep_route(5)


def test_a_toml_names_a_track_beside_it_and_no_other(tmp_path):
    (tmp_path / "hill.gpx").write_bytes(gpx(ramp(0.05)))
    said = ('format = 1\ntrack = "{}"\nspeed = "3 m/s"\n[[stop]]\nat = "100 m"\nwait = "30 s"\n[[stop]]\nat = "400 m"\ncharger = '
            'true\n')
    (tmp_path / "own.toml").write_text(said.format("hill.gpx").replace("400 m", "450 m"), encoding="utf-8")
    with pytest.raises(evlab.InputError, match="between 0 m and 400 m"):
        load_route(tmp_path / "own.toml")
    (tmp_path / "own.toml").write_text(said.format("hill.gpx").replace("400 m", "399 m"), encoding="utf-8")
    route = load_route(tmp_path / "own.toml")
    assert route.stops == [(100.0, 30.0), (399.0, 0.0)]
    assert route.chargers == (399.0,)
    for bad in ("../hill.gpx", "none.gpx", "hill.toml"):
        (tmp_path / "own.toml").write_text(said.format(bad), encoding="utf-8")
        with pytest.raises(evlab.InputError, match="track"):
            load_route(tmp_path / "own.toml")


def test_a_smoothing_finer_than_a_long_track_allows():
    route = read_route(gpx([(i / 100, -30.0, 100.0, None) for i in range(1000)]), "far.gpx", smoothing=0.01)
    assert np.isfinite(route.heights).all()
    assert route.smoothing == pytest.approx(route.length / 8000)
    assert len(route.nodes) <= 4001


def test_our_lane_is_read_with_its_faults_told():
    lane = load_route("mill_lane")
    for words in ("1 pause", "1 height off all neighbours", "3 of 472 points have no height", "evened out over 40 m"):
        assert words in told(lane)
    assert lane.length == pytest.approx(1240.8, rel=0.01)  # what it was made of, and the receiver's wander
    assert lane.heights[-1] == pytest.approx(50.66, abs=0.7)


# ---------------------------------------------------------------- a receiver that was lost
def straight(length=12_000.0, step=5.0):
    """Points without times on a straight way north of a known length."""
    return [(50 + s / DEGREE, 8.0, 100.0, None) for s in np.arange(0.0, length + 1e-6, step)]


@pytest.mark.parametrize("places", [(0,), (700,), (2400,), (900, 901, 902), (5, 1500)], ids=str)
def test_points_of_a_lost_receiver_are_left_out_and_said(places):
    """A point at 0, 0 once made a way of 12 km one of 11 224 km, without a word."""
    points = straight()
    for place in places:
        points[place] = (0.0, 0.0, 100.0, None)
    route = made(points)
    away = distances_of(np.array([50.0, 0.0]), np.array([8.0, 0.0]))[0] / 1000
    assert route.length == pytest.approx(12_000.0, abs=5.0 * len(places) + 0.1)  # at an end as much is missing as was lost
    (said,) = [words for words in route.tale.repairs if "off the track" in words]
    assert said.startswith(f"{len(places)} point{'s' if len(places) > 1 else ''} up to ")
    assert float(said.split("up to ")[1].split(" km")[0]) == pytest.approx(away, rel=0.01)
    assert "left out: the receiver was lost there" in said


def test_two_pieces_far_apart_are_no_lost_receiver():
    points = straight(1000.0) + [(50 + (s + 3000.0) / DEGREE, 8.0, 100.0, None) for s in np.arange(0.0, 1000.0, 5.0)]
    route = made(points)
    assert route.length == pytest.approx(3995.0, abs=0.5)
    assert not [words for words in route.tale.repairs if "receiver was lost" in words]


def test_only_the_digits_0_to_9_are_digits():
    """Python itself reads full-width digits, and 1_0 as ten."""
    points = straight(100.0)
    text = gpx(points).decode()
    for wrong in ("\uff15\uff10.0001", "5_0.0001"):
        with pytest.raises(evlab.InputError, match="a point must have lat of -90 to 90"):
            read_route(text.replace(f'lat="{points[3][0]}"', f'lat="{wrong}"').encode(), "own.gpx")
