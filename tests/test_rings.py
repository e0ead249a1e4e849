"""Rings of magnets: the map against values of another library, the three routes to a coil's flux, symmetry, refusals."""

from __future__ import annotations

import dataclasses
import math
import re

import numpy as np
import pytest

from evlab import InputError, magnets
from evlab.coils import Coil
from evlab.image_magnets import image_field, image_linkage
from evlab.linkage import Linkage, finite_coil, long_coil, strip_field
from evlab.rings import IRON, Ring

# A ring of 12 alternating discs 20 x 5 mm, 1.24 T, on 55 mm; iron as ideal mirrors, across from it at 12 mm.  Values by magpylib
# with image magnets, as printed in the list of references: over a magnet's centre, and the fundamental round the circle [T].
HEIGHTS = (0.003, 0.005, 0.008)
OVER = {"none": (0.22017, 0.17014, 0.10989), "behind": (0.33006, 0.25136, 0.16167), "plate across": (0.35872, 0.28726, 0.21409)}
ROUND = {"none": (0.23743, 0.17437, 0.10931), "behind": (0.34674, 0.25477, 0.16059), "plate across": (0.37534, 0.29055, 0.21273)}
LOOP = {"none": 0.023238, "behind": 0.034237, "plate across": 0.039498}  # V s/rad: 100 turns of 10 mm radius, 5 mm above the faces
# The demonstration motor (invented): 12 poles, two rotors; one of its nine coils.
DEMO = {"radius": "78 mm", "wide": "30 mm", "thick": "10 mm", "remanence": "1.30 T", "iron": "two rotors", "gap": "14 mm"}
COIL = Coil.of("trapezoid", inner="12 mm", outer="33 mm", long="32 mm", side="15 mm", thick="11 mm")
MIDDLE = 0.007


def small(iron, **more):
    return Ring.of(12, radius=0.055, wide=0.020, thick=0.005, remanence=1.24, recoil=1.0, iron=iron, gap=0.012, **more)


def demo(**more):
    return Ring.of(12, **{**DEMO, **more})


# ---------------------------------------------------------------- the map
@pytest.mark.parametrize("iron", OVER)
def test_the_map_of_a_ring_against_the_library(iron):
    turn = 2 * math.pi * np.arange(720) / 720
    for height, over, around in zip(HEIGHTS, OVER[iron], ROUND[iron], strict=True):
        field = small(iron).map(height)
        assert field.at([0.055], [0.0])[0] == pytest.approx(over, abs=6e-6)
        wave = np.fft.rfft(field.at(0.055 * np.cos(turn), 0.055 * np.sin(turn)))[6] / 360
        assert abs(wave) == pytest.approx(around, abs=6e-6)


@pytest.mark.parametrize("iron", IRON)
def test_the_map_of_spoilt_blocks_against_the_library(iron):
    """One block missing, one turned over, one weak: nothing is left of the symmetry."""
    ring = demo(iron=iron, shape="block", wide="25 mm", long="30 mm", recoil=1.0)
    ring = ring.with_magnet(2, 0.0).with_magnet(7, -1.0).with_magnet(4, 0.8)
    angles, radii = np.linspace(0, 2 * math.pi, 60), np.linspace(0.06, 0.095, 60)
    x, y = radii * np.cos(7 * angles), radii * np.sin(7 * angles)
    by_library = image_field(ring, np.stack([x, y, np.full(60, MIDDLE)], axis=-1), images=60)
    # an uneven ring sends flux through the iron as a whole: its far images count (6 of them leave 2.5 mT, 20 0.17, 60 0.02);
    # without iron it is felt a metre away, where the map begins anew
    assert ring.map(MIDDLE).at(x, y) == pytest.approx(by_library, abs=4e-5 if "plate" in iron or iron == "two rotors" else 1e-4)


def test_recoil_lowers_the_field_a_little():
    fields = [demo(recoil=mu).map(MIDDLE).at([0.078], [0.0])[0] for mu in (1.0, 1.05)]
    assert 0.95 < fields[1] / fields[0] < 0.99  # real magnets: 2.8 % less (finite elements, printed in the list of references)


def test_the_map_is_finer_the_nearer_it_lies():
    sizes = [len(small("none").map(height).field) for height in (0.008, 0.0015, 0.0005)]
    assert sizes == sorted(sizes)
    assert sizes[0] < sizes[-1]


