"""The row above a bench that chooses its route: ours, the learner's own, or a file added on the page; and Keep."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import ipywidgets

from evlab import data, keeping
from evlab.cautions import gravest
from evlab.glossary import entry
from evlab.look import setting, shown
from evlab.route import Route
from evlab.route_files import DEMO, KINDS, OWN, keep_route, load_route, read_route
from evlab.units import InputError, read
from evlab.workbench.bench import Workbench
from evlab.workbench.controls import fault
from evlab.workbench.head import place
from evlab.workbench.page import Page
from evlab.workbench.style import escape, state_line
from evlab.workbench.turns import TURN

__all__ = ["RouteBox", "Source", "case_words", "metres", "on_route", "outcome_of", "sources_there"]

_FLAT = {"margin": "0"}
LATEST = 500.0  # m: a longer smoothing makes every hill flat


@dataclass(frozen=True)
class Source:
    """One route of the list: `label` as it is shown; `name` of ours, or `path` of a file, or `raw`, the bytes of a file `name`."""

    label: str
    name: str = ""
    path: Path | None = None
    raw: bytes | None = None
    route: Route | None = None  # one made in code

    def read(self, speed: float | None = None, smoothing: float | None = None) -> Route:
        """The route; speed [m/s] and smoothing [m] go with a track, which states neither."""
        if self.route is not None:
            return self.route
        if self.raw is not None:
            return read_route(self.raw, self.name, speed=speed, smoothing=smoothing)
        return load_route(self.path or self.name, speed=speed, smoothing=smoothing)

    def keep(self, speed: float | None, smoothing: float | None) -> keeping.Kept:
        """Make it the learner's own route; see evlab.keep_route."""
        if self.route is not None:
            raise InputError("Input route of Keep must be a file or one of ours; instead it was made in code, "
                             "where it can be made again.")
        if self.raw is not None:
            return keep_route(self.raw, self.name, speed=speed, smoothing=smoothing)
        path = self.path or data.path(f"routes/{self.name}.toml")
        return keep_route(_track(path) if speed is not None or smoothing is not None else path, speed=speed, smoothing=smoothing)


def _track(path: Path) -> Path:
    """The track that a TOML file reads, or the file itself."""
    if path.suffix.lower() != ".toml":
        return path
    said = tomllib.loads(path.read_text(encoding="utf-8")).get("track")
    return path.parent / said if said else path


def sources_there() -> list[Source]:
    """What there is to choose: the learner's own first, then ours, then other files in the learner's folder."""
    folder, made = keeping.own_folder(), []
    if (folder / OWN).is_file():
        made.append(Source("My route", path=folder / OWN))
    ours = sorted(name[7:-5] for name in data.names() if name.startswith("routes/") and name.endswith(".toml"))
    made += [Source(_ours(name), name=name) for name in ours]
    if folder.is_dir():
        files = sorted(p for p in folder.iterdir() if p.suffix.lower() in KINDS and p.name not in (OWN, "vehicle.toml"))
        made += [Source(f"{p.name} (in mine/)", path=p) for p in files if _may_be(p)]
    return made


def _ours(name: str) -> str:
    return f"{name.replace('_', ' ').capitalize()} (invented)"


OURS = _ours(DEMO)


def _may_be(path: Path) -> bool:
    """Whether a file may be a route: of TOML files, which may be vehicles, those that speak of segments or a track."""
    if path.suffix.lower() != ".toml":
        return True
    text = path.read_text(encoding="utf-8", errors="replace")
    return "[[segment]]" in text or "track" in text.split("[", 1)[0]


