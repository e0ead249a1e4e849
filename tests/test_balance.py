"""Cells of one string: sharing by capacitance and by leakage, random strings, bleed resistors, clamps, and what is refused."""

import time

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.linalg import expm
from scipy.optimize import brentq

from evlab import balance
from evlab.balance import cell_volts, clamp_run, decay, float_cells, float_string, random_strings
from evlab.units import InputError

DAY = 86400.0
LEAK = 2.5 / 1.5e-3


# ---------------------------------------------------------------- by capacitance
def test_equal_cells_share_equally_from_any_start():
    assert cell_volts(35.0, [650.0] * 14) == pytest.approx([2.5] * 14, rel=1e-14)
    assert cell_volts(35.0, [650.0] * 14, [1.0] * 14) == pytest.approx([2.5] * 14, rel=1e-14)
    assert cell_volts(5.0, [650.0]) == pytest.approx([5.0])


def test_the_sum_is_the_string_and_each_cell_gets_the_same_charge():
    farads, start = np.array([500.0, 650.0, 700.0]), np.array([0.3, 1.0, 0.0])
    volts = cell_volts(7.5, farads, start)
    assert volts.sum() == pytest.approx(7.5, rel=1e-14)
    charges = (volts - start) * farads
    assert charges == pytest.approx([charges[0]] * 3, rel=1e-12)


def test_a_start_difference_outlives_the_charge():
    """Cells that begin apart stay apart when they are equal: charging in series balances nothing."""
    volts = cell_volts(5.0, [650.0, 650.0], [0.4, 0.0])
    assert volts[0] - volts[1] == pytest.approx(0.4)


def test_random_strings_are_the_same_for_a_seed_and_whatever_their_number_is_cut_into():
    first, again, other = random_strings(35.0, 14), random_strings(35.0, 14), random_strings(35.0, 14, seed=2)
    assert (first.worst == again.worst).all()
    assert not (first.worst == other.worst).all()
    assert (random_strings(35.0, 14, number=200_000).worst[:20_000] == first.worst).all()


def test_random_strings_lie_between_the_mean_and_the_worst_case():
    s = random_strings(35.0, 14)
    assert s.average == 2.5
    assert s.average < s.worst.min()
    assert s.worst.max() < s.worst_case
    assert s.mean < s.p95 < s.worst_case
    assert (s.worst <= s.p95).mean() == pytest.approx(0.95, abs=1e-3)
    assert s.share_above(s.p95) == pytest.approx(0.05, abs=1e-3)
    assert (s.rated, s.surge) == (2.7, 2.85)
    assert random_strings(s.safe_voltage, 14, number=10).worst_case == pytest.approx(2.7, rel=1e-12)


def test_one_string_by_hand():
    """The draws themselves, taken again and charged cell by cell."""
    farads = np.random.default_rng(5).uniform(1.0, 1.2, (3, 4))
    by_hand = [cell_volts(10.0, row).max() for row in farads]
    assert random_strings(10.0, 4, number=3, seed=5).worst == pytest.approx(by_hand, rel=1e-12)


def test_no_spread_no_worst_cell():
    s = random_strings(35.0, 14, 0.1, 0.1, number=100)
    assert s.worst == pytest.approx([2.5] * 100)
    assert s.worst_case == pytest.approx(2.5)
    assert random_strings(2.7, 1, number=5).worst == pytest.approx([2.7] * 5)


def test_random_strings_keep_pace_with_a_slider():
    random_strings(35.0, 14)
    begun = time.perf_counter()
    random_strings(35.0, 14)
    assert time.perf_counter() - begun < 0.15  # 13 ms on a quiet machine


# ---------------------------------------------------------------- by leakage
def exactly(farads, ohms, first, times):
    """A floating string without clamps by the matrix exponential."""
    siemens, back = 1 / np.asarray(ohms, float), 1 / np.asarray(farads, float)
    kept = np.eye(len(back)) - np.outer(np.ones(len(back)), back) / back.sum()
    system = -np.diag(back) @ kept @ np.diag(siemens)
    return np.array([expm(system * t) @ first for t in times])


