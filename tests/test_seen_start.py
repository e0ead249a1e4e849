"""What a learner reads on the page of the brief: rows, sentences and what is drawn, against plain formulas (`by_hand`)."""

from __future__ import annotations

import math

import by_hand as hand
import numpy as np
import pytest
from what_is_seen import Drawn, assert_rows, assert_says, seen_rows

import evlab
from evlab.workbench import start_page

TRIP = 0.002  # half a thousandth and more: the second route goes in steps of a centimetre, and stops at no half-way place
# (changes of the file, changes of the day); the second one is loaded, windy, in a hurry, and stops early
CASES = {
    "as in the file": ({}, {}),
    "changed": ({"load.cargo": 25.0, "road.rolling_coefficient": 0.018, "road.drag_area": 0.7, "vehicle.frame_mass": 50.0},
                {"head_wind": 2.0, "pace": 0.8, "worst_wind": 3.0, "worst_air": 258.15, "worst_tyres": 1.6, "worst_load": 30.0,
                 "halted_share": 0.9}),
}


class Both:
    """One case by the page's own model, and by hand."""

    def __init__(self, name):
        changes, day = CASES[name]
        self.page = start_page.make_page(evlab.load_route("two_sheds_up"))
        self.day = {k.name: k.start for k in self.page.knobs if k.start is not None} | day
        self.case = self.page.model(evlab.load_vehicle("two_shed_trike").change(changes), self.day)
        self.v = hand.vehicle(**{key.replace(".", "__"): value for key, value in changes.items()})
        d, way = self.day, hand.way()
        self.today = hand.trip(self.v, way, wind=d["head_wind"], pace=d["pace"])
        cold = self.v.road.air_density * self.v.road.air_temperature / d["worst_air"]
        self.worst = hand.trip(self.v, way, wind=d["worst_wind"], pace=d["pace"], rolls=d["worst_tyres"],
                               extra=d["worst_load"], density=cold)

    def picture(self, index, pinned=None):
        picture = self.page.pictures[index]
        return Drawn(picture.build(self.page.widen(self.page.frame(self.case.vehicle), self.case)), self.case, pinned=pinned)

    def heights(self, x):
        return np.interp(x, self.today["place"], self.today["height"])


@pytest.fixture(scope="module", params=CASES)
def both(request):
    return Both(request.param)


def test_what_one_trip_costs_is_told_row_by_row(both):
    given, worst = both.today["given"][-1], both.worst["given"][-1]
    assert_rows(seen_rows(both.page, both.case, 0), {
        "Energy of one trip": (given / 1e3, "kJ", TRIP), "The same": (given / 3600, "Wh", TRIP),
        "For each kilometre": (given / 175 / 3.6, "Wh", TRIP),
        "Lift, of the trip": (100 * both.today["lift"][-1] / given, "%", TRIP),
        "Worst day": (worst / 1e3, "kJ", TRIP), "Worst day, times today": (worst / given, "", TRIP),
        "Largest power at the wheel": (both.today["power"], "W", TRIP), "Time": (both.today["time"], "s", TRIP)})


def test_the_way_is_told_row_by_row(both):
    rise = 60 * 0.07 / math.hypot(1, 0.07)
    assert_rows(seen_rows(both.page, both.case, 1), {
        "Way": (175, "m"), "Goes up, in all": (rise, "m"), "Goes down, in all": (0, "m"), "Steepest 20 m": (7, "%"),
        "Time at these speeds": (both.today["time"], "s", TRIP)})


def halt(both):
    """(place, slope, newtons on, home, hardest home, held, joules home) of a stop; the rider walks."""
    place, m, c = 175 * both.day["halted_share"], hand.mass(both.v) - both.v.load.rider, both.v.road.rolling_coefficient
    slope = 0.07 if 72 <= place <= 130 else 0.0
    here, level = m * hand.G / math.hypot(1, slope), m * hand.G * c
    path, step = hand.Path(hand.way(), both.v.driver), 0.01
    slopes = [path.slope(step * (i + 0.5)) for i in range(round(place / step))]
    back = [(level - m * hand.G * k) * step / math.hypot(1, k) for k in slopes]
    aboard = hand.mass(both.v) * hand.G * slope / math.hypot(1, slope)  # the rider sits on it, and rolling helps nothing
    return place, slope, here * (c + slope), here * (c - slope), level, aboard, sum(max(b, 0.0) for b in back)


def test_what_a_stop_half_way_asks_is_told_row_by_row(both):
    place, slope, on, home, hardest, held, joules = halt(both)
    assert_rows(seen_rows(both.page, both.case, 2), {
        "Slope there": (100 * slope, "%"), "To push it on": (on, "N"), "To push it home": (home, "N"),
        "Hardest on the way home": (hardest, "N"), "The brake must hold": (held, "N"), "People needed": (1, ""),
        "Home is": (place, "m"), "Pushing home takes": (joules / 1e3, "kJ", 0.002)})


