"""Single changes of a module: one place of its syntax tree at a time, each of a kind that a slip of the hand might make."""

from __future__ import annotations

import ast
import copy
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

__all__ = ["KINDS", "Change", "changes_of"]

FLIPPED = {ast.Lt: ast.Gt, ast.Gt: ast.Lt, ast.LtE: ast.GtE, ast.GtE: ast.LtE, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
           ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is}
EDGED = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt}
REACHED = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult, ast.FloorDiv: ast.Div}
TWINS = {"max": "min", "min": "max", "argmax": "argmin", "argmin": "argmax", "nanmax": "nanmin", "nanmin": "nanmax",
         "maximum": "minimum", "minimum": "maximum", "ceil": "floor", "floor": "ceil", "sin": "cos", "cos": "sin",
         "degrees": "radians", "radians": "degrees", "any": "all", "all": "any", "abs": "float", "Max": "Min", "Min": "Max",
         "width": "height", "height": "width", "shown": "setting"}
# How a picture looks, not what it says: other tests see that words neither touch nor are cut.
LOOKS = {"color", "lw", "ls", "linewidth", "linewidths", "fontsize", "zorder", "ha", "va", "dpi", "size", "ms", "mew", "mec", "mfc",
         "alpha", "fontweight", "weight", "bold", "bbox", "hatch", "facecolor", "facecolors", "edgecolor", "edgecolors", "ec", "fc",
         "interpolation", "aspect", "origin", "cmap", "wide", "over", "most", "figures", "clip_on", "solid_capstyle", "spacing",
         "tick", "pad", "right", "left", "top", "bottom", "gap"}
PLACED = {"text", "axes", "say", "sample", "set_bbox", "Chart", "extent", "tint", "stroke", "few_ticks", "wrap", "annotate", "_say",
          "even", "thinned", "_boxes", "width", "_axis"}
# Constants beside one of these are lengths on the paper: hundredths of an inch, or shares of an axis.
PAPER = ("self.scale", "per_x", "per_y", "(high - low)", "(right - left)", "_unit(", "wide", "tall", "top", "desk.")
SILENT = {"__all__", "__slots__", "TYPE_CHECKING", "__version__"}


@dataclass(frozen=True)
class Change:
    """One change: the module's `path`, `line`, `kind`, what stood there `before` and `after`; its `tree`, the `way` to the place
    and the `new` node."""

    path: str
    line: int
    kind: str
    before: str
    after: str
    tree: ast.Module
    way: tuple[tuple[str, int | None], ...]
    new: ast.AST

    @property
    def words(self) -> str:
        return f"{self.before}  ->  {self.after}"

    @property
    def source(self) -> str:
        """The whole changed module, without its comments."""
        node: Any = self.tree
        for name, at in self.way[:-1]:
            node = getattr(node, name) if at is None else getattr(node, name)[at]
        (name, at), kept = self.way[-1], None
        if at is None:
            kept = getattr(node, name)
            setattr(node, name, self.new)
        else:
            kept, getattr(node, name)[at] = getattr(node, name)[at], self.new
        try:
            return ast.unparse(ast.fix_missing_locations(self.tree))
        finally:
            if at is None:
                setattr(node, name, kept)
            else:
                getattr(node, name)[at] = kept


class _Place:
    """A node with the way to it, and where it stands."""

    def __init__(self, node: ast.AST, way: tuple[tuple[str, int | None], ...], line: int, looks: bool) -> None:
        self.node, self.way, self.line, self.looks = node, way, line, looks


def _walk(node: ast.AST, way: tuple[tuple[str, int | None], ...] = (), line: int = 0, looks: bool = False,
          text: bool = False) -> Iterator[_Place]:
    """Every node in the order of the source, but for docstrings, annotations, __all__ and decorators."""
    if not text:  # positions inside f-strings are not to be trusted
        line = getattr(node, "lineno", line)
    yield _Place(node, way, line, looks)
    named = node.targets[0] if isinstance(node, ast.Assign) else None
    if isinstance(named, ast.Name) and named.id in SILENT:
        return
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_comment", "keywords_"):
            continue
        for at, child in enumerate(value if isinstance(value, list) else [value]):
            if not isinstance(child, ast.AST):
                continue
            if isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant):
                continue
            quiet = looks or (isinstance(child, ast.keyword) and child.arg in LOOKS) or _on_paper(node, child)
            step = (name, at if isinstance(value, list) else None)
            yield from _walk(child, (*way, step), line, quiet, text or isinstance(node, ast.JoinedStr))


