"""The star of coils: in which phase each coil belongs, which way round it is joined, and how well the coils of a phase add up.

A coil meets the magnets by its electrical angle: its place round the machine times the pairs of poles.  Coils whose angles lie
within one belt make a phase; a coil that lies opposite to a belt belongs to it too, joined the other way round.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from evlab.units import InputError, told

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["CoilPlace", "CoilStar"]

MOST, LETTERS = 360, "ABC"
APART = {1: 180, 2: 90, 3: 120}  # degrees from one phase to the next


@dataclass(frozen=True)
class CoilPlace:
    """One coil: its `number` from 1 round the machine, the letter of its `phase`, whether it is `reversed` (its finish comes
    first in the chain of the phase), and its angles in degrees: `mechanical` round the shaft, `electrical` from 0 to below 360."""

    number: int
    phase: str
    reversed: bool
    mechanical: float
    electrical: float

    @property
    def polarity(self) -> str:
        return "finish first" if self.reversed else "start first"

    @property
    def phasor(self) -> complex:
        """Unit phasor of the coil as it is joined."""
        return complex(np.exp(1j * math.radians(self.electrical))) * (-1 if self.reversed else 1)


@dataclass(frozen=True)
class CoilStar:
    """Coils evenly round the machine, all wound the same way, over magnets of alternating poles; `places`, one for each coil."""

    coils: int
    poles: int
    phases: int
    places: tuple[CoilPlace, ...]

    @classmethod
    def of(cls, coils: int, poles: int, phases: int = 3) -> CoilStar:
        """The star of so many coils over so many magnets.

        Parameters: `coils`, 1 to 360; `poles`, magnets of one rotor, even, 2 to 360; `phases`, 1, 2 or 3.  Raises InputError in
        words, with the numbers of coils that work, where the phases come out unequal or not evenly apart, or where the coils of a
        single phase cancel.  Source: star of phasors (common textbook matter).
        """
        _whole(coils, "coils", "a whole number of coils", 1)
        _whole(poles, "poles", "an even number of magnets, since north and south take turns,", 2)
        if type(phases) is not int or phases not in APART:
            raise InputError(f"Input phases of CoilStar must be 1, 2 or 3; instead received {told(phases)}.")
        if reason := _wrong(coils, poles, phases):
            raise InputError(f"Input coils of CoilStar must suit {poles} magnets and {_phases(phases)}; instead received {coils}: "
                             f"{reason}. {_others(coils, poles, phases)}")
        return cls(coils, poles, phases, tuple(_places(coils, poles, phases)))

    # ------------------------------------------------------------ how they add up
    @cached_property
    def phasors(self) -> dict[str, Any]:
        """Unit phasors of the coils of each phase as they are joined: letter -> complex array, in the order of the chain."""
        return {letter: np.array([p.phasor for p in self.chain(letter)]) for letter in LETTERS[:self.phases]}

    @property
    def sums(self) -> Any:
        """Sum of the phasors of each phase over the number of its coils, complex, shape (phases,)."""
        return np.array([phasors.mean() for phasors in self.phasors.values()])

    @property
    def distribution_factor(self) -> float:
        """Sum of the phasors of one phase over the sum of their lengths, 0 to 1."""
        return float(abs(self.sums[0]))

    def factor_of(self, order: int) -> float:
        """The same for a harmonic, with its sign against the fundamental's crest.

        Parameters: `order`, odd: a coil that is turned round turns all odd harmonics round.
        """
        crest = float(np.angle(self.sums[0]))
        turned = [(-1 if p.reversed else 1) * np.exp(1j * order * (math.radians(p.electrical) - crest)) for p in self.chain("A")]
        return float(np.mean(turned).real)

    @property
    def imbalance(self) -> float:
        """How far the phases are from equal and evenly apart: largest deviation over their length; zero for a balanced one."""
        turned = self.sums * np.exp(-1j * np.radians(APART[self.phases]) * np.arange(self.phases))
        return float(abs(turned - turned[0]).max() / abs(turned[0]))

    @property
    def coils_in_series(self) -> int:
        """Coils of one phase, all in one chain."""
        return self.coils // self.phases

    @property
    def directions(self) -> int:
        """How many different directions the phasors of one phase have, as they are joined."""
        distinct = self.coils // self.pairs_repeat
        return (distinct if distinct % 2 else distinct // 2) // self.phases or 1

    # ------------------------------------------------------------ round the machine
    @property
    def pairs_repeat(self) -> int:
        """How often the whole pattern of coils and magnets repeats in one turn."""
        return math.gcd(self.coils, self.poles // 2)

    @property
    def cogging_period(self) -> float:
        """Degrees from one resting place to the next, if there were iron in the coils; without iron nothing cogs."""
        return 360 / math.lcm(self.coils, self.poles)

    @property
    def reversals_per_turn(self) -> int:
        """How often the current of a phase changes its direction in one turn of the rotor: once for each magnet that passes."""
        return self.poles

    def chain(self, letter: str) -> tuple[CoilPlace, ...]:
        """The coils of one phase in the order in which they are joined, round the machine.

        Parameters: `letter`, A, B or C.
        """
        found = tuple(p for p in self.places if p.phase == letter)
        if not found:
            raise InputError(f"Input letter of chain must be one of {', '.join(LETTERS[:self.phases])}; instead received "
                             f"{told(letter)}.")
        return found

    def table(self) -> pd.DataFrame:
        """A row for each coil: its phase, which end comes first, its place in the chain of the phase, and what it is joined to."""
        import pandas as pd

        rows = []
        for letter in LETTERS[:self.phases]:
            chain = self.chain(letter)
            for order, (place, following) in enumerate(zip(chain, (*chain[1:], None), strict=True), 1):
                rows.append((place.number, place.phase, place.polarity, order, _joint(place, following), place.mechanical,
                             place.electrical))
        names = ["coil", "phase", "polarity", "place in the chain", "joined to", "mechanical angle [°]", "electrical angle [°]"]
        return pd.DataFrame(rows, columns=names).sort_values("coil").set_index("coil")


def _joint(place: CoilPlace, following: CoilPlace | None) -> str:
    end = "start" if place.reversed else "finish"
    if following is None:
        return f"its {end} ends the phase"
    return f"its {end} to the {'finish' if following.reversed else 'start'} of coil {following.number}"


def _whole(value: Any, name: str, what: str, least: int) -> None:
    if type(value) is not int or not least <= value <= MOST or (name == "poles" and value % 2):
        raise InputError(f"Input {name} of CoilStar must be {what} from {least} to {MOST}; instead received {told(value)}.")


def _phases(phases: int) -> str:
    return "a single phase" if phases == 1 else f"{phases} phases"


def _places(coils: int, poles: int, phases: int) -> Iterator[CoilPlace]:
    """Angles as exact fractions of a turn: a coil on the edge of a belt must not fall to either side by rounding."""
    wide = Fraction(1, 2 * phases)  # of one belt
    for i in range(coils):
        turn = Fraction(i * poles, 2 * coils) % 1
        belt = math.floor((turn + wide / 2) / wide) % (2 * phases)
        phase, other_way = (belt % phases, belt >= phases) if phases < 3 else (2 * belt % 3, belt % 2 == 1)
        yield CoilPlace(i + 1, LETTERS[phase], other_way, 360 * i / coils, float(360 * turn))


def _wrong(coils: int, poles: int, phases: int) -> str:
    """Why these coils do not make a fair winding; empty where they do."""
    distinct = coils // math.gcd(coils, poles // 2)  # different electrical angles
    if coils % phases:
        return f"they cannot be shared evenly among {phases} phases"
    if phases == 3 and distinct % 3:
        return _clumped(distinct) + ", so no three phases stand 120° apart"
    if phases == 2 and distinct % 4:
        return _clumped(distinct) + ", so no two equal phases stand 90° apart"
    if phases == 1 and distinct > 2:
        lines = distinct if distinct % 2 else distinct // 2  # spread evenly over half a turn
        share = 1 / (lines * math.sin(math.pi / (2 * lines)))
        return f"their volts partly cancel, only {100 * share:.0f} % of their sum is left"
    return ""


def _clumped(distinct: int) -> str:
    if distinct == 1:
        return "all coils meet their magnets at the same moment"
    return f"the coils meet their magnets at {distinct} different moments of a wave"


def _others(coils: int, poles: int, phases: int) -> str:
    """The nearest numbers of coils that work, told as a sentence."""
    fewer = next((n for n in range(min(coils, MOST), 0, -1) if not _wrong(n, poles, phases)), None)
    more = next((n for n in range(coils + 1, MOST + 1) if not _wrong(n, poles, phases)), None)
    near = [str(n) for n in (fewer, more) if n is not None]
    if not near:
        return f"No number of coils up to {MOST} works with so many magnets."
    return f"{' or '.join(near)} coils would do."
