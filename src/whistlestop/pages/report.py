"""Two pages for a professional: what, how much, effort, discomfort, changes.

Owns what fits on two sheets of A4 and what is left out, which is stated. Private notes
stay out unless asked for. Pure: the same material gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

import htpy as h

from whistlestop.domain.text import shown
from whistlestop.markup import html
from whistlestop.markup.html import Part
from whistlestop.pages import plots, sections, station_plots
from whistlestop.pages.log_page import NOTHING, weeks_shown
from whistlestop.pages.material import Material
from whistlestop.review.days import Training

# What two sheets of A4 hold, printed and counted with every one of them reached.
MOST_WEEKS: Final = 10
MOST_KINDS: Final = 5
MOST_STATIONS: Final = 6
MOST_CHANGES: Final = 5
MOST_FELT: Final = 4
MOST_SITES: Final = 5
MOST_NOTES: Final = 2
_NOTE_LIMIT: Final = 90
_LINE_LIMIT: Final = 100
_NAME_LIMIT: Final = 30


class _Rows(NamedTuple):
    """How many rows the parts of the second sheet have."""

    felt: int
    changes: int
    stations: int


def report(material: Material, *, notes: bool = False) -> str:
    """Make the report of a period; notes are left out unless asked for."""
    title = f"Training report, {sections.period_text(material.span)}"
    first: list[Part] = [h.h1[title], *_head(notes=notes)]
    if not material.trainings and not material.felt:
        first.append(html.paragraph(NOTHING))
        return html.document(title, html.LOG, [h.section(".sheet")[first]])
    first += [*_what(material), *_how_much(material)]
    # Notes have to find room on the second sheet.
    rows = _Rows(3, 4, 4) if notes else _Rows(MOST_FELT, MOST_CHANGES, MOST_STATIONS)
    second: list[Part] = [
        *_effort(material),
        *_felt(material, rows),
        *_changes(material, rows),
    ]
    second += _notes(material) if notes else []
    return html.document(
        title, html.LOG, [h.section(".sheet")[first], h.section(".sheet")[second]]
    )


def _head(*, notes: bool) -> Iterator[Part]:
    private = "private notes are included" if notes else "private notes are left out"
    words = (
        f"From the athlete's own log, as entered; {private}. "
        "Figures describe what was done. They judge nothing and predict nothing."
    )
    yield html.paragraph(words, "dim")


def _what(material: Material) -> Iterator[Part]:
    yield h.h2["What"]
    yield html.bullets(sections.fact_lines(material))
    kinds: dict[tuple[str, str], list[Training]] = {}
    for training in material.trainings:
        kinds.setdefault((training.kind.value, training.sport), []).append(training)
    ranked = sorted(
        kinds.items(), key=lambda kind: (-sum(t.length_ms for t in kind[1]), kind[0])
    )
    rows = [
        [
            kind,
            shown(name, 2 * _NAME_LIMIT),
            str(len(found)),
            sections.hours_text(_ms(found)),
        ]
        for (kind, name), found in ranked[:MOST_KINDS]
    ]
    numbers = frozenset({2, 3})
    yield html.table(["kind", "name", "times", "time in all"], rows, numbers)
    hidden = len(ranked) - MOST_KINDS
    if hidden > 0:
        words = f"{sections.counted(hidden, 'kind')} with less time left out."
        yield html.paragraph(words, "dim small")


def _ms(trainings: list[Training]) -> int:
    return sum(training.length_ms for training in trainings)


def _how_much(material: Material) -> Iterator[Part]:
    weeks = weeks_shown(material)
    yield h.h2["How much"]
    drawn = plots.weeks_plot(weeks, material.earlier_weeks, material.fixed)
    yield html.drawing(drawn)
    yield html.paragraph(sections.LOAD_WORDS, "dim small")
    yield from sections.weeks_table(weeks[-MOST_WEEKS:])
    if len(weeks) > MOST_WEEKS:
        words = f"The table holds the last {MOST_WEEKS} of {len(weeks)} weeks."
        yield html.paragraph(words, "dim small")


def _effort(material: Material) -> Iterator[Part]:
    yield h.h2["Effort, 0 to 10, by loop of each circuit"]
    if material.sessions:
        yield html.drawing(station_plots.efforts_plot(material.efforts))
    else:
        yield html.paragraph("No circuit was recorded loop by loop.")


def _felt(material: Material, rows: _Rows) -> Iterator[Part]:
    yield h.h2["Discomfort over time"]
    if not material.felt:
        yield html.paragraph("None was entered.")
        return
    yield html.drawing(
        station_plots.felt_plot(material.felt, material.span, MOST_SITES)
    )
    yield from sections.felt_table(material, rows.felt)


def _changes(material: Material, rows: _Rows) -> Iterator[Part]:
    yield h.h2["Changes"]
    lines = [
        shown(line, _LINE_LIMIT)
        for line in sections.change_lines(material, _NAME_LIMIT)
    ]
    if lines:
        yield html.bullets(lines[: rows.changes])
    else:
        yield html.paragraph("No load changed, and no day was marked.")
    if len(lines) > rows.changes:
        words = f"{len(lines) - rows.changes} more not shown."
        yield html.paragraph(words, "dim small")
    if material.stations:
        yield h.h2["Stations, most work first"]
        yield from sections.stations_table(
            material.stations, rows.stations, _NAME_LIMIT
        )


def _notes(material: Material) -> Iterator[Part]:
    rows = sections.note_rows(material)
    if rows:
        kept = [[day, shown(note, _NOTE_LIMIT)] for day, note in rows[-MOST_NOTES:]]
        yield h.h2["Notes, the last ones"]
        yield html.table(["day", "note"], kept)
