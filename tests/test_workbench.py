"""The workbench: what controls do and refuse, what is written and when, the ±, the questions, and what stays open."""

import asyncio
import dataclasses
import math
import re
from pathlib import Path
from types import SimpleNamespace

import ipywidgets
import pytest

import evlab
from evlab.units import InputError
from evlab.workbench import Knob, Page, Picture, Readout, Workbench, ride_page
from evlab.workbench import store_worked as worked
from evlab.workbench.cautions_strip import CautionsStrip, split
from evlab.workbench.question import Asked, Question, unit_slip
from evlab.workbench.readouts import nudged, plus_minus, uncertain

ASKED_BY_CHOICE = ("demand", "throttle", "power")  # the demand, and what is only in view with it: see test_ride_page
CONTROLS = [k.name for k in (*ride_page.KNOBS, ride_page.START_KNOB) if k.name not in ("store.voltage", *ASKED_BY_CHOICE)]


@pytest.fixture(autouse=True)
def mine(tmp_path, monkeypatch):
    monkeypatch.setenv("EVLAB_MINE", str(tmp_path))
    yield tmp_path
    for bench in list(Workbench._open.values()):
        bench.shut()
    Workbench._open.clear()


@pytest.fixture
def bench(mine):
    return ride_page.open_bench()


def plain(html):
    """The words of a piece of HTML, as a reader sees them."""
    words = re.sub(r"<[^>]+>", " ", html.replace("&#x27;", "'").replace("&quot;", '"'))
    return re.sub(r"\s+", " ", words).replace("\u2009", " ").strip()


def write(control, text):
    control.box.value = text


def picture(bench):
    return bench.pictures[0].value


# ---------------------------------------------------------------- every control
@pytest.mark.parametrize("name", CONTROLS)
def test_a_control_over_its_range_gives_numbers_a_closed_ledger_and_another_picture(bench, name):
    control, start = bench.controls[name], bench.controls[name].slider.value
    for at in (control.slider.min, control.slider.max, start):
        before, moved = picture(bench), control.slider.value != at
        control.slider.value = at
        assert (control.fault.value, bench.trouble.value) == ("", "")
        assert all(math.isfinite(readout.shown(bench.result)) for readout in bench.page.readouts)
        assert abs(bench.result.closure) <= bench.result.closure_allowed
        assert (picture(bench) != before) or not moved


@pytest.mark.parametrize("name", CONTROLS)
def test_at_rest_the_end_of_a_range_has_all_pictures_and_every_plus_minus(bench, name):
    control = bench.controls[name]
    control.slider.value = control.slider.min if name == "start_share" else control.slider.max
    bench.settle()
    assert (control.fault.value, bench.trouble.value) == ("", "")
    drawn = [p for p, picture in zip(bench.pictures, bench.page.pictures, strict=True) if not picture.costly]
    assert all(re.search(r'<img[^>]* alt="[^"]+"', p.value) for p in drawn)
    assert all(math.isfinite(bench.spreads.of(readout, bench.result).total) for readout in bench.page.readouts)


ILLEGAL = {
    "store.charge_voltage": ("61 V", "Charged to (store.charge_voltage)", "15.5 V to 60 V"),
    "store.cell_capacitance": ("650 V", "Cell capacitance (store.cell_capacitance)", "units: F, mF, kF"),
    "controller.coil_current_limit": ("0 A", "Coil current limit (controller.coil_current_limit)", "1 A to 300 A"),
    "controller.braking_current_limit": ("-5 A", "Braking limit (controller.braking_current_limit)", "0 A to 300 A"),
    "gearing.wheel_teeth": ("70.5", "Wheel teeth (gearing.wheel_teeth)", "a whole number from 7 to 160"),
    "load.cargo": ("-5 kg", "Cargo (load.cargo)", "0 kg to 150 kg"),
    "road.rolling_coefficient": ("soft", "Rolling coefficient (road.rolling_coefficient)", "one number"),
    "road.drag_area": ("0,8,5 m2", "Drag area (road.drag_area)", "m2"),
    "head_wind": ("nan m/s", "Head wind", "m/s, km/h"),
    "wind_change": ("5 kg", "Second wind by", "m/s, km/h"),
    "driver.pace": ("0 %", "Pace (driver.pace)", "30 % to 150 %"),
    "driver.pedalling_power": ("-20 W", "Pedalling (driver.pedalling_power)", "0 W to 400 W"),
    "road.air_temperature": ("20 kg", "Air (road.air_temperature)", "degC"),
    "warmer": ("-5 K", "Winding warmer by", "0 K to 80 K"),
    "start_share": ("150 %", "Charge at the start", "2 % to 100 %"),
}


@pytest.mark.parametrize("name", CONTROLS)
def test_an_illegal_value_is_refused_in_words_beside_its_control(bench, name):
    control, (text, where, right), before = bench.controls[name], ILLEGAL[name], picture(bench)
    value = control.value
    write(control, text)
    words = plain(control.fault.value)
    assert words.startswith(f"refused Input {where} must be ")
    assert right in words
    assert f"instead received '{text}'" in words
    assert 'role="alert"' in control.fault.value
    assert "traceback" not in words
    assert picture(bench) == before, "the last good picture stays"
    assert control.value == value
    assert control.box.value == text, "what was typed stays, to be corrected"
    control.slider.value = control.slider.min if control.slider.value > control.slider.min else control.slider.max
    assert control.fault.value == ""


