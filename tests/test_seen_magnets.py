"""The page of magnets as a learner sees it: every row of the numbers, every picture and its sentence, worked here from the values
of the vehicle file (typed in below) for the unrolled ring, wave by wave; the page takes the map of the real ring.

The unrolled ring differs from the round one by about a per cent (tests/test_rings.py): so far rows of the field may differ.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from scipy.special import j1
from what_is_seen import Drawn, assert_rows, assert_says, assert_worked, plain, seen_rows

import evlab
from evlab.eddies import Plate
from evlab.stray import PARTS, pull_curve
from evlab.workbench import magnets_page

MU0 = 4e-7 * math.pi
UNROLLED = 0.012  # a ring of twelve against its unrolled row
ORDERS = np.arange(1, 32, 2)
Q = np.linspace(0.0, 6000.0, 6001)  # waves along the radius [1/m]


@dataclasses.dataclass(frozen=True)
class Hand:
    """The trike's motor, or a changed one, as its file states it [m, T, A/m]; two rotors on iron, or one with a plate across."""

    block: bool = False
    wide: float = 0.030
    long: float = 0.030
    thick: float = 0.010
    remanence: float = 1.30
    coercivity: float = 955e3
    steel: float = 0.006
    plate: bool = False
    clearance: float = 0.0015
    turns: int = 26
    warm: float = 20.0
    speed: float = 60.0

    poles, radius, recoil, side, coil, rim, hole, opening, length = 12, 0.078, 1.05, 0.015, 0.011, 0.100, 0.020, 0.0225, 0.032

    @property
    def br(self):
        return self.remanence * (1 - 0.0012 * (self.warm - 20.0))

    @property
    def gap(self):
        return self.coil + 2 * self.clearance

    @property
    def pitch(self):
        return 2 * math.pi * self.radius / self.poles

    def outline(self, k, q):
        """Fourier transform of one magnet's outline."""
        if self.block:
            return self.wide * self.long * np.sinc(k * self.wide / 2 / math.pi) * np.sinc(q * self.long / 2 / math.pi)
        w = np.hypot(k, q)
        return math.pi * self.wide * j1(w * self.wide / 2) / w

    def share(self, w, height, gap=None):
        """Of a wave of the magnetisation, what is found at a height above the face."""
        g, m = self.gap if gap is None else gap, self.thick
        with np.errstate(over="ignore", invalid="ignore"):
            if self.plate:
                made = np.sinh(w * m) * np.cosh(w * (g - height)) / (
                    self.recoil * np.cosh(w * m) * np.sinh(w * g) + np.sinh(w * m) * np.cosh(w * g))
            else:
                made = np.sinh(w * m) * np.cosh(w * (height - g / 2)) / (
                    self.recoil * np.cosh(w * m) * np.sinh(w * g / 2) + np.sinh(w * m) * np.cosh(w * g / 2))
        return np.where(np.isfinite(made), made, 0.0)

    def row(self, order):
        """(wave along, amplitudes of the row over the waves along the radius, all waves)."""
        k = order * math.pi / self.pitch
        return k, self.br * 2 / self.pitch * self.outline(k, Q), np.hypot(k, Q)

    def thickened(self, w):
        return np.sinh(w * self.coil / 2) / (w * self.coil / 2)

    def flux(self, order=1, more=0.0, endless=False):
        """Flux through the mean turn, the coil a rectangle of its mean width."""
        k, amount, w = self.row(order)
        height, gap = self.clearance + more + self.coil / 2, self.gap + 2 * more
        across = (self.opening + self.side) * np.sinc(k * (self.opening + self.side) / 2 / math.pi) * np.sinc(
            k * self.side / 2 / math.pi)
        field = amount * self.share(w, height, gap) * self.thickened(w) * across
        if endless:
            return float(field[0])
        along = (self.length + self.side) * np.sinc(Q * (self.length + self.side) / 2 / math.pi) * np.sinc(
            Q * self.side / 2 / math.pi)
        return float(np.trapezoid(field * along, Q)) / math.pi

    def field(self, x, y, height, mean=True):
        """Flux density at a place (x along the row, y along the radius)."""
        total = 0.0
        for order in ORDERS:
            k, amount, w = self.row(order)
            part = amount * self.share(w, height) * (self.thickened(w) if mean else 1.0) * np.cos(Q * y)
            total += float(np.trapezoid(part, Q)) / math.pi * math.cos(k * x)
        return total

    @property
    def meter(self):
        """In the middle of the face of one lone magnet: closed forms of disc and block."""
        if not self.block:
            return self.br / 2 * self.thick / math.hypot(self.thick, self.wide / 2)
        a, b, t = self.wide, self.long, self.thick
        return self.br / math.pi * (math.pi / 2 - math.atan(a * b / (2 * t * math.sqrt(4 * t * t + a * a + b * b))))

    def pull(self, gap):
        """B squared over the middle of the gap (or the plate), wave by wave."""
        height, total = gap if self.plate else gap / 2, 0.0
        for order in ORDERS:
            _, amount, w = self.row(order)
            total += np.trapezoid((amount * self.share(w, height, gap)) ** 2, Q) / math.pi / 2
        return 2 * math.pi * self.radius * float(total) / (2 * MU0)

    # ------------------------------------------------------------ what turns
    @property
    def magnet(self):
        """Its mass [kg] and its face [m2]."""
        face = self.wide * self.long if self.block else math.pi * self.wide**2 / 4
        return 7500.0 * face * self.thick, face

    @property
    def inertia(self):
        mass, rotors = self.magnet[0], 1 if self.plate else 2
        own = (self.wide**2 + self.long**2) / 12 if self.block else self.wide**2 / 8
        disc = math.pi / 2 * 7850.0 * self.steel * (self.rim**4 - self.hole**4)
        return rotors * (self.poles * mass * (self.radius**2 + own) + disc)

    @property
    def flies(self):
        return self.magnet[0] * self.radius * self.speed**2

    @property
    def stress(self):
        return 7850.0 * self.speed**2 / 4 * (3.3 * self.rim**2 + 0.7 * self.hole**2)

    # ------------------------------------------------------------ heat
    def lone(self):
        """Field against a lone magnet at its face, cold."""
        n = 1 - self.meter / self.br
        return n * self.remanence / (MU0 * (1 + n * (self.recoil - 1)))

    def placed(self):
        """Field against it in its place at its face, cold: the flux density there is that of its own jump, which is known, and of
        the waves that reach beyond it."""
        near, total = 1 / (1 + self.recoil), 0.0
        for order in ORDERS:
            _, amount, w = self.row(order)
            total += float(np.trapezoid(amount * (self.share(w, 0.0) - near * (w < 1e9)) * (w < 3000), Q)) / math.pi
        found = self.remanence * near + total * self.remanence / self.br
        return (self.remanence - found) / (MU0 * self.recoil)

    def knee(self, celsius):
        return 0.9 * self.coercivity * (1 - 0.006 * (celsius - 20.0))

    def meets(self, cold):
        """Celsius at which a field against it, which falls by 0.12 % a kelvin, meets the knee, which falls by 0.6 %."""
        return 20.0 + (0.9 * self.coercivity - cold) / (0.9 * self.coercivity * 0.006 - cold * 0.0012)

    # ------------------------------------------------------------ steel
    def carried(self, thick):
        """Flux of half a pole over the section of the steel; in a slab on iron a wave is 1 - (1 - face) cosh(kz)/cosh(kh)."""
        x = np.linspace(-self.pitch / 2, self.pitch / 2, 4001)
        at_steel = np.zeros_like(x)
        for order in np.arange(1, 40, 2):
            k = order * math.pi / self.pitch
            reach = 1 - (1 - float(self.share(np.array([k]), 0.0)[0])) / math.cosh(k * self.thick)
            at_steel += self.br * 2 / self.pitch * self.outline(k, 0.0) * reach * np.cos(k * x)
        return float(np.trapezoid(at_steel, x)) / 2 / (thick * self.long)


