"""The vehicle file as text: read into checked values, written back with its comments kept.

Read with the standard library's reader, which names the line of a slip; written with tomlkit, which keeps comments and
order.  Nothing in a file is ever executed.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import fields as parts_of
from functools import cache, partial
from pathlib import Path
from typing import Any

from evlab import chargers, converter, data, demands, driver, store
from evlab.controller import Controller
from evlab.gearing import Gearing
from evlab.glossary import GLOSSARY, Entry, nearest
from evlab.lithium import LithiumPack
from evlab.motor import Motor
from evlab.motor_parts import Magnets, Winding
from evlab.road import Road
from evlab.supply import Supply
from evlab.toml_lines import key_lines
from evlab.units import InputError, read, to_shown, write
from evlab.vehicle_values import BASES, Known, Value, known, plain_basis, refuse

__all__ = [
    "DESIGN", "FORMAT", "KINDS", "PARTS", "TABLES", "fields_of", "places", "read_bytes", "read_text", "table_of", "usual",
    "written",
]

FORMAT = 1
LARGEST = 1_000_000
DEEPEST = 20  # tables in tables; a vehicle file needs 3
DESIGN = ("motor.magnets", "motor.winding")  # how the motor is built; the ride reads [motor] alone
TABLES = ("vehicle", "load", "store", "converter", "motor", *DESIGN, "controller", "gearing", "road", "driver", "charger", "costs")
# The tables whose kind decides which fields they have, and the part each kind makes.
KINDS: dict[str, dict[str, type]] = {
    "store": {c.kind: c for c in (store.CapacitorBank, LithiumPack, Supply)},
    "converter": {c.kind: c for c in (converter.NoConverter, converter.Converter)},
    "charger": {c.kind: c for c in (chargers.RegulatedCharger, chargers.ResistorCharger)},
    "driver": {c.kind: c for c in (driver.SetSpeed, driver.ThrottleHeld, demands.PowerHeld)},
}
PARTS: dict[str, type] = {"motor": Motor, "motor.magnets": Magnets, "motor.winding": Winding, "controller": Controller,
                          "gearing": Gearing, "road": Road}
_EXTRA = ("log", "sha256", "use")


def table_of(field: str) -> str:
    """The table of the vehicle file that holds a field: all but the last part of its dotted name."""
    return field.rpartition(".")[0]


@cache
def fields_of(table: str, kind: str = "") -> tuple[str, ...]:
    """The fields (dotted) that a table of the vehicle file has; where there are kinds, those of this one."""
    if table in KINDS:
        return (f"{table}.kind", *(f"{table}.{f.name}" for f in parts_of(KINDS[table][kind])))
    if table in PARTS:
        return tuple(f"{table}.{f.name}" for f in parts_of(PARTS[table]))
    return tuple(name for name, e in GLOSSARY.items() if e.table == table)


# ---------------------------------------------------------------- bytes
_MAGIC = ((b"\x89PNG", "a picture (PNG)"), (b"\xff\xd8\xff", "a picture (JPEG)"), (b"%PDF", "a PDF document"),
          (b"PK\x03\x04", "a packed file (zip, or an office document)"), (b"\x1f\x8b", "a packed file (gzip)"),
          (b"\xff\xfe", "text saved as UTF-16: save it as UTF-8"),
          (b"\xfe\xff", "text saved as UTF-16: save it as UTF-8"))


def read_bytes(path: Path) -> str:
    """The text of a vehicle file.  Raises FileNotFoundError, or InputError in words for a file of another kind."""
    try:
        there = path.exists()
    except (OSError, ValueError) as wrong:  # a name of more letters than the system takes, or with a zero in it
        raise refuse("name of the file", "a file name that this system takes", repr(str(path)), f" ({wrong})") from None
    if not there:
        near = nearest(path.name, [p.name for p in path.parent.glob("*.toml")] if path.parent.is_dir() else [])
        if f"vehicles/{path}" in data.names():
            near = f" Ours goes by its name alone: load_vehicle({path.stem!r})."
        raise FileNotFoundError(f"There is no file {path}.{near}")
    if not path.is_file():
        raise _not_a_vehicle(str(path), "a folder" if path.is_dir() else "a pipe or a device")
    size = path.stat().st_size
    if size > LARGEST:
        raise refuse(f"file {path.name}", "smaller than 1 MB", f"{size / 1e6:.1f} MB", " Is it a vehicle file?")
    try:
        raw = path.read_bytes()
    except OSError as wrong:
        raise refuse(f"file {path.name}", "one that you may read", str(wrong.strerror or wrong)) from None
    for magic, what in _MAGIC:
        if raw.startswith(magic):
            raise _not_a_vehicle(path.name, what)
    if b"\0" in raw:
        raise _not_a_vehicle(path.name, "a binary file")
    try:
        text = raw.decode("utf-8").removeprefix("\ufeff")  # some editors put a mark before the first letter
    except UnicodeDecodeError as wrong:
        line = raw.count(b"\n", 0, wrong.start) + 1
        got = f"another encoding in line {line}"
        raise refuse(f"file {path.name}", "UTF-8 text", got, " Save it as UTF-8.") from None
    return text


def _not_a_vehicle(name: str, what: str) -> InputError:
    return refuse(f"file {name}", "a vehicle file (TOML text with tables like [store] and [motor])", what)


# ---------------------------------------------------------------- text to values
def read_text(text: str, name: str) -> dict[str, Value]:
    """The values of a vehicle file's text, by dotted field, every one checked.

    Parameters: `text`; `name`, the file's name for messages.
    Raises InputError: one sentence with file, line, field, what was received and what would be right.
    """
    given: object = text
    if not isinstance(given, str):
        raise refuse("text of a vehicle", "the text of a vehicle file", repr(given))
    _kind_of_text(text, name)
    book = _parsed(text, name)
    if _deep(book):
        raise _not_a_vehicle(name, f"tables more than {DEEPEST} deep")
    where = places(text, name)
    _format(book, where)
    for table in book:
        if table != "format":
            _known_table(table, book[table], where)
    values: dict[str, Value] = {}
    for table in TABLES:
        values.update(_table(table, _rows(table, book, where), where))
    return values


def _rows(table: str, book: Mapping[str, Any], where: Callable[[str], str]) -> Mapping[str, Any]:
    """What the text says of one table, less the tables inside it."""
    head, _, inner = table.partition(".")
    rows = book.get(head, {})
    if inner:
        rows = rows.get(inner, {})
        if not isinstance(rows, dict):
            raise refuse(where(table), f"a table, headed [{table}]", rows)
    return {key: value for key, value in rows.items() if f"{table}.{key}" not in TABLES}


def places(text: str, name: str) -> Callable[[str], str]:
    """A function from a field to the words that name it and its place: 'mass of [store] (my.toml, line 12)'."""
    return partial(_place, key_lines(text), name)


def _place(lines: Mapping[tuple[str, ...], int], name: str, field: str) -> str:
    table, _, key = field.rpartition(".")
    if not table:
        table, key = key, ""
    line = lines.get(tuple(field.split("."))) or lines.get(tuple(table.split(".")))
    place = f"({name}, line {line})" if line else f"({name})"
    return f"{key} of [{table}] {place}" if key else f"{table or repr(table)} {place}"


def _deep(book: dict[str, Any]) -> bool:
    """Whether tables are nested deeper than any vehicle's; without recursion, which has an end itself."""
    level: list[Any] = [book]
    for _ in range(DEEPEST):
        level = [inner for one in level for inner in (one.values() if isinstance(one, dict) else one)
                 if isinstance(inner, dict | list)]
    return bool(level)


