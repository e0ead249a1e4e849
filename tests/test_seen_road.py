"""What a learner reads on the page of the road: rows, sentences and what is drawn, against plain formulas (`by_hand`)."""

from __future__ import annotations

import math

import by_hand as hand
import numpy as np
import pytest
from what_is_seen import Drawn, assert_rows, assert_says, seen_rows

import evlab
from evlab.workbench import road_page

G, NEAR = hand.G, 1e-3
CASES = {  # route, changes of the file, changes of the day
    "up, as in the file": ("two_sheds_up", {}, {}),
    "down, changed": ("two_sheds_down", {
        "load.cargo": 20.0, "road.rolling_coefficient": 0.016, "road.drag_area": 0.7, "vehicle.track": 0.9,
        "vehicle.tyre_grip": 0.45},
        {"slope": -0.05, "head_wind": 3.0, "altitude": 800.0, "air": 278.15, "humidity": 0.6, "volts": 21.0, "deceleration": 2.0,
         "reaction": 1.2}),
}


class Both:
    """One case by the page's own model, and by hand."""

    def __init__(self, name):
        route, changes, day = CASES[name]
        trike, way = evlab.load_vehicle("two_shed_trike"), evlab.load_route(route)
        self.page = road_page.make_page(way, trike)
        self.day = {k.name: k.start for k in self.page.knobs if k.start is not None} | day
        self.case = self.page.model(trike.change(changes), self.day)
        self.v = hand.vehicle(**{key.replace(".", "__"): value for key, value in changes.items()})
        self.down, self.way = route.endswith("down"), hand.way(route)
        self.path = hand.Path(self.way, self.v.driver)
        self.density = density(**{k: self.day[k] for k in ("altitude", "air", "humidity")})
        self.wind, self.kept = self.day["head_wind"], {}

    def picture(self, title):
        picture = next(p for p in self.page.pictures if p.title == title)
        return Drawn(picture.build(self.page.widen(self.page.frame(self.case.vehicle), self.case)), self.case)

    def speed(self, volts, slope, wind):
        if (volts, slope, wind) not in self.kept:
            self.kept[volts, slope, wind] = hand.steady_speed(self.v, volts, slope, wind, self.density)
        return self.kept[volts, slope, wind]

    def against(self, speed, slope=None, wind=None):
        return hand.resistance(self.v, speed, self.day["slope"] if slope is None else slope, self.wind if wind is None else wind,
                               self.density)


def density(altitude, air, humidity):
    """Damp air: the standard atmosphere's pressure (ISO 2533), water vapour by Magnus (WMO)."""
    pressure = 101325 * (1 - 2.25577e-5 * altitude) ** 5.25588
    vapour = humidity * 611.2 * math.exp(17.62 * (air - 273.15) / (243.12 + air - 273.15))
    return (pressure - vapour) / (287.05 * air) + vapour / (461.5 * air)


@pytest.fixture(scope="module", params=CASES)
def both(request):
    return Both(request.param)


# ---------------------------------------------------------------- force against speed
def rolls_at(both):
    """With no drive and no brake, in the wind; not a number uphill."""
    return hand.root(lambda u: -both.against(u), 0.0, 60.0) if both.against(0.0) < 0 else math.nan


def test_forces_row_by_row(both):
    v, d = both.v, both.day
    left, full = both.speed(d["volts"], d["slope"], both.wind), both.speed(35.0, d["slope"], both.wind)
    w = v.vehicle
    load = 0.5 * w.tyre_grip * hand.mass(v) * G * w.mass_share / math.hypot(1, d["slope"])
    assert_rows(seen_rows(both.page, both.case, 0), {
        "Steady speed, volts left": (left, "m/s", NEAR), "Steady speed, charged": (full, "m/s", NEAR),
        "Force there, volts left": (both.against(left), "N", NEAR), "Power at the wheel": (both.against(left) * left, "W", NEAR),
        "For each kilometre": (both.against(left) / 3.6, "Wh", NEAR), "Rolls by itself at": (rolls_at(both), "m/s", NEAR),
        "Air density": (both.density, "kg/m³"), "Full throttle, at rest": (hand.full_throttle(v, 0.0, d["volts"]), "N", NEAR),
        # the drive's own force presses the driven wheel down
        "Driven wheels put down": (load / (1 - 0.5 * w.tyre_grip * w.mass_height / w.wheelbase), "N")})


