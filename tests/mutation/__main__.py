"""Change one place at a time, run the tests that should notice, and list the changes that none noticed.

    python -m tests.mutation evlab/ratios.py evlab/plots/gears.py --sample 40 --seed 1
    python -m tests.mutation --page gearing --sample 60          all modules of a page, with the tests named in cover.toml

Which tests: --tests, else those that cover.toml names for the page, else those that import the module, the nearest first.
A change that alters nothing anybody could see belongs into equivalent.toml, with the reason.
"""

from __future__ import annotations

import argparse
import os
import random
import sys
import time
import tomllib
from collections import Counter
from pathlib import Path

from tests.mutation.changes import KINDS, Change, changes_of
from tests.mutation.runner import ENDLESS, NOTICED, ROOT, SURVIVED, Copy, covering, reaches_kernels

HERE = Path(__file__).parent


def _known() -> dict[str, dict[str, str]]:
    """{path: {words of a change: why nobody could see it}}."""
    table = tomllib.loads((HERE / "equivalent.toml").read_text(encoding="utf-8"))
    return {path: {row["change"]: row["why"] for row in rows} for path, rows in table.items()}


def _picked(paths: list[str], sample: int, seed: int, kinds: list[str], lines: tuple[int, int] | None) -> list[Change]:
    """A seeded sample of the changes of these modules, in the order of the sources; 0: all of them."""
    known, every = _known(), []
    for path in paths:
        source = (ROOT / path).read_text(encoding="utf-8")
        made = changes_of(path, source, "plots/" in path)
        every += [c for c in made if c.words not in known.get(path, {})]
        for words in set(known.get(path, {})) - {c.words for c in made}:
            print(f"equivalent.toml names a change of {path} that there is no more: {words}")
    every = [c for c in every if (not kinds or c.kind in kinds) and (not lines or lines[0] <= c.line <= lines[1])]
    if not sample or sample >= len(every):
        return every
    chosen = sorted(random.Random(seed).sample(range(len(every)), sample))
    return [every[i] for i in chosen]


def _read() -> argparse.Namespace:
    read = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__,
                                   formatter_class=argparse.RawDescriptionHelpFormatter)
    read.add_argument("modules", nargs="*", help="paths of modules, from the root of the tree")
    read.add_argument("--page", help="a page of cover.toml")
    read.add_argument("--tests", nargs="+", help="test files instead of those found")
    read.add_argument("--sample", type=int, default=40, help="so many changes in all (0: every one)")
    read.add_argument("--seed", type=int, default=1)
    read.add_argument("--kinds", nargs="+", default=[], choices=list(KINDS), help="only these kinds")
    read.add_argument("--lines", help="only these lines of the modules, as 10-40")
    read.add_argument("--limit", type=float, default=60.0, help="seconds for the tests of one change")
    read.add_argument("--list", action="store_true", help="only list the changes")
    return read.parse_args()


def _groups(asked: argparse.Namespace) -> list[tuple[list[str], list[str]]]:
    """(modules, test files) that are run together."""
    if asked.page:
        page = tomllib.loads((HERE / "cover.toml").read_text(encoding="utf-8"))[asked.page]
        return [(asked.modules or page["modules"], asked.tests or page["tests"])]
    if asked.tests:
        return [(asked.modules, asked.tests)]
    return [([path], covering(path)) for path in asked.modules]


def main() -> int:
    asked = _read()
    lines = tuple(int(x) for x in asked.lines.split("-")) if asked.lines else None
    counts: Counter[str] = Counter()
    survivors: list[Change] = []
    groups = _groups(asked)
    for modules, tests in groups:
        changes = _picked(modules, -(-asked.sample // len(groups)), asked.seed, asked.kinds, lines)
        if asked.list:
            for c in changes:
                print(f"{c.path}:{c.line}  {c.kind}: {c.words}")
            continue
        if any(map(reaches_kernels, modules)):
            os.environ["EVLAB_NO_NUMBA"] = "1"
        print(f"{len(changes)} changes of {', '.join(modules)}; tests: {', '.join(tests)}", flush=True)
        with Copy(tests, asked.limit) as copy:
            print(f"as it is: passes, {copy.as_it_is():.1f} s", flush=True)
            for c in changes:
                began = time.monotonic()
                fate, by = copy.fate(c)
                counts[fate] += 1
                survivors += [c] if fate == SURVIVED else []
                print(f"{fate:8} {time.monotonic() - began:5.1f} s  {c.path}:{c.line}  {c.kind}: {c.words}   {by}", flush=True)
    if asked.list:
        return 0
    total = sum(counts.values())
    late = counts[ENDLESS]
    print(f"\nnoticed {counts[NOTICED] + late} of {total} ({late} by their time); survived {counts[SURVIVED]}:")
    for c in survivors:
        print(f"  {c.path}:{c.line}  {c.kind}: {c.words}")
    return int(bool(survivors))


if __name__ == "__main__":
    sys.exit(main())
