"""Controls and rows of the pages of gearing, magnets, winding and regeneration: which group each stands in, what it is, how far it
goes; and that no row claims to be surer, or less sure, than a model can be."""

from __future__ import annotations

import pytest

import evlab
from evlab.glossary import GLOSSARY, entry
from evlab.workbench import gearing_page, magnets_page, regeneration_page, winding_page

TRIKE = evlab.load_vehicle("two_shed_trike")
PAGES = {"gearing": gearing_page.make_page(evlab.load_route("two_sheds_up"), TRIKE), "magnets": magnets_page.make_page(TRIKE),
         "winding": winding_page.make_page(TRIKE),
         "regeneration": regeneration_page.make_page(evlab.load_route("two_sheds_down"), TRIKE)}
GROUPS = {
    "gearing": {"Sprockets and wheel": "motor_teeth wheel_teeth wheel_radius",
                "Chain or belt": "chain centre_distance chain_efficiency freewheel",
                "Drive": "coil_current_limit cargo", "What it must climb": "slope speed volts"},
    "magnets": {"Ring of magnets": "shape poles ring_radius width length thickness remanence recoil grade iron steel_thickness "
                                   "disc_radius",
                "Coil": "coil_shape opening_inner opening_outer opening_length side thickness clearance turns",
                "What is asked": "coil_at fault temperature hold speed",
                "A plate of metal": "distance plate_thickness metal strip"},
    "winding": {"Coils and phases": "coils phases connection poles", "Wire": "turns strands wire_diameter tails lead_resistance",
                "Coil": "side thickness clearance",
                "What it is made of": "enamel_class former glue thermal_resistance drag_torque viscous_drag",
                "What is asked": "amps winding speed error wheel slope seconds inner body frequency", "The wound coil": "mass ohms",
                "Read on the bench, or on a sheet": "free_volts free_rpm free_amps held_volts held_amps held_torque stalled_by"},
    "regeneration": {"Motor and controller": "braking_current_limit constant resistance drag_torque viscous_drag standby_power",
                     "Vehicle": "charge_voltage wheel_teeth cargo",
                     "The descent, the stop, the legs": "speed slope deceleration legs volts"},
}
each = pytest.mark.parametrize("name", PAGES)


@each
def test_every_control_stands_in_its_group_and_is_known(name):
    found: dict[str, list[str]] = {}
    for knob in PAGES[name].knobs:
        found.setdefault(knob.group, []).append(knob.name.rpartition(".")[2])
        about = entry(knob.name if knob.start is None else knob.quantity)
        assert about.name in GLOSSARY
        assert knob.start is None or knob.label
        assert knob.step is None or isinstance(knob.step, int | float)
        if knob.low is not None and knob.high is not None:
            assert knob.low < knob.high
        if knob.start is not None and isinstance(knob.start, float):
            assert knob.low <= knob.start <= knob.high, knob.name
    assert {group: " ".join(names) for group, names in found.items()} == GROUPS[name]


@each
def test_every_picture_has_its_rows_and_names_controls_that_there_are(name):
    page, controls = PAGES[name], {knob.name for knob in PAGES[name].knobs}
    titles = [picture.title for picture in page.pictures]
    assert len(set(titles)) == len(titles)
    for picture in page.pictures:
        assert set(picture.knobs) <= controls, picture.title
        assert 0 < len(picture.knobs) < len(controls)
        for row in picture.readouts:
            assert 0 <= row.model <= 0.3, row.label
            assert row.label
            assert not row.whole or row.unit == ""


@each
def test_a_control_out_of_sight_would_change_nothing(name):
    """Only where the file says that it has no meaning: no length of a disc, no joint of one phase."""
    hidden = {knob.name.rpartition(".")[2] for knob in PAGES[name].knobs if knob.when is not None}
    assert hidden == {"gearing": set(), "magnets": {"length", "recoil", "opening_outer", "opening_length"},
                      "winding": {"connection", "slope"}, "regeneration": set()}[name]
    for knob in PAGES[name].knobs:
        if knob.when is not None:
            now = {k.name: TRIKE.value(k.name).value if k.start is None else k.start for k in PAGES[name].knobs}
            seen = knob.name.rpartition(".")[2] != "length"  # the trike's magnets are discs between irons, its coils keystones
            assert knob.when(now) == seen
