"""Pictures: nothing touches or is cut, axes stand still, the quick painting is the full one, words tell the picture."""

import itertools
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.patches import Rectangle

from evlab import Route, load_route, load_vehicle, ride
from evlab.driver import ThrottleHeld
from evlab.look import BOOK, THIN, Plate, draw, drawing
from evlab.plots import Ranges, ledger_growth, ledger_rulers, strip_chart
from evlab.plots.ranges import few_ticks, thinned, tick_words
from evlab.plots.rulers import both_sides, ledger_reading
from evlab.plots.sentences import held_back

VEHICLE = load_vehicle("two_shed_trike")
UP, DOWN = load_route("two_sheds_up"), load_route("two_sheds_down")
#   width and height in inches, dots per inch: a narrow pane, the usual one, a wide one, larger type in three panes
SHEETS = ((6.5, 5.45, 100), (7.31, 5.45, 100), (13.71, 6.6, 100), (9.8, 5.1, 130), (6.0, 5.1, 130), (5.0, 5.1, 130))
LEDGERS = tuple((wide, 4.2, dpi) for wide, _, dpi in (*SHEETS[:3], SHEETS[-1]))
RIDES = ("up", "down", "cut off", "head wind", "tail wind", "coil limit", "stalled", "at once", "one row", "charged")


class Altered:
    """A ride with some of its attributes or columns replaced: what no ride of this vehicle would show."""

    def __init__(self, ride, changes=None, columns=None, rows=None):
        self.ride, self.changes, self.columns, self.rows = ride, changes or {}, columns or {}, rows

    def __getattr__(self, name):
        return self.changes[name] if name in self.changes else getattr(self.ride, name)

    def column(self, name):
        return self.columns.get(name, self.ride.column(name))[: self.rows]


@pytest.fixture(scope="module")
def rides():
    up = ride(VEHICLE, UP)
    made = {
        "up": up, "down": ride(VEHICLE.change({"load.cargo": 20.0}), DOWN, start=up), "cut off": ride(VEHICLE, UP, start=22.0),
        "head wind": ride(VEHICLE, UP, wind=5.0), "tail wind": ride(VEHICLE, UP, wind=-6.0),
        "coil limit": ride(VEHICLE.change({"controller.coil_current_limit": 22.0}), UP),
        "stalled": ride(VEHICLE.change({"controller.coil_current_limit": 15.0}), UP),
        "at once": ride(VEHICLE, UP, start=15.2), "charged": ride(VEHICLE, DOWN, start=28.0),
    }  # fmt: skip
    nothing = {"ledger": dict.fromkeys(up.ledger, 0.0), "duration": 0.0, "distance": 0.0, "outcome": "stalled", "held": []}
    return made | {"one row": Altered(up, nothing | {"events": [], "closure": 0.0}, rows=1), "busy": busy(up)}


def busy(up):
    """Every kind of event and of spell, close together, and numbers as wide as they come."""
    kinds = ("slope begins", "slope ends", "coil current limit", "store current limit", "duty limit", "braking")
    kinds += ("friction brake", "set speed", "stop", "go", "cut-off")
    events = [SimpleNamespace(time=3.3 * i + 1, distance=8.0 * i, kind=kind) for i, kind in enumerate(kinds)]
    held = [SimpleNamespace(start=5.0 * i, end=5.0 * i + 5, by=by) for i, by in enumerate(([*BOOK["held"]] * 3)[:35])]
    vehicle = VEHICLE.change({"controller.coil_current_limit": 122.5})
    changes = {"events": events, "held": held, "outcome": "cut-off", "distance": 80.0, "vehicle": vehicle}
    return Altered(up, changes, {"motor_amps": -8.0 * up.column("motor_amps")})


def pictures(result):
    ranges = Ranges.around(VEHICLE, result.route)
    return {"strips": (strip_chart(result.route, ranges), SHEETS), "rulers": (ledger_rulers(), LEDGERS),
            "growth": (ledger_growth(result.route, ranges), LEDGERS)}  # fmt: skip