def test_a_value_is_typed_with_its_unit_and_said_back(bench):
    cargo, wind = bench.controls["load.cargo"], bench.controls["head_wind"]
    write(cargo, "80500 g")
    assert (cargo.value, cargo.box.value) == (80.5, "80.5\u2009kg")
    write(wind, "18 km/h")
    assert wind.value == pytest.approx(5.0, rel=1e-12)
    assert bench.result.wind == wind.value
    write(cargo, "70")  # a bare number counts in the unit that stands in the box, and is said back with it
    assert (cargo.value, cargo.box.value, cargo.slider.value) == (70.0, "70\u2009kg", 70)
    assert bench.vehicle.load.cargo == 70.0
    write(bench.controls["road.drag_area"], "0,9 m2")  # a decimal comma; a unit that ends in a digit
    assert (bench.vehicle.road.drag_area, bench.controls["road.drag_area"].fault.value) == (0.9, "")
    write(cargo, "1,000")  # one kilogram: thousands take no sign, and the page says how it was read
    assert cargo.value == 1.0
    assert plain(cargo.fault.value).startswith("1,000 was read as 1.000 and not as 1000")
    write(cargo, "1 000")
    assert "instead received '1 000'" in plain(cargo.fault.value), "the message quotes what was typed"


def test_volts_may_be_typed_for_the_charge_at_the_start(bench):
    write(bench.controls["start_share"], "22 V")
    assert bench.result.start_voltage == pytest.approx(22.0, abs=1e-9)
    assert bench.result.outcome == "cut-off"


def test_a_value_outside_the_range_of_a_control_widens_it():
    vehicle = evlab.load_vehicle("two_shed_trike").change(load={"cargo": 180.0})
    cargo = ride_page.open_bench(vehicle=vehicle).controls["load.cargo"]
    assert (cargo.scale.high, cargo.value, cargo.slider.value) == (180.0, 180.0, cargo.slider.max)


def test_sliders_say_name_unit_range_and_reason(bench):
    told = bench.sense.rows[f"ev-key-{bench.controls['gearing.wheel_teeth'].key}"]
    assert told["name"] == "Wheel teeth"
    assert told["help"] == "Wheel teeth: teeth of the sprocket on the wheel. 7 to 160: up to what clears the ground."
    assert len(bench.sense.rows) == len(bench.controls)


def test_a_typed_value_is_kept_as_typed_though_the_slider_has_steps(bench):
    """The slider goes to the nearest step, and its own grid changes no value: only a hand does."""
    area, cells = bench.controls["road.drag_area"], bench.controls["store.cell_capacitance"]
    write(area, "0.963 m2")
    assert (bench.vehicle.road.drag_area, area.scale.at(area.slider.value)) == (0.963, 0.95)
    assert bench.base.store.cell_capacitance == bench.vehicle.store.cell_capacitance == 650.0
    cells.slider.value += 1
    assert 650.0 < cells.value < 760.0
    assert cells.value == float(f"{cells.value:.3g}")


@pytest.mark.parametrize("name", CONTROLS)
def test_every_position_of_a_slider_is_a_value_and_back(bench, name):
    control = bench.controls[name]
    scale = control.scale
    assert (scale.at(0), scale.at(scale.last)) == (scale.low, scale.high)
    got = [scale.at(i) for i in range(scale.last + 1)]
    assert got == sorted(set(got)), "each step is another value"
    assert [scale.position(value) for value in got] == list(range(scale.last + 1))
    assert isinstance(control.slider, ipywidgets.IntSlider)


# ---------------------------------------------------------------- keeping
def files(folder):
    return {p.name: p.read_bytes() for p in folder.iterdir()}


def test_only_keep_writes(bench, mine):
    before = files(mine)
    for control in [c for c in bench.controls.values() if c.slider is not None]:
        control.slider.value = control.slider.min
    bench.settle()
    bench.pin()
    bench.unpin()
    bench.reset()
    write(bench.controls["gearing.wheel_teeth"], "70")
    assert files(mine) == before
    bench.keep()
    after = files(mine)
    assert list(after) == ["vehicle.toml"], "nothing half-written is left"
    old, new = (text["vehicle.toml"].decode().splitlines() for text in (before, after))
    assert [(a, b) for a, b in zip(old, new, strict=True) if a != b] == [("wheel_teeth = 76", "wheel_teeth = 70")]
    assert evlab.load_vehicle().gearing.wheel_teeth == 70


def test_keep_is_off_until_something_differs_and_lists_what(bench):
    assert bench.buttons.keep.disabled
    assert bench.buttons.reset.disabled
    assert plain(bench.buttons.words.value) == "as in my vehicle"
    write(bench.controls["head_wind"], "-2 m/s")
    assert bench.buttons.keep.disabled, "the day is kept in no file"
    assert plain(bench.buttons.words.value) == "only for today: Head wind −2 m/s"
    write(bench.controls["load.cargo"], "80 kg")
    assert not bench.buttons.keep.disabled
    assert plain(bench.buttons.words.value) == "Cargo 60 kg → 80 kg; only for today: Head wind −2 m/s"
    bench.keep()
    assert bench.buttons.keep.disabled
    assert plain(bench.buttons.words.value).startswith("kept Kept in vehicle.toml.")
    write(bench.controls["load.cargo"], "60 kg")
    assert plain(bench.buttons.words.value).startswith("Cargo 80 kg → 60 kg")


def another_hand(mine, before='cargo = "60 kg"', after='cargo = "33 kg"'):
    file = mine / "vehicle.toml"
    text = file.read_text(encoding="utf-8")
    assert before in text
    file.write_text(text.replace(before, after), encoding="utf-8")


