"""What is said: sentences of at most six words, in the order they matter.

Pure: a way through a plan in, sentences out. When they are said, and whether
they fit, the soundtrack decides; how they sound, the voice.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from whistlestop.domain.load import Load, parse_load
from whistlestop.domain.plan import AT_STATION, Kind, Segment
from whistlestop.engine.track import Track

WORDS_LIMIT: Final = 6

_ONES: Final = (
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"),
    *("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen"),
    *("seventeen", "eighteen", "nineteen"),
)
_TENS: Final = (
    *("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty"),
    "ninety",
)
_LOOSE_END: Final = re.compile(
    r"(\s+(a|along|and|at|by|for|from|in|of|on|or|the|then|to|with))+$"
)
_UNITS: Final = {"kg": ("kilo", "kilos"), "lb": ("pound", "pounds")}


@dataclass(frozen=True, slots=True)
class Drills:
    """What the voice needs of drills: one key point each, by drill id."""

    key_points: Mapping[str, str]


def number_words(text: str) -> str:
    """Say a figure of up to three digits and decimals: `12.5`, twelve point five."""
    whole, dot, decimals = text.partition(".")
    value = int(whole)
    if value < 20:
        words = _ONES[value]
    elif value < 100:
        words = _TENS[value // 10] + (f"-{_ONES[value % 10]}" if value % 10 else "")
    else:
        rest = f" {number_words(str(value % 100))}" if value % 100 else ""
        words = f"{_ONES[value // 100]} hundred{rest}"
    digits = " ".join(_ONES[int(digit)] for digit in decimals.rstrip("0"))
    return f"{words} point {digits}" if dot and digits else words


def load_words(load: Load) -> str:
    """Say a load: `2 x 8 kg` is two times eight kilos."""
    if load.band:
        return f"{load.band} band"
    figure = f"{load.mass.normalize():f}"
    unit = _UNITS[load.unit][figure != "1"]
    times = f"{_ONES[load.count]} times " if 1 < load.count < 20 else ""
    return f"{times}{number_words(figure)} {unit}"


def sentence(text: str) -> str:
    """Hold a sentence to six words, ended by a full stop or its own mark."""
    words = re.sub(r"\s+", " ", text).strip().split(" ")
    kept = " ".join(words[:WORDS_LIMIT])
    if len(words) > WORDS_LIMIT:
        kept = kept.rpartition(",")[0] or _LOOSE_END.sub("", kept)
    kept = kept.rstrip(",;: ")
    kept = kept[:1].upper() + kept[1:]
    return kept if kept.endswith((".", "?", "!")) else f"{kept}."


def said_in(
    track: Track, index: int, drills: Drills, *, first_time: bool = True
) -> tuple[str, ...]:
    """List what is said in one segment, the most needed first.

    Args:
        track: The way through the plan as it is now.
        index: The segment.
        drills: Key points to tell the first time a drill comes.
        first_time: Whether the drill of this segment comes for the first time.
    """
    segment = track.segment(index)
    if segment.until_key:
        return ()
    match segment.kind:
        case Kind.GET_READY:
            said = _coming(track, index, "First")
        case Kind.RECOVER:
            said = _coming(track, index, "Next")
            said += _drill(segment, drills, first_time=first_time)
        case Kind.LOOP_BREAK:
            said = ["How hard was that loop?", *_last_loop(track, index)]
            said += _coming(track, index, "Next")
        case Kind.WARM_UP | Kind.COOL_DOWN:
            said = [segment.exercise_name or ""]
        case Kind.CHANGEOVER | Kind.WORK:
            said = list(_switch(track, index))
        case _:
            said = []
    return tuple(sentence(text) for text in said if text)


def _coming(track: Track, index: int, word: str) -> list[str]:
    coming = track.next_work(index)
    if coming is None:
        return []
    segment = track.segment(coming)
    said = [f"{word}: {_spoken_name(track, segment)}"]
    if segment.part:
        said.append(_first_part(segment.part))
    if segment.load:
        load = load_words(parse_load(segment.load))
        changed = _load_changes(track, coming)
        said.append(f"now {load}" if changed else load)
    return said


def _spoken_name(track: Track, segment: Segment) -> str:
    assert segment.station is not None
    return track.plan.card(segment.station).call_name.lower().replace("-", " ")


def _first_part(part: str) -> str:
    return f"{part} side first" if part in {"left", "right"} else f"{part} first"


def _load_changes(track: Track, index: int) -> bool:
    coming = track.segment(index)
    for i in track.before(index):
        earlier = track.segment(i)
        same = earlier.kind is Kind.WORK and earlier.station == coming.station
        if same and earlier.loop != coming.loop:
            return earlier.load != coming.load
    return False


def _last_loop(track: Track, index: int) -> list[str]:
    coming = track.next_work(index)
    if coming is None or track.plan.loops < 2:
        return []
    last = track.segment(coming).loop == track.plan.loops
    return ["Last loop"] if last else []


def _drill(segment: Segment, drills: Drills, *, first_time: bool) -> list[str]:
    if segment.drill is None:
        return []
    said = [segment.drill_name or segment.drill]
    point = drills.key_points.get(segment.drill)
    if first_time and point:
        said.append(point)
    return said


def _switch(track: Track, index: int) -> list[str]:
    """Name the side at a switch: in the changeover, else as the part begins."""
    segment = track.segment(index)
    before = next(track.before(index), None)
    if segment.kind is Kind.CHANGEOVER:
        coming = track.next_work(index)
        part = track.segment(coming).part if coming is not None else None
        return [_switch_words(part)] if part else []
    if before is None or segment.part is None:
        return []
    earlier = track.segment(before)
    same = earlier.place == segment.place and earlier.kind in AT_STATION
    return [_switch_words(segment.part)] if same else []


def _switch_words(part: str) -> str:
    side = f"{part} side" if part in {"left", "right"} else part
    return f"Switch: {side}"
