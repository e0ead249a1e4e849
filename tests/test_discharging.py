"""Discharges on the bench: against closed forms, quadrature and other routes; the energy accounted for; refusals in words.

The bank of the closed forms: 150 F, 25 mΩ, 54 V (references in reference/closed_forms_charging_2026.py).
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from evlab import store
from evlab.discharging import discharge
from evlab.supply import Supply
from evlab.units import InputError
from evlab.vehicle import load_vehicle

TRIKE = load_vehicle("two_shed_trike").store
PACK = load_vehicle("kick_scooter").store
PLAIN = replace(TRIKE, slow_share=0.0, overnight_share=0.0, capacitance_slope=0.0)
# 20 cells of 3000 F and 1 mΩ, leads of 5 mΩ: 150 F, 25 mΩ
BANK = replace(
    PLAIN,
    cells_in_series=20,
    cell_capacitance=3000.0,
    cell_resistance=1e-3,
    joint_resistance=0.0,
    lead_resistance=5e-3,
    charge_voltage=54.0,
)


def allowed(run):
    """A hundred-millionth of what was stored: the solver's own error."""
    return 1e-8 * run.stored + 1e-3


# ---------------------------------------------------------------- closed forms
@pytest.mark.parametrize(
    ("load", "seconds", "within"),
    [({"power": 500.0}, 321.7087703, 1e-6), ({"current": 20.0}, 198.75, 1e-6), ({"resistance": 5.0}, 518.700328, 1e-6)],
    ids=["power", "current", "resistor"],
)
def test_the_time_is_that_of_the_closed_form(load, seconds, within):
    # Closed forms, also by quadrature and a circuit simulator; a microsecond is the solver's error
    run = discharge(BANK, stop=27.0, **load)
    assert run.ended == "stop volts"
    assert run.duration == pytest.approx(seconds, abs=within)
    assert run.volts[-1] == pytest.approx(27.0, abs=1e-6)


def test_what_comes_out_at_constant_power_and_what_is_lost():
    run = discharge(BANK, power="500 W", stop="27 V")
    assert run.used == pytest.approx(160854.3852, rel=1e-8)  # the solver's error
    assert run.esr == pytest.approx(1279.539733, rel=1e-7)
    assert run.slow_branch == 0.0
    assert run.stored == pytest.approx(store.energy(150.0, 54.0), rel=1e-12)


def test_what_was_worked_apart_at_600_watts():
    # Worked apart, 2026: closed form and ODE 37.364 s, 355.28 J lost, 15.62 V inside at the end
    plain = replace(PLAIN, charge_voltage=35.0)
    run = discharge(plain, power=600.0, stop=15.0)
    assert run.duration == pytest.approx(37.364, abs=5e-4)
    assert run.esr == pytest.approx(355.28, abs=5e-3)
    assert run.open_volts[-1] == pytest.approx(15.62, abs=5e-3)
    assert run.amps[[0, -1]] == pytest.approx([17.275, 40.0], abs=5e-4)


@pytest.mark.parametrize("load", [{"power": 500.0}, {"current": 20.0}, {"resistance": 5.0}], ids=lambda v: next(iter(v)))
def test_twice_the_capacitance_lasts_twice_as_long(load):
    once, twice = (discharge(replace(BANK, cell_capacitance=f), stop=27.0, **load) for f in (3000.0, 6000.0))
    assert twice.duration == pytest.approx(2 * once.duration, rel=1e-7)
    assert twice.esr == pytest.approx(2 * once.esr, rel=1e-6)


def test_without_resistance_everything_comes_out():
    bare = replace(BANK, cell_resistance=1e-10, lead_resistance=0.0)
    run = discharge(bare, power=500.0, stop=27.0)
    assert run.used == pytest.approx(164025.0, rel=1e-6)  # 150 F from 54 V to 27 V: arithmetic
    assert run.duration == pytest.approx(164025.0 / 500.0, rel=1e-6)
    assert run.esr < 0.01


# ---------------------------------------------------------------- the end
@pytest.mark.parametrize("stop", [0.0, 1.0, 3.0])
def test_a_power_collapses_at_twice_the_root_of_power_times_resistance(stop):
    run = discharge(replace(PLAIN, charge_voltage=35.0), power=900.0, stop=stop)
    assert run.ended == "collapse"
    assert run.open_volts[-1] == pytest.approx(7.4699, abs=5e-5)  # worked apart, 2026
    assert run.volts[-1] == pytest.approx(3.735, abs=1e-3)  # the same; the root is steep there, so a millivolt
    assert run.left == pytest.approx(0.5 * run.stored / 35.0**2 * 2 * 7.46994**2, rel=1e-4)
    assert np.isfinite(run.amps).all()


