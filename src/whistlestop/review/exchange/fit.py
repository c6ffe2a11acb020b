"""A circuit session as FIT, for the athlete's own diary elsewhere.

Owns what becomes a lap: a station in a loop is one, all that lies between two stations
is one, and together they are the session to the millisecond. fit-tool writes them.
Refuses to know files.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, Final

from whistlestop.domain.plan.plan import AT_STATION, SegmentKind
from whistlestop.domain.text import shown
from whistlestop.engine.events import Row
from whistlestop.engine.so_far import SessionSoFar
from whistlestop.errors import UsageError
from whistlestop.review.activities.fit import EPOCH, SESSION_FIELD

STATION_FIELD: Final = "station"
_NAME_BYTES: Final = 60
_DEVELOPMENT: Final = 255  # the maker of what no maker has registered
_STRENGTH: Final = (10, 20)  # training, strength training
# One message of each kind under a number of its own, so that each is defined once.
_NAMES: Final = {
    SegmentKind.GET_READY: "Get ready",
    SegmentKind.WARM_UP: "Warm-up",
    SegmentKind.RECOVER: "Recover",
    SegmentKind.LOOP_BREAK: "Loop break",
    SegmentKind.HOLD: "Wait",
    SegmentKind.COOL_DOWN: "Cool-down",
}
# Intensities of FIT: active, rest, warm-up, cool-down.
_INTENSITIES: Final = {SegmentKind.WARM_UP: 2, SegmentKind.COOL_DOWN: 3}
_ACTIVE, _REST = 0, 1


@dataclass(frozen=True, slots=True)
class SessionLap:
    """A stretch of a session: its name, begin, length and time without pauses, in ms.

    `intensity` as FIT has it: 0 active, 1 rest, 2 warm-up, 3 cool-down.
    """

    name: str
    begin_ms: int
    elapsed_ms: int
    active_ms: int
    intensity: int


def session_laps(session: SessionSoFar) -> tuple[SessionLap, ...]:
    """The laps of a session, in order; their lengths add up to its own.

    A station carries the name of what was really done there.
    """
    laps: list[SessionLap] = []
    places: list[object] = []
    at_ms = 0
    for row in session.rows:
        place = _place(row, places)
        lap = SessionLap(
            _name(session, row), at_ms, row.t_ms - at_ms, row.ms, _intensity(row)
        )
        at_ms = row.t_ms
        if places and places[-1] == place:
            laps[-1] = _longer(laps[-1], lap)
        elif lap.elapsed_ms or lap.active_ms:
            laps.append(lap)
            places.append(place)
    # A session that was ended in a pause goes on behind its last visit.
    if laps and session.t_ms > at_ms:
        rest = replace(laps[-1], elapsed_ms=session.t_ms - at_ms, active_ms=0)
        laps[-1] = _longer(laps[-1], rest)
    return tuple(laps)


def _place(row: Row, before: list[object]) -> object:
    """What rows of one lap have in common; a wait belongs to the rest before it."""
    if row.kind in AT_STATION:
        return row.loop, row.station
    is_rest = bool(before) and isinstance(before[-1], SegmentKind)
    return before[-1] if row.kind is SegmentKind.HOLD and is_rest else row.kind


def _longer(lap: SessionLap, more: SessionLap) -> SessionLap:
    return replace(
        lap,
        elapsed_ms=lap.elapsed_ms + more.elapsed_ms,
        active_ms=lap.active_ms + more.active_ms,
    )


def _name(session: SessionSoFar, row: Row) -> str:
    if row.kind not in AT_STATION:
        return _NAMES[row.kind]
    return session.track.card(row.segment).name


def _intensity(row: Row) -> int:
    if row.kind in AT_STATION:
        return _ACTIVE
    return _INTENSITIES.get(row.kind, _REST)


def fit_bytes(session: SessionSoFar, *, session_id: str, begin: datetime) -> bytes:
    """A session as one FIT activity of strength training.

    Args:
        session: What was done, by one athlete.
        session_id: Its id, by which an import of ours knows it again.
        begin: Its start with its offset.

    Raises:
        UsageError: Nothing was done in it, or fit-tool is not installed.
    """
    laps = session_laps(session)
    if not laps:
        raise UsageError("there is no lap in that session")
    try:
        # Imported here: it is large, and an extra.
        from fit_tool.fit_file_builder import FitFileBuilder
    except ImportError:
        raise UsageError(
            "writing FIT needs the package fit-tool", "pip install 'whistlestop[fit]'"
        ) from None
    builder = FitFileBuilder(auto_define=True)
    for local_id, message in _messages(session, laps, session_id, begin):
        message.local_id = local_id
        builder.add(message)
    written: bytes = builder.build_bytes()
    return written


def _messages(
    session: SessionSoFar,
    laps: tuple[SessionLap, ...],
    session_id: str,
    begin: datetime,
) -> Iterator[tuple[int, Any]]:
    """All messages in the order in which the format wants them."""
    writer = _Writer(begin, session_id)
    yield 0, writer.file_id()
    yield 1, writer.developer()
    yield 2, writer.field_description(0, SESSION_FIELD)
    yield 2, writer.field_description(1, STATION_FIELD)
    names = list(dict.fromkeys(lap.name for lap in laps))
    yield 3, writer.workout(session.plan.name, len(names))
    for index, name in enumerate(names):
        yield 4, writer.step(index, name)
    yield 5, writer.timer(0, starts=True)
    for number, lap in enumerate(laps):
        yield 6, writer.lap(number, lap, names.index(lap.name))
    yield 5, writer.timer(session.t_ms, starts=False)
    yield 7, writer.session(session.t_ms, session.active_ms, len(laps))
    yield 8, writer.activity(session.t_ms, session.active_ms)


class _Writer:
    """Makes the messages of one session; moments are ms since its start."""

    def __init__(self, begin: datetime, session_id: str) -> None:
        self._begin = begin
        self._session_id = session_id

    def _stamp(self, at_ms: int) -> int:
        """A moment in ms since 1970, which is what fit-tool takes."""
        moment = self._begin + timedelta(milliseconds=at_ms)
        return round(moment.timestamp()) * 1000

    def file_id(self) -> Any:
        from fit_tool.profile.messages.file_id_message import FileIdMessage
        from fit_tool.profile.profile_type import FileType

        made = FileIdMessage()
        made.type = FileType.ACTIVITY
        made.manufacturer = _DEVELOPMENT
        made.product = 0
        made.time_created = self._stamp(0)
        return made

    def developer(self) -> Any:
        from fit_tool.profile.messages.developer_data_id_message import (
            DeveloperDataIdMessage,
        )

        made = DeveloperDataIdMessage()
        made.developer_data_index = 0
        made.application_id = b"whistlestop\0\0\0\0\0"
        return made

    def field_description(self, number: int, name: str) -> Any:
        from fit_tool.base_type import BaseType
        from fit_tool.profile.messages.field_description_message import (
            FieldDescriptionMessage,
        )

        made = FieldDescriptionMessage()
        made.developer_data_index = 0
        made.field_definition_number = number
        made.fit_base_type_id = BaseType.STRING.value
        made.field_name = name
        return made

    def workout(self, name: str, steps: int) -> Any:
        from fit_tool.profile.messages.workout_message import WorkoutMessage
        from fit_tool.profile.profile_type import Sport

        made = WorkoutMessage()
        made.sport = Sport(_STRENGTH[0])
        made.num_valid_steps = steps
        made.workout_name = cut_to_bytes(name)
        return made

    def step(self, index: int, name: str) -> Any:
        from fit_tool.profile.messages.workout_step_message import WorkoutStepMessage
        from fit_tool.profile.profile_type import WorkoutStepDuration

        made = WorkoutStepMessage()
        made.message_index = index
        made.workout_step_name = cut_to_bytes(name)
        made.duration_type = WorkoutStepDuration.OPEN
        return made

    def timer(self, at_ms: int, *, starts: bool) -> Any:
        from fit_tool.profile.messages.event_message import EventMessage
        from fit_tool.profile.profile_type import Event, EventType

        made = EventMessage()
        made.timestamp = self._stamp(at_ms)
        made.event = Event.TIMER
        made.event_type = EventType.START if starts else EventType.STOP_ALL
        return made

    def lap(self, number: int, lap: SessionLap, step: int) -> Any:
        from fit_tool.profile.messages.lap_message import LapMessage
        from fit_tool.profile.profile_type import Intensity

        made = LapMessage(developer_fields=[_text_field(1, STATION_FIELD, lap.name)])
        made.message_index = number
        self._length(made, lap.begin_ms, lap.elapsed_ms, lap.active_ms)
        made.intensity = Intensity(lap.intensity)
        made.workout_step_index = step
        return made

    def session(self, elapsed_ms: int, active_ms: int, laps: int) -> Any:
        from fit_tool.profile.messages.session_message import SessionMessage
        from fit_tool.profile.profile_type import Sport, SubSport

        own = _text_field(0, SESSION_FIELD, self._session_id)
        made = SessionMessage(developer_fields=[own])
        made.message_index = 0
        self._length(made, 0, elapsed_ms, active_ms)
        made.sport, made.sub_sport = Sport(_STRENGTH[0]), SubSport(_STRENGTH[1])
        made.first_lap_index, made.num_laps = 0, laps
        return made

    def activity(self, elapsed_ms: int, active_ms: int) -> Any:
        from fit_tool.profile.messages.activity_message import ActivityMessage

        made = ActivityMessage()
        made.timestamp = self._stamp(elapsed_ms)
        offset = self._begin.utcoffset() or timedelta()
        local = self._begin + timedelta(milliseconds=elapsed_ms) + offset
        made.local_timestamp = round((local - EPOCH).total_seconds())
        made.total_timer_time = active_ms / 1000
        made.num_sessions = 1
        return made

    def _length(
        self, message: Any, begin_ms: int, elapsed_ms: int, active_ms: int
    ) -> None:
        message.start_time = self._stamp(begin_ms)
        message.timestamp = self._stamp(begin_ms + elapsed_ms)
        message.total_elapsed_time = elapsed_ms / 1000
        message.total_timer_time = active_ms / 1000


def _text_field(number: int, name: str, text: str) -> Any:
    from fit_tool.base_type import BaseType
    from fit_tool.developer_field import DeveloperField

    # One size for all, so that no lap needs a definition of its own.
    made = DeveloperField(
        developer_data_index=0,
        field_id=number,
        name=name,
        base_type=BaseType.STRING,
        size=_NAME_BYTES + 1,
    )
    made.set_value(0, cut_to_bytes(text))
    return made


def cut_to_bytes(text: str, most: int = _NAME_BYTES) -> str:
    """A text of so many bytes of UTF-8 at most; no letter is cut in two."""
    return shown(text).encode()[:most].decode(errors="ignore")
