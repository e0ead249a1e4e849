"""One Equation: what stands on the page, what is noted, what is refused in words, and the dimension audit."""

import copy
import math

import numpy as np
import pytest
import sympy

from evlab import controller, gearing, motor, road, store, units
from evlab.equation import EQUATIONS, Equation, Noted, _dimension, _symbol
from evlab.glossary import entry
from evlab.units import InputError

NAMES = sorted(EQUATIONS)


# ---------------------------------------------------------------- on the page
def test_the_order_of_the_author_stays():
    """SymPy would sort the symbols by the alphabet: c v_w and so on."""
    assert str(controller.current_at_duty.latex) == r"I_m = \frac{D V_{oc} - E_m}{R_m + D^{2} R_s}"
    assert str(motor.winding_resistance_hot.latex) == r"R_T = R_{20} \left(1 + \alpha \left(T_w - T_{20}\right)\right)"
    assert str(store.energy.latex).startswith("E = ")


@pytest.mark.parametrize("name", NAMES)
def test_latex_shows_every_symbol_once_at_least(name):
    equation = EQUATIONS[name]
    for quantity in (*equation.inputs, equation.left):
        assert entry(quantity).symbol in equation.latex
    assert equation.latex._repr_latex_().startswith("$")
    assert equation._repr_latex_() == equation.latex._repr_latex_()


def test_the_worked_line_holds_numbers_units_and_result():
    line = str(store.energy.worked("650 F", "2.5 V"))
    assert line.startswith(str(store.energy.latex) + " = ")
    assert r"650\,\mathrm{F}" in line
    assert r"2.5\,\mathrm{V}" in line
    assert line.endswith(r"= 2031\,\mathrm{J}")  # 650 * 2.5^2 / 2 = 2031.25


def test_the_worked_line_takes_constants_from_the_glossary():
    line = str(road.slope_force.worked(mass=100.0, slope=0.0))
    assert r"9.807\,\mathrm{m/s^2}" in line
    assert line.endswith(r"= 0\,\mathrm{N}")


def test_the_worked_line_of_small_and_large_numbers():
    assert r"1\times 10^{-5}\,\mathrm{F}" in str(store.energy.worked(1e-5, 2.0))
    assert r"\times 10^{6}\,\mathrm{J}" in str(store.energy.worked(3000.0, 60.0))


@pytest.mark.parametrize("name", NAMES)
def test_the_docstring_is_in_the_fixed_order(name):
    equation = EQUATIONS[name]
    text = equation.__doc__
    places = [text.index(word) for word in (equation.title, f"{equation.left} = ", "Parameters:", "Returns:", "Range:", "Source:")]
    assert places == sorted(places)
    for quantity in equation.inputs:
        assert f"    {quantity}: {entry(quantity).meaning} [{entry(quantity).unit or '1'}]" in text


def test_the_rearranged_line():
    assert str(store.charge.solve_for("voltage")) == r"V = \frac{Q}{C}"


# ---------------------------------------------------------------- values
def test_floats_give_floats_arrays_arrays_text_quantities():
    assert type(store.energy(650.0, 2.5)) is float
    assert store.energy(650, 2.5) == 2031.25
    many = store.energy(650.0, np.array([0.0, 1.0, 2.0]))
    assert isinstance(many, np.ndarray)
    assert many.tolist() == [0.0, 325.0, 1300.0]
    assert store.energy([2.0, 4.0], 1.0).tolist() == [1.0, 2.0]
    dressed = store.energy("0,65 kF", 2.5)
    assert dressed.to("joule").magnitude == pytest.approx(2031.25)
    assert store.energy(units.registry().Quantity(650.0, "farad"), "2500 mV").to("joule").magnitude == pytest.approx(2031.25)


def test_arrays_hold_nan_where_there_is_no_value():
    volts = store.voltage_under_power(np.array([20.0, 1.0]), 0.1, 500.0)
    assert np.isfinite(volts[0])
    assert np.isnan(volts[1])


def test_keywords_and_places_mean_the_same():
    assert store.energy(voltage=2.5, capacitance=650.0) == store.energy(650.0, 2.5)


def test_a_constant_may_be_given():
    assert road.lift_energy(100.0, 10.0, gravity=10.0) == 10000.0
    assert road.lift_energy(100.0, 10.0) == pytest.approx(9806.65)