def test_a_layer_is_the_mean_of_its_planes():
    ring, nodes = demo(), np.polynomial.legendre.leggauss(5)
    planes = sum(w / 2 * ring.map(MIDDLE + 0.0055 * x).at([0.08], [0.005])[0] for x, w in zip(*nodes, strict=True))
    assert ring.map(MIDDLE, 0.011).at([0.08], [0.005])[0] == pytest.approx(planes, rel=1e-4)  # each plane has a grid of its own


# ---------------------------------------------------------------- flux through a coil
@pytest.mark.parametrize("iron", LOOP)
def test_a_thin_loop_against_the_library(iron):
    loop = Coil.of("round", inner=0.020 - 1e-5, side=1e-5, thick=1e-5)
    there = Linkage(small(iron), loop, 0.005)
    assert there.constant(100) == pytest.approx(LOOP[iron], rel=1e-3)  # 1 % allowed by the list
    assert 100 * 6 * finite_coil(small(iron), loop, 0.005) == pytest.approx(LOOP[iron], rel=5e-3)
    assert 0.013 < there.harmonic(3) / there.fundamental < 0.022  # printed: 1.4 to 2.1 %


def test_the_demonstration_motor_by_four_routes():
    """Long coil, finite coil, map: worked apart, 2026; the library last."""
    ring, turn = demo(), Linkage(demo(), COIL, MIDDLE)
    assert long_coil(ring, COIL, MIDDLE) == pytest.approx(0.00046088, abs=5e-9)
    assert turn.fundamental == pytest.approx(0.00044443, rel=2e-3)  # the script has six turns for all, and a grid of magnets
    # the script takes a coil 43.9 mm long with thin ends instead of 47 mm with ends as wide as they are
    assert finite_coil(ring, COIL, MIDDLE) == pytest.approx(0.00044704, rel=2e-3)
    assert long_coil(ring, COIL, MIDDLE, 3) / long_coil(ring, COIL, MIDDLE) == pytest.approx(-0.0098453, abs=5e-8)
    plain = demo(recoil=1.0)  # the library knows no recoil
    library = image_linkage(plain, COIL, MIDDLE)
    assert Linkage(plain, COIL, MIDDLE).fundamental == pytest.approx(library, rel=3e-4)
    assert finite_coil(plain, COIL, MIDDLE) == pytest.approx(library, rel=0.02)
    assert 1.0 < long_coil(plain, COIL, MIDDLE) / library < 1.05  # too high: its field goes on where the magnets end


@pytest.mark.parametrize("iron", IRON)
@pytest.mark.parametrize("shape", ["disc", "block"])
def test_the_map_and_the_library_agree_for_every_arrangement(iron, shape):
    more = {"shape": "block", "wide": "25 mm", "long": "30 mm"} if shape == "block" else {}
    ring = demo(iron=iron, recoil=1.0, **more)
    library = image_linkage(ring, COIL, MIDDLE)
    assert Linkage(ring, COIL, MIDDLE).fundamental == pytest.approx(library, rel=3e-4)
    assert finite_coil(ring, COIL, MIDDLE) == pytest.approx(library, rel=0.015)


def test_the_flux_is_the_sum_of_its_waves_and_its_slope_the_emf():
    there, angles = Linkage(demo(), COIL, MIDDLE), np.linspace(0, 2 * math.pi / 6, 400, endpoint=False)
    flux = there.flux(angles)
    assert 2 * np.mean(flux * np.cos(6 * angles)) == pytest.approx(there.fundamental, rel=1e-6)
    step = 1e-5
    slope = (there.flux(angles + step) - there.flux(angles - step)) / (2 * step)
    assert there.emf_shape(angles) == pytest.approx(-slope, abs=1e-6 * 6 * there.fundamental)  # Faraday's sign


def test_flux_by_plain_counting_of_squares():
    """The map summed square by square over the coil, without angles or waves."""
    ring = demo()
    field = ring.map(MIDDLE, COIL.thick, 512)
    x, y = np.meshgrid(field.places, field.places, indexing="ij")
    counted = (field.field * COIL.linked(np.stack([x, y], axis=-1), ring.radius)).sum() * (field.side / 512) ** 2
    assert Linkage(ring, COIL, MIDDLE).flux([0.0])[0] == pytest.approx(counted, rel=1e-3)


