"""What would have saved a ride: for each main quantity the nearest single change with which it arrives, found on the ride itself.

For a ride that arrived, the same search says how far each quantity may go the wrong way before it does not.
"""

from __future__ import annotations

import html
import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from evlab.exploring import STEP
from evlab.glossary import Entry, entry, nearest
from evlab.lithium import CELL_VOLTS
from evlab.look import setting
from evlab.riding import Journey, Result
from evlab.trust import UNTRUSTED
from evlab.units import InputError, made_by, read, to_shown, told

__all__ = ["MAIN", "Change", "Changes", "nearest_changes"]

START, WIND = "start", "head_wind"  # of the day, in no vehicle file
MAIN = (START, "store.charge_voltage", "store.cell_capacitance", "load.cargo", "road.rolling_coefficient", "road.drag_area", WIND,
        "gearing.wheel_teeth", "controller.coil_current_limit", "controller.stop_voltage", "driver.pace", "driver.pedalling_power")
WINDS = (-8.0, 12.0)  # m/s: a push that nobody counts on, to a strong breeze
LOOKS = (1 / 16, 1 / 8, 1 / 4, 1 / 2, 3 / 4, 1.0)  # shares of the way to the end of a range at which it is tried
FINE = 1 / 500  # of the range: so closely a border is found
LONG = 900.0  # s: a longer ride is tried in steps of 0.2 s


@dataclass(frozen=True)
class Change:
    """One quantity: `name`, `label` and `unit` as pages show it; `before` and `after` [SI; not a number: nothing in its range
    does]; the range that was searched, `low` to `high` [SI]; `best` [m], how far it comes at most if nothing saves it; `words`."""

    name: str
    label: str
    unit: str
    before: float
    after: float
    low: float
    high: float
    best: float
    words: str

    @property
    def saves(self) -> bool:
        """Whether some value in the range turns the outcome."""
        return self.after == self.after

    def shown(self, value: float) -> float:
        """An SI value of this quantity in its unit."""
        return to_shown(value, _entry(self.name))


def nearest_changes(result: Any, names: Any = None) -> Changes:
    """The nearest single change in each main quantity with which a ride would have arrived (or, if it did, would not have).

    Parameters: `result`, of evlab.ride; `names`, some quantities (a text or several): fields of the vehicle file, "start" (volts)
    or "head_wind", by default the main ones that this ride feels.
    Each quantity is tried on both sides over the glossary's range, and the border then halved to a five-hundredth of it.  An
    island of arrivals narrower than a sixteenth of the range can be missed.
    Returns Changes.  Raises InputError in words for a quantity that there is not.
    """
    made_by("result of nearest_changes", result, "end_state", "evlab.ride()")
    if not isinstance(result, Result):
        raise InputError("Input result of nearest_changes must be one ride, made by evlab.ride(); instead received "
                         f"{told(result)}.")
    if result.outcome == UNTRUSTED:
        return Changes(result, ())
    search = _Search(result)
    given = names if names is None or (isinstance(names, Iterable) and not isinstance(names, str)) else [names]
    wanted = [n for n in MAIN if search.feels(n)] if given is None else [str(n) for n in given]
    for name in wanted:
        if not search.feels(name):
            there = (START, WIND, *result.vehicle.values())
            raise InputError(f"Input names of nearest_changes must be numbers that this ride feels, such as {MAIN[3]!r}; instead "
                             f"received {told(name)}.{nearest(name, there) if name not in there else ''}")
    rows = tuple(search.row(name) for name in wanted)
    return Changes(result, rows, search.untrusted)


