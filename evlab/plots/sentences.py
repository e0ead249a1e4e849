"""The one sentence under a picture, its alt text, and which events are told: words only, no drawing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from evlab.look import BOOK, from_si, number, shown, width

CAUSES = {
    "coil current limit": "the coil current limit holds it back",
    "store current limit": "the store current limit holds it back",
    "duty limit": "the duty limit holds it back",
    "full store": "the full store leaves the braking to the friction brake",
}
ENDS = {
    "cut-off": "is cut off",
    "collapse": "ends by collapse of the store's voltage",
    "stalled": "stalls",
    "rolled back": "ends rolling back",
    "too hot": "ends with the coil too hot",
    "time limit": "runs out of time",
    "not to be trusted": "cannot be trusted, since its energy ledger does not close: it seems to end",
}
#   the lower the number, the sooner an event is told when room is scarce
URGENCY = {
    "coil current limit": 2,
    "store current limit": 2,
    "duty limit": 2,
    "full store": 2,
    "slope begins": 3,
    "stop": 4,
    "braking": 5,
    "friction brake": 5,
    "braking limit": 5,
    "go": 6,
    "slope ends": 6,
}
UNTOLD = ("arrived", "set speed", "throttle", "standstill")  # the axis, the ribbon and what follows say it already
BEGUN = 0.05  # s: what happens sooner is the start itself
Told = list[tuple[float, float, str]]  # distance m, time s, words


def curve(result: Any, name: str) -> Any:
    """A column of the result in the unit it is shown in."""
    return from_si(name, result.column(name))


def duration(seconds: float) -> str:
    """A time in the unit that suits it: '37.4 s', '2.88 h', '31.7 d'."""
    for least, unit, size in ((360e3, "d", 86400.0), (7200.0, "h", 3600.0), (600.0, "min", 60.0)):
        if seconds >= least:
            return shown(seconds / size, unit)
    return shown(seconds, "s")


def extreme(result: Any, name: str, figures: int = 3) -> str:
    """'19.1 A': the highest value of a column, in words."""
    return shown(float(curve(result, name).max()), BOOK["quantity"][name]["unit"], figures=figures)


def held_back(result: Any) -> tuple[float, str]:
    """Over how many metres a limit held the drive, and which did the most; (0, "") when none did."""
    metres: dict[str, float] = {}
    for spell in result.held:
        if spell.by in CAUSES:
            metres[spell.by] = metres.get(spell.by, 0.0) + spell.end - spell.start
    most = max(metres, key=lambda by: metres[by], default="")
    return (metres[most], most) if most and metres[most] >= 1.0 else (0.0, "")


def ride_reading(result: Any) -> str:
    """What the strip chart shows now, in one sentence with numbers."""
    volts = shown(result.end_voltage, "V")
    if result.outcome == "arrived":
        end = f"The ride arrives after {shown(result.duration, 's')} with {volts} left"
    else:
        where, when = shown(result.distance, "m"), shown(result.duration, "s")
        end = f"The ride {ENDS.get(result.outcome, result.outcome)} at {where} after {when} with {volts} left"
    metres, by = held_back(result)
    if by:
        asked = by == "duty limit" and any(spell.by == "set speed" for spell in result.held)
        why = " (too few volts for the speed asked)" if asked else ""
        return f"{end}; for {shown(metres, 'm', figures=2)} {CAUSES[by]}{why}."
    return f"{end}; no limit holds it back." if result.outcome == "arrived" else f"{end}."


def ride_alt(result: Any, route: Any, reading: str, pinned: Any = None) -> str:
    """The strip chart for someone who does not see it, at most 80 words."""
    volts, coil = curve(result, "store_volts"), float(curve(result, "coil_temperature")[-1])
    slope = f"{'down' if steepest(route) < 0 else 'up'} to {shown(100 * steepest(route), '%')}"
    words = (
        f"Strip chart over {shown(route.length, 'm')}, slope {slope}. {reading} "
        f"Speed up to {extreme(result, 'speed')}; "
        f"store volts {number(float(volts[0]))} to {shown(float(volts[-1]), 'V')}; "
        f"motor amps up to {extreme(result, 'motor_amps')}; store amps up to {extreme(result, 'store_amps')}; "
        f"duty up to {extreme(result, 'duty')}; coil ends at {shown(coil, '°C')}."
    )
    return words + (f" Pinned to {shown(pinned.distance, 'm')}." if pinned is not None else "")


def steepest(route: Any) -> float:
    """The slope of the largest size, with its sign [1]."""
    return float(max(route.slopes, key=abs))


def events_told(result: Any, near: float) -> Told:
    """The events worth a flag, most urgent first; the same kind within `near` metres counts once."""
    told: list[tuple[int, float, Any]] = []
    for event in result.events:
        if event.kind in UNTOLD or event.time < BEGUN or any(
            e.kind == event.kind and abs(e.distance - event.distance) < near for _, _, e in told
        ):
            continue
        told.append((1 if event.kind == result.outcome else URGENCY.get(event.kind, 7), event.time, event))
    return [(e.distance, e.time, e.kind) for _, _, e in sorted(told, key=lambda t: t[:2])]


def fitted(told: Told, room: float, lines: int, most: int, size: float) -> list[list[str]]:
    """As many events as the lines hold: the words of each line, events in the order of the way, numbered."""
    for count in range(min(most, len(told)), 0, -1):
        rows = _rows(sorted(told[:count], key=lambda t: t[1]), room, size)
        if len(rows) <= lines:
            return rows
    return []


def _rows(events: Sequence[tuple[float, float, str]], room: float, size: float) -> list[list[str]]:
    rows: list[list[str]] = [[]]
    for i, (_, time, words) in enumerate(events):
        piece = f"{i + 1}  {words}, {duration(time)}"
        if rows[-1] and width(JOIN.join([*rows[-1], piece]), size) > room:
            rows.append([])
        rows[-1].append(piece)
    return rows


JOIN = "     "


def way(metres: float) -> str:
    """A length of road in the unit that suits it: '87.5 m', '12.3 km'."""
    return shown(metres / 1000, "km") if abs(metres) >= 5000 else shown(metres, "m")


def percent(share: float) -> str:
    """A share or a slope in percent, two figures: '6.0 %'."""
    return shown(100 * share, "%", figures=2)
