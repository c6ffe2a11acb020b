"""What the athlete's own stations ask of the body counts for the coach as well."""

from __future__ import annotations

from dataclasses import replace

from tests.coach.making import FIRST, after, context, history, run, shed

from whistlestop.coach.history import SessionFacts, asked_of
from whistlestop.coach.lighter import stand_in
from whistlestop.coach.soreness import held_by
from whistlestop.domain.circuit.circuit import Circuit, Station
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.limits import Limit
from whistlestop.domain.sites import BODY_SITES
from whistlestop.library import exercises

UNSTATED = replace(
    exercises()["goblet-squat"],
    id="sandbag-squat",
    name="Squat with a sandbag hugged",
    features=(),
    exceptions=(),
)
STATED = replace(UNSTATED, features=("squat",))


def circuit() -> Circuit:
    own = Station("sandbag-squat", "Squat with a sandbag hugged", "SANDBAG")
    return replace(shed(), stations=(own,))


def held(own: Exercise, site: str) -> str:
    """What the coach says of a site noted at 5 of 10 in the only session there was."""
    done = SessionFacts(
        "a", FIRST, "shed", felt={site: 5}, asked=asked_of([own.id], {own.id: own})
    )
    now = context(circuit(), after(3), library={**exercises(), "sandbag-squat": own})
    return held_by(replace(history(run(shed(), FIRST, [5])), facts=(done,)), now)


def test_an_own_station_asks_what_its_file_states() -> None:
    found = asked_of(["sandbag-squat", "push-up"], {"sandbag-squat": STATED})
    assert found["knee"] == 2
    assert found["shoulder"] == asked_of(["push-up"])["shoulder"]
    assert "achilles" not in found


def test_one_of_which_nothing_is_stated_asks_much_of_every_site() -> None:
    found = asked_of(["sandbag-squat"], {"sandbag-squat": UNSTATED})
    assert found == dict.fromkeys(BODY_SITES, 2)


def test_a_sore_knee_holds_what_an_own_squat_would_ask_for_more() -> None:
    assert "Knee: 5 of 10" in held(STATED, "knee")
    assert held(STATED, "neck") == ""
    assert "Neck: 5 of 10" in held(UNSTATED, "neck")


def test_a_limit_on_a_site_holds_what_an_own_station_would_ask_for_more() -> None:
    knee = Limit("site", "knee", after(30), strength="easy")
    for own, says in ((STATED, "Your knee goes easy"), (UNSTATED, "Your knee goes")):
        now = context(
            circuit(),
            after(3),
            limits=(knee,),
            library={**exercises(), "sandbag-squat": own},
        )
        assert says in held_by(history(), now)
    spared = replace(STATED, features=("push-up",))
    now = context(
        circuit(),
        after(3),
        limits=(knee,),
        library={**exercises(), "sandbag-squat": spared},
    )
    assert held_by(history(), now) == ""


def test_one_of_which_nothing_is_stated_stands_in_for_no_sore_station() -> None:
    """An own file that shadows the squat and says nothing of the body."""
    own = replace(exercises()["body-weight-squat"], features=(), exceptions=())
    for known, may in ((exercises()["body-weight-squat"], True), (own, False)):
        now = context(
            shed(),
            after(3),
            library={"goblet-squat": exercises()["goblet-squat"], own.id: known},
        )
        found = stand_in(now, 1, {"shoulder": "easy"}, ["goblet-squat"])
        assert (found is not None) is may
