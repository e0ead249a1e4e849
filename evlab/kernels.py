"""Compiling: the functions that run thousands of times in a ride, through numba where it is installed.

A kernel has a stated signature, so that it can be handed to the loop as a value: the loop is compiled once and knows no
part by name.  Compiled code is kept by numba beside the sources, or in the user's cache folder where those cannot be
written.  Without numba (or with EVLAB_NO_NUMBA set) the same functions run as plain Python, slower.
"""

from __future__ import annotations

import os
import warnings
from collections.abc import Callable
from typing import Any

__all__ = ["COMPILED", "SEAMS", "compile_small", "inlined", "kernel"]

try:
    if os.environ.get("EVLAB_NO_NUMBA"):
        raise ImportError("switched off")
    import numba
    from numba import types

    COMPILED = True
except ImportError:
    COMPILED = False


def _seams() -> dict[str, Any]:
    """The signatures of the seams between the loop and the parts; every array holds floats, out arrays are written."""
    real, row, void = types.float64, types.Array(types.float64, 1, "C"), types.void
    pair, whole = types.UniTuple(real, 2), types.int64
    value = types.FunctionType
    made = {
        "terminal": pair(row, row, real),         # store: state, parameters, power -> volts, amps (nan: impossible)
        "store slope": void(row, row, real, row),  # store: state, parameters, amps, out: d state, esr W, slow branch W
        "stored": real(row, row),                 # store: state, parameters -> J
        "place": whole(row, real),                # table: parameters, value -> number of the row below it
        "tabled": real(row, real, whole),         # table: parameters, value, column -> value of the column
        # driver: state, parameters, place, speed, next stop, resistance N, effective mass,
        # out: force, share, set speed, power, d state
        "wish": void(row, row, real, real, real, real, real, row),
        "road": void(row, real, real, real, row),  # road: parameters, place, speed, direction, out: four forces, slope
        "height": real(row, real),                # road: parameters, place -> m
    }
    terminal = value(made["terminal"])
    made["through"] = real(real, real)
    made["most"] = types.Tuple((real, whole))(terminal, row, row, row, real, real, real, real)
    made["asked"] = real(row, row, real, real, real, real)
    made["least"] = real(terminal, row, row, row, real, real, real)
    # drive: the store's terminal, its state and parameters, own state and parameters, speed, direction, wish, out (14)
    made["deliver"] = void(terminal, row, row, row, row, real, real, row, row)
    made["deliver along"] = void(terminal, row, row, row, row, row, row, types.Array(real, 2, "C"))
    made["drive slope"] = void(row, row, row, row)  # drive: state, parameters, what deliver gave, out: d state
    made |= _charging(terminal, value(made["store slope"]), real, row, whole)
    flat = (terminal, *(value(made[k]) for k in ("store slope", "deliver", "drive slope", "wish", "road")))
    parameters = (row, row, row, row)  # of store, drive, driver, road
    seams = (types.Tuple(flat), types.Tuple(parameters))
    sizes = types.Array(whole, 1, "C")
    made["slopes"] = void(*seams, sizes, row, row, row, row)
    made["step"] = void(*seams, sizes, row, row, row, real, row, row)
    made["code"] = whole(row, row, row, row, row, real, real, sizes)
    made["push"] = real(*seams, sizes, row, row, real, row, row)
    pair_code = types.Tuple((real, whole))
    made["error"] = real(sizes, row, row, real, row)
    made["try step"] = whole(*seams, sizes, row, row, row, row, row, real, row, row, row, row)
    made["sound step"] = pair_code(*seams, sizes, row, row, row, row, row, real, real, row, row, row, row)
    made["locate"] = pair_code(*seams, sizes, row, row, row, row, row, real, real, row, row, row, row)
    table = types.Array(real, 2, "C")
    made["advance"] = pair_code(*seams, sizes, row, row, row, row, row, row, real, real, row, row, row, row)
    made["ends"] = types.boolean(whole)
    made["settle"] = whole(whole, sizes, row, row, row, row, table, row)
    made["by the clock"] = whole(whole, row, row, real, table, row)
    made["write row"] = void(table, row, row, row, real, whole, real)
    made["write event"] = void(table, row, row, real, whole, real)
    made["release"] = whole(row, row, row, row)  # rotor let go: torque tables of two paths, parameters, out (6): why it ended
    made["run"] = types.UniTuple(whole, 3)(*flat, *parameters, sizes, row, row, row, row, table, row, table, table)
    return made


def _charging(terminal: Any, store_slope: Any, real: Any, row: Any, whole: Any) -> dict[str, Any]:
    """The signatures of the charge within a day."""
    void, table = types.void, types.Array(real, 2, "C")
    return {
        "charging": void(terminal, row, row, row, row),
        "charge slopes": void(terminal, store_slope, row, row, real, row, row, row, row, row),
        "charge end": whole(row, row, real),
        "charge step": void(terminal, store_slope, row, row, real, row, row, real, row, table, row, row, row),
        "charge run": types.Tuple((real, whole))(terminal, store_slope, row, row, real, real, real, row),
    }


def _quietly(make: Callable[[], Any]) -> Any:
    """Numba calls first-class functions experimental at each turn; our tests meet what could go wrong with them."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", numba.errors.NumbaExperimentalFeatureWarning)
        return make()


# These make or copy arrays.  All others only look into arrays that somebody else holds, so they need not count who holds them:
# the counting took more than half of a ride's time.
MAKERS = ("run", "charge run")
SEAMS: dict[str, Any] = _quietly(_seams) if COMPILED else {}


def kernel(seam: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Decorator: compile a function for one of the seams, or leave it plain where there is no numba."""

    def wrap(function: Callable[..., Any]) -> Callable[..., Any]:
        if not COMPILED:
            return function
        options: Any = {"_nrt": seam in MAKERS}  # no public name yet, and so not among numba's types
        return _quietly(lambda: numba.njit(SEAMS[seam], cache=True, error_model="numpy", **options)(function))

    return wrap


def inlined(function: Callable[..., Any]) -> Callable[..., Any]:
    """Decorator: a small piece of kernels, put where it is called; plain where there is no numba."""
    return numba.njit(function, inline="always", error_model="numpy") if COMPILED else function


def compile_small(function: Callable[..., Any], plain: Callable[..., Any]) -> Callable[..., Any]:
    """An equation's float function, ready to be called from a kernel; `plain` where there is no numba."""
    return numba.njit(function, error_model="numpy") if COMPILED else plain
