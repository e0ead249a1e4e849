"""Start maps: closed forms of dead spots, another solver with events, shapes and sensors, remedies, scale laws, refusals."""

from __future__ import annotations

import dataclasses
import math
import re

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from evlab import InputError, turning
from evlab.start_map import OUTCOMES, Rig, map_starts
from evlab.turning import EmfShape, creeping_angle

# The learner's rig (invented): 6 discs, 6 coils of 110 turns of 0.40 mm in series, one bridge of 0.2 ohm.
SINE = EmfShape.sine(0.0924)
HUMPS = EmfShape.of({1: 0.0924, 3: 0.512 * 0.0924})  # its true shape: flux 17 %, EMF 51 % of a third harmonic
WINDING = 6 * 110 * math.pi * 0.023 * 1.7241e-8 / (math.pi / 4 * 0.4e-3**2)  # ohm: mean turn between 12 mm and 34 mm
BENCH = {"inertia": 7.8e-4, "friction": "12 mNm", "viscous": 1.5e-5, "volts": "12.5 V", "resistance": WINDING + 0.2}
DEG = math.pi / 180


def bench(shape=SINE, **more):
    return Rig.of(shape, 3, **{**BENCH, **more})


def held(ratio, **more):
    """The rig with a current of 2 A held, no viscous drag, friction as a share of the peak torque."""
    return Rig.of(SINE, 3, **{"inertia": 7.8e-4, "friction": ratio * 0.0924 * 2.0, "current": 2.0, **more})


# ---------------------------------------------------------------- closed forms
@pytest.mark.parametrize("ratio", [0.01, 0.07, 0.3, 0.5, 0.63])
def test_the_last_angle_from_which_it_creeps_in(ratio):
    """M12: let go a hair before the angle of the energy balance it gets over the dead spot, a hair behind it creeps in."""
    edge, rig = creeping_angle(ratio), held(ratio)
    assert rig.let_go(-edge * (1 + 1e-4))[0] == "starts"
    word, end, back, _ = rig.let_go(-edge * (1 - 1e-4))
    assert word == "creeps into the dead spot"
    assert back == 0.0
    assert abs(math.sin(end)) <= ratio
    holds = math.asin(ratio)
    assert [rig.let_go(a)[0] for a in (-holds * 0.999, 0.0, holds * 0.999, holds * 1.001)] == ["stays"] * 3 + ["starts"]


@pytest.mark.parametrize("ratio", [0.05, 0.3])
def test_shares_by_the_closed_forms(ratio):
    made = map_starts(held(ratio), 3600)
    assert made.shares["stays"] == pytest.approx(float(turning.dead_share(ratio)), abs=1 / 900)
    assert made.stuck == pytest.approx((creeping_angle(ratio) + math.asin(ratio)) / math.pi, abs=1 / 900)


def test_three_phases_start_from_everywhere_until_friction_nears_their_least():
    """Six steps have at least 0.866 of their peak torque; above that the share that stays is arithmetic."""
    for ratio, stays in ((0.86, 0.0), (0.9, 1 - math.acos(0.9) / (math.pi / 6))):
        rig = Rig.of(SINE, 3, inertia=7.8e-4, friction=ratio * math.sqrt(3) * 0.0924 * 2, current=2.0,
                     scheme="three phases, six-step")
        made = map_starts(rig, 3600)
        assert made.shares["stays"] == pytest.approx(stays, abs=1 / 600)
        assert made.shares["starts"] == 1.0 or ratio > 0.86


