"""Lithium packs: their tables, the energy in them, the seam, the part; and rides through the loop against SciPy's solver."""

import csv
from dataclasses import replace
from pathlib import Path

import independent_ride
import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

import evlab
from evlab import lithium
from evlab.lithium import CELL_VOLTS, CHEMISTRIES, open_cell_volts
from evlab.units import InputError

SCOOTER, TRIKE, PATH = evlab.load_vehicle("kick_scooter"), evlab.load_vehicle("two_shed_trike"), evlab.load_route("park_path")
PACK = SCOOTER.store
WARM = 298.15
VOLTS = {"nmc": 29.4, "lfp": 25.5, "lto": 19.6, "nmc_sic": 29.4}
PACKS = {chemistry: replace(PACK, chemistry=chemistry, charge_voltage=VOLTS[chemistry]) for chemistry in CHEMISTRIES}


def rows(chemistry):
    """The table as it stands in data/, read here."""
    found = []
    for path in sorted((Path(__file__).parents[1] / "data").glob("*-open-volts.csv")):
        lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
        found += [
            (float(r["state_of_charge"]), float(r["open_volts"])) for r in csv.DictReader(lines) if r["chemistry"] == chemistry
        ]
    return found


# ---------------------------------------------------------------- the tables
def test_a_published_cell():
    # Chen et al., J. Electrochem. Soc. 167 (2020) 080534, the published fit evaluated in steps of 10 %: within 20 mV
    printed = [2.500, 3.296, 3.485, 3.581, 3.667, 3.751, 3.841, 3.948, 4.042, 4.097, 4.200]
    assert open_cell_volts("nmc_sic", np.linspace(0, 1, 11)) == pytest.approx(printed, abs=0.02)


def test_the_tables_from_memory():
    # Second opinion, not published: another table, from memory, to 30 mV
    shares = [0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1]
    nmc = [3.00, 3.30, 3.42, 3.54, 3.61, 3.66, 3.73, 3.82, 3.92, 4.02, 4.09, 4.18]
    assert open_cell_volts("nmc", shares) == pytest.approx(nmc, abs=0.03)


def test_iron_phosphate_lies_by_published_curves():
    """A second published cell: rows of a curve at C/32, the mean of charge and discharge (Sunil, Pattipati, Balasingam, IEEE Trans.
    Instrum. Meas. 2025, data published with it).  Another maker's cell: they differ by 25 mV where the curve is flat."""
    shares, printed = [0.0885, 0.2972, 0.9833], [3.1942, 3.2772, 3.3511]
    assert open_cell_volts("lfp", shares) == pytest.approx(printed, abs=0.025)
    # The data set of the table itself, its two formulas in the cell's own limits (BPX, lfp_18650_cell_BPX.json) at 2.5 V + 20 %
    negative, positive = 0.0016261 + 0.20201 * (0.82258 - 0.0016261), 0.95038 - 0.20201 * (0.95038 - 0.0875)
    e, t, x = np.exp, np.tanh, negative
    low = (52.9210878 * e(-172.699386 * x) - 1179.63399 + 1209.56356 * t(67.2033948 * (x + 0.0244746396))
           + 0.0452430314 * t(-14.7542326 * (x - 0.162746053)) + 20.18558 * t(-24.6666302 * (x - 1.12986136))
           + 0.0201708039 * t(-11.9900231 * (x - 0.54977344)) + 49.9616805 * t(-61.1370883 * (x + 0.00469382558)))
    high = 3.41285712 - 0.0149721852 * positive + 3.54866018e14 * e(-395.729493 * positive) - 1.45998465 * e(
        -110.108622 * (1 - positive))
    assert open_cell_volts("lfp", 0.2) == pytest.approx(high - low, abs=1e-4)


