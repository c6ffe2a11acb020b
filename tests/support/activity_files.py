"""Activity files made for tests: FIT by fit-tool, GPX by a generator of our own.

What a file should read as is told beside it, worked out second by second, by none of
the program's code. Times in whole seconds since the start.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

from fit_tool.fit_file_builder import FitFileBuilder
from fit_tool.profile.messages.activity_message import ActivityMessage
from fit_tool.profile.messages.event_message import EventMessage
from fit_tool.profile.messages.file_id_message import FileIdMessage
from fit_tool.profile.messages.lap_message import LapMessage
from fit_tool.profile.messages.record_message import RecordMessage
from fit_tool.profile.messages.session_message import SessionMessage
from fit_tool.profile.profile_type import (
    Event,
    EventType,
    FileType,
    Sport,
    SubSport,
)

# Sport and sub-sport as FIT has them, and what the log is to call them.
SPORTS = [
    (Sport.RUNNING, SubSport.GENERIC, "running"),
    (Sport.RUNNING, SubSport.TRAIL, "running"),
    (Sport.RUNNING, SubSport.TREADMILL, "running"),
    (Sport.CYCLING, SubSport.ROAD, "cycling"),
    (Sport.FITNESS_EQUIPMENT, SubSport.INDOOR_CYCLING, "cycling"),
    (Sport.E_BIKING, SubSport.E_BIKE_FITNESS, "e-bike"),
    (Sport.SWIMMING, SubSport.LAP_SWIMMING, "swimming"),
    (Sport.WALKING, SubSport.GENERIC, "walking"),
    (Sport.HIKING, SubSport.GENERIC, "hiking"),
    (Sport.CROSS_COUNTRY_SKIING, SubSport.GENERIC, "cross-country skiing"),
    (Sport.ROWING, SubSport.INDOOR_ROWING, "rowing"),
    (Sport.ROCK_CLIMBING, SubSport.BOULDERING, "climbing"),
    (Sport.TRAINING, SubSport.STRENGTH_TRAINING, "strength"),
    (Sport.TRAINING, SubSport.YOGA, "mobility"),
    (Sport.GENERIC, SubSport.GENERIC, "other"),
]


@dataclass
class Recorded:
    """What a device recorded: stretches of moving, and samples of (second, rate)."""

    start: datetime
    stretches: list[tuple[int, int]]
    samples: list[tuple[int, int | None]]
    sport: tuple[Any, Any, str] = SPORTS[3]
    offset_s: int | None = 0
    has_summary: bool = True
    laps: int = 1
    extra: dict[str, Any] = field(default_factory=dict)

    @property
    def elapsed_s(self) -> int:
        return self.stretches[-1][1]

    @property
    def moving_s(self) -> int:
        return sum(end - begin for begin, end in self.stretches)

    def average(self) -> int | None:
        """Second by second: the rate of the last sample that is not 30 s old."""
        rates = [each for each in self.samples if each[1] is not None]
        total = count = 0
        for begin, end in self.stretches:
            for second in range(begin, end):
                held = [r for t, r in rates if t <= second < t + 30]
                if held:
                    total += held[-1] or 0
                    count += 1
        return round(total / count) if count else None


def random_recorded(seed: int, *, gpx: bool = False) -> Recorded:
    """A random activity; in GPX a pause is a new segment, or a gap of over 60 s."""
    dice = random.Random(seed)
    start = datetime(2030, 1, 1, tzinfo=UTC) + timedelta(
        seconds=dice.randrange(366 * 86_400)
    )
    stretches, at = [], 0
    for _ in range(dice.randint(1, 4)):
        end = at + dice.randint(120, 900)
        stretches.append((at, end))
        at = end + dice.randint(61, 600)
    every = dice.choice([5, 7, 20, 40])
    has_heart = dice.random() < 0.8
    rate, samples = dice.randint(90, 150), []
    for begin, end in stretches:
        for second in sorted({*range(begin, end, every), end}):
            rate = min(195, max(60, rate + dice.randint(-6, 6)))
            is_known = has_heart and dice.random() < 0.9
            samples.append((second, rate if is_known else None))
    return Recorded(
        start,
        stretches,
        samples,
        dice.choice(SPORTS),
        None if gpx or dice.random() < 0.2 else dice.randrange(-48, 57) * 900,
        has_summary=dice.random() < 0.8,
        laps=dice.randint(1, 5),
    )


def _ms(moment: datetime) -> int:
    return round(moment.timestamp() * 1000)


def builder_with_id(moment: datetime, kind: Any = FileType.ACTIVITY) -> FitFileBuilder:
    builder = FitFileBuilder(auto_define=True, min_string_size=20)
    head = FileIdMessage()
    head.type = kind
    head.manufacturer = 255
    head.product = 0
    head.serial_number = 1
    head.time_created = _ms(moment)
    builder.add(head)
    return builder


def timer_event(moment: datetime, *, starts: bool) -> EventMessage:
    event = EventMessage()
    event.event = Event.TIMER
    event.event_type = EventType.START if starts else EventType.STOP_ALL
    event.timestamp = _ms(moment)
    return event


def record(moment: datetime, rate: int | None) -> RecordMessage:
    made = RecordMessage()
    made.timestamp = _ms(moment)
    if rate is not None:
        made.heart_rate = rate
    return made


def session(recorded: Recorded) -> SessionMessage:
    made = SessionMessage()
    made.start_time = _ms(recorded.start)
    made.timestamp = _ms(recorded.start + timedelta(seconds=recorded.elapsed_s))
    made.total_elapsed_time = float(recorded.elapsed_s)
    made.total_timer_time = float(recorded.moving_s)
    made.sport, made.sub_sport = recorded.sport[:2]
    for name, value in recorded.extra.items():
        setattr(made, name, value)
    return made


def add_recorded(builder: FitFileBuilder, recorded: Recorded) -> None:
    """Events, records, laps and the summary of one session, in the order of time."""
    start = recorded.start
    moments = []
    for begin, end in recorded.stretches:
        moments.append(
            (begin, 0, timer_event(start + timedelta(seconds=begin), starts=True))
        )
        moments.append(
            (end, 2, timer_event(start + timedelta(seconds=end), starts=False))
        )
    for second, rate in recorded.samples:
        moments.append((second, 1, record(start + timedelta(seconds=second), rate)))
    for _, _, message in sorted(moments, key=lambda each: each[:2]):
        builder.add(message)
    if not recorded.has_summary:
        return
    edges = [recorded.elapsed_s * n // recorded.laps for n in range(recorded.laps + 1)]
    for begin, end in pairwise(edges):
        lap = LapMessage()
        lap.start_time = _ms(start + timedelta(seconds=begin))
        lap.timestamp = _ms(start + timedelta(seconds=end))
        lap.total_elapsed_time = float(end - begin)
        builder.add(lap)
    builder.add(session(recorded))


def fit_file(*recorded: Recorded, kind: Any = FileType.ACTIVITY) -> bytes:
    """One FIT file of one session, or of several."""
    builder = builder_with_id(recorded[0].start, kind)
    for each in recorded:
        add_recorded(builder, each)
    last = recorded[-1]
    if last.has_summary and last.offset_s is not None:
        end = last.start + timedelta(seconds=last.elapsed_s)
        done = ActivityMessage()
        done.timestamp = _ms(end)
        done.local_timestamp = (
            int((end - datetime(1989, 12, 31, tzinfo=UTC)).total_seconds())
            + last.offset_s
        )
        done.num_sessions = len(recorded)
        builder.add(done)
    return builder.build_bytes()


GPX_HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<gpx version="1.1" creator="tests" '
    'xmlns:own="urn:whistlestop:tests">'
)


def gpx_file(recorded: Recorded, kind: str = "cycling") -> bytes:
    """A GPX 1.1 file of one track, a segment a stretch, rates as an extension."""
    lines = [GPX_HEAD, f"<trk><name>A day out</name><type>{kind}</type>"]
    for begin, end in recorded.stretches:
        lines.append("<trkseg>")
        for second, rate in recorded.samples:
            if begin <= second <= end:
                moment = recorded.start + timedelta(seconds=second)
                heart = (
                    f"<extensions><own:hr>{rate}</own:hr></extensions>" if rate else ""
                )
                lines.append(
                    f'<trkpt lat="47.{second:06d}" lon="8.5"><ele>400</ele>'
                    f"<time>{moment:%Y-%m-%dT%H:%M:%SZ}</time>{heart}</trkpt>"
                )
        lines.append("</trkseg>")
    return "\n".join([*lines, "</trk></gpx>"]).encode()


def ride(start: datetime, minutes: int = 60, **changes: Any) -> Recorded:
    """A plain ride with a sample a minute and one stretch."""
    seconds = minutes * 60
    samples = [(second, 140) for second in range(0, seconds + 1, 20)]
    return Recorded(start, [(0, seconds)], samples, **changes)
