"""What a fresh kernel costs: importing, the first ride with a warm cache, and compiling with an empty one."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile

IMPORT = "import time; t = time.perf_counter(); import evlab; print(time.perf_counter() - t)"
RIDE = ("import time; t = time.perf_counter(); import evlab;"
        "evlab.ride(evlab.load_vehicle('two_shed_trike'), 'two_sheds_up'); print(time.perf_counter() - t)")


def _seconds(code, times, **more):
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"} | more
    told = [float(subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, text=True, check=True).stdout)
            for _ in range(times)]
    return statistics.median(told)


def rows():
    made = [("import evlab", _seconds(IMPORT, 5), 1.0), ("first ride in a fresh kernel, warm cache", _seconds(RIDE, 5), 1.5)]
    with tempfile.TemporaryDirectory() as empty:
        made.append(("the same with an empty cache (start.py does it once)", _seconds(RIDE, 1, NUMBA_CACHE_DIR=empty), 10.0))
    return [(what, seconds, budget, "s", seconds <= budget) for what, seconds, budget in made]
