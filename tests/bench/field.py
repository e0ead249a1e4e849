"""A motor of 20 poles under a slider, in the kernel, beside a ride under one: model, drawing and picture; and the work at rest."""

from __future__ import annotations

import itertools
import statistics
import time

import evlab
from evlab.workbench import magnets_page, ride_page

# What a slider may take to its picture where a ride is run, and where a field is computed; what browser and server take of it.
RIDE_MS, FIELD_MS, FLOOR_MS = 100.0, 150.0, 50.0


def _slide(bench, name, times=11):
    """Median seconds of one step of a slider, new picture included; the first is for practice."""
    slider = bench.controls[name].slider
    start, spent = slider.value, []
    for step in itertools.islice(itertools.cycle((1, 0)), times + 1):
        began = time.perf_counter()
        slider.value = start + step
        spent.append(time.perf_counter() - began)
    return statistics.median(spent[1:])


def _pieces(bench):
    """Seconds of each piece of the work at rest: so long a new move may have to wait."""
    work, over = bench.resting._work, object()
    while True:
        began = time.perf_counter()
        if next(work, over) is over:
            return
        yield time.perf_counter() - began


def rows():
    ride, field = ride_page.open_bench(), magnets_page.open_bench(evlab.load_vehicle("two_shed_trike").change(
        {"motor.magnets.poles": 20, "motor.magnets.ring_radius": 0.130}))
    for bench in (ride, field):
        bench.settle()
    alone, wide = _slide(ride, "head_wind"), _slide(field, "motor.magnets.ring_radius")
    longest = max(_pieces(field))
    most = (FIELD_MS - FLOOR_MS) / (RIDE_MS - FLOOR_MS)
    made = [("20 poles under a slider: times a ride under a slider", wide / alone, most, "x"),
            ("  longest piece of its work at rest", longest, FIELD_MS / 1e3, "s")]
    for bench in (ride, field):
        bench.shut()
    return [(what, value, budget, unit, value <= budget) for what, value, budget, unit in made]
