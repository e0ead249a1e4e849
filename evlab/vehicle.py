"""The vehicle: all parts put together, from one file that travels through the notebooks.

A Vehicle never changes; `change` and `adopt` make another one.  Its text is made only when it is asked for or saved.
"""

from __future__ import annotations

import datetime
import html
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, NoReturn

from evlab import data, keeping
from evlab.cautions import Caution, of_vehicle
from evlab.chargers import RegulatedCharger, ResistorCharger
from evlab.controller import Controller
from evlab.converter import Converter, NoConverter
from evlab.demands import PowerHeld
from evlab.driver import SetSpeed, ThrottleHeld
from evlab.gearing import Gearing
from evlab.glossary import GLOSSARY, nearest
from evlab.lithium import CELL_VOLTS, LithiumPack
from evlab.motor import DRESSES_OF, Motor
from evlab.motor_parts import Magnets, Winding
from evlab.road import Road, effective_mass
from evlab.store import CapacitorBank
from evlab.supply import Supply
from evlab.units import InputError
from evlab.vehicle_file import DESIGN, KINDS, PARTS, TABLES, fields_of, places, read_bytes, read_text, table_of, usual, written
from evlab.vehicle_values import BASES, Value, adopted, changed, known, refuse, rows_found, shown, with_enamel
from evlab.wiring import short_cautions

__all__ = ["Costs", "Identity", "Load", "Vehicle", "load_vehicle"]


@dataclass(frozen=True)
class Identity:
    """The [vehicle] table: name, note, whether it is invented; masses [kg] of what is no part of its own; where its wheels are,
    its geometry [m] and its grip (see footing), 0 where not stated."""

    name: str
    note: str
    invented: bool
    frame_mass: float
    allowance_mass: float
    wheels_rotating_mass: float
    wheels: str
    wheelbase: float
    track: float
    mass_height: float
    mass_share: float
    driven: str
    tyre_grip: float


@dataclass(frozen=True)
class Load:
    """The [load] table: rider and cargo [kg]."""

    rider: float
    cargo: float

    @property
    def mass(self) -> float:
        """Rider and cargo together [kg]."""
        return self.rider + self.cargo


@dataclass(frozen=True)
class Costs:
    """The [costs] table: plain numbers, prices in the maker's own money, 0 where nothing is stated."""

    store_price: float
    store_cycles: float
    store_years: float
    energy_price: float
    trips_per_day: float


_MAKERS: dict[str, Any] = {"vehicle": Identity, "load": Load, "costs": Costs, **PARTS}


