"""The questions of all pages: each answer by a second route, its worked line, its slips, every unit it may be given in, verdicts.

The second routes stand in `by_hand` (values of the vehicle file, plain formulas, a ride of its own) or are written out here.
A question's own tolerance is never used on its answer: that must agree to a thousandth, or to what its row says and why.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from types import SimpleNamespace

import by_hand as hand
import numpy as np
import pytest
from test_seen_magnets import Hand as Ring
from what_is_seen import assert_says, plain

import evlab
from evlab.glossary import SPELLINGS, entry
from evlab.units import read, write
from evlab.workbench import (
    charging_page,
    gearing_page,
    magnets_page,
    regeneration_page,
    ride_page,
    road_page,
    start_page,
    store_page,
    winding_page,
)
from evlab.workbench.question import Asked, Question

PAGES = {"00": start_page, "01": store_page, "02": road_page, "03m": magnets_page, "03w": winding_page, "05": gearing_page,
         "06": ride_page, "07": charging_page, "08": regeneration_page}
WAYS = {"00": "two_sheds_up", "02": "two_sheds_up", "05": "two_sheds_up", "06": "two_sheds_up", "08": "two_sheds_down"}
NUMBER_OF = {"00": 5, "01": 5, "02": 6, "03m": 7, "03w": 8, "05": 5, "06": 6, "07": 4, "08": 8}
EACH = [(page, number) for page, count in NUMBER_OF.items() for number in range(1, count + 1)]
MU0, RHO20 = 4e-7 * math.pi, 1.7241e-8  # ohm m: copper at 20 degC, 1/58 (IEC 60028)

_benches: dict = {}


@pytest.fixture(scope="module", autouse=True)
def _closed():
    yield
    for bench in _benches.values():
        bench.shut()
    _benches.clear()


def bench_of(page):
    """The page on our trike, opened once."""
    if page not in _benches:
        trike = evlab.load_vehicle("two_shed_trike")
        _benches[page] = PAGES[page].open_bench(*([WAYS[page]] if page in WAYS else []), vehicle=trike)
    return _benches[page]


def question(page, number):
    """A question that nobody has tried yet."""
    kind = PAGES[page].questions(bench_of(page)).questions
    assert len(kind) == NUMBER_OF[page], "a question without a row here"
    return kind[number - 1]


def tell(asked, said):
    """Type or choose a prediction and check it: (right, words)."""
    asked.box.value = said
    right = asked.check()
    return right, plain(asked.verdict.value)


def typed(asked, value, unit=None):
    """The text of an SI value, in the stated unit or another one."""
    return write(float(f"{value:.12g}"), entry(asked.asked.quantity), unit=asked.asked.unit if unit is None else unit)


# ---------------------------------------------------------------- what is right, by a second route
@dataclass(frozen=True)
class Row:
    """`answer`, SI or an option; `slips` in their order, SI or options; `share` by which the second route may differ; `works`, the
    last number of the worked equation [its unit], and by what share that may differ from the answer."""

    answer: object
    slips: tuple = ()
    share: float = 1e-3
    works: tuple = ()
    says: tuple = ()  # (template, values ...) of the worked answer


def start_rows():
    v, way = hand.vehicle(), hand.way()
    m, c, f = hand.mass(v), v.road.rolling_coefficient, 0.5 * v.road.air_density * v.road.drag_area
    length = sum(s[0] for s in way)
    climb = 60 * 0.07 / math.hypot(1, 0.07)
    assert m * hand.G * climb > 1.05 * m * hand.G * c * length  # joules: lift, and rolling
    empty, roll = m - 72 - 60, m * hand.G * c * 3.0
    windy = roll + f * 8.0**2 * 3.0
    asks = hand.trip(v, way)
    given, most = asks["given"][-1], asks["force"]
    walks = m - 72
    push = walks * hand.G / math.hypot(1, 0.07)
    return {
        1: Row("lift", says=(("{} m of climbing, {} kJ.", climb, m * hand.G * climb / 1e3),
                             ("{} m of way, {} kJ.", 175, m * hand.G * c * 175 / 1e3),
                             ("{} %, against the coefficient, {} %", 100 * climb / 175, 1.2))),
        2: Row(60 / m, (60 / (m - 60), 60 / (empty + 60))),
        3: Row(windy, (roll + f * 8.0**3, roll + f * 3.0**3, windy - roll), works=(f * 64, "N", None),
               says=(("{} W of rolling: {} W become {} W", roll, roll + f * 27, windy),)),
        4: Row(given / length, (given / length / 3.6, given / length / 1000, most),
               says=(("newtons: {} N. And {} N over 3.6 are {} Wh", given / length, given / length, given / length / 3.6),
                     ("hardest this way asks {} N", most))),
        5: Row(push * (c + 0.07), (push * m / walks * (c + 0.07), push * (c - 0.07), push * 0.07, push * c)),
    }


def store_rows():
    v = hand.vehicle()
    s, ohm, full = v.store, hand.store_ohm(v), v.store.charge_voltage
    worst, mean = full / (1 + 13 / 1.2), full / 14
    tired = 2 * math.sqrt(600 * 3 * ohm)
    odd, others = hand.month(v)
    assert odd < 0.99 * others
    return {
        1: Row(0.25, (0.5, 0.75), works=(0.5 * hand.farad(v) * (full / 2) ** 2, "J", None)),
        2: Row(worst, (mean, mean * 1.2, mean)),
        3: Row("the lowest", ("the highest",), share=2e-3,
               says=(("It ends at {} V, the others at {} V", odd, others),
                     ("outweigh the leak hold it at {} V", hand.month(v, bleed=hand.bleeder(v))[0]))),
        4: Row(tired, (tired / 2, 2 * math.sqrt(600 * ohm), v.controller.stop_voltage), works=(tired, "V", 0)),
        5: Row(full / ohm, (full / (14 * s.cell_resistance), full / s.cell_resistance, v.controller.store_current_limit),
               works=(full / ohm, "A", 0)),
    }


def road_rows():
    v = hand.vehicle()
    m, c = hand.mass(v), v.road.rolling_coefficient
    density = 101325 / (hand.GAS * 288.15)  # dry air of 15 degC at sea level: where 1.225 kg/m3 belongs
    level, f = m * hand.G * c, 0.5 * density * v.road.drag_area
    speed = hand.steady_speed(v, v.store.charge_voltage, 0.07, density=density)
    power = 1.1 * (level + f * speed**2) * speed
    faster = hand.root(lambda x: power - (level + f * x * x) * x, speed, 2 * speed)
    ways = [hand.moved_mass(v) / (2 * f) * math.log((a + 36 * f) / (a + 4 * f)) for a in (level, m * hand.G * (c - 0.003))]
    down, along = hand.weight(v, 0.05)
    fast = math.sqrt((along - down * c) / f)
    plain_air = 0.5 * v.road.air_density * v.road.drag_area
    air = [plain_air * u**k for k in (2, 3) for u in (3.0, 6.0)]
    tips, slides = math.sqrt(hand.G * 0.65 * 0.75 / (2 * 0.75) * 3), math.sqrt(0.6 * hand.G * 3)
    return {
        1: Row("4 times", ("8 times",), says=(("{} N become {} N, and {} W become {} W", *air),)),
        2: Row("8 times", ("4 times",), says=(("{} N become {} N, and {} W become {} W", *air),)),
        3: Row(faster, (1.1 * speed,), says=(("= {} N, $b$ = {} kg/m: {} m/s, so {} % more speed", level, f, faster,
                                              100 * (faster / speed - 1)),)),
        4: Row(ways[1], (ways[0], 1.003 * ways[0]), says=(("{} m become {} m", *ways), ("reads {} % less rolling", 25))),
        5: Row(fast, (math.sqrt(along / f), math.sqrt((along - down * c) / (2 * f)), speed), works=(fast, "m/s", 0)),
        6: Row(tips, (slides, math.sqrt(hand.G * 0.75 / (2 * 0.75) * 3)),
               says=(("lifts at {} m/s² sideways: {} m/s in this bend", tips**2 / 3, tips), ("slide at {} m/s", slides))),
    }


def magnet_rows():
    import magpylib

    m = hand.vehicle().motor.magnets
    w = hand.vehicle().motor.winding
    gap = w.thickness + 2 * w.clearance
    k, h = math.pi / (2 * math.pi * m.ring_radius / m.poles), m.thickness

    def between(gap, recoil=m.recoil, k=k):
        """Share of a wave of the remanence in the middle between two rotors on iron: potentials matched at the faces."""
        return math.sinh(k * h) / (recoil * math.cosh(k * h) * math.sinh(k * gap / 2) + math.sinh(k * h) * math.cosh(k * gap / 2))

    def behind(gap, recoil=m.recoil):
        """The same over one rotor on iron, at the height of that middle."""
        return math.sinh(k * h) / (recoil * math.cosh(k * h) + math.sinh(k * h)) * math.exp(-k * gap / 2)

    assert between(gap) / behind(gap) > 2.02
    stack = magpylib.Collection(*(
        magpylib.magnet.Cylinder(polarization=(0, 0, (-1) ** i * m.remanence), dimension=(m.width, 2 * h),
                                 position=(m.ring_radius * math.cos(a), m.ring_radius * math.sin(a), n * (2 * h + gap)))
        for n in range(-4, 6) for i in range(m.poles) for a in [2 * math.pi * i / m.poles]))
    layers = [stack.getB([(x, 0, h + gap / 2 + z) for x in np.linspace(0.068, 0.088, 21)])[:, 2]
              for z in np.linspace(-0.45, 0.45, 7) * w.thickness]
    peak = float(np.abs(np.mean(layers, axis=0)).max()) * between(gap) / between(gap, 1.0)
    face = m.remanence / 2 * h / math.hypot(h, m.width / 2)
    alone = (m.remanence - face) / (MU0 * m.recoil)  # the field against it on its axis, at the face
    there = m.remanence * (1 - between(gap) * math.cosh(k * gap / 2)) / (MU0 * m.recoil)  # of the wave, at the face
    assert alone > 1.05 * there
    lost = 1 - between(gap + 0.002) / between(gap)
    return {
        1: Row("it turns slower", ("it turns faster",)),
        # one wave along the ring: the curved field and the third wave move the share by less than a tenth of it
        2: Row(lost, (lost / 2, 2 * lost), share=0.1),
        3: Row("more than double", ("just double",)),
        4: Row(peak, (face,), share=0.02),  # the recoil of the magnets as the share of one wave
        5: Row("lying alone on the bench"),
        6: Row(2 / 12, (1 / 12,)),
        7: Row(sheet_watts(), share=0.03),  # a thin sheet whose own field has no iron about it
    }


def sheet_watts():
    """Loss in the page's plate: 6 mm of aluminium (25 MS/m) 3 mm above the magnets at 60 rad/s, as a thin sheet in the real ring's
    field, which turns: sigma t |dB/dt|^2 / k^2 added up over all waves of the plane, each weakened by the sheet's own field."""
    ring = bench_of("03m").result.sound
    lost, own = [], MU0 * 25e6 * 0.006 * 6 * 60.0 / 2  # over the wave number: mu0 sigma t omega / 2 k
    for depth in (0.004, 0.006, 0.008):
        chart = ring.map(depth, size=256)
        n, x = len(chart.field), chart.places
        kx = 2 * np.pi * np.fft.fftfreq(n, chart.side / n)
        spectrum = np.fft.fft2(chart.field)
        slope_x, slope_y = (np.fft.ifft2(1j * k * spectrum).real for k in (kx[:, None], kx[None, :]))
        rate = 60.0 * (x[:, None] * slope_y - x[None, :] * slope_x)
        waves = kx[:, None] ** 2 + kx[None, :] ** 2
        waves[0, 0] = np.inf
        waves += own**2  # k2 (1 + (own / k)2)
        lost.append(25e6 * 0.002 * float((np.abs(np.fft.fft2(rate)) ** 2 / waves).sum()) / n**2 * (chart.side / n) ** 2)
    return sum(lost)


