"""The words of single loops: what differs in the chosen one, beside what holds always.

Pure: a circuit and a loop in, rows out. What is the loop's own has a dot before it.
"""

from __future__ import annotations

from typing import Final

from whistlestop.domain.circuit.circuit import Circuit, LoopChange, StationInLoop, Today
from whistlestop.domain.circuit.edit_loops import in_loop_at, loop_at
from whistlestop.domain.field import fields_of
from whistlestop.domain.plan.timeline import resolve
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, cut, fit, row

IN_LOOP: Final = {one.label: one for one in fields_of(LoopChange)}
FIGURES: Final = tuple(IN_LOOP)
OWN: Final = "●"
_NUMBER_CELLS: Final = 5
_VALUE_CELLS: Final = 10
_LOAD_CELLS: Final = 14
_WIDEST: Final = 96


def loops_row(circuit: Circuit, loop: int, cells: int) -> Row:
    """All loops; the chosen one in brackets, one that differs with a dot."""
    spans: list[TextSpan] = [TextSpan("  loop ", "dim")]
    for number in range(1, circuit.loops + 1):
        dot = OWN if differs(circuit, number) else ""
        word = f"[{number}{dot}]" if number == loop else f" {number}{dot} "
        spans.append(TextSpan(word, "bold" if number == loop else "text"))
    return row(TextSpan(cut("".join(span.text for span in spans), cells), "bold"))


def differs(circuit: Circuit, loop: int) -> bool:
    """Whether a loop has anything of its own."""
    return circuit.loop_changes.get(loop, LoopChange()) != LoopChange()


def loop_rows(
    circuit: Circuit, loop: int, chosen: int, cells: int
) -> tuple[list[Row], list[tuple[int, int]]]:
    """Settings of the loop, then its stations; and where each line stands."""
    change = loop_at(circuit, loop)
    usual = f"as usual, {circuit.work_ms // 1000} s"
    values = {
        "work": (_seconds(change.work_ms), usual),
        "recover": (
            _seconds(change.recover_ms),
            f"as usual, {circuit.recover_ms // 1000} s",
        ),
        "load": (str(change.load) if change.load else "", "as each station says"),
    }
    rows: list[Row] = []
    for place, figure in enumerate(FIGURES):
        own, text = values[figure]
        is_chosen = place == chosen
        rows.append(
            row(
                TextSpan("▌ " if is_chosen else "  ", "bold"),
                TextSpan(fit(figure, 10), "bold" if is_chosen else "text"),
                TextSpan(f"{OWN} " if own else "  ", "bold"),
                TextSpan(fit(own or text, 26), "bold" if own else "dim"),
                TextSpan(_hint(figure) if is_chosen else "", "bold"),
            )
        )
    rows.append(BLANK)
    wide = min(cells, _WIDEST)
    rows.append(_heads(wide))
    first = len(rows)
    for number in range(1, len(circuit.stations) + 1):
        is_chosen = len(FIGURES) + number - 1 == chosen
        rows.append(_station_row(circuit, loop, number, wide, chosen=is_chosen))
    row_ranges = [(place, place) for place in range(len(FIGURES))]
    row_ranges += [(first + n, first + n) for n in range(len(circuit.stations))]
    return rows, row_ranges


def _hint(figure: str) -> str:
    return "  Enter" if figure == "load" else "  ← →  Enter"


def _heads(cells: int) -> Row:
    name = _name_cells(cells)
    words = (
        " " * _NUMBER_CELLS
        + fit("station", name)
        + fit("  work", _VALUE_CELLS)
        + fit("  recover", _VALUE_CELLS)
        + "  load"
    )
    return row(TextSpan(cut(words, cells), "dim"))


def _name_cells(cells: int) -> int:
    return max(6, cells - _NUMBER_CELLS - 2 * _VALUE_CELLS - _LOAD_CELLS)


def _station_row(
    circuit: Circuit, loop: int, number: int, cells: int, *, chosen: bool
) -> Row:
    station = circuit.stations[number - 1]
    own = in_loop_at(circuit, loop, number)
    head = (
        TextSpan("▌" if chosen else " ", "bold"),
        TextSpan(f"{number:>3} ", "dim"),
        TextSpan(fit(station.name, _name_cells(cells)), "bold" if chosen else "text"),
    )
    if own.skip:
        return (*head, TextSpan(cut(f"{OWN} left out", cells), "bold"))
    return (*head, *_value_spans(circuit, loop, number, own))


def _value_spans(
    circuit: Circuit, loop: int, number: int, own: StationInLoop
) -> tuple[TextSpan, ...]:
    station = circuit.stations[number - 1]
    settled = resolve(circuit, station, loop, number, Today())
    change = loop_at(circuit, loop)
    loads = change.load is not None and station.load is not None
    rest = _seconds(settled.recover_ms)
    if _is_last(circuit, loop, number) and not circuit.has_last_recover:
        rest = "–"
    details = (
        (_seconds(settled.work_ms), own.work_ms is not None, change.work_ms, 10),
        (rest, own.recover_ms is not None, change.recover_ms, 10),
        (str(settled.load or ""), own.load is not None, loads or None, _LOAD_CELLS),
    )  # fmt: skip
    spans: list[TextSpan] = []
    for value, is_own, of_loop, wide in details:
        mark = f"{OWN} " if is_own else "  "
        tone_own = is_own or of_loop is not None
        spans.append(TextSpan(mark, "bold"))
        spans.append(TextSpan(fit(value, wide - 2), "bold" if tone_own else "dim"))
    return tuple(spans)


def _is_last(circuit: Circuit, loop: int, number: int) -> bool:
    later = range(number + 1, len(circuit.stations) + 1)
    return all(in_loop_at(circuit, loop, n).skip for n in later)


def _seconds(ms: int | None) -> str:
    return "" if ms is None else f"{ms // 1000} s"


def loops_text(circuit: Circuit) -> str:
    """What differs, loop by loop, in one line; nothing where all are alike."""
    found = []
    for loop in range(1, circuit.loops + 1):
        change = circuit.loop_changes.get(loop, LoopChange())
        sentences = []
        if change.work_ms is not None:
            sentences.append(f"work {_seconds(change.work_ms)}")
        if change.recover_ms is not None:
            sentences.append(f"recover {_seconds(change.recover_ms)}")
        if change.load is not None:
            sentences.append(f"{change.load}")
        out = [str(n) for n, own in sorted(change.stations.items()) if own.skip]
        if out:
            sentences.append(f"without {', '.join(out)}")
        own = [str(n) for n, one in sorted(change.stations.items())
               if beside_skip(one) != StationInLoop()]  # fmt: skip
        if own:
            sentences.append(f"own figures at {', '.join(own)}")
        if sentences:
            found.append(f"loop {loop}: {', '.join(sentences)}")
    return "; ".join(found)


def beside_skip(own: StationInLoop) -> StationInLoop:
    """What a station has of its own in a loop beside being left out."""
    return StationInLoop(own.work_ms, own.recover_ms, own.load)
