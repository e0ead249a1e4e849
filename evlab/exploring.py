"""Many rides: a tolerance band from what the vehicle file says of how far off its values may be, and which of them move it.

The rides are those of `riding`, in steps of a tenth of a second (energy within a thousandth of the ride's own, a test).
"""

from __future__ import annotations

import html
import math
import zlib
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from functools import cached_property
from typing import Any

import numpy as np

from evlab.glossary import GLOSSARY
from evlab.loop import ASKED, LOSSES, WISH
from evlab.riding import Journey, winding_of
from evlab.route import Route
from evlab.route_files import load_route
from evlab.units import InputError, made_by, told
from evlab.winds import AnyWind, read_wind

__all__ = ["STEP", "Band", "drawn", "movers", "spreads_of", "steps_of_band", "tolerance_band"]

STEP = 0.1  # s
GRID, ROWS = 120, 400  # places along the way; rows of a ride, between which they are read
TABLES = ("store", "motor", "controller", "gearing", "road", "vehicle", "load")
LEFT_OUT = ("vehicle.mass_height", "vehicle.mass_share", "vehicle.tyre_grip", "store.cell_tolerance")  # no ride feels them
LOW, MIDDLE, HIGH = 0.05, 0.5, 0.95
COLUMNS = ("speed", "store_volts", "store_amps", "motor_amps", "coil_temperature")
MOST_RUNS = 20_000


def tolerance_band(vehicle: Any, route: Any, *, runs: int = 200, seed: int = 1, start: Any = None,
                   wind: str | AnyWind = 0.0, driver: Any = None, winding: float | str | None = None,
                   progress: Callable[[int, int], None] | None = None) -> Band:
    """Ride one vehicle many times, each of its values drawn anew from what its file says behind +/-.

    Parameters: `vehicle`; `route`, a Route or the name of one; `runs`, how many rides (20 to 20 000); `seed` of the random draws:
    the same one gives the same draws, also for another vehicle; `start`, `wind`, `driver`, `winding` as of a ride; `progress`,
    called after each ride with how many are done and how many there are.  A +/- is taken as one standard deviation of a normal
    spread, cut where a value cannot be.
    Returns a Band.  Raises InputError in words for what cannot be, or for a vehicle that states no +/- at all.
    """
    for done, made in steps_of_band(vehicle, route, runs=runs, seed=seed, start=start, wind=wind, driver=driver,
                                    winding=winding):
        band = made
        if progress is not None:
            progress(done, runs)
    return band


def steps_of_band(vehicle: Any, route: Any, *, runs: int = 200, seed: int = 1, start: Any = None,
                  wind: str | AnyWind = 0.0, driver: Any = None,
                  winding: float | str | None = None) -> Iterator[tuple[int, Band]]:
    """The same ride by ride, for whoever has something else to do meanwhile: (rides done, the band that they make)."""
    made_by("vehicle of tolerance_band", vehicle, "effective_mass", "evlab.load_vehicle()")
    way = load_route(route) if isinstance(route, str) else route
    made_by("route of tolerance_band", way, "nodes", "evlab.load_route() or evlab.Route.from_segments()")
    if type(runs) is not int or not 20 <= runs <= MOST_RUNS:
        raise InputError(f"Input runs of tolerance_band must be a whole number from 20 to {MOST_RUNS}; instead received "
                         f"{told(runs)}.")
    if type(seed) is not int or seed < 0:
        raise InputError(f"Input seed of tolerance_band must be a whole number from 0; instead received {told(seed)}.")
    spreads, blown = spreads_of(vehicle), read_wind(wind, "tolerance_band")
    warm = None if winding is None else winding_of(winding, "tolerance_band")
    if not spreads:
        raise InputError("Input vehicle of tolerance_band must state how far off its values may be (\"0.012 +/- 0.003\" in its "
                         "file); instead it has no +/- at all.")
    band = Band(vehicle, way, drawn(spreads, runs, seed))
    for number in range(runs):
        values = {field: float(column[number]) for field, column in band.draws.items()}
        other = vehicle.change(values)
        band.add(Journey(other, way, blown, driver or other.driver, None, STEP, winding=warm), start)
        yield number + 1, band


def spreads_of(vehicle: Any) -> dict[str, tuple[float, float]]:
    """{field: (value, spread)} of what a ride feels and the vehicle file states a +/- of, SI."""
    return {f: (float(v.value), float(v.spread)) for f, v in vehicle.values().items()
            if v.spread and v.entry.table in TABLES and f not in LEFT_OUT}


def drawn(spreads: Mapping[str, tuple[float, float]], runs: int, seed: int) -> dict[str, Any]:
    """Random values of each field, normal, cut at what can be.  Each field has its own stream, so that one more field, or another
    value of one, leaves the draws of the others as they are."""
    made = {}
    for field, (value, spread) in spreads.items():
        e = GLOSSARY[field]
        normal = np.random.default_rng([seed, zlib.crc32(field.encode())]).standard_normal(runs)
        low = 0.05 * value if e.positive else 0.0
        made[field] = np.clip(value + spread * normal, low, math.inf if e.ceiling is None else e.ceiling)
    return made


