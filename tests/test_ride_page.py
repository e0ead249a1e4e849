"""The page of the ride: demands and their sliders, a second wind, warm windings, why it ended, the band on request."""

from __future__ import annotations

import re

import pytest

import evlab
from evlab.plots.bands import TOLD
from evlab.ride_case import RideCase
from evlab.workbench import Workbench, ride_page
from evlab.workbench.band_box import RUNS, BandBox
from evlab.workbench.ride_questions import asked

ALONG, WENT, METRES, WHY, BESIDE = range(5)
TRIKE = evlab.load_vehicle("two_shed_trike")


@pytest.fixture(autouse=True)
def mine(tmp_path, monkeypatch):
    monkeypatch.setenv("EVLAB_MINE", str(tmp_path))
    yield tmp_path
    for bench in list(Workbench._open.values()):
        bench.shut()
    Workbench._open.clear()


@pytest.fixture
def bench():
    return ride_page.open_bench("two_sheds_up", TRIKE)


def plain(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace("\u2009", " ").strip()


def seen(bench):
    return [n for n, c in bench.controls.items() if "ev-behind" not in c.row._dom_classes]


def choose(bench, index):
    bench.choice.index = index
    return bench.pictures[index]


# ---------------------------------------------------------------- demands
def test_only_the_slider_of_the_chosen_demand_is_in_view(bench):
    assert "driver.pace" in seen(bench)
    assert not {"throttle", "power"} & set(seen(bench))
    bench.controls["demand"].box.value = "throttle"
    assert "throttle" in seen(bench)
    assert not {"driver.pace", "power"} & set(seen(bench))
    bench.controls["demand"].box.value = "power"
    assert "power" in seen(bench)
    bench.reset()
    assert bench.controls["demand"].value == "posted speeds"
    assert "driver.pace" in seen(bench)


@pytest.mark.parametrize(("demand", "driver"), [
    ("throttle", evlab.ThrottleHeld(0.6)), ("power", evlab.PowerHeld(250.0))])
def test_a_demand_is_the_ride_with_that_driver(bench, demand, driver):
    bench.controls["demand"].box.value = demand
    other = evlab.ride(TRIKE, "two_sheds_up", driver=driver)
    assert (bench.result.outcome, bench.result.duration) == (other.outcome, pytest.approx(other.duration))
    assert any(spell.by == demand for spell in bench.result.held)
    assert "only for today" in plain(bench.buttons.words.value) or "Demand" in plain(bench.buttons.words.value)


@pytest.mark.parametrize("demand", ["throttle", "power"])
def test_the_slider_of_a_demand_moves_the_picture(bench, demand):
    bench.controls["demand"].box.value = demand
    slider, before = bench.controls[demand].slider, bench.pictures[ALONG].value
    for at in (slider.min, slider.max):
        slider.value = at
        assert bench.controls[demand].fault.value == ""
        assert bench.pictures[ALONG].value != before
        assert abs(bench.result.closure) <= bench.result.closure_allowed
        before = bench.pictures[ALONG].value


def test_legs_and_pace_are_the_vehicles_own(bench):
    bench.controls["driver.pedalling_power"].box.value = "100 W"
    assert bench.result.ledger["rider"] > 5000
    bench.controls["driver.pace"].box.value = "80 %"
    assert bench.result.column("speed").max() == pytest.approx(2.4, abs=0.05)
    bench.keep()
    kept = evlab.load_vehicle()
    assert kept.driver.pedalling_power == 100.0
    assert kept.driver.pace == pytest.approx(0.8)


# ---------------------------------------------------------------- the day
def test_a_second_wind_blows_from_its_place(bench):
    assert "wind_place" not in seen(bench)
    bench.controls["wind_change"].box.value = "4 m/s"
    assert "wind_place" in seen(bench)
    assert bench.result.wind.rows == ((0.0, 0.0), (87.5, 4.0))
    half, before = bench.result.store_energy, bench.pictures[ALONG].value
    bench.controls["wind_place"].box.value = "20 m"
    assert bench.result.store_energy > half
    assert bench.pictures[ALONG].value != before
    bench.controls["wind_place"].box.value = "0 m"
    assert bench.result.wind == 4.0


def test_a_warm_winding_and_a_cold_day(bench):
    bench.controls["warmer"].box.value = "40 K"
    assert bench.result.column("coil_temperature")[0] == pytest.approx(TRIKE.road.air_temperature + 40)
    bench.controls["air_today"].box.value = "-10 degC"
    assert bench.result.column("coil_temperature")[0] == pytest.approx(303.15)
    assert bench.result.column("store_volts")[20] < 35.0


# ---------------------------------------------------------------- why it ended
def test_why_it_ended_names_place_reason_and_what_would_have_saved_it(bench):
    picture = choose(bench, WHY)
    bench.controls["start_share"].box.value = "22 V"
    case = RideCase.around(bench.result)
    words = plain(bench.reading.value)
    assert "83.3 m" in words
    nearest = case.changes.saving[0]
    assert nearest.label.lower() in words.lower()
    assert 'alt="' in picture.value


def test_a_costly_picture_waits_until_it_is_chosen_and_its_sliders_until_they_are_let_go(bench):
    bench.settle()
    assert bench.pictures[WHY].value == ""
    cargo = bench.controls["load.cargo"].slider
    assert cargo.continuous_update
    choose(bench, WHY)
    assert not cargo.continuous_update
    assert 'alt="' in bench.pictures[WHY].value
    choose(bench, ALONG)
    assert cargo.continuous_update


def test_of_a_way_that_takes_long_only_a_few_changes_are_searched():
    long = evlab.Route.from_segments([("6 km", "0.5 %", "4 m/s")])
    case = RideCase.around(evlab.ride(TRIKE, long))
    assert [c.name for c in case.changes.rows] == ["load.cargo", "road.rolling_coefficient", "driver.pedalling_power"]


def test_one_against_another_rides_the_same_way_with_the_other_store(bench):
    choose(bench, BESIDE)
    words = plain(bench.reading.value)
    assert "with lithium" in words.lower()
    pack = evlab.ride(TRIKE.with_store(evlab.load_vehicle("kick_scooter")), "two_sheds_up")
    assert f"{pack.duration:.1f} s" in words
    bench.shut()
    Workbench._open.clear()
    scooter = ride_page.open_bench("two_sheds_up", evlab.load_vehicle("kick_scooter"))
    choose(scooter, BESIDE)
    assert "with a bank" in plain(scooter.reading.value).lower()


# ---------------------------------------------------------------- the band
def box(bench):
    return bench.above.children[-1]


def test_the_band_is_ridden_on_request_and_lies_behind_the_curves(bench):
    before = bench.pictures[ALONG].value
    band = box(bench)
    assert band.progress.layout.visibility == "hidden"
    band.run()
    assert band.progress.layout.visibility == "visible"
    assert f"{RUNS} rides" in band.words.value
    band.settle()
    assert band.progress.layout.visibility == "hidden"
    assert bench.result.band_shown.runs == RUNS
    assert "rides arrived" in band.words.value
    assert bench.pictures[ALONG].value != before
    assert f"of {RUNS} rides within its tolerances" in plain(bench.reading.value)
    assert TOLD


def test_the_next_move_takes_the_band_away(bench):
    band = box(bench)
    band.run()
    band.settle()
    bench.controls["load.cargo"].box.value = "40 kg"
    bench.settle()
    assert band.words.value == ""
    assert "within its tolerances" not in plain(bench.reading.value)
    assert not hasattr(bench.result, "band_shown")


def test_a_run_that_a_move_has_overtaken_is_given_up(bench):
    band = box(bench)
    band.run()
    bench.controls["load.cargo"].box.value = "40 kg"
    band.settle()
    assert not hasattr(bench.result, "band_shown")
    assert band.progress.layout.visibility == "hidden"


def test_a_vehicle_without_any_spread_is_told_so(mine):
    plain_lines = [line for line in TRIKE.text.splitlines() if not line.startswith("#")]
    lines = (line.split(" +/-")[0] + '"' if "+/-" in line else line for line in plain_lines)
    bench = ride_page.open_bench("two_sheds_up", evlab.Vehicle.from_text("\n".join(lines), "sure.toml"))
    box(bench).run()
    box(bench).settle()
    assert "must state how far off its values may be" in plain(box(bench).words.value)


# ---------------------------------------------------------------- questions that came with it
def test_the_second_trip_is_saved_by_what_the_rides_say(bench):
    asked = ride_page.questions(bench).questions
    question = asked[3]
    question.box.value = "a full charge"
    question.check()
    assert "right" in plain(question.verdict.value).lower()
    light = evlab.ride(TRIKE.change({"load.cargo": 0.0}), "two_sheds_up", start=22.0)
    assert f"no cargo: cut-off, {light.distance:.1f} m" in plain(question.worked.value)


def test_legs_save_more_than_they_push(bench):
    question = ride_page.questions(bench).questions[5]
    without, legs = (evlab.ride(TRIKE.change({"driver.pedalling_power": p}), "two_sheds_up") for p in (0.0, 80.0))
    saved = without.ledger["store"] - legs.ledger["store"]
    assert saved > 0.95 * legs.ledger["rider"]
    question.box.value = f"{saved / 1000:.2f} kJ"
    question.check()
    assert "right" in plain(question.verdict.value).lower()
    bench.controls["demand"].box.value = "throttle"
    question.box.value = "5 kJ"
    question.check()
    assert "posted speeds" in plain(question.verdict.value)


# ---------------------------------------------------------------- what the page says of a warm or a cold day
def coil_at_start(result):
    return float(result.column("coil_temperature")[0])


def test_a_warm_winding_goes_into_every_other_ride_of_the_page(bench):
    bench.controls["warmer"].slider.value = 70
    warm = coil_at_start(bench.result)
    assert warm == pytest.approx(TRIKE.road.air_temperature + 70)
    assert [coil_at_start(r) for r in ride_page._beside(bench.result).results] == pytest.approx([warm, warm])
    assert RideCase.around(bench.result).winding == pytest.approx(warm)
    box = next(f for f in bench.followers if isinstance(f, BandBox))
    box.run()
    box.settle()
    assert [float(p[0]) for p in bench.result.band_shown.bands["coil_temperature"]] == pytest.approx([warm] * 3)


@pytest.mark.parametrize(("warmer", "air"), [(45, 40), (0, -10), (80, -10)])
def test_the_coil_stays_on_its_axis(bench, warmer, air):
    bench.controls["warmer"].box.value = f"{warmer} K"
    bench.controls["air_today"].box.value = f"{air} degC"
    coil, (low, high) = bench.result.column("coil_temperature"), bench.frame.coil
    assert low <= coil.min() < coil.max() <= high
    assert bench.trouble.value == ""


def test_lithium_beside_a_bank_brings_its_own_stop_volts(bench):
    pack = ride_page._beside(bench.result).results[1].vehicle
    assert pack.store.kind == "lithium"
    assert pack.controller.stop_voltage == evlab.load_vehicle("kick_scooter").controller.stop_voltage
    assert not any("Stop volts" in c.words for c in evlab.ride(pack, "two_sheds_up").cautions)


def test_a_held_throttle_cannot_be_hurried(bench):
    bench.controls["demand"].box.value = "throttle"
    with pytest.raises(evlab.InputError, match="Choose the posted speeds"):
        asked(bench.page)[1].answer(bench.case)


def test_no_second_trip_from_more_volts_than_it_is_charged_to(bench):
    bench.controls["store.charge_voltage"].slider.value = 0  # its lowest
    for number in (2, 3):
        with pytest.raises(evlab.InputError, match="never as full as 22"):
            asked(bench.page)[number].answer(bench.case)
