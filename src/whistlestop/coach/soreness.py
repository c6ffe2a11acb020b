"""What is sore: what eases next time, what is offered, and what holds a step back.

Owns the reading of noted discomforts, site by site, and putting a proposal's stations
right for them. It judges no complaint; a physiotherapist's word goes before all of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Final

from whistlestop.coach.changes import CircuitChange, applied
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory, SessionFacts
from whistlestop.coach.lighter import stand_in
from whistlestop.coach.verdicts import (
    Direction,
    Fact,
    Proposal,
    Reason,
    made_of,
    propose,
)
from whistlestop.dataclass import dataclass
from whistlestop.domain.demands import MOST, WEIGHT_ADDS, Strength, station_asks
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.limits import Limit
from whistlestop.domain.sites import SITES
from whistlestop.domain.text import sentence_case

# Levels of 0 to 10. The pain-monitoring model (Thomee 1997; Silbernagel et al. 2007;
# from memory) allows up to 5 during and right after, subsided by the next morning and
# not rising; this is more careful. The levels here are common practice, no source.
EASES: Final = 4
LEAVES_OUT: Final = 6
LEAVES_OUT_UNASKED: Final = 8
LIMIT_DAYS: Final = 14
_LOOKED_AT: Final = 5
_OFTEN: Final = 3
_CLEAN_AFTER_4: Final = 2
_CLEAN_AFTER_6: Final = 3
NOT_MEDICAL: Final = "A physiotherapist's word goes before this."


@dataclass(frozen=True, slots=True)
class Soreness:
    """One site with something noted.

    `side` is the one that was noted each time, "" for both or none. `strength` is
    what the next session does (None is nothing), `offers` whether a limit
    of 14 days is offered, `holds` whether nothing rises that asks something of it.
    """

    site: str
    level: int
    day: date
    strength: Strength | None
    offers: bool
    holds: bool
    why: str
    side: str = ""

    @property
    def name(self) -> str:
        """The site as people say it."""
        return SITES[self.site].name

    @property
    def sided(self) -> str:
        """The site with the side that was noted: right knee."""
        return f"{self.side} {self.name}".strip()


def sore_sites(history: CircuitHistory, context: CoachContext) -> tuple[Soreness, ...]:
    """Every site with a discomfort that still counts, the sorest first."""
    felt = {site for facts in history.sessions for site in facts.felt if site in SITES}
    found = [_judged(site, history.sessions, context) for site in sorted(felt)]
    return tuple(
        sorted((one for one in found if one), key=lambda one: (-one.level, one.site))
    )


def _judged(
    site: str, sessions: Sequence[SessionFacts], context: CoachContext
) -> Soreness | None:
    own = [
        facts
        for facts in sessions
        if facts.day <= context.today
        and (facts.asked.get(site) or facts.felt.get(site))
    ]
    levels = [facts.felt.get(site, 0) for facts in own]
    worse = [_is_worse(facts, site, context) for facts in own]
    last, level = own[-1], levels[-1]
    rises = level > 0 and _rises(levels)
    strength: Strength | None = None
    if level >= EASES or worse[-1] or rises:
        strength = "out" if level >= LEAVES_OUT_UNASKED else "easy"
    often = sum(x >= EASES for x in levels[-_LOOKED_AT:]) >= _OFTEN
    offers = level >= LEAVES_OUT or rises or (often and level > 0)
    holds = offers or any(levels[-2:]) or _waits(own, levels, worse, site, context)
    if not (strength or holds):
        return None
    noted = next(facts for facts in reversed(own) if facts.felt.get(site))
    is_worse = worse[own.index(noted)]
    why = _why(SITES[site].name, noted.felt[site], noted.day, worse=is_worse)
    noted_sides = {facts.sides.get(site, "") for facts in own if facts.felt.get(site)}
    side = noted_sides.pop() if len(noted_sides) == 1 else ""
    return Soreness(site, level, last.day, strength, offers, holds, why, side)


def _is_worse(facts: SessionFacts, site: str, context: CoachContext) -> bool:
    about = [m.felt for m in context.mornings if (m.of, m.site) == (facts.id, site)]
    return about[-1:] == ["worse"]


def _rises(levels: Sequence[int]) -> bool:
    """Whether it rises from session to session, to a level that counts or twice."""
    twice = len(levels) >= 3 and 0 < levels[-3] < levels[-2] < levels[-1]
    return twice or (
        len(levels) >= 2 and 0 < levels[-2] < levels[-1] and levels[-1] >= EASES
    )


def _waits(
    own: Sequence[SessionFacts],
    levels: Sequence[int],
    worse: Sequence[bool],
    site: str,
    context: CoachContext,
) -> bool:
    """Whether clean sessions are still to come since it was last sore.

    A session is clean for a site only if it asked as much of it as this circuit does.
    """
    sore = [n for n, level in enumerate(levels) if level >= EASES or worse[n]]
    if not sore:
        return False
    asked = max(1, context.asked.get(site, 0))
    after = zip(own[sore[-1] + 1 :], levels[sore[-1] + 1 :], strict=True)
    clean = sum(x == 0 and facts.asked.get(site, 0) >= asked for facts, x in after)
    highest = max(levels[n] for n in sore if own[n].day >= own[sore[-1]].day)
    if highest < LEAVES_OUT:
        return clean < _CLEAN_AFTER_4
    days = (context.today - own[sore[-1]].day).days
    return clean < _CLEAN_AFTER_6 or days < LIMIT_DAYS


def _why(name: str, level: int, day: date, *, worse: bool) -> str:
    text = f"{sentence_case(name)}: {level} of 10 on {day:%A %d %b}"
    return f"{text}, worse the next morning" if worse else text


def held_by(history: CircuitHistory, context: CoachContext) -> str:
    """Why nothing may rise that asks something of a sore or limited site; else ""."""
    asked = context.asked
    for site, strength in context.limited.items():
        if asked.get(site):
            how = "goes easy" if strength == "easy" else "is left out"
            return (
                f"Your {SITES[site].name} {how}: nothing rises that asks it for more."
            )
    for one in sore_sites(history, context):
        if one.holds and asked.get(one.site):
            return f"{one.why}: nothing rises that asks something of it yet."
    return ""


def barred_sites(history: CircuitHistory, context: CoachContext) -> frozenset[str]:
    """Sites of which a harder form may ask nothing."""
    sore = {one.site for one in sore_sites(history, context) if one.holds}
    return frozenset(sore) | frozenset(context.limited)


# --- What the next session does about it ----------------------------------------------


def spared(
    proposal: Proposal, history: CircuitHistory, context: CoachContext
) -> Proposal:
    """A proposal with what is sore changed in it, by name; the same where nothing is.

    A rest stays a rest. Where more than half of the stations would have to go, it is
    another circuit's turn.
    """
    if proposal.direction is Direction.REST or proposal.change.revert:
        return proposal
    sore = [s for s in sore_sites(history, context) if context.asked.get(s.site)]
    sites = _strengths(sore, context)
    change, names = _with_stand_ins(proposal.change, sites, context)
    if 2 * len(names) > len(context.circuit.stations):
        return _another_circuit(sore, context)
    offers = tuple(_offer(one, context) for one in sore if _is_offered(one, context))
    if not (names or offers):
        return proposal
    return _made(proposal, change, names, sore, offers, context)


def _strengths(sore: Sequence[Soreness], context: CoachContext) -> dict[str, Strength]:
    """What is spared next time: what is sore, and what is limited anyway."""
    sites: dict[str, Strength] = dict(context.limited)
    for one in sore:
        if one.strength and sites.get(one.site) != "out":
            sites[one.site] = one.strength
    return sites


def _with_stand_ins(
    change: CircuitChange, sites: Mapping[str, Strength], context: CoachContext
) -> tuple[CircuitChange, list[tuple[str, str]]]:
    """Exchange what asks too much; the stations with what stands in, by name."""
    after = applied(context.circuit, change, context.library)
    in_use = {station.exercise for station in after.stations}
    taken, loads = dict(change.swaps), dict(change.loads)
    bare, names = list(change.bare), []
    for place, station in enumerate(after.stations, 1):
        facts = context.library.get(station.exercise)
        if facts is None or not _asks_too_much(facts, sites, loaded=bool(station.load)):
            continue
        instead = stand_in(replace(context, circuit=after), place, sites, in_use)
        if instead is None:
            names.append((station.name, ""))
            continue
        in_use.add(instead.exercise)
        taken[place] = instead.exercise
        loads.pop(place, None)
        bare = [n for n in bare if n != place]
        if instead.load:
            loads[place] = instead.load
        else:
            bare.append(place)
        names.append((station.name, context.library[instead.exercise].name))
    made = replace(
        change,
        swap=None if change.swap and change.swap[0] in taken else change.swap,
        swaps=tuple(sorted(taken.items())),
        loads=tuple(sorted(loads.items())),
        bare=tuple(sorted(bare)),
    )
    return (made, names) if names else (change, [])


def _asks_too_much(
    facts: Exercise, sites: Mapping[str, Strength], *, loaded: bool
) -> bool:
    extra = WEIGHT_ADDS if loaded and "held" not in facts.features else ()
    return any(
        station_asks(facts, site, extra=extra) > MOST[strength]
        for site, strength in sites.items()
    )


def _another_circuit(sore: Sequence[Soreness], context: CoachContext) -> Proposal:
    first = sore[0].why if sore else "More than half of it asks what is limited"
    why = (
        f"{first}.",
        f"More than half of the stations would have to go. {NOT_MEDICAL}",
    )
    reason = Reason("Not this circuit today", why)
    change = CircuitChange()
    return made_of(
        "sore", context, context.circuit, change, reason, Direction.REST, lasting=False
    )


def offered_limits(history: CircuitHistory, context: CoachContext) -> tuple[Limit, ...]:
    """The limits that are offered: the site left out for 14 days, with its side."""
    until = context.today + timedelta(days=LIMIT_DAYS)
    return tuple(
        Limit("site", one.site, until, since=context.today, side=one.side)
        for one in sore_sites(history, context)
        if context.asked.get(one.site) and _is_offered(one, context)
    )


def _is_offered(one: Soreness, context: CoachContext) -> bool:
    return one.offers and one.site not in context.limited


def _offer(one: Soreness, context: CoachContext) -> str:
    until = context.today + timedelta(days=LIMIT_DAYS)
    return (
        f"Leave the {one.sided} out until {until:%d %b}, and let a doctor or "
        "physiotherapist look at it"
    )


def _made(
    proposal: Proposal,
    change: CircuitChange,
    names: Sequence[tuple[str, str]],
    sore: Sequence[Soreness],
    offers: tuple[str, ...],
    context: CoachContext,
) -> Proposal:
    swapped = [f"{to} instead of {old}" for old, to in names if to]
    swapped += [f"skip {old}" for old, to in names if not to]
    done = "; ".join(swapped)
    facts = tuple(Fact("sore", one.why) for one in sore)
    facts += tuple(Fact("offered", offer) for offer in offers)
    if proposal.direction is Direction.SAME:
        about = f"{sore[0].why}." if sore else "A limit of yours holds."
        now = f"{done}, this time only" if done else "The same again, and no step"
        title = swapped[0] if swapped else "The same again, and no step"
        second = f"{offers[0]}." if offers else NOT_MEDICAL
        reason = Reason(sentence_case(title), (f"{about} {now}.", second), facts)
        way = Direction.DOWN if names else Direction.SAME
        return propose("sore", context, change, reason, direction=way, lasting=False)
    first, second = proposal.why
    second = f"{second} {sentence_case(done)}, this time only." if done else second
    reason = Reason(proposal.title, (first, second), (*proposal.facts, *facts))
    return propose(
        proposal.rule,
        context,
        change,
        reason,
        direction=proposal.direction,
        lasting=proposal.lasting and not done,
    )
