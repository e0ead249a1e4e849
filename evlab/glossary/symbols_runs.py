"""Symbols of the motor at work: its map, its torque over a turn, its start, and its constants from a sheet or a bench."""

from __future__ import annotations

from evlab.glossary.spelling import Entry
from evlab.glossary.symbols import _symbol

__all__ = ["SYMBOLS"]

SYMBOLS: tuple[Entry, ...] = (
    # the map
    _symbol("motor_figure", "K_m", "motor figure", "torque for each root of a watt in the copper", low=0.0, high=1e4,
            positive=True),
    _symbol("stall_torque", "T_{st}", "torque", "torque of the motor held still at full duty", low=0.0, high=1e5),
    _symbol("fixed_loss", "P_{fix}", "power", "loss at this speed without current: drag and stand-by", low=0.0, high=1e6),
    _symbol("best_current", r"I^\ast", "current", "motor current at which the efficiency is highest", low=0.0, high=1e5),
    _symbol("no_load_current", "I_0", "current", "current of the motor that turns nothing but itself", low=0.0, high=1e4),
    _symbol("greatest_power", "P_{gr}", "power", "greatest power at the shaft at these volts", low=0.0, high=1e7),
    _symbol("greatest_power_current", "I_{gr}", "current", "motor current at the greatest power", low=0.0, high=1e5),
    _symbol("run_up_time", r"\tau_m", "time", "time constant of the run-up", low=1e-6, high=1e5, positive=True),
    _symbol("final_speed", r"\omega_\infty", "turning speed", "speed that the motor tends to", low=-1e5, high=1e5),
    _symbol("turned_angle", r"\theta", "angle", "mechanical angle turned since the start", low=-1e9, high=1e9),
    _symbol("conduction_angle", r"\varphi_c", "angle", "half the electrical angle for which a pair of diodes conducts", low=0.0,
            high=0.5236),
    _symbol("diode_torque", "T_{dio}", "torque", "braking torque of the current through the bridge's diodes", low=0.0, high=1e5),
    # over a turn
    _symbol("sensor_error", r"\delta", "angle", "electrical angle by which the sensor switches late; below zero: early", low=-1.55,
            high=1.55, shown="deg"),
    _symbol("torque_share", r"\bar T/\hat T", "none", "mean torque over its peak, at one current", low=-1.0, high=1.0),
    _symbol("least_share", r"T_{min}/\hat T", "none", "least torque over its peak, at one current", low=-1.0, high=1.0),
    _symbol("extra_copper", "x_{Cu}", "none", "copper loss more than with the sensor in its place, for one torque", low=0.0,
            high=1e6),
    _symbol("sensor_offset", "s_H", "length", "way by which the sensor sits too far along, in the way of turning", shown="mm",
            low=-0.1, high=0.1),
    _symbol("sensor_radius", "r_H", "length", "distance of the sensor from the shaft", shown="mm", low=1e-3, high=1.0,
            positive=True),
    _symbol("reverse_share", "u_-", "none", "share of the rotor angles at which the torque points backwards", low=0.0, high=1.0),
    _symbol("friction_ratio", r"\mu_T", "none", "torque that holds the rotor, over the peak torque", low=0.0, high=1.0),
    _symbol("dead_share", "u_0", "none", "share of the rotor angles from which the motor does not stir", low=0.0, high=1.0),
    _symbol("creeping_share", "u_c", "none", "share of the rotor angles from which it does not start, creeping in included",
            low=0.0, high=1.0),
    _symbol("release_angle", r"\varphi_0", "angle", "electrical angle before the dead spot at which the rotor is let go", low=0.0,
            high=3.2, shown="deg"),
    _symbol("creep_margin", "m_c", "none", "work left on the far side of the dead spot, over the peak torque; below zero it stays",
            low=-10.0, high=10.0),
    _symbol("rotor_angle", r"\theta_e", "angle", "electrical angle at which the rotor is let go; dead spots at 0 and half a turn",
            low=0.0, high=6.2832, shown="deg"),
    _symbol("rest_angle", r"\theta_r", "angle", "electrical angle at which the rotor ended", low=-1e3, high=1e3, shown="deg"),
    _symbol("thrown_back", r"\theta_b", "angle", "electrical angle by which the rotor went backwards at most", low=0.0, high=1e3,
            shown="deg"),
    _symbol("starting_torque", "T_{on}", "torque", "torque of the motor above which the vehicle moves off", low=0.0, high=1e5),
    _symbol("roll_back_torque", "T_{back}", "torque", "torque of the motor below which the vehicle rolls back", low=-1e5, high=1e5),
    _symbol("shaft_inertia", "J_{sh}", "inertia", "inertia at the motor's shaft of all that it sets in motion", low=0.0, high=1e4),
    Entry("driven_wheel", "", "", "Driven wheel", "whether the wheel that the motor turns stands on the ground", "choice", "road",
          choices=("on the ground", "raised")),
    _symbol("detent_torque", "T_p", "torque", "greatest torque of a parking magnet", low=0.0, high=1e3),
    # from a sheet or a bench
    _symbol("lever_arm", "l_a", "length", "length of the lever, square to the pull", low=1e-3, high=10.0, positive=True),
    _symbol("scale_reading", "m_s", "mass", "what the luggage scale shows", low=0.0, high=1e3),
    _symbol("first_motor_speed", r"\omega_1", "turning speed", "speed of the motor at the beginning", low=0.0, high=1e5),
    _symbol("last_motor_speed", r"\omega_2", "turning speed", "speed of the motor at the end", low=0.0, high=1e5),
    _symbol("revs_per_minute", "n", "count", "turning speed as a tachometer shows it, in revolutions a minute", low=0.0, high=1e6),
)
