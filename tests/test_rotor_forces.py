"""Rotor forces: the pull by three routes and another library, mirrors, plates under load, steel, spin, refusals."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from evlab import InputError
from evlab.image_magnets import image_vectors
from evlab.rings import Ring
from evlab.rotor_forces import (
    Pull,
    Rotor,
    disc_stiffness,
    holding_force,
    ring_hoop_stress,
    steel_flux,
    steel_load,
    steel_words,
)

DEMO = {"radius": "78 mm", "wide": "30 mm", "thick": "10 mm", "remanence": "1.30 T", "gap": "14 mm"}  # invented
BLOCK = {"shape": "block", "wide": "25 mm", "long": "30 mm"}
MU0 = 4e-7 * math.pi
TEST = 2500 * 2 * math.pi / 60


def ring(iron="two rotors", **more):
    return Ring.of(12, iron=iron, **{**DEMO, **more})


# ---------------------------------------------------------------- pull
def test_the_pull_of_the_demonstration_motor_by_two_routes():
    """Worked apart, 2026: 870.2 N, 72.517 a magnet, by the unrolled ring."""
    pull = Pull(ring())
    assert pull.unrolled() == pytest.approx(870.2, abs=0.05)
    assert pull.force == pytest.approx(870.2, rel=5e-3)
    assert pull.per_magnet == pytest.approx(72.517, rel=5e-3)


@pytest.mark.parametrize("iron", ["plate across", "two rotors", "two rotors, no iron"])
@pytest.mark.parametrize("shape", [{}, BLOCK])
def test_the_pull_is_the_fields_pressure_summed_square_by_square(iron, shape):
    made = ring(iron, **shape)
    plane = made.map(made.gap if iron == "plate across" else made.middle, size=512)
    squares = float((plane.field**2).sum()) * (plane.side / 512) ** 2 / (2 * MU0)
    assert Pull(made).force == pytest.approx(squares, rel=1e-3)
    assert Pull(made).unrolled() == pytest.approx(Pull(made).force, rel=0.02)  # curved against unrolled


def test_the_pull_between_two_rings_against_the_librarys_forces():
    """magpylib cuts the magnets of one ring into cells and sums the force of the other ring's field on them; no iron."""
    import magpylib

    def rings(height):
        return [magpylib.magnet.Cylinder(polarization=(0, 0, 1.30 * (-1) ** n), dimension=(0.030, 0.010), position=(
            0.078 * math.cos(n * math.pi / 6), 0.078 * math.sin(n * math.pi / 6), height)) for n in range(12)]

    lower, upper = rings(-0.005), rings(0.019)
    one, _ = magpylib.getFT(lower, upper[0], meshing=600)
    assert -12 * np.asarray(one).reshape(-1, 3).sum(axis=0)[2] == pytest.approx(Pull(ring("two rotors, no iron", recoil=1.0)).force,
                                                                               rel=5e-3)


@pytest.mark.parametrize("gap", [0.006, 0.014])
def test_a_plate_is_a_mirror(gap):
    """A ring a gap away from a plate of iron is pulled as by its like two gaps away."""
    plate = Pull(ring("plate across", gap=gap)).force
    assert plate == pytest.approx(Pull(ring(gap=2 * gap)).force, rel=1e-9)


def test_the_pull_goes_with_the_square_of_the_remanence_and_falls_with_the_gap():
    assert Pull(ring()).force == pytest.approx(4 * Pull(ring(remanence=0.65)).force, rel=1e-12)
    curve = Pull(ring()).curve(np.linspace(0.002, 0.040, 20))
    assert (np.diff(curve) < 0).all()
    assert curve[0] > 3 * curve[6]


def test_stiffness_is_the_slope_of_the_curve():
    pull = Pull(ring())
    a, b = pull.at(0.0138), pull.at(0.0142)
    assert pull.stiffness() == pytest.approx((a - b) / 0.0004, rel=1e-3)


def test_soft_discs_snap_together_and_stiff_ones_hardly_move():
    pull = Pull(ring())
    settled = pull.settles(3e6)
    assert 3e6 * (0.014 - settled) == pytest.approx(pull.at(settled), rel=1e-6)
    assert pull.settles(3e7) > settled
    assert pull.settles(1.5e5) == 0.0


# ---------------------------------------------------------------- a lone magnet on steel
def test_a_magnet_on_steel_against_a_published_finite_element_value():
    """A disc of N40, 3/16 by 1/32 inch, 1/1000 inch above thick steel: 2.56 N printed by a page of finite elements (read in 2026),
    0.56 lbs (2.49 N) by a dealer.  Those count a recoil of 1.05, which lowers the field by 2.8 % and so the force by 5.5 %."""
    inch = 0.0254
    disc = Ring.of(2, radius=0.1, wide=3 / 16 * inch, thick=inch / 32, remanence=1.28, recoil=1.0, iron="none")
    assert holding_force(disc, inch / 1000) * 0.972**2 == pytest.approx(2.56, rel=0.015)


