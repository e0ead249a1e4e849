"""The visual language in code: colours and dashes by name, direct labels, limits, number formats.

A picture is a callable ``build(figure, look) -> update(result, pinned=None) -> (alt text, reading)``.
``build`` draws what stays (paper, grid, names); ``update`` either moves artists registered with ``look.live(...)``, or
makes loose ones anew, which ``look.sweep(figure)`` takes away before the next update.  Axis limits never change in an
update, so a ``Plate`` paints what moves over a kept background.  No pyplot, no widgets.
"""

from __future__ import annotations

import functools
import io
import math
import pathlib
import tomllib
from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeAlias, cast

import matplotlib
import matplotlib.colors
import matplotlib.font_manager
import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ft2font import FT2Font, LoadFlags
from matplotlib.lines import Line2D
from matplotlib.text import Text

FILES = pathlib.Path(__file__).parent / "look_files"
BOOK: dict[str, Any] = tomllib.loads((FILES / "quantities.toml").read_text(encoding="utf-8"))
THIN, MINUS, TIMES = "\u2009", "\u2212", "\u00d7"
NAME, QUIET, HEAD = 10.5, 9.5, 11.5  # type sizes [pt]; nothing is smaller than 9
# shown = factor * SI + offset; others are SI
FROM_SI = {"%": (100.0, 0.0), "°C": (1.0, -273.15), "kJ": (1e-3, 0.0), "mWb": (1e3, 0.0), "mV": (1e3, 0.0), "kA/m": (1e-3, 0.0)}

Update: TypeAlias = Callable[..., tuple[str, str]]
Build: TypeAlias = "Callable[[Figure, Look], Update]"


class Look:
    """One theme.  ``look.line("store_volts")`` and ``look.text(...)`` give colours; names as in quantities.toml."""

    def __init__(self, dark: bool = False):
        theme = BOOK["theme"]["dark" if dark else "light"]
        self.dark, self.name = dark, "dark" if dark else "light"
        self.paper, self.ink, self.ink2 = str(theme["paper"]), str(theme["ink"]), str(theme["ink2"])
        self.rule, self.band = str(theme["rule"]), str(theme["band"])
        self.moving: list[Artist] = []
        self.staying: set[Artist] = set()

    def _place(self, name: str) -> dict[str, str]:
        for shelf in ("quantity", "ledger", "held"):
            if name in BOOK[shelf]:
                name = BOOK[shelf][name]["place"]
        return BOOK["place"][name][self.name]

    def line(self, name: str) -> str:
        """The colour of strokes and edges of a quantity, a ledger term or a place."""
        return self._place(name)["line"]

    def text(self, name: str) -> str:
        """The same hue for words."""
        return self._place(name)["text"]

    def tint(self, name: str, share: float) -> tuple[float, ...]:
        """The line colour mixed into the paper: 1 is full colour, 0 is paper."""
        colour, paper = (matplotlib.colors.to_rgb(c) for c in (self.line(name), self.paper))
        return tuple(share * c + (1 - share) * p for c, p in zip(colour, paper, strict=True))

    def stroke(self, name: str, width: float = 2.0) -> dict[str, Any]:
        """Keyword arguments for a curve of this quantity."""
        dash = BOOK["quantity"][name]["dash"]
        return {
            "color": self.line(name),
            "lw": width,
            "ls": (0, tuple(dash)) if dash else "-",
            "solid_capstyle": "round",
            "dash_capstyle": "butt",
        }

    def fill(self, name: str) -> dict[str, Any]:
        """Keyword arguments for a ledger area: pale when the energy can come back, strong when it is gone."""
        entry = BOOK["ledger"][name]
        share = 0.42 if entry["hatch"] else {"gives": 0.30, "kept": 0.22, "lost": 0.80}[entry["kind"]]
        return {
            "facecolor": self.tint(name, share),
            "edgecolor": self.line(name),
            "linewidth": 1.0,
            "hatch": entry["hatch"] or None,
            "hatchcolor": self.paper,
        }

    def live(self, artist: Any) -> Any:
        """Register an artist that updates move; it is painted over the kept background, and no sweep takes it.  Returns it."""
        self.moving.append(artist)
        self.staying.add(artist)
        return artist

    def settle(self, figure: Figure) -> None:
        """After build: remember what stays."""
        self.staying |= set(_artists(figure))

    def loose(self, figure: Figure) -> list[Artist]:
        """What the last update made anew."""
        return [a for a in _artists(figure) if a not in self.staying]

    def sweep(self, figure: Figure) -> None:
        """Take away what the last update made anew."""
        for artist in self.loose(figure):
            artist.remove()


