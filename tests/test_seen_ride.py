"""What a learner reads on the page of the ride: rows, sentences and what is drawn, against the ride of `by_hand`."""

from __future__ import annotations

import by_hand as hand
import independent_ride
import numpy as np
import pytest
from what_is_seen import Drawn, assert_rows, assert_says, first_number, seen_rows

import evlab
from evlab.workbench import ride_page

RUN = 3e-3  # the second route goes in steps of 20 ms, and a ride that is cut off ends up to one of them later
CASES = {
    "as in the file": ({}, {}, {}),
    "changed": ({"load.cargo": 20.0, "road.rolling_coefficient": 0.016, "road.drag_area": 0.7, "store.cell_capacitance": 600.0,
                 "gearing.wheel_teeth": 70, "driver.pedalling_power": 60.0},
                {"start_share": 20 / 35, "head_wind": 2.0, "warmer": 25.0},
                {"legs": 60.0, "volts": 20.0, "wind": 2.0, "warmer": 25.0}),
}
PLACE, SPEED, AMPS, BANK, VOLTS, COIL, INSIDE, SLOW = range(1, 9)  # of the rows by hand


class Both:
    """One case by the page's own model, and by hand."""

    def __init__(self, name):
        changes, day, asked = CASES[name]
        trike, self.page = evlab.load_vehicle("two_shed_trike"), ride_page.make_page("two_sheds_up")
        self.day = {k.name: k.start for k in self.page.knobs if k.start is not None} | day
        self.case = self.page.model(trike.change(changes), self.day)
        fields = {key.replace(".", "__"): value for key, value in changes.items() if key != "driver.pedalling_power"}
        self.v, self.fields, self.asked = hand.vehicle(**fields), fields, asked
        self.run = hand.ride(self.v, hand.way(), **asked)
        self.rows = self.run["rows"]

    def picture(self, title):
        picture = next(p for p in self.page.pictures if p.title == title)
        return Drawn(picture.build(self.page.widen(self.page.frame(self.case.vehicle), self.case)), self.case, size=(9.0, 6.4))

    def terms(self):
        """{term: joules} as the ledger counts them; motion is what is left."""
        r = self.run
        made = {k: r[k] for k in hand.TERMS if k != "rider"}
        return made | {"kinetic": r["given"] + r["rider"] - sum(made.values())}


@pytest.fixture(scope="module", params=CASES)
def both(request):
    return Both(request.param)


def test_a_ride_row_by_row(both):
    r = both.run
    for index in range(5):
        assert_rows(seen_rows(both.page, both.case, index), {
            "Way done": (r["place"], "m", RUN), "Time": (r["time"], "s", RUN), "Store at the end": (r["volts"], "V", RUN),
            "From the store": (r["given"] / 1e3, "kJ", RUN), "Motor amps, top": (r["amps"], "A", RUN),
            "Store amps, top": (r["bank_amps"], "A", RUN), "Coil at the end": (r["coil"] - 273.15, "°C", RUN)})


def test_the_strips_along_the_way_and_their_sentence(both):
    drawn, r, rows, c = both.picture("Along the way"), both.run, both.rows, both.v.controller
    turning = rows[:, SPEED] * hand.lever(both.v)
    ohms = both.v.motor.resistance * (1 + hand.ALPHA * (rows[:, COIL] - 293.15)) + c.bridge_resistance
    duty = (hand.constant(both.v) * turning + rows[:, AMPS] * ohms) / rows[:, VOLTS]
    curves = {"speed": (1, rows[:, SPEED]), "store_volts": (2, rows[:, VOLTS]), "motor_amps": (3, rows[:, AMPS]),
              "store_amps": (3, rows[:, BANK]), "duty": (4, 100 * duty), "coil_temperature": (5, rows[:, COIL] - 273.15)}
    for name, (axes, values) in curves.items():
        x, y = drawn.curve(name, axes)
        assert x[-1] == pytest.approx(r["place"], rel=RUN)
        keep = (x > 1) & (np.abs(x - 130) > 4) & (np.abs(x - 71) > 3) & (x < min(173, r["place"] - 0.5))  # where it is not steep
        wanted = np.interp(x[keep], rows[:, PLACE], values)
        assert y[keep] == pytest.approx(wanted, rel=0.01, abs=0.01 * np.ptp(values)), name
    held = duty > c.duty_limit * (1 - 1e-6)
    metres = float((rows[:, SPEED] * held).sum() * 0.02)
    if r["outcome"] == "arrived":
        assert_says("The ride arrives after {} s with {} V left", drawn.reading, r["time"], r["volts"], rel=RUN)
    else:
        assert_says("The ride is cut off at {} m after {} s with {} V left", drawn.reading, r["place"], r["time"],
                    r["volts"], rel=RUN)
        assert r["volts"] == pytest.approx(c.stop_voltage, rel=2e-3)
    if metres >= 1:
        assert_says("for {} m the duty limit holds it back", drawn.reading, metres, rel=0.02)
    words = drawn.all_words()
    for told, *values in (
            ("mean {} m/s", r["place"] / r["time"]), ("ends {} V", r["volts"]), ("stop volts {} V", c.stop_voltage),
            ("top {} A", r["amps"]), ("limits {}, {} A", -c.braking_current_limit, c.coil_current_limit), ("limit {} A", 45),
            ("ends {} °C", r["coil"] - 273.15), ("limit {} °C", 90), ("steepest {} %", 7)):
        assert_says(told, words, *values, rel=RUN)
    first = 35.0 if both.asked.get("volts") is None else 20.0
    begins = hand.volts_under(first, hand.store_ohm(both.v), rows[0, VOLTS] * rows[0, BANK])
    assert_says("store volts {} to {} V", drawn.alt, begins, r["volts"], rel=RUN)
    assert_says("store amps up to {} A", drawn.alt, r["bank_amps"], rel=RUN)


