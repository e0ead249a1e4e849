"""What a learner reads on the page of charging: rows, sentences and what is drawn, against plain formulas (`by_hand`)."""

from __future__ import annotations

import by_hand as hand
import numpy as np
import pytest
from what_is_seen import Drawn, assert_rows, assert_says, seen_rows

import evlab
from evlab.workbench import charging_page

RUN = 1e-3  # the second route goes in steps of 10 ms
CASES = {
    "as in the file": ({}, {}),
    "changed": ({"store.charge_voltage": 33.0, "store.cell_tolerance": 0.05, "charger.current_limit": 10.0,
                 "charger.efficiency": 0.8, "charger.source_voltage": 14.0, "charger.source_resistance": 0.03,
                 "charger.power_limit": 230.0},
                {"start_volts": 8.0, "hold_time": 120.0}),
}


class Both:
    """One case by the page's own model, and by hand."""

    def __init__(self, name):
        changes, day = CASES[name]
        vehicle = evlab.load_vehicle("two_shed_trike").change(changes)
        self.page = charging_page.make_page(vehicle)
        self.day = {k.name: k.start for k in self.page.knobs if k.start is not None} | day
        self.case = self.page.model(vehicle, self.day)
        self.v = hand.vehicle(**{key.replace(".", "__"): value for key, value in changes.items()})
        self.run = hand.charge(self.v, self.day["start_volts"], self.day["hold_time"])

    def picture(self, title):
        picture = next(p for p in self.page.pictures if p.title == title)
        return Drawn(picture.build(self.page.widen(self.page.frame(self.case.vehicle), self.case)), self.case)


@pytest.fixture(scope="module", params=CASES)
def both(request):
    return Both(request.param)


@pytest.mark.parametrize("index", [0, 1])
def test_a_charge_row_by_row(both, index):
    r, c = both.run, both.v.charger
    assert_rows(seen_rows(both.page, both.case, index), {
        "Time": (r["time"], "s", RUN), "Into the store": (r["into"] / 1e3, "kJ", RUN),
        "From the source": (r["source"] / 1e3, "kJ", RUN),
        "Gets through": (100 * r["into"] / r["source"], "%", RUN), "Source amps, top": (r["top"], "A", RUN),
        "Fullest cell": (r["fullest"], "V", RUN), "Rests at": (r["rests"], "V", RUN),
        "Charges from a full source": (c.source_charge * c.source_share / r["coulombs"], "", RUN),
        "Energy costs": (r["source"] / 3.6e6 * 0.30, "", RUN)})


COLUMNS = {"store_volts": (0, 1, 1), "open_volts": (0, 2, 1), "charging_amps": (1, 3, 1), "source_amps": (1, 4, 1),
           "source_energy": (3, 5, 1e-3), "stored_energy": (3, 6, 1e-3), "worst_cell_volts": (4, 7, 1)}


def test_the_picture_along_the_time_and_its_sentence(both):
    drawn, r = both.picture("Along the time"), both.run
    rows = r["rows"]
    for name, (axes, column, scale) in COLUMNS.items():
        x, y = drawn.curve(name, axes)
        assert (x[0], x[-1]) == (0, pytest.approx(r["time"], rel=RUN))
        wanted = scale * np.interp(x, rows[:, 0], rows[:, column])
        inside = np.abs(x - (r["time"] - both.day["hold_time"])) > 1.0  # not beside the change of stage
        assert y[inside] == pytest.approx(wanted[inside], rel=2 * RUN, abs=0.05), name
    x, y = drawn.curve("charging_power", 2)
    inside = np.abs(x - (r["time"] - both.day["hold_time"])) > 1.0
    assert y[inside] == pytest.approx(np.interp(x, rows[:, 0], rows[:, 1] * rows[:, 3])[inside], rel=3 * RUN, abs=0.5)
    x, y = drawn.curve("mean_cell_volts", 4)
    assert y[-1] == pytest.approx(rows[-1, 2] / 14, rel=RUN)
    by = max(r["spells"], key=r["spells"].get)
    assert_says("The store is full after {} s at {} V; for {} s the " + by + " " + ("hold" if by == "constant volts" else "holds")
                + " the charger; the fullest cell ends at {} V.", drawn.reading, r["time"], both.v.store.charge_voltage,
                r["spells"][by], r["fullest"], rel=RUN)
    words, c = drawn.all_words(), both.v.charger
    for told, *values in (
            ("stops at {} V", both.v.store.charge_voltage), ("rests at {} V", r["rests"]), ("top {} A", rows[:, 3].max()),
            ("limit {} A", c.current_limit), ("limit {} W", c.power_limit), ("gave {} kJ", r["source"] / 1e3),
            ("kept {} kJ", r["into"] / 1e3), ("rated {} V", 2.7), ("surge {} V", 2.85)):
        assert_says(told, words, *values, rel=RUN)
    assert_says("source amps up to {} A", drawn.alt, r["top"], rel=RUN)
    assert_says("the mean cell ends at {} V", drawn.alt, rows[-1, 2] / 14, rel=RUN)


def test_where_the_energy_went_and_its_sentence(both):
    drawn, r = both.picture("Where the energy went"), both.run
    lost = {"converter": r["converter"], "leads and source": r["cable"], "ESR": r["source"] - r["into"] - sum(
        r[k] for k in ("converter", "cable", "leakage", "slow_branch"))}
    most = max(lost, key=lost.get)
    assert most == "converter"
    assert_says("The source gave {} J; {} % of it is kept in store; the largest loss is converter with {} J.", drawn.reading,
                r["source"], 100 * r["into"] / r["source"], r["converter"], rel=2e-3)
    gave, *where = (w for _, _, w, _ in drawn.bars())
    for joules in (r["into"], r["converter"]):
        assert any(w / gave == pytest.approx(joules / r["source"], rel=2e-3) for w in where), joules
    assert_says("closure {} J", drawn.all_words(), 0, rel=0)
    said = both.page.tell(both.case)
    if both.day["hold_time"]:
        assert_says("After {} s", said, r["time"], rel=RUN)
    else:
        assert_says("After {} s the terminals reach {} V.", said, r["time"], both.v.store.charge_voltage, rel=RUN)
