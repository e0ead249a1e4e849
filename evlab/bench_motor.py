"""A motor on the bench, run free and held still: its constants from both, beside what its design says."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from evlab.glossary import entry
from evlab.look import shown
from evlab.motor import Motor
from evlab.motor_sheet import Found, SheetMotor, no_load, stall
from evlab.units import InputError, rad_s_to_rpm, rpm_to_rad_s, si, told

__all__ = ["STALLED_BY", "BenchMotor", "planned"]

# Shares: what counts as equally far off, as off at all, and as no deviation of one motor any more (common practice, no source).
ALIKE, FAR, STRANGE = 0.03, 0.03, 0.4
STALLED_BY = entry("stalled_by").choices
DIRECT = STALLED_BY[0]
READ_AS = {"free_volts": "voltage", "free_rpm": "revs_per_minute", "free_amps": "motor_current", "held_volts": "voltage",
           "held_amps": "motor_current", "held_torque": "torque"}
# Pull of direct current at the angle where it is greatest, over the mean that the bridge makes of the same amps: the peak between
# two lines over six steps; one sine over its mean; two sines a quarter turn apart, half of the amps in each, over their mean.
CREST = {"three_phase": math.pi / 3, "one_phase": math.pi / 2, "two_phase": math.pi / (2 * math.sqrt(2)), "brushed": 1.0}


def planned(m: Motor, volts: float = 12.0, amps: float = 20.0) -> dict[str, Any]:
    """What a motor would show on the bench, run free at some volts and held still with some amps: such as a small supply gives.

    Parameters: `m`, a Motor; `volts` [V] of the bridge, or between the brushes, more where drag would take most of them; `amps` [A]
    of direct current, fewer where those volts do not drive them.
    Returns the fields of a BenchMotor; the torque without friction, which at rest may point either way.
    """
    k, ohm = float(m.drive_constant), m.resistance
    volts = max(volts, 4 * ohm * m.drag_torque / k)
    amps = min(amps, volts / ohm)
    speed = (volts - ohm * m.drag_torque / k) / (k + ohm * m.viscous_drag / k)
    free = (m.drag_torque + m.viscous_drag * speed) / k
    return {"kind": m.kind, "stalled_by": DIRECT, "free_volts": volts, "free_rpm": rad_s_to_rpm(speed), "free_amps": free,
            "held_volts": ohm * amps, "held_amps": amps, "held_torque": CREST[m.kind] * k * amps}


@dataclass(frozen=True)
class BenchMotor:
    """Six readings of one motor, a wound one or that of a data sheet: SI, but revolutions a minute.

    `kind` of Motor; `stalled_by`, one of STALLED_BY: direct current through two wires, at the angle where it pulls most (of two
    phases, both side by side), or its own controller, or brushes.  `free_amps` 0: not read, so no drag can be told; `held_torque`
    0: not read, so nothing checks the constant.  Each reading counts as good to 1 %.  Raises InputError in words for what no motor
    gives.
    """

    kind: str
    stalled_by: str
    free_volts: float
    free_rpm: float
    free_amps: float
    held_volts: float
    held_amps: float
    held_torque: float

    def __post_init__(self) -> None:
        for name, symbol in READ_AS.items():
            object.__setattr__(self, name, si(getattr(self, name), entry(symbol), f"{name} of BenchMotor"))

    @cached_property
    def sheet(self) -> SheetMotor:
        """All readings weighed together."""
        readings = [no_load(self.free_volts, self.free_rpm, self.free_amps or None),
                    stall(self.held_volts, self.held_amps, self.held_torque / self.crest or None)]
        return SheetMotor.of("three_phase" if self.kind == "three_phase" else "brushed", readings)

    @property
    def crest(self) -> float:
        """Pull for each ampere as read, over that which the bridge makes in the mean."""
        given: tuple[tuple[Any, Any], ...] = ((self.stalled_by, STALLED_BY), (self.kind, CREST))
        if any(not isinstance(word, str) or word not in words for word, words in given):
            raise InputError(f"Inputs stalled_by and kind of BenchMotor must be one of {', '.join(STALLED_BY)}, and one of "
                             f"{', '.join(CREST)}; instead received {told(self.stalled_by)} and {told(self.kind)}.")
        return CREST[self.kind] if self.stalled_by == DIRECT else 1.0

    @property
    def constant(self) -> Found:
        return self.sheet.values["constant"]

    @property
    def resistance(self) -> Found:
        return self.sheet.values["resistance"]

    @property
    def drag(self) -> float:
        """Drag torque [N m]; not a number where it was not read."""
        found = self.sheet.values.get("drag_torque")
        return math.nan if found is None else found.value

    @property
    def speed(self) -> float:
        """Of the free run [rad/s]."""
        return rpm_to_rad_s(self.free_rpm)

    @property
    def free_emf(self) -> float:
        """What is left of the volts for the turning [V]."""
        return self.free_volts - self.free_amps * self.resistance.value

    @property
    def by_speed(self) -> float:
        """The constant that the free run tells by itself [V s/rad], with the ohms of all readings."""
        return self.free_emf / self.speed

    @property
    def by_pull(self) -> float:
        """The constant that the pull tells by itself, as the bridge sees it [N m/A]; not a number where it was not read."""
        return self.held_torque / self.held_amps / self.crest if self.held_torque else math.nan

    def against(self, constant: float, resistance: float) -> str:
        """How far it is off a design's constant [V s/rad] and resistance [ohm], and what that speaks for, in sentences."""
        k, r = self.constant.value / constant - 1, self.resistance.value / resistance - 1
        read = f"Read: K {_found(self.constant, 1.0, 'V·s/rad')}, {_off(k)}; R {_found(self.resistance, 1e3, 'mΩ')}, {_off(r)}."
        return f"{read} {self.sheet.verdict if self.sheet.contradicts else _reason(k, r)}".rstrip()


def _found(found: Found, factor: float, unit: str) -> str:
    return shown(factor * found.value, unit, factor * found.spread)


def _off(share: float) -> str:
    if abs(share) < 0.005:
        return "as designed"
    return f"{shown(100 * abs(share), figures=2)} % {'above' if share > 0 else 'below'} the design"


def _reason(k: float, r: float) -> str:
    """What deviations of constant and resistance together speak for."""
    if abs(k) < FAR and abs(r) < FAR:
        return ""
    if max(abs(k), abs(r)) > STRANGE:
        return "So far off it is another motor than the design, or a reading is wrong."
    if abs(k - r) < ALIKE:
        return f"Both are off alike: the coils have {'more' if k > 0 else 'fewer'} turns than planned."
    parts = []
    if abs(k) >= FAR:
        parts.append("stronger magnets or a smaller gap" if k > 0 else
                     "weaker or warm magnets, a wider gap, or a sensor out of place")
    if abs(r) >= FAR:
        parts.append("thin wire, long leads, a bad joint or a warm winding" if r > 0 else "thicker wire or shorter leads")
    return f"That speaks for {', and for '.join(parts)}."
