"""A motor on the bench: what readings tell comes back to what made them, what they speak for, and readings that no motor gives."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

import evlab
from evlab import BenchMotor, InputError
from evlab.bench_motor import planned

TRIKE = evlab.load_vehicle("two_shed_trike")
DESIGN = {"constant": 0.34, "resistance": 0.145}  # invented


def motor_of(constant=0.34, resistance=0.145, drag=0.17, viscous=0.0):
    return dataclasses.replace(TRIKE.motor, kind="three_phase", dress="six-step mean", constant=constant, resistance=resistance,
                               drag_torque=drag, viscous_drag=viscous)


def bench(**changed):
    return BenchMotor(**(planned(motor_of()) | changed))


def test_a_sheet_of_a_brushed_motor_by_hand():
    """24 V: 2650 rpm with 1.6 A, stall 108 A with 8.9 N m (invented).  24/108 = 0.2222 ohm; (24 - 1.6 x 0.2222)/277.5 = 0.08520;
    8.9/108 = 0.08241: the free run and the pull tell the constant 3 % apart, more than their 1 %.  Weighed with them, the ohms may
    give way by as much as a reading is good to."""
    sheet = {"free_volts": 24.0, "free_rpm": 2650.0, "free_amps": 1.6, "held_volts": 24.0, "held_amps": 108.0, "held_torque": 8.9}
    motor = BenchMotor("brushed", "its controller, or brushes", **sheet)
    assert motor.resistance.value == pytest.approx(0.2222, rel=0.01)
    assert motor.by_speed == pytest.approx(0.08520, abs=5e-5)  # the ohms that gave way, times 1.6 A, come in
    assert motor.by_pull == pytest.approx(0.08241, abs=5e-6)
    assert 0.08241 < motor.constant.value < 0.0852


@pytest.mark.parametrize("seed", range(40))
def test_what_readings_tell_is_what_made_them(seed):
    """Any motor, without drag that grows with the speed: volts and torques of the two standard equations, solved by hand."""
    rng = np.random.default_rng(seed)
    constant, resistance, drag = 10 ** rng.uniform(-2.5, 0.5), 10 ** rng.uniform(-2.5, 0.5), 0.0
    volts, amps = rng.uniform(5, 60), rng.uniform(5, 100)
    drag = constant * rng.uniform(0.005, 0.03) * min(amps, volts / resistance)
    free = drag / constant
    revs = (volts - resistance * free) / constant * 30 / math.pi
    motor = BenchMotor("three_phase", "its controller, or brushes", free_volts=volts, free_rpm=revs, free_amps=free,
                       held_volts=resistance * amps, held_amps=amps, held_torque=constant * amps)
    assert motor.constant.value == pytest.approx(constant, rel=1e-5)
    assert motor.resistance.value == pytest.approx(resistance, rel=1e-5)
    assert motor.drag == pytest.approx(drag, rel=1e-4)
    assert motor.by_speed == pytest.approx(motor.by_pull, rel=1e-5)


def test_the_plan_holds_the_two_equations_with_growing_drag():
    made = planned(motor_of(drag=0.1, viscous=0.002), volts=12.0)
    speed = made["free_rpm"] * 2 * math.pi / 60
    assert 0.145 * made["free_amps"] + 0.34 * speed == pytest.approx(12.0)
    assert 0.34 * made["free_amps"] == pytest.approx(0.1 + 0.002 * speed)


def test_the_plan_turns_against_stiff_drag_and_asks_no_supply_for_more_than_its_volts():
    """40 N m of drag take 40/0.34 A, so 17.06 V of 0.145 ohm: four times that leaves three quarters for turning.  Through 10 ohm a
    drag of 0.17 N m takes 5 V: 20 V then, which drive 2 A."""
    stiff = planned(motor_of(drag=40.0))
    assert stiff["free_volts"] == pytest.approx(4 * 0.145 * 40.0 / 0.34)
    assert stiff["free_rpm"] * 2 * math.pi / 60 * 0.34 == pytest.approx(0.75 * stiff["free_volts"])
    thin = planned(motor_of(resistance=10.0))
    assert thin["held_volts"] == pytest.approx(20.0)
    assert thin["held_amps"] == pytest.approx(2.0)


def test_a_motor_out_of_the_common_reads_as_designed_on_its_page():
    """Of a learner's rig with thin wire; a control that held its reading back would make another motor of it."""
    from test_magnet_case import RIG

    from evlab.workbench import winding_page

    page = winding_page.open_bench(RIG)
    try:
        words = page.result.bench.against(page.result.constant, page.result.ohms)
        assert words.count("as designed") == 2, words
    finally:
        page.shut()


def test_the_design_itself_reads_as_designed():
    case = evlab.WindingCase(TRIKE)
    assert case.bench.constant.value == pytest.approx(case.constant, rel=1e-6)
    assert case.bench.resistance.value == pytest.approx(case.ohms, rel=1e-6)
    words = case.bench.against(case.constant, case.ohms)
    assert words.count("as designed") == 2
    assert "speaks" not in words


