"""Pictures of trip, road and gearing, over real cases and over stand-ins for what no demo shows."""

import dataclasses
import math
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from test_plots import SHEETS, assert_quick_is_full, assert_words_stay_apart, faults

from evlab import Route, load_route, load_vehicle
from evlab.identification import RideLog
from evlab.look import THIN, Plate, draw, drawing, shown
from evlab.plots import (
    GearRanges,
    RoadRanges,
    TripRanges,
    force_family,
    force_stack,
    halted,
    measured_ride,
    ratio_front,
    runaway,
    slope_profile,
    sprockets,
    stopping,
    tipping,
    trip_growth,
    wind_along,
)  # fmt: skip
from evlab.plots.forces import knee, level_road
from evlab.plots.profile import mean_speed, posted, steps
from evlab.ratios import GearCase
from evlab.road_case import RoadCase
from evlab.tractive import ForceCase
from evlab.trip import TripCase
from evlab.winds import Wind

TRIKE, SCOOTER = load_vehicle("two_shed_trike"), load_vehicle("kick_scooter")
UP, DOWN, PARK = load_route("two_sheds_up"), load_route("two_sheds_down"), load_route("park_path")


def invented_track():
    """60 km of invented hills with a metre of noise, bearings, three posted speeds, stops and chargers."""
    way = np.arange(0.0, 60001.0, 50.0)
    noise = np.random.default_rng(1).normal(0, 1.0, way.size)
    heights = 80 * np.sin(way / 4000) + 25 * np.sin(way / 900) + 0.002 * way + noise
    speeds = [(0, 6.0), (20000, 8.0), (40000, 5.0)]
    made = Route.from_profile(way, heights, speed=speeds, bearings=0.3 + way / 9000, name="an invented track")
    return made.with_stops([(15000.0, 60.0), (15300.0, 60.0), (30000.0, 600.0, True), (60000.0, 0.0, True)])


LONG = invented_track()


def invented_ride():
    """Half an hour with pauses, its prediction and its mean: what is drawn can be said in closed form."""
    time = np.arange(1800.0)
    power = np.where(time % 600 < 500, 200 + 100 * np.sin(time / 90), 0.0)
    log = RideLog(time, 6 * time, 0 * time + 6, 100 + 30 * np.sin(time / 300), np.maximum(power, 0), 0 * time + 290)
    return log, power + 30.0, 200.0


@pytest.fixture(scope="module")
def cases():
    trips = {
        "up": TripCase(TRIKE, UP), "down": TripCase(TRIKE, DOWN, halted_share=0.9),
        "tail": TripCase(TRIKE, DOWN, wind=-9.0, halted_share=0.0), "long": TripCase(TRIKE, LONG, halted_share=0.37),
    }  # fmt: skip
    roads = {
        "up": RoadCase(TRIKE, UP, slope=0.06, wind=3.0), "down": RoadCase(TRIKE, DOWN, slope=-0.06, wind=-6.0),
        "steep": RoadCase(TRIKE, UP, slope=0.2), "scooter": RoadCase(SCOOTER, PARK, grip=0.3, deceleration=4.0),
        "bare": RoadCase(TRIKE.change({"vehicle.wheels": "not stated"}), UP),
        "long": RoadCase(TRIKE, LONG, wind=Wind(5.0, "270 deg"), slope=0.03),
    }  # fmt: skip
    gears = {
        "up": GearCase(TRIKE, UP), "steep": GearCase(TRIKE, UP, slope=0.3, volts=16.0), "scooter": GearCase(SCOOTER, PARK),
        "never": GearCase(TRIKE.change({"load.cargo": 160.0, "gearing.wheel_teeth": 34}), UP),
        "hasty": GearCase(TRIKE, UP, speed=9.0), "large": GearCase(TRIKE.change({"gearing.wheel_teeth": 150}), UP),
        "down": GearCase(TRIKE, DOWN),
        "unfit": GearCase(TRIKE.change({"gearing.wheel_teeth": 150, "gearing.centre_distance": "0.1 m"}), UP),
    }  # fmt: skip
    return {"trip": trips, "road": roads, "gear": gears}


PICTURES = {
    "trip": (TripRanges, {"growth": trip_growth, "profile": slope_profile, "halted": halted}),
    "road": (RoadRanges, {"stack": force_stack, "wind": wind_along, "runaway": runaway, "tipping": tipping, "stopping": stopping}),
    "gear": (GearRanges, {"family": force_family, "front": ratio_front, "sprockets": sprockets}),
}
NAMED = [(page, name) for page, (_, made) in PICTURES.items() for name in made]


