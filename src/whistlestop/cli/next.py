"""`next`: the one next thing for each circuit in use, decisions, and weeks ahead."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from whistlestop.cli.next_weeks import add_weeks, is_about_weeks, weeks
from whistlestop.cli.options import add_options, value_of
from whistlestop.cli.output import remark, say, say_json
from whistlestop.cli.well import (
    ILLNESS,
    answer_morning,
    answer_well,
    morning_lines,
    refuse_before_page,
    say_page,
)
from whistlestop.coach.decisions import PUT_OFF, PUT_OFF_DAYS
from whistlestop.domain.circuit.circuit import LOOPS
from whistlestop.domain.field import Whole
from whistlestop.domain.reasons import REFUSAL_REASONS, RefusalReason
from whistlestop.domain.targets import EMPHASES, Targets
from whistlestop.driver.services import Services
from whistlestop.errors import UsageError, WhistlestopError
from whistlestop.review.wellbeing import CAUSES, FELT

if TYPE_CHECKING:
    from datetime import date

    from whistlestop.domain.circuit.circuit import Circuit
    from whistlestop.driver.coaching import CircuitAdvice, Coaching


def add_next(parser: argparse.ArgumentParser) -> None:
    """Add what may be typed after `next`."""
    parser.add_argument(
        "circuits", nargs="*", metavar="CIRCUIT", help="by default all in use"
    )
    parser.add_argument(
        "--emphasis", choices=EMPHASES, help="default: as in your weeks, or build"
    )
    parser.add_argument(
        "--target", type=_number(2, 16), metavar="EFFORT", help="target effort, 1 to 8"
    )
    add_options(parser, Targets, "")
    parser.add_argument(
        "--after-injury", action="store_true", help="you are returning after an injury"
    )
    parser.add_argument(
        "--well",
        nargs="?",
        choices=(*CAUSES, ILLNESS),
        const=ILLNESS,
        metavar="WHAT",
        help="you are well again: after a stop for health, what it was "
        f"({', '.join(CAUSES)}); after an illness, no symptoms for 24 hours "
        "without medicine",
    )
    parser.add_argument(
        "--morning", choices=FELT, help="how a noted discomfort was the next morning"
    )
    parser.add_argument("--json", action="store_true", help="as JSON")
    decide = parser.add_argument_group("decide (one circuit)")
    decide.add_argument(
        "--leave-out",
        action="store_true",
        help="leave out for 14 days what is sore, where that is offered",
    )
    decide.add_argument("--accept", action="store_true", help="accept the proposal")
    decide.add_argument(
        "--later",
        nargs="?",
        type=value_of(PUT_OFF),
        const=PUT_OFF_DAYS,
        metavar="DAYS",
        help="put it off (default: 7 days)",
    )
    decide.add_argument(
        "--because",
        choices=REFUSAL_REASONS,
        help="with --later, or for the steps put off last: why",
    )
    decide.add_argument(
        "--work",
        type=value_of(Whole(15, 600)),
        metavar="SECONDS",
        help="this interval instead",
    )
    decide.add_argument(
        "--loops", type=value_of(LOOPS), metavar="N", help="this many loops instead"
    )
    decide.add_argument(
        "--recover",
        type=value_of(Whole(0, 600)),
        metavar="SECONDS",
        help="this recovery instead",
    )
    add_weeks(parser)


def next_step(arguments: argparse.Namespace) -> int:
    """Show what comes next, save a decision, or show weeks ahead."""
    services = Services(getattr(arguments, "home", None))
    if arguments.well is not None:
        answer_well(services, arguments.well)
    if arguments.morning is not None:
        answer_morning(services, arguments.morning)
    if not arguments.json and say_page(services):
        _refuse_decision(arguments)
        return 0
    if is_about_weeks(arguments):
        refuse_before_page(services)
        return weeks(services, arguments)
    return _advise(services, arguments)


def _refuse_decision(arguments: argparse.Namespace) -> None:
    if _is_decided(arguments):
        raise UsageError("nothing is proposed yet", "next --well, with what it was")


def _is_decided(arguments: argparse.Namespace) -> bool:
    changed = (arguments.work, arguments.loops, arguments.recover)
    explained = arguments.because is not None and arguments.later is None
    several = (
        arguments.accept,
        arguments.later is not None,
        explained,
        any(value is not None for value in changed),
        arguments.leave_out,
    )
    if sum(several) > 1:
        raise UsageError(
            "accept it, put it off, change it or leave out: one of them",
            "--accept, --later or --because, --leave-out, or --work, --loops and "
            "--recover",
        )
    return any(several)


def _advise(services: Services, arguments: argparse.Namespace) -> int:
    from whistlestop.coach.next_step import answer_json, answer_lines
    from whistlestop.coach.weeks import planned_text
    from whistlestop.driver.coaching import Coaching, CoachWishes

    decided = _is_decided(arguments)
    if decided:
        refuse_before_page(services)
    coaching = Coaching(services)
    named = tuple(arguments.circuits)
    if decided and len(named) != 1:
        raise UsageError("a decision is about one circuit", "next CIRCUIT --accept")
    wants = CoachWishes(
        arguments.emphasis,
        None if arguments.target is None else arguments.target / 2,
        arguments.key_days or frozenset(),
        arguments.after_injury,
    )
    found = [
        coaching.advise(circuit, wants)
        for circuit in (
            [services.circuits.read(key) for key in named]
            if named
            else _in_use(services, coaching)
        )
    ]
    remark(*coaching.decisions().problems)
    if not found:
        remark("no circuit in the last 90 days; next CIRCUIT asks about one")
    if decided:
        return _decide(coaching, found[0], arguments)
    planned = _planned(services, [advice.answer.circuit for advice in found])
    if arguments.json:
        say_json(
            [
                {
                    **answer_json(advice.answer),
                    "outcome": advice.outcome or None,
                    "planned": _as_iso(planned.get(advice.answer.circuit)),
                }
                for advice in found
            ]
        )
        return 0
    say(*morning_lines(services))
    for advice in found:
        remark(*advice.progress.problems)
        say(*answer_lines(advice.answer))
        if advice.answer.proposal.asks == "why-put-off":
            asked = f"next {advice.answer.circuit} --because"
            say(f"  answer: {asked}, and one of {', '.join(REFUSAL_REASONS)}")
        day = planned.get(advice.answer.circuit)
        if day is not None and day > services.clock.wall().date():
            say(f"  {planned_text(day)}")
        if advice.outcome:
            say(f"  {advice.outcome}")
    if found:
        say(*_new_lines(services, found))
    return 0


def _as_iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _planned(services: Services, circuits: Sequence[str]) -> dict[str, date]:
    """The next day of the saved plan for each circuit that has one."""
    from whistlestop.driver.planning import Planning

    try:
        return Planning(services).next_days(circuits)
    except WhistlestopError as error:
        remark(f"{error}")
        return {}


def _in_use(services: Services, coaching: Coaching) -> Iterator[Circuit]:
    """The circuits done lately; one that cannot be read is named and passed by."""
    for key in coaching.in_use():
        try:
            yield services.circuits.read(key)
        except UsageError:
            remark(coaching.file_missing(key))
        except WhistlestopError as error:
            remark(f"{key}: {error}")


def _new_lines(services: Services, found: Sequence[CircuitAdvice]) -> list[str]:
    """Something new for today, what is due to change, and what was never used."""
    from whistlestop.driver.next_look import due_to_change, novelty

    new = novelty(services, found)
    lines = [new.pick.sentence] if new.pick else []
    for advice in found:
        if turn := due_to_change(advice):
            lines.append(f"{advice.answer.name}, due to change: {turn.title}")
    unused = (
        f"never used: {new.stations} of {new.of_stations} stations, "
        f"{new.drills} of {new.of_drills} drills"
    )
    return [*lines, unused]


def _decide(coaching: object, advice: object, arguments: argparse.Namespace) -> int:
    from whistlestop.coach.changes import shape_of, totals_of
    from whistlestop.coach.coming_back import asks_whether_well
    from whistlestop.coach.instead import own_amounts
    from whistlestop.driver.coaching import CircuitAdvice, Coaching
    from whistlestop.errors import ChangeError

    assert isinstance(coaching, Coaching)
    assert isinstance(advice, CircuitAdvice)
    proposal = advice.answer.proposal
    if asks_whether_well(proposal):
        raise UsageError("first say that you are well", "next --well")
    if arguments.leave_out:
        return _leave_out(coaching, advice)
    because: RefusalReason = arguments.because or ""
    if arguments.later is not None:
        days = arguments.later
        made = coaching.save(advice, "put_off", put_off_days=days, reason=because)
        say(f"{proposal.title}: put off until {made.until}")
        return 0
    if because:
        return _explain(coaching, advice, because)
    if arguments.accept:
        coaching.save(advice, "accept")
        say(f"{proposal.title}: accepted")
        return 0
    now = totals_of(advice.progress.circuit)
    work, rest = arguments.work, arguments.recover
    try:
        chosen = own_amounts(
            advice.context,
            advice.answer,
            interval_ms=None if work is None else work * 1000,
            loops=arguments.loops,
            recover_ms=None if rest is None else rest * 1000,
        ).proposal
    except ChangeError as error:
        raise UsageError(f"{error}", f"it is {shape_of(now)}") from None
    coaching.save(advice, "change", instead=chosen)
    say(f"saved instead: {shape_of(chosen.after)}")
    return 0


def _explain(coaching: Coaching, advice: CircuitAdvice, because: RefusalReason) -> int:
    for made in coaching.explain(advice, because):
        say(f"{made.title}: put off until {made.until}, {because}")
    return 0


def _leave_out(coaching: Coaching, advice: CircuitAdvice) -> int:
    from whistlestop.domain.limits import site_name

    limits = coaching.leave_out(advice)
    if not limits:
        raise UsageError("nothing is offered to be left out")
    for limit in limits:
        say(f"left out until {limit.until}: {site_name(limit)}")
    return 0


# --- What is typed -------------------------------------------------------------


def _number(least: int, most: int) -> Callable[[str], int]:
    """An effort in half points, as twice its number."""

    def halves(text: str) -> int:
        from whistlestop.domain.effort import Effort

        try:
            value = Effort.parse(text).halves
        except ValueError as error:
            raise argparse.ArgumentTypeError(str(error)) from None
        if not least <= value <= most:
            message = f"expected an effort from {least / 2:g} to {most / 2:g}"
            raise argparse.ArgumentTypeError(message)
        return value

    return halves
