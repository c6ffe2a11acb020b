"""How wide text is on a terminal, and columns that stay in line whatever is in them.

The one measure: lines, rooms, charts and the Floor ask here. The tables are Unicode's,
as `wcwidth` has them; it is loaded for the first text that has anything but letters
and marks of one cell in it, since most lines never need it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from typing import Final

from whistlestop.domain.text import shown

# Latin with its ready-made accents, dashes and dots, arrows, frames and blocks: each
# is one cell. A test holds this against the tables.
_NARROW: Final = re.compile(
    "[ -~\u00a0-\u00ac\u00ae-\u02ff\u2010-\u2027\u2190-\u21ff\u2500-\u25fc\u2713]*"
)


def cells_of(text: str) -> int:
    """How many cells a text takes: two for a wide character, none for an accent."""
    return len(text) if _NARROW.fullmatch(text) else _measured(text)


@lru_cache(4096)
def _measured(text: str) -> int:
    from wcwidth import wcswidth, wcwidth

    measured = wcswidth(text)
    if measured < 0:  # a control character is in it, of which nothing is shown
        return sum(max(0, wcwidth(character)) for character in text)
    return measured


def clusters(text: str) -> Iterator[str]:
    """The characters as a reader counts them: a letter together with its accents."""
    if _NARROW.fullmatch(text):
        return iter(text)
    from wcwidth import iter_graphemes

    return iter_graphemes(text)


def clipped(text: str, width: int) -> str:
    """The beginning of a text, at most `width` cells; no character is cut in two."""
    if _NARROW.fullmatch(text):
        return text[: max(0, width)]
    head, left = "", width
    for cluster in clusters(text):
        left -= cells_of(cluster)
        if left < 0:
            break
        head += cluster
    return head


def padded(text: str, width: int, *, right: bool = False) -> str:
    """A text with blanks up to `width` cells: behind it, or before it for `right`."""
    gap = " " * (width - cells_of(text))
    return gap + text if right else text + gap


def table(
    rows: Sequence[Sequence[str]], right: frozenset[int] = frozenset()
) -> list[str]:
    """Lay rows out in columns, two spaces apart; `right` aligns to the right."""
    if not rows:
        return []
    columns = range(len(rows[0]))
    safe = [[shown(cell, 60) for cell in row] for row in rows]
    widths = [widest(row[c] for row in safe) for c in columns]
    return [
        "  ".join(padded(row[c], widths[c], right=c in right) for c in columns).rstrip()
        for row in safe
    ]


def widest(texts: Iterable[str]) -> int:
    """The cells that the widest of some texts takes; 0 where there are none."""
    return max(map(cells_of, texts), default=0)
