"""The station sheet and the wall cards as Markdown, for people who prefer plain text.

Pure: the same facts give the same bytes. Nothing from a file can become markup.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Final

from whistlestop.domain.circuit.advice import source_lines
from whistlestop.domain.text import shown
from whistlestop.library.cards import StationCardText, cards
from whistlestop.prints import paper
from whistlestop.prints.html_cards import card_lines
from whistlestop.prints.sheet_facts import SheetFacts

_SPECIAL: Final = re.compile(r"([\\`*_{}\[\]<>!|~&^$]|^[-+=#])")
_NUMBERED: Final = re.compile(r"^(\s*\d+)([.)])")
# Before the dot of an address; a backslash there stops it from becoming a link.
_ADDRESS: Final = re.compile(r"(?<=[A-Za-z])([:.@])(?=[/A-Za-z])")


def plain(words: str) -> str:
    """Make any words harmless in Markdown: no markup, no link, no HTML."""
    safe = _SPECIAL.sub(r"\\\1", shown(words, 400))
    return _ADDRESS.sub(r"\\\1", _NUMBERED.sub(r"\1\\\2", safe))


def sheet_markdown(facts: SheetFacts) -> str:
    """Write a sheet: a table of stations, then lists."""
    plan = facts.plan
    lines = [f"# {plain(plan.name)}", "", plain(paper.totals(plan)), ""]
    lines += _table([line.cells for line in paper.station_lines(plan)])
    lines += _list("Lay out, in floor order", paper.kit_lines(facts), mark="- [ ] ")
    lines += _list("", paper.kit_notes(facts))
    lines += _list("Blocked today", paper.way_lines(facts))
    care = [f"{title}: {live}" for title, live in paper.caution_lines(facts)]
    lines += _list("Take care", [*care, *facts.things])
    lines += _list(paper.warm_up_title(facts), paper.item_lines(facts.warm_up))
    lines += _list("Cool-down", paper.item_lines(facts.circuit.cool_down))
    lines += _list("Notes", paper.note_lines(facts))
    advice = [f"{one.sentence} ({one.rule})" for one in facts.advice]
    advice += source_lines(facts.advice)
    lines += _list("Advice on station order", advice)
    return "\n".join([*lines, f"**{plain(paper.STOP)}**", ""])


def cards_markdown(
    facts: SheetFacts, texts: Mapping[str, StationCardText] | None = None
) -> str:
    """Write one section a station; `texts` are cards by id, else those that ship."""
    known = cards() if texts is None else texts
    lines = [f"# {plain(facts.plan.name)}", ""]
    for line in paper.station_lines(facts.plan):
        details = known.get(facts.plan.card(line.number).exercise)
        heads = [one for one in (line.sides, line.load, line.tempo) if one]
        heads.append(f"{line.seconds} s")
        lines += [f"## {line.number} {plain(line.name)}", ""]
        lines += [plain(" · ".join(heads)), ""]
        lines += [
            f"- {plain(name)}: {plain(words)}"
            for name, words in card_lines(facts, line, details)
        ]
        lines.append("")
    return "\n".join(lines)


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    heads = ["no", *paper.HEADS[1:]]
    lines = [f"| {' | '.join(heads)} |", f"|{' --- |' * len(heads)}"]
    lines += [f"| {' | '.join(plain(cell) for cell in row)} |" for row in rows]
    return [*lines, ""]


def _list(title: str, lines: Sequence[str], mark: str = "- ") -> list[str]:
    if not lines:
        return []
    head = [f"## {plain(title)}", ""] if title else []
    return [*head, *(f"{mark}{plain(line)}" for line in lines), ""]
