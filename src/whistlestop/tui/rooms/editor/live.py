"""The remarks on a circuit while it is edited: totals, balance, what to think about.

Pure: a circuit and what is known in, facts out. It reads no file, knows no screen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from whistlestop.domain.circuit.advice import AdviceContext, AdviceNote, advise
from whistlestop.domain.circuit.circuit import Circuit, Drill, Station
from whistlestop.domain.circuit.edit import settled, with_station
from whistlestop.domain.kit.load_along import percent_more
from whistlestop.domain.kit.substitutions import drills_found, problems_found
from whistlestop.domain.load import Load
from whistlestop.domain.plan.plan import Plan
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.tempo import Tempo, parse_tempo
from whistlestop.errors import RefusedError
from whistlestop.library import CAUTIONS, REGIONS
from whistlestop.tui.rooms.frame.words import MONTHS, deed_text
from whistlestop.tui.rooms.library.known import KnownLibrary, station_for

OTHER: Final = "other"
# They stand on the sheet, with what to do; here they would hide the rest.
_ON_THE_SHEET: Final = frozenset({"cautions"})


@dataclass(frozen=True, slots=True)
class Remark:
    """One thing to think about: a sentence, and the rule it goes by, if any.

    `stations` are the numbers it is about. Without a rule it is about kit or limits;
    with one `note` has its source.
    """

    sentence: str
    rule: str = ""
    stations: tuple[int, ...] = ()
    note: AdviceNote | None = None


@dataclass(frozen=True, slots=True)
class LiveFacts:
    """Every remark on a circuit as it stands; `plan` None while it is empty."""

    circuit: Circuit
    plan: Plan | None
    balance: Mapping[str, int]
    remarks: tuple[Remark, ...] = ()

    @property
    def blocked(self) -> frozenset[int]:
        """Stations that kit or limits stand against."""
        kit = (remark for remark in self.remarks if not remark.rule)
        return frozenset(number for remark in kit for number in remark.stations)


def live(
    circuit: Circuit, known: KnownLibrary | None, silenced: frozenset[str] = frozenset()
) -> LiveFacts:
    """Gather what there is to say. Without `known` only what the circuit says itself.

    Args:
        circuit: One that can be laid out, or one still without stations.
        known: Library, kit and limits.
        silenced: Rules of advice that are not wanted.
    """
    if not circuit.stations:
        return LiveFacts(circuit, None, {})
    plan = compile_plan(circuit)
    if known is None:
        return LiveFacts(circuit, plan, {})
    titles = {code: caution.title for code, caution in CAUTIONS.items()}
    notes = advise(
        settled(circuit),
        known.stations,
        silenced=silenced | _ON_THE_SHEET,
        context=AdviceContext(caution_titles=titles),
    )
    remarks = (
        *_blocked(circuit, known),
        *(Remark(note.sentence, note.rule, note.stations, note) for note in notes),
    )
    return LiveFacts(circuit, plan, balance(circuit, known), remarks)


def balance(circuit: Circuit, known: KnownLibrary) -> Mapping[str, int]:
    """Count stations by region; those the library does not know are other."""
    counts = dict.fromkeys(REGIONS, 0)
    for station in circuit.stations:
        own = known.stations.get(station.exercise)
        region = own.region if own else OTHER
        counts[region] = counts.get(region, 0) + 1
    return counts


def _blocked(circuit: Circuit, known: KnownLibrary) -> tuple[Remark, ...]:
    found = []
    for problem in problems_found(circuit, known.means):
        number = problem.station
        name = circuit.stations[number - 1].name
        if problem.missing:
            what = ", ".join(problem.missing)
            text = f"Station {number}, {name}: not in your kit: {what}."
            found.append(Remark(text, stations=(number,)))
        load = circuit.stations[number - 1].load
        if problem.too_heavy is not None and load is not None:
            more = percent_more(load, problem.too_heavy)
            text = f"Station {number}, {name}: the lightest you own is "
            text += f"{problem.too_heavy}, {more} % more than {load}."
            found.append(Remark(text, stations=(number,)))
        for met in problem.collisions:
            day = f"{met.limit.until.day} {MONTHS[met.limit.until.month - 1]}"
            what = deed_text(met.limit, known.stations)
            text = f"Station {number}, {name}: you {what} until {day}."
            found.append(Remark(text, stations=(number,)))
    for drill in drills_found(circuit, known.means):
        for limit in drill.limits:
            day = f"{limit.until.day} {MONTHS[limit.until.month - 1]}"
            text = f"Drill after {drill.station}, {drill.drill.name}: you "
            text += f"{deed_text(limit, known.stations)} until {day}."
            found.append(Remark(text, stations=(drill.station,)))
    return tuple(found)


# --- What is put in ----------------------------------------------------------------


def fresh_station(
    known: KnownLibrary, exercise: str, before: Station | None = None
) -> Station | None:
    """Make a station of the library, with the load of the one before where it fits.

    None where the library does not know the exercise.
    """
    own = known.stations.get(exercise)
    if own is None:
        return None
    fresh = station_for(own)
    wanted = before.load if before else None
    kind = known.cards[exercise].load_kind
    if wanted is None or kind == "none" or bool(wanted.band) != (kind == "band"):
        return fresh
    count = 2 if "two weights" in own.kit else 1
    if not wanted.band and wanted.count != count:
        wanted = Load(
            f"{count} x {wanted.mass} {wanted.unit}" if count > 1 else
            f"{wanted.mass} {wanted.unit}",
            count, wanted.mass, wanted.unit,
        )  # fmt: skip
    return Station(
        exercise=fresh.exercise,
        name=fresh.name,
        call_name=fresh.call_name,
        load=wanted,
        parts=fresh.parts,
        tempo=fresh.tempo,
        kit=fresh.kit,
        cautions=fresh.cautions,
    )


def usual_tempo(known: KnownLibrary | None, station: Station) -> Tempo | None:
    """The tempo of a station in the library, if it knows one."""
    own = known.stations.get(station.exercise) if known else None
    return parse_tempo(own.tempo) if own and own.tempo else None


def named_as_usual(
    known: KnownLibrary | None, circuit: Circuit, number: int
) -> Circuit:
    """Give a station the name it has in the library.

    Raises:
        RefusedError: The library does not know it.
    """
    station = circuit.stations[number - 1]
    own = known.stations.get(station.exercise) if known else None
    if own is None:
        raise RefusedError("not in the library")
    named = replace(station, name=own.name, call_name=own.call_name)
    return with_station(circuit, number, named)


def drill_for(known: KnownLibrary, drill: str) -> Drill | None:
    """The drill of an id, with its name in the library."""
    info = known.drills.get(drill)
    return Drill(info.id, info.name) if info else None
