"""Effort by single keys, out of breath: digits, then perhaps a half.

0 to 9 set it; 1 then 0 within 1.5 s is 10; comma or full stop adds a half;
backspace clears. It is handed the time like everything else.
"""

from __future__ import annotations

from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.effort import Effort

TEN_WINDOW_MS: Final = 1_500
HALF_KEYS: Final = frozenset({"comma", "full_stop", "period", ",", "."})
CLEAR_KEYS: Final = frozenset({"backspace"})


@dataclass(frozen=True, slots=True)
class EffortTyped:
    """What a key made of the effort; `effort` None means it was cleared."""

    effort: Effort | None


class EffortKeys:
    """Turns key names into efforts."""

    def __init__(self) -> None:
        self._one_at_ms: int | None = None

    def press(
        self, key: str, now_ms: int, present: Effort | None
    ) -> EffortTyped | None:
        """Take one key; None when it has nothing to do with effort.

        Args:
            key: The key's name.
            now_ms: Any steady clock in ms.
            present: The effort as it stands, for a half to be added to.
        """
        one_at, self._one_at_ms = self._one_at_ms, None
        if len(key) == 1 and key.isascii() and key.isdigit():
            if key == "0" and one_at is not None and now_ms - one_at <= TEN_WINDOW_MS:
                return EffortTyped(Effort(20))
            if key == "1":
                self._one_at_ms = now_ms
            return EffortTyped(Effort(int(key) * 2))
        if key in HALF_KEYS and present is not None:
            if present.halves % 2 == 0 and present.halves < 20:
                return EffortTyped(Effort(present.halves + 1))
            return EffortTyped(present)
        if key in CLEAR_KEYS and present is not None:
            return EffortTyped(None)
        return None
