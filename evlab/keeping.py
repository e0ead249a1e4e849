"""Keeping a vehicle: the learner's own file, and saving that loses nothing.

A file is written whole or not at all; a file that changed since it was read is left alone and written beside.  Whoever
looks and then writes holds the folder's lock for as long, so that of two writers at one instant the second sees the first.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evlab import data
from evlab.folder_lock import held
from evlab.units import InputError
from evlab.vehicle_values import refuse

__all__ = ["ChangedSince", "Kept", "Origin", "changed_on_disk", "home", "keep", "keep_file", "own_file", "own_folder", "stamp"]

DEMO = "vehicles/two_shed_trike.toml"
_ROOT = Path(__file__).resolve().parents[1]

if TYPE_CHECKING:
    _Path = Path
else:
    _Path = type(Path())  # the kind of path of this system, which can be added to


class Kept(_Path):
    """The path of a saved vehicle; shows itself as a sentence that tells what was done."""

    words: str = ""

    def __repr__(self) -> str:
        return self.words or str(self)


@dataclass
class Origin:
    """Where a vehicle comes from; shared by all its copies.

    `text` and `values` as read; `name` for messages; `path` of the file or None; `where`, the words that name a field's
    place; `seen`, every text that was read from or written to a file by this vehicle or a copy.
    """

    text: str
    values: Mapping[str, Any]
    name: str
    path: Path | None
    where: Callable[[str], str]
    seen: set[str] = field(default_factory=set)
    last: str = ""  # what its file held when it was last read or written here

    def __post_init__(self) -> None:
        self.last = self.text
        if self.path is not None:
            self.seen.add(self.text)


class ChangedSince(InputError):
    """The vehicle's file has been changed by somebody else since it was read; nothing was written."""


def own_folder() -> Path:
    """The learner's folder, notebooks/mine of the clone, or what the environment variable EVLAB_MINE names."""
    return Path(os.environ.get("EVLAB_MINE") or _ROOT / "notebooks" / "mine")


def own_file() -> Path:
    """The learner's own vehicle file; copied from the demonstration where there is none yet."""
    path = own_folder() / "vehicle.toml"
    if not path.exists():
        text = _without_fingerprint(data.read_text(DEMO))
        with held(_made_folder(path.parent)):
            if not path.exists():
                _write(path, text)
    return path


def home(origin: Origin) -> Path:
    """The file to which a vehicle goes when nothing else is said."""
    return _target(origin, None)


def changed_on_disk(origin: Origin) -> bool:
    """Whether its file is there and holds what neither this vehicle nor a copy of it has read or written."""
    target = home(origin)
    return target.exists() and _there(target) not in origin.seen


def stamp(origin: Origin) -> tuple[int, int, int] | None:
    """What changes whenever the vehicle's file is written: time, size and number of the file; None where there is none."""
    try:
        told = home(origin).stat()
    except OSError:
        return None
    return told.st_mtime_ns, told.st_size, told.st_ino


def keep(text: str, origin: Origin, path: str | Path | None, *, beside: bool = True) -> Kept:
    """Write a vehicle's text to its file, or to `path`; see Vehicle.save.  With `beside` false, a file that has changed
    since raises ChangedSince instead of being left alone for another one."""
    target = _target(origin, path)
    if _under_data(target):
        raise refuse("path of save", "outside data/, where nothing is written", f"{target.name} there")
    if origin.path is None or _under_data(origin.path):
        text = _without_fingerprint(text)
    with held(_made_folder(target.parent)):
        return _keep(text, origin, target, beside)


def _keep(text: str, origin: Origin, target: Path, beside: bool) -> Kept:
    if not target.exists():
        return _kept(target, text, origin, f"Kept in {target.name}.")
    there = _there(target)
    if there == text:
        if target == home(origin):
            _seen(origin, text, target)
        return _said(target, f"{target.name} holds this vehicle already; nothing was written.")
    if there in origin.seen and target == home(origin):
        return _kept(target, text, origin, f"Kept in {target.name}.")
    if not beside:
        raise ChangedSince(f"The file {target.name} has changed since it was read; nothing was written.")
    return _beside(target, text, origin)


