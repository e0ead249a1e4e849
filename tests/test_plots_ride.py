"""Pictures of why a ride ended, of rides side by side and of the tolerance band: real rides, and stand-ins for what none shows."""

import dataclasses
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from test_plots import SHEETS, faults

from evlab import Route, load_route, load_vehicle, ride
from evlab.comparing import compare
from evlab.exploring import tolerance_band
from evlab.look import BOOK, THIN, Plate, draw, drawing
from evlab.plots import Ranges, compared_strips, ranges_over, strip_chart, why_it_ended
from evlab.plots.bands import outline, told
from evlab.plots.compared import CASES, compared_reading, short
from evlab.plots.rescue import place, rescue_reading, wrapped
from evlab.ride_case import RideCase

TRIKE, SCOOTER = load_vehicle("two_shed_trike"), load_vehicle("kick_scooter")
UP, DOWN = load_route("two_sheds_up"), load_route("two_sheds_down")


def change(name, label, unit, before, after, low, high):
    """A stand-in for a Change, its SI values shown as they are."""
    return SimpleNamespace(name=name, label=label, unit=unit, before=before, after=after, low=low, high=high, best=100.0,
                           saves=after == after, shown=lambda si: si)  # fmt: skip


def changes(rows, arrived=False):
    saving = sorted((r for r in rows if r.saves), key=lambda r: abs(r.after - r.before) / (r.high - r.low))
    return SimpleNamespace(rows=tuple(rows), saving=saving, useless=[r for r in rows if not r.saves], arrived=arrived)


def crowded(result):
    """Many rows, long names and wide numbers, needed values at both edges and at the present one, a long reason."""
    nan, reason = float("nan"), "It came to a stand and then rolled back, on the climb of 7.0 % in a head wind of 12 m/s: " * 4
    rows = [change(f"row {i}", "Coil current limit", "mm", 1234.5, after, -999.0, 9990.0)
            for i, after in enumerate([nan, -999.0, 9990.0, 1234.5, 1240.0] * 3)]  # fmt: skip
    ended = SimpleNamespace(result=SimpleNamespace(outcome="rolled back", distance=result.distance, reason=reason, route=UP))
    ended.changes = changes(rows)
    return ended


def case_of(outcome, distance, rows):
    arrived = outcome == "arrived"
    return SimpleNamespace(result=SimpleNamespace(outcome=outcome, distance=distance, reason="It did.", route=UP),
                           changes=changes(rows, arrived))  # fmt: skip


@pytest.fixture(scope="module")
def cases():
    weak = TRIKE.change({"controller.coil_current_limit": 15.0})
    made = {"cut off": RideCase(TRIKE, UP, start=22.0), "arrived": RideCase(TRIKE, UP), "stalled": RideCase(weak, UP),
            "pack": RideCase(SCOOTER, UP), "at once": RideCase(TRIKE, UP, start=15.2)}  # fmt: skip
    made["crowded"] = crowded(made["cut off"].result)
    made["at the end"] = case_of("too hot", 174.9, [change("road.drag_area", "Drag area", "m²", 1.0, float("nan"), 0.1, 2.0)])
    return made | {"nothing": case_of("stalled", 0.0, [])}


@pytest.fixture(scope="module")
def sides():
    four = {"my trike": TRIKE, "with about half of the bank left in it": TRIKE.change({"store.cell_capacitance": 350.0}),
            "a pack": SCOOTER, "22 V": ride(TRIKE, UP, start=22.0)}  # fmt: skip
    two = {"full": TRIKE, "other gear": TRIKE.change({"gearing.wheel_teeth": 44})}
    down = {"full": ride(TRIKE, DOWN), "25 V": ride(TRIKE, DOWN, start=25.0), "20 V": ride(TRIKE, DOWN, start=20.0)}
    short_of = {"22 V": ride(TRIKE, UP, start=22.0), "22.1 V": ride(TRIKE, UP, start=22.1), "22.2 V": ride(TRIKE, UP, start=22.2)}
    return {"four": compare(four, UP), "two": compare(two, UP), "down": compare(down), "early": compare(short_of)}


