"""What pages and plots of a period are made of, gathered from records and the diary.

Owns laying amendments over a record and choosing what lies in a period. Refuses to
know files, screens, and any sum: those are `review`'s.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from whistlestop.engine.commands import EnterDiscomfort
from whistlestop.review.charts import SessionEfforts
from whistlestop.review.days import DayBook, Span, Training, day_of, training_of
from whistlestop.review.diary import Diary, Values, book_of, trainings_of
from whistlestop.review.numbers import Week, weeks
from whistlestop.review.record import SessionRecord
from whistlestop.review.stations import Bout, bouts_of, loop_efforts
from whistlestop.review.trends import TrendDay, trend_days

Places = Mapping[str, tuple[str, str]]
# The longest that a figure of a day looks back: 12 earlier weeks and a whole one.
LOOK_BACK: Final = timedelta(weeks=13)
_ANY_ZONE: Final = ZoneInfo("UTC")


@dataclass(frozen=True, slots=True)
class Felt:
    """A discomfort on a day, 0 to 10; `at` says at which station and loop, or not."""

    day: date
    site: str
    side: str
    level: int
    at: str = ""


@dataclass(frozen=True, slots=True)
class Done:
    """A recorded session with its amendments laid over it; times as recorded."""

    day: date
    record: SessionRecord
    training: Training
    note: str
    felt: tuple[Felt, ...]

    @property
    def efforts(self) -> SessionEfforts:
        """Its efforts loop by loop."""
        return SessionEfforts(
            self.day, self.record.plan.name, loop_efforts(self.record)
        )


@dataclass(frozen=True, slots=True)
class Material:
    """All of a period.

    `sessions` and `bouts` lie within `span` and are in order of day; `book` knows
    the days before it too, as far as they were given. `felt` holds the diary's own
    discomforts as well, `notes` those of trainings without a record.
    """

    span: Span
    book: DayBook
    sessions: tuple[Done, ...]
    bouts: tuple[Bout, ...]
    felt: tuple[Felt, ...]
    notes: tuple[tuple[date, str], ...]
    earliest: date
    problems: tuple[str, ...] = ()

    @property
    def weeks(self) -> tuple[Week, ...]:
        """The weeks, Monday to Sunday, that the period touches."""
        return weeks(self.book, self.span)

    @property
    def earlier_weeks(self) -> tuple[Week, ...]:
        """The known weeks before the period that a personal range looks back to."""
        first = max(self.earliest, self.span.first - LOOK_BACK)
        before = self.weeks[0].span.first - timedelta(days=1)
        return weeks(self.book, Span(first, before)) if first <= before else ()

    @property
    def efforts(self) -> tuple[SessionEfforts, ...]:
        """Efforts by loop of every session."""
        return tuple(done.efforts for done in self.sessions)

    @property
    def trainings(self) -> tuple[Training, ...]:
        """Every training in the period, the other sports too, in order of day."""
        return tuple(t for d in self.book.days(self.span) for t in d.trainings)

    @property
    def trend(self) -> tuple[TrendDay, ...]:
        """Both lines over the period, begun at the earliest day that is known."""
        first = min(self.earliest, self.span.first)
        line = trend_days(self.book.days(Span(first, self.span.last)))
        return tuple(day for day in line if day.day in self.span)

    @property
    def stations(self) -> dict[str, tuple[Bout, ...]]:
        """The bouts of each exercise with any work, most work first."""
        groups: dict[str, list[Bout]] = {}
        for bout in self.bouts:
            groups.setdefault(bout.exercise, []).append(bout)
        worked = {k: tuple(v) for k, v in groups.items() if any(b.done_ms for b in v)}
        return dict(
            sorted(worked.items(), key=lambda x: (-sum(b.done_ms for b in x[1]), x[0]))
        )


def local_day(wall: str) -> date:
    """The calendar day of a wall time where it was written, by its own offset.

    A session abroad, or in the week the clocks change, belongs to the day that the
    athlete had then, wherever the log is read later.

    Raises:
        ValueError: It is no date and time.
    """
    try:
        here = datetime.fromisoformat(wall).replace(tzinfo=None).isoformat()
    except ValueError:
        here = wall  # refused below, in the words of the day reader
    return day_of(here, _ANY_ZONE)


def recorded(record: SessionRecord) -> Training | None:
    """A record as a training on its local day; None if scripted or without work.

    Raises:
        ValueError: Its wall time cannot be read.
    """
    day = local_day(record.wall)
    return training_of(replace(record, wall=day.isoformat()), _ANY_ZONE)


def gather(
    span: Span,
    records: Iterable[SessionRecord],
    diary: Diary,
    places: Places,
    *,
    earlier: Sequence[Training] = (),
) -> Material:
    """Gather the material of a period.

    Args:
        span: The period.
        records: Sessions as recorded, in any order; those outside count for what
            looks back, scripted and removed ones not at all.
        diary: Amendments, tombstones, other trainings and marks.
        places: Region and pattern of each exercise id.
        earlier: Recorded trainings whose records are not handed in.
    """
    known: list[tuple[SessionRecord, Training]] = []
    problems: list[str] = []
    for record in records:
        try:
            training = recorded(record)
        except ValueError as error:
            problems.append(f"session {record.id} is left out: {error}")
            continue
        if training is not None and record.id not in diary.removed:
            known.append((record, training))
    known.sort(key=lambda pair: (pair[1].day, pair[0].id))
    book = book_of(diary, [*earlier, *(training for _, training in known)])
    amended = {t.source_id: t for t in trainings_of(diary, [t for _, t in known])}
    inside = [pair for pair in known if pair[1].day in span]
    sessions = tuple(_done(r, amended[r.id], diary.amended(r.id)) for r, _ in inside)
    felt, notes = _from_entries(span, diary)
    felt += [each for done in sessions for each in done.felt]
    return Material(
        span=span,
        book=book,
        sessions=sessions,
        bouts=tuple(bout for r, t in inside for bout in bouts_of(r, t.day, places)),
        felt=tuple(sorted(felt, key=lambda f: (f.day, f.site, f.side))),
        notes=tuple(notes),
        earliest=min(
            [*book.trainings, *book.marks, *(s.first for s in book.fully_logged)],
            default=span.first,
        ),
        problems=tuple(problems),
    )


def _done(record: SessionRecord, training: Training, amended: Values) -> Done:
    felt = [
        _felt(training.day, taken.entry, taken.station, taken.loop)
        for taken in record.discomforts
    ]
    if "discomforts" in amended:
        felt = _said(training.day, amended)
    note = str(amended.get("note", record.note))
    return Done(training.day, record, training, note, tuple(felt))


def _felt(
    day: date, entry: EnterDiscomfort, station: int | None, loop: int | None
) -> Felt:
    at = f"station {station}, loop {loop}" if station else ""
    return Felt(day, entry.site, entry.side, entry.level, at)


def _said(day: date, values: Values) -> list[Felt]:
    return [
        Felt(day, each["site"], each["side"], each["level"])
        for each in values.get("discomforts", [])
    ]


def _from_entries(
    span: Span, diary: Diary
) -> tuple[list[Felt], list[tuple[date, str]]]:
    felt: list[Felt] = []
    notes: list[tuple[date, str]] = []
    for entry in diary.present:
        values = entry.values
        day = date.fromisoformat(values.get("day") or values["first"])
        if day not in span:
            continue
        felt += _said(day, values)
        if values.get("note"):
            notes.append((day, str(values["note"])))
    return felt, notes
