"""What breaks a ride: the same way on harder days, as one table."""

from __future__ import annotations

import html
from dataclasses import dataclass
from typing import Any, ClassVar

from evlab.cold_day import in_air
from evlab.look import setting, shown
from evlab.riding import Result, ride
from evlab.route_files import load_route
from evlab.starting import started
from evlab.store import bank_charge
from evlab.trust import UNTRUSTED
from evlab.units import made_by
from evlab.winds import AnyWind, read_wind

__all__ = ["HardDay", "HardDays", "hard_days"]

BREEZE = 5.0  # m/s: a fresh breeze against, on top of the day's wind
AGED_CAPACITY, AGED_RESISTANCE = 0.8, 2.0  # end of life by the makers' data sheets: a fifth less, twice the ohms
SOFT = 1.5  # soft tyres roll half as hard again: common practice, no source
OVERLOAD = 30.0  # kg
LOWER = 0.8  # of the charge
COLD = 263.15  # K


@dataclass(frozen=True)
class HardDay:
    """One line: `label`, what is different in words, and the `result` of the ride."""

    label: str
    change: str
    result: Result


class HardDays:
    """The table of what breaks it.  `rows`: HardDay for HardDay, the first one as it is."""

    units: ClassVar[dict[str, str]] = {"way": "m", "time": "s", "from_store": "J", "end_volts": "V"}

    def __init__(self, rows: list[HardDay]) -> None:
        self.rows = rows

    @property
    def reason(self) -> str:
        """One sentence: which of them it does not survive."""
        doubtful = [d.label for d in self.rows[1:] if d.result.outcome == UNTRUSTED]
        failed = [d.label for d in self.rows[1:] if d.result.outcome not in ("arrived", UNTRUSTED)]
        if self.rows[0].result.outcome == UNTRUSTED:
            return str(self.rows[0].result.reason)
        if self.rows[0].result.outcome != "arrived":
            return f"It does not arrive as it is: {self.rows[0].result.reason}"
        unsure = f" Not to be trusted, since the energy ledger does not close: {', '.join(doubtful)}." if doubtful else ""
        if failed:
            return f"It arrives as it is, and does not with: {', '.join(failed)}.{unsure}"
        return f"It arrives on {'all other' if doubtful else 'each'} of these days.{unsure}"

    def table(self) -> Any:
        """A pandas DataFrame, SI."""
        import pandas as pd

        return pd.DataFrame([{"day": d.label, "change": d.change, "outcome": d.result.outcome, "way": d.result.distance,
                              "time": d.result.duration, "from_store": d.result.store_energy, "end_volts": d.result.end_voltage}
                             for d in self.rows])

    def _repr_html_(self) -> str:
        heads = ("", "what is different", "ends", "way", "time", "from the store", "volts at the end")
        rows = "".join("<tr>" + "".join(f"<td style='text-align:left'>{html.escape(cell)}</td>" for cell in _cells(d)) + "</tr>"
                       for d in self.rows)
        head = "".join(f"<th scope=col style='text-align:left'>{h}</th>" for h in heads)
        return f"<p>{html.escape(self.reason)}</p><table><tr>{head}</tr>{rows}</table>"

    def __repr__(self) -> str:
        return "\n".join([self.reason, *("  ".join(_cells(d)) for d in self.rows)])


def _cells(d: HardDay) -> tuple[str, ...]:
    r = d.result
    return (d.label, d.change, r.outcome, f"{r.distance:.1f} m", f"{r.duration:.1f} s", shown(r.store_energy / 1e3, "kJ"),
            shown(r.end_voltage, "V"))


def hard_days(vehicle: Any, route: Any, *, start: Any = None, wind: str | AnyWind = 0.0, driver: Any = None,
              winding: float | str | None = None) -> HardDays:
    """Ride the same way as it is, and with each of six hardships alone: head wind, an aged store, soft tyres, an overload, a lower
    charge, cold.

    Parameters: `vehicle`; `route`, a Route or the name of one; `start`, `wind`, `driver` and `winding` as of a ride.  A hardship
    that this vehicle cannot have (an aged supply; a wind beside one that changes) is left out.
    Returns HardDays.
    """
    made_by("vehicle of hard_days", vehicle, "effective_mass", "evlab.load_vehicle()")
    way = load_route(route) if isinstance(route, str) else route
    blown = read_wind(wind, "hard_days")
    like = {"driver": driver, "winding": winding}
    rows = [HardDay("as it is", "nothing", ride(vehicle, way, start=start, wind=blown, **like))]
    if isinstance(blown, float):
        words = f"{setting(BREEZE, 'm/s')} more against"
        rows.append(HardDay("head wind", words, ride(vehicle, way, start=start, wind=blown + BREEZE, **like)))
    for label, words, other in _others(vehicle):
        rows.append(HardDay(label, words, ride(other, way, start=_goes_on(start), wind=blown, **like)))
    if vehicle.store.kind != "supply":
        words, less = _less(vehicle.store, start)
        rows.insert(-1, HardDay("lower charge", words, ride(vehicle, way, start=less, wind=blown, **like)))
    return HardDays(rows)


def _goes_on(start: Any) -> Any:
    """Another store begins with as many volts as an earlier result left in this one."""
    return start.rested_voltage if hasattr(start, "rested_voltage") else start


def _others(v: Any) -> list[tuple[str, str, Any]]:
    """The vehicle aged, on soft tyres, overloaded, cold."""
    made = []
    size = {"capacitors": "store.cell_capacitance", "lithium": "store.cell_charge"}.get(v.store.kind)
    if size:
        aged = {size: AGED_CAPACITY * v.value(size).value, "store.cell_resistance": AGED_RESISTANCE * v.store.cell_resistance}
        made.append(("aged store", "a fifth less capacity, twice the ohms of a cell (data sheets' end of life)", v.change(aged)))
    rolls = v.road.rolling_coefficient
    soft = v.change({"road.rolling_coefficient": SOFT * rolls})
    made.append(("soft tyres", "rolling half as hard again (common practice)", soft))
    heavy = v.change({"load.cargo": v.load.cargo + OVERLOAD})
    made.append(("overload", f"{setting(OVERLOAD, 'kg')} more cargo", heavy))
    made.append(("cold", "−10 °C: denser air, stiffer tyres, more ohms in the cells, less in the winding", in_air(v, COLD)))
    return made


def _less(store: Any, start: Any) -> tuple[str, Any]:
    """A fifth less charge than asked: in words, and as the start of a ride."""
    state = start.end_state(store.kind)[0] if hasattr(start, "end_state") else started(store, start, "hard_days")
    if start is None or store.kind == "lithium":
        share = LOWER if start is None else LOWER * float(state[0])
        return f"{setting(round(100 * share, 1), '%')} of the full charge", f"{100 * share:g} %"
    p = store.parameters()
    share = LOWER * bank_charge(state, p) / bank_charge(store.full_state(), p)
    volts = store.rested_voltage(store.state_at_share(share))
    return f"{setting(round(volts, 2), 'V')}, a fifth less charge", volts
