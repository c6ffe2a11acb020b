"""Keeps a held key from acting more than once.

No terminal tells a repeat from a press, so a key has to rest before it acts again.
It is handed the time.
"""

from __future__ import annotations

from typing import Final

REPEAT_MS: Final = 300
# A key still held from the room before repeats after half a second or so at first.
ARRIVAL_MS: Final = 700


class Debounce:
    """Lets a key through once it has rested."""

    def __init__(self, now_ms: int) -> None:
        """Begin at the moment the room opens."""
        self._opened_ms = now_ms
        self._last_ms: dict[str, int] = {}

    def lets(self, key: str, now_ms: int, *, on_arrival: bool = True) -> bool:
        """Say whether a key may act now; each press starts the rest again.

        Args:
            key: The key's name.
            now_ms: Any steady clock in ms.
            on_arrival: Whether it may act at once in a room just opened.
        """
        last, self._last_ms[key] = self._last_ms.get(key), now_ms
        if not on_arrival and now_ms - self._opened_ms < ARRIVAL_MS:
            return False
        return last is None or now_ms - last >= REPEAT_MS
