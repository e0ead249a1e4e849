"""The text grammar, Quantities at the door, turning speeds by name.  Expected values follow from the units' definitions."""

import math

import pint
import pytest

from evlab import units
from evlab.glossary import GLOSSARY, SPELLINGS, Entry, entry
from evlab.units import InputError, read, si, si_array, to_shown, write

WRITTEN = sorted(n for n, e in GLOSSARY.items() if e.family in SPELLINGS)
# One of each spelling in SI, by the definitions of the units; spellings of one unit share a line.
DEFINED = {
    "mass": {1.0: ["kg"], 1e-3: ["g"], 1e3: ["t"]},
    "length": {1.0: ["m"], 1e-3: ["mm"], 1e-2: ["cm"], 1e3: ["km"]},
    "area": {1.0: ["m2", "m²"], 1e-4: ["cm2", "cm²"], 1e-6: ["mm2", "mm²"]},
    "time": {1.0: ["s"], 1e-3: ["ms"], 60.0: ["min"], 3600.0: ["h"]},
    "speed": {1.0: ["m/s"], 1 / 3.6: ["km/h"]},
    "torque": {1.0: ["N m", "Nm", "N*m", "N·m"], 1e-3: ["mNm"]},
    "inertia": {1.0: ["kg m2", "kg m²", "kgm2", "kgm²", "kg*m2", "kg·m²"], 1e-3: ["g m2"], 1e-4: ["kg cm2"]},
    "emf constant": {1.0: ["V s/rad", "Vs/rad", "V*s/rad", "V·s/rad", "N m/A", "Nm/A", "N·m/A"], 1e-3: ["mV s/rad"]},
    "voltage": {1.0: ["V"], 1e-3: ["mV"], 1e3: ["kV"]},
    "resistance": {1.0: ["Ohm", "ohm", "\u03a9", "\u2126"], 1e-3: ["mOhm", "mohm", "m\u03a9", "m\u2126"]},
    "capacitance": {1.0: ["F"], 1e-3: ["mF"], 1e-6: ["uF", "\u00b5F", "\u03bcF"], 1e3: ["kF"]},
    "charge": {1.0: ["C"], 3600.0: ["Ah"], 3.6: ["mAh"]},
    "energy": {1.0: ["J"], 1e3: ["kJ"], 3600.0: ["Wh"], 3.6e6: ["kWh"]},
    "energy per length": {1.0: ["J/m"], 3.6: ["Wh/km"]},
    "pressure": {1.0: ["Pa"], 100.0: ["hPa", "mbar"], 1e3: ["kPa"], 1e5: ["bar"], 1e6: ["MPa", "N/mm2", "N/mm²"]},
    "angle": {1.0: ["rad"], math.pi / 180: ["deg", "°"]},
    "none": {1.0: [""], 0.01: ["%"]},
    "rate": {1.0: ["1/s", "/s"], 1 / 3600: ["1/h", "/h"]},
    "per kelvin": {1.0: ["1/K"], 0.01: ["%/K"]},
    "flux": {1.0: ["Wb"], 1e-3: ["mWb"]},
    "flux density": {1.0: ["T"], 1e-3: ["mT"]},
    "field strength": {1.0: ["A/m"], 1e3: ["kA/m"]},
    "volume": {1.0: ["m3", "m³"], 1e-6: ["cm3", "cm³"], 1e-9: ["mm3", "mm³"]},
    "conductivity": {1.0: ["S/m"], 1e6: ["MS/m"]},
    "power per area": {1.0: ["W/m2", "W/m²"]},
    "energy density": {1.0: ["J/m3", "J/m³"], 1e3: ["kJ/m3", "kJ/m³"]},
    "flux density slope": {1.0: ["T/m", "mT/mm"]},
    "current density": {1.0: ["A/m2", "A/m²"], 1e6: ["A/mm2", "A/mm²"]},
    "inductance": {1.0: ["H"], 1e-3: ["mH"], 1e-6: ["uH", "\u00b5H", "\u03bcH"]},
    "frequency": {1.0: ["Hz"], 1e3: ["kHz"]},
}


