"""Whether a result may be believed: its energy ledger closes, or it says that no number of it is to be trusted."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from evlab.look import fixed

__all__ = ["FINE", "TOO_MANY", "UNTRUSTED", "Booked", "allowance", "doubt"]

UNTRUSTED = "not to be trusted"  # the outcome of a ride, charge or day whose ledger does not close
TOO_MANY = "too many steps"  # what the loop says of a ride that needs more than its budget
FINE = 0.02  # s: steps of a ride that is shown


def allowance(ledger: Mapping[str, float], step: float = FINE) -> float:
    """How many joules of a ledger may be missing: a share of all that was given, and some; more where the steps [s] are long."""
    share, joules = (1e-6, 0.02) if step <= FINE else (2e-4, 0.2)
    return share * sum(v for v in ledger.values() if v > 0) + joules


class Booked:
    """A result with an energy ledger {key: J}, which says itself how far it may be believed.

    `ended`: how it ended, whether its ledger closes or not; `step` [s], of its calculation.
    """

    ended: str
    step: float = FINE

    if TYPE_CHECKING:  # a field in some of those who take this in, worked out in others

        @property
        def ledger(self) -> dict[str, float]: ...

    @property
    def closure(self) -> float:
        """Sum of the ledger [J]: zero if every joule is accounted for."""
        return math.fsum(self.ledger.values())

    @property
    def closure_allowed(self) -> float:
        """A millionth of what was given, and 0.02 J [J]; in steps above 20 ms two in ten thousand, and 0.2 J."""
        return allowance(self.ledger, self.step)

    @property
    def outcome(self) -> str:
        """How it ended; "not to be trusted" where its ledger does not close."""
        closes = abs(self.closure) <= self.closure_allowed  # false for what is no number
        return self.ended if closes and self.ended != TOO_MANY else UNTRUSTED

    @property
    def trusted(self) -> bool:
        """Whether its ledger closes."""
        return self.outcome != UNTRUSTED


def doubt(kind: str, made: Booked) -> str:
    """Two sentences: that the ledger of this `kind` ("ride", "charge", "day") does not close, by how much, and what follows."""
    missing = f"{fixed(abs(made.closure), 3)} J are missing" if made.closure == made.closure else "its energies are no numbers"
    return (f"The energy ledger of this {kind} does not close: {missing}, and only {fixed(made.closure_allowed, 3)} J may be. "
            f"Do not trust any number of this {kind} (it seemed to end with: {made.ended}).")
