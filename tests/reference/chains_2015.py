"""Chains and belts as printed: a maker's table of ISO 606 sprockets, a paper's worked chain, a page's worked belt."""

from __future__ import annotations

import math

from evlab import chains

from . import Check, Erratum

TABLE = "a maker's catalogue of sprockets for 06B chain to ISO 606 (copy on docslib.org, 7694706)"
PAPER = "a paper on the exact length of chains (copy on th4.ilovetranslation.com): 20 and 63 teeth"
BELT = "a page on toothed belts, its worked example: pitch 2 mm, 20 and 40 teeth, 100 mm"
GIVEN = "pitch circle and links of ISO 606 by their formulas, arithmetic"
_TIP = "ISO 606 leaves the tip a range of some 2.5 mm for this chain; makers turn it to sizes of their own; half of the range"
_ROWS = {76: ("230.49", "234.9")}


CHECKS = [
    *(
        Check(
            "chains.chain_pitch_diameter",
            pitch,
            "mm",
            TABLE,
            f"{z} teeth",
            {"chain_pitch": 9.525e-3, "teeth": z},
            table="06B",
        )
        for z, (pitch, _) in _ROWS.items()
    ),
    *(
        Check(
            "chains.tip_diameter",
            tip,
            "mm",
            TABLE,
            f"{z} teeth, outside",
            {"chain_pitch": 9.525e-3, "teeth": z},
            table="06B",
            allowance=1.3,
            why=_TIP,
        )
        for z, (_, tip) in _ROWS.items()
    ),
    *(
        Check(
            "chains.chain_pitch_diameter",
            printed,
            "mm",
            GIVEN,
            f"pitch 12.7 mm, {z} teeth",
            {"chain_pitch": 12.7e-3, "teeth": z},
            kind="worked",
            table="iso 606",
        )
        for z, printed in ((11, "45.078212"), (17, "69.115828"), (25, "101.329868"), (44, "178.022784"))
    ),
    Check(
        "chains.chain_links",
        "83.6190",
        "",
        GIVEN,
        "12.7 mm, 11 and 44 teeth, 350 mm",
        kind="worked",
        table="iso 606",
        inputs={"chain_pitch": 12.7e-3, "driver_teeth": 11, "driven_teeth": 44, "centre_distance": 0.35},
    ),
    Check("chains.ripple", "4.0507", "%", GIVEN, "11 teeth", {"driver_teeth": 11}, kind="worked", table="iso 606"),
    Check(
        "chains.handbook_centre",
        "35.6",
        "cm",
        PAPER,
        "centre distance of 114 links, handbook",
        table="paper",
        inputs={"chain_pitch": 1e-2, "driver_teeth": 20, "driven_teeth": 63, "links": 114},
    ),
    Check("chains.belt_pitch_diameter", "12.73", "mm", BELT, "20 teeth", {"chain_pitch": 2e-3, "teeth": 20}, table="belt"),
    Check(
        "chains.strand_links",
        "130.20",
        "",
        BELT,
        "teeth of the belt",
        table="belt",
        inputs={
            "chain_pitch": 2e-3,
            "driver_teeth": 20,
            "driven_teeth": 40,
            "centre_distance": 0.1,
            "driver_diameter": 0.04 / math.pi,
            "driven_diameter": 0.08 / math.pi,
        },
    ),
]

ERRATA = [
    Erratum(
        TABLE + ", 17 and 38 teeth",
        "51.83 mm and 115.35 mm",
        f"{1e3 * float(chains.chain_pitch_diameter(9.525e-3, 17)):.4f} mm and "
        f"{1e3 * float(chains.chain_pitch_diameter(9.525e-3, 38)):.4f} mm by the formula; other rows round as they should.",
    ),
    Erratum(
        PAPER,
        "114.305 pitches and 35.8447 pitches exact, beside 114.8 and 35.6 by the handbook",
        "a machine read the copy. Where the handbook gives 114.8 the exact strand of ours gives 114.80, and 35.59 for 114 links: "
        "series and geometry do not stand half a link apart here, so digits were misread. Only the 35.6 is used as a check.",
    ),
]
