"""The words of the library's lists: stations and drills, each on one line.

Pure: what is known in, entries and rows out. The cards stand in
`library_card_lines`. It reads no file and knows no screen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from whistlestop.library import REGIONS
from whistlestop.library.families import drill_kinds
from whistlestop.tui.rooms.frame.filtering import FilterEntry
from whistlestop.tui.rooms.frame.words import plain_text
from whistlestop.tui.rooms.library.known import SHAPES, WORDS, KnownLibrary, Mark
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, fit, row
from whistlestop.tui.widgets.title_line import heading

ALL: Final = "all"
DRILLS: Final = "drills"
STATION_SHELVES: Final = (ALL, *REGIONS)
_MARK_CELLS: Final = 13
_NAME_CELLS: Final = 40
_KIT_CELLS: Final = 30


@dataclass(frozen=True, slots=True)
class EntryDetails:
    """What a line says of an entry besides its name."""

    id: str
    kit: str
    mark: Mark
    is_drill: bool = False


def station_entries(known: KnownLibrary) -> tuple[FilterEntry[EntryDetails], ...]:
    """All stations in the order of the library, one's own beside their like."""
    order: dict[str, list[FilterEntry[EntryDetails]]] = {}
    for key, one in known.stations.items():
        kit = ", ".join(one.kit) or "no kit"
        family = known.family(key)
        more = (key, one.region, one.pattern, kit, one.position, one.call_name)
        details = EntryDetails(key, kit, known.mark(key))
        title = family.title if family else ""
        found_by = " ".join((*more, title, one.sides, *_where(known, key)))
        group = plain_text(one.pattern).capitalize()
        names = (one.call_name, *one.aliases)
        entry = FilterEntry(details, one.name, one.region, group, found_by, names)
        order.setdefault(one.pattern, []).append(entry)
    return tuple(entry for entries in order.values() for entry in entries)


def _where(known: KnownLibrary, key: str) -> tuple[str, ...]:
    """Where a station can be done, as in a hotel room at night; and whose it is."""
    card = known.cards[key]
    return (
        "quiet" if card.noise == "quiet" else "",
        "low ceiling" if card.ceiling == "low" else "",
        "own" if key in known.own else "",
    )


def drill_entries(
    known: KnownLibrary, *, by_kind: bool = False
) -> tuple[FilterEntry[EntryDetails], ...]:
    """All drills by their kind; in one section, or each kind in its own."""
    order: dict[str, list[FilterEntry[EntryDetails]]] = {}
    for key, one in known.drills.items():
        kit = ", ".join(one.kit) or "no kit"
        kind = drill_kinds()[one.kind].title if one.kind in drill_kinds() else one.kind
        eyes = "eyes closed" if one.eyes_closed else ""
        found_by = " ".join((key, one.kind, kit, eyes, "drill", *one.loads))
        details = EntryDetails(key, kit, known.drill_mark(key), is_drill=True)
        section = one.kind if by_kind else DRILLS
        entry = FilterEntry(details, one.name, section, kind, found_by, one.aliases)
        order.setdefault(kind, []).append(entry)
    return tuple(entry for entries in order.values() for entry in entries)


def entry_row(entry: FilterEntry[EntryDetails], *, chosen: bool, cells: int) -> Row:
    """Say one entry: mark, name, kit, and the mark in words."""
    details = entry.value
    name = min(_NAME_CELLS, max(12, cells // 2))
    kit = max(0, min(_KIT_CELLS, cells - 5 - name - _MARK_CELLS))
    return row(
        TextSpan("▌ " if chosen else "  ", "bold"),
        TextSpan(
            f"{SHAPES[details.mark]} ", "text" if details.mark != "cannot" else "dim"
        ),
        TextSpan(fit(entry.name, name) + " ", "bold" if chosen else "text"),
        TextSpan(fit(details.kit, kit), "dim"),
        TextSpan(fit(WORDS[details.mark], _MARK_CELLS, right=True), "dim"),
    )


def entry_rows(
    entries: Sequence[FilterEntry[EntryDetails]], chosen: int, cells: int
) -> tuple[list[Row], list[tuple[int, int]]]:
    """Set entries under the names of their groups; say on which line each stands."""
    rows: list[Row] = []
    row_ranges: list[tuple[int, int]] = []
    group = None
    for place, entry in enumerate(entries):
        first = len(rows)
        if entry.group != group:
            group = entry.group
            rows += [BLANK] if rows else []
            rows.append(row("  ", *heading(group)))
        # The name of the group comes into view with its first entry.
        row_ranges.append((first, len(rows)))
        rows.append(entry_row(entry, chosen=place == chosen, cells=cells))
    return rows, row_ranges
