"""Damaged vehicle files and wrong arguments, seeded: whatever comes, the answer is a vehicle, a number, or words.

A file either loads, and is then read back the same from its own text, or is refused with an InputError that names a line or a
field.  A public call either answers or refuses in words; TypeError stands only where an argument of that name does not exist.
"""

import dataclasses
import datetime
import math
import random
import re
import warnings
from collections.abc import Hashable

import numpy as np
import pytest

import evlab
import evlab.wires
from evlab import data
from evlab.motor_readings import measured_resistance, no_load
from evlab.vehicle import Vehicle

pytestmark = pytest.mark.slow

FILES, CALLS = 5000, 3000
TEXTS = [data.read_text(f"vehicles/{name}.toml") for name in ("two_shed_trike", "kick_scooter")]
NAMED = re.compile(r"line \d+|\[[\w.]+\]|Input format ")  # what is not there at all has a table, or is the format
SPOILT = (
    "0", "-1", "1e400", "nan", "inf", '"nan V"', '"-3 kg"', '"1e308 kV"', '"12 furlongs"', '""', '"  "', "true", "[]", "{}",
    "[1, 2]", '"1,5 V"', '"10 +/- 20 V"', '"5 V +/- "', '{ designed = "1 V" }', '{ use = "measured" }',
    '{ measured = "2 V", log = 3 }',
    "1979-05-27", "'''x", '"\\u0000"', '"\u2212 4 V"', '"\uff14 V"', "0x10", "1_000", "9" * 400, '"' + "9" * 400 + ' V"', '"3 V V"')


def damaged(rng):
    """The text of a vehicle file with one to three lines spoilt."""
    text = rng.choice(TEXTS)
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        lines = text.split("\n")
        at = rng.randrange(len(lines))
        values = [i for i, line in enumerate(lines) if re.match(r"\w+ *=", line)]
        here = rng.choice(values) if values else at
        key, _, value = lines[here].partition("=")
        way = rng.randrange(11)
        if way == 0:
            del lines[at]
        elif way == 1:
            lines.insert(rng.randrange(len(lines)), lines[here])
        elif way in (2, 3, 4):
            lines[here] = f"{key}= {rng.choice(SPOILT)}"
        elif way == 5:
            lines[here] = f"{key}={re.sub(r'[0-9]+', str(rng.choice((0, 7, 10**6, 10**20))), value, count=1)}"
        elif way == 6:
            lines[here] = f"{rng.choice(('', 'x', 'a.b.c', '..', chr(0x1F6B2), 'store')) + key.strip()[1:]} = {value}"
        elif way == 7:
            lines[at] = rng.choice(("[store]", "[[store]]", "[", "]", "[store.cells]", "[nothing]", "= 3", "\x00", "\ufeff",
                                    "\t\x0b"))
        elif way == 8:
            lines = lines[:at] + [lines[at][: rng.randrange(len(lines[at]) + 1)]]
        elif way == 9:
            other = rng.choice(values) if values else at
            lines[here], lines[other] = lines[other], lines[here]
        else:
            spot = rng.randrange(len(lines[at]) + 1)
            lines[at] = lines[at][:spot] + rng.choice("\"'{}[]=#,.\\\n\r\u00e9\u2028") + lines[at][spot:]
        text = "\n".join(lines)
    return text


def test_a_damaged_vehicle_file_loads_or_is_refused_in_words():
    rng, loaded, bare = random.Random(12), 0, []
    for number in range(FILES):
        text = damaged(rng)
        try:
            vehicle = Vehicle.from_text(text, "spoilt.toml")
        except evlab.InputError as words:
            bare += [] if NAMED.search(str(words)) and len(str(words)) < 700 else [str(words)]
            continue
        loaded += 1
        assert Vehicle.from_text(vehicle.text, "again.toml").differences(vehicle) == {}, number
    assert bare == []
    assert 0.1 * FILES < loaded < 0.8 * FILES, "a test of both kinds"


def test_a_file_damaged_in_its_bytes_loads_or_is_refused_and_is_saved_whole(tmp_path):
    """On the disk: bytes changed, cut anywhere, other encodings; what loads is saved, and read again the same."""
    rng, loaded, bare = random.Random(56), 0, []
    spoilt, again = tmp_path / "spoilt.toml", tmp_path / "again.toml"
    for number in range(600):
        raw = rng.choice(TEXTS).encode("utf-8")
        at, way = rng.randrange(len(raw)), rng.randrange(4)
        raw = (raw[:at] + bytes([rng.randrange(256)]) + raw[at + 1:], raw[:at], raw.replace(b"\n", b"\r\n"),
               raw.decode("utf-8").encode(rng.choice(("utf-16", "utf-16-le", "latin-1", "utf-8-sig")), "replace"))[way]
        spoilt.write_bytes(raw)
        try:
            vehicle = evlab.load_vehicle(spoilt)
        except evlab.InputError as words:
            bare += [] if NAMED.search(str(words)) or "spoilt.toml" in str(words) else [str(words)]
            continue
        loaded += 1
        again.unlink(missing_ok=True)
        vehicle.save(again)
        assert evlab.load_vehicle(again).differences(vehicle) == {}, number
    assert bare == []
    assert 100 < loaded < 500, "a test of both kinds"