# ---------------------------------------------------------------- another solver
def by_events(rig, angle):
    """The same release by SciPy, leg by leg: events end a leg at a switching, at rest, and after two electrical turns."""
    peak = dict(rig.shape.amplitudes)
    x, w, swung, back, sector = angle, 0.0, 0, 0.0, math.floor((angle - rig.error) / math.pi)

    def pull(x, w, sector):
        k = sum(a * math.sin(n * x) for n, a in peak.items()) * (-1) ** sector
        amps = min(max((rig.volts - k * w) / rig.resistance, -rig.limit), rig.limit) if rig.resistance else rig.limit
        return k * amps - rig.detent * math.sin(2 * (x - rig.park))

    for _ in range(400):
        if w == 0.0:
            force = pull(x, 0.0, sector)
            near = round((x - rig.error) / math.pi) * math.pi + rig.error
            left = round((near - rig.error) / math.pi) - 1
            buzz = abs(x - near) < 1e-3 and pull(near, 0.0, left) > rig.friction and pull(near, 0.0, left + 1) < -rig.friction
            if abs(force) <= rig.friction or buzz:
                return ("stays" if not swung else "locked" if buzz or swung > 1 or back else "creeps into the dead spot"), x
            way, swung = math.copysign(1.0, force), swung + 1
        else:
            way = math.copysign(1.0, w)
        low, high = rig.error + sector * math.pi, rig.error + (sector + 1) * math.pi
        edge = high if way > 0 else low

        def slope(_t, y, way=way, sector=sector):
            force = pull(y[0], y[1], sector) - way * rig.friction - rig.viscous * y[1]
            return [rig.pairs * y[1], force / rig.inertia]

        def stops(t, y, way=way):
            return way * y[1] if t > 1e-9 else 1.0

        def switches(t, y, way=way, edge=edge):
            return way * (edge - y[0]) if t > 1e-9 else 1.0

        stops.terminal = switches.terminal = True
        stops.direction = switches.direction = -1
        leg = solve_ivp(slope, (0.0, 60.0), [x, w], method="DOP853", rtol=1e-10, atol=1e-12, events=(stops, switches))
        x, w = (float(v) for v in leg.y[:, -1])
        back = max(back, angle - x) if angle - x > 1e-9 else back
        if len(leg.t_events[0]):
            w = 0.0
        else:
            sector += int(way)
            x = edge
        if abs(x - angle) > 4 * math.pi:
            return ("starts" if x > angle and not back else "thrown back, then starts" if x > angle else "runs backwards"), x
    return "undecided", x


CASES = {"sine": {}, "late": {"error": 15 * DEG}, "early": {"error": -15 * DEG}, "humps": {"shape": HUMPS, "error": 10 * DEG},
         "parked": {"detent": 0.02, "park": 90 * DEG}, "limited": {"current": 1.2, "error": 8 * DEG},
         "far off": {"error": 120 * DEG}}


@pytest.mark.parametrize("case", CASES)
def test_another_solver_says_the_same(case):
    rig = bench(**CASES[case])
    for degrees in (3.0, 14.0, 40.0, 100.0, 151.0, 166.0, 173.0, 176.0, 179.5):
        word, end, _, _ = rig.let_go(degrees * DEG)
        other, there = by_events(rig, degrees * DEG)
        assert word == other, degrees
        if word in ("stays", "creeps into the dead spot", "locked"):
            assert end == pytest.approx(there, abs=2e-3)


def test_time_of_a_free_run_by_quadrature():
    """Held current, no friction: speed follows from the work, time from the speed."""
    rig = held(0.0)
    _, end, _, seconds = rig.let_go(math.pi / 2)

    def work(turned):  # of |sin| from a quarter turn on, over the peak torque
        whole, part = np.divmod(turned + math.pi / 2, math.pi)
        return 2 * whole + 1 - np.cos(part) - 1

    u = (np.arange(2_000_000) + 0.5) / 2_000_000  # way as a square takes away the pole at rest
    way = (end - math.pi / 2) * u * u
    speed = np.sqrt(2 * 0.0924 * 2.0 * work(way) / 3 / 7.8e-4)
    by_work = float((2 * (end - math.pi / 2) * u / (3 * speed)).mean())
    assert seconds == pytest.approx(by_work, rel=1e-5)


