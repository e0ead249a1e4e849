"""The page of regeneration as a learner sees it: every row of the numbers, every picture and its sentence, worked here from the
values of the vehicle file (typed in below); descents are ridden by `evlab.ride` in its own steps.
"""

from __future__ import annotations

import dataclasses
import math
from functools import cached_property

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar
from what_is_seen import Drawn, agrees, assert_rows, assert_says, assert_worked, numbers_in, plain, seen_rows

import evlab
from evlab.workbench import regeneration_page

G = 9.80665


@dataclasses.dataclass(frozen=True)
class Hand:
    """The trike, or a changed one, as its file states it; what is asked; the rest by hand."""

    cargo: float = 60.0
    limit: float = 25.0
    resistance: float = 0.1465
    standby: float = 4.0
    teeth: int = 76
    drag: float = 0.10
    full: float = 35.0
    speed: float = 2.4
    slope: float = 0.07
    slowing: float = 1.0
    legs: float = 80.0
    volts: float = 25.0

    k, peak = 0.2092 * 3 * math.sqrt(3) / math.pi, 0.2092 * math.sqrt(3)
    radius, gain, viscous = 0.245, 0.95, 0.002

    @property
    def ohm(self):
        return self.resistance + 0.006

    @property
    def mass(self):
        return 42.6 + 2.0 + 72.0 + self.cargo + 3.6 + 8.2 + 1.6 + 2.0

    @property
    def heavy(self):
        """With three wheels and the rotor behind the gearing."""
        return self.mass + 6.0 + 0.02266 * self.per_metre**2

    @property
    def per_metre(self):
        """Radians of the motor for each metre of road."""
        return self.teeth / 15 / self.radius

    def emf(self, v):
        return self.k * self.per_metre * v

    def back(self, amps, v):
        """Watts at the bridge."""
        return amps * (self.emf(v) - self.ohm * amps) - self.standby

    def force(self, amps, v):
        """At the wheel; the chain takes its share of what is braked on top."""
        return (self.k * amps + self.drag + self.viscous * self.per_metre * v) * self.per_metre / self.gain

    def amps(self, force, v):
        return (force * self.gain / self.per_metre - self.drag - self.viscous * self.per_metre * v) / self.k

    def most(self, v):
        return min(self.limit, self.emf(v) / (2 * self.ohm))

    def ends(self, v):
        """Currents between which something comes back."""
        root = math.sqrt(self.emf(v) ** 2 - 4 * self.ohm * self.standby)
        return (self.emf(v) - root) / (2 * self.ohm), (self.emf(v) + root) / (2 * self.ohm)

    @property
    def pays(self):
        return math.sqrt(4 * self.ohm * self.standby) / self.emf(1.0)

    @property
    def costs(self):
        return self.ohm * self.limit / self.emf(1.0)  # the EMF drives so many amps through short-circuited ohms

    @property
    def fades(self):
        return 2 * self.costs  # the drive stops at E/2R, where most comes back: twice the EMF for the same amps

    @property
    def diodes(self):
        return (self.volts + 1.4) / (self.peak * self.per_metre)

    def asks(self, v):
        turn = math.atan(self.slope)
        return self.mass * G * (math.sin(turn) - 0.012 * math.cos(turn)) - 0.5 * 1.225 * 0.95 * v**2

    def share(self, v):
        """Of the falling weight's power what comes back; not a number where it must be driven."""
        amps = self.amps(self.asks(v), v)
        weight = self.mass * G * math.sin(math.atan(self.slope)) * v
        return self.back(min(amps, self.most(v)), v) / weight if amps >= 0 else math.nan

    @property
    def best(self):
        found = minimize_scalar(lambda v: -self.share(v), bounds=(0.5, 5.0), method="bounded", options={"xatol": 1e-7})
        return float(found.x), -float(found.fun)

    @property
    def rolls(self):
        return brentq(lambda v: self.asks(v) - self.force(0.0, v), 0.1, 100.0)

    @property
    def wet(self):
        """One of two rear wheels, which braking takes load off: N L = m g cos a - F h."""
        grip = 0.35 * 0.5
        return grip * self.mass * G * math.cos(math.atan(self.slope)) * 0.65 / (1 + grip * 0.75 / 1.60)

    @cached_property
    def stop(self):
        """(energy of motion, at the bridge, friction, tyres and air) [J] of one stop; largest forces of motor and friction."""
        v = np.linspace(self.speed, 0.0, 4001)
        road = self.mass * G * 0.012 + 0.5 * 1.225 * 0.95 * v**2
        wanted = np.maximum(self.heavy * self.slowing - road, 0.0)
        amps = np.clip(self.amps(wanted, v), 0.0, np.minimum(self.limit, self.emf(v) / (2 * self.ohm)))
        amps = np.where(self.back(amps, v) > -self.standby, amps, 0.0)
        motor = np.minimum(self.force(amps, v), wanted)
        watts = [np.trapezoid(p, -v / self.slowing) for p in (self.back(amps, v), (wanted - motor) * v, road * v)]
        return 0.5 * self.heavy * self.speed**2, *map(float, watts), float(motor.max()), float((wanted - motor).max())

    @property
    def start(self):
        """What one start takes at the bridge [J], the set speed rising by 0.45 m/s2."""
        v = np.linspace(0.0, self.speed, 4001)
        shaft = (self.heavy * 0.45 + self.mass * G * 0.012 + 0.5 * 1.225 * 0.95 * v**2) / self.per_metre / self.gain
        amps = (shaft + self.drag + self.viscous * self.per_metre * v) / self.k
        return float(np.trapezoid(amps * (self.emf(v) + self.ohm * amps) + self.standby, v / 0.45))

    def pedals(self, v):
        """Legs through their chain to the wheel, and from there through the motor's chain to the bridge."""
        turning = self.per_metre * v
        amps = (self.legs * self.gain * self.gain / turning - self.drag - self.viscous * turning) / self.k
        return self.back(min(max(amps, 0.0), self.most(v)), v)

    @property
    def pedal_best(self):
        v = np.linspace(0.1, 8.0, 20001)
        watts = np.array([self.pedals(float(x)) for x in v])
        return float(v[watts.argmax()]), float(watts.max())


