"""Everything to fetch for a session, in floor order, and what a rest is too short for.

One list, counted across stations; kit that is short; plate, setting and position
changes against the time there is. Refuses to know the library and the screen.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Final, Literal

from whistlestop.domain.duration import exact
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.kit.kit import Kit, ladder
from whistlestop.domain.load import Load, parse_load
from whistlestop.domain.plan.plan import Plan, Segment, SegmentKind, StationCard

# Common practice, no source: a plate change takes 20 to 40 s, getting from the
# floor to standing or back 3 to 6 s.
PLATES_MS: Final = (20_000, 40_000)
POSITION_MS: Final = (3_000, 6_000)
ON_FLOOR: Final = frozenset(
    {"plank", "on-back", "side-lying", "face-down", "hands-and-knees"}
)

_SEVERAL: Final[Mapping[str, tuple[str, int]]] = {
    "two weights": ("weight", 2),
    "two small balls": ("small ball", 2),
    "three small balls": ("small ball", 3),
}
_CARRIERS: Final = ("weight", "kettlebell", "bar", "dead ball", "medicine ball",
                    "backpack", "plates")  # fmt: skip
_BANDS: Final = ("band", "loop band")

ClashKind = Literal["plates", "setting", "position", "count"]


@dataclass(slots=True)
class FloorItem:
    """One thing to fetch: how many at once, its load, and where it is for.

    `load` is that of one of them, as shown; "" where it has none.
    """

    name: str
    load: str
    count: int = 1
    stations: list[int] = field(default_factory=list)
    drills: list[int] = field(default_factory=list)

    @property
    def words(self) -> str:
        """The thing with its count and load: `2 x weight, 8 kg each`."""
        text = self.name if self.count == 1 else f"{self.count} x {self.name}"
        if not self.load:
            return text
        return f"{text}, {self.load}" + (" each" if self.count > 1 else "")


@dataclass(frozen=True, slots=True)
class Clash:
    """A change that the rest between two stations is short for.

    `is_short`: shorter than even a quick change takes; else it is only tight. For
    a `count` clash there is no time: `needed_ms` is (0, 0).
    """

    kind: ClashKind
    stations: tuple[int, int]
    needed_ms: tuple[int, int]
    available_ms: int
    is_short: bool
    loops: tuple[int, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class FloorList:
    """What to fetch in floor order, places to keep clear, and all clashes.

    `missing` names what is not owned in any load; empty where no kit was given.
    """

    items: tuple[FloorItem, ...]
    places: tuple[str, ...]
    clashes: tuple[Clash, ...]
    missing: tuple[str, ...] = ()


def floor_list(
    plan: Plan,
    drill_kit: Mapping[str, Sequence[str]],
    places: frozenset[str] = frozenset(),
    kit: Kit | None = None,
    positions: Mapping[str, Exercise] | None = None,
) -> FloorList:
    """Make the one list of a session, in the order of the stations.

    A thing counts as often as one station or drill needs it at once, because it
    goes from station to station with the athlete.

    Args:
        plan: The compiled plan; stations left out today are not in it.
        drill_kit: Kit of each drill id, in the library's words.
        places: Kit words that are places and not things.
        kit: What is owned; None leaves out whether it is enough.
        positions: Facts by exercise id; None leaves out changes of position.
    """
    items: dict[tuple[str, str], FloorItem] = {}
    clear: dict[str, None] = {}
    skills = _drills(plan)
    for card in plan.stations:
        for name, load, count in _needs(plan, card):
            if name in places:
                clear[name] = None
            else:
                _fetch(items, name, load, count).stations.append(card.number)
        for drill in skills.get(card.number, ()):
            for word in drill_kit.get(drill, ()):
                name, count = _SEVERAL.get(word, (word, 1))
                if name in places:
                    clear[name] = None
                else:
                    _fetch(items, name, "", count).drills.append(card.number)
    merged = _merged(items)
    clashes = [*rest_clashes(plan, kit, positions)]
    if kit is None:
        return FloorList(merged, tuple(clear), tuple(clashes))
    clashes += _short_counts(merged, kit)
    missing = kit.missing(tuple(dict.fromkeys(item.name for item in merged)))
    return FloorList(merged, tuple(clear), tuple(clashes), missing)


def _fetch(
    items: dict[tuple[str, str], FloorItem], name: str, load: str, count: int
) -> FloorItem:
    item = items.setdefault((name, load), FloorItem(name, load, count))
    item.count = max(item.count, count)
    return item


def _merged(found: Mapping[tuple[str, str], FloorItem]) -> tuple[FloorItem, ...]:
    """Let a kettlebell of the same load do where only a weight is asked for."""
    items: dict[tuple[str, str], FloorItem] = {}
    for (name, load), item in found.items():
        bell = ("kettlebell", load)
        key = bell if name == "weight" and load and bell in found else (name, load)
        held = items.setdefault(key, FloorItem(*key, item.count))
        held.count = max(held.count, item.count)
        held.stations = sorted({*held.stations, *item.stations})
        held.drills = sorted({*held.drills, *item.drills})
    return tuple(items.values())


def _drills(plan: Plan) -> dict[int, tuple[str, ...]]:
    found: dict[int, dict[str, None]] = {}
    for segment in plan.segments:
        if segment.kind is SegmentKind.RECOVER and segment.station and segment.drill:
            found.setdefault(segment.station, {})[segment.drill] = None
    return {number: tuple(drills) for number, drills in found.items()}


def _loads(plan: Plan, number: int) -> tuple[str, ...]:
    work = (
        s for s in plan.segments if s.kind is SegmentKind.WORK and s.station == number
    )
    return tuple(dict.fromkeys(segment.load for segment in work if segment.load))


def _carrier(card: StationCard, load: str) -> str:
    """What of a station's kit carries a load, whether it names it or not."""
    names = [_SEVERAL.get(word, (word, 1))[0] for word in card.kit]
    is_band = load.startswith("band:")
    for name in _BANDS if is_band else _CARRIERS:
        if name in names:
            return name
    return "band" if is_band else "weight"


