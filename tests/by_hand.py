"""Our vehicle files read without evlab, and what follows from their values by plain formulas: expectations for what a page shows.

Nothing of evlab is imported here.  The ride is a third one, beside the loop and `independent_ride`: the midpoint rule in small
fixed steps, every relation written out, a bank of two branches and a lithium-free, converter-free drive with the posted speeds.
"""

from __future__ import annotations

import math
import re
import tomllib
from pathlib import Path
from types import SimpleNamespace

import numpy as np

DATA = Path(__file__).parents[1] / "data"
G = 9.80665  # m/s2, standard acceleration of free fall (ISO 80000-3)
BLEND = 2.0  # m behind each joint over which one slope passes into the next, as the route files say
ALPHA = 0.00393  # 1/K, copper about 20 degC (IEC 60028)
GAS = 287.05  # J/(kg K), dry air
SIZES = {
    "kg": 1, "g": 1e-3, "m": 1, "mm": 1e-3, "m2": 1, "mm2": 1e-6, "N": 1, "V": 1, "A": 1, "mA": 1e-3, "kA": 1e3, "Ohm": 1,
    "mOhm": 1e-3, "F": 1, "uF": 1e-6, "F/V": 1, "W": 1, "s": 1, "%": 0.01, "Ah": 3600, "T": 1, "K/W": 1, "J/K": 1, "m/s2": 1,
    "1/s": 1, "m/s": 1, "kg/m3": 1, "kg m2": 1, "N m": 1, "N m s/rad": 1, "V s/rad": 1, "N s/m": 1,
}


def si(text):
    """A value of a file in SI; what is no number with a unit stays as it stands."""
    found = re.fullmatch(r"(-?[0-9.eE]+(?:[+-][0-9]+)?) ?([^+]*?)(?: \+/- .*)?", text) if isinstance(text, str) else None
    if not found or not (found[2] == "" or found[2] in SIZES or found[2] == "degC"):
        return text
    return float(found[1]) + 273.15 if found[2] == "degC" else float(found[1]) * SIZES.get(found[2], 1)


def vehicle(name="two_shed_trike", **changed):
    """The tables of a vehicle file as plain values; `changed`, such as load__cargo=0."""
    tables = tomllib.loads((DATA / "vehicles" / f"{name}.toml").read_text(encoding="utf-8"))

    def plain(table):
        return SimpleNamespace(**{key: plain(v) if isinstance(v, dict) else si(v) for key, v in table.items()})

    made = plain({key: table for key, table in tables.items() if isinstance(table, dict)})
    for name, value in changed.items():
        table, _, key = name.rpartition("__")
        setattr(getattr(made, table), key, value)
    return made


def way(name="two_sheds_up"):
    """(length [m], slope (tan), posted speed [m/s]) of each stretch of a route file."""
    table = tomllib.loads((DATA / "routes" / f"{name}.toml").read_text(encoding="utf-8"))
    return [(si(s["length"]), si(s["slope"]), si(s["speed"])) for s in table["segment"]]


# ---------------------------------------------------------------- what follows from a file
def mass(v):
    return (v.vehicle.frame_mass + v.vehicle.allowance_mass + v.load.rider + v.load.cargo + v.store.mass + v.motor.mass
            + v.controller.mass + v.gearing.mass)


def ratio(v):
    return v.gearing.wheel_teeth / v.gearing.motor_teeth


def lever(v):
    """Radians of the motor for each metre of the way."""
    return ratio(v) / v.gearing.wheel_radius


def constant(v):
    """Torque constant [N m/A] and EMF constant [V s/rad] as the bridge sees them: six-step, mean of the crest of a star."""
    return v.motor.constant * (3 * math.sqrt(3) / math.pi if v.motor.dress == "phase peak" else 1.0)


def ohm(v, temperature=293.15):
    """Winding and bridge."""
    return v.motor.resistance * (1 + ALPHA * (temperature - 293.15)) + v.controller.bridge_resistance


def moved_mass(v):
    """With what turns: wheels at their rims, the rotor by its ratio squared."""
    return mass(v) + v.vehicle.wheels_rotating_mass + v.motor.inertia * lever(v) ** 2


