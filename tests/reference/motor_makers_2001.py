"""What makers of motors print: the constants of a servo motor, and conversions between the dresses of K."""

from __future__ import annotations

from evlab import motor

from . import Check, Erratum, si_of

SERVO = "a servo motor's table (Voltage constant 51 V per 1000 rpm), copy on encyclopedia2.thefreedictionary.com, torque constant"
GLOSSARY = "glossary of a motor maker, dynetic.com: K_T in lb in/A from K_E in V (line peak) per 1000 rpm"
PER_KRPM = si_of(1e-3, "volt/(revolution/minute)")
LB_IN = si_of(1.0, "lbf*inch")


def _servo_constant() -> float:
    return motor.back_emf.solve_for("motor_constant", back_emf=51.0, motor_speed=si_of(1000.0, "revolution/minute"))


def _sine_divisor() -> float:
    """K_E [V per 1000 rpm, line peak] over K_T [lb in for each ampere of the sine's peak]."""
    phase = motor.line_constant.solve_for("phase_constant", line_constant=PER_KRPM)
    return LB_IN / motor.sine_torque(phase, 1.0)


CHECKS = [
    Check("motor.back_emf", "0.49", "V*s/rad", SERVO, "0.49 N m/A beside 51 V per 1000 rpm", table="servo", work=_servo_constant),
    Check(
        "motor.sine_torque",
        "13.662",
        "",
        GLOSSARY,
        "sine EMF with sine currents: divisor",
        table="dresses",
        also=("motor.line_constant",),
        allowance=0.003,
        why="printed from rounded conversions",
        work=_sine_divisor,
    ),
    Check(
        "motor.six_step_constant",
        "0.9549296586",
        "V*s/rad",
        "textbook: mean of a rectified three-phase sine over its peak, 3/π (from memory)",
        "mean over peak",
        {"line_constant": 1.0},
        kind="worked",
        table="six step",
    ),
    Check(
        "motor.six_step_constant",
        "1.653986686",
        "",
        "textbook: 3√3/π, direct voltage over phase peak (from memory)",
        "mean over phase peak",
        kind="worked",
        table="six step",
        also=("motor.line_constant",),
        work=lambda: motor.six_step_constant(motor.line_constant(1.0)),
    ),
    Check(
        "motor.line_rms_constant",
        "1.2247448714",
        "",
        "textbook: line rms over phase peak, √(3/2) (from memory)",
        "line rms over phase peak",
        kind="worked",
        table="six step",
        also=("motor.line_constant",),
        work=lambda: motor.line_rms_constant(motor.line_constant(1.0)),
    ),
]

ERRATA = [
    Erratum(
        GLOSSARY,
        "13.017 for sine EMF with square currents",
        f"the mean over sixty degrees asks for 11.832 × π/3 = {LB_IN / motor.six_step_constant(PER_KRPM):.3f}; 13.017 is "
        "1.1 times the "
        "trapezoid's divisor, a step that no waveform of ours gives. Two routes of our own (quadrature, power balance) "
        "give 3/π. Not used as a check.",
    )
]