def _needs(plan: Plan, card: StationCard) -> Iterator[tuple[str, str, int]]:
    """Name, load of one, and count of everything one station needs."""
    return needs_with(card, _loads(plan, card.number))


def needs_with(
    card: StationCard, loads: Sequence[str]
) -> Iterator[tuple[str, str, int]]:
    """Name, load of one, and count of everything a station needs with some loads."""
    carried = {_carrier(card, load) for load in loads}
    counts = [_SEVERAL.get(word, (word, 1)) for word in card.kit]
    for name, count in counts:
        if name not in carried:
            yield name, "", count
    for load in loads:
        name = _carrier(card, load)
        least = dict(counts).get(name, 1)
        each, count = _each(load)
        yield name, each, max(least, count)


def thing_and_count(word: str) -> tuple[str, int]:
    """A word of kit as one thing and how many: `two small balls` is 2 of one."""
    return _SEVERAL.get(word, (word, 1))


def _read(load: str) -> Load | None:
    """Read a load as typed; the plan of a later version may hold another kind."""
    try:
        return parse_load(load)
    except ValueError:
        return None


def _each(load: str) -> tuple[str, int]:
    """The load of one implement, and how many: `2 x 8 kg` is (`8 kg`, 2)."""
    read = _read(load)
    if read is None:
        return load, 1
    if read.band:
        return read.band, 1
    return f"{read.mass.normalize():f} {read.unit}", read.count


# --- Clashes -------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Visit:
    """One station as it comes in the plan, with the rest before it in ms.

    `rest_ms` is None where a key ends it, so that there is all the time wanted.
    """

    card: StationCard
    loop: int
    load: str | None
    rest_ms: int | None


def _visits(plan: Plan) -> list[_Visit]:
    visits: list[_Visit] = []
    rest_ms: int | None = 0
    last: tuple[int, int] | None = None
    for segment in plan.segments:
        if segment.until_key:
            rest_ms = None
        elif (
            segment.kind in {SegmentKind.RECOVER, SegmentKind.LOOP_BREAK}
            and rest_ms is not None
        ):
            rest_ms += segment.duration_ms
        if segment.kind is SegmentKind.WORK and segment.place != last:
            visits.append(_visit(plan, segment, rest_ms))
            last, rest_ms = segment.place, 0
    return visits


def _visit(plan: Plan, segment: Segment, rest_ms: int | None) -> _Visit:
    assert segment.station is not None and segment.loop is not None  # noqa: PT018
    return _Visit(plan.card(segment.station), segment.loop, segment.load, rest_ms)