def _artists(figure: Figure) -> Iterable[Artist]:
    owners: list[Any] = [figure, *figure.axes]
    for owner in owners:
        for kind in (getattr(owner, "images", ()), owner.lines, owner.patches, owner.texts, getattr(owner, "collections", ())):
            yield from kind


# ---------------------------------------------------------------- paper
@functools.cache
def style(dark: bool = False) -> Any:
    """The theme's matplotlib settings, for `matplotlib.rc_context`."""
    path = FILES / ("evlab-dark.mplstyle" if dark else "evlab.mplstyle")
    return dict(matplotlib.rc_params_from_file(path, use_default_template=False))


def drawing() -> Any:
    """Hold this while pixels are made: letters keep their true spacing (matplotlib reads it when it draws)."""
    return matplotlib.rc_context({"text.hinting": "none"})


def draw(
    build: Build,
    result: Any,
    dark: bool = False,
    size: tuple[float, float] = (8.0, 5.6),
    dpi: float = 100,
    pinned: Any = None,
) -> tuple[Figure, str, str]:
    """A finished still picture: figure, alt text, reading.  Save it inside ``with drawing():``."""
    look = Look(dark)
    with matplotlib.rc_context(style(dark)):
        figure = Figure(figsize=size, dpi=dpi)
        update = build(figure, look)
        look.settle(figure)
        alt, reading = update(result, pinned)
    return figure, alt, reading


class Plate:
    """A picture that follows sliders: the background is kept, only what moves is painted again (blitting)."""

    def __init__(self, build: Build, dark: bool = False, size: tuple[float, float] = (7.31, 5.45), dpi: float = 100):
        self.look, self._rc = Look(dark), style(dark)
        with matplotlib.rc_context(self._rc):
            self.figure = Figure(figsize=size, dpi=dpi)
            self.canvas: Any = FigureCanvasAgg(self.figure)
            self._update = build(self.figure, self.look)
        self.look.settle(self.figure)
        self._ground: Any = None
        self.full_draws = self.blits = 0

    def show(self, result: Any, pinned: Any = None) -> tuple[str, str]:
        """Bring the pixels up to date.  Returns (alt text, reading)."""
        self.look.sweep(self.figure)
        with matplotlib.rc_context(self._rc):
            words = self._update(result, pinned)
            with drawing():
                self._paint()
        return words

    def _paint(self) -> None:
        moving = self._in_order([*self.look.moving, *self.look.loose(self.figure)])
        for artist in moving:
            artist.set_animated(True)
        if self._ground is None:
            self.canvas.draw()
            self._ground = self.canvas.copy_from_bbox(self.figure.bbox)
            self.full_draws += 1
        else:
            self.canvas.restore_region(self._ground)
            self.blits += 1
        for artist in moving:
            (artist.axes or self.figure).draw_artist(artist)

    def _in_order(self, artists: list[Artist]) -> list[Artist]:
        """As a full drawing would take them: axes by axes, lowest first, the figure's own last."""
        by_height = sorted(self.figure.axes, key=lambda axes: axes.get_zorder())
        rank: dict[Any, int] = {axes: i for i, axes in enumerate(by_height)}
        return sorted(artists, key=lambda a: (rank.get(a.axes, len(rank)), a.get_zorder()))

    def png(self) -> bytes:
        """The picture as PNG bytes, fast rather than small."""
        from PIL import Image

        page = io.BytesIO()
        size, pixels = self.canvas.get_width_height(), self.canvas.buffer_rgba()
        Image.frombuffer("RGBA", size, pixels, "raw", "RGBA", 0, 1).convert("RGB").save(page, "png", compress_level=1)
        return page.getvalue()


