"""Tables below the bench of the store: two stores line by line, everyday yardsticks, and how long cells last by two rules."""

from __future__ import annotations

import math
from typing import Any

import pandas as pd

from evlab import ageing, ragone
from evlab.look import number, setting
from evlab.vehicle import load_vehicle
from evlab.workbench.style import escape

__all__ = ["Lines", "lives", "side_by_side", "yardsticks"]

YEAR = 365 * 86400.0


class Lines:
    """A table to be read: a DataFrame, `frame`, whose words are shown to their end, and `words` below it."""

    def __init__(self, frame: pd.DataFrame, words: str = "") -> None:
        self.frame, self.words = frame, words

    def __repr__(self) -> str:
        return f"{self.frame.to_string()}\n{self.words}".rstrip()

    def _repr_html_(self) -> str:
        with pd.option_context("display.max_colwidth", None):
            return f"{self.frame.to_html(border=0, justify='left')}<p>{escape(self.words)}</p>"


def side_by_side(case: Any) -> Lines:
    """The stores of a StoreCase line by line, three figures each, with the source of each line; never added up.

    Parameters: `case`, an evlab.StoreCase with a pack.
    """
    told = case.table().map(lambda value: value if isinstance(value, str) else _told(float(value)))
    return Lines(told.assign(**{"from": [row.source for row in case.comparison]}))


def yardsticks(vehicle: Any = None) -> Lines:
    """Everyday stores beside this vehicle's: energy [Wh], times this store, where the figure is from.

    Parameters: `vehicle`, by default the learner's own.
    """
    v: Any = load_vehicle() if vehicle is None else vehicle
    full = v.store.energy(v.store.full_state())
    mine = ragone.Yardstick(f"this store, {setting(v.store.full_voltage, 'V')}", full, "computed")
    rows = [(y.name, _told(y.energy / 3600), _told(y.energy / full), y.source) for y in (mine, *ragone.YARDSTICKS)]
    return _lines(rows, ["store", "energy, Wh", "times this one", "from"])


def _lines(rows: list[Any], heads: list[str], words: str = "") -> Lines:
    return Lines(pd.DataFrame(rows, columns=heads).set_index(heads[0]).rename_axis(None), words)


def lives(case: Any = None) -> Lines:
    """Years by the rules of ten degrees and a fifth of a volt, beside what the same data sheets state.

    Parameters: `case`, an evlab.StoreCase, whose fullest cell is the last line.
    """
    table = ageing.life_table() if case is None or case.strings is None else ageing.life_table(round(case.strings.worst_case, 2))
    rows = [(row.words, _told(row.rule / YEAR), _told(row.sheet / YEAR), _told(row.halving_rise), row.source) for row in table]
    heads = ["cell and condition", "years by the rule", "years by its sheet", "degrees that halve, to agree", "from"]
    return _lines(rows, heads, ageing.CONFLICT)


def _told(value: float) -> str:
    return "" if math.isnan(value) else number(value)
