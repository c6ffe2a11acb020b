"""`next --weeks`, `--plan` and `--replan`: the weeks ahead, saved and planned again."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from whistlestop.cli.options import add_options, typed_over
from whistlestop.cli.output import remark, say, say_json
from whistlestop.domain.targets import AHEAD, MOST_CIRCUITS, Targets

if TYPE_CHECKING:
    from whistlestop.coach.weeks import Weeks
    from whistlestop.driver.planning import Outlook, Planning
    from whistlestop.driver.services import Services


def add_weeks(parser: argparse.ArgumentParser) -> None:
    """Add what is typed about weeks; what is left out is as in weeks.toml."""
    weeks = parser.add_argument_group(AHEAD)
    add_options(weeks, Targets, AHEAD)
    weeks.add_argument("--plan", action="store_true", help="show the saved plan")
    weeks.add_argument(
        "--replan", action="store_true", help="plan again after a missed day"
    )
    weeks.add_argument(
        "--keep", action="store_true", help="save what --weeks or --replan shows"
    )


def is_about_weeks(arguments: argparse.Namespace) -> bool:
    """Whether the weeks are asked for, and not the next step."""
    return arguments.weeks is not None or arguments.plan or arguments.replan


def weeks(services: Services, arguments: argparse.Namespace) -> int:
    """Show weeks ahead; save them where `--keep` asks for it."""
    from whistlestop.driver.planning import Planning
    from whistlestop.errors import UsageError

    asked = (arguments.weeks is not None, arguments.plan, arguments.replan)
    if sum(asked) > 1 or (arguments.plan and arguments.keep):
        raise UsageError("one of --weeks, --plan and --replan", "--keep saves the plan")
    planning = Planning(services)
    outlook = planning.outlook(_wanted(planning, arguments))
    if arguments.weeks is not None:
        made = planning.made(outlook)
        return _show(planning, outlook, made, arguments, ())
    if outlook.plan is None:
        raise UsageError("no plan saved yet", "next --weeks 8 --keep")
    if arguments.plan:
        return _show(planning, outlook, outlook.plan, arguments, ())
    again = planning.replanned(outlook)
    return _show(planning, outlook, again.weeks, arguments, again.sentences)


def _wanted(planning: Planning, arguments: argparse.Namespace) -> Targets:
    from whistlestop.errors import UsageError
    from whistlestop.review.days import week_of

    if len(arguments.circuits) > MOST_CIRCUITS:
        raise UsageError("a plan takes up to three circuits in turn")
    given: dict[str, Any] = {}
    if arguments.circuits:
        given["circuits"] = tuple(arguments.circuits)
    if arguments.weeks is not None:
        given["began"] = week_of(planning.today).first
    return replace(typed_over(planning.targets(), arguments), **given)


def _show(
    planning: Planning,
    outlook: Outlook,
    plan: Weeks,
    arguments: argparse.Namespace,
    changed: tuple[str, ...],
) -> int:
    from whistlestop.coach.weeks import LEGEND, coming_lines, grid_rows
    from whistlestop.domain.columns import table

    if arguments.keep:
        planning.save(plan, outlook.targets)
    if arguments.json:
        say_json(
            [
                {
                    "day": session.day.isoformat(),
                    "circuit": session.circuit,
                    "emphasis": session.emphasis,
                    "share_percent": round(session.share * 100),
                    "state": session.state,
                    "change": session.says or None,
                }
                for session in plan.sessions
            ]
        )
        return 0
    say(*table(grid_rows(plan, outlook.wishes)))
    named = (*outlook.wishes.circuits, *outlook.wishes.others)
    say(*(f"{circuit.mark} {circuit.id}" for circuit in named))
    say(LEGEND, *outlook.against)
    say(*outlook.unmet(plan))
    say(*coming_lines(plan, outlook.wishes, outlook.today))
    if arguments.replan:
        say(*(changed or ("Nothing has to change.",)))
        if changed and not arguments.keep:
            remark("not saved yet; --keep saves it")
    if arguments.keep:
        remark(f"saved in {planning.plan_path}; `export calendar --plan` exports it")
    return 0
