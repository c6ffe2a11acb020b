"""The charts of the log, from records to rows of text with a sentence for each point.

Owns what each chart shows and in which words. Every shape has a word beside it, and
nothing rests on colour. Refuses to know files, screens, and whether a figure is good.
Widths are in cells: made for 60 and more, never exceeded at any.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final

from whistlestop.domain.columns import cells_of
from whistlestop.review.chart_text import (
    BLOCKS,
    NAME_LIMIT,
    Chart,
    ChartBar,
    ChartPaper,
    Glyphs,
    Panel,
    Role,
    Spot,
    fitted,
    flat_bar,
)
from whistlestop.review.days import (
    MONTHS,
    NOTHING_FIXED,
    Day,
    DayBook,
    DayKind,
    DaySpan,
    FixedDays,
    Mark,
    day_text,
)
from whistlestop.review.lines import effort_text
from whistlestop.review.numbers import (
    MONOTONY_NAME,
    PersonalRange,
    Week,
    day_load,
    personal_range,
    session_load,
)
from whistlestop.review.stations import (
    Bout,
    LoopEffort,
    Work,
    effort_drift,
    loop_efforts,
    sides_by,
    work_by,
    work_of,
)

if TYPE_CHECKING:
    from whistlestop.review.record import SessionRecord

_AXIS: Final = 10  # cells left of the upright bars
_PITCH: Final = 7  # cells from one upright bar to the next
_TALL: Final = 8
_LOW: Final = 4
_LOOP_SHAPES: Final = "123456789abcdefghijklmnopqrstuvwxyz"
_NAME_CELLS: Final = 14
_HALVES: Final = 21  # half points from 0 to 10
REGIONS: Final = ("legs", "core", "arms")


def weeks_chart(
    weeks: Sequence[Week],
    width: int,
    glyphs: Glyphs = BLOCKS,
    fixed: FixedDays = NOTHING_FIXED,
) -> Chart:
    """Load of each week, the last ones that fit, with the athlete's own range.

    `weeks` are in order, whichever are known; the range is of those before the last.
    Races and key sessions that are `fixed` stand below their week.
    """
    sheet = ChartPaper(width, glyphs)
    kept = weeks[-_room(width) :]
    sheet.add("Load by week, AU (effort x minutes)", Role.TITLE)
    own = personal_range(weeks[:-1])
    tops = [w.entered.value or 0 for w in kept] + ([own.high_au] if own else [])
    panel = Panel(sheet.height, _TALL, _AXIS, _PITCH, max(tops, default=0))
    if own:
        for value in (own.low_au, own.high_au):
            across = glyphs.range * (width - _AXIS)
            sheet.put(panel.row_of(value), _AXIS, across, Role.RANGE)
    is_mixed = any(week.is_mixed for week in kept)
    panel.draw(sheet, [_week_bar(week, in_parts=is_mixed) for week in kept])
    panel.draw_axis(sheet, "AU")
    row_ranges = panel.under(sheet, "AU", [_week_value(week) for week in kept])
    if is_mixed:
        panel.under(sheet, "circuits", [_share_text(week) for week in kept])
    if any(week.entered.blanks for week in kept):
        panel.under(sheet, "blank", [_blanks(week) for week in kept])
    fixed_texts = [fixed_text(fixed, week.span) for week in kept]
    if any(fixed_texts):
        panel.under(sheet, "dates", fixed_texts)
    panel.under(sheet, "week of", [_short_day(week.span.first) for week in kept])
    sheet.legend([*_weeks_legend(kept, own, glyphs), *_fixed_legend(fixed_texts)])
    sentences = [f"{_week_sentence(w)}{_fixed_words(fixed, w.span)}" for w in kept]
    return sheet.chart(sentences, row_ranges)


def fixed_text(fixed: FixedDays, span: DaySpan) -> str:
    """`R` for each race and `K` for each key session of some days."""
    races, key_days = fixed.in_week(span)
    return "R" * len(races) + "K" * len(key_days)


def _fixed_legend(texts: Iterable[str]) -> Iterator[str]:
    together = "".join(texts)
    if "R" in together:
        yield "R race"
    if "K" in together:
        yield "K key session"


def _fixed_words(fixed: FixedDays, span: DaySpan) -> str:
    races, key_days = fixed.in_week(span)
    text = "".join(f"; race on {_short_day(day)}" for day in races)
    if key_days:
        one = "key session" if len(key_days) == 1 else "key sessions"
        text += f"; {one} on {', '.join(map(_short_day, key_days))}"
    return text


def _room(width: int) -> int:
    return max(1, (width - _AXIS) // _PITCH)


def _week_bar(week: Week, *, in_parts: bool) -> ChartBar:
    lower = (week.circuits.value or 0.0) if in_parts else 0.0
    return ChartBar(week.entered.value, week.load.value is None, lower)


def _share_text(week: Week) -> str:
    """The share of circuits in the load that is known, in percent."""
    share = week.circuit_share
    return "" if share is None else f"{100 * share:.0f} %"


def _week_value(week: Week) -> str:
    if week.load.value is None and not week.entered.value:
        return "?"
    least = "+" if week.load.value is None else ""
    return f"{week.entered.value:.0f}{least}{'d' if week.entered.derived else ''}"


def _blanks(week: Week) -> str:
    return str(week.entered.blanks) if week.entered.blanks else ""


def _short_day(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]}"


def _weeks_legend(
    weeks: Sequence[Week], own: PersonalRange | None, glyphs: Glyphs
) -> Iterator[str]:
    yield f"{glyphs.full} all seven days known"
    if any(week.load.value is None for week in weeks):
        yield f"{glyphs.open} + at least this much: days or efforts are missing"
    if any(week.is_mixed for week in weeks):
        yield f"{glyphs.lower} circuits, of the load that is known"
    if any(_week_value(week) == "?" for week in weeks):
        yield "? nothing known"
    if any(week.entered.derived for week in weeks):
        yield "d effort averaged from loops"
    if any(week.entered.blanks for week in weeks):
        yield "blank: days that count as rest"
    if own:
        yield (
            f"{glyphs.range} your own range, {own.low_au:.0f} to {own.high_au:.0f} AU: "
            f"the middle half of {own.weeks} weeks"
        )


def _week_sentence(week: Week) -> str:
    head = f"Week of {day_text(week.span.first)}: "
    part = ""
    if week.is_mixed:
        part = f"; circuits {week.circuits.value:.0f} AU, {_share_text(week)}"
    if week.load.value is None:
        if week.entered.value:
            head += f"at least {week.entered.words(unit='AU')}; "
        return head + week.load.reason + part
    alike = week.monotony.reason
    if week.monotony.value is not None:
        alike = f"{week.monotony.value:.2f} ({MONOTONY_NAME})"
    strain = "" if week.strain.value is None else f"; strain {week.strain.value:.0f} AU"
    beside = f"; in these: {week.load.beside}" if week.load.beside else ""
    return f"{head}{week.load.value:.0f} AU{part}; monotony: {alike}{strain}{beside}"


@dataclass(frozen=True, slots=True)
class SessionEfforts:
    """The efforts of one session of a circuit, loop by loop; `circuit` is its id."""

    day: date
    name: str
    loops: tuple[LoopEffort, ...]
    circuit: str = ""


def session_efforts(record: SessionRecord, day: date) -> SessionEfforts:
    """The efforts of a session that was done on a day."""
    plan = record.plan
    return SessionEfforts(day, plan.name, loop_efforts(record), plan.circuit)


def efforts_chart(
    sessions: Sequence[SessionEfforts], width: int, glyphs: Glyphs = BLOCKS
) -> Chart:
    """Effort of each loop on a scale of 0 to 10, one row a session.

    The caller hands in as many sessions as there are rows, in order.
    """
    sheet = ChartPaper(width, glyphs)
    sheet.add("Effort by loop, 0 to 10", Role.TITLE)
    # Wide enough for a name that tells circuits apart; the rest is the scale's.
    named = min(_NAME_CELLS, max(0, width - 50))
    step = max(1, (width - 38 - named) // _HALVES)
    left = 13 + named
    right = left + 1 + _HALVES * step
    ruler = sheet.height
    for point in (0, 5, 10):
        sheet.put(ruler, left + 1 + 2 * point * step, str(point), Role.AXIS)
    row_ranges = []
    for session in sessions:
        row = sheet.height
        label = f"{day_text(session.day)}, {session.name}"
        sheet.put(row, 0, fitted(label, left - 1), Role.TEXT)
        sheet.put(row, left, glyphs.line, Role.AXIS)
        sheet.put(row, right, glyphs.line, Role.AXIS)
        for column, shape in _loop_marks(session.loops, step):
            sheet.put(row, left + 1 + column, shape, Role.BAR)
        room = width - right - 2
        sheet.put(row, right + 2, _efforts_cell(session, room), Role.TEXT)
        row_ranges.append(Spot(row, 0, min(width, right + 1)))
    sheet.legend(
        ["1 2 3 the loops", "* several at one place", "p partial", "- not entered"]
    )
    return sheet.chart([_efforts_sentence(session) for session in sessions], row_ranges)


def _loop_marks(loops: Sequence[LoopEffort], step: int) -> Iterator[tuple[int, str]]:
    """Columns and shapes of the loops; those of one effort stand side by side."""
    places: dict[int, list[str]] = {}
    for loop in loops:
        if loop.effort is not None:
            inside = loop.loop <= len(_LOOP_SHAPES)
            shape = _LOOP_SHAPES[loop.loop - 1] if inside else "+"
            places.setdefault(round(loop.effort * 2), []).append(shape)
    for halves, shapes in places.items():
        if len(shapes) > step:
            shapes[step - 1 :] = ["*"]
        yield halves * step, "".join(shapes)


def _effort(loop: LoopEffort) -> str:
    text = "-" if loop.effort is None else f"{loop.effort:g}"
    return f"{text}p" if loop.partial else text


def _efforts_cell(session: SessionEfforts, room: int) -> str:
    drift = _drift_text(session)
    full = f"{' '.join(_effort(loop) for loop in session.loops)}  {drift}"
    return full if cells_of(full) <= room else fitted(drift, room)


def _drift_text(session: SessionEfforts) -> str:
    change = effort_drift(session.loops).change
    if change.value is None:
        return change.reason
    if change.value == 0:
        return "level"
    return f"{'up' if change.value > 0 else 'down'} {abs(change.value):g}"


def _efforts_sentence(session: SessionEfforts) -> str:
    drift = effort_drift(session.loops)
    loops = [
        f"loop {loop.loop} {'' if loop.effort is None else 'at '}"
        f"{effort_text(loop.effort)}{' (partial)' if loop.partial else ''}"
        for loop in session.loops
    ]
    text = ", ".join(loops) or "no loop with work"
    over = (
        f" over {drift.entered} rated loops" if drift.change.value is not None else ""
    )
    name = fitted(session.name, NAME_LIMIT)
    return f"{day_text(session.day)}, {name}: {text}; {_drift_text(session)}{over}"


def station_chart(bouts: Sequence[Bout], width: int, glyphs: Glyphs = BLOCKS) -> Chart:
    """Load and work seconds of one station, session by session, the last that fit.

    The bouts are those of one exercise, in any order.
    """
    sheet = ChartPaper(width, glyphs)
    name = fitted(bouts[-1].name, NAME_LIMIT) if bouts else "Station"
    sheet.add(f"{name}: load and work by session", Role.TITLE)
    kept = _by_session(bouts)[-_room(width) :]
    heaviest = [max((b.load_kg or 0.0 for b in found), default=0.0) for found in kept]
    seconds = [work_of(found).work_ms / 1000 for found in kept]
    for values, unit in ((heaviest, "kg"), (seconds, "s")):
        panel = Panel(sheet.height, _LOW, _AXIS, _PITCH, max(values, default=0))
        panel.draw(sheet, [ChartBar(value) for value in values])
        panel.draw_axis(sheet, unit)
        texts = [f"{value:g}" if value else "0" for value in values]
        if unit == "kg":
            texts = [_load_label(found) for found in kept]
        row_ranges = panel.under(sheet, unit, texts)
    panel.under(sheet, "on", [_short_day(found[0].day) for found in kept])
    sheet.legend(["kg: the heaviest load of the session", "s: work of all visits"])
    return sheet.chart([_station_sentence(found) for found in kept], row_ranges)


def _by_session(bouts: Iterable[Bout]) -> list[list[Bout]]:
    groups: dict[tuple[date, str], list[Bout]] = {}
    for bout in sorted(bouts, key=lambda bout: (bout.day, bout.session_id, bout.loop)):
        groups.setdefault((bout.day, bout.session_id), []).append(bout)
    return list(groups.values())


def _load_label(bouts: Sequence[Bout]) -> str:
    known = [bout.load_kg for bout in bouts if bout.load_kg is not None]
    if known:
        return f"{max(known):.4g}"
    return "band" if any(bout.load_text for bout in bouts) else "none"


def _station_sentence(bouts: Sequence[Bout]) -> str:
    work = work_of(bouts)
    loads = ", ".join(dict.fromkeys(b.load_text for b in bouts if b.load_text))
    loops = "1 loop" if work.bouts == 1 else f"{work.bouts} loops"
    sentences = (
        f"{day_text(bouts[0].day)}: {loads or 'no load'}; "
        f"{work.work_ms / 1000:g} s in {loops}"
    )
    if work.volume_kg_s:
        sentences += f"; {work.volume_kg_s:.0f} kg s"
    if work.counted:
        sentences += f"; {work.reps} reps in the {work.counted} counted"
    replaced = dict.fromkeys(b.replaced for b in bouts if b.replaced)
    variants = dict.fromkeys(f"{v} version" for b in bouts for v in b.variants)
    sentences += "".join(f"; in place of {name}" for name in replaced)
    return sentences + "".join(f"; {variant}" for variant in variants)


_BOTH: Final = "circuit and other"
# Shape in blocks, shape in ASCII, word, role: in the order of the legend.
_DAY_SHAPES: Final = {
    "race": ("R", "R", Role.TEXT),
    "key session": ("K", "K", Role.TEXT),
    "circuit": ("●", "C", Role.CIRCUIT),
    "other": ("○", "O", Role.OTHER),
    _BOTH: ("◆", "B", Role.CIRCUIT),
    "rest": ("r", "r", Role.MARK),
    "illness": ("i", "i", Role.MARK),
    "travel": ("t", "t", Role.MARK),
    "off": ("x", "x", Role.MARK),
    "blank day, counts as rest": ("-", "-", Role.BLANK),
    "blank": ("·", ".", Role.BLANK),
}


def year_chart(
    book: DayBook,
    year: int,
    last: date,
    width: int,
    glyphs: Glyphs = BLOCKS,
    fixed: FixedDays = NOTHING_FIXED,
) -> Chart:
    """A year as twelve rows of day marks; each shape has its word below.

    Days after `last` are shown as not yet, but for the races and key sessions that are
    `fixed`.
    """
    sheet = ChartPaper(width, glyphs)
    sheet.add(f"{year}, day by day", Role.TITLE)
    pitch = max(1, min(3, (width - 30) // 31))
    for number in (1, 5, 10, 15, 20, 25, 30):
        sheet.put(1, 4 + (number - 1) * pitch, str(number), Role.AXIS)
    days = book.days(DaySpan(date(year, 1, 1), date(year, 12, 31)))
    words: dict[int, Counter[str]] = {month: Counter() for month in range(1, 13)}
    drawn: Counter[str] = Counter()
    row_ranges = [
        Spot(day.day.month + 1, 4 + (day.day.day - 1) * pitch, 1) for day in days
    ]
    for day, spot in zip(days, row_ranges, strict=True):
        found = _day_text(day) if day.day <= last else []
        if marks := _fixed_marks(fixed, day.day):
            done = [word for word in found if not word.startswith("blank")]
            # Of a key session what was done comes first; a race is rare.
            found = [*marks, *done] if "race" in marks else [*done, *marks]
        if found:
            words[day.day.month].update(found)
            drawn.update(found[:pitch])
            for cell, word in enumerate(found[:pitch]):
                shape, plain, role = _DAY_SHAPES[word]
                mark = plain if glyphs.is_ascii else shape
                sheet.put(spot.row, spot.column + cell, mark, role)
    at = 4 + 31 * pitch + 1
    for month, counted in words.items():
        sheet.put(month + 1, 0, MONTHS[month - 1], Role.AXIS)
        sheet.put(month + 1, at, _counts(counted, width - at), Role.TEXT)
    legend = _year_legend(drawn, glyphs)
    hidden = sum(words.values(), Counter()) != drawn
    note = ["move the cursor to see marks on a day with training"] if hidden else []
    sheet.legend([*legend, *note])
    sentences = [_day_sentence(day, last, fixed) for day in days]
    return sheet.chart(sentences, row_ranges)


def _fixed_marks(fixed: FixedDays, day: date) -> list[str]:
    if day in fixed.races:
        return ["race"]
    return ["key session"] if day in fixed.key_days else []


def _year_legend(drawn: Counter[str], glyphs: Glyphs) -> Iterator[str]:
    for word, (shape, plain, _) in _DAY_SHAPES.items():
        if drawn[word]:
            yield f"{plain if glyphs.is_ascii else shape} {word}"


def _day_text(day: Day) -> list[str]:
    kinds = {training.kind for training in day.trainings}
    marks = [mark.value for mark in Mark if mark in day.marks]
    if kinds == set(DayKind):
        return [_BOTH, *marks]
    if kinds:
        return [kinds.pop().value, *marks]
    if marks:
        return marks
    return ["blank day, counts as rest" if day.is_blank_as_rest else "blank"]


def _counts(words: Counter[str], room: int) -> str:
    """Days of each kind, the foremost ones that fit; blanks are not counted."""
    text = ""
    for word in (*DayKind, *Mark):
        days = words[word] + (words[_BOTH] if word in set(DayKind) else 0)
        if days:
            longer = f"{text}, {days} {word}" if text else f"{days} {word}"
            if cells_of(longer) > room:
                break
            text = longer
    return text


def _day_sentence(day: Day, last: date, fixed: FixedDays) -> str:
    marked = _fixed_marks(fixed, day.day)
    if day.day > last:
        return f"{day_text(day.day)}: {'; '.join([*marked, 'not yet'])}"
    sentences = [
        f"{each.kind.value} {fitted(each.sport, NAME_LIMIT)}, "
        f"{each.length_ms / 60_000:.0f} min, {session_load(each).words(0, 'AU')}"
        for each in day.trainings
    ]
    sentences += [mark.value for mark in day.marks]
    if day.is_blank:
        sentences = [
            "blank, counts as rest" if day.is_blank_as_rest else "blank, not known"
        ]
    if len(day.trainings) > 1:
        sentences.append(f"day {day_load(day).words(0, 'AU')}")
    return f"{day_text(day.day)}: {'; '.join([*marked, *sentences])}"


def balance_chart(bouts: Sequence[Bout], width: int, glyphs: Glyphs = BLOCKS) -> Chart:
    """Work by region, with left and right beside each other where there are sides."""
    sheet = ChartPaper(width, glyphs)
    sheet.add("Work by region", Role.TITLE)
    lines = _balance(bouts)
    left = 18
    room = max(1, width - left - 16)
    most_ms = max((line.ms for line in lines), default=0)
    row_ranges = []
    for line in lines:
        at = sheet.height
        bar = flat_bar(line.ms / most_ms if most_ms else 0, room, glyphs)
        label = f"  {line.side}" if line.side else line.region
        sheet.put(at, 0, fitted(label, left - 2), Role.TEXT)
        sheet.put(at, left, bar, Role.OPEN if line.side else Role.BAR)
        sheet.put(at, left + len(bar) + bool(bar), line.figure, Role.TEXT)
        row_ranges.append(Spot(at, 0, min(width, left - 1)))
    if lines:
        sheet.legend(
            ["seconds of work in all visits", "left and right where there are"]
        )
    return sheet.chart([line.sentence() for line in lines], row_ranges)


@dataclass(frozen=True, slots=True)
class _BalanceLine:
    region: str
    side: str
    ms: int
    kg_s: float
    share: float | None = None

    @property
    def figure(self) -> str:
        share = "" if self.share is None else f", {100 * self.share:.0f} %"
        return f"{self.ms / 1000:.0f} s{share}"

    def sentence(self) -> str:
        place = f"{self.region}, {self.side}" if self.side else self.region
        weighed = f"; {self.kg_s:.0f} kg s" if self.kg_s else ""
        return f"{place}: {self.figure}{weighed}"


def _balance(bouts: Sequence[Bout]) -> list[_BalanceLine]:
    work, sides = work_by(bouts, "region"), sides_by(bouts, "region")
    total_ms = sum(each.work_ms for each in work.values())
    if not total_ms:
        return []
    lines = []
    for region in dict.fromkeys([*REGIONS, *sorted(work)]):
        own = work.get(region, Work())
        share = own.work_ms / total_ms
        lines.append(_BalanceLine(region, "", own.work_ms, own.volume_kg_s, share))
        if side := sides.get(region):
            lines += [
                _BalanceLine(region, "left", side.left_ms, side.left_kg_s),
                _BalanceLine(region, "right", side.right_ms, side.right_kg_s),
            ]
    return lines
