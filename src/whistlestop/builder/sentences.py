"""Sentences about a built circuit that screens and lines share.

Pure. Refuses to know how it was found.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from whistlestop.builder.facts import catalogue, hidden_by
from whistlestop.builder.making import BuiltCircuit
from whistlestop.builder.request import Request
from whistlestop.builder.yielding import sentences as yielded_texts
from whistlestop.domain.circuit.circuit import Circuit, Station
from whistlestop.domain.duration import clock, exact
from whistlestop.domain.person import NOBODY, Person
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.library.first_loads import Level
from whistlestop.library.things import jump_notes, kit_notes

_WHOSE: Final[Mapping[Level, str]] = {
    "new": "somebody new",
    "regular": "somebody who trains already",
    "strong": "somebody strong",
}


def lengths_text(circuit: Circuit) -> str:
    """The whole time, and what it is made of."""
    plan = compile_plan(circuit)
    warm_up, cool_down = (
        sum(item.duration_ms for item in items)
        for items in (circuit.warm_up, circuit.cool_down)
    )
    parts = [f"warm-up {clock(warm_up)}"] if warm_up else []
    loops = f"{circuit.loops} loops" if circuit.loops > 1 else "one loop"
    parts.append(
        f"{loops} of {len(circuit.stations)} x {exact(circuit.work_ms)} work, "
        f"{exact(circuit.recover_ms)} recovery"
    )
    if circuit.loop_break_ms:
        parts.append(f"break {clock(circuit.loop_break_ms)}")
    if cool_down:
        parts.append(f"cool-down {clock(cool_down)}")
    return f"{clock(plan.total_ms)} in all: {'; '.join(parts)}"


def level_text(request: Request, how: str) -> str:
    """For somebody new, what is chosen and how to ask for more; else nothing."""
    if request.level != "new":
        return ""
    return (
        "For somebody new: stations and drills of the first weeks, longer "
        f"recoveries, no jumps; {how}."
    )


def along_text(request: Request, along: str, how: str) -> str:
    """For two where nobody is named, whose sore sites are not known; else nothing."""
    if request.athletes < 2 or along:
        return ""
    return f"For two: the other person's sore sites are not looked at; {how}."


def notes(one: BuiltCircuit) -> tuple[str, ...]:
    """What is to be known of a circuit before its stations: what a sore site took.

    And how often feet land, against what is common at the level it was built for.
    """
    person = Person(level=one.request.level)
    jumps = jump_notes(compile_plan(one.circuit), person)
    return (*yielded_texts(one.request), *_load_notes(one), *jumps)


def things_to_mind(one: BuiltCircuit, person: Person = NOBODY) -> tuple[str, ...]:
    """What to mind with the things of a circuit, for the end of its page."""
    return tuple(kit_notes(compile_plan(one.circuit), person))


def _load_notes(one: BuiltCircuit) -> Iterator[str]:
    """Who takes which load where two share, and why few stations carry one."""
    request, stations = one.request, one.circuit.stations
    if request.kit is None:
        return
    if request.athletes > 1:
        yield "Loads are left to the two of you: each takes what suits."
        return
    loaded = sum(station.load is not None for station in stations)
    if 2 * loaded >= len(stations):
        return
    heavy = sum(
        hidden_by(request, exercise, card) == ("load",)
        for exercise, card in catalogue()
    )
    if heavy:
        yield (
            f"{loaded} of {len(stations)} stations carry a load. {heavy} more were "
            "left out: the lightest you own for them is more than "
            f"{_WHOSE[request.level]} begins with."
        )


def station_things(station: Station) -> tuple[str, ...]:
    """What a station is done with, the load first where it has one."""
    return (*((str(station.load),) if station.load else ()), *station.kit)


def drill_text(circuit: Circuit, place: int) -> str:
    """The drill after a station, counted from 0; nothing where no recovery follows."""
    drill = circuit.stations[place].drill
    is_last = place == len(circuit.stations) - 1
    stays = circuit.has_last_recover or not is_last
    return drill.name if drill and stays else ""
