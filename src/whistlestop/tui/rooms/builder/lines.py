"""The words of the builder room: the wishes, an answer with its reasons, or why none.

Pure: values in, rows out, and where each line that can be chosen stands.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Final

from whistlestop.builder.explain import NoFit
from whistlestop.builder.making import BuiltCircuit
from whistlestop.builder.sentences import (
    drill_text,
    lengths_text,
    notes,
    station_things,
    things_to_mind,
)
from whistlestop.domain.person import NOBODY, Person
from whistlestop.domain.text import sentence_case
from whistlestop.domain.wishes import CircuitWishes
from whistlestop.tui.rooms.builder.wishes import (
    GROUPS,
    LISTS,
    SETTINGS,
    value_text,
)
from whistlestop.tui.rooms.frame.words import counted
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

RowRanges = list[tuple[int, int]]
_WIDEST: Final = 110
_LABEL: Final = 12
_NAME: Final = 30
_LONG: Final = 120
NOTHING: Final = "Change nothing: back to wishes"


def wishes_rows(
    wishes: CircuitWishes, chosen: int, cells: int
) -> tuple[list[Row], RowRanges]:
    """The settings in their groups."""
    rows: list[Row] = []
    row_ranges: RowRanges = []
    for title, settings in GROUPS.items():
        rows.append(row("  ", *heading(title)))
        for setting in settings:
            is_chosen = SETTINGS.index(setting) == chosen
            row_ranges.append((len(rows) - 1 if setting == settings[0] else len(rows),
                          len(rows)))  # fmt: skip
            rows.append(_setting_row(wishes, setting, cells, is_chosen=is_chosen))
    return rows, row_ranges


def wishes_head(home_text: str, cells: int) -> list[Row]:
    """What the home adds, above the settings: it stays in sight."""
    lines = wrapped(home_text, min(_WIDEST, cells) - 4)
    return [*(row("  ", TextSpan(line, "dim")) for line in lines), BLANK]


def _setting_row(
    wishes: CircuitWishes, setting: str, cells: int, *, is_chosen: bool
) -> Row:
    how = "Enter" if setting in LISTS else "← →"
    room = cells - _LABEL - 12
    return row(
        TextSpan("▌ " if is_chosen else "  ", "bold"),
        TextSpan(fit(setting, _LABEL), "bold" if is_chosen else "text"),
        TextSpan(
            cut(value_text(wishes, setting), room), "bold" if is_chosen else "text"
        ),
        TextSpan(f"   {how}" if is_chosen else "", "dim"),
    )


def home_text(
    *,
    kit_listed: bool,
    limits: int,
    left: int | None,
    saved: Collection[str],
    level: str = "",
    along: str = "",
) -> str:
    """What the home adds to the wishes: kit, limits, and wishes saved under a name."""
    sentences = [
        "Your kit as listed"
        if kit_listed
        else "Your kit list is empty: any station may be used"
    ]
    if limits:
        sentences.append(f"{counted(limits, 'limit')} in force")
    if left is not None:
        sentences.append(f"{counted(left, 'station')} to choose from")
    if saved:
        sentences.append(f"saved wishes: {', '.join(saved)}")
    text = "; ".join(sentences) + "."
    return " ".join(filter(None, (level, along, text)))


def answer_rows(
    one: BuiltCircuit,
    marked: Collection[str],
    chosen: int,
    cells: int,
    person: Person = NOBODY,
) -> tuple[list[Row], RowRanges]:
    """The stations in order, each with the reason it is there and the drill after.

    What to mind with their things comes at the end, in sight with the last of them.
    """
    rows: list[Row] = []
    row_ranges: RowRanges = []
    for place, station in enumerate(one.circuit.stations):
        is_chosen = place == chosen
        saved = station.exercise in marked
        mark = TextSpan("▌ " if is_chosen else "  ", "bold")
        name = f"{place + 1:>2} {station.name}"
        kit = ", ".join(station_things(station))
        first = row(
            mark,
            TextSpan("● " if saved else "  ", "bold"),
            TextSpan(fit(name, _NAME + 3) + " ", "bold" if is_chosen else "text"),
        )
        reason = one.reasons[place]
        drill = drill_text(one.circuit, place)
        after = f"then {drill}" if drill else ""
        start = len(rows)
        if cells >= _LONG:
            own = cells - _NAME - 9
            rows.append((*first, TextSpan(cut(_joined(kit, reason), own), "dim")))
            if after:
                rows.append(row(" " * 7, TextSpan(cut(after, cells - 8), "recover")))
        else:
            own = cells - _NAME - 9
            rows.append((*first, TextSpan(cut(kit, own), "dim")))
            lines = wrapped(_joined(reason, after), cells - 9)
            rows += [row(" " * 7, TextSpan(line, "dim")) for line in lines]
        row_ranges.append((start, len(rows) - 1))
    if mind := things_to_mind(one, person):
        rows.append(BLANK)
        for note in mind:
            rows += [row("  ", line) for line in wrapped(note, cells - 4)]
        row_ranges[-1] = (row_ranges[-1][0], len(rows) - 1)
    return rows, row_ranges


def _joined(*parts: str) -> str:
    return "; ".join(filter(None, parts))


def answer_head(one: BuiltCircuit, number: int, count: int, cells: int) -> list[Row]:
    """How long it takes, and which of several answers this is."""
    which = f"Answer {number} of {count}. " if count > 1 else ""
    lines = wrapped(f"{which}{lengths_text(one.circuit)}", cells - 4)
    for note in notes(one):
        lines += wrapped(note, cells - 4)
    return [*(row("  ", line) for line in lines), BLANK]


def no_fit_rows(found: NoFit, chosen: int, cells: int) -> tuple[list[Row], RowRanges]:
    """What is certain, the facts, and what could be given up; nothing is chosen yet."""
    own = min(_WIDEST, cells)
    rows: list[Row] = [
        row("  ", TextSpan(line, "bold")) for line in wrapped(found.sentence, own - 4)
    ]
    for fact in found.facts:
        rows += [row("    ", line) for line in wrapped(fact, own - 6)]
    rows.append(BLANK)
    if not found.offers:
        text = "Dropping one wish, or two, was not enough."
        rows += [row("  ", line) for line in wrapped(text, own - 4)]
    row_ranges: RowRanges = [(0, len(rows))]
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
        rows += [row("      ", TextSpan(cut(f"gives {names}", own - 8), "dim"))]
        row_ranges.append((start, len(rows) - 1))
    return rows, row_ranges


def _option(words: str, *, is_chosen: bool, cells: int) -> Row:
    return row(
        TextSpan("▌ " if is_chosen else "  ", "bold"),
        TextSpan(
            cut(sentence_case(words), cells - 4),
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