# ---------------------------------------------------------------- scale laws
def test_a_machine_twice_as_large_has_four_times_the_flux():
    ring, coil = demo(), COIL
    twice = dataclasses.replace(ring, radius=2 * ring.radius, wide=2 * ring.wide, long=2 * ring.long, thick=2 * ring.thick,
                                gap=2 * ring.gap)
    larger = dataclasses.replace(coil, **{n: 2 * getattr(coil, n) for n in ("inner", "outer", "long", "side", "thick")})
    assert finite_coil(twice, larger, 2 * MIDDLE) == pytest.approx(4 * finite_coil(ring, coil, MIDDLE), rel=1e-6)
    assert Linkage(twice, larger, 2 * MIDDLE).fundamental == pytest.approx(4 * Linkage(ring, coil, MIDDLE).fundamental, rel=2e-3)


def test_each_millimetre_away_from_a_single_rotor_costs_what_its_wave_says():
    ring = demo(iron="behind")
    fell = long_coil(ring, COIL, 0.008) / long_coil(ring, COIL, 0.007)
    assert fell == pytest.approx(math.exp(-magnets.wave_number(1.0, ring.pitch) * 1e-3), rel=1e-9)
    assert 100 * (1 - fell) == pytest.approx(7.4039, abs=5e-5)  # worked apart, 2026


def test_a_magnet_turned_over_costs_twice_one_that_is_missing():
    whole = Linkage(demo(), COIL, MIDDLE).fundamental
    lost = [whole - Linkage(demo().with_magnet(0, s), COIL, MIDDLE).fundamental for s in (0.0, -1.0)]
    assert lost[1] == pytest.approx(2 * lost[0], rel=1e-4)  # maps of two sizes
    assert lost[0] == pytest.approx(whole / 12, rel=1e-4)  # over a whole turn every magnet counts alike


# ---------------------------------------------------------------- coils
def test_the_mean_turn_and_the_width_of_the_demonstration_coil():
    assert COIL.mean_turn(0.078) == pytest.approx(0.15948, abs=5e-6)  # worked apart, 2026
    assert COIL.across() == pytest.approx(0.0375)
    assert COIL.width() == pytest.approx(0.0525)


def test_a_keystone_follows_the_circles():
    """By arithmetic: two arcs and two straight sides between their ends."""
    made = Coil.of("keystone", inner="12 mm", outer="33 mm", long="32 mm", side="15 mm", thick="11 mm")
    near, far = 0.062, 0.094
    arcs = [2 * r * math.asin(c / (2 * r)) for r, c in ((near, 0.012), (far, 0.033))]
    ends = [(math.sqrt(r * r - c * c / 4), c / 2) for r, c in ((near, 0.012), (far, 0.033))]
    sides = 2 * math.dist(*ends)
    assert made.perimeter(0.078) == pytest.approx(sum(arcs) + sides, rel=1e-3)


@pytest.mark.parametrize("shape", ["round", "trapezoid", "keystone"])
def test_turns_are_counted_by_how_far_out_they_lie(shape):
    made = Coil.of(shape, inner="20 mm", outer="30 mm", long="30 mm", side="10 mm", thick="8 mm")
    edge = 0.078 + (0.010 if shape == "round" else 0.015)  # of the opening, along the radius through its middle
    places = np.array([[0.078, 0.0], [edge - 1e-6, 0.0], [edge + 0.005, 0.0], [edge + 0.011, 0.0]])
    assert made.linked(places, 0.078) == pytest.approx([1.0, 1.0, 0.5, 0.0], abs=2e-3)


# ---------------------------------------------------------------- refused in words
@pytest.mark.parametrize(("change", "words"), [
    ({"poles": 11}, "an even number of magnets"), ({"poles": 0}, "an even number of magnets"),
    ({"wide": "45 mm"}, "overlap by"), ({"gap": "-2 mm"}, "gap of Ring must be more than 0 mm"),
    ({"gap": None}, "gap of Ring must be given with two rotors"), ({"iron": "wood"}, "iron of Ring must be one of"),
    ({"shape": "arc"}, "shape of Ring must be disc or block"), ({"remanence": "13 T"}, "remanence of Ring must be 0.05 to 1.6 T"),
    ({"shape": "block"}, "long of Ring must be given"), ({"strengths": [1.0] * 11}, "12 numbers from -1.5 to 1.5"),
    ({"wide": "1 kg"}, "wide of Ring"), ({"recoil": 0.5}, "recoil of Ring must be 1 to 1.5"),
    ({"shape": "block", "long": "160 mm", "wide": "10 mm"}, "would reach the shaft")])
