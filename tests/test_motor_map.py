"""The map of a motor: efficiency against an energy balance, the ridge against a search, reach, scale laws, drag by cause."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from evlab import InputError, motor, motor_map
from evlab.motor_map import CAUSES, DragSplit, EfficiencyMap

# The demonstration motor (invented), its winding at 45 °C
DEMO = {"constant": 8.6509 / 25, "resistance": 0.14654 * (1 + 0.00393 * 25), "drag_torque": 0.10, "viscous_drag": 0.002,
        "standby": 4.0}
SPEEDS, TORQUES = np.linspace(0.0, 110.0, 111), np.linspace(-20.0, 20.0, 161)


def demo(**more):
    given = {**DEMO, "speeds": SPEEDS, "torques": TORQUES, "duty_volts": (35.0, 15.0), **more}
    return EfficiencyMap.of(**given)


# ---------------------------------------------------------------- the map
def test_every_point_of_the_map_keeps_its_joules():
    """What goes in less what comes out is copper, drag and stand-by, each counted by itself."""
    made = demo()
    w, t, amps = made.speeds[:, None], made.torques, made.currents
    taken = amps * (DEMO["constant"] * w + amps * DEMO["resistance"]) + DEMO["standby"]
    lost = amps**2 * DEMO["resistance"] + (DEMO["drag_torque"] + DEMO["viscous_drag"] * w) * w + DEMO["standby"]
    assert taken - t * w == pytest.approx(lost, abs=1e-9)
    driving = (t > 0) & (w > 0)
    np.testing.assert_allclose(made.efficiency[driving], (t * w)[driving] / taken[driving], rtol=1e-12)
    back = (t < 0) & (taken < 0)
    np.testing.assert_allclose(made.efficiency[back], taken[back] / (t * w)[back], rtol=1e-12)
    assert np.isnan(made.efficiency[~driving & ~back]).all()
    assert np.nanmax(made.efficiency) < 1


def test_the_map_at_the_points_of_the_script():
    """Worked apart, 2026."""
    for speed, amps, printed in ((62.0, 8.0, 0.8484), (62.0, 25.0, 0.8152), (20.0, 25.0, 0.6132), (5.0, 25.0, 0.2889)):
        shaft = DEMO["constant"] * amps - DEMO["drag_torque"] - DEMO["viscous_drag"] * speed
        made = demo(speeds=[speed], torques=[shaft])
        assert made.currents[0, 0] == pytest.approx(amps)
        assert made.efficiency[0, 0] == pytest.approx(printed, abs=5e-5)


def test_the_ridge_is_the_crest_of_a_fine_map():
    fine = demo(speeds=[10.0, 40.0, 62.0], torques=np.linspace(0.05, 15.0, 30000))
    rows = np.nanargmax(fine.efficiency, axis=1)
    assert fine.ridge == pytest.approx(fine.torques[rows], abs=1e-3)
    assert fine.ridge_efficiency == pytest.approx(fine.efficiency[np.arange(3), rows], rel=1e-8)


def test_reach_is_no_load_and_stall_at_its_ends():
    made = demo()
    free = float(motor_map.final_speed(DEMO["constant"], 1.0, 35.0, DEMO["resistance"], 0.10, 0.002))
    line = np.interp(free, made.speeds, made.reach[35.0])
    assert line == pytest.approx(0.0, abs=1e-9)
    assert made.reach[35.0][0] == pytest.approx(motor_map.stall_torque(DEMO["constant"], 1.0, 35.0, DEMO["resistance"]) - 0.10)
    assert (made.reach[15.0] < made.reach[35.0]).all()
    limited = demo(current_limit=25.0)
    assert limited.reach[35.0][0] == pytest.approx(8.6509 - 0.10)
    assert (limited.reach[35.0] <= made.reach[35.0] + 1e-12).all()
    assert made.peak()[2] >= made.peak(15.0)[2]
    assert not made.within(15.0)[-1, -1]


def test_turns_do_not_change_the_map():
    """Twice the turns: twice the constant, four times the ohms, half the amps, the same efficiency; the volts double."""
    made = demo()
    twice = demo(constant=2 * DEMO["constant"], resistance=4 * DEMO["resistance"], duty_volts=(70.0, 30.0))
    np.testing.assert_allclose(twice.efficiency, made.efficiency, rtol=1e-12)
    np.testing.assert_allclose(twice.currents, made.currents / 2, rtol=1e-12)
    np.testing.assert_allclose(twice.reach[70.0], made.reach[35.0], rtol=1e-12, atol=1e-12)
    np.testing.assert_allclose(twice.ridge, made.ridge, rtol=1e-12)


def test_a_torque_costs_the_same_watts_at_any_speed():
    figure = motor_map.motor_figure(DEMO["constant"], DEMO["resistance"])
    for speed in (0.0, 30.0, 90.0):
        amps = demo(speeds=[speed], torques=[5.0]).currents[0, 0]
        drag = 0.10 + 0.002 * speed
        assert motor_map.holding_loss(5.0 + drag, figure) == pytest.approx(motor.copper_loss(amps, DEMO["resistance"]), rel=1e-12)


def test_peak_efficiency_at_constant_volts_lies_on_the_map():
    """With all drag as one no-load current the map along a line of volts has the closed form's crest."""
    k, ohm, volts, free = 0.18, 0.25, 36.0, 1.2
    speeds = np.linspace(100.0, 199.0, 20000)
    amps = (volts - k * speeds) / ohm
    eta = motor_map.motor_efficiency.arrays(k, amps, k * free, 0.0, speeds, ohm, 0.0)
    assert eta.max() == pytest.approx(motor_map.peak_efficiency(free, 144.0), abs=1e-9)
    assert amps[eta.argmax()] == pytest.approx(motor_map.best_current_at_volts(free, 144.0), abs=0.01)


