"""Whether a circuit that was built is the best there is, in a sentence.

Asks the exact solver, where it is installed; refuses to know how it solves.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from whistlestop.builder import exact
from whistlestop.builder.facts import pieces
from whistlestop.builder.making import BuiltCircuit, built_of

HINT: Final = (
    "To prove it, install the extra: pip install 'whistlestop[proof]' (HiGHS, 20 MB)."
)


@dataclass(frozen=True, slots=True)
class ProofResult:
    """The circuit to take, whether it is proved best, and what is known of it."""

    built: BuiltCircuit
    proved: bool
    sentence: str


def prove(found: BuiltCircuit, seconds: float) -> ProofResult:
    """Look for a better circuit for the same request, or prove that there is none.

    Args:
        found: A circuit that meets its request.
        seconds: How long the solver may take.
    """
    if not exact.is_there():
        return ProofResult(found, proved=False, sentence=HINT)
    request = found.request
    best = exact.exact(pieces(request), request, seconds=seconds)
    better = best.points is not None and best.points > found.points
    taken = found
    if better and best.order is not None:
        taken = built_of(request, best.order) or found
    points = taken.points
    gained = f"A better circuit was found: {points} points instead of {found.points}"
    if best.proved:
        text = f"{gained}, proved best." if better else f"Proved best: {points} points."
        return ProofResult(taken, proved=True, sentence=text)
    open_end = f"Not proved in {seconds:g} s"
    if best.bound is not None:
        open_end += f"; no circuit has more than {best.bound} points"
    text = f"{gained}. {open_end}." if better else f"{open_end}; this has {points}."
    return ProofResult(taken, proved=False, sentence=text)
