"""The picture of a day: what is drawn is what the day says."""

import numpy as np
import pytest
from matplotlib.figure import Figure

import evlab
from evlab.look import Look
from evlab.plots import day_chart


@pytest.fixture(scope="module")
def day():
    legs = [evlab.Leg("two_sheds_up", 60.0, "1 min"), evlab.Leg("two_sheds_down", 20.0, "5 min", charge=True)]
    return evlab.ride_day(evlab.load_vehicle("two_shed_trike"), legs, times=2)


@pytest.mark.parametrize("dark", [False, True])
def test_each_ride_is_a_curve_and_each_charge_an_area(day, dark):
    figure = Figure(figsize=(8, 5.6), dpi=100)
    alt, reading = day_chart(day)(figure, Look(dark=dark))(day)
    axes = figure.axes[0]
    rides = [line for line in axes.lines if len(line.get_xdata()) > 10]
    assert len(rides) == 4
    begins = [row.start for row in day.trips if row.kind == "ride"]
    assert [line.get_xdata()[0] for line in rides] == pytest.approx(begins)
    for line, ride in zip(rides, day.rides, strict=True):
        assert np.allclose(line.get_ydata(), ride.column("store_volts"))
    assert len(axes.collections) == day.charges == 2
    assert reading == day.reason
    assert day.reason in alt
    words = " ".join(text.get_text() for text in figure.findobj(lambda a: hasattr(a, "get_text")))
    assert "stop volts 15.0" in words
    assert "shaded: charging" in words
