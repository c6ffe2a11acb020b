"""The sections that a page and a report are put together from.

Owns which figures stand in which column, and the words beside them. Every figure is
`review`'s; refuses to add one of its own but counts and hours.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from whistlestop.domain.text import shown
from whistlestop.markup import html
from whistlestop.markup.html import Html
from whistlestop.pages.material import Material, SessionOnPage
from whistlestop.review.days import (
    DAYS_IN_WEEK,
    Day,
    DayKind,
    DaySpan,
    Mark,
    Training,
    day_text,
)
from whistlestop.review.lines import effort_text
from whistlestop.review.numbers import (
    MONOTONY_NAME,
    ONLY_CIRCUITS,
    Week,
    by_sport,
    session_load,
)
from whistlestop.review.stations import Bout, completion, sides_of, work_of
from whistlestop.review.trends import drifts

HIDDEN: Final = "hidden, see below"
LOAD_WORDS: Final = (
    "Session load is effort (0 to 10, as felt) times minutes, in arbitrary units, AU: "
    "common practice."
)


def period_text(span: DaySpan) -> str:
    """Say a period from its first day to its last."""
    return f"{day_text(span.first)} to {day_text(span.last)}"


def hours_text(ms: int) -> str:
    """Say a length in hours and minutes: 2 h 05."""
    minutes = (ms + 30_000) // 60_000
    return f"{minutes // 60} h {minutes % 60:02d}"


def counted(count: int, one: str) -> str:
    """Say a count of things."""
    return f"{count} {one}" if count == 1 else f"{count} {one}s"


def fact_lines(material: Material) -> list[str]:
    """What was done and how much of it, in sentences."""
    trainings = material.trainings
    circuits = [t for t in trainings if t.kind is DayKind.CIRCUIT]
    other = [t for t in trainings if t.kind is DayKind.OTHER]
    days = material.book.days(material.span)
    rated = sum(t.effort is not None and not t.effort_is_derived for t in trainings)
    derived = sum(t.effort_is_derived for t in trainings)
    lines = [
        f"{_times(circuits, 'circuit')}; {_times(other, 'other session')}",
        f"effort entered for {rated} of {counted(len(trainings), 'session')}"
        + (f", averaged from the loops for {derived}" if derived else ""),
        _days_line(days),
    ]
    marked = Counter(mark for day in days for mark in day.marks)
    if marked:
        text = ", ".join(f"{marked[m]} {m.value}" for m in Mark if marked[m])
        lines.append(f"days marked: {text}")
    done = completion(material.bouts)
    if done.value is not None:
        lines.append(
            f"of the planned work at stations, {100 * done.value:.0f} % was done"
        )
    return lines


def _times(trainings: Sequence[Training], one: str) -> str:
    length_ms = sum(training.length_ms for training in trainings)
    return f"{counted(len(trainings), one)}, {hours_text(length_ms)}"


def _days_line(days: Sequence[Day]) -> str:
    return (
        f"of {counted(len(days), 'day')}: "
        f"{sum(bool(day.trainings) for day in days)} with training, "
        f"{sum(day.is_blank_as_rest for day in days)} blank and counted as rest, "
        f"{sum(day.is_open for day in days)} blank and not known"
    )


def sports_table(material: Material) -> Html:
    """How often, how long and how much load of each sport, circuits as one."""
    total_au = sum(one.load_au for one in by_sport(material.trainings))
    rows = []
    for one in by_sport(material.trainings):
        share = f"{100 * one.load_au / total_au:.0f} %" if total_au else ""
        least = "+" if one.without_effort else ""
        missing = f"{one.without_effort} without effort" if one.without_effort else ""
        load = f"{one.load_au:.0f}{least}"
        minutes = f"{one.length_ms / 60_000:.0f}"
        rows.append([one.sport, str(one.count), minutes, load, share, missing])
    head = ["sport", "times", "minutes", "load, AU", "of the load known", ""]
    return html.table(head, rows, frozenset({1, 2, 3, 4}))


def weeks_table(weeks: Sequence[Week]) -> list[Html]:
    """The figures of the weeks; what is the same for all of them is stated once."""
    head, numbers = ["week of", "load, AU", "mean a day, AU", "circuits"], {1, 2, 3}
    reasons = {week.monotony.reason for week in weeks if week.load.value is not None}
    shared = next(iter(reasons)) if len(reasons) == 1 else ""
    if not shared:
        head += ["monotony", "strain, AU"]
        numbers |= {4, 5}
    head.append("beside it")
    rows = [_week_row(week, alike=not shared) for week in weeks]
    sentences = []
    if not shared:
        sentences.append(f"Monotony is {MONOTONY_NAME} (Foster 1998).")
        sentences.append("Strain is load times monotony.")
    if shared or ONLY_CIRCUITS in reasons:
        sentences.append(f"Monotony and strain are {shared or ONLY_CIRCUITS}.")
    return [
        html.table(head, rows, frozenset(numbers)),
        html.paragraph(" ".join(sentences), "dim small"),
    ]


def _week_row(week: Week, *, alike: bool) -> list[str]:
    def number(value: float | None, digits: int = 0) -> str:
        return "–" if value is None else f"{value:.{digits}f}"

    load, beside = number(week.load.value), week.load.beside
    if week.load.value is None:
        least = week.entered.value
        load = f"{least:.0f}+" if least else "?"
        beside = week.load.reason
    mean = number(week.mean.value)
    if week.mean.value is None and week.entered.value:
        mean = f"{week.entered.value / DAYS_IN_WEEK:.0f}+"
    circuits = week.circuit_share
    share = "–" if circuits is None else f"{100 * circuits:.0f} %"
    row = [day_text(week.span.first), load, mean, share]
    if alike:
        row += [number(week.monotony.value, 2), number(week.strain.value)]
        if week.load.value is not None and week.monotony.value is None:
            why = week.monotony.reason
            why = HIDDEN if why == ONLY_CIRCUITS else why
            beside = "; ".join(filter(None, [beside, why]))
    return [*row, beside]


def drift_lines(material: Material) -> list[str]:
    """How far the two weighted means moved."""
    line = material.trend
    if not line:
        return []
    moved = drifts(line)
    sentences = [drift.words() for drift in moved]
    if (since := moved[0].since) is not None and since > line[0].day:
        sentences.append(
            f"every day is known since {day_text(since)}; the lines begin there"
        )
    return sentences


def trainings_table(material: Material) -> Html:
    """Every training, the other sports too, a line each."""
    done = {each.record.id: each for each in material.sessions}
    rows = [_training_row(t, done.get(t.source_id)) for t in material.trainings]
    head = ["day", "what", "length", "effort", "load, AU", "done", "effort by loop"]
    return html.table(head, rows, frozenset({2, 3, 4, 5}))


def _training_row(training: Training, done: SessionOnPage | None) -> list[str]:
    effort = effort_text(training.effort)
    if training.effort is not None and training.effort_is_derived:
        effort = f"{training.effort:.1f} averaged"
    load = session_load(training)
    share, loops = "", ""
    if done is not None:
        plan_ms = sum(loop.plan_ms for loop in done.record.loops)
        best_ms = sum(loop.best_ms for loop in done.record.loops)
        share = f"{100 * best_ms // plan_ms} %" if plan_ms else ""
        loops = "  ".join(
            ("–" if each.effort is None else f"{each.effort:g}")
            + (" partial" if each.partial else "")
            for each in done.efforts.loops
        )
    return [
        day_text(training.day),
        training.sport,
        hours_text(training.length_ms),
        effort,
        "–" if load.value is None else f"{load.value:.0f}",
        share,
        loops,
    ]


def stations_table(
    stations: dict[str, tuple[Bout, ...]], most: int, name_limit: int = 60
) -> list[Html]:
    """Work, volume, sides, and the load at first and at last, of each station."""
    rows = [_station_row(bouts) for bouts in list(stations.values())[:most]]
    rows = [[shown(row[0], name_limit), *row[1:]] for row in rows]
    head = ["station", "sessions", "work", "left / right", "volume", "reps", "load"]
    parts = [html.table(head, rows, frozenset({1, 2}))]
    hidden = len(stations) - most
    if hidden > 0:
        words = f"{counted(hidden, 'station')} with less work are left out."
        parts.append(html.paragraph(words, "dim small"))
    return parts


def _station_row(bouts: Sequence[Bout]) -> list[str]:
    work, side = work_of(bouts), sides_of(bouts)
    worked = [bout for bout in bouts if bout.done_ms]
    sides = f"{side.left_ms / 1000:.0f} / {side.right_ms / 1000:.0f} s"
    volume = f"{work.volume_kg_s:.0f} kg s" if work.volume_kg_s else ""
    replaced = ", ".join(dict.fromkeys(b.replaced for b in worked if b.replaced))
    return [
        f"{bouts[-1].name}, in place of {replaced}" if replaced else bouts[-1].name,
        str(len({bout.session_id for bout in worked})),
        f"{work.work_ms / 1000:.0f} s",
        sides if side.left_ms or side.right_ms else "",
        volume,
        f"{work.reps} in {work.counted} counted" if work.counted else "",
        load_change(worked),
    ]


def load_change(bouts: Sequence[Bout]) -> str:
    """The load at first and at last; once where they are the same."""
    if not bouts:
        return ""
    first, last = bouts[0].load_text or "none", bouts[-1].load_text or "none"
    return first if first == last else f"{first} to {last}"


def change_lines(material: Material, name_limit: int = 60) -> list[str]:
    """What changed in the period: loads at stations, and what prevented more."""
    lines = []
    for bouts in material.stations.values():
        worked = [bout for bout in bouts if bout.done_ms]
        first, last = worked[0], worked[-1]
        if (first.load_text or "none") != (last.load_text or "none"):
            lines.append(
                f"{shown(last.name, name_limit)}: {first.load_text or 'no load'} on "
                f"{day_text(first.day)}, {last.load_text or 'no load'} on "
                f"{day_text(last.day)}"
            )
    return [*lines, *mark_lines(material)]


def mark_lines(material: Material) -> list[str]:
    """Days of illness, travel and the like, neighbours drawn together."""
    lines = []
    for mark in Mark:
        if mark is Mark.REST:
            continue
        runs: list[DaySpan] = []
        for day in material.book.days(material.span):
            if mark not in day.marks:
                continue
            if runs and (day.day - runs[-1].last).days == 1:
                runs[-1] = DaySpan(runs[-1].first, day.day)
            else:
                runs.append(DaySpan(day.day, day.day))
        for run in runs:
            same = run.first == run.last
            text = day_text(run.first) if same else period_text(run)
            lines.append(f"{mark.value}: {text}")
    return lines


def felt_table(material: Material, most: int) -> list[Html]:
    """Each discomfort as entered, the last ones where there are too many."""
    kept = material.felt[-most:]
    head = ["day", "where", "level", "entered at"]
    rows = [
        [day_text(f.day), f"{f.site}, {f.side}", f"{f.level} of 10", f.at] for f in kept
    ]
    if not any(f.at for f in kept):
        head, rows = head[:-1], [row[:-1] for row in rows]
    parts = [html.table(head, rows)]
    hidden = len(material.felt) - len(kept)
    if hidden:
        words = f"{hidden} earlier {'entry' if hidden == 1 else 'entries'} left out."
        parts.append(html.paragraph(words, "dim small"))
    return parts


def note_rows(material: Material) -> list[list[str]]:
    """Every note with its day, in order."""
    own = [(done.day, done.record.note) for done in material.sessions]
    notes = [(day, note) for day, note in own if note]
    return [[day_text(d), note] for d, note in sorted([*notes, *material.notes])]
