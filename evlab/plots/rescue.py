"""Why a ride ended: where on the way, and how far each single change would have to go to save it."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.glossary import GLOSSARY
from evlab.look import NAME, QUIET, Build, Desk, Look, Update, setting, width
from evlab.plots.ends import EndOnProfile
from evlab.plots.profile import draw_heights
from evlab.plots.ribbon import axis_below
from evlab.plots.rulers import and_list
from evlab.plots.sentences import ENDS, way
from evlab.plots.strips import Strip, stacked

LEFT, RIGHT, TOP = 156.0, 174.0, 16.0  # names at the left, values at the right [1/100 inch]
LINE, FEW = 15.0, 12  # height of a line of words; rows for which there is always room
GROUND, ROW = (66.0, 170.0), (26.0, 34.0)  # heights of the profile and of a row, at least and at most
ENDS_ROOM = 44.0  # at both ends of a scale, for the lowest and the highest value
PLACES = {"start": "store", "head_wind": "road"}  # of what stands in no vehicle file


def why_it_ended(route: Any) -> Build:
    """The way with the end of the ride and its reason; under it, for each quantity, a scale with its value and the one needed.

    Parameters: route, by its nodes [m], heights [m] and length [m].  Its update takes a RideCase, by .result and .changes.
    Returns build(figure, look) for a figure of at least 5 x 5 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return WhyItEnded(figure, look, route).update

    return build


