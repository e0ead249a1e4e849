"""The test of one cell: known cells discharged on paper, read back; other windows; and logs that are refused."""

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
    found = capacitance_test(*log(), AMPS, RATED)
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


def test_a_log_with_a_rest_before_needs_the_switch_on():
    times, volts = log(rest=60.0)
    found = capacitance_test(times, volts, AMPS, RATED, start=0.0)
    assert found.resistance == pytest.approx(OHM, rel=1e-8)
    with pytest.raises(InputError, match="the moment of switch-on, before which the volts stood above the straight line"):
        capacitance_test(times, volts, AMPS, RATED)


def test_a_switch_on_taken_late_reads_as_resistance():
    """An error of one line is I dt/C in volts, dt/C in ohms."""
    times, volts = log(step=0.1)
    shifted = np.concatenate(([times[0] - 0.1], times[1:]))
    found = capacitance_test(shifted, volts, AMPS, RATED)
    assert OHM - found.resistance == pytest.approx(0.1 / FARAD, rel=1e-6)


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
    (lambda: capacitance_test(T, U, AMPS, RATED, start=1e4), "start of cell_check.capacitance_test must be inside the log"),
]


@pytest.mark.parametrize(("call", "words"), REFUSED, ids=range(len(REFUSED)))
def test_a_log_that_cannot_be_read_is_refused_in_words(call, words):
    with pytest.raises(InputError) as refusal:
        call()
    assert words in str(refusal.value)
    assert str(refusal.value).endswith(".")
