"""Pictures of the store and its charging, over stand-ins with the attributes that they read."""

from dataclasses import dataclass, field
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.patches import Rectangle
from test_plots import LEDGERS, SHEETS, faults

import evlab
from evlab import load_route, load_vehicle, ride
from evlab.converter import NoConverter
from evlab.look import BOOK, THIN, Plate, draw, drawing
from evlab.plots import (
    ChargeRanges,
    StoreRanges,
    cell_fan,
    charge_chart,
    discharge_chart,
    holding,
    joule_bars,
    ledger_rulers,
    ragone_plane,
    short_circuit,
    worst_cells,
)  # fmt: skip
from evlab.plots.chart import Axis
from evlab.plots.store_ranges import cell_limits
from evlab.store_case import StoreCase

FARAD, OHM, FULL, STOP = 46.4, 0.0155, 35.0, 15.0


# ---------------------------------------------------------------- stand-ins: a linear bank, closed forms or small steps
@dataclass(frozen=True)
class Bank:
    kind: str = "capacitors"
    cells_in_series: int = 14
    cell_rated_voltage: float = 2.7
    cell_surge_voltage: float = 2.85
    charge_voltage: float = FULL
    full_voltage: float = FULL

    def full_state(self):
        return np.array([self.charge_voltage])

    def state_at(self, volts):
        return np.array([volts])

    def energy(self, state):
        return 0.5 * FARAD * float(state[0]) ** 2


CHARGER = SimpleNamespace(
    kind="regulated", current_limit=6.0, power_limit=150.0, efficiency=0.88, source_voltage=13.2, source_resistance=0.012,
    source_current_limit=40.0)  # fmt: skip
RESISTOR = SimpleNamespace(
    kind="resistor", series_resistance=6.0, cable_resistance=0.01, source_voltage=36.0, source_resistance=0.1,
    source_current_limit=20.0)  # fmt: skip
CONTROLLER = SimpleNamespace(stop_voltage=STOP, store_current_limit=45.0)
NONE = NoConverter()
VEHICLE = SimpleNamespace(store=Bank(), controller=CONTROLLER, charger=CHARGER, converter=NONE)
PACK = SimpleNamespace(
    kind="lithium", cells_in_series=10, charge_voltage=42.0, full_voltage=41.8, full_state=lambda: 1.0,
    energy=lambda state: 777e3 * state)  # fmt: skip


@dataclass
class Discharge:
    name: str
    load: float
    times: np.ndarray
    volts: np.ndarray
    open_volts: np.ndarray
    amps: np.ndarray
    energy: np.ndarray
    ended: str
    used: float
    esr: float
    slow_branch: float
    left: float
    duration: float


def discharge(name, load, amps_at, end=STOP, step=0.05, ohm=OHM):
    rows, inside, t, used, esr, ended = [], FULL, 0.0, 0.0, 0.0, "stop volts"
    while True:
        amps = amps_at(inside)
        if not np.isfinite(amps):
            ended = "collapse"
            break
        volts = inside - ohm * amps
        rows.append((t, volts, inside, amps, used))
        if volts <= end:
            break
        used, esr, t = used + volts * amps * step, esr + ohm * amps**2 * step, t + step
        inside -= amps * step / FARAD
    columns = np.array(rows or [(0.0, FULL, FULL, 0.0, 0.0)]).T
    return Discharge(name, load, *columns, ended, used, esr, 0.03 * used, 0.5 * FARAD * inside**2, float(columns[0][-1]))


def at_power(watts, ohm=OHM):
    return lambda v: (v - np.sqrt(v * v - 4 * ohm * watts)) / (2 * ohm) if v * v > 4 * ohm * watts else np.nan


def discharges(watts=600.0, amps=30.0, load=1.0, ohm=OHM, end=STOP):
    return (
        discharge("constant power", watts, at_power(watts, ohm), end, ohm=ohm),
        discharge("constant current", amps, lambda v: amps, end, ohm=ohm),
        discharge("resistor", load, lambda v: v / (load + ohm), end, ohm=ohm),
    )


@dataclass
class Case:
    vehicle: object = field(default_factory=lambda: VEHICLE)
    stop: float = STOP
    discharges: tuple = field(default_factory=discharges)
    strings: object = None
    floats: dict = field(default_factory=dict)
    holding: dict = field(default_factory=dict)
    short: object = None
    ragone: dict = field(default_factory=dict)
    dots: dict = field(default_factory=dict)


