"""Life by rule and by sheet, warmth, and the losses of a swing."""

import math

import pytest

from evlab import ageing, store
from evlab.ageing import CONFLICT, life_at, life_table
from evlab.units import InputError

YEAR = 365 * 86400.0


def test_ten_kelvin_or_a_fifth_of_a_volt_halve_the_life_and_both_cancel():
    base = life_at(308.15, 2.6)
    assert life_at(318.15, 2.6) == pytest.approx(base / 2)
    assert life_at(308.15, 2.8) == pytest.approx(base / 2)
    assert life_at(318.15, 2.4) == pytest.approx(base)
    assert life_at(338.15, 2.7) == pytest.approx(1500 * 3600)
    assert life_at(338.15, 2.7, rated_life=9e6) == pytest.approx(9e6)


def test_other_steps_for_other_cells():
    assert ageing.temperature_life(338.15, 298.15, 7.0) > ageing.temperature_life(338.15, 298.15)
    assert ageing.voltage_life(2.7, 2.5, 0.1) == pytest.approx(4.0)


def test_the_table_shows_the_conflict():
    rows = {r.words: r for r in life_table()}
    five = rows["5 F cell, 25 °C, 2.7 V"]
    assert five.sheet == pytest.approx(10 * YEAR)
    assert five.rule < five.sheet / 3
    assert five.halving_rise == pytest.approx(40 / math.log2(87600 / 1500))  # the step that would make both agree
    assert rows["2000 F cell, 25 °C, 2.7 V"].halving_rise == pytest.approx(40 / math.log2(87600 / 2500))
    assert rows["5 F cell, 85 °C, 2.3 V"].rule == pytest.approx(rows["5 F cell, 85 °C, 2.3 V"].sheet)
    assert math.isnan(rows["charged to 2.5 V, 25 °C, 2.5 V"].sheet)
    assert all(r.source for r in rows.values())


def test_the_words_of_the_conflict_are_those_of_the_numbers():
    five = life_table()[0]
    assert f"{five.rule / YEAR:.1f} years" in CONFLICT
    assert f"every {five.halving_rise:.1f} K" in CONFLICT


def test_the_fullest_cell_ages_first():
    lives = {r.words: r.rule for r in life_table(2.8)}
    assert lives["the fullest cell, 25 °C, 2.8 V"] < lives["charged to 2.5 V, 25 °C, 2.5 V"] / 2


def test_warmth_goes_with_the_square():
    one, two = (ageing.cell_rise(amps, 2.2e-3, 10.9) for amps in (10.0, 20.0))
    assert two == pytest.approx(4 * one)
    assert ageing.cell_rise.solve_for("rms_current", cell_rise=two, cell_resistance=2.2e-3, cell_thermal_resistance=10.9) == (
        pytest.approx(20.0))


@pytest.mark.parametrize("amps", [1.0, 30.0, 100.0])
def test_efficiency_of_a_swing_from_its_times_and_energies(amps):
    """By the closed forms of the discharge at constant current, another room's."""
    farad, ohm, high, low = 46.43, 0.0155, 35.0, 15.0
    seconds = store.constant_current_time(farad, high, amps, ohm, low - amps * ohm)
    given, lost = store.constant_current_energy(amps, seconds, high, ohm, farad), store.constant_current_loss(amps, ohm, seconds)
    assert ageing.discharging_efficiency((high + low) / 2, amps, ohm) == pytest.approx(given / (given + lost))
    inside = store.usable_energy(farad, high, low)
    assert ageing.charging_efficiency((high + low) / 2, amps, ohm) == pytest.approx(inside / (inside + lost))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: life_at(298.15, 2.5, rated_life=0.0), "rated_life of ageing.life_at must be above zero; instead received 0.0."),
        (lambda: life_at(-5.0, 2.5), "cell_temperature of ageing.temperature_life must be above zero; instead received -5 K."),
        (lambda: ageing.cell_rise(10.0, 1e-3, -1.0), "cell_thermal_resistance of ageing.cell_rise must be above zero"),
        (lambda: ageing.charging_efficiency(0.0, 1.0, 0.1), "mean_voltage of ageing.charging_efficiency must be above zero"),
    ],
)
def test_what_cannot_be_is_refused_in_words(call, words):
    with pytest.raises(InputError) as refusal:
        call()
    assert words in str(refusal.value)


def test_beyond_the_rule_a_note_goes_along():
    assert "outside the range" in ageing.temperature_life(338.15, 400.0).note
    assert "outside the range" in ageing.voltage_life(2.7, 3.5).note
