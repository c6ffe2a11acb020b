"""Circuits as they were read last time, so that a start need not read them again.

Disposable: a text it does not know, to the letter, is simply unknown, and so is
everything once the program or its library is another. Refuses to know folders.
"""

from __future__ import annotations

import json
import os
import zlib
from collections.abc import Iterable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from whistlestop import __version__
from whistlestop.domain.circuit.circuit import (
    Circuit,
    Drill,
    LoopChange,
    Station,
    StationInLoop,
    TimedItem,
)
from whistlestop.domain.load import Load, parse_load
from whistlestop.domain.tempo import parse_tempo
from whistlestop.errors import StoreError
from whistlestop.store.places import read_regular, replace_file

FORMAT: Final = 1
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
            circuit = _circuit(self._known[key])
        except (KeyError, ValueError, TypeError):
            return None
        self._used.add(key)
        return circuit

    def remember(self, stem: str, text: str, circuit: Circuit) -> None:
        """Remember what a text meant, unless it would not come back the same."""
        plain = _plain(circuit)
        if _circuit(plain) == circuit:
            self._known[_key(stem, text)] = plain
            self._used.add(_key(stem, text))
            self._is_new = True

    def save(self, *, prune: bool = True) -> None:
        """Write what was used since it was read; a disk that refuses is no matter.

        Args:
            prune: Leave out what was not used; after a look at all circuits that is
                what is gone.
        """
        keys = self._used if prune else self._known
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


def _plain(circuit: Circuit) -> dict[str, Any]:
    plain = _fields(circuit)
    plain["stations"] = [_plain_station(station) for station in circuit.stations]
    for name in ("warm_up", "cool_down"):
        items = getattr(circuit, name)
        plain[name] = [[one.name, one.duration_ms, one.note] for one in items]
    plain["loop_changes"] = [
        [number, _plain_change(change)]
        for number, change in circuit.loop_changes.items()
    ]
    return plain


def _fields(value: Any) -> dict[str, Any]:
    return {name: getattr(value, name) for name in value.__slots__}


def _typed(value: Any) -> str | None:
    return None if value is None else value.typed


def _plain_station(station: Station) -> dict[str, Any]:
    plain = _fields(station)
    plain["load"], plain["tempo"] = _typed(station.load), _typed(station.tempo)
    drill = station.drill
    plain["drill"] = None if drill is None else [drill.id, drill.name]
    return plain


def _plain_change(change: LoopChange) -> list[Any]:
    stations = [
        [number, one.work_ms, one.recover_ms, _typed(one.load), one.skip]
        for number, one in change.stations.items()
    ]
    return [change.work_ms, change.recover_ms, _typed(change.load), stations]


def _circuit(plain: dict[str, Any]) -> Circuit:
    return Circuit(
        **{
            **plain,
            "stations": tuple(_station(one) for one in plain["stations"]),
            "warm_up": tuple(TimedItem(*one) for one in plain["warm_up"]),
            "cool_down": tuple(TimedItem(*one) for one in plain["cool_down"]),
            "loop_changes": {n: _change(*one) for n, one in plain["loop_changes"]},
        }
    )


def _station(plain: dict[str, Any]) -> Station:
    tempo, drill = plain["tempo"], plain["drill"]
    return Station(
        **{
            **plain,
            "load": _load(plain["load"]),
            "tempo": None if tempo is None else parse_tempo(tempo),
            "parts": tuple(plain["parts"]),
            "kit": tuple(plain["kit"]),
            "cautions": tuple(plain["cautions"]),
            "drill": None if drill is None else Drill(*drill),
        }
    )


def _load(typed: str | None) -> Load | None:
    return None if typed is None else parse_load(typed)


def _change(
    work_ms: int | None,
    recover_ms: int | None,
    load: str | None,
    stations: Sequence[Sequence[Any]],
) -> LoopChange:
    changed = {
        number: StationInLoop(work, recover, _load(own), skip)
        for number, work, recover, own, skip in stations
    }
    return LoopChange(work_ms, recover_ms, _load(load), changed)
