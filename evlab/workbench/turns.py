"""One at a time: JupyterLab answers widgets in a thread of their own, beside the one that runs the cells.

Matplotlib's settings and a bench's state are for one thread at once.  Every way into a bench from outside takes this
lock for as long as one piece of work lasts; it may be taken again by whoever holds it.
"""

from __future__ import annotations

import threading

__all__ = ["TURN"]

TURN = threading.RLock()
