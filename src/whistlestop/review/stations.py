"""What was done at the stations: seconds, volume, sides, drift of effort, last time.

Owns sums over visits and shares of the plan. Refuses to judge a side or a share,
and to know where regions come from: they are handed in.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final, Literal

from whistlestop.domain.load import parse_load
from whistlestop.review.numbers import Figure

if TYPE_CHECKING:
    from whistlestop.review.record import DoneAs, SessionRecord, StationResult

By = Literal["station", "region", "pattern"]
NO_SIDE: Final = "both"
NO_PLACE: Final = "not in the library"


@dataclass(frozen=True, slots=True)
class Share:
    """One part of a station in one loop; `side` is its name, or `both`. In ms."""

    side: str
    plan_ms: int
    done_ms: int
    best_ms: int


@dataclass(frozen=True, slots=True)
class Bout:
    """One exercise as done at one station in one loop of one session.

    `load_kg` is None for no load or a band; `count` where it was not entered.
    `replaced` names the exercise that was planned there, where it was another;
    `variants` are the versions entered, easier or harder.
    """

    day: date
    session_id: str
    loop: int
    exercise: str
    name: str
    region: str
    pattern: str
    shares: tuple[Share, ...]
    load_text: str = ""
    load_kg: float | None = None
    count: int | None = None
    replaced: str = ""
    variants: tuple[str, ...] = ()

    @property
    def done_ms(self) -> int:
        """Work of all visits, in ms."""
        return sum(share.done_ms for share in self.shares)


@dataclass(frozen=True, slots=True)
class Work:
    """Work and volume of some bouts.

    `volume_kg_s` is kilograms times seconds under load; `unweighed_ms` is the
    work with a band or without load, which is not in it. `bouts` are those with
    any work. `reps` are summed over the `counted` bouts, and `volume_kg_reps` over
    those of them with a load.
    """

    work_ms: int = 0
    volume_kg_s: float = 0.0
    unweighed_ms: int = 0
    bouts: int = 0
    counted: int = 0
    reps: int = 0
    volume_kg_reps: float = 0.0


@dataclass(frozen=True, slots=True)
class SideWork:
    """Left and right beside each other; `other_ms` is work on both at once."""

    left_ms: int = 0
    right_ms: int = 0
    other_ms: int = 0
    left_kg_s: float = 0.0
    right_kg_s: float = 0.0

    def words(self) -> str:
        """Say both sides in the same breath."""
        text = f"left {_seconds(self.left_ms)}, right {_seconds(self.right_ms)}"
        return f"{text}, both {_seconds(self.other_ms)}" if self.other_ms else text


@dataclass(frozen=True, slots=True)
class LoopEffort:
    """Effort of one loop, 0 to 10, or None where it was not entered."""

    loop: int
    effort: float | None
    partial: bool = False


@dataclass(frozen=True, slots=True)
class EffortDrift:
    """From the first to the last loop with an effort, in points."""

    change: Figure
    entered: int
    missing: int
    partial: int


def bouts_of(
    record: SessionRecord, day: date, places: Mapping[str, tuple[str, str]]
) -> tuple[Bout, ...]:
    """Every station of a recorded session as done, loop by loop.

    What was planned and not done at all is there too, without any work.

    Args:
        record: The session as it was done.
        day: Its calendar day.
        places: Region and pattern of each exercise id.
    """
    return tuple(
        _bout(record.id, day, station, done, places.get(done.card.exercise))
        for loop in record.loops
        for station in loop.stations
        for done in station.done
    )


def loop_efforts(record: SessionRecord) -> tuple[LoopEffort, ...]:
    """The efforts of the loops of a session that have any work in them."""
    return tuple(
        LoopEffort(
            loop.loop, loop.effort.halves / 2 if loop.effort else None, loop.partial
        )
        for loop in record.loops
        if loop.worked
    )


def work_of(bouts: Iterable[Bout]) -> Work:
    """Sum work in ms, volume in kg s, and repetitions where they were entered.

    Seconds under load times load: common practice, no source.
    """
    kept = list(bouts)
    weighed = [(bout, bout.load_kg) for bout in kept if bout.load_kg is not None]
    counts = [bout.count for bout in kept if bout.count is not None]
    return Work(
        work_ms=sum(bout.done_ms for bout in kept),
        volume_kg_s=math.fsum(kg * bout.done_ms / 1000 for bout, kg in weighed),
        unweighed_ms=sum(bout.done_ms for bout in kept if bout.load_kg is None),
        bouts=sum(bout.done_ms > 0 for bout in kept),
        counted=len(counts),
        reps=sum(counts),
        volume_kg_reps=math.fsum(
            kg * bout.count for bout, kg in weighed if bout.count is not None
        ),
    )


_KEY: Final[Mapping[By, Callable[[Bout], str]]] = {
    "station": lambda bout: bout.exercise,
    "region": lambda bout: bout.region,
    "pattern": lambda bout: bout.pattern,
}


def work_by(bouts: Iterable[Bout], by: By) -> dict[str, Work]:
    """Work and volume for each station, region or pattern, most work first."""
    sums = {key: work_of(found) for key, found in _grouped(bouts, _KEY[by]).items()}
    return dict(sorted(sums.items(), key=lambda item: (-item[1].work_ms, item[0])))


def sides_of(bouts: Iterable[Bout]) -> SideWork:
    """Work and volume of left and of right, summed over all visits."""
    time_ms = {"left": 0, "right": 0, "": 0}
    volume: dict[str, list[float]] = {"left": [], "right": [], "": []}
    for bout in bouts:
        for share in bout.shares:
            side = share.side if share.side in {"left", "right"} else ""
            time_ms[side] += share.done_ms
            volume[side].append((bout.load_kg or 0.0) * share.done_ms / 1000)
    return SideWork(
        time_ms["left"],
        time_ms["right"],
        time_ms[""],
        math.fsum(volume["left"]),
        math.fsum(volume["right"]),
    )


def sides_by(bouts: Iterable[Bout], by: By) -> dict[str, SideWork]:
    """Sides for each station, region or pattern that has left or right work."""
    sums = {key: sides_of(found) for key, found in _grouped(bouts, _KEY[by]).items()}
    return {key: side for key, side in sums.items() if side.left_ms or side.right_ms}


def effort_drift(loops: Sequence[LoopEffort]) -> EffortDrift:
    """How effort moved from the first to the last loop that has one, in points.

    Loops without an effort are counted and not guessed.
    """
    known = [loop.effort for loop in loops if loop.effort is not None]
    reason = "one loop rated" if known else "no loop rated"
    change = Figure(None, reason) if len(known) < 2 else Figure(known[-1] - known[0])
    return EffortDrift(
        change,
        entered=len(known),
        missing=len(loops) - len(known),
        partial=sum(loop.partial for loop in loops),
    )


def completion(bouts: Iterable[Bout]) -> Figure:
    """Share of the planned work done, 0 to 1: the best visit of each part.

    A planned station that was never entered counts as nothing done.
    """
    shares = [share for bout in bouts for share in bout.shares]
    plan_ms = sum(share.plan_ms for share in shares)
    if plan_ms == 0:
        return Figure(None, "nothing was planned")
    return Figure(sum(min(s.best_ms, s.plan_ms) for s in shares) / plan_ms)


def replaced_by(bouts: Iterable[Bout]) -> dict[str, tuple[str, ...]]:
    """The names of what each exercise was done in place of; those alone that were."""
    found: dict[str, dict[str, None]] = {}
    for bout in bouts:
        if bout.replaced and bout.done_ms:
            found.setdefault(bout.exercise, {})[bout.replaced] = None
    return {key: tuple(names) for key, names in found.items()}


def last_done(bouts: Iterable[Bout], on: date) -> dict[str, int]:
    """Calendar days since each station was last worked at, longest ago first.

    Days after `on` are not looked at; 0 is that same day.
    """
    latest: dict[str, date] = {}
    for bout in bouts:
        if bout.done_ms > 0 and bout.day <= on:
            known = latest.get(bout.exercise, bout.day)
            latest[bout.exercise] = max(known, bout.day)
    ago = {exercise: (on - day).days for exercise, day in latest.items()}
    return dict(sorted(ago.items(), key=lambda item: (-item[1], item[0])))


def _bout(
    session_id: str,
    day: date,
    station: StationResult,
    done: DoneAs,
    place: tuple[str, str] | None,
) -> Bout:
    region, pattern = place or (NO_PLACE, NO_PLACE)
    planned = station.card
    typed = done.load or ""
    return Bout(
        day,
        session_id,
        station.loop,
        done.card.exercise,
        done.card.name,
        region,
        pattern,
        tuple(
            Share(part.part or NO_SIDE, part.plan_ms, part.done_ms, part.best_ms)
            for part in done.parts
        ),
        typed,
        _kilograms(typed),
        done.count,
        planned.name if planned.exercise != done.card.exercise else "",
        done.variants,
    )


def _kilograms(typed: str) -> float | None:
    try:
        total = parse_load(typed).total_kg
    except ValueError:
        return None
    return None if total is None else float(total)


def _grouped(
    bouts: Iterable[Bout], key: Callable[[Bout], str]
) -> dict[str, list[Bout]]:
    groups: dict[str, list[Bout]] = {}
    for bout in bouts:
        groups.setdefault(key(bout), []).append(bout)
    return groups


def _seconds(ms: int) -> str:
    return f"{ms / 1000:.0f} s"
