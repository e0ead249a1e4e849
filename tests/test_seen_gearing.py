"""The page of gearing as a learner sees it: every row of the numbers, every picture and its sentence, worked here from the values
of the vehicle file (typed in below), by other equations than the page's.

The trips are ridden by `evlab.ride` in its own steps of 20 ms, sprocket by sprocket; the page sketches them in steps of 0.1 s.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from scipy.optimize import brentq
from what_is_seen import Drawn, assert_rows, assert_says, assert_worked, numbers_in, plain, seen_rows

import evlab
from evlab.workbench import gearing_page

G = 9.80665


@dataclasses.dataclass(frozen=True)
class Hand:
    """The trike, or a changed one, as its file states it; the rest by hand."""

    cargo: float = 60.0
    small: int = 15
    large: int = 76
    radius: float = 0.245
    gain: float = 0.95  # of the chain
    amps: float = 45.0
    pitch: float = 9.525
    over: float = 0.54  # of a pitch, beyond the cotangent: handbooks
    beyond: float = 4.1  # mm, of the plates
    strength: float = 8900.0
    apart: float = 381.6
    gap: float = 160.0
    slope: float = 0.07
    speed: float = 2.4
    volts: float = 25.0

    k = 0.2092 * 3 * math.sqrt(3) / math.pi  # V s/rad between two terminals, mean over 60 degrees of the peak line volts
    ohm = 0.1465 + 0.006
    store = 14 * (0.80e-3 + 0.20e-3) + 1.5e-3

    @property
    def mass(self):
        return 42.6 + 2.0 + 72.0 + self.cargo + 3.6 + 8.2 + 1.6 + 2.0

    @property
    def ratio(self):
        return self.large / self.small

    def road(self, speed, slope=None):
        """Rolling 1.2 % of what presses on the road, the slope, and 0.95 m2 of air."""
        turn = math.atan(self.slope if slope is None else slope)
        return self.mass * G * (math.sin(turn) + 0.012 * math.cos(turn)) + 0.5 * 1.225 * 0.95 * speed**2

    def coil(self, volts, speed, ratio):
        """Amps of the coil at full throttle: the limit, or what 97 % of the sagging volts drive against the motor's own."""
        emf = self.k * speed * ratio / self.radius

        def spare(amps):
            terminal = volts
            for _ in range(60):
                terminal = volts - self.store * (0.97 * amps + 4.0 / terminal)
            return 0.97 * terminal - emf - self.ohm * amps

        return self.amps if spare(self.amps) > 0 else brentq(spare, -3000.0, self.amps)

    def drive(self, volts, speed, ratio=None):
        """Force at the wheel at full throttle [N]."""
        g = self.ratio if ratio is None else ratio
        shaft = self.k * self.coil(volts, speed, g) - 0.10 - 0.002 * speed * g / self.radius
        return shaft * g * self.gain / self.radius

    def holds(self, volts, slope=None):
        """Speed at which the drive meets the road [m/s]."""
        return brentq(lambda v: self.drive(volts, v) - self.road(v, slope), 0.01, 30.0)

    @property
    def needed(self):
        return self.road(self.speed)

    def climbs(self, speed):
        """The slope on which it keeps a speed: a spare force turns the weight by an angle; 1.2 % of rolling by another."""
        spare = self.drive(self.volts, speed) - 0.5 * 1.225 * 0.95 * speed**2
        return math.tan(math.asin(spare / (self.mass * G * math.hypot(1, 0.012))) - math.atan(0.012))

    def ratios(self):
        """The two ratios between which the force is there at the asked speed and volts."""
        best = max(np.geomspace(1.0, 40.0, 400), key=lambda g: self.drive(self.volts, self.speed, g))
        return tuple(brentq(lambda g: self.drive(self.volts, self.speed, g) - self.needed, best * far, best)
                     for far in (0.05, 20.0))

    # ------------------------------------------------------------ chain and wheel, in mm
    def across(self, teeth):
        return self.pitch / math.sin(math.pi / teeth)

    @property
    def outermost(self):
        wheel = self.pitch * (self.over + 1 / math.tan(math.pi / self.large))
        return max(wheel / 2, self.across(self.large) / 2 + self.beyond)

    def strand(self, apart):
        """Links of an open strand, by its angles: two tangents, and on each wheel the teeth of the arc."""
        lean = math.asin((self.across(self.large) - self.across(self.small)) / 2 / apart)
        arcs = self.small * (math.pi - 2 * lean) + self.large * (math.pi + 2 * lean)
        return 2 * apart * math.cos(lean) / self.pitch + arcs / (2 * math.pi)

    @property
    def links(self):
        return 2 * math.ceil((self.strand(self.apart) - 0.25) / 2)

    @property
    def taut(self):
        return brentq(lambda c: self.strand(c) - self.links, 200.0, 2000.0)

    @property
    def pull(self):
        return self.k * self.amps / (self.across(self.small) / 2e3)

    @property
    def wrap(self):
        """Degrees on the driver."""
        return 180 - 2 * math.degrees(math.asin((self.across(self.large) - self.across(self.small)) / 2 / self.taut))


