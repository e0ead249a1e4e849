"""The strip chart: slope, speed, volts, amps, duty and coil temperature over one distance axis."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import BOOK, QUIET, Build, Desk, Look, Update, from_si, limit, number, setting, shown
from evlab.plots.bands import TOLD, BandBehind, told
from evlab.plots.ends import EndOnProfile
from evlab.plots.ranges import Ranges, few_ticks, stop_volts, thinned, tick_words
from evlab.plots.ribbon import Flags, Ribbon, TimeScale, axis_below
from evlab.plots.sentences import curve, events_told, extreme, percent, ride_alt, ride_reading, steepest

LEFT, RIGHT, TOP, BELOW, GAP = 150.0, 142.0, 40.0, 97.0, 8.0  # margins and the gap between strips [1/100 inch]
ROW, CASE = 34.0, 20.0  # height of a name with its unit below it, of a case
BANDED = ("speed", "store_volts", "motor_amps", "store_amps", "coil_temperature")  # of what there may be a band
HILLY = 0.01  # from this slope on, the ground is shaded
Sides = tuple[float, float]  # margins left and right
Traces = Mapping[str, tuple[Any, Any]]  # by name: x in SI, y in the shown unit


@dataclass(frozen=True)
class Strip:
    """One strip: named curves, curves without a name, axis in shown units, share of the height, limit.

    When it has `cases`, these are its curves, told at the right, and its one name is only its head.
    """

    names: tuple[str, ...]
    low: float
    high: float
    share: float
    ticks: int = 3
    unnamed: tuple[str, ...] = ()
    limited: str = ""  # "above" or "below": the forbidden side of its limit
    cases: tuple[str, ...] = ()


def band_with(result: Any) -> Any:
    """The band that a result carries along, if any."""
    return getattr(result, "band_shown", None)


def strip_chart(route: Any, ranges: Ranges, band: Callable[[Any], Any] = band_with) -> Build:
    """Strips over the distance of this route, what holds the drive along the bottom, numbered events, the time on top.

    Parameters: route, by its nodes [m], slopes [1], heights [m], length [m]; ranges, what the axes cover; band, a function that
    gives the tolerance band to lie behind the curves of a result, or None.
    Returns build(figure, look) for a figure of at least 5 x 5 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return StripChart(figure, look, route, ranges, band).update

    return build


