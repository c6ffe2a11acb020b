"""Two pages for a professional: what, how much, effort, discomfort, changes.

Owns what fits on two sheets of A4 and what is left out, which is said. Private notes
stay out unless asked for. Pure: the same material gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from whistlestop.pages import html, plots, sections, station_plots
from whistlestop.pages.html import Html
from whistlestop.pages.log_page import NOTHING, weeks_shown
from whistlestop.pages.material import Material
from whistlestop.review.days import Training

MOST_WEEKS: Final = 13
MOST_KINDS: Final = 8
MOST_STATIONS: Final = 8
MOST_CHANGES: Final = 8
MOST_FELT: Final = 6
MOST_NOTES: Final = 4
_NOTE_LIMIT: Final = 160
_LINE_LIMIT: Final = 110


def report(material: Material, *, notes: bool = False) -> str:
    """Make the report of a period; notes are left out unless asked for."""
    title = f"Training report, {sections.period_words(material.span)}"
    first = [Html(f"<h1>{html.text(title)}</h1>"), *_head(notes=notes)]
    if not material.trainings and not material.felt:
        first.append(html.paragraph(NOTHING))
        return html.document(title, [html.sheet(first)])
    first += [*_what(material), *_how_much(material)]
    second = [*_effort(material), *_felt(material), *_changes(material)]
    second += _notes(material) if notes else []
    return html.document(title, [html.sheet(first), html.sheet(second)])


def _head(*, notes: bool) -> Iterator[Html]:
    private = "with some of them" if notes else "without them"
    words = (
        f"From the athlete's own log, as entered; private notes: {private}. "
        "Figures describe what was done. They judge nothing and predict nothing."
    )
    yield html.paragraph(words, "dim")


def _what(material: Material) -> Iterator[Html]:
    yield html.heading("What")
    yield html.bullets(sections.fact_lines(material))
    kinds: dict[tuple[str, str], list[Training]] = {}
    for training in material.trainings:
        kinds.setdefault((training.kind.value, training.sport), []).append(training)
    ranked = sorted(
        kinds.items(), key=lambda kind: (-sum(t.length_ms for t in kind[1]), kind[0])
    )
    rows = [
        [kind, _short(name, 60), str(len(found)), sections.hours_words(_ms(found))]
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


def _short(words: str, limit: int) -> str:
    return words if len(words) <= limit else words[: limit - 1] + "…"


def _how_much(material: Material) -> Iterator[Html]:
    weeks = weeks_shown(material)
    yield html.heading("How much")
    yield html.figure(plots.weeks_plot(weeks, material.earlier_weeks))
    yield html.paragraph(sections.LOAD_WORDS, "dim small")
    yield from sections.weeks_table(weeks[-MOST_WEEKS:])
    if len(weeks) > MOST_WEEKS:
        words = f"The table holds the last {MOST_WEEKS} of {len(weeks)} weeks."
        yield html.paragraph(words, "dim small")


def _effort(material: Material) -> Iterator[Html]:
    yield html.heading("Effort, 0 to 10, by loop of each circuit")
    if material.sessions:
        yield html.figure(station_plots.efforts_plot(material.efforts))
    else:
        yield html.paragraph("No circuit was recorded loop by loop.")


def _felt(material: Material) -> Iterator[Html]:
    yield html.heading("Discomfort over time")
    if not material.felt:
        yield html.paragraph("None was entered.")
        return
    yield html.figure(station_plots.felt_plot(material.felt, material.span))
    yield from sections.felt_table(material, MOST_FELT)


def _changes(material: Material) -> Iterator[Html]:
    yield html.heading("Changes")
    lines = [_short(line, _LINE_LIMIT) for line in sections.change_lines(material)]
    if lines:
        yield html.bullets(lines[:MOST_CHANGES])
    else:
        yield html.paragraph("No load changed, and no day was marked.")
    if len(lines) > MOST_CHANGES:
        words = f"{len(lines) - MOST_CHANGES} more left out."
        yield html.paragraph(words, "dim small")
    if material.stations:
        yield html.heading("Stations, most work first")
        yield from sections.stations_table(material.stations, MOST_STATIONS)


def _notes(material: Material) -> Iterator[Html]:
    rows = sections.note_rows(material)
    if rows:
        kept = [[day, _short(note, _NOTE_LIMIT)] for day, note in rows[-MOST_NOTES:]]
        yield html.heading("Notes, the last ones")
        yield html.table(["day", "note"], kept)
