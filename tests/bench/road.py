"""A day of forty trips with its charges, the trip of the brief, forces against speed, every sprocket, and a long track."""

from __future__ import annotations

import math

import evlab
from evlab.route_files import read_route
from tests.bench.ride import _median

POINTS = 100_000


def long_track() -> bytes:
    """A GPX 1.1 file of so many points with heights and time stamps."""
    points = "".join(
        f'<trkpt lat="{0.1 + i * 1e-5:.6f}" lon="{-30 + 1e-3 * math.sin(i / 500):.6f}"><ele>{50 + 10 * math.sin(i / 900):.2f}</ele>'
        f"<time>2026-05-{1 + i // 86400:02d}T{i // 3600 % 24:02d}:{i // 60 % 60:02d}:{i % 60:02d}Z</time></trkpt>"
        for i in range(POINTS))
    return (f'<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>{points}</trkseg></trk></gpx>').encode()


def rows():
    vehicle, track = evlab.load_vehicle("two_shed_trike"), long_track()
    legs = [evlab.Leg("two_sheds_up", 60.0, "60 s"), evlab.Leg("two_sheds_down", 20.0, "5 min", charge=True)]
    evlab.ride_day(vehicle, legs)
    day, made = _median(lambda: evlab.ride_day(vehicle, legs, times=20))
    assert made.rides_done == 40
    assert made.charges == 20
    route = evlab.load_route("two_sheds_up")
    trip, _ = _median(lambda: evlab.TripCase(vehicle, route).today.total)
    forces, _ = _median(lambda: (case := evlab.ForceCase(vehicle, slope=0.05)).drive and case.steady)
    front, _ = _median(lambda: evlab.GearCase(vehicle, route).front)
    read, _ = _median(lambda: read_route(track, "long.gpx"), 3)
    return [("a day of 40 trips and 20 charges", 1000 * day, 100.0, "ms", day < 0.1),
            ("  the trip of the brief", 1000 * trip, 5.0, "ms", trip < 0.005),
            ("  forces against speed at four store volts", 1000 * forces, 30.0, "ms", forces < 0.03),
            ("  the trip with every sprocket", 1000 * front, 60.0, "ms", front < 0.06),
            (f"a track of {POINTS} points to a route", 1000 * read, 1000.0, "ms", read < 1.0)]
