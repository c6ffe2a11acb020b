"""`run`: which plan, on which kind of terminal, by which driver."""

from __future__ import annotations

from typing import TYPE_CHECKING

from whistlestop.domain.circuit import Circuit, quick_circuit
from whistlestop.domain.pairing import ALONE, Company
from whistlestop.domain.timeline import compile_plan
from whistlestop.driver.house import House
from whistlestop.errors import UsageError

if TYPE_CHECKING:
    import argparse

    from whistlestop.domain.plan import Plan

_QUICK = ("stations", "work", "recover", "loops", "loop_break")


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
    plan, company = _plan(house, arguments)
    if arguments.plain:
        from whistlestop.cli.line_run import run_in_lines

        return run_in_lines(house, plan, arguments, company)
    from whistlestop.cli.screens import full_screen

    return full_screen(house, plan=plan, company=company)


def _plan(house: House, arguments: argparse.Namespace) -> tuple[Plan, Company]:
    quick = {name: getattr(arguments, name) for name in _QUICK}
    is_quick = any(value is not None for value in quick.values())
    asked = [arguments.circuit is not None, arguments.again, is_quick]
    if sum(asked) > 1:
        raise UsageError("choose one: a circuit, --again, or your own numbers")
    if arguments.again:
        if arguments.companion is not None or arguments.offset is not None:
            raise UsageError("--again uses the same partner as last time")
        return house.last_plan()
    if arguments.circuit is not None:
        circuit = house.as_stepped(house.circuit(arguments.circuit))
        return _for_whom(house, circuit, arguments)
    if not is_quick:
        raise UsageError(
            "no circuit given",
            "a circuit, --again, --resume, or --stations 10 --work 40 --recover 20",
        )
    if quick["stations"] is None:
        raise UsageError("without a file --stations is needed")
    circuit = quick_circuit(
        stations=quick["stations"],
        work_ms=_seconds(quick["work"], 40),
        recover_ms=_seconds(quick["recover"], 20),
        loops=quick["loops"] or 1,
        loop_break_ms=_seconds(quick["loop_break"], 0),
    )
    return _for_whom(house, circuit, arguments)


def _for_whom(
    house: House, circuit: Circuit, arguments: argparse.Namespace
) -> tuple[Plan, Company]:
    """The plan for one, or with `--with` the common one for two."""
    if arguments.companion is None:
        if arguments.offset is not None:
            from whistlestop.cli.circuits import refuse_lone_offset

            refuse_lone_offset(arguments)
        return compile_plan(circuit), ALONE
    from whistlestop.cli.output import remark
    from whistlestop.driver.pairs import together

    name, offset = arguments.companion, arguments.offset
    plan, company, pairing = together(house, circuit, name, offset, keep=True)
    remark(*filter(None, [pairing.differs]), *(c.sentence for c in pairing.clashes))
    return plan, company


def _refuse_beside_resume(arguments: argparse.Namespace) -> None:
    """The session to be resumed has its plan already."""
    others = ("circuit", "speed", "effort", "companion", "offset", *_QUICK)
    if arguments.again or any(getattr(arguments, name) is not None for name in others):
        raise UsageError("--resume goes with --plain alone, or with nothing")


def _seconds(value: int | None, default: int) -> int:
    return (default if value is None else value) * 1000


def _resume(house: House, arguments: argparse.Namespace) -> int:
    interrupted = house.interrupted()
    if interrupted is None:
        raise UsageError("no interrupted session")
    if arguments.plain:
        from whistlestop.cli.line_run import resume_in_lines

        return resume_in_lines(house, interrupted.id)
    from whistlestop.cli.screens import full_screen

    return full_screen(house, resume=interrupted.id)
