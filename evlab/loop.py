"""The compiled loop of a ride: fixed steps of Runge and Kutta's fourth order, events located and not stepped over.

The loop knows no part by name: it is handed the functions of the seams (see kernels) and their flat parameters.  The
motion has a direction (1, 0, -1), so every formula is smooth while it holds; the sign changes only at an event, where
the vehicle stands still.  Losses are integrated beside the motion; what is stored is computed from the state afterwards.

State y: place, speed, the store's, the drive's and the driver's states, then twelve losses [J] in the order of LOSSES, and
what the rider gave [J].
Control c: direction, resting (1 while it waits at a stop), goal (place of the next stop), effective mass, the last
place before the next mark (where the slope bends or the posted speed jumps), power at the pedals, share of it that the
pedals' chain lets through.
Aux a: four road forces and the slope, then the driver's wish, then what the drive gave (see controller.deliver).
Numbers n: states of store, drive and driver, and how many of the driver's begin anew at a stop.

The step is as long as asked, but never longer than its own error allows: the last slope of a step beside the first one of the
next tells it (Hairer, Norsett, Wanner: Solving ODEs I, II.4: an embedded formula of third order), so a part that answers faster
than the step makes it shorter and nothing runs away.  A ride that needs more than its budget of steps ends in words.
"""

# The types of kernels stand in kernels.SEAMS, where numba reads them.
# mypy: disable-error-code="no-untyped-def"
from __future__ import annotations

import numpy as np

from evlab.kernels import kernel

__all__ = ["ASKED", "CODES", "LOSSES", "PEDALS_FROM", "WISH", "run"]

LOSSES = ("esr", "slow_branch", "copper", "bridge", "stand_by", "motor_drag", "chain", "converter", "rolling", "air",
          "bearings", "brake")
CODES = ("", "collapse", "cut-off", "too hot", "rolled back", "goal", "standstill", "mark", "held", "go", "back", "stalled",
         "rested", "time limit", "arrived", "stop", "too many steps")
(NONE, COLLAPSE, CUT_OFF, HOT, ROLLED_BACK, GOAL, STANDSTILL, MARK, HELD, GO, BACK, STALLED, RESTED, TIME_LIMIT, ARRIVED,
 STOP, TOO_MANY) = range(17)
DIRECTION, RESTING, PLACE_OF_GOAL, MASS, BEFORE, PEDALS, THROUGH = range(7)  # control
# clock: standing since, resting until, the step that goes now, how many were tried
TIME, NEXT_ROW, SINCE, UNTIL, MARK_NO, STOP_NO, ROW_NO, EVENT_NO, BEND_NO, STEP, TRIED = range(11)
FORCES, WISH = 0, 5  # where they begin in aux
ASKED = 4  # numbers of a wish before the rates of the driver's states, behind which stands what the drive gave
HELD_COLLAPSE = 7.0  # controller.COLLAPSE

# Watches w: 0 stop volts, compared with terminal volts and amps times 6, the ohms that are made up for; 1 hottest winding,
# 2 place at which it turned back, 3 next mark, 4 what held the drive,
# 5 whether changes of what holds the drive are still located (1) or there were too many (0)
BACK_BY = 0.1  # m: so far back counts as rolled back
NEAR, CLOSE, SLOW = 0.002, 0.3, 0.06  # m, m, m/s: arrived within 2 mm, or within 30 cm and slower than 6 cm/s
STUCK_FOR = 5.0  # s at a standstill against the driver's wish
PUSH = 1e-9  # m/s2: less is no start
LOCATED = 1e-9  # s: an event is located so closely
# Errors of one step: of a speed [m/s], of a state of the store (share of its size and one), of a temperature [K]
OFF_SPEED, OFF_STORE, OFF_HEAT = 0.02, 2e-3, 1.0
CALM, LONGER = 0.1, 1.25  # of that error: below it the next step may be so many times as long
SHORTEST = 1e-7  # s
AHEAD = 0.3  # of the time to the next stop: a longer step would not see its end coming
SUDDEN = 1e-3  # s: a collapse is believed only of a step this short, and no stop asks for a shorter one
PEDALS_FROM = 1.0  # m/s: slower than this, legs push with the force of this speed (from memory)
STILL = 6.0  # what holds the drive at a standstill: controller.STANDING


