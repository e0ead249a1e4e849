"""One relation, declared once: the equation on the page is the equation in the code.

An Equation is made from a formula over glossary names; from it come the LaTeX on the page, the worked line with numbers
and units, the rearrangement for another unknown, the numeric functions, the dimension audit and the evidence row.
"""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable, Mapping
from functools import cached_property
from typing import Any

import sympy

from evlab.glossary import SPELLINGS, Entry, entry, nearest
from evlab.roots import TINY, onto, zeros
from evlab.sources import SOURCES, cite
from evlab.units import InputError, quantity, registry, si, si_array, told

__all__ = ["EQUATIONS", "Equation", "Line", "Noted", "half"]

EQUATIONS: dict[str, Equation] = {}
half = sympy.Rational(1, 2)


class Noted(float):
    """A float that lies outside the stated range of its equation and says so."""

    note: str = ""

    def __new__(cls, value: float, note: str) -> Noted:
        made = super().__new__(cls, value)
        made.note = note
        return made

    def __repr__(self) -> str:
        return f"{float(self)!r}  ({self.note})"


class Line(str):
    """A line of LaTeX that a notebook shows as mathematics."""

    __slots__ = ()

    def _repr_latex_(self) -> str:
        return f"$\\displaystyle {self}$"


def _symbol(name: str) -> sympy.Symbol:
    e = entry(name)
    return sympy.Symbol(name, real=True, positive=e.positive or None)


def _is_constant(name: str) -> bool:
    return entry(name).value is not None


def _parameter(name: str, by_place: bool) -> inspect.Parameter:
    if not _is_constant(name):
        return inspect.Parameter(name, inspect.Parameter.POSITIONAL_OR_KEYWORD)
    kind = inspect.Parameter.POSITIONAL_OR_KEYWORD if by_place else inspect.Parameter.KEYWORD_ONLY
    return inspect.Parameter(name, kind, default=entry(name).value)