def test_a_power_that_cannot_be_had_ends_at_once():
    run = discharge(TRIKE, power="30 kW", stop=15.0)
    assert (run.ended, run.duration, run.used) == ("collapse", 0.0, 0.0)


def test_an_end_that_lies_at_the_first_instant():
    run = discharge(TRIKE, power="15 kW", stop=28.0)  # sags below it at once
    assert (run.ended, run.duration) == ("stop volts", 0.0)
    assert run.left == run.stored


def test_the_time_limit_ends_it():
    run = discharge(TRIKE, power=10.0, time_limit=5.0)
    assert (run.ended, run.duration) == ("time limit", 5.0)
    assert run.used == pytest.approx(50.0, rel=1e-9)


# ---------------------------------------------------------------- every joule
STORES = {
    "fast and slow": replace(TRIKE, capacitance_slope=0.0),
    "three branches": replace(TRIKE, overnight_share=0.1, overnight_resistance=300.0),
    "growing with the volts": replace(TRIKE, capacitance_slope=36.0, slow_share=0.0),
    "all of it": replace(TRIKE, capacitance_slope=36.0, overnight_share=0.05),
    "two strings": replace(TRIKE, strings_in_parallel=2, capacitance_slope=20.0),
    "lithium": PACK,
    "lithium without a branch": replace(PACK, branch_resistance=0.0),
    "iron phosphate": replace(PACK, chemistry="lfp", charge_voltage=25.5),
    "titanate": replace(PACK, chemistry="lto", charge_voltage=19.6),
    "silicon": replace(PACK, chemistry="nmc_sic"),
}


@pytest.mark.parametrize("name", STORES)
@pytest.mark.parametrize("load", [{"power": 120.0}, {"current": 8.0}, {"resistance": 3.0}], ids=lambda v: next(iter(v)))
def test_every_joule_is_accounted_for(name, load):
    kept = STORES[name]
    run = discharge(kept, stop=0.55 * kept.full_voltage, **load)
    assert abs(run.closure) < allowed(run)
    assert run.used > 0.7 * (run.stored - run.left)
    assert np.all(np.diff(run.times) > 0)
    assert np.all(np.diff(run.energy) > 0)
    # the energy by its own columns: volts times amps over time, by Simpson's rule over the rows
    if "lithium" not in name and kept.kind == "capacitors":
        assert np.trapezoid(run.volts * run.amps, run.times) == pytest.approx(run.used, rel=1e-3)


def test_a_loss_that_is_one_per_cent_wrong_is_seen(monkeypatch):
    terminal, slope, stored = type(TRIKE).seam

    def wrong(x, p, amps, out):
        slope(x, p, amps, out)
        out[3] *= 1.01

    monkeypatch.setattr(type(TRIKE), "seam", (terminal, wrong, stored))
    run = discharge(replace(TRIKE), power=600.0, stop=15.0)
    assert abs(run.closure) > 100 * allowed(run)


# ---------------------------------------------------------------- branches and a capacitance that grows
def test_two_branches_against_an_ode_of_its_own():
    bank = replace(TRIKE, slow_share=0.08, slow_resistance=5.0, overnight_share=0.0, capacitance_slope=0.0, charge_voltage=35.0)
    whole, ohm = 650.0 / 14, 14 * 1e-3 + 1.5e-3

    def rates(_t, v):
        u = (v[0] + np.sqrt(v[0] ** 2 - 4 * ohm * 300.0)) / 2
        across = (v[0] - v[1]) / 5.0
        return [-(300.0 / u + across) / (0.92 * whole), across / (0.08 * whole)]

    def low(_t, v):
        return (v[0] + np.sqrt(v[0] ** 2 - 4 * ohm * 300.0)) / 2 - 15.0

    low.terminal = True
    own = solve_ivp(rates, (0, 200), [35.0, 35.0], method="DOP853", rtol=1e-11, atol=1e-11, events=low)
    run = discharge(bank, power=300.0, stop=15.0)
    assert run.duration == pytest.approx(own.t_events[0][0], rel=1e-8)
    assert run.open_volts[-1] == pytest.approx(own.y_events[0][0][0], rel=1e-8)


def test_a_third_branch_gives_its_charge_only_overnight():
    bank = replace(TRIKE, overnight_share=0.1, overnight_resistance=1000.0, slow_share=0.08)
    quick, slow = (discharge(bank, current=amps, stop=15.0) for amps in (30.0, 0.002))
    charge = [float(np.trapezoid(run.amps, run.times)) for run in (quick, slow)]
    whole = bank.capacitance * (bank.charge_voltage - 15.0)
    assert charge[1] == pytest.approx(whole, rel=2e-3)  # over days nearly all of it comes out
    assert charge[0] == pytest.approx(0.82 * whole, rel=0.05)  # within half a minute the fast branch, and a little more


