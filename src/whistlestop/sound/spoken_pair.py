"""What is spoken where several train on one clock: each sentence names who is meant.

Six words at most, the name included. Stations come first, for everybody; then what
is common, the sides, the cautions, the loads, the drills, so that what falls away at
the end is what matters least. Pure, as `spoken` is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest

from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import Plan, SegmentKind
from whistlestop.engine.track import Track
from whistlestop.library.take_care import drill_cautions
from whistlestop.sound.spoken import (
    ASKED,
    LAST,
    WAITING,
    WORDS_LIMIT,
    Saying,
    after_loop,
    as_sayings,
    caution_sayings,
    coming_cautions,
    first_part,
    last_loop,
    load_changes,
    load_text,
    one_way,
    sentence,
    spoken_name,
    switch_text,
    switched_to,
)


@dataclass(frozen=True, slots=True)
class Addressee:
    """Somebody who is spoken to, and their plan; None: the owner, on the way as is."""

    name: str
    plan: Plan | None = None

    def own(self, track: Track) -> Track:
        """The way as it is for this one: the same lengths, the own stations."""
        return track if self.plan is None else replace(track, plan=self.plan, swaps=())


def spoken_to(
    people: Sequence[Addressee], track: Track, index: int
) -> tuple[Saying, ...]:
    """List what is spoken in one segment, the most needed first."""
    segment = track.segment(index)
    ways = [(one.name, one.own(track)) for one in people]
    match segment.kind:
        case SegmentKind.WORK | SegmentKind.CHANGEOVER:
            sentences = _switches(ways, index)
        case SegmentKind.WARM_UP | SegmentKind.COOL_DOWN:
            sentences = [(segment.exercise_name or "",)]
        case SegmentKind.LOOP_BREAK:
            common = [ASKED, *last_loop(track, index)]
            sentences = [*one_way(common), *_coming(ways, index)]
        case SegmentKind.RECOVER:
            stations, *rest = _in_turn(ways, index)
            common = after_loop(track, index)
            sentences = [*stations, *one_way(common), *_flat(rest)]
            sentences += _drills(ways, index)
        case _:
            sentences = _coming(ways, index)
    if segment.until_key:
        sentences.append((WAITING,))
    return as_sayings(sentences)


def every_saying_to(people: Sequence[Addressee], track: Track) -> Iterator[str]:
    """List every sentence that any way through may need, most likely first."""
    for index in range(len(track.plan.segments)):
        for ways in spoken_to(people, track, index):
            yield from ways
    for one in people:
        own = one.own(track)
        for index, segment in enumerate(own.plan.segments):
            if segment.kind is SegmentKind.WORK:
                yield from _of_work(one.name, own, index)
    if track.plan.loops > 1:
        yield from map(sentence, (ASKED, LAST))


def _of_work(name: str, track: Track, index: int) -> Iterator[str]:
    part = track.segment(index).part
    texts = [f"{name}: {spoken_name(track, index)}"]
    texts += [f"{name}: {first_part(part)}", f"{name}: {part}"] if part else []
    for ways in caution_sayings(coming_cautions(track, index), name):
        texts += ways
    texts += [_load(name, track, index, changed=changed) for changed in (False, True)]
    return map(sentence, texts)


def _coming(ways: Sequence[tuple[str, Track]], index: int) -> list[Saying]:
    return _flat(_in_turn(ways, index))


def _flat(turns: Sequence[Sequence[Saying]]) -> list[Saying]:
    return [saying for turn in turns for saying in turn]


def _in_turn(
    ways: Sequence[tuple[str, Track]], index: int
) -> tuple[list[Saying], list[Saying], list[Saying], list[Saying]]:
    """Stations of all, then sides, then cautions in turn, then loads."""
    stations: list[Saying] = []
    sides: list[Saying] = []
    cautions: list[list[Saying]] = []
    loads: list[Saying] = []
    for name, track in ways:
        coming = track.next_work(index)
        if coming is None:
            continue
        stations.append((f"{name}: {spoken_name(track, coming)}",))
        part = track.segment(coming).part
        if part and len(track.work_of_station(coming)) > 1:
            sides.append((f"{name}: {first_part(part)}",))
        cautions.append(caution_sayings(coming_cautions(track, coming), name))
        changed = load_changes(track, coming)
        loads.append((_load(name, track, coming, changed=changed),))
    return stations, sides, _alternating(cautions), loads


def _alternating(lists: Sequence[Sequence[Saying]]) -> list[Saying]:
    """The first of each, then the second of each: the gravest of both come first."""
    rounds = zip_longest(*lists, fillvalue=())
    return [saying for one in rounds for saying in one if saying]


def _load(name: str, track: Track, index: int, *, changed: bool) -> str:
    """A load after a name; a figure is never cut, "" where it does not fit."""
    typed = track.segment(index).load
    if not typed:
        return ""
    try:
        load = parse_load(typed)
    except ValueError:
        # Only a journal edited by hand holds such a load.
        return ""
    room = WORDS_LIMIT - len(name.split())
    words = load_text(load, changed=changed, most_text=room)
    return f"{name}: {words}" if words else ""


def _drills(ways: Sequence[tuple[str, Track]], index: int) -> list[Saying]:
    """The drill of each, then in loop 1 what to look out for in them."""
    segments = [(name, track.segment(index)) for name, track in ways]
    names = [(f"{name}: {one.drill_name}",) for name, one in segments if one.drill_name]
    cautions = [
        caution_sayings(drill_cautions(one.drill), name)
        for name, one in segments
        if one.loop == 1
    ]
    return [*names, *_alternating(cautions)]


def _switches(ways: Sequence[tuple[str, Track]], index: int) -> list[Saying]:
    """The sides at a switch: one for all where they are the same, else all in one."""
    to = switched_to(ways[0][1], index)
    if to is None:
        return []
    parts = [(name, track.segment(to).part) for name, track in ways]
    sided = [(name, part) for name, part in parts if part]
    if len(sided) == len(parts) and len({part for _, part in sided}) == 1:
        return [switch_text(sided[0][1])]
    both = ", ".join(f"{name} {part}" for name, part in sided)
    if len(sided) > 1 and len(both.split()) <= WORDS_LIMIT:
        return [(both,)]
    return [_one_side(name, part) for name, part in sided]


def _one_side(name: str, part: str) -> Saying:
    full = f"{name}: {part} side"
    return (
        (full, f"{name}: {part}") if part in {"left", "right"} else (f"{name}: {part}",)
    )
