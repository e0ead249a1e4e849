"""Pages of the brief, the road and gearing: every control over its range, the row of the route, questions by hand arithmetic."""

import datetime
import math
import re
from pathlib import Path

import pytest
from ipywidgets.widgets import widget as widgets
from test_workbench import mine, plain, predict, write  # noqa: F401  the fixture keeps a learner's folder out of it

from evlab import Route, data, load_route, load_vehicle
from evlab.units import InputError
from evlab.workbench import gearing_page, job_map, measured_ride, ride_page, road_page, start_page
from evlab.workbench.choices import Choice

PAGES = {"start": start_page, "road": road_page, "gearing": gearing_page}
each_page = pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
G = 9.80665
TRACK = '<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>{}</trkseg></trk></gpx>'


def hill(points=60, step=0.5, **more):
    """A track straight to the north, 11.1 m from point to point, that rises by `step` metres at each; `more` {number: text}."""
    rows = (f'<trkpt lat="{47 + i * 1e-4:.4f}" lon="8">{more.get(f"at{i}", f"<ele>{400 + step * i:.1f}</ele>")}</trkpt>'
            for i in range(points))
    return TRACK.format("".join(rows)).encode()


def box_of(bench):
    return bench.above.children[0]


def upload(bench, name, raw):
    """What the browser sends when a file is added."""
    now = datetime.datetime.now(datetime.UTC)
    box_of(bench).upload.value = ({"name": name, "type": "", "size": len(raw), "content": memoryview(raw), "last_modified": now},)


def trouble(bench):
    return plain(box_of(bench).trouble.value)


# ---------------------------------------------------------------- every control
def numbers_or_words(bench):
    """Every readout on view is a number, or there are words in its place."""
    assert bench.trouble.value == ""
    told = plain(bench.numbers.value)
    for readout in bench.page.numbers_of(bench.choice.index):
        assert isinstance(readout.shown(bench.result), int | float)
        assert readout.label in told
    assert "nan" not in told
    assert "not a number" not in told


@pytest.mark.parametrize("vehicle", ["two_shed_trike", "kick_scooter"])
@each_page
def test_a_control_over_its_range_gives_numbers_or_words_and_another_picture(page, vehicle):
    bench = page.open_bench("park_path", load_vehicle(vehicle))
    for index in range(len(bench.pictures)):
        bench.choice.index = index
        bench.settle()
        numbers_or_words(bench)
        for name, control in bench.controls.items():
            if not bench.page.matters(name, index):
                continue
            over = choices if isinstance(control, Choice) else slides
            over(bench, name, control, bench.pictures[index])


def slides(bench, name, control, picture):
    start, kept = control.slider.value, control.value
    for at in (control.slider.min, control.slider.max, start):
        before, moved = picture.value, control.slider.value != at
        control.slider.value = at
        refused = plain(control.fault.value)
        assert "fault of the page" not in refused, refused
        if refused:
            assert re.search("must be", refused), refused
        else:
            numbers_or_words(bench)
            may = bench.page.name == "05_gearing" and not bench.result.front.arrived.any()  # nothing to draw a front of
            assert may or not moved or picture.value != before, f"{name} at {at} changes no picture"
    before = picture.value
    write(control, "77 parsec")
    assert "refused" in plain(control.fault.value)
    assert picture.value == before
    write(control, control.scale.say(kept))
    assert control.fault.value == ""


def choices(bench, name, control, picture):
    for option in control.scale.options:
        control.box.value = option
        assert control.fault.value == "" or "must be" in plain(control.fault.value), f"{name} {option}"
    control.box.value = bench.base.value(name).value
    assert control.fault.value == ""


