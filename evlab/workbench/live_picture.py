"""A picture in the page that follows sliders: painted over a kept background, shown as an image with alt text."""

from __future__ import annotations

import base64
from typing import Any

import ipywidgets

from evlab.look import Build, Plate
from evlab.workbench.style import escape
from evlab.workbench.turns import TURN

__all__ = ["LivePicture", "Still", "still"]


class LivePicture(ipywidgets.HTML):
    """`shape` lays new paper (theme, size, axes), `show` brings the picture up to date and gives its reading."""

    def __init__(self) -> None:
        super().__init__()
        self.plate: Plate | None = None
        self._css, self._dark = (0, 0), False

    def shape(self, build: Build, *, dark: bool = False, size: tuple[float, float] = (7.3, 5.4), css_dpi: float = 100,
              dense: float = 1.0) -> None:
        """New paper: `size` in inches of `css_dpi` CSS pixels, each drawn with `dense` device pixels."""
        with TURN:
            self.plate = Plate(build, dark=dark, size=size, dpi=css_dpi * dense)
        self._css, self._dark = (round(size[0] * css_dpi), round(size[1] * css_dpi)), dark

    def show(self, result: Any, pinned: Any = None) -> str:
        """Draw this result (and the pinned one).  Returns the reading."""
        if self.plate is None:
            raise RuntimeError("LivePicture.shape must be called before show")
        with TURN:
            alt, reading = self.plate.show(result, pinned)
            self.value = _image(self.plate.png(), alt, self._css, self._dark)
        return reading


class Still:
    """A finished picture as the last line of a cell, with its reading and alt text."""

    def __init__(self, build: Build, result: Any, pinned: Any = None, dark: bool = False) -> None:
        with TURN:
            plate = Plate(build, dark=dark, size=(8.0, 5.6), dpi=200)
            self.alt, self.reading = plate.show(result, pinned)
        self._image = _image(plate.png(), self.alt, (800, 560), dark)

    def __repr__(self) -> str:
        return self.alt

    def _repr_html_(self) -> str:
        return f"{self._image}<p>{escape(self.reading)}</p>"


def still(build: Build, result: Any, pinned: Any = None, dark: bool = False) -> Still:
    """A picture of a result for a cell of one's own.

    Parameters: `build`, such as evlab.plots.strip_chart(route, ranges); `result`; `pinned`, an earlier result drawn in
    grey behind it; `dark`, for a dark page.
    """
    return Still(build, result, pinned, dark)


def _image(png: bytes, alt: str, css: tuple[int, int], dark: bool) -> str:
    theme = "ev-pic ev-dark" if dark else "ev-pic"
    return (f'<img class="{theme}" style="max-width:100%;height:auto" width="{css[0]}" height="{css[1]}" alt="{escape(alt)}" '
            f'src="data:image/png;base64,{base64.b64encode(png).decode()}">')
