"""Symbols of the cells themselves: balance, ageing, wire and fuse, tests of one cell."""

from __future__ import annotations

from evlab.glossary.spelling import Entry

__all__ = ["SYMBOLS"]

SYMBOLS: tuple[Entry, ...] = ()
