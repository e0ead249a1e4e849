"""Citation keys: every equation, default and caution names its source by one of these.

A mark says how far a source can be trusted here: "read" (a copy of the table or text was read), "memory" (standard
textbook matter, quoted from memory), "derived" (worked out here and proved by a second route), "common practice" (no
source at all) and "definition".
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["SOURCES", "Source", "cite"]


@dataclass(frozen=True)
class Source:
    """One source: its key, what to look for in a library, and how far it was checked."""

    key: str
    words: str
    mark: str

    def __str__(self) -> str:
        return f"{self.words} [{self.mark}]"


_ROWS = (
    ("definition", "follows from the definition of the quantities", "definition"),
    ("common practice", "common practice, no source", "common practice"),
    ("derived", "derived here; two independent routes agree", "derived"),
    ("circuits", "Textbook circuit theory: Ohm, Kirchhoff, the linear capacitor and its RC time constant", "memory"),
    ("capacitor-branches",
     "Zubieta and Bonert, IEEE Trans. Ind. Appl. 36 (2000): capacitor as parallel RC branches; "
     "Jiya et al., Electronics 7 (2018) 268: review of circuit models", "memory"),
    ("edlc-sheet-3000F", "Maker's data sheet 1015370 of 2.7 V double-layer capacitors, 650 F to 3000 F", "read"),
    ("edlc-cold", "Makers' sheets of double-layer capacitors: ESR about twice at -40 degC", "memory"),
    ("lithium-cells", "Makers' specifications of lithium cells: limits of volts, currents and temperatures", "memory"),
    ("lithium-cold", "Lithium cells: resistance two to three times at 10 to 20 degC below zero", "memory"),
    ("cell-sizes", "Sizes of cells: 160 g in a can of 60 mm by 52 mm (650 F); 48 g in 18.3 mm by 65 mm (lithium)", "memory"),
    ("store-life", "Makers' sheets: double-layer capacitors half a million cycles and more; lithium cells 300 to 1000 "
     "until 80 % are left", "memory"),
    ("machines", "Hanselman, Brushless Permanent Magnet Motor Design: EMF and torque constants, torque-speed line", "memory"),
    ("machine-heat", "Gieras, Wang, Kamper, Axial Flux Permanent Magnet Brushless Machines: lumped thermal model", "memory"),
    ("magnetism", "Furlani, Permanent Magnet and Electromechanical Devices: field of a disc on its axis", "memory"),
    ("axial-flux", "Gieras, Wang, Kamper, Axial Flux Permanent Magnet Brushless Machines: field of a row of poles", "memory"),
    ("magnet-sheets", "Makers' tables of sintered neodymium magnets: remanence, coercivity and their temperature coefficients",
     "read"),
    ("iec-60028", "IEC 60028: copper, 1/58 ohm mm2/m at 20 degC, temperature coefficient 0.00393 per kelvin", "read"),
    ("power-electronics", "Erickson and Maksimovic, Fundamentals of Power Electronics: averaged switch model", "memory"),
    ("martin-1998", "Martin et al., J. Appl. Biomech. 14 (1998) 276-291: road power model, validated to 2.7 W", "memory"),
    ("sports-engineering-2021", "Sports Engineering (2021), doi 10.1007/s12283-021-00345-2, table 1", "read"),
    ("iso-2533", "ISO 2533 standard atmosphere: pressure against height, dry air 287.05 J/(kg K)", "memory"),
    ("us-1976", "US Standard Atmosphere 1976, tables as kept in the library fluids", "read"),
    ("spicer-2001", "Spicer et al., J. Mech. Des. 123 (2001) 598-605: efficiency of bicycle chain drives", "read"),
    ("mechanics", "Textbook mechanics: Newton, friction, rolling wheels, reflected inertia", "memory"),
    ("extra-low-voltage",
     "Up to 60 V direct current counts as extra-low voltage in several standards (ES1 of IEC 62368-1, for one)", "memory"),
    ("en-15194", "EN 15194: electrically assisted cycles; its scope ends at 48 V", "memory"),
    ("si-2019", "The SI brochure: standard gravity 9.80665 m/s2 is the conventional value", "memory"),
    ("iec-60364-4-43",
     "IEC 60364-4-43: a wire outlasts a short of up to 5 s while I2t stays below k2A2; k 115 A s^0.5/mm2, copper in PVC",
     "memory"),
    ("iec-60228",
     "IEC 60228, class 5: largest resistance of flexible copper cable at 20 degC, as four makers of cable print it", "read"),
    ("onderdonk",
     "Brooks and Adam (2015), In Search for Preece and Onderdonk: the melting equation, derived, and what it assumes", "read"),
    ("iso-8820-3", "ISO 8820-3, scope: blade fuse-links of 32 V or 58 V, up to 100 A, breaking capacity 1000 A", "read"),
    ("copper-heat", "IEC 60028: copper of wires has 8890 kg/m3; handbooks: 385 J/(kg K)", "read"),
    ("edlc-sheet-350F", "Maker's data sheet 1017105 of 2.7 V double-layer capacitors of 310 F and 350 F", "read"),
    ("edlc-sheet-5F",
     "Maker's data sheet 3001974 of a 2.7 V double-layer capacitor of 5 F: 1500 h at 65 degC, 10 years at 25 degC", "read"),
    ("edlc-sheet-2000F",
     "Maker's data sheet (2014) of a 2.7 V double-layer capacitor of 2000 F: 2500 h at 65 degC, 10 years at 25 degC",
     "read"),
    ("endurance-2025",
     "Intell. Sustain. Manuf. 2 (2025) 10023: a year of endurance tests; no one factor for ten kelvin fits them", "read"),
    ("iec-62391-1",
     "IEC 62391-1: capacitance between 80 % and 40 % of the rated volts, resistance by the straight line drawn back", "memory"),
    ("lithium-charging",
     "A maker's specification of a 2.6 Ah lithium cell: 4.20 V, charging 0.1 C at 0 to 5 degC, 0.2 C at 5 to 15 degC, 0.5 C above",
     "read"),
    ("lithium-plating", "Waldmann et al., J. Power Sources 384 (2018) 107-124: lithium plating in cells, a review", "memory"),
    ("iec-62576", "IEC 62576, annex C (a reprint was read): loss R Q2/t, currents that pass 95 % of the energy", "read"),
    ("alduchov-1996",
     "Alduchov and Eskridge, J. Appl. Meteorol. 35 (1996) 601-609, equation 21, as two libraries of meteorology quote it", "read"),
    ("iso-606", "ISO 606, annex A: pitch circle p/sin(180°/z), as a maker's table of 06B sprockets prints it", "read"),
    ("chain-handbooks",
     "Handbooks of chain drives: tip diameter p (0.54 + cot(180°/z)), links of a chain, centre distance of so many links", "read"),
    ("belt-handbooks", "Handbooks of toothed belts: pitch diameter z p/π, length by tangents and arcs", "read"),
    ("iso-5775", "ISO 5775: tyres by width and bead diameter; circumference π (bead + 2 width), lists by makers differ", "read"),
    ("rothhamel-2023",
     "Rothhämel, Int. J. Veh. Syst. Model. Test. 17 (2023) 67-80, abstract: temperature and pressure each change the rolling of "
     "bicycle tyres two- to threefold; 1 to 2 % for each kelvin is from memory", "read"),
    ("tyre-mechanics", "Textbook tyre mechanics: side force in proportion to a small slip angle; drag is its share along the way",
     "memory"),
    ("reitz-1970", "Reitz, J. Appl. Phys. 41 (1970) 2067-2071: forces on moving magnets due to eddy currents in a thin sheet",
     "memory"),
    ("eddy-currents", "Lammeraner and Stafl, Eddy Currents (1966): round wire and thin strip in a weak field", "memory"),
    ("metal-conductivities", "Handbooks: conductivities of metals at 20 degC; alloys differ by a tenth and more", "memory"),
    ("osborn-1945", "Osborn, Phys. Rev. 67 (1945) 351-357: demagnetising factors of the ellipsoid", "memory"),
    ("knee", "Makers' curves of sintered neodymium: the knee lies at about nine tenths of the coercivity", "memory"),
    ("disc-stress", "Hearn, Mechanics of Materials 2, chapter 4 (its summary was read): rotating rings and discs of even thickness",
     "read"),
    ("soft-iron", "Textbook magnetism: a small body of soft iron in an uneven field; mild steel is full at about 2.1 T", "memory"),
    ("eu-2013-35", "Directive 2013/35/EU, annex II: action levels of static fields, 0.5 mT for implants, 3 mT for loose steel",
     "memory"),
    ("iec-60085", "IEC 60085: thermal classes, as a maker's page prints them: A 105, E 120, B 130, F 155, H 180 degC", "read"),
    ("softening", "Temperatures at which plastics and glues soften: makers' sheets, about", "memory"),
    ("astm-b258", "ASTM B258: diameters of the American wire gauge, 0.127 mm times 92 to the power (36 - n)/39, as tables of "
     "magnet wire print them", "read"),
    ("iec-60317", "IEC 60317-0-1: enamelled round copper wire, its resistance, its tolerance and the enamel of grade 2 (makers' "
     "tables of it, and of its reprint IS 13730-0-1, were read)", "read"),
    ("iso-3", "ISO 3: preferred numbers, the series R20", "memory"),
    ("wheeler", "Wheeler, Proc. IRE 16 (1928) 1398-1400: coil of many layers, within 1 % where its three terms are alike (as a "
     "list of letters quotes it)", "read"),
    ("coaxial-circles", "Maxwell, Treatise, art. 701: two circles on one axis; the same integral in DLMF 19.34", "read"),
    ("star-of-slots", "Skaar, Krovel, Nilssen, ICEM 2006: star of phasors for coils wound round single teeth", "memory"),
)

SOURCES: dict[str, Source] = {key: Source(key, words, mark) for key, words, mark in _ROWS}


def cite(*keys: str) -> str:
    """The sources of these keys as one line of text; an unknown key is a KeyError that names it."""
    return "; ".join(str(SOURCES[key]) for key in keys)