def farad(v):
    return v.store.cell_capacitance * v.store.strings_in_parallel / v.store.cells_in_series


def store_ohm(v):
    """At 20 degC."""
    s = v.store
    return s.cells_in_series * (s.cell_resistance + s.joint_resistance) / s.strings_in_parallel + s.lead_resistance


def weight(v, slope):
    """Newtons on the road, and sine of the slope: m g cos, m g sin."""
    return mass(v) * G / math.hypot(1, slope), mass(v) * G * slope / math.hypot(1, slope)


def resistance(v, speed, slope=0.0, wind=0.0, density=None):
    """What the road and the air hold against it [N]."""
    down, along = weight(v, slope)
    through = speed + wind
    air = 0.5 * (v.road.air_density if density is None else density) * v.road.drag_area * through * abs(through)
    return down * v.road.rolling_coefficient + along + air


def amps_for(v, force, speed):
    """Coil current for a force at the wheel [A]."""
    through = v.gearing.chain_efficiency
    torque = force / lever(v) * (1 / through if force >= 0 else through)
    return (torque + drag(v, speed)) / constant(v)


def drag(v, speed):
    """The motor's own [N m]."""
    return v.motor.drag_torque + v.motor.viscous_drag * lever(v) * speed


def force_of(v, amps, speed):
    """Force at the wheel of a coil current [N]."""
    torque, through = constant(v) * amps - drag(v, speed), v.gearing.chain_efficiency
    return torque * lever(v) * (through if torque >= 0 else 1 / through)


def power_of(v, amps, speed, temperature=293.15):
    """At the bridge [W]."""
    return amps * (constant(v) * lever(v) * speed + amps * ohm(v, temperature)) + v.controller.standby_power


def volts_under(open_volts, ohms, power):
    """Terminal volts of a store that gives a power: of the two answers the upper one."""
    return open_volts / 2 + math.sqrt(open_volts**2 / 4 - ohms * power)


def root(function, low, high, times=80):
    """Where a function that is positive at `low` and negative at `high` passes zero."""
    for _ in range(times):
        middle = (low + high) / 2
        low, high = (middle, high) if function(middle) > 0 else (low, middle)
    return (low + high) / 2


def full_throttle(v, speed, volts):
    """Force at the wheel with all that coil, store and duty allow [N], cold winding, rested store."""
    emf, r, s = constant(v) * lever(v) * speed, ohm(v), store_ohm(v)

    def spare(amps):
        power = power_of(v, amps, speed)
        if volts**2 < 4 * s * power:
            return -1.0
        u = volts_under(volts, s, power)
        return min(v.controller.duty_limit * u - emf - amps * r, v.controller.store_current_limit - power / u)

    most, least = v.controller.coil_current_limit, -min(v.controller.braking_current_limit, emf / (2 * r))
    return force_of(v, most if spare(most) > 0 else root(spare, least, most), speed)


def steady_speed(v, volts, slope=0.0, wind=0.0, density=None):
    """Speed at which full throttle has nothing to spare [m/s]."""
    return root(lambda speed: full_throttle(v, speed, volts) - resistance(v, speed, slope, wind, density), 0.0, 12.0)


# ---------------------------------------------------------------- one ride
def _late(before, after):
    """How far behind a joint the next stretch's posted speed begins: where the blended slope passes 1 %, as the route files say."""
    steep, flat = max(abs(before), abs(after)), min(abs(before), abs(after))
    if not flat < 0.01 < steep:
        return 0.0
    share = (0.01 - flat) / (steep - flat)
    return BLEND * (share if abs(after) > abs(before) else 1 - share)


