"""`build`: a new circuit from what is asked for, with the reasons; saved if wished."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from whistlestop.cli.options import add_options, typed_over, value_of
from whistlestop.cli.output import remark, say, say_json
from whistlestop.domain.field import Whole
from whistlestop.domain.wishes import CIRCUIT, LISTS, ROOM, CircuitWishes
from whistlestop.driver.services import Services
from whistlestop.errors import StoreError, UsageError
from whistlestop.files import make_folder

if TYPE_CHECKING:
    from whistlestop.builder.explain import NoFit
    from whistlestop.builder.making import BuiltCircuit
    from whistlestop.domain.person import Person

_MOST_ANSWERS: Final = 5
_MOST_OF_A_KIND: Final = 3


def add_build(parser: argparse.ArgumentParser) -> None:
    """Add what may be typed after `build`. What is not typed is left to the wishes."""
    wanted = parser.add_argument_group("what you want")
    add_options(wanted, CircuitWishes, CIRCUIT)
    wanted.add_argument("--with", dest="companion", metavar="NAME", help=_WITH)
    wanted.add_argument("--wishes", metavar="NAME", help=_WISHES)
    wanted.add_argument("--keep-wishes", metavar="NAME", help=_KEEP_WISHES)
    add_options(parser.add_argument_group("the room"), CircuitWishes, ROOM)
    listed = parser.add_argument_group("stations by name, commas between")
    add_options(listed, CircuitWishes, LISTS)
    add_options(parser, CircuitWishes, "")
    parser.add_argument(
        "--answers",
        type=value_of(Whole(1, _MOST_ANSWERS)),
        default=1,
        metavar="N",
        help=_MANY,
    )
    parser.add_argument(
        "--prove", nargs="?", type=value_of(Whole(1, 3600)), const=_PROVE_S,
        metavar="SECONDS", help=_PROVE,
    )  # fmt: skip
    parser.add_argument("--name", metavar="NAME", help="name of the circuit")
    parser.add_argument("--save", metavar="FILE", help=_SAVE)
    parser.add_argument("--json", action="store_true", help="as JSON")


_PROVE_S: Final = 60
_WITH: Final = "for two: what NAME leaves out stays out as well"
_WISHES: Final = "start from saved wishes"
_KEEP_WISHES: Final = "save these wishes as NAME"
_PROVE: Final = "ask an exact solver whether there is a better one (extra: proof)"
_MANY: Final = "several different circuits"
_SAVE: Final = "save to a file; a bare name goes to your circuits"


def build(arguments: argparse.Namespace) -> int:
    """Build a circuit; status 1 where none was found."""
    from whistlestop.builder.explain import NoFit, answer
    from whistlestop.builder.making import alternatives
    from whistlestop.builder.sentences import along_text, level_text
    from whistlestop.driver.building import asked, save_wishes, with_ids
    from whistlestop.store.settings.values import person_of

    if arguments.save and arguments.answers > 1:
        raise UsageError("only one circuit can be saved", "leave --answers out")
    services = Services(getattr(arguments, "home", None))
    wishes = with_ids(_wishes(services, arguments))
    along = arguments.companion or ""
    today = asked(services, wishes, along)
    request = today.request
    target = _target(services, arguments.save) if arguments.save else None
    for problem in today.problems_found:
        remark(problem)
    if arguments.keep_wishes:
        kept = save_wishes(services, arguments.keep_wishes, wishes)
        remark(f"wishes saved in {kept}")
    if request.kit is None:
        remark("your kit list is empty, so any station may be used (see `kit list`)")
    if text := level_text(request, "`--level` asks for more"):
        remark(text)
    if text := along_text(request, along, "name them with `--with NAME`"):
        remark(text)
    found = answer(request)
    if isinstance(found, NoFit):
        if arguments.json:
            say_json(_no_fit_json(found))
        else:
            say(*_no_fit_lines(found))
        return 1
    if arguments.prove is not None:
        found = _proved(found, arguments.prove)
    several = alternatives(found, arguments.answers)
    if arguments.name:
        several = tuple(_named(one, arguments.name) for one in several)
    _say_built(several, arguments, person_of(services.settings.training))
    if target is not None:
        _save(services, several[0], target)
    return 0


def _say_built(
    several: Sequence[BuiltCircuit], arguments: argparse.Namespace, person: Person
) -> None:
    from whistlestop.builder.sentences import things_to_mind

    if arguments.json:
        say_json(
            [
                {**_built_json(one), "things": list(things_to_mind(one, person))}
                for one in several
            ]
        )
    else:
        for one in several:
            mind = [f"mind: {note}" for note in things_to_mind(one, person)]
            say(*_lines(one), *mind)
    if len(several) < arguments.answers:
        remark(f"{len(several)} different circuits were found")


def _wishes(services: Services, arguments: argparse.Namespace) -> CircuitWishes:
    """What is typed, over the wishes of a name where one is given."""
    from whistlestop.driver.building import saved_wishes

    before = (
        saved_wishes(services, arguments.wishes)
        if arguments.wishes
        else CircuitWishes()
    )
    return typed_over(before, arguments)


def _proved(found: BuiltCircuit, seconds: int) -> BuiltCircuit:
    """Say whether it is the best, and take the better one where there is one."""
    from whistlestop.builder import proof

    text = proof.prove(found, seconds)
    remark(text.sentence)
    return text.built


# --- Saving ----------------------------------------------------------------------


def _target(services: Services, typed: str) -> Path:
    """Where to save: a bare name lies among the athlete's circuits."""
    path = Path(typed)
    if path.name == typed and not path.suffix:
        path = services.places.circuits / f"{typed}.toml"
    if path.is_symlink() or path.exists():
        raise StoreError("that file exists", "save it under another")
    return path


