"""Work, recovery, breaks, warm-up and cool-down that come to a total exactly.

Tries a whole grid of 5 s steps; refuses to know stations.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

from whistlestop.builder.request import Request
from whistlestop.library.first_loads import Level

STEP_MS: Final = 5_000
GET_READY_MS: Final = 10_000
# Work and recovery as in common presets, from 15:45 to 45:15 and a little beyond;
# breaks of 1 to 2 minutes and a margin. Common practice, no source.
WORK_MS: Final = (20_000, 60_000)
RECOVER_MS: Final = (10_000, 60_000)
BREAK_MS: Final = (30_000, 180_000)
# ACSM guidelines as commonly quoted, from memory: 5 to 10 minutes each; a short
# session makes do with less, down to a floor. Common practice.
WARM_UP_MOST_MS: Final = 600_000
COOL_DOWN_MOST_MS: Final = 600_000
# Sessions of less than so many minutes, and the least warm-up and cool-down in ms.
_FLOORS_MS: Final = ((20, 150_000, 60_000), (31, 180_000, 120_000),
                     (46, 240_000, 120_000), (1_000, 300_000, 180_000))  # fmt: skip


@dataclass(frozen=True, slots=True)
class LengthWishes:
    """What somebody of a level usually does, in ms; `work_per_recover` is tenths."""

    work_ms: int
    work_per_recover: int
    break_ms: int
    least_recover_ms: int


# Common practice, no source.
_WISHES: Final[Mapping[Level, LengthWishes]] = {
    "new": LengthWishes(30_000, 10, 60_000, 20_000),
    "regular": LengthWishes(40_000, 20, 70_000, 15_000),
    "strong": LengthWishes(45_000, 25, 80_000, 10_000),
}
# Shares of the whole session in hundredths, and the most of each in ms.
_WARM_UP_SHARE: Final = (17, 480_000)
_COOL_DOWN_SHARE: Final = (10, 300_000)


@dataclass(frozen=True, slots=True, order=True)
class Timing:
    """Lengths in ms; `loop_break_ms` is 0 for a single loop."""

    work_ms: int
    recover_ms: int
    loop_break_ms: int
    warm_up_ms: int
    cool_down_ms: int


def total_ms(timing: Timing, stations: int, loops: int) -> int:
    """What a session takes. With breaks, the last recovery of a loop falls away."""
    recovers = stations * loops if loops == 1 else (stations - 1) * loops
    return (
        GET_READY_MS
        + timing.warm_up_ms
        + timing.cool_down_ms
        + stations * loops * timing.work_ms
        + recovers * timing.recover_ms
        + (loops - 1) * timing.loop_break_ms
    )


def timings(request: Request) -> Iterator[Timing]:
    """The timings on the grid that come to the minutes of a request exactly.

    Stations and recoveries are half of the minutes at least, unless both lengths were
    chosen. For each work, recovery and break there is one share of the rest.
    """
    wanted_ms = request.minutes * 60_000
    breaks = [0] if request.loops == 1 else _grid(BREAK_MS)
    is_free = request.work_ms is None or request.recover_ms is None
    fixed = product(
        _grid(WORK_MS) if request.work_ms is None else [request.work_ms],
        _recoveries(request) if request.recover_ms is None else [request.recover_ms],
        breaks,
    )
    for work, recover, loop_break in fixed:
        bare = Timing(work, recover, loop_break, 0, 0)
        stations_ms = total_ms(replace(bare, loop_break_ms=0), *_shape(request))
        if is_free and 2 * (stations_ms - GET_READY_MS) < wanted_ms:
            continue
        left = wanted_ms - total_ms(bare, *_shape(request))
        shared = _shared(left, request)
        if shared is not None and not left % 1_000:
            yield Timing(work, recover, loop_break, *shared)


def _shape(request: Request) -> tuple[int, int]:
    return request.stations, request.loops


def _recoveries(request: Request) -> list[int]:
    least = _WISHES[request.level].least_recover_ms
    return [ms for ms in _grid(RECOVER_MS) if ms >= least]


def shortest_ms(request: Request) -> int:
    """The shortest session of a request's shape, in ms, whatever its minutes."""
    work = request.work_ms or WORK_MS[0]
    recover = request.recover_ms or _recoveries(request)[0]
    loop_break = BREAK_MS[0] if request.loops > 1 else 0
    warm, cool = floors_ms(request.minutes) if request.warm_up else (0, 0)
    least = Timing(work, recover, loop_break, warm, cool)
    return total_ms(least, *_shape(request))


def is_half_empty(request: Request) -> bool:
    """Say whether stations and recoveries at their longest are under half of it all."""
    work, recover = request.work_ms or WORK_MS[1], request.recover_ms or RECOVER_MS[1]
    longest = total_ms(Timing(work, recover, 0, 0, 0), *_shape(request))
    return 2 * (longest - GET_READY_MS) < request.minutes * 60_000


def floors_ms(minutes: int) -> tuple[int, int]:
    """The least warm-up and cool-down of a session of so many minutes, in ms."""
    found = next(floor for floor in _FLOORS_MS if minutes < floor[0])
    return found[1], found[2]


def _shared(left: int, request: Request) -> tuple[int, int] | None:
    """Share what is left: warm-up and cool-down; None where it is too little or much.

    What is more than both wishes goes to the warm-up; what lacks is taken from the
    cool-down first: who starts cold gets hurt.
    """
    if not request.warm_up:
        return (0, 0) if left == 0 else None
    least_warm, least_cool = floors_ms(request.minutes)
    if not least_warm + least_cool <= left <= WARM_UP_MOST_MS + COOL_DOWN_MOST_MS:
        return None
    warm_wish, cool_wish = _around_wishes(request)
    if left >= warm_wish + cool_wish:
        warm = min(left - cool_wish, WARM_UP_MOST_MS)
    else:
        warm = left - max(least_cool, left - warm_wish)
    warm -= warm % STEP_MS
    return warm, left - warm


def _around_wishes(request: Request) -> tuple[int, int]:
    """The warm-up and cool-down that are wished, never below their floor."""
    floors = floors_ms(request.minutes)
    warm, cool = (
        max(floor, min(most, share * request.minutes * 600 // STEP_MS * STEP_MS))
        for floor, (share, most) in zip(
            floors, (_WARM_UP_SHARE, _COOL_DOWN_SHARE), strict=True
        )
    )
    return warm, cool


def best_timing(request: Request) -> Timing | None:
    """The timing nearest to the usual one; None where the grid has none."""
    return min(
        timings(request), key=lambda timing: _cost(timing, request), default=None
    )


def _grid(span: tuple[int, int]) -> list[int]:
    return list(range(span[0], span[1] + 1, STEP_MS))


def _cost(timing: Timing, request: Request) -> tuple[int, Timing]:
    """Distance from the usual lengths in ms, weighted; then the least lengths."""
    wish = _WISHES[request.level]
    away = 300 * abs(timing.work_ms - wish.work_ms)
    recover_wish = timing.work_ms * 10 // wish.work_per_recover
    away += 200 * abs(timing.recover_ms - recover_wish)
    if request.loops > 1:
        away += 25 * abs(timing.loop_break_ms - wish.break_ms)
    if request.warm_up:
        for length, wished, over in zip(
            (timing.warm_up_ms, timing.cool_down_ms),
            _around_wishes(request),
            (25, 30),
            strict=True,
        ):
            away += over * max(0, length - wished) + 12 * max(0, wished - length)
    return away, timing