class StripChart:
    """The strips on one figure.  Made by `strip_chart`."""

    def __init__(self, figure: Figure, look: Look, route: Any, ranges: Ranges, band: Callable[[Any], Any] = band_with):
        self.route, self.band, desk = route, band, Desk(figure)
        self.wide = desk.wide - LEFT - RIGHT
        lines = 1 if desk.wide >= 700 else 2  # of the events told at the bottom
        below = BELOW + 15 * (lines - 1)
        self.panes = stacked(desk, look, _strips(route, ranges), route.length, TOP, below)
        for pane, (start, end) in itertools.product(self.panes, hills(route)):
            pane.axes.axvspan(start, end, color=look.band, lw=0, zorder=0)
        heights, (low, high) = lay_ground(self.panes[0], look, route), self.panes[0].axes.get_ylim()
        up = low + 9 * (high - low) / self.panes[0].tall
        self.end = EndOnProfile(self.panes[0].axes, look, route.nodes, heights, up)
        self.behind = BandBehind(look, {n: pane.axes for pane in self.panes for n in pane.strip.names if n in BANDED})
        self.time = TimeScale(desk, look, self.panes[0].axes, desk.high - TOP)
        self.braking = limit(self.panes[3].axes, look, "below")
        self.ribbon = Ribbon(desk, look, LEFT, self.wide, below - 42, route.length)
        axis_below(desk, look, self.ribbon.axes, below - 56)
        self.flags = Flags(desk, look, self.ribbon.axes, self.wide, lines)
        self.pinned, self.pale = (
            look.live(desk.text(desk.wide - RIGHT + 10, desk.high - TOP + up, "", look.ink2, QUIET)) for up in (16, 30)
        )

    def update(self, result: Any, pinned: Any = None) -> tuple[str, str]:
        """Move curves, limits, readings, flags and ribbon to this result."""
        near = 6 * self.route.length / self.wide
        events = self.flags.show(events_told(result, near))
        end = None if result.outcome == "arrived" else result.distance
        for pane in self.panes:
            now, before = (traces(source, pane.curves, "distance") for source in (result, pinned))
            pane.show(now, before, [distance for distance, _, _ in events], end)
        self.end.show(result)
        self._notes(result)
        self.pinned.set_text("" if pinned is None else "thin grey: pinned")
        band = self.band(result)
        self.behind.show(band)
        self.pale.set_text("" if band is None else TOLD)
        self.ribbon.show([(spell.start, spell.end, spell.by) for spell in result.held])
        self.time.show(result.column("time"), result.column("distance"))
        reading = told(ride_reading(result), band)
        return ride_alt(result, self.route, reading, pinned), reading

    def _notes(self, result: Any) -> None:
        _, speed, volts, amps, duty, coil = self.panes
        controller, motor = result.vehicle.controller, result.vehicle.motor
        fastest, mean = float(curve(result, "speed").max()), result.distance / result.duration if result.duration else 0.0
        off = f"top {number(fastest)}, off scale" if fastest > speed.strip.high else "dotted: set speed"
        speed.note("speed", f"mean {shown(mean, 'm/s')}", off)
        volts.note(
            "store_volts",
            f"ends {shown(result.end_voltage, 'V')}",
            f"stop volts {setting(stop_volts(result.vehicle), 'V')}",
        )
        volts.bound(stop_volts(result.vehicle))
        braking, driving = controller.braking_current_limit, controller.coil_current_limit
        amps.note("motor_amps", f"top {extreme(result, 'motor_amps')}", f"limits {setting(-braking)}, {setting(driving, 'A')}")
        amps.note("store_amps", f"top {extreme(result, 'store_amps')}", f"limit {setting(controller.store_current_limit, 'A')}")
        amps.bound(driving)
        self.braking(-braking)
        duty.note("duty", f"top {extreme(result, 'duty', 2)}", f"limit {setting(100 * controller.duty_limit, '%')}")
        duty.bound(100 * controller.duty_limit)
        hottest = from_si("coil_temperature", motor.temperature_limit)
        coil.note(
            "coil_temperature",
            f"ends {shown(float(curve(result, 'coil_temperature')[-1]), '°C')}",
            f"limit {setting(hottest, '°C')}",
        )
        coil.bound(hottest)


def lay_ground(pane: Pane, look: Look, route: Any) -> Any:
    """The route's own strip does not move: slope on the axis, the height behind it, not to scale.  Returns heights as drawn."""
    low, high = pane.axes.get_ylim()
    rise = float(route.heights[-1] - route.heights[0])
    span = float(np.ptp(route.heights)) or np.inf
    heights = low + (0.2 + 0.52 * (np.asarray(route.heights) - np.min(route.heights)) / span) * (high - low)
    pane.axes.fill_between(route.nodes, heights, low, color=look.tint("height", 0.22), lw=0, zorder=1.2)
    pane.axes.plot(route.nodes, heights, zorder=1.3, **look.stroke("height", 1.2))
    pane.axes.plot(route.nodes, 100 * np.asarray(route.slopes), zorder=1.4, **look.stroke("slope"))
    pane.note("slope", f"steepest {percent(steepest(route))}" if steepest(route) else "level")
    pane.note("height", f"{'rises' if rise >= 0 else 'falls'} {shown(abs(rise), 'm')}")
    return heights


def ground_strip(route: Any, share: float) -> Strip:
    """The strip of slope and height, with room for both."""
    slopes = 100 * np.asarray(route.slopes)
    low, high = min(float(slopes.min()), 0.0), max(float(slopes.max()), 0.0)
    span = max(high - low, 3.0)
    low, high = low - (0.12 if low < 0 else 0.06) * span, max(high + 0.15 * span, low + span)
    return Strip(("slope", "height"), low, high, share, 4)


