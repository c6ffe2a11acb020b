"""Circuits as they were read last time, so that a start need not read them again.

Disposable: a text it does not know, to the letter, is simply unknown, and so is
everything once the program or its library is another. Refuses to know folders.
"""

from __future__ import annotations

import json
import os
import zlib
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import fields
from pathlib import Path
from typing import Any, Final, TypeVar

from whistlestop import __version__
from whistlestop.domain.circuit.circuit import Circuit, LoopChange, StationInLoop
from whistlestop.domain.field import (
    ListOf,
    ParsedText,
    TableOf,
    ValueKind,
    fields_of,
)
from whistlestop.errors import StoreError
from whistlestop.store.places import read_regular, replace_file

_T = TypeVar("_T")
FORMAT: Final = 2
# What stands under a number, and so is no value of its own in a description.
_BY_NUMBER: Final[dict[str, type]] = {
    "loop_changes": LoopChange,
    "stations": StationInLoop,
}
MAX_BYTES: Final = 16 * 1024 * 1024
_PACKAGE: Final = Path(__file__).parents[2]
# What a text means depends on these, and on the athlete's own library.
_JUDGES: Final = (
    "domain",
    "domain/circuit",
    "domain/plan",
    "library",
    "store/circuits",
    "store/own_library",
    "store/table",
)


def stamp(own: Iterable[Path] = ()) -> str:
    """What circuits depend on beside their text: another stamp, another meaning.

    Args:
        own: Files of the athlete's own library; one need not be there.
    """
    known: list[object] = [FORMAT, __version__]
    for folder in _JUDGES:
        with os.scandir(_PACKAGE / folder) as entries:
            known += sorted(_state(entry) for entry in entries if entry.is_file())
    known += [_state(path) for path in own if path.is_file()]
    return f"{zlib.crc32(repr(known).encode()):08x}"


def _state(entry: os.DirEntry[str] | Path) -> tuple[str, int, int]:
    found = entry.stat()
    return entry.name, found.st_size, found.st_mtime_ns


class CircuitMemory:
    """What is remembered of one home's circuits."""

    def __init__(self, path: Path, *, stamp: str) -> None:
        """Read what is remembered. Never raises: what is unclear is forgotten."""
        self._path = path
        self._stamp = stamp
        self._known: dict[str, dict[str, Any]] = {}
        self._used: set[str] = set()
        with suppress(StoreError, ValueError, KeyError, TypeError):
            self._known = self._read()
        self._is_new = False

    @property
    def is_empty(self) -> bool:
        """Whether nothing is remembered, as at the first start."""
        return not self._known

    def _read(self) -> dict[str, dict[str, Any]]:
        head, _, body = read_regular(self._path, MAX_BYTES).partition(b"\n")
        if head.decode() != self._head(body):
            return {}
        known = json.loads(body)
        return known if isinstance(known, dict) else {}

    def _head(self, body: bytes) -> str:
        return f"{self._stamp} {zlib.crc32(body):08x}"

    def recall(self, stem: str, text: str) -> Circuit | None:
        """The circuit of a text in a file of this name; None if it is not known."""
        key = _key(stem, text)
        try:
            circuit = _table(Circuit, self._known[key])
        except (KeyError, ValueError, TypeError):
            return None
        self._used.add(key)
        return circuit

    def remember(self, stem: str, text: str, circuit: Circuit) -> None:
        """Remember what a text meant, unless it would not come back the same."""
        plain = _plain(circuit)
        if _table(Circuit, plain) == circuit:
            self._known[_key(stem, text)] = plain
            self._used.add(_key(stem, text))
            self._is_new = True

    def save(self, *, whole: bool = True) -> None:
        """Write what was used since it was read; a disk that refuses is no matter.

        Args:
            whole: Whether every circuit was looked at; else what was not used stays.
        """
        keys = self._used if whole else self._known
        used = {key: self._known[key] for key in sorted(keys)}
        if not self._is_new and len(used) == len(self._known):
            return
        body = json.dumps(used, separators=(",", ":")).encode()
        with suppress(OSError):
            replace_file(self._path, f"{self._head(body)}\n".encode() + body)
            self._known, self._is_new = used, False


def _key(stem: str, text: str) -> str:
    """A circuit's id may come from the name of its file."""
    return f"{stem}\n{text}"


# --- Into plain values, and back ----------------------------------------------
#
# By the descriptions, so that a new setting is remembered too. What is as by default is
# left out: a start has the less to make.


def _plain(table: Any) -> dict[str, Any]:
    kinds = _kinds(type(table))
    values = {one.name: getattr(table, one.name) for one in fields(table)}
    return {
        one.name: _plain_value(kinds.get(one.name), values[one.name])
        for one in fields(table)
        if values[one.name] != one.default
    }


def _plain_value(kind: ValueKind[Any] | None, value: Any) -> Any:
    match kind:
        case ParsedText():
            return kind.write(value)
        case TableOf():
            return _plain(value)
        case ListOf():
            return [_plain_value(kind.kind, one) for one in value]
        case None if isinstance(value, dict):
            return [[number, _plain(one)] for number, one in value.items()]
    return value


def _table(table: type[_T], plain: dict[str, Any]) -> _T:
    kinds = _kinds(table)
    return table(**{name: _value(kinds.get(name), name, plain[name]) for name in plain})


def _value(kind: ValueKind[Any] | None, name: str, plain: Any) -> Any:
    match kind:
        case ParsedText():
            return kind.parse(plain)
        case TableOf():
            return _table(kind.table, plain)
        case ListOf():
            return kind.make(_value(kind.kind, name, one) for one in plain)
        case None if name in _BY_NUMBER:
            return {number: _table(_BY_NUMBER[name], one) for number, one in plain}
    return tuple(plain) if isinstance(plain, list) else plain


def _kinds(table: type) -> dict[str, ValueKind[Any]]:
    return {one.name: one.kind for one in fields_of(table)}
