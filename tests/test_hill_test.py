"""The hill test: energies against the rides' own ledgers and against the height, shares against what must hold by sense."""

from __future__ import annotations

import numpy as np
import pytest

import evlab
from evlab import InputError, Route
from evlab.hill_test import HillTest, empty_volts, falling_part

TRIKE = evlab.load_vehicle("two_shed_trike").change(load={"cargo": "20 kg"})
DOWN = evlab.load_route("two_sheds_down")


@pytest.fixture(scope="module")
def hill():
    return HillTest(TRIKE, DOWN)


def test_the_hill_is_the_part_that_falls(hill):
    assert hill.height == pytest.approx(4.19, abs=0.03)  # all of the ramp but what lies in its blends
    assert hill.hill.length == pytest.approx(60.0, abs=1.0)
    assert (hill.hill.slopes < 0).all()
    bumpy = Route.from_segments([(50.0, -0.05, 3.0), (20.0, 0.03, 3.0), (50.0, -0.05, 3.0), (30.0, 0.0, 3.0)])
    part = falling_part(bumpy, 0.012)
    assert part.length == pytest.approx(120.0, abs=3.0)  # the small rise between is ridden, too


def test_energies_are_those_of_the_store_and_the_height(hill):
    store = TRIKE.store
    before, after = store.state_at(hill.start), hill.down.end_state("capacitors")[0]
    assert hill.put_back == pytest.approx(store.energy(after) - store.energy(before), rel=1e-9)
    assert hill.spent == pytest.approx(store.energy(after) - store.energy(hill.up.end_state("capacitors")[0]), rel=1e-9)
    assert hill.lift == pytest.approx(TRIKE.mass * 9.80665 * hill.height, rel=1e-9)
    for ridden in (hill.down, hill.up, hill.climb, hill.with_it, hill.without):
        assert abs(ridden.closure) < ridden.closure_allowed


def test_going_down_it_is_not_driven(hill):
    assert hill.down.column("motor_amps").max() < 1e-5
    assert hill.down.outcome == "arrived"


def test_it_ends_as_empty_as_it_began(hill):
    """The way back is what the gain paid for: up ends at the stop volts, a little above which the descent began."""
    assert hill.up.outcome == "cut-off"
    assert hill.start == pytest.approx(15.3)
    left = TRIKE.store.rested_voltage(hill.up.end_state("capacitors")[0])
    assert abs(left - hill.start) < 0.6
    assert hill.share_of_way == pytest.approx(hill.up.distance / hill.back.length)
    assert 0 < hill.share_of_height < hill.share_of_way + 0.02


def test_three_ratios_each_with_its_own_denominator(hill):
    first, second, third = hill.ratios
    assert first.value == pytest.approx(hill.put_back / hill.lift)
    assert second.value == pytest.approx(hill.put_back / hill.climb.store_energy)
    spent, kept = hill.climb.store_energy + hill.without.store_energy, hill.climb.store_energy + hill.with_it.store_energy
    assert third.value == pytest.approx((spent - kept) / spent)
    assert first.value > second.value  # a climb costs more than its height
    assert len({r.under for r in hill.ratios}) == 3
    assert "energy of the height (m g h)" in first.words


def test_less_drag_regains_more_and_no_drag_is_no_miracle(hill):
    factors, shares = hill.drag
    assert (np.diff(shares) < 0).all()
    assert shares[list(factors).index(1.0)] == pytest.approx(hill.share_of_way, abs=0.01)
    assert shares[0] < 1  # copper and chain stay
    allowed = hill.allowed_drag(0.4)
    assert hill.with_drag(allowed) >= 0.4 > hill.with_drag(allowed + 0.01)
    assert np.isnan(hill.allowed_drag(0.95))


def test_without_any_loss_it_comes_all_the_way_back():
    """Conservation of energy: no drag, no copper, no electronics, a chain that loses nothing, and the air out of the way."""
    ideal = TRIKE.change({"road.rolling_coefficient": 0.0, "road.drag_area": 1e-9, "motor.drag_torque": 0.0,
                          "motor.viscous_drag": 0.0, "motor.resistance": 1e-6, "controller.bridge_resistance": 0.0,
                          "controller.standby_power": 0.0,
                          "gearing.chain_efficiency": 1.0, "store.cell_resistance": 0.0, "store.joint_resistance": 0.0,
                          "store.lead_resistance": 0.0, "store.slow_share": 0.0})
    made = HillTest(ideal, Route.from_segments([(60.0, -0.07, 2.4)]))
    kept = made.down.ledger["kinetic"] + made.down.ledger["brake"]  # what the last metres leave to the friction brake
    assert made.put_back == pytest.approx(made.lift + kept, abs=0.6)  # at 6 cm/s it counts as arrived, 4 mm before the foot: 0.5 J
    assert made.share_of_way > 0.95


@pytest.mark.parametrize(("vehicle", "route", "words"), [
    (TRIKE, "two_sheds_up", "must go down by more than 1.2 %"),
    (TRIKE, Route.from_segments([(100.0, -0.005, 3.0)]), "does not roll by itself"),
    ("trike", DOWN, "must be made by evlab.load_vehicle"), (TRIKE, 5, "must be made by evlab.load_route")])
def test_what_is_no_hill_is_refused_in_words(vehicle, route, words):
    with pytest.raises(InputError, match=words):
        HillTest(vehicle, route)


def test_a_supply_has_nothing_to_charge():
    bench = TRIKE.change({"store.kind": "supply", "store.voltage": 30.0, "store.resistance": 0.05})
    with pytest.raises(InputError, match="store that can be charged"):
        HillTest(bench, DOWN)


@pytest.mark.parametrize("share", [0.0, 1.2, -1.0])
def test_shares_and_factors_out_of_range(hill, share):
    with pytest.raises(InputError, match="above 0 and at most 1"):
        hill.allowed_drag(share)
    with pytest.raises(InputError, match="0 to 20"):
        hill.with_drag(-0.1)


def test_an_empty_pack_is_empty_by_its_charge():
    scooter = evlab.load_vehicle("kick_scooter")
    assert empty_volts(scooter) > 21.0
    told = HillTest(scooter, Route.from_segments([(200.0, -0.08, 3.0)]))
    assert told.put_back > 0
    assert "Going down gave the store" in told.reason
    assert "<table>" in told._repr_html_()
