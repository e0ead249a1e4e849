"""The numbers: value, ±, pinned, basis.  A ± is the root of the sum of squares of one ride for each uncertain value."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

import ipywidgets

from evlab.glossary import entry
from evlab.look import BOOK, THIN, setting, shown
from evlab.units import InputError, to_shown
from evlab.vehicle_file import DESIGN
from evlab.vehicle_values import BASES
from evlab.workbench.page import Day, Page, Readout
from evlab.workbench.style import BASIS_WORDS, basis_mark, escape, sign

__all__ = ["Numbers", "PlusMinus", "Spreads", "nudged", "plus_minus", "runs", "uncertain", "weakest"]

Run: TypeAlias = tuple[str, Any, Any]
LEAST = 1e-3  # a ± below this share is not told: three figures would not show it


# ---------------------------------------------------------------- the ±
@dataclass(frozen=True)
class PlusMinus:
    """How far off a number may be [shown unit], and the field with the largest share in it ("" for the model)."""

    total: float
    largest: str


@dataclass
class Spreads:
    """What one ride for each uncertain value came to: differences to the present result, and changed outcomes."""

    readouts: tuple[Readout, ...]
    differences: dict[str, dict[str, float]]  # {readout: {field: difference}}
    turned: dict[str, tuple[str, Any]]  # {field: (outcome, vehicle)}

    @classmethod
    def empty(cls, readouts: tuple[Readout, ...]) -> Spreads:
        return cls(readouts, {r.label: {} for r in readouts}, {})

    def add(self, page: Page, result: Any, run: Run) -> None:
        """One more ride.  One that ends otherwise is told in words: its numbers say nothing about the spread."""
        name, vehicle, other = run
        if page.outcome(other)[1] != page.outcome(result)[1]:
            self.turned[name] = (page.outcome(other)[1], vehicle)
            return
        for readout in self.readouts:
            self.differences[readout.label][name] = readout.shown(other) - readout.shown(result)

    def of(self, readout: Readout, result: Any) -> PlusMinus:
        return plus_minus(self.differences[readout.label], readout.model * readout.shown(result))


def plus_minus(differences: Mapping[str, float], model: float = 0.0) -> PlusMinus:
    """Root of the sum of squares of the differences and of what the model itself may be off."""
    largest = max(differences, key=lambda n: abs(differences[n]), default="")
    if largest and abs(differences[largest]) <= abs(model):
        largest = ""
    return PlusMinus(math.sqrt(sum(d * d for d in differences.values()) + model * model), largest)


def uncertain(vehicle: Any, tables: tuple[str, ...] = ()) -> list[str]:
    """The fields that have a spread in these tables of the vehicle file (none named: in all that a ride reads)."""
    return [name for name, value in vehicle.values().items() if value.spread
            and (value.entry.table in tables if tables else value.entry.table not in DESIGN)]


def nudged(vehicle: Any, name: str) -> Any:
    """The vehicle with one field off by its spread: upwards, or downwards where upwards cannot be."""
    value = vehicle.value(name)
    try:
        return vehicle.change({name: value.value + value.spread})
    except InputError:
        return vehicle.change({name: value.value - value.spread})


def runs(page: Page, vehicle: Any, day: Day) -> Iterator[Run]:
    """One result for each uncertain value, when it is asked for: (field, vehicle with it off, result)."""
    for name in uncertain(vehicle, page.tables):
        other = nudged(vehicle, name)
        yield name, other, page.model(other, day)


def weakest(vehicle: Any) -> str:
    """The weakest basis among the vehicle's numbers: what a result of all of them rests on."""
    found = {value.basis for value in vehicle.values().values()
             if isinstance(value.value, int | float) and value.entry.table not in DESIGN}
    return next((basis for basis in BASES if basis in found), "computed")


