"""`next --weeks`, `--plan` and `--replan`: the weeks ahead, saved and planned again."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from whistlestop.cli.options import value_of
from whistlestop.cli.output import remark, say, say_json
from whistlestop.store.wishes.weeks import SESSIONS, WEEKS

if TYPE_CHECKING:
    from whistlestop.coach.weeks import Weeks
    from whistlestop.driver.planning import Outlook, Planning
    from whistlestop.driver.services import Services
    from whistlestop.store.wishes.weeks import Targets


def typed(read: str) -> Callable[[str], Any]:
    """A reader of `coach.weeks_typed` as argparse wants one."""

    def value(text: str) -> Any:
        from whistlestop.coach import weeks_typed

        try:
            return getattr(weeks_typed, read)(text)
        except ValueError as error:
            raise argparse.ArgumentTypeError(str(error)) from None

    return value


def add_weeks(parser: argparse.ArgumentParser) -> None:
    """Add what is typed about weeks; what is left out is as in weeks.toml."""
    weeks = parser.add_argument_group("weeks ahead")
    weeks.add_argument(
        "--weeks", type=value_of(WEEKS), metavar="N", help="a plan of N weeks"
    )
    weeks.add_argument("--plan", action="store_true", help="show the saved plan")
    weeks.add_argument(
        "--replan", action="store_true", help="plan again after a missed day"
    )
    weeks.add_argument(
        "--keep", action="store_true", help="save what --weeks or --replan shows"
    )
    weeks.add_argument(
        "--sessions",
        type=value_of(SESSIONS),
        metavar="N",
        help="sessions a week (default: 2)",
    )
    weeks.add_argument(
        "--days", type=typed("weekdays_of"), metavar="DAYS",
        help="days that are free: mon,wed,sat",
    )  # fmt: skip
    weeks.add_argument(
        "--key-days", type=typed("weekdays_of"), metavar="DAYS",
        help="days of the week with a key session",
    )  # fmt: skip
    weeks.add_argument(
        "--away", type=typed("spans_of"), metavar="SPANS",
        help="no circuits: 2031-05-01..2031-05-09",
    )  # fmt: skip
    weeks.add_argument("--races", type=typed("days_of"), metavar="DAYS")
    weeks.add_argument(
        "--blocks", type=typed("blocks_of"), metavar="LIST",
        help="emphasis and weeks, 4 to 6 each: base:4,strength:5",
    )  # fmt: skip


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
    from whistlestop.store.wishes.weeks import MOST_CIRCUITS

    wanted = planning.targets()
    if len(arguments.circuits) > MOST_CIRCUITS:
        raise UsageError("a plan takes up to three circuits in turn")
    given: dict[str, Any] = {
        "circuits": tuple(arguments.circuits) or None,
        "sessions_a_week": arguments.sessions,
        "days": arguments.days or None,
        "key_weekdays": arguments.key_days,
        "key_days": frozenset(arguments.key) or None,
        "races": None if arguments.races is None else frozenset(arguments.races),
        "away": None
        if arguments.away is None
        else tuple((span.first, span.last) for span in arguments.away),
        "blocks": arguments.blocks,
    }
    if arguments.weeks is not None:
        given |= {"began": week_of(planning.today).first, "weeks": arguments.weeks}
    return replace(wanted, **{k: v for k, v in given.items() if v is not None})


def _show(
    planning: Planning,
    outlook: Outlook,
    plan: Weeks,
    arguments: argparse.Namespace,
    changed: tuple[str, ...],
) -> int:
    from whistlestop.coach.weeks import LEGEND, grid_rows
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
                }
                for session in plan.sessions
            ]
        )
        return 0
    say(*table(grid_rows(plan, outlook.wishes)))
    named = (*outlook.wishes.circuits, *outlook.wishes.others)
    say(*(f"{circuit.mark} {circuit.id}" for circuit in named))
    say(LEGEND)
    if arguments.replan:
        say(*(changed or ("Nothing has to change.",)))
        if changed and not arguments.keep:
            remark("not saved yet; --keep saves it")
    if arguments.keep:
        remark(f"saved in {planning.plan_path}; `export calendar --plan` exports it")
    return 0