@pytest.fixture(scope="module")
def bands():
    return {start: tolerance_band(TRIKE, UP, runs=40, start=start) for start in (None, 30.0, 22.0)}


def side_axes(comparison):
    return ranges_over([r.vehicle for r in comparison.results], comparison.route)


def unspoilt(build, source, pinned, sheets=SHEETS):
    """No words touch or are cut, on any sheet, light or dark."""
    for number, (wide, high, dpi) in enumerate(sheets):
        figure, alt, reading = draw(build, source, bool(number % 2), (wide, high), dpi, pinned)
        with drawing():
            FigureCanvasAgg(figure)
            figure.draw_without_rendering()
            assert faults(figure, 0.03 * dpi) == ([], []), (wide, dpi)
        assert reading in alt
        assert len(alt.split()) <= 80
        assert reading.endswith(".")
        assert "nan" not in alt.replace("nance", "")


def quick_is_full(build, first, last, pinned, dark):
    """The quick painting is the full drawing, pixel for pixel."""
    plate = Plate(build, dark, (7.31, 5.45), 100)
    for source in (first, last, first, last):
        plate.show(source, pinned)
    assert (plate.full_draws, plate.blits) == (1, 3)
    quick = np.asarray(plate.canvas.buffer_rgba()).astype(int)
    figure, _, _ = draw(build, last, dark, (7.31, 5.45), 100, pinned)
    with drawing():
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
    assert np.abs(np.asarray(canvas.buffer_rgba()).astype(int) - quick).max() <= 2


def texts(figure):
    return [t.get_text() for owner in (figure, *figure.axes) for t in owner.texts if t.get_text().strip()]


# ---------------------------------------------------------------- why it ended
@pytest.mark.parametrize("name", ["cut off", "arrived", "stalled", "pack", "at once", "crowded", "at the end", "nothing"])
def test_words_of_why_it_ended_are_whole(cases, name):
    unspoilt(why_it_ended(UP), cases[name], cases["stalled"])


def test_a_row_says_what_is_needed_or_that_nothing_can(cases):
    figure, _, reading = draw(why_it_ended(UP), cases["cut off"])
    told_there = texts(figure)
    rows = {row.name: row for row in cases["cut off"].changes.rows}
    assert f"31.4{THIN}V" in told_there
    assert "22 →" in told_there
    assert f"60{THIN}kg  cannot save it" in told_there
    assert sum("cannot save it" in t for t in told_there) == sum(not row.saves for row in rows.values())
    assert any(t.startswith("The store fell to") for t in told_there)
    assert f"cut-off, 83.3{THIN}m" in told_there
    assert reading.startswith(f"The ride is cut off at 83.3{THIN}m of 175{THIN}m; any one of these saves it: ")


def test_dots_and_rings_stand_where_their_values_are():
    """Along a scale from 0 to 10, values 2 and 7 stand two and seven tenths of it from its low end."""
    case = case_of("stalled", 50.0, [change("load.cargo", "Cargo", "kg", 2.0, 7.0, 0.0, 10.0)])
    figure, _, _ = draw(why_it_ended(UP), case)
    lines = figure.axes[-1].lines
    scale = next(line for line in lines if line.get_zorder() == 2 and np.ptp(line.get_xdata()) > 50)
    low, high = scale.get_xdata()
    at = {line.get_zorder(): line.get_xdata()[0] for line in lines if line.get_marker() == "o"}
    assert (at[5] - low) / (high - low) == pytest.approx(0.2)
    assert (at[4] - low) / (high - low) == pytest.approx(0.7)


def test_a_ride_that_arrived_tells_what_would_end_it(cases):
    figure, _, reading = draw(why_it_ended(UP), cases["arrived"])
    assert "now → ends it" in texts(figure)
    assert f"0.95{THIN}m²  always arrives" in texts(figure)
    assert reading.startswith("The ride arrives; any one of these would end it: ")
    assert "arrived" in texts(figure)
    assert not any(t.startswith("arrived, ") for t in texts(figure))  # no mark on the way