def test_the_picture_of_forces_and_its_sentence(both):
    drawn, d = both.picture("Force against speed"), both.day
    x, y = drawn.curve("road_force")
    assert y == pytest.approx([both.against(u) for u in x], abs=0.2)
    x_end = float(x[-1])
    volts = sorted({35.0, 28.3, 21.7, 15.0, d["volts"]}, reverse=True)
    rings = sorted(a for a, b in drawn.marks("o"))
    assert rings == pytest.approx(sorted(both.speed(u, d["slope"], both.wind) for u in volts), rel=NEAR)
    for a, b in drawn.marks("o"):
        assert b == pytest.approx(both.against(a), abs=0.2)
    colour = drawn.look.line("drive_force")
    drives = [line.get_data() for line in drawn.axes[0].lines if line.get_color() == colour and len(line.get_xdata()) > 50]
    for (x, y), u in zip(drives, volts, strict=True):
        for i in (0, 40, 80, 120):
            assert y[i] == pytest.approx(hand.full_throttle(both.v, x[i], u), rel=2e-3, abs=0.3)
    words = drawn.all_words()
    for u in volts:
        assert f"{u:g} V" in words
    fast, slow = (both.speed(u, d["slope"], both.wind) for u in (35.0, 15.0))
    down, along = hand.weight(both.v, d["slope"])
    parts = {"slope": along, "rolling": down * both.v.road.rolling_coefficient}
    parts["air"] = both.against(fast) - sum(parts.values())
    most = max(parts, key=lambda k: abs(parts[k]))
    assert_says("On {} % the drive holds {} m/s with {} V and {} m/s with {} V; at {} m/s the road asks {} N, its largest part is "
                f"{most} with {{}} N", drawn.reading, 100 * d["slope"], fast, 35, slow, 15, fast, both.against(fast), parts[most],
                rel=2e-3)
    rolls = rolls_at(both)
    if math.isfinite(rolls):
        assert_says("with no drive and no brake it rolls at {} m/s.", drawn.reading, rolls, rel=NEAR)
    else:
        assert "no drive" not in drawn.reading
    names = drawn.names()
    end = next(n for n in names if n.startswith("in all"))
    assert_says("in all {} N", end, both.against(x_end), rel=NEAR)
    assert names[end] == pytest.approx(both.against(x_end), abs=0.5)
    assert_says("coil limit {} N", words, hand.force_of(both.v, both.v.controller.coil_current_limit, 0.0))


# ---------------------------------------------------------------- wind along the way
def along(both, wind):
    """(places, speeds) that the drive holds."""
    places = np.linspace(0, 175, 401)
    return places, np.array([both.speed(both.day["volts"], round(both.path.slope(at), 5), wind) for at in places])


