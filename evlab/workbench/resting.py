"""Work that waits until the controls rest: in the loop that called for it, piece by piece, dropped at the next move."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from typing import Any

from evlab.workbench.turns import TURN

__all__ = ["Resting"]

PAUSE = 0.35  # s without a move


class Resting:
    """`later(work)` takes an iterator of pieces; between two of them the kernel looks at what the page has sent.

    Without a running loop (a test, a script) the work waits for `finish`.
    """

    def __init__(self, failed: Callable[[Exception], None]) -> None:
        self._failed = failed
        self._work: Iterator[Any] | None = None
        self._task: asyncio.Task[None] | None = None  # held, or the loop would forget it

    def later(self, work: Iterator[Any]) -> None:
        """Do this after the pause, instead of anything still waiting."""
        with TURN:
            self._work = work
            try:
                self._task = asyncio.get_running_loop().create_task(self._wait(work))
            except RuntimeError:
                self._task = None

    def drop(self) -> None:
        """Give up what is still waiting: its task sees that its work is no longer wanted, in whatever thread it runs."""
        with TURN:
            self._work = None

    def finish(self) -> None:
        """Do at once what is still waiting."""
        with TURN:
            work, self._work = self._work, None
            for _ in work or ():
                pass

    async def _wait(self, work: Iterator[Any]) -> None:
        await asyncio.sleep(PAUSE)
        while self._step(work):
            await asyncio.sleep(0.002)

    def _step(self, work: Iterator[Any]) -> bool:
        """One piece, if it is still wanted.  Returns whether there may be another."""
        with TURN:
            if self._work is not work:
                return False
            try:
                next(work)
            except StopIteration:
                self._work = None
                return False
            except Exception as error:  # noqa: BLE001  a task's error shows nowhere: it is handed on to the page
                self._work = None
                self._failed(error)
                return False
            return True