def test_nmc_lies_between_published_cells():
    """No gross error: a cell of equal nickel, manganese and cobalt (BPX, nmc_pouch_cell_BPX.json, its two formulas) and two cells
    rich in nickel (Sunil et al. 2025, C/32 and C/20) lie within the 100 mV that the head of the table says."""
    mixed = {0.1: 3.4629, 0.3: 3.5979, 0.5: 3.6729, 0.7: 3.8240, 0.9: 4.0626}
    rich = {0.0955: 3.3231, 0.1508: 3.4218, 0.2915: 3.5737, 0.4573: 3.7017, 0.8342: 4.0637, 0.9497: 4.1009}
    other = {0.0854: 3.3182, 0.1357: 3.4193, 0.2915: 3.5826, 0.4523: 3.6941, 0.8392: 4.0664, 0.9548: 4.1121}
    for cell in (mixed, rich, other):
        assert open_cell_volts("nmc", list(cell)) == pytest.approx(list(cell.values()), abs=0.1)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_volts_rise_with_the_charge_between_the_cells_limits(chemistry):
    shares, volts = np.array(rows(chemistry)).T
    assert shares[0] == 0.0
    assert shares[-1] == 1.0
    assert np.all(np.diff(shares) > 0)
    assert np.all(np.diff(volts) > 0)
    empty, nominal, full = CELL_VOLTS[chemistry]
    assert empty - 0.01 <= volts[0] < nominal < volts[-1] <= full + 0.001
    assert open_cell_volts(chemistry, shares) == pytest.approx(volts, abs=1e-12)


@pytest.mark.parametrize("share", [-0.01, 1.01, float("nan"), [0.5, 2.0]])
def test_a_share_outside_is_refused(share):
    with pytest.raises(InputError, match="0 to 1"):
        open_cell_volts("nmc", share)


def test_an_unknown_chemistry_is_refused():
    with pytest.raises(InputError, match="one of nmc"):
        open_cell_volts("lead", 0.5)
    with pytest.raises(InputError, match="chemistry"):
        SCOOTER.change(store={"chemistry": "lead"})


# ---------------------------------------------------------------- what it holds
@pytest.mark.parametrize("chemistry", CHEMISTRIES)
@pytest.mark.parametrize("share", [1.0, 0.77, 0.3, 0.02])
def test_the_energy_is_volts_integrated_over_the_charge(chemistry, share):
    pack = PACKS[chemistry]
    z, v = np.array(rows(chemistry)).T
    inner = [x for x in z if 0 < x < share]
    area = quad(lambda x: np.interp(x, z, v), 0.0, share, points=inner or None, limit=200, epsrel=1e-10)[0]
    assert pack.energy(pack.state_at_share(share)) == pytest.approx(pack.charge * 7 * area, rel=1e-8)


def test_the_pack_worked_apart():
    # Authors' independent script, 2026: 7s2p of 3.0 Ah: 157.3 Wh by the open-circuit volts, 107.5 mΩ
    assert PACK.energy(PACK.full_state()) / 3600 == pytest.approx(157.3, abs=0.05)
    assert PACK.resistance == pytest.approx(0.1075, rel=1e-12)
    assert PACK.charge == 6.0 * 3600
    assert PACK.full_voltage == pytest.approx(7 * 4.18)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_volts_and_state_are_each_others_inverse(chemistry):
    pack = PACKS[chemistry]
    for share in np.linspace(0, 1, 41):
        state = pack.state_at(pack.open_voltage(pack.state_at_share(share)))
        assert state[0] == pytest.approx(share, abs=1e-9)
        assert pack.rested_voltage(state) == pytest.approx(pack.open_voltage(state))


@pytest.mark.parametrize("volts", [20.9, 29.3, 0.0, -1.0, float("nan")])
def test_volts_outside_the_table_are_refused(volts):
    with pytest.raises(InputError, match="21 V"):
        PACK.state_at(volts)


@pytest.mark.parametrize("share", [-0.1, 1.1, float("nan")])
def test_a_charge_outside_is_refused(share):
    with pytest.raises(InputError, match="0 % to 100 %"):
        PACK.state_at_share(share)


# ---------------------------------------------------------------- the seam
@pytest.mark.parametrize("chemistry", CHEMISTRIES)
@pytest.mark.parametrize("power", [0.0, 5.0, 300.0, -250.0])
def test_the_terminals_solve_the_quadratic(chemistry, power):
    pack = PACKS[chemistry]
    p = pack.parameters(WARM)
    for state in (np.array([0.9, 0.2]), np.array([0.33, 0.0]), np.array([0.07, 0.4])):
        volts, amps = lithium.pack_terminal(state, p, power)
        inside, ohm = pack.inside(state, p)
        assert volts * amps == pytest.approx(power, rel=1e-12, abs=1e-12)
        assert volts == pytest.approx(inside - amps * ohm, rel=1e-12)
        if power > 0:
            assert volts == pytest.approx(brentq(lambda u, i=inside, r=ohm: u * (i - u) - power * r, inside / 2, inside), rel=1e-10)