# ---------------------------------------------------------------- the learner's rig
def test_what_comes_out_for_the_learners_rig():
    rig = bench()
    assert rig.resistance == pytest.approx(6.743, abs=0.001)
    made = map_starts(rig, 1440)
    naive = float(turning.dead_share(rig.friction_ratio))
    assert made.shares["stays"] == pytest.approx(naive, abs=2 / 1440)
    assert 1.6 * naive < made.stuck < 1.8 * naive  # 1.71 by the closed form; back-EMF takes a little
    late, early = map_starts(bench(error="20 deg"), 1440), map_starts(bench(error="-20 deg"), 1440)
    assert made.stuck < early.stuck < late.stuck
    assert made.thrown == 0.0
    assert late.thrown == pytest.approx(20 / 180 - math.asin(rig.friction_ratio) / math.pi, abs=3 / 1440)
    assert 1.3 * 20 < math.degrees(late.back.max()) < 2 * 20
    true = map_starts(bench(HUMPS), 1440)
    assert true.stuck < made.stuck  # two humps are steeper at the dead spot


@pytest.mark.parametrize("shape", [SINE, HUMPS], ids=["sine", "humps"])
def test_free_speed_by_running_until_it_is_reached(shape):
    """SciPy, with little inertia, through six time constants; well above volts over the peak constant."""
    rig = bench(shape)
    free = rig.free_speed()

    def slope(_t, y):
        k = float(shape.at(y[0])) * math.copysign(1.0, math.sin(y[0]))
        return [3 * y[1], (k * (12.5 - k * y[1]) / rig.resistance - rig.friction - rig.viscous * y[1]) / 0.001]

    made = solve_ivp(slope, (0.0, 10.0), [0.1, free * 0.9], max_step=1e-3, rtol=1e-6, atol=1e-8)
    assert float(np.mean(made.y[1][made.t > 9.0])) == pytest.approx(free, rel=1e-3)
    assert free > 12.5 / shape.peak
    if shape is SINE:
        assert free == pytest.approx(turning.square_drive_speed(0.0924, 12.5, rig.resistance, 0.012, 1.5e-5), rel=1e-7)


def test_what_goes_backwards_first_never_starts():
    """It would have to climb above the height from which it fell: the torque at rest depends on the angle alone."""
    for more in ({"error": 5 * DEG}, {"error": 30 * DEG}, {"error": -30 * DEG}, {"error": 60 * DEG, "friction": 0.001},
                 {"detent": 0.05, "park": 0.3}, {"shape": HUMPS, "error": 25 * DEG}):
        made = map_starts(bench(**more), 720)
        assert made.shares["thrown back, then starts"] == 0.0
        assert made.shares["undecided"] == 0.0
        assert made.thrown > 0 or "detent" in more


def test_running_backwards_needs_more_than_ninety_degrees():
    for degrees, backwards in ((80, False), (89, False), (120, True), (170, True)):
        shares = map_starts(held(0.01, error=f"{degrees} deg")).shares
        assert (shares["runs backwards"] > 0) == backwards


# ---------------------------------------------------------------- remedies
def test_a_second_phase_starts_from_everywhere():
    assert map_starts(bench(scheme="two phases")).shares["starts"] == 1.0
    assert map_starts(bench(scheme="three phases, six-step", error="20 deg")).shares["starts"] == 1.0


def test_a_parking_magnet_helps_where_it_pushes_over_the_dead_spot():
    assert map_starts(bench(detent="0.02 Nm")).shares["starts"] == 1.0  # at 45 degrees
    plain, middle = map_starts(bench()), map_starts(bench(detent="0.02 Nm", park="90 deg"))
    assert middle.stuck > plain.stuck  # its own unstable rest falls on the dead spot
    settled = map_starts(bench(detent="0.05 Nm", park="90 deg"), parked=True)
    assert settled.stuck < map_starts(bench(detent="0.05 Nm", park="90 deg")).stuck
    assert bench(detent="0.05 Nm").parked(0.3) == pytest.approx(math.pi / 4, abs=math.asin(0.012 / 0.05) / 2)
    assert bench().parked(0.3) == 0.3  # nothing pulls


