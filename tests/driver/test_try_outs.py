"""A session ended by its key with under a tenth of its work done is a try-out.

The circuit plans 2 x 3 x 40 s = 240 s of work; a tenth is 24 s. It gets ready for 10 s.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.support.services import (
    SHED,
    ServicesForTests,
    break_off,
    make_services,
    run_until,
    start_session,
)

from whistlestop.cli.log import _ended
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.pairing import Company, paired_plans
from whistlestop.driver.coaching import Coaching
from whistlestop.driver.diary import Amendment
from whistlestop.driver.session import Options
from whistlestop.engine.commands import (
    Command,
    Do,
    EnterCount,
    EnterDiscomfort,
    EnterNote,
    EnterSessionEffort,
)
from whistlestop.review.lines import record_lines
from whistlestop.tui.rooms.circuits.room import find

GET_READY_MS = 10_000


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    return make_services(tmp_path / "home", {"rainy-shed": SHED})


def ended_after(
    services: ServicesForTests,
    work_ms: int,
    *entered: Command,
    key: Do = Do.STOP,
) -> str:
    """A session of so much work, ended by a key; then something entered."""
    running = start_session(services, services.circuits.read("rainy-shed"))
    run_until(services, running, GET_READY_MS + work_ms)
    running.session.do(key)
    for command in entered:
        running.session.do(command)
    running.session.close()
    assert running.release()
    services.standing.now_ms += 3_600_000
    return running.session_id


@pytest.mark.parametrize(
    ("work_ms", "is_try_out"), [(0, True), (23_000, True), (24_000, False)]
)
def test_it_is_one_below_a_tenth_of_the_planned_work(
    services: ServicesForTests, work_ms: int, is_try_out: bool
) -> None:
    made = ended_after(services, work_ms)
    (item,) = services.logbook().items()
    assert item.is_try_out == is_try_out
    record = services.logbook().record(made)
    assert record.is_try_out == is_try_out
    assert ("try-out" in _ended(item)) == is_try_out
    assert ("a try-out" in "\n".join(record_lines(record))) == is_try_out


def test_it_counts_nowhere_and_is_listed(services: ServicesForTests) -> None:
    made = ended_after(services, 20_000)
    logbook = services.logbook()
    assert [item.id for item in logbook.items()] == [made]
    assert logbook.done() == []
    assert logbook.trainings() == ()
    assert logbook.book().trainings == {}
    assert Coaching(services).in_use() == ()
    shed = services.circuits.read("rainy-shed")
    history = Coaching(services).advise(shed).history
    assert (history.runs, history.outings) == ((), ())
    assert find(services).listed[0].last_wall == ""


@pytest.mark.parametrize(
    "entered",
    [
        EnterSessionEffort(Effort(8)),
        EnterNote("The door was open."),
        EnterDiscomfort("knee", "left", 2),
    ],
    ids=lambda one: type(one).__name__,
)
def test_one_that_holds_an_entry_is_a_session(
    services: ServicesForTests, entered: Command
) -> None:
    made = ended_after(services, 20_000, entered)
    assert [line.id for line in services.logbook().done()] == [made]
    assert not services.logbook().record(made).is_try_out


def test_one_ended_for_health_is_never_one(services: ServicesForTests) -> None:
    made = ended_after(services, 5_000, key=Do.HEALTH)
    assert [line.id for line in services.logbook().done()] == [made]


def test_a_count_alone_makes_no_session_of_it(services: ServicesForTests) -> None:
    made = ended_after(services, 20_000, EnterCount(6))
    assert services.logbook().record(made).is_try_out


def test_what_is_amended_into_it_makes_a_session_of_it(
    services: ServicesForTests,
) -> None:
    made = ended_after(services, 20_000)
    services.diary().amend(made, Amendment(note="It was the whole of it."))
    assert [line.id for line in services.logbook().done()] == [made]
    services.diary().undo()
    assert services.logbook().done() == []


def test_it_is_deleted_like_any_other_and_the_deletion_undone(
    services: ServicesForTests,
) -> None:
    made = ended_after(services, 20_000)
    services.diary().delete(made)
    assert services.logbook().items() == []
    services.diary().undo()
    assert [item.id for item in services.logbook().items()] == [made]


def test_one_broken_off_in_get_ready_is_offered_once(tmp_path: Path) -> None:
    home = tmp_path / "home"
    first = make_services(home, {"rainy-shed": SHED})
    broken = break_off(first, first.circuits.read("rainy-shed"), at_ms=4_000)
    for _ in range(2):  # while the program is open the offer stays
        offer = first.sessions.to_offer()
        assert offer is not None
        assert offer.id == broken
    second = make_services(home, begin=first.clock.wall())
    assert second.sessions.to_offer() is None
    # Asked for by name it is still there.
    interrupted = second.sessions.interrupted()
    assert interrupted is not None
    assert interrupted.id == broken


def test_one_broken_off_at_work_is_offered_until_it_is_answered(
    tmp_path: Path,
) -> None:
    home = tmp_path / "home"
    first = make_services(home, {"rainy-shed": SHED})
    broken = break_off(first, first.circuits.read("rainy-shed"), at_ms=60_000)
    for _ in range(3):
        services = make_services(home, begin=first.clock.wall())
        offer = services.sessions.to_offer()
        assert offer is not None
        assert offer.id == broken


@pytest.mark.parametrize(
    ("entered", "is_try_out"),
    [
        ((), True),
        ((EnterCount(5, "a2"),), True),
        ((EnterNote("it was cold", "a2"),), False),
        ((EnterDiscomfort("knee", "left", 2, "a2"),), False),
        ((EnterDiscomfort("knee", "left", 2),), False),
    ],
    ids=["nothing", "a count", "their note", "their discomfort", "own discomfort"],
)
def test_a_try_out_of_two_counts_nowhere_for_either(
    services: ServicesForTests, entered: tuple[Command, ...], is_try_out: bool
) -> None:
    """What one of them entered makes it count for both."""
    shed = services.circuits.read("rainy-shed")
    own, theirs = paired_plans(shed, 1, ({}, {}))
    running = services.sessions.start(
        own,
        options=Options(count_in_ms=0, watch_gaps=False),
        company=Company((("a2", theirs),), 1),
    )
    running.session.begin()
    run_until(services, running, GET_READY_MS + 15_000)
    running.session.do(Do.STOP)
    for command in entered:
        running.session.do(command)
    running.session.close()
    assert running.release()
    [line] = services.logbook().sessions()
    assert line.is_try_out is is_try_out
    assert (services.logbook().done() == []) is is_try_out
    records = [services.log.record(line.id, athlete=one) for one in ("a1", "a2")]
    assert [record.is_try_out for record in records] == [is_try_out, is_try_out]
    assert (services.logbook().trainings() == ()) is is_try_out
