"""The words of the next step: a line for each circuit, and all behind the chosen one.

Pure: advice in, rows out. It reads no log and decides nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from whistlestop.coach.changes import shape_of, totals_of
from whistlestop.coach.decisions import Decisions
from whistlestop.coach.next_step import TAG_WORDS, NextStepAnswer, totals_lines
from whistlestop.coach.outcomes import decision_lines
from whistlestop.coach.verdicts import Direction, Proposal
from whistlestop.coach.weeks import planned_text
from whistlestop.domain.text import sentence_case
from whistlestop.driver.coaching import CircuitAdvice
from whistlestop.driver.next_look import NextSteps, Novelty
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Row,
    TextSpan,
    Tone,
    cut,
    fit,
    row,
    width_of,
    wrapped,
)
from whistlestop.tui.widgets.title_line import heading

WIDEST: Final = 100
# A shape and a word for each way, so that nothing rests on colour.
_WAYS: Final = {
    Direction.UP: ("+", "a step up"),
    Direction.SAME: ("=", "the same"),
    Direction.DOWN: ("-", "less"),
    Direction.REST: ("~", "rest"),
}
_WAY_CELLS: Final = 12
_NAME_CELLS: Final = 26
_INDENT: Final = 4
_FEW: Final = 6


def way_text(proposal: Proposal) -> tuple[str, str]:
    """The sign and the word of the way a proposal goes."""
    return _WAYS[proposal.direction]


def list_row(advice: CircuitAdvice, *, chosen: bool, cells: int) -> Row:
    """One circuit on one line: its name, which way, and what."""
    proposal = advice.answer.proposal
    sign, word = way_text(proposal)
    room = min(cells, WIDEST)
    name_cells = min(_NAME_CELLS, max(8, room // 3))
    mark = TextSpan("▌ ", "work") if chosen else TextSpan("  ")
    name = fit(advice.answer.name, name_cells - 1) + " "
    way = fit(f"{sign} {word}", _WAY_CELLS)
    left = room - 2 - name_cells - _WAY_CELLS
    return row(
        mark,
        TextSpan(name, "bold" if chosen else "text"),
        way,
        cut(proposal.title, max(0, left)),
    )


def empty_rows(cells: int) -> list[Row]:
    """The text where no circuit was done lately."""
    text = "No circuit in the last 90 days. Do one twice, and a next step can follow."
    return paragraph(text, cells)


def paragraph(text: str, cells: int, tone: Tone = "text", indent: int = 2) -> list[Row]:
    """A sentence, wrapped and set in."""
    room = min(cells, WIDEST) - indent - 1
    return [row(" " * indent, TextSpan(line, tone)) for line in wrapped(text, room)]


def answer_rows(answer: NextStepAnswer, cells: int) -> list[Row]:
    """What is proposed: why, the numbers, what changes in the totals, the rule."""
    proposal = answer.proposal
    rows: list[Row] = [heading(proposal.title)]
    for sentence in proposal.why:
        rows += paragraph(sentence, cells, indent=_INDENT)
    sentences = " ".join(proposal.why)
    for fact in proposal.facts:
        if fact.value not in sentences:
            line = f"{fact.name}: {fact.value}"
            rows += paragraph(line, cells, "dim", _INDENT)
    rows.append(BLANK)
    for line in totals_lines(proposal):
        rows += paragraph(line, cells, "bold", _INDENT)
    rows += _rule_rows(answer, cells)
    return rows


def _rule_rows(answer: NextStepAnswer, cells: int) -> list[Row]:
    rule = answer.rule
    words = f"Rule {rule.id}: {rule.source} ({TAG_WORDS[rule.tag]})."
    rows = paragraph(words, cells, "dim", _INDENT)
    for hold in answer.passed_over:
        if hold.sentence not in answer.proposal.why:
            text = f"Not yet ({hold.rule}): {hold.sentence}"
            rows += paragraph(text, cells, "dim", _INDENT)
    return rows


def detail_rows(look: NextSteps, chosen: int, cells: int) -> list[Row]:
    """Everything behind the chosen circuit's proposal, and what is new for today."""
    advice = look.advices[chosen]
    rows = answer_rows(advice.answer, cells)
    day = look.planned.get(advice.answer.circuit)
    if day is not None and day > advice.context.today:
        rows += paragraph(planned_text(day), cells, indent=_INDENT)
    if advice.session != advice.progress.circuit:
        shape = shape_of(totals_of(advice.session))
        rows += paragraph(f"Set for your next session: {shape}.", cells, "bold")
    if advice.answer.then is not None:
        then = advice.answer.then
        rows += [BLANK, heading("After your rest")]
        rows += paragraph(f"{then.proposal.title}. {then.proposal.why[1]}", cells)
    rows += [BLANK, *decided_rows(advice, look.decisions, cells)]
    rows += [BLANK, *variety_rows(look.rotations[chosen], look.novelty, cells)]
    return rows


def decided_rows(advice: CircuitAdvice, decisions: Decisions, cells: int) -> list[Row]:
    """The last decisions, and how the steps turned out."""
    rows: list[Row] = [heading("Earlier decisions")]
    if advice.outcome:
        text = sentence_case(advice.outcome)
        rows += paragraph(f"{text}.", cells)
    lines = decision_lines(advice.answer.circuit, decisions, advice.history)
    if not lines:
        return [*rows, *paragraph("Nothing yet.", cells, "dim")]
    for line in lines:
        rows += paragraph(line, cells, "dim")
    return rows


def variety_rows(turn: Proposal | None, novelty: Novelty, cells: int) -> list[Row]:
    """What is due to change, what is new for today, what was never used."""
    rows: list[Row] = [heading("Something new")]
    if novelty.pick is not None:
        rows += paragraph(novelty.pick.sentence, cells)
    if turn is not None:
        rows += paragraph(f"Due to change: {turn.title}. {turn.why[0]}", cells)
    else:
        text = "No station has been in for three weeks, so nothing is due to change."
        rows += paragraph(text, cells, "dim")
    counted = (
        f"Never used: {novelty.stations} of {novelty.of_stations} stations, "
        f"{novelty.drills} of {novelty.of_drills} drills"
    )
    names = ", ".join(novelty.names[:_FEW])
    more = f"; among them {names}." if names else "."
    return rows + paragraph(counted + more, cells, "dim")


def choice_rows(
    answers: Sequence[NextStepAnswer], chosen: int, cells: int
) -> tuple[list[Row], list[tuple[int, int]]]:
    """Other steps to choose among, each with what it changes, and where each stands."""
    rows: list[Row] = []
    row_ranges = []
    for place, answer in enumerate(answers):
        first = len(rows)
        sign, word = way_text(answer.proposal)
        mark = TextSpan("▌ ", "work") if place == chosen else TextSpan("  ")
        head = row(mark, fit(f"{sign} {word}", _WAY_CELLS))
        room = min(cells, WIDEST) - width_of(head)
        title = TextSpan(cut(answer.proposal.title, room), "bold")
        rows.append((*head, title))
        what = answer.proposal.why[1]
        rows += paragraph(what, cells, "dim", 2 + _WAY_CELLS)
        after = f"then {shape_of(answer.proposal.after)}"
        rows += paragraph(after, cells, "dim", 2 + _WAY_CELLS)
        row_ranges.append((first, len(rows) - 1))
        rows.append(BLANK)
    return rows, row_ranges