class Band:
    """What many rides came to.

    Attributes: `vehicle`, `route`; `draws` {field: a value for each ride, SI}; `runs`, rides done whose ledger closes, and
    `untrusted`, those whose does not and which are in no other number; `outcomes` {outcome: count},
    `arrived`, `reached` [m] and `drawn_energy` [J, what the store gave] of each ride; `distance` [m], places, and `bands`
    {column: (5 %, middle, 95 %)} there, of the rides that came so far, not a number where fewer than one in twenty did;
    `movers`, what moves the outcome most.
    """

    def __init__(self, vehicle: Any, route: Route, draws: dict[str, Any]) -> None:
        self.vehicle, self.route, self.draws = vehicle, route, draws
        self.distance = np.linspace(0.0, route.length, GRID + 1)
        self.outcomes: Counter[str] = Counter()
        self._trusted: list[bool] = []
        self._reached: list[float] = []
        self._given: list[float] = []
        self._rows: list[Any] = []

    def add(self, journey: Journey, start: Any) -> None:
        """One more ride."""
        ridden = journey.sketch(start, ROWS)
        self.outcomes[ridden.outcome] += 1
        self._trusted.append(ridden.trusted)
        if ridden.trusted:
            self._reached.append(min(ridden.distance, self.route.length))
            self._given.append(ridden.store_energy)
            self._rows.append(self._columns(ridden.rows, len(journey.vehicle.store.full_state()), len(journey.driver.state())))
        self.__dict__.pop("bands", None)

    def _columns(self, told: Any, states: int, demands: int) -> Any:
        """The columns of one ride at the places of the grid; not a number behind its end."""
        way, given = told[:, 1], 1 + 3 + states + 1 + demands + len(LOSSES) + WISH + ASKED + demands
        at = (2, given + 5, given + 6, given + 2, 3 + states)
        return np.array([np.interp(self.distance, way, told[:, i], right=np.nan) for i in at])

    @property
    def runs(self) -> int:
        """Rides whose ledger closes: only these are counted in what follows."""
        return len(self._reached)

    @property
    def untrusted(self) -> int:
        """Rides whose ledger does not close: they are in no other number."""
        return len(self._trusted) - self.runs

    @property
    def arrived(self) -> int:
        return self.outcomes["arrived"]

    @property
    def reached(self) -> Any:
        return np.array(self._reached)

    @property
    def drawn_energy(self) -> Any:
        return np.array(self._given)

    @cached_property
    def bands(self) -> dict[str, tuple[Any, Any, Any]]:
        if not self._rows:
            return {name: (np.full(len(self.distance), np.nan),) * 3 for name in COLUMNS}
        rows = np.sort(np.array(self._rows), axis=0)  # not a number comes last
        count = np.isfinite(rows).sum(axis=0)
        return {name: tuple(_quantile(rows[:, i], count[i], q, self.runs) for q in (LOW, MIDDLE, HIGH))
                for i, name in enumerate(COLUMNS)}

    @property
    def movers(self) -> list[tuple[str, str, float]]:
        """(field, label, rank correlation with how far it came and how little it took), the strongest first."""
        if not self.runs:
            return []
        went = np.column_stack([np.round(self.reached, 2), -np.round(self.drawn_energy, 3)])  # of two that arrived, the thriftier
        _, rank = np.unique(went, axis=0, return_inverse=True)  # rides that went equally well rank equally
        kept = np.flatnonzero(self._trusted)
        return movers({f: column[kept] for f, column in self.draws.items()}, rank.reshape(-1))

    @property
    def reason(self) -> str:
        """One sentence: how many arrived, and what moves that most."""
        if not self.runs:
            return f"None of {self.untrusted} rides is to be trusted: their energy ledgers do not close."
        went = f"{self.arrived} of {self.runs} rides arrived"
        if self.untrusted:
            went += f" ({self.untrusted} more are not to be trusted, since their energy ledgers do not close)"
        if self.arrived < self.runs:
            low, high = np.quantile(self.reached, [LOW, HIGH])
            went += f"; nine in ten came {low:.0f} m to {high:.0f} m far"
        most = self.movers
        if not most:
            return f"{went}; no value moves it much."
        label = most[0][1]
        return f"{went}; what moves it most: {label[:1].lower()}{label[1:]}."

    def _repr_html_(self) -> str:
        rows = "".join(f"<tr><th scope=row style='text-align:left'>{html.escape(label)}</th><td>{html.escape(field)}</td>"
                       f"<td>{share:+.2f}</td></tr>" for field, label, share in self.movers[:6])
        return (f"<p>{html.escape(self.reason)}</p><table><caption>Rank correlation with how far it comes, and with how little it "
                f"takes</caption>{rows}</table>")

    def __repr__(self) -> str:
        return f"<{self.reason}>"


def _quantile(rows: Any, count: Any, share: float, runs: int) -> Any:
    """A quantile of each column of sorted rows, of its first `count`; not a number where too few are left."""
    at = share * np.maximum(count - 1, 0)
    low = np.floor(at).astype(int)
    high, column = np.minimum(low + 1, np.maximum(count - 1, 0)), np.arange(rows.shape[1])
    made = rows[low, column] + (at - low) * (rows[high, column] - rows[low, column])
    return np.where(count >= max(0.05 * runs, 1), made, np.nan)


def movers(draws: Mapping[str, Any], outcome: Any) -> list[tuple[str, str, float]]:
    """What moves an outcome most: (field, label, rank correlation), the strongest first; those that may be chance are left out.

    Parameters: `draws` {field: values}; `outcome`, a number for each draw.
    """
    from scipy.stats import spearmanr

    outcome = np.asarray(outcome, float)
    chance = 2.6 / math.sqrt(max(outcome.size, 1))  # one in a hundred of no effect is larger
    made = []
    for field, values in draws.items():
        told = outcome.size > 1 and np.ptp(values) > 0 and np.ptp(outcome) > 0  # equal values share the mean of their ranks
        share = float(spearmanr(values, outcome).statistic) if told else 0.0
        if abs(share) > chance:
            made.append((field, GLOSSARY[field].label if field in GLOSSARY else field, share))
    return sorted(made, key=lambda row: -abs(row[2]))