def test_a_file_changed_in_another_field_is_put_together_with_this_page(bench, mine):
    another_hand(mine)
    write(bench.controls["gearing.wheel_teeth"], "70")
    bench.keep()
    there = evlab.load_vehicle()
    assert (there.load.cargo, there.gearing.wheel_teeth) == (33.0, 70)
    assert (bench.vehicle.load.cargo, bench.controls["load.cargo"].value) == (33.0, 33.0)
    assert list(files(mine)) == ["vehicle.toml"]
    assert "Taken over from the other page or program: Cargo" in plain(bench.buttons.words.value)


@pytest.mark.parametrize(("button", "cargo"), [("mine", 80.0), ("theirs", 33.0)])
def test_the_same_field_changed_here_and_there_is_asked_about(bench, mine, button, cargo):
    another_hand(mine)
    write(bench.controls["load.cargo"], "80 kg")
    write(bench.controls["gearing.wheel_teeth"], "70")
    before = files(mine)
    bench.keep()
    assert files(mine) == before
    said = plain(bench.buttons.notice.value)
    assert "Which should stay?" in said
    assert "Cargo 80 kg (designed) 33 kg (designed)" in said
    getattr(bench.buttons, button).click()
    assert bench.trouble.value == ""
    there = evlab.load_vehicle()
    assert (there.load.cargo, there.gearing.wheel_teeth, bench.controls["load.cargo"].value) == (cargo, 70, cargo)
    assert bench.buttons.notice.value == ""


def test_a_change_on_disk_is_said_and_reloaded_without_losing_a_move(bench, mine):
    write(bench.controls["gearing.wheel_teeth"], "70")
    bench.look()
    assert bench.buttons.notice.value == ""
    another_hand(mine)
    bench.look()
    assert "changed on disk" in plain(bench.buttons.notice.value)
    assert "Cargo 33 kg" in plain(bench.buttons.notice.value)
    bench.buttons.reload.click()
    assert bench.trouble.value == ""
    assert (bench.controls["load.cargo"].value, bench.controls["gearing.wheel_teeth"].value) == (33.0, 70)
    assert bench.buttons.notice.value == ""
    assert plain(bench.buttons.words.value).startswith("Wheel sprocket") or "76 → 70" in plain(bench.buttons.words.value)


def test_an_open_page_hears_of_a_change_within_some_seconds(mine, monkeypatch):
    """The watching itself, in a loop as a kernel has one."""
    monkeypatch.setattr("evlab.workbench.own_file.LOOK", 0.05)

    async def open_and_wait():
        bench = ride_page.open_bench()
        await asyncio.sleep(0.2)
        another_hand(mine)
        for _ in range(100):
            await asyncio.sleep(0.05)
            if bench.buttons.notice.value:
                break
        return bench.buttons.notice.value

    assert "changed on disk" in plain(asyncio.run(open_and_wait()))


# ---------------------------------------------------------------- the ± and the basis
def test_a_typed_plus_minus_is_kept_with_its_basis_and_shown_at_the_next_opening(bench, mine):
    write(bench.controls["store.cell_capacitance"], "640 F +/- 64 F")
    assert bench.controls["store.cell_capacitance"].fault.value == ""
    bench.controls["store.cell_capacitance"].mark.value = "measured"
    now = bench.vehicle.value("store.cell_capacitance")
    assert (now.value, now.spread, now.basis) == (640.0, 64.0, "measured")
    assert "640 ± 64 F (measured)" in plain(bench.buttons.words.value)
    bench.keep()
    there = evlab.load_vehicle().value("store.cell_capacitance")
    assert (there.value, there.spread, there.basis) == (640.0, 64.0, "measured")
    again = ride_page.open_bench().controls["store.cell_capacitance"]
    assert (plain(again.box.value), again.mark.value) == ("640 ± 64 F", "measured")


def test_the_list_says_a_basis_in_the_words_of_the_vehicle_file(bench):
    """The three words that a vehicle file has for it, as README.md names them."""
    control = bench.controls["store.cell_capacitance"]
    assert [said for said, _ in control.mark.options] == ["○ assumed", "◐ designed", "● measured"]
    assert control.rows["basis"] == "Cell capacitance: assumed: nobody has measured it yet; designed: it was chosen; measured"


def test_another_value_is_not_measured_any_more(bench):
    control = bench.controls["road.drag_area"]
    control.mark.value = "measured"
    assert bench.vehicle.value("road.drag_area").basis == "measured"
    control.slider.value += 3
    assert bench.vehicle.value("road.drag_area").basis == "assumed"
    assert control.mark.value == "assumed"


# ---------------------------------------------------------------- refused, and tried again
def test_a_refused_value_is_marked_not_in_use_and_tried_again_when_another_changes(bench, monkeypatch):
    """Here cargo above 100 kg is refused unless the drag area is at most 0.7 m2."""
    model, cargo, area = bench.page.model, bench.controls["load.cargo"], bench.controls["road.drag_area"]

    def strict(vehicle, day):
        if vehicle.load.cargo > 100 and vehicle.road.drag_area > 0.7:
            raise InputError("Too much in the wind.")
        return model(vehicle, day)

    bench.page = dataclasses.replace(bench.page, model=strict)
    write(cargo, "120 kg")
    assert (cargo.value, bench.vehicle.load.cargo) == (60.0, 60.0)
    assert "120 kg is not in use" in plain(cargo.fault.value)
    write(area, "0.6 m2")
    assert (cargo.value, bench.vehicle.load.cargo, cargo.fault.value) == (120.0, 120.0, "")
    assert plain(cargo.box.value) == "120 kg"
    assert bench.vehicle.road.drag_area == 0.6