def words_on(figure):
    """Every text that is drawn, with its box in pixels."""
    renderer, texts = figure.canvas.get_renderer(), list(figure.texts)
    for axes in figure.axes:
        texts += axes.texts
        if axes.axison:
            texts += [axes.xaxis.label, *axes.get_xticklabels(), *axes.get_yticklabels()]
    shown = [t for t in texts if t.get_visible() and t.get_text().strip() and t.get_alpha() != 0]
    return [(t.get_text(), t.get_window_extent(renderer)) for t in shown]


def faults(figure, slack):
    """Words that are cut by the paper's edge, and pairs that touch."""
    wide, high = figure.get_size_inches() * figure.dpi
    boxes = words_on(figure)
    cut = [w for w, b in boxes if b.x0 < 0 or b.y0 < -slack or b.x1 > wide or b.y1 > high + slack]
    touching = [(w, v) for (w, a), (v, b) in itertools.combinations(boxes, 2)
                if min(a.x1, b.x1) > max(a.x0, b.x0) and min(a.y1, b.y1) - max(a.y0, b.y0) > slack]  # fmt: skip
    return cut, touching


def assert_words_stay_apart(build, case, kind):
    """On every sheet that a page may lay; 6 inches is the narrowest."""
    for wide, high, dpi in SHEETS[:5]:
        figure, _, _ = draw(build, case, False, (max(wide, 6.0), high), dpi, None)
        with drawing():
            FigureCanvasAgg(figure)
            figure.draw_without_rendering()
            assert faults(figure, 0.03 * dpi) == ([], []), (kind, wide, dpi)


def assert_quick_is_full(build, first, others, to_scale=False):
    """Painted over its kept ground through other cases and back, it is the full drawing, and the axes stood still; a drawing to
    scale may cover more or less."""
    plate = Plate(build, True, (7.31, 5.6), 100)
    plate.show(first)
    before = places(plate.figure, to_scale)
    for case in [*others, first]:
        plate.show(case, others[0])
        assert places(plate.figure, to_scale) == before
    assert plate.full_draws == 1
    figure, _, _ = draw(build, first, True, (7.31, 5.6), 100, others[0])
    with drawing():
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
    quick, full = (np.asarray(c.buffer_rgba()).astype(int) for c in (plate.canvas, canvas))
    assert np.abs(quick - full).max() <= 2


def places(figure, to_scale):
    """Where axes stand and, but for a drawing to scale, what they cover."""
    return [(tuple(a.get_position().bounds), () if to_scale else (a.get_xlim(), a.get_ylim())) for a in figure.axes]


# ---------------------------------------------------------------- layout
@pytest.mark.parametrize("picture", ["strips", "rulers", "growth"])
@pytest.mark.parametrize("name", [*RIDES, "busy"])
def test_no_words_touch_or_are_cut(rides, name, picture):
    """On every sheet, with a pinned ride (it adds words); boxes may share 3 % of an inch, the empty rim of a line."""
    build, sheets = pictures(rides[name])[picture]
    for wide, high, dpi in sheets:
        figure, _, _ = draw(build, rides[name], False, (wide, high), dpi, rides["down"])
        with drawing():
            FigureCanvasAgg(figure)
            figure.draw_without_rendering()  # places the names of axes
            assert faults(figure, 0.03 * dpi) == ([], []), (wide, dpi)


def test_the_check_of_touching_words_sees_them(rides):
    figure, _, _ = draw(ledger_rulers(), rides["up"], size=(7, 4.2))
    FigureCanvasAgg(figure)
    figure.text(0.0, 0.93, "What gave us this")
    figure.text(0.98, 0.02, "beyond the edge")
    cut, touching = faults(figure, 3)
    assert cut == ["beyond the edge"]
    assert ("What gave", "What gave us this") in [tuple(sorted(pair)) for pair in touching]


