"""Pictures: a result and a Figure in, artists and words out.  No pyplot, no widgets.

Each picture is ``build(figure, look) -> update(result, pinned=None) -> (alt text, reading)``, see `evlab.look`.  A
result is taken by its attributes (columns, ledger, events, held, vehicle): they know no part and no ride by name.
"""

from evlab.plots.braking import blending, braking_regions, recovered_power, stop_and_go
from evlab.plots.cells import cell_fan, holding, worst_cells
from evlab.plots.coil_stars import coil_window, star_of_coils
from evlab.plots.compared import compared_strips, ranges_over
from evlab.plots.days import day_chart
from evlab.plots.descents import full_descent, steady_descent
from evlab.plots.footings import runaway, stopping, tipping
from evlab.plots.forces import force_family, force_stack
from evlab.plots.gears import ratio_front, sprockets
from evlab.plots.growth import ledger_growth
from evlab.plots.hill import drag_share, hill_round
from evlab.plots.joules import joule_bars
from evlab.plots.legs import pedal_charge
from evlab.plots.magnet_bodies import magnet_heat, plate_drag, rotor_pull, steel_behind, stray_pull
from evlab.plots.magnet_ranges import MagnetRanges
from evlab.plots.measured import measured_ride
from evlab.plots.motor_turns import drag_by_cause, efficiency_map, start_angles, torque_turn, turns_counted, winding_heat
from evlab.plots.planes import ragone_plane, short_circuit
from evlab.plots.profile import slope_profile, wind_along
from evlab.plots.ranges import Ranges
from evlab.plots.regen_ranges import RegenRanges
from evlab.plots.rescue import why_it_ended
from evlab.plots.road_ranges import GearRanges, RoadRanges, TripRanges
from evlab.plots.routes import flux_routes
from evlab.plots.rulers import ledger_rulers
from evlab.plots.store_ranges import ChargeRanges, StoreRanges
from evlab.plots.straight_lines import bench_read
from evlab.plots.strips import strip_chart
from evlab.plots.timed import charge_chart, discharge_chart
from evlab.plots.trips import halted, trip_growth
from evlab.plots.unrolled import unrolled_ring
from evlab.plots.winding_ranges import WindingRanges

__all__ = [
    "ChargeRanges", "GearRanges", "MagnetRanges", "Ranges", "RegenRanges", "RoadRanges", "StoreRanges", "TripRanges",
    "WindingRanges", "bench_read", "blending", "braking_regions", "cell_fan", "charge_chart", "coil_window", "compared_strips",
    "day_chart", "discharge_chart", "drag_by_cause", "drag_share", "efficiency_map", "flux_routes", "force_family",
    "force_stack", "full_descent", "halted", "hill_round", "holding", "joule_bars", "ledger_growth", "ledger_rulers",
    "magnet_heat", "measured_ride", "pedal_charge", "plate_drag", "ragone_plane", "ranges_over", "ratio_front",
    "recovered_power", "rotor_pull", "runaway", "short_circuit", "slope_profile", "sprockets", "star_of_coils",
    "start_angles", "steady_descent", "steel_behind", "stop_and_go", "stopping", "stray_pull", "strip_chart", "tipping",
    "torque_turn", "trip_growth", "turns_counted", "unrolled_ring", "why_it_ended", "wind_along", "winding_heat",
    "worst_cells",
]  # fmt: skip
