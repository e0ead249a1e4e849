"""`python -m tests.bench [--browser]`: measure, and print each figure beside its budget."""

from __future__ import annotations

import sys

from tests.bench import field, fresh, ride, road, store

ROWS = [*ride.rows(), *store.rows(), *road.rows(), *field.rows(), *fresh.rows()]
if "--browser" in sys.argv[1:]:
    from tests.bench import slider

    ROWS += slider.rows()

wide = max(len(what) for what, *_ in ROWS)
print(f"{'what':{wide}}  {'measured':>10}  {'budget':>10}  inside")
for what, measured, budget, unit, good in ROWS:
    print(f"{what:{wide}}  {measured:>8.3g} {unit:<2} {budget:>8.3g} {unit:<2} {'yes' if good else 'NO'}")
sys.exit(0 if all(good for *_, good in ROWS) else 1)