def test_no_type_is_smaller_than_nine_points(rides):
    for build, sheets in pictures(rides["head wind"]).values():
        plate = Plate(build, True, sheets[-1][:2], sheets[-1][2])
        plate.show(rides["head wind"], rides["up"])
        sizes = [t.get_fontsize() for owner in (plate.figure, *plate.figure.axes) for t in owner.texts]
        sizes += [t.get_fontsize() for a in plate.figure.axes for t in (*a.get_xticklabels(), *a.get_yticklabels())]
        assert min(sizes) >= 9


# ---------------------------------------------------------------- movement
@pytest.mark.parametrize("picture", ["strips", "rulers", "growth"])
@pytest.mark.parametrize("dark", [False, True])
def test_quick_painting_is_the_full_drawing_pixel_for_pixel(rides, picture, dark):
    build, _ = pictures(rides["up"])[picture]
    plate = Plate(build, dark, (7.31, 5.45), 100)
    for name in ("up", "head wind", "cut off", "one row", "head wind"):
        plate.show(rides[name], rides["up"])
    quick = np.asarray(plate.canvas.buffer_rgba()).astype(int)
    assert (plate.full_draws, plate.blits) == (1, 4)
    figure, _, _ = draw(build, rides["head wind"], dark, (7.31, 5.45), 100, rides["up"])
    with drawing():
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
    assert np.abs(np.asarray(canvas.buffer_rgba()).astype(int) - quick).max() <= 2


def test_axes_stand_still_and_hold_every_ride(rides):
    for picture in ("strips", "rulers", "growth"):
        plate = Plate(pictures(rides["up"])[picture][0])
        before = [(a.get_xlim(), a.get_ylim(), tuple(a.get_position().bounds)) for a in plate.figure.axes]
        for name in ("up", "cut off", "head wind", "tail wind", "coil limit", "stalled", "one row"):
            plate.show(rides[name], rides["up"])
            assert [(a.get_xlim(), a.get_ylim(), tuple(a.get_position().bounds)) for a in plate.figure.axes] == before
            for axes in plate.figure.axes if picture == "strips" else ():
                (low, high), curves = axes.get_ylim(), [line for line in axes.lines if line.get_zorder() == 3]
                drawn = np.concatenate([np.atleast_1d(line.get_ydata()) for line in curves] or [[low]])
                assert low <= drawn.min()
                assert drawn.max() <= high


def test_the_pinned_ride_is_a_thin_grey_line(rides):
    plate = Plate(pictures(rides["up"])["strips"][0])

    def ghosts():
        grey = [
            x for a in plate.figure.axes for x in a.lines if x.get_color() == plate.look.ink2 and x.get_zorder() == 2.6
        ]
        return [line for line in grey if len(line.get_xdata())]

    plate.show(rides["up"])
    assert not ghosts()
    without = plate.png()
    alt, _ = plate.show(rides["up"], rides["cut off"])
    assert len(ghosts()) == 6
    assert plate.png() != without
    assert "Pinned to 83.3" in alt
    assert all(line.get_xdata()[-1] == rides["cut off"].column("distance")[-1] for line in ghosts())
    plate.show(rides["up"])
    assert plate.png() == without


def test_a_ride_that_ends_early_has_an_end_line_and_one_that_arrives_has_none(rides):
    plate = Plate(pictures(rides["up"])["strips"][0])

    def ends():
        thick = [
            line for a in plate.figure.axes for line in a.lines if line.get_zorder() == 5 and len(line.get_xdata())
        ]
        return {float(line.get_xdata()[0]) for line in thick}

    plate.show(rides["up"])
    assert ends() == set()
    plate.show(rides["cut off"])
    assert ends() == {rides["cut off"].distance}


def test_the_limit_lines_follow_the_vehicle(rides):
    plate = Plate(pictures(rides["up"])["strips"][0])
    for name, amps in (("up", 45.0), ("coil limit", 22.0)):
        plate.show(rides[name])
        limits = [line.get_ydata()[0] for a in plate.figure.axes for line in a.lines if line.get_zorder() == 2.2]
        assert limits == pytest.approx([15.0, amps, -25.0, 97.0, 90.0])  # braking is negative


