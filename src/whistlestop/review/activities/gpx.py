"""Activities from GPX 1.1: one a track, read as it comes in, nothing built in memory.

Owns what the elements mean; expat reads them. No DOCTYPE, no entity and no reference
to elsewhere is followed, or let pass.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any, Final
from xml.parsers import expat

from whistlestop.errors import ActivityError
from whistlestop.review.activities.activity import Activity, Deadline, checked
from whistlestop.review.activities.sports import sport_of_text
from whistlestop.review.activities.timing import SteadyClock, Stretch, beats_of

MOST_BYTES: Final = 128 * 1024 * 1024
MOST_DEPTH: Final = 40
MOST_ELEMENTS: Final = 3_000_000
MOST_ATTRIBUTES: Final = 50
MOST_TEXT: Final = 500
MOST_SAMPLES: Final = 200_000
# A token that grows is looked at again from its begin with every piece.
MOST_UNREAD: Final = 1024 * 1024
LONGEST_STEP_MS: Final = 60_000
_BEGIN: Final = datetime(1970, 1, 1, tzinfo=UTC)
_TEXTS: Final = frozenset({"name", "type", "time", "hr"})


def read_gpx(
    pieces: Iterable[bytes], deadline: Deadline, now: datetime
) -> Iterator[Activity | ActivityError]:
    """Read every track of a GPX file; their keys are the parts alone, from 1.

    Args:
        pieces: The file, piece by piece.
        deadline: When to give up.
        now: The present moment.

    Raises:
        ActivityError: It is no GPX file, or holds what none has.
    """
    tracks = _Tracks()
    parser = _parser(tracks)
    fed, is_blank = 0, True
    try:
        for piece in pieces:
            deadline.check()
            if is_blank:
                # Some write blanks before the declaration, which no parser takes.
                piece = piece.lstrip(b" \t\r\n")  # noqa: PLW2901
                is_blank = not piece
            parser.Parse(piece, False)  # noqa: FBT003 - the library's own
            fed += len(piece)
            if fed - max(0, parser.CurrentByteIndex) > MOST_UNREAD:
                raise ActivityError("it holds a text or tag without an end")
        parser.Parse(b"", True)  # noqa: FBT003 - the library's own
    except expat.ExpatError as error:
        raise ActivityError(
            f"line {error.lineno}: it is no well-formed XML "
            f"({expat.ErrorString(error.code)})"
        ) from None
    if not tracks.tracks:
        raise ActivityError("it holds no track")
    for part, track in enumerate(tracks.tracks, start=1):
        try:
            yield checked(track.activity(str(part)), now)
        except ActivityError as refused:
            yield refused


def _parser(tracks: _Tracks) -> Any:
    parser = expat.ParserCreate()
    parser.ordered_attributes = True
    parser.buffer_text = True
    parser.StartElementHandler = tracks.begin
    parser.EndElementHandler = tracks.end
    parser.CharacterDataHandler = tracks.text
    parser.StartDoctypeDeclHandler = _refuse
    parser.EntityDeclHandler = _refuse
    parser.ExternalEntityRefHandler = _refuse
    return parser


def _refuse(*_: object) -> int:
    raise ActivityError("it holds a DOCTYPE or an entity, which no GPX file needs")


@dataclass(slots=True)
class _Track:
    """A track while it is read. Times in ms since 1970."""

    name: str = ""
    type: str = ""
    first_ms: int | None = None
    last_ms: int = 0
    moving: list[Stretch] = field(default_factory=list)
    times_ms: list[int] = field(default_factory=list)
    rates: list[int] = field(default_factory=list)
    clock: SteadyClock = field(default_factory=SteadyClock)
    goes_back: bool = False
    has_gaps: bool = False
    at_start: bool = True

    def begin_segment(self) -> None:
        """What lies between two segments is a pause."""
        self.has_gaps = self.has_gaps or self.first_ms is not None
        self.at_start = True

    def point(self, time_ms: int, rate: int | None) -> None:
        """Take a point in; one that goes back in time is left out."""
        moment = self.clock.moment(time_ms)
        if self.first_ms is None:
            self.first_ms = self.last_ms = moment
        if moment < self.last_ms:
            self.goes_back = True
            return
        step = moment - self.last_ms
        if not self.at_start and step > LONGEST_STEP_MS:
            self.has_gaps = True
        elif not self.at_start and step:
            self._move(self.last_ms, moment)
        self.at_start = False
        self.last_ms = moment
        if rate is not None:
            self.times_ms.append(moment)
            self.rates.append(rate)

    def _move(self, begin: int, end: int) -> None:
        if self.moving and self.moving[-1][1] == begin:
            begin = self.moving.pop()[0]
        self.moving.append((begin, end))

    def activity(self, key: str) -> Activity:
        """The track as an activity.

        Raises:
            ActivityError: Its points have no times.
        """
        if self.first_ms is None:
            raise ActivityError("its track has no times")
        doubts = []
        if self.has_gaps:
            doubts.append("moving time is from the gaps between points")
        if self.clock.has_jumped or self.goes_back:
            doubts.append("its clock was set while it recorded")
        return Activity(
            key=key,
            start=_BEGIN + timedelta(milliseconds=self.first_ms),
            sport=sport_of_text(self.type or self.name),
            elapsed_ms=self.last_ms - self.first_ms,
            moving_ms=sum(end - begin for begin, end in self.moving) or None,
            beats=beats_of(self.times_ms, self.rates, self.moving),
            doubts=tuple(doubts),
        )


class _Tracks:
    """What expat calls: tracks, segments, points and the few texts that are wanted."""

    def __init__(self) -> None:
        self.tracks: list[_Track] = []
        self._path: list[str] = []
        self._elements = 0
        self._samples = 0
        self._text: list[str] = []
        self._room = 0
        self._time = ""
        self._rate = ""

    def begin(self, tag: str, attributes: list[str]) -> None:
        """An element begins."""
        name = tag.rpartition(":")[2]
        self._elements += 1
        if not self._path and name != "gpx":
            raise ActivityError("it is XML, but no GPX file")
        if (
            len(self._path) >= MOST_DEPTH
            or self._elements > MOST_ELEMENTS
            or len(attributes) > 2 * MOST_ATTRIBUTES
        ):
            raise ActivityError("it holds more than a GPX file does")
        self._path.append(name)
        if name in _TEXTS:
            self._text, self._room = [], MOST_TEXT
        elif self._path[1:] == ["trk"]:
            self.tracks.append(_Track())
        elif self._path[1:] == ["trk", "trkseg"]:
            self.tracks[-1].begin_segment()
        elif name == "trkpt":
            self._time = self._rate = ""

    def text(self, text: str) -> None:
        """A piece of text; only so much of it is saved, and only where it is wanted."""
        if self._room > 0:
            self._text.append(text[: self._room])
            self._room -= len(text)

    def end(self, tag: str) -> None:
        """An element ends."""
        del tag
        path = self._path
        name = path.pop()
        if name in _TEXTS:
            self._take_text(name, path)
            self._room = 0
        elif name == "trkpt" and path[1:] == ["trk", "trkseg"]:
            self._take_point()

    def _take_text(self, name: str, path: list[str]) -> None:
        text = "".join(self._text).strip()
        self._text = []
        if path[1:] == ["trk"] and name in {"name", "type"}:
            setattr(self.tracks[-1], name, text)
        elif path[1:] == ["trk", "trkseg", "trkpt"] and name == "time":
            self._time = text
        elif name == "hr" and path[1:4] == ["trk", "trkseg", "trkpt"]:
            self._rate = text

    def _take_point(self) -> None:
        self._samples += 1
        if self._samples > MOST_SAMPLES:
            raise ActivityError(f"it has more than {MOST_SAMPLES} points")
        if not self._time:
            return
        rate = self._rate.partition(".")[0]
        is_number = rate.isascii() and rate.isdigit() and len(rate) < 4
        self.tracks[-1].point(_ms_of(self._time), int(rate) if is_number else None)


def _ms_of(text: str) -> int:
    """A time as ms since 1970; without a zone it is UTC, as GPX has it.

    Raises:
        ActivityError: It is none.
    """
    try:
        moment = datetime.fromisoformat(text)
        moment = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
        return (moment - _BEGIN) // timedelta(milliseconds=1)
    except (ValueError, OverflowError):
        raise ActivityError("it holds a time that is none") from None