@pytest.mark.parametrize("shape", [{}, BLOCK])
def test_a_magnet_above_steel_against_the_librarys_forces_on_its_image(shape):
    import magpylib

    made = ring("none", **shape)
    for gap in (0.001, 0.005):
        kind = magpylib.magnet.Cuboid if shape else magpylib.magnet.Cylinder
        size = (0.030, 0.025, 0.010) if shape else (0.030, 0.010)
        mirrored = kind(polarization=(0, 0, 1.30), dimension=size, position=(0, 0, -0.010 - 2 * gap))
        force, _ = magpylib.getFT(mirrored, kind(polarization=(0, 0, 1.30), dimension=size), meshing=3000)
        assert holding_force(made, gap) == pytest.approx(-float(np.ravel(force)[2]), rel=0.015)


def test_dealers_state_about_that_force():
    """Blocks of N38 (dealer's sheets, read in 2026): 241.53, 116.27 and 33.88 N; ours by 10 %, since steel and test differ."""
    for (long, wide, thick), newton in (((40, 20, 10), 241.53), ((40, 10, 5), 116.27), ((12, 10, 4), 33.88)):
        block = Ring.of(2, radius=0.1, wide=wide / 1e3, long=long / 1e3, thick=thick / 1e3, shape="block", remanence=1.24,
                        iron="none")
        assert holding_force(block) == pytest.approx(newton, rel=0.10)


# ---------------------------------------------------------------- discs and steel
def roark(hub, load, outer, thick, modulus=205e9, poisson=0.3):
    """Deflection at the rim for one newton on a circle: constants of plates with a free rim and a held hub, as handbooks print
    them (from memory; the constants themselves were read)."""
    a, b, r = outer, hub, load
    log = math.log
    c2 = (1 - (b / a) ** 2 * (1 + 2 * log(a / b))) / 4
    c3 = b / (4 * a) * (((b / a) ** 2 + 1) * log(a / b) + (b / a) ** 2 - 1)
    c8 = (1 + poisson + (1 - poisson) * (b / a) ** 2) / 2
    c9 = b / a * ((1 + poisson) / 2 * log(a / b) + (1 - poisson) / 4 * (1 - (b / a) ** 2))
    l3 = r / (4 * a) * (((r / a) ** 2 + 1) * log(a / r) + (r / a) ** 2 - 1)
    l9 = r / a * ((1 + poisson) / 2 * log(a / r) + (1 - poisson) / 4 * (1 - (r / a) ** 2))
    rigidity = modulus * thick**3 / (12 * (1 - poisson**2))
    line = 1 / (2 * math.pi * r)
    moment = -line * a / c8 * (r * c9 / b - l9)
    shear = line * r / b
    return -(moment * a**2 / rigidity * c2 + shear * a**3 / rigidity * c3 - line * a**3 / rigidity * l3)


def test_a_disc_loaded_at_its_rim_against_the_handbooks_constants():
    stiff = disc_stiffness(hub=0.035, load=0.1, outer=0.1, thick=0.006)
    assert 1 / stiff == pytest.approx(roark(0.035, 0.1, 0.1, 0.006), rel=1e-9)


def test_a_disc_loaded_inside_its_rim_against_its_differential_equation():
    from scipy.integrate import solve_bvp

    hub, load, outer, thick = 0.035, 0.078, 0.100, 0.006
    rigidity = 205e9 * thick**3 / (12 * (1 - 0.09))

    def rates(r, y):  # of deflection, slope and curvature; the shear ends at the circle, smeared a little
        shear = 1 / (2 * math.pi * r) / (1 + np.exp(np.clip((r - load) / 2e-5, -50, 50)))
        return np.vstack([y[1], y[2], shear / rigidity - y[2] / r + y[1] / r**2])

    def ends(left, right):
        return np.array([left[0], left[1], right[2] + 0.3 * right[1] / outer])

    start = np.linspace(hub, outer, 4000)
    found = solve_bvp(rates, ends, start, np.zeros((3, 4000)), tol=1e-8, max_nodes=200000)
    assert found.success
    deflection = abs(float(found.sol(load)[0]))
    assert 1 / disc_stiffness(hub=hub, load=load, outer=outer, thick=thick) == pytest.approx(deflection, rel=1e-3)


