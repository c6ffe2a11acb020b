"""Whether an activity is in the log already: known, the same, to be asked, or new.

Owns the rules and their order. Where times overlap by half of the longer one, it is
one and the same: in trials no warm-up was joined with its race, and none of two
devices was missed; equal lengths that began within 2 minutes found half of them.
Refuses to know files and the diary.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Final

from whistlestop.review.activities.activity import Activity
from whistlestop.review.activities.sports import OTHER, sport_of_text

LEAST_SHARE: Final = 0.5
_QUARTER: Final = timedelta(minutes=15)
_FARTHEST_ZONE: Final = timedelta(hours=26)
_ROUNDING: Final = timedelta(seconds=2)
_FARTHEST_DAYS: Final = 9  # an activity lasts 7 days at most, and zones differ
_LEAST_TYPED_MS: Final = 5 * 60_000
_TYPED_PART: Final = 10  # one tenth
# What a watch may call a circuit.
_CIRCUIT_SPORTS: Final = frozenset({"strength", "mobility", OTHER})


class Verdict(StrEnum):
    """What an activity is to the log."""

    NEW = "new"
    KNOWN = "known"  # this very file, or a session of ours that was exported
    SAME = "same"  # the same activity, from another device or in another format
    CIRCUIT = "circuit"  # a circuit that was recorded here; its heart rate is new
    OVERLAPS = "overlaps"  # perhaps the same, or only beside it: to be asked
    SHIFTED = "shifted"  # as long, a whole number of quarter hours apart: to be asked
    TYPED = "typed"  # perhaps what was typed in before: to be asked


ASKED: Final = frozenset({Verdict.OVERLAPS, Verdict.SHIFTED, Verdict.TYPED})


@dataclass(slots=True)
class LoggedActivity:
    """What the log has of one training. `start` is None where only the day is known.

    `files` are keys of activity files that belong to it.
    """

    id: str
    name: str
    day: date
    length_ms: int
    start: datetime | None = None
    elapsed_ms: int = 0
    files: set[str] = field(default_factory=set)
    is_recorded: bool = False
    is_circuit: bool = False
    is_removed: bool = False

    @property
    def sport(self) -> str:
        """What it is called, as activities are."""
        return sport_of_text(self.name)


class LoggedActivities:
    """What the log has, found by day, by id and by the keys of files.

    Ten years of a log are too many to compare each new activity with.
    """

    def __init__(self, logged: Iterable[LoggedActivity]) -> None:
        """Take in what the log has."""
        self._by_day: dict[date, list[LoggedActivity]] = {}
        self._by_name: dict[str, LoggedActivity] = {}
        for each in logged:
            self.add(each)

    def add(self, logged: LoggedActivity) -> None:
        """Take one more in."""
        self._by_day.setdefault(logged.day, []).append(logged)
        self._by_name[logged.id] = logged
        for key in logged.files:
            self._by_name[key] = logged

    def add_file(self, logged: LoggedActivity, key: str) -> None:
        """Note that a file belongs to one of them."""
        logged.files.add(key)
        self._by_name[key] = logged

    def near(self, activity: Activity, day: date) -> list[LoggedActivity]:
        """Those that an activity of a day can be, or overlap with."""
        named = (self._by_name.get(key) for key in (activity.key, activity.session_id))
        found = [each for each in named if each is not None]
        for days in range(-_FARTHEST_DAYS, _FARTHEST_DAYS + 1):
            found += self._by_day.get(day + timedelta(days=days), ())
        return found


def judge(
    activity: Activity, day: date, logged: Sequence[LoggedActivity]
) -> tuple[Verdict, LoggedActivity | None]:
    """What an activity is to the log, and to which training of it.

    Args:
        activity: The activity.
        day: The day on which it began, on the clock of the place.
        logged: What the log has; what was deleted is known, and nothing else.
    """
    for each in logged:
        if activity.key in each.files or each.id == (activity.session_id or None):
            return Verdict.KNOWN, each
    present = [each for each in logged if not each.is_removed]
    overlapping = [(_share(activity, each), each) for each in present]
    share, closest = max(overlapping, key=lambda pair: pair[0], default=(0.0, None))
    if closest is not None and share >= LEAST_SHARE:
        is_ours = closest.is_recorded and not closest.files
        return (Verdict.CIRCUIT if is_ours else Verdict.SAME), closest
    if closest is not None and share > 0:
        return Verdict.OVERLAPS, closest
    for each in present:
        if _is_shifted(activity, each):
            return Verdict.SHIFTED, each
    for each in present:
        if _is_typed(activity, day, each):
            return Verdict.TYPED, each
    return Verdict.NEW, None


def _share(activity: Activity, logged: LoggedActivity) -> float:
    """The common time, as a share of the longer one."""
    if logged.start is None:
        return 0.0
    end = logged.start + timedelta(milliseconds=logged.elapsed_ms)
    common = min(activity.end, end) - max(activity.start, logged.start)
    longer = timedelta(milliseconds=max(activity.elapsed_ms, logged.elapsed_ms, 1))
    return max(0.0, common / longer)


def _is_shifted(activity: Activity, logged: LoggedActivity) -> bool:
    """Whether one of two clocks may have had another zone."""
    if logged.start is None or logged.is_recorded:
        return False
    apart = abs(activity.start - logged.start)
    longer = timedelta(milliseconds=abs(activity.elapsed_ms - logged.elapsed_ms))
    off = apart % _QUARTER
    is_whole = min(off, _QUARTER - off) <= _ROUNDING
    return is_whole and longer <= _ROUNDING and apart <= _FARTHEST_ZONE


def _is_typed(activity: Activity, day: date, logged: LoggedActivity) -> bool:
    if logged.start is not None or logged.day != day:
        return False
    if logged.is_circuit:
        is_sport = activity.sport in _CIRCUIT_SPORTS
    else:
        is_sport = logged.sport == sport_of_text(activity.sport)
    most = max(_LEAST_TYPED_MS, logged.length_ms // _TYPED_PART)
    lengths = (activity.length_ms, activity.elapsed_ms)
    return is_sport and any(abs(ms - logged.length_ms) <= most for ms in lengths)
