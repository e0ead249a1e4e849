"""Winding wire: its sizes, what a metre of it has of ohms and grams, and how many strands really fit into the side of a coil.

The enamel of grade 2 is taken from the table of the standard: how much it adds at least, and what the wire measures at most.  A
size between two rows has the enamel of the next thicker row, as the standard says.  A reel may differ: measure it.
"""

from __future__ import annotations

import bisect
import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from evlab.glossary import entry
from evlab.units import InputError, si, told
from evlab.winding import gauge_diameter, strand_area

__all__ = ["GAUGES", "METRIC", "SOURCE", "Fit", "WireSize", "awg", "metric"]

# Nominal bare diameter, least increase by enamel, largest overall diameter, all in mm, grade 2 of IEC 60317-0-1.  From 0.28 mm up
# the increases are those that a maker's table of its reprint IS 13730-0-1 gives to its sizes (but 0.71 and 1.40, which are, with
# the rows below 0.28 mm, from memory).
_ENAMEL = (
    (0.100, 0.016, 0.125), (0.112, 0.017, 0.139), (0.125, 0.019, 0.154), (0.140, 0.021, 0.171), (0.160, 0.023, 0.194),
    (0.180, 0.025, 0.217), (0.200, 0.027, 0.239), (0.224, 0.029, 0.266), (0.250, 0.032, 0.297), (0.280, 0.033, 0.329),
    (0.315, 0.035, 0.367), (0.355, 0.038, 0.411), (0.400, 0.040, 0.459), (0.450, 0.042, 0.513), (0.500, 0.045, 0.566),
    (0.560, 0.047, 0.630), (0.630, 0.050, 0.704), (0.710, 0.053, 0.789), (0.800, 0.056, 0.884), (0.900, 0.060, 0.989),
    (1.000, 0.063, 1.094), (1.120, 0.065, 1.217), (1.250, 0.067, 1.349), (1.400, 0.069, 1.502), (1.600, 0.071, 1.706),
    (1.800, 0.073, 1.909), (2.000, 0.075, 2.112), (2.240, 0.077, 2.355), (2.500, 0.079, 2.618), (2.800, 0.081, 2.922),
    (3.150, 0.084, 3.276),
)
_TOLERANCE = ((0.250, 0.003), (0.315, 0.004), (0.500, 0.005), (0.630, 0.006))  # mm up to a diameter; above 1 % of it
METRIC = tuple(row[0] / 1e3 for row in _ENAMEL)  # m: preferred numbers, series R20 of ISO 3
GAUGES = tuple(range(10, 37))
SOURCE = ("iec-60317", "iec-60028", "iso-3", "astm-b258")  # keys of `sources`
CONDUCTIVITY = {"least": 58e6, "nominal": 58.5e6, "most": 59e6}  # S/m, IEC 60317-0-1: copper of winding wire


@dataclass(frozen=True)
class WireSize:
    """One enamelled round wire, grade 2: its `name`, its `bare` diameter and its largest `overall` diameter [m]."""

    name: str
    bare: float
    overall: float

    @property
    def tolerance(self) -> float:
        """How far the bare diameter may be off, either way [m] (IEC 60317-0-1)."""
        limits = [t / 1e3 for size, t in _TOLERANCE if self.bare <= size / 1e3 * (1 + 1e-9)]
        return limits[0] if limits else 0.01 * self.bare

    @property
    def thinnest_overall(self) -> float:
        """Least diameter with enamel [m]."""
        return self.bare + _row(self.bare)[1] / 1e3

    @property
    def area(self) -> float:
        """Section of the copper [m2]."""
        return float(strand_area(self.bare))

    @property
    def ohms(self) -> float:
        """Nominal ohms for each metre at 20 °C, by IEC 60317-0-1: 0.86 % below the least copper that is allowed (IEC 60028)."""
        return 1 / (CONDUCTIVITY["nominal"] * self.area)

    @property
    def least_ohms(self) -> float:
        """The thickest wire that the tolerance allows, of the best copper [ohm/m]."""
        return 4 / (math.pi * CONDUCTIVITY["most"] * (self.bare + self.tolerance) ** 2)

    @property
    def most_ohms(self) -> float:
        """The thinnest wire that the tolerance allows [ohm/m]."""
        return 4 / (math.pi * CONDUCTIVITY["least"] * (self.bare - self.tolerance) ** 2)

    @property
    def mass(self) -> float:
        """Copper of one metre [kg/m]."""
        return float(_value("copper_density") * self.area)

    @property
    def enamel_mass(self) -> float:
        """Enamel of one metre [kg/m], halfway between the thinnest coat and the thickest wire."""
        middle = (self.thinnest_overall + self.overall) / 2
        return float(_value("enamel_density") * math.pi / 4 * (middle**2 - self.bare**2))

    @property
    def square_fill(self) -> float:
        """Share of copper where the strands lie in a square pattern."""
        return math.pi / 4 * (self.bare / self.overall) ** 2


def metric(diameter: Any) -> WireSize:
    """The wire of a bare diameter.

    Parameters: `diameter`, metres or text with its unit, 0.1 mm to 3.15 mm.  Raises InputError in words outside that range.
    """
    bare = si(diameter, entry("wire_diameter"), "diameter of metric")
    if not METRIC[0] * (1 - 1e-9) <= bare <= METRIC[-1] * (1 + 1e-9):
        raise InputError(f"Input diameter of metric must be 0.1 mm to 3.15 mm; instead received {told(diameter)}.")
    return _made(f"{1e3 * bare:.4g} mm", bare)