def test_nothing_that_saves_is_said_so():
    useless = [change("load.cargo", "Cargo", "kg", 2.0, float("nan"), 0.0, 10.0),
               change("road.drag_area", "Drag area", "m²", 1.0, float("nan"), 0.1, 2.0)]  # fmt: skip
    assert rescue_reading(case_of("stalled", 50.0, useless)) == (
        f"The ride stalls at 50.0{THIN}m of 175{THIN}m; no single change of cargo and drag area saves it.")  # fmt: skip
    assert rescue_reading(case_of("arrived", 175.0, useless)) == "The ride arrives, whatever one of these is changed to."
    one = [*useless[:1], change("road.drag_area", "Drag area", "m²", 1.0, 0.5, 0.1, 2.0)]
    assert rescue_reading(case_of("stalled", 50.0, one)).endswith(
        f"saves it: drag area 0.5{THIN}m² instead of 1{THIN}m²; one other cannot, alone.")  # fmt: skip


def test_the_pinned_case_is_grey(cases):
    plate = Plate(why_it_ended(UP))
    plate.show(cases["cut off"])
    alone = plate.png()
    plate.show(cases["cut off"], cases["stalled"])
    assert "thin grey: pinned" in texts(plate.figure)
    assert plate.png() != alone
    plate.show(cases["cut off"])
    assert plate.png() == alone


@pytest.mark.parametrize("dark", [False, True])
def test_quick_painting_of_why_it_ended(cases, dark):
    quick_is_full(why_it_ended(UP), cases["arrived"], cases["cut off"], cases["stalled"], dark)


def test_the_place_of_a_quantity_gives_its_colour():
    assert (place("start"), place("head_wind"), place("store.cell_capacitance"), place("no such field")) == (
        "store", "road", "store", "motion")  # fmt: skip
    assert {place(row) for row in ("load.cargo", "gearing.wheel_teeth", "driver.pedalling_power")} <= set(BOOK["place"])


def test_a_sentence_is_laid_in_lines():
    words = "one two three four five six seven eight nine ten"
    lines = wrapped(words, 120, 9.5, 9)
    assert " ".join(lines) == words
    assert len(lines) > 2
    assert wrapped(words, 120, 9.5, 2)[-1].endswith(" …")
    assert wrapped("short", 120, 9.5, 2) == ["short"]


# ---------------------------------------------------------------- side by side
@pytest.mark.parametrize("name", ["four", "two", "down", "early"])
def test_words_of_rides_side_by_side_are_whole(sides, name):
    comparison = sides[name]
    unspoilt(compared_strips(comparison.route, side_axes(comparison)), comparison, sides["two"])


def test_every_ride_has_its_dash_its_label_and_its_reading(sides):
    figure, _, reading = draw(compared_strips(UP, side_axes(sides["four"])), sides["four"], size=(13.0, 6.0))
    shown_there = texts(figure)
    trike = sides["four"].results[0]
    assert sum(t.startswith("my trike  ") for t in shown_there) == 4
    assert sum(t.startswith("with about") for t in shown_there) == 4
    assert f"my trike  {trike.distance / trike.duration:.2f}{THIN}m/s" in shown_there
    assert f"my trike  {trike.ledger['store'] / 1000:.1f}{THIN}kJ" in shown_there
    assert reading.count("; ") == 3
    assert len({tuple(BOOK["quantity"][name]["dash"]) for name in CASES}) == 4


def test_curves_of_one_strip_have_its_colour_and_different_dashes(sides):
    plate = Plate(compared_strips(UP, side_axes(sides["four"])))
    plate.show(sides["four"])
    for axes, name in zip(plate.figure.axes[1:5], ("speed", "store_volts", "store_amps", "given_energy"), strict=True):
        curves = [line for line in axes.lines if line.get_zorder() == 3]
        assert {line.get_color() for line in curves} == {plate.look.line(name)}
        assert len({str(line._unscaled_dash_pattern) for line in curves}) == 4
        assert all(len(line.get_xdata()) > 10 for line in curves)


