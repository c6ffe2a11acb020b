"""Which drill fills which recovery: the pick rule, and what is preferred within it.

Drills are chosen once the stations stand and weigh nothing in choosing them. Common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from whistlestop.coach.builder.facts import Piece, is_there
from whistlestop.coach.builder.request import Request
from whistlestop.coach.builder.search import Dice
from whistlestop.library import DrillInfo, drills

MOST_JUMPY: Final = 2
# Rope and footwork count with the jumps, whatever the level.
JUMPY_KINDS: Final = frozenset({"rope", "footwork"})
_AFTER: Final[Mapping[str, tuple[str, ...]]] = {
    "legs": ("juggling", "reaction"),
    "core": ("balance",),
    "arms": ("balance",),
    "whole": ("down-shift",),
}


def is_jumpy(drill: DrillInfo) -> bool:
    """Say whether it belongs to rope, footwork and jumps."""
    return drill.impact or drill.kind in JUMPY_KINDS


def allowed(drill: DrillInfo, before: Piece, after: Piece) -> bool:
    """Say whether a drill may stand between two stations.

    It loads the region of neither, is no jump after a jump, and no balance right
    after work on one leg. Whole-body stations count as every region.
    """
    regions = {before.exercise.region, after.exercise.region}
    if regions & set(drill.loads) or ("whole" in regions and drill.loads):
        return False
    if is_jumpy(drill) and before.exercise.pattern == "jump":
        return False
    one_leg = before.exercise.region == "legs" and before.exercise.sides != "both"
    return not (drill.kind == "balance" and one_leg)


def drills_for(request: Request) -> tuple[DrillInfo, ...]:
    """The drills that kit, room and limits leave, in the order of the library."""
    barred = {x.value for x in request.limits if x.kind == "region"}
    cautions = {x.value for x in request.limits if x.kind == "caution"}
    return tuple(
        drill
        for drill in drills().values()
        if all(is_there(request, thing) for thing in drill.kit)
        and not barred & set(drill.loads)
        and not ("An" in cautions and is_jumpy(drill))
        and not ("Bal" in cautions and drill.kind == "balance")
        and not ("EC" in cautions and drill.eyes_closed)
        and not (drill.impact and request.noise == "quiet")
        and not (drill.kind == "rope" and request.ceiling != "jump")
    )


def pick(order: Sequence[Piece], request: Request) -> tuple[DrillInfo | None, ...]:
    """Choose a drill for the recovery after each station; None where none fits.

    Recoveries with the fewest drills to choose from come first. Each drill is used
    once, save those of the kind down-shift, which are always good.
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
        liked = _AFTER[order[place].exercise.region]
        used = {drill.id for drill in chosen.values()}
        kinds = [drill.kind for drill in chosen.values()]
        best = min(
            (
                (drill.id in used, drill.kind not in liked, is_jumpy(drill),
                 kinds.count(drill.kind), luck, drill.id, drill)
                for luck, drill in fitting[place]
                if (drill.id not in used or drill.kind == "down-shift")
                and (jumpy < MOST_JUMPY or not is_jumpy(drill))
            ),
            default=None,
            key=lambda entry: entry[:-1],
        )  # fmt: skip
        if best is not None:
            chosen[place] = best[-1]
            jumpy += is_jumpy(best[-1])
    return tuple(chosen.get(place) for place in range(count))