DEMO = Hand()
OTHER = Hand(cargo=10.0, limit=15.0, resistance=0.2, standby=6.0, teeth=60, drag=0.15, full=33.0, speed=3.5, slope=0.05,
             slowing=1.5, legs=120.0, volts=28.0)
TRIKE = evlab.load_vehicle("two_shed_trike")
CHANGED = TRIKE.change({
    "load.cargo": 10.0, "controller.braking_current_limit": 15.0, "motor.resistance": 0.2, "controller.standby_power": 6.0,
    "gearing.wheel_teeth": 60, "gearing.links": 0, "motor.drag_torque": 0.15, "store.charge_voltage": 33.0})
ROUTE = evlab.load_route("two_sheds_down")
PAGE = regeneration_page.make_page(ROUTE, TRIKE)
SEEN = {"demo": (DEMO, TRIKE), "changed": (OTHER, CHANGED)}
each = pytest.mark.parametrize("name", SEEN)


def model(hand, vehicle):
    return PAGE.model(vehicle, {"speed": hand.speed, "slope": hand.slope, "deceleration": hand.slowing, "legs": hand.legs,
                                "volts": hand.volts})


@pytest.fixture(scope="module")
def cases():
    return {name: model(*one) for name, one in SEEN.items()}


@pytest.fixture(scope="module")
def hills():
    """{case: (hill, down from empty, up again, a whole climb, then down with and without the motor's brake)}."""
    made = {}
    for name, (_, vehicle) in SEEN.items():
        hill = ROUTE.part(43.0 - 0.4, 103.0 + 2.0)
        case = evlab.HillTest(vehicle, ROUTE)
        assert float(case.hill.length) == pytest.approx(60.0, abs=1.5)
        hill, back = case.hill, case.hill.reversed()
        down = evlab.ride(vehicle.change({"controller.coil_current_limit": 1e-6}), hill, start=15.3)
        climb = evlab.ride(vehicle, back)
        made[name] = (hill, down, evlab.ride(vehicle, back, start=down), climb, evlab.ride(vehicle, hill, start=climb),
                      evlab.ride(vehicle.change({"controller.braking_current_limit": 0.0}), hill, start=climb))
    return made