# ---------------------------------------------------------------- wrong arguments
STRANGE = (
    None, "", "nonsense", "nan V", "12 furlongs", "-5 V", "1e308 kV", -1, 0, 1e308, 10**400, math.nan, math.inf, True, [], {}, (),
    [1, 2], np.array([]), np.array([1.0, math.nan]), np.zeros((2, 2)), b"bytes", object(), lambda: 1, datetime.date(2026, 1, 1),
    3 + 4j,
    "two_shed_trike", "two_sheds_up", range(3), {"a": 1}, "\x00", "x" * 300, float, evlab)


RING = {"poles": 12, "radius": 0.055, "shape": "disc", "wide": 0.02, "long": None, "thick": 0.005, "remanence": 1.24,
        "recoil": 1.05, "iron": "two rotors", "gap": 0.016, "strengths": None}
COIL = {"shape": "trapezoid", "inner": "12 mm", "outer": "33 mm", "long": "32 mm", "side": "15 mm", "thick": "11 mm"}
READINGS = [no_load("36 V", 400, "1 A"), measured_resistance("3.8 V", "20 A")]


def fields_of(made):
    return {field.name: getattr(made, field.name) for field in dataclasses.fields(made)}


def sound():
    """Public analyses with arguments that are in order: (name, function, arguments by name)."""
    trike, scooter = evlab.load_vehicle("two_shed_trike"), evlab.load_vehicle("kick_scooter")
    up, down = evlab.load_route("two_sheds_up"), evlab.load_route("two_sheds_down")
    trip = evlab.ride(trike, up)
    leg = evlab.Leg("two_sheds_up", "60 kg", "1 min")
    seconds = [0.0, 1.0, 2.0, *(2.1 + 0.5 * i for i in range(120))]
    volts = [35.0] * 3 + [34.59 - 0.17 * i for i in range(120)]
    return [
        ("ride", evlab.ride, {"vehicle": trike, "route": up, "start": 35.0, "wind": 0.0, "driver": None, "time_limit": 300.0,
                              "step": 0.02, "winding": None}),
        ("charge", evlab.charge, {"vehicle": trike, "start": 20.0, "stop": None, "hold": None, "time_limit": 9e4}),
        ("charge, lithium", evlab.charge, {"vehicle": scooter, "start": "10 %", "stop": None, "hold": "0.3 A", "time_limit": 9e4}),
        ("discharge", evlab.discharge, {"store": trike.store, "power": 600.0, "start": 30.0, "stop": 15.0, "temperature": 293.15}),
        ("compare", evlab.compare, {"cases": {"a": trike, "b": trip}, "route": up, "start": None, "wind": 0.0}),
        ("tolerance_band", evlab.tolerance_band, {"vehicle": trike, "route": up, "runs": 20, "seed": 1, "start": None,
                                                    "wind": 0.0}),
        ("nearest_changes", evlab.nearest_changes, {"result": trip, "names": None}),
        ("ride_day", evlab.ride_day, {"vehicle": trike, "legs": [leg], "times": 1, "start": None, "wind": 0.0}),
        ("Leg", evlab.Leg, {"route": up, "cargo": "60 kg", "wait": "1 min", "charge": False}),
        ("TripCase", lambda **a: evlab.TripCase(**a).today, {"vehicle": trike, "route": up, "wind": 0.0,
                                                                 "worst": None, "halted_share": 0.5}),
        ("ForceCase", evlab.ForceCase, {"vehicle": trike, "slope": 0.0, "head_wind": 0.0, "cross_wind": 0.0, "air_density": None}),
        ("RoadCase", lambda **a: evlab.RoadCase(**a).forces, {"vehicle": trike, "route": up, "slope": 0.05, "wind": 0.0}),
        ("GearCase", lambda **a: evlab.GearCase(**a).reason, {"vehicle": trike, "route": up, "slope": 0.05, "volts": None,
                                                                  "speed": None}),
        ("HillTest", evlab.HillTest, {"vehicle": trike, "route": down, "start": None}),
        ("RegenCase", lambda **a: evlab.RegenCase(**a).reason, {"vehicle": trike, "route": down, "speed": None, "volts": None,
                                                                "slope": None, "deceleration": 1.0, "pedalling": 80.0}),
        ("RideCase", lambda **a: evlab.RideCase(**a).result, {"vehicle": trike, "route": up, "start": None, "wind": 0.0}),
        ("plug_in", evlab.plug_in, {"vehicle": scooter, "other": scooter, "lead_length": 1.2, "lead_area": None}),
        ("StoreCase", evlab.StoreCase, {"vehicle": trike, "power": 600.0, "current": 30.0, "load": 1.0, "seed": 1,
                                          "float_days": 30.0}),
        ("MagnetCase", evlab.MagnetCase, {"vehicle": trike, "fault": "none", "temperature": 293.15, "speed": 60.0}),
        ("WindingCase", evlab.WindingCase, {"vehicle": trike, "asked": None}),
        ("Sensed", lambda **a: evlab.WindingCase(trike, evlab.Sensed(**a)), fields_of(evlab.Sensed())),
        ("WorstDay", lambda **a: evlab.TripCase(trike, up, worst=evlab.WorstDay(**a)).worst, fields_of(evlab.WorstDay())),
        ("SetSpeed", lambda **a: evlab.ride(trike, up, driver=evlab.SetSpeed(**a)), fields_of(evlab.SetSpeed())),
        ("ThrottleHeld", evlab.ThrottleHeld, fields_of(evlab.ThrottleHeld())),
        ("with_speeds", up.with_speeds, {"rows": [("0 m", "2 m/s")]}),
        ("Ring.of", evlab.Ring.of, RING),
        ("Coil.of", evlab.Coil.of, COIL),
        ("Linkage", evlab.Linkage, {"ring": evlab.Ring.of(**RING), "coil": evlab.Coil.of(**COIL), "height": 0.0065}),
        ("CountCheck.of", lambda **a: evlab.CountCheck.of(**a).verdict,
         {"planned": 26, "wire": evlab.wires.metric("1.0 mm"), "strands": 4, "mean_turn": "157.5 mm +/- 2 mm",
          "mass": "141 g +/- 1 g", "former": "0 g", "resistance": "24 mOhm", "temperature": "20 degC", "tails": "0 mm"}),
        ("SheetMotor.of", evlab.SheetMotor.of, {"kind": "three_phase", "readings": READINGS, "spin_down": None}),
        ("BenchMotor", lambda **a: evlab.BenchMotor(**a).constant,
         {"kind": "three_phase", "stalled_by": "its controller, or brushes", "free_volts": 30.0, "free_rpm": 400.0,
          "free_amps": 1.0, "held_volts": 3.0, "held_amps": 20.0, "held_torque": 10.0}),
        ("Wind", evlab.Wind, {"speed": 5.0, "from_bearing": "270 deg"}),
        ("WindAlong", evlab.WindAlong, {"rows": [("0 m", "0 m/s"), ("90 m", "4 m/s")]}),
        ("ThrottleTrace", evlab.ThrottleTrace, {"times": ["0 s", "8 s"], "shares": ["0 %", "60 %"], "longest_gap": None}),
        ("PowerTrace", evlab.PowerTrace, {"times": [0.0, 8.0], "powers": [0.0, 60.0], "at": "store"}),
        ("PowerHeld", evlab.PowerHeld, {"power": 200.0, "at": "store", "pedalling_power": 0.0}),
        ("capacitance_test", evlab.cell_check.capacitance_test, {"times": seconds, "volts": volts, "current": 30.0, "rated": 37.8}),
        ("CoilStar.of", evlab.CoilStar.of, {"coils": 9, "poles": 12, "phases": 3}),
        ("change", lambda name, value: trike.change({name: value}), {"name": "load.cargo", "value": "20 kg"}),
        ("adopt", lambda name, value: trike.adopt({name: value}), {"name": "motor.constant", "value": (0.3, 0.01)}),
        ("load_vehicle", evlab.load_vehicle, {"name_or_path": "two_shed_trike"}),
        ("load_route", evlab.load_route, {"name_or_path": "two_sheds_up", "speed": None, "smoothing": None}),
        ("from_segments", evlab.Route.from_segments, {"segments": [("70 m", "0 %", "3 m/s")], "name": "a yard"}),
    ]


