"""The rules of magnets, winding, gearing and regeneration: each is silent just below its threshold and speaks just above it, and
the numbers in its words are those of the case.

Thresholds that follow from the vehicle are found by hand (the plain formulas of test_seen_gearing and test_seen_regeneration);
others are set beside a real case.
"""

from __future__ import annotations

import dataclasses
import math
from types import SimpleNamespace

import pytest
from scipy.optimize import brentq
from test_seen_gearing import DEMO as GEARED
from test_seen_regeneration import DEMO as BRAKED
from what_is_seen import assert_says, cautions_that_say

import evlab
from evlab import GearCase, MagnetCase, RegenCase, Sensed, WindingCase
from evlab.cautions import of_gearing, of_magnets, of_regeneration, of_winding

TRIKE = evlab.load_vehicle("two_shed_trike")
NAN = math.nan


class But:
    """A real case with some of its values set."""

    def __init__(self, case, **values):
        self._case, self._values = case, values

    def __getattr__(self, name):
        return self._values[name] if name in self._values else getattr(self._case, name)


GEAR = GearCase(TRIKE, "two_sheds_up", slope=0.07, speed=2.4, volts=25.0)
MAGNETS, WINDING = MagnetCase(TRIKE), WindingCase(TRIKE)
REGEN = RegenCase(TRIKE, "two_sheds_down", speed=2.4, slope=0.07, volts=24.0)


def gear(**values):
    return of_gearing(But(GEAR, cautions=[], **values))


def part(**values):
    """The gearing with chain and wheel changed."""
    return gear(geometry=dataclasses.replace(GEAR.geometry, **values))


def first_stage(teeth, chain="06B"):
    own = But(TRIKE.gearing, shaft_driver_teeth=teeth)
    vehicle = But(TRIKE, gearing=own, cautions=[])
    return of_gearing(But(GEAR, vehicle=vehicle, geometry=dataclasses.replace(GEAR.geometry, chain=evlab.chains.chain_of(chain))))


def magnets(**values):
    return of_magnets(But(MAGNETS, **values))


def knee(there, alone, hottest):
    """Margins to the knee in its place and alone, and where the lone one meets it [degC]."""
    point = MAGNETS.points
    return magnets(points=(point[0], But(point[1], margin=alone, hottest=hottest + 273.15), But(point[2], margin=there)))


def spins(joules):
    return magnets(spinning=MAGNETS.spinning | {"kinetic_energy": joules, "centrifugal_force": 444.0})


def winding(**values):
    return of_winding(But(WINDING, **values))


def alone(stuck):
    """One phase in place of three, up a ramp that asks for 7.94 N m."""
    return winding(build=But(WINDING.build, phases=1), starts={"one phase": SimpleNamespace(stuck=stuck, rig=SimpleNamespace(
        needed=7.94))})


def up(slope, least=8.5):
    """The trike up a slope, its motor giving at least so many newton metres."""
    return of_winding(But(WindingCase(TRIKE, Sensed(slope=slope)), least_pull=least))


def rolled(slope):
    """What turns the motor back, by hand: 192 kg, 1.2 %, a lever of 0.245 m by 76/15, a chain of 95 %, 0.1 N m of its own drag."""
    angle = math.atan(slope)
    return 192 * 9.80665 * (math.sin(angle) - 0.012 * math.cos(angle)) * 0.245 * 15 / 76 * 0.95 - 0.1


def heats(seconds):
    """25 A for half an hour; so many seconds until the weakest part gives up."""
    return winding(time_to_limit=seconds)


def turns(rad_s):
    return winding(asked=dataclasses.replace(WINDING.asked, speed=rad_s))


def runs(rpm):
    """The bench's free run at so many revolutions."""
    return winding(bench=dataclasses.replace(WINDING.bench, free_rpm=rpm))


# Two steel discs of 200 mm and 6 mm with a hole of 40 mm, 24 magnets of 30 mm and 10 mm on 78 mm: kg, kg m2; rad/s at 405 rpm.
DISC, MAGNET = 7850 * math.pi * (0.1**2 - 0.02**2) * 0.006, 7500 * math.pi * 0.015**2 * 0.010
ROTOR = DISC * (0.1**2 + 0.02**2) + 24 * MAGNET * (0.078**2 + 0.015**2 / 2)
WHIRL = 405 * math.tau / 60