class Changes:
    """What would have turned a ride: `result`, and a Change for each quantity in `rows`; `untrusted`, how many of the rides that
    were tried do not count, since their energy ledgers do not close."""

    def __init__(self, result: Result, rows: tuple[Change, ...], untrusted: int = 0) -> None:
        self.result, self.rows, self.untrusted = result, rows, untrusted

    @property
    def arrived(self) -> bool:
        return self.result.outcome == "arrived"

    @property
    def saving(self) -> list[Change]:
        """Those that turn the outcome, the smallest share of its range first."""
        return sorted((r for r in self.rows if r.saves), key=lambda r: abs(r.after - r.before) / (r.high - r.low))

    @property
    def useless(self) -> list[Change]:
        """Those that do not, whatever their value."""
        return [r for r in self.rows if not r.saves]

    @property
    def reason(self) -> str:
        """One sentence: the nearest ones, and what cannot do it; a second one where rides that were tried do not count."""
        if self.result.outcome == UNTRUSTED:
            return "What would have saved it cannot be said, since the ride itself is not to be trusted."
        left_out = (f" Of the rides tried, {self.untrusted} are not counted: their energy ledgers do not close."
                    if self.untrusted else "")
        return self._nearest() + left_out

    def _nearest(self) -> str:
        first = "; ".join(r.words for r in self.saving[:3])
        if self.arrived:
            return f"It arrives; it would no longer do so with: {first}." if first else ("It arrives, whatever one of these is "
                                                                                         "changed to.")
        others = ", ".join(_lower(r.label) for r in self.useless)
        no = f" No change of {others} alone saves it." if others else ""
        return f"It would have arrived with: {first}.{no}" if first else f"No single change saves it: not {others}."

    def _repr_html_(self) -> str:
        head = "would stop it" if self.arrived else "would have saved it"
        rows = "".join("<tr><th scope=row "
                       f"style='text-align:left'>{html.escape(r.label)}</th><td>{html.escape(_say(r, r.before))}</td>"
                       f"<td>{html.escape(_say(r, r.after) if r.saves else '–')}</td>"
                       f"<td style='text-align:left'>{html.escape(r.words)}</td></tr>" for r in (*self.saving, *self.useless))
        return (f"<p>{html.escape(self.result.reason)}</p><table><tr><th scope=col>one change</th><th scope=col>now</th>"
                f"<th scope=col>{head}</th><th scope=col></th></tr>{rows}</table>")

    def __repr__(self) -> str:
        return f"<{self.reason}>"


# ---------------------------------------------------------------- the search
class _Begun:
    """A store and a winding from which a ride begins."""

    def __init__(self, store: Any, winding: Any) -> None:
        self.store, self.winding = store, winding

    def end_state(self, kind: str) -> tuple[Any, Any]:
        return self.store, self.winding


