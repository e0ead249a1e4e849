"""The energies of a ride from its two ends, and the quick ride for those who ride many."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from evlab.loop import LOSSES
from evlab.road import kinetic_energy, lift_energy
from evlab.trust import FINE, Booked

__all__ = ["KEYS", "Sketch", "ledger_of", "quickest"]

KEYS = ("store", "rider", *LOSSES, "lift", "kinetic")


def ledger_of(vehicle: Any, route: Any, first: Any, last: Any) -> dict[str, float]:
    """Energies of a ride [J] from the first and the last whole state of the loop: stored amounts from the states at both ends,
    losses as integrated; uses negative."""
    stored, parameters = vehicle.store.seam[2], vehicle.store.parameters(vehicle.road.air_temperature)
    n, mass = len(vehicle.store.full_state()), vehicle.effective_mass
    held = [stored(np.ascontiguousarray(y[2:2 + n], dtype=float), parameters) for y in (first, last)]
    lost = last[len(last) - len(LOSSES) - 1:] - first[len(first) - len(LOSSES) - 1:]
    heights = route.height(np.array([first[0], last[0]], float))
    made = {"store": float(held[0] - held[1]), "rider": float(lost[-1]),
            **{key: -float(lost[i]) for i, key in enumerate(LOSSES) if key != "converter" or vehicle.converter.kind != "none"},
            "lift": -float(lift_energy(vehicle.mass, heights[1] - heights[0])),
            "kinetic": float(kinetic_energy(mass, float(first[1])) - kinetic_energy(mass, float(last[1])))}
    return {key: made[key] for key in KEYS if key in made}


def quickest(vehicle: Any) -> tuple[str, float]:
    """What in a vehicle answers fastest to its motion, and the time constant [s] with which it does: the field to blame.

    At the duty limit the motor holds its speed like a damper of (K G/r)^2/R newtons for each metre per second, drags likewise; and
    the store's own farads are charged through the ohms of motor and store.
    """
    v, lever, mass = vehicle, vehicle.gearing.ratio / vehicle.gearing.wheel_radius, vehicle.effective_mass
    ohm = v.motor.resistance + v.controller.bridge_resistance
    rates = {"motor.constant": (v.motor.drive_constant * lever) ** 2 / (ohm * mass),
             "motor.viscous_drag": v.motor.viscous_drag * lever**2 / mass, "road.bearing_drag": v.road.bearing_drag / mass}
    if v.store.kind == "capacitors":
        p = v.store.parameters(v.road.air_temperature)
        rates["store.cell_capacitance"] = 1.0 / (p[0] * (ohm + p[6]))
    field = max(rates, key=lambda name: rates[name])
    return field, 1.0 / rates[field] if rates[field] > 0 else math.inf


@dataclass(frozen=True)
class Sketch(Booked):
    """What a quick ride came to: `outcome` and `ended` as of a ride, `time` [s], the whole `state` of the loop at its end, some
    `rows` of time, state and aux, its `ledger` {key: J}."""

    ended: str
    time: float
    state: Any
    rows: Any
    ledger: dict[str, float]
    step: float = FINE

    @property
    def distance(self) -> float:
        """How far it came [m]."""
        return float(self.state[0])

    @property
    def store_energy(self) -> float:
        """What the store gave [J]."""
        return self.ledger["store"]
