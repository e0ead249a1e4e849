"""What a learner sees, read back: the rows of the numbers, the numbers in a sentence, what is drawn on a picture, and the cautions.

For tests that hold it against a second route.  Nothing here works a value out, and nothing here knows a page.

    rows = seen_rows(page, result, index)                  {label: Seen}, as they stand in the table beside a picture
    assert_rows(rows, {"Ratio": (76 / 15, "")})            every row, no more and no less; half of the last figure is allowed
    assert_says("takes {} N at {} m/s", words, 131.0, 2.4) the numbers in a sentence, where the braces stand
    drawn = Drawn(build, case)                             a finished picture: .curve() .marks() .words() .names() .ticks() ...
"""

from __future__ import annotations

import html
import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.colors import same_color
from matplotlib.lines import Line2D
from matplotlib.text import Annotation

from evlab.look import THIN, Look, draw

__all__ = ["Drawn", "Seen", "agrees", "assert_rows", "assert_says", "assert_worked", "cautions_that_say", "first_number",
           "numbers_in", "plain", "seen_rows", "silent_and_speaks"]

RAISED = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
NUMBER = rf"[-−]?(?:\d{{1,3}}(?:{THIN}\d{{3}})+|\d+)(?:\.\d+)?(?:{THIN}?×{THIN}?10[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)?"


# ---------------------------------------------------------------- numbers as they are written
@dataclass(frozen=True)
class Seen:
    """A number as it stands on the page: its `text`, `value`, `unit`, and `half` of its last figure (of three, where it has more
    digits before the point)."""

    text: str
    value: float
    unit: str
    half: float


def read_number(text: str, unit: str = "") -> Seen:
    """'−1 234', '0.346', '2.5 × 10⁻⁵', 'none' (not a number), 'no limit' (infinite)."""
    if text in ("none", "no limit"):
        return Seen(text, math.nan if text == "none" else math.inf, unit, 0.0)
    digits, _, power = text.replace(THIN, "").replace("−", "-").partition("×")
    tens = 10.0 ** int(power[2:].translate(RAISED)) if power else 1.0
    whole, point, rest = digits.lstrip("-").partition(".")
    last = -len(rest) if point else max(len(whole) - 3, 0)
    return Seen(text, float(digits) * tens, unit, 0.5 * 10.0**last * tens)


def agrees(seen: Seen, value: float, rel: float = 0.0) -> bool:
    """Whether what is shown is this value: half of the last figure, and `rel` of the value, are allowed."""
    if not math.isfinite(value) or not math.isfinite(seen.value):
        return bool(seen.value == value or (math.isnan(seen.value) and math.isnan(value)))
    return abs(seen.value - value) <= seen.half * (1 + 1e-6) + rel * abs(value)


def plain(words: str) -> str:
    """The words without tags and thin spaces, with a plain minus."""
    bare = html.unescape(re.sub(r"<[^>]+>", " ", words))
    return re.sub(r"\s+", " ", bare.replace(THIN, " ").replace("−", "-")).strip()


def numbers_in(words: str) -> list[Seen]:
    """All numbers of a sentence in their order."""
    return [read_number(found) for found in re.findall(rf"(?<![\w.]){NUMBER}", words)]


def first_number(after: str, words: str) -> Seen:
    """The first number behind some words of a sentence."""
    at = words.find(after)
    assert at >= 0, f"{after!r} is not in: {words}"
    return numbers_in(words[at + len(after):])[0]


def _pattern(template: str) -> str:
    """A template as a regular expression: {} stands for a number; a space may be a thin one, and a minus a true one."""
    made = [re.escape(piece).replace(r"\ ", rf"[ {THIN}]+").replace(r"\-", "[-−]") for piece in template.split("{}")]
    return f"({NUMBER})".join(made)


def assert_says(template: str, words: str, *values: float, rel: float = 0.0) -> None:
    """A piece of the sentence, word by word, and its numbers: each {} of the template is one of the values."""
    found = re.search(_pattern(template), words)
    assert found, f"{template!r} is not said in: {words}"
    seen = [read_number(text) for text in found.groups()]
    assert len(seen) == len(values), "as many values as braces"
    for number, value in zip(seen, values, strict=True):
        assert agrees(number, value, rel), f"{template!r} says {number.text}, should be {value:.6g}, in: {words}"


