"""Work that waits until the controls rest: in the kernel's own loop, piece by piece, dropped at the next move."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from typing import Any

__all__ = ["Resting"]

PAUSE = 0.35  # s without a move


class Resting:
    """`later(work)` takes an iterator of pieces; between two of them the kernel looks at what the page has sent.

    Without a running loop (a test, a script) the work waits for `finish`.
    """

    def __init__(self, failed: Callable[[Exception], None]) -> None:
        self._failed = failed
        self._work: Iterator[Any] | None = None
        self._task: asyncio.Task[None] | None = None

    def later(self, work: Iterator[Any]) -> None:
        """Do this after the pause, instead of anything still waiting."""
        self.drop()
        self._work = work
        try:
            self._task = asyncio.get_running_loop().create_task(self._wait())
        except RuntimeError:
            self._task = None

    def drop(self) -> None:
        """Give up what is still waiting."""
        if self._task is not None:
            self._task.cancel()
        self._work = self._task = None

    def finish(self) -> None:
        """Do at once what is still waiting."""
        work = self._work
        self.drop()
        for _ in work or ():
            pass

    @property
    def waiting(self) -> bool:
        return self._work is not None

    async def _wait(self) -> None:
        await asyncio.sleep(PAUSE)
        work = self._work
        try:
            for _ in work or ():
                await asyncio.sleep(0.002)
        except Exception as error:  # noqa: BLE001  a task's error shows nowhere: it is handed on to the page
            self._failed(error)
        if self._work is work:
            self._work = self._task = None
