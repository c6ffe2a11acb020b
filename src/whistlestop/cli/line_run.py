"""Running in line mode: what is brought together, and how it is put away."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from whistlestop.cli.keyboard import LineKeyboard
from whistlestop.cli.output import remark
from whistlestop.cli.plain import PlainRun
from whistlestop.cli.receipts import Receipts
from whistlestop.cli.signals import ending_signals
from whistlestop.domain.plan.pairing import ALONE, Company
from whistlestop.domain.plan.plan import Plan
from whistlestop.driver.guard import NAMES, NOTICE
from whistlestop.driver.script import EffortScript, SimulatedClock
from whistlestop.driver.services import Services
from whistlestop.driver.session import Options
from whistlestop.driver.starting import RunningSession
from whistlestop.errors import StoreError


def resume_in_lines(services: Services, session_id: str) -> int:
    """Take an interrupted session up again in line mode, paused."""
    running = services.sessions.resume(session_id)
    opening = "it was interrupted as it ended; here is what is asked after the end"
    if not running.session.is_over:
        lost_s = running.session.last_gap_ms // 1000
        opening = f"resumed, paused; {lost_s} s were lost"
    return _plain_loop(services, running, opening=opening)


def run_in_lines(
    services: Services,
    plan: Plan,
    arguments: argparse.Namespace,
    company: Company = ALONE,
) -> int:
    """Run a plan in line mode, live or, with `--speed`, simulated.

    Raises:
        UsageError: The efforts are none.
    """
    efforts = None
    if arguments.effort is not None:
        efforts = EffortScript.parse(arguments.effort, company.athletes)
    _print_notice(services)
    if arguments.speed is None:
        if efforts is None:
            _ask_page(services)
        options = services.sessions.options(scripted=efforts is not None)
        running = services.sessions.start(plan, options=options, company=company)
        return _plain_loop(services, running, efforts=efforts)
    clock = SimulatedClock(services.clock.wall())
    running = services.sessions.start(
        plan,
        options=Options(count_in_ms=0, scripted=True, watch_gaps=False),
        clock=clock,
        company=company,
    )

    keyboard = LineKeyboard()
    keyboard.close()
    script = efforts or EffortScript([])
    receipts = Receipts(running.writer, waits=True)
    details = _printing(services, running, keyboard, receipts, script)
    with _closing(running), ending_signals() as ended:
        details.begin()
        details.run_simulated(clock, arguments.speed)
        details.close_out()
    return _close(running, details) or ended.status or _end_output(details)


def _plain_loop(
    services: Services,
    running: RunningSession,
    *,
    opening: str = "",
    efforts: EffortScript | None = None,
) -> int:
    """Run to the end; with an opening line it stands in the middle already."""
    receipts = Receipts(running.writer)
    details = _printing(services, running, LineKeyboard(), receipts, efforts)
    with _closing(running), ending_signals() as ended:
        running.open_sound()
        details.show_messages()
        if opening:
            details.say(opening)
        else:
            details.begin()
        details.run()
        details.close_out()
    return _close(running, details) or ended.status or _end_output(details)


def _end_output(runner: PlainRun) -> int:
    """The status where lines were lost; the interpreter must not flush them again."""
    if not runner.has_lost_output:
        return 0
    if sys.stdout is not None:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 0 if runner.has_lost_reader else 1


def _printing(
    services: Services,
    running: RunningSession,
    keyboard: LineKeyboard,
    receipts: Receipts,
    script: EffortScript | None,
) -> PlainRun:
    session, names = running.session, None
    if session.engine.company.others:
        from whistlestop.driver.athletes import called

        plain = {who: who for who in session.athletes}
        names = session.guard.call(
            NAMES, lambda: called(services.places, session.athletes), plain
        )
    return PlainRun(
        session,
        keymap=services.keymap,
        keyboard=keyboard,
        receipts=receipts,
        script=script,
        names=names,
    )


@contextmanager
def _closing(running: RunningSession) -> Iterator[None]:
    """Close the record before any fault goes on its way, such as a closed pipe."""
    try:
        yield
    except BaseException:
        running.session.close()
        running.release()
        raise


def _close(running: RunningSession, runner: PlainRun) -> int:
    running.session.close()
    if running.release():
        runner.acknowledge()
        return 0
    try:
        copy = running.writer.emergency_copy(Path.cwd())
        remark(f"the log could not be written; a copy of this session is {copy.name}")
    except StoreError as error:
        remark(f"the log could not be written, nor a copy: {error}")
    return 1


def _ask_page(services: Services) -> None:
    """After a stop for health its page comes first; a scripted run is no session."""
    if services.wellbeing.stop_in_view() is not None:
        from whistlestop.cli.well import ask_page

        ask_page(services)


def _print_notice(services: Services) -> None:
    services.guard.call(NOTICE, lambda: _print_unread(services), None)


def _print_unread(services: Services) -> None:
    from whistlestop.library.cautions import FIRST_NOTICE

    if not services.memory.read().notice_acknowledged:
        remark(*FIRST_NOTICE)
