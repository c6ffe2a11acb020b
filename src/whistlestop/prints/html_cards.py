"""Wall cards: one large card a station, an A4 page each, to read from across a room.

Pure: the same facts give the same bytes. Texts of stations come from the library.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from whistlestop.library.cards import StationCardText, cards
from whistlestop.library.cautions import CAUTIONS
from whistlestop.prints import paper
from whistlestop.prints.html_page import document, text
from whistlestop.prints.sheet_facts import SheetFacts

# Characters of a line at the largest size, and sizes in pt by how many lines there
# are: measured on every station of the library.
_CHARACTERS: Final = 64
_BODY_SIZES: Final = ((9, 19), (11, 16), (99, 13))
_STYLE: Final = """\
@page { size: A4 landscape; margin: 12mm; }
@media screen { body { max-width: 273mm; } }
.card { break-after: page; height: 184mm; display: flex; flex-direction: column;
  border: 0.8mm solid #000; padding: 7mm 9mm; overflow: hidden; }
.card:last-child { break-after: auto; }
.top { display: flex; align-items: center; gap: 9mm; }
.number { font-size: 62pt; font-weight: bold; line-height: 1; border: 1.2mm solid #000;
  border-radius: 50%; min-width: 34mm; height: 34mm; display: flex;
  align-items: center; justify-content: center; }
.name { font-weight: bold; line-height: 1.05; }
.facts { display: flex; flex-wrap: wrap; gap: 2mm 10mm; margin: 6mm 0 4mm;
  font-size: 27pt; font-weight: bold; }
.facts small { display: block; font-size: 12pt; font-weight: normal; }
dl { margin: 0; line-height: 1.25; display: grid;
  grid-template-columns: 40mm 1fr; gap: 2.2mm 5mm; }
dt { font-size: 13pt; padding-top: 1.6mm; }
dd { margin: 0; }
.foot { margin-top: auto; display: flex; justify-content: space-between;
  font-size: 12pt; padding-top: 3mm; border-top: 0.3mm solid #000; }
"""


def cards_html(
    facts: SheetFacts, texts: Mapping[str, StationCardText] | None = None
) -> str:
    """One card for every station of a plan, in floor order.

    `texts` are cards of the library by id; by default those that ship.
    """
    known = cards() if texts is None else texts
    body = [
        _card(facts, line, known.get(facts.plan.card(line.number).exercise))
        for line in paper.station_lines(facts.plan)
    ]
    return document(f"{facts.plan.name}: wall cards", _STYLE, body)


def _card(
    facts: SheetFacts, line: paper.StationLine, card: StationCardText | None
) -> str:
    lines = card_lines(facts, line, card)
    size = 52 if len(line.name) <= 18 else 40 if len(line.name) <= 32 else 30
    shown = (
        ("sides", line.sides),
        ("load", line.load),
        ("tempo", line.tempo),
        ("work / recover, s", line.seconds),
    )
    heads = "".join(
        f"<div><small>{text(name)}</small>{text(value)}</div>"
        for name, value in shown
        if value
    )
    rows = "".join(
        f"<dt>{text(name)}</dt><dd>{text(words)}</dd>" for name, words in lines
    )
    body = _body_size(line, lines)
    return (
        f'<article class="card"><div class="top"><div class="number">{line.number}'
        f'</div><div class="name" style="font-size: {size}pt">{text(line.name)}</div>'
        f'</div><div class="facts">{heads}</div>'
        f'<dl style="font-size: {body}pt">{rows}</dl>'
        f'<div class="foot"><span>{text(facts.plan.name)}</span>'
        f"<span>station {line.number} of {len(facts.plan.stations)}</span></div>"
        "</article>"
    )


def _body_size(line: paper.StationLine, lines: list[tuple[str, str]]) -> int:
    """Size in pt of the sentences, by how many lines they and the heads will take."""
    heads = len(line.name) > 32, len(line.sides + line.load + line.tempo) > 36
    count = sum(heads) * 2 + sum(1 + len(words) // _CHARACTERS for _, words in lines)
    return next(size for most, size in _BODY_SIZES if count <= most)


def card_lines(
    facts: SheetFacts, line: paper.StationLine, guide: StationCardText | None
) -> list[tuple[str, str]]:
    """What stands on a card below its heads: a word, and a sentence for each."""
    card = facts.plan.card(line.number)
    found: list[tuple[str, str]] = []
    if guide is not None:
        found += [("set up", guide.set_up), ("key point", guide.key_point)]
        found += [("common mistake", guide.mistake), ("easier", guide.ease)]
        found += [("harder", guide.stretch)]
    if card.kit:
        found.append(("kit", ", ".join(card.kit)))
    cautions = [CAUTIONS[code].live for code in card.cautions if code in CAUTIONS]
    found += [("take care", one) for one in cautions[:2]]
    if line.drill:
        found.append(("then", line.drill))
    if card.note:
        found.append(("note", card.note))
    return found