def test_a_fault_of_the_page_at_the_second_try_stays_with_the_refused_value(bench):
    """The other control's value is in use all the same."""
    model, cargo, area = bench.page.model, bench.controls["load.cargo"], bench.controls["road.drag_area"]

    def strict(vehicle, day):
        if vehicle.load.cargo > 100:
            raise InputError("Too much in the wind.") if vehicle.road.drag_area > 0.7 else RuntimeError("a slip")
        return model(vehicle, day)

    bench.page = dataclasses.replace(bench.page, model=strict)
    write(cargo, "120 kg")
    write(area, "0.6 m2")
    assert (area.value, area.fault.value, bench.vehicle.road.drag_area) == (0.6, "", 0.6)
    assert "RuntimeError: a slip" in plain(cargo.fault.value)
    assert (cargo.value, cargo.waiting, bench.vehicle.load.cargo) == (60.0, None, 60.0)
    write(area, "0.65 m2")
    assert area.value == 0.65


def test_a_basis_that_cannot_be_taken_goes_back_in_the_list(bench, monkeypatch):
    control = bench.controls["road.drag_area"]
    before = control.mark.value

    def refused(vehicle, day):
        raise InputError("Not this one.")

    bench.page = dataclasses.replace(bench.page, model=refused)
    control.mark.value = "measured"
    assert "Not this one." in plain(control.fault.value)
    assert (control.mark.value, control.chosen, bench.vehicle.value("road.drag_area").basis) == (before, "", before)


