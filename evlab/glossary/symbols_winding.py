"""Symbols of coils, their wire and how they are joined."""

from __future__ import annotations

from evlab.glossary.spelling import Entry
from evlab.glossary.symbols import _symbol

__all__ = ["SYMBOLS"]

SYMBOLS: tuple[Entry, ...] = (
    # wire
    _symbol("gauge", "n_g", "count", "number of the American wire gauge (0 to 40)", low=0.0, high=40.0),
    _symbol("gauge_36_diameter", "d_{36}", "length", "diameter of wire of gauge 36, five thousandths of an inch", 1.27e-4,
            shown="mm", positive=True),
    _symbol("wire_diameter", "d_w", "length", "diameter of the bare copper of one strand", shown="mm", low=1e-5, high=0.01,
            positive=True),
    _symbol("overall_diameter", "d_o", "length", "diameter of one strand with its enamel", shown="mm", low=1e-5, high=0.011,
            positive=True),
    _symbol("strand_area", "A", "area", "section of the copper of one strand", shown="mm2", low=1e-10, high=1e-4, positive=True),
    _symbol("strands", "n_s", "count", "strands in hand: wires that are wound side by side and joined at both ends", low=1.0,
            high=200.0, positive=True),
    _symbol("enamel_density", r"\gamma_e", "density", "density of the enamel on winding wire (memory)", 1400.0, positive=True),
    # coil
    _symbol("turns", "N", "count", "turns of one coil", low=1.0, high=10000.0, positive=True),
    _symbol("mean_turn", r"\ell_m", "length", "length of the mean turn of a coil", shown="mm", low=1e-3, high=10.0, positive=True),
    _symbol("side_width", "w_s", "length", "width that the turns fill on each side of the opening", shown="mm", low=1e-4, high=0.5,
            positive=True),
    _symbol("mean_width", "w", "length", "width of the mean turn, from the middle of one side to that of the other", shown="mm",
            low=1e-4, high=2.0, positive=True),
    _symbol("coil_resistance", "R_k", "resistance", "resistance of one coil at 20 °C", shown="mOhm", low=0.0, high=1e4),
    _symbol("copper_fill", "f_{Cu}", "none", "share of the window of a coil's side that is copper", low=0.0, high=1.0),
    _symbol("mean_radius", "a", "length", "mean radius of the round coil whose mean turn is as long", shown="mm", low=1e-4,
            high=2.0, positive=True),
    _symbol("coil_inductance", "L_k", "inductance", "inductance of one coil by itself", shown="uH", low=0.0, high=100.0),
    _symbol("wheeler_constant", "k_L", "permeability", "0.8 microhenry for each inch", 0.8e-6 / 0.0254, positive=True),
    # winding
    _symbol("coils", "Q", "count", "coils of the whole winding", low=1.0, high=360.0, positive=True),
    _symbol("coils_in_series", "n_c", "count", "coils of one phase, joined one behind the other", low=1.0, high=360.0,
            positive=True),
    _symbol("phases", "m", "count", "phases of the winding", low=1.0, high=3.0, positive=True),
    _symbol("phasor_directions", "n_d", "count", "different directions of the phasors of one phase, a reversed coil turned round",
            low=1.0, high=180.0, positive=True),
    _symbol("tail_share", "t_w", "none", "wire for tails and joints, as a share of the wire in the turns", 0.05),
    _symbol("winding_length", "l_{Cu}", "length", "length of all strands of the winding together", low=0.0, high=1e5,
            positive=True),
    _symbol("winding_mass", "m_{Cu}", "mass", "copper of the whole winding", shown="kg", low=0.0, high=1e3),
    _symbol("phase_resistance", "R_{ph}", "resistance", "resistance of one phase at 20 °C", shown="mOhm", low=0.0, high=1e4),
    _symbol("delta_constant", r"K_\Delta", "emf constant", "EMF and torque constant of the same coils joined in delta", low=0.0,
            high=1e3),
    _symbol("delta_resistance", r"R_\Delta", "resistance", "resistance between two lines of the same coils joined in delta",
            shown="mOhm", low=0.0, high=1e4),
    _symbol("turn_flux", r"\Phi_1", "flux", "peak of the flux through the mean turn, of its fundamental", shown="mWb", low=0.0,
            high=1.0),
    _symbol("coil_constant", "K_k", "emf constant", "peak of the EMF of one coil at one radian per second", low=0.0, high=1e3),
    _symbol("distribution_factor", "k_d", "none", "sum of the phasors of one phase over the sum of their lengths", low=0.0,
            high=1.0),
    _symbol("pitch_factor", "k_p", "none", "share of a pole's flux that a coil of this width takes, over one as wide as the pole",
            low=-1.0, high=1.0),
    _symbol("line_inductance", "L", "inductance", "inductance between two lines", shown="uH", low=1e-9, high=100.0, positive=True),
    # current
    _symbol("switching_frequency", "f_s", "frequency", "how often in a second the switches turn on", shown="kHz", low=1.0, high=1e6,
            positive=True),
    _symbol("current_ripple", r"\Delta I", "current", "from the lowest to the highest current of one switching period", low=0.0,
            high=1e5),
    _symbol("ripple_factor", "k_r", "none", "heat of a current with ripple over that of its mean", low=1.0, high=1e6),
)
