"""What a caution is, and what several of the rules ask."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

__all__ = ["STAND", "STATES", "THROWS", "UNMEASURED", "Caution", "Rule", "by_change", "cell_limits", "gravest", "no_braking"]

STATES = ("danger", "caution", "note")
UNMEASURED = "not measured"  # the fold of what is only assumed


@dataclass(frozen=True)
class Caution:
    """A warning: `state` ("danger", "caution", "note"), `words` to a maker, `source`, and the glossary `field` it is about.

    `fold` is the short name of a hazard that is true whatever the controls say ("short circuit"): it stands folded, in one
    place on each page, and does not count as something that this case does wrong.  UNMEASURED has a fold of its own.
    """

    state: str
    words: str
    source: str
    field: str = ""
    fold: str = ""


Rule = Callable[[Any], Iterator[Caution]]
# A wheel that turns off the ground (common practice, no source).
STAND = ("a firm stand on level ground that cannot tip, fingers, hair and laces away from spokes and chain, nobody beside the "
         "wheel, somebody at the switch, slowly first")
THROWS = 20.0  # J of a turning rotor that a bystander must not meet (our own)
BOARD = 0.05  # V above full at which a protection board switches a lithium cell off (common practice)


def gravest(cautions: Iterable[Any]) -> str:
    """The gravest state among those that are about the case: "danger", "caution", or "ok"."""
    states = {c.state for c in cautions if not getattr(c, "fold", "")}
    return next((s for s in STATES[:2] if s in states), "ok")


def by_change(now: Iterable[Any], before: Iterable[Any] | None) -> list[Any]:
    """Cautions in the order to read them: dangers and cautions that came up or got worse since `before` stand first.

    After that the gravest first, and among equal ones those whose numbers have changed.  Without `before`: the gravest first.
    """
    there, once = list(now), list(before) if before is not None else None
    if once is None:
        return sorted(there, key=lambda c: STATES.index(c.state))
    known, still, words = {_kind(c) for c in once}, {_kind(c) for c in there}, {c.words for c in once}

    def milder(c: Any) -> bool:
        """It stands in the place of a graver one that is gone."""
        return any(_about(b) == _about(c) != "" and STATES.index(b.state) < STATES.index(c.state) and _kind(b) not in still
                   for b in once)

    def place(c: Any) -> tuple[bool, int, bool]:
        came = c.state != "note" and _kind(c) not in known and not milder(c)
        return not came, STATES.index(c.state), c.words in words

    return sorted(there, key=place)


def _about(c: Any) -> str:
    return str(getattr(c, "field", ""))


def _kind(c: Any) -> tuple[str, str, str]:
    """What a caution says, whatever its numbers."""
    return c.state, _about(c), re.sub(r"[0-9][0-9.]* ?k?", "", c.words)


def no_braking(vehicle: Any) -> tuple[str, str]:
    """Why the motor never brakes, and the field to blame; two empty texts where it does."""
    if vehicle.gearing.freewheel:
        return "With a freewheel", "gearing.freewheel"
    if not getattr(vehicle.converter, "both_ways", True):
        return "Behind a converter that works one way", "converter.both_ways"
    if vehicle.controller.braking_current_limit == 0:
        return "With a braking limit of 0 A", "controller.braking_current_limit"
    return "", ""


def cell_limits(store: Any) -> tuple[float, float, str]:
    """Volts of one cell: what is allowed for long, what begins to harm it, and the key of the source."""
    if store.kind == "capacitors":
        return store.cell_rated_voltage, store.cell_surge_voltage, "edlc-sheet-3000F"
    full = store.charge_voltage / store.cells_in_series
    return full, full + BOARD, "lithium-charging"