def awg(number: int) -> WireSize:
    """The wire of an American gauge.

    Parameters: `number`, 10 to 36.  Raises InputError in words for others.
    """
    if type(number) is not int or number not in GAUGES:
        raise InputError(f"Input number of awg must be a whole number from {GAUGES[0]} to {GAUGES[-1]}, the higher the thinner; "
                         f"instead received {told(number)}.")
    return _made(f"AWG {number}", float(gauge_diameter(float(number))))


def _made(name: str, bare: float) -> WireSize:
    nominal, _least, most = _row(bare)
    return WireSize(name, bare, bare + (most - nominal) / 1e3)


def _row(bare: float) -> tuple[float, float, float]:
    """The row whose enamel a wire has: its own, or the next thicker one."""
    at = bisect.bisect_left(METRIC, bare * (1 - 1e-9))
    return _ENAMEL[min(at, len(_ENAMEL) - 1)]


def _value(name: str) -> float:
    value = entry(name).value
    assert value is not None
    return value


# ---------------------------------------------------------------- the window
@dataclass(frozen=True)
class Fit:
    """Strands in the side of a coil: `width` and `height` of the window [m] (across the side, and along the shaft), `overall`
    diameter of a strand [m], `turns` of `strands` wires side by side.

    In a square pattern every strand lies on the one beneath it, as careful hands without pressure reach; in a nested one the
    layers lie in the grooves of one another, which is the best case.
    """

    width: float
    height: float
    overall: float
    turns: int
    strands: int

    @classmethod
    def of(cls, width: Any, height: Any, overall: Any, turns: int, strands: int = 1) -> Fit:
        """Whether so many turns fit.

        Parameters: `width`, `height`, `overall` as of the class, metres or texts with their unit (a WireSize may stand for its
        overall diameter); `turns` and `strands`, whole numbers from 1.  Raises InputError in words where a square pattern has too
        few places; it says how many turns fit, and the next thinner wire that does.
        """
        given = overall.overall if isinstance(overall, WireSize) else overall
        asked = ((width, "side_width", "width"), (height, "coil_thickness", "height"), (given, "overall_diameter", "overall"))
        sizes = [si(v, entry(e), f"{n} of Fit") for v, e, n in asked]
        for metres, name, value in zip(sizes, ("width", "height", "overall"), (width, height, given), strict=True):
            if not 0 < metres < 1:
                raise InputError(f"Input {name} of Fit must be more than 0 mm and less than 1 m; instead received {told(value)}.")
        for number, name in ((turns, "turns"), (strands, "strands")):
            if type(number) is not int or number < 1:
                raise InputError(f"Input {name} of Fit must be a whole number from 1; instead received {told(number)}.")
        made = cls(sizes[0], sizes[1], sizes[2], turns, strands)
        if made.needed > made.capacity:
            raise InputError(made._too_many())
        return made

    @property
    def needed(self) -> int:
        return self.turns * self.strands

    @property
    def layers(self) -> int:
        """Layers over the width of the side, in a square pattern."""
        return _times(self.width, self.overall)

    @property
    def in_layer(self) -> int:
        """Strands in one layer, side by side over the height."""
        return _times(self.height, self.overall)

    @property
    def capacity(self) -> int:
        """Strands that fit in a square pattern."""
        return self.layers * self.in_layer

    @property
    def nested_capacity(self) -> int:
        """Strands that fit when the layers nest, the better of both ways round: the best case."""
        return max(_nested(self.width, self.height, self.overall), _nested(self.height, self.width, self.overall))

    @property
    def layers_used(self) -> int:
        return math.ceil(self.needed / self.in_layer)

    def places(self) -> Any:
        """Middles of all strands in the order in which they are wound [m], shape (turns x strands, 2): across the side from the
        opening, and along the shaft from the bottom; layer upon layer, there and back."""
        layer, along = np.divmod(np.arange(self.needed), self.in_layer)
        along = np.where(layer % 2 == 0, along, self.in_layer - 1 - along)
        return (np.stack([layer, along], axis=1) + 0.5) * self.overall

    def turn_of(self) -> Any:
        """The turn that each strand of `places` belongs to, from 1, shape (turns x strands,)."""
        return np.arange(self.needed) // self.strands + 1

    def _too_many(self) -> str:
        fit = self.capacity // self.strands
        said = (f"Input turns of Fit must fit into {1e3 * self.width:.3g} mm by {1e3 * self.height:.3g} mm; instead received "
                f"{self.turns} turns of {self.strands} strand{'s' * (self.strands > 1)}, {self.needed} in all, where "
                f"{self.layers} layers of {self.in_layer} hold {self.capacity}: {fit or 'no'} turns fit")
        if self.nested_capacity >= self.needed:
            said += f" (perfectly nested layers would hold {self.nested_capacity})"
        thinner = (metric(d) for d in reversed(METRIC))
        size = next((w for w in thinner if w.overall < self.overall
                     and _times(self.width, w.overall) * _times(self.height, w.overall) >= self.needed), None)
        return said + (f". The next thinner wire that fits is {size.name} ({1e3 * size.overall:.4g} mm overall)." if size else ".")


def _times(room: float, size: float) -> int:
    return math.floor(room / size * (1 + 1e-9))


def _nested(across: float, along: float, size: float) -> int:
    """Strands in layers along one side, each next layer half a strand aside and in the grooves of the last."""
    layers = 1 + _times(across - size, size * math.sqrt(3) / 2) if across >= size * (1 - 1e-9) else 0
    full = _times(along, size)
    shifted = full if along >= (full + 0.5) * size * (1 - 1e-9) else full - 1
    return (layers + 1) // 2 * full + layers // 2 * max(shifted, 0)
