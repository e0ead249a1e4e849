"""Another store on a vehicle: which limits it meets, by arithmetic apart from the package, and both rides."""

import re

import pytest

import evlab
from evlab.units import InputError


@pytest.fixture(scope="module")
def trike():
    return evlab.load_vehicle("two_shed_trike")


@pytest.fixture(scope="module")
def scooter():
    return evlab.load_vehicle("kick_scooter")


def row(check, name):
    """The two cells of the row whose name begins so, as text."""
    return next((mine, other) for what, mine, other in check.rows if what.startswith(name))


def number(text):
    return float(re.match(r"[-\d.]+", text)[0])


def says(check, words, state):
    return [f.state for f in check.findings if words in f.words] == [state]


def test_a_pack_of_few_volts_on_a_bank_s_stop_volts_is_a_danger(trike, scooter):
    check = evlab.plug_in(trike, scooter)
    assert check.answer.startswith("No, not as it is: Stop volts of 15 V are 2.14 V a cell")
    assert says(check, "Stop volts of 15 V are 2.14 V a cell", "danger")  # 15 / 7
    assert check.findings[0].state == "danger"


def test_the_drop_and_the_heat_of_the_leads(trike, scooter):
    # 45 A through 1.2 m of 6 mm2 at 1/58 ohm mm2/m: 1.2 / (58 * 6) = 3.4483 mOhm
    check = evlab.plug_in(trike, scooter, lead_length="1.2 m", lead_area="6 mm2")
    assert row(check, "Drop in the leads at 45 A") == ("0.16 V", "0.16 V")  # 0.15517
    assert row(check, "Heat in the leads at 45 A") == ("7.0 W", "7.0 W")  # 6.9828
    assert number(row(check, "Drop inside at 45 A")[1]) == pytest.approx(45 * 0.1075, abs=0.005)
    longer = evlab.plug_in(trike, scooter, lead_length=12.0, lead_area=6e-6)
    assert number(row(longer, "Drop in the leads at 45 A")[0]) == pytest.approx(1.5517, abs=0.005)


def test_the_amps_at_a_standstill(trike, scooter):
    # D V / (R + bridge + D^2 R_s) with the winding at 20 degC, by hand
    check = evlab.plug_in(trike, scooter)
    bank, pack = 0.97 * 35 / (0.1465 + 0.006 + 0.97**2 * 0.0155), 0.97 * 29.26 / (0.1465 + 0.006 + 0.97**2 * 0.1075)
    assert [number(cell) for cell in row(check, "Coil amps")] == pytest.approx([bank, pack], abs=0.5)
    assert all("held at 45 A" in cell for cell in row(check, "Coil amps"))


def test_the_spark_and_the_speed_at_which_the_volts_end(trike, scooter):
    check = evlab.plug_in(trike, scooter, lead_length=1.2, lead_area=6e-6)
    ohm = 1.2 / (58 * 6)
    assert number(row(check, "First amps")[0]) == pytest.approx(35 / (0.0155 + ohm), abs=0.5)
    assert "0.74 A through 47" in row(check, "First amps")[0]  # 35 / 47.02
    six_step = 0.2092 * 3**0.5 * 3 / 3.141592653589793
    assert number(row(check, "Speed")[0]) == pytest.approx(0.97 * 35 / six_step * 0.245 / (76 / 15), abs=0.05)


def test_more_volts_than_the_controller_bears(trike, scooter):
    check = evlab.plug_in(scooter.change(controller={"voltage_rating": "34 V"}), trike)
    assert says(check, "35.0 V when full, above the 34 V", "danger")
    near = evlab.plug_in(scooter.change(controller={"voltage_rating": "40 V"}), trike)
    assert says(near, "leaves less than a fifth below the 40 V rating", "caution")
    free = evlab.plug_in(scooter.change(controller={"voltage_rating": "50 V"}), trike)
    assert not [f for f in free.findings if "rating" in f.words]


def test_stop_volts_too_high_for_a_bank_and_a_faster_vehicle(trike, scooter):
    high = scooter.change(controller={"stop_voltage": "30 V", "resume_voltage": "32 V"}, store={"cells_in_series": 12,
                          "charge_voltage": "50 V"})
    check = evlab.plug_in(high, trike)
    assert says(check, "only 27 % of its energy is above them", "caution")  # 1 - (30/35)^2 = 0.2653
    faster = evlab.plug_in(scooter, trike)
    assert says(faster, "The volts end at 7.9 m/s instead of 6.6 m/s", "caution")


def test_what_the_pack_may_give_and_take_is_said(trike, scooter):
    words = " ".join(f.words for f in evlab.plug_in(trike, scooter).findings)
    assert "the cells bear 25 A" in words  # 2 x 15 A / 1.2
    assert "Braking may push 25 A into a pack that bears 8 A" in words


def test_the_same_store_meets_no_new_limit(trike):
    check = evlab.plug_in(trike, trike)
    assert check.answer == "Yes: nothing meets its limit."
    assert all(mine == other for _, mine, other in check.rows)


def test_both_rides(trike, scooter):
    fitted = trike.change(controller={"stop_voltage": "21 V", "resume_voltage": "24 V"})
    mine, other = evlab.plug_in(fitted, scooter).rides("two_sheds_up")
    assert (mine.vehicle.store.kind, other.vehicle.store.kind) == ("capacitors", "lithium")
    fall = [r.start_voltage - r.end_voltage for r in (mine, other)]
    assert fall[1] < 0.1 * fall[0]  # the pack's volts hardly fall
    for r in (mine, other):
        assert abs(r.closure) < r.closure_allowed


def test_it_shows_itself_as_a_table(trike, scooter):
    shown = evlab.plug_in(trike, scooter)._repr_html_()
    assert shown.count("<tr>") == 11
    assert "<b>danger</b>" in shown


@pytest.mark.parametrize(("more", "words"), [
    ({"lead_length": "0 m"}, "lead_length of plug_in must be above zero"),
    ({"lead_length": "2"}, "must be one number and its unit"),
    ({"lead_area": "0 mm2"}, "lead_area of plug_in must be given"),
])
def test_leads_that_cannot_be_are_refused(trike, scooter, more, words):
    with pytest.raises(InputError, match=words):
        evlab.plug_in(trike, scooter, **more)
