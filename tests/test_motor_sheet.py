"""A motor from its sheet or from the bench: sets of readings that suffice, dresses, temperature, contradictions, refusals."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from evlab import InputError, motor
from evlab.glossary import entry
from evlab.motor_readings import constant_in
from evlab.motor_sheet import (
    Found,
    SheetMotor,
    SpinDown,
    loaded,
    measured_resistance,
    no_load,
    per_volt,
    spun,
    stall,
    stall_with_scale,
)
from evlab.units import rad_s_to_rpm, read, rpm_to_rad_s

# A motor of the list of references: 36 V, 0.25 ohm, 0.18 N m/A, no-load current 1.2 A.
K, OHM, FREE, VOLTS = 0.18, 0.25, 1.2, 36.0
DRAG = K * FREE


def point(amps, volts=VOLTS, drag=DRAG, viscous=0.0):
    speed = (volts - amps * OHM) / K
    return {"volts": volts, "rpm": rad_s_to_rpm(speed), "amps": amps, "torque": K * amps - drag - viscous * speed}


def idle(volts=VOLTS, drag=DRAG, viscous=0.0):
    """Current without load, from K I = T0 + c (V - I R)/K."""
    amps = (drag + viscous * volts / K) / (K + viscous * OHM / K)
    made = point(amps, volts, drag, viscous)
    return no_load(made["volts"], made["rpm"], made["amps"])


def without(name, amps):
    return loaded(**{k: v for k, v in point(amps).items() if k != name})


SETS = {
    "no load and stall": [idle(), stall(VOLTS, 144.0, 25.92)],
    "no load and stall without torque": [idle(), stall(VOLTS, 144.0)],
    "no load and stall without amps": [idle(), stall(VOLTS, torque=25.92)],
    "no-load speed and stall": [no_load(VOLTS, point(FREE)["rpm"]), stall(VOLTS, 144.0, 25.92)],
    "two loaded points": [loaded(**point(10.0)), loaded(**point(40.0))],
    "two points, no torque": [without("torque", 10.0), without("torque", 60.0)],
    "three points, no amps": [without("amps", 5.0), without("amps", 40.0), measured_resistance(2.5, 10.0)],
    "spun and ohms": [spun(18.0, rad_s_to_rpm(100.0), "terminal"), measured_resistance(2.5, 10.0)],
    "rpm per volt and ohms": [per_volt(rad_s_to_rpm(1 / K), "terminal"), measured_resistance(2.5, 10.0)],
    "lever and ohms": [stall_with_scale(0.5, 3.6 / 0.5 / 9.80665, 20.0, 5.0, brushed=True)],
}


@pytest.mark.parametrize("name", SETS)
def test_any_set_that_suffices_gives_the_motor_back(name):
    made = SheetMotor.of("brushed", SETS[name])
    assert made.values["constant"].value == pytest.approx(K, rel=1e-6)
    assert made.values["resistance"].value == pytest.approx(OHM, rel=1e-6)
    if "drag_torque" in made.values:
        assert made.values["drag_torque"].value == pytest.approx(DRAG, rel=1e-3, abs=1e-4)
    assert made.dress == "terminal"
    assert not made.contradicts
    assert made.spare >= 0


def test_drag_that_grows_with_speed_is_told_by_two_idle_speeds():
    made = SheetMotor.of("brushed", [idle(36.0, 0.1, 5e-4), idle(12.0, 0.1, 5e-4), stall(VOLTS, 144.0)])
    assert made.values["drag_torque"].value == pytest.approx(0.1, rel=1e-6)
    assert made.values["viscous_drag"].value == pytest.approx(5e-4, rel=1e-6)
    one = SheetMotor.of("brushed", [idle(36.0, 0.1, 5e-4), stall(VOLTS, 144.0)])
    assert one.values["viscous_drag"].value == 0.0
    assert "all drag counts as one" in one.values["viscous_drag"].words
    assert one.values["drag_torque"].value == pytest.approx(0.1 + 5e-4 * point((0.1 + 0.1) / 1)["rpm"] * math.tau / 60, rel=0.05)


def test_spreads_are_those_of_many_drawn_readings():
    """The fit's spreads against a cloud of 400 motors from readings drawn within their spreads."""
    rng = np.random.default_rng(20260101)
    right = point(FREE)

    def fit(v, n, i, s, a):
        return SheetMotor.of("brushed", [no_load(f"{v} V +/- 0.1 V", f"{n} +/- 10", f"{i} A +/- 0.05 A"),
                                         stall(f"{s} V +/- 0.1 V", f"{a} A +/- 2 A")])

    middle = (VOLTS, right["rpm"], FREE, VOLTS, 144.0)
    told = fit(*middle)
    drawn = np.array(middle) + rng.standard_normal((400, 5)) * (0.1, 10, 0.05, 0.1, 2.0)
    cloud = [fit(*row) for row in drawn.tolist()]
    for name in ("constant", "resistance", "drag_torque"):
        assert told.values[name].spread == pytest.approx(np.std([c.values[name].value for c in cloud]), rel=0.12), name


