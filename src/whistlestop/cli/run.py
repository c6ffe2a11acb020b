"""`run`: which plan, on which kind of terminal, by which driver."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from whistlestop.cli.options import typed_over
from whistlestop.domain.circuit.circuit import Circuit, Station, quick_circuit
from whistlestop.domain.field import options_of
from whistlestop.domain.plan.pairing import ALONE, Company
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.next_steps import for_session
from whistlestop.driver.services import Services
from whistlestop.errors import UsageError

if TYPE_CHECKING:
    import argparse

    from whistlestop.domain.plan.plan import Plan

_QUICK = (
    "stations",
    *(one.name for table in (Circuit, Station) for one in options_of(table)),
)


def run(arguments: argparse.Namespace) -> int:
    """Train: from a circuit, from figures, again, or where it was interrupted."""
    if arguments.speed is not None and not arguments.plain:
        raise UsageError("--speed needs --plain")
    if arguments.effort is not None and not arguments.plain:
        raise UsageError("--effort needs --plain")
    services = Services(getattr(arguments, "home", None))
    if arguments.resume:
        _refuse_beside_resume(arguments)
        return _resume(services, arguments)
    plan, company = _plan(services, arguments)
    if arguments.plain:
        from whistlestop.cli.output import remark
        from whistlestop.driver.before_start import against_limits

        remark(*against_limits(services, plan, company))
        from whistlestop.cli.line_run import run_in_lines

        status = run_in_lines(services, plan, arguments, company)
    else:
        from whistlestop.cli.screens import full_screen

        status = full_screen(services, plan=plan, company=company)
    if services.sessions.texts_elsewhere:
        from whistlestop.cli.output import remark

        remark(
            f"{plan.name} is not among your circuits; `whistlestop log save-circuit "
            f"{plan.circuit}` puts it there"
        )
    return status


def _plan(services: Services, arguments: argparse.Namespace) -> tuple[Plan, Company]:
    is_quick = any(getattr(arguments, name) is not None for name in _QUICK)
    asked = [arguments.circuit is not None, arguments.again, is_quick]
    if sum(asked) > 1:
        raise UsageError("choose one: a circuit, --again, or your own numbers")
    if arguments.again:
        if arguments.companion is not None or arguments.offset is not None:
            raise UsageError("--again uses the same partner as last time")
        from whistlestop.cli.well import refuse_before_page

        refuse_before_page(services)
        return services.log.last_plan()
    if arguments.circuit is not None:
        found = services.circuits.read(arguments.circuit)
        if text := services.circuits.text_elsewhere(arguments.circuit):
            services.sessions.texts_elsewhere[found.id] = text
        circuit = for_session(services, found)
        return _for_whom(services, circuit, arguments)
    if not is_quick:
        raise UsageError(
            "no circuit given",
            "a circuit, --again, --resume, or --stations 10 --work 40 --recover 20",
        )
    if arguments.stations is None:
        raise UsageError("without a file --stations is needed")
    given = typed_over(Circuit("quick", "", ()), arguments)
    circuit = quick_circuit(
        stations=arguments.stations,
        work_ms=given.work_ms,
        recover_ms=given.recover_ms,
        loops=given.loops,
        loop_break_ms=given.loop_break_ms or 0,
    )
    stations = tuple(typed_over(one, arguments) for one in circuit.stations)
    circuit = replace(circuit, stations=stations)
    return _for_whom(services, circuit, arguments)


def _for_whom(
    services: Services, circuit: Circuit, arguments: argparse.Namespace
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
    plan, company, pairing = together(services, circuit, name, offset, keep=True)
    remark(*filter(None, [pairing.differs]), *(c.sentence for c in pairing.clashes))
    return plan, company


def _refuse_beside_resume(arguments: argparse.Namespace) -> None:
    """The session to be resumed has its plan already."""
    others = ("circuit", "speed", "effort", "companion", "offset", *_QUICK)
    if arguments.again or any(getattr(arguments, name) is not None for name in others):
        raise UsageError("--resume goes with --plain alone, or with nothing")


def _resume(services: Services, arguments: argparse.Namespace) -> int:
    interrupted = services.sessions.interrupted()
    if interrupted is None:
        raise UsageError("no interrupted session")
    if arguments.plain:
        from whistlestop.cli.line_run import resume_in_lines

        return resume_in_lines(services, interrupted.id)
    from whistlestop.cli.screens import full_screen

    return full_screen(services, resume=interrupted.id)
