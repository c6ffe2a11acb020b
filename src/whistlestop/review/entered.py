"""A session done without the laptop and entered afterwards, read like any other.

Owns what an entry says of its stations, and the record and the list's line that follow
from it. The entry holds the whole plan, as a journal does, so that it stays what it was
when its circuit is changed. Refuses to guess: a time of day is not known, and a station
was done as planned unless the entry says otherwise.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.effort import Effort
from whistlestop.domain.load import parse_load
from whistlestop.domain.owner import OWNER
from whistlestop.domain.plan.plan import Plan, Segment, SegmentKind
from whistlestop.store.journal.session_line import SessionLine

if TYPE_CHECKING:
    from whistlestop.review.record import (
        DrillResult,
        LoopResult,
        SessionRecord,
        StationResult,
    )

EXAMPLES: Final = "2: out in loop 3, 1: 16 kg or 4: 12 reps"
MOST_REPS: Final = 999
MOST_NAMES: Final = 1000
MOST_MS: Final = 7 * 24 * 3_600_000
_TYPED: Final = re.compile(
    r"\s*(?P<number>\d{1,3})\s*[:=]\s*(?P<what>.*?)(?:\s+in\s+loop\s+(?P<loop>\d{1,2}))?\s*",
    re.ASCII | re.IGNORECASE,
)
_REPS: Final = re.compile(r"(\d{1,3})\s*(?:reps?|x)", re.ASCII | re.IGNORECASE)
_OUT: Final = frozenset({"out", "left out", "-", "–"})

Values = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class StationEntry:
    """What was not as planned at a station, by its number: in one loop, or in all.

    `load` is as typed, `count` in repetitions; None is as planned, or not counted.
    """

    station: int
    loop: int | None = None
    left_out: bool = False
    load: str | None = None
    count: int | None = None

    def fields(self) -> dict[str, Any]:
        """As the diary has it; what is as usual is left out."""
        every = {
            "station": self.station,
            "loop": self.loop,
            "left_out": self.left_out or None,
            "load": self.load,
            "count": self.count,
        }
        return {name: value for name, value in every.items() if value is not None}

    @property
    def text(self) -> str:
        """As it would be typed, without the station's number."""
        what = "out" if self.left_out else self.load or f"{self.count} reps"
        return what if self.loop is None else f"{what} in loop {self.loop}"


def parse_station_entry(text: str) -> StationEntry:
    """Read `2: out in loop 3`, `1: 16 kg` or `4: 12 reps`.

    Raises:
        ValueError: It is none of these; the message has examples.
    """
    found = _TYPED.fullmatch(text)
    number = int(found["number"]) if found else 0
    if found is None or not number:
        raise ValueError(
            f"expected a station and what was different, such as {EXAMPLES}"
        )
    return _different(
        number, found["what"], int(found["loop"]) if found["loop"] else None
    )


def parse_at_station(number: int, text: str) -> tuple[StationEntry, ...]:
    """Read what was different at one station: `16 kg in loop 2; 12 reps`.

    Raises:
        ValueError: A part is no such thing; the message has examples.
    """
    parts = [part.strip() for part in text.split(";")]
    return tuple(parse_station_entry(f"{number}: {part}") for part in parts if part)


def _different(number: int, what: str, loop: int | None) -> StationEntry:
    if what.casefold() in _OUT:
        return StationEntry(number, loop, left_out=True)
    if reps := _REPS.fullmatch(what):
        return StationEntry(number, loop, count=int(reps[1]))
    try:
        parse_load(what)
    except ValueError as error:
        raise ValueError(f"{what or 'nothing'}: {error}; such as {EXAMPLES}") from None
    return StationEntry(number, loop, load=what)


def judge_entered(plan: Plan, entries: Iterable[StationEntry]) -> None:
    """Refuse what does not fit the plan.

    Raises:
        ValueError: There is no such station or loop, or nothing was done at all.
    """
    stated = list(entries)
    numbers = {card.number for card in plan.stations}
    for one in stated:
        if one.station not in numbers:
            raise ValueError(
                f"station {one.station}: {plan.name} has {len(numbers)} stations"
            )
        if one.loop is not None and not 1 <= one.loop <= plan.loops:
            raise ValueError(f"loop {one.loop}: {plan.name} has {plan.loops} loops")
    if not any(_loop_work_ms(plan, stated)):
        raise ValueError("nothing was done: every station is left out")


def plan_of(values: Values) -> Plan | None:
    """The plan that an entry holds; None for an entry of an earlier version.

    Raises:
        ValueError: It cannot be read.
    """
    raw = values.get("plan")
    return Plan.from_json(raw) if isinstance(raw, dict) else None


