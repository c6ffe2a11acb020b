"""The words of the close-out: done versus planned, and efforts as entered.

Pure: the record of a session that has ended in, rows out. Nothing here is guessed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from whistlestop.domain.duration import clock
from whistlestop.domain.effort import WORDS, Effort
from whistlestop.domain.sites import site_name
from whistlestop.engine.commands import EnterDiscomfort
from whistlestop.engine.events import Ending
from whistlestop.review.record import SessionRecord
from whistlestop.tui.rooms.frame.words import percent_text
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Row,
    TextSpan,
    cut,
    fit,
    row,
    wrapped,
)
from whistlestop.tui.widgets.title_line import rail

ENDINGS: Final[dict[str, str]] = {
    Ending.COMPLETE: "completed",
    Ending.STOPPED: "stopped early",
    Ending.HEALTH: "ended by health stop",
}
_WIDEST: Final = 100


@dataclass(frozen=True, slots=True)
class CloseOut:
    """The rows, and where each choice stands: the session, then its rated loops."""

    rows: tuple[Row, ...]
    row_ranges: tuple[tuple[int, int], ...]


def close_out(record: SessionRecord, chosen: int, cells: int) -> CloseOut:
    """Lay the close-out out."""
    own = min(cells, _WIDEST)
    rows: list[Row] = [_head(record, own), BLANK, _header(own)]
    row_ranges = [(0, len(rows))]
    done, planned = record.best_work_ms, sum(loop.plan_ms for loop in record.loops)
    effort = _effort_spans(record.session_effort)
    rows.append(_line("session", done, planned, effort, own, chosen=chosen == 0))
    for loop in record.loops:
        if loop.worked:
            row_ranges.append((len(rows), len(rows)))
            effort = _effort_spans(loop.effort, "  partial" if loop.partial else "")
        else:
            effort = [TextSpan("not done", "dim")]
        is_chosen = loop.worked and chosen == len(row_ranges) - 1
        name, best_ms = f"loop {loop.loop}", loop.best_ms
        rows.append(_line(name, best_ms, loop.plan_ms, effort, own, chosen=is_chosen))
    felt = [_felt(taken.entry) for taken in record.discomforts]
    rows += [BLANK, *_scale(own), BLANK]
    rows += _entries("note", [record.note] if record.note else [], own)
    rows += _entries("discomfort", felt, own)
    return CloseOut(tuple(rows), tuple(row_ranges))


def _head(record: SessionRecord, cells: int) -> Row:
    text = ENDINGS.get(record.ending, "not finished")
    paused = f", {clock(record.paused_ms)} of it paused" if record.paused_ms else ""
    rest = f"   {clock(record.elapsed_ms)} long{paused}"
    return row("  ", TextSpan(cut(text, cells), "bold"), TextSpan(rest, "dim"))


def _bar_cells(cells: int) -> int:
    return max(0, min(30, cells - 62))


def _header(cells: int) -> Row:
    bar = " " * (_bar_cells(cells) + 2)
    text = f"  {'':<10}{'work':>8}{'planned':>10}{'':>7}  {bar}effort"
    return row(TextSpan(cut(text, cells), "dim"))


def _effort_spans(effort: Effort | None, mark: str = "") -> list[TextSpan]:
    known = TextSpan(f"{effort}  {effort.word}", "bold") if effort else None
    return [known or TextSpan("not entered", "dim"), TextSpan(mark, "dim")]


def _line(
    name: str,
    best_ms: int,
    plan_ms: int,
    effort: Sequence[TextSpan],
    cells: int,
    *,
    chosen: bool,
) -> Row:
    permille = 1000 * best_ms // plan_ms if plan_ms else 0
    return row(
        TextSpan("▌ " if chosen else "  ", "bold"),
        TextSpan(fit(name, 10), "bold" if chosen else "text"),
        TextSpan(fit(clock(best_ms), 8, right=True), "bold" if chosen else "text"),
        TextSpan(fit(clock(plan_ms), 10, right=True), "dim"),
        TextSpan(fit(percent_text(best_ms, plan_ms), 7, right=True)),
        "  ",
        *rail(_bar_cells(cells), permille),
        "  ",
        *effort,
    )


def _scale(cells: int) -> list[Row]:
    """The scale in words, so that a number can be chosen by them."""
    sentences = "   ".join(f"{number} {word}" for number, word in enumerate(WORDS))
    pieces: list[str] = []
    for piece in sentences.split("   "):
        if pieces and len(pieces[-1]) + len(piece) + 3 <= cells - 4:
            pieces[-1] += "   " + piece
        else:
            pieces.append(piece)
    return [row("  ", TextSpan(piece, "dim")) for piece in pieces]


def _entries(name: str, texts: Sequence[str], cells: int) -> list[Row]:
    if not texts:
        return [row("  ", TextSpan(fit(name, 12), "dim"), TextSpan("none", "dim"))]
    rows: list[Row] = []
    for text in texts:
        for line in wrapped(text, cells - 16):
            head = name if not rows else ""
            rows.append(row("  ", TextSpan(fit(head, 12), "dim"), line))
    return rows


def _felt(entry: EnterDiscomfort) -> str:
    words = (site_name(entry.site), entry.side, f"{entry.level} of 10")
    return ", ".join(filter(None, words))
