"""Charging: against closed forms, cell by cell, numbers worked apart; the ledger on random chargers; each outcome; bad input."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

import evlab
from evlab import balance, chargers, store
from evlab.charging import charge
from evlab.units import InputError

TRIKE, SCOOTER = evlab.load_vehicle("two_shed_trike"), evlab.load_vehicle("kick_scooter")
PLAIN_STORE = {
    "slow_share": 0.0,
    "overnight_share": 0.0,
    "capacitance_slope": 0.0,
    "cell_leakage": 0.0,
    "bleed_resistance": 0.0,
    "clamp_current": 0.0,
    "cell_tolerance": 0.0,
}
PLAIN = TRIKE.change(store=PLAIN_STORE)
C, R = 650.0 / 14, 0.0155
SOURCE = {
    "source_voltage": 13.2,
    "source_resistance": 0.012,
    "source_charge": "20 Ah",
    "source_share": 0.8,
    "source_current_limit": 100.0,
}
REGULATED = {
    "current_limit": 6.0,
    "power_limit": 1000.0,
    "minimum_voltage": 0.0,
    "highest_voltage": 60.0,
    "efficiency": 0.88,
    "cable_resistance": 0.0,
    "programme": "to the volts",
    **SOURCE,
}
RESISTOR = {
    "kind": "resistor",
    "series_resistance": 6.0,
    "cable_resistance": 0.0,
    **SOURCE,
    "source_voltage": 36.0,
    "source_resistance": 0.0,
}


def plain(**changed):
    return PLAIN.change(charger={**REGULATED, **changed})


def closes(run):
    assert abs(run.closure) < 0.1 * run.closure_allowed, (run.ledger, run.closure)


# ---------------------------------------------------------------- closed forms
def test_constant_current_is_its_closed_form():
    run = charge(plain(), start=20.0)
    # Worked apart, 2026: 115.35 s, 64.366 J lost
    assert run.duration == pytest.approx(115.35, abs=5e-3)
    assert run.duration == pytest.approx(chargers.constant_current_charge_time(C, 35.0, 6.0, R, 20.0), rel=1e-8)
    assert -run.ledger["esr"] == pytest.approx(64.366, abs=1e-3)  # the script's time has five figures
    assert -run.ledger["store"] == pytest.approx(store.usable_energy(C, 34.907, 20.0), rel=1e-8)
    assert run.end_voltage == pytest.approx(35.0, abs=1e-7)
    assert run.outcome == "full"
    closes(run)


def test_twenty_amperes_through_half_an_ohm():
    # Textbook closed form: 100 F to 48 V inside at 20 A through 0.5 ohm: 240 s, 48 000 J lost, efficiency 0.7058823529
    bank = PLAIN.change(
        store={
            "cells_in_series": 20,
            "cell_capacitance": 2000.0,
            "cell_resistance": 0.0,
            "joint_resistance": 0.0,
            "lead_resistance": 0.5,
            "cell_rated_voltage": 3.0,
            "cell_surge_voltage": 3.2,
        },
        charger={
            **REGULATED,
            "current_limit": 20.0,
            "power_limit": 2000.0,
            "highest_voltage": 60.0,
            "efficiency": 1.0,
            "source_voltage": 200.0,
            "source_resistance": 0.0,
        },
    )
    run = charge(bank, start=0.0, stop=58.0)
    assert run.outcome == "full", run.reason
    assert run.duration == pytest.approx(240.0, rel=1e-8)
    assert -run.ledger["esr"] == pytest.approx(48000.0, rel=1e-8)
    assert run.efficiency == pytest.approx(0.7058823529, abs=1e-9)


@pytest.mark.parametrize(("watts", "seconds"), [(150.0, 127.36), (100.0, 191.20)])
def test_constant_power_is_its_closed_form(watts, seconds):
    # Worked apart, 2026
    run = charge(plain(current_limit=50.0, power_limit=watts), start=20.0)
    first = chargers.voltage_under_charging_power(20.0, R, watts)
    assert run.duration == pytest.approx(chargers.constant_power_charge_time(C, watts, 35.0, first, R), rel=1e-8)
    assert run.duration == pytest.approx(seconds, abs=5e-3)
    assert run.column("charging_power") == pytest.approx(np.full(len(run.column("time")), watts), rel=1e-9)
    assert set(run.column("held_by")) == {"power limit"}


def test_a_charger_passes_from_current_to_power():
    run = charge(plain(current_limit=6.0, power_limit=150.0), start=20.0)
    at = next(e for e in run.events if e.kind == "power limit")
    assert at.volts == pytest.approx(25.0, abs=1e-6)  # 150 W over 6 A: arithmetic
    first = chargers.constant_current_charge_time(C, 25.0, 6.0, R, 20.0)
    assert at.time == pytest.approx(first, rel=1e-8)
    assert run.duration == pytest.approx(first + chargers.constant_power_charge_time(C, 150.0, 35.0, 25.0, R), rel=1e-8)
    closes(run)


def test_through_a_resistor_is_its_closed_form():
    run = charge(PLAIN.change(charger=RESISTOR), start=20.0, stop=34.9)
    last = (34.9 - 36.0 * R / (6.0 + R)) / (6.0 / (6.0 + R))  # the inner volts behind 34.9 V at the terminals
    assert run.duration == pytest.approx(chargers.resistor_charge_time(C, 6.0 + R, 36.0, 20.0, last), rel=1e-7)
    heat = run.ledger["converter"] + run.ledger["esr"]
    assert -heat == pytest.approx(chargers.resistor_charge_heat(C, last, 20.0, 36.0), rel=1e-7)
    assert run.efficiency == pytest.approx(chargers.resistor_charge_efficiency(last, 20.0, 36.0), rel=1e-8)
    assert -run.ledger["converter"] / -run.ledger["esr"] == pytest.approx(6.0 / R, rel=1e-7)
    closes(run)


def test_as_much_is_lost_in_a_resistor_as_stored():
    # Textbook: 100 F from nothing to the source's volts: half of the energy, whatever the ohms; here 99.9 % of the volts
    for ohm in (0.5, 5.0):
        bank = PLAIN.change(
            store={"cells_in_series": 20, "cell_capacitance": 2000.0, "cell_surge_voltage": 3.2},
            charger={**RESISTOR, "series_resistance": ohm, "source_voltage": 48.0},
        )
        run = charge(bank, start=0.0, stop=48.0 * 0.999)
        assert run.efficiency == pytest.approx(0.999 / 2, rel=2e-4)  # the bank's own ohms hide some volts at the end


def test_the_source_gives_what_was_worked_apart():
    # Worked apart, 2026: 10.429 A at 20 V, 18.386 A at 35 V, 21 665 J behind the battery's resistance
    run = charge(plain(), start=20.0 - 6.0 * R)
    taken = run.column("source_amps")
    assert taken[[0, -1]] == pytest.approx([10.429, 18.386], abs=5e-4)
    again = charge(plain(), start=20.0)
    behind = again.ledger["source"] + again.ledger["cable"]  # the cable has no ohms here: all of it is the battery's own
    assert behind == pytest.approx(21665.0, abs=1.0)  # five figures
    # Counting energy at 12.8 V finds 33.877; here ampere-hours count, so it is what was taken that divides
    charged = float(np.trapezoid(again.column("source_amps"), again.column("time")))
    assert again.charges_per_source == pytest.approx(20 * 3600 * 0.8 / charged, rel=1e-5)
    # 2.2 % more: 0.5 % for an end at the terminals, and 1.7 % for the volts at which the battery's charge really leaves it,
    # 13.2 V less 12 mOhm times the mean of a current that rises evenly between the printed ends, weighed by itself
    low, high = 10.429, 18.386
    volts = 13.2 - 0.012 * 2 / 3 * (low**2 + low * high + high**2) / (low + high)
    assert again.charges_per_source * 12.8 / volts * 21665 / 21763 == pytest.approx(33.877, rel=1e-3)


def test_the_tail_at_constant_volts_is_an_exponential():
    run = charge(plain(), start=20.0, hold="1 A")
    tail = next(s for s in run.spells if s[2] == "constant voltage")
    assert tail[1] - tail[0] == pytest.approx(C * R * math.log(6.0), rel=1e-6)
    longer = charge(plain(), start=20.0, hold="5 s")
    assert longer.duration - 115.35 == pytest.approx(5.0, abs=5e-3)
    assert longer.column("store_volts")[-1] == pytest.approx(35.0, abs=1e-9)


def test_two_branches_take_the_time_worked_apart():
    # Worked apart, 2026: 88 % and 12 % through 6 ohm, 6 A from 15 V to 35 V
    run = charge(plain().change(store={"slow_share": 0.12, "slow_resistance": 6.0}), start=15.0)
    state = run.end_state("capacitors")[0]
    assert run.duration == pytest.approx(150.06, abs=5e-3)
    assert state[:2] == pytest.approx([34.907, 30.613], abs=5e-4)
    assert run.vehicle.store.rested_after(state, 30.0) == pytest.approx(34.578, abs=5e-4)
    assert run.vehicle.store.rested_after(state, 600.0) == pytest.approx(34.392, abs=5e-4)
    assert run.rested_voltage == pytest.approx(34.392, abs=5e-4)
    closes(run)


@pytest.mark.parametrize(("amps", "steady", "share", "total"), [(2.0, 160.0, 0.989, 162.5), (6.0, 49.33, 0.922, 58.5)])
def test_lithium_takes_the_time_worked_apart(amps, steady, share, total):
    # Worked apart, 2026: 7s2p, 6.0 Ah, the same 0.1075 ohm at all charges, from 10 % to 29.4 V; its totals
    # are times to a full charge.  All the ohms are put into the leads, since the package's cells stiffen towards both ends.
    pack = SCOOTER.change(
        store={"cell_resistance": 1e-6, "joint_resistance": 0.0, "lead_resistance": 0.1075, "branch_resistance": 0.0},
        road={"air_temperature": "25 degC"},
        charger={"current_limit": amps, "power_limit": 1000.0, "highest_voltage": 40.0},
    )
    run = charge(pack, hold="0.3 A")
    at = next(e for e in run.events if e.kind == "constant voltage")
    assert at.time / 60 == pytest.approx(steady, abs=10 / 60)  # the script steps by ten seconds
    assert np.interp(at.time, run.column("time"), run.column("state_of_charge")) == pytest.approx(
        share, abs=10 * amps / 21600
    )  # the same
    assert run.duration / 60 == pytest.approx(total, abs=10 / 60)  # the same
    assert "by the count" in run.reason
    closes(run)


# ---------------------------------------------------------------- cell by cell
def string(n=6, tolerance=0.1, **changed):
    cells = {
        **PLAIN_STORE,
        "cells_in_series": n,
        "cell_tolerance": tolerance,
        "cell_surge_voltage": 3.4,
        "charge_voltage": 2.5 * n,
        "cell_resistance": 1e-3,
        "joint_resistance": 0.0,
        "lead_resistance": 0.0,
        **changed,
    }
    return TRIKE.change(store=cells, controller={"stop_voltage": 1.0, "resume_voltage": 2.0}, charger=REGULATED)


def farads(vehicle):
    """What the file says as cells: the smallest by the spread, all others the largest, together the stated capacitance."""
    s = vehicle.store
    raw = np.array([1 - s.cell_tolerance] + [1 + s.cell_tolerance] * (s.cells_in_series - 1))
    return s.cell_capacitance * raw * np.mean(1 / raw)


@pytest.mark.parametrize("n", [1, 2, 6, 14])
def test_the_fullest_cell_is_where_equal_charges_put_it(n):
    vehicle = string(n)
    run = charge(vehicle, start=0.0)
    inside = run.column("open_volts")[-1]
    expected = balance.cell_volts(inside, farads(vehicle) if n > 1 else [650.0])
    assert run.column("worst_cell_volts")[-1] == pytest.approx(expected.max(), rel=1e-8)
    assert run.column("mean_cell_volts")[-1] == pytest.approx(inside / n, rel=1e-12)


def test_a_clamp_that_cannot_keep_up():
    # Worked apart, 2026: one 650 F among thirteen 780 F, 6 A, clamps of 0.5 A at 2.65 V, to 35.0 V: 2.9341 V
    raw = np.array([10.0] + [12.0] * 13) / 11
    vehicle = string(14, 1 / 11, cell_capacitance=650.0 / (raw[0] * np.mean(1 / raw)), clamp_current=0.5, cell_resistance=1e-8)
    assert farads(vehicle)[[0, 1]] == pytest.approx([650.0, 780.0])
    run = charge(vehicle, start=0.0)
    # a clamp opens over 10 mV here, at once in the script: that is half a millivolt
    assert run.column("worst_cell_volts")[-1] == pytest.approx(2.9341, abs=5e-4)
    other = balance.clamp_run(35.0, 14, 6.0, 650.0, 780.0)
    assert run.duration == pytest.approx(other.times[-1], rel=1e-4)
    closes(run)


def test_every_cell_on_its_own_says_the_same():
    """A string of six as six capacitors, each with leakage, bleeder and clamp: another solver over other equations."""
    vehicle = string(6, 0.08, cell_leakage=0.3, bleed_resistance=20.0, clamp_current=2.0, clamp_voltage=2.45)
    c, s = farads(vehicle), vehicle.store
    drain = s.cell_leakage / s.cell_rated_voltage + 1 / 20.0

    def rates(_t, v):
        clamp = 2.0 * np.clip((v - 2.45) / 0.01, 0.0, 1.0)
        return (6.0 - drain * v - clamp) / c

    def full(_t, v):
        return v.sum() + 6.0 * 6e-3 - 15.0

    full.terminal = True
    own = solve_ivp(rates, (0, 1e4), np.zeros(6), method="Radau", rtol=1e-9, atol=1e-10, events=full, max_step=1.0)
    run = charge(vehicle, start=0.0)
    assert run.duration == pytest.approx(own.t_events[0][0], rel=1e-6)
    assert run.column("worst_cell_volts")[-1] == pytest.approx(own.y[:, -1].max(), abs=1e-6)
    drained = float(np.trapezoid((drain * own.y**2).sum(axis=0), own.t))
    assert -run.ledger["leakage"] == pytest.approx(drained, rel=1e-3)  # a sum over the solver's steps
    closes(run)


# ---------------------------------------------------------------- every joule, whatever the charger
def some_charger(rng):
    if rng.random() < 0.3:
        return {
            **RESISTOR,
            "series_resistance": float(rng.uniform(0.3, 20)),
            "source_voltage": float(rng.uniform(10, 60)),
            "source_resistance": float(rng.uniform(0, 0.5)),
            "cable_resistance": float(rng.uniform(0, 0.2)),
        }
    return {
        **REGULATED,
        "kind": "regulated",
        "current_limit": float(rng.uniform(0.2, 20)),
        "power_limit": float(rng.uniform(20, 600)),
        "highest_voltage": float(rng.uniform(15, 60)),
        "efficiency": float(rng.uniform(0.6, 1)),
        "cable_resistance": float(rng.uniform(0, 0.2)),
        "source_resistance": float(rng.uniform(0, 0.1)),
        "minimum_voltage": float(rng.choice([0.0, 3.0])),
        "programme": str(rng.choice(["to the volts", "until the volts drop"])),
    }


def some_bank(rng):
    n, share = int(rng.integers(1, 20)), float(rng.uniform(0, 0.3))
    cells = {
        "cells_in_series": n,
        "strings_in_parallel": int(rng.integers(1, 4)),
        "cell_capacitance": float(rng.uniform(50, 3000)),
        "cell_resistance": float(rng.uniform(2e-4, 2e-2)),
        "slow_share": share,
        "slow_resistance": float(rng.uniform(1, 20)),
        "overnight_share": float(rng.choice([0.0, 0.1])),
        "overnight_resistance": float(rng.uniform(100, 2000)),
        "capacitance_slope": float(rng.choice([0.0, 0.02])) * 650.0 * 0.05,
        "cell_tolerance": float(rng.uniform(0, 0.15)),
        "cell_leakage": float(rng.choice([0.0, 1e-3, 1e-1])),
        "bleed_resistance": float(rng.choice([0.0, 5.0, 200.0])),
        "clamp_current": float(rng.choice([0.0, 0.5, 5.0])),
        "charge_voltage": 2.5 * n,
    }
    return TRIKE.change(store=cells, controller={"stop_voltage": 0.5 * n, "resume_voltage": 0.6 * n})


def some_pack(rng):
    chemistry, volts = [("nmc", 4.2), ("lfp", 3.65), ("lto", 2.8), ("nmc_sic", 4.2)][int(rng.integers(4))]
    n = int(rng.integers(3, 13))
    cells = {
        "cells_in_series": n,
        "strings_in_parallel": int(rng.integers(1, 5)),
        "chemistry": chemistry,
        "charge_voltage": volts * n,
        "cell_resistance": float(rng.uniform(2e-3, 0.08)),
        "branch_resistance": float(rng.choice([0.0, 0.03])),
        "cell_charge": float(rng.uniform(3600, 36000)),
    }
    return SCOOTER.change(
        store=cells, controller={"stop_voltage": 1.0, "resume_voltage": 2.0}, road={"air_temperature": float(rng.uniform(258, 310))}
    )


@pytest.mark.parametrize("seed", range(100))
def test_the_ledger_closes_whatever_the_charger(seed):
    rng = np.random.default_rng(20260300 + seed)
    vehicle = (some_bank if seed % 3 else some_pack)(rng).change(charger=some_charger(rng))
    hold = None if vehicle.charger.kind == "resistor" else [None, "0.5 A", "3 min"][seed % 3]
    run = charge(vehicle, start=["0 %", "15 %", "60 %"][int(rng.integers(3))], hold=hold)
    assert abs(run.closure) <= run.closure_allowed, (run, run.ledger)
    assert run.outcome in ("full", "source overloaded", "cell over its limit", "charger gave up", "time limit")
    assert run.reason.endswith(".")
    assert "nan" not in run.reason
    assert all(run.ledger[key] <= 1e-9 for key in ("esr", "slow_branch", "leakage", "clamps", "converter", "cable"))
    assert run.ledger["source"] >= 0
    for name in ("time", "store_volts", "open_volts", "charging_amps", "worst_cell_volts", "state_of_charge"):
        assert np.isfinite(run.column(name)).all(), name
    if run.outcome != "source overloaded":
        assert np.isfinite(run.column("source_amps")).all()
    assert np.all(np.diff(run.column("time")) >= 0)
    assert len(run.table()) == len(run.column("held_by"))


@pytest.mark.parametrize("loss", ["leakage", "esr", "converter"])
def test_a_loss_that_is_one_per_cent_wrong_is_seen(loss, monkeypatch):
    from evlab import charged, charging

    vehicle = TRIKE.change(store={"cell_leakage": 0.05})
    right = charging._Run.slopes
    at = charging.LOSSES.index(loss)

    def slopes(self, held):
        rates = right(self, held)

        def wrong(t, y):
            made = list(rates(t, y))
            made[self.size + at] *= 1.01
            return made

        return wrong

    assert abs(charge(vehicle).closure) < charge(vehicle).closure_allowed
    monkeypatch.setattr(charging._Run, "slopes", slopes)
    run = charge(vehicle)
    assert abs(run.closure) > 5 * run.closure_allowed
    assert charged.SIDES


# ---------------------------------------------------------------- outcomes
BLIND = {"programme": "until the volts drop"}


@pytest.mark.parametrize(
    ("vehicle", "asked", "outcome", "words"),
    [
        (plain(), {}, "full", "terminals reach 35 V"),
        (plain(), {"start": 36.0}, "full", "already"),
        (plain(), {"stop": "10 V"}, "full", "already"),
        (plain(source_current_limit=12.0), {}, "source overloaded", "12 A is its limit"),
        (plain(source_resistance=0.3), {}, "source overloaded", "more power than it can give"),
        (plain(), {"stop": 45.0}, "cell over its limit", "fullest cell passes 2.85 V"),
        (plain(**BLIND), {}, "cell over its limit", "waits for a drop"),
        (plain(minimum_voltage=3.0), {"start": 0.0}, "charger gave up", "refuses an output below 3 V"),
        (plain(highest_voltage=33.0), {}, "charger gave up", "33 V is all that the charger can give"),
        (PLAIN.change(charger={**RESISTOR, "source_voltage": 30.0}), {}, "charger gave up", "30 V is all that its source has"),
        (plain(current_limit=0.1).change(store={"bleed_resistance": 10.0}), {}, "charger gave up", "leakage, bleeders and clamps"),
        (plain(current_limit=1e-4), {}, "charger gave up", "12 days"),
        (plain(), {"time_limit": "1 min"}, "time limit", "60 s"),
        (plain(), {"time_limit": 1.0}, "time limit", "1 s"),
        (SCOOTER, {"hold": "0.1 A"}, "full", "by the count"),
        (SCOOTER.change(charger={**BLIND, "highest_voltage": 40.0}), {}, "cell over its limit", "waits for a drop"),
    ],
)
def test_every_outcome_says_what_ended_it(vehicle, asked, outcome, words):
    run = charge(vehicle, **asked)
    assert run.outcome == outcome, run
    assert words in run.reason
    assert run.events[-1].time <= run.duration + 1e-9
    assert run._repr_html_()
    assert outcome in repr(run)
    closes(run)


def test_nobody_stops_a_charger_that_waits_for_a_drop():
    vehicle = plain(**BLIND).change(store={"cell_tolerance": 0.1})
    run = charge(vehicle)
    over = next(e for e in run.events if e.kind == "cell above rated")
    end = next(e for e in run.events if e.kind == "nobody stops it")
    worst = run.column("worst_cell_volts")
    assert worst[-1] == pytest.approx(2.85, abs=1e-6)
    # the same by arithmetic: the charge at which the smallest cell has 2.7 V and 2.85 V, at 6 A from 15 V
    cells = farads(vehicle)
    whole = 1 / np.sum(1 / cells)
    first = 15.0 * whole
    assert over.time == pytest.approx((2.7 * cells[0] - first) / 6.0, abs=2.0)  # the next row of the table
    assert end.time == pytest.approx((2.85 * cells[0] - first) / 6.0, rel=1e-7)
    assert end.volts == pytest.approx(2.85 * cells[0] / whole + 6.0 * R, rel=1e-7)
    assert any(c.state == "danger" for c in run.cautions)


def test_two_chargers_side_by_side():
    slow, quick = charge(plain(current_limit=1.0), start=20.0), charge(plain(), start=20.0)
    assert slow.duration == pytest.approx(695.71, abs=5e-3)  # worked apart, 2026, with its drop
    assert slow.duration / quick.duration > 6.0
    assert slow.efficiency > quick.efficiency


# ---------------------------------------------------------------- on into a ride and back
def test_a_charge_goes_on_into_a_ride_and_a_ride_into_a_charge():
    ridden = evlab.ride(TRIKE, "two_sheds_up")
    charged = charge(TRIKE, start=ridden)
    assert charged.start_voltage == pytest.approx(TRIKE.store.open_voltage(ridden.end_state("capacitors")[0]))
    assert charged.outcome == "full"
    again = evlab.ride(TRIKE, "two_sheds_up", start=charged)
    assert again.start_voltage == pytest.approx(float(charged.column("open_volts")[-1]), rel=1e-9)
    assert abs(again.closure) < again.closure_allowed
    winding, air = charged.end_state("capacitors")[1][0], TRIKE.road.air_temperature
    hot = ridden.end_state("capacitors")[1][0]
    assert air < winding < hot  # it has cooled meanwhile
    with pytest.raises(InputError, match="kind 'lithium'"):
        charge(SCOOTER, start=ridden)
    with pytest.raises(InputError, match="kind 'lithium'"):
        evlab.ride(SCOOTER, "park_path", start=charged)


def test_cells_that_clamps_have_evened_out_stay_so_in_the_next_charge():
    bank = TRIKE.change(store={"clamp_current": 5.0, "cell_tolerance": 0.1})
    first = charge(bank, stop=36.5)
    more = charge(bank, start=first, stop=36.6)
    assert more.outcome == "full"
    assert more.column("worst_cell_volts")[0] == pytest.approx(first.column("worst_cell_volts")[-1], abs=1e-12)
    closes(more)
    # after a ride, or for another bank, they begin again as charged from empty
    other = charge(bank.change(store={"cell_tolerance": 0.05}), start=first, stop=36.6)
    assert other.column("worst_cell_volts")[0] > more.column("worst_cell_volts")[0]


def test_what_a_charge_stores_is_what_its_end_state_holds():
    for vehicle in (plain().change(store={"slow_share": 0.1}), SCOOTER.change(road={"air_temperature": "25 degC"})):
        run = charge(vehicle, start="20 %")
        s = vehicle.store
        gained = s.energy(run.end_state(s.kind)[0]) - s.energy(s.state_at_share(0.2))
        assert -run.ledger["store"] == pytest.approx(gained, rel=1e-6)


# ---------------------------------------------------------------- bad input
@pytest.mark.parametrize(
    "asked",
    [
        *({"stop": s} for s in (-1.0, 0.0, float("nan"), float("inf"), "35", "35 A", "much", 1e9, True, [35.0])),
        *({"hold": h} for h in ("0 A", "-1 A", "x", 0, 0.0, -1.0, float("nan"), "0 s", "1 V", [])),
        *({"time_limit": t} for t in (0.0, -1.0, float("nan"), "soon", 1e12)),
        *({"start": s} for s in (-1.0, float("nan"), "empty", "-5 %", "150 %", 2000.0)),
    ],
    ids=str,
)
@pytest.mark.parametrize("vehicle", [TRIKE, SCOOTER], ids=["bank", "pack"])
def test_bad_input_is_one_sentence(vehicle, asked):
    with pytest.raises(InputError) as told:
        charge(vehicle, **asked)
    said = str(told.value)
    assert next(iter(asked)) in said
    assert "instead received" in said


@pytest.mark.parametrize(
    ("table", "changed"),
    [
        ("charger", {"current_limit": "0 A"}), ("charger", {"power_limit": "-5 W"}), ("charger", {"efficiency": 0.0}),
        ("charger", {"source_voltage": "0 V"}), ("store", {"cell_capacitance": "0 F"}), ("store", {"cell_capacitance": "-3 F"}),
        ("store", {"cells_in_series": 0}), ("store", {"charge_voltage": "0 V"}), ("controller", {"stop_voltage": "40 V"}),
        ("store", {"overnight_share": 0.95}), ("store", {"capacitance_slope": "600 F/V"}),
    ],
)  # fmt: skip
def test_a_bad_part_is_refused_before_it_charges(table, changed):
    with pytest.raises(InputError, match="instead received"):
        TRIKE.change(**{table: changed})


def test_a_supply_cannot_be_charged():
    supply = TRIKE.change(store={"kind": "supply", "voltage": "30 V", "resistance": "0.1 Ohm"})
    with pytest.raises(InputError, match="can be charged"):
        charge(supply)


def test_a_resistor_holds_no_volts():
    with pytest.raises(InputError, match="resistor"):
        charge(PLAIN.change(charger=RESISTOR), hold="1 A")


def test_lithium_in_the_frost_is_a_danger():
    run = charge(SCOOTER.change(road={"air_temperature": "-5 degC"}))
    assert any(c.state == "danger" and "plates lithium" in c.words for c in run.cautions)
    warm = charge(SCOOTER)
    assert not any("plates lithium" in c.words for c in warm.cautions if c.state == "danger")


def test_a_stop_above_the_rated_sum_is_told():
    run = charge(plain(), stop=38.5)
    assert any(e.kind == "cell above rated" for e in run.events)
    assert any("fullest cell" in c.words for c in run.cautions)


def test_an_unknown_column_names_those_there_are():
    with pytest.raises(KeyError, match="store_volts"):
        charge(plain()).column("volts")
