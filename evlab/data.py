"""The files of the folder data/, each with its provenance; nothing in that folder is ever written.

A data file begins with a header of lines that start with "#", one ``key: value`` each; a line without a key goes on
with the value above it, so a whole licence notice fits in. The header ends at the first line that does not start with
"#". CSV, TOML and plain text all take such lines as comments, so the header travels inside the file and cannot be lost
on the way, as a file beside it can::

    # source: where the numbers come from; "our own, invented" where nothing was measured
    # licence: the name of the licence, and its notice where it asks for one
    # changes: what was removed or altered
    # sha256: fingerprint of everything below the header

In an XML file (a track) the same lines stand in a comment right below its first line. The fingerprint is taken with line
ends as "\\n", so that a checkout that turns them into "\\r\\n" does not break it.
"""

from __future__ import annotations

import difflib
import hashlib
import re
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

__all__ = ["FOLDER", "Provenance", "fingerprint", "names", "path", "provenance", "read_text"]

FOLDER = Path(__file__).resolve().parents[1] / "data"
_REQUIRED = ("source", "licence", "sha256")
_KEY = re.compile(r"(source|licence|changes|sha256): ?(.*)")


@dataclass(frozen=True)
class Provenance:
    """Where a data file comes from: its name, source, licence with notice, changes made here, sha256 of its payload."""

    name: str
    source: str
    licence: str
    changes: str
    sha256: str


def names() -> tuple[str, ...]:
    """The names of all data files, relative to data/, with "/" between folders."""
    if not FOLDER.is_dir():
        raise FileNotFoundError(
            f"The folder data/ must lie beside the folder evlab/; there is none at {FOLDER}. evlab works from a clone "
            "of its repository: take a fresh one."
        )
    files = (file.relative_to(FOLDER) for file in FOLDER.rglob("*") if file.is_file())
    return tuple(sorted(file.as_posix() for file in files if not any(part.startswith(".") for part in file.parts)))


def path(name: str) -> Path:
    """The path of the data file `name`, such as "vehicles/two_shed_trike.toml".

    Raises ValueError for a name that leads out of data/, FileNotFoundError for one that is not there.
    """
    parts = PurePosixPath(name).parts
    if not parts or ".." in parts or PurePosixPath(name).is_absolute() or "\\" in name or ":" in name:
        raise ValueError(
            f"Input name of data.path must be a file of the folder data/, written like vehicles/two_shed_trike.toml; "
            f"instead received {name!r}."
        )
    file = FOLDER.joinpath(*parts)
    if not file.is_file():
        close = difflib.get_close_matches(name, names(), n=1, cutoff=0.4)
        hint = f"the nearest is {close[0]}" if close else f"there are {', '.join(names()) or 'none'}"
        raise FileNotFoundError(f"There is no file data/{name}; {hint}.")
    return file


def fingerprint(payload: str) -> str:
    """The sha256 of a payload (the text below the header), line ends taken as "\\n"."""
    return hashlib.sha256(payload.replace("\r\n", "\n").encode("utf-8")).hexdigest()


def provenance(name: str) -> Provenance:
    """The provenance of a data file, its fingerprint checked.

    Raises FileNotFoundError for a missing file; ValueError, in words, for a header without source, licence or sha256,
    and for a payload that does not fit its sha256.
    """
    return _checked(name)[0]


def read_text(name: str) -> str:
    """The whole text of a data file, header included, after its provenance was checked.

    The header could be cut off. It stays: every reader here skips comments, and an error that names a line then names
    the line that an editor shows. Raises what `provenance` raises.
    """
    return _checked(name)[1]


def _checked(name: str) -> tuple[Provenance, str]:
    try:
        text = path(name).read_bytes().decode("utf-8").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        raise ValueError(f"The file data/{name} must be UTF-8 text; instead byte {error.start} is not.") from error
    header, payload = _split(text)
    lacking = [key for key in _REQUIRED if not header.get(key)]
    if lacking:
        raise ValueError(
            f"The header of data/{name} must hold lines '# source: ...', '# licence: ...' and '# sha256: ...' at its "
            f"top; instead {' and '.join(lacking)} is missing."
        )
    found = fingerprint(payload)
    if header["sha256"] != found:
        raise ValueError(
            f"Input sha256 of data/{name} must be {found}, the fingerprint of the text below the header; instead "
            f"received {header['sha256']!r}. The file is not the one that was checked in: take it afresh from the "
            "repository. If it was changed on purpose, write the new fingerprint and what changed into the header."
        )
    return Provenance(name, header["source"], header["licence"], header.get("changes", ""), found), text


def _split(text: str) -> tuple[dict[str, str], str]:
    lines = text.split("\n")
    if text.startswith("<?xml"):  # a track: the same lines, inside a comment that stands first
        lines = lines[lines.index("<!--") + 1:] if "<!--" in lines[:3] else []
    length = next((row for row, line in enumerate(lines) if not line.startswith("#")), len(lines))
    values: dict[str, list[str]] = {}
    current: list[str] = []
    for line in lines[:length]:
        body = line.removeprefix("#").strip()
        match = _KEY.fullmatch(body)
        if match:
            current = values.setdefault(match[1], [])
        current.append(match[2] if match else body)
    return {key: "\n".join(value).strip() for key, value in values.items()}, "\n".join(lines[length:])
