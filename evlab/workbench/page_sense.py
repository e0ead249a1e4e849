"""The ear and the voice of a page in the browser: theme, width, density; names and values for screen readers."""

from __future__ import annotations

from pathlib import Path

import anywidget
import traitlets

__all__ = ["PageSense"]


class PageSense(anywidget.AnyWidget):
    """Tells the kernel what the page looks like, and screen readers what the controls say.  It takes no room itself.

    `dark`, `width` [CSS pixels], `dense` (device pixels for each of them) come from the browser.  `rows`, {class of a
    control's row: {"name", "unit", "help"}}, and `say`, words to be spoken once, go there.
    """

    _esm = (Path(__file__).parent / "page_sense.js").read_text(encoding="utf-8")
    dark = traitlets.Bool(False).tag(sync=True)
    width = traitlets.Int(0).tag(sync=True)
    dense = traitlets.Float(1.0).tag(sync=True)
    rows = traitlets.Dict().tag(sync=True)
    say = traitlets.Unicode("").tag(sync=True)