# ---------------------------------------------------------------- scale laws and mirrors
def test_inertia_scales_the_time_and_nothing_else():
    one, four = (map_starts(held(0.05, error=12 * DEG, inertia=j), 360) for j in (7.8e-4, 4 * 7.8e-4))
    assert (one.codes == four.codes).all()
    assert four.ends == pytest.approx(one.ends, abs=1e-6)
    assert four.seconds == pytest.approx(2 * one.seconds, rel=1e-6)


def test_both_halves_of_a_turn_are_alike():
    rig = bench(error=10 * DEG)
    for angle in np.linspace(0.02, math.pi - 0.02, 23).tolist():
        one, other = rig.let_go(angle), rig.let_go(angle + math.pi)
        assert one[0] == other[0]
        assert other[1] - one[1] == pytest.approx(math.pi, abs=1e-6)
    made = map_starts(rig, 24)  # the map lets go in the first half only
    assert [OUTCOMES[i] for i in made.codes] == [rig.let_go(a)[0] for a in made.angles.tolist()]
    assert made.ends == pytest.approx([rig.let_go(a)[1] for a in made.angles.tolist()], abs=1e-6)


def test_friction_and_torque_together_change_nothing_but_time():
    one, two = map_starts(held(0.1, error=5 * DEG)), map_starts(
        Rig.of(SINE, 3, inertia=7.8e-4, friction=0.1 * 0.0924 * 6.0, current=6.0, error=5 * DEG))
    assert (one.codes == two.codes).all()
    assert two.seconds == pytest.approx(one.seconds / math.sqrt(3), rel=1e-6)


def test_a_sensor_wrong_by_half_a_turn_runs_as_well_backwards():
    good, wrong = map_starts(held(0.05), 360), map_starts(held(0.05, error=math.pi - 1e-6), 360)
    assert wrong.shares["runs backwards"] == pytest.approx(good.shares["starts"], abs=1 / 180)


def test_more_friction_never_starts_more():
    stuck = [map_starts(held(r)).stuck for r in (0.0, 0.02, 0.1, 0.4, 0.7)]
    assert stuck == sorted(stuck)
    assert stuck[-1] == 1.0  # above two over pi nothing keeps turning


# ---------------------------------------------------------------- result and refusals
def test_table_and_words():
    made = map_starts(bench(error="10 deg"), 36)
    table = made.table()
    assert list(table.columns) == ["rotor_angle", "outcome", "rest_angle", "thrown_back", "time"]
    assert set(table["outcome"]) <= set(OUTCOMES)
    assert sum(made.shares.values()) == pytest.approx(1.0)
    assert re.match(r"Of 36 angles: .*starts \d+\.\d %", made.told())
    assert dataclasses.is_dataclass(made.rig)


@pytest.mark.parametrize(("make", "words"), [
    (lambda: bench(scheme="one coil"), "scheme must be one of"),
    (lambda: bench(scheme="three phases, sine"), "A sine drive has no steps"),
    (lambda: bench(friction="12 mm"), "drag_torque of Rig must be one number and its unit"),
    (lambda: bench(friction=-0.01), "drag_torque of Rig must be at least 0 N*m; instead received -0.01"),
    (lambda: bench(inertia=0), "rotor_inertia of Rig must be more than 0"), (lambda: bench(volts=None), "must be given together"),
    (lambda: bench(volts=None, resistance=None), "current of Rig must be given, or volts and resistance"),
    (lambda: bench(error="190 deg"), "within half an electrical turn"), (lambda: Rig.of(SINE, 0, **BENCH), "pairs of poles from 1"),
    (lambda: bench(resistance=0.0), "drive_resistance of Rig must be more than 0 ohm"),
    (lambda: map_starts(bench(), 2), "whole number from 4 to 100000"), (lambda: held(0.1).free_speed(), "knows no free speed"),
    (lambda: map_starts(bench(friction=0.0, viscous=0.0, detent=0.1), parked=True), "must be more than 0 N m to park")])
def test_what_cannot_be_let_go(make, words):
    with pytest.raises(InputError, match=re.escape(words)):
        make()