DEMO = Hand()
OTHER = Hand(cargo=20.0, small=13, large=60, radius=0.25, gain=0.92, amps=35.0, pitch=12.7, beyond=5.9, strength=17800.0,
             apart=420.0, slope=0.05, speed=3.0, volts=28.0)
CHANGED = {"load.cargo": 20.0, "gearing.motor_teeth": 13, "gearing.wheel_teeth": 60, "gearing.wheel_radius": 0.25,
           "gearing.chain_efficiency": 0.92, "controller.coil_current_limit": 35.0, "gearing.chain": "08B", "gearing.links": 0,
           "gearing.centre_distance": 0.42}
TRIKE = evlab.load_vehicle("two_shed_trike")
ROUTE = evlab.load_route("two_sheds_up")
PAGE = gearing_page.make_page(ROUTE, TRIKE)
SEEN = {"demo": (DEMO, TRIKE), "changed": (OTHER, TRIKE.change(CHANGED))}


@pytest.fixture(scope="module")
def cases():
    return {name: PAGE.model(vehicle, {"slope": hand.slope, "speed": hand.speed, "volts": hand.volts})
            for name, (hand, vehicle) in SEEN.items()}


@pytest.fixture(scope="module")
def trips():
    """{case: {teeth: the ride with this wheel sprocket}}, 20 ms a step."""
    tried = {"demo": (66, 76, 96, 120), "changed": (49, 60, 83)}
    return {name: {z: evlab.ride(vehicle.change({"gearing.wheel_teeth": z, "gearing.links": 0}), ROUTE) for z in tried[name]}
            for name, (_, vehicle) in SEEN.items()}


def drawn(index, case, pinned=None):
    ranges = PAGE.widen(PAGE.frame(case.vehicle), case)
    return Drawn(PAGE.pictures[index].build(ranges), case, pinned=pinned)


# ---------------------------------------------------------------- the numbers
def test_the_page_opens_on_the_steepest_part_of_the_route_with_half_of_the_usable_volts():
    start = {knob.name: knob.start for knob in PAGE.knobs if knob.start is not None}
    assert start == {"slope": 0.07, "speed": 2.4, "volts": (35 + 15) / 2}


@pytest.mark.parametrize("name", SEEN)
def test_rows_of_the_climb(cases, name):
    hand = SEEN[name][0]
    low, high = hand.ratios()
    assert_rows(seen_rows(PAGE, cases[name], 0), {
        "Ratio": (hand.large / hand.small, ""), "Force at rest, charged": (hand.drive(35.0, 0.0), "N"),
        "Force the slope asks": (hand.needed, "N"), "Keeps on it, volts left": (hand.holds(hand.volts), "m/s"),
        "Restarts on, volts left": (100 * hand.climbs(0.0), "%"), "Ratio at least": (low, ""), "Ratio at most": (high, "")})