def test_regeneration_pays_only_above_a_speed():
    made = demo()
    slow, fast = made.efficiency[1], made.efficiency[60]
    assert np.isnan(slow[made.torques < 0]).all()
    assert np.nanmax(fast[made.torques < 0]) > 0.7


# ---------------------------------------------------------------- drag by cause
def test_drag_by_cause_adds_up_and_the_largest_is_told():
    split = DragSplit(bearings=0.10, viscous=0.002, strands=0.0009, plates=lambda w: 0.01 * w / (1 + w / 50.0))
    parts = split.torques(60.0)
    assert tuple(parts) == CAUSES
    assert sum(parts.values()) == pytest.approx(split.total(60.0))
    assert parts["bearings and seals"] + parts["drag that grows with speed"] == pytest.approx(13.2 / 60.0)  # worked apart, 2026
    assert sum(split.powers(60.0).values()) == pytest.approx(60.0 * split.total(60.0))
    assert split.largest(60.0).startswith("Eddies in plates: 0.273 N m of 0.547 N m, 50 %")
    assert split.total(0.0) == 0.0
    assert split.largest(0.0) == "Nothing drags at this speed."


@pytest.mark.parametrize("speed", [66.0, 69.0, 75.0, 90.0])
def test_diodes_brake_as_a_rectifier_simulated_sample_by_sample(speed):
    """Three phases behind six diodes into a store of fixed volts: the pair with the largest EMF conducts, or none."""
    split = DragSplit(line_constant=0.37, resistance=0.15, voltage=24.0)
    angles = (np.arange(200_000) + 0.5) / 200_000 * math.tau
    phases = 0.37 / math.sqrt(3) * speed * np.sin(angles[:, None] - np.arange(3) * math.tau / 3)
    emf = phases.max(axis=1) - phases.min(axis=1)
    amps = np.maximum(emf - 25.4, 0.0) / 0.15
    assert split.torques(speed)["diodes into the store"] == pytest.approx(float((emf * amps).mean()) / speed, rel=1e-6, abs=1e-12)


def test_diodes_hold_off_below_the_volts_of_the_store():
    split = DragSplit(line_constant=0.37, resistance=0.15, voltage=24.0)
    begins = 25.4 / 0.37
    assert split.total(begins * 0.999) == 0.0
    assert split.total(begins * 1.01) > 0.0
    assert DragSplit(line_constant=0.37, resistance=0.15).total(500.0) == 0.0  # no store connected


# ---------------------------------------------------------------- refused in words
@pytest.mark.parametrize(("change", "words"), [
    ({"constant": 0.0}, "motor_constant of EfficiencyMap must be more than 0 V*s/rad"),
    ({"resistance": "-1 Ohm"}, "hot_resistance of EfficiencyMap must be more than 0 ohm"),
    ({"speeds": [0.0, 10.0, 5.0]}, "motor_speed of EfficiencyMap must be a row of numbers that rise"),
    ({"speeds": [-5.0, 10.0]}, "must be at least 0 rad/s"), ({"torques": []}, "torque of EfficiencyMap must be a row"),
    ({"drag_torque": "0.1 J"}, "drag_torque of EfficiencyMap"), ({"current_limit": 0.0}, "motor_current of EfficiencyMap"),
    ({"standby": -1.0}, "standby_power of EfficiencyMap must be at least 0 W")])
def test_a_map_that_cannot_be_drawn(change, words):
    with pytest.raises(InputError, match=re.escape(words)):
        demo(**change)


def test_volts_that_the_map_does_not_know():
    with pytest.raises(InputError, match=re.escape("one of the map's duty_volts (35, 15); instead received 24")):
        demo().within(24.0)
    with pytest.raises(InputError, match="no point that drives"):
        demo(torques=[-2.0, -1.0]).peak()
    with pytest.raises(InputError, match="at least 0 rad/s"):
        DragSplit(0.1).total(-3.0)