@pytest.fixture(scope="module")
def pictures(cases):
    made = {}
    for name, case in cases.items():
        made[name] = [Drawn(p.build(PAGE.widen(PAGE.frame(case.vehicle), case)), case) for p in PAGE.pictures]
    return made


# ---------------------------------------------------------------- the numbers
def test_the_page_opens_on_the_steepest_descent_with_half_of_the_usable_volts():
    start = {knob.name: knob.start for knob in PAGE.knobs if knob.start is not None}
    assert start == {"speed": 2.4, "slope": 0.07, "deceleration": 1.0, "legs": 80.0, "volts": 25.0}


@each
def test_rows_of_the_currents(cases, name):
    hand = SEEN[name][0]
    emf = hand.emf(hand.speed)
    assert_rows(seen_rows(PAGE, cases[name], 0), {
        "Back-EMF": (emf, "V"), "Most comes back at": (emf / (2 * hand.ohm), "A"),
        "which is": (emf**2 / (4 * hand.ohm) - hand.standby, "W"), "Costs from": (hand.ends(hand.speed)[1], "A"),
        "At the braking limit": (hand.back(hand.limit, hand.speed), "W"), "Nothing comes back below": (hand.pays, "m/s")})


@each
def test_rows_of_the_forces(cases, name):
    hand = SEEN[name][0]
    assert_rows(seen_rows(PAGE, cases[name], 1), {
        "The slope asks": (hand.asks(hand.speed), "N"),
        "The motor holds at most": (hand.force(hand.most(hand.speed), hand.speed), "N"), "It pays from": (hand.pays, "m/s"),
        "The limit fades below": (hand.fades, "m/s"), "The diodes conduct from": (hand.diodes, "m/s"),
        "A wet driven wheel holds": (hand.wet, "N")})


@each
@pytest.mark.parametrize("index", [2, 3])
def test_rows_of_the_stop(cases, name, index):
    hand = SEEN[name][0]
    kinetic, into, friction, *_ = hand.stop
    assert_rows(seen_rows(PAGE, cases[name], index), {
        "Energy of motion": (kinetic, "J"), "Comes back (at the bridge)": (into, "J", 2e-3),
        "Share that comes back": (100 * into / kinetic, "%", 2e-3), "Into friction": (friction, "J", 0.01),
        "Pays of the next start": (100 * into / hand.start, "%", 3e-3)})


@each
def test_rows_of_the_descent(cases, name):
    hand = SEEN[name][0]
    assert_rows(seen_rows(PAGE, cases[name], 4), {
        "Brakes must hold": (hand.asks(hand.speed), "N"), "Comes back of the height": (100 * hand.share(hand.speed), "%"),
        "At best": (100 * hand.best[1], "%"), "at": (hand.best[0], "m/s", 2e-3), "Rolls unbraked to": (hand.rolls, "m/s")})


@each
def test_rows_of_the_full_store(cases, name, hills):
    hand, vehicle = SEEN[name]
    hill, down = hills[name][:2]
    begun = evlab.ride(vehicle, hill)
    rows = seen_rows(PAGE, cases[name], 5)
    assert_rows(rows, {
        "Falls": (60 * 0.07, "m", 0.01), "Comes back, begun empty": (-down.store_energy / 1e3, "kJ", 3e-3),
        "Begin at most at": (rows["Begin at most at"].value, "V"),
        "Friction takes, begun full": (-begun.ledger["brake"] / 1e3, "kJ")})
    most, empty = rows["Begin at most at"].value, evlab.ride(vehicle, hill, start=15.3).ledger["brake"]
    assert -evlab.ride(vehicle, hill, start=most - 0.06).ledger["brake"] < -empty + 1.0  # so much fits in, and hardly more
    assert -evlab.ride(vehicle, hill, start=most + 0.15).ledger["brake"] > -empty + 1.0
    assert most == pytest.approx(math.sqrt(hand.full**2 + 2 * down.store_energy / (650 / 14)), abs=0.5)  # without ohms and pores


