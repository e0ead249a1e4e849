"""Short circuit, wire, fuse and pre-charge: what they say, to whom, and what is refused."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import quad

from evlab import wiring
from evlab.units import InputError
from evlab.wiring import cable_table, fitting_area, fuse_findings, precharge, short_cautions, short_of


def bank(**changes):
    values = {"kind": "capacitors", "full_voltage": 35.0, "resistance": 0.0155, "capacitance": 650 / 14, "fuse_current": 0.0,
              "fuse_voltage": 0.0, "fuse_breaking_current": 0.0, "lead_area": 0.0}
    return SimpleNamespace(**(values | changes))


def pack(**changes):
    values = {"kind": "lithium", "full_voltage": 42.0, "resistance": 0.145, "charge": 21600.0, "fuse_current": 0.0,
              "fuse_voltage": 0.0, "fuse_breaking_current": 0.0, "lead_area": 0.0}
    return SimpleNamespace(**(values | changes))


def vehicle(store, limit=45.0):
    return SimpleNamespace(store=store, controller=SimpleNamespace(store_current_limit=limit))


# ---------------------------------------------------------------- wire
def test_the_cable_table_is_that_of_the_standard():
    """IEC 60228, class 5, as four makers print it."""
    printed = {1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21, 25: 0.780, 35: 0.554}
    assert {round(a * 1e6, 3): round(ohm * 1e3, 6) for a, ohm in cable_table().items()} == printed


def test_cable_has_more_resistance_than_its_copper_by_what_the_range_says():
    for area, ohm in cable_table().items():
        assert 1.1 < ohm / wiring.copper_resistance(wire_length=1.0, wire_area=area) < 1.16


def test_the_fitting_section_outlasts_and_the_one_below_does_not():
    areas = list(cable_table())
    for i2t in (1.0, 5e5, 1.8347e6, 1e7):
        fits = fitting_area(i2t)
        assert wiring.adiabatic_limit(wire_area=fits) > i2t
        below = areas.index(fits) - 1
        assert below < 0 or wiring.adiabatic_limit(wire_area=areas[below]) <= i2t
    assert fitting_area(1e9) is None
    assert fitting_area(math.inf) is None


def test_a_wire_spoils_long_before_it_melts():
    for seconds in (0.1, 1.0, 5.0):
        spoilt = math.sqrt(wiring.adiabatic_limit(wire_area=6e-6) / seconds)
        assert 2 < wiring.melting_current(wire_area=6e-6, time=seconds) / spoilt < 3
    hot = wiring.melting_current(wire_area=6e-6, time=1.0, wire_temperature=343.15)
    assert hot < wiring.melting_current(wire_area=6e-6, time=1.0)
    assert "outside the range" in wiring.melting_current(wire_area=6e-6, time=60.0).note


def test_the_time_to_melt_is_the_same_equation_turned_round():
    amps = wiring.melting_current(wire_area=6e-6, time=0.5)
    assert wiring.melting_current.solve_for("time", wire_current=amps, wire_area=6e-6) == pytest.approx(0.5, rel=1e-9)


# ---------------------------------------------------------------- short circuit
def test_a_shorted_bank_gives_its_energy_over_its_resistance():
    s = short_of(bank())
    given = quad(lambda t: (s.current * math.exp(-t / s.time_constant)) ** 2, 0.0, 30.0, limit=200)[0]
    assert s.i2t == pytest.approx(given, rel=1e-8)
    assert s.i2t * s.loop_resistance == pytest.approx(650 / 14 * 35.0**2 / 2)
    assert s.amps[0] == s.current
    assert s.amps[-1] < 0.003 * s.current
    assert s.wires[10e-6] < s.i2t < s.wires[16e-6]
    assert s.fitting == 16e-6
    assert (s.wire_energy, s.wire_rise, s.fuse) == (0.0, 0.0, 0.0)


def test_each_wire_is_spoilt_when_its_share_has_flowed():
    s = short_of(bank())
    for area, limit in s.wires.items():
        after = s.limit_times[area]
        if limit > s.i2t:
            assert after == math.inf
        else:
            flowed = quad(lambda t: (s.current * math.exp(-t / s.time_constant)) ** 2, 0.0, after)[0]
            assert flowed == pytest.approx(limit, rel=1e-8)


def test_a_lead_in_the_loop_takes_its_share_and_less_current_flows():
    bare, led = short_of(bank()), short_of(bank(), lead_length=1.0, lead_area=6e-6)
    assert led.current < bare.current
    assert led.time_constant > bare.time_constant
    inside = led.wire_energy * 0.0155 / (led.loop_resistance - 0.0155)
    assert inside + led.wire_energy == pytest.approx(650 / 14 * 35.0**2 / 2)  # all of it, between bank and lead
    assert led.wire_rise > short_of(bank(), lead_length=1.0, lead_area=16e-6).wire_rise
    assert short_of(bank(lead_area=6e-6), lead_length=1.0).wire_rise == led.wire_rise


SUPPLY = SimpleNamespace(kind="supply", full_voltage=36.0, resistance=0.1)


@pytest.mark.parametrize("store", [pack(), SUPPLY], ids=["pack", "supply"])
def test_a_store_that_keeps_its_volts_has_no_time_constant_but_each_wire_has_a_time(store):
    s = short_of(store)
    assert s.time_constant == s.i2t == math.inf
    assert s.fitting is None
    assert (s.amps == s.current).all()
    assert np.isfinite(s.amps).all()
    for area, after in s.limit_times.items():
        assert s.current**2 * after == pytest.approx(s.wires[area])


# ---------------------------------------------------------------- fuse
def test_a_fuse_that_fits_draws_no_words():
    assert fuse_findings(40.0, 58.0, 10000.0, 35.0, 2258.0, 15.4, 40.0) == []


def test_a_common_blade_link_fits_neither_the_volts_nor_the_amperes():
    found = fuse_findings(40.0, 32.0, 1000.0, 35.0, 2258.0)
    assert [c.state for c in found] == ["danger", "danger"]
    assert [c.field for c in found] == ["store.fuse_voltage", "store.fuse_breaking_current"]
    assert "32 V" in found[0].words
    assert "1000 A" in found[1].words
    assert all("ISO 8820-3" in c.source for c in found)
    assert [c.field for c in fuse_findings(40.0, 58.0, 1000.0, 35.0, 2258.0)] == ["store.fuse_breaking_current"]


def test_what_is_not_stated_is_said():
    (none,) = fuse_findings(0.0, 0.0, 0.0, 35.0, 2258.0)
    assert "No fuse is stated" in none.words
    assert "35 V direct current" in none.words
    (part,) = fuse_findings(40.0, 0.0, 0.0, 35.0, 2258.0)
    assert "Not stated of the fuse: volts in direct current and breaking current" in part.words


def test_three_quarters_of_the_rating():
    def states(rms, limit):
        return [c.state for c in fuse_findings(40.0, 58.0, 10000.0, 35.0, 2258.0, rms, limit)]

    assert states(30.0, 0.0) == []
    assert states(30.1, 0.0) == ["caution"]
    assert states(0.0, 45.0) == ["note"]
    (over,) = fuse_findings(40.0, 58.0, 10000.0, 35.0, 2258.0, 0.0, 45.0)
    assert "112.5 %" in over.words
    assert over.source.startswith("common practice")


def test_a_fuse_must_clear_before_the_wire_is_spoilt():
    limit = wiring.adiabatic_limit(wire_area=6e-6)
    assert fuse_findings(40.0, 58.0, 10000.0, 35.0, 2258.0, clearing_integral=0.9 * limit, wire_limit=limit) == []
    (late,) = fuse_findings(40.0, 58.0, 10000.0, 35.0, 2258.0, clearing_integral=1.1 * limit, wire_limit=limit)
    assert (late.state, late.field) == ("danger", "store.lead_area")
    assert "takes 476100 A²s" in late.words


# ---------------------------------------------------------------- cautions of a vehicle
def test_a_vehicle_hears_of_the_short_its_fuse_and_its_leads():
    found = short_cautions(vehicle(bank(fuse_current=40.0, fuse_voltage=32.0, fuse_breaking_current=1000.0, lead_area=10e-6)))
    assert [c.state for c in found] == ["caution", "danger", "danger", "note", "caution"]
    first, leads = found[0].words, found[-1].words
    for word in ("2258 A", "spanner", "arc blinds", "Insulated tools", "emptied through a resistor (27 Ω made for 100 W",
                 "recover some volts"):
        assert word in first
    assert "10 mm²" in leads
    assert "1.83 MA²s in all, 1.32 MA²s is what it takes" in leads


def test_thick_leads_outlast_the_bank_and_are_not_spoken_of():
    assert not [c for c in short_cautions(vehicle(bank(lead_area=16e-6))) if c.field == "store.lead_area"]
    (thin,) = (c for c in short_cautions(vehicle(bank(lead_area=6e-6))) if c.field == "store.lead_area")
    assert thin.state == "danger"  # there is no fuse


def test_a_pack_is_told_otherwise():
    found = short_cautions(vehicle(pack(lead_area=4e-6)))
    assert "cannot be emptied" in found[0].words
    assert "recover" not in found[0].words
    assert "after 2.5 s:" in found[-1].words
    thick = short_cautions(vehicle(pack(lead_area=16e-6)))  # 40 s: heat flows off meanwhile
    assert not [c for c in thick if c.field == "store.lead_area"]


def test_a_supply_without_resistance_and_one_that_is_weak():
    stiff = SimpleNamespace(kind="supply", full_voltage=36.0, resistance=0.0)
    assert "draws any current" in short_cautions(vehicle(stiff))[0].words
    assert short_cautions(vehicle(SimpleNamespace(kind="supply", full_voltage=36.0, resistance=1.0))) == []


# ---------------------------------------------------------------- pre-charge
def test_precharge_by_its_own_decay():
    p = precharge(35.0, 2.2e-3, 47.0, source_resistance=0.0255)
    assert p.peak * (47.0 + 0.0255) == pytest.approx(35.0)
    assert p.energy == pytest.approx(quad(lambda t: p.peak_power * math.exp(-2 * t / p.time_constant), 0.0, 5.0, limit=200)[0])
    assert math.exp(-p.time / p.time_constant) == pytest.approx(0.05)
    assert p.direct / p.peak > 1000
    assert precharge(35.0, 2.2e-3, 47.0).direct == math.inf
    assert precharge(35.0, 2.2e-3, 47.0, share=0.5).time < p.time


# ---------------------------------------------------------------- refusals
REFUSED = [
    (lambda: short_of(bank(resistance=0.0)), "one with some resistance, or the current has no bound; instead received 0 ohm"),
    (lambda: short_of(bank(), lead_length=1.0), "lead_area of wiring.short_of must be above zero where the lead has a length"),
    (lambda: short_of(bank(), lead_length=-1.0), "lead_length of wiring.short_of must be zero or more metres; instead"),
    (lambda: short_of(bank(), lead_area=-1e-6), "lead_area of wiring.short_of"),
    (lambda: short_of(bank(capacitance=-1.0)), "capacitance of wiring.short_time_constant must be above zero"),
    (lambda: precharge(0.0, 2.2e-3, 47.0), "voltage of wiring.precharge must be above zero"),
    (lambda: precharge(35.0, 0.0, 47.0), "capacitance of wiring.short_time_constant must be above zero"),
    (lambda: precharge(35.0, 2.2e-3, -1.0), "loop_resistance of wiring.short_time_constant must be above zero"),
    (lambda: precharge(35.0, 2.2e-3, 47.0, share=1.0), "share of wiring.precharge must be between 0 and 1; instead received 1.0"),
    (lambda: precharge(35.0, 2.2e-3, 47.0, source_resistance=-1.0), "source_resistance of wiring.precharge must be zero"),
    (lambda: wiring.melting_current(wire_area=0.0, time=1.0), "wire_area of wiring.melting_current must be above zero"),
]


@pytest.mark.parametrize(("call", "words"), REFUSED, ids=range(len(REFUSED)))
def test_what_cannot_be_is_refused_in_words(call, words):
    with pytest.raises(InputError) as refusal:
        call()
    assert words in str(refusal.value)
    assert str(refusal.value).endswith(".")
