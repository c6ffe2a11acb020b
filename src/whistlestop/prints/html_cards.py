"""Wall cards: one large card a station, an A4 page each, to read from across a room.

Pure: the same facts give the same bytes. Texts of stations come from the library.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import ceil
from typing import Final

import htpy as h

from whistlestop.library.cards import StationCardText, cards
from whistlestop.library.take_care import station_cautions
from whistlestop.markup.html import WALL_CARDS, Html, document, text
from whistlestop.prints import paper
from whistlestop.prints.sheet_facts import SheetFacts

# Characters of a line at the largest size, and sizes in pt by how many lines there
# are: measured on every station of the library.
_CHARACTERS: Final = 64
_BODY_SIZES: Final = ((9, 19), (11, 16), (12, 13), (99, 11))
# Cautions are long, and are read from near: lower lines of so many characters.
_NEAR_CHARACTERS: Final = 100
CARE: Final = "take care"


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
    return document(f"{facts.plan.name}: wall cards", WALL_CARDS, body)


def _card(
    facts: SheetFacts, line: paper.StationLine, card: StationCardText | None
) -> Html:
    lines = card_lines(facts, line, card)
    far = [(name, words) for name, words in lines if name != CARE]
    near = [words for name, words in lines if name == CARE]
    size = 52 if len(line.name) <= 18 else 40 if len(line.name) <= 32 else 30
    shown = (
        ("sides", line.sides),
        ("load", line.load),
        ("tempo", line.tempo),
        ("work / recover, s", line.seconds),
    )
    heads = [h.div[h.small[text(name)], text(value)] for name, value in shown if value]
    rows = [[h.dt[text(name)], h.dd[text(words)]] for name, words in far]
    if near:
        rows.append(
            [h.dt[CARE], h.dd(".near")[[h.span[text(one), " "] for one in near]]]
        )
    return h.article(".card")[
        h.div(".top")[
            h.div(".number")[line.number],
            h.div(".name", style=f"font-size: {size}pt")[text(line.name)],
        ],
        h.div(".facts")[heads],
        h.dl(style=f"font-size: {_body_size(line, far, near)}pt")[rows],
        h.div(".foot")[
            h.span[text(facts.plan.name)],
            h.span[f"station {line.number} of {len(facts.plan.stations)}"],
        ],
    ]


def _body_size(
    line: paper.StationLine, far: list[tuple[str, str]], near: list[str]
) -> int:
    """Size in pt of the sentences, by how many lines they and the heads will take."""
    heads = len(line.name) > 32, len(line.sides + line.load + line.tempo) > 36
    count = sum(heads) * 2 + sum(1 + len(words) // _CHARACTERS for _, words in far)
    count += ceil(len(" ".join(near)) / _NEAR_CHARACTERS) * 2 // 3
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
    found += [(CARE, one.sheet) for one in station_cautions(card)]
    if line.drill:
        found.append(("then", line.drill))
    if card.note:
        found.append(("note", card.note))
    return found
