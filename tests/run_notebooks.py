"""Run notebooks and find their widgets, without a browser.  Two speeds:

    run_here(path)      in this process, in an IPython shell of its own (0.3 s a page: imports are shared)
    run_fresh(path)     in a fresh kernel, as a learner does (2 s a page)

From a terminal:  python tests/run_notebooks.py here|fresh [notebook ...]      prints the time each page takes.
"""

import contextlib
import io
import pathlib
import sys
import time
from collections.abc import Iterator
from typing import Any

import ipywidgets
import nbformat
from IPython.core.interactiveshell import InteractiveShell
from nbclient import NotebookClient
from traitlets.config import Config

PAGES = pathlib.Path(__file__).resolve().parents[1] / "notebooks"
OUT_OF_VIEW = "ev-behind"  # what the workbench gives to controls and pictures that are not on view


def pages() -> list[pathlib.Path]:
    """Every notebook of the project, the workshop's included; not what a learner keeps in mine/."""
    return sorted(path for path in PAGES.rglob("*.ipynb") if not {"mine", ".ipynb_checkpoints"} & set(path.parts))


class Shell(InteractiveShell):
    """A shell in which a page's `%matplotlib` line does nothing, since no window is there to be had."""

    def enable_gui(self, gui: str | None = None) -> None:
        pass


def run_here(path: pathlib.Path) -> dict[str, Any]:
    """Run the code cells in this process; return the page's names.  An error is raised with its cell's number."""
    InteractiveShell.clear_instance()
    Shell.clear_instance()
    shell = Shell.instance(config=Config({"HistoryManager": {"enabled": False}}))
    cells = nbformat.read(path, as_version=4).cells
    with contextlib.chdir(path.parent):
        for number, cell in enumerate(cells):
            if cell.cell_type == "code":
                run_cell(shell, cell, f"{path.name}, cell {number}")
    return dict(shell.user_ns)


def run_cell(shell: Shell, cell: nbformat.NotebookNode, where: str) -> None:
    with contextlib.redirect_stdout(io.StringIO()):
        result = shell.run_cell(cell.source, store_history=False)
    error = result.error_before_exec or result.error_in_exec
    if error and "raises-exception" not in cell.metadata.get("tags", []):
        raise RuntimeError(where) from error


def run_fresh(path: pathlib.Path) -> nbformat.NotebookNode:
    """Run the page in a fresh kernel; return it with its outputs.  An error in a cell is raised."""
    page = nbformat.read(path, as_version=4)
    where = {"metadata": {"path": str(path.parent)}}
    return NotebookClient(page, timeout=120, kernel_name="python3", resources=where).execute()


def widgets(names: dict[str, Any]) -> dict[str, ipywidgets.Widget]:
    """Every widget that a page's names lead to, children included, each once, by model id."""
    found: dict[str, ipywidgets.Widget] = {}
    for name, value in names.items():
        if isinstance(value, ipywidgets.Widget) and not name.startswith("_"):
            found.update({widget.model_id: widget for widget in family(value)})
    return found


def family(widget: ipywidgets.Widget) -> Iterator[ipywidgets.Widget]:
    """The widget and what is in view of what it holds."""
    yield widget
    for child in getattr(widget, "children", ()):
        if OUT_OF_VIEW not in getattr(child, "_dom_classes", ()):
            yield from family(child)


def sliders(names: dict[str, Any]) -> list[ipywidgets.Widget]:
    kinds = (ipywidgets.FloatSlider, ipywidgets.FloatLogSlider, ipywidgets.IntSlider)
    return [widget for widget in widgets(names).values() if isinstance(widget, kinds)]


def pictures(names: dict[str, Any]) -> list[ipywidgets.HTML]:
    return [widget for widget in widgets(names).values()
            if isinstance(widget, ipywidgets.HTML) and "<img" in str(widget.value)]


def main(speed: str, paths: list[pathlib.Path]) -> None:
    run = {"here": run_here, "fresh": run_fresh}[speed]
    for path in paths or pages():
        began = time.perf_counter()
        run(path)
        print(f"{time.perf_counter() - began:6.2f} s  {path.name}")


if __name__ == "__main__":
    main(sys.argv[1], [pathlib.Path(word).resolve() for word in sys.argv[2:]])
