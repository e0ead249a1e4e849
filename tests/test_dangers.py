"""What a page shows and what it says of it: each number that can hurt is told, and a page at rest cries no wolf.

Each rule is asked just below and just above its threshold; the numbers in its sentence stand here worked by hand.
"""

import importlib
import math
from types import SimpleNamespace

import numpy as np
import pytest

import evlab
from evlab.cautions import STATES, UNMEASURED, Caution, by_change, gravest, of_charge, of_ride
from evlab.emptying import emptier
from evlab.store_case import StoreCase
from evlab.workbench.cautions_strip import CautionsStrip
from tests import by_hand as hand
from tests.test_workbench import plain

TRIKE, SCOOTER = evlab.load_vehicle("two_shed_trike"), evlab.load_vehicle("kick_scooter")
PAGES = "start", "store", "road", "magnets", "winding", "gearing", "ride", "charging", "regeneration"
VOLTS, CELLS, FARAD, OHM = 35.0, 14, 650.0, 14 * 1.0e-3 + 1.5e-3
LEAK = 2.7 / 1.5e-3  # ohm: the leakage of a cell at its rated volts


def store(**asked):
    return StoreCase(TRIKE, **asked).cautions


def said(cautions, words):
    found = [c for c in cautions if words in c.words]
    assert len(found) <= 1
    return found[0] if found else None


# ---------------------------------------------------------------- the store as its pictures show it
def fullest(high, low=0.0):
    """One smallest cell among thirteen largest ones."""
    return VOLTS / (1 + 13 * (1 + low) / (1 + high))


SURGE = hand.root(lambda h: 2.85 - fullest(h), 0.0, 0.5)
RATED = hand.root(lambda h: 2.7 - fullest(h), 0.0, 0.5)


@pytest.mark.parametrize(("high", "words", "state"), [
    (RATED - 1e-4, "", ""), (RATED + 1e-4, "might reach 2.70 V, above rated voltage (2.7 V)", "caution"),
    (SURGE - 1e-4, "might reach 2.85 V, above rated voltage (2.7 V)", "caution"),
    (SURGE + 1e-4, "might reach 2.85 V, above the surge limit of 2.85 V", "caution"),
    (0.2, "might reach 2.96 V, above the surge limit", "caution")])
def test_the_fullest_cell_that_might_be_is_told(high, words, state):
    found = said(store(high=high), "the fullest might reach")
    assert (found.state if found else "") == state
    assert words in (found.words if found else "")


def test_strings_above_the_surge_volts_are_a_danger():
    """30 % less to 30 % more: at worst 35/(1 + 13 x 0.7/1.3) = 4.375 V; the share by cells of our own drawing."""
    drawn = np.random.default_rng(77).uniform(0.7, 1.3, (20_000, CELLS))
    share = float((VOLTS / drawn.min(1) / (1 / drawn).sum(1) > 2.85).mean())
    assert 0.99 < share < 1
    found = said(store(low=-0.3, high=0.3), "have a cell above the surge limit")
    assert found.state == "danger"
    assert "Of 100 strings of such cells 99 have a cell above the surge limit of 2.85 V, 4.38 V at worst" in found.words
    assert not said(store(), "have a cell above the surge limit")


def odd_cell(leaks, days, bleed=math.inf):
    """Volts of one odd cell after so many days in a string held at 35 V: one differential equation of first order."""
    own, other = leaks / LEAK + 1 / bleed, 1 / LEAK + 1 / bleed
    ends, rate = VOLTS * other / (other + 13 * own), (other / 13 + own) / (FARAD * 14 / 13)
    return ends + (VOLTS / CELLS - ends) * math.exp(-rate * days * 86400)


LEAKY = hand.root(lambda k: odd_cell(k, 30) - 2.85, 0.2, 1.0)


def test_a_month_on_the_charger_is_judged_by_the_cell_that_is_drawn():
    assert odd_cell(0.2, 30) == pytest.approx(5.64, abs=0.005)
    found = said(store(leak_factor=0.2), "days on the charger without bleeders")
    assert found.state == "danger"
    assert "After 30 days on the charger without bleeders, the odd cell stands at 5.64 V, above the surge limit" in found.words
    assert said(store(leak_factor=LEAKY + 0.002), "on the charger without").state == "caution"
    assert said(store(leak_factor=LEAKY - 0.002), "on the charger without").state == "danger"
    assert not said(store(leak_factor=2.0), "days on the charger")


def test_with_bleeders_fitted_it_is_the_bank_with_bleeders_that_is_judged():
    bled = TRIKE.change({"store.bleed_resistance": 1000})
    volts = odd_cell(0.2, 30, 1000)
    found = said(StoreCase(bled, leak_factor=0.2).cautions, "on the charger with bleeders")
    assert found.state == ("danger" if volts > 2.85 else "caution")
    assert f"{volts:.2f} V" in found.words
    assert said(StoreCase(bled, leak_factor=0.2).cautions, "on the charger without bleeders").state == "caution"