class Desk:
    """Places on a figure in hundredths of an inch (screen pixels at 100 dots per inch), from its lower left corner."""

    def __init__(self, figure: Figure):
        self.figure = figure
        self.wide, self.high = (100 * float(inches) for inches in figure.get_size_inches())

    def axes(self, left: float, bottom: float, wide: float, high: float) -> Axes:
        """Axes on this rectangle, without a frame."""
        axes = self.figure.add_axes((left / self.wide, bottom / self.high, wide / self.wide, high / self.high))
        for spine in axes.spines.values():
            spine.set_visible(False)
        return axes

    def text(self, x: float, y: float, words: str, colour: str, size: float = NAME, bold: bool = False) -> Text:
        """Words of the figure from x on, centred on the height y."""
        weight = "bold" if bold else "normal"
        return self.figure.text(
            x / self.wide, y / self.high, words, color=colour, fontsize=size, va="center", fontweight=weight
        )

    def sample(self, look: Look, x: float, y: float, name: str, wide: float = 26, colour: str = "") -> Line2D:
        """A short piece of a quantity's line, beside its name; in another colour where one is given."""
        line = Line2D([x / self.wide, (x + wide) / self.wide], [y / self.high] * 2)
        line.set(**look.stroke(name) | ({"color": colour} if colour else {}))
        self.figure.add_artist(line)
        return line


# ---------------------------------------------------------------- marks and labels
def extent(axes: Axes) -> tuple[float, float]:
    """Width and height of the axes [1/100 inch]."""
    box, sizes = axes.get_position(), cast(Figure, axes.figure).get_size_inches()
    return 100 * box.width * float(sizes[0]), 100 * box.height * float(sizes[1])


def limit(
    axes: Axes, look: Look, forbidden: str = "above", spacing: float = 9.7, tick: float = 5.0
) -> Callable[[float], None]:
    """A limit: a thin line with ticks on its forbidden side, as on a drawing.  It needs no colour.

    Parameters: `axes`; `look`; `forbidden`, "above", "below" or "right"; `spacing` of the ticks and `tick`, their length
    [1/100 inch].
    Returns a function that moves the line to a height of the axes (or, upright, to a place along them).  Call it in build.
    """
    (wide, tall), (low, high), (foot, head) = extent(axes), axes.get_xlim(), axes.get_ylim()
    if forbidden == "right":  # the same lying on its side
        wide, tall, low, high, foot, head = tall, wide, foot, head, low, high
    turn, span = -1 if forbidden == "below" else 1, head - foot
    feet = np.arange(spacing, wide - 0.5 * tick, spacing) / wide * (high - low) + low
    lean, rise = 0.58 * tick / wide * (high - low), turn * tick / tall * span
    nan = np.full_like(feet, np.nan)
    xs = np.concatenate([[low, high, np.nan], np.column_stack([feet, feet + lean, nan]).ravel()])
    rises = np.concatenate([[0, 0, np.nan], np.column_stack([0 * feet, 0 * feet + rise, nan]).ravel()])
    line = look.live(axes.add_line(Line2D(xs, rises * np.nan, color=look.ink2, lw=0.9, ls="-", zorder=2.2)))

    def move(at: float) -> None:
        line.set_data(*((at + rises, xs) if forbidden == "right" else (xs, at + rises)))

    return move


def mark(axes: Axes, digit: int, look: Look, y: float = 1.0) -> Text:
    """An event's numbered flag at x = 0 (y in axes coordinates); it is moved with ``set_x``."""
    disc = {"boxstyle": "circle,pad=0.22", "facecolor": look.ink, "edgecolor": "none"}
    return axes.text(
        0,
        y,
        str(digit),
        transform=axes.get_xaxis_transform(),
        ha="center",
        va="center_baseline",
        bbox=disc,
        fontsize=9,
        zorder=6,
        color=look.paper,
        fontweight="bold",
        clip_on=False,
    )


def spread(wanted: Sequence[float], sizes: Sequence[float], low: float, high: float) -> list[float]:
    """Starts near the wanted ones for labels of these sizes, in order, without overlap, inside low..high."""
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    starts, free = [0.0] * len(wanted), low
    for i in order:
        starts[i] = max(wanted[i], free)
        free = starts[i] + sizes[i]
    top = high
    for i in reversed(order):
        starts[i] = min(starts[i], top - sizes[i])
        top = starts[i]
    return starts