def rides_until(celsius):
    return winding(vehicle=But(TRIKE, motor=But(TRIKE.motor, temperature_limit=celsius + 273.15)))


def brakes(**values):
    return of_regeneration(RegenCase(TRIKE, "two_sheds_down", **{"speed": 2.4, "slope": 0.07, "volts": 24.0} | values))


def limited(amps):
    vehicle = TRIKE.change({"controller.braking_current_limit": amps})
    return of_regeneration(RegenCase(vehicle, "two_sheds_down", speed=2.4, slope=0.07, volts=24.0))


def room(volts, most, gain=4600.0):
    """A descent of 4.2 m that fits up to so many volts."""
    return of_regeneration(But(REGEN, volts=volts, room=SimpleNamespace(
        gain=gain, height=4.2, start_volts=most, fits=lambda v: v <= most)))


# By hand: the speed that 5.07:1 just holds with 25 V; the slope that 25 A just hold; the slope on which it rolls as fast as the
# diodes conduct; the braking current that a wet wheel just holds; the speed of 60 V between two lines.
RATIO = 76 / 15
FAST = GEARED.holds(25.0)
BOUND = brentq(lambda g: GEARED.drive(25.0, FAST + 0.01, g) - GEARED.road(FAST + 0.01), 4.5, RATIO)
STEEP = brentq(lambda s: dataclasses.replace(BRAKED, slope=s).asks(2.4) - BRAKED.force(25.0, 2.4), 0.05, 0.25)
MORE = dataclasses.replace(BRAKED, slope=STEEP + 0.002).asks(2.4)
DIODES = dataclasses.replace(BRAKED, volts=24.0).diodes
ROLLS = brentq(lambda s: dataclasses.replace(BRAKED, slope=s).asks(DIODES) - BRAKED.force(0.0, DIODES), 0.0, 0.2)
LOCKS = brentq(lambda amps: BRAKED.force(amps, 2.4) - BRAKED.wet, 1.0, 50.0)
TOUCH = 60.0 / WINDING.motor.peak_constant


def climbs(speed):
    return of_gearing(But(GearCase(TRIKE, "two_sheds_up", slope=0.07, speed=speed, volts=25.0), cautions=[]))


