"""Running in line mode: what is brought together, and how it is put away."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from whistlestop.cli.keyboard import LineKeyboard
from whistlestop.cli.output import remark, say
from whistlestop.cli.plain import PlainRun
from whistlestop.cli.receipts import Receipts
from whistlestop.cli.signals import ending_signals
from whistlestop.domain.pairing import ALONE, Company
from whistlestop.domain.plan import Plan
from whistlestop.driver.house import House
from whistlestop.driver.script import EffortScript, SimulatedClock
from whistlestop.driver.session import Options
from whistlestop.driver.starting import Running
from whistlestop.engine.commands import FIRST_ATHLETE
from whistlestop.errors import StoreError


def resume_in_lines(house: House, session_id: str) -> int:
    """Take an interrupted session up again in line mode, paused."""
    running = house.resume(session_id, sound=house.sound())
    if running.session.is_over:
        say("it was interrupted as it ended; here is what is asked after the end")
    else:
        say(f"resumed, paused; {running.session.last_gap_ms // 1000} s were lost")
    return _plain_loop(house, running, begin=False)


def run_in_lines(
    house: House,
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
        others = [athlete for athlete, _ in company.others]
        efforts = EffortScript.parse(arguments.effort, [FIRST_ATHLETE, *others])
    _print_notice(house)
    if arguments.speed is None:
        options = house.options(scripted=efforts is not None)
        running = house.start(
            plan, options=options, sound=house.sound(), company=company
        )
        return _plain_loop(house, running, begin=True, efforts=efforts)
    clock = SimulatedClock(house.clock.wall())
    running = house.start(
        plan,
        options=Options(count_in_ms=0, scripted=True, watch_gaps=False),
        clock=clock,
        company=company,
    )

    keyboard = LineKeyboard()
    keyboard.close()
    script = efforts or EffortScript([])
    receipts = Receipts(running.writer, waits=True)
    told = _told(house, running, keyboard, receipts, script)
    with _kept(running), ending_signals() as ended:
        told.begin()
        told.run_simulated(clock, arguments.speed)
        told.close_out()
    return _close(running, told) or ended.status


def _plain_loop(
    house: House,
    running: Running,
    *,
    begin: bool,
    efforts: EffortScript | None = None,
) -> int:
    receipts = Receipts(running.writer)
    told = _told(house, running, LineKeyboard(), receipts, efforts)
    with _kept(running), ending_signals() as ended:
        for warning in running.warnings:
            remark(warning)
        if begin:
            told.begin()
        told.run()
        told.close_out()
    return _close(running, told) or ended.status


def _told(
    house: House,
    running: Running,
    keyboard: LineKeyboard,
    receipts: Receipts,
    script: EffortScript | None,
) -> PlainRun:
    session, names = running.session, None
    if session.company.others:
        from whistlestop.driver.pairs import called

        names = called(house, session.athletes)
    return PlainRun(
        session,
        keymap=house.keymap,
        keyboard=keyboard,
        receipts=receipts,
        script=script,
        names=names,
    )


@contextmanager
def _kept(running: Running) -> Iterator[None]:
    """Close the record before any fault goes on its way, such as a closed pipe."""
    try:
        yield
    except BaseException:
        running.session.close()
        running.release()
        raise


def _close(running: Running, told: PlainRun) -> int:
    running.session.close()
    if running.release():
        told.acknowledge()
        return 0
    try:
        copy = running.writer.emergency_copy(Path.cwd())
        remark(f"the log could not be written; a copy of this session is {copy.name}")
    except StoreError as error:
        remark(f"the log could not be written, nor a copy: {error}")
    return 1


def _print_notice(house: House) -> None:
    from whistlestop.library.cautions import FIRST_NOTICE

    if not house.remembered().notice_acknowledged:
        remark(*FIRST_NOTICE)
