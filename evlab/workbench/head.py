"""The line at the top of a page: which vehicle, whose file, when kept, which case."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from evlab import data
from evlab.workbench.style import escape

__all__ = ["head_words", "place"]


def head_words(vehicle: Any, case: str) -> str:
    """Name, file and case as HTML."""
    return f'<b>{escape(vehicle.name)}</b> <span class="ev-quiet">{escape(_whose(vehicle))} · {escape(case)}</span>'


def _whose(vehicle: Any) -> str:
    if vehicle.path is None:
        return "from a text, no file"
    if vehicle.path.resolve().is_relative_to(data.FOLDER.resolve()):
        return "a demonstration, never written"
    kept = vehicle.kept
    when = f", kept {kept.day} {kept:%B %Y, %H:%M}" if kept else ", its file is gone"
    near = place(vehicle.path)
    return f"my vehicle, {near if len(near) < 40 else '/'.join(vehicle.path.parts[-2:])}{when}"


def place(path: Path) -> str:
    """A path as short as it can be said: from the project's folder, where it lies inside."""
    home, path = data.FOLDER.resolve().parent, path.resolve()
    return path.relative_to(home).as_posix() if path.is_relative_to(home) else path.as_posix()
