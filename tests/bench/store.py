"""A charge against SciPy's solve_ivp over the cells one by one, and what a page of the store has to wait for."""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_ivp

import evlab
from evlab import discharging, ragone, store
from evlab.store_case import StoreCase
from tests.bench.ride import _median

LEAK, BLEED, CLAMP, AT, N, FARAD = 0.02, 50.0, 2.0, 2.45, 14, 650.0


def _vehicle():
    cells = {
        "slow_share": 0.0,
        "cell_tolerance": 0.02,
        "cell_leakage": LEAK,
        "bleed_resistance": BLEED,
        "clamp_current": CLAMP,
        "clamp_voltage": AT,
    }
    return evlab.load_vehicle("two_shed_trike").change(
        store=cells, charger={"current_limit": 6.0, "power_limit": 1000.0, "highest_voltage": 60.0, "cable_resistance": 0.0}
    )


def cell_by_cell(ohm, rtol=1e-9):
    """Fourteen capacitors with leakage, bleeder and clamp on 6 A until the string stands at 35 V: seconds, fullest cell."""
    raw = np.array([0.98] + [1.02] * (N - 1))
    farads, drain = FARAD * raw * np.mean(1 / raw), LEAK / 2.7 + 1 / BLEED

    def rates(_, v):
        return (6.0 - drain * v - CLAMP * np.clip((v - AT) / 0.01, 0.0, 1.0)) / farads

    def full(_, v):
        return v.sum() + 6.0 * ohm - 35.0

    full.terminal = True
    done = solve_ivp(rates, (0.0, 1e4), 15.0 / farads / (1 / farads).sum(), method="LSODA", rtol=rtol, atol=1e-9, events=full)
    return float(done.t[-1]), float(done.y[:, -1].max())


def rows():
    vehicle, scooter = _vehicle(), evlab.load_vehicle("kick_scooter")
    ours, result = _median(lambda: evlab.charge(vehicle, start=15.0))
    theirs, _ = _median(lambda: cell_by_cell(vehicle.store.resistance))
    best = cell_by_cell(vehicle.store.resistance, 1e-11)
    miss = max(abs(result.duration - best[0]), abs(float(result.column("worst_cell_volts")[-1]) - best[1]))
    made = [
        ("charge, losses and 160 rows a stage: times as long as solve_ivp over cells", ours / theirs, 8.0, "x"),
        ("  its error against a strict one", miss, 1e-4, "s"),
        ("  charge alone", ours, 0.1, "s"),
        ("lithium to the last tenth of an ampere", _median(lambda: evlab.charge(scooter, hold="0.1 A"))[0], 0.2, "s"),
    ]
    pieces = {
        "20 000 strings": ("strings", 1.0),
        "float of 30 days, twice": ("floats", 1.0),
        "three discharges": ("discharges", 0.3),
        "two curves of energy against power": ("ragone", 0.1),
    }
    made += [
        (what, _median(lambda piece=piece: getattr(StoreCase(vehicle, pack=scooter), piece))[0], budget, "s")
        for what, (piece, budget) in pieces.items()
    ]
    # the closed form of a curve against the discharges that it stands for
    powers = np.geomspace(50.0, 3000.0, 12)
    closed, curve = _median(lambda: ragone.energy_at_powers(vehicle.store, powers, 15.0))
    solved, runs = _median(lambda: [discharging.discharge(vehicle.store, power=p, stop=15.0).used for p in powers], 3)
    made.append(("a curve in closed form: share of the time of its discharges", closed / solved, 0.1, "x"))
    made.append(("  its error", float(np.max(np.abs(curve / np.array(runs) - 1))), 1e-6, "1"))
    made.append(
        ("a closed form under a slider", _median(lambda: store.constant_power_time(46.4, 600.0, 34.7, 15.0, 0.0155))[0], 1e-3, "s")
    )
    return [(what, value, budget, unit, value <= budget) for what, value, budget, unit in made]
