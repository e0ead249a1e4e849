"""Regeneration: what a braking motor gives back, from which speed on, and where it stops paying.

Braking currents and braking forces count positive here.  The bridge works as a boost converter: it lifts the EMF, which is below
the store's volts, above them.
"""

from __future__ import annotations

import sympy

from evlab.equation import Equation, half

__all__ = [
    "best_braking_current", "boost_duty", "braking_current", "charge_over_lift", "descent_force", "diode_speed", "fading_speed",
    "least_paying_current", "most_paying_current", "most_recovered_power", "paying_speed", "pedalling_current", "recovered_power",
    "recovered_share", "saved_over_round_trip", "short_circuit_current", "start_voltage", "stop_energy", "store_over_climb",
    "wheel_braking_force",
]

_BRIDGE = "averages over a switching period; electrical speed times inductance well below the resistance"
_TURNING = {"back_emf": (0.0, 1e4)}

recovered_power = Equation(
    "regeneration.recovered_power", "recovered_power",
    lambda back_emf, braking_current, drive_resistance, standby_power:
        back_emf * braking_current - braking_current**2 * drive_resistance - standby_power,
    title="What comes back: the motor's power, less what heats the copper, less what the electronics take.",
    source=("machines", "power-electronics"), tag="B1", within=_BRIDGE)

best_braking_current = Equation(
    "regeneration.best_braking_current", "best_braking_current",
    lambda back_emf, drive_resistance: back_emf / (2 * drive_resistance),
    title="The braking current with which most comes back: half of the short-circuit current, and half of it all is heat.",
    source=("machines", "derived"), tag="B1", within=_BRIDGE, limits=_TURNING)

most_recovered_power = Equation(
    "regeneration.most_recovered_power", "most_recovered_power",
    lambda back_emf, drive_resistance, standby_power: back_emf**2 / (4 * drive_resistance) - standby_power,
    title="The most that can come back at this speed.", source=("machines", "derived"), tag="B1", within=_BRIDGE, limits=_TURNING)

least_paying_current = Equation(
    "regeneration.least_paying_current", "least_paying_current",
    lambda back_emf, drive_resistance, standby_power:
        (back_emf - sympy.sqrt(back_emf**2 - 4 * drive_resistance * standby_power)) / (2 * drive_resistance),
    title="The smallest braking current that pays for the electronics.", source=("machines", "derived"), tag="B1",
    within=f"above the speed at which anything comes back; {_BRIDGE}", limits=_TURNING)

most_paying_current = Equation(
    "regeneration.most_paying_current", "most_paying_current",
    lambda back_emf, drive_resistance, standby_power:
        (back_emf + sympy.sqrt(back_emf**2 - 4 * drive_resistance * standby_power)) / (2 * drive_resistance),
    title="The largest braking current that still gives something back: beyond it the store pays for braking.",
    source=("machines", "derived"), tag="B1", within=f"above the speed at which anything comes back; {_BRIDGE}", limits=_TURNING)

short_circuit_current = Equation(
    "regeneration.short_circuit_current", "short_circuit_current",
    lambda back_emf, drive_resistance: back_emf / drive_resistance,
    title="Current of the turning motor with its terminals joined: all of it is heat.", source=("machines",), tag="B1",
    within=f"{_BRIDGE}; faster, the inductance holds it lower", limits=_TURNING)

paying_speed = Equation(
    "regeneration.paying_speed", "paying_speed",
    lambda drive_resistance, standby_power, motor_constant: 2 * sympy.sqrt(drive_resistance * standby_power) / motor_constant,
    title="Motor speed below which nothing comes back, however one brakes.", source=("machines", "derived"), tag="B3",
    within=_BRIDGE)

fading_speed = Equation(
    "regeneration.fading_speed", "fading_speed",
    lambda braking_current, drive_resistance, motor_constant: braking_current * drive_resistance / motor_constant,
    title="Motor speed below which the EMF alone cannot drive this braking current: the electric brake fades.",
    source=("machines",), tag="B3", within=_BRIDGE)

diode_speed = Equation(
    "regeneration.diode_speed", "diode_speed",
    lambda terminal_voltage, diode_drop, line_constant: (terminal_voltage + 2 * diode_drop) / line_constant,
    title="Motor speed above which current flows into the store by itself, through two diodes, with no switching at all.",
    source=("power-electronics", "machines"), tag="B2", within="peak of the line EMF; little current")

boost_duty = Equation(
    "regeneration.boost_duty", "boost_duty",
    lambda back_emf, braking_current, drive_resistance, terminal_voltage:
        1 - (back_emf - braking_current * drive_resistance) / terminal_voltage,
    title="Share of the time that the lower switches join the coils: so the bridge lifts the motor's volts to the store's.",
    source=("power-electronics",), tag="B2", within="averages over a switching period, below the diodes' speed")

