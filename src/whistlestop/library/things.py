"""What to mind with the things of a session: short sentences for sheet and plan.

Owns notes on balls, backpacks, bars, jumps, rope, swings and the room. Pure: a plan
and what is known of the person in, sentences out. Common practice throughout; what
rests on more says so here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import ROUND_HALF_UP, Decimal
from types import MappingProxyType
from typing import Final

from whistlestop.domain.duration import exact
from whistlestop.domain.exercise import DrillInfo, Exercise
from whistlestop.domain.load import parse_load
from whistlestop.domain.person import NOBODY, Person
from whistlestop.domain.plan.plan import Plan, SegmentKind, StationCard
from whistlestop.domain.wishes import Wished
from whistlestop.library import drills, exercises
from whistlestop.library.first_loads import Level

# Landings in one session, least and most: NSCA, from memory.
CONTACTS: Final[Mapping[Level, tuple[int, int]]] = MappingProxyType(
    {"new": (80, 100), "regular": (100, 120), "strong": (120, 140)}
)
_LEVEL_WORDS: Final[Mapping[Level, str]] = MappingProxyType(
    {
        "new": "when new",
        "regular": "after months of training",
        "strong": "when strong",
    }
)
# An own station that jumps says no pace; about one landing in three seconds.
_USUAL_CONTACTS: Final = 20
# What a loaded backpack begins with. Common practice, no source.
_BACKPACK_SHARE: Final = Decimal("0.1")
_JUMPS: Final = frozenset({"jump", "hop"})
_SWUNG: Final = frozenset({"throw", "throw-at-wall", "shake-arms"})
GARAGE: Final = (
    "In a garage: no engine or fuel heater running, the door ajar; in heat do less."
)
BALL: Final = (
    "Ball: look it over for cuts, and stay under its limit, counting the weights."
)
BAR: Final = "Alone under a bar: set the safeties, or press from the floor."
LANES: Final = (
    "Swings and throws: a lane for each person, with nobody in front or behind."
)
LATER: Final = "once the level before was held in two sessions"


def thing_notes(plan: Plan, person: Person = NOBODY) -> tuple[str, ...]:
    """Say what to mind with the things of a plan, the gravest first.

    Args:
        plan: The session as it is to be done.
        person: Body mass and level of training, where they were given.
    """
    return (*kit_notes(plan, person), *jump_notes(plan, person), GARAGE)


def kit_notes(plan: Plan, person: Person = NOBODY) -> Iterator[str]:
    """Say what to mind with bars, swings, balls and backpacks, the gravest first."""
    known = [(card, exercises().get(card.exercise)) for card in plan.stations]
    skills = _drills_of(plan)
    things = {thing for card, _ in known for thing in card.kit}
    things |= {thing for one in skills for thing in one.kit}
    if any(_is_under_bar(card) for card, _ in known):
        yield BAR
    if any(own and _is_swung(own) for _, own in known):
        yield LANES
    if "stability ball" in things:
        yield BALL
    for card, _ in known:
        if "backpack" in card.kit:
            yield backpack_note(card, person)


def _drills_of(plan: Plan) -> tuple[DrillInfo, ...]:
    found = dict.fromkeys(one.drill for one in plan.segments if one.drill)
    return tuple(drills()[key] for key in found if key in drills())


def _is_under_bar(card: StationCard) -> bool:
    return "bar" in card.kit and bool({"bench", "rack", "safeties"} & set(card.kit))


def _is_swung(own: Exercise) -> bool:
    return own.pattern == "hinge-power" or bool(_SWUNG & set(own.features))


def backpack_note(card: StationCard, person: Person) -> str:
    """What share of the body weight a backpack is; how to have it where not given."""
    head = f"Backpack at station {card.number}"
    if person.mass_kg is None:
        return (
            f"{head}: 10 % of your body weight to begin with; with [training] "
            "mass_kg in config.toml it stands here in kg."
        )
    first_kg = _BACKPACK_SHARE * person.mass_kg
    first = f"common practice is 10 % to begin with, {_kg(first_kg)} kg"
    own_kg = _mass_kg(card.load)
    if own_kg is None:
        return f"{head}: {first}."
    share = (100 * own_kg / person.mass_kg).quantize(Decimal(1), ROUND_HALF_UP)
    return f"{head}: {card.load} is {share} % of your body weight; {first}."


def _kg(mass: Decimal) -> str:
    return f"{mass.quantize(Decimal('0.1'), ROUND_HALF_UP).normalize():f}"


def _mass_kg(typed: str | None) -> Decimal | None:
    try:
        load = parse_load(typed or "")
    except ValueError:
        return None
    return load.total_kg


# --- Jumps and rope -------------------------------------------------------------


def contacts(plan: Plan) -> int:
    """Landings of a session: of both feet together, or of one; rope apart."""
    total = 0
    for one in plan.segments:
        if one.kind is SegmentKind.WORK:
            rate = _station_rate(exercises().get(one.exercise or ""))
        else:
            rate = _drill_rate(drills().get(one.drill or ""))
        total += rate * one.duration_ms
    return round(total / 60_000)


def _station_rate(own: Exercise | None) -> int:
    if own is None or not _JUMPS & set(own.features):
        return 0
    return own.contacts_per_minute or _USUAL_CONTACTS


def _drill_rate(own: DrillInfo | None) -> int:
    if own is None or own.kind == "rope" or not _JUMPS & set(own.features):
        return 0
    return own.metronome_per_minute or _USUAL_CONTACTS


def rope_ms(plan: Plan) -> int:
    """How long the rope turns in a session."""
    rope = {key for key, one in drills().items() if one.kind == "rope"}
    return sum(one.duration_ms for one in plan.segments if one.drill in rope)


def jump_notes(plan: Plan, person: Person = NOBODY) -> Iterator[str]:
    """Say how often feet land and the rope turns, and what is a step for later."""
    count, skills = contacts(plan), _drills_of(plan)
    if count:
        yield contacts_note(count, person.level)
    if turned := rope_ms(plan):
        # About 11 MET at 110 to 130 turns a minute, by the Compendium of Physical
        # Activities, from memory.
        yield f"Rope for {exact(turned)} in all: vigorous, so no rest in that time."
    later = [
        words
        for words, has in (
            ("closed eyes", _may_close_eyes(plan)),
            ("ball kneeling", any(one.id == "ball-kneel" for one in skills)),
            ("jumps", bool(count)),
        )
        if has
    ]
    if later:
        yield f"A step for later, {LATER}: {', '.join(later)}."


def _may_close_eyes(plan: Plan) -> bool:
    """Whether a drill has the eyes closed; one without a level may come to that."""
    return any(
        known.closes_eyes(known.level_named(one.drill_name or ""))
        for one in plan.segments
        if (known := drills().get(one.drill or "")) is not None
    )


def contacts_note(count: int, level: Wished) -> str:
    """Landings beside what is common in a session at a level, or at each."""
    head = f"Jumps: about {count} landings."
    if level == "auto":
        ranges = ", ".join(
            f"{low} to {high} {_LEVEL_WORDS[one]}"
            for one, (low, high) in CONTACTS.items()
        )
        return f"{head} Common practice: {ranges}."
    low, high = CONTACTS[level]
    if count > high:
        return f"{head} That is more than the {low} to {high} common at your level."
    return f"{head} Common at your level: {low} to {high}."