def built(page, name, case):
    ranges, made = PICTURES[page]
    return made[name](ranges.around(case.vehicle, case.route).widened(case))


def line(figure, zorder, axes=0):
    """The line of this height in the pile."""
    return next(item for item in figure.axes[axes].lines if item.get_zorder() == zorder)


# ---------------------------------------------------------------- layout, movement, words
@pytest.mark.parametrize(("page", "name"), NAMED)
def test_no_words_touch_or_are_cut(cases, page, name):
    for kind, case in cases[page].items():
        assert_words_stay_apart(built(page, name, case), case, kind)


@pytest.mark.parametrize(("page", "name"), NAMED)
def test_quick_painting_is_the_full_drawing_and_axes_stand_still(cases, page, name):
    first, *others = list(cases[page].values())[:4]
    assert_quick_is_full(built(page, name, first), first, others)


@pytest.mark.parametrize(("page", "name"), NAMED)
def test_alt_text_holds_the_reading_in_eighty_words_and_no_sign_is_strange(cases, page, name):
    for case in cases[page].values():
        figure, alt, reading = draw(built(page, name, case), case)
        assert reading in alt
        assert len(alt.split()) <= 80, alt
        assert not {"nan", "inf", "None", "infinite"} & set(reading.replace(";", " ").replace(",", " ").split()), reading
        assert "not a number" not in reading
        sizes = [t.get_fontsize() for owner in (figure, *figure.axes) for t in owner.texts]
        assert min(sizes) >= 9


def test_ranges_stand_still_while_all_lies_inside_and_grow_when_it_does_not(cases):
    for page, (kind, _) in PICTURES.items():
        case = cases[page]["up"]
        ranges = kind.around(case.vehicle, case.route).widened(case)
        assert ranges.widened(case) is ranges
    small = dataclasses.replace(TripRanges.around(TRIKE, UP), energy=(0.0, 1000.0))
    grown = small.widened(cases["trip"]["up"])
    assert grown.energy[1] >= cases["trip"]["up"].worst.total
    assert dataclasses.replace(grown, energy=small.energy) == small
    assert TripRanges.around(TRIKE, DOWN).widened(cases["trip"]["tail"]).energy[0] <= sum(
        min(v, 0.0) for v in cases["trip"]["tail"].today.energy.values())  # fmt: skip
    tight = dataclasses.replace(GearRanges.around(TRIKE, UP), energy=(1.70e4, 2.0e4))
    assert tight.widened(cases["gear"]["up"]).energy[0] < 1.63e4


# ---------------------------------------------------------------- trip
def test_trip_growth_draws_what_the_trip_gave(cases):
    for case in cases["trip"].values():
        figure, _, reading = draw(built("trip", "growth", case), case)
        drive, worst = (next(x for x in figure.axes[0].lines if x.get_zorder() == 3 and x.get_linewidth() == w) for w in (2.4, 1.8))
        assert drive.get_ydata()[-1] == pytest.approx(case.today.total / 1000)
        assert np.allclose(drive.get_ydata(), np.interp(drive.get_xdata(), case.today.distance, case.today.given / 1000))
        assert worst.get_ydata()[-1] == pytest.approx(case.worst.total / 1000)
        assert case.verdict.partition(":")[0] in reading
        assert f"({shown(case.today.total / 3600, 'Wh')}) at the wheel" in reading


def test_the_stack_ends_at_what_the_drive_gives(cases):
    """Above zero less below zero: the areas' outermost edges at the end of the way."""
    for case in cases["trip"].values():
        figure, _, _ = draw(built("trip", "growth", case), case)
        areas = [a for a in figure.axes[0].collections if a.get_zorder() == 2]
        corners = np.concatenate([p.vertices[p.vertices[:, 0] == case.route.length, 1] for a in areas for p in a.get_paths()])
        assert max(corners.max(), 0) + min(corners.min(), 0) == pytest.approx(case.today.total / 1000, abs=1e-9)


def test_halted_says_the_pushes_and_the_place(cases):
    for case in cases["trip"].values():
        figure, _, reading = draw(built("trip", "halted", case), case)
        bars = [patch.get_width() for patch in figure.axes[1].patches]
        assert bars == pytest.approx([case.halted.push_force, case.halted.home_force, case.halted.hardest])
        place = next(x for x in figure.axes[0].lines if x.get_marker() == "o")
        assert place.get_xdata()[0] == case.halted.place
        assert ("rolls away" in reading) == case.halted.rolls
    assert "one person pushes" in reading


