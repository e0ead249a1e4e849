"""What the equations are held against: values printed elsewhere, worked apart, or reached by a second route.

Each module `<source>_<year>.py` holds CHECKS (and may hold ERRATA); `two_routes.py` and its like hold ROUTES: all modules of
this folder are asked for all three.  A printed value is a string, as it stands in its source; the allowance is half of its
last figure unless a sentence says why it is wider.
"""

from __future__ import annotations

import importlib
import pkgutil
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from types import ModuleType
from typing import Any

import evlab
from evlab.equation import EQUATIONS
from evlab.glossary import entry
from evlab.units import registry

KINDS = {
    "printed": "read in a sheet, table, paper or textbook page",
    "library": "computed by a library that knows nothing of this package",
    "worked": "closed form or arithmetic, worked apart from this package",
}


@dataclass(frozen=True)
class Check:
    """One printed value and the equation that has to give it.

    `inputs` are SI floats (see `si_of`); with `unknown` the equation is solved for that input; `work` computes the value
    in the printed unit where more than one equation is needed, and `also` names the others.  Rows with the same `table`
    count once.  `allowance` is in the printed unit and, when wider than half of the last figure, has a sentence in `why`.
    """

    equation: str
    printed: str
    unit: str
    source: str
    place: str
    inputs: Mapping[str, float] = field(default_factory=dict)
    unknown: str = ""
    work: Callable[[], float] | None = None
    also: tuple[str, ...] = ()
    kind: str = "printed"
    table: str = ""
    allowance: float | None = None
    why: str = ""

    @property
    def value(self) -> float:
        return float(self.printed)

    @property
    def half(self) -> float:
        """Half of the last printed figure."""
        exponent = Decimal(self.printed).as_tuple().exponent
        assert isinstance(exponent, int)
        return float(Decimal(5).scaleb(exponent - 1))

    @property
    def allowed(self) -> float:
        return self.half if self.allowance is None else self.allowance

    def computed(self) -> float:
        """The value in the printed unit."""
        if self.work:
            return float(self.work())
        equation = EQUATIONS[self.equation]
        if self.unknown:
            return shown(equation.solve_for(self.unknown, **self.inputs), self.unknown, self.unit)
        return shown(equation(**self.inputs), equation.left, self.unit)

    def share(self) -> float:
        """Share of the allowance that is used; above 1 the check fails."""
        return abs(self.computed() - self.value) / self.allowed


@dataclass(frozen=True)
class Route:
    """A second, independent way to the number of an equation: `other` takes the same inputs; `within` is relative."""

    equation: str
    words: str
    inputs: Mapping[str, float]
    other: Callable[..., float]
    within: float = 1e-9
    why: str = ""

    def values(self) -> tuple[float, float]:
        """By the equation, and by the other route."""
        return float(EQUATIONS[self.equation](**self.inputs)), float(self.other(**self.inputs))


@dataclass(frozen=True)
class Erratum:
    """Where a source contradicts itself or another one: what is printed, and what was done about it."""

    place: str
    printed: str
    words: str


def si_of(value: float, unit: str) -> float:
    """A number in a unit as pint reads it, as an SI float (pint's own conversion, not the package's grammar)."""
    return float(registry().Quantity(value, unit).to_base_units().magnitude)


def shown(value: float, name: str, unit: str) -> float:
    """An SI float of the glossary's quantity `name`, in another unit."""
    return float(registry().Quantity(float(value), entry(name).unit or "dimensionless").to(unit or "dimensionless").magnitude)


def stages() -> list[str]:
    """The modules of the package that declare equations, found by their text, so that a new stage is not forgotten."""
    here = Path(evlab.__file__).parent
    return sorted(p.stem for p in here.glob("*.py") if re.search(r"^\w+ = Equation\(", p.read_text(encoding="utf-8"), re.M))


def load_stages() -> None:
    """Import every stage, so that EQUATIONS is complete."""
    for name in stages():
        importlib.import_module(f"evlab.{name}")


def _modules() -> list[ModuleType]:
    return [importlib.import_module(f"{__name__}.{m.name}") for m in pkgutil.iter_modules(__path__)]


def _all(name: str) -> list[Any]:
    return [row for module in _modules() for row in getattr(module, name, [])]


def checks() -> list[Check]:
    load_stages()
    return _all("CHECKS")


def routes() -> list[Route]:
    load_stages()
    return _all("ROUTES")


def errata() -> list[Erratum]:
    return _all("ERRATA")
