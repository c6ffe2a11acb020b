"""A clock that is carried round the world: it is put to a place and a time there."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from whistlestop.driver.script import SimulatedClock


class ClockThatTravels(SimulatedClock):
    """Real time passes at one pace; the time of day is that of the place."""

    def __init__(self, begin: datetime) -> None:
        """Begin at a moment in UTC."""
        super().__init__(begin.astimezone(UTC))
        self.zone = ZoneInfo("UTC")

    def put(self, zone: str, text: str, *, second_time: bool = False) -> None:
        """Go to a time of day at a place; `second_time` of an hour that comes twice."""
        self.zone = ZoneInfo(zone)
        there = datetime.fromisoformat(text).replace(
            tzinfo=self.zone, fold=int(second_time)
        )
        ahead = there.astimezone(UTC) - self._begin
        self.now_ms = round(ahead / timedelta(milliseconds=1))

    def wall(self) -> datetime:
        """The time of day at the place."""
        return super().wall().astimezone(self.zone)
