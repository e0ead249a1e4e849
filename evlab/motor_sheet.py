"""The constants of a motor from a data sheet or a bench: any set of readings that suffices, with their uncertainty.

Every steady reading says the same two things: volts = amps x ohms + K x speed, and K x amps = torque + drag.  All readings are
weighed together by least squares; where there are more than needed they are held against each other.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from evlab import motor
from evlab.glossary import entry
from evlab.motor_readings import (
    Found,
    Reading,
    SpinDown,
    constant_in,
    loaded,
    measured_resistance,
    no_load,
    per_volt,
    spun,
    stall,
    stall_with_scale,
)
from evlab.units import InputError, listed, one_of, told

__all__ = [
    "Found", "Reading", "SheetMotor", "SpinDown", "constant_in", "loaded", "measured_resistance", "no_load", "per_volt", "spun",
    "stall", "stall_with_scale",
]

DOUBT = 9.0  # squared: readings that miss by more than three times their spread contradict each other
_FIELDS = {"constant": "motor_constant", "resistance": "winding_resistance", "drag_torque": "drag_torque",
           "viscous_drag": "viscous_drag"}


@dataclass(frozen=True)
class SheetMotor:
    """Constants of a motor, weighed from readings.

    `kind` "three_phase" or "brushed"; `values`: Found for constant (in `dress`), resistance at 20 °C and, where the readings tell
    it, drag_torque and viscous_drag (0: all drag counts as one); readings without a spread of their own count as good to 1 %;
    `misses`: (what a reading says, by how many of its spreads it misses); `spare`, how many readings there are beyond what is
    needed; `verdict` in words.
    """

    kind: str
    dress: str
    values: dict[str, Found]
    misses: tuple[tuple[str, float], ...]
    spare: int
    verdict: str

    @classmethod
    def of(cls, kind: str, readings: Sequence[Reading], spin_down: SpinDown | None = None) -> SheetMotor:
        """From readings of one motor, which must be enough for constant and resistance.

        Parameters: `kind`; `readings`, any number; `spin_down` for the drag.  Raises InputError in words: too little, or
        impossible.
        """
        one_of("kind of SheetMotor", kind, ("three_phase", "brushed"))
        readings = listed("readings of SheetMotor", readings, "[no_load(...), stall(...)]")
        if spin_down is not None and not isinstance(spin_down, SpinDown):
            raise InputError(f"Input spin_down of SheetMotor must be a SpinDown, or left out; instead received {told(spin_down)}.")
        for i, r in enumerate(readings, 1):
            if not isinstance(r, Reading):
                raise InputError(f"Input readings, number {i}, of SheetMotor must be made by no_load(...), stall(...) or another "
                                 f"reading of motor_readings; instead received {told(r)}.")
            if kind == "brushed" and r.dress not in ("drive", "terminal"):
                raise InputError(f"A brushed motor has only its two terminals: its {r.what} cannot wear the dress {r.dress!r}.")
            if kind == "three_phase" and r.dress == "terminal":
                raise InputError(f"A motor with three phases has no two terminals: say which volts the {r.what} gave, one of "
                                 + ", ".join(motor.DRESSES[:-1]) + ".")
        _possible(readings)
        best, spreads, misses = _Fit(tuple(readings), spin_down).solved()
        words = f"from {len(readings)} readings" + ("" if spin_down is None else " and a spin-down")
        told_of = zip(_FIELDS.items(), best.tolist(), spreads.tolist(), strict=False)
        found = {f: Found(n, max(v, 0.0), s, words) for (f, n), v, s in told_of if math.isfinite(s)}
        spare = len(misses) - len(found)
        if "drag_torque" in found:
            lumped = Found("viscous_drag", 0.0, 0.0, "not told by these readings: all drag counts as one")
            found.setdefault("viscous_drag", lumped)
        return cls(kind, "terminal" if kind == "brushed" else "six-step mean", found, misses, spare, _verdict(misses, spare))

    @property
    def contradicts(self) -> bool:
        """Whether readings miss each other by more than three of their spreads."""
        return bool(self.spare) and max(m * m for _, m in self.misses) > DOUBT

    def texts(self) -> dict[str, str]:
        """The fields of [motor] as a vehicle file takes them."""
        return {"kind": self.kind, "dress": self.dress} | {f: str(v) for f, v in self.values.items()}

    def dresses(self) -> dict[str, Found]:
        """The constant in every dress that such a motor has."""
        k, names = self.values["constant"], motor.DRESSES[-1:] if self.kind == "brushed" else motor.DRESSES[:-1]
        return {d: Found(k.name, k.value * constant_in(d), k.spread * constant_in(d), k.words) for d in names}

    def told(self) -> str:
        """Constants and verdict in words."""
        v = self.values
        drag = (f"drag {v['drag_torque']} and {v['viscous_drag']}" if "drag_torque" in v else
                "drag not told: it takes a no-load reading with amps, or a spin-down")
        return f"K {v['constant']} ({self.dress}), R {v['resistance']} at 20 °C, {drag}. {self.verdict}"


def _possible(readings: Sequence[Reading]) -> None:
    """Refuses sets that no motor can give, before anything is solved."""
    free = [r for r in readings if r.what == "no-load reading" and r.amps]
    for held in readings:
        if not (held.what.startswith("stall") and held.amps and held.volts and held.dress == "drive"):
            continue
        most = max((r.amps[0] for r in free if r.volts and r.amps and r.volts[0] <= held.volts[0]), default=0.0)
        if held.amps[0] <= most:
            raise InputError(f"The stall takes {held.amps[0]:.4g} A, the motor without load {most:.4g} A: held still it must take "
                             "far more. Are the two mixed up, or did a limit hold the stall current?")
    ohms = min((r.volts[0] / r.amps[0] for r in readings if r.what.startswith("stall") and r.amps and r.volts), default=0.0)
    for r in readings:
        if r.what == "no-load reading" and r.amps and r.volts and r.amps[0] * ohms >= r.volts[0]:
            raise InputError(f"The motor without load takes {r.amps[0]:.4g} A; through the {1e3 * ohms:.4g} mΩ of the stall they "
                             f"are {r.amps[0] * ohms:.3g} V, and of its {r.volts[0]:.4g} V nothing is left for turning. Are both "
                             "of the same motor?")


def _verdict(misses: Sequence[tuple[str, float]], spare: int) -> str:
    worst = max((abs(m) for _, m in misses), default=0.0)
    if not spare:
        return "No reading to spare: nothing here checks them against each other."
    many = f"{spare} reading{'s' if spare > 1 else ''} more than needed"
    if worst * worst <= DOUBT:
        return f"{many}, and they agree: none misses by more than {worst:.1f} times its spread."
    name, miss = max(misses, key=lambda m: abs(m[1]))
    return (f"{many}, and they contradict each other: the {name} misses by {abs(miss):.1f} times its spread. One of them is wrong, "
            "or taken at another temperature, voltage or dress; the spreads are widened by what they miss.")


class _Fit:
    """Least squares over constant, resistance, drag and, where it can be told, viscous drag."""

    def __init__(self, readings: tuple[Reading, ...], spin_down: SpinDown | None) -> None:
        self.readings, self.spin = readings, spin_down
        self.held = 0.0  # friction of a rotor at rest may point either way: its size, once known

    def rows(self, x: Any) -> tuple[list[str], Any]:
        """What each reading says, and its misses in spreads.  x: K, R20, T0 and c or without c."""
        k, ohm, t0, c = float(x[0]), float(x[1]), float(x[2]), float(x[3]) if len(x) > 3 else 0.0
        names, misses = [], []
        for r in self.readings:
            for name, miss, spread in self._of(r, k, ohm, t0, c):
                names.append(name)
                misses.append(miss / spread)
        if self.spin:
            for found, value in zip((self.spin.drag_torque, self.spin.viscous_drag), (t0, c), strict=True):
                names.append(f"spin-down's {entry(found.name).meaning}")
                misses.append((value - found.value) / max(found.spread, 1e-12))
        return names, np.array(misses)

    def _of(self, r: Reading, k: float, ohm: float, t0: float, c: float) -> Any:
        g = constant_in(r.dress) * k
        warm = ohm * r.warmth
        w, dw = r.speed or (0.0, 0.0)
        drag = t0 + c * w if r.turns else 0.0
        amps, di = r.amps or (0.0, 0.0)
        if r.amps is None and r.torque:
            amps, di = (r.torque[0] + drag) / g, r.torque[1] / g
        if r.volts:
            spread = math.sqrt(r.volts[1]**2 + (warm * di)**2 + (g * dw)**2)
            yield f"volts of the {r.what}", warm * amps + g * w - r.volts[0], spread or 1e-9 * r.volts[0]
        if r.amps and r.torque:
            held = 0.0 if r.turns else self.held
            spread = math.sqrt(r.torque[1]**2 + (g * di)**2 + held**2 + (c * dw)**2)
            yield f"torque of the {r.what}", g * amps - drag - r.torque[0], spread or 1e-9

    def misses(self, x: Any) -> Any:
        """The misses alone, in spreads."""
        return self.rows(x)[1]

    def solved(self) -> tuple[Any, Any, tuple[tuple[str, float], ...]]:
        """Values, spreads and misses; refuses in words what is too little or cannot be."""
        from scipy.optimize import least_squares

        speeds = {r.speed[0] for r in self.readings if r.turns and r.speed and r.torque}
        scale = self._scales(max(speeds, default=100.0))
        size, start = (4 if self.spin or len(speeds) > 1 else 3), scale * np.array([1.0, 1.0, 0.3, 0.0])
        lowest = np.array([1e-12, 1e-12, -np.inf, -np.inf])
        while True:
            for _ in range(2):  # the second time it is known how large the friction at rest may be
                fit = least_squares(self.misses, start[:size], x_scale=scale[:size], xtol=1e-15, ftol=1e-15, gtol=1e-15,
                                    bounds=(lowest[:size], np.inf), max_nfev=400)
                self.held = abs(float(fit.x[2])) if self.spin or speeds else 0.0
            jac = fit.jac * scale[:size]
            if size == 3 or self.spin or self._grows(fit.x, jac, scale):
                return self._judged(fit.x, jac, scale[:size])
            size = 3  # drag that grows with speed cannot be told: all drag counts as one

    @staticmethod
    def _grows(x: Any, jac: Any, scale: Any) -> bool:
        """Whether drag that grows with speed comes out larger than its spread."""
        whole = jac.T @ jac
        return bool(np.linalg.cond(whole) < 1e14 and x[3] > scale[3] * math.sqrt(np.linalg.inv(whole)[3, 3]))

    def _judged(self, x: Any, jac: Any, scale: Any) -> tuple[Any, Any, tuple[tuple[str, float], ...]]:
        """Values with their spreads (infinite: not told), and the misses."""
        names, misses = self.rows(x)
        used = np.abs(jac).max(axis=0, initial=0.0) > 1e-9 * np.abs(jac).max(initial=1e-300)
        if not used[0] or not used[1] or np.linalg.matrix_rank(jac[:, used], tol=1e-7 * np.linalg.norm(jac)) < used.sum():
            raise InputError(_lacking(self.readings, bool(used[0]), bool(used[1])))
        spreads = np.full(len(x), np.inf)
        spare = len(misses) - int(used.sum())
        wider = max(1.0, float(misses @ misses) / spare) if spare else 1.0
        spreads[used] = np.sqrt(np.diag(np.linalg.inv(jac[:, used].T @ jac[:, used])) * wider) * scale[used]
        for name, value, low in (("constant", x[0], 1e-9), ("resistance", x[1], 1e-9), ("drag torque", x[2], -3 * spreads[2])):
            if value < low:
                raise InputError(f"These readings ask for a {name} below zero: no motor has that. Are volts, amps and rpm of "
                                 "the same motor, and the rpm not of another voltage?")
        return x, spreads, tuple(zip(names, misses.tolist(), strict=True))

    def _scales(self, speed: float) -> Any:
        """Sizes of K, R, T0 and c to begin from."""
        volts = [r.volts[0] / (r.speed[0] * constant_in(r.dress)) for r in self.readings if r.turns and r.volts and r.speed]
        pulls = [r.torque[0] / r.amps[0] / constant_in(r.dress) for r in self.readings if r.torque and r.amps and r.torque[0]]
        k = float(np.median(volts or pulls or [0.1]))
        still = [r.volts[0] / r.amps[0] for r in self.readings if not r.turns and r.volts and r.amps]
        held = [r.volts[0] * k / r.torque[0] for r in self.readings if not r.turns and r.volts and r.torque and not r.amps]
        amps = [r.amps[0] for r in self.readings if r.amps and r.amps[0]]
        ohm = float(np.median(still or held or [0.1 * r.volts[0] / max(amps or [10.0]) for r in self.readings if r.volts] or [0.1]))
        drag = k * min(amps or [0.1 * k / ohm])
        return np.array([k, ohm, drag, drag / speed])


def _lacking(readings: Sequence[Reading], constant: bool, resistance: bool) -> str:
    had = ", ".join(sorted({r.what for r in readings})) or "nothing"
    if not readings:
        return ("Input readings of SheetMotor must hold at least one reading, such as no_load(...) and stall(...); instead "
                "received none.")
    if not constant:
        return f"The constant cannot be told from {had}: add a no-load reading, a spinning test, or a stall with its torque."
    if not resistance:
        return f"The resistance cannot be told from {had}: add a stall with volts and amps, a resistance test, or a loaded reading."
    return (f"From {had} too little can be told: there are more unknowns (constant, resistance, drag) than readings that differ. "
            "Add the amps of one of them, a resistance test, or a reading at quite another current.")