def _strips(route: Any, ranges: Ranges) -> list[Strip]:
    coil = [float(from_si("coil_temperature", kelvin)) for kelvin in ranges.coil]
    return [
        ground_strip(route, 1.42),
        Strip(("speed",), *ranges.speed, 1.08, 4, ("set_speed",)),
        Strip(("store_volts",), *ranges.volts, 1.12, 4, (), "below"),
        Strip(("motor_amps", "store_amps"), *ranges.amps, 1.45, 4, (), "above"),
        Strip(("duty",), 0.0, 112.0, 0.95, 3, (), "above"),
        Strip(("coil_temperature",), coil[0], coil[1], 0.95, 3, (), "above"),
    ]


def stacked(
    desk: Desk, look: Look, strips: Sequence[Strip], length: float, top: float, below: float, sides: Sides = (LEFT, RIGHT)
) -> list[Pane]:
    """Panes from the top down, each with its share of the height between the margins `top` and `below`."""
    unit = (desk.high - top - below - GAP * (len(strips) - 1)) / sum(s.share for s in strips)
    at, panes = desk.high - top, []
    for strip in strips:
        at -= unit * strip.share
        panes.append(Pane(desk, look, strip, length, at, unit * strip.share, sides))
        at -= GAP
    return panes


def traces(source: Any, names: Iterable[str], along: str) -> Traces:
    """The curves of a result over its column `along`; none of no result."""
    return {} if source is None else {n: (source.column(along), curve(source, n)) for n in names}