def test_a_capacitance_that_grows_holds_what_quadrature_says():
    # Worked apart, 2026: C = 560 F + 36 F/V times the volts: 1512.5 C and 1937.5 J at 2.5 V
    share = 560.0 + 36.0 * store.WINDOW_MIDDLE * 2.7  # so that the empty cell has 560 F
    bank = replace(PLAIN, cell_capacitance=share, capacitance_slope=36.0, cell_rated_voltage=2.7, charge_voltage=35.0)
    assert bank.energy(bank.full_state()) == pytest.approx(14 * 1937.5, rel=1e-12)
    run = discharge(bank, current=0.01)  # so slowly that nothing is lost
    volts = np.linspace(0.0, 2.5, 6)
    by_quadrature = [14 * quad(lambda v: v * (560.0 + 36.0 * v), low, 2.5)[0] for low in volts]
    along = np.interp(-14 * volts, -run.open_volts, run.energy)
    assert along == pytest.approx(by_quadrature, rel=1e-3, abs=1.0)  # read between rows
    assert run.used + run.left == pytest.approx(14 * 1937.5, rel=1e-5)
    assert run.duration * 0.01 == pytest.approx(1512.5, rel=1e-4)


def test_one_capacitance_says_too_much_for_a_full_cell():
    # worked apart, 2026: C V²/2 with the capacitance at full volts tells 4.8387 % too much
    cell = store.sloped_energy(560.0, 36.0, 2.5)
    assert 100 * (store.energy(650.0, 2.5) / cell - 1) == pytest.approx(4.8387, abs=5e-5)


# ---------------------------------------------------------------- lithium and cold
def test_a_pack_at_constant_current_lasts_what_its_charge_says():
    run = discharge(replace(PACK, branch_resistance=0.0), current=6.0, stop=0.0)
    assert run.ended == "empty"
    assert run.duration == pytest.approx(3600.0, rel=1e-5)  # 6 Ah at 6 A
    assert float(np.trapezoid(run.amps, run.times)) == pytest.approx(PACK.charge, rel=1e-5)


def test_the_power_of_a_pack_is_the_upper_root():
    run = discharge(PACK, power=300.0, stop=21.0, temperature=298.15)
    p = PACK.parameters(298.15)
    inside, ohm = PACK.inside(PACK.full_state(), p)
    assert run.volts[0] == pytest.approx(brentq(lambda u: u * (inside - u) / ohm - 300.0, inside / 2, inside), rel=1e-10)
    assert run.volts * run.amps == pytest.approx(np.full(len(run.times), 300.0), rel=1e-9)


def test_cold_costs_energy():
    for kept, cold in ((TRIKE, 243.15), (PACK, 263.15)):
        warm, frost = (discharge(kept, power=300.0, stop=0.6 * kept.full_voltage, temperature=t) for t in (298.15, cold))
        assert frost.used < warm.used
        assert frost.esr > warm.esr * (1.1 if kept is TRIKE else 1.5)
        assert abs(frost.closure) < allowed(frost)


def test_a_start_in_words_and_as_a_state():
    runs = [discharge(TRIKE, power=100.0, stop=15.0, start=s) for s in (20.0, "20 V", TRIKE.state_at(20.0))]
    assert runs[0].used == runs[1].used == runs[2].used
    half = discharge(PACK, current=6.0, start="50 %", stop=15.0)
    assert half.duration == pytest.approx(1800.0, rel=1e-4)


# ---------------------------------------------------------------- refusals
@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({}, "one of power, current and resistance"),
        ({"power": 1.0, "current": 1.0}, "one of power, current and resistance"),
        ({"power": 0.0}, "above zero"),
        ({"current": -3.0}, "above zero"),
        ({"resistance": "0 Ohm"}, "above zero"),
        ({"power": float("nan")}, "finite"),
        ({"power": "ten"}, "power of discharge"),
        ({"power": "3 A"}, "power of discharge"),
        ({"power": 10.0, "stop": 40.0}, "below the 35 V"),
        ({"power": 10.0, "stop": -1.0}, "zero volts or more"),
        ({"power": 10.0, "stop": "low"}, "stop of discharge"),
        ({"power": 10.0, "time_limit": 0.0}, "above zero seconds"),
        ({"power": 10.0, "start": -4.0}, "start of discharge"),
        ({"power": 10.0, "start": [1.0, 2.0]}, "start of discharge"),
    ],
)
def test_what_cannot_be_is_refused_in_words(asked, words):
    with pytest.raises(InputError, match=words):
        discharge(TRIKE, **asked)


def test_a_supply_never_empties():
    with pytest.raises(InputError, match="never empties"):
        discharge(Supply(30.0, 0.1), power=100.0)
