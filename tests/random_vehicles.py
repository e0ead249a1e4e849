"""Vehicles drawn from the whole ranges of the vehicle file, seeded: for tests that ask whether anything breaks.

Each number of the file is drawn inside the range that its control covers (evenly, or over the decades where the range spans more
than two), each choice from its choices.  What the file refuses is not kept; so every vehicle here is one that a maker could load.
"""

import math
import random

import evlab
from evlab.glossary import entry

NAMES = ("two_shed_trike", "kick_scooter")
KEPT = ("vehicle.name", "vehicle.note", "vehicle.invented")


def _drawn(rng, e):
    """One value of a field, SI; None where it has no range and no choices."""
    if e.choices:
        return rng.choice(e.choices)
    if e.kind == "switch":
        return rng.random() < 0.5
    if e.low is None or e.high is None:
        return None
    if e.kind == "count":
        return rng.randint(int(e.low), int(e.high))
    if e.low > 0 and e.high / e.low > 100:
        return math.exp(rng.uniform(math.log(e.low), math.log(e.high)))
    return rng.uniform(e.low, e.high)


def _taken(vehicle, values):
    """The vehicle with these values, as far as the file accepts them: all at once, else half by half."""
    if not values:
        return vehicle
    try:
        return vehicle.change(dict(values))
    except evlab.InputError:
        if len(values) == 1:
            return vehicle
        middle = len(values) // 2
        return _taken(_taken(vehicle, values[:middle]), values[middle:])


def random_vehicle(seed, share=0.5):
    """A vehicle in which about this share of the fields is drawn anew; the same seed gives the same one."""
    rng = random.Random(seed)
    vehicle = evlab.load_vehicle(rng.choice(NAMES))
    values = []
    for field in vehicle.values():
        if field not in KEPT and rng.random() < share:
            value = _drawn(rng, entry(field))
            values += [] if value is None else [(field, value)]
    rng.shuffle(values)
    return _taken(vehicle, values)
