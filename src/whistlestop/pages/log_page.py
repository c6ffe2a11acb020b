"""The page of a period, for printing and keeping: all plots, with their tables.

Owns the order of its sections. Pure: the same material gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from whistlestop.pages import html, plots, sections, station_plots
from whistlestop.pages.html import Html
from whistlestop.pages.material import Material
from whistlestop.review.numbers import Week

MOST_STATIONS: Final = 4
NOTHING: Final = "Nothing was entered in this period."


def log_page(material: Material, *, notes: bool = False) -> str:
    """Make the page of a period; notes are left out unless asked for."""
    title = f"Training log, {sections.period_text(material.span)}"
    parts = [Html(f"<h1>{html.text(title)}</h1>")]
    if material.trainings or material.felt:
        parts.append(html.bullets(sections.fact_lines(material)))
        parts += [*_weeks(material), *_lines(material), *_efforts(material)]
        parts += [*_stations(material), *_felt(material)]
    else:
        parts.append(html.paragraph(NOTHING))
    parts += _years(material)
    parts += _trainings(material)
    rows = sections.note_rows(material) if notes else []
    if rows:
        parts += [html.heading("Notes"), html.table(["day", "note"], rows)]
    return html.document(title, parts)


def weeks_shown(material: Material) -> tuple[Week, ...]:
    """The weeks of the period; those before the first entry are left out."""
    return tuple(w for w in material.weeks if w.span.last >= material.earliest)


def _weeks(material: Material) -> Iterator[Html]:
    weeks = weeks_shown(material)
    yield html.heading("Load by week")
    yield html.figure(plots.weeks_plot(weeks, material.earlier_weeks))
    yield html.paragraph(sections.LOAD_WORDS, "dim small")
    yield from sections.weeks_table(weeks)


def _lines(material: Material) -> Iterator[Html]:
    line = [day for day in material.trend if day.day >= material.earliest]
    if not any(day.load_au is not None for day in line):
        return
    yield html.heading("Weighted means of daily load")
    yield html.figure(plots.trend_plot(line))
    yield html.bullets(sections.drift_lines(material))
    words = (
        "Each day weighs 2 / (N + 1), the day before the rest (Williams et al. 2017). "
        "A line breaks where a day is not known."
    )
    yield html.paragraph(words, "dim small")


def _efforts(material: Material) -> Iterator[Html]:
    if material.sessions:
        yield html.heading("Effort by loop")
        yield html.figure(station_plots.efforts_plot(material.efforts))


def _stations(material: Material) -> Iterator[Html]:
    stations = material.stations
    if not stations:
        return
    yield html.heading("Work by region")
    yield html.figure(station_plots.balance_plot(material.bouts))
    yield html.heading("Stations")
    for number, bouts in enumerate(list(stations.values())[:MOST_STATIONS]):
        yield html.figure(station_plots.station_plot(bouts, number))
    yield from sections.stations_table(stations, len(stations))


def _felt(material: Material) -> Iterator[Html]:
    if material.felt:
        yield html.heading("Discomfort")
        yield html.figure(station_plots.felt_plot(material.felt, material.span))
        yield from sections.felt_table(material, len(material.felt))


def _years(material: Material) -> Iterator[Html]:
    for year in range(material.span.first.year, material.span.last.year + 1):
        yield html.heading(f"{year}, day by day")
        yield html.figure(plots.year_plot(material.book, year, material.span))


def _trainings(material: Material) -> Iterator[Html]:
    if material.trainings:
        yield html.heading("Sessions")
        yield sections.trainings_table(material)
