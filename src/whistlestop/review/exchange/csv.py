"""The log as CSV after RFC 4180: a header, commas, CRLF, quotes where needed.

Owns the columns and how a value is written in them. Refuses to know files.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from typing import Final

from whistlestop.domain.text import shown
from whistlestop.review.items import LogItem, item_json

# Times in ms, efforts 0 to 10 with a point; several in one cell are parted by "|",
# and "-" is one that was not entered. `heart` is average/rest/greatest, a minute.
COLUMNS: Final = (
    "id",
    "kind",
    "day",
    "last_day",
    "wall",
    "circuit",
    "name",
    "ending",
    "session_ms",
    "elapsed_ms",
    "active_ms",
    "work_ms",
    "best_work_ms",
    "plan_work_ms",
    "efforts",
    "session_effort",
    "load_effort",
    "effort_is_derived",
    "load_au",
    "note",
    "discomforts",
    "exercises",
    "amended",
    "deleted",
    "scripted",
    "problems",
    "heart",
    "heart_load_men",
    "heart_load_women",
)
# A table program would run such a cell as a formula, and names come from anybody.
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")
_GUARD: Final = "'"
_TEXT_LIMIT: Final = 4_000
_PLAIN: Final = frozenset({"efforts"})


def csv_text(items: Iterable[LogItem]) -> str:
    """The items as one CSV text, in the order given.

    A text cell that a table program would take for a formula begins with `'`;
    `unguarded` takes that off again.
    """
    paper = io.StringIO(newline="")
    writer = csv.writer(paper, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for item in items:
        values = item_json(item)
        heart = values["heart"] or {}
        values["heart"] = None if item.heart is None else str(item.heart)
        values |= {f"heart_{w}": heart.get(w) for w in ("load_men", "load_women")}
        writer.writerow([_cell(name, values[name]) for name in COLUMNS])
    return paper.getvalue()


def guarded(text: str) -> str:
    """A text that no table program runs."""
    risky = text.startswith((*_FORMULA, _GUARD))
    return f"{_GUARD}{text}" if risky else text


def unguarded(text: str) -> str:
    """The text as it was before `guarded`."""
    if text.startswith(_GUARD) and text[1:].startswith((*_FORMULA, _GUARD)):
        return text[1:]
    return text


def _cell(name: str, value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.4f}".rstrip("0").rstrip(".")
    if isinstance(value, list):
        joined = "|".join(_part(each) for each in value)
        return joined if name in _PLAIN else guarded(shown(joined, _TEXT_LIMIT))
    # Harmless on a terminal too: the text may be printed.
    return guarded(shown(value, _TEXT_LIMIT)) if isinstance(value, str) else str(value)


def _part(value: object) -> str:
    if value is None:
        return "-"
    if isinstance(value, dict):
        return f"{value['site']}, {value['side']}, {value['level']}"
    return f"{value:g}" if isinstance(value, (int, float)) else str(value)