def test_the_way_tells_both_climbs_and_marks_stops_and_chargers(cases):
    figure, _, reading = draw(built("trip", "profile", cases["trip"]["long"]), LONG)
    assert [t.get_text() for t in figure.axes[0].texts] == ["S", "C", "C"]  # the second stop stands too near for a letter
    assert f"climbs {LONG.climb:.0f}{THIN}m ({LONG.raw_climb:.0f}{THIN}m before smoothing" in reading
    words = [t.get_text() for t in figure.texts]
    assert f"raw {LONG.raw_climb:.0f}{THIN}m" in words
    slope = next(x for x in figure.axes[1].lines if x.get_zorder() == 3)
    assert slope.get_ydata() == pytest.approx(100 * LONG.slopes)
    assert "it falls by up to 7.0" in draw(built("trip", "profile", cases["trip"]["down"]), DOWN)[2]


def test_posted_speeds_are_steps():
    x, y = posted(SimpleNamespace(limits=[(0.0, 3.0), (70.0, 2.0)], length=100.0))
    assert (x.tolist(), y.tolist()) == ([0, 70, 70, 100], [3, 3, 2, 2])
    assert [s.tolist() for s in steps(np.array([0.0, 1.0, 3.0]), np.array([5.0, 6.0, 7.0]))] == [[0, 1, 1, 3], [5, 5, 6, 6]]


# ---------------------------------------------------------------- road
def test_force_stack_draws_road_and_drive_as_given(cases):
    for case in cases["road"].values():
        forces = case.forces
        figure, _, reading = draw(built("road", "stack", case), case)
        axes = figure.axes[0]
        road = next(x for x in axes.lines if x.get_zorder() == 3)
        assert np.allclose(road.get_ydata(), np.interp(road.get_xdata(), forces.speeds, forces.road))
        rings = [(x.get_xdata()[0], x.get_ydata()[0]) for x in axes.lines if x.get_marker() == "o"]
        meets = [v for v in forces.steady.values() if math.isfinite(v)]
        assert [x for x, _ in rings] == pytest.approx(meets)
        assert [y for _, y in rings] == pytest.approx([forces.road_at(v) for v in meets])
        assert ("cannot start" in reading) == (not meets)


def test_what_pushes_lies_below_zero(cases):
    figure, _, reading = draw(built("road", "stack", cases["road"]["down"]), cases["road"]["down"])
    areas = [a for a in figure.axes[0].collections if a.get_zorder() == 2]
    lowest = min(float(p.vertices[:, 1].min()) for a in areas for p in a.get_paths())
    parts = cases["road"]["down"].forces.parts
    assert lowest == pytest.approx(parts["slope"][0] + min(parts["air"][0], 0.0), rel=1e-6)
    assert f"it rolls at {shown(cases['road']['down'].forces.coasting, 'm/s')}" in reading


def test_a_curve_leaves_the_coil_limit_at_its_last_place():
    coil = "coil current limit"
    assert knee([coil, coil, "duty limit", "duty limit"]) == 1
    assert knee(["store current limit", "duty limit"]) == 0
    assert knee([coil, coil]) == 1


def test_the_level_road_is_the_road_of_no_slope():
    """Second route: the same vehicle asked on the level."""
    steep, level = ForceCase(TRIKE, slope=0.12, head_wind=2.0), ForceCase(TRIKE, head_wind=2.0)
    assert level_road(steep) == pytest.approx(level.road)


def test_wind_along_draws_speeds_as_given(cases):
    for case in cases["road"].values():
        figure, _, _ = draw(built("road", "wind", case), case)
        speed, still = (next(x for x in figure.axes[1].lines if x.get_zorder() == 3 and dash(x) == want) for want in ([], [5, 1.8]))
        assert speed.get_ydata() == pytest.approx(case.leaves[1])
        assert still.get_ydata() == pytest.approx(case.still[1])


def dash(item):
    """On and off of a line in line widths, [] where it is unbroken."""
    pattern = item._unscaled_dash_pattern[1]
    return [] if pattern is None else [float(v) for v in pattern]


def test_a_way_that_cannot_be_held_has_no_mean():
    assert math.isnan(mean_speed([0.0, 1.0, 2.0], [1.0, 0.0, 1.0]))
    assert mean_speed([0.0, 10.0, 30.0], [2.0, 2.0, 2.0]) == pytest.approx(2.0)
    stuck = SimpleNamespace(
        route=UP, vehicle=TRIKE, winds=(UP.nodes, 0 * UP.nodes, 0 * UP.nodes), leaves=(UP.nodes, 0 * UP.nodes),
        still=(UP.nodes, 0 * UP.nodes + 2))  # fmt: skip
    reading = draw(wind_along(RoadRanges.around(TRIKE, UP)), stuck)[2]
    assert reading == f"The air is still; the drive cannot hold it at 0{THIN}m."


