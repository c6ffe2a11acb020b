"""Nothing the coach changes asks more of a limited site than it may.

Of a proposal everything that differs from the circuit is looked at: a station that is
another one or holds more than it did, and a drill that is another one or at
another level. Counted by the demands alone, apart from what limits say of themselves.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.coach.making import after, bells, context, history, library_station, run
from tests.support.examples import examples

from whistlestop.coach.changes import applied
from whistlestop.coach.instead import rotate
from whistlestop.coach.next_step import next_step
from whistlestop.coach.rules import RULES
from whistlestop.coach.verdicts import Direction, Proposal
from whistlestop.domain.circuit.circuit import Circuit, Drill, Station
from whistlestop.domain.demands import MOST, asks
from whistlestop.domain.limits import Limit, added_at
from whistlestop.domain.load import parse_load
from whistlestop.domain.sites import BODY_SITES
from whistlestop.domain.targets import EMPHASES
from whistlestop.domain.tempo import parse_tempo
from whistlestop.library import drills, exercises
from whistlestop.library.cards import cards

FULL = settings(
    max_examples=examples(2_000, part=100),
    deadline=None,
    derandomize=True,
    database=None,
)
NAMED = ["knee", "wrist-hand", "shoulder", "lower-back", "ankle"]
LIMITS = st.lists(
    st.builds(
        lambda site, strength, side: Limit(
            "site", site, after(200), strength=strength, side=side
        ),
        st.sampled_from([*NAMED, *BODY_SITES]),
        st.sampled_from(["easy", "out"]),
        st.sampled_from(["", "left", "right"]),
    ),
    min_size=1,
    max_size=2,
).map(tuple)


@st.composite
def stations(draw: st.DrawFn) -> Station:
    """A station of the library, loaded where it can be, with a drill at a level."""
    facts = exercises()[draw(st.sampled_from(sorted(exercises())))]
    kind = cards()[facts.id].load_kind
    is_loaded = kind == "required" or (kind == "optional" and draw(st.booleans()))
    times = "2 x " if "two weights" in facts.kit else ""
    load = parse_load(f"{times}{draw(st.sampled_from([8, 12, 16]))} kg")
    known = drills()[draw(st.sampled_from(sorted(drills())))]
    level = draw(st.integers(1, len(known.ladder)))
    return Station(
        facts.id,
        facts.name,
        facts.call_name,
        load if is_loaded else None,
        parts=facts.parts,
        kit=facts.kit,
        tempo=parse_tempo(facts.tempo) if facts.tempo else None,
        drill=Drill(known.id, known.at_level(level)) if draw(st.booleans()) else None,
    )


@st.composite
def stories(draw: st.DrawFn):
    """Runs that mostly earn a step, with limits from the last day on."""
    circuit = Circuit(
        "shed",
        "Shed",
        tuple(draw(st.lists(stations(), min_size=3, max_size=5))),
        loops=2,
        loop_break_ms=60_000,
    )
    gap = draw(st.sampled_from([2, 3, 3, 4, 9]))
    effort = draw(st.sampled_from([4.0, 5.0, 5.0, 6.0, 9.0]))
    felt = ((draw(st.sampled_from(BODY_SITES)), draw(st.integers(1, 9))),)
    sore = felt if draw(st.integers(0, 4)) == 0 else ()
    count = draw(st.integers(2, 9))
    runs = [run(circuit, after(n * gap), effort) for n in range(count - 1)]
    runs.append(run(circuit, after(count * gap - gap), effort, discomforts=sore))
    away = draw(st.sampled_from([2, 3, 4, 20, 70]))
    levels = {
        place: drills()[one.drill.id].level_named(one.drill.name)
        for place, one in enumerate(circuit.stations, 1)
        if one.drill
    }
    wishes = context(
        circuit,
        runs[-1].day + timedelta(days=away),
        kit=draw(st.sampled_from([None, bells(8, 12, 16, 18, 20, 24)])),
        emphasis=draw(st.sampled_from(EMPHASES)),
        limits=draw(LIMITS),
        drill_levels=levels,
    )
    return history(*runs), wishes


def sound(proposal: Proposal, wishes) -> None:
    if proposal.direction is Direction.REST or proposal.change.revert:
        return
    made = applied(wishes.circuit, proposal.change, wishes.library)
    for before, then in zip(wishes.circuit.stations, made.stations, strict=True):
        for limit in wishes.limits:
            if then.exercise != before.exercise:
                own, extra = exercises()[then.exercise], added_at(then)
                asked = asks(own, limit.value, extra=extra)
                assert asked <= MOST[limit.strength], (proposal.rule, then, limit)
            elif is_more(before, then):
                own, extra = exercises()[then.exercise], added_at(then)
                asked = asks(own, limit.value, extra=extra)
                assert asked == 0, (proposal.rule, then, limit)
            if then.drill is not None and then.drill != before.drill:
                known = drills()[then.drill.id]
                extra = known.added_at(known.level_named(then.drill.name))
                asked = asks(known, limit.value, extra=extra)
                assert asked <= MOST[limit.strength], (proposal.rule, then, limit)


def is_more(before: Station, then: Station) -> bool:
    """Whether a station holds more than it did."""
    held, now = (
        float(one.load.total_kg or 0) if one.load else 0.0 for one in (before, then)
    )
    return now > held


@FULL
@given(stories())
def test_no_proposal_changes_to_what_asks_too_much(case):
    story, wishes = case
    answer = next_step(story, wishes)
    sound(answer.proposal, wishes)
    if answer.then is not None:
        sound(answer.then.proposal, wishes)


@FULL
@given(stories(), st.sampled_from(["heavier", "harder-variant", "drill-level"]))
def test_no_rule_that_raises_changes_to_what_asks_too_much(case, rule):
    """Each by itself: in the whole answer others mostly come before it."""
    found = RULES[rule].judge(*case)
    if isinstance(found, Proposal):
        sound(found, case[1])


@FULL
@given(stories())
def test_no_rotation_changes_to_what_asks_too_much(case):
    story, wishes = case
    found = rotate(story, replace(wishes, now=wishes.now + timedelta(days=30)))
    if isinstance(found, Proposal):
        sound(found, wishes)


def test_the_coach_raises_beside_a_limited_site_what_asks_nothing_of_it():
    """By hand: of the two only the squat has harder forms; one of them is held.

    With the wrist going easy the other is proposed, a stand from a chair with one foot
    back; with the knee going easy, which every squat bends, none is.
    """
    keys = ("body-weight-squat", "dead-bug")
    circuit = Circuit(
        "shed", "Shed", tuple(library_station(key) for key in keys), loops=2
    )
    runs = [run(circuit, after(n), 5.0) for n in (0, 3, 6)]
    kit = replace(bells(8), things=frozenset({"chair"}))
    wishes = context(circuit, after(9), kit=kit)

    def raised(*limits: Limit) -> str:
        found = RULES["harder-variant"].judge(
            history(*runs), replace(wishes, limits=limits)
        )
        is_raised = isinstance(found, Proposal) and found.change.swap is not None
        return found.change.swap[1] if is_raised else ""

    assert raised()
    wrist = Limit("site", "wrist-hand", after(200), strength="easy")
    assert raised(wrist)
    assert raised(wrist) != "goblet-squat"
    assert raised(replace(wrist, value="knee")) not in {
        "goblet-squat",
        "staggered-chair-stand",
    }


def test_a_drill_goes_to_no_level_that_asks_too_much_of_a_limited_site():
    """By hand: walking on the toes works the calf; its next level does so more."""
    known = drills()["toe-and-heel-walk"]
    place = library_station("dead-bug")
    stations = (replace(place, drill=Drill(known.id, known.at_level(1))),)
    circuit = Circuit("shed", "Shed", (*stations, library_station("push-up")), loops=2)
    told = history(*(run(circuit, after(n), 5.0) for n in (0, 3, 6)))
    wishes = context(circuit, after(9), drill_levels={1: 1})
    assert isinstance(RULES["drill-level"].judge(told, wishes), Proposal)
    calf = Limit("site", "calf", after(200), strength="easy")
    limited = replace(wishes, limits=(calf,))
    assert not isinstance(RULES["drill-level"].judge(told, limited), Proposal)