@pytest.mark.parametrize("name", SEEN)
def test_rows_of_the_trip(cases, trips, name):
    hand, front = SEEN[name][0], cases[name].front
    now = trips[name][hand.large]
    arrived = [z for z, one in trips[name].items() if one.outcome == "arrived"]
    thrifty = min(arrived, key=lambda z: trips[name][z].store_energy)
    quick = min(arrived, key=lambda z: trips[name][z].duration)
    rows = seen_rows(PAGE, cases[name], 1)
    assert_rows(rows, {
        "Wheel teeth now": (hand.large, ""), "Time of the trip": (now.duration, "s", 1e-3),
        "From the store": (now.ledger["store"] / 1e3, "kJ", 1e-3), "Store at the end": (now.rested_voltage, "V", 1e-3),
        "Teeth, least energy": (rows["Teeth, least energy"].value, ""), "Teeth, least time": (rows["Teeth, least time"].value, ""),
        "Ratio at most": (hand.ratios()[1], "")})
    for label, known, what in (("least energy", thrifty, "store_energy"), ("least time", quick, "duration")):
        teeth = int(rows[f"Teeth, {label}"].value)  # no one of the sprockets ridden here beats it
        assert teeth in front.teeth
        best = evlab.ride(SEEN[name][1].change({"gearing.wheel_teeth": teeth, "gearing.links": 0}), ROUTE)
        assert best.outcome == "arrived"
        assert getattr(best, what) <= getattr(trips[name][known], what) * (1 + 1e-4)


def test_an_end_at_rest_is_what_the_capacitors_keep(trips):
    """46.4 F from 35 V: what is left after the energy of the trip, but for what ran into the slow pores."""
    ended = trips["demo"][76]
    assert ended.rested_voltage == pytest.approx(math.sqrt(35.0**2 - 2 * ended.ledger["store"] / (650 / 14)), rel=0.01)


@pytest.mark.parametrize("name", SEEN)
def test_rows_of_chain_and_wheel(cases, name):
    hand = SEEN[name][0]
    assert_rows(seen_rows(PAGE, cases[name], 2), {
        "Driver, pitch diameter": (hand.across(hand.small), "mm"), "Wheel, pitch diameter": (hand.across(hand.large), "mm"),
        "Links": (hand.links, ""), "Axles apart, taut": (hand.taut, "mm"),
        "Speed ripple": (100 * (1 - math.cos(math.pi / hand.small)), "%"), "Pull at the coil limit": (hand.pull, "N"),
        "Strength over pull": (hand.strength / hand.pull, ""), "Lies on the driver": (hand.wrap, "°"),
        "Free under the chain": (1e3 * hand.radius - hand.outermost, "mm"), "Free to the frame": (hand.gap - hand.outermost, "mm")})


# ---------------------------------------------------------------- forces
@pytest.mark.parametrize("name", SEEN)
def test_the_curves_of_force(cases, name):
    hand, seen = SEEN[name][0], drawn(0, cases[name])
    family = sorted({35.0, 28.3, 21.7, 15.0, hand.volts})
    curves = [(x, y) for x, y in seen.lines() if len(x) == 161]
    starts = [y[0] for _, y in curves]
    assert starts == [pytest.approx(hand.drive(35.0, 0.0), rel=1e-3)] * len(family)  # the coil limit, at all volts
    for volts in family:
        for speed in (0.5, 0.9 * hand.holds(volts), hand.holds(volts)):
            near = min(abs(np.interp(speed, x, y) - hand.drive(volts, speed)) for x, y in curves)
            assert near < 0.02 * starts[0], (volts, speed)  # 161 points over a bend
    steady = sorted(seen.marks("o"))
    assert steady == [(pytest.approx(hand.holds(v), rel=1e-3), pytest.approx(hand.road(hand.holds(v)), rel=1e-3)) for v in family]
    bends = sorted(seen.marks("D"))
    last = [max(v for v in np.linspace(0, 12, 4801) if hand.coil(volts, v, hand.ratio) == hand.amps) for volts in family]
    pace = curves[0][0][1]
    assert [x for x, _ in bends] == [pytest.approx(v, abs=1.01 * pace) for v in last]
    assert seen.marks("s") == [(0.0, pytest.approx(hand.drive(hand.volts, 0.0), rel=1e-3))]
    assert seen.marks("^") == [(pytest.approx(hand.speed), pytest.approx(hand.needed))]


