"""One rotor let go at rest: the compiled path of `start_map`, with a vehicle to move or by itself.

Friction and rolling hold at rest while what is left of the torque is no larger, and work against the motion; a slope pulls back
all the time.  The chain takes its share from the side that drives, as in the ride.  A freewheel lets the vehicle run ahead of the
motor: then each moves by itself until the motor has caught up.  The path is followed step by step (fourth order) and lands on every
switching, every turning back and wherever the freewheel locks or lets go, so that each formula within a step is smooth but for a
bend where the chain's load changes sides.
"""

from __future__ import annotations

import math

from evlab.kernels import compile_small, kernel

__all__ = ["BACK", "GONE", "LATE", "REST", "TABLE", "TRAP", "release"]

TABLE = 4096  # pieces of a turn in the tables of torque: straight between them leaves 3e-7
NEAR = 1e-3  # rad: so near to a switching that pushes back from both sides it has come to rest
LEGS = 1000000  # the most legs of a path
REST, TRAP, GONE, BACK, LATE = 0, 1, 2, 3, 4  # why a path ended
NOTHING, STOPS, SWITCHES, MEETS, PARTS = 0, 1, 2, 3, 4  # why a leg ended


def _pull(g1, g2, p, x, m, w):  # type: ignore[no-untyped-def]  # compiled: types stand in kernels.SEAMS
    """Torque of currents and parking magnet at an electrical angle in step m, turning with w."""
    place = ((x - m * p[0]) / (2 * math.pi)) % 1.0 * TABLE
    i = int(place)
    part = place - i
    a, b = g1[i] + part * (g1[i + 1] - g1[i]), g2[i] + part * (g2[i + 1] - g2[i])
    if p[3] > 0.0:
        first = min(max((p[2] - a * w) / p[3], -p[4]), p[4])
        second = min(max((p[2] - b * w) / p[3], -p[4]), p[4])
    else:
        first, second = p[4], p[4]
    return a * first + b * second - p[9] * math.sin(2 * (x - p[10]))


_torque = compile_small(_pull, _pull)


def _gain(p, shaft, d):  # type: ignore[no-untyped-def]
    """What is left to set all in motion the way d, from the torque at the shaft [N m]; as gearing.drive_force and driven_force."""
    return shaft * (p[17] if shaft * d >= 0.0 else 1.0 / p[17]) - p[15] - d * p[16]


_left = compile_small(_gain, _gain)


def _rate(g1, g2, p, x, w, m, d, alone):  # type: ignore[no-untyped-def]
    """Rate of the motor's speed, friction against the direction d: with the vehicle, or alone."""
    shaft = _torque(g1, g2, p, x, m, w) - d * p[5] - p[6] * w
    return shaft / p[7] if alone else _left(p, shaft, d) / (p[7] + p[18])


_quickens = compile_small(_rate, _rate)


def _move(g1, g2, p, x, w, m, d, h, alone):  # type: ignore[no-untyped-def]
    """Angle and speed after a time h, friction against the direction d, in step m all the time (Runge and Kutta)."""
    n = p[8]
    a1 = _quickens(g1, g2, p, x, w, m, d, alone)
    w2 = w + h / 2 * a1
    a2 = _quickens(g1, g2, p, x + h / 2 * n * w, w2, m, d, alone)
    w3 = w + h / 2 * a2
    a3 = _quickens(g1, g2, p, x + h / 2 * n * w2, w3, m, d, alone)
    w4 = w + h * a3
    a4 = _quickens(g1, g2, p, x + h * n * w3, w4, m, d, alone)
    return x + h * n * (w + 2 * w2 + 2 * w3 + w4) / 6, w + h * (a1 + 2 * a2 + 2 * a3 + a4) / 6


_moved = compile_small(_move, _move)


def _roll(p, u):  # type: ignore[no-untyped-def]
    """Rate of the speed of a vehicle that rolls by itself, or stands: rolling holds it where the slope pulls no more."""
    return -(p[15] + p[16]) / p[18] if u > 0.0 else -max(p[15] - p[16], 0.0) / p[18]


_rolls = compile_small(_roll, _roll)


def _coast(p, u, h):  # type: ignore[no-untyped-def]
    """Speed of a vehicle that rolls by itself after a time h: it slows evenly, stands, and may roll back."""
    slows = _rolls(p, u)
    if u > 0.0 and u + slows * h < 0.0:
        return _rolls(p, 0.0) * (h + u / slows)
    return u + slows * h


_coasted = compile_small(_coast, _coast)


