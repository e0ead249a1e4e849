"""One vehicle file, changed in two places: put together field by field, or asked about where both changed the same field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from evlab import keeping
from evlab.units import InputError
from evlab.vehicle import Vehicle, load_vehicle
from evlab.vehicle_file import KINDS, read_text, table_of
from evlab.vehicle_values import Value, shown

__all__ = ["Clash", "Together", "changed_file", "keep_together", "put_together"]

_TRIES = 20  # somebody else would have to keep between reading and writing each time


@dataclass(frozen=True)
class Clash:
    """A field that was changed here and in the file: its label, and both values in words."""

    field: str
    label: str
    mine: str
    theirs: str


@dataclass(frozen=True)
class Together:
    """What came of keeping: the vehicle as its file now holds it and `kept`; or, with `kept` None, what must be asked first.
    `taken` are the fields that came from the file."""

    vehicle: Vehicle
    kept: keeping.Kept | None
    clashes: tuple[Clash, ...] = ()
    taken: tuple[str, ...] = ()


def keep_together(vehicle: Vehicle, prefer: str = "") -> Together:
    """Keep a vehicle in its file; what somebody else changed in the file since is kept too.

    Parameters: `vehicle`; `prefer`, "mine" or "theirs" for fields that both changed; "" asks: nothing is written then.
    Raises InputError in words.
    """
    for _ in range(_TRIES):
        made: Vehicle = vehicle
        clashes: tuple[Clash, ...] = ()
        taken: tuple[str, ...] = ()
        theirs = changed_file(vehicle)
        if theirs is not None:
            made, clashes, taken = put_together(vehicle, theirs, prefer)
        elif keeping.changed_on_disk(vehicle._origin):  # another vehicle's file, or one that is damaged: leave it alone
            return Together(vehicle, vehicle.save())
        if clashes:
            return Together(vehicle, None, clashes)
        try:
            return Together(made, keeping.keep(made.text, made._origin, None, beside=False), (), taken)
        except keeping.ChangedSince:
            continue
    raise InputError("The vehicle file changes again and again while it is kept; nothing was written. Keep again.")


def changed_file(vehicle: Vehicle) -> Vehicle | None:
    """The vehicle as its own file holds it now, when somebody else has changed the file; None otherwise, or unreadable."""
    file = keeping.home(vehicle._origin)
    if vehicle.path != file or not keeping.changed_on_disk(vehicle._origin):
        return None
    try:
        return load_vehicle(file)
    except (InputError, FileNotFoundError):
        return None


def put_together(mine: Vehicle, theirs: Vehicle, prefer: str = "") -> tuple[Vehicle, tuple[Clash, ...], tuple[str, ...]]:
    """(the vehicle of both changes, what clashes, fields taken from `theirs`), from what the file last held in `mine`."""
    base = read_text(mine._origin.last, mine._origin.name)
    ours, others = mine.values(), theirs.values()
    changed = {f for f in {**base, **ours} if not _same(base.get(f), ours.get(f))}
    moved = {f for f in {**base, **others} if not _same(base.get(f), others.get(f))}
    both = {f for f in changed & moved if not _same(ours.get(f), others.get(f))} | _kinds(changed, moved, ours, others)
    if both and not prefer:
        return mine, _clashes(both, ours, others), ()
    try:
        values = _values(ours, others, changed, both if prefer == "theirs" else set())
        made = Vehicle(values, theirs._origin)
    except InputError:  # each change is right by itself, and they do not go together
        if prefer == "mine":
            raise
        return (theirs, (), tuple(moved)) if prefer else (mine, _clashes(changed | moved, ours, others), ())
    return made, (), tuple(f for f in others if f in moved and _same(values.get(f), others[f]))


def _same(one: Value | None, other: Value | None) -> bool:
    """Equal in all that matters; how the unit is spelled does not."""
    return one is other or (one is not None and other is not None and _content(one) == _content(other))


def _content(v: Value) -> Any:
    return v.basis, v.log, {basis: (k.value, k.spread) for basis, k in v.known.items()}


def _kinds(changed: set[str], moved: set[str], ours: Mapping[str, Value], others: Mapping[str, Value]) -> set[str]:
    """The tables of another kind here or there: their fields go together, so any change on the other side clashes."""
    made: set[str] = set()
    for table in KINDS:
        kind = f"{table}.kind"
        mine, theirs = ({f for f in side if table_of(f) == table} for side in (changed, moved))
        if (kind in mine and theirs) or (kind in theirs and mine):
            made |= {f for f in mine | theirs if not _same(ours.get(f), others.get(f))}
    return made


def _values(ours: Mapping[str, Value], others: Mapping[str, Value], changed: set[str], give: set[str]) -> dict[str, Value]:
    """The others' values with what was changed here, less the fields to give up."""
    values = dict(others)
    for f in changed - give:
        if f in ours:
            values[f] = ours[f]
        else:
            values.pop(f, None)
    return values


def _clashes(fields: set[str], ours: Mapping[str, Value], others: Mapping[str, Value]) -> tuple[Clash, ...]:
    made = []
    for f in [*ours, *(f for f in others if f not in ours)]:
        if f in fields and not _same(ours.get(f), others.get(f)):
            said = [f"{shown(v.entry, v.known[v.basis])} ({v.basis})" if v else "not there" for v in (ours.get(f), others.get(f))]
            made.append(Clash(f, (ours.get(f) or others[f]).entry.label, *said))
    return tuple(made)
