"""What common practice would say about the order of a circuit: notes, never refusals.

Each note goes by the id of its rule, says its source, and can be silenced. Exercise of
exercises come in from outside; refuses to know the library, files and health.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final, Literal

from whistlestop.domain.circuit.circuit import Circuit, Station
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.kit.floor_list import ON_FLOOR, POSITION_MS, rest_clashes
from whistlestop.domain.plan.timeline import compile_plan


@dataclass(frozen=True, slots=True)
class AdviceRule:
    """A rule by its id: what it is about and where it comes from."""

    id: str
    title: str
    source: str


@dataclass(frozen=True, slots=True)
class AdviceNote:
    """One note: the rule it follows, the stations it is about (from 1), a sentence."""

    rule: str
    stations: tuple[int, ...]
    sentence: str
    source: str
    severity: Literal["note"] = "note"


@dataclass(frozen=True, slots=True)
class AdviceContext:
    """What is not in the circuit itself.

    `hours_to_key_session` counts whole hours to the next important session of the
    main sport; None where it is not known. `caution_titles` gives words for codes.
    """

    partners: int = 1
    hours_to_key_session: int | None = None
    caution_titles: Mapping[str, str] = field(default_factory=dict)


# An athlete reads a source only where it was read by us; none was for these rules.
# Three rest on more than practice: heaviest-first on ACSM 2009, Med Sci Sports Exerc
# 41(3):687-708, from memory; key-session on Robineau 2016, from memory; same-region on
# Klika and Jordan 2013, ACSM's Health Fit J 17(3):8-13, second hand.
_PRACTICE: Final = "common practice"

RULES: Final[Mapping[str, AdviceRule]] = MappingProxyType(
    {
        rule.id: rule
        for rule in (
            AdviceRule("same-region", "neighbours differ in region", _PRACTICE),
            AdviceRule("same-pattern", "a pattern rests for two stations", _PRACTICE),
            AdviceRule("heaviest-first", "the heaviest load comes early", _PRACTICE),
            AdviceRule("fast-early", "fast movements in the first half", _PRACTICE),
            AdviceRule("fast-after-trunk", "nothing fast after trunk work", _PRACTICE),
            AdviceRule("push-pull", "push to pull from 1:1 to 1:1.5", _PRACTICE),
            AdviceRule("hinge-squat", "hinge to squat about 1:1", _PRACTICE),
            AdviceRule("one-leg", "a one-leg station in each loop", _PRACTICE),
            AdviceRule(
                "anti-rotation", "a station against turning or leaning", _PRACTICE
            ),
            AdviceRule("grip", "grip rests between grip stations", _PRACTICE),
            AdviceRule("wrists", "no three stations on the hands in a row", _PRACTICE),
            AdviceRule(
                "positions", "few changes between floor and standing", _PRACTICE
            ),
            AdviceRule("plates", "time enough to change plates", _PRACTICE),
            AdviceRule(
                "partner-kit", "partners half a circuit apart share no kit", _PRACTICE
            ),
            AdviceRule(
                "key-session", "no legs-heavy circuit before a key day", _PRACTICE
            ),
            AdviceRule("features", "own stations say what the body does", _PRACTICE),
            AdviceRule(
                "cautions", "what to look out for", "the cautions of the stations"
            ),
        )
    }
)

_FAST: Final = ("jump", "hinge-power", "rotation-power", "flexion-power", "push-power")
_PUSH: Final = ("horizontal-push", "vertical-push", "push-power", "dip",
                "squat-and-push", "hinge-and-push")  # fmt: skip
_PULL: Final = ("horizontal-pull", "vertical-pull", "rear-shoulder")
_HINGE: Final = ("hinge", "hinge-power", "hinge-and-push", "bridge", "knee-flexion")
_SQUAT: Final = ("squat", "squat-hold", "squat-and-push", "lunge", "step")
_AGAINST: Final = ("anti-rotation", "anti-lateral")
_GRIP: Final = ("horizontal-pull", "vertical-pull", "carry", "grip", "hinge-power")
_SHARED_BY_ALL: Final = frozenset({"mat", "wall", "clear lane", "line", "floor marks"})


@dataclass(frozen=True, slots=True)
class _Spot:
    """A station whose exercise is known."""

    number: int
    station: Station
    facts: Exercise


@dataclass(frozen=True, slots=True)
class _AdviceInput:
    circuit: Circuit
    placed: tuple[_Spot, ...]
    facts: Mapping[str, Exercise]
    context: AdviceContext

    def counted(self, patterns: Sequence[str]) -> tuple[int, ...]:
        """Numbers of the stations with one of these patterns."""
        return tuple(s.number for s in self.placed if s.facts.pattern in patterns)

    def runs(self, length: int) -> Iterator[tuple[_Spot, ...]]:
        """Stations that follow each other, round the end where no break is.

        A station whose exercise is unknown breaks a run.
        """
        by_number = {spot.number: spot for spot in self.placed}
        count = len(self.circuit.stations)
        round_the_end = self.circuit.loops > 1 and not self.circuit.has_break
        for first in range(1, count + 1):
            numbers = [first + step for step in range(length)]
            if numbers[-1] > count and (not round_the_end or length > count):
                continue
            run = [by_number.get((number - 1) % count + 1) for number in numbers]
            if all(run):
                yield tuple(spot for spot in run if spot is not None)


_Check = Callable[[_AdviceInput], Iterator[tuple[tuple[int, ...], str]]]


def advise(
    circuit: Circuit,
    facts: Mapping[str, Exercise],
    *,
    silenced: frozenset[str] = frozenset(),
    context: AdviceContext | None = None,
) -> tuple[AdviceNote, ...]:
    """List what common practice would note about a circuit that compiles.

    Args:
        circuit: The circuit as it is written, before any change for one loop.
        facts: Exercise by exercise id; stations not named are passed over.
        silenced: Ids of `RULES` that are not wanted.
        context: What is not in the circuit.

    Returns:
        Notes in the order of `RULES`, and in floor order for each.
    """
    placed = tuple(
        _Spot(number, station, facts[station.exercise])
        for number, station in enumerate(circuit.stations, 1)
        if station.exercise in facts
    )
    asked = _AdviceInput(circuit, placed, facts, context or AdviceContext())
    notes = (
        AdviceNote(name, tuple(sorted(stations)), sentence, RULES[name].source)
        for name, check in _CHECKS.items()
        if name not in silenced
        for stations, sentence in check(asked)
    )
    # Round the end of a short loop the same stations meet twice.
    return tuple(dict.fromkeys(notes))


def source_lines(notes: Iterable[AdviceNote]) -> tuple[str, ...]:
    """Say what each rule of some notes goes by: rules of one source together."""
    rules: dict[str, dict[str, None]] = {}
    for note in notes:
        rules.setdefault(note.source, {})[note.rule] = None
    return tuple(f"{', '.join(found)}: {source}." for source, found in rules.items())


def _pair(*numbers: int) -> str:
    first, second = sorted(numbers)
    return f"Stations {first} and {second}"


def _listed(numbers: Sequence[int]) -> str:
    text = ", ".join(str(number) for number in numbers)
    return f"station {text}" if len(numbers) == 1 else f"stations {text}"


# --- Rules, in the order of RULES ------------------------------------------------


def _same_region(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    for one, two in asked.runs(2):
        same = one.facts.region == two.facts.region != "whole"
        if same and one.facts.pattern != two.facts.pattern and one != two:
            text = f"{_pair(one.number, two.number)} both work the {one.facts.region}."
            yield (one.number, two.number), text


def _same_pattern(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    seen: set[frozenset[int]] = set()
    for length in (2, 3):
        for run in asked.runs(length):
            one, two = run[0], run[-1]
            pair = frozenset({one.number, two.number})
            if one.facts.pattern != two.facts.pattern or one == two or pair in seen:
                continue
            seen.add(pair)
            near = "follow each other" if length == 2 else "are only one station apart"
            text = f"{_pair(one.number, two.number)}, both {one.facts.pattern}, {near}."
            yield (one.number, two.number), text


def _heaviest_first(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    loaded = [
        (kg, -number, number)
        for number, station in enumerate(asked.circuit.stations, 1)
        if station.load is not None and (kg := station.load.total_kg) is not None
    ]
    if len({kg for kg, _, _ in loaded}) < 2:
        return
    number = max(loaded)[2]
    if 2 * number > len(asked.circuit.stations) + 1:
        load = asked.circuit.stations[number - 1].load
        text = f"Station {number} has the heaviest load, {load}, and comes late."
        yield (number,), text


def _fast_early(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    count = len(asked.circuit.stations)
    for number in asked.counted(_FAST):
        if 2 * number > count + 1:
            yield (number,), f"Station {number} is fast and comes in the second half."


def _fast_after_trunk(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    for one, two in asked.runs(2):
        tired = one.facts.region == "core" and one.facts.pattern not in _FAST
        if tired and two.facts.pattern in _FAST:
            text = f"Station {two.number} is fast and follows trunk work."
            yield (one.number, two.number), text


def _push_pull(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    pushes, pulls = asked.counted(_PUSH), asked.counted(_PULL)
    most = max(1, -(-3 * len(pushes) // 2))
    if not len(pushes) <= len(pulls) <= most:
        text = f"Push to pull is {len(pushes)} to {len(pulls)}"
        yield tuple(sorted(pushes + pulls)), f"{text}; usual is 1:1 to 1:1.5."


def _hinge_squat(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    hinges, squats = asked.counted(_HINGE), asked.counted(_SQUAT)
    if abs(len(hinges) - len(squats)) > 1:
        text = f"Hinge to squat is {len(hinges)} to {len(squats)}; usual is about 1:1."
        yield tuple(sorted(hinges + squats)), text


def _one_leg(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    legs = [s for s in asked.placed if s.facts.region == "legs"]
    if legs and not any(s.facts.sides != "both" for s in legs):
        numbers = tuple(spot.number for spot in legs)
        yield numbers, "No station works one leg at a time."


def _anti_rotation(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    if asked.placed and not asked.counted(_AGAINST):
        yield (), "No station holds the trunk against turning or leaning."


def _needs_grip(spot: _Spot) -> bool:
    facts = spot.facts
    held = "Gr" in facts.cautions and facts.pattern not in _PUSH
    return facts.pattern in _GRIP or facts.position == "hanging" or held


def _grip(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    for one, two in asked.runs(2):
        if one != two and _needs_grip(one) and _needs_grip(two):
            text = f"{_pair(one.number, two.number)} both need a strong grip."
            yield (one.number, two.number), text


def _wrists(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    for run in asked.runs(3):
        if all("Wr" in spot.facts.cautions for spot in run):
            numbers = tuple(sorted(spot.number for spot in run))
            yield numbers, f"On the hands three times in a row: {_listed(numbers)}."


def _positions(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    moved = [
        (one.number, two.number)
        for one, two in asked.runs(2)
        if {one.facts.position in ON_FLOOR, two.facts.position in ON_FLOOR}
        == {True, False}
        and "standing" in {one.facts.position, two.facts.position}
    ]
    if len(moved) > max(2, len(asked.circuit.stations) // 2):
        low_s, high_s = (len(moved) * ms // 1000 for ms in POSITION_MS)
        text = f"{len(moved)} changes between floor and standing in a loop take"
        numbers = tuple(sorted({number for pair in moved for number in pair}))
        yield numbers, f"{text} {low_s} to {high_s} s; group them, and rise slowly."
    for clash in rest_clashes(compile_plan(asked.circuit), positions=asked.facts):
        if clash.kind == "position":
            yield clash.stations, clash.sentence


def _plates(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    for clash in rest_clashes(compile_plan(asked.circuit)):
        yield clash.stations, clash.sentence


def _partner_kit(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    stations = asked.circuit.stations
    apart = len(stations) // 2
    if asked.context.partners < 2 or apart < 1:
        return
    seen: set[frozenset[int]] = set()
    for number in range(1, len(stations) + 1):
        other = (number - 1 + apart) % len(stations) + 1
        one, two = stations[number - 1], stations[other - 1]
        shared = [k for k in one.kit if k in two.kit and k not in _SHARED_BY_ALL]
        pair = frozenset({number, other})
        if shared and pair not in seen:
            seen.add(pair)
            low, high = sorted(pair)
            text = f"{_pair(low, high)} run at once and both need: {', '.join(shared)}."
            yield (low, high), text


def _key_session(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    hours = asked.context.hours_to_key_session
    legs = tuple(s.number for s in asked.placed if s.facts.region in {"legs", "whole"})
    if hours is None or hours >= 24 or 2 * len(legs) < len(asked.placed) or not legs:
        return
    text = f"{len(legs)} of {len(asked.circuit.stations)} stations work the legs"
    yield legs, f"{text}, and your key session is within 24 h."


def _features(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    for spot in asked.placed:
        if not spot.facts.features:
            text = f"Station {spot.number}, {spot.station.name}, has no features = in "
            yield (spot.number,), f"{text}its file, so no sore site leaves it out."


def _cautions(asked: _AdviceInput) -> Iterator[tuple[tuple[int, ...], str]]:
    where: dict[str, list[int]] = {}
    for number, station in enumerate(asked.circuit.stations, 1):
        for code in station.cautions:
            where.setdefault(code, []).append(number)
    for code, numbers in where.items():
        title = asked.context.caution_titles.get(code, code)
        yield tuple(numbers), f"{title}: {_listed(numbers)}."


_CHECKS: Final[Mapping[str, _Check]] = MappingProxyType(
    {
        "same-region": _same_region,
        "same-pattern": _same_pattern,
        "heaviest-first": _heaviest_first,
        "fast-early": _fast_early,
        "fast-after-trunk": _fast_after_trunk,
        "push-pull": _push_pull,
        "hinge-squat": _hinge_squat,
        "one-leg": _one_leg,
        "anti-rotation": _anti_rotation,
        "grip": _grip,
        "wrists": _wrists,
        "positions": _positions,
        "plates": _plates,
        "partner-kit": _partner_kit,
        "key-session": _key_session,
        "features": _features,
        "cautions": _cautions,
    }
)
