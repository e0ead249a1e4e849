"""The pages of magnets and winding: numbers, what they refuse beside the control, what they keep, a bought motor, the questions."""

from __future__ import annotations

import html
import math
import re

import numpy as np
import pytest
from scipy.integrate import solve_ivp

import evlab
from evlab import MagnetCase, WindingCase
from evlab.workbench import Workbench, gearing_page, magnets_page, winding_page

TRIKE, SCOOTER = evlab.load_vehicle("two_shed_trike"), evlab.load_vehicle("kick_scooter")
PAGES = {"magnets": magnets_page, "winding": winding_page}


@pytest.fixture(autouse=True)
def mine(tmp_path, monkeypatch):
    monkeypatch.setenv("EVLAB_MINE", str(tmp_path))
    yield tmp_path
    for bench in list(Workbench._open.values()):
        bench.shut()
    Workbench._open.clear()


def plain(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace("\u2009", " ").strip()


def ask(page, bench, number, said):
    """Predict and check: whether the prediction was right."""
    question = page.questions(bench).questions[number]
    question.box.value = said
    question.check()
    words = plain(question.verdict.value)
    return "right" in words.lower() and "not" not in words.lower().split("right")[0][-8:]


# ---------------------------------------------------------------- pictures and numbers
@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("vehicle", [TRIKE, SCOOTER], ids=["built", "bought"])
def test_every_picture_has_its_sentence_and_numbers(name, vehicle):
    bench = PAGES[name].open_bench(vehicle)
    for index, picture in enumerate(bench.page.pictures):
        bench.choice.index = index
        assert bench.trouble.value == ""
        assert plain(bench.reading.value), picture.title
        told = [r.shown(bench.result) for r in bench.page.numbers_of(index)]
        assert any(math.isfinite(value) for value in told), picture.title


def test_at_rest_nothing_is_worked_out_for_a_costly_picture_out_of_sight():
    """Else a learner who takes the slider again waits for magpylib."""
    bench = magnets_page.open_bench(TRIKE)
    bench.settle()
    assert bench.page.pictures[1].costly
    assert not {"witness", "by_clearance"} & set(vars(bench.result))
    assert "plate_curve" in vars(bench.result)
    bench.choice.index = 1
    assert "by_clearance" in vars(bench.result)


def test_the_numbers_are_those_of_the_cases():
    bench = magnets_page.open_bench(TRIKE)
    told = {r.label: r.shown(bench.result) for i in range(len(bench.page.pictures)) for r in bench.page.numbers_of(i)}
    case = MagnetCase(TRIKE)
    assert told["Flux of a turn"] == pytest.approx(1e3 * case.linkage.fundamental)
    assert told["Pull across the gap"] == pytest.approx(case.pull.force)
    assert told["Alone, meets the knee at"] == pytest.approx(case.points[1].hottest - 273.15)
    bench = winding_page.open_bench(TRIKE)
    told = {r.label: r.shown(bench.result) for i in range(len(bench.page.pictures)) for r in bench.page.numbers_of(i)}
    case = WindingCase(TRIKE)
    assert told["Ohms between terminals"] == pytest.approx(1e3 * case.ohms)
    assert told["Inductance"] == pytest.approx(1e6 * case.inductance)
    assert told["Both together"] == pytest.approx(26.0, abs=0.01)


# ---------------------------------------------------------------- what they refuse
@pytest.mark.parametrize(("name", "control", "text", "words"), [
    ("magnets", "motor.magnets.poles", "11", "must be an even number of magnets"),
    ("magnets", "motor.magnets.width", "45 mm", "overlap by"),
    ("magnets", "motor.winding.clearance", "-1 mm", "Clearance"),
    ("magnets", "motor.winding.side", "30 mm", "do not lie side by side 9 times"),
    ("magnets", "temperature", "300 °C", "Magnets at must be"),
    ("winding", "motor.winding.turns", "0", "Turns of a coil"),
    ("winding", "motor.winding.turns", "60", "32 turns fit"),
    ("winding", "motor.winding.coils", "8", "must suit 12 magnets"),
    ("winding", "motor.winding.wire_diameter", "2 mm", "thinner wire that fits"),
    ("winding", "amps", "-3 A", "Motor current must be"),
    ("winding", "slope", "-2 %", "uphill")])
def test_what_cannot_be_is_refused_beside_its_control_and_the_picture_stays(name, control, text, words):
    bench = PAGES[name].open_bench(TRIKE)
    before = bench.pictures[0].value
    bench.controls[control].box.value = text
    assert words in plain(bench.controls[control].fault.value)
    assert bench.pictures[0].value == before


def test_a_ring_that_does_not_suit_the_winding_is_shown_and_the_constants_stay():
    bench = magnets_page.open_bench(TRIKE.change(magnets={"width": "20 mm"}))
    bench.controls["motor.magnets.poles"].box.value = "18"
    assert bench.trouble.value == ""
    assert "The winding does not go with these magnets" in plain(bench.reading.value)
    assert bench.vehicle.motor.constant == TRIKE.motor.constant


def test_wire_may_be_told_by_its_gauge():
    bench = winding_page.open_bench(TRIKE)
    bench.controls["motor.winding.wire_diameter"].box.value = "AWG 20"
    assert bench.vehicle.winding.wire_diameter == pytest.approx(0.8118e-3, rel=1e-3)  # ASTM B258: 32.0 mil, rounded
    bench.controls["motor.winding.wire_diameter"].box.value = "AWG 4"
    assert "a whole number from 10 to 36" in plain(bench.controls["motor.winding.wire_diameter"].fault.value)


def test_another_wire_on_the_page_has_its_own_enamel():
    """0.8 mm of grade 2: 0.884 mm at most (IEC 60317-0-1); back at the kept wire, what the file says of it comes back."""
    bench = winding_page.open_bench(TRIKE)
    bench.controls["motor.winding.wire_diameter"].box.value = "0.8 mm"
    assert bench.result.wire.overall == pytest.approx(0.884e-3)
    assert bench.result.fit.capacity == 192  # 16 layers of 12 in 15 mm by 11 mm
    bench.controls["motor.winding.wire_diameter"].box.value = "1.0 mm"
    assert bench.result.wire.overall == pytest.approx(1.094e-3)


# ---------------------------------------------------------------- what they keep
def test_the_constants_go_along_with_what_is_kept_as_designed(mine):
    bench = winding_page.open_bench(TRIKE)
    assert bench.vehicle.motor == TRIKE.motor  # opened, nothing has changed
    bench.controls["motor.winding.turns"].box.value = "20"
    bench.keep()
    kept = evlab.load_vehicle()
    assert kept.winding.turns == 20
    assert kept.value("motor.constant").basis == "designed"
    assert kept.motor.constant == pytest.approx(TRIKE.motor.constant * 20 / 26, rel=0.01)
    assert kept.motor.resistance < TRIKE.motor.resistance
    assert kept.value("motor.constant").known["assumed"].value == TRIKE.motor.constant
    assert evlab.ride(kept, "two_sheds_up").outcome in ("arrived", "cut-off", "stalled", "rolled back", "time limit", "too hot")


def test_a_bought_motor_is_told_and_a_small_one_stands_in():
    bench = winding_page.open_bench(SCOOTER)
    assert "says nothing of its magnets" in plain(bench.reading.value)
    assert bench.vehicle.motor.kind == "brushed"  # opening changes nothing
    bench.controls["motor.winding.turns"].box.value = "50"
    assert bench.vehicle.motor.kind == "three_phase"


def test_controls_that_would_change_nothing_are_out_of_sight():
    bench = magnets_page.open_bench(TRIKE)

    def seen(name):
        return "ev-behind" not in bench.controls[name].row._dom_classes

    assert not seen("motor.magnets.length")
    assert seen("motor.winding.opening_outer")
    bench.controls["motor.magnets.shape"].box.value = "block"
    assert seen("motor.magnets.length")
    bench.controls["motor.winding.coil_shape"].box.value = "round"
    assert not seen("motor.winding.opening_outer")


# ---------------------------------------------------------------- a start
def test_the_slope_of_a_start_is_out_of_sight_with_the_wheel_raised():
    bench = winding_page.open_bench(TRIKE)
    bench.choice.index = [picture.title for picture in bench.page.pictures].index("Will it start?")
    assert plain(bench.reading.value).startswith("On the level, moving off takes 1.25 N·m")
    assert "ev-behind" not in bench.controls["slope"].row._dom_classes
    bench.controls["slope"].box.value = "7 %"
    assert plain(bench.reading.value).startswith("Up 7.0 %, moving off takes 7.94 N·m")
    bench.controls["wheel"].box.value = "raised"
    assert html.unescape(plain(bench.reading.value)).startswith("With the wheel raised only the motor's own drag holds, 0.100 N·m.")
    assert "does not start from 2.5 % of the angles" in plain(bench.reading.value)
    assert "ev-behind" in bench.controls["slope"].row._dom_classes
    bench.controls["wheel"].box.value = "on the ground"
    assert plain(bench.reading.value).startswith("Up 7.0 %")


def test_a_vehicle_that_may_roll_back_is_a_danger():
    """One phase has dead spots, and 2 % pull more than the wheels roll; three phases of 25 A hold it at every angle."""
    bench = winding_page.open_bench(TRIKE.change(winding={"phases": 1, "coils": 6}))
    assert not any("roll back" in c.words for c in bench.result.cautions)
    bench.controls["slope"].box.value = "2 %"
    told = [c for c in bench.result.cautions if "may roll back onto whoever stands behind it" in c.words]
    assert [c.state for c in told] == ["danger"]
    assert "The freewheel does not stop it" not in told[0].words
    three = winding_page.open_bench(TRIKE)
    three.controls["slope"].box.value = "2 %"
    assert not any("roll back" in c.words for c in three.result.cautions)
    free = WindingCase(TRIKE.change({"gearing.freewheel": True}, winding={"phases": 1, "coils": 6}), evlab.Sensed(slope=0.02))
    assert any("The freewheel does not stop it" in c.words for c in free.cautions)


# ---------------------------------------------------------------- a winding that never settles
def by_solver(case, watts, until):
    """Time [s] and body [degC] when the winding passes `until` [degC]: two lumps from the values typed into the page."""
    inner, outer = case.asked.inner * 0.55, (1 - case.asked.inner) * 0.55

    def rates(_t, y):
        flow = (y[0] - y[1]) / inner
        made = watts * (1 + 0.00393 * (y[0] - 20.0)) + case.strands.watts
        return [(made - flow) / case.heat_capacity, (flow - (y[1] - 20.0) / outer) / case.asked.body]

    def passes(_t, y):
        return y[0] - until

    passes.terminal = True
    made = solve_ivp(rates, (0.0, 1e5), [20.0, 20.0], events=passes, rtol=1e-9, atol=1e-9, method="LSODA")
    return float(made.t_events[0][0]), float(made.y_events[0][0][1])


@pytest.mark.parametrize(("wire", "amps", "inner", "body"), [(0.2, 25.0, 40, 600.0), (0.2, 300.0, 95, 20.0), (0.5, 35.0, 40, 600.0),
                                                             (0.3, 12.0, 5, 5000.0)])
def test_a_runaway_of_thin_wire_is_told_in_words_and_its_numbers_end_where_enamel_has_burnt(wire, amps, inner, body):
    strands = 4 if wire > 0.4 else 1
    bench = winding_page.open_bench(TRIKE.change({"motor.winding.wire_diameter": 1e-3 * wire, "motor.winding.strands": strands}))
    bench.choice.index = 5
    for name, said in (("amps", f"{amps} A"), ("inner", f"{inner} %"), ("body", f"{body} J/K")):
        write(bench.controls[name], said)
    bench.settle()
    case = bench.result
    ohms = 0.010 + 6 * 26 * case.mean_turn / (58e6 * strands * math.pi / 4 * (1e-3 * wire) ** 2)
    watts = ohms * (amps**2 + case.ripple**2 / 12)
    never = math.sqrt(1 / (0.00393 * 0.55 * ohms) - case.ripple**2 / 12)
    reading = plain(bench.reading.value)
    told = re.match(r"With ([\d.]+) A the winding gets hotter without end: above ([\d.]+) A it never settles. It passes its limit "
                    r"of 120 °C after ([\d.]+) s: .* Numbers and curves end at 260 °C: there every enamel has burnt.", reading)
    assert told, reading
    passed = by_solver(case, watts, 120.0)[0]
    assert [float(x) for x in told.groups()] == pytest.approx([amps, never, passed], rel=5e-3)  # half the last of three figures
    rows = {r.label: (r.shown(case), bench.spreads.of(r, case).total) for r in bench.page.numbers_of(5)}
    burnt, there = by_solver(case, watts, 260.0)
    assert rows["Winding in the end"][0] == pytest.approx(260.0, abs=0.01)
    assert rows["Its body"][0] == pytest.approx(there, abs=0.05)
    assert rows["Winding in the end"][1] <= 26.1  # a tenth, as the model is off
    assert rows["Its body"][1] < 60.0
    times, warm = case.heating
    assert times[-1] == pytest.approx(burnt, rel=1e-4)
    assert (warm[1] <= warm[0] + 1e-9).all()
    drawn = [np.asarray(line.get_ydata(), float) for line in bench.pictures[5].plate.figure.axes[0].lines]
    assert max(float(np.nanmax(y)) for y in drawn if np.isfinite(y).any()) == pytest.approx(260.0, abs=0.01)
    assert bench.frame.hot < 500.0


def test_beside_the_sentence_the_caution_says_less_than_a_second():
    bench = winding_page.open_bench(TRIKE.change({"motor.winding.wire_diameter": 0.2e-3, "motor.winding.strands": 1}))
    told = [c.words for c in bench.result.cautions if "gives up" in c.words]
    assert len(told) == 1
    assert "in less than a second" in told[0]


# ---------------------------------------------------------------- questions
def middle_of_two_rotors(gap):
    """The fundamental's share midway between two rows of magnets on iron: textbook, worked here by hand."""
    k = 6 / 0.078
    s, c = math.sinh(0.01 * k), math.cosh(0.01 * k)
    return s / (1.05 * c * math.sinh(k * gap / 2) + s * math.cosh(k * gap / 2))


def test_the_answers_of_the_demonstration_magnets():
    bench = magnets_page.open_bench(TRIKE)
    assert ask(magnets_page, bench, 0, "it turns slower")
    assert ask(magnets_page, bench, 1, f"{100 * (1 - middle_of_two_rotors(0.016) / middle_of_two_rotors(0.014)):.1f} %")
    assert ask(magnets_page, bench, 2, "more than double")
    assert not ask(magnets_page, bench, 3, "0.36 T")  # the lone magnet's face
    assert ask(magnets_page, bench, 4, "lying alone on the bench")
    assert ask(magnets_page, bench, 5, f"{200 / 12:.1f} %")  # one of twelve works against the others


def test_the_answers_of_the_demonstration_winding():
    bench = winding_page.open_bench(TRIKE)
    assert ask(winding_page, bench, 0, "the same heat")
    assert ask(winding_page, bench, 1, "32")
    assert ask(winding_page, bench, 2, "more speed, less torque per ampere")
    assert ask(winding_page, bench, 4, f"{100 * (1 - math.cos(0.5)):.1f} %")
    assert ask(winding_page, bench, 5, "4")
    runaway = 1 / math.sqrt(0.00393 * WindingCase(TRIKE).ohms * 0.55)
    assert ask(winding_page, bench, 6, f"{runaway:.1f} A")
    assert not ask(winding_page, bench, 5, "16")


# ---------------------------------------------------------------- a vehicle whose motor cannot be wound
def write(control, said):
    control.box.value = said


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize(("field", "bad"), [("motor.winding.turns", 400), ("motor.winding.coils", 40),
                                         ("motor.magnets.ring_radius", 0.02)])
def test_a_page_opens_with_what_cannot_be_wound_and_says_which_control_mends_it(name, field, bad):
    vehicle = TRIKE.change({field: bad})
    own = WindingCase(TRIKE).build
    bench = PAGES[name].open_bench(vehicle)
    assert plain(bench.reading.value)
    assert bench.base is vehicle
    told = [c for c in bench.controls.values() if c.fault.value]
    if name == "magnets" and field == "motor.winding.turns":
        assert not told  # the field of the magnets needs no fit of the wire
        assert "does not go with these magnets" in bench.reading.value
        return
    words = " ".join([plain(bench.trouble.value), *(plain(c.fault.value) for c in told)])
    assert "nothing is kept" in words
    assert "small motor (invented)" in words
    assert bench.buttons.keep.disabled
    with pytest.raises(evlab.units.InputError):
        bench.keep()
    if field in bench.controls:  # what the maker had before is accepted again, and all other values are still the maker's
        before = TRIKE.value(field).value
        write(bench.controls[field], bench.controls[field].scale.say(before))
        assert bench.refused is None
        assert not any(c.fault.value for c in bench.controls.values())
        assert bench.vehicle.winding == own
        assert bench.vehicle.magnets == TRIKE.magnets
        assert not bench.buttons.reset.disabled


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("name", PAGES)
def test_any_vehicle_opens_the_pages_of_the_motor(name, seed):
    from tests.random_vehicles import random_vehicle

    bench = PAGES[name].open_bench(random_vehicle(seed))
    assert plain(bench.reading.value)
    assert bench.refused is None or "refused" in bench.trouble.value + "".join(c.fault.value for c in bench.controls.values())


def test_coils_over_two_poles_are_refused_in_words_and_what_the_words_name_is_accepted():
    """32 magnets under coils (12 + 33)/2 + 15 = 37.5 mm wide: a coil of 2.4 poles takes in more of its neighbours' flux than of its
    own pole's.  A sine wave seen by a window of w poles goes with sin(w pi/2): below nothing from two poles to four."""
    poles = {"motor.magnets.poles": 32, "motor.magnets.width": 0.014}
    with pytest.raises(evlab.units.InputError, match="cancel the flux of the middle one") as told:
        WindingCase(TRIKE.change(poles))
    assert "Take fewer magnets" in str(told.value)
    wide, spans, pitch = (float(x) for x in re.match(r"Coils ([\d.]+) mm wide in the mean span ([\d.]+) poles of ([\d.]+) mm",
                                                     str(told.value)).groups())
    by_hand = 37.5 / (math.tau * 78 / 32)
    assert (wide, pitch) == pytest.approx((37.5, 37.5 / by_hand), abs=0.05)
    assert spans == pytest.approx(by_hand, abs=0.05)
    assert math.sin(spans * math.pi / 2) < 0
    fewer = {"motor.magnets.poles": 12, "motor.magnets.width": 0.014}
    assert WindingCase(TRIKE.change(fewer)).constant > 0
    bench = winding_page.open_bench(TRIKE.change(poles))
    assert bench.refused is not None
    told = plain(bench.trouble.value) + "".join(plain(c.fault.value) for c in bench.controls.values())
    assert "cancel the flux" in told


def test_no_distance_is_called_safe_for_implants():
    """A distance reads as permission: the caution alone speaks of implants, and gives no number of millimetres."""
    bench = magnets_page.open_bench(TRIKE)
    labels = [r.label for i in range(len(bench.page.pictures)) for r in bench.page.numbers_of(i)]
    assert not [label for label in labels if "mplant" in label]
    told = [c.words for c in bench.result.cautions if "implant" in c.words]
    assert len(told) == 1
    assert "nobody with a pacemaker or another implant comes near" in told[0]
    assert not re.search(r"\d m?m\b", told[0])


def test_a_motor_that_cannot_overcome_its_own_drag_has_a_map_without_a_best_point():
    """35 V turn this motor at 98.7 rad/s without load: an ampere pulls 0.355 N m, and its 45 A 16 N m; 20 N m of drag are more."""
    lame = evlab.load_vehicle("two_shed_trike").change({"motor.drag_torque": "20 N m"})
    bench = winding_page.open_bench(lame)
    titles = [p.title for p in bench.page.pictures]
    bench.choice.index = titles.index("Efficiency")
    assert bench.trouble.value == ""
    assert "there is nothing left to drive" in plain(bench.reading.value)
    readout = next(r for r in bench.numbers.readouts if r.label == "Best efficiency")
    assert math.isnan(readout.shown(bench.result))


@pytest.mark.parametrize("page", [magnets_page, winding_page])
def test_the_equations_stand_with_a_refused_motor_too(page):
    """Eleven magnets do not go round north and south: the equations are those of a small motor, and it says why."""
    wrong = evlab.load_vehicle("two_shed_trike").change({"motor.magnets.poles": 11})
    words = plain(page.worked(wrong).lead)
    assert "even number of magnets" in words
    assert "Until this is mended, here stands a small motor (invented)" in words
    assert "even number" not in plain(page.worked(evlab.load_vehicle("two_shed_trike")).lead)


def test_wheels_that_run_into_each_other_are_told_beside_the_distance_that_parts_them():
    """06B chain: 15 and 76 teeth have tip radii of about 26 mm and 156 mm, so 100 mm from axle to axle cannot be."""
    wrong = evlab.load_vehicle("two_shed_trike").change({"gearing.links": 0, "gearing.centre_distance": "100 mm"})
    bench = gearing_page.open_bench(vehicle=wrong)
    assert bench.refused is not None
    words = plain(bench.controls["gearing.centre_distance"].fault.value)
    assert "run into each other; instead received 100 mm" in words
    assert "the pictures show the two-shed trike (invented), and nothing is kept" in words
    bench.controls["gearing.centre_distance"].box.value = "400 mm"
    assert bench.refused is None
    assert bench.vehicle.gearing.centre_distance == pytest.approx(0.4)
    assert "here stands the two-shed trike (invented)" in gearing_page.worked(wrong).lead


def test_a_refused_vehicle_that_is_mended_in_another_page_is_reloaded(mine):
    """The file is mended elsewhere: Reload shows it, not the small motor that stood in."""
    file = mine / "vehicle.toml"
    wrong = TRIKE.change({"motor.magnets.poles": 11})
    wrong.save()
    bench = winding_page.open_bench()
    assert bench.refused is not None
    with pytest.raises(evlab.InputError):
        bench.keep()
    file.write_text(TRIKE.text.replace("Two-shed cargo trike", "Mended trike"), encoding="utf-8")
    bench.look()
    assert "changed in another page" in plain(bench.buttons.notice.value)
    bench.reload()
    assert bench.refused is None
    assert (bench.vehicle.name, bench.vehicle.magnets.poles) == ("Mended trike", 12)
