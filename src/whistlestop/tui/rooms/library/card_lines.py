"""The words of a card: one station or drill in full, with its neighbours.

Pure: what is known in, rows out. It reads no file and knows no screen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from whistlestop.domain.exercise import DrillInfo, Exercise
from whistlestop.domain.tempo import parse_tempo
from whistlestop.library import CAUTIONS
from whistlestop.library.cards import Neighbour, StationCardText
from whistlestop.library.cautions import caution_for
from whistlestop.library.families import SPORTS, drill_kinds
from whistlestop.library.kit_words import PLACES, THINGS
from whistlestop.tui.rooms.frame.words import MONTHS, plain_text
from whistlestop.tui.rooms.library.known import SHAPES, WORDS, KnownLibrary, Mark
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, cut, row, wrapped
from whistlestop.tui.widgets.title_line import heading

WIDEST: Final = 96
_LABEL: Final = 12
_SIDES: Final = {
    "both": "both sides at once",
    "one-then-other": "one side, then the other",
    "alternating": "sides alternate",
}
_SCREEN: Final = {
    "yes": "you can see the screen",
    "part": "you can see the screen part of the time",
    "no": "you cannot see the screen: listen",
}
_PHASES: Final = ("down", "pause", "up", "pause")
_CEILING: Final = {
    "low": "a low ceiling will do",
    "reach": "headroom for a raised arm",
    "jump": "headroom for a jump",
}
_FLOOR: Final = {
    "any": "any floor",
    "soft": "a soft floor",
    "firm": "a firm, dry floor",
    "smooth": "a smooth floor",
}
_SPACE: Final = {
    "spot": "arms' reach",
    "mat": "room for a mat",
    "lane": "a lane of four metres",
}
_NOISE: Final = {"quiet": "quiet", "some": "some noise", "loud": "loud"}


@dataclass(frozen=True, slots=True)
class NeighbourStation:
    """A neighbour to go to: easier or harder, and the one thing that differs."""

    to: str
    name: str
    by: str
    is_harder: bool


@dataclass(frozen=True, slots=True)
class Card:
    """The rows of a card, and on which line each neighbour stands."""

    rows: tuple[Row, ...]
    row_ranges: tuple[tuple[int, int], ...] = ()


def ways(known: KnownLibrary, exercise: str) -> tuple[NeighbourStation, ...]:
    """The neighbours of a station, easier ones first."""
    card = known.cards[exercise]

    def named(found: Sequence[Neighbour], *, is_harder: bool) -> list[NeighbourStation]:
        return [
            NeighbourStation(one.to, known.stations[one.to].name, one.by, is_harder)
            for one in found
            if one.to in known.stations
        ]

    easier = named(card.easier, is_harder=False)
    return (*easier, *named(card.harder, is_harder=True))


def tempo_text(tempo: str | None) -> str:
    """Say a tempo so that the first figure cannot be misread."""
    if not tempo:
        return "no tempo"
    phases = parse_tempo(tempo).phases_s
    if not phases:
        return {"hold": "hold", "flow": "a steady flow"}.get(tempo, tempo)
    text = ", ".join(
        f"{word} {seconds}" for word, seconds in zip(_PHASES, phases, strict=True)
    )
    return f"{tempo} ({text} s)"


def kit_words(needs: Sequence[Sequence[str]]) -> str:
    """Say the kit and what does as well: a weight, or a backpack."""
    sentences = [" and ".join(way) if way else "no kit at all" for way in needs]
    sentences = list(dict.fromkeys(sentences))
    return "; or ".join(sentences) if sentences != ["no kit at all"] else "none"


def station_card(known: KnownLibrary, exercise: str, chosen: int, cells: int) -> Card:
    """The card of a station, the chosen neighbour marked."""
    own, card = known.stations[exercise], known.cards[exercise]
    width = min(WIDEST, cells)
    rows = [_mark_row(known.mark(exercise), _why(known, exercise), width), BLANK]
    rows += _facts(known, own, card, width)
    row_ranges: list[tuple[int, int]] = []
    found = ways(known, exercise)
    if found or card.ease or card.stretch:
        rows += [BLANK, row("  ", *heading("Easier and harder"))]
        for words, text in (
            ("make it easier", card.ease),
            ("make it harder", card.stretch),
        ):
            if text:
                message = cut(text, width - 20)
                rows.append(row("    ", TextSpan(f"{words}: ", "dim"), message))
        for place, way in enumerate(found):
            row_ranges.append((len(rows), len(rows)))
            rows.append(_way_row(known, way, chosen=place == chosen, cells=width))
    rows += _caution_rows(own, own.cautions, width)
    family = known.family(exercise)
    if family is not None:
        rows += [BLANK, row("  ", *heading(f"{family.title}: what for"))]
        for sport in SPORTS:
            rows += _labelled(sport, family.sports.get(sport, ""), width)
    return Card(tuple(rows), tuple(row_ranges))


def _caution_rows(
    own: Exercise | DrillInfo, codes: Sequence[str], cells: int
) -> list[Row]:
    """Each caution in full, in the words that fit."""
    found = [caution_for(one, own.id, own.features) for one in codes if one in CAUTIONS]
    rows = [BLANK, row("  ", *heading("Look out for"))] if found else []
    for one in found:
        rows += _labelled(one.title.lower(), one.sheet, cells)
    return rows


def _facts(
    known: KnownLibrary, own: Exercise, card: StationCardText, cells: int
) -> list[Row]:
    position = plain_text(own.position)
    room = (_SPACE[card.space], _FLOOR[card.floor], _CEILING[card.ceiling])
    kit = kit_words(card.needs)
    # Who has what it needs need not read what that is.
    is_news = known.means.kit is None or known.means.met(own.id) is None
    explained = [
        f"{word}: {THINGS.get(word) or PLACES[word]}"
        for word in dict.fromkeys(w for way in card.needs for w in way)
        if word in PLACES or (word in THINGS and is_news)
    ]
    load = {
        "none": "",
        "optional": "; a weight makes it harder",
        "required": "",
        "band": "",
    }[card.load_kind]
    return [
        *_labelled("set-up", card.set_up, cells),
        *_labelled("key point", card.key_point, cells, tone_bold=True),
        *_labelled("mistake", card.mistake, cells),
        *_labelled("kit", kit + load, cells),
        *_labelled("", "; ".join(explained), cells),
        *_labelled("tempo", tempo_text(own.tempo), cells),
        *_labelled("body", f"{position}, {_SIDES[own.sides]}", cells),
        *_labelled("screen", _SCREEN[own.screen], cells),
        *_labelled("room", f"{', '.join(room)}; {_NOISE[card.noise]}", cells),
        *_labelled("works", f"{own.region}, {plain_text(own.pattern)}", cells),
    ]


def _labelled(
    label: str, text: str, cells: int, *, tone_bold: bool = False
) -> list[Row]:
    lines = wrapped(text, cells - 4 - _LABEL)
    return [
        row(
            "    ",
            TextSpan(f"{'' if place else label:<{_LABEL}}", "dim"),
            TextSpan(line, "bold" if tone_bold else "text"),
        )
        for place, line in enumerate(lines)
    ]


def _way_row(
    known: KnownLibrary, way: NeighbourStation, *, chosen: bool, cells: int
) -> Row:
    word = "harder" if way.is_harder else "easier"
    shape = SHAPES[known.mark(way.to)]
    name = cut(way.name, cells - 20 - len(way.by))
    return row(
        TextSpan("  ▌ " if chosen else "    ", "bold"),
        TextSpan(f"{word:<8}", "dim"),
        TextSpan(f"{shape} "),
        TextSpan(name, "bold" if chosen else "text"),
        TextSpan(f"   {way.by}", "dim"),
    )


def _mark_row(mark: Mark, why: str, cells: int) -> Row:
    if mark == "unknown":
        return row("  ", TextSpan(cut(why, cells - 2), "dim"))
    text = WORDS[mark] if mark != "swap" else "possible with a swap"
    left = cells - 7 - len(text)
    return row(
        f"  {SHAPES[mark]} ",
        TextSpan(text, "bold"),
        TextSpan(f"   {cut(why, left)}", "dim"),
    )


def _why(known: KnownLibrary, exercise: str) -> str:
    """Why the mark is as it is, and what could be done instead."""
    barred, met = known.barred(exercise), known.means.met(exercise)
    if barred is None and known.means.kit is None:
        return "Your kit list is empty."
    if barred is None and met is not None:
        things = [word for word in met if word not in PLACES]
        return f"with: {', '.join(things)}" if things else "without any kit"
    swap = known.swap(exercise)
    instead = f"; instead: {swap.name}" if swap else ""
    if barred is not None:
        day = f"{barred.until.day} {MONTHS[barred.until.month - 1]}"
        return f"left out until {day}{instead}"
    missing = known.means.missing(known.stations[exercise].kit)
    return f"not in your kit: {', '.join(missing)}{instead}"


def drill_card(known: KnownLibrary, drill: str, cells: int) -> Card:
    """The card of a drill: its ladder, its gate, what it asks of the body."""
    info = known.drills[drill]
    width = min(WIDEST, cells)
    why = ""
    if missing := known.means.missing(info.kit):
        why = f"not in your kit: {', '.join(missing)}"
    elif known.means.kit is None:
        why = "Your kit list is empty."
    rows = [_mark_row(known.drill_mark(drill), why, width), BLANK]
    kind = drill_kinds().get(info.kind)
    rows += _labelled("kind", kind.title if kind else info.kind, width)
    rows += _labelled("key point", info.key_point, width, tone_bold=True)
    kit = ", ".join(info.kit) or "none"
    rows += _labelled("kit", kit, width)
    rows += _labelled("works", _asks(info), width)
    if info.metronome_per_minute:
        rows += _labelled("beat", f"{info.metronome_per_minute} a minute", width)
    rows += [BLANK, row("  ", *heading("Levels, easiest first"))]
    for place, level in enumerate(info.ladder, 1):
        rows.append(row("    ", TextSpan(f"{place}  ", "dim"), cut(level, width - 8)))
    if info.eyes_closed:
        rows += [BLANK, row("  ", *heading("Before you close your eyes"))]
        rows += _labelled("first", info.gate, width)
        rows += _labelled("then", CAUTIONS["EC"].sheet, width)
    rows += _caution_rows(info, [c for c in info.cautions if c != "EC"], width)
    if kind is not None:
        rows += [BLANK, row("  ", *heading("What for"))]
        for sport in SPORTS:
            rows += _labelled(sport, kind.sports.get(sport, ""), width)
    return Card(tuple(rows))


def _asks(info: DrillInfo) -> str:
    asks = ", ".join(info.loads) or "neither legs, core nor arms"
    impact = "; both feet leave the floor" if info.impact else ""
    return f"{asks}; intensity {info.intensity}{impact}"