# ---------------------------------------------------------------- notes
def test_outside_the_range_the_value_carries_a_note():
    steep = road.slope_force(100.0, 0.6)
    assert isinstance(steep, Noted)
    assert steep == pytest.approx(100 * 9.80665 * 0.6 / 1.36**0.5)
    assert steep.note == "outside the range of road.slope_force: slope 0.6 not in -0.4 to 0.4"
    assert steep.note in repr(steep)
    assert not isinstance(road.slope_force(100.0, 0.4), Noted)
    assert road.slope_force.note(mass=100.0, slope=0.4, gravity=9.8) == ""


@pytest.mark.parametrize("name", [n for n in NAMES if EQUATIONS[n].limits])
def test_every_limit_is_a_range_that_notes(name):
    from reference import routes

    equation = EQUATIONS[name]
    usual = next(r.inputs for r in routes() if r.equation == name)
    for quantity, (low, high) in equation.limits.items():
        assert low < high
        assert equation.note(**{**usual, quantity: low}) == equation.note(**{**usual, quantity: high}) == ""
        beyond = high + 0.001 * (high - low)
        assert name in equation.note(**{**usual, quantity: beyond})


# ---------------------------------------------------------------- refusals in words
def test_an_unknown_keyword_names_the_nearest():
    with pytest.raises(TypeError, match=r"no input 'capacitanse'\. Did you mean 'capacitance'\?"):
        store.energy(capacitanse=1.0, voltage=2.0)
    with pytest.raises(TypeError, match="no input"):
        store.energy.solve_for("voltage", energy=1.0, capacitance=1.0, volts=3.0)
    with pytest.raises(TypeError, match=r"no input 'voltag'\. Did you mean 'voltage'\?"):
        store.energy.solve_for("voltag")


def test_a_missing_input_is_named():
    with pytest.raises(TypeError, match="'voltage'"):
        store.energy(1.0)
    with pytest.raises(TypeError, match="also needs energy"):
        store.energy.solve_for("voltage", capacitance=1.0)
    with pytest.raises(TypeError, match="too many"):
        store.energy(1.0, 2.0, 3.0)


def test_no_value_is_a_sentence_with_the_range():
    with pytest.raises(InputError, match=r"store\.voltage_under_power has no value for .*900 W\. Its range: power below collapse"):
        store.voltage_under_power(10.0, 0.1, 900.0)
    with pytest.raises(InputError, match=r"has no value for .*store_current = 0 A"):
        store.constant_current_time(46.4, 35.0, 0.0, 0.0155, 15.0)
    with pytest.raises(InputError, match="has no value"):
        store.resistor_time(1.0, 1.0, 0.0, -1.0, 2.0)
    with pytest.raises(InputError, match="has no value"):
        gearing.gradeability(5000.0, 100.0, 0.01)  # more force than weight


@pytest.mark.parametrize("value", [0.0, -650.0, "0 F", "-650 F", 0, -1])
def test_what_cannot_be_zero_or_less_is_refused(value):
    with pytest.raises(InputError, match=r"Input capacitance of store\.energy must be above zero; instead received .* F\."):
        store.energy(value, 2.5)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), None, True, "2.5 A", "2 500 V"])
def test_what_is_no_value_names_input_and_equation(value):
    with pytest.raises(InputError, match=r"Input voltage of store\.energy must be"):
        store.energy(650.0, value)


def test_a_root_outside_the_range_is_no_root():
    with pytest.raises(InputError, match="no value of voltage between 0 and 1000"):
        store.energy.solve_for("voltage", energy=1e9, capacitance=1.0)
    with pytest.raises(InputError, match="2 values"):
        store.store_loss.solve_for("store_current", store_loss=10.0, store_resistance=0.1)
    assert store.store_loss.solve_for("store_current", store_loss=10.0, store_resistance=0.1, between=(0, 100)) == pytest.approx(
        10.0
    )


# ---------------------------------------------------------------- declaring one
def test_a_declaration_with_a_slip_is_refused():
    def made(**change):
        ready = {
            "name": "test.x",
            "left": "energy",
            "formula": lambda capacitance, voltage: capacitance * voltage**2,
            "title": "x.",
            "source": ("circuits",),
            "within": "any",
        } | change
        name, left, formula = ready.pop("name"), ready.pop("left"), ready.pop("formula")
        return Equation(name, left, formula, **ready)

    with pytest.raises(ValueError, match="stands twice"):
        made(name="store.energy")
    with pytest.raises(ValueError, match="no such source"):
        made(source=("no such source",))
    with pytest.raises(ValueError, match="speed"):
        made(limits={"speed": (0, 1)})
    with pytest.raises(KeyError, match="capacitance"):
        made(formula=lambda capacitanse, voltage: capacitanse * voltage**2)
    assert "test.x" not in EQUATIONS


