"""Fill the compile cache, so that the first ride in a notebook starts at once: `python -m evlab.warm`."""

from __future__ import annotations

import time


def main() -> None:
    """Ride, charge and pull once, and say how long compiling took."""
    began = time.perf_counter()
    from evlab import ForceCase, Leg, charge, load_vehicle, ride_day

    for name, route in (("two_shed_trike", "two_sheds_up"), ("kick_scooter", "park_path")):
        vehicle = load_vehicle(name)
        ride_day(vehicle, [Leg(route, charge=True)])
        charge(vehicle)
        _ = ForceCase(vehicle).steady
    print(f"The ride is compiled and kept ({time.perf_counter() - began:.1f} s).")


if __name__ == "__main__":
    main()
