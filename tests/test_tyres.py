"""Sizes of tyres and the table of tyres and surfaces."""

import math

import pytest

from evlab import tyres
from evlab.units import InputError


def test_the_table_is_in_order_and_marked():
    rows = tyres.table()
    assert (rows["low"] <= rows["default"]).all()
    assert (rows["default"] <= rows["high"]).all()
    assert rows["mark"].str.len().min() > 3
    assert set(tyres.table("tyre_grip")["quantity"]) == {"tyre_grip"}
    assert rows.index.is_unique


def test_a_row_by_its_name():
    row = tyres.row("city bicycle")
    assert (row["quantity"], row["default"], row["mark"]) == ("rolling_coefficient", 0.0077, "tengattini")


def test_taking_the_table_does_not_change_it():
    mine = tyres.table()
    mine.loc["gravel", "low"] = 9.0
    assert tyres.row("gravel")["low"] == 0.3


def test_the_demo_vehicles_lie_inside_their_rows():
    import evlab

    trike, scooter = evlab.load_vehicle("two_shed_trike"), evlab.load_vehicle("kick_scooter")
    for vehicle, rolling, air in ((trike, "cargo trike on yard concrete", "cargo trike with box"),
                                  (scooter, "scooter with air in 200 mm tyres", "standing on a scooter")):
        for name, value in ((rolling, vehicle.road.rolling_coefficient), (air, vehicle.road.drag_area)):
            row = tyres.row(name)
            assert row["low"] <= value <= row["high"]


def test_cold_and_crooked_wheels_cost():
    assert tyres.cold_rolling(0.008, 268.15) == pytest.approx(0.008 * 1.375)
    assert tyres.toe_force(5000.0, math.radians(2.0)) == pytest.approx(4 * float(tyres.toe_force(5000.0, math.radians(1.0))))
    assert "outside the range" in tyres.toe_force(5000.0, 0.1).note


def test_what_is_refused():
    with pytest.raises(InputError) as said:
        tyres.row("gravl")
    assert "must be one of racing tyre on a smooth road; " in str(said.value)
    assert str(said.value).endswith("instead received 'gravl'. Did you mean 'gravel'?")
    with pytest.raises(InputError) as said:
        tyres.table("grip")
    assert "must be one of rolling_coefficient, drag_area, tyre_grip; instead received 'grip'." in str(said.value)
    with pytest.raises(InputError, match="must be above zero"):
        tyres.rolling_circumference(0.0, 0.047)
