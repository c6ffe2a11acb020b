"""The words of the limits room: what is left out, until when, and how to say both.

Pure: limits and a day in, rows out. It reads no clock and judges no health.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Final, cast

from whistlestop.domain.exercise import Exercise
from whistlestop.domain.limits import DEFAULT_REVIEW, Limit, LimitKind
from whistlestop.domain.sites import BODY_SITES, SITES, SITES_OF_CAUTION
from whistlestop.library import CAUTIONS, REGIONS, exercises
from whistlestop.tui.rooms.frame.filtering import FilterEntry
from whistlestop.tui.rooms.frame.words import MONTHS, counted, limit_text, plain_text
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Row,
    TextSpan,
    cut,
    fit,
    row,
    wrapped,
)
from whistlestop.tui.widgets.title_line import heading

EXAMPLE: Final = "10 days, 2 weeks, or 2026-05-31"
_SPAN: Final = re.compile(r"(\d{1,3})\s*(d|days?|w|weeks?|months?)", re.ASCII)
_DAYS: Final = {"d": 1, "w": 7, "m": 30}
_FARTHEST: Final = 3 * 366
_WORDS_CELLS: Final = 34
_GROUPS: Final = {
    "site": "A sore place",
    "caution": "Stations with a caution for",
    "region": "A whole region",
    "pattern": "A kind of movement",
    "movement": "One station",
}


def limit_entries(
    known: Mapping[str, Exercise] | None = None,
) -> tuple[FilterEntry[str], ...]:
    """Everything that can be left out, sore places first."""
    stations = exercises() if known is None else known
    found = [_entry("site", key, SITES[key].name, "") for key in BODY_SITES]
    found += [
        _entry("caution", code, caution.title, caution.live)
        for code, caution in CAUTIONS.items()
        if code not in SITES_OF_CAUTION
    ]
    for region in REGIONS:
        many = sum(one.region == region for one in stations.values())
        found.append(_entry("region", region, region, counted(many, "station")))
    patterns: dict[str, list[str]] = {}
    for one in stations.values():
        patterns.setdefault(one.pattern, []).append(one.name)
    for pattern, names in patterns.items():
        found.append(_entry("pattern", pattern, plain_text(pattern), ", ".join(names)))
    found += [
        replace(
            _entry(
                "movement", key, one.name, f"{one.region}, {plain_text(one.pattern)}"
            ),
            aliases=(key, one.call_name, *_aliases(key)),
        )
        for key, one in stations.items()
    ]
    return tuple(found)


def _entry(kind: LimitKind, value: str, name: str, more: str) -> FilterEntry[str]:
    # Somebody who types 'wrist' has a sore one, and does not mean wrist curls alone.
    is_sore_place = kind in {"site", "caution"}
    return FilterEntry(
        f"{kind}:{value}", name, "", _GROUPS[kind], more, leads=is_sore_place
    )


def _aliases(exercise: str) -> tuple[str, ...]:
    known = exercises().get(exercise)
    return known.aliases if known else ()


def limit_of(value: str, today: date) -> Limit:
    """The limit that an entry stands for, from today on."""
    kind, _, name = value.partition(":")
    return Limit(cast("LimitKind", kind), name, today, since=today)


def until_of(typed: str, today: date) -> date:
    """Read a last day: a date, or a time from today.

    Raises:
        ValueError: It is neither, in words; or it is past, or years away.
    """
    text = " ".join(typed.split()).casefold()
    try:
        until = date.fromisoformat(text)
    except ValueError:
        match = _SPAN.fullmatch(text)
        if match is None:
            raise ValueError(f"Type it as {EXAMPLE}.") from None
        until = today + timedelta(days=int(match[1]) * _DAYS[match[2][0]])
    if until < today:
        raise ValueError("That day is past.")
    if (until - today).days > _FARTHEST:
        raise ValueError("Three years at most; extend it later.")
    return until


def limit_rows(
    limits: Sequence[Limit],
    chosen: int,
    today: date,
    cells: int,
    known: Mapping[str, Exercise] | None = None,
) -> tuple[list[Row], list[tuple[int, int]]]:
    """List the limits as they are in the file; say where each stands."""
    if not limits:
        sentences = (
            "No limits. Press a to leave out a sore place, a region or a "
            "movement; affected stations are marked, with a swap."
        )
        return [row("  ", line) for line in wrapped(sentences, min(cells, 84) - 4)], []
    rows: list[Row] = []
    row_ranges: list[tuple[int, int]] = []
    over = [limit for limit in limits if limit.is_over(today)]
    if over:
        sentences = f"{counted(len(over), 'limit')} due for review"
        rows += [row("  ", *heading(sentences)), BLANK]
    for place, limit in enumerate(limits):
        first = len(rows)
        words = limit_text(limit, known)
        rows += _rows(limit, words, today, cells, chosen=place == chosen)
        row_ranges.append((first if place else 0, len(rows) - 1))
    return rows, row_ranges


def _rows(
    limit: Limit, words: str, today: date, cells: int, *, chosen: bool
) -> list[Row]:
    is_over = limit.is_over(today)
    mark = TextSpan("▌ " if chosen else "  ", "bold")
    own = min(_WORDS_CELLS, cells // 2)
    if cells >= 100:
        own = min(60, cells - 40)
    first = row(
        mark,
        TextSpan("? " if is_over else "● ", "bold" if is_over else "text"),
        TextSpan(
            fit(words[0].upper() + words[1:], own) + " ", "bold" if chosen else "text"
        ),
        TextSpan(cut(until_text(limit, today), cells - own - 5), "dim"),
    )
    rows = [first]
    if is_over:
        asked = limit.review or DEFAULT_REVIEW
        rows += [
            row("    ", TextSpan(line, "bold")) for line in wrapped(asked, cells - 6)
        ]
    if limit.note:
        rows += [
            row("    ", TextSpan(line, "dim"))
            for line in wrapped(limit.note, cells - 6)
        ]
    return rows


def until_text(limit: Limit, today: date) -> str:
    """Say until when, and how far away that is."""
    day = f"{limit.until.day} {MONTHS[limit.until.month - 1]} {limit.until.year}"
    away = (limit.until - today).days
    if away < 0:
        return f"until {day}, {counted(-away, 'day')} ago"
    if limit.since is not None and limit.since > today:
        begins = f"{limit.since.day} {MONTHS[limit.since.month - 1]}"
        return f"from {begins} until {day}"
    return f"until {day}, {counted(away, 'day')} to go" if away else "until tonight"