def altered(equation, right):
    """A copy of an Equation with another right side, outside the registry."""
    other = copy.copy(equation)
    other.right = right
    return other


V, C, T, N = (_symbol(n) for n in ("voltage", "capacitance", "time", "usable_share"))


@pytest.mark.parametrize(
    ("right", "word"),
    [
        (C * V, "charge"),  # a whole factor is missing
        (C * V**2 + V, "cannot add"),
        (sympy.Max(C * V**2, V), "cannot add or compare"),
        (C * V**2 + sympy.Min(T, V), "cannot add or compare"),
        (sympy.Piecewise((C * V**2, V > 0), (V, True)), "cannot add or compare"),
        (sympy.sqrt(C) * V, "the right side is"),
        (C * V**2 * sympy.exp(V), "exp of"),
        (C * V**2 * sympy.log(T), "log of"),
        (C * V**2 * sympy.sin(C), "sin of"),
        (C * V**2 * 2**V, "exponent with a dimension"),
        (C * V**N, "power that is not a number"),
        (C * V**2 * sympy.Abs(T + V), "cannot add"),
        (C * V**2 + 1, "cannot add"),  # a bare number is no energy
    ],
    ids=str,
)
def test_the_audit_finds_a_planted_error(right, word):
    if word == "charge":
        word = "the right side is"
    with pytest.raises(ValueError, match=word):
        altered(store.energy, right).audit()


@pytest.mark.parametrize(
    "right",
    [
        C * V**2 + 0,
        sympy.Max(C * V**2, 0),
        sympy.Piecewise((C * V**2, V > 0), (0, True)),
        sympy.sqrt(C**2 * V**4),
        C * V**2 * sympy.exp(N),
        C * sympy.Abs(V) * V,
        C * V**2 * 2**N,
        C * V**2 * sympy.tan(sympy.asin(N)),
    ],
    ids=str,
)
def test_the_audit_lets_sound_ones_pass(right):
    altered(store.energy, right).audit()


def test_angles_and_temperatures_in_the_audit():
    """A radian has no dimension, so V s/rad times rad/s is a volt; a temperature is a kelvin."""
    assert _dimension(_symbol("motor_constant") * _symbol("motor_speed"), "x") == _dimension(V, "x")
    assert _dimension(_symbol("winding_temperature") - _symbol("air_temperature"), "x") == _dimension(_symbol("steady_rise"), "x")


def test_the_audit_cannot_see_a_wrong_pure_number():
    """What the audit is not: a factor of two passes it, so every equation needs a value from outside."""
    altered(store.energy, 2 * store.energy.right).audit()


def test_an_unknown_within_functions_is_not_rearranged_where_that_would_take_hours_but_found_by_number():
    from evlab import magnets

    known = {"remanence": 1.3, "magnet_thickness": 0.004, "magnet_radius": 0.011}  # a disc 22 by 4 mm (invented)
    assert "B_r" in str(magnets.axis_field.solve_for("remanence"))
    with pytest.raises(InputError, match="axis_field has no closed form for face_height; give the other values by name"):
        magnets.axis_field.solve_for("face_height")
    field = magnets.axis_field(face_height=0.002, **known)
    assert magnets.axis_field.solve_for("face_height", axis_field=field, **known) == pytest.approx(0.002)


def test_single_unknowns_can_be_left_to_the_bracket():
    """SymPy looks seconds for the air factor in the speed after a way, and finds nothing."""
    from evlab import coasting

    assert "s" in str(coasting.speed_after.solve_for("way"))
    with pytest.raises(InputError, match="speed_after has no closed form for air_factor; give the other values by name"):
        coasting.speed_after.solve_for("air_factor")
    # 100 kg lose half of their 200 J within 50 m to the air alone: exp(-2 k s/m) = 1/2, so k = m ln 2 / (2 s) = ln 2 kg/m.
    known = {"first_speed": 2.0, "constant_force": 0.0, "way": 50.0, "effective_mass": 100.0, "last_speed": 2.0 / math.sqrt(2)}
    assert coasting.speed_after.solve_for("air_factor", **known) == pytest.approx(math.log(2), rel=1e-9)


def test_a_bracketed_name_must_be_an_input():
    with pytest.raises(ValueError, match=r"test.odd: unknown .*'tyre'"):
        Equation("test.odd", "force", lambda mass, gravity: mass * gravity, title="Odd.", source=("mechanics",), within="here",
                 bracketed=("tyre",))
