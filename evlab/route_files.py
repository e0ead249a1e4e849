"""Files of routes: our own in data/routes, a maker's TOML, CSV and GPX, and the learner's own route in notebooks/mine."""

from __future__ import annotations

import csv
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from evlab import data, keeping
from evlab.glossary import Entry, nearest
from evlab.route import Route
from evlab.tracks import BIGGEST, read_gpx, track_route
from evlab.units import InputError, read, si

__all__ = ["keep_route", "load_route", "read_route"]

DEMO = "two_sheds_up"
OWN = "route.toml"
SPEED, SMOOTHING = 5.0, 40.0  # m/s and m where nothing is said
KINDS = (".toml", ".gpx", ".csv")
_KEYS = {"": ("format", "name", "note", "invented", "blend", "segment", "stop", "track", "speed", "smoothing"),
         "segment": ("length", "slope", "speed", "bearing"), "stop": ("at", "wait", "charger")}
_LENGTH = Entry("length", "", "length", "Length", "a length", "chosen")
_SLOPE, _SPEED = Entry("slope", "", "none", "Slope", ""), Entry("speed", "", "speed", "Speed", "")
_BEARING, _WAIT = Entry("bearing", "", "angle", "Bearing", ""), Entry("wait", "", "time", "Wait", "")
# Columns of a CSV file: the words that name one, its quantity, and the unit where the header says none.
_COLUMNS: dict[str, tuple[tuple[str, ...], Entry, str]] = {
    "distance": (("distance", "place", "station"), _LENGTH, "m"), "length": (("length",), _LENGTH, "m"),
    "height": (("height", "altitude", "elevation"), _LENGTH, "m"), "slope": (("slope", "grade"), _SLOPE, "%"),
    "speed": (("speed",), _SPEED, "m/s"), "bearing": (("bearing", "heading"), _BEARING, "deg"),
    "wait": (("wait", "stop"), _WAIT, "s"),
}


def load_route(name_or_path: str | Path | None = None, *, speed: Any = None, smoothing: Any = None) -> Route:
    """A route by its name (ours in data/routes), by the path of a .toml, .csv or .gpx file, or, with nothing said,
    the learner's own.

    `speed`, the posted one (m/s or text), and `smoothing` (m or text) go with files that state none.  The learner's own is
    notebooks/mine/route.toml; where there is none it is our demonstration.  Raises FileNotFoundError with the names there are, or
    InputError in words for a file that cannot be used.
    """
    if name_or_path is None:
        own = keeping.own_folder() / OWN
        return load_route(own, speed=speed, smoothing=smoothing) if own.is_file() else load_route(DEMO)
    if not isinstance(name_or_path, str | Path):
        raise InputError(f"Input name_or_path of load_route must be the name of a route or the path of a file; instead received "
                         f"{name_or_path!r}.")
    path = Path(name_or_path)
    if path.suffix.lower() not in KINDS and (len(str(path)) > 255 or not path.is_file()):
        known = [n[7:-5] for n in data.names() if n.startswith("routes/") and n.endswith(".toml")]
        if str(name_or_path) not in known:
            raise FileNotFoundError(f"There is no route {str(name_or_path)!r}.{nearest(name_or_path, known)} Ours: "
                                    f"{', '.join(known)}. Your own: give the path of a .toml, .csv or .gpx file.")
        path = data.path(f"routes/{name_or_path}.toml")
        data.read_text(f"routes/{path.name}")  # its provenance is checked
    if not path.is_file():
        raise FileNotFoundError(f"There is no route file {str(path)!r}; ours, like two_sheds_up, are given by name.")
    return read_route(path.read_bytes(), path.name, folder=path.parent, speed=speed, smoothing=smoothing)


def read_route(raw: bytes, name: str, *, folder: Path | None = None, speed: Any = None, smoothing: Any = None) -> Route:
    """A route from the bytes of a file and its name, whose ending tells the kind; `folder` is where a TOML finds its track."""
    kind = Path(name).suffix.lower()
    if kind == ".gpx":
        return _named(track_route(read_gpx(raw, name), speed=SPEED if speed is None else speed,
                                  smoothing=SMOOTHING if smoothing is None else smoothing), Path(name).stem)
    if kind == ".csv":
        return _from_csv(_text(raw, name), name, SPEED if speed is None else speed, SMOOTHING if smoothing is None else smoothing)
    if kind == ".toml":
        return _from_toml(raw, name, folder, speed, smoothing)
    raise InputError(f"{name} must be a .toml, .csv or .gpx file; instead its name ends with {kind or 'nothing'!r}.")


def _named(route: Route, name: str) -> Route:
    route.name = name
    return route