@pytest.mark.parametrize(("page", "name", "text", "words"), [
    (start_page, "stops", "2.5", "a whole number from 0 to 20"), (start_page, "load.rider", "750 kg", "30 kg to 130 kg"),
    (road_page, "humidity", "130 %", "0 % to 100 %"), (road_page, "head_wind", "gale", "units: m/s, km/h"),
    (gearing_page, "gearing.wheel_teeth", "0", "a whole number from 7 to 160"),
    (gearing_page, "slope", "150 %", "Slope to climb must be 0 % to 30 %")])
def test_what_cannot_be_is_refused_with_the_range(page, name, text, words):
    bench = page.open_bench()
    before = bench.result
    write(bench.controls[name], text)
    assert words in plain(bench.controls[name].fault.value)
    assert bench.result is before


def test_a_refused_choice_goes_back_and_says_why():
    bench = gearing_page.open_bench()
    control, before = bench.controls["gearing.chain"], bench.controls["gearing.chain"].value
    write(bench.controls["gearing.wheel_teeth"], "160")
    write(bench.controls["gearing.centre_distance"], "300 mm")
    control.box.value = "08B"
    assert control.box.value == before
    assert "run into each other" in plain(control.fault.value)
    assert bench.vehicle.gearing.chain == before


def test_the_links_follow_the_teeth_and_are_kept_with_them(mine):  # noqa: F811
    bench = gearing_page.open_bench()
    write(bench.controls["gearing.wheel_teeth"], "60")
    # 2 c/p + (z1 + z2)/2 + ((z2 - z1)/2 pi)^2 p/c = 79.79 + 37.5 + 1.29 = 118.6, taken up to even
    assert bench.vehicle.gearing.links == 120
    bench.keep()
    assert load_vehicle().gearing.links == 120


def test_a_choice_is_kept_and_reset():
    bench = gearing_page.open_bench()
    bench.controls["gearing.freewheel"].box.value = True
    assert "Freewheel no → yes" in plain(bench.buttons.words.value)
    bench.reset()
    assert bench.controls["gearing.freewheel"].box.value is False
    bench.controls["gearing.freewheel"].box.value = True
    bench.keep()
    assert load_vehicle().gearing.freewheel is True


# ---------------------------------------------------------------- the row of the route
@pytest.mark.parametrize("page", [*PAGES.values(), ride_page], ids=[*PAGES, "ride"])
def test_another_route_keeps_what_stands_on_the_controls(page):
    bench = page.open_bench()
    questions = page.questions(bench)
    write(bench.controls["load.cargo"], "31 kg")
    bench.pin()
    bench.buttons.pin.value = True
    box_of(bench).choice.value = "Park path (invented)"
    assert bench.result.route.name == "Park path"
    assert "Park path: 900 m" in plain(bench.head.value)
    assert bench.vehicle.load.cargo == 31.0
    assert bench.controls["load.cargo"].box.value.startswith("31")
    assert bench.pinned is None
    assert bench.buttons.pin.value is False
    bench.settle()
    assert questions.questions[0].bench.case.result is bench.result
    write(bench.controls["load.cargo"], "5 kg")
    assert bench.result.vehicle.load.cargo == 5.0
    assert not (Path(bench.base.path).parent / "route.toml").exists()


def test_values_of_the_day_that_were_moved_stay_and_others_begin_anew():
    bench = gearing_page.open_bench()
    write(bench.controls["volts"], "19 V")
    steep = bench.day["slope"]
    box_of(bench).choice.value = "Park path (invented)"
    assert bench.day["volts"] == 19.0
    assert steep == pytest.approx(0.07)
    assert bench.day["slope"] == pytest.approx(0.03)


def test_the_other_way_and_back():
    bench = start_page.open_bench()
    box_of(bench).other_way.value = True
    assert bench.result.route.descent == pytest.approx(4.19, abs=0.005)
    assert "up 0 m and down 4.19 m" in plain(box_of(bench).words.value)
    box_of(bench).other_way.value = False
    assert bench.result.route.climb == pytest.approx(4.19, abs=0.005)