class Path:
    """Slope and wanted speed along (length, slope, posted speed) of each stretch, as the route files describe them."""

    def __init__(self, stretches, driver, slope_at=None):
        self.stretches, self.driver, self.own = stretches, driver, slope_at
        self.ends = [sum(a[0] for a in stretches[:i + 1]) for i in range(len(stretches))]
        pairs = list(zip(self.ends, stretches, stretches[1:], strict=False))
        self.posts = [end + _late(a[1], b[1]) for end, a, b in pairs]
        self.slower = [(post, b[2]) for post, (_, a, b) in zip(self.posts, pairs, strict=True) if b[1] < -0.01 and b[2] < a[2]]

    def slope(self, s):
        if self.own is not None:
            return self.own(s)
        i = next((i for i, end in enumerate(self.ends) if s < end), len(self.ends) - 1)
        here, begins = self.stretches[i][1], self.ends[i] - self.stretches[i][0]
        before = self.stretches[i - 1][1] if i else here
        return before + (here - before) * min((s - begins) / BLEND, 1.0)

    def wanted(self, s):
        d = self.driver
        posted = next((self.stretches[i][2] for i, post in enumerate(self.posts) if s < post), self.stretches[-1][2])
        for place, speed in self.slower:
            if s < place:
                posted = min(posted, math.sqrt(speed**2 + 2 * d.descent_slowing * (place - s)))
        return min(posted, math.sqrt(2 * d.stopping * max(self.ends[-1] - s, 0.0)) + d.creep_speed)


def delivered(v, wish, speed, inside, coil):
    """(coil current, terminal volts, amps of the bank) for a wished force at the wheel, every limit in place."""
    c, full, rs = v.controller, v.store.charge_voltage, store_ohm(v)
    emf, r = constant(v) * lever(v) * speed, ohm(v, coil)

    def volts(i):
        return volts_under(inside, rs, power_of(v, i, speed, coil))

    amps = max(min(amps_for(v, wish, speed), c.coil_current_limit), -min(c.braking_current_limit, emf / (2 * r)))
    if amps < 0 and inside < volts(amps) and volts(amps) > full:
        amps = -root(lambda i: volts(-i) - full, -amps, 0.0) if volts(0.0) < full else 0.0
    if emf + amps * r > c.duty_limit * volts(amps):
        amps = root(lambda i: c.duty_limit * volts(i) - emf - i * r, -100.0, amps)
    return amps, volts(amps), power_of(v, amps, speed, coil) / volts(amps)


TERMS = ("copper", "bridge", "stand_by", "motor_drag", "chain", "rolling", "air", "lift", "brake", "esr", "slow_branch", "rider")


