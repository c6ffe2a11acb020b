"""The compiled plan: every segment of a session with its place in time.

Plain data with an exact JSON form: what `plan --json` prints and what a journal
embeds. It refuses to know how it was made or how far anybody has come.
"""

from __future__ import annotations

from dataclasses import fields
from enum import StrEnum
from functools import lru_cache
from typing import Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.load import parse_load
from whistlestop.domain.tempo import parse_tempo
from whistlestop.domain.text import fold_call_name


class SegmentKind(StrEnum):
    """What a segment is."""

    GET_READY = "get_ready"
    WARM_UP = "warm_up"
    WORK = "work"
    CHANGEOVER = "changeover"
    RECOVER = "recover"
    LOOP_BREAK = "loop_break"
    HOLD = "hold"
    COOL_DOWN = "cool_down"


AT_STATION: Final = frozenset({SegmentKind.WORK, SegmentKind.CHANGEOVER})


@dataclass(frozen=True, slots=True)
class Segment:
    """One stretch of the plan. `until_key` makes it a gate of open length.

    `loop` and `station` count from 1. A recover carries the station it follows,
    a loop_break the loop it ends, a hold the station it waits for.
    """

    start_ms: int
    duration_ms: int
    kind: SegmentKind
    until_key: bool = False
    loop: int | None = None
    station: int | None = None
    exercise: str | None = None
    exercise_name: str | None = None
    drill: str | None = None
    drill_name: str | None = None
    part: str | None = None
    load: str | None = None

    @property
    def place(self) -> tuple[int, int] | None:
        """Loop and station, for what belongs to a station; else None."""
        if self.loop is None or self.station is None:
            return None
        return self.loop, self.station


@dataclass(frozen=True, slots=True)
class StationCard:
    """What the floor and the sheet show of a station, whatever the loop."""

    number: int
    exercise: str
    name: str
    call_name: str
    parts: tuple[str, ...] = ()
    tempo: str | None = None
    load: str | None = None
    kit: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    note: str = ""
    paced: bool = True


@dataclass(frozen=True, slots=True)
class Plan:
    """A whole session, resolved. Times in integer milliseconds of plan time."""

    circuit: str
    name: str
    loops: int
    segments: tuple[Segment, ...]
    stations: tuple[StationCard, ...]
    note: str = ""

    @property
    def total_ms(self) -> int:
        """Length of the plan; open gates count as nothing."""
        return sum(segment.duration_ms for segment in self.segments)

    @property
    def work_ms(self) -> int:
        """Length of all parts; changeovers are not work."""
        return sum(s.duration_ms for s in self.segments if s.kind is SegmentKind.WORK)

    @property
    def open_gates(self) -> int:
        """How many breaks and holds wait for a key."""
        return sum(segment.until_key for segment in self.segments)

    def card(self, station: int) -> StationCard:
        """The card of one station, by its number from 1."""
        return next(card for card in self.stations if card.number == station)

    def to_json(self) -> dict[str, Any]:
        """The plan as plain JSON values; `from_json` gives it back exactly."""
        return {
            "circuit": self.circuit,
            "name": self.name,
            "note": self.note,
            "loops": self.loops,
            "stations": [_filled(card) for card in self.stations],
            "segments": [_filled(segment) for segment in self.segments],
        }

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Plan:
        """Read a plan back, ignoring fields of a later version.

        Raises:
            ValueError: A field is missing or of the wrong type.
        """
        try:
            plan = cls(
                circuit=str(data["circuit"]),
                name=str(data["name"]),
                note=str(data.get("note", "")),
                loops=_whole(data["loops"]),
                stations=tuple(_card(raw) for raw in data["stations"]),
                segments=tuple(_segment(raw) for raw in data["segments"]),
            )
        except (KeyError, TypeError, AttributeError) as error:
            raise ValueError(f"the plan is not readable: {error!r}") from None
        _judge_places(plan)
        return plan


def _judge_places(plan: Plan) -> None:
    """Every segment lies in a loop and at a station that there is.

    Raises:
        ValueError: One does not, or there is no segment at all.
    """
    cards = {card.number for card in plan.stations}
    if not plan.segments or len(cards) < len(plan.stations):
        raise ValueError("the plan has no segments, or two stations of one number")
    for segment in plan.segments:
        must = segment.kind in AT_STATION
        station, loop = segment.station, segment.loop
        if (must or station is not None) and station not in cards:
            raise ValueError("the plan has a segment at no station of its own")
        if (must or loop is not None) and not 1 <= (loop or 0) <= plan.loops:
            raise ValueError("the plan has a segment outside its loops")


def _filled(item: Segment | StationCard) -> dict[str, Any]:
    """Leave out what is as by default, so that a journal stays short.

    A required field always stays: an empty call-name is still one.
    """
    return {
        f.name: value
        for f in fields(item)
        if (value := getattr(item, f.name)) != f.default
    }


def _whole(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise TypeError(f"expected a whole number, found {value!r}")
    return value


def _texts(value: object) -> tuple[str, ...]:
    if not isinstance(value, (list, tuple)):
        raise TypeError("expected a list of texts")
    return tuple(str(text) for text in value)


_SEGMENT_TYPES: Final[dict[str, type]] = {
    "start_ms": int,
    "duration_ms": int,
    "until_key": bool,
    "loop": int,
    "station": int,
}
_TEXT_LISTS: Final = frozenset({"parts", "kit", "cautions"})
_NO_TEXTS: Final = _TEXT_LISTS | {"number", "paced"}


@lru_cache(maxsize=256)
def _judge_load(text: str | None) -> None:
    if text is not None:
        parse_load(text)


@lru_cache(maxsize=256)
def _judge_tempo(text: str | None) -> None:
    if text is not None:
        parse_tempo(text)


def _card(raw: dict[str, Any]) -> StationCard:
    known = {f.name for f in fields(StationCard)}
    values: dict[str, Any] = {
        key: _texts(value) if key in _TEXT_LISTS else value
        for key, value in raw.items()
        if key in known
    }
    _whole(values["number"])
    for key, value in values.items():
        if key not in _NO_TEXTS and value is not None and not isinstance(value, str):
            raise TypeError(f"{key} is no text")
    # From anywhere: what is drawn in block letters and what is reckoned with.
    values["call_name"] = fold_call_name(values["call_name"])
    _judge_load(values.get("load"))
    _judge_tempo(values.get("tempo"))
    if type(values.get("paced", True)) is not bool:
        raise TypeError("paced is neither true nor false")
    return StationCard(**values)


def _segment(raw: dict[str, Any]) -> Segment:
    known = {f.name for f in fields(Segment)}
    values = {key: value for key, value in raw.items() if key in known}
    values["kind"] = SegmentKind(values["kind"])
    if _whole(values["start_ms"]) < 0 or _whole(values["duration_ms"]) < 0:
        raise TypeError("a segment starts and lasts 0 ms or more")
    for key, value in values.items():
        wanted = _SEGMENT_TYPES.get(key, str)
        if value is not None and type(value) is not wanted and key != "kind":
            raise TypeError(f"{key} is not of the type it should be")
    _judge_load(values.get("load"))
    return Segment(**values)