def test_the_pack_collapses_where_the_quadratic_ends_and_gives_nothing_when_empty():
    p, state = PACK.parameters(WARM), PACK.full_state()
    inside, ohm = PACK.inside(state, p)
    most = inside**2 / (4 * ohm)
    assert np.isfinite(lithium.pack_terminal(state, p, most * (1 - 1e-9))).all()
    assert np.isnan(lithium.pack_terminal(state, p, most * (1 + 1e-9))).all()
    assert np.isnan(lithium.pack_terminal(np.array([0.0, 0.0]), p, 1.0)).all()
    assert np.isfinite(lithium.pack_terminal(np.array([0.0, 0.0]), p, -1.0)).all()  # braking fills it again


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_what_it_stores_falls_by_what_it_gives_and_loses(chemistry):
    pack, out, h = PACKS[chemistry], np.zeros(4), 1e-4
    p = pack.parameters(WARM)
    for state, amps in ((np.array([0.55, 0.15]), 9.0), (np.array([0.55, 0.15]), -4.0), (np.array([0.123, -0.1]), 2.0)):
        lithium.pack_slope(state, p, amps, out)
        ahead, behind = (lithium.pack_stored(state + s * h * out[:2], p) for s in (1, -1))
        inside, ohm = pack.inside(state, p)
        fall = -(ahead - behind) / (2 * h)
        assert fall == pytest.approx(amps * (inside - amps * ohm) + out[2] + out[3], rel=1e-6)
        assert out[2] == pytest.approx(amps**2 * ohm, rel=1e-12)


def test_a_rest_lets_the_slow_branch_come_back():
    state = np.array([0.5, 0.2])
    assert PACK.rested_voltage(state) - PACK.open_voltage(state) == pytest.approx(0.2)
    half = 40.0 * np.log(2.0)  # branch_time of the scooter's file
    assert PACK.rested_voltage(state) - PACK.rested_after(state, half) == pytest.approx(0.1)


# ---------------------------------------------------------------- cold, limits
def test_cold_stiffens_the_cells_and_not_the_leads():
    cells = 7 * 25e-3 / 2
    state = np.array([0.5, 0.0])
    for kelvin, factor in ((263.15, 2.28), (253.15, 3.0)):  # memory: two to three times at 10 to 20 degC below zero
        ohm = PACK.inside(state, PACK.parameters(kelvin))[1]
        assert (ohm - 7 * 1e-3 - 13e-3) / cells == pytest.approx(factor, abs=0.05)
    assert PACK.inside(state, PACK.parameters(WARM))[1] == pytest.approx(0.1075)


def test_sagging_and_a_false_cut_off():
    # Worked apart, 2026: 10s2p at 33 V inside, 0.125 ohm, cut off at 28 V: 40 A, in the cold a third of it
    pack = replace(PACK, cells_in_series=10, joint_resistance=0.0, lead_resistance=0.0, charge_voltage=42.0, branch_resistance=0.0)
    assert pack.resistance == pytest.approx(0.125)
    assert lithium.compensated_stop(28.0, 20.0, pack.resistance) == pytest.approx(25.5, abs=0.05)


def test_how_fast_it_may_be_charged():
    # a specification of a 2.6 Ah cell: 0.1 of the charge an hour from 0 to 5 degC, 0.2 from 5 to 15 degC, then the cell's own
    for celsius, amps in ((-5.0, 0.0), (-0.01, 0.0), (0.0, 0.6), (4.9, 0.6), (5.0, 1.2), (14.9, 1.2), (15.0, 8.0), (25.0, 8.0)):
        assert PACK.charging_limit(celsius + 273.15) == pytest.approx(amps), celsius
    assert PACKS["lto"].charging_limit(253.15) == pytest.approx(8.0)


def test_strings_never_share_quite_equally():
    assert PACK.current_limit == pytest.approx(2 * 15.0 / 1.2)
    assert replace(PACK, strings_in_parallel=1).current_limit == 15.0