def test_wind_along_the_way_row_by_row_drawn_and_said(both):
    places, windy = along(both, both.wind)
    still = along(both, 0.0)[1]
    mean, calm = 1 / np.mean(1 / windy), 1 / np.mean(1 / still)
    least, at = windy.min(), places[int(windy.argmin())]
    rows = seen_rows(both.page, both.case, 1)
    assert_rows(rows, {
        "Strongest against it": (both.wind, "m/s"), "Strongest across": (0, "m/s"), "Mean speed in this wind": (mean, "m/s", NEAR),
        "Mean speed in still air": (calm, "m/s", NEAR), "Slowest place": (least, "m/s", NEAR),
        "It is at": (at, "m", 0.01 if both.down else 0)})  # on the level all places are alike
    drawn = both.picture("Wind along the way")
    x, y = drawn.curve("wind", 0)
    assert set(y) == {both.wind}
    for name, speeds in (("speed", windy), ("still_speed", still)):
        x, y = drawn.curve(name, 1)
        assert y == pytest.approx(np.interp(x, places, speeds), rel=3e-3)
    x, y = drawn.curve("height", 2)
    rise = math.copysign(60 * 0.07 / math.hypot(1, 0.07), both.way[1][1])
    assert (y[0], y[-1]) == (0, pytest.approx(rise, abs=1e-3))
    words = drawn.all_words()
    assert_says("mean {} m/s", words, mean, rel=2e-3)
    assert_says("the least speed is {} m/s at {} m, the mean {} m/s against {} m/s in still air.", drawn.reading, least, at, mean,
                calm, rel=0.01 if both.down else 2e-3)
    assert ("The air is still" in drawn.reading) == (both.wind == 0)


# ---------------------------------------------------------------- no brakes
def terminal(both, slope, tail=0.0):
    down, along = hand.weight(both.v, slope)
    left = along - down * both.v.road.rolling_coefficient
    factor = 0.5 * both.density * both.v.road.drag_area
    return max(tail + math.copysign(math.sqrt(abs(left) / factor), left), 0.0)


def test_if_the_brakes_fail_row_by_row_drawn_and_said(both):
    steep, fall = (0.07, 60 * 0.07 / math.hypot(1, 0.07)) if both.down else (0.0, 0.0)
    fast, tail = terminal(both, steep), both.wind or 5.0
    assert_rows(seen_rows(both.page, both.case, 2), {
        "Steepest descent, 20 m": (100 * steep, "%"), "Ends at, on such a hill": (fast, "m/s"), "The same": (3.6 * fast, "km/h"),
        "On 5 %, still air": (3.6 * terminal(both, 0.05), "km/h", 2e-3),
        "On 5 %, tail wind": (3.6 * terminal(both, 0.05, tail), "km/h", 2e-3), "This way falls, in all": (fall, "m")})
    drawn = both.picture("If the brakes fail")
    for name, wind in (("in_still_air", 0.0), ("in_tail_wind", tail)):
        x, y = drawn.curve(name)
        assert y == pytest.approx([terminal(both, at / 100, wind) for at in x], abs=0.01)
    end = drawn.axes[0].get_xlim()[1] / 100
    for words, wind in (("in still air {} m/s", 0.0), ("tail wind {} m/s {} m/s", tail)):
        name = next(n for n in drawn.names() if n.startswith(words[:8]))
        assert_says(words, name, *([tail] if wind else []), terminal(both, end, wind), rel=2e-3)
    if both.down:
        assert drawn.marks("o") == [(pytest.approx(7), pytest.approx(fast, abs=0.01))]
        assert_says("If the brakes fail on {} %, it goes on to {} m/s in still air and {} m/s with {} m/s of tail wind, though "
                    "a fall of {} m gives at most {} m/s.", drawn.reading, 7, fast, terminal(both, 0.07, tail), tail, fall,
                    math.sqrt(2 * G * fall), rel=2e-3)
    else:
        assert_says("This way never goes down; on {} % it would go on to {} m/s unbraked.", drawn.reading, 12, terminal(both, 0.12))


