"""Magnets: the field of a lone disc, of rows of alternating poles at a height, and what heat and their own field do to them.

A harmonic of the magnetisation, seen along the unrolled ring, is found again in the air above it, smaller by its transfer: it
dies away with the height, the faster the shorter its wave.  Iron behind the magnets or across from them acts as a mirror.
"""

from __future__ import annotations

import sympy

from evlab.equation import Equation, half

__all__ = [
    "axis_field", "backed_transfer", "demagnetising_field", "free_transfer", "hot_coercivity", "hot_remanence",
    "magnet_flux_density", "plate_transfer", "pole_pitch", "steel_thickness", "strip_harmonic", "thickness_factor",
    "two_rotor_transfer", "wave_number",
]

_ROW = "unrolled ring: at least eight poles, magnets longer than the gap; iron that is far from saturation"
_UNIT_RECOIL = "recoil permeability of 1 (sintered neodymium: 1.05, which lowers the field by 3 % at most)"
_LINE = "straight demagnetisation line, leakage left out: the true field in the magnet is less"

axis_field = Equation(
    "magnets.axis_field", "axis_field",
    lambda remanence, magnet_thickness, face_height, magnet_radius:
        remanence / 2 * ((magnet_thickness + face_height) / sympy.sqrt(magnet_radius**2 + (magnet_thickness + face_height)**2)
                         - face_height / sympy.sqrt(magnet_radius**2 + face_height**2)),
    title="Field on the axis of a lone disc magnet; on thick steel it acts as twice as thick.", source=("magnetism",), tag="M1",
    bracketed=True, within=f"one magnet alone, outside it; {_UNIT_RECOIL}")

pole_pitch = Equation(
    "magnets.pole_pitch", "pole_pitch", lambda ring_radius, pole_pairs: sympy.pi * ring_radius / pole_pairs,
    title="Way from pole to pole along the circle of the magnets.", source=("machines",), tag="M2", within="any ring")

wave_number = Equation(
    "magnets.wave_number", "wave_number", lambda harmonic, pole_pitch: harmonic * sympy.pi / pole_pitch,
    title="Radians for each metre along the ring: one wave is two pole pitches.", source=("machines",), tag="M2", within="any ring")

strip_harmonic = Equation(
    "magnets.strip_harmonic", "strip_harmonic",
    lambda remanence, harmonic, magnet_share:
        4 * remanence / (harmonic * sympy.pi) * sympy.sin(half * harmonic * sympy.pi * magnet_share),
    title="Harmonic of a row of alternating strips, which have one width all along; odd ones only.", source=("machines",), tag="M2",
    bracketed=("harmonic",),
    within="block magnets: a disc has no single width, so this series is up to a quarter too high for discs")

free_transfer = Equation(
    "magnets.free_transfer", "transfer",
    lambda wave_number, magnet_thickness, face_height:
        half * (1 - sympy.exp(-wave_number * magnet_thickness)) * sympy.exp(-wave_number * face_height),
    title="Magnets with no iron about them.", source=("axial-flux", "derived"), tag="M3", bracketed=True,
    within=f"{_ROW}; {_UNIT_RECOIL}")

backed_transfer = Equation(
    "magnets.backed_transfer", "transfer",
    lambda wave_number, magnet_thickness, recoil_permeability, face_height:
        sympy.sinh(wave_number * magnet_thickness) / (recoil_permeability * sympy.cosh(wave_number * magnet_thickness)
                                                      + sympy.sinh(wave_number * magnet_thickness))
        * sympy.exp(-wave_number * face_height),
    title="Iron behind the magnets, nothing across from them.", source=("axial-flux", "derived"), tag="M3", bracketed=True,
    within=_ROW)