class RouteBox(ipywidgets.VBox):
    """The row "Route" of a bench.  `make(route)` gives the page of a route; `first` is the route that the bench already has.

    Nothing is written but by `keep`, the method behind the button.  A file that cannot be read leaves the bench as it was.
    """

    def __init__(self, bench: Workbench, make: Callable[[Route], Page], first: Route, source: Source) -> None:
        self.bench, self.make, self.route, self.source, self.added = bench, make, first, source, list[Source]()
        self.stated: tuple[float | None, float | None] = (None, None)  # posted speed and smoothing that the reader chose
        self._quiet = False
        self._widgets()
        super().__init__([self.row, self.words, self.told, self.trouble])
        self.add_class("ev-route")
        self._show()
        bench.above.children = (self,)

    def _widgets(self) -> None:
        box: dict[str, Any] = {"continuous_update": False, "layout": {"width": "auto", "margin": "0"}}
        wide = {"description_width": "initial"}
        self.choice = ipywidgets.Dropdown(description="Route", style=wide, layout={"width": "auto", "margin": "0"},
                                          tooltip="The way that this page rides")
        self.upload = ipywidgets.FileUpload(accept=",".join(KINDS), multiple=False, description="Add a file",
                                            tooltip="A track (.gpx), a table (.csv) or a route file (.toml); it stays in memory "
                                                    "until kept")
        self.other_way = ipywidgets.ToggleButton(description="The other way", tooltip="From the end to the start")
        self.speed = ipywidgets.Text(description="Posted speed", style=wide, **box,
                                     tooltip="The speed at which the track is to be ridden, such as 5 m/s or 18 km/h")
        self.smoothing = ipywidgets.Text(description="Smoothed over", style=wide, **box,
                                         tooltip="Heights are evened out over this length, such as 40 m")
        self.keeper = ipywidgets.Button(description="Keep as my route",
                                        tooltip="Writes it into notebooks/mine, where every page finds it; nothing else writes it")
        self.words, self.told, self.trouble = (ipywidgets.HTML(layout=_FLAT) for _ in range(3))
        self.row = ipywidgets.HBox([self.choice, self.other_way, self.speed, self.smoothing, self.upload, self.keeper])
        self.row.add_class("ev-route-row")
        self.choice.observe(lambda change: self._do(self._chosen), "value")
        self.upload.observe(lambda change: self._do(self._uploaded), "value")
        self.other_way.observe(lambda change: self._do(self._again), "value")
        for written in (self.speed, self.smoothing):
            written.observe(lambda change: self._do(self._written), "value")
        self.keeper.on_click(lambda _: self._do(self.keep))

    # ------------------------------------------------------------ what happens
    def _do(self, act: Callable[[], None]) -> None:
        """Do it, one at a time; what cannot be is told under the row, and the bench stays as it was."""
        with TURN:
            if self._quiet:
                return
            self.trouble.value = self.told.value = ""
            try:
                act()
            except Exception as error:  # noqa: BLE001  shown under the row; JupyterLab would show it nowhere
                wrong = InputError(f"{error.strerror or error}: {error.filename or ''}") if isinstance(error, OSError) else error
                self.trouble.value = fault(wrong)
                if act != self._written:
                    self._show()  # the row tells again what the bench has; what was typed stays to be corrected

    def _chosen(self) -> None:
        source = next(s for s in self._list if s.label == self.choice.value)
        self._go(source, (None, None))

    def _again(self) -> None:
        self._go(self.source, self.stated)

    def _written(self) -> None:
        """Posted speed and smoothing as typed; what is left as it was goes on being what the file says."""
        speed = read(_with(self.speed.value, "m/s"), entry("speed"), "Posted speed").value
        smoothing = read(_with(self.smoothing.value, "m"), entry("distance"), "Smoothed over").value
        if not 0 < speed <= 40:
            raise InputError(f"Input Posted speed must be above 0 m/s and at most 40 m/s; instead received {self.speed.value!r}.")
        if not 0 <= smoothing <= LATEST:
            raise InputError(f"Input Smoothed over must be 0 m to {LATEST:g} m; instead received {self.smoothing.value!r}.")
        before = self.stated
        posted = before[0] if self.speed.value == self._said[0] else speed
        self._go(self.source, (posted, before[1] if self.smoothing.value == self._said[1] else smoothing))

    def _uploaded(self) -> None:
        """A file that was added: it is read from memory, and kept only by Keep."""
        if not self.upload.value:
            return
        file = self.upload.value[0]
        self._quiet = True
        self.upload.value = ()  # the same file can be added again, after it was mended
        self._quiet = False
        self.add(str(file["name"]), bytes(file["content"]))

    def add(self, name: str, raw: bytes) -> None:
        """Ride the file `name` with the bytes `raw`.  Raises InputError in words when it cannot be read."""
        source = Source(f"{name} (not kept)", name=name, raw=raw)
        self._go(source, (None, None))
        self.added = [s for s in self.added if s.label != source.label] + [source]

    def _go(self, source: Source, stated: tuple[float | None, float | None]) -> None:
        """The bench on this route.  Raises what reading it or riding it raises; then nothing has changed."""
        forward = source.read(*stated)
        self.bench.take(self.make(forward.reversed() if self.other_way.value else forward))
        self.source, self.stated, self.route = source, stated, forward
        self._show()

    def keep(self) -> None:
        """Write the route into the learner's folder: the only thing here that does.  Says where."""
        kept = self.source.keep(*self.stated)
        self.added = [s for s in self.added if s is not self.source]
        self.source, self.stated = sources_there()[0], (None, None)
        way = " It is kept as it was read; the other way stays a switch." if self.other_way.value else ""
        self._show()
        self.told.value = state_line("ok", "kept", escape(f"{kept!r} ({place(Path(kept))}) Every page opens with it.{way}"))

    # ------------------------------------------------------------ what it shows
    def _list_anew(self) -> None:
        self._list = [*sources_there(), *self.added]
        if self.source.label not in [s.label for s in self._list]:
            self._list.append(self.source)

    def _show(self) -> None:
        """The row as it stands: the source, its speed and smoothing where it is a track, and what was mended on reading."""
        track = self.route.raw is not None
        self._list_anew()
        self._quiet = True
        try:
            labels = [s.label for s in self._list]
            if list(self.choice.options) != labels:
                self.choice.options = labels
            self.choice.value = self.source.label
            posted = [v for _, v in self.route.limits]
            self.speed.value = setting(round(posted[0], 3), "m/s") if len(posted) == 1 else ""
            self.smoothing.value = setting(round(self.route.smoothing, 1), "m")
            self._said = self.speed.value, self.smoothing.value
        finally:
            self._quiet = False
        _see(self.speed, track and len(posted) == 1)
        _see(self.smoothing, track)
        self.words.value = _summary(self.route, bool(self.other_way.value))


