"""The charge within a day against `charging`, which runs the same store cell by cell on SciPy's solver."""

import numpy as np
import pytest

import evlab
from evlab.recharging import refill, rest

EQUAL = {"store.cell_leakage": 0.0, "store.clamp_current": 0.0, "store.cell_tolerance": 0.0}  # then both mean the same bank


@pytest.fixture(scope="module")
def trike():
    return evlab.load_vehicle("two_shed_trike").change(EQUAL)


@pytest.mark.parametrize("changes", [
    {}, {"charger.power_limit": "100 W"}, {"store.capacitance_slope": "36 F/V"}, {"store.overnight_share": "5 %"},
    {"charger.kind": "resistor", "charger.series_resistance": "6 Ohm", "charger.source_voltage": "36 V"},
    {"charger.highest_voltage": "36 V", "charger.cable_resistance": "0.2 Ohm"},
])
@pytest.mark.parametrize("start", [0.5, 20.0])
def test_a_bank_is_charged_as_by_the_solver(trike, changes, start):
    vehicle = trike.change(changes)
    whole, other = refill(vehicle, vehicle.store.state_at(start)), evlab.charge(vehicle, start=start)
    assert whole.outcome == other.outcome == "full"
    # Where one limit takes over from another is not located here: a kink within a step of half a second costs half a millisecond.
    assert whole.duration == pytest.approx(other.duration, abs=2e-3)
    assert np.allclose(whole.state, other.end_state("capacitors")[0], atol=1e-5)
    for key, joules in whole.ledger.items():
        assert joules == pytest.approx(other.ledger[key], rel=2e-5, abs=1e-2), key
    assert abs(sum(whole.ledger.values())) < 1e-5


def test_a_pack_is_charged_as_by_the_solver():
    scooter = evlab.load_vehicle("kick_scooter")
    whole, other = refill(scooter, scooter.store.state_at_share(0.3)), evlab.charge(scooter, start="30 %", hold="0.3 A")
    assert whole.outcome == other.outcome == "full"
    assert whole.duration == pytest.approx(other.duration, rel=1e-6)
    for key, joules in whole.ledger.items():
        assert joules == pytest.approx(other.ledger[key], rel=1e-6, abs=1e-3), key


def test_constant_current_takes_the_time_of_the_closed_form(trike):
    plain = trike.change({"store.slow_share": 0.0, "charger.power_limit": "1000 W"})
    c, r = plain.store.capacitance, plain.store.resistance
    seconds = c * (35.0 - 6.0 * r - 20.0) / 6.0  # charge over current
    assert refill(plain, plain.store.state_at(20.0)).duration == pytest.approx(seconds, rel=1e-9)


def test_time_may_run_out_and_the_end_may_be_chosen(trike):
    late = refill(trike, trike.store.state_at(20.0), limit=30.0)
    assert (late.outcome, late.duration) == ("time over", pytest.approx(30.0))
    early = refill(trike, trike.store.state_at(20.0), stop=30.0)
    assert early.outcome == "full"
    assert trike.store.open_voltage(early.state) < 30.0


def test_a_source_that_cannot_and_a_charger_that_will_not(trike):
    weak = trike.change({"charger.source_current_limit": "5 A"})
    assert refill(weak, weak.store.state_at(20.0)).outcome == "source overloaded"
    shy = trike.change({"charger.minimum_voltage": "4 V"})
    assert refill(shy, shy.store.state_at(1.0)).outcome == "charger refuses"
    cold = evlab.load_vehicle("kick_scooter").change({"road.air_temperature": "-5 degC"})
    assert refill(cold, cold.store.state_at_share(0.5)).outcome == "charger refuses"
    blind = trike.change({"charger.programme": "until the volts drop"})
    with pytest.raises(evlab.InputError, match="since nobody watches it"):
        refill(blind, blind.store.state_at(20.0))


def test_a_rest_lets_the_branches_settle(trike):
    state = trike.store.state_at(30.0)
    state[0] += 2.0
    rested = rest(trike, state, 60.0)
    assert trike.store.open_voltage(rested.state) == pytest.approx(trike.store.rested_after(state, 60.0), abs=1e-6)
    assert abs(sum(rested.ledger.values())) < 1e-5
    assert rested.ledger["store"] > 0  # warmth before the slow branch