# ---------------------------------------------------------------- the bench of three phases
def test_drill_and_lever_of_the_script():
    """Worked apart, 2026: apart, then weighed together."""
    drill = SheetMotor.of("three_phase", [spun("13.01 V", 500), measured_resistance("3.82 V", "22.1 A", "65 degC")])
    assert drill.values["constant"].value == pytest.approx(0.33556, abs=5e-6)
    dresses = {d: f.value for d, f in drill.dresses().items()}
    assert dresses["line peak"] == pytest.approx(0.35139, abs=6e-6)
    assert dresses["phase peak"] == pytest.approx(0.20288, abs=6e-6)
    lever = SheetMotor.of("three_phase", [stall_with_scale("0.20 m", "4.0 kg", "22.1 A", "3.82 V", "65 degC")])
    assert lever.values["constant"].value == pytest.approx(0.33899, abs=5e-6)
    assert lever.values["resistance"].value == pytest.approx(0.14688, abs=5e-6)
    both = SheetMotor.of("three_phase", [spun("13.01 V", 500),
                                         stall_with_scale("0.20 m", "4.0 kg", "22.1 A", "3.82 V", "65 degC")])
    assert 0.33556 < both.values["constant"].value < 0.33899
    assert "agree" in both.verdict
    assert "drag not told" in both.told()


def test_what_one_reading_tells_by_itself():
    """Worked apart, 2026: in its own dress, with how it converts."""
    drill = spun("13.01 V +/- 0.01 V", "500 +/- 1")
    assert drill.constant().value == pytest.approx(0.35139 / math.sqrt(2), abs=6e-6)
    assert drill.constant().words == "line rms; times 1.3505 it is the six-step mean"
    assert drill.constant().spread / drill.constant().value == pytest.approx(math.hypot(0.01 / 13.01, 1 / 500), rel=1e-9)
    assert drill.resistance() is None
    lever = stall_with_scale("0.20 m", "4.0 kg", "22.1 A", "3.82 V", "65 degC")
    assert lever.constant().value == pytest.approx(0.35499, abs=5e-6)
    assert lever.constant().words.startswith("line peak; times 0.9549")
    assert lever.resistance().value == pytest.approx(0.14688, abs=5e-6)
    assert lever.resistance().words == "measured at 65 °C, brought to 20 °C"
    assert stall(36.0, 144.0, 25.92).constant().words == "six-step mean, or between the brushes"
    assert idle().constant() is None


@pytest.mark.parametrize("dress", motor.DRESSES[:-1])
def test_each_dress_of_a_reading_gives_one_motor(dress):
    """Spun, the volts read in each dress; or told as rpm per volt, once it is said which volt."""
    whole = motor.Motor("three_phase", 0.2, "phase peak", 0.15, 0.0, 0.0, 0.0, 1.0, 1.0, 400.0, 1.0)
    seen = whole.dresses()[dress]
    ohms = measured_resistance(1.5, 10.0)
    for reading in (spun(seen * 50.0, rad_s_to_rpm(50.0), dress), per_volt(rad_s_to_rpm(1 / seen), dress)):
        made = SheetMotor.of("three_phase", [reading, ohms])
        assert made.values["constant"].value == pytest.approx(whole.drive_constant, rel=1e-9)
        assert made.dresses()[dress].value == pytest.approx(seen, rel=1e-9)
    assert constant_in(dress) == pytest.approx(seen / whole.drive_constant, rel=1e-12)