@pytest.mark.parametrize("name", SEEN)
def test_the_names_on_the_forces(cases, name):
    hand, seen = SEEN[name][0], drawn(0, cases[name])
    end = seen.axes[0].get_xlim()[1]
    (slope, level) = (min(seen.lines(), key=lambda c, at=at: abs(c[1][0] - at) + abs(len(c[0]) - 120) * 1e-9)
                      for at in (hand.road(0.0), hand.road(0.0, 0.0)))
    at = slope[0][-1]
    assert at == pytest.approx(end, rel=0.02)
    names = {words.split(" N")[0].rpartition(" ")[0]: (numbers_in(words)[-1].value, y) for words, y in seen.names().items()}
    percent = f"{100 * hand.slope:.1f}"
    force = {f"road, {percent} %": hand.road(at), "road, level": hand.road(at, 0.0), "coil limit": hand.drive(35.0, 0.0)}
    assert set(names) == set(force)
    for words, newtons in force.items():
        assert names[words] == (pytest.approx(newtons, rel=6e-3), pytest.approx(newtons, rel=2e-3))
    assert level[1][-1] == pytest.approx(hand.road(level[0][-1], 0.0))
    over = {words: x for words, (x, y) in seen.words().items() if y > seen.axes[0].get_ylim()[1]}
    for volts in (35.0, 28.3, 21.7, 15.0, hand.volts):  # each name with its speed under it
        x = over[f"{volts:g} V"]
        below = [words for words, at in over.items() if at == x and words.endswith("m/s")]
        assert numbers_in(below[0])[0].value == pytest.approx(hand.holds(volts), rel=6e-3)


@pytest.mark.parametrize("name", SEEN)
def test_the_sentence_of_the_forces(cases, name):
    hand, words = SEEN[name][0], drawn(0, cases[name]).reading
    assert_says("At {}:1 the drive holds {} m/s with {} V on {} %", words, hand.ratio, hand.holds(hand.volts), hand.volts,
                100 * hand.slope)
    assert_says("restarts on up to {} % and holds {} m/s on up to {} %.", words, 100 * hand.climbs(0.0), hand.speed,
                100 * hand.climbs(hand.speed))


def test_a_pinned_ratio_is_grey_and_behind(cases):
    seen = drawn(0, cases["demo"], cases["changed"])
    curves = [(x, y) for x, y in seen.lines() if len(x) == 161]
    assert sum(y[0] == pytest.approx(OTHER.drive(35.0, 0.0), rel=1e-3) for _, y in curves) == 5
    assert "thin grey: pinned" in seen.all_words()


# ---------------------------------------------------------------- time against energy
@pytest.mark.parametrize("name", SEEN)
def test_the_dots_of_the_trips(cases, trips, name):
    hand, seen, front = SEEN[name][0], drawn(1, cases[name]), cases[name].front
    dots = [m for m in seen.marks("o") if m]
    ring, dots = dots[-1], dots[:-1]
    low, high = seen.axes[0].get_ylim()
    assert ring == (pytest.approx(trips[name][hand.large].duration, rel=1e-3),
                    pytest.approx(trips[name][hand.large].ledger["store"] / 1e3, rel=1e-3))
    arrived = [int(z) for z, a in zip(front.teeth, front.arrived, strict=True) if a]
    assert len(dots) == len(arrived)
    for teeth, ridden in trips[name].items():
        if ridden.outcome != "arrived" or teeth not in arrived:
            continue
        x, y = dots[arrived.index(teeth)]
        assert x == pytest.approx(min(ridden.duration, seen.axes[0].get_xlim()[1]), rel=1e-3)
        assert y == pytest.approx(min(max(ridden.ledger["store"] / 1e3, low), high), rel=1e-3)
    assert len(seen.marks("x")) == len(front.teeth) - len(arrived)
    here = next(words for words in seen.words() if words.startswith(f"{hand.large} here"))
    assert here
    lost = [words for words in seen.names() if "teeth" in words]
    assert sum(int(n.value) for w in lost for n in numbers_in(w)[:1]) >= 12


