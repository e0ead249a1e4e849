"""Many rides: draws, bands and what moves them, against NumPy's own quantiles, the ride itself and what must hold by sense."""

from __future__ import annotations

import numpy as np
import pytest

import evlab
from evlab import InputError, exploring
from evlab.exploring import drawn, movers, spreads_of, steps_of_band, tolerance_band

TRIKE, UP = evlab.load_vehicle("two_shed_trike"), evlab.load_route("two_sheds_up")


@pytest.fixture(scope="module")
def band():
    return tolerance_band(TRIKE, UP, runs=200)


# ---------------------------------------------------------------- draws
def test_draws_are_normal_about_the_files_value_with_its_spread():
    made = drawn({"road.drag_area": (0.95, 0.15)}, 20000, 3)["road.drag_area"]
    assert made.mean() == pytest.approx(0.95, abs=3 * 0.15 / np.sqrt(20000))
    assert made.std() == pytest.approx(0.15, rel=0.03)


def test_each_field_has_its_own_stream():
    """One more field, or another value of one, leaves the draws of the others as they are: curves do not jitter."""
    one = drawn({"road.drag_area": (0.95, 0.15)}, 50, 3)
    two = drawn({"motor.resistance": (0.1, 0.01), "road.drag_area": (0.95, 0.15)}, 50, 3)
    assert np.array_equal(one["road.drag_area"], two["road.drag_area"])
    assert not np.array_equal(one["road.drag_area"], drawn({"road.drag_area": (0.95, 0.15)}, 50, 4)["road.drag_area"])


def test_no_draw_is_a_value_that_cannot_be():
    made = drawn({"gearing.chain_efficiency": (0.95, 0.2), "motor.constant": (0.2, 0.5), "motor.drag_torque": (0.1, 0.5)}, 5000, 1)
    assert made["gearing.chain_efficiency"].max() <= 1
    assert made["motor.constant"].min() > 0
    assert made["motor.drag_torque"].min() >= 0


def test_all_that_a_ride_feels_and_states_a_spread_is_drawn():
    fields = spreads_of(TRIKE)
    assert {"road.rolling_coefficient", "motor.constant", "gearing.wheel_radius", "store.cell_resistance"} <= set(fields)
    assert not {"charger.efficiency", "vehicle.tyre_grip", "vehicle.mass_height"} & set(fields)


# ---------------------------------------------------------------- the band
def test_the_middle_of_the_band_is_the_ride_itself_nearly(band):
    """The spreads are small and lie evenly about the file's values, so half of the rides end above and half below."""
    one = evlab.ride(TRIKE, UP)
    for name in ("store_volts", "coil_temperature"):
        low, middle, high = band.bands[name]
        told = np.interp(band.distance, one.column("distance"), one.column(name))
        inside = slice(5, -5)
        assert (low[inside] <= middle[inside]).all()
        assert (middle[inside] <= high[inside]).all()
        width = np.maximum(high - low, 1e-6)[inside]
        assert (np.abs(middle - told)[inside] / width).mean() < 0.35
    told = np.interp(band.distance, one.column("distance"), one.column("speed"))  # up to the ramp the driver holds it
    assert np.abs(band.bands["speed"][1] - told)[2:70].max() < 0.01


def test_quantiles_are_numpys(band):
    rows = np.array(band._rows)[:, 1]  # volts
    assert np.isfinite(rows[:, :-2]).all()  # all arrive, within some centimetres of the end
    for made, share in zip(band.bands["store_volts"], (0.05, 0.5, 0.95), strict=True):
        assert np.allclose(made[:-2], np.quantile(rows[:, :-2], share, axis=0))


def test_behind_the_end_of_most_rides_there_is_no_band():
    short = tolerance_band(TRIKE, UP, runs=60, start=22.0)
    assert short.arrived == 0
    gone = short.distance > np.quantile(short.reached, 0.96)
    assert np.isnan(short.bands["speed"][1][gone]).all()
    assert np.isfinite(short.bands["speed"][1][short.distance < short.reached.min() - 2]).all()
    assert "rides arrived; nine in ten came" in short.reason


def test_the_quick_rides_draw_what_the_fine_ones_draw(band):
    """Steps of a tenth of a second: what the store gives is within a thousandth of the fine ride's."""
    values = {field: float(column[7]) for field, column in band.draws.items()}
    fine = evlab.ride(TRIKE.change(values), UP)
    assert band.drawn_energy[7] == pytest.approx(fine.store_energy, rel=1e-3)
    assert band.reached[7] == pytest.approx(fine.distance, abs=0.02)


def test_harder_rolling_and_more_drag_come_less_far(band):
    shares = {field: share for field, _, share in band.movers}
    assert shares["road.rolling_coefficient"] < -0.5
    assert band.movers[0][1] == "Rolling coefficient"


def test_what_moves_nothing_is_not_named():
    rng = np.random.default_rng(5)
    draws = {"one": rng.normal(size=400), "two": rng.normal(size=400)}
    told = movers(draws, 3 * draws["one"] + 0.01 * rng.normal(size=400))
    assert [field for field, _, _ in told] == ["one"]
    assert told[0][2] > 0.99


def test_progress_is_told_and_the_band_grows_ride_by_ride():
    seen = []
    tolerance_band(TRIKE, UP, runs=20, progress=lambda done, runs: seen.append((done, runs)))
    assert seen == [(i, 20) for i in range(1, 21)]
    steps = steps_of_band(TRIKE, UP, runs=30)
    done, band = next(steps)
    assert (done, band.runs) == (1, 1)
    assert band.reason.startswith("1 of 1 rides arrived")


@pytest.mark.parametrize(("said", "words"), [
    ({"runs": 5}, "runs of tolerance_band must be a whole number from 20 to 20000; instead received 5"),
    ({"runs": 60.0}, "must be a whole number"), ({"start": 50.0}, "at most 35 V"), ({"wind": "5 kg"}, "wind of tolerance_band")])
def test_what_cannot_be_is_refused(said, words):
    with pytest.raises(InputError, match=words):
        tolerance_band(TRIKE, UP, **said)


def test_a_vehicle_without_any_spread_is_refused():
    plain = [line for line in TRIKE.text.splitlines() if not line.startswith("#")]
    lines = (line.split(" +/-")[0] + '"' if "+/-" in line else line for line in plain)
    sure = evlab.Vehicle.from_text("\n".join(lines), "sure.toml")
    with pytest.raises(InputError, match="must state how far off its values may be"):
        tolerance_band(sure, UP)
    assert exploring.STEP == 0.1


def test_ties_share_the_mean_of_their_ranks():
    """Spearman by hand, with ties: half of the draws at a limit.  Ranks 2 2 2 4.5 4.5 6 against 1 2 3 4 5 6: 0.9258 (each of
    three equal ones has the mean of 1, 2 and 3).  The rank numbers of a sort would say 1."""
    values = {"tied": np.tile([0.0, 0.0, 0.0, 5.0, 5.0, 9.0], 20)}
    outcome = np.tile([1.0, 2.0, 3.0, 4.0, 5.0, 6.0], 20)
    ranks, against = np.array([2, 2, 2, 4.5, 4.5, 6]) - 3.5, np.arange(1, 7) - 3.5
    by_hand = (ranks @ against) / np.sqrt((ranks @ ranks) * (against @ against))
    assert by_hand == pytest.approx(0.9258, abs=5e-5)
    assert movers(values, outcome)[0][2] == pytest.approx(by_hand, rel=1e-9)
    assert movers(values, np.tile([3.0], 120)) == []  # an outcome that never moves is moved by nothing
