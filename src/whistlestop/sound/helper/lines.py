"""The lines between the program and its sound helper, as types.

Owns parsing and writing of both directions. Knows nothing of what they cause.
The meaning of each line stands in the docstring of `whistlestop.sound.helper`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

VERSION = 1
LONGEST = 4096
"""Characters in a line, above which it is not looked at."""


@dataclass(frozen=True)
class Hello:
    """The version of these lines that the program speaks."""

    version: int


@dataclass(frozen=True)
class LoadSound:
    """A sound file under a cue's name."""

    cue: str
    path: str


@dataclass(frozen=True)
class Volume:
    """The level, 0 to 100."""

    percent: int


@dataclass(frozen=True)
class Offset:
    """How much later than allowed for the loudspeaker is."""

    offset_ms: int


@dataclass(frozen=True)
class At:
    """A planned cue."""

    id: str
    at_s: float
    cue: str
    epoch: int


@dataclass(frozen=True)
class Clear:
    """Everything of older epochs is withdrawn."""

    epoch: int


@dataclass(frozen=True)
class Now:
    """A cue for the next block."""

    cue: str


@dataclass(frozen=True)
class Quit:
    """The end."""


@dataclass(frozen=True)
class Ready:
    """The stream is running."""

    backend: str
    rate_hz: int
    latency_ms: int


@dataclass(frozen=True)
class CuePlayed:
    """A cue was handed to the device."""

    id: str
    frame: int


@dataclass(frozen=True)
class Late:
    """A cue was played after its time."""

    id: str
    late_ms: int


@dataclass(frozen=True)
class CueDropped:
    """A cue was not played."""

    id: str


@dataclass(frozen=True)
class Health:
    """A sign of life."""

    age_ms: int
    resets: int


@dataclass(frozen=True)
class Lost:
    """There is no sound."""

    reason: str


@dataclass(frozen=True)
class Back:
    """There is sound again."""


@dataclass(frozen=True)
class CueRefused:
    """A line or file that could not be used."""

    word: str
    reason: str


Order = Hello | LoadSound | Volume | Offset | At | Clear | Now | Quit
Answer = Ready | CuePlayed | Late | CueDropped | Health | Lost | Back | CueRefused

Field = str | int | float
# Kept apart from the types so that reading a line is one table and one loop.
_Reader = tuple[tuple[Callable[[str], Field], ...], Callable[..., Order | Answer]]


def _seconds(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError("not a time")
    return value


_ORDERS: dict[str, _Reader] = {
    "hello": ((int,), Hello),
    "load": ((str, str), LoadSound),
    "volume": ((int,), Volume),
    "offset": ((int,), Offset),
    "at": ((str, _seconds, str, int), At),
    "clear": ((int,), Clear),
    "now": ((str,), Now),
    "quit": ((), Quit),
}
_ANSWERS: dict[str, _Reader] = {
    "ready": ((str, int, int), Ready),
    "played": ((str, int), CuePlayed),
    "late": ((str, int), Late),
    "dropped": ((str,), CueDropped),
    "health": ((int, int), Health),
    "lost": ((str,), Lost),
    "back": ((), Back),
    "refused": ((str, str), CueRefused),
}
_WORDS = {build: word for word, (_, build) in (_ORDERS | _ANSWERS).items()}
_TO_LINE_END = frozenset({"load", "lost", "refused"})


def _parse(line: str, table: dict[str, _Reader]) -> Order | Answer | None:
    text = line.rstrip("\r\n")
    if not 0 < len(text) <= LONGEST or not text.isprintable():
        return None
    word, _, rest = text.partition(" ")
    if word not in table:
        return None
    readers, build = table[word]
    splits = len(readers) - 1 if word in _TO_LINE_END else -1
    fields = rest.split(" ", splits) if rest else []
    if len(fields) != len(readers) or not all(fields):
        return None
    try:
        return build(*(read(f) for read, f in zip(readers, fields, strict=True)))
    except (ValueError, OverflowError):
        return None


def parse_order(line: str) -> Order | None:
    """Return what the program asks, or None for a line that makes no sense."""
    found = _parse(line, _ORDERS)
    return found if isinstance(found, Order) else None


def parse_answer(line: str) -> Answer | None:
    """Return what the helper says, or None for a line that makes no sense."""
    found = _parse(line, _ANSWERS)
    return found if isinstance(found, Answer) else None


def to_line(message: Order | Answer) -> str:
    """Write a message as a line, newline included; breaks in it become spaces."""
    words = [_WORDS[type(message)]]
    for value in vars(message).values():
        text = f"{value:.6f}" if isinstance(value, float) else str(value)
        words.append("".join(c if c.isprintable() else " " for c in text))
    return " ".join(words)[:LONGEST] + "\n"