class Vehicle:
    """All parts of one vehicle, read-only, one attribute for each table of its file.

    Made by `load_vehicle`, `Vehicle.from_text`, or from another one by `change` and `adopt`.
    """

    vehicle: Identity
    load: Load
    store: CapacitorBank | LithiumPack | Supply
    converter: NoConverter | Converter
    motor: Motor
    magnets: Magnets
    winding: Winding
    controller: Controller
    gearing: Gearing
    road: Road
    driver: SetSpeed | ThrottleHeld | PowerHeld
    charger: RegulatedCharger | ResistorCharger
    costs: Costs
    _values: dict[str, Value]
    _origin: keeping.Origin

    def __init__(self, values: Mapping[str, Value], origin: keeping.Origin,
                 parts: Mapping[str, Any] | None = None) -> None:
        """From checked values; for use by this module.  `parts` are those that need not be made again."""
        made = {t: (parts or {}).get(t) or _part(t, values, origin) for t in TABLES}
        self.__dict__.update({t.rpartition(".")[2]: part for t, part in made.items()}, _values=dict(values), _origin=origin)
        _together(self)

    def __setattr__(self, name: str, value: object) -> NoReturn:
        raise AttributeError(f"A vehicle never changes: instead of setting {name}, write vehicle = vehicle.change(...)")

    @classmethod
    def from_text(cls, text: str, name: str = "a vehicle") -> Vehicle:
        """A vehicle from the text of a vehicle file; `name` stands in messages.  Raises InputError in words."""
        values = read_text(text, name)
        return cls(values, keeping.Origin(text, values, name, None, places(text, name)))

    # ------------------------------------------------------------ what it says
    @property
    def name(self) -> str:
        return self.vehicle.name

    @property
    def path(self) -> Path | None:
        """The file it was read from; None for a text."""
        return self._origin.path

    @property
    def kept(self) -> datetime.datetime | None:
        """When its file was last changed; None without one."""
        if self.path is None or not self.path.is_file():
            return None
        return datetime.datetime.fromtimestamp(self.path.stat().st_mtime).astimezone()

    @cached_property
    def mass(self) -> float:
        """Everything that is lifted: frame, allowance, parts, rider and cargo [kg]."""
        parts = (self.store, self.converter, self.motor, self.controller, self.gearing, self.load)
        return math.fsum([self.vehicle.frame_mass, self.vehicle.allowance_mass, *(p.mass for p in parts)])

    @cached_property
    def effective_mass(self) -> float:
        """What has to be accelerated: the mass, the wheels' inertia and the rotor's through the gearing [kg]."""
        return float(effective_mass(self.mass, self.vehicle.wheels_rotating_mass, self.motor.inertia,
                                    self.gearing.ratio, self.gearing.wheel_radius))

    @cached_property
    def cautions(self) -> list[Caution]:
        """What to be careful about with this vehicle, the worst first."""
        return of_vehicle(self, short_cautions(self))

    @cached_property
    def text(self) -> str:
        """The vehicle file's text with the present values, comments kept."""
        return written(self._origin.text, self._origin.values, self._values)

    def value(self, name: str) -> Value:
        """What is known of a field, "store.mass": its value [SI], basis (assumed, designed, measured), spread [SI]."""
        if name not in self._values:
            raise _no_field(name, self._values)
        return self._values[name]

    def values(self) -> dict[str, Value]:
        """All fields with their values, in the order of the file's tables."""
        return dict(self._values)

    def differences(self, other: Vehicle) -> dict[str, tuple[Any, Any]]:
        """{field: (value here [SI], value there [SI])} where the two differ; None where one has no such field."""
        mine, theirs = self._values, other._values
        pairs = {f: tuple(side[f].value if f in side else None for side in (mine, theirs)) for f in {**mine, **theirs}}
        return {f: (a, b) for f, (a, b) in pairs.items() if a != b}

    # ------------------------------------------------------------ another one
    def change(self, values: Mapping[str, Any] | None = None, *, vehicle: Mapping[str, Any] | None = None,
               load: Mapping[str, Any] | None = None, store: Mapping[str, Any] | None = None,
               motor: Mapping[str, Any] | None = None, controller: Mapping[str, Any] | None = None,
               gearing: Mapping[str, Any] | None = None, road: Mapping[str, Any] | None = None,
               driver: Mapping[str, Any] | None = None, converter: Mapping[str, Any] | None = None,
               charger: Mapping[str, Any] | None = None, costs: Mapping[str, Any] | None = None,
               magnets: Mapping[str, Any] | None = None, winding: Mapping[str, Any] | None = None) -> Vehicle:
        """A copy with other values; this one stays as it is.

        Parameters: `values`, {"store.cell_capacitance": "350 F"}; `vehicle`, `load`, `store`, `motor`, `controller`,
        `gearing`, `road`, `driver`, `converter`, `charger`, `costs`, `magnets` and `winding`, the same by table:
        store={"cell_capacitance": 350.0}; the last two are [motor.magnets] and [motor.winding].
        A number is SI, a text carries its unit, a Quantity is checked.  A new value counts as designed or assumed (found fields);
        a number keeps the relative spread of what it replaces, a text says all there is.  Another kind needs its own fields;
        those of the old one drop out.  Another bare wire without its enamel takes that of its row, assumed.
        Raises InputError in words; for an unknown name with the nearest one.
        """
        tables = {"vehicle": vehicle, "load": load, "store": store, "motor": motor, "controller": controller,
                  "gearing": gearing, "road": road, "driver": driver, "converter": converter, "charger": charger, "costs": costs,
                  "motor.magnets": magnets, "motor.winding": winding}
        for name, rows in (("values", values), *tables.items()):
            if rows is not None and not isinstance(rows, Mapping):
                must = "a mapping, like {'store.mass': '4 kg'} or store={'mass': '4 kg'}"
                raise refuse(f"{name.rpartition('.')[2]} of change", must, rows)
        given = dict(values or {})
        for table, rows in tables.items():
            given.update({f"{table}.{key}": raw for key, raw in (rows or {}).items()})
        now = dict(self._values)
        for name in (f"{table}.kind" for table in KINDS):
            if name in given:
                now = _switch(now, name, given)
        for name, raw in given.items():
            if name not in now:
                raise _no_field(name, now)
            now[name] = changed(now[name], raw)
        touched = {table_of(name) for name in given}
        kept = {t: self._part_of(t) for t in TABLES if t not in touched}
        return Vehicle(with_enamel(now, given, self._values), self._origin, kept)

    def with_store(self, other: Vehicle) -> Vehicle:
        """A copy that carries the whole [store] of another vehicle, with all that is known of it, and its mass."""
        if not isinstance(other, Vehicle):
            raise refuse("other of with_store", "a vehicle", type(other).__name__)
        now = {f: v for t in TABLES for f, v in (other if t == "store" else self)._values.items() if table_of(f) == t}
        return Vehicle(now, self._origin, {t: self._part_of(t) for t in TABLES if t != "store"})

    def adopt(self, found: Any, only: Iterable[str] | None = None, *, basis: str = "measured") -> Vehicle:
        """A copy with values taken over that were measured, or worked out from a design; what else is known is kept beside them.

        Parameters: `found`, {field: (value, spread) or (value, spread, log)} in SI or text, or an object whose table()
        has fields as its index and the columns value and sd; `only`, the fields to take (all by default); `basis`, "measured",
        "designed" or "assumed".  Raises InputError in words.
        """
        rows = rows_found(found)
        if basis not in BASES:
            raise refuse("basis of adopt", '"measured", "designed" or "assumed"', repr(basis))
        chosen = list(rows) if only is None else ([only] if isinstance(only, str) else list(only))
        now = dict(self._values)
        for name in chosen:
            if name not in rows:
                raise refuse("only of adopt", f"what was found ({', '.join(rows)})", repr(name), nearest(name, rows))
            if name not in now:
                raise _no_field(name, now)
            value, spread, log = rows[name]
            now[name] = adopted(now[name], value, spread, log, basis)
        return Vehicle(now, self._origin)

    def save(self, path: str | Path | None = None) -> keeping.Kept:
        """Keep the vehicle in its file, or in `path`; returns the path, which shows in words what was done.

        Saving is atomic and keeps comments.  Files under data/ are never written: a demonstration vehicle goes to the
        learner's own file.  A file that is not the one that was read is left alone: the vehicle is written beside it.
        """
        return keeping.keep(self.text, self._origin, path)

    def _part_of(self, table: str) -> Any:
        return getattr(self, table.rpartition(".")[2])

    # ------------------------------------------------------------ how it shows itself
    def _table(self) -> list[tuple[str, str, str, str]]:
        rows = [(v.field, v.entry.label, shown(v.entry, v.known[v.basis]), v.basis if v.entry.kind != "text" else "")
                for v in self._values.values() if self.magnets.stated or v.entry.table not in DESIGN]
        return [*rows, ("", "Mass, all together", f"{self.mass:.6g} kg", "computed"),
                ("", "Effective mass", f"{self.effective_mass:.6g} kg", "computed")]

    def __repr__(self) -> str:
        return "\n".join([f"{self.name} ({self._origin.name})",
                          *(f"  {field:<32} {said:<28} {basis}".rstrip() for field, label, said, basis in
                            ((f or name, name, s, b) for f, name, s, b in self._table()))])

    def _repr_html_(self) -> str:
        cells = "".join("<tr>" + "".join(f"<td style='text-align:left'>{html.escape(c)}</td>" for c in row) + "</tr>"
                        for row in self._table())
        head = "".join(f"<th scope='col' style='text-align:left'>{c}</th>" for c in ("field", "name", "value", "basis"))
        return (f"<table><caption>{html.escape(self.name)} ({html.escape(self._origin.name)})</caption>"
                f"<thead><tr>{head}</tr></thead><tbody>{cells}</tbody></table>")