def _held(g1, g2, p, x, m):  # type: ignore[no-untyped-def]
    """Whether a switching near by pushes back from both sides: there the rotor buzzes and comes to rest."""
    low = p[1] + m * p[0]
    for edge, left in ((low, m - 1.0), (low + p[0], m)):
        before, behind = _torque(g1, g2, p, edge, left, 0.0), _torque(g1, g2, p, edge, left + 1.0, 0.0)
        if abs(x - edge) < NEAR and before > p[15] and behind < p[15]:
            return True
    return False


_trapped = compile_small(_held, _held)


def _happens(g1, g2, p, x, w, u, m, d, alone):  # type: ignore[no-untyped-def]
    """What ends a leg: the motor has turned back, passed a switching, caught up with the vehicle, or been left behind by it."""
    if d * w < 0.0:
        return STOPS
    if d * (x - (p[1] + (m + 1.0) * p[0] if d > 0.0 else p[1] + m * p[0])) > 0.0:
        return SWITCHES
    if alone:
        return MEETS if w > u else NOTHING
    return PARTS if p[19] > 0.0 and _quickens(g1, g2, p, x, w, m, d, True) < _rolls(p, w) else NOTHING


_happened = compile_small(_happens, _happens)


def _leg(g1, g2, p, x, w, u, m, d, alone):  # type: ignore[no-untyped-def]
    """One step the way d, cut short where something happens: angle, speed, that of the vehicle, time, and what happened."""
    low, high, what = 0.0, p[20] if alone else p[12], NOTHING
    h = high
    for _ in range(51):
        x1, w1 = _moved(g1, g2, p, x, w, m, d, h, alone)
        u1 = _coasted(p, u, h) if alone else w1
        now = _happened(g1, g2, p, x1, w1, u1, m, d, alone)
        if now == NOTHING:
            low = h
        else:
            high, what = h, now
        if what == NOTHING:
            return x1, w1, u1, h, what
        h = (low + high) / 2
    x1, w1 = _moved(g1, g2, p, x, w, m, d, high, alone)
    return x1, w1, _coasted(p, u, high) if alone else w1, high, what


_leg_done = compile_small(_leg, _leg)


def _way(g1, g2, p, x, m, alone):  # type: ignore[no-untyped-def]
    """Which way a motor at rest sets off, 0 where it stays, and whether it goes alone."""
    pull = _torque(g1, g2, p, x, m, 0.0)
    ahead, back = pull - p[5], pull + p[5]
    if alone:
        return 1.0 if ahead > 0.0 else -1.0 if back < 0.0 else 0.0, True
    if _left(p, ahead, 1.0) > 0.0:
        return 1.0, False
    if p[19] > 0.0 and back / p[7] < _rolls(p, 0.0):  # it leaves the freewheel behind
        return -1.0, True
    return -1.0 if _left(p, back, -1.0) < 0.0 else 0.0, False


_sets_off = compile_small(_way, _way)


@kernel("release")
def release(g1, g2, p, out):  # type: ignore[no-untyped-def]
    """Let a rotor go at rest; returns why the path ended.

    p: width and beginning of a step, volts, ohms (0: current held), limit, friction, viscous drag, inertia, pairs of poles, parking
    torque and angle, angle, time step, longest time, goal; of the vehicle at the shaft slope, rolling, efficiency, inertia,
    freewheel (0: none), and the time step of a motor alone.  out: angle, speed, time, lowest and highest angle, swings.
    """
    x, w, u, time, code, legs, alone = p[11], 0.0, 0.0, 0.0, LATE, 0, False
    m, d = math.floor((x - p[1]) / p[0]), 1.0
    out[3], out[4], out[5] = x, x, 0.0
    while time < p[13] and legs < LEGS and code == LATE:
        legs += 1
        if w == 0.0:
            alone = alone and u > 0.0
            trapped = _trapped(g1, g2, p, x, m)
            d, alone = _sets_off(g1, g2, p, x, m, alone)
            if alone and u > 0.0 and (trapped or d == 0.0) and p[15] + p[16] > 0.0:  # the motor rests until the vehicle does
                time -= u / _rolls(p, u)
                u, alone = 0.0, False
                continue
            if trapped or d == 0.0:
                code = TRAP if trapped else REST
                break
            out[5] += 1.0
        x, w, u, h, what = _leg_done(g1, g2, p, x, w, u, m, d, alone)
        time += h
        if what == STOPS:
            w = 0.0
            u = u if alone else 0.0
        elif what == SWITCHES:
            x = p[1] + (m + 1.0) * p[0] if d > 0.0 else p[1] + m * p[0]
            m += d
        elif what == MEETS or what == PARTS:
            u, alone = w, what == PARTS
        out[3], out[4] = min(out[3], x), max(out[4], x)
        if abs(x - p[11]) >= p[14]:
            code = GONE if x > p[11] else BACK
    out[0], out[1], out[2] = x, w, time
    return code