def test_the_sentence_of_the_trips(cases, trips):
    words = drawn(1, cases["demo"]).reading
    now, low_high = trips["demo"][76], DEMO.ratios()
    assert_says("76 teeth take {} kJ in {} s;", words, now.ledger["store"] / 1e3, now.duration, rel=1e-3)
    rows = seen_rows(PAGE, cases["demo"], 1)
    best, quick = int(rows["Teeth, least energy"].value), int(rows["Teeth, least time"].value)
    ridden = {z: evlab.ride(TRIKE.change({"gearing.wheel_teeth": z, "gearing.links": 0}), ROUTE) for z in (best, quick)}
    assert_says(f"{best} teeth take the least from the store ({{}} kJ)", words, ridden[best].ledger["store"] / 1e3, rel=1e-3)
    assert_says(f"{quick} teeth are the fastest ({{}} s against {{}} s)", words, ridden[quick].duration,
                ridden[best].duration, rel=1e-3)
    assert_says("With {} V left, {} m/s on {} % need {} to {} teeth: fewer ask more than the coil current limit", words, 25.0, 2.4,
                7.0, math.ceil(15 * low_high[0]), math.floor(15 * low_high[1]))


def test_a_sprocket_that_does_not_arrive_is_told_with_its_reason():
    vehicle = TRIKE.change({"gearing.wheel_teeth": 30, "gearing.links": 0})
    case = PAGE.model(vehicle, {"slope": 0.07, "speed": 2.4, "volts": 25.0})
    outcome = evlab.ride(vehicle, ROUTE).outcome
    assert outcome != "arrived"
    seen = drawn(1, case)
    assert f"30 teeth do not arrive ({outcome})" in plain(seen.reading)
    lost = next(words for words in seen.names() if words.endswith(", here"))
    span = [int(n.value) for n in numbers_in(lost)]
    assert span[0] <= 30 <= span[-1]
    assert outcome in lost
    assert_rows({"Time of the trip": seen_rows(PAGE, case, 1)["Time of the trip"]},
                {"Time of the trip": (evlab.ride(vehicle, ROUTE).duration, "s", 1e-3)})


# ---------------------------------------------------------------- chain and wheel
@pytest.mark.parametrize("name", SEEN)
def test_the_side_view_is_to_scale(cases, name):
    hand, seen = SEEN[name][0], drawn(2, cases[name])
    circles = [(1e3 * (x.max() + x.min()) / 2, 1e3 * (y.max() + y.min()) / 2, 1e3 * np.ptp(x) / 2)
               for x, y in seen.lines() if len(x) == 181]
    level = 1e3 * hand.radius
    wanted = [(0.0, level, level), (0.0, level, 0.92 * level), (0.0, level, hand.gap), (0.0, level, hand.across(hand.large) / 2),
              (-hand.taut, level, hand.across(hand.small) / 2)]
    assert circles == [tuple(pytest.approx(value, abs=0.05) for value in one) for one in wanted]
    x, y = next((x, y) for x, y in seen.lines() if len(x) == 91 + 61 + 1)
    assert 1e3 * np.hypot(np.diff(x), np.diff(y)).sum() == pytest.approx(hand.links * hand.pitch, rel=3e-3)  # arcs, not polygons
    assert seen.axes[0].get_aspect() in ("auto", 1.0)
    scale = [length / span for length, span in zip(extent(seen), limits(seen), strict=True)]
    assert scale[0] == pytest.approx(scale[1])
    teeth = [xy for patch in seen.axes[0].patches if len(xy := patch.get_xy()) > 40]
    assert sorted(len(xy) - 1 for xy in teeth) == sorted((4 * hand.small, 4 * hand.large))


def extent(seen):
    box, sizes = seen.axes[0].get_position(), seen.figure.get_size_inches()
    return box.width * sizes[0], box.height * sizes[1]


def limits(seen):
    return np.ptp(seen.axes[0].get_xlim()), np.ptp(seen.axes[0].get_ylim())


