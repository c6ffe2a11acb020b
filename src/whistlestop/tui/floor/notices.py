"""The messages inside the frame, set in as few lines as show all of it.

A question with choices is broken between them, so that each digit stands beside what
it does; a sentence keeps its one line. It knows no session and paints nothing.
"""

from __future__ import annotations

from typing import Final

from whistlestop.domain.columns import cells_of
from whistlestop.tui.widgets.safe_text import cut

# Between one choice and the next; no sentence has it.
APART: Final = "  "


def notice_lines(text: str, cells: int, most: int) -> tuple[str, ...]:
    """Break a question between its choices; nothing gives no line.

    Beyond `most` lines the last is cut, and says so by its ellipsis.
    """
    if not text:
        return ()
    lines: list[str] = []
    for piece in text.split(APART):
        one = piece.strip()
        wider = f"{lines[-1]}{APART}{one}" if lines else one
        if not lines or cells_of(wider) > cells:
            lines.append(one)
        else:
            lines[-1] = wider
    shown = [*lines[: most - 1], APART.join(lines[most - 1 :])]
    return tuple(cut(line, cells) for line in shown if line)