def test_the_fields_of_a_vehicle_are_ready():
    made = SheetMotor.of("three_phase", [spun("13.01 V +/- 0.05 V", "500 +/- 2 rpm"), measured_resistance("1.466 V", "10 A")],
                         SpinDown.of("0.0226 kg m2", (764, 573, "1.887 s"), (382, 191, "2.838 s")))
    texts = made.texts()
    assert set(texts) == {"kind", "dress", "constant", "resistance", "drag_torque", "viscous_drag"}
    for field in ("constant", "resistance", "drag_torque", "viscous_drag"):
        back = read(texts[field], entry(f"motor.{field}"))
        assert back.value == pytest.approx(made.values[field].value, rel=2e-3)
        assert back.spread == pytest.approx(made.values[field].spread, rel=0.1)
    assert texts["dress"] in entry("motor.dress").choices
    assert texts["kind"] in entry("motor.kind").choices
    assert str(Found("motor_constant", 0.34, 0.0)) == "0.34 V s/rad"


# ---------------------------------------------------------------- spin-down
def test_spin_down_of_the_script():
    """Worked apart, 2026: drag 0.10 + 0.002 w; J 10 % too high makes both 10 % too high."""
    rows = [(rad_s_to_rpm(a), rad_s_to_rpm(b), t) for a, b, t in ((80, 60, 1.8865), (40, 20, 2.8381))]
    j = 6.9907 * 0.002 / math.log(0.26 / 0.14)  # the inertia that its printed time of the whole spin-down stands for
    made = SpinDown.of(j, *rows)
    assert made.drag_torque.value == pytest.approx(0.10, rel=2e-3)
    assert made.viscous_drag.value == pytest.approx(0.002, rel=2e-3)
    high = SpinDown.of(1.1 * j, *rows)
    assert high.drag_torque.value == pytest.approx(1.1 * made.drag_torque.value, rel=1e-9)
    assert high.viscous_drag.value == pytest.approx(1.1 * made.viscous_drag.value, rel=1e-9)


def test_spin_down_with_dry_friction_alone():
    a = 0.1 / 0.02  # rad/s2
    rows = [(rad_s_to_rpm(w1), rad_s_to_rpm(w2), f"{(w1 - w2) / a} s +/- 0.01 s") for w1, w2 in ((80, 60), (40, 20))]
    made = SpinDown.of(0.02, *rows)
    assert made.drag_torque.value == pytest.approx(0.1, rel=1e-6)
    assert made.viscous_drag.value == pytest.approx(0.0, abs=1e-8)
    assert made.viscous_drag.spread > 0
    slower = SpinDown.of(0.02, (rows[0][0], rows[0][1], "4.02 s +/- 0.02 s"), rows[1])  # a little less drag when fast: noise
    assert slower.viscous_drag.value == 0.0


# ---------------------------------------------------------------- contradictions
def test_stall_amps_times_ohms_that_are_not_the_volts():
    made = SheetMotor.of("brushed", [idle(), stall(VOLTS, 110.0), measured_resistance("2.5 V", "10 A")])
    assert made.contradicts
    assert "contradict each other" in made.verdict
    assert "spread" in made.verdict
    assert re.search(r"volts of the (stall|resistance test)", made.verdict)
    fine = SheetMotor.of("brushed", [idle(), stall(VOLTS, 144.0), measured_resistance("2.5 V", "10 A")])
    assert not fine.contradicts
    assert made.values["resistance"].spread > 3 * fine.values["resistance"].spread  # widened by what they miss