braking_current = Equation(
    "regeneration.braking_current", "braking_current",
    lambda wheel_braking_force, wheel_radius, chain_efficiency, gear_ratio, motor_drag, motor_constant:
        (wheel_braking_force * wheel_radius * chain_efficiency / gear_ratio - motor_drag) / motor_constant,
    title="Motor current of a braking force at the wheel: chain and drag take their share before the coils see it.",
    source=("mechanics", "machines"), tag="B1", within="forces that need current at all: above the drag's own")

wheel_braking_force = Equation(
    "regeneration.wheel_braking_force", "wheel_braking_force",
    lambda motor_constant, braking_current, motor_drag, gear_ratio, wheel_radius, chain_efficiency:
        (motor_constant * braking_current + motor_drag) * gear_ratio / (wheel_radius * chain_efficiency),
    title="Braking force at the wheel: current and drag hold the shaft, and the chain's friction helps.",
    source=("mechanics", "machines"), tag="B1", within="no freewheel between wheel and motor")

descent_force = Equation(
    "regeneration.descent_force", "descent_force",
    lambda mass, slope, rolling_coefficient, air_density, drag_area, speed, gravity:
        -mass * gravity * (slope + rolling_coefficient) / sympy.sqrt(1 + slope**2) - half * air_density * drag_area * speed**2,
    title="What a brake must hold to keep the speed on a descent (a slope below zero).", source=("martin-1998", "mechanics"),
    tag="B4", limits={"slope": (-0.4, 0.4), "speed": (0.0, 40.0)}, bracketed=("slope",), within="steady speed, still air, forwards")

recovered_share = Equation(
    "regeneration.recovered_share", "recovered_share",
    lambda recovered_power, mass, slope, speed, gravity:
        recovered_power * sympy.sqrt(1 + slope**2) / (-mass * gravity * slope * speed),
    title="Power that comes back over the power of the falling weight.", source=("definition",), tag="B4",
    limits={"slope": (-0.4, -0.001)}, within="steady descents")

start_voltage = Equation(
    "regeneration.start_voltage", "start_voltage",
    lambda rated_full_voltage, return_share, mass, descent_height, capacitance, gravity:
        sympy.sqrt(rated_full_voltage**2 - 2 * return_share * mass * gravity * descent_height / capacitance),
    title="Highest volts at the top from which a descent still fits into a bank of capacitors.", source=("circuits", "derived"),
    tag="B5", within="capacitance that does not change with the volts; more height than a full bank holds has no answer")

stop_energy = Equation(
    "regeneration.stop_energy", "stop_energy",
    lambda motor_constant, gear_ratio, wheel_radius, braking_current, drive_resistance, standby_power, deceleration, stop_speed:
        motor_constant * gear_ratio / wheel_radius * braking_current / (2 * deceleration)
        * sympy.Max(stop_speed - (braking_current**2 * drive_resistance + standby_power) * wheel_radius
                    / (motor_constant * gear_ratio * braking_current), 0) ** 2,
    title="What one stop brings back, as long as something comes back: steady slowing, steady current.",
    source=("derived",), tag="B3", bracketed=("drive_resistance", "standby_power", "stop_speed"),
    within="down to the speed at which the copper takes all; below it the current is switched off")

charge_over_lift = Equation(
    "regeneration.charge_over_lift", "charge_over_lift",
    lambda stored_energy_gain, height_energy: stored_energy_gain / height_energy,
    title="What the store gained over the energy of the height.", source=("definition",), tag="T13", within="one descent")

store_over_climb = Equation(
    "regeneration.store_over_climb", "store_over_climb", lambda stored_energy_gain, climb_energy: stored_energy_gain / climb_energy,
    title="What the store gained over what the same climb takes from it.", source=("definition",), tag="T13",
    within="descent and climb of one hill")

saved_over_round_trip = Equation(
    "regeneration.saved_over_round_trip", "saved_over_round_trip",
    lambda round_without, round_with: (round_without - round_with) / round_without,
    title="Share of the round trip's energy that regeneration saves.", source=("definition",), tag="T13",
    within="up and down the same way, with and without")

pedalling_current = Equation(
    "regeneration.pedalling_current", "pedalling_current",
    lambda pedal_power, chain_efficiency, motor_speed, motor_drag, motor_constant:
        (pedal_power * chain_efficiency / motor_speed - motor_drag) / motor_constant,
    title="Current that legs make when the raised wheel turns the motor.", source=("mechanics", "machines"), tag="B1",
    limits={"motor_speed": (0.1, 1e5)}, within="steady turning, no freewheel between wheel and motor")
