"""Charging: a store on a charger, stage by stage, with every joule accounted for.

Stages are smooth: SciPy's solver runs each one up to the instant at which something changes, which it finds.  The stores as
a charger sees them stand in `charged`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any

import numpy as np

from evlab import cautions as rules
from evlab.charged import SIDES
from evlab.chargers import charges_per_source
from evlab.glossary import entry
from evlab.starting import started
from evlab.trust import UNTRUSTED, Booked, doubt
from evlab.units import InputError, made_by, si

__all__ = ["ChargeEvent", "ChargeResult", "charge"]

LOSSES = ("esr", "slow_branch", "leakage", "clamps", "converter", "cable")
ROWS, DAY, STAGES = 160, 86400.0, 100  # rows of a stage's table; s
LATE = 12  # at a pace that needs so many days, or times the time limit where that is longer, the charger gives up


@dataclass(frozen=True)
class ChargeEvent:
    """Something that happened: time [s], volts at the terminals, its kind, and a few words."""

    time: float
    volts: float
    kind: str
    words: str


# ---------------------------------------------------------------- the run
def charge(vehicle: Any, *, start: Any = None, stop: float | str | None = None, hold: float | str | None = None,
           time_limit: float | str = DAY) -> ChargeResult:
    """Charge the vehicle's store with its charger.

    Parameters: `vehicle`; `start`: None (a bank at the controller's stop volts, a lithium pack at 10 %), volts, "20 V", "30 %",
    or an earlier ride or charge, whose states go on; `stop`, volts at the terminals, by default the store's charge volts;
    `hold`, a stage of constant volts after that, until the current has fallen to it ("0.3 A") or for a time ("5 min");
    `time_limit` [s], by default a day.  Returns a ChargeResult.  Raises InputError in words for what cannot be.
    """
    made_by("vehicle of charge", vehicle, "charger", "evlab.load_vehicle()")
    store = vehicle.store
    if store.kind not in SIDES:
        raise InputError("Input vehicle of charge must have a store that can be charged; instead received one of the kind "
                         f"{store.kind!r}.")
    if start is None:
        first = store.state_at(vehicle.controller.stop_voltage) if store.kind == "capacitors" else store.state_at_share(0.1)
    else:
        first = start.end_state(store.kind)[0] if hasattr(start, "end_state") else started(store, start, "charge")
    until = store.charge_voltage if stop is None else si(stop, entry("last_voltage"), "stop of charge")
    limit = si(time_limit, entry("time"), "time_limit of charge")
    if not 0 < until < 1000:
        raise InputError(f"Input stop of charge must be volts above zero; instead received {stop}.")
    if not 0 < limit <= 1e8:
        raise InputError(f"Input time_limit of charge must be seconds above zero; instead received {time_limit}.")
    return _Run(vehicle, first, until, _hold(hold, vehicle.charger), limit).go(start)


def _hold(hold: float | str | None, charger: Any) -> tuple[str, float] | None:
    """("amps" or "time", value) of the constant-voltage stage."""
    if hold is None:
        return None
    if charger.kind == "resistor":
        raise InputError(f"Input hold of charge must be left out for a resistor, which holds no volts; instead received {hold!r}.")
    last = hold.strip().rstrip(".").split(" ")[-1] if isinstance(hold, str) else ""
    name, key = ("time", "time") if last in entry("time").accepts else ("charging_current", "amps")
    value = si(hold, entry(name), "hold of charge")
    if not value > 0:
        raise InputError(f"Input hold of charge must be a current or a time above zero; instead received {hold!r}.")
    return key, value


class _Run:
    """One charge: state y is the store's, then losses in the order of LOSSES, energy and charge of the source."""

    def __init__(self, vehicle: Any, first: Any, stop: float, hold: tuple[str, float] | None, limit: float) -> None:
        self.vehicle, self.charger, self.stop, self.hold, self.limit = vehicle, vehicle.charger, stop, hold, limit
        self.side = SIDES[vehicle.store.kind](vehicle.store, vehicle.road.air_temperature)
        x = self.side.split(first)
        self.first, self.size = first, len(x)
        self.y = np.concatenate([x, np.zeros(len(LOSSES) + 2)])
        self.time = 0.0
        self.rows: list[tuple[float, Any, str]] = []
        self.spells: list[tuple[float, float, str]] = []
        self.events: list[ChargeEvent] = []
        self.blind = self.charger.programme == "until the volts drop"  # no end volts: only a drop would end it

    # ------------------------------------------------------------ one instant
    def amps(self, y: Any, held: str) -> float:
        inside, ohm = self.side.inside(y), self.side.resistance(y)
        if held == "constant voltage":
            return max(self.stop - inside, 0.0) / ohm if ohm else 0.0
        return self.charger.limits(inside, ohm)[held]

    def terminals(self, y: Any, amps: float) -> float:
        return self.side.inside(y) + amps * self.side.resistance(y)

    def slopes(self, held: str) -> Callable[[float, Any], list[float]]:
        c = self.charger

        def rates(_: float, y: Any) -> list[float]:
            amps, ohm = self.amps(y, held), self.side.resistance(y)
            volts = self.side.inside(y) + amps * ohm
            taken = c.source_amps(amps, volts)
            if taken != taken:  # the solver looks past the point at which the source can give no more
                taken = c.source_voltage / (2 * c.source_resistance)
            made, lost = self.side.slopes(y, amps)
            cable = amps**2 * c.cable_resistance + taken**2 * c.source_resistance
            return [*made, amps**2 * ohm, *lost, c.loss(amps, volts, taken), cable, taken * c.source_voltage, taken]

        return rates

    # ------------------------------------------------------------ stages
    def go(self, start: Any) -> ChargeResult:
        if isinstance(start, ChargeResult) and start.vehicle.store == self.vehicle.store:  # its cells stand as they stood
            self.y[:self.size] = start._run.y[:self.size]
        outcome = self._refused()
        held = "" if outcome else self._held(self.y)
        for _ in range(STAGES):
            if outcome:
                break
            outcome, held = self._stage(held)
        if not outcome:
            raise InputError(f"Input charger of charge must settle at one of its limits; instead it changed {STAGES} times: set "
                             "its limits further apart.")
        if not self.rows:
            self.rows.append((0.0, self.y.copy(), "none"))
        return ChargeResult(self, outcome, start)

    def _refused(self) -> str:
        """What keeps the charge from beginning; "" if nothing does."""
        volts = self.side.inside(self.y)
        if volts < self.charger.minimum_voltage:
            self._tell(volts, "charger gave up", f"the store stands at {volts:.3g} V, and the charger refuses an output below "
                       f"{self.charger.minimum_voltage:g} V: bring it up through a resistor first")
            return "charger gave up"
        if volts >= self.stop and not self.blind:
            self._tell(volts, "full", f"the store stands at {volts:.4g} V already, with {self.stop:.4g} V to reach")
            return "full"
        return ""

    def _held(self, y: Any, besides: str = "") -> str:
        """The limit that lets the least through."""
        limits = self.charger.limits(self.side.inside(y), self.side.resistance(y))
        limits.pop(besides, None)
        return min(limits, key=lambda name: limits[name])

    def _stage(self, held: str) -> tuple[str, str]:
        """Run until something changes.  Returns the outcome ("" to go on) and what holds the charger next."""
        from scipy.integrate import solve_ivp

        watches, end, began, y0 = self._watches(held), self.limit, self.time, self.y
        if held == "constant voltage" and self.hold and self.hold[0] == "time":
            end = min(end, began + self.hold[1])
        if end <= began + 1e-9:  # no time left: there is nothing to integrate
            self._keep(held, began, np.array([began]), y0.reshape(-1, 1))
            return self._after("time", held)
        for name, watch in watches.items():  # what is so from the start needs no search
            if watch(began, y0) <= 0 and name != "another limit":
                self._keep(held, began, np.array([began]), y0.reshape(-1, 1))
                return self._after(name, held)
        run: Any = solve_ivp(self.slopes(held), (began, end), y0, method="LSODA", rtol=1e-9, atol=1e-9,
                             first_step=min(1e-3, end - began), events=list(watches.values()), dense_output=True)
        self.time, self.y = float(run.t[-1]), np.ascontiguousarray(run.y[:, -1])
        happened = next((name for name, at in zip(watches, run.t_events, strict=True) if len(at) and at[-1] == self.time), "time")
        times = np.linspace(began, self.time, ROWS)
        self._keep(held, began, times, np.column_stack([y0, run.sol(times[1:-1]), self.y]))
        return self._after(happened, held)

    # ------------------------------------------------------------ what may end a stage: functions that fall through zero
    def _watches(self, held: str) -> dict[str, Any]:
        names = {"source overloaded": self._source_left, "cell over its limit": self._cell_left}
        if held == "constant voltage":
            if self.hold and self.hold[0] == "amps":
                names["held"] = self._current_left
        else:
            if not self.blind:
                names |= {"charger gave up": self._pace, "stop": self._volts_left}
            names["another limit"] = self._another
        if self.vehicle.store.kind == "lithium" and not self.blind:
            names["counted full"] = self._charge_left
        made: dict[str, Any] = {name: partial(watch, held) for name, watch in names.items()}
        for watch in made.values():
            watch.terminal, watch.direction = True, -1.0
        return made

    def _volts_left(self, held: str, _: float, y: Any) -> float:
        return self.stop - self.terminals(y, self.amps(y, held))

    def _another(self, held: str, _: float, y: Any) -> float:
        limits = self.charger.limits(self.side.inside(y), self.side.resistance(y))
        mine = limits.pop(held)
        return min(limits.values(), default=math.inf) - mine + 1e-12

    def _cell_left(self, held: str, _: float, y: Any) -> float:
        return float(self.side.limit - self.side.cells(y, self.terminals(y, self.amps(y, held)))[0])

    def _source_left(self, held: str, _: float, y: Any) -> float:
        amps = self.amps(y, held)
        taken = self.charger.source_amps(amps, self.terminals(y, amps))
        return self.charger.source_current_limit - taken if taken == taken else -1.0

    def _pace(self, held: str, _: float, y: Any) -> float:
        amps = self.amps(y, held)
        return float(self.side.pace(y, self.side.slopes(y, amps)[0], amps, self.stop) - 1 / (LATE * max(self.limit, DAY)))

    def _current_left(self, held: str, _: float, y: Any) -> float:
        return self.amps(y, held) - (self.hold[1] if self.hold else 0.0)

    def _charge_left(self, held: str, _: float, y: Any) -> float:
        return float(1.0 - y[0])

    # ------------------------------------------------------------ what comes of it
    def _after(self, name: str, held: str) -> tuple[str, str]:
        amps = self.amps(self.y, held)
        volts = self.terminals(self.y, amps)
        if name == "another limit":
            return "", self._held(self.y, held)
        if name == "stop" and self.hold:
            self._tell(volts, "constant voltage", f"the terminals reach {self.stop:.4g} V: from here on the charger holds them")
            return "", "constant voltage"
        if name == "charger gave up":
            self._tell(volts, name, self._why_slow(held, amps))
            return name, held
        if name == "source overloaded":
            taken = self.charger.source_amps(amps, volts)
            asked = f"{taken:.3g} A" if taken == taken else "more power than it can give at all"
            most = f"{self.charger.source_current_limit:g} A is its limit"
            self._tell(volts, name, f"the charger asks its source for {asked}; {most}")
            return name, held
        if name == "cell over its limit":
            kind = "nobody stops it" if self.blind else name
            waits = ", and the programme still waits for a drop of the volts" if self.blind else ""
            self._tell(volts, kind, f"the fullest cell passes {self.side.limit:.3g} V with {volts:.2f} V at the terminals{waits}")
            return name, held
        if name == "time" and self.time >= self.limit - 1e-9:
            self._tell(volts, "time limit", f"{self.limit:g} s are over")
            return "time limit", held
        full = {"stop": f"the terminals reach {volts:.4g} V", "held": f"the current has fallen to {amps:.3g} A",
                "time": f"the volts were held for {self.hold[1] if self.hold else 0:g} s",
                "counted full": f"all its charge is back by the count, with {amps:.2g} A still flowing"}
        self._tell(volts, "full", full[name])
        return "full", held

    def _why_slow(self, held: str, amps: float) -> str:
        top = self.charger.highest_voltage
        if top <= self.stop and held in ("highest volts", "resistor"):
            what = "its source has" if self.charger.kind == "resistor" else "the charger can give"
            return f"{top:.4g} V is all that {what}, and {self.stop:.4g} V were to be reached"
        if sum(self.side.slopes(self.y, amps)[1][1:]) > 0:
            return f"leakage, bleeders and clamps take all of its {amps:.3g} A: the volts do not rise any more"
        return f"its {amps:.3g} A would need more than {LATE} days for what is left"

    def _tell(self, volts: float, kind: str, words: str) -> None:
        self.events.append(ChargeEvent(self.time, volts, kind, words))

    def _keep(self, held: str, began: float, times: Any, states: Any) -> None:
        self.rows += [(float(t), y, held) for t, y in zip(times, np.ascontiguousarray(states.T), strict=True)]
        self.spells.append((began, self.time, held))


# ---------------------------------------------------------------- the result
class ChargeResult(Booked):
    """What a charge came to.  Columns are arrays in SI; `table()` gives them as a DataFrame, `units` their units.

    Attributes: outcome ("full", "source overloaded", "cell over its limit", "charger gave up", "time limit", "not to be trusted"),
    `ended` (the same, whether its ledger closes or not); reason;
    duration [s]; start_voltage, end_voltage (terminals) and rested_voltage [V]; ledger {key: J} (the source positive, uses
    negative, what the store takes among them); closure, closure_allowed [J]; events, spells (start, end, held by), cautions;
    charges_per_source; efficiency.
    """

    def __init__(self, run: _Run, outcome: str, start: Any) -> None:
        self.vehicle, self.ended, self.stop, self.spells = run.vehicle, outcome, run.stop, run.spells
        self._run, self._start = run, start

    @cached_property
    def _columns(self) -> dict[str, Any]:
        run, side, c = self._run, self._run.side, self._run.charger
        made: dict[str, list[Any]] = {name: [] for name in (
            "time", "store_volts", "open_volts", "charging_amps", "charging_power", "source_amps", "worst_cell_volts",
            "mean_cell_volts", "state_of_charge", "energy_source", "energy_store", *(f"energy_{k}" for k in LOSSES), "held_by")}
        first = side.stored(run.rows[0][1])
        for time, y, held in run.rows:
            amps = run.amps(y, held) if held != "none" else 0.0
            volts = run.terminals(y, amps)
            taken = c.source_amps(amps, volts)
            lost, given = -y[run.size:run.size + len(LOSSES)], y[run.size + len(LOSSES)]
            row = (time, volts, side.inside(y), amps, volts * amps, taken, *side.cells(y, volts), side.share(y), given,
                   first - side.stored(y), *lost, held)
            for name, value in zip(made, row, strict=True):
                made[name].append(value)
        return {name: np.array(values) for name, values in made.items()}

    def column(self, name: str) -> Any:
        """One column as an array (SI); `held_by` is text.  An unknown name raises KeyError with the names there are."""
        if name not in self._columns:
            raise KeyError(f"A charge has no column {name!r}; it has {', '.join(self._columns)}.")
        return self._columns[name]

    @property
    def units(self) -> dict[str, str]:
        """{column: SI unit}; text columns have none."""
        return {name: entry(name).unit for name in self._columns}

    def table(self) -> Any:
        """All columns as a pandas DataFrame, SI."""
        import pandas as pd

        return pd.DataFrame(self._columns)

    # ------------------------------------------------------------ numbers
    duration = property(lambda self: self._run.time)
    start_voltage = property(lambda self: self.vehicle.store.open_voltage(self._run.first))

    @property
    def end_voltage(self) -> float:
        """Volts at the terminals in the last instant, under its current [V]."""
        return float(self._columns["store_volts"][-1])

    @property
    def rested_voltage(self) -> float:
        """Volts of the store after a long rest [V]."""
        return self.vehicle.store.rested_voltage(self._run.side.join(self._run.y[:self._run.size]))

    def end_state(self, kind: str) -> tuple[Any, Any]:
        """(store's state, winding temperature) with which a ride goes on; the winding has cooled meanwhile."""
        store, motor, air = self.vehicle.store, self.vehicle.motor, self.vehicle.road.air_temperature
        if kind != store.kind:
            raise InputError(f"Input start must be a result of a vehicle with a store of the kind {kind!r}; instead received one "
                             f"with {store.kind!r}.")
        warm = self._start.end_state(kind)[1] if hasattr(self._start, "end_state") else np.array([air])
        cooled = air + (warm - air) * math.exp(-self.duration / (motor.thermal_resistance * motor.heat_capacity))
        return self._run.side.join(self._run.y[:self._run.size]), cooled

    @cached_property
    def ledger(self) -> dict[str, float]:
        keys = ("source", "store", *LOSSES)
        return {key: float(self._columns[f"energy_{key}"][-1]) for key in keys}

    @property
    def efficiency(self) -> float:
        """What the store gained over what the source gave."""
        return -self.ledger["store"] / self.ledger["source"] if self.ledger["source"] else math.nan

    @property
    def charges_per_source(self) -> float:
        """How often the source could do this; endless without a battery's charge."""
        taken, c = float(self._run.y[-1]), self.vehicle.charger
        return charges_per_source.floats(c.source_charge, c.source_share, taken) if taken and c.source_charge else math.inf

    # ------------------------------------------------------------ what happened
    @cached_property
    def events(self) -> list[ChargeEvent]:
        """In the order of time; among them the instant at which the fullest cell passes its rated volts."""
        worst, at = self._columns["worst_cell_volts"], self._columns["time"]
        over = np.flatnonzero(worst > self._run.side.rated)
        found = list(self._run.events)
        if len(over):
            i = int(over[0])
            found.append(ChargeEvent(float(at[i]), float(self._columns["store_volts"][i]), "cell above rated",
                                     f"the fullest cell passes its rated {self._run.side.rated:.3g} V"))
        found += [ChargeEvent(a, float(np.interp(a, at, self._columns["store_volts"])), held, f"{held} from here on")
                  for a, _, held in self.spells[1:] if held != "constant voltage"]
        return sorted(found, key=lambda e: e.time)

    @property
    def reason(self) -> str:
        """One sentence: what ended the charge, and when."""
        if self.outcome == UNTRUSTED:
            return doubt("charge", self)
        last = self._run.events[-1]
        return f"After {self.duration:.1f} s {last.words}."

    @cached_property
    def cautions(self) -> list[Any]:
        return rules.of_charge(self)

    def _repr_html_(self) -> str:
        from evlab.ride_words import charge_summary

        return charge_summary(self)

    def __repr__(self) -> str:
        return f"<{self.outcome} after {self.duration:.1f} s, {self.end_voltage:.2f} V: {self.reason}>"