def test_a_warm_stall_agrees_once_its_temperature_is_told():
    warm = 36.0 / (OHM * (1 + 0.00393 * 60))
    cold = SheetMotor.of("brushed", [idle(), stall(VOLTS, warm), measured_resistance("2.5 V", "10 A")])
    told = SheetMotor.of("brushed", [idle(), stall(VOLTS, warm, temperature="80 degC"), measured_resistance("2.5 V", "10 A")])
    assert cold.contradicts
    assert not told.contradicts
    assert told.values["resistance"].value == pytest.approx(OHM, rel=1e-9)


def test_units_of_volts_change_with_the_turns_only():
    """Twice the turns: K doubles, R and 1/I^2 fourfold; the drag stays."""
    one = SheetMotor.of("brushed", [idle(), stall(VOLTS, 144.0)])
    right = point(FREE)
    two = SheetMotor.of("brushed", [no_load(2 * VOLTS, right["rpm"], FREE / 2), stall(2 * VOLTS, 72.0)])
    assert two.values["constant"].value == pytest.approx(2 * one.values["constant"].value, rel=1e-9)
    assert two.values["resistance"].value == pytest.approx(4 * one.values["resistance"].value, rel=1e-9)
    assert two.values["drag_torque"].value == pytest.approx(one.values["drag_torque"].value, rel=1e-9)


# ---------------------------------------------------------------- refused in words
@pytest.mark.parametrize(("make", "words"), [
    (lambda: SheetMotor.of("brushed", [idle(), stall(VOLTS, 1.0)]), "The stall takes 1 A, the motor without load 1.2 A"),
    (lambda: no_load(36.0, 0), "rpm of no_load must be more than 0 revolutions a minute"),
    (lambda: loaded(36.0, 3000, 10.0, 2.0), "an efficiency of 175 % cannot be"),
    (lambda: loaded(36.0, 3000), "must have amps or torque"), (lambda: stall(36.0), "must have two of volts, amps and torque"),
    (lambda: SheetMotor.of("brushed", []), "at least one reading"),
    (lambda: SheetMotor.of("brushed", [stall(36.0, 144.0)]), "The constant cannot be told from stall"),
    (lambda: SheetMotor.of("three_phase", [spun(13.0, 500)]), "The resistance cannot be told from spinning test"),
    (lambda: SheetMotor.of("brushed", [idle()]), "more unknowns"),
    (lambda: SheetMotor.of("induction", [idle()]), "kind of SheetMotor"),
    (lambda: SheetMotor.of("brushed", [spun(13.0, 500)]), "cannot wear the dress 'line rms'"),
    (lambda: SheetMotor.of("three_phase", [spun(13.0, 500, "terminal")]), "say which volts the spinning test gave"),
    (lambda: per_volt(100, "battery"), "must say which volts were meant"), (lambda: stall("36 A", 144.0), "volts of stall"),
    (lambda: no_load("36 V", "3 000"), "one number without a unit"), (lambda: stall(36.0, 144.0, temperature="800 degC"), "300 °C"),
    (lambda: SheetMotor.of("brushed", [loaded(36.0, 1800, 20.0, 2.0), loaded(36.0, 1900, 40.0, 2.0)]), "no motor has that"),
    (lambda: SpinDown.of(0.02, (700, 600), (400, 200, 2.0)), "fast of SpinDown must be (rpm at the beginning"),
    (lambda: SpinDown.of(0.02, (600, 700, 1.0), (400, 200, 2.0)), "must slow down"),
    (lambda: SpinDown.of(0.02, (800, 600, 3.0), (400, 200, 2.0)), "the drag would fall with speed"),
    (lambda: SpinDown.of(0.02, (800, 600, 0.2), (400, 200, 9.0)), "leave no drag at rest")])
def test_what_no_motor_is(make, words):
    with pytest.raises(InputError, match=re.escape(words)):
        make()


def test_rpm_is_converted_by_name():
    assert no_load(36.0, "3000 rpm").speed[0] == rpm_to_rad_s(3000.0)
    assert no_load(36.0, "3000 +/- 6").speed[1] == pytest.approx(rpm_to_rad_s(6.0))
