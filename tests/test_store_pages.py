"""Pages of the store and of charging: their questions answered by hand arithmetic, the usual slips, and files that say less."""

import math

import pytest
from test_workbench import SUPPLY, mine, plain, predict, write  # noqa: F401  the fixture keeps a learner's folder out of it

from evlab import load_vehicle
from evlab.units import InputError
from evlab.workbench import charging_page, store_page


@pytest.fixture
def store_bench():
    return store_page.open_bench()


@pytest.fixture
def charging_bench():
    return charging_page.open_bench()


def answered(page, bench, number, right, *slips):
    """The right answer is right; each slip is not, and is called by its name."""
    question = page.questions(bench).questions[number - 1]
    assert predict(question, right)[0], plain(question.verdict.value)
    for wrong, words in slips:
        ok, said = predict(question, wrong)
        assert not ok
        assert words in said


# ---------------------------------------------------------------- the store: 14 x 650 F, 0.8 + 0.2 mOhm each, 1.5 mOhm, 35 V
def test_half_the_volts(store_bench):
    answered(store_page, store_bench, 1, "25 %", ("50 %", "left of the charge"), ("75 %", "taken out"))


def test_the_fullest_cell_by_hand(store_bench):
    worst = 35.0 / (1 + 13 / 1.2)  # one cell of 650 F among thirteen of 780 F: the same charge in each
    answered(store_page, store_bench, 2, f"{worst:.3f} V", ("2.5 V", "That is the mean"), ("3.0 V", "they must make room"))
    write(store_bench.controls["high"], "0 %")
    answered(store_page, store_bench, 2, "2.5 V")


def test_the_leaky_cell_starves_and_the_tight_one_rises(store_bench):
    answered(store_page, store_bench, 3, "the lowest", ("the highest", "over a month the leaks decide".capitalize()))
    write(store_bench.controls["leak_factor"], "0.5")
    answered(store_page, store_bench, 3, "the highest")
    write(store_bench.controls["leak_factor"], "1")
    answered(store_page, store_bench, 3, "like the others")


def test_a_tired_bank_collapses_where_two_roots_meet(store_bench):
    inside = 2 * math.sqrt(600 * 3 * 0.0155)
    answered(store_page, store_bench, 4, f"{inside:.2f} V", (f"{inside / 2:.2f} V", "volts at the terminals"),
             (f"{2 * math.sqrt(600 * 0.0155):.2f} V", "when new"), ("15 V", "stop volts"))


def test_a_spanner(store_bench):
    answered(store_page, store_bench, 5, f"{35 / 0.0155:.0f} A", (f"{35 / 0.0112:.0f} A", "leaves out joints"),
             ("45 A", "does not ask it"))


# ---------------------------------------------------------------- charging: from 15 V to 35 V, 46.43 F
def test_how_long_at_one_ampere(charging_bench):
    seconds = 650 / 14 * (35 - 15) / 1.0
    answered(charging_page, charging_bench, 1, f"{seconds / 60:.2f} min", ("13000 s", "farads of one cell"),
             (f"{650 / 14 * 35:.0f} s", "from zero"), (f"{seconds / 60:.2f} s", "is the number in min, but you wrote s"))


def test_through_a_resistor(charging_bench):
    answered(charging_page, charging_bench, 2, f"{100 * (35 + 15) / (2 * 36):.1f} %", ("50 %", "does not begin empty"),
             (f"{100 - 100 * 50 / 72:.1f} %", "share that is lost"))


def test_the_source_gives_most_at_the_end_unless_power_is_what_limits(charging_bench):
    answered(charging_page, charging_bench, 3, "at the end", ("the same all the way", "current into the store"))
    write(charging_bench.controls["charger.power_limit"], "50 W")
    answered(charging_page, charging_bench, 3, "the same all the way")


def test_nobody_stops_a_charger_that_waits_for_the_volts_to_drop(charging_bench):
    answered(charging_page, charging_bench, 4, "nobody stops it")


def test_a_store_that_is_full_leaves_nothing_to_ask(charging_bench):
    write(charging_bench.controls["start_volts"], "35 V")
    for question in charging_page.questions(charging_bench).questions[:3]:
        question.box.value = question.asked.options[0] if question.asked.options else "1 s" if question.asked.unit == "s" else "1 %"
        assert not question.check()
        assert "full before it begins" in plain(question.verdict.value)


# ---------------------------------------------------------------- files that say less, and other stores
def test_a_file_without_leakage_and_wire_opens_all_pictures():
    bench = store_page.open_bench(load_vehicle("two_shed_trike").change(store={"cell_leakage": 0.0, "lead_area": 0.0}))
    for index in range(len(bench.pictures)):
        bench.choice.index = index
        bench.settle()
        assert bench.trouble.value == ""
    question = store_page.questions(bench).questions[2]
    question.box.value = "the lowest"
    assert not question.check()
    assert "does not state what a cell leaks" in plain(question.verdict.value)


def test_a_short_of_a_pack_has_no_end_of_its_own():
    question = store_page.questions(store_page.open_bench(load_vehicle("kick_scooter"))).questions[4]
    assert predict(question, "272 A")[0]  # 7 cells of 4.18 V at rest, 107.5 mOhm
    assert "it goes on until something burns through" in plain(question.worked.value)
    assert "infinite" not in plain(question.worked.value)


@pytest.mark.parametrize("page", [store_page, charging_page])
def test_a_pack_has_pages_of_its_own_and_a_supply_is_refused_in_words(page):
    bench = page.open_bench(load_vehicle("kick_scooter"))
    for index in range(len(bench.pictures)):
        bench.choice.index = index
        bench.settle()
        assert bench.trouble.value == ""
    assert len(page.worked(load_vehicle("kick_scooter")).rows) > 2
    with pytest.raises(InputError, match="instead received a supply"):
        page.open_bench(load_vehicle("two_shed_trike").change(SUPPLY))