FIFTY = hand.root(lambda ohm: ohm * (VOLTS / (ohm + OHM)) ** 2 - 50, 1.0, 100.0)


def test_a_resistor_that_empties_the_bank_is_told_in_watts_and_one_that_can_be_bought_is_named():
    """35 V over 1.0155 ohm: 1188 W in the resistor. Bought: 27 ohm, 45 W, 27.0155 x 46.43 F x ln 35 = 4459 s, 28.44 kJ."""
    found = said(store(load=1.0), "in the first instant")
    assert found.state == "caution"
    assert "A resistor of 1 Ω takes 1.19 kW in the first instant" in found.words
    assert ("27 Ω made for 100 W, screwed to metal: it takes 45 W at first, "
            "and 74 min until 1 V is left; 28.4 kJ turn to heat") in found.words
    assert said(store(load=FIFTY - 0.1), "in the first instant")
    assert not said(store(load=FIFTY + 0.1), "in the first instant")
    assert emptier(SCOOTER.store) is None


@pytest.mark.parametrize(("current", "speaks"), [(49.9, False), (50.1, True)])
def test_a_discharge_above_the_fuse(current, speaks):
    found = said(store(current=current, power=100.0, load=30.0), "above the fuse's 50 A")
    assert bool(found) == speaks
    if found:
        assert "50.1 A taken from this store makes 50.1 A flow" in found.words


# ---------------------------------------------------------------- bleeders
@pytest.mark.parametrize(("ohm", "words", "state"), [
    (0, "", ""), (25.1, "Bleeders of 25.1 Ω take the bank to 90 %", "note"), (24.9, "heat each cell with 0.251 W", "caution"),
    # 2.5 V squared over 1 ohm; fourteen of them; 650 F ln 2 = 451 s; 2.5 V squared over 0.25 W
    (1, "Bleeders of 1 Ω heat each cell with 6.25 W, the bank with 87.5 W, for as long as it is charged, and it falls to half its "
        "volts in 8 min: heat ages cells, and a small resistor burns. Take 25 Ω or more, or none (0 Ω).", "caution")])
def test_a_bleeder_that_heats_its_cell(ohm, words, state):
    found = said(TRIKE.change({"store.bleed_resistance": ohm}).cautions, "Bleeders of")
    assert (found.state if found else "") == state
    assert words in (found.words if found else "")


def test_no_bleeder_is_said_as_none_and_typed_as_none():
    from evlab.workbench import store_page

    bench = store_page.open_bench(vehicle=TRIKE)
    try:
        control = bench.controls["store.bleed_resistance"]
        assert control.box.value == "none"
        control.box.value = "220"
        assert bench.vehicle.store.bleed_resistance == 220
        control.box.value = "none"
        assert bench.vehicle.store.bleed_resistance == 0
        assert control.fault.value == ""
    finally:
        bench.shut()


# ---------------------------------------------------------------- a ride and a charge through the fuse; braking
def ridden(vehicle, **rows):
    rows = {"time": [0.0, 40.0, 50.0], "distance": [0.0, 80.0, 100.0], "speed": [0.0, 2.4, 2.4], "store_volts": [35.0, 30.0, 28.0],
            "store_amps": [0.0, 20.0, 22.0], "coil_temperature": [293.15] * 3, "motor_amps": [0.0, 20.0, 22.0]} | rows
    return of_ride(SimpleNamespace(vehicle=vehicle, route=evlab.load_route("two_sheds_up"), outcome="arrived", distance=100.0,
                                   held=(), column=lambda name: np.array(rows[name])))


@pytest.mark.parametrize(("amps", "speaks"), [(37.4, False), (37.6, True)])
def test_a_ride_that_is_too_much_for_the_fuse(amps, speaks):
    """75 % of 50 A are 37.5 A."""
    found = said(ridden(TRIKE, store_amps=[amps, -amps, amps]), "as root mean square")
    assert bool(found) == speaks
    assert not found or "The fuse of 50 A carries 37.6 A as root mean square, above 75 %" in found.words


@pytest.mark.parametrize(("volts", "speaks"), [(36.3, False), (36.5, True)])
def test_braking_is_judged_by_the_fullest_cell(volts, speaks):
    """Cells that spread by 2 %: the smallest has 1/(1 + 13 x 0.98/1.02) of all volts; 2.7 V of it at 36.42 V."""
    share = 1 / (1 + 13 * 0.98 / 1.02)
    assert 2.7 / share == pytest.approx(36.42, abs=0.005)
    found = said(ridden(TRIKE, store_volts=[35.0, volts, 35.0], store_amps=[0.0, -5.0, 1.0]), "Braking lifts the fullest cell")
    assert bool(found) == speaks
    told = f"to {volts * share:.3f} V, above rated voltage (2.7 V), though the mean is {volts / 14:.3f} V"
    assert not found or told in found.words


