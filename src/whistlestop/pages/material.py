"""What pages and plots of a period are made of, gathered from records and the diary.

Owns choosing what lies in a period. Refuses to know files, screens, and any sum:
those are `review`'s.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from whistlestop.review.charts import SessionEfforts, session_efforts
from whistlestop.review.days import (
    NOTHING_FIXED,
    DayBook,
    DaySpan,
    FixedDays,
    Training,
)
from whistlestop.review.diary import Diary, Values, book_of, trainings_of
from whistlestop.review.numbers import Week, weeks
from whistlestop.review.record import SessionRecord
from whistlestop.review.stations import Bout, bouts_of
from whistlestop.review.trends import TrendDay, trend_days
from whistlestop.review.what_changed import PeriodChanges

Places = Mapping[str, tuple[str, str]]
# The longest that a figure of a day looks back: 12 earlier weeks and a whole one.
LOOK_BACK: Final = timedelta(weeks=13)


@dataclass(frozen=True, slots=True)
class DiscomfortOnDay:
    """A discomfort on a day, 0 to 10; `at` says at which station and loop, or not."""

    day: date
    site: str
    side: str
    level: int
    at: str = ""


@dataclass(frozen=True, slots=True)
class SessionOnPage:
    """A recorded session as it stands, and the training that it was."""

    day: date
    record: SessionRecord
    training: Training
    felt: tuple[DiscomfortOnDay, ...]

    @property
    def efforts(self) -> SessionEfforts:
        """Its efforts loop by loop."""
        return session_efforts(self.record, self.day)


@dataclass(frozen=True, slots=True)
class Material:
    """All of a period.

    `sessions` and `bouts` lie within `span` and are in order of day; `book` knows
    the days before it too, as far as they were given. `felt` holds the diary's own
    discomforts as well, `notes` those of trainings without a record; `changes` is
    what changed and `fixed` are races and key sessions, where these were asked.
    """

    span: DaySpan
    book: DayBook
    sessions: tuple[SessionOnPage, ...]
    bouts: tuple[Bout, ...]
    felt: tuple[DiscomfortOnDay, ...]
    notes: tuple[tuple[date, str], ...]
    earliest: date
    changes: PeriodChanges | None = None
    fixed: FixedDays = NOTHING_FIXED

    @property
    def weeks(self) -> tuple[Week, ...]:
        """The weeks, Monday to Sunday, that the period touches."""
        return weeks(self.book, self.span)

    @property
    def earlier_weeks(self) -> tuple[Week, ...]:
        """The known weeks before the period that a personal range looks back to."""
        first = max(self.earliest, self.span.first - LOOK_BACK)
        before = self.weeks[0].span.first - timedelta(days=1)
        return weeks(self.book, DaySpan(first, before)) if first <= before else ()

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
        """Both lines over the period, begun at the earliest day that is known.

        They end before its last day where that holds nothing yet.
        """
        first = min(self.earliest, self.span.first)
        is_open = self.book.day(self.span.last).is_open
        last = max(first, self.span.last - timedelta(days=is_open))
        line = trend_days(self.book.days(DaySpan(first, last)))
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


def gather(
    span: DaySpan,
    records: Iterable[SessionRecord],
    diary: Diary,
    trainings: Iterable[Training],
    places: Places,
    today: date | None = None,
) -> Material:
    """Gather the material of a period.

    Args:
        span: The period.
        records: Sessions as they stand, amendments laid over them, in any order,
            those entered afterwards too;
            those outside the period are passed by, as are scripted and deleted ones.
        diary: Other trainings, marks, and what was deleted.
        trainings: Recorded sessions as trainings, the earlier ones too.
        places: Region and pattern of each exercise id.
        today: The present day, where the period reaches it.
    """
    kept = [one for one in trainings if one.source_id not in diary.removed]
    known = {one.source_id: one for one in trainings_of(diary, kept)}
    inside = [
        (known[record.id], record)
        for record in records
        if record.id in known and known[record.id].day in span
    ]
    inside.sort(key=lambda pair: (pair[0].day, pair[1].id))
    after = span.last + timedelta(days=1)
    book = book_of(diary, kept, min(today or after, after))
    sessions = tuple(_done(training, record) for training, record in inside)
    shown = frozenset(record.id for _, record in inside)
    felt, notes = _from_entries(span, diary, shown)
    felt += [each for done in sessions for each in done.felt]
    return Material(
        span=span,
        book=book,
        sessions=sessions,
        bouts=tuple(b for t, r in inside for b in bouts_of(r, t.day, places)),
        felt=tuple(sorted(felt, key=lambda f: (f.day, f.site, f.side))),
        notes=tuple(notes),
        earliest=book.first_day or span.first,
    )


def _done(training: Training, record: SessionRecord) -> SessionOnPage:
    felt = [
        DiscomfortOnDay(
            training.day,
            taken.entry.site,
            taken.entry.side,
            taken.entry.level,
            f"station {taken.station}, loop {taken.loop}" if taken.station else "",
        )
        for taken in record.discomforts
    ]
    return SessionOnPage(training.day, record, training, tuple(felt))


def _discomforts(day: date, values: Values) -> list[DiscomfortOnDay]:
    return [
        DiscomfortOnDay(day, each["site"], each["side"], each["level"])
        for each in values.get("discomforts", [])
    ]


def _from_entries(
    span: DaySpan, diary: Diary, shown: frozenset[str]
) -> tuple[list[DiscomfortOnDay], list[tuple[date, str]]]:
    felt: list[DiscomfortOnDay] = []
    notes: list[tuple[date, str]] = []
    for entry in diary.present:
        values = entry.values
        day = date.fromisoformat(values.get("day") or values["first"])
        if day not in span or entry.id in shown:
            continue
        felt += _discomforts(day, values)
        if values.get("note"):
            notes.append((day, str(values["note"])))
    return felt, notes
