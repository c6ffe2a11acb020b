"""What a station sheet says, on the screen and on paper: one gathering of facts.

Kit, loads, what is missing, cautions and advice, each in words. It refuses to know
files, the screen and how a page is laid out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from whistlestop.domain.circuit.advice import AdviceContext, AdviceNote, advise
from whistlestop.domain.circuit.circuit import Circuit, TimedItem
from whistlestop.domain.circuit.warm_up import built_warm_up
from whistlestop.domain.kit.floor_list import FloorList, floor_list
from whistlestop.domain.kit.owned_loads import LoadLine
from whistlestop.domain.kit.substitutions import (
    DrillFacts,
    Exchange,
    ExerciseFacts,
    Means,
    StationProblem,
    exchanges,
    problems_found,
)
from whistlestop.domain.limits import Limit, Review, deed, reviews, site_name
from whistlestop.domain.plan.plan import Plan, SegmentKind
from whistlestop.library import drills, exercises
from whistlestop.library.cautions import CAUTIONS
from whistlestop.library.kit_words import PLACES

EYES_CLOSED = "EC"


@dataclass(frozen=True, slots=True)
class CautionOnSheet:
    """A caution, with the stations and the drills after stations that it is for."""

    code: str
    stations: tuple[int, ...] = ()
    drills: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class BlockedStation:
    """A station that kit or limits stand against, and the best thing to do instead."""

    station: int
    name: str
    why: str
    instead: Exchange | None

    @property
    def number_and_name(self) -> str:
        """The station as it is spoken of."""
        return f"{self.station} {self.name}"


@dataclass(frozen=True, slots=True)
class SheetFacts:
    """Everything a sheet says of a circuit as it is to be done."""

    circuit: Circuit
    plan: Plan
    floor: FloorList
    loads: tuple[LoadLine, ...]
    blocked: tuple[BlockedStation, ...]
    cautions: tuple[CautionOnSheet, ...]
    advice: tuple[AdviceNote, ...]
    reviews: tuple[Review, ...]
    warm_up: tuple[TimedItem, ...]

    @property
    def clashes(self) -> tuple[str, ...]:
        """Plate changes and kit that clash; changes of position are advice."""
        return tuple(
            clash.sentence for clash in self.floor.clashes if clash.kind != "position"
        )


def gather(
    circuit: Circuit,
    plan: Plan,
    means: Means,
    *,
    loads: tuple[LoadLine, ...] = (),
    silenced: frozenset[str] = frozenset(),
) -> SheetFacts:
    """Gather what a sheet says.

    Args:
        circuit: The circuit as it is done today, before `today` takes stations out.
        plan: Its plan; stations left out today are not in it.
        means: Kit, limits and the library.
        loads: How loads were resolved, as `outfit.with_owned_loads` says it.
        silenced: Ids of advice that is not wanted.
    """
    here = {card.number for card in plan.stations}
    known = means.exercises
    skills = {key: drill.kit for key, drill in means.skills.items()}
    return SheetFacts(
        circuit=circuit,
        plan=plan,
        floor=floor_list(plan, skills, frozenset(PLACES), means.kit, known),
        loads=tuple(line for line in loads if line.station in here),
        blocked=tuple(
            _blocked(circuit, one, means)
            for one in problems_found(circuit, means)
            if one.station in here
        ),
        cautions=applied(plan, means.skills),
        advice=advice_of(circuit, silenced, here, known),
        reviews=reviews(means.limits, means.on),
        warm_up=circuit.warm_up
        or built_warm_up(patterns(circuit, known), spared(means)),
    )


def advice_of(
    circuit: Circuit,
    silenced: frozenset[str],
    here: Iterable[int] | None = None,
    known: Mapping[str, ExerciseFacts] | None = None,
) -> tuple[AdviceNote, ...]:
    """Advice about a circuit; the cautions stand by themselves.

    `here` leaves out what is about a station that is not done today. `known` are the
    stations there are; by default those that ship.
    """
    titles = {code: caution.title for code, caution in CAUTIONS.items()}
    context = AdviceContext(caution_titles=titles)
    found = advise(
        circuit,
        exercises() if known is None else known,
        silenced=silenced | {"cautions"},
        context=context,
    )
    done = set(range(1, len(circuit.stations) + 1) if here is None else here)
    return tuple(one for one in found if done.issuperset(one.stations))


def patterns(circuit: Circuit, known: Mapping[str, ExerciseFacts]) -> tuple[str, ...]:
    """The pattern of each station that the library knows, in floor order."""
    ids = (station.exercise for station in circuit.stations)
    return tuple(known[key].pattern for key in ids if key in known)


def spared(means: Means) -> frozenset[str]:
    """Codes of cautions that are left out on the day."""
    return frozenset(x.value for x in means.in_force if x.kind == "caution")


def _blocked(circuit: Circuit, problem: StationProblem, means: Means) -> BlockedStation:
    station = circuit.stations[problem.station - 1]
    sentences = [limit_text(one.limit) for one in problem.collisions]
    if problem.missing:
        sentences.append(f"not in your kit: {', '.join(problem.missing)}")
    best = exchanges(circuit, problem.station, means)
    return BlockedStation(
        problem.station, station.name, "; ".join(sentences), best[0] if best else None
    )


def limit_text(limit: Limit) -> str:
    """Say what somebody leaves out or goes easy on, and until when."""
    named = limit.value.replace("-", " ")
    if limit.kind == "site":
        named = f"the {site_name(limit)}"
    elif limit.kind == "caution":
        known = CAUTIONS.get(limit.value)
        named = f"the caution {(known.title if known else limit.value).lower()}"
    elif limit.kind in {"region", "pattern"}:
        named = f"{limit.kind} {named}"
    return f"you {deed(limit, named)} until {limit.until.isoformat()}"


def exchange_text(exchange: Exchange) -> str:
    """Say what to do instead, and why that one."""
    return f"{exchange.name}: {', '.join(exchange.reasons)}"


# --- Cautions -------------------------------------------------------------------


def applied(
    plan: Plan, skills: Mapping[str, DrillFacts] | None = None
) -> tuple[CautionOnSheet, ...]:
    """Gather the cautions of a plan, in the order of its stations."""
    stations: dict[str, list[int]] = {}
    for card in plan.stations:
        for code in card.cautions:
            if code in CAUTIONS:
                stations.setdefault(code, []).append(card.number)
    closed = _eyes_closed_after(plan, drills() if skills is None else skills)
    if closed:
        stations.setdefault(EYES_CLOSED, [])
    return tuple(
        CautionOnSheet(code, tuple(numbers), closed if code == EYES_CLOSED else ())
        for code, numbers in stations.items()
    )


def _eyes_closed_after(plan: Plan, known: Mapping[str, DrillFacts]) -> tuple[int, ...]:
    """Stations followed by a drill that can be done with closed eyes."""
    after = {
        segment.station
        for segment in plan.segments
        if segment.kind is SegmentKind.RECOVER
        and segment.drill in known
        and known[segment.drill or ""].eyes_closed
    }
    return tuple(sorted(number for number in after if number))
