"""A case of regeneration against the ride's own drive, against searches, and against energy balances."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

import evlab
from evlab import InputError, RegenCase, Route
from evlab.descent_room import volts_with_room
from evlab.regeneration import start_voltage

TRIKE = evlab.load_vehicle("two_shed_trike").change(load={"cargo": "20 kg"})


@pytest.fixture(scope="module")
def case():
    return RegenCase(TRIKE, "two_sheds_down", volts=24.0)


# ---------------------------------------------------------------- parabola and region, against the drive that rides
def ridden_braking(case, speed, amps):
    """What the ride's drive does at this speed when this braking current is asked: wheel force, store power."""
    share = -amps / TRIKE.controller.braking_current_limit
    way = Route.from_segments([(1000.0, 0.0, 5.0)])
    journey = evlab.riding.Journey(TRIKE, way, 0.0, evlab.ThrottleTrace([0, 1], [share, share]), 0.05, 0.01)
    told = journey.go(24.0, speed)
    return -float(told.column("drive_force")[0]), -float(told.column("store_volts")[0] * told.column("store_amps")[0])


@pytest.mark.parametrize(("speed", "amps"), [(2.4, 15.0), (1.0, 10.0), (3.5, 25.0)])
def test_power_and_force_are_those_of_the_drive_that_rides(case, speed, amps):
    force, power = ridden_braking(case, speed, amps)
    assert float(case.recovered(amps, speed)) == pytest.approx(power, rel=1e-9)
    assert float(case.force_of(amps, speed)) == pytest.approx(force, rel=1e-9)
    assert float(case.amps_of(force, speed)) == pytest.approx(amps, rel=1e-9)


def test_the_top_of_the_parabola_is_found_by_search(case):
    p = case.here
    def lost(amps):
        return -float(case.recovered(amps, case.speed))

    found = minimize_scalar(lost, bounds=(0, 200), method="bounded", options={"xatol": 1e-9})
    assert p.best_amps == pytest.approx(found.x, rel=1e-5)
    assert p.most == pytest.approx(-found.fun, rel=1e-9)
    assert p.zero_amps[1] == pytest.approx(brentq(lambda i: float(case.recovered(i, case.speed)), 60, 200), rel=1e-9)
    assert p.short_amps == pytest.approx(2 * p.best_amps)


def test_below_the_least_speed_no_current_pays(case):
    r = case.region
    slow, quick = case.parabola(0.98 * r.least_speed), case.parabola(1.02 * r.least_speed)
    assert slow.recovered.max() < 0 < quick.most
    assert math.isnan(slow.zero_amps[0])
    assert math.isnan(r.zero_low[0])
    assert np.allclose(r.limit, case.force_of(25.0, r.speeds))


def test_a_family_of_speeds_the_fastest_first(case):
    speeds = [p.speed for p in case.family]
    assert speeds == sorted(speeds, reverse=True)
    assert case.speed in speeds


def test_the_diodes_speed_is_where_the_line_emf_passes_the_volts(case):
    peak = math.sqrt(3) * TRIKE.motor.constant * float(case.turning(case.region.diode_speed))
    assert peak == pytest.approx(24.0 + 1.4, rel=1e-9)


# ---------------------------------------------------------------- descent: against a long ride
def test_a_steady_descent_is_what_a_long_ride_comes_to(case):
    hill = Route.from_segments([(400.0, -0.07, 2.4)])
    big = TRIKE.change(store={"cell_capacitance": 1e6, "slow_share": 0.0}, motor={"heat_capacity": 1e9})
    r = evlab.ride(big, hill, start=24.0, driver=evlab.SetSpeed(gain=5.0))
    at = int(np.searchsorted(r.column("distance"), 300.0))
    back = -float(r.column("store_volts")[at] * r.column("store_amps")[at])
    force, amps, recovered, share = (float(x) for x in RegenCase(big, hill, volts=24.0, speed=2.4, slope=0.07).share_at(2.4))
    assert -float(r.column("motor_amps")[at]) == pytest.approx(amps, rel=1e-4)
    assert back == pytest.approx(recovered, rel=1e-4)
    assert -float(r.column("drive_force")[at]) == pytest.approx(force, rel=1e-4)
    weight = big.mass * 9.80665 * math.sin(math.atan(0.07))
    assert share == pytest.approx(back / (weight * 2.4), rel=1e-4)


