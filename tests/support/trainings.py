"""A recorded session as a training, by its record: an oracle beside the log's index."""

from __future__ import annotations

from whistlestop.review.amended import local_day
from whistlestop.review.days import DayKind, Training
from whistlestop.review.record import SessionRecord


def training_of(record: SessionRecord) -> Training | None:
    """A recorded session as a training.

    None if scripted, a try-out or without any work.

    The session's effort as entered, else the mean of its loops, marked derived.

    Raises:
        ValueError: Its wall time cannot be read.
    """
    is_left_out = record.scripted or record.is_try_out
    if is_left_out or not any(loop.worked for loop in record.loops):
        return None
    text = record.session_effort
    return Training(
        day=local_day(record.wall),
        length_ms=record.session_ms,
        effort=record.derived_effort if text is None else text.halves / 2,
        kind=DayKind.CIRCUIT,
        sport=record.plan.name,
        source_id=record.id,
        effort_is_derived=text is None and record.derived_effort is not None,
    )