@each
@pytest.mark.parametrize("index", [6, 7])
def test_rows_of_the_hill_test(cases, name, hills, index):
    hand = SEEN[name][0]
    hill, down, up, climb, kept, lost = hills[name]
    fall = -float(hill.heights[-1])
    lift, gained = hand.mass * G * fall, -down.store_energy
    saved = (lost.store_energy - kept.store_energy) / (climb.store_energy + lost.store_energy)
    assert fall == pytest.approx(4.2, rel=0.01)
    assert_rows(seen_rows(PAGE, cases[name], index), {
        "Height energy": (lift / 1e3, "kJ"), "The store gained": (gained / 1e3, "kJ"), "Came back up": (up.distance, "m"),
        "of the way": (100 * up.distance / hill.length, "%"), "Gained over height": (100 * gained / lift, "%"),
        "Gained over climb": (100 * gained / climb.store_energy, "%"), "Saved, round trip": (100 * saved, "%")})


@each
def test_rows_of_the_legs(cases, name):
    hand = SEEN[name][0]
    speed, watts = hand.pedal_best
    volt = 0.5 * (650 / 14) * ((hand.volts + 1) ** 2 - hand.volts**2)
    assert_rows(seen_rows(PAGE, cases[name], 8), {
        "Into the store, at best": (watts, "W", 2e-3), "with the tyre at": (speed, "m/s", 0.05),  # flat; 121 places
        "One volt takes": (volt / watts / 60, "min", 3e-3)})


# ---------------------------------------------------------------- currents and forces
@each
def test_the_parabolas(pictures, name):
    hand, seen = SEEN[name][0], pictures[name][0]
    amps, watts = seen.curve("recovered")
    for at in (5.0, 20.0, 40.0):
        assert float(np.interp(at, amps, watts)) == pytest.approx(hand.back(at, hand.speed), abs=1.0)
    emf = hand.emf(hand.speed)
    best, most = emf / (2 * hand.ohm), emf**2 / (4 * hand.ohm) - hand.standby
    assert seen.marks("o") == [(pytest.approx(best), pytest.approx(most))]
    costs = hand.ends(hand.speed)[1]
    assert seen.marks("x") == [(pytest.approx(costs), 0.0)]
    assert seen.upright_lines() == [hand.limit]
    others = seen.curves("recovered_else")
    assert len(others) == 3
    top = 1.5 * 0.97 * hand.full / hand.emf(1.0)
    tops = sorted(float(y.max()) for _, y in others)
    assert tops == [pytest.approx(hand.emf(round(s * top, 2)) ** 2 / (4 * hand.ohm) - hand.standby, rel=2e-3)
                    for s in (0.2, 0.45, 0.7)]
    words = seen.all_words()
    assert_says("{} m/s: most {} W at E/2R {} A", words, hand.speed, most, best)
    assert_says("costs from {} A", words, costs)
    assert_says("limit {} A", words, hand.limit)
    half = 100 * most / (emf * best)
    assert_says("At {} m/s most comes back with {} A: {} W, {} % of what the motor brakes; beyond {} A braking costs; the limit of "
                "{} A gives {} W.", seen.reading, hand.speed, best, most, half, costs, hand.limit,
                hand.back(hand.limit, hand.speed))


@each
def test_where_it_pays(pictures, name):
    hand, seen = SEEN[name][0], pictures[name][1]
    end, top = seen.axes[0].get_xlim()[1], seen.axes[0].get_ylim()[1]
    for stroke, force in (("slope_asks", hand.asks), ("brake_limit", lambda v: hand.force(hand.limit, v)),
                          ("best_brake", lambda v: hand.force(hand.emf(v) / (2 * hand.ohm), v))):
        x, y = seen.curve(stroke)
        for v in (0.3, 1.0, 2.0):
            if v < x[-1]:
                assert float(np.interp(v, x, y)) == pytest.approx(force(v), rel=5e-3), (stroke, v)
    assert (hand.speed, pytest.approx(hand.asks(hand.speed))) in seen.marks("o")
    assert seen.upright_lines() == ([pytest.approx(hand.diodes)] if hand.diodes <= end else [])
    words = seen.words()
    if "recovers" in words:
        v, force = words["recovers"]
        low, high = (hand.force(a, v) for a in hand.ends(v))
        assert low < force < min(high, hand.force(hand.limit, v))
    v, force = words["beyond the braking limit: friction only"]
    assert force > hand.force(hand.limit, v)
    assert_says("diodes from {} m/s", seen.all_words(), hand.diodes)
    names = seen.names()
    asks = next(words for words in names if words.endswith("down asks"))
    assert agrees(numbers_in(asks)[0], 100 * hand.slope)
    assert names[asks] == pytest.approx(seen.curve("slope_asks")[1][-1])
    assert names[f"limit {hand.limit:.1f} A"] == pytest.approx(hand.force(hand.limit, seen.curve("brake_limit")[0][-1]), rel=1e-6)
    assert_says("From {} m/s on something can come back; down {} % at {} m/s the brakes must hold {} N: the motor alone holds it; "
                "below {} m/s (hatched)", seen.reading, hand.pays, 100 * hand.slope, hand.speed, hand.asks(hand.speed), hand.costs)
    assert top > hand.asks(0.0)


