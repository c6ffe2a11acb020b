"""What the athlete adds to the log: amendments, other training, days, deletions.

Every act is a step of lines appended to the diary, and can be undone. Owns what is
refused before it is written. Refuses to print, and to touch a journal.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from whistlestop.domain.circuit.circuit import MAX_LOOPS, Circuit, Today
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.plan import Plan
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.text import first_hostile, shown
from whistlestop.driver.logbook import Logbook
from whistlestop.errors import UsageError
from whistlestop.review.days import DaySpan, Mark, day_text
from whistlestop.review.diary import DiaryEntry, undone_sequences
from whistlestop.review.diary_fields import MOST_DAYS
from whistlestop.review.entered import StationEntry, judge_entered, sum_of
from whistlestop.review.heart import Heart, heart_of
from whistlestop.review.record import SessionRecord
from whistlestop.review.wellbeing import About, MorningAnswer
from whistlestop.store.diary.copies import DiaryWithCopies, take_over
from whistlestop.store.diary.file import append_step, diary_path, steps
from whistlestop.store.journal.file import is_session_id, journal_path
from whistlestop.store.journal.line import JournalLine

if TYPE_CHECKING:
    from whistlestop.driver.library import LibraryService
    from whistlestop.driver.log import LogService

NOTE_LIMIT: Final = 400
NAME_LIMIT: Final = 80
MOST_MINUTES: Final = 24 * 60


@dataclass(frozen=True, slots=True)
class DiscomfortEntry:
    """A discomfort to add: where, which side, 0 to 10."""

    site: str
    side: str
    level: int


def parse_discomfort(text: str) -> DiscomfortEntry:
    """Read a site, a side and a level, such as `knee left 3`.

    Raises:
        ValueError: It is no such thing.
    """
    site, *rest = text.rsplit(maxsplit=2) or [""]
    level = rest[-1] if len(rest) == 2 else ""
    if not (level.isascii() and level.isdigit() and int(level[:3]) <= 10):
        raise ValueError('expected "SITE SIDE 0 to 10", such as "knee left 3"')
    return DiscomfortEntry(site, rest[0], int(level))


@dataclass(frozen=True, slots=True)
class Amendment:
    """New values for a session; what is not given stays as it is.

    `effort` is of the whole session, `efforts` of loops by number (from 1); None
    there means not entered. `felt` is added to the discomforts, unless
    `without_discomforts` empties them first. `left_out_for` is why something was left
    out: too-much or no-time.
    """

    efforts: Mapping[int, Effort | None] | None = None
    effort: Effort | None = None
    sets_effort: bool = False
    note: str | None = None
    felt: tuple[DiscomfortEntry, ...] = ()
    without_discomforts: bool = False
    left_out_for: str = ""

    @property
    def is_empty(self) -> bool:
        """Whether nothing is given."""
        return self == Amendment()


@dataclass(frozen=True, slots=True)
class TrainingEntry:
    """A training to enter. `length_ms` without pauses; `efforts` one a loop.

    A circuit has its `plan`, and in `stations` what was not done as planned.
    `is_circuit` is one done without the laptop, and no other training.
    """

    day: date
    name: str
    length_ms: int
    effort: Effort | None = None
    efforts: tuple[Effort | None, ...] = ()
    note: str = ""
    circuit: str = ""
    heart: Heart | None = None
    is_circuit: bool = False
    plan: Plan | None = None
    stations: tuple[StationEntry, ...] = ()
    felt: tuple[DiscomfortEntry, ...] = ()


def planned(circuit: Circuit, loops: int | None) -> Plan:
    """A circuit as it would be done, with all its loops or with so many.

    Raises:
        UsageError: There are too many loops, or none.
    """
    if loops is not None and not 1 <= loops <= MAX_LOOPS:
        raise UsageError(f"expected 1 to {MAX_LOOPS} loops")
    return compile_plan(circuit, Today(loops=loops))


class DiaryKeeper:
    """Writes to the diary of one home. Each act returns what it made or undid."""

    def __init__(self, log: LogService, library: LibraryService) -> None:
        """Prepare; nothing is read or made yet."""
        self._log = log
        self._library = library

    def amend(self, session_id: str, amendment: Amendment) -> str:
        """Amend a recorded session, or an entry; `last` is the newest session.

        Returns:
            The id of what was amended.

        Raises:
            UsageError: There is no such session, or a value cannot be kept.
            StoreError: A file cannot be read, or the disk does not take it.
        """
        if amendment.is_empty:
            raise UsageError("no change given", "--effort, --note, --discomfort")
        logbook = Logbook(self._log, self._library)
        if session_id == "last":
            session_id = logbook.last_id()
        entry = logbook.entry(session_id)
        if entry is not None:
            values = _entry_values(entry, amendment)
            self._write([{"k": "change", "of": session_id, "set": values}])
            return session_id
        values = _record_values(logbook.record(session_id), amendment)
        self._write([{"k": "amend", "of": session_id, "set": values}])
        return session_id

    def add_training(self, done: TrainingEntry) -> str:
        """Enter other training; returns its id.

        Raises:
            UsageError: A value cannot be kept.
            StoreError: The disk does not take it.
        """
        return self.add_trainings([done])[0]

    def add_trainings(self, trainings: Sequence[TrainingEntry]) -> list[str]:
        """Enter any number of trainings in one step; returns their ids.

        Raises:
            UsageError, StoreError: As `add_training`; then none is entered.
        """
        lines = [self._entry_line(each) for each in trainings]
        self._write(lines)
        return [str(line["id"]) for line in lines]

    def append(self, lines: Sequence[Mapping[str, Any]]) -> None:
        """Append lines that were made elsewhere, as one step.

        Raises:
            StoreError: The disk does not take it; then none is there.
        """
        self._write(lines)

    def last_heart(self) -> Heart | None:
        """The heart rates that were entered last, for those at rest and greatest.

        Raises:
            StoreError: The diary cannot be read.
        """
        kept = (
            e.values.get("heart")
            for e in Logbook(self._log, self._library).diary.present
        )
        known = [heart_of(values) for values in kept if values]
        return known[-1] if known else None

    def enter_session(self, done: TrainingEntry) -> str:
        """Enter a session of a circuit done without the laptop; returns its id.

        Raises:
            UsageError: As `add_training`; or the plan has no such station or loop, or
                nothing was done.
            StoreError: As `add_training`.
        """
        return self.add_trainings([replace(done, is_circuit=True)])[0]

    def _session_values(self, done: TrainingEntry) -> dict[str, Any]:
        """What only a circuit has of what is entered."""
        line: dict[str, Any] = {"id": _new_id(), "name": done.name}
        line |= {"circuit": done.circuit} if done.circuit else {}
        efforts = [None if e is None else e.number for e in done.efforts]
        line |= {"efforts": efforts} if efforts else {}
        line |= {"discomforts": _felt_values(done.felt)} if done.felt else {}
        if done.plan is not None:
            try:
                judge_entered(done.plan, done.stations)
            except ValueError as error:
                raise UsageError(str(error)) from None
            line["plan"] = self._plan_field(done.plan)
            line["sum"] = sum_of(done.plan, done.stations).fields()
        stations = [one.fields() for one in done.stations]
        return line | ({"stations": stations} if stations else {})

    def _plan_field(self, plan: Plan) -> dict[str, Any]:
        """A plan as an entry holds it; of one that is there already only the id."""
        # As it is read back: lists for tuples.
        raw: dict[str, Any] = json.loads(json.dumps(plan.to_json()))
        entries = Logbook(self._log, self._library).diary.entries.values()
        same = (e.id for e in entries if e.versions[0].values.get("plan") == raw)
        found = next(same, None)
        return raw if found is None else {"same_as": found}

    def mark(self, mark: Mark, span: DaySpan, note: str = "") -> str:
        """Mark days as rest, illness, travel or off; returns the id of the entry.

        Raises:
            UsageError: The period is too long, or the note cannot be kept.
            StoreError: The disk does not take it.
        """
        return self._period({"k": "mark", "mark": mark.value}, span, note)

    def fully_logged(self, span: DaySpan) -> str:
        """Say that every training of a period is entered; returns the entry's id.

        Raises:
            UsageError: The period is too long, or goes on after today.
            StoreError: The disk does not take it.
        """
        if span.last > self._today:
            raise UsageError(
                "a period can be fully logged up to today",
                f"today is {day_text(self._today)}",
            )
        return self._period({"k": "logged"}, span, "")

    def answer_well(self, about: About, of: str = "", cause: str = "") -> None:
        """Save the athlete's own word that they are well again.

        Args:
            about: A stop for health, or an illness.
            of: The session that was stopped.
            cause: What it was, a key of `wellbeing.CAUSES`.

        Raises:
            StoreError: The disk does not take it.
        """
        day = self._today.isoformat()
        line = {"k": "well", "id": _new_id(), "day": day, "about": about}
        self._write([{**line, "of": of, "cause": cause}])

    def answer_mornings(self, felt: Sequence[MorningAnswer]) -> None:
        """Save how discomforts of a session were on the next morning, in one step.

        Raises:
            StoreError: The disk does not take it.
        """
        lines = [
            {
                "k": "morning",
                "id": _new_id(),
                "day": each.day.isoformat(),
                "of": each.of,
                "site": each.site,
                "felt": each.felt,
            }
            for each in felt
        ]
        self._write(lines)

    def count_blanks(self, first: date, *, as_rest: bool) -> str:
        """State how blank days count from a day on; returns the id of the entry.

        Raises:
            UsageError: The day is still to come.
            StoreError: The disk does not take it.
        """
        if first > self._today:
            raise UsageError(
                f"{day_text(first)} is still to come",
                f"today is {day_text(self._today)}",
            )
        line = {"k": "blanks", "id": _new_id(), "first": first.isoformat()}
        self._write([{**line, "count": "rest" if as_rest else "open"}])
        return line["id"]

    def delete(self, item_id: str) -> str:
        """Put a session or an entry under a tombstone; it stays on the disk.

        Returns:
            The id of what was deleted.

        Raises:
            UsageError: There is no such thing, or it is deleted already.
            StoreError: The disk does not take it.
        """
        logbook = Logbook(self._log, self._library)
        if item_id == "last":
            item_id = logbook.last_id()
        entry = logbook.entry(item_id)
        if entry is None:
            self._check_journal(item_id)
        if item_id in logbook.diary.removed or (entry and not entry.is_present):
            raise UsageError(
                "that is deleted already", "`log undo` undoes the last change"
            )
        self._write([{"k": "remove", "of": item_id}])
        return item_id

    def undo(self) -> str:
        """Take the last step that stands back; returns what it was, in words.

        Raises:
            UsageError: There is none.
            StoreError: The diary cannot be read or written to.
        """
        lines = self._lines()
        undone = undone_sequences(lines)
        for step in reversed(steps(lines)):
            if not _is_undo(step) and not _is_undone(step, undone):
                self._undo(step)
                return step_text(step)
        raise UsageError("there is nothing to undo in the diary")

    def redo(self) -> str:
        """Take the last undo back; returns what stands again, in words.

        Raises:
            UsageError: The last step was no undo.
            StoreError: The diary cannot be read or written to.
        """
        lines = self._lines()
        undone = undone_sequences(lines)
        found = steps(lines)
        by_number = {line.sequence: step for step in found for line in step}
        for step in reversed(found):
            if not _is_undo(step):
                break
            of = by_number.get(step[0].fields.get("of"))
            if of is not None and not _is_undo(of) and not _is_undone(step, undone):
                self._undo(step)
                return step_text(of)
        raise UsageError("nothing to redo")

    # The parts

    @property
    def _path(self) -> Any:
        return diary_path(self._log.places.log)

    @property
    def _today(self) -> date:
        return self._log.clock.wall().date()

    def _write(self, lines: Sequence[Mapping[str, Any]]) -> None:
        self._lines()
        step = {"step": secrets.token_hex(4)} if len(lines) > 1 else {}
        wall = self._log.clock.wall().isoformat(timespec="milliseconds")
        append_step(self._path, [{**line, **step} for line in lines], wall=wall)

    def _lines(self) -> tuple[JournalLine, ...]:
        """The lines of the diary, if they are of a format that is known.

        To one of a later format nothing is added: it may mean something else there.
        What only conflict copies hold is written into the diary before anything
        else is, so that a later line can speak of it.

        Raises:
            StoreError: They are not, or cannot be read.
        """
        logbook = Logbook(self._log, self._library)
        _ = logbook.diary
        if logbook.lines.missing:
            take_over(self._path)
            logbook = Logbook(self._log, self._library)
        return logbook.lines.lines

    def merge(self) -> DiaryWithCopies:
        """Write what only conflict copies hold into the diary.

        Returns:
            The state before, with how many lines each copy had more.

        Raises:
            StoreError: A file cannot be read, or the disk does not take it.
        """
        _ = Logbook(self._log, self._library).diary
        return take_over(self._path)

    def _undo(self, step: Sequence[JournalLine]) -> None:
        self._write([{"k": "undo", "of": line.sequence} for line in step])

    def _entry_line(self, done: TrainingEntry) -> dict[str, Any]:
        if done.is_circuit:
            return {"k": "session", **self._session_values(done), **self._values(done)}
        line = {"k": "training", "id": _new_id(), "sport": done.name}
        return line | self._values(done)

    def _values(self, done: TrainingEntry) -> dict[str, Any]:
        if done.day > self._today:
            raise UsageError(
                f"{day_text(done.day)} is still to come",
                f"today is {day_text(self._today)}",
            )
        if not 0 < done.length_ms <= MOST_MINUTES * 60_000:
            raise UsageError(f"expected more than 0 and up to {MOST_MINUTES} minutes")
        _check_text(done.name, NAME_LIMIT, "a name")
        if not done.name.strip():
            raise UsageError("name the sport, such as cycling")
        values: dict[str, Any] = {
            "day": done.day.isoformat(),
            "length_ms": done.length_ms,
        }
        values |= {} if done.effort is None else {"effort": done.effort.number}
        values |= {} if done.heart is None else {"heart": done.heart.fields()}
        return values | _noted(done.note)

    def _period(self, fields: Mapping[str, Any], span: DaySpan, note: str) -> str:
        if len(span) > MOST_DAYS:
            raise UsageError(f"expected a period of up to {MOST_DAYS} days")
        line = {**fields, "id": _new_id(), "first": span.first.isoformat()}
        line |= {"last": span.last.isoformat(), **_noted(note)}
        self._write([line])
        return str(line["id"])

    def _check_journal(self, item_id: str) -> None:
        is_there = is_session_id(item_id)
        if not (is_there and journal_path(self._log.places.log, item_id).is_file()):
            raise UsageError(
                f'there is no session or entry "{shown(item_id, 40)}"',
                "`log` lists them",
            )


def step_text(step: Sequence[JournalLine]) -> str:
    """What a step did, in words."""
    if len(step) > 1:
        return f"{len(step)} entries made in one step"
    fields = step[0].fields
    of = shown(str(fields.get("of", "")), 60)
    day = fields.get("day")
    first, last = fields.get("first"), fields.get("last")
    count = "as rest" if fields.get("count") == "rest" else "as not known"
    kind = step[0].kind
    return {
        "training": f"{shown(str(fields.get('sport')), 60)} on {day}",
        "session": f"{shown(str(fields.get('name')), 60)} on {day}",
        "mark": f"the mark {shown(str(fields.get('mark')), 20)} on {first}..{last}",
        "logged": f"{first}..{last} as fully logged",
        "well": f"the answer of {day} that you are well",
        "morning": f"the answer about the morning of {day}",
        "blanks": f"blank days {count} from {first} on",
        "remove": f"the deletion of {of}",
        "amend": f"the amendment of {of}",
        "change": f"the amendment of {of}",
    }.get(kind, f"a line of the kind {shown(kind, 20)}")


def _is_undo(step: Sequence[JournalLine]) -> bool:
    return all(line.kind == "undo" for line in step)


def _is_undone(step: Sequence[JournalLine], undone: frozenset[int]) -> bool:
    return all(line.sequence in undone for line in step)


def _new_id() -> str:
    return f"d-{secrets.token_hex(4)}"


def _record_values(record: SessionRecord, amendment: Amendment) -> dict[str, Any]:
    values = _common_values(amendment)
    if amendment.efforts:
        worked = {loop.loop for loop in record.loops if loop.worked}
        efforts = {loop.loop: loop.effort for loop in record.loops}
        for loop, effort in amendment.efforts.items():
            if loop not in worked:
                raise UsageError(f"loop {loop} has no work in it")
            efforts[loop] = effort
        values["efforts"] = [None if e is None else e.number for e in efforts.values()]
    if amendment.felt or amendment.without_discomforts:
        kept = [] if amendment.without_discomforts else record.discomforts
        before = [
            DiscomfortEntry(d.entry.site, d.entry.side, d.entry.level) for d in kept
        ]
        values["discomforts"] = _felt_values([*before, *amendment.felt])
    return values


def _entry_values(entry: DiaryEntry, amendment: Amendment) -> dict[str, Any]:
    if entry.kind not in {"training", "session"}:
        raise UsageError("a mark is not amended", "delete it and mark the days again")
    values = _common_values(amendment)
    if amendment.efforts:
        efforts = list(entry.values.get("efforts", []))
        for loop, effort in amendment.efforts.items():
            if entry.kind != "session" or not 1 <= loop <= MAX_LOOPS:
                raise UsageError(f"there is no loop {loop}")
            efforts += [None] * (loop - len(efforts))
            efforts[loop - 1] = None if effort is None else effort.number
        values["efforts"] = efforts
    if amendment.felt or amendment.without_discomforts:
        kept = entry.values.get("discomforts", [])
        before = [] if amendment.without_discomforts else list(kept)
        values["discomforts"] = [*before, *_felt_values(amendment.felt)]
    return values


def _common_values(amendment: Amendment) -> dict[str, Any]:
    values: dict[str, Any] = {}
    if amendment.sets_effort:
        text = amendment.effort
        values["effort"] = None if text is None else text.number
    if amendment.note is not None:
        _check_text(amendment.note, NOTE_LIMIT, "a note")
        values["note"] = amendment.note
    if amendment.left_out_for:
        values["left_out_for"] = amendment.left_out_for
    return values


def _felt_values(felt: Sequence[DiscomfortEntry]) -> list[dict[str, Any]]:
    for each in felt:
        _check_text(each.site, NAME_LIMIT, "a site")
        _check_text(each.side, NAME_LIMIT, "a side")
        if not 0 <= each.level <= 10:
            raise UsageError("discomfort runs from 0 to 10")
    return [{"site": f.site, "side": f.side, "level": f.level} for f in felt]


def _noted(note: str) -> dict[str, str]:
    _check_text(note, NOTE_LIMIT, "a note")
    return {"note": note} if note else {}


def _check_text(text: str, limit: int, what: str) -> None:
    if len(text) > limit:
        raise UsageError(f"{what} has up to {limit} characters")
    if first_hostile(text):
        raise UsageError(f"{what} holds no control characters")
