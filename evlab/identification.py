"""Parameters from a log, with their uncertainty and with what the log cannot tell.

A first piece: the road load of a ride whose crank power was recorded. Total mass, rolling coefficient, drag area and
the lag of the barometric height are fitted to means over 30 s by bounded least squares.

Where there were two ways:

- *Seconds without pedalling.* The crank tells nothing about them: braking is not recorded. They count as zero in the
  log and in the model alike, so that every window has the same length. The other way, to keep only windows pedalled
  throughout, throws a third of the ride away and depends on how many seconds of rest are forgiven.
- *Negative power.* A crank cannot take power back. Where the road load asks for less than nothing while the rider
  still turns the pedals, he brakes or spins idle; the model says zero there. Left negative, noise of the slope at
  speed counts as if it had been pedalled.
- *Speed.* The log may hold a speed and a distance that differ by a scale (2.1 % on the ride in data/). The speed is
  used: the distance grows there while the bicycle stands still.
- *The lag.* Choosing it from a list by hand hides its uncertainty; it is fitted with the rest, between 0 and 4 s.
- *Smoothing.* The widths follow from what the instruments can show (height in steps of 0.2 m, speed in steps of
  centimetres each second), not from the residual, which would always ask for less.
- *Spread.* The covariance out of the Jacobian takes neighbouring windows as independent. They are not (a head wind
  lasts), so it is widened by (1 + r)/(1 - r), r being the correlation of a residual with the next one. The second
  way leaves out five minutes of the ride at a time and looks how far the fit moves. Both are given; the verdict
  takes the larger.
"""

from __future__ import annotations

import difflib
import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from evlab import data, road
from evlab.units import InputError

if TYPE_CHECKING:
    import pandas as pd
    from scipy.interpolate import CubicSpline
    from scipy.optimize import OptimizeResult

__all__ = ["CHAIN_EFFICIENCY", "LIMITS", "RideLog", "RoadLoad", "fit_road_load", "read_ride_log", "window_means"]

Array = NDArray[np.float64]

WINDOW = 30  # s: long against the smoothing and the lag, short against a hill
PIECE = 300  # s: long against a gust or a bend, and still a dozen pieces to half a ride
HEIGHT_SMOOTHING = 5.0  # s, standard deviation: 0.2 m steps at 5 m/s become 0.3 % of slope
SPEED_SMOOTHING = 1.0  # s, standard deviation
SLOWEST = 1.0  # m/s: below it height over distance is no slope
STEEPEST = 0.3  # sine of the slope; steeper is a jump of the barometer
CHAIN_EFFICIENCY = 0.976  # Martin et al. 1998, from memory
ROTATING_MASS = 2.1  # kg: both wheels, 1.65 to 2.65 kg over the measured bicycles of the library bicycleparameters
CLOSE_TIE = 0.9  # common practice, no source: from this correlation on two parameters count as one

# Name -> (low, high, start, unit). The lower end of the drag area is below what a seated rider reaches (0.35 m2 in a
# racing position, Sports Engineering 2021); a fit that runs into it has lost the drag area.
LIMITS: dict[str, tuple[float, float, float, str]] = {
    "mass": (40.0, 250.0, 90.0, "kg"),
    "rolling_coefficient": (0.002, 0.06, 0.01, ""),
    "drag_area": (0.20, 1.5, 0.5, "m2"),
    "height_lag": (0.0, 4.0, 2.0, "s"),
}
PAIR = ("rolling_coefficient", "drag_area")
_SYMBOLS = {"mass": "m", "rolling_coefficient": "C_rr", "drag_area": "C_dA", "height_lag": "lag"}
UNTOLD = (
    "What the brakes took: work is only seen while the rider pedals.",
    "The chain: its efficiency multiplies every force, so 1 % of error in it is 1 % in m and in C_dA.",
    "The bearings: their small force is counted as rolling.",
    "Changes of the surface: one C_rr stands for the whole ride.",
)
_COLUMNS = {  # column of the file -> field of the log, offset to SI
    "t_s": ("time", 0.0),
    "distance_m": ("distance", 0.0),
    "speed_mps": ("speed", 0.0),
    "altitude_m": ("height", 0.0),
    "power_W": ("crank_power", 0.0),
    "temperature_C": ("temperature", 273.15),
}