def test_a_slope_that_the_motor_does_not_hold_is_told():
    hand = dataclasses.replace(DEMO, slope=0.18, speed=3.0)
    seen = Drawn(PAGE.pictures[1].build(PAGE.widen(PAGE.frame(TRIKE), model(hand, TRIKE))), model(hand, TRIKE))
    assert_says("the brakes must hold {} N: the motor holds {} N, friction must take the rest", seen.reading, hand.asks(3.0),
                hand.force(25.0, 3.0))


# ---------------------------------------------------------------- stops
@each
def test_the_picture_of_one_stop(pictures, name):
    hand, seen = SEEN[name][0], pictures[name][2]
    x, y = seen.curve("electric_brake")
    assert x.max() == pytest.approx(hand.speed)
    for v in (0.9 * hand.speed, 0.5 * hand.speed):
        road = hand.mass * G * 0.012 + 0.5 * 1.225 * 0.95 * v**2
        wanted = hand.heavy * hand.slowing - road
        assert float(np.interp(v, x, y)) == pytest.approx(min(hand.force(hand.most(v), v), wanted), rel=5e-3)
    motor, friction = seen.areas()
    assert friction[:, 1].max() == pytest.approx(hand.heavy * hand.slowing - hand.mass * G * 0.012, rel=1e-3)
    assert motor[:, 1].max() == pytest.approx(y.max())
    kinetic, into, rubbed, road, most, rest = hand.stop
    assert_says("the motor, {} N at most", seen.all_words(), most, rel=2e-3)
    assert_says("friction, {} N at most", seen.all_words(), rest, rel=2e-3)
    heat = kinetic - into - rubbed - road
    assert_says("Of {} J of motion at {} m/s a stop at {} m/s² ends with {} % in the store (at the bridge), {} % in friction, "
                "{} % in tyres and air, {} % in copper, chain and drag.", seen.reading, kinetic, hand.speed, hand.slowing,
                *(100 * j / kinetic for j in (into, rubbed, road, heat)), rel=5e-3)
    assert seen.level_lines() == [pytest.approx(hand.force(hand.limit, hand.speed))]


@each
def test_the_picture_of_stop_and_go(pictures, name):
    hand, seen = SEEN[name][0], pictures[name][3]
    for v in (1.5, 3.0):
        other = dataclasses.replace(hand, speed=v)
        kinetic, into, *_ = other.stop
        assert float(np.interp(v, *seen.curve("stop_share"))) == pytest.approx(100 * into / kinetic, abs=0.4)  # 40 places
        assert float(np.interp(v, *seen.curve("round_share"))) == pytest.approx(100 * into / other.start, abs=0.4)
    kinetic, into, *_ = hand.stop
    assert seen.marks("o") == [(hand.speed, pytest.approx(100 * into / hand.start, abs=0.4))]
    assert seen.names() == {"of the motion comes back": pytest.approx(seen.curve("stop_share")[1][-1]),
                            "of the next start is paid": pytest.approx(seen.curve("round_share")[1][-1])}
    assert_says("A stop from {} m/s brings {} % of the motion back, which pays {} % of the next start", seen.reading, hand.speed,
                100 * into / kinetic, 100 * into / hand.start, rel=0.01)


