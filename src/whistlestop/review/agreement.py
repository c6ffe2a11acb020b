"""Whether what stands in a journal agrees with its inputs, and how far it reaches.

Tells damage from an ordinary crash: what was on its way to the disk when a process
died is no damage, and can be made again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any, Final

from whistlestop.domain.owner import OWNER
from whistlestop.domain.plan.pairing import Company
from whistlestop.engine.derived import derived_lines, summary_line
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import Event
from whistlestop.engine.so_far import SessionSoFar
from whistlestop.store.journal.heartbeat import Beat

Fields = Mapping[str, Any]

SUM_DIFFERS: Final = (
    "a written sum does not follow from its rows; it is made again from the inputs"
)
ROW_DIFFERS: Final = "a written row differs from the inputs; the inputs stand"
_Row = tuple[Any, Any, Any, Any]


def last_moment(lines: Iterable[Fields]) -> tuple[int, str]:
    """Say when a journal was last written: elapsed ms, and the time of day.

    Rows and other derived lines count. After an interruption the session went on
    from the time of its gap, whatever stood before it.
    """
    last_ms, wall = 0, ""
    for line in lines:
        t_ms = _whole(line.get("t"))
        if t_ms >= last_ms or is_interruption(line):
            last_ms, wall = t_ms, str(line.get("wall", wall))
    return last_ms, wall


def is_later(beat: Beat, last_ms: int, last_wall: str) -> bool:
    """Whether a heartbeat tells of a later moment than the journal does.

    Not if the journal was written after it at an earlier moment of the session: then
    that went on from its last line on another machine, and this beat is of a way
    that nobody went on.
    """
    if beat.t_ms <= last_ms:
        return False
    try:
        written = datetime.fromisoformat(last_wall)
        return written <= datetime.fromisoformat(beat.wall)
    except (ValueError, TypeError):
        return False


def is_interruption(line: Fields) -> bool:
    """Whether a line is where an interrupted session was taken up again."""
    return line.get("k") == "gap" and line.get("cause") == "ended"


def unwritten(
    lines: Sequence[Fields],
    events: Iterable[Event],
    company: Company,
    on_disk_ms: int,
) -> tuple[dict[str, Any], ...]:
    """Give the derived lines that follow, and that a crash lost.

    Args:
        lines: The lines that are there.
        events: All that happened up to the last moment known.
        company: Who trained along.
        on_disk_ms: Of when the last line is. What is missing of an earlier time
            was lost in another way, and is not covered up.
    """
    known = {_key(line) for line in lines}
    due = (fields for event in events for fields in derived_lines(event, company))
    return tuple(
        fields
        for fields in due
        if fields["t"] >= on_disk_ms and _key(fields) not in known
    )


def _key(line: Fields) -> tuple[object, ...]:
    """What a derived line is of: who, and which visit or loop."""
    kind, athlete = line.get("k"), line.get("a", OWNER)
    of = ("p", "visit") if kind == "done" else ("loop", "t")
    return kind, athlete, *(_plain(line.get(name)) for name in of)


def _plain(value: object) -> object:
    return value if isinstance(value, (int, str)) else None


def sum_follows(line: Fields, engine: Engine) -> bool:
    """Whether a sum is what the lines before it come to.

    Fields that this version does not know, and those of a later one, are passed by.

    Args:
        line: The sum as written.
        engine: The session as its inputs up to the sum left it; not changed.
    """
    return _agree(line, summary_line(engine.at(_whole(line.get("t")))))


def _agree(found: Fields, made: Fields) -> bool:
    for name, value in made.items():
        if name not in found:
            continue
        if isinstance(value, dict):
            other = found[name]
            if not isinstance(other, dict):
                return False
            if not all(_agree(other[k], v) for k, v in value.items() if k in other):
                return False
        elif found[name] != value:
            return False
    return True


def row_differences(lines: Sequence[Fields], session: SessionSoFar) -> list[str]:
    """Compare an athlete's rows as written with those of the replay, in sentences."""
    own = [line for line in lines if line.get("a", OWNER) == session.athlete]
    written = Counter(_of_line(line) for line in _standing_rows(own))
    rows = session.rows
    again = Counter((row.segment, row.visit, row.ms, row.why.value) for row in rows)
    visits = {(place, visit) for place, visit, _, _ in written}
    lost = list(_lost_stretches(lines))
    missing = sum(
        (row.segment, row.visit) not in visits
        and not any(begin <= row.t_ms <= end for begin, end in lost)
        for row in rows
    )
    named = []
    if missing:
        named.append(f"rows that are missing: {missing}; made again from the inputs")
    if written - again:
        named.append(ROW_DIFFERS)
    return named


def _of_line(line: Fields) -> _Row:
    return (
        _plain(line.get("p")),
        _plain(line.get("visit")),
        _plain(line.get("ms")),
        _plain(line.get("why")),
    )


def _standing_rows(lines: Iterable[Fields]) -> list[Fields]:
    """The written rows, without those of a stretch that was gone back over.

    Journals of before the heartbeat were taken up again at their last mark `seen`,
    and a row could stand behind it: what it recorded was then done again.
    """
    rows: list[Fields] = []
    for line in lines:
        if line.get("k") == "done":
            rows.append(line)
        elif is_interruption(line):
            resumed_ms = _whole(line.get("t"))
            rows = [row for row in rows if _whole(row.get("t")) <= resumed_ms]
    return rows


def _lost_stretches(lines: Sequence[Fields]) -> Iterator[tuple[int, float]]:
    """The stretches of which derived lines may have been lost, in elapsed ms.

    From the last line before an interruption up to where it went on.
    """
    before_ms = 0
    over = False
    for line in lines:
        t_ms = _whole(line.get("t"))
        if is_interruption(line):
            yield before_ms, t_ms
        over = line.get("k") == "end" or (over and line.get("do") != "reopen")
        # These stand behind the rows of their moment.
        before_ms = t_ms + (line.get("k") in {"loop", "end", "sum"})
    if not over:
        yield before_ms, float("inf")


def _whole(value: object) -> int:
    is_whole = isinstance(value, int) and not isinstance(value, bool)
    return value if is_whole else 0  # type: ignore[return-value]
