"""What a learner reads on the page of the store: rows, sentences and what is drawn, against plain formulas (`by_hand`)."""

from __future__ import annotations

import math

import by_hand as hand
import numpy as np
import pytest
from what_is_seen import Drawn, assert_rows, assert_says, seen_rows

import evlab
from evlab.workbench import store_page

RUN = 1e-3  # the second route goes in steps of 5 ms
RHO = 1.7241e-8  # ohm m, copper at 20 degC (IEC 60028)
CASES = {
    "as in the file": ({}, {}),
    "changed": ({"store.charge_voltage": 33.0, "store.cell_capacitance": 500.0, "store.joint_resistance": 0.0005,
                 "store.slow_share": 0.05, "store.bleed_resistance": 220.0, "store.cell_leakage": 0.002, "store.lead_area": 10e-6,
                 "controller.stop_voltage": 16.0},
                {"power": 900.0, "current": 60.0, "load": 2.0, "low": -0.05, "high": 0.1, "leak_factor": 3.0, "float_days": 60.0,
                 "lead_length": 2.0}),
}


class Both:
    """One case by the page's own model, and by hand."""

    def __init__(self, name):
        changes, day = CASES[name]
        trike, self.changes = evlab.load_vehicle("two_shed_trike"), changes
        self.page = store_page.make_page(trike)
        self.day = {k.name: k.start for k in self.page.knobs if k.start is not None} | day
        self.case = self.page.model(trike.change(changes), self.day)
        self.v = hand.vehicle(**{key.replace(".", "__"): value for key, value in changes.items()})
        self.runs = [hand.discharge(self.v, kind, self.day[key]) for kind, key in (
            ("power", "power"), ("current", "current"), ("resistor", "load"))]
        self.pack = hand.vehicle("kick_scooter")

    def picture(self, title):
        picture = next(p for p in self.page.pictures if p.title == title)
        frame = self.page.frame(self.case.vehicle)
        return Drawn(picture.build(self.page.widen(frame, self.case)), self.case)


@pytest.fixture(scope="module", params=CASES)
def both(request):
    return Both(request.param)


# ---------------------------------------------------------------- what comes out, and what stays
def test_what_comes_out_and_what_stays_row_by_row(both):
    power, current, resistor = both.runs
    assert_rows(seen_rows(both.page, both.case, 0), {
        "Time at that power": (power["time"], "s", RUN), "Energy given": (power["used"] / 1e3, "kJ", RUN),
        "Of all that was in it": (100 * power["used"] / power["stored"], "%", RUN), "Amps at the end": (power["amps"][1], "A", RUN),
        "Collapse below (inside)": (2 * math.sqrt(both.day["power"] * hand.store_ohm(both.v)), "V"),
        "Time at that current": (current["time"], "s", RUN), "Time through the resistor": (resistor["time"], "s", RUN)})
    assert_rows(seen_rows(both.page, both.case, 1), {
        "In it when charged": (power["stored"] / 1e3, "kJ"), "Used at that power": (power["used"] / 1e3, "kJ", RUN),
        "Left below the stop volts": (power["left"] / 1e3, "kJ", RUN), "Heat in its ohms": (power["esr"] / 1e3, "kJ", RUN),
        "Heat between branches": (power["slow"] / 1e3, "kJ", 3 * RUN)})


def test_the_picture_of_what_comes_out_and_its_sentence(both):
    drawn = both.picture("What comes out")
    for axes, column in enumerate((1, 2, 3)):
        for name, run in zip(("constant_power", "constant_current", "resistor_load"), both.runs, strict=True):
            quantity = ("store_volts", "store_amps", "given_energy")[axes]
            x, y = drawn.curve(name, axes, colour=drawn.look.line(quantity))
            assert (x[0], x[-1]) == (0, pytest.approx(run["time"], rel=RUN))
            wanted = np.interp(x, run["rows"][:, 0], run["rows"][:, column]) * (1e-3 if column == 3 else 1)
            assert y == pytest.approx(wanted, rel=2 * RUN, abs=0.02)
    d, (power, current, resistor) = both.day, both.runs
    assert_says("Constant power ({} W) reaches the stop volts after {} s with {} kJ given; constant current ({} A) reaches the "
                "stop volts after {} s with {} kJ given; resistor ({} Ω) reaches the stop volts after {} s with {} kJ given.",
                drawn.reading, d["power"], power["time"], power["used"] / 1e3, d["current"], current["time"], current["used"] / 1e3,
                d["load"], resistor["time"], resistor["used"] / 1e3, rel=RUN)
    words = drawn.all_words()
    assert_says("stop at {} V", words, both.v.controller.stop_voltage)
    assert_says("gave {} kJ | gave {} kJ | gave {} kJ", words, *(run["used"] / 1e3 for run in both.runs), rel=RUN)
    assert_says("constant power, top {} A; constant current, top {} A; resistor, top {} A", drawn.alt, power["amps"][1],
                d["current"], resistor["amps"][0], rel=RUN)


