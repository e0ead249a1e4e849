"""Pictures of the store and its charging, over stand-ins with the attributes that they read."""

from dataclasses import dataclass, field, replace
from types import SimpleNamespace

import numpy as np
import pytest

from evlab.plots import ChargeRanges, StoreRanges

FARAD, OHM, FULL, STOP = 46.4, 0.0155, 35.0, 15.0


# ---------------------------------------------------------------- stand-ins: a linear bank, closed forms or small steps
@dataclass(frozen=True)
class Bank:
    kind: str = "capacitors"
    cells_in_series: int = 14
    cell_rated_voltage: float = 2.7
    cell_surge_voltage: float = 2.85
    charge_voltage: float = FULL
    full_voltage: float = FULL

    def full_state(self):
        return np.array([self.charge_voltage])

    def state_at(self, volts):
        return np.array([volts])

    def energy(self, state):
        return 0.5 * FARAD * float(state[0]) ** 2


CHARGER = SimpleNamespace(
    kind="regulated", current_limit=6.0, power_limit=150.0, efficiency=0.88, source_voltage=13.2, source_resistance=0.012,
    source_current_limit=40.0)  # fmt: skip
RESISTOR = SimpleNamespace(
    kind="resistor", series_resistance=6.0, cable_resistance=0.01, source_voltage=36.0, source_resistance=0.1, source_current_limit=20.0
)
CONTROLLER = SimpleNamespace(stop_voltage=STOP, store_current_limit=45.0)
VEHICLE = SimpleNamespace(store=Bank(), controller=CONTROLLER, charger=CHARGER)
PACK = SimpleNamespace(
    kind="lithium", cells_in_series=10, charge_voltage=42.0, full_voltage=41.8, full_state=lambda: 1.0, energy=lambda state: 777e3 * state
)


@dataclass
class Discharge:
    name: str
    times: np.ndarray
    volts: np.ndarray
    open_volts: np.ndarray
    amps: np.ndarray
    energy: np.ndarray
    ended: str
    used: float
    esr: float
    slow_branch: float
    left: float
    duration: float


def discharge(name, amps_at, end=STOP, step=0.05, ohm=OHM):
    rows, inside, t, used, esr, ended = [], FULL, 0.0, 0.0, 0.0, "stop volts"
    while True:
        amps = amps_at(inside)
        if not np.isfinite(amps):
            ended = "collapse"
            break
        volts = inside - ohm * amps
        rows.append((t, volts, inside, amps, used))
        if volts <= end:
            break
        used, esr, t = used + volts * amps * step, esr + ohm * amps**2 * step, t + step
        inside -= amps * step / FARAD
    columns = np.array(rows or [(0.0, FULL, FULL, 0.0, 0.0)]).T
    return Discharge(name, *columns, ended, used, esr, 0.03 * used, 0.5 * FARAD * inside**2, float(columns[0][-1]))


def at_power(watts, ohm=OHM):
    return lambda v: (v - np.sqrt(v * v - 4 * ohm * watts)) / (2 * ohm) if v * v > 4 * ohm * watts else np.nan


def discharges(watts=600.0, amps=30.0, load=1.0, ohm=OHM, end=STOP):
    return (
        discharge("constant power", at_power(watts, ohm), end, ohm=ohm),
        discharge("constant current", lambda v: amps, end, ohm=ohm),
        discharge("resistor", lambda v: v / (load + ohm), end, ohm=ohm),
    )


@dataclass
class Case:
    vehicle: object = field(default_factory=lambda: VEHICLE)
    discharges: tuple = field(default_factory=discharges)
    strings: object = None
    floats: dict = field(default_factory=dict)
    holding: dict = field(default_factory=dict)
    short: object = None
    ragone: dict = field(default_factory=dict)
    dots: dict = field(default_factory=dict)


@dataclass
class Charge:
    columns: dict
    spells: list
    outcome: str = "full"
    vehicle: object = field(default_factory=lambda: VEHICLE)
    closure: float = 1e-7
    closure_allowed: float = 1e-3

    def __post_init__(self):
        self.duration = float(self.columns["time"][-1])
        self.ledger = {k[7:]: float(v[-1]) for k, v in self.columns.items() if k.startswith("energy_")}
        self.rested_voltage = float(self.columns["open_volts"][-1])
        self.efficiency = -self.ledger["store"] / self.ledger["source"] if self.ledger["source"] else 0.0

    def column(self, name):
        return self.columns[name]