@dataclass
class Charge:
    columns: dict
    spells: list
    outcome: str = "full"
    vehicle: object = field(default_factory=lambda: VEHICLE)
    stop: float = FULL
    closure: float = 1e-7
    closure_allowed: float = 1e-3

    def __post_init__(self):
        self.duration = float(self.columns["time"][-1])
        self.ledger = {k[7:]: float(v[-1]) for k, v in self.columns.items() if k.startswith("energy_")}
        self.rested_voltage = float(self.columns["open_volts"][-1])
        self.efficiency = -self.ledger["store"] / self.ledger["source"] if self.ledger["source"] else 0.0

    def column(self, name):
        return self.columns[name]


def charge(start=20.0, vehicle=VEHICLE, outcome="full", spread=1.183, rows=None):
    charger, dt = vehicle.charger, 0.25
    t, inside, data, spells = 0.0, start, [], []
    joules = dict.fromkeys(("source", "store", "esr", "slow_branch", "converter", "cable", "leakage", "clamps"), 0.0)
    while len(data) < (rows or 1e5):
        if charger.kind == "resistor":
            amps, by = (charger.source_voltage - inside) / (charger.series_resistance + OHM), "resistor"
            watts_in = charger.source_voltage * amps
        else:
            amps = min(charger.current_limit, charger.power_limit / inside, max((FULL - inside) / OHM, 0.0))
            by = "current limit" if amps == charger.current_limit else "power limit"
            by = "constant voltage" if amps < 0.999 * min(charger.current_limit, charger.power_limit / inside) else by
            watts_in = (inside + OHM * amps) * amps / charger.efficiency
        volts = inside + OHM * amps
        data.append((t, volts, inside, amps, volts * amps, watts_in / charger.source_voltage, spread * inside / 14, inside / 14,
                     *joules.values()))  # fmt: skip
        spells = [*spells[:-1], (spells[-1][0], t, by)] if spells and spells[-1][2] == by else [*spells, (t, t, by)]
        if amps < 0.1 or inside >= FULL - 0.01:
            break
        for key, watts in {
            "source": watts_in, "store": -inside * amps, "esr": -OHM * amps**2, "cable": -0.01 * amps**2,
            "converter": volts * amps - watts_in + 0.01 * amps**2,
        }.items():  # fmt: skip
            joules[key] += dt * watts
        inside, t = inside + amps * dt / FARAD, t + dt
    names = ("time", "store_volts", "open_volts", "charging_amps", "charging_power", "source_amps", "worst_cell_volts",
             "mean_cell_volts", *(f"energy_{k}" for k in joules))  # fmt: skip
    return Charge(dict(zip(names, np.array(data).T, strict=True)), spells, outcome, vehicle)


def strings(volts=35.0, spread=0.2, count=20_000, seed=1):
    farads = np.random.default_rng(seed).uniform(1.0, 1.0 + spread, (count, 14)) if spread else np.ones((count, 14))
    worst = volts / farads.min(1) / (1 / farads).sum(1)
    full = volts / (1 + 13 / (1 + spread))
    return SimpleNamespace(worst=worst, mean=worst.mean(), p95=np.quantile(worst, 0.95), worst_case=full,
                           safe_voltage=volts * 2.7 / full, rated=2.7, surge=2.85, average=volts / 14)  # fmt: skip


def float_run(odd, others, days=30.0):
    times = np.linspace(0, days * 86400, 60)
    fall = 1 - np.exp(-times / 8e5)
    one, rest = 2.5 + (odd - 2.5) * fall, 2.5 + (others - 2.5) * fall
    return SimpleNamespace(times=times, odd=one, others=rest, odd_end=float(one[-1]), others_end=float(rest[-1]))


def hold(ohm):
    times = np.concatenate([[0.0], np.geomspace(60, 366 * 86400, 120)])
    return times, np.exp(-times / (ohm * 650))


def short(current=2258.0, tau=0.72, fuse=40.0):
    times = np.linspace(0, 8 * tau, 300)
    wires = {a * 1e-6: (115 * a) ** 2 for a in (1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0)}
    whole = current**2 * tau / 2
    limits = {a: -tau / 2 * np.log(1 - k / whole) if k < whole else np.inf for a, k in wires.items()}
    return SimpleNamespace(current=current, time_constant=tau, i2t=whole, times=times, amps=current * np.exp(-times / tau),
                           wires=wires, limit_times=limits, fuse=fuse, findings=[])  # fmt: skip


