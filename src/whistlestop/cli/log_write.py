"""`log amend`, `add`, `enter`, `mark`, `full`, `delete`, `undo`, `redo`."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Final

from whistlestop.cli.output import minutes, say
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.plan import Plan
from whistlestop.driver.diary import Amendment, TrainingEntry, planned
from whistlestop.driver.next_steps import for_session
from whistlestop.driver.services import Services
from whistlestop.errors import UsageError
from whistlestop.review.days import Mark
from whistlestop.review.heart import Heart, heart_text, parse_heart
from whistlestop.review.items import BLANKS_TEXT


def amend(services: Services, arguments: argparse.Namespace) -> int:
    """Amend a session or an entry, and show it as it stands now."""
    # Not given is False; None is an effort taken back.
    has_effort = arguments.effort is not False
    effort: Effort | None = arguments.effort if has_effort else None
    if arguments.loop is not None and not has_effort:
        raise UsageError("--loop goes with --effort")
    felt = arguments.discomfort or []
    amended = services.diary().amend(
        arguments.id,
        Amendment(
            efforts={arguments.loop: effort} if arguments.loop else None,
            effort=None if arguments.loop else effort,
            sets_effort=has_effort and arguments.loop is None,
            note=arguments.note,
            felt=tuple(each for each in felt if each is not None),
            without_discomforts=None in felt,
            left_out_for=arguments.left_out or "",
        ),
    )
    say(f"amended: {amended}; `log show {amended}` shows every version")
    return 0


def add(services: Services, arguments: argparse.Namespace) -> int:
    """Enter other training."""
    done = TrainingEntry(
        arguments.date or services.clock.wall().date(),
        arguments.sport,
        arguments.minutes,
        effort=arguments.effort,
        note=arguments.note,
        heart=_heart(services, arguments.heart),
    )
    made = services.diary().add_training(done)
    say(f"entered: {done.name}, {minutes(done.length_ms)}, {done.day} ({made})")
    if done.heart is not None:
        say(heart_text(done.heart, done.length_ms))
    return 0


def _heart(services: Services, text: str | None) -> Heart | None:
    if text is None:
        return None
    try:
        return parse_heart(text, services.diary().last_heart())
    except ValueError as error:
        raise UsageError(f"--heart: {error}") from None


def enter(services: Services, arguments: argparse.Namespace) -> int:
    """Enter a session of a circuit that was done without the laptop."""
    diary = services.diary()
    # As it would be done with the laptop: with the steps that were accepted.
    circuit = for_session(services, services.circuits.read(arguments.circuit))
    plan = planned(circuit, arguments.loops)
    done = TrainingEntry(
        arguments.date or services.clock.wall().date(),
        plan.name,
        arguments.minutes or plan.total_ms,
        effort=arguments.effort,
        efforts=_efforts(arguments.efforts, plan),
        note=arguments.note,
        circuit=plan.circuit,
        plan=plan,
        stations=tuple(arguments.at_stations),
        felt=tuple(arguments.discomfort),
    )
    made = diary.enter_session(done)
    length = "" if arguments.minutes else " as planned"
    say(f"entered: {done.name}, {minutes(done.length_ms)}{length}, {done.day} ({made})")
    return 0


def _efforts(text: str | None, plan: Plan) -> tuple[Effort | None, ...]:
    """The efforts of the loops of a plan, in order.

    Raises:
        UsageError: One is no effort, or there are more than loops.
    """
    if text is None:
        return ()
    try:
        efforts = tuple(
            None if each.strip() == "-" else Effort.parse(each)
            for each in text.split(",")
        )
    except ValueError as error:
        raise UsageError(f"--efforts: {error}") from None
    if len(efforts) > plan.loops:
        loops = f"{plan.loops} {'loop' if plan.loops == 1 else 'loops'}"
        raise UsageError(
            f"--efforts: {len(efforts)} efforts are given, and {plan.name} has {loops}",
            "give at most one for each loop, or say --loops",
        )
    return efforts


def mark(services: Services, arguments: argparse.Namespace) -> int:
    """Mark days."""
    span = arguments.days
    made = services.diary().mark(Mark(arguments.mark), span, arguments.note)
    say(f"marked: {arguments.mark}, {span.first} to {span.last} ({made})")
    return 0


def full(services: Services, arguments: argparse.Namespace) -> int:
    """Say that a period is fully logged: its blank days count as rest."""
    span = arguments.days
    made = services.diary().fully_logged(span)
    say(
        f"fully logged: {span.first} to {span.last}; a blank day in it counts as rest "
        f"({made})"
    )
    return 0


def blanks(services: Services, arguments: argparse.Namespace) -> int:
    """State how blank days count from a day on."""
    as_rest = arguments.count == "rest"
    logbook = services.logbook()
    # Not given is False; None is the whole log.
    first = arguments.day or logbook.today
    if arguments.day is None:
        first = logbook.book().first_day or first
    made = services.diary().count_blanks(first, as_rest=as_rest)
    say(f"{BLANKS_TEXT[arguments.count]}: {first} ({made}); `log undo` undoes it")
    return 0


def delete(services: Services, arguments: argparse.Namespace) -> int:
    """Put a session or an entry under a tombstone."""
    deleted = services.diary().delete(arguments.id)
    say(f"deleted: {deleted}; `log undo` restores it")
    return 0


def undo(services: Services, arguments: argparse.Namespace) -> int:
    """Take the last act back."""
    del arguments
    say(f"undone: {services.diary().undo()}; `log redo` redoes it")
    return 0


def redo(services: Services, arguments: argparse.Namespace) -> int:
    """Take the last undo back."""
    del arguments
    say(f"redone: {services.diary().redo()}")
    return 0


COMMANDS: Final[dict[str, Callable[[Services, argparse.Namespace], int]]] = {
    "amend": amend,
    "add": add,
    "enter": enter,
    "mark": mark,
    "full": full,
    "blanks": blanks,
    "delete": delete,
    "undo": undo,
    "redo": redo,
}
