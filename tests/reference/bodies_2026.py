"""Magnets and the bodies about them: a dealer's sheets, printed tables, a finite-element library, and second opinions.

The dealer's surface fields belong to the middle of the range of remanence that the same sheets print (1.24 T); the rows of the
script are not published.
"""

from __future__ import annotations

import math

from evlab import demagnetising, heat, magnets, rotor_forces
from evlab.rings import Ring

from . import Check, Erratum, si_of
from .authors_script_2026 import SOURCE

DEALER = "a dealer's sheets of N38 magnets, 1.22 to 1.26 T (dhit.pl, read in 2026)"
DEPTHS = "launchloop.com/SkinDepth, a table of skin depths at 300 K"
TWO_D = "scikit-fem, in two dimensions: discs 25 mm across, 6 mm thick, on 80 mm, pole pitch 31.4 mm, recoil 1.05"
OSBORN = "Osborn, Phys. Rev. 67 (1945) 351, table of the prolate spheroid; from memory"
RPM = si_of(1.0, "revolution/minute")
TEST = 2500.0 * RPM
_E, _D, _F, _S, _H = "eddies.", "demagnetising.", "rotor_forces.", "stray.", "heat."
# The inertia printed in D25 counts a disc magnet's own inertia as half of mass times radius squared, its energies as a quarter.
WHEEL = {"magnet_count": 24.0, "magnet_mass": 0.053014, "ring_radius": 0.078, "magnet_radius": 0.015}


def _surface(millimetres: tuple[float, float, float], printed: str, allowance: float) -> Check:
    length, width, thick = (x / 1e3 for x in millimetres)
    return Check(
        _D + "block_factor", printed, "mT", DEALER, f"surface field of {'×'.join(f'{x:g}' for x in millimetres)} mm",
        table="surface", work=lambda: 1240.0 * (1 - float(demagnetising.block_factor(width, length, thick, 0.0))),
        allowance=allowance,
        why="0.1 %: the sheets say 'about' and do not print the remanence they use")


def _depth(resistivity: float, hertz: float, printed: str, metal: str) -> Check:
    return Check(_E + "skin_depth", printed, "mm", DEPTHS, f"{metal}, {hertz:g} Hz", table="skin depth",
                 inputs={"electrical_speed": math.tau * hertz, "conductivity": 1 / resistivity})


def _steel(millimetres: float, printed: str) -> Check:
    """The list of references prints no remanence here; 1.24 T is that of its other rows."""
    def work() -> float:
        ring = Ring.of(16, radius=0.080, wide=0.025, thick=0.006, remanence=1.24, iron="behind")
        return float(rotor_forces.steel_load(rotor_forces.steel_flux(ring), millimetres / 1e3, 0.025))

    return Check(_F + "steel_load", printed, "T", TWO_D, f"{millimetres:g} mm of steel", work=work, kind="library", table="steel",
                 allowance=0.01 * float(printed), why="1 %; the library's row allows 5 % for its two dimensions")


def _one(equation: str, printed: str, unit: str, place: str, also: tuple[str, ...] = (), allowance: float | None = None,
         why: str = "", **inputs: float) -> Check:
    return Check(equation, printed, unit, SOURCE, place, inputs, kind="opinion", table=place.partition(",")[0], also=also,
                 allowance=allowance, why=why)


def _lone(printed: str, depth: float, place: str) -> Check:
    def work() -> float:
        inside = demagnetising.disc_inner_field(1.30, 0.010, depth, 0.015)
        return float(magnets.demagnetising_field(1.30, inside, recoil_permeability=1.05)) / 1e3

    return Check(_D + "disc_inner_field", printed, "kA/m", SOURCE, place, work=work, kind="opinion", table="D26",
                 also=("magnets.demagnetising_field",))


def _permeance() -> float:
    inside = demagnetising.disc_inner_field(1.30, 0.010, 0.005, 0.015)
    against = magnets.demagnetising_field(1.30, inside, recoil_permeability=1.05)
    return float(demagnetising.permeance_coefficient(inside, demagnetising_field=against))


def _inertia() -> float:
    discs = 2 * rotor_forces.steel_disc_inertia(0.006, 0.100, 0.020)
    return float(discs + rotor_forces.magnets_inertia(**WHEEL))


def _warm(seconds: float, printed: str) -> Check:
    """25 A from 25 °C: the script's loss is that at 20 °C, so at 25 °C it is 2 % more."""
    def work() -> float:
        loss, air = 91.585, 298.15
        rise = loss * 0.55 * (1 + 0.00393 * 5.0) / (1 - 0.00393 * loss * 0.55)
        time = heat.thermal_time(0.55, 1.35 * 1.0505 * 385.0, copper_loss=loss)
        return float(heat.warming(air, rise, seconds, time)) - 273.15

    return Check(_H + "warming", printed, "degC", SOURCE, f"D31, after {seconds:g} s", work=work, kind="opinion", table="D31",
                 also=(_H + "thermal_time",), allowance=2e-3, why="the copper's mass is printed to five figures")


