"""Where a site goes easy: the easier form of a station that still asks something of it.

Owns that choice among forms, once the stations stand. It breaks no rule that held, and
weighs nothing: the points of a circuit are those of the stations that were searched
for. Refuses to know how these were found.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from whistlestop.builder.facts import Piece, pieces
from whistlestop.builder.request import Request
from whistlestop.builder.rules import violations
from whistlestop.domain.demands import added_by, asks
from whistlestop.domain.limits import Limit, the_site
from whistlestop.domain.text import joined


def with_easier_forms(
    order: Sequence[Piece], request: Request
) -> tuple[tuple[Piece, ...], tuple[str, ...]]:
    """Take the easier form at each place that asks something of a site that goes easy.

    Args:
        order: The stations, which differ.
        request: What is asked for; a station that is asked for by name stays.

    Returns:
        The stations, and for each a reason; "" where it stayed.
    """
    made, why = list(order), [""] * len(order)
    easy = [
        one for one in request.limits if one.kind == "site" and one.strength == "easy"
    ]
    if not easy:
        return tuple(made), tuple(why)
    left = {piece.id: piece for piece in pieces(request)}
    for place, piece in enumerate(order):
        sites = [limit for limit in easy if _asked(piece, limit)]
        if not sites or piece.id in request.named:
            continue
        for other in _easier(piece, sites, left):
            tried = [*made[:place], other, *made[place + 1 :]]
            if other not in made and violations(tried, request) <= violations(
                made, request
            ):
                names = joined([the_site(limit) for limit in sites])
                made = tried
                why[place] = f"easier than {piece.exercise.name}, to spare {names}"
                break
    return tuple(made), tuple(why)


def _easier(
    piece: Piece, sites: Sequence[Limit], left: dict[str, Piece]
) -> Iterator[Piece]:
    """Easier forms of the same pattern that ask no more of what goes easy."""
    for neighbour in piece.card.easier:
        other = left.get(neighbour.to)
        if (
            other is not None
            and other.exercise.pattern == piece.exercise.pattern
            and other.exercise.region == piece.exercise.region
            and all(_asked(other, one) <= _asked(piece, one) for one in sites)
        ):
            yield other


def _asked(piece: Piece, limit: Limit) -> int:
    return asks(piece.exercise, limit.value, extra=added_by(piece.kit))
