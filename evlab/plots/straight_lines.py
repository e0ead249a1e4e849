"""A motor on the bench: three straight lines that tell its constants, as read and as designed."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from evlab.look import QUIET, Build, Desk, Look, Update, shown
from evlab.plots.ranges import few_ticks, tick_words
from evlab.plots.winding_ranges import WindingRanges

LEFT, GAP, FOOT, HEAD = 54.0, 66.0, 92.0, 62.0


def bench_read(ranges: WindingRanges) -> Build:
    """Volts over the speed of the free run, torque and volts over the amps held still; as read, and as designed.

    Parameters: ranges, by free_speed, free_volts, held_amps, held_torque and held_volts.  Its update takes a WindingCase, by
    .bench, .constant and .ohms.
    Returns build(figure, look) for a figure of at least 6 x 3.6 inches.
    """
    still = "Held still"
    panels = (("Run free", "volts left for turning", "rad/s", (ranges.free_speed, ranges.free_volts)),
              (still, "torque, N·m", "A", (ranges.held_amps, ranges.held_torque)),
              (still, "volts", "A", (ranges.held_amps, ranges.held_volts)))  # fmt: skip

    def build(figure: Figure, look: Look) -> Update:
        desk = Desk(figure)
        wide = (desk.wide - LEFT - 16 - 2 * GAP) / 3
        axes = []
        for number, (head, up, along, (right, top)) in enumerate(panels):
            x = LEFT + number * (wide + GAP)
            axes.append(desk.axes(x, FOOT, wide, desk.high - FOOT - HEAD))
            ticks, heights = few_ticks(0.0, right, 4), few_ticks(0.0, top, 5)
            axes[-1].set(xlim=(0, right), ylim=(0, top), xlabel=along)
            axes[-1].set_xticks(ticks, tick_words(ticks))
            axes[-1].set_yticks(heights, tick_words(heights))
            desk.text(x - 46, desk.high - 18, head, look.ink, bold=True)
            desk.text(x - 46, desk.high - 38, up, look.ink2, QUIET)
        desk.text(8, 20, "full line and ring: as read        dashes: as designed", look.ink2, QUIET)
        slopes = [look.live(desk.text(LEFT + n * (wide + GAP), 42, "", look.text("motor"), QUIET)) for n in range(3)]

        def update(case: Any, pinned: Any = None) -> tuple[str, str]:
            b, k, ohm = case.bench, case.constant, case.ohms
            points = ((b.speed, b.free_emf), (b.held_amps, b.held_torque), (b.held_amps, b.held_volts))
            read = b.by_speed, b.by_pull * b.crest, b.held_volts / b.held_amps
            design = k, k * b.crest, ohm
            for one, (x, y), slope, drawn in zip(axes, points, read, design, strict=True):
                ends = np.array(one.get_xlim())
                one.plot(ends, drawn * ends, color=look.ink2, lw=1.4, ls=(0, (5, 2.4)), zorder=2)
                if math.isfinite(slope):
                    one.plot(ends, slope * ends, color=look.line("motor"), lw=2.2, ls="-", zorder=3)
                    one.plot([x], [y], marker="o", ms=9, mfc=look.paper, mec=look.ink, mew=1.8, ls="", zorder=4)
            told = (shown(read[0], "V·s/rad"), shown(read[1], "N·m/A") if b.held_torque else "", shown(1e3 * read[2], "mΩ"))
            for text, words in zip(slopes, told, strict=True):
                text.set_text(f"slope {words}" if words else "torque not read")
            reading = b.against(k, ohm)
            return f"Volts over speed, torque and volts over amps, as read and as designed. {reading}", reading

        return update

    return build
