"""Work, recovery, breaks, warm-up and cool-down that come to a total exactly.

Tries a whole grid of 5 s steps; refuses to know stations.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import Final

from whistlestop.builder.request import Request

STEP_MS: Final = 5_000
GET_READY_MS: Final = 10_000
# Work and recovery as in common presets, from 15:45 to 45:15 and a little beyond;
# breaks of 1 to 2 minutes and a margin. Common practice, no source.
WORK_MS: Final = (20_000, 60_000)
RECOVER_MS: Final = (10_000, 60_000)
BREAK_MS: Final = (30_000, 180_000)
# ACSM guidelines as commonly quoted, from memory: 5 to 10 minutes each; a short
# session makes do with less. Common practice.
WARM_UP_MS: Final = (180_000, 600_000)
COOL_DOWN_MS: Final = (120_000, 600_000)
_WORK_WISH_MS: Final = 40_000
_RECOVER_WISH_MS: Final = 20_000
_BREAK_WISH_MS: Final = 90_000
_WARM_UP_WISH_MS: Final = 360_000
_COOL_DOWN_WISH_MS: Final = 300_000


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

    For each work, recovery and break there is one share of the rest.
    """
    wanted_ms = request.minutes * 60_000
    breaks = [0] if request.loops == 1 else _grid(BREAK_MS)
    fixed = product(
        _grid(WORK_MS) if request.work_ms is None else [request.work_ms],
        _grid(RECOVER_MS) if request.recover_ms is None else [request.recover_ms],
        breaks,
    )
    for work, recover, loop_break in fixed:
        bare = Timing(work, recover, loop_break, 0, 0)
        left = wanted_ms - total_ms(bare, request.stations, request.loops)
        least = WARM_UP_MS[0] + COOL_DOWN_MS[0] if request.warm_up else 0
        most = WARM_UP_MS[1] + COOL_DOWN_MS[1] if request.warm_up else 0
        if not least <= left <= most or left % 1_000:
            continue
        warm_up = _warm_up_ms(left) if request.warm_up else 0
        yield Timing(work, recover, loop_break, warm_up, left - warm_up)


def _warm_up_ms(left: int) -> int:
    """Share what is left: the warm-up nearest to its usual length that can be.

    It weighs more than the cool-down, so no other share is nearer to both.
    """
    least = max(WARM_UP_MS[0], left - COOL_DOWN_MS[1])
    most = min(WARM_UP_MS[1], left - COOL_DOWN_MS[0])
    wish = min(max(_WARM_UP_WISH_MS, least), most)
    # On the grid: down from a wish that is too long, up from one that is too short.
    up = -(-wish // STEP_MS) * STEP_MS
    return up if up <= most else wish // STEP_MS * STEP_MS


def best_timing(request: Request) -> Timing | None:
    """The timing nearest to the usual one; None where the grid has none."""
    return min(
        timings(request), key=lambda timing: _cost(timing, request), default=None
    )


def _grid(span: tuple[int, int]) -> list[int]:
    return list(range(span[0], span[1] + 1, STEP_MS))


def _cost(timing: Timing, request: Request) -> tuple[int, Timing]:
    """Distance from the usual lengths in ms, weighted; then the least lengths."""
    away = 30 * abs(timing.work_ms - _WORK_WISH_MS)
    away += 30 * abs(timing.recover_ms - _recover_wish_ms(timing, request))
    if request.loops > 1:
        away += 4 * abs(timing.loop_break_ms - _BREAK_WISH_MS)
    if request.warm_up:
        away += 4 * abs(timing.warm_up_ms - _WARM_UP_WISH_MS)
        away += 3 * abs(timing.cool_down_ms - _COOL_DOWN_WISH_MS)
    return away, timing


def _recover_wish_ms(timing: Timing, request: Request) -> int:
    """Somebody new rests for three quarters of the work. Common practice."""
    if request.level == "new":
        return max(_RECOVER_WISH_MS, 3 * timing.work_ms // 4)
    return _RECOVER_WISH_MS