@dataclass(frozen=True)
class RideLog:
    """A ride recorded once a second: time s, distance m, speed m/s, height m, crank_power W, temperature K."""

    time: Array
    distance: Array
    speed: Array
    height: Array
    crank_power: Array
    temperature: Array

    def __post_init__(self) -> None:
        for item in fields(self):
            column = getattr(self, item.name)
            if column.shape != self.time.shape or not np.isfinite(column).all():
                raise InputError(
                    f"Input {item.name} of RideLog must be {self.time.size} finite numbers, one for each time; "
                    f"instead received {column.size}, {int(np.sum(~np.isfinite(column)))} of them not finite."
                )
        if self.time.size < 10 * WINDOW or not np.allclose(np.diff(self.time), 1.0, atol=1e-6):
            raise InputError(
                f"Input time of RideLog must go on by 1 s from row to row for at least {10 * WINDOW} s; instead "
                f"received {self.time.size} rows with steps of {np.ptp(self.time) / max(self.time.size - 1, 1):.3g} s "
                "in the mean. Fill or cut the gaps first."
            )

    @property
    def pedalled(self) -> NDArray[np.bool_]:
        """True in each second in which the crank gave power."""
        return self.crank_power > 0.0

    def part(self, first: int, last: int) -> RideLog:
        """The rows from `first` up to, but without, `last`."""
        return RideLog(**{item.name: getattr(self, item.name)[first:last] for item in fields(self)})

    def halves(self) -> tuple[RideLog, RideLog]:
        """The first and the second half of the time."""
        middle = self.time.size // 2
        return self.part(0, middle), self.part(middle, self.time.size)


def read_ride_log(name: str) -> RideLog:
    """A measured ride out of data/, its provenance checked.

    Parameters: name, a CSV file with the columns t_s, distance_m, speed_mps, altitude_m, power_W, temperature_C.
    Errors: InputError that names a missing column; those of `data.read_text`.
    """
    import pandas as pd

    table = pd.read_csv(io.StringIO(data.read_text(name)), comment="#")
    lacking = [column for column in _COLUMNS if column not in table.columns]
    if lacking:
        raise InputError(f"The file data/{name} must hold a column {lacking[0]}; it has {', '.join(table.columns)}.")
    return RideLog(**{to: table[column].to_numpy(dtype=float) + offset for column, (to, offset) in _COLUMNS.items()})


def window_means(values: Array, counted: NDArray[np.bool_]) -> Array:
    """Means over consecutive windows of 30 s; seconds that are not counted weigh as zero, a last odd piece is left."""
    count = values.size // WINDOW
    means: Array = np.where(counted, values, 0.0)[: count * WINDOW].reshape(count, WINDOW).mean(axis=1)
    return means


