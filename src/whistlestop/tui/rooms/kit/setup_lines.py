"""The words of 'What you have': things by key, sore places, minutes, what fits.

Pure. As few words as will do: everybody reads them on the first day.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from whistlestop.domain.duration import clock
from whistlestop.domain.sites import SITES
from whistlestop.tui.rooms.frame.words import counted
from whistlestop.tui.rooms.kit.setup_state import BOTTLE_KEY, PLAIN, SORE, TYPED, Setup
from whistlestop.tui.rooms.sheet.fit_circuits import FittedCircuit
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Column,
    Row,
    TextSpan,
    beside,
    cut,
    fit,
    row,
    wrapped,
)
from whistlestop.tui.widgets.title_line import heading

MOST_SHOWN: Final = 3
_NAME_CELLS: Final = 18
_PLACE_CELLS: Final = 21
# Keys, and what a soreness of 0 to 10 comes to.
SORE_HEADING: Final = "Sore: press once at 4-10, twice at 1-3"
STRENGTHS: Final = {"out": "leave out", "easy": "go easy"}
_GAP: Final = 3
# Words of the room where the library's are longer than need be.
_SHORT: Final = {
    "three small balls": "juggling balls",
    "skipping rope": "rope",
}
_TYPED_KEYS: Final = (*TYPED, BOTTLE_KEY)


def listing_rows(setup: Setup, typing: tuple[str, str] | None, cells: int) -> list[Row]:
    """Things to switch on and off, what is sore, and the minutes."""
    half = min(44, (cells - 2 - _GAP) // 2)
    typed = [_thing_row(setup, key, typing, half) for key in _TYPED_KEYS]
    plain = [_thing_row(setup, key, typing, half) for key in PLAIN]
    minutes = row(*heading("Minutes"), "  ", _minutes_span(setup))
    left = [heading("Weights"), *typed, BLANK, minutes]
    right = [heading("Things"), *plain]
    sore = [_thing_row(setup, key, typing, half) for key in SORE]
    half_of_sore = (len(sore) + 1) // 2
    blocks = (
        [Column(left, half), Column(right, half)],
        [Column(sore[:half_of_sore], half), Column(sore[half_of_sore:], half)],
    )
    things, places = (
        [(TextSpan("  "), *line) for line in beside(columns, _GAP)]
        for columns in blocks
    )
    return [*things, BLANK, row("  ", *heading(SORE_HEADING)), *places]


def _minutes_span(setup: Setup) -> TextSpan:
    """The minutes as typed; before that, the keys that type them."""
    return TextSpan(setup.minutes, "bold") if setup.minutes else TextSpan("0-9", "dim")


def _thing_row(
    setup: Setup, key: str, typing: tuple[str, str] | None, cells: int
) -> Row:
    is_typing = typing is not None and typing[0] == key
    has = setup.has(key)
    name_cells = _PLACE_CELLS if key in SORE else _NAME_CELLS
    detail = _detail(setup, key)
    if is_typing and typing is not None:
        detail = f"{typing[1]}▌ kg"
    return row(
        TextSpan(f"{key} ", "bold"),
        TextSpan("● " if has else "○ ", "bold" if has else "dim"),
        TextSpan(
            fit(_name(key), name_cells - 4), "bold" if has or is_typing else "text"
        ),
        TextSpan(cut(f" {detail}", cells - name_cells) if detail else "", "bold"),
    )


def _name(key: str) -> str:
    if key == BOTTLE_KEY:
        return "1.5 L bottle"
    if key in SORE:
        return SITES[SORE[key]].name
    word = TYPED.get(key) or PLAIN[key]
    return _SHORT.get(word, word)


def _detail(setup: Setup, key: str) -> str:
    if key == BOTTLE_KEY:
        return f"× {setup.bottles}" if setup.bottles else ""
    if key in SORE:
        strength = setup.strength(key)
        return STRENGTHS[strength] if strength else ""
    return setup.loads(key) if key in TYPED else ""


# --- What fits ------------------------------------------------------------------


def suited_rows(
    found: Sequence[FittedCircuit],
    minutes: str,
    chosen: int,
    cells: int,
) -> tuple[list[Row], list[tuple[int, int]]]:
    """The circuits that suit best, the changes of the chosen one, and their places."""
    if not found:
        return [row("  No circuit could be read.")], []
    rows: list[Row] = []
    if minutes and not found[0].fits:
        text = f"  Nothing fits {minutes} minutes; these come closest."
        rows += [row(text), BLANK]
    row_ranges: list[tuple[int, int]] = []
    for index, one in enumerate(found[:MOST_SHOWN]):
        first = len(rows)
        rows += _suited_row(one, cells, chosen=index == chosen)
        row_ranges.append((first, len(rows) - 1))
        rows.append(BLANK)
    return rows, row_ranges


def _suited_row(one: FittedCircuit, cells: int, *, chosen: bool) -> list[Row]:
    plan = one.draft.plan
    head = row(
        TextSpan("▌ " if chosen else "  ", "bold"),
        TextSpan(cut(one.draft.circuit.name, 30), "bold" if chosen else "text"),
        TextSpan(f"  {clock(plan.total_ms)}", "work"),
    )
    if not chosen:
        return [head]
    text = f"  {counted(len(plan.stations), 'station')} × {plan.loops}"
    if one.uses:
        text += f", your kit at {one.uses}"
    head = (*head, TextSpan(text, "dim"))
    rows = [head]
    for sentence in change_text(one):
        rows += [
            row("      " if at else "    · ", line)
            for at, line in enumerate(wrapped(sentence, cells - 8))
        ]
    return rows


def change_text(one: FittedCircuit) -> list[str]:
    """What was changed to make a circuit suit, shortest form; nothing is left out."""
    changes = one.draft.changes
    sentences = [
        f"{exchange.name} for {one.draft.circuit.stations[number - 1].name}"
        for number, exchange in changes.exchanges.items()
        if exchange.name != one.draft.circuit.stations[number - 1].name
    ]
    loads = [
        f"{line.resolved.wanted} → {line.used} at {line.station}"
        for line in one.draft.lines
        if line.resolved.wanted != line.used
        and line.station in {card.number for card in one.draft.plan.stations}
    ]
    sentences += [", ".join(loads)] if loads else []
    if changes.drills:
        sentences.append(f"{counted(len(changes.drills), 'other drill')}")
    sentences += _time_text(one)
    return sentences or ["no changes"]


def _time_text(one: FittedCircuit) -> list[str]:
    """Loops, stations and times of today, where they are not as written."""
    today, stations = one.draft.today, one.draft.as_performed.stations
    sentences = [
        f"without {stations[n - 1].name}" for n in sorted(today.without_stations)
    ]
    lengths = (
        ("work", today.work_ms),
        ("recover", today.recover_ms),
        ("break", today.loop_break_ms),
    )
    times = [counted(today.loops, "loop")] if today.loops is not None else []
    times += [f"{name} {ms // 1000} s" for name, ms in lengths if ms is not None]
    return [*sentences, *([", ".join(times)] if times else [])]