@pytest.mark.parametrize("share", [24 / 26, 28 / 26])
def test_a_coil_with_other_turns_is_off_alike_in_constant_and_ohms(share):
    """Both go with the number of turns; drag stays, so the free current goes the other way."""
    k, r = share * DESIGN["constant"], share * DESIGN["resistance"]
    read = BenchMotor(**planned(motor_of(k, r)))
    words = read.against(**DESIGN)
    assert f"{'more' if share > 1 else 'fewer'} turns than planned" in words


@pytest.mark.parametrize(("kind", "dress"), [("three_phase", "line rms"), ("one_phase", "phase peak"), ("two_phase", "phase peak"),
                                             ("brushed", "terminal")])
def test_direct_current_pulls_as_much_as_its_best_angle_gives(kind, dress):
    """The torque of two wires at constant amps is amps times the EMF's shape: its peak, against the mean over the bridge's steps.

    Three phases: two of three sines in series.  Two: half of the amps in each of two sines a quarter turn apart.
    Their means over one turn of what each bridge lets through."""
    motor = dataclasses.replace(motor_of(), kind=kind, dress=dress, constant=0.1)
    turn = np.linspace(0.0, 2 * math.pi, 7200, endpoint=False)
    phases = {"three_phase": 3, "two_phase": 2, "one_phase": 1, "brushed": 1}[kind]
    if kind == "three_phase":
        peak = 0.1 * math.sqrt(2)  # rms between two lines, so their peak
        emfs = np.array([peak * np.cos(turn - at) for at in (0.0, 2 * math.pi / 3, 4 * math.pi / 3)])
        mean, most = np.abs(emfs).max(axis=0).mean(), peak
    elif kind == "brushed":
        mean = most = 0.1
    else:
        emfs = np.array([0.1 * np.cos(turn - n * math.pi / 2) for n in range(phases)])
        mean, most = np.abs(emfs).mean(axis=0).mean(), np.mean(emfs, axis=0).max()
    made = planned(motor)
    assert made["held_torque"] / made["held_amps"] == pytest.approx(most, rel=1e-6)
    assert motor.drive_constant == pytest.approx(mean, rel=1e-6)
    assert BenchMotor(**made).by_pull == pytest.approx(motor.drive_constant, rel=1e-9)


@pytest.mark.parametrize(("factors", "said"), [
    ((0.9, 1.0), "weaker or warm magnets, a wider gap"), ((1.1, 1.0), "stronger magnets or a smaller gap"),
    ((1.0, 1.15), "long leads, a bad joint"), ((1.0, 0.8), "thicker wire")])
def test_what_one_deviation_speaks_for(factors, said):
    k, r = factors[0] * DESIGN["constant"], factors[1] * DESIGN["resistance"]
    read = BenchMotor(**planned(motor_of(k, r)))
    assert said in read.against(**DESIGN)


def test_readings_that_contradict_each_other_are_told_and_nothing_is_made_of_them():
    words = bench(held_torque=8.5).against(**DESIGN)
    assert "contradict each other" in words
    assert "speaks" not in words


def test_another_motor_is_not_explained_by_magnets_and_joints():
    words = BenchMotor(**planned(motor_of(0.083, 0.222))).against(**DESIGN)
    assert words.endswith("So far off it is another motor than the design, or a reading is wrong.")


def test_what_was_not_read_is_left_out():
    motor = bench(held_torque=0.0)
    assert math.isnan(motor.by_pull)
    assert motor.constant.value == pytest.approx(0.34, rel=1e-5)
    assert bench(free_amps=0.0).constant.value == pytest.approx(0.34, rel=1e-4)
    with pytest.raises(InputError, match=r"too little can be told.*Add the amps"):
        bench(free_amps=0.0, held_torque=0.0).constant  # noqa: B018  asked for, which is what refuses


@pytest.mark.parametrize(("changed", "said"), [
    ({"held_amps": 0.3, "held_volts": 12.0}, "held still it must take far more"),
    ({"free_rpm": 0.0}, "a motor that stands still is a stall"),
    ({"held_volts": 0.0}, "volts of stall must be more than 0"), ({"free_volts": -12.0}, "volts of no_load must be more than 0"),
    ({"free_amps": 90.0, "held_amps": 95.0, "held_volts": 14.0, "held_torque": 0.0}, "nothing is left for turning")])
def test_readings_of_no_motor_are_refused(changed, said):
    with pytest.raises(InputError, match=said):
        bench(**changed).constant  # noqa: B018  asked for, which is what refuses


def test_the_page_refuses_beside_the_control_and_keeps_the_picture():
    from evlab.workbench import winding_page

    page = winding_page.open_bench(TRIKE)
    try:
        page.choice.index = next(i for i, p in enumerate(page.page.pictures) if p.title == "On the bench")
        page.controls["free_amps"].box.value = "25 A"
        page.controls["held_amps"].box.value = "2 A"
        assert "nothing is left for turning" in page.controls["held_amps"].fault.value
        page.controls["held_amps"].box.value = "20 A"
        page.controls["free_amps"].box.value = "0.4924 A"
        page.controls["free_rpm"].box.value = "346 rpm"
        assert page.controls["free_rpm"].fault.value == ""
        assert page.result.bench.free_rpm == 346.0
        assert "below the design" in page.reading.value
    finally:
        page.shut()