@each_page
def test_a_track_is_ridden_from_memory_and_what_was_mended_is_told(page, mine):  # noqa: F811
    bench = page.open_bench()
    upload(bench, "hill.gpx", hill(at7="", at20="<ele>900</ele>"))
    assert trouble(bench) == ""
    told = plain(box_of(bench).words.value)
    assert "no height" in told
    assert "off all neighbours" in told
    assert box_of(bench).choice.value == "hill.gpx (not kept)"
    assert bench.result.route.climb == pytest.approx(59 * 0.5, abs=1.5)
    assert [p.name for p in mine.glob("*") if p.name != "vehicle.toml"] == []
    box_of(bench).speed.value = "9 km/h"
    assert bench.result.route.limits == [(0.0, pytest.approx(2.5))]
    box_of(bench).smoothing.value = "100"
    assert bench.result.route.smoothing == 100.0
    for index in range(len(bench.pictures)):
        bench.choice.index = index
        bench.settle()
        numbers_or_words(bench)


NOT_A_ROUTE = {
    "empty.gpx": (b"", "empty"), "notes.txt": (b"hello", "must be a .toml, .csv or .gpx file"),
    "photo.gpx": (b"\x89PNG\r\n\x1a\n\x00\x01", "must be a GPX file"), "cut.gpx": (hill()[:400], "breaks the rules of XML"),
    "bomb.gpx": (b'<?xml version="1.0"?><!DOCTYPE g [<!ENTITY a "aaaa">]><gpx version="1.1">&a;</gpx>', "entities"),
    "one.gpx": (hill(1), "must"), "page.gpx": (b"<html></html>", "must be a GPX 1.1 file"),
    "table.csv": (b"apples,pears\n1,2\n", "distance, height"), "back.csv": (b"distance,height\n0,1\n5,2\n3,2\n", "grow"),
    "wall.csv": (b"length,slope,speed\n100,90,3\n", "60 %"), "still.csv": (b"length,slope,speed\n100,5,0\n", "must be"),
    "broken.toml": (b"format = ", "TOML"), "vehicle.toml": (data.read_text("vehicles/two_shed_trike.toml").encode(), "no key"),
    "latin.csv": ("distance,höhe\n".encode("latin-1"), "UTF-8"),
}


@pytest.mark.parametrize("name", NOT_A_ROUTE)
def test_a_file_that_is_no_route_leaves_everything_and_says_why(name, mine):  # noqa: F811
    bench = start_page.open_bench()
    write(bench.controls["load.cargo"], "31 kg")
    before = bench.result, bench.pictures[0].value, bench.page, box_of(bench).choice.value, sorted(mine.iterdir())
    raw, words = NOT_A_ROUTE[name]
    upload(bench, name, raw)
    assert words in trouble(bench)
    assert "fault of the page" not in trouble(bench)
    assert before == (bench.result, bench.pictures[0].value, bench.page, box_of(bench).choice.value, sorted(mine.iterdir()))
    write(bench.controls["load.cargo"], "32 kg")  # and the bench goes on
    assert bench.result.vehicle.load.cargo == 32.0


@pytest.mark.parametrize(("which", "text", "words"), [
    ("speed", "0 m/s", "above 0 m/s"), ("speed", "fast", "one number and its unit"), ("smoothing", "-5 m", "0 m to 500 m"),
    ("smoothing", "9 kg", "units"), ("speed", "400 km/h", "at most 40 m/s")])
def test_a_speed_or_a_smoothing_that_cannot_be_is_refused_in_words(which, text, words):
    bench = start_page.open_bench()
    upload(bench, "hill.gpx", hill())
    result = bench.result
    getattr(box_of(bench), which).value = text
    assert words in trouble(bench)
    assert bench.result is result