DEMO = Hand()
OTHER = Hand(block=True, wide=0.024, long=0.028, thick=0.008, remanence=1.20, steel=0.004, plate=True, clearance=0.0025, turns=20,
             warm=80.0, speed=150.0)
TRIKE = evlab.load_vehicle("two_shed_trike")
CHANGED = TRIKE.change(
    magnets={"shape": "block", "width": "24 mm", "length": "28 mm", "thickness": "8 mm", "remanence": "1.20 T", "grade": "N38",
             "steel_thickness": "4 mm", "iron": "plate across"}, winding={"clearance": "2.5 mm", "turns": 20})
PAGE = magnets_page.make_page(TRIKE)
DAY = {knob.name: knob.start for knob in magnets_page.DAY}
OTHER_DAY = DAY | {"coil_at": math.radians(20.0), "temperature": 353.15, "speed": 150.0, "hold": 12.0, "distance": 0.004,
                   "plate_thickness": 0.003, "metal": "copper", "strip": 0.006}
SEEN = {"demo": DEMO, "changed": OTHER}


@pytest.fixture(scope="module")
def cases():
    return {"demo": PAGE.model(TRIKE, DAY), "changed": PAGE.model(CHANGED, OTHER_DAY)}


def drawn(index, case, pinned=None):
    return Drawn(PAGE.pictures[index].build(PAGE.widen(PAGE.frame(case.vehicle), case)), case, pinned=pinned)


