"""'I have 25 minutes': what to change today so that a circuit fits, best three ways.

Owns the grid of changes and the stated preferences, and tries the whole of it. One
length for all: the longest never grows, shorter ones may, and the sentence says so.
Refuses to know the clock and the library.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import combinations
from operator import le
from typing import Final

from whistlestop.domain.circuit.circuit import (
    MIN_PART_MS,
    Circuit,
    Station,
    StationInLoop,
    TimedItem,
    Today,
)
from whistlestop.domain.duration import clock, exact
from whistlestop.domain.plan.parts import share_ms
from whistlestop.domain.plan.timeline import compile_plan, resolve

BEST: Final = 3
# What a change may come down to; a circuit that is lower already stays as it is.
LEAST_WORK_MS: Final = 20_000
LEAST_RECOVER_MS: Final = 10_000
LEAST_BREAK_MS: Final = 30_000
GOOD_WORK_MS: Final = 30_000
# ACSM guidelines as commonly quoted, from memory: a warm-up of 5 to 10 minutes.
LEAST_WARM_UP_MS: Final = 300_000
_MOST_CHOICES: Final = 6
_MOST_DROPPED: Final = 3
_STEP_MS: Final = 5_000

# In this order; a later one decides only where all before are equal.
PREFERENCES: Final = (
    "legs, core and arms differ by one station at most, or by no more than before",
    "no work interval under 30 s, or under what the circuit has already",
    "the loops stay; breaks, recoveries and work give way first",
    "as few stations as possible are left out",
    "what is left is as even among legs, core and arms as can be",
    "the work stays as it is",
    "the recoveries stay as they are",
    "the loop breaks stay as they are",
    "as little time as possible is left over",
    "later stations are left out before earlier ones",
)

Cost = tuple[int, int, int, int, int, int, int, int, int, tuple[int, ...]]
_Shape = tuple[int, int, int | None]


@dataclass(frozen=True, slots=True)
class Grid:
    """Every change that is tried, all in ms; None stands for 'as it is'."""

    loops: tuple[int, ...]
    work_ms: tuple[int | None, ...]
    recover_ms: tuple[int | None, ...]
    loop_break_ms: tuple[int | None, ...]
    most_dropped: int


@dataclass(frozen=True, slots=True)
class Option:
    """One way to fit: today's changes, their length, and a sentence for each.

    `gates` counts holds and breaks that wait for a key: each is 0 ms in `total_ms`.
    """

    today: Today
    total_ms: int
    spare_ms: int
    gates: int
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WarmUpOffer:
    """A warm-up in the same order, scaled to 5 minutes, and what it then takes."""

    items: tuple[TimedItem, ...]
    saved_ms: int
    option: Option
    sentence: str


@dataclass(frozen=True, slots=True)
class Fit:
    """The best ways to fit, best first; none where the grid holds none.

    The options differ in loops, in how many stations are left out, or in work; none
    gives up as much as a better one in everything.
    """

    limit_ms: int
    options: tuple[Option, ...]
    sentence: str
    warm_up: WarmUpOffer | None = None


def fit(circuit: Circuit, limit_ms: int, regions: Mapping[str, str]) -> Fit:
    """Find today's changes that bring a circuit to `limit_ms` or less.

    The whole grid is searched, so no better way exists on it by `PREFERENCES`.

    Args:
        circuit: A circuit that compiles.
        limit_ms: The time there is, warm-up and cool-down included.
        regions: Region of each exercise id; those not named have none.
    """
    plan = compile_plan(circuit)
    if plan.total_ms <= limit_ms:
        same = _option(circuit, Today(), limit_ms)
        text = f"It takes {clock(plan.total_ms)} of {clock(limit_ms)}"
        text += f"; nothing has to change.{_gates_text(same.gates)}"
        return Fit(limit_ms, (same,), text)
    found = _Search(circuit, limit_ms, regions).best()
    options = tuple(_option(circuit, today, limit_ms) for _, today in found)
    text = f"It takes {clock(plan.total_ms)}; you have {clock(limit_ms)}."
    if not options:
        text += " No change tried makes it that short."
    text += _gates_text(plan.open_gates)
    lost = found[0][0][2:4] if found else None
    offer = None
    if lost != (0, 0):
        offer = _warm_up_offer(circuit, limit_ms, regions, lost)
    return Fit(limit_ms, options, text, offer)


def grid(circuit: Circuit) -> Grid:
    """List what is tried for a circuit.

    Values are multiples of 5 s (10, 20 s and so on where there would be more than
    six), below the longest of what is left; a recovery is at least half the longest
    there is. At most a quarter of the stations is left out, and never more than
    three; one of three stations may be.
    """
    count = len(circuit.stations)
    settings = [
        resolve(circuit, station, loop, number, Today())
        for loop in range(1, circuit.loops + 1)
        for number, station in enumerate(circuit.stations, 1)
    ]
    timed = circuit.loop_break_ms if circuit.loops > 1 else None
    break_ms = 0 if circuit.break_until_key else timed or 0
    longest_work = max(setting.work_ms for setting in settings)
    longest_recover = max(setting.recover_ms for setting in settings)
    return Grid(
        loops=tuple(range(circuit.loops, 0, -1)),
        work_ms=_choices(longest_work, LEAST_WORK_MS),
        recover_ms=_choices(
            longest_recover, max(LEAST_RECOVER_MS, longest_recover // 2)
        ),
        loop_break_ms=_choices(break_ms, LEAST_BREAK_MS),
        most_dropped=min(_MOST_DROPPED, max(1, count // 4)) if count > 2 else 0,
    )


def _choices(top_ms: int, least_ms: int) -> tuple[int | None, ...]:
    step_ms = _STEP_MS
    while (top_ms - least_ms) // step_ms > _MOST_CHOICES:
        step_ms *= 2
    first = -(-least_ms // step_ms) * step_ms
    return (None, *sorted(range(first, top_ms, step_ms), reverse=True))


# --- Search --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Sums:
    """What a choice of loops and stations adds up to before anything else."""

    visits: int
    work_ms: int
    work_range: tuple[int, int]
    recovers: int
    recover_ms: int
    recover_range: tuple[int, int]


class _Search:
    """Goes through the grid, fewest lost loops and stations first."""

    def __init__(
        self, circuit: Circuit, limit_ms: int, regions: Mapping[str, str]
    ) -> None:
        self.circuit = circuit
        self.limit_ms = limit_ms
        self.grid = grid(circuit)
        self.regions = [regions.get(s.exercise, "") for s in circuit.stations]
        self.spread_before = self._spread(frozenset())
        items = (*circuit.warm_up, *circuit.cool_down)
        self.fixed_ms = circuit.get_ready_ms + sum(i.duration_ms for i in items)
        self.found: dict[_Shape, tuple[Cost, Today]] = {}
        self.visits = [self._visits(loop) for loop in range(1, circuit.loops + 1)]
        self.shortest_work_ms = min(w for loop in self.visits for _, w, _ in loop)

    def best(self) -> list[tuple[Cost, Today]]:
        """Give the best of each of three shapes worth offering, best first."""
        numbers = range(1, len(self.circuit.stations) + 1)
        for lost, loops in enumerate(self.grid.loops):
            for count in range(self.grid.most_dropped + 1):
                worth = _worth_offering(self.found.values())
                if len(worth) == BEST and worth[-1][0][:4] < (0, 0, lost, count):
                    break  # nothing further on can come before the third
                for dropped in combinations(numbers, count):
                    self._try_stations(loops, frozenset(dropped))
        return _worth_offering(self.found.values())

    def _try_stations(self, loops: int, dropped: frozenset[int]) -> None:
        sums = self._sums(loops, dropped)
        if sums is None:
            return
        spread = self._spread(dropped)
        uneven = max(0, spread - max(1, self.spread_before))
        lost = self.circuit.loops - loops
        for work_ms in self.grid.work_ms:
            shortest = sums.work_range[0] if work_ms is None else work_ms
            floor_ms = min(GOOD_WORK_MS, self.shortest_work_ms)
            short = max(0, floor_ms - shortest)
            change = _change(work_ms, sums.work_range)
            head = (uneven, short, lost, len(dropped), spread, change)
            shape = (loops, len(dropped), work_ms)
            held = self.found.get(shape)
            if held is not None and held[0][:6] < head:
                continue
            if work_ms is not None and (
                work_ms >= sums.work_range[1]
                or not self._can_share(work_ms, loops, dropped)
            ):
                continue
            for cost, today in self._with_rests(head, work_ms, loops, dropped, sums):
                if shape not in self.found or cost < self.found[shape][0]:
                    self.found[shape] = cost, today

    def _with_rests(
        self,
        head: tuple[int, int, int, int, int, int],
        work_ms: int | None,
        loops: int,
        dropped: frozenset[int],
        sums: _Sums,
    ) -> Iterator[tuple[Cost, Today]]:
        """Try every recovery and break; give what fits, with its cost."""
        work = sums.work_ms if work_ms is None else work_ms * sums.visits
        later = tuple(-number for number in sorted(dropped, reverse=True))
        own_break = self.circuit.loop_break_ms or 0
        gate = self.circuit.break_until_key
        for recover_ms in self.grid.recover_ms:
            if recover_ms is not None and recover_ms >= sums.recover_range[1]:
                continue
            recover = (
                sums.recover_ms if recover_ms is None else recover_ms * sums.recovers
            )
            recover_change = _change(recover_ms, sums.recover_range)
            for break_ms in self.grid.loop_break_ms if loops > 1 else (None,):
                length = own_break if break_ms is None else break_ms
                breaks = 0 if gate else length * (loops - 1)
                spare = self.limit_ms - self.fixed_ms - work - recover - breaks
                if spare < 0:
                    continue
                tail = (recover_change, own_break - length, spare, later)
                yield (
                    (*head, *tail),
                    Today(
                        None if loops == self.circuit.loops else loops,
                        work_ms,
                        recover_ms,
                        break_ms,
                        dropped,
                    ),
                )

    def _visits(self, loop: int) -> list[tuple[int, int, int]]:
        """Number, work and recovery in ms of every station done in a loop."""
        change = self.circuit.loop_changes.get(loop)
        done = []
        for number, station in enumerate(self.circuit.stations, 1):
            own = change.stations.get(number, StationInLoop()) if change else None
            if own is None or not own.skip:
                set_to = resolve(self.circuit, station, loop, number, Today())
                done.append((number, set_to.work_ms, set_to.recover_ms))
        return done

    def _sums(self, loops: int, dropped: frozenset[int]) -> _Sums | None:
        """Add up what is left, or nothing where a loop has no station."""
        works: list[int] = []
        kept_recovers: list[int] = []
        all_recovers: list[int] = []
        for visits in self.visits[:loops]:
            left = [visit for visit in visits if visit[0] not in dropped]
            if not left:
                return None
            works += [work for _, work, _ in left]
            recovers = [recover for _, _, recover in left]
            all_recovers += recovers
            keeps = self.circuit.has_last_recover
            kept_recovers += recovers if keeps else recovers[:-1]
        return _Sums(
            len(works),
            sum(works),
            (min(works), max(works)),
            len(kept_recovers),
            sum(kept_recovers),
            (min(all_recovers), max(all_recovers)),
        )

    def _spread(self, dropped: frozenset[int]) -> int:
        """Most minus fewest stations among the regions the circuit has."""
        counted = {"legs", "core", "arms"} & set(self.regions)
        left = [r for n, r in enumerate(self.regions, 1) if n not in dropped]
        counts = [left.count(region) for region in counted]
        return max(counts) - min(counts) if counts else 0

    def _can_share(self, work_ms: int, loops: int, dropped: frozenset[int]) -> bool:
        """Say whether every part of what is done stays at 5 s or more."""
        done = {number for visits in self.visits[:loops] for number, _, _ in visits}
        return all(
            self._part_ms(self.circuit.stations[number - 1], work_ms) >= MIN_PART_MS
            for number in done - dropped
        )

    def _part_ms(self, station: Station, work_ms: int) -> int:
        changeover_ms = station.changeover_ms
        if changeover_ms is None:
            changeover_ms = self.circuit.changeover_ms
        try:
            return share_ms(work_ms, max(1, len(station.parts)), changeover_ms)[0]
        except ValueError:
            return 0


def _worth_offering(found: Iterable[tuple[Cost, Today]]) -> list[tuple[Cost, Today]]:
    """The best three, without those that give up no less than a better one.

    Compared are loops, stations, work, recoveries and breaks.
    """
    chosen: list[tuple[Cost, Today]] = []
    for entry in sorted(found, key=lambda entry: entry[0]):
        gives = [entry[0][n] for n in (2, 3, 5, 6, 7)]
        better = [[cost[n] for n in (2, 3, 5, 6, 7)] for cost, _ in chosen]
        if not any(all(map(le, other, gives)) for other in better):
            chosen.append(entry)
    return chosen[:BEST]


def _change(new_ms: int | None, before: tuple[int, int]) -> int:
    """The largest change it makes to any one interval, in ms."""
    if new_ms is None:
        return 0
    return max(abs(new_ms - before[0]), abs(new_ms - before[1]))


# --- Words ---------------------------------------------------------------------


def _option(circuit: Circuit, today: Today, limit_ms: int) -> Option:
    plan = compile_plan(circuit, today)
    return Option(
        today,
        plan.total_ms,
        limit_ms - plan.total_ms,
        plan.open_gates,
        tuple(_changes(circuit, today)),
    )


def _changes(circuit: Circuit, today: Today) -> Iterator[str]:
    if today.loops is not None:
        loops = "1 loop" if today.loops == 1 else f"{today.loops} loops"
        yield f"{loops} instead of {circuit.loops}"
    for number in sorted(today.without_stations):
        yield f"without station {number}, {circuit.stations[number - 1].name}"
    loops_run = range(1, (today.loops or circuit.loops) + 1)
    before = [
        resolve(circuit, station, loop, number, Today())
        for loop in loops_run
        for number, station in enumerate(circuit.stations, 1)
        if number not in today.without_stations
    ]
    if today.work_ms is not None:
        yield _instead("work", today.work_ms, [s.work_ms for s in before])
    if today.recover_ms is not None:
        yield _instead("recover", today.recover_ms, [s.recover_ms for s in before])
    if today.loop_break_ms is not None:
        own_ms = circuit.loop_break_ms or 0
        yield _instead("loop break", today.loop_break_ms, [own_ms])


def _instead(what: str, new_ms: int, before_ms: list[int]) -> str:
    low_ms, high_ms = min(before_ms), max(before_ms)
    if low_ms == high_ms:
        return f"{what} {exact(new_ms)} instead of {exact(low_ms)}"
    return (
        f"{what} {exact(new_ms)} everywhere; it was {exact(low_ms)} to {exact(high_ms)}"
    )


def _gates_text(gates: int) -> str:
    if not gates:
        return ""
    if gates == 1:
        return " One wait for a key is not counted."
    return f" {gates} waits for a key are not counted."


# --- Warm-up -------------------------------------------------------------------


def scaled_items(items: tuple[TimedItem, ...], target_ms: int) -> tuple[TimedItem, ...]:
    """Scale timed items to `target_ms` in all or less, in steps of 5 s.

    The order stays. No item falls under 5 s or grows; so many short items may
    still take longer than the target.
    """
    total_ms = sum(item.duration_ms for item in items)
    scaled = []
    for item in items:
        exact_ms = item.duration_ms * target_ms // max(1, total_ms)
        new_ms = max(_STEP_MS, exact_ms // _STEP_MS * _STEP_MS)
        scaled.append(replace(item, duration_ms=min(item.duration_ms, new_ms)))
    return tuple(scaled)


def _warm_up_offer(
    circuit: Circuit,
    limit_ms: int,
    regions: Mapping[str, str],
    lost: tuple[int, int] | None,
) -> WarmUpOffer | None:
    """Offer a warm-up of 5 minutes where it saves loops or stations."""
    own_ms = sum(item.duration_ms for item in circuit.warm_up)
    if own_ms <= LEAST_WARM_UP_MS:
        return None
    items = scaled_items(circuit.warm_up, LEAST_WARM_UP_MS)
    saved_ms = own_ms - sum(item.duration_ms for item in items)
    shorter = replace(circuit, warm_up=items)
    found = _Search(shorter, limit_ms, regions).best()
    if not found or (lost is not None and found[0][0][2:4] >= lost):
        return None
    option = _option(shorter, found[0][1], limit_ms)
    text = f"A warm-up shorter by {clock(saved_ms)} keeps more of the circuit."
    return WarmUpOffer(items, saved_ms, option, text)