def charge(start=20.0, vehicle=VEHICLE, outcome="full", spread=1.183, rows=None):
    charger, dt = vehicle.charger, 0.25
    t, inside, data, spells = 0.0, start, [], []
    joules = dict.fromkeys(("source", "store", "esr", "slow_branch", "converter", "cable", "leakage", "clamps"), 0.0)
    while len(data) < (rows or 1e5):
        if charger.kind == "resistor":
            amps, by = (charger.source_voltage - inside) / (charger.series_resistance + OHM), "resistor"
            watts_in = charger.source_voltage * amps
        else:
            amps = min(charger.current_limit, charger.power_limit / inside, max((FULL - inside) / OHM, 0.0))
            by = "current limit" if amps == charger.current_limit else "power limit"
            by = "constant voltage" if amps < 0.999 * min(charger.current_limit, charger.power_limit / inside) else by
            watts_in = (inside + OHM * amps) * amps / charger.efficiency
        volts = inside + OHM * amps
        data.append((t, volts, inside, amps, volts * amps, watts_in / charger.source_voltage, spread * inside / 14, inside / 14,
                     *joules.values()))  # fmt: skip
        spells = [*spells[:-1], (spells[-1][0], t, by)] if spells and spells[-1][2] == by else [*spells, (t, t, by)]
        if amps < 0.1 or inside >= FULL - 0.01:
            break
        for key, watts in {
            "source": watts_in, "store": -inside * amps, "esr": -OHM * amps**2, "cable": -0.01 * amps**2,
            "converter": volts * amps - watts_in + 0.01 * amps**2,
        }.items():  # fmt: skip
            joules[key] += dt * watts
        inside, t = inside + amps * dt / FARAD, t + dt
    names = ("time", "store_volts", "open_volts", "charging_amps", "charging_power", "source_amps", "worst_cell_volts",
             "mean_cell_volts", *(f"energy_{k}" for k in joules))  # fmt: skip
    return Charge(dict(zip(names, np.array(data).T, strict=True)), spells, outcome, vehicle)


def strings(volts=35.0, spread=0.2, count=20_000, seed=1):
    farads = np.random.default_rng(seed).uniform(1.0, 1.0 + spread, (count, 14)) if spread else np.ones((count, 14))
    worst = volts / farads.min(1) / (1 / farads).sum(1)
    case = volts / (1 + 13 / (1 + spread))
    return SimpleNamespace(worst=worst, mean=worst.mean(), p95=np.quantile(worst, 0.95), worst_case=case, safe_voltage=volts * 2.7 / case,
                           rated=2.7, surge=2.85, average=volts / 14)  # fmt: skip


def float_run(odd, others, days=30.0):
    times = np.linspace(0, days * 86400, 60)
    fall = 1 - np.exp(-times / 8e5)
    curves = 2.5 + (odd - 2.5) * fall, 2.5 + (others - 2.5) * fall
    return SimpleNamespace(times=times, odd=curves[0], others=curves[1], odd_end=float(curves[0][-1]), others_end=float(curves[1][-1]))


def hold(ohm):
    times = np.concatenate([[0.0], np.geomspace(60, 366 * 86400, 120)])
    return times, np.exp(-times / (ohm * 650))


def short(current=2258.0, tau=0.72, fuse=40.0):
    times = np.linspace(0, 8 * tau, 300)
    wires = {a * 1e-6: (115 * a) ** 2 for a in (1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0)}
    return SimpleNamespace(current=current, time_constant=tau, i2t=current**2 * tau / 2, times=times,
                           amps=current * np.exp(-times / tau), wires=wires, fuse=fuse, findings=[])  # fmt: skip


def ragone():
    watts = np.geomspace(10, 19000, 40)
    bank = 23.2e3 * (1 - 0.5 * watts / 19758)
    pack = 216 * 3600 * (0.5 + 0.5 * np.sqrt(np.maximum(1 - watts / 2500, 0)))
    low = watts < 2500
    return {"bank": (watts, bank), "pack": (watts[low], pack[low])}


def case(**changes):
    given = {
        "strings": strings(), "holding": {"leakage alone": hold(1666.7), "with bleeders": hold(151.5)}, "short": short(),
        "floats": {"without bleeders": float_run(1.3, 2.592), "with bleeders": float_run(2.305, 2.515)},
        "ragone": ragone(), "dots": {"trip": (600.0, 12e3)},
    }  # fmt: skip
    return Case(**(given | changes))
