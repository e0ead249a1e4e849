"""Fill the compile cache, so that the first ride in a notebook starts at once: `python -m evlab.warm`."""

from __future__ import annotations

import time


def main() -> None:
    """Ride and charge once, and say how long compiling took."""
    began = time.perf_counter()
    from evlab import charge, load_vehicle, ride

    for name, route in (("two_shed_trike", "two_sheds_up"), ("kick_scooter", "park_path")):
        ride(load_vehicle(name), route)
        charge(load_vehicle(name))
    print(f"The ride is compiled and kept ({time.perf_counter() - began:.1f} s).")


if __name__ == "__main__":
    main()