def load_vehicle(name_or_path: str | Path | None = None) -> Vehicle:
    """A vehicle from its file.

    Parameters: `name_or_path`, a demonstration vehicle of data/vehicles by its name, such as "two_shed_trike"; a path
    to a .toml file; or nothing: the learner's own file, notebooks/mine/vehicle.toml, copied from the demonstration at
    the first call (another folder by the environment variable EVLAB_MINE).
    Raises FileNotFoundError with the nearest name; InputError: one sentence with file, line, field, what was received
    and what would be right.
    """
    if name_or_path is None:
        return _from_path(keeping.own_file())
    given: Any = name_or_path
    if not isinstance(given, str | Path) or not str(given).strip():
        raise refuse("name_or_path of load_vehicle", "a name like 'two_shed_trike', a path, or nothing", repr(name_or_path))
    path = Path(name_or_path)
    if path.suffix or len(path.parts) != 1 or (len(path.name) < 256 and path.is_dir()):
        return _from_path(path)
    names = [n[9:-5] for n in data.names() if n.startswith("vehicles/") and n.endswith(".toml")]
    if str(name_or_path) not in names:
        raise FileNotFoundError(f"There is no vehicle {str(name_or_path)!r}.{nearest(name_or_path, names)} Ours: "
                                f"{', '.join(names)}. Your own: load_vehicle() without a name, or a path.")
    file = f"vehicles/{name_or_path}.toml"
    return _made(data.read_text(file), data.path(file))