@kernel("slopes")
def slopes(f, p, n, c, y, dy, a):
    """Rates dy of the state y, and the aux values a.  f, p: seams and their parameters; n: states of store, drive, driver."""
    terminal, store_slope, deliver, drive_slope, wish, road = f
    ps, pd, pr, pw = p
    ns, nd, nr = n[0], n[1], n[2]
    way = c[DIRECTION]
    xs, xd, xr = y[2:2 + ns], y[2 + ns:2 + ns + nd], y[2 + ns + nd:2 + ns + nd + nr]
    s, v = min(y[0], c[BEFORE]), y[1] if way != 0.0 else 0.0  # short of the next mark: a jump there is not met half-way
    forces, wished, given = a[0:5], a[WISH:WISH + ASKED + nr], a[WISH + ASKED + nr:WISH + ASKED + 14 + nr]
    road(pw, s, v, way if way != 0.0 else 1.0, forces)
    legs = c[PEDALS] * c[THROUGH] / max(v, PEDALS_FROM)
    against = forces[0] + forces[1] + forces[2] + forces[3] - legs
    wish(xr, pr, s, v, c[PLACE_OF_GOAL], against, c[MASS], wished)
    if c[RESTING] > 0.0:  # at a stop: throttle shut, the friction brake holds
        wished[0], wished[1] = np.nan, 0.0
        for i in range(n[3]):
            wished[ASKED + i] = 0.0
    deliver(terminal, xs, ps, xd, pd, v, way, wished, given)
    losses = dy[2 + ns + nd + nr:]
    store_slope(xs, ps, given[6], dy[2:4 + ns])  # its two loss terms land on the next two places and are moved on
    esr, slow = dy[2 + ns], dy[3 + ns]
    drive_slope(xd, pd, given, dy[2 + ns:2 + ns + nd])
    for i in range(nr):
        dy[2 + ns + nd + i] = wished[ASKED + i]
    losses[0], losses[1] = esr, slow
    for i in range(6):
        losses[2 + i] = given[8 + i]
    losses[8], losses[9], losses[10], losses[11] = forces[0] * v, forces[1] * v, forces[3] * v, given[1] * v
    if v >= 0.0:
        losses[6] += legs * v * (1.0 / c[THROUGH] - 1.0)
        losses[12] = legs * v / c[THROUGH]
    else:  # legs that are driven back hold as a brake does
        losses[11] -= legs * v
        losses[12] = 0.0
    dy[0] = v
    dy[1] = (given[0] - given[1] - against) / c[MASS] if way != 0.0 else 0.0


@kernel("step")
def step(f, p, n, c, y, k1, h, y1, work):
    """One step of the classical fourth-order method from y (rates k1 there) to y1."""
    size = y.size
    k, sum_, middle, a = work[0:size], work[size:2 * size], work[2 * size:3 * size], work[3 * size:]
    for i in range(size):
        sum_[i] = k1[i]
        middle[i] = y[i] + 0.5 * h * k1[i]
    for stage in range(3):
        slopes(f, p, n, c, middle, k, a)
        weight, ahead = (1.0, h) if stage == 2 else (2.0, 0.5 * h if stage == 0 else h)
        for i in range(size):
            sum_[i] += weight * k[i]
            middle[i] = y[i] + ahead * k[i]
    for i in range(size):
        y1[i] = y[i] + h / 6.0 * sum_[i]


@kernel("error")
def error_of(n, y1, dy1, h, work):
    """Error of a step to y1, as a share of what is let through; not a number where a slope was none."""
    ns, nd, nr = n[0], n[1], n[2]
    worst = abs(work[1] - dy1[1]) / OFF_SPEED  # `work` begins with the slopes of the last stage of the step
    for i in range(2, 2 + ns):
        worst = max(worst, abs(work[i] - dy1[i]) / (OFF_STORE * (1.0 + abs(y1[i]))))
    for i in range(2 + ns, 2 + ns + nd):
        worst = max(worst, abs(work[i] - dy1[i]) / OFF_HEAT)
    for i in range(2 + ns + nd, 2 + ns + nd + nr):
        worst = max(worst, abs(work[i] - dy1[i]) / OFF_SPEED)
    return worst * h / 6.0


