"""The energy ledger as two rulers of equal length: what gave, where it went; small terms again as detail A."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from evlab.look import BOOK, HEAD, NAME, QUIET, THIN, Build, Desk, Look, Update, fixed, number, shown, spread, width

ORDER = (
    "lift",
    "kinetic",
    "store",
    "rider",
    "rolling",
    "air",
    "bearings",
    "chain",
    "motor_drag",
    "copper",
    "bridge",
    "stand_by",
    "esr",
    "slow_branch",
    "brake",
)
GIVERS = {"store": "the store", "lift": "the height", "kinetic": "the motion", "air": "the wind"}
GIVERS |= {"rider": "the rider", "source": "the source"}
MARGIN, SMALL, BESIDE = (
    16.0,
    0.045,
    12.0,
)  # paper margin [1/100 inch], share below which a term is small, room between labels
SCALES = tuple(digit * 10**power for power in range(6) for digit in (1, 2, 3, 4, 5, 8))


def ledger_rulers() -> Build:
    """Two rulers of equal length are the balance itself: whatever is negative gave, the rest is where it went.

    Returns build(figure, look) for a figure of at least 5 x 4.2 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return Rulers(figure, look).update

    return build


def both_sides(result: Any) -> tuple[dict[str, float], dict[str, float]]:
    """What gave and where it went, both positive [J]; a term below the allowed closure cannot be told from nothing."""
    keys = [k for k in ORDER if k in result.ledger] + [k for k in result.ledger if k not in ORDER]
    told = {k: result.ledger[k] for k in keys if abs(result.ledger[k]) > result.closure_allowed}
    return {k: v for k, v in told.items() if v > 0}, {k: -v for k, v in told.items() if v < 0}


def and_list(words: Sequence[str]) -> str:
    """'the height, the wind and the store'."""
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1]))) if words else "nothing"


def label(key: str) -> str:
    """A ledger term's name in words."""
    return BOOK["ledger"][key]["label"]


def ledger_reading(gives: dict[str, float], uses: dict[str, float]) -> str:
    """What the rulers show now, in one sentence with numbers."""
    total = sum(gives.values())
    if not total or not uses:
        return "Nothing has moved yet; the ledger is empty."
    givers = and_list([GIVERS.get(k, label(k)) for k in sorted(gives, key=lambda k: -gives[k])])
    kept = sum(uses.get(k, 0.0) for k in ("lift", "kinetic", "store"))
    lost = {k: v for k, v in uses.items() if BOOK["ledger"][k]["kind"] == "lost"}
    words = f"{givers[0].upper()}{givers[1:]} gave {shown(total, 'J')}"
    if kept > 0:
        where = and_list(
            [
                {"lift": "height", "kinetic": "motion", "store": "store"}[k]
                for k in ("lift", "kinetic", "store")
                if k in uses
            ]
        )
        words += f"; {number(100 * kept / total, 2)}{THIN}% of it is kept in {where}"
    if lost:
        most = max(lost, key=lambda k: lost[k])
        words += f"; the largest loss is {label(most)} with {shown(lost[most], 'J')}"
    return words + "."


def ledger_alt(reading: str, gives: dict[str, float], uses: dict[str, float]) -> str:
    """The rulers for someone who does not see them, at most 80 words."""
    largest = sorted(uses, key=lambda k: -uses[k])
    terms = [f"{label(k)} {shown(uses[k], 'J')}" for k in largest[:8]]
    if largest[8:]:
        terms.append(f"{len(largest) - 8} smaller {shown(sum(uses[k] for k in largest[8:]), 'J')}")
    gave = ", ".join(f"{label(k)} {shown(v, 'J')}" for k, v in gives.items()) if len(gives) > 1 else ""
    return (
        f"Energy ledger, two rulers. {reading}"
        + (f" Gave: {gave}." if gave else "")
        + (f" Went: {', '.join(terms)}." if terms else "")
    )


