"""The test of one cell: known cells discharged on paper, read back; other windows; and logs that are refused."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from evlab import cell_check
from evlab.cell_check import WINDOWS, capacitance_test
from evlab.units import InputError

FARAD, OHM, AMPS, RATED = 3000.0, 0.29e-3, 100.0, 2.7


def log(step=0.5, rest=0.0, noise=0.0, farad=FARAD, ohm=OHM, amps=AMPS):
    """Times and terminal volts of a linear cell at rest, then discharged."""
    times = np.arange(-rest, 0.9 * RATED * farad / amps, step)
    flowing = times > 0
    volts = RATED - np.where(flowing, amps * ohm + amps * times / farad, 0.0)
    return times, volts + noise * np.random.default_rng(3).standard_normal(times.size)


def branched(amps):
    """The log of a cell with a slow branch: 88 % at once, 12 % behind a resistor."""
    fast, slow, ohm = 0.88 * FARAD, 0.12 * FARAD, 0.06

    def slopes(_, v):
        across = (v[0] - v[1]) / ohm
        return [(-amps - across) / fast, across / slow]

    times = np.linspace(0.0, 0.8 * RATED * FARAD / amps, 3000)
    run = solve_ivp(slopes, (0.0, times[-1]), [RATED, RATED], t_eval=times, rtol=1e-9, atol=1e-9, method="LSODA")
    volts = run.y[0] - amps * OHM
    volts[0] = RATED
    return times, volts


def test_a_known_cell_comes_back():
    found = capacitance_test(*log(), AMPS, RATED, start=0.0)
    assert found.capacitance == pytest.approx(FARAD, rel=1e-9)
    assert found.energy_capacitance == pytest.approx(FARAD, rel=1e-9)
    assert found.resistance == pytest.approx(OHM, rel=1e-8)
    assert (found.first_voltage, found.last_voltage) == pytest.approx((2.16, 1.08))
    assert found.last_time - found.first_time == pytest.approx(FARAD * 1.08 / AMPS)
    assert found.loss == pytest.approx(AMPS**2 * OHM * (found.last_time - found.first_time))
    assert found.line[0] == pytest.approx(-AMPS / FARAD)
    assert found.window == "IEC 62391-1"


@pytest.mark.parametrize(("name", "shares"), WINDOWS.items())
def test_every_window_finds_a_linear_cell_and_says_its_name(name, shares):
    found = capacitance_test(*log(), AMPS, RATED, high=shares[0], low=shares[1])
    assert found.capacitance == pytest.approx(FARAD)
    assert found.window == name
    assert name in found.words


def test_a_window_of_ones_own_is_named_by_its_shares():
    assert "75 % to 50 %" in capacitance_test(*log(), AMPS, RATED, high=0.75, low=0.5).words


def test_coarse_lines_are_interpolated_and_noise_is_averaged():
    assert capacitance_test(*log(step=11.0), AMPS, RATED).capacitance == pytest.approx(FARAD)
    noisy = capacitance_test(*log(step=0.1, noise=1e-3), AMPS, RATED)
    assert noisy.capacitance == pytest.approx(FARAD, rel=0.01)


def test_a_switch_on_that_is_known_is_used():
    times, volts = log(rest=60.0)
    found = capacitance_test(times, volts, AMPS, RATED, start=0.0)
    assert found.resistance == pytest.approx(OHM, rel=1e-8)
    assert found.resistance_spread < 1e-9


@pytest.mark.parametrize("step", [0.01, 0.1, 1.0])
def test_the_switch_on_lies_anywhere_between_two_lines(step):
    """Without noise: the error of the resistance is (middle - true moment)/C, and the spread is the step over C times root 12."""
    for at in (0.001, 0.25, 0.5, 0.999):
        for rest in (1, 25, 400):  # lines at rest, as loggers write them
            times = step * np.arange(-rest + 1, int(60.0 / step))
            on = at * step
            volts = np.where(times > on, RATED - AMPS * OHM - AMPS * (times - on) / FARAD, RATED)
            found = capacitance_test(times, volts, AMPS, RATED)
            assert found.start_between == pytest.approx((0.0, step))
            assert found.resistance - OHM == pytest.approx((0.5 - at) * step / FARAD, abs=1e-9)
            assert found.resistance_spread == pytest.approx(step / FARAD / math.sqrt(12), rel=1e-6)


@pytest.mark.parametrize("hertz", [1, 10, 100])
@pytest.mark.parametrize("rest", [1, 40])
def test_the_spread_is_honest_and_the_bias_small(hertz, rest):
    """Four hundred logs of an exact capacitor behind a resistor (46.43 F, 15.5 mOhm, 30 A from 35 V, 20 mV of noise, steps of
    40 V/1024), switched on anywhere between two lines.  An even spread reaches 1.73 standard deviations, a normal one 1.96 in 95 %.
    """
    rng = np.random.default_rng(20261201 + 10 * hertz + rest)
    farad, ohm, amps, full = 46.429, 15.5e-3, 30.0, 35.0
    ohms, spreads, farads = [], [], []
    for _ in range(400):
        on = rng.uniform(0.0, 1.0 / hertz)
        times = np.arange(-rest + 1, 35 * hertz) / hertz + 1e-6
        charge = amps * np.maximum(times - on, 0.0)
        volts = full - charge / farad - np.where(times > on, amps * ohm, 0.0) + rng.normal(0.0, 0.02, times.size)
        volts = np.round(volts * 1024 / 40) * 40 / 1024
        found = capacitance_test(times, volts, amps, full)
        ohms.append(found.resistance), spreads.append(found.resistance_spread), farads.append(found.capacitance)
    error, spread = np.array(ohms) - ohm, np.array(spreads)
    assert abs(error.mean()) < spread.mean() / 3
    assert 0.8 < np.sqrt((error**2).mean()) / np.sqrt((spread**2).mean()) < 1.2
    assert (np.abs(error) < 2 * spread).mean() > 0.93
    assert np.mean(farads) == pytest.approx(farad, rel=1e-3)


def test_a_coarse_log_says_that_it_hardly_knows_the_resistance():
    times = np.arange(-5.0, 40.0)
    volts = np.where(times > 0.3, 35.0 - 30.0 * 0.0155 - 30.0 * (times - 0.3) / 46.429, 35.0)
    found = capacitance_test(times, volts, 30.0, 35.0)
    assert "between two lines 1 s apart, so the resistance is hardly known: record faster" in found.words
    assert "± 6.2 mΩ at switch-on" in found.words


@pytest.mark.parametrize("noise", [0.0, 1e-3, 5e-3])
def test_a_log_that_begins_under_load_is_refused(noise):
    times, volts = log(step=0.1, noise=noise)
    with pytest.raises(InputError, match="begins at rest, with volts that step down at switch-on"):
        capacitance_test(times[5:], volts[5:], AMPS, RATED)


def test_a_larger_current_gives_less_where_there_is_a_slow_branch():
    found = [capacitance_test(*branched(amps), amps, RATED) for amps in (10.0, 100.0, 1000.0)]
    farads = [f.capacitance for f in found]
    assert farads[0] > farads[1] > farads[2] > 0.87 * FARAD
    assert farads[0] == pytest.approx(FARAD, rel=0.01)
    assert found[1].resistance > OHM  # the straight line drawn back sees the branch as ohms
    assert "A larger current gives less" in found[0].words


def test_currents_of_the_test_go_with_rated_volts_over_resistance():
    assert cell_check.discharging_test_current(2.7, 1e-3) < cell_check.charging_test_current(2.7, 1e-3)
    assert cell_check.charging_test_current(2.7, 2e-3) == pytest.approx(cell_check.charging_test_current(2.7, 1e-3) / 2)


T, U = log()
REFUSED = [
    (lambda: capacitance_test([], [], AMPS, RATED), "times of cell_check.capacitance_test must be a log of three lines or more"),
    (lambda: capacitance_test(T, U[1:], AMPS, RATED), f"must be one number for each of the {T.size} times"),
    (lambda: capacitance_test(T, np.where(T == 50, np.nan, U), AMPS, RATED), "numbers without gaps (cut them out); instead"),
    (lambda: capacitance_test(T[::-1], U, AMPS, RATED), "rising from line to line"),
    (lambda: capacitance_test(T, U, 0.0, RATED), "current of cell_check.capacitance_test must be above zero"),
    (lambda: capacitance_test(T, U, -5.0, RATED), "instead received -5.0 A"),
    (lambda: capacitance_test(T, U, AMPS, 0.0), "rated of cell_check.capacitance_test must be above zero"),
    (lambda: capacitance_test(T, U[::-1], AMPS, RATED), "those of a discharge, which falls"),
    (lambda: capacitance_test(T[:60], U[:60], AMPS, RATED), "a log that falls through 1.08 V, an end of the window"),
    (lambda: capacitance_test(T[40:], U[40:], AMPS, RATED), "a log that falls through 2.16 V, an end of the window"),
    (lambda: capacitance_test(T, U, AMPS, RATED, high=0.4, low=0.8), "high of cell_check.capacitance_test must be above low (0.8)"),
    (lambda: capacitance_test(T, U, AMPS, RATED, high=1.1), "at most 1"),
    (lambda: capacitance_test(T, U, None, RATED), "current of cell_check.capacitance_test must be above zero"),
    (lambda: capacitance_test(T, U, "30 A", RATED), "instead received 30 A A"),
    (lambda: capacitance_test(T, U, AMPS, float("nan")), "rated of cell_check.capacitance_test must be above zero"),
    (lambda: capacitance_test(T, U, AMPS, RATED, low=None), "must be above low (None)"),
    (lambda: capacitance_test(None, U, AMPS, RATED), "times of cell_check.capacitance_test must be"),
    (lambda: capacitance_test("log.csv", U, AMPS, RATED), "must be lists of numbers in s and in V"),
    (lambda: capacitance_test(T, U, AMPS, RATED, start=1e4), "start of cell_check.capacitance_test must be inside the log"),
]


@pytest.mark.parametrize(("call", "words"), REFUSED, ids=range(len(REFUSED)))
def test_a_log_that_cannot_be_read_is_refused_in_words(call, words):
    with pytest.raises(InputError) as refusal:
        call()
    assert words in str(refusal.value)
    assert str(refusal.value).endswith(".")