def test_a_disk_that_refuses_is_told_and_leaves_the_file_whole(bench, mine, monkeypatch):
    before = files(mine)
    write(bench.controls["gearing.wheel_teeth"], "70")

    def full(self, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    bench._guarded(bench.keep)
    assert "No space left on device" in plain(bench.trouble.value)
    assert files(mine) == before
    assert not bench.buttons.keep.disabled


def test_the_head_says_whose_file_and_when(bench):
    words = plain(bench.head.value)
    assert words.startswith("Two-shed cargo trike my vehicle, ")
    assert re.search(r"vehicle\.toml, kept \d+ \w+ 20\d\d, \d\d:\d\d · Two sheds, up: 175 m, climbs of up to 7 %$", words)
    shown = ride_page.open_bench(vehicle=evlab.load_vehicle("two_shed_trike"))
    assert "a demonstration, never written" in plain(shown.head.value)


# ---------------------------------------------------------------- again, reset, pin
def open_widgets():
    return len(ipywidgets.widgets.widget._instances)


def test_running_the_page_again_closes_the_old_widgets_and_writes_nothing(mine):
    ride_page.questions(ride_page.open_bench())
    count, before = open_widgets(), files(mine)
    for _ in range(3):
        ride_page.questions(ride_page.open_bench())
    assert open_widgets() == count
    assert files(mine) == before


def test_reset_brings_back_the_vehicle_the_day_and_the_axes(bench):
    first, axes = picture(bench), bench.frame
    write(bench.controls["store.charge_voltage"], "60 V")
    assert bench.frame.volts[1] > axes.volts[1], "a curve beyond the axes widens them"
    write(bench.controls["head_wind"], "6 m/s")
    write(bench.controls["load.cargo"], "900 kg")
    bench.reset()
    assert (picture(bench), bench.frame) == (first, axes)
    assert bench.vehicle is bench.base
    assert bench.day == bench.start_day
    assert all(c.fault.value == "" for c in bench.controls.values())
    assert bench.controls["load.cargo"].box.value == "60\u2009kg"


def test_axes_stand_still_while_the_curves_stay_inside(bench):
    bench.settle()
    drawn = [p for p, picture in zip(bench.pictures, bench.page.pictures, strict=True) if not picture.costly]
    plates = [p.plate for p in drawn]
    for volts in ("34 V", "33 V", "30 V"):
        write(bench.controls["store.charge_voltage"], volts)
        bench.settle()
    assert [p.plate for p in drawn] == plates
    assert [plate.full_draws for plate in plates] == [1] * len(plates)


def test_theme_width_and_type_lay_new_paper_for_every_picture(bench):
    bench.settle()
    drawn = [p for p, picture in zip(bench.pictures, bench.page.pictures, strict=True) if not picture.costly]
    light = [p.value for p in drawn]
    bench.sense.set_state({"dark": True, "width": 1740, "dense": 2.0})  # as one message of the browser's
    assert bench.pictures[0].plate.full_draws == 1, "laid once for all"
    bench.settle()
    assert all('class="ev-pic ev-dark"' in p.value and 'width="1350"' in p.value for p in drawn)
    assert all(a != p.value for a, p in zip(light, drawn, strict=True))
    bench.large.value = True
    assert "ev-large" in bench._dom_classes
    assert bench.pictures[0].plate.figure.dpi == 2 * 130


def test_another_picture_is_chosen_and_follows_too(bench):
    bench.choice.index = 1
    shown = ["ev-behind" not in p._dom_classes for p in bench.pictures]
    assert shown == [False, True, False, False, False]
    before = bench.pictures[1].value
    write(bench.controls["road.rolling_coefficient"], "0.02")
    assert bench.pictures[1].value != before
    assert "the largest loss is rolling" in plain(bench.reading.value)


def test_a_pinned_ride_stands_beside_the_present_one(bench):
    bench.pin()
    write(bench.controls["head_wind"], "5 m/s")
    assert "pinned" in plain(bench.numbers.value)
    row = next(r for r in bench.numbers.value.split("<tr>") if "Way done" in r)
    assert re.findall(r">(\d+)<", row) == ["153", "175"]
    assert "Thin grey: the pinned one" in plain(bench.reading.value)
    bench.unpin()
    assert "pinned" not in plain(bench.numbers.value)


# ---------------------------------------------------------------- what ends a ride
def test_an_early_end_is_told_in_words_at_the_picture_the_numbers_and_the_cautions(bench):
    write(bench.controls["start_share"], "22 V")
    assert "cut-off" in plain(bench.numbers.value)
    told = plain(bench.reading.value)
    assert "below the stop volts of 15 V the drive switches off" in told
    assert "the friction brake must hold it" in told
    assert plain(bench.cautions.value).startswith("danger The ride ended on a slope of 7.0 %")
    bench.settle()
    assert "Danger: The ride ended on a slope" in bench.sense.say


# ---------------------------------------------------------------- errors
def page_of(model, **changes):
    """A page that has nothing to do with rides: one field, one value of the day, one number."""
    knobs = (Knob("road.rolling_coefficient", "Vehicle"),
             Knob("hurry", "The day", start=1.0, quantity="speed", unit="km/h", low=0.0, high=10.0, label="Hurry",
                  meaning="how much", why="nobody hurries more"))
    made = Page(name="test", case="a test", knobs=knobs, model=model, pictures=(Picture("One", lambda frame: empty_picture),),
                readouts=(Readout("Sum", "N", lambda r: r.sum),), outcome=lambda r: ("ok", "done"), cautions=lambda r: [])
    return dataclasses.replace(made, **changes)


def empty_picture(figure, look):
    def update(result, pinned=None):
        return f"a picture of {result.sum:g}", f"The sum is {result.sum:g}."

    return update


def test_a_fault_of_the_page_is_shown_with_its_traceback_and_the_picture_stays():
    def model(vehicle, day):
        if vehicle.road.rolling_coefficient > 0.03:
            raise RuntimeError("a slip in the model")
        return SimpleNamespace(sum=1.0)

    bench = Workbench(page_of(model))
    before, control = picture(bench), bench.controls["road.rolling_coefficient"]
    write(control, "0.04")
    assert "a fault of the page, not yours: RuntimeError: a slip in the model" in plain(control.fault.value)
    assert "<details><summary>traceback" in control.fault.value
    assert "test_workbench.py" in control.fault.value
    assert picture(bench) == before
    write(bench.controls["hurry"], "2 km/h")  # another control goes on from the last good value
    assert (bench.controls["hurry"].fault.value, bench.vehicle.road.rolling_coefficient) == ("", 0.012)


def test_an_error_at_rest_is_shown_too():
    kept = evlab.load_vehicle()

    def model(vehicle, day):
        if vehicle.motor.constant > kept.motor.constant:
            raise RuntimeError("only when nudged")
        return SimpleNamespace(sum=1.0)

    async def rest(bench):
        bench._show()
        await asyncio.sleep(1.0)

    bench = Workbench(page_of(model))
    asyncio.run(rest(bench))
    assert "RuntimeError: only when nudged" in plain(bench.trouble.value)


def test_a_slow_model_is_run_when_the_slider_is_let_go():
    bench = Workbench(page_of(lambda vehicle, day: SimpleNamespace(sum=1.0)))
    assert all(c.slider.continuous_update for c in bench.controls.values())
    bench._pace(1.0)
    bench._pace(1.0)
    assert not any(c.slider.continuous_update for c in bench.controls.values())
    bench._pace(0.01)
    assert all(c.slider.continuous_update for c in bench.controls.values())


OF_RIDES = ("ride_", "store_", "charging_", "start_", "road_", "gearing_", "route_", "measured_", "regeneration_", "band_",
            "magnets_", "winding_", "motor_built")


def test_the_general_parts_know_no_ride():
    folder = Path(evlab.workbench.__file__).parent
    for path in folder.glob("*.py"):
        if not path.name.startswith(OF_RIDES):
            text = path.read_text(encoding="utf-8")
            assert not re.search(r"^\s*(from|import) evlab\.(riding|route|plots|store|motor|road)\b", text, re.M), path.name
            assert not re.search(r"\b(ride|store|charging)_page\b|\bledger\b|\bhead_wind\b", text), path.name


# ---------------------------------------------------------------- a picture's own controls and numbers
def lazy_page(asked):
    """Two pictures, each with its own control and number; the model pays for a piece when it is asked."""
    class Lazy:
        def __init__(self, vehicle):
            self.vehicle = vehicle

        @property
        def sum(self):
            asked.append("rolling")
            return 1000 * self.vehicle.road.rolling_coefficient

        @property
        def area(self):
            asked.append("area")
            if self.vehicle.road.drag_area > 1.5:
                raise InputError("Input drag_area must be smaller; instead received more.")
            return self.vehicle.road.drag_area

    def build(name):
        def built(figure, look):
            return lambda result, pinned=None: ("a picture", f"{name} {getattr(result, name):g}")
        return lambda frame: built

    rolling, area = (Readout(n, u, lambda r, n=n: getattr(r, n)) for n, u in (("sum", "N"), ("area", "m2")))
    pictures = (Picture("Rolling", build("sum"), ("road.rolling_coefficient",), (rolling,)),
                Picture("Air", build("area"), ("road.drag_area",), (area,)))
    knobs = (Knob("road.rolling_coefficient", "Rolling"), Knob("road.drag_area", "Air"))
    return page_of(lambda vehicle, day: Lazy(vehicle), knobs=knobs, pictures=pictures, readouts=(), tables=("road",))


def in_view(bench):
    rows = {name: control.row for name, control in bench.controls.items()}
    return [name for name, widget in (bench.groups | rows).items() if "ev-behind" not in widget._dom_classes]


def test_only_the_controls_and_numbers_that_matter_to_a_picture_are_in_view():
    bench = Workbench(lazy_page([]))
    assert in_view(bench) == ["Rolling", "road.rolling_coefficient"]
    assert "sum 12" in plain(bench.numbers.value)
    write(bench.controls["road.rolling_coefficient"], "0.02")
    bench.choice.index = 1
    assert in_view(bench) == ["Air", "road.drag_area"]
    assert "sum " not in plain(bench.numbers.value)
    assert "area 0.95" in plain(bench.numbers.value)
    assert "Rolling coefficient 0.012 → 0.02" in plain(bench.buttons.words.value), "what differs is told, in view or not"
    bench.settle()
    assert list(bench.spreads.differences) == ["area"]
    assert bench.spreads.of(bench.numbers.readouts[0], bench.result).total == pytest.approx(0.15)


def test_a_lazy_model_is_asked_for_the_picture_in_view_and_its_refusal_leaves_all_as_it_was():
    asked = []
    bench = Workbench(lazy_page(asked))
    assert set(asked) == {"rolling"}, "the other piece waits until the controls rest"
    bench.settle()
    assert set(asked) == {"rolling", "area"}
    bench.choice.index = 1
    before, shown = bench.vehicle, bench.pictures[1].value
    write(bench.controls["road.drag_area"], "1.6 m2")
    assert "refused Input drag_area must be smaller" in plain(bench.controls["road.drag_area"].fault.value)
    assert (bench.vehicle, bench.pictures[1].value, bench.trouble.value) == (before, shown, "")


def test_the_spreads_of_tables_that_the_model_does_not_read_are_in_no_plus_minus(mine):
    vehicle = evlab.load_vehicle()
    assert {name.split(".")[0] for name in uncertain(vehicle, ("road", "store"))} == {"road", "store"}
    assert len(uncertain(vehicle, ("road",))) < len(uncertain(vehicle))


# ---------------------------------------------------------------- the ±
def sum_model(vehicle, day):
    """1000 N for each unit of rolling coefficient, 10 N for each metre of wheel radius."""
    return SimpleNamespace(sum=1000 * vehicle.road.rolling_coefficient + 10 * vehicle.gearing.wheel_radius)


def test_the_plus_minus_is_the_root_of_the_sum_of_squares_by_hand():
    two = (Readout("Sum", "N", lambda r: r.sum), Readout("Double", "kN", lambda r: r.sum, 0.002, model=0.1))
    bench = Workbench(page_of(sum_model, readouts=two))
    assert "…" in plain(bench.numbers.value)
    bench.settle()
    # by hand: 0.012 +/- 0.003 gives 12 +/- 3 N, 0.245 +/- 0.003 m gives 2.45 +/- 0.03 N
    one, two = bench.page.readouts
    assert bench.spreads.of(one, bench.result).total == pytest.approx(math.sqrt(3.0**2 + 0.03**2), rel=1e-9)
    assert bench.spreads.of(one, bench.result).largest == "road.rolling_coefficient"
    # and with a tenth of 0.0289 kN for the model
    assert bench.spreads.of(two, bench.result).total == pytest.approx(math.hypot(0.002 * math.hypot(3, 0.03), 0.00289), rel=1e-9)
    words = plain(bench.numbers.value)
    assert "Sum 14 3 N" in words, "the ± sets the last place: 14.45 ± 3.0002"
    assert "±" in words
    assert "Largest share, in 2 of 2 numbers: rolling coefficient 0.012 ± 0.003, assumed" in words


def test_plus_minus_alone():
    assert plus_minus({"a": 3.0, "b": -4.0}).total == 5.0
    assert plus_minus({"a": 3.0, "b": -4.0}).largest == "b"
    assert plus_minus({"a": 3.0}, model=4.0) == plus_minus({"a": -3.0}, model=-4.0)
    assert plus_minus({"a": 3.0}, model=4.0).largest == "", "the model's own share is the largest"
    assert plus_minus({}).total == 0.0


def test_a_value_that_cannot_go_up_goes_down():
    vehicle = evlab.load_vehicle("two_shed_trike").change(gearing={"chain_efficiency": "99 % +/- 2 %"})
    assert nudged(vehicle, "gearing.chain_efficiency").gearing.chain_efficiency == pytest.approx(0.97)
    assert nudged(vehicle, "road.rolling_coefficient").road.rolling_coefficient == pytest.approx(0.015)
    assert "gearing.chain_efficiency" in uncertain(vehicle)
    assert "load.cargo" not in uncertain(vehicle), "no spread, no ride"


def test_a_ride_that_may_end_otherwise_says_so(bench):
    write(bench.controls["head_wind"], "4 m/s")
    assert bench.result.outcome == "arrived"
    bench.settle()
    words = plain(bench.numbers.value)
    assert "Not certain." in words
    assert "inside its spread, and the outcome is: cut-off" in words
    assert "Those rides are not in the ±." in words


def test_the_plus_minus_waits_until_the_controls_rest_and_a_move_drops_it():
    rides = []

    def model(vehicle, day):
        rides.append(vehicle)
        return sum_model(vehicle, day)

    async def story():
        bench = Workbench(page_of(model))
        control = bench.controls["road.rolling_coefficient"]
        for value in ("0.013", "0.014", "0.015"):
            write(control, value)
            await asyncio.sleep(0.1)
        dragged = len(rides)
        assert bench.spreads is None
        await asyncio.sleep(1.5)
        assert bench.spreads is not None
        return dragged, len(rides), len(uncertain(bench.vehicle))

    dragged, all_of_them, values = asyncio.run(story())
    assert dragged == 4, "one for each move, none for the ± while the slider moves"
    assert all_of_them == 4 + values


# ---------------------------------------------------------------- basis
def basis_shown(control):
    return control.mark.value if getattr(control, "marks", False) else re.search(r'aria-label="(\w+)', control.mark.value)[1]


def test_the_basis_of_controls_and_numbers_is_shown(bench):
    marks = {name: basis_shown(c) for name, c in bench.controls.items()}
    assert marks["road.rolling_coefficient"] == "assumed"
    assert marks["gearing.wheel_teeth"] == "designed"
    assert marks["head_wind"] == "a", "a value of the day: not kept in the vehicle file"
    found = bench.base.adopt({"road.rolling_coefficient": (0.011, 0.001)}, only=["road.rolling_coefficient"])
    measured = ride_page.open_bench(vehicle=found)
    control = measured.controls["road.rolling_coefficient"]
    assert basis_shown(control) == "measured"
    write(control, "0.02")
    assert basis_shown(control) == "assumed", "moved by hand it is measured no more"
    write(control, "0.011")
    assert basis_shown(control) == "measured"
    measured.settle()
    assert "rests on assumed values, most on" in measured.numbers.value


# ---------------------------------------------------------------- cautions
def caution(state, words):
    return SimpleNamespace(state=state, words=words, source="a source")


def test_cautions_stand_worst_first_in_three_rows_and_the_rest_folds():
    strip = CautionsStrip()
    strip.signs = 60
    strip.show([caution(*c) for c in (("note", "n1"), ("danger", "d"), ("caution", "c"), ("note", "n1"), ("note", "n2"))])
    assert plain(strip.value) == "danger d caution c note n1 1 more note n2"
    long = "It is hot, very hot, and hotter than it should be: do not touch it. " * 3
    strip.show([caution("danger", long.strip()), caution("note", "n")])
    assert "<u>more</u>" in strip.value
    assert "n" in plain(strip.value)
    first, rest = split(long.strip(), 120)
    assert first.endswith((",", ":", "."))
    assert f"{first} {rest}" == long.strip()


# ---------------------------------------------------------------- questions
@pytest.fixture
def questions(bench):
    return ride_page.questions(bench).questions


def predict(question, answer):
    question.box.value = answer
    right = question.check()
    return right, plain(question.verdict.value)


def test_the_worked_answer_stays_folded_until_a_prediction_is_made(questions):
    for question in questions:
        assert "<details" not in question.worked.value
        assert question.check() is False
        assert "first" in plain(question.verdict.value), "nothing predicted, nothing checked"
        assert "<details" not in question.worked.value
    predict(questions[2], "100 m")
    assert questions[2].worked.value.startswith("<details><summary>Worked answer</summary>"), "folded, but there"
    assert questions[2].worked.value.count("<details") == 1
    assert "open>" not in questions[2].worked.value


def test_motor_current_on_the_ramp(questions):
    right, words = predict(questions[0], "it rises")
    assert not right
    assert "what the current of the store does" in words
    assert predict(questions[0], "it stays") == (True, "right The model says it stays.")


def test_hurry_up_the_ramp_is_answered_by_two_rides(bench, questions):
    route = evlab.load_route("two_sheds_up")
    faster = evlab.Route.from_segments([("70 m", "0 %", "3 m/s"), ("60 m", "7 %", "3 m/s"), ("45 m", "0 %", "3 m/s")], blend="2 m")
    slow, fast = (evlab.ride(bench.vehicle, way).ledger["store"] for way in (route, faster))
    change = fast / slow - 1
    answer = "the same, within 1\u2009%" if abs(change) < 0.01 else "more" if change > 0 else "less"
    assert predict(questions[1], answer)[0]
    assert not predict(questions[1], "more" if answer != "more" else "less")[0]


def test_the_second_trip_is_answered_at_the_present_controls(bench, questions):
    question = questions[2]
    first = evlab.ride(bench.vehicle, "two_sheds_up", start="22 V").distance
    assert predict(question, f"{first:.1f} m")[0]
    write(bench.controls["load.cargo"], "0 kg")
    bench.settle()
    assert "The controls have moved since" in plain(question.verdict.value)
    assert "<details" not in question.worked.value, "folded again for the new case"
    lighter = evlab.ride(bench.vehicle, "two_sheds_up", start="22 V").distance
    assert lighter > first + 4
    assert not predict(question, f"{first:.1f} m")[0]
    assert predict(question, f"{lighter / 1000:.4f} km")[0]


def test_hints_come_one_by_one_and_slips_are_named(questions):
    question = questions[2]
    assert "Hint 1 of 3" in predict(question, "1 m")[1]
    assert "Hint 2 of 3" in predict(question, "2 m")[1]
    assert "Hint 3 of 3" in predict(question, "3 m")[1]
    assert "Hint 3 of 3" in predict(question, "4 m")[1]
    assert "goes with the volts" in predict(question, "110 m")[1]  # 175 m x 22 V / 35 V, by hand
    assert "as if everything down to zero" in predict(question, "67.5 m")[1]  # 175 m x (22/35)^2 = 69.1 m
    assert "is the number in m, but you wrote km" in predict(question, "83.3 km")[1]


def test_an_energy_wants_its_unit_and_names_the_usual_slips(bench, questions):
    question, r = questions[4], bench.result
    c, a, b = bench.vehicle.store.capacitance, r.start_voltage, r.rested_voltage
    right = 0.5 * c * (a * a - b * b)  # by hand, from the two readings in the question
    for text in (f"{right:.0f} J", f"{right / 1000:.2f} kJ", f"{right / 3600:.3f} Wh"):
        assert predict(question, text)[0], text
    ok, words = predict(question, f"{right:.0f} joule")
    assert not ok
    assert "one number and its unit" in words
    assert "units: J, kJ, Wh, kWh" in words
    for text, why in ((f"{right / 3600:.3f} J", "is the number in Wh, but you wrote J"),
                      (f"{2 * right:.0f} J", "The half is missing"),
                      (f"{c * (a - b) / 2:.1f} J", "not squared"),
                      (f"{c * (a - b) ** 2 / 2:.0f} J", "difference was squared"),
                      (f"{c * a * a / 2:.0f} J", "still in it")):
        ok, words = predict(question, text)
        assert not ok
        assert why in words, text


def test_a_speed_in_the_wrong_unit_is_named():
    e = evlab.glossary.entry("speed")
    near = lambda value: abs(value - 2.5) < 0.05  # noqa: E731  one line, one tolerance
    assert unit_slip(9.0, "m/s", e, near) == "9 is the number in km/h, but you wrote m/s."
    assert unit_slip(7.0, "m/s", e, near) == ""


def test_a_question_that_cannot_be_asked_says_why(bench, questions):
    write(bench.controls["head_wind"], "10 m/s")
    bench.settle()
    ok, words = predict(questions[1], "more")
    assert not ok
    assert "not checked With the present controls the ride does not arrive" in words
    assert "<details" not in questions[1].worked.value


def test_a_fault_in_a_question_is_shown():
    bench = Workbench(page_of(lambda vehicle, day: SimpleNamespace(sum=1.0)))
    broken = Question(bench, Asked(text=lambda case: "?", answer=lambda case: 1 / 0, worked=lambda case, answer: "", hints=(),
                                   options=("a", "b")))
    broken.box.value = "a"
    assert broken.check() is False
    assert "ZeroDivisionError" in plain(broken.verdict.value)


def test_tolerances_are_said(questions):
    assert "(right within 3 % or 3 m, whichever is wider; without a unit it counts in m)" in plain(questions[2].text.value)
    assert "(right within 3 %; without a unit it counts in kJ)" in plain(questions[4].text.value)


# ---------------------------------------------------------------- another store, another way
SUPPLY = {"store.kind": "supply", "store.voltage": "36 V", "store.resistance": "50 mOhm", "store.mass": "4 kg"}


def test_a_vehicle_on_a_supply_has_its_own_controls(mine):
    vehicle = evlab.load_vehicle("two_shed_trike").change(SUPPLY)
    bench = ride_page.open_bench(vehicle=vehicle)
    assert "store.voltage" in bench.controls
    assert not {"store.charge_voltage", "store.cell_capacitance", "start_share"} & set(bench.controls)
    for control in [c for c in bench.controls.values() if c.slider is not None]:
        for at in (control.slider.min, control.slider.max):
            control.slider.value = at
            assert control.fault.value == ""
            assert abs(bench.result.closure) <= bench.result.closure_allowed
        control.set(control.value)
        bench.reset()
    asked = ride_page.questions(bench).questions
    assert predict(asked[0], "it stays")[0]
    assert "no second trip" in predict(asked[2], "10 m")[1]
    assert "no second trip" in predict(asked[3], "none of these")[1]
    assert "no capacitor" in predict(asked[4], "10 J")[1]


def test_the_way_down_has_a_page_too(mine):
    bench = ride_page.open_bench("two_sheds_down")
    assert "falls of up to 7 %" in plain(bench.head.value)
    asked = ride_page.questions(bench).questions
    assert "no climb" in predict(asked[0], "it stays")[1]
    assert "no climb" in predict(asked[1], "more")[1]


# ---------------------------------------------------------------- equations
def test_the_chain_of_equations_agrees_with_the_ride(mine):
    """Worked equation by equation at one moment, and taken from the loop: two routes to one coil current."""
    worked = ride_page.chain()
    amps = next(row.values["motor_current"] for row in worked.rows if "motor_current" in row.values)
    r = evlab.ride(evlab.load_vehicle(), "two_sheds_up")
    steady = (abs(r.column("speed") - 2.4) < 2e-3) & (r.column("slope") > 0.0699) & (r.column("distance") < 100)
    assert steady.sum() > 20
    assert r.column("motor_amps")[steady].mean() == pytest.approx(amps, abs=0.05)
    text = worked._repr_markdown_()
    assert text.count(r"$\displaystyle") == len(worked.rows) >= 11
    assert text.count("Source: ") == text.count("Range: ") == len(worked.rows)


# ---------------------------------------------------------------- the equations of store and charging
OTHERS = {
    "resistor": {"charger.kind": "resistor", "charger.series_resistance": "6 Ohm", "charger.source_voltage": "36 V"},
    "too weak for the power": {"store.lead_resistance": "1 Ohm"},
    "mains": {"charger.source_resistance": 0.0, "charger.source_charge": 0.0},
}


@pytest.mark.parametrize("made", [worked.of_store, worked.of_charging])
@pytest.mark.parametrize("vehicle", ["two_shed_trike", "kick_scooter"])
@pytest.mark.parametrize("changed", [{}, *OTHERS.values()], ids=["", *OTHERS])
def test_the_equations_are_worked_for_every_kind_of_store_and_charger(made, vehicle, changed):
    shown = made(evlab.load_vehicle(vehicle).change(changed))
    assert len(shown.rows) >= 3
    for row in shown.rows:
        assert math.isfinite(row.equation(**row.values)), row.equation.name
    assert "nan" not in repr(shown)


def test_a_supply_is_told_that_it_is_no_store():
    supply = evlab.load_vehicle("two_shed_trike").change({"store.kind": "supply", "store.voltage": 35.0, "store.resistance": 0.01})
    for made in (worked.of_store, worked.of_charging):
        with pytest.raises(InputError, match="a bank or a pack; instead received one with a supply"):
            made(supply)
