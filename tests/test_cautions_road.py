"""The rules of road, trip and gearing: each speaks when it should and is silent when it should not.

Numbers in the words, by hand: tips at sqrt(3 g 0.65 0.75/1.5) = 3.09 m/s; brakes 192 (3 + 9.80665 (0.06983 - 0.01197)) = 685 N and
192 g 0.06983 = 131 N; runs away at sqrt(108.9 N/0.5819 kg/m) = 13.68 m/s; from rest (0.3460 45 - 0.10) 5.0667 0.95/0.245 = 304 N;
grip 0.6 g = 5.9 m/s2.
"""

import pytest

import evlab
from evlab import GearCase, RoadCase, Route, TripCase


@pytest.fixture(scope="module")
def trike():
    return evlab.load_vehicle("two_shed_trike")


def words_of(cautions, state=None):
    return " ".join(c.words for c in cautions if state is None or c.state == state)


def road(vehicle, route="two_sheds_down", **more):
    return RoadCase(vehicle, route, **more).cautions


def gear(vehicle, route="two_sheds_up", **more):
    return GearCase(vehicle, route, **more).cautions


@pytest.mark.parametrize(("make", "state", "said"), [
    (road, "caution", "tips at 3.1 m/s (11 km/h)"),
    (lambda v: road(v.change({"vehicle.mass_height": 0.0})), "caution", "tips in a bend is not worked out"),
    (lambda v: road(v, slope=0.3, grip=0.2), "danger", "it spins instead of climbing"),
    (lambda v: road(v, slope=0.0, grip=0.3), "caution", "Full throttle gives 304 N"),
    (lambda v: road(v, grip=0.06), "danger", "it does not stop at all"),
    (lambda v: road(v, deceleration=7.0), "caution", "lock the wheels: this ground holds 5.9 m/s2"),
    (lambda v: road(evlab.load_vehicle("kick_scooter"), "park_path"), "caution", "Above 4.6 m/s2 the rear wheel lifts"),
    (lambda v: road(evlab.load_vehicle("kick_scooter"), "park_path", deceleration=5.0), "danger", "and it pitches over"),
    (lambda v: road(v.change({"vehicle.wheelbase": 0.0})), "note", "What the driven wheel holds is not worked out: state wheels"),
    (road, "caution", "must give 685 N and hold 131 N at rest"),
    (road, "danger", "runs up to 13.7 m/s (49 km/h)"),
    (lambda v: TripCase(v, Route.from_segments([("1 km", "0 %", "40 km/h")])).cautions, "caution", "40 km/h are posted"),
    (lambda v: TripCase(v, Route.from_segments([("100 m", "18 %", "2 m/s")])).cautions, "caution", "18 % is a hill on which"),
    (lambda v: TripCase(v, "two_sheds_up").cautions, "caution", "If it stops at 88 m"),
    (gear, "caution", "take fingers: guard both runs"),
    (lambda v: gear(v, slope=0.5), "danger", "No ratio climbs 50.0 %"),
    (lambda v: gear(v, volts=15.0, speed=1.6), "caution", "the motor's own volts leave too little"),
    (lambda v: gear(v.change({"gearing.wheel_teeth": 30})), "danger", "the coil current limit is reached"),
    (lambda v: gear(v.change({"gearing.wheel_teeth": 30})), "danger", "does not start again"),
    (lambda v: gear(v.change({"gearing.motor_teeth": 9, "gearing.links": 0})), "caution", "A driver of 9 teeth"),
    (lambda v: gear(v.change({"gearing.motor_teeth": 13, "gearing.links": 0})), "note", "A driver of 13 teeth"),
    (lambda v: gear(v.change({"gearing.shaft_driver_teeth": 9, "gearing.shaft_driven_teeth": 18})), "caution",
     "The first of two stages has a driver of 9 teeth"),
    (lambda v: gear(v.change({"gearing.shaft_driver_teeth": 13, "gearing.shaft_driven_teeth": 18})), "note",
     "a driver of 13 teeth"),
    (lambda v: gear(v.change({"gearing.centre_distance": "100 mm"})), "danger",
     "cannot be built. Input centre_distance must be above"),
    (lambda v: gear(v.change({"gearing.motor_teeth": 5})), "danger", "must be 6 or more, in whole numbers; instead received 5."),
    (lambda v: gear(v.change({"gearing.links": 129})), "caution", "129 links are odd"),
    (lambda v: gear(v.change({"gearing.wheel_teeth": 120, "gearing.links": 0, "gearing.centre_distance": "225 mm"})), "caution",
     "below 120 it jumps under load"),
    (lambda v: gear(v.change({"gearing.chain": "04C", "gearing.links": 0, "controller.coil_current_limit": "200 A"})), "danger",
     "A stronger chain, or a larger driver"),
    (lambda v: gear(v.change({"gearing.chain": "belt 8 mm", "gearing.links": 0})), "note", "ask its maker"),
    (lambda v: gear(v.change({"gearing.wheel_teeth": 150, "gearing.links": 0})), "caution", "picks up grit"),
    (lambda v: gear(v.change({"gearing.wheel_teeth": 110, "gearing.links": 0})), "danger", "does not fit"),
    (lambda v: gear(v.change({"gearing.frame_gap": 0.0})), "note", "clears the frame is not worked out"),
])
def test_a_rule_speaks(trike, make, state, said):
    assert said in words_of(make(trike), state)


@pytest.mark.parametrize(("make", "said"), [
    (lambda v: road(v, "two_sheds_up"), "If the brakes fail"),
    (lambda v: road(v, "two_sheds_up"), "spins"),
    (lambda v: road(evlab.load_vehicle("kick_scooter"), "park_path"), "tips at"),
    (lambda v: TripCase(v, "two_sheds_up").cautions, "are posted"),
    (lambda v: TripCase(v, Route.from_segments([("500 m", "0 %", "3 m/s")])).cautions, "If it stops"),
    (gear, "No ratio"),
    (gear, "does not start again"),
    (gear, "odd"),
    (gear, "does not fit"),
    (gear, "A driver of"),
    (road, "the rear wheel lifts"),  # 9.81 x 65 % x 1.60 / 0.75 = 13.6 m/s2, more than 0.6 of grip hold
    (road, "is not worked out"),
    (gear, "first of two stages"),
    (gear, "cannot be built"),
])
def test_a_rule_is_silent(trike, make, said):
    assert said not in words_of(make(trike))


def test_every_caution_is_a_sentence_with_a_source_and_the_worst_comes_first(trike):
    for made in (road(trike), gear(trike), TripCase(trike, "two_sheds_up").cautions):
        states = [evlab.cautions.STATES.index(c.state) for c in made]
        assert states == sorted(states)
        for c in made:
            assert len(c.words) < 330 or c in trike.cautions
            assert not {"nan", "inf", "-inf"} & set(c.words.split())
            assert c.words[0].isupper() or c.words[0].isdigit()
            assert c.words.endswith(".")
            assert c.source
            assert not c.field or c.field in evlab.glossary.GLOSSARY