class Pane:
    """One strip on paper: names at the left, curves, readings at the right."""

    def __init__(
        self, desk: Desk, look: Look, strip: Strip, length: float, bottom: float, tall: float, sides: Sides = (LEFT, RIGHT)
    ):
        self.desk, self.look, self.strip, self.middle = desk, look, strip, bottom + tall / 2
        self.tall, self.beyond = tall, desk.wide - sides[1] + 10
        self.axes = desk.axes(sides[0], bottom, desk.wide - sum(sides), tall)
        self.axes.set(xlim=(0, length), ylim=(strip.low, strip.high), xticks=few_ticks(0, length, 5))
        below_top = strip.high - 4 * (strip.high - strip.low) / tall  # labels of neighbours keep apart
        ticks = few_ticks(strip.low, below_top, min(strip.ticks, int(tall / 13)))
        self.axes.set_yticks(ticks, tick_words(ticks))
        self.axes.tick_params(labelbottom=False, bottom=False)
        for tick, at in zip(self.axes.yaxis.get_major_ticks(), ticks, strict=True):
            tick.gridline.set_visible(
                strip.names[0] != "duty" or at < 100
            )  # the limit stands too near for a second line
        self._names()
        self.ghosts = {n: self._curve(n, 1.1, 2.6, look.ink2) for n in self._moving() if n not in strip.unnamed}
        self.curves = {n: self._curve(n, 1.4 if n in strip.unnamed else 2.0, 3) for n in self._moving()}
        self.hairs = look.live(self.axes.plot([], [], color=look.ink2, lw=0.8, ls=(0, (1.1, 2.2)), zorder=2.5)[0])
        self.end = look.live(self.axes.plot([], [], color=look.ink, lw=1.4, ls="-", zorder=5, clip_on=False)[0])
        self.bound: Callable[[float], None] = limit(self.axes, look, strip.limited) if strip.limited else _unbound
        rows = {} if strip.cases else self._rows()
        self.notes: dict[str, tuple[Any, ...]] = {n: self._note(y, look.text(n), n in self.curves) for n, y in rows.items()}
        self.samples: dict[str, Any] = {}  # of cases
        self._cases()

    def _moving(self) -> tuple[str, ...]:
        if self.strip.cases or self._ground():
            return self.strip.cases
        return self.strip.names + self.strip.unnamed

    def _ground(self) -> bool:
        """Whether this is the road of a ride, which stays, with its heights behind the slopes."""
        return self.strip.names == ("slope", "height")

    def _hue(self, name: str) -> str:
        """Whose colour a curve has: cases, which differ by their dash, have that of their strip."""
        return self.strip.names[0] if self.strip.cases else name

    def _curve(self, name: str, wide: float, zorder: float, colour: str = "") -> Any:
        stroke = self.look.stroke(name, wide) | {"color": colour or self.look.line(self._hue(name))}
        return self.look.live(self.axes.plot([], [], zorder=zorder, **stroke)[0])

    def _rows(self) -> dict[str, float]:
        """The height of each name's row."""
        count = len(self.strip.names)
        return {n: self.middle + ROW * ((count - 1) / 2 - i) for i, n in enumerate(self.strip.names)}

    def _names(self) -> None:
        for name, y in self._rows().items():
            entry = BOOK["quantity"][name]
            self.desk.text(8, y + 7.5, entry.get("short", entry["label"]), self.look.text(name), bold=True)
            if not self.strip.cases:
                self.desk.sample(self.look, 8, y - 8, name)
            unit = "not to scale" if name == "height" and self._ground() else entry["unit"]
            self.desk.text(8 if self.strip.cases else 40, y - 8, unit, self.look.ink2, QUIET)

    def _cases(self) -> None:
        """At the right a sample and a reading for each case; the head's own quiet line stands under its unit."""
        for i, name in enumerate(self.strip.cases):
            y = self.middle + CASE * ((len(self.strip.cases) - 1) / 2 - i)
            line = self.desk.sample(self.look, self.beyond, y, name, colour=self.look.line(self._hue(name)))
            self.samples[name] = self.look.live(line)
            text = self.look.live(self.desk.text(self.beyond + 33, y, "", self.look.text(self._hue(name)), QUIET))
            self.notes[name] = (text,)
        if self.strip.cases:
            at = self.middle - 24
            self.notes[self.strip.names[0]] = (self.look.live(self.desk.text(8, at, "", self.look.ink2, QUIET)),)

    def _note(self, y: float, colour: str, moves: bool) -> tuple[Any, Any]:
        """A reading with a quiet line under it; one that stays is a single line."""
        upper, lower = (y + 8, y - 8) if moves else (y, y - 16)
        pair = self.desk.text(self.beyond, upper, "", colour), self.desk.text(self.beyond, lower, "", self.look.ink2, QUIET)
        return (self.look.live(pair[0]), self.look.live(pair[1])) if moves else pair

    def note(self, name: str, words: str, quiet: str = "") -> None:
        """The reading at the right of a curve, and a quiet line under it."""
        for text, new in zip(self.notes[name], (words, quiet), strict=False):
            text.set_text(new)
        if name in self.samples:
            self.samples[name].set_visible(bool(words))

    def show(self, now: Traces, before: Traces, hairs: Sequence[float], end: float | None = None) -> None:
        """Move the curves, and the grey ones of before; hairs at the flags, a full line where a ride ended early."""
        for lines, source in ((self.curves, now), (self.ghosts, before)):
            for name, line in lines.items():
                line.set_data(*thinned(*source.get(name, ((), ()))))
        low, high = self.axes.get_ylim()
        self.hairs.set_data([x for at in hairs for x in (at, at, np.nan)], [low, high, np.nan] * len(hairs))
        self.end.set_data([] if end is None else [end, end], [] if end is None else [low, high])


def _unbound(_: float) -> None:
    """A strip without a limit."""


def hills(route: Any, most: int = 12) -> list[tuple[float, float]]:
    """Stretches of at least 1 % slope [m]; none at all when they would only make stripes."""
    out: list[tuple[float, float]] = []
    for a, b, one, two in zip(route.nodes, route.nodes[1:], route.slopes, route.slopes[1:], strict=False):
        if max(abs(one), abs(two)) >= HILLY:
            out[-1:] = [(out[-1][0], float(b))] if out and out[-1][1] == a else [*out[-1:], (float(a), float(b))]
    return out if len(out) <= most else []