def test_where_the_energy_went_and_its_sentence(both):
    drawn, terms, r = both.picture("Where the energy went"), both.terms(), both.run
    total = r["given"] + r["rider"]
    lost = {k: v for k, v in terms.items() if k not in ("lift", "kinetic")}
    most = max(lost, key=lost.get)
    assert most == "rolling"
    who = "The store and the rider" if 0 < r["rider"] < r["given"] else "The store"
    assert_says(who + " gave {} J; {} % of it is kept in height and motion; the largest loss is rolling with {} J.", drawn.reading,
                total, 100 * (terms["lift"] + terms["kinetic"]) / total, terms["rolling"], rel=2e-3)
    whole = 868.0  # the ruler on nine inches, less its margins
    wide = [w for _, _, w, _ in drawn.bars()]
    for key in ("lift", "rolling", "copper"):
        assert any(w == pytest.approx(terms[key] / total * whole, rel=0.005) for w in wide), key
    words = drawn.all_words()
    for key, joules in (("lift", terms["lift"]), ("rolling", terms["rolling"]), ("air", terms["air"])):
        assert_says(f"{key} | {{}} J | {{}} %", words.replace("\u2009", " "), joules, 100 * joules / total, rel=3e-3)


def test_energy_metre_by_metre_and_its_sentence(both):
    drawn, terms, r, rows = both.picture("Energy, metre by metre"), both.terms(), both.run, both.rows
    fast, slow = (1 - both.v.store.slow_share) * hand.farad(both.v), both.v.store.slow_share * hand.farad(both.v)
    held = (fast * rows[:, INSIDE] ** 2 + slow * rows[:, SLOW] ** 2) / 2
    given = held[0] - held
    if r["rider"]:
        rider = np.cumsum(60.0 * rows[:, SPEED] / np.maximum(rows[:, SPEED], 1.0)) * 0.02
        given = given + rider
    line = max((line for line in drawn.axes[0].lines if len(line.get_xdata()) > 50), key=lambda line: line.get_ydata()[-1])
    x, y = line.get_data()
    assert y == pytest.approx(np.interp(x, rows[:, PLACE], given / 1e3), rel=0.01, abs=0.05)
    names = drawn.names()
    for key, words in (("lift", "lift"), ("rolling", "rolling")):
        name = next(n for n in names if n.startswith(words))
        assert_says(words + " {} kJ", name, terms[key] / 1e3, rel=RUN)
    whole = next(n for n in names if n.startswith("given in all" if r["rider"] else "from the store"))
    assert names[whole] == pytest.approx((r["given"] + r["rider"]) / 1e3, rel=RUN)
    assert_says("{} kJ", whole, (r["given"] + r["rider"]) / 1e3, rel=RUN)
    path = hand.Path(hand.way(), both.v.driver)
    steep = np.array([abs(path.slope(at)) >= 0.01 for at in rows[:, PLACE]])
    hilly = float(np.diff(given, prepend=0.0)[steep].sum())
    who = "The store and the rider gave" if r["rider"] else "The store gave"
    most = max((k for k in terms), key=lambda k: terms[k])
    told = {"lift": "lift", "rolling": "rolling"}[most]
    assert_says(who + " {} kJ, {} kJ of it on slopes of 1 % and more; the largest term is " + told + " with {} kJ.", drawn.reading,
                (r["given"] + r["rider"]) / 1e3, hilly / 1e3, terms[most] / 1e3, rel=0.01)  # rows of the ride, half a metre apart


def test_why_it_ended_says_values_that_turn_the_ride():
    """Just beyond each value told the ride ends otherwise; two hundredths before it, which is what the search leaves open (a
    five-hundredth of the range), it does not."""
    both = Both("as in the file")
    drawn = both.picture("Why it ended")
    words = drawn.reading
    assert_says("The ride arrives; any one of these would end it: cell capacitance {} F instead of {} F", words, 483, 650, rel=0.01)
    for field, told in (("store__cell_capacitance", "cell capacitance"), ("store__charge_voltage", "charged to")):
        number = first_number(told, words).value
        ends = [hand.ride(hand.vehicle(**{field: number * share}), hand.way())["outcome"] for share in (0.995, 1.02)]
        assert ends == ["cut-off", "arrived"], field


def test_one_against_another_and_its_sentence():
    both = Both("as in the file")
    drawn = both.picture("One against another")
    trike, scooter = evlab.load_vehicle("two_shed_trike"), evlab.load_vehicle("kick_scooter")
    swapped = trike.with_store(scooter).change({"controller.stop_voltage": 21.0, "controller.resume_voltage": 23.5})
    _, time, _, volts, *_ = independent_ride.ride(swapped, evlab.load_route("two_sheds_up"), 29.4)
    r = both.run
    assert_says("As it is arrives after {} s with {} V, {} kJ taken; with lithium arrives after {} s with {} V", drawn.reading,
                r["time"], r["volts"], r["given"] / 1e3, time, volts, rel=RUN)
    for name, ends in (("first_case", r["volts"]), ("second_case", volts)):
        _, y = drawn.curve(name, 2, colour=drawn.look.line("store_volts"))
        assert y[-1] == pytest.approx(ends, rel=2e-3)
    _, y = drawn.curve("first_case", 4, colour=drawn.look.line("given_energy"))
    assert y[-1] == pytest.approx(r["given"] / 1e3, rel=RUN)
