"""evlab: design, build, program and test a home-built light electric vehicle, and understand it.

Everything loads at first use, so that `import evlab` takes no time.  See notebooks/index.ipynb for the way through.
"""

from __future__ import annotations

import importlib
from typing import Any

__version__ = "0.1.0"

_STAGES = ("regeneration", "road", "weather", "coasting", "footing", "tyres", "store", "lithium", "balance", "wiring", "ageing",
           "cell_check", "chargers", "converter", "ragone", "magnets", "winding", "motor", "controller", "gearing", "chains",
           "units", "glossary", "plots", "workbench", "cautions", "identification", "data")
_NAMES = {
    "load_vehicle": "vehicle", "Vehicle": "vehicle", "load_route": "route_files", "Route": "route", "Wind": "winds",
    "WindAlong": "winds",
    "TripCase": "trip", "WorstDay": "trip", "ForceCase": "tractive", "RoadCase": "road_case", "GearCase": "ratios",
    "ride_day": "shuttling", "Leg": "shuttling", "keep_route": "route_files", "ride": "riding", "charge": "charging",
    "discharge": "discharging", "compare": "comparing", "tolerance_band": "exploring", "nearest_changes": "remedies",
    "hard_days": "hardships", "HillTest": "hill_test", "RegenCase": "regen_case", "RideCase": "ride_case",
    "plug_in": "plugging", "StoreCase": "store_case", "MagnetCase": "magnet_case", "WindingCase": "winding_case",
    "Sensed": "winding_case", "Ring": "rings", "Coil": "coils", "Linkage": "linkage", "CoilStar": "coil_star",
    "CountCheck": "counting", "SheetMotor": "motor_sheet", "BenchMotor": "bench_motor",
    "SetSpeed": "driver", "ThrottleHeld": "driver", "PowerHeld": "demands", "PowerTrace": "demands", "ThrottleTrace": "demands",
    "InputError": "units",
}

_PUBLIC = ("__version__", *_STAGES, *_NAMES)


def __getattr__(name: str) -> Any:
    if name in _NAMES:
        return getattr(importlib.import_module(f"evlab.{_NAMES[name]}"), name)
    if name in _STAGES:
        return importlib.import_module(f"evlab.{name}")
    from evlab.glossary import nearest

    raise AttributeError(f"evlab has no name {name!r}.{nearest(name, _PUBLIC)}")


def __dir__() -> list[str]:
    return sorted(_PUBLIC)