def winding_rows():
    v = hand.vehicle()
    w, wire = v.motor.winding, math.pi / 4 * 1e-6
    long, outer, inner = w.opening_length, w.opening_outer, w.opening_inner
    ring = v.motor.magnets.ring_radius
    near, far = ring - long / 2, ring + long / 2  # the ends of a keystone follow circles about the shaft
    a, b = math.asin(inner / 2 / near), math.asin(outer / 2 / far)
    sides = 2 * math.hypot(far * math.cos(b) - near * math.cos(a), (outer - inner) / 2)
    turn = 2 * near * a + 2 * far * b + sides + math.pi * w.side  # and round corners half a side away
    strand = 8890 * wire + enamel(1e-3, w.wire_overall)
    ohms = 3 * 2 * RHO20 * 26 * turn / (4 * wire) + w.lead_resistance
    return {
        1: Row("the same heat", ("less heat", "more heat")),
        2: Row(13 * 10 // 4, (math.floor(w.side * w.thickness / wire) // 4,)),  # 15/1.094 = 13.7, 11/1.094 = 10.05
        3: Row("more speed, less torque per ampere"),
        4: starting(),
        5: Row(1 - math.cos(0.5), share=0.01),  # of the fundamental: higher waves make the rest
        6: Row(4.0, (16.0, 1.0)),
        7: Row(1 / math.sqrt(hand.ALPHA * ohms * v.motor.thermal_resistance), share=2e-3),
        8: Row(4 * turn * strand, share=5e-3, says=(("{} g for each turn", 4e3 * turn * strand),
                                                    ("scales of 1 g tell one turn",))),
    }


def enamel(bare, overall):
    """Mass of a metre of enamel [kg/m]; 1.35 g/cm3, as of polyester-imide."""
    return 1350 * math.pi / 4 * (overall**2 - bare**2)


def stuck(v, torque, raised=False):
    """(share of 240 angles from which one phase of 25 A does not start, share from which it does not stir): `torque` of an ampere
    over the electrical angle, turned over at each dead spot; the energy of all that moves is followed past the next dead spot in
    steps of a fiftieth of a degree.  On the level, or with the wheel raised."""
    rolls, eta = 0.0, 1.0
    if not raised:
        rolls, eta = hand.mass(v) * hand.G * v.road.rolling_coefficient / hand.lever(v), v.gearing.chain_efficiency
    inertia = v.motor.inertia if raised else hand.moved_mass(v) / hand.lever(v) ** 2
    f, c = v.motor.drag_torque, v.motor.viscous_drag
    still, stops, step = 0, 0, math.radians(0.02)
    for i in range(120):  # the other half turn is like this one
        angle = math.radians(1.5 * (i + 0.5))
        if (25 * torque(angle) - f) * eta <= rolls:
            still += 1
            continue
        motion, end = 0.0, math.radians(190)  # behind it a half turn gives more than the next dead spot takes
        while motion >= 0 and angle < end:
            shaft = 25 * torque(angle + step / 2) - f - c * math.sqrt(2 * motion / inertia)
            motion += (shaft * (eta if shaft > 0 else 1 / eta) - rolls) * step / 6
            angle += step
        stops += motion < 0
    return (still + stops) / 120, still / 120


def starting():
    """The share that does not start on the level, and what else may be taken for it; the third wave of the flux is in the EMF."""
    v, ring = hand.vehicle(), Ring()
    first, third = (3 * 26 * 6 * n * ring.flux(n) for n in (1, 3))

    def torque(a):
        return abs(first * math.sin(a) + third * math.sin(3 * a))

    on_the_ground, raised = stuck(v, torque), stuck(v, torque, raised=True)
    rolls = hand.mass(v) * hand.G * v.road.rolling_coefficient / hand.lever(v) / v.gearing.chain_efficiency
    # one of the 120 angles of a half turn may fall on either side
    return Row(on_the_ground[0], (on_the_ground[1], raised[0]), share=0.06, says=(
        ("On the level, moving off takes {} N·m at the shaft: {} N·m for rolling, {} N·m for the motor's own drag.", rolls + 0.1,
         rolls, 0.1), ("the coils pull less, from {} % of the angles", 100 * on_the_ground[1])))


def gearing_rows():
    v = hand.vehicle()
    force = hand.resistance(v, 2.4, 0.07)
    amps = [hand.amps_for(hand.vehicle(gearing__wheel_teeth=z), force, 2.4) for z in (76, 46)]

    def most(volts):
        """Largest ratio that gives the force at 2.4 m/s with these volts."""
        return hand.root(lambda g: hand.full_throttle(hand.vehicle(gearing__wheel_teeth=15 * g), 2.4, volts) - force, 4.0, 14.0)

    rides = [hand.ride(hand.vehicle(gearing__wheel_teeth=z), hand.way()) for z in (76, 135)]
    assert rides[1]["outcome"] == "arrived"
    assert rides[1]["given"] < 0.99 * rides[0]["given"]
    shaft = hand.constant(v) * v.controller.coil_current_limit
    pull = 2 * shaft / (9.525e-3 / math.sin(math.pi / 15))
    return {
        1: Row(amps[1], (amps[0], 0.6 * amps[0], amps[0] / 0.36),
               says=(("The force is {} N", force), ("the ratio goes from {} to {}", 76 / 15, 46 / 15),
                     ("square: {} times as much", (amps[1] / amps[0]) ** 2))),
        2: Row(math.floor(15 * most(25.0)), (math.floor(15 * most(35.0)),)),
        3: Row("less", says=(("76 teeth: arrived, {} kJ in {} s; 135 teeth: arrived, {} kJ in {} s",
                              *(x for r in rides for x in (r["given"] / 1e3, r["time"]))),)),
        4: Row(1 - math.cos(math.pi / 9), (1 / 9, (1 - math.cos(math.pi / 9)) / 2, 1 - math.cos(math.pi / 15)),
               works=(1 - math.cos(math.pi / 9), "", 0)),
        5: Row(pull, (pull / 2, 2 * pull, shaft * hand.ratio(v) / v.gearing.wheel_radius), works=(pull, "N", 0)),
    }


def ride_rows():
    v, way = hand.vehicle(), hand.way()
    first, second = hand.ride(v, way), hand.ride(v, way, 22.0)
    hurried = hand.ride(v, [(a, s, 1.25 * u if s > 0 else u) for a, s, u in way])
    legs = hand.ride(v, way, legs=80.0)
    saved = {"no cargo": hand.ride(hand.vehicle(load__cargo=0), way, 22.0)["outcome"],
             "half the rolling": hand.ride(hand.vehicle(road__rolling_coefficient=0.006), way, 22.0)["outcome"]}
    assert set(saved.values()) == {"cut-off"}
    assert first["outcome"] == "arrived"
    assert hurried["given"] < 0.99 * first["given"]
    c, rest = hand.farad(v), first["rested"]
    return {
        1: Row("it stays", ("it rises",)),  # force over torque constant: no volts in it
        2: Row("less", share=2e-3, says=(
            ("from the store {} J → {} J", first["given"], hurried["given"]),
            ("coil copper {} J → {} J", first["copper"], hurried["copper"]), ("air {} J → {} J", first["air"], hurried["air"]),
            ("stand-by {} J → {} J", first["stand_by"], hurried["stand_by"]))),
        3: Row(second["place"], (175 * 22 / 35, 175 * (22 / 35) ** 2),
               works=(0.5 * c * (22**2 - 15**2), "J", None)),
        4: Row("a full charge"),
        5: Row(first["given"], (c * (35**2 - rest**2), 0.5 * c * (35 - rest), 0.5 * c * (35 - rest) ** 2, c * (35 - rest),
                                0.5 * c * 35**2), works=(0.5 * c * (35**2 - rest**2), "J", 2e-3)),
        6: Row(first["given"] - legs["given"], (legs["rider"] * 0.95, 80.0), share=3e-3,  # the difference of two rides
               says=(("legs give {} J in {} s", legs["rider"], legs["time"]),
                     ("it saves {} J in the copper", first["copper"] - legs["copper"]),
                     ("gives {} J less", first["given"] - legs["given"]))),
    }


def charging_rows():
    v = hand.vehicle()
    c, ohm = hand.farad(v), hand.store_ohm(v)
    slow = c * (35 - ohm - 15)  # at one ampere
    return {
        # what leaks, and what the slow branch has not taken yet, are left out: about 1 in a thousand
        1: Row(slow, (650 * 20, c * 35, 0.5 * c * (35**2 - 15**2) / 35), share=2e-3, works=(slow, "s", 2e-3)),
        2: Row(through_resistor(v), (0.5, 1 - through_resistor(v)), share=1e-3, works=((35 + 15) / (2 * 36), "", 3e-3)),
        3: Row("at the end", ("the same all the way",), share=2e-3,
               says=(("from {} A to {} A before", source_amps(v, 15 + 6 * ohm), source_amps(v, 35)), ("limit: {} A", 30))),
        4: Row("nobody stops it"),
    }


def source_amps(v, volts):
    """What the charger takes from its source at 6 A into the store at these terminal volts."""
    c = v.charger
    power = 6 * (volts + 6 * c.cable_resistance) / c.efficiency
    return power / hand.volts_under(c.source_voltage, c.source_resistance, power)


def through_resistor(v):
    """Share of a 36 V supply's energy that a bank of two branches holds more when its terminals reach 35 V through 6 ohms."""
    fast, slow = 0.92 * hand.farad(v), 0.08 * hand.farad(v)
    a = b = 15.0
    given, step, ohm = 0.0, 0.02, hand.store_ohm(v)
    held = 0.5 * (fast + slow) * 15.0**2
    while True:
        amps, across = (36 - a) / (6 + ohm), (a - b) / v.store.slow_resistance
        if a + amps * ohm >= 35:
            return (0.5 * fast * a * a + 0.5 * slow * b * b - held) / given
        leak = v.store.cell_leakage * a / 35
        a, b, given = a + step * (amps - across - leak) / fast, b + step * across / slow, given + step * 36 * amps


def regeneration_rows():
    v = hand.vehicle()
    emf, ohm = hand.constant(v) * hand.lever(v) * 2.4, hand.ohm(v)
    best = emf / (2 * ohm)
    crest = math.sqrt(3) * v.motor.constant  # from line to line
    assert emf**2 / (4 * ohm) > 4  # W of stand-by: something comes back
    assert crest * hand.lever(v) * 2.4 < 25 + 1.4
    down, along = hand.weight(v, 0.07)
    assert -hand.force_of(v, 0.0, 0.0) < along - down * v.road.rolling_coefficient
    shares = {speed: descent_share(v, speed) for speed in (1.05, 2.99, 7.48)}
    assert max(shares, key=shares.get) == 2.99
    comes, moved = one_stop(v, 2.4)
    empty = hand.ride(v, HILL, 15.3, slope_at=falls)
    room = hand.root(lambda u: empty["brake"] + 0.5 - hand.ride(v, HILL, u, slope_at=falls)["brake"], 31.0, 32.5, 7)
    back = up_again(v)
    height = hand.mass(v) * hand.G * 4.1668
    gain = -empty["given"]
    whole = 35**2 - 2 * height / hand.farad(v)
    return {
        1: Row("it rises to a top, then falls, then costs", ("the harder, the more",)),
        2: Row(best, (2 * best, 25 / (2 * ohm), emf / (2 * v.motor.resistance)), works=(best, "A", 0)),
        3: Row("no"), 4: Row("it rolls", ("it holds",)), 5: Row("rolling on"),
        6: Row(comes / one_start(v, 2.4), (comes / moved, 1.0), share=3e-3),
        # the closed form knows no ohms and no slow branch
        7: Row(room, (35.0, math.sqrt(whole), 35 - 2 * gain / hand.farad(v) / 35), share=2e-3,
               works=(math.sqrt(35**2 - 2 * gain / hand.farad(v)), "V", 0.01)),
        8: Row(back["place"] / 60.375, (-back["down"] / height, 1.0), share=2e-3),  # two rides, one after the other
    }


# The ramp as far as it falls by 2.2 times what tyres need: from 43.84 m to 104.21 m of the way down, with its blended ends.
HILL = [(60.375, -0.07, 2.4)]


def falls(place):
    return float(np.interp(place, [0, 1.1625, 59.1625, 60.375], [-0.0293125, -0.07, -0.07, -0.0275625]))


def descent_share(v, speed):
    """Of the falling weight's power, what reaches the store at a steady speed down 7 %."""
    force = -hand.resistance(v, speed, -0.07)
    emf = hand.constant(v) * hand.lever(v) * speed
    amps = min(-hand.amps_for(v, -force, speed), v.controller.braking_current_limit, emf / (2 * hand.ohm(v)))
    return -hand.power_of(v, -amps, speed) / (hand.weight(v, 0.07)[1] * speed)


def one_stop(v, speed, slows=1.0):
    """(joules that come back, joules of motion) of one stop on the level, by the middle of thin slices of speed."""
    m, back, n = hand.moved_mass(v), 0.0, 4000
    for i in range(n):
        u = speed * (i + 0.5) / n
        force = max(m * slows - hand.resistance(v, u), 0.0)
        emf = hand.constant(v) * hand.lever(v) * u
        amps = min(max(-hand.amps_for(v, -force, u), 0.0), v.controller.braking_current_limit, emf / (2 * hand.ohm(v)))
        power = -hand.power_of(v, -amps, u)
        back += max(power, -v.controller.standby_power) * speed / slows / n
    return back, m * speed**2 / 2


def one_start(v, speed):
    """Joules at the bridge of one start, at the driver's own rise."""
    n = 4000
    powers = [hand.power_of(v, hand.amps_for(v, hand.moved_mass(v) * v.driver.rise + hand.resistance(v, u), u), u)
              for u in (speed * (i + 0.5) / n for i in range(n))]
    return sum(powers) / n * speed / v.driver.rise


def up_again(v):
    """Down with the throttle shut from an empty bank, then up from what that left."""
    down = hand.ride(hand.vehicle(controller__coil_current_limit=1e-6), HILL, 15.3, slope_at=falls)
    up = hand.ride(v, [(60.375, 0.07, 2.4)], down["inside"], slow_volts=down["slow"], warmer=down["coil"] - 293.15,
                   slope_at=lambda place: -falls(60.375 - place))
    return up | {"down": down["given"]}


ROWS = {"00": start_rows, "01": store_rows, "02": road_rows, "03m": magnet_rows, "03w": winding_rows, "05": gearing_rows,
        "06": ride_rows, "07": charging_rows, "08": regeneration_rows}


@pytest.mark.parametrize("page", PAGES)
def test_every_answer_and_every_slip_by_a_second_route(page):
    rows, case = ROWS[page](), bench_of(page).case
    assert list(rows) == list(range(1, NUMBER_OF[page] + 1))
    for number, row in rows.items():
        asked = question(page, number).asked
        answer = asked.answer(case)
        found = [value for value, _ in asked.slips(case, answer)]
        if asked.options:
            assert (answer, tuple(found)) == (row.answer, row.slips), (page, number)
            for template, *values in row.says:
                assert_says(template, re.sub("<[^>]+>", "", asked.worked(case, answer)), *values, rel=row.share)
            continue
        assert answer == pytest.approx(row.answer, rel=row.share), (page, number)
        assert found == pytest.approx(list(row.slips), rel=max(row.share, 2e-3)), (page, number)
        assert plain(asked.worked(case, answer)), (page, number)
        for template, *values in row.says:
            assert_says(template, re.sub("<[^>]+>", "", asked.worked(case, answer)), *values, rel=row.share)
        if row.works:
            value, unit, near = row.works
            seen, told = last_of_equation(asked.worked(case, answer))
            assert told == unit
            assert seen == pytest.approx(value, rel=1e-3), (page, number)
            if near is not None:
                assert seen == pytest.approx(row.answer, rel=max(near, 1e-3)), (page, number)


def last_of_equation(worked):
    r"""(number, unit) at the end of the first equation of a worked answer: "= 1.2\times 10^{4}\,\mathrm{J}$"."""
    first = re.search(r"\$\\displaystyle (.*?)\$", worked)[1].rpartition("= ")[2]
    digits, power, unit = re.fullmatch(r"([-0-9.]+)(?:\\times 10\^\{(-?\d+)\})?(?:\\,\\mathrm\{(.*?)\})?", first).groups()
    return float(digits) * 10.0 ** int(power or 0), unit or ""


# ---------------------------------------------------------------- what may be typed
@pytest.mark.parametrize(("page", "number"), EACH)
def test_the_answer_is_right_in_every_unit_and_each_slip_is_named(page, number):
    """A question's own answer, typed in each unit it accepts and bare in the stated one, is right; each slip is not, and the words
    beside it say why.  Verdict and worked answer tell one number, in the stated unit."""
    asked = question(page, number)
    case, a = bench_of(page).case, asked.asked
    answer = a.answer(case)
    slips = a.slips(case, answer)
    if a.options:
        for option in a.options:
            right, words = tell(asked, option)
            why = [w for value, w in slips if value == option]
            assert right == (option == answer)
            assert (f"The model says {answer}." if right else plain(why[0]) if why else "Hint") in words
        return
    for unit in [u for u in SPELLINGS[entry(a.quantity).family] if u or not a.unit]:
        right, words = tell(asked, typed(asked, answer, unit))
        assert right, f"{unit}: {words}"
    told = re.fullmatch(r"right The model says ([^ ]+(?: [\d×]\S*)*?) ?(\S*)\.", words) if a.unit else None
    bare = typed(asked, answer).removesuffix(a.unit).strip()
    right, words = tell(asked, bare)
    assert right, f"a number without a unit counts in {a.unit}"
    if told:
        assert told[2] == a.unit
    assert f"The model says {plain(shown_in(a, answer))}." in words
    assert words.removeprefix("right ") in plain(asked.worked.value)
    for index, (wrong, why) in enumerate(slips):
        assert not a.near(wrong, answer), f"slip {index} counts as right"
        right, words = tell(asked, typed(asked, wrong))
        assert not right
        first = next(w for value, w in slips if a.near(wrong, value))
        assert plain(first) in words
        assert why in [w for _, w in slips]


def shown_in(asked, answer):
    """An answer in its stated unit with three figures, by pint and a format of its own."""
    from pint import UnitRegistry

    e, unit = entry(asked.quantity), SPELLINGS[entry(asked.quantity).family][asked.unit]
    value = UnitRegistry().Quantity(answer, e.unit or "dimensionless").to(unit).magnitude
    if e.kind == "count":
        return str(round(value))
    places = max(2 - math.floor(math.log10(abs(value))), 0)
    rounded = round(value, 2 - math.floor(math.log10(abs(value))))
    return f"{rounded:.{places}f}{' ' if asked.unit else ''}{asked.unit}"


def test_a_turn_more_or_less_is_grams_and_not_kilograms():
    asked = question("03w", 8)
    assert tell(asked, "4.5 g")[0]
    assert tell(asked, "4.5")[0], "the stated unit is grams"
    assert tell(asked, "0.0045 kg")[0]
    right, words = tell(asked, "4.5 kg")
    assert not right
    assert "4.5 is the number in g, but you wrote kg" in words


def test_a_bare_number_in_another_unit_is_named():
    asked = question("06", 5)
    right, words = tell(asked, "17275")
    assert not right
    assert "is the number in J, but a number without a unit counts in kJ here" in words
    assert tell(asked, "17,275")[1].startswith("not checked"), "a comma and three digits: thousands, or decimals?"
    assert tell(asked, "17.3")[0]
    share = question("00", 2)
    assert "is the number as a plain share, but a number without a unit counts in % here" in tell(share, "0.3125")[1]
    assert "without a unit it counts in %" in plain(share.text.value)


# ---------------------------------------------------------------- verdicts and hints
def simple(**more):
    """A question of 12 kJ on a bench that can be moved."""
    asked = Asked(text=lambda case: f"How much, at {case.result}?", answer=lambda case: 12e3 * case.result[0],
                  worked=lambda case, answer: "12 kJ", hints=("first", "second"), quantity="energy", unit="kJ",
                  slips=lambda case, answer: [(24e3, "twice")], **more)
    bench = SimpleNamespace(case=None)

    def move(size):
        bench.result = [size]
        bench.case = SimpleNamespace(result=bench.result, vehicle=None, day={})

    move(1.0)
    return Question(bench, asked), move


def test_nonsense_repeats_slips_and_wrong_units_use_up_no_hint():
    asked, _ = simple()
    for nonsense in ("", "many", "12 kg", "1 2 kJ", "nan kJ", "12 kJ or so", "1,200 kJ"):
        assert tell(asked, nonsense)[1].startswith("not checked"), nonsense
    assert "twice" in tell(asked, "24 kJ")[1]
    assert "number in kJ" in tell(asked, "12 J")[1]
    assert "Hint 1 of 2: first" in tell(asked, "5 kJ")[1]
    for _ in range(3):
        assert asked.check() is False
        assert "Hint 1 of 2: first" in plain(asked.verdict.value), "the same prediction again"
    assert "Hint 1 of 2: first" in tell(asked, "5000 J")[1], "and in another unit"
    assert "Hint 2 of 2: second" in tell(asked, "6 kJ")[1]
    assert tell(asked, "12 kJ") == (True, "right The model says 12.0 kJ.")


def test_a_verdict_goes_when_the_prediction_or_the_case_changes():
    asked, move = simple()
    assert asked.verdict.value == ""
    asked.box.value = "12 kJ"
    assert asked.verdict.value == "", "typing alone judges nothing"
    assert asked.check()
    asked.box.value = "5 kJ"
    assert "Your prediction has changed: press Check or Enter." in plain(asked.verdict.value)
    assert "right" not in plain(asked.verdict.value)
    assert tell(asked, "12 kJ")[0]
    move(2.0)
    asked.refresh()
    assert "The controls have moved since: predict again." in plain(asked.verdict.value)
    assert "<details" not in asked.worked.value
    assert not asked.check(), "the same prediction is judged anew"
    assert tell(asked, "24 kJ")[0], "what was a slip is right now"
    assert tell(asked, "rubbish")[1].startswith("not checked Input your prediction must be")
    move(3.0)
    asked.refresh()
    assert "The controls have moved since" in plain(asked.verdict.value), "a refusal goes, too"


def test_a_verdict_of_a_choice_goes_when_another_is_chosen():
    asked = question("02", 1)
    assert tell(asked, "4 times")[0]
    asked.box.value = "8 times"
    assert "Your prediction has changed" in plain(asked.verdict.value)
    assert "That is its power" in tell(asked, "8 times")[1]


def test_the_placeholder_is_itself_accepted():
    for page, number in EACH:
        asked = question(page, number)
        if asked.asked.options:
            continue
        like = re.fullmatch(r"(?:number and unit|a number), like (.+)", asked.box.placeholder)[1]
        assert read(like, entry(asked.asked.quantity)).unit == asked.asked.unit, (page, number)


def test_a_press_takes_along_what_stands_in_the_box():
    """JupyterLab answers the box and the button in two threads: the box's own news may come before or after the press."""
    asked, _ = simple()
    asked.press("5 kJ", -1)
    assert plain(asked.verdict.value).startswith("not yet")
    asked.press("12 kJ", -1)                             # the press first
    asked.box.value = "12 kJ"
    assert plain(asked.verdict.value) == "right The model says 12.0 kJ."
    asked.box.value = "24 kJ"                            # the box first
    assert "has changed" in plain(asked.verdict.value)
    asked.press("24 kJ", -1)
    assert "twice" in plain(asked.verdict.value)
    asked.press("", -1)
    assert "Write your prediction first" in plain(asked.verdict.value)
