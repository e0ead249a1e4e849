"""Chains and belts: length and centre distance there and back, what fits, and what is refused."""

import math

import pytest

from evlab import chains
from evlab.chains import CHAINS, centre_for_links, chain_of, geometry, links_for, pitch_diameter_of
from evlab.gearing import Gearing
from evlab.glossary.vehicle_fields import CHAIN_NAMES
from evlab.units import InputError

ROLLER, BELT = CHAINS["06B"], CHAINS["belt 8 mm"]


def trike(**changes):
    values = {"motor_teeth": 15, "wheel_teeth": 76, "wheel_radius": 0.245, "chain_efficiency": 0.95, "mass": 2.0, "chain": "06B",
              "centre_distance": 0.38, "links": 128, "frame_gap": 0.16}
    return Gearing(**(values | changes))


@pytest.mark.parametrize("chain", [ROLLER, BELT], ids=lambda c: c.name)
@pytest.mark.parametrize(("small", "large"), [(15, 76), (17, 17), (76, 15), (11, 120)])
def test_links_and_centre_distance_there_and_back(chain, small, large):
    for centre in (0.4, 0.7, 3.0):
        links = math.ceil(links_for(chain, small, large, centre))
        back = centre_for_links(chain, small, large, links)
        assert links_for(chain, small, large, back) == pytest.approx(links, abs=1e-9)
        assert -1e-9 <= back - centre < chain.pitch


def test_the_handbook_series_is_near_the_geometry():
    """0.012 of a link and 0.06 mm for the demo; worse where a small wheel stands close to a large one."""
    exact, series = links_for(ROLLER, 15, 76, 0.38), float(chains.chain_links(0.38, ROLLER.pitch, 15, 76))
    assert 0.01 < exact - series < 0.013
    close = [links_for(ROLLER, 11, 114, c) - float(chains.chain_links(c, ROLLER.pitch, 11, 114)) for c in (0.21, 0.38, 1.0)]
    assert close[0] > close[1] > close[2] > 0
    assert 0.6 < close[0] < 0.7  # nearly touching
    assert close[1] < 0.1


def test_equal_wheels_are_two_runs_and_one_wheel():
    assert links_for(ROLLER, 20, 20, 0.5) == pytest.approx(2 * 0.5 / ROLLER.pitch + 20)
    assert chains.wrap_angle(0.05, 0.05, 0.3) == pytest.approx(math.pi)


def test_a_belt_runs_on_a_circle_and_a_chain_on_a_polygon():
    assert pitch_diameter_of(BELT, 30) == pytest.approx(30 * 0.008 / math.pi)
    assert pitch_diameter_of(ROLLER, 30) > 30 * ROLLER.pitch / math.pi


def test_the_drive_of_the_demo():
    g = geometry(trike(), 8.6509, 3.0)
    assert (g.links, g.driver_teeth, g.wheel_teeth) == (128, 15, 76)
    assert g.ground_clearance == pytest.approx(0.245 - g.wheel_diameter / 2 - ROLLER.outside)
    assert g.frame_clearance == pytest.approx(0.16 - (0.245 - g.ground_clearance))
    assert g.speed_of_chain == pytest.approx(15 * ROLLER.pitch * (76 / 15 * 3.0 / 0.245) / math.tau)
    assert g.tension * g.driver_diameter / 2 == pytest.approx(8.6509)
    assert len(g.remarks) == 1
    assert "128 links are taut at 381.6 mm, 380.0 mm are stated" in g.remarks[0]


def test_lengths_that_are_not_stated_are_worked_out():
    nothing = geometry(trike(centre_distance=0.0, links=0, frame_gap=0.0), 8.0, 3.0)
    assert nothing.links % 2 == 0
    assert nothing.centre_distance == pytest.approx(0.381, abs=0.01)
    assert math.isnan(nothing.frame_clearance)
    assert "No centre distance is stated" in nothing.remarks[0]
    by_links = geometry(trike(centre_distance=0.0), 8.0, 3.0)
    assert by_links.exact_links == pytest.approx(128.0)
    assert by_links.remarks == ()
    wrong = geometry(trike(wheel_teeth=150), 8.0, 3.0)  # another wheel, and the old chain in the file
    assert 0 <= wrong.links - wrong.exact_links + 0.25 < 2
    assert f"128 links are too few for these wheels at 380 mm: {wrong.links} go round." in wrong.remarks
    by_distance = geometry(trike(links=0), 8.0, 3.0)
    assert by_distance.links == 128


def test_two_stages_pull_harder_at_the_last_one():
    one = geometry(trike(), 5.0, 3.0)
    two = geometry(trike(shaft_driver_teeth=15, shaft_driven_teeth=30), 5.0, 3.0)
    assert two.tension == pytest.approx(one.tension * 2 * 0.95)
    assert two.speed_of_chain == pytest.approx(one.speed_of_chain)


def test_a_standing_motor_and_a_braking_one():
    assert math.isnan(geometry(trike(), 0.0, 0.0).safety)
    braking = geometry(trike(), -8.0, 3.0)
    assert braking.tension < 0 < braking.safety


@pytest.mark.parametrize(("changes", "words"), [
    ({"motor_teeth": 0}, "Input teeth of a wheel must be 6 or more, in whole numbers; instead received 0."),
    ({"wheel_teeth": 3}, "instead received 3."),
    ({"links": 60, "centre_distance": 0.0}, "Input links must be a whole number from 83 (fewer, and the wheels run into"),
    ({"links": 99999, "centre_distance": 0.0}, "for 15 and 76 teeth on 06B; instead received 99999 links."),
    ({"centre_distance": 0.10}, "Input centre_distance must be above 143 mm, or wheels of 15 and 76 teeth run into each other; "
                                "instead received 100 mm."),
    ({"centre_distance": -0.38}, "instead received -380 mm."),
    ({"chain": "06b"}, "Input chain must be one of 04C, 219, 05B, 06B"),
])
def test_what_is_refused(changes, words):
    with pytest.raises(InputError) as said:
        geometry(trike(**changes), 8.0, 3.0)
    assert words in str(said.value)


def test_the_table_of_chains_is_marked_and_the_nearest_is_named():
    assert all(c.mark and c.use and 0 < c.outside < c.pitch for c in CHAINS.values())
    assert {c.kind for c in CHAINS.values()} == {"chain", "belt"}
    assert [c.name for c in CHAINS.values() if c.tensile == 0] == ["belt 5 mm", "belt 8 mm", "belt 14 mm"]
    with pytest.raises(InputError, match="Did you mean '06B'"):
        chain_of("6B")


def test_the_best_ratio_loses_less_than_its_neighbours():
    """Copper and drag together, from the motor's own equations."""
    from evlab import gearing, motor

    def lost(ratio):
        amps = 160.0 * 0.245 / (ratio * 0.95 * 0.346)
        turning = float(gearing.motor_speed(ratio, 2.4, 0.245))
        return float(motor.copper_loss(amps, 0.15)) + float(motor.motor_drag(0.0, 0.002, turning, 1.0)) * turning

    best = float(gearing.best_ratio(0.245, 160.0, 0.15, 0.002, 0.95, 0.346, 2.4))
    assert lost(best) < min(lost(0.98 * best), lost(1.02 * best))


def test_the_vehicle_file_knows_the_same_chains():
    assert tuple(CHAINS) == CHAIN_NAMES
