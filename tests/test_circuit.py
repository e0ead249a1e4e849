"""Rides against a general circuit simulator: the bank as capacitors, the motor as K and R, the mass as a capacitor.

A mass m behind a motor of K' volts for each metre per second is a capacitor of m / K'^2; a force F at the wheel is a current of
F / K' into it; the way is the charge of a capacitor of 1 F, the winding a capacitor of its heat.  The simulator is ngspice
(Debian package `ngspice`); where it is not installed these tests are skipped in words, for nothing else needs it.
"""

from __future__ import annotations

import shutil
import subprocess

import numpy as np
import pytest
from test_independent_demands import bank
from test_riding import Rig, go

import evlab
from evlab.driver import ThrottleHeld
from evlab.glossary import entry
from evlab.riding import OVER
from evlab.route import Route

pytestmark = pytest.mark.skipif(shutil.which("ngspice") is None,
                                reason="the circuit simulator ngspice is not installed here: apt-get install ngspice")
G = entry("gravity").value
TRIKE = evlab.load_vehicle("two_shed_trike")


def simulate(circuit, nodes, seconds, folder, longest=0.0005):
    """{node: volts} and the times of a run of ngspice; each capacitor begins as its ic= says."""
    (folder / "ride.cir").write_text("\n".join([
        "a ride as a circuit", *circuit, ".options reltol=1e-9 abstol=1e-12 vntol=1e-11 chgtol=1e-18 method=gear maxord=4",
        ".control", "set numdgt=12", "set wr_singlescale", f"tran 0.05 {seconds} 0 {longest} uic", "linearize",
        f"wrdata ride.txt {' '.join(f'v({n})' for n in nodes)}", "quit", ".endc", ".end", ""]), encoding="ascii")
    told = subprocess.run(["ngspice", "-b", "ride.cir"], cwd=folder, capture_output=True, text=True, timeout=120, check=False)
    assert (folder / "ride.txt").exists(), told.stdout + told.stderr
    rows = np.loadtxt(folder / "ride.txt")
    return rows[:, 0], dict(zip(nodes, rows[:, 1:].T, strict=True))


def parts(vehicle, volts, slope, coil_volts, throttle):
    """The whole vehicle as a circuit.  Nodes: a fast branch, b slow branch, t terminals, m coil volts, e EMF, x way, h winding
    (degC), u throttle.  `coil_volts`: what the bridge puts on the coils, limits aside."""
    v, m, c, g, r = vehicle.store, vehicle.motor, vehicle.controller, vehicle.gearing, vehicle.road
    k, lever, eff = m.drive_constant, g.ratio / g.wheel_radius, g.chain_efficiency
    per = k * lever  # volts for each metre per second
    sine, cosine = slope / np.hypot(1, slope), 1 / np.hypot(1, slope)
    hold = float(vehicle.mass * G * (sine + r.rolling_coefficient * cosine))
    ohm = f"({m.resistance}*(1+0.00393*(v(h)-20)))"
    return [
        f"Cfast a 0 {(1 - v.slow_share) * v.capacitance!r} ic={volts}", f"Cslow b 0 {v.slow_share * v.capacitance!r} ic={volts}",
        f"Rslow a b {v.slow_resistance}", f"Resr a t {v.resistance!r}", f"Vu u 0 {throttle}",
        f"Bbridge t 0 i=(v(m)*i(Vcoil)+{c.standby_power})/v(t)",
        f"Bcoil m 0 v=min({coil_volts.replace('OHM', f'({ohm}+{c.bridge_resistance})')}, {c.duty_limit}*v(t))",
        f"Bmotor m n i=(v(m)-v(e))/({ohm}+{c.bridge_resistance})", "Vcoil n e 0",
        f"Bshaft s 0 v={k!r}*i(Vcoil)-{m.drag_torque}-{m.viscous_drag}*v(e)/{k!r}",
        f"Bwheel f 0 v=v(s)*{lever!r}*(v(s)>=0 ? {eff} : {1 / eff!r})",
        f"Cmass e 0 {vehicle.effective_mass / per**2!r} ic=0",
        f"Bload e 0 i=i(Vcoil)+({hold!r}+{0.5 * r.air_density * r.drag_area!r}*(v(e)/{per!r})^2-v(f))/{per!r}",
        "Cway x 0 1 ic=0", f"Bway 0 x i=v(e)/{per!r}",
        f"Cheat h 0 {m.heat_capacity} ic=20", f"Rheat h air {m.thermal_resistance}", "Vair air 0 20",
        f"Bheat 0 h i=i(Vcoil)^2*{ohm}",
    ], per


