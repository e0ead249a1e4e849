"""Symbols of the cells themselves: balance, ageing, wire and fuse, tests of one cell."""

from __future__ import annotations

from evlab.glossary.spelling import Entry
from evlab.glossary.symbols import _symbol

__all__ = ["SYMBOLS"]

SYMBOLS: tuple[Entry, ...] = (
    # balance
    _symbol("cell_voltage", "V_i", "voltage", "volts of one cell", low=-1e2, high=1e2),
    _symbol("first_cell_voltage", "V_{i,a}", "voltage", "volts of one cell at the beginning", low=-1e2, high=1e2),
    _symbol("weak_share", "w", "none", "capacitance of the weak cell over that of each other", low=1e-3, high=1e3, positive=True),
    _symbol("odd_capacitance", "C_o", "capacitance", "capacitance of the odd cell", low=1e-6, high=1e6, positive=True),
    _symbol("leak_current", "I_{lk}", "current", "leakage current of a cell", low=1e-9, high=1e3, positive=True),
    _symbol("leak_resistance", "R_{lk}", "resistance", "what leaks in a cell, taken as a resistor", low=1e-3, high=1e9, positive=True),
    _symbol("odd_resistance", "R_o", "resistance", "what drains the odd cell, taken as a resistor", low=1e-3, high=1e9, positive=True),
    _symbol("bleed_resistance", "R_b", "resistance", "bleed resistor across each cell", low=1e-3, high=1e9, positive=True),
    _symbol("bleed_factor", "k_b", "none", "current of the bleed resistor over the leakage", 10.0, positive=True),
    _symbol("bleed_heat", "P_{bl}", "power", "heat in the bleed resistor of one cell", low=0, high=1e6),
    _symbol("drain_resistance", "R_d", "resistance", "all that drains a cell, as one resistor", low=1e-3, high=1e9, positive=True),
    _symbol("voltage_share", "x", "none", "volts that are reached over those there were, or will be", low=1e-9, high=1),
    _symbol("clamp_voltage", "V_{cl}", "voltage", "volts at which a clamp begins to draw", low=0, high=10, positive=True),
    _symbol("clamp_current", "I_{cl}", "current", "most that a clamp can draw", low=0, high=1e3),
    _symbol("cell_slope", r"\dot V_i", "voltage rate", "how fast the volts of a cell rise", low=-1e3, high=1e3),
    # wire and fuse
    _symbol("heating_integral", "I^2t", "heating integral", "square of the current, summed over the time", low=0, high=1e12),
    _symbol("wire_limit", "W_l", "heating integral", "what a wire takes before its insulation is spoilt", low=0, high=1e12),
    _symbol("wire_constant", "k", "wire constant", "copper in PVC, warm from use (70 °C) to the 160 °C that PVC survives once",
            115e6, positive=True),
    _symbol("wire_length", "l_w", "length", "all copper in the loop, there and back", low=1e-4, high=1e4, positive=True),
    _symbol("wire_area", "A_w", "area", "section of the copper", low=1e-9, high=1e-2, positive=True),
    _symbol("wire_resistance", "R_w", "resistance", "resistance of the copper", low=0, high=1e6),
    _symbol("wire_current", "I_w", "current", "current in the wire", low=0, high=1e6),
    _symbol("wire_energy", "E_w", "energy", "heat that goes into the wire", low=0, high=1e9),
    _symbol("wire_rise", r"\Delta T_w", "temperature difference", "rise of the wire while nothing flows off", low=0, high=1e5),
    _symbol("wire_temperature", "T_{w,a}", "temperature", "temperature of the wire at the beginning, by default 25 °C", 298.15,
            positive=True),
    _symbol("melting_temperature", "T_m", "temperature", "1083 °C, where copper melts as the equation takes it", 1356.15,
            positive=True),
    _symbol("copper_zero", "T_z", "temperature", "-234 °C, where a straight line takes the resistance of copper to nothing", 39.15,
            positive=True),
    _symbol("melting_constant", "k_m", "wire constant", "one ampere per circular mil over the square root of 33",
            1 / (33**0.5 * 0.7853981633974483 * 25.4e-6**2), positive=True),
    _symbol("copper_resistivity", r"\rho_{Cu}", "resistivity", "1/58 ohm for each metre of one square millimetre, at 20 °C",
            1e-6 / 58, positive=True),
    _symbol("copper_density", r"\gamma_{Cu}", "density", "density of copper", 8960.0, positive=True),
    _symbol("copper_heat", "c_{Cu}", "specific heat", "specific heat of copper", 385.0, positive=True),
    _symbol("voltage_drop", r"\Delta V", "voltage", "volts lost on the way", low=0, high=1e3),
    _symbol("lead_heat", "P_w", "power", "heat in the leads", low=0, high=1e9),
    _symbol("fuse_current", "I_F", "current", "rated current of a fuse", low=0, high=1e4),
    _symbol("fuse_share", "u_F", "none", "share of its rated current that a fuse carries for hours", 0.75, positive=True),
    _symbol("precharge_current", "I_p", "current", "first current into empty bus capacitors", low=0, high=1e6),
    # ageing
    _symbol("rms_current", "I_{rms}", "current", "root mean square of the current", low=0, high=1e4),
    _symbol("life", "L", "time", "life until 20 % of the capacitance is lost, or the resistance doubled", low=0, high=1e12),
    _symbol("rated_life", "L_0", "time", "life at the volts and the temperature of the data sheet", low=0, high=1e12),
    _symbol("temperature_life", "f_T", "none", "life over that at the temperature of the data sheet", low=0, high=1e9),
    _symbol("voltage_life", "f_V", "none", "life over that at the volts of the data sheet", low=0, high=1e9),
    _symbol("rated_temperature", "T_0", "temperature", "temperature at which the data sheet states the life", low=173.15, high=473.15,
            positive=True),
    _symbol("rated_cell_voltage", "V_R", "voltage", "rated volts of a cell", low=1e-3, high=10, positive=True),
    _symbol("life_halving_rise", r"\Delta T_{1/2}", "temperature difference", "rise of temperature that halves the life", 10.0,
            low=0.1, high=1e3, positive=True),
    _symbol("life_halving_volts", r"\Delta V_{1/2}", "voltage", "rise of the cell's volts that halves the life", 0.2, low=1e-3, high=10,
            positive=True),
    _symbol("cell_rise", r"\Delta T_c", "temperature difference", "rise of a cell in the long run", low=0, high=1e4),
    _symbol("cell_thermal_resistance", "R_{th,c}", "thermal resistance", "case of a cell to air", low=1e-6, high=1e4, positive=True),
    _symbol("mean_voltage", r"\bar V", "voltage", "mean volts inside, between the ends of a swing", low=0, high=1e3, positive=True),
    # tests of one cell
    _symbol("first_time", "t_1", "time", "time at which the upper volts of the window are crossed", low=0, high=1e9),
    _symbol("last_time", "t_2", "time", "time at which the lower volts of the window are crossed", low=0, high=1e9),
    _symbol("voltage_step", r"\Delta U_3", "voltage", "fall of the volts at switch-on, by the straight line drawn back", low=0, high=1e3),
    _symbol("test_efficiency", r"\eta_t", "none", "share of the energy that a test is to pass", 0.95, positive=True),
)
