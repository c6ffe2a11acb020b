"""Why something was left out, and why a step was put off: the athlete's own answers.

Owns which answers there are. The ids stand in the diary and among the decisions.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal, TypeAlias, get_args

# Of what was left out of a session; "" where nobody asked.
CutReason: TypeAlias = Literal["", "too-much", "no-time"]
# Of a step that was put off; "" where nobody asked.
RefusalReason: TypeAlias = Literal["", "too-much", "not-this", "no-time", "other"]

CUT_REASONS: Final[tuple[CutReason, ...]] = get_args(CutReason)[1:]
REFUSAL_REASONS: Final[tuple[RefusalReason, ...]] = get_args(RefusalReason)[1:]


def in_words(reasons: Sequence[str]) -> str:
    """Reasons to choose from, in words.

    >>> in_words(REFUSAL_REASONS)
    'too much, not this, no time or other'
    """
    *before, last = (reason.replace("-", " ") for reason in reasons)
    return f"{', '.join(before)} or {last}"
