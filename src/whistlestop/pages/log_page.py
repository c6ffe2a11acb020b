"""The page of a period, for printing and keeping: all plots, with their tables.

Owns the order of its sections. Pure: the same material gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import htpy as h

from whistlestop.markup import html
from whistlestop.markup.html import Part
from whistlestop.pages import plots, sections, station_plots
from whistlestop.pages.material import Material
from whistlestop.review.change_text import change_sections
from whistlestop.review.numbers import Week

MOST_STATIONS: Final = 4
NOTHING: Final = "Nothing was entered in this period."


def log_page(material: Material, *, notes: bool = False) -> str:
    """Make the page of a period; notes are left out unless asked for."""
    title = f"Training log, {sections.period_text(material.span)}"
    parts: list[Part] = [h.h1[title]]
    if material.trainings or material.felt:
        parts.append(html.bullets(sections.fact_lines(material)))
        parts += _changes(material)
        parts += [*_weeks(material), *_lines(material), *_efforts(material)]
        parts += [*_stations(material), *_felt(material)]
    else:
        parts.append(html.paragraph(NOTHING))
    parts += _years(material)
    parts += _trainings(material)
    rows = sections.note_rows(material) if notes else []
    if rows:
        parts += [h.h2["Notes"], html.table(["day", "note"], rows)]
    return html.document(title, html.LOG, parts)


def _changes(material: Material) -> Iterator[Part]:
    if material.changes is None or not material.changes.sessions:
        return
    yield h.h2["What changed"]
    for title, sentences in change_sections(material.changes):
        yield h.h3[title]
        yield html.bullets(sentences)


def weeks_shown(material: Material) -> tuple[Week, ...]:
    """The weeks of the period; those before the first entry are left out."""
    return tuple(w for w in material.weeks if w.span.last >= material.earliest)


def _weeks(material: Material) -> Iterator[Part]:
    weeks = weeks_shown(material)
    yield h.h2["Load by week"]
    drawn = plots.weeks_plot(weeks, material.earlier_weeks, material.fixed)
    yield html.drawing(drawn)
    yield html.paragraph(sections.LOAD_WORDS, "dim small")
    yield from sections.weeks_table(weeks)
    if material.trainings:
        yield h.h2["Minutes and load by sport"]
        yield sections.sports_table(material)


def _lines(material: Material) -> Iterator[Part]:
    line = [day for day in material.trend if day.day >= material.earliest]
    if not any(day.load_au is not None for day in line):
        return
    yield h.h2["Weighted means of daily load"]
    yield html.drawing(plots.trend_plot(line))
    yield html.bullets(sections.drift_lines(material))
    words = (
        "Each day weighs 2 / (N + 1), the day before the rest: common practice. "
        "A line breaks where a day is not known."
    )
    yield html.paragraph(words, "dim small")


def _efforts(material: Material) -> Iterator[Part]:
    if material.sessions:
        yield h.h2["Effort by loop"]
        yield html.drawing(station_plots.efforts_plot(material.efforts))


def _stations(material: Material) -> Iterator[Part]:
    stations = material.stations
    if not stations:
        return
    yield h.h2["Work by region"]
    yield html.drawing(station_plots.balance_plot(material.bouts))
    yield h.h2["Stations"]
    for number, bouts in enumerate(list(stations.values())[:MOST_STATIONS]):
        yield html.drawing(station_plots.station_plot(bouts, number))
    yield from sections.stations_table(stations, len(stations))


def _felt(material: Material) -> Iterator[Part]:
    if material.felt:
        yield h.h2["Discomfort"]
        yield html.drawing(station_plots.felt_plot(material.felt, material.span))
        yield from sections.felt_table(material, len(material.felt))


def _years(material: Material) -> Iterator[Part]:
    for year in range(material.span.first.year, material.span.last.year + 1):
        yield h.h2[f"{year}, day by day"]
        yield html.drawing(
            plots.year_plot(material.book, year, material.span, material.fixed)
        )


def _trainings(material: Material) -> Iterator[Part]:
    if material.trainings:
        yield h.h2["Sessions"]
        yield sections.trainings_table(material)