def _from_path(path: Path) -> Vehicle:
    return _made(read_bytes(path), path.resolve())


def _made(text: str, path: Path) -> Vehicle:
    values = read_text(text, path.name)
    return Vehicle(values, keeping.Origin(text, values, path.name, path, places(text, path.name)))


# ---------------------------------------------------------------- parts from values
def _part(table: str, values: Mapping[str, Value], origin: keeping.Origin) -> Any:
    kind = values[f"{table}.kind"].value if table in KINDS else ""
    maker = KINDS[table][kind] if kind else _MAKERS[table]
    try:
        return maker(**{name.rpartition(".")[2]: values[name].value for name in fields_of(table, kind)
                        if not (kind and name == f"{table}.kind")})
    except InputError as wrong:  # a part knows its fields, not the lines they stand in
        short, told, rest = str(wrong).removeprefix("Input ").partition(f" of [{table}]")
        name = f"{table}.{short}"
        raise InputError(f"Input {_place(name, values, origin)}{rest}" if told and name in values else str(wrong)) from None


def _place(name: str, values: Mapping[str, Value], origin: keeping.Origin) -> str:
    """The words that name a field, with its line where it is as it was read."""
    e = GLOSSARY[name]
    return origin.where(name) if values[name] == origin.values.get(name) else f"{e.short} of [{e.table}]"