def rest_clashes(
    plan: Plan,
    kit: Kit | None = None,
    positions: Mapping[str, Exercise] | None = None,
) -> Iterator[Clash]:
    """Name every change that a rest is too short or tight for.

    A bar is one object: two loads on it need a plate change in one of the rests
    between the two uses, so the longest of these counts. So does an adjustable
    implement where only its settings make up both loads. Where a station comes
    from another position, the rest before it has to hold the way up or down too.
    """
    visits = _visits(plan)
    found: dict[tuple[str, int, int, str], Clash] = {}
    changes = [*_reloads(visits, kit)]
    if positions is not None:
        changes += _moves(visits, positions)
    for clash in changes:
        key = (clash.kind, *clash.stations, clash.sentence)
        held = found.get(key, clash)
        loops = tuple(sorted({*held.loops, *clash.loops}))
        found[key] = replace(held, loops=loops)
    yield from found.values()


def _reloads(visits: Sequence[_Visit], kit: Kit | None) -> Iterator[Clash]:
    """Walk the uses of each object that can hold one load at a time."""
    last: dict[str, int] = {}
    for place, visit in enumerate(visits):
        thing = _one_object(visit, kit)
        if thing is None:
            continue
        before = last.get(thing)
        last[thing] = place
        if before is None or visits[before].load == visit.load:
            continue
        between = [v.rest_ms for v in visits[before + 1 : place + 1]]
        if any(rest is None for rest in between):
            continue
        longest = max(rest for rest in between if rest is not None)
        yield from _clash((visits[before], visit), longest, thing)


def _one_object(visit: _Visit, kit: Kit | None) -> str | None:
    if visit.load is None or visit.load.startswith("band:"):
        return None
    carrier = _carrier(visit.card, visit.load)
    if carrier == "bar":
        return "bar"
    if kit is None:
        return None
    wanted = _read(visit.load)
    if wanted is None:
        return None
    for rung in ladder(kit, wanted.count, visit.card.kit or ("weight",)):
        if rung.each_kg == wanted.each_kg and rung.source.startswith("adjustable "):
            return rung.source
    return None


def _moves(
    visits: Sequence[_Visit], positions: Mapping[str, Exercise]
) -> Iterator[Clash]:
    for before, visit in pairwise(visits):
        facts = [positions.get(v.card.exercise) for v in (before, visit)]
        if visit.rest_ms is None or None in facts:
            continue
        down = [fact.position in ON_FLOOR for fact in facts if fact is not None]
        up = [fact.position == "standing" for fact in facts if fact is not None]
        if (down[0] and up[1]) or (up[0] and down[1]):
            way = "floor to standing" if down[0] else "standing to floor"
            yield from _clash((before, visit), visit.rest_ms, way)


def _clash(pair: tuple[_Visit, _Visit], rest_ms: int, what: str) -> Iterator[Clash]:
    """Compare a rest with what a change of `what` takes; nothing where it is enough."""
    is_move = what.startswith(("floor", "standing"))
    low_ms, high_ms = POSITION_MS if is_move else PLATES_MS
    if rest_ms >= high_ms:
        return
    before, visit = pair
    text = f"Station {before.card.number} to {visit.card.number}: "
    takes = f"takes {low_ms // 1000} to {exact(high_ms)}"
    if is_move:
        text += f"{what} {takes}"
    else:
        text += f"the {what} goes from {before.load} to {visit.load}, which {takes}"
    judged = "too short" if rest_ms < low_ms else "tight"
    text += f"; the longest rest is {exact(rest_ms)}, {judged}."
    kind: ClashKind = "position" if is_move else "setting"
    yield Clash(
        kind="plates" if what == "bar" else kind,
        stations=(before.card.number, visit.card.number),
        needed_ms=(low_ms, high_ms),
        available_ms=rest_ms,
        is_short=rest_ms < low_ms,
        loops=(visit.loop,),
        sentence=text,
    )


def _short_counts(items: Iterable[FloorItem], kit: Kit) -> Iterator[Clash]:
    """Name loads of which there is one, but not as many as a station needs."""
    for item in items:
        wanted = _read(item.load) if item.name in _CARRIERS else None
        if item.count < 2 or wanted is None:
            continue
        owned = [
            any(r.each_kg == wanted.each_kg for r in ladder(kit, count, (item.name,)))
            for count in (1, item.count)
        ]
        if owned == [True, False]:
            yield Clash(
                kind="count",
                stations=(item.stations[0], item.stations[-1]),
                needed_ms=(0, 0),
                available_ms=0,
                is_short=True,
                loops=(),
                sentence=f"{item.words}: your kit has one, but not {item.count}.",
            )