def test_two_rides_show_two_samples_and_the_flags_of_those_that_ended_early(sides):
    plate = Plate(compared_strips(UP, side_axes(sides["four"])), size=(9.5, 5.5))
    plate.show(sides["two"])
    assert sum(line.get_visible() for line in plate.figure.artists) == 2 + 4 * 2  # slope and height, and two in each strip
    assert not any("cut-off" in t for t in texts(plate.figure))
    plate.show(sides["four"])
    assert sum(line.get_visible() for line in plate.figure.artists) == 2 + 4 * 4
    assert any("22 V: cut-off" in t for t in texts(plate.figure))


def test_stop_volts_are_drawn_where_all_have_the_same(sides):
    for name, drawn in (("two", 15.0), ("four", float("nan"))):
        plate = Plate(compared_strips(UP, side_axes(sides[name])))
        plate.show(sides[name])
        at = next(line.get_ydata()[0] for line in plate.figure.axes[2].lines if line.get_zorder() == 2.2)
        assert at == pytest.approx(drawn, nan_ok=True)


def test_axes_over_several_vehicles_hold_each_of_them():
    alone = [Ranges.around(v, UP) for v in (TRIKE, SCOOTER)]
    both = ranges_over((TRIKE, SCOOTER), UP)
    assert both.volts == (0.0, max(r.volts[1] for r in alone))
    assert both.amps == (min(r.amps[0] for r in alone), max(r.amps[1] for r in alone))
    assert both.energy == max(r.energy for r in alone)


def test_what_leaves_a_strip_is_told(sides):
    for volts, told_there in ((20.0, "some is off scale"), (45.0, "at right: last")):
        axes = dataclasses.replace(side_axes(sides["two"]), volts=(0.0, volts), energy=1e6)
        figure, _, _ = draw(compared_strips(UP, axes), sides["two"])
        assert ("some is off scale" in texts(figure)) == (volts < 35)
        assert told_there in texts(figure)


@pytest.mark.parametrize("dark", [False, True])
def test_quick_painting_of_rides_side_by_side(sides, dark):
    quick_is_full(compared_strips(UP, side_axes(sides["four"])), sides["four"], sides["two"], sides["two"], dark)


def test_a_label_is_cut_where_it_has_no_room(sides):
    assert short("a pack", 80) == "a pack"
    assert short("a pack of an old machine", 80).endswith("…")
    assert compared_reading(sides["two"]).startswith("Full arrives after ")


# ---------------------------------------------------------------- the band
@pytest.mark.parametrize("start", [None, 30.0, 22.0])
def test_words_of_a_chart_with_a_band_are_whole(bands, start):
    build = strip_chart(UP, Ranges.around(TRIKE, UP), lambda result: bands[start])
    unspoilt(build, ride(TRIKE, UP, start=start), ride(TRIKE, UP, start=25.0))


def test_the_band_lies_behind_the_curve_from_low_to_high(bands):
    """Its corners are the 5 % and the 95 % of the rides, and every place where it is known is in it."""
    result, band = ride(TRIKE, UP), bands[None]
    plate = Plate(strip_chart(UP, Ranges.around(TRIKE, UP), lambda r: band))
    plate.show(result)
    area = next(c for c in plate.figure.axes[1].collections if c.get_zorder() == 1.6)
    corners = area.get_paths()[0].vertices[:-1]
    low, _, high = band.bands["speed"]
    known = np.isfinite(low)
    half = known.sum()
    assert corners[:half, 1] == pytest.approx(low[known])
    assert corners[half:2 * half, 1] == pytest.approx(high[known][::-1])
    assert area.get_zorder() < 2.6
    assert "pale: 9 rides in 10" in texts(plate.figure)


def test_the_band_follows_the_result_and_goes_again(bands):
    result, ranges = ride(TRIKE, UP), Ranges.around(TRIKE, UP)
    shown_now = {"band": None}
    plate = Plate(strip_chart(UP, ranges, lambda r: shown_now["band"]))
    _, plain = plate.show(result)
    without = plate.png()
    shown_now["band"] = bands[None]
    _, reading = plate.show(result)
    assert plate.png() != without
    assert reading != plain
    assert reading.endswith(f"of 40 rides within its tolerances {bands[None].arrived} arrive.")
    shown_now["band"] = None
    assert plate.show(result)[1] == plain
    assert plate.png() == without
    assert (plate.full_draws, plate.blits) == (1, 2)