def test_a_route_on_which_the_page_fails_leaves_the_bench_as_it_was(monkeypatch):
    bench = start_page.open_bench()
    write(bench.controls["load.cargo"], "31 kg")
    box, before, rows = box_of(bench), bench.result, bench.grouped.children

    def broken(route):
        raise ZeroDivisionError("made to fail")

    monkeypatch.setattr(start_page.TripCase, "halted", property(broken))
    bench.choice.index = 2
    box.choice.value = "Park path (invented)"
    assert "fault of the page" in trouble(bench)
    monkeypatch.undo()
    assert (bench.result, bench.grouped.children) == (before, rows)
    assert bench.page.case.startswith("Two sheds")
    assert box.choice.value == "Two sheds up (invented)"
    write(bench.controls["load.cargo"], "33 kg")
    assert bench.result.vehicle.load.cargo == 33.0


def test_keep_writes_says_where_and_loses_nothing(mine):  # noqa: F811
    bench = start_page.open_bench()
    upload(bench, "hill.gpx", hill())
    box_of(bench).smoothing.value = "25 m"
    box_of(bench)._do(box_of(bench).keep)
    assert trouble(bench) == ""
    assert "route.toml" in plain(box_of(bench).told.value)
    assert (mine / "hill.gpx").read_bytes() == hill()
    assert load_route().smoothing == 25.0
    assert box_of(bench).choice.value == "My route"
    first = (mine / "route.toml").read_bytes()
    upload(bench, "hill.gpx", hill(step=0.2))  # another file of the same name
    box_of(bench)._do(box_of(bench).keep)
    assert (mine / "hill.gpx").read_bytes() == hill()
    assert (mine / "hill-2.gpx").read_bytes() == hill(step=0.2)
    assert any(p.read_bytes() == first for p in mine.glob("route*.toml"))
    assert load_route().climb == pytest.approx(59 * 0.2, abs=0.6)
    again = road_page.open_bench()
    assert again.result.route.climb == pytest.approx(59 * 0.2, abs=0.6)
    assert box_of(again).choice.value == "My route"


def test_keeping_one_of_ours_and_another_smoothing_of_ones_own(mine):  # noqa: F811
    bench = start_page.open_bench("park_path")
    box_of(bench)._do(box_of(bench).keep)
    assert load_route().name == "Park path"
    upload(bench, "hill.gpx", hill())
    box_of(bench)._do(box_of(bench).keep)
    box_of(bench).smoothing.value = "80 m"
    box_of(bench)._do(box_of(bench).keep)
    assert load_route().smoothing == 80.0
    assert len(list(mine.glob("*.gpx"))) == 1


def test_an_own_route_that_is_spoilt_is_told_and_ours_taken(mine):  # noqa: F811
    (mine / "route.toml").write_text("format = 1\nnme = 'x'\n", encoding="utf-8")
    bench = start_page.open_bench()
    assert "no key 'nme'" in trouble(bench)
    assert bench.result.route.name == "Two sheds, up"
    with pytest.raises(InputError, match="nme"):
        start_page.open_bench(mine / "route.toml")


def test_a_route_from_code_is_ridden_and_not_kept():
    way = Route.from_segments([("300 m", "2 %", "3 m/s")], name="mine")
    bench = start_page.open_bench(way)
    assert bench.result.route.length == pytest.approx(300.0)
    box_of(bench)._do(box_of(bench).keep)
    assert "made in code" in trouble(bench)


def test_routes_come_and_go_and_leave_no_widget():
    bench = start_page.open_bench()
    box = box_of(bench)
    ways = ("Park path (invented)", "Two sheds up (invented)")
    for name in ways:
        box.choice.value = name
    count = len(widgets._instances)
    for name in ways * 2:
        box.choice.value = name
    assert len(widgets._instances) == count


# ---------------------------------------------------------------- questions, by hand
def answered(page, bench, number, right, *slips):
    question = page.questions(bench).questions[number - 1]
    assert predict(question, right)[0], plain(question.verdict.value)
    for wrong, words in slips:
        ok, said = predict(question, wrong)
        assert not ok
        assert words in said


