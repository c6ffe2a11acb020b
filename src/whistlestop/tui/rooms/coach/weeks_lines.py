"""The words of the weeks: the grid, what changed in it, and what is wanted.

Pure: a plan in, rows out; letters and words carry everything, colour nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Final

from whistlestop.coach.weeks import (
    LEGEND,
    Weeks,
    WeekWishes,
    coming_lines,
    grid_rows,
)
from whistlestop.domain.field import fields_of
from whistlestop.domain.targets import Targets
from whistlestop.review.days import week_of
from whistlestop.tui.rooms.frame.words import MONTHS
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Row,
    TextSpan,
    Tone,
    fit,
    row,
    wrapped,
)
from whistlestop.tui.widgets.title_line import heading

WIDEST: Final = 110
_WEEK_CELLS: Final = 8
_EMPHASIS_CELLS: Final = 15
_LABEL_CELLS: Final = 24
_COMING: Final = 4


FIELDS: Final = tuple(field for field in fields_of(Targets) if field.ask)


def shown_plan(plan: Weeks, today: date) -> Weeks:
    """A plan with the sessions that are past and not done marked as missed."""
    sessions = tuple(
        replace(s, state="missed") if s.state == "planned" and s.day < today else s
        for s in plan.sessions
    )
    return replace(plan, sessions=sessions)


def grid(plan: Weeks, wishes: WeekWishes, today: date, cells: int) -> list[Row]:
    """The plan, days across and weeks down; the present week and day are marked."""
    head, *weeks = grid_rows(shown_plan(plan, today), wishes)
    room = min(cells, WIDEST) - 3
    emphasis = _EMPHASIS_CELLS if room >= _WEEK_CELLS + _EMPHASIS_CELLS + 42 else 0
    day_cells = max(4, (room - _WEEK_CELLS - emphasis) // 7)
    names = [
        f"{name}*" if place == today.weekday() and today in plan.span else name
        for place, name in enumerate(head[2:])
    ]
    titles = fit("week of", _WEEK_CELLS) + fit("emphasis", emphasis)
    rows = [row("  ", TextSpan(titles + _days(names, day_cells), "dim"))]
    for begin, message, *days in weeks:
        first = date.fromisoformat(begin)
        is_now = today in week_of(first)
        when = fit(f"{first.day:>2} {MONTHS[first.month - 1]}", _WEEK_CELLS)
        text = when + fit(message, emphasis) + _days(days, day_cells)
        tone = TextSpan(text, "bold" if is_now else "text")
        rows.append(row(TextSpan("▌ " if is_now else "  ", "work"), tone))
    return rows


def _days(words: Sequence[str], cells: int) -> str:
    return "".join(fit(word, cells - 1) + " " for word in words)


def legend_rows(wishes: WeekWishes, cells: int) -> list[Row]:
    """Which letter is which circuit, and what the other signs say."""
    named = [f"{c.mark} {c.name or c.id}" for c in (*wishes.circuits, *wishes.others)]
    room = min(cells, WIDEST) - 3
    lines = [*wrapped("   ".join(named), room), *wrapped(f"* today  {LEGEND}", room)]
    return [row("  ", TextSpan(line, "dim")) for line in lines]


def against_rows(sentences: Sequence[str], cells: int) -> list[Row]:
    """What of the planned circuits limits stand against; their sheets exchange it."""
    rows: list[Row] = [heading("Limits")]
    for sentence in sentences:
        for line in wrapped(sentence, min(cells, WIDEST) - 3):
            rows.append(row("  ", line))
    return rows


def foreseen_rows(
    plan: Weeks, wishes: WeekWishes, unmet: Sequence[str], today: date, cells: int
) -> list[Row]:
    """Which wishes found no day, and what the coach is to change on the next days."""
    room = min(cells, WIDEST) - 3
    coming = coming_lines(plan, wishes, today, _COMING)
    rows = []
    for sentence in (*unmet, *coming):
        tone: Tone = "text" if sentence in unmet else "dim"
        rows += [row("  ", TextSpan(line, tone)) for line in wrapped(sentence, room)]
    return [BLANK, *rows] if rows else []


def changed_rows(sentences: Sequence[str], cells: int) -> list[Row]:
    """What a plan that is not saved yet would change."""
    rows: list[Row] = [heading("Not saved yet")]
    for sentence in sentences:
        for line in wrapped(sentence, min(cells, WIDEST) - 3):
            rows.append(row("  ", line))
    return rows


def field_rows(targets: Targets, chosen: int, cells: int) -> list[Row]:
    """What is wanted, one thing a line."""
    rows: list[Row] = []
    for place, each in enumerate(FIELDS):
        is_chosen = place == chosen
        mark = TextSpan("▌ " if is_chosen else "  ", "work")
        room = min(cells, WIDEST) - 2 - _LABEL_CELLS
        line = each.kind.as_line(getattr(targets, each.name))
        value = fit(line, max(0, room))
        label = TextSpan(fit(each.label, _LABEL_CELLS), "bold" if is_chosen else "dim")
        rows.append(row(mark, label, value))
    return rows


def made_sentences(old: Weeks | None, new: Weeks, today: date) -> tuple[str, ...]:
    """What a new plan comes to, beside the old one."""
    coming = [s for s in new.sessions if s.state == "planned" and s.day >= today]
    count = f"{len(coming)} sessions from today on"
    if old is None:
        return (f"A first plan: {count}.",)
    before = {
        (s.day, s.circuit)
        for s in old.sessions
        if s.state == "planned" and s.day >= today
    }
    after = {(s.day, s.circuit) for s in coming}
    if before == after:
        return (f"Planned again: {count}, none changed.",)
    same = len(before & after)
    gone, fresh = len(before - after), len(after - before)
    return (f"Planned again: {count}; {same} unchanged, {gone} removed, {fresh} new.",)


def with_day_off(targets: Targets, day: date) -> Targets:
    """The same wishes, with one more day that is not possible."""
    if any(first <= day <= last for first, last in targets.away):
        return targets
    return replace(targets, away=tuple(sorted((*targets.away, (day, day)))))


def days_of_plan(plan: Weeks) -> str:
    """The first and the last day of a plan, in words."""
    first, last = plan.first, plan.first + timedelta(days=7 * plan.count - 1)
    return (
        f"{first.day} {MONTHS[first.month - 1]} to "
        f"{last.day} {MONTHS[last.month - 1]} {last.year}"
    )