def keep_file(path: Path, content: bytes, *, aside: bool = False) -> Kept:
    """Write a file into the learner's folder and lose nothing: one of the same name with another content stays as it is, and this
    one goes beside it; with `aside` it is the old one that moves beside."""
    with held(_made_folder(path.parent)):
        return _keep_file(path, content, aside)


def _keep_file(path: Path, content: bytes, aside: bool) -> Kept:
    if not path.exists():
        _write(path, content)
        return _said(path, f"Kept in {path.name}.")
    old = _bytes(path)
    if old == content:
        return _said(path, f"{path.name} holds this already; nothing was written.")
    number = 2
    while (other := path.with_name(f"{path.stem}-{number}{path.suffix}")).exists() and (aside or _bytes(other) != content):
        number += 1
    if not aside:
        _write(other, content)
        return _said(other, f"{path.name} holds something else: it was left alone, and this kept beside it in {other.name}.")
    _write(other, old)
    _write(path, content)
    return _said(path, f"Kept in {path.name}; what it held before is in {other.name}.")


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as wrong:
        raise refuse(f"file {path.name}", "readable, so that nothing of it is lost", str(wrong.strerror or wrong)) from None


def _made_folder(folder: Path) -> Path:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as wrong:
        raise refuse("path of save", "a place that can be written", f"{wrong.strerror or wrong}: {folder.name}") from wrong
    return folder


def _target(origin: Origin, path: str | Path | None) -> Path:
    given: object = path
    if given is not None and not isinstance(given, str | Path):
        raise refuse("path of save", "the name of a .toml file in quotes, like 'my_trike.toml'", repr(given))
    if path is not None and ("\0" in str(path) or len(os.fsencode(Path(path).name)) > 240):
        raise refuse("path of save", "a file name of at most 240 letters, without special signs", repr(str(path)))
    if path is None:
        own = origin.path is None or _under_data(origin.path)
        return (own_folder() / "vehicle.toml" if own else origin.path or Path()).resolve()
    target = Path(path).expanduser().resolve()
    if target.suffix != ".toml":
        raise refuse("path of save", "the name of a .toml file", repr(str(path)))
    if not target.parent.is_dir():
        raise refuse("path of save", "in a folder that is there", repr(str(path)))
    return target


def _under_data(path: Path) -> bool:
    return path.resolve().is_relative_to(data.FOLDER.resolve())


def _without_fingerprint(text: str) -> str:
    """A demonstration's text for the learner's own file: it is going to change, so its fingerprint says nothing."""
    return "".join(row for row in text.splitlines(keepends=True) if not row.startswith("# sha256:"))


def _there(path: Path) -> str | None:
    """The text of the file that is there; None where it is none of ours to read."""
    try:
        if not path.is_file():  # a pipe would be waited for
            return None
        return path.read_bytes().decode("utf-8").removeprefix("\ufeff")
    except (UnicodeDecodeError, OSError):
        return None


def _beside(target: Path, text: str, origin: Origin) -> Kept:
    number = 2
    def free(path: Path) -> bool:
        return not path.exists() or _there(path) in (text, *origin.seen)

    while not free(other := target.with_name(f"{target.stem}-{number}.toml")):
        number += 1
    return _kept(other, text, origin, f"{target.name} is not the file that this vehicle was read from, or has changed "
                 f"since: it was left alone, and the vehicle kept beside it in {other.name}.")


def _kept(path: Path, text: str, origin: Origin, words: str) -> Kept:
    if not path.exists() or _there(path) != text:
        _write(path, text)
    _seen(origin, text, path)
    return _said(path, words)


def _seen(origin: Origin, text: str, path: Path) -> None:
    """Remember what a file holds now, so that it is known as one's own."""
    origin.seen.add(text)
    if path == home(origin):
        origin.last = text


def _said(path: Path, words: str) -> Kept:
    kept = Kept(str(path))
    kept.words = words
    return kept


def _write(path: Path, content: str | bytes) -> None:
    """The whole file or nothing: a temporary file beside it, pressed onto the disk, then put in its place."""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.stem}-", suffix=".part")
        part = Path(name)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content.encode("utf-8") if isinstance(content, str) else content)
                file.flush()
                os.fsync(file.fileno())
            part.chmod(path.stat().st_mode & 0o777 if path.exists() else 0o644)
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
    except OSError as wrong:
        raise refuse("path of save", "a place that can be written", f"{wrong.strerror or wrong}: {path.name}") from wrong
