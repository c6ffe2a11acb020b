"""One activity as a watch or a bike computer recorded it.

Owns what every format gives alike, and what no activity can be. Refuses to know
files, formats and the log.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, timezone
from typing import Final

from whistlestop.errors import ActivityError

MOST_MS: Final = 7 * 24 * 3_600_000
FIRST_START: Final = datetime(2000, 1, 1, tzinfo=UTC)
MOST_SECONDS: Final = 5
# A timer and a clock are rounded by themselves; so much more is a rounding.
_ROUNDING_MS: Final = 1_000


@dataclass(frozen=True, slots=True)
class ActivityLap:
    """A lap: when it began (UTC), how long it took and for how long the timer ran."""

    start: datetime
    elapsed_ms: int
    moving_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Activity:
    """One activity. Times in ms; what the file does not hold is None or empty.

    `key` is the SHA-256 of the unpacked file and the part of it, the same wherever
    the file lies. `moving_ms` is how long the timer ran. `beats` are pairs of a heart
    rate (a minute) and for how long it held while moving; `stated_rate` is the
    average as the file states it, where it has no rates. `doubts` are in words.
    `session_id` is that of a session of this program that was exported.
    """

    key: str
    start: datetime
    sport: str
    elapsed_ms: int
    offset_s: int | None = None
    moving_ms: int | None = None
    beats: tuple[tuple[int, int], ...] = ()
    stated_rate: int | None = None
    laps: tuple[ActivityLap, ...] = ()
    doubts: tuple[str, ...] = ()
    session_id: str = ""
    member: str = ""

    @property
    def end(self) -> datetime:
        """When it was over, UTC."""
        return self.start + timedelta(milliseconds=self.elapsed_ms)

    @property
    def length_ms(self) -> int:
        """The length that a load rests on: moving, or elapsed where only that is."""
        return self.elapsed_ms if self.moving_ms is None else self.moving_ms

    @property
    def average_rate(self) -> int | None:
        """The heart rate a minute, averaged over the time moving."""
        held_ms = sum(ms for _, ms in self.beats)
        if not held_ms:
            return self.stated_rate
        return round(sum(rate * ms for rate, ms in self.beats) / held_ms)

    def local_start(self, zone: Callable[[datetime], datetime]) -> datetime:
        """When it began on the clock of the place; `zone` is asked without an offset.

        Args:
            zone: Gives a moment in the zone of this machine at that moment.
        """
        if self.offset_s is None:
            return zone(self.start)
        return self.start.astimezone(timezone(timedelta(seconds=self.offset_s)))


class Deadline:
    """How long a file may take, by a clock that is handed in.

    `restart` begins the next file of an archive.
    """

    def __init__(self, now_ms: Callable[[], int]) -> None:
        """Begin; `now_ms` gives ms since any moment and never goes back."""
        self._now_ms = now_ms
        self._end_ms = 0
        self.was_missed = False
        self.restart()

    def restart(self) -> None:
        """Give the next file its time."""
        self._end_ms = self._now_ms() + MOST_SECONDS * 1000
        self.was_missed = False

    def check(self) -> None:
        """Refuse a file that takes too long.

        Raises:
            ActivityError: Its time is over.
        """
        if self._now_ms() > self._end_ms:
            self.was_missed = True
            raise ActivityError(f"it takes longer than {MOST_SECONDS} s to read")


def checked(activity: Activity, now: datetime) -> Activity:
    """The activity, with a timer that fits its length.

    Raises:
        ActivityError: It began before 2000 or after tomorrow, or has no length or
            one of more than 7 days.
    """
    if not FIRST_START <= activity.start <= now + timedelta(days=1):
        raise ActivityError(
            f"it began on {activity.start.date()}, and no clock was right then"
        )
    if not 0 < activity.elapsed_ms <= MOST_MS:
        too_long = activity.elapsed_ms > MOST_MS
        raise ActivityError(
            "it is longer than 7 days" if too_long else "it has no length"
        )
    moving_ms = activity.moving_ms
    if moving_ms is None or 0 < moving_ms <= activity.elapsed_ms:
        return activity
    if 0 < moving_ms <= activity.elapsed_ms + _ROUNDING_MS:
        return replace(activity, moving_ms=activity.elapsed_ms)
    doubt = "its timer does not fit its length, which counts instead"
    return replace(activity, moving_ms=None, doubts=(*activity.doubts, doubt))