def test_a_float_by_the_solver_is_that_of_the_matrix_exponential():
    farads, ohms = [650.0, 700.0, 780.0, 660.0], [800.0, 1700.0, 1600.0, 2500.0]
    times, volts = float_cells(farads, ohms, 10.0, 10 * DAY, start=[2.5, 2.4, 2.6, 2.5])
    assert volts[::40] == pytest.approx(exactly(farads, ohms, volts[0], times[::40]), abs=2e-5)
    assert volts.sum(axis=1) == pytest.approx(np.full(len(times), 10.0), abs=1e-9)


@pytest.mark.parametrize("bleed", [0.0, LEAK / 10])
def test_the_closed_form_of_one_odd_cell_is_the_solver_s(bleed):
    run = float_string(35.0, 14, 650.0, LEAK, bleed=bleed)
    times, volts = float_cells([650.0] * 14, [LEAK / 2] + [LEAK] * 13, 35.0, 30 * DAY, bleed=bleed)
    assert run.times == pytest.approx(times)
    assert run.odd == pytest.approx(volts[:, 0], abs=2e-5)
    assert run.others == pytest.approx(volts[:, 1], abs=2e-5)


def test_a_float_forgets_the_capacitance_and_follows_the_leakage():
    small = float_string(35.0, 14, 780.0, LEAK, 400 * DAY, leak_factor=1.0, odd_capacitance=650.0)
    assert small.odd[0] == pytest.approx(2.9577, abs=5e-5)  # the worst cell of a charge from empty
    assert small.odd_end == pytest.approx(2.5, abs=1e-6)
    assert float_string(35.0, 14, 650.0, LEAK, leak_factor=0.5).odd_end > 2.5  # the tight cell fills up
    assert float_string(2.5, 1, 650.0, LEAK).odd_end == pytest.approx(2.5)


def test_bleed_resistors_hold_the_leaky_cell_and_cost_stand_by():
    bare, bled = float_string(35.0, 14, 650.0, LEAK), float_string(35.0, 14, 650.0, LEAK, bleed=LEAK / 10)
    assert bare.odd_end < 1.5 < 2.3 < bled.odd_end
    assert bled.odd_settled == pytest.approx(bled.odd_end, abs=1e-4)  # settled long before
    (_, alone), (_, with_it) = decay(650.0, LEAK), decay(650.0, float(balance.drain_resistance(LEAK, LEAK / 10)))
    assert (alone > with_it).all()


def test_a_decay_is_spaced_by_its_logarithm():
    times, share = decay(650.0, LEAK, 10 * DAY)
    assert np.diff(np.log(times)) == pytest.approx(np.log(10 * DAY / 60) / 120)
    assert share == pytest.approx(np.exp(-times / (650.0 * LEAK)))
    assert decay(1.0, 1.0, 5.0)[0][0] < 0.01  # a small cell that is empty in seconds


def test_a_clamp_that_keeps_up_holds_its_cell():
    """The leakage of the others through a tight cell, against half an ampere."""
    ohms = [50 * LEAK] + [LEAK] * 13
    _, free = float_cells([650.0] * 14, ohms, 35.0, 30 * DAY)
    _, held = float_cells([650.0] * 14, ohms, 35.0, 30 * DAY, clamp_voltage=2.55, clamp_current=0.5)
    assert free[-1, 0] > 5.0  # nonsense of the resistor model, but the clamp has to face it
    assert 2.55 < held[-1, 0] < 2.56
    assert held.sum(axis=1) == pytest.approx(np.full(241, 35.0), abs=1e-8)


