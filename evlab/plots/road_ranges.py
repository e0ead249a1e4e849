"""What the axes of the pictures of trip, road and gearing cover: taken from vehicle and route, widened when a case leaves them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from evlab.plots.ranges import GRAVITY, Span
from evlab.plots.store_ranges import grown, rounded
from evlab.trip import PUSH
from evlab.units import InputError

BEND = 12.0  # m: bends are drawn up to this radius
WINDIEST = 6.0  # m/s that the axes allow for without being asked


@dataclass(frozen=True)
class TripRanges:
    """Of the brief's pictures, in SI: length [m] of the way, energy [J], heights [m], slopes (tan), speed [m/s] posted at most,
    force [N] to push."""

    length: float
    energy: Span
    heights: Span
    slopes: Span
    speed: float
    force: Span

    @classmethod
    def around(cls, vehicle: Any, route: Any) -> TripRanges:
        """Ranges that hold this vehicle on this route on a bad day."""
        top, road, weight = fastest(route), vehicle.road, (vehicle.mass + 20) * GRAVITY
        climbs, rises = float(np.maximum(np.diff(route.heights), 0.0).sum()), float(route.heights[-1])
        air = 0.5 * 1.1 * road.air_density * road.drag_area * (top + WINDIEST) ** 2
        starts = (2 + len(route.stops)) * 0.5 * vehicle.mass * top**2
        asked = weight * (climbs + 1.5 * road.rolling_coefficient * route.length) + air * route.length + starts
        low = 1.15 * min(weight * rises, 0.0)
        push = weight * max(map(abs, route.slopes), default=0.0)
        return cls(length=route.length, energy=(low, rounded(max(asked, -0.25 * low))), heights=heights_of(route),
                   slopes=slopes_of(route), speed=1.25 * top,
                   force=(-rounded(1.2 * push + 0.3 * PUSH), rounded(max(3.6 * PUSH, 1.4 * push))))  # fmt: skip

    def widened(self, case: Any) -> TripRanges:
        """The same ranges while all lies inside; else what must be is wider."""
        trips, halt = (case.today, case.worst), case.halted
        lowest = [float(np.sum([np.minimum(t, 0.0) for t in trip.terms.values()], axis=0).min()) for trip in trips]
        highest = [float(np.sum([np.maximum(t, 0.0) for t in trips[0].terms.values()], axis=0).max()), trips[1].total]
        forces = (halt.push_force, halt.home_force, halt.hardest, halt.hold_force)
        return grown(self, energy=(min(lowest), max(highest)), force=(min(forces), max(forces)))


@dataclass(frozen=True)
class RoadRanges:
    """Of the road's pictures, in SI: length [m], heights [m], speed [m/s] of the forces, force [N], wind [m/s] against the way,
    posted [m/s] (along the way), slope (tan) and runaway [m/s], radius [m] and bend [m/s], braking: speed [m/s], way [m]."""

    length: float
    heights: Span
    speed: float
    force: Span
    wind: Span
    posted: float
    slope: float
    runaway: float
    radius: float
    bend: float
    braking: float
    way: float

    @classmethod
    def around(cls, vehicle: Any, route: Any) -> RoadRanges:
        """Ranges that hold this vehicle on this route at the winds and slopes that are asked for as a rule."""
        top, steep = fastest(route), max(0.08, -1.3 * min(map(float, route.slopes)))
        speed, force = _forces(vehicle, route)
        road, weight = vehicle.road, vehicle.mass * GRAVITY
        rolls = math.sqrt(2 * weight * steep / (road.air_density * road.drag_area))
        braking = max(1.5 * top, 6.0)
        return cls(length=route.length, heights=heights_of(route), speed=speed, force=force, wind=(-WINDIEST, WINDIEST),
                   posted=1.35 * top, slope=steep, runaway=rounded(1.05 * rolls + WINDIEST),
                   radius=BEND, bend=rounded(max(1.4 * top, 1.05 * math.sqrt(BEND * GRAVITY * 0.9))), braking=braking,
                   way=rounded(braking + braking**2 / 4))  # fmt: skip

    def widened(self, case: Any) -> RoadRanges:
        """The same ranges while all lies inside; else what must be is wider."""
        head, run, stop = np.asarray(case.winds[1], float), case.runaway, case.stopping
        reached = float(np.nanmax([*case.leaves[1], *case.still[1], 0.0]))
        way = min(float(stop.level[-1]), 2 * self.way)
        wind = float(head.min()), float(head.max())
        return grown(self, force=force_reached(case.forces), speed=_seen(case.forces), posted=reached / 1.02, way=way,
                     wind=wind, slope=run.steepest, runaway=float(run.tail[-1]) / 1.2)  # fmt: skip


@dataclass(frozen=True)
class GearRanges:
    """Of the pictures of gearing, in SI: speed [m/s] and force [N] of the drive, time [s] and energy [J] of the trip, wheel [m]
    its radius, centre [m] the distance of the axles."""

    speed: float
    force: Span
    time: Span
    energy: Span
    wheel: float
    centre: float

    @classmethod
    def around(cls, vehicle: Any, route: Any) -> GearRanges:
        """Ranges that hold this vehicle on this route with most sprockets."""
        speed, (_, high) = _forces(vehicle, route)
        weight, posted = vehicle.mass * GRAVITY, route.posted_time()
        climbs = float(np.maximum(np.diff(route.heights), 0.0).sum())
        road = weight * (vehicle.road.rolling_coefficient * route.length + climbs)
        return cls(speed=speed, force=(-0.12 * high, high), time=(rounded(0.9 * posted), rounded(1.8 * posted)),
                   energy=(rounded(0.7 * road), rounded(2.1 * road)),
                   wheel=vehicle.gearing.wheel_radius, centre=rounded(1.3 * (vehicle.gearing.centre_distance or 0.36)))  # fmt: skip

    def widened(self, case: Any) -> GearRanges:
        """The same ranges while all lies inside; else what must be is wider."""
        front = case.front
        time, energy = _around(front.time[front.arrived], self.time), _around(front.energy[front.arrived], self.energy)
        return grown(self, force=force_reached(case.forces), speed=_seen(case.forces), time=time, energy=energy,
                     wheel=case.vehicle.gearing.wheel_radius, centre=_centre(case) / 1.02)


def _centre(case: Any) -> float:
    """Distance of the axles [m]; 0 where chain and wheels do not go together."""
    try:
        return float(case.geometry.centre_distance)
    except InputError:
        return 0.0


def _around(values: Any, span: Span) -> Span:
    """What these values reach, as far as it is worth widening for: twice the upper end."""
    return (float(np.min(values)), min(float(np.max(values)), 2 * span[1])) if len(values) else span


def fastest(route: Any) -> float:
    """The highest posted speed [m/s]."""
    return float(max((speed for _, speed in route.limits), default=5.0))


def heights_of(route: Any) -> Span:
    """Room for the heights, smoothed and raw [m]; at least a metre."""
    raw = getattr(route, "raw", None)
    told = np.concatenate([np.asarray(route.heights, float)] + ([] if raw is None else [np.asarray(raw[1], float)]))
    low, span = float(told.min()), max(float(np.ptp(told)), 1.0)
    return low - 0.08 * span, low + 1.12 * span


def slopes_of(route: Any) -> Span:
    """Room for the slopes (tan), zero among them; at least 3 %."""
    low, high = min(float(np.min(route.slopes)), 0.0), max(float(np.max(route.slopes)), 0.0)
    span = max(high - low, 0.03)
    return low - (0.15 if low < 0 else 0.06) * span, max(high + 0.15 * span, low + span)


def _forces(vehicle: Any, route: Any) -> tuple[float, Span]:
    """Top speed [m/s] of the axis of forces, a little over the no-load speed, and its forces [N]."""
    gearing, motor, limit = vehicle.gearing, vehicle.motor, vehicle.controller.coil_current_limit
    per_metre = gearing.ratio / gearing.wheel_radius
    full = vehicle.store.full_voltage if vehicle.converter.kind == "none" else vehicle.converter.bus_voltage
    drive = motor.drive_constant * limit * per_metre
    steep = max(map(abs, map(float, route.slopes)))
    road = vehicle.mass * GRAVITY * (max(1.3 * steep, 0.03) + vehicle.road.rolling_coefficient)
    force = -rounded(0.4 * road), rounded(1.12 * max(drive, road))
    return rounded(1.05 * full / (motor.drive_constant * per_metre)), force


def force_reached(forces: Any) -> Span:
    """What the road gives at most (below zero), and the most that drive or road come to at a standstill [N]."""
    negative = np.sum([np.minimum(part, 0.0) for part in forces.parts.values()], axis=0)
    seen = forces.speeds <= max(_seen(forces), 1.0)
    asked = float(np.sum([max(float(part[0]), 0.0) for part in forces.parts.values()]))
    return float(negative[seen].min()), max(asked, *(float(force[0]) for force, _ in forces.drive.values()))


def _seen(forces: Any) -> float:
    """The highest steady speed that the axis must hold [m/s]."""
    speeds = [speed for speed in forces.steady.values() if math.isfinite(speed)]
    return 1.02 * max(speeds, default=0.0)
