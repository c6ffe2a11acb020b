"""Words that several rooms share: days, counts, shares. Pure; it reads no clock."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from whistlestop.domain.circuit.circuit import Circuit
    from whistlestop.domain.exercise import Exercise
    from whistlestop.domain.limits import Limit

SILENCE: Final = 'Silence a rule in config.toml: [advice] silenced = ["{rule}"]'
MONTHS: Final = [
    "Jan",
    "Feb",
    "Mar",
    "Apr",
    "May",
    "Jun",
    "Jul",
    "Aug",
    "Sep",
    "Oct",
    "Nov",
    "Dec",
]


def day_text(wall: str, today: date) -> str:
    """Say a day: today, yesterday, 12 Mar, or 12 Mar 2025; "" if it is no date."""
    try:
        day = datetime.fromisoformat(wall).date()
    except ValueError:
        return ""
    ago = (today - day).days
    if ago in {0, 1}:
        return ("today", "yesterday")[ago]
    text = f"{day.day} {MONTHS[day.month - 1]}"
    return text if day.year == today.year else f"{text} {day.year}"


def time_text(wall: str) -> str:
    """Say a time of day as 18:02; "" if it is none."""
    try:
        return datetime.fromisoformat(wall).strftime("%H:%M")
    except ValueError:
        return ""


def counted(count: int, one: str) -> str:
    """Say a count of things: 1 loop, 3 loops."""
    return f"{count} {one}" if count == 1 else f"{count} {one}s"


def shape_text(circuit: Circuit) -> str:
    """Say how large a circuit is: 10 stations, 3 times over."""
    return f"{counted(len(circuit.stations), 'station')} × {circuit.loops}"


def numbers_text(numbers: Sequence[int]) -> str:
    """Say station numbers, runs drawn together: 1, 4 to 6."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    sentences = []
    for run in runs:
        if len(run) < 3:
            sentences += [str(number) for number in run]
        else:
            sentences.append(f"{run[0]} to {run[-1]}")
    return ", ".join(sentences)


def percent_text(done_ms: int, plan_ms: int) -> str:
    """Say a share, rounded down, so that 100 % is only what was done in full."""
    return f"{100 * done_ms // plan_ms} %" if plan_ms > 0 else "-"


def seconds_text(values_ms: Sequence[int]) -> str:
    """Say seconds, or their range where they differ: 40, or 30 to 40."""
    if not values_ms:
        return "–"
    low, high = min(values_ms), max(values_ms)
    if low == high:
        return f"{low / 1000:g}"
    return f"{low / 1000:g}–{high / 1000:g}"


def plain_text(word: str) -> str:
    """A word of the library as people say it: horizontal-push, horizontal push."""
    return word.replace("-", " ")


def deed_text(limit: Limit, known: Mapping[str, Exercise] | None = None) -> str:
    """Say what is done about it: leave out push-ups, go easy on the left knee."""
    # Imported here, and below: the first picture shows no limits.
    from whistlestop.domain.limits import deed, the_site

    is_site = limit.kind == "site"
    named = the_site(limit) if is_site else limit_text(limit, known)
    return deed(limit, named)


def limit_text(limit: Limit, known: Mapping[str, Exercise] | None = None) -> str:
    """Say what is left out; `known` are the stations there are, else those shipped."""
    from whistlestop.domain.limits import site_text
    from whistlestop.library import CAUTIONS, exercises

    if limit.kind == "site":
        return site_text(limit)
    if limit.kind == "caution":
        title = CAUTIONS[limit.value].title if limit.value in CAUTIONS else limit.value
        return f"{title.lower()} (caution)"
    if limit.kind == "movement":
        found = (exercises() if known is None else known).get(limit.value)
        return found.name if found else plain_text(limit.value)
    whole = "whole-body stations" if limit.value == "whole" else limit.value
    return whole if limit.kind == "region" else plain_text(limit.value)