def ride(v, stretches, volts=None, *, slow_volts=None, wind=0.0, legs=0.0, warmer=0.0, slope_at=None, step=0.02):
    """The posted speeds ridden from rest: {"outcome", "time", "place", "volts", "inside", "slow", "coil", "amps", "bank_amps",
    "given", "rested", "rows" and the ledger's terms [J]}; amps are the largest, a row is (time, place, speed, amps, bank amps,
    volts,
    coil [K], volts inside, of the slow branch).

    `volts` of the bank, of its slow branch where that differs; `legs` [W] at the pedals; a winding so much `warmer` [K] than the
    air; `slope_at(place)` instead of the stretches' own.  Midpoint rule: steps of 20 ms are within 2e-4 of those of 2.5 ms.
    """
    path, air_temperature, through = Path(stretches, v.driver, slope_at), v.road.air_temperature, v.gearing.chain_efficiency
    fast, slow = (1 - v.store.slow_share) * farad(v), v.store.slow_share * farad(v)
    m, end, seen = moved_mass(v), path.ends[-1], []

    def rates(y):
        s, speed, v1, v2, coil, asked = y[:6]
        speed = max(speed, 0.0)
        push, (down, along) = legs * through / max(speed, 1.0), weight(v, path.slope(s))
        rolling = down * v.road.rolling_coefficient
        air = resistance(v, speed, 0.0, wind) - resistance(v, 0.0)
        rate, need = v.driver.gain * (asked - speed), speed**2 / (2 * max(end - s, 1e-3))  # even slowing that ends at rest
        if need > 0.8 * v.driver.stopping:
            rate = min(rate, -need * min((need / v.driver.stopping - 0.8) / 0.2, 1.0))
        wish = m * rate + rolling + along + air - push
        amps, u, drawn = delivered(v, wish, speed, v1, coil)
        force = force_of(v, amps, speed)
        brake = max(force - wish, 0.0) if wish < 0 else 0.0
        seen[:] = [amps, drawn, u]
        copper, across = amps**2 * v.motor.resistance * (1 + ALPHA * (coil - 293.15)), (v1 - v2) / v.store.slow_resistance
        shaft = (constant(v) * amps - drag(v, speed)) * lever(v) * speed
        terms = [copper, amps**2 * v.controller.bridge_resistance, v.controller.standby_power, drag(v, speed) * lever(v) * speed,
                 shaft - force * speed + push * speed * (1 / through - 1), rolling * speed, air * speed, along * speed,
                 brake * speed, drawn**2 * store_ohm(v), across**2 * v.store.slow_resistance, legs * speed / max(speed, 1.0)]
        turn = min(max((path.wanted(s) - asked) / v.driver.follow_time, -v.driver.fall), v.driver.rise)
        return [speed, (force - brake + push - rolling - along - air) / m, -(drawn + across) / fast, across / slow,
                (copper - (coil - air_temperature) / v.motor.thermal_resistance) / v.motor.heat_capacity, turn, *terms]

    begin = v.store.charge_voltage if volts is None else volts
    y = [0.0, 0.0, begin, begin if slow_volts is None else slow_volts, air_temperature + warmer, *[0.0] * 13]
    t, outcome, rows = 0.0, "", []
    held = [fast * y[2] ** 2 / 2 + slow * y[3] ** 2 / 2]
    while not outcome:
        first = rates(y)
        middle = rates([a + step / 2 * b for a, b in zip(y, first, strict=True)])
        rows.append((t + step / 2, y[0] + step / 2 * first[0], y[1] + step / 2 * first[1], *seen, y[4], y[2], y[3]))
        y, t = [a + step * b for a, b in zip(y, middle, strict=True)], t + step
        outcome = ("cut-off" if seen[2] < v.controller.stop_voltage else
                   "arrived" if end - y[0] <= 0.002 or (end - y[0] <= 0.3 and y[1] < 0.06 and middle[1] <= 0) else
                   "time limit" if t > 600 else "")
    held.append(fast * y[2] ** 2 / 2 + slow * y[3] ** 2 / 2)
    return dict(zip(TERMS, y[6:], strict=True)) | {
        "outcome": outcome, "time": t, "place": y[0], "volts": seen[2], "inside": y[2], "slow": y[3], "coil": y[4],
        "amps": max(row[3] for row in rows), "bank_amps": max(row[4] for row in rows), "given": held[0] - held[1],
        "rested": (fast * y[2] + slow * y[3]) / (fast + slow), "rows": np.array(rows)}


# ---------------------------------------------------------------- the brief's trip: no drive in it
def trip(v, stretches, *, wind=0.0, pace=1.0, rolls=1.0, extra=0.0, density=None, stops=()):
    """One trip at the posted speeds in steps of a centimetre: {"place", "height", "speed", "given", a term each (arrays, J so far),
    "time" [s], "force" and "power" (the largest at the wheel)}.

    `rolls` times the rolling coefficient, `extra` kilograms, an air `density`; `stops`, (place, seconds).  Speed squared grows and
    falls evenly, by the driver's own changes; what brakes take of the motion stays with the starts.
    """
    whole, step, path = sum(a[0] for a in stretches), 0.01, Path(stretches, v.driver)
    s = np.linspace(0.0, whole, round(whole / step) + 1)
    slope = np.array([path.slope(x) for x in (s[1:] + s[:-1]) / 2])
    cap = np.array([min(stretches[i][2] for i in {sum(x >= p for p in path.posts), sum(x > p for p in path.posts)}) for x in s])
    cap = (pace * cap) ** 2
    for place, _ in ((0.0, 0), (whole, 0), *stops):
        cap[round(place / step)] = 0.0
    for i in range(1, len(s)):
        cap[i] = min(cap[i], cap[i - 1] + 2 * v.driver.rise * step)
    for i in range(len(s) - 2, -1, -1):
        cap[i] = min(cap[i], cap[i + 1] + 2 * v.driver.stopping * step)
    m, middle = mass(v) + extra, np.sqrt((cap[1:] + cap[:-1]) / 2)
    cosine, rho = 1 / np.hypot(1, slope), v.road.air_density if density is None else density
    terms = {"lift": m * G * slope * cosine, "rolling": m * G * v.road.rolling_coefficient * rolls * cosine,
             "air": rho / 2 * v.road.drag_area * (middle + wind) * abs(middle + wind),
             "starts": (m + v.vehicle.wheels_rotating_mass) / 2 * np.diff(cap) / step}
    over = np.maximum(-sum(terms.values()), 0.0)  # what must be braked away
    motion = np.minimum(over, np.maximum(-terms["starts"], 0.0))
    terms["starts"], terms["brake"] = terms["starts"] + motion, over - motion
    force = sum(terms.values())
    seconds = 2 * step / (np.sqrt(cap[1:]) + np.sqrt(cap[:-1]))
    grown = {name: np.concatenate([[0.0], np.cumsum(value * step)]) for name, value in terms.items()}
    return grown | {
        "place": s, "speed": np.sqrt(cap), "given": sum(grown.values()), "time": float(seconds.sum()) + sum(w for _, w in stops),
        "height": np.concatenate([[0.0], np.cumsum(slope * cosine * step)]), "slope": slope,
        "force": float(force.max()), "power": float((force * step / seconds).max())}


