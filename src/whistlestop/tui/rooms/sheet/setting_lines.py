"""The lines of the sheet on which today's settings stand, one a setting.

Pure. It says what holds today and what was written, and changes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from whistlestop.domain.circuit.circuit import TimedItem
from whistlestop.domain.duration import clock
from whistlestop.domain.plan.plan import AT_STATION, Plan, SegmentKind
from whistlestop.tui.rooms.frame.words import seconds_text
from whistlestop.tui.rooms.sheet.today import VALUES, Draft
from whistlestop.tui.widgets.safe_text import Row, TextSpan, Tone, fit, row

_TONES: Final[dict[str, Tone]] = {
    "loops": "bold",
    "work": "work",
    "recover": "recover",
    "break": "break",
    "warm-up": "text",
}


def setting_row(draft: Draft, setting: str, *, chosen: bool) -> Row:
    """One setting: what holds today, how to change it, what was written."""
    value, note = _wording(draft, setting)
    return row(
        TextSpan("▌ " if chosen else "  ", "bold"),
        TextSpan(fit(setting, 9), "bold" if chosen else "text"),
        TextSpan(fit(value, 9, right=True), _TONES[setting]),
        TextSpan("  ← →" if chosen else "     ", "bold"),
        TextSpan(f"   {note}" if note else "", "dim"),
    )


def _wording(draft: Draft, setting: str) -> tuple[str, str]:
    match setting:
        case "loops":
            was = f"{draft.circuit.loops} as written"
            return f"{draft.plan.loops}", was if draft.today.loops is not None else ""
        case "break":
            return _break(draft)
        case "warm-up":
            return _warm_up(draft)
    return _length(draft, setting)


def _length(draft: Draft, setting: str) -> tuple[str, str]:
    name = VALUES[setting].name
    own_ms, written_ms = getattr(draft.today, name), getattr(draft.circuit, name)
    if own_ms is not None:
        text = f"{written_ms // 1000} s as written, now at every station"
        return f"{own_ms // 1000} s", text
    kinds = AT_STATION if setting == "work" else frozenset({SegmentKind.RECOVER})
    return f"{seconds_text(_lengths(draft.plan, kinds))} s", ""


def _lengths(plan: Plan, kinds: frozenset[SegmentKind]) -> list[int]:
    """How long each stay at a station is, or each recovery, in ms."""
    sums: dict[tuple[int, int], int] = {}
    for segment in plan.segments:
        if segment.kind in kinds and segment.place:
            sums[segment.place] = sums.get(segment.place, 0) + segment.duration_ms
    return list(sums.values())


def _break(draft: Draft) -> tuple[str, str]:
    circuit, own_ms = draft.circuit, draft.today.loop_break_ms
    written = "until key" if circuit.break_until_key else _seconds(
        circuit.loop_break_ms or 0
    )  # fmt: skip
    if draft.plan.loops == 1:
        return "none", "only one loop"
    if own_ms is None:
        return written, ""
    return _seconds(own_ms), f"{written} as written"


def _seconds(ms: int) -> str:
    return f"{ms // 1000} s" if ms else "none"


def _warm_up(draft: Draft) -> tuple[str, str]:
    written, own = draft.circuit.warm_up, draft.changes.warm_up
    if own is None:
        note = "" if written else "→ builds one for these stations"
        return _sum(written), note
    if not written:
        return _sum(own), "built for these stations; the file has none"
    return _sum(own), f"{_sum(written)} as written"


def _sum(items: Sequence[TimedItem]) -> str:
    total_ms = sum(item.duration_ms for item in items)
    return clock(total_ms) if total_ms else "none"