each = pytest.mark.parametrize("name", SEEN)


# ---------------------------------------------------------------- the numbers
def test_the_page_opens_with_these_values_of_the_day():
    assert DAY == {"coil_at": 0.0, "fault": "none", "temperature": 293.15, "hold": 5.0, "speed": 60.0, "distance": 0.003,
                   "plate_thickness": 0.006, "metal": "aluminium 6061", "strip": 0.004}


@each
def test_rows_of_the_field(cases, name):
    hand = SEEN[name]
    room = 2 * (0.078 - 0.014) * math.tan(math.pi / 12) - 0.024 if hand.block else 2 * 0.078 * math.sin(math.pi / 12) - 0.030
    assert_rows(seen_rows(PAGE, cases[name], 0), {
        "Flux of a turn": (1e3 * hand.flux(), "mWb", UNROLLED),
        "Constant of a coil, peak": (hand.turns * 6 * hand.flux(), "V·s/rad", UNROLLED),
        "Third harmonic of the flux": (100 * third_of(drawn(0, cases[name])), "%", 1e-3),
        "Largest field at the coil": (hand.field(0.0, 0.0, hand.clearance + hand.coil / 2), "T", 2 * UNROLLED),
        "Face of a lone magnet": (hand.meter, "T"), "Room between magnets": (1e3 * room, "mm")})


def third_of(seen):
    """Third harmonic over the fundamental, of the curve of the flux as it is drawn."""
    waves = np.fft.rfft(seen.curve("turn_flux", 1)[1][:-1]).real
    return waves[18] / waves[6]


@each
def test_the_third_harmonic_is_about_that_of_the_unrolled_ring(cases, name):
    """The ends of the keystone, which a rectangle has not, make it a fifth larger: it is the small difference of large ones."""
    hand = SEEN[name]
    assert third_of(drawn(0, cases[name])) == pytest.approx(hand.flux(3) / hand.flux(), rel=0.25)


def test_rows_of_the_routes(cases):
    rows, hand = seen_rows(PAGE, cases["demo"], 1), DEMO
    base = rows["Map of the real ring"].value
    assert base == pytest.approx(1e3 * hand.flux(), rel=UNROLLED)
    assert list(rows) == ["Map of the real ring", "Coil as long as it is", "Endless coil", "magpylib, in three dimensions",
                          "A millimetre more costs"]
    for label, flux in (("Coil as long as it is", hand.flux()), ("Endless coil", hand.flux(endless=True))):
        assert rows[label].value == pytest.approx(100 * (1e3 * flux / base - 1), abs=0.15)  # three figures of the flux
    assert abs(rows["magpylib, in three dimensions"].value) < 1.0
    assert rows["A millimetre more costs"].value == pytest.approx(100 * (1 - hand.flux(more=1e-3) / hand.flux()), abs=0.02)
    assert [row.unit for row in rows.values()] == ["mWb", "%", "%", "%", "%"]


@each
def test_rows_of_pull_and_spin(cases, name):
    hand = SEEN[name]
    pull = hand.pull(hand.gap)
    closer = (hand.pull(hand.gap - 1e-5) - hand.pull(hand.gap + 1e-5)) / 2e-5 * 1e-3
    assert_rows(seen_rows(PAGE, cases[name], 2), {
        "Pull across the gap": (pull, "N", 2 * UNROLLED), "Each magnet's share": (pull / 12, "N", 2 * UNROLLED),
        "A millimetre closer adds": (closer, "N", 2 * UNROLLED), "Turns at": (hand.speed * 60 / math.tau, "rpm"),
        "Each magnet flies with": (hand.flies, "N"), "Shear in its glue": (hand.flies / hand.magnet[1] / 1e3, "kPa"),
        "Stress in the disc": (hand.stress / 1e6, "MPa"), "Energy of the rotor": (hand.inertia * hand.speed**2 / 2, "J"),
        "Inertia": (1e3 * hand.inertia, "g·m²")})


@each
def test_rows_of_the_heat(cases, name):
    hand = SEEN[name]
    left = 1 - 0.0012 * (hand.warm - 20.0)
    placed = hand.placed()
    assert_rows(seen_rows(PAGE, cases[name], 3), {
        "Alone, at its face": (left * hand.lone() / 1e3, "kA/m"), "Alone, meets the knee at": (hand.meets(hand.lone()), "°C"),
        "In its place": (left * placed / 1e3, "kA/m", 0.03), "In place, meets the knee at": (hand.meets(placed), "°C", 0.02),
        "Knee at this temperature": (hand.knee(hand.warm) / 1e3, "kA/m"), "Remanence left": (100 * left, "%")})


