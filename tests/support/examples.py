"""How many examples a property draws: a part of them by default, all in `.ci/run`.

`pytest -m hypothesis --hypothesis-profile=full` draws them all.
"""

from __future__ import annotations

from hypothesis import settings

_IS_FULL = settings.get_current_profile_name() == "full"
_PART = 5
_LEAST = 10


def examples(full: int, *, part: int = _PART) -> int:
    """Return how many of a property's examples are drawn in this run.

    A costly property says that it draws a smaller part by default.
    """
    return full if _IS_FULL else max(_LEAST, full // part)
