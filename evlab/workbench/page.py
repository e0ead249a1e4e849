"""What a page is made of, as plain descriptions: controls, model, pictures, numbers.  The workbench knows nothing else."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

from evlab.look import Build
from evlab.vehicle import load_vehicle

__all__ = ["TRIKE", "Case", "Day", "Knob", "Page", "Picture", "Readout", "trike"]

Day: TypeAlias = Mapping[str, Any]
TRIKE = "the two-shed trike (invented)"


def trike(vehicle: Any) -> Any:
    """The vehicle that stands in for one that a page refuses."""
    return load_vehicle("two_shed_trike")


@dataclass(frozen=True)
class Case:
    """What the present controls of a page come to: vehicle, values of the day, result."""

    vehicle: Any
    day: Day
    result: Any


@dataclass(frozen=True)
class Knob:
    """One control.

    `name` is a field of the vehicle file ("gearing.wheel_teeth"), of which the glossary tells label, unit, range and
    why; or, when `start` is given, a value of the day that no file keeps, with `quantity`, the glossary's name for its
    unit.  `group` is the head it stands under.  What else is given here takes the place of the glossary's: `low`, `high`
    and `start` in SI, `unit` a spelling, `why` the reason of the range.  `step` is in the shown unit; `log` spaces the
    slider by factors.  `also` reads a text the unit's grammar does not, given the vehicle: it returns SI, or None.
    `within` gives (low, high) as far as the vehicle's other values leave them.  With `when`, the control is out of sight while
    `when(values)`, of all controls by name, is false: it would change nothing.
    """

    name: str
    group: str
    start: Any = None
    quantity: str = ""
    label: str = ""
    place: str = ""
    unit: str | None = None
    low: float | None = None
    high: float | None = None
    step: float | None = None
    log: bool = False
    why: str = ""
    meaning: str = ""
    also: Callable[[str, Any], float | None] | None = None
    none: str = ""  # what a value of 0 is called, and may be typed as
    within: Callable[[Any], tuple[float, float]] | None = None
    when: Callable[[Day], bool] | None = None


@dataclass(frozen=True)
class Readout:
    """One row of the numbers: `read` takes it from a result, in SI; `factor` and `offset` bring it to `unit`.

    `model` is the share by which the model itself may be off; it goes into the ± when there is one.  `whole`: it is a count.
    """

    label: str
    unit: str
    read: Callable[[Any], float]
    factor: float = 1.0
    offset: float = 0.0
    model: float = 0.0
    whole: bool = False

    def shown(self, result: Any) -> float:
        """The value in the unit of the page."""
        return self.factor * self.read(result) + self.offset


@dataclass(frozen=True)
class Picture:
    """One picture: its title, and `build`, which makes it for a frame (what the axes cover).

    `knobs` names the controls that matter to it: the others are out of sight while it is on view, so that no slider on view
    changes nothing.  `readouts` are the numbers that go with it.  Left out: all knobs, and the page's numbers.  With `widens`
    false no result leaves its axes, so the page's `widen`, which may have to work something out, waits until the controls rest.
    A `costly` one is drawn only while it is on view, and then when a slider is let go.
    """

    title: str
    build: Callable[[Any], Build]
    knobs: tuple[str, ...] = ()
    readouts: tuple[Readout, ...] = ()
    widens: bool = True
    costly: bool = False


@dataclass(frozen=True)
class Page:
    """A whole page.

    `model(vehicle, day)` gives a result; `day` holds the values of the day by name.  `frame(vehicle)` says what axes
    cover, and `widen(frame, result)` gives the same frame while the result lies inside, else a wider one.
    `outcome(result)` is (state, word) for the head of the numbers, `cautions(result)` a list with .state .words .source,
    `tell(result)` what there is to say under the reading ("" for nothing).  A result may compute each of its pieces when
    it is first asked: the picture on view is paid at once, the others at rest.  `tables` names the tables of the vehicle
    file that the model reads (left out: all): the spreads of the others are in no ±.  `stand_in(vehicle)` gives a vehicle that can
    surely be shown: the pictures show it, named by `stands`, where the learner's own is refused, until a control has mended that.
    """

    name: str
    case: str
    knobs: tuple[Knob, ...]
    model: Callable[[Any, Day], Any]
    pictures: tuple[Picture, ...]
    readouts: tuple[Readout, ...]
    outcome: Callable[[Any], tuple[str, str]]
    cautions: Callable[[Any], list[Any]]
    tell: Callable[[Any], str] = lambda result: ""
    frame: Callable[[Any], Any] = lambda vehicle: None
    widen: Callable[[Any, Any], Any] = lambda frame, result: frame
    tables: tuple[str, ...] = ()
    follow: Callable[[Any], Any] = lambda vehicle: vehicle
    stand_in: Callable[[Any], Any] = trike
    stands: str = TRIKE

    def numbers_of(self, index: int) -> tuple[Readout, ...]:
        """The numbers beside a picture."""
        return self.pictures[index].readouts or self.readouts

    def matters(self, knob: str, index: int) -> bool:
        """Whether a control changes a picture."""
        return not self.pictures[index].knobs or knob in self.pictures[index].knobs