# ---------------------------------------------------------------- the store alone
def discharge(v, kind, load, step=0.005):
    """A charged bank of two branches emptied to the stop volts by a "power", "current" or "resistor": {"time", "used", "esr",
    "slow", "left", "stored", "amps" (first and last), "rows" (time, volts, amps, joules)}."""
    a = b = v.store.charge_voltage
    fast, slow, rs = (1 - v.store.slow_share) * farad(v), v.store.slow_share * farad(v), store_ohm(v)
    stored, used, esr, between, rows = (fast + slow) * a * a / 2, 0.0, 0.0, 0.0, []
    while True:
        volts = (volts_under(a, rs, load) if kind == "power" else a - load * rs if kind == "current" else a * load / (load + rs))
        amps = load / volts if kind == "power" else load if kind == "current" else volts / load
        rows.append((step * len(rows), volts, amps, used))
        if volts <= v.controller.stop_voltage:
            break
        across = (a - b) / v.store.slow_resistance
        used, esr, between = (used + step * volts * amps, esr + step * amps**2 * rs,
                              between + step * across**2 * v.store.slow_resistance)
        a, b = a - step * (amps + across) / fast, b + step * across / slow
    return {"time": rows[-1][0], "used": used, "esr": esr, "slow": between, "left": (fast * a * a + slow * b * b) / 2,
            "stored": stored, "amps": (rows[0][2], rows[-1][2]), "rows": np.array(rows)}


def pack_energy(v, power):
    """Joules of a full lithium pack at a constant power down to its stop volts, at 20 degC: its slow branch counted as settled, and
    no cell above its limit though one of two strings takes a fifth more than its share."""
    lines = [line.split(",") for line in (DATA / "evlab-2026-open-volts.csv").read_text(encoding="utf-8").splitlines()
             if line.startswith(v.store.chemistry + ",")]
    table = [[float(line[i]) for line in lines] for i in (1, 2)]
    s, n, cold = v.store, v.store.cells_in_series, math.exp(1850 * (1 / 293.15 - 1 / 298.15))  # warmer, fewer ohms (memory)
    fixed, charge = n * s.joint_resistance + s.lead_resistance + s.branch_resistance * cold, s.cell_charge * s.strings_in_parallel
    given, pieces = 0.0, 2000
    for share in ((pieces - i - 0.5) / pieces for i in range(pieces)):
        stiff = np.interp(share, [0.0, 0.05, 0.1, 0.2, 0.3, 0.9, 1.0], [2.2, 1.7, 1.35, 1.1, 1.0, 1.0, 1.05])  # memory
        inside = n * float(np.interp(share, *table))
        ohms = n * s.cell_resistance / s.strings_in_parallel * cold * float(stiff) + fixed
        if inside**2 < 4 * ohms * power:
            break
        volts = volts_under(inside, ohms, power)
        if volts < v.controller.stop_voltage or power / volts > s.cell_current_limit * s.strings_in_parallel / 1.2:
            break
        given += volts * charge / pieces
    return given