#  what is silent, what speaks, its state, its words with {} for numbers, those numbers
ROWS = {
    # ------------------------------------------------------------ gearing
    "no ratio": (lambda: gear(bound=5.5), lambda: gear(bound=NAN), "danger", "No ratio climbs {} % at {} m/s with {} V left",
                 (7.0, 2.4, 25.0)),
    "ratio too large for the volts": (
        lambda: climbs(FAST - 0.01), lambda: climbs(FAST + 0.01), "caution",
        "For {} % at {} m/s with {} V left the ratio may be {} at most, it is {}:", (7.0, FAST, 25.0, BOUND, RATIO)),
    "ratio too small for the amps": (
        lambda: gear(lowest=RATIO * 0.999), lambda: gear(lowest=RATIO * 1.001), "danger",
        "For {} % at {} m/s with {} V left the ratio must be {} at least, it is {}:", (7.0, 2.4, 25.0, 1.001 * RATIO, RATIO)),
    "does not start again": (lambda: gear(restart=0.0701), lambda: gear(restart=0.0699), "danger",
                             "Once it stops on {} % it does not start again: {} % is the most", (7.0, 7.0)),
    "first driver, wears": (lambda: first_stage(15), lambda: first_stage(14), "note",
                            "The first of two stages has a driver of {} teeth, at the motor's full speed: {} at least, {} and more",
                            (14, 11, 15)),
    "first driver, too small": (lambda: first_stage(0), lambda: first_stage(10), "caution",
                                "The first of two stages has a driver of {} teeth", (10,)),
    "first driver, just large enough": (lambda: first_stage(10, "belt 5 mm"), lambda: first_stage(11), "note",
                                        "The first of two stages has a driver of {} teeth", (11,)),
    "driver, wears": (lambda: part(driver_teeth=15), lambda: part(driver_teeth=14, ripple=0.0251), "note",
                      "A driver of {} teeth lets the chain's speed swing by {} % and wears it: {} at least, {} and more",
                      (14, 2.5, 11, 15)),
    "driver, just large enough": (lambda: part(driver_teeth=15), lambda: part(driver_teeth=11), "note", "A driver of {} teeth",
                                  (11,)),
    "driver, too small": (lambda: part(driver_teeth=15), lambda: part(driver_teeth=10), "caution", "A driver of {} teeth", (10,)),
    "odd links": (lambda: part(links=128), lambda: part(links=129), "caution", "{} links are odd", (129,)),
    "odd links, which then": (lambda: part(links=130), lambda: part(links=131), "caution", "Take {} or {}.", (130, 132)),
    "little wrap": (lambda: part(wrap=math.radians(120.6)), lambda: part(wrap=math.radians(119.4)), "caution",
                    "lies on the driver over {} degrees only: below {} it jumps", (119, 120)),
    "weak chain": (lambda: part(safety=7.01), lambda: part(safety=6.9, tension=700.0), "caution",
                   "The 06B pulls {} N at the coil current limit, and breaks at {} times that: {} times or more", (700, 6.9, 7)),
    "chain still weak": (lambda: part(safety=7.01), lambda: part(safety=3.51), "caution", "breaks at {} times that", (3.5,)),
    "chain far too weak": (lambda: part(safety=7.01), lambda: part(safety=3.49), "danger", "breaks at {} times that", (3.5,)),
    "strength not known": (lambda: part(safety=9.0), lambda: part(safety=NAN, tension=321.0), "note",
                           "ask its maker; the pull is {} N.", (321,)),
    "close to the ground": (lambda: part(ground_clearance=0.0251), lambda: part(ground_clearance=0.0245), "caution",
                            "Between chain and ground are {} mm: below {} mm it picks up grit", (24, 25)),
    "in the ground": (lambda: part(ground_clearance=0.001), lambda: part(ground_clearance=-0.004), "danger",
                      "The wheel sprocket reaches {} mm below the ground", (4,)),
    "in the frame": (lambda: part(frame_clearance=0.0), lambda: part(frame_clearance=-0.003), "danger",
                     "The wheel sprocket does not fit: it stands {} mm into the frame.", (3,)),
    "frame not stated": (lambda: part(frame_clearance=0.001), lambda: part(frame_clearance=NAN), "note",
                         "Whether the wheel sprocket clears the frame is not worked out", ()),
    # ------------------------------------------------------------ magnets
    "crushes": (lambda: magnets(pull=SimpleNamespace(force=49.9)), lambda: magnets(pull=SimpleNamespace(force=50.6)), "danger",
                "The discs pull each other with {} N at {} mm", (51, 14)),
    "nothing across": (lambda: magnets(pull=None), magnets, "danger", "The discs pull each other with {} N",
                       (MAGNETS.pull.force,)),
    "flung": (lambda: spins(19.9), lambda: spins(20.6), "danger",
              "At {} rad/s the rotor holds {} J and flings each magnet out with {} N.", (60, 21, 444)),
    "weaker for good": (lambda: knee(1.01, 2.0, 100.0), lambda: knee(0.99, 2.0, 100.0), "danger",
                        "At {} °C the magnets lose some of their strength for good", (20,)),
    "alone beyond the knee": (lambda: knee(1.01, 1.01, 81.0), lambda: knee(1.01, 0.99, 81.0), "caution",
                              "meets the knee of grade N42 at about {} °C", (81,)),
    "alone near the knee": (lambda: knee(1.01, 1.01, 80.1), lambda: knee(1.01, 1.01, 79.4), "caution",
                            "meets the knee of grade N42 at about {} °C", (79,)),
    "full steel": (lambda: magnets(steel=1.499), lambda: magnets(steel=1.513), "caution",
                   "The steel behind the magnets would have to carry {} T; mild steel carries {} T easily.", (1.51, 1.5)),
    "no steel": (lambda: magnets(steel=NAN), lambda: magnets(steel=2.0), "caution", "would have to carry {} T", (2.0,)),
    "faulty magnet": (lambda: magnets(fault=""), lambda: magnets(fault="One magnet missing"), "caution", "One magnet missing", ()),
    # ------------------------------------------------------------ winding
    "gives up": (lambda: heats(1800.1), lambda: heats(1799.0), "danger",
                 "With {} A the winding is at {} °C after {} min, where the glue (epoxy cured hot) gives up", (25, 120, 30)),
    "gives up in seconds": (lambda: heats(math.inf), lambda: heats(119.4), "danger",
                            "With {} A the winding is at {} °C after {} s, where", (25, 120, 119)),
    "gives up in minutes": (lambda: heats(math.inf), lambda: heats(120.0), "danger", "is at {} °C after {} min", (120, 2)),
    "gives up later": (lambda: heats(math.inf), lambda: heats(1801.0), "caution",
                       "With {} A for longer than {} min the glue (epoxy cured hot) gives up, at {} °C.", (25, 30, 120)),
    "coil limit too high": (lambda: rides_until(120.4), lambda: rides_until(121.0), "caution",
                            "The ride stops at a coil of {} °C, but the glue (epoxy cured hot) gives up at {} °C", (121, 120)),
    "live": (lambda: turns(TOUCH - 0.1), lambda: turns(TOUCH + 0.6), "danger",
             "At {} rad/s the open ends of the winding carry {} V", (TOUCH + 0.6, 60)),
    "below what is live": (lambda: turns(TOUCH + 0.1), lambda: turns(60.0), "caution",
                           "A turning motor makes volts by itself, {} V at {} rad/s", (60 * 0.2092 * math.sqrt(3), 60)),
    "ripples": (lambda: winding(ripple=12.4), lambda: winding(ripple=12.6), "caution",
                "At {} kHz the current ripples by {} A about {} A", (16, 13, 25)),
    "dead spots": (winding, lambda: winding(build=But(WINDING.build, phases=1), starts={
        "one phase": SimpleNamespace(stuck=0.034)}), "note", "One phase does not start from {} % of the angles", (3,)),
    "never starts": (winding, lambda: alone(stuck=1.0), "caution", "With {} A one phase never starts this load, {} N·m",
                     (25, 7.94)),
    "rolls back": (lambda: up(0.1119), lambda: up(0.1121), "danger",
                   "Up {} % the vehicle may roll back onto whoever stands behind it: the slope turns the motor back with {} N·m, "
                   "and at some angles {} A give only {} N·m.", (11.2, rolled(0.1121), 25, 8.5)),
    "rolls back from a dead spot": (lambda: up(0.0131, 0.0), lambda: up(0.0133, 0.0), "danger",
                                    "with {} N·m, and at some angles {} A give nothing.", (rolled(0.0133), 25)),
    "wheel raised": (winding, lambda: of_winding(WindingCase(TRIKE, Sensed(wheel="raised"))), "caution",
                     "The driven wheel is raised: a firm stand on level ground that cannot tip", ()),
    "runs free": (lambda: runs(398.0), lambda: runs(405.0), "danger",
                  "Run free at {} rpm the rotor holds {} J, its rim moves at {} m/s and each magnet pulls outwards with {} N.",
                  (405, 0.5 * ROTOR * WHIRL**2, 0.100 * WHIRL, MAGNET * 0.078 * WHIRL**2)),
    "crowded": (lambda: winding(fill=0.549), lambda: winding(fill=0.556), "note", "Copper fills {} % of the window", (56,)),
    # ------------------------------------------------------------ regeneration
    "too full": (lambda: room(31.7, 31.8), lambda: room(31.9, 31.8), "danger",
                 "From {} V this descent of {} m fills the store before the foot: from there on the motor brakes no more. Begin it "
                 "at {} V or below", (31.9, 4.2, 31.8)),
    "too full from the start": (lambda: room(20.0, 0.0, gain=0.0), lambda: room(20.0, 0.0, gain=1.0), "danger",
                                "Not even an empty store has room for it", ()),
    "locks": (lambda: limited(LOCKS - 0.1), lambda: limited(LOCKS + 0.5), "danger",
              "On wet ground the driven wheel holds about {} N, the motor brakes it with {} N",
              (BRAKED.wet, BRAKED.force(LOCKS + 0.5, 2.4))),
    "rolls by itself": (lambda: brakes(slope=ROLLS - 2e-4), lambda: brakes(slope=ROLLS + 2e-4), "caution",
                        "Rolling free down {} % it reaches {} m/s; from {} m/s on the motor charges", (
                            100 * ROLLS, dataclasses.replace(BRAKED, slope=ROLLS + 2e-4).rolls, DIODES)),
    "legs": (lambda: brakes(pedalling=0.0), lambda: brakes(pedalling=1.0), "caution",
             "A chain that jumps at {} W takes the foot with it.", (1,)),
    "too steep": (lambda: brakes(slope=STEEP - 0.001), lambda: brakes(slope=STEEP + 0.002), "caution",
                  "At {} m/s down {} % the brakes must hold {} N, the motor's gives {} N: it gets faster unless friction takes the "
                  "other {} N.", (
                      2.4, 100 * STEEP, MORE, BRAKED.force(25, 2.4), MORE - BRAKED.force(25, 2.4))),
}


