"""Slider to picture in a real JupyterLab: key press to new pixels, median of thirty; and a page from open to first picture."""

from __future__ import annotations

import statistics

from tests.browser import browser_check

# ms: closed forms; where rides or a charge are run; where a field is computed
BUDGETS = {
    "00_start": 60.0,
    "01_store": 60.0,
    "02_road": 60.0,
    "03_magnets": 150.0,
    "03_winding": 150.0,
    "05_gearing": 100.0,
    "06_ride": 100.0,
    "07_charging": 100.0,
    "08_regeneration": 60.0,
}

# Pages of so many sliders that one stands for them.
ONE = {"03_magnets": "ring radius", "03_winding": "turns of a coil"}


def rows():
    made = []
    for page, budget in BUDGETS.items():
        times = browser_check.slider_to_picture(f"notebooks/{page}.ipynb", slider=ONE.get(page, ""))
        every = {"all its sliders": [one for spent in times.values() for one in spent]} if page != "06_ride" else times
        for name, spent in every.items():
            middle = statistics.median(spent)
            made.append((f"slider to picture, {page}, {name}", middle, budget, "ms", middle <= budget))
    return made