@each
def test_rows_of_the_steel(cases, name):
    hand = SEEN[name]
    load = hand.carried(hand.steel)
    assert_rows(seen_rows(PAGE, cases[name], 4), {
        "The steel would carry": (load, "T"), "Thickness for 1.5 T": (1e3 * hand.steel * load / 1.5, "mm")})


@each
def test_rows_of_small_steel_are_where_pull_is_weight(cases, name):
    """At the distance shown the pull is the weight of the part, or what holds it, or the field is 0.5 mT."""
    rows, ring = seen_rows(PAGE, cases[name], 5), cases[name].sound
    masses = {"screw M5 x 25": 7850 * math.pi / 4 * 0.0045**2 * 0.025, "spanner": 7850 * math.pi / 4 * 0.010**2 * 0.150,
              "steel rule": 7850 * math.pi / 4 * 0.004**2 * 0.150, "nut M8": 0.005, "each link of a run of 06B chain": 0.0039}
    labels = dict(zip(("Screw M5 stays from", "Spanner stays from", "Steel rule stays from", "Nut M8 stays from",
                       "Slack chain stays from"), masses, strict=True))
    assert list(rows) == [*labels, "Held link comes to"]  # no distance for implants: it would read as permission
    assert {row.unit for row in rows.values()} == {"mm"}

    def pulled(label, part):
        return float(pull_curve(ring, PARTS[part], [rows[label].value / 1e3], "beside the rim")[0])

    for label, part in labels.items():
        assert pulled(label, part) == pytest.approx(masses[part] * 9.80665, rel=0.03), label
    held = {"demo": 5.0, "changed": 12.0}[name]
    assert rows["Held link comes to"].value == 0 or pulled("Held link comes to", "each link of a run of 06B chain") == \
        pytest.approx(held, rel=0.06)


@each
def test_rows_of_the_plate(cases, name):
    hand, day = SEEN[name], {"demo": DAY, "changed": OTHER_DAY}[name]
    plate = Plate.of(cases[name].sound, distance=day["distance"], thick=day["plate_thickness"], metal=day["metal"])
    whole, slit = plate.losses(day["speed"], day["strip"])
    assert slit < whole
    assert_rows(seen_rows(PAGE, cases[name], 6), {
        "The plate takes": (whole, "W"), "as a torque of": (whole / hand.speed, "N·m"), "Slit into strips": (slit, "W")})


# ---------------------------------------------------------------- field and coils
@each
def test_north_is_where_the_field_is_north(cases, name):
    hand, seen = SEEN[name], drawn(0, cases[name])
    image = seen.axes[2].images[0]
    field, (left, right, low, high) = np.asarray(image.get_array()), image.get_extent()
    assert (left, right) == (0, 360)
    row = field[round((1e3 * hand.radius - low) / (high - low) * (len(field) - 1))]
    assert image.norm.vmin == -image.norm.vmax
    bar = seen.axes[3].images[0]
    assert seen.words(None)["T, north"][1] > seen.words(None)["T, south"][1]
    assert bar.get_array()[-1] > 0 > bar.get_array()[0]  # the upper end is north
    letters = {round(x): word for word, x in letters_of(seen, 1e3 * hand.radius)}
    assert len(letters) == 12
    for number in range(12):
        at = max(30 * number, 5)
        assert letters[at] == "NS"[number % 2]
        assert math.copysign(1.0, row[30 * number]) == (1.0 if letters[at] == "N" else -1.0)
    assert row[0] == pytest.approx(hand.field(0.0, 0.0, hand.clearance + hand.coil / 2), rel=2 * UNROLLED)


def letters_of(seen, height):
    return [(t.get_text(), t.get_position()[0]) for t in seen.axes[2].texts
            if t.get_text() and abs(t.get_position()[1] - height) < 0.5]


@each
def test_flux_and_volts_along_the_ring(cases, name):
    hand, seen = SEEN[name], drawn(0, cases[name])
    coil_at = {"demo": 0.0, "changed": 20.0}[name]
    x, flux = seen.curve("turn_flux", 1)
    _, volts = seen.curve("coil_emf", 0)
    assert flux[x == 0][0] == pytest.approx(1e3 * (hand.flux() + hand.flux(3)), rel=2 * UNROLLED)
    for at, curve in ((0, volts), (1, flux)):  # six waves a turn, and the dot where coil 1 stands
        assert np.abs(np.fft.rfft(curve[:-1]))[:20].argmax() == 6
        dot = seen.marks("o", at)
        assert dot == [(pytest.approx(coil_at), pytest.approx(float(np.interp(coil_at, x, curve)), abs=2e-3 * np.abs(curve).max()))]
        assert seen.upright_lines(at) == [pytest.approx(coil_at)]
    slope = hand.turns * np.gradient(flux, np.radians(x))  # mWb times turns for each radian: mV at one radian per second
    assert np.abs(volts - slope)[2:-2].max() < 0.02 * np.abs(slope).max()
    words = seen.words(None)
    assert {"Distance from the shaft, mm", "Flux through one turn, mWb", "EMF of the coil at 1 rad/s, mV"} <= set(words)
    assert words["Flux through one turn, mWb"][1] > words["EMF of the coil at 1 rad/s, mV"][1]