@pytest.mark.parametrize("name", ROWS)
def test_a_rule_is_silent_below_its_threshold_and_speaks_above_it(name):
    silent, speaks, state, template, numbers = ROWS[name]
    sign = max(template.split("{}"), key=len).strip()
    assert cautions_that_say(sign, silent()) == []
    found = cautions_that_say(sign, speaks())
    assert len(found) == 1
    assert found[0].state == state
    assert_says(template, found[0].words, *numbers)


def test_what_is_always_said():
    assert_says("Magnets of {} T at their face", cautions_that_say("pacemaker", magnets())[0].words,
                1.30 / 2 * 10 / math.hypot(10, 15))
    assert cautions_that_say("pacemaker", magnets())[0].state == "danger"
    assert cautions_that_say("take fingers", gear())[0].state == "caution"
    fades = cautions_that_say("brake fades", brakes())
    assert_says("fades below {} m/s and holds nothing at rest", fades[0].words, BRAKED.fades)
    weak = cautions_that_say("brake fades", limited(2.0))  # here the electronics' own power is what counts
    assert_says("fades below {} m/s", weak[0].words, BRAKED.pays)
    bare = RegenCase(TRIKE.change({"vehicle.wheelbase": 0.0}), "two_sheds_down")
    assert [c.state for c in cautions_that_say("locks a wet driven wheel is not worked out", of_regeneration(bare))] == ["note"]
    assert cautions_that_say("is not worked out", limited(1.0)) == []