def ragone():
    watts = np.geomspace(10, 19000, 40)
    bank = 23.2e3 * (1 - 0.5 * watts / 19758)
    pack = 216 * 3600 * (0.5 + 0.5 * np.sqrt(np.maximum(1 - watts / 2500, 0)))
    low = watts < 2500
    return {"bank": (watts, bank), "pack": (watts[low], pack[low])}


def case(**changes):
    given = {
        "strings": strings(), "holding": {"leakage alone": hold(1666.7), "with bleeders": hold(151.5)}, "short": short(),
        "floats": {"without bleeders": float_run(1.3, 2.592), "with bleeders": float_run(2.305, 2.515)},
        "ragone": ragone(), "dots": {"trip": (600.0, 12e3)},
    }  # fmt: skip
    return Case(**(given | changes))



def endless():
    """A store that keeps its volts: its current never falls."""
    first = vars(short(300.0, fuse=0.0))
    never = {"i2t": np.inf, "time_constant": np.inf, "limit_times": {a: k / 9e4 for a, k in first["wires"].items()}}
    return SimpleNamespace(**(first | never))


# ---------------------------------------------------------------- cases: plain, then such as strain a picture
RANGES, CHARGING = StoreRanges.around(VEHICLE), ChargeRanges.around(VEHICLE)
AT_ONCE = Discharge("constant power", 19758.0, *(np.array([x]) for x in (0.0, 17.5, 35.0, 1128.7, 0.0)), "collapse", 0.0, 0.0, 0.0,
                    28420.0, 0.0)  # fmt: skip
EMPTY = SimpleNamespace(worst=np.full(50, 1.1), mean=1.1, p95=1.1, worst_case=1.1, safe_voltage=85.9, rated=2.7, surge=2.85,
                        average=1.1)  # fmt: skip
CASES = {
    "plain": case(), "hard": case(discharges=discharges(900.0, 45.0, 0.7), strings=strings(42.0), short=short(9000.0, 3.0)),
    "collapse": case(discharges=discharges(3000.0, 45.0, 0.7, ohm=0.06), strings=strings(35.0, 0.0), dots={}),
    "at once": case(discharges=(AT_ONCE, *discharges(1234.5, 123.4, 0.1234)[1:]), strings=EMPTY, short=short(40.0, 0.01, 0.0),
                    dots={"mean power of the trip": (11.0, 400.0), "top power of the trip": (11.0, 400.0)}),
    "nothing": case(strings=None, floats={}, holding={}, short=endless(), ragone={}, dots={}),
    "kept": case(holding={"leakage alone": hold(1e9), "with bleeders": hold(1e8)}, short=short(1900.0, 0.853),
                 floats={"without bleeders": float_run(2.5, 2.5), "with bleeders": float_run(2.5, 2.5)}),
}  # fmt: skip
PICTURES = {
    "discharge": discharge_chart, "joules": joule_bars, "worst": worst_cells, "fan": cell_fan, "holding": holding,
    "short": short_circuit, "plane": ragone_plane,
}  # fmt: skip
BY_RESISTOR = SimpleNamespace(**(vars(VEHICLE) | {"charger": RESISTOR}))
CHARGES = {
    "plain": charge(), "empty": charge(1.0, outcome="source overloaded"), "resistor": charge(15.0, BY_RESISTOR),
    "one row": charge(20.0, outcome="charger gave up", rows=1), "sorted": charge(33.0, spread=1.0, outcome="time limit"),
}  # fmt: skip


def framed(name):
    """A picture with the frame that its page would give it for this case."""
    return lambda case: PICTURES[name](RANGES.widened(case))


def charge_frame(result):
    return charge_chart(ChargeRanges.around(result.vehicle).widened(result))


STORE = [(p, c) for p in PICTURES for c in CASES]


# ---------------------------------------------------------------- layout
@pytest.mark.parametrize(("picture", "name"), STORE)
def test_no_words_touch_or_are_cut(picture, name):
    for wide, high, dpi in LEDGERS:
        figure, _, _ = draw(framed(picture)(CASES[name]), CASES[name], False, (wide, high), dpi, CASES["plain"])
        with drawing():
            FigureCanvasAgg(figure)
            figure.draw_without_rendering()
            assert faults(figure, 0.03 * dpi) == ([], []), (wide, dpi)


