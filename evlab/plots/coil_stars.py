"""The star of the coils with their table, and the window of a coil with every strand to scale."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.collections import EllipseCollection
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from evlab.look import NAME, QUIET, Build, Desk, Look, Update, extent, shown
from evlab.plots.sentences import percent

DASHES = {"A": "-", "B": (0, (5, 1.8)), "C": (0, (1.1, 1.5))}
ROW = 21.0  # of the table [1/100 inch]
TABLE = 316.0  # its width


def star_of_coils(ranges: Any) -> Build:
    """Phasors of all coils as they are joined, phase by phase, and a table: coil, phase, which end comes first, and what
    it is joined to.

    Parameters: ranges, of which nothing is needed.  Its update takes a WindingCase, by .star.
    Returns build(figure, look) for a figure of at least 6.4 x 4.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        desk = Desk(figure)
        side = min(desk.wide - TABLE - 24, desk.high - 60)
        axes = desk.axes(12, (desk.high - 40 - side) / 2 + 6, side, side)
        axes.set(xlim=(-1.32, 1.32), ylim=(-1.32, 1.32), xticks=[], yticks=[])
        axes.grid(False)
        desk.text(8, desk.high - 20, "Volts of the joined coils", look.ink, bold=True)
        turn = np.linspace(0, 2 * math.pi, 181)
        axes.plot(np.cos(turn), np.sin(turn), color=look.rule, lw=1.0, ls="-", zorder=1)

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            star = case.star
            for letter, sum_ in zip("ABC", star.sums, strict=False):
                _arrow(axes, look, sum_, DASHES[letter], 3.0)
                name = axes.text(0.5 * sum_.real, 0.5 * sum_.imag, letter, ha="center", va="center_baseline", color=look.ink,
                                 fontsize=NAME, fontweight="bold", zorder=5)
                name.set_bbox({"boxstyle": "square,pad=0.15", "facecolor": look.paper, "edgecolor": "none"})
            seen: dict[complex, list[int]] = {}
            for place in star.places:
                seen.setdefault(complex(round(place.phasor.real, 6), round(place.phasor.imag, 6)), []).append(place.number)
            for at, numbers in seen.items():
                axes.plot([0, at.real], [0, at.imag], color=look.line("motor"), lw=1.6, ls="-", zorder=2.5)
                words = ", ".join(map(str, numbers if len(numbers) < 4 else numbers[:2])) + (" …" if len(numbers) > 3 else "")
                axes.text(1.19 * at.real, 1.12 * at.imag, words, ha="center", va="center_baseline", color=look.text("motor"),
                          fontsize=QUIET, zorder=4)
            _table(desk, look, star)
            reading = star_reading(case)
            return f"Star of the coils' volts, and a table of polarity and joints. {reading}", reading

        return update

    return build


def _arrow(axes: Any, look: Look, at: complex, dash: Any, wide: float) -> None:
    """The sum of a phase: a line in its dash, with a head."""
    axes.plot([0, at.real], [0, at.imag], color=look.ink, lw=wide, ls=dash, zorder=3, solid_capstyle="round")
    turn = float(np.angle(at))
    for lean in (2.7, -2.7):
        tip = at + 0.09 * complex(math.cos(turn + lean), math.sin(turn + lean))
        axes.plot([at.real, tip.real], [at.imag, tip.imag], color=look.ink, lw=wide, ls="-", zorder=3)


def _table(desk: Desk, look: Look, star: Any) -> None:
    """Coils in the order of the chains; what does not fit is told as so many more."""
    left, top = desk.wide - TABLE, desk.high - 24
    xs = [left, left + 44, left + 98, left + 160]
    for x, words in zip(xs, ("coil", "phase", "first", "joined by its"), strict=True):
        desk.text(x, top, words, look.ink2, QUIET)
    rows = [(i, p) for letter in "ABC"[: star.phases] for i, p in enumerate(star.chain(letter))]
    room = int((top - 30) / ROW)
    shown_rows = rows if len(rows) <= room else rows[: room - 1]
    frame = star.table()
    for line, (_, place) in enumerate(shown_rows, 1):
        y = top - ROW * line
        joint = str(frame.loc[place.number, "joined to"]).replace("its ", "").replace("to the", "to").replace("coil ", "")
        cells = (str(place.number), place.phase, "finish" if place.reversed else "start", joint)
        for x, text in zip(xs, cells, strict=True):
            desk.text(x, y, text, look.ink, QUIET)
    if len(shown_rows) < len(rows):
        desk.text(left, top - ROW * room, f"and {len(rows) - len(shown_rows)} more: case.star.table()", look.ink2, QUIET)


