"""Which drills may stand between two stations, and which are wished there.

The pick rule as predicates of neighbours; refuses to know which drill is taken.
Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from whistlestop.builder.facts import Piece
from whistlestop.builder.request import Request
from whistlestop.builder.ways import is_there
from whistlestop.domain.exercise import DrillInfo
from whistlestop.library import drills
from whistlestop.library.levels import drill_levels

MOST_JUMPY: Final = 2
# Rope and footwork count with the jumps, whatever the level.
JUMPY_KINDS: Final = frozenset({"rope", "footwork"})
WISHED_AFTER: Final[Mapping[str, tuple[str, ...]]] = {
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
    """The drills that kit, room, limits and level leave, in the order of the library.

    Each at a level that `level_for` gives: to somebody new breathing, coordination and
    balance beside a wall.
    """
    cautions = {x.value for x in request.limits if x.kind == "caution"}
    return tuple(
        drill
        for drill in drills().values()
        if all(is_there(request, thing) for thing in drill.kit)
        and level_for(drill, request)
        and not ("An" in cautions and is_jumpy(drill))
        and (request.level != "new" or drill_levels()[drill.id].first)
        and drill.id not in request.waiting
        and not (drill.impact and request.noise == "quiet")
        and not (drill.kind == "rope" and request.ceiling != "jump")
    )


def level_for(drill: DrillInfo, request: Request) -> int:
    """The level at which a new circuit begins a drill; 0 where limits leave none.

    The hardest that was held in two sessions and that no limit stands against, else
    the first; somebody new begins at the first.
    """
    held = 1 if request.level == "new" else dict(request.held).get(drill.id, 1)
    levels = range(min(held, len(drill.ladder)), 0, -1)
    return next((n for n in levels if not _meets(drill, n, request)), 0)


def _meets(drill: DrillInfo, level: int, request: Request) -> bool:
    return any(one.meets_drill(drill.id, drill, level) for one in request.limits)


def is_wished(drill: DrillInfo, before: Piece, after: Piece) -> bool:
    """Say whether it may stand there and is of a kind that is wished after a region."""
    liked = WISHED_AFTER[before.exercise.region]
    return drill.kind in liked and allowed(drill, before, after)
