"""Strips over the time: three ways to discharge a store, and a charge with what holds the charger."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from matplotlib.figure import Figure

from evlab.look import BOOK, QUIET, THIN, Build, Desk, Look, Update, limit, number, setting, shown
from evlab.plots.ranges import thinned
from evlab.plots.ribbon import Flags, Ribbon, axis_below
from evlab.plots.rulers import and_list
from evlab.plots.sentences import duration
from evlab.plots.store_ranges import ChargeRanges, StoreRanges, cell_limits
from evlab.plots.strips import LEFT, RIGHT, Strip, Traces, stacked, traces

# ---------------------------------------------------------------- discharges
CASES = {"constant power": "constant_power", "constant current": "constant_current", "resistor": "resistor_load"}
ENDS = {"stop volts": "reaches the stop volts", "collapse": "collapses", "empty": "runs empty", "time limit": "never ends"}
SIDES = (146.0, 210.0)  # margins: short heads at the left, cases with a sample at the right [1/100 inch]


def discharge_chart(ranges: StoreRanges) -> Build:
    """Volts, amps and energy of three discharges over one time axis; flags tell how each of them ends.

    Parameters: ranges, what the axes cover.  Its update takes a StoreCase, by .discharges and .vehicle.
    Returns build(figure, look) for a figure of at least 5 x 4 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return Discharges(figure, look, ranges).update

    return build


class Discharges:
    """The three strips on one figure.  Made by `discharge_chart`."""

    def __init__(self, figure: Figure, look: Look, ranges: StoreRanges):
        desk, cases = Desk(figure), tuple(CASES.values())
        strips = (
            Strip(("store_volts",), *ranges.volts, 1.2, 4, (), "below", cases),
            Strip(("store_amps",), *ranges.amps, 1.0, 4, cases=cases),
            Strip(("given_energy",), 0.0, ranges.energy / 1000, 1.0, 4, cases=cases),
        )
        wide, lines = desk.wide - sum(SIDES), 1 if desk.wide >= 740 else 2
        foot = 28 + 15 * lines
        self.panes = stacked(desk, look, strips, ranges.time, 40, foot + 14, SIDES)
        self.flags = Flags(desk, look, self.panes[0].axes, wide, lines, 1 + 13 / self.panes[0].tall)
        axis_below(desk, look, self.panes[-1].axes, foot, "time", [pane.axes for pane in self.panes])
        self.pinned = look.live(desk.text(8, desk.high - 18, "", look.ink2, QUIET))

    def update(self, case: Any, pinned: Any = None) -> tuple[str, str]:
        """Move the curves, their readings and the flags at their ends."""
        runs: dict[str, Any] = {CASES[d.name]: d for d in case.discharges}
        ends = [(d.duration, d.duration, f"{d.name}: {d.ended}") for d in case.discharges]
        hairs = [at for at, _, _ in self.flags.show(ends)]
        old = {} if pinned is None else {CASES[d.name]: d for d in pinned.discharges}
        for pane, column in zip(self.panes, ("volts", "amps", "energy"), strict=True):
            scale = 1e-3 if column == "energy" else 1.0
            now, before = (
                {n: thinned(d.times, scale * getattr(d, column)) for n, d in some.items()} for some in (runs, old)
            )
            pane.show(now, before, hairs)
            for name in CASES.values():
                pane.note(name, _told(column, runs[name]) if name in runs else "")
        self.panes[0].bound(case.stop)
        self.panes[0].note("store_volts", f"stop at {setting(case.stop, 'V')}")
        self.pinned.set_text("" if pinned is None else "thin grey: pinned")
        reading = discharge_reading(case.discharges)
        tops = "; ".join(f"{d.name}, top {shown(float(max(d.amps)), 'A')}" for d in case.discharges)
        return f"Three strips over the time: volts, amps, energy given. {reading} {tops}.", reading


def _told(column: str, run: Any) -> str:
    """The reading of one discharge in one strip."""
    if column == "volts":
        return f"{run.name} {asked(run)}"
    return f"top {shown(float(max(run.amps)), 'A')}" if column == "amps" else f"gave {shown(run.used / 1000, 'kJ')}"


def asked(run: Any) -> str:
    """What a discharge holds: '600 W', '30 A', '1 Ω'."""
    return setting(run.load, BOOK["quantity"][CASES[run.name]]["unit"])


def discharge_reading(runs: Sequence[Any]) -> str:
    """How each discharge ended, in one sentence."""
    told = [
        f"{d.name} ({asked(d)}) {ENDS[d.ended]} after {duration(d.duration)} with {shown(d.used / 1000, 'kJ')} given"
        for d in runs
    ]
    return f"{'; '.join(told)[:1].upper()}{'; '.join(told)[1:]}." if told else "Nothing has been discharged."


# ---------------------------------------------------------------- charging
COLUMNS = ("charging_amps", "source_amps", "charging_power", "store_volts", "open_volts", "worst_cell_volts", "mean_cell_volts")
HELD = {"constant voltage": "the constant volts hold", "highest volts": "its highest volts hold"}
FINISHED = {
    "full": "The store is full", "source overloaded": "The source is overloaded", "cell over its limit": "A cell is over its limit",
    "charger gave up": "The charger gives up", "time limit": "The time limit ends the charge",
    "not to be trusted": "This charge cannot be trusted, since its energy ledger does not close: it seems to end",
}  # fmt: skip


def charge_chart(ranges: ChargeRanges) -> Build:
    """Volts, amps, power, energy and the fullest cell over the time of a charge; what holds the charger along the bottom.

    Parameters: ranges, what the axes cover.  Its update takes a ChargeResult.
    Returns build(figure, look) for a figure of at least 5 x 5 inches.
    """

    def build(figure: Figure, look: Look) -> Update:
        return Charge(figure, look, ranges).update

    return build


