"""Stray pull: the force on a ball by Maxwell's stress round it, the field against the map, distances, refusals."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from evlab import InputError
from evlab.image_magnets import image_vectors
from evlab.rings import Ring
from evlab.stray import (
    BEHIND_WORDS,
    FLYING_FIELD,
    IMPLANT_FIELD,
    PARTS,
    SHIELD_WORDS,
    WAYS,
    SteelPart,
    clear_distance,
    field_at,
    filled_pull,
    filling_field,
    part_of,
    pull_curve,
    quiet_distance,
    rod_factor,
    sleeved,
    soft_pull,
)

DEMO = {"radius": "78 mm", "wide": "30 mm", "thick": "10 mm", "remanence": "1.30 T", "gap": "14 mm"}  # invented
MU0 = 4e-7 * math.pi


def ring(iron="behind", **more):
    return Ring.of(12, iron=iron, **{**DEMO, **more})


# ---------------------------------------------------------------- the pull on a small body
@pytest.mark.parametrize("away", [0.04, 0.07])
def test_the_pull_on_a_ball_by_maxwells_stress_round_it(away):
    """A lone disc (magpylib) and a ball that it makes a magnet (magpylib's sphere): the stress of both fields together, summed
    over a sphere round the ball, knows nothing of moments and slopes."""
    import magpylib

    radius = 0.002
    disc = magpylib.magnet.Cylinder(polarization=(0, 0, 1.30), dimension=(0.030, 0.010))
    field = disc.getB([0, 0, away])[2]
    ball = magpylib.magnet.Sphere(polarization=(0, 0, 3 * field), diameter=2 * radius, position=(0, 0, away))
    nodes, weights = np.polynomial.legendre.leggauss(40)
    turn = 2 * math.pi * np.arange(40) / 40
    normal = np.stack([np.outer(np.sqrt(1 - nodes**2), np.cos(turn)), np.outer(np.sqrt(1 - nodes**2), np.sin(turn)),
                       np.outer(nodes, np.ones(40))], axis=-1)
    b = magpylib.getB([disc, ball], 1.5 * radius * normal + np.array([0, 0, away]), sumup=True)
    stress = (b * normal).sum(axis=-1)[..., None] * b - (b**2).sum(axis=-1)[..., None] * normal / 2
    force = (weights[:, None, None] * stress).sum(axis=(0, 1)) * (2 * math.pi / 40) * (1.5 * radius) ** 2 / MU0
    slope = (disc.getB([0, 0, away - 1e-5])[2] - disc.getB([0, 0, away + 1e-5])[2]) / 2e-5
    volume = 4 / 3 * math.pi * radius**3
    assert soft_pull(volume, field, slope, demagnetising_factor=1 / 3) == pytest.approx(-force[2], rel=1e-3)
    assert SteelPart("ball", volume, 1 / 3, 0.0, 0.0).pull(field, slope) == pytest.approx(-force[2], rel=1e-3)


def test_soft_and_full_meet_where_the_part_fills():
    for part in PARTS.values():
        edge = float(filling_field(part.factor))
        assert soft_pull(part.volume, edge, 2.0, demagnetising_factor=part.factor) == pytest.approx(filled_pull(part.volume, 2.0))
        assert part.pull(1.01 * edge, 2.0) == part.pull(1.5 * edge, 2.0) == pytest.approx(part.pull(edge, 2.0))
        assert part.pull(edge / 2, 2.0) == pytest.approx(part.pull(edge, 2.0) / 2)


def test_a_needle_has_no_factor_and_a_ball_a_third():
    assert rod_factor(1.02) == pytest.approx(1 / 3, rel=0.02)
    assert rod_factor(500.0) < 3e-5
    with pytest.raises(InputError, match="must be above zero"):
        rod_factor(0.0)


# ---------------------------------------------------------------- the field outside
@pytest.mark.parametrize("iron", ["none", "behind"])
def test_the_field_over_the_magnets_against_the_map(iron):
    """Over a magnet the field points along the shaft but for the ring's own curve."""
    for distance in (0.005, 0.010, 0.020):
        here, slope = field_at(ring(iron, recoil=1.0), [distance])
        assert here[0] == pytest.approx(ring(iron, recoil=1.0).map(distance).at([0.078], [0.0])[0], rel=5e-3)
        near, far = (field_at(ring(iron, recoil=1.0), [distance + d])[0][0] for d in (-1e-5, 1e-5))
        assert slope[0] == pytest.approx((near - far) / 2e-5, rel=1e-3)


def test_far_above_the_field_dies_by_more_than_its_wave():
    fields, slopes = field_at(ring(), [0.03, 0.04])
    assert fields[0] / fields[1] > math.exp(0.010 * math.pi / ring().pitch)
    assert (slopes > 0).all()


def test_iron_behind_the_magnets_makes_more_in_front_and_nothing_behind():
    with_iron, without = (field_at(ring(iron), [0.02])[0][0] for iron in ("behind", "none"))
    assert 1.2 < with_iron / without < 1.6
    assert "no field at all" in BEHIND_WORDS
    assert "1.5 T" in BEHIND_WORDS
    assert "fix it firmly" in SHIELD_WORDS


def test_beside_the_rim_discs_are_left_out():
    assert sleeved(ring("two rotors")).iron == sleeved(ring("two rotors, no iron")).iron == "two rotors, no iron"
    assert {sleeved(ring(i)).iron for i in ("none", "behind", "plate across")} == {"none"}
    middle = np.array([[0.078 + 0.015 + 0.03, 0.0, -0.005]])  # of the magnets' thickness, where the field points along the shaft
    for iron in ("none", "behind"):
        alone = image_vectors(ring("none"), middle)[0]
        assert abs(alone[0]) < 1e-9
        assert field_at(ring(iron), [0.03], WAYS[1])[0][0] == pytest.approx(abs(alone[2]), rel=1e-9)
    one, two = (field_at(ring(iron), [0.03], WAYS[1])[0][0] for iron in ("behind", "two rotors"))
    assert one > 0
    assert two > 0


# ---------------------------------------------------------------- pull against distance
@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("name", PARTS)
def test_at_the_clear_distance_the_pull_is_the_weight(name, way):
    part, made = part_of(name), ring()
    clear = clear_distance(made, part, way=way)
    assert 0.005 < clear < 0.1
    assert pull_curve(made, part, [clear], way)[0] == pytest.approx(part.weight, rel=2e-3)
    assert pull_curve(made, part, [1.1 * clear], way)[0] < part.weight


def test_the_pull_falls_with_the_distance_and_goes_with_the_remanence():
    far = np.array([0.030, 0.035, 0.040])
    nut = part_of("nut M8")
    pulls = pull_curve(ring(), nut, far)
    assert (np.diff(pulls) < 0).all()
    assert pulls == pytest.approx(4 * pull_curve(ring(remanence=0.65), nut, far), rel=1e-6)  # soft: field and slope both
    spanner = part_of("spanner")
    close = pull_curve(ring(), spanner, [0.001])[0] / pull_curve(ring(remanence=0.65), spanner, [0.001])[0]
    assert 1.9 < close < 2.3  # full: the slope alone


def test_a_full_rod_is_pulled_by_the_difference_of_the_field_at_its_ends():
    """Its section times its polarisation times that difference: the closed form that the sum over pieces stands for."""
    rod, made = part_of("steel rule"), ring()
    ends = field_at(made, [0.002, 0.152])[0]
    most = math.pi / 4 * 0.004**2 * 2.1 * (ends[0] - ends[1]) / MU0
    assert 0.85 * most < pull_curve(made, rod, [0.002])[0] < 1.02 * most


def test_a_chain_with_a_taut_slack_run_may_pass_nearer():
    link = part_of("each link of a run of 06B chain")
    assert clear_distance(ring(), link, "1 N") < clear_distance(ring(), link, "0.1 N") < clear_distance(ring(), link)
    assert clear_distance(ring(), link, 1e4) == 0.0


def test_twice_as_heavy_a_ball_is_clear_at_the_same_distance():
    light, heavy = (clear_distance(ring(), SteelPart.ball("b", mass=m)) for m in ("4 g", "8 g"))
    assert light == pytest.approx(heavy, rel=1e-9)


@pytest.mark.parametrize("way", WAYS)
def test_the_field_is_at_its_limit_at_the_quiet_distance(way):
    for limit in (IMPLANT_FIELD, FLYING_FIELD, 0.05):
        quiet = quiet_distance(ring(), limit, way)
        assert field_at(ring(), [quiet], way)[0][0] == pytest.approx(limit, rel=2e-3)
    assert quiet_distance(ring(), 2.0, way) == 0.0
    assert quiet_distance(ring(), "0.5 mT", way) > quiet_distance(ring(), "3 mT", way)


# ---------------------------------------------------------------- refused in words
@pytest.mark.parametrize(("make", "words"), [
    (lambda: field_at(ring("two rotors"), [0.01]), "there is the other face, no open air"),
    (lambda: field_at(ring(), [0.01], "below"), "way of field_at must be one of"),
    (lambda: field_at(ring(), [0.0]), "distances of field_at must be above 0 mm"),
    (lambda: pull_curve(ring(), part_of("nut M8"), [2.0]), "distances of pull_curve must be 0.2 to 500 mm"),
    (lambda: clear_distance(ring(), part_of("nut M8"), "0 N"), "force of clear_distance must be above 0 N"),
    (lambda: quiet_distance(ring(), 0.0), "limit of quiet_distance must be above 0 T"),
    (lambda: part_of("nut M9"), "Did you mean 'nut M8'"),
    (lambda: SteelPart.rod("r", length="4 mm", diameter="5 mm"), "a length above it"),
    (lambda: SteelPart.ball("b", mass="0 g"), "mass of ball must be more than 0 g")])
def test_what_cannot_be_asked(make, words):
    with pytest.raises(InputError, match=re.escape(words)):
        make()