class Equation:
    """`left` = `formula`, over glossary names.

    Parameters: `name`, "<stage>.<word>"; `left`, the glossary name of the result; `formula`, a function whose parameter
    names are glossary names and which returns a SymPy expression (its order of factors is kept on the page); `title`, a
    sentence; `source`, keys of `sources`; `within`, the range of validity in words; `limits`, {input: (low, high)} in SI
    outside which a value carries a note; `tag`, our number of the relation; `bracketed`, inputs that
    SymPy would look long for (to find nothing, or what no one can read): their number comes from a bracket at once, and
    there is no line to show; True: all that stand within functions.

    Calling it takes floats in SI (a float comes back), arrays (an array), text with units or Quantities (a Quantity).
    There is one order of its inputs (`inputs`, the signature, the docstring, `floats`, `arrays` and `kernel`): that of the
    formula, with the constants of the glossary last.  Where a constant stands earlier in the formula, it is given by name only,
    so that a number can never slip into the wrong place.
    """

    def __init__(self, name: str, left: str, formula: Callable[..., Any], *, title: str, source: tuple[str, ...],
                 within: str, limits: Mapping[str, tuple[float, float]] | None = None, tag: str = "",
                 bracketed: bool | tuple[str, ...] = ()) -> None:
        if name in EQUATIONS:
            raise ValueError(f"equation {name} stands twice")
        self.name, self.left, self.title, self.tag = name, left, title, tag
        self.source, self.range, self.limits = source, within, dict(limits or {})
        written = tuple(inspect.signature(formula).parameters)
        self.inputs = tuple(sorted(written, key=_is_constant))  # a stable sort
        named = () if bracketed is True else tuple(bracketed or ())
        unknown = [k for k in source if k not in SOURCES] + [k for k in (*self.limits, *named) if k not in self.inputs]
        if unknown:
            raise ValueError(f"equation {name}: unknown {unknown}")
        self.symbols = {n: _symbol(n) for n in self.inputs}
        self.right = sympy.sympify(formula(**self.symbols))
        with sympy.evaluate(False):
            self._as_written = sympy.sympify(formula(**self.symbols))
        skipped = [n for n in self.inputs if self._within_functions(n)] if bracketed is True else named
        self._solved: dict[str, list[Any]] = {n: [] for n in skipped}
        self.__name__ = name.rpartition(".")[2]
        self.__signature__ = inspect.Signature([_parameter(n, self.inputs == written) for n in self.inputs])
        EQUATIONS[name] = self

    # ------------------------------------------------------------ faces
    @cached_property
    def floats(self) -> Callable[..., float]:
        """The float function, positional in the order of `inputs`; nan where there is no value.  Plain Python."""
        return sympy.lambdify(list(self.symbols.values()), self.right, modules=[{"sqrt": _sqrt, "log": _log}, "math"])

    @cached_property
    def kernel(self) -> Callable[..., float]:
        """The float function for compiled loops: numba's where numba is installed, else the plain one."""
        from evlab.kernels import compile_small

        return compile_small(sympy.lambdify(list(self.symbols.values()), self.right, modules="math"), self.floats)

    @cached_property
    def arrays(self) -> Callable[..., Any]:
        """The array function, positional in the order of `inputs`."""
        return sympy.lambdify(list(self.symbols.values()), self.right, modules=["scipy", "numpy"])

    def __call__(self, *args: Any, **values: Any) -> Any:
        given = self._bind(args, values)
        plain = {n: self._plain(v, n) for n, v in given.items()}
        dressed = any(isinstance(v, str) or hasattr(v, "magnitude") for v in given.values())
        result = self._value(plain)
        return quantity(result, entry(self.left)) if dressed else result

    def _bind(self, args: tuple[Any, ...], values: Mapping[str, Any]) -> dict[str, Any]:
        for name in values:
            if name not in self.inputs:
                raise TypeError(f"{self.name} has no input {name!r}.{nearest(name, self.inputs)} "
                                f"Its inputs: {', '.join(self.inputs)}.")
        try:
            bound = self.__signature__.bind(*args, **values)
        except TypeError as wrong:
            raise TypeError(f"{self.name}: {wrong}. {self._order()}") from None
        bound.apply_defaults()
        return {n: bound.arguments[n] for n in self.inputs}

    def _order(self) -> str:
        """The inputs in their order, and which of them only go by name, for a message."""
        constants = [n for n, p in self.__signature__.parameters.items() if p.kind is p.KEYWORD_ONLY]
        said = f"Its inputs, in this order: {', '.join(n for n in self.inputs if n not in constants)}."
        example = f"{constants[0]}={entry(constants[0]).value:g}" if constants else ""
        return said + (f" Its constants may be given by name only, like {example}: {', '.join(constants)}." if constants else "")

    def _plain(self, value: Any, name: str) -> Any:
        where, e = f"{name} of {self.name}", entry(name)
        if getattr(value, "shape", ()) or isinstance(value, list | tuple):
            return si_array(value, e, where)
        number = value if type(value) is float and math.isfinite(value) else si(value, e, where)
        if e.positive and number <= 0.0:
            raise InputError(f"Input {where} must be above zero; instead received {number:g} {e.unit}".rstrip() + ".")
        return number

    def _value(self, plain: Mapping[str, Any]) -> Any:
        if any(getattr(v, "shape", ()) for v in plain.values()):
            import numpy as np

            with np.errstate(all="ignore"):  # nan and inf stand in the array; no warning on a page
                return np.asarray(self.arrays(*plain.values()))
        try:
            result = float(self.floats(*plain.values()))
        except (ZeroDivisionError, OverflowError, ValueError):
            result = math.nan
        if not math.isfinite(result):
            given = ", ".join(f"{n} = {v:g} {entry(n).unit}".rstrip() for n, v in plain.items())
            raise InputError(f"{self.name} has no value for {given}. Its range: {self.range}.")
        note = self.note(**plain)
        return Noted(result, note) if note else result

    def note(self, **values: float) -> str:
        """What is outside the stated range, in words; "" inside.  Takes SI floats by name."""
        for n, (low, high) in self.limits.items():
            if not low <= values[n] <= high:
                unit = entry(n).unit
                return f"outside the range of {self.name}: {n} {values[n]:g} not in {low:g} to {high:g} {unit}".rstrip()
        return ""

    # ------------------------------------------------------------ on the page
    @cached_property
    def _names(self) -> dict[sympy.Symbol, str]:
        return {s: entry(n).symbol for n, s in self.symbols.items()} | {_symbol(self.left): entry(self.left).symbol}

    def _right_latex(self, names: Mapping[sympy.Symbol, str]) -> str:
        dots = None if names is self._names else "dot"  # symbols stand side by side, numbers do not
        return sympy.latex(self._as_written, symbol_names=dict(names), order="none", mul_symbol=dots)

    @property
    def latex(self) -> Line:
        """The equation as LaTeX, in the author's order."""
        return Line(f"{entry(self.left).symbol} = {self._right_latex(self._names)}")

    def worked(self, *args: Any, **values: Any) -> Line:
        """The equation, the same with numbers and units (SI), and the result."""
        plain = {n: self._plain(v, n) for n, v in self._bind(args, values).items()}
        numbers = {self.symbols[n]: rf"\left({_amount(v, entry(n))}\right)" for n, v in plain.items()}
        return Line(f"{self.latex} = {self._right_latex(numbers)} = {_amount(self._value(plain), entry(self.left))}")

    def _repr_latex_(self) -> str:
        return self.latex._repr_latex_()

    def __repr__(self) -> str:
        return f"<Equation {self.name}: {self.left} from {', '.join(self.inputs)}>"

    @cached_property
    def __doc__(self) -> str:  # type: ignore[override]
        """Sentence, formula, parameters, returns, range, source: made from the declaration."""
        units = {n: f"[{entry(n).unit or '1'}]" for n in (*self.inputs, self.left)}
        rows = [f"    {n}: {entry(n).meaning} {units[n]}" for n in self.inputs]
        return "\n".join([self.title, "", f"    {self.left} = {self.right}", "", "Parameters:", *rows,
                          f"Returns: {entry(self.left).meaning} {units[self.left]}.", f"Range: {self.range}.",
                          f"Source: {cite(*self.source)}."])

    # ------------------------------------------------------------ for another unknown
    def solve_for(self, name: str, *, between: tuple[float, float] | None = None, **values: Any) -> Any:
        """The equation for another unknown.

        Without values: the rearranged line in LaTeX.  With all others given by name: the number (or Quantity), from
        SymPy's roots inside `between` (by default the glossary's range), else from a bracketed root.
        Raises InputError when no root lies inside, or more than one, or when there is no closed form to show.
        """
        if name not in self.inputs:
            raise TypeError(f"{self.name} has no input {name!r}.{nearest(name, self.inputs)}")
        if not values:
            return self._rearranged(name)
        knowns = (*(n for n in self.inputs if n != name), self.left)
        for n in values:
            if n not in knowns:
                raise TypeError(f"{self.name}, solved for {name}, has no input {n!r}.{nearest(n, knowns)}")
        given = {n: values.get(n, entry(n).value) for n in knowns}
        missing = [n for n, v in given.items() if v is None]
        if missing:
            raise TypeError(f"{self.name}, solved for {name}, also needs {', '.join(missing)}.")
        plain = {n: self._plain(v, n) for n, v in given.items()}
        dressed = any(isinstance(v, str) or hasattr(v, "magnitude") for v in given.values())
        root = self._one_root(name, plain, between)
        return quantity(root, entry(name)) if dressed else root

    def _rearranged(self, name: str) -> Line:
        lines = [f"{entry(name).symbol} = {sympy.latex(root, symbol_names=self._names)}"
                 for root in self._roots(name) if not self._mirrored(name, root)]
        if not lines:
            raise InputError(f"{self.name} has no closed form for {name}; "
                             "give the other values by name, and solve_for looks for the number.")
        return Line(r",\quad ".join(lines))

    def _roots(self, name: str) -> list[Any]:
        """SymPy's roots, found once (some take it a second)."""
        if name not in self._solved:
            try:
                self._solved[name] = list(sympy.solve(sympy.Eq(_symbol(self.left), self.right), self.symbols[name]))
            except NotImplementedError:
                self._solved[name] = []
        return self._solved[name]

    def _within_functions(self, name: str) -> bool:
        """Whether the input stands inside a function, a root or an exponent."""
        inner = (node for node in sympy.preorder_traversal(self.right)
                 if isinstance(node, sympy.Function) or (node.is_Pow and not node.exp.is_Integer))
        return any(node.has(self.symbols[name]) for node in inner)

    @staticmethod
    def _mirrored(name: str, root: Any) -> bool:
        """Whether a root is the negative twin of another, for a quantity that is never below zero."""
        low = entry(name).low
        return low is not None and low >= 0 and bool(root.could_extract_minus_sign())

    def _one_root(self, name: str, plain: Mapping[str, float], between: tuple[float, float] | None) -> float:
        e = entry(name)
        low, high = self._span(name, between)
        at = {_symbol(n): v for n, v in plain.items()}
        found = [complex(root.subs(at).evalf()) for root in self._roots(name)]
        real = sorted({r.real for r in found if abs(r.imag) <= 1e-9 * max(abs(r.real), 1e-9)})
        near = [onto(x, low, high) for x in real]
        inside = [x for x in near if x is not None and self._holds(name, plain, x)]
        inside = [x for i, x in enumerate(inside) if not i or not math.isclose(x, inside[i - 1], rel_tol=1e-9)]
        inside = inside or self._bracketed(name, plain, low, high)
        if len(inside) != 1:
            shown = ", ".join(f"{x:g}" for x in inside[:4]) + ", ..." * (len(inside) > 4)
            many = f"{len(inside)} values ({shown})" if inside else "no value"
            beyond = [] if inside else [x for x in real if self._holds(name, plain, x)]
            where = f" (it would be {', '.join(f'{x:g}' for x in beyond[:4])} {e.unit}".rstrip() + ")" if beyond else ""
            raise InputError(f"{self.name} has {many} of {name} between {low:g} and {high:g} {e.unit}{where} for these inputs; "
                             "give between=(low, high) to choose.")
        return inside[0]

    def _span(self, name: str, between: Any) -> tuple[float, float]:
        """Where a root is looked for [SI]: between what was given, or in the range of the equation or of the glossary."""
        e = entry(name)
        if between is None:
            low, high = self.limits.get(name) or (e.low, e.high)
            return -1e9 if low is None else float(low), 1e9 if high is None else float(high)
        must = f"Input between of {self.name}, solved for {name}, must be two numbers, the lower one first, like (0, 1)"
        if not isinstance(between, tuple | list) or len(between) != 2:
            raise InputError(f"{must}; instead received {told(between)}.")
        low, high = (si(end, e, f"between of {self.name}") for end in between)
        if not low < high:
            raise InputError(f"{must}; instead received {told(between)}.")
        return low, high

    def _miss(self, name: str, plain: Mapping[str, float], x: float) -> float:
        """Right side less left with x for `name`; nan where there is no value."""
        values = {**plain, name: x}
        try:
            return float(self.floats(*(values[n] for n in self.inputs))) - plain[self.left]
        except (ZeroDivisionError, OverflowError, ValueError, TypeError):  # TypeError: a complex number has no order
            return math.nan

    def _holds(self, name: str, plain: Mapping[str, float], x: float) -> bool:
        """Whether x, put back into the equation, gives the left side: SymPy squares roots away and offers mirrored ones too.

        What counts as the same is a millionth of the left side, or of what a change of x by its own size would do.
        """
        here, beside = self._miss(name, plain, x), self._miss(name, plain, 1.001 * x if x else TINY)
        scale = max(abs(plain[self.left]), 1e3 * abs(beside - here)) if math.isfinite(beside) else abs(plain[self.left])
        return abs(here) <= 1e-6 * scale

    def _bracketed(self, name: str, plain: Mapping[str, float], low: float, high: float) -> list[float]:
        """Roots by sign change, for equations SymPy cannot solve."""
        found = zeros(lambda x: self._miss(name, plain, x), low, high)
        return [x for x in found if self._holds(name, plain, x)]  # the sign also changes at a pole

    # ------------------------------------------------------------ audit
    def audit(self) -> None:
        """Walk the expression tree with units; raises ValueError that names the term when dimensions disagree."""
        want, got = _dimension(_symbol(self.left), self.name), _dimension(self.right, self.name)
        if got is not None and got != want:
            raise ValueError(f"{self.name}: {self.left} is {want}, the right side is {got}")