# ---------------------------------------------------------------- the numbers beside a picture
def seen_rows(page: Any, result: Any, index: int = 0, vehicle: Any = None) -> dict[str, Seen]:
    """{label: what stands there} of the table beside a picture, as the page writes it while its controls move."""
    from evlab.workbench.readouts import Numbers

    table = Numbers(page)
    table.readouts = page.numbers_of(index)
    table.show(result, result.vehicle if vehicle is None else vehicle)
    rows = {}
    for row in re.findall(r"<tr><th scope=row>(.*?)</tr>", table.value):
        label, value, _, unit = (html.unescape(re.sub(r"<[^>]+>", "", cell)) for cell in re.split(r"</t[hd]>", row)[:4])
        assert label not in rows, f"two rows are called {label}"
        rows[label] = read_number(value, unit)
    return rows


def assert_rows(rows: Mapping[str, Seen], expected: Mapping[str, tuple[Any, ...]]) -> None:
    """Every row, by its label: (value in the unit shown, unit) or (value, unit, share by which the second route may differ)."""
    assert list(rows) == list(expected), f"the rows are {list(rows)}"
    wrong = []
    for label, (value, unit, *rel) in expected.items():
        row = rows[label]
        if row.unit != unit or not agrees(row, float(value), *rel):
            wrong.append(f"{label}: shows {row.text} {row.unit}, should be {value:.6g} {unit}")
    assert not wrong, "; ".join(wrong)


# ---------------------------------------------------------------- worked equations
def assert_worked(worked: Any, expected: Sequence[tuple[Any, ...]]) -> None:
    """The equations that a page works, in their order: (name of the equation, what comes out in SI) or with the share by which the
    second route may differ."""
    rows = [(row.equation.__name__, float(row.equation(**row.values))) for row in worked.rows]
    assert [name for name, _ in rows] == [name for name, *_ in expected], [name for name, _ in rows]
    wrong = [f"{name}: {value:.6g}, should be {should:.6g}" for (name, value), (_, should, *rel) in zip(rows, expected, strict=True)
             if not math.isclose(value, should, rel_tol=rel[0] if rel else 1e-4)]
    assert not wrong, "; ".join(wrong)