@kernel("code")
def code_of(y, dy, a, c, w, on, back, n):
    """What has happened at this state: the number of an event, NONE if nothing.  on, back: accelerations from a standstill."""
    ns, nr = n[0], n[2]
    volts, amps, held = a[WISH + ASKED + nr + 5], a[WISH + ASKED + nr + 6], a[WISH + ASKED + nr + 7]
    if held == HELD_COLLAPSE or not np.isfinite(y[1] + volts + y[2]):
        return COLLAPSE
    if volts + amps * w[6] < w[0]:
        return CUT_OFF
    if y[2 + ns] > w[1]:
        return HOT
    way = c[DIRECTION]
    if way == 0.0:
        if c[RESTING] == 0.0 and on > PUSH:
            return GO
        return BACK if c[RESTING] == 0.0 and back < -PUSH else NONE
    if way < 0.0 and y[0] < w[2] - BACK_BY:
        return ROLLED_BACK
    left = c[PLACE_OF_GOAL] - y[0]
    if left <= NEAR or (way > 0.0 and left <= CLOSE and y[1] < SLOW and dy[1] <= 0.0):
        return GOAL
    if y[1] * way < 0.0:
        return STANDSTILL
    if way > 0.0 and y[0] >= w[3]:
        return MARK
    return HELD if w[5] > 0.0 and held != w[4] else NONE


@kernel("push")
def push(f, p, n, c, y, way, dy, a):
    """Acceleration from a standstill, if it moved this way [m/s2]."""
    c[DIRECTION] = way
    slopes(f, p, n, c, y, dy, a)
    c[DIRECTION] = 0.0
    return dy[1]


@kernel("try step")
def try_step(f, p, n, c, w, k, y, dy, h, y1, dy1, a1, work):
    """Step from y by h, and what has happened there.  y1, dy1, a1 are written."""
    on = back = 0.0
    k[TRIED] += 1.0
    step(f, p, n, c, y, dy, h, y1, work)
    if c[DIRECTION] == 0.0 and c[RESTING] == 0.0:
        on, back = push(f, p, n, c, y1, 1.0, dy1, a1), push(f, p, n, c, y1, -1.0, dy1, a1)
    slopes(f, p, n, c, y1, dy1, a1)
    return code_of(y1, dy1, a1, c, w, on, back, n)


@kernel("sound step")
def sound_step(f, p, n, c, w, k, y, dy, h, longest, y1, dy1, a1, work):
    """Step from y by h, halved until its error is let through, and what has happened there; the next step's length is set."""
    while True:
        code = try_step(f, p, n, c, w, k, y, dy, h, y1, dy1, a1, work)
        error = error_of(n, y1, dy1, h, work)
        if not error > 1.0 and (code != COLLAPSE or h <= SUDDEN):
            break
        if h <= SHORTEST:
            break
        h *= 0.5
        k[STEP] = h
    if error < CALM:
        k[STEP] = min(longest, LONGER * k[STEP])
    return h, code


@kernel("locate")
def locate(f, p, n, c, w, k, y, dy, h, longest, y1, dy1, a1, work):
    """Step from y by h, or to the first instant at which something has happened: h is halved towards it, or aimed at a place.

    y1, dy1, a1 are written.  Returns the time gone [s] and what happened.
    """
    gone, code = sound_step(f, p, n, c, w, k, y, dy, h, longest, y1, dy1, a1, work)
    if code == NONE:
        return gone, NONE
    low, high, found = 0.0, gone, code
    short, past = w[3] - y[0], y1[0] - w[3]  # way to the next mark from `low`, and beyond it at `high`
    near = 0.5 * LOCATED
    for tries in range(60):
        if high - low < LOCATED:
            if gone == high:
                break
            gone = high
        elif code == MARK and past > 0.0 and tries < 12:  # a place is met at all but even speed: aim just behind it, then before
            aim = low + (high - low) * short / (short + past)
            gone = min(max(aim + (near if found == NONE or tries == 0 else -near), low + 0.1 * near), high - 0.1 * near)
        else:
            gone = 0.5 * (low + high)
        found = try_step(f, p, n, c, w, k, y, dy, gone, y1, dy1, a1, work)
        if found == NONE:
            low, short = gone, w[3] - y1[0]
        else:
            high, code, past = gone, found, y1[0] - w[3]
    if code == COLLAPSE:  # tell the last state that was possible
        gone = low
        step(f, p, n, c, y, dy, gone, y1, work)
        slopes(f, p, n, c, y1, dy1, a1)
    return gone, code


