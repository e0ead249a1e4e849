"""What a glossary entry holds, and the spellings of units that a maker may write."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["SI", "SPELLINGS", "Entry"]

# What a maker may write behind a number, by family: spelling -> the unit as pint reads it.  The first spelling is the
# one we write ourselves.  Turning speeds are missing on purpose: they convert through named functions of `units` only.
SPELLINGS: dict[str, dict[str, str]] = {
    "none": {"": "dimensionless", "%": "percent"},
    "count": {"": "dimensionless"},
    "mass": {"kg": "kg", "g": "g", "t": "metric_ton"},
    "length": {"m": "m", "mm": "mm", "cm": "cm", "km": "km"},
    "area": {"m2": "m**2", "m²": "m**2", "cm2": "cm**2", "cm²": "cm**2", "mm2": "mm**2", "mm²": "mm**2"},
    "time": {"s": "s", "ms": "ms", "min": "min", "h": "h"},
    "speed": {"m/s": "m/s", "km/h": "km/h"},
    "acceleration": {"m/s2": "m/s**2", "m/s²": "m/s**2"},
    "rate": {"1/s": "1/s", "/s": "1/s", "1/h": "1/h", "/h": "1/h"},
    "force": {"N": "N", "kN": "kN"},
    "force slope": {"N s/m": "N*s/m", "N*s/m": "N*s/m", "N·s/m": "N*s/m"},
    "torque": {"N m": "N*m", "Nm": "N*m", "N*m": "N*m", "N·m": "N*m", "mNm": "mN*m"},
    "torque slope": {"N m s/rad": "N*m*s/rad", "Nms/rad": "N*m*s/rad", "N m s": "N*m*s/rad", "N*m*s/rad": "N*m*s/rad",
                     "N·m·s/rad": "N*m*s/rad", "Nms": "N*m*s/rad"},
    "inertia": {"kg m2": "kg*m**2", "kg m²": "kg*m**2", "kgm2": "kg*m**2", "kgm²": "kg*m**2", "kg*m2": "kg*m**2",
                "kg·m²": "kg*m**2", "g m2": "g*m**2", "kg cm2": "kg*cm**2"},
    "emf constant": {"V s/rad": "V*s/rad", "Vs/rad": "V*s/rad", "V*s/rad": "V*s/rad", "V·s/rad": "V*s/rad",
                     "N m/A": "V*s/rad", "Nm/A": "V*s/rad", "N·m/A": "V*s/rad", "mV s/rad": "mV*s/rad"},
    "voltage": {"V": "V", "mV": "mV", "kV": "kV"},
    "current": {"A": "A", "mA": "mA", "kA": "kA"},
    "resistance": {"Ohm": "ohm", "ohm": "ohm", "\u03a9": "ohm", "\u2126": "ohm", "mOhm": "mohm", "mohm": "mohm",
                   "m\u03a9": "mohm", "m\u2126": "mohm"},  # the Greek letter and the ohm sign look alike
    "capacitance": {"F": "F", "mF": "mF", "kF": "kF", "uF": "uF", "\u00b5F": "uF", "\u03bcF": "uF"},  # both micro signs
    "charge": {"C": "C", "Ah": "A*h", "mAh": "mA*h"},
    "energy": {"J": "J", "kJ": "kJ", "Wh": "W*h", "kWh": "kW*h"},
    "energy per length": {"J/m": "J/m", "Wh/km": "W*h/km"},
    "power": {"W": "W", "kW": "kW"},
    "temperature": {"degC": "degC", "°C": "degC", "K": "K"},
    "temperature difference": {"K": "K"},
    "temperature rate": {"K/s": "K/s"},
    "thermal resistance": {"K/W": "K/W"},
    "heat capacity": {"J/K": "J/K", "kJ/K": "kJ/K"},
    "density": {"kg/m3": "kg/m**3", "kg/m³": "kg/m**3"},
    "pressure": {"Pa": "Pa", "hPa": "hPa", "kPa": "kPa", "MPa": "MPa", "bar": "bar", "mbar": "mbar", "N/mm2": "N/mm**2",
                 "N/mm²": "N/mm**2"},
    "turning speed": {"rad/s": "rad/s"},
    "per kelvin": {"1/K": "1/K", "%/K": "percent/K"},
    "per metre": {"1/m": "1/m"},
    "gas constant": {"J/(kg K)": "J/(kg*K)"},
    "angle": {"deg": "deg", "°": "deg", "rad": "rad"},
    "capacitance slope": {"F/V": "F/V"},
    "voltage rate": {"V/s": "V/s"},
    "heating integral": {"A2 s": "A**2*s"},  # of the current squared: what fuses and wires are rated for
    "wire constant": {"A √s/m2": "A*s**0.5/m**2"},
    "resistivity": {"Ohm m": "ohm*m"},
    "specific heat": {"J/(kg K)": "J/(kg*K)"},
    "mass per length": {"kg/m": "kg/m"},
    "cornering stiffness": {"N/rad": "N/rad"},
    "flux": {"Wb": "Wb", "mWb": "mWb"},
    "flux density": {"T": "T", "mT": "mT"},
    "field strength": {"kA/m": "kA/m", "A/m": "A/m"},
    "permeability": {"T m/A": "T*m/A"},
    "volume": {"m3": "m**3", "m³": "m**3", "cm3": "cm**3", "cm³": "cm**3", "mm3": "mm**3", "mm³": "mm**3"},
    "conductivity": {"S/m": "S/m", "MS/m": "MS/m"},
    "power per length": {"W/m": "W/m"},
    "power per area": {"W/m2": "W/m**2", "W/m²": "W/m**2"},
    "energy density": {"J/m3": "J/m**3", "J/m³": "J/m**3", "kJ/m3": "kJ/m**3", "kJ/m³": "kJ/m**3"},
    "flux density slope": {"T/m": "T/m", "mT/mm": "mT/mm"},
    "current density": {"A/m2": "A/m**2", "A/m²": "A/m**2", "A/mm2": "A/mm**2", "A/mm²": "A/mm**2"},
    "motor figure": {"N m/√W": "N*m/W**0.5"},
    "inductance": {"H": "H", "mH": "mH", "uH": "uH", "\u00b5H": "uH", "\u03bcH": "uH"},  # both micro signs
    "frequency": {"Hz": "Hz", "kHz": "kHz"},
}

# The SI unit of each family, as pint reads it: what the floats inside are in.
SI: dict[str, str] = {
    "none": "", "count": "", "mass": "kg", "length": "m", "area": "m**2", "time": "s", "speed": "m/s",
    "acceleration": "m/s**2",
    "rate": "1/s", "force": "N", "force slope": "N*s/m", "torque": "N*m", "torque slope": "N*m*s/rad",
    "inertia": "kg*m**2", "emf constant": "V*s/rad", "voltage": "V", "current": "A", "resistance": "ohm",
    "capacitance": "F", "charge": "C", "energy": "J", "energy per length": "J/m", "power": "W", "temperature": "K",
    "temperature difference": "K", "temperature rate": "K/s", "thermal resistance": "K/W", "heat capacity": "J/K",
    "density": "kg/m**3",
    "pressure": "Pa", "turning speed": "rad/s", "per kelvin": "1/K", "per metre": "1/m", "gas constant": "J/(kg*K)",
    "angle": "rad", "capacitance slope": "F/V", "voltage rate": "V/s", "heating integral": "A**2*s",
    "wire constant": "A*s**0.5/m**2", "resistivity": "ohm*m", "specific heat": "J/(kg*K)", "mass per length": "kg/m",
    "cornering stiffness": "N/rad", "flux": "Wb", "flux density": "T", "field strength": "A/m", "permeability": "T*m/A",
    "volume": "m**3", "conductivity": "S/m", "power per length": "W/m", "power per area": "W/m**2", "energy density": "J/m**3",
    "flux density slope": "T/m", "current density": "A/m**2",
    "motor figure": "N*m/W**0.5",
    "inductance": "H", "frequency": "Hz",
}


@dataclass(frozen=True)
class Entry:
    """One quantity.

    `unit` is the SI unit of the float inside (pint reads it; "" is none); `accepts` are the spellings a maker may write;
    `shown` is the spelling used on pages; `low`, `high` and `why` are the range a control covers; `kind` is "chosen"
    (a plain value counts as designed), "found" (assumed until measured), "text", "switch", "count", "constant"
    (`value` holds it) or "" for what is computed.  For a field nothing below zero is possible, with `positive` not zero
    either, and nothing above `ceiling`.
    """

    name: str
    symbol: str
    family: str
    label: str
    meaning: str
    kind: str = ""
    place: str = ""
    shown: str = ""
    low: float | None = None
    high: float | None = None
    why: str = ""
    value: float | None = None
    positive: bool = False
    choices: tuple[str, ...] = ()
    default: object = None
    ceiling: float | None = None

    @property
    def unit(self) -> str:
        return SI.get(self.family, "")

    @property
    def accepts(self) -> tuple[str, ...]:
        return tuple(SPELLINGS[self.family]) if self.family in SPELLINGS else ()

    @property
    def short(self) -> str:
        """The last part of the name: the field without its table."""
        return self.name.rpartition(".")[2]

    @property
    def table(self) -> str:
        """The table of the vehicle file that holds the field; "" for a symbol or column."""
        return self.name.rpartition(".")[0]