# ---------------------------------------------------------------- rides
SLOWING = [(PATH.limits[3][0], PATH.limits[3][1])]  # the one slower stretch that goes down
FIXED = {
    "kind": "fixed bus",
    "bus_voltage": "36 V",
    "efficiency": 0.93,
    "minimum_voltage": "8 V",
    "current_limit": "60 A",
    "both_ways": False,
    "mass": "0.8 kg",
}
CONVERTED = TRIKE.change(converter=FIXED)
RIDES = {
    "full": (SCOOTER, PATH, 29.26, 0.0),
    "nearly empty": (SCOOTER, PATH, 25.0, 0.0),
    "into the wind": (SCOOTER.change(controller={"stop_voltage": "23.0 V"}), PATH, 25.2, 4.0),
    "compensated": (SCOOTER.change(controller={"stop_voltage": "23.0 V", "sag_compensation": "50 mOhm"}), PATH, 24.6, 4.0),
    "frost": (SCOOTER.change(road={"air_temperature": "-10 degC"}), PATH, 28.0, 0.0),
    "held by the pack": (SCOOTER.change(controller={"store_current_limit": "9 A"}), PATH, 25.0, 0.0),
    "iron phosphate": (
        SCOOTER.change(store={"chemistry": "lfp", "cells_in_series": 8, "charge_voltage": "29.2 V"}),
        PATH,
        26.3,
        0.0,
    ),
    "silicon": (SCOOTER.change(store={"chemistry": "nmc_sic"}), PATH, 27.0, 0.0),
    "bank through a converter": (CONVERTED, evlab.load_route("two_sheds_up"), 35.0, 0.0),
    "bank through a converter, to its end": (CONVERTED, evlab.load_route("two_sheds_up"), 21.0, 0.0),
    "held by the converter": (CONVERTED.change(converter={"current_limit": "25 A"}), evlab.load_route("two_sheds_up"), 28.0, 0.0),
    "pack through a converter": (
        SCOOTER.change(converter={**FIXED, "minimum_voltage": "22 V", "both_ways": True}),
        PATH,
        26.0,
        0.0,
    ),
}


@pytest.mark.parametrize("name", RIDES)
def test_scipy_rides_the_same(name):
    vehicle, route, volts, wind = RIDES[name]
    approach = SLOWING if route is PATH else []
    outcome, time, place, terminal, first, second, winding = independent_ride.ride(vehicle, route, volts, wind, approach)
    r = evlab.ride(vehicle, route, start=volts, wind=wind)
    assert r.outcome == outcome  # two numerical routes: as far apart as in test_riding.py at most
    assert r.duration == pytest.approx(time, abs=1e-4)
    assert r.distance == pytest.approx(place, abs=1e-4)
    assert r.end_voltage == pytest.approx(terminal, abs=1e-4)
    state, (warmth,) = r.end_state(vehicle.store.kind)
    assert (*state[:2], warmth) == pytest.approx((first, second, winding), abs=1e-4)
    assert abs(r.closure) < 0.1 * r.closure_allowed


def test_the_scooter_comes_home():
    r = evlab.ride(SCOOTER, PATH)
    assert r.outcome == "arrived"
    assert abs(r.closure) < 1e-4
    p = PACK.parameters(SCOOTER.road.air_temperature)
    drawn = lithium.pack_stored(PACK.full_state(), p) - lithium.pack_stored(r.end_state("lithium")[0], p)
    assert r.ledger["store"] == pytest.approx(drawn, rel=1e-12)
    assert -r.ledger["slow_branch"] > 0
    charge = float(np.trapezoid(r.column("store_amps"), r.column("time")))
    assert 1 - charge / PACK.charge == pytest.approx(r.end_state("lithium")[0][0], abs=2e-5)  # the count of the amps, over rows


def test_a_converter_costs_its_share():
    r = evlab.ride(CONVERTED, "two_sheds_up")
    power = r.column("store_volts") * r.column("store_amps")
    assert power.min() > 0  # nothing flows back through it
    given = r.ledger["store"] + r.ledger["esr"] + r.ledger["slow_branch"]
    assert -r.ledger["converter"] == pytest.approx(0.07 * given, rel=1e-6)  # 93 % efficiency
    assert r.ledger["store"] > evlab.ride(TRIKE, "two_sheds_up").ledger["store"]


@pytest.mark.parametrize("start", ["0 %", "110 %", 20.0, 30.0, "empty", -1.0, float("nan")])
def test_a_ride_from_where_a_pack_cannot_stand_is_refused(start):
    with pytest.raises(InputError, match="start"):
        evlab.ride(SCOOTER, PATH, start=start)


def test_an_error_in_the_independent_pack_is_seen(monkeypatch):
    right = independent_ride.Pack.rates
    monkeypatch.setattr(independent_ride.Pack, "rates", lambda self, x, amps: right(self, x, 1.01 * amps))
    with pytest.raises(AssertionError):
        test_scipy_rides_the_same("nearly empty")
