"""The button "Tolerance band": two hundred rides, piece by piece between the reader's moves, told as they go."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import ipywidgets

from evlab.exploring import steps_of_band
from evlab.ride_case import warmed
from evlab.units import InputError
from evlab.workbench.bench import Workbench
from evlab.workbench.controls import fault
from evlab.workbench.resting import Resting
from evlab.workbench.style import escape
from evlab.workbench.turns import TURN

__all__ = ["BandBox"]

RUNS, PIECE = 200, 10  # rides in all, and between two looks at what the page has sent


class BandBox(ipywidgets.HBox):
    """A row of a bench of rides.  A band belongs to one result: the next move of a control takes it away, and a run that is
    going on is given up.

    Parameters: `bench`; `start`, which gives of a result what its rides begin from, as of evlab.ride.
    """

    def __init__(self, bench: Workbench, start: Callable[[Any], Any]) -> None:
        self.bench, self._start, self._of = bench, start, None
        self._working = Resting(self._failed)
        self.button = ipywidgets.Button(description="Tolerance band", tooltip=(
            f"Rides {RUNS} times, each value of the vehicle file drawn anew within its ±, and shows where nine of ten lie"))
        unseen = {"width": "12em", "visibility": "hidden"}
        self.progress = ipywidgets.IntProgress(min=0, max=RUNS, description="Rides", layout=unseen)
        self.words = ipywidgets.HTML(layout={"margin": "0"})
        self.button.on_click(lambda _: self.run())
        super().__init__([self.button, self.progress, self.words])
        self.add_class("ev-band")
        bench.above.children = (*bench.above.children, self)
        bench.followers.append(self)

    def run(self) -> None:
        """Ride them, piece by piece."""
        with TURN:
            self._of = self.bench.result
            self._show(0, f"{RUNS} rides …")
            self._working.later(self._rides(self._of))

    def settle(self) -> None:
        """Do at once what is going on."""
        self._working.finish()

    def refresh(self) -> None:
        """The controls have come to rest elsewhere: what was going on, or is shown, belongs to another ride."""
        if self._of is not None and self._of is not self.bench.result:
            self._working.drop()
            self._of = None
            self._show(None, "")

    def _rides(self, result: Any) -> Iterator[None]:
        try:
            steps = steps_of_band(result.vehicle, result.route, runs=RUNS, start=self._start(result), wind=result.wind,
                                  driver=None if result.driver is result.vehicle.driver else result.driver,
                                  winding=warmed(result))
            for done, made in steps:
                band = made
                if self.bench.result is not result:
                    self._show(None, "")
                    return
                if done % PIECE == 0:
                    self._show(done, f"{done} of {RUNS} rides")
                    yield
        except InputError as error:  # a vehicle without any ±
            self._show(None, fault(error))
            return
        result.band_shown = band
        self._show(None, f'<span class="ev-quiet">{escape(band.reason)}</span>')
        self.bench.redraw()

    def _show(self, done: int | None, words: str) -> None:
        self.progress.layout.visibility = "hidden" if done is None else "visible"
        self.progress.value, self.words.value = done or 0, words

    def _failed(self, error: Exception) -> None:
        self._show(None, fault(error))
