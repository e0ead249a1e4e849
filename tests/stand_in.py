"""A crude ride with the attributes of a real result, for tests of pictures only.  Its numbers prove nothing."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np

TERMS = (
    "esr",
    "slow_branch",
    "copper",
    "bridge",
    "stand_by",
    "motor_drag",
    "chain",
    "rolling",
    "air",
    "bearings",
    "brake",
    "lift",
    "kinetic",
)
UP = ((0.0, 70.0, 72.0, 130.0, 132.0, 175.0), (0.0, 0.0, 0.07, 0.07, 0.0, 0.0))
DOWN = ((0.0, 43.0, 45.0, 103.0, 105.0, 175.0), (0.0, 0.0, -0.07, -0.07, 0.0, 0.0))


def stand_in_route(nodes=UP[0], slopes=UP[1], limits=((0.0, 3.0), (70.0, 2.4), (132.0, 3.0))):
    nodes, slopes = np.array(nodes), np.array(slopes)
    sines = np.sin(np.arctan(slopes))
    heights = np.concatenate([[0.0], np.cumsum(np.diff(nodes) * (sines[1:] + sines[:-1]) / 2)])
    return SimpleNamespace(
        name="some hop",
        length=float(nodes[-1]),
        nodes=nodes,
        slopes=slopes,
        heights=heights,
        limits=list(limits),
        stops=[],
        slope=lambda s: np.interp(s, nodes, slopes),
        height=lambda s: np.interp(s, nodes, heights),
    )


def stand_in_vehicle(coil_limit=45.0, teeth=76):
    return SimpleNamespace(
        mass=192.0,
        store=SimpleNamespace(
            kind="capacitors",
            cells_in_series=14,
            strings_in_parallel=1,
            cell_capacitance=650.0,
            cell_surge_voltage=2.85,
            charge_voltage=35.0,
        ),
        controller=SimpleNamespace(
            coil_current_limit=coil_limit,
            braking_current_limit=25.0,
            store_current_limit=60.0,
            duty_limit=0.97,
            stop_voltage=15.0,
        ),
        motor=SimpleNamespace(temperature_limit=393.15, constant=0.346),
        gearing=SimpleNamespace(motor_teeth=15, wheel_teeth=teeth, wheel_radius=0.245),
        road=SimpleNamespace(air_temperature=293.15),
        load=SimpleNamespace(rider=72.0, cargo=60.0),
    )


class StandIn:
    """A ride of a vehicle on a hop; see the module."""

    def __init__(self, route=None, start=35.0, cargo=60.0, wind=0.0, coil_limit=45.0, dt=0.05, pace=1.0, rows=None):
        self.route, self.vehicle, self.wind = route or stand_in_route(), stand_in_vehicle(coil_limit), wind
        self._ride(start, 132.0 + cargo, wind, coil_limit, dt, pace, rows)

    def column(self, name):
        return self._columns[name]

    def _ride(self, start, mass, wind, coil_limit, dt, pace, most):
        route, inertia, ratio, k, gone = self.route, mass + 15.7, 76 / 15 / 0.245, 0.346, dict.fromkeys(TERMS, 0.0)
        t = x = v = wish = 0.0
        volts, coil, rows, self.outcome, held, events = start, 293.15, [], "time limit", [], []
        farad = 46.4
        while t < 20000:
            slope = float(route.slope(x))
            top = [m for at, m in route.limits if at <= x][-1]
            aim = min(top, math.sqrt(0.9 * max(route.length - x, 0)) + 0.05)
            wish = min(max(aim, wish - 0.8 * dt), wish + 0.45 * dt)
            w, ohm = v * ratio, 0.1525 * (1 + 0.00393 * (coil - 293.15))
            load = {
                "rolling": mass * 9.81 * 0.012,
                "air": 0.58 * abs(v + wind) * (v + wind),
                "lift": mass * 9.81 * math.sin(math.atan(slope)),
            }
            asked = inertia * 1.2 * (wish - v) + sum(load.values())
            amps = asked / ratio * (1 / 0.95 if asked > 0 else 0.95) / k + 0.3
            roof, by = (0.97 * volts - k * w) / ohm, "set speed"
            if amps > min(coil_limit, roof):
                amps, by = (coil_limit, "coil current limit") if coil_limit < roof else (roof, "duty limit")
            elif amps < -1:
                by = "braking"
            braking = 0.0
            if amps < -min(25.0, 0.5 * k * w / ohm):
                amps, by = -min(25.0, 0.5 * k * w / ohm), "friction brake"
                braking = max(-asked + k * amps * ratio, 0.0)
            drive = (k * amps - 0.1 - 0.002 * w) * ratio
            drive *= 0.95 if drive > 0 else 1 / 0.95
            new = v + (drive - sum(load.values()) - braking) / inertia * dt
            if new < 0:
                new = 0.0
            mid = (v + new) / 2
            heat = {
                "copper": amps**2 * ohm * 0.96,
                "bridge": amps**2 * ohm * 0.04,
                "stand_by": 4.0,
                "motor_drag": (0.1 + 0.002 * w) * w,
                "brake": braking * mid,
                "chain": abs(drive * mid) * 0.05,
                "kinetic": inertia * (new * new - v * v) / 2 / dt,
            }
            power = k * amps * mid * ratio + heat["copper"] + heat["bridge"] + 4.0
            bank = power / volts
            heat |= {"esr": bank**2 * 0.0155, "slow_branch": 0.1 * abs(bank)} | {n: f * mid for n, f in load.items()}
            for name, watts in heat.items():
                gone[name] += watts * dt
            coil += (heat["copper"] - (coil - 293.15) / 0.55) * dt / 546
            volts -= bank * dt / farad
            rows.append((t, x, slope, v, wish, volts, bank, amps, (k * w + amps * ohm) / volts, coil, *gone.values()))
            if not held or held[-1].by != by:
                if by in ("coil current limit", "duty limit") or (by == "friction brake" and x > 5):
                    events.append(SimpleNamespace(time=t, distance=x, kind=by, words=by))
                held.append(SimpleNamespace(start=x, end=x, by=by))
            x, v, t = x + mid * dt * pace, new, t + dt
            held[-1].end = x
            if most and len(rows) >= most:
                self.outcome = "stalled"
                break
            if volts < 15 or x >= route.length - 0.02 or (x > route.length - 0.3 and v < 0.06) or (v == 0 and t > 6):
                self.outcome = "cut-off" if volts < 15 else "arrived" if x > route.length - 0.3 else "stalled"
                break
        self._close(rows, held, events, gone, start)

    def _close(self, rows, held, events, gone, start):
        data = np.array(rows).T
        names = (
            "time",
            "distance",
            "slope",
            "speed",
            "set_speed",
            "store_volts",
            "store_amps",
            "motor_amps",
            "duty",
            "coil_temperature",
        )
        self._columns = dict(zip(names, data, strict=False))
        self._columns |= {f"energy_{n}": -data[10 + i] for i, n in enumerate(gone)}
        self._columns["energy_store"], self._columns["energy_rider"] = sum(data[10:]), 0.0 * data[0]
        self._columns["height"] = self.route.height(self._columns["distance"])
        self.ledger = {"store": sum(gone.values()), "rider": 0.0} | {n: -j for n, j in gone.items()}
        self.closure, self.closure_allowed = sum(self.ledger.values()), 0.034
        self.duration, self.distance = float(data[0][-1]), float(data[1][-1])
        self.start_voltage, self.end_voltage, self.held = start, float(data[5][-1]), held
        for s0, s1, a, b in zip(
            self.route.nodes, self.route.nodes[1:], self.route.slopes, self.route.slopes[1:], strict=False
        ):
            if abs(a) < 0.01 <= abs(b) and s0 < self.distance:
                events.append(
                    SimpleNamespace(
                        time=float(np.interp(s0, data[1], data[0])),
                        distance=float(s0),
                        kind="slope begins",
                        words="the slope begins",
                    )
                )
        events.append(
            SimpleNamespace(time=self.duration, distance=self.distance, kind=self.outcome, words=self.outcome)
        )
        self.events = sorted(events, key=lambda e: e.time)
        self.reason = f"The ride ends at {self.distance:.0f} m: {self.outcome}."
        self.aftermath, self.cautions = "", []
