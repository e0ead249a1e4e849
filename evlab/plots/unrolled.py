"""The ring of magnets unrolled: its field as the coils see it, the coils' outlines over it, flux and EMF of a coil below."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure

from evlab.look import QUIET, Build, Desk, Look, Update, shown
from evlab.plots.magnet_ranges import MagnetRanges
from evlab.plots.ranges import few_ticks, tick_words
from evlab.plots.sentences import percent

LEFT, RIGHT, FOOT, STRIP, ROOM = 62.0, 118.0, 48.0, 92.0, 46.0
TURN = np.linspace(0.0, 360.0, 721)


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
        self._magnets(case)
        self._coils(case)
        for name, factor in (("turn_flux", 1e3), ("coil_emf", 1e3)):
            axes = self.strips[name]
            axes.plot([0, 360], [0, 0], color=self.look.ink2, lw=0.9, ls="-", zorder=2)
            if pinned is not None:
                axes.plot(TURN, factor * getattr(pinned, name)(TURN), color=self.look.ink2, lw=1.1, ls="-", zorder=2.6)
            axes.plot(TURN, factor * getattr(case, name)(TURN), zorder=3, **self.look.stroke(name))
            at = float(factor * getattr(case, name)(case.coil_at))
            axes.plot([case.coil_at], [at], marker="o", ms=8, mfc=self.look.paper, mec=self.look.ink, mew=1.8, zorder=4)
        for axes in (self.map, *self.strips.values()):
            axes.plot([case.coil_at] * 2, axes.get_ylim(), color=self.look.ink2, lw=0.9, ls=(0, (1.1, 2.2)), zorder=2.4)
        reading = field_reading(case)
        return f"Field of the ring unrolled, with the coils' outlines; flux and EMF of a coil along the ring. {reading}", reading

    def _magnets(self, case: Any) -> None:
        """A letter on every magnet; its sign when it is not as it should be."""
        ring = case.ring
        for number, strength in enumerate(ring.strengths):
            pole, at = strength * (-1) ** number, 360 * number / ring.poles
            self._closed(case.magnet_outline, at, 0.9, (0, (1.1, 2.2)) if strength != 1 else "-", self.look.ink2)
            letter = ("N" if pole > 0 else "S") if strength else "none"
            self.map.text(max(at, 5.0), 1e3 * ring.radius, letter, ha="center", va="center_baseline", fontsize=QUIET, zorder=4,
                          fontweight="bold" if strength == 1 else "normal", color=self.look.ink)

    def _coils(self, case: Any) -> None:
        """Edge of the opening and outer edge of every coil; the first one's are heavy."""
        for number, (shift, label) in enumerate(case.spots):
            heavy = number == 0
            for line in case.outlines:
                self._closed(line, shift, 2.2 if heavy else 1.0, "-", self.look.ink)
            at = shift % 360
            if 8 < at < 352:
                self.map.text(at, self.map.get_ylim()[0] + 0.05 * np.ptp(self.map.get_ylim()), label, ha="center",
                              va="center_baseline", fontsize=QUIET, color=self.look.ink, zorder=5,
                              fontweight="bold" if heavy else "normal")

    def _closed(self, line: Any, at: float, wide: float, dash: Any, colour: str) -> None:
        """A closed line about a place along the ring [degrees], also where it leaves the map and comes in again."""
        x = np.degrees(np.arctan2(line[:, 1], line[:, 0])) + at
        x, y = np.append(x, x[0]), 1e3 * np.append(np.hypot(*line.T), np.hypot(*line[0]))
        for turn in (-360, 0, 360):
            if x.max() + turn > 0 and x.min() + turn < 360:
                self.map.plot(x + turn, y, color=colour, lw=wide, ls=dash, zorder=3)


def field_reading(case: Any) -> str:
    """What a turn links at most, what the coil makes of it, and how far from a sine, in one sentence."""
    flux = 1e3 * case.linkage.fundamental
    words = (f"A turn links up to {shown(flux, 'mWb')}; {case.turns} turns give {shown(case.coil_constant, 'V·s/rad')} a coil; "
             f"third harmonic {percent(abs(case.third))} of the flux")
    if case.fault:
        return f"{case.fault}: the flux of a coil is no longer the same at every pole. {words}."
    return f"{words}, so the EMF is {'nearly a sine' if abs(3 * case.third) < 0.08 else 'far from a sine'}."