# ---------------------------------------------------------------- ledger
def blocks(figure):
    """The blocks of each ruler, by height on the paper: [(left, right)] in hundredths of an inch."""
    rows = {}
    for patch in figure.axes[0].patches:
        if isinstance(patch, Rectangle):
            rows.setdefault(patch.get_y(), []).append((patch.get_x(), patch.get_x() + patch.get_width()))
    return [sorted(row) for _, row in sorted(rows.items(), reverse=True)]


@pytest.mark.parametrize("name", ["up", "down", "tail wind", "charged", "cut off"])
def test_both_rulers_are_equally_long(rides, name):
    """The balance itself: what gave is as long as where it went; the detail repeats the small terms to one scale."""
    plate = Plate(ledger_rulers(), size=(7.31, 4.4))
    plate.show(rides[name])
    gave, went, *detail = blocks(plate.figure)
    assert gave[0][0] == went[0][0] == 16
    assert gave[-1][1] == pytest.approx(715, abs=1.6)  # 16 from the edge; a block is at least 1.5 wide
    assert went[-1][1] == pytest.approx(715, abs=1.6)
    gives, uses = both_sides(rides[name])
    assert len(gave) == len(gives)
    assert len(went) == len(uses)
    share = [(b - a) / 699 for a, b in went]
    total = sum(gives.values())
    assert sorted(share)[-1] == pytest.approx(max(uses.values()) / total, abs=1e-3)
    if detail:
        scale = (detail[0][0][1] - detail[0][0][0]) / 699 * total
        assert any(scale / v == pytest.approx(round(scale / v), rel=1e-6) for v in uses.values())


def test_whatever_is_negative_gave(rides):
    assert set(both_sides(rides["up"])[0]) == {"store"}
    assert "air" in both_sides(rides["tail wind"])[0]
    gives, uses = both_sides(rides["charged"])
    assert set(gives) == {"lift"}
    assert "store" in uses
    reading = ledger_reading(gives, uses)
    assert reading.startswith("The height gave ")
    assert "kept in motion and store" in reading


def test_a_ledger_that_does_not_close_says_so(rides):
    plate = Plate(ledger_rulers(), size=(7.31, 4.4))
    plate.show(Altered(rides["up"], {"closure": 12.0}))
    assert any(t.get_text().startswith("does not close: closure 12.000") for t in plate.figure.axes[0].texts)


def test_an_empty_ledger_is_told_and_drawn_without_blocks(rides):
    plate = Plate(ledger_rulers(), size=(7.31, 4.4))
    alt, reading = plate.show(rides["one row"])
    assert reading in alt
    assert "empty" in reading
    assert blocks(plate.figure) == []


# ---------------------------------------------------------------- words
@pytest.mark.parametrize("picture", ["strips", "rulers", "growth"])
@pytest.mark.parametrize("name", RIDES)
def test_alt_text_is_short_and_holds_the_reading(rides, name, picture):
    for pinned in (None, rides["cut off"]):
        alt, reading = Plate(pictures(rides[name])[picture][0], size=(7.31, 5.1)).show(rides[name], pinned)
        assert reading in alt
        assert len(alt.split()) <= 80
        assert reading.endswith(".")
        assert reading.count(". ") == 0
        assert "nan" not in alt


def test_the_reading_names_the_limit_and_its_metres(rides):
    result = rides["coil limit"]
    metres, by = held_back(result)
    assert by == "coil current limit"
    assert metres == pytest.approx(sum(s.end - s.start for s in result.held if s.by == by))
    _, reading = Plate(pictures(result)["strips"][0]).show(result)
    assert "the coil current limit holds it back" in reading
    assert f"{metres:.0f}" in reading


def test_long_routes_are_told_in_kilometres_and_minutes(rides):
    long = Route.from_segments([(3000.0, 0.0, 6.0), (3000.0, 0.02, 6.0)])
    up = rides["up"]
    columns = {"time": 20 * up.column("time"), "distance": 6000 / 175 * up.column("distance")}
    plate = Plate(strip_chart(long, Ranges.around(VEHICLE, long)))
    plate.show(Altered(up, {"route": long, "duration": 20 * up.duration, "held": [], "events": []}, columns))
    told = [t.get_text() for t in plate.figure.texts]
    assert "distance, km" in told
    assert "time, min" in told
    with drawing():
        assert faults(plate.figure, 3) == ([], [])


