"""Fill the compile cache, so that the first ride in a notebook starts at once: `python -m evlab.warm`."""

from __future__ import annotations

import time


def main() -> None:
    """Ride once, and say how long compiling took."""
    began = time.perf_counter()
    from evlab import load_vehicle, ride

    ride(load_vehicle("two_shed_trike"), "two_sheds_up")
    print(f"The ride is compiled and kept ({time.perf_counter() - began:.1f} s).")


if __name__ == "__main__":
    main()
