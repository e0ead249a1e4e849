"""The waves of an unrolled ring against finite elements: a library solves the vector potential, knowing nothing of transfers.

Half a pole pitch of block magnets, endless across: by symmetry the potential is zero in the middle of a magnet and level half way
to the next one; on iron that never saturates it is free.  References: textbook magnetostatics; scikit-fem assembles and solves.

The transfers take the whole layer of magnets to have their recoil permeability, the spaces between them too.  With the layer so,
elements and transfer agree to 3e-4; with air in the spaces the field is 0.3 % higher, which the last test holds.
"""

import math
from itertools import pairwise

import numpy as np
import pytest

from evlab import magnets
from evlab.rings import Ring

MU0 = 4e-7 * math.pi
PITCH, WIDE, THICK, BR, RECOIL = 0.040, 0.028, 0.010, 1.25, 1.05  # m, T: invented
GAP = 0.014
FAR = 0.10  # m: two and a half pitches on, a wave has died to e^-8


def potential(below, faces, filled=True):
    """Interpolator of the vector potential [Wb/m].

    `below`, how much air is under the magnets [m]; `faces`, the heights of the lower and upper face of each row of magnets;
    the topmost height ends the domain.  `filled`: the spaces between the magnets have the recoil permeability too.
    """
    from skfem import Basis, BilinearForm, ElementTriP2, LinearForm, MeshTri, condense, solve

    heights = sorted({-below - THICK, *np.round(np.ravel(faces), 9)})
    rows = [np.linspace(a, b, max(3, int((b - a) / 0.0008))) for a, b in pairwise(heights)]
    columns = [np.linspace(0, WIDE / 2, 30), np.linspace(WIDE / 2, PITCH / 2, 16)]
    mesh = MeshTri.init_tensor(np.unique(np.concatenate(columns)), np.unique(np.concatenate(rows)))
    basis = Basis(mesh, ElementTriP2())

    def layer(y):
        return np.any([(y > low) & (y < high) for low, high in faces if high - low == pytest.approx(THICK)], axis=0)

    def inside(x, y):
        return (x < WIDE / 2) & layer(y)

    @BilinearForm
    def reluctance(a, v, w):
        nu = np.where(layer(w.x[1]) if filled else inside(*w.x), 1 / (MU0 * RECOIL), 1 / MU0)
        return nu * (a.grad[0] * v.grad[0] + a.grad[1] * v.grad[1])

    @LinearForm
    def magnets_push(v, w):
        return np.where(inside(*w.x), -BR / (MU0 * RECOIL), 0.0) * v.grad[0]

    fixed = basis.get_dofs(lambda x: np.isclose(x[0], 0.0))
    solved = solve(*condense(reluctance.assemble(basis), magnets_push.assemble(basis), D=fixed))
    return basis.interpolator(solved)


def harmonic(found, height, order):
    """Amplitude of a harmonic of the flux density at a height, from the potential along a line (by parts)."""
    x = np.linspace(0.0, PITCH / 2, 801)
    wave = order * math.pi / PITCH
    seen = found(np.stack([x, np.full_like(x, height)])) * np.sin(wave * x)
    return -4 / PITCH * wave * float(np.trapezoid(seen, x))


# How the domain is built for each arrangement: air under the magnets, then the rows of faces and the end of the domain.
ROWS = {
    "none": (FAR, [(-THICK, 0.0), (0.0, FAR)]),
    "behind": (0.0, [(-THICK, 0.0), (0.0, FAR)]),
    "plate across": (0.0, [(-THICK, 0.0), (0.0, GAP)]),
    "two rotors": (0.0, [(-THICK, 0.0), (GAP, GAP + THICK)]),
    "two rotors, no iron": (FAR, [(-THICK, 0.0), (GAP, GAP + THICK), (GAP + THICK, GAP + FAR)]),
}
RECOILS = {"none": 1.0, "two rotors, no iron": 1.0}  # those transfers are stated for a recoil permeability of 1


@pytest.mark.parametrize("iron", ROWS)
def test_finite_elements_find_the_waves_of_blocks(iron, monkeypatch):
    monkeypatch.setitem(globals(), "RECOIL", RECOILS.get(iron, 1.05))
    found = potential(*ROWS[iron])
    ring = Ring.of(40, radius=40 * PITCH / math.tau, shape="block", wide=WIDE, long=0.03, thick=THICK, remanence=BR, iron=iron,
                   recoil=RECOIL, gap=GAP)
    for height in (0.003, 0.007, 0.011):
        for order in (1, 3):
            wave = float(magnets.wave_number(float(order), PITCH))
            row = float(magnets.strip_harmonic(BR, float(order), WIDE / PITCH))
            ours = row * float(ring.transfer(wave, height))
            largest = abs(float(magnets.strip_harmonic(BR, 1.0, WIDE / PITCH)))
            assert harmonic(found, height, order) == pytest.approx(ours, rel=3e-4, abs=3e-4 * largest)


def test_the_recoil_permeability_lowers_the_field_by_as_much(monkeypatch):
    """Elements with and without it: the transfer of magnets on iron falls by the same 2.8 %."""
    fields = {}
    for recoil in (1.0, 1.05):
        monkeypatch.setitem(globals(), "RECOIL", recoil)
        fields[recoil] = harmonic(potential(*ROWS["behind"]), 0.007, 1)
    wave = math.pi / PITCH
    told = {mu: float(magnets.backed_transfer(wave, THICK, mu, 0.007)) for mu in fields}
    assert fields[1.05] / fields[1.0] == pytest.approx(told[1.05] / told[1.0], rel=2e-4)
    assert 1 - fields[1.05] / fields[1.0] == pytest.approx(0.028, abs=0.003)


@pytest.mark.parametrize("iron", ["behind", "plate across", "two rotors"])
def test_air_in_the_spaces_between_the_magnets_changes_little(iron):
    filled, real = (harmonic(potential(*ROWS[iron], filled=f), 0.007, 1) for f in (True, False))
    assert 1.001 < real / filled < 1.005
