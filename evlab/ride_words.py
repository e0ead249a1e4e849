"""A ride told in words: what ended it and why, what would follow, and the summary that a notebook shows."""

from __future__ import annotations

import html
from collections.abc import Iterable
from typing import Any

from evlab.glossary import entry
from evlab.look import setting
from evlab.ride_ledger import quickest
from evlab.trust import TOO_MANY, UNTRUSTED, doubt
from evlab.units import to_shown

__all__ = ["aftermath", "charge_summary", "reason", "summary"]


def _where(r: Any) -> str:
    slope = float(r.column("slope")[-1])
    kind = "" if abs(slope) < 0.005 else f", on the {'climb' if slope > 0 else 'descent'} of {100 * abs(slope):.1f} %"
    return f"at {r.distance:.1f} m of {r.route.length:g} m{kind}"


def reason(r: Any) -> str:
    """One sentence: what ended the ride, where, which limit."""
    if r.outcome == UNTRUSTED:
        return _doubt(r)
    volts = r.end_voltage
    if volts != volts:  # a store that gives nothing from the first instant
        volts = r.start_voltage
    words = {
        "arrived": f"It arrived after {r.duration:.1f} s with {volts:.1f} V at the terminals.",
        "cut-off": f"The store fell to {volts:.1f} V under {r._columns['store_amps'][-1]:.0f} A {_where(r)}: {_stop_words(r)}.",
        "collapse": f"The pack is empty {_where(r)}: not a joule is left in its cells." if _empty(r) else
                    f"The drive asked for more power than the store can give {_where(r)}: its volts collapsed at {volts:.1f} V.",
        "stalled": f"It stood still for five seconds {_where(r)}: {_limit_words(r)} the drive could not move it.",
        "rolled back": f"It came to rest and rolled back {_where(r)}: {_limit_words(r)} the drive could not hold it.",
        "too hot": f"The winding reached its limit of {r.vehicle.motor.temperature_limit - 273.15:.0f} °C {_where(r)}.",
        "time limit": f"The time limit of {r.duration:.0f} s ended it {_where(r)}.",
    }
    return words[r.outcome]


def _doubt(r: Any) -> str:
    """Why a ride is not to be trusted."""
    if r.ended != TOO_MANY:
        return doubt("ride", r)
    field, seconds = quickest(r.vehicle)
    e = entry(field)
    value = setting(float(f"{to_shown(float(r.vehicle.value(field).value), e):.4g}"), e.shown)
    return (f"This ride could not be calculated to its end; it got as far as {r.distance:.1f} m. Something in this vehicle acts "
            f"far too fast. Check {e.label.lower()} first ({field}): it says {value}, and with that the speed would settle within "
            f"{1e3 * seconds:.1g} ms. Do not trust any number of this ride.")


def _empty(r: Any) -> bool:
    return bool(r.vehicle.store.kind == "lithium" and r.end_state("lithium")[0][0] < 1e-3)


def _stop_words(r: Any) -> str:
    """What switched off, at which volts."""
    v = r.vehicle
    if v.converter.kind != "none":
        return f"below its minimum of {v.converter.minimum_voltage:g} V the converter switches off"
    made_up = f", {v.controller.sag_compensation * 1e3:g} mΩ of sag made up for," if v.controller.sag_compensation else ""
    return f"below the stop volts of {v.controller.stop_voltage:g} V{made_up} the drive switches off"


def _limit_words(r: Any) -> str:
    """Which limit the drive stands at in the last instant, by its number: a standstill has no way along which to look."""
    c, last = r.vehicle.controller, {n: float(r.column(n)[-1]) for n in ("motor_amps", "store_amps", "duty")}
    for name, limit, words in (("motor_amps", c.coil_current_limit, f"at the coil current limit of {c.coil_current_limit:g} A"),
                               ("store_amps", c.store_current_limit, f"at the store current limit of {c.store_current_limit:g} A"),
                               ("duty", c.duty_limit, "with the volts that were left")):
        if last[name] >= limit * (1 - 1e-6):
            return words
    return "with what was asked of it"