def test_a_bank_a_motor_and_a_mass_are_three_parts_of_a_circuit(tmp_path):
    farads, ohms, k, r, mass = 100.0, 0.02, 1.0, 0.1, 50.0
    rig = Rig(TRIKE, mass, store=bank(farads, ohms, 48.0), motor={"constant": k, "resistance": r})
    ride = go(rig, Route.from_segments([(3000.0, 0.0, 40.0)]), driver=ThrottleHeld(1.0), speed=12.0, time_limit=10.0)
    times, v = simulate([f"Cbank a 0 {farads} ic=48", f"Rbank a t {ohms}", f"Rmotor t e {r}", f"Cmass e 0 {mass / k**2} ic=12"],
                        ["a", "t", "e"], 10.0, tmp_path)
    assert times[-1] == pytest.approx(10.0)
    assert (ride.end_voltage, k * ride.column("speed")[-1]) == pytest.approx((v["t"][-1], v["e"][-1]), abs=1e-5)


THROTTLE = ([0, 8, 20, 22, 25, 40, 60], [0.5, 0.5, 1.0, -0.5, -0.2, 0.4, 0.7])
COIL, BACK, STANDBY, OHMS = 45.0, 25.0, 4.0, TRIKE.store.resistance  # the trike's, at whose file the test looks again
FULL = 35.0 * (1 + OVER)  # a ride lets so much of a rounding pass: 35 nV are 2 uA into the bank
SHARE = f"v(u)>=0 ? {COIL}*v(u) : {BACK}*v(u)"
MOST = f"(-{FULL!r}*({FULL!r}-v(a))/{OHMS!r})"  # W that lift the terminals to the full volts, a current into the bank below zero


def for_power(watts):
    """Coil volts that take these watts from the store: what is left of the bridge's power over the EMF, a square in the amps."""
    return f"0.5*(v(e)+sqrt(max(v(e)^2+4*OHM*({watts}-{STANDBY}),0)))"


BRIDGE = {  # driver, slope, start, what he wants as volts on the coils (EMF and what drives the current), throttle
    "a throttle trace": (evlab.ThrottleTrace(*THROTTLE), 0.0, 33.0, f"v(e)+OHM*max({SHARE}, -min({BACK}, v(e)/(2*OHM)))",
                         f"pwl({' '.join(f'{t} {u}' for t, u in zip(*THROTTLE, strict=True))})"),
    "a power at the store, uphill": (evlab.PowerHeld(300.0), 0.02, 33.0, f"min(v(e)+{COIL}*OHM, {for_power(300.0)})", "0"),
    "braking until the store is full": (evlab.ThrottleTrace([0, 1], [-0.35, -0.35]), -0.05, 34.95,
                                        f"max(v(e)-OHM*min(0.35*{BACK}, v(e)/(2*OHM)), {for_power(MOST)})", "0"),
}


@pytest.mark.parametrize("name", BRIDGE)
def test_the_trike_is_a_circuit(name, tmp_path):
    driver, slope, start, coil_volts, throttle = BRIDGE[name]
    c = TRIKE.controller
    assert (c.coil_current_limit, c.braking_current_limit, c.standby_power) == (COIL, BACK, STANDBY)
    assert TRIKE.store.charge_voltage == 35.0
    # where braking begins to fade nothing is located: steps of 0.02 s pass over it and end a hundredth of a millimetre off
    ride = evlab.ride(TRIKE, Route.from_segments([(2000.0, slope, 5.0)]), start=start, driver=driver, time_limit=60.0, step=0.005)
    assert ride.outcome == "time limit"
    assert ("full store" in [e.kind for e in ride.events]) == (slope < 0)
    circuit, per = parts(TRIKE, start, slope, coil_volts, throttle)
    times, v = simulate(circuit, ["x", "e", "a", "b", "t", "h"], 60.0, tmp_path)
    (fast, slow, _), (winding,) = ride.end_state("capacitors")
    mine = (ride.distance, ride.column("speed")[-1], fast, slow, ride.end_voltage, winding - 273.15)
    theirs = [float(v[node][-1]) / (per if node == "e" else 1.0) for node in ("x", "e", "a", "b", "t", "h")]
    assert times[-1] == pytest.approx(60.0)
    assert mine == pytest.approx(theirs, abs=1e-5)  # two numerical routes: hundredths of a millimetre, millivolt, millikelvin