def test_the_picture_of_the_trip_and_its_sentence(both):
    drawn, today, worst = both.picture(0), both.today, both.worst
    for name, trip in (("drive_gives", today), ("worst_day", worst)):
        x, y = drawn.curve(name)
        assert x[-1] == pytest.approx(175)
        assert y == pytest.approx(np.interp(x, trip["place"], trip["given"] / 1e3), rel=TRIP, abs=0.02)
    x, y = drawn.curve("height", 1)
    assert y == pytest.approx(both.heights(x), abs=0.002)
    assert_says("climbs {} m", drawn.all_words(), both.heights(175.0))
    names = drawn.names()
    told = {"lift": today["lift"], "rolling": today["rolling"], "air": today["air"], "starts": today["starts"]}
    for words, trip in (("drive {} kJ, {} Wh", today), ("worst day {} kJ, {} Wh", worst)):
        label = next(n for n in names if n.startswith(words[:5]))
        assert_says(words, label, trip["given"][-1] / 1e3, trip["given"][-1] / 3600, rel=TRIP)
        assert names[label] == pytest.approx(trip["given"][-1] / 1e3, rel=TRIP)
    for term, joules in told.items():
        label = next(n for n in names if n.startswith(term))
        assert_says(term + " {} kJ", label, joules[-1] / 1e3, rel=0.03 if term == "starts" else TRIP)  # a place each 25 cm
    most = max(told, key=lambda t: told[t][-1])
    hill = today["lift"][-1] / (today["lift"][-1] + today["rolling"][-1] + today["air"][-1])
    part = "The hill is the hard part" if hill > 0.55 else "Hill and distance ask about the same"
    assert hill > 0.45
    assert_says(part + ": over {} m the drive gives {} kJ ({} Wh) at the wheel in {} s", drawn.reading, 175,
                today["given"][-1] / 1e3, today["given"][-1] / 3600, today["time"], rel=TRIP)
    assert_says(f"the largest term is {most} with {{}} kJ; the worst day asks {{}} kJ ({{}} Wh)", drawn.reading,
                told[most][-1] / 1e3, worst["given"][-1] / 1e3, worst["given"][-1] / 3600, rel=TRIP)


def test_the_picture_of_the_way_and_its_sentence(both):
    drawn, rise = both.picture(1), 60 * 0.07 / math.hypot(1, 0.07)
    path = hand.Path(hand.way(), both.v.driver)
    x, y = drawn.curve("height", 0)
    assert y == pytest.approx(np.interp(x, both.today["place"], both.today["height"]), abs=0.002)
    x, y = drawn.curve("slope", 1)
    assert y == pytest.approx([100 * path.slope(at) for at in x], abs=1e-6)
    x, y = drawn.curve("posted_speed", 2)
    late = 2 * 0.01 / 0.07
    pace = both.day["pace"]
    assert list(zip(x, y, strict=True)) == [(pytest.approx(a), pytest.approx(pace * b)) for a, b in (
        (0, 3), (70 + late, 3), (70 + late, 2.4), (132 - late, 2.4), (132 - late, 3), (175, 3))]
    assert_says("The way is {} m long, climbs {} m and goes down {} m; its steepest {} m rise {} % at {} m.", drawn.reading, 175,
                rise, 0, 20, 7, 82)
    words = drawn.all_words()
    assert_says("climbs {} m", words, rise)
    assert_says("up to {} %", words, 7)
    assert_says("{} to {} m/s", words, 2.4 * pace, 3 * pace)


def test_the_picture_of_the_stop_and_its_sentence(both):
    drawn, (place, slope, on, home, hardest, held, _) = both.picture(2), halt(both)
    at = drawn.marks("o")
    x, y = drawn.curve("height")
    assert y == pytest.approx(both.heights(x), abs=0.002)
    high = float(both.heights(place))
    assert at == [(pytest.approx(place), pytest.approx(high, abs=0.002))]
    bars = sorted(((bottom, left if left < -1e-9 else wide) for left, bottom, wide, _ in drawn.bars(1)), reverse=True)
    assert [force for _, force in bars] == pytest.approx([on, home, hardest]), "from the top down"
    assert [n * 150 for n in range(1, len(drawn.upright_lines(1)))] == pytest.approx(sorted(drawn.upright_lines(1))[1:])
    stands = "it rolls away unless {} N hold it; {} N push it on" if slope else "it stands by itself; {} N push it on"
    assert_says("Stopped at {} m, " + stands + ", and one person pushes it home over {} m with at most {} N.", drawn.reading, place,
                *([held] if slope else []), on, place, hardest)
    words = drawn.all_words()
    assert_says("home {} m", words, place)
    assert f"{abs(home):.1f} N{' held back' if slope else ''}" in words


def test_a_pinned_case_stays_in_grey_beside_the_present_one():
    now, before = Both("as in the file"), Both("changed")
    drawn = now.picture(0, before.case)
    grey = drawn.curve("drive_gives", colour=drawn.look.ink2)
    assert grey[1] == pytest.approx(np.interp(grey[0], before.today["place"], before.today["given"] / 1e3), rel=TRIP, abs=0.02)
    assert "thin grey: pinned" in drawn.all_words()
    drawn = now.picture(2, before.case)
    _, _, *pinned = halt(before)
    uprights = [line.get_xdata()[0] for line in drawn.axes[1].lines if line.get_color() == drawn.look.ink2
                and line.get_xdata()[0] == line.get_xdata()[-1] and line.get_linewidth() == pytest.approx(1.4)]
    assert uprights == pytest.approx(pinned[:3])
    assert "thin grey: pinned" in drawn.all_words()
    assert "pinned" not in now.picture(0).all_words()
