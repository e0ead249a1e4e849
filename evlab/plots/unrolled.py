"""The ring of magnets unrolled: its field as the coils see it, the coils' outlines over it, flux and EMF of a coil below."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure
from matplotlib.text import Text

from evlab.look import QUIET, Build, Desk, Look, Update, shown
from evlab.plots.magnet_ranges import MagnetRanges
from evlab.plots.ranges import few_ticks, tick_words
from evlab.plots.sentences import percent

LEFT, RIGHT, FOOT, STRIP, ROOM = 62.0, 118.0, 48.0, 92.0, 46.0
TURN = np.linspace(0.0, 360.0, 361)


def unrolled_ring(ranges: MagnetRanges) -> Build:
    """Field of the ring along its circle, coils over it; flux through a turn and its EMF against the place of the coil.

    Parameters: ranges, by field, flux, emf and radii.  Its update takes a MagnetCase, by .linkage, .band_over, .spots and .coil_at.
    Returns build(figure, look) for a figure of at least 6 x 4.6 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return Unrolled(figure, look, ranges).update

    return build


class Unrolled:
    """The map above, two strips below, one axis for all.  Made by `unrolled_ring`."""

    def __init__(self, figure: Figure, look: Look, ranges: MagnetRanges):
        self.look, self.ranges, desk = look, ranges, Desk(figure)
        wide = desk.wide - LEFT - RIGHT
        self.strips = {
            "coil_emf": desk.axes(LEFT, FOOT, wide, STRIP),
            "turn_flux": desk.axes(LEFT, FOOT + STRIP + ROOM, wide, STRIP),
        }
        base = FOOT + 2 * (STRIP + ROOM)
        self.map = desk.axes(LEFT, base, wide, desk.high - base - 36)
        low, high = (1e3 * r for r in ranges.radii)
        self._prepare(self.map, (low, high), 4)
        for name, top in (("turn_flux", 1e3 * ranges.flux), ("coil_emf", 1e3 * ranges.emf)):
            self._prepare(self.strips[name], (-top, top), 3)
        self.strips["coil_emf"].set_xlabel("place of the coil along the ring, degrees")
        desk.text(8, desk.high - 16, "Distance from the shaft, mm", look.ink, bold=True)
        desk.text(8, FOOT + 2 * STRIP + ROOM + 16, "Flux through one turn, mWb", look.ink, bold=True)
        desk.text(8, FOOT + STRIP + 16, "EMF of the coil at 1 rad/s, mV", look.ink, bold=True)
        self.pinned = look.live(desk.text(desk.wide - 124, desk.high - 16, "", look.ink2, QUIET))
        shades: list[Any] = [look.tint("height", 0.75), look.paper, look.tint("motor", 0.85)]
        self.colours = LinearSegmentedColormap.from_list("poles", shades, N=255)
        self.image = look.live(self.map.imshow(np.zeros((2, 2)), self.colours, vmin=-ranges.field, vmax=ranges.field,
                                               origin="lower", aspect="auto", extent=(0, 360, low, high),
                                               interpolation="bilinear", zorder=1))  # fmt: skip
        self._scale(desk, base)
        self._lines()

    def _lines(self) -> None:
        """All that moves, made once; outlines of one weight are one line with gaps, since each artist costs time at each move."""
        look, place, dotted = self.look, self.map, (0, (1.1, 2.2))
        self.whole = look.live(place.plot([], [], color=look.ink2, lw=0.9, ls="-", zorder=3)[0])
        self.spoilt = look.live(place.plot([], [], color=look.ink2, lw=0.9, ls=dotted, zorder=3)[0])
        self.others = look.live(place.plot([], [], color=look.ink, lw=1.0, ls="-", zorder=3)[0])
        self.first = look.live(place.plot([], [], color=look.ink, lw=2.2, ls="-", zorder=3)[0])
        self.letters: list[Text] = []
        self.curves: dict[str, tuple[Any, Any, Any]] = {}
        for name, axes in self.strips.items():
            axes.plot([0, 360], [0, 0], color=look.ink2, lw=0.9, ls="-", zorder=2)
            self.curves[name] = (
                look.live(axes.plot([], [], color=look.ink2, lw=1.1, ls="-", zorder=2.6)[0]),
                look.live(axes.plot([], [], zorder=3, **look.stroke(name))[0]),
                look.live(axes.plot([], [], marker="o", ms=8, mfc=look.paper, mec=look.ink, mew=1.8, zorder=4)[0]),
            )
        self.here = [look.live(axes.plot([], [], color=look.ink2, lw=0.9, ls=dotted, zorder=2.4)[0])
                     for axes in (place, *self.strips.values())]

    def _prepare(self, axes: Axes, span: tuple[float, float], most: int) -> None:
        ticks = few_ticks(*span, most)
        axes.set(xlim=(0, 360), ylim=span)
        axes.set_xticks(range(0, 361, 60))
        axes.set_yticks(ticks, tick_words(ticks))
        axes.grid(False)

    def _scale(self, desk: Desk, base: float) -> None:
        """What the colours mean, at the right of the map."""
        bar = desk.axes(desk.wide - RIGHT + 16, base + 8, 14, desk.high - base - 52)
        top = self.ranges.field
        bar.imshow(np.linspace(-top, top, 128)[:, None], self.colours, origin="lower", aspect="auto", extent=(0, 1, -top, top))
        bar.set_xticks([])
        bar.yaxis.tick_right()
        ticks = few_ticks(-top, top, 5)
        bar.set_yticks(ticks, tick_words(ticks))
        bar.grid(False)
        desk.text(desk.wide - RIGHT + 58, desk.high - 44, "T, north", self.look.ink2, QUIET)
        desk.text(desk.wide - RIGHT + 58, base + 8, "T, south", self.look.ink2, QUIET)

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Draw this case's field and coils; a pinned one's curves in grey."""
        self.pinned.set_text("" if pinned is None else "thin grey: pinned")
        self.image.set_data(case.band_over(self.ranges.radii))
        self._outlines(case)
        self._words([*self._magnets(case), *self._coils(case)])
        for name, (grey, curve, dot) in self.curves.items():
            grey.set_data([], []) if pinned is None else grey.set_data(TURN, 1e3 * getattr(pinned, name)(TURN))
            curve.set_data(TURN, 1e3 * getattr(case, name)(TURN))
            dot.set_data([case.coil_at], [float(1e3 * getattr(case, name)(case.coil_at))])
        for line in self.here:
            line.set_data([case.coil_at] * 2, line.axes.get_ylim())
        reading = field_reading(case)
        return f"Field of the ring unrolled, with the coils' outlines; flux and EMF of a coil along the ring. {reading}", reading

    def _outlines(self, case: Any) -> None:
        """Every magnet, a spoilt one dotted; edge of the opening and outer edge of every coil, the first one's heavy."""
        ring, spots = case.ring, [shift for shift, _ in case.spots]
        places = 360 * np.arange(ring.poles) / ring.poles
        sound = np.array(ring.strengths) == 1
        self.whole.set_data(*_closed([case.magnet_outline], places[sound]))
        self.spoilt.set_data(*_closed([case.magnet_outline], places[~sound]))
        self.first.set_data(*_closed(case.outlines, spots[:1]))
        self.others.set_data(*_closed(case.outlines, spots[1:]))

    def _magnets(self, case: Any) -> Iterator[tuple[float, float, str, bool]]:
        """A letter on every magnet, bold where it is as it should be."""
        ring = case.ring
        for number, strength in enumerate(ring.strengths):
            pole, at = strength * (-1) ** number, 360 * number / ring.poles
            yield max(at, 5.0), 1e3 * ring.radius, ("N" if pole > 0 else "S") if strength else "none", strength == 1

    def _coils(self, case: Any) -> Iterator[tuple[float, float, str, bool]]:
        """A number at every coil."""
        low, high = self.map.get_ylim()
        for number, (shift, label) in enumerate(case.spots):
            yield min(max(shift % 360, 5.0), 355.0), low + 0.05 * (high - low), label, number == 0

    def _words(self, wanted: list[tuple[float, float, str, bool]]) -> None:
        """(place, height, word, bold) of each; letters once made are used again."""
        while len(self.letters) < len(wanted):
            self.letters.append(self.look.live(self.map.text(0, 0, "", ha="center", va="center_baseline", fontsize=QUIET, zorder=4,
                                                             color=self.look.ink)))
        for letter, (x, y, word, bold) in zip(self.letters, wanted, strict=False):
            letter.set(position=(x, y), text=word, fontweight="bold" if bold else "normal")
        for letter in self.letters[len(wanted):]:
            letter.set_text("")