def test_runaway_marks_the_steepest_descent(cases):
    case = cases["road"]["down"]
    figure, _, reading = draw(built("road", "runaway", case), case)
    ring = next(x for x in figure.axes[0].lines if x.get_marker() == "o")
    assert (ring.get_xdata()[0], ring.get_ydata()[0]) == pytest.approx((100 * case.runaway.steepest, case.runaway.fastest))
    assert f"on 7.0{THIN}%" in reading
    assert "never goes down" in draw(built("road", "runaway", cases["road"]["up"]), cases["road"]["up"])[2]


def test_tipping_says_what_is_not_stated_and_what_leans(cases):
    for kind, words in (("bare", "is not stated"), ("scooter", "lean and do not tip"), ("up", "lifts a wheel at")):
        case = cases["road"][kind]
        figure, _, reading = draw(built("road", "tipping", case), case)
        assert words in reading
        curves = [x for x in figure.axes[0].lines if x.get_zorder() == 3]
        assert len(curves) == (2 if kind == "up" else 1)
        assert curves[-1].get_ydata() == pytest.approx(case.tipping.slide)


def test_the_radius_from_which_on_the_posted_speed_is_free(cases):
    """Second route: the curve itself, read at the radius that the sentence tells."""
    bend = cases["road"]["up"].tipping
    told = float(draw(built("road", "tipping", cases["road"]["up"]), cases["road"]["up"])[2].split("below ")[1].split(THIN)[0])
    assert np.interp(told, bend.radii, np.minimum(bend.tip, bend.slide)) == pytest.approx(bend.posted, rel=0.005)


def test_stopping_draws_reaction_level_and_descent(cases):
    case = cases["road"]["down"]
    figure, _, reading = draw(built("road", "stopping", case), case)
    level, steep = (x for x in figure.axes[0].lines if x.get_zorder() == 3)
    assert level.get_ydata() == pytest.approx(case.stopping.level)
    assert steep.get_ydata() == pytest.approx(case.stopping.steep)
    assert "of them reaction" in reading
    assert "more than the tyres hold" in draw(built("road", "stopping", cases["road"]["scooter"]), cases["road"]["scooter"])[2]
    endless = dataclasses.replace(case.stopping, steep=np.where(case.stopping.speeds > 0, np.inf, 0.0))
    stuck = SimpleNamespace(vehicle=TRIKE, route=DOWN, stopping=endless)
    assert f"and never down 7.0{THIN}%" in draw(built("road", "stopping", case), stuck)[2]


# ---------------------------------------------------------------- gearing
def test_force_family_marks_the_asked_volts_and_the_restart(cases):
    for case in cases["gear"].values():
        figure, _, reading = draw(built("gear", "family", case), case)
        axes = figure.axes[0]
        thick = [x for x in axes.lines if x.get_linewidth() == 3.0]
        assert len(thick) == 1
        assert thick[0].get_ydata() == pytest.approx(case.forces.drive[round(case.volts, 1)][0])
        square = next(x for x in axes.lines if x.get_marker() == "s")
        assert (square.get_xdata()[0], square.get_ydata()[0]) == pytest.approx((0, case.forces.drive_at(round(case.volts, 1), 0)))
        assert f"{case.vehicle.gearing.ratio:.2f}:1" in reading
        assert ("cannot start" in reading) == (not math.isfinite(case.holds))
    assert not math.isfinite(cases["gear"]["steep"].holds)


def test_a_pinned_ratio_is_grey(cases):
    plate = Plate(built("gear", "family", cases["gear"]["up"]))

    def grey():
        return [x for x in plate.figure.axes[0].lines if x.get_zorder() == 2.5]

    plate.show(cases["gear"]["up"])
    assert not grey()
    plate.show(cases["gear"]["up"], cases["gear"]["unfit"])
    assert len(grey()) == len(cases["gear"]["unfit"].forces.drive) + 1
    assert all(x.get_color() == plate.look.ink2 for x in grey())