@each
def test_outlines_of_magnets_and_coils_are_where_they_are(cases, name):
    hand, seen = SEEN[name], drawn(0, cases[name])
    whole, spoilt, others, first = seen.lines(2)[:4]
    assert len(spoilt[0]) == 0
    seen_radii = whole[1][np.isfinite(whole[1])]
    near, far = (1e3 * math.hypot(0.078 + side * hand.long / 2, hand.wide / 2) if hand.block else 78.0 + side * 15.0
                 for side in (-1, 1))  # of a block the corners
    assert (seen_radii.min(), seen_radii.max()) == (pytest.approx(near, abs=0.01), pytest.approx(far, abs=0.01))
    coil_at = {"demo": 0.0, "changed": 20.0}[name]
    inside = np.isfinite(first[0])
    assert first[1][inside].max() == pytest.approx(78.0 + 16.0 + 15.0, abs=0.6)  # half of the opening's length, and the side
    assert first[1][inside].min() == pytest.approx(78.0 - 16.0 - 15.0, abs=0.6)
    places = np.mod(first[0][inside] - coil_at + 180.0, 360.0) - 180.0
    assert places.max() == pytest.approx(-places.min(), abs=0.5)  # it lies evenly about its place
    numbers = dict(letters_of(seen, seen.axes[2].get_ylim()[0] + 0.05 * np.ptp(seen.axes[2].get_ylim())))
    assert numbers == {str(i + 1): pytest.approx(min(max((coil_at + 40 * i) % 360, 5.0), 355.0)) for i in range(9)}
    assert len(others[0]) > 7 * len(first[0]) / 3


@pytest.mark.parametrize(("fault", "letter", "share"), [("one missing", "none", 0.0), ("one turned over", "N", -1.0),
                                                       ("one half as strong", "S", 0.5)])
def test_the_faulty_magnet_is_the_second_and_is_named(fault, letter, share):
    case = PAGE.model(TRIKE, DAY | {"fault": fault})
    seen = drawn(0, case)
    letters = {round(x): word for word, x in letters_of(seen, 78.0)}
    assert letters[30] == letter
    assert letters[90] == "S"
    bold = {round(t.get_position()[0]) for t in seen.axes[2].texts if t.get_fontweight() == "bold" and t.get_text() in "NS"}
    assert 30 not in bold
    assert len(bold) == 11
    x, flux = seen.curve("turn_flux", 1)
    at = {degrees: float(flux[x == degrees][0]) for degrees in (30, 90, 150)}
    assert at[90] == pytest.approx(at[150], rel=0.02)
    assert at[30] / at[150] == pytest.approx(share, abs=0.12)  # its neighbours are seen, too
    assert plain(seen.reading).startswith({"none": "One magnet missing", "N": "One magnet turned over",
                                           "S": "One magnet half as strong"}[letter])
    assert len(seen.lines(2)[1][0]) > 5
    assert PAGE.outcome(case) == ("caution", "a spoilt ring")


@each
def test_the_sentence_of_the_field(cases, name):
    hand, words = SEEN[name], drawn(0, cases[name]).reading
    third = third_of(drawn(0, cases[name]))
    assert_says("A turn links up to {} mWb; {} turns give {} V·s/rad a coil", words, 1e3 * hand.flux(), hand.turns,
                hand.turns * 6 * hand.flux(), rel=UNROLLED)
    assert_says("third harmonic {} % of the flux", words, 100 * abs(third))
    assert ("nearly a sine" in words) == (abs(3 * third) < 0.08)
    assert ("far from a sine" in words) == (abs(3 * third) > 0.08)
    assert PAGE.outcome(cases[name]) == ("ok", "a ring as it should be")


