"""Lines that every print shares: stations, kit, cautions and times, as plain text.

Pure. It refuses to know HTML and Markdown, and puts nothing on paper itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from whistlestop.domain.circuit.circuit import TimedItem
from whistlestop.domain.duration import clock, exact
from whistlestop.domain.kit.floor_list import FloorItem
from whistlestop.domain.plan.plan import AT_STATION, Plan, SegmentKind, StationCard
from whistlestop.prints.sheet_facts import SheetFacts

STOP: Final = (
    "Stop on sharp pain, dizziness or chest pressure. Chest pressure: call your "
    "emergency number."
)
HEADS: Final = ("", "station", "sides", "load", "tempo", "seconds", "drill after it")


@dataclass(frozen=True, slots=True)
class StationLine:
    """One station as it stands in the table of a sheet, all in words."""

    number: int
    name: str
    sides: str
    load: str
    tempo: str
    seconds: str
    drill: str

    @property
    def cells(self) -> tuple[str, ...]:
        """Its cells, in the order of `HEADS`."""
        return (
            str(self.number), self.name, self.sides, self.load, self.tempo,
            self.seconds, self.drill,
        )  # fmt: skip


def station_lines(plan: Plan) -> tuple[StationLine, ...]:
    """Every station of a plan, in floor order."""
    return tuple(_station_line(plan, card) for card in plan.stations)


def _station_line(plan: Plan, card: StationCard) -> StationLine:
    own = [s for s in plan.segments if s.station == card.number]
    work: dict[int, int] = {}
    for segment in own:
        if segment.kind in AT_STATION and segment.loop:
            work[segment.loop] = work.get(segment.loop, 0) + segment.duration_ms
    rest = [s.duration_ms for s in own if s.kind is SegmentKind.RECOVER]
    loads = dict.fromkeys(s.load for s in own if s.kind is SegmentKind.WORK and s.load)
    drills = dict.fromkeys(s.drill_name for s in own if s.drill_name)
    is_held = any(s.kind is SegmentKind.HOLD for s in own)
    return StationLine(
        card.number,
        ("hold, then " if is_held else "") + card.name,
        " then ".join(card.parts),
        " / ".join(load.removeprefix("band:").strip() for load in loads),
        card.tempo or "",
        f"{spread(list(work.values()))} / {spread(rest)}",
        ", ".join(drills),
    )


def spread(values_ms: Sequence[int]) -> str:
    """Seconds, or their range where they differ; a dash where there are none."""
    if not values_ms:
        return "–"
    low, high = min(values_ms), max(values_ms)
    return f"{low / 1000:g}" if low == high else f"{low / 1000:g}–{high / 1000:g}"


def numbers(found: Sequence[int]) -> str:
    """Station numbers, three or more in a row drawn together: `1, 4 to 6`."""
    runs: list[list[int]] = []
    for number in sorted(set(found)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    sentences = [
        f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run))
        for run in runs
    ]
    return ", ".join(sentences)


def totals(plan: Plan) -> str:
    """The length of it all, and of what."""
    count = len(plan.stations)
    stations = "1 station" if count == 1 else f"{count} stations"
    loops = "1 loop" if plan.loops == 1 else f"{plan.loops} loops"
    sentences = f"{clock(plan.total_ms)} in all, {clock(plan.work_ms)} of work"
    sentences += f" · {stations} × {loops}{_break(plan)}"
    if plan.open_gates:
        waits = "1 place waits" if plan.open_gates == 1 else (
            f"{plan.open_gates} places wait"
        )  # fmt: skip
        sentences += (
            f" · {waits} for you and {'counts' if plan.open_gates == 1 else 'count'}"
        )
        sentences += " as no time"
    return sentences


def _break(plan: Plan) -> str:
    breaks = [s for s in plan.segments if s.kind is SegmentKind.LOOP_BREAK]
    if not breaks:
        return ""
    if breaks[0].until_key:
        return " · loop break as long as you like"
    return f" · loop break {exact(breaks[0].duration_ms)}"


# --- Lists ----------------------------------------------------------------------


def kit_lines(facts: SheetFacts) -> list[str]:
    """Everything to fetch, in floor order, with where it is for."""
    lines = []
    for item in facts.floor.items:
        lacking = " (not in your kit)" if item.name in facts.floor.missing else ""
        lines.append(f"{item.words}{lacking}: {_where(item)}")
    return lines


def _where(item: FloorItem) -> str:
    sentences = []
    if item.stations:
        sentences.append(f"station {numbers(item.stations)}")
    if item.drills:
        sentences.append(f"drill after {numbers(item.drills)}")
    return ", ".join(sentences)


def kit_notes(facts: SheetFacts) -> list[str]:
    """Places to keep clear, clashes, and loads that are not the ones asked for."""
    lines = []
    if facts.floor.places:
        lines.append(f"Keep clear: {', '.join(facts.floor.places)}.")
    lines += facts.clashes
    where: dict[str, list[int]] = {}
    for line in facts.loads:
        where.setdefault(line.words, []).append(line.station)
    lines += [f"Station {numbers(at)}: {words}." for words, at in where.items()]
    return lines


def way_lines(facts: SheetFacts) -> list[str]:
    """What kit and limits stand against, with the best thing to do instead."""
    lines = []
    for one in facts.blocked:
        text = f"{one.number_and_name}: {one.why}."
        if one.swap:
            text += f" Instead: {one.swap}."
        lines.append(text)
    return [*lines, *(review.sentence for review in facts.reviews)]


def caution_lines(facts: SheetFacts) -> list[tuple[str, str]]:
    """Each caution with its stations, and the whole of what to do."""
    lines = []
    for one in facts.cautions:
        where = [numbers(one.stations)] if one.stations else []
        where += [f"drill after {numbers(one.drills)}"] if one.drills else []
        lines.append((f"{one.caution.title} ({', '.join(where)})", one.caution.sheet))
    return lines


def item_lines(items: Sequence[TimedItem]) -> list[str]:
    """Timed items, each with its length."""
    return [f"{clock(item.duration_ms)} {item.name}" for item in items]


def warm_up_title(facts: SheetFacts) -> str:
    """Name the warm-up, and whether it is the circuit's own."""
    total = clock(sum(item.duration_ms for item in facts.warm_up))
    own = "" if facts.circuit.warm_up else ", for these stations; not counted above"
    return f"Warm-up, {total}{own}"


def note_lines(facts: SheetFacts) -> list[str]:
    """What the circuit and its stations say themselves."""
    own = [facts.circuit.note] if facts.circuit.note else []
    cards = (card for card in facts.plan.stations if card.note)
    return [*own, *(f"{card.number} {card.name}: {card.note}" for card in cards)]