class Charge:
    """The strips of a charge on one figure.  Made by `charge_chart`."""

    def __init__(self, figure: Figure, look: Look, ranges: ChargeRanges):
        desk = Desk(figure)
        strips = (
            Strip(("store_volts", "open_volts"), *ranges.volts, 1.4, 4, (), "above"),
            Strip(("charging_amps", "source_amps"), *ranges.amps, 1.4, 4, (), "above"),
            Strip(("charging_power",), *ranges.power, 0.8, 3),
            Strip(("source_energy", "stored_energy"), 0.0, ranges.energy / 1000, 1.4, 4),
            Strip(("worst_cell_volts", "mean_cell_volts"), *ranges.cell, 1.7, 4, (), "above"),
        )
        self.panes = stacked(desk, look, strips, ranges.time, 24, 80, (LEFT + 8, RIGHT - 8))
        self.surge = limit(self.panes[4].axes, look, "above")
        self.ribbon = Ribbon(desk, look, LEFT + 8, desk.wide - LEFT - RIGHT, 42, ranges.time)
        axis_below(desk, look, self.ribbon.axes, 28, "time", [pane.axes for pane in self.panes])
        self.pinned = look.live(desk.text(desk.wide - RIGHT + 18, desk.high - 12, "", look.ink2, QUIET))

    def update(self, result: Any, pinned: Any = None) -> tuple[str, str]:
        """Move curves, limits, readings and ribbon to this charge."""
        now, before = _curves(result), {} if pinned is None else _curves(pinned)
        for pane in self.panes:
            pane.show(now, before, [], None if result.outcome == "full" else result.duration)
        self._notes(result, {n: float(y[-1]) for n, (_, y) in now.items()})
        self.ribbon.show(result.spells)
        self.pinned.set_text("" if pinned is None else "thin grey: pinned")
        reading = charge_reading(result)
        tops = [f"{BOOK['quantity'][n]['label'].lower()} up to {_top(result, n)}" for n in COLUMNS[:3]]
        mean = shown(float(now["mean_cell_volts"][1][-1]), "V")
        return f"Strip chart of a charge over the time. {reading} {'; '.join(tops)}; the mean cell ends at {mean}.", reading

    def _notes(self, result: Any, last: dict[str, float]) -> None:
        volts, amps, power, energy, cell = self.panes
        charger, store = result.vehicle.charger, result.vehicle.store
        volts.bound(result.stop)
        volts.note("store_volts", f"ends {shown(last['store_volts'], 'V')}", f"stops at {setting(result.stop, 'V')}")
        volts.note("open_volts", f"rests at {shown(result.rested_voltage, 'V')}")
        most = getattr(charger, "current_limit", float("nan"))  # a resistor has none
        amps.bound(most)
        amps.note("charging_amps", f"top {_top(result, 'charging_amps')}", f"limit {setting(most, 'A')}" if most == most else "")
        amps.note("source_amps", f"top {_top(result, 'source_amps')}", f"limit {setting(charger.source_current_limit, 'A')}")
        watts = getattr(charger, "power_limit", 0.0)  # a resistor has none
        power.note("charging_power", f"top {_top(result, 'charging_power')}", f"limit {setting(watts, 'W')}" if watts else "")
        energy.note("source_energy", f"gave {shown(last['source_energy'], 'kJ')}")
        through = result.efficiency  # not a number while nothing was given
        share = f"{number(100 * through, 2)}{THIN}% of it" if through == through else ""
        energy.note("stored_energy", f"kept {shown(last['stored_energy'], 'kJ')}", share)
        bounds = cell_limits(store)
        for move, bound in zip((cell.bound, self.surge), [*bounds.values(), float("nan"), float("nan")], strict=False):
            move(bound)
        words = [f"{name} {setting(bound, 'V')}" for name, bound in bounds.items()] + [""]
        cell.note("worst_cell_volts", f"ends {shown(last['worst_cell_volts'], 'V')}", words[-2] if bounds else "")
        cell.note("mean_cell_volts", f"ends {shown(last['mean_cell_volts'], 'V')}", words[0] if len(bounds) > 1 else "")


def _curves(result: Any) -> Traces:
    """The curves by name, energies counted positive in kJ."""
    time, energy = result.column("time"), {"source_energy": "source", "stored_energy": "store"}
    told = {n: (time, abs(result.column(f"energy_{k}")) / 1000) for n, k in energy.items()}
    return {**traces(result, COLUMNS, "time"), **told}


def _top(result: Any, name: str) -> str:
    return shown(float(result.column(name).max()), BOOK["quantity"][name]["unit"])


def charge_reading(result: Any) -> str:
    """What the chart of a charge shows now, in one sentence with numbers."""
    volts = shown(float(result.column("store_volts")[-1]), "V")
    words = f"{FINISHED.get(result.outcome, result.outcome)} after {duration(result.duration)} at {volts}"
    seconds: dict[str, float] = {}
    for start, end, by in result.spells:
        seconds[by] = seconds.get(by, 0.0) + end - start
    if seconds:
        by = max(seconds, key=lambda k: seconds[k])
        words += f"; for {duration(seconds[by])} {HELD.get(by, f'the {by} holds')} the charger"
    worst = float(result.column("worst_cell_volts")[-1])
    bounds = cell_limits(result.vehicle.store).items()
    passed = [f"{name} {setting(bound, 'V')}" for name, bound in bounds if worst > 1.0005 * bound]
    over = f", above its {and_list(passed)}" if passed else ""
    return f"{words}; the fullest cell ends at {shown(worst, 'V')}{over}."
