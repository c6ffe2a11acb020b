"""The diary: what is not in a session's journal, folded from its lines.

Owns the meaning of `diary.jsonl`: append-only, each line as `store.journal_line`
writes it; no line is ever changed or taken out. Refuses to know where the file lies
and who writes it. Every line has `s` (0, 1, 2 ...), `k`, `wall`, `a` (athlete).

  diary     format = 1; the first line
  training  id, day, sport, length_ms; effort or null, note, heart (average, rest, max);
            of an activity file: files (their keys), start (ISO 8601 with offset),
            elapsed_ms, rate (average heart rate a minute, moving)
  session   id, day, name, length_ms; circuit, effort, efforts (a loop each), note,
            discomforts: a circuit done without the laptop; with plan (as a journal
            has it, or `same_as` the id of an earlier entry with that plan), stations
            (what was not as planned) and sum (what follows) as `review.entered` has it
  mark      id, first, last, mark (rest, illness, travel, off); note
  logged    id, first, last: every training in these days is entered
  blanks    id, first, count (rest or open): how blank days count from `first` on,
            until a later line says otherwise from a day on
  change    of (id of an entry), set: its new values
  amend     of (id of a journal), set: effort, note, discomforts, efforts (all of
            its loops in order; null is not entered), heart, rate, files, left_out_for
            (too-much or no-time: why something was left out)
  remove    of (id of an entry or a journal): a tombstone
  well      id, day, about (health-stop or illness), of (id of a journal), cause: the
            athlete's own word that they are well again
  morning   id, day, of (id of a journal), site, felt (better, same, worse): how a
            discomfort was on the next morning
  undo      of (s of an earlier line): as if that line had not been written;
            an undo can be undone
A line may have `step` (a text): lines of one step are undone together; and `after`
(the s of another line): it came from a copy, and is read behind that line.
Days are 2031-05-12, effort is 0 to 10 in half points. Unknown kinds and fields are
kept. A line that cannot be read is named in `problems` and counts for nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field, replace
from datetime import date, timedelta
from typing import Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.day import parse_day
from whistlestop.domain.effort import derived_effort
from whistlestop.domain.owner import OWNER
from whistlestop.domain.text import shown
from whistlestop.errors import StoreError
from whistlestop.review.days import (
    DayBook,
    DayKind,
    DaySpan,
    Mark,
    Training,
    blank_spans,
    day_book,
)
from whistlestop.review.diary_fields import (
    AMEND_FIELDS,
    ANSWER_FIELDS,
    ENTRY_FIELDS,
    check,
    check_fields,
    effort_of,
    name_of,
    span_of,
)
from whistlestop.review.entered import loop_work_ms
from whistlestop.store.journal.line import JournalLine

FORMAT: Final = 1
_RESERVED: Final = frozenset(
    {"s", "k", "t", "wall", "a", "c", "id", "of", "step", "after"}
)

Values = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Version:
    """What a line made of an entry, or of what is amended: all values after it.

    `stands` is False where the line was undone; it is listed all the same.
    """

    sequence: int | None
    wall: str
    values: Values
    stands: bool


@dataclass(frozen=True, slots=True)
class DiaryEntry:
    """One entry with all its versions; the first one made it."""

    id: str
    kind: str
    versions: tuple[Version, ...]
    removed: bool = False

    @property
    def is_present(self) -> bool:
        """Whether it counts: neither undone nor removed."""
        return self.versions[0].stands and not self.removed

    @property
    def values(self) -> Values:
        """The values that stand, or the first ones where none do."""
        return _standing(self.versions, self.versions[0].values)


@dataclass(frozen=True, slots=True)
class Diary:
    """The state after the last line.

    `amendments` go by the id of the journal they amend; `removed` holds the ids of
    journals under a tombstone; `answers` the fields of the lines `well` and `morning`
    that stand; `unknown` the fields of lines of unknown kinds.
    """

    entries: Mapping[str, DiaryEntry] = field(default_factory=dict)
    amendments: Mapping[str, tuple[Version, ...]] = field(default_factory=dict)
    removed: frozenset[str] = frozenset()
    answers: tuple[Values, ...] = ()
    unknown: tuple[Values, ...] = ()
    problems: tuple[str, ...] = ()
    next_sequence: int = 0

    @property
    def present(self) -> tuple[DiaryEntry, ...]:
        """The entries that count, in the order in which they were made."""
        return tuple(entry for entry in self.entries.values() if entry.is_present)

    def amended(self, journal_id: str) -> Values:
        """The values that were amended in a recorded session and stand."""
        return _standing(self.amendments.get(journal_id, ()), {})


def fold(lines: Iterable[JournalLine], athlete: str = OWNER) -> Diary:
    """Fold the lines of a diary, of any length, into its state.

    Args:
        lines: The lines as found, in order; those of other athletes are passed by,
            and so are those that do not count, which the file itself names.
        athlete: Whose diary it is; a line without `a` is the first athlete's.

    Raises:
        StoreError: The diary is of a later format than this program reads.
    """
    found = list(lines)
    folding = _Fold()
    counted = [line for line in found if line.counts]
    if counted:
        _check_first(counted[0], folding)
    own = [x for x in counted if x.fields.get("a", OWNER) == athlete]
    undone = _undone(own, folding)
    for index, line in enumerate(own):
        folding.take(line, stands=index not in undone)
    known = [x.sequence for x in found if x.sequence is not None]
    return folding.diary(next_sequence=max(known, default=-1) + 1)


def undone_sequences(
    lines: Iterable[JournalLine], athlete: str = OWNER
) -> frozenset[int]:
    """The numbers of the lines that do not stand, because they were undone."""
    own = [
        line for line in lines if line.counts and line.fields.get("a", OWNER) == athlete
    ]
    undone = _undone(own, _Fold())
    return frozenset(own[n].sequence or 0 for n in undone)


def trainings_of(
    diary: Diary, recorded: Iterable[Training] = ()
) -> tuple[Training, ...]:
    """Recorded trainings as amended, without those removed, and the diary's own.

    An amended effort is never derived; an effort taken back is not entered.
    """
    kept = [
        _amended(training, diary.amended(training.source_id))
        for training in recorded
        if training.source_id not in diary.removed
    ]
    own = [
        training_of_entry(e) for e in diary.present if e.kind in {"training", "session"}
    ]
    return (*kept, *own)


def book_of(
    diary: Diary, recorded: Iterable[Training] = (), today: date | None = None
) -> DayBook:
    """All that is known by day: the diary, and the recorded trainings given.

    Args:
        diary: Other training, marks, and how blank days count.
        recorded: Recorded sessions as trainings.
        today: The present day: blank days before it may count as rest, from it on
            they do not yet. Without it none does outside fully logged periods.
    """
    present = diary.present
    stated = [
        (parse_day(e.values["first"]), e.values["count"] == "rest")
        for e in present
        if e.kind == "blanks"
    ]
    as_rest = [] if today is None else blank_spans(stated, today - timedelta(days=1))
    return day_book(
        sorted(trainings_of(diary, recorded), key=lambda training: training.day),
        [
            (Mark(e.values["mark"]), span_of(e.values))
            for e in present
            if e.kind == "mark"
        ],
        [*(span_of(e.values) for e in present if e.kind == "logged"), *as_rest],
    )


def illness_spans(diary: Diary) -> tuple[DaySpan, ...]:
    """The days that are marked as ill."""
    return tuple(
        span_of(entry.values)
        for entry in diary.present
        if entry.kind == "mark" and entry.values["mark"] == Mark.ILLNESS
    )


class _Fold:
    """The state while lines are taken in."""

    def __init__(self) -> None:
        self.entries: dict[str, DiaryEntry] = {}
        self.amendments: dict[str, tuple[Version, ...]] = {}
        self.removed: set[str] = set()
        self.answers: list[Values] = []
        self.unknown: list[Values] = []
        self.problems: list[str] = []

    def problem(self, line: JournalLine, what: str) -> None:
        """Name a line that does not count, or does nothing."""
        self.problems.append(f"{line.place}: {what}")

    def take(self, line: JournalLine, *, stands: bool) -> None:
        """Take one line in; what is wrong with it becomes a problem."""
        try:
            if line.kind in ENTRY_FIELDS:
                self._make(line, stands=stands)
            elif line.kind in ANSWER_FIELDS:
                self._answer(line, stands=stands)
            elif line.kind == "change":
                self._change(line, stands=stands)
            elif line.kind == "amend":
                self._amend(line, stands=stands)
            elif line.kind == "remove":
                self._remove(line, stands=stands)
            elif line.kind not in {"diary", "undo"}:
                self.unknown.append(line.fields)
        except ValueError as error:
            self.problem(line, str(error))

    def diary(self, *, next_sequence: int) -> Diary:
        """The state as a value."""
        return Diary(
            self.entries,
            self.amendments,
            frozenset(self.removed),
            tuple(self.answers),
            tuple(self.unknown),
            tuple(self.problems),
            next_sequence,
        )

    def _make(self, line: JournalLine, *, stands: bool) -> None:
        made = name_of(line.fields.get("id"), "id")
        if made in self.entries:
            raise ValueError(f'the id "{shown(made, 40)}" is taken; this one is aside')
        values = {k: v for k, v in line.fields.items() if k not in _RESERVED}
        if isinstance(plan := values.get("plan"), dict) and "same_as" in plan:
            values["plan"] = self._plan_of(plan["same_as"])
        check(line.kind, values)
        version = _version(line, values, stands=stands)
        self.entries[made] = DiaryEntry(made, line.kind, (version,))

    def _plan_of(self, entry_id: object) -> Any:
        """The plan of an earlier entry, which a later one shares."""
        entry = self.entries.get(name_of(entry_id, "plan"))
        plan = None if entry is None else entry.versions[0].values.get("plan")
        if plan is None:
            raise ValueError(f'plan: there is none in "{shown(str(entry_id), 40)}"')
        return plan

    def _answer(self, line: JournalLine, *, stands: bool) -> None:
        check_fields(ANSWER_FIELDS[line.kind], line.fields, all_of_them=True)
        if stands:
            self.answers.append(line.fields)

    def _change(self, line: JournalLine, *, stands: bool) -> None:
        of = name_of(line.fields.get("of"), "of")
        entry = self.entries.get(of)
        if entry is None:
            raise ValueError(f'there is no entry "{shown(of, 40)}" before it')
        values = {**entry.values, **_set(line)}
        check(entry.kind, values)
        versions = (*entry.versions, _version(line, values, stands=stands))
        self.entries[of] = replace(entry, versions=versions)

    def _amend(self, line: JournalLine, *, stands: bool) -> None:
        of = name_of(line.fields.get("of"), "of")
        if of in self.entries:
            raise ValueError("an entry of the diary is changed, not amended")
        before = self.amendments.get(of, ())
        values = {**_standing(before, {}), **_set(line)}
        check_fields(AMEND_FIELDS, values)
        self.amendments[of] = (*before, _version(line, values, stands=stands))

    def _remove(self, line: JournalLine, *, stands: bool) -> None:
        of = name_of(line.fields.get("of"), "of")
        if not stands:
            return
        if of in self.entries:
            self.entries[of] = replace(self.entries[of], removed=True)
        else:
            self.removed.add(of)


def _check_first(line: JournalLine, folding: _Fold) -> None:
    if line.kind != "diary":
        folding.problem(line, "the first line of a diary names its format; read as 1")
        return
    version = line.fields.get("format")
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        folding.problem(line, "its format is not a whole number from 1; read as 1")
    elif version > FORMAT:
        raise StoreError(
            f"the diary is of format {version}; this program reads up to {FORMAT}",
            "a newer whistlestop reads it; nothing was changed",
        )


def _undone(lines: Sequence[JournalLine], folding: _Fold) -> set[int]:
    """Which lines do not stand. Backwards: an undo comes after what it undoes."""
    undone: set[int] = set()
    if not any(line.fields.get("k") == "undo" for line in lines):
        return undone
    places: dict[int, list[int]] = {}
    for index, line in enumerate(lines):
        if line.sequence is not None:
            places.setdefault(line.sequence, []).append(index)
    for index in range(len(lines) - 1, -1, -1):
        line = lines[index]
        if line.kind != "undo":
            continue
        of = line.fields.get("of")
        whole = isinstance(of, int) and not isinstance(of, bool)
        known = places.get(of, []) if whole else []  # type: ignore[arg-type]
        if len(known) != 1 or known[0] >= index or lines[known[0]].kind == "diary":
            folding.problem(line, "it undoes no single line before it")
        elif index not in undone:
            undone.add(known[0])
    return undone


def _standing(versions: Sequence[Version], otherwise: Values) -> Values:
    standing = (v.values for v in reversed(versions) if v.stands)
    return next(standing, otherwise)


def _version(line: JournalLine, values: Values, *, stands: bool) -> Version:
    return Version(line.sequence, str(line.fields.get("wall", "")), values, stands)


def _set(line: JournalLine) -> Values:
    values = line.fields.get("set")
    if not isinstance(values, dict) or not values:
        raise ValueError("set: expected at least one new value")
    if reserved := sorted(_RESERVED & set(values)):
        raise ValueError(f"set: {reserved[0]} cannot be changed")
    return values


def _number(value: object) -> float | None:
    return None if value is None else effort_of(value).halves / 2


def training_of_entry(entry: DiaryEntry) -> Training:
    """An entry of the kind training or session as a training.

    A session rated by its loops alone has their mean as its effort, derived.
    """
    values = entry.values
    effort, derived = _number(values.get("effort")), False
    if effort is None:
        effort = _derived(values)
        derived = effort is not None
    is_circuit = entry.kind == "session"
    return Training(
        parse_day(values["day"]),
        values["length_ms"],
        effort,
        DayKind.CIRCUIT if is_circuit else DayKind.OTHER,
        values["name" if is_circuit else "sport"],
        entry.id,
        derived,
    )


def _derived(values: Values) -> float | None:
    """The mean of the loops with work, weighed by it."""
    work_ms = loop_work_ms(values) if values.get("efforts") else ()
    given = [*values.get("efforts", ()), *[None] * len(work_ms)]
    worked = [(v, ms) for v, ms in zip(given, work_ms, strict=False) if ms]
    efforts = [None if v is None else effort_of(v) for v, _ in worked]
    return derived_effort(efforts, [ms for _, ms in worked])


def _amended(training: Training, values: Values) -> Training:
    if "effort" not in values:
        return training
    return replace(training, effort=_number(values["effort"]), effort_is_derived=False)
