"""What a motor is built from: the tables [motor.magnets] and [motor.winding] of the vehicle file, as they stand there.

What follows from them (field, flux, constants, ohms, heat) is worked out in `motor_case`; a bought motor states neither.
"""

from __future__ import annotations

from dataclasses import dataclass

from evlab.coils import Coil
from evlab.rings import ACROSS, Ring

__all__ = ["Magnets", "Winding"]


@dataclass(frozen=True)
class Magnets:
    """The [motor.magnets] table, SI.  `shape` is "not stated" where the motor is known by its constants only."""

    shape: str
    poles: int
    ring_radius: float
    width: float
    length: float
    thickness: float
    remanence: float
    recoil: float
    grade: str
    iron: str
    steel_thickness: float
    disc_radius: float
    hole_radius: float

    @property
    def stated(self) -> bool:
        return self.shape != "not stated"

    @property
    def rotors(self) -> int:
        """How many rings of magnets there are."""
        return 2 if self.iron.startswith("two rotors") else 1


@dataclass(frozen=True)
class Winding:
    """The [motor.winding] table, SI."""

    coils: int
    phases: int
    connection: str
    coil_shape: str
    opening_inner: float
    opening_outer: float
    opening_length: float
    side: float
    thickness: float
    clearance: float
    turns: int
    strands: int
    wire_diameter: float
    wire_overall: float
    tails: float
    lead_resistance: float
    enamel_class: str
    former: str
    glue: str

    @property
    def height(self) -> float:
        """Height of the middle of the coil above the face of the magnets [m]."""
        return self.clearance + self.thickness / 2

    @property
    def gap(self) -> float:
        """From the face of the magnets to what is across from them [m]: the coil with its clearance on both sides."""
        return self.thickness + 2 * self.clearance

    def coil(self) -> Coil:
        """The outline of one coil.  Raises InputError in words."""
        return Coil.of(self.coil_shape, inner=self.opening_inner, outer=self.opening_outer, long=self.opening_length,
                       side=self.side, thick=self.thickness)

    def ring(self, magnets: Magnets) -> Ring:
        """The ring of magnets at this winding's clearance.  Raises InputError in words."""
        return Ring.of(magnets.poles, radius=magnets.ring_radius, shape=magnets.shape if magnets.stated else "disc",
                       wide=magnets.width, long=magnets.length, thick=magnets.thickness, remanence=magnets.remanence,
                       recoil=magnets.recoil, iron=magnets.iron, gap=self.gap if magnets.iron in ACROSS else None)
