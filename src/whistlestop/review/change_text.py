"""What changed, in sentences with their figures and days. Pure; it computes nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass
from datetime import date
from typing import Any, Final

from whistlestop.domain.duration import clock
from whistlestop.domain.sites import site_name
from whistlestop.domain.text import sentence_case
from whistlestop.review.chart_text import fitted
from whistlestop.review.days import MONTHS
from whistlestop.review.what_changed import (
    Best,
    DrillChange,
    EffortChange,
    PeriodChanges,
    SidesChange,
    StationChange,
    ValueStep,
    WorkChange,
)

NONE: Final = "No session in these days."
UNCHANGED: Final = "No load and no time at a station changed."
NAME_LIMIT: Final = 60
MOST_MONTHS: Final = 6

Section = tuple[str, tuple[str, ...]]


def change_sections(changes: PeriodChanges) -> tuple[Section, ...]:
    """Headings with their sentences; only those that have any."""
    if not changes.sessions:
        return (("", (NONE,)),)
    changed = [one for one in changes.stations if one.is_change]
    same = [one for one in changes.stations if not one.is_change]
    days = (changes.before.last - changes.before.first).days + 1
    sentences_of = _Sentences(changes.span.last.year, changes.target)
    every: list[Section] = [
        ("Stations", tuple(map(sentences_of.station, changed)) or (UNCHANGED,)),
        (
            "Effort for a minute of work",
            tuple(map(sentences_of.effort, changes.efforts)),
        ),
        ("Drills", tuple(map(sentences_of.drill, changes.drills))),
        ("Left beside right", tuple(map(sentences_of.sides, changes.sides))),
        ("Work by pattern", tuple(work_text(x, days) for x in changes.patterns)),
        ("Work by site", tuple(_site_text(x, days) for x in changes.sites)),
        ("Stations as before", tuple(map(sentences_of.station, same))),
    ]
    return tuple((title, sentences) for title, sentences in every if sentences)


def change_sentences(changes: PeriodChanges) -> tuple[str, ...]:
    """All sentences, without the headings."""
    return tuple(one for _, own in change_sections(changes) for one in own)


def work_text(work: WorkChange, days: int) -> str:
    """Say the work of a pattern beside that of the days before."""
    name = sentence_case(work.key.replace("-", " "))
    return f"{name}: {clock(work.now_ms)} of work{_before(work.before_ms, days)}"


def _site_text(work: WorkChange, days: int) -> str:
    name = sentence_case(site_name(work.key))
    if work.much_ms == work.now_ms and work.much_before_ms == work.before_ms:
        before = _before(work.before_ms, days)
        return f"{name}: {clock(work.now_ms)} of work that asks much of it{before}"
    text = f"{name}: {clock(work.now_ms)} of work that asks something of it"
    text += f", {clock(work.much_ms)} of it much" if work.much_ms else ""
    if work.before_ms is None:
        return text
    much = f" and {clock(work.much_before_ms)}" if work.much_before_ms else ""
    return f"{text}; {clock(work.before_ms)}{much} in the {days} days before"


def _before(ms: int | None, days: int) -> str:
    return "" if ms is None else f", {clock(ms)} in the {days} days before"


class _Sentences:
    """Sentences of one period: a day of its last year stands without the year."""

    def __init__(self, year: int, target: float) -> None:
        self._year = year
        self._target = target

    def day(self, day: date) -> str:
        """A day as `3 Oct`, or `3 Oct 2030` of another year."""
        text = f"{day.day} {MONTHS[day.month - 1]}"
        return text if day.year == self._year else f"{text} {day.year}"

    def station(self, one: StationChange) -> str:
        """Load and time since when, efforts, and the best beside the last."""
        name = fitted(one.name, NAME_LIMIT)
        if one.replaced:
            name += f" (in place of {', '.join(one.replaced)})"
        best = _best(one.best)
        if one.sessions == 1:
            once = f"{name}: once, {best}, {self.day(one.best.day)}"
            return "; ".join([once, *self._counted(one.counts)])
        now = [*self._loads(one.load), *self._times(one.work_ms, one.load)]
        text = f"{name}: {', '.join(now) or f'{one.sessions} times'}"
        pieces = [text, *self._efforts(one)]
        if one.best == one.last:
            pieces.append(f"best and last {best}, {self.day(one.last.day)}")
        elif one.best[:2] == one.last[:2]:
            same = f"best {best}, {self.day(one.best.day)}; last the same, "
            pieces.append(same + self.day(one.last.day))
        else:
            pieces.append(f"best {best}, {self.day(one.best.day)}")
            last = _best(one.last).removesuffix(" in a loop")
            pieces.append(f"last {last}, {self.day(one.last.day)}")
        return "; ".join([*pieces, *self._counted(one.counts)])

    def _loads(self, load: ValueStep[str]) -> Iterator[str]:
        first, last = load.first or "no load", load.last or "no load"
        if first != last:
            both_kg = first.endswith(" kg") and last.endswith(" kg")
            begin = first.removesuffix(" kg") if both_kg else first
            yield f"{begin} to {last} since {self.day(load.since)}"
        elif load.between:
            others = ", ".join(text or "no load" for text in load.between)
            yield f"{last} again since {self.day(load.since)}, {others} in between"
        elif load.last:
            yield f"{last} all along"

    def _times(self, work: ValueStep[int], load: ValueStep[str]) -> Iterator[str]:
        if work.first != work.last:
            since = "" if work.since == load.since else f" since {self.day(work.since)}"
            if not load.is_change:
                since = f" since {self.day(work.since)}"
            begin, now = _seconds(work.first), _seconds(work.last)
            yield f"{begin} to {now} s in a loop{since}"

    def _efforts(self, one: StationChange) -> Iterator[str]:
        effort = one.effort
        missing = f"{effort.unrated} not rated" if effort.unrated else ""
        if effort.rated:
            text = (
                f"{effort.at_target} of the last {effort.rated} at target effort "
                f"({self._target:g} or below)"
            )
            yield f"{text}, {missing}" if missing else text
        elif missing:
            yield missing

    def _counted(
        self, counts: tuple[tuple[int, date], tuple[int, date]] | None
    ) -> Iterator[str]:
        if counts is None:
            return
        (best, on), (last, day) = counts
        text = f"best count {best}, {self.day(on)}"
        if (best, on) != (last, day):
            text += f"; last {last}, {self.day(day)}"
        yield text

    def drill(self, one: DrillChange) -> str:
        """Level, how often and long, and counts."""
        level = one.level
        text = f"level {level.last} of {one.levels}"
        if level.first != level.last:
            text += f" since {self.day(level.since)}, level {level.first} before"
        times = "1 recovery" if one.recoveries == 1 else f"{one.recoveries} recoveries"
        pieces = [
            f"{fitted(one.name, NAME_LIMIT)}: {text}",
            f"{times}, {clock(one.ms)}",
        ]
        return "; ".join([*pieces, *self._counted(one.counts)])

    def sides(self, one: SidesChange) -> str:
        """Both sides of each of the last months."""
        months = [
            f"{MONTHS[month.month - 1]} {_two(side.left_ms, side.right_ms)}"
            for month, side in one.months[-MOST_MONTHS:]
        ]
        name = f"{fitted(one.name, NAME_LIMIT)}, left beside right"
        if len(months) > 1 and all(x.left_ms == x.right_ms for _, x in one.months):
            return f"{name}: equal in each month, {clock(one.left_ms)} each in all"
        return f"{name}: {'; '.join(months)}"

    def effort(self, one: EffortChange) -> str:
        """Effort at first and at last, and for a minute of work."""
        (first, begin), (last, end) = one.first, one.last
        text = (
            f"{fitted(one.name, NAME_LIMIT)}, {one.rated} sessions at equal settings: "
            f"effort {_number(first)} on {self.day(begin)}, {_number(last)} on "
            f"{self.day(end)}; {_exact(one.first_a_minute)} to "
            f"{_exact(one.last_a_minute)} points for a minute of work"
        )
        return f"{text}; {one.unrated} not rated" if one.unrated else text


def _best(best: Best) -> str:
    load = f"{best.load_text} for " if best.load_text else ""
    return f"{load}{_seconds(best.ms)} s in a loop"


def _two(left_ms: int, right_ms: int) -> str:
    if left_ms == right_ms:
        return f"{clock(left_ms)} each"
    return f"{clock(left_ms)} and {clock(right_ms)}"


def _seconds(ms: int) -> str:
    return f"{round(ms / 1000):d}"


def _number(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _exact(value: float) -> str:
    return f"{value:.2f}".rstrip("0").removesuffix(".")


def sentence_rows(sections: Sequence[Section]) -> Iterator[tuple[bool, str]]:
    """Each line of all sections, and whether it is a heading."""
    for title, sentences in sections:
        if title:
            yield True, title
        for sentence in sentences:
            yield False, sentence


def changes_json(changes: PeriodChanges) -> dict[str, Any]:
    """All figures and the sentences as plain JSON values; times in ms."""
    return {**_plain(changes), "sentences": list(change_sentences(changes))}


def _plain(value: Any) -> Any:
    """Values by the names of their fields, days as 2031-05-12."""
    if is_dataclass(value):
        return {each.name: _plain(getattr(value, each.name)) for each in fields(value)}
    if hasattr(value, "_asdict"):
        return {name: _plain(one) for name, one in value._asdict().items()}
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return value.isoformat() if isinstance(value, date) else value
