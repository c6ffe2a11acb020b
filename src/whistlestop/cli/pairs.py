"""Two people on the command line: `check --with`, and the two columns of `plan`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from whistlestop.domain.columns import table
from whistlestop.domain.duration import clock, exact
from whistlestop.domain.plan.pairing import Company
from whistlestop.domain.plan.plan import Plan, Segment, SegmentKind
from whistlestop.domain.plan.sharing import Pairing
from whistlestop.domain.plan.timeline import plan_document
from whistlestop.domain.text import shown
from whistlestop.driver.athletes import companion
from whistlestop.driver.pairs import PairOffsets, judge, reasons
from whistlestop.driver.services import Services
from whistlestop.errors import PlanError, ProblemsFound

_PERSONAL = {SegmentKind.WORK, SegmentKind.HOLD, SegmentKind.RECOVER}


def judge_files(
    services: Services, paths: Sequence[Path], name: str, offset: int | None
) -> dict[Path, PairOffsets]:
    """Judge each file that can be used, for two; files with problems come first."""
    other = companion(services.places, name, keep=False)
    read = services.circuits.reader().read
    found: dict[Path, PairOffsets] = {}
    for path in paths:
        try:
            found[path] = judge(services, read(path), other, offset)
        except (ProblemsFound, PlanError):
            continue
    return found


def is_free(judged: PairOffsets) -> bool:
    """Whether two can do it at the offset that was asked for, or at any."""
    return judged.chosen is not None and judged.chosen.is_free


def judged_lines(found: dict[Path, PairOffsets]) -> list[str]:
    """What stands against each file, and the offset to take; a line each."""
    lines = []
    for path, judged in found.items():
        where = shown(str(path))
        lines += [f"{where}: {reason}" for reason in reasons(judged)]
        chosen = judged.chosen
        if chosen is None or chosen.clashes:
            lines.append(f"{where}: two people: no offset without a clash")
            continue
        differs = f" ({chosen.differs})" if chosen.differs else ""
        lines.append(f"{where}: two people: offset {chosen.offset} is free{differs}")
    return lines


def judged_values(found: dict[Path, PairOffsets]) -> list[dict[str, Any]]:
    """The same as JSON values."""
    return [
        {
            "path": str(path),
            "offset": judged.chosen.offset if judged.chosen else None,
            "offsets": [_pairing_values(one) for one in judged.found],
        }
        for path, judged in found.items()
    ]


def _pairing_values(one: Pairing) -> dict[str, Any]:
    return {
        "offset": one.offset,
        "free": one.is_free,
        "misfit": one.misfit or None,
        "clashes": [asdict(clash) for clash in one.clashes],
    }


def together_document(plan: Plan, company: Company, pairing: Pairing) -> dict[str, Any]:
    """The object of `plan --json`, with the offset and the plan of each other one."""
    return {
        **plan_document(plan),
        "offset": company.offset,
        "with": {athlete: plan_document(other) for athlete, other in company.others},
        "clashes": [asdict(clash) for clash in pairing.clashes],
        "fetch": [asdict(need) for need in pairing.fetch],
    }


def together_lines(
    plan: Plan, company: Company, pairing: Pairing, called: Sequence[str]
) -> list[str]:
    """A plan for several as a readable table: a column for each of them."""
    # Imported here: it prints, and only a plan in words needs it.
    from whistlestop.cli.output import KIND_WORDS

    plans = [plan, *(other for _, other in company.others)]
    rows = [["at", "for", "loop", "what", *called]]
    for moment in zip(*(one.segments for one in plans), strict=True):
        common = moment[0]
        if common.kind is SegmentKind.CHANGEOVER and common.duration_ms < 1000:
            continue  # a rounding of a few ms: silent and not shown
        length = "key" if common.until_key else exact(common.duration_ms)
        loop = f"{common.loop}/{plan.loops}" if common.loop else ""
        what = KIND_WORDS[common.kind]
        cells = [_cell(segment) for segment in moment]
        if common.kind not in _PERSONAL:
            what = " ".join(filter(None, [what, common.exercise_name or ""]))
            if common.kind is SegmentKind.CHANGEOVER:
                what = KIND_WORDS[common.kind]
            cells = ["" for _ in moment]
        rows.append([clock(common.start_ms), length, loop, what, *cells])
    gates = plan.open_gates
    open_text = f", waits for a key: {gates}" if gates else ""
    return [
        f"{plan.name} ({plan.circuit}), {company.offset_text} apart",
        *table(rows, right=frozenset({0, 1})),
        f"total {clock(plan.total_ms)}, work {clock(plan.work_ms)} each{open_text}",
        f"lay out: {'; '.join(need.words for need in pairing.fetch) or 'nothing'}",
    ]


def _cell(segment: Segment) -> str:
    """What one does in a segment: the drill, or the station with side and load."""
    if segment.kind is SegmentKind.RECOVER:
        return segment.drill_name or ""
    name = f"{segment.station} {segment.exercise_name}"
    return ", ".join(filter(None, [name, segment.part, segment.load]))
