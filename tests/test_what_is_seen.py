"""What reads the pages back does see: wrong numbers, units, labels and places fail."""

import math
from types import SimpleNamespace

import pytest
from what_is_seen import Drawn, agrees, assert_rows, assert_says, first_number, numbers_in, plain, read_number, seen_rows

import evlab
from evlab.look import setting, shown
from evlab.plots.chart import Axis, Chart
from evlab.workbench.page import Readout

VEHICLE = evlab.load_vehicle("two_shed_trike")


@pytest.mark.parametrize("value", [0.0, 1.0, -3.456, 0.0345678, 1234.0, 98765.4, -2.5e-7, 4.2e9, 99.96])
def test_a_shown_number_is_read_back_to_half_of_its_last_figure(value):
    seen = read_number(shown(value))
    assert agrees(seen, value)
    assert not agrees(seen, 1.05 * value + 0.05 * (value == 0) + 2 * seen.half)
    assert not agrees(seen, 1000 * value) or value == 0


def test_words_in_place_of_a_number():
    assert agrees(read_number("none"), math.nan)
    assert agrees(read_number("no limit"), math.inf)
    assert not agrees(read_number("none"), math.inf)
    assert not agrees(read_number("3"), math.nan)


def test_numbers_of_a_sentence():
    words = f"At {shown(-12345, 'N')} and {setting(2.4, 'm/s')} 3 times {shown(2.5e-7, 'T')}."
    assert [n.value for n in numbers_in(words)] == [-12300, 2.4, 3, 2.5e-7]
    assert first_number("and", words).value == 2.4
    assert_says("At {} N and {} m/s", words, -12345, 2.4)
    for wrong in ((-12.3, 2.4), (2.4, -12345), (-12345, 2.52)):
        with pytest.raises(AssertionError, match="should be"):
            assert_says("At {} N and {} m/s", words, *wrong)
    with pytest.raises(AssertionError, match="is not said"):
        assert_says("At {} kN", words, -12.345)


def page(*readouts):
    return SimpleNamespace(numbers_of=lambda index: readouts, outcome=lambda result: ("ok", "arrived"))


def test_rows_are_read_with_label_value_and_unit():
    shows = page(Readout("Distance", "mm", lambda r: r.far, 1e3), Readout("Teeth", "", lambda r: 76.0, whole=True),
                 Readout("Warm", "°C", lambda r: 300.0, offset=-273.15), Readout("Never", "s", lambda r: math.inf))
    rows = seen_rows(shows, SimpleNamespace(far=0.0125, vehicle=VEHICLE))
    right = {"Distance": (12.5, "mm"), "Teeth": (76, ""), "Warm": (26.85, "°C"), "Never": (math.inf, "s")}
    assert_rows(rows, right)
    for label, wrong in (("Distance", (12.5, "m")), ("Distance", (0.0125, "mm")), ("Teeth", (77, "")), ("Warm", (300, "°C"))):
        with pytest.raises(AssertionError, match=label):
            assert_rows(rows, right | {label: wrong})
    with pytest.raises(AssertionError):
        assert_rows(rows, {label: right[label] for label in ("Distance", "Teeth", "Warm")})


def test_a_picture_is_read_back():
    def build(figure, look):
        chart = Chart(figure, look, Axis.even(0, 10), Axis.even(0, 4), ("time, s", "Speed, m/s"))

        def update(case, pinned=None):
            chart.curve("motor_amps", [0, 1, 2, 3], [1, 2, 3, 4])
            chart.curve("speed", [0, 1, 2, 3], [4, 3, 2, 1])
            chart.axes.plot([2.0], [3.0], marker="o")
            chart.line([0.0, 10.0], [2.5, 2.5])
            chart.say(2.0, 3.0, "here")
            chart.beside([(4.0, "amps", look.ink, False), (1.0, "speed,\nno wind", look.ink, False)])
            return "A picture. It rises.", "It rises."

        return update

    drawn = Drawn(build, None)
    assert list(drawn.curve("motor_amps")[1]) == [1, 2, 3, 4]
    assert list(drawn.curve("speed")[1]) == [4, 3, 2, 1]
    assert drawn.marks("o") == [(2.0, 3.0)]
    assert drawn.level_lines() == [2.5]
    assert drawn.upright_lines() == []
    assert drawn.words() == {"here": (2.0, 3.0)}
    assert drawn.names() == {"amps": pytest.approx(4.0), "speed, no wind": pytest.approx(1.0)}
    assert drawn.ticks()[0]["6"] == pytest.approx(6.0)
    assert "time, s" in drawn.all_words()
    assert plain("<b>a</b>\u2009−2 &amp; b") == "a -2 & b"
