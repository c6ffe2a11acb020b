"""Activity files into the log: read, judged by what is there, entered in one step.

Owns what is looked at, what each verdict writes to the diary, and that nothing is
written before it was shown. Refuses to print and to ask; `decide` is handed in.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from enum import StrEnum
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from whistlestop.domain.text import shown
from whistlestop.errors import ActivityError
from whistlestop.review.activities.activity import Activity, Deadline
from whistlestop.review.activities.matching import (
    ASKED,
    LoggedActivities,
    LoggedActivity,
    Verdict,
    judge,
)
from whistlestop.review.activities.reading import read_activities
from whistlestop.review.diary import DiaryEntry
from whistlestop.review.heart import RATES, Heart
from whistlestop.store.activity_folder import RememberedFiles, activity_files
from whistlestop.store.places import in_text

if TYPE_CHECKING:
    from whistlestop.driver.services import Services

MOST_FILE_BYTES: Final = 512 * 1024 * 1024
_MOST_FILES: Final = 40  # that belong to one entry


class Answer(StrEnum):
    """What an athlete says of an activity that is to be asked about."""

    SAME = "same"
    NEW = "new"
    LATER = "later"


@dataclass(frozen=True, slots=True)
class ActivityFound:
    """An activity as it would be entered: from which file, when, and what it is."""

    path: Path
    activity: Activity
    start: datetime
    verdict: Verdict
    logged: LoggedActivity | None = None
    answer: Answer | None = None

    @property
    def file(self) -> str:
        """The name of its file, and within an archive that of its member."""
        name = shown(self.path.name, 80)
        return f"{name}/{self.activity.member}" if self.activity.member else name

    @property
    def is_left(self) -> bool:
        """Whether it waits for an answer."""
        return self.verdict in ASKED and self.answer in {None, Answer.LATER}

    @property
    def is_entered(self) -> bool:
        """Whether it becomes an entry of its own."""
        return self.verdict is Verdict.NEW or self.answer is Answer.NEW


@dataclass(frozen=True, slots=True)
class ActivityPlan:
    """What would be written: `lines` of the diary, and why for each activity."""

    found: tuple[ActivityFound, ...]
    refused: tuple[str, ...]
    lines: tuple[dict[str, Any], ...]
    paths: tuple[Path, ...]

    def count(self, verdict: Verdict) -> int:
        """How many activities have a verdict."""
        return sum(each.verdict is verdict for each in self.found)

    @property
    def entered(self) -> tuple[ActivityFound, ...]:
        """Those that become entries of their own."""
        return tuple(each for each in self.found if each.is_entered)

    @property
    def left(self) -> tuple[ActivityFound, ...]:
        """Those that wait for an answer."""
        return tuple(each for each in self.found if each.is_left)


Decide = Callable[[ActivityFound], Answer]


def later(_found: ActivityFound) -> Answer:
    """Leave every question open."""
    return Answer.LATER


class ActivityImport:
    """Some files, read once; judged and entered as often as asked."""

    def __init__(
        self,
        services: Services,
        paths: Sequence[Path],
        *,
        resting_and_maximum: tuple[int, int] | None = None,
        zone: Callable[[datetime], datetime] = datetime.astimezone,
    ) -> None:
        """Prepare; nothing is read yet.

        Args:
            services: The home.
            paths: Files, or folders of files.
            resting_and_maximum: Heart rates for a load; None takes those entered last.
            zone: Gives a moment in the zone of this machine at that moment, for files
                that name none.
        """
        self._services = services
        self._given = tuple(paths)
        self._rates = resting_and_maximum
        self._zone = zone

    @cached_property
    def paths(self) -> tuple[Path, ...]:
        """The files, each once.

        Raises:
            StoreError: A folder cannot be listed.
        """
        found: dict[Path, None] = {}
        for path in self._given:
            found |= dict.fromkeys(activity_files(path) if path.is_dir() else [path])
        return tuple(found)

    @cached_property
    def _read(self) -> tuple[tuple[tuple[Path, Activity], ...], tuple[str, ...]]:
        activities: list[tuple[Path, Activity]] = []
        refused: list[str] = []
        for path in self.paths:
            for found in self._of_file(path):
                if isinstance(found, Activity):
                    activities.append((path, found))
                else:
                    refused.append(f"{shown(path.name, 80)}: {found.message}")
        activities.sort(key=lambda each: (each[1].start, each[1].key))
        return tuple(activities), tuple(refused)

    def _of_file(self, path: Path) -> Iterator[Activity | ActivityError]:
        clock = self._services.clock
        deadline = Deadline(lambda: clock.read().awake_ms)
        try:
            if not path.is_file():
                yield ActivityError("it is no ordinary file, or is not there")
                return
            if path.stat().st_size > MOST_FILE_BYTES:
                yield ActivityError("it is larger than 512 MiB")
                return
            with path.open("rb") as stream:
                now = clock.wall().astimezone(UTC)
                yield from read_activities(stream, deadline, now)
        except OSError as error:
            yield ActivityError(f"it cannot be read: {in_text(error)}")

    def plan(self, decide: Decide = later) -> ActivityPlan:
        """Judge every activity by the log as it is now.

        Args:
            decide: Answers for those that are to be asked about, in order of time.

        Raises:
            StoreError: The log cannot be read, or a folder not listed.
        """
        activities, refused = self._read
        logged = LoggedActivities(self._logged())
        judging = _Judging(logged, self._heart_range(), self._zone)
        found = [judging.take(path, one, decide) for path, one in activities]
        return ActivityPlan(tuple(found), refused, judging.lines(), self.paths)

    def enter(self, plan: ActivityPlan) -> None:
        """Write a plan to the diary in one step, and remember files without questions.

        Raises:
            StoreError: The disk does not take it; then nothing is entered.
        """
        if plan.lines:
            self._services.diary().append(plan.lines)
        waiting = {each.path for each in plan.left}
        remembered = RememberedFiles(self._services.places.cache)
        remembered.remember(path for path in plan.paths if path not in waiting)

    def _heart_range(self) -> tuple[int, int] | None:
        if self._rates is not None:
            return self._rates
        last = self._services.diary().last_heart()
        return None if last is None else (last.rest, last.greatest)

    def _logged(self) -> list[LoggedActivity]:
        logbook = self._services.logbook()
        diary = logbook.diary
        logged = []
        for line in logbook.sessions(removed=True):
            try:
                start = datetime.fromisoformat(line.wall)
            except ValueError:
                continue
            logged.append(
                LoggedActivity(
                    line.id,
                    line.name,
                    start.date(),
                    line.session_ms,
                    start if start.tzinfo else start.astimezone(),
                    line.elapsed_ms,
                    set(diary.amended(line.id).get("files", ())),
                    is_recorded=True,
                    is_circuit=True,
                    is_removed=line.id in diary.removed,
                )
            )
        for entry in diary.entries.values():
            # What was undone is as if it had never been; what was deleted is known.
            if entry.kind in {"training", "session"} and entry.versions[0].stands:
                logged.append(_logged_entry(entry.id, entry.kind, entry.values))
                logged[-1].is_removed = entry.removed
        return logged


def _logged_entry(entry_id: str, kind: str, values: Any) -> LoggedActivity:
    start = values.get("start")
    return LoggedActivity(
        entry_id,
        values["sport" if kind == "training" else "name"],
        date.fromisoformat(values["day"]),
        values["length_ms"],
        None if start is None else datetime.fromisoformat(start),
        values.get("elapsed_ms", values["length_ms"]),
        set(values.get("files", ())),
        is_circuit=kind == "session",
    )


@dataclass(slots=True)
class _Judging:
    """One pass over activities in order of time; each is known to those after it."""

    logged: LoggedActivities
    heart_range: tuple[int, int] | None
    zone: Callable[[datetime], datetime]
    made: dict[str, dict[str, Any]] = field(default_factory=dict)

    def take(self, path: Path, activity: Activity, decide: Decide) -> ActivityFound:
        """Judge one, and note what is to be written for it."""
        start = activity.local_start(self.zone)
        near = self.logged.near(activity, start.date())
        verdict, logged = judge(activity, start.date(), near)
        found = ActivityFound(path, activity, start, verdict, logged)
        if verdict in ASKED:
            answer = decide(found)
            found = ActivityFound(path, activity, start, verdict, logged, answer)
        if found.is_entered:
            self._enter(found)
        elif verdict is Verdict.CIRCUIT or found.answer is Answer.SAME:
            self._join(found)
        return found

    def lines(self) -> tuple[dict[str, Any], ...]:
        """What is to be written to the diary."""
        return tuple(self.made.values())

    def _enter(self, found: ActivityFound) -> None:
        activity = found.activity
        line = {
            "k": "training",
            "id": f"d-{secrets.token_hex(4)}",
            "sport": activity.sport,
            "day": found.start.date().isoformat(),
            "length_ms": activity.length_ms,
            **_timed(found),
            **self._felt(activity),
            "files": [activity.key],
        }
        self.made[line["id"]] = line
        self.logged.add(_logged_entry(str(line["id"]), "training", line))

    def _join(self, found: ActivityFound) -> None:
        """Add a file and its heart rate to what is in the log; ours stays as it is."""
        logged = found.logged
        assert logged is not None
        self.logged.add_file(logged, found.activity.key)
        values: dict[str, Any] = {"files": sorted(logged.files)[-_MOST_FILES:]}
        if logged.start is None:
            values |= _timed(found)
            logged.start, logged.elapsed_ms = found.start, found.activity.elapsed_ms
        values |= self._felt(found.activity)
        line = self.made.get(logged.id)
        if line is None:
            kind = "amend" if logged.is_recorded else "change"
            self.made[logged.id] = {"k": kind, "of": logged.id, "set": values}
        elif "set" in line:
            line["set"] |= values
        else:
            line["files"] = values["files"]

    def _felt(self, activity: Activity) -> dict[str, Any]:
        rate = activity.average_rate
        if rate is None or rate not in RATES:
            return {}
        heart = _heart(rate, self.heart_range)
        return {"rate": rate} | ({} if heart is None else {"heart": heart.fields()})


def _timed(found: ActivityFound) -> dict[str, Any]:
    return {
        "start": found.start.isoformat(timespec="seconds"),
        "elapsed_ms": found.activity.elapsed_ms,
    }


def _heart(rate: int, between: tuple[int, int] | None) -> Heart | None:
    """The rate with those that a load needs; None where it does not lie between."""
    if between is None:
        return None
    try:
        return Heart(rate, *between)
    except ValueError:
        return None


def watched_folder(services: Services) -> Path | None:
    """The folder that the settings name, if they do."""
    text = services.settings.log.watched_folder
    try:
        return Path(text).expanduser() if text else None
    except RuntimeError:
        return None


def new_files(services: Services) -> list[Path]:
    """Files of the watched folder that were not looked at yet; nothing is read.

    Raises:
        StoreError: The folder cannot be listed.
    """
    folder = watched_folder(services)
    if folder is None:
        return []
    return RememberedFiles(services.places.cache).new_ones(activity_files(folder))


def watched_files(services: Services) -> list[Path]:
    """What an import of the watched folder reads: new files, or all if none is new.

    All, so that what was undone can be imported again.

    Raises:
        StoreError: The folder cannot be listed.
    """
    folder = watched_folder(services)
    if folder is None:
        return []
    return new_files(services) or [folder]


def unrated(entries: Iterable[DiaryEntry], since: date) -> list[DiaryEntry]:
    """Entries of other training since a day that have no effort, the oldest first."""
    found = [
        each
        for each in entries
        if each.kind == "training"
        and each.values.get("effort") is None
        and each.values["day"] >= since.isoformat()
    ]
    return sorted(found, key=lambda each: (each.values["day"], each.id))
