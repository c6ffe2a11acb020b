"""What the athlete leaves out or goes easy on for a while, what collides, and swaps.

A limit is a wish with an end date, never a finding: nothing here judges health.
Facts of exercises come in from outside; today's date is handed in.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Final, Literal

from whistlestop.dataclass import dataclass
from whistlestop.domain.demands import (
    MOST,
    WEIGHT_ADDS,
    Strength,
    added_by,
    asks,
    station_asks,
)
from whistlestop.domain.exercise import DrillInfo, Exercise
from whistlestop.domain.field import Choice
from whistlestop.domain.sites import SITES, SITES_OF_CAUTION

if TYPE_CHECKING:
    from whistlestop.domain.circuit.circuit import Station
    from whistlestop.domain.kit.kit import Kit

LimitKind = Literal["site", "region", "pattern", "movement", "caution"]
LIMIT_KINDS: Final[tuple[LimitKind, ...]] = (
    "site", "region", "pattern", "movement", "caution",
)  # fmt: skip
# Stations for the whole body train every region, and so meet a limit on any.
WHOLE: Final = "whole"
STRENGTH: Final = Choice[Strength]({"easy": "go easy", "out": "left out"})
SIDE: Final = Choice[str]({"left": "left", "right": "right"})
DEFAULT_REVIEW: Final = "Leave it out for longer, or lift the limit?"


@dataclass(frozen=True, slots=True)
class Limit:
    """One thing to leave out or to go easy on, up to and including `until`.

    `value` is a site, a region, a pattern, an exercise id (movement) or a caution
    code, by `kind`. `strength` and `side` (left, right or "" for both) say more of a
    site: at `easy` it may be asked for something, at `out` for nothing. `note` is
    private; `review` is what to ask once the time is over. `who` is the name of a
    companion whose limit it is, "" for the owner's.
    """

    kind: LimitKind
    value: str
    until: date
    since: date | None = None
    review: str = ""
    note: str = ""
    strength: Strength = "out"
    side: str = ""
    who: str = ""

    def holds(self, on: date) -> bool:
        """Say whether it holds on a date; its last day counts."""
        return (self.since is None or self.since <= on) and on <= self.until

    def is_over(self, on: date) -> bool:
        """Say whether its last day has passed, so that a review is due."""
        return on > self.until

    def meets(
        self, exercise: str, facts: Exercise | None, *, extra: Iterable[str] = ()
    ) -> bool:
        """Say whether it stands against an exercise; facts None is an unknown one.

        Args:
            exercise: Its id.
            facts: What the library knows of it.
            extra: Features that come on top of its own, as `demands.added_by` has
                them of the kit it is done with.

        A side lets nothing in: an arm that rests supports the one that works. A
        station of the athlete's own of which nobody has said what the body does there
        meets every limit on a site: nobody knows that it spares it.
        """
        if self.kind == "movement":
            return exercise == self.value
        if facts is None:
            return False
        match self.kind:
            case "site":
                asked = station_asks(facts, self.value, extra=extra)
                return asked > MOST[self.strength]
            case "caution":
                return self.value in facts.cautions
            case "region":
                return facts.region in {self.value, WHOLE}
            case _:
                return facts.pattern == self.value

    def is_asked(
        self, exercise: str, facts: Exercise | None, *, extra: Iterable[str] = ()
    ) -> bool:
        """Say whether an exercise asks anything of it: then nothing there goes up."""
        if self.kind != "site" or facts is None:
            return self.meets(exercise, facts, extra=extra)
        return station_asks(facts, self.value, extra=extra) > 0

    def meets_drill(
        self, drill: str, facts: DrillInfo, level: int | None = None
    ) -> bool:
        """Say whether it stands against a drill at a level; None is the hardest."""
        match self.kind:
            case "site":
                extra = facts.added_at(level)
                return asks(facts, self.value, extra=extra) > MOST[self.strength]
            case "movement":
                return drill == self.value
            case "region":
                return self.value in facts.loads or WHOLE in facts.loads
            case "caution":
                return self.value in facts.cautions or (
                    facts.kind == "balance"
                    if self.value == "Bal"
                    else facts.eyes_closed and self.value == "EC"
                )
            case _:
                return False


@dataclass(frozen=True, slots=True)
class Collision:
    """A station that a limit is about. `is_over`: it has ended, and asks."""

    station: int
    limit: Limit
    is_over: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class Review:
    """A limit whose time is over, with what to ask about it."""

    limit: Limit
    sentence: str


@dataclass(frozen=True, slots=True)
class SwapChoice:
    """An exercise to take instead, with the reasons in order of their weight."""

    exercise: str
    name: str
    differences: int
    reasons: tuple[str, ...]


def in_force(limits: Iterable[Limit], on: date) -> tuple[Limit, ...]:
    """The limits that hold on a date."""
    return tuple(limit for limit in limits if limit.holds(on))


def reviews(limits: Iterable[Limit], on: date) -> tuple[Review, ...]:
    """The limits whose time is over on a date, the longest over first."""
    over = sorted((x for x in limits if x.is_over(on)), key=lambda x: x.until)
    return tuple(
        Review(
            limit,
            f"You {deed(limit, _named(limit), over=True)} until "
            f"{limit.until.isoformat()}. "
            f"{limit.review or DEFAULT_REVIEW}",
        )
        for limit in over
    )


def collisions(
    stations: Sequence[Station],
    facts: Mapping[str, Exercise],
    limits: Sequence[Limit],
    on: date,
) -> tuple[Collision, ...]:
    """List which stations a limit is about on a date, in floor order.

    A limit that is over does not forbid anything; it stands here as well, so that
    it is asked about where it matters. One that is still to come does not.
    A station's own cautions count beside those of its exercise.
    """
    found = []
    for number, station in enumerate(stations, 1):
        extra = added_at(station)
        for limit in limits:
            own = limit.kind == "caution" and limit.value in station.cautions
            known = facts.get(station.exercise)
            met = own or limit.meets(station.exercise, known, extra=extra)
            if not met or not (limit.holds(on) or limit.is_over(on)):
                continue
            is_over = limit.is_over(on)
            what = deed(limit, _named(limit), over=is_over)
            text = f"Station {number}, {station.name}: you {what} until "
            text += f"{limit.until.isoformat()}."
            if is_over:
                text += f" {limit.review or DEFAULT_REVIEW}"
            found.append(Collision(number, limit, is_over, text))
    return tuple(found)


def added_at(station: Station) -> tuple[str, ...]:
    """Features that come on top at a station by what it is done with today."""
    is_loaded = station.load is not None and bool(station.load.each_kg)
    if is_loaded and "backpack" not in station.kit:
        return WEIGHT_ADDS
    return added_by(station.kit)


def swaps(
    station: Station,
    candidates: Mapping[str, Exercise],
    kit: Kit | None,
    limits: Sequence[Limit],
) -> tuple[SwapChoice, ...]:
    """Rank what could stand in for a station, the most alike first.

    The same pattern comes first, then the same family of patterns, then the same
    region; among those, kit that is at the station already, then the fewest
    differences, then the name. Left out are the exercise itself, what a limit is
    about, what needs kit that is not owned, and what has nothing in common.

    Args:
        station: The station to replace.
        candidates: Facts by exercise id; those of the station's own exercise too,
            else nothing can be compared and the answer is empty.
        kit: What is owned; None where nobody has listed it.
        limits: The limits in force (`in_force`).
    """
    own = candidates.get(station.exercise)
    if own is None:
        return ()
    ranked = []
    for exercise, facts in candidates.items():
        extra = added_by(facts.kit)
        barred = any(limit.meets(exercise, facts, extra=extra) for limit in limits)
        if exercise == station.exercise or barred:
            continue
        if kit is not None and kit.missing(facts.kit):
            continue
        key, swap = _compared(station, own, exercise, facts)
        if swap.reasons and any(not differs for differs in key[:3]):
            ranked.append((key, swap.differences, swap.name, exercise, swap))
    return tuple(entry[-1] for entry in sorted(ranked, key=lambda entry: entry[:-1]))


def _compared(
    station: Station, own: Exercise, exercise: str, facts: Exercise
) -> tuple[tuple[bool, bool, bool, bool], SwapChoice]:
    """What differs of pattern, family, region, kit in hand; and the swap in words."""
    pattern = facts.pattern == own.pattern
    family = _family(facts.pattern) == _family(own.pattern)
    region = facts.region == own.region
    in_hand = set(facts.kit) <= set(station.kit)
    alike = {
        "position": facts.position == own.position,
        "sides": facts.sides == own.sides,
    }
    reasons = []
    if pattern:
        reasons.append(f"same pattern, {facts.pattern}")
    elif family:
        reasons.append(f"same family, {_family(facts.pattern)}")
    if region:
        reasons.append(f"same region, {facts.region}")
    if in_hand:
        reasons.append("no other kit" if facts.kit else "no kit")
    else:
        other = [thing for thing in facts.kit if thing not in station.kit]
        reasons.append(f"kit to get: {', '.join(other)}")
    differs = [what for what, same in alike.items() if not same]
    if differs:
        reasons.append(f"other {' and '.join(differs)}")
    count = [pattern, region, in_hand, *alike.values()].count(False)
    key = (not pattern, not family, not region, not in_hand)
    return key, SwapChoice(exercise, facts.name, count, tuple(reasons))


def _family(pattern: str) -> str:
    """What patterns of one kind have in common: `hinge` of `hinge-power`.

    `horizontal-push` and `vertical-push` are both a push. `anti-rotation` is no
    rotation: what holds the trunk still against a pull is a family of its own.
    """
    if pattern.startswith("anti-"):
        return "anti"
    if pattern.startswith(("horizontal-", "vertical-")):
        return pattern.split("-", 1)[1]
    return pattern.split("-", 1)[0]


def spared_codes(limits: Iterable[Limit]) -> frozenset[str]:
    """Codes of cautions that limits are about, those that are about a limited site."""
    codes: set[str] = set()
    for limit in limits:
        if limit.kind == "caution":
            codes.add(limit.value)
        if limit.kind == "site":
            codes |= {
                code for code, sites in SITES_OF_CAUTION.items() if limit.value in sites
            }
    return frozenset(codes)


def site_name(limit: Limit) -> str:
    """The site of a limit with its side: left knee; with whose it is: Robin, left knee.

    Raises:
        KeyError: The limit is about something else.
    """
    name = f"{limit.side} {SITES[limit.value].name}".strip()
    return f"{limit.who}, {name}" if limit.who else name


def the_site(limit: Limit) -> str:
    """The site of a limit within a sentence: the left knee, Robin's left knee.

    Raises:
        KeyError: The limit is about something else.
    """
    own = site_name(replace(limit, who=""))
    return f"{limit.who}'s {own}" if limit.who else f"the {own}"


def site_text(limit: Limit) -> str:
    """A limit on a site as it stands in a list: left knee: go easy."""
    is_easy = limit.strength == "easy"
    return f"{site_name(limit)}: {'go easy' if is_easy else 'left out'}"


def deed(limit: Limit, named: str, *, over: bool = False) -> str:
    """Say what somebody does about it: leave out hinges, go easy on the left knee."""
    if limit.strength == "easy":
        return f"{'went' if over else 'go'} easy on {named}"
    return f"{'left' if over else 'leave'} out {named}"


def _named(limit: Limit) -> str:
    match limit.kind:
        case "site":
            return the_site(limit)
        case "movement":
            return limit.value.replace("-", " ")
        case "caution":
            return f"stations with the caution {limit.value}"
        case _:
            return f"{limit.kind} {limit.value}"