@pytest.mark.parametrize("name", SEEN)
def test_dimensions_and_sentence_of_the_side_view(cases, name):
    hand, seen = SEEN[name][0], drawn(2, cases[name])
    words, free, frame = seen.all_words(), 1e3 * hand.radius - hand.outermost, hand.gap - hand.outermost
    for template, values in (("driver {} teeth, ⌀ {} mm", (hand.small, hand.across(hand.small))),
                             ("wheel {} teeth, ⌀ {} mm, {} mm over its teeth", (
                                 hand.large, hand.across(hand.large),
                                 hand.pitch * (hand.over + 1 / math.tan(math.pi / hand.large)))),
                             ("on the driver over {}°", (hand.wrap,)), ("{} mm to the ground", (free,)),
                             ("frame from {} mm", (hand.gap,)), ("| {} mm |", (hand.taut,)), ("| {} mm", (hand.taut,))):
        assert_says(template, words, *values)
    assert f"chain {'06B' if name == 'demo' else '08B'}, {hand.links} links" in words
    assert_says("{} to {} teeth with {} links stand {} mm apart; {} mm are left to the ground and {} mm to the frame; the chain "
                "pulls {} N, its strength is {} times that.", seen.reading, hand.small, hand.large, hand.links, hand.taut, free,
                frame, hand.pull, hand.strength / hand.pull)
    gap = next(at for text, at in seen.words().items() if text.endswith("to the ground"))
    assert gap[1] < 0


def test_a_wheel_that_does_not_fit_is_drawn_into_frame_and_ground():
    """110 teeth of 9.525 mm: 333.6 mm across the pitch circle, 4.1 mm of plates beyond; 245 mm wheel, 160 mm of frame."""
    hand = dataclasses.replace(DEMO, large=110, radius=0.165)
    vehicle = TRIKE.change({"gearing.wheel_teeth": 110, "gearing.links": 0, "gearing.wheel_radius": 0.165})
    case = PAGE.model(vehicle, {"slope": 0.07, "speed": 2.4, "volts": 25.0})
    seen = drawn(2, case)
    deep, into = hand.outermost - 165.0, hand.outermost - 160.0
    assert_says("the chain reaches {} mm into the ground and the wheel stands {} mm into the frame", seen.reading, deep, into)
    assert_says("{} mm too far", seen.all_words(), into)
    assert_rows({"Free to the frame": seen_rows(PAGE, case, 2)["Free to the frame"]}, {"Free to the frame": (-into, "mm")})


def test_dimension_arrows_are_as_long_as_they_say(cases):
    """In metres: from axle to axle under both wheels; from the ground to the chain; from the wheel's teeth out to the frame."""
    hand, seen = DEMO, drawn(2, cases["demo"])
    apart, ground, frame = seen.arrows()
    level, deep = hand.radius, hand.outermost / 1e3
    assert (apart[0][0], apart[1][0]) == (pytest.approx(-hand.taut / 1e3, abs=1e-5), 0.0)
    assert apart[0][1] == apart[1][1] < level - deep
    assert ground[0][0] == ground[1][0] > deep
    assert sorted((ground[0][1], ground[1][1])) == [0.0, pytest.approx(level - deep)]
    away = sorted(math.hypot(x, y - level) for x, y in frame)
    assert away == [pytest.approx(deep), pytest.approx(hand.gap / 1e3)]
    assert all(x > 0 and y > level for x, y in frame)
    hairs = sorted(seen.upright_lines())
    assert [hairs[0], hairs[-1]] == [pytest.approx(-hand.taut / 1e3, abs=1e-5), 0.0]


