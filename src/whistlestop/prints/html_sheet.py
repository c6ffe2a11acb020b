"""The station sheet as one A4 page of HTML, to print and to write efforts on.

Pure: the same facts give the same bytes. It refuses to know files.
"""

from __future__ import annotations

from math import cos, pi, sin
from typing import Final

import htpy as h

from whistlestop.domain.circuit.advice import source_lines
from whistlestop.markup.html import (
    STATION_SHEET,
    Html,
    Part,
    bullets,
    document,
    paragraph,
    section,
    table,
    text,
)
from whistlestop.prints import paper
from whistlestop.prints.sheet_facts import SheetFacts

# Letters by how many lines there are to set, so that it stays one page as far as it
# can: most lines, then the sizes in pt of text, of heads and of small print. Measured
# on the samples with full kit and with hardly any.
_SIZES: Final = (
    (50, (9.5, 11.0, 8.0)),
    (55, (8.5, 10.0, 7.5)),
    (66, (8.0, 9.5, 7.2)),
    (9_999, (7.5, 9.0, 7.0)),
)
_CARE_CHARACTERS: Final = 62
_CIRCLE: Final = h.Element("circle")
_LABEL: Final = h.Element("text")


def sheet_html(facts: SheetFacts) -> str:
    """Lay a sheet out on one page: stations, floor, kit, cautions, warm-up, advice."""
    plan = facts.plan
    rows = [line.cells for line in paper.station_lines(plan)]
    warm_up = bullets(paper.item_lines(facts.warm_up))
    cool_down = bullets(paper.item_lines(facts.circuit.cool_down))
    parts = [
        h.h1[text(plan.name)],
        paragraph(paper.totals(plan), "totals"),
        section("Stations", table(paper.HEADS, rows)),
        h.div(".two")[
            h.div[section("Lay out, in floor order", *_kit(facts))],
            h.div[_ring(facts)],
        ],
        section("Blocked today", bullets(paper.way_lines(facts), "small")),
        section("Take care", _cautions(facts)),
        h.div(".even")[
            h.div[section(paper.warm_up_title(facts), warm_up)],
            h.div[section("Cool-down", cool_down)],
        ],
        section("Notes", bullets(paper.note_lines(facts), "small")),
        section("Advice on station order", _advice(facts)),
        paragraph(paper.STOP, "stop"),
        _efforts(facts),
    ]
    return document(f"{plan.name}: station sheet", STATION_SHEET, parts, _sizes(facts))


def _sizes(facts: SheetFacts) -> dict[str, str]:
    """Sizes of letters by a count of lines; two columns count as the longer one."""
    items = (len(facts.warm_up), len(facts.circuit.cool_down))
    table = paper.station_lines(facts.plan)
    wrapped = sum(len(line.sides) > 16 or len(line.load) > 16 for line in table)
    count = 2 * len(table) + wrapped + len(paper.kit_lines(facts))
    count += len(paper.kit_notes(facts)) + 2 * len(paper.way_lines(facts))
    count += _care_lines(facts) + max(items)
    count += len(paper.note_lines(facts)) + len(facts.advice)
    count += len(source_lines(facts.advice))
    sizes = next(sizes for most, sizes in _SIZES if count <= most)
    return {
        name: f"{size}pt"
        for name, size in zip(("text", "head", "small"), sizes, strict=True)
    }


def _care_lines(facts: SheetFacts) -> int:
    """How many lines of the page the cautions take, in two columns of small print."""
    texts = [f"{title}: {words}" for title, words in paper.caution_lines(facts)]
    texts += facts.things
    return sum(1 + len(one) // _CARE_CHARACTERS for one in texts) // 2


def _kit(facts: SheetFacts) -> tuple[Part, Part]:
    fetched = bullets(paper.kit_lines(facts), "kit")
    return (
        fetched or paragraph("Nothing to lay out."),
        bullets(paper.kit_notes(facts), "small"),
    )


def _cautions(facts: SheetFacts) -> Part:
    rows = [
        h.li[h.b[text(title)], ": ", text(words)]
        for title, words in paper.caution_lines(facts)
    ]
    return h.ul(".care.small")[rows, [h.li[text(note)] for note in facts.things]]


def _advice(facts: SheetFacts) -> Part:
    notes = [f"{one.sentence} ({one.rule})" for one in facts.advice]
    return bullets([*notes, *source_lines(facts.advice)], "small")


def _efforts(facts: SheetFacts) -> Html:
    fields = [f"loop {number} " for number in range(1, facts.plan.loops + 1)]
    return h.div(".efforts")[
        h.div["Effort, 0 to 10:"],
        # A blank that keeps its place: the line below is what is written on.
        [h.div[field, h.span["\u00a0"]] for field in (*fields, "session ")],
    ]


def _ring(facts: SheetFacts) -> Html:
    """The floor as a ring: stations round it as they stand, the first at the top."""
    count = len(facts.plan.stations)
    line = {"stroke": "#777", "stroke-width": "0.4", "stroke-dasharray": "1 1.5"}
    label = f"the floor: {count} stations in a ring"
    return h.svg(viewBox="0 0 100 100", role="img", aria_label=label)[
        _CIRCLE(line, cx="50", cy="50", r="40", fill="none"),
        [
            _mark(card.number, 2 * pi * place / count)
            for place, card in enumerate(facts.plan.stations)
        ],
    ]


def _mark(number: int, turn: float) -> list[Html]:
    x, y = 50 + 40 * sin(turn), 50 - 40 * cos(turn)
    disc = {"fill": "#fff", "stroke": "#000", "stroke-width": "0.6", "r": "5.4"}
    label = {"text-anchor": "middle", "font-size": "5.6"}
    return [
        _CIRCLE(disc, cx=f"{x:.2f}", cy=f"{y:.2f}"),
        _LABEL(label, x=f"{x:.2f}", y=f"{y + 2:.2f}")[number],
    ]