def test_the_analyses_answer_what_is_in_order():
    """Else the test below would only count refusals."""
    for name, function, arguments in sound():
        function(**arguments), name


@pytest.mark.parametrize("asked", [{"hold": "1e-300 s"}, {"hold": "1e-12 s"}, {"time_limit": 1e-300},
                                   {"time_limit": "0.001 ms"}])
def test_a_charge_of_no_time_at_all_answers(asked):
    charged = evlab.charge(evlab.load_vehicle("two_shed_trike"), start="50 %", **asked)
    assert charged.outcome == ("time limit" if "time_limit" in asked else "full")
    assert abs(charged.closure) <= charged.closure_allowed
    assert charged.table()["time"].is_monotonic_increasing


def test_a_wrong_argument_is_refused_in_words():
    rng, there, faults = random.Random(34), sound(), []
    for number in range(CALLS):
        name, function, arguments = there[number % len(there)]
        wrong, strange = rng.choice(list(arguments)), rng.choice(STRANGE)
        if name in ("change", "adopt") and wrong == "name" and not isinstance(strange, Hashable):
            strange = 3  # Python itself refuses it as the key of a mapping
        given = arguments | {wrong: strange}
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            try:
                function(**given)
            except (evlab.InputError, FileNotFoundError) as words:
                if not str(words).strip():
                    faults.append((name, wrong, repr(given[wrong])[:60], "no words"))
            except Exception as error:  # noqa: BLE001  each other kind is a fault, told below
                faults.append((name, wrong, repr(given[wrong])[:60], f"{type(error).__name__}: {error}"[:120]))
    assert not faults, "\n".join(map(str, faults))
