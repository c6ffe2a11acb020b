"""What of the rules and wishes gives way where a sore site leaves nothing for it.

A wrist that is left out takes every pull with it: then no pull is asked for, and it is
said. Only limits on sites make anything yield; other limits are wishes like any other.
Refuses to know single stations.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from whistlestop.builder.facts import HINGE, PULL, PUSH, SQUAT, Piece, pieces
from whistlestop.builder.request import Request, most_whole
from whistlestop.domain.demands import WEIGHT_ADDS, added_by
from whistlestop.domain.limits import deed, the_site
from whistlestop.domain.text import joined

REGIONS: Final = ("legs", "core", "arms")
# Rules that are given up unasked carry these words among what is waived.
NO: Final = "no "
_PATTERNS: Final = {"push": PUSH, "pull": PULL, "hinge": HINGE, "squat": SQUAT}
_WORDS: Final = {
    "push": "nothing that pushes",
    "pull": "nothing that pulls",
    "hinge": "nothing that bends at the hips",
    "squat": "no squat, lunge or step",
}


@dataclass(frozen=True, slots=True)
class Yielded:
    """What gives way: regions with too few stations, patterns with none."""

    regions: frozenset[str] = frozenset()
    patterns: frozenset[str] = frozenset()
    alternate: bool = False

    @property
    def waived(self) -> frozenset[str]:
        """The same as words among those of `Request.waived`."""
        gone = {f"{NO}{name}" for name in (*self.regions, *self.patterns)}
        return frozenset(gone | ({"alternate"} if self.alternate else set()))


def full_regions(waived: frozenset[str]) -> tuple[str, ...]:
    """The regions that are asked for, where some may have yielded."""
    return tuple(name for name in REGIONS if is_asked(name, waived))


def is_asked(name: str, waived: frozenset[str]) -> bool:
    """Say whether a region or a pattern has not yielded."""
    return f"{NO}{name}" not in waived


def waived_for(request: Request) -> frozenset[str]:
    """Ids of the rules that do not hold for a request, given up or yielded."""
    return request.waived | yielded(request).waived


@lru_cache(maxsize=64)
def yielded(request: Request) -> Yielded:
    """Say what gives way to the limits on sites; nothing where there are none."""
    others = tuple(one for one in request.limits if one.kind != "site")
    if len(others) == len(request.limits):
        return Yielded()
    left, before = pieces(request), pieces(replace(request, limits=others))
    short = _short_regions(left, before, request)
    gone = frozenset(
        name
        for name, patterns in _PATTERNS.items()
        if not _has(left, patterns) and _has(before, patterns)
    )
    return Yielded(short, gone, _cannot_alternate(left, short, request.stations))


def goes_easy(piece: Piece, request: Request) -> bool:
    """Say whether a station asks something of a site that goes easy.

    Then the easier form of its family is the one to take.
    """
    extra = added_by(piece.kit) if not piece.held else WEIGHT_ADDS
    return any(
        limit.kind == "site"
        and limit.strength == "easy"
        and limit.is_asked(piece.id, piece.exercise, extra=extra)
        for limit in request.limits
    )


def sentences(request: Request) -> tuple[str, ...]:
    """Say what of a circuit is missing for the sake of what is sore, and why."""
    given_way = yielded(request)
    missing = [_WORDS[name] for name in _PATTERNS if name in given_way.patterns]
    short = [name for name in REGIONS if name in given_way.regions]
    if not missing and not short:
        return ()
    sites = [one for one in request.limits if one.kind == "site"]
    reason = joined([deed(one, the_site(one)) for one in sites])
    found = []
    if missing:
        found.append(
            f"To {reason}, this circuit has {joined(missing)}: what there is would ask "
            "too much of it."
        )
    if short:
        found.append(
            f"To {reason}, hardly any stations for the {joined(short)} are left: "
            "others make up the circuit."
        )
    return tuple(found)


def _short_regions(
    left: tuple[Piece, ...], before: tuple[Piece, ...], request: Request
) -> frozenset[str]:
    """The regions that have too few stations once the limits hold."""
    full = list(REGIONS)
    whole = min(most_whole(request.stations), _in_region(left, "whole"))
    while full:
        least = (request.stations - whole) // len(full)
        short = [
            name
            for name in full
            if (have := _in_region(left, name)) < least
            and have < _in_region(before, name)
        ]
        if not short:
            break
        full = [name for name in full if name not in short]
    return frozenset(REGIONS) - frozenset(full)


def _cannot_alternate(
    left: tuple[Piece, ...], short: frozenset[str], stations: int
) -> bool:
    """Say whether neighbours can no longer differ in region all round the loop."""
    full = len(REGIONS) - len(short)
    others = len(left) - sum(
        _in_region(left, name) for name in REGIONS if name not in short
    )
    return full < 2 or (full == 2 and stations % 2 == 1 and not others)


def _in_region(left: tuple[Piece, ...], region: str) -> int:
    return sum(piece.exercise.region == region for piece in left)


def _has(left: tuple[Piece, ...], patterns: frozenset[str]) -> bool:
    return any(piece.exercise.pattern in patterns for piece in left)
