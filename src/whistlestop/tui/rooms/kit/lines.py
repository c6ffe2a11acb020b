"""The words of the kit room: what is owned, and which loads that makes.

Pure: a kit in, rows out. It reads no file and knows no screen.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from whistlestop.domain.kit.kit import Kit, Rung, ladder
from whistlestop.tui.rooms.kit.entries import KINDS_TO_ADD, WEIGHTS, KitKind, KitLine
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Row,
    TextSpan,
    cut,
    fit,
    row,
    wrapped,
)
from whistlestop.tui.widgets.title_line import heading

_WORDS_CELLS: Final = 34
_EMPTY: Final = (
    "Your kit list is empty. Press a to add the first item, such as a kettlebell.",
    (
        "Circuits use this list: loads become the nearest you own, and stations "
        "you have no kit for are marked."
    ),
)


def kit_room_rows(
    kit: Kit, lines: Sequence[KitLine], chosen: int, cells: int
) -> tuple[list[Row], list[tuple[int, int]]]:
    """List what is owned, then the loads it makes; say where each line stands."""
    if not lines:
        return empty_rows(cells), []
    rows: list[Row] = []
    row_ranges: list[tuple[int, int]] = []
    group = ""
    for place, line in enumerate(lines):
        first = len(rows)
        if group_of(line) != group:
            group = group_of(line)
            rows += [BLANK] if rows else []
            rows.append(row("  ", *heading(group)))
        row_ranges.append((first, len(rows)))
        rows.append(line_row(line, chosen=place == chosen, cells=cells))
    made = load_rows(kit, cells - 4)
    if made:
        rows += [BLANK, row("  ", *heading("Loads you can make"))]
        rows += [(TextSpan("    "), *one) for one in made]
    return rows, row_ranges


def empty_rows(cells: int) -> list[Row]:
    """What to do where nothing is listed, and what it is for."""
    rows: list[Row] = []
    for sentence in _EMPTY:
        rows += [row("  ", line) for line in wrapped(sentence, min(cells, 84) - 4)]
        rows.append(BLANK)
    return rows


def group_of(line: KitLine) -> str:
    """Under which heading a line stands."""
    if line.kind in WEIGHTS or line.kind == "adjustable":
        return "Weights"
    if line.kind in {"bar", "handle"}:
        return "Bars and plates"
    if line.kind in {"container", "backpack"}:
        return "Filled"
    return "Bands" if line.kind in {"bands", "loop bands"} else "Things"


def line_row(line: KitLine, *, chosen: bool, cells: int) -> Row:
    """Say one line: how many of what, and what is to be known of it."""
    own = min(_WORDS_CELLS, cells // 2)
    return row(
        TextSpan("▌ " if chosen else "  ", "bold"),
        "  ",
        TextSpan(fit(line.words, own) + " ", "bold" if chosen else "text"),
        TextSpan(cut(line.note, cells - own - 5), "dim"),
    )


def load_rows(kit: Kit, cells: int) -> list[Row]:
    """Every load by what carries it; ranges read "about"."""
    rows: list[Row] = []
    for label, loads in _carried(kit):
        for place, line in enumerate(wrapped(loads, cells - 15)[:4]):
            head = label if place == 0 else ""
            rows.append(row(TextSpan(fit(head, 15), "dim"), line))
    return rows


# Plates combine in many ways, and a page is laid out at every key.
@lru_cache(maxsize=4)
def _carried(kit: Kit) -> tuple[tuple[str, str], ...]:
    return (
        ("in one hand", _loads(ladder(kit))),
        ("in two hands", _loads(ladder(kit, 2, ("two weights",)))),
        ("on the bar", _loads(ladder(kit, 1, ("bar",)))),
        ("on the back", _loads(ladder(kit, 1, ("backpack",)))),
    )


def _loads(rungs: Sequence[Rung]) -> str:
    sentences = []
    for rung in rungs:
        about = "about " if rung.range_each else ""
        sentences.append(f"{about}{str(rung.load).replace(' x ', ' × ')}")
    return ", ".join(sentences)


def kind_rows(kinds: Sequence[KitKind], chosen: int, cells: int) -> list[Row]:
    """The kinds to add: a letter, a name, and how it is typed."""
    return [
        row(
            TextSpan("▌ " if place == chosen else "  ", "bold"),
            TextSpan(f"{kind.letter}  ", "bold"),
            TextSpan(fit(kind.title, 27) + " ", "bold" if place == chosen else "text"),
            TextSpan(cut(kind.example, max(0, cells - 33)), "dim"),
        )
        for place, kind in enumerate(kinds)
    ]


def can_add(kit: Kit) -> tuple[KitKind, ...]:
    """The kinds that can be added; what there is one line of is changed, not added."""
    has = {
        "backpack": kit.backpack is not None,
        "bands": bool(kit.bands),
        "loop bands": bool(kit.loop_bands),
        "mats": kit.mats > 0,
        "bench": kit.bench,
        "boxes": bool(kit.box_heights_cm),
        "ball": kit.ball_cm is not None,
    }
    return tuple(kind for kind in KINDS_TO_ADD if not has.get(kind.id, False))