def beside(axes: Axes, look: Look, labels: Sequence[tuple[float, str, str, bool]], gap: float = 14) -> None:
    """Direct labels right of the axes, spread so that they never touch, each with a short leader to its height.

    labels: (y in data, text, colour, bold).  They are loose artists: call it in an update.
    """
    (wide, tall), (low, high) = extent(axes), axes.get_ylim()
    heights = [min(max((y - low) / (high - low), 0.0), 1.0) * tall for y, *_ in labels]
    sizes = [17.5 * (words.count("\n") + 1) + 3 for _, words, _, _ in labels]
    starts = spread([h - s / 2 for h, s in zip(heights, sizes, strict=True)], sizes, -8, tall + 8)
    for (_, words, colour, bold), foot, start, size in zip(labels, heights, starts, sizes, strict=True):
        centre = (start + size / 2) / tall
        axes.plot(
            [1 + 2 / wide, 1 + gap / wide],
            [foot / tall, centre],
            transform=axes.transAxes,
            color=colour,
            lw=0.9,
            ls="-",
            clip_on=False,
        )
        axes.text(
            1 + (gap + 5) / wide,
            centre,
            words,
            transform=axes.transAxes,
            va="center_baseline",
            color=colour,
            fontweight="bold" if bold else "normal",
        )


@functools.cache
def _advance(sign: str, bold: bool) -> float:
    """Width of one sign in ems."""
    font = _font(bold)
    return font.load_char(ord(sign), LoadFlags.NO_HINTING).linearHoriAdvance / 65536 / 100


@functools.cache
def _font(bold: bool) -> FT2Font:
    sought = matplotlib.font_manager.FontProperties(family="DejaVu Sans", weight="bold" if bold else "normal")
    font = FT2Font(matplotlib.font_manager.findfont(sought))
    font.set_size(100, 72)
    return font


def width(words: str, size: float = NAME, bold: bool = False) -> float:
    """How wide these words are drawn [1/100 inch]."""
    return sum(_advance(sign, bold) for sign in words) * size / 0.72


# ---------------------------------------------------------------- numbers
def from_si(name: str, values: Any) -> Any:
    """Values of a quantity of quantities.toml, brought from SI to the unit it is shown in."""
    factor, offset = FROM_SI.get(BOOK["quantity"][name]["unit"], (1.0, 0.0))
    return values * factor + offset


def number(value: float, figures: int = 3) -> str:
    """Three significant figures, true minus, thin spaces from 10 000 up; a power of ten below 1e-4 and from 1e7."""
    if math.isnan(value):
        return "not a number"
    if math.isinf(value):
        return ("" if value > 0 else MINUS) + "infinite"
    if value == 0:
        return "0"
    power = math.floor(math.log10(abs(value)))
    if round(abs(value), figures - 1 - power) >= 10 ** (power + 1):  # 9.996 -> 10.0, not 10.00
        power += 1
    if not -4 <= power < 7:
        raised = str(power).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
        return f"{fixed(value / 10**power, figures - 1)}{THIN}{TIMES}{THIN}10{raised}"
    places = figures - 1 - power
    return fixed(round(value, places), max(places, 0))


def fixed(value: float, places: int) -> str:
    """So many decimals, true minus (never before a zero), thin spaces from 10 000 up."""
    digits = f"{abs(value):.{places}f}"
    whole, dot, rest = digits.partition(".")
    if len(whole) > 4:
        whole = f"{int(whole):,}".replace(",", THIN)
    return (MINUS if value < 0 and float(digits) else "") + whole + dot + rest


def setting(value: float, unit: str = "") -> str:
    """A value that somebody chose: as short as it was written, '45 A', '0.97'."""
    words = number(round(value, 9), 6)
    return (words.rstrip("0").rstrip(".") if "." in words else words) + (f"{THIN}{unit}" if unit else "")


def shown(value: float, unit: str = "", plus_minus: float | None = None, figures: int = 3) -> str:
    """'23.4 V', '23.4 ± 0.6 V': the spread has one figure (two if it begins with 1) and sets the last place."""
    unit = f"{THIN}{unit}" if unit else ""
    if not plus_minus or not math.isfinite(plus_minus) or not math.isfinite(value):
        return number(value, figures) + unit
    power = math.floor(math.log10(abs(plus_minus)))
    places = (1 if abs(plus_minus) / 10**power < 1.95 else 0) - power
    value, plus_minus = round(value, places), round(abs(plus_minus), places)
    return f"{fixed(value, max(places, 0))} ± {fixed(plus_minus, max(places, 0))}{unit}"