def _on_paper(node: ast.AST, child: ast.AST) -> bool:
    """A bare number that is multiplied or divided by a measure of the paper, or given to `width`."""
    if not isinstance(child, ast.Constant):
        return False
    if isinstance(node, ast.BinOp):
        other = ast.unparse(node.right if child is node.left else node.left)
        return other.endswith(PAPER[:3]) or other.startswith(PAPER[3:])
    return isinstance(node, ast.Compare) and "scale" in ast.unparse(node)


def _called(node: ast.AST) -> str:
    if not isinstance(node, ast.Call):
        return ""
    return node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")


# ---------------------------------------------------------------- the kinds; each gives replacements for a node
def _compare(node: ast.AST, table: dict) -> Iterator[ast.AST]:
    if isinstance(node, ast.Compare) and type(node.ops[0]) in table:
        yield ast.Compare(node.left, [table[type(node.ops[0])](), *node.ops[1:]], node.comparators)


def _flip(node: ast.AST, _: _Module) -> Iterator[ast.AST]:
    yield from _compare(node, FLIPPED)


def _edge(node: ast.AST, _: _Module) -> Iterator[ast.AST]:
    yield from _compare(node, EDGED)


def _arithmetic(node: ast.AST, _: _Module) -> Iterator[ast.AST]:
    if isinstance(node, ast.BinOp) and type(node.op) in REACHED:
        if isinstance(node.op, ast.Add) and any(_is_text(x) for x in (node.left, node.right)):
            return
        yield ast.BinOp(node.left, REACHED[type(node.op)](), node.right)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub) and not isinstance(node.operand, ast.Constant):
        yield node.operand


def _is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


def _boolean(node: ast.AST, _: _Module) -> Iterator[ast.AST]:
    if isinstance(node, ast.BoolOp):
        yield ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), node.values)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield node.operand


def _branch(node: ast.AST, _: _Module) -> Iterator[ast.AST]:
    if isinstance(node, ast.If | ast.IfExp | ast.While):
        made = copy.copy(node)
        made.test = ast.UnaryOp(ast.Not(), node.test)
        yield made


def _constant(node: ast.AST, _: _Module) -> Iterator[ast.AST]:
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        value = node.value
        yield ast.Constant(1.05 * value if isinstance(value, float) and value else value + 1)
        if value not in (0, 1, -1):
            yield ast.Constant(1000 * value)


def _arguments(node: ast.AST, _: _Module) -> Iterator[ast.AST]:
    if isinstance(node, ast.Call) and len(node.args) > 1 and not any(isinstance(a, ast.Starred) for a in node.args[:2]):
        first, second, *rest = node.args
        if ast.dump(first) != ast.dump(second) and _called(node) not in ("isinstance", "zip", "max", "min", "hypot", "getattr"):
            yield ast.Call(node.func, [second, first, *rest], node.keywords)


def _first_last(node: ast.AST, _: _Module) -> Iterator[ast.AST]:
    if isinstance(node, ast.Subscript):
        found = ast.unparse(node.slice)
        if found in ("0", "-1"):
            yield ast.Subscript(node.value, ast.parse("-1" if found == "0" else "0", mode="eval").body, node.ctx)


def _twin(node: ast.AST, _: _Module) -> Iterator[ast.AST]:
    if isinstance(node, ast.Attribute) and node.attr in TWINS:
        yield ast.Attribute(node.value, TWINS[node.attr], node.ctx)
    elif isinstance(node, ast.Name) and node.id in TWINS and isinstance(node.ctx, ast.Load):
        yield ast.Name(TWINS[node.id], node.ctx)


def _other_name(node: ast.AST, module: _Module) -> Iterator[ast.AST]:
    """Another attribute of the same thing, as it is used elsewhere in the module: end volts for start volts."""
    if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load) and id(node) not in module.parts:
        others = module.attributes.get(ast.unparse(node.value), [])
        if node.attr in others and len(others) > 1:
            yield ast.Attribute(node.value, others[(others.index(node.attr) + 1) % len(others)], node.ctx)


def _other_word(node: ast.AST, module: _Module) -> Iterator[ast.AST]:
    """Another of the module's keys, where one is looked up."""
    if isinstance(node, ast.Subscript) and isinstance(node.slice, ast.Constant) and isinstance(node.slice.value, str):
        others = module.keys.get(ast.unparse(node.value), [])
        if len(others) > 1:
            new = others[(others.index(node.slice.value) + 1) % len(others)]
            yield ast.Subscript(node.value, ast.Constant(new), node.ctx)