def test_a_held_throttle_asks_no_speed_and_what_leaves_a_strip_is_told(rides):
    fast = ride(VEHICLE, UP, driver=ThrottleHeld(share=0.8))
    plate = Plate(pictures(rides["up"])["strips"][0])
    alt, reading = plate.show(fast)
    assert reading.endswith("the duty limit holds it back.")
    top = float(fast.column("speed").max())
    assert top > Ranges.around(VEHICLE, UP).speed[1]
    assert f"top {top:.2f}, off scale" in [t.get_text() for t in plate.figure.texts]
    assert f"Speed up to {top:.2f}" in alt


# ---------------------------------------------------------------- axes
@pytest.mark.parametrize(
    ("low", "high"), [(0, 175), (-32.5, 54), (0, 4.05), (-7.84, 1.05), (0, 0.003), (5, 135), (0, 57e3)]
)
def test_ticks_are_few_round_and_inside(low, high):
    ticks = few_ticks(low, high, 4)
    assert 1 <= len(ticks) <= 4
    assert low <= ticks[0]
    assert ticks[-1] <= high
    assert not low <= 0 <= high or 0 in ticks
    assert len({len(w.split(".")[1]) if "." in w else 0 for w in tick_words(ticks)}) == 1


def test_a_long_curve_keeps_its_lowest_and_highest_points():
    x = np.linspace(0, 1, 200_000)
    y = np.sin(40 * x)
    y[77_777], y[123_456] = 9.0, -9.0
    few, thin = thinned(x, y)
    assert len(few) < 3000
    assert thin.max() == 9.0
    assert thin.min() == -9.0
    assert np.all(np.diff(few) > 0)
    assert thinned(x[:500], y[:500])[0] is not None
    assert len(thinned(x[:500], y[:500])[0]) == 500


def test_a_pack_and_a_converter_are_drawn_like_any_store():
    """Their ledgers hold other terms, their axes reach to the pack's full volts and the converter's amps."""
    converter = {"converter.kind": "fixed bus", "converter.bus_voltage": "48 V", "converter.current_limit": "60 A",
                 "converter.minimum_voltage": "14 V", "converter.efficiency": 0.94, "converter.mass": "0.8 kg"}  # fmt: skip
    for vehicle, volts, amps, stop in ((load_vehicle("kick_scooter"), 1.05 * 29.4, 1.2 * 25, 21.0),
                                       (VEHICLE.change(converter), 14 * 2.85, 1.2 * 60, 14.0)):  # fmt: skip
        result, ranges = ride(vehicle, UP), Ranges.around(vehicle, UP)
        assert (ranges.volts[1], ranges.amps[1]) == (pytest.approx(volts), pytest.approx(amps))
        assert ranges.energy < np.inf
        made = {"strips": strip_chart(UP, ranges), "rulers": ledger_rulers(), "growth": ledger_growth(UP, ranges)}
        for name, build in made.items():
            figure, _, reading = draw(build, result, size=(7.31, 5.45))
            FigureCanvasAgg(figure)
            with drawing():
                figure.draw_without_rendering()
                assert faults(figure, 3) == ([], []), name
            assert reading.startswith("The ")
            if name == "strips":
                assert f"stop volts {stop:g}{THIN}V" in [t.get_text() for t in figure.texts]


def test_ranges_leave_room_at_every_limit():
    ranges = Ranges.around(VEHICLE, UP)
    assert ranges.volts == (0.0, pytest.approx(14 * 2.85))
    assert ranges.amps[1] > 45
    assert ranges.amps[0] < -25
    assert ranges.coil[1] > 363.15
    assert ranges.speed[1] > 3
    assert set(BOOK["held"]) >= {"set speed", "throttle", "coil current limit", "store current limit", "duty limit",
                                 "braking", "friction brake", "standing"}  # fmt: skip