# ---------------------------------------------------------------- routes
def test_the_picture_of_the_routes(cases):
    hand, case = DEMO, cases["demo"]
    seen = drawn(1, case)
    clear, flux = seen.curve("route_integral")
    for at in (1.5, 5.5):
        other = dataclasses.replace(hand, clearance=at / 1e3)
        assert float(np.interp(at, clear, flux)) == pytest.approx(1e3 * other.flux(), rel=2e-3)
        assert float(np.interp(at, *seen.curve("route_map"))) == pytest.approx(1e3 * other.flux(), rel=UNROLLED + 0.01)
    assert (seen.curve("route_endless")[1] > flux).all()
    assert seen.upright_lines() == [1.5]
    rows = seen_rows(PAGE, case, 1)
    base = rows["Map of the real ring"].value
    (x, y), = seen.marks("D")
    assert (x, y) == (1.5, pytest.approx(base * (1 + rows["magpylib, in three dimensions"].value / 100), rel=2e-3))
    assert_says("At {} mm the map says {} mWb;", seen.reading, 1.5, 1e3 * hand.flux(), rel=UNROLLED)
    for words, label in (("magpylib", "magpylib, in three dimensions"), ("the integral", "Coil as long as it is"),
                         ("the closed form", "Endless coil")):
        said = plain(seen.reading).partition(f"{words} ")[2].replace("the same", "0 %").split(" %")[0]
        assert float(said) == pytest.approx(rows[label].value, abs=0.06)
    assert_says("more costs {} %.", seen.reading, 100 * (1 - hand.flux(more=1e-3) / hand.flux()), rel=3e-3)
    for words, y in seen.names().items():
        curve = {"map": "route_map", "coil": "route_integral", "endless": "route_endless"}[words.split()[0]]
        assert y == pytest.approx(seen.curve(curve)[1][-1])
    ends = seen.names()
    assert ends["endless coil"] > ends["coil as long as it is"] > 0.9 * ends["map of the real ring"]


# ---------------------------------------------------------------- pull and spin
@each
def test_the_picture_of_pull_and_spin(cases, name):
    hand, seen = SEEN[name], drawn(2, cases[name])
    gaps, pulls = seen.curve("rotor_pull")
    for gap in (0.7 * hand.gap, hand.gap, 1.6 * hand.gap):
        assert float(np.interp(1e3 * gap, gaps, pulls)) == pytest.approx(hand.pull(gap), rel=2 * UNROLLED)
    pull = hand.pull(hand.gap)
    assert seen.marks("o") == [(pytest.approx(1e3 * hand.gap), pytest.approx(pull, rel=2 * UNROLLED))]
    assert seen.upright_lines() == [pytest.approx(1e3 * hand.gap)]
    assert_says("At {} mm it pulls with {} N, as {} kg would weigh: {} N for each magnet. A millimetre closer it is {} N",
                seen.reading, 1e3 * hand.gap, pull, pull / 9.80665, pull / 12, hand.pull(hand.gap - 1e-3), rel=2 * UNROLLED)
    energy, words = hand.inertia * hand.speed**2 / 2, seen.all_words()
    for template, values in (("At {} rad/s, {} rpm:", (hand.speed, hand.speed * 60 / math.tau)),
                             ("each magnet flies out with {} N,", (hand.flies,)),
                             ("{} kPa in its glue;", (hand.flies / hand.magnet[1] / 1e3,)),
                             ("rim {} m/s, {} MPa at the disc's hole;", (hand.rim * hand.speed, hand.stress / 1e6)),
                             ("{} J turn, as a kilogram dropped", (energy,)), ("from {} m.", (energy / 9.80665,))):
        assert_says(template, words, *values)
        assert_says(template, seen.alt, *values)


def test_with_nothing_across_nothing_pulls():
    case = PAGE.model(TRIKE.change(magnets={"iron": "behind"}), DAY)
    seen = drawn(2, case)
    assert "nothing pulls the rotor" in seen.reading
    assert seen.curves("rotor_pull") == []
    assert [row.text for row in list(seen_rows(PAGE, case, 2).values())[:3]] == ["none"] * 3