def _with(text: str, unit: str) -> str:
    """A bare number counts in the unit that the box shows."""
    return f"{text.strip()} {unit}" if text.strip().replace(",", ".").replace(".", "", 1).isdigit() else text


def _summary(route: Route, turned: bool) -> str:
    """The way in numbers, what smoothing does, and what was mended on reading, as HTML."""
    up, down = (route.descent, route.climb) if turned else (route.climb, route.descent)
    at, slope = route.reversed().steepest() if turned else route.steepest()
    said = [f"{shown(route.length, 'm')}, up {metres(up)} and down {metres(down)}"]
    if slope > 0.002:
        said.append(f"steepest {shown(100 * slope, '%')} over 20 m, at {shown(at, 'm')}")
    line = f'<p class="ev-quiet">{escape("; ".join(said))}.</p>'
    if not route.repairs:
        return line
    mended = "".join(f"<li>{escape(r)}</li>" for r in route.repairs)
    count = f"{len(route.repairs)} thing{'s' if len(route.repairs) > 1 else ''} to know about this file"
    return f'{line}<details open class="ev-repairs"><summary>{count}</summary><ul>{mended}</ul></details>'


def _see(widget: Any, seen: bool) -> None:
    (widget.remove_class if seen else widget.add_class)("ev-behind")


def on_route(make: Callable[[Route], Page], route: Route | str | Path | None, vehicle: Any) -> Workbench:
    """A bench with the row "Route" above it.

    Parameters: `make`, the page of a route; `route`, a Route, the name of one or the path of a file, by default the learner's
    own, and where there is none our demonstration; `vehicle`.  An own route that cannot be read is told, and ours taken instead.
    """
    source, wrong = _first(route), None
    try:
        way = source.read()
        bench = Workbench(make(way), vehicle)
    except InputError as error:
        if route is not None:
            raise
        source, wrong = Source(OURS, name=DEMO), error
        way = source.read()
        bench = Workbench(make(way), vehicle)
    box = RouteBox(bench, make, way, source)
    if wrong is not None:
        box.trouble.value = fault(wrong)
    return bench


def _first(route: Route | str | Path | None) -> Source:
    if isinstance(route, Route):
        return Source(f"{route.name} (from code)", route=route)
    if route is None:
        return sources_there()[0] if (keeping.own_folder() / OWN).is_file() else Source(OURS, name=DEMO)
    if Path(route).suffix.lower() in KINDS:
        return Source(Path(route).name, path=Path(route))
    return Source(_ours(str(route)), name=str(route))


# ---------------------------------------------------------------- what the pages of a route share
def metres(height: float) -> str:
    """A height as it may be said of a road: nothing finer than centimetres."""
    return shown(round(height, 2), "m")


def case_words(route: Route) -> str:
    """The way in a few words, for the head of a page."""
    steepest = max(route.slopes, key=abs)
    slope = f"{'climbs' if steepest > 0 else 'falls'} of up to {setting(round(100 * abs(steepest), 1), '%')}"
    return f"{route.name}: {setting(round(route.length, 1), 'm')}, {slope if abs(steepest) >= 0.005 else 'level'}"


def outcome_of(case: Any) -> tuple[str, str]:
    """The head of the numbers where nothing is ridden: the gravest of the cautions."""
    state = gravest(case.cautions)
    return state, f"{state}, see above" if state != "ok" else "no caution"