def test_a_band_that_comes_with_the_result_is_shown(bands):
    result = ride(TRIKE, UP)
    carried = SimpleNamespace(band_shown=bands[None])
    chart = Plate(strip_chart(UP, Ranges.around(TRIKE, UP)))
    chart.show(result)
    assert "pale: 9 rides in 10" not in texts(chart.figure)

    class Carrying:
        def __getattr__(self, name):
            return getattr(carried if name == "band_shown" else result, name)

    chart.show(Carrying())
    assert "pale: 9 rides in 10" in texts(chart.figure)


@pytest.mark.parametrize("dark", [False, True])
def test_quick_painting_of_a_band(bands, dark):
    rides = {start: ride(TRIKE, UP, start=start) for start in (30.0, 22.0)}
    build = strip_chart(UP, Ranges.around(TRIKE, UP), lambda r: bands[22.0 if r is rides[22.0] else 30.0])
    quick_is_full(build, rides[22.0], rides[30.0], None, dark)


def test_an_outline_goes_round_what_is_known():
    x, nan = np.array([0.0, 1.0, 2.0]), float("nan")
    assert outline(x, np.array([1.0, 2.0, nan]), np.array([3.0, 4.0, nan])).tolist() == [[0, 1], [1, 2], [1, 4], [0, 3]]
    assert outline(x, np.array([1.0, nan, nan]), np.array([3.0, nan, nan])) is None


def test_a_band_tells_how_many_arrive_and_from_where_on_the_others_end():
    def band(arrived, reached):
        return SimpleNamespace(runs=len(reached), arrived=arrived, reached=np.array(reached))

    reading = "The ride arrives after 9.0 s; no limit holds it back."
    assert told(reading, None) == reading
    head = "The ride arrives after 9.0 s; of 3 rides within its tolerances "
    assert told(reading, band(3, [9.0, 9.0, 9.0])) == f"{head}3 arrive."
    assert told(reading, band(0, [1.0, 2.0, 3.0])) == f"{head}none arrive."
    assert told(reading, band(1, [4.0, 3.0, 9.0])) == f"{head}1 arrives, the others end from 3.00{THIN}m on."


# ---------------------------------------------------------------- the end of a ride, and the full store
@pytest.mark.parametrize("start", [22.0, 15.2])
def test_the_end_stands_on_the_profile_of_the_strip_chart(start):
    result = ride(TRIKE, UP, start=start)
    figure, _, _ = draw(strip_chart(UP, Ranges.around(TRIKE, UP)), result)
    (dot,) = (line for line in figure.axes[0].lines if line.get_marker() == "o")
    assert dot.get_xdata() == [result.distance]
    road = next(line for line in figure.axes[0].lines if line.get_zorder() == 1.3)
    assert dot.get_ydata()[0] == pytest.approx(np.interp(result.distance, road.get_xdata(), road.get_ydata()))
    assert any(t.startswith("cut-off, ") for t in texts(figure))


def test_a_ride_that_arrived_has_no_mark_on_its_profile():
    figure, _, _ = draw(strip_chart(UP, Ranges.around(TRIKE, UP)), ride(TRIKE, UP))
    assert not [line for line in figure.axes[0].lines if line.get_marker() == "o" and len(line.get_xdata())]


def test_a_full_store_stands_in_the_ribbon_in_its_own_colour():
    result = ride(TRIKE, DOWN)
    assert any(spell.by == "full store" for spell in result.held)
    plate = Plate(strip_chart(DOWN, Ranges.around(TRIKE, DOWN)))
    _, reading = plate.show(result)
    assert "full store" in texts(plate.figure)
    assert any("full store, " in t for t in texts(plate.figure))  # the event, with its time
    assert reading.endswith("m the full store leaves the braking to the friction brake.")
    assert BOOK["held"]["full store"]["place"] == "store"


def test_a_level_way_can_be_drawn_too():
    level = Route.from_segments([(200.0, 0.0, 3.0)])
    case = RideCase(TRIKE, level, start=18.0)
    unspoilt(why_it_ended(level), case, None)
    unspoilt(strip_chart(level, Ranges.around(TRIKE, level)), case.result, None)