def test_the_picture_of_where_the_joules_stay_and_its_sentence(both):
    drawn = both.picture("Where the joules stay")
    wide = sum(w for _, _, w, _ in drawn.bars()[:4])
    for i, run in enumerate(both.runs):
        shares = [w / wide for _, _, w, _ in drawn.bars()[4 * i:4 * i + 4]]
        assert shares == pytest.approx([run[k] / run["stored"] for k in ("used", "esr", "slow", "left")], abs=0.004)
    for run, words in zip(both.runs, drawn.all_words().split("kJ in all")[1:], strict=True):
        for key, name in (("used", "used"), ("esr", "store ESR"), ("slow", "slow branch"), ("left", "left inside")):
            assert_says(f"{name} {{}} kJ {{}} %", words, run[key] / 1e3, 100 * run[key] / run["stored"], rel=3 * RUN)
    first = both.runs[0]
    hottest = max(both.runs, key=lambda r: r["esr"])
    name = ("constant power", "constant current", "resistor")[both.runs.index(hottest)]
    assert first["left"] > max(first["esr"], first["slow"])
    assert_says("Constant power uses {} % of {} kJ; of the rest most, {} kJ, is left in the store when it stops; the ESR takes "
                f"most at {name}, {{}} kJ.", drawn.reading, 100 * first["used"] / first["stored"], first["stored"] / 1e3,
                first["left"] / 1e3, hottest["esr"] / 1e3, rel=RUN)


# ---------------------------------------------------------------- cells
def fullest(both):
    """(mean, 95th in a hundred, worst case, safe volts, share over the rated volts) of 40 000 strings drawn apart."""
    s, low, high, n = both.v.store, 1 + both.day["low"], 1 + both.day["high"], 14
    farads = np.random.default_rng(2026).uniform(low, high, (40_000, n))
    highest = s.charge_voltage / (farads.min(axis=1) * (1 / farads).sum(axis=1))
    worst = s.charge_voltage / (1 + (n - 1) * low / high)
    return (highest.mean(), np.quantile(highest, 0.95), worst, s.cell_rated_voltage * (1 + (n - 1) * low / high),
            np.mean(highest > s.cell_rated_voltage))


def test_the_fullest_cell_row_by_row_drawn_and_said(both):
    mean, p95, worst, safe, over = fullest(both)
    draw = 1e-3  # other draws of as many strings
    average = both.v.store.charge_voltage / 14
    assert_rows(seen_rows(both.page, both.case, 2), {
        "Mean cell": (average, "V"), "Fullest, on average": (mean, "V", draw), "Fullest, 95 % stay below": (p95, "V", draw),
        "Fullest, worst case": (worst, "V"), "Safe bank volts": (safe, "V")})
    drawn = both.picture("The fullest cell")
    words = drawn.all_words()
    for told, volts in (("mean cell {} V", average), ("95 % of strings below {} V", p95), ("worst case {} V", worst),
                        ("rated {} V", 2.7), ("surge {} V", 2.85)):
        assert_says(told, words, volts, rel=draw)
        assert min(abs(at - volts) for at in drawn.upright_lines()) < 2e-3 * volts
    assert_says("The mean cell stands at {} V, the fullest one at {} V in a string of average luck and {} V in the worst case; ",
                drawn.reading, average, mean, worst, rel=draw)
    if over:
        assert_says("{} % of all strings pass the rated {} V", drawn.reading, 100 * over, 2.7, rel=0.01)
    else:
        assert_says("no string passes the rated {} V", drawn.reading, 2.7)
    assert_says("charged to {} V, even the worst case stays at its rating.", drawn.reading, safe)
    bars = drawn.axes[0].patches
    inside = sum(patch.get_data().values.sum() for patch in bars)
    assert inside == pytest.approx(100, abs=0.01), "all strings are in the histogram"
    middle = sum((patch.get_data().values * (patch.get_data().edges[1:] + patch.get_data().edges[:-1]) / 2).sum() for patch in bars)
    assert middle / 100 == pytest.approx(mean, rel=2e-3)


