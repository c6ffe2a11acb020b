"""The list of the editor's keys, in groups."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from whistlestop.domain.circuit.circuit import Station
from whistlestop.domain.field import fields_of
from whistlestop.tui.rooms.frame.room import ModalRoom
from whistlestop.tui.widgets.key_line import KeyEntry
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, cut, fit, row
from whistlestop.tui.widgets.title_line import heading

KEYS: Final[Mapping[str, Sequence[tuple[str, str]]]] = {
    "The chosen station": (
        ("Enter", "another exercise"),
        ("a", "add one after it"),
        ("c", "add a copy after it"),
        ("x", "remove it"),
        ("Shift ↑ ↓", "move it; K and J as well"),
        ("← →", "its work, 5 s less or more"),
        ("p", "in one, left and right, and together"),
        ("d  D", "drill, no drill"),
        ("h", "wait for a key before it"),
        *(
            (one.press, f"type {one.meaning}")
            for one in fields_of(Station)
            if one.press
        ),
    ),
    "The chosen setting": (
        ("← →", "less, more"),
        ("Enter", "type it; opens warm-up, cool-down, each loop"),
    ),
    "The whole circuit": (
        ("u  U", "undo, redo"),
        ("s", "save"),
        ("S", "save as another circuit"),
        ("Esc", "leave (asks if not saved)"),
    ),
}


def key_rows(cells: int) -> list[Row]:
    """All keys of the editor in groups."""
    rows: list[Row] = []
    for title, keys in KEYS.items():
        rows += [BLANK] if rows else []
        rows.append(row("  ", *heading(title)))
        for key, words in keys:
            rows.append(
                row(
                    "    ",
                    TextSpan(fit(key, 11), "bold"),
                    TextSpan(cut(words, max(0, cells - 16)), "text"),
                )
            )
    return rows


class EditorKeys(ModalRoom[None]):
    """All keys of the editor."""

    has_help = False

    def title_text(self) -> tuple[str, str, str]:
        """Name the list."""
        return "Keys in the editor", "", ""

    def key_entries(self) -> Sequence[KeyEntry]:
        """The way back."""
        return [KeyEntry("Esc", "back"), KeyEntry("↑ ↓", "scroll", 1)]

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The list."""
        del lines
        return PageLayout(key_rows(cells))

    def press(self, key: str) -> bool:
        """Close, or read on."""
        if key in {"escape", "enter", "question_mark", "f1"}:
            self.dismiss(None)
        elif key in {"down", "up"}:
            self.page.move_by(1 if key == "down" else -1)
            self.follow = False
        else:
            return False
        return True
