"""What the page of the winding asks of one vehicle: the star of its coils, the wire, what fits, constants, ohms and inductance, and
then what the motor does with them: torque over a turn, starting, efficiency, heat, drag, and the check of a wound coil."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from evlab import heat, motor, winding
from evlab.bench_motor import BenchMotor, planned
from evlab.cautions import Caution, of_winding
from evlab.coil_star import CoilStar
from evlab.coils import Coil
from evlab.counting import CountCheck
from evlab.eddies import StrandLoss, strand_losses
from evlab.heat import Limit, TwoLumps, weakest
from evlab.inductance import CoilInductance, phase_inductances
from evlab.magnet_case import MagnetCase
from evlab.motor_map import DragSplit, EfficiencyMap, final_speed
from evlab.start_load import ShaftLoad
from evlab.start_map import Rig, StartMap, map_starts
from evlab.turning import EmfShape, TorqueOverTurn, torque_over_turn
from evlab.winding_asked import Sensed
from evlab.wires import Fit, WireSize, metric

__all__ = ["Sensed", "WindingCase"]

COPPER_HEAT, BESIDE = 385.0, 1.35  # J/(kg K); heat of the winding over that of its copper: enamel, resin (our own)
MODEL = 0.05  # share: what K and ohms of a hand-wound motor are off before a test (common practice, no source)
COLD = 293.15  # K
SCHEMES = {1: "one phase", 2: "two phases", 3: "three phases, six-step"}
KINDS = {1: "one_phase", 2: "two_phase", 3: "three_phase"}
CELLS = (81, 61)  # speeds and torques of the efficiency map
ANGLES = 240  # at which a rotor is let go


@lru_cache(maxsize=16)
def _inductances(coil: Coil, star: CoilStar, radius: float, below: float, above: float) -> Any:
    """Of one turn in each coil: turns only scale it."""
    return phase_inductances(coil, star, radius, 1.0, below=below, above=above)


class WindingCase:
    """The winding of one vehicle's motor, over its magnets.

    Parameters: `vehicle`; `asked`, a Sensed.  Raises InputError in words for what cannot be built or wound.
    """

    def __init__(self, vehicle: Any, asked: Sensed | None = None) -> None:
        self.magnets = MagnetCase(vehicle)
        self.vehicle, self.build, self.asked = vehicle, vehicle.winding, Sensed.given(asked)
        self.star = CoilStar.of(self.build.coils, self.magnets.ring.poles, self.build.phases)
        self.wire: WireSize = self._wire()
        self.fit = Fit.of(self.build.side, self.build.thickness, self.wire, self.build.turns, self.build.strands)
        self.magnets.linkage.must_link()

    def _wire(self) -> WireSize:
        size = metric(self.build.wire_diameter)
        over = self.build.wire_overall
        return replace(size, overall=over) if over > size.bare else size

    # ------------------------------------------------------------ lengths, ohms, mass
    @property
    def coil(self) -> Coil:
        return self.magnets.coil

    @cached_property
    def mean_turn(self) -> float:
        """Length of the mean turn [m]."""
        return self.coil.mean_turn(self.magnets.ring.radius)

    @property
    def wire_length(self) -> float:
        """Wire to buy [m]: all strands of all coils, and their tails."""
        b = self.build
        return float(winding.winding_length(float(b.coils), float(b.turns), float(b.strands), self.mean_turn, b.tails))

    @property
    def copper_mass(self) -> float:
        """Copper of all coils [kg], without tails."""
        b = self.build
        length = float(winding.winding_length(float(b.coils), float(b.turns), float(b.strands), self.mean_turn, 0.0))
        return float(winding.winding_mass(strand_area=self.wire.area, winding_length=length))

    @property
    def coil_mass(self) -> float:
        """What one wound coil weighs without its former, enamel included [kg]."""
        b = self.build
        return b.turns * b.strands * self.mean_turn * (self.wire.mass + self.wire.enamel_mass)

    @property
    def coil_ohms(self) -> float:
        """Of one coil at 20 °C."""
        b = self.build
        return float(winding.coil_resistance(turns=float(b.turns), mean_turn=self.mean_turn, strands=float(b.strands),
                                             strand_area=self.wire.area))

    @property
    def nominal_ohms(self) -> float:
        """Of one coil at 20 °C by the nominal ohms of its wire: to expect on the bench (`coil_ohms`: the least copper allowed)."""
        return self.build.turns * self.mean_turn * self.wire.ohms / self.build.strands

    @property
    def phase_ohms(self) -> float:
        return float(winding.phase_resistance(float(self.star.coils_in_series), self.coil_ohms))

    @property
    def ohms(self) -> float:
        """Between the terminals at 20 °C, leads included, as the bridge sees it."""
        leads, phase = self.build.lead_resistance, self.phase_ohms
        if self.build.phases == 3:
            star = float(winding.line_resistance(phase, 0.0))
            return leads + (star if self.build.connection == "star" else float(winding.delta_resistance(star)))
        return (phase + leads) / self.build.phases

    @property
    def hot_ohms(self) -> float:
        """The same at the temperature asked for."""
        return float(motor.winding_resistance_hot(self.ohms, self.asked.winding))

    @property
    def fill(self) -> float:
        """Share of the window that is copper."""
        b = self.build
        return float(winding.copper_fill(float(b.turns), float(b.strands), self.wire.area, b.side, b.thickness))

    @property
    def density(self) -> float:
        """Current density in the strands at the current asked for [A/m2]."""
        per_coil = self.asked.amps / (math.sqrt(3) if self.delta else 1.0) / (self.build.phases if self.build.phases == 2 else 1)
        return float(winding.current_density(per_coil, float(self.build.strands), self.wire.area))

    # ------------------------------------------------------------ constants
    @property
    def delta(self) -> bool:
        return self.build.phases == 3 and self.build.connection == "delta"

    @property
    def coil_phase_constant(self) -> float:
        """Peak EMF of the coils of one phase [V s/rad]."""
        return float(winding.phase_constant(float(self.star.coils_in_series), self.star.distribution_factor,
                                            self.magnets.coil_constant))

    @property
    def phase_constant(self) -> float:
        """The same as a star would have it: in delta a phase is what lies between two lines [V s/rad]."""
        own = self.coil_phase_constant
        return float(winding.delta_constant(own)) if self.delta else own

    @property
    def pitch_factor(self) -> float:
        """What the coil's width takes of the flux of its pole."""
        return float(winding.pitch_factor(self.coil.across(), self.magnets.ring.pitch))

    @cached_property
    def motor(self) -> motor.Motor:
        """The motor of the vehicle with what this winding makes of it."""
        return replace(self.vehicle.motor, kind=KINDS[self.build.phases], dress="phase peak", constant=self.phase_constant,
                       resistance=self.ohms, inertia=self.magnets.rotor.inertia, heat_capacity=self.heat_capacity)

    @property
    def constant(self) -> float:
        """As the bridge sees it [V s/rad = N m/A]."""
        return float(self.motor.drive_constant)

    @property
    def dresses(self) -> dict[str, float]:
        return self.motor.dresses()

    @property
    def rpm_per_volt(self) -> float:
        """Revolutions a minute for each volt of the store, at full duty and without load or drag."""
        return 60 / (2 * math.pi * self.constant)

    @property
    def figure(self) -> float:
        """Torque for each root of a watt of heat [N m/√W], at 20 °C."""
        return self.constant / math.sqrt(self.ohms)

    @property
    def heat_capacity(self) -> float:
        """Of the winding [J/K]: its copper and what is wound in with it."""
        return BESIDE * COPPER_HEAT * self.copper_mass

    # ------------------------------------------------------------ inductance
    @cached_property
    def coil_inductance(self) -> CoilInductance:
        """Of one coil, as a round one of its mean turn."""
        return CoilInductance.of(self.coil, float(self.build.turns), self.magnets.ring, self.build.height)

    @property
    def wheeler(self) -> float:
        """Inductance of one coil without iron by the closed form [H]."""
        radius = float(winding.mean_radius(self.mean_turn))
        return float(winding.coil_inductance(turns=float(self.build.turns), mean_radius=radius, coil_thickness=self.build.thickness,
                                             side_width=self.build.side))

    @cached_property
    def inductance(self) -> float:
        """Between the terminals, neighbours and iron counted [H]."""
        one = self.coil_inductance
        table = self.build.turns**2 * _inductances(self.coil, self.star, self.magnets.ring.radius, one.below, one.above)
        if self.build.phases == 3:
            line = float(table[0, 0] + table[1, 1] - 2 * table[0, 1])
            return line / 3 if self.delta else line
        return float(table[0, 0]) / self.build.phases

    @property
    def ripple(self) -> float:
        """Ripple of the current at half duty on a full store [A]."""
        volts = float(self.vehicle.store.full_voltage)
        return float(winding.current_ripple(volts, 0.5, self.inductance, self.asked.frequency))

    @property
    def ripple_heat(self) -> float:
        """Heat of the current with its ripple over that of its mean."""
        return float(winding.ripple_factor(self.ripple, max(self.asked.amps, 1e-6)))

    # ------------------------------------------------------------ over a turn, and starting
    @cached_property
    def shape(self) -> EmfShape:
        """EMF of one phase, harmonics included."""
        return EmfShape.of_linkage(self.magnets.linkage, self.build.turns, self.star.coils_in_series, 7, self.star.factor_of)

    @cached_property
    def over_turn(self) -> dict[str, TorqueOverTurn]:
        """Torque of one ampere over an electrical turn: this winding, and the same coils as one phase and as three."""
        return {name: torque_over_turn(self.shape, name, self.asked.error) for name in ("one phase", "three phases, six-step")}

    @property
    def least_pull(self) -> float:
        """Least torque of this winding over a turn, at the current asked for [N m]."""
        return self.asked.amps * torque_over_turn(self.shape, SCHEMES[self.build.phases], self.asked.error).least

    @cached_property
    def load(self) -> ShaftLoad:
        """What the motor has to move in a start."""
        return ShaftLoad.of(self.vehicle, self.asked.slope, self.asked.wheel)

    def rig(self, scheme: str) -> Rig:
        """The motor with its load, ready to be let go; `scheme`, one of turning.SCHEMES."""
        m, asked = self.motor, self.asked
        return Rig.of(self.shape, self.magnets.ring.pairs, inertia=m.inertia, friction=m.drag_torque, viscous=m.viscous_drag,
                      current=asked.amps, scheme=scheme, error=asked.error, load=self.load)

    @cached_property
    def starts(self) -> dict[str, StartMap]:
        """What becomes of a rotor let go at every angle, as one phase and as three."""
        return {name: map_starts(self.rig(name), ANGLES) for name in ("one phase", "three phases, six-step")}

    # ------------------------------------------------------------ efficiency
    @cached_property
    def volts(self) -> tuple[float, float, float]:
        """Store volts that the map shows: full, half way, stop; times the duty limit [V]."""
        v = self.vehicle
        full, stop = float(v.store.full_voltage), float(v.converter.stops_at(v.controller.stop_voltage))
        return tuple(v.controller.duty_limit * x for x in (full, (full + stop) / 2, max(stop, 0.3 * full)))

    @cached_property
    def map(self) -> EfficiencyMap:
        """Efficiency over speed and torque, with the reach of the store's volts."""
        v, k = self.vehicle, self.constant
        ohm = self.hot_ohms + v.controller.bridge_resistance
        most = k * min(v.controller.coil_current_limit, self.volts[0] / ohm)
        speeds = np.linspace(0.0, 1.1 * self.volts[0] / k, CELLS[0])
        torques = np.linspace(0.0, most, CELLS[1])
        return EfficiencyMap.of(k, ohm, v.motor.drag_torque, v.motor.viscous_drag, v.controller.standby_power, speeds, torques,
                                duty_volts=self.volts, current_limit=v.controller.coil_current_limit)

    @property
    def no_load(self) -> float:
        """Speed without load at full volts and duty [rad/s]."""
        v, m = self.vehicle, self.vehicle.motor
        return max(0.0, float(final_speed(self.constant, v.controller.duty_limit, float(v.store.full_voltage),
                                          self.hot_ohms + v.controller.bridge_resistance, m.drag_torque, m.viscous_drag)))

    # ------------------------------------------------------------ heat
    @property
    def copper_watts(self) -> float:
        """Copper loss of the current asked for at 20 °C, ripple included [W]."""
        return float(motor.copper_loss(self.asked.amps, self.ohms)) * self.ripple_heat

    @cached_property
    def lumps(self) -> TwoLumps:
        whole, share = float(self.vehicle.motor.thermal_resistance), self.asked.inner
        return TwoLumps.of(inner=share * whole, outer=(1 - share) * whole, winding=self.heat_capacity, body=self.asked.body)

    @cached_property
    def heating(self) -> tuple[Any, Any]:
        """(times [s], winding and body [K], shape (2, n)) from cold at the current asked for, until the winding has burnt."""
        times = np.linspace(0.0, min(self.asked.seconds, self.burns_at), 121)
        return times, self.lumps.temperatures(times, self.copper_watts, **self._beside)

    @property
    def _beside(self) -> dict[str, Any]:
        """What warms or cools it beside the current."""
        return {"air": float(self.vehicle.road.air_temperature), "other": self.strands.watts}

    @cached_property
    def burns_at(self) -> float:
        """Seconds until the winding is at heat.BURNT, where all that is told of it ends; infinite where it never is."""
        return self.lumps.burns_at(self.copper_watts, **self._beside)

    @property
    def settles(self) -> bool:
        """Whether it settles at all at the current asked for."""
        return self.lumps.settles(self.copper_watts)

    @property
    def settled(self) -> float:
        """Winding in the long run [K].  Raises InputError in words where it never settles."""
        return self.lumps.steady(self.copper_watts, **self._beside)[0]

    @cached_property
    def limits(self) -> tuple[Limit, ...]:
        """What of the winding gives up first: enamel, former, glue, the weakest first; the magnets turn in the air apart."""
        return weakest(enamel=self.build.enamel_class, body=self.build.former, glue=self.build.glue, grade=None)

    @property
    def weak(self) -> str:
        """What gives up first, as a word of a sentence."""
        return {"enamel": f"the enamel (class {self.build.enamel_class})", "body": f"the former ({self.build.former})",
                "glue": f"the glue ({self.build.glue})"}[self.limits[0].name]

    @property
    def time_to_limit(self) -> float:
        """Seconds until the winding reaches the weakest limit; infinite where it never does."""
        return self.lumps.time_to(self.limits[0].temperature, self.copper_watts, **self._beside)

    @property
    def runaway(self) -> float:
        """Continuous current above which it never settles [A]; its ripple heats, too."""
        steady = self.lumps.runaway_current(self.ohms)
        return math.sqrt(max(steady**2 - self.ripple**2 / 12, 0.0))

    @property
    def adiabatic(self) -> float:
        """Kelvin a second of the copper that carries the current, while nothing flows off."""
        return float(heat.copper_rate(current_density=self.density))

    # ------------------------------------------------------------ drag
    @cached_property
    def strands(self) -> StrandLoss:
        """Eddies in the strands at the speed asked for."""
        b = self.build
        return strand_losses(self.magnets.ring, self.coil, b.height, speed=self.asked.speed, diameter=self.wire.bare,
                             turns=b.turns, strands=b.strands, coils=b.coils)

    @cached_property
    def drag(self) -> DragSplit:
        """Drag without current, by cause; what the vehicle's own viscous drag holds beyond the strands' eddies is the rest."""
        v = self.vehicle
        slope = self.strands.torque / self.asked.speed if self.asked.speed else 0.0
        return DragSplit(bearings=v.motor.drag_torque, viscous=max(v.motor.viscous_drag - slope, 0.0), strands=slope,
                         line_constant=float(self.motor.peak_constant), resistance=self.ohms,
                         voltage=float(v.store.full_voltage))

    # ------------------------------------------------------------ the check of a wound coil
    @cached_property
    def count(self) -> CountCheck:
        """What weight and ohms of a wound coil say of its turns; as planned where nothing was measured."""
        a = self.asked
        mass, ohms = a.mass or self.coil_mass, a.ohms or self.nominal_ohms
        return CountCheck.of(self.build.turns, self.wire, self.build.strands,
                             mean_turn=f"{self.mean_turn!r} m +/- {0.01 * self.mean_turn!r} m",
                             mass=f"{mass!r} kg +/- {0.005 * mass!r} kg", resistance=f"{ohms!r} Ohm +/- {0.01 * ohms!r} Ohm",
                             temperature="20 degC +/- 2 degC")

    # ------------------------------------------------------------ the motor on the bench
    @cached_property
    def bench(self) -> BenchMotor:
        """The motor that was read on the bench, or stands on a sheet."""
        return BenchMotor(**planned(self.motor) | dict(self.asked.bench or {}))

    # ------------------------------------------------------------ what goes into the vehicle
    def found(self) -> dict[str, tuple[float, float]]:
        """{field of [motor]: (value, spread)} as this design says, for Vehicle.adopt with the basis "designed"."""
        br = self.vehicle.value("motor.magnets.remanence")
        doubt = math.hypot(MODEL, (br.spread or 0.0) / br.value)
        rows = {"motor.constant": (self.phase_constant, doubt), "motor.resistance": (self.ohms, MODEL),
                "motor.inertia": (self.motor.inertia, MODEL), "motor.heat_capacity": (self.heat_capacity, 0.15)}
        return {name: (float(f"{value:.6g}"), float(f"{share * value:.3g}")) for name, (value, share) in rows.items()}

    def designed(self) -> Any:
        """The vehicle with what this design says of its motor, basis "designed"; what was measured stays beside it."""
        kind, dress = KINDS[self.build.phases], "phase peak"
        v = self.vehicle
        if (v.motor.kind, v.motor.dress) != (kind, dress):
            v = v.change({"motor.kind": kind, "motor.dress": dress})
        return v.adopt(self.found(), basis="designed")

    @cached_property
    def cautions(self) -> list[Caution]:
        return of_winding(self)