plate_transfer = Equation(
    "magnets.plate_transfer", "transfer",
    lambda wave_number, magnet_thickness, recoil_permeability, face_gap, face_height:
        sympy.sinh(wave_number * magnet_thickness) * sympy.cosh(wave_number * (face_gap - face_height))
        / (recoil_permeability * sympy.cosh(wave_number * magnet_thickness) * sympy.sinh(wave_number * face_gap)
           + sympy.sinh(wave_number * magnet_thickness) * sympy.cosh(wave_number * face_gap)),
    title="Iron behind the magnets, and a plate of iron across the gap.", source=("axial-flux", "derived"), tag="M3",
    bracketed=True, within=f"between face and plate; {_ROW}; a plate that stands still has losses and a huge pull")

two_rotor_transfer = Equation(
    "magnets.two_rotor_transfer", "transfer",
    lambda wave_number, magnet_thickness, recoil_permeability, face_gap, plane_offset:
        sympy.sinh(wave_number * magnet_thickness) * sympy.cosh(wave_number * plane_offset)
        / (recoil_permeability * sympy.cosh(wave_number * magnet_thickness) * sympy.sinh(half * wave_number * face_gap)
           + sympy.sinh(wave_number * magnet_thickness) * sympy.cosh(half * wave_number * face_gap)),
    title="Two rotors on iron, north facing south across the gap.", source=("axial-flux", "derived"), tag="M3",
    bracketed=True, within=f"between the faces; {_ROW}")

thickness_factor = Equation(
    "magnets.thickness_factor", "thickness_factor",
    lambda wave_number, coil_thickness:
        sympy.sinh(half * wave_number * coil_thickness) / (half * wave_number * coil_thickness),
    title="Mean of a harmonic over the thickness of a coil, over its value in the middle: it curves upwards.",
    source=("derived",), tag="M3", bracketed=True, within="field of one harmonic, in air")

magnet_flux_density = Equation(
    "magnets.magnet_flux_density", "magnet_flux_density",
    lambda remanence, recoil_permeability, face_gap, magnet_thickness:
        remanence / (1 + recoil_permeability * face_gap / (2 * magnet_thickness)),
    title="Working point of two magnets that face each other across a gap, iron behind both.", source=("machines",), tag="M26",
    within=_LINE)

demagnetising_field = Equation(
    "magnets.demagnetising_field", "demagnetising_field",
    lambda remanence, magnet_flux_density, vacuum_permeability, recoil_permeability:
        (remanence - magnet_flux_density) / (vacuum_permeability * recoil_permeability),
    title="Field strength against the magnet at its working point.", source=("machines",), tag="M26",
    within="on the straight part of the line, above the knee")

hot_remanence = Equation(
    "magnets.hot_remanence", "hot_remanence",
    lambda remanence, remanence_coefficient, magnet_temperature, reference_temperature:
        remanence * (1 - remanence_coefficient * (magnet_temperature - reference_temperature)),
    title="Remanence of the warm magnet; it comes back when it cools.", source=("magnet-sheets",), tag="M26",
    limits={"magnet_temperature": (253.15, 423.15)}, within="from -20 °C to 150 °C, by a straight line")

hot_coercivity = Equation(
    "magnets.hot_coercivity", "hot_coercivity",
    lambda coercivity, coercivity_coefficient, magnet_temperature, reference_temperature:
        coercivity * (1 - coercivity_coefficient * (magnet_temperature - reference_temperature)),
    title="Coercivity of the warm magnet: what it can stand falls fast with heat.", source=("magnet-sheets",), tag="M26",
    limits={"magnet_temperature": (253.15, 423.15)}, within="from -20 °C to 150 °C, by a straight line")

steel_thickness = Equation(
    "magnets.steel_thickness", "steel_thickness",
    lambda magnet_flux, steel_flux_density, steel_width: magnet_flux / (2 * steel_flux_density * steel_width),
    title="Steel behind the magnets: half of a magnet's flux goes each way to its neighbours.", source=("machines",), tag="M25",
    within="all flux in the steel; about 1.5 T for mild steel (common practice, no source)")
