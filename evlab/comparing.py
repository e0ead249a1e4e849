"""Vehicles or rides side by side: what differs, what it gained, what it cost.  No score: whoever chooses weighs."""

from __future__ import annotations

import html
import math
from collections.abc import Callable, Mapping
from functools import cached_property
from typing import Any

from evlab.glossary import GLOSSARY
from evlab.look import THIN, fixed, shown
from evlab.riding import Result, ride
from evlab.route import Route
from evlab.route_files import load_route
from evlab.trust import UNTRUSTED
from evlab.units import InputError, made_by, told
from evlab.vehicle import Vehicle
from evlab.vehicle_values import shown as said
from evlab.winds import AnyWind

__all__ = ["MOST", "Comparison", "compare"]

MOST = 4  # on one picture: more dashes cannot be told apart
# what is told of each ride: label, unit, how it is read, and whether less is better (None: neither)
NUMBERS: tuple[tuple[str, str, Callable[[Result], float], bool | None], ...] = (
    ("Way done", "m", lambda r: r.distance, False),
    ("Time", "s", lambda r: r.duration, True),
    ("From the store", "kJ", lambda r: r.store_energy / 1e3, True),
    ("Share of what it holds when full", "%", lambda r: 100 * r.store_energy / _full(r), True),
    ("Volts at the start", "V", lambda r: r.start_voltage, None),
    ("Volts at the end", "V", lambda r: r.end_voltage, None),
    ("Store amps, top", "A", lambda r: float(r.column("store_amps").max()), True),
    ("Motor amps, top", "A", lambda r: float(r.column("motor_amps").max()), True),
    ("Coil at the end", "°C", lambda r: float(r.column("coil_temperature")[-1]) - 273.15, True),
    ("Mass of the store", "kg", lambda r: r.vehicle.store.mass, True),
    ("Mass in all", "kg", lambda r: r.vehicle.mass, True),
)
_TEXTS = ("vehicle.name", "vehicle.note")  # what two vehicles are called is no difference between them


def _full(r: Result) -> float:
    store = r.vehicle.store
    return float("nan") if store.kind == "supply" else store.energy(store.full_state())


def _alike(values: list[float], unit: str) -> list[str]:
    """Numbers of one row, each to the place that the largest one shows: 0.01 kJ beside 1.91 kJ."""
    most = max(abs(v) for v in values)
    if not most:
        return [shown(0.0, unit)] * len(values)
    places = 2 - math.floor(math.log10(most))
    return [f"{fixed(round(v, places), max(places, 0))}{THIN}{unit}" for v in values]


def compare(cases: Any, route: Any = None, *, start: Any = None, wind: str | AnyWind = 0.0) -> Comparison:
    """Two to four vehicles or rides side by side.

    Parameters: `cases`, {"label": a vehicle, or a result of evlab.ride}; `route`, on which the vehicles are ridden (a Route or the
    name of one; results bring their own); `start` and `wind` of those rides.
    Returns a Comparison, which shows itself as tables.  Raises InputError in words for another number of cases, no route for a
    vehicle, or rides of different ways.
    """
    if not isinstance(cases, Mapping) or not 2 <= len(cases) <= MOST:
        many = len(cases) if hasattr(cases, "__len__") else "none"
        raise InputError('Input cases of compare must be {"label": vehicle or result, ...} with two to four of them; '
                         f"instead received {many}.")
    way = load_route(route) if isinstance(route, str) else route
    results = {str(label): _ridden(str(label), case, way, start, wind) for label, case in cases.items()}
    first = next(iter(results.values()))
    for label, r in results.items():
        if abs(r.route.length - first.route.length) > 0.01 or r.route.name != first.route.name:
            raise InputError(f"Input cases of compare must all ride one way; instead {label!r} rides {r.route.name}, the first one "
                             f"{first.route.name}.")
    return Comparison(list(results), list(results.values()))


def _ridden(label: str, case: Any, route: Route | None, start: Any, wind: str | AnyWind) -> Result:
    if isinstance(case, Result):
        return case
    if not isinstance(case, Vehicle):
        raise InputError(f"Input {label!r} of compare must be a vehicle or a result of evlab.ride; instead received {told(case)}.")
    if route is None:
        raise InputError(f"Input route of compare must be given to ride the vehicle {label!r}; instead received None. Or give "
                         "results of evlab.ride.")
    made_by("route of compare", route, "nodes", "evlab.load_route() or evlab.Route.from_segments()")
    return ride(case, route, start=start, wind=wind)