@dataclass(frozen=True)
class RoadLoad:
    """What was found: `values` [SI] by name, and how well the log knows the fitted ones, in the order of `free`.

    spread is one standard deviation out of the Jacobian; piece_spread the same from leaving out five minutes at a
    time; wind_shift what a steady head wind of 1 m/s, unseen by the log, moves; residual the RMS of the 30-s means [W];
    tie the correlation of a residual with the next one.
    """

    values: dict[str, float]
    free: tuple[str, ...]
    spread: dict[str, float]
    piece_spread: dict[str, float]
    wind_shift: dict[str, float]
    correlation: Array
    residual: float
    tie: float

    @property
    def at_limit(self) -> tuple[str, ...]:
        """The fitted parameters that ran into a limit."""
        return tuple(name for name in self.free if _is_at_limit(name, self.values[name]))

    @property
    def vague(self) -> tuple[str, ...]:
        """The fitted parameters that this log cannot tell: the larger spread is more than half the value."""
        return tuple(name for name in self.free if self._widest(name) > 0.5 * abs(self.values[name]))

    def correlated(self, one: str, other: str) -> float:
        """The correlation of two fitted parameters."""
        return float(self.correlation[self.free.index(one), self.free.index(other)])

    @property
    def separates(self) -> bool:
        """Whether C_rr and C_dA can be told apart: not tied closely, off their limits, not vague."""
        if not set(PAIR) <= set(self.free):
            return False
        return abs(self.correlated(*PAIR)) < CLOSE_TIE and not set(PAIR) & {*self.at_limit, *self.vague}

    @property
    def verdict(self) -> str:
        """In words: whether C_rr and C_dA separate on this ride, why, and which test would tell."""
        frozen = ", ".join(
            f"{_SYMBOLS[name]} at {_shown(name, value)}" for name, value in self.values.items() if name not in self.free
        )
        given = f" This holds as far as what was frozen does: {frozen}." if frozen else ""
        if not set(PAIR) <= set(self.free):
            return f"C_rr and C_dA were not both fitted.{given}"
        tie = self.correlated(*PAIR)
        blur = (1 - tie**2) ** -0.5
        words = f"their correlation is {tie:.2f}, so not knowing one makes the other {blur:.1f} times less sure"
        for name in PAIR:
            words += f"; {_SYMBOLS[name]} is {_shown(name, self.values[name])} +/- {_shown(name, self._widest(name))}"
            words += ", where its limit stopped it" if name in self.at_limit else ""
        if self.separates:
            return f"C_rr and C_dA separate on this ride: {words}.{given}"
        return (
            f"C_rr and C_dA do not separate on this ride: {words}. The sum of both forces is known, their shares are "
            f"not. Coast down both ways from the highest safe speed on a level road, freeze what that gives.{given}"
        )

    @property
    def untold(self) -> tuple[str, ...]:
        """What cannot be told from this log, one sentence each."""
        moved = ", ".join(f"{_SYMBOLS[name]} by {_shown(name, self.wind_shift[name])}" for name in self.free)
        said = [f"The wind: no air speed was recorded; a steady head wind of 1 m/s would move {moved}."]
        said += UNTOLD
        said += [f"{_SYMBOLS[name]}: its spread is more than half its value." for name in self.vague]
        said += [
            f"{_SYMBOLS[name]}: its limit of {_shown(name, self.values[name])} stopped it." for name in self.at_limit
        ]
        return tuple(said)

    def wheel_force(self, log: RideLog) -> Array:
        """The force at the wheel [N] in each second of a log, negative where the road drives the vehicle."""
        return _wheel_force(_prepared(log), self.values)

    def crank_power(self, log: RideLog) -> Array:
        """The crank power [W] that this road load asks for in each second of a log, never below zero."""
        return _crank_power(_prepared(log), self.values)

    def table(self) -> pd.DataFrame:
        """One row for each parameter: value, both spreads (1 sd), unit, and whether fitted, at its limit or frozen."""
        import pandas as pd

        kind = {name: "at its limit" if name in self.at_limit else "fitted" for name in self.free}
        rows = {
            name: (value, self.spread.get(name), self.piece_spread.get(name), LIMITS[name][3], kind.get(name, "frozen"))
            for name, value in self.values.items()
        }
        columns = ["value", "spread", "piece_spread", "unit", "kind"]
        return pd.DataFrame.from_dict(rows, orient="index", columns=columns)

    def _widest(self, name: str) -> float:
        return max(self.spread[name], self.piece_spread[name])


def fit_road_load(log: RideLog, *, frozen: Mapping[str, float] | None = None) -> RoadLoad:
    """Fit mass, rolling coefficient, drag area and height lag to the crank power of a ride.

    Parameters: log, the ride; frozen, values [SI] of parameters that are known and stay as they are.
    Returns: a RoadLoad. A parameter at its limit stays in correlation and spread, since the log alone would not have
    stopped it there.
    Range: rides of some kilometres with hills, crank power recorded each second. Errors: InputError for an unknown or
    impossible frozen parameter. Source: the road load R1, Martin et al. 1998 (from memory).
    """
    held = _checked(frozen or {})
    free = tuple(name for name in LIMITS if name not in held)
    ride, counted = _prepared(log), log.pedalled
    target = window_means(log.crank_power, counted)

    def misses(point: Array, wind: float = 0.0) -> Array:
        power = _crank_power(ride, held | dict(zip(free, point.tolist(), strict=True)), wind)
        return window_means(power, counted) - target

    found = _solved(misses, free)
    inverse = np.linalg.inv(found.jac.T @ found.jac)
    tie = float(np.corrcoef(found.fun[:-1], found.fun[1:])[0, 1])
    told = np.count_nonzero(target) - len(free)  # a window without pedalling says nothing
    spread = np.sqrt(np.diag(inverse) * 2 * found.cost / told * (1 + max(tie, 0.0)) / (1 - max(tie, 0.0)))
    shift = -inverse @ found.jac.T @ (misses(found.x, 0.5) - misses(found.x, -0.5))
    return RoadLoad(
        values={name: float(held[name] if name in held else found.x[free.index(name)]) for name in LIMITS},
        free=free,
        spread=dict(zip(free, spread.tolist(), strict=True)),
        piece_spread=dict(zip(free, _piece_spread(misses, free, target.size).tolist(), strict=True)),
        wind_shift=dict(zip(free, shift.tolist(), strict=True)),
        correlation=inverse / np.sqrt(np.outer(np.diag(inverse), np.diag(inverse))),
        residual=float(np.sqrt(np.mean(found.fun**2))),
        tie=tie,
    )


