"""The measured ride of 57 km on the page of the road: one half fitted, the other predicted, beside guessing the mean."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd

from evlab.identification import LIMITS, RideLog, RoadLoad, fit_road_load, read_ride_log, window_means
from evlab.look import number, setting, shown
from evlab.workbench.store_tables import Lines

__all__ = ["RIDE", "Trial", "trials"]

RIDE = "sweat-2020-ride-hilly-57km.csv"
NAMES = {"mass": ("mass", "kg"), "rolling_coefficient": ("rolling coefficient", ""), "drag_area": ("drag area", "m²"),
         "height_lag": ("lag of the height", "s")}


@dataclass(frozen=True)
class Trial:
    """`found` on the half `trained`, tested on the other half, `tested`; `which` half was fitted."""

    which: str
    trained: RideLog
    tested: RideLog
    found: RoadLoad

    @cached_property
    def prediction(self) -> Any:
        """Crank power that the fitted road load asks for in each second of the other half [W]."""
        return self.found.crank_power(self.tested)

    @cached_property
    def null(self) -> Any:
        """The null model: the mean power of the fitted half in every second, pedalled or not counted [W]."""
        return np.full(self.tested.time.size, float(self.trained.crank_power[self.trained.pedalled].mean()))

    def error(self, power: Any) -> float:
        """Root of the mean square of the misses [W], means over 30 s."""
        counted = self.tested.pedalled
        miss = window_means(power, counted) - window_means(self.tested.crank_power, counted)
        return float(np.sqrt(np.mean(miss**2)))

    @property
    def words(self) -> str:
        """What came out, in a sentence."""
        mine, null = self.error(self.prediction), self.error(self.null)
        return (f"Fitted on the {self.which} half, the road load misses the other half by {shown(mine, 'W')}; guessing the mean "
                f"misses by {shown(null, 'W')}.")

    def table(self) -> Lines:
        """What was fitted, with both spreads and what a wind of 1 m/s, which nobody measured, would move."""
        rows = []
        for name, (words, unit) in NAMES.items():
            f = self.found
            told = "stopped by its limit" if name in f.at_limit else "fitted"
            rows.append((f"{words}, {unit}" if unit else words, number(f.values[name]), number(f.spread[name]),
                         number(f.piece_spread[name]), number(f.wind_shift[name]), told))
        heads = ["", "value", "± of the fit", "± of pieces left out", "a head wind of 1 m/s moves it by", ""]
        table = pd.DataFrame([row[1:] for row in rows], index=[row[0] for row in rows], columns=heads[1:])
        low, high, _, _ = LIMITS["height_lag"]
        return Lines(table, f"{self.words} The lag is that of the barometer's height behind the speed, sought between "
                            f"{setting(low, 's')} and {setting(high, 's')}.")

    def cannot_tell(self) -> Lines:
        """What such a ride cannot tell, a sentence to a line."""
        return Lines(pd.DataFrame({"what this ride cannot tell": list(self.found.untold)}), self.found.verdict)


def trials() -> tuple[Trial, Trial]:
    """The ride both ways: its first half fitted, then its second.  A second or two: each fit is repeated piece by piece."""
    first, second = read_ride_log(RIDE).halves()
    return Trial("first", first, second, fit_road_load(first)), Trial("second", second, first, fit_road_load(second))