def stations_of(values: Values) -> tuple[StationEntry, ...]:
    """What an entry says of its stations. Raises ValueError."""
    return tuple(station_entry(one) for one in values.get("stations", ()))


def station_entry(raw: object) -> StationEntry:
    """Read one of them as the diary has it.

    Raises:
        ValueError: A field is missing or of the wrong kind.
    """
    if not isinstance(raw, Mapping):
        raise ValueError("expected what was different at a station")  # noqa: TRY004 - content
    loop, count, load = raw.get("loop"), raw.get("count"), raw.get("load")
    station = _whole(raw.get("station"), "station", 999)
    if load is not None:
        parse_load(load if isinstance(load, str) else "")
    return StationEntry(
        station,
        None if loop is None else _whole(loop, "loop", 100),
        raw.get("left_out") is True,
        load,
        None if count is None else _whole(count, "count", MOST_REPS),
    )


def _whole(value: object, what: str, most: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= most:
        raise ValueError(f"{what}: expected a whole number up to {most}")
    return value


@dataclass(frozen=True, slots=True)
class EnteredSum:
    """What a list needs of an entered session. `work_ms` is that of each loop."""

    work_ms: tuple[int, ...] = ()
    plan_work_ms: int = 0
    exercises: tuple[str, ...] = ()
    kit: tuple[str, ...] = ()

    def fields(self) -> dict[str, Any]:
        """As the diary has it, so that a list need not read the plan."""
        return {name: _plain(value) for name, value in asdict(self).items()}


def _plain(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


def sum_of(plan: Plan, entries: Sequence[StationEntry]) -> EnteredSum:
    """What was done of a plan."""
    cards = [plan.card(number) for number in _done_numbers(plan, entries)]
    return EnteredSum(
        _loop_work_ms(plan, entries),
        plan.work_ms,
        tuple(dict.fromkeys(card.exercise for card in cards)),
        tuple(dict.fromkeys(piece for card in cards for piece in card.kit)),
    )


def entered_sum(raw: object) -> EnteredSum:
    """Read a sum as the diary has it.

    Raises:
        ValueError: A field is missing or of the wrong kind.
    """
    if not isinstance(raw, Mapping):
        raise ValueError("expected work_ms, plan_work_ms, exercises and kit")  # noqa: TRY004 - content
    lists = [raw.get(name) for name in ("work_ms", "exercises", "kit")]
    if not all(isinstance(each, list) and len(each) <= MOST_NAMES for each in lists):
        raise ValueError("expected lists of work_ms, exercises and kit")
    work_ms, exercises, kit = (tuple(each or ()) for each in lists)
    if not all(isinstance(name, str) for name in (*exercises, *kit)):
        raise ValueError("expected names of exercises and kit")
    return EnteredSum(
        tuple(_whole(ms, "work_ms", MOST_MS) for ms in work_ms),
        _whole(raw.get("plan_work_ms"), "plan_work_ms", MOST_MS),
        exercises,
        kit,
    )


def loop_work_ms(values: Values) -> tuple[int, ...]:
    """The work of each loop of an entry, in ms; of an earlier version 1 for each.

    Earlier versions stored no plan: their loops weigh the same.
    """
    if "sum" in values:
        return entered_sum(values["sum"]).work_ms
    return (1,) * len(values.get("efforts", ()))


def _loop_work_ms(plan: Plan, entries: Sequence[StationEntry]) -> tuple[int, ...]:
    done = [
        segment for segment in _work(plan) if not _entered(segment, entries).left_out
    ]
    return tuple(
        sum(segment.duration_ms for segment in done if segment.loop == loop)
        for loop in range(1, plan.loops + 1)
    )


def _work(plan: Plan) -> list[Segment]:
    return [one for one in plan.segments if one.kind is SegmentKind.WORK]


def _entered(segment: Segment, entries: Iterable[StationEntry]) -> StationEntry:
    """All that is said of a segment's station in its loop; the later stands."""
    left_out, load, count = False, segment.load, None
    for one in entries:
        if one.station == segment.station and one.loop in {None, segment.loop}:
            left_out = left_out or one.left_out
            load = one.load or load
            count = count if one.count is None else one.count
    return StationEntry(segment.station or 0, segment.loop, left_out, load, count)


def line_of_entry(entry_id: str, values: Values) -> SessionLine:
    """An entered session as a line of the list, beside those of the journals.

    Of an entry of an earlier version the work is not known.
    """
    done = entered_sum(values["sum"]) if "sum" in values else EnteredSum()
    return SessionLine(
        id=entry_id,
        path=Path(),
        wall=values["day"],
        circuit=values.get("circuit", ""),
        name=values["name"],
        why="complete",
        active_ms=values["length_ms"],
        elapsed_ms=values["length_ms"],
        loops=len(done.work_ms) or len(values.get("efforts", ())),
        efforts=tuple(values.get("efforts", ())),
        session_effort=values.get("effort"),
        done_work_ms=sum(done.work_ms),
        best_work_ms=sum(done.work_ms),
        plan_work_ms=done.plan_work_ms,
        loop_work_ms=tuple(ms or None for ms in done.work_ms),
        exercises=done.exercises,
        kit=done.kit,
        note=values.get("note", ""),
        discomforts=tuple(
            (felt["site"], felt["side"], felt["level"])
            for felt in values.get("discomforts", ())
        ),
        finished=True,
        is_exact=True,
        entered=True,
    )


def _done_numbers(plan: Plan, entries: Sequence[StationEntry]) -> list[int]:
    done = [s for s in _work(plan) if not _entered(s, entries).left_out]
    return list(dict.fromkeys(s.station for s in done if s.station is not None))


def record_of_entry(entry_id: str, values: Values) -> SessionRecord | None:
    """An entered session as a record; None for an entry without a plan.

    What was not left out counts as done for its planned time, in one visit.

    Raises:
        ValueError: Its plan or its stations cannot be read.
    """
    # Imported here, and below: a list of the log makes no records.
    from whistlestop.engine.commands import EnterDiscomfort
    from whistlestop.review.record import Discomfort, SessionRecord, effort_from

    plan, entries = plan_of(values), stations_of(values)
    if plan is None:
        return None
    given = [*values.get("efforts", ()), *[None] * plan.loops]
    loops = tuple(
        _loop(plan, loop, entries, _effort(given[loop - 1]))
        for loop in range(1, plan.loops + 1)
    )
    whole = _effort(values.get("effort"))
    return SessionRecord(
        plan=plan,
        ending="complete",
        finished=True,
        elapsed_ms=values["length_ms"],
        active_ms=values["length_ms"],
        paused_ms=0,
        gated_ms=0,
        loops=loops,
        session_effort=whole,
        derived_effort=effort_from(loops),
        note=values.get("note", ""),
        discomforts=tuple(
            Discomfort(EnterDiscomfort(d["site"], d["side"], d["level"]), None, None)
            for d in values.get("discomforts", ())
        ),
        athlete=OWNER,
        id=entry_id,
        wall=values["day"],
        entered=True,
        drills=_drills(plan, entries),
    )


def _drills(plan: Plan, entries: Sequence[StationEntry]) -> tuple[DrillResult, ...]:
    """The drills after the stations that were done, as long as planned."""
    from whistlestop.review.record import drill_result

    return tuple(
        drill_result(one, one.duration_ms, {})
        for one in plan.segments
        if one.drill and one.place and not _entered(one, entries).left_out
    )


def _effort(value: Any) -> Effort | None:
    return None if value is None else Effort(round(value * 2))


def _loop(
    plan: Plan, loop: int, entries: Sequence[StationEntry], effort: Effort | None
) -> LoopResult:
    from whistlestop.review.record import LoopResult

    places: dict[int, list[Segment]] = {}
    for segment in _work(plan):
        if segment.loop == loop and segment.station is not None:
            places.setdefault(segment.station, []).append(segment)
    stations = tuple(_station(plan, parts, entries) for parts in places.values())
    return LoopResult(
        loop=loop,
        stations=stations,
        effort=effort,
        partial=any(not station.done_ms for station in stations),
        worked=any(station.done_ms for station in stations),
    )


def _station(
    plan: Plan, segments: Sequence[Segment], entries: Sequence[StationEntry]
) -> StationResult:
    from whistlestop.engine.events import Why
    from whistlestop.review.record import DoneAs, DonePart, PartResult, StationResult

    stated = _entered(segments[0], entries)
    card = plan.card(stated.station)
    parts = []
    for one in segments:
        ms = 0 if stated.left_out else one.duration_ms
        why = Why.SKIPPED if stated.left_out else Why.FULL
        visits = int(not stated.left_out)
        parts.append(
            PartResult(one.part, one.duration_ms, one.duration_ms, ms, ms, visits, why)
        )
    done_parts = tuple(DonePart(p.part, p.plan_ms, p.done_ms, p.best_ms) for p in parts)
    planned = segments[0].load
    count = None if stated.left_out else stated.count
    return StationResult(
        loop=stated.loop or 0,
        card=card,
        load=planned,
        parts=tuple(parts),
        load_used=stated.load if stated.load != planned else None,
        count=count,
        variants=(),
        done=(
            DoneAs(
                card, planned if stated.left_out else stated.load, done_parts, count
            ),
        ),
    )