class Comparison:
    """Rides of one way side by side.

    Attributes: `labels`, `results` in their order, `route`; `differences`, rows (field, label, [value in words, or "–"]) of what
    the vehicle files say differently; `numbers`, rows (label, unit, [values]); `words`, what each gained and cost against the
    first.
    """

    def __init__(self, labels: list[str], results: list[Result]) -> None:
        self.labels, self.results, self.route = labels, results, results[0].route

    @cached_property
    def differences(self) -> list[tuple[str, str, list[str]]]:
        files = [r.vehicle.values() for r in self.results]
        rows = []
        for field in dict.fromkeys(f for file in files for f in file):
            values = [file[field].value if field in file else None for file in files]
            if field not in _TEXTS and any(v != values[0] for v in values):
                e = GLOSSARY[field]
                cells = [said(e, file[field].known[file[field].basis]) if field in file else "–" for file in files]
                rows.append((field, e.label, cells))
        return rows

    @cached_property
    def numbers(self) -> list[tuple[str, str, list[float]]]:
        rows = [(label, unit, [float(read(r)) for r in self.results]) for label, unit, read, _ in NUMBERS]
        return [row for row in rows if all(v == v for v in row[2])]

    @property
    def words(self) -> str:
        """What each one gained and cost against the first, in sentences."""
        return " ".join(self._against(i) for i in range(1, len(self.labels)))

    def _against(self, i: int) -> str:
        a, b, name = self.results[0], self.results[i], self.labels[i]
        doubtful = [label for label, r in ((self.labels[0], a), (name, b)) if r.outcome == UNTRUSTED]
        if doubtful:
            return (f"{name[:1].upper()}{name[1:]} cannot be compared with {self.labels[0]}: the energy ledger of "
                    f"{' and of '.join(doubtful)} does not close, so no number of it is to be trusted.")
        if (a.outcome, b.outcome) == ("arrived", "arrived"):
            ends = "both arrive"
        else:
            ends = f"{self.labels[0]}: {a.outcome} at {a.distance:.0f} m, {name}: {b.outcome} at {b.distance:.0f} m"
        gained: list[str] = []
        cost: list[str] = []
        for label, unit, read, less in NUMBERS:
            one, two = float(read(a)), float(read(b))
            if less is None or not abs(two - one) > 0.02 * max(abs(one), abs(two), 1e-9) or label == "Way done":
                continue
            second, first = _alike([two, one], unit)
            told = f"{label[:1].lower()}{label[1:]} {second} against {first}"
            (gained if (two < one) == less else cost).append(told)
        parts = [f"{name[:1].upper()}{name[1:]} against {self.labels[0]}: {ends}"]
        parts += [f"Gained: {'; '.join(gained)}"] if gained else []
        parts += [f"Cost: {'; '.join(cost)}"] if cost else []
        return ". ".join(parts) + "."

    def table(self) -> Any:
        """The numbers as a pandas DataFrame, a column for each case."""
        import pandas as pd

        return pd.DataFrame({f"{label}, {unit}": values for label, unit, values in self.numbers}, index=self.labels).T

    def _repr_html_(self) -> str:
        head = "".join(f"<th scope=col>{html.escape(label)}</th>" for label in self.labels)
        ends = "".join(f"<td>{html.escape(r.outcome)}</td>" for r in self.results)
        rows = [f"<tr><th scope=row style='text-align:left'>Ends</th>{ends}</tr>"]
        for label, unit, values in self.numbers:
            cells = "".join(f"<td>{html.escape(cell)}</td>" for cell in _alike(values, unit))
            rows.append(f"<tr><th scope=row style='text-align:left'>{html.escape(label)}</th>{cells}</tr>")
        files = "".join(f"<tr><th scope=row style='text-align:left' title='{html.escape(field)}'>{html.escape(label)}</th>"
                        + "".join(f"<td>{html.escape(cell)}</td>" for cell in cells) + "</tr>"
                        for field, label, cells in self.differences)
        told = "".join(f"<p>{html.escape(self._against(i))}</p>" for i in range(1, len(self.labels)))
        if not files:
            return f"{told}<table><tr><th></th>{head}</tr>{''.join(rows)}</table>"
        return (f"{told}<table><tr><th></th>{head}</tr>{''.join(rows)}</table>"
                f"<details><summary>What their files say differently ({len(self.differences)})</summary>"
                f"<table><tr><th></th>{head}</tr>{files}</table></details>")

    def __repr__(self) -> str:
        return f"<{self.words}>"
