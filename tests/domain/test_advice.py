"""Each ordering rule, broken and kept, on facts made for the purpose."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE, circuit, circuits, station

from whistlestop import library
from whistlestop.domain.circuit.advice import (
    RULES,
    AdviceContext,
    AdviceNote,
    advise,
    source_lines,
)
from whistlestop.domain.load import parse_load


@dataclass(frozen=True)
class Fact:
    """What a test says of an exercise."""

    region: str = "legs"
    pattern: str = "squat"
    position: str = "standing"
    sides: str = "one-then-other"
    cautions: tuple[str, ...] = ()
    features: tuple[str, ...] = ("squat",)


SQUAT, HINGE = Fact(), Fact(pattern="hinge")
PUSH = Fact("arms", "horizontal-push", "plank", "both", ("Wr",))
PULL = Fact("arms", "horizontal-pull", "standing", "both")
TURN = Fact("core", "anti-rotation")
TWIST = Fact("core", "rotation")
JUMP = Fact("legs", "jump")
WHOLE = Fact("whole", "get-up")
# What keeps every rule: legs, core, arms in turn, one push, one pull.
KEPT = (SQUAT, TURN, PUSH, HINGE, TWIST, PULL)


def told(
    *facts: Fact, rule: str, context: AdviceContext | None = None, **changes: object
):
    """Stations and sentence of each note by one rule."""
    stations = [station(n) for n in range(1, len(facts) + 1)]
    of = circuit(*stations, **changes)
    known = {f"exercise-{n}": fact for n, fact in enumerate(facts, 1)}
    notes = advise(of, known, context=context)
    return [(note.stations, note.sentence) for note in notes if note.rule == rule]


def numbers(*facts: Fact, rule: str, **changes: object) -> list[tuple[int, ...]]:
    return [stations for stations, _ in told(*facts, rule=rule, **changes)]


def test_a_circuit_that_keeps_every_rule_gets_no_note():
    stations = [station(n) for n in range(1, 7)]
    known = {f"exercise-{n}": fact for n, fact in enumerate(KEPT, 1)}
    assert advise(circuit(*stations, loops=3), known) == ()


def test_neighbours_of_one_region():
    assert told(SQUAT, HINGE, TURN, rule="same-region") == [
        ((1, 2), "Stations 1 and 2 both work the legs.")
    ]
    assert numbers(WHOLE, WHOLE, SQUAT, rule="same-region") == []


def test_the_end_meets_the_start_only_without_a_break():
    """Loop to loop the last station is a neighbour of the first."""
    of = (SQUAT, TURN, HINGE)
    assert numbers(*of, rule="same-region") == []
    assert numbers(*of, rule="same-region", loops=2) == [(1, 3)]
    assert numbers(*of, rule="same-region", loops=2, loop_break_ms=60_000) == []


def test_a_pattern_within_two_stations():
    assert told(SQUAT, SQUAT, TURN, rule="same-pattern") == [
        ((1, 2), "Stations 1 and 2, both squat, follow each other.")
    ]
    assert told(SQUAT, TURN, SQUAT, rule="same-pattern") == [
        ((1, 3), "Stations 1 and 3, both squat, are only one station apart.")
    ]
    assert numbers(SQUAT, TURN, PUSH, SQUAT, rule="same-pattern") == []


def test_two_stations_over_and_over_are_noted_once():
    assert numbers(SQUAT, SQUAT, rule="same-pattern", loops=3) == [(1, 2)]
    assert numbers(SQUAT, HINGE, rule="same-region", loops=3) == [(1, 2)]
    assert numbers(SQUAT, rule="same-pattern", loops=3) == []


def loaded(*loads: str | None) -> list[tuple[int, ...]]:
    stations = [
        replace(station(n), load=parse_load(load) if load else None)
        for n, load in enumerate(loads, 1)
    ]
    notes = advise(circuit(*stations), {})
    return [note.stations for note in notes if note.rule == "heaviest-first"]


def test_the_heaviest_load_comes_early():
    """Total mass counts; the middle of an odd number is still early."""
    assert loaded("8 kg", None, None, "2 x 8 kg") == [(4,)]
    assert loaded("16 kg", None, None, "8 kg") == []
    assert loaded("8 kg", None, "16 kg", None, None) == []
    assert loaded("8 kg", None, None, "8 kg") == []
    assert loaded("band: red", None, None, "8 kg") == []


def test_fast_movements_come_early_and_not_after_trunk_work():
    assert numbers(SQUAT, TURN, PUSH, JUMP, rule="fast-early") == [(4,)]
    assert numbers(JUMP, TURN, PUSH, SQUAT, rule="fast-early") == []
    assert numbers(TURN, JUMP, PUSH, rule="fast-after-trunk") == [(1, 2)]
    assert numbers(JUMP, TURN, PUSH, rule="fast-after-trunk") == []


@pytest.mark.parametrize(
    ("pushes", "pulls", "fine"),
    [
        (0, 0, True),
        (1, 0, False),
        (1, 1, True),
        (1, 2, True),
        (2, 3, True),
        (2, 1, False),
        (2, 4, False),
        (4, 6, True),
        (4, 7, False),
        (0, 1, True),
    ],
)
def test_push_to_pull_from_1_to_1_up_to_1_to_1_5(pushes, pulls, fine):
    """One more pull is allowed where halves would be needed."""
    facts = (PUSH,) * pushes + (PULL,) * pulls + (TURN,)
    assert (numbers(*facts, rule="push-pull") == []) is fine


@pytest.mark.parametrize(
    ("hinges", "squats", "fine"), [(1, 1, True), (2, 1, True), (3, 1, False)]
)
def test_hinge_to_squat_about_1_to_1(hinges, squats, fine):
    facts = (HINGE,) * hinges + (SQUAT,) * squats
    assert (numbers(*facts, rule="hinge-squat") == []) is fine


def test_one_leg_and_one_against_turning():
    both = replace(SQUAT, sides="both")
    assert numbers(both, TURN, rule="one-leg") == [(1,)]
    assert numbers(SQUAT, TURN, rule="one-leg") == []
    assert numbers(SQUAT, TWIST, rule="anti-rotation") == [()]
    assert numbers(SQUAT, TURN, rule="anti-rotation") == []


def test_grip_and_wrists_get_a_rest():
    """A press held over the face carries a grip caution, but it does not tire it."""
    hang = Fact("core", "flexion", "hanging", "both", ("Gr",))
    press = Fact("arms", "horizontal-push", "on-back", "both", ("Gr",))
    assert numbers(PULL, hang, SQUAT, rule="grip") == [(1, 2)]
    assert numbers(PULL, SQUAT, hang, rule="grip") == []
    assert numbers(PULL, press, SQUAT, rule="grip") == []
    assert numbers(PUSH, PUSH, PUSH, SQUAT, rule="wrists") == [(1, 2, 3)]
    assert numbers(PUSH, PUSH, SQUAT, PUSH, rule="wrists") == []


def test_many_ups_and_downs_are_counted_in_seconds():
    """Six stations up and down in turn: five changes of 3 to 6 s."""
    ups = (SQUAT, PUSH) * 3
    ((stations, text),) = told(*ups, rule="positions", loop_break_ms=60_000)
    assert stations == (1, 2, 3, 4, 5, 6)
    assert text == (
        "5 changes between floor and standing in a loop take 15 to 30 s; group them, "
        "and rise slowly."
    )
    assert numbers(SQUAT, SQUAT, SQUAT, PUSH, PUSH, PUSH, rule="positions") == []


def test_a_rest_that_is_short_for_standing_up_is_noted():
    assert numbers(PUSH, SQUAT, rule="positions", recover_ms=4_000) == [(1, 2)]
    assert numbers(PUSH, SQUAT, rule="positions", recover_ms=6_000) == []


def test_plates_and_partners():
    bar = [
        replace(station(n), kit=("bar", "mat"), load=parse_load(f"{n * 20} kg"))
        for n in (1, 2)
    ]
    of = circuit(*bar, station(3), station(4))
    assert [n.rule for n in advise(of, {})] == ["plates"]
    apart = circuit(bar[0], station(3), bar[1], station(4))
    by_two = advise(apart, {}, context=AdviceContext(partners=2))
    assert [(n.rule, n.stations) for n in by_two if n.rule == "partner-kit"] == [
        ("partner-kit", (1, 3))
    ]
    assert "both need: bar." in by_two[-1].sentence
    assert all(n.rule != "partner-kit" for n in advise(apart, {}))


@pytest.mark.parametrize(("hours", "noted"), [(None, False), (23, True), (24, False)])
def test_legs_before_a_key_session(hours, noted):
    context = AdviceContext(hours_to_key_session=hours)
    found = numbers(SQUAT, HINGE, TURN, rule="key-session", context=context)
    assert found == ([(1, 2)] if noted else [])
    light = numbers(SQUAT, PUSH, TURN, rule="key-session", context=context)
    assert light == []


def test_cautions_are_named_with_their_stations():
    stations = [station(1, cautions=("Kn",)), station(2, cautions=("Kn", "Sh"))]
    notes = advise(
        circuit(*stations), {}, context=AdviceContext(caution_titles={"Kn": "Knees"})
    )
    assert [note.sentence for note in notes] == [
        "Knees: stations 1, 2.",
        "Sh: station 2.",
    ]


def test_each_rule_can_be_silenced_and_says_its_source():
    facts = (SQUAT, SQUAT, HINGE, PUSH, PUSH, PUSH, TWIST, JUMP)
    stations = [station(n, cautions=("Kn",)) for n in range(1, 9)]
    known = {f"exercise-{n}": fact for n, fact in enumerate(facts, 1)}
    notes = advise(circuit(*stations), known)
    rules = {note.rule for note in notes}
    assert len(rules) >= 7
    for note in notes:
        assert note.source == RULES[note.rule].source
        assert note.severity == "note"
    for rule in rules:
        left = advise(circuit(*stations), known, silenced=frozenset({rule}))
        assert left == tuple(note for note in notes if note.rule != rule)
    assert advise(circuit(*stations), known, silenced=frozenset(RULES)) == ()


# Facts of the library itself: what a real caller passes in.
_IDS = st.sampled_from(sorted(library.exercises()))


@MODERATE
@given(circuits(most_stations=6), st.data())
def test_any_circuit_gets_notes_about_its_own_stations(of, data):
    stations = [replace(s, exercise=data.draw(_IDS)) for s in of.stations]
    of = replace(of, stations=tuple(stations))
    notes = advise(of, library.exercises(), context=AdviceContext(2, 12))
    assert len(set(notes)) == len(notes)
    for note in notes:
        assert note.rule in RULES
        assert set(note.stations) <= set(range(1, len(stations) + 1))
        assert note.sentence.endswith(".")


def test_every_rule_has_its_source_and_rules_of_one_source_stand_together():
    notes = [
        AdviceNote("push-pull", (1,), "a", RULES["push-pull"].source),
        AdviceNote("heaviest-first", (1,), "b", RULES["heaviest-first"].source),
        AdviceNote("cautions", (1,), "e", RULES["cautions"].source),
        AdviceNote("hinge-squat", (2,), "c", RULES["hinge-squat"].source),
        AdviceNote("push-pull", (3,), "d", RULES["push-pull"].source),
    ]
    assert source_lines(notes) == (
        "push-pull, heaviest-first, hinge-squat: common practice.",
        "cautions: the cautions of the stations.",
    )
    assert source_lines([]) == ()
    assert all(rule.source for rule in RULES.values())


def test_a_station_that_does_not_say_what_the_body_does_is_asked_for_it():
    bare = replace(SQUAT, features=())
    ((stations, sentence),) = told(bare, PUSH, rule="features")
    assert stations == (1,)
    assert "Exercise 1, has no features = in its file" in sentence
    assert told(SQUAT, PUSH, rule="features") == []