def test_a_month_on_the_charger_row_by_row_drawn_and_said(both):
    d, ohm = both.day, hand.bleeder(both.v)
    alone = hand.month(both.v, d["float_days"], d["leak_factor"])
    bled = hand.month(both.v, d["float_days"], d["leak_factor"], ohm)
    assert_rows(seen_rows(both.page, both.case, 3), {
        "Odd cell, no bleeders": (alone[0], "V", RUN), "Others, no bleeders": (alone[1], "V", RUN),
        "Odd cell, bleeders": (bled[0], "V", RUN), "Others, bleeders": (bled[1], "V", RUN), "Bleeder": (ohm, "Ω")})
    drawn = both.picture("A month on the charger")
    for stroke, (odd, others) in (("without_bleeders", alone), ("with_bleeders", bled)):
        ends = sorted(y[-1] for _, y in drawn.curves(stroke))
        assert ends == pytest.approx(sorted((odd, others)), rel=RUN)
        assert all(x[-1] == pytest.approx(d["float_days"]) for x, _ in drawn.curves(stroke))
        assert all(y[0] == pytest.approx(both.v.store.charge_voltage / 14) for _, y in drawn.curves(stroke))
        half = hand.month(both.v, d["float_days"] / 2, d["leak_factor"], math.inf if stroke == "without_bleeders" else ohm)
        middles = sorted(float(np.interp(d["float_days"] / 2, x, y)) for x, y in drawn.curves(stroke))
        assert middles == pytest.approx(sorted(half), rel=3 * RUN)
    names = drawn.names()
    for cell, words, volts in (("odd cell", "without", alone[0]), ("others", "without", alone[1]), ("odd cell", "with", bled[0]),
                               ("others", "with", bled[1])):
        name = next(n for n in names if n.startswith(cell) and n.endswith(f" {words} bleeders"))
        assert_says(cell + " {} V", name, volts, rel=RUN)
        assert names[name] == pytest.approx(volts, rel=2e-3)
    assert_says("After {} days on the float, without bleeders the odd cell stands at {} V and the others at {} V, with bleeders "
                "the odd cell stands at {} V and the others at {} V.", drawn.reading, d["float_days"], *alone, *bled, rel=RUN)


def test_how_long_it_holds_row_by_row_drawn_and_said(both):
    s = both.v.store
    leak, ohm = s.cell_rated_voltage / s.cell_leakage, hand.bleeder(both.v)
    both_ohms = leak * ohm / (leak + ohm)

    def until(ohms, share):
        return ohms * s.cell_capacitance * math.log(1 / share)

    assert_rows(seen_rows(both.page, both.case, 4), {
        "90 % of the volts, alone": (until(leak, 0.9) / 3600, "h"), "90 %, with bleeders": (until(both_ohms, 0.9) / 3600, "h"),
        "Half, alone": (until(leak, 0.5) / 3600, "h"), "Half, with bleeders": (until(both_ohms, 0.5) / 3600, "h"),
        "Heat of a bleeder": (1e3 * (s.charge_voltage / 14) ** 2 / ohm, "mW")})
    drawn = both.picture("How long it holds")
    for stroke, ohms in (("without_bleeders", leak), ("with_bleeders", both_ohms)):
        x, y = drawn.curve(stroke)
        keep = (x > 3) & (x < 6.4)
        assert y[keep] == pytest.approx(100 * np.exp(-(10 ** x[keep]) / ohms / s.cell_capacitance), abs=0.3)
    assert_says("Nine tenths of the volts last for {} h with leakage alone and for {} h with bleeders.", drawn.reading,
                until(leak, 0.9) / 3600, until(both_ohms, 0.9) / 3600, rel=2e-3)  # read off a drawn line


# ---------------------------------------------------------------- a short, and the pack
WIRES = (1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0)  # mm2, IEC 60228
BEARS = 115.0  # A s^1/2 / mm2: copper in PVC, 70 degC to 160 degC (IEC 60364-4-43)


