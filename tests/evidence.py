"""The evidence page: `python -m tests.evidence` writes tests/EVIDENCE.md, with --check it fails when the page is stale.

Every equation stands there with what it was held against and how much of the allowance it used, nearest to the limit
first.  The page holds no time and no last bits, so it changes only when an equation, a source or a value does.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

try:  # under pytest the folder tests/ is on the path, with -m its neighbour is
    import reference
except ModuleNotFoundError:
    from tests import reference

from evlab.equation import EQUATIONS
from evlab.sources import cite

PAGE = Path(__file__).with_name("EVIDENCE.md")
PUBLISHED = ("printed", "library")
WEAK = (  # words of a source that is a copy, an answer page, a forum, a dealer, or a page that names no author
    "copy on", "reprint on", "as answered", "exercise of a school", "the same exercise", "forum", "encyclopaedia", "from memory",
    "list", "dealer", "page on", "pages on", ".com", ".in ", ".org", "solve.club", "iac.ethz.ch", "hyperphysics", "rolled out")


def published(checks: Iterable[reference.Check]) -> set[str]:
    """The equations that a printed value, or one of an outside library, has tested."""
    return {name for c in checks if c.kind in PUBLISHED for name in (c.equation, *c.also)}


def weak(check: reference.Check) -> bool:
    """A printed value whose source is not the standard, book, paper or maker's sheet itself."""
    return check.kind == "printed" and any(word in check.source for word in WEAK)


def _figures(value: float, digits: int) -> str:
    return f"{0.0 if abs(value) < 1e-12 else value:.{digits}g}"


def _computed(check: reference.Check) -> str:
    """Two figures more than were printed: enough to see, too few for last bits."""
    printed = len(check.printed.split("e")[0].replace("-", "").replace(".", "").lstrip("0"))
    return _figures(check.computed(), max(printed + 2, 3))


def _share(share: float) -> str:
    return "< 1 %" if share < 0.01 else f"{100 * share:.0f} %"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    return [f"| {' | '.join(head)} |", f"|{'---|' * len(head)}", *(f"| {' | '.join(map(_cell, row))} |" for row in rows), ""]


def _named(name: str) -> str:
    tag = EQUATIONS[name].tag
    return f"{name} ({tag})" if tag else name


def _check_rows(checks: Iterable[reference.Check]) -> list[list[str]]:
    ordered = sorted(checks, key=lambda c: (-round(c.share(), 2), c.equation, c.place, c.printed))
    return [
        [
            _named(c.equation),
            f"{c.source}: {c.place}",
            f"{c.printed} {c.unit}".rstrip(),
            _computed(c),
            _share(c.share()),
            f"± {_figures(c.allowed, 2)}" + (f": {c.why}" if c.why else ""),
        ]
        for c in ordered
    ]


def _route_rows(routes: Iterable[reference.Route]) -> list[list[str]]:
    rows = []
    for r in sorted(routes, key=lambda r: r.equation):
        value = r.values()[0]
        rows.append([_named(r.equation), r.words, _figures(value, 6), f"{r.within:.0e}" + (f": {r.why}" if r.why else "")])
    return rows


def _counts(checks: Sequence[reference.Check], routes: Sequence[reference.Route]) -> list[str]:
    names = set(EQUATIONS)
    worked = {n for c in checks if c.kind == "worked" for n in (c.equation, *c.also)}
    tables = {c.table or (c.equation, c.source, c.place) for c in checks if c.kind in PUBLISHED}
    bare = sorted(names - published(checks))
    printed = [c for c in checks if c.kind in PUBLISHED]
    frail = [c for c in printed if weak(c)]
    firm = published(c for c in printed if not weak(c))
    return [
        f"- equations: {len(names)}",
        f"- with a published value (printed, or by an outside library): {len(names & published(checks))}, "
        f"out of {len(tables)} tables or examples (rows of one table count once)",
        f"- of {len(printed)} published values {len(frail)} rest on copies, answer pages, forums or pages without an author; "
        f"{len(names & firm)} equations have a value from a standard, book, paper, maker's sheet or library itself",
        f"- with a closed form or arithmetic worked apart: {len(names & worked)}",
        f"- with two independent routes to one number: {len(names & {r.equation for r in routes})}",
        f"- without a published value (closed forms and two routes only): {len(bare)}: {', '.join(bare)}",
        "",
    ]


def page() -> str:
    """The whole page as text."""
    checks, routes, errata = reference.checks(), reference.routes(), reference.errata()
    lines = [
        "# Evidence",
        "",
        "Made by `python -m tests.evidence`; do not edit. A value enters the package with something outside it to be held against. "
        "The allowance is half of the last printed figure, unless a sentence says why it is wider.",
        "",
        *_counts(checks, routes),
    ]
    head = ("equation", "source", "printed", "computed", "allowance used", "allowance")
    titles: dict[str, Callable[[str], bool]] = {
        "Published values": lambda kind: kind in PUBLISHED,
        "Closed forms and arithmetic, worked apart from this package": lambda kind: kind == "worked",
    }
    for title, belongs in titles.items():
        lines += [f"## {title}", "", *_table(head, _check_rows(c for c in checks if belongs(c.kind)))]
    lines += [
        "## Two routes to one number",
        "",
        "Each equation against another way to the same number; they agree within the part of it in the last column.",
        "",
        *_table(("equation", "other route", "value (SI)", "agree within"), _route_rows(routes)),
        "## Errata and contradictions in the sources",
        "",
        *_table(("where", "printed", "what we find"), ([e.place, e.printed, e.words] for e in errata)),
        "## Where each equation comes from",
        "",
        *_table(("equation", "source", "range"), ([_named(n), cite(*e.source), e.range] for n, e in sorted(EQUATIONS.items()))),
    ]
    return "\n".join(lines).rstrip() + "\n"


def main(arguments: Sequence[str]) -> int:
    """Write the page, or with --check say whether it is stale."""
    fresh = page()
    if "--check" not in arguments:
        PAGE.write_text(fresh, encoding="utf-8")
        print(f"{PAGE.name} written: {fresh.count(chr(10))} lines")
        return 0
    if PAGE.is_file() and PAGE.read_text(encoding="utf-8") == fresh:
        return 0
    print("tests/EVIDENCE.md is stale: run `python -m tests.evidence` and look at what changed.")
    return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