def _unit(node: ast.AST, _: _Module) -> Iterator[ast.AST]:
    """A number shown in a unit a thousand times as large or small; a row of the numbers with another factor, unit or reading."""
    units = {"mm": "m", "m": "mm", "kJ": "J", "J": "kJ", "mWb": "Wb", "kA/m": "A/m", "N": "kN", "W": "kW", "V": "mV", "A": "mA",
             "s": "min", "m/s": "km/h", "%": "", "mΩ": "Ω", "µH": "mH", "kPa": "MPa", "MPa": "kPa", "g·m²": "kg·m²", "°C": "K"}
    if _called(node) in ("shown", "setting", "Readout") and isinstance(node, ast.Call):
        for at, word in enumerate(node.args[1:2], 1):
            if isinstance(word, ast.Constant) and word.value in units:
                yield ast.Call(node.func, [*node.args[:at], ast.Constant(units[word.value]), *node.args[at + 1:]], node.keywords)


def _other_row(node: ast.AST, _: _Module) -> Iterator[ast.AST]:
    """Neighbouring rows of numbers whose readings are exchanged."""
    if isinstance(node, ast.Tuple) and sum(_called(row) == "Readout" for row in node.elts) > 1:
        rows = [at for at, row in enumerate(node.elts) if _called(row) == "Readout" and len(row.args) > 2]
        for a, b in pairwise(rows):
            elts = list(node.elts)
            one, two = (copy.deepcopy(elts[i]) for i in (a, b))
            one.args[2], two.args[2] = two.args[2], one.args[2]
            elts[a], elts[b] = one, two
            yield ast.Tuple(elts, node.ctx)


def _left_out(node: ast.AST, _: _Module) -> Iterator[ast.AST]:
    """A call whose result nobody takes: something is not drawn, not set, not added."""
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
        yield ast.Pass()


KINDS: dict[str, Callable[[ast.AST, _Module], Iterator[ast.AST]]] = {
    "comparison": _flip, "edge": _edge, "arithmetic": _arithmetic, "and, or": _boolean, "branch": _branch, "constant": _constant,
    "arguments": _arguments, "first, last": _first_last, "twin": _twin, "other name": _other_name, "other key": _other_word,
    "unit": _unit, "other row": _other_row, "left out": _left_out}


# ---------------------------------------------------------------- of a module
class _Module:
    """What some kinds ask of the module: attributes and keys that are used of the same thing."""

    def __init__(self, tree: ast.Module) -> None:
        self.attributes: dict[str, list[str]] = {}
        self.keys: dict[str, list[str]] = {}
        methods = {id(n.func) for n in ast.walk(tree) if isinstance(n, ast.Call)}
        methods |= {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Attribute)}  # a part, not a number of it
        self.parts = methods
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and id(node) not in methods and isinstance(node.ctx, ast.Load):
                _add(self.attributes, ast.unparse(node.value), node.attr)
            if isinstance(node, ast.Subscript) and isinstance(node.slice, ast.Constant) and isinstance(node.slice.value, str):
                _add(self.keys, ast.unparse(node.value), node.slice.value)


def _add(table: dict[str, list[str]], name: str, word: str) -> None:
    if word not in table.setdefault(name, []):
        table[name].append(word)


def changes_of(path: str, source: str, picture: bool = False) -> list[Change]:
    """Every single change of a module, in the order of its source.

    Parameters: `path` to be told; `source`; `picture`, that what only places words and lines is left out.
    """
    tree = ast.parse(source)
    module, found = _Module(tree), []
    placed: tuple[tuple[str, int | None], ...] = ("?",)  # type: ignore[assignment]
    for place in _walk(tree):
        if picture and place.way[: len(placed)] != placed and _called(place.node) in PLACED:
            placed = place.way
        inside = picture and (place.looks or place.way[: len(placed)] == placed)
        for kind, make in KINDS.items():
            if not place.way or (inside and (place.looks or kind in ("constant", "arguments", "twin", "arithmetic", "left out"))):
                continue
            if picture and kind == "other name" and ast.unparse(place.node).startswith(("desk.", "look.", "self.look.")):
                continue
            for new in make(place.node, module):
                before, after = (_short(ast.unparse(ast.fix_missing_locations(n))) for n in (place.node, new))
                if kind == "other row":
                    before, after = "readings", _exchanged(place.node, new)
                if before != after:
                    found.append(Change(path, place.line, kind, before, after, tree, place.way, new))
    return found


def _exchanged(old: Any, new: Any) -> str:
    """The labels of the rows whose readings were exchanged."""
    return " and ".join(a.args[0].value for a, b in zip(old.elts, new.elts, strict=True)
                        if _called(a) == "Readout" and ast.dump(a) != ast.dump(b) and isinstance(a.args[0], ast.Constant))


def _short(words: str, most: int = 110) -> str:
    first = " ".join(words.split())
    return first if len(first) <= most else first[: most - 2] + " …"
