"""`export`: sheets and cards of a circuit; log, calendar and pages by their own."""

from __future__ import annotations

import argparse
import sys

from whistlestop.cli.output import remark
from whistlestop.cli.page import export_page, export_report, write
from whistlestop.cli.well import refuse_before_page
from whistlestop.domain.kit.owned_loads import with_owned_loads
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.next_steps import with_next_steps
from whistlestop.driver.practice import from_log
from whistlestop.driver.services import Services
from whistlestop.library.whole import Library, library_means
from whistlestop.prints.sheet_facts import SheetFacts, gather
from whistlestop.store.settings.values import person_of


def export(arguments: argparse.Namespace) -> int:
    """Write what is asked for."""
    match arguments.what:
        case "log":
            from whistlestop.cli.export_log import export_log

            return export_log(arguments)
        case "calendar":
            from whistlestop.cli.export_log import export_calendar

            return export_calendar(arguments)
        case "fit":
            from whistlestop.cli.export_log import export_fit

            return export_fit(arguments)
        case "page":
            return export_page(arguments)
        case "report":
            return export_report(arguments)
        case _:
            return _export_circuit(arguments)


def _export_circuit(arguments: argparse.Namespace) -> int:
    services = Services(getattr(arguments, "home", None))
    for problem in services.library.problems():
        remark(problem)
    library = services.library.whole()
    facts = sheet_facts(services, arguments.circuit, library)
    text = _made(facts, arguments.what, arguments.format, library)
    if arguments.out is None:
        # Not `say`: a page is text of our own, lines and all.
        sys.stdout.write(text)
        sys.stdout.flush()
        return 0
    write(arguments.out, text, force=arguments.force)
    remark(f"{facts.plan.name}: written to {arguments.out}")
    return 0


def sheet_facts(services: Services, circuit: str, library: Library) -> SheetFacts:
    """What a sheet says of a circuit, with accepted steps, kit, limits and last loads.

    Raises:
        ProblemsFound, StoreError, UsageError: A file cannot be used as asked; or a
            stop for health waits for its page, before which no exchange is offered.
    """
    refuse_before_page(services)
    today = services.clock.wall().date()
    past = from_log(services)
    kit, limits = services.kit.owned(), services.kit.limits()
    means = library_means(kit, limits, today, library, past.last_kg, past.waiting)
    with_steps = with_next_steps(services, services.circuits.read(circuit))
    as_performed, loads = with_owned_loads(
        with_steps, means.kit, {}, means.loads.last_kg
    )
    silenced = frozenset(services.settings.advice.silenced)
    return gather(
        as_performed,
        compile_plan(as_performed),
        means,
        loads=loads,
        silenced=silenced,
        person=person_of(services.settings.training),
    )


def _made(facts: SheetFacts, what: str, form: str, library: Library) -> str:
    if form == "markdown":
        from whistlestop.prints.markdown import cards_markdown, sheet_markdown

        return (
            sheet_markdown(facts)
            if what == "sheet"
            else cards_markdown(facts, library.cards)
        )
    if what == "sheet":
        from whistlestop.prints.html_sheet import sheet_html

        return sheet_html(facts)
    from whistlestop.prints.html_cards import cards_html

    return cards_html(facts, library.cards)
