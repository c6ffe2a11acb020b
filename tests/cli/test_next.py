"""`next`: proposals from a real log, decisions that last, and weeks as a grid."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
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
from whistlestop.cli.export_log import add_calendar_arguments, export_calendar
from whistlestop.cli.next import add_next, next_step
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.driver.coaching import DECISIONS_NAME, Coaching
from whistlestop.engine.commands import Do, EnterDiscomfort
from whistlestop.errors import StoreError, UsageError
from whistlestop.store.journal.line import decode

DAY_MS = 24 * 3_600_000
KIT = """\
format = 1
mats = 1
boxes = ["40 cm"]
[[weight]]
kind = "kettlebell"
loads = ["12 kg", "2 x 6 kg", "16 kg"]
"""


@dataclass
class Answer:
    status: int
    out: str
    err: str


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    """Two whole sessions of the shed three days apart, asked three days later."""
    made = make_services(tmp_path, {"shed": SHED})
    for _ in range(2):
        do_session(made, made.circuits.read("shed"), efforts=(5, 6), session_effort=6)
        made.standing.now_ms += 3 * DAY_MS
    return made


@pytest.fixture
def ask(
    services: ServicesForTests,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> Callable[..., Answer]:
    """`next` with some words, in that home at its present moment."""
    monkeypatch.setattr("whistlestop.cli.next.Services", lambda home: services)
    parser = argparse.ArgumentParser()
    add_next(parser)

    def run(*words: object) -> Answer:
        status = next_step(parser.parse_args([str(word) for word in words]))
        text = capsys.readouterr()
        return Answer(status, text.out, text.err)

    return run


def decided(services: ServicesForTests) -> list[dict[str, object]]:
    path = services.places.log / DECISIONS_NAME
    lines = [decode(raw) for raw in path.read_bytes().splitlines()]
    assert all(line.state == "ok" for line in lines)
    return [dict(line.fields) for line in lines if line.kind == "decision"]


def test_a_circuit_in_use_gets_one_proposal_with_its_numbers(
    ask: Callable[..., Answer],
) -> None:
    answer = ask()
    assert answer.status == 0
    assert answer.err == ""
    first, *rest = answer.out.splitlines()
    assert first == "Rainy shed: Work 45 s instead of 40 s"
    assert "Twice complete at 6, the aim is 7." in rest[0]
    assert any("then: 2 loops, 45 s work" in line for line in rest)
    assert any("rule more-work" in line for line in rest)


def test_the_json_says_the_same(ask: Callable[..., Answer]) -> None:
    (fields,) = json.loads(ask("--json").out)
    assert fields["circuit"] == "shed"
    assert fields["rule"] == "more-work"
    assert fields["after"]["interval_ms"] == 45_000
    assert fields["after"]["work_ms"] == 2 * 3 * 45_000
    assert fields["outcome"] is None


def test_an_accepted_step_lasts_is_dated_and_the_file_stays(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    file = services.places.circuits / "shed.toml"
    before = file.read_bytes()
    assert "accepted" in ask("shed", "--accept").out
    assert file.read_bytes() == before
    (line,) = decided(services)
    assert (line["choice"], line["change"]) == ("accept", {"work_step_ms": 5_000})
    assert line["day"] == services.clock.wall().date().isoformat()
    assert line["a"] == "a1"
    again = ask("shed")
    assert "The same again" in again.out
    assert "2 loops of 45 s, with" in again.out
    assert "the last step: one still open" in again.out
    with_steps = Coaching(services).with_steps(services.circuits.read("shed"))
    assert with_steps.circuit.work_ms == 45_000


def test_an_accepted_step_is_on_the_printed_sheet(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    ask("shed", "--accept")
    facts = sheet_facts(services, "shed", services.library.whole())
    assert {
        s.duration_ms for s in facts.plan.segments if s.kind is SegmentKind.WORK
    } == {
        45_000,
        22_500,
    }


def test_something_new_and_what_was_never_used_are_named(
    ask: Callable[..., Answer],
) -> None:
    """The shed has three stations of the library."""
    out = ask().out
    assert "New for today:" in out
    assert "never used: " in out


def test_nothing_new_is_offered_on_the_way_back(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    """A coach adds nothing new while less is due; common practice, no source."""
    services.standing.now_ms += 40 * DAY_MS
    out = ask().out
    assert "New for today:" not in out
    assert "never used: " in out


def test_put_off_is_asked_again_on_its_day(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    assert "put off until 2026-03-20" in ask("shed", "--later", "2").out
    assert "Work 45 s" not in ask("shed").out
    services.standing.now_ms += 2 * DAY_MS
    assert "Work 45 s" in ask("shed").out


def test_a_step_put_off_as_too_much_is_not_followed_by_another(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    ask("shed", "--later", "2", "--because", "too-much")
    (line,) = decided(services)
    assert (line["choice"], line["reason"]) == ("put_off", "too-much")
    services.standing.now_ms += 2 * DAY_MS
    out = ask("shed").out
    assert "The same again" in out
    assert "A step was too much for you on" in out


def test_another_change_can_be_taken_instead(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    answer = ask("shed", "--work", 40, "--recover", 15)
    assert answer.out == "saved instead: 2 x 40 s, 15 s recovery\n"
    (line,) = decided(services)
    assert line["choice"] == "change"
    assert "2 loops of 40 s, with 15 s of recovery" in ask("shed").out


@pytest.mark.parametrize(
    "words",
    [
        ("--accept",),
        ("shed", "--accept", "--later"),
        ("shed", "--accept", "--because", "other"),
        ("shed", "--because", "other"),
        ("shed", "--later", "3", "--loops", "3"),
        ("shed", "shed", "--accept"),
    ],
)
def test_a_decision_is_about_one_circuit_and_is_one_decision(
    ask: Callable[..., Answer], services: ServicesForTests, words: tuple[str, ...]
) -> None:
    with pytest.raises(UsageError):
        ask(*words)
    assert not (services.places.log / DECISIONS_NAME).exists()


def test_after_two_weeks_off_it_is_a_restart_for_the_next_session_only(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    services.standing.now_ms += 12 * DAY_MS
    assert "% of the work" in ask("shed").out
    ask("shed", "--accept")
    advice = Coaching(services).advise(services.circuits.read("shed"))
    assert advice.progress.circuit.loops == 2
    assert advice.session.loops * advice.session.work_ms <= 40_000


def test_less_than_48_h_after_a_session_it_is_rest_and_then_the_step(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    services.standing.now_ms -= 2 * DAY_MS
    answer = ask("shed")
    assert answer.out.startswith("Rainy shed: Rest\n")
    assert "after that:" in answer.out
    assert "Work 45 s instead of 40 s" in answer.out


def test_kit_and_emphasis_count(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    """12 kg to 16 kg is a third more: not yet, and it says what would earn it."""
    services.places.kit_file.write_text(KIT, encoding="utf-8")
    answer = ask("shed", "--emphasis", "strength")
    assert "Work 45 s instead of 40 s" in answer.out
    assert "16 kg is 33 % more than 12 kg" in answer.out


def test_nothing_in_use_is_said_and_an_unknown_circuit_is_an_error(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    services.standing.now_ms += 100 * DAY_MS
    answer = ask()
    assert (answer.status, answer.out) == (0, "")
    assert "no circuit in the last 90 days" in answer.err
    assert json.loads(ask("--json").out) == []
    with pytest.raises((UsageError, StoreError)):
        ask("no-such-circuit")


def test_damaged_decisions_are_named_and_the_rest_counts(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    ask("shed", "--accept")
    path = services.places.log / DECISIONS_NAME
    whole = path.read_bytes()
    path.write_bytes(whole + b'{"k":"decision","id":"d9"}\n{broken\n')
    answer = ask("shed")
    assert "2 loops of 45 s" in answer.out
    assert answer.err.count("decisions, line") >= 2


def test_weeks_are_a_grid_and_the_same_as_json(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    words = (
        "shed", "--weeks", 2, "--sessions", 2, "--days", "mon,wed,fri",
        "--key-days", "tue", "--away", "2026-03-23..2026-03-24",
        "--blocks", "base:4", "--races", "2026-03-29",
    )  # fmt: skip
    answer = ask(*words)
    lines = answer.out.splitlines()
    assert lines[0].split() == [
        "week", "of", "emphasis", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun",
    ]  # fmt: skip
    assert lines[1].startswith("2026-03-16")
    assert "~" in lines[2]
    assert lines[2].rstrip().endswith("R")
    planned = json.loads(ask(*words, "--json").out)
    assert {session["circuit"] for session in planned} == {"shed"}
    # By hand: away on Monday, and no legs two days before the race: Wednesday is left.
    assert [session["day"] for session in planned][2:] == ["2026-03-25"]
    assert planned[2]["share_percent"] <= 42
    assert (
        "Week of 23 Mar: 2 asked a week, 1 planned: you are away for a day; "
        "a race, with the days around it."
    ) in lines


def test_weeks_are_kept_shown_planned_again_and_given_out(
    ask: Callable[..., Answer],
    services: ServicesForTests,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """It is Wednesday 18 March. One session a week, on Wednesday or Thursday.

    By hand: planned today; asked tomorrow it was missed and moves to Thursday, once.
    """
    words = ("shed", "--weeks", 3, "--sessions", 1, "--days", "wed,thu")
    ask(*words)
    with pytest.raises(UsageError, match="no plan saved"):
        ask("--plan")
    kept = ask(*words, "--keep")
    assert "saved in" in kept.err
    days = [session["day"] for session in json.loads(ask("--plan", "--json").out)]
    assert days == ["2026-03-18", "2026-03-25", "2026-04-01"]
    assert "Nothing has to change." in ask("--replan").out
    services.standing.now_ms += DAY_MS
    again = ask("--replan")
    assert "shed moves from Wed 18 Mar to Thu 19 Mar." in again.out
    assert "not saved yet" in again.err
    assert "2026-03-18" in ask("--plan", "--json").out
    ask("--replan", "--keep")
    days = [session["day"] for session in json.loads(ask("--plan", "--json").out)]
    assert days == ["2026-03-19", "2026-03-25", "2026-04-01"]

    monkeypatch.setattr("whistlestop.cli.export_log.Services", lambda home: services)
    parser = argparse.ArgumentParser()
    add_calendar_arguments(parser)
    capsys.readouterr()
    assert export_calendar(parser.parse_args(["--plan"])) == 0
    text = capsys.readouterr().out
    assert text.count("STATUS:TENTATIVE") == 3


def test_one_thing_is_asked_of_the_weeks_at_a_time(ask: Callable[..., Answer]) -> None:
    with pytest.raises(UsageError, match="one of"):
        ask("--plan", "--replan")
    with pytest.raises(UsageError, match="one of"):
        ask("--plan", "--keep")


def test_two_things_that_rise_at_once_are_refused_with_the_reason(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    with pytest.raises(UsageError, match="one thing at a time"):
        ask("shed", "--work", 45, "--loops", 3)
    assert not (services.places.log / DECISIONS_NAME).exists()


@pytest.mark.parametrize(
    "words",
    [
        ("--weeks", "54"),
        ("--weeks", "2", "--days", "someday"),
        ("--weeks", "2", "--away", "2026-03-24..2026-03-23"),
        ("--weeks", "2", "--blocks", "base:9"),
        ("--weeks", "2", "--blocks", "nothing:4"),
        ("--key", "yesterday"),
        ("--later", "0"),
        ("--target", "9"),
        ("--work", "-5"),
    ],
    ids=" ".join,
)
def test_what_is_typed_wrong_is_said_and_nothing_happens(
    ask: Callable[..., Answer],
    capsys: pytest.CaptureFixture[str],
    words: tuple[str, ...],
) -> None:
    with pytest.raises(SystemExit) as leaving:
        ask(*words)
    assert leaving.value.code == 2
    sentences = capsys.readouterr().err
    assert "error: argument" in sentences
    assert "Traceback" not in sentences


def test_after_a_stop_for_health_next_prints_the_page_and_takes_the_answer(
    services: ServicesForTests, ask: Callable[..., Answer]
) -> None:
    running = start_session(services, services.circuits.read("shed"))
    run_until(services, running, 90_000)
    running.session.do(Do.HEALTH)
    running.session.close()
    assert running.release()
    services.standing.now_ms += 3 * DAY_MS
    page = ask()
    assert page.status == 0
    assert "Call your local emergency number now." in page.out
    assert "for your health" in page.out
    assert "next --well" in page.out
    assert "work" not in page.out.split("for your health")[1]
    with pytest.raises(UsageError, match="nothing is proposed yet"):
        ask("shed", "--accept")
    with pytest.raises(UsageError, match="for your health"):
        ask("--well")
    after = ask("--well", "chest")
    assert "see a doctor before your next session" in after.out
    assert "% of the work" in after.out
    assert "session 1 of 9" in after.out


def test_next_asks_about_the_morning_and_takes_the_answer(
    services: ServicesForTests, ask: Callable[..., Answer]
) -> None:
    running = start_session(services, services.circuits.read("shed"))
    run_until(services, running, 90_000)
    running.session.do(EnterDiscomfort("knee", "right", 3))
    running.session.do(Do.STOP)
    running.session.close()
    assert running.release()
    services.standing.now_ms += 3 * DAY_MS
    assert "right knee, 3 of 10. How was it on the next morning?" in ask().out
    assert "saved: right knee, worse the next morning" in ask("--morning", "worse").out
    assert "How was it" not in ask().out
    with pytest.raises(UsageError, match="no discomfort waits"):
        ask("--morning", "same")


def test_what_is_sore_is_left_out_for_14_days_where_that_is_offered(
    services: ServicesForTests, ask: Callable[..., Answer]
) -> None:
    with pytest.raises(UsageError, match="nothing is offered"):
        ask("shed", "--leave-out")
    running = start_session(services, services.circuits.read("shed"))
    run_until(services, running, 24 * 3_600_000)
    running.session.do(EnterDiscomfort("knee", "right", 6))
    running.session.close()
    assert running.release()
    services.standing.now_ms += 3 * DAY_MS
    assert "physiotherapist look at it" in ask("shed").out or "Not this" in ask().out
    today = services.clock.wall().date()
    left_out = ask("shed", "--leave-out").out
    assert left_out == f"left out until {today + timedelta(days=14)}: right knee\n"
    (limit,) = services.kit.limits_in_force()
    assert (limit.kind, limit.value, limit.strength) == ("site", "knee", "out")
    assert limit.side == "right"
    with pytest.raises(UsageError, match="nothing is offered"):
        ask("shed", "--leave-out")
