"""The stations, drills and cautions that ship, as plain values read on first use.

It refuses to know circuits, sessions, files of the athlete's, or any screen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from whistlestop.library.cautions import CAUTIONS, Caution

__all__ = ["CAUTIONS", "Caution", "DrillInfo", "Exercise", "drills", "exercises"]

_HERE: Final = Path(__file__).parent
_PARTS: Final = {
    "both": (),
    "one-then-other": ("left", "right"),
    "alternating": (),
}


@dataclass(frozen=True, slots=True)
class Exercise:
    """A station of the library.

    `region` is legs, core, arms or whole; `sides` is both, one-then-other or
    alternating, and `parts` follows from it; `screen` says whether the screen
    can be seen while moving: yes, part or no. `kit` is what it cannot be done
    without; `cautions` are codes of `CAUTIONS`.
    """

    id: str
    name: str
    call_name: str
    region: str
    pattern: str
    parts: tuple[str, ...]
    sides: str
    tempo: str | None
    kit: tuple[str, ...]
    position: str
    screen: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DrillInfo:
    """A drill of the library: a skill of low intensity for the recovery.

    `ladder` runs from the easiest level to the hardest. `gate` says what has to
    be steady before the eyes are closed; it is empty where they stay open.
    """

    id: str
    name: str
    kind: str
    kit: tuple[str, ...]
    eyes_closed: bool
    ladder: tuple[str, ...]
    gate: str = ""


@lru_cache(maxsize=1)
def exercises() -> Mapping[str, Exercise]:
    """All stations by id, in the order of the file; read once, never changed."""
    return MappingProxyType({raw["id"]: _exercise(raw) for raw in _rows("station")})


@lru_cache(maxsize=1)
def drills() -> Mapping[str, DrillInfo]:
    """All drills by id, in the order of the file; read once, never changed."""
    return MappingProxyType({raw["id"]: _drill(raw) for raw in _rows("drill")})


def _rows(kind: str) -> list[dict[str, Any]]:
    # Imported here: `--help` and a run from a journal need no library.
    import tomllib

    text = (_HERE / f"{kind}s.toml").read_text(encoding="utf-8")
    rows: list[dict[str, Any]] = tomllib.loads(text)[kind]
    return rows


def _exercise(raw: dict[str, Any]) -> Exercise:
    values = {key: _frozen(value) for key, value in raw.items()}
    return Exercise(**values, parts=_PARTS[raw["sides"]])


def _drill(raw: dict[str, Any]) -> DrillInfo:
    return DrillInfo(**{key: _frozen(value) for key, value in raw.items()})


def _frozen(value: object) -> Any:
    return tuple(value) if isinstance(value, list) else value