def test_the_brief_by_hand():
    """192 kg in all, 60 of them cargo; 175 m, 4.19 m up, C_rr 0.012: 7.9 kJ of lift, 4.0 kJ of rolling."""
    bench = start_page.open_bench("two_sheds_up", load_vehicle("two_shed_trike"))
    mass = bench.vehicle.mass
    answered(start_page, bench, 1, "lift", ("rolling", "Hint"))
    answered(start_page, bench, 2, f"{100 * 60 / mass:.1f} %", (f"{100 * 60 / (mass - 60):.1f} %", "against what is left"),
             (f"{100 * 60 / (mass - 72):.1f} %", "The rider is moved too"))
    rolling, factor = mass * G * 0.012 * 3.0, 0.5 * 1.225 * 0.95
    windy = rolling + factor * 8.0**2 * 3.0
    answered(start_page, bench, 3, f"{windy:.0f} W", (f"{rolling + factor * 8.0**3:.0f} W", "three times"),
             (f"{rolling + factor * 9.0 * 3.0:.0f} W", "without the wind"), (f"{windy - rolling:.0f} W", "the air alone"))
    pushed = (mass - 72) * G * (0.012 + 0.07) / math.hypot(1, 0.07)
    answered(start_page, bench, 5, f"{pushed:.0f} N", (f"{pushed * mass / (mass - 72):.0f} N", "with the rider aboard"))


def test_a_wind_of_five_metres_per_second_doubles_the_power_of_a_walk():
    """83 W become 180 W: 22.59 N of rolling, 0.582 kg/m of air, by hand."""
    bench = start_page.open_bench("two_sheds_up", load_vehicle("two_shed_trike"))
    text = plain(start_page.questions(bench).questions[2].text.value)
    assert "83" in text
    answered(start_page, bench, 3, "180 W")


def test_the_road_by_hand():
    """The scooter: 89.1 kg, C_rr 0.015, 0.337 kg/m of air; 75 m of coasting become 87 m; 34 km/h on 5 %."""
    bench = road_page.open_bench("two_sheds_up", load_vehicle("kick_scooter"))
    answered(road_page, bench, 1, "4 times", ("8 times", "its power"))
    answered(road_page, bench, 2, "8 times", ("4 times", "its force"))
    v = bench.vehicle
    factor, moving = 0.5 * 1.225 * 0.55, v.effective_mass
    ways = [moving / (2 * factor) * math.log((a + factor * 36) / (a + factor * 4)) for a in
            (v.mass * G * 0.015, v.mass * G * 0.012)]
    answered(road_page, bench, 4, f"{ways[1]:.1f} m", (f"{ways[0]:.1f} m", "it shows"))
    assert ways[1] == pytest.approx(87, abs=1)
    fast = math.sqrt(v.mass * G * (0.05 - 0.015) / math.hypot(1, 0.05) / factor)
    answered(road_page, bench, 5, f"{3.6 * fast:.1f} km/h")
    assert 3.6 * fast == pytest.approx(34.2, abs=0.5)
    answered(road_page, bench, 6, f"{math.sqrt(0.6 * G * 3):.2f} m/s")
    bend = road_page.open_bench("two_sheds_up", load_vehicle("two_shed_trike"))
    tips = math.sqrt(G * 0.65 * 0.75 / (2 * 0.75) * 3)
    answered(road_page, bend, 6, f"{tips:.2f} m/s", (f"{math.sqrt(0.6 * G * 3):.2f} m/s", "the smaller comes first"))


def test_a_tenth_more_power():
    bench = road_page.open_bench("two_sheds_up", load_vehicle("two_shed_trike"))
    speed = bench.result.forces.steady[max(bench.result.forces.volts)]
    level, factor = bench.vehicle.mass * G * 0.012, 0.5 * bench.result.air_density * 0.95
    power, low, high = (level + factor * speed**2) * speed, speed, 1.1 * speed
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if (level + factor * middle**2) * middle < 1.1 * power else (low, middle)
    answered(road_page, bench, 3, f"{low:.3f} m/s", (f"{1.1 * speed:.3f} m/s", "did not grow"))


