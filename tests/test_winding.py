"""Winding: the demonstration coil from wire to motor constant, and the laws of scale that hold for any winding."""

from __future__ import annotations

import math

import numpy as np
import pytest

from evlab import InputError, magnets, motor, motor_map, winding
from evlab.coil_star import CoilStar
from evlab.coils import Coil
from evlab.linkage import Linkage
from evlab.rings import Ring
from evlab.wires import metric

# The demonstration motor (invented): 9 coils over 12 magnets, 26 turns of 4 strands of 1.0 mm in a window of 15 mm by 11 mm.
RING = Ring.of(12, radius="78 mm", wide="30 mm", thick="10 mm", remanence="1.30 T", iron="two rotors", gap="14 mm")
COIL = Coil.of("trapezoid", inner="12 mm", outer="33 mm", long="32 mm", side="15 mm", thick="11 mm")
TURN = COIL.mean_turn(0.078)
WIRE = metric("1 mm")


def machine(turns=26.0, strands=4.0, area=WIRE.area, leads=0.0, flux=0.00044443):
    """Constant, resistance and torque for the root of the heat, six-step in star."""
    star = CoilStar.of(9, 12)
    coil = winding.coil_constant(turns, flux, 6.0)
    phase = winding.phase_constant(3.0, star.distribution_factor, coil)
    constant = motor.six_step_constant(motor.line_constant(phase))
    ohms = winding.phase_resistance(3.0, winding.coil_resistance(turns, TURN, strands, area))
    resistance = winding.line_resistance(ohms, leads)
    return float(constant), float(resistance), float(motor_map.motor_figure(constant, resistance))


def test_from_magnets_to_motor_constant():
    """Worked apart, 2026: six-step constant, ohms with leads, torque for the root of the heat."""
    constant, resistance, worth = machine(leads=0.010, flux=Linkage(RING, COIL, 0.007).fundamental)
    assert constant == pytest.approx(0.34402, rel=2e-3)
    assert resistance == pytest.approx(0.14654, rel=1e-4)
    assert worth == pytest.approx(0.34402 / math.sqrt(0.14654), rel=2e-3)


def test_emf_of_the_winding_is_the_slope_of_its_flux():
    """K by the equations against volts of all coils of two phases added as they are joined, over a turn."""
    there, star, turn = Linkage(RING, COIL, 0.007), CoilStar.of(9, 12), np.linspace(0, 2 * math.pi / 6, 720, endpoint=False)
    shape = {letter: sum(there.emf_shape(turn - math.radians(p.mechanical)) for p in star.chain(letter)) for letter in "AB"}
    line = 26 * (shape["A"] - shape["B"])
    wave = 2 * abs(np.mean(line * np.exp(-6j * turn)))
    assert wave == pytest.approx(motor.line_constant(winding.phase_constant(3.0, 1.0, there.constant(26))), rel=1e-6)


# ---------------------------------------------------------------- laws of scale
def test_twice_the_turns_of_half_the_wire():
    """Worked apart, 2026: twice the torque for each amp, four times the ohms, the same heat for a torque."""
    one, two = machine(), machine(turns=52.0, area=WIRE.area / 2)
    assert two == pytest.approx([2 * one[0], 4 * one[1], one[2]], rel=1e-12)


@pytest.mark.parametrize(("turns", "constant", "resistance", "amps", "watts"), [
    (18, 0.2396, 0.07544, 34.2, 88.39), (22, 0.2928, 0.1078, 28.0, 84.51), (26, 0.346, 0.1465, 23.7, 82.29),
    (32, 0.4259, 0.2168, 19.3, 80.38), (40, 0.5324, 0.3332, 15.4, 79.04)])
def test_the_row_of_turns_of_the_script(turns, constant, resistance, amps, watts):
    """Worked apart, 2026: the same copper in the window, 10 mohm of leads, 8.2 N m."""
    flux = 0.346 / (3 * math.sqrt(3) / math.pi * 26 * 18)  # that which gives 0.346 with 26 turns
    found = machine(turns=float(turns), area=WIRE.area * 26 / turns, leads=0.010, flux=flux)
    assert found[0] == pytest.approx(constant, rel=1e-3)
    assert found[1] == pytest.approx(resistance, rel=1e-3)
    assert 8.2 / found[0] == pytest.approx(amps, abs=0.06)
    assert (8.2 / found[2]) ** 2 == pytest.approx(watts, rel=1e-3)


