"""A session with what was amended in the diary applied to it; every version stays.

Owns what an amendment does to a record and to a list's line, and how its versions
are shown. Refuses to know where diary and journals lie.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any, Final

from whistlestop.domain.day import parse_day
from whistlestop.domain.effort import Effort
from whistlestop.engine.commands import EnterDiscomfort
from whistlestop.review.days import DayKind, Training
from whistlestop.review.diary import Diary, Version
from whistlestop.review.entered import station_entry
from whistlestop.review.heart import heart_of
from whistlestop.store.journal.index import SessionLine

if TYPE_CHECKING:
    from whistlestop.review.record import Discomfort, SessionRecord

NOTHING_NEW: Final = "nothing was changed by it"
# What an entry holds of its circuit: the record says it in lines of its own.
_NOT_ENTERED: Final = frozenset({"plan", "sum"})

Values = Mapping[str, Any]


def local_day(wall: str) -> date:
    """The calendar day that the athlete's own clock showed, whatever the zone now.

    Raises:
        ValueError: It is no date and time.
    """
    try:
        return parse_day(datetime.fromisoformat(wall).date().isoformat())
    except ValueError:
        raise ValueError("its start is not a date and time") from None


def instant(wall: str) -> str:
    """A wall time as the moment it was, for sorting across zones.

    A day alone, and a time without an offset, stay as they are.

    >>> instant("2031-05-12T08:00:00.000+09:00")
    '2031-05-11T23:00:00+00:00'
    """
    try:
        moment = datetime.fromisoformat(wall)
        return moment.astimezone(UTC).isoformat() if moment.tzinfo else wall
    except (ValueError, OverflowError):
        return wall


def amended_record(record: SessionRecord, diary: Diary) -> SessionRecord:
    """The record as it stands now; the same one where nothing was amended.

    An amended session effort, even one taken back, is never derived.
    """
    values = diary.amended(record.id)
    if not values:
        return record
    record = _with_efforts(record, values.get("efforts"))
    if "effort" in values:
        record = replace(
            record, session_effort=_effort(values["effort"]), derived_effort=None
        )
    if "discomforts" in values:
        felt = [_discomfort(each) for each in values["discomforts"]]
        record = replace(record, discomforts=_keeping_places(record.discomforts, felt))
    return replace(record, note=values.get("note", record.note))


def amended_line(line: SessionLine, diary: Diary) -> SessionLine:
    """A list's line as it stands now; the same one where nothing was amended.

    After an amended session effort its `loop_work_ms` is empty, so none is derived.
    """
    values = diary.amended(line.id)
    if not values:
        return line
    if "effort" in values:
        line = replace(line, session_effort=values["effort"], loop_work_ms=())
    if "efforts" in values:
        line = replace(line, efforts=tuple(values["efforts"]))
    if "discomforts" in values:
        felt = [(d["site"], d["side"], d["level"]) for d in values["discomforts"]]
        line = replace(line, discomforts=tuple(felt))
    return replace(line, note=values.get("note", line.note))


def line_of(record: SessionRecord, line: SessionLine) -> SessionLine:
    """A list's line with the figures of a replay, which need no sum and no row."""
    done_ms = [station.done_ms for loop in record.loops for station in loop.stations]
    cards = [card for loop in record.loops for card in loop.done_cards]
    text = record.session_effort
    return replace(
        line,
        wall=record.wall,
        why="" if record.ending == "open" else record.ending,
        elapsed_ms=record.elapsed_ms,
        active_ms=record.active_ms,
        paused_ms=record.paused_ms,
        done_work_ms=sum(done_ms),
        best_work_ms=record.best_work_ms,
        plan_work_ms=record.plan.work_ms,
        efforts=tuple(x.effort.number if x.effort else None for x in record.loops),
        session_effort=text.number if text else None,
        loop_work_ms=tuple(x.done_ms if x.worked else None for x in record.loops),
        # Behind those that the rows have: of an open visit there is none yet.
        exercises=_with(line.exercises, (card.exercise for card in cards)),
        kit=_with(line.kit, (piece for card in cards for piece in card.kit)),
        note=record.note,
        discomforts=tuple(
            (taken.entry.site, taken.entry.side, taken.entry.level)
            for taken in record.discomforts
        ),
        is_exact=True,
    )


