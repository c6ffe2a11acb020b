"""What is spoken: sentences of at most six words, in the order they matter.

Pure: a way through a plan in, sentences out. When they are spoken, and whether
they fit, the soundtrack decides; how they sound, the voice.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from whistlestop.domain.load import Load, parse_load
from whistlestop.domain.plan.cues import CueName
from whistlestop.domain.plan.plan import AT_STATION, Segment, SegmentKind
from whistlestop.domain.text import masked, sentence_case
from whistlestop.engine.track import Track
from whistlestop.library import exercises
from whistlestop.library.cautions import Caution
from whistlestop.library.take_care import drill_cautions, station_cautions

WORDS_LIMIT: Final = 6
LETTERS_LIMIT: Final = 100
SPEAK_FROM_MS: Final = 5_000
"""In intervals and changeovers shorter than this nothing is spoken."""
WAITING: Final = "Waiting for a key"
ASKED: Final = "How hard was that loop?"
LAST: Final = "Last loop"

Saying = tuple[str, ...]
"""One thing to say: the ways to say it, the fullest first."""

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
_TELLS_NEXT: Final = frozenset(
    {SegmentKind.GET_READY, SegmentKind.RECOVER, SegmentKind.LOOP_BREAK}
)
_UNITS: Final = {"kg": ("kilo", "kilos"), "lb": ("pound", "pounds")}


@dataclass(frozen=True, slots=True)
class Drills:
    """What the voice needs of drills: one key point each, by drill id."""

    key_points: Mapping[str, str]


def number_text(text: str) -> str:
    """Say a figure of up to three digits and decimals: `12.5`, twelve point five."""
    whole, dot, decimals = text.partition(".")
    value = int(whole)
    if value < 20:
        words = _ONES[value]
    elif value < 100:
        words = _TENS[value // 10] + (f"-{_ONES[value % 10]}" if value % 10 else "")
    else:
        rest = f" {number_text(str(value % 100))}" if value % 100 else ""
        words = f"{_ONES[value // 100]} hundred{rest}"
    digits = " ".join(_ONES[int(digit)] for digit in decimals.rstrip("0"))
    return f"{words} point {digits}" if dot and digits else words


def load_text(
    load: Load, *, changed: bool = False, most_text: int = WORDS_LIMIT
) -> str:
    """Say a load in at most six words: `2 x 8 kg` is two times eight kilos.

    What does not fit is left out in the order of need: that it changed, the
    unit, how many there are. A figure is never cut; "" where none fits.
    """
    if load.band:
        ways = [f"{load.band} band", load.band]
        if changed:
            ways.insert(0, f"now {load.band} band")
        return next((way for way in ways if len(way.split()) <= most_text), "")
    figure = f"{load.mass.normalize():f}"
    unit = _UNITS[load.unit][figure != "1"]
    times = f"{number_text(str(load.count))} times " if load.count > 1 else ""
    text = number_text(figure)
    ways = [f"{times}{text} {unit}", f"{times}{text}", f"{text} {unit}", text]
    if changed:
        ways.insert(0, f"now {times}{text} {unit}")
    return next((way for way in ways if len(way.split()) <= most_text), "")


def sentence(text: str) -> str:
    """Hold a sentence to six words, ended by a full stop or its own mark.

    Names come from files: what may not be shown is not spoken either. Returns ""
    where nothing is left to say, or more than anybody would want to hear.
    """
    harmless = masked(text, " ")
    words = harmless.split()
    kept = " ".join(words[:WORDS_LIMIT])
    if len(words) > WORDS_LIMIT:
        kept = kept.rpartition(",")[0] or _LOOSE_END.sub("", kept)
    kept = kept.rstrip(",;: ")
    if not any(letter.isalnum() for letter in kept) or len(kept) > LETTERS_LIMIT:
        return ""
    kept = sentence_case(kept)
    return kept if kept.endswith((".", "?", "!")) else f"{kept}."


def spoken_in(
    track: Track, index: int, drills: Drills, *, first_time: bool = True
) -> tuple[Saying, ...]:
    """List what is spoken in one segment, the most needed first.

    Args:
        track: The way through the plan as it is now.
        index: The segment.
        drills: Key points to tell the first time a drill comes.
        first_time: Whether the drill of this segment comes for the first time.
    """
    segment = track.segment(index)
    match segment.kind:
        case SegmentKind.GET_READY:
            sayings = _coming(track, index, "First")
        case SegmentKind.RECOVER:
            sayings = _coming(track, index, "Next")
            sayings += one_way(after_loop(track, index))
            sayings += _drill(segment, drills, first_time=first_time)
        case SegmentKind.LOOP_BREAK:
            sayings = one_way([ASKED, *last_loop(track, index)])
            sayings += _coming(track, index, "Next")
        case SegmentKind.WARM_UP | SegmentKind.COOL_DOWN:
            sayings = one_way([segment.exercise_name or ""])
        case SegmentKind.CHANGEOVER | SegmentKind.WORK:
            return as_sayings([_switch(track, index)])
        case SegmentKind.HOLD:
            sayings = _at_gate(track, index)
    if segment.until_key:
        sayings.append((WAITING,))
    return as_sayings(sayings)


def one_way(texts: Iterable[str]) -> list[Saying]:
    """Sentences for which there is no shorter way."""
    return [(text,) for text in texts]


def caution_sayings(found: Iterable[Caution], name: str = "") -> list[Saying]:
    """Each caution: its sentence, or its call where there is no room for that.

    Args:
        found: The cautions, the gravest first.
        name: Who is meant, where several train together.
    """
    head = f"{name}: " if name else ""
    ways = ((f"{head}{one.live}", f"{head}{one.call.lower()}") for one in found)
    return [
        tuple(way for way in both if len(way.split()) <= WORDS_LIMIT) for both in ways
    ]


def coming_cautions(track: Track, coming: int) -> tuple[Caution, ...]:
    """The cautions of a station that comes, the first time that it is done."""
    return station_cautions(track.card(coming)) if track.is_new(coming) else ()


def as_sayings(sayings: Iterable[Saying]) -> tuple[Saying, ...]:
    """Make sentences of them; what comes out empty is left out."""
    made = (tuple(filter(None, map(sentence, ways))) for ways in sayings)
    return tuple(ways for ways in made if ways)


def every_saying(track: Track, drills: Drills) -> Iterator[str]:
    """List every sentence that any way through a plan may need, most likely first.

    Stations can be skipped, repeated and left: any one may come first or next,
    with its load as before or changed.
    """
    for index in range(len(track.plan.segments)):
        for ways in spoken_in(track, index, drills):
            yield from ways
    for index, segment in enumerate(track.plan.segments):
        if segment.kind is SegmentKind.WORK:
            yield from map(sentence, _of_work(track, index))
    if track.plan.loops > 1:
        yield from map(sentence, (ASKED, LAST))


def _of_work(track: Track, index: int) -> Iterator[str]:
    segment = track.segment(index)
    for word in ("Next", "First"):
        yield f"{word}: {spoken_name(track, index)}"
    if segment.part:
        yield first_part(segment.part)
        yield from switch_text(segment.part)
    for ways in caution_sayings(coming_cautions(track, index)):
        yield from ways
    for changed in (False, True):
        yield from _load(segment, changed=changed)


def _coming(track: Track, index: int, word: str) -> list[Saying]:
    coming = track.next_work(index)
    if coming is None:
        return []
    segment = track.segment(coming)
    texts = [f"{word}: {spoken_name(track, coming)}"]
    if segment.part and len(track.work_of_station(coming)) > 1:
        texts.append(first_part(segment.part))
    load = _load(segment, changed=load_changes(track, coming))
    cautions = caution_sayings(coming_cautions(track, coming))
    return [*one_way(texts), *cautions, *one_way(load)]


def _load(segment: Segment, *, changed: bool) -> list[str]:
    if not segment.load:
        return []
    try:
        return [load_text(parse_load(segment.load), changed=changed)]
    except ValueError:
        # Only a journal edited by hand holds such a load.
        return []


def spoken_name(track: Track, index: int) -> str:
    """The call-name as it is spoken, in the library's words where it has any."""
    card = track.card(index)
    known = exercises().get(card.exercise)
    if known and known.spoken and known.call_name == card.call_name:
        return known.spoken
    return card.call_name.lower().replace("-", " ")


