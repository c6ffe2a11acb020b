"""The key line: which keys do what here, and what gives way on a narrow screen.

Owns the order of dropping. It knows no key table and no room.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from whistlestop.tui.widgets.safe_text import Row, TextSpan, cut, row, width_of

_GAP: Final = "   "


class KeyEntry(NamedTuple):
    """One key and its words. The highest `drop` goes first; 0 never goes."""

    key: str
    words: str
    drop: int = 0


def key_row(entries: Sequence[KeyEntry], cells: int) -> Row:
    """Set entries on one row of `cells`, dropping from the least needed."""
    return _set(_fitting(entries, cells))


def dropped(entries: Sequence[KeyEntry], cells: int) -> list[KeyEntry]:
    """The entries that have no room on a row of `cells`, in their order."""
    kept = _fitting(entries, cells)
    return [entry for entry in entries if entry not in kept]


def _fitting(entries: Sequence[KeyEntry], cells: int) -> list[KeyEntry]:
    kept = list(entries)
    while kept and width_of(_set(kept)) > cells:
        least = max(entry.drop for entry in kept)
        if least == 0:
            break
        last = max(i for i, entry in enumerate(kept) if entry.drop == least)
        del kept[last]
    return kept


def _set(entries: Sequence[KeyEntry]) -> Row:
    spans: list[TextSpan] = []
    for entry in entries:
        spans += row(_GAP) if spans else row("  ")
        spans += row(
            TextSpan(entry.key, "bold"), " ", TextSpan(cut(entry.words, 60), "dim")
        )
    return tuple(spans)