def _text(raw: bytes, name: str) -> str:
    if not raw.strip():
        raise InputError(f"{name} must hold a route; instead it is empty.")
    if len(raw) > BIGGEST:
        raise InputError(f"{name} must be smaller than 50 MB; instead it has {len(raw) / 1e6:.0f} MB. Cut it to the part you ride.")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        raise InputError(f"{name} must be UTF-8 text; instead byte {wrong.start} is not. Is it a file of another kind?") from None


# ---------------------------------------------------------------- TOML
def _from_toml(raw: bytes, name: str, folder: Path | None, speed: Any, smoothing: Any) -> Route:
    if len(raw) > 1_000_000:
        raise InputError(f"{name} must be smaller than 1 MB; instead it has {len(raw) / 1e6:.1f} MB. Is it a route?")
    try:
        book = tomllib.loads(_text(raw, name))
    except (tomllib.TOMLDecodeError, RecursionError) as wrong:
        raise InputError(f"{name} must be a TOML file of a route; instead: {wrong}.") from None
    _known(book, "", name)
    if book.get("format") != 1:
        raise InputError(f"{name} must say format = 1 at its top; instead received {book.get('format')!r}.")
    stops = [(row["at"], row.get("wait", "0 s"), row.get("charger", False)) for row in _tables(book, "stop", ("at",), name)]
    if "track" in book:
        return _from_track(book, name, folder, stops, speed, smoothing)
    if astray := [key for key in ("speed", "smoothing") if key in book]:
        raise InputError(f"{name}: {' and '.join(astray)} at the top goes with a track; instead this route has segments, each with "
                         "its own speed.")
    rows = [[row[k] for k in _KEYS["segment"] if k in row] for row in _tables(book, "segment", ("length", "slope", "speed"), name)]
    return Route.from_segments(rows, blend=book.get("blend", 2.0), stops=stops, name=str(book.get("name", name)))


def _from_track(book: Mapping[str, Any], name: str, folder: Path | None, stops: list[Any], speed: Any, smoothing: Any) -> Route:
    """A TOML file that names a track beside it, with its posted speed, smoothing and stops."""
    said = book["track"]
    if not isinstance(said, str) or said != Path(said).name or Path(said).suffix.lower() not in (".gpx", ".csv"):
        raise InputError(f"{name}: track must be the name of a .gpx or .csv file in the same folder; instead received {said!r}.")
    if book.get("segment"):
        raise InputError(f"{name}: a route must have either a track or segments; instead it has both.")
    if folder is None or not (folder / said).is_file():
        raise InputError(f"{name} names the track {said!r}, which must lie beside it; instead there is no such file there.")
    route = read_route((folder / said).read_bytes(), said, speed=book.get("speed") if speed is None else speed,
                       smoothing=book.get("smoothing") if smoothing is None else smoothing)
    return _named(route.with_stops(stops) if stops else route, str(book.get("name", Path(said).stem)))