class Rulers:
    """The rulers on one figure.  Made by `ledger_rulers`; everything but the heads is drawn anew in each update."""

    def __init__(self, figure: Figure, look: Look):
        self.look, desk = look, Desk(figure)
        self.wide, self.high, self.span = desk.wide, desk.high, desk.wide - 2 * MARGIN
        self.axes = figure.add_axes((0, 0, 1, 1))
        self.axes.set(xlim=(0, desk.wide), ylim=(0, desk.high))
        self.axes.axis("off")
        self._say(MARGIN, self.high - 22, "What gave", look.ink, HEAD, True)
        self._say(MARGIN, self.high - 114, "Where it went", look.ink, HEAD, True)
        self.closure_at = MARGIN + width("What gave", HEAD, True) + 18

    def update(self, result: Any, pinned: Any = None) -> tuple[str, str]:
        """Draw this result's balance; a pinned result's figures stand in brackets."""
        gives, uses = both_sides(result)
        self.total = max(sum(gives.values()), sum(uses.values()))
        self.pinned: dict[str, float] | None = None
        if pinned is not None:
            gave, used = both_sides(pinned)
            self.pinned = gave | {k: -v for k, v in used.items()}
        self._closure(result)
        if self.total:
            self._gives(gives)
            self._uses(uses)
        reading = ledger_reading(gives, uses)
        return ledger_alt(reading, gives, uses), reading

    # ------------------------------------------------------------ pieces
    def _say(
        self, x: float, y: float, words: str, colour: str, size: float = QUIET, bold: bool = False, ha: str = "left"
    ) -> None:
        self.axes.text(
            x,
            y,
            words,
            color=colour,
            fontsize=size,
            fontweight="bold" if bold else "normal",
            ha=ha,
            va="center_baseline",
        )

    def _block(self, x: float, y: float, wide: float, high: float, key: str) -> None:
        self.axes.add_artist(Rectangle((x, y), max(wide, 1.5), high, zorder=2, **self.look.fill(key)))

    def _thin(self, xs: Sequence[float], ys: Sequence[float]) -> None:
        self.axes.add_artist(Line2D(xs, ys, color=self.look.ink2, lw=0.8, ls="-", zorder=1))

    def _closure(self, result: Any) -> None:
        closed = abs(result.closure) <= result.closure_allowed
        words = f"closure {fixed(result.closure, 3)}{THIN}J, allowed {fixed(result.closure_allowed, 3)}{THIN}J"
        self._say(
            self.closure_at,
            self.high - 22.5,
            words if closed else f"does not close: {words}",
            self.look.ink2 if closed else self.look.ink,
            bold=not closed,
        )
        if self.pinned is not None:
            self._say(self.wide - MARGIN, self.high - 22.5, "in brackets: pinned", self.look.ink2, ha="right")

    def _gives(self, gives: dict[str, float]) -> None:
        """The upper ruler; a name that does not fit into its block stands under it."""
        x, bottom, under = MARGIN, self.high - 76, []
        for key in sorted(gives, key=lambda k: -gives[k]):
            wide = gives[key] / self.total * self.span
            self._block(x, bottom, wide, 34, key)
            words = f"{label(key)}   {shown(gives[key], 'J')}" + f"   {self._was(key, True)}".rstrip()
            longer = words + f"   =   {shown(gives[key] / 3600, 'Wh')}"
            fit = next((w for w in (longer if len(gives) == 1 else words, words) if width(w) + 20 < wide), "")
            if fit:
                self._say(x + 10, bottom + 17, fit, self.look.ink, NAME)
            else:
                under.append((x, wide, key, words))
            x += wide
        rooms = [width(words, QUIET) + BESIDE for *_, words in under]
        starts = spread([x + w / 2 - 4 for x, w, _, _ in under], rooms, MARGIN, self.wide - MARGIN + BESIDE)
        for (x, wide, key, words), start in zip(under, starts, strict=True):
            self._thin([x + wide / 2, x + wide / 2, start + 4], [bottom - 1, bottom - 4, bottom - 8])
            self._say(start, bottom - 15, words, self.look.text(key))

    def _was(self, key: str, gave: bool = False) -> str:
        """The pinned result's joules in brackets; minus where the term stood in the other ruler then."""
        if self.pinned is None:
            return ""
        return f"({shown(self.pinned.get(key, 0.0) * (1 if gave else -1), 'J')})"

    def _room(self, key: str, joules: float) -> float:
        lines = (width(label(key), NAME, True), width(shown(joules, "J"), QUIET), width(self._was(key), QUIET))
        return max(lines) + BESIDE

    def _split(self, uses: dict[str, float]) -> tuple[list[str], list[str]]:
        """Terms named under the ruler itself, and those for the detail: small ones, and names without room."""
        big = [k for k in uses if uses[k] >= SMALL * self.total]
        while len(big) > 1:
            room = self.span * sum(uses[k] for k in big) / self.total + (BESIDE if len(big) == len(uses) else 0)
            if sum(self._room(k, uses[k]) for k in big) <= room:
                break
            big.remove(min(big, key=lambda k: uses[k]))
        return big, sorted((k for k in uses if k not in big), key=lambda k: -uses[k])

    def _uses(self, uses: dict[str, float]) -> None:
        """The lower ruler, its names, and the detail."""
        big, small = self._split(uses)
        bottom = self.high - 170
        edge = self._row(MARGIN, bottom, big, uses, 1.0)
        self._names(MARGIN, bottom, big, uses, 1.0, edge + (BESIDE if not small else 0))
        if small:
            end = self._row(edge, bottom, small, uses, 1.0)
            self._detail(edge, end, bottom, small, uses)

    def _row(self, x: float, y: float, keys: Sequence[str], uses: dict[str, float], scale: float) -> float:
        for key in keys:
            wide = scale * uses[key] / self.total * self.span
            self._block(x, y, wide, 40, key)
            x += wide
        return x

    def _names(self, x: float, y: float, keys: Sequence[str], uses: dict[str, float], scale: float, end: float) -> None:
        """Name, joules, share under each block, spread, with leaders; those without room are summed in a last label."""
        keys, rooms = list(keys), [self._room(k, uses[k]) for k in keys]
        left_over: list[str] = []
        while sum(rooms) + (95 if left_over else 0) > end - MARGIN and len(keys) > 1:
            left_over.append(keys.pop())
            rooms.pop()
        starts = []
        for key in keys:
            starts.append(x + 4)
            x += scale * uses[key] / self.total * self.span
        for start, at, key in zip(
            starts, spread(starts, rooms, MARGIN, end - (95 if left_over else 0)), keys, strict=True
        ):
            self._thin([start, start, at + 4, at + 4], [y - 1, y - 4, y - 10, y - 13])
            self._term(at, y, label(key), uses[key], self.look.text(key), self._was(key))
        if left_over:
            self._term(end - 95, y, f"{len(left_over)} smaller", sum(uses[k] for k in left_over), self.look.ink, "")

    def _term(self, x: float, y: float, name: str, joules: float, colour: str, was: str) -> None:
        self._say(x, y - 22, name, colour, NAME, True)
        self._say(x, y - 39, shown(joules, "J"), self.look.ink)
        self._say(x, y - 55, f"{number(100 * joules / self.total, 2)}{THIN}%", self.look.ink2)
        if was:
            self._say(x, y - 71, was, self.look.ink2)

    def _detail(self, left: float, right: float, bottom: float, small: Sequence[str], uses: dict[str, float]) -> None:
        """As on a workshop drawing: the same order drawn so many times wider, tied to its place in the ruler above."""
        y, rest = 84.0, sum(uses[k] for k in small) / self.total
        scale = max((s for s in SCALES if s * rest <= 0.985), default=1)
        start, end = self.wide - MARGIN - scale * rest * self.span, self.wide - MARGIN
        knee = bottom - (76 if self.pinned is not None else 62)
        self.axes.fill(
            [left, right, right, end, start, left],
            [bottom - 4, bottom - 4, knee, y + 44, y + 44, knee],
            color=self.look.band,
            lw=0,
            zorder=0,
        )
        for top, foot in ((left, start), (right, end)):
            self._thin([top, top, foot], [bottom - 4, knee, y + 44])
        self._thin([left, left, right, right], [bottom + 42, bottom + 46, bottom + 46, bottom + 42])
        self._say(
            (left + right) / 2 if right - left > 12 else right - 5,
            bottom + 55,
            "A",
            self.look.ink,
            NAME,
            True,
            "center",
        )
        self._say(
            end - 8,
            y + 54,
            "detail A" + (f", drawn {scale} times wider" if scale > 1 else ""),
            self.look.ink,
            ha="right",
        )
        self._row(start, y, small, uses, scale)
        self._names(start, y, small, uses, scale, self.wide - MARGIN + BESIDE)