def test_a_belt_wears_no_teeth_and_knows_no_odd_links():
    belt = {"chain": evlab.chains.chain_of("belt 8 mm"), "driver_teeth": 9, "links": 129}
    said = part(**belt)
    assert cautions_that_say("A driver of", said) == []
    assert cautions_that_say("are odd", said) == []
    unknown = part(**belt, safety=NAN)
    assert cautions_that_say("What belt 8 mm bears goes with its width and cords", unknown)
    assert cautions_that_say("The belt lies on the driver", part(**belt, wrap=math.radians(100.0)))


def test_where_chain_and_wheels_cannot_be_built_no_other_rule_of_theirs_speaks():
    case = GearCase(TRIKE.change({"gearing.centre_distance": "100 mm"}), "two_sheds_up")
    said = of_gearing(But(case, cautions=[]))
    assert [c.state for c in cautions_that_say("Such a chain or belt cannot be built.", said)] == ["danger"]
    assert cautions_that_say("picks up grit", said) == []


def test_a_steep_slope_is_told_in_whole_per_cent():
    assert_says("down {} % the brakes must hold", cautions_that_say("unless friction takes", brakes(slope=0.2446))[0].words, 24)
    assert_says("Rolling free down {} % it reaches", cautions_that_say("Rolling free", brakes(slope=0.2446))[0].words, 24)


def test_a_winding_asks_for_the_amps_it_is_asked():
    hot = WindingCase(TRIKE, Sensed(amps=50.0, seconds=3000.0))
    found = cautions_that_say("gives up", of_winding(hot))
    assert found[0].state == "danger"
    when = hot.time_to_limit
    assert_says("With {} A the winding is at {} °C after {} min", found[0].words, 50, 120, when / 60)