def _solved(misses: Callable[[Array], Array], free: tuple[str, ...]) -> OptimizeResult:
    from scipy.optimize import least_squares

    low, high, start = (np.array([LIMITS[name][column] for name in free]) for column in range(3))
    return least_squares(misses, start, bounds=(low, high), x_scale=start)


def _piece_spread(misses: Callable[[Array], Array], free: tuple[str, ...], windows: int) -> Array:
    """One standard deviation by the jackknife: the fit again and again, each time without one piece of the ride."""
    piece = np.arange(windows) * WINDOW // PIECE

    def without(left: int) -> Array:
        found: Array = _solved(lambda point: misses(point)[piece != left], free).x
        return found

    fits = np.array([without(left) for left in range(piece[-1] + 1)])
    return np.asarray(np.sqrt((len(fits) - 1) * np.var(fits, axis=0)))


@dataclass(frozen=True)
class _Prepared:
    """The columns of a log in the form in which the road load wants them."""

    time: Array
    speed: Array
    acceleration: Array
    temperature: Array
    height: CubicSpline


def _prepared(log: RideLog) -> _Prepared:
    from scipy.interpolate import CubicSpline
    from scipy.ndimage import gaussian_filter1d

    speed = gaussian_filter1d(log.speed, SPEED_SMOOTHING, mode="nearest")
    height = CubicSpline(log.time, gaussian_filter1d(log.height, HEIGHT_SMOOTHING, mode="nearest"))
    return _Prepared(log.time, speed, np.gradient(speed, log.time), log.temperature, height)


def _wheel_force(ride: _Prepared, values: Mapping[str, float], wind: float = 0.0) -> Array:
    mass, rolling, area, lag = (values[name] for name in LIMITS)
    moment = np.minimum(ride.time + lag, ride.time[-1])
    sine = np.clip(ride.height(moment, 1) / np.maximum(ride.speed, SLOWEST), -STEEPEST, STEEPEST)
    slope = sine / np.sqrt(1 - sine**2)
    pressure = road.pressure_at_height(altitude=ride.height(moment))
    density = road.air_density(pressure=pressure, air_temperature=ride.temperature)
    force: Array = road.rolling_force(mass=mass, rolling_coefficient=rolling, slope=slope, direction=1.0)
    force = force + road.slope_force(mass=mass, slope=slope)
    force += road.air_force(air_density=density, drag_area=area, speed=ride.speed, head_wind=wind, cross_wind=0.0)
    return force + (mass + ROTATING_MASS) * ride.acceleration


def _crank_power(ride: _Prepared, values: Mapping[str, float], wind: float = 0.0) -> Array:
    return np.maximum(_wheel_force(ride, values, wind) * ride.speed / CHAIN_EFFICIENCY, 0.0)


def _is_at_limit(name: str, value: float) -> bool:
    low, high, start, _ = LIMITS[name]
    return min(value - low, high - value) < 1e-3 * start


def _shown(name: str, value: float) -> str:
    return f"{value:.3g} {LIMITS[name][3]}".rstrip()


def _checked(frozen: Mapping[str, float]) -> dict[str, float]:
    for name, value in frozen.items():
        if name not in LIMITS:
            close = difflib.get_close_matches(name, LIMITS, n=1, cutoff=0.0)[0]
            raise InputError(
                f"Input frozen of fit_road_load must hold names out of {', '.join(LIMITS)}; instead "
                f"received {name!r}, to which {close} is the nearest."
            )
        low, high, _, unit = LIMITS[name]
        if not low <= value <= high:
            raise InputError(
                f"Input {name} of fit_road_load must be {low:g} to {high:g} {unit}; instead received {value:g}."
            )
    return dict(frozen)