def month(v, days=30.0, factor=2.0, bleed=math.inf):
    """(odd cell, each other) [V] after days at fixed volts: cells that leak as resistors, one of them more; hour by hour."""
    s = v.store
    leak, n = s.cell_rated_voltage / s.cell_leakage, s.cells_in_series
    a, b = 1 / (factor / leak + 1 / bleed), 1 / (1 / leak + 1 / bleed)
    odd = others = s.charge_voltage / n
    for _ in range(round(days * 96)):  # the same current through all, and their sum stands still
        current = ((n - 1) * others / b + odd / a) / n
        odd += 900 * (current - odd / a) / s.cell_capacitance
        others = (s.charge_voltage - odd) / (n - 1)
    return odd, others


def bleeder(v):
    """The one fitted, or one that draws ten times the leak (common practice, no source)."""
    return v.store.bleed_resistance or v.store.cell_rated_voltage / (10 * v.store.cell_leakage)


# ---------------------------------------------------------------- on a charger
def charge(v, begins, hold=0.0, step=0.01):
    """A bank from its rested volts to its charge volts, these held for `hold` seconds: {"time", "into", "source", "slow_branch",
    "leakage", "converter" (J), "coulombs" of the source, "top" amps of it, "fullest" cell, "rests" [V], "spells" {what holds: s},
    "rows" (time, volts, inside, amps, source amps, source J, store J, fullest cell)}."""
    s, c, n = v.store, v.charger, v.store.cells_in_series
    fast, slow, rs, stop = (1 - s.slow_share) * farad(v), s.slow_share * farad(v), store_ohm(v), s.charge_voltage
    t = s.cell_tolerance  # the smallest cell, all others as much too large, and the string as the file states it
    smallest = (1 / (1 - t) + (n - 1) / (1 + t)) / n * (1 - t)
    a = b = begins
    seen = {"into": 0.0, "source": 0.0, "coulombs": 0.0, "leakage": 0.0, "slow_branch": 0.0, "converter": 0.0, "cable": 0.0}
    rows, spells, held_at, first = [], {}, (fast + slow) * begins**2 / 2, None
    while True:
        loop, at = rs + c.cable_resistance, step * len(rows)
        limits = {"current limit": c.current_limit, "power limit": (math.sqrt(a * a + 4 * loop * c.power_limit) - a) / (2 * loop)}
        by = min(limits, key=limits.get)
        amps = limits[by]
        if first is not None or a + amps * rs >= stop:
            if first is None:
                first = at
            if at - first >= hold:
                break
            by, amps = "constant volts", (stop - a) / rs
        given = amps * (a + amps * loop)
        taken = 2 * given / c.efficiency / (c.source_voltage + math.sqrt(c.source_voltage**2 - 4 * c.source_resistance * given
                                                                        / c.efficiency))
        spells[by] = spells.get(by, 0.0) + step
        rows.append((at, a + amps * rs, a, amps, taken, seen["source"], (fast * a * a + slow * b * b) / 2 - held_at,
                     a / n / smallest))
        across, leak = (a - b) / s.slow_resistance, s.cell_leakage * a / n / s.cell_rated_voltage
        for name, watts in (("source", taken * c.source_voltage), ("coulombs", taken), ("leakage", leak * a),
                            ("slow_branch", across**2 * s.slow_resistance),
                            ("cable", amps**2 * c.cable_resistance + taken**2 * c.source_resistance),
                            ("converter", taken * (c.source_voltage - taken * c.source_resistance) - given)):
            seen[name] += step * watts
        a, b = a + step * (amps - across - leak) / fast, b + step * across / slow
    rows = np.array(rows)
    seen["into"] = (fast * a * a + slow * b * b) / 2 - held_at
    return seen | {"time": at, "spells": spells, "rows": rows, "top": rows[:, 4].max(), "fullest": a / n / smallest,
                   "rests": (fast * a + slow * b) / (fast + slow), "mean": a / n}
