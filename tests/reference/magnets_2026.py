"""Magnets: a disc on its axis, which is textbook matter and which magpylib computes too (to 2e-15)."""

from __future__ import annotations

from . import Check

DISC = "a disc 20 mm across and 5 mm thick, 1.24 T, on its axis: textbook, and magpylib to 2e-15"
_M = "magnets."


def _axis(millimetres: float, printed: str) -> Check:
    inputs = {"remanence": 1.24, "magnet_thickness": 0.005, "face_height": millimetres / 1e3, "magnet_radius": 0.010}
    return Check(_M + "axis_field", printed, "T", DISC, f"{millimetres:g} mm above its face", inputs, kind="library", table="disc")


LIBRARY = [_axis(3, "0.2091552404"), _axis(5, "0.1611337751"), _axis(8, "0.1041159438")]

CHECKS = [*LIBRARY]