# ---------------------------------------------------------------- what is read
@pytest.mark.parametrize(
    ("family", "factor", "spelling"), [(f, k, s) for f, rows in DEFINED.items() for k, ss in rows.items() for s in ss]
)
def test_every_spelling_means_its_unit(family, factor, spelling):
    e = Entry("x", "", family, "X", "a quantity of this family")
    assert read(f"3 {spelling}", e).value == pytest.approx(3 * factor, rel=1e-15)
    if not spelling.startswith("1"):
        assert read(f"3{spelling}", e).value == pytest.approx(3 * factor, rel=1e-15)


def test_no_spelling_was_left_out_of_the_definitions():
    plain = {f for f, spellings in SPELLINGS.items() if len(spellings) == 1} | {
        "temperature",
        "acceleration",
        "force",
        "force slope",
        "torque slope",
        "density",
        "power",
        "current",
        "heat capacity",
    }
    assert set(SPELLINGS) <= set(DEFINED) | plain
    for family, rows in DEFINED.items():
        assert sorted(s for ss in rows.values() for s in ss) == sorted(SPELLINGS[family])


@pytest.mark.parametrize(
    ("text", "name", "value"),
    [
        ("0,8 mm", "wheel_radius", 0.8e-3),
        ("0.8mm", "wheel_radius", 0.8e-3),
        ("  650 F ", "capacitance", 650.0),
        ("650F", "capacitance", 650.0),
        ("1e3 F", "capacitance", 1000.0),
        ("1,5e-3 F", "capacitance", 1.5e-3),
        ("20 degC", "air_temperature", 293.15),
        ("20 °C", "air_temperature", 293.15),
        ("-10 °C", "air_temperature", 263.15),
        ("\u22125 °C", "air_temperature", 268.15),
        ("300 K", "air_temperature", 300.0),
        ("95 %", "chain_efficiency", 0.95),
        ("0.95", "chain_efficiency", 0.95),
        ("14", "cells_in_series", 14.0),
        ("0,346 Nm/A", "motor_constant", 0.346),
        ("18 km/h", "speed", 5.0),
        ("1000 F", "capacitance", 1000.0),
        ("+3 V", "voltage", 3.0),
        ("1 1/s", "driver.gain", 1.0),
        ("0,500 F", "capacitance", 0.5),
    ],
)
def test_what_a_maker_writes_is_read(text, name, value):
    assert read(text, entry(name)).value == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "value", "spread"),
    [
        ("682 F +/- 6 F", 682.0, 6.0),
        ("682 +/- 6 F", 682.0, 6.0),
        ("682 F ± 6", 682.0, 6.0),
        ("0,68 kF +/- 0,01 kF", 680.0, 10.0),
    ],
)
def test_a_spread_is_read_in_the_same_unit(text, value, spread):
    got = read(text, entry("capacitance"))
    assert (got.value, got.spread) == pytest.approx((value, spread))


def test_a_spread_of_a_temperature_is_a_difference():
    got = read("60 °C +/- 2 °C", entry("winding_temperature"))
    assert (got.value, got.spread) == pytest.approx((333.15, 2.0))


