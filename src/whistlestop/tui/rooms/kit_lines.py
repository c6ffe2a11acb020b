"""What to lay out before a session, in floor order: things, loads, clear places.

Pure: a compiled plan in, lines out. What anybody owns is not known here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from whistlestop.domain.plan import Kind, Plan, StationCard
from whistlestop.library import drills
from whistlestop.library.kit_words import PLACES
from whistlestop.tui.rooms.words import counted, numbers_words
from whistlestop.tui.widgets.safe_text import Row, Span, fit, row, wrapped
from whistlestop.tui.widgets.title_line import heading

_CARRY: Final = (
    "two weights",
    "weight",
    "kettlebell",
    "bar",
    "dead ball",
    "medicine ball",
)
_BANDS: Final = ("band", "loop band")
_BAND: Final = "band:"


@dataclass(slots=True)
class Thing:
    """One thing to lay out, with its load, and the stations and drills it is for."""

    name: str
    load: str
    stations: list[int] = field(default_factory=list)
    drills: list[int] = field(default_factory=list)

    @property
    def is_place(self) -> bool:
        """Whether it is a place to keep clear rather than a thing to carry."""
        return self.name in PLACES


def lay_out(plan: Plan) -> tuple[Thing, ...]:
    """List what a plan needs in floor order, each thing and load once."""
    found: dict[tuple[str, str], Thing] = {}
    skills = _drills(plan)
    for card in plan.stations:
        for name, load in _needs(plan, card):
            thing = found.setdefault((name, load), Thing(name, load))
            thing.stations.append(card.number)
        info = drills().get(skills.get(card.number, ""))
        for name in info.kit if info else ():
            thing = found.setdefault((name, ""), Thing(name, ""))
            thing.drills.append(card.number)
    return tuple(found.values())


def _drills(plan: Plan) -> Mapping[int, str]:
    return {
        segment.station: segment.drill
        for segment in plan.segments
        if segment.kind is Kind.RECOVER and segment.station and segment.drill
    }


def _needs(plan: Plan, card: StationCard) -> Iterator[tuple[str, str]]:
    """Things of one station; a load goes with the thing that carries it."""
    loads = tuple(
        dict.fromkeys(
            segment.load
            for segment in plan.segments
            if segment.kind is Kind.WORK
            and segment.station == card.number
            and segment.load
        )
    )
    carriers = _BANDS if loads and loads[0].startswith(_BAND) else _CARRY
    carrier = next((name for name in carriers if name in card.kit), None)
    for name in card.kit:
        if name == carrier and loads:
            yield from ((name, load) for load in loads)
        else:
            yield name, ""
    if carrier is None:
        yield from (("weight", load) for load in loads if not load.startswith(_BAND))
        yield from (("band", load) for load in loads if load.startswith(_BAND))


def kit_rows(plan: Plan, cells: int) -> list[Row]:
    """Say what to lay out and what to keep clear, one thing a line."""
    things = lay_out(plan)
    carried = [thing for thing in things if not thing.is_place]
    places = [thing for thing in things if thing.is_place]
    if not carried:
        rows = [heading("No kit to lay out")]
    else:
        said = f"Lay out {counted(len(carried), 'thing')}, in floor order"
        rows = [heading(said)]
    name_cells = min(18, max((len(t.name) for t in carried), default=0) + 1)
    load_cells = min(14, max((len(_load(t)) for t in carried), default=0) + 1)
    left = cells - name_cells - load_cells
    for thing in carried:
        rows.append(
            row(
                fit(thing.name, name_cells),
                Span(fit(_load(thing), load_cells), "bold"),
                Span(fit(_where(thing), left), "dim"),
            )
        )
    if places:
        said = "Keep clear: " + ", ".join(thing.name for thing in places)
        rows += [row(Span(line, "dim")) for line in wrapped(said, cells)]
    return rows


def _load(thing: Thing) -> str:
    return thing.load.removeprefix(_BAND).strip()


def _where(thing: Thing) -> str:
    said = []
    if thing.stations:
        said.append(f"at {numbers_words(thing.stations)}")
    if thing.drills:
        said.append(f"drill after {numbers_words(thing.drills)}")
    return ", ".join(said)