# ---------------------------------------------------------------- descents
@each
def test_the_picture_of_the_descent(pictures, name):
    hand, seen = SEEN[name][0], pictures[name][4]
    x, y = seen.curve("descent_share")
    for v in (1.0, 2.0, hand.speed):
        assert float(np.interp(v, x, y)) == pytest.approx(100 * hand.share(v), abs=0.3)
    best, share = hand.best
    marks = seen.marks("o")
    assert marks == [(pytest.approx(best, rel=2e-3), pytest.approx(100 * share)),
                     (hand.speed, pytest.approx(100 * hand.share(hand.speed)))]
    rings = [line.get_markersize() for line in seen.axes[0].lines if line.get_marker() == "o"]
    assert rings[0] > rings[1]  # the ring is the best, the dot what is asked
    assert_says("best {} m/s, {} %", seen.all_words(), best, 100 * share, rel=2e-3)
    right = seen.axes[0].get_xlim()[1]
    assert seen.upright_lines() == ([pytest.approx(hand.rolls)] if hand.rolls <= right else [])
    if hand.rolls <= right:
        assert_says("rolls to {} m/s unbraked", seen.all_words(), hand.rolls)
    assert_says("Down {} % at {} m/s {} % of the height's energy comes back; best is {} m/s with {} %, creeping at {} m/s gives "
                "{} %.", seen.reading, 100 * hand.slope, hand.speed, 100 * hand.share(hand.speed), best, 100 * share, 0.4 * best,
                100 * hand.share(0.4 * best), rel=3e-3)
    assert list(seen.names().values()) == [pytest.approx(y[-1])]


@each
def test_the_picture_of_the_full_store(pictures, cases, name, hills):
    hand, vehicle = SEEN[name]
    seen, hill = pictures[name][5], hills[name][0]
    begun = evlab.ride(vehicle, hill)
    room = seen_rows(PAGE, cases[name], 5)["Begin at most at"].value
    for at, column, full in ((0, "store_volts", begun), (1, "brake_force", begun)):
        want = full.column(column)
        tall = max(np.ptp(want), 1e-3)
        found = [(x, y) for x, y in seen.lines(at) if len(x) > 50 and abs(x[-1] - full.column("distance")[-1]) < 1.0]
        assert any(np.abs(np.interp([10.0, 30.0, 50.0], x, y) - np.interp([10.0, 30.0, 50.0], full.column("distance"), want)).max()
                   < 0.03 * tall for x, y in found), column
    words = seen.all_words()
    assert_says("full {} V", words, hand.full)
    assert_says("from {} V", words, begun.start_voltage)
    assert_says("{} kJ in all", words, -begun.ledger["brake"] / 1e3)
    assert_says("Begun full, friction takes {} kJ of this descent of {} m; begun at {} V or below, all of {} kJ fits in",
                seen.reading, -begun.ledger["brake"] / 1e3, -float(hill.heights[-1]), room, -hills[name][1].store_energy / 1e3,
                rel=3e-3)
    exact = cases[name].room.start_volts  # near the edge tenths of a volt count for hundreds of joules
    assert exact == pytest.approx(room, abs=0.051)
    spared = evlab.ride(vehicle, hill, start=exact)
    assert_says("friction takes {} J.", seen.reading, -spared.ledger["brake"], rel=0.05)


# ---------------------------------------------------------------- hill test
@each
def test_the_picture_of_the_hill_test(pictures, name, hills):
    hand, seen = SEEN[name][0], pictures[name][6]
    hill, down, up, climb, kept, lost = hills[name]
    back = hill.reversed()
    came = up.distance
    assert seen.marks("o") == [(pytest.approx(came, rel=1e-3), pytest.approx(float(back.height(came)), rel=2e-3))]
    x, y = seen.curve("height")
    assert (x[-1], y[0], y[-1]) == (pytest.approx(hill.length), 0.0, pytest.approx(-float(hill.heights[-1])))
    gained, lift = -down.store_energy, hand.mass * G * -float(hill.heights[-1])
    saved = (lost.store_energy - kept.store_energy) / (climb.store_energy + lost.store_energy)
    ratios = [gained / lift, gained / climb.store_energy, saved]
    bars = seen.bars(1)
    assert [bars[2 * i + 1][2] / bars[2 * i][2] for i in range(3)] == [pytest.approx(r, rel=2e-3) for r in ratios]
    told = sorted(((y, words) for words, (x, y) in seen.words(1).items() if words.endswith("%")), reverse=True)
    assert all(agrees(numbers_in(words)[0], 100 * r, 2e-3) for (_, words), r in zip(told, ratios, strict=True))
    rows = sorted(((y, words) for words, (x, y) in seen.words(1).items()), reverse=True)
    lines = [words for _, words in rows if words.startswith(("charge", "store to", "saved", "over"))]
    assert lines == ["charge put back: energy that the store gained going down", "over energy of the height (m g h)",
                     "store to store: energy that the store gained going down",
                     "over energy that the store gives for the same climb",
                     "saved on the round trip: store energy saved by regeneration, up and down",
                     "over store energy of the round trip without it"]
    assert_says("comes back to {} m: {} % of the way", seen.all_words(), came, 100 * came / hill.length)
    assert_says("Going down gave the store {} kJ of the {} kJ of the height; with that it rode {} m of {} m back up ({} % of the "
                "way).", seen.reading, gained / 1e3, lift / 1e3, came, hill.length, 100 * came / hill.length)