def test_there_is_a_best_speed_and_it_is_the_best(case):
    d = case.descent
    assert 1.0 < d.best_speed < 4.0
    for speed in (0.8 * d.best_speed, 1.2 * d.best_speed):
        assert float(case.share_at(speed)[3]) < d.best_share
    assert d.best_share >= np.nanmax(d.share) - 1e-12


def test_unbraked_it_rolls_to_the_speed_at_which_a_ride_holds(case):
    way = Route.from_segments([(3000.0, -0.07, 50.0)])
    off = TRIKE.change({"controller.braking_current_limit": 0.0, "store.cell_capacitance": 1e6, "store.charge_voltage": 37.0})
    r = evlab.ride(off, way, driver=evlab.ThrottleHeld(0.0), start=37.0)
    # with the braking limit at nothing the diodes still hold the motor at duty 0.97; below that speed it is the drag alone
    assert case.rolls > float(r.column("speed").max()) > 4.0


# ---------------------------------------------------------------- a stop
def test_a_stop_shares_out_the_energy_of_motion(case):
    s = case.stop
    assert s.kinetic == pytest.approx(0.5 * TRIKE.effective_mass * case.speed**2, rel=1e-12)
    assert s.heat > 0
    assert np.allclose(s.electric + s.friction, s.demanded)
    assert (s.electric >= -1e-9).all()
    assert s.friction[-1] == pytest.approx(s.demanded[-1] - float(case.force_of(0.0, 0.0)))  # at rest friction, and the drag
    copper = s.kinetic - s.into_store - s.into_friction - s.into_road
    assert s.heat == pytest.approx(copper)
    assert (np.abs(np.diff(s.electric)) < 0.1 * s.demanded.max()).all()  # continuous through speed


def test_the_stop_is_that_of_a_ride(case):
    """A ride that brakes at the same rate: what comes back at the bridge, from the table of the ride."""
    way = Route.from_segments([(40.0, 0.0, 2.4)])
    driver = evlab.SetSpeed(stopping=1.0, fall=3.0, gain=30.0, follow_time=0.02)
    r = evlab.ride(TRIKE, way, start=30.0, driver=driver, step=0.005)
    t, v, power = r.column("time"), r.column("speed"), -r.column("store_volts") * r.column("store_amps")
    braking = (t >= t[np.flatnonzero(v >= 0.995 * 2.4)[-1]]) & (v > 0.08)  # the last centimetres are crawled
    told = RegenCase(TRIKE, "two_sheds_down", volts=24.0, deceleration=1.0).stop.into_store
    assert np.trapezoid(power[braking], t[braking]) == pytest.approx(told, rel=0.05)  # its first moments are soft


def test_stop_and_go_gives_back_less_than_half(case):
    g = case.stop_and_go
    pays = g.share > 0
    assert (g.round_share[pays] < g.share[pays]).all()
    assert g.round_share.max() < 0.6
    assert g.best_speed in g.speeds


# ---------------------------------------------------------------- a full store
def test_begun_full_friction_takes_what_the_store_cannot(case):
    f = case.full
    assert any(s.by == "full store" for s in f.full_down.held)
    assert f.overflow == pytest.approx(f.gain, rel=0.02)
    assert sum(s.end - s.start for s in f.spared_down.held if s.by == "full store") < 0.5
    assert f.spared_down.column("store_volts").max() == pytest.approx(TRIKE.store.charge_voltage, abs=0.02)
    assert f.full_down.column("store_volts").max() <= TRIKE.store.charge_voltage * (1 + 1e-8)


def test_the_start_volts_are_those_of_the_equation_for_a_bank_without_ohms_and_slow_branches():
    none = ("slow_share", "cell_resistance", "joint_resistance", "lead_resistance")
    plain = TRIKE.change({f"store.{name}": 0.0 for name in none})
    f = RegenCase(plain, "two_sheds_down", volts=24.0).full
    share = f.gain / (plain.mass * 9.80665 * f.height)
    told = start_voltage(35.0, share, plain.mass, f.height, plain.store.capacitance)
    assert f.start_volts == pytest.approx(told, abs=0.03)