def _sqrt(x: float) -> float:
    return math.sqrt(x) if x >= 0 else math.nan


def _log(x: float) -> float:
    return math.log(x) if x > 0 else math.nan


def _amount(value: float, e: Entry) -> str:
    unit = next((s for s, u in SPELLINGS[e.family].items() if u == (e.unit or "dimensionless")), "")
    unit = unit.replace("Ohm", r"\Omega ").replace(" ", r"\,").replace("2", "^2").replace("3", "^3").replace("°", r"^\circ ")
    figures = 5 if e.family == "temperature" else 4  # 293.15 K, where a difference of a few kelvin counts
    digits, _, power = f"{value:.{figures}g}".partition("e")
    digits += rf"\times 10^{{{int(power)}}}" if power else ""
    return digits + (rf"\,\mathrm{{{unit}}}" if unit else "")


def _dimension(node: Any, where: str) -> Any:
    """The pint dimensionality of an expression; None for a pure number zero (which fits anything)."""
    none = registry().dimensionless.dimensionality
    if node.is_Symbol:
        return registry().Unit(entry(node.name).unit or "dimensionless").dimensionality
    if node.is_number:
        return None if node == 0 else none
    if node.is_Mul:
        product = none
        for part in node.args:
            product = product * (_dimension(part, where) or none)
        return product
    if node.is_Pow:
        return _power(node, where, none)
    parts = [_dimension(part, where) for part in _values(node)]
    kinds = [p for p in parts if p is not None]
    kind = kinds[0] if kinds else none
    for other in kinds:
        if other != kind:
            raise ValueError(f"{where}: cannot add or compare {kind} and {other} in {node}")
    if node.is_Add or isinstance(node, sympy.Max | sympy.Min | sympy.Abs | sympy.Piecewise):
        return kind
    if kind != none:
        raise ValueError(f"{where}: {node.func.__name__} of {kind} in {node}")
    return none


def _values(node: Any) -> list[Any]:
    return [value for value, _ in node.args] if isinstance(node, sympy.Piecewise) else list(node.args)


def _power(node: Any, where: str, none: Any) -> Any:
    base, exponent = _dimension(node.base, where) or none, node.exp
    if _dimension(exponent, where) not in (None, none):
        raise ValueError(f"{where}: exponent with a dimension in {node}")
    if base == none:
        return none
    if not exponent.is_number:
        raise ValueError(f"{where}: {base} raised to a power that is not a number in {node}")
    return base ** float(exponent)