class _Search:
    """Rides like this one with one quantity changed."""

    def __init__(self, result: Result) -> None:
        self.untrusted = 0
        self.result, self.vehicle = result, result.vehicle
        self.step = STEP if result.route.posted_time() < LONG else 2 * STEP

    @cached_property
    def charged(self) -> bool:
        """Whether it began full, and with a winding as warm as the air."""
        v, r = self.vehicle, self.result
        cool = abs(float(r.column("coil_temperature")[0]) - v.road.air_temperature) < 1e-6
        return cool and bool(abs(r._start - v.store.full_state()).max() < 1e-9)

    def feels(self, name: str) -> bool:
        """Whether this ride has such a quantity that can be varied."""
        store = self.vehicle.store
        if name == START:
            return store.kind != "supply" and not self.charged
        if name == WIND:
            return isinstance(self.result.wind, float | int)
        values = self.vehicle.values()
        if name not in values or entry(name).low is None or not isinstance(values[name].value, float | int):
            return False
        if name == "store.charge_voltage" and not self.charged:
            return False
        return not name.startswith("driver.") or self.result.driver is self.vehicle.driver

    def range(self, name: str) -> tuple[float, float, float]:
        """(present, lowest, highest) of a quantity [SI]."""
        store = self.vehicle.store
        if name == START:
            now, least = float(self.result.start_voltage), self.vehicle.converter.stops_at(self.vehicle.controller.stop_voltage)
            return now, min(now, least), max(store.full_voltage, now)
        if name == WIND:
            now = float(self.result.wind)  # type: ignore[arg-type]  # feels() has seen that it is a number
            return now, min(now, WINDS[0]), max(now, WINDS[1])
        e, now = entry(name), float(self.vehicle.value(name).value)
        low, high = float(e.low or 0.0), float(e.high or 0.0)
        if name == "store.charge_voltage":
            high = store.cells_in_series * (CELL_VOLTS[store.chemistry][2] if store.kind == "lithium" else store.cell_rated_voltage)
        if name == "controller.stop_voltage" and store.kind == "lithium":  # lower would harm the cells
            low = store.cells_in_series * CELL_VOLTS[store.chemistry][0]
        return now, min(now, low), max(now, high)

    def journey(self, name: str, value: float) -> tuple[Journey, Any]:
        """The ride with that quantity at this value, and what it starts from."""
        r, v, wind, start = self.result, self.vehicle, self.result.wind, None
        if name == WIND:
            wind = value
        elif name != START:
            made = {name: int(value) if entry(name).kind == "count" else value}
            if name == "controller.stop_voltage":
                made["controller.resume_voltage"] = max(v.controller.resume_voltage, value)
            v = v.change(made)
        if not self.charged:
            store = v.store.state_at(value) if name == START else r._start
            start = _Begun(store, r.vehicle.motor.state_at(float(r.column("coil_temperature")[0])))
        driver = v.driver if r.driver is self.vehicle.driver else r.driver
        return Journey(v, r.route, wind, driver, None, self.step), start

    def ends(self, name: str, value: float) -> tuple[bool, float] | None:
        """Whether the outcome is the other one at this value, and how far it comes [m]; None for a value that cannot be."""
        try:
            journey, start = self.journey(name, value)
            ridden = journey.sketch(start)
        except InputError:
            return None
        if not ridden.trusted:  # it shows nothing, neither that this value saves nor how far it comes
            self.untrusted += 1
            return False, 0.0
        return (ridden.outcome == "arrived") != (self.result.outcome == "arrived"), ridden.distance

    def row(self, name: str) -> Change:
        """The nearest value that turns the outcome, on either side."""
        now, low, high = self.range(name)
        whole = name not in (START, WIND) and entry(name).kind == "count"
        found, best, reached = [], self.result.distance, []
        for end in (low, high):
            after, far, last = self._towards(name, now, end, FINE * (high - low), whole)
            best = max(best, far)
            reached.append(last)
            found += [after] if after == after else []
        after = _outward(name, now, min(found, key=lambda x: abs(x - now))) if found else math.nan
        return _told(name, now, after, (reached[0], reached[1]), best, self.result)

    def _towards(self, name: str, now: float, end: float, fine: float, whole: bool) -> tuple[float, float, float]:
        """The first value on the way to `end` that turns the outcome (not a number if none), the furthest it came [m], and the
        last value that was ridden: behind it none can be."""
        last, far = now, 0.0
        for share in LOOKS if end != now else ():
            value = now + share * (end - now)
            value = float(round(value)) if whole else value
            if value == last:
                continue
            ended = self.ends(name, value)
            if ended is None:
                break
            far = max(far, ended[1])
            if ended[0]:
                return self._border(name, last, value, 1.0 if whole else fine), far, end
            last = value
        return math.nan, far, last

    def _border(self, name: str, no: float, yes: float, fine: float) -> float:
        """Halving between a value that does not turn it and one that does; the latter side."""
        while abs(yes - no) > fine:
            middle = 0.5 * (no + yes)
            middle = float(math.floor(middle)) if fine == 1.0 else middle
            ended = self.ends(name, middle)
            if ended is not None and ended[0]:
                yes = middle
            else:
                no = middle
        return yes


# ---------------------------------------------------------------- words
def _entry(name: str) -> Entry:
    return entry({START: "store_volts", WIND: "set_speed"}.get(name, name))


def _label(name: str) -> str:
    return {START: "Volts at the start", WIND: "Head wind"}.get(name) or entry(name).label


def _lower(label: str) -> str:
    return label[:1].lower() + label[1:]


def _say(row: Change, value: float) -> str:
    return _value(row.name, value)


def _value(name: str, value: float) -> str:
    """A value in the unit of its pages, three figures."""
    e = _entry(name)
    return setting(float(f"{to_shown(value, e):.3g}"), e.shown)


def _outward(name: str, now: float, after: float) -> float:
    """A border at three figures of its shown unit, away from the present value: what is said is then on its far side, too."""
    e = _entry(name)
    zero = read(f"0 {e.shown}".strip(), e).value
    step = read(f"1 {e.shown}".strip(), e).value - zero
    border = to_shown(after, e)
    if border == 0:
        return after
    unit = 10.0 ** (math.floor(math.log10(abs(border))) - 2)
    turns = math.ceil(border / unit - 1e-9) if after > now else math.floor(border / unit + 1e-9)
    return zero + step * turns * unit


def _told(name: str, now: float, after: float, searched: tuple[float, float], best: float, result: Result) -> Change:
    label, unit = _label(name), _entry(name).shown
    low, high = searched
    if after == after:
        words = f"{_lower(label)} {_value(name, after)} instead of {_value(name, now)}"
    else:
        spread = f"{_value(name, low)} to {_value(name, high)}"
        words = (f"arrives with any {_lower(label)} from {spread}" if result.outcome == "arrived" else
                 f"{_lower(label)} from {spread} cannot: it comes {best:.1f} m of {result.route.length:g} m at most")
    return Change(name, label, unit, now, after, low, high, best, words)
