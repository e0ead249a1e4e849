"""Magnets: a disc on its axis and the field of a ring, and the second opinions of an independent script.

The disc is textbook matter that magpylib computes too (to 2e-15); the rows of the script are not published.
"""

from __future__ import annotations

import math

from evlab import magnets

from . import Check
from .authors_script_2026 import SOURCE

DISC = "a disc 20 mm across and 5 mm thick, 1.24 T, on its axis: textbook, and magpylib to 2e-15"
_M = "magnets."
PITCH = math.pi * 0.078 / 6
KAPPA = math.pi / PITCH


def _axis(millimetres: float, printed: str) -> Check:
    inputs = {"remanence": 1.24, "magnet_thickness": 0.005, "face_height": millimetres / 1e3, "magnet_radius": 0.010}
    return Check(_M + "axis_field", printed, "T", DISC, f"{millimetres:g} mm above its face", inputs, kind="library", table="disc")


def _lone(what: str, printed: str, thick: float, height: float) -> Check:
    return Check(_M + "axis_field", printed, "T", SOURCE, f"D21, {what}",
                 {"remanence": 1.30, "magnet_thickness": thick, "face_height": height, "magnet_radius": 0.015}, kind="opinion",
                 table="D21")


def _row(what: str, equation: str, printed: str, **inputs: float) -> Check:
    """The script tells the fundamental: the strip's harmonic times its transfer, for magnets of 70 % of the pitch."""
    given = {"wave_number": KAPPA, "magnet_thickness": 0.010, **inputs}
    return Check(_M + equation, printed, "T", SOURCE, f"D22, {what}", kind="opinion", table="D22", also=(_M + "strip_harmonic",),
                 work=lambda: (float(magnets.strip_harmonic(1.30, 1.0, 0.7)) * float(getattr(magnets, equation)(**given))))


def _one(equation: str, printed: str, unit: str, place: str, **inputs: float) -> Check:
    return Check(_M + equation, printed, unit, SOURCE, place, inputs, kind="opinion", table=place.partition(",")[0])


LIBRARY = [_axis(3, "0.2091552404"), _axis(5, "0.1611337751"), _axis(8, "0.1041159438")]

OPINIONS = [
    _lone("alone, at its face", "0.36056", 0.010, 0.0), _lone("alone, 5 mm above", "0.25407", 0.010, 0.005),
    _lone("alone, 10 mm above", "0.15944", 0.010, 0.010), _lone("alone, 20 mm above", "0.061378", 0.010, 0.020),
    _lone("on steel, at its face", "0.52", 0.020, 0.0), _lone("on steel, 5 mm above", "0.35182", 0.020, 0.005),
    _lone("on steel, 10 mm above", "0.22082", 0.020, 0.010),
    _one("wave_number", "76.923", "1/m", "D22, radians a metre", harmonic=1.0, pole_pitch=PITCH),
    _row("no iron", "free_transfer", "0.23096", face_height=0.007),
    _row("steel behind the magnets", "backed_transfer", "0.32801", face_height=0.007, recoil_permeability=1.05),
    _row("and a steel plate 14 mm away", "plate_transfer", "0.45223", face_height=0.007, face_gap=0.014, recoil_permeability=1.05),
    _row("two rotors", "two_rotor_transfer", "0.71387", face_gap=0.014, plane_offset=0.0, recoil_permeability=1.05),
    _one("pole_pitch", "40.841", "mm", "D23, pole pitch", ring_radius=0.078, pole_pairs=6.0),
    _one("magnet_flux_density", "0.74928", "T", "D26, in the magnet", remanence=1.30, recoil_permeability=1.05, face_gap=0.014,
         magnet_thickness=0.010),
    _one("demagnetising_field", "417.38", "kA/m", "D26, against it", remanence=1.30, magnet_flux_density=1.30 / 1.735,
         recoil_permeability=1.05),
    _one("hot_remanence", "1.2064", "T", "D26, at 80 °C", remanence=1.30, remanence_coefficient=0.0012, magnet_temperature=353.15),
    _one("hot_coercivity", "611.2", "kA/m", "D26, at 80 °C", coercivity=955e3, coercivity_coefficient=0.006,
         magnet_temperature=353.15),
    _one("hot_coercivity", "382", "kA/m", "D26, at 120 °C", coercivity=955e3, coercivity_coefficient=0.006,
         magnet_temperature=393.15),
    _one("steel_thickness", "4.412", "mm", "D53, for 1.5 T", magnet_flux=0.00052944, steel_flux_density=1.5, steel_width=0.040),
]

CHECKS = [*LIBRARY, *OPINIONS]