@kernel("ends")
def ends(code):
    """Whether this event ends the ride."""
    return COLLAPSE <= code <= ROLLED_BACK or code == STALLED or code == TIME_LIMIT or code == ARRIVED or code == TOO_MANY


@kernel("advance")
def advance(f, p, n, c, w, k, y, dy, a, h, longest, y1, dy1, a1, work):
    """Move y, dy and a on by h or to the next event; a vehicle that can go at this very instant goes at once."""
    if c[DIRECTION] == 0.0 and c[RESTING] == 0.0:
        on, back = push(f, p, n, c, y, 1.0, dy1, a1), push(f, p, n, c, y, -1.0, dy1, a1)
        code = code_of(y, dy, a, c, w, on, back, n)
        if code != NONE:
            return 0.0, code
    gone, code = locate(f, p, n, c, w, k, y, dy, h, longest, y1, dy1, a1, work)
    for i in range(y.size):
        y[i], dy[i] = y1[i], dy1[i]
    for i in range(a.size):
        a[i] = a1[i]
    return gone, code


@kernel("settle")
def settle(code, n, c, w, k, y, stops, marks):
    """What an event changes in control, watches, clock and state.  Returns what to call it."""
    if code == GOAL and k[STOP_NO] >= stops.shape[0]:
        return ARRIVED
    if code == GOAL:
        y[y.size - 2] += 0.5 * c[MASS] * y[1] * y[1]  # the brake takes what is left of the motion
        y[1] = 0.0
        for i in range(2 + n[0] + n[1], 2 + n[0] + n[1] + n[3]):
            y[i] = 0.0
        c[DIRECTION], c[RESTING], k[UNTIL] = 0.0, 1.0, k[TIME] + stops[int(k[STOP_NO]), 1]
        return STOP
    if code == STANDSTILL:
        y[1] = c[DIRECTION] = 0.0
        k[SINCE] = k[TIME]
    elif code == MARK:
        while marks[int(k[MARK_NO])] <= y[0]:
            k[MARK_NO] += 1.0
        w[3] = marks[int(k[MARK_NO])]
        c[BEFORE] = np.nextafter(w[3], -np.inf)
    elif code == GO or code == BACK:
        c[DIRECTION] = 1.0 if code == GO else -1.0
        w[2] = y[0]
    return code


@kernel("by the clock")
def by_the_clock(code, c, k, limit, stops, marks):
    """What the time alone brings: the end of a wait at a stop, of patience at a standstill, of the ride."""
    if c[RESTING] > 0.0 and k[TIME] >= k[UNTIL] - 1e-12 and code != STOP:
        k[SINCE] = k[TIME]
        k[STOP_NO] += 1.0
        c[RESTING] = 0.0
        c[PLACE_OF_GOAL] = stops[int(k[STOP_NO]), 0] if k[STOP_NO] < stops.shape[0] else marks[marks.size - 2]
        return RESTED
    if c[DIRECTION] == 0.0 and c[RESTING] == 0.0 and k[TIME] >= k[SINCE] + STUCK_FOR - 1e-12:
        return STALLED
    return TIME_LIMIT if k[TIME] >= limit - 1e-12 and not ends(code) else code