# ---------------------------------------------------------------- the table
class Numbers(ipywidgets.HTML):
    """The table.  While the ± is still to come, its place shows an ellipsis: the columns do not move."""

    def __init__(self, page: Page):
        super().__init__(layout={"margin": "0"})
        self.page, self.readouts = page, page.numbers_of(0)
        self.add_class("ev-numbers")

    def show(self, result: Any, vehicle: Any, spreads: Spreads | None = None, pinned: Any = None) -> None:
        state, word = self.page.outcome(result)
        basis = weakest(vehicle)
        rows = "".join(self._row(r, result, spreads, pinned, basis) for r in self.readouts)
        last = '<th scope=col class="ev-was">pinned</th>' if pinned is not None else ""
        head = (f'<th scope=col class="ev-{state}">{sign(state)} {escape(word)}</th><th scope=col class="ev-now">now</th>'
                f'<th scope=col class="ev-pm">±</th><th scope=col class="ev-unit">unit</th>{last}'
                '<th scope=col class="ev-ring"><span class="ev-unseen">basis</span></th>')
        caption = '<caption class="ev-unseen">The numbers of this case</caption>'
        self.value = (f"<table>{caption}<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
                      f"{self._foot(result, vehicle, spreads, basis)}")

    def _row(self, readout: Readout, result: Any, spreads: Spreads | None, pinned: Any, basis: str) -> str:
        value, off, why = readout.shown(result), "…", BASIS_WORDS[basis]
        told = _told(readout, value)
        if spreads is not None:
            spread, largest = spreads.of(readout, result).total, spreads.of(readout, result).largest
            why = f"rests on {basis} values" + (f", most on {entry(largest).label.lower()}" if largest else "")
            spread = spread if spread > LEAST * abs(value) else 0.0
            if math.isfinite(value) and (spread or not readout.whole):
                told, _, off = shown(value, "", spread).partition(" ± ")
            else:
                off = ""
        was = f'<td class="ev-quiet">{escape(_told(readout, readout.shown(pinned)))}</td>' if pinned is not None else ""
        return (f'<tr><th scope=row>{escape(readout.label)}</th><td>{escape(told)}</td><td class="ev-pm">{escape(off)}</td>'
                f'<td class="ev-unit">{escape(readout.unit)}</td>{was}<td class="ev-quiet">{basis_mark(basis, why)}</td></tr>')

    def _foot(self, result: Any, vehicle: Any, spreads: Spreads | None, basis: str) -> str:
        ring = BOOK["basis"].get(basis, {"sign": ""})["sign"]
        if spreads is None:
            return f'<p class="ev-quiet">{ring} {basis}. The ± follows when the controls rest.</p>'
        return _turned(spreads, vehicle) + f'<p class="ev-quiet">{ring} {_largest(self.page, result, vehicle, spreads)}</p>'


def _told(readout: Readout, value: float) -> str:
    """The value as it stands in the table; words where there is none."""
    if not math.isfinite(value):
        return "none" if math.isnan(value) else "no limit"
    return setting(round(value)) if readout.whole else shown(value)


def _largest(page: Page, result: Any, vehicle: Any, spreads: Spreads) -> str:
    """Which value has the largest share in the ±, readout by readout, and what is not in it."""
    shares: dict[str, list[str]] = {}
    for readout in spreads.readouts:
        name = spreads.of(readout, result).largest
        if name:
            shares.setdefault(name, []).append(readout.label.lower())
    most = max(shares, key=lambda n: len(shares[n]), default="")
    count = len(uncertain(vehicle, page.tables))
    if not most:
        return "No value of the vehicle file has a spread that changes these numbers: give yours one, like '650 F +/- 65 F'."
    value = vehicle.value(most)
    model = max((r.model for r in spreads.readouts), default=0.0)
    also = f" and {setting(100 * model)}{THIN}% for the model" if model else ""
    where = f"in {len(shares[most])} of {len(spreads.readouts)} numbers"
    said = f"{value.entry.label.lower()} {value.shown}, {value.basis}"
    return escape(f"± from {count} spreads{also}. Largest share, {where}: {said}.")


def _turned(spreads: Spreads, vehicle: Any) -> str:
    """Values within whose spread the ride ends otherwise: more than a ± could say."""
    if not spreads.turned:
        return ""
    name, (word, other) = next(iter(spreads.turned.items()))
    changed = other.value(name)
    rest = len(spreads.turned) - 1
    more = f" So it does with {rest} other value{'s' if rest > 1 else ''} off by the spread." if rest else ""
    said = f"{changed.entry.label} {setting(float(f'{to_shown(changed.value, changed.entry):.3g}'), changed.entry.shown)}"
    return (f'<p><b>Not certain.</b> {escape(said)}, inside its spread, and the outcome is: {escape(word)}.{more} '
            "Those rides are not in the ±.</p>")
