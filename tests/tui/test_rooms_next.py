"""The room of the next step: what it shows at three sizes, and what its keys keep."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import pytest
from tests.support.golden import same_as_golden
from tests.support.rooms_app import (
    SIZES,
    RoomsApp,
    do,
    settle,
    texts,
    type_in,
    whole,
)
from tests.support.services import SHED, ServicesForTests, do_session, make_services
from textual.widgets import Input
from textual.worker import WorkerFailed

from whistlestop.coach.decisions import Decision
from whistlestop.driver.coaching import DECISIONS_NAME, Coaching
from whistlestop.driver.next_steps import with_next_steps
from whistlestop.tui.app import WhistlestopApp
from whistlestop.tui.rooms.circuits.room import CircuitsRoom
from whistlestop.tui.rooms.coach.next_change import ChangeRoom, amounts_of
from whistlestop.tui.rooms.coach.next_room import NextRoom
from whistlestop.tui.rooms.coach.weeks_room import WeeksRoom

SIZE = (80, 24)
DAY_MS = 86_400_000
KIT = """\
format = 1
mats = 1
boxes = ["40 cm"]
[[weight]]
kind = "kettlebell"
loads = ["12 kg", "2 x 6 kg", "16 kg"]
"""
YARD = SHED.replace("Rainy shed", "Yard").replace(
    'exercise = "goblet-squat"\nload = "12 kg"', 'exercise = "push-up"'
)


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    """The shed twice, a step earned; then the yard, a day ago."""
    made = make_services(tmp_path / "home", {"rainy-shed": SHED, "yard": YARD})
    made.places.kit_file.write_text(KIT, encoding="utf-8")
    for _ in range(2):
        do_session(
            made, made.circuits.read("rainy-shed"), efforts=(5, 6), session_effort=6
        )
        made.standing.now_ms += 3 * DAY_MS
    do_session(made, made.circuits.read("yard"), efforts=(5, 6), session_effort=6)
    made.standing.now_ms += 2 * DAY_MS
    return made


def decided(services: ServicesForTests) -> tuple[Decision, ...]:
    found = Coaching(services).decisions()
    assert found.problems == ()
    return found.items


@pytest.mark.parametrize("size", SIZES, ids=str)
async def test_the_room_as_it_was_looked_at(services, size):
    app = RoomsApp(services, NextRoom())
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        await do(pilot, "down")
        name = f"next-{size[0]}x{size[1]}.txt"
        same_as_golden(f"rooms/{name}", whole(app) + "\n")
        await do(pilot, "c")
        name = f"next-change-{size[0]}x{size[1]}.txt"
        same_as_golden(f"rooms/{name}", whole(app) + "\n")


async def test_a_step_is_taken_kept_with_its_date_and_shown(services):
    app = RoomsApp(services, NextRoom())
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        assert "+ a step up Work 45 s instead of 40 s" in whole(app)
        await do(pilot, "down")
        assert "12.5 %" in whole(app)
        assert "then: 2 loops, 45 s work" in whole(app)
        assert not (services.places.log / DECISIONS_NAME).exists()
        await do(pilot, "enter")
        assert "Accepted: Work 45 s instead of 40 s." in whole(app)
        assert "20 Mar 2026: Work 45 s instead of 40 s (open)" in whole(app)
        assert "The last step: one still open." in whole(app)
    (made,) = decided(services)
    assert (made.choice, made.circuit) == ("accept", "rainy-shed")
    assert made.day == services.clock.wall().date()
    assert (
        with_next_steps(services, services.circuits.read("rainy-shed")).work_ms
        == 45_000
    )


async def test_another_legal_step_is_chosen_and_the_decision_says_so(services):
    app = RoomsApp(services, NextRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "down", "c")
        assert isinstance(app.screen, ChangeRoom)
        assert "3 loops of 30 s" in whole(app)
        await do(pilot, "down", "enter")
        assert isinstance(app.screen, NextRoom)
        assert "instead of: Work 45 s instead of 40 s." in " ".join(whole(app).split())
    (made,) = decided(services)
    assert (made.choice, made.rule) == ("change", "shorter-recovery")
    assert made.instead_of == "Work 45 s instead of 40 s"
    assert (
        with_next_steps(services, services.circuits.read("rainy-shed")).recover_ms
        == 15_000
    )


async def test_amounts_are_typed_and_what_is_not_legal_stays_to_be_mended(services):
    app = RoomsApp(services, NextRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "down", "c", "a")
        await type_in(pilot, "work 45 loops 3")
        assert "Change one thing at a time" in whole(app)
        assert pilot.app.screen.query_one(Input).value == "work 45 loops 3"
        await type_in(pilot, "faster")
        assert "Type it like this: work 45" in whole(app)
        await type_in(pilot, "loops 3 work 30")
        assert isinstance(app.screen, NextRoom)
    (made,) = decided(services)
    assert (made.choice, made.rule) == ("change", "own-amounts")
    with_steps = with_next_steps(services, services.circuits.read("rainy-shed"))
    assert (with_steps.loops, with_steps.work_ms) == (3, 30_000)


async def test_it_is_put_off_by_days_and_asked_again_then(services):
    app = RoomsApp(services, NextRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "down", "x")
        await type_in(pilot, "90")
        assert "Expected 1 to 60." in whole(app)
        await type_in(pilot, "3 never")
        assert "Say why: too much, not this, no time or other" in whole(app)
        await type_in(pilot, "3 no time")
        assert "Put off for 3 days" in whole(app)
        assert "+ a step up Work 45 s" not in whole(app)
    (made,) = decided(services)
    assert (made.until - made.day).days == 3
    assert made.reason == "no-time"
    services.standing.now_ms += 3 * DAY_MS
    answer = Coaching(services).advise(services.circuits.read("rainy-shed")).answer
    # There is no time for longer work, so recovery gets shorter.
    assert answer.rule.id == "shorter-recovery"


async def test_rest_is_a_proposal_with_what_comes_after_it(services):
    services.standing.now_ms -= DAY_MS
    app = RoomsApp(services, NextRoom())
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        assert "~ rest" in whole(app)
        assert "48 hours after it" in whole(app)
        assert "After your rest" in whole(app)


async def test_something_new_and_never_used_are_there_with_their_numbers(services):
    app = RoomsApp(services, NextRoom())
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        sentences = " ".join(whole(app).split())
        # goblet squat, side plank, step-up and push-up were done
        assert "Never used: 144 of 148 stations" in sentences
        assert "New for today:" in sentences


async def test_no_circuit_in_use_is_said(tmp_path):
    app = RoomsApp(make_services(tmp_path, {"rainy-shed": SHED}), NextRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "No circuit in the last 90 days" in whole(app)
        assert "accept" not in texts(app)[-1]
        await do(pilot, "enter", "c", "x", "escape")
    assert app.results == [None]


async def test_what_cannot_be_kept_is_said_and_nothing_changes(services):
    (services.places.log / DECISIONS_NAME).mkdir()
    app = RoomsApp(services, NextRoom())
    async with app.run_test(size=SIZE) as pilot:
        with suppress(WorkerFailed):
            await settle(pilot)
        await pilot.pause()
        assert "could not be read" in whole(app)


async def test_both_rooms_open_from_the_circuits_by_the_keys_that_are_shown(services):
    services.memory.acknowledge_notice()
    app = WhistlestopApp(services, polls=False)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert isinstance(app.screen, CircuitsRoom)
        sentences = " ".join(whole(app).split())
        assert "s next step" in sentences
        assert "p weeks" in sentences
        await do(pilot, "s")
        assert isinstance(app.screen, NextRoom)
        await do(pilot, "p")
        assert isinstance(app.screen, WeeksRoom)
        await do(pilot, "escape", "escape")
        assert isinstance(app.screen, CircuitsRoom)
        await do(pilot, "p")
        assert isinstance(app.screen, WeeksRoom)


@pytest.mark.parametrize(
    ("text", "amounts"),
    [
        ("work 45", {"interval_ms": 45_000}),
        ("loops 3, work 30 s", {"loops": 3, "interval_ms": 30_000}),
        ("w45 r15", {"interval_ms": 45_000, "recover_ms": 15_000}),
    ],
)
def test_amounts_as_they_are_typed(text, amounts):
    assert amounts_of(text) == amounts


@pytest.mark.parametrize("text", ["", "45", "work", "work 45 please", "jump 3"])
def test_what_is_no_amount(text):
    with pytest.raises(ValueError, match="Type it like this"):
        amounts_of(text)
