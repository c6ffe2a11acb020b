"""Whatever stands in the log as one kind of value: for lists, filters and exchange.

Owns the fields of an item, which items a filter lets through, and their JSON.
Refuses to know files, printing, and sums over items.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from enum import StrEnum
from typing import Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.review.amended import instant, local_day, training_of_line
from whistlestop.review.days import Training
from whistlestop.review.diary import Diary, DiaryEntry, training_of_entry
from whistlestop.review.entered import line_of_entry
from whistlestop.review.heart import Heart, heart_json, heart_of
from whistlestop.store.journal.index import SessionLine

Effort = int | float
BLANKS_TEXT: Final = {
    "rest": "blank days count as rest from here on",
    "open": "blank days are not known from here on",
}


class ItemKind(StrEnum):
    """What an item is."""

    SESSION = "session"  # recorded by the program
    ENTERED = "entered"  # a circuit done without the laptop
    TRAINING = "training"  # the athlete's other training
    MARK = "mark"  # rest, illness, travel, off
    LOGGED = "logged"  # a period that is fully logged
    BLANKS = "blanks"  # how blank days count from a day on


NO_TRAINING = frozenset({ItemKind.MARK, ItemKind.LOGGED, ItemKind.BLANKS})
"""What says something of days, and is no training."""


@dataclass(frozen=True, slots=True)
class LogItem:
    """One session, training or mark as it stands now. Times in ms; None is unknown.

    `effort` is the session's own; `load_effort` what its load rests on, which is
    derived from the loops where `is_derived` says so. `rate` is the average heart rate
    of an activity file, a minute; `heart` has it with those that a load needs.
    """

    id: str
    kind: ItemKind
    day: date | None
    last_day: date | None
    name: str
    wall: str = ""
    circuit: str = ""
    length_ms: int = 0
    elapsed_ms: int = 0
    active_ms: int = 0
    work_ms: int = 0
    best_work_ms: int = 0
    plan_work_ms: int = 0
    efforts: tuple[Effort | None, ...] = ()
    effort: Effort | None = None
    load_effort: float | None = None
    is_derived: bool = False
    load_au: float | None = None
    ending: str = ""
    note: str = ""
    discomforts: tuple[tuple[str, str, int], ...] = ()
    exercises: tuple[str, ...] = ()
    kit: tuple[str, ...] = ()
    scripted: bool = False
    is_amended: bool = False
    is_removed: bool = False
    is_try_out: bool = False
    problems: int = 0
    heart: Heart | None = None
    rate: int | None = None

    @property
    def order(self) -> tuple[str, str]:
        """What items are sorted by: their day, where it was done, then their moment."""
        day = "" if self.day is None else self.day.isoformat()
        return day, instant(self.wall) or self.id


@dataclass(frozen=True, slots=True)
class Filter:
    """What is wanted of the log; None and empty let everything through."""

    circuit: str = ""
    station: str = ""
    kit: str = ""
    since: date | None = None
    until: date | None = None

    @property
    def is_empty(self) -> bool:
        """Whether it lets everything through."""
        return self == Filter()

    def takes(self, item: LogItem) -> bool:
        """Whether an item is wanted; a word is found anywhere, in any case."""
        named = (self.circuit, (item.circuit, item.name))
        words = (named, (self.station, item.exercises), (self.kit, item.kit))
        if not all(_found(word, texts) for word, texts in words):
            return False
        if self.since and (item.last_day is None or item.last_day < self.since):
            return False
        return not (self.until and (item.day is None or item.day > self.until))


def _found(word: str, texts: Iterable[str]) -> bool:
    wanted = word.casefold().replace(" ", "-")
    return not word or any(wanted in t.casefold().replace(" ", "-") for t in texts)


def item_of_line(line: SessionLine, diary: Diary) -> LogItem:
    """A recorded session, its line amended already, as an item."""
    try:
        training = training_of_line(line)
        day = local_day(line.wall)
    except ValueError:
        training, day = None, None
    load_effort, is_derived, load_au = _load_of(training)
    amended = diary.amended(line.id)
    return LogItem(
        line.id,
        ItemKind.SESSION,
        day,
        day,
        line.name or line.circuit,
        wall=line.wall,
        circuit=line.circuit,
        length_ms=line.session_ms,
        elapsed_ms=line.elapsed_ms,
        active_ms=line.active_ms,
        work_ms=line.done_work_ms,
        best_work_ms=line.best_work_ms,
        plan_work_ms=line.plan_work_ms,
        efforts=line.efforts,
        effort=line.session_effort,
        ending=line.why or "open",
        note=line.note,
        discomforts=line.discomforts,
        exercises=line.exercises,
        kit=line.kit,
        scripted=line.scripted,
        is_amended=bool(amended),
        is_removed=line.id in diary.removed,
        is_try_out=line.is_try_out,
        problems=line.problems,
        load_effort=load_effort,
        is_derived=is_derived,
        load_au=load_au,
        heart=heart_of(amended["heart"]) if "heart" in amended else None,
        rate=amended.get("rate"),
    )


def item_of_entry(entry: DiaryEntry) -> LogItem:
    """An entry of the diary as an item."""
    kinds = {"session": ItemKind.ENTERED}
    kind = kinds.get(entry.kind) or ItemKind(entry.kind)
    values = entry.values
    first = date.fromisoformat(values["day"] if "day" in values else values["first"])
    has_length = kind in {ItemKind.ENTERED, ItemKind.TRAINING}
    length_ms = values["length_ms"] if has_length else 0
    training = training_of_entry(entry) if has_length else None
    load_effort, is_derived, load_au = _load_of(training)
    done = line_of_entry(entry.id, values) if kind is ItemKind.ENTERED else None
    return LogItem(
        entry.id,
        kind,
        first,
        date.fromisoformat(values["last"]) if "last" in values else first,
        _name(kind, values),
        wall=entry.versions[0].wall if kind in NO_TRAINING - {ItemKind.MARK} else "",
        circuit=values.get("circuit", ""),
        length_ms=length_ms,
        elapsed_ms=values.get("elapsed_ms", length_ms),
        active_ms=length_ms,
        note=values.get("note", ""),
        efforts=tuple(values.get("efforts", ())),
        effort=values.get("effort"),
        load_effort=load_effort,
        is_derived=is_derived,
        load_au=load_au,
        is_amended=sum(version.stands for version in entry.versions) > 1,
        is_removed=not entry.is_present,
        heart=heart_of(values["heart"]) if "heart" in values else None,
        rate=values.get("rate"),
        discomforts=_felt(values),
        work_ms=done.done_work_ms if done else 0,
        best_work_ms=done.best_work_ms if done else 0,
        plan_work_ms=done.plan_work_ms if done else 0,
        exercises=done.exercises if done else (),
        kit=done.kit if done else (),
    )


def _felt(values: Mapping[str, Any]) -> tuple[tuple[str, str, int], ...]:
    felt = values.get("discomforts", ())
    return tuple((one["site"], one["side"], one["level"]) for one in felt)


def _name(kind: ItemKind, values: Any) -> str:
    if kind is ItemKind.MARK:
        return str(values["mark"])
    if kind is ItemKind.LOGGED:
        return "fully logged"
    if kind is ItemKind.BLANKS:
        return BLANKS_TEXT[values["count"]]
    return str(values["sport" if kind is ItemKind.TRAINING else "name"])


def _load_of(training: Training | None) -> tuple[float | None, bool, float | None]:
    """The effort a load rests on, whether it is derived, and the load in AU."""
    if training is None:
        return None, False, None
    load = training.load_au
    au = None if load is None else float(load)
    return training.effort, training.effort_is_derived, au


def days_in_text(item: LogItem) -> str:
    """The day or the days of an item, as 2031-05-12 or 2031-05-12..2031-05-14."""
    if item.day is None or item.last_day is None:
        return "unknown"
    if item.last_day == item.day:
        return item.day.isoformat()
    return f"{item.day.isoformat()}..{item.last_day.isoformat()}"


def day_after(item: LogItem) -> date | None:
    """The first day after an item; None where its days are not known."""
    return None if item.last_day is None else item.last_day + timedelta(days=1)


def item_json(item: LogItem) -> dict[str, Any]:
    """An item as the fields of `log --json`; they are only ever added to."""
    return {
        "id": item.id,
        "wall": item.wall,
        "circuit": item.circuit,
        "name": item.name,
        "ending": item.ending,
        "elapsed_ms": item.elapsed_ms,
        "active_ms": item.active_ms,
        "work_ms": item.work_ms,
        "plan_work_ms": item.plan_work_ms,
        "efforts": list(item.efforts),
        "session_effort": item.effort,
        "scripted": item.scripted,
        "problems": item.problems,
        "kind": item.kind.value,
        "day": None if item.day is None else item.day.isoformat(),
        "last_day": None if item.last_day is None else item.last_day.isoformat(),
        "session_ms": item.length_ms,
        "best_work_ms": item.best_work_ms,
        "load_effort": item.load_effort,
        "effort_is_derived": item.is_derived,
        "load_au": item.load_au,
        "note": item.note,
        "discomforts": [
            {"site": site, "side": side, "level": level}
            for site, side, level in item.discomforts
        ],
        "exercises": list(item.exercises),
        "kit": list(item.kit),
        "amended": item.is_amended,
        "deleted": item.is_removed,
        "try_out": item.is_try_out,
        "heart": heart_json(item.heart, item.length_ms),
        "heart_rate": item.rate,
    }
