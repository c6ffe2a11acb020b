"""The cautions of exactly the stations and drills of a plan, in the sheet's form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from whistlestop.domain.plan import Kind, Plan
from whistlestop.library import drills
from whistlestop.library.cautions import CAUTIONS
from whistlestop.tui.rooms.words import numbers_words
from whistlestop.tui.widgets.safe_text import BLANK, Row, Span, row, wrapped
from whistlestop.tui.widgets.title_line import heading

EYES_CLOSED = "EC"


@dataclass(frozen=True, slots=True)
class Applied:
    """A caution, with the stations and the drills after stations that it is for."""

    code: str
    stations: tuple[int, ...] = ()
    drills: tuple[int, ...] = ()


def applied(plan: Plan) -> tuple[Applied, ...]:
    """Gather the cautions of a plan, in the order of its stations."""
    stations: dict[str, list[int]] = {}
    for card in plan.stations:
        for code in card.cautions:
            if code in CAUTIONS:
                stations.setdefault(code, []).append(card.number)
    closed = _eyes_closed_after(plan)
    if closed:
        stations.setdefault(EYES_CLOSED, [])
    return tuple(
        Applied(code, tuple(numbers), closed if code == EYES_CLOSED else ())
        for code, numbers in stations.items()
    )


def _eyes_closed_after(plan: Plan) -> tuple[int, ...]:
    """Stations followed by a drill that can be done with closed eyes."""
    known = drills()
    after = {
        segment.station
        for segment in plan.segments
        if segment.kind is Kind.RECOVER
        and segment.drill in known
        and known[segment.drill or ""].eyes_closed
    }
    return tuple(sorted(number for number in after if number))


def caution_rows(plan: Plan, cells: int) -> list[Row]:
    """Say each caution with its stations, wrapped to `cells`."""
    found = applied(plan)
    if not found:
        return []
    rows: list[Row] = [heading("Take care")]
    for one in found:
        caution = CAUTIONS[one.code]
        where = _where(one.stations, one.drills)
        rows.append(row(Span(caution.title, "bold"), Span(f"  {where}", "dim")))
        rows += [row(line) for line in wrapped(caution.sheet, cells)]
        rows.append(BLANK)
    return rows[:-1]


def _where(stations: Sequence[int], after: Sequence[int]) -> str:
    said = []
    if stations:
        said.append(numbers_words(stations))
    if after:
        said.append(f"drill after {numbers_words(after)}")
    return ", ".join(said)