def test_each_name_stands_beside_its_own_dot_and_each_cross_at_the_border(cases):
    seen, front = drawn(1, cases["demo"]), cases["demo"].front
    arrived = [int(z) for z, a in zip(front.teeth, front.arrived, strict=True) if a]
    dots = dict(zip(arrived, seen.marks("o"), strict=False))
    wide, high = extent(seen)
    across, tall = limits(seen)

    def away(one, other):
        return math.hypot((one[0] - other[0]) / across * wide, (one[1] - other[1]) / tall * high)

    told = {words: at for words, at in seen.words().items() if words[0].isdigit()}
    assert len(told) >= 4
    for words, at in told.items():
        mine = dots[int(numbers_in(words)[0].value)]
        assert abs(at[1] - mine[1]) / tall * high < 0.5, words  # inches
        assert away((min(max(mine[0], at[0]), at[0] + across / 4), at[1]), mine) < 0.6, words
    crosses, right = seen.marks("x"), seen.axes[0].get_xlim()[1]
    assert {x for x, _ in crosses} == {right}
    heights = [y for _, y in crosses]
    assert heights == sorted(heights)
    assert np.diff(heights) == pytest.approx(0.12 / high * tall)
    lost = [int(z) for z, a in zip(front.teeth, front.arrived, strict=True) if not a]
    by_teeth = dict(zip(lost, heights, strict=True))
    for words, y in seen.names().items():
        span = [int(n.value) for n in numbers_in(words)]
        assert y == pytest.approx(np.mean([by_teeth[z] for z in lost if span[0] <= z <= span[-1]]))


def test_a_first_stage_and_a_wheel_alone():
    two = TRIKE.change({"gearing.shaft_driver_teeth": 12, "gearing.shaft_driven_teeth": 30, "gearing.wheel_teeth": 40,
                        "gearing.links": 0})
    case = PAGE.model(two, {"slope": 0.07, "speed": 2.4, "volts": 25.0})
    seen = drawn(2, case)
    assert_says("first stage {} : {}, not to scale", seen.all_words(), 12, 30)
    wheels = sorted(len(xy) - 1 for patch in seen.axes[0].patches if len(xy := patch.get_xy()) > 40)
    assert wheels == sorted((4 * 12, 4 * 30, 4 * 15, 4 * 40))
    assert_rows({"Ratio": seen_rows(PAGE, case, 0)["Ratio"], "Pull": seen_rows(PAGE, case, 2)["Pull at the coil limit"]}, {
        "Ratio": (30 / 12 * 40 / 15, ""),
        "Pull": (DEMO.k * 45.0 * 2.5 * 0.95 / (DEMO.across(15) / 2e3), "N")})  # through one chain already
    close = PAGE.model(TRIKE.change({"gearing.centre_distance": 0.10, "gearing.links": 0}),
                       {"slope": 0.07, "speed": 2.4, "volts": 25.0})
    alone = Drawn(PAGE.pictures[2].build(PAGE.frame(TRIKE)), close)
    assert "run into each other" in alone.reading
    assert "Side view of the wheel alone" in alone.alt
    assert len([1 for x, _ in alone.lines() if len(x) == 181]) == 3  # tyre, rim, frame


def test_no_sprocket_arrives():
    case = PAGE.model(TRIKE.change({"controller.coil_current_limit": 4.0}), {"slope": 0.07, "speed": 2.4, "volts": 25.0})
    assert_says("With none of {} to {} teeth does it arrive", case.reason, 15, 160)
    assert [row.text for label, row in seen_rows(PAGE, case, 1).items() if label.startswith("Teeth")] == ["none", "none"]


def test_the_equations_are_worked_with_the_vehicle_on_the_steepest_part():
    h, per = DEMO, DEMO.ratio / DEMO.radius
    force = h.k * 45.0 * per * 0.95
    amps = (h.needed / per / 0.95 + 0.10 + 0.002 * 2.4 * per) / h.k
    bound = (0.97 * 25.0 - amps * h.ohm) * h.radius / (h.k * 2.4)
    least_heat = h.radius * math.sqrt(h.needed * math.sqrt(h.ohm / 0.002) / (0.95 * h.k * 2.4))  # R (F r/G eta K)^2 + c (G v/r)^2
    two_pi = 2 * math.pi
    links = 2 * h.taut / 9.525 + (15 + 76) / 2 + ((76 - 15) / two_pi) ** 2 * 9.525 / h.taut
    shown = gearing_page.worked(TRIKE, ROUTE)
    assert_worked(shown, [
        ("gear_ratio", 76 / 15), ("motor_speed", 2.4 * per), ("drive_force", force),
        ("gradeability", math.tan(math.asin(force / (192 * G * math.hypot(1, 0.012))) - math.atan(0.012))),
        ("chain_pitch_diameter", h.across(15) / 1e3), ("chain_pitch_diameter", h.across(76) / 1e3), ("chain_links", links),
        ("ripple", 1 - math.cos(math.pi / 15)), ("chain_tension", h.pull), ("chain_safety", 8900 / h.pull), ("ratio_bound", bound),
        ("best_ratio", least_heat)])
    assert_says("{} teeth on the motor, {} on the wheel, 06B; on {} % at {} m/s with {} V left.", shown.lead, 15, 76, 7, 2.4, 25)
    by_name = gearing_page.worked(TRIKE, "two_sheds_up")
    assert by_name.lead == shown.lead