PRINTED = [
    _surface((42, 20, 5), "203.37", 0.2), _surface((40, 20, 10), "349.60", 0.35), _surface((40, 10, 5), "321.37", 0.32),
    _surface((12, 10, 4), "340.59", 0.34),
    Check(_F + "block_magnet_mass", "60", "g", DEALER, "40×20×10 mm", table="mass",
          inputs={"magnet_width": 0.020, "magnet_length": 0.040, "magnet_thickness": 0.010}),
    Check(_F + "block_magnet_mass", "31.5", "g", DEALER, "42×20×5 mm", table="mass",
          inputs={"magnet_width": 0.020, "magnet_length": 0.042, "magnet_thickness": 0.005}),
    Check(_F + "disc_magnet_mass", "50.89", "g", DEALER, "30×10 mm with a hole of 6 mm", table="mass", work=lambda: 1e3 * (
        float(rotor_forces.disc_magnet_mass(0.015, 0.010)) - float(rotor_forces.disc_magnet_mass(0.003, 0.010)))),
    _depth(1.7e-8, 60, "8.5", "copper"), _depth(1.7e-8, 1000, "2.1", "copper"), _depth(2.8e-8, 1, "84", "aluminium"),
    _depth(2.8e-8, 60, "11", "aluminium"), _depth(2.8e-8, 1000, "2.7", "aluminium"),
    Check(_D + "energy_product", "330", "kJ/m**3", "makers' tables of N42: 318 to 342 kJ/m³, 1.28 to 1.32 T (read in 2026)",
          "middle of both ranges", {"remanence": 1.30, "recoil_permeability": 1.05}, allowance=16.5,
          why="5 %: makers state least values of both, and not of the same magnet"),
]

LIBRARY = [_steel(3, "1.71"), _steel(5, "1.03"), _steel(8, "0.645")]

MEMORY = [Check(_S + "rod_factor", printed, "", OSBORN, f"length over diameter {ratio:g}", {"slenderness": ratio}, kind="worked",
                table="osborn") for ratio, printed in ((2.0, "0.1736"), (5.0, "0.0558"), (10.0, "0.0203"))]

OPINIONS = [
    _one(_E + "strand_eddy_loss", "0.059147", "W/m", "D28, one strand of 1.0 mm", conductivity=5.8e7, electrical_speed=360.0,
         alternating_field=0.56621, strand_diameter=1e-3, allowance=2e-6, why="the field is printed to five figures"),
    _one(_E + "skin_depth", "8.7305", "mm", "D28, skin depth", electrical_speed=360.0, conductivity=5.8e7, allowance=2e-4,
         why="the script's conductivity of copper may differ in the fourth figure"),
    _one(_E + "critical_speed", "10.61", "m/s", "D27, critical speed", conductivity=2.5e7, plate_thickness=0.006),
    _lone("673.68", 0.005, "D26, in the middle of a lone disc"),
    Check(_D + "permeance_coefficient", "0.4856", "", SOURCE, "D26, lone disc", work=_permeance, kind="opinion", table="D26",
          also=(_D + "disc_inner_field",)),
    _one(_D + "lone_demagnetising_field", "673.68", "kA/m", "D26, the same with recoil counted all through",
         demagnetising_factor=1 - 0.31622777, remanence=1.30, recoil_permeability=1.05, allowance=11.0,
         why="1.5 %: the script takes the flux density for a recoil of 1 and the line for 1.05"),
    _one(_D + "armature_field", "0.057657", "T", "D26, stall at 60 A", turns=26.0, motor_current=60.0, face_gap=0.014,
         magnet_thickness=0.010),
    _one(_F + "disc_magnet_mass", "53.014", "g", "D25, one magnet", magnet_radius=0.015, magnet_thickness=0.010),
    _one(_F + "centrifugal_force", "283.42", "N", "D25, at 2500 rpm", magnet_mass=0.053014376, ring_radius=0.078, motor_speed=TEST),
    _one(_F + "glue_shear", "400.95", "kPa", "D25, at 2500 rpm", centrifugal_force=283.4168, glue_area=math.pi * 0.015**2),
    _one(_F + "rim_speed", "26.18", "m/s", "D25, at 2500 rpm", disc_outer_radius=0.100, motor_speed=TEST),
    _one(_F + "ring_hoop_stress", "5.3803", "MPa", "D25, thin ring at 2500 rpm", body_density=7850.0, rim_speed=0.1 * TEST),
    Check(_F + "magnets_inertia", "0.022657", "kg*m**2", SOURCE, "D25, both rotors",
          work=_inertia, kind="opinion", table="D25", also=(_F + "steel_disc_inertia",)),
    _one(_F + "rotor_energy", "774", "J", "D25, at 2500 rpm", rotor_inertia=0.022657, motor_speed=TEST, allowance=3.0,
         why="0.4 %: the script's energies use another inertia than it prints (see the errata)"),
    _one(_F + "steel_load", "1.103", "T", "D53, 6 mm of steel", magnet_flux=0.00052944, disc_thickness=0.006, steel_width=0.040),
    _one(_F + "steel_load", "2.206", "T", "D53, 3 mm of steel", magnet_flux=0.00052944, disc_thickness=0.003, steel_width=0.040),
    _one(_H + "copper_rate", "0.3165", "K/s", "D31, adiabatic rate", current_density=7.9577e6, copper_density=8960.0),
    _one(_H + "copper_rate", "1.823", "K/s", "D31, stall at 60 A", current_density=60.0 / math.pi * 1e6,
         copper_density=8960.0),
    _one(_H + "copper_time", "31.204", "s", "D31, 25 °C to 90 °C at 60 A", current_density=60.0 / math.pi * 1e6,
         last_temperature=363.15, first_temperature=298.15, copper_density=8960.0),
    _warm(60, "34.482"), _warm(300, "60.301"), _warm(3600, "89.034"),
]

CHECKS = [*PRINTED, *LIBRARY, *MEMORY, *OPINIONS]

ERRATA = [
    Erratum("independent script of the authors, D25", "inertia 0.022657 kg m²; energy 115.53 J and 774 J",
            "the energies belong to 0.022585 kg m²: there a disc magnet's own inertia about the shaft is a quarter of mass times "
            "radius squared (that about a diameter), in the printed inertia a half, which is right"),
]