def _with(names: Sequence[str], more: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys([*names, *more]))


def training_of_line(line: SessionLine) -> Training | None:
    """A list's line as a training, with the session's effort or the mean of its loops.

    None if scripted, a try-out or without any work.

    Raises:
        ValueError: Its wall time cannot be read.
    """
    if line.scripted or line.is_try_out or not line.done_work_ms:
        return None
    derived = line.derived_effort
    text = line.session_effort
    return Training(
        day=local_day(line.wall),
        length_ms=line.session_ms,
        effort=derived if text is None else float(text),
        kind=DayKind.CIRCUIT,
        sport=line.name,
        source_id=line.id,
        effort_is_derived=text is None and derived is not None,
    )


# What a field is called in a line, where its key says it badly.
_NAMES: Final = {"left_out_for": "left out:"}


def version_lines(versions: Sequence[Version], *, made: bool = False) -> Iterator[str]:
    """Tell every version in the order in which it was written, undone ones too.

    `made` says that the first version is the entry itself, and no amendment.
    """
    before: Values = {}
    for number, version in enumerate(versions):
        word = "entered" if made and number == 0 else "amended"
        undone = "" if version.stands else " (undone)"
        changes = [
            f"{_NAMES.get(name, name)} {_value_text(name, value)}"
            for name, value in version.values.items()
            if name not in {"plan", "sum"}
            and (name not in before or before[name] != value)
        ]
        text = "; ".join(changes) or NOTHING_NEW
        yield f"{word} {version.wall or 'at an unknown time'}{undone}: {text}"
        if version.stands:
            before = version.values


def _value_text(name: str, value: object) -> str:
    if value is None:
        return "not entered"
    if name == "efforts" and isinstance(value, list):
        return ", ".join(_value_text("", effort) for effort in value)
    if name == "discomforts" and isinstance(value, list):
        sentences = [f"{d['site']}, {d['side']}, {d['level']} of 10" for d in value]
        return "; ".join(sentences) or "none"
    if name == "left_out_for":
        return str(value).replace("-", " ")
    if name == "stations" and isinstance(value, list):
        given = [station_entry(one) for one in value]
        return "; ".join(f"{one.station}: {one.text}" for one in given)
    if name == "heart" and isinstance(value, dict):
        return str(heart_of(value))
    if name in {"length_ms", "elapsed_ms"} and isinstance(value, int):
        return f"{value / 60_000:g} min"
    if name == "files" and isinstance(value, list):
        return "1 activity file" if len(value) == 1 else f"{len(value)} activity files"
    return f"{value:g}" if isinstance(value, (int, float)) else f'"{value}"'


def _with_efforts(record: SessionRecord, efforts: object) -> SessionRecord:
    if not isinstance(efforts, list):
        return record
    # Imported here, and below: a list of the log replays nothing.
    from whistlestop.review.record import effort_from

    given = [*efforts, *[None] * len(record.loops)]
    loops = tuple(
        replace(loop, effort=_effort(value))
        for loop, value in zip(record.loops, given, strict=False)
    )
    return replace(record, loops=loops, derived_effort=effort_from(loops))


def _effort(value: Any) -> Effort | None:
    return None if value is None else Effort(round(value * 2))


def _discomfort(values: Values) -> EnterDiscomfort:
    return EnterDiscomfort(values["site"], values["side"], values["level"])


def _keeping_places(
    before: Sequence[Discomfort], felt: Sequence[EnterDiscomfort]
) -> tuple[Discomfort, ...]:
    """Discomforts that were entered at a station keep it."""
    from whistlestop.review.record import Discomfort

    left = list(before)
    found = []
    for entry in felt:
        same = next((taken for taken in left if taken.entry == entry), None)
        if same is not None:
            left.remove(same)
        found.append(same or Discomfort(entry, None, None))
    return tuple(found)