@each
def test_the_picture_of_drag_and_share(pictures, name, hills):
    hand, seen = SEEN[name][0], pictures[name][7]
    hill, _, up, *_ = hills[name]
    x, y = seen.curve("drag_share")
    now = 100 * up.distance / hill.length
    assert seen.marks("o") == [(100.0, pytest.approx(now, rel=0.01))]
    assert float(np.interp(100.0, x, y)) == pytest.approx(now, rel=0.01)
    free = SEEN[name][1].change({"road.rolling_coefficient": 0.0, "motor.drag_torque": 0.0, "motor.viscous_drag": 0.0})
    down = evlab.ride(free.change({"controller.coil_current_limit": 1e-6}), hill, start=15.3)
    none = 100 * evlab.ride(free, hill.reversed(), start=down).distance / hill.length
    assert y[0] == pytest.approx(none, rel=0.01)
    assert_says("Today {} % of the way is regained; without any drag {} %, since copper, chain and electronics stay",
                seen.reading, now, none, rel=0.01)
    assert "half of the way is not to be had" in seen.reading  # not even without any drag
    assert none < 50
    assert seen.level_lines() == [50.0]
    assert seen.names() == {"of the way regained": pytest.approx(y[-1]), "half of the way": pytest.approx(50.0)}
    assert hand.mass > 100


# ---------------------------------------------------------------- legs
@each
def test_the_picture_of_the_legs(pictures, name):
    hand, seen = SEEN[name][0], pictures[name][8]
    x, y = seen.curve("pedal_charge")
    for v in (1.0, 2.5, 4.0):
        assert float(np.interp(v, x, y)) == pytest.approx(hand.pedals(v), abs=0.6)
    speed, watts = hand.pedal_best
    (at, top), = seen.marks("o")
    assert (at, top) == (pytest.approx(speed, rel=0.05), pytest.approx(watts, rel=2e-3))
    assert sorted(seen.level_lines()) == [0.0, hand.legs] or hand.legs > seen.axes[0].get_ylim()[1]
    names = seen.names()
    pedals = next(words for words in names if words.startswith("at the pedals"))
    assert agrees(numbers_in(pedals)[0], hand.legs)
    volt = 0.5 * (650 / 14) * ((hand.volts + 1) ** 2 - hand.volts**2)
    assert_says("{} W at the pedals put {} W into the store at best, with the tyre at {} m/s; one volt at {} V takes {} s.",
                seen.reading, hand.legs, watts, at, hand.volts, volt / watts, rel=3e-3)
    assert plain(seen.alt).startswith("Power that legs put into the store")


def test_the_equations_are_worked_with_the_file(hills):
    h, emf = DEMO, DEMO.emf(2.4)
    hill, down, _, climb, kept, lost = hills["demo"]
    gained, lift = -down.store_energy, h.mass * G * -float(hill.heights[-1])
    saved = (lost.store_energy - kept.store_energy) / (climb.store_energy + lost.store_energy)
    room = math.sqrt(35.0**2 - 2 * gained / (650 / 14))
    assert_worked(regeneration_page.worked(TRIKE, ROUTE), [
        ("back_emf", emf), ("recovered_power", h.back(25.0, 2.4)), ("best_braking_current", emf / (2 * h.ohm)),
        ("most_recovered_power", emf**2 / (4 * h.ohm) - 4.0), ("most_paying_current", h.ends(2.4)[1]),
        ("motor_speed", 2.4 * h.per_metre), ("paying_speed", h.pays * h.per_metre), ("fading_speed", h.costs * h.per_metre),
        ("diode_speed", h.diodes * h.per_metre),
        ("boost_duty", 1 - (emf - 25.0 * h.ohm) / 25.0), ("descent_force", h.asks(2.4)),
        ("braking_current", h.amps(h.asks(2.4), 2.4)), ("recovered_share", h.share(2.4)), ("start_voltage", room, 2e-3),
        ("charge_over_lift", gained / lift),
        ("store_over_climb", gained / climb.store_energy), ("saved_over_round_trip", saved)])