def test_the_front_has_a_dot_for_each_that_arrives_and_a_cross_for_each_other(cases):
    for case in cases["gear"].values():
        front = case.front
        figure, _, reading = draw(built("gear", "front", case), case)
        axes = figure.axes[0]
        dots = next(x for x in axes.lines if x.get_marker() == "o" and x.get_markersize() == 5)
        inside = np.clip(front.time[front.arrived], *axes.get_xlim()), np.clip(front.energy[front.arrived] / 1000, *axes.get_ylim())
        assert (dots.get_xdata(), dots.get_ydata()) == (pytest.approx(inside[0]), pytest.approx(inside[1]))
        crosses = next(x for x in axes.lines if x.get_marker() == "x")
        assert len(crosses.get_xdata()) == int((~front.arrived).sum())
        rings = [x for x in axes.lines if x.get_markersize() == 13]
        assert len(rings) == int(front.arrived[front.here])
        assert case.reason[1:] in reading
        for outcome in {o for o, there in zip(front.outcome, front.arrived, strict=True) if not there}:
            assert any(outcome in t.get_text() for t in axes.texts)


def test_sprockets_are_drawn_to_scale(cases):
    case = cases["gear"]["up"]
    g, gearing = case.geometry, case.vehicle.gearing
    figure, _, reading = draw(built("gear", "sprockets", case), case)
    axes = figure.axes[0]
    (wide, high), (left, right), (low, top) = figure.get_size_inches(), axes.get_xlim(), axes.get_ylim()
    box = axes.get_position()
    assert box.width * wide / (right - left) == pytest.approx(box.height * high / (top - low))
    run = next(x for x in axes.lines if x.get_zorder() == 3.4)
    x, y = run.get_xdata(), run.get_ydata() - gearing.wheel_radius
    assert x.max() == pytest.approx(g.wheel_diameter / 2)
    assert x.min() == pytest.approx(-g.centre_distance - g.driver_diameter / 2)
    assert y.max() == pytest.approx(g.wheel_diameter / 2, rel=0.02)
    length = float(np.hypot(np.diff(x), np.diff(y)).sum())  # second route: the strand, measured on the paper
    assert length == pytest.approx(g.links * g.chain.pitch, rel=2e-3)  # a chain's polygon is longer than its circle's arc by 0.1 %
    tyre = next(x for x in axes.lines if x.get_linewidth() == 1.6)
    assert np.ptp(tyre.get_ydata()) == pytest.approx(2 * gearing.wheel_radius, rel=1e-3)
    wheels = [patch for patch in axes.patches if len(patch.get_xy()) > 20]
    assert sorted(len(patch.get_xy()) // 4 for patch in wheels) == sorted([g.driver_teeth, g.wheel_teeth])
    assert f"{1000 * g.centre_distance:.0f}{THIN}mm apart" in reading


def test_belts_second_stages_and_what_does_not_fit(cases):
    g = cases["gear"]["up"].geometry
    belt = dataclasses.replace(g.chain, kind="belt", name="5M", pitch=0.005)
    gearing = SimpleNamespace(wheel_radius=0.245, frame_gap=0.1, shaft_driver_teeth=12, shaft_driven_teeth=30)
    odd = SimpleNamespace(vehicle=SimpleNamespace(gearing=gearing), geometry=dataclasses.replace(
        g, chain=belt, outer_diameter=g.wheel_diameter, frame_clearance=0.1 - g.wheel_diameter / 2, safety=math.nan))  # fmt: skip
    figure, _, reading = draw(built("gear", "sprockets", cases["gear"]["up"]), odd)
    assert "into the frame" in reading
    assert "the belt pulls" in reading
    assert any("first stage 12 : 30" in t.get_text() for t in figure.axes[0].texts)
    unfit = cases["gear"]["unfit"]
    _, _, reading = draw(built("gear", "sprockets", unfit), unfit, pinned=cases["gear"]["up"])
    assert reading.startswith("Input centre_distance must be above")


# ---------------------------------------------------------------- a measured ride
def test_the_measured_ride_says_both_misses():
    log, prediction, null = invented_ride()
    build = measured_ride(log, prediction, null)
    for wide, high, dpi in SHEETS[:5]:
        figure, alt, reading = draw(build, None, False, (max(wide, 6.0), high), dpi)
        with drawing():
            FigureCanvasAgg(figure)
            figure.draw_without_rendering()
            assert faults(figure, 0.03 * dpi) == ([], []), wide
    on = (log.crank_power > 0).reshape(-1, 30)
    fit = np.sqrt(np.mean((30.0 * on).mean(axis=1) ** 2))
    flat = np.sqrt(np.mean(((200.0 - log.crank_power.reshape(-1, 30)) * on).mean(axis=1) ** 2))
    assert f"the prediction by {fit:.1f}{THIN}W" in reading
    assert f"by {flat:.1f}{THIN}W" in reading
    assert reading in alt
    measured = next(x for x in figure.axes[0].lines if x.get_zorder() == 3 and x.get_linewidth() == 2.0)
    assert measured.get_ydata() == pytest.approx(log.crank_power.reshape(-1, 30).mean(axis=1))
