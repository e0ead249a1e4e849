"""Slider to picture in a real JupyterLab: key press to new pixels, median of thirty; and a page from open to first picture."""

from __future__ import annotations

import statistics

from tests.browser import browser_check


def rows():
    times = browser_check.slider_to_picture("notebooks/06_ride.ipynb")
    made = []
    for name, spent in times.items():
        middle = statistics.median(spent)
        made.append((f"slider to picture, 06_ride, {name}", middle, 100.0, "ms", middle <= 100.0))
    return made