@pytest.mark.parametrize(("amps", "speaks"), [(50.0, False), (50.1, True)])
def test_a_charge_above_the_fuse(amps, speaks):
    rows = {"time": [0.0, 50.0], "worst_cell_volts": [2.0, 2.5], "charging_amps": [amps, amps], "source_amps": [1.0, 1.0],
            "store_volts": [20.0, 30.0]}
    result = SimpleNamespace(vehicle=TRIKE, outcome="full", duration=50.0, events=(), reason="", column=lambda n: np.array(rows[n]))
    found = said(of_charge(result), "flow into the store, above its fuse of 50 A")
    assert bool(found) == speaks


# ---------------------------------------------------------------- no wolf
@pytest.fixture(scope="module")
def at_rest():
    made = {}
    for name in PAGES:
        bench = importlib.import_module(f"evlab.workbench.{name}_page").open_bench(vehicle=TRIKE)
        made[name] = (bench.page.cautions(bench.result), bench.cautions.value)
        bench.shut()
    return made


@pytest.mark.parametrize("name", PAGES)
def test_the_untouched_demonstration_opens_calmly(at_rest, name):
    """At most three dangers and cautions stand open; a danger only where the page's own picture shows what flings magnets out."""
    cautions, strip = at_rest[name]
    loud = [c for c in cautions if c.state != "note" and not c.fold]
    assert len(loud) <= 3, [c.words for c in loud]
    dangers = [c.words for c in loud if c.state == "danger"]
    assert all("At 60 rad/s the rotor holds 41 J" in words for words in dangers), dangers
    assert len(dangers) == (name == "magnets")
    assert gravest(cautions) == ("danger" if dangers else "caution" if loud else "ok")
    opened = strip.split('class="ev-folds"')[0]
    for words in ("A short at the terminals", "assumed, not measured", "Chain and sprocket take fingers", "Private ground"):
        assert words not in opened


def test_what_is_always_true_stands_in_one_fold_and_what_is_unmeasured_in_another(at_rest):
    for name in ("start", "store", "road", "gearing", "ride", "charging", "regeneration"):
        text = plain(at_rest[name][1])
        assert "Always: " in text
        assert "short circuit" in text.split("Always: ")[1]
        assert "values are assumed, not measured" in text
    assert "Always: crushed fingers, pacemakers" in plain(at_rest["magnets"][1])


def test_no_fold_lies_over_what_stands_below():
    """An opened fold takes its own room: nothing in the strip is taken out of the flow."""
    from evlab.workbench.style import sheet

    for rule in sheet().split("}"):
        if ".ev-rest" in rule or ".ev-folds" in rule:
            assert "absolute" not in rule
            assert "fixed" not in rule


def caution(state, words, field="", fold=""):
    return Caution(state, words, "a source", field, fold)


def test_what_the_last_control_brought_up_stands_first():
    old, note = caution("danger", "It is 3 V too high.", "a"), caution("note", "n", "b")
    came = caution("caution", "It gets hot: 80 °C.", "c")
    assert by_change([old, came], [old]) == [came, old]
    assert by_change([old, came], None) == [old, came]
    assert by_change([old, note], [old]) == [old, note], "a new note does not push a danger down"
    hotter = caution("caution", "It gets hot: 90 °C.", "c")
    other = caution("caution", "The fuse blows.", "d")
    assert by_change([other, hotter], [other, came]) == [hotter, other], "its number moved"
    worse, milder = caution("danger", "It burns.", "c"), caution("caution", "It is warm.", "a")
    assert by_change([old, worse], [old, came])[0] == worse
    assert by_change([worse, milder], [old, worse]) == [worse, milder], "a danger that became milder is no news"
    assert STATES[0] == "danger"


def test_the_strip_takes_the_order_and_names_its_folds():
    strip = CautionsStrip()
    always, lacking = caution("danger", "Crush.", fold="crushed fingers"), caution("note", "39 values. And more.", fold=UNMEASURED)
    old, came = caution("danger", "Old."), caution("caution", "Came.")
    strip.show([always, lacking, old, came], [old])
    assert plain(strip.value) == ("caution Came. danger Old. Always: crushed fingers danger Crush. 39 values note 39 values. "
                                  "And more.")


def test_a_slider_moved_into_danger_puts_its_danger_first_and_keeps_it_there():
    from evlab.workbench import store_page

    bench = store_page.open_bench(vehicle=TRIKE)
    try:
        bench.controls["low"].box.value = "-10"
        bench.controls["low"].box.value = "-30"
        assert plain(bench.cautions.value).startswith("danger Of 100 strings")
        bench.controls["load"].box.value = "2"
        assert plain(bench.cautions.value).startswith("danger Of 100 strings")
        bench.controls["store.bleed_resistance"].box.value = "1"
        bench.controls["store.bleed_resistance"].box.value = "2"
        assert plain(bench.cautions.value).startswith("caution Bleeders of 2 Ω heat each cell")
        bench.reset()
        assert "Of 100 strings" not in bench.cautions.value
    finally:
        bench.shut()