def test_where_a_clamped_string_settles_by_another_route():
    """Every current is the same in the end: a root over that current, cell by cell."""
    ohms = np.array([20 * LEAK, LEAK, LEAK / 2])

    def drain(volts, ohm):
        s = min(max((volts - 2.5) / 0.010, 0.0), 1.0)
        return volts / ohm + 0.5 * s * s * (3 - 2 * s)

    def volts(amps):
        return np.array([brentq(lambda v, r=r: drain(v, r) - amps, 0.0, 1e5, xtol=1e-13) for r in ohms])

    amps = brentq(lambda i: volts(i).sum() - 7.2, 1e-6, 0.4, xtol=1e-16)
    _, run = float_cells([650.0, 600.0, 700.0], ohms, 7.2, 300 * DAY, clamp_voltage=2.5, clamp_current=0.5)
    assert run[-1] == pytest.approx(volts(amps), abs=1e-5)


def test_thirty_days_keep_pace_with_a_slider():
    args = ([650.0] * 14, [LEAK / 50] + [LEAK] * 13, 35.0, 30 * DAY)
    float_cells(*args)
    begun = time.perf_counter()
    float_cells(*args, clamp_voltage=2.55, clamp_current=0.5)
    assert time.perf_counter() - begun < 0.4  # 10 ms on a quiet machine


# ---------------------------------------------------------------- clamps under a charger
def stepped(voltage, n, amps, small, large, clamp_voltage, clamp_current):
    """The same charge by an ODE of all cells with a steep, smooth clamp on each."""
    farads = np.array([small] + [large] * (n - 1))

    def slopes(_, volts):
        s = np.clip((volts - clamp_voltage) / 1e-4, 0.0, 1.0)
        return (amps - clamp_current * s) / farads

    def full(_, volts):
        return volts.sum() - voltage

    full.terminal = True
    run = solve_ivp(slopes, (0.0, 1e5), np.zeros(n), method="LSODA", rtol=1e-9, atol=1e-9, events=full)
    return run.t[-1], run.y[:, -1]


@pytest.mark.parametrize(
    ("voltage", "amps"), [(35.0, 6.0), (35.0, 0.6), (35.0, 0.4), (39.0, 6.0), (30.0, 6.0)], ids=str
)
def test_a_charge_past_clamps_by_all_cells(voltage, amps):
    run = clamp_run(voltage, 14, amps, 650.0, 780.0)
    assert run.ended == "full"
    seconds, volts = stepped(voltage, 14, amps, 650.0, 780.0, 2.65, 0.5)
    assert run.times[-1] == pytest.approx(seconds, rel=1e-4)
    assert run.odd_end == pytest.approx(volts[0], abs=3e-4)
    assert run.others_end == pytest.approx(volts[1], abs=3e-4)
    assert run.string[-1] == pytest.approx(voltage, rel=1e-9)


def test_clamps_keep_up_when_the_current_is_theirs():
    run = clamp_run(35.0, 14, 0.5, 650.0, 780.0)
    assert run.odd.max() == pytest.approx(2.65)
    assert run.times[-1] - run.times[1] == pytest.approx(run.finishing_time)
    assert clamp_run(35.0, 14, 6.0, 650.0, 780.0, clamp_current=6.0).odd.max() == pytest.approx(2.65)


def test_clamps_that_hold_every_cell_never_let_the_charge_end():
    run = clamp_run(39.0, 14, 0.4, 650.0, 780.0)
    assert run.ended == "held"
    assert run.string[-1] == pytest.approx(14 * 2.65)
    assert run.finishing_time == np.inf


def test_without_clamps_or_before_they_draw_it_is_the_plain_share():
    bare = clamp_run(35.0, 14, 6.0, 650.0, 780.0, clamp_current=0.0)
    assert bare.odd_end == pytest.approx(cell_volts(35.0, [650.0] + [780.0] * 13)[0])
    assert np.isnan(bare.starts)
    low = clamp_run(30.0, 14, 6.0, 650.0, 780.0)
    assert low.odd_end < 2.65
    assert low.finishing_time == 0.0
    assert clamp_run(2.0, 1, 6.0, 650.0, 650.0).odd_end == pytest.approx(2.0)