def test_if_it_is_shorted_row_by_row_drawn_and_said(both):
    v, area = both.v, both.v.store.lead_area
    ohms = hand.store_ohm(v) + RHO * both.day["lead_length"] / area
    current, tau = v.store.charge_voltage / ohms, ohms * hand.farad(v)
    whole = current**2 * tau / 2
    fitting = min(a for a in WIRES if (BEARS * a) ** 2 >= whole)
    assert_rows(seen_rows(both.page, both.case, 5), {
        "First current": (current, "A"), "Time constant": (tau, "s"), "Total I²t": (whole / 1e3, "kA²s", 0.002),
        "Smallest wire that bears it": (fitting, "mm²")})
    drawn = both.picture("If it is shorted")
    x, y = drawn.curve("short_amps")
    so_far = whole * (1 - np.exp(-2 * 10**x / tau))
    there = so_far > 1e3
    assert y[there] == pytest.approx(np.log10(so_far[there]), abs=0.012)  # straight pieces
    burnt = max(a for a in WIRES if (BEARS * a) ** 2 < whole)
    when = -tau / 2 * math.log(1 - (BEARS * burnt) ** 2 / whole)
    assert when < 5
    assert any(a == pytest.approx(math.log10(when), abs=0.02) and b == pytest.approx(math.log10((BEARS * burnt) ** 2), abs=0.01)
               for a, b in drawn.marks("x"))
    size, word = (1e6, "million") if whole >= 1e6 else (1e3, "thousand")
    assert_says("A dead short begins at {} A and puts {} " + word + " A²s through the loop (E/R): {} mm² is past its "
                "limit after {} s, {} mm² bears all of it; only the fuse of {} A could end it sooner.", drawn.reading, current,
                whole / size, burnt, when, fitting, 50, rel=0.003)  # the trapezoids of the curve
    words, names = drawn.all_words(), drawn.names()
    assert_says("begins at {} A", words, current)
    assert_says("is a wire's limit up to {} s", words, 5)
    assert_says("fuse rated {} A", words, 50)
    for wire in (burnt, fitting):
        assert names[f"{wire:g} mm² wire"] == pytest.approx(math.log10((BEARS * wire) ** 2), abs=0.01)
    assert names["all of it: E/R"] == pytest.approx(math.log10(whole), abs=0.01)


def bank_joules(v, power):
    """What the bank of two branches gives at a constant power until its stop volts, step by step; the page's closed form, with the
    share of the slow branch that has time to answer, is within 2 % of it."""
    return hand.discharge(v, "power", power)["used"]


def test_the_pack_beside_it_row_by_row_drawn_and_said(both):
    power, s = both.day["power"], both.v.store
    mine, pack = bank_joules(both.v, power), hand.pack_energy(both.pack, power)
    usable = (1 - (both.v.controller.stop_voltage / s.charge_voltage) ** 2) * hand.farad(both.v) * s.charge_voltage**2 / 2
    by_energy, by_power = usable / (0.8 * 3 * 3600 * 3.6), power / (15 * (3.6 - 15 * 0.025))
    assert_rows(seen_rows(both.page, both.case, 6), {
        "This store, at that power": (mine / 3600, "Wh", 0.02), "The pack, at that power": (pack / 3600, "Wh", 2e-3),
        "This store": (3.6, "kg"), "The pack": (0.95, "kg"), "Its cells, by energy": (math.ceil(by_energy), ""),
        "Its cells, by power": (math.ceil(by_power), "")})
    drawn = both.picture("Capacitors or lithium")
    trip = hand.ride(hand.vehicle(), hand.way())  # the trip stays that of the vehicle as it was opened
    watts, joules = trip["given"] / trip["time"], trip["given"]
    x, y = drawn.curve("this_store")
    at = np.linspace(0.1, 0.9, 9) * (len(x) - 1)
    for i in at.astype(int):
        assert 10 ** y[i] * 3600 == pytest.approx(bank_joules(both.v, 10 ** x[i]), rel=0.02)
    x, y = drawn.curve("other_store")
    for i in (10, len(x) // 2, len(x) - 8):
        assert 10 ** y[i] * 3600 == pytest.approx(hand.pack_energy(both.pack, 10 ** x[i]), rel=0.01)
    top = max(row[4] * row[5] for row in trip["rows"])
    dots = [(10**a, 10**b) for a, b in drawn.marks("o")]
    for wanted in (watts, top):
        assert any(a == pytest.approx(wanted, rel=2e-3) and b == pytest.approx(joules / 3600, rel=2e-3) for a, b in dots)
    both_give = bank_joules(both.v, watts), hand.pack_energy(both.pack, watts)
    enough = both_give[0] >= joules
    share = both_give[0] / joules * (1 if enough else 100)
    assert_says("At {} W (the trip, mean power) this is given: this bank {} Wh ({} " + ("times" if enough else "% of") + " what is "
                "asked), the pack beside it {} Wh ({} times what is asked).", drawn.reading, watts, both_give[0] / 3600, share,
                both_give[1] / 3600, both_give[1] / joules, rel=0.01)  # read off a drawn line