# ---------------------------------------------------------------- heat
@each
def test_the_picture_of_heat(cases, name):
    hand, seen = SEEN[name], drawn(3, cases[name])
    for stroke, cold, within in (("lone_face", hand.lone(), 1e-3), ("placed_face", hand.placed(), 0.03)):
        x, y = two_points(seen, stroke)
        for celsius in (20.0, 100.0):
            assert float(np.interp(celsius, x, y)) == pytest.approx(cold * (1 - 0.0012 * (celsius - 20)) / 1e3, rel=within)
    x, y = two_points(seen, "knee")
    assert float(np.interp(20.0, x, y)) == pytest.approx(hand.knee(20.0) / 1e3, rel=1e-6)
    assert float(np.interp(90.0, x, y)) == pytest.approx(hand.knee(90.0) / 1e3, rel=1e-6)
    corners = seen.areas()[0]  # what is lost for good is above the knee
    assert corners[:, 1].min() == pytest.approx(y.min(), abs=1e-6)
    assert corners[:, 1].max() > y.max()
    assert seen.upright_lines() == [pytest.approx(hand.warm)]
    names = seen.names()
    assert names["alone, face"] == pytest.approx(hand.lone() * (1 - 0.0012 * 140) / 1e3, rel=1e-3)
    assert names["in its place"] == pytest.approx(hand.placed() * (1 - 0.0012 * 140) / 1e3, rel=0.03)
    assert names["knee: above, it loses for good"] == pytest.approx(
        max(hand.knee(160.0) / 1e3, seen.axes[0].get_ylim()[0]), rel=1e-6)
    alone, there = hand.meets(hand.lone()), hand.meets(hand.placed())
    grade = {"demo": "N42", "changed": "N38"}[name]
    assert_says(f"Grade {grade}: alone it meets the knee at about {{}} °C, in its place at {{}} °C.", seen.reading, alone, there,
                rel=0.02)
    assert ("Worst is the loose magnet" in seen.reading) == (alone < there)
    assert ("In its place it stands worst" in seen.reading) == (alone > there)


def two_points(seen, stroke):
    """A curve of two points, which `curves` takes for a line of its own."""
    from matplotlib.colors import same_color

    style = seen.look.stroke(stroke)
    found = [line for line in seen.axes[0].lines if same_color(line.get_color(), style["color"]) and len(line.get_xdata()) == 2
             and line.get_xdata()[0] != line.get_xdata()[1] and line.get_transform() == seen.axes[0].transData
             and dash_of(line) == dash_of_style(style)]
    assert len(found) == 1, stroke
    return np.asarray(found[0].get_xdata(), float), np.asarray(found[0].get_ydata(), float)


def dash_of(line):
    return line._unscaled_dash_pattern


def dash_of_style(style):
    from matplotlib.lines import Line2D

    return Line2D([], [], ls=style["ls"])._unscaled_dash_pattern


# ---------------------------------------------------------------- steel, small parts, plates
@each
def test_the_picture_of_the_steel(cases, name):
    hand, seen = SEEN[name], drawn(4, cases[name])
    thick, load = seen.curve("steel_load")
    for at in (5.0, 9.0):
        assert float(np.interp(at, thick, load)) == pytest.approx(hand.carried(at / 1e3), rel=5e-3)  # 45 points of a hyperbola
    now = hand.carried(hand.steel)
    assert seen.marks("o") == [(pytest.approx(1e3 * hand.steel), pytest.approx(now, rel=2e-3))]
    assert_says("The steel carries {} T," if now < 2 else "The steel would have to carry {} T", seen.reading, now)
    assert ("below 1.5 T" in seen.reading) == (now < 1.5)
    names = seen.names()
    assert names["mild steel carries easily"] == pytest.approx(1.5)
    assert names["would have to carry"] == pytest.approx(hand.carried(0.012), rel=2e-3)


@each
def test_the_picture_of_small_steel(cases, name):
    seen, ring = drawn(5, cases[name]), cases[name].sound
    masses = {"stray_screw": "screw M5 x 25", "stray_spanner": "spanner", "stray_rule": "steel rule", "stray_nut": "nut M8",
              "stray_chain": "each link of a run of 06B chain"}
    for stroke, part in masses.items():
        x, y = seen.curve(stroke)
        at = 20.0
        times = float(pull_curve(ring, PARTS[part], [at / 1e3], "beside the rim")[0]) / PARTS[part].weight
        assert float(np.interp(math.log10(at), x, y)) == pytest.approx(math.log10(times), abs=0.01)
    held = {"demo": 5.0, "changed": 12.0}[name]
    assert sorted(seen.level_lines()) == [0.0, pytest.approx(math.log10(held / (0.0039 * 9.80665)))]
    assert_says("a link held with {} N", seen.all_words(), held)
    rows = seen_rows(PAGE, cases[name], 5)
    far = max((row for label, row in rows.items() if label.endswith("stays from")), key=lambda row: row.value)
    label = next(k for k, row in rows.items() if row is far)
    flies = "flies to the magnets from {} mm"
    if label.startswith("Slack"):
        assert flies.split(" {")[0] not in seen.reading
    else:
        assert_says(f"a {label.split()[0].lower()}", seen.reading)
        assert_says(flies, seen.reading, far.value, rel=0.005)
    assert_says("a slack run of chain lifts from {} mm", seen.reading, rows["Slack chain stays from"].value, rel=0.005)
    assert_says("a link held with {} N may come to {} mm.", seen.reading, held, rows["Held link comes to"].value, rel=0.005)
    assert seen.reading.startswith("Beside the rim")
    ends = {words: float(np.interp(1.0, *seen.curve(stroke))) for words, stroke in zip(
        ("screw M5 x 25", "spanner", "steel rule", "nut M8", "link of chain 06B"), masses, strict=True)}
    assert seen.names() == {words: pytest.approx(y, abs=0.02) for words, y in ends.items()}