def _kind_of_text(text: str, name: str) -> None:
    start = text.lstrip()[:1]
    if not start:
        raise _not_a_vehicle(name, "an empty file")
    if start == "{":
        raise _not_a_vehicle(name, "a notebook" if '"nbformat"' in text else "JSON")
    if start == "<":
        raise _not_a_vehicle(name, "a web page or XML")


def _parsed(text: str, name: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise _not_a_vehicle(name, "brackets nested without end") from None
    except ValueError as wrong:  # no TOML, or a number of thousands of digits
        told = re.search(r"at line (\d+)", str(wrong))
        rows = text.split("\n")
        endless = (at for at, row in enumerate(rows, 1) if re.search("[0-9]{4000}", row))
        number = int(told[1]) if told else next(endless, len(rows))
        row = rows[number - 1].strip()
        must = _right_row(str(wrong), row, "\n".join(rows[:number - 1]))
        shown = row if len(row) < 80 else row[:77] + "..."
        raise refuse(f"line {number} of {name}", must, repr(shown)) from None


def _right_row(wrong: str, row: str, above: str) -> str:
    """What would be right in a line that is no TOML, or that says something twice."""
    key, equals, value = (part.strip() for part in row.partition("="))
    if any(word in wrong for word in ("overwrite", "twice", "immutable", "already")):
        paths = [(p, at) for p, at in key_lines(above).items() if p and p[-1] == key.strip("[]\"' ").rpartition(".")[2]]
        return "the only one of its name" + (f" (it stands in line {paths[-1][1]} already)" if paths else "")
    if len(value) > 4000:
        return "a number of fewer digits"
    if equals and value[:1] not in ("", '"', "'", "{", "["):
        slip = value.partition("#")[0].strip()
        if slip.lower() in ("true", "false", "yes", "no"):
            return f"written {key} = {'true' if slip.lower() in ('true', 'yes') else 'false'}, in small letters"
        return f'written with quotes, like {key} = "{slip}"'
    if equals and not value:
        return f'a key with its value, like {key} = "..."'
    if value.count('"') % 2:
        return "closed by the same quote that opens it"
    if "\\" in value:
        return "written with / where it has \\ (in quotes, \\ begins a special sign)"
    if not row.isprintable():
        return "free of control characters"
    return 'a table like [store], or a key with its value, like cell_capacitance = "650 F"'


def _format(book: Mapping[str, Any], where: Callable[[str], str]) -> None:
    made = book.get("format")
    if type(made) is int and made > FORMAT:
        raise refuse(where("format"), f"{FORMAT}", repr(made), " It comes from a newer version: take that one.")
    if type(made) is not int or made != FORMAT:
        got = "nothing" if made is None else repr(made)
        raise refuse(where("format"), f"given as format = {FORMAT}, above the first table", got)


def _known_table(table: str, got: Any, where: Callable[[str], str]) -> None:
    if table not in TABLES:
        ours = " ".join(f"[{t}]" for t in TABLES)
        homes = [e.table for e in GLOSSARY.values() if e.short == table and e.table in TABLES]
        hint = f" It belongs in [{homes[0]}]." if homes else nearest(table, TABLES)
        raise refuse(where(table), f"one of {ours}", repr(table), hint)
    if not isinstance(got, dict):
        raise refuse(where(table), f"a table, headed [{table}]", got)


def _table(table: str, got: Mapping[str, Any], where: Callable[[str], str]) -> dict[str, Value]:
    kind = _value(GLOSSARY[f"{table}.kind"], got, where).value if table in KINDS else ""
    wanted = {GLOSSARY[f].short: GLOSSARY[f] for f in fields_of(table, kind)}
    for key in got:
        if key not in wanted:
            raise _unknown(table, kind, key, tuple(wanted), where(f"{table}.{key}"))
    return {e.name: _value(e, got, where) for e in wanted.values()}


def _unknown(table: str, kind: str, key: str, wanted: tuple[str, ...], where: str) -> InputError:
    homes = [e.table for e in GLOSSARY.values() if e.short == key and e.table in TABLES]
    if table in homes:
        hint = f" It goes with another kind than {kind!r}."
    else:
        hint = f" It belongs in [{homes[0]}]." if homes else nearest(key, wanted)
    must = "a field of this table" if hint else f"one of {', '.join(wanted)}"
    return refuse(where, must, f"the unknown key {key!r}", hint)


def _value(e: Entry, got: Mapping[str, Any], where: Callable[[str], str]) -> Value:
    """The value of one field of a table; the glossary's usual one where the file may leave it out."""
    place = where(e.name)
    if e.short not in got:
        if e.default is None:
            raise refuse(place, f"given, like {e.short} = {_example(e)}", "nothing")
        return usual(e)
    raw = got[e.short]
    if isinstance(raw, dict) and e.kind in ("chosen", "found", "count"):
        return _rich(e, raw, place)
    return Value(e.name, plain_basis(e), {plain_basis(e): known(e, raw, place, numbers_are_si=False)})


def usual(e: Entry) -> Value:
    """What stands in for a field that a file may leave out."""
    return Value(e.name, "assumed", {"assumed": Known(e.default)})


def _rich(e: Entry, raw: Mapping[str, Any], place: str) -> Value:
    """A value of an inline table: what was assumed, designed, measured; from which log; and which of them to use."""
    keys = (*BASES, *_EXTRA)
    for key in raw:
        if key not in keys:
            raise refuse(place, f"a table of {', '.join(keys)}", f"the unknown key {key!r}", nearest(key, keys))
        if key in _EXTRA and not (isinstance(raw[key], str) and raw[key].isprintable()):
            raise refuse(f"{key} in {place}", "text in quotes, with / and no \\ in a path", repr(raw[key]))
    there = {b: known(e, raw[b], f"{b} value in {place}", numbers_are_si=False) for b in BASES if b in raw}
    if not there:
        raise refuse(place, "an assumed, designed or measured value", "none")
    use = raw.get("use", default_use(there))
    if use not in there:
        raise refuse(f"use in {place}", f"a value that is there ({', '.join(there)})", repr(use))
    return Value(e.name, use, there, raw.get("log", ""), raw.get("sha256", ""))


def default_use(there: Mapping[str, Known]) -> str:
    """The strongest of the bases that are there."""
    return next(b for b in reversed(BASES) if b in there)


def _example(e: Entry) -> str:
    if e.kind in ("text", "choice"):
        return f'"{e.choices[0] if e.choices else "..."}"'
    if e.kind == "switch":
        return "false"
    low, high = e.low or 0.0, e.high or 1.0
    value = (low * high) ** 0.5 if low > 0 else high / 10
    if e.kind == "count":
        return str(int(value))
    number = f"{float(f'{to_shown(value, e) if e.unit else value:.2g}'):g}"
    return f'"{number} {e.shown}"' if e.unit else number


# ---------------------------------------------------------------- values to text
def written(text: str, before: Mapping[str, Value], now: Mapping[str, Value]) -> str:
    """The text with the values that changed put in; comments, order and everything else stay.

    Parameters: `text`, as it was read; `before`, the values it held; `now`, those it shall hold.
    """
    changed = {f: v for f, v in now.items() if before.get(f) != v}
    gone = [f for f in before if f not in now]
    if not changed and not gone:
        return text
    import tomlkit

    book = tomlkit.parse(text)
    for name in (*gone, *changed):
        table, key = table_of(name), name.rpartition(".")[2]
        rows = book
        for part in table.split("."):
            if part not in rows and name in now and now[name] != usual(GLOSSARY[name]):
                rows[part] = tomlkit.table()
            rows = rows.get(part, {})
        if name in now and now[name] != usual(GLOSSARY[name]):
            rows[key] = _item(now[name])
        elif key in rows:
            del rows[key]
    made = tomlkit.dumps(book)
    _same(read_text(made, "the text made for saving"), now)
    return made


def _item(value: Value) -> Any:
    e = value.entry
    if list(value.known) == [plain_basis(e)] and not value.log and not value.sha256:
        return _toml(e, value.known[value.basis])
    import tomlkit

    item = tomlkit.inline_table()
    for basis in BASES:
        if basis in value.known:
            item[basis] = _toml(e, value.known[basis])
    for key, told in (("log", value.log), ("sha256", value.sha256)):
        if told:
            item[key] = told
    if len(value.known) > 1:
        item["use"] = value.basis
    return item


def _toml(e: Entry, this: Known) -> Any:
    """The value as TOML holds it; it reads back to the last bit."""
    if e.kind in ("text", "choice", "switch", "count"):
        return this.value
    if e.unit == "" and this.unit in (None, "") and this.spread is None:
        return float(this.value)
    text = write(this.value, e, this.spread, this.unit if this.unit is not None else ("" if e.unit == "" else e.shown))
    back = read(text, e)
    if (back.value, back.spread) == (this.value, this.spread):
        return text
    base = "" if e.unit == "" else next(s for s in e.accepts if _is_si(e, s))  # in SI nothing is converted
    spread = "" if this.spread is None else f" +/- {this.spread!r}"
    return f"{this.value!r}{spread} {base}".rstrip()


def _is_si(e: Entry, spelling: str) -> bool:
    return read(f"1 {spelling}", e).value == 1.0 and read(f"0 {spelling}", e).value == 0.0


def _same(made: Mapping[str, Value], wanted: Mapping[str, Value]) -> None:
    for name in {*made, *wanted}:
        a, b = made.get(name), wanted.get(name)
        if a is None or b is None or (a.value, a.spread, a.basis, a.log) != (b.value, b.spread, b.basis, b.log):
            raise InputError(f"Input {name} could not be written faithfully ({b} became {a}); nothing was saved.")
