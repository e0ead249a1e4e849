"""Tables below the bench of the store: two stores line by line, everyday yardsticks, and how long cells last by two rules."""

from __future__ import annotations

import math
from typing import Any

import pandas as pd

from evlab import ageing, ragone
from evlab.look import number, setting
from evlab.vehicle import load_vehicle

__all__ = ["lives", "side_by_side", "yardsticks"]

YEAR = 365 * 86400.0


def side_by_side(case: Any) -> pd.DataFrame:
    """The stores of a StoreCase line by line, three figures each, never added up.

    Parameters: `case`, an evlab.StoreCase with a pack.
    """
    return case.table().map(lambda value: value if isinstance(value, str) else _told(float(value)))


def yardsticks(vehicle: Any = None) -> pd.DataFrame:
    """Everyday stores beside this vehicle's: energy [Wh], times this store, where the figure is from.

    Parameters: `vehicle`, by default the learner's own.
    """
    v: Any = load_vehicle() if vehicle is None else vehicle
    full = v.store.energy(v.store.full_state())
    mine = ragone.Yardstick(f"this store, {setting(v.store.full_voltage, 'V')}", full, "computed")
    rows = [(y.name, _told(y.energy / 3600), _told(y.energy / full), y.source) for y in (mine, *ragone.YARDSTICKS)]
    return pd.DataFrame(rows, columns=["store", "energy, Wh", "times this one", "from"]).set_index("store")


def lives(case: Any = None) -> pd.DataFrame:
    """Years by the rules of ten degrees and a fifth of a volt, beside what the same data sheets state.

    Parameters: `case`, an evlab.StoreCase, whose fullest cell is the last line.
    """
    table = ageing.life_table() if case is None or case.strings is None else ageing.life_table(round(case.strings.worst_case, 2))
    rows = [(row.words, _told(row.rule / YEAR), _told(row.sheet / YEAR), _told(row.halving_rise), row.source) for row in table]
    heads = ["cell and condition", "years by the rule", "years by its sheet", "degrees that halve, to agree", "from"]
    return pd.DataFrame(rows, columns=heads).set_index(heads[0])


def _told(value: float) -> str:
    return "" if math.isnan(value) else number(value)