def _closed(lines: Sequence[Any], places: Any) -> tuple[Any, Any]:
    """Closed lines about places along the ring [degrees] as one with gaps, also where they leave the map and come in again."""
    along, away = [], []
    for line in lines:
        shut = np.append(line, line[:1], axis=0)
        x, y = np.degrees(np.arctan2(shut[:, 1], shut[:, 0])), 1e3 * np.hypot(*shut.T)
        starts = (np.asarray(places, float)[:, None] + [-360.0, 0.0, 360.0]).ravel()
        starts = starts[(starts + x.max() > 0) & (starts + x.min() < 360)]
        for start in starts:
            along += [x + start, [np.nan]]
            away += [y, [np.nan]]
    return (np.concatenate(along), np.concatenate(away)) if along else (np.zeros(0), np.zeros(0))


def field_reading(case: Any) -> str:
    """What a turn links at most, what the coil makes of it, and how far from a sine, in one sentence."""
    flux = 1e3 * case.linkage.fundamental
    words = (f"A turn links up to {shown(flux, 'mWb')}; {case.turns} turns give {shown(case.coil_constant, 'V·s/rad')} a coil; "
             f"third harmonic {percent(abs(case.third))} of the flux")
    if case.fault:
        return f"{case.fault}: the flux of a coil is no longer the same at every pole. {words}."
    return f"{words}, so the EMF is {'nearly a sine' if abs(3 * case.third) < 0.08 else 'far from a sine'}."