def _tables(book: Mapping[str, Any], which: str, needed: tuple[str, ...], name: str) -> list[Mapping[str, Any]]:
    """The [[segment]] or [[stop]] tables of a file; each must have what it needs, and nothing unknown."""
    rows = book.get(which, [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise InputError(f"{name}: {which} must be tables, each headed [[{which}]]; instead received {rows!r}.")
    for i, row in enumerate(rows, 1):
        _known(row, which, name)
        missing = [key for key in needed if key not in row]
        if missing:
            raise InputError(f"{name}, [[{which}]] number {i}: it lacks {' and '.join(missing)}; it needs {', '.join(needed)}.")
    return rows


def _known(table: Mapping[str, Any], which: str, name: str) -> None:
    for key in table:
        if key not in _KEYS[which]:
            where = f"[[{which}]]" if which else "the top"
            raise InputError(f"{name}, {where}: there is no key {key!r}.{nearest(key, _KEYS[which])} "
                             f"Known: {', '.join(_KEYS[which])}.")


# ---------------------------------------------------------------- CSV
def _from_csv(text: str, name: str, speed: Any, smoothing: Any) -> Route:
    """Rows of length, slope and speed, or of distance and height; the header names column and unit: "distance (km)"."""
    lines = [(i, line) for i, line in enumerate(text.splitlines(), 1) if line.strip() and not line.startswith("#")]
    if len(lines) < 2:
        raise InputError(f"{name} must have a header and rows of numbers; instead it has {len(lines)} lines.")
    mark = max(";\t,", key=lines[0][1].count)
    heads = _heads(_cells(lines[0][1], mark, name), name)
    columns: dict[str, list[float]] = {key: [] for key, *_ in heads.values()}
    for number, line in lines[1:]:
        cells = _cells(line, mark, f"{name}, line {number}")
        for i, (key, head, entry, unit) in heads.items():
            columns[key].append(_cell(cells[i] if i < len(cells) else "", entry, unit, f"{name}, line {number}, column {head!r}"))
    if {"length", "slope"} <= set(columns):
        posted = columns.get("speed") or [si(speed, _SPEED, f"speed of {name}")] * len(columns["length"])
        headed = [columns["bearing"]] if "bearing" in columns else []
        rows = list(zip(columns["length"], columns["slope"], posted, *headed, strict=True))
        return Route.from_segments(rows, name=Path(name).stem)
    if {"distance", "height"} <= set(columns):
        return _profile(columns, name, speed, smoothing)
    raise InputError(f"{name} must have the columns length and slope, or distance and height (speed, bearing and wait may follow); "
                     f"instead it has {', '.join(head for _, head, *_ in heads.values())}.")


def _cells(line: str, mark: str, where: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=mark))
    except csv.Error as wrong:
        raise InputError(f"{where} must hold numbers with {mark!r} between them; instead: {wrong}.") from None


def _profile(columns: Mapping[str, list[float]], name: str, speed: Any, smoothing: Any) -> Route:
    d = [x - columns["distance"][0] for x in columns["distance"]]
    posted = [(x, v) for i, (x, v) in enumerate(zip(d, columns.get("speed", []), strict=False))
              if i == 0 or v != columns["speed"][i - 1]] or speed
    route = Route.from_profile(d, columns["height"], speed=posted, smoothing=smoothing, bearings=columns.get("bearing"),
                               name=Path(name).stem)
    stops = [(x, w) for x, w in zip(d, columns.get("wait", []), strict=False) if w > 0 and 0 < x < route.length]
    return route.with_stops(stops) if stops else route


def _heads(cells: list[str], name: str) -> dict[int, tuple[str, str, Entry, str]]:
    """{number of the column: (key, head, quantity, unit)}; columns that say nothing of a road are passed over."""
    made: dict[int, tuple[str, str, Entry, str]] = {}
    for i, cell in enumerate(cells):
        match = re.fullmatch(r"\s*([A-Za-z ]+?)\s*(?:[(\[](.*)[)\]])?\s*", cell)
        word, unit = (match[1].lower(), match[2]) if match else (cell.strip().lower(), None)
        for key, (words, entry, usual) in _COLUMNS.items():
            if word in words and key not in {m[0] for m in made.values()}:
                made[i] = key, cell.strip(), entry, usual if unit is None else unit.strip()
    if not made:
        raise InputError(f"{name} must name its columns in its first row (distance, height, length, slope, speed, bearing, wait); "
                         f"instead received {', '.join(cells)[:80]!r}.")
    return made


def _cell(said: str, entry: Entry, unit: str, where: str) -> float:
    try:
        return read(f"{said.strip()} {unit}", entry, where).value
    except InputError:
        raise InputError(f"{where} must hold a number in {unit or 'plain'}; instead received {said.strip()!r}.") from None


# ---------------------------------------------------------------- the learner's own
def keep_route(source: str | Path | bytes, name: str | None = None, *, speed: Any = None, smoothing: Any = None) -> keeping.Kept:
    """Make a file the learner's own route: it is copied into notebooks/mine, and route.toml there says how to read it.

    Parameters: `source`, the path of a .gpx, .csv or .toml file, or its bytes with a `name`; `speed` and `smoothing` as of
    load_route.
    A file of the same name with another content is left alone and this one kept beside it.  Returns the path of route.toml, which
    shows itself as a sentence.  Raises what load_route raises, before anything is written.
    """
    if not isinstance(source, str | Path | bytes):
        raise InputError(f"Input source of keep_route must be the path of a file, or its bytes; instead received {source!r}.")
    file = None if isinstance(source, bytes) else Path(source)
    if file is not None and not file.is_file():
        raise FileNotFoundError(f"There is no route file {str(file)!r} to keep.")
    raw, folder = (source, None) if isinstance(source, bytes) else (Path(source).read_bytes(), Path(source).parent)
    last = re.split(r"[/\\]", name or (file.name if file else "track.gpx"))[-1]
    last = re.sub(r"[^\w .()+-]", "_", last).strip().lstrip(".")[-60:]  # a name that every system takes, and a TOML text
    route = read_route(raw, last, folder=folder, speed=speed, smoothing=smoothing)
    if last.lower().endswith(".toml"):
        book = tomllib.loads(_text(raw, last))
        if "track" in book and folder is not None:
            keeping.keep_file(keeping.own_folder() / book["track"], (folder / book["track"]).read_bytes())
        return keeping.keep_file(keeping.own_folder() / OWN, raw, aside=True)
    track = keeping.keep_file(keeping.own_folder() / last, raw)
    limit = route.limits[0][1]
    text = ("# How evlab reads your own route; change it here, or keep another one from a page.\nformat = 1\n"
            f'track = "{track.name}"\nspeed = "{limit:g} m/s"          # posted all the way\n'
            f'smoothing = "{route.smoothing:g} m"      # heights are evened out over it\n')
    return keeping.keep_file(keeping.own_folder() / OWN, text.encode(), aside=True)