@kernel("write row")
def write_row(rows, k, y, a, held, held_at, between):
    """Add a row of the table: time, state, aux."""
    i = int(k[ROW_NO])
    if i < rows.shape[0]:
        rows[i, 0] = k[TIME]
        for j in range(y.size):  # by hand: a slice would be copied first, and takes seconds to compile
            rows[i, 1 + j] = y[j]
        for j in range(a.size):
            rows[i, 1 + y.size + j] = a[j]
        rows[i, 1 + y.size + held_at] = held
        k[ROW_NO] += 1.0
    k[NEXT_ROW] = k[TIME] + between * (1.0 - 1e-9)


@kernel("write event")
def write_event(events, k, w, place, code, detail):
    """Add an event; the last row is kept for the end, and when it comes near, changes of what holds the drive are let go."""
    i, last = int(k[EVENT_NO]), events.shape[0] - 1
    if i == last:
        w[5] = 0.0
    if i < last or ends(code):
        events[i, 0], events[i, 1], events[i, 2], events[i, 3] = k[TIME], place, float(code), detail
        k[EVENT_NO] += 1.0
    k[NEXT_ROW] = min(k[NEXT_ROW], k[TIME])


@kernel("run")
def run(terminal, store_slope, deliver, drive_slope, wish, road, ps, pd, pr, pw, n, y, c, w, options, stops, bends, rows, events):
    """Ride until something ends it.

    options: 0 longest step [s], 1 time limit [s], 2 time between rows [s], 3 how many steps may be tried, then the marks of the
    route [m], the last one infinite.
    stops: place [m], wait [s].  bends: times [s] at which the driver's wish bends, the last one infinite.
    rows: time, y, aux.  events: time, place, code, detail.  Both are filled from the top.
    Returns the number of rows and of events, and the code that ended the ride.
    """
    f, p = (terminal, store_slope, deliver, drive_slope, wish, road), (ps, pd, pr, pw)
    size, width, held_at = y.size, rows.shape[1] - 1 - y.size, WISH + ASKED + n[2] + 7
    y1, dy, dy1, a, a1 = np.zeros(size), np.zeros(size), np.zeros(size), np.zeros(width), np.zeros(width)
    work, k = np.zeros(3 * size + width), np.zeros(11)
    k[STEP], limit, marks = options[0], options[1], options[4:]
    settle(MARK, n, c, w, k, y, stops, marks)
    slopes(f, p, n, c, y, dy, a)
    w[4] = a[held_at] if c[DIRECTION] != 0.0 else STILL
    code = code_of(y, dy, a, c, w, 0.0, 0.0, n)
    if code != COLLAPSE and code != CUT_OFF and code != HOT:
        code = NONE
    while True:
        if k[TIME] >= k[NEXT_ROW] or ends(code):
            write_row(rows, k, y, a, w[4], held_at, options[2])
        if ends(code):
            return int(k[ROW_NO]), int(k[EVENT_NO]), code
        while bends[int(k[BEND_NO])] <= k[TIME] + 1e-12:
            k[BEND_NO] += 1.0
        h = min(k[STEP], limit - k[TIME], bends[int(k[BEND_NO])] - k[TIME])
        if c[RESTING] > 0.0:
            h = min(h, k[UNTIL] - k[TIME])
        elif c[DIRECTION] == 0.0:
            h = min(h, k[SINCE] + STUCK_FOR - k[TIME])
        elif y[1] > 0.0:  # who brakes for a stop looks at what is left of the way: that is not stepped over
            h = min(h, max(AHEAD * (c[PLACE_OF_GOAL] - y[0]) / y[1], SUDDEN))
        gone, code = advance(f, p, n, c, w, k, y, dy, a, h, options[0], y1, dy1, a1, work)
        k[TIME] += gone
        passed = w[3]
        code = by_the_clock(settle(code, n, c, w, k, y, stops, marks), c, k, limit, stops, marks)
        if k[TRIED] > options[3] and not ends(code):
            code = TOO_MANY
        if code != NONE:
            slopes(f, p, n, c, y, dy, a)
            w[4] = a[held_at] if c[DIRECTION] != 0.0 else STILL
            write_event(events, k, w, y[0], code, passed if code == MARK else w[4])
