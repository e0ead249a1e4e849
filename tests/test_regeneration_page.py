"""The page of regeneration: every picture with its own controls, what it refuses, freewheels, level ways, and its questions."""

from __future__ import annotations

import math
import re

import pytest

import evlab
from evlab import RegenCase, Route
from evlab.workbench import Workbench, regeneration_page

TRIKE, SCOOTER = evlab.load_vehicle("two_shed_trike"), evlab.load_vehicle("kick_scooter")
DOWN = evlab.load_route("two_sheds_down")
TITLES = [p.title for p in regeneration_page._pictures()]


@pytest.fixture(autouse=True)
def mine(tmp_path, monkeypatch):
    monkeypatch.setenv("EVLAB_MINE", str(tmp_path))
    yield tmp_path
    for bench in list(Workbench._open.values()):
        bench.shut()
    Workbench._open.clear()


@pytest.fixture
def bench():
    return regeneration_page.open_bench(DOWN, TRIKE)


def plain(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace("\u2009", " ").strip()


def ask(bench, number, said):
    """Predict and check; the verdict in words, and whether it was right."""
    question = regeneration_page.questions(bench).questions[number]
    question.box.value = said
    question.check()
    words = plain(question.verdict.value)
    return words, "right" in words.lower() and "not" not in words.lower().split("right")[0][-8:]


# ---------------------------------------------------------------- pictures
@pytest.mark.parametrize("index", range(len(TITLES)), ids=TITLES)
def test_every_slider_in_view_moves_its_picture_and_the_numbers_are_numbers(bench, index):
    bench.choice.index = index
    for name in [n for n, c in bench.controls.items() if "ev-behind" not in c.row._dom_classes]:
        control, start = bench.controls[name], bench.controls[name].value
        seen = {bench.pictures[index].value}
        for share in (0.2, 0.8):
            control.slider.value = control.slider.min + round(share * (control.slider.max - control.slider.min))
            assert (control.fault.value, bench.trouble.value) == ("", ""), name
            seen.add(bench.pictures[index].value)
        assert len(seen) > 1, f"{name} changes nothing"
        control.box.value = control.scale.say(start)
    for readout in bench.page.numbers_of(index):
        assert math.isfinite(readout.shown(bench.result)), readout.label


@pytest.mark.parametrize("vehicle", [TRIKE, SCOOTER], ids=["bank", "pack"])
@pytest.mark.parametrize("way", ["two_sheds_up", "two_sheds_down", "park_path", "mill_lane"])
def test_it_opens_with_each_of_our_ways(vehicle, way):
    bench = regeneration_page.open_bench(way, vehicle)
    for index in range(len(TITLES)):
        bench.choice.index = index
        assert bench.trouble.value == ""
        assert plain(bench.reading.value)


def test_numbers_are_those_of_the_case(bench):
    case = RegenCase(TRIKE, DOWN, speed=bench.day["speed"], slope=bench.day["slope"], volts=bench.day["volts"])
    told = {r.label: r.shown(bench.result) for i in range(len(TITLES)) for r in bench.page.numbers_of(i)}
    assert told["Most comes back at"] == pytest.approx(case.here.best_amps)
    assert told["Begin at most at"] == pytest.approx(case.full.start_volts)
    assert told["of the way"] == pytest.approx(100 * case.hill.share_of_way)
    assert told["One volt takes"] == pytest.approx(case.pedalling.minutes_per_volt)


# ---------------------------------------------------------------- what it refuses, and what it shows instead
@pytest.mark.parametrize(("name", "text", "words"), [
    ("speed", "-1 m/s", "Speed must be 0.1 m/s to 12 m/s"), ("slope", "50 %", "Slope downhill must be 0 % to 20 %"),
    ("legs", "-5 W", "At the pedals must be 0 W to 400 W"), ("volts", "3 kg", "Volts left"),
    ("controller.braking_current_limit", "-1 A", "Braking limit")])
def test_what_cannot_be_is_refused_beside_its_control(bench, name, text, words):
    before = bench.pictures[0].value
    bench.controls[name].box.value = text
    assert words in plain(bench.controls[name].fault.value)
    assert bench.pictures[0].value == before


def test_a_freewheel_is_left_out_in_what_is_shown_and_kept_in_the_file(mine):
    free = TRIKE.change({"gearing.freewheel": True})
    bench = regeneration_page.open_bench(DOWN, free)
    assert "has a freewheel" in plain(bench.reading.value)
    assert bench.vehicle.gearing.freewheel
    bench.controls["controller.braking_current_limit"].box.value = "30 A"
    bench.keep()
    assert evlab.load_vehicle().gearing.freewheel


def test_on_a_level_way_there_is_no_hill_to_test():
    level = Route.from_segments([("300 m", "0 %", "3 m/s")], name="level")
    bench = regeneration_page.open_bench(level, TRIKE)
    for index, title in enumerate(TITLES):
        bench.choice.index = index
        if title in ("Hill test", "Drag and share"):
            assert bench.trouble.value == ""
    assert "no hill down which it rolls" in ask(bench, 7, "20 %")[0] or bench.result.hill is not None


def test_charged_lower_the_volts_left_go_with_it(bench):
    bench.controls["store.charge_voltage"].box.value = "20 V"
    assert bench.trouble.value == ""
    assert bench.result.volts <= 20.0


# ---------------------------------------------------------------- questions
def test_the_best_current_and_its_usual_slips(bench):
    p = bench.result.here
    by_hand = TRIKE.motor.drive_constant * 2.4 * (76 / 15) / 0.245 / 2 / (0.1465 + 0.006)
    assert ask(bench, 1, f"{by_hand:.1f} A")[1]
    words, right = ask(bench, 1, f"{2 * by_hand:.1f} A")
    assert not right
    assert "short circuit" in words
    assert p.best_amps == pytest.approx(by_hand, rel=1e-6)


@pytest.mark.parametrize(("number", "said"), [
    (0, "it rises to a top, then falls, then costs"), (2, "no"), (3, "it rolls"), (4, "rolling on")])
def test_the_answers_of_the_trike(bench, number, said):
    assert ask(bench, number, said)[1]


def test_faster_than_the_diodes_the_answer_turns(bench):
    bench.controls["speed"].box.value = "8 m/s"
    assert ask(bench, 2, "yes")[1]


def test_the_hill_and_the_room_by_rides_of_ones_own(bench):
    hill = evlab.HillTest(TRIKE, DOWN)
    assert ask(bench, 7, f"{100 * hill.share_of_way:.0f} %")[1]
    words, right = ask(bench, 7, f"{100 * hill.ratios[0].value:.0f} %")
    assert not right
    assert "costs more than the height" in words
    assert ask(bench, 6, f"{bench.result.full.start_volts:.1f} V")[1]
    words, right = ask(bench, 6, "35 V")
    assert not right
    assert "takes nothing" in words


def test_one_stop_pays_a_part_of_the_next_start(bench):
    c = bench.result
    paid = c.stop.into_store / c.start_takes(c.speed)
    assert ask(bench, 5, f"{100 * paid:.0f} %")[1]
    words, right = ask(bench, 5, f"{100 * c.stop.share:.0f} %")
    assert not right
    assert "Starting again takes more" in words


def test_where_nothing_comes_back_nothing_is_asked(bench):
    bench.controls["speed"].box.value = "0.1 m/s"
    assert "choose a faster one first" in ask(bench, 0, "the harder, the more")[0]
    bench.controls["slope"].box.value = "0 %"
    assert "choose a slope first" in ask(bench, 3, "it rolls")[0]


def test_faster_than_the_motor_drives_there_is_no_next_start_to_pay_for(bench):
    bench.controls["speed"].box.value = "12 m/s"
    assert "cannot start again" in ask(bench, 5, "37 %")[0]
    told = {r.label: r.shown(bench.result) for r in regeneration_page.STOPS}
    assert math.isnan(told["Pays of the next start"])
    assert told["Share that comes back"] == pytest.approx(100 * bench.result.stop.share)


@pytest.mark.parametrize(("name", "text", "words"), [
    ("slope", "20 %", "up to the edge of the picture"),
    ("controller.braking_current_limit", "0 A", "nothing comes back at any speed")])
def test_no_best_speed_is_told_where_there_is_none(bench, name, text, words):
    bench.controls[name].box.value = text
    assert words in ask(bench, 4, "rolling on")[0]


def test_letting_it_run_stays_slower_than_it_rolls():
    bench = regeneration_page.open_bench(DOWN, SCOOTER)
    question = regeneration_page.questions(bench).questions[4]
    question.box.value = "rolling on"
    assert question.check()
    assert "900" not in plain(question.worked.value)
    fast = float(re.search(r"letting it run at ([0-9.]+) m/s", plain(question.text.value))[1])
    assert fast < bench.result.rolls


def test_a_large_store_does_not_pass_off_full_as_right():
    bench = regeneration_page.open_bench(DOWN, SCOOTER)
    words, right = ask(bench, 6, f"{SCOOTER.store.charge_voltage} V")
    assert not right
    assert "does not show in its volts" in words


def test_the_equations_are_worked_with_the_vehicles_numbers():
    words = regeneration_page.worked(TRIKE, DOWN)._repr_markdown_()
    for name in ("I_{best}", "V_{start}", r"\omega_{pay}", r"\varepsilon_1", r"\varepsilon_3"):
        assert name in words
    assert regeneration_page.worked(SCOOTER, "park_path")._repr_markdown_()
