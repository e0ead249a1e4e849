"""The compiled loop of a ride: fixed steps of Runge and Kutta's fourth order, events located and not stepped over.

The loop knows no part by name: it is handed the functions of the seams (see kernels) and their flat parameters.  The
motion has a direction (1, 0, -1), so every formula is smooth while it holds; the sign changes only at an event, where
the vehicle stands still.  Losses are integrated beside the motion; what is stored is computed from the state afterwards.

State y: place, speed, the store's, the drive's and the driver's states, then eleven losses [J] in the order of LOSSES.
Control c: direction, resting (1 while it waits at a stop), goal (place of the next stop), effective mass, and the last
place before the next mark (where the slope bends or the posted speed jumps).
Aux a: four road forces and the slope, then the driver's wish, then what the drive gave (see controller.deliver).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from evlab.kernels import kernel

__all__ = ["CODES", "LOSSES", "run"]

LOSSES = ("esr", "slow_branch", "copper", "bridge", "stand_by", "motor_drag", "chain", "rolling", "air", "bearings", "brake")
CODES = ("", "collapse", "cut-off", "too hot", "rolled back", "goal", "standstill", "mark", "held", "go", "back", "stalled",
         "rested", "time limit", "arrived", "stop")
(NONE, COLLAPSE, CUT_OFF, HOT, ROLLED_BACK, GOAL, STANDSTILL, MARK, HELD, GO, BACK, STALLED, RESTED, TIME_LIMIT, ARRIVED,
 STOP) = range(16)
DIRECTION, RESTING, PLACE_OF_GOAL, MASS, BEFORE = range(5)
FORCES, WISH = 0, 5  # where they begin in aux; what the drive gave begins at WISH + 3 + states of the driver
HELD_COLLAPSE = 7.0  # controller.COLLAPSE

# Watches w: 0 stop volts, 1 hottest winding, 2 place at which it turned back, 3 next mark, 4 what held the drive, 5 unused,
# 6 whether changes of what holds the drive are still located (1) or there were too many (0)
BACK_BY = 0.1  # m: so far back counts as rolled back
NEAR, CLOSE, SLOW = 0.02, 0.3, 0.06  # m, m, m/s: arrived within 2 cm, or within 30 cm and slower than 6 cm/s
STUCK_FOR = 5.0  # s at a standstill against the driver's wish
PUSH = 1e-9  # m/s2: less is no start
LOCATED = 1e-9  # s: an event is located so closely
STILL = 6.0  # what holds the drive at a standstill: controller.STANDING


@kernel("slopes")
def slopes(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, y, dy, a):  # type: ignore[no-untyped-def]
    """Rates dy of the state y, and the aux values a.  n: states of store, drive, driver."""
    ns, nd, nr = n[0], n[1], n[2]
    way = c[DIRECTION]
    xs, xd, xr = y[2:2 + ns], y[2 + ns:2 + ns + nd], y[2 + ns + nd:2 + ns + nd + nr]
    s, v = min(y[0], c[BEFORE]), y[1] if way != 0.0 else 0.0  # short of the next mark: a jump there is not met half-way
    forces, wished, given = a[0:5], a[WISH:WISH + 3 + nr], a[WISH + 3 + nr:WISH + 16 + nr]
    road(pw, s, v, way if way != 0.0 else 1.0, forces)
    against = forces[0] + forces[1] + forces[2] + forces[3]
    wish(xr, pr, s, v, c[PLACE_OF_GOAL], against, c[MASS], wished)
    if c[RESTING] > 0.0:  # at a stop: throttle shut, the friction brake holds
        wished[0], wished[1] = np.nan, 0.0
        for i in range(nr):
            wished[3 + i] = 0.0
    deliver(terminal, xs, ps, xd, pd, v, way, wished, given)
    losses = dy[2 + ns + nd + nr:]
    store_slope(xs, ps, given[6], dy[2:4 + ns])  # its two loss terms land on the next two places and are moved on
    esr, slow = dy[2 + ns], dy[3 + ns]
    drive_slope(xd, pd, given, dy[2 + ns:2 + ns + nd])
    for i in range(nr):
        dy[2 + ns + nd + i] = wished[3 + i]
    losses[0], losses[1] = esr, slow
    for i in range(5):
        losses[2 + i] = given[8 + i]
    losses[7], losses[8], losses[9], losses[10] = forces[0] * v, forces[1] * v, forces[3] * v, given[1] * v
    dy[0] = v
    dy[1] = (given[0] - given[1] - against) / c[MASS] if way != 0.0 else 0.0


@kernel("step")
def step(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, y, k1, h, y1, work):  # type: ignore[no-untyped-def]
    """One step of the classical fourth-order method from y (rates k1 there) to y1."""
    size = y.size
    k, sum_, middle, a = work[0:size], work[size:2 * size], work[2 * size:3 * size], work[3 * size:]
    for i in range(size):
        sum_[i] = k1[i]
        middle[i] = y[i] + 0.5 * h * k1[i]
    for stage in range(3):
        slopes(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, middle, k, a)
        weight, ahead = (1.0, h) if stage == 2 else (2.0, 0.5 * h if stage == 0 else h)
        for i in range(size):
            sum_[i] += weight * k[i]
            middle[i] = y[i] + ahead * k[i]
    for i in range(size):
        y1[i] = y[i] + h / 6.0 * sum_[i]


@kernel("code")
def code_of(y, dy, a, c, w, pushes, n):  # type: ignore[no-untyped-def]
    """What has happened at this state: the number of an event, NONE if nothing."""
    ns, nd, nr = n[0], n[1], n[2]
    volts, held = a[WISH + 3 + nr + 5], a[WISH + 3 + nr + 7]
    if held == HELD_COLLAPSE or not np.isfinite(y[1] + volts + y[2]):
        return COLLAPSE
    if volts < w[0]:
        return CUT_OFF
    if y[2 + ns] > w[1]:
        return HOT
    way = c[DIRECTION]
    if way == 0.0:
        if c[RESTING] == 0.0 and pushes[0] > PUSH:
            return GO
        return BACK if c[RESTING] == 0.0 and pushes[1] < -PUSH else NONE
    if way < 0.0 and y[0] < w[2] - BACK_BY:
        return ROLLED_BACK
    left = c[PLACE_OF_GOAL] - y[0]
    if left <= NEAR or (way > 0.0 and left <= CLOSE and y[1] < SLOW and dy[1] <= 0.0):
        return GOAL
    if y[1] * way < 0.0:
        return STANDSTILL
    if way > 0.0 and y[0] >= w[3]:
        return MARK
    return HELD if w[6] > 0.0 and held != w[4] else NONE


@kernel("push")
def push(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, y, way, dy, a):  # type: ignore[no-untyped-def]
    """Acceleration from a standstill, if it moved this way [m/s2]."""
    c[DIRECTION] = way
    slopes(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, y, dy, a)
    c[DIRECTION] = 0.0
    return dy[1]


@kernel("locate")
def locate(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, w, y, dy, h, y1, dy1, a1, work):  # type: ignore[no-untyped-def]
    """Step from y by h, or to the first instant at which something has happened: h is halved towards it.

    y1, dy1, a1 are written.  Returns the time gone [s] and what happened.
    """
    pushes = np.zeros(2)
    low, high, code = 0.0, h, NONE
    gone = h
    for tries in range(40):
        step(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, y, dy, gone, y1, work)
        if c[DIRECTION] == 0.0 and c[RESTING] == 0.0:
            pushes[0] = push(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, y1, 1.0, dy1, a1)
            pushes[1] = push(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, y1, -1.0, dy1, a1)
        slopes(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, y1, dy1, a1)
        found = code_of(y1, dy1, a1, c, w, pushes, n)
        if found == NONE and tries == 0:
            return h, NONE
        if found == NONE:
            low = gone
        else:
            high, code = gone, found
        if high - low >= LOCATED:
            gone = 0.5 * (low + high)
        elif gone == high:
            break
        else:
            gone = high
    if code == COLLAPSE:  # tell the last state that was possible
        gone = low
        step(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, y, dy, gone, y1, work)
        slopes(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, y1, dy1, a1)
    return gone, code


@kernel("run")
def run(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, y, c, w, options, stops, rows, events):  # type: ignore[no-untyped-def]
    """Ride until something ends it: one automaton, every branch an event of the list above.

    options: 0 step [s], 1 time limit [s], 2 time between rows [s], then the marks of the route [m], the last one infinite.
    stops: place [m], wait [s].  rows: time, y, aux.  events: time, place, code, detail.  Both are filled from the top.
    Returns the number of rows and of events, and the code that ended the ride.
    """
    size, room = y.size, events.shape[0]
    width = rows.shape[1] - 1 - size
    y1, dy, dy1, a, a1 = np.zeros(size), np.zeros(size), np.zeros(size), np.zeros(width), np.zeros(width)
    work, pushes = np.zeros(3 * size + width), np.zeros(2)
    h0, limit, between, marks = options[0], options[1], options[2], options[3:]
    held_at = WISH + 3 + n[2] + 7
    t, next_row, since, rest_until = 0.0, 0.0, 0.0, -1.0  # since: it has stood still since then
    mark, stop, n_rows, n_events = 0, 0, 0, 0
    while marks[mark] <= y[0]:
        mark += 1
    w[3], c[BEFORE] = marks[mark], np.nextafter(marks[mark], -np.inf)
    slopes(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, y, dy, a)
    w[4] = a[held_at] if c[DIRECTION] != 0.0 else STILL
    ended = code_of(y, dy, a, c, w, np.zeros(2), n)
    if ended > HOT:
        ended = NONE
    while True:
        if (t >= next_row or ended != NONE) and n_rows < rows.shape[0]:
            rows[n_rows, 0] = t
            rows[n_rows, 1:1 + size] = y
            rows[n_rows, 1 + size:] = a
            rows[n_rows, 1 + size + held_at] = w[4]
            n_rows += 1
            next_row = t + between * (1.0 - 1e-9)
        if ended != NONE:
            return n_rows, n_events, ended
        h = min(h0, limit - t)
        if c[RESTING] > 0.0:
            h = min(h, rest_until - t)
        elif c[DIRECTION] == 0.0:
            h = min(h, since + STUCK_FOR - t)
        gone, code = 0.0, NONE
        if c[DIRECTION] == 0.0 and c[RESTING] == 0.0:  # it may go at this very instant
            pushes[0] = push(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, y, 1.0, dy1, a1)
            pushes[1] = push(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, y, -1.0, dy1, a1)
            code = code_of(y, dy, a, c, w, pushes, n)
        if code == NONE:
            gone, code = locate(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, w, y, dy, h, y1, dy1, a1, work)
            y[:], dy[:], a[:] = y1, dy1, a1
        t += gone
        passed = 0.0
        if code == COLLAPSE or code == CUT_OFF or code == HOT or code == ROLLED_BACK:
            ended = code
        elif code == GOAL and stop >= stops.shape[0]:
            code = ended = ARRIVED
        elif code == GOAL:
            code, rest_until = STOP, t + stops[stop, 1]
            y[size - 1] += 0.5 * c[MASS] * y[1] * y[1]  # the brake takes what is left of the motion
            y[1] = 0.0
            y[2 + n[0] + n[1]:2 + n[0] + n[1] + n[2]] = 0.0
            c[DIRECTION], c[RESTING] = 0.0, 1.0
        elif code == STANDSTILL:
            y[1] = 0.0
            c[DIRECTION], since = 0.0, t
        elif code == MARK:
            passed = marks[mark]
            while marks[mark] <= y[0]:
                mark += 1
            w[3], c[BEFORE] = marks[mark], np.nextafter(marks[mark], -np.inf)
        elif code == GO or code == BACK:
            c[DIRECTION] = 1.0 if code == GO else -1.0
            w[2] = y[0]
        if c[RESTING] > 0.0 and t >= rest_until - 1e-12 and code != STOP:
            code, since, stop = RESTED, t, stop + 1
            c[RESTING] = 0.0
            c[PLACE_OF_GOAL] = stops[stop, 0] if stop < stops.shape[0] else marks[marks.size - 2]
        elif c[DIRECTION] == 0.0 and c[RESTING] == 0.0 and t >= since + STUCK_FOR - 1e-12:
            code = ended = STALLED
        if ended == NONE and t >= limit - 1e-12:
            code = ended = TIME_LIMIT
        if code == NONE:
            continue
        slopes(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, c, y, dy, a)
        w[4] = a[held_at] if c[DIRECTION] != 0.0 else STILL
        if n_events == room - 1:  # keep the last row for the end; changes of what holds the drive are no longer located
            w[6] = 0.0
        if n_events < room - 1 or ended != NONE:
            events[n_events, 0], events[n_events, 1], events[n_events, 2] = t, y[0], float(code)
            events[n_events, 3] = passed if code == MARK else w[4]
            n_events += 1
        next_row = min(next_row, t)
