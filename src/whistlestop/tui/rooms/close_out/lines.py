"""The words of the close-out: done versus planned, and efforts as entered.

Pure: an engine that has ended in, rows out. Nothing here is guessed or derived.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from whistlestop.domain.duration import clock
from whistlestop.domain.effort import WORDS, Effort
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.engine.commands import EnterDiscomfort, EnterNote, EnterSessionEffort
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import Ending
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

ENDINGS: Final = {
    Ending.COMPLETE: "completed",
    Ending.STOPPED: "stopped early",
    Ending.HEALTH: "ended by health stop",
}
_WIDEST: Final = 100


@dataclass(frozen=True, slots=True)
class LoopLine:
    """One loop: work done against the plan in ms, and the effort as entered."""

    loop: int
    plan_ms: int
    best_ms: int
    effort: Effort | None
    partial: bool
    worked: bool


@dataclass(frozen=True, slots=True)
class Outcome:
    """A session at its end. Times in ms."""

    ending: Ending | None
    elapsed_ms: int
    paused_ms: int
    loops: tuple[LoopLine, ...]
    effort: Effort | None
    note: str
    discomforts: tuple[EnterDiscomfort, ...]

    @property
    def rated(self) -> tuple[LoopLine, ...]:
        """Loops whose effort can be entered: those with work in them."""
        return tuple(line for line in self.loops if line.worked)


def outcome(engine: Engine) -> Outcome:
    """Read off an engine what its session came to."""
    best: dict[int, int] = {}
    for done in engine.rows:
        if done.kind is SegmentKind.WORK:
            ms = min(done.ms, done.plan_ms)
            best[done.segment] = max(best.get(done.segment, 0), ms)
    ended = {event.loop: event for event in engine.loops_ended}
    lines = []
    for loop in range(1, engine.plan.loops + 1):
        work = [
            (index, segment)
            for index, segment in enumerate(engine.plan.segments)
            if segment.loop == loop and segment.kind is SegmentKind.WORK
        ]
        text, over = engine.effort_of(loop), ended.get(loop)
        lines.append(
            LoopLine(
                loop,
                plan_ms=sum(segment.duration_ms for _, segment in work),
                best_ms=sum(best.get(index, 0) for index, _ in work),
                effort=text.effort if text else None,
                partial=over.partial if over else True,
                worked=over.worked if over else False,
            )
        )
    entries = [taken.entry for taken in engine.entries]
    efforts = [e.effort for e in entries if isinstance(e, EnterSessionEffort)]
    notes = [e.text for e in entries if isinstance(e, EnterNote)]
    return Outcome(
        engine.ending,
        engine.t_ms,
        engine.paused_ms,
        tuple(lines),
        efforts[-1] if efforts else None,
        notes[-1] if notes else "",
        tuple(e for e in entries if isinstance(e, EnterDiscomfort)),
    )


@dataclass(frozen=True, slots=True)
class CloseOut:
    """The rows, and where each choice stands: the session, then its rated loops."""

    rows: tuple[Row, ...]
    row_ranges: tuple[tuple[int, int], ...]


def close_out(result: Outcome, chosen: int, cells: int) -> CloseOut:
    """Lay the close-out out."""
    own = min(cells, _WIDEST)
    done = sum(line.best_ms for line in result.loops)
    planned = sum(line.plan_ms for line in result.loops)
    rows: list[Row] = [_head(result, own), BLANK, _header(own)]
    whole = LoopLine(0, planned, done, result.effort, partial=False, worked=True)
    row_ranges = [(0, len(rows))]
    rows.append(_line(whole, "session", own, chosen=chosen == 0))
    for line in result.loops:
        if line.worked:
            row_ranges.append((len(rows), len(rows)))
        is_chosen = line.worked and chosen == len(row_ranges) - 1
        rows.append(_line(line, f"loop {line.loop}", own, chosen=is_chosen))
    rows += [BLANK, *_scale(own), BLANK]
    rows += _entries("note", [result.note] if result.note else [], own)
    rows += _entries("discomfort", [_felt(one) for one in result.discomforts], own)
    return CloseOut(tuple(rows), tuple(row_ranges))


def _head(result: Outcome, cells: int) -> Row:
    text = ENDINGS[result.ending] if result.ending else "not finished"
    paused = f", {clock(result.paused_ms)} of it paused" if result.paused_ms else ""
    rest = f"   {clock(result.elapsed_ms)} long{paused}"
    return row("  ", TextSpan(cut(text, cells), "bold"), TextSpan(rest, "dim"))


def _bar_cells(cells: int) -> int:
    return max(0, min(30, cells - 62))


def _header(cells: int) -> Row:
    bar = " " * (_bar_cells(cells) + 2)
    text = f"  {'':<10}{'work':>8}{'planned':>10}{'':>7}  {bar}effort"
    return row(TextSpan(cut(text, cells), "dim"))


def _line(line: LoopLine, name: str, cells: int, *, chosen: bool) -> Row:
    bar = _bar_cells(cells)
    permille = 1000 * line.best_ms // line.plan_ms if line.plan_ms else 0
    if not line.worked:
        effort, tone = "not done", "dim"
    elif line.effort is None:
        effort, tone = "not entered", "dim"
    else:
        effort, tone = f"{line.effort}  {line.effort.word}", "bold"
    mark = "  partial" if line.partial and line.worked else ""
    return row(
        TextSpan("▌ " if chosen else "  ", "bold"),
        TextSpan(fit(name, 10), "bold" if chosen else "text"),
        TextSpan(fit(clock(line.best_ms), 8, right=True), "bold" if chosen else "text"),
        TextSpan(fit(clock(line.plan_ms), 10, right=True), "dim"),
        TextSpan(fit(percent_text(line.best_ms, line.plan_ms), 7, right=True)),
        "  ",
        *rail(bar, permille),
        "  ",
        TextSpan(effort, "bold" if tone == "bold" else "dim"),
        TextSpan(mark, "dim"),
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
    return f"{entry.site}, {entry.side}, {entry.level} of 10"