def test_stiffness_goes_with_the_cube_of_the_thickness():
    thin, thick = (disc_stiffness(hub=0.03, load=0.078, outer=0.1, thick=t) for t in (0.003, 0.006))
    assert thick == pytest.approx(8 * thin, rel=1e-12)


@pytest.mark.parametrize("iron", ["behind", "two rotors"])
def test_the_flux_in_the_steel_against_the_library(iron):
    """Field that enters the steel over one pole's sector, by image magnets on the real, curved ring."""
    made = ring(iron, recoil=1.0)
    radii, angles = 0.02 + 0.12 * (np.arange(120) + 0.5) / 120, math.pi / 12 * (2 * (np.arange(40) + 0.5) / 40 - 1)
    r, t = np.meshgrid(radii, angles, indexing="ij")
    field = image_vectors(made, np.stack([r * np.cos(t), r * np.sin(t), np.full_like(r, -made.thick)], axis=-1))[..., 2]
    flux = float((field * r).sum()) * (0.12 / 120) * (math.pi / 6 / 40)
    assert steel_flux(made) == pytest.approx(flux, rel=0.02)  # unrolled against curved


def test_the_demonstration_steel_in_words():
    load = steel_load(steel_flux(ring()), 0.006, 0.040)
    assert 1.103 < load < 1.35  # counting the flux of the magnet's own area only
    assert "below 1.5 T" in steel_words(load)
    assert "above the 1.5 T" in steel_words(1.7)
    assert "Take thicker steel" in steel_words(2.9)


# ---------------------------------------------------------------- spin
def test_the_demonstration_rotor_against_what_was_worked_apart():
    """Worked apart, 2026; the energy of 774 J belongs to another inertia than printed there, 0.3 % less."""
    rotor = Rotor(ring(), 2, 0.020, 0.100, 0.006)
    assert rotor.magnet_mass == pytest.approx(0.053014, abs=5e-7)
    assert rotor.inertia == pytest.approx(0.022657, abs=5e-7)
    at = rotor.at(TEST)
    assert at["centrifugal_force"] == pytest.approx(283.42, abs=5e-3)
    assert at["glue_shear"] == pytest.approx(400.95e3, abs=5.0)
    assert at["rim_speed"] == pytest.approx(26.18, abs=5e-4)
    assert at["kinetic_energy"] == pytest.approx(774, rel=4e-3)
    assert ring_hoop_stress(7850.0, at["rim_speed"]) == pytest.approx(5.3803e6, abs=50)
    assert 0.8 < at["hoop_stress"] / 5.3803e6 < 0.9  # (3.3 + 0.7/25)/4 of the thin ring's


def test_twice_the_speed_is_four_times_all_but_the_rims():
    slow, fast = (Rotor(ring(**BLOCK), 1, 0.0, 0.1, 0.005).at(w) for w in (100.0, 200.0))
    for name, value in slow.items():
        assert fast[name] == pytest.approx((2 if name == "rim_speed" else 4) * value, rel=1e-12)


def test_the_inertia_of_blocks_point_by_point():
    rotor = Rotor(ring(**BLOCK), 1, 0.02, 0.1, 1e-9)
    x, y = np.meshgrid(0.078 + 0.030 * ((np.arange(400) + 0.5) / 400 - 0.5), 0.025 * ((np.arange(400) + 0.5) / 400 - 0.5))
    assert rotor.inertia == pytest.approx(12 * rotor.magnet_mass * float((x**2 + y**2).mean()), rel=1e-4)


# ---------------------------------------------------------------- refused in words
@pytest.mark.parametrize(("make", "words"), [
    (lambda: Pull(ring("behind")), "A pull needs something across the gap"), (lambda: Pull(ring()).at(0.0), "gap of Pull"),
    (lambda: Pull(ring()).settles(0.0), "stiffness of settles"), (lambda: holding_force(ring(), -0.001), "gap of holding_force"),
    (lambda: disc_stiffness(hub=0.05, load=0.04, outer=0.1, thick=0.006), "must grow in this order"),
    (lambda: disc_stiffness(hub=0.03, load=0.04, outer=0.1, thick=0.0), "thick of disc_stiffness"),
    (lambda: steel_flux(ring("none")), "There is no steel behind"),
    (lambda: steel_flux(ring().with_magnet(1, 0.0)), "a ring of equal magnets"),
    (lambda: Rotor(ring(), 3, 0.02, 0.1, 0.006), "rings of Rotor must be 1 or 2"),
    (lambda: Rotor(ring(), 2, 0.2, 0.1, 0.006), "a hub smaller than its rim")])
def test_what_cannot_be_asked(make, words):
    with pytest.raises(InputError, match=re.escape(words)):
        make()