def _save(services: Services, one: BuiltCircuit, path: Path) -> None:
    from whistlestop.store.circuits.writer import id_for, save_circuit

    circuit = replace(one.circuit, id=id_for(path.stem))
    make_folder(path.parent)
    save_circuit(circuit, path, catalogue=services.library.catalogue())
    remark(f"{circuit.name}: saved as {path}")


def _named(one: BuiltCircuit, name: str) -> BuiltCircuit:
    return replace(one, circuit=replace(one.circuit, name=name))


# --- What is shown -----------------------------------------------------------------


def _lines(one: BuiltCircuit) -> list[str]:
    from whistlestop.builder.sentences import (
        drill_text,
        lengths_text,
        notes,
        station_things,
    )

    circuit = one.circuit
    lines = [f"{circuit.name} (seed {one.request.seed})", lengths_text(circuit)]
    lines += notes(one)
    for number, station in enumerate(circuit.stations, 1):
        things = ", ".join(station_things(station))
        kit = f" ({things})" if things else ""
        lines.append(f"{number:>2} {station.name}{kit}")
        lines.append(f"   why: {one.reasons[number - 1]}")
        if drill := drill_text(circuit, number - 1):
            lines.append(f"   then: {drill}")
    return lines


def _no_fit_lines(found: NoFit) -> list[str]:
    lines = [found.sentence, *(f"  {fact}" for fact in found.facts)]
    if not found.offers:
        return [*lines, "Dropping one wish, or two, was not enough."]
    lines.append("What would do, each by itself:")
    details: dict[tuple[str, ...], int] = {}
    for offer in found.offers:
        details[offer.kinds] = details.get(offer.kinds, 0) + 1
        if details[offer.kinds] > _MOST_OF_A_KIND:
            continue
        names = ", ".join(station.name for station in offer.built.circuit.stations)
        mark = " (you asked to leave this out)" if offer.is_caution else ""
        lines.append(f"- {' and '.join(offer.words)}{mark}")
        lines.append(f"  gives: {names}")
    more = sum(max(0, count - _MOST_OF_A_KIND) for count in details.values())
    return [*lines, f"and {more} more like these (--json has all)"] if more else lines


def _built_json(one: BuiltCircuit) -> dict[str, Any]:
    from whistlestop.builder.sentences import notes

    circuit = one.circuit
    return {
        "name": circuit.name,
        "seed": one.request.seed,
        "points": one.points,
        "notes": list(notes(one)),
        "loops": circuit.loops,
        "work_ms": circuit.work_ms,
        "recover_ms": circuit.recover_ms,
        "loop_break_ms": circuit.loop_break_ms,
        "warm_up_ms": sum(item.duration_ms for item in circuit.warm_up),
        "cool_down_ms": sum(item.duration_ms for item in circuit.cool_down),
        "stations": [
            {
                "exercise": station.exercise,
                "kit": list(station.kit),
                "load": str(station.load) if station.load else None,
                "drill": station.drill.id if station.drill else None,
                "reason": reason,
            }
            for station, reason in zip(circuit.stations, one.reasons, strict=True)
        ],
    }


def _no_fit_json(found: NoFit) -> dict[str, Any]:
    return {
        "proved": found.proved,
        "sentence": found.sentence,
        "facts": list(found.facts),
        "offers": [
            {
                "give_up": list(offer.words),
                "is_caution": offer.is_caution,
                "circuit": _built_json(offer.built),
            }
            for offer in found.offers
        ],
    }