def test_a_ring_that_cannot_be_built(change, words):
    given = {**DEMO, "poles": 12, **change}
    with pytest.raises(InputError, match=re.escape(words)):
        Ring.of(given.pop("poles"), **given)


def test_the_circle_that_would_do_is_told_and_does():
    with pytest.raises(InputError, match="take a circle of at least") as refused:
        demo(wide="45 mm")
    least = float(re.search(r"at least ([\d.]+) mm", str(refused.value)).group(1))
    assert demo(wide="45 mm", radius=1e-3 * (least + 0.5)).room > 0


@pytest.mark.parametrize(("make", "words"), [
    (lambda: demo().map(0.001, 0.011), "is not in the air"), (lambda: demo().map(0.020), "must lie between 0 and 14 mm"),
    (lambda: Coil.of("oval", inner=0.01, side=0.01, thick=0.01), "shape of Coil must be one of round, trapezoid, keystone"),
    (lambda: Coil.of("trapezoid", inner=0.01, side=0.01, thick=0.01), "outer of Coil must be given for a trapezoid coil"),
    (lambda: Coil.of("round", inner=0.01, side=0.0, thick=0.01), "side of Coil must be more than 0 mm"),
    (lambda: Coil.of("trapezoid", inner=0.01, outer=0.02, long=0.2, side=0.01, thick=0.01).corners(0.078), "would reach the shaft"),
    (lambda: Coil.of("keystone", inner=0.14, outer=0.2, long=0.02, side=0.01, thick=0.01).corners(0.078), "does not fit on a "
                                                                                                          "circle"),
    (lambda: long_coil(demo(), COIL, MIDDLE, 2), "no even harmonics"),
    (lambda: finite_coil(demo().with_magnet(3, 0.0), COIL, MIDDLE), "knows equal magnets only"),
    (lambda: demo().with_magnet(12, 0.0), "a magnet from 0 to 11"), (lambda: demo().with_magnet(1, 9.0), "12 numbers from -1.5 to "
                                                                                                         "1.5")])
def test_what_cannot_be_asked(make, words):
    with pytest.raises(InputError, match=re.escape(words)):
        make()


# ---------------------------------------------------------------- the series of endless strips
def test_the_series_of_strips_is_the_map_of_long_blocks_in_a_large_ring():
    """Blocks much longer than the gap on a circle much larger than a pole: what the series takes them to be."""
    ring = Ring.of(60, radius="400 mm", shape="block", wide="28 mm", long="160 mm", thick="10 mm", remanence="1.25 T",
                   iron="behind")
    angles = np.linspace(0.0, 2 * math.pi / ring.pairs, 25)
    field = ring.map(0.010, size=2048).at(ring.radius * np.cos(angles), ring.radius * np.sin(angles))
    series = strip_field(ring, 0.010, angles)
    assert np.abs(series - field).max() < 0.006 * np.abs(field).max()


def test_the_series_of_strips_is_refused_for_discs_with_the_reason():
    ring = Ring.of(12, radius="78 mm", wide="30 mm", thick="10 mm", remanence="1.30 T")
    with pytest.raises(InputError, match=r"a disc has no single width.*Ask long_coil, finite_coil or Linkage"):
        strip_field(ring, 0.007, [0.0])
    with pytest.raises(InputError, match="knows equal magnets only"):
        strip_field(dataclasses.replace(ring.with_magnet(2, 0.0), shape="block"), 0.007, [0.0])


def test_the_field_at_one_place_is_a_number_and_rows_may_cross_columns():
    field = demo().map(MIDDLE)
    alone = field.at(0.078, 0.001)
    assert np.ndim(alone) == 0
    assert float(alone) == field.at([0.078], [0.001])[0]
    table = field.at(np.array([[0.070], [0.078]]), np.array([[0.0, 0.001, 0.002]]))
    assert table.shape == (2, 3)
    assert table[1, 1] == float(alone)
    assert field.at([0.070, 0.078], 0.001)[1] == float(alone)
