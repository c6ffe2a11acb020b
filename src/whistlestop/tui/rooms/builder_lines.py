"""The words of the builder room: the wishes, an answer with its reasons, or why none.

Pure: values in, rows out, and where each line that can be chosen stands.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Final

from whistlestop.coach.builder.explain import NoFit
from whistlestop.coach.builder.making import Built
from whistlestop.coach.builder.words import drill_words, lengths_words
from whistlestop.domain.wishes import Wishes
from whistlestop.tui.rooms.builder_wishes import (
    LISTS,
    NUMBERS,
    ROOM,
    SETTINGS,
    Setting,
    value_words,
)
from whistlestop.tui.rooms.words import counted
from whistlestop.tui.widgets.safe_text import BLANK, Row, Span, cut, fit, row, wrapped
from whistlestop.tui.widgets.title_line import heading

Spots = list[tuple[int, int]]
_WIDEST: Final = 110
_LABEL: Final = 12
_GROUPS: Final[tuple[tuple[str, tuple[Setting, ...]], ...]] = (
    ("Circuit", NUMBERS),
    ("Room", ROOM),
    ("Stations", LISTS),
)
_NAME: Final = 30
_LONG: Final = 120
NOTHING: Final = "Change nothing: back to wishes"


def wishes_rows(
    wishes: Wishes, chosen: int, house_words: str, cells: int
) -> tuple[list[Row], Spots]:
    """The settings in their groups, with what the house adds below."""
    rows: list[Row] = []
    spots: Spots = []
    for title, settings in _GROUPS:
        rows.append(row("  ", *heading(title)))
        for setting in settings:
            is_chosen = SETTINGS.index(setting) == chosen
            spots.append((len(rows) - 1 if setting == settings[0] else len(rows),
                          len(rows)))  # fmt: skip
            rows.append(_setting_row(wishes, setting, cells, is_chosen=is_chosen))
    own = min(_WIDEST, cells)
    said = [row("  ", Span(line, "dim")) for line in wrapped(house_words, own - 4)]
    return [*rows, BLANK, *said], spots


def _setting_row(
    wishes: Wishes, setting: Setting, cells: int, *, is_chosen: bool
) -> Row:
    how = "Enter" if setting in LISTS else "← →"
    room = cells - _LABEL - 12
    return row(
        Span("▌ " if is_chosen else "  ", "bold"),
        Span(fit(setting, _LABEL), "bold" if is_chosen else "text"),
        Span(cut(value_words(wishes, setting), room), "bold" if is_chosen else "text"),
        Span(f"   {how}" if is_chosen else "", "dim"),
    )


def house_words(
    *, kit_listed: bool, limits: int, left: int | None, kept: Collection[str]
) -> str:
    """What the house adds to the wishes: kit, limits, and wishes kept under a name."""
    said = [
        "Your kit as listed"
        if kit_listed
        else "Your kit list is empty: any station may be used"
    ]
    if limits:
        said.append(f"{counted(limits, 'limit')} in force")
    if left is not None:
        said.append(f"{counted(left, 'station')} to choose from")
    if kept:
        said.append(f"saved wishes: {', '.join(kept)}")
    return "; ".join(said) + "."


def answer_rows(
    one: Built, marked: Collection[str], chosen: int, cells: int
) -> tuple[list[Row], Spots]:
    """The stations in order, each with the reason it is there and the drill after."""
    rows: list[Row] = []
    spots: Spots = []
    for place, station in enumerate(one.circuit.stations):
        is_chosen = place == chosen
        kept = station.exercise in marked
        mark = Span("▌ " if is_chosen else "  ", "bold")
        name = f"{place + 1:>2} {station.name}"
        kit = ", ".join(station.kit)
        first = row(
            mark,
            Span("● " if kept else "  ", "bold"),
            Span(fit(name, _NAME + 3) + " ", "bold" if is_chosen else "text"),
        )
        reason = one.reasons[place]
        drill = drill_words(one.circuit, place)
        after = f"then {drill}" if drill else ""
        start = len(rows)
        if cells >= _LONG:
            own = cells - _NAME - 9
            rows.append((*first, Span(cut(_joined(kit, reason), own), "dim")))
            if after:
                rows.append(row(" " * 7, Span(cut(after, cells - 8), "recover")))
        else:
            own = cells - _NAME - 9
            rows.append((*first, Span(cut(kit, own), "dim")))
            lines = wrapped(_joined(reason, after), cells - 9)
            rows += [row(" " * 7, Span(line, "dim")) for line in lines]
        spots.append((start, len(rows) - 1))
    return rows, spots


def _joined(*parts: str) -> str:
    return "; ".join(filter(None, parts))


def answer_head(one: Built, number: int, count: int, cells: int) -> list[Row]:
    """How long it takes, and which of several answers this is."""
    which = f"Answer {number} of {count}. " if count > 1 else ""
    lines = wrapped(f"{which}{lengths_words(one.circuit)}", cells - 4)
    return [*(row("  ", line) for line in lines), BLANK]


def no_fit_rows(found: NoFit, chosen: int, cells: int) -> tuple[list[Row], Spots]:
    """What is certain, the facts, and what could be given up; nothing is chosen yet."""
    own = min(_WIDEST, cells)
    rows: list[Row] = [
        row("  ", Span(line, "bold")) for line in wrapped(found.sentence, own - 4)
    ]
    for fact in found.facts:
        rows += [row("    ", line) for line in wrapped(fact, own - 6)]
    rows.append(BLANK)
    if not found.offers:
        said = "Dropping one wish, or two, was not enough."
        rows += [row("  ", line) for line in wrapped(said, own - 4)]
    spots: Spots = [(0, len(rows))]
    rows.append(_option(NOTHING, is_chosen=chosen == 0, cells=own))
    rows.append(BLANK)
    if found.offers:
        rows.append(row("  ", *heading("Any one of these works")))
    is_caution = False
    for place, offer in enumerate(found.offers, 1):
        start = len(rows)
        if offer.is_caution and not is_caution:
            is_caution = True
            rows += [BLANK, row("  ", *heading("You asked to leave this out"))]
        words = " and ".join(offer.words)
        rows.append(_option(words, is_chosen=place == chosen, cells=own))
        names = ", ".join(station.name for station in offer.built.circuit.stations)
        rows += [row("      ", Span(cut(f"gives {names}", own - 8), "dim"))]
        spots.append((start, len(rows) - 1))
    return rows, spots


def _option(words: str, *, is_chosen: bool, cells: int) -> Row:
    return row(
        Span("▌ " if is_chosen else "  ", "bold"),
        Span(
            cut(words[:1].upper() + words[1:], cells - 4),
            "bold" if is_chosen else "text",
        ),
    )


def saved_name(names: Sequence[str], wished: str) -> str:
    """A name for a circuit that none has yet: the wished one, or with a number."""
    number = 2
    name = wished
    while name in names:
        name, number = f"{wished} {number}", number + 1
    return name