# ---------------------------------------------------------------- the case in words, and at its borders
def test_the_sentence_of_the_case(cases):
    h, emf = DEMO, DEMO.emf(2.4)
    assert_says("At {} m/s most comes back with {} A, {} W; from {} A on braking costs; down {} % at this speed {} % of the "
                "height's energy comes back, at best {} % at {} m/s.", cases["demo"].reason, 2.4, emf / (2 * h.ohm),
                emf**2 / (4 * h.ohm) - 4.0, h.ends(2.4)[1], 7.0, 100 * h.share(2.4), 100 * h.best[1], h.best[0])
    slow = PAGE.model(TRIKE, {"speed": 0.1, "slope": 0.0, "deceleration": 1.0, "legs": 80.0, "volts": 25.0})
    assert slow.reason == "At 0.1 m/s nothing comes back, however one brakes."


def test_a_driver_of_the_throttle_starts_as_a_set_speed_would(cases):
    other = evlab.RegenCase(TRIKE.change({"driver.kind": "throttle held", "driver.share": 0.5}), ROUTE)
    assert other.start_takes(2.4) == pytest.approx(DEMO.start, rel=3e-3)


@pytest.mark.parametrize(("best", "rising"), [(4.99, False), (5.0, True), (5.01, True)])
def test_ever_more_comes_back_where_the_best_speed_is_the_last(best, rising):
    from evlab.regen_pieces import Descent

    speeds = np.linspace(0.1, 5.0, 5)
    assert Descent(speeds, speeds, speeds, speeds, speeds, best, 0.6, 0.5, 9.0).rising is rising


def test_the_controls_reach_as_far_as_their_reasons_say():
    span = {knob.name: (knob.low, knob.high) for knob in PAGE.knobs}
    wanted = {"speed": (0.1, 12.0), "slope": (0.0, 0.2), "deceleration": (0.2, 4.0), "legs": (0.0, 400.0),
              "controller.braking_current_limit": (0.0, 100.0)}
    assert {name: span[name] for name in wanted} == wanted


@each
def test_the_rulers_of_the_hill_lie_under_their_words(pictures, name):
    seen = pictures[name][6]
    bars = seen.bars(1)
    assert [height for *_, height in bars] == [pytest.approx(0.18)] * 6
    unders = sorted((y for words, (_, y) in seen.words(1).items() if words.startswith("over")), reverse=True)
    assert all(y > bottom + height for y, (_, bottom, _, height) in zip(unders, bars[::2], strict=True))


def test_below_the_speed_at_which_it_fades_the_ride_brakes_with_less_than_the_limit():
    """Rolling down a ramp with the brake fully on: the loop itself gives 25 A above it, and E/2R below."""
    from evlab.riding import Journey

    fades = 2 * 25.0 * (0.1465 + 0.006) / (0.3460 * 76 / 15 / 0.245)
    assert 1.0 < fades < 1.1
    way = evlab.Route.from_segments([("40 m", "-7 %", "3 m/s")])
    driver = evlab.ThrottleTrace([0.0, 1000.0], [-1.0, -1.0])
    ridden = Journey(TRIKE, way, 0.0, driver, 60.0, 0.02).go("25 V", speed=2.5)
    speed, amps = ridden.column("speed"), -ridden.column("motor_amps")
    above, below = speed > 1.05 * fades, (speed < 0.95 * fades) & (speed > 0.2)
    assert above.any()
    assert below.any()
    assert np.allclose(amps[above], 25.0)
    assert (amps[below] < 25.0).all()
