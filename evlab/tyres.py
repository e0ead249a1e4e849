"""Tyres and surfaces: size of a wheel from what is printed on its tyre, and a table of what others measured or guess."""

from __future__ import annotations

import io
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import sympy

from evlab import data
from evlab.equation import Equation
from evlab.glossary import nearest
from evlab.units import InputError

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["cold_rolling", "rolling_circumference", "row", "table", "toe_force"]

rolling_circumference = Equation(
    "tyres.rolling_circumference", "rolling_circumference",
    lambda bead_diameter, tyre_width: sympy.pi * (bead_diameter + 2 * tyre_width),
    title="Way for one turn, from the two numbers on the tyre (47-406: 47 mm wide on a bead of 406 mm).", source=("iso-5775",),
    tag="R4", within="about 3 %: a loaded tyre is flatter, a wide one lower than wide; roll it out along a tape with the rider on")

toe_force = Equation(
    "tyres.toe_force", "toe_force", lambda cornering_stiffness, toe_angle: cornering_stiffness * toe_angle**2,
    title="Drag of a wheel that does not point the way it goes: twice the angle, four times the drag.", source=("tyre-mechanics",),
    tag="R12", limits={"toe_angle": (-0.07, 0.07)}, within="angles up to 4°; the two wheels of an axle each have it")

cold_rolling = Equation(
    "tyres.cold_rolling", "cold_rolling_coefficient",
    lambda rolling_coefficient, rolling_gain, reference_temperature, air_temperature:
        rolling_coefficient * (1 + rolling_gain * (reference_temperature - air_temperature)),
    title="Rolling coefficient when it is colder than 20 °C, about.", source=("rothhamel-2023",), tag="R12",
    limits={"air_temperature": (253.15, 313.15)}, within="-20 °C to 40 °C, a rule of thumb: 1 to 2 % for each kelvin; tyres differ")


@lru_cache(maxsize=1)
def _read() -> pd.DataFrame:
    import pandas as pd

    text = data.read_text("evlab-2026-tyres-and-surfaces.csv")
    return pd.read_csv(io.StringIO(text), comment="#", keep_default_na=False).set_index("name")


def table(quantity: str = "") -> pd.DataFrame:
    """Low, default and high of rolling coefficients, drag areas [m2] and tyre grip, each row with its source mark.

    Parameters: quantity, "rolling_coefficient", "drag_area" or "tyre_grip", or "" for all.
    """
    rows, known = _read(), ("rolling_coefficient", "drag_area", "tyre_grip")
    if quantity and quantity not in known:
        raise InputError(f"Input quantity of tyres.table must be one of {', '.join(known)}; instead received {quantity!r}."
                         f"{nearest(quantity, known)}")
    return rows[rows["quantity"] == quantity].copy() if quantity else rows.copy()


def row(name: str) -> dict[str, Any]:
    """One row of the table by its name: {"quantity", "low", "default", "high", "unit", "mark"}; another name raises InputError."""
    rows = _read()
    if name not in rows.index:
        raise InputError(f"Input name of tyres.row must be one of {'; '.join(rows.index)}; instead received {name!r}."
                         f"{nearest(name, rows.index)}")
    found = rows[rows.index == name].to_dict("records")[0]
    return {str(key): value for key, value in found.items()}
