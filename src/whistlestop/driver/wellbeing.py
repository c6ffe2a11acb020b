"""Whether something has to be answered before anything is proposed, and the answers.

Owns finding the stop for health that waits for its page, and the discomfort whose next
morning was not asked about yet. Refuses to judge, and to show anything.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from whistlestop.dataclass import dataclass
from whistlestop.errors import StoreError, WhistlestopError
from whistlestop.review.wellbeing import (
    ASKED_DAYS,
    Felt,
    HealthStop,
    MorningAnswer,
    morning_answers,
    unanswered,
    well_answers,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from whistlestop.driver.diary import DiaryKeeper
    from whistlestop.driver.log import LogService
    from whistlestop.driver.logbook import Logbook
    from whistlestop.store.journal.index import SessionLine

HEALTH: Final = "health"
# A morning so long ago nobody remembers.
_MORNING_DAYS: Final = 14


@dataclass(frozen=True, slots=True)
class MorningQuestion:
    """One discomfort of a session whose next morning is not known."""

    session: str
    day: date
    site: str
    name: str
    side: str
    level: int

    @property
    def words(self) -> str:
        """The question, as a sentence."""
        side = f"{self.side} " if self.side in {"left", "right"} else ""
        return (
            f"On {self.day:%A %d %b} you noted {side}{self.name}, {self.level} of 10. "
            "How was it on the next morning?"
        )


class Wellbeing:
    """What the athlete has to answer, or answered, about being well."""

    def __init__(
        self,
        log: LogService,
        logbook: Callable[[], Logbook],
        diary: Callable[[], DiaryKeeper],
    ) -> None:
        """Prepare; nothing is read yet.

        Args:
            log: Sessions as recorded.
            logbook: Gives the log as it stands now.
            diary: Gives what writes to the diary.
        """
        self._log, self._logbook, self._diary = log, logbook, diary

    @property
    def today(self) -> date:
        """The present day, where the athlete is."""
        return self._log.clock.wall().date()

    def open_stop(self) -> HealthStop | None:
        """The stop for health whose page was not answered; nothing is proposed then.

        Raises:
            StoreError: Log or diary cannot be read.
        """
        since = self.today - timedelta(days=ASKED_DAYS)
        if self._log.is_free_of(HEALTH, since=since):
            return None
        logbook = self._logbook()
        stops = [
            HealthStop(line.id, day)
            for line in logbook.sessions(since=since)
            if line.why == HEALTH and (day := _day_of(line)) is not None
        ]
        return unanswered(stops, well_answers(logbook.diary), self.today)

    def stop_in_view(self) -> HealthStop | None:
        """The same; None where log or diary cannot be read: that is said elsewhere."""
        try:
            return self.open_stop()
        except (StoreError, ValueError):
            return None

    def morning(self) -> MorningQuestion | None:
        """What to ask about the last session with a discomfort, if that is due.

        It is asked once, from the next day on, about the strongest one.

        Raises:
            StoreError: Log or diary cannot be read.
        """
        # Imported here: the first picture asks for a stop alone.
        from whistlestop.domain.sites import site_of

        since = self.today - timedelta(days=_MORNING_DAYS)
        logbook = self._logbook()
        for line in logbook.sessions(since=since):
            day = _day_of(line)
            if day is None or day >= self.today:
                continue
            felt = [one for one in line.discomforts if one[2] > 0]
            if not felt:
                continue
            known = {(x.of, x.site) for x in morning_answers(logbook.diary)}
            word, side, level = max(felt, key=lambda one: one[2])
            site = site_of(word)
            key = site.id if site else word
            if (line.id, key) in known:
                return None
            name = site.name if site else word
            return MorningQuestion(line.id, day, key, name, side, level)
        return None

    def answer_stop(self, stop: HealthStop, cause: str) -> None:
        """Save the athlete's own word that they are well after a stop.

        Raises:
            StoreError: The disk does not take it.
        """
        self._diary().answer_well("health-stop", stop.id, cause)

    def answer_illness(self) -> None:
        """Save that there were no symptoms for 24 hours, without medicine.

        Raises:
            StoreError: The disk does not take it.
        """
        self._diary().answer_well("illness")

    def answer_morning(self, asked: MorningQuestion, felt: Felt) -> None:
        """Save how it was on the next morning.

        Raises:
            StoreError: The disk does not take it.
        """
        answer = MorningAnswer(self.today, asked.session, asked.site, felt)
        self._diary().answer_mornings([answer])


def page_first(wellbeing: Wellbeing) -> str:
    """Why nothing is proposed now, as a sentence; empty where something may be."""
    stop = wellbeing.stop_in_view()
    if stop is None:
        return ""
    return (
        f"You ended the session of {stop.day:%A %d %b} for your health. First say what "
        "it was and whether you are well"
    )


def _day_of(line: SessionLine) -> date | None:
    from whistlestop.review.amended import local_day

    try:
        return local_day(line.wall)
    except (ValueError, WhistlestopError):
        return None