class WhyItEnded:
    """The profile and the scales on one figure.  Made by `why_it_ended`."""

    def __init__(self, figure: Figure, look: Look, route: Any):
        self.look, self.route, self.desk = look, route, Desk(figure)
        desk, low = self.desk, float(np.min(route.heights))
        span = max(float(np.ptp(route.heights)), 0.01 * route.length)
        self.lines = 2 if desk.wide >= 660 else 3  # of the reason
        spare = desk.high - TOP - 58 - LINE * self.lines - FEW * ROW[1]
        below = desk.high - TOP - min(max(spare, GROUND[0]), GROUND[1])
        ground = Strip(("height",), low - 0.2 * span, low + 1.5 * span, 1.0, 3)
        (self.ground,) = stacked(desk, look, (ground,), route.length, TOP, below, (LEFT, RIGHT))
        draw_heights(self.ground.axes, look, route)
        axis_below(desk, look, self.ground.axes, below - 10)
        up = low + (1.5 - 1.7 * 9 / self.ground.tall) * span
        self.end = EndOnProfile(self.ground.axes, look, route.nodes, route.heights, up)
        self.told = [look.live(desk.text(8, below - 34 - LINE * i, "", look.ink, QUIET)) for i in range(self.lines)]
        self.head = below - 34 - LINE * self.lines - 4
        self.heads = [look.live(desk.text(x, self.head, "", look.ink2, QUIET)) for x in (8, desk.wide - RIGHT + 10)]
        desk.text(LEFT, self.head, "lowest", look.ink2, QUIET)
        desk.text(desk.wide - RIGHT - width("highest", QUIET), self.head, "highest", look.ink2, QUIET)
        self.rows = desk.axes(0, 4, desk.wide, self.head - 14)
        self.rows.set(xlim=(0, desk.wide), ylim=(4, self.head - 10))
        self.rows.axis("off")
        self.pinned = look.live(desk.text(desk.wide - RIGHT + 10, below + 8, "", look.ink2, QUIET))

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Mark the end of this ride and lay out its changes."""
        result, changes = case.result, case.changes
        self.end.show(result)
        before = "at the end" if result.outcome == "arrived" else f"of {way(self.route.length)}"
        self.ground.note("height", f"{result.outcome}" if result.outcome == "arrived" else f"{way(result.distance)} {before}")
        self._reason(result.reason)
        self._pin(pinned)
        heads = ("One change alone", "now → ends it" if changes.arrived else "now → saves it")
        for text, words in zip(self.heads, heads, strict=True):
            text.set_text(words)
        tall = min((self.head - 14) / max(len(changes.rows), FEW), ROW[1])
        was = {} if pinned is None else {row.name: row for row in pinned.changes.rows}
        for i, row in enumerate(changes.rows):
            y = self.head - 12 - (i + 0.5) * tall
            self._row(y, row, changes.arrived)
            self._scale(y, row, was.get(row.name))
        reading = rescue_reading(case)
        return f"Heights along the way with the end of the ride, and a scale for each single change. {reading}", reading

    def _reason(self, words: str) -> None:
        lines = wrapped(words, self.desk.wide - 16, QUIET, self.lines)
        for text, line in zip(self.told, lines + [""] * self.lines, strict=False):
            text.set_text(line)

    def _pin(self, pinned: Any) -> None:
        """Where the pinned ride ended: a thin grey line."""
        self.pinned.set_text("" if pinned is None else "thin grey: pinned")
        if pinned is not None and pinned.result.outcome != "arrived":
            at, ends = pinned.result.distance, self.ground.axes.get_ylim()
            self.ground.axes.plot([at, at], ends, color=self.look.ink2, lw=1.1, ls="-", zorder=3)

    def _row(self, y: float, row: Any, arrived: bool) -> None:
        """The name at the left; at the right the value now and the one needed."""
        look, x = self.look, self.desk.wide - RIGHT + 10
        colour = look.text(place(row.name)) if row.saves else look.ink2
        self._say(8, y, row.label, colour, row.saves, NAME)
        if not row.saves:
            told = "always arrives" if arrived else "cannot save it"
            self._say(x, y, f"{value(row, row.before)}  {told}", look.ink2)
            return
        now, needed = f"{value(row, row.before, bare=True)} →", value(row, row.after)
        after = x + width(f"{now} ", QUIET)
        self._say(x, y, now, look.ink)
        self._say(after, y, needed, colour, True)

    def _scale(self, y: float, row: Any, was: Any) -> None:
        """From the lowest to the highest value that was tried: a dot now, a ring at what is needed, an arrow between."""
        look, axes = self.look, self.rows
        left, right = LEFT + ENDS_ROOM + 6, self.desk.wide - RIGHT - ENDS_ROOM
        span = (right - left) / ((row.high - row.low) or 1.0)
        colour = look.line(place(row.name)) if row.saves else look.ink2
        axes.plot([left, right], [y, y], color=look.ink2 if row.saves else look.rule, lw=1.0, ls="-", zorder=2)
        for at, ha, end in ((left - 6, "right", row.low), (right + 6, "left", row.high)):
            self._say(at, y, value(row, end, bare=True), look.ink2, ha=ha)
            axes.plot([left if ha == "right" else right] * 2, [y - 4, y + 4], color=look.ink2, lw=1.0, ls="-", zorder=2)
        now = left + (row.before - row.low) * span
        if row.saves:
            needed = left + (row.after - row.low) * span
            self._arrow(y, now, needed, colour)
            axes.plot([needed], [y], "o", ms=8, mfc=look.paper, mec=colour, mew=1.8, zorder=4)
        axes.plot([now], [y], "o", ms=6.5, color=colour, mec=look.paper, mew=0.8, zorder=5)
        if was is not None and was.saves and was.low <= was.after <= was.high:
            at = left + min(max((was.after - row.low) * span, 0.0), right - left)
            axes.plot([at, at], [y - 7, y + 7], color=look.ink2, lw=1.1, ls="-", zorder=3)

    def _arrow(self, y: float, now: float, needed: float, colour: str) -> None:
        """A thick line from now to the ring, with a head where it is long enough for one."""
        turn = 1.0 if needed > now else -1.0
        edge = needed - 5.5 * turn
        if (edge - now) * turn <= 4:
            return
        self.rows.plot([now, edge], [y, y], color=colour, lw=2.2, ls="-", solid_capstyle="butt", zorder=3)
        if (edge - now) * turn > 12:
            self.rows.plot([edge - 7 * turn, edge, edge - 7 * turn], [y - 4, y, y + 4], color=colour, lw=1.6, ls="-", zorder=3)

    def _say(self, x: float, y: float, words: str, colour: str, bold: bool = False, size: float = QUIET, ha: str = "left") -> None:
        text = self.rows.text(x, y, words, color=colour, fontsize=size, ha=ha, va="center_baseline", zorder=5)
        text.set_fontweight("bold" if bold else "normal")


def place(name: str) -> str:
    """Where in the vehicle a quantity stands; as a whole, what has no place."""
    entry = GLOSSARY.get(name)
    return PLACES.get(name) or (entry.place if entry is not None and entry.place else "motion")


def value(row: Any, si: float, bare: bool = False) -> str:
    """A value of this row in its shown unit, three figures."""
    return setting(float(f"{row.shown(si):.3g}"), "" if bare else row.unit)


def wrapped(words: str, room: float, size: float, most: int) -> list[str]:
    """Words in lines of this room [1/100 inch]; what does not fit into so many lines ends in dots."""
    lines = [""]
    for word in words.split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if width(longer, size) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    if len(lines) > most:
        cut = lines[most - 1]
        while width(f"{cut} …", size) > room:
            cut = cut.rpartition(" ")[0]
        lines[most - 1] = f"{cut} …"
    return lines[:most]


def rescue_reading(case: Any) -> str:
    """What ended the ride and the nearest changes, in one sentence."""
    result, changes = case.result, case.changes
    near = [f"{r.label[:1].lower()}{r.label[1:]} {value(r, r.after)} instead of {value(r, r.before)}" for r in changes.saving[:3]]
    if changes.arrived:
        return f"The ride arrives; any one of these would end it: {', '.join(near)}." if near else (
            "The ride arrives, whatever one of these is changed to.")  # fmt: skip
    ended = f"The ride {ENDS.get(result.outcome, result.outcome)} at {way(result.distance)} of {way(case.result.route.length)}"
    others = len(changes.useless)
    if not near:
        return f"{ended}; no single change of {and_list([r.label.lower() for r in changes.rows])} saves it."
    rest = f"; {'one other' if others == 1 else f'{others} others'} cannot, alone" if others else ""
    return f"{ended}; any one of these saves it: {', '.join(near)}{rest}."