@pytest.mark.parametrize("name", CHARGES)
def test_no_words_of_a_charge_touch_or_are_cut(name):
    for build, sheets in ((charge_frame(CHARGES[name]), SHEETS), (ledger_rulers(), LEDGERS)):
        for wide, high, dpi in sheets:
            figure, _, _ = draw(build, CHARGES[name], False, (wide, high), dpi, CHARGES["plain"])
            with drawing():
                FigureCanvasAgg(figure)
                figure.draw_without_rendering()
                assert faults(figure, 0.03 * dpi) == ([], []), (wide, dpi)


# ---------------------------------------------------------------- movement
def plates():
    """Each picture with results that follow each other, the last of them as at first."""
    for name, build in PICTURES.items():
        yield name, build(RANGES.widened(CASES["hard"])), [CASES[c] for c in ("plain", "nothing", "collapse", "hard", "plain")]
    yield "charge", charge_chart(CHARGING), [CHARGES[c] for c in ("plain", "one row", "sorted", "plain")]


@pytest.mark.parametrize("dark", [False, True])
def test_quick_painting_is_the_full_drawing_and_axes_stand_still(dark):
    for name, build, results in plates():
        plate = Plate(build, dark, (7.31, 5.45), 100)
        before = [(a.get_xlim(), a.get_ylim(), tuple(a.get_position().bounds)) for a in plate.figure.axes]
        for result in results:
            plate.show(result, results[0])
            assert [(a.get_xlim(), a.get_ylim(), tuple(a.get_position().bounds)) for a in plate.figure.axes] == before, name
        figure, _, _ = draw(build, results[-1], dark, (7.31, 5.45), 100, results[0])
        with drawing():
            canvas = FigureCanvasAgg(figure)
            canvas.draw()
        quick, full = (np.asarray(c.buffer_rgba()).astype(int) for c in (plate.canvas, canvas))
        assert plate.full_draws == 1
        assert np.abs(full - quick).max() <= 2, name


def test_a_pinned_result_changes_the_picture_and_leaves_nothing_behind():
    for name, build, results in plates():
        plate = Plate(build, size=(7.31, 5.45))
        plate.show(results[0])
        without = plate.png()
        plate.show(results[0], results[-2])
        assert plate.png() != without, name
        assert any("pinned" in t.get_text() for owner in (plate.figure, *plate.figure.axes) for t in owner.texts), name
        plate.show(results[0])
        assert plate.png() == without, name


# ---------------------------------------------------------------- frames
def test_a_frame_grows_only_for_what_leaves_it():
    assert RANGES.widened(CASES["plain"]) is RANGES
    wide = RANGES.widened(CASES["hard"])
    assert wide.amps[1] > max(CASES["hard"].discharges[0].amps)
    assert (wide.time, wide.volts, wide.cell) == (RANGES.time, RANGES.volts, RANGES.cell)
    assert CHARGING.widened(CHARGES["plain"]) is CHARGING
    slow = CHARGING.widened(CHARGES["empty"])
    assert slow.time > CHARGES["empty"].duration > CHARGING.time
    assert slow.volts == CHARGING.volts


def test_frames_of_a_pack_and_of_a_resistor():
    limits = SimpleNamespace(stop_voltage=30.0, store_current_limit=45.0)
    pack = SimpleNamespace(store=PACK, controller=limits, charger=CHARGER, converter=NONE)
    assert StoreRanges.around(pack).volts == (0.0, pytest.approx(1.05 * 42))
    assert ChargeRanges.around(pack).cell[0] < 4.2 < ChargeRanges.around(pack).cell[1]
    assert cell_limits(PACK) == {"full": pytest.approx(4.2)}
    by = ChargeRanges.around(BY_RESISTOR)
    assert by.amps[1] > (36 - 15) / 6.0155
    assert by.time > CHARGES["resistor"].duration > by.time / 4


# ---------------------------------------------------------------- words
def told():
    yield from ((name, build, result) for name, build, results in plates() for result in results[:-1])
    yield from (("charge", charge_frame(result), result) for result in CHARGES.values())
    yield from ((p, framed(p)(CASES[c]), CASES[c]) for p, c in STORE)


def test_readings_are_one_sentence_and_stand_in_the_alt_text():
    for name, build, result in told():
        alt, reading = Plate(build, size=(7.31, 5.1)).show(result)
        assert reading in alt, name
        assert len(alt.split()) <= 80, (name, alt)
        assert reading.endswith("."), name
        assert reading.count(". ") == 0, (name, reading)
        assert not {"nan", "inf", "infinite"} & set(alt.replace(THIN, " ").split()), (name, alt)


def reading(name, result):
    return Plate(framed(name)(result), size=(7.31, 5.1)).show(result)[1].replace(THIN, " ")


