"""Every quantity once: name, symbol, unit, accepted spellings, shown unit, meaning, range and why.

Three kinds of name share the table.  Names with a dot are fields of the vehicle file ("store.cell_capacitance"); the
others are symbols of equations and columns of tables.  Inside the package every value is a float in its SI unit.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from evlab.glossary.motor_fields import MOTOR_FIELDS
from evlab.glossary.spelling import SI, SPELLINGS, Entry
from evlab.glossary.symbols import COLUMNS, SYMBOLS
from evlab.glossary.symbols_bodies import SYMBOLS as BODY_SYMBOLS
from evlab.glossary.symbols_cells import SYMBOLS as CELL_SYMBOLS
from evlab.glossary.symbols_motor import SYMBOLS as MOTOR_SYMBOLS
from evlab.glossary.symbols_regen import SYMBOLS as REGEN_SYMBOLS
from evlab.glossary.symbols_road import SYMBOLS as ROAD_SYMBOLS
from evlab.glossary.symbols_runs import SYMBOLS as RUN_SYMBOLS
from evlab.glossary.symbols_winding import SYMBOLS as WINDING_SYMBOLS
from evlab.glossary.vehicle_fields import FIELDS

__all__ = ["GLOSSARY", "SI", "SPELLINGS", "Entry", "entry", "fields", "nearest"]

GLOSSARY: dict[str, Entry] = {}
for _e in (*FIELDS, *MOTOR_FIELDS, *SYMBOLS, *CELL_SYMBOLS, *ROAD_SYMBOLS, *REGEN_SYMBOLS, *MOTOR_SYMBOLS, *BODY_SYMBOLS,
           *RUN_SYMBOLS, *WINDING_SYMBOLS, *COLUMNS):
    if _e.name in GLOSSARY:
        raise ValueError(f"glossary: {_e.name} stands twice")
    GLOSSARY[_e.name] = _e


def entry(name: str) -> Entry:
    """The glossary's entry of this name; an unknown name raises KeyError that names the nearest one."""
    if name not in GLOSSARY:
        raise KeyError(f"The glossary has no quantity {name!r}.{nearest(name, GLOSSARY)}")
    return GLOSSARY[name]


def fields(table: str) -> dict[str, Entry]:
    """The fields of one table of the vehicle file, by short name, in the order of the glossary."""
    return {e.short: e for e in GLOSSARY.values() if e.table == table}


def nearest(name: object, known: Iterable[object]) -> str:
    """' Did you mean ...?' for a misspelt name, or '' when nothing is near."""
    found = difflib.get_close_matches(str(name), [str(k) for k in known], n=1, cutoff=0.5)
    return f" Did you mean {found[0]!r}?" if found else ""
