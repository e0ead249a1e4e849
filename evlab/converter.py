"""A converter between store and controller: a fixed bus voltage, paid for by its efficiency and its limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from evlab.equation import Equation
from evlab.kernels import kernel

__all__ = ["Converter", "NoConverter", "converter_input", "input_current", "input_power"]

_WITHIN = "one efficiency for all loads; real ones lose more at both ends"

input_power = Equation(
    "converter.input_power", "input_power", lambda output_power, efficiency: output_power / efficiency,
    title="Power a converter takes for the power it gives.", source=("power-electronics",), tag="K4", within=_WITHIN)

input_current = Equation(
    "converter.input_current", "input_current",
    lambda output_power, efficiency, input_voltage: output_power / (efficiency * input_voltage),
    title="Current a converter takes: it climbs as the volts before it fall.", source=("power-electronics",), tag="K4",
    within=_WITHIN)

_taken = input_power.kernel


@kernel("through")
def converter_input(power, efficiency):  # type: ignore[no-untyped-def]  # compiled: types stand in kernels.SEAMS
    """Power before the converter for a power behind it; what flows back pays as well."""
    return _taken(power, efficiency) if power >= 0.0 else power * efficiency


@dataclass(frozen=True)
class NoConverter:
    """The controller hangs on the store itself."""

    mass: ClassVar[float] = 0.0
    kind: ClassVar[str] = "none"

    def parameters(self) -> tuple[float, float, float, bool]:
        """Bus volts (0: none), efficiency, current limit, whether current flows back."""
        return 0.0, 1.0, 0.0, True

    def stops_at(self, stop_voltage: float) -> float:
        """Volts of the store at which the vehicle gives up: those of its controller [V]."""
        return stop_voltage


@dataclass(frozen=True)
class Converter:
    """The [converter] table.  Units as in the glossary, SI."""

    bus_voltage: float
    efficiency: float
    minimum_voltage: float
    current_limit: float
    both_ways: bool
    mass: float

    kind: ClassVar[str] = "fixed bus"

    def parameters(self) -> tuple[float, float, float, bool]:
        """Bus volts, efficiency, current limit, whether current flows back."""
        return self.bus_voltage, self.efficiency, self.current_limit, self.both_ways

    def stops_at(self, stop_voltage: float) -> float:
        """Volts of the store at which the vehicle gives up: its own minimum, since the bus holds its volts [V]."""
        return self.minimum_voltage