def test_readings_tell_what_the_closed_forms_say():
    """The design sheet's dead short and worst string: E/R = V^2 C/(2 R), V (1 + 13 b/s)^-1 (derived, S13 and S19)."""
    assert "constant current (30 A) reaches the stop volts after 30." in reading("discharge", CASES["plain"])
    assert "Constant power (3000 W) collapses" in reading("discharge", CASES["collapse"])
    assert "2.96 V in the worst case" in reading("worst", CASES["plain"])
    assert "31.9 V" in reading("worst", CASES["plain"])
    assert "1.84 million A²s through the loop (E/R): 10 mm² is past its limit" in reading("short", CASES["plain"])
    assert "16 mm² bears all of it; only the fuse of 40 A" in reading("short", CASES["plain"])
    assert "goes on: 4 mm² is past its limit after 2.35 s" in reading("short", CASES["nothing"])
    assert "31.7 h with leakage alone and for 2.88 h with bleeders" in reading("holding", CASES["plain"])
    assert "longer than" in reading("holding", CASES["kept"])
    assert "600 W (trip) this is given: bank 6.3" in reading("plane", CASES["plain"])


def test_a_charge_tells_its_cell_and_what_held_it():
    words = Plate(charge_frame(CHARGES["plain"])).show(CHARGES["plain"])[1].replace(THIN, " ")
    assert "the power limit holds the charger" in words
    assert "the fullest cell ends at 2.96 V, above its rated 2.7 V and surge 2.85 V" in words
    assert Plate(ledger_rulers(), size=(7.31, 4.4)).show(CHARGES["plain"])[1].startswith("The source gave ")
    assert {by for result in CHARGES.values() for _, _, by in result.spells} <= set(BOOK["held"])


def test_bars_are_all_there_was():
    plate = Plate(joule_bars(), size=(7.31, 4.6))
    plate.show(CASES["plain"])
    bars = [p for p in plate.figure.axes[0].patches if isinstance(p, Rectangle)]
    for y in {bar.get_y() for bar in bars}:
        row = sorted((bar for bar in bars if bar.get_y() == y), key=lambda bar: bar.get_x())
        assert [len(row), row[0].get_x()] == [4, 16]
        assert row[-1].get_x() + row[-1].get_width() == pytest.approx(731 - 16)


@pytest.mark.parametrize(("low", "high", "words"), [
    (0.1, 1e4, ["0.1", "1", "10", "100", "1000", "10⁴"]), (1e-4, 1e-3, ["10⁻⁴", "0.001"]), (1e5, 1e6, ["10⁵", "10⁶"]),
])  # fmt: skip
def test_a_logarithmic_axis_has_powers_of_ten(low, high, words):
    axis = Axis.log(low, high)
    assert [w for _, w in axis.ticks] == words
    assert axis.ticks[0][0] == pytest.approx(np.log10(low))


# ---------------------------------------------------------------- the real ones
@pytest.fixture(scope="module", params=["two_shed_trike", "kick_scooter"])
def vehicle(request):
    return load_vehicle(request.param)


def test_the_real_case_is_drawn_as_the_stand_in_is(vehicle):
    """A bank and a pack, each with the other beside it: every picture that its page shows."""
    beside = load_vehicle({"capacitors": "kick_scooter", "lithium": "two_shed_trike"}[vehicle.store.kind])
    real = StoreCase(vehicle, power=400.0, current=15.0, load=2.0, pack=beside, trip=ride(vehicle, load_route("two_sheds_up")))
    ranges = StoreRanges.around(vehicle).widened(real)
    for name, build in PICTURES.items():
        figure, alt, words = draw(build(ranges), real, size=(7.31, 5.45))
        with drawing():
            FigureCanvasAgg(figure)
            figure.draw_without_rendering()
            assert faults(figure, 3) == ([], []), name
        assert words in alt, name
        assert len(alt.split()) <= 80, name


def test_the_real_charge_is_drawn_as_the_stand_in_is(vehicle):
    real = evlab.charge(vehicle)
    for build in (charge_chart(ChargeRanges.around(vehicle).widened(real)), ledger_rulers()):
        figure, alt, words = draw(build, real, size=(7.31, 5.45))
        with drawing():
            FigureCanvasAgg(figure)
            figure.draw_without_rendering()
            assert faults(figure, 3) == ([], [])
        assert words in alt
    assert {by for _, _, by in real.spells} <= set(BOOK["held"])
