"""Symbols of regeneration."""

from __future__ import annotations

from evlab.glossary.spelling import Entry
from evlab.glossary.symbols import _symbol

__all__ = ["SYMBOLS"]

SYMBOLS: tuple[Entry, ...] = (
    _symbol("braking_current", "I_b", "current", "current in the motor while it brakes, counted positive", low=0, high=1e5),
    _symbol("recovered_power", "P_{rec}", "power", "power that comes back at the bridge, stand-by paid", low=-1e7, high=1e7),
    _symbol("most_recovered_power", "P_{rec,max}", "power", "largest power that comes back at this speed", low=-1e4, high=1e7),
    _symbol("best_braking_current", "I_{best}", "current", "braking current with which most comes back", low=0, high=1e5),
    _symbol("least_paying_current", "I_-", "current", "smallest braking current that pays for the stand-by", low=0, high=1e5),
    _symbol("most_paying_current", "I_+", "current", "largest braking current that still gives something back", low=0, high=1e5),
    _symbol("paying_speed", r"\omega_{pay}", "turning speed", "motor speed below which nothing comes back at any current", low=0,
            high=1e5),
    _symbol("fading_speed", r"\omega_{fade}", "turning speed", "motor speed below which the EMF cannot drive a braking current",
            low=0, high=1e5),
    _symbol("diode_speed", r"\omega_{dio}", "turning speed", "motor speed above which the bridge's diodes conduct by themselves",
            low=0, high=1e5),
    _symbol("diode_drop", "V_f", "voltage", "volts across a diode that conducts; 0.7 V for silicon, from memory", low=0, high=3),
    _symbol("boost_duty", "D_b", "none", "share of the time that the lower switches are on while braking", low=-10, high=1),
    _symbol("wheel_braking_force", "F_b", "force", "force of the electric brake at the wheel, counted positive", low=0, high=1e5),
    _symbol("descent_force", "F_d", "force", "force of a brake that keeps the speed downhill; below zero it must be driven",
            low=-1e5, high=1e5),
    _symbol("recovered_share", r"\varepsilon", "none", "power that comes back over that of the falling weight", low=-1e3,
            high=1),
    _symbol("start_voltage", "V_{start}", "voltage", "highest volts at the top with which the descent still fits", low=0,
            high=1e3),
    _symbol("rated_full_voltage", "V_{full}", "voltage", "volts of the full store", low=0, high=1e3, positive=True),
    _symbol("return_share", r"\eta_{ret}", "none", "share of the energy of the height that reaches the store", low=0, high=1),
    _symbol("descent_height", "h_d", "length", "height from top to foot", low=0, high=1e4),
    _symbol("stop_energy", "E_{stop}", "energy", "energy that one stop brings back at the bridge", low=-1e9, high=1e9),
    _symbol("stop_speed", "v_s", "speed", "speed from which it stops", low=0, high=100),
    _symbol("stored_energy_gain", "E_{in}", "energy", "energy that the store gained", low=-1e9, high=1e9),
    _symbol("height_energy", "E_h", "energy", "energy of the height, m g h", low=1e-3, high=1e9, positive=True),
    _symbol("climb_energy", "E_{up}", "energy", "energy that the store gives for the climb", low=1e-3, high=1e9, positive=True),
    _symbol("round_without", "E_{without}", "energy", "store energy of the round trip on friction brakes alone", low=1e-3, high=1e9,
            positive=True),
    _symbol("round_with", "E_{with}", "energy", "store energy of the round trip with regeneration", low=-1e9, high=1e9),
    _symbol("charge_over_lift", r"\varepsilon_1", "none", "what the store gained over the energy of the height", low=-10, high=1),
    _symbol("store_over_climb", r"\varepsilon_2", "none", "what the store gained over what the climb takes", low=-10, high=1),
    _symbol("saved_over_round_trip", r"\varepsilon_3", "none", "share of the round trip's store energy that regeneration saves",
            low=-10, high=10),
    _symbol("pedal_power", "P_p", "power", "power at the pedals", low=0, high=3000),
    _symbol("pedalling_current", "I_p", "current", "motor current that legs make on a raised wheel", low=-1e3, high=1e4),
)
