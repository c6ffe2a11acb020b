"""`run`: which plan, on which kind of terminal, by which driver."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TextIO

from whistlestop.cli.keyboard import LineKeyboard
from whistlestop.cli.output import remark, say
from whistlestop.cli.plain import PlainRun
from whistlestop.cli.signals import ending_signals
from whistlestop.domain.circuit import quick_circuit
from whistlestop.domain.plan import Plan
from whistlestop.domain.timeline import compile_plan
from whistlestop.driver.house import House, Running
from whistlestop.driver.script import EffortScript, SimulatedClock
from whistlestop.driver.session import Options
from whistlestop.errors import StoreError, UsageError

_QUICK = ("stations", "work", "recover", "loops", "loop_break")


def rooms(arguments: argparse.Namespace) -> int:
    """Open the circuits room."""
    return _full_screen(House(getattr(arguments, "home", None)))


def run(arguments: argparse.Namespace) -> int:
    """Train: from a circuit, from figures, again, or where it was interrupted."""
    if arguments.speed is not None and not arguments.plain:
        raise UsageError("--speed needs --plain")
    if arguments.effort is not None and not arguments.plain:
        raise UsageError("--effort needs --plain")
    house = House(getattr(arguments, "home", None))
    if arguments.resume:
        _refuse_beside_resume(arguments)
        return _resume(house, arguments)
    plan = _plan(house, arguments)
    if arguments.plain:
        return _plain(house, plan, arguments)
    return _full_screen(house, plan=plan)


def _plan(house: House, arguments: argparse.Namespace) -> Plan:
    quick = {name: getattr(arguments, name) for name in _QUICK}
    is_quick = any(value is not None for value in quick.values())
    asked = [arguments.circuit is not None, arguments.again, is_quick]
    if sum(asked) > 1:
        raise UsageError("a circuit, --again, or figures: one of them")
    if arguments.again:
        return house.last_plan()
    if arguments.circuit is not None:
        return compile_plan(house.circuit(arguments.circuit))
    if not is_quick:
        raise UsageError(
            "what is to be run?",
            "a circuit, --again, --resume, or --stations 10 --work 40 --recover 20",
        )
    if quick["stations"] is None:
        raise UsageError("without a file --stations is needed")
    return compile_plan(
        quick_circuit(
            stations=quick["stations"],
            work_ms=_seconds(quick["work"], 40),
            recover_ms=_seconds(quick["recover"], 20),
            loops=quick["loops"] or 1,
            loop_break_ms=_seconds(quick["loop_break"], 0),
        )
    )


def _refuse_beside_resume(arguments: argparse.Namespace) -> None:
    """The session to be resumed has its plan already."""
    others = ("circuit", "speed", "effort", *_QUICK)
    if arguments.again or any(getattr(arguments, name) is not None for name in others):
        raise UsageError("--resume goes with --plain alone, or with nothing")


def _seconds(value: int | None, default: int) -> int:
    return (default if value is None else value) * 1000


def _resume(house: House, arguments: argparse.Namespace) -> int:
    interrupted = house.interrupted()
    if interrupted is None:
        raise UsageError("no session was interrupted")
    if not arguments.plain:
        return _full_screen(house, resume=interrupted.id)
    running = house.resume(interrupted.id, sound=house.sound())
    say(f"resumed, paused; {running.session.last_gap_ms // 1000} s were lost")
    return _plain_loop(house, running, begin=False)


def _plain(house: House, plan: Plan, arguments: argparse.Namespace) -> int:

    efforts = None
    if arguments.effort is not None:
        efforts = EffortScript.parse(arguments.effort)
    _print_notice(house)
    if arguments.speed is None:
        options = house.options(scripted=efforts is not None)
        running = house.start(plan, options=options, sound=house.sound())
        return _plain_loop(house, running, begin=True, efforts=efforts)
    clock = SimulatedClock(house.clock.wall())
    running = house.start(
        plan,
        options=Options(count_in_ms=0, scripted=True, watch_gaps=False),
        clock=clock,
    )

    keyboard = LineKeyboard()
    keyboard.close()
    script = efforts or EffortScript([])
    told = PlainRun(
        running.session, keymap=house.keymap, keyboard=keyboard, script=script
    )
    with _kept(running), ending_signals() as ended:
        told.begin()
        told.run_simulated(clock, arguments.speed)
        told.close_out()
    return _close(running) or ended.status


def _plain_loop(
    house: House,
    running: Running,
    *,
    begin: bool,
    efforts: EffortScript | None = None,
) -> int:

    told = PlainRun(
        running.session, keymap=house.keymap, keyboard=LineKeyboard(), script=efforts
    )
    with _kept(running), ending_signals() as ended:
        for warning in running.warnings:
            remark(warning)
        if begin:
            told.begin()
        told.run()
        told.close_out()
    return _close(running) or ended.status


@contextmanager
def _kept(running: Running) -> Iterator[None]:
    """Close the record before any fault goes on its way, such as a closed pipe."""
    try:
        yield
    except BaseException:
        running.session.close()
        running.release()
        raise


def _close(running: Running) -> int:
    running.session.close()
    if running.release():
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


def _full_screen(house: House, **what: object) -> int:
    trouble = terminal_trouble()
    if trouble:
        raise UsageError(trouble, "run CIRCUIT --plain works everywhere")
    if not _draws(sys.__stderr__):
        screen = replace(house.settings.screen, ascii=True)
        house.settings = replace(house.settings, screen=screen)
    from whistlestop.tui.app import run_app

    return run_app(house, **what)


def _draws(stream: TextIO | None) -> bool:
    """Whether the screens, which go to standard error, may hold more than ASCII."""
    encoding = (stream.encoding if stream is not None else "") or ""
    return encoding.lower().replace("-", "").startswith("utf")


def terminal_trouble() -> str:
    """Why this terminal cannot show the screens; empty if it can."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return "the screens need a terminal"
    if os.environ.get("TERM", "") in {"", "dumb", "unknown"}:
        return "this terminal cannot place text on a screen"
    return ""
