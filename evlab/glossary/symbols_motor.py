"""Symbols of magnets and their field."""

from __future__ import annotations

from evlab.glossary.spelling import Entry
from evlab.glossary.symbols import _symbol

__all__ = ["METAL_NAMES", "SYMBOLS"]

# The rows of eddies.METALS; a test holds them together.
METAL_NAMES = ("copper", "aluminium, pure", "aluminium 6061", "aluminium 7075", "magnesium", "brass", "bronze", "titanium",
               "stainless steel 304", "carbon-fibre laminate", "glass-fibre laminate", "plywood", "plastic")

SYMBOLS: tuple[Entry, ...] = (
    _symbol("vacuum_permeability", r"\mu_0", "permeability", "permeability of empty space (CODATA 2022)", 1.25663706127e-6,
            positive=True),
    _symbol("remanence", "B_r", "flux density", "flux density that a magnet keeps by itself in a closed circle of iron", low=0.1,
            high=1.6),
    _symbol("recoil_permeability", r"\mu_r", "none", "slope of the magnet's line against that of empty space", low=1.0, high=1.3,
            positive=True),
    _symbol("magnet_thickness", "h", "length", "thickness of a magnet along its magnetisation", shown="mm", low=1e-4, high=0.1,
            positive=True),
    _symbol("magnet_radius", "R_m", "length", "radius of a disc magnet", shown="mm", low=1e-4, high=0.2, positive=True),
    _symbol("magnet_share", r"\alpha_p", "none", "width of a magnet over the pole pitch", low=0.0, high=1.0),
    _symbol("face_height", "z", "length", "height above the face of the magnets", shown="mm", low=0.0, high=1.0),
    _symbol("face_gap", "g_m", "length", "gap from the face of the magnets to the iron, or to the other magnets, across from them",
            shown="mm", low=1e-4, high=1.0, positive=True),
    _symbol("plane_offset", "u", "length", "distance from the middle of the gap", shown="mm", low=-1.0, high=1.0),
    _symbol("axis_field", "B_a", "flux density", "flux density on the axis of a lone disc magnet", low=0.0, high=2.0),
    _symbol("pole_pairs", "p", "count", "pairs of poles of the ring", low=1, high=100, positive=True),
    _symbol("ring_radius", "r_m", "length", "radius of the circle of the magnets' centres", shown="mm", low=1e-3, high=2.0,
            positive=True),
    _symbol("pole_pitch", r"\tau_p", "length", "way from the middle of one pole to that of the next, along the ring", shown="mm",
            low=1e-4, high=1.0, positive=True),
    _symbol("harmonic", "n", "count", "order of a harmonic", low=1, high=199, positive=True),
    _symbol("wave_number", r"\kappa", "per metre", "radians of a harmonic for each metre along the ring", low=0.0, high=1e5,
            positive=True),
    _symbol("strip_harmonic", "B_{r,n}", "flux density", "harmonic of the remanence along a row of alternating strips", low=-2.0,
            high=2.0),
    _symbol("transfer", "T", "none", "share of a harmonic of the remanence that is found as flux density at a height", low=-1.0,
            high=1.0),
    _symbol("coil_thickness", "c", "length", "thickness of a coil along the axis of the motor", shown="mm", low=1e-4, high=0.2,
            positive=True),
    _symbol("thickness_factor", "k_c", "none", "mean over the thickness of the coil, over the value in its middle", low=1.0,
            high=1e6),
    _symbol("magnet_flux_density", "B_m", "flux density", "flux density inside a magnet", low=0.0, high=2.0),
    _symbol("demagnetising_field", "H_m", "field strength", "field strength that works against a magnet, inside it", low=0.0,
            high=2e6, shown="kA/m"),
    _symbol("coercivity", "H_{cJ}", "field strength", "field strength against which a magnet loses half and more for good", low=1e5,
            high=4e6, shown="kA/m"),
    _symbol("hot_remanence", "B_{r,T}", "flux density", "remanence of the warm magnet", low=0.0, high=1.6),
    _symbol("hot_coercivity", "H_{cJ,T}", "field strength", "coercivity of the warm magnet", low=0.0, high=4e6, shown="kA/m"),
    _symbol("magnet_temperature", "T_m", "temperature", "temperature of the magnets", low=233.15, high=473.15, positive=True),
    _symbol("remanence_coefficient", r"\alpha_B", "per kelvin", "share of its remanence that a magnet loses per kelvin", low=0.0,
            high=0.01),
    _symbol("coercivity_coefficient", r"\alpha_H", "per kelvin", "share of its coercivity that a magnet loses per kelvin", low=0.0,
            high=0.02),
    _symbol("magnet_flux", r"\Phi_m", "flux", "flux that leaves one face of a magnet", low=0.0, high=1.0, shown="mWb"),
    _symbol("steel_width", "w_b", "length", "width of the steel that carries the flux from one magnet to the next", shown="mm",
            low=1e-3, high=1.0, positive=True),
    _symbol("steel_flux_density", "B_b", "flux density", "flux density that the steel is to carry at most", low=0.1, high=2.5),
    _symbol("coil_place", "\\varphi", "angle", "place of the first coil along the ring, from the first magnet", shown="°", low=0.0,
            high=6.2831853),
    Entry("stalled_by", "", "", "Held still by", "what holds the motor still while its pull is read", "choice", "motor",
          choices=("direct current, best angle", "its controller, or brushes")),
    Entry("magnet_fault", "", "", "One magnet", "what may be wrong with one magnet of the ring", "choice", "motor",
          choices=("none", "one missing", "one turned over", "one half as strong")),
    _symbol("inner_share", "x_i", "none", "share of a thermal resistance that lies between winding and body", low=0.0, high=1.0),
    Entry("plate_metal", "", "", "Plate of", "what a plate near the magnets is made of", "choice", "motor", choices=METAL_NAMES),
    _symbol("steel_thickness", "t_b", "length", "thickness of the steel behind the magnets", shown="mm", low=0.0, high=1.0),
)