@each
def test_the_picture_of_a_plate(cases, name):
    day, seen = {"demo": DAY, "changed": OTHER_DAY}[name], drawn(6, cases[name])
    ring = cases[name].sound
    for metres in (0.001, 0.003):
        plate = Plate.of(ring, distance=metres, thick=day["plate_thickness"], metal=day["metal"])
        for stroke, watts in zip(("plate_whole", "plate_slit"), plate.losses(day["speed"], day["strip"]), strict=True):
            assert 10 ** float(np.interp(1e3 * metres, *seen.curve(stroke))) == pytest.approx(watts, rel=0.03)  # 22 places
    assert seen.upright_lines() == [pytest.approx(1e3 * day["distance"])]
    rows = seen_rows(PAGE, cases[name], 6)
    assert_says(f"{{}} mm of {day['metal']} at {{}} mm takes {{}} W at {{}} rad/s, a torque of {{}} N·m", seen.reading,
                1e3 * day["plate_thickness"], 1e3 * day["distance"], rows["The plate takes"].value, day["speed"],
                rows["The plate takes"].value / day["speed"], rel=3e-3)
    assert_says("slit into strips of {} mm {} W.", seen.reading, 1e3 * day["strip"], rows["Slit into strips"].value, rel=3e-3)
    (whole, (_, up)), (slit, (_, down)) = sorted(seen.words().items(), key=lambda item: -item[1][1])
    assert (whole, slit) == ("whole plate", "slit into strips")
    assert up > down


def test_a_plate_that_does_not_fit_and_one_that_does_not_conduct_are_told():
    case = PAGE.model(TRIKE, DAY | {"distance": 0.010})  # 10 mm and 6 mm into a gap of 14 mm
    assert_says("{} mm of aluminium 6061 at {} mm does not fit into a gap of {} mm.", drawn(6, case).reading, 6.0, 10.0, 14.0)
    assert [row.text for row in seen_rows(PAGE, case, 6).values()] == ["none"] * 3


def test_a_pinned_case_is_grey_behind(cases):
    for index in (0, 2, 3, 4, 5, 6):
        seen = drawn(index, cases["demo"], cases["changed"])
        assert "thin grey: pinned" in seen.all_words()
        assert "thin grey: pinned" not in drawn(index, cases["demo"]).all_words()
        grey = [line for axes in seen.axes for line in axes.lines if line.get_linewidth() == 1.1]
        assert grey
        assert any(len(line.get_xdata()) for line in grey)


def test_the_equations_are_worked_with_the_file():
    k, mass = math.pi / DEMO.pitch, DEMO.magnet[0]
    x = k * DEMO.coil / 2
    peak = DEMO.field(0.0, 0.0, 0.007)
    assert_worked(magnets_page.worked(TRIKE), [
        ("axis_field", 0.65 * (17 / math.hypot(15, 17) - 7 / math.hypot(15, 7))), ("pole_pitch", DEMO.pitch), ("wave_number", k),
        ("two_rotor_transfer", float(DEMO.share(k, 0.007))), ("thickness_factor", math.sinh(x) / x),
        ("hot_remanence", 1.30 * (1 - 0.0012 * 60)), ("hot_coercivity", 955e3 * (1 - 0.006 * 60)),
        ("disc_factor", 1 - 0.5 * 10 / math.hypot(10, 15)), ("magnetic_pressure", peak**2 / (2 * MU0), 4 * UNROLLED),
        ("centrifugal_force", mass * 0.078 * 60.0**2), ("rotor_energy", DEMO.inertia * 60.0**2 / 2),
        ("steel_load", DEMO.carried(0.006), 2e-3), ("critical_speed", 2 / (MU0 * 25e6 * 0.006))])
    names = [row.equation.__name__ for row in magnets_page.worked(CHANGED).rows]
    assert "strip_harmonic" in names
    assert "plate_transfer" in names
    for iron, name in (("none", "free_transfer"), ("behind", "backed_transfer")):
        rows = magnets_page.worked(TRIKE.change(magnets={"iron": iron})).rows
        assert [row.equation.__name__ for row in rows if "transfer" in row.equation.__name__] == [name]
        assert ("steel_load" in [row.equation.__name__ for row in rows]) == (iron == "behind")