# ---------------------------------------------------------------- pictures
class Drawn:
    """A finished picture of one case: `figure`, `axes` (in the order in which they were made), `alt`, `reading`, `look`."""

    def __init__(self, build: Callable[..., Any], case: Any, *, pinned: Any = None, size: tuple[float, float] = (8.0, 5.6),
                 dark: bool = False) -> None:
        self.figure, self.alt, self.reading = draw(build, case, dark, size, 100, pinned)
        self.axes, self.look = self.figure.axes, Look(dark)
        assert self.reading in self.alt, "the sentence is part of the alt text"

    # ------------------------------------------------------------ lines
    def lines(self, axes: int = 0) -> list[tuple[Any, Any]]:
        """(x, y) of every line that follows the axes, in data; leaders of names are left out."""
        return [_data(line) for line in self.axes[axes].lines if line.get_transform() == self.axes[axes].transData]

    def curves(self, name: str, axes: int = 0, *, colour: str = "") -> list[tuple[Any, Any]]:
        """(x, y) of the curves in the stroke of a quantity (its dash, and its colour or another one); ghosts are not among them."""
        stroke = self.look.stroke(name)
        dash = Line2D([], [], ls=stroke["ls"])._unscaled_dash_pattern  # type: ignore[attr-defined]
        return [_data(line) for line in self.axes[axes].lines
                if same_color(line.get_color(), colour or stroke["color"]) and line._unscaled_dash_pattern == dash
                and line.get_linestyle() != "None" and len(line.get_xdata()) > 2]

    def curve(self, name: str, axes: int = 0, *, colour: str = "") -> tuple[Any, Any]:
        """The one curve of this quantity."""
        found = self.curves(name, axes, colour=colour)
        assert len(found) == 1, f"{len(found)} curves of {name}"
        return found[0]

    def marks(self, marker: str, axes: int = 0) -> list[tuple[float, float]]:
        """(x, y) of every dot, ring, cross ... of this marker."""
        return [(float(x), float(y)) for line in self.axes[axes].lines if line.get_marker() == marker
                for x, y in zip(*_data(line), strict=True)]

    def level_lines(self, axes: int = 0) -> list[float]:
        """Heights of straight level lines of two points."""
        return [float(y[0]) for x, y in self.lines(axes) if len(y) == 2 and y[0] == y[1] and x[0] != x[1]]

    def upright_lines(self, axes: int = 0) -> list[float]:
        """Places of straight upright lines of two points."""
        return [float(x[0]) for x, y in self.lines(axes) if len(x) == 2 and x[0] == x[1] and y[0] != y[1]]

    # ------------------------------------------------------------ words
    def words(self, axes: int | None = 0) -> dict[str, tuple[float, float]]:
        """{words: where they stand} in an axes (in data), or with None on the figure itself (share of its width and height)."""
        owner = self.figure if axes is None else self.axes[axes]
        home = None if axes is None else self.axes[axes].transData
        return {plain(t.get_text()): t.get_position() for t in owner.texts
                if t.get_text().strip() and (home is None or t.get_transform() == home)}

    def names(self, axes: int = 0) -> dict[str, float]:
        """{name beside the axes: the height in data to which its leader goes}."""
        home = self.axes[axes]
        low, high = home.get_ylim()
        leaders = [line for line in home.lines if line.get_transform() == home.transAxes]
        labels = [t for t in home.texts if t.get_transform() == home.transAxes]
        assert len(leaders) == len(labels), "every name has its leader"
        return {plain(t.get_text()): low + float(line.get_ydata()[0]) * (high - low)
                for line, t in zip(leaders, labels, strict=True)}

    def ticks(self, axes: int = 0) -> tuple[dict[str, float], dict[str, float]]:
        """({words: place along x}, {words: place along y})."""
        home = self.axes[axes]
        return tuple({plain(words): float(at) for at, words in zip(axis.get_ticklocs(), axis.get_major_formatter().format_ticks(
            axis.get_ticklocs()), strict=True)} for axis in (home.xaxis, home.yaxis))  # type: ignore[return-value]

    def all_words(self) -> str:
        """Everything that is written on the picture, as one text."""
        texts = [t.get_text() for owner in (self.figure, *self.axes) for t in owner.texts]
        return plain(" | ".join([*texts, *(a.get_xlabel() for a in self.axes), *(a.get_ylabel() for a in self.axes)]))

    def arrows(self, axes: int = 0) -> list[tuple[tuple[float, float], tuple[float, float]]]:
        """((x, y) of one end, (x, y) of the other) of every dimension arrow."""
        return [(tuple(t.xy), tuple(t.xyann)) for t in self.axes[axes].texts if isinstance(t, Annotation) and not t.get_text()]

    # ------------------------------------------------------------ areas
    def bars(self, axes: int = 0) -> list[tuple[float, float, float, float]]:
        """(left, bottom, width, height) in data of every patch of an axes."""
        boxes = [patch.get_path().transformed(patch.get_patch_transform()).get_extents() for patch in self.axes[axes].patches]
        return [(float(b.x0), float(b.y0), float(b.width), float(b.height)) for b in boxes]

    def areas(self, axes: int = 0) -> list[Any]:
        """The corners (n, 2) of every filled area between curves."""
        return [path.vertices for area in self.axes[axes].collections for path in area.get_paths()]


def _data(line: Line2D) -> tuple[Any, Any]:
    return np.asarray(line.get_xdata(), float), np.asarray(line.get_ydata(), float)


# ---------------------------------------------------------------- cautions
def cautions_that_say(words: str, cautions: Sequence[Any]) -> list[Any]:
    """Those that hold these words."""
    return [c for c in cautions if words in plain(c.words)]


def silent_and_speaks(rule: Callable[[Any], Iterator[Any]], silent: Any, speaks: Any, says: str) -> Any:
    """One rule on two cases, one on each side of its threshold: the caution that the second has and the first has not."""
    assert cautions_that_say(says, list(rule(silent))) == [], "speaks below its threshold"
    found = cautions_that_say(says, list(rule(speaks)))
    assert len(found) == 1, f"{len(found)} cautions say {says!r} above its threshold"
    return found[0]
