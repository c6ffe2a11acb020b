"""When a session was no more than a try-out: begun to look at it, and left.

The share is our own choice (common practice, no source): nobody who came to train
leaves by choice before a tenth of it is done, and says nothing about it.
"""

from __future__ import annotations

from typing import Final

LEAST_PERCENT: Final = 10


def is_try_out(
    ending: str, best_work_ms: int, plan_work_ms: int, *, has_entries: bool
) -> bool:
    """Whether a session is listed as a try-out, and counts nowhere.

    Never one that was ended for health, or is still open, or holds an effort, a
    discomfort or a note. Done by two, it is one for both or for neither: what either
    of them entered makes it count.

    Args:
        ending: Why it ended, as its journal has it.
        best_work_ms: Work done against the plan.
        plan_work_ms: Work planned.
        has_entries: Whether it holds any of these, a companion's among them.
    """
    is_less = 100 * best_work_ms < LEAST_PERCENT * plan_work_ms
    return ending == "stopped" and is_less and not has_entries