def test_slow_branches_and_ohms_fill_it_sooner(case):
    f = case.full
    share = f.gain / (TRIKE.mass * 9.80665 * f.height)
    told = start_voltage(35.0, share, TRIKE.mass, f.height, TRIKE.store.capacitance)
    assert told - 0.6 < f.start_volts < told


def test_more_than_a_store_holds_has_no_start():
    store = TRIKE.store
    assert volts_with_room(store, 1e6) == 0.0
    assert volts_with_room(store, 0.0) == store.full_voltage
    half = store.energy(store.full_state()) / 2
    assert volts_with_room(store, half) == pytest.approx(store.full_voltage / math.sqrt(2), rel=1e-6)


# ---------------------------------------------------------------- legs
def test_pedalling_on_a_stand_by_powers(case):
    p = case.pedalling
    at = int(np.argmax(p.into_store))
    turning = float(case.turning(p.best_speed))
    shaft = 80.0 * 0.95**2 - (0.10 + 0.002 * turning) * turning
    amps = shaft / (TRIKE.motor.drive_constant * turning)
    assert p.into_store[at] == pytest.approx(shaft - amps**2 * case.ohm - 4.0, rel=1e-9)
    joules = TRIKE.store.energy(TRIKE.store.state_at(25.0)) - TRIKE.store.energy(TRIKE.store.state_at(24.0))
    assert p.minutes_per_volt == pytest.approx(joules / p.best / 60)
    assert RegenCase(TRIKE, pedalling="0 W").pedalling.minutes_per_volt == math.inf


# ---------------------------------------------------------------- what cannot be
@pytest.mark.parametrize(("said", "words"), [
    ({"volts": 40.0}, "volts of RegenCase must be 0.01 to 35 V"), ({"speed": -1.0}, "speed of RegenCase must be 0.05 to 30"),
    ({"slope": "80 %"}, "slope of RegenCase"), ({"pedalling": "-5 W"}, "pedalling of RegenCase"),
    ({"deceleration": 0.0}, "deceleration of RegenCase"), ({"speed": "3 kg"}, "speed of RegenCase")])
def test_values_out_of_their_range(said, words):
    with pytest.raises(InputError, match=words):
        RegenCase(TRIKE, "two_sheds_down", **said)


def test_a_freewheel_and_a_supply_give_nothing_back():
    with pytest.raises(InputError, match="freewheel"):
        RegenCase(TRIKE.change({"gearing.freewheel": True}))
    with pytest.raises(InputError, match="store that can be charged"):
        RegenCase(TRIKE.change({"store.kind": "supply", "store.voltage": 30.0, "store.resistance": 0.05}))


def test_a_pack_has_a_case_too():
    scooter = evlab.load_vehicle("kick_scooter")
    told = RegenCase(scooter, Route.from_segments([(200.0, -0.06, 3.0)]))
    assert told.full.start_volts < scooter.store.charge_voltage
    assert told.descent.best_share > 0
    assert told.reason.startswith("At 3.0 m/s")


def test_its_cautions_speak_and_are_silent(case):
    high = RegenCase(TRIKE, "two_sheds_down", volts=34.5)
    assert any("fills the store before the foot" in c.words for c in high.cautions)
    assert not any("fills the store" in c.words for c in case.cautions)
    gentle = RegenCase(TRIKE.change({"controller.braking_current_limit": 10.0}), "two_sheds_down", volts=24.0)
    assert not any("it locks" in c.words for c in gentle.cautions)
    assert any("it locks" in c.words for c in case.cautions)
    steep = RegenCase(TRIKE, "two_sheds_down", volts=24.0, slope="20 %")
    assert any("unless friction takes" in c.words for c in steep.cautions)
    assert not any("unless friction takes" in c.words for c in case.cautions)
    level = RegenCase(TRIKE, "two_sheds_down", volts=24.0, slope=0.01)
    assert not any("bridge's diodes" in c.words for c in level.cautions)
    assert any("bridge's diodes" in c.words for c in case.cautions)
