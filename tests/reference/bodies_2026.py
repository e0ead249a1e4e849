"""Magnets and the bodies about them: a dealer's sheets, printed tables, a finite-element library.

The dealer's surface fields belong to the middle of the range of remanence that the same sheets print (1.24 T).
"""

from __future__ import annotations

import math

from evlab import demagnetising, rotor_forces
from evlab.rings import Ring

from . import Check

DEALER = "a dealer's sheets of N38 magnets, 1.22 to 1.26 T (dhit.pl, read in 2026)"
DEPTHS = "launchloop.com/SkinDepth, a table of skin depths at 300 K"
TWO_D = "scikit-fem, in two dimensions: discs 25 mm across, 6 mm thick, on 80 mm, pole pitch 31.4 mm, recoil 1.05"
OSBORN = "Osborn, Phys. Rev. 67 (1945) 351, table of the prolate spheroid; from memory"
_E, _D, _F, _S = "eddies.", "demagnetising.", "rotor_forces.", "stray."


def _surface(millimetres: tuple[float, float, float], printed: str, allowance: float) -> Check:
    length, width, thick = (x / 1e3 for x in millimetres)
    return Check(
        _D + "block_factor", printed, "mT", DEALER, f"surface field of {'×'.join(f'{x:g}' for x in millimetres)} mm",
        table="surface", work=lambda: 1240.0 * (1 - float(demagnetising.block_factor(width, length, thick, 0.0))),
        allowance=allowance,
        why="0.1 %: the sheets say 'about' and do not print the remanence they use")


def _depth(resistivity: float, hertz: float, printed: str, metal: str) -> Check:
    return Check(_E + "skin_depth", printed, "mm", DEPTHS, f"{metal}, {hertz:g} Hz", table="skin depth",
                 inputs={"electrical_speed": math.tau * hertz, "conductivity": 1 / resistivity})


def _steel(millimetres: float, printed: str) -> Check:
    """The list of references prints no remanence here; 1.24 T is that of its other rows."""
    def work() -> float:
        ring = Ring.of(16, radius=0.080, wide=0.025, thick=0.006, remanence=1.24, iron="behind")
        return float(rotor_forces.steel_load(rotor_forces.steel_flux(ring), millimetres / 1e3, 0.025))

    return Check(_F + "steel_load", printed, "T", TWO_D, f"{millimetres:g} mm of steel", work=work, kind="library", table="steel",
                 allowance=0.01 * float(printed), why="1 %; the library's row allows 5 % for its two dimensions")


PRINTED = [
    _surface((42, 20, 5), "203.37", 0.2),
    _depth(1.7e-8, 60, "8.5", "copper"),
    Check(_D + "energy_product", "330", "kJ/m**3", "makers' tables of N42: 318 to 342 kJ/m³, 1.28 to 1.32 T (read in 2026)",
          "middle of both ranges", {"remanence": 1.30, "recoil_permeability": 1.05}, allowance=16.5,
          why="5 %: makers state least values of both, and not of the same magnet"),
]

LIBRARY = [_steel(3, "1.71"), _steel(5, "1.03"), _steel(8, "0.645")]

MEMORY = [Check(_S + "rod_factor", printed, "", OSBORN, f"length over diameter {ratio:g}", {"slenderness": ratio}, kind="worked",
                table="osborn") for ratio, printed in ((2.0, "0.1736"), (5.0, "0.0558"), (10.0, "0.0203"))]

CHECKS = [*PRINTED, *LIBRARY, *MEMORY]