# ---------------------------------------------------------------- bends and stops
def test_tip_and_slide_row_by_row_drawn_and_said(both):
    w = both.v.vehicle
    lifts = G * w.mass_share * w.track / (2 * w.mass_height)
    tips, slides = math.sqrt(3 * lifts), math.sqrt(3 * w.tyre_grip * G)
    assert_rows(seen_rows(both.page, both.case, 3), {
        "Tips in a 3 m bend at": (tips, "m/s"), "Slides in a 3 m bend at": (slides, "m/s"), "Fastest posted speed": (3, "m/s"),
        "A wheel lifts at, sideways": (lifts, "m/s²")})
    drawn = both.picture("Tip and slide")
    for name, sideways in (("tips", lifts), ("slides", w.tyre_grip * G)):
        x, y = drawn.curve(name)
        assert y == pytest.approx(np.sqrt(sideways * x), rel=1e-6)
    first = "lifts a wheel" if tips < slides else "slides"
    assert_says("In a bend of {} m radius: it lifts a wheel at {} m/s and slides at {} m/s; at the posted {} m/s it " + first
                + " below {} m of radius", drawn.reading, 3, tips, slides, 3, 9 / min(lifts, w.tyre_grip * G))
    words, end = drawn.all_words(), drawn.axes[0].get_xlim()[1]
    assert_says("slides, grip {} {} m/s", words, w.tyre_grip, math.sqrt(end * w.tyre_grip * G), rel=2e-3)
    assert_says("a wheel lifts {} m/s", words, math.sqrt(end * lifts), rel=2e-3)
    assert_says("posted {} to {} m/s", words, 2.4, 3.0)
    assert set(drawn.level_lines()) >= {2.4, 3.0}


def test_stopping_row_by_row_drawn_and_said(both):
    v, d, steep = both.v, both.day, 0.07 if both.down else 0.0
    m, grip, cosine = hand.mass(v), v.vehicle.tyre_grip, 1 / math.hypot(1, steep)
    level = min(d["deceleration"], grip * G)
    assert level < G * v.vehicle.mass_share * v.vehicle.wheelbase / v.vehicle.mass_height, "it does not pitch over first"
    downhill = min(level - G * steep * cosine, G * (grip - steep) * cosine)
    react = 3 * d["reaction"]
    stands, below = react + 9 / (2 * level), react + 9 / (2 * downhill)
    falls = sum(a * abs(s) / math.hypot(1, s) for a, s, _ in both.way if s < 0)
    level_way = hand.trip(v, both.way)
    step = np.where(level_way["slope"] < 0, 0.01 / np.hypot(1, level_way["slope"]), 0).sum()
    heat = max(m * G * (falls - v.road.rolling_coefficient * step), 0.0)
    rolls = m * G * (steep - v.road.rolling_coefficient) * cosine
    assert_rows(seen_rows(both.page, both.case, 4), {
        "Fastest posted speed": (3, "m/s"), "Stops in, on the level": (stands, "m", 2e-3), "Of it before the brakes": (react, "m"),
        "Stops in, steepest descent": (below, "m", 2e-3), "Grip allows": (grip * G, "m/s²"),
        "Brakes give, down there": (m * d["deceleration"] + rolls, "N"), "Brakes hold, down there": (m * G * steep * cosine, "N"),
        "Heat of the whole descent": (heat / 1e3, "kJ", 2e-3)})
    drawn = both.picture("Stopping")
    x, y = drawn.curve("stops_level")
    assert y == pytest.approx(x * d["reaction"] + x**2 / (2 * level), rel=1e-6)
    if both.down:
        x, y = drawn.curve("stops_down")
        assert y == pytest.approx(x * d["reaction"] + x**2 / (2 * downhill), rel=1e-4)
    end, words = float(x[-1]), drawn.all_words()
    for name, metres in (("reaction", end * d["reaction"]), ("braking", end**2 / 2 / level), ("on the level", end * d["reaction"]
                         + end**2 / 2 / level), ("grip allows", end * d["reaction"] + end**2 / 2 / grip / G)):
        assert_says(name + " {} m", words, metres, rel=2e-3)
    told = ", and after {} m down {} %" if both.down else ""
    values = [below, 7] if both.down else []
    assert_says("From {} m/s it stands after {} m on the level, {} m of them reaction" + told + "; {} m/s² are asked, the grip "
                "allows {} m/s².", drawn.reading, 3, stands, react, *values, d["deceleration"], grip * G, rel=2e-3)
