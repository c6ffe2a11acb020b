"""The station sheet as one A4 page of HTML, to print and to write efforts on.

Pure: the same facts give the same bytes. It refuses to know files.
"""

from __future__ import annotations

from math import cos, pi, sin
from typing import Final

from whistlestop.domain.circuit.advice import source_lines
from whistlestop.prints import paper
from whistlestop.prints.html_page import block, bullets, document, table, text
from whistlestop.prints.sheet_facts import SheetFacts

# Letters by how many lines there are to set, so that it stays one page as far as it
# can: most lines, then the sizes in pt of text, of heads and of small print. Measured
# on the samples with full kit and with hardly any.
_SIZES: Final = (
    (45, (9.5, 11.0, 8.0)),
    (58, (8.5, 10.0, 7.5)),
    (9_999, (7.5, 9.0, 7.0)),
)
_STYLE: Final = """\
@page {{ size: A4 portrait; margin: 11mm 12mm; }}
body {{ font-size: {size}pt; line-height: 1.28; }}
h1 {{ font-size: 19pt; line-height: 1.1; }}
h2 {{ font-size: {head}pt; margin: 2.6mm 0 0.8mm; border-bottom: 0.3mm solid #000; }}
.totals {{ margin-top: 1mm; font-size: {head}pt; }}
th, td {{ padding: 0.55mm 1.6mm 0.55mm 0; vertical-align: top; }}
tr {{ border-bottom: 0.15mm solid #999; }}
th {{ font-size: 8pt; }}
td:first-child {{ font-weight: bold; }}
td:nth-child(2), td:nth-child(4) {{ font-weight: bold; }}
td:nth-child(6) {{ white-space: nowrap; }}
.two {{ display: grid; grid-template-columns: 1fr 58mm; column-gap: 7mm; }}
.even {{ display: grid; grid-template-columns: 1fr 1fr; column-gap: 7mm; }}
.care {{ columns: 2; column-gap: 7mm; }}
.kit li::before {{ content: "\\2610\\00a0"; }}
li {{ break-inside: avoid; }}
.small {{ font-size: {small}pt; }}
.stop {{ margin-top: 2.6mm; border: 0.5mm solid #000; padding: 1.2mm 2mm;
  font-weight: bold; }}
.efforts {{ margin-top: 2.6mm; display: flex; flex-wrap: wrap; gap: 2mm 5mm; }}
.efforts span {{ border-bottom: 0.2mm solid #000; display: inline-block;
  width: 14mm; }}
svg {{ display: block; width: 100%; height: auto; margin-top: 2mm; }}
"""


def sheet_html(facts: SheetFacts) -> str:
    """Lay a sheet out on one page: stations, floor, kit, cautions, warm-up, advice."""
    plan = facts.plan
    size, head, small = _sizes(facts)
    style = _STYLE.format(size=size, head=head, small=small)
    rows = [line.cells for line in paper.station_lines(plan)]
    body = [
        f"<h1>{text(plan.name)}</h1>",
        f'<p class="totals">{text(paper.totals(plan))}</p>',
        block("Stations", table(paper.HEADS, rows)),
        '<div class="two"><div>',
        block("Lay out, in floor order", _kit(facts)),
        "</div><div>",
        _ring(facts),
        "</div></div>",
        block("Blocked today", bullets(paper.way_lines(facts), "small")),
        block("Take care", _cautions(facts)),
        '<div class="even"><div>',
        block(paper.warm_up_title(facts), bullets(paper.item_lines(facts.warm_up))),
        "</div><div>",
        _cool_down(facts),
        "</div></div>",
        block("Notes", bullets(paper.note_lines(facts), "small")),
        block("Advice on station order", _advice(facts)),
        f'<p class="stop">{text(paper.STOP)}</p>',
        _efforts(facts),
    ]
    return document(f"{plan.name}: station sheet", style, [one for one in body if one])


def _sizes(facts: SheetFacts) -> tuple[float, float, float]:
    """Sizes in pt by a count of lines; two columns count as the longer one."""
    items = (len(facts.warm_up), len(facts.circuit.cool_down))
    table = paper.station_lines(facts.plan)
    wrapped = sum(len(line.sides) > 16 or len(line.load) > 16 for line in table)
    count = 2 * len(table) + wrapped + len(paper.kit_lines(facts))
    count += len(paper.kit_notes(facts)) + 2 * len(paper.way_lines(facts))
    count += len(facts.cautions) // 2 + max(items)
    count += len(paper.note_lines(facts)) + len(facts.advice)
    count += len(source_lines(facts.advice))
    return next(sizes for most, sizes in _SIZES if count <= most)


def _kit(facts: SheetFacts) -> str:
    lines = paper.kit_lines(facts)
    fetched = bullets(lines, "kit") if lines else "<p>Nothing to lay out.</p>"
    return fetched + bullets(paper.kit_notes(facts), "small")


def _cautions(facts: SheetFacts) -> str:
    rows = [
        f"<li><b>{text(title)}</b>: {text(live)}</li>"
        for title, live in paper.caution_lines(facts)
    ]
    return f'<ul class="care">{"".join(rows)}</ul>' if rows else ""


def _cool_down(facts: SheetFacts) -> str:
    items = facts.circuit.cool_down
    if not items:
        return ""
    return block("Cool-down", bullets(paper.item_lines(items)))


def _advice(facts: SheetFacts) -> str:
    notes = [f"{one.sentence} ({one.rule})" for one in facts.advice]
    return bullets([*notes, *source_lines(facts.advice)], "small")


def _efforts(facts: SheetFacts) -> str:
    loops = "".join(
        f"<div>loop {number} <span>&nbsp;</span></div>"
        for number in range(1, facts.plan.loops + 1)
    )
    whole = "<div>session <span>&nbsp;</span></div>"
    return f'<div class="efforts"><div>Effort, 0 to 10:</div>{loops}{whole}</div>'


def _ring(facts: SheetFacts) -> str:
    """The floor as a ring: stations round it as they stand, the first at the top."""
    count = len(facts.plan.stations)
    marks = []
    for place, card in enumerate(facts.plan.stations):
        turn = 2 * pi * place / count
        x, y = 50 + 40 * sin(turn), 50 - 40 * cos(turn)
        marks.append(
            f'<circle cx="{x:.2f}" cy="{y:.2f}" r="5.4" fill="#fff" stroke="#000" '
            f'stroke-width="0.6"/><text x="{x:.2f}" y="{y + 2:.2f}" '
            f'text-anchor="middle" font-size="5.6">{card.number}</text>'
        )
    line = 'fill="none" stroke="#777" stroke-width="0.4" stroke-dasharray="1 1.5"'
    path = f'<circle cx="50" cy="50" r="40" {line}/>'
    label = f"the floor: {count} stations in a ring"
    return (
        f'<svg viewBox="0 0 100 100" role="img" aria-label="{text(label)}">'
        f"{path}{''.join(marks)}</svg>"
    )
