"""The Floor in a few plain lines, for when the large picture fails.

It rests on the view alone, so that a fault in what paints leaves time and keys.
"""

from __future__ import annotations

from whistlestop.domain.duration import countdown
from whistlestop.domain.text import shown
from whistlestop.engine.states import Mode
from whistlestop.engine.view import View
from whistlestop.tui.canvas import Canvas, Rows


def plain_rows(view: View, notice: str, width: int, height: int) -> Rows:
    """What is done now, how long still, and a notice; one line each."""
    what = view.kind.value.replace("_", " ").upper()
    if view.mode is not Mode.RUNNING:
        what = f"{view.mode.name.replace('_', ' ')}: {what}"
    left = "until a key" if view.at_gate else countdown(view.left_ms)
    name = view.card.name if view.card is not None else view.item_name
    lines = (what, left, f"{name or ''}", view.part or "", "", notice)
    canvas = Canvas(width, height)
    for y, line in enumerate(lines):
        text = shown(f"{line}").encode("ascii", "replace").decode()
        canvas.put(1, y, text, "text")
    return canvas.rows()
