"""Where the keys of a TOML text stand: no TOML library keeps the line of a key, and a message needs it."""

from __future__ import annotations

import re
from functools import lru_cache

__all__ = ["key_lines"]

_TOKEN = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}|\'\'\'.*?\'{3,5}'       # strings over several lines
    r'|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\''               # strings in one line
    r'|\#[^\n]*|[\[\]{}=,.\n]|[^\s"\'\#\[\]{}=,.]+', re.DOTALL)


@lru_cache(maxsize=8)
def key_lines(text: str) -> dict[tuple[str, ...], int]:
    """The line (from 1) on which each table and key of a valid TOML text first stands, by its whole path.

    Keys inside a value (an inline table) are not listed: they share the line of their key.
    """
    found: dict[tuple[str, ...], int] = {}
    table: tuple[str, ...] = ()
    path: list[str] = []
    state, depth, line, last = "start", 0, 1, 0
    for match in _TOKEN.finditer(text):
        token = match[0]
        line += text.count("\n", last, match.start())
        last = match.start()
        if token[0] == "#":
            continue
        if state == "value":
            depth += (token in ("[", "{")) - (token in ("]", "}"))
        if token == "\n":
            if state != "value" or depth <= 0:
                state, path = "start", []
        elif state == "start":
            state, path = ("header", []) if token == "[" else ("key", [_bare(token)])
        elif state == "header" and token == "]":
            state, table = "rest", tuple(path)
            found.setdefault(table, line)
        elif state == "key" and token == "=":
            state, depth = "value", 0
            found.setdefault((*table, *path), line)
        elif state in ("header", "key") and token not in ("[", "."):
            path.append(_bare(token))
    return found


def _bare(token: str) -> str:
    """A key without its quotes."""
    return token[1:-1] if token[0] in "\"'" and len(token) > 1 else token
