"""`next`: the one next thing for each circuit in use, decisions, and weeks ahead."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Sequence
from datetime import date
from typing import Final

from whistlestop.cli.output import remark, say, say_json
from whistlestop.driver.house import House
from whistlestop.errors import UsageError, WhistlestopError

_EMPHASES: Final = ("base", "build", "strength", "maintain")
_WEEKDAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_MOST_WEEKS: Final = 53


def add_next(parser: argparse.ArgumentParser) -> None:
    """Add what may be typed after `next`."""
    parser.add_argument(
        "circuits", nargs="*", metavar="CIRCUIT", help="by default all in use"
    )
    parser.add_argument("--emphasis", choices=_EMPHASES, default="build")
    parser.add_argument(
        "--target", type=_number(2, 16), metavar="EFFORT", help="target effort, 1 to 8"
    )
    parser.add_argument("--key", type=_days, default=(), metavar="DAYS", help=_KEY)
    parser.add_argument(
        "--after-injury", action="store_true", help="this is a return after an injury"
    )
    parser.add_argument("--json", action="store_true", help="as JSON")
    decide = parser.add_argument_group("decide (one circuit)")
    decide.add_argument("--accept", action="store_true", help="take the proposal")
    decide.add_argument(
        "--later",
        nargs="?",
        type=_whole(1, 60),
        const=7,
        metavar="DAYS",
        help="put it off, by 7 days unless said otherwise",
    )
    decide.add_argument(
        "--work", type=_whole(15, 600), metavar="SECONDS", help="this interval instead"
    )
    decide.add_argument(
        "--loops", type=_whole(1, 20), metavar="N", help="this many loops instead"
    )
    decide.add_argument(
        "--recover",
        type=_whole(0, 600),
        metavar="SECONDS",
        help="this recovery instead",
    )
    _add_weeks(parser)


_KEY: Final = "key sessions of the main sport, as 2031-05-12,2031-05-15"


def _add_weeks(parser: argparse.ArgumentParser) -> None:
    weeks = parser.add_argument_group("weeks ahead")
    weeks.add_argument(
        "--weeks", type=_whole(1, _MOST_WEEKS), metavar="N", help="a plan of N weeks"
    )
    weeks.add_argument(
        "--sessions", type=_whole(1, 7), default=2, metavar="N", help="a week; 2"
    )
    weeks.add_argument(
        "--days", type=_weekdays, metavar="DAYS", help="days that are free: mon,wed,sat"
    )
    weeks.add_argument(
        "--key-days", type=_weekdays, default=frozenset(), metavar="DAYS",
        help="days of the week with a key session",
    )  # fmt: skip
    weeks.add_argument(
        "--away", type=_spans, default=(), metavar="SPANS",
        help="no circuits: 2031-05-01..2031-05-09",
    )  # fmt: skip
    weeks.add_argument("--races", type=_days, default=(), metavar="DAYS")
    weeks.add_argument(
        "--blocks", type=_blocks, default=(), metavar="LIST",
        help="emphasis and weeks, 4 to 6 each: base:4,strength:5",
    )  # fmt: skip


def next_step(arguments: argparse.Namespace) -> int:
    """Say what next, keep a decision, or show weeks ahead."""
    house = House(getattr(arguments, "home", None))
    if arguments.weeks is not None:
        return _weeks(house, arguments)
    return _advise(house, arguments)


def _is_decided(arguments: argparse.Namespace) -> bool:
    changed = (arguments.work, arguments.loops, arguments.recover)
    several = (
        arguments.accept,
        arguments.later is not None,
        any(value is not None for value in changed),
    )
    if sum(several) > 1:
        raise UsageError(
            "accept it, put it off or change it: one of them",
            "--accept, --later, or --work, --loops and --recover",
        )
    return any(several)


def _advise(house: House, arguments: argparse.Namespace) -> int:
    from whistlestop.coach.next_step import answer_json, answer_lines
    from whistlestop.driver.coaching import Coaching, Wants

    decided = _is_decided(arguments)
    coaching = Coaching(house)
    named = tuple(arguments.circuits)
    if decided and len(named) != 1:
        raise UsageError("a decision is about one circuit", "next CIRCUIT --accept")
    wants = Wants(
        arguments.emphasis,
        None if arguments.target is None else arguments.target / 2,
        frozenset(arguments.key),
        arguments.after_injury,
    )
    found = []
    for key in named or coaching.in_use():
        try:
            circuit = house.circuit(key)
        except WhistlestopError as error:
            if named:
                raise
            remark(f"{key}: {error}")
            continue
        found.append(coaching.advise(circuit, wants))
    remark(*coaching.decisions().problems)
    if not found:
        remark("no circuit was done in the last 90 days; next CIRCUIT asks about one")
    if decided:
        return _decide(coaching, found[0], arguments)
    if arguments.json:
        say_json(
            [
                {**answer_json(advice.answer), "outcome": advice.outcome or None}
                for advice in found
            ]
        )
        return 0
    for advice in found:
        remark(*advice.progress.problems)
        say(*answer_lines(advice.answer))
        if advice.outcome:
            say(f"  {advice.outcome}")
    return 0


def _decide(coaching: object, advice: object, arguments: argparse.Namespace) -> int:
    from whistlestop.coach.changes import Change, applied, totals_of
    from whistlestop.driver.coaching import Advice, Coaching
    from whistlestop.library import exercises

    assert isinstance(coaching, Coaching)
    assert isinstance(advice, Advice)
    proposal = advice.answer.proposal
    if arguments.later is not None:
        made = coaching.keep(advice, "put_off", put_off_days=arguments.later)
        say(f"{proposal.title}: put off until {made.until}")
        return 0
    if arguments.accept:
        coaching.keep(advice, "accept")
        say(f"{proposal.title}: accepted")
        return 0
    now = totals_of(advice.progress.circuit)
    work, rest = arguments.work, arguments.recover
    change = Change(
        loops=arguments.loops,
        work_step_ms=0 if work is None else work * 1000 - now.interval_ms,
        recover_step_ms=0 if rest is None else rest * 1000 - now.recover_ms,
    )
    try:
        after = totals_of(applied(advice.progress.circuit, change, exercises()))
    except WhistlestopError as error:
        raise UsageError(f"the circuit does not allow that: {error}") from None
    coaching.keep(advice, "change", change=change)
    say(
        f"kept instead: {after.loops} x {after.interval_ms / 1000:g} s, "
        f"{after.recover_ms / 1000:g} s recovery"
    )
    return 0


# --- Weeks ---------------------------------------------------------------------


def _weeks(house: House, arguments: argparse.Namespace) -> int:
    from whistlestop.coach.weeks import PlannedCircuit, Wishes, grid_rows, make_weeks
    from whistlestop.driver.coaching import Coaching
    from whistlestop.review.lines import table

    names = tuple(arguments.circuits) or Coaching(house).in_use()[:3]
    if not names:
        raise UsageError("no circuit is in use yet", "next CIRCUIT --weeks 4")
    marks = "ABC"
    planned: list[PlannedCircuit] = []
    for mark, name in zip(marks, names, strict=False):
        regions, legs_heavy = _regions(house, name)
        planned.append(PlannedCircuit(name, mark, regions, legs_heavy))
    if len(names) > len(marks):
        raise UsageError("a plan takes up to three circuits in turn")
    wishes = Wishes(
        arguments.sessions,
        arguments.days or frozenset(range(7)),
        tuple(planned),
        key_weekdays=arguments.key_days,
        key_days=frozenset(arguments.key),
        away=arguments.away,
        races=frozenset(arguments.races),
        blocks=arguments.blocks,
    )
    plan = make_weeks(wishes, house.clock.wall().date(), arguments.weeks)
    if arguments.json:
        say_json(
            [
                {
                    "day": session.day.isoformat(),
                    "circuit": session.circuit,
                    "emphasis": session.emphasis,
                    "share_percent": round(session.share * 100),
                }
                for session in plan.sessions
            ]
        )
        return 0
    say(*table(grid_rows(plan, wishes)))
    say(*(f"{circuit.mark} {circuit.id}" for circuit in planned))
    say("- lighter  K key session  R race  ~ away  . nothing")
    return 0


def _regions(house: House, name: str) -> tuple[frozenset[str], bool]:
    from whistlestop.coach.context import Context

    context = Context(circuit=house.circuit(name), now=house.clock.wall())
    return context.regions, context.is_legs_heavy


# --- What is typed -------------------------------------------------------------


def _whole(least: int, most: int) -> Callable[[str], int]:
    def number(text: str) -> int:
        value = int(text) if text.isascii() and text.isdigit() and len(text) < 6 else -1
        if not least <= value <= most:
            raise argparse.ArgumentTypeError(f"expected {least} to {most}")
        return value

    return number


def _number(least: int, most: int) -> Callable[[str], int]:
    """An effort in half points, as twice its number."""

    def halves(text: str) -> int:
        from whistlestop.domain.effort import Effort

        try:
            value = Effort.parse(text).halves
        except ValueError as error:
            raise argparse.ArgumentTypeError(str(error)) from None
        if not least <= value <= most:
            said = f"expected an effort from {least / 2:g} to {most / 2:g}"
            raise argparse.ArgumentTypeError(said)
        return value

    return halves


def _days(text: str) -> tuple[date, ...]:
    from whistlestop.review.days import parse_day

    try:
        return tuple(parse_day(each.strip()) for each in text.split(","))
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def _weekdays(text: str) -> frozenset[int]:
    names = [each.strip().lower() for each in text.split(",")]
    if not set(names) <= set(_WEEKDAYS):
        raise argparse.ArgumentTypeError(f"expected some of {','.join(_WEEKDAYS)}")
    return frozenset(_WEEKDAYS.index(name) for name in names)


def _spans(text: str) -> tuple[object, ...]:
    from whistlestop.review.days import Span

    found = []
    for each in text.split(","):
        first, _, last = each.partition("..")
        days = (*_days(first), *_days(last or first))
        try:
            found.append(Span(days[0], days[-1]))
        except ValueError as error:
            raise argparse.ArgumentTypeError(str(error)) from None
    return tuple(found)


_BLOCK: Final = re.compile(r"([a-z]+):(\d)", re.ASCII)


def _blocks(text: str) -> Sequence[object]:
    from whistlestop.coach.weeks import Block

    found = []
    for each in text.split(","):
        match = _BLOCK.fullmatch(each.strip())
        emphasis = match[1] if match else ""
        try:
            if match is None or emphasis not in _EMPHASES:
                raise ValueError(f"expected one of {', '.join(_EMPHASES)} and weeks")
            found.append(Block(emphasis, int(match[2])))  # type: ignore[arg-type]
        except ValueError as error:
            raise argparse.ArgumentTypeError(str(error)) from None
    return tuple(found)
