"""What a station sheet says, on the screen and on paper: one gathering of facts.

Kit, loads, what is missing, cautions and advice, each in words. It refuses to know
files, the screen and how a page is laid out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from whistlestop.domain.circuit.advice import AdviceContext, AdviceNote, advise
from whistlestop.domain.circuit.circuit import Circuit, Drill, TimedItem
from whistlestop.domain.circuit.warm_up import built_warm_up
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.kit.floor_list import FloorList, floor_list
from whistlestop.domain.kit.load_along import percent_more
from whistlestop.domain.kit.means import Means
from whistlestop.domain.kit.owned_loads import LoadLine
from whistlestop.domain.kit.substitutions import (
    Exchange,
    StationProblem,
    drill_instead,
    drills_found,
    exchanges,
    problems_found,
)
from whistlestop.domain.limits import (
    Limit,
    Review,
    deed,
    reviews,
    site_text,
    spared_codes,
    the_site,
)
from whistlestop.domain.person import NOBODY, Person
from whistlestop.domain.plan.plan import Plan, SegmentKind
from whistlestop.library import exercises
from whistlestop.library.cautions import CAUTIONS, Caution
from whistlestop.library.kit_words import PLACES
from whistlestop.library.take_care import drill_cautions, station_cautions
from whistlestop.library.things import thing_notes


@dataclass(frozen=True, slots=True)
class CautionOnSheet:
    """A caution, with the stations and the drills after stations that it is for.

    `caution` has the words that fit all of these; other words of it stand apart.
    """

    caution: Caution
    stations: tuple[int, ...] = ()
    drills: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class BlockedStation:
    """A station that kit or limits stand against, and the best thing to do instead.

    `limits` are those that stand against it. Where the drill after the station is
    meant, `name` is the drill's and `drill` is the one to do instead.
    """

    station: int
    name: str
    why: str
    instead: Exchange | None
    limits: tuple[Limit, ...] = ()
    is_drill: bool = False
    drill: Drill | None = None

    @property
    def number_and_name(self) -> str:
        """The station as it is spoken of."""
        after = "drill after " if self.is_drill else ""
        return f"{after}{self.station} {self.name}"

    @property
    def swap(self) -> str:
        """What to do instead, in words; nothing where nothing suits."""
        if self.drill is not None:
            return self.drill.name
        return exchange_text(self.instead) if self.instead is not None else ""


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
    things: tuple[str, ...]
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
    person: Person = NOBODY,
) -> SheetFacts:
    """Gather what a sheet says.

    Args:
        circuit: The circuit as it is done today, before `today` takes stations out.
        plan: Its plan; stations left out today are not in it.
        means: Kit, limits and the library.
        loads: How loads were resolved, as `outfit.with_owned_loads` says it.
        silenced: Ids of advice that is not wanted.
        person: Body mass and level of training, where they were given.
    """
    here = {card.number for card in plan.stations}
    known = means.exercises
    skills = {key: drill.kit for key, drill in means.skills.items()}
    return SheetFacts(
        circuit=circuit,
        plan=plan,
        floor=floor_list(plan, skills, frozenset(PLACES), means.kit, known),
        loads=tuple(line for line in loads if line.station in here),
        blocked=tuple(one for one in blocked(circuit, means) if one.station in here),
        cautions=applied(plan),
        advice=advice_of(circuit, silenced, here, known),
        reviews=reviews(means.limits, means.on),
        things=thing_notes(plan, person),
        warm_up=circuit.warm_up
        or built_warm_up(patterns(circuit, known), spared(means)),
    )


def advice_of(
    circuit: Circuit,
    silenced: frozenset[str],
    here: Iterable[int] | None = None,
    known: Mapping[str, Exercise] | None = None,
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


def patterns(circuit: Circuit, known: Mapping[str, Exercise]) -> tuple[str, ...]:
    """The pattern of each station that the library knows, in floor order."""
    ids = (station.exercise for station in circuit.stations)
    return tuple(known[key].pattern for key in ids if key in known)


def spared(means: Means) -> frozenset[str]:
    """Codes of cautions that are left out on the day, or go easy by their site."""
    return spared_codes(means.in_force)


def blocked(circuit: Circuit, means: Means) -> tuple[BlockedStation, ...]:
    """Every station, and every drill after one, that kit or limits stand against."""
    found = [_blocked(circuit, one, means) for one in problems_found(circuit, means)]
    for one in drills_found(circuit, means):
        why = "; ".join(limit_text(limit) for limit in one.limits)
        instead = drill_instead(circuit, one.station, means)
        found.append(
            BlockedStation(
                one.station,
                one.drill.name,
                why,
                None,
                one.limits,
                is_drill=True,
                drill=instead,
            )
        )
    return tuple(sorted(found, key=lambda one: one.station))


def _blocked(circuit: Circuit, problem: StationProblem, means: Means) -> BlockedStation:
    station = circuit.stations[problem.station - 1]
    sentences = [limit_text(one.limit) for one in problem.collisions]
    if station.parts and any(one.limit.side for one in problem.collisions):
        sentences.append("the side that rests supports the other")
    if problem.missing:
        sentences.append(f"not in your kit: {', '.join(problem.missing)}")
    if problem.too_heavy is not None and station.load is not None:
        more = percent_more(station.load, problem.too_heavy)
        lightest = f"{problem.too_heavy} is the lightest you own"
        sentences.append(f"{station.load} planned; {lightest}, {more} % more")
    best = exchanges(circuit, problem.station, means)
    return BlockedStation(
        problem.station,
        station.name,
        "; ".join(sentences),
        best[0] if best else None,
        tuple(one.limit for one in problem.collisions),
    )


def limit_text(limit: Limit) -> str:
    """Say what somebody leaves out or goes easy on, and until when."""
    if limit.who:
        return f"{site_text(limit)} until {limit.until.isoformat()}"
    named = limit.value.replace("-", " ")
    if limit.kind == "site":
        named = the_site(limit)
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


def applied(plan: Plan) -> tuple[CautionOnSheet, ...]:
    """Gather the cautions of a plan: of its stations in order, then of its drills.

    The same caution in other words is another entry, beside the first.
    """
    stations: dict[Caution, list[int]] = {}
    after: dict[Caution, list[int]] = {}
    for card in plan.stations:
        for one in station_cautions(card):
            stations.setdefault(one, []).append(card.number)
    for segment in plan.segments:
        number = segment.station
        if segment.kind is not SegmentKind.RECOVER or number is None:
            continue
        for one in drill_cautions(segment.drill):
            numbers = after.setdefault(one, [])
            if number not in numbers:
                numbers.append(number)
    found = dict.fromkeys([*stations, *after])
    codes = list(dict.fromkeys(one.code for one in found))
    return tuple(
        CautionOnSheet(
            one, tuple(stations.get(one, ())), tuple(sorted(after.get(one, ())))
        )
        for one in sorted(found, key=lambda one: codes.index(one.code))
    )
