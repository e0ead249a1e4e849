"""Closing widgets: ipywidgets keeps every one alive, with its layout and style, until it is closed by name."""

from __future__ import annotations

from typing import Any

import ipywidgets

__all__ = ["close"]


def close(widget: Any) -> None:
    """Close a widget, what it holds, and the layouts and styles that came with them."""
    for child in getattr(widget, "children", ()):
        close(child)
    for part in ("layout", "style"):
        found = getattr(widget, part, None)
        if isinstance(found, ipywidgets.Widget):
            found.close()
    widget.close()
