"""The table of stations on the sheet: number, name, sides, load, tempo, times, drill.

Pure. Columns are as wide as what stands in them; name and drill share the rest.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final

from whistlestop.domain import columns
from whistlestop.domain.plan.plan import AT_STATION, Plan, SegmentKind
from whistlestop.tui.rooms.frame.words import seconds_text
from whistlestop.tui.rooms.sheet.today import Draft
from whistlestop.tui.widgets.safe_text import Row, TextSpan, fit, row

_NUMBER: Final = 5
_SIDES: Final = 12
_LOAD: Final = 12


@dataclass(frozen=True, slots=True)
class _StationText:
    """One station in words; `is_out` where it is left out today."""

    number: int
    name: str
    sides: str
    load: str
    tempo: str
    work: str
    recover: str
    drill: str
    is_out: bool
    mark: str = " "


@dataclass(frozen=True, slots=True)
class _Widths:
    name: int
    sides: int
    load: int
    tempo: int
    work: int
    recover: int
    drill: int


def station_rows(
    draft: Draft, chosen: int, cells: int, blocked: Collection[int] = ()
) -> list[Row]:
    """The heads of the columns, then one line a station; `chosen` counts from 1.

    A station that cannot be done has a `!` before its number, an exchanged one a `~`.
    """
    details = _station_texts(draft, blocked)
    widths = _widths(details, cells)
    return [
        _heads(widths),
        *(_line(one, widths, chosen=one.number == chosen) for one in details),
    ]


def _station_texts(draft: Draft, blocked: Collection[int]) -> list[_StationText]:
    out = draft.today.without_stations
    found = []
    for number, station in enumerate(draft.as_performed.stations, 1):
        work, recover = _times(draft.plan, number)
        is_other = number in draft.changes.exchanges
        found.append(
            _StationText(
                number,
                ("hold, then " if station.hold else "") + station.name,
                ", ".join(station.parts),
                _load(draft.plan, number),
                str(station.tempo or ""),
                work,
                recover,
                drill_text(draft, number),
                is_out=number in out,
                mark="!" if number in blocked else "~" if is_other else " ",
            )
        )
    return found


def drill_text(draft: Draft, number: int) -> str:
    """The drill after a station; "" where its recovery never comes."""
    kept = draft.as_performed.stations[number - 1].drill
    out = number in draft.today.without_stations
    comes = any(
        segment.station == number and segment.kind is SegmentKind.RECOVER
        for segment in draft.plan.segments
    )
    return kept.name if kept and (comes or out) else ""


def _load(plan: Plan, number: int) -> str:
    """One load as typed; of several the first, and how many more."""
    loads = dict.fromkeys(
        s.load for s in plan.segments if s.station == number and s.load
    )
    sentences = [load.removeprefix("band:").strip() for load in loads]
    if len(sentences) < 2:
        return "".join(sentences)
    return f"{sentences[0]} +{len(sentences) - 1}"


def _times(plan: Plan, number: int) -> tuple[str, str]:
    """Work and recovery in seconds, as ranges where loops differ."""
    work: dict[int, int] = {}
    recover: list[int] = []
    for segment in plan.segments:
        if segment.station != number:
            continue
        if segment.kind in AT_STATION and segment.loop:
            work[segment.loop] = work.get(segment.loop, 0) + segment.duration_ms
        elif segment.kind is SegmentKind.RECOVER:
            recover.append(segment.duration_ms)
    return seconds_text(list(work.values())), seconds_text(recover)


def _widths(texts: Sequence[_StationText], cells: int) -> _Widths:
    def widest(texts: Sequence[str], head: str, most: int) -> int:
        longest = columns.widest(texts)
        return min(max(longest, len(head)), most) + 1 if longest else 0

    kept = [one for one in texts if not one.is_out] or list(texts)
    sides = widest([one.sides for one in kept], "sides", _SIDES)
    load = widest([one.load for one in kept], "load", _LOAD)
    tempo = widest([one.tempo for one in kept], "tempo", 8)
    work = max(len(one.work) for one in kept)
    recover = max(len(one.recover) for one in kept)
    rest = cells - _NUMBER - sides - load - tempo - max(7, work + recover + 3) - 2
    drill = rest * 2 // 5 if any(one.drill for one in kept) else 0
    drill = min(drill, columns.widest(one.drill for one in texts))
    return _Widths(max(8, rest - drill), sides, load, tempo, work, recover, drill)


def _heads(widths: _Widths) -> Row:
    times = max(7, widths.work + widths.recover + 3)
    sentences = (
        " " * _NUMBER
        + fit("station", widths.name)
        + fit("sides", widths.sides)
        + fit("load", widths.load)
        + fit("tempo", widths.tempo)
        + fit("seconds", times, right=True)
        + "  "
        + fit("drill", widths.drill)
    )
    return row(TextSpan(sentences, "dim"))


def _line(one: _StationText, widths: _Widths, *, chosen: bool) -> Row:
    head = row(
        TextSpan("▌" if chosen else " ", "bold"),
        TextSpan(one.mark, "bold"),
        TextSpan(f"{one.number:>2} ", "bold" if chosen else "dim"),
    )
    if one.is_out:
        name = fit(one.name, widths.name - 1) + " "
        return (*head, TextSpan(name + "left out today", "dim"))
    slack = max(0, 7 - widths.work - widths.recover - 3)
    return (
        *head,
        TextSpan(fit(one.name, widths.name - 1) + " ", "bold" if chosen else "text"),
        TextSpan(_cell(one.sides, widths.sides)),
        TextSpan(_cell(one.load, widths.load)),
        TextSpan(_cell(one.tempo, widths.tempo)),
        TextSpan(" " * slack + fit(one.work, widths.work, right=True), "work"),
        TextSpan(" / ", "dim"),
        TextSpan(fit(one.recover, widths.recover, right=True), "recover"),
        TextSpan("  "),
        TextSpan(fit(one.drill, widths.drill), "dim"),
    )


def _cell(text: str, cells: int) -> str:
    return fit(text, cells - 1) + " " if cells else ""
