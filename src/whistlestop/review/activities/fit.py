"""Activities from FIT: chained files, several sports in one, pauses, no summary.

Owns what the messages mean; fitdecode reads them. Numbers of messages and fields are
those of the FIT profile.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any, Final

from whistlestop.errors import ActivityError
from whistlestop.review.activities.activity import (
    Activity,
    ActivityLap,
    Deadline,
    checked,
)
from whistlestop.review.activities.sports import sport_of_numbers
from whistlestop.review.activities.timing import SteadyClock, Stretch, beats_of
from whistlestop.review.heart import RATES

MOST_BYTES: Final = 32 * 1024 * 1024
MOST_MESSAGES: Final = 500_000
SESSION_FIELD: Final = "whistlestop_session"
ACTIVITY_FILE: Final = 4
EPOCH: Final = datetime(1989, 12, 31, tzinfo=UTC)

_FILE_ID, _SPORT, _SESSION, _LAP, _RECORD, _EVENT, _ACTIVITY = 0, 12, 18, 19, 20, 21, 34
_STAMP, _START, _SPORT_FIELD, _SUB_SPORT, _ELAPSED, _TIMER = 253, 2, 5, 6, 7, 8
_AVERAGE = 16
_QUARTER_S: Final = 900
_OFFSETS_S: Final = range(-12 * 3600, 14 * 3600 + 1)
# Fields that are read, by message.
_WANTED: Final[Mapping[int, frozenset[int]]] = {
    _FILE_ID: frozenset({0}),
    _SPORT: frozenset({0, 1}),
    _SESSION: frozenset(
        {_STAMP, _START, _SPORT_FIELD, _SUB_SPORT, _ELAPSED, _TIMER, _AVERAGE}
    ),
    _LAP: frozenset({_STAMP, _START, _ELAPSED, _TIMER}),
    _RECORD: frozenset({_STAMP, 3}),
    _EVENT: frozenset({_STAMP, 0, 1}),
    _ACTIVITY: frozenset({_STAMP, 5}),
}
_TIMER_STARTS: Final = frozenset({0})
_TIMER_STOPS: Final = frozenset({1, 4, 8, 9})

Values = Mapping[int, int]


def read_fit(
    data: bytes, key: str, deadline: Deadline, now: datetime
) -> Iterator[Activity | ActivityError]:
    """Read every activity of a FIT file, or of several that are chained.

    What comes before a damaged part has its own checksum and is given.

    Args:
        data: The whole file, 32 MB at most.
        key: The name of its contents; parts are numbered from 1 behind it.
        deadline: When to give up.
        now: The present moment.
    """
    part = 0
    for file in _files(data, deadline):
        for found in file.activities(now):
            part += 1
            yield _numbered(found, f"{key}-{part}")


def _numbered(found: Activity | ActivityError, key: str) -> Activity | ActivityError:
    return found if isinstance(found, ActivityError) else replace(found, key=key)


def _files(data: bytes, deadline: Deadline) -> Iterator[_FitFile]:
    """The files of a chain, each once its checksum is found right.

    Raises:
        ActivityError: One is damaged, or holds too much.
    """
    # Imported here: only an import of activities reads FIT.
    import fitdecode

    reader = fitdecode.FitReader(
        data,
        processor=None,
        check_crc=fitdecode.CrcCheck.RAISE,
        error_handling=fitdecode.ErrorHandling.IGNORE,
    )
    file = _FitFile()
    try:
        for number, frame in enumerate(reader):
            deadline.check()
            if number > MOST_MESSAGES:
                raise ActivityError(f"it has more than {MOST_MESSAGES} messages")
            if isinstance(frame, fitdecode.FitDataMessage):
                file.take(frame)
            elif isinstance(frame, fitdecode.FitCRC):
                yield file
                file = _FitFile()
    except ActivityError:
        raise
    except fitdecode.FitEOFError:
        raise ActivityError("it breaks off before its end") from None
    except fitdecode.FitCRCError:
        raise ActivityError("its checksum is wrong: the file is damaged") from None
    except Exception as error:  # noqa: BLE001 - six built-in kinds, without a list
        raise ActivityError(f"it is damaged ({type(error).__name__})") from None


@dataclass(slots=True)
class _FitFile:
    """The messages of one file, as far as they are wanted. Times in ms since 1989."""

    type: int | None = None
    sport: Values = field(default_factory=dict)
    sessions: list[Values] = field(default_factory=list)
    laps: list[Values] = field(default_factory=list)
    timer: list[tuple[int, bool]] = field(default_factory=list)
    times_ms: array[int] = field(default_factory=lambda: array("q"))
    rates: array[int] = field(default_factory=lambda: array("h"))
    first_ms: int | None = None
    last_ms: int = 0
    offset_s: int | None = None
    session_id: str = ""
    clock: SteadyClock = field(default_factory=SteadyClock)

    def take(self, frame: Any) -> None:
        """Take one message in."""
        wanted = _WANTED.get(frame.global_mesg_num)
        if wanted is None:
            return
        values = _whole_numbers(frame, wanted)
        match frame.global_mesg_num:
            case 0:
                self.type = values.get(0)
            case 12:
                self.sport = {5: values.get(0, 0), 6: values.get(1, 0)}
            case 18:
                self.sessions.append(values)
                self.session_id = self.session_id or _session_id(frame)
            case 19:
                self.laps.append(values)
            case 20 | 21 if _STAMP in values:
                moment = self.clock.moment(values[_STAMP] * 1000)
                self._take_moment(frame.global_mesg_num, values, moment)
            case 34 if _STAMP in values and 5 in values:
                self.offset_s = _offset_s(values[5] - values[_STAMP])

    def _take_moment(self, message: int, values: Values, moment: int) -> None:
        if message == _EVENT:
            what = values.get(1)
            if values.get(0) == 0 and what in _TIMER_STARTS | _TIMER_STOPS:
                self.timer.append((moment, what in _TIMER_STARTS))
            return
        self.first_ms = moment if self.first_ms is None else self.first_ms
        self.last_ms = max(self.last_ms, moment)
        if 3 in values:
            self.times_ms.append(moment)
            self.rates.append(min(values[3], 255))

    def activities(self, now: datetime) -> Iterator[Activity | ActivityError]:
        """What was done, session by session; an activity without a key each."""
        if self.type not in {None, ACTIVITY_FILE}:
            yield ActivityError("it holds no activity but other data")
            return
        sessions = self.sessions or self._unsummarised()
        if not sessions:
            yield ActivityError("it holds no activity")
            return
        begun = sorted(sessions, key=_start_s)
        ends = [*(_start_s(each) for each in begun[1:]), None]
        for values, end_s in zip(begun, ends, strict=True):
            try:
                yield checked(self._activity(values, end_s), now)
            except ActivityError as refused:
                yield refused

    def _unsummarised(self) -> list[Values]:
        """One session made of the records, where the file has no summary."""
        if self.first_ms is None:
            return []
        moments = [self.first_ms, *(at for at, runs in self.timer[:1] if runs)]
        first_ms = min(moments)
        last_ms = max(self.last_ms, *(at for at, _ in self.timer), first_ms)
        made = {_START: first_ms // 1000, _ELAPSED: last_ms - first_ms, **self.sport}
        return [made]

    def _activity(self, values: Values, end_s: int | None) -> Activity:
        start_s = _start_s(values)
        elapsed_ms = _elapsed_ms(values)
        begin_ms = start_s * 1000
        end_ms = begin_ms + elapsed_ms
        if end_s is not None:
            end_ms = min(end_ms, end_s * 1000)
        moving = _moving(self.timer, begin_ms, end_ms)
        moving_ms = values.get(_TIMER)
        doubts = [] if self.sessions else ["it has no summary"]
        if self.clock.has_jumped:
            doubts.append("its clock was set while it recorded")
        if moving_ms is None and self.timer:
            moving_ms = sum(end - begin for begin, end in moving)
        beats = beats_of(self.times_ms, self.rates, moving)
        average = values.get(_AVERAGE)
        if beats or average not in RATES:
            average = None
        else:
            doubts.append("the average heart rate is the file's own")
        return Activity(
            key="",
            start=_moment(start_s),
            sport=sport_of_numbers(values.get(_SPORT_FIELD), values.get(_SUB_SPORT)),
            elapsed_ms=elapsed_ms,
            offset_s=self.offset_s,
            moving_ms=moving_ms,
            beats=beats,
            stated_rate=average,
            laps=tuple(_laps(self.laps, start_s, end_s)),
            doubts=tuple(doubts),
            session_id=self.session_id,
        )


def _whole_numbers(frame: Any, wanted: frozenset[int]) -> dict[int, int]:
    """The whole numbers of some fields as they stand in the file, unscaled."""
    found: dict[int, int] = {}
    for one in frame.fields:
        definition = one.field_def
        if definition is None:
            number = None if one.field is None else one.field.def_num
        else:
            number = None if definition.is_dev else definition.def_num
        if number in wanted and type(one.raw_value) is int:
            found.setdefault(number, one.raw_value)
    return found


def _session_id(frame: Any) -> str:
    """The id of a session of this program, which its own export names."""
    for one in frame.fields:
        is_own = one.field_def is not None and one.field_def.is_dev
        if is_own and one.field is not None and one.field.name == SESSION_FIELD:
            return one.raw_value if isinstance(one.raw_value, str) else ""
    return ""


def _start_s(values: Values) -> int:
    if _START in values:
        return values[_START]
    return values.get(_STAMP, 0) - values.get(_ELAPSED, 0) // 1000


def _elapsed_ms(values: Values) -> int:
    if _ELAPSED in values:
        return values[_ELAPSED]
    if _STAMP in values:
        return max(0, values[_STAMP] - _start_s(values)) * 1000
    return values.get(_TIMER, 0)


def _moment(seconds: int) -> datetime:
    return EPOCH + timedelta(seconds=seconds)


def _offset_s(seconds: int) -> int | None:
    """Local time minus UTC, to the quarter of an hour; None where no zone is so far."""
    rounded = round(seconds / _QUARTER_S) * _QUARTER_S
    return rounded if rounded in _OFFSETS_S else None


def _moving(
    timer: Sequence[tuple[int, bool]], begin_ms: int, end_ms: int
) -> list[Stretch]:
    """The stretches in which the timer ran; the whole where no event says."""
    if not timer:
        return [(begin_ms, end_ms)]
    found: list[Stretch] = []
    since: int | None = None if timer[0][1] else begin_ms
    for at, runs in sorted(timer):
        if runs and since is None:
            since = at
        elif not runs and since is not None:
            found.append((since, at))
            since = None
    if since is not None:
        found.append((since, max(since, end_ms)))
    clipped = [(max(a, begin_ms), min(b, end_ms)) for a, b in found]
    return [(a, b) for a, b in clipped if a < b]


def _laps(
    laps: Sequence[Values], start_s: int, end_s: int | None
) -> Iterator[ActivityLap]:
    for values in laps:
        at = _start_s(values)
        if start_s <= at and (end_s is None or at < end_s):
            yield ActivityLap(_moment(at), _elapsed_ms(values), values.get(_TIMER))
