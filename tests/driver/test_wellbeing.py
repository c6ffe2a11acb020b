"""After a stop for health nothing but the page is proposed, until it is answered."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest
from tests.support.services import (
    SHED,
    ServicesForTests,
    do_session,
    make_services,
    run_until,
    start_session,
)

from whistlestop.cli.export import sheet_facts
from whistlestop.cli.run import _QUICK, _plan
from whistlestop.domain.wishes import CircuitWishes
from whistlestop.driver.building import asked
from whistlestop.driver.coaching import Coaching
from whistlestop.driver.log import LogService
from whistlestop.driver.planning import Planning
from whistlestop.engine.commands import Do, EnterDiscomfort
from whistlestop.errors import UsageError
from whistlestop.review.days import DaySpan, Mark
from whistlestop.review.wellbeing import (
    HealthStop,
    WellAnswer,
    last_illness,
    unanswered,
)
from whistlestop.store.journal import stop_free
from whistlestop.store.journal.file import journal_path
from whistlestop.store.journal.stop_free import FILE_NAME

DAY_MS = 24 * 3_600_000


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    made = make_services(tmp_path, {"shed": SHED})
    for _ in range(3):
        do_session(made, made.circuits.read("shed"), efforts=(5, 6), session_effort=6)
        made.standing.now_ms += 3 * DAY_MS
    return made


def stop(services: ServicesForTests, felt: EnterDiscomfort | None = None) -> str:
    running = start_session(services, services.circuits.read("shed"))
    run_until(services, running, 90_000)
    if felt is not None:
        running.session.do(felt)
    running.session.do(Do.HEALTH)
    running.session.close()
    assert running.release()
    services.standing.now_ms += 2 * DAY_MS
    return running.session_id


def test_nothing_but_the_page_until_it_is_answered(services: ServicesForTests) -> None:
    stopped = stop(services)
    found = services.wellbeing.open_stop()
    assert found is not None
    assert found.id == stopped
    coaching, planning = Coaching(services), Planning(services)
    shed = services.circuits.read("shed")
    assert coaching.advise(shed).answer.rule.id == "page"
    with pytest.raises(UsageError, match="for your health"):
        planning.made(planning.outlook())
    with pytest.raises(UsageError, match="for your health"):
        asked(services, CircuitWishes(minutes=20))
    again = argparse.Namespace(again=True, circuit=None, companion=None, offset=None)
    for name in _QUICK:
        setattr(again, name, None)
    with pytest.raises(UsageError, match="for your health"):
        _plan(services, again)
    library = services.library.whole()
    with pytest.raises(UsageError, match="for your health"):
        sheet_facts(services, "shed", library)
    services.wellbeing.answer_stop(found, "pain")
    assert services.wellbeing.open_stop() is None
    assert sheet_facts(services, "shed", library).plan.circuit == "shed"
    assert coaching.advise(shed).answer.rule.id == "return"
    assert planning.made(planning.outlook()).sessions
    assert asked(services, CircuitWishes(minutes=20)).request.minutes == 20
    assert _plan(services, again)[0].circuit == "shed"


def listed(services: ServicesForTests) -> Path:
    """The list of the journals that hold no stop."""
    return services.places.cache / FILE_NAME


def as_at_a_start(services: ServicesForTests) -> HealthStop | None:
    """What another start of the program finds."""
    again = make_services(services.places.home)
    again.standing.now_ms = services.standing.now_ms
    return again.wellbeing.open_stop()


def no_reading(*_: object, **__: object) -> list[object]:
    raise AssertionError("it was read")


def test_journals_that_name_no_stop_are_looked_through_once(
    services: ServicesForTests, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(LogService, "sessions", no_reading)
    assert as_at_a_start(services) is None
    monkeypatch.setattr(stop_free, "read_chunks", no_reading)
    assert as_at_a_start(services) is None
    listed(services).unlink()
    with pytest.raises(AssertionError, match="it was read"):
        as_at_a_start(services)


def test_whether_a_journal_may_name_a_stop_is_never_denied_in_doubt(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "journal"
    for text in ('{"why":"health"}', '{"why": "health" }', '{"why":"\\u0068ealth"}'):
        path.write_text(text)
        assert stop_free.may_name(path, "health"), text
        whole = path.read_bytes()
        for at in range(len(whole)):
            pieces = [whole[:at], whole[at:]]
            monkeypatch.setattr(stop_free, "read_chunks", lambda _, p=pieces: p)
            assert stop_free.may_name(path, "health"), (text, at)
        monkeypatch.undo()
    path.write_text('{"why":"stopped","note":"for my health"}')
    assert not stop_free.may_name(path, "health")
    assert stop_free.may_name(tmp_path / "not there", "health")


DAMAGE: dict[str, Callable[[bytes], bytes | None]] = {
    "lost": lambda _: None,
    "empty": lambda _: b"",
    "cut off": lambda data: data[: len(data) // 2],
    "of another version": lambda data: data.replace(b"1 ", b"2 ", 1),
    "not text": lambda _: b"\xff\x00" * 40,
    "as it was before the stop": lambda data: data,
}


@pytest.mark.parametrize("how", DAMAGE)
def test_no_list_that_is_lost_damaged_or_old_hides_a_stop(
    services: ServicesForTests, how: str
) -> None:
    """The list alone never answers: a journal it does not name is read."""
    assert as_at_a_start(services) is None
    before = listed(services).read_bytes()
    stopped = stop(services)
    left = DAMAGE[how](before)
    if left is None:
        listed(services).unlink()
    else:
        listed(services).write_bytes(left)
    for _ in range(2):
        found = as_at_a_start(services)
        assert found is not None
        assert found.id == stopped
    services.wellbeing.answer_stop(found, "pain")
    assert as_at_a_start(services) is None
    # Answered, it is asked of the log and the diary, and so undone it is there again.
    services.diary().undo()
    assert as_at_a_start(services) == found


def test_a_journal_that_goes_on_and_ends_in_a_stop_is_read_again(
    services: ServicesForTests,
) -> None:
    """As an interrupted session that is resumed: its name was in the list before."""
    stopped = stop(services)
    journal = journal_path(services.places.log, stopped)
    whole = journal.read_bytes()
    cut = whole[: whole.index(b'"k":"end"')]
    journal.write_bytes(cut[: cut.rindex(b"\n") + 1])
    assert as_at_a_start(services) is None
    assert stopped.encode() in listed(services).read_bytes()
    journal.write_bytes(whole)
    found = as_at_a_start(services)
    assert found is not None
    assert found.id == stopped


def test_a_journal_put_back_with_its_old_time_is_read_again(
    services: ServicesForTests,
) -> None:
    """Of the same length and time as the one that was read: it is another file."""
    stopped = stop(services)
    journal = journal_path(services.places.log, stopped)
    whole, state = journal.read_bytes(), journal.stat()
    journal.write_bytes(b" " * (len(whole) - 1) + b"\n")
    os.utime(journal, ns=(state.st_atime_ns, state.st_mtime_ns))
    assert as_at_a_start(services) is None
    assert stopped.encode() in listed(services).read_bytes()
    beside = journal.with_name("beside")
    beside.write_bytes(whole)
    os.utime(beside, ns=(state.st_atime_ns, state.st_mtime_ns))
    beside.replace(journal)
    (services.places.cache / "log-index.sqlite").unlink(missing_ok=True)
    assert as_at_a_start(services) is not None


def test_an_answer_that_was_undone_asks_again(services: ServicesForTests) -> None:
    stop(services)
    found = services.wellbeing.open_stop()
    assert found is not None
    services.wellbeing.answer_stop(found, "chest")
    assert "you are well" in services.diary().undo()
    assert services.wellbeing.open_stop() == found
    assert services.logbook().diary.problems == ()


def test_a_stop_is_answered_by_its_own_answer_or_by_one_about_a_later_stop() -> None:
    day = date(2031, 3, 3)
    first, second = HealthStop("a", day), HealthStop("b", day + timedelta(days=9))
    own = WellAnswer(day + timedelta(days=1), "health-stop", "a", "pain")
    today = day + timedelta(days=10)
    assert unanswered([first], [], today) == first
    assert unanswered([first], [own], today) is None
    assert unanswered([first, second], [own], today) == second
    later = WellAnswer(today, "health-stop", "b", "pain")
    assert unanswered([first, second], [later], today) is None
    about_illness = WellAnswer(today, "illness")
    assert unanswered([first], [about_illness], today) == first


def test_days_marked_ill_with_one_well_day_between_are_one_illness() -> None:
    day = date(2031, 3, 3)
    spans = [
        DaySpan(day, day + timedelta(days=1)),
        DaySpan(day + timedelta(days=3), day + timedelta(days=4)),
    ]
    whole = DaySpan(day, day + timedelta(days=4))
    assert last_illness(spans, day + timedelta(days=9)) == (whole, 4)
    assert last_illness(spans, day) == (whole, 4)
    assert last_illness(spans, day - timedelta(days=1)) is None


def test_illness_is_asked_about_and_its_days_are_days_away_in_the_weeks(
    services: ServicesForTests,
) -> None:
    today = services.clock.wall().date()
    span = DaySpan(today - timedelta(days=2), today + timedelta(days=4))
    planning, shed = Planning(services), services.circuits.read("shed")
    before = {s.day for s in planning.made(planning.outlook()).sessions}
    assert any(day in span for day in before)
    services.diary().mark(Mark.ILLNESS, span)
    plan = planning.made(planning.outlook())
    assert not any(s.day in span and s.state == "planned" for s in plan.sessions)
    assert any(s.state == "planned" for s in plan.sessions)
    assert Coaching(services).advise(shed).answer.proposal.title == "Rest"
    services.standing.now_ms += 5 * DAY_MS
    assert "24 hours" in Coaching(services).advise(shed).answer.proposal.title
    services.wellbeing.answer_illness()
    assert Coaching(services).advise(shed).answer.rule.id in {"return", "restart"}


def test_the_next_morning_is_asked_once_from_the_next_day_on(
    services: ServicesForTests,
) -> None:
    running = start_session(services, services.circuits.read("shed"))
    run_until(services, running, 90_000)
    running.session.do(EnterDiscomfort("knee", "right", 3))
    running.session.do(EnterDiscomfort("wrist-hand", "left", 2))
    running.session.do(Do.STOP)
    running.session.close()
    assert running.release()
    assert services.wellbeing.morning() is None
    services.standing.now_ms += DAY_MS
    asked_about = services.wellbeing.morning()
    assert asked_about is not None
    assert "right knee, 3 of 10" in asked_about.words
    services.wellbeing.answer_morning(asked_about, "worse")
    assert services.wellbeing.morning() is None
    services.standing.now_ms += 2 * DAY_MS
    answer = Coaching(services).advise(services.circuits.read("shed")).answer
    sentences = " ".join(
        (*answer.proposal.why, *(f.value for f in answer.proposal.facts))
    )
    assert "worse the next morning" in sentences