def first_part(part: str) -> str:
    """Which part is first, in words."""
    return f"{part} side first" if part in {"left", "right"} else f"{part} first"


def load_changes(track: Track, index: int) -> bool:
    """Whether a station's load is another than in the loop before."""
    coming = track.segment(index)
    for i in track.before(index):
        earlier = track.segment(i)
        same = earlier.kind is SegmentKind.WORK and earlier.station == coming.station
        if same and earlier.loop != coming.loop:
            return earlier.load != coming.load
    return False


def last_loop(track: Track, index: int) -> list[str]:
    """That the last loop comes, where it does."""
    coming = track.next_work(index)
    if coming is None or track.plan.loops < 2:
        return []
    loop = track.segment(coming).loop
    later = (track.segment(i) for i in track.after(coming))
    more = any(one.kind is SegmentKind.WORK and one.loop != loop for one in later)
    return [] if more else [LAST]


def after_loop(track: Track, index: int) -> list[str]:
    """What a break would say, in the last recovery of a loop without one."""
    after = track.next_index(index)
    if after is not None and track.segment(after).kind is SegmentKind.LOOP_BREAK:
        return []
    coming = track.next_work(index)
    loop = track.segment(index).loop
    new_loop = coming is not None and track.segment(coming).loop != loop
    sentences = last_loop(track, index) if new_loop else []
    asked = any(cue.cue is CueName.EFFORT for cue in track.cues(index))
    return [*sentences, ASKED] if asked else sentences


def _at_gate(track: Track, index: int) -> list[Saying]:
    """Name the station again only where no rest has just done so."""
    before = next(track.before(index), None)
    details = before is not None and track.segment(before).kind in _TELLS_NEXT
    return [] if details else _coming(track, index, "Next")


def _drill(segment: Segment, drills: Drills, *, first_time: bool) -> list[Saying]:
    if segment.drill is None:
        return []
    name = one_way([segment.drill_name or segment.drill])
    if not first_time:
        return name
    point = drills.key_points.get(segment.drill, "")
    cautions = caution_sayings(drill_cautions(segment.drill))
    return [*name, *cautions, *one_way([point])]


def switched_to(track: Track, index: int) -> int | None:
    """The work whose side is named in a segment; None where none is, or it has been.

    It is named in the changeover before it, or else as it begins.
    """
    segment = track.segment(index)
    if segment.kind is SegmentKind.CHANGEOVER:
        return track.next_work(index)
    before = next(track.before(index), None)
    if before is None:
        return None
    earlier = track.segment(before)
    if earlier.place != segment.place or earlier.kind not in AT_STATION:
        return None
    over = earlier.kind is SegmentKind.CHANGEOVER
    details = over and track.length_ms(before) >= SPEAK_FROM_MS
    return None if details else index


def _switch(track: Track, index: int) -> Saying:
    to = switched_to(track, index)
    part = None if to is None else track.segment(to).part
    return switch_text(part) if part else ()


def switch_text(part: str) -> Saying:
    """The ways to name a part at a switch, the fullest first."""
    if part not in {"left", "right"}:
        return f"Switch: {part}", part
    return f"Switch: {part} side", f"{part} side", part
