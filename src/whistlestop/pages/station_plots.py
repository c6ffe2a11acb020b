"""Plots of sessions and stations: effort by loop, load, work, regions, discomfort.

Owns where things stand on paper. The words are those of `review.charts`; refuses to
sum, and to judge a side or a region.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Final

from whistlestop.pages.marks import INK, ORANGE, RULE, WIDTH, Drawing, MarkFill, cut
from whistlestop.pages.material import DiscomfortOnDay
from whistlestop.pages.plots import Frame, days_below, roof
from whistlestop.review.charts import (
    REGIONS,
    SessionEfforts,
    balance_chart,
    efforts_chart,
    station_chart,
)
from whistlestop.review.days import MONTHS, DaySpan, day_text
from whistlestop.review.stations import Bout, Work, sides_by, work_by, work_of

MOST_SESSIONS: Final = 48
MOST_SITES: Final = 8
_LABEL_CELLS: Final = 46.0
_KG_TOP, _KG_FLOOR = 42.0, 108.0
_S_TOP, _S_FLOOR = 138.0, 204.0


def efforts_plot(sessions: Sequence[SessionEfforts]) -> str:
    """Effort of each loop from 0 to 10, one upright a session, the last 48 of them."""
    kept = list(sessions[-MOST_SESSIONS:])
    sentences = efforts_chart(kept, 120).sentences
    paper = Drawing("efforts", 234, "Effort by loop", "; ".join(sentences))
    frame = Frame(14, 178, 10)
    for point in range(0, 11, 2):
        y = frame.y(point)
        paper.line((frame.left, y), (frame.right, y), ink=RULE if point else INK)
        paper.text((frame.left - 6, y + 4), str(point), anchor="end", tone="dim")
    for index, session in enumerate(kept):
        x = frame.x(index, len(kept))
        places: dict[float, list[str]] = {}
        for loop in session.loops:
            if loop.effort is not None:
                places.setdefault(loop.effort, []).append(str(loop.loop))
        if places:
            high, low = frame.y(max(places)), frame.y(min(places))
            paper.line((x, high), (x, low), ink=RULE)
        else:
            paper.text((x, frame.floor - 4), "–", anchor="middle", tone="dim")
        for effort, loops in places.items():
            words = " ".join(loops) if len(loops) < 4 else f"{loops[0]}…{loops[-1]}"
            at = (x, frame.y(effort) + 4)
            paper.text(at, words, anchor="middle", size=10, tone="bold", rim=True)
    days_below(paper, frame, [session.day for session in kept], _LABEL_CELLS)
    legend = "1 2 3: the loops   – no loop rated"
    if len(sessions) > len(kept):
        legend += f"   the last {len(kept)} of {len(sessions)} sessions"
    paper.text((frame.left, 228), legend, tone="dim")
    return paper.written()


def station_plot(bouts: Sequence[Bout], number: int) -> str:
    """Heaviest load and work seconds of one station by session, the last 48 of them.

    `number` tells this drawing from others of its kind on the same page.
    """
    kept = _by_session(bouts)[-MOST_SESSIONS:]
    sentences = station_chart(bouts, 10 + 7 * max(1, len(kept))).sentences
    name = bouts[-1].name if bouts else "Station"
    kilograms = [max((b.load_kg or 0.0 for b in each), default=0.0) for each in kept]
    seconds = [work_of(each).work_ms / 1000 for each in kept]
    # Without any load in kg the seconds stand alone, where the load would.
    up = 0.0 if any(kilograms) else _S_TOP - _KG_TOP
    paper = Drawing(f"station-{number}", 240 - up, name, "; ".join(sentences))
    paper.text((0, 14), cut(name, WIDTH - 20, 13), size=13, tone="bold")
    if not up:
        texts = [_load_text(each) for each in kept]
        frame = Frame(_KG_TOP, _KG_FLOOR, roof(kilograms))
        _bars(paper, frame, "kg", [*zip(kilograms, texts, sentences, strict=True)])
    frame = Frame(_S_TOP - up, _S_FLOOR - up, roof(seconds))
    texts = [f"{value:.4g}" for value in seconds]
    _bars(paper, frame, "s", [*zip(seconds, texts, sentences, strict=True)])
    days_below(paper, frame, [each[0].day for each in kept], _LABEL_CELLS)
    return paper.written()


def _bars(
    paper: Drawing, frame: Frame, unit: str, bars: Sequence[tuple[float, str, str]]
) -> None:
    """Upright bars: the value, what stands above it, and what it tells."""
    frame.rules(paper, unit, least=2)
    pitch = frame.pitch(len(bars))
    wide = min(34.0, pitch * 0.7)
    for index, (value, words, details) in enumerate(bars):
        x, y = frame.x(index, len(bars)), frame.y(value)
        if value:
            paper.bar(
                (x - wide / 2, y), (wide, frame.floor - y), MarkFill.FULL, title=details
            )
        if pitch >= 26:
            paper.text((x, y - 3), words, anchor="middle", size=10, rim=True)


def _load_text(bouts: Sequence[Bout]) -> str:
    known = [bout.load_kg for bout in bouts if bout.load_kg is not None]
    if known:
        return f"{max(known):.4g}"
    return "band" if any(bout.load_text for bout in bouts) else "none"


def _by_session(bouts: Sequence[Bout]) -> list[list[Bout]]:
    groups: dict[tuple[date, str], list[Bout]] = {}
    for bout in sorted(bouts, key=lambda bout: (bout.day, bout.session_id, bout.loop)):
        groups.setdefault((bout.day, bout.session_id), []).append(bout)
    return list(groups.values())


def balance_plot(bouts: Sequence[Bout]) -> str:
    """Work by region as lying bars, with left and right beside each other."""
    work, sides = work_by(bouts, "region"), sides_by(bouts, "region")
    sentences = balance_chart(bouts, 120).sentences
    lines: list[tuple[str, int, MarkFill]] = []
    for region in dict.fromkeys([*REGIONS, *sorted(work)]):
        lines.append((region, work.get(region, Work()).work_ms, MarkFill.FULL))
        if side := sides.get(region):
            lines.append(("left", side.left_ms, MarkFill.BLANK))
            lines.append(("right", side.right_ms, MarkFill.BLANK))
    most = max((ms for _, ms, _ in lines), default=0)
    paper = Drawing(
        "balance", 12 + 20 * len(lines), "Work by region", "; ".join(sentences)
    )
    left = 128.0
    for index, (name, ms, look) in enumerate(lines):
        y = 16.0 + 20 * index
        main = look is MarkFill.FULL
        paper.text(
            (left - 8, y + 4),
            cut(name, 116),
            anchor="end",
            tone="plain" if main else "dim",
        )
        wide = ms / most * (WIDTH - left - 230) if most else 0.0
        tall = 13.0 if main else 9.0
        if ms:
            paper.bar((left, y - tall / 2), (wide, tall), look)
        words = sentences[index].partition(": ")[2] if sentences else ""
        paper.text((left + wide + 8, y + 4), words, tone="plain" if main else "dim")
    return paper.written()


def felt_plot(
    felt: Sequence[DiscomfortOnDay], span: DaySpan, most: int = MOST_SITES
) -> str:
    """Discomfort over the period: a row for each site, its level written in its mark.

    The rows are the `most` entered most often; the text says how many more.
    """
    rows: dict[tuple[str, str], list[DiscomfortOnDay]] = {}
    for each in felt:
        rows.setdefault((each.site, each.side), []).append(each)
    ranked = sorted(rows.items(), key=lambda row: (-len(row[1]), row[0]))
    kept = ranked[:most]
    text = "; ".join(
        f"{day_text(e.day)}: {e.site}, {e.side}, {e.level} of 10" for e in felt
    )
    foot = 30 + 24 * len(kept)
    paper = Drawing("felt", foot + 22, "Discomfort, 0 to 10", text)
    left, right = 150.0, WIDTH - 16.0
    days = len(span)

    def across(day: date) -> float:
        return left + ((day - span.first).days + 0.5) / days * (right - left)

    for index, ((site, side), entries) in enumerate(kept):
        y = 16.0 + 24 * index
        paper.text((left - 10, y + 4), cut(f"{site}, {side}", 138), anchor="end")
        paper.line((left, y), (right, y))
        worst: dict[date, int] = {}
        for each in entries:
            worst[each.day] = max(each.level, worst.get(each.day, 0))
        for day, level in sorted(worst.items()):
            x = across(day)
            details = f"{day_text(day)}: {site}, {side}, {level} of 10"
            paper.bar(
                (x - 7.5, y - 8), (15, 16), MarkFill.FULL, title=details, ink=ORANGE
            )
            paper.text((x, y + 4), str(level), anchor="middle", size=10, tone="bold")
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        day = span.first.fromordinal(span.first.toordinal() + round(share * (days - 1)))
        words = f"{day.day} {MONTHS[day.month - 1]}"
        paper.text((across(day), foot - 8), words, anchor="middle", tone="dim")
    hidden = len(ranked) - len(kept)
    more = f"; {hidden} sites entered less often are left out" if hidden else ""
    words = f"each mark is the highest level entered that day, 0 to 10{more}"
    paper.text((left, foot + 10), words, tone="dim")
    return paper.written()
