"""Times of samples: a clock that jumps, and for how long each heart rate held.

Refuses to know formats. All times in ms since the same moment.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from whistlestop.review.heart import RATES

LONGEST_SAMPLE_MS: Final = 30_000
# A clock that was set while recording; nothing is recorded for a day without a sample.
FARTHEST_STEP_MS: Final = 24 * 3_600_000
_OUT_OF_ORDER_MS: Final = 60_000

Stretch = tuple[int, int]


class SteadyClock:
    """Takes the steps out by which a clock was set while it recorded."""

    def __init__(self) -> None:
        """Begin before the first moment."""
        self._last_ms: int | None = None
        self._shift_ms = 0
        self.has_jumped = False

    def moment(self, time_ms: int) -> int:
        """The time without the jumps before it; a jump itself takes no time."""
        if self._last_ms is not None:
            step = time_ms - self._last_ms
            if step > FARTHEST_STEP_MS or step < -_OUT_OF_ORDER_MS:
                self._shift_ms += step
                self.has_jumped = True
        self._last_ms = time_ms
        return time_ms - self._shift_ms


def beats_of(
    times_ms: Sequence[int], rates: Sequence[int], moving: Iterable[Stretch]
) -> tuple[tuple[int, int], ...]:
    """For how long each heart rate held while moving, in ms, by rate.

    A sample lasts to the next one, and 30 s at most: where a strap lost contact,
    nothing is known. What lies outside of the stretches does not count.

    Args:
        times_ms: When each sample was taken; those that go back are left out.
        rates: The rates a minute; those that no heart has are left out.
        moving: Stretches in order that do not overlap, each from its begin to its end.
    """
    held: dict[int, int] = {}
    samples = _in_order(times_ms, rates)
    stretches = list(moving)
    at = 0
    for number, (begin, rate) in enumerate(samples):
        last = number + 1 == len(samples)
        following = begin + LONGEST_SAMPLE_MS if last else samples[number + 1][0]
        end = min(following, begin + LONGEST_SAMPLE_MS)
        while at < len(stretches) and stretches[at][1] <= begin:
            at += 1
        look = at
        while look < len(stretches) and stretches[look][0] < end:
            common = min(end, stretches[look][1]) - max(begin, stretches[look][0])
            if common > 0:
                held[rate] = held.get(rate, 0) + common
            look += 1
    return tuple(sorted(held.items()))


def _in_order(times_ms: Sequence[int], rates: Sequence[int]) -> list[Stretch]:
    found: list[Stretch] = []
    for time_ms, rate in zip(times_ms, rates, strict=True):
        if rate in RATES and (not found or time_ms > found[-1][0]):
            found.append((time_ms, rate))
    return found
