"""Rules about magnets: fingers, implants, glue, spin, heat and what the steel behind them can carry."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from evlab.cautions.caution import THROWS, Caution, Rule
from evlab.sources import cite

__all__ = ["MAGNET_RULES"]

CRUSHES, FULL = 50.0, 1.5  # N from which fingers are crushed (our own); T of mild steel


def _crushes(case: Any) -> Iterator[Caution]:
    if case.pull is not None and case.pull.force > CRUSHES:
        words = (f"The discs pull each other with {case.pull.force:.0f} N at {1e3 * case.winding.gap:.3g} mm, and ever harder as "
                 "they "
                 "come nearer: fingers are crushed and magnets shatter. Jacking screws and spacers, goggles, never hands.")
        yield Caution("danger", words, cite("magnetism", "common practice"), "motor.magnets.iron", fold="crushed fingers")


def _implants(case: Any) -> Iterator[Caution]:
    words = (f"Magnets of {case.face_alone:.2f} T at their face: nobody with a pacemaker or another implant comes near them, and "
             "cards, "
             "watches and phones stay away. Chips fly when two snap together: goggles.")
    yield Caution("danger", words, cite("common practice"), "motor.magnets.remanence", fold="pacemakers")


def _flung(case: Any) -> Iterator[Caution]:
    held, speed = case.spinning, case.speed
    if held["kinetic_energy"] > THROWS:
        words = (f"At {speed:.0f} rad/s the rotor holds {held['kinetic_energy']:.0f} J and flings each magnet out with "
                 f"{held['centrifugal_force']:.0f} N. Glue alone peels and creeps: a rim, a pocket or a band holds the magnets, a "
                 "guard "
                 "stands round it, and nobody in the plane of the discs.")
        yield Caution("danger", words, cite("mechanics", "common practice"), "motor.magnets.ring_radius")


def _loses(case: Any) -> Iterator[Caution]:
    alone, there = case.points[1], case.points[2]
    warm = case.temperature - 273.15
    if there.margin < 1:
        words = f"At {warm:.0f} °C the magnets lose some of their strength for good, in their place too: {there.verdict}"
        yield Caution("danger", words, cite("machines", "magnet-sheets"), "motor.magnets.grade")
    elif alone.margin < 1 or alone.hottest < 353.15:
        words = (f"A lone magnet of this shape meets the knee of grade {case.grade.name} at about {alone.hottest - 273.15:.0f} "
                 "°C, whatever "
                 "its sheet says of thick ones: do not bake it, cure its glue hot or leave it in the sun before it is built in.")
        yield Caution("caution", words, cite("machines", "magnet-sheets"), "motor.magnets.thickness")


def _full_steel(case: Any) -> Iterator[Caution]:
    if case.steel > FULL:
        words = (f"The steel behind the magnets would have to carry {case.steel:.2f} T; mild steel carries 1.5 T easily. The "
                 "field in the "
                 "gap is then less than shown here, and stray field behind pulls tools and chain. Take thicker steel.")
        yield Caution("caution", words, cite("machines", "common practice"), "motor.magnets.steel_thickness")


def _spoilt(case: Any) -> Iterator[Caution]:
    if case.fault:
        words = (f"{case.fault}: the coils see unequal poles, so the torque throbs once a turn and the discs pull unevenly on the "
                 "bearings. "
                 "Mark every magnet's pole and walk round the ring with a compass before the glue sets.")
        yield Caution("caution", words, cite("common practice"), "magnet_fault")


MAGNET_RULES: tuple[Rule, ...] = (_crushes, _implants, _flung, _loses, _full_steel, _spoilt)
