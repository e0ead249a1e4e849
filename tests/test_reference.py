"""Every equation against values from outside, and against a second route; and the proof that these checks can fail."""

import evidence
import pytest
import reference

from evlab.equation import EQUATIONS

CHECKS, ROUTES = reference.checks(), reference.routes()
NAMES = sorted(EQUATIONS)


def name_of(row):
    return f"{row.equation}-{getattr(row, 'printed', 'route')}"


@pytest.mark.parametrize("check", CHECKS, ids=name_of)
def test_the_printed_value_comes_out(check):
    assert check.share() <= 1.0, (
        f"{check.equation} gives {check.computed()!r}, {check.source} ({check.place}) prints {check.printed} {check.unit}"
    )


@pytest.mark.parametrize("route", ROUTES, ids=name_of)
def test_two_routes_meet(route):
    first, second = route.values()
    assert first == pytest.approx(second, rel=route.within, abs=0.0), f"{route.equation}: {route.words}"


@pytest.mark.parametrize("name", NAMES)
def test_every_equation_has_two_routes_or_a_published_value(name):
    assert name in {r.equation for r in ROUTES} | evidence.published(CHECKS)


def test_half_of_the_equations_have_a_published_value():
    assert len(evidence.published(CHECKS) & set(NAMES)) >= 150


def test_copies_and_answer_pages_do_not_grow():
    """The aim is a tenth; until then their number may only fall."""
    firm = evidence.published(c for c in CHECKS if not evidence.weak(c))
    assert sum(map(evidence.weak, CHECKS)) <= 146
    assert len(firm & set(NAMES)) >= 115


def test_rows_say_where_they_come_from_and_why_they_are_wide():
    for check in CHECKS:
        assert check.equation in EQUATIONS
        assert set(check.also) <= set(EQUATIONS)
        assert check.kind in reference.KINDS
        assert len(check.source) > 9
        assert check.place
        float(check.printed)
        assert check.allowed <= check.half * (1 + 1e-9) or check.why, (
            f"{check.equation} {check.printed}: a wide allowance without a sentence"
        )
    for route in ROUTES:
        assert route.within <= 1e-9 or route.why, f"{route.equation}: wider than 1e-9 without a sentence"


def test_half_of_the_last_figure():
    def half(printed):
        return reference.Check("store.energy", printed, "J", "", "").half

    assert half("3.04") == pytest.approx(0.005)
    assert half("4800") == pytest.approx(0.5)
    assert half("6e-6") == pytest.approx(0.5e-6)
    assert half("1.2e-5") == pytest.approx(0.05e-5)


@pytest.mark.parametrize("name", NAMES)
def test_an_error_of_half_a_percent_in_any_equation_is_seen(name, monkeypatch):
    """Plant it in the one equation: a route that used the equation itself would not notice."""
    equation = EQUATIONS[name]
    right = equation.floats
    monkeypatch.setitem(equation.__dict__, "floats", lambda *values: 1.005 * right(*values))
    seen = []
    for route in (r for r in ROUTES if r.equation == name):
        first, second = route.values()
        seen.append(abs(first - second) > route.within * max(abs(first), abs(second)))
    assert seen
    assert all(seen)


@pytest.mark.parametrize(
    ("planted", "watch"),
    [
        ("store.energy", "3.04"),
        ("road.lift_energy", "108"),
        ("store.resistor_time", "0.069"),
        ("gearing.drive_force", "14253"),
        ("gearing.motor_speed", "28.6"),
        ("store.usable_power", "5.9"),
    ],
)
def test_a_published_value_notices_an_error(planted, watch, monkeypatch):
    equation = EQUATIONS[planted]
    right = equation.floats
    monkeypatch.setitem(equation.__dict__, "floats", lambda *values: 1.05 * right(*values))
    (check,) = [c for c in CHECKS if c.equation == planted and c.printed == watch and c.kind == "printed" and not c.unknown]
    assert check.share() > 1.0


def test_the_libraries_say_what_we_printed():
    """The values of outside libraries are typed in the reference modules; here the libraries are asked again."""
    fluids = pytest.importorskip("fluids", reason="fluids is not installed: it belongs to the test dependencies")
    printed = {c.place: float(c.printed) for c in CHECKS if c.kind == "library"}
    for height in (0, 500, 1000):
        assert fluids.ATMOSPHERE_1976(height).rho == pytest.approx(printed[f"density at {height} m"], abs=1e-6)
    humid = pytest.importorskip("CoolProp.HumidAirProp", reason="CoolProp is not installed: it belongs to the test dependencies")
    assert 1 / humid.HAPropsSI("Vha", "T", 288.15, "P", 101325.0, "R", 0.0) == pytest.approx(
        printed["101 325 Pa, 15 °C, dry"], abs=6e-5
    )  # releases differ by so much


def test_humid_air_is_lighter_by_what_the_range_says():
    humid = pytest.importorskip("CoolProp.HumidAirProp", reason="CoolProp is not installed: it belongs to the test dependencies")
    for kelvin, part in ((293.15, 0.01), (308.15, 0.022)):
        dry, wet = (1 / humid.HAPropsSI("Vha", "T", kelvin, "P", 101325.0, "R", r) for r in (0.0, 1.0))
        assert 0.0 < 1 - wet / dry <= part


def test_the_evidence_page_is_fresh():
    assert evidence.PAGE.read_text(encoding="utf-8") == evidence.page(), "run: python -m tests.evidence"


def test_the_evidence_check_fails_on_a_stale_page(tmp_path, monkeypatch, capsys):
    stale = tmp_path / "EVIDENCE.md"
    stale.write_text(evidence.page().replace("9.3 kA", "9.4 kA"), encoding="utf-8")
    monkeypatch.setattr(evidence, "PAGE", stale)
    assert evidence.main(["--check"]) == 1
    assert "stale" in capsys.readouterr().out
    assert evidence.main([]) == 0
    assert evidence.main(["--check"]) == 0