# ---------------------------------------------------------------- refusals
REFUSED = [
    (lambda: cell_volts(35.0, [650.0, 0.0]), "of balance.cell_volts must be above zero; instead received [650.0, 0.0]"),
    (lambda: cell_volts(35.0, [650.0, -1.0]), "must be above zero"),
    (lambda: cell_volts(35.0, [650.0, 650.0], [1.0]), "start of balance.cell_volts must be one number for each of the 2 cells"),
    (lambda: cell_volts(np.nan, [650.0]), "a finite number of volts"),
    (lambda: random_strings(35.0, 0), "cells_in_series of balance.random_strings must be a whole number from 1 to 1000"),
    (lambda: random_strings(35.0, 2.5), "instead received 2.5"),
    (lambda: random_strings(-1.0, 14), "voltage of balance.random_strings must be zero or more volts; instead received -1.0"),
    (lambda: random_strings(35.0, 14, -1.0), "low of balance.random_strings must be above -1: a cell has some capacitance"),
    (lambda: random_strings(35.0, 14, 0.1, 0.0), "high of balance.random_strings must be not below low, 0.1"),
    (lambda: random_strings(35.0, 14, rated=3.0), "rated of balance.random_strings must be above zero and not above surge, 2.85 V"),
    (lambda: random_strings(35.0, 14, number=0), "number of balance.random_strings must be a whole number from 1 to 1 000 000"),
    (lambda: random_strings(35.0, 14, number=1_000_001), "instead received 1000001"),
    (lambda: float_string(35.0, 0, 650.0, LEAK), "cells_in_series of balance.float_string"),
    (lambda: float_string(35.0, 14, -650.0, LEAK), "cell_capacitance of balance.float_string must be above zero"),
    (lambda: float_string(35.0, 14, 650.0, LEAK, 0.0), "duration of balance.float_string must be above zero; instead received 0.0"),
    (lambda: float_string(35.0, 14, 650.0, -5.0), "leak_resistance of balance.float_string must be above zero"),
    (lambda: float_string(35.0, 14, 650.0, LEAK, bleed=-1.0), "bleed of balance.float_string must be zero (none fitted) or more"),
    (lambda: float_string(35.0, 14, 650.0, LEAK, leak_factor=0.0), "leak_factor of balance.float_string must be above zero"),
    (lambda: float_cells([650.0], [LEAK, LEAK], 2.5, DAY), "leak_resistances of balance.float_cells must be one number for each"),
    (lambda: float_cells([650.0], [0.0], 2.5, DAY), "leak_resistances of balance.float_cells must be above zero"),
    (lambda: float_cells([650.0], [LEAK], 2.5, -DAY), "duration of balance.float_cells must be above zero"),
    (lambda: float_cells([650.0], [LEAK], 2.5, DAY, clamp_current=-0.5), "clamp_current of balance.float_cells must be zero"),
    (lambda: float_cells([650.0], [LEAK], 2.5, DAY, clamp_voltage=0.0), "clamp_voltage of balance.float_cells must be above zero"),
    (lambda: decay(650.0, LEAK, 0.0), "duration of balance.decay must be above zero"),
    (lambda: decay(0.0, LEAK), "cell_capacitance of balance.decay_time must be above zero"),
    (lambda: clamp_run(35.0, 14, 0.0, 650.0, 780.0), "charging_current of balance.clamp_run must be above zero"),
    (lambda: clamp_run(35.0, 14, 6.0, 780.0, 650.0), "that of the larger cells, not below the 780 F of the small one"),
    (lambda: clamp_run(35.0, 14, 6.0, 650.0, 780.0, clamp_current=-1.0), "clamp_current of balance.clamp_run must be zero"),
    (lambda: clamp_run(np.nan, 14, 6.0, 650.0, 780.0), "voltage of balance.clamp_run must be above zero; instead received nan"),
]


@pytest.mark.parametrize(("call", "words"), REFUSED, ids=range(len(REFUSED)))
def test_what_cannot_be_is_refused_in_words(call, words):
    with pytest.raises(InputError) as refusal:
        call()
    assert words in str(refusal.value)
    assert str(refusal.value).endswith(".")
