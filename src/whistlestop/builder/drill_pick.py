"""Which drill fills which recovery, once the stations stand.

That a fitting one exists is weighed by the objective; which one is taken is chosen
here and weighs nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from whistlestop.builder.dice import Dice
from whistlestop.builder.drill_rules import (
    MOST_JUMPY,
    WISHED_AFTER,
    allowed,
    drills_for,
    is_jumpy,
)
from whistlestop.builder.facts import Piece
from whistlestop.builder.request import Request
from whistlestop.builder.rules import offset
from whistlestop.domain.exercise import DrillInfo
from whistlestop.domain.kit.kit_at_once import too_few


def pick(order: Sequence[Piece], request: Request) -> tuple[DrillInfo | None, ...]:
    """Choose a drill for the recovery after each station; None where none fits.

    Recoveries with the fewest drills to choose from come first. Each drill is used
    once, save those of the kind down-shift, which are always good. What two athletes
    do at the same time needs no more things than there are.
    """
    dice = Dice(request.seed)
    known = [(dice.bits(), drill) for drill in drills_for(request)]
    count = len(order)
    fitting = {
        place: [
            (luck, drill)
            for luck, drill in known
            if allowed(drill, order[place], order[(place + 1) % count])
        ]
        for place in range(count)
    }
    chosen: dict[int, DrillInfo] = {}
    jumpy = 0
    for place in sorted(fitting, key=lambda place: (len(fitting[place]), place)):
        liked = WISHED_AFTER[order[place].exercise.region]
        used = {drill.id for drill in chosen.values()}
        kinds = [drill.kind for drill in chosen.values()]
        best = min(
            (
                (drill.id in used, drill.kind not in liked, is_jumpy(drill),
                 kinds.count(drill.kind), luck, drill.id, drill)
                for luck, drill in fitting[place]
                if (drill.id not in used or drill.kind == "down-shift")
                and (jumpy < MOST_JUMPY or not is_jumpy(drill))
                and not _is_short(drill, place, chosen, request, count)
            ),
            default=None,
            key=lambda entry: entry[:-1],
        )  # fmt: skip
        if best is not None:
            chosen[place] = best[-1]
            jumpy += is_jumpy(best[-1])
    return tuple(chosen.get(place) for place in range(count))


def _is_short(
    drill: DrillInfo,
    place: int,
    chosen: Mapping[int, DrillInfo],
    request: Request,
    count: int,
) -> bool:
    """Say whether the other athlete's drill of that moment takes what it needs."""
    apart = offset(count, request.athletes)
    others = {(place + apart) % count, (place - apart) % count} if apart else set()
    return any(
        too_few(request.kit, (drill.kit, chosen[other].kit))
        for other in others & chosen.keys()
    )
