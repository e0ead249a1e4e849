"""A ride of two minutes against SciPy's solve_ivp on the same model at equal or smaller error; and rides by the hundred."""

from __future__ import annotations

import statistics
import time
import warnings

import numpy as np
from scipy.integrate import solve_ivp

import evlab
from evlab import remedies, riding
from evlab.loop import ASKED, LOSSES, WISH, slopes

HOP = [("70 m", "0 %", "3.0 m/s"), ("60 m", "5 %", "2.4 m/s"), ("45 m", "0 %", "3.0 m/s"), ("130 m", "0 %", "2.6 m/s")]


def _median(job, times=9):
    spent = []
    for _ in range(times):
        began = time.perf_counter()
        made = job()
        spent.append(time.perf_counter() - began)
    return statistics.median(spent), made


def scipy_ride(vehicle, route):
    """The same compiled rates, all ledger terms, RK45 with rtol 1e-6, stopped at each mark of the route and at the end."""
    journey = riding.Journey(vehicle, route, 0.0, vehicle.driver, None, 0.02)
    state, y = journey._state(None, 0.0)
    parts, parameters = journey._seams
    sizes = np.array([len(state), 1, len(vehicle.driver.state()), vehicle.driver.rested])
    control = np.array([1.0, 0.0, route.length, vehicle.effective_mass, np.inf, 0.0, 1.0])
    volts = WISH + ASKED + int(sizes[2]) + 5
    aux, dy, t = np.zeros(volts + 9), np.zeros(len(y)), 0.0
    places = [*sorted({*route.nodes[1:-1], *(p for p, _ in route.limits[1:])}), route.length - 0.02]

    def rates(_, y):
        slopes(parts, parameters, sizes, control, y, dy, aux)
        return dy.copy()

    def low(_, y):
        slopes(parts, parameters, sizes, control, y, dy, aux)
        return aux[volts] - vehicle.controller.stop_voltage

    low.terminal = True
    for place in places:
        control[4] = np.nextafter(place, -np.inf)

        def there(_, y, place=place):
            return y[0] - place

        there.terminal = True
        done = solve_ivp(rates, (t, t + 400), y, method="RK45", rtol=1e-6, atol=1e-8, events=[low, there])
        t, y = done.t[-1], done.y[:, -1]
        y[0] = place
    return t, y


def _miss(t, y, best):
    """Largest error of duration [s], store volts [V] and winding [K] against a ride with steps of 1 ms."""
    last = best._rows[-1, 1:]
    return max(abs(t - best.duration), float(np.abs(y[2:6] - last[2:6]).max()))


def rows():
    vehicle, route = evlab.load_vehicle("two_shed_trike"), evlab.Route.from_segments(HOP)
    evlab.ride(vehicle, route)
    best = evlab.ride(vehicle, route, step=0.001)
    ours, result = _median(lambda: evlab.ride(vehicle, route))
    warnings.filterwarnings("ignore", message="First-class function type")  # numba's word for what is handed over in a tuple
    theirs, (t, y) = _median(lambda: scipy_ride(vehicle, route), 3)
    our_miss = _miss(result.duration, result._rows[-1, 1:], best)
    their_miss = _miss(t, y, best)
    ratio = theirs / ours
    what = f"ride of {result.duration:.0f} s, {len(LOSSES) + 3} ledger terms: times faster than solve_ivp"
    return [(what, ratio, 10.0, "x", ratio >= 10),
            ("  its error over solve_ivp's", our_miss / their_miss, 1.0, "x", our_miss <= their_miss),
            ("  ride alone, for information", 1000 * ours, 100.0, "ms", ours < 0.1),
            *_many(vehicle)]


def _many(vehicle):
    """What would have saved the second loaded trip of the trike, in eight quantities; and a band of 200 rides of it."""
    up, down = evlab.load_route("two_sheds_up"), evlab.load_route("two_sheds_down")
    back = evlab.ride(vehicle.change(load={"cargo": 20.0}), down, start=evlab.ride(vehicle, up))
    second = evlab.ride(vehicle, up, start=back)
    names = [name for name in remedies.MAIN if name != "store.charge_voltage"][:8]  # it goes on from a ride, not from a charge
    evlab.nearest_changes(second, names[:1])
    searched, changes = _median(lambda: evlab.nearest_changes(second, names), 5)
    drawn, band = _median(lambda: evlab.tolerance_band(vehicle, up), 5)
    return [(f"nearest changes in {len(changes.rows)} quantities", 1000 * searched, 300.0, "ms", searched <= 0.3),
            (f"tolerance band of {band.runs} rides", 1000 * drawn, 300.0, "ms", drawn <= 0.3)]