def aftermath(r: Any) -> str:
    """What would follow a cut-off; "" where nothing follows."""
    if r.outcome != "cut-off":
        return ""
    c = r.vehicle.controller
    later = r.vehicle.store.rested_after(r.end_state(r.vehicle.store.kind)[0], c.latch_time)
    slope, speed = float(r.column("slope")[-1]), float(r.column("speed")[-1])
    resume = r.vehicle.converter.stops_at(c.resume_voltage)
    again = "it would switch on again, and off again" if later >= resume else "it stays off"
    grade, roll = abs(slope), r.vehicle.road.rolling_coefficient
    rolls = f"it then rolls {'back' if slope > 0 else 'on'}: the friction brake must hold it"
    rolls = rolls if grade > roll else "it rolls out and stands"
    return (f"After {c.latch_time:g} s at rest the store shows {later:.1f} V ({resume:g} V to resume): {again}. "
            f"From {speed:.1f} m/s {rolls}.")


def _label(key: str) -> str:
    label = entry(f"energy_{key}").label
    return label[:1].lower() + label[1:]


def summary(r: Any) -> str:
    """The ride as a small HTML table: outcome, reason, the numbers, the ledger."""
    terms = sorted(((key, joules) for key, joules in r.ledger.items() if abs(joules) >= 0.5), key=lambda term: -abs(term[1]))
    rows = [("Time", f"{r.duration:.1f} s"), ("Way", f"{r.distance:.1f} m of {r.route.length:g} m"),
            ("Store volts", f"{r.start_voltage:.2f} V at rest, {r.end_voltage:.2f} V under load at the end"),
            *((f"Gave: {_label(key)}", f"{joules:.0f} J") for key, joules in terms if joules > 0),
            *((f"Took: {_label(key)}", f"{-joules:.0f} J") for key, joules in terms if joules < 0),
            ("Not accounted for", f"{abs(r.closure):.1g} J of {r.closure_allowed:.2g} J allowed")]
    return _sheet(r.outcome, (r.reason, r.aftermath), rows)


def charge_summary(r: Any) -> str:
    """A charge as a small HTML table: outcome, reason, the numbers, the ledger."""
    unit, scale, places = ("kJ", 1e-3, 2) if abs(r.ledger["source"]) < 1e6 else ("Wh", 1 / 3600, 1)
    rows = [("Time", f"{r.duration:.0f} s" if r.duration < 600 else f"{r.duration / 60:.1f} min"),
            ("Store volts", f"{r.start_voltage:.2f} V at rest, {r.end_voltage:.2f} V at the terminals at the end, "
                            f"{r.rested_voltage:.2f} V after a rest"),
            ("Fullest cell", f"{r.column('worst_cell_volts')[-1]:.3f} V"),
            *((f"{'Gave' if joules > 0 else 'Took'}: {_label(key)}", f"{abs(joules) * scale:.{places}f} {unit}")
              for key, joules in r.ledger.items() if abs(joules) * scale >= 0.5 * 10**-places),
            ("Not accounted for", f"{abs(r.closure):.1g} J of {r.closure_allowed:.2g} J allowed")]
    events = tuple(f"{e.time:.0f} s: {e.words}." for e in r.events if e.words not in r.reason)
    return _sheet(r.outcome, (r.reason, *events), rows)


def _sheet(outcome: str, sentences: Iterable[str], rows: Iterable[tuple[str, str]]) -> str:
    cells = "".join(f"<tr><th scope=row style='text-align:left'>{html.escape(name)}</th>"
                    f"<td style='text-align:right'>{html.escape(told)}</td></tr>" for name, told in rows)
    words = " ".join(html.escape(part) for part in sentences if part)
    return f"<p><b>{html.escape(outcome)}.</b> {words}</p><table>{cells}</table>"