def star_reading(case: Any) -> str:
    """How well the coils of a phase add up, in one sentence."""
    star = case.star
    phases = {1: "one phase", 2: "two phases", 3: "three phases"}[star.phases]
    add = ("all point the same way" if star.distribution_factor > 1 - 1e-9 else
           f"add up to {percent(star.distribution_factor)} of their sum")
    back = sum(p.reversed for p in star.places)
    turned = "none joined the other way round" if not back else f"{back} joined the other way round"
    return (f"{star.coils} coils over {star.poles} magnets make {phases}: the {star.coils_in_series} of a phase {add}, {turned}; "
            "the current "
            f"changes its direction {star.reversals_per_turn} times a turn.")


# ---------------------------------------------------------------- the window
def coil_window(ranges: Any) -> Build:
    """The side of a coil in section, every strand to scale, in the order in which it is wound.

    Parameters: ranges, of which nothing is needed.  Its update takes a WindingCase, by .fit, .wire and .fill.
    Returns build(figure, look) for a figure of at least 6 x 4 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        desk = Desk(figure)
        axes = desk.axes(72, 56, desk.wide - 108, desk.high - 110)
        axes.grid(False)
        axes.set(xticks=[], yticks=[])
        desk.text(8, desk.high - 20, "Section of one coil side, every strand to scale", look.ink, bold=True)
        bought = look.live(desk.text(72, 20, "", look.ink2, QUIET))

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            fit, wire = case.fit, case.wire
            wide, high = 1e3 * fit.width, 1e3 * fit.height
            room = extent(axes)
            scale = min(room[0] / wide, room[1] / high)
            spare = ((room[0] / scale - wide) / 2, (room[1] / scale - high) / 2)
            axes.set(xlim=(-spare[0], wide + spare[0]), ylim=(-spare[1], high + spare[1]))
            axes.add_patch(Rectangle((0, 0), wide, high, fill=False, ec=look.ink, lw=1.6, zorder=2))
            spots, turns = 1e3 * fit.places(), fit.turn_of()
            for of, face, edge in ((fit.overall, look.tint("motor", 0.25), look.line("motor")), (wire.bare, None, None)):
                size = np.full(len(spots), 1e3 * of)
                colours = [look.tint("motor", 0.85 if t % 2 else 0.5) for t in turns] if face is None else [face] * len(spots)
                rims = "none" if edge is None else edge
                axes.add_collection(EllipseCollection(size, size, np.zeros(len(spots)), units="xy", offsets=spots, linewidths=0.6,
                                                      facecolors=colours, edgecolors=rims, transOffset=axes.transData,
                                                      zorder=3))  # fmt: skip
            _sizes(axes, look, wide, high)
            bought.set_text(f"to buy: {shown(case.wire_length, 'm')} of wire")
            reading = window_reading(case)
            return f"Section of a coil side with its strands. {reading}", reading

        return update

    return build


def _sizes(axes: Any, look: Look, wide: float, high: float) -> None:
    """Width and height of the window, outside it."""
    unit = (axes.get_xlim()[1] - axes.get_xlim()[0]) / extent(axes)[0]
    axes.text(wide / 2, -16 * unit, shown(wide, "mm"), ha="center", va="center_baseline", color=look.ink, fontsize=QUIET)
    axes.text(-8 * unit, high / 2, shown(high, "mm"), ha="right", va="center_baseline", color=look.ink, fontsize=QUIET)
    words = "opening at the left; strands of one turn have one shade"
    axes.text(wide / 2, high + 14 * unit, words, ha="center", va="center_baseline", color=look.ink2, fontsize=QUIET)


def window_reading(case: Any) -> str:
    """What fits, in layers, and the share of copper, in one sentence."""
    fit = case.fit
    return (f"{fit.turns} turns of {fit.strands} × {shown(1e3 * case.wire.bare, 'mm', figures=2)} take {fit.needed} of "
            f"{fit.capacity} places, "
            f"{fit.layers_used} of {fit.layers} layers; copper fills {percent(case.fill)} of the window, and "
            f"{shown(case.wire_length, 'm')} of "
            "wire are to be bought.")