def _together(v: Vehicle) -> None:
    """What the parts must agree on.  Raises InputError in words."""
    def wrong(name: str, must: str, got: str) -> InputError:
        return refuse(_place(name, v._values, v._origin), must, got)

    if v.mass <= 0:
        raise wrong("vehicle.frame_mass", "such that the total mass is above zero", "a total of 0 kg")
    low, high = v.controller.stop_voltage, v.controller.resume_voltage
    if high < low:
        raise wrong("controller.resume_voltage", f"at least the stop volts, {low:g} V", f"{high:g} V")
    right = DRESSES_OF[v.motor.kind]
    if v.motor.dress not in right:
        must = " or ".join(f'"{d}"' for d in right) + f" for the kind {v.motor.kind!r}"
        raise wrong("motor.dress", must, repr(v.motor.dress))
    for one, other in (("shaft_driver_teeth", "shaft_driven_teeth"), ("shaft_driven_teeth", "shaft_driver_teeth")):
        teeth = getattr(v.gearing, one)
        if teeth < 7 and (teeth or getattr(v.gearing, other)):
            raise wrong(f"gearing.{one}", f"7 or more, or 0 together with {other} where there is one stage", f"{teeth}")
    _cells_together(v.store, wrong)
    name, volts = "controller.stop_voltage", low
    if isinstance(v.converter, Converter):
        name, volts, bus = "converter.minimum_voltage", v.converter.minimum_voltage, v.converter.bus_voltage
        if bus <= low:
            raise wrong("converter.bus_voltage", f"above the stop volts, {low:g} V, or the drive never runs", f"{bus:g} V")
    if volts >= (full := min(v.store.full_voltage, getattr(v.store, "charge_voltage", math.inf))):  # a pack may be charged to less
        raise wrong(name, f"below the {full:.4g} V of the charged store, or the drive never runs", f"{volts:g} V")


def _cells_together(s: CapacitorBank | LithiumPack | Supply, wrong: Callable[[str, str, str], InputError]) -> None:
    if isinstance(s, CapacitorBank) and s.cell_surge_voltage < s.cell_rated_voltage:
        must = f"at least the rated cell volts, {s.cell_rated_voltage:g} V"
        raise wrong("store.cell_surge_voltage", must, f"{s.cell_surge_voltage:g} V")
    if isinstance(s, LithiumPack):
        full, empty = s.cells_in_series * CELL_VOLTS[s.chemistry][2], s.open_voltage(s.state_at_share(0.0))
        if not empty < s.charge_voltage <= full * (1 + 1e-9):
            must = f"above {empty:.4g} V and at most {full:.4g} V, the limits of {s.cells_in_series} {s.chemistry} cells"
            raise wrong("store.charge_voltage", must, f"{s.charge_voltage:g} V")


# ---------------------------------------------------------------- changes
def _no_field(name: object, there: Mapping[str, Value]) -> InputError:
    e = GLOSSARY.get(str(name))
    if e is not None and e.table in KINDS:
        hint = f" It goes with another {e.table}.kind than {there[f'{e.table}.kind'].value!r}."
    else:
        table, _, key = str(name).rpartition(".")
        homes = [f for f in there if f.rpartition(".")[2] == key or (table and f.startswith(str(name)))]
        hint = f" Did you mean {homes[0]!r}?" if homes and str(name) not in there else nearest(name, there)
    return refuse("name", "a field of the vehicle, like 'store.cell_capacitance'", repr(name), hint)


# What both kinds of cells have and say of their own cells only.
_OF_THE_CELLS = ("store.cells_in_series", "store.cell_resistance", "store.charge_voltage")


def _switch(now: dict[str, Value], name: str, given: Mapping[str, Any]) -> dict[str, Value]:
    """Another kind of a part: the old one's fields go; the new one's without a default must be given, cells anew."""
    table = table_of(name)
    kind = known(GLOSSARY[name], given[name], f"kind of [{table}]", numbers_are_si=True).value
    wanted = fields_of(table, kind)
    stays = now if kind == now[name].value else {f: v for f, v in now.items() if f not in _OF_THE_CELLS}
    lacking = [f for f in wanted if f not in stays and f not in given and GLOSSARY[f].default is None]
    if lacking:
        raise refuse(f"kind of [{table}]", f"changed to {kind!r} together with {', '.join(lacking)}", "the kind alone")
    made: dict[str, Value] = {}
    for t in TABLES:
        for f in wanted if t == table else [f for f in now if table_of(f) == t]:
            made[f] = now.get(f) or usual(GLOSSARY[f])  # given ones follow
    return made