def test_strands_instead_of_thick_wire():
    four, one = machine(strands=4.0), machine(strands=1.0, area=4 * WIRE.area)
    assert four == pytest.approx(one, rel=1e-12)


def test_delta_is_the_star_at_other_volts():
    """Worked apart, 2026: the same torque for the root of the heat, the square root of three in speed."""
    constant, resistance, worth = machine()
    delta, ohms = winding.delta_constant(constant), winding.delta_resistance(resistance)
    assert motor_map.motor_figure(delta, ohms) == pytest.approx(worth, rel=1e-12)
    assert motor.no_load_speed(1.0, 35.0, 0.0, ohms, delta) == pytest.approx(
        math.sqrt(3) * motor.no_load_speed(1.0, 35.0, 0.0, resistance, constant), rel=1e-12)


def test_a_sine_drive_needs_nine_per_cent_less_heat():
    """M18: 1.5 over half the square of 3 sqrt(3)/pi is 1.0966; here by mean squares of the phase currents over a turn."""
    angle = (np.arange(3600) + 0.5) / 3600 * 2 * math.pi
    blocks = np.where(abs(np.sin(angle)) > 0.5, np.sign(np.sin(angle)), 0.0)  # 120 degrees on, 60 off
    sine = np.sin(angle)
    torque = [(wave * np.sin(angle)).mean() for wave in (blocks, sine)]
    heat = [(wave**2).mean() / t**2 for wave, t in zip((blocks, sine), torque, strict=True)]
    assert heat[0] / heat[1] == pytest.approx(1.0966, abs=5e-5)


def test_twice_the_machine():
    """All lengths doubled, turns kept: ohms halve, inductance doubles, wire and copper follow their powers."""
    small = {"turns": 26.0, "mean_radius": 0.025, "coil_thickness": 0.011, "side_width": 0.015}
    large = {**{n: 2 * v for n, v in small.items()}, "turns": 26.0}
    assert winding.coil_inductance(**large) == pytest.approx(2 * winding.coil_inductance(**small), rel=1e-12)
    ohms = [winding.coil_resistance(26.0, TURN * s, 4.0, WIRE.area * s * s) for s in (1.0, 2.0)]
    assert ohms[1] == pytest.approx(ohms[0] / 2, rel=1e-12)


def test_ripple_is_worst_at_half_and_none_at_the_ends():
    duty = np.linspace(0.0, 1.0, 201)
    ripple = winding.current_ripple(35.0, duty, 298e-6, 16e3)
    assert duty[ripple.argmax()] == pytest.approx(0.5)
    assert ripple[[0, -1]] == pytest.approx([0.0, 0.0])
    assert winding.current_ripple(35.0, 0.5, 295.43e-6, 1e3) == pytest.approx(29.618, abs=5e-4)  # worked apart, 2026


def test_a_coil_as_wide_as_its_pole_takes_most():
    pitch = magnets.pole_pitch(0.078, 6.0)
    widths = np.linspace(0.5, 1.5, 101) * pitch
    taken = winding.pitch_factor(widths, pitch)
    assert widths[taken.argmax()] == pytest.approx(pitch, rel=1e-9)
    assert winding.pitch_factor(2 * pitch, pitch) == pytest.approx(0.0, abs=1e-12)


def test_text_with_units():
    assert winding.current_density("25 A", 4.0, "0.7854 mm2").to("A/mm**2").magnitude == pytest.approx(7.9577, rel=1e-5)
    assert winding.current_ripple("35 V", 0.5, "295.43 uH", "16 kHz").to("A").magnitude == pytest.approx(1.8511, abs=5e-5)


@pytest.mark.parametrize(("wrong", "words"), [
    (lambda: winding.coil_resistance(0.0, TURN, 4.0, WIRE.area), "turns of winding.coil_resistance must be above zero"),
    (lambda: winding.copper_fill(26.0, -4.0, WIRE.area, 0.015, 0.011), "strands of winding.copper_fill must be above zero"),
    (lambda: winding.current_ripple("35 V", 0.5, "295 uF", "16 kHz"), "line_inductance"),
    (lambda: winding.gauge_diameter("18 mm"), "gauge")])
def test_what_the_equations_refuse(wrong, words):
    with pytest.raises(InputError, match=words):
        wrong()


def test_a_duty_above_one_says_so():
    assert "outside the range" in winding.current_ripple(35.0, 1.2, 295e-6, 16e3).note
