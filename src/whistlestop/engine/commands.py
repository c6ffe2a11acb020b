"""What may be asked of a session, as frozen values with a journal form.

A command that exists is well formed; whether it is legal now, the engine says.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import StrEnum
from typing import Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.effort import Effort
from whistlestop.domain.owner import OWNER
from whistlestop.domain.text import first_hostile


class Do(StrEnum):
    """The commands that carry nothing but themselves."""

    NEXT = "next"
    SKIP = "skip"
    BACK = "back"
    RESTART = "restart"
    LONGER = "longer"
    SHORTER = "shorter"
    PAUSE = "pause"
    RESUME = "resume"
    DROP_LOOP = "drop_loop"
    UNDO = "undo"
    STOP = "stop"
    HEALTH = "health"
    REOPEN = "reopen"


@dataclass(frozen=True, slots=True)
class Gap:
    """An automatic pause: the laptop slept, or the program was stopped or dead.

    `gap_ms` of real time are lost and never counted; `cause` is one word.
    """

    gap_ms: int
    cause: str = "sleep"

    def __post_init__(self) -> None:
        if self.gap_ms < 0:
            raise ValueError("a gap is 0 ms or longer")


@dataclass(frozen=True, slots=True)
class EnterEffort:
    """Effort of one loop (from 1); None takes it back."""

    loop: int
    effort: Effort | None
    athlete: str = OWNER


@dataclass(frozen=True, slots=True)
class EnterSessionEffort:
    """Effort of the whole session; None takes it back."""

    effort: Effort | None
    athlete: str = OWNER


@dataclass(frozen=True, slots=True)
class EnterNote:
    """A line of notes on the session; the last one entered stands."""

    text: str
    athlete: str = OWNER


@dataclass(frozen=True, slots=True)
class EnterDiscomfort:
    """Discomfort felt: where, which side, 0 to 10."""

    site: str
    side: str
    level: int
    athlete: str = OWNER

    def __post_init__(self) -> None:
        if not 0 <= self.level <= 10:
            raise ValueError("discomfort runs from 0 to 10")


@dataclass(frozen=True, slots=True)
class EnterCount:
    """Repetitions of the station just done; `drill`: of the drill in its recovery."""

    count: int
    athlete: str = OWNER
    drill: bool = False

    def __post_init__(self) -> None:
        if not 0 <= self.count <= 9999:
            raise ValueError("a count runs from 0 to 9999")


@dataclass(frozen=True, slots=True)
class EnterLoad:
    """The load really used at the present or last station, as typed."""

    load: str
    athlete: str = OWNER


@dataclass(frozen=True, slots=True)
class EnterVariant:
    """An easier or a harder form was done at the present or last station."""

    variant: str
    athlete: str = OWNER


@dataclass(frozen=True, slots=True)
class EnterSkipReason:
    """Why the station skipped last was skipped, in a word or two."""

    reason: str
    athlete: str = OWNER


@dataclass(frozen=True, slots=True)
class SwapExercise:
    """From here on a station is done as something else; the clock is untouched.

    It carries all that is shown and spoken, so that a journal needs no library to
    be read. The same exercise with another load is a swap as well.
    """

    station: int
    exercise: str
    name: str
    call_name: str
    load: str | None = None
    tempo: str | None = None
    cautions: tuple[str, ...] = ()
    kit: tuple[str, ...] = ()
    why: str = ""


AthleteEntry = (
    EnterEffort
    | EnterSessionEffort
    | EnterNote
    | EnterDiscomfort
    | EnterCount
    | EnterLoad
    | EnterVariant
    | EnterSkipReason
)
Command = Do | Gap | SwapExercise | AthleteEntry

VARIANTS: Final = ("easier", "harder")


def to_fields(command: Command) -> dict[str, Any]:
    """The command as the fields of a journal line, `k` first."""
    match command:
        case Do():
            return {"k": "cmd", "do": command.value}
        case Gap(gap_ms, cause):
            return {"k": "gap", "gap_ms": gap_ms, "cause": cause}
        case SwapExercise():
            return _swap_fields(command)
        case _:
            kind, fields = _entry_fields(command)
            return {"k": kind, "a": command.athlete, **fields}


def _entry_fields(entry: AthleteEntry) -> tuple[str, dict[str, Any]]:
    match entry:
        case EnterEffort(loop, effort):
            return "effort", {"loop": loop, "v": _number(effort)}
        case EnterSessionEffort(effort):
            return "session_effort", {"v": _number(effort)}
        case EnterNote(text):
            return "note", {"text": text}
        case EnterDiscomfort(site, side, level):
            return "discomfort", {"site": site, "side": side, "v": level}
        case EnterCount(count):
            return "count", {"v": count} | ({"of": "drill"} if entry.drill else {})
        case EnterLoad(load):
            return "load", {"load": load}
        case EnterVariant(variant):
            return "variant", {"v": variant}
        case EnterSkipReason(reason):
            return "skip_reason", {"v": reason}


INPUT_KINDS: Final = frozenset(
    {
        "cmd",
        "gap",
        "effort",
        "session_effort",
        "note",
        "discomfort",
        "count",
        "load",
        "variant",
        "skip_reason",
        "swap",
    }
)


def from_fields(fields: Mapping[str, Any]) -> Command:
    """Read a command back from the fields of a journal line.

    Raises:
        ValueError: The line is no input, or a field is missing or out of range.
    """
    try:
        return _READERS[fields["k"]](fields)
    except (KeyError, TypeError, AttributeError) as error:
        raise ValueError(f"not an input line: {error!r}") from None


def _swap_fields(swap: SwapExercise) -> dict[str, Any]:
    fields: dict[str, Any] = {
        "k": "swap",
        "station": swap.station,
        "x": swap.exercise,
        "name": swap.name,
        "call": swap.call_name,
        "why": swap.why,
    }
    more = {"load": swap.load, "tempo": swap.tempo}
    lists = {"cautions": list(swap.cautions), "kit": list(swap.kit)}
    return fields | {key: value for key, value in (more | lists).items() if value}


def _swap(fields: Mapping[str, Any]) -> SwapExercise:
    load, tempo = fields.get("load"), fields.get("tempo")
    return SwapExercise(
        station=_whole(fields["station"]),
        exercise=_text(fields["x"]),
        name=_text(fields["name"]),
        call_name=_text(fields["call"]),
        load=None if load is None else _text(load),
        tempo=None if tempo is None else _text(tempo),
        cautions=tuple(_text(text) for text in fields.get("cautions", ())),
        kit=tuple(_text(text) for text in fields.get("kit", ())),
        why=_text(fields.get("why", "")),
    )


def _number(effort: Effort | None) -> int | float | None:
    return None if effort is None else effort.number


def _effort(value: object) -> Effort | None:
    return None if value is None else Effort.parse(str(value))


def _whole(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise TypeError(f"expected a whole number, found {value!r}")
    return value


def _text(value: object) -> str:
    if not isinstance(value, str) or len(value) > 400 or first_hostile(value):
        raise TypeError("expected a short line of plain text")
    return value


def _athlete(fields: Mapping[str, Any]) -> str:
    return _text(fields.get("a", OWNER))


_READERS: Final[dict[str, Callable[[Mapping[str, Any]], Command]]] = {
    "cmd": lambda f: Do(f["do"]),
    "gap": lambda f: Gap(_whole(f["gap_ms"]), _text(f.get("cause", "sleep"))),
    "effort": lambda f: EnterEffort(_whole(f["loop"]), _effort(f["v"]), _athlete(f)),
    "session_effort": lambda f: EnterSessionEffort(_effort(f["v"]), _athlete(f)),
    "note": lambda f: EnterNote(_text(f["text"]), _athlete(f)),
    "discomfort": lambda f: EnterDiscomfort(
        _text(f["site"]), _text(f["side"]), _whole(f["v"]), _athlete(f)
    ),
    "count": lambda f: EnterCount(
        _whole(f["v"]), _athlete(f), drill=f.get("of") == "drill"
    ),
    "load": lambda f: EnterLoad(_text(f["load"]), _athlete(f)),
    "variant": lambda f: EnterVariant(_text(f["v"]), _athlete(f)),
    "skip_reason": lambda f: EnterSkipReason(_text(f["v"]), _athlete(f)),
    "swap": _swap,
}