# ---------------------------------------------------------------- what is refused
@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("1 000 F", "capacitance"),  # a thousands gap: pint reads 0 F
        ("45 a", "motor_current"),  # pint reads years
        ("20 deg C", "air_temperature"),  # pint reads degree-coulomb
        ("nan V", "voltage"),
        ("inf V", "voltage"),
        ("-inf V", "voltage"),
        ("1e400 V", "voltage"),
        ("1e308 kV", "voltage"),  # finite as it stands, infinite in volts
        ("-1e308 km", "way"),
        ("3 kV +/- 1e308 kV", "voltage"),
        ("NaN", "chain_efficiency"),
        ("\u0661\u0662 V", "voltage"),  # Arabic digits
        ("\uff11 V", "voltage"),  # full-width digits
        ("12", "voltage"),  # no unit
        ("V", "voltage"),
        ("", "voltage"),
        ("twelve V", "voltage"),
        ("3+4 V", "voltage"),
        ("3*4 V", "voltage"),
        ("2**3 V", "voltage"),
        ("0x10 V", "voltage"),
        ("1_000 V", "voltage"),
        ("3 V V", "voltage"),
        ("3 A", "voltage"),
        ("3 volts", "voltage"),
        ("3 v", "voltage"),
        ("1.2.3 V", "voltage"),
        (".5 V", "voltage"),
        ("5. V", "voltage"),
        ("3 J", "torque"),
        ("3 N m", "energy"),
        ("60 rpm", "motor_speed"),
        ("1 Hz", "motor_speed"),
        ("3 1/s", "motor_speed"),
        ("14 cells", "cells_in_series"),
        ("14 %", "cells_in_series"),
        ("3 V +/- -1 V", "voltage"),
        ("3 V +/- 1 mV", "voltage"),
        ("3 V +/-", "voltage"),
        ("3 V\n4 V", "voltage"),
        ("__import__('os')", "voltage"),
        ("1e3000000 V", "voltage"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words(text, name):
    with pytest.raises(InputError, match=r"^Input .* must be .*; instead received ") as told:
        read(text, entry(name), f"{name} of the test")
    assert name in str(told.value)


@pytest.mark.parametrize(("text", "value"), [("1,250 V", 1.25), ("1.250 V", 1.25), ("-1,250 V", -1.25), ("999,125 V", 999.125)])
def test_point_and_comma_are_read_the_same_and_the_note_says_how(text, value):
    got = read(text, entry("voltage"))
    number = text.split()[0]
    assert got.value == value
    assert got.note.startswith(f"{number} was read as {number.replace(',', '.')} and not as ")
    assert got.note.endswith("thousands take no sign.")


@pytest.mark.parametrize("text", ["1,25 V", "0,500 V", "1.2500 V", "1250 V", "1,250e3 V"])
def test_what_no_one_reads_otherwise_has_no_note(text):
    assert read(text, entry("voltage")).note == ""


def test_a_comma_before_three_figures_warns_in_code_and_in_a_file():
    from evlab import load_vehicle, store

    with pytest.warns(UserWarning, match=r"Input voltage of store.energy: 1,250 was read as 1.250 and not as 1250"):
        assert store.energy(650.0, "1,250 V").magnitude == pytest.approx(507.8125)  # 650 * 1.25^2 / 2
    with pytest.warns(UserWarning, match=r"cell_capacitance of \[store\]: 1,200 was read as 1.200"):
        assert load_vehicle("two_shed_trike").change({"store.cell_capacitance": "1,200 F"}).store.cell_capacitance == 1.2


def test_a_refused_unit_brings_the_list():
    with pytest.raises(InputError, match="V, mV, kV"):
        read("3 volts", entry("voltage"))


# ---------------------------------------------------------------- writing
@pytest.mark.parametrize("name", WRITTEN)
def test_every_spelling_of_every_entry_comes_back(name):
    e = entry(name)
    for spelling in e.accepts:
        for value in (0.123456789012345, 288.15, 7.0):
            for spread in (None, 0.25):
                got = read(write(value, e, spread, spelling), e)
                assert got.value == pytest.approx(value, rel=2e-15, abs=1e-13 if e.family == "temperature" else 0)
                assert got.unit == spelling
                assert got.spread == (spread if spread is None else pytest.approx(spread, rel=2e-15))


@pytest.mark.parametrize("name", WRITTEN)
def test_the_shown_unit_is_one_that_can_be_written(name):
    e = entry(name)
    if e.shown:
        assert e.shown in e.accepts
        assert read(write(0.5, e), e).value == pytest.approx(0.5, rel=1e-12)
        assert e.shown in write(0.5, e)


def test_shown_values():
    assert to_shown(0.0008, entry("store.cell_resistance")) == pytest.approx(0.8)
    assert to_shown(293.15, entry("coil_temperature")) == pytest.approx(20.0)
    assert to_shown(0.95, entry("gearing.chain_efficiency")) == pytest.approx(95.0)


def test_percent_is_exact():
    assert read("95 %", entry("chain_efficiency")).value == 0.95
    assert read("7 %", entry("slope")).value == 0.07


# ---------------------------------------------------------------- values in other dress
@pytest.mark.parametrize("value", [True, False, None, math.nan, math.inf, -math.inf, [1.0], (1.0, 2.0), {}, 1j, b"3 V"])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(InputError, match="must be"):
        si(value, entry("voltage"))


def test_quantities_of_a_foreign_registry_are_converted():
    theirs = pint.UnitRegistry()
    assert si(theirs.Quantity(2.7, "kV"), entry("voltage")) == pytest.approx(2700.0)
    assert si(theirs.Quantity(18.0, "km/hour"), entry("speed")) == pytest.approx(5.0)
    assert si(theirs.Quantity(0.346, "newton*meter/ampere"), entry("motor_constant")) == pytest.approx(0.346)
    assert si_array(theirs.Quantity([1.0, 2.0], "ms"), entry("time")) == pytest.approx([1e-3, 2e-3])
    assert si(theirs.Quantity(20.0, "degC"), entry("air_temperature")) == pytest.approx(293.15)


@pytest.mark.parametrize(
    ("number", "unit", "name"),
    [
        (3.0, "ampere", "voltage"),
        (3.0, "joule", "torque"),
        (3.0, "newton*meter", "energy"),
        (60.0, "rpm", "motor_speed"),
        (60.0, "revolution/minute", "motor_speed"),
        (1.0, "hertz", "motor_speed"),
        (1.0, "turn/second", "motor_speed"),
        (3.0, "meter", "chain_efficiency"),
        (1.0, "hertz", "driver.gain"),
        (math.nan, "volt", "voltage"),
    ],
)
def test_quantities_of_another_dimension_or_a_trap_are_refused(number, unit, name):
    with pytest.raises(InputError, match=r"Input .* must be"):
        si(pint.UnitRegistry().Quantity(number, unit), entry(name))


@pytest.mark.parametrize(
    ("unit", "name"),
    [
        ("kilojoule", "torque"),
        ("watt*hour", "torque"),
        ("watt*second", "torque"),
        ("kilonewton*meter", "energy"),
        ("kilohertz", "motor_speed"),
        ("rps", "motor_speed"),
    ],
)
def test_the_traps_have_prefixes_too(unit, name):
    with pytest.raises(InputError, match=r"look alike|convert by name"):
        si(pint.UnitRegistry().Quantity(3.0, unit), entry(name))


# ---------------------------------------------------------------- turning speeds
def test_turning_speeds_convert_by_name():
    assert units.rpm_to_rad_s(60.0) == pytest.approx(2 * math.pi)
    assert units.rad_s_to_rpm(2 * math.pi) == pytest.approx(60.0)
    assert units.hz_to_rad_s(1.0) == pytest.approx(2 * math.pi)
    assert units.rad_s_to_hz(2 * math.pi) == pytest.approx(1.0)
    assert units.mechanical_to_electrical(10.0, 6) == 60.0
    assert units.electrical_to_mechanical(60.0, 6) == 10.0
    for x in (0.0, -3.7, 1234.5):
        assert units.rad_s_to_rpm(units.rpm_to_rad_s(x)) == pytest.approx(x)
        assert units.rad_s_to_hz(units.hz_to_rad_s(x)) == pytest.approx(x)
        assert units.electrical_to_mechanical(units.mechanical_to_electrical(x, 7), 7) == pytest.approx(x)


@pytest.mark.parametrize("pairs", [0, -1, 2.5, True, math.nan, math.inf])
def test_pole_pairs_are_whole_numbers(pairs):
    with pytest.raises(InputError, match="whole number"):
        units.mechanical_to_electrical(1.0, pairs)


# ---------------------------------------------------------------- these tests can fail
def test_pints_own_parser_would_have_read_them_wrong():
    """Why there is a grammar at all: what pint makes of a maker's text, without a word."""
    reads = units.registry().Quantity
    assert reads("45 a").dimensionality == reads(1.0, "year").dimensionality
    assert reads(1.0, "hertz").to("rad/s").magnitude == 1.0  # a turn each second would be 6.28


def test_a_wrong_factor_is_seen(monkeypatch):
    monkeypatch.setitem(SPELLINGS["speed"], "km/h", "mile/hour")
    with pytest.raises(AssertionError):
        test_every_spelling_means_its_unit("speed", 1 / 3.6, "km/h")
