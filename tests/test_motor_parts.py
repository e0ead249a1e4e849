"""The tables of a built motor in the vehicle file, the kinds of motor, and values adopted from a design."""

import math

import pytest

from evlab import ride
from evlab.units import InputError
from evlab.vehicle import Vehicle, load_vehicle

BOUGHT = "kick_scooter"


def test_a_bought_motor_states_nothing_and_shows_nothing():
    scooter = load_vehicle(BOUGHT)
    assert not scooter.magnets.stated
    assert "motor.magnets" not in repr(scooter)
    assert "motor.magnets" not in scooter.text


def test_the_demo_tells_how_its_motor_is_built():
    trike = load_vehicle("two_shed_trike")
    assert (trike.magnets.poles, trike.winding.coils, trike.winding.turns) == (12, 9, 26)
    assert trike.winding.gap == pytest.approx(0.014)
    assert trike.winding.height == pytest.approx(0.007)  # the middle of the gap of two rotors
    assert "motor.winding.turns" in repr(trike)


def test_a_stated_motor_goes_into_its_own_tables_and_comes_back(tmp_path):
    scooter = load_vehicle(BOUGHT)
    built = scooter.change(magnets={"shape": "disc", "poles": 6, "width": "20 mm"}, winding={"turns": 110})
    kept = built.save(tmp_path / "built.toml")
    text = (tmp_path / "built.toml").read_text(encoding="utf-8")
    assert "[motor.magnets]" in text
    assert 'width = "20 mm"' in text.split("[motor.magnets]")[1]
    assert kept is not None
    again = load_vehicle(tmp_path / "built.toml")
    assert (again.magnets.shape, again.magnets.poles, again.winding.turns) == ("disc", 6, 110)
    assert again.motor == scooter.motor


def test_a_table_given_by_its_last_word_or_by_its_whole_name_is_the_same():
    trike = load_vehicle("two_shed_trike")
    assert trike.change(winding={"turns": 30}).winding == trike.change({"motor.winding.turns": 30}).winding
    with pytest.raises(InputError, match=r"Did you mean 'motor\.winding\.turns'\?"):
        trike.change(winding={"turn": 30})
    with pytest.raises(InputError, match="magnets of change must be a mapping"):
        trike.change(magnets=12)


def test_the_ride_reads_the_constants_and_not_how_the_motor_is_built():
    trike = load_vehicle("two_shed_trike")
    fewer = trike.change(winding={"turns": 10})
    assert ride(fewer, "two_sheds_up").duration == ride(trike, "two_sheds_up").duration


# ---------------------------------------------------------------- what a design says
def test_designed_values_are_used_and_the_others_kept_beside_them():
    trike = load_vehicle("two_shed_trike")
    other = trike.adopt({"motor.constant": ("0.25 V s/rad", 0.01)}, basis="designed")
    value = other.value("motor.constant")
    assert (value.basis, value.value, value.spread) == ("designed", 0.25, 0.01)
    assert value.known["assumed"].value == 0.2092
    assert 'designed = "0.25 +/- 0.01 V s/rad"' in other.text
    assert Vehicle.from_text(other.text).value("motor.constant").basis == "designed"


def test_a_measured_value_stays_in_the_file_when_a_design_follows_it():
    measured = load_vehicle("two_shed_trike").adopt({"motor.resistance": (0.149, 0.002)})
    design = measured.adopt({"motor.resistance": (0.2, 0.01)}, basis="designed")
    assert design.motor.resistance == 0.2
    assert design.value("motor.resistance").known["measured"].value == 0.149


def test_another_basis_is_refused():
    with pytest.raises(InputError, match='must be "measured", "designed" or "assumed"; instead received \'guessed\''):
        load_vehicle("two_shed_trike").adopt({"motor.resistance": 0.2}, basis="guessed")


# ---------------------------------------------------------------- kinds of motor
@pytest.mark.parametrize("kind", ["one_phase", "two_phase"])
def test_a_phase_by_itself_is_driven_at_the_mean_of_its_emf(kind):
    motor = load_vehicle("two_shed_trike").change(motor={"kind": kind, "constant": 0.1}).motor
    angles = [math.pi * (i + 0.5) / 5000 for i in range(5000)]
    assert motor.drive_constant == pytest.approx(0.1 * sum(map(math.sin, angles)) / 5000, rel=1e-6)
    assert motor.peak_constant == 0.1
    assert list(motor.dresses()) == ["phase peak", "mean of a phase"]


@pytest.mark.parametrize(("kind", "dress"), [("one_phase", "line rms"), ("brushed", "phase peak"), ("three_phase", "terminal")])
def test_a_dress_that_a_kind_does_not_have_is_refused(kind, dress):
    with pytest.raises(InputError, match=rf"dress of \[motor\].* must be .* for the kind '{kind}'; instead received '{dress}'"):
        load_vehicle("two_shed_trike").change(motor={"kind": kind, "dress": dress})


def test_the_diodes_of_three_phases_see_the_line():
    motor = load_vehicle("two_shed_trike").motor
    assert motor.peak_constant == pytest.approx(math.sqrt(3) * 0.2092)
    assert motor.drive_constant == pytest.approx(3 / math.pi * motor.peak_constant)