def test_the_controls_reach_as_far_as_their_reasons_say():
    span = {knob.name: (knob.low, knob.high) for knob in PAGE.knobs if knob.low is not None and knob.high is not None}
    assert span["slope"] == (0.0, 0.3)
    assert span["speed"] == (0.5, 8.0)
    assert span["gearing.centre_distance"] == (0.15, 1.0)


# ---------------------------------------------------------------- borders
@pytest.mark.parametrize(("good", "wrong"), [({"volts": 1000.0}, {"volts": 1000.5}), ({"volts": 0.1}, {"volts": 0.0}),
                                             ({"speed": 60.0}, {"speed": 60.1}), ({"speed": 0.01}, {"speed": 0.0})])
def test_what_may_be_asked_ends_where_it_is_said(good, wrong):
    rig = TRIKE.change({"store.kind": "supply", "store.voltage": 48.0, "store.resistance": 0.0})
    evlab.GearCase(rig, ROUTE, **good)
    with pytest.raises(evlab.InputError, match="must be above zero"):
        evlab.GearCase(rig, ROUTE, **wrong)


def test_a_force_above_the_weight_climbs_whatever_there_is():
    strong = TRIKE.change({"controller.coil_current_limit": 500.0, "gearing.wheel_teeth": 160, "gearing.motor_teeth": 11,
                           "gearing.links": 0, "load.cargo": 0.0})
    case = evlab.GearCase(strong, ROUTE, slope=0.07, speed=2.4, volts=25.0)
    force = dataclasses.replace(DEMO, cargo=0.0, small=11, large=160, amps=500.0).drive(25.0, 0.0)
    assert (case.restart == math.inf) == (force > 132 * G)
    assert force > 0


def test_a_wind_and_bearings_take_their_share_of_the_slope():
    """Bearings of 20 N and 5 N s/m, by hand: so much less is left for the slope."""
    rubs = evlab.GearCase(TRIKE.change({"road.bearing_force": 20.0, "road.bearing_drag": 5.0}), ROUTE, slope=0.07, speed=2.4,
                         volts=25.0)
    spare = DEMO.drive(25.0, 2.4) - 0.5 * 1.225 * 0.95 * 2.4**2 - 20.0 - 5.0 * 2.4
    held = math.tan(math.asin(spare / (192 * G * math.hypot(1, 0.012))) - math.atan(0.012))
    assert rubs.gradeability == pytest.approx(held, rel=1e-6)


def test_the_fastest_and_the_thriftiest_sprocket_are_named_so(cases):
    seen, front = drawn(1, cases["demo"]), cases["demo"].front
    rides = {int(z): (t, e) for z, t, e, a in zip(front.teeth, front.time, front.energy, front.arrived, strict=True) if a}
    quick, thrifty = min(rides, key=lambda z: rides[z][0]), min(rides, key=lambda z: rides[z][1])
    assert quick != thrifty
    assert {f"{quick} fastest", f"{thrifty} least energy", "76 here"} <= set(seen.words())


def test_toothed_wheels_stand_on_their_axles(cases):
    seen = drawn(2, cases["demo"])
    middles = sorted(tuple((xy[:-1].max(axis=0) + xy[:-1].min(axis=0)) / 2) for patch in seen.axes[0].patches
                     if len(xy := patch.get_xy()) > 40)
    assert middles == [(pytest.approx(-DEMO.taut / 1e3, abs=2e-3), pytest.approx(0.245, abs=2e-3)),
                       (pytest.approx(0.0, abs=2e-3), pytest.approx(0.245, abs=2e-3))]