def test_gearing_by_hand():
    """15 to 76 teeth: 46 instead ask 76/46 times the torque; a polygon of nine corners; pull is torque over a radius."""
    bench = gearing_page.open_bench("two_sheds_up", load_vehicle("two_shed_trike"))
    v, c = bench.vehicle, bench.result
    force = v.mass * G * (0.07 + 0.012) / math.hypot(1, 0.07) + 0.5 * 1.225 * 0.95 * c.speed**2
    constant, radius = v.motor.drive_constant, v.gearing.wheel_radius
    amps = [(force * radius / (z / 15 * 0.95) + 0.10 + 0.002 * z / 15 * c.speed / radius) / constant for z in (76, 46)]
    answered(gearing_page, bench, 1, f"{amps[1]:.1f} A", (f"{amps[0]:.1f} A", "asks for the same force"),
             (f"{0.6 * amps[0]:.1f} A", "other way about"))
    answered(gearing_page, bench, 4, f"{100 * (1 - math.cos(math.pi / 9)):.2f} %", ("11.1 %", "against its circle"))
    pull = constant * v.controller.coil_current_limit / (0.009525 / math.sin(math.pi / 15) / 2)
    answered(gearing_page, bench, 5, f"{pull:.0f} N", (f"{pull / 2:.0f} N", "diameter for the radius"))
    answered(gearing_page, bench, 2, f"{math.floor(c.bound * 15)}", ("160", ""))


@pytest.mark.parametrize(("page", "change"), [
    (start_page, {"load.cargo": 0.0}), (road_page, {"vehicle.wheels": "not stated"}), (gearing_page, {"gearing.wheel_teeth": 160})])
def test_where_nothing_is_to_be_asked_the_question_says_so(page, change):
    questions = page.questions(page.open_bench("two_sheds_up",
                                               load_vehicle("two_shed_trike").change(change | {"gearing.links": 0})))
    told = " ".join(plain(q.text.value) for q in questions.questions)
    assert re.search("no cargo|does not state|already", told)


# ---------------------------------------------------------------- the rest of the pages
@pytest.mark.parametrize("vehicle", ["two_shed_trike", "kick_scooter"])
@each_page
def test_the_equations_are_worked_for_every_vehicle_on_any_way(page, vehicle):
    for way in ("two_sheds_up", "park_path"):
        shown = page.worked(load_vehicle(vehicle), way)
        assert len(shown.rows) >= 6
        assert "nan" not in repr(shown)


def test_the_map_of_the_job_resolves():
    pages = [stem for stem, _, _ in job_map.PAGES]
    assert pages == sorted(pages)
    notebooks = Path(data.FOLDER).resolve().parent / "notebooks"
    for row in job_map.QUESTIONS:
        assert row.page in pages
        assert row.asked.endswith("?")
        for name in row.equations:
            assert job_map.equation_of(name).tag
    assert {row.page for row in job_map.QUESTIONS} == set(pages)
    told = job_map.JobMap()._repr_markdown_()
    for link in re.findall(r"\]\(([^)]+)\)", told):
        assert (notebooks / link).is_file(), link
    for stem, title, _ in job_map.PAGES:
        assert (f"[{title}]({stem}.ipynb)" in told) == (notebooks / f"{stem}.ipynb").is_file()
        assert f"{title}** (not yet)" in told or f"]({stem}.ipynb)" in told
    for row in job_map.QUESTIONS:  # a page that is there answers with equations
        if job_map.is_there(row.page):
            assert row.equations, row.asked


def test_the_measured_ride_both_ways_and_what_it_cannot_tell():
    for trial in measured_ride.trials():
        assert trial.error(trial.prediction) < trial.error(trial.null)
        assert "guessing the mean" in repr(trial.table())
        assert "The wind" in repr(trial.cannot_tell())
