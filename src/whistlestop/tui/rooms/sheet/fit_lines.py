"""The words of 'I have N minutes': the ways to fit a circuit, each in sentences.

Pure: a draft and what was found in, rows out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from whistlestop.domain.circuit.circuit import Circuit, TimedItem
from whistlestop.domain.circuit.fit import Fit, Option, fit
from whistlestop.domain.duration import clock
from whistlestop.domain.exercise import Exercise
from whistlestop.tui.rooms.sheet.today import Draft
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, row, wrapped


@dataclass(frozen=True, slots=True)
class FitChoice:
    """One way to fit, with the warm-up it takes; None is the one there is."""

    option: Option
    warm_up: tuple[TimedItem, ...] | None = None


def fit_draft(draft: Draft, minutes: int) -> Fit:
    """Find the best ways to bring the circuit of a draft to so many minutes."""
    return fit_circuit(draft.as_performed, minutes, draft.means.exercises)


def fit_circuit(circuit: Circuit, minutes: int, known: Mapping[str, Exercise]) -> Fit:
    """Find the best ways to bring a circuit to so many minutes."""
    regions = {key: one.region for key, one in known.items()}
    return fit(circuit, minutes * 60_000, regions)


def ways(found: Fit) -> tuple[FitChoice, ...]:
    """Everything that can be taken, the offer of a shorter warm-up last."""
    offer = found.warm_up
    last = (FitChoice(offer.option, offer.items),) if offer is not None else ()
    return (*(FitChoice(option) for option in found.options), *last)


def fit_rows(
    draft: Draft, typed: str, found: Fit | None, chosen: int, cells: int
) -> tuple[list[Row], list[tuple[int, int]]]:
    """The minutes as they are typed, then the ways; and where each way stands."""
    rows: list[Row] = [
        row("  I have ", TextSpan(typed or "…", "bold"), _minutes(typed)),
        BLANK,
    ]
    row_ranges: list[tuple[int, int]] = []
    if found is None:
        text = f"As it stands it takes {clock(draft.plan.total_ms)}."
        if draft.is_changed:
            text += " Your choice replaces today's times and stations left out."
        return [*rows, *_dim_lines(text, cells)], row_ranges
    rows += [*_dim_lines(found.sentence, cells), BLANK]
    for index, way in enumerate(ways(found)):
        first = len(rows)
        rows += _way_rows(way, cells, chosen=index == chosen)
        row_ranges.append((first, len(rows) - 1))
        rows.append(BLANK)
    return rows, row_ranges


def _minutes(typed: str) -> str:
    return " minute" if typed == "1" else " minutes"


def _dim_lines(sentence: str, cells: int) -> list[Row]:
    return [row("  ", TextSpan(line, "dim")) for line in wrapped(sentence, cells - 4)]


def _way_rows(way: FitChoice, cells: int, *, chosen: bool) -> list[Row]:
    option = way.option
    spare = (
        f"{clock(option.spare_ms)} to spare" if option.spare_ms else "no time to spare"
    )
    rows = [
        row(
            TextSpan("▌ " if chosen else "  ", "bold"),
            TextSpan(clock(option.total_ms), "bold"),
            TextSpan(f"  {spare}", "dim"),
        )
    ]
    sentences = list(option.changes)
    if way.warm_up is not None:
        total_ms = sum(item.duration_ms for item in way.warm_up)
        sentences.insert(
            0, f"warm-up of {clock(total_ms)}, to keep more of the circuit"
        )
    sentence = "; ".join(sentences) or "no changes"
    rows += [row("    ", line) for line in wrapped(sentence, cells - 6)]
    return rows
